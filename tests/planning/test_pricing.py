"""The price book's choices: the narrowest fitting offer, whole packs, terms, a job's own prices, and age.

All prices are invented; what is tested is our own definition of each choice, worked by hand beside it.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.planning.packs import packs, packs_cents, priced_lines
from tracker.planning.pricing import Offer, PriceBook, Terms, format_price, stale
from tracker.trade.material import Line
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
    # 14 screws: two packs of 10 at 2.15 each = 43.00
    assert (packs(14, 10), packs_cents(14, 21_500, 10)) == (20, 4300)
    assert (packs(0, 10), packs(10, 10), packs(11, 10)) == (0, 10, 20)


def test_what_two_phases_need_of_a_kind_shares_its_packs_and_nothing_else_does() -> None:
    # 8 + 6 screws: two packs of 10 at 2.15 = 43.00, shared 8 : 6 = 24.57 (24.5714) + 18.43 (18.4286).
    # 6 fir and 22 pine boards of one length are two kinds: packs of 4 at 20.00 are 8 and 24 boards, 160.00 and 480.00.
    def line(item: str, quantity: int, phase: str, wood: str = "") -> Line:
        return Line(item, item, quantity, "piece", phase, "deck", (), wood=wood)

    book = PriceBook((Offer("Bolt Shelf", "lag", 21_500, pack=10), Offer("Yard One", "2x8x14", 200_000, pack=4)))
    lines = [line("lag", 8, "ledger"), line("2x8x14", 6, "frame", "fir"), line("2x8x14", 22, "frame", "pine"),
             line("lag", 6, "posts"), line("tape", 1, "frame")]  # fmt: skip
    found = priced_lines(lines, book)
    assert [one.line for one in found] == lines
    assert [(one.cents, one.packed) for one in found] == [
        (2457, 20), (16_000, 8), (48_000, 24), (1843, 20), (None, 1),
    ]  # fmt: skip


@given(st.integers(0, 10_000), st.integers(1, 500), st.integers(1, 10**8))
def test_packs_cover_the_need_with_less_than_a_pack_over(need: int, pack: int, price_e4: int) -> None:
    assert need <= packs(need, pack) < need + pack and packs(need, pack) % pack == 0
    assert packs_cents(need + pack, price_e4, pack) >= packs_cents(need, price_e4, pack)


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
