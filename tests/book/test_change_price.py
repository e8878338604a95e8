"""What a change order costs the client: the change alone, once, by one set of hours, and nothing the contract has already."""

from __future__ import annotations

import pytest

from tests.book.conftest import DAY, job_text
from tests.book.test_money import MORE
from tracker.book.changing import accept_change, difference
from tracker.book.hand import Hand
from tracker.book.houserules import set_house_rules, set_phase_hours
from tracker.book.invoices import take_back
from tracker.book.jobs import take_job
from tracker.book.lots import order, receive, use
from tracker.book.money import ExtraCost, accept_quote, price_change, quote
from tracker.book.moneyread import money_of
from tracker.book.moneyviews import MoneyView
from tracker.book.opening import Book
from tracker.book.views import Recorded
from tracker.errors import InputError, RefusedError
from tracker.planning.options import AS_DRAWN, Option, parse_option
from tracker.trade.jobfile import parse_job_bytes

CODE = "26-101"
HOUSE_HOURS = MORE.split("[phases.")[0]
"""The job's prices without hours of its own: the house's hours hold."""


@pytest.fixture(params=[MORE, HOUSE_HOURS], ids=["own hours", "house hours"])
def more(request: pytest.FixtureRequest, book: Book, hand: Hand) -> str:
    """A job taken in, its labour at $50, the tax at 6.5 %."""
    text: str = request.param
    take_job(book, hand, parse_job_bytes(job_text(more=text).encode(), "job.toml"))
    set_house_rules(book, hand, {"labour_rate": "50", "tax_on_price": "6.5"})
    return text


def sell(book: Book, hand: Hand, *options: Option, label: str = AS_DRAWN) -> None:
    quote(book, hand, CODE, [Option(AS_DRAWN), *options])
    accept_quote(book, hand, CODE, label)


def deeper(more: str) -> str:
    return job_text(more=more).replace('"13\'"', '"14\'"')


def narrower_gap(text: str) -> str:
    return text.replace('gap = "3/16 in"', 'gap = "1/8 in"')


def change(book: Book, hand: Hand, text: str, why: str = "asked for") -> tuple[int | None, Recorded]:
    """Accept a changed job file; gives the price that was shown and what was recorded."""
    source = parse_job_bytes(text.encode(), "job.toml").source
    shown = difference(book, CODE, source, DAY)
    return shown.price_cents, accept_change(book, hand, CODE, source, why, shown.rev)


def money(book: Book) -> MoneyView:
    return money_of(book, CODE, DAY)


def test_the_price_shown_is_the_price_put_on_the_contract(book: Book, hand: Hand, more: str) -> None:
    sell(book, hand)
    before = money(book).contract_cents
    shown, done = change(book, hand, deeper(more))
    assert shown and any("not on the contract yet" in notice for notice in done.notices)
    price_change(book, hand, CODE)
    assert money(book).contract_cents == before + shown and not money(book).not_priced


def test_a_change_before_the_quote_is_in_its_price(book: Book, hand: Hand, more: str) -> None:
    change(book, hand, deeper(more))
    sell(book, hand)
    assert not money(book).not_priced
    with pytest.raises(InputError, match="nothing says what the change is"):
        price_change(book, hand, CODE)
    take_back(book, hand, CODE, "acceptance", "a new quote is wanted")
    change(book, hand, narrower_gap(deeper(more)))
    sell(book, hand)
    assert not money(book).not_priced, "a new quote takes in what was changed before it"


def test_a_change_between_quote_and_acceptance_is_extra(book: Book, hand: Hand, more: str) -> None:
    quote(book, hand, CODE)
    change(book, hand, deeper(more), "a foot deeper")
    accept_quote(book, hand, CODE, AS_DRAWN)
    assert [found.reason for found in money(book).not_priced] == ["a foot deeper"]


def test_carrying_out_the_option_the_client_took_costs_nothing_more(book: Book, hand: Hand, more: str) -> None:
    sell(book, hand, parse_option("deeper: size=11' by 14'"), label="deeper")
    shown, done = change(book, hand, deeper(more).replace('"12\'"', '"11\'"'), "the option the client took")
    assert not shown and not money(book).not_priced
    assert not any("not on the contract" in notice for notice in done.notices)


def test_what_comes_with_the_option_besides_is_extra(book: Book, hand: Hand, more: str) -> None:
    sell(book, hand, parse_option("deeper: size=11' by 14'"), label="deeper")
    optioned = deeper(more).replace('"12\'"', '"11\'"')
    beside, _ = change(book, hand, optioned.replace('board = "5/4x6"', 'board = "2x6"'), "the option, and 2x6 boards")
    first = money(book).contract_cents
    if beside is not None:
        price_change(book, hand, CODE)
        assert money(book).contract_cents == first + beside


def test_a_change_of_facts_alone_is_nothing_to_price(book: Book, hand: Hand, more: str) -> None:
    sell(book, hand)
    other_crew = job_text(more=more).replace('crew = "North"', 'crew = "South"')
    shown, _ = change(book, hand, other_crew, "another crew")
    assert not shown and not money(book).not_priced
    change(book, hand, deeper(more).replace('crew = "North"', 'crew = "South"'), "a foot deeper")
    price_change(book, hand, CODE)
    assert [extra.text for extra in money(book).changes] == ["a foot deeper"]


def test_hours_the_house_learned_meanwhile_are_not_charged_with_a_change(book: Book, hand: Hand, more: str) -> None:
    sell(book, hand)
    source = parse_job_bytes(narrower_gap(job_text(more=more)).encode(), "job.toml").source
    before = difference(book, CODE, source, DAY).price_cents
    set_phase_hours(book, hand, {"strip": "2", "layout": "9"})
    assert difference(book, CODE, source, DAY).price_cents == before


def test_what_one_change_left_out_is_not_charged_with_the_next(book: Book, hand: Hand, more: str) -> None:
    sell(book, hand)
    change(book, hand, deeper(more))
    price_change(book, hand, CODE, "for a friend", 1_000, ExtraCost("frame", 100, 6))
    source = parse_job_bytes(narrower_gap(deeper(more)).encode(), "job.toml").source
    narrower = difference(book, CODE, source, DAY)
    assert all(cost.phase == "boards" for cost in narrower.costs), "only the boards are laid another way"


def test_goods_nobody_prices_stop_a_price_that_would_leave_them_out(book: Book, hand: Hand, more: str) -> None:
    sell(book, hand)
    shown, done = change(book, hand, job_text(more=more).replace('"13\'"', '"19\'"'), "much deeper")
    assert shown is None and any("deckjobs extra 26-101 AMOUNT" in notice for notice in done.notices)
    with pytest.raises(RefusedError, match="no price for ") as refused:
        price_change(book, hand, CODE)
    assert "AMOUNT" in refused.value.hint
    price_change(book, hand, CODE, price_cents=30_000)
    assert not money(book).not_priced


def test_what_is_built_in_is_no_saving(book: Book, hand: Hand, more: str) -> None:
    source = parse_job_bytes(narrower_gap(job_text(more=more).replace('"13\'"', '"9\'"')).encode(), "job.toml").source
    free = difference(book, CODE, source, DAY)
    boards = next(item for item in free.items if item.item.startswith("5/4x6") and item.after < item.before)
    order(book, hand, CODE, boards.item, boards.before, lot="B1")
    receive(book, hand, CODE, "B1", boards.before)
    use(book, hand, CODE, "B1", boards.before)
    built = difference(book, CODE, source, DAY)
    (same,) = (item for item in built.items if item.item == boards.item)
    assert same.built_in == boards.before - boards.after and same.before_cents
    each = same.before_cents // same.before
    assert same.built_in_cents == each * same.built_in and same.before_cents == each * same.before
    assert built.cost_cents == built.after.material_cents - built.before.material_cents + same.built_in_cents
    accept_change(book, hand, CODE, source, "smaller", built.rev)
    back = parse_job_bytes(job_text(more=more).encode(), "job.toml").source
    again = next(item for item in difference(book, CODE, back, DAY).items if item.item == boards.item)
    assert again.wanted_again == same.built_in and again.built_in_cents == -same.built_in_cents
