"""Person-hours of a job's phases in whole minutes, and what they cost in cents. No float comes near the money.

Hours are a phase's fixed part plus its hours for each unit of work (see ``effort.Effort`` and ``workload.quantities``).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from tracker.planning.cents import round_cents
from tracker.trade.effort import AT_PAR, Effort, exact
from tracker.trade.lengths import Unit
from tracker.trade.metric import M2_FT2, MM_FT
from tracker.trade.money import format_money
from tracker.trade.phases import Phase

UNITS: Mapping[str, str] = {
    "boards": "board",
    "board_ft": "ft of board",
    "diagonal_ft": "ft at 45 degrees",
    "composite_ft": "ft of composite",
    "border_ft": "ft of border",
    "area_ft2": "sq ft",
    "frame_bf": "board ft of frame",
    "hangers": "hanger",
    "blocking": "piece of blocking",
    "ledger_ft": "ft of ledger",
    "footings": "footing",
    "dig_yd3": "cu yd dug, as medium soil",
    "concrete_ft3": "cu ft of concrete",
    "posts": "post",
    "beam_ft": "ft of beam ply",
    "blocks": "block",
    "wood_blocks": "wood block",
    "supports": "support",
    "joists": "joist",
    "stair_risers": "riser",
    "guard_ft": "ft of guard",
    "guard_posts": "guard post",
    "old_deck_ft2": "sq ft of old deck",
    "drain_ft": "ft of drain",
    "wiring": "deck wired",
}
"""What hours are counted by, in words."""
_METER = MM_FT / 1000
_METRIC: Mapping[str, tuple[Fraction, str]] = {
    "area_ft2": (M2_FT2, "m2"),
    "board_ft": (_METER, "m of board"),
    "diagonal_ft": (_METER, "m at 45 degrees"),
    "composite_ft": (_METER, "m of composite"),
    "border_ft": (_METER, "m of border"),
    "frame_bf": (_METER**3 / 12, "m3 of frame"),
    "ledger_ft": (_METER, "m of ledger"),
    "dig_yd3": (_METER**3 * 27, "m3 dug, as medium soil"),
    "concrete_ft3": (_METER**3, "m3 of concrete"),
    "beam_ft": (_METER, "m of beam ply"),
    "guard_ft": (_METER, "m of guard"),
    "old_deck_ft2": (M2_FT2, "m2 of old deck"),
    "drain_ft": (_METER, "m of drain"),
}
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


def minutes_of(effort: Effort, quantities: Mapping[str, float]) -> int:
    """Person-minutes of an effort, to the whole minute."""
    return round_cents(effort.hours(quantities) * 60)


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
    if amount != 1 and per not in _METRIC:
        first, *rest = unit.split(" of ")
        first = "decks wired" if first == "deck wired" else f"{first}s"
        unit = " of ".join((first, *rest))
    return f"{figure_text(amount)} {unit}"


def _hours_words(effort: Effort, quantities: Mapping[str, float], unit: Unit) -> str:
    """Where a phase's hours come from; empty where they are one fixed figure at par."""
    if not effort.rates and not effort.more and effort.pace == AT_PAR:
        return ""
    return " + ".join(words for part in (effort, *effort.more) if (words := _counted(part, quantities, unit)))


def _counted(effort: Effort, quantities: Mapping[str, float], unit: Unit) -> str:
    parts = [f"{figure_text(exact(effort.fixed))} h"] if effort.fixed else []
    for rate in effort.rates:
        hours, amount, word = exact(rate.hours), exact(quantities.get(rate.per, 0.0)), ""
        if not amount or not hours:
            continue
        if unit is Unit.MM and rate.per in _METRIC:
            factor, word = _METRIC[rate.per]
            hours, amount = hours / factor, amount * factor
        if rate.per in _METRIC:
            amount = Fraction(round(amount * 100), 100)
        parts.append(f"{figure_text(hours)} h x {units_text(amount, rate.per, word)}")
    words = " + ".join(parts)
    return f"({words}) x {effort.pace} %" if words and effort.pace != AT_PAR else words
