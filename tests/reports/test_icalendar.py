"""The calendar file: read back by two parsers of RFC 5545, the days right across a change of the clocks, nothing injected."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject
from dateutil.relativedelta import relativedelta
from dateutil.rrule import rrulestr
from hypothesis import given
from hypothesis import strategies as st

from tests.book.conftest import hand_of
from tests.handed_over import LOT, hand_over, oiled, take
from tracker.book.agenda import agenda
from tracker.book.opening import open_book
from tracker.planning.calendar import Event, EventKind
from tracker.reports.icalendar import to_ics

STAMP = datetime(2026, 5, 12, 17, 30, 5, tzinfo=UTC)
ZONES = ("America/New_York", "Europe/Berlin", "Australia/Lord_Howe", "Pacific/Kiritimati", "UTC")


def event(
    title: str = "26-101 Wash", start: date = date(2026, 3, 28), end: date | None = None, *, text: str = "",
    place: str = "", months: int = 0, uid: str = "care-wash-1.deckjobs",
) -> Event:  # fmt: skip
    return Event(uid, EventKind.CARE, "26-101", title, start, end or start, STAMP, text, place, months)


def read(data: bytes) -> list[icalendar.Event]:
    calendar = icalendar.Calendar.from_ical(data)
    assert isinstance(calendar, icalendar.Calendar)
    assert not calendar.errors
    found = [part for part in calendar.walk("VEVENT") if isinstance(part, icalendar.Event)]
    assert not any(part.errors for part in found)
    return found


def rule(found: icalendar.Event) -> str:
    """The repeat rule as it is written."""
    lines = str(found.to_ical().decode()).replace("\r\n ", "").split("\r\n")
    return next(line.removeprefix("RRULE:") for line in lines if line.startswith("RRULE:"))


@pytest.fixture(params=ZONES)
def zone(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[ZoneInfo]:
    """The machine's own clock in another zone."""
    monkeypatch.setenv("TZ", request.param)
    time.tzset()
    yield ZoneInfo(request.param)
    monkeypatch.undo()
    time.tzset()


def test_both_parsers_read_back_what_was_written() -> None:
    data = to_ics(
        [event(text="two; parts, one \\ slash\nnext line", place="Back yard; gate left", months=6)], "Deck jobs"
    )
    (found,) = read(data)
    assert str(found["summary"]) == "26-101 Wash"
    assert str(found["description"]) == "two; parts, one \\ slash\nnext line"
    assert str(found["location"]) == "Back yard; gate left"
    assert (found.decoded("dtstart"), found.decoded("dtend")) == (date(2026, 3, 28), date(2026, 3, 29))
    assert found.decoded("dtstamp") == STAMP
    other = vobject.readOne(data.decode()).vevent
    assert other.summary.value == "26-101 Wash"
    assert other.description.value == "two; parts, one \\ slash\nnext line"
    assert (other.dtstart.value, other.dtend.value) == (date(2026, 3, 28), date(2026, 3, 29))
    assert other.uid.value == "care-wash-1.deckjobs"


def test_days_do_not_move_over_a_change_of_the_clocks_in_any_zone(zone: ZoneInfo) -> None:
    """Clocks change on 8 March 2026 in New York, on 29 March in Berlin, on 5 April on Lord Howe (tz database)."""
    spans = [
        (date(2026, 3, 7), date(2026, 3, 9)),
        (date(2026, 3, 28), date(2026, 3, 30)),
        (date(2026, 4, 4), date(2026, 4, 5)),
    ]
    events = [event(start=first, end=last, uid=f"{n}.deckjobs") for n, (first, last) in enumerate(spans)]
    data = to_ics(events, "Deck jobs")
    assert b"DTSTART;VALUE=DATE:20260307\r\n" in data
    assert [(f.decoded("dtstart"), f.decoded("dtend") - timedelta(days=1)) for f in read(data)] == spans
    for (
        first,
        last,
    ) in spans:  # a day has 23 hours where the clock is put on: the count of days does not come from hours
        hours = datetime(last.year, last.month, last.day, tzinfo=zone).timestamp() - datetime(
            first.year, first.month, first.day, tzinfo=zone
        ).timestamp()  # fmt: skip
        assert abs(hours / 86_400 - (last - first).days) < 0.05
    assert data == to_ics(events, "Deck jobs")


def test_the_whole_way_from_the_sign_off_to_the_calendar_in_any_zone(zone: ZoneInfo, tmp_path: Path) -> None:
    """By hand: handed over Thursday 26 February 2026; 45 days later (2 + 31 + 12) is 12 April, over both changes."""
    path = tmp_path / "jobs.book"
    book = open_book(path)
    try:
        day = date(2026, 2, 26)
        take(book, hand_of("Owner Plover", day), oiled(more=LOT).replace("2026-05-04", "2026-02-02"))
        hand_over(book, hand_of("Owner Plover", day), without=("care",))
        events = agenda(book, ["101"], day, [EventKind.CARE])
        data = to_ics(events, "Deck jobs")
        assert data == to_ics(agenda(book, ["101"], day, [EventKind.CARE]), "Deck jobs")
    finally:
        book.close()
    found = {str(f["summary"]): f for f in read(data)}
    assert found["26-101 Fasteners and blocks, once it has settled"].decoded("dtstart") == date(2026, 4, 12)
    assert found["26-101 Gaps swept clear"].decoded("dtstart") == date(2026, 8, 26)
    assert found["26-101 Oil again"].decoded("dtstart") == date(2027, 2, 26)


@given(st.dates(date(2020, 1, 1), date(2090, 1, 1)).filter(lambda d: d.day <= 28), st.sampled_from([6, 12, 24]))
def test_a_repeated_date_is_expanded_alike_by_dateutil_and_by_the_other_parser(day: date, months: int) -> None:
    wanted = event(start=day, months=months)
    data = to_ics([wanted], "Deck jobs")
    (found,) = read(data)
    start = datetime(day.year, day.month, day.day)
    expanded = [moment.date() for moment in rrulestr(rule(found), dtstart=start)]
    assert expanded == list(wanted.days()) == [day + relativedelta(months=months * n) for n in range(len(expanded))]
    other = vobject.readOne(data.decode()).vevent
    assert [moment.date() for moment in other.rruleset] == expanded


HOSTILE = "wash\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nSUMMARY:never\x00\x1b]0;x\x07 \u202egnp\u2028"


def test_nothing_typed_becomes_a_line_of_its_own() -> None:
    data = to_ics([event(HOSTILE, text=HOSTILE, place=HOSTILE)], HOSTILE)
    assert data.count(b"\r\nBEGIN:VEVENT\r\n") == data.count(b"\r\nEND:VEVENT\r\n") == 1
    assert not any(byte < 32 and byte not in (10, 13) for byte in data)
    (found,) = read(data)
    assert str(found["summary"]).startswith("wash END:VEVENT")
    assert "\u202e" not in str(found["summary"])


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=300))
def test_any_text_is_folded_within_75_octets_and_read_back_whole(text: str) -> None:
    """RFC 5545, section 3.1: lines of at most 75 octets without the line break, never inside a character here."""
    plain = "".join(c for c in text if c.isprintable()).strip()
    data = to_ics([event(f"26-101 木材 {plain}")], "Deck jobs")
    lines = data.split(b"\r\n")
    assert lines[-1] == b""
    assert b"\n" not in b"".join(lines)
    for line in lines:
        assert len(line) <= 75
        line.decode("utf-8")
    (found,) = read(data)
    assert "".join(str(found["summary"]).split()) == "".join(f"26-101木材{plain}".split())


def test_the_file_says_what_rfc_5545_asks_for() -> None:
    lines = to_ics([event()], "Deck jobs").decode().split("\r\n")
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-2:] == ["END:VCALENDAR", ""]
    assert {"VERSION:2.0", "PRODID:-//deckjobs//job calendar//EN", "UID:care-wash-1.deckjobs",
            "DTSTAMP:20260512T173005Z", "TRANSP:TRANSPARENT"} <= set(lines)  # fmt: skip


def test_an_empty_calendar_is_still_one() -> None:
    assert read(to_ics([], "Deck jobs")) == []
    assert os.linesep.encode() not in to_ics([], "Deck jobs").replace(b"\r\n", b"")
