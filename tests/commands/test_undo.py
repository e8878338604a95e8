"""``deckjobs undo`` and ``correct``: what is printed, the exit codes, what the history keeps."""

from __future__ import annotations

import pytest

from tests.commands.conftest import Deck
from tracker.book.ids import new_id


def test_the_last_entries_are_shown_and_one_is_taken_back(deck: Deck) -> None:
    deck.take()
    assert "nothing has been recorded yet" in deck("undo", "101").out
    deck("order", "101", "block", "20")
    shown = deck("undo", "101")
    assert shown.code == 0 and "lot L1, block: 20 ordered" in shown.out
    assert "to take one back: deckjobs undo 26-101 ENTRY --reason TEXT" in shown.out
    assert deck("undo", "101", "--json").json["entries"][0]["number"] == 1
    done = deck("undo", "101", "1", "--reason", "wrong job")
    assert done.code == 0 and "recorded: entry 1 taken back: lot L1, block: 20 ordered" in done.out
    assert "(taken back) lot L1, block: 20 ordered" in deck("history", "101").out
    again = deck("undo", "101", "1", "--reason", "wrong job")
    assert again.code == 1 and "taken back already: entry 2" in again.err
    assert deck("doctor").code == 0


def test_what_makes_no_sense_exits_2_and_records_nothing(deck: Deck) -> None:
    deck.take()
    deck("note", "101", "gate code 1234")
    for words in (
        ("1",),
        ("1", "--reason", " "),
        ("--reason", "x"),
        ("9", "--reason", "x"),
        ("zebra", "--reason", "x"),
    ):
        wrong = deck("undo", "101", *words)
        assert wrong.code == 2 and "deckjobs" in wrong.err, words
    assert deck("correct", "101", "1", "5", "--reason", "x").code == 2
    assert deck.entries() == 1


def test_the_same_id_is_recorded_once(deck: Deck) -> None:
    deck.take()
    deck("order", "101", "block", "20")
    entry = new_id()
    words = ("correct", "101", "1", "12", "--reason", "read the slip again", "--id", entry)
    assert deck(*words, "--json").json["already"] is False
    assert deck(*words, "--json").json["already"] is True
    again = ("undo", "101", entry, "--reason", "it was twenty", "--id", new_id())
    assert deck(*again, "--json").json["already"] is False
    assert deck(*again, "--json").json["already"] is True
    assert [lot["ordered"] for lot in deck("show", "101", "--json").json["lots"]] == [20]


@pytest.mark.parametrize("who", ["Rosa (invented)", "Lead Wren"])
def test_money_is_taken_back_by_who_may(deck: Deck, who: str) -> None:
    deck.take()
    deck("spend", "101", "40", "visit", "dump fee")
    done = deck("--as", who, "undo", "101", "1", "--reason", "wrong job")
    assert done.code == (0 if who.startswith("Rosa") else 1)
    assert ("cost 1 taken back: wrong job" in done.out) is who.startswith("Rosa")
