"""The fall of the ground, as every check that asks for it reads and judges it: a drop in a run."""

from __future__ import annotations

from tracker.trade.checks.found import Found
from tracker.trade.lengths import FOOT, Unit, format_length, format_small
from tracker.trade.plausible import in_reason, on_the_deck
from tracker.trade.readings import Readings
from tracker.trade.rules import Rules

_RUN_LEAST_NM, _RUN_MOST_NM = 3 * FOOT, 60 * FOOT
"""A run that a fall can be told from, and one that a yard has: bounds of this program."""


def run_example(unit: Unit) -> str:
    """Return an example of a run, as a form shows it."""
    return format_length(10 * FOOT, unit) if unit is Unit.INCH else "3000"


def read_fall(readings: Readings, unit: Unit) -> tuple[int, int]:
    """Return the drop and the run it was read in, in nm.

    Raises InputError for a run or a drop that no yard has.
    """
    drop, run = readings.whole("fall"), readings.whole("run")
    in_reason(run, _RUN_MOST_NM, "a run of", unit, least_nm=_RUN_LEAST_NM)
    on_the_deck(abs(drop), run // 2, "a fall of", f"a run of {format_length(run, unit)}", unit)
    return drop, run


def drainage_nm(run: int, rules: Rules) -> float:
    """Return the drop in nm that the house rule asks for in a run."""
    return run * rules.figure("drainage_fall") / 1000


def judge_fall(drop: int, run: int, least: float, found: Found, unit: Unit, so: str = "") -> None:
    """Note a fault where the ground falls less than ``least``; ``so`` ends the move."""
    if drop < least - 1:
        found.fault(
            f"the ground falls {format_small(drop, unit)} in {format_length(run, unit)}",
            f"grade it to fall {format_small(round(least), unit)} in that run{so}",
        )
