"""The letterhead over time: a paper keeps the one of its day."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.book.conftest import DAY, hand_of, job_text
from tracker.book.hand import Hand
from tracker.book.handover import handover
from tracker.book.jobs import take_job
from tracker.book.letterhead import letterhead, set_letterhead
from tracker.book.money import quote
from tracker.book.opening import Book
from tracker.book.papers import quote_paper
from tracker.book.paperviews import Letterhead
from tracker.errors import InputError
from tracker.planning.options import AS_DRAWN, parse_option
from tracker.trade.jobfile import parse_job_bytes


def later(days: int) -> Hand:
    """The owner, some days on."""
    return hand_of("Owner Plover", DAY + timedelta(days=days))


def test_a_paper_keeps_the_letterhead_of_its_day(book: Book, hand: Hand) -> None:
    code = take_job(book, hand, parse_job_bytes(job_text().encode(), "job.toml")).code
    quote(book, hand, code, [parse_option(f"{AS_DRAWN}: price=5000")])
    assert quote_paper(book, code).letterhead == letterhead(book) == Letterhead()

    first = set_letterhead(book, later(1), {"name": " Two  Ponds\nDecks ", "phone": "555-0142"})
    assert first == Letterhead("Two Ponds Decks", phone="555-0142") == letterhead(book)
    assert quote_paper(book, code).letterhead == first, "a paper from before any letterhead takes the one there is"
    quote(book, later(1), code, [parse_option(f"{AS_DRAWN}: price=5100")], replace_it=True)

    second = set_letterhead(book, later(3), {"name": "Three Ponds Decks", "phone": ""})
    assert second == Letterhead("Three Ponds Decks") == letterhead(book)
    assert quote_paper(book, code, 2).letterhead == first
    quote(book, later(3), code, [parse_option(f"{AS_DRAWN}: price=5200")], replace_it=True)
    assert quote_paper(book, code, 3).letterhead == second

    assert handover(book, code, hand.day).letterhead == Letterhead()
    assert handover(book, code, hand.day + timedelta(days=2)).letterhead == first


def test_a_line_that_no_letterhead_has_is_refused_and_nothing_is_kept(book: Book, hand: Hand) -> None:
    with pytest.raises(InputError, match=r"no line .phon. .did you mean phone") as told:
        set_letterhead(book, hand, {"name": "Two Ponds Decks", "phon": "1"})
    assert "name, licence, phone or address" in told.value.hint
    assert letterhead(book) == Letterhead()
