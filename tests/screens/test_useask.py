"""A phase signed off by keys: what it used is asked with the take-off's number in the field."""

from __future__ import annotations

from pathlib import Path

from textual.widgets import Input

from tests.screens.conftest import NOW, at_the_keys, in_book
from tests.screens.test_ticket import lots_of
from tracker.book.gates import sign_off
from tracker.book.hand import hand
from tracker.book.jobs import job_view
from tracker.book.lots import needs, order, receive
from tracker.book.opening import Book
from tracker.book.readings import waive

OWNER = hand("M. Holt", NOW, "office")


def ready(book: Book, came: int) -> tuple[str, str, int]:
    """A job about to have the phase that takes blocks signed off, ``came`` fewer than it takes here; phase, title, need."""
    need = next(need for need in needs(book, OWNER.day, ["26-101"]) if need.item == "block")
    order(book, OWNER, "26-101", "block", need.need, lot="B1", anyway=True)
    receive(book, OWNER, "26-101", "B1", need.need - came)
    for phase in job_view(book, "26-101", OWNER.day).phases:
        for check in phase.checks:
            if not check.settled:
                waive(book, OWNER, "26-101", check.key, "not measured in this test")
        if phase.key == need.phase:
            return phase.key, phase.title, need.need
        sign_off(book, OWNER, "26-101", phase.key)
    raise AssertionError("no phase takes blocks")


async def test_what_was_used_is_asked_with_the_take_offs_number(path: Path) -> None:
    _, title, need = in_book(path, lambda book: ready(book, 0))
    async with at_the_keys(path) as hands:
        await hands.press("enter", until=title)
        await hands.press("o", until=f"{title}: what was used?")
        assert "block" in hands.shown and str(need) in hands.shown
        await hands.press("escape", until="nothing was recorded")
        await hands.press("o", until="what was used?")
        await hands.press("enter", until="booked as used")
    assert next(lot for lot in lots_of(path) if lot.code == "B1").used == need


async def test_fewer_here_than_the_take_off_says_is_said_in_the_question(path: Path) -> None:
    _, title, need = in_book(path, lambda book: ready(book, 3))
    async with at_the_keys(path) as hands:
        await hands.press("enter", until=title)
        await hands.press("o", until=f"the take-off says {need} block, {need - 3} here")
        await hands.type("9999", "enter")
        await hands.until(f"{need - 3} fit to use here")
        await hands.press("backspace", "backspace", "backspace", "backspace")
        await hands.type(str(need - 3), "enter")
        await hands.until("booked as used")
    assert next(lot for lot in lots_of(path) if lot.code == "B1").used == need - 3


async def test_a_draft_of_what_was_used_is_told_from_the_take_offs_figure(path: Path) -> None:
    _, title, need = in_book(path, lambda book: ready(book, 0))
    async with at_the_keys(path) as hands:
        await hands.press("enter", until=title)
        await hands.press("o", until="what was used?")
        assert "your draft is back" not in hands.said
        await hands.type("1")
        await hands.press("escape", until="nothing was recorded")
        hands.app.action_leave()
    async with at_the_keys(path, opened=f"{title}: what was used? (26-101)", size=(120, 40)) as hands:
        await hands.press("j", "enter", until=title)
        await hands.press(
            "o", until=f"your draft is back: typing replaces it, End goes on with it; before it: block {need}"
        )
        assert hands.app.screen.query_one(Input).value == "1"
        await hands.type(str(need - 1))
        assert hands.app.screen.query_one(Input).value == str(need - 1)
        await hands.press("enter", until="Is the count right?")
        await hands.press("down", "enter")
        await hands.until("booked as used")
    assert next(lot for lot in lots_of(path) if lot.code == "B1").used == need - 1
