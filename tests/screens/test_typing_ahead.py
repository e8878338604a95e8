"""Fast typists, pastes and measuring tapes that type send many keys at once: each value goes where it belongs.

The keys are handed to the program all together, as a terminal does; nothing waits between them.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from textual.events import Key, Paste

from tests.screens.conftest import NAMED, Hands, at_the_keys, put_job, to_phase
from tests.screens.test_terminal import Window, at_the_layout
from tracker.screens.cells import Cell
from tracker.screens.forms import FormScreen
from tracker.screens.inturn import InTurn

KEYS = {"\r": "enter", **NAMED}


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
        count = len(values(hands))
        typed = [f"{n}/16" for n in range(1, count + 1)]
        burst(hands, "".join(f"{one}\r" for one in typed))
        await hands.until("that was the last field")
        assert values(hands) == typed


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


async def test_a_key_whose_widget_is_gone_holds_nothing_up(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("n", until="1 of")
        app = hands.app
        assert isinstance(app, InTurn)
        app.hold()  # and nobody lets go
        burst(hands, "26-401")
        await hands.until(lambda: values(hands)[0] == "26-401", seconds=5)


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
