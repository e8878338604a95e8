"""The forms of the checks of the sample jobs on a small terminal: nothing cut, nothing out of sight, few keys."""

from __future__ import annotations

from pathlib import Path
from shutil import copy

import pytest
from textual.widgets import Static

from tests.screens import test_snapshots
from tests.screens.conftest import Hands, at_the_keys
from tracker.screens.cells import Cell
from tracker.screens.job import JobScreen
from tracker.screens.page import Page
from tracker.screens.reading import ReadingScreen

SIZES = [(60, 20), (120, 40)]
samples = test_snapshots.samples


@pytest.fixture
def book(samples: Path, tmp_path: Path) -> Path:
    """A book with the sample jobs, to write in."""
    return Path(copy(samples, tmp_path / "jobs.book"))


async def open_form(hands: Hands, code: str, check: str) -> ReadingScreen:
    """The form of a check of a sample job."""
    await hands.app.push_screen(JobScreen(code, check, reads=True))
    await hands.until(lambda: isinstance(hands.app.screen, ReadingScreen) and in_hand(hands) != "")
    await hands.until(lambda: all(worker.is_finished for worker in hands.app.workers))
    await hands.pilot.pause()
    screen = hands.app.screen
    assert isinstance(screen, ReadingScreen)
    return screen


def in_hand(hands: Hands) -> str:
    """The name of the value in hand."""
    cell = hands.app.focused
    return cell.value_name if isinstance(cell, Cell) else ""


def in_sight(screen: ReadingScreen, cell: Cell) -> bool:
    """Whether the whole of a field is on the screen."""
    return screen.query_one("#form").region.contains_region(cell.region)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(
    ("code", "check"),
    [("26-015", "beam"), ("26-015", "ledger"), ("26-015", "post"), ("26-014", "delivery"), ("26-019", "level")],
)
async def test_every_field_comes_into_sight_with_all_the_words_of_its_label(
    book: Path, size: tuple[int, int], code: str, check: str
) -> None:
    async with at_the_keys(book, size=size, opened="NEEDS YOU") as hands:
        screen = await open_form(hands, code, check)
        for cell in screen.cells():
            screen.set_focus(cell)
            await hands.until(lambda cell=cell: in_sight(screen, cell))  # type: ignore[misc]
            assert cell.region.width >= 8, f"{cell.value_name} has no room\n{hands.shown}"
        for label in (static for static in screen.query("Static.label").results(Static) if static.display):
            needed = label.get_content_height(label.container_size, hands.app.size, label.content_size.width)
            assert label.content_size.height >= needed, f"cut: {label.render()}\n{hands.shown}"


@pytest.mark.parametrize("size", SIZES)
async def test_columns_without_room_stand_one_below_the_other(book: Path, size: tuple[int, int]) -> None:
    """Ten values of a beam; the arrows go from each to the next."""
    async with at_the_keys(book, size=size, opened="NEEDS YOU") as hands:
        screen = await open_form(hands, "26-015", "beam")
        names = [cell.value_name for cell in screen.cells()]
        assert screen.stacked and "longest span (in)" in hands.shown
        for name in names[1:]:
            await hands.press("down", until=lambda name=name: in_hand(hands) == name)  # type: ignore[misc]
        for name in names[-2:-4:-1]:
            await hands.press("up", until=lambda name=name: in_hand(hands) == name)  # type: ignore[misc]
        await hands.type("2x12")
        await hands.until("2x12")


@pytest.mark.parametrize(
    ("code", "check", "first"),
    [
        ("26-014", "level", "A"),
        ("26-014", "gap", "b1"),
        ("26-015", "post", "P1.height"),
        ("26-014", "fasteners", "1L"),
        ("26-014", "square", "width"),
        ("26-014", "screws", "predrilled"),
    ],
)
async def test_typing_starts_at_the_first_reading_past_what_may_stay_empty(
    book: Path, code: str, check: str, first: str
) -> None:
    async with at_the_keys(book, size=(60, 20), opened="NEEDS YOU") as hands:
        screen = await open_form(hands, code, check)
        assert in_hand(hands) == first
        await hands.until(lambda: isinstance(hands.app.focused, Cell) and in_sight(screen, hands.app.focused))


async def test_typing_goes_on_after_what_a_draft_holds(book: Path) -> None:
    async with at_the_keys(book, opened="NEEDS YOU") as hands:
        await open_form(hands, "26-014", "level")
        for value in ("0", "1/8"):
            await hands.type(value, "enter")
        await hands.press("escape", until="(draft)")
        await hands.press("enter", until="your draft is back")
        await hands.until(lambda: in_hand(hands) == "C")


async def test_a_page_key_goes_down_a_long_table(book: Path) -> None:
    async with at_the_keys(book, size=(60, 20), opened="NEEDS YOU") as hands:
        screen = await open_form(hands, "26-014", "block-level")
        last, presses = screen.cells()[-1].value_name, 0
        while in_hand(hands) != last:
            await hands.press("pagedown")
            presses += 1
            assert presses <= 10, "48 supports in a few presses"
        await hands.press("pageup", until=lambda: in_hand(hands) != last)


async def test_the_label_of_the_field_in_hand_stands_out(book: Path) -> None:
    async with at_the_keys(book, opened="NEEDS YOU") as hands:
        screen = await open_form(hands, "26-014", "square")
        for name in ("Width", "Depth", "Diagonal A"):
            (line,) = screen.query(".-in-hand")
            assert name in str(line.query(".label").first(Static).render())
            await hands.press("down")


async def test_what_to_measure_is_told_in_full_where_the_screen_cuts_it(book: Path) -> None:
    async with at_the_keys(book, size=(60, 20), opened="NEEDS YOU") as hands:
        screen = await open_form(hands, "26-015", "footing")
        assert screen.check.asks not in hands.said and "…" in hands.shown.splitlines()[1]
        await hands.press("f2", until="Measure")
        page = hands.app.screen
        assert isinstance(page, Page)
        assert screen.check.asks in page.text.plain
        assert "sedimentary rock, gravel" in page.text.plain, "the choices of the field in hand"


async def test_a_blank_is_seen_without_colours(book: Path) -> None:
    async with at_the_keys(book, opened="NEEDS YOU") as hands:
        await open_form(hands, "26-015", "delivery")
        row = next(line for line in hands.shown.splitlines() if line.strip().startswith("R1"))
        assert row.split() == ["R1", *["____"] * 5]
