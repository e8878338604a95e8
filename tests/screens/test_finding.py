"""Finding anything from any screen: as you type, by the keys, and by the palette."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from tests.screens.conftest import Hands, at_the_keys, in_book, put_job, to_phase
from tests.screens.test_morning import owner
from tracker.book.jobs import add_note
from tracker.book.lots import order
from tracker.screens.finding import FindScreen
from tracker.screens.job import JobScreen
from tracker.screens.lots import LotsScreen
from tracker.screens.reading import ReadingScreen

SIZES = [(60, 20), (120, 40)]


async def find(hands: Hands, text: str) -> FindScreen:
    await hands.press("ctrl+f", until=lambda: isinstance(hands.app.screen, FindScreen))
    front = hands.app.screen
    assert isinstance(front, FindScreen)
    await hands.type(text)
    return front


@pytest.mark.parametrize("size", SIZES)
async def test_words_find_a_check_and_enter_goes_there(path: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(path, size=size) as hands:
        await find(hands, "joist spac")
        await hands.until("1 place")
        assert "check    Joist spacing" in hands.shown and "26-101  Platform by the pear tree" in hands.shown
        await hands.press("enter", until="planned ")
        front = hands.app.screen
        assert isinstance(front, JobScreen)
        await hands.until(lambda: front.check is not None and front.check.key == "joist-spacing")
        await hands.press("escape", until="1 place")
        await hands.press("escape", until="OPEN JOBS")
        await find(hands, "")
        await hands.until("1 place")


async def test_a_lot_that_was_found_is_the_one_in_hand(path: Path) -> None:
    in_book(path, lambda book: order(book, owner(), "26-101", "2x8x14", 2, lot="Z9"))
    async with at_the_keys(path) as hands:
        await find(hands, "Z9")
        await hands.until("1 place")
        await hands.press("enter", until=lambda: isinstance(hands.app.screen, LotsScreen))
        front = hands.app.screen
        assert isinstance(front, LotsScreen)
        await hands.until(lambda: front.lot is not None)
        assert front.lot is not None and front.lot.code == "Z9"


async def test_the_arrows_move_in_the_hits_while_you_type(path: Path) -> None:
    async with at_the_keys(path) as hands:
        front = await find(hands, "pear")
        await hands.until("Platform by the pear tree")
        await hands.type(" e")
        await hands.until(lambda: front.found is not None and len(front.found.hits) > 8)
        await hands.press("down", "down", "up", "pagedown", "pageup", "down", "down")
        hits = front.found.hits if front.found else ()
        aim = hits[2].place
        await hands.press("enter", until=lambda: isinstance(hands.app.screen, JobScreen | LotsScreen))
        assert getattr(hands.app.screen, "code", "") == aim.job


async def test_the_newest_typing_wins_and_nothing_is_said_plainly(path: Path) -> None:
    async with at_the_keys(path) as hands:
        front = await find(hands, "pear treezz")
        await hands.until("nothing holds these words")
        await hands.press("enter")
        assert hands.app.screen is front
        await hands.press("backspace", "backspace", until="Platform by the pear tree")


async def test_it_opens_over_a_form_and_the_draft_is_kept(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await to_phase(hands, "Layout")
        await hands.press("enter", until=lambda: isinstance(hands.app.screen, ReadingScreen))
        await hands.type("12'")
        await find(hands, "pear")
        await hands.until("Platform by the pear tree")
        await hands.press("ctrl+f")
        assert sum(isinstance(screen, FindScreen) for screen in hands.app.screen_stack) == 1
        await hands.press("escape", until="= 12'")


async def test_over_a_box_the_key_does_nothing(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("question_mark", until="Keys")
        await hands.press("ctrl+f", until="Keys")


async def test_a_hostile_name_is_found_and_shown_harmlessly(tmp_path: Path) -> None:
    path = tmp_path / "jobs.book"
    name = "[/b] \u202ex 木材 100% a_b"
    put_job(path, title=name, client="[bold]C", supplier="[/")
    in_book(path, lambda book: add_note(book, owner(), "26-101", "[@click=app.leave]x[/] 100% \\ wide 木"))
    async with at_the_keys(path, size=(60, 20), opened="NEEDS YOU") as hands:
        for text in ("100%", "[/b", "a_b", "\\"):
            await hands.press("slash", until=lambda: isinstance(hands.app.screen, FindScreen))
            front = hands.app.screen
            assert isinstance(front, FindScreen)
            front.query_one("#sought").value = text  # type: ignore[attr-defined]
            await hands.until("1 place" if text in ("a_b", "\\", "[/b") else "2 places")
            assert "\u202e" not in hands.shown
            await hands.press("escape", until="NEEDS YOU")


async def test_the_palette_goes_to_a_job_and_to_finding(path: Path) -> None:
    put_job(path, "26-102", "Steps to the pond")
    async with at_the_keys(path) as hands:
        await hands.press("ctrl+p")
        await hands.type("pond")
        await hands.until("go to job 26-102")
        await hands.settle()
        await hands.press("enter", until="planned ")
        front = hands.app.screen
        assert isinstance(front, JobScreen) and front.code == "26-102"
        await hands.press("ctrl+p")
        await hands.type("by its words")
        await hands.until("find a job, a check")
        await hands.settle()
        await hands.press("enter", until=lambda: isinstance(hands.app.screen, FindScreen))


async def test_new_words_take_the_place_of_those_kept(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await find(hands, "joist spac")
        await hands.until("1 place")
        await hands.press("escape", until="OPEN JOBS")
        await find(hands, "pear")
        await hands.until("Platform by the pear tree")
        assert hands.app.screen.query_one("#sought", Input).value == "pear"
