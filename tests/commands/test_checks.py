"""Recording readings: verdicts, refusals, exit codes; and the gates they open."""

from __future__ import annotations

import pytest

from tests.commands.conftest import Deck
from tracker.book.ids import new_id

# A frame of 11 ft by 13 ft: the square's diagonal is sqrt(132^2 + 156^2) = 204.353 in = 17' 0-3/8" to the
# 1/16 in (Pythagoras).
SQUARE = ("11'", "13'", "17' 0 3/8", "17' 0 3/8")
RACKED = ("11'", "13'", "17' 0 3/4", "17' 0")


def test_a_passed_check_exits_0_and_a_failed_one_1_and_both_are_recorded(walked: Deck) -> None:
    before = walked.entries()
    passed = walked("check", "101", "square", *SQUARE)
    assert passed.code == 0 and passed.out.startswith("PASS square:") and "recorded: square" in passed.out
    failed = walked("check", "101", "square", *RACKED)
    assert failed.code == 1 and failed.out.startswith("FAIL square:")
    assert "  do: push" in failed.out and "  limit: " in failed.out
    assert walked.entries() == before + 2


def test_too_few_readings_exit_1_and_say_what_is_wanted(walked: Deck) -> None:
    result = walked("check", "101", "level", "1a=0")
    assert result.code == 1 and "not enough readings" in result.out


def test_why_shows_working_and_source(walked: Deck) -> None:
    assert "working:" not in walked("check", "101", "square", *SQUARE).out
    text = walked("check", "101", "square", *SQUARE, "--why").out
    assert "working:" in text and "source:" in text


def test_the_json_of_a_check_has_the_documented_keys(walked: Deck) -> None:
    found = walked("check", "101", "square", *RACKED, "--json")
    assert found.code == 1
    assert set(found.json) == {"id", "already", "text", "notices", "blockers", "answer"}
    answer = found.json["answer"]
    assert {"headline", "inputs", "answer", "verdict", "moves", "limits", "working", "source", "caution"} == set(answer)
    assert answer["verdict"] == "failed" and answer["answer"]["difference_in"] == pytest.approx(0.75)


def test_a_crown_measured_downwards_is_a_value_not_an_option(walked: Deck) -> None:
    result = walked("check", "101", "crown", "1/8", "-1/8", "1=-1/16", "--json")
    assert result.code in (0, 1), result.err
    entered = walked("check", "101", "crown", "--json").json["check"]["readings"][-1]["entered"]
    assert "-1/8" in entered.values() and entered["1"] == "-1/16"


def test_options_may_stand_anywhere(walked: Deck) -> None:
    result = walked("check", "101", "--as", "Ana (invented)", "square", "--json", *SQUARE)
    assert result.code == 0, result.err
    readings = walked("--json", "check", "101", "square").json["check"]["readings"]
    assert readings[-1]["who"] == "Ana (invented)"


def test_wrong_values_are_all_named_and_nothing_is_recorded(walked: Deck) -> None:
    before = walked.entries()
    result = walked("check", "101", "square", "width=11'", "depth=1,5", "ac=NaN", "bb=12")
    assert result.code == 2 and result.out == ""
    assert result.err.startswith("deckjobs: 3 things are wrong\n")
    for word in ("depth:", "ac:", "bb:"):
        assert word in result.err
    assert walked.entries() == before


def test_a_check_without_values_says_what_it_asks_for(walked: Deck) -> None:
    result = walked("check", "101", "square")
    assert result.code == 0 and "example: deckjobs check 26-101 square" in result.out
    listing = walked("check", "101")
    assert listing.code == 0
    keys = [check["key"] for check in walked("check", "101", "--json").json["checks"]]
    assert keys and all(key in listing.out for key in keys)


def test_every_form_explains_itself_and_its_example_can_be_read(walked: Deck) -> None:
    import shlex

    for check in walked("check", "101", "--json").json["checks"]:
        text = " ".join(walked("check", "101", check["key"]).out.split())
        example = text.partition("example: deckjobs ")[2].partition(" caution: ")[0].partition(" source: ")[0]
        words = shlex.split(example)
        assert words[:3] == ["check", "26-101", check["key"]]
        result = walked(*words)
        assert result.code in (0, 1), f"{example}: {result.err}"


def test_an_unknown_check_names_the_near_miss(walked: Deck) -> None:
    for words in (
        ["check", "101", "sqare"],
        ["check", "101", "sqare", "1"],
        ["waive", "101", "sqare", "--reason", "x"],
    ):
        result = walked(*words)
        assert result.code == 2 and "square" in result.err


def test_a_sign_off_is_refused_with_every_blocker_and_what_clears_it(walked: Deck) -> None:
    before = walked.entries()
    result = walked("signoff", "101", "frame")
    assert result.code == 1 and result.out == ""
    lines = result.err.splitlines()
    assert lines[0].startswith("deckjobs: ")
    assert all(line.startswith("  ") and "clear it with: deckjobs " in line for line in lines[1:])
    assert {"crown", "square", "level"} <= {word for line in lines[1:] for word in line.split()}
    assert walked.entries() == before


def test_hold_reopen_and_note_want_their_words(walked: Deck) -> None:
    assert walked("hold", "101", "frame").code == 2
    held = walked("hold", "101", "frame", "--reason", "two joists split")
    assert held.code == 0 and held.out.startswith("recorded: ")
    assert "two joists split" in walked("show", "101").out
    assert walked("start", "101", "frame").code == 0
    assert walked("reopen", "101", "layout", "--reason", "stakes moved").code == 0
    assert walked("note", "101", "gate", "code", "with", "the", "client").code == 0
    assert "gate code with the client" in walked("show", "101").out
    assert walked("note", "101", " ").code == 2


def test_only_who_may_waive_can_waive(walked: Deck) -> None:
    refused = walked("waive", "101", "level", "--reason", "client agrees", "--as", "Ben (invented)")
    assert refused.code == 1 and "Ben (invented)" in refused.err
    assert walked("people", "--allow", "Ben (invented)").code == 0
    assert walked("waive", "101", "level", "--reason", "client agrees", "--as", "Ben (invented)").code == 0
    state = {c["key"]: c["state"] for c in walked("check", "101", "--json").json["checks"]}
    assert state["level"] == "waived"
    assert "client agrees" in walked("report").out


def test_the_same_id_twice_records_once(walked: Deck) -> None:
    entry = new_id()
    before = walked.entries()
    first = walked("check", "101", "square", *SQUARE, "--id", entry)
    second = walked("check", "101", "square", *SQUARE, "--id", entry)
    assert (first.code, second.code) == (0, 0)
    assert "already recorded" in second.out
    assert walked.entries() == before + 1
    assert walked("note", "101", "hello", "--id", "not-a-uuid").code == 2


def test_the_same_command_typed_twice_records_twice(walked: Deck) -> None:
    before = walked.entries()
    walked("note", "101", "rain again")
    walked("note", "101", "rain again")
    assert walked.entries() == before + 2
    assert not list(walked.home.glob(".*unanswered*"))


def test_the_same_numbers_typed_twice_are_told(walked: Deck) -> None:
    first = walked("check", "101", "square", *RACKED, "--as", "R. Stone").out
    again = walked("check", "101", "square", *RACKED).out
    assert "the same numbers" not in first
    assert "note: R. Stone recorded the same numbers, Tue 12 May; both stand, and either can be taken back" in again


def test_a_correction_names_the_reading_it_corrects(walked: Deck) -> None:
    wrong = walked("check", "101", "square", *RACKED, "--json").json["id"]
    right = walked("check", "101", "square", *SQUARE, "--corrects", wrong)
    assert right.code == 0
    readings = walked("check", "101", "square", "--json").json["check"]["readings"]
    assert next(r["id"] for r in readings) == wrong and readings[-1]["corrects"] == wrong
    assert walked("check", "101", "square", *SQUARE, "--corrects", "nothing").code == 2
