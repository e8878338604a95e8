"""Quotes, invoices, credit notes and the money page as files by commands: what is written, what is recorded, what is refused."""

from __future__ import annotations

import json

import pytest

from tests.commands.conftest import Deck
from tests.commands.test_money import PRICES
from tests.reports.paper.reading import all_text


@pytest.fixture
def priced(deck: Deck) -> Deck:
    """A job with a price for everything it needs."""
    deck.take(more=PRICES)
    return deck


@pytest.fixture
def sold(priced: Deck) -> Deck:
    """The job quoted by hand at 5,000.00 and accepted."""
    assert priced("quote", "101", "--option", "as drawn: price=5000").code == 0
    assert priced("accept", "101").code == 0
    return priced


def pdf(deck: Deck, name: str) -> str:
    """The text of a PDF that was written."""
    return all_text((deck.home / name).read_bytes())


def test_a_quote_nobody_recorded_is_written_as_a_draft_and_records_nothing(priced: Deck) -> None:
    before = priced.entries()
    place = str(priced.home / "draft.pdf")
    done = priced(
        "quote",
        "101",
        "--option",
        "2x6: board=2x6, price=6400",
        "--draw",
        "deposit=25%",
        "--draw",
        "final=rest",
        "--pdf",
        place,
    )
    assert (done.code, done.out) == (0, f"written: {place}\n"), done.err
    text = pdf(priced, "draft.pdf")
    assert "DRAFT of a quote" in text and "25 %" in text and "$6,400.00" in text and priced.entries() == before
    plain = priced("quote", "101", "--pdf", str(priced.home / "plain.pdf"))
    assert plain.code == 0 and "DRAFT" in pdf(priced, "plain.pdf") and priced.entries() == before


def test_papers_carry_the_letterhead_and_leave_blanks_for_what_it_lacks(sold: Deck) -> None:
    assert sold("letterhead").out.count("a blank on paper") == 3
    assert sold("letterhead", "--name", "Two  Ponds Decks", "--phone", "555-0142").code == 0
    assert sold("letterhead", "--json").json == {
        "letterhead": {"name": "Two Ponds Decks", "licence": "", "phone": "555-0142", "address": ""}
    }
    place = str(sold.home / "q.pdf")
    assert sold("quote", "101", "--pdf", place).code == 0
    text = pdf(sold, "q.pdf")
    assert "Two Ponds Decks" in text and "555-0142" in text and "licence" in text and "address" not in text
    assert sold("packet", "101", "--pdf", place, "--force").code == 0
    assert "Two Ponds Decks, 555-0142" in pdf(sold, "q.pdf")
    assert sold("handover", "101", "--part", "care", "--pdf", place, "--force").code == 0
    assert "Two Ponds Decks" in pdf(sold, "q.pdf")
    assert sold("letterhead", "--phone", "", "--licence", "x" * 121).code == 2
    assert sold("letterhead", "--phone", "").code == 0 and "555-0142" not in sold("letterhead").out
    refused = sold("--as", "Somebody Else", "letterhead", "--name", "Mine")
    assert refused.code == 1 and "may not change the letterhead" in refused.err


def test_the_recorded_quote_is_written_and_an_earlier_one_by_its_number(sold: Deck) -> None:
    before = sold.entries()
    pair = (str(sold.home / "q.pdf"), str(sold.home / "q.html"))
    done = sold("quote", "101", "--pdf", pair[0], "--html", pair[1], "--paper", "a4", "--json")
    assert done.json == {"files": {"html": pair[1], "pdf": pair[0]}}
    assert "Quote 1" in pdf(sold, "q.pdf") and "$5,000.00" in (sold.home / "q.html").read_text("utf-8")
    page = sold("quote", "101", "--show", "1")
    assert page.code == 0 and "What we build" in page.out and all(len(line) <= 80 for line in page.out.splitlines())
    assert sold("quote", "101", "--show", "1", "--json").json["title"] == "Quote 1"
    assert sold.entries() == before
    assert sold("quote", "101", "--show", "4").err.startswith("deckjobs: 26-101 has no quote 4")
    assert sold("quote", "101", "--show", "1", "--draw", "final=rest").code == 2
    assert sold("quote", "101", "--show", "0").code == 2
    taken = sold("quote", "101", "--pdf", pair[0])
    assert taken.code == 2 and "is there already" in taken.err


def test_an_invoice_is_recorded_and_written_at_once_and_again_by_its_number(sold: Deck) -> None:
    place = str(sold.home / "1.pdf")
    done = sold("invoice", "101", "--pdf", place)
    assert done.out.splitlines() == [
        "recorded: invoice 1: $500.00 for deposit; $4,500.00 is still to invoice", f"written: {place}",
    ]  # fmt: skip
    assert "PLEASE PAY $500.00" in pdf(sold, "1.pdf")
    before = sold.entries()
    again = sold("invoice", "101", "--show", "1", "--pdf", str(sold.home / "again.pdf"))
    assert again.code == 0 and (sold.home / "again.pdf").read_bytes() == (sold.home / "1.pdf").read_bytes()
    assert "This invoice" in sold("invoice", "101", "--show", "1").out and sold.entries() == before
    assert "has no invoice or credit note 7" in sold("invoice", "101", "--show", "7").err
    assert sold("invoice", "101", "50", "--show", "1").code == 2


def test_a_file_that_is_there_stops_an_invoice_before_it_is_recorded(sold: Deck) -> None:
    place = sold.home / "mine.pdf"
    place.write_bytes(b"mine")
    before = sold.entries()
    done = sold("invoice", "101", "--pdf", str(place))
    assert done.code == 2 and "is there already" in done.err and sold.entries() == before
    assert sold("invoice", "101", "--pdf", str(place), "--force").code == 0 and place.read_bytes().startswith(b"%PDF")


def test_a_credit_note_and_a_partial_invoice_in_json_with_their_files(sold: Deck) -> None:
    place = str(sold.home / "part.html")
    made = sold("invoice", "101", "120.00", "--text", "on account, agreed", "--html", place, "--json")
    data = json.loads(made.out)
    assert data["number"] == 1 and data["files"] == {"html": place} and data["id"]
    assert "on account, agreed" in (sold.home / "part.html").read_text("utf-8")
    note = sold("credit", "101", "1", "20", "--reason", "agreed", "--pdf", str(sold.home / "c.pdf"))
    assert note.code == 0 and "Credit note 2" in pdf(sold, "c.pdf") and "-$20.00" in pdf(sold, "c.pdf")
    assert sold("credit", "101", "1", "20", "--reason", "again").out.startswith("recorded: credit note 3")


def test_the_money_page_goes_to_a_file_for_the_office(sold: Deck) -> None:
    done = sold("money", "101", "--pdf", str(sold.home / "m.pdf"))
    assert done.code == 0 and "Not for the client." in pdf(sold, "m.pdf") and "Margin" in pdf(sold, "m.pdf")
    both = sold("money", "101", "--undo", "acceptance", "--reason", "x", "--pdf", str(sold.home / "n.pdf"))
    assert both.code == 2 and "at once" in both.err


def test_the_history_tells_of_money_in_words(sold: Deck) -> None:
    sold("invoice", "101")
    sold("paid", "101", "500", "check", "118", "--invoice", "1")
    sold("extra", "101", "350", "gate", "--cost", "90", "--hours", "3h", "--phase", "frame")
    sold("spend", "101", "85", "strip", "compactor")
    lines = sold("history", "101", "--kind", "money").out
    for said in (
        "quote 1: as drawn $5,000.00", "as drawn of quote 1 accepted", "invoice 1: $500.00 for deposit", "received $500.00, check 118",
        "change 1: gate, +$350.00", "$85.00 spent on strip: compactor",
    ):  # fmt: skip
        assert said in lines, lines
    whole = sold("history", "101", "--kind", "money", "--why").out
    assert (
        "option as drawn" in whole and "draws offered" in whole and "deposit 10 %" in whole and "for invoice" in whole
    )
    assert '{"' not in whole and "[[" not in whole
