"""How far from its estimate a job comes out: the range a first answer is given in. Pure.

The spread is that of finished jobs, hours really worked over hours estimated; under a few of them it is a plain assumption,
and says so. Material follows its own assumption: prices move, and a first answer knows the yard only from the phone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from tracker.planning.cents import round_cents, share_of
from tracker.planning.estimate import Estimate, Kind, price_of
from tracker.text import count

ASSUMED = (Fraction(80, 100), Fraction(130, 100))
"""Hours over the estimate where too few jobs tell it (our planning figure): a fifth less to three tenths more."""
MATERIAL = (Fraction(95, 100), Fraction(115, 100))
"""Material over its cost at today's prices (our planning figure)."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Hours really worked over hours estimated, from ``low`` to ``high``; ``jobs`` finished ones tell it, 0 for an assumption."""

    low: Fraction
    high: Fraction
    jobs: int = 0

    @property
    def words(self) -> str:
        """Where it comes from: ``the spread of 6 finished jobs``."""
        return f"hours {_percent(self.low)} to {_percent(self.high)} of the estimate: {self.source}"

    @property
    def source(self) -> str:
        """``the spread of 6 finished jobs``, or that it is an assumption."""
        if self.jobs:
            return f"the spread of {count(self.jobs, 'finished job')}"
        return "a plain assumption, too few finished jobs tell it"


@dataclass(frozen=True, slots=True)
class Range:
    """An amount as estimated and from ``low`` to ``high``: cents or minutes."""

    estimated: int
    low: int
    high: int


def spread_of(ratios: Sequence[Fraction], few_under: int) -> Spread:
    """The least and the most of finished jobs, and the estimate between them; assumed under ``few_under`` jobs."""
    if len(ratios) < few_under:
        return Spread(*ASSUMED)
    return Spread(min(*ratios, Fraction(1)), max(*ratios, Fraction(1)), len(ratios))


def minutes_range(minutes: int, spread: Spread) -> Range:
    """Person-minutes of a job."""
    return Range(minutes, round_cents(minutes * spread.low), round_cents(minutes * spread.high))


def cost_range(made: Estimate, spread: Spread) -> Range:
    """Direct cost of a job: labor by the spread of hours, material by its own, equipment as it is."""
    return Range(made.cost_cents, _cost(made, MATERIAL[0], spread.low), _cost(made, MATERIAL[1], spread.high))


def price_range(made: Estimate, spread: Spread) -> Range:
    """The price before tax by the terms of the estimate, over the range of its cost."""
    cost, terms = cost_range(made, spread), made.terms
    low, high = (price_of(cents + share_of(cents, terms.overhead_tenths), terms) for cents in (cost.low, cost.high))
    return Range(made.price_cents, low, high)


def _cost(made: Estimate, material: Fraction, labor: Fraction) -> int:
    return (
        round_cents(made.cost_of(Kind.MATERIAL) * material)
        + round_cents(made.cost_of(Kind.LABOUR) * labor)
        + made.cost_of(Kind.EQUIPMENT)
    )


def _percent(share: Fraction) -> str:
    return f"{round(share * 100)} %"
