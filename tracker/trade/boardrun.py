"""How many boards cover a run, how the last comes out, and a tapering run brought home. Common practice."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from tracker.errors import InputError
from tracker.text import count
from tracker.trade.answer import Answer
from tracker.trade.lengths import FOOT, Unit, format_length, format_small, inches, nearest

LONGEST_RUN = 400 * FOOT
WIDEST_BOARD = 2 * FOOT


@dataclass(frozen=True, slots=True)
class BoardRun:
    """Full boards over a run: ``count``, ``overhang_nm`` of the last, ``last_width_nm`` if ripped flush."""

    count: int
    overhang_nm: int
    last_width_nm: int


def _check(width_nm: int, gap_nm: int) -> None:
    if not 0 < width_nm <= WIDEST_BOARD:
        raise InputError("a deck board cannot be that wide", "give the dressed width, like 5-1/2 in")
    if not 0 <= gap_nm < width_nm:
        raise InputError("the gap must be from nothing to less than a board", "give it like 1/8 in, or 0 for tight")


def boards_for(run_nm: int, width_nm: int, gap_nm: int = 0) -> BoardRun:
    """Return the boards that cover a run: (run + gap) / (width + gap), rounded up.

    147 in of tight 5-1/2 in boards takes 27 with 1-1/2 in over. Raises InputError for sizes no deck has.
    """
    _check(width_nm, gap_nm)
    if not 0 < run_nm <= LONGEST_RUN:
        raise InputError(
            f"a run of {format_length(run_nm)} cannot be boarded",
            f"give one up to {format_length(LONGEST_RUN)}",
        )
    boards = -(-(run_nm + gap_nm) // (width_nm + gap_nm))
    overhang = boards * (width_nm + gap_nm) - gap_nm - run_nm
    # A last board narrower than the gap before it is no board: the run then ends inside that gap.
    return BoardRun(boards, overhang, max(0, width_nm - overhang))


def boards_answer(run_nm: int, width_nm: int, gap_nm: int, unit: Unit) -> Answer:
    """Return the boards over a run: keys ``boards``, ``overhang_in``, ``last_width_in``. Raises as ``boards_for``."""
    found = boards_for(run_nm, width_nm, gap_nm)
    run, width, gap = (format_length(nm, unit) for nm in (run_nm, width_nm, gap_nm))
    over = format_small(found.overhang_nm, unit)
    laid = "laid touching" if not gap_nm else f"{format_small(gap_nm, unit)} apart"
    return Answer(
        headline=f"{count(found.count, 'board')} {laid} cover {run}, {over} over",
        inputs={"run_in": inches(run_nm), "width_in": inches(width_nm), "gap_in": inches(gap_nm)},
        answer={
            "boards": found.count,
            "overhang_in": inches(found.overhang_nm),
            "last_width_in": inches(found.last_width_nm),
        },
        working=(f"(run + gap) / (width + gap) = ({run} + {gap}) / ({width} + {gap}), rounded up = {found.count}",),
        source="common practice",
        moves=(f"let the last board run {over} over, or rip it to {format_small(found.last_width_nm, unit)}",),
    )


@dataclass(frozen=True, slots=True)
class TaperPlan:
    """How to bring the boards home; lengths in nm, mappings by the points the run was measured at.

    ``taper_nm`` is the longest remaining run minus the shortest; ``boards_to_go`` counts the last one.
    ``flush`` says that full boards land flush by the gaps alone. ``gap_change_nm`` is what to add to every
    gap at a point (negative: take from it), ``last_width_nm`` the width of the last board there,
    ``left_over_nm`` the taper the gaps cannot take, which the rip of the last board takes. ``last_two_nm`` is
    the least width when the last two boards are ripped alike.
    """

    taper_nm: int
    boards_to_go: int
    flush: bool
    gap_change_nm: Mapping[str, int]
    last_width_nm: Mapping[str, int]
    left_over_nm: int
    last_two_nm: int


def bring_home(
    remaining_nm: Mapping[str, int],
    width_nm: int,
    gap_nm: int,
    least_gap_nm: int,
    most_gap_nm: int,
    unit: Unit = Unit.INCH,
) -> TaperPlan:
    """Plan the boards left, from the run still open at two or more points, square to the boards.

    Each board to go takes one gap and one width. If gaps between ``least_gap_nm`` and ``most_gap_nm`` (as
    laid, not in service) let whole boards land flush at every point, that is the plan; else the gaps take
    what taper they can and the last board is ripped. Raises InputError for fewer than two points or readings
    that cannot be.
    """
    _check(width_nm, gap_nm)
    if not 0 <= least_gap_nm <= gap_nm <= most_gap_nm:
        raise InputError("the gap as laid must lie between the least and the most it may be", "look at the three gaps")
    if len(remaining_nm) < 2:
        raise InputError("one reading shows no taper", "measure the open run at both ends and the middle")
    for point, nm in remaining_nm.items():
        if not 0 < nm <= LONGEST_RUN:
            raise InputError(f"the run open at {point} is {format_length(nm, unit)}", "measure what is still to cover")
    most, least = max(remaining_nm.values()), min(remaining_nm.values())
    taper = most - least
    if taper > width_nm:
        raise InputError(
            f"the open run differs by {format_small(taper, unit)}, more than a whole board",
            "read it again, square to the boards, from the same board at every point",
        )
    pitch = width_nm + gap_nm
    mean = Fraction(sum(remaining_nm.values()), len(remaining_nm))
    room = (least_gap_nm - gap_nm, most_gap_nm - gap_nm)
    whole = max(1, nearest(mean, pitch) // pitch)
    change = {point: Fraction(nm, whole) - pitch for point, nm in remaining_nm.items()}
    if all(room[0] <= c <= room[1] for c in change.values()):
        return TaperPlan(taper, whole, True, _rounded(change), dict.fromkeys(remaining_nm, width_nm), 0, width_nm)
    count = -(-most // pitch)
    change = _straighten(remaining_nm, count, mean, room)
    last = {
        point: Fraction(nm) - (count - 1) * pitch - gap_nm - count * change[point] for point, nm in remaining_nm.items()
    }
    # Where the gap alone covers what is open there is no strip left to rip.
    last = {point: max(width, Fraction(0)) for point, width in last.items()}
    left_over = max(last.values()) - min(last.values())
    last_two = (min(last.values()) + width_nm) / 2
    return TaperPlan(taper, count, False, _rounded(change), _rounded(last), round(left_over), round(last_two))


def _straighten(
    remaining_nm: Mapping[str, int], count: int, mean: Fraction, room: tuple[int, int]
) -> dict[str, Fraction]:
    """Split the taper over the gaps, shifted into the room they have and clipped to it."""
    wanted = {point: (nm - mean) / count for point, nm in remaining_nm.items()}
    low, high = min(wanted.values()), max(wanted.values())
    shift = Fraction(0)
    if low < room[0]:
        shift = room[0] - low
    elif high > room[1]:
        shift = room[1] - high
    return {point: min(max(w + shift, Fraction(room[0])), Fraction(room[1])) for point, w in wanted.items()}


def _rounded(values: Mapping[str, Fraction]) -> dict[str, int]:
    return {point: round(value) for point, value in values.items()}
