"""Days as people type them: year-month-day of ISO 8601, and the words for the days around today."""

from __future__ import annotations

import calendar
from datetime import date, timedelta

import pytest
from dateutil.parser import isoparse
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import InputError
from tracker.trade.dates import EXAMPLE, format_day, format_days, format_long_day, parse_day, with_years

TODAY = date(2026, 2, 28)


@given(st.dates(date(2000, 1, 1), date(2099, 12, 31)))
def test_every_day_of_the_century_reads_as_iso_8601_says(day: date) -> None:
    text = day.isoformat()
    assert parse_day(text) == parse_day(f"  {text} ") == isoparse(text).date() == day


@pytest.mark.parametrize(
    ("word", "day"),
    [
        ("today", date(2026, 2, 28)), ("TODAY ", date(2026, 2, 28)), ("tomorrow", date(2026, 3, 1)),
        ("yesterday", date(2026, 2, 27)), ("2026-05-12", date(2026, 5, 12)),
    ],
)  # fmt: skip
def test_words_count_from_the_day_given(word: str, day: date) -> None:
    assert parse_day(word, TODAY) == day


def test_a_29_february_is_a_day_only_in_a_leap_year() -> None:
    for year in range(2000, 2100):
        if calendar.isleap(year):
            assert parse_day(f"{year}-02-29") == date(year, 2, 29)
        else:
            with pytest.raises(InputError, match="is not a day of the calendar"):
                parse_day(f"{year}-02-29")


def test_the_days_of_a_53rd_week_are_days_like_others() -> None:
    # ISO 8601: a year that begins on a Thursday has 53 weeks; 2026 does.
    day = parse_day("2026-12-31")
    assert (day.isocalendar().week, parse_day("tomorrow", day)) == (53, date(2027, 1, 1))


TWO, NOT, CALENDAR, OUTSIDE = (
    "could be two different days",
    "is not a date",
    "is not a day of the calendar",
    "is outside 2000-2099",
)
REFUSED = [
    ("2026-02-30", CALENDAR), ("2026-13-01", CALENDAR), ("2026-00-10", CALENDAR), ("0000-01-01", CALENDAR),
    ("13/13/26", TWO), ("03/04/2026", TWO), ("3.4.26", TWO), ("3-4-2026", TWO), ("99999-01-01", NOT),
    ("1970-01-01", OUTSIDE), ("1999-12-31", OUTSIDE), ("2100-01-01", OUTSIDE), ("0001-01-01", OUTSIDE),
    ("2026-W53-4", NOT), ("2026-365", NOT), ("20260512", NOT), ("2026-5-12", NOT), ("2026/05/12", NOT), ("", NOT),
    ("12 May 2026", NOT), ("today", NOT), ("2026-05-12T10:00", NOT), ("-2026-05-12", NOT),
    ("２０２６-05-12", NOT), ("٢٠٢٦-٠٥-١٢", NOT), ("2026-05-12\x00", NOT),
]  # fmt: skip


@pytest.mark.parametrize(("text", "why"), REFUSED)
def test_refusals_say_why_and_what_would_be_right(text: str, why: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_day(text)
    assert caught.value.message == f"{text!r} {why}"
    assert caught.value.hint == EXAMPLE
    assert parse_day(EXAMPLE.split()[3]) == date(2026, 5, 12)


@given(st.text(max_size=30))
def test_any_text_is_a_day_or_refused(text: str) -> None:
    try:
        day = parse_day(text, TODAY)
    except InputError as error:
        assert error.hint == EXAMPLE
    else:
        assert 2000 <= day.year <= 2099


def test_a_pasted_page_is_refused_in_a_short_line() -> None:
    for page in ("9" * 1_000_000, " " * 1_000_000):
        with pytest.raises(InputError) as caught:
            parse_day(page)
        assert len(caught.value.message) < 80


@given(st.dates(date(2000, 1, 1), date(2099, 12, 31)))
def test_printed_days(day: date) -> None:
    # The C locale's English names, independent of strftime.
    name, month = calendar.day_name[day.weekday()], calendar.month_name[day.month]
    assert format_long_day(day) == f"{name} {day.day} {month} {day.year}"
    short = f"{name[:3]} {day.day} {month[:3]}"
    assert format_day(day, day) == short
    assert format_day(day, day.replace(year=day.year + 1, day=1)) == format_day(day, None) == f"{short} {day.year}"


@pytest.mark.parametrize(
    ("first", "last", "today", "said"),
    [
        (date(2026, 5, 12), date(2026, 5, 12), 2026, "Tue 12 May"),
        (date(2026, 5, 12), date(2026, 5, 14), 2026, "Tue 12 to Thu 14 May"),
        (date(2026, 5, 12), date(2026, 5, 14), 2027, "Tue 12 to Thu 14 May 2026"),
        (date(2026, 5, 29), date(2026, 6, 1), 2026, "Fri 29 May to Mon 1 Jun"),
        (date(2026, 5, 29), date(2026, 6, 1), 2025, "Fri 29 May 2026 to Mon 1 Jun 2026"),
        (date(2026, 12, 30), date(2027, 1, 4), 2026, "Wed 30 Dec 2026 to Mon 4 Jan 2027"),
        (date(2026, 5, 29), date(2027, 5, 31), 2026, "Fri 29 May 2026 to Mon 31 May 2027"),
    ],
)
def test_days_from_one_to_another_carry_the_year_when_it_is_not_this_one(
    first: date, last: date, today: int, said: str
) -> None:
    assert format_days(first, last, date(today, 12, 1)) == said


@given(st.dates(date(2001, 1, 1), date(2098, 12, 31)), st.integers(-200, 200))
def test_a_kept_text_gets_the_years_its_days_left_out(written: date, away: int) -> None:
    """A day printed without its year is of the year it was written in, or of the next or last one: its weekday tells."""
    day = written + timedelta(days=away)
    known = format_day(day, day)
    assert with_years(f"good to {known}; then", written) == f"good to {known} {day.year}; then"
    assert with_years(f"good to {known} 1999", written) == f"good to {known} 1999"
    assert with_years("Mon 45 May is no day, nor is Fri 30 Feb", written) == "Mon 45 May is no day, nor is Fri 30 Feb"


@pytest.mark.parametrize(
    ("typed", "day"),
    [
        ("wed", "2026-05-13"),
        ("Fri", "2026-05-15"),
        ("monday", "2026-05-18"),
        ("tue", "2026-05-19"),
        ("sun", "2026-05-17"),
    ],
)
def test_a_weekday_is_the_next_one(typed: str, day: str) -> None:
    tuesday = date(2026, 5, 12)
    assert parse_day(typed, tuesday) == date.fromisoformat(day)
    with pytest.raises(InputError):
        parse_day(typed)
