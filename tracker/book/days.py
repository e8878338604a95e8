"""Days off and rain days, as entries: they move the plan."""

from __future__ import annotations

from datetime import date

from sqlmodel import Session

from tracker.book.entries import Draft, append
from tracker.book.gates import already_recorded
from tracker.book.hand import Hand
from tracker.book.load import find_job
from tracker.book.opening import Book
from tracker.book.people import known
from tracker.book.views import Recorded
from tracker.text import accept
from tracker.trade.dates import format_day


def add_day_off(
    book: Book,
    hand: Hand,
    day: date,
    why: str = "",
    *,
    job: str = "",
    rain: bool = False,
    works: bool = False,
    entry_id: str | None = None,
) -> Recorded:
    """Take a day out of the calendar: for one job, or for all; ``rain`` stops outdoor work only; ``works`` gives it back."""
    with book.writing() as session:
        return add_day_in(session, hand, day, why, job, rain, works, entry_id)


def add_day_in(
    session: Session,
    hand: Hand,
    day: date,
    why: str = "",
    job: str = "",
    rain: bool = False,
    works: bool = False,
    entry_id: str | None = None,
) -> Recorded:
    """``add_day_off`` inside the caller's transaction."""
    if done := already_recorded(session, entry_id, "day", job):
        return done
    job_id = find_job(session, job).id if job else ""
    body = {"date": day.isoformat(), "rain": rain, "works": works, "why": accept(why, "the reason", empty=True)}
    known(session, hand)
    appended = append(session, hand, Draft("day", body, job_id=job_id), entry_id)
    word = "a working day again" if works else "a rain day" if rain else "a day off"
    return Recorded(appended.id, appended.already, f"{format_day(day, hand.day)} is {word}", appended.notices)
