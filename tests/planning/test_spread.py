"""The range of a first answer: from finished jobs, else a plain assumption that says so."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from tracker.planning.estimate import Estimate, EstimateLine, Kind, Terms
from tracker.planning.spread import Range, cost_range, minutes_range, price_range, spread_of

TERMS = Terms(5500, 100, 200, 0, 0, 0)
"""$55.00 an hour, 10 % overhead, 20 % margin."""


def made(material: int, labor: int, equipment: int = 0) -> Estimate:
    lines = (
        EstimateLine(Kind.MATERIAL, "frame", "wood", material, ""),
        EstimateLine(Kind.LABOUR, "frame", "hours", labor, ""),
        EstimateLine(Kind.EQUIPMENT, "strip", "hire", equipment, ""),
    )
    cost = material + labor + equipment
    overhead = cost // 10
    return Estimate(lines, TERMS, overhead, (cost + overhead) // 4, 0)


def test_few_finished_jobs_tell_nothing_and_the_assumption_says_so() -> None:
    found = spread_of([Fraction(2), Fraction(3)], 5)
    assert (found.low, found.high, found.jobs) == (Fraction(8, 10), Fraction(13, 10), 0)
    assert "a plain assumption" in found.words


def test_enough_finished_jobs_give_their_least_and_most() -> None:
    found = spread_of([Fraction(9, 10), Fraction(14, 10), Fraction(11, 10)], 3)
    assert (found.low, found.high, found.jobs) == (Fraction(9, 10), Fraction(14, 10), 3)
    assert found.words == "hours 90 % to 140 % of the estimate: the spread of 3 finished jobs"


def test_ranges_worked_by_hand() -> None:
    # Material 1,000.00, labor 2,000.00, hire 100.00: cost 3,100.00. Low: 950 + 1,600 + 100 = 2,650; high: 1,150 + 2,600 + 100 =
    # 3,850. Price: with 10 % overhead 2,915 and 4,235, over 1 - 20 %: 3,643.75 and 5,293.75.
    estimate, spread = made(100_000, 200_000, 10_000), spread_of([], 5)
    assert cost_range(estimate, spread) == Range(310_000, 265_000, 385_000)
    assert price_range(estimate, spread) == Range(426_250, 364_375, 529_375)
    assert minutes_range(600, spread) == Range(600, 480, 780)


@given(st.lists(st.fractions(Fraction(1, 10), 10), max_size=8), st.integers(0, 10**7), st.integers(0, 10**7))
def test_the_estimate_lies_in_its_range(ratios: list[Fraction], material: int, labor: int) -> None:
    spread, estimate = spread_of(ratios, 3), made(material, labor)
    for found in (cost_range(estimate, spread), minutes_range(labor, spread)):
        assert found.low <= found.estimated <= found.high
