"""Alembic's environment: runs on the connection the book hands over, in its one transaction."""

from alembic import context

from tracker.book.tables import SQLModel

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=SQLModel.metadata,
    render_as_batch=True,
    compare_type=True,
    compare_server_default=True,
    transactional_ddl=True,
    transaction_per_migration=False,
)
with context.begin_transaction():
    context.run_migrations()
