"""The day sheet on the screen: day by day, a day by its name, and written as the shell prints it."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from tests.screens.conftest import NOW, Hands, at_the_keys, in_book
from tracker.book.sheet import day_sheet
from tracker.reports.daycsv import sheet_csv
from tracker.reports.daypaper import day_document
from tracker.reports.daysheet import page
from tracker.reports.page import plain
from tracker.reports.paper.pdf import to_pdf
from tracker.screens.actions import of_screen
from tracker.screens.app import DeckApp
from tracker.screens.sheet import SheetScreen


async def open_sheet(hands: Hands) -> SheetScreen:
    """From the open jobs to the sheet of today."""
    await hands.press("d", until="ALL JOBS" if hands.app.size.height > 30 else "NEEDS YOU")
    screen = hands.app.screen
    assert isinstance(screen, SheetScreen)
    return screen


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_days_by_key_and_by_name(path: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(path, size=size) as hands:
        screen = await open_sheet(hands)
        assert screen.check_action("today", ()) is False, "today is on the screen"
        await hands.press("right", until="Wednesday 13 May 2026")
        await hands.press("left", "left", until="Monday 11 May 2026")
        await hands.press("t", until="Tuesday 12 May 2026")
        await hands.press("g", until="The day sheet of which day?")
        await hands.type("03/04/2026", then="enter")
        await hands.until("could be two different days")
        await hands.press("ctrl+u")
        await hands.type("yesterday", then="enter")
        await hands.until("Monday 11 May 2026")
        assert screen.day == date(2026, 5, 11)
        for action in of_screen("sheet"):
            if action.screen == "sheet" and action.listed:
                assert f"{action.shows} {action.label}" in hands.said
        await hands.press("escape", until="OPEN JOBS")


def read_of(hands: Hands) -> date | None:
    """The day whose sheet is read and stands on the screen."""
    screen = hands.app.screen
    return screen.sheet.day if isinstance(screen, SheetScreen) and screen.sheet else None


async def test_the_written_sheet_is_what_the_shell_prints(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    day = date(2026, 5, 13)
    sheet = in_book(path, lambda book: day_sheet(book, day))
    async with at_the_keys(path) as hands:
        await open_sheet(hands)
        await hands.press("right", until=lambda: read_of(hands) == day)
        await hands.press("e", until="Write the day sheet to:")
        await hands.press("enter", until="written: ")
    assert (tmp_path / "day-sheet-2026-05-13.txt").read_text(encoding="utf-8") == plain(page(sheet, NOW.date()))


async def test_the_sheet_goes_to_a_pdf_and_a_spreadsheet(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    sheet = in_book(path, lambda book: day_sheet(book, NOW.date()))
    async with at_the_keys(path) as hands:
        await open_sheet(hands)
        for downs, ending in ((0, "pdf"), (3, "csv")):
            await hands.press("p", until="The day sheet on paper")
            await hands.press(*["down"] * downs, "enter", until="Write the day sheet to:")
            await hands.press("enter", until=(tmp_path / f"day-sheet-{NOW.date()}.{ending}").exists)
    assert (tmp_path / f"day-sheet-{NOW.date()}.pdf").read_bytes() == to_pdf(day_document(sheet))
    assert (tmp_path / f"day-sheet-{NOW.date()}.csv").read_bytes() == sheet_csv(sheet)


async def test_over_midnight_the_sheet_of_today_is_that_of_the_new_day(path: Path) -> None:
    now = [NOW]
    async with at_the_keys(path, app=DeckApp(path, "M. Holt", "tablet", lambda: now[0])) as hands:
        await hands.press("d", until="Day sheet  Tuesday 12 May 2026")
        now[0] = NOW + timedelta(days=1)
        await hands.until("Day sheet  Wednesday 13 May 2026")
