"""The calendar as a page: what is still to come, day by day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from tracker.planning.calendar import Event
from tracker.reports.page import Grid, Line, Page, Tone
from tracker.text import count
from tracker.trade.dates import format_days


def agenda_page(events: Sequence[Event], today: date) -> Page:
    """Events that are not over, in order of their days; those of other years say their year."""
    ahead = [event for event in events if event.end >= today or event.months]
    if not ahead:
        return (Line("Nothing is in the calendar from today on."),)
    rows = tuple(
        (format_days(event.start, event.end, today), event.kind.value, event.title, _again(event)) for event in ahead
    )
    return (
        Line(f"{count(len(ahead), 'thing')} in the calendar", Tone.TITLE),
        Grid(("days", "", "what", ""), rows, indent=2),
    )


def _again(event: Event) -> str:
    return f"every {count(event.months, 'month')}" if event.months else ""
