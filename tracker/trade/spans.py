"""How far a joist or a beam may reach: the published deck table first, the computation beside it as a second
opinion.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from tracker.errors import InputError
from tracker.text import listing, near
from tracker.trade.answer import Answer, Plain
from tracker.trade.beam_tables import (
    BEAM_JOIST_SPANS_FT,
    BEAM_SOURCES,
    BEAM_SPANS_IN,
    BeamCell,
    BeamTable,
    beam_cell,
    cell_words,
)
from tracker.trade.cautions import code_decides
from tracker.trade.lengths import FOOT, INCH, Unit, format_small, format_trade, from_inches, inches
from tracker.trade.lumber import nominal_within, served_words, size_name
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
    JOIST_SPANS_IN,
    JOIST_TABLE,
    SPACINGS_IN,
    next_wider_joist_in,
    published_joist_in,
)
from tracker.trade.species import EDITION, structural_grade, structural_size

MEMBERS = ("joist", "beam")
BEAM_TRIBUTARY = 0.75
BEAM_BAND = 0.07
"""How far the computation may fall below a cell of the beam table before the smaller governs: the widest over all cells held
is 6.6 % (three plies of 2x6 hem-fir; see tests).
"""
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
    cases = _table_cases()
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
    table: BeamTable = BeamTable.DCA,
    unit: Unit = Unit.INCH,
) -> Answer:
    """Return how far a ``joist`` (give ``spacing_nm``) or a ``beam`` (give ``joist_span_nm`` and ``plies``)
    may reach, by the beam ``table`` in force.

    Keys: ``span_in`` computed, ``governs``, ``published_span_in`` or None, ``allowed_span_in`` the figure to
    build to. A metric size is served by the largest nominal one inside it. Raises InputError for anything unusable, and for a beam no table reaches: no span is allowed it.
    """
    kind = member.strip().lower().removesuffix("s")
    if kind not in MEMBERS:
        raise InputError(f"{member[:40]!r} is not a member{near(kind, MEMBERS)}", f"choose {listing(MEMBERS)}")
    grade = structural_grade(grade)
    if not 1 <= plies <= 4:
        raise InputError(f"{plies} plies is out of reason", "give 1 to 4 plies")
    cases = load_cases(live_psf, snow_psf, dead_psf)
    served = nominal_within(size)
    inputs: dict[str, Plain] = {
        "member": kind, "size": size_name(size),
        "species": find_species(species).name, "grade": grade,
        "plies": plies, "live_psf": live_psf, "snow_psf": snow_psf, "dead_psf": dead_psf,
    }  # fmt: skip
    ask = _Ask(inputs, structural_size(served)[0], cases, unit, plies, table)
    if kind == "joist":
        if spacing_nm is None:
            raise InputError("a joist needs its spacing", "give the spacing on centre, like 16")
        inputs["spacing_in"] = inches(spacing_nm)
        return _joist_answer(ask, spacing_nm)
    if joist_span_nm is None:
        raise InputError("a beam needs the span of the joists it carries", "give the joist span, like 12'")
    inputs |= {"joist_span_in": inches(joist_span_nm), "table": str(table)}
    return _beam_answer(ask, joist_span_nm)


@dataclass(frozen=True, slots=True)
class _Ask:
    """What a span is asked for, checked."""

    inputs: dict[str, Plain]
    size: str
    cases: tuple[Load, ...]
    unit: Unit
    plies: int
    table: BeamTable

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


def _stamp_words(ask: _Ask) -> list[str]:
    grade, size = ask.inputs["grade"], ask.inputs["size"]
    graded = [] if grade == "no.2" else [f"{grade} is at least as strong as No.2; the No.2 figures are used"]
    return [*([] if size == ask.size else [served_words(str(size), ask.size)]), *graded]


def _joist_answer(ask: _Ask, spacing_nm: int) -> Answer:
    group = find_species(ask.species).table_group
    found = joist_span(ask.size, ask.species, spacing_nm, ask.cases, ask.plies)
    on_table = ask.plies == 1 and ask.table_load
    cell = published_joist_in(group, ask.size, spacing_nm) if on_table else None
    working = [
        *_stamp_words(ask),
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
        headline=f"{ask.inputs['size']} {ask.species} joists at {where} on centre may span {ask.text(allowed)}",
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
    what = f"{ask.plies}-ply {ask.inputs['size']} {ask.species} beam"
    carrying = f"under {format_trade(joist_span_nm, ask.unit)} joists"
    cell = beam_cell(ask.table, ask.species, ask.plies, ask.size, joist_span_nm)
    if cell is None:
        raise InputError(
            f"no beam table held reaches a {what} {carrying}, so no span is allowed it",
            f"take one ply more or a deeper size, or {_DESIGN_DEFER}",
        )
    width_in = BEAM_TRIBUTARY * inches(joist_span_nm)
    found = member_span(ask.size, ask.species, width_in, ask.plies, ask.cases, repetitive=False)
    working = [
        *_stamp_words(ask),
        f"carries {width_in:.1f} in of deck: half the joist span and a quarter beyond the beam, 0.75 of the joist span",
        f"lowest of the species sold as {group}: {found.species}, {found.load} load",
        *found.working,
        f"computed {found.span_in:.2f} in, {found.governs} governs; the computation never raises a span of the table",
        cell_words(cell),
    ]
    allowed = _beam_allowed(ask, found, cell, group, working)
    answer: dict[str, Plain] = {
        "span_in": round(found.span_in, 2),
        "governs": found.governs,
        "published_span_in": cell.span_in if cell.own and ask.table_load else None,
        "allowed_span_in": allowed,
        "bearing_in": round(found.bearing_in, 2),
    }
    source = BEAM_SOURCES[cell.table]
    return Answer(
        headline=f"{what} {carrying} may span {ask.text(allowed)} between posts",
        inputs=ask.inputs,
        answer=answer,
        working=tuple(working),
        source=f"{source}; sanity check computed from {EDITION}",
        moves=("a beam may run past its post by a quarter of its span; splice plies over posts only",),
        caution=code_decides(f"the beam table of {cell.table} and {EDITION}"),
    )


def _beam_allowed(ask: _Ask, found: Span, cell: BeamCell, group: str, working: list[str]) -> int:
    """The span to build to in inches, never over the cell; says how in ``working``."""
    allowed = cell.span_in
    if cell.own and ask.table_load:
        allowed, why = settle(found.span_in, cell.span_in, BEAM_BAND * cell.span_in)
        working.append(why)
    if not cell.own:
        margin = beam_margin(group, cell.plies)
        less = math.floor(found.span_in * (1 - margin))
        working.append(
            f"not a beam of the table: computed less {margin:.1%}, the most the computation stands over any cell of"
            f" {cell.plies} plies held, is {less} in; the smaller governs"
        )
        allowed = min(allowed, less)
    if not ask.table_load:
        # The share is taken at the joist span of the table's column, so that it stands still within a column.
        width_in = BEAM_TRIBUTARY * 12 * cell.joist_ft
        usual, loaded = (
            member_span(cell.size, ask.species, width_in, cell.plies, cases, repetitive=False).span_in
            for cases in (_table_cases(), ask.cases)
        )
        share = min(1.0, loaded / usual)
        allowed = min(allowed, math.floor(cell.span_in * share))
        working.append(
            f"the load is more than the table's 40 psf live and 10 psf dead: its span x {share:.3f},"
            f" the computed share; {allowed} in governs"
        )
    return allowed


def _table_cases() -> tuple[Load, ...]:
    return load_cases(LIVE_LEAST_PSF, None, DEAD_TABLE_PSF)


@cache
def beam_margin(group: str, plies: int) -> float:
    """By what share the computation runs over the cells of ``plies`` held for a species group, at the most.

    Taken over every cell of DCA 6-2015, the shorter edition; 0 where the computation is never the longer one.
    """
    over = [
        1 - cell / member_span(size, group.split(",")[0], BEAM_TRIBUTARY * 12 * feet, plies, _table_cases(), repetitive=False).span_in
        for (held, row_plies, size), row in BEAM_SPANS_IN[BeamTable.DCA].items()
        if held == group and row_plies == plies
        for feet, cell in zip(BEAM_JOIST_SPANS_FT, row, strict=True)
    ]  # fmt: skip
    return max(0.0, *over)
