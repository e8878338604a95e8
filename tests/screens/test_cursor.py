"""The cursor of every list: a sign, not a colour alone, and never out of sight; and words that come at once."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from shutil import copy

import pytest

from tests.screens import test_snapshots
from tests.screens.conftest import NOW, Hands, at_the_keys, in_book
from tracker.book.jobs import job_view
from tracker.errors import InputError
from tracker.screens.frame import words_of
from tracker.screens.help import help_page
from tracker.screens.history import HistoryScreen
from tracker.screens.job import JobScreen

samples = test_snapshots.samples


@pytest.fixture
def book(samples: Path, tmp_path: Path) -> Path:
    """A book with the sample jobs, to write in."""
    return Path(copy(samples, tmp_path / "jobs.book"))


def signed(hands: Hands) -> str:
    """The line with the sign of the cursor on it."""
    return next((line for line in hands.shown.splitlines() if "›" in line), "")


async def open_job(hands: Hands) -> None:
    """The job whose square failed."""
    await hands.app.push_screen(JobScreen("26-014"))
    await hands.until("Frame  under way")


@pytest.mark.parametrize("size", [(60, 20), (120, 40)])
async def test_the_line_in_hand_has_a_sign(book: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(book, size=size, opened="NEEDS YOU") as hands:
        await hands.until(lambda: signed(hands).startswith("› 1  26-014"))
        await hands.press("down", until=lambda: signed(hands).startswith("› 2 "))
        await hands.press("tab", until=lambda: bool(signed(hands)) and "› 2" not in hands.shown)
        await hands.press("j", until=lambda: signed(hands).startswith("›26-014"))
        await hands.press("down", until=lambda: signed(hands).startswith("›26-015"))
        await hands.app.push_screen(HistoryScreen("26-014"))
        await hands.until(lambda: "12 May 10:05" in signed(hands))
        await hands.press("down", until=lambda: "12 May 08:25" in signed(hands))


@pytest.mark.parametrize("size", [(60, 20), (80, 20)])
async def test_the_check_in_hand_is_in_sight_and_the_rest_of_the_room_tells_of_it(
    book: Path, size: tuple[int, int]
) -> None:
    async with at_the_keys(book, size=size, opened="NEEDS YOU") as hands:
        await open_job(hands)
        await hands.until(lambda: "failed  Frame square" in signed(hands))
        await hands.press("end", until=lambda: "Frame level" in signed(hands))
        await hands.press("left", "left", until="Plate compactor")
        assert "protected." in hands.said, "a phase without checks leaves its room to the cautions"


async def test_what_was_said_of_a_phase_is_gone_with_the_next_phase(book: Path) -> None:
    async with at_the_keys(book, opened="NEEDS YOU") as hands:
        await open_job(hands)
        await hands.press("o", until="cannot be signed off")
        await hands.press("escape", "left", until=lambda: "cannot be signed off" not in hands.said)


async def test_a_slow_book_shows_at_once_that_the_answer_is_on_its_way(book: Path) -> None:
    async with at_the_keys(book, opened="NEEDS YOU") as hands:
        await open_job(hands)
        await hands.press("n", until="Note (26-014)")
        await hands.type("gate is stiff")
        with closing(sqlite3.connect(book, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            await hands.press("enter", until="one moment")
            await hands.until("the book is busy")
            other.execute("ROLLBACK")
        await hands.press("enter", until="noted on 26-014")


async def test_a_screen_that_could_not_be_read_is_read_once_the_book_is_free(book: Path) -> None:
    async with at_the_keys(book, opened="NEEDS YOU") as hands:
        await open_job(hands)
        with closing(sqlite3.connect(book, isolation_level=None)) as other:
            other.execute("BEGIN EXCLUSIVE")
            await hands.press("y", until="the book is busy")
            other.execute("ROLLBACK")
        await hands.until("newest first")
        assert "the book is busy" not in hands.said


def test_help_hangs_under_its_words() -> None:
    lines = help_page("morning", 60).text.plain.splitlines()
    assert max(map(len, lines)) <= 60 - 6
    at = next(n for n, line in enumerate(lines) if line.startswith("n       take a job in"))
    assert lines[at + 1].startswith(" " * 8)


@pytest.mark.parametrize(
    ("message", "told"),
    [("feet meant?", "feet meant? Write 14'"), ("no such phase", "no such phase. Write 14'")],
)
def test_a_question_in_an_error_takes_no_full_stop(message: str, told: str) -> None:
    assert words_of(InputError(message, "write 14'")) == told


@pytest.mark.usefixtures("patient")
async def test_escape_waits_for_an_answer_that_is_being_saved(book: Path) -> None:
    async with at_the_keys(book, opened="NEEDS YOU") as hands:
        await open_job(hands)
        await hands.press("n", until="Note (26-014)")
        await hands.type("gate is stiff")
        question = hands.app.screen
        with closing(sqlite3.connect(book, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            await hands.press("enter", "escape", until="one moment")
            assert hands.app.screen is question
            other.execute("ROLLBACK")
        await hands.until(lambda: hands.app.screen is not question and not isinstance(hands.app.screen, JobScreen))
        assert not hands.app.unsent, "what is in the book is not offered again"
        await open_job(hands)
        await hands.press("n", until="Note (26-014)")
        await hands.press("escape", until="Frame")
    notes = in_book(book, lambda opened: job_view(opened, "26-014", NOW.date())).notes
    assert [note.text for note in notes].count("gate is stiff") == 1
