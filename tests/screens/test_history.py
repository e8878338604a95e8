"""The history of a job by keys alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.screens.conftest import JOB, NOW, Hands, at_the_keys, in_book
from tracker.book.hand import hand
from tracker.book.history import history
from tracker.book.jobs import add_note, take_job
from tracker.book.opening import Book
from tracker.book.readings import record
from tracker.screens.history import HistoryScreen
from tracker.trade.jobfile import parse_job_bytes

OWNER, LEAD = hand("M. Holt", NOW, "office"), hand("R. Stone", NOW, "tablet")
SIZES = [(60, 20), (120, 40)]


def put_entries(book: Book) -> None:
    """An order is there from the job file; then two notes and a reading."""
    add_note(book, OWNER, "26-101", "gate code 1234")
    add_note(book, LEAD, "26-101", "blocks are stacked by the shed")
    record(book, LEAD, "26-101", "layout-square", ("width=12'", "depth=9'", "ac=15'", "bd=15' 1"))


async def open_history(hands: Hands) -> HistoryScreen:
    """From the open jobs to the history of the job."""
    await hands.press("enter", until="planned ")
    await hands.press("y", until="newest first")
    screen = hands.app.screen
    assert isinstance(screen, HistoryScreen)
    return screen


@pytest.mark.parametrize("size", SIZES)
async def test_newest_first_searched_turned_and_opened(path: Path, size: tuple[int, int]) -> None:
    in_book(path, put_entries)
    async with at_the_keys(path, size=size) as hands:
        screen = await open_history(hands)
        assert "4 entries, newest first" in hands.said
        assert [line.number for line in screen.shown] == [4, 3, 2, 1]
        assert hands.shown.index("Layout square failed") < hands.shown.index("gate code 1234")
        await hands.press("o", until="oldest first")
        assert [line.number for line in screen.shown] == [1, 2, 3, 4]
        await hands.press("slash")
        await hands.type("stone shed", "enter")
        await hands.until("1 of 4 hold these words")
        await hands.press("enter", until="entry 3 of 4")
        assert "blocks are stacked by the shed" in hands.said
        await hands.press("escape", until="1 of 4 hold")
        await hands.press("escape", until="4 entries")
        await hands.press("escape", until="Site visit")


@pytest.mark.parametrize("size", SIZES)
async def test_a_whole_entry_scrolls_to_its_digest(path: Path, size: tuple[int, int]) -> None:
    in_book(path, put_entries)
    async with at_the_keys(path, size=size) as hands:
        screen = await open_history(hands)
        digest = screen.shown[0].digest
        await hands.press("enter", until="entry 4 of 4")
        assert "as typed" in hands.said
        await hands.press("end", until=lambda: digest[:20] in hands.shown)
        assert all(len(line) <= size[0] for line in hands.shown.splitlines())


async def test_a_day_finds_its_entries_and_no_word_finds_none(path: Path) -> None:
    in_book(path, put_entries)
    async with at_the_keys(path) as hands:
        screen = await open_history(hands)
        await hands.press("slash")
        await hands.type("12 may gate")
        await hands.until("1 of 4 hold these words")
        await hands.type("way")
        await hands.until("No entry holds all of these words")
        await hands.press("enter", "enter", until=lambda: hands.app.screen is screen)
        await hands.press("escape", until="4 entries")


async def test_an_entry_made_elsewhere_appears_and_the_cursor_stays(path: Path) -> None:
    in_book(path, put_entries)
    async with at_the_keys(path) as hands:
        screen = await open_history(hands)
        await hands.press("down", "down")
        line = screen.line
        assert line is not None and line.said == "gate code 1234"
        in_book(path, lambda book: add_note(book, LEAD, "26-101", "one more"))
        await hands.until("5 entries")
        assert screen.line is not None and screen.line.id == line.id


async def test_an_entry_is_taken_back_and_says_first_what_comes_of_it(path: Path) -> None:
    in_book(path, put_entries)
    async with at_the_keys(path, size=(80, 24)) as hands:
        screen = await open_history(hands)
        await hands.press("end")  # the order, the oldest
        await hands.until(lambda: screen.line is not None and screen.line.number == 1)
        await hands.press("x", until="Take back entry 1, lot L1, 2x8x12: 3 ordered")
        await hands.until("lot L1 leaves the list")
        assert "deckjobs" not in hands.shown and len(in_book(path, lambda book: history(book, "26-101").lines)) == 4
        await hands.press("enter", until="the reason")  # none is no reason
        await hands.type("never sent", "enter")
        await hands.until("5 entries")
        await hands.until("(taken back) lot L1")
        assert screen.check_action("undo", ()) is False  # what is taken back is not taken back again
        await hands.press("home")
        await hands.until(lambda: screen.line is not None and screen.line.number == 5)
        assert screen.check_action("undo", ()) is False  # nor is the taking back


async def test_a_job_with_no_entries_says_what_comes_here(tmp_path: Path) -> None:
    bare = tmp_path / "bare.book"
    text = JOB.format(code="26-102", title='"Bare"', client='"C"', supplier='""', start="2026-05-11")
    file = parse_job_bytes(text.partition("[[lot]]")[0].encode(), "bare.toml")
    in_book(bare, lambda book: take_job(book, OWNER, file))
    async with at_the_keys(bare) as hands:
        await open_history(hands)
        await hands.until("Nothing has been recorded for this job yet")
        await hands.press("enter", "slash", "o", until="0 entries")


async def test_many_entries_are_listed_to_the_last_and_searched(path: Path) -> None:
    def many(book: Book) -> None:
        for number in range(400):
            add_note(book, LEAD, "26-101", f"bundle x{number}x is tagged")

    in_book(path, many)
    async with at_the_keys(path) as hands:
        await open_history(hands)
        await hands.until("401 entries")
        await hands.press("end", until="lot L1, 2x8x12: 3 ordered")
        await hands.press("slash")
        await hands.type("bundle x399x")
        await hands.until("1 of 401 hold these words")
