"""Care after the hand-over: when each thing is due, what was done, and the reminders.

Care done is a note with ``"care": KEY`` in its body; the end of care one with ``"care": "ended"``. This module alone knows
that shape.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

import sqlalchemy as sql
from sqlmodel import Session, col, select

from tracker.book.entries import Draft, Entry, append, entries_of
from tracker.book.fold import fold_phase, in_force
from tracker.book.hand import Hand
from tracker.book.handviews import CareView, Reminder
from tracker.book.load import find_job, load_house, parsed
from tracker.book.once import once
from tracker.book.opening import Book
from tracker.book.people import known
from tracker.book.tables import JobRow, PhaseRow
from tracker.book.views import PhaseState, Recorded
from tracker.errors import InputError, RefusedError
from tracker.text import NOTE_LIMIT, accept, clean, count, listing, near
from tracker.trade.care import care_dates, care_tasks
from tracker.trade.dates import format_day

AHEAD = timedelta(days=14)
_ENDED = "ended"
_HANDED, _FINISH = "hand-over", "finish"


def fold_care(entries: Iterable[Entry]) -> tuple[dict[str, date], str]:
    """The last day each task was done, by key, and why care has ended (empty: it has not)."""
    done: dict[str, date] = {}
    ended = ""
    for entry in in_force(entries):
        if entry.kind == "note" and (key := entry.body.get("care")):
            if key == _ENDED:
                ended = entry.body["why"]
            else:
                done[key] = max(entry.day, done.get(key, entry.day))
    return done, ended


def care_of(book: Book, code: str, today: date) -> CareView:
    """The care dates of a handed-over job; raises RefusedError before the hand-over."""
    with book.reading() as session:
        return _care(book, session, find_job(session, code), today)


def _care(book: Book, session: Session, row: JobRow, today: date) -> CareView:
    found = [view for _, view, _ in _views(book, session, [row], today)]
    if not found:
        raise RefusedError(
            f"{row.code} is not handed over: its care dates count from that day",
            f"sign it off: deckjobs signoff {row.code} {_HANDED}",
        )
    return found[0]


def reminders(book: Book, today: date) -> tuple[Reminder, ...]:
    """Care of all handed-over jobs that is overdue or due within 14 days, the longest overdue first."""
    with book.reading() as session:
        return reminders_in(book, session, today)


def reminders_in(book: Book, session: Session, today: date) -> tuple[Reminder, ...]:
    """``reminders`` inside the caller's transaction."""
    out = [
        Reminder(view.job, view.title, found.task.key, found.due, _reminder_text(found.task.title, found.due, today))
        for _, view, _ in care_views_in(book, session, today)
        for found in view.dates
        if not view.ended and found.due <= today + AHEAD
    ]
    return tuple(sorted(out, key=lambda reminder: (reminder.due, reminder.job, reminder.task)))


def care_views_in(
    book: Book, session: Session, today: date, only: Sequence[str] | None = None
) -> list[tuple[str, CareView, list[Entry]]]:
    """The id, the care and the entries of every handed-over job (of those with the ids ``only``), by code."""
    ids = [job_id for job_id in handed_over_ids(session) if only is None or job_id in only]
    rows = session.exec(select(JobRow).where(col(JobRow.id).in_(ids)).order_by(col(JobRow.code))).all()
    return _views(book, session, rows, today)


def _reminder_text(title: str, due: date, today: date) -> str:
    days = (today - due).days
    when = format_day(due, today)
    if days > 0:
        return f"was due {when}, {count(days, 'day')} ago: {title}"
    return f"due {'today' if days == 0 else when}: {title}"


def handed_over_ids(session: Session) -> Sequence[str]:
    """Ids of jobs whose hand-over was ever signed off."""
    query = sql.text(
        "SELECT DISTINCT phase.job_id FROM phase JOIN entry ON entry.phase_id = phase.id AND entry.kind = 'phase'"
        " WHERE phase.key = :key AND phase.dropped = 0 AND json_extract(entry.body, '$.event') = 'signed off'"
    )
    return [row.job_id for row in session.connection().execute(query, {"key": _HANDED})]


def _views(
    book: Book, session: Session, rows: Sequence[JobRow], today: date
) -> list[tuple[str, CareView, list[Entry]]]:
    """The id, the care and the entries of those jobs that are handed over."""
    house, ids = load_house(session), [row.id for row in rows]
    entries = entries_of(session, ids, today)
    phases = session.exec(select(PhaseRow).where(col(PhaseRow.job_id).in_(ids), PhaseRow.dropped == 0))
    keys = {(phase.job_id, phase.key): phase.id for phase in phases if phase.key in (_HANDED, _FINISH)}
    out: list[tuple[str, CareView, list[Entry]]] = []
    for row in rows:
        days: dict[str, date | None] = {}
        for key in (_HANDED, _FINISH):
            phase_id = keys.get((row.id, key))
            fold = fold_phase(entry for entry in entries[row.id] if phase_id and entry.phase_id == phase_id)
            days[key] = fold.signed_off if fold.state is PhaseState.SIGNED_OFF else None
        handed = days[_HANDED]
        if handed is None:
            continue
        done, ended = fold_care(entries[row.id])
        spec = parsed(book, row, house).spec
        dates = care_dates(spec, handed, days[_FINISH], done)
        due = {found.task.key for found in dates}
        settled = tuple(task for task in care_tasks(spec) if task.key not in due)
        view = CareView(row.code, row.title, row.client, row.place, handed, dates, ended, settled)
        out.append((row.id, view, entries[row.id]))
    return out


def record_care(book: Book, hand: Hand, code: str, key: str, *, entry_id: str | None = None) -> Recorded:
    """Record that a care task was done today; the next one counts from today.

    Raises InputError for a task the deck does not have, RefusedError before the hand-over.
    """
    with book.writing() as session:
        return _record_care_in(book, session, hand, code, key, entry_id)


@once("care done")
def _record_care_in(
    book: Book, session: Session, hand: Hand, code: str, key: str, entry_id: str | None
) -> Recorded:  # fmt: skip
    row = find_job(session, code)
    view = _care(book, session, row, hand.day)
    tasks = {task.key: task for task in care_tasks(parsed(book, row, load_house(session)).spec)}
    wanted = key.strip().lower()
    if wanted not in tasks:
        raise InputError(
            f"{row.code} has no care {clean(key)[:40]!r}{near(wanted, tasks)}", f"it has {listing(tasks, 'and')}"
        )
    if wanted not in {found.task.key for found in view.dates}:
        raise RefusedError(f"{tasks[wanted].title} was done for good", "nothing was recorded")
    known(session, hand)
    task = tasks[wanted]
    draft = Draft("note", {"text": f"care done: {task.title}", "care": wanted}, job_id=row.id)
    appended = append(session, hand, draft, entry_id)
    return Recorded(appended.id, False, f"{row.code}: {task.title.lower()} done", appended.notices)


def end_care(book: Book, hand: Hand, code: str, why: str, *, entry_id: str | None = None) -> Recorded:
    """Record that nobody comes for care any more, and why: no reminders and no care dates from then on.

    Raises RefusedError when the deck is not handed over or its care has ended, InputError for no reason or no such job.
    """
    with book.writing() as session:
        return _end_care_in(book, session, hand, code, why, entry_id)


@once("end of care")
def _end_care_in(
    book: Book, session: Session, hand: Hand, code: str, why: str, entry_id: str | None
) -> Recorded:  # fmt: skip
    why = accept(why, "the reason", limit=NOTE_LIMIT - 100)
    row = find_job(session, code)
    if _care(book, session, row, hand.day).ended:
        raise RefusedError(f"the care of {row.code} has ended already", "nothing was recorded")
    known(session, hand)
    draft = Draft("note", {"text": f"care ended: {why}", "care": _ENDED, "why": why}, job_id=row.id)
    appended = append(session, hand, draft, entry_id)
    return Recorded(appended.id, False, f"{row.code}: care ended: {clean(why)}", appended.notices)
