"""What cannot be put on paper is told before anything is recorded, worked out or written."""

from __future__ import annotations

import pytest

from tests.commands.conftest import Deck


@pytest.mark.parametrize("place", ["no/such/folder.pdf", "x" * 300, ".", "jobs.book", "plover.toml"])
def test_an_invoice_is_not_recorded_when_its_paper_has_no_place(
    deck: Deck, monkeypatch: pytest.MonkeyPatch, place: str
) -> None:
    monkeypatch.chdir(deck.home)
    deck.take()
    assert deck("quote", "101", "--record", "--unpriced-too").code == 0
    assert deck("accept", "101").code == 0
    before = deck.entries()
    result = deck("invoice", "101", "10", "--pdf", place)
    assert (result.code, result.out) == (2, ""), result
    assert deck.entries() == before


def test_of_several_papers_none_is_written_when_one_has_no_place(deck: Deck) -> None:
    deck.take()
    first = deck.home / "day.html"
    result = deck("report", "--html", str(first), "--pdf", str(deck.home / "no" / "day.pdf"))
    assert result.code == 2 and "there is no folder" in result.err
    assert not first.exists()
