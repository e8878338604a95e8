"""What is left to buy, by keys alone on the real book: what presses first, whole packs, the order that is asked."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from tests.screens.conftest import NOW, Hands, at_the_keys, in_book, put_job, put_prices
from tracker.book.buying import purchases
from tracker.book.lots import lots, needs
from tracker.screens import buylines
from tracker.screens.buy import BuyScreen
from tracker.screens.rows import Rows

PROVEN = "cheapest cut plans, proven"


async def open_buying(hands: Hands) -> BuyScreen:
    """Go to what is left to buy and wait for the proven plans."""
    await hands.press("b", until=PROVEN)
    screen = hands.app.screen
    assert isinstance(screen, BuyScreen)
    return screen


async def to_line(hands: Hands, item: str) -> None:
    """Put the cursor on the line of an item."""
    screen = hands.app.screen
    assert isinstance(screen, BuyScreen)
    await hands.press("home")
    for _ in range(40):
        found = screen.at_cursor
        if found is not None and found[1].item == item:
            return
        await hands.press("down")
    raise AssertionError(f"no line {item}\n{hands.shown}")


def keys(screen: BuyScreen) -> list[str]:
    """The keys of the rows in order."""
    return [str(option.id) for option in screen.query_one("#lines", Rows).options]


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_lines_stand_by_supplier_and_urgency_and_none_is_cut(path: Path, size: tuple[int, int]) -> None:
    put_prices(path)
    async with at_the_keys(path, size=size) as hands:
        screen = await open_buying(hands)
        found = screen.found or ()
        assert [bought.supplier for bought in buylines.pressing(found)][-1] == ""
        for bought in found:
            shown = buylines.lines_of(bought)
            order = [(line.cost_cents is None, line.order_by) for line in shown]
            assert order == sorted(order), "what presses first stands first, what has no price last"
        rows = screen.query_one("#lines", Rows)
        for option in rows.options:
            text = str(option.prompt)
            assert "…" not in text and all(len(line) <= rows.room for line in text.splitlines())
        assert hands.shown.splitlines()[-1].endswith("? help")


async def test_the_heading_says_what_is_missing_to_the_least_order(path: Path) -> None:
    put_prices(path)
    yard = next(
        bought for bought in in_book(path, lambda book: purchases(book, NOW.date())) if bought.supplier == "Yard One"
    )
    text = str(buylines.supplier_head(yard, 200))
    assert "delivery $85.00 more" in text and "comes in 2 working days" in text
    missing = 500_000 - yard.cost_cents
    assert f"${missing // 100:,}.{missing % 100:02d} short of the least order, $5,000.00" in text


async def test_blocks_come_in_whole_packs_and_enter_says_who_needs_them(path: Path) -> None:
    put_prices(path)
    put_job(path, "26-102", "Steps to the pond")
    async with at_the_keys(path, size=(120, 40)) as hands:
        screen = await open_buying(hands)
        await to_line(hands, "block")
        found = screen.at_cursor
        assert found is not None
        line = found[1]
        assert line.packed % 8 == 0 and line.packed >= line.quantity and line.cost_cents == line.packed * 890
        assert f"{line.quantity} needed, packs of 8" in hands.shown and "the price is old" in hands.shown
        await hands.press("enter", until="Who needs it")
        for part in line.parts:
            assert f"{part.job}: {part.quantity} for" in hands.shown


async def test_an_order_is_filled_in_already_and_shared_out_over_the_jobs(path: Path) -> None:
    put_prices(path)
    put_job(path, "26-102", "Steps to the pond")
    async with at_the_keys(path, size=(120, 40)) as hands:
        screen = await open_buying(hands)
        await to_line(hands, "block")
        found = screen.at_cursor
        assert found is not None
        line = found[1]
        await hands.press("o", until="Order ")
        assert "Stone Bay" in hands.shown
        assert "= Wed 13 May" in hands.shown, "one working day of lead after Tuesday"
        await hands.press("enter", "enter", "enter", until="ordered")
        await hands.until(lambda: not any("/block/" in key for key in keys(screen)))
    bought = {
        code: [
            (lot.ordered, lot.supplier, lot.promised)
            for lot in in_book(path, lambda book: lots(book, code, NOW.date()))  # noqa: B023
            if lot.item == "block"
        ]
        for code in ("26-101", "26-102")
    }
    first, second = bought["26-101"][0], bought["26-102"][0]
    assert first[0] + second[0] == line.packed
    assert first[1:] == second[1:] == ("Stone Bay", date(2026, 5, 13))
    assert not any(need.item == "block" and need.to_buy for need in in_book(path, lambda b: needs(b, NOW.date())))


async def test_a_wrong_count_is_said_beside_and_nothing_is_ordered(path: Path) -> None:
    put_prices(path)
    async with at_the_keys(path) as hands:
        await open_buying(hands)
        await to_line(hands, "block")
        await hands.press("o", until="Order ")
        await hands.type("x", "ctrl+s")
        await hands.until("mend the field")
        await hands.press("backspace", "backspace", "backspace")
        await hands.type("9")
        await hands.until("sold by 8, so")
        await hands.press("escape", until=lambda: isinstance(hands.app.screen, BuyScreen))
        await hands.press("o", until="sold by 8, so")
    assert [lot.item for lot in in_book(path, lambda book: lots(book, "26-101", NOW.date()))] == ["2x8x12"]


async def test_the_cursor_stays_on_its_line_when_others_buy(path: Path) -> None:
    put_prices(path)
    async with at_the_keys(path) as one, at_the_keys(path, who="R. Stone") as two:
        screen = await open_buying(two)
        await to_line(two, "cloth")
        await open_buying(one)
        await to_line(one, "block")
        await one.press("o", until="Order ")
        await one.press("ctrl+s", until="ordered")
        await two.until(lambda: not any("/block/" in key for key in keys(screen)))
        found = screen.at_cursor
        assert found is not None and found[1].item == "cloth"


def test_a_promise_counts_working_days_and_shares_follow_the_need(path: Path) -> None:
    put_prices(path)
    put_job(path, "26-102", "Steps to the pond")
    found = in_book(path, lambda book: purchases(book, NOW.date()))
    by_name = {bought.supplier: bought for bought in found}
    friday = date(2026, 5, 15)
    assert by_name["Yard One"].promised_by(friday) == date(2026, 5, 19)
    assert by_name[""].promised_by(friday) is None
    line = next(line for line in by_name["Stone Bay"].lines if line.item == "block")
    for number in (1, line.quantity - 1, line.quantity, line.packed + 5):
        assert sum(line.shares(number).values()) == number
    wanted = {part.job: part.quantity for part in line.parts}
    assert line.shares(line.quantity) == wanted
