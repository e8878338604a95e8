"""Finding anything by its words: each kind of text, one case for all scripts, wild cards as they stand."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.book.conftest import hand_of, job_text
from tests.often import examples
from tracker.book.finding import find, fold
from tracker.book.frontviews import Room
from tracker.book.gates import hold
from tracker.book.hand import Hand
from tracker.book.jobs import add_note, take_job
from tracker.book.opening import Book, open_book
from tracker.book.prices import take_prices
from tracker.book.readings import waive
from tracker.errors import InputError
from tracker.trade.jobfile import parse_job_bytes

LOT = '[[lot]]\ncode = "Q7"\nitem = "2x6x12"\nsupplier = "Yard One"\nordered = 3\npromised = 2026-05-13\n'


def kinds(book: Book, words: str) -> list[str]:
    return [hit.kind for hit in find(book, words).hits]


def test_every_kind_of_text_is_found_and_says_where(book: Book, hand: Hand) -> None:
    take_job(book, hand, parse_job_bytes(job_text(more=LOT).encode(), "job.toml"))
    add_note(book, hand, "26-101", "the neighbour's cherry hangs over the fence")
    waive(book, hand, "26-101", "layout-square", "only the shed side counts")
    hold(book, hand, "26-101", "visit", "wasps under the eaves")
    take_prices(book, hand, b"supplier,item,price\nStone Bay,block,8.90\n", "prices.csv")
    for words, kind, room, at in (
        ("26-101", "job", Room.JOB, ""),
        ("plover", "job", Room.JOB, ""),
        ("under-deck", "phase", Room.JOB, "under-deck"),
        ("close-out", "phase", Room.JOB, "under-deck"),
        ("frame square", "check", Room.JOB, "square"),
        ("q7", "lot", Room.LOTS, "Q7"),
        ("2x6x12", "lot", Room.LOTS, "Q7"),
        ("cherry", "note", Room.JOB, ""),
        ("shed side", "waiver", Room.JOB, "layout-square"),
        ("wasps", "reason", Room.JOB, "visit"),
    ):
        hit = find(book, words).hits[0]
        assert (hit.kind, hit.place.room, hit.place.at, hit.place.job) == (kind, room, at, "26-101"), words
    (supplier,) = find(book, "stone bay").hits
    assert (supplier.kind, supplier.place.job, supplier.place.room) == ("supplier", "", Room.BUY)


def test_words_of_the_job_narrow_down_what_is_found_in_it(book: Book, take: Callable[..., str]) -> None:
    take(code="26-101", title="Deck at the mill")
    take(code="26-102", title="Deck at the pond")
    assert {hit.job for hit in find(book, "square pond").hits} == {"26-102"}
    assert "job" not in kinds(book, "square pond"), "the job itself says nothing of a square"
    assert kinds(book, "square nowhere") == []
    assert kinds(book, "  ") == []


def test_case_is_one_in_every_script(book: Book, take: Callable[..., str]) -> None:
    take(title="Terrasse Ölmühle, straße; ВЕРАНДА; 木の床")
    for words in ("ölmühle", "ÖLMÜHLE", "o\u0308lmühle", "STRASSE", "веранда", "木の床"):
        assert "job" in kinds(book, words), words


def test_what_is_left_out_is_counted(book: Book, take: Callable[..., str]) -> None:
    take()
    every = find(book, "e", limit=1000)
    some = find(book, "e", limit=5)
    assert every.left_out == 0 and len(some.hits) == 5
    assert some.left_out == len(every.hits) - 5
    assert [hit.kind for hit in find(book, "26", only_jobs=True).hits] == ["job"]


def test_a_long_note_is_shown_round_the_words(book: Book, hand: Hand, take: Callable[..., str]) -> None:
    take()
    add_note(book, hand, "26-101", "x " * 400 + "the needle lies here" + " y" * 400)
    (hit,) = find(book, "needle").hits
    assert "needle" in hit.text and len(hit.text) < 100 and hit.text.startswith("…") and hit.text.endswith("…")


def test_too_long_or_broken_words_are_refused(book: Book) -> None:
    with pytest.raises(InputError, match="200"):
        find(book, "a" * 201)
    with pytest.raises(InputError):
        find(book, "a\0b")


@contextmanager
def book_of_notes(*notes: str) -> Iterator[Book]:
    with TemporaryDirectory() as folder:
        book = open_book(Path(folder) / "jobs.book")
        try:
            hand = hand_of("Owner Plover")
            take_job(book, hand, parse_job_bytes(job_text(title="z").encode(), "job.toml"))
            for note in notes:
                add_note(book, hand, "26-101", note)
            yield book
        finally:
            book.close()


WILD = st.text(alphabet="%_\\aÄß'\"*?[](;-", min_size=1, max_size=8)


@settings(max_examples=examples(15, 300), deadline=None)
@given(st.lists(WILD, min_size=1, max_size=6, unique=True), WILD)
def test_wild_cards_stand_for_themselves(notes: list[str], sought: str) -> None:
    """A note is found exactly when it holds the word, by plain comparison in Python."""
    with book_of_notes(*notes) as book:
        found = sorted(hit.text for hit in find(book, sought, limit=1000).hits if hit.kind == "note")
        assert found == sorted(note for note in notes if fold(sought) in fold(note))
