"""``deckjobs history``."""

from __future__ import annotations

from tests.commands.conftest import Deck

SQUARE = ("width=11'", "depth=13'", "ac=17' 5/8", "bd=17' 1/8")


def test_words_day_and_kind_narrow_the_list(deck: Deck) -> None:
    deck.take()
    assert "nothing has been recorded yet" in deck("history", "101").out
    deck("note", "101", "square the gate first")
    deck("check", "101", "square", *SQUARE)
    text = deck("history", "101").out
    assert text.index("square the gate first") < text.index("Frame square failed")
    newest = deck("history", "101", "--newest").out
    assert newest.index("Frame square failed") < newest.index("square the gate first")
    assert "1 of 2 entries" in deck("history", "101", "gate", "square").out
    assert "1 of 2 entries" in deck("history", "101", "--kind", "reading").out
    assert "2 entries" in deck("history", "101", "12", "may").out
    assert "2 entries" in deck("history", "101", "--since", "today").out
    none = deck("history", "101", "--since", "2026-05-13")
    assert (none.code, "none of its 2 entries" in none.out) == (1, True)


def test_why_shows_each_entry_whole(deck: Deck) -> None:
    deck.take()
    deck("check", "101", "square", *SQUARE)
    text = deck("history", "101", "square", "--why").out
    for part in ("as typed", "17' 5/8", "working", "limits", "source", "caution", "digest", "the first of that device"):
        assert part in text, part
    assert max(len(line) for line in text.splitlines()) <= 80


def test_json_and_what_it_refuses(deck: Deck) -> None:
    deck.take()
    deck("note", "101", "key under the pot")
    answer = deck("history", "plover", "POT", "--json").json
    assert (answer["job"], answer["total"]) == ("26-101", 1)
    assert answer["entries"][0]["facts"] == {} and answer["entries"][0]["said"] == "key under the pot"
    wrong = deck("history", "101", "--kind", "rumour")
    assert wrong.code == 2 and "give reading, waiver" in wrong.err
    assert deck("history", "999").code == 2
    assert deck("history", "101", "--since", "soon").code == 2
