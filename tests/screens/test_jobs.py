"""The first screen: what it shows, what it teaches, what it says when the book cannot be used."""

from __future__ import annotations

import asyncio
import os
import re
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from sqlalchemy import event
from sqlalchemy.engine import Engine

from tests.screens.conftest import NOW, at_the_keys, put_job, to_phase
from tracker.screens.app import DeckApp
from tracker.screens.sheet import SheetScreen

SIZES = [(60, 20), (80, 24), (120, 40)]


@pytest.mark.parametrize("size", SIZES)
async def test_a_job_shows_its_state_in_words(path: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(path, size=size) as hands:
        assert "26-101" in hands.shown and "Platform by the pear tree" in hands.shown
        assert "Site visit: ahead" in hands.shown
        assert re.search(r"days? late|on time", hands.shown)
        assert "NEEDS YOU" in hands.shown
        assert "Wed 13 May: 3 boards 2x8x12" in hands.shown


@pytest.mark.parametrize("size", SIZES)
async def test_no_label_or_key_is_cut(path: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(path, size=size) as hands:
        keys = ["", "enter"]
        for key in keys:
            if key:
                await hands.press(key, until="Site visit  ahead")
            last = hands.shown.splitlines()[-1]
            assert last.rstrip().endswith("? help")
            assert max(len(line) for line in hands.shown.splitlines()) <= size[0]
        for word in ("ahead", "planned", "on time" if "on time" in hands.shown else "late"):
            assert word in hands.shown
        await hands.press("escape", until="OPEN JOBS")
        await hands.press("b", until="to buy")
        assert "NO SUPPLIER NAMED" in hands.shown and "for 26-101" in hands.shown


async def test_an_empty_book_teaches(tmp_path: Path) -> None:
    async with at_the_keys(tmp_path / "new.book", opened="No open job") as hands:
        assert "deckjobs take FILE" in hands.shown and "deckjobs demo" in hands.shown
        await hands.press("b", until="Nothing is left to buy")
        await hands.press("escape", until="No open job")
        put_job(tmp_path / "new.book")
        await hands.until("Platform by the pear tree")


async def test_a_file_that_is_no_book_is_left_alone_and_tried_again(tmp_path: Path) -> None:
    path = tmp_path / "jobs.book"
    path.write_text("a shopping list, not a book\n" * 40)
    async with at_the_keys(path, opened="The book cannot be used") as hands:
        assert "Nothing was changed" in hands.shown
        path.unlink()
        put_job(path)
        await hands.press("r", until="Platform by the pear tree")
        await hands.press("q")
        assert hands.app.return_code == 0
    path.write_text("not a book\n" * 40)
    async with at_the_keys(path, opened="The book cannot be used") as hands:
        await hands.press("q")
        assert hands.app.return_code == 3


async def test_a_lost_book_is_said_and_what_is_shown_stays(path: Path) -> None:
    async with at_the_keys(path) as hands:
        away = path.with_name("away.book")
        path.rename(away)
        await hands.until("may be old")
        assert "Platform by the pear tree" in hands.shown
        away.rename(path)
        await hands.until(lambda: "may be old" not in hands.shown)


async def test_the_filter_narrows_as_you_type(path: Path) -> None:
    put_job(path, "26-102", "Steps to the pond")
    async with at_the_keys(path) as hands:
        await hands.press("slash")
        await hands.type("pond")
        await hands.until("1 of 2 hold these words")
        await hands.press("enter", "enter", until="Steps to the pond")
        await hands.press("escape", until="1 of 2")
        await hands.press("escape", until=lambda: "1 of 2" not in hands.shown)


async def test_a_line_of_needs_you_goes_to_what_clears_it(path: Path) -> None:
    async with at_the_keys(path) as hands:
        jobs = hands.app.jobs.jobs
        if not jobs or not jobs[0].hold:
            await to_phase(hands, "Site visit")
            await hands.press("h", until="why?")
            await hands.type("wires overhead", "enter")
            await hands.until("held: wires overhead")
            await hands.press("escape", until="wires overhead")
        await hands.press("1", until=lambda: hands.app.screen is not hands.app.jobs)


async def test_the_store_is_never_asked_on_the_screen_thread(path: Path) -> None:
    """Every statement any screen causes runs off the thread that paints and reads the keys."""
    seen: set[int] = set()

    def note(*_: object) -> None:
        seen.add(threading.get_ident())

    event.listen(Engine, "before_cursor_execute", note)
    try:
        async with at_the_keys(path) as hands:
            await to_phase(hands, "Layout")
            await hands.press("enter", until="diagonals")
            await hands.type("12'", "ctrl+s")
            await hands.until("not enough readings")
            await hands.press("n", until="Note")
            await hands.type("seen", "enter")
            await hands.press("m", until="lot")
            await hands.press("c", until="PROVEN")
            await hands.press("escape", "m", until="BY PHASE")
            await hands.press("escape", "r", until="due")
            await hands.press("f4", "ctrl+s", until="Received")
            await hands.press("escape", "escape", "escape", until="OPEN JOBS")
            await hands.press("b", until="to buy")
            await hands.press("escape", "d", until="Day sheet")
    finally:
        event.remove(Engine, "before_cursor_execute", note)
    assert seen and threading.get_ident() not in seen


FIRST_PAINT = """
import asyncio, sys
from datetime import UTC, datetime
from pathlib import Path
from tracker.screens.app import DeckApp

async def look():
    app = DeckApp(Path(sys.argv[1]), "M. Holt", "tablet", lambda: datetime(2026, 5, 12, tzinfo=UTC))
    painted = []
    opening = app.action_open_book
    def opened():
        text = "".join(s.text for strip in app.screen._compositor.render_strips() for s in strip)
        painted.append(("opening the book" in text, "sqlalchemy" in sys.modules or "sqlmodel" in sys.modules))
        opening()
    app.action_open_book = opened
    async with app.run_test() as pilot:
        for _ in range(200):
            if painted:
                break
            await pilot.pause(0.02)
    print(painted)

asyncio.run(look())
"""


def test_the_frame_is_painted_before_the_store_is_imported(path: Path) -> None:
    done = subprocess.run([sys.executable, "-c", FIRST_PAINT, str(path)], capture_output=True, text=True, timeout=60)
    assert done.stdout.strip() == "[(True, False)]", done.stdout + done.stderr


async def test_without_colour_every_state_is_still_a_word(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(os.environ, "NO_COLOR", "1")
    async with at_the_keys(path) as hands:
        assert "Site visit: ahead" in hands.shown
        await hands.press("enter", until="Site visit  ahead")


async def test_the_day_sheet_turns_by_days(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("d", until="Day sheet  Tuesday 12 May 2026")
        assert isinstance(hands.app.screen, SheetScreen)
        await hands.until("26-101")
        await hands.press("left", until="Monday 11 May 2026")
        await hands.press("t", until="Day sheet  Tuesday 12 May 2026")
        await hands.press("escape", until="OPEN JOBS")


async def test_reading_again_while_the_book_is_asked_is_harmless(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("d", until="NEEDS YOU")
        screen = hands.app.screen
        assert isinstance(screen, SheetScreen)
        for _ in range(5):
            screen.action_before()
            await asyncio.sleep(0.002)
        await hands.until("Day sheet  Thursday 7 May 2026")
        assert hands.app.is_running and hands.app.return_code is None


async def test_a_fault_of_ours_ends_with_one_plain_line_and_no_values(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    app = DeckApp(path, "M. Holt", "tablet", lambda: NOW)
    secret = "what the client pays"
    with pytest.raises(ZeroDivisionError):
        async with app.run_test() as pilot:

            def fault() -> None:
                price = secret
                assert price
                raise ZeroDivisionError

            app.call_later(fault)
            await pilot.pause()
    if app.book is not None:
        app.book.close()
    assert app.return_code == 70
    printed = capsys.readouterr()
    said = " ".join((printed.out + printed.err).split())
    assert said.startswith("error: our own fault (ZeroDivisionError")
    assert secret not in said and "Traceback" not in said
