"""What finished phases really took: hours for each unit of work over jobs, as a figure for the next estimate. Pure.

The figure suggested is the median, which one odd job does not move; its spread is told by the least, the most and the
quartiles. Quartiles are by linear interpolation between the ordered values (the inclusive method: the least is the 0th
and the most the 4th quartile).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from tracker.planning.labour import UNITS, figure_text
from tracker.text import count
from tracker.trade.effort import exact


@dataclass(frozen=True, slots=True)
class Sample:
    """One finished phase of one job: person-minutes and the units of work they were for (``Fraction`` units)."""

    job: str
    minutes: int
    units: Fraction


@dataclass(frozen=True, slots=True)
class Productivity:
    """One phase over the finished jobs; figures are hours for each unit (``unit`` empty: for the whole phase).

    ``now`` is what an estimate would count today, fixed part included, over the same work. ``few`` when there are too
    few jobs to go by.
    """

    phase: str
    title: str
    unit: str
    samples: tuple[Sample, ...]
    median: Fraction
    least: Fraction
    most: Fraction
    low_quartile: Fraction
    high_quartile: Fraction
    now: Fraction
    few: bool

    @property
    def jobs(self) -> int:
        """How many jobs it comes from."""
        return len(self.samples)

    @property
    def trust(self) -> str:
        """How far the figure can be gone by, in words."""
        return f"{count(self.jobs, 'job')} only" if self.few else count(self.jobs, "job")

    @property
    def typed(self) -> str:
        """The suggested figure as the rules command takes it."""
        return f"{self.phase}={figure_text(self.median)}"


def quartile(ordered: Sequence[Fraction], number: int) -> Fraction:
    """The ``number``-th quartile (0 to 4) of ordered values by linear interpolation, the ends included."""
    place = Fraction((len(ordered) - 1) * number, 4)
    at = int(place)
    after = ordered[min(at + 1, len(ordered) - 1)]
    return ordered[at] + (after - ordered[at]) * (place - at)


def productivity_of(
    phase: str, title: str, per: str, samples: Sequence[Sample], now: Fraction, few_under: int
) -> Productivity:
    """The figures of one phase from its samples, of which there must be one at least."""
    ordered = sorted(Fraction(sample.minutes, 60) / sample.units for sample in samples)
    return Productivity(
        phase=phase,
        title=title,
        unit=UNITS.get(per, ""),
        samples=tuple(samples),
        median=quartile(ordered, 2),
        least=ordered[0],
        most=ordered[-1],
        low_quartile=quartile(ordered, 1),
        high_quartile=quartile(ordered, 3),
        now=now,
        few=len(ordered) < few_under,
    )


@dataclass(frozen=True, slots=True)
class Pace:
    """How fast the house's crews are: hours worked over the planning figures at par, of decks handed over.

    ``samples`` are the ratios of the jobs, ``now`` the pace in force, as a ratio. Of each job only phases with hours are in
    it, with their own estimates: ``without_hours`` counts those signed off that have none, ``no_hours`` the jobs with none at all.
    ``few`` under ``least_jobs`` jobs: then nothing is proposed.
    """

    samples: tuple[Fraction, ...]
    now: Fraction
    least_jobs: int
    without_hours: int = 0
    no_hours: int = 0

    @property
    def jobs(self) -> int:
        """How many decks it comes from."""
        return len(self.samples)

    @property
    def few(self) -> bool:
        """Whether there are too few to go by."""
        return self.jobs < self.least_jobs

    def quartile(self, number: int) -> Fraction:
        """The least (0), the quartiles, the median (2) and the most (4), of which there must be a job."""
        return quartile(sorted(self.samples), number)

    @property
    def typed(self) -> str:
        """The proposal as the rules command takes it; empty where there are too few jobs."""
        return "" if self.few else f"pace={round(self.quartile(2) * 100)}"


def units_of_work(per: str, quantities: dict[str, float]) -> Fraction:
    """The units of work of a phase; 1 where the phase is not counted by anything."""
    return exact(quantities.get(per, 0.0)) if per else Fraction(1)
