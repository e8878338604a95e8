"""The papers of a job's money as the book reads them: what they keep, what they leave out, and the tax in every invoice."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.book.conftest import DAY, hand_of, job_text
from tests.book.test_money import HIRE, MORE
from tests.often import examples
from tracker.book.gates import sign_off
from tracker.book.hand import Hand
from tracker.book.houserules import set_house_rules
from tracker.book.invoices import credit, invoice, receive_payment, take_back
from tracker.book.jobs import job_view, take_job
from tracker.book.ledger import Accepted, Extra, Invoice, InvoiceLine, Ledger, QuotedOption
from tracker.book.money import accept_quote, price_change, quote, set_draws
from tracker.book.moneyread import money_of
from tracker.book.opening import Book
from tracker.book.papers import draft_paper, has_quote, invoice_paper, quote_paper
from tracker.book.paperviews import PaperOption, QuotePaper, taxes_of
from tracker.book.prices import take_prices
from tracker.book.readings import waive
from tracker.errors import InputError, InputErrors
from tracker.planning.draws import Share
from tracker.planning.estimate import Estimate, EstimateLine, Kind, Terms
from tracker.planning.options import AS_DRAWN, Option, parse_option
from tracker.reports.invoicepaper import invoice_document
from tracker.reports.moneypages import money_page
from tracker.reports.page import plain
from tracker.reports.paper.text import to_page
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.money import format_money

CODE = "26-101"
OPTIONS = [Option(AS_DRAWN), parse_option("2x6 boards: board=2x6, price=6400")]


@pytest.fixture
def job(book: Book, hand: Hand) -> str:
    """A job with a price and hours for everything, at 6.5 % sales tax on the price."""
    code = take_job(book, hand, parse_job_bytes(job_text(more=MORE).encode(), "job.toml")).code
    set_house_rules(book, hand, {"labour_rate": "50", "tax_on_price": "6.5"})
    return code


def sign(book: Book, hand: Hand, code: str, last: str) -> None:
    """Sign every phase off up to ``last``, its checks waived."""
    for phase in job_view(book, code, DAY).phases:
        for check in phase.checks:
            if not check.settled:
                waive(book, hand, code, check.key, "not measured in this test")
        sign_off(book, hand, code, phase.key)
        if phase.key == last:
            return


def test_a_quote_for_its_client_has_no_cost_hours_or_margin_to_leak() -> None:
    names = {field.name for kind in (QuotePaper, PaperOption) for field in fields(kind)}
    assert not {name for name in names if any(word in name for word in ("cost", "minutes", "hours", "margin", "profit", "overhead", "estimate", "rate"))}  # fmt: skip


def test_a_quote_keeps_what_its_paper_says_whatever_is_edited_later(book: Book, hand: Hand, job: str) -> None:
    quote(book, hand, job, OPTIONS, HIRE, ["deposit=15%", "final=rest"])
    before = quote_paper(book, job)
    assert [option.label for option in before.options] == ["as drawn", "2x6 boards"]
    assert (
        before.options[1].spec.platforms[0].decking.board == "2x6" != before.options[0].spec.platforms[0].decking.board
    )
    assert before.draws == (Share("deposit", 150), Share("final", odd_cent=True)) and before.options[0].besides == (
        "compactor",
    )
    assert sum(before.draws_of(before.options[0])) == before.options[0].total_cents
    set_house_rules(
        book, hand, {"labour_rate": "99", "tax_on_price": "9", "quote_days": "3", "crew_size": "7", "deposit": "20"}
    )
    take_prices(book, hand, b"supplier,item,price\nYard One,2x6x12,99.00\n", "prices.csv")
    changed = (
        job_text(more=MORE, title="Another title").replace("11'", "12'").replace("Client Plover Lane", "Somebody Else")
    )
    take_job(book, hand, parse_job_bytes(changed.encode(), "job.toml"))
    assert quote_paper(book, job) == before
    quote(book, hand_of("Owner Plover"), job, replace_it=True)
    assert quote_paper(book, job, 1) == before and quote_paper(book, job).number == 2
    assert quote_paper(book, job).title == "Another title"


def test_days_on_site_are_the_crews_and_count_no_office_work(book: Book, hand: Hand, job: str) -> None:
    """By hand: the hours of MORE less office phases are 3+8+13+11+6+1+1+15+2 = 60, two people, 8 hours a day: 3.75 days."""
    quote(book, hand, job)
    assert quote_paper(book, job).options[0].days == 4


def test_a_draft_records_nothing_and_says_what_has_no_price(book: Book, hand: Hand, take: Callable[..., str]) -> None:
    code = take()
    draft = draft_paper(book, code, DAY, OPTIONS)
    assert draft.is_draft and "block" in draft.without_price and not has_quote(book, code)
    with pytest.raises(InputError, match="26-101 has no quote"):
        quote_paper(book, code)
    with pytest.raises(InputErrors, match="fram"):
        draft_paper(book, code, DAY, draws=["fram=100%"])


def test_the_draws_of_the_quote_become_those_of_the_contract(book: Book, hand: Hand, job: str) -> None:
    quote(book, hand, job, draws=["deposit=25%", "boards=rest"])
    set_house_rules(book, hand, {"deposit": "5"})
    accept_quote(book, hand, job)
    assert [draw.name for draw in money_of(book, job, DAY).draws] == ["deposit", "boards"]


def test_an_invoice_says_what_it_was_when_it_went_out_and_what_came_since(book: Book, hand: Hand, job: str) -> None:
    quote(book, hand, job, OPTIONS)
    accept_quote(book, hand, job, "2x6 boards")
    invoice(book, hand, job)
    receive_payment(book, hand, job, 50_000, "check 118", invoice_number=1)
    sign(book, hand, job, "frame")
    price_change(book, hand, job, "gate", 35_000)
    made = invoice(book, hand, job, ["frame", "change 1"])
    money = money_of(book, job, DAY)
    paper = invoice_paper(book, job, 2)
    assert paper == invoice_paper(book, job, entry_id=made.id)
    assert paper.invoice.signed == (("frame", DAY),) and [change.name for change in paper.changes] == ["change 1"]
    assert (paper.contract_cents, paper.invoiced_cents, paper.paid_cents, paper.due_cents, paper.to_invoice_cents) == (
        money.contract_cents, money.invoiced_cents, money.paid_cents, money.due_cents, money.to_invoice_cents,
    )  # fmt: skip
    assert paper.open_besides == (("invoice 1", money.invoices[0].open_cents),)
    assert paper.open_cents == paper.open_then_cents == paper.invoice.cents and paper.since == ()
    first = invoice_paper(book, job, 1)
    assert first.changes == () and first.invoiced_cents == first.invoice.cents and first.paid_cents == 0
    assert [one.cents for one in first.since] == [50_000, None]
    assert first.since[1].text == "change order 1 is on the contract: gate, +$372.75"
    receive_payment(book, hand, job, 20_000, invoice_number=2)
    credit(book, hand, job, 2, "latch left out", 1_000)
    later = invoice_paper(book, job, 2)
    assert later.open_cents == money_of(book, job, DAY).invoices[1].open_cents == paper.open_cents - 21_000
    assert sorted(one.cents or 0 for one in later.since) == [1_000, 20_000]
    assert (later.invoiced_cents, later.due_cents) == (paper.invoiced_cents, paper.due_cents)
    note = invoice_paper(book, job, 3)
    assert note.is_credit and note.invoice.against == 2 and note.invoice.text == "latch left out"
    with pytest.raises(InputError, match="has no invoice or credit note 9"):
        invoice_paper(book, job, 9)


def test_a_reprint_says_that_a_payment_bounced(book: Book, hand: Hand, job: str) -> None:
    quote(book, hand, job, OPTIONS)
    accept_quote(book, hand, job, "2x6 boards")
    invoice(book, hand, job)
    deposit = money_of(book, job, DAY).invoiced_cents
    receive_payment(book, hand, job, deposit, "check 118")
    sign(book, hand, job, "frame")
    invoice(book, hand, job, ["frame"])
    asked = invoice_paper(book, job, 2)
    assert asked.paid_cents == deposit and asked.since == ()
    take_back(book, hand, job, "payment 1", "check 118 bounced")
    again = invoice_paper(book, job, 2)
    (gone,) = again.since
    assert gone.text == "the payment of Tue 12 May 2026, check 118, does not count: taken back, check 118 bounced"
    assert gone.cents == -deposit
    text = " ".join(plain(to_page(invoice_document(again))).split())
    top, _, rest = text.partition("This invoice")
    assert f"of invoice 2 is open as when it went out; {format_money(again.due_now_cents)} is due in all" in top
    assert again.due_now_cents == deposit + again.invoice.cents
    assert "Changed since it went out: the payment of Tue 12 May 2026, check 118, does not count" in top
    assert f"due in all on that day {format_money(again.invoice.cents)} " in rest
    assert f"PLEASE PAY {format_money(again.due_now_cents)} " in rest, "what is due now is the sum asked for"
    assert f"invoice 1, still open {format_money(deposit)} " in rest
    assert "Since then" in rest and "does not" in rest and "bounced" in rest
    # The invoice that was paid with it: it asks for all of it again, before anything else on the page.
    first = invoice_paper(book, job, 1)
    assert first.open_cents == first.open_then_cents == deposit and first.since == ()
    receive_payment(book, hand, job, deposit, "cash", invoice_number=1)
    settled = " ".join(plain(to_page(invoice_document(invoice_paper(book, job, 1)))).split())
    assert "it is settled" in settled.split("This invoice")[0]


def test_a_reprint_takes_off_what_was_paid_since_for_another_invoice_it_asks_for(
    book: Book, hand: Hand, job: str
) -> None:
    quote(book, hand, job, OPTIONS)
    accept_quote(book, hand, job, "2x6 boards")
    invoice(book, hand, job)
    sign(book, hand, job, "frame")
    invoice(book, hand, job, ["frame"])
    one, two = (view.invoice.cents for view in money_of(book, job, DAY).invoices)
    receive_payment(book, hand, job, one, "check 5", invoice_number=1)
    text = " ".join(plain(to_page(invoice_document(invoice_paper(book, job, 2)))).split())
    assert "received, check 5, for invoice 1" in text and f"PLEASE PAY {format_money(two)} " in text
    assert "still open" not in text
    receive_payment(book, hand, job, two + 500, "check 6", invoice_number=2)
    text = " ".join(plain(to_page(invoice_document(invoice_paper(book, job, 2)))).split())
    assert f"{format_money(two)} of invoice 2 was paid or credited since: it is settled; nothing is due" in text
    assert "YOUR CREDIT $5.00 " in text


def test_a_payment_says_which_invoice_it_settled(book: Book, hand: Hand, job: str) -> None:
    quote(book, hand, job, OPTIONS)
    accept_quote(book, hand, job, "2x6 boards")
    invoice(book, hand, job)  # the deposit
    sign(book, hand, job, "frame")
    invoice(book, hand, job, ["frame"])
    one, two = (view.invoice.cents for view in money_of(book, job, DAY).invoices)
    receive_payment(book, hand, job, one + 5_000, "check 1")  # names none: the oldest first
    receive_payment(book, hand, job, two, "check 2", invoice_number=2)  # 50.00 of it is over
    money = money_of(book, job, DAY)
    first, second = money.payments
    assert money.settled[first.id] == ((1, one),) and money.settled[second.id] == ((2, two),)
    text = " ".join(plain(money_page(money)).split())
    assert "settled invoice 1, $50.00 the client's credit" in text and "check 2 settled invoice 2" in text
    receive_payment(book, hand, job, 5_000, "cash", back=True)
    money = money_of(book, job, DAY)
    assert sum(cents for parts in money.settled.values() for _, cents in parts) == one + two == money.paid_cents
    # More is owed again once a payment is taken back.
    take_back(book, hand, job, "payment 2", "bounced")
    money = money_of(book, job, DAY)
    assert money.settled[first.id] == ((1, one),) and money.due_cents == two


def test_an_invoice_keeps_its_client_and_title(book: Book, hand: Hand, job: str) -> None:
    quote(book, hand, job)
    accept_quote(book, hand, job)
    invoice(book, hand, job)
    before = invoice_paper(book, job, 1)
    changed = job_text(more=MORE, title="Another title").replace("Client Plover Lane", "Somebody Else")
    take_job(book, hand, parse_job_bytes(changed.encode(), "job.toml"))
    set_house_rules(book, hand, {"tax_on_price": "20"})
    assert invoice_paper(book, job, 1) == before and before.invoice.about.title == "Plover Lane platform"


# -- the tax of invoices


def ledger(total: int, tax: int, changes: list[tuple[int, int]], invoices: list[list[tuple[str, int]]]) -> Ledger:
    """A contract of ``total`` with ``tax`` in it, its changes as (price, tax), and invoices of (draw, cents)."""
    terms = Terms(5000, 0, 0, 0, 65, 0)
    cost = EstimateLine(Kind.LABOUR, "frame", "frame", total - tax, "", 60)
    option = QuotedOption("as drawn", (), Estimate((cost,), terms, 0, 0, tax))
    return Ledger(
        accepted=Accepted("a", DAY, "x", 1, option),
        shares=(Share("deposit", 500), Share("final")),
        changes=tuple(
            Extra(f"e{n}", n, DAY, "x", "gate", price, of_it, ()) for n, (price, of_it) in enumerate(changes, 1)
        ),
        invoices=tuple(
            Invoice(f"i{n}", n, DAY, "x", tuple(InvoiceLine(draw, draw, cents) for draw, cents in lines))
            for n, lines in enumerate(invoices, 1)
        ),
    )


def test_the_tax_of_three_thirds_adds_up() -> None:
    """By hand: 100.00 with 6.10 of tax in it, in parts of 33.33, 33.33, 33.34: 2.033, 4.066 and 6.10 so far, rounded."""
    found = taxes_of(ledger(10_000, 610, [], [[("deposit", 3_333)], [("", 3_333)], [("final", 3_334)]]))
    assert found == {1: 203, 2: 204, 3: 203}


@settings(max_examples=examples(60, 1200), deadline=None)
@given(
    st.integers(1, 10**7), st.integers(0, 300), st.lists(st.tuples(st.integers(-5_000, 90_000), st.booleans()), max_size=3),
    st.lists(st.integers(1, 100), min_size=1, max_size=6), st.booleans(),
)  # fmt: skip
def test_the_tax_of_all_invoices_is_the_tax_of_the_contract(
    price: int, tenths: int, extras: list[tuple[int, bool]], cuts: list[int], loose: bool
) -> None:
    tax = price * tenths // 1000
    changes = [(cents, cents * tenths // 1000 if taxed else 0) for cents, taxed in extras]
    total = price + tax
    parts = [total * cut // sum(cuts) for cut in cuts]
    parts[-1] += total - sum(parts)
    invoices = [[("" if loose else "deposit", part)] for part in parts if part]
    invoices += [[(f"change {n}", price_cents + of_it)] for n, (price_cents, of_it) in enumerate(changes, 1)]
    book = ledger(total, tax, changes, invoices)
    found = taxes_of(book)
    assert sum(found.values()) == tax + sum(of_it for _, of_it in changes)
    credited = ledger(
        total, tax, changes, [*invoices, *([(draw, -cents) for draw, cents in lines] for lines in invoices)]
    )
    assert sum(taxes_of(credited).values()) == 0 and {n: taxes_of(credited)[n] for n in found} == found


def test_without_a_contract_there_is_no_tax() -> None:
    assert taxes_of(Ledger()) == {}


def test_other_terms_change_no_tax_of_an_invoice(book: Book, hand: Hand, job: str) -> None:
    quote(book, hand, job)
    accept_quote(book, hand, job)
    invoice(book, hand, job)
    before = invoice_paper(book, job, 1)
    set_draws(book, hand, job, ["deposit=60%", "final=rest"])
    invoice(book, hand, job)
    assert invoice_paper(book, job, 1) == before
