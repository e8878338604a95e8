"""Readings with few keys: ditto marks, one line for several rows, the rest the same; and nothing that nobody typed."""

from __future__ import annotations

from pathlib import Path
from shutil import copy

import pytest

from tests.screens import test_snapshots
from tests.screens.conftest import NOW, at_the_keys, in_book
from tests.screens.test_reading_forms import in_hand, open_form
from tracker.book.jobs import job_view
from tracker.book.views import CheckState, CheckView
from tracker.screens.reading import ReadingScreen

samples = test_snapshots.samples


@pytest.fixture
def book(samples: Path, tmp_path: Path) -> Path:
    """A book with the sample jobs, to write in."""
    return Path(copy(samples, tmp_path / "jobs.book"))


def kept(path: Path, code: str, key: str) -> CheckView:
    """A check as the book has it."""
    found: list[CheckView] = []
    in_book(path, lambda book: found.append(job_view(book, code, NOW.date()).check(key)))
    return found[0]


async def test_saving_a_form_with_nothing_typed_records_nothing_whatever_examples_it_shows(book: Path) -> None:
    async with at_the_keys(book, opened="NEEDS YOU") as hands:
        for code, key in (("26-014", "support"), ("26-014", "joist-spacing"), ("26-025", "square"), ("26-015", "beam")):
            before = len(kept(book, code, key).readings)
            screen = await open_form(hands, code, key)
            if screen.texts():
                await hands.press("f8")
            await hands.press("ctrl+s", until="othing is typed yet")
            assert len(kept(book, code, key).readings) == before
            await hands.press("escape", until=lambda: not isinstance(hands.app.screen, ReadingScreen))


async def test_joist_support_of_a_whole_platform_takes_26_keys_at_most(book: Path) -> None:
    # 12 ft joists want a block every 5 ft at the most (common practice): here every 4 ft, and one at each end.
    async with at_the_keys(book, opened="NEEDS YOU") as hands:
        screen = await open_form(hands, "26-014", "support")
        keys = ("0;4';8';12'", "ctrl+r", "ctrl+s")
        assert len(screen.form.rows) == 12 and len(keys[0]) + 2 <= 26
        await hands.type(keys[0], keys[1])
        await hands.press(keys[2], until=lambda: not isinstance(hands.app.screen, ReadingScreen))
    read = kept(book, "26-014", "support").readings[-1]
    assert read.entered == tuple((row, "0;4';8';12'") for row in screen.form.rows)


async def test_a_level_of_eight_points_takes_26_keys_at_most(book: Path) -> None:
    async with at_the_keys(book, opened="NEEDS YOU") as hands:
        screen = await open_form(hands, "26-014", "level")
        rows = screen.form.rows
        keys: list[str] = []
        for text in ("0", '"', "1/8", '"', "0", '"', "1/16", '"'):
            keys += [*text, "enter"]
        keys[-1] = "ctrl+s"
        assert len(rows) == 8 and len(keys) <= 26
        await hands.press(*keys, until=lambda: not isinstance(hands.app.screen, ReadingScreen))
    read = kept(book, "26-014", "level").readings[-1]
    assert read.entered == tuple(zip(rows, ("0", "0", "1/8", "1/8", "0", "0", "1/16", "1/16"), strict=True))


async def test_lines_typed_ahead_go_to_the_joists_they_name(book: Path) -> None:
    async with at_the_keys(book, opened="NEEDS YOU") as hands:
        screen = await open_form(hands, "26-025", "crown")
        await hands.press("up", until=lambda: in_hand(hands) == "+")
        for line in ("12 3/16", "4,8,16 1/8", "20=1/16", "rest good", "worst 12"):
            await hands.type(line, "enter")
        await hands.until("judged by eye by M. Holt")
        assert screen.texts() == {
            "4": "1/8", "8": "1/8", "12": "3/16", "16": "1/8", "20": "1/16", "rest": "good", "worst": "12",
        }  # fmt: skip
        await hands.press("ctrl+s", until=lambda: not isinstance(hands.app.screen, ReadingScreen))
    check = kept(book, "26-025", "crown")
    assert check.state is CheckState.PASSED and "5 of 23 joists read, 18 judged by eye by M. Holt" in check.headline


async def test_a_line_for_a_joist_that_is_not_there_goes_nowhere_and_what_was_typed_after_it_neither(
    book: Path,
) -> None:
    async with at_the_keys(book, opened="NEEDS YOU") as hands:
        screen = await open_form(hands, "26-025", "crown")
        await hands.press("up", until=lambda: in_hand(hands) == "+")
        await hands.type("44 3/16", "enter")
        await hands.until("no joist asked for")
        assert not screen.readings()
        await hands.press("ctrl+s", until="not understood")
    assert not kept(book, "26-025", "crown").readings


async def test_a_ditto_mark_with_nothing_above_it_repeats_nothing(book: Path) -> None:
    async with at_the_keys(book, opened="NEEDS YOU") as hands:
        screen = await open_form(hands, "26-025", "support")
        await hands.press('"', until="no reading stands above")
        assert not screen.texts()
        await hands.type("0;4'", "enter")
        await hands.type('"')
        await hands.until(lambda: screen.texts().get("2") == "0;4'")
        await hands.type("0;5'")
        assert screen.texts()["2"] == "0;5'", "typing takes the place of what was repeated"
