"""The days off, as a page and as plain values."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from tracker.book.views import DayOffView
from tracker.reports.page import Grid, Line, Page, Tone
from tracker.text import count
from tracker.trade.answer import Plain
from tracker.trade.dates import format_day


def days_page(days: Sequence[DayOffView], today: date) -> Page:
    """The days off from today on, each with its reason and who took it out."""
    if not days:
        return (Line("No day off from today on. Take one out with: deckjobs off DAY --reason TEXT"),)
    rows = tuple(
        (format_day(view.day, today), "rain" if view.rain else "off", view.job or "all jobs", view.why, view.who)
        for view in days
    )
    rain = sum(view.rain for view in days)
    off = len(days) - rain
    told = [f"{off} {'day' if off == 1 else 'days'} off"] * bool(off) + [count(rain, "rain day")] * bool(rain)
    return (
        Line(f"{' and '.join(told)} from today on", Tone.TITLE),
        Grid(("day", "", "at", "why", "by"), rows, indent=2),
    )


def days_json(days: Iterable[DayOffView]) -> list[Plain]:
    """The days off as plain values."""
    return [
        {"date": view.day.isoformat(), "rain": view.rain, "job": view.job, "reason": view.why, "who": view.who}
        for view in days
    ]
