"""The material of a job by keys alone: lots in words, pieces moved, what is refused and the way out of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.screens.conftest import NOW, Hands, at_the_keys, in_book, put_job, put_prices
from tests.screens.test_ticket import lots_of
from tracker.book.hand import hand
from tracker.book.lots import receive, use
from tracker.screens.buy import BuyScreen
from tracker.screens.lots import LotsScreen

OWNER = hand("M. Holt", NOW, "office")


async def open_lots(hands: Hands) -> LotsScreen:
    """From the open jobs to the material of the job."""
    await hands.press("enter", until="Site visit")
    await hands.press("m", until="to come")
    screen = hands.app.screen
    assert isinstance(screen, LotsScreen)
    return screen


def put_in(path: Path, used: int = 0) -> None:
    """Receive the three boards; use some of them."""
    in_book(path, lambda book: receive(book, OWNER, "26-101", "L1", 3))
    if used:
        in_book(path, lambda book: use(book, OWNER, "26-101", "L1", used))


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_a_lot_is_told_in_words(path: Path, size: tuple[int, int]) -> None:
    put_in(path, used=1)
    async with at_the_keys(path, size=size) as hands:
        await open_lots(hands)
        said = " ".join(hands.shown.split())
        for words in ("ordered 3 boards, in 3", "1 used", "2 left", "Yard One", "here"):
            assert words in said, words


async def test_a_wrong_count_is_put_right_and_the_rest_canceled(path: Path) -> None:
    in_book(path, lambda book: receive(book, OWNER, "26-101", "L1", 2))
    async with at_the_keys(path, size=(80, 24)) as hands:
        await open_lots(hands)
        await hands.press("e", until="Which count of lot L1")
        await hands.until("2 received")
        await hands.press("enter", until="2 received was wrong")
        await hands.type("1", "enter")
        await hands.type("one was for the neighbour", "enter")
        await hands.until("1 on hand, 2 to come")
        await hands.press("k", until="Cancel what is still to come of lot L1")
        await hands.type("1", "enter")
        await hands.type("enough", "enter")
        await hands.until("canceled 1 board of 2x8x12; 1 still to come")
        await hands.until("1 canceled")


async def test_pieces_are_used_given_back_and_scrapped(path: Path) -> None:
    put_in(path)
    async with at_the_keys(path) as hands:
        await open_lots(hands)
        await hands.press("u", until="How many were used")
        await hands.type("30", "enter")
        await hands.until("has 3 on hand, not 30")
        assert "deckjobs" not in hands.shown, "a refusal names keys here, not commands"
        await hands.press("backspace", "backspace")
        await hands.type("1", "enter")
        await hands.until("1 used")
        await hands.press("g", until="How many went back")
        await hands.type("1", "enter")
        await hands.until("1 given back")
        await hands.press("x", until="How many were spoiled")
        await hands.type("1", "enter")
        await hands.until("1 scrapped")
        await hands.press("u", until="all that came is gone")
        await hands.press("enter", until=lambda: isinstance(hands.app.screen, BuyScreen))
    lot = lots_of(path)[0]
    assert (lot.used, lot.returned, lot.scrapped, lot.on_hand) == (1, 1, 1, 0)


async def test_use_before_anything_came_offers_the_ticket(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_lots(hands)
        await hands.press("u", until="has nothing left to use: 3 boards still to come")
        await hands.press("enter", until="delivery ticket")
        await hands.press("f4", "ctrl+s", until="Received")
    assert lots_of(path)[0].on_hand == 3


async def inspect_as(hands: Hands, tag: str) -> None:
    """Inspect the lot: three counted, stamped, with that end tag."""
    await hands.press("i", until="Inspect lot L1")
    for text in ("3", "yes", tag):
        await hands.type(text, "enter")
    await hands.press("ctrl+s", until=lambda: isinstance(hands.app.screen, LotsScreen))


async def test_an_unfit_lot_is_refused_until_it_is_inspected_again_or_waived(path: Path) -> None:
    put_in(path)
    async with at_the_keys(path) as hands:
        await open_lots(hands)
        await inspect_as(hands, "UC3B")
        await hands.until("unfit to use: L1")
        await hands.until("UC3B where UC4A is needed")
        await hands.press("u", until="Lot L1 is unfit to use")
        assert lots_of(path)[0].used == 0
        await hands.press("enter", until="UC3B before")
        await hands.press("escape", until=lambda: isinstance(hands.app.screen, LotsScreen))
        await hands.press("u", "down", "down", "enter", until="Waive the delivery check: why?")
        await hands.type("blocking only, under cover", "enter")
        await hands.until(lambda: "unfit" not in hands.shown)
        await hands.press("u", until="How many were used")
        await hands.press("enter", until="3 used")
    assert lots_of(path)[0].used == 3


async def test_a_value_the_inspection_does_not_take_is_said_beside(path: Path) -> None:
    put_in(path)
    async with at_the_keys(path) as hands:
        await open_lots(hands)
        await hands.press("i", until="Inspect lot L1")
        await hands.press("ctrl+s", until="nothing was read")
        await hands.type("three", "enter")
        await hands.until("is not a count")
        await hands.press("ctrl+s", until="mend the field")


async def test_nothing_is_inspected_before_it_came(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_lots(hands)
        await hands.press("i", until="has come to be looked at")
        await hands.press("enter", until="delivery ticket")


async def test_an_offcut_goes_back_to_stock(path: Path) -> None:
    put_in(path)
    async with at_the_keys(path) as hands:
        await open_lots(hands)
        await hands.press("f", until="nothing can be left over")
        await hands.press("enter", until="How many were used")
        await hands.press("enter", until="3 used")
        await hands.press("f", until="Offcuts of lot L1")
        await hands.type("13'", "enter")
        await hands.until("is no offcut")
        await hands.press("up", *["backspace"] * 3)
        await hands.type("4' 6", "enter")
        await hands.until("= 4' 6\"")
        await hands.type("2", "enter")
        await hands.until("2 offcuts of 4' 6\" put back")
    assert [(lot.item, lot.on_hand) for lot in lots_of(path)] == [("2x8x12", 0), ("2x8x4ft6in", 2)]


async def test_pieces_go_to_another_job(path: Path) -> None:
    put_in(path)
    async with at_the_keys(path) as hands:
        await open_lots(hands)
        await hands.press("t", until="there is no other open job")
        put_job(path, "26-102", "Steps to the pond")
        await hands.press("t", until="Which job gets pieces")
        await hands.press("enter", until="go to 26-102")
        await hands.type("2", "enter")
        await hands.until("2 moved to a job")
    assert lots_of(path)[0].on_hand == 1
    assert [lot.on_hand for lot in lots_of(path, "26-102")] == [0, 2]


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_the_cost_by_phase_adds_up_on_the_screen(path: Path, size: tuple[int, int]) -> None:
    put_prices(path)
    put_in(path, used=2)
    async with at_the_keys(path, size=size) as hands:
        await open_lots(hands)
        await hands.press("m", until="estimate")
        said = " ".join(hands.shown.split())
        # Three boards at 18.15, the job's own price: 54.45 committed; two of them used: 36.30.
        assert "$54.45 ordered, $54.45 received, $36.30 used" in said
        assert "BY PHASE" in said
        await hands.press("end", until="not priced, so in no figure")
        await hands.press("escape", until=lambda: isinstance(hands.app.screen, LotsScreen))


async def test_more_counted_than_came_is_asked_about_and_received_with_the_count(path: Path) -> None:
    in_book(path, lambda book: receive(book, OWNER, "26-101", "L1", 2))
    async with at_the_keys(path) as hands:
        await open_lots(hands)
        await hands.press("i", until="Inspect lot L1")
        for text in ("3", "yes", "UC4A"):
            await hands.type(text, "enter")
        await hands.press("ctrl+s", until="lot L1: 3 counted, 2 received. Has it come?")
        assert lots_of(path)[0].received == 2
        await hands.press("down", "enter", until="nothing was recorded")
        await hands.press("ctrl+s", until="Has it come?")
        await hands.press("enter", until="1 booked in with the count")
    assert lots_of(path)[0].received == 3
