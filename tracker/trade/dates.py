"""Working days as ``date`` values, typed by people and printed for them."""

from __future__ import annotations

import re
from datetime import date, timedelta

from tracker.errors import InputError

FIRST_YEAR, LAST_YEAR = 2000, 2099
_RELATIVE = {"today": 0, "tomorrow": 1, "yesterday": -1}
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_SHORT = "|".join(name[:3].title() for name in WEEKDAYS)
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_PRINTED = re.compile(rf"\b({_SHORT}) ([0-9]{{1,2}}) ({'|'.join(_MONTHS)})\b(?! [0-9]{{4}})")
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


def format_day(day: date, today: date | None) -> str:
    """Print a day as ``Tue 12 May``, with its year when that is another one than the year of ``today``.

    Without ``today`` the year always stands there: on paper and in texts that are kept and read in other years.
    """
    year = "" if today is not None and day.year == today.year else f" {day.year}"
    return f"{day:%a} {day.day} {day:%b}{year}"


def format_days(first: date, last: date, today: date | None) -> str:
    """Print days from ``first`` to ``last`` as ``Tue 12 May``, ``Tue 12 to Thu 14 May`` or ``Fri 29 May to Mon 1 Jun``.

    Years as in ``format_day``; both days carry theirs as soon as one must, unless it is one month of one year.
    """
    if first == last:
        return format_day(first, today)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first:%a} {first.day} to {format_day(last, today)}"
    if today is not None and (first.year, last.year) != (today.year, today.year):
        today = None
    return f"{format_day(first, today)} to {format_day(last, today)}"


def with_years(text: str, written: date) -> str:
    """A text kept since ``written``, with the year put to each day that ``format_day`` printed without one.

    Such a day was of that year or, as its weekday tells, of one beside it.
    """

    def dated(found: re.Match[str]) -> str:
        weekday, number, month = found.groups()
        for year in (written.year, written.year + 1, written.year - 1):
            try:
                day = date(year, _MONTHS.index(month) + 1, int(number))
            except ValueError:
                continue
            if f"{day:%a}" == weekday:
                return f"{found[0]} {year}"
        return found[0]

    return _PRINTED.sub(dated, text)


def format_long_day(day: date) -> str:
    """Print a day as ``Tuesday 12 May 2026``."""
    return f"{day:%A} {day.day} {day:%B %Y}"
