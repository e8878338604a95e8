"""Stair flights: equal risers within the rule, stringer layout, handrail, and the as-built spread.

Figures are those of IRC R311.7 as a building office prints them (riser 7-3/4 in at most, tread 10 in at
least, spread 3/8 in at most, handrail 34 to 38 in from four risers on). Ones marked "from memory" were not
open when written.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from tracker.errors import InputError, InputErrors
from tracker.text import count
from tracker.trade.answer import Answer, Limit, Plain, Verdict
from tracker.trade.cautions import code_decides
from tracker.trade.lengths import (
    FOOT,
    INCH,
    SIXTEENTH,
    Unit,
    format_length,
    format_small,
    format_trade,
    from_inches,
    inches,
    nearest,
)
from tracker.trade.lumber import dressed

SOURCE = "IRC R311.7 (2018), as local building offices print it"
RISER_MOST_NM = 7 * INCH + 3 * INCH // 4
TREAD_LEAST_NM = 10 * INCH
SPREAD_MOST_NM = 3 * INCH // 8
HANDRAIL_RISERS = 4
HANDRAIL_LOW_NM, HANDRAIL_HIGH_NM = 34 * INCH, 38 * INCH
WIDTH_LEAST_NM = LANDING_LEAST_NM = 36 * INCH
"""Clear width, and landing in the direction of travel (from memory: IRC R311.7.1 and R311.7.6)."""
FLIGHT_MOST_NM = 147 * INCH
"""Rise between landings, from memory: IRC R311.7.3, 147 in in editions before 2018 and 151 in since; the
smaller.
"""
CUT_STRINGER_RUN_MOST_NM = 6 * FOOT
"""Run of a cut 2x12 stringer, southern pine (from memory: DCA 6 stair section)."""
SOLID_STRINGER_RUN_MOST_NM = 13 * FOOT + 3 * INCH
"""Run of a solid 2x12 stringer, southern pine (from memory: DCA 6 stair section)."""
STRINGER_SPACING_MOST_NM = 18 * INCH
"""Stringers on centre (from memory: DCA 6 stair section)."""
STRINGER_SPACING_COMPOSITE_NM = 12 * INCH
"""Stringers on center under composite treads: their makers commonly ask for 12 in or less (common practice)."""
THROAT_LEAST_NM = 5 * INCH
"""Wood left below the notches of a cut stringer (from memory: DCA 6 stair section)."""
RISE_MOST_NM = 30 * FOOT
"""The highest flight asked about here, a bound of this program."""
_BOTTOM_STEP = "the bottom riser is cut shorter by one tread's thickness, so that every step climbs the same"


def riser_count(rise_nm: int) -> int:
    """Return the fewest equal risers of at most 7-3/4 in; raises InputError for a rise out of reason."""
    if not 0 < rise_nm <= RISE_MOST_NM:
        raise InputError(
            f"a rise of {format_length(rise_nm)} cannot be climbed by one stair",
            f"give the height from landing to walking surface, more than 0 and at most {format_length(RISE_MOST_NM)}",
        )
    return -(-rise_nm // RISER_MOST_NM)


def stringer_spacing_nm(*, composite: bool) -> int:
    """The widest stringer spacing on center under treads of wood or of ``composite`` boards, in nm."""
    return STRINGER_SPACING_COMPOSITE_NM if composite else STRINGER_SPACING_MOST_NM


def stringer_count(width_nm: int, spacing_nm: int = STRINGER_SPACING_MOST_NM) -> int:
    """Return the stringers under a stair of clear width ``width_nm``, ``spacing_nm`` on center at most (18 in under wood),
    both edges carried.

    Raises InputError for a width that is not positive.
    """
    if width_nm <= 0:
        raise InputError("the stair has no width", "give its clear width, 36 in or more")
    return -(-width_nm // spacing_nm) + 1


def riser_marks_nm(rise_nm: int) -> tuple[int, ...]:
    """Return the height of each step above the landing, to the nearest 1/16 in, last one the rise itself.

    Each mark is rounded from the exact height, so that rounding never adds up over the flight.
    """
    risers = riser_count(rise_nm)
    marks = [nearest(Fraction(rise_nm * step, risers), SIXTEENTH) for step in range(1, risers)]
    return (*marks, rise_nm)


def stairs_answer(
    rise_nm: int, *, tread_nm: int = TREAD_LEAST_NM, width_nm: int = WIDTH_LEAST_NM, unit: Unit = Unit.INCH
) -> Answer:
    """Return the flight for a rise: equal risers, treads (the deck is the last step) and the run.

    Keys: ``risers``, ``riser_in``, ``treads``, ``run_in``, and ``handrail``, ``stringer_in``, ``throat_in``
    (2x12, None with no tread), ``stringers``. Raises InputError for a rise that is not positive, or a tread
    or width under the rule.
    """
    risers = riser_count(rise_nm)
    if not TREAD_LEAST_NM <= tread_nm <= 3 * FOOT:
        raise InputError(
            f"a tread of {format_trade(tread_nm, unit)} is outside the rule",
            f"give {format_trade(TREAD_LEAST_NM, unit)} to {format_trade(3 * FOOT, unit)}",
        )
    if width_nm < WIDTH_LEAST_NM:
        raise InputError(
            f"a stair {format_trade(width_nm, unit)} wide is too narrow",
            f"give {format_trade(WIDTH_LEAST_NM, unit)} or more (from memory: IRC R311.7.1)",
        )
    riser, treads = Fraction(rise_nm, risers), risers - 1
    run, handrail = treads * tread_nm, risers >= HANDRAIL_RISERS
    riser_in, tread_in = float(riser / INCH), inches(tread_nm)
    slope_in = math.hypot(riser_in, tread_in)
    throat = inches(dressed("2x12").depth_nm) - riser_in * tread_in / slope_in if treads else None
    stringers = stringer_count(width_nm)
    moves = [f"mark the steps from the landing: {'; '.join(format_trade(m, unit) for m in riser_marks_nm(rise_nm))}"]
    if treads:
        moves.append(_BOTTOM_STEP)
    if handrail:
        low, high = (format_trade(nm, unit) for nm in (HANDRAIL_LOW_NM, HANDRAIL_HIGH_NM))
        moves.append(f"{risers} risers: a graspable handrail, {low} to {high} above the nosings")
    if run > CUT_STRINGER_RUN_MOST_NM:
        moves.append(
            f"a run of {format_trade(run, unit)} is more than a cut 2x12 stringer carries"
            f" ({format_length(CUT_STRINGER_RUN_MOST_NM, unit)}): solid stringers up to"
            f" {format_length(SOLID_STRINGER_RUN_MOST_NM, unit)}, or a post or landing between"
        )
    if treads and (more := stringer_count(width_nm, STRINGER_SPACING_COMPOSITE_NM)) > stringers:
        closer = format_trade(STRINGER_SPACING_COMPOSITE_NM, unit)
        moves.append(f"composite treads: {more} stringers, {closer} on center or less, as the board's maker says")
    if throat is not None and from_inches(throat) < THROAT_LEAST_NM:
        moves.append(f"a 2x12 keeps only {throat:.2f} in below the notches, less than 5 in: use solid stringers")
    if rise_nm > FLIGHT_MOST_NM:
        moves.append(f"more than {format_length(FLIGHT_MOST_NM, unit)} of rise: put a landing in the flight")
    answer: dict[str, Plain] = {
        "risers": risers,
        "riser_in": round(riser_in, 4),
        "treads": treads,
        "run_in": inches(run),
        "handrail": handrail,
        "stringer_in": round(slope_in * treads, 2),
        "throat_in": None if throat is None else round(throat, 2),
        "stringers": stringers,
    }
    return Answer(
        headline=f"{count(risers, 'riser')} of {format_trade(riser, unit)}, {count(treads, 'tread')},"
        f" run {format_trade(run, unit)}",
        inputs={"rise_in": inches(rise_nm), "tread_in": tread_in, "width_in": inches(width_nm)},
        answer=answer,
        working=(
            f"risers: {inches(rise_nm):g} in / {inches(RISER_MOST_NM):g} in, rounded up = {risers}",
            f"riser: {inches(rise_nm):g} in / {risers} = {riser_in:.4f} in",
            f"treads: {risers} risers - 1, as the deck is the last step = {treads}",
            f"run: {treads} x {tread_in:g} in = {inches(run):g} in",
            f"stringer along the slope: {treads} x sqrt(({riser_in:.3f} in)^2 + ({tread_in:g} in)^2) ="
            f" {slope_in * treads:.2f} in",
            f"stringers: {inches(width_nm):g} in at 18 in on centre at most, both edges = {stringers}",
        ),
        source=SOURCE,
        moves=tuple(moves),
        limits=(
            Limit("riser at the most", format_small(RISER_MOST_NM, unit), SOURCE),
            Limit("tread at the least", format_small(TREAD_LEAST_NM, unit), SOURCE),
        ),
        caution=code_decides(SOURCE)
        + " Stairs over 30 in high want guards; ask what your edition says of open risers.",
    )


def as_built_answer(risers_nm: Sequence[int], treads_nm: Sequence[int] = (), *, unit: Unit = Unit.INCH) -> Answer:
    """Judge a flight as measured: every riser and tread, the first and the last too.

    Passes when no riser is over 7-3/4 in, no tread under 10 in, and neither spreads by more than 3/8 in.
    Keys: ``riser_spread_in``, ``tread_spread_in`` (None without treads), ``tallest_in``. Raises InputErrors
    for lengths that are not positive, InputError for fewer than two risers.
    """
    if len(risers_nm) < 2:
        raise InputError("a spread needs two risers or more", "measure every riser, the first and the last too")
    named = [("riser", n, nm) for n, nm in enumerate(risers_nm, 1)]
    named += [("tread", n, nm) for n, nm in enumerate(treads_nm, 1)]
    if wrong := [f"{what} {n} is not more than 0" for what, n, nm in named if nm <= 0]:
        raise InputErrors(wrong, "measure it again")
    spread = max(risers_nm) - min(risers_nm)
    tread_spread = max(treads_nm) - min(treads_nm) if treads_nm else 0
    moves = [
        f"riser {n} is {format_trade(nm, unit)}: rebuild it to {format_trade(RISER_MOST_NM, unit)} or less"
        for n, nm in enumerate(risers_nm, 1)
        if nm > RISER_MOST_NM
    ]
    moves += [
        f"tread {n} is {format_trade(nm, unit)}: {format_trade(TREAD_LEAST_NM, unit)} at the least"
        for n, nm in enumerate(treads_nm, 1)
        if nm < TREAD_LEAST_NM
    ]
    for what, values, gap in (("riser", risers_nm, spread), ("tread", treads_nm, tread_spread)):
        if gap > SPREAD_MOST_NM:
            low, high = values.index(min(values)) + 1, values.index(max(values)) + 1
            moves.append(
                f"{what}s {low} and {high} differ by {format_small(gap, unit)}:"
                f" bring them within {format_small(SPREAD_MOST_NM, unit)}"
            )
    passed = not moves
    return Answer(
        headline=f"risers differ by {format_small(spread, unit)}: {'within' if passed else 'out of'} the rule",
        inputs={
            "risers_in": [inches(nm) for nm in risers_nm],
            "treads_in": [inches(nm) for nm in treads_nm],
        },
        answer={
            "riser_spread_in": inches(spread),
            "tread_spread_in": inches(tread_spread) if treads_nm else None,
            "tallest_in": inches(max(risers_nm)),
        },
        working=(
            f"riser spread: {inches(max(risers_nm)):g} - {inches(min(risers_nm)):g} = {inches(spread):g} in",
            *(
                [f"tread spread: {inches(max(treads_nm)):g} - {inches(min(treads_nm)):g} = {inches(tread_spread):g} in"]
                if treads_nm
                else []
            ),
        ),
        source=SOURCE,
        verdict=Verdict.PASSED if passed else Verdict.FAILED,
        moves=tuple(moves),
        limits=(
            Limit("between risers of a flight", format_small(SPREAD_MOST_NM, unit), SOURCE),
            Limit("riser at the most", format_small(RISER_MOST_NM, unit), SOURCE),
        ),
        caution=code_decides(SOURCE),
    )
