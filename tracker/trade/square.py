"""Is a frame square, and if not: which edge to push, which way and how far.

Corners go round the frame: A front left, B front right, C back right, D back left. The width edges are AB and
DC, the depth edges AD and BC; the diagonals are AC (``d1``) and BD (``d2``). Plane geometry throughout; the
tolerances are common practice unless a house rule replaces them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from tracker.errors import InputError
from tracker.trade.answer import Answer, Limit, Verdict
from tracker.trade.lengths import FOOT, INCH, MM, Unit, format_length, format_small, inches
from tracker.trade.plausible import positive, right_unit
from tracker.trade.rules import Rules

SOURCE = "plane geometry: d1² - d2² = 4·a·x and d1² + d2² = 2·(a² + b²) in a parallelogram; tolerance: common practice"
COMPLAINT = (
    "complaint limit: a floor with 12 ft and 16 ft legs measures 20 ft ± 1/2 in on the diagonal "
    "(remodeler performance standard, floor square)"
)
CAUTION = "Drive the frame over with a block between it and the hammer, hands clear of the corners."


def expected_diagonal(width_nm: int, depth_nm: int) -> float:
    """Return the diagonal of a square frame in nm: the root of width² + depth²."""
    return math.hypot(width_nm, depth_nm)


def racking(width_nm: int, d1_nm: int, d2_nm: int) -> Fraction:
    """Return how far the back edge stands to the right of square, in nm along the width: (d1² - d2²) /
    (4·width).

    Exact for a parallelogram: moving the back edge back by it makes both diagonals equal. Negative means to
    the left.
    """
    return Fraction(d1_nm**2 - d2_nm**2, 4 * width_nm)


def tape_error(width_nm: int, depth_nm: int, d1_nm: int, d2_nm: int) -> float:
    """Return by how much the diagonals outrun the sides, in nm, racking taken out.

    The root mean square of the diagonals equals the expected diagonal in every parallelogram. A positive
    figure can only be a misread tape or unequal opposite edges; a negative one also a frame in wind (see
    ``corner_off_plane``).
    """
    return math.sqrt((d1_nm**2 + d2_nm**2) / 2) - expected_diagonal(width_nm, depth_nm)


def corner_off_plane(width_nm: int, depth_nm: int, d1_nm: int, d2_nm: int) -> float:
    """Return how far one corner would stand off the plane of the other three to explain short diagonals, in
    nm.

    0 when they are not short. From Euler's theorem on the quadrilateral, which holds for a frame in wind too:
    the sum of the squared sides is the sum of the squared diagonals plus 4 times the squared distance of
    their middles.
    """
    return math.sqrt(max(0, 2 * (width_nm**2 + depth_nm**2) - d1_nm**2 - d2_nm**2))


def tolerance_key(diagonal_nm: float) -> str:
    """Return the house rule that holds the tolerance: diagonal up to 12 ft, to 20 ft, beyond."""
    if diagonal_nm <= 12 * FOOT:
        return "square_small"
    return "square_medium" if diagonal_nm <= 20 * FOOT else "square_large"


def check_tapes(width_nm: int, depth_nm: int, d1_nm: int, d2_nm: int, unit: Unit) -> None:
    """Raise InputError for what no frame can have: zero, a diagonal under a side or over both together."""
    sides = (("the width", width_nm), ("the depth", depth_nm))
    for what, nm in (*sides, ("diagonal A-C", d1_nm), ("diagonal B-D", d2_nm)):
        positive(nm, what, unit)
    for (what, nm), (_, other) in (sides, sides[::-1]):
        right_unit(nm, other, what, unit)
    for what, nm in (("diagonal A-C", d1_nm), ("diagonal B-D", d2_nm)):
        right_unit(nm, round(expected_diagonal(width_nm, depth_nm)), what, unit)
        text = f"{what} {format_length(nm, unit)}"
        if nm <= max(width_nm, depth_nm):
            side = "width" if width_nm >= depth_nm else "depth"
            raise InputError(
                f"{text} is not longer than the {side}, {format_length(max(width_nm, depth_nm), unit)}",
                "a diagonal runs from corner to opposite corner; read it again, and the side",
            )
        if nm >= width_nm + depth_nm:
            raise InputError(
                f"{text} is longer than width and depth together, {format_length(width_nm + depth_nm, unit)}",
                "read it again from corner to opposite corner",
            )


def _tolerance(diagonal_nm: float, unit: Unit, tolerance_nm: int | None, rules: Rules) -> tuple[int, Limit]:
    key = tolerance_key(diagonal_nm)
    if tolerance_nm is not None:
        rules = rules.as_typed({key: tolerance_nm})
    limit = rules.limit(key, unit)
    published = "; ".join(text for text in (limit.published, COMPLAINT) if text)
    return rules.figure(key), replace(limit, published=published)


def square_answer(
    width_nm: int,
    depth_nm: int,
    d1_nm: int,
    d2_nm: int,
    unit: Unit,
    tolerance_nm: int | None = None,
    *,
    rules: Rules | None = None,
    push_front: bool = False,
    strings: bool = False,
    notes: Sequence[str] = (),
) -> Answer:
    """Return the squareness of a frame from two sides and two diagonals.

    ``d1_nm`` is A-C, ``d2_nm`` B-D. Keys: ``diagonal_in``, ``difference_in``, ``push_in``, ``push_along``,
    ``tape_error_in``. It carries a verdict when a ``tolerance_nm`` or ``rules`` are given, else it only shows
    the default tolerance. ``push_front`` moves the front edge, when the back one is fixed to a house;
    ``strings`` words it for stakes and strings; ``notes`` are more lines of working. Raises InputError for
    impossible readings.
    """
    check_tapes(width_nm, depth_nm, d1_nm, d2_nm, unit)
    judged = rules is not None or tolerance_nm is not None
    rules = rules or Rules(unit=unit)
    expected = expected_diagonal(width_nm, depth_nm)
    shift = racking(width_nm, d1_nm, d2_nm)
    error = tape_error(width_nm, depth_nm, d1_nm, d2_nm)
    difference = abs(d1_nm - d2_nm)
    allowed, limit = _tolerance(expected, unit, tolerance_nm, rules)
    consistent = abs(error) <= rules.figure("tape_disagreement")
    square = difference <= allowed
    move = _push(shift, unit, push_front=push_front, strings=strings)
    if not consistent:
        headline = f"sides and diagonals disagree by {format_small(abs(error), unit)}: read the tapes again"
    elif square:
        headline = f"square: {format_small(difference, unit)} between the diagonals, {limit.text} allowed"
    else:
        headline = f"out of square: {format_small(difference, unit)} between the diagonals, {move}"
    moves: tuple[str, ...] = ()
    if not consistent:
        moves = _REREAD
    elif not square:
        moves = (move, "then read both diagonals again before you brace it")
    return Answer(
        headline=headline,
        inputs={
            "width_in": inches(width_nm),
            "depth_in": inches(depth_nm),
            "ac_in": inches(d1_nm),
            "bd_in": inches(d2_nm),
        },
        answer={
            "diagonal_in": expected / INCH,
            "difference_in": inches(difference),
            "push_in": abs(inches(shift)),
            "push_along": f"the width edge ({format_length(width_nm, unit)})",
            "tape_error_in": error / INCH,
        },
        working=(
            *_working(width_nm, depth_nm, d1_nm, d2_nm, shift, expected, error, unit),
            *((_wind(width_nm, depth_nm, d1_nm, d2_nm, unit),) if not consistent and error < 0 else ()),
            *notes,
        ),
        source=SOURCE,
        verdict=(Verdict.PASSED if square and consistent else Verdict.FAILED) if judged else None,
        moves=moves,
        limits=(limit, rules.limit("tape_disagreement", unit)),
        caution="" if strings else CAUTION,
    )


def _push(shift: Fraction, unit: Unit, *, push_front: bool, strings: bool) -> str:
    if shift == 0:
        return "nothing to push"
    to_left = (shift > 0) is not push_front
    edge = "front" if push_front else "back"
    what = f"move both {edge} stakes" if strings else f"push the {edge} edge"
    return f"{what} {format_small(abs(shift), unit)} to the {'left' if to_left else 'right'}"


_REREAD = (
    "read both sides and both diagonals again before you push anything",
    "equal diagonals only mean square when opposite edges are equal: measure all four edges",
)


def _number(nm: float | Fraction, unit: Unit) -> str:
    return f"{float(nm) / INCH:.2f}" if unit is Unit.INCH else f"{float(nm) / MM:.1f}"


def _wind(width_nm: int, depth_nm: int, d1_nm: int, d2_nm: int, unit: Unit) -> str:
    off = format_small(corner_off_plane(width_nm, depth_nm, d1_nm, d2_nm), unit)
    return f"wind alone would need one corner {off} off the plane of the others to shorten the diagonals so"


def _working(
    width_nm: int,
    depth_nm: int,
    d1_nm: int,
    d2_nm: int,
    shift: Fraction,
    expected: float,
    error: float,
    unit: Unit,
) -> tuple[str, ...]:
    a, b, d1, d2 = (_number(nm, unit) for nm in (width_nm, depth_nm, d1_nm, d2_nm))
    side = "right" if shift > 0 else "left"
    lean = math.degrees(math.atan2(float(abs(shift)), depth_nm))
    return (
        f"expected diagonal = √(width² + depth²) = √({a}² + {b}²) = {_number(expected, unit)} {unit}",
        f"racking = (AC² - BD²) / (4 · width) = ({d1}² - {d2}²) / (4 · {a}) = "
        f"{_number(abs(shift), unit)} {unit}"
        + (f", the back edge stands to the {side}, {lean:.2f}° off square" if shift else ""),
        f"tape check = √((AC² + BD²) / 2) - expected = {_number(error + expected, unit)} - "
        f"{_number(expected, unit)} = {_number(error, unit)} {unit}",
    )
