"""Hours by commands."""

from __future__ import annotations

import pytest

from tests.commands.conftest import Deck


def test_hours_are_logged_listed_and_taken_back(deck: Deck) -> None:
    deck.take()
    assert deck("hours", "101").out.splitlines()[-1].strip() == "None yet. Log some: deckjobs hours 26-101 6h visit"
    done = deck("hours", "101", "3", "x", "4h30", "frame,", "rain", "from", "noon", "--anyway")
    assert done.out == "recorded: 3 x 4:30 h = 13:30 h on frame, Tue 12 May\n", done.err
    assert deck("hours", "101", "6h", "--day", "2026-05-11", "--who", "Ana, Ben").code == 0
    page = deck("hours", "101").out
    assert "Rosa (invented) and 2 more" in page and "rain from noon" in page and "Ana and Ben" in page
    data = deck("hours", "101", "--json").json
    assert data["minutes"] == 3 * 270 + 2 * 360
    assert [entry["number"] for entry in data["entries"]] == [2, 1]
    assert deck("hours", "101", "--undo", "1", "--reason", "wrong job").code == 0
    assert deck("hours", "101", "--json").json["minutes"] == 720


@pytest.mark.parametrize(
    ("argv", "code", "why"),
    [
        (("hours", "101", "frame"), 2, "not understood as hours"), (("hours", "101", "25h"), 2, "more than a day"),
        (("hours", "101", "6h", "frmae"), 2, "did you mean frame"), (("hours",), 2, "JOB is missing"),
        (("hours", "101", "6h", "--day", "2026-05-13"), 2, "still to come"), (("hours", "101", "--undo", "4"), 2, "no hours entry 4"),
        (("hours", "101", "6h", "--summary"), 2, "--summary lists"), (("hours", "101", "6h", "--undo", "1"), 2, "--undo logs nothing"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said(deck: Deck, argv: tuple[str, ...], code: int, why: str) -> None:
    deck.take()
    done = deck(*argv)
    assert done.code == code and why in done.err, done.err
    assert "Traceback" not in done.err


def test_hours_of_work_that_has_not_started_are_asked_about(deck: Deck) -> None:
    deck.take()
    done = deck("hours", "101", "2h", "boards")
    assert done.code == 1 and "has not started" in done.err and "--anyway" in done.err
    assert deck("hours", "101", "--json").json["entries"] == []
    assert deck("hours", "101", "2h", "boards", "--anyway").code == 0
    assert deck("hours", "101", "2h").code == 0  # what comes next may have begun without a word
    assert deck("hours", "101", "2h", "quote").code == 0  # the office's work begins whenever


def test_more_than_a_day_is_refused(deck: Deck) -> None:
    deck.take()
    assert deck("hours", "101", "16h").code == 0
    done = deck("hours", "101", "9h", "frame", "--anyway")
    assert done.code == 1 and "over 24 hours" in done.err and "take the wrong entry back" in done.err


def test_the_summary_suggests_and_the_rules_take_it_by_hand(walked: Deck) -> None:
    assert walked("hours", "101", "10h", "pads").code == 0
    page = walked("hours", "--summary").out
    learnt = page[page.index("WHAT FINISHED PHASES TOOK") :]
    for words in ("gravel", "block", "0.25", "0.1779", "1 job only", "too few to go by"):
        assert words in learnt, words
    assert all(len(line) <= 80 for line in page.splitlines())
    (found,) = walked("hours", "--summary", "--json").json["productivity"]
    # 10 h for 40 blocks; today an estimate counts 0.25 h + 0.1 h x 40 + 0.02 h x 143 sq ft = 7.11 h, 427 min.
    assert (found["median"], found["now"], found["too_few"]) == ("0.25", "0.1779", True)
    assert found["to_take_it"] == "deckjobs rules --hours pads=0.25"
    assert walked("rules", "--hours", "pads=0.25").code == 0
    assert "hours of pads" in walked("rules").out
    assert walked("rules", "--json").json["phase_hours"] == {"pads": {"each": 0.25, "whole": None}}
    assert walked("hours", "--summary", "--json").json["productivity"][0]["now"] == "0.25"
    assert walked("rules", "--hours", "pads").code == 2 and walked("rules", "--hours", "padz=1").code == 2


def test_no_hours_anywhere(deck: Deck) -> None:
    deck.take()
    assert "No hours are logged yet" in deck("hours", "--summary").out


def test_who_signs_and_who_worked_are_two_things(deck: Deck) -> None:
    deck.take()
    done = deck("hours", "101", "3", "x", "7h30", "frame,", "rain", "from", "noon", "--anyway", "--as", "Rosa")
    assert done.code == 0 and "3 x 7:30 h" in done.out, done.err
    assert deck("--as", "Rosa", "hours", "101", "2", "x", "2h", "strip", "--anyway").code == 0
    assert deck("--as", "Rosa", "hours", "101", "6h", "--day", "2026-05-11", "--who", "Ana, Ben").code == 0
    entries = deck("hours", "101", "--json").json["entries"]
    assert {entry["logged_by"] for entry in entries} == {"Rosa"}
    assert [sorted(entry["names"]) for entry in entries if entry["day"] == "2026-05-11"] == [["Ana", "Ben"]]
