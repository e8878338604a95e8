"""The price book's choices: the narrowest fitting offer, whole packs, terms, a job's own prices, and age.

All prices are invented; what is tested is our own definition of each choice, worked by hand beside it.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.planning.pricing import Offer, PriceBook, Terms, format_price, stale
from tracker.trade.money import parse_price

DAY = date(2026, 5, 12)
ANY = Offer("Yard One", "2x8x12", 181_500)
TREATED = Offer("Yard Two", "2x8x12", 199_000, use="UC4A")
FIR = Offer("Mill Gate", "2x8x12", 210_000, use="UC4A", wood="douglas fir-larch")


@pytest.mark.parametrize(
    ("use", "wood", "best"),
    [
        ("", "", ANY), ("UC3B", "", ANY), ("UC4A", "", TREATED), ("UC4A", "southern pine", TREATED),
        ("UC4A", "douglas fir-larch", FIR), ("UC3B", "douglas fir-larch", ANY),
    ],
)  # fmt: skip
def test_the_narrowest_offer_that_fits_counts(use: str, wood: str, best: Offer) -> None:
    assert PriceBook((FIR, ANY, TREATED)).best("2x8x12", use, wood) == best


def test_the_cheapest_of_equals_and_the_first_by_name_of_those() -> None:
    dear, cheap, same = (Offer(name, "block", price) for name, price in (("A", 90_000), ("C", 89_000), ("B", 89_000)))
    assert PriceBook((dear, cheap, same)).best("block") == same
    assert PriceBook((dear,)).best("blocks") is None


def test_whole_packs_are_bought_and_paid() -> None:
    lag = Offer("Bolt Shelf", "lag screw 1/2", 21_500, pack=10)
    # 14 screws: two packs of 10 at 2.15 each = 43.00
    assert (lag.packs(14), lag.cost_cents(14)) == (20, 4300)
    assert (lag.packs(0), lag.packs(10), lag.packs(11)) == (0, 10, 20)


@given(st.integers(0, 10_000), st.integers(1, 500), st.integers(1, 10**8))
def test_packs_cover_the_need_with_less_than_a_pack_over(need: int, pack: int, price_e4: int) -> None:
    offer = Offer("Yard One", "item", price_e4, pack=pack)
    assert need <= offer.packs(need) < need + pack and offer.packs(need) % pack == 0
    assert offer.cost_cents(need + pack) >= offer.cost_cents(need)


def test_a_jobs_own_price_lies_over_the_book() -> None:
    own = Offer("", "2x8x12", 170_000)
    terms = {"Yard One": Terms("Yard One", 2, 8500, 25_000)}
    over = PriceBook((ANY, TREATED, Offer("Stone Bay", "block", 89_000)), terms).over([own])
    assert over.best("2x8x12", "UC4A") == own
    block = over.best("block")
    assert block is not None and block.supplier == "Stone Bay"
    assert over.terms_of("Yard One").lead_days == 2 and over.terms_of("Nobody") == Terms("Nobody")


@pytest.mark.parametrize(("ago", "old"), [(0, False), (29, False), (30, False), (31, True), (400, True), (-1, False)])
def test_a_price_is_old_after_the_days_of_the_rule(ago: int, old: bool) -> None:
    # The rule says "days after which": 30 days are still good, 31 are not.
    assert stale(Offer("Yard One", "block", 1, seen=DAY - timedelta(days=ago)), DAY, 30) is old


def test_a_price_without_a_day_cannot_be_called_old() -> None:
    assert not stale(Offer("Yard One", "block", 1), DAY, 30)


@pytest.mark.parametrize(
    ("price_e4", "text"), [(181_500, "18.15"), (425, "0.0425"), (10_000, "1.00"), (1, "0.0001"), (21_550, "2.155")]
)
def test_unit_prices_in_print(price_e4: int, text: str) -> None:
    assert format_price(price_e4) == text


@given(st.integers(0, 10**12))
def test_a_printed_price_reads_back(price_e4: int) -> None:
    assert parse_price(format_price(price_e4)) == price_e4
