"""The hand-over on the screen: add and close with the keys, go to what is open, read and write the papers, the care."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path

import icalendar
import pytest

from tests.book.conftest import hand_of
from tests.handed_over import hand_over, oiled, take
from tests.screens.conftest import Hands, at_the_keys, in_book
from tracker.book.aftercare import care_of
from tracker.book.handover import handover
from tracker.screens.handover import HandoverScreen
from tracker.screens.job import JobScreen
from tracker.screens.lots import LotsScreen

TODAY = date(2026, 5, 12)
SIZES = [(60, 20), (120, 40)]


@pytest.fixture
def handed(tmp_path: Path) -> Path:
    """A book whose only job was handed over on 1 April 2026: its fasteners are due on 16 May."""
    path = tmp_path / "handed.book"
    day = date(2026, 4, 1)

    def work(book: object) -> None:
        take(book, hand_of("M. Holt", day), oiled().replace("2026-05-04", "2026-03-02"))  # type: ignore[arg-type]
        hand_over(book, hand_of("M. Holt", day))  # type: ignore[arg-type]

    in_book(path, work)
    return path


async def to_hand_over(hands: Hands) -> HandoverScreen:
    """From the open jobs to the hand-over of the first."""
    await hands.press("enter", until="planned ")
    await hands.press("v")
    await hands.until(lambda: isinstance(hands.app.screen, HandoverScreen) and hands.app.screen.view is not None)
    await hands.until("OPEN IN THE BOOK")
    screen = hands.app.screen
    assert isinstance(screen, HandoverScreen)
    return screen


@pytest.mark.parametrize("size", SIZES)
async def test_an_item_is_put_on_the_list_and_closed_by_keys(path: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(path, size=size) as hands:
        screen = await to_hand_over(hands)
        assert "not handed over yet" in hands.said
        for text in ("add", "papers", "to a file", "back"):
            assert text in hands.said
        await hands.press("a", until="Punch list: what is to be mended?")
        await hands.type("top rail rough [/b]", "enter")
        await hands.until("1 item")
        await hands.until("top rail rough [/b]")
        screen.query_one("#items").focus()
        await hands.press("home", until=lambda: screen.at[0] == "punch")
        await hands.press("enter", until="Done: top rail rough")
        await hands.type("sanded", "enter")
        await hands.until("is done")
        await hands.until("TO MEND nothing")
    (item,) = in_book(path, lambda book: handover(book, "26-101", TODAY)).punch
    assert (item.text, item.done_note, item.done_by) == ("top rail rough [/b]", "sanded", "M. Holt")


async def test_escape_keeps_what_was_typed_and_writes_nothing(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await to_hand_over(hands)
        await hands.press("a", until="what is to be mended?")
        await hands.type("rail", "escape")
        await hands.press("a", until="rail")
        await hands.press("escape")
        await hands.press("escape", until=lambda: isinstance(hands.app.screen, JobScreen))
    assert in_book(path, lambda book: handover(book, "26-101", TODAY)).punch == ()


async def test_enter_goes_to_what_is_open(path: Path) -> None:
    async with at_the_keys(path) as hands:
        screen = await to_hand_over(hands)
        view = screen.view
        assert view is not None
        rows = screen.query_one("#items")
        lot = next(n for n, found in enumerate(view.open_items) if found.what.startswith("lot L1"))
        rows.highlighted = rows.get_option_index(f"open {lot}")  # type: ignore[attr-defined]
        await hands.press("enter", until=lambda: isinstance(hands.app.screen, LotsScreen))
        await hands.press("escape", until=lambda: hands.app.screen is screen)
        rows.highlighted = rows.get_option_index("open 0")  # type: ignore[attr-defined]
        await hands.press("enter", until=lambda: isinstance(hands.app.screen, JobScreen))


@pytest.mark.parametrize("size", SIZES)
async def test_each_paper_is_read_on_the_screen(path: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(path, size=size) as hands:
        screen = await to_hand_over(hands)
        for moves, words in enumerate(("Open in the book", "Walk the deck together", "Readings stand", "Wood moves")):
            await hands.press("p", until="Read which paper?")
            await hands.press(*["down"] * moves)
            await hands.press("enter", until=words)
            await hands.press("escape", until=lambda: hands.app.screen is screen)


async def test_papers_and_the_calendar_are_written_to_files(path: Path, tmp_path: Path) -> None:
    before = Path.cwd()
    os.chdir(tmp_path)
    try:
        async with at_the_keys(path) as hands:
            screen = await to_hand_over(hands)
            await hands.press("e", until="Write which paper?")
            await hands.press("down", "down", "down", "enter", until="Write it as:")
            await hands.press("enter", until="Write as-built record to:")
            await hands.press("enter", until="written:")
            await hands.press("e", until="Write which paper?")
            await hands.press("end", "enter", until="Write the calendar to:")
            await hands.press("enter", until=lambda: hands.app.screen is screen and bool(list(tmp_path.glob("*.ics"))))
    finally:
        os.chdir(before)
    (pdf,), (ics,) = tmp_path.glob("*.pdf"), tmp_path.glob("*.ics")
    assert pdf.name == "26-101-As-built-record.pdf"
    assert pdf.read_bytes().startswith(b"%PDF-")
    assert icalendar.Calendar.from_ical(ics.read_bytes()).walk("VEVENT")


@pytest.mark.parametrize("size", SIZES)
async def test_the_morning_reminds_of_care_and_one_key_goes_there(handed: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(handed, size=size, opened="CARE") as hands:
        await hands.until("due Sat 16 May")
        for _ in range(12):
            if "care" in str(getattr(hands.app.focused, "key", "")):
                break
            await hands.press("tab" if getattr(hands.app.focused, "key", None) is None else "down")
        await hands.press("enter", until=lambda: isinstance(hands.app.screen, HandoverScreen))
        screen = hands.app.screen
        assert isinstance(screen, HandoverScreen)
        await hands.until(lambda: screen.at == ("care", "settle"))
        await hands.press("enter", until="done today; the next one counts from today")
        await hands.press("enter", until=" done")
        await hands.until(lambda: screen.view is not None and "settle" not in {c.task.key for c in screen.view.care})
    assert "settle" not in {c.task.key for c in in_book(handed, lambda book: care_of(book, "26-101", TODAY)).dates}


async def test_care_is_ended_with_a_reason(handed: Path) -> None:
    async with at_the_keys(handed, opened="CARE") as hands:
        hands.app.push_screen(HandoverScreen("26-101"))
        await hands.until("handed over Wed 1 Apr 2026 by M. Holt")
        await hands.press("n", until="End the care of this deck: why?")
        await hands.type("the client does it", "enter")
        await hands.until("CARE ended: the client does it")
        assert "end care" not in hands.said
