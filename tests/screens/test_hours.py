"""Hours by keys alone: typed on one line, understood as they are typed, logged, refused, taken back."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest
from textual.events import Paste
from textual.widgets import Input

from tests.screens.conftest import NOW, Hands, at_the_keys, in_book
from tracker.book.hours import hours_of
from tracker.book.worked import Stint
from tracker.screens.app import DeckApp
from tracker.screens.hours import HoursScreen
from tracker.screens.job import JobScreen


def stints(path: Path) -> tuple[Stint, ...]:
    """The hours in the book."""
    from datetime import date

    return in_book(path, lambda book: hours_of(book, "26-101", date(2026, 5, 12)).stints)


async def open_hours(hands: Hands) -> HoursScreen:
    """From the open jobs to the hours of the job."""
    await hands.press("enter", until="planned ")
    await hands.press("t", until="Type the hours")
    screen = hands.app.screen
    assert isinstance(screen, HoursScreen)
    return screen


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_six_hours_on_the_frame(path: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(path, size=size) as hands:
        await open_hours(hands)
        await hands.type("6 h frame")
        await hands.until("= 6:00 h on frame, Tue 12 May")
        await hands.press("enter", until="Frame has not started. Log them all the same?")
        await hands.press("enter", until="Nothing was recorded")
        assert stints(path) == ()
        await hands.press("enter", until="Log them all the same?")
        await hands.press("down", "enter", until="6:00 h logged")
        assert "M. Holt" in hands.shown and "enter log" in hands.said and "F1 help" in hands.said
        assert all(len(line) <= size[0] for line in hands.shown.splitlines())
    (stint,) = stints(path)
    assert (stint.phase, stint.minutes, stint.people) == ("frame", 360, 1)


async def test_what_names_no_phase_goes_to_the_one_that_was_shown(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("enter", until="planned ")
        await hands.press("right", "right", until="Delivery")
        screen = hands.app.screen
        assert isinstance(screen, JobScreen) and screen.phase is not None
        shown = screen.phase_key
        await hands.press("t", until="Type the hours")
        await hands.type("1:30", "enter")
        await hands.until("1:30 h logged")
    assert stints(path)[0].phase == shown


async def test_hours_for_a_day_gone_by_and_none_to_come(path: Path) -> None:
    async with at_the_keys(path) as hands:
        screen = await open_hours(hands)
        assert screen.check_action("after", ()) is False
        await hands.press("f3", until="Mon 11 May: 0:00 h logged")
        await hands.type("2 x 4h", "enter")
        await hands.until("Mon 11 May: 8:00 h logged")
        await hands.press("f4", until="Tue 12 May: 0:00 h logged")
    assert stints(path)[0].day.day == 11


async def test_a_refusal_leaves_the_line_and_escape_keeps_it(path: Path) -> None:
    async with at_the_keys(path) as hands:
        screen = await open_hours(hands)
        await hands.type("16h", "enter")
        await hands.until("16:00 h logged")
        await hands.type("9h", "enter")
        await hands.until("over 24 hours")
        assert screen.query_one("#typed", Input).value == "9h" and "deckjobs" not in hands.shown
        await hands.press("escape", until="planned ")
        await hands.press("t", until="= 9:00 h")
        await hands.type("9", "enter")
        await hands.until("not understood as hours")
    assert len(stints(path)) == 1


async def test_an_entry_is_taken_back_with_a_reason(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_hours(hands)
        await hands.type("6h", "enter")
        await hands.until("6:00 h logged")
        await hands.press("down", "enter", until="why?")
        await hands.type("wrong job", "enter")
        await hands.until("entry 1 taken back")
        await hands.until("0:00 h logged")
    assert stints(path) == ()


async def test_pages_of_hours(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_hours(hands)
        await hands.type("6h quote", "enter")
        await hands.until("6:00 h logged")
        await hands.press("f2", until="Take-off and quote")
        await hands.press("escape", "f6", until="What phases took")
        assert "No phase with hours is signed off yet." in hands.said
        await hands.press("escape", "escape", until="planned ")


async def test_a_phase_the_job_has_not_is_told_as_it_is_typed(path: Path) -> None:
    async with at_the_keys(path) as hands:
        screen = await open_hours(hands)
        await hands.type("6h fram")
        await hands.until("this job has no phase 'fram' (did you mean frame?)")
        await hands.press("enter")
        assert hands.app.screen is screen
        await hands.type("e")
        await hands.until("= 6:00 h on frame")
        await hands.press("enter", until="Log them all the same?")
        await hands.press("down", "enter", until="6:00 h logged")
    assert [stint.phase for stint in stints(path)] == ["frame"]


async def test_a_word_of_a_phase_title_says_how_the_phase_is_written(path: Path) -> None:
    async with at_the_keys(path, size=(60, 20)) as hands:
        await open_hours(hands)
        heads = next(row for row, line in enumerate(hands.shown.splitlines()) if "no." in line)
        await hands.type("6h gravel and pads")
        await hands.until("no phase 'gravel and pads' (write pads for Cloth, gravel and pads)")
        assert "no." in hands.shown.splitlines()[heads]  # the longer word pushes nothing down


@pytest.mark.usefixtures("patient")
async def test_what_is_typed_while_a_line_is_saved_stays(path: Path) -> None:
    async with at_the_keys(path) as hands:
        screen = await open_hours(hands)
        field = screen.query_one("#typed", Input)
        await hands.type("6h quote")
        with closing(sqlite3.connect(path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            await hands.press("enter", until="")
            await hands.type("3 x 7h visit")
            assert field.value == "6h quote"  # what is typed next waits until the line is in the book
            other.execute("ROLLBACK")
        await hands.until("6:00 h logged")
        await hands.until(lambda: len(screen.view.stints if screen.view else ()) == 1)
        await hands.until(lambda: field.value == "3 x 7h visit" == hands.app.unsent.get(screen.kept_as))
        await hands.press("enter", until=lambda: field.value == "")
        assert not hands.app.unsent
    assert [(stint.phase, stint.people) for stint in stints(path)] == [("quote", 1), ("visit", 3)]


@pytest.mark.usefixtures("patient")
async def test_escape_waits_for_a_line_that_is_being_saved(path: Path) -> None:
    async with at_the_keys(path) as hands:
        screen = await open_hours(hands)
        await hands.type("6h quote")
        with closing(sqlite3.connect(path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            await hands.press("enter", "escape")
            await hands.pilot.pause(0.3)
            assert hands.app.screen is screen
            other.execute("ROLLBACK")
        await hands.until(lambda: len(stints(path)) == 1)
        await hands.settle()
        if hands.app.screen is screen:  # typed when saving had gone on for a while, it was answered "one moment"
            await hands.press("escape")
        await hands.until("planned ")
        assert not hands.app.unsent
    assert len(stints(path)) == 1


async def test_every_phase_of_the_job_is_known(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_hours(hands)
        await hands.type("1h quote")
        await hands.until("= 1:00 h on quote")
        await hands.press("enter", until="1:00 h on take-off and quote")
        await hands.until("1:00 h logged")
    assert stints(path)[0].phase == "quote"


async def test_what_a_paste_of_several_lines_leaves_out_is_said_and_words_take_them_all(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_hours(hands)
        hands.app.post_message(Paste("\n2h quote\n\n3h visit\n"))
        await hands.until("only the first line was taken; 1 line left out: 3h visit")
        assert hands.app.screen.query_one("#typed", Input).value == "2h quote"
        await hands.press("enter", until="2:00 h on take-off and quote")
        await hands.press("escape", "n", until="Note (26-101)")
        hands.app.post_message(Paste("the gate sticks\nring at noon\n"))
        await hands.until("the gate sticks; ring at noon")
        await hands.press("enter", until="noted on 26-101")
    assert [stint.phase for stint in stints(path)] == ["quote"]


@pytest.mark.parametrize("chosen", [False, True])
async def test_over_midnight_today_follows_and_a_chosen_day_stays(path: Path, chosen: bool) -> None:
    now = [NOW]
    async with at_the_keys(path, app=DeckApp(path, "M. Holt", "tablet", lambda: now[0])) as hands:
        screen = await open_hours(hands)
        if chosen:
            await hands.press("f3", until="Mon 11 May: 0:00 h logged")
        now[0] = NOW + timedelta(days=1)
        if chosen:
            await hands.until(lambda: hands.app.day == hands.app.today)
            assert screen.day == NOW.date() - timedelta(days=1)
        else:
            await hands.until("Wed 13 May: 0:00 h logged")
        await hands.type("6h quote", "enter")
        await hands.until("6:00 h logged")
    in_all = in_book(path, lambda book: hours_of(book, "26-101", now[0].date())).stints
    assert [stint.day.day for stint in in_all] == [11 if chosen else 13]
