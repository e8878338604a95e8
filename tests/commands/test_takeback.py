"""Taking a reading back from a shell: what is printed, the exit codes, what the history keeps."""

from __future__ import annotations

import pytest

from tests.commands.conftest import Deck
from tests.commands.test_checks import RACKED, SQUARE
from tracker.book.ids import new_id


def test_the_last_reading_is_taken_back_and_stays_in_the_history(walked: Deck) -> None:
    walked("check", "101", "square", *SQUARE)
    walked("check", "101", "square", *RACKED)
    before = walked.entries()
    done = walked("check", "101", "square", "--take-back", "--reason", "the tape hung on a nail")
    assert done.code == 0 and "is taken back; the one before is in force again: passed" in done.out
    assert walked.entries() == before + 1
    check = walked("check", "101", "square", "--json").json["check"]
    assert check["state"] == "passed"
    assert [bool(reading["withdrawn"]) for reading in check["readings"]] == [False, True]
    assert "the tape hung on a nail" in check["readings"][1]["withdrawn"]
    assert "was taken back: the tape hung on a nail" in " ".join(walked("check", "101").out.split())
    assert walked("doctor").code == 0


def test_nothing_to_take_back_exits_1(walked: Deck) -> None:
    refused = walked("check", "101", "level", "--take-back", "--reason", "a slip")
    assert refused.code == 1 and "no reading in force" in refused.err


@pytest.mark.parametrize(
    "words",
    [
        ("square", "--take-back"),
        ("square", "--take-back", "--reason", "  "),
        ("square", "--reason", "a slip"),
        ("--take-back", "--reason", "a slip"),
        ("square", "11'", "--take-back", "--reason", "a slip"),
        ("square", "--corrects", "x", "--take-back", "--reason", "a slip"),
    ],
)
def test_what_makes_no_sense_exits_2_and_records_nothing(walked: Deck, words: tuple[str, ...]) -> None:
    walked("check", "101", "square", *SQUARE)
    before = walked.entries()
    wrong = walked("check", "101", *words)
    assert wrong.code == 2 and "--take-back" in wrong.err
    assert walked.entries() == before


def test_the_same_id_takes_back_once(walked: Deck) -> None:
    walked("check", "101", "square", *SQUARE)
    walked("check", "101", "square", *RACKED)
    entry = new_id()
    words = ("check", "101", "square", "--take-back", "--reason", "a slip", "--id", entry)
    assert walked(*words, "--json").json["already"] is False
    assert walked(*words, "--json").json["already"] is True
    assert walked("check", "101", "square", "--json").json["check"]["state"] == "passed"
