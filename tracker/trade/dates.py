"""Working days as ``date`` values, typed by people and printed for them."""

from __future__ import annotations

import re
from datetime import date, timedelta

from tracker.errors import InputError

FIRST_YEAR, LAST_YEAR = 2000, 2099
_RELATIVE = {"today": 0, "tomorrow": 1, "yesterday": -1}
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
EXAMPLE = "write it like 2026-05-12 (year-month-day), today, tomorrow or fri"


def parse_day(text: str, today: date | None = None, *, past: bool = False) -> date:
    """Return the day typed as ``2026-05-12``, or ``today``, ``tomorrow``, ``yesterday`` when ``today`` is given.

    A weekday (``fri``) is the next one after ``today``, with ``past`` the last that was. Raises InputError for any other form: ``03/04/2026`` is two different days in two countries.
    """
    raw = text.strip().lower()
    if today is not None and raw in _RELATIVE:
        return today + timedelta(days=_RELATIVE[raw])
    if today is not None and len(raw) >= 3 and (named := [n for n, day in enumerate(WEEKDAYS) if day.startswith(raw)]):
        back = (today.weekday() - named[0]) % 7
        return today - timedelta(days=back) if past else today + timedelta(days=7 - back)
    if re.fullmatch(r"[0-9]{1,2}[/.-][0-9]{1,2}[/.-][0-9]{2,4}", raw):
        raise InputError(f"{raw!r} could be two different days", EXAMPLE)
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", raw):
        raise InputError(f"{text.strip()[:40]!r} is not a date", EXAMPLE)
    try:
        day = date.fromisoformat(raw)
    except ValueError:
        raise InputError(f"{raw!r} is not a day of the calendar", EXAMPLE) from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise InputError(f"{raw!r} is outside {FIRST_YEAR}-{LAST_YEAR}", EXAMPLE)
    return day


def format_day(day: date) -> str:
    """Print a day as ``Tue 12 May``: short enough for a table."""
    return f"{day:%a} {day.day} {day:%b}"


def format_long_day(day: date) -> str:
    """Print a day as ``Tuesday 12 May 2026``."""
    return f"{day:%A} {day.day} {day:%B %Y}"
