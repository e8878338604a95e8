"""The price book: suppliers with their terms, and their prices."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

LARGEST_CENTS = 10**12
SUPPLIER_CHECKS = {
    "name_size": "length(name) BETWEEN 1 AND 200",
    "lead_days_range": "lead_days BETWEEN 0 AND 366",
    "delivery_range": f"delivery_cents BETWEEN 0 AND {LARGEST_CENTS}",
    "minimum_range": f"minimum_cents BETWEEN 0 AND {LARGEST_CENTS}",
    "rev_counts": "rev >= 1",
}
PRICE_CHECKS = {
    "item_size": "length(item) BETWEEN 1 AND 80",
    "price_range": f"price_e4 BETWEEN 1 AND {10**10}",
    "pack_range": "pack BETWEEN 1 AND 100000",
    "seen_day": "seen = '' OR seen GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'",
    "rev_counts": "rev >= 1",
}


def _text(name: str) -> sa.Column[str]:
    return sa.Column(name, sa.Text, nullable=False)


def _int(name: str) -> sa.Column[int]:
    return sa.Column(name, sa.Integer, nullable=False)


def _checks(table: str, checks: dict[str, str]) -> list[sa.CheckConstraint]:
    return [sa.CheckConstraint(text, name=op.f(f"ck_{table}_{name}")) for name, text in checks.items()]


def upgrade() -> None:
    op.create_table(
        "supplier",
        _text("id"),
        _text("name"),
        *map(_int, ("lead_days", "delivery_cents", "minimum_cents", "rev")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_supplier")),
        sa.UniqueConstraint("name", name=op.f("uq_supplier_name")),
        *_checks("supplier", SUPPLIER_CHECKS),
        sqlite_strict=True,
    )
    columns = ("supplier_id", "item", "use_category", "wood")
    op.create_table(
        "price",
        _text("id"),
        *map(_text, columns),
        *map(_int, ("price_e4", "pack")),
        _text("seen"),
        _int("rev"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_price")),
        sa.UniqueConstraint(*columns, name=op.f(f"uq_price_{'_'.join(columns)}")),
        sa.ForeignKeyConstraint(
            ["supplier_id"], ["supplier.id"], name=op.f("fk_price_supplier_id_supplier"), ondelete="RESTRICT"
        ),
        *_checks("price", PRICE_CHECKS),
        sqlite_strict=True,
    )


def downgrade() -> None:
    op.drop_table("price")
    op.drop_table("supplier")
