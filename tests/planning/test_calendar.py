"""Events: half-open spans, repeated days, and what cannot be an event."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from tracker.planning.calendar import REPEATED_YEARS, Event, EventKind

STAMP = datetime(2026, 5, 12, tzinfo=UTC)


def event(start: date, end: date, months: int = 0) -> Event:
    return Event("x", EventKind.CARE, "26-101", "Wash", start, end, STAMP, months=months)


def test_the_span_ends_on_the_day_after_the_last_over_month_and_leap_year() -> None:
    assert event(date(2026, 5, 29), date(2026, 5, 31)).after == date(2026, 6, 1)
    assert event(date(2028, 2, 28), date(2028, 2, 28)).after == date(2028, 2, 29)


@given(st.dates(date(2020, 1, 1), date(2080, 1, 28)).filter(lambda day: day.day <= 28), st.sampled_from([6, 12, 24]))
def test_a_repeated_event_comes_every_so_many_months_on_its_day(day: date, months: int) -> None:
    days = list(event(day, day, months).days())
    assert days == [day + relativedelta(months=months * n) for n in range(REPEATED_YEARS * 12 // months)]


def test_one_that_comes_once_comes_once() -> None:
    assert list(event(date(2026, 5, 31), date(2026, 6, 2)).days()) == [date(2026, 5, 31)]


def test_an_event_that_ends_before_it_starts_or_that_short_months_lack_is_refused() -> None:
    with pytest.raises(ValueError, match="ends before"):
        event(date(2026, 5, 2), date(2026, 5, 1))
    with pytest.raises(ValueError, match="short months"):
        event(date(2026, 8, 31), date(2026, 8, 31), 6)
