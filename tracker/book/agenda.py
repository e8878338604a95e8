"""The calendar of jobs: what the book knows of days to come and gone, as events."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import UTC, date, datetime, time
from functools import partial

from tracker.book.aftercare import care_views_in
from tracker.book.entries import Entry, entries_of
from tracker.book.handviews import CareView
from tracker.book.load import load_jobs, rows_of
from tracker.book.opening import Book
from tracker.book.state import JobState
from tracker.book.stock import deliveries_of
from tracker.planning.calendar import Event, EventKind
from tracker.text import count
from tracker.trade.checks.paper import INSPECTIONS, LOCATE, PERMIT
from tracker.trade.dates import format_day
from tracker.trade.phases import CARE

PAPERS = (LOCATE.key, PERMIT.key)


def agenda(
    book: Book, codes: Sequence[str], today: date, kinds: Collection[EventKind] = tuple(EventKind)
) -> tuple[Event, ...]:
    """The events of the named jobs; of every open job and of the care of all handed-over ones when none is named.

    Phases and deliveries stand where they are planned today, signed-off phases where they were. In order of their days.
    Raises InputError when there is no such job.
    """
    with book.reading() as session:
        rows = rows_of(session, codes)
        states = load_jobs(book, session, rows, today)
        entries = entries_of(session, [row.id for row in rows])
        cares = care_views_in(book, session, today, [row.id for row in rows] if codes else None)
    found: list[Event] = []
    for state in states:
        found += _events(state, _stamp(entries[state.facts.id], today))
    for job_id, view, noted in cares:
        found += _care(job_id, view, _stamp(noted, today))
    return tuple(sorted((e for e in found if e.kind in kinds), key=lambda e: (e.start, e.job)))


def _midnight(day: date) -> datetime:
    return datetime.combine(day, time(), UTC)


def _stamp(entries: Sequence[Entry], today: date) -> datetime:
    """When what the events say last changed: the last entry, or the day itself, whose plan they show."""
    return max([_midnight(today), *(entry.at.replace(microsecond=0) for entry in entries)])


def _events(state: JobState, stamp: datetime) -> Iterator[Event]:
    facts = state.facts
    event = partial(_event, job=facts.code, stamp=stamp, place=facts.place)
    for phase in state.phases:
        if phase.key == CARE:
            continue  # its days are the care dates
        plan, fold = state.plan[phase.key], state.phase_folds[phase.key]
        crew = f"crew {facts.crew}" if facts.crew and not phase.office else ""
        word = state.shown_state(phase.key).value
        by = f" by {fold.signed_by}" if state.signed(phase.key) else ""
        hold = f"hold point {phase.hold}" if phase.hold else ""
        text = "; ".join(part for part in (f"{word}{by}", crew, hold) if part)
        yield event(
            f"phase-{state.phase_ids[phase.key]}", EventKind.PHASE, phase.title, plan.start, plan.end, text=text
        )
    for delivery in deliveries_of(state):
        if delivery.promised is not None:
            lot = next(lot for lot in state.lots if lot.code == delivery.lot)
            yield event(
                f"delivery-{lot.id}", EventKind.DELIVERY,
                f"Delivery: {count(delivery.quantity, delivery.unit)} {delivery.item}", delivery.promised, delivery.promised,
                text=f"lot {delivery.lot}" + (f", from {delivery.supplier}" if delivery.supplier else ""),
            )  # fmt: skip
    for check in state.checks:
        answer = state.answer(check)
        if check.check.key in INSPECTIONS:
            looked = answer.answer.get("day") if answer else None
            day = date.fromisoformat(looked) if isinstance(looked, str) else state.plan[check.phase].end
            text = answer.headline if answer else "not before it may anything be covered up"
            yield event(
                f"inspection-{state.check_ids[check.key]}", EventKind.INSPECTION, check.check.title, day, day, text=text
            )
        elif check.check.key in PAPERS and answer is not None:
            expires = answer.answer.get("expires")
            if isinstance(expires, str):
                day = date.fromisoformat(expires)
                yield event(
                    f"paper-{state.check_ids[check.key]}", EventKind.PAPER, f"{check.check.title} runs out", day, day,
                    text=answer.headline,
                )  # fmt: skip


def _event(
    uid: str, kind: EventKind, title: str, start: date, end: date, *, job: str, stamp: datetime, place: str,
    text: str = "", months: int = 0,
) -> Event:  # fmt: skip
    return Event(
        f"{uid}.deckjobs", kind, job, f"{job} {title}", start, max(start, end), stamp, text, place, months
    )  # fmt: skip


def _care(job_id: str, view: CareView, stamp: datetime) -> Iterator[Event]:
    if view.ended:
        return
    for found in view.dates:
        task = found.task
        again = f" Every {count(task.months, 'month')}." if task.months else ""
        last = f" Last done {format_day(found.done, None)}." if found.done else ""
        yield _event(
            f"care-{task.key}-{job_id}", EventKind.CARE, task.title, found.due, found.due,
            job=view.job, stamp=stamp, place=view.place,
            text=f"{task.what}{again}{last} Source: {task.source}", months=task.months,
        )  # fmt: skip
