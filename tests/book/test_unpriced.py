"""Missing data makes no number of a job look better, and every surface says what is left out. A real book, invented prices."""

from __future__ import annotations

import random
from collections.abc import Mapping
from typing import Any

import pytest

from tests.book.conftest import DAY, job_text
from tests.book.hourly import log_hours
from tests.book.test_money import DRAWN, HOURS, frame_signed_off
from tracker.book.buying import cost_of, purchases
from tracker.book.hand import Hand
from tracker.book.history import history
from tracker.book.houserules import set_house_rules
from tracker.book.invoices import spend
from tracker.book.jobs import job_lines, take_job
from tracker.book.lots import order, receive
from tracker.book.money import accept_quote, price_change, quote
from tracker.book.moneyread import money_of
from tracker.book.opening import Book
from tracker.book.papers import draft_paper, quote_paper
from tracker.book.pricing import price_job
from tracker.book.sheet import day_sheet
from tracker.errors import RefusedError
from tracker.planning.bounds import Bound
from tracker.planning.estimate import Kind
from tracker.planning.options import parse_option
from tracker.reports.costpages import cost_json, cost_page
from tracker.reports.daysheet import page as day_sheet_page
from tracker.reports.estimatepage import price_json, price_page
from tracker.reports.jsonable import line_json
from tracker.reports.moneypages import money_json, money_page, standing_quote_page
from tracker.reports.moneypaper import money_document
from tracker.reports.page import plain
from tracker.reports.paper.text import to_page
from tracker.reports.purchasepages import buy_page, purchase_json
from tracker.reports.quotepaper import quote_document
from tracker.reports.words import money_line
from tracker.trade.jobfile import parse_job_bytes

PRICES = {
    "2x6x12": "12.00", "2x6x14": "14.00", "5/4x6x12": "15.00", "block": "8.90", "cloth": "60.00", "gravel": "50.00",
    "nails 16d": "25.00", "screws 2-1/2": "40.00", "screws 3": "45.00",
}  # fmt: skip
WIDER = parse_option("2x6 boards: board=2x6")


def take_with(book: Book, hand: Hand, prices: Mapping[str, str]) -> str:
    more = "\n[prices]\n" + "".join(f'"{item}" = "{price}"\n' for item, price in prices.items())
    more += "".join(f"[phases.{key}]\nhours = {hours}\n" for key, hours in HOURS.items())
    return take_job(book, hand, parse_job_bytes(job_text(more=more).encode(), "job.toml")).code


def without(*items: str) -> dict[str, str]:
    return {item: price for item, price in PRICES.items() if item not in items}


def flat(text: str) -> str:
    return " ".join(text.split())


def bounds_of(found: Any, key: str = "") -> dict[str, set[str]]:
    """Every ``..._bound`` of a JSON value, by its key."""
    out: dict[str, set[str]] = {}
    pairs = found.items() if isinstance(found, dict) else enumerate(found) if isinstance(found, list) else ()
    for name, value in pairs:
        if isinstance(name, str) and name.endswith("_bound"):
            out.setdefault(name, set()).add(value)
        for inner, values in bounds_of(value).items():
            out.setdefault(inner, set()).update(values)
    return out


@pytest.mark.parametrize("seed", range(6))
def test_over_random_price_books_every_surface_says_what_is_not_priced(book: Book, hand: Hand, seed: int) -> None:
    gone = random.Random(seed).sample(sorted(PRICES), seed % 4 + 1)
    code = take_with(book, hand, without(*gone))
    quote(book, hand, code, [parse_option("as drawn: price=7000")], unpriced_too=True)
    accept_quote(book, hand, code)

    made = price_job(book, code, DAY, [DRAWN]).options[0].estimate
    money, cost = money_of(book, code, DAY), cost_of(book, code, DAY)
    lines, sheet, bought = job_lines(book, DAY), day_sheet(book, DAY), purchases(book, DAY)
    draft = draft_paper(book, code, DAY)
    texts = {
        "price": plain(price_page(price_job(book, code, DAY, [DRAWN]))),
        "money": plain(money_page(money)),
        "money on screen": plain(money_page(money, bars=True)),
        "money on paper": plain(to_page(money_document(money))),
        "cost": plain(cost_page(cost)),
        "jobs": money_line(lines[0]),
        "buy": plain(buy_page(bought, DAY)),
        "day sheet": plain(day_sheet_page(sheet)),
        "draft": plain(to_page(quote_document(draft))),
    }
    found = (price_json(price_job(book, code, DAY, [DRAWN])), money_json(money), cost_json(cost), line_json(lines[0]))
    said = bounds_of([*found, *(purchase_json(one) for one in bought)])
    if not made.unpriced:  # a length the cut plan does not buy needs no price
        assert not any("not priced" in text for text in texts.values())
        assert all(values == {"exact"} for values in said.values())
        return
    for surface, text in texts.items():
        assert "not priced" in flat(text) and "at least $" in flat(text), surface
    assert "margin forecast at most $" in flat(texts["money"]) and "margin forecast at most $" in flat(
        texts["money on paper"]
    )
    for key in ("cost_bound", "estimate_bound", "forecast_bound", "price_bound", "total_bound", "needed_bound"):
        assert "at least" in said[key], key
    for key in ("profit_bound", "margin_bound"):
        assert "at most" in said[key] and "at least" not in said[key], key
    assert money.margin_now is not None and money.margin_quoted is not None
    assert money.margin_now.gaps.profit is money.margin_quoted.gaps.profit is Bound.MOST


def test_an_option_with_goods_nobody_prices_is_never_shown_as_cheaper(book: Book, hand: Hand) -> None:
    code = take_with(book, hand, without("screws 3"))
    priced = price_job(book, code, DAY, [DRAWN, WIDER])
    assert [option.estimate.total_bound for option in priced.options] == [Bound.EXACT, Bound.LEAST]
    assert priced.options[1].estimate.total_cents < priced.options[0].estimate.total_cents
    text = flat(plain(price_page(priced)))
    assert "difference not known" in text and "-$" not in text
    assert bounds_of(price_json(priced))["difference_bound"] == {"exact", "not known"}
    assert "not known" in flat(plain(to_page(quote_document(draft_paper(book, code, DAY, [DRAWN, WIDER])))))
    with pytest.raises(RefusedError, match="so it may only look cheaper than as drawn") as refused:
        quote(book, hand, code, [DRAWN, WIDER], unpriced_too=True)
    assert "or set the price by hand (--option '2x6 boards: board=2x6, price=4800')" in refused.value.hint
    assert money_of(book, code, DAY).quotes == ()
    with pytest.raises(RefusedError) as at_first:
        quote(book, hand, code, [DRAWN, WIDER])
    assert "--unpriced-too" not in at_first.value.hint, "what would be refused is not advised"
    bare = take_with(book, hand, without("screws 3", "screws 2-1/2"))
    with pytest.raises(RefusedError) as alone:
        quote(book, hand, bare, [DRAWN])
    assert "--unpriced-too" in alone.value.hint
    assert quote(book, hand, bare, [DRAWN], unpriced_too=True).notices


def test_a_quote_and_its_contract_name_what_is_not_priced_in_them(book: Book, hand: Hand) -> None:
    code = take_with(book, hand, without("cloth", "gravel"))
    quote(book, hand, code, [DRAWN], unpriced_too=True)
    told = "not priced, not in what the client pays: cloth and gravel"
    assert told in flat(plain(standing_quote_page(money_of(book, code, DAY))))
    paper = flat(plain(to_page(quote_document(quote_paper(book, code)))))
    assert "not priced, not in what you pay: cloth and gravel." in paper
    done = accept_quote(book, hand, code)
    assert any("not priced, so not in the contract: cloth and gravel" in text for text in done.notices)
    money = money_of(book, code, DAY)
    assert told in flat(plain(money_page(money))) and told in flat(plain(to_page(money_document(money))))
    assert any("2 goods not priced" in line.said for line in history(book, code).lines if line.kind == "money")


def test_a_price_set_by_hand_leaves_nothing_out_of_what_the_client_pays(book: Book, hand: Hand) -> None:
    code = take_with(book, hand, without("cloth"))
    quote(book, hand, code, [parse_option("as drawn: price=7000")])
    accept_quote(book, hand, code)
    money = money_of(book, code, DAY)
    texts = (plain(money_page(money)), plain(to_page(quote_document(quote_paper(book, code)))))
    assert not any("not in what" in flat(text) for text in texts)


def sold(book: Book, hand: Hand, prices: Mapping[str, str] = PRICES) -> str:
    code = take_with(book, hand, prices)
    set_house_rules(book, hand, {"labour_rate": "50"})
    quote(book, hand, code, [DRAWN], unpriced_too=True)
    accept_quote(book, hand, code)
    return code


def test_a_phase_signed_off_with_no_material_recorded_keeps_its_estimate_and_says_so(book: Book, hand: Hand) -> None:
    code = sold(book, hand)
    frame_signed_off(book, hand, code)
    log_hours(book, hand, code, "frame", DAY, 360)
    money = money_of(book, code, DAY)
    frame = next(phase for phase in money.phases if phase.phase == "frame")
    # 10 x 14.00 + 2 x 12.00 + 25.00 nails = 189.00; 6 h at 50.00.
    assert frame.kinds[Kind.MATERIAL] == (18_900, 0, 18_900) and frame.not_recorded == (Kind.MATERIAL,)
    assert "done, no material recorded, its estimate stands" in flat(plain(money_page(money)))
    assert money.margin_now == money.margin_quoted

    # Its boards come in for 164.00; the nails are on no record and stay at 25.00.
    for item, number in (("2x6x14", 10), ("2x6x12", 2)):
        lot = order(book, hand, code, item, number, anyway=True).text.split()[1].rstrip(":")
        receive(book, hand, code, lot, number)
    money = money_of(book, code, DAY)
    frame = next(phase for phase in money.phases if phase.phase == "frame")
    assert (frame.kinds[Kind.MATERIAL], frame.lacking_cents) == ((18_900, 16_400, 18_900), 2_500)
    assert "$25.00 of material not recorded" in flat(plain(money_page(money)))


def test_a_lot_without_a_price_makes_no_margin_better(book: Book, hand: Hand) -> None:
    code = sold(book, hand, without("cloth"))
    lot = order(book, hand, code, "cloth", 1).text.split()[1].rstrip(":")
    receive(book, hand, code, lot, 1)
    frame_signed_off(book, hand, code)
    money = money_of(book, code, DAY)
    pads = next(phase for phase in money.phases if phase.phase == "pads")
    assert pads.gaps.goods == ("cloth",) and money.cost_gaps.cost is Bound.LEAST
    assert money.margin_now is not None and money.margin_now.gaps.words == "1 item not priced"


def test_hours_at_no_rate_and_changes_without_a_cost_are_said(book: Book, hand: Hand) -> None:
    code = take_with(book, hand, PRICES)
    set_house_rules(book, hand, {"labour_rate": "0"})
    made = price_job(book, code, DAY, [DRAWN]).options[0].estimate
    assert (made.gaps.words, made.price_bound) == ("hours at no rate", Bound.LEAST)
    set_house_rules(book, hand, {"labour_rate": "50"})
    quote(book, hand, code, [DRAWN])
    accept_quote(book, hand, code)
    price_change(book, hand, code, "a gate", 35_000)
    money = money_of(book, code, DAY)
    assert money.margin_now is not None
    assert money.margin_now.gaps.at_most("x") == "at most x, change 1 without its cost"


def test_what_cost_nothing_is_recorded_as_nothing(book: Book, hand: Hand) -> None:
    code = sold(book, hand)
    said = spend(book, hand, code, 0, "strip", "no compactor needed")
    assert said.text == "$0.00 spent on strip and grade: no compactor needed"
