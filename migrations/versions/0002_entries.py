"""Entries: append-only, numbered and chained for each device; the database itself refuses to change or delete one."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

CHECKS = {
    "kind_known": "kind IN ('reading', 'waiver', 'phase', 'movement', 'hours', 'money', 'note', 'day')",
    "body_json": "substr(body, 1, 1) = '{'",
    "qty_of_movements": "(kind = 'movement') = (qty IS NOT NULL)",
    "qty_positive": "qty IS NULL OR qty > 0",
    "job_known": "kind = 'day' OR job_id IS NOT NULL",
    "reading_of_check": "kind <> 'reading' OR check_id IS NOT NULL",
    "event_of_phase": "kind <> 'phase' OR phase_id IS NOT NULL",
    "movement_of_lot": "kind <> 'movement' OR lot_id IS NOT NULL",
    "waiver_of_gate": "kind <> 'waiver' OR check_id IS NOT NULL OR phase_id IS NOT NULL",
    "who_named": "length(who) BETWEEN 1 AND 200",
    "seq_counts": "seq >= 1",
}
PARENTS = (
    ("job_id", "job"), ("phase_id", "phase"), ("check_id", "job_check"), ("lot_id", "lot"), ("corrects", "entry"),
)  # fmt: skip


def upgrade() -> None:
    op.create_table(
        "entry",
        sa.Column("arrived", sa.Integer, nullable=False),
        sa.Column("id", sa.Text, nullable=False),
        sa.Column("job_id", sa.Text, nullable=True),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("phase_id", sa.Text, nullable=True),
        sa.Column("check_id", sa.Text, nullable=True),
        sa.Column("lot_id", sa.Text, nullable=True),
        sa.Column("at_ms", sa.Integer, nullable=False),
        sa.Column("hlc", sa.Integer, nullable=False),
        sa.Column("day", sa.Text, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("device", sa.Text, nullable=False),
        sa.Column("seq", sa.Integer, nullable=False),
        sa.Column("corrects", sa.Text, nullable=True),
        sa.Column("qty", sa.Integer, nullable=True),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("prev", sa.Text, nullable=False),
        sa.Column("digest", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("arrived", name=op.f("pk_entry")),
        sa.UniqueConstraint("id", name=op.f("uq_entry_id")),
        sa.UniqueConstraint("device", "seq", name=op.f("uq_entry_device_seq")),
        *(sa.CheckConstraint(text, name=op.f(f"ck_entry_{name}")) for name, text in CHECKS.items()),
        *(
            sa.ForeignKeyConstraint(
                [column], [f"{parent}.id"], name=op.f(f"fk_entry_{column}_{parent}"), ondelete="RESTRICT"
            )
            for column, parent in PARENTS
        ),
        sqlite_strict=True,
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_entry_job_id_kind"), "entry", ["job_id", "kind"])
    for verb in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER entry_no_{verb.lower()} BEFORE {verb} ON entry "
            "BEGIN SELECT RAISE(ABORT, 'entries are never changed: record a correcting entry'); END"
        )


def downgrade() -> None:
    op.drop_table("entry")
