"""Days worth writing in a calendar: phases, deliveries, inspections, papers that run out, care. Pure.

Every event is of whole local days, so that no change of the clocks and no other time zone can move it. A repeated one
follows RFC 5545, section 3.3.10 (computed by dateutil).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import StrEnum

from dateutil.rrule import MONTHLY, rrule

REPEATED_YEARS = 10
"""A repeated event ends after so many years: by then somebody has looked at the deck again."""


class EventKind(StrEnum):
    """What an event is of."""

    PHASE = "phase"
    DELIVERY = "delivery"
    INSPECTION = "inspection"
    PAPER = "paper"
    CARE = "care"


@dataclass(frozen=True, slots=True)
class Event:
    """One event of the job ``job``: from day ``start`` to day ``end``, both included.

    ``uid`` is the same each time the calendar is made; ``stamp`` is the aware moment of the last change of what it was made
    from, ``sequence`` how many changes there were, which only rises. ``months`` is the interval of a repeated event, 0 for
    one that comes once; such a one starts on the 28th of a month at the latest. ``dropped``: it takes place no more.
    """

    uid: str
    kind: EventKind
    job: str
    title: str
    start: date
    end: date
    stamp: datetime
    text: str = ""
    place: str = ""
    months: int = 0
    sequence: int = 0
    dropped: bool = False

    def __post_init__(self) -> None:
        if self.end < self.start:
            raise ValueError(f"{self.title} ends before it starts")
        if self.months and self.start.day > 28:
            raise ValueError(f"{self.title} would be left out in short months")

    @property
    def after(self) -> date:
        """The day after the last one: where a calendar's half-open span ends (RFC 5545, section 3.6.1)."""
        return self.end + timedelta(days=1)

    @property
    def times(self) -> int:
        """How often it comes."""
        return 1 if not self.months else max(REPEATED_YEARS * 12 // self.months, 1)

    def days(self) -> Iterator[date]:
        """The first day of each time it comes."""
        if not self.months:
            yield self.start
            return
        for moment in rrule(
            MONTHLY, interval=self.months, count=self.times, dtstart=datetime.combine(self.start, time())
        ):
            yield moment.date()
