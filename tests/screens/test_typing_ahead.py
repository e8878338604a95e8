"""Fast typists, pastes and measuring tapes that type send many keys at once: each value goes where it belongs.

The keys are handed to the program all together, as a terminal does; nothing waits between them.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from textual.events import Key, Paste
from textual.widgets import Input

from tests.screens.conftest import NAMED, NOW, Hands, at_the_keys, in_book, put_job, to_phase
from tests.screens.test_terminal import Window, at_the_layout
from tracker.book.history import history
from tracker.book.jobs import job_view
from tracker.book.views import PhaseState
from tracker.screens.cells import Cell
from tracker.screens.forms import FormScreen
from tracker.screens.inturn import Hold, Wait
from tracker.screens.job import JobScreen
from tracker.screens.lots import LotsScreen

KEYS = {"\r": "enter", "\t": "tab", **NAMED}


def burst(hands: Hands, text: str) -> None:
    """Everything at once."""
    for char in text:
        hands.app.post_message(Key(KEYS.get(char, char), char))


def values(hands: Hands) -> list[str]:
    """What the fields hold, in order."""
    screen = hands.app.screen
    assert isinstance(screen, FormScreen)
    return [cell.value for cell in screen.query(Cell)]


async def test_values_typed_at_once_go_into_one_field_each(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await to_phase(hands, "Layout")
        await hands.press("enter", until="diagonal")
        burst(hands, "12'\r9'\r15'\r15'\r\r\r")
        await hands.until("that was the last field")
        assert values(hands)[:4] == ["12'", "9'", "15'", "15'"]


async def test_a_form_of_many_rows_takes_a_whole_column_at_once(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await to_phase(hands, "Frame")
        await hands.press("enter", until="crown")
        ahead = sum(not cell.row_name for cell in hands.app.screen.query(Cell))  # what may stay empty, before the table
        typed = [f"{n}/16" for n in range(1, len(values(hands)) - ahead + 1)]
        burst(hands, "".join(f"{one}\r" for one in typed))
        await hands.until("that was the last field")
        assert values(hands) == [""] * ahead + typed


async def test_keys_that_come_while_the_program_leaves_do_no_harm(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await to_phase(hands, "Layout")
        await hands.press("enter", until="diagonal")
        burst(hands, "12'\r" * 40)


async def test_a_pasted_column_goes_down_the_fields(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await to_phase(hands, "Layout")
        await hands.press("enter", until="diagonal")
        hands.app.post_message(Paste("12'\n9'\n15'\r\n15'"))
        burst(hands, "-1/16")
        await hands.until(lambda: values(hands)[:4] == ["12'", "9'", "15'", "15'-1/16"])


async def test_the_steps_of_a_new_job_take_what_is_typed_ahead_of_them(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("n", until="1 of")
        first = len(values(hands))
        burst(hands, "26-400\rBack yard\r" + "\r" * (first - 2) + "14'\r11'\r")
        await hands.until("2 of")
        await hands.until(lambda: values(hands)[:2] == ["14'", "11'"])


async def test_a_value_that_was_filled_in_gives_way_to_typing(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await to_phase(hands, "Layout")
        await hands.press("enter", until="diagonal")
        burst(hands, "12'\r9'\r15'\r15'\r")
        await hands.press("ctrl+s", until="planned ")
        await hands.press("enter", until="diagonal")
        await hands.press("f4", until="the empty fields hold the last reading")
        burst(hands, "12' 1/8\r\r15' 1/16\r")
        await hands.until(lambda: values(hands)[:4] == ["12' 1/8", "9'", "15' 1/16", "15'"])
        await hands.press("up", "up", "up")
        burst(hands, "x")
        await hands.until(lambda: values(hands)[0] == "12' 1/8x")


async def test_what_is_brought_up_to_date_for_ever_holds_no_key_up(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("n", until="1 of")
        hands.app.hold(Hold(hands.app.screen, Wait.REREADING))  # and nobody lets go
        burst(hands, "26-401")
        await hands.until(lambda: values(hands)[0] == "26-401")


async def test_a_read_that_a_newer_one_overtook_before_it_began_holds_no_key_up(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await to_phase(hands, "Layout")
        await hands.press("m", until="Yard One")
        screen = hands.app.screen
        assert isinstance(screen, LotsScreen)
        screen.read_under = None  # as it is when the screen opens
        screen.reread()
        screen.reread()
        burst(hands, "r3")
        await hands.until("1 lot counted")


async def test_escape_does_not_wait_for_what_is_long_in_coming(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("enter", until="planned ")
        hands.app.hold(Hold(hands.app.screen, Wait.OPENING))  # and nobody lets go
        burst(hands, "n")
        await hands.pilot.pause(1.2)
        hands.app.post_message(Key("escape", None))
        await hands.until("OPEN JOBS", seconds=5)
        assert not hands.shows("Note (")


# -- across a change of screen


def notes(path: Path) -> list[str]:
    """The notes of the job, oldest first."""
    lines = in_book(path, lambda book: history(book, "26-101", NOW.date())).lines
    return [line.said for line in lines if line.kind == "note"]


async def test_what_is_typed_ahead_of_a_screen_and_a_question_reaches_them(path: Path) -> None:
    async with at_the_keys(path, opened="NEEDS YOU") as hands:
        burst(hands, "j\rnthe gate sticks\rnring at noon\r")
        await hands.until(lambda: len(notes(path)) == 2, seconds=60)
        assert notes(path) == ["the gate sticks", "ring at noon"]


async def test_what_is_typed_before_the_book_is_open_reaches_the_screens(path: Path) -> None:
    async with at_the_keys(path, opened="") as hands:
        burst(hands, "j\rnthe gate sticks\r")
        await hands.until(lambda: len(notes(path)) == 1, seconds=60)


async def test_rows_chosen_and_values_typed_at_once_go_where_they_belong(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await to_phase(hands, "Layout")
        await hands.press("escape", until="OPEN JOBS")
        steps = in_book(path, lambda book: job_view(book, "26-101", NOW.date())).phases
        ahead = [phase.title for phase in steps].index("Layout") - next(
            n for n, phase in enumerate(steps) if phase.state is not PhaseState.SIGNED_OFF
        )
        burst(hands, "\r")
        for _ in range(ahead):
            hands.app.post_message(Key("right", None))
        burst(hands, "\r12'\r9'\r15'\r15'\r")
        hands.app.post_message(Key("ctrl+s", None))
        burst(hands, "nsquare is read\r")
        await hands.until(lambda: len(notes(path)) == 1, seconds=60)
        view = in_book(path, lambda book: job_view(book, "26-101", NOW.date()))
        read = [reading for phase in view.phases for check in phase.checks for reading in check.readings]
        assert [[text for _, text in reading.entered] for reading in read] == [["12'", "9'", "15'", "15'"]]


async def test_a_job_sought_and_found_is_gone_to_at_once(path: Path) -> None:
    async with at_the_keys(path) as hands:
        hands.app.post_message(Key("ctrl+f", None))
        burst(hands, "pear tree\r")
        await hands.until(lambda: isinstance(hands.app.screen, JobScreen))
        await hands.until("planned ")


async def test_keys_wait_for_a_book_somebody_else_writes_to(path: Path, patient: None) -> None:
    async with at_the_keys(path) as hands:
        with locked(path) as other:
            burst(hands, "\rnthe gate sticks\r")
            await hands.pilot.pause(0.7)
            other.rollback()
            await hands.until(lambda: len(notes(path)) == 1, seconds=60)


async def test_what_is_typed_after_a_refusal_is_dropped_and_said_so(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("enter", until="planned ")
        with locked(path):
            burst(hands, "nthe gate sticks\rnring at noon\r")
            await hands.until("was not taken")
            field = hands.app.screen.query_one(Input)
            assert field.value == "the gate sticks"
        await hands.press("enter", until="planned ")
        await hands.until(lambda: len(notes(path)) == 1, seconds=60)


async def test_a_screen_that_cannot_be_read_takes_nothing_that_was_typed_ahead(path: Path) -> None:
    async with at_the_keys(path) as hands:
        with locked(path):
            burst(hands, "\rnthe gate sticks\r")
            await hands.until("was not taken")
            assert isinstance(hands.app.screen, JobScreen)
        await hands.until("planned ")
        assert notes(path) == []


@contextmanager
def locked(path: Path) -> Iterator[sqlite3.Connection]:
    """Somebody else writes to the book."""
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    try:
        yield other
    finally:
        other.close()


NOT_TAKEN = "what came after it was not taken"


async def at_the_diagonals(hands: Hands) -> None:
    """The form of the layout: width, depth, both diagonals."""
    await to_phase(hands, "Layout")
    await hands.press("enter", until="diagonal")


@pytest.mark.parametrize("then", ["", "\r", "\r\r"])
@pytest.mark.parametrize("between", ["\r", "\t"])
async def test_what_comes_after_the_last_field_is_not_taken_and_that_is_said(
    path: Path, between: str, then: str
) -> None:
    async with at_the_keys(path) as hands:
        await at_the_diagonals(hands)
        room = len(values(hands))
        typed = [f"{n}'" for n in range(10, 10 + room)]
        burst(hands, between.join([*typed, "1/8", "1/16"]) + then)
        await hands.until(NOT_TAKEN)
        assert values(hands) == typed
        await hands.type("3")  # slowly, as a person
        assert values(hands) == typed and NOT_TAKEN in hands.said
        await hands.press("backspace")
        await hands.type("5")
        assert values(hands)[-1] == typed[-1][:-1] + "5"


async def test_a_save_behind_too_many_values_is_stopped_once(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await at_the_diagonals(hands)
        typed = ["12'", "9'", "15'", "15'", "9'", "12'"]
        burst(hands, "".join(f"{one}\r" for one in [*typed, "1/8"]))
        hands.app.post_message(Key("ctrl+s", None))
        await hands.until("more was typed than there are fields")
        assert values(hands) == typed
        assert len(values(hands)) == len(typed)
        await hands.press("ctrl+s", until="planned ")


async def test_a_pasted_column_longer_than_the_form_leaves_the_last_field_alone(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await at_the_diagonals(hands)
        typed = [f"{n}'" for n in range(10, 10 + len(values(hands)))]
        hands.app.post_message(Paste("\n".join([*typed, "1/16", "3/8", "2"])))
        await hands.until(NOT_TAKEN)
        hands.app.post_message(Paste("7"))
        await hands.pilot.pause()
        assert values(hands) == typed


async def test_enter_into_a_field_that_holds_a_value_measures_it_again(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await at_the_diagonals(hands)
        burst(hands, "12'\r9'\r15'\r14'\r")
        await hands.until(lambda: values(hands)[3] == "14'")
        await hands.press("up", "up", "up")
        burst(hands, "\r16'\r17'")
        await hands.until(lambda: "17'" in values(hands))
        await hands.until(lambda: values(hands)[:4] == ["12'", "9'", "16'", "17'"])
        hands.app.screen.set_focus(hands.app.screen.query(Cell).last())
        await hands.press("enter", until="that was the last field")
        await hands.pilot.click(hands.app.screen.query(Cell).last())
        burst(hands, "8'")
        await hands.until(lambda: values(hands)[-1] == "8'")
        assert not any("'1" in value for value in values(hands))


async def test_an_emptied_form_begins_at_its_first_field_and_a_full_one_takes_nothing(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await at_the_diagonals(hands)
        room = len(values(hands))
        typed = [f"{n}'" for n in range(10, 10 + room)]
        burst(hands, "\r".join(typed))
        await hands.until(lambda: values(hands) == typed)
        await hands.press("f8", until="every field is empty")
        burst(hands, "\r".join(typed))
        await hands.until(lambda: values(hands) == typed)
        await hands.press("escape", until="(draft)")
        await hands.press("enter", until="your draft is back")
        burst(hands, "1/8\r")
        await hands.until(NOT_TAKEN)
        assert values(hands) == typed


# -- in a terminal of its own


@pytest.fixture
def window(tmp_path: Path) -> Iterator[Window]:
    """The program in a terminal, on the job's layout."""
    path = tmp_path / "jobs.book"
    put_job(path)
    opened = at_the_layout(Window(path, tmp_path))
    yield opened
    opened.end()


@pytest.mark.parametrize(
    "typed", [b"12'\r9'\r15'\r15'\r\r\r", b"\x1b[200~12'\n9'\n15'\n15'\n\n\n\x1b[201~"], ids=["keys", "paste"]
)
def test_a_tape_that_types_fills_one_field_after_the_other(window: Window, typed: bytes) -> None:
    os.write(window.handle, typed)
    window.until("that was the last field")
    window.until(lambda: window.shown.count("= 15'") == 2)
    assert "12'9'" not in window.shown


def test_a_note_typed_before_the_screens_are_there_is_recorded(tmp_path: Path) -> None:
    path = tmp_path / "jobs.book"
    put_job(path)
    opened = Window(path, tmp_path)
    try:
        os.write(opened.handle, b"j\rnthe gate sticks\rnring at noon\r")
        opened.until(lambda: "Note (" not in opened.shown and "planned" in opened.shown and len(notes(path)) == 2)
    finally:
        opened.end()
    assert notes(path) == ["the gate sticks", "ring at noon"]
