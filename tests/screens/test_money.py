"""The money of a job by keys alone: from the quote to the payment, what is refused, and how it looks when narrow."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from tests.book.hourly import log_hours
from tests.screens.conftest import NOW, Hands, at_the_keys, in_book
from tracker.book.hand import hand
from tracker.book.invoices import spend
from tracker.book.money import accept_quote, price_change, quote
from tracker.book.moneyread import money_of
from tracker.book.moneyviews import MoneyView
from tracker.book.opening import Book
from tracker.planning.options import parse_option
from tracker.screens.money import MoneyScreen

OWNER = hand("M. Holt", NOW, "office")
CODE = "26-101"
TODAY = date(2026, 5, 12)


def money(path: Path) -> MoneyView:
    """The money in the book."""
    return in_book(path, lambda book: money_of(book, CODE, TODAY))


def put_sold(path: Path) -> None:
    """A quote by hand of 5,000.00, accepted; a change; some hours and a hire."""

    def work(book: Book) -> None:
        quote(book, OWNER, CODE, [parse_option("as drawn: price=5000")])
        accept_quote(book, OWNER, CODE)
        price_change(book, OWNER, CODE, "gate", 35_000)
        log_hours(book, OWNER, CODE, "layout", TODAY, 600)
        spend(book, OWNER, CODE, 8_500, "strip", "compactor")

    in_book(path, work)


async def open_money(hands: Hands, until: str) -> MoneyScreen:
    """From the open jobs to the money of the job."""
    await hands.press("enter", until="planned ")
    await hands.press("c", until=until)
    screen = hands.app.screen
    assert isinstance(screen, MoneyScreen)
    return screen


async def test_from_quote_to_payment_by_keys(path: Path) -> None:
    async with at_the_keys(path) as hands:
        screen = await open_money(hands, "not quoted yet: press q")
        assert screen.check_action("invoice", ()) is False and screen.check_action("accept", ()) is False
        await hands.press("q", until="Quote 26-101")
        await hands.type("5000", "enter")
        await hands.type("composite: kind=composite, price=6200", "enter")
        await hands.until("What happened")  # it says which items have no price
        await hands.press("escape", until="quote 1 is out")
        await hands.press("a", until="Which option did the client take?")
        await hands.press("down", "enter", until="the job is still drawn without it")
        await hands.press("escape", until="CONTRACT")
        await hands.until("$620.00 is ready to invoice: deposit")
        await hands.press("i", until="deposit: $620.00")
        await hands.press("enter", until="invoice 1: $620.00 for deposit")
        await hands.until("$620.00 invoiced")
        await hands.press("p", until="$620.00 is due")
        await hands.type("620", "enter")
        await hands.type("check 118", "enter")
        await hands.until("received $620.00; nothing is due")
        await hands.press("e", until="The price of a change")
        for text in ("gate", "350", "90", "3h", "frame"):
            await hands.type(text, "enter")
        await hands.until("the contract is now $6,550.00")
        await hands.press("s", until="What was spent?")
        for text in ("85", "strip", "compactor"):
            await hands.type(text, "enter")
        await hands.until("$85.00 spent on strip and grade")
    found = money(path)
    assert (found.contract_cents, found.paid_cents, found.cost_cents) == (655_000, 62_000, 8_500)
    assert found.accepted is not None and found.accepted.option.label == "composite"


async def test_the_same_payment_again_is_a_question(path: Path) -> None:
    put_sold(path)

    async def pay(hands: Hands) -> None:
        await hands.press("p", until="What came in?")
        await hands.type("500", "enter")
        await hands.type("check 118", "enter")

    async with at_the_keys(path) as hands:
        await open_money(hands, "CONTRACT")
        await pay(hands)
        await hands.until("received $500.00")
        await pay(hands)
        await hands.until("Is this another one?")
        assert "payment 1 ($500.00, check 118" in hands.shown and "--anyway" not in hands.shown
        await hands.press("enter", until="what you typed stays")  # it stands on no
        assert "--anyway" not in hands.shown
        assert len(money(path).payments) == 1
        await hands.press("ctrl+s", until="Is this another one?")
        await hands.press("down", "enter", until="payment 1 ")
        await hands.until(lambda: "What came in?" not in hands.shown)
    assert [payment.cents for payment in money(path).payments] == [50_000, 50_000]


async def test_a_quote_that_would_leave_things_out_is_refused_and_the_fields_stay(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_money(hands, "not quoted yet")
        await hands.press("q", until="Quote 26-101")
        await hands.press("enter", "enter", until="so the quote would leave it out")
        await hands.press("escape", until="not quoted yet")
    assert money(path).quotes == ()


async def test_a_quote_priced_by_hand_is_replaced_only_when_the_question_says_so(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_money(hands, "not quoted yet")
        await hands.press("q", until="Quote 26-101")
        await hands.type("6200", "enter")
        await hands.press("enter")
        await hands.until("quote 1 is out")
        await hands.press("escape")
        await hands.until("QUOTE 1")
        await hands.press("q", until="Quote 1 was priced by hand: as drawn $6,200.00. Replace it?")
        await hands.press("enter", until=lambda: "Replace it?" not in hands.shown)
        assert len(money(path).quotes) == 1
        await hands.press("q", until="Replace it?")
        await hands.press("down", "enter", until="price as drawn")
        await hands.type("6400", "enter")
        await hands.press("enter")
        await hands.until("QUOTE 2")
    assert [quote.options[0].estimate.price_cents for quote in money(path).quotes] == [620_000, 640_000]


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_the_page_at_every_size(path: Path, size: tuple[int, int]) -> None:
    put_sold(path)
    async with at_the_keys(path, size=size) as hands:
        screen = await open_money(hands, "is ready to invoice")
        seen = hands.said
        for _ in range(8):
            await hands.press("pagedown")
            seen += " " + hands.said
        for words in ("CONTRACT", "change 1: gate", "ready to invoice", "COST BY PHASE", "█", "of the estimate", "compactor",
                      "margin forecast"):  # fmt: skip
            assert words in seen, words
        assert all(len(line) <= size[0] for line in hands.shown.splitlines())
        assert "i invoice" in hands.said and "? help" in hands.said
        assert screen.check_action("quote", ()) is False


async def test_the_price_and_the_hours_are_a_key_away(path: Path) -> None:
    put_sold(path)
    async with at_the_keys(path) as hands:
        await open_money(hands, "is ready to invoice")
        await hands.press("f2", until="client pays")
        await hands.press("escape", "t", until="/ hours")
        await hands.press("escape", until="/ money")
        await hands.press("escape", until="planned ")


async def test_who_may_not_is_told_who_may(path: Path) -> None:
    put_sold(path)
    async with at_the_keys(path, who="R. Stone") as hands:
        await open_money(hands, "is ready to invoice")
        await hands.press("i", until="Invoice what?")
        await hands.press("enter", until="R. Stone may not invoice")
    assert money(path).invoices == ()


async def test_a_quote_made_meanwhile_is_seen_before_it_is_accepted(path: Path) -> None:
    def offer(cents: str) -> None:
        in_book(
            path, lambda book: quote(book, OWNER, CODE, [parse_option(f"as drawn: price={cents}")], replace_it=True)
        )

    offer("5000")
    async with at_the_keys(path) as hands:
        await open_money(hands, "quote 1 is out")
        await hands.press("a", until="Which option did the client take?")
        offer("7000")
        await hands.press("enter", until="has quote 2 by now")
        assert money(path).accepted is None
        await hands.until("quote 2 is out")
        await hands.press("a", until="(quote 2)")
        await hands.press("enter", until="CONTRACT")
    found = money(path)
    assert found.accepted is not None and found.contract_cents == 700_000
