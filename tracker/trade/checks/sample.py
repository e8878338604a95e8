"""Readings of a sample: the worst row and one in every few read, the rest judged by eye, and who looked.

A long frame is not taped joist by joist. Whoever looks along it reads the worst, by number, and at least one in every few side
by side (the rule ``sample_every``, common practice), and says of the rest that it looked good. How many were read and how many
were not stands in the verdict. A fault in the sample says that the eye was wrong: then every row is read.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from tracker.errors import InputError
from tracker.text import count, listing
from tracker.trade.answer import Answer, Limit, Plain
from tracker.trade.checks.base import Case, incomplete, named
from tracker.trade.lengths import Unit
from tracker.trade.readings import GOOD, Field, Kind, Readings
from tracker.trade.rules import COMMON, Rules

REST, WORST = "rest", "worst"
RULE = "sample_every"
_SHOWN = 12
"""Rows a line of working names."""


def sample_every(rules: Rules) -> int:
    """Return in how many rows side by side one is read at least; 0 where a house reads every row."""
    every = rules.figure(RULE)
    return every if every > 1 else 0


def sample_fields(rules: Rules, noun: str) -> tuple[Field, ...]:
    """Return the fields by which the rows not read are judged by eye; none where a house reads every row."""
    if not (every := sample_every(rules)):
        return ()
    return (
        Field(
            REST, "The rest, by eye", Kind.BY_EYE, required=False,
            help=f"good, or good by NAME, for every {noun} looked at and not read; blank: all are read. Read at least one "
            f"{noun} in every {every} side by side, and the worst",
        ),
        Field(
            WORST, f"The worst {noun}, by number", Kind.TEXT, required=False,
            help="the one that looks worst is read too; asked for where the rest is judged by eye",
        ),
    )  # fmt: skip


def sample_limits(rules: Rules, unit: Unit) -> tuple[Limit, ...]:
    """Return the limit of a sample as a verdict shows it; none where a house reads every row."""
    return (rules.limit(RULE, unit),) if sample_every(rules) else ()


@dataclass(frozen=True, slots=True)
class Sample:
    """Which rows were read and which judged by eye, the worst by eye, who looked (empty: not known).

    ``wanted`` are rows still to be read, ``why`` says what asks for them (empty where nothing but the form does);
    ``names_worst`` is whether the worst was named where it must be.
    """

    noun: str
    rows: tuple[str, ...]
    read: tuple[str, ...]
    by_eye: tuple[str, ...] = ()
    worst: str = ""
    who: str = ""
    wanted: tuple[str, ...] = ()
    why: str = ""
    names_worst: bool = True

    def lacks(self, what: str, also: Sequence[str] = ()) -> Answer | None:
        """Return the verdict that asks for what is still wanted, ``what`` (``the crown of joist``) of the rows and ``also``;
        None when there is enough.
        """
        parts = [] if self.names_worst else [f"the worst {self.noun} by its number"]
        if self.wanted:
            parts.append(f"{what} {named(self.wanted)}" + (f" ({self.why})" if self.why else ""))
        parts += also
        if not parts:
            return None
        return incomplete(listing(parts, "and"), source=COMMON)

    @property
    def told(self) -> str:
        """How many were read, how many judged by eye and by whom; empty where every row was read."""
        if not self.by_eye:
            return ""
        who = f" by {self.who}" if self.who else ""
        of = f"{len(self.read)} of {count(len(self.rows), self.noun)}"
        return f"{of} read, {len(self.by_eye)} judged by eye{who}"

    def headline(self, text: str) -> str:
        """Return a headline that says too how much of it was read."""
        return f"{text}; {self.told}" if self.by_eye else text

    @property
    def moves(self) -> tuple[str, ...]:
        """What a fault in the sample asks for."""
        if not self.by_eye:
            return ()
        return (f"then read every {self.noun}: a fault in the sample leaves nothing to the eye",)

    @property
    def working(self) -> tuple[str, ...]:
        """The sample in a line."""
        if not self.by_eye:
            return ()
        return (f"{self.told}; read: {named(self.read, _SHOWN)}; the worst by eye: {self.noun} {self.worst}",)

    @property
    def answer(self) -> dict[str, Plain]:
        """How much was read, in plain values."""
        return {
            "read": len(self.read),
            "by_eye": len(self.by_eye),
            "by_eye_who": (self.who or None) if self.by_eye else None,
            "worst_by_eye": self.worst if self.by_eye else None,
        }


def sample_of(
    case: Case, readings: Readings, rows: Sequence[str], read: Collection[str], noun: str = "joist"
) -> Sample:
    """Return the sample that readings of ``rows`` are, ``read`` being those that have one.

    Raises InputError where the worst is none of the rows.
    """
    rows, seen = tuple(rows), tuple(row for row in rows if row in read)
    missing = tuple(row for row in rows if row not in read)
    worst = readings.word(WORST)
    if worst and worst not in rows:
        raise InputError(
            f"{noun} {worst}, said to be the worst: this frame has none of that number",
            f"it has {noun} {rows[0]} to {rows[-1]}",
        )
    if not missing or not readings.has(REST) or not (every := sample_every(case.rules)):
        return Sample(noun, rows, seen, worst=worst, wanted=missing)
    if case.read_all:
        return Sample(
            noun, rows, seen, worst=worst, wanted=missing, why=f"a sample failed before: every {noun} is read"
        )
    wanted = _between(rows, seen, every)
    why = f"one {noun} in every {every} side by side is read at least" if wanted else ""
    if worst and worst not in seen:
        wanted, why = (
            (worst, *(row for row in wanted if row != worst)),
            "; ".join(filter(None, ("it is the worst", why))),
        )
    who = readings.word(REST).removeprefix(GOOD).removeprefix(" by ") or case.reader
    return Sample(noun, rows, seen, missing, worst, who, wanted, why, bool(worst))


def _between(rows: Sequence[str], read: Collection[str], every: int) -> tuple[str, ...]:
    """The rows to read besides so that of any ``every`` side by side one is read."""
    out: list[str] = []
    unread = 0
    for row in rows:
        unread = 0 if row in read else unread + 1
        if unread == every:
            out.append(row)
            unread = 0
    return tuple(out)
