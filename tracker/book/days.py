"""Days off and rain days, as entries: they move the plan."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import sqlalchemy as sql
from sqlmodel import Session, select

from tracker.book.entries import Draft, append, plain
from tracker.book.fold import in_force
from tracker.book.hand import Hand
from tracker.book.load import find_job
from tracker.book.once import once
from tracker.book.opening import Book
from tracker.book.people import known
from tracker.book.tables import EntryRow, JobRow
from tracker.book.views import DayOffView, Recorded
from tracker.errors import RefusedError
from tracker.planning.daysoff import OffDay
from tracker.planning.schedule import WEEKDAYS
from tracker.text import accept, count
from tracker.trade.dates import format_day, format_days


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
        return add_day_in(book, session, hand, day, why, job, rain, works, entry_id)


@once("day")
def add_day_in(
    book: Book,
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
    job_id = find_job(session, job).id if job else ""
    body = {"date": day.isoformat(), "rain": rain, "works": works, "why": accept(why, "the reason", empty=True)}
    known(session, hand)
    appended = append(session, hand, Draft("day", body, job_id=job_id), entry_id)
    word = "a working day again" if works else "a rain day" if rain else "a day off"
    return Recorded(appended.id, False, f"{format_day(day, hand.day)} is {word}", appended.notices)


def days_off(book: Book, since: date | None = None) -> tuple[DayOffView, ...]:
    """The days off and rain days in force (from ``since`` on), in order."""
    with book.reading() as session:
        return _in_force(session, since)


def _in_force(session: Session, since: date | None = None) -> tuple[DayOffView, ...]:
    codes = {row.id: row.code for row in session.exec(select(JobRow))}
    columns = EntryRow.__table__.c  # type: ignore[attr-defined]  # plain rows: a book has many entries
    rows = session.connection().execute(sql.select(columns).where(columns.kind == "day").order_by(columns.arrived))
    there: dict[tuple[date, bool, str], DayOffView] = {}
    for entry in in_force(plain(row) for row in rows):
        day, rain, job = date.fromisoformat(entry.body["date"]), bool(entry.body["rain"]), codes.get(entry.job_id, "")
        if entry.body.get("works"):
            there.pop((day, rain, job), None)
        else:
            there[day, rain, job] = DayOffView(day, rain, job, entry.body["why"], entry.who)
    found = (view for view in there.values() if since is None or view.day >= since)
    return tuple(sorted(found, key=lambda view: (view.day, view.job, view.rain)))


def _what_is_out(there: Sequence[DayOffView], days: Sequence[OffDay], code: str, rain: bool) -> str:
    """How to take back what is out on these days after all: of the other kind, or of another job or of all."""
    asked = {found.day for found in days}
    views = [view for view in there if view.day in asked]
    views = [view for view in views if view.job == code] or views
    if not views:
        return "deckjobs off lists those there are"
    view = views[0]
    same = sorted(other.day for other in views if (other.job, other.rain) == (view.job, view.rain))
    kind = "rain day" if view.rain else "day off"
    whose = f" of {view.job}" if view.job else " of every job" if code else ""
    span = " ".join(dict.fromkeys((same[0].isoformat(), same[-1].isoformat())))
    options = (" --rain" if view.rain else "") + (f" --job {view.job}" if view.job else "")
    how = f"deckjobs off {span} --works{options}"
    if len(same) == 1:
        return f"it is a {kind}{whose}: take it back with {how}"
    return f"there are {len(same)} {kind.replace('day', 'days')}{whose}: take them back with {how}"


def add_days_off(
    book: Book,
    hand: Hand,
    days: Sequence[OffDay],
    *,
    job: str = "",
    rain: bool = False,
    works: bool = False,
    entry_id: str | None = None,
) -> Recorded:
    """Take a list of days out of the calendar, or with ``works`` those of them that are out back in, in one transaction.

    Weekends, and days that are out already, are left as they are. Raises RefusedError when that leaves nothing to do.
    """
    with book.writing() as session:
        return _add_days_in(book, session, hand, days, job, rain, works, entry_id)


@once("days")
def _add_days_in(
    book: Book, session: Session, hand: Hand, days: Sequence[OffDay], job: str, rain: bool, works: bool,
    entry_id: str | None,
) -> Recorded:  # fmt: skip
    code = find_job(session, job).code if job else ""
    there = _in_force(session)
    out = {view.day for view in there if (view.job, view.rain) == (code, rain)}
    todo = [
        found for found in days
        if (found.day in out if works else found.day not in out and found.day.weekday() in WEEKDAYS)
    ]  # fmt: skip
    kind = "rain day" if rain else "day off"
    if not todo:
        span = format_days(days[0].day, days[-1].day, hand.day)
        if works:
            raise RefusedError(f"{span}: no {kind} to take back", _what_is_out(there, days, code, rain))
        raise RefusedError(f"{span}: weekends, and days that are off already", "nothing was recorded")
    notices: tuple[str, ...] = ()
    first = ""
    for number, found in enumerate(todo):
        identity = None if number else entry_id
        done_now = add_day_in(book, session, hand, found.day, found.why, job, rain, works, identity)
        first = first or done_now.id
        notices = notices or done_now.notices
    if len(todo) == 1:
        return Recorded(first, False, done_now.text, notices)
    span = format_days(todo[0].day, todo[-1].day, hand.day)
    word = "working days again" if works else f"{kind}s".replace("day offs", "days off")
    left = len(days) - len(todo)
    if left and not works:
        notices += (f"{count(left, 'day')} left out: weekends, and what is off already",)
    return Recorded(first, False, f"{len(todo)} {word}, {span}", notices)
