"""Person-hours of a job's phases in whole minutes, and what they cost in cents. No float comes near the money.

Hours are a phase's fixed part plus its hours for each unit of work (see ``phases.Effort`` and ``framing.quantities``).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from tracker.planning.cents import round_cents
from tracker.trade.lengths import Unit
from tracker.trade.metric import M2_FT2, MM_FT
from tracker.trade.money import format_money
from tracker.trade.phases import Effort, Phase

UNITS: Mapping[str, str] = {
    "boards": "board",
    "area_ft2": "sq ft",
    "footings": "footing",
    "blocks": "block",
    "supports": "support",
    "joists": "joist",
    "stair_risers": "riser",
    "guard_ft": "ft of guard",
}
"""What hours are counted by, in words."""
_MEASURED = {"area_ft2", "guard_ft"}
_METRIC: Mapping[str, tuple[Fraction, str]] = {"area_ft2": (M2_FT2, "m2"), "guard_ft": (MM_FT / 1000, "m of guard")}
"""The same in metric: how much of it one of the other is, and its word."""
_FINEST = 10_000


@dataclass(frozen=True, slots=True)
class Labour:
    """One phase's labour: person-minutes, cents, and where they come from."""

    phase: str
    title: str
    minutes: int
    cents: int
    working: str


def exact(figure: float) -> Fraction:
    """A figure of the trade as the decimal it was written as, to four places."""
    return Fraction(str(figure)).limit_denominator(_FINEST)


def minutes_of(effort: Effort, quantities: Mapping[str, float]) -> int:
    """Person-minutes of an effort, to the whole minute."""
    hours = exact(effort.fixed) + exact(effort.rate) * exact(quantities.get(effort.per, 0.0))
    return round_cents(hours * 60)


def labour_cents(minutes: int, rate_cents: int) -> int:
    """What person-minutes cost at a rate in cents for an hour, rounded to the cent."""
    return round_cents(Fraction(minutes * rate_cents, 60))


def hours_text(minutes: int) -> str:
    """``7:30 h``; less than an hour as ``0:45 h``."""
    whole, rest = divmod(abs(minutes), 60)
    return f"{'-' if minutes < 0 else ''}{whole}:{rest:02d} h"


def figure_text(figure: Fraction | float) -> str:
    """A figure with at most four decimals and no idle zeros: ``0.35``, ``3``."""
    number = Fraction(figure).limit_denominator(_FINEST) if isinstance(figure, float) else figure
    text = f"{round_cents(number * _FINEST):05d}"
    return f"{text[:-4]}.{text[-4:]}".rstrip("0").rstrip(".")


def labour_of(
    phases: Sequence[Phase], quantities: Mapping[str, float], rate_cents: int, unit: Unit = Unit.INCH
) -> tuple[Labour, ...]:
    """The labour of every phase that has any, at ``rate_cents`` for an hour of one person, worded in a job's own unit."""
    out: list[Labour] = []
    for phase in phases:
        minutes = minutes_of(phase.effort, quantities)
        if minutes:
            words = _hours_words(phase.effort, quantities, unit)
            words = f"{words} = " if words else ""
            working = f"{words}{hours_text(minutes)} at {format_money(rate_cents)} an hour"
            out.append(Labour(phase.key, phase.title, minutes, labour_cents(minutes, rate_cents), working))
    return tuple(out)


def units_text(amount: Fraction, per: str, unit: str = "") -> str:
    """``10 joists``, ``143 sq ft``: an amount of what hours are counted by."""
    unit = unit or UNITS[per]
    plural = "s" if amount != 1 and per not in _MEASURED else ""
    return f"{figure_text(amount)} {unit}{plural}"


def _hours_words(effort: Effort, quantities: Mapping[str, float], unit: Unit) -> str:
    if not effort.per or not effort.rate:
        return ""
    rate, amount, word = exact(effort.rate), exact(quantities.get(effort.per, 0.0)), ""
    if unit is Unit.MM and effort.per in _METRIC:
        factor, word = _METRIC[effort.per]
        rate, amount = rate / factor, Fraction(round(amount * factor * 100), 100)
    counted = f"{figure_text(rate)} h x {units_text(amount, effort.per, word)}"
    return f"{figure_text(exact(effort.fixed))} h + {counted}" if effort.fixed else counted
