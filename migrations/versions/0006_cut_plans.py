"""Cut plans that were worked out are kept with the book, under a digest of what they were made from; lots know their wood."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

CHECKS = {
    "proven_flag": "proven IN (0, 1)",
    "body_json": "substr(body, 1, 1) = '{'",
}


def upgrade() -> None:
    op.create_table(
        "cut_plan",
        sa.Column("kept", sa.Integer, nullable=False),
        sa.Column("digest", sa.Text, nullable=False),
        sa.Column("proven", sa.Integer, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("kept", name=op.f("pk_cut_plan")),
        sa.UniqueConstraint("digest", name=op.f("uq_cut_plan_digest")),
        *(sa.CheckConstraint(text, name=op.f(f"ck_cut_plan_{name}")) for name, text in CHECKS.items()),
        sqlite_strict=True,
        sqlite_autoincrement=True,
    )
    op.add_column("lot", sa.Column("wood", sa.Text, nullable=False, server_default=sa.text("''")))


def downgrade() -> None:
    op.drop_column("lot", "wood")
    op.drop_table("cut_plan")
