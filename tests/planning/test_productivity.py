"""Hours for each unit of work over finished jobs: median, quartiles, and how few is too few."""

from __future__ import annotations

import statistics
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.planning.productivity import Sample, productivity_of, quartile, units_of_work


def of(*hours: int) -> list[Sample]:
    return [Sample(f"26-{n:03d}", h * 60, Fraction(10)) for n, h in enumerate(hours)]


def test_a_phase_by_hand() -> None:
    # 10 joists each: 4, 5, 6, 9, 20 h are 0.4, 0.5, 0.6, 0.9, 2.0 h a joist: median 0.6, quartiles 0.5 and 0.9.
    found = productivity_of("frame", "Frame", "joists", of(9, 4, 20, 6, 5), Fraction(55, 100), 5)
    assert (found.median, found.low_quartile, found.high_quartile) == (Fraction(3, 5), Fraction(1, 2), Fraction(9, 10))
    assert (found.least, found.most, found.unit, found.trust) == (Fraction(2, 5), Fraction(2), "joist", "5 jobs")
    assert found.typed == "frame=0.6"


def test_two_jobs_are_too_few_and_say_so() -> None:
    found = productivity_of("frame", "Frame", "joists", of(4, 6), Fraction(1), 5)
    assert found.few and found.trust == "2 jobs only"
    assert found.median == Fraction(1, 2)


def test_a_phase_nothing_counts_is_counted_whole() -> None:
    assert units_of_work("", {"joists": 9.0}) == 1
    assert units_of_work("joists", {"joists": 9.0}) == 9


@pytest.mark.parametrize("number", [0, 4])
def test_the_ends_are_the_least_and_the_most(number: int) -> None:
    values = [Fraction(n) for n in (1, 2, 8)]
    assert quartile(values, number) == values[0 if number == 0 else -1]


@given(st.lists(st.integers(0, 10_000), min_size=2, max_size=30))
def test_quartiles_agree_with_the_standard_library(values: list[int]) -> None:
    # Python's statistics.quantiles, method "inclusive", is the same definition.
    ordered = sorted(Fraction(value) for value in values)
    expected = statistics.quantiles(ordered, n=4, method="inclusive")
    assert [quartile(ordered, number) for number in (1, 2, 3)] == expected
    assert quartile(ordered, 2) == statistics.median(ordered)
