"""The calendar imported again after the book went on: what moved moves, what was dropped goes, the rest stays as it is.

RFC 5545: DTSTAMP section 3.8.7.2, SEQUENCE section 3.8.7.4, STATUS section 3.8.1.11. Which of two is the newer: RFC 5546,
section 2.1.5 (the higher SEQUENCE, then the later DTSTAMP).
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta

import icalendar
import pytest
import vobject

from tests.book.conftest import DAY, hand_of, job_text
from tests.handed_over import LOT, hand_over, oiled, take
from tracker.book.aftercare import end_care, record_care
from tracker.book.agenda import agenda
from tracker.book.days import add_day_off
from tracker.book.gates import reopen, sign_off, start
from tracker.book.hand import Hand
from tracker.book.houserules import set_house_rules
from tracker.book.jobs import add_note
from tracker.book.lots import order, receive
from tracker.book.opening import Book
from tracker.book.readings import record, take_back
from tracker.reports.icalendar import to_ics

NOON = hand_of("Owner Plover")
PROMISED = LOT.replace("received = 12", "promised = 2026-05-20")

TEXT = job_text(digging=True, more=PROMISED).replace('finish = "none"', 'finish = "oil"')


def written(book: Book, today: date = DAY) -> bytes:
    return to_ics(agenda(book, ["101"], today, dropped=True), "Deck jobs")


def parsed(data: bytes) -> dict[str, icalendar.Event]:
    """The events by UID, read by one parser and seen alike by the other."""
    calendar = icalendar.Calendar.from_ical(data)
    found = {str(part["uid"]): part for part in calendar.walk("VEVENT") if isinstance(part, icalendar.Event)}
    for other in vobject.readOne(data.decode()).vevent_list:
        event = found[other.uid.value]
        assert int(other.sequence.value) == event.decoded("sequence")
        assert other.status.value == str(event["status"]) in ("CONFIRMED", "CANCELLED")
        assert other.dtstart.value == event.decoded("dtstart")
    return found


class Importer:
    """A calendar of somebody's own: by UID it keeps the newer event and drops what was cancelled."""

    def __init__(self) -> None:
        self.known: dict[str, icalendar.Event] = {}

    def take(self, data: bytes) -> None:
        for uid, event in parsed(data).items():
            there = self.known.get(uid)
            if there is None or _rank(event) > _rank(there):
                self.known[uid] = event

    @property
    def shows(self) -> dict[str, tuple[date, date]]:
        return {
            str(event["summary"]): (event.decoded("dtstart"), event.decoded("dtend"))
            for event in self.known.values()
            if str(event["status"]) != "CANCELLED"
        }


def _rank(event: icalendar.Event) -> tuple[int, datetime]:
    return event.decoded("sequence"), event.decoded("dtstamp")


def in_book(book: Book, today: date) -> dict[str, tuple[date, date]]:
    return {event.title: (event.start, event.after) for event in agenda(book, ["101"], today)}


def off(book: Book) -> None:
    add_day_off(book, NOON, DAY + timedelta(days=1), "fair")


def rain(book: Book) -> None:
    add_day_off(book, NOON, DAY, "storm", job="101", rain=True)


ACTS: dict[str, Callable[[Book], object]] = {
    "a day off": off,
    "rain": rain,
    "a phase started": lambda book: start(book, NOON, "101", "visit"),
    "a phase signed off": lambda book: sign_off(book, NOON, "101", "visit"),
    "a phase reopened": lambda book: reopen(book, NOON, "101", "visit", "wrong fence"),
    "a ticket read": lambda book: record(
        book, NOON, "101", "locate", ["T-1", "called=2026-05-05", "expires=2026-05-22", "answered=yes", "private=yes"]
    ),
    "its reading taken back": lambda book: take_back(book, NOON, "101", "locate", "the wrong ticket"),
    "material ordered": lambda book: order(book, NOON, "101", "P1", 3, promised=date(2026, 5, 27)),
    "material received": lambda book: receive(book, NOON, "101", "P1", 15),
    "a later start": lambda book: take(book, NOON, TEXT.replace("start = 2026-05-04", "start = 2026-06-01")),
    "no finish any more": lambda book: take(book, NOON, TEXT.replace('finish = "oil"', 'finish = "none"')),
}


def test_every_act_reaches_a_calendar_that_imports_again_though_the_clock_stands_still(book: Book) -> None:
    """One importer reads the file after every act, all of them by one moment of the clock."""
    take(book, NOON, TEXT)
    mine = Importer()
    mine.take(written(book))
    assert mine.shows == in_book(book, DAY)
    for act, do in ACTS.items():
        before = parsed(written(book))
        do(book)
        data = written(book)
        after = parsed(data)
        assert data == written(book), act
        for uid, event in after.items():
            if (old := before.get(uid)) is None:
                continue
            assert _rank(event) >= _rank(old), act
            if any(event.get(name) != old.get(name) for name in ("dtstart", "dtend", "status")):
                assert event.decoded("sequence") > old.decoded("sequence"), (act, event["summary"])
                assert event.decoded("dtstamp") > old.decoded("dtstamp"), (act, event["summary"])
        mine.take(data)
        assert mine.shows == in_book(book, DAY), act


def test_the_plan_that_moves_because_a_day_went_by_moves_in_the_calendar(book: Book) -> None:
    take(book, NOON, TEXT)
    mine = Importer()
    for day in range(40):
        today = DAY + timedelta(days=day)
        mine.take(written(book, today))
        assert mine.shows == in_book(book, today)


def test_a_dropped_phase_is_cancelled_under_the_id_it_had(book: Book) -> None:
    take(book, NOON, TEXT)
    before = {str(event["summary"]): event for event in parsed(written(book)).values()}
    take(book, NOON, TEXT.replace('finish = "oil"', 'finish = "none"'))
    gone = parsed(written(book))[str(before["26-101 Finish"]["uid"])]
    assert (str(gone["status"]), str(gone["summary"])) == ("CANCELLED", "26-101 Finish")
    assert gone.decoded("sequence") > before["26-101 Finish"].decoded("sequence")
    assert "26-101 Finish" not in {event.title for event in agenda(book, ["101"], DAY)}


def test_a_delivery_that_came_stands_on_the_day_it_came(book: Book) -> None:
    take(book, NOON, TEXT)
    receive(book, hand_of("Lead Wren", date(2026, 5, 15)), "101", "P1", 12)
    (event,) = [e for e in agenda(book, ["101"], DAY) if e.kind.value == "delivery"]
    assert (event.title, event.start) == ("26-101 Came: 12 boards 2x6x12", date(2026, 5, 15))


def test_a_note_changes_no_byte(book: Book) -> None:
    take(book, NOON, TEXT)
    before = written(book)
    add_note(book, NOON, "101", "gate code 1234")
    assert written(book) == before


@pytest.mark.parametrize("act", ["done for good", "ended", "reopened"])
def test_care_that_is_not_to_come_any_more_is_cancelled(book: Book, hand: Hand, act: str) -> None:
    take(book, hand, oiled())
    hand_over(book, hand, without=("care",))
    mine = Importer()
    mine.take(written(book))
    settle = "26-101 Fasteners and blocks, once it has settled"
    assert settle in mine.shows
    if act == "done for good":
        record_care(book, NOON, "101", "settle")
    elif act == "ended":
        end_care(book, NOON, "101", "the house was sold")
    else:
        reopen(book, NOON, "101", "hand-over", "the client was not there")
    mine.take(written(book))
    assert settle not in mine.shows
    assert mine.shows == in_book(book, DAY)


def test_a_house_rule_that_moves_the_plan_moves_the_calendar(book: Book, hand: Hand) -> None:
    take(book, hand, TEXT)
    before = parsed(written(book))
    set_house_rules(book, hand, {"locate_lead": "5"})
    after = parsed(written(book))
    moved = [uid for uid in after if after[uid].decoded("dtstart") != before[uid].decoded("dtstart")]
    assert moved
    assert all(after[uid].decoded("sequence") > before[uid].decoded("sequence") for uid in moved)
