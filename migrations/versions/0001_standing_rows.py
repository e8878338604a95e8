"""Standing rows: the book, jobs, platforms, phases, checks, lots, people, house rules."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

APPLICATION_ID = 0x44434B4A


def _id() -> sa.Column[str]:
    return sa.Column("id", sa.Text, nullable=False)


def _text(name: str) -> sa.Column[str]:
    return sa.Column(name, sa.Text, nullable=False)


def _int(name: str) -> sa.Column[int]:
    return sa.Column(name, sa.Integer, nullable=False)


def _parent(table: str, column: str, parent: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        [column], [f"{parent}.id"], name=op.f(f"fk_{table}_{column}_{parent}"), ondelete="RESTRICT"
    )


def _check(table: str, name: str, text: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(text, name=op.f(f"ck_{table}_{name}"))


def _standing(table: str, *parts: sa.schema.SchemaItem) -> None:
    op.create_table(
        table,
        _id(),
        *parts,
        _int("rev"),
        _check(table, "rev_counts", "rev >= 1"),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
        sqlite_strict=True,
    )


def upgrade() -> None:
    op.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    op.create_table(
        "book", _id(), _int("made_ms"), sa.PrimaryKeyConstraint("id", name=op.f("pk_book")), sqlite_strict=True
    )
    _standing(
        "job",
        *map(_text, ("code", "title", "client", "place", "crew", "start", "source")),
        sa.UniqueConstraint("code", name=op.f("uq_job_code")),
        _check("job", "source_json", "substr(source, 1, 1) = '{'"),
        _check("job", "code_size", "length(code) BETWEEN 1 AND 40"),
        _check("job", "title_size", "length(title) BETWEEN 1 AND 200"),
    )
    _standing(
        "platform",
        *map(_text, ("job_id", "name")),
        *map(_int, ("position", "dropped")),
        sa.UniqueConstraint("job_id", "name", name=op.f("uq_platform_job_id_name")),
        _check("platform", "dropped_flag", "dropped IN (0, 1)"),
        _parent("platform", "job_id", "job"),
    )
    _standing(
        "phase",
        *map(_text, ("job_id", "key")),
        *map(_int, ("position", "dropped")),
        sa.UniqueConstraint("job_id", "key", name=op.f("uq_phase_job_id_key")),
        _check("phase", "dropped_flag", "dropped IN (0, 1)"),
        _parent("phase", "job_id", "job"),
    )
    _standing(
        "job_check",
        *map(_text, ("job_id", "phase_id", "key", "check_key", "platform")),
        *map(_int, ("position", "dropped")),
        sa.UniqueConstraint("job_id", "key", name=op.f("uq_job_check_job_id_key")),
        _check("job_check", "dropped_flag", "dropped IN (0, 1)"),
        _parent("job_check", "job_id", "job"),
        _parent("job_check", "phase_id", "phase"),
    )
    _standing(
        "lot",
        *map(_text, ("job_id", "code", "item", "supplier", "use_category")),
        _int("dry"),
        sa.UniqueConstraint("job_id", "code", name=op.f("uq_lot_job_id_code")),
        _check("lot", "dry_flag", "dry IN (0, 1)"),
        _parent("lot", "job_id", "job"),
    )
    _standing(
        "person",
        *map(_text, ("name", "role", "since")),
        _int("may_waive"),
        sa.UniqueConstraint("name", name=op.f("uq_person_name")),
        _check("person", "may_waive_flag", "may_waive IN (0, 1)"),
    )
    _standing(
        "house_rule",
        *map(_text, ("kind", "key", "value")),
        sa.UniqueConstraint("kind", "key", name=op.f("uq_house_rule_kind_key")),
        _check("house_rule", "kind_known", "kind IN ('rule', 'phase')"),
    )


def downgrade() -> None:
    for table in ("house_rule", "person", "lot", "job_check", "phase", "platform", "job", "book"):
        op.drop_table(table)
    op.execute("PRAGMA application_id = 0")
