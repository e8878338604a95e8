"""Events as an iCalendar file (RFC 5545), written by the library icalendar: it escapes, folds and ends the lines."""

from __future__ import annotations

from collections.abc import Iterable

from tracker.planning.calendar import Event
from tracker.text import clean

PRODUCT = "-//deckjobs//job calendar//EN"


def to_ics(events: Iterable[Event], name: str) -> bytes:
    """The events as one calendar called ``name``; the same events always give the same bytes.

    All events are of whole days (``VALUE=DATE``), the end exclusive, and leave the person free. An event that was moved
    carries a later DTSTAMP and a higher SEQUENCE (RFC 5545, sections 3.8.7.2 and 3.8.7.4), one that takes place no more the
    STATUS CANCELLED (section 3.8.1.11): a calendar that imports the file again moves the one and drops the other.
    """
    import icalendar

    calendar = icalendar.Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("name", clean(name))  # RFC 7986, section 5.1
    for event in events:
        entry = icalendar.Event()
        entry.add("uid", event.uid)
        entry.add("dtstamp", event.stamp)
        entry.add("sequence", event.sequence)
        entry.add("status", "CANCELLED" if event.dropped else "CONFIRMED")
        entry.add("dtstart", event.start)
        entry.add("dtend", event.after)
        if event.months:
            entry.add("rrule", {"freq": "monthly", "interval": event.months, "count": event.times})
        entry.add("summary", clean(event.title))
        if event.text:
            entry.add("description", clean(event.text, lines=True))
        if event.place:
            entry.add("location", clean(event.place))
        entry.add("categories", [event.kind.value])
        entry.add("transp", "TRANSPARENT")
        calendar.add_component(entry)
    written: bytes = calendar.to_ical()
    return written
