"""The history on pages: what a search finds, and a whole entry."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.book.historyviews import HistoryLine
from tracker.reports.historypages import Search, entry_page, history_json, history_page, when_words
from tracker.reports.page import plain
from tracker.trade.answer import Answer, Limit, Verdict

ANSWER = Answer(
    headline="1/2 in between the diagonals",
    inputs={},
    answer={},
    working=("racking = (AC2 - BD2) / (4 x width) = 0.33 in",),
    source="plane geometry",
    verdict=Verdict.FAILED,
    moves=("push the back edge 5/16 in to the left",),
    limits=(Limit("between the diagonals", "1/8 in", "house rule", "instead of 1/4 in"),),
    caution="Hands clear of the corners.",
)
BASE = HistoryLine(
    number=1, id="019e1ba5-a0e0-759a-a080-8d694bb63fca", kind="note", about="note", said="twelve blocks short",
    at=datetime(2026, 5, 12, 12, 0, tzinfo=UTC), day=date(2026, 5, 12), who="R. Stone", device="tablet", corrects="",
    corrected_by=(), taken_back_by="", standing="", entered=(), answer=None, reason="", facts=(), everywhere=False, takes_back=False, seq=3,
    digest="ab" * 32, prev="cd" * 32,
)  # fmt: skip
READING = replace(
    BASE, number=2, id="019e1ba5-a0e0-759a-a080-8d694bb63fcb", kind="reading", about="Frame square",
    said="Frame square failed: 1/2 in between the diagonals", entered=(("ac", "18' 7-1/2"),), answer=ANSWER,
    facts=(("unit", "in"),), who="M. Holt", day=date(2026, 5, 11), at=datetime(2026, 5, 11, 12, 0, tzinfo=UTC),
)  # fmt: skip
LATER = replace(BASE, number=3, id="later", said="may be 12 boards more", day=date(2026, 6, 1),
                at=datetime(2026, 6, 1, 12, 0, tzinfo=UTC))  # fmt: skip
LINES = (BASE, READING, LATER)


@pytest.mark.parametrize(
    ("words", "numbers"),
    [
        ("", [1, 2, 3]),
        ("SQUARE holt", [2]),
        ("18' 7-1/2", [2]),
        ("ac=18'", [2]),
        ("push left", [2]),
        ("racking", [2]),
        ("corners", [2]),
        ("house rule", [2]),
        ("stone", [1, 3]),
        ("12 may", [1]),
        ("12 May 2026", [1]),
        ("12 may 2025", []),
        ("11 may square", [2]),
        ("12 boards", [3]),
        ("2026-06-01", [3]),
        ("mon 11 may", [2]),
        ("019e1ba5", [1, 2]),
        ("ab", []),
        ("abababab", [1, 2, 3]),
        ("square stone", []),
    ],
)
def test_a_search_finds_words_in_all_that_is_shown_and_days_by_their_date(words: str, numbers: list[int]) -> None:
    assert [line.number for line in Search(LINES).find(words)] == numbers


@given(st.text(max_size=40))
def test_any_text_may_be_sought(text: str) -> None:
    assert all(line in LINES for line in Search(LINES).find(text))


@given(st.sampled_from(LINES), st.data())
def test_every_run_of_letters_of_a_line_finds_it(line: HistoryLine, data: st.DataObject) -> None:
    words = [word for word in line.said.split() if word.isalpha()]
    chosen = data.draw(st.lists(st.sampled_from(words), min_size=1, max_size=3))
    assert line in Search(LINES).find(" ".join(chosen))


def test_a_whole_entry_shows_values_working_limits_source_caution_and_its_place_in_the_chain() -> None:
    corrected = replace(READING, corrected_by=("later",), standing="corrected")
    text = plain(entry_page(corrected, {"later": 3}))
    for part in (
        "entry 2: (corrected) Frame square failed", "M. Holt", "Monday 11 May 2026", "corrected by  entry 3", "18' 7-1/2",
        "push the back edge", "racking = ", "1/8 in (house rule); instead of 1/4 in", "plane geometry", "Hands clear",
        "entry 3 of that device", "ab" * 32, "cd" * 32,
    ):  # fmt: skip
        assert part in text, part


def test_the_list_says_how_many_of_how_many() -> None:
    assert plain(history_page("26-101", [READING], 3, date(2026, 5, 12))).startswith("26-101: 1 of 3 entries")
    assert "none of its 3 entries" in plain(history_page("26-101", [], 3, date(2026, 5, 12)))
    assert "nothing has been recorded" in plain(history_page("26-101", [], 0, date(2026, 5, 12)))


def test_an_entry_of_another_year_shows_its_year() -> None:
    old = replace(BASE, at=datetime(2025, 5, 12, 12, 0, tzinfo=UTC), day=date(2025, 5, 12))
    assert when_words(old, date(2026, 5, 12)) == "12 May 2025"
    assert when_words(BASE, date(2026, 5, 12)).startswith("Tue 12 May ")


def test_json_has_every_field_under_its_key() -> None:
    table = history_json("26-101", [READING], 3)
    entries = table["entries"]
    assert table["total"] == 3 and isinstance(entries, list) and isinstance(entries[0], dict)
    assert entries[0]["entered"] == {"ac": "18' 7-1/2"}
    assert set(entries[0]) == {field.name for field in fields(HistoryLine)}
