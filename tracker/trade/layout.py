"""Where the joists go along a rim, and where a joist is held up: marks from one end, so errors do not add up.

All lengths are whole nanometres. The method is common practice.
"""

from __future__ import annotations

from collections.abc import Iterable

from tracker.errors import InputError
from tracker.trade.answer import Answer, Plain
from tracker.trade.lengths import FOOT, INCH, MM, SIXTEENTH, Unit, format_inches, format_length, format_small, inches
from tracker.trade.rules import COMMON

LONGEST_RIM = 400 * FOOT
THICKEST = FOOT


def joist_marks(length_nm: int, spacing_nm: int, thickness_nm: int) -> tuple[int, ...]:
    """Return the centre lines of the joists along a rim of outside length ``length_nm``, from one end.

    The first and last joists are flush with the ends; the others sit at whole multiples of the spacing from
    the one end. No bay is wider than the spacing and there are ``ceil((length - thickness) / spacing) + 1``
    joists. A joist that would stand against the last one, or so near it that no hammer goes between
    (``least_clear_nm``), stands in the middle of the room left instead; where the last bay would come out
    wider than the spacing, by up to half a thickness, all the marks between move over by that much. Raises
    InputError for sizes no frame can have. Source: common practice.
    """
    _check(length_nm, spacing_nm, thickness_nm)
    between = -(-(length_nm - thickness_nm) // spacing_nm) - 1
    half = thickness_nm // 2
    last = length_nm - half
    over = max(0, last - (between + 1) * spacing_nm)
    wanted = [k * spacing_nm + over - half for k in range(1, between + 1)]
    inner = set_between(thickness_nm, length_nm - thickness_nm, wanted, spacing_nm, thickness_nm)
    return (half, *(near + half for near in inner), last)


def least_clear_nm(spacing_nm: int, thickness_nm: int) -> int:
    """The least room between a joist of the layout and the next member: two thicknesses, for a hanger and a hammer.

    Less where the spacing itself leaves less (common practice).
    """
    return min(2 * thickness_nm, max(spacing_nm - 2 * thickness_nm, 0) // 2)


def set_between(
    low_nm: int, high_nm: int, wanted_nm: Iterable[int], spacing_nm: int, thickness_nm: int
) -> tuple[int, ...]:
    """The near faces of the joists between two members whose faces toward each other stand at ``low_nm`` and ``high_nm``.

    ``wanted_nm`` are the near faces the layout asks for. One too near a member (``least_clear_nm``) is left out; where
    that leaves a bay wider than the spacing, all of them move over by up to a thickness where that mends it, and else a joist
    stands in the middle of it, on a whole 1/16 in or mm. Common practice.
    """
    least, widest = least_clear_nm(spacing_nm, thickness_nm), spacing_nm - thickness_nm
    grid = MM if thickness_nm % MM == 0 else SIXTEENTH
    kept = [near for near in wanted_nm if low_nm + least <= near <= high_nm - thickness_nm - least]
    kept = _moved_over(kept, low_nm, high_nm - thickness_nm, widest, thickness_nm)
    found: list[int] = []
    start = low_nm
    for end in (*kept, high_nm):
        more = max(-(-(end - start + thickness_nm) // spacing_nm) - 1, 0) if end - start > widest else 0
        for k in range(1, more + 1):
            middle = start + ((end - start - more * thickness_nm) * k // (more + 1)) + (k - 1) * thickness_nm
            found.append(middle // grid * grid if more == 1 else middle)
        if end != high_nm:
            found.append(end)
            start = end + thickness_nm
    return tuple(found)


def _moved_over(nears_nm: list[int], low_nm: int, last_nm: int, widest_nm: int, most_nm: int) -> list[int]:
    """The joists between two members as far over as makes the first and the last bay no wider than the others; where they
    are when no move of up to ``most_nm`` does. ``last_nm`` is where a joist against the far member would have its near face.
    """
    if not nears_nm:
        return nears_nm
    first, last = nears_nm[0] - low_nm - widest_nm, last_nm - nears_nm[-1] - widest_nm
    if 0 < first <= most_nm and last + first <= 0:
        return [near - first for near in nears_nm]
    if 0 < last <= most_nm and first + last <= 0:
        return [near + last for near in nears_nm]
    return nears_nm


def _check(length_nm: int, spacing_nm: int, thickness_nm: int) -> None:
    if thickness_nm <= 0 or thickness_nm > THICKEST:
        raise InputError("a joist cannot be that thick", "give the dressed thickness, like 1-1/2 in")
    if length_nm < 2 * thickness_nm or length_nm > LONGEST_RIM:
        raise InputError(
            f"a rim of {format_length(length_nm)} cannot be laid out",
            f"give a length from two joist thicknesses to {format_length(LONGEST_RIM)}",
        )
    if spacing_nm < 2 * thickness_nm or spacing_nm > 10 * FOOT:
        raise InputError(
            f"{format_length(spacing_nm)} on centre is no joist spacing",
            "give the spacing from centre to centre, like 16 in",
        )


def layout_answer(length_nm: int, spacing_nm: int, thickness_nm: int, unit: Unit) -> Answer:
    """Return the joist layout of a rim as an Answer.

    Keys: ``count``; ``marks_in`` centre lines and ``leading_edge_marks_in`` near edges, both in inches from
    one end; ``last_bay_in`` centre to centre. Raises InputError as ``joist_marks`` does.
    """
    marks = joist_marks(length_nm, spacing_nm, thickness_nm)
    edges = [mark - thickness_nm // 2 for mark in marks]
    last_bay = marks[-1] - marks[-2]
    answer: dict[str, Plain] = {
        "count": len(marks),
        "marks_in": [inches(mark) for mark in marks],
        "leading_edge_marks_in": [inches(edge) for edge in edges],
        "last_bay_in": inches(last_bay),
    }
    lines = ", ".join(_on_tape(edge, unit) for edge in edges)
    rest = (length_nm - thickness_nm) / spacing_nm
    return Answer(
        headline=f"{len(marks)} joists at {format_small(spacing_nm, unit)} on centre",
        inputs={
            "length_in": inches(length_nm),
            "spacing_in": inches(spacing_nm),
            "thickness_in": inches(thickness_nm),
        },
        answer=answer,
        working=(
            f"joists = (length - thickness) / spacing, rounded up, plus 1 = ({_on_tape(length_nm, unit)} - "
            f"{_on_tape(thickness_nm, unit)}) / {_on_tape(spacing_nm, unit)} = {rest:.2f}, up to "
            f"{len(marks) - 1}, "
            f"plus 1 = {len(marks)}",
            f"centre lines: {', '.join(_on_tape(mark, unit) for mark in marks)}",
            f"last bay, centre to centre: {format_small(last_bay, unit)}",
        ),
        source=COMMON,
        moves=(
            f"hook the tape once on one end and pencil the near edge of each joist at {lines}",
            "put the X on the far side of each line; mark both rims from the same side of the deck",
        ),
    )


def _on_tape(nm: int, unit: Unit) -> str:
    return format_inches(nm) if unit is Unit.INCH else format_length(nm, unit)


def block_name(joist: int, place: int) -> str:
    """What the block at contact point ``place`` (from 0, from the front) of a joist is called: 1a, 1b ... 1z, 1aa."""
    first, last = divmod(place, 26)
    return f"{joist}{chr(96 + first) if first else ''}{chr(97 + last)}"


def contact_points(length_nm: int, longest_nm: int) -> tuple[int, ...]:
    """Return evenly spread supports along a joist, both ends included, no more than ``longest_nm`` apart.

    A 12 ft joist at 5 ft gets 4. Raises InputError when either length is not positive or hundreds would be
    needed.
    """
    if length_nm <= 0 or longest_nm < INCH:
        raise InputError("a joist and its longest unsupported stretch must be more than nothing", "give both lengths")
    bays = -(-length_nm // longest_nm)
    if bays > 500:
        raise InputError(f"{bays + 1} supports under one joist cannot be meant", "look at the two lengths again")
    return tuple(length_nm * k // bays for k in range(bays + 1))
