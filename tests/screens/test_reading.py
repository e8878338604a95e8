"""Readings entered by keys alone, on the real book."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from tests.screens.conftest import NOW, Hands, at_the_keys, to_phase
from tracker.book.jobs import job_view
from tracker.book.opening import open_book
from tracker.book.views import CheckState, CheckView
from tracker.screens.reading import ReadingScreen
from tracker.screens.rows import Rows


def stored(path: Path, key: str) -> CheckView:
    """A check of the job as the book has it."""
    book = open_book(path)
    try:
        return job_view(book, "26-101", NOW.date()).check(key)
    finally:
        book.close()


async def open_check(hands: Hands, phase: str, key: str) -> None:
    """Go to a check's form."""
    await to_phase(hands, phase)
    checks = hands.app.screen.query_one("#checks", Rows)
    await hands.press("home")
    for _ in range(12):
        if checks.key == key:
            break
        await hands.press("down")
    await hands.press("enter", until=lambda: isinstance(hands.app.screen, ReadingScreen))


# A 9 by 12 rectangle has the diagonal 15 (Pythagoras). A frame racked by s has d1^2 - d2^2 = 4 a s, by the law of
# cosines; with d1 = 15 ft + 1/4 in, d2 = 15 ft - 1/4 in and a = 144 in: s = 0.5 x 360 / 576 = 0.3125 = 5/16 in.
RACKED = ("12'", "9'", "15' 1/4", "14' 11-3/4")


async def enter(hands: Hands, values: tuple[str, ...]) -> None:
    for value in values:
        await hands.type(value, "enter")


async def test_square_fails_with_the_push_then_passes(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED)
        await hands.until("1/2 in between the diagonals")
        assert "FAILED" in hands.shown
        assert "5/16 in" in hands.shown
        assert "= 14' 11-3/4\"" in hands.shown
        await hands.press("ctrl+s", until="failed")
        assert stored(path, "square").state is CheckState.FAILED
        await hands.press("enter", until="F4 fills in")
        await enter(hands, ("12'", "9'", "15'", "15'"))
        await hands.until("PASSED")
        await hands.press("f10", until="passed")
    check = stored(path, "square")
    assert check.state is CheckState.PASSED
    assert [reading.who for reading in check.readings] == ["M. Holt", "M. Holt"]
    assert ("ac", "15' 1/4") in check.readings[0].entered


async def test_a_wrong_value_is_said_beside_and_stops_the_save(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, ("12'", "9'", "15 feet or so"))
        await hands.until("not understood")
        await hands.press("ctrl+s", until="Mend it, then save")
        assert not stored(path, "square").readings
        await hands.press("up", until=lambda: "15 feet or so" in hands.shown)


async def test_escape_keeps_a_draft_and_offers_it_again(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, ("12'", "9'"))
        await hands.press("escape", until="(draft)")
        await hands.press("enter", until="your draft is back")
        assert "= 12'" in hands.shown and "= 9'" in hands.shown
        await hands.press("escape", until="(draft)")
        await hands.press("enter", "f8", until="F8 again puts back")
        await hands.press("f8", until="what you had typed is back")
        assert "= 12'" in hands.shown and "= 9'" in hands.shown
        await hands.press("f8", until="every field is empty")
        await hands.press("escape", until=lambda: "(draft)" not in hands.shown)


async def test_a_busy_book_keeps_the_values_and_a_second_save_records_once(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED)
        await hands.until("FAILED")
        with closing(sqlite3.connect(path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            await hands.press("ctrl+s", until="the book is busy")
            assert "= 14' 11-3/4\"" in hands.shown
            other.execute("ROLLBACK")
        await hands.press("ctrl+s", "ctrl+s", until="failed")
    assert len(stored(path, "square").readings) == 1


async def test_the_same_draft_saved_twice_records_once(path: Path) -> None:
    """A save whose answer was lost: the draft, its id kept, is saved a second time."""
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED)
        draft = hands.app.drafts["26-101", "square"]
        await hands.press("ctrl+s", until="failed")
        hands.app.drafts["26-101", "square"] = draft
        await hands.press("enter", until="your draft is back")
        await hands.press("ctrl+s", until="already recorded")
        hands.app.drafts["26-101", "square"] = draft
        await hands.press("enter", until="your draft is back")
        await hands.type("0", "ctrl+s")
        await hands.until(lambda: not isinstance(hands.app.screen, ReadingScreen))
    assert len(stored(path, "square").readings) == 2


async def test_last_values_fill_only_empty_fields(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED)
        await hands.press("ctrl+s", until="failed")
        await hands.press("enter", "down", "down", until="F4 fills in")
        await hands.type("15'")
        await hands.press("f4", until="the empty fields hold the last reading")
        screen = hands.app.screen
        assert isinstance(screen, ReadingScreen)
        assert screen.texts() == {"width": "12'", "depth": "9'", "ac": "15'", "bd": "14' 11-3/4"}


async def test_a_long_table_scrolls_to_the_field_in_hand_and_takes_a_row_more(path: Path) -> None:
    async with at_the_keys(path, size=(60, 20)) as hands:
        await open_check(hands, "Frame", "crown")
        rows = len(stored(path, "crown").form.rows)
        assert rows > 8
        await hands.press(*["enter"] * (rows - 1), until=f"joist {rows}")
        await hands.type("+1/8")
        await hands.until('= 1/8"')
        await hands.press("f3", until="Add a joist")
        await hands.press("enter", until=f"joist {rows + 1}")
        await hands.type("1/16", "escape")
        await hands.press("enter", until="your draft is back")
        screen = hands.app.screen
        assert isinstance(screen, ReadingScreen)
        assert screen.texts() == {str(rows): "+1/8", str(rows + 1): "1/16"}


async def test_the_working_shows_the_source(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED)
        await hands.until("FAILED")
        await hands.press("f2", until="Working: Frame square")
        await hands.press("end", until="Source")


async def test_wide_screens_put_the_verdict_beside_the_fields(path: Path) -> None:
    async with at_the_keys(path, size=(120, 40)) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED)
        await hands.until("FAILED")
        line = next(line for line in hands.shown.splitlines() if "FAILED" in line)
        assert line.index("FAILED") > 60
