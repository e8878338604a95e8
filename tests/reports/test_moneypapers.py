"""Quotes, invoices and the money page on paper: every sum re-added from the PDF's own text, and nothing leaked to a client.

The money and the names are invented.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from html import unescape
from pathlib import Path

import pytest

from tests.book.conftest import DAY, hand_of, job_text
from tests.book.test_money import HIRE, MORE
from tests.book.test_papers import sign
from tests.reports.paper.reading import all_text, read_pdf
from tracker.book.houserules import set_house_rules
from tracker.book.invoices import credit, invoice, receive_payment, spend
from tracker.book.jobs import take_job
from tracker.book.money import accept_quote, price_change, quote
from tracker.book.moneyread import money_of
from tracker.book.opening import Book, open_book
from tracker.book.papers import draft_paper, invoice_paper, quote_paper
from tracker.book.paperviews import InvoicePaper, PaperOption, QuotePaper
from tracker.book.pricing import price_job
from tracker.errors import InputError
from tracker.planning.draws import Share
from tracker.planning.options import AS_DRAWN, Option, parse_option
from tracker.reports.builtwords import area_words, built_words
from tracker.reports.invoicepaper import invoice_document
from tracker.reports.moneypaper import OFFICE, money_document
from tracker.reports.paper.html import to_html
from tracker.reports.paper.model import Document, Paper
from tracker.reports.paper.pdf import to_pdf
from tracker.reports.quotepaper import quote_document
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.money import format_money

CODE = "26-101"
OPTIONS = [Option(AS_DRAWN), parse_option("2x6 boards: board=2x6, price=6400.07"), parse_option("bigger: size=12' by 13', price=6911.03")]  # fmt: skip
MONEY = re.compile(r"([-+]?)\$([\d,]+)\.(\d\d)")
LEAKS = ("margin", "markup", "overhead", "profit", "cost", "labour", "hour", "wage", "rate")
"""Words that have no place on a client's paper."""
ARABIC, CHINESE = "عميل شارع الصفصاف", "柳树街的木平台"
LONG = "Aquamarine-and-Bluebell-Lane-without-any-blank " * 4


def cents(text: str) -> list[int]:
    """Every amount of a text, in its order."""
    return [
        int(whole.replace(",", "") + part) * (-1 if sign == "-" else 1) for sign, whole, part in MONEY.findall(text)
    ]


def between(text: str, first: str, last: str) -> str:
    """What stands between two words of a text."""
    assert text.count(first) >= 1, first
    rest = text.split(first, 1)[1]
    assert last in rest, last
    return rest.split(last, 1)[0]


def words_of(html: bytes) -> str:
    """What a page says: its texts without style and tags."""
    bare = re.sub(r"<(style|svg).*?</\1>", " ", html.decode(), flags=re.DOTALL)
    return unescape(re.sub(r"<[^>]+>", " ", bare))


def row_of(text: str, title: str) -> str:
    """The four amounts behind a title."""
    found = re.search(rf"{re.escape(title)} ((?:-?\$[\d,.]+ ){{4}})", text)
    assert found, title
    return found[1]


@pytest.fixture
def sold(tmp_path: Path) -> Iterator[Book]:
    """A book with a job quoted with three options at 6.5 % tax, as drawn taken, the frame signed off and invoiced."""
    book = open_book(tmp_path / "jobs.book")
    hand = hand_of("Owner Plover")
    take_job(book, hand, parse_job_bytes(job_text(more=MORE).encode(), "job.toml"))
    set_house_rules(book, hand, {"labour_rate": "50", "tax_on_price": "6.5"})
    quote(book, hand, CODE, OPTIONS, HIRE)
    accept_quote(book, hand, CODE, "as drawn")
    invoice(book, hand, CODE)
    receive_payment(book, hand, CODE, 50_000, "check 118")
    sign(book, hand, CODE, "frame")
    price_change(book, hand, CODE, "gate at the steps", 35_000)
    invoice(book, hand, CODE)
    credit(book, hand, CODE, 2, "latch left out", 1_999)
    spend(book, hand, CODE, 8_500, "strip", "compactor")
    yield book
    book.close()


def test_the_sums_of_a_quote_add_up_from_its_own_text(sold: Book) -> None:
    paper = quote_paper(sold, CODE)
    text = all_text(to_pdf(quote_document(paper)))
    rows = cents(between(text, "work on site", "sales tax is in"))
    for number, option in enumerate(paper.options):
        price, tax, pays, *difference = rows[:3] if number == 0 else rows[:4]
        rows = rows[3:] if number == 0 else rows[4:]
        assert price + tax == pays == option.total_cents
        assert difference == ([] if number == 0 else [pays - paper.options[0].total_cents])
    assert not rows
    draws = cents(between(text, "bigger deposit", "A phase is signed off"))
    columns = [draws[n::3] for n in range(3)]
    assert [sum(column[:-1]) for column in columns] == [column[-1] for column in columns]
    assert [column[-1] for column in columns] == [option.total_cents for option in paper.options]
    money = money_of(sold, CODE, DAY)
    assert columns[0][:-1] == [draw.cents for draw in money.draws][:-1] and columns[0][-1] == money.quoted_cents


def test_nothing_of_cost_hours_or_margin_is_on_a_clients_paper(sold: Book) -> None:
    made = price_job(sold, CODE, DAY, OPTIONS, HIRE).options
    secret = {format_money(line.cents) for option in made for line in option.estimate.lines}
    secret |= {
        format_money(x)
        for o in made
        for x in (o.estimate.cost_cents, o.estimate.overhead_cents, o.estimate.profit_cents)
    }
    documents = [
        quote_document(quote_paper(sold, CODE)),
        *(invoice_document(invoice_paper(sold, CODE, n)) for n in (1, 2, 3)),
    ]
    draft = replace(draft_paper(sold, CODE, DAY, OPTIONS, HIRE), without_price=())
    for document in (*documents, quote_document(draft)):
        for text in (all_text(to_pdf(document)), words_of(to_html(document))):
            words = set(re.findall(r"[a-z]+", text.lower()))
            assert not words & {*LEAKS, *(f"{word}s" for word in LEAKS)}, words & set(LEAKS)
            assert not {amount for amount in secret if re.search(rf"(?<![\d,]){re.escape(amount)}(?!\d)", text)} - {
                "$0.00"
            }
    office = all_text(to_pdf(money_document(money_of(sold, CODE, DAY)))).lower()
    assert {"margin", "cost", "labour"} <= set(re.findall(r"[a-z]+", office))  # the words are there where they belong


def test_what_a_quote_says(sold: Book) -> None:
    text = all_text(to_pdf(quote_document(quote_paper(sold, CODE))))
    for said in (
        "Quote 1", "Client Plover Lane (invented)", "4 Plover Lane (invented)", "11' wide by 13' deep", "12 in from the ground",
        "2x6 southern pine no.2", "16 in on centre", "5/4x6 southern pine", "40 blocks", "Frame signed off", "when you accept",
        "the rest", "stands until Thursday 11 June 2026", "compactor", "a permit and its fees, if the office asks for one",
        "adopted local code", "permit office", "change order", "contractor (Owner Plover)", "option taken, number", "about 4 days",
    ):  # fmt: skip
        assert said in text, said
    assert "DRAFT" not in text


def test_a_draft_says_so_on_every_page_and_is_not_signed(sold: Book) -> None:
    draft = draft_paper(sold, CODE, DAY)
    pages = read_pdf(to_pdf(quote_document(draft)))
    assert all("DRAFT" in page.text for page in pages)
    text = " ".join(page.text for page in pages)
    assert "not to be signed" in text and "contractor (" not in text and "not an offer" in text


def test_the_sums_of_an_invoice_add_up_from_its_own_text(sold: Book) -> None:
    paper = invoice_paper(sold, CODE, 2)
    text = all_text(to_pdf(invoice_document(paper)))
    *lines, whole = cents(between(text, "amount", "of it before tax"))
    before, tax = cents(between(text, "of it before tax", "Contract and account"))
    assert sum(lines) == whole == before + tax == paper.invoice.cents and tax > 0
    account = between(text, "on Tue 12 May 2026", "due in all on that day")
    quoted, *changes, contract, invoiced, received, left = cents(account)
    assert quoted + sum(changes) == contract == invoiced + left
    then, mine, other, due = cents(between(text, "due in all on that day", "Since then"))
    assert then == invoiced - received
    assert mine + other == due == then - 1_999, "the credit note given since is off what is to pay"
    assert f"signed off Tue 12 May 2026 {format_money(paper.invoice.lines[0].cents)}" in text
    assert (
        "change order 1, Tue 12 May 2026: gate at the steps +$372.75" in text and "change 1: gate at the steps" in text
    )


def test_the_papers_of_all_invoices_are_the_money_of_the_job(sold: Book) -> None:
    money = money_of(sold, CODE, DAY)
    last = invoice_paper(sold, CODE, 3)
    text = all_text(to_pdf(invoice_document(last)))
    for figure in (
        money.contract_cents,
        money.invoiced_cents,
        money.paid_cents,
        money.due_cents,
        money.to_invoice_cents,
    ):
        assert format_money(figure) in text
    assert "Credit note 3" in text and "takes from invoice 2: latch left out" in text
    assert sum(invoice_paper(sold, CODE, n).tax_cents for n in (1, 2, 3)) == round(money.invoiced_cents * 65 / 1065)
    receive_payment(sold, hand_of("Owner Plover"), CODE, money.due_cents, "transfer")
    paid = all_text(to_pdf(invoice_document(invoice_paper(sold, CODE, 2))))
    assert "Since then" in paid and "credit note 3 $19.99" in paid and "it is settled" in paid


def test_the_office_page_adds_up_and_says_whose_it_is(sold: Book) -> None:
    money = money_of(sold, CODE, DAY)
    pages = read_pdf(to_pdf(money_document(money)))
    assert all(OFFICE in " ".join(page.text.split()) for page in pages)
    text = " ".join(" ".join(page.text for page in pages).split())
    rows = [cents(row_of(text, phase.title)) for phase in money.phases]
    whole = (money.estimate_cents, money.cost_cents, money.forecast_cents)
    kinds = cents(between(text, "Cost by kind", "Spent besides"))
    assert [sum(kinds[n:9:3]) for n in range(3)] == list(whole) == kinds[9:12]
    assert [sum(row[n] for row in rows) for n in (0, 1, 3)] == list(whole)
    draws = cents(between(text, "to invoice deposit", "Invoices"))
    assert [sum(draws[n:-3:3]) for n in range(3)] == draws[-3:]
    assert draws[-3:] == [money.contract_cents, money.invoiced_cents, money.to_invoice_cents]
    assert format_money(money.margin_now.cents if money.margin_now else 0) in text


def every_paper(book: Book) -> list[Document]:
    """One document of each kind."""
    return [
        quote_document(quote_paper(book, CODE)),
        quote_document(draft_paper(book, CODE, DAY, OPTIONS)),
        invoice_document(invoice_paper(book, CODE, 2)),
        money_document(money_of(book, CODE, DAY)),
    ]


def test_made_twice_they_are_the_same_bytes(sold: Book) -> None:
    for first, second in zip(every_paper(sold), every_paper(sold), strict=True):
        assert to_html(first) == to_html(second) and to_pdf(first) == to_pdf(second)


def test_the_bytes_of_a_quote_and_an_invoice_outlive_later_edits(sold: Book) -> None:
    hand = hand_of("Owner Plover")

    def kept() -> list[bytes]:
        documents = (quote_document(quote_paper(sold, CODE, 1)), invoice_document(invoice_paper(sold, CODE, 2)))
        return [data for document in documents for data in (to_pdf(document), to_html(document))]

    before = kept()
    set_house_rules(sold, hand, {"labour_rate": "99", "tax_on_price": "1", "quote_days": "5", "support_longest": "3'"})
    text = (
        job_text(more=MORE.replace("12.00", "19.00"), title="Renamed")
        .replace("11'", "14'")
        .replace("Client Plover", "Other")
    )
    take_job(sold, hand, parse_job_bytes(text.encode(), "job.toml"))
    assert kept() == before


# -- long and foreign texts, many lines


def many(paper: QuotePaper, number: int) -> QuotePaper:
    """The quote with so many options, its names long and foreign."""
    first = paper.options[0]
    options = tuple(
        PaperOption(f"{CHINESE} {n} {LONG[:60]}", first.changes, first.spec, 500_000 + n, 32_500, 532_500 + n, n, first.phases,
                    tuple(f"{LONG[:90]} {k}" for k in range(60)))
        for n in range(1, number + 1)
    )  # fmt: skip
    draws = (Share("deposit", 100), Share("final"))
    return replace(
        paper, client=ARABIC, title=LONG[:190].strip(), place=f"{CHINESE} {ARABIC} {LONG}", options=options, draws=draws
    )


def bill(paper: InvoicePaper, number: int) -> InvoicePaper:
    """The invoice with so many lines and change orders."""
    line, change = paper.invoice.lines[0], paper.changes[0]
    lines = tuple(replace(line, text=f"{LONG[:120]} {n}", draw="") for n in range(number))
    changes = tuple(replace(change, number=n, text=f"{ARABIC} {n} {LONG[:70]}") for n in range(number))
    about = replace(paper.invoice.about, client=ARABIC, title=CHINESE * 4)
    return replace(paper, invoice=replace(paper.invoice, lines=lines, about=about), changes=changes)


@pytest.mark.parametrize("size", list(Paper))
def test_a_hundred_options_with_long_and_foreign_names_break_over_pages(sold: Book, size: Paper) -> None:
    documents = [
        quote_document(many(quote_paper(sold, CODE), 100)),
        invoice_document(bill(invoice_paper(sold, CODE, 2), 100)),
    ]
    for document in documents:
        pages = read_pdf(to_pdf(document, size.value))
        assert len(pages) > 3
        width, height = size.size_mm
        for page in pages:
            assert all(
                char.left > 0 and char.right < width and char.bottom > 0 and char.top < height for char in page.chars
            )
    text = " ".join(page.text for page in read_pdf(to_pdf(documents[0], size.value)))
    assert all(format_money(532_500 + n) in text for n in range(1, 101)) and "柳树街的木平台" in "".join(text.split())
    html = to_html(documents[0]).decode()
    assert (ARABIC in unescape(html) and 'dir="auto"' in html) or "unicode-bidi" in html


# -- what is built, in words


def spec_words(text: str) -> dict[str, str]:
    """The words of the first platform of a job file."""
    (_, rows), *_ = built_words(parse_job_bytes(text.encode(), "job.toml").spec)
    return dict(rows)


def test_what_is_built_in_the_trades_words() -> None:
    text = (Path(__file__).parents[2] / "sample_jobs" / "26-015-ridge-step.toml").read_text("utf-8")
    words = spec_words(text)
    assert words["size"] == "16' wide by 12' deep over the frame, fixed to the house"
    assert words["height"] == "5' 6\" from the ground to the top of the boards"
    assert words["stands on"].startswith("beam of 2 2x12 on 3 posts 6x6; 3 poured footings ")
    assert words["frame"] == "13 joists 2x10 southern pine no.2, treated to UC3B, 16 in on centre"
    assert (
        words["stairs"] == "4' wide, 9 risers, 5' 6\" up, handrail, guarded"
        and words["guard"] == "36 in high, 36' in all"
    )
    assert words["finish"] == "stain on the boards, once they are dry enough"
    metric = (Path(__file__).parents[2] / "sample_jobs" / "26-019-north-quay.toml").read_text("utf-8")
    assert spec_words(metric)["size"].startswith("4760 mm wide by 3600 mm deep")
    assert area_words(parse_job_bytes(metric.encode(), "job.toml").spec) == "17.1 m²"
    outline = (Path(__file__).parents[2] / "sample_jobs" / "26-025-alder-bend.toml").read_text("utf-8")
    (_, rows), *_ = built_words(parse_job_bytes(outline.encode(), "job.toml").spec)
    assert [text for word, text in rows if word == "corner"] == [
        "front right left out, 6' by 5'",
        "back left clipped, 3' each way",
    ]
    assert "a mitred border board all round" in dict(rows)["boards"]


def test_a_paper_size_nobody_has_is_refused(sold: Book) -> None:
    with pytest.raises(InputError, match="not a paper size"):
        to_pdf(quote_document(quote_paper(sold, CODE)), "a5")


def test_the_document_is_dated_by_its_own_day(sold: Book) -> None:
    assert quote_document(quote_paper(sold, CODE)).day == date(2026, 5, 12)
