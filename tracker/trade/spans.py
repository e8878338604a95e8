"""How far a joist or a beam may reach: the published deck table first, the computation beside it as a second
opinion.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from tracker.errors import InputError
from tracker.text import listing, near
from tracker.trade.answer import Answer, Plain
from tracker.trade.cautions import code_decides
from tracker.trade.lengths import FOOT, INCH, Unit, format_small, format_trade, from_inches, inches
from tracker.trade.lumber import SOUTHERN
from tracker.trade.lumber import species as find_species
from tracker.trade.span_math import (
    DEAD_TABLE_PSF,
    LIVE_LEAST_PSF,
    Load,
    Span,
    joist_span,
    load_cases,
    member_span,
    overhang_in,
)
from tracker.trade.span_tables import (
    BEAM_QUOTED,
    BEAM_TABLE,
    JOIST_SPANS_IN,
    JOIST_TABLE,
    SPACINGS_IN,
    next_wider_joist_in,
    published_beam_in,
    published_joist_in,
)
from tracker.trade.species import EDITION, structural_grade, structural_size

MEMBERS = ("joist", "beam")
BEAM_TRIBUTARY = 0.75
BEAM_BAND = 0.06
BEARING_IN = 1.5
ROUNDING_IN = 0.5
_JOIST_SPAN_MOST_NM = 18 * FOOT
_DESIGN_DEFER = "ask a licensed professional for anything beyond"


@dataclass(frozen=True, slots=True)
class Comparison:
    """One cell of the joist table beside the computation, in inches; ``explained`` says what was fitted, if
    anything.
    """

    group: str
    size: str
    spacing_in: int
    computed_in: float
    published_in: int
    governs: str
    explained: str

    @property
    def difference_in(self) -> float:
        """Computed less published."""
        return self.computed_in - self.published_in


def comparison_table() -> tuple[Comparison, ...]:
    """Return all 36 joist cells of the published table beside the computation.

    24 cells are independent. The 12 of the redwood group hold only because western cedars (E 1.0 million psi)
    were taken into the group besides the northern species the table's footnote names: an explanation, not a
    test.
    """
    cases = load_cases(LIVE_LEAST_PSF, None, DEAD_TABLE_PSF)
    rows = []
    for (group, size), cells in JOIST_SPANS_IN.items():
        first = group.split(",")[0]
        explained = "western cedars taken into the group to meet the table" if first == "redwood" else ""
        for spacing_in, published in zip(SPACINGS_IN, cells, strict=True):
            found = joist_span(size, first, spacing_in * INCH, cases)
            rows.append(Comparison(group, size, spacing_in, found.span_in, published, found.governs, explained))
    return tuple(rows)


def settle(computed_in: float, published_in: int, slack_in: float) -> tuple[int, str]:
    """Return the span to build to, in whole inches, where both opinions exist, and why.

    The published span stands while the computation is no more than ``slack_in`` below it; else the smaller of
    the two governs. A longer computation never raises the published span.
    """
    if computed_in < published_in - slack_in:
        allowed = math.floor(computed_in)
        return allowed, f"the two disagree: the smaller, {allowed} in, governs"
    return published_in, "the published span stands"


def span_answer(
    member: str,
    size: str,
    species: str,
    grade: str,
    *,
    spacing_nm: int | None = None,
    joist_span_nm: int | None = None,
    plies: int = 1,
    live_psf: float = 40,
    snow_psf: float | None = None,
    dead_psf: float = 10,
    unit: Unit = Unit.INCH,
) -> Answer:
    """Return how far a ``joist`` (give ``spacing_nm``) or a ``beam`` (give ``joist_span_nm`` and ``plies``)
    may reach.

    Keys: ``span_in`` computed, ``governs``, ``published_span_in`` or None, ``allowed_span_in`` the figure to
    build to (None for a beam whose table is not held). Raises InputError for anything unusable.
    """
    kind = member.strip().lower().removesuffix("s")
    if kind not in MEMBERS:
        raise InputError(f"{member[:40]!r} is not a member{near(kind, MEMBERS)}", f"choose {listing(MEMBERS)}")
    grade = structural_grade(grade)
    if not 1 <= plies <= 4:
        raise InputError(f"{plies} plies is out of reason", "give 1 to 4 plies")
    cases = load_cases(live_psf, snow_psf, dead_psf)
    inputs: dict[str, Plain] = {
        "member": kind, "size": structural_size(size)[0],
        "species": find_species(species).name, "grade": grade,
        "plies": plies, "live_psf": live_psf, "snow_psf": snow_psf, "dead_psf": dead_psf,
    }  # fmt: skip
    ask = _Ask(inputs, cases, unit, plies)
    if kind == "joist":
        if spacing_nm is None:
            raise InputError("a joist needs its spacing", "give the spacing on centre, like 16")
        inputs["spacing_in"] = inches(spacing_nm)
        return _joist_answer(ask, spacing_nm)
    if joist_span_nm is None:
        raise InputError("a beam needs the span of the joists it carries", "give the joist span, like 12'")
    inputs["joist_span_in"] = inches(joist_span_nm)
    return _beam_answer(ask, joist_span_nm)


@dataclass(frozen=True, slots=True)
class _Ask:
    """What a span is asked for, checked."""

    inputs: dict[str, Plain]
    cases: tuple[Load, ...]
    unit: Unit
    plies: int

    @property
    def size(self) -> str:
        return str(self.inputs["size"])

    @property
    def species(self) -> str:
        return str(self.inputs["species"])

    @property
    def table_load(self) -> bool:
        """Whether the tables' 40 psf live and 10 psf dead cover the load asked for."""
        return all(case.deflecting_psf <= LIVE_LEAST_PSF for case in self.cases) and (
            self.cases[0].total_psf - self.cases[0].deflecting_psf <= DEAD_TABLE_PSF
        )

    def text(self, span_in: float) -> str:
        return format_trade(from_inches(span_in), self.unit)


def _grade_words(ask: _Ask) -> list[str]:
    grade = ask.inputs["grade"]
    return [] if grade == "no.2" else [f"{grade} is at least as strong as No.2; the No.2 figures are used"]


def _joist_answer(ask: _Ask, spacing_nm: int) -> Answer:
    group = find_species(ask.species).table_group
    found = joist_span(ask.size, ask.species, spacing_nm, ask.cases, ask.plies)
    on_table = ask.plies == 1 and ask.table_load
    cell = published_joist_in(group, ask.size, spacing_nm) if on_table else None
    working = [
        *_grade_words(ask),
        f"lowest of the species sold as {group}: {found.species}, {found.load} load",
        *found.working,
        f"computed {found.span_in:.2f} in, {found.governs} governs",
    ]
    if cell is not None:
        allowed, why = settle(found.span_in, cell[0], ROUNDING_IN)
        source = f"{JOIST_TABLE}; second opinion computed from {EDITION}"
        overhang = min(cell[1], allowed // 4)
        working.append(f"published {cell[0]} in, rounded to the nearest inch, so up to 1/2 in long; {why}")
    else:
        allowed, source = (
            math.floor(found.span_in + 1e-9),
            f"computed from {EDITION}; this case is off the table held",
        )
        wider = next_wider_joist_in(group, ask.size, spacing_nm) if ask.table_load else None
        working.append(f"off the table: rounded down to {allowed} in")
        if wider is not None and wider > allowed:
            allowed = wider
            working.append(f"the table carries {wider} in at a wider spacing, so this does too")
        overhang = math.floor(overhang_in(ask.size, ask.species, allowed))
    moves = [f"a joist may run past the beam by a quarter of its span, {ask.text(overhang)} at the most"]
    if found.bearing_in > BEARING_IN:
        moves.append(
            f"at that span the ends want {found.bearing_in:.2f} in of bearing, more than the usual 1-1/2 in:"
            " wider hangers or a shorter span"
        )
    answer: dict[str, Plain] = {
        "span_in": round(found.span_in, 2),
        "governs": found.governs,
        "published_span_in": cell[0] if cell else None,
        "allowed_span_in": allowed,
        "overhang_in": overhang,
        "bearing_in": round(found.bearing_in, 2),
    }
    where = format_small(spacing_nm, ask.unit)
    return Answer(
        headline=f"{ask.size} {ask.species} joists at {where} on centre may span {ask.text(allowed)}",
        inputs=ask.inputs,
        answer=answer,
        working=tuple(working),
        source=source,
        moves=tuple(moves),
        caution=code_decides(f"{JOIST_TABLE.partition(':')[0]} and {EDITION}"),
    )


def _beam_answer(ask: _Ask, joist_span_nm: int) -> Answer:
    if not 0 < joist_span_nm <= _JOIST_SPAN_MOST_NM:
        raise InputError(
            f"a joist span of {format_trade(joist_span_nm, ask.unit)} is outside the beam tables",
            f"give more than 0 and at most 18 ft; {_DESIGN_DEFER}",
        )
    group = find_species(ask.species).table_group
    width_in = BEAM_TRIBUTARY * inches(joist_span_nm)
    found = member_span(ask.size, ask.species, width_in, ask.plies, ask.cases, repetitive=False)
    cell = published_beam_in(group, ask.plies, ask.size, joist_span_nm)
    table = BEAM_TABLE if group == SOUTHERN else BEAM_QUOTED
    working = [
        *_grade_words(ask),
        f"carries {width_in:.1f} in of deck: half the joist span and a quarter beyond the beam, 0.75 of the joist span",
        f"lowest of the species sold as {group}: {found.species}, {found.load} load",
        *found.working,
        f"computed {found.span_in:.2f} in, {found.governs} governs",
    ]
    allowed, published = _beam_allowed(ask, found, cell, working)
    answer: dict[str, Plain] = {
        "span_in": round(found.span_in, 2),
        "governs": found.governs,
        "published_span_in": published,
        "allowed_span_in": allowed,
        "bearing_in": round(found.bearing_in, 2),
    }
    what = f"{ask.plies}-ply {ask.size} {ask.species} beam"
    carrying = f"under {format_trade(joist_span_nm, ask.unit)} joists"
    moves = ["a beam may run past its post by a quarter of its span; splice plies over posts only"]
    if allowed is None:
        headline = f"{what} {carrying}: no beam table is held for it, so no span is allowed here"
        moves = ["look the span up in the adopted table; the computed figure can be more than a third too long"]
    else:
        headline = f"{what} {carrying} may span {ask.text(allowed)} between posts"
    return Answer(
        headline=headline,
        inputs=ask.inputs,
        answer=answer,
        working=tuple(working),
        source=f"{table}; sanity check computed from {EDITION}" if cell else f"computed from {EDITION}",
        moves=tuple(moves),
        caution=code_decides(f"{table} and {EDITION}" if cell else EDITION),
    )


def _beam_allowed(
    ask: _Ask, found: Span, cell: tuple[int, int] | None, working: list[str]
) -> tuple[int | None, int | None]:
    """The span to build to and the published one, both in inches or None; says how in ``working``."""
    if cell is None:
        working.append(
            "no cell of a beam table is held for this; the cells seen for species other than southern pine"
            " stand up to 30 % below this computation"
        )
        return None, None
    span_in, column = cell
    working.append(f"table: {span_in} in for joists up to {column} ft; the computation never raises it")
    if ask.table_load:
        allowed, why = settle(found.span_in, span_in, BEAM_BAND * span_in)
        working.append(why)
        return allowed, span_in
    # The share is taken at the joist span of the table's column, so that it stands still within a column.
    width_in = BEAM_TRIBUTARY * 12 * column
    base = load_cases(LIVE_LEAST_PSF, None, DEAD_TABLE_PSF)
    usual, loaded = (
        member_span(ask.size, ask.species, width_in, ask.plies, cases, repetitive=False).span_in
        for cases in (base, ask.cases)
    )
    share = min(1.0, loaded / usual)
    working.append(
        f"the load is more than the table's 40 psf live and 10 psf dead: its span x {share:.3f},"
        f" the computed share, is {math.floor(span_in * share)} in"
    )
    return math.floor(span_in * share), None
