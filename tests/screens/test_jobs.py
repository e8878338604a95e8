"""The open jobs: what the table shows, its orders, its filter; what is said when the book cannot be used."""

from __future__ import annotations

import asyncio
import os
import re
import subprocess
import sys
import threading
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import event
from sqlalchemy.engine import Engine

from tests.screens.conftest import NOW, Hands, at_the_keys, put_job, put_prices, to_phase
from tracker.screens.app import DeckApp
from tracker.screens.job import JobScreen
from tracker.screens.joblines import ORDERS
from tracker.screens.jobs import FIRST, JobsScreen
from tracker.screens.sheet import SheetScreen
from tracker.screens.table import Table

SIZES = [(60, 20), (80, 24), (120, 40)]


@pytest.mark.parametrize("size", SIZES)
async def test_a_job_shows_its_state_in_words(path: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(path, size=size) as hands:
        assert "26-101" in hands.shown and "Platform by the pear tree" in hands.shown
        assert "Site visit: ahead" in hands.shown
        assert re.search(r"days? late|on time", hands.shown)
        assert "held by" in hands.shown
        assert "Wed 13 May: 3 boards 2x8x12" in hands.said


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


async def test_a_file_that_is_no_book_is_left_alone_and_tried_again(tmp_path: Path) -> None:
    path = tmp_path / "jobs.book"
    path.write_text("a shopping list, not a book\n" * 40)
    async with at_the_keys(path, opened="The book cannot be used") as hands:
        assert "Nothing was changed" in hands.shown
        path.unlink()
        put_job(path)
        await hands.press("r", until="NEEDS YOU")
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


async def test_s_goes_through_the_orders_and_says_which(path: Path) -> None:
    put_job(path, "26-102", "Steps to the pond", start="2026-05-04")
    async with at_the_keys(path) as hands:
        assert "by code" in hands.shown
        assert codes(hands) == ["26-101", "26-102"]
        seen = []
        for order in (*list(ORDERS)[1:], "code"):
            await hands.press("s", until=f"by {order}")
            seen.append(codes(hands))
        lines = {job.code: job for job in jobs_screen(hands).jobs or ()}
        assert lines["26-102"].days_late > lines["26-101"].days_late
        assert seen[0] == ["26-102", "26-101"], "the latest first"
        assert seen[-1] == ["26-101", "26-102"]


def jobs_screen(hands: Hands) -> JobsScreen:
    assert isinstance(hands.app.screen, JobsScreen)
    return hands.app.screen


def codes(hands: Hands) -> list[str]:
    return [str(row.value) for row in jobs_screen(hands).query_one(Table).rows]


async def test_the_job_under_the_cursor_is_told_in_full_and_enter_opens_it(path: Path) -> None:
    put_job(path, "26-102", "Steps to the pond behind the old brick boat house")
    async with at_the_keys(path) as hands:
        await hands.press("down", until="26-102  Steps to the pond behind the old brick boat house")
        job = (jobs_screen(hands).jobs or ())[1]
        assert job.hold and " ".join(job.hold.split()) in hands.said
        await hands.press("s", until="by working days late")
        assert "26-102  Steps to the pond" in hands.shown, "the cursor stays on its job"
        await hands.press("enter", until="planned ")
        assert isinstance(hands.app.screen, JobScreen) and hands.app.screen.code == "26-102"
        await hands.press("escape", until="OPEN JOBS")
        await hands.press("escape", until="NEEDS YOU")


async def test_wider_screens_draw_the_phases_and_write_the_money_out(path: Path) -> None:
    put_prices(path)
    async with at_the_keys(path, size=(160, 40)) as hands:
        row = next(line for line in hands.shown.splitlines() if line.lstrip(" ›").startswith("26-101"))
        assert "·" * 10 in row and " of at least $" in row
        await hands.pilot.resize_terminal(60, 20)
        await hands.until("26-101   Platform by the pear tree")
        await hands.press("enter", until="planned ")


async def test_the_filter_says_when_nothing_holds_the_words(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("slash")
        await hands.type("zebra")
        await hands.until("0 of 1 hold these words")
        await hands.press("enter", "enter")
        assert isinstance(hands.app.screen, JobsScreen), "there is nothing to open"
        await hands.press("escape", until=lambda: "hold these words" not in hands.shown)


async def test_with_many_jobs_a_key_draws_the_first_of_them_and_the_others_follow(path: Path) -> None:
    async with at_the_keys(path) as hands:
        screen = jobs_screen(hands)
        (line,) = screen.jobs or ()
        screen.jobs = tuple(replace(line, code=f"27-{n:03}", title=f"Deck {n}", days_late=n % 7) for n in range(500))
        screen.redraw()
        assert len(codes(hands)) == FIRST
        await hands.until(lambda: len(codes(hands)) == 500)
        screen.query_one(Table).move_cursor(row=480)
        await hands.until("27-480  Deck 480")
        screen.redraw()
        assert screen.at_cursor is not None and screen.at_cursor.code == "27-480", "the cursor stays where it was"
        await hands.until(lambda: len(codes(hands)) == 500)
        await hands.press("slash")
        await hands.type("deck 49")
        await hands.until("15 of 500 hold these words")
        await hands.until(lambda: len(codes(hands)) == 15)


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
            await hands.press("c", until=hands.proven)
            await hands.press("escape", "m", until="BY PHASE")
            await hands.press("escape", "r", until="due")
            await hands.press("f4", "ctrl+s", until="Received")
            await hands.press("escape", "escape", "escape", until="OPEN JOBS")
            await hands.press("b", until="to buy")
            await hands.press("escape", "d", until="Day sheet")
            await hands.press("escape", "ctrl+f")
            await hands.type("pear")
            await hands.until("Platform by the pear tree")
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
        for _ in range(5000):
            if painted:
                break
            await pilot.pause(0.02)
    print(painted)

asyncio.run(look())
"""


def test_the_frame_is_painted_before_the_store_is_imported(path: Path) -> None:
    done = subprocess.run([sys.executable, "-c", FIRST_PAINT, str(path)], capture_output=True, text=True, timeout=300)
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
