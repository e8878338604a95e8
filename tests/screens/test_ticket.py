"""A delivery taken off its ticket by keys alone: counted in one pass, received once, nothing typed is lost."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from textual.events import Key, Paste

from tests.screens.conftest import NOW, Hands, at_the_keys, in_book, put_job
from tracker.book.hand import hand
from tracker.book.lots import lots, order
from tracker.book.views import LotView
from tracker.screens.drafts import drafts_path, kept_drafts
from tracker.screens.going import supplier_line
from tracker.screens.lots import LotsScreen
from tracker.screens.reading import ReadingScreen
from tracker.screens.ticket import TicketScreen, all_due
from tracker.trade.dates import format_day

OWNER = hand("M. Holt", NOW, "office")


def put_orders(
    path: Path, code: str = "26-101", orders: Sequence[tuple[str, int]] = (("block", 48), ("cloth", 1))
) -> None:
    """Order more for a job, from Stone Bay."""
    for item, number in orders:
        in_book(
            path,
            lambda book: order(book, OWNER, code, item, number, supplier="Stone Bay", anyway=True),  # noqa: B023
        )


def lots_of(path: Path, code: str = "26-101") -> list[LotView]:
    """The lots as the book has them."""
    return list(in_book(path, lambda book: lots(book, code, NOW.date())))


async def open_ticket(hands: Hands) -> TicketScreen:
    """From the open jobs to the ticket of the job."""
    await hands.press("enter", until="Site visit")
    await hands.press("m", until="to come")
    await hands.press("r", until="delivery ticket")
    screen = hands.app.screen
    assert isinstance(screen, TicketScreen)
    return screen


def test_a_suppliers_line_says_each_jobs_own_day_and_only_the_late_ones_late(path: Path) -> None:
    put_job(path, "26-102", "Steps to the pond")
    today = NOW.date()
    in_book(path, lambda book: order(book, OWNER, "26-101", "cloth", 1, supplier="Stone Bay", promised=today))
    dues = [due for due in in_book(path, lambda book: all_due(book, today)) if due.lot.supplier != "Yard One"]
    dues += [replace(due, code="26-103") for due in dues]

    def said(*days: date | None) -> str:
        found = [replace(due, lot=replace(due.lot, promised=day)) for due, day in zip(dues, days, strict=True)]
        return supplier_line("Stone Bay", found, today)

    late, later = today - timedelta(days=8), today + timedelta(days=2)
    assert len(dues) == 2
    assert said(late, later) == (
        f"Stone Bay: 2 lots; for 26-101, promised {format_day(late, today)}, late; "
        f"for 26-103, promised {format_day(later, today)}"
    )
    assert said(today, today) == f"Stone Bay: 2 lots for 26-101 and 26-103; promised {format_day(today, today)}, today"
    assert said(None, None) == "Stone Bay: 2 lots for 26-101 and 26-103; no day promised"


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_counts_go_in_in_one_pass_and_the_delivery_check_is_offered(path: Path, size: tuple[int, int]) -> None:
    put_orders(path)
    async with at_the_keys(path, size=size) as hands:
        await open_ticket(hands)
        assert "3 boards due" in hands.shown and "48 pieces due" in hands.shown
        await hands.type("2", "enter")
        await hands.until("= 2 boards: 1 still to come")
        await hands.type("50", "enter")
        await hands.until("2 more than ordered")
        await hands.type("all")
        await hands.until("= 1 roll: all that is due")
        await hands.press("ctrl+s", until="Received. Go on to the delivery check?")
        await hands.press("enter", until=lambda: isinstance(hands.app.screen, ReadingScreen))
        form = hands.app.screen
        assert isinstance(form, ReadingScreen) and form.check.key == "delivery"
        await hands.press("escape", until=lambda: isinstance(hands.app.screen, LotsScreen))
    assert {lot.item: lot.received for lot in lots_of(path)} == {"2x8x12": 2, "block": 50, "cloth": 1}
    assert not kept_drafts(drafts_path(path.resolve(), "tablet"))


async def test_far_more_than_is_due_is_asked_about_first(path: Path) -> None:
    put_orders(path)
    async with at_the_keys(path) as hands:
        await open_ticket(hands)
        await hands.type("30", "enter")
        await hands.press("ctrl+s", until="has 3 still to come, not 30 2x8x12. Is the count right?")
        await hands.press("enter", until="Nothing was recorded; what you")  # the first line is no
        assert lots_of(path)[0].received == 0
        await hands.press("ctrl+s", until="Is the count right?")
        await hands.press("down", "enter", until="Received. Go on to the delivery check?")
    assert lots_of(path)[0].received == 30


async def test_a_wrong_count_is_said_beside_and_stops_the_save(path: Path) -> None:
    put_orders(path)
    async with at_the_keys(path) as hands:
        await open_ticket(hands)
        await hands.type("3", "enter")
        await hands.type("a few", "enter")
        await hands.until("not understood")
        await hands.press("ctrl+s", until="Mend it, then save")
        assert not any(lot.received for lot in lots_of(path))
        await hands.press("up", "down", until="whole number, or all")
        await hands.press("f8", until="F8 again puts back")
        await hands.press("f8", until="what you had typed is back")
        assert "a few" in hands.shown
        await hands.press("f8")
        await hands.press("ctrl+s", until="nothing is counted yet")


async def test_keys_fill_in_what_is_due(path: Path) -> None:
    put_orders(path)
    async with at_the_keys(path) as hands:
        screen = await open_ticket(hands)
        await hands.press("down", "f3", until="= 48 pieces: all that is due")
        assert screen.texts() == {"26-101/L2": "48"}
        await hands.press("f4", until="3 lots counted of 3")
        await hands.press("f10", until="Received")
    assert all(lot.on_order == 0 for lot in lots_of(path))


async def test_a_draft_is_kept_and_a_key_of_the_open_jobs_goes_there(path: Path) -> None:
    put_orders(path)
    async with at_the_keys(path) as hands:
        await open_ticket(hands)
        await hands.type("2")
        await hands.until(lambda: drafts_path(path.resolve(), "tablet").exists())
    async with at_the_keys(path, opened="drafts from last time: delivery ticket of 26-101") as hands:
        await hands.press("k", until="your draft is back")
        assert "= 2 boards: 1 still to come" in hands.shown
        await hands.press("ctrl+s", until="Received")
    assert [lot.received for lot in lots_of(path)] == [2, 0, 0]


async def test_a_busy_book_keeps_the_counts_and_a_second_save_records_once(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_ticket(hands)
        await hands.press("f4")
        with closing(sqlite3.connect(path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            await hands.press("ctrl+s", until="the book is busy")
            assert "= 3 boards" in hands.shown
            other.execute("ROLLBACK")
        await hands.press("ctrl+s", "ctrl+s", until="Received")
    assert [lot.received for lot in lots_of(path)] == [3]


async def test_the_same_ticket_saved_twice_records_once(path: Path) -> None:
    """A save whose answer was lost: the draft, its id kept, is saved a second time while lots are still to come."""
    async with at_the_keys(path) as hands:
        await open_ticket(hands)
        await hands.type("1")
        draft = hands.app.drafts["26-101", "delivery ticket"]
        entry, texts = draft.entry_id, dict(draft.texts)
        await hands.press("ctrl+s", until="Received")
        draft.entry_id, draft.texts, draft.tried = entry, texts, texts
        hands.app.drafts["26-101", "delivery ticket"] = draft
        await hands.press("escape", "r", until="your draft is back")
        await hands.press("ctrl+s", until="already recorded")
    assert [lot.received for lot in lots_of(path)] == [1]


async def test_a_suppliers_delivery_is_taken_over_all_jobs(path: Path) -> None:
    put_job(path, "26-102", "Steps to the pond")
    put_orders(path)
    put_orders(path, "26-102", [("block", 40)])
    async with at_the_keys(path) as hands:
        await hands.press("t", until="Whose delivery came?")
        assert "Yard One: 2 lots for 26-101 and 26-102; promised Wed 13 May" in " ".join(
            hands.shown.replace("│", " ").split()
        )
        await hands.press("end", "enter", until="Stone Bay / delivery ticket")
        assert "40 pieces due" in hands.shown and "2x8x12" not in hands.shown
        await hands.press("f4", "ctrl+s", until="Received")
        await hands.press("escape", until="OPEN JOBS")
    assert {lot.item: lot.received for lot in lots_of(path)} == {"2x8x12": 0, "block": 48, "cloth": 1}
    assert {lot.item: lot.received for lot in lots_of(path, "26-102")} == {"2x8x12": 0, "block": 40}


async def test_with_nothing_to_come_the_key_says_what_to_do(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_ticket(hands)
        await hands.press("f4", "ctrl+s", until="Received")
        await hands.press("escape", "r", until="nothing is still to come for 26-101: b shows")


@pytest.mark.parametrize("paste", [False, True])
async def test_a_count_after_the_last_lot_is_not_put_behind_the_last_count(path: Path, paste: bool) -> None:
    put_orders(path)
    async with at_the_keys(path) as hands:
        screen = await open_ticket(hands)
        if paste:
            hands.app.post_message(Paste("3\n48\n1\n7\n"))
        else:
            for char in "3\r48\r1\r7\r":
                hands.app.post_message(Key("enter" if char == "\r" else char, char))
        hands.app.post_message(Key("ctrl+s", None))
        await hands.until("more was typed than there are fields")
        assert list(screen.texts().values()) == ["3", "48", "1"]
        assert not any(lot.received for lot in lots_of(path))
        await hands.press("ctrl+s", until="Received")
    assert [lot.received for lot in lots_of(path)] == [3, 48, 1]


async def test_a_no_to_the_count_of_one_job_says_what_of_the_others_is_recorded(path: Path) -> None:
    put_job(path, "26-102", "Steps to the pond")
    put_orders(path)
    put_orders(path, "26-102", [("block", 40)])
    async with at_the_keys(path, size=(120, 40)) as hands:
        await hands.press("t", until="Whose delivery came?")
        await hands.press("end", "enter", until="Stone Bay / delivery ticket")
        await hands.press("f4")
        await hands.press("down", "down")
        await hands.type("900")
        await hands.press("ctrl+s", until="Is the count right?")
        await hands.press("enter", until="26-101 is recorded; nothing of 26-102 is")
        assert "othing was recorded" not in hands.said
    assert [lot.received for lot in lots_of(path)] == [0, 48, 1]
    assert not any(lot.received for lot in lots_of(path, "26-102"))
