"""The tables of the book. Standing rows carry ``rev``; entries are append-only (the database refuses to change them).

Days are ISO text, moments are UTC milliseconds, truth is 0 or 1: STRICT tables take no other types. Annotations stay
unquoted here because SQLModel reads them at run time.
"""

from sqlalchemy import CheckConstraint, Column, ForeignKey, Index, Integer, Text, UniqueConstraint, text
from sqlmodel import Field, SQLModel

from tracker.trade.money import LARGEST_CENTS

SQLModel.metadata.naming_convention = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}

ENTRY_KINDS = ("reading", "waiver", "phase", "movement", "hours", "money", "note", "day")
STANDING_KINDS = ("job", "lot", "supplier", "price", "house_rule")
STRICT = {"sqlite_strict": True}


def _text(*args: object, nullable: bool = False, primary_key: bool = False) -> Column[str]:
    return Column(Text, *args, nullable=nullable, primary_key=primary_key)  # type: ignore[arg-type]


class BookRow(SQLModel, table=True):
    """The book itself: one row, made with the file."""

    __tablename__ = "book"
    __table_args__ = (STRICT,)
    id: str = Field(sa_column=_text(primary_key=True))
    made_ms: int = Field(sa_type=Integer)


class JobRow(SQLModel, table=True):
    """A job; ``source`` is the job file as typed, in JSON."""

    __tablename__ = "job"
    __table_args__ = (
        UniqueConstraint("code"),
        CheckConstraint("substr(source, 1, 1) = '{'", name="source_json"),
        CheckConstraint("length(code) BETWEEN 1 AND 40", name="code_size"),
        CheckConstraint("length(title) BETWEEN 1 AND 200", name="title_size"),
        CheckConstraint("rev >= 1", name="rev_counts"),
        STRICT,
    )
    id: str = Field(sa_column=_text(primary_key=True))
    code: str = Field(sa_column=_text())
    title: str = Field(sa_column=_text())
    client: str = Field(sa_column=_text())
    place: str = Field(sa_column=_text())
    crew: str = Field(sa_column=_text())
    start: str = Field(sa_column=_text())
    source: str = Field(sa_column=_text())
    rev: int = Field(default=1, sa_type=Integer)


class PlatformRow(SQLModel, table=True):
    """A platform of a job."""

    __tablename__ = "platform"
    __table_args__ = (
        UniqueConstraint("job_id", "name"),
        CheckConstraint("dropped IN (0, 1)", name="dropped_flag"),
        CheckConstraint("rev >= 1", name="rev_counts"),
        STRICT,
    )
    id: str = Field(sa_column=_text(primary_key=True))
    job_id: str = Field(sa_column=_text(ForeignKey("job.id", ondelete="RESTRICT")))
    name: str = Field(sa_column=_text())
    position: int = Field(sa_type=Integer)
    dropped: int = Field(default=0, sa_type=Integer)
    rev: int = Field(default=1, sa_type=Integer)


class PhaseRow(SQLModel, table=True):
    """A phase of a job; ``dropped`` when a later spec no longer has it."""

    __tablename__ = "phase"
    __table_args__ = (
        UniqueConstraint("job_id", "key"),
        CheckConstraint("dropped IN (0, 1)", name="dropped_flag"),
        CheckConstraint("rev >= 1", name="rev_counts"),
        STRICT,
    )
    id: str = Field(sa_column=_text(primary_key=True))
    job_id: str = Field(sa_column=_text(ForeignKey("job.id", ondelete="RESTRICT")))
    key: str = Field(sa_column=_text())
    position: int = Field(sa_type=Integer)
    dropped: int = Field(default=0, sa_type=Integer)
    rev: int = Field(default=1, sa_type=Integer)


class CheckRow(SQLModel, table=True):
    """A check of a job: ``key`` as people name it (``square.upper``), ``check_key`` the registry's, ``platform`` or empty."""

    __tablename__ = "job_check"
    __table_args__ = (
        UniqueConstraint("job_id", "key"),
        CheckConstraint("dropped IN (0, 1)", name="dropped_flag"),
        CheckConstraint("rev >= 1", name="rev_counts"),
        STRICT,
    )
    id: str = Field(sa_column=_text(primary_key=True))
    job_id: str = Field(sa_column=_text(ForeignKey("job.id", ondelete="RESTRICT")))
    phase_id: str = Field(sa_column=_text(ForeignKey("phase.id", ondelete="RESTRICT")))
    key: str = Field(sa_column=_text())
    check_key: str = Field(sa_column=_text())
    platform: str = Field(sa_column=_text())
    position: int = Field(sa_type=Integer)
    dropped: int = Field(default=0, sa_type=Integer)
    rev: int = Field(default=1, sa_type=Integer)


class LotRow(SQLModel, table=True):
    """A material lot; its quantities are in its movements. ``wood`` is the species and grade it was ordered as, if known."""

    __tablename__ = "lot"
    __table_args__ = (
        UniqueConstraint("job_id", "code"),
        CheckConstraint("dry IN (0, 1)", name="dry_flag"),
        CheckConstraint("rev >= 1", name="rev_counts"),
        STRICT,
    )
    id: str = Field(sa_column=_text(primary_key=True))
    job_id: str = Field(sa_column=_text(ForeignKey("job.id", ondelete="RESTRICT")))
    code: str = Field(sa_column=_text())
    item: str = Field(sa_column=_text())
    supplier: str = Field(sa_column=_text())
    use_category: str = Field(sa_column=_text())
    dry: int = Field(default=0, sa_type=Integer)
    rev: int = Field(default=1, sa_type=Integer)
    wood: str = Field(default="", sa_column=Column(Text, nullable=False, server_default=text("''")))


class SupplierRow(SQLModel, table=True):
    """A supplier and its terms: working days to deliver, delivery charge, least order."""

    __tablename__ = "supplier"
    __table_args__ = (
        UniqueConstraint("name"),
        CheckConstraint("length(name) BETWEEN 1 AND 200", name="name_size"),
        CheckConstraint("lead_days BETWEEN 0 AND 366", name="lead_days_range"),
        CheckConstraint(f"delivery_cents BETWEEN 0 AND {LARGEST_CENTS}", name="delivery_range"),
        CheckConstraint(f"minimum_cents BETWEEN 0 AND {LARGEST_CENTS}", name="minimum_range"),
        CheckConstraint("rev >= 1", name="rev_counts"),
        STRICT,
    )
    id: str = Field(sa_column=_text(primary_key=True))
    name: str = Field(sa_column=_text())
    lead_days: int = Field(default=0, sa_type=Integer)
    delivery_cents: int = Field(default=0, sa_type=Integer)
    minimum_cents: int = Field(default=0, sa_type=Integer)
    rev: int = Field(default=1, sa_type=Integer)


class PriceRow(SQLModel, table=True):
    """A supplier's price of an item, for one use category and wood or (empty) any; ``seen`` is a day or empty."""

    __tablename__ = "price"
    __table_args__ = (
        UniqueConstraint("supplier_id", "item", "use_category", "wood"),
        CheckConstraint("length(item) BETWEEN 1 AND 80", name="item_size"),
        CheckConstraint("price_e4 BETWEEN 1 AND 10000000000", name="price_range"),
        CheckConstraint("pack BETWEEN 1 AND 100000", name="pack_range"),
        CheckConstraint("seen = '' OR seen GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'", name="seen_day"),
        CheckConstraint("rev >= 1", name="rev_counts"),
        STRICT,
    )
    id: str = Field(sa_column=_text(primary_key=True))
    supplier_id: str = Field(sa_column=_text(ForeignKey("supplier.id", ondelete="RESTRICT")))
    item: str = Field(sa_column=_text())
    use_category: str = Field(sa_column=_text())
    wood: str = Field(sa_column=_text())
    price_e4: int = Field(sa_type=Integer)
    pack: int = Field(default=1, sa_type=Integer)
    seen: str = Field(sa_column=_text())
    rev: int = Field(default=1, sa_type=Integer)


class PersonRow(SQLModel, table=True):
    """A person who signs entries; ``may_waive`` is the owner's to give."""

    __tablename__ = "person"
    __table_args__ = (
        UniqueConstraint("name"),
        CheckConstraint("may_waive IN (0, 1)", name="may_waive_flag"),
        CheckConstraint("rev >= 1", name="rev_counts"),
        STRICT,
    )
    id: str = Field(sa_column=_text(primary_key=True))
    name: str = Field(sa_column=_text())
    role: str = Field(sa_column=_text())
    may_waive: int = Field(default=0, sa_type=Integer)
    since: str = Field(sa_column=_text())
    rev: int = Field(default=1, sa_type=Integer)


class HouseRuleRow(SQLModel, table=True):
    """A house rule in JSON: a figure (``rule``, whole units of its kind), a change to a phase (``phase``), or a line of the
    ``letterhead``."""

    __tablename__ = "house_rule"
    __table_args__ = (
        UniqueConstraint("kind", "key"),
        CheckConstraint("kind IN ('rule', 'phase', 'letterhead')", name="kind_known"),
        CheckConstraint("rev >= 1", name="rev_counts"),
        STRICT,
    )
    id: str = Field(sa_column=_text(primary_key=True))
    kind: str = Field(sa_column=_text())
    key: str = Field(sa_column=_text())
    value: str = Field(sa_column=_text())
    rev: int = Field(default=1, sa_type=Integer)


class StandingRow(SQLModel, table=True):
    """One version of a standing row (``kind`` is its table), kept when somebody edited it. Never updated, never deleted.

    ``day`` is the working day of the edit, empty for what was there before versions were kept; ``body`` the whole row in
    JSON, a job's with the keys of the phases and checks it then had.
    """

    __tablename__ = "standing"
    __table_args__ = (
        UniqueConstraint("id"),
        CheckConstraint(f"kind IN {STANDING_KINDS}", name="kind_known"),
        CheckConstraint("substr(body, 1, 1) = '{'", name="body_json"),
        CheckConstraint("gone IN (0, 1)", name="gone_flag"),
        Index(None, "kind", "day"),
        {"sqlite_strict": True, "sqlite_autoincrement": True},
    )
    arrived: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    id: str = Field(sa_column=_text())
    kind: str = Field(sa_column=_text())
    row_id: str = Field(sa_column=_text())
    at_ms: int = Field(sa_type=Integer)
    day: str = Field(sa_column=_text())
    who: str = Field(sa_column=_text())
    device: str = Field(sa_column=_text())
    gone: int = Field(default=0, sa_type=Integer)
    body: str = Field(sa_column=_text())


class CutPlanRow(SQLModel, table=True):
    """A cut plan that was worked out, under a digest of what it was made from; ``kept`` is the order they came in.

    No part of what the book knows: the same inputs give the same plan again, so any row may go at any time.
    """

    __tablename__ = "cut_plan"
    __table_args__ = (
        UniqueConstraint("digest"),
        CheckConstraint("proven IN (0, 1)", name="proven_flag"),
        CheckConstraint("substr(body, 1, 1) = '{'", name="body_json"),
        {"sqlite_strict": True, "sqlite_autoincrement": True},
    )
    kept: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    digest: str = Field(sa_column=_text())
    proven: int = Field(sa_type=Integer)
    body: str = Field(sa_column=_text())


class EntryRow(SQLModel, table=True):
    """An entry: one thing somebody recorded. Never updated, never deleted.

    ``arrived`` is the order in this book; ``hlc`` a hybrid logical clock (milliseconds shifted by 16 bits, plus a counter)
    fit for merging; ``device`` and ``seq`` number the entries of one device without gaps; ``prev`` and ``digest`` chain them.
    ``qty`` is set for movements only. ``body`` is JSON whose shape belongs to the kind (see ``entries``).
    """

    __tablename__ = "entry"
    __table_args__ = (
        UniqueConstraint("id"),
        UniqueConstraint("device", "seq"),
        CheckConstraint(f"kind IN {ENTRY_KINDS}", name="kind_known"),
        CheckConstraint("substr(body, 1, 1) = '{'", name="body_json"),
        CheckConstraint("(kind = 'movement') = (qty IS NOT NULL)", name="qty_of_movements"),
        CheckConstraint("qty IS NULL OR qty > 0", name="qty_positive"),
        CheckConstraint("kind = 'day' OR job_id IS NOT NULL", name="job_known"),
        CheckConstraint("kind <> 'reading' OR check_id IS NOT NULL", name="reading_of_check"),
        CheckConstraint("kind <> 'phase' OR phase_id IS NOT NULL", name="event_of_phase"),
        CheckConstraint("kind <> 'movement' OR lot_id IS NOT NULL", name="movement_of_lot"),
        CheckConstraint("kind <> 'waiver' OR check_id IS NOT NULL OR phase_id IS NOT NULL", name="waiver_of_gate"),
        CheckConstraint("length(who) BETWEEN 1 AND 200", name="who_named"),
        CheckConstraint("seq >= 1", name="seq_counts"),
        Index(None, "job_id", "kind"),
        {"sqlite_strict": True, "sqlite_autoincrement": True},
    )
    arrived: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    id: str = Field(sa_column=_text())
    job_id: str | None = Field(default=None, sa_column=_text(ForeignKey("job.id", ondelete="RESTRICT"), nullable=True))
    kind: str = Field(sa_column=_text())
    phase_id: str | None = Field(
        default=None, sa_column=_text(ForeignKey("phase.id", ondelete="RESTRICT"), nullable=True)
    )
    check_id: str | None = Field(
        default=None, sa_column=_text(ForeignKey("job_check.id", ondelete="RESTRICT"), nullable=True)
    )
    lot_id: str | None = Field(default=None, sa_column=_text(ForeignKey("lot.id", ondelete="RESTRICT"), nullable=True))
    at_ms: int = Field(sa_type=Integer)
    hlc: int = Field(sa_type=Integer)
    day: str = Field(sa_column=_text())
    who: str = Field(sa_column=_text())
    device: str = Field(sa_column=_text())
    seq: int = Field(sa_type=Integer)
    corrects: str | None = Field(
        default=None, sa_column=_text(ForeignKey("entry.id", ondelete="RESTRICT"), nullable=True)
    )
    qty: int | None = Field(default=None, sa_type=Integer)
    body: str = Field(sa_column=_text())
    prev: str = Field(sa_column=_text())
    digest: str = Field(sa_column=_text())
