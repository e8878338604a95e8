"""Refusals of readings no tape can have given: nothing, less than nothing, or a figure in the other unit."""

from __future__ import annotations

from tracker.errors import InputError
from tracker.trade.lengths import EXAMPLES, INCH, MM, Unit, format_length

_TIMES = 25.4
_ABOUT = 1.4
_A_FEW = 0.05


def positive(nm: int, what: str, unit: Unit) -> None:
    """Raise InputError unless the length is more than nothing."""
    if nm <= 0:
        raise InputError(
            f"{what} is {format_length(nm, unit)}: it must be more than nothing",
            f"write it like {EXAMPLES[unit]}",
        )


def right_unit(nm: int, expected_nm: int, what: str, unit: Unit) -> None:
    """Raise InputError when a length is about 25 times too large or too small for ``expected_nm``, or a twelfth of it.

    That is what millimetres typed into an inch job, inches into a millimetre job, or feet without their mark look like.
    """
    ratio = nm / expected_nm
    about = format_length(expected_nm, unit)
    if unit is Unit.INCH and _TIMES / _ABOUT < ratio < _TIMES * _ABOUT:
        raise InputError(
            f"{what} {format_length(nm, unit)} is about 25 times the {about} expected: "
            "millimetres typed into an inch job?",
            f"if so, write {nm / INCH:g}mm",
        )
    if unit is Unit.INCH and abs(ratio * 12 - 1) < _A_FEW:
        raise InputError(
            f"{what} {format_length(nm, unit)} is a twelfth of the {about} expected: feet typed without their mark?",
            f"if so, write {nm / INCH:g}'",
        )
    if unit is Unit.MM and 1 / (_TIMES * _ABOUT) < ratio < _ABOUT / _TIMES:
        raise InputError(
            f"{what} {format_length(nm, unit)} is about 25 times less than the {about} expected: "
            "inches typed into a millimetre job?",
            f'if so, write {nm / MM:g}"',
        )


def in_reason(nm: int, most_nm: int, what: str, unit: Unit, *, least_nm: int = 0) -> None:
    """Raise InputError unless the length lies in ``least_nm`` to ``most_nm``, the bounds of what a deck can show.

    Where none is, the usual reason is millimetres typed into an inch job, and the hint says how to write them.
    """
    if least_nm <= nm <= most_nm:
        return
    bound = (
        f"{format_length(most_nm, unit)} is the most" if nm > most_nm else f"{format_length(least_nm, unit)} the least"
    )
    other = f"millimetres are written {nm / INCH:g}mm" if unit is Unit.INCH else f'inches are written {nm / MM:g}"'
    raise InputError(
        f"{what} {format_length(nm, unit)} cannot be: {bound} that a deck has",
        f"read it again; {other}" if nm > most_nm else "read it again",
    )


DRIEST_TENTHS = 30
"""Drier than any wood kept outdoors: the driest month of a desert brings it to 4.4 % (Wood Handbook Table 13-1)."""


def meter_reading(tenths: int, what: str) -> None:
    """Raise InputError for a moisture, in tenths of a percent, drier than wood outdoors can be."""
    if tenths < DRIEST_TENTHS:
        raise InputError(
            f"{what} is {tenths / 10:g} %: no wood outdoors is that dry",
            "push the pins in along the grain and read again; a meter shows 5 to 60",
        )


def near_plan(nm: int, planned_nm: int, what: str, unit: Unit, share: float = 0.1) -> None:
    """Raise InputError when a length is not within ``share`` of the planned one."""
    positive(nm, what, unit)
    right_unit(nm, planned_nm, what, unit)
    if abs(nm - planned_nm) > share * planned_nm:
        raise InputError(
            f"{what} {format_length(nm, unit)} is too far from the {format_length(planned_nm, unit)} of the plan",
            "read it again; it may stand in the place of another value",
        )


def on_the_deck(nm: int, most_nm: int, what: str, of: str, unit: Unit, *, least_nm: int = 0) -> None:
    """Raise InputError when a reading, or a sum of them, contradicts the plan: ``of`` has from ``least_nm`` to ``most_nm``."""
    if least_nm <= nm <= most_nm:
        return
    bound = (
        f"no more than {format_length(most_nm, unit)}" if nm > most_nm else f"at least {format_length(least_nm, unit)}"
    )
    raise InputError(
        f"{what} {format_length(nm, unit)} cannot be right: {of} makes it {bound}",
        "read it again; where the deck was built another way, change the job first",
    )
