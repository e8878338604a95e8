"""Every version of a standing row is kept; the database itself refuses to change or delete one."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

CHECKS = {
    "kind_known": "kind IN ('job', 'lot', 'supplier', 'price', 'house_rule')",
    "body_json": "substr(body, 1, 1) = '{'",
    "gone_flag": "gone IN (0, 1)",
}
COLUMNS = {
    "job": ("id", "code", "title", "client", "place", "crew", "start", "source", "rev"),
    "lot": ("id", "job_id", "code", "item", "supplier", "use_category", "dry", "rev"),
    "supplier": ("id", "name", "lead_days", "delivery_cents", "minimum_cents", "rev"),
    "price": ("id", "supplier_id", "item", "use_category", "wood", "price_e4", "pack", "seen", "rev"),
    "house_rule": ("id", "kind", "key", "value", "rev"),
}
LIVE = {
    "phases": "(SELECT json_group_array(key) FROM phase WHERE job_id = job.id AND dropped = 0)",
    "checks": "(SELECT json_group_array(key) FROM job_check WHERE job_id = job.id AND dropped = 0)",
}


def upgrade() -> None:
    op.create_table(
        "standing",
        sa.Column("arrived", sa.Integer, nullable=False),
        *(sa.Column(name, sa.Text, nullable=False) for name in ("id", "kind", "row_id")),
        sa.Column("at_ms", sa.Integer, nullable=False),
        *(sa.Column(name, sa.Text, nullable=False) for name in ("day", "who", "device")),
        sa.Column("gone", sa.Integer, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("arrived", name=op.f("pk_standing")),
        sa.UniqueConstraint("id", name=op.f("uq_standing_id")),
        *(sa.CheckConstraint(text, name=op.f(f"ck_standing_{name}")) for name, text in CHECKS.items()),
        sqlite_strict=True,
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_standing_kind_day"), "standing", ["kind", "day"])
    for table, columns in COLUMNS.items():
        pairs = [f"'{column}', {column}" for column in columns]
        if table == "job":
            pairs += [f"'{name}', json({query})" for name, query in LIVE.items()]
        # What a row said before is known from ever: its id serves as the id of this first version.
        op.execute(
            "INSERT INTO standing (id, kind, row_id, at_ms, day, who, device, gone, body) "
            f"SELECT id, '{table}', id, 0, '', '', '', 0, json_object({', '.join(pairs)}) FROM {table}"
        )
    for verb in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER standing_no_{verb.lower()} BEFORE {verb} ON standing "
            "BEGIN SELECT RAISE(ABORT, 'versions of standing rows are never changed'); END"
        )


def downgrade() -> None:
    op.drop_table("standing")
