"""Days off as a list: from one day to another, from a file of lines or an iCalendar file, and the public holidays of a place.

Public holidays are those of the library holidays, the days they are observed on included; whether a crew works on one is
the owner's to say.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from tracker.errors import InputError, InputErrors
from tracker.text import accept, clean, listing, near
from tracker.trade.dates import LAST_YEAR, parse_day

LONGEST = 400
"""Days in one range, a bound of this program: longer than any shop is shut."""
YEARS_AHEAD = 2
"""A repeated event of a calendar file is taken for so many years."""
_RANGE = re.compile(r"(?P<first>\S+?)(?:(?:\s+to\s+|\s*\.\.\s*)(?P<last>\S+))?(?:\s+(?P<why>.*))?")
_PLACE = re.compile(r"([A-Za-z]{2})(?:-([A-Za-z0-9]{1,3}))?")
EXAMPLE = "write a line as 2026-12-24 to 2027-01-01 shop closed, or 2026-05-25 Memorial Day"


@dataclass(frozen=True, slots=True)
class OffDay:
    """A day nobody works, and why."""

    day: date
    why: str


def days_between(first: date, last: date, why: str) -> tuple[OffDay, ...]:
    """Every day from ``first`` to ``last``, both included. Raises InputError for an end before the start or a range too long."""
    if last < first:
        raise InputError(f"{last} is before {first}", "give the first day, then the last")
    if (days := (last - first).days + 1) > LONGEST:
        raise InputError(f"{first} to {last} are {days} days", f"give at most {LONGEST} at once")
    return tuple(OffDay(first + timedelta(days=n), why) for n in range(days))


def days_of_file(data: bytes, name: str, today: date) -> tuple[OffDay, ...]:
    """The days of a file: an iCalendar file by what it begins with, else lines. Raises InputErrors with every bad line."""
    if data.lstrip(b"\xef\xbb\xbf\r\n \t")[:15].upper() == b"BEGIN:VCALENDAR":
        return _days_of_calendar(data, name, today)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(f"{clean(name)} is neither UTF-8 text nor an iCalendar file", EXAMPLE) from None
    found: list[OffDay] = []
    wrong: list[str] = []
    for number, line in enumerate(text.splitlines(), 1):
        told = line.partition("#")[0].strip()
        if not told:
            continue
        try:
            found += _days_of_line(told, today)
        except InputError as error:
            wrong.append(f"{clean(name)}, line {number}: {error.message}")
    if wrong:
        raise InputErrors(wrong, EXAMPLE)
    if not found:
        raise InputError(f"{clean(name)} has no day in it", EXAMPLE)
    return _each_once(found)


def _days_of_line(line: str, today: date) -> tuple[OffDay, ...]:
    match = _RANGE.fullmatch(line)
    assert match is not None  # a line that is not empty always has a first word
    first = parse_day(match["first"], today)
    last = parse_day(match["last"], today) if match["last"] else first
    return days_between(first, last, accept(match["why"] or "day off", "the reason"))


def _days_of_calendar(data: bytes, name: str, today: date) -> tuple[OffDay, ...]:
    """The days of events that were not canceled; repeated ones for two years from today on."""
    import icalendar

    try:
        calendar = icalendar.Calendar.from_ical(data)
    except (ValueError, KeyError, IndexError) as error:
        raise InputError(
            f"{clean(name)} is no iCalendar file: {clean(str(error))[:80]}", "export it again (.ics)"
        ) from None
    found: list[OffDay] = []
    for event in calendar.walk("VEVENT"):
        if str(event.get("status", "")).upper() == "CANCELLED" or "dtstart" not in event:
            continue
        first = _local(event.decoded("dtstart"))
        last = _last_day(event, first)
        why = accept(clean(str(event.get("summary", ""))).strip()[:200] or "day off", "the reason")
        for start in _repeats(event, first, today):
            found += days_between(start, start + (last - first), why)
    if not found:
        raise InputError(f"{clean(name)} has no event with a day", "export a calendar of holidays or days off")
    return _each_once(found)


def _local(moment: date | datetime) -> date:
    """A day as it is; the local day of a moment, its own where it names no zone."""
    if not isinstance(moment, datetime):
        return moment
    return (moment.astimezone() if moment.tzinfo else moment).date()


def _last_day(event: object, first: date) -> date:
    from icalendar import Event

    assert isinstance(event, Event)
    if "dtend" in event:
        end = event.decoded("dtend")
        # The end is exclusive (RFC 5545, section 3.6.1); of a moment at midnight the day before is the last.
        whole = not isinstance(end, datetime) or end.time() == time()
        return max(first, _local(end) - timedelta(days=1 if whole else 0))
    if "duration" in event:
        days: int = event.decoded("duration").days
        return max(first, first + timedelta(days=days - 1))
    return first


def _repeats(event: object, first: date, today: date) -> Iterator[date]:
    from dateutil.rrule import rrulestr
    from icalendar import Event

    assert isinstance(event, Event)
    if "rrule" not in event:
        yield first
        return
    start = datetime.combine(first, time())
    until = datetime.combine(today.replace(month=12, day=31), time()) + timedelta(days=365 * YEARS_AHEAD)
    text = re.sub(r"(UNTIL=[0-9]{8})T[0-9]{6}Z?", r"\1", str(event.decoded("rrule").to_ical(), "ascii"))
    for moment in rrulestr(text, dtstart=start).between(datetime.combine(today, time()), until, inc=True):
        yield moment.date()


def _each_once(days: Iterable[OffDay]) -> tuple[OffDay, ...]:
    """In order of the days; the reasons of a day that comes twice are joined."""
    whys: dict[date, dict[str, None]] = {}
    for found in days:
        whys.setdefault(found.day, {})[found.why] = None
    return tuple(OffDay(day, "; ".join(why)) for day, why in sorted(whys.items()))


def public_holidays(place: str, year: int) -> tuple[OffDay, ...]:
    """The public holidays of a country, or of a state of it (``US``, ``US-OH``), in a year, on the days they are kept.

    Raises InputError for a place or a year the library does not know.
    """
    import holidays

    match = _PLACE.fullmatch(place.strip())
    known = holidays.list_supported_countries()
    country, state = (match[1].upper(), (match[2] or "").upper()) if match else ("", "")
    if country not in known:
        raise InputError(
            f"{clean(place)[:20]!r} is no country whose holidays are known", "give one like US, or a state like US-OH"
        )
    if state and state not in known[country]:
        raise InputError(
            f"{country} has no part {clean(state)!r}{near(state, known[country])}",
            f"it has {listing(known[country], 'and')}",
        )
    if not 2000 <= year <= LAST_YEAR:
        raise InputError(f"the year {year} is outside 2000-{LAST_YEAR}", "give one like 2027")
    kept = holidays.country_holidays(country, subdiv=state or None, years=year, language=None)
    return tuple(OffDay(day, clean(str(why))) for day, why in sorted(kept.items()) if day.year == year)
