"""The first screen: today over all jobs, one key to each thing; the lesson of an empty book."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest
from rich.cells import cell_len

from tests.once import copy_once
from tests.screens.conftest import NOW, Hands, at_the_keys, in_book, put_job
from tracker.book.gates import hold, sign_off, start
from tracker.book.hand import Hand, hand
from tracker.book.jobs import job_lines
from tracker.book.opening import Book
from tracker.book.readings import record
from tracker.book.samples import sample_files, take_sample
from tracker.screens.app import DeckApp
from tracker.screens.buy import BuyScreen
from tracker.screens.choice import Choice
from tracker.screens.finding import FindScreen
from tracker.screens.job import JobScreen
from tracker.screens.jobs import JobsScreen
from tracker.screens.lots import LotsScreen
from tracker.screens.morning import MorningScreen
from tracker.screens.page import Page
from tracker.screens.reading import ReadingScreen
from tracker.screens.rows import Rows
from tracker.screens.sheet import SheetScreen

SIZES = [(60, 20), (120, 40)]
RACKED = ("width=12'", "depth=9'", "ac=15' 3/4", "bd=14' 11-3/4")


def owner() -> Hand:
    return hand("M. Holt", NOW, "office")


def racked(book: Book) -> None:
    """A layout that was read out of square."""
    for phase in ("visit", "design", "quote"):
        sign_off(book, owner(), "26-101", phase)
    start(book, owner(), "26-101", "layout")
    record(book, owner(), "26-101", "layout-square", list(RACKED))


def samples(book: Book) -> None:
    for file in sample_files():
        take_sample(book, owner(), file)


@pytest.fixture
def full(tmp_path: Path) -> Path:
    """A book with the sample jobs."""
    return copy_once(tmp_path / "full.book", "sample jobs", lambda path: in_book(path, samples))


def screen(hands: Hands) -> MorningScreen:
    assert isinstance(hands.app.screen, MorningScreen)
    return hands.app.screen


@pytest.mark.parametrize("size", SIZES)
async def test_today_is_told_in_words_at_every_size(full: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(full, size=size, opened="NEEDS YOU") as hands:
        assert "Tuesday 12 May 2026" in hands.shown
        assert " 1  26-014   FAILED  Frame square" in hands.shown
        assert "CREWS" in hands.shown and "planned twice" in hands.said
        pages = [hands.shown]
        for key in (*["down"] * 12, "tab", *["down"] * 28):
            await hands.press(key)
            pages.append(hands.shown)
        every = "\n".join(pages)
        for word in ("COMING IN", "PICK UP", "WEATHER", "held", "paper", "late", "short", "no forecast"):
            assert word in every, word
        for page in pages:
            lines = page.splitlines()
            assert lines[-1].rstrip().endswith("? help")
            assert all(cell_len(line) <= size[0] for line in lines)


async def test_the_thing_under_the_cursor_is_told_in_full_in_its_fixed_place(path: Path) -> None:
    in_book(path, racked)
    async with at_the_keys(path, opened="NEEDS YOU") as hands:
        failed = next(need for need in screen(hands).view.needs if need.worry.word == "FAILED")  # type: ignore[union-attr]
        assert "read both sides and both diagonals again" in failed.do
        assert all(move in hands.said for move in failed.do.split("; "))


async def test_a_number_goes_to_the_very_thing(path: Path) -> None:
    in_book(path, racked)
    async with at_the_keys(path, opened="NEEDS YOU") as hands:
        await hands.press("1", until="planned ")
        front = hands.app.screen
        assert isinstance(front, JobScreen)
        await hands.until(lambda: front.check is not None and front.check.key == "layout-square")
        await hands.press("enter", until=lambda: isinstance(hands.app.screen, ReadingScreen))
        await hands.press("escape", "escape", until="NEEDS YOU")
        await hands.press("9")
        assert isinstance(hands.app.screen, MorningScreen), "there is no ninth thing"


async def test_enter_goes_where_the_line_under_the_cursor_says(full: Path) -> None:
    async with at_the_keys(full, opened="NEEDS YOU") as hands:
        today = screen(hands)
        assert today.view is not None
        late = next(n for n, need in enumerate(today.view.needs) if need.worry.word == "late")
        short = next(n for n, need in enumerate(today.view.needs) if need.worry.word == "short")
        for at, kind in ((late, LotsScreen), (short, BuyScreen)):
            today.query_one("#today", Rows).highlighted = at
            await hands.press("enter", until=lambda kind=kind: isinstance(hands.app.screen, kind))  # type: ignore[misc]
            await hands.press("escape", until="NEEDS YOU")
        for start_of, opens in (
            ("crew ", JobScreen),
            ("coming ", LotsScreen),
            ("pick ", BuyScreen),
            ("weather ", Choice),
        ):
            aside = today.query_one("#aside", Rows)
            aside.focus()
            aside.highlighted = next(
                n for n, option in enumerate(aside.options) if (option.id or "").startswith(start_of)
            )
            await hands.press("enter", until=lambda opens=opens: isinstance(hands.app.screen, opens))  # type: ignore[misc]
            await hands.press("escape", until="NEEDS YOU")


@pytest.mark.parametrize(
    ("key", "kind"), [("j", JobsScreen), ("b", BuyScreen), ("d", SheetScreen), ("slash", FindScreen), ("ctrl+f", FindScreen), ("i", Page), ("question_mark", Page)]
)  # fmt: skip
async def test_each_key_opens_its_screen_and_escape_comes_back(path: Path, key: str, kind: type) -> None:
    async with at_the_keys(path, opened="NEEDS YOU") as hands:
        await hands.press(key, until=lambda: isinstance(hands.app.screen, kind))
        await hands.press("escape", until="NEEDS YOU")


async def test_the_ticket_the_drafts_and_reading_again(path: Path) -> None:
    async with at_the_keys(path, opened="NEEDS YOU") as hands:
        await hands.press("t", until="delivery ticket")
        await hands.type("2")
        await hands.press("escape", until="NEEDS YOU")
        await hands.press("k", until="delivery ticket")
        await hands.press("escape", until="NEEDS YOU")
        await hands.press("r", until="read again")
        await hands.press("q")
        assert hands.app.return_code == 0


async def test_the_arrows_go_from_list_to_list(full: Path) -> None:
    async with at_the_keys(full, opened="NEEDS YOU") as hands:
        today = screen(hands)
        assert today.rows.id == "today"
        await hands.press("right", until=lambda: today.rows.id == "aside")
        await hands.until(lambda: "East" in "\n".join(hands.shown.splitlines()[-9:]))
        await hands.press("left", until=lambda: today.rows.id == "today")


async def test_what_others_write_comes_by_itself_and_the_cursor_stays(full: Path) -> None:
    async with at_the_keys(full, opened="NEEDS YOU") as hands:
        rows = screen(hands).query_one("#today", Rows)
        await hands.press("down", "down", "down")
        key = rows.key
        in_book(full, lambda book: hold(book, owner(), "26-025", "layout", "the string is gone"))
        await hands.until("the string is gone")
        assert rows.key == key


async def test_a_calm_day_says_so(path: Path) -> None:
    put_job(path, "26-101", start="2026-06-01")
    in_book(path, lambda book: [sign_off(book, owner(), "26-101", phase) for phase in ("visit", "design", "quote")])
    async with at_the_keys(path, opened="NEEDS YOU") as hands:
        view = screen(hands).view
        assert view is not None
        assert bool(view.needs) != ("nothing: no job is held up" in hands.said)


@pytest.mark.parametrize("size", SIZES)
async def test_an_empty_book_teaches_with_keys_that_do_it(tmp_path: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(tmp_path / "new.book", size=size, opened="No open job") as hands:
        assert "load the sample jobs" in hands.said and "take a job in" in hands.said
        assert "deckjobs take FILE" in hands.said
        assert hands.shown.splitlines()[-1].rstrip().endswith("? help")
        await hands.press("i", until="Five ideas")
        pages = [hands.shown]
        for _ in range(5):
            await hands.press("pagedown")
            pages.append(hands.shown)
        assert all(word in "".join(pages) for word in ("Phases", "Checks", "Hold points", "Lots", "never forgets"))
        await hands.press("escape", "b", until="Nothing is left to buy")
        await hands.press("escape", "j", until="OPEN JOBS  none")
        await hands.press("escape", until="No open job")
        put_job(tmp_path / "new.book")
        await hands.until("NEEDS YOU")


async def test_the_samples_load_only_after_a_yes(tmp_path: Path) -> None:
    path = tmp_path / "new.book"
    async with at_the_keys(path, opened="No open job") as hands:
        await hands.press("s", until="They are invented")
        await hands.press("enter", until="No open job")
        await hands.press("s", "escape", until="No open job")
        assert not in_book(path, lambda book: job_lines(book, NOW.date()))
        await hands.press("s", "down", "enter")
        await hands.until("sample jobs loaded, all invented")
        await hands.until(" 1  26-014   FAILED")
        assert "load" not in hands.shown.splitlines()[-1]
    assert len(in_book(path, lambda book: job_lines(book, NOW.date()))) == len(sample_files())


async def test_loading_can_be_stopped_and_begun_again(tmp_path: Path) -> None:
    path = tmp_path / "new.book"
    async with at_the_keys(path, opened="No open job") as hands:
        with closing(sqlite3.connect(path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")  # somebody else writes, so that the loading waits
            await hands.press("s", "down", "enter", until="esc stops after")
            await hands.press("s")
            assert isinstance(hands.app.screen, MorningScreen), "while it loads it is not offered again"
            await hands.press("escape", until="stopping after")
            other.execute("ROLLBACK")
        await hands.until(f"0 sample jobs loaded, all invented; {len(sample_files())} left out")
        await hands.press("s", "down", "enter")
        await hands.until(f"{len(sample_files())} sample jobs loaded")
        await hands.until("NEEDS YOU")
        await hands.press("s")
        assert isinstance(hands.app.screen, MorningScreen), "a book with jobs takes no samples"


async def test_over_midnight_every_screen_goes_on_to_the_new_day(full: Path) -> None:
    now = [NOW]
    async with at_the_keys(
        full, opened="Tuesday 12 May 2026", app=DeckApp(full, "M. Holt", "tablet", lambda: now[0])
    ) as hands:
        await hands.until("NEEDS YOU")
        now[0] = NOW + timedelta(days=1)
        await hands.until("Wednesday 13 May 2026")
        await hands.until(lambda: (view := screen(hands).view) is not None and view.day == now[0].date())
        await hands.press("j", until="OPEN JOBS")
        now[0] = NOW + timedelta(days=2)
        await hands.until("Thursday 14 May 2026")
        await hands.press("escape", until=lambda: isinstance(hands.app.screen, MorningScreen))
        await hands.until("Thursday 14 May 2026")
        await hands.until(lambda: (view := screen(hands).view) is not None and view.day == now[0].date())
