"""The papers of a hand-over: the same bytes twice, whole names on every page, the same words on the terminal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import pytest

from tests.book.conftest import hand_of
from tests.handed_over import LOT, hand_over, oiled, take
from tests.reports.paper.reading import read_pdf
from tracker.book.handover import handover
from tracker.book.handviews import HandoverView
from tracker.book.opening import open_book
from tracker.book.punch import add_punch, close_punch
from tracker.reports.asbuilt import grouped
from tracker.reports.docpage import page_of
from tracker.reports.handover import TITLES, Part, document
from tracker.reports.page import cells, plain
from tracker.reports.paper.html import to_html
from tracker.reports.paper.model import Paper
from tracker.reports.paper.pdf import to_pdf

JUNE = date(2026, 6, 5)
HEBREW, WIDE = "מעקה רופף ליד המדרגות", "木材の手すりが緩んでいる"
LONG = "the clamp of the downspout behind the planter " * 8


@pytest.fixture(scope="module")
def view(tmp_path_factory: pytest.TempPathFactory) -> HandoverView:
    """A handed-over job with 104 punch items, one of them done, some in other scripts."""
    book = open_book(tmp_path_factory.mktemp("papers") / "jobs.book")
    try:
        who = hand_of("R. Stone", JUNE)
        take(
            book, hand_of("Owner Plover", JUNE), oiled(title=f"Deck {WIDE} {'of the long name ' * 6}".strip(), more=LOT)
        )
        add_punch(book, who, "101", HEBREW)
        add_punch(book, who, "101", WIDE)
        add_punch(book, who, "101", LONG)
        for number in range(4, 105):
            add_punch(book, who, "101", f"splinter on board {number}")
        close_punch(book, who, "101", "4", "sanded")
        hand_over(book, hand_of("Owner Plover", JUNE), without=("care",))
        return handover(book, "101", JUNE)
    finally:
        book.close()


def pages(data: bytes) -> Iterator[str]:
    """The words of each page of a PDF."""
    for page in read_pdf(data):
        yield page.text


@pytest.mark.parametrize("size", list(Paper))
def test_the_same_papers_made_twice_are_the_same_bytes(view: HandoverView, size: Paper) -> None:
    again = replace(view)
    assert to_html(document(view, list(Part))) == to_html(document(again, list(Part)))
    assert to_pdf(document(view, list(Part)), size) == to_pdf(document(again, list(Part)), size)


def test_a_list_of_a_hundred_lines_goes_over_the_pages_and_loses_none(view: HandoverView) -> None:
    texts = list(pages(to_pdf(document(view, [Part.PUNCH]), Paper.LETTER)))
    assert len(texts) > 2
    whole = " ".join(" ".join(texts).split())
    for number in range(5, 105):
        assert f"splinter on board {number}" in whole
    assert " ".join(LONG.split()) in whole
    assert all(f"page {number} of {len(texts)}" in text for number, text in enumerate(texts, 1))


def test_other_scripts_stand_in_the_page_and_in_the_pdf(view: HandoverView) -> None:
    html = to_html(document(view)).decode()
    assert HEBREW in html
    assert WIDE in html
    assert WIDE[:6] in "".join("".join(pages(to_pdf(document(view, [Part.PUNCH])))).split())


def test_all_papers_in_one_have_a_heading_each_and_begin_on_pages_of_their_own(view: HandoverView) -> None:
    texts = list(pages(to_pdf(document(view))))
    # The punch list follows the heading of the whole on the first page; the as-built record has a part of that name too.
    others = [title for part, title in TITLES.items() if part is not Part.PUNCH]
    begins = [n for title in others for n, text in enumerate(texts) if n and text.startswith(title)]
    assert len(begins) == len(others)
    assert begins == sorted(begins)


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_the_terminal_has_the_same_words_within_its_width(view: HandoverView, width: int) -> None:
    text = plain(page_of(document(view)), width)
    assert all(cells(line) <= width for line in text.splitlines())
    words = "".join(text.split())
    assert all(f"splinteronboard{number}" in words for number in range(5, 105))
    assert all(group in text for group in grouped(view.entries_digest).split())


def test_the_walk_through_has_a_box_for_each_point_and_lines_to_sign(view: HandoverView) -> None:
    text = plain(page_of(document(view, [Part.WALK])), 80)
    assert text.count("[ ]") > 12
    assert "Client (Client Plover Lane" in text
    assert "Contractor" in text
    assert "____" in text


def test_the_care_sheet_gives_the_days_once_the_deck_is_handed_over(view: HandoverView) -> None:
    """By hand: 5 June + 45 days = 20 July; the oil a year later."""
    text = " ".join(plain(page_of(document(view, [Part.CARE])), 100).split())
    assert "Mon 20 Jul 2026" in text
    assert "Sat 5 Jun 2027 Oil again (every 12 months)." in text
    assert "caution: Oily rags heat by themselves and burn" in text
    before = replace(view, handed_over=None, care=())
    text = " ".join(plain(page_of(document(before, [Part.CARE])), 100).split())
    assert "The days count from the hand-over." in text
    assert "after 45 days" in text


def test_nothing_open_says_so(view: HandoverView) -> None:
    empty = replace(view, punch=(), open_items=())
    assert "Nothing is open." in plain(page_of(document(empty, [Part.PUNCH])), 80)
