"""Hours as a crew lead types them."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import InputError
from tracker.trade.worktime import Worked, parse_hours


@pytest.mark.parametrize(
    ("text", "worked"),
    [
        ("6h", Worked("", 0, 360, "")), ("6 h", Worked("", 0, 360, "")), ("6", Worked("", 0, 360, "")),
        ("6:30", Worked("", 0, 390, "")), ("6.5 h", Worked("", 0, 390, "")), ("6,5h", Worked("", 0, 390, "")),
        ("7h30", Worked("", 0, 450, "")), ("90 min", Worked("", 0, 90, "")), ("6 hours", Worked("", 0, 360, "")),
        ("3 x 7h30", Worked("", 3, 450, "")), ("3x7:30", Worked("", 3, 450, "")), ("2 × 4h", Worked("", 2, 240, "")),
        ("frame 6h", Worked("frame", 0, 360, "")), ("6 h frame", Worked("frame", 0, 360, "")),
        ("6h frame, rain from noon", Worked("frame", 0, 360, "rain from noon")),
        ("3 x 7h30 deck boards", Worked("deck boards", 3, 450, "")), ("rough-in 0.25h", Worked("rough-in", 0, 15, "")),
        ("24h", Worked("", 0, 1440, "")),
    ],
)  # fmt: skip
def test_hours_are_read(text: str, worked: Worked) -> None:
    assert parse_hours(text) == worked


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "no hours are given"), ("frame", "not understood as hours"), ("25h", "more than a day"), ("0h", "no time"),
        ("-3h", "never negative"), ("6:75", "more than an hour"), ("0 x 6h", "no crew"), ("99 x 6h", "no crew"),
        ("6h 7h", "not understood"), ("9h9", "not understood"), ("6:3", "not understood"), ("6..5h", "not understood"),
    ],
)  # fmt: skip
def test_what_is_no_hours_says_so(text: str, why: str) -> None:
    with pytest.raises(InputError, match=why) as refused:
        parse_hours(text)
    assert refused.value.hint


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("6h yesterday", date(2026, 5, 11)), ("yesterday 6h frame", date(2026, 5, 11)), ("frame 6h today", date(2026, 5, 12)),
        ("6h 2026-05-08 frame", date(2026, 5, 8)), ("6h Tue", date(2026, 5, 12)), ("6h frame wed", date(2026, 5, 6)),
        ("6h monday frame", date(2026, 5, 11)), ("6h frame, back on Friday", None), ("6h frame", None),
    ],
)  # fmt: skip
def test_the_day_may_stand_among_the_words(text: str, day: date | None) -> None:
    worked = parse_hours(text, date(2026, 5, 12))  # a Tuesday
    assert (worked.minutes, worked.day) == (360, day)
    assert worked.phase == ("frame" if "frame" in text else "")


def test_two_days_on_one_line_are_refused() -> None:
    with pytest.raises(InputError, match="two days"):
        parse_hours("6h yesterday mon", date(2026, 5, 12))


@given(st.integers(1, 1440), st.integers(1, 50), st.sampled_from(["", "frame", "deck boards"]))
def test_whatever_is_written_out_reads_back(minutes: int, people: int, phase: str) -> None:
    text = f"{people} x {minutes // 60}:{minutes % 60:02d} {phase}"
    assert parse_hours(text) == Worked(phase, people, minutes, "")


@given(st.text(max_size=30))
def test_no_text_is_more_than_refused(text: str) -> None:
    try:
        worked = parse_hours(text)
    except InputError:
        return
    assert 0 < worked.minutes <= 1440
