"""Days off, people, rules, and the care of the book."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.commands.conftest import Deck


def test_a_day_off_moves_the_plan(deck: Deck) -> None:
    deck.take()
    before = deck("jobs", "--json").json["jobs"][0]["planned_end"]
    for day in ("2026-05-13", "2026-05-14"):
        assert deck("off", day, "--reason", "town fair").code == 0
    after = deck("jobs", "--json").json["jobs"][0]["planned_end"]
    assert after > before
    for day in ("2026-05-13", "2026-05-14"):
        assert deck("off", day, "--works").code == 0
    assert deck("jobs", "--json").json["jobs"][0]["planned_end"] == before


def test_a_rain_day_at_one_job(deck: Deck) -> None:
    deck.take()
    result = deck("off", "tomorrow", "--rain", "--job", "101")
    assert result.code == 0 and "rain day" in result.out
    assert deck("off", "tomorrow", "--rain", "--job", "999").code == 2
    assert deck("off", "tomorrow", "--rain", "--works").code == 2


def test_people_are_listed_and_allowed(deck: Deck) -> None:
    deck.take()
    assert deck("people", "--json").json["people"][0]["name"] == "Rosa (invented)"
    assert deck("people", "--allow", "Ana (invented)", "--role", "crew lead").code == 0
    found = {p["name"]: p for p in deck("people", "--json").json["people"]}
    assert found["Ana (invented)"]["may_waive"] and found["Ana (invented)"]["role"] == "crew lead"
    assert deck("people", "--disallow", "Ana (invented)").code == 0
    assert "Ana (invented)" in deck("people").out
    assert deck("people", "--allow", "A", "--disallow", "B").code == 2
    assert deck("people", "--allow", " ").code == 2


def test_rules_are_listed_with_sources_before_there_is_a_book(deck: Deck) -> None:
    text = deck("rules").out
    assert "square_medium" in text and "common practice" in text
    assert not deck.path.exists()


def test_a_house_rule_keeps_the_default_in_sight_and_can_be_put_back(deck: Deck) -> None:
    assert deck("rules", "--set", "level=3/16").code == 0
    rule = deck("rules", "--json").json["rules"]["level"]
    # 3/16 in = 4.7625 mm
    assert rule["figure"] == {"text": '3/16"', "mm": 4.7625} and rule["source"] == "house rule"
    text = " ".join(deck("rules").out.split())
    assert "level 3/16 in highest minus lowest" in text and "(house rule; instead of 1/4 in (common" in text
    assert deck("rules", "--set", "level=").code == 0
    assert deck("rules", "--json").json["rules"]["level"]["figure"]["text"] == '1/4"'
    metric = deck("rules", "--metric", "--set", "level=5", "--json").json["rules"]["level"]["figure"]
    assert metric == {"text": "5 mm", "mm": 5.0}


@pytest.mark.parametrize("pair", ["level", "levl=1/4", "level=-1/4", "level=1/3", "crew_size=two"])
def test_a_wrong_rule_changes_nothing(deck: Deck, pair: str) -> None:
    deck.take()
    before = deck("rules", "--json").json
    result = deck("rules", "--set", "square_small=1/16", "--set", pair)
    assert result.code == 2 and result.err.startswith("deckjobs: ")
    assert deck("rules", "--json").json == before


def test_a_rules_file_is_taken_in(deck: Deck) -> None:
    path = deck.home / "house.toml"
    path.write_text('[rules]\nlevel = "1/8"\n', "utf-8")
    assert deck("rules", str(path)).code == 0
    assert deck("rules", "--json").json["rules"]["level"]["figure"]["text"] == '1/8"'
    path.write_text('[rules]\nlevl = "1/8"\n', "utf-8")
    assert deck("rules", str(path)).code == 2


def test_backup_and_restore(deck: Deck) -> None:
    deck.take()
    copy = deck.home / "copy.book"
    assert deck("backup", str(copy)).code == 0
    again = deck("backup", str(copy))
    assert again.code in (2, 3) and str(copy) in again.err
    assert deck("note", "101", "after the copy").code == 0
    asked = deck("restore", str(copy))
    assert asked.code == 2 and "--yes" in asked.err
    assert "after the copy" in deck("show", "101").out
    result = deck("restore", str(copy), "--yes", "--json")
    assert result.code == 0
    assert "after the copy" not in deck("show", "101").out
    assert Path(result.json["kept"]).is_file()


def test_doctor_finds_a_changed_entry_that_sqlite_does_not(deck: Deck) -> None:
    deck.take()
    assert deck("note", "101", "rim is 42 in from the wall").code == 0
    assert "sound" in deck("doctor").out
    data = deck.path.read_bytes()
    assert b"rim is 42 in" in data
    deck.path.write_bytes(data.replace(b"rim is 42 in", b"rim is 12 in"))
    result = deck("doctor")
    assert result.code == 3 and "DAMAGE" in result.out


def test_a_book_that_is_none_is_refused_untouched(deck: Deck) -> None:
    deck.path.write_text("my shopping list", "utf-8")
    for words in (["jobs"], ["take", deck.file()], ["doctor"], ["report"]):
        result = deck(*words)
        assert result.code == 3 and result.err.startswith("deckjobs: ")
    assert deck.path.read_text("utf-8") == "my shopping list"
