"""The papers of a job's money by keys alone: which one, in which form, to which file."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.reports.paper.reading import all_text
from tests.screens.conftest import at_the_keys, in_book
from tests.screens.test_money import CODE, OWNER, open_money, put_sold
from tracker.book.invoices import invoice


@pytest.fixture(autouse=True)
def in_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder of its own."""
    folder = tmp_path / "work"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return folder


async def test_an_invoice_and_the_office_page_go_to_files(path: Path, in_folder: Path) -> None:
    put_sold(path)
    in_book(path, lambda book: invoice(book, OWNER, CODE))
    async with at_the_keys(path) as hands:
        await open_money(hands, "CONTRACT")
        await hands.press("w", until="Put what on paper?")
        await hands.until("quote 1, for the client")
        await hands.press("enter", until="Write it as:")
        await hands.press("enter", until="Write the paper (invoice 1) to:")
        await hands.press("enter", until="written: ")
        await hands.press("w", until="Put what on paper?")
        await hands.press("end", "up", "enter", until="Write it as:")
        await hands.press("end", "enter", until="Write the paper (office) to:")
        await hands.press("enter", until="written: ")
    assert "PLEASE PAY" in all_text((in_folder / "26-101-invoice-1.pdf").read_bytes())
    assert "Not for the client." in (in_folder / "26-101-money.html").read_text("utf-8")


async def test_the_letterhead_is_changed_where_papers_are_made(path: Path, in_folder: Path) -> None:
    put_sold(path)
    async with at_the_keys(path) as hands:
        await open_money(hands, "CONTRACT")
        await hands.press("w", until="change the letterhead")
        await hands.press("end", "enter", until="The letterhead of your papers")
        await hands.type("Two Ponds Decks", "down")
        await hands.press("down", until="phone")
        await hands.type("555-0142", "ctrl+s")
        await hands.until("the letterhead is kept")
        await hands.press("w", until="change the letterhead")
        await hands.press("end", "enter", until="Two Ponds Decks")
        await hands.press("escape", until="CONTRACT")
        await hands.press("w", until="quote 1, for the client")
        await hands.press("enter", until="Write it as:")
        await hands.press("enter", until="Write the paper (quote 1) to:")
        await hands.press("enter", until="written: ")
    text = all_text((in_folder / "26-101-quote-1.pdf").read_bytes())
    assert "Two Ponds Decks" in text and "555-0142" in text and "licence" in text


async def test_a_draft_is_offered_until_a_quote_is_accepted(path: Path, in_folder: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_money(hands, "not quoted yet")
        await hands.press("w", until="a DRAFT of a quote")
        await hands.press("escape", until="not quoted yet")
        await hands.press("w", until="a DRAFT of a quote")
        await hands.press("enter", until="Write it as:")
        await hands.press("down", "enter", until="Write the paper (draft) to:")
        await hands.press("enter", until="written: ")
    assert "DRAFT" in all_text((in_folder / "26-101-draft.pdf").read_bytes())
