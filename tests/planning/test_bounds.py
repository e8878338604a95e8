"""What is left out of a figure never makes it look better, and the figure says so. Random price books with goods missing."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.commands.conftest import job_text
from tests.often import examples
from tracker.book.plans import Shelf
from tracker.planning.bounds import Bound, Gaps
from tracker.planning.estimate import Estimate, Kind, Terms, difference_bound, estimate
from tracker.planning.material import material_of
from tracker.planning.pricing import Offer, PriceBook
from tracker.trade.jobfile import JobFile, parse_job_bytes
from tracker.trade.material import Line
from tracker.trade.phases import phases_for
from tracker.trade.workload import quantities

SEEN = date(2026, 5, 4)


@cache
def job() -> JobFile:
    return parse_job_bytes(job_text().encode(), "job.toml")


@cache
def material() -> tuple[Line, ...]:
    """The material of a small job, all of it bought."""
    return material_of(job().spec, PriceBook(), Shelf().quick).lines


ITEMS = sorted({line.item for line in material()})
TERMS = st.builds(
    Terms,
    labour_cents=st.sampled_from((0, 5500)),
    overhead_tenths=st.integers(0, 300),
    margin_tenths=st.integers(0, 600),
    markup_tenths=st.sampled_from((0, 0, 250)),
    tax_price_tenths=st.sampled_from((0, 65)),
    tax_material_tenths=st.sampled_from((0, 80)),
)


def made(prices: Mapping[str, int], terms: Terms, by_hand: int | None) -> Estimate:
    book = PriceBook(tuple(Offer("Yard One (invented)", item, e4, 1, SEEN) for item, e4 in prices.items()))
    spec = job().spec
    return estimate(material(), book, phases_for(spec), quantities(spec), terms, (), by_hand)


def holds(bound: Bound, said: int, true: int) -> bool:
    """Whether a figure with its bound is so of the true one."""
    return {Bound.EXACT: said == true, Bound.LEAST: said <= true, Bound.MOST: said >= true, Bound.UNKNOWN: True}[bound]


@settings(deadline=None, max_examples=examples(60, 1200))
@given(st.data())
def test_no_number_looks_better_for_a_missing_price_and_each_says_so(data: st.DataObject) -> None:
    full = {item: data.draw(st.integers(1, 900_000), item) for item in ITEMS}
    gone = data.draw(st.sets(st.sampled_from(ITEMS)), "without a price")
    terms = data.draw(TERMS)
    by_hand = data.draw(st.none() | st.integers(1, 10_000_00))
    whole = made(full, terms, by_hand)
    part = made({item: e4 for item, e4 in full.items() if item not in gone}, terms, by_hand)

    assert bool(part.gaps.goods) is bool(gone) and set(part.unpriced) == gone
    # What is said of the part is so of the whole, which has every price (hours at no rate lack in both).
    assert holds(part.gaps.cost, part.cost_cents, whole.cost_cents)
    assert holds(part.goods_gaps.cost, part.cost_of(Kind.MATERIAL), whole.cost_of(Kind.MATERIAL))
    assert holds(part.price_bound, part.price_cents, whole.price_cents)
    assert holds(part.tax_bound, part.tax_cents, whole.tax_cents)
    assert holds(part.total_bound, part.total_cents, whole.total_cents)
    if by_hand is not None:  # the price stands, so what is missing comes off the profit
        assert holds(part.gaps.profit, part.profit_cents, whole.profit_cents)
        assert holds(part.gaps.profit, part.margin_tenths, whole.margin_tenths)
    # Nothing that lacks a price is said to be exact.
    if gone:
        assert part.gaps.cost is Bound.LEAST and part.gaps.profit is Bound.MOST
        assert part.price_bound is (Bound.EXACT if by_hand is not None else Bound.LEAST)
        assert "not priced" in part.gaps.words and "at least" in part.working[1]
    # Side by side it is never known to be the cheaper one.
    bound = difference_bound(part, whole)
    if part.total_bound is not Bound.EXACT:
        assert bound is Bound.UNKNOWN or (bound is Bound.LEAST and part.total_cents > whole.total_cents)
    else:
        assert bound is Bound.EXACT or whole.total_bound is not Bound.EXACT


@pytest.mark.parametrize(
    ("one", "two", "plus", "less"),
    [
        (Bound.EXACT, Bound.EXACT, Bound.EXACT, Bound.EXACT),
        (Bound.LEAST, Bound.EXACT, Bound.LEAST, Bound.LEAST),
        (Bound.EXACT, Bound.LEAST, Bound.LEAST, Bound.MOST),
        (Bound.LEAST, Bound.LEAST, Bound.LEAST, Bound.UNKNOWN),
        (Bound.LEAST, Bound.MOST, Bound.UNKNOWN, Bound.LEAST),
        (Bound.UNKNOWN, Bound.EXACT, Bound.UNKNOWN, Bound.UNKNOWN),
    ],
)
def test_bounds_add_and_take_off(one: Bound, two: Bound, plus: Bound, less: Bound) -> None:
    assert (one.plus(two), one.less(two)) == (plus, less)


def test_a_figure_says_what_it_leaves_out() -> None:
    gaps = Gaps(("cloth", "gravel", "block"))
    assert gaps.at_most("11.5 %") == "at most 11.5 %, 3 goods not priced"
    assert gaps.at_least(190_450) == "at least $1,904.50, 3 goods not priced"
    assert Gaps(("cloth",)).at_least(1) == "at least $0.01, 1 item not priced"
    assert Gaps().at_least(1) == "$0.01"
    assert (gaps | Gaps(("block",), ("hours at no rate",))).words == "3 goods not priced, hours at no rate"
