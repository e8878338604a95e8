"""The contractor's letterhead is kept among the house rules, each line of it a row of its own kind."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

COLUMNS = ("id", "kind", "key", "value")


def _rebuild(kinds: str) -> None:
    """SQLite changes a CHECK only by making the table again."""
    names = ", ".join((*COLUMNS, "rev"))
    op.rename_table("house_rule", "house_rule_before")
    op.create_table(
        "house_rule",
        *(sa.Column(name, sa.Text, nullable=False) for name in COLUMNS),
        sa.Column("rev", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_house_rule")),
        sa.UniqueConstraint("kind", "key", name=op.f("uq_house_rule_kind_key")),
        sa.CheckConstraint(f"kind IN ({kinds})", name=op.f("ck_house_rule_kind_known")),
        sa.CheckConstraint("rev >= 1", name=op.f("ck_house_rule_rev_counts")),
        sqlite_strict=True,
    )
    op.execute(f"INSERT INTO house_rule ({names}) SELECT {names} FROM house_rule_before")
    op.drop_table("house_rule_before")


def upgrade() -> None:
    _rebuild("'rule', 'phase', 'letterhead'")


def downgrade() -> None:
    op.execute("DELETE FROM house_rule WHERE kind = 'letterhead'")
    _rebuild("'rule', 'phase'")
