"""The calendar of jobs: what the book knows of days to come and gone, as events."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial

from sqlmodel import Session, col, select

from tracker.book.aftercare import care_views_in
from tracker.book.entries import Entry, entries_of
from tracker.book.handviews import CareView
from tracker.book.load import load_jobs, rows_of
from tracker.book.opening import Book
from tracker.book.revisions import MOVING, Changed, Revision, of_entries, of_versions, revision
from tracker.book.state import JobState
from tracker.book.stock import units_of
from tracker.book.tables import CheckRow, PhaseRow
from tracker.planning.calendar import Event, EventKind
from tracker.text import count
from tracker.trade.care import CareTask, care_tasks
from tracker.trade.checks.paper import INSPECTIONS, LOCATE, PERMIT
from tracker.trade.checks.registry import BY_KEY as CHECKS
from tracker.trade.dates import format_day
from tracker.trade.phases import BY_KEY as PHASES
from tracker.trade.phases import CARE, HAND_OVER

PAPERS = (LOCATE.key, PERMIT.key)


@dataclass(frozen=True, slots=True)
class _Gone:
    """Phases and checks a job has no more, and its entries: what its calendar once showed."""

    phases: Sequence[PhaseRow]
    checks: Sequence[CheckRow]
    entries: Sequence[Entry]


def agenda(
    book: Book,
    codes: Sequence[str],
    today: date,
    kinds: Collection[EventKind] = tuple(EventKind),
    *,
    dropped: bool = False,
) -> tuple[Event, ...]:
    """The events of the named jobs; of every open job and of the care of all handed-over ones when none is named.

    Phases and deliveries stand where they are planned today, signed-off phases where they were, deliveries that came on the
    day they came. With ``dropped`` what stood in the calendar and takes place no more is there too, and says so. In order
    of their days. Raises InputError when there is no such job.
    """
    with book.reading() as session:
        rows = rows_of(session, codes)
        states = load_jobs(book, session, rows, today)
        entries = entries_of(session, [row.id for row in rows])
        cares = care_views_in(book, session, today, [row.id for row in rows] if codes else None)
        versions = {
            job_id: of_versions(session, job_id) for job_id in {*entries, *(care[0] for care in cares)} if job_id
        }
        gone = {row.id: _gone(session, row.id, entries[row.id]) for row in rows}
    everywhere = of_entries(entries[""])
    found: list[Event] = []
    for state in states:
        job_id = state.facts.id
        known = revision((of_entries(entries[job_id]), everywhere, versions[job_id]), today)
        found += _events(state, known, gone[job_id])
    handed = {job_id for job_id, _, _ in cares}
    for job_id, view, noted in cares:
        found += _care(job_id, view, _revised(noted, versions[job_id], today))
    for state in states:
        if state.facts.id not in handed:
            known = _revised(entries[state.facts.id], versions[state.facts.id], today)
            found += _no_care(state, known, entries[state.facts.id])
    chosen = (event for event in found if event.kind in kinds and (dropped or not event.dropped))
    return tuple(sorted(chosen, key=lambda event: (event.start, event.job)))


def _revised(entries: Sequence[Entry], versions: Sequence[Changed], today: date) -> Revision:
    """The revision of what is told of a deck's care: by its entries and by the notes that say what was done."""
    return revision((of_entries(entries, (*MOVING, "note")), versions), today)


def _gone(session: Session, job_id: str, entries: Sequence[Entry]) -> _Gone:
    phases = session.exec(select(PhaseRow).where(PhaseRow.job_id == job_id, PhaseRow.dropped == 1))
    checks = session.exec(
        select(CheckRow).where(
            CheckRow.job_id == job_id, CheckRow.dropped == 1, col(CheckRow.check_key).in_((*INSPECTIONS, *PAPERS))
        )
    )
    return _Gone(tuple(phases), tuple(checks), entries)


def _events(state: JobState, known: Revision, gone: _Gone) -> Iterator[Event]:
    facts = state.facts
    event = partial(_event, job=facts.code, known=known, place=facts.place)
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
    yield from _deliveries(state, event, gone.entries)
    for check in state.checks:
        answer = state.answer(check)
        if check.check.key in INSPECTIONS:
            looked = answer.answer.get("day") if answer else None
            day = date.fromisoformat(looked) if isinstance(looked, str) else state.plan[check.phase].end
            text = answer.headline if answer else "not before it may anything be covered up"
            yield event(
                f"inspection-{state.check_ids[check.key]}", EventKind.INSPECTION, check.check.title, day, day, text=text
            )
        elif check.check.key in PAPERS:
            once = [view.answer.answer.get("expires") for view in state.check_folds[check.key].readings]
            expires = answer.answer.get("expires") if answer else None
            told = [day for day in (*once, expires) if isinstance(day, str)]
            if told:
                day = date.fromisoformat(told[-1])
                yield event(
                    f"paper-{state.check_ids[check.key]}", EventKind.PAPER, f"{check.check.title} runs out", day, day,
                    text=answer.headline if answer else "", dropped=not isinstance(expires, str),
                )  # fmt: skip
    for row in gone.phases:
        if row.key in PHASES and row.key != CARE:
            yield event(
                f"phase-{row.id}", EventKind.PHASE, PHASES[row.key].title, facts.start, facts.start, dropped=True
            )
    for old in gone.checks:
        kind = EventKind.PAPER if old.check_key in PAPERS else EventKind.INSPECTION
        title = CHECKS[old.check_key].title + (" runs out" if kind is EventKind.PAPER else "")
        yield event(f"{kind.value}-{old.id}", kind, title, facts.start, facts.start, dropped=True)


def _deliveries(state: JobState, event: partial[Event], entries: Sequence[Entry]) -> Iterator[Event]:
    """A lot still to come on the day promised; one that came on the day it came; one that comes no more as dropped."""
    promised: dict[str, date] = {}
    for entry in entries:
        if entry.kind == "movement" and entry.body.get("promised"):
            promised[entry.lot_id] = date.fromisoformat(entry.body["promised"])
    units = units_of(state)
    for lot in state.lots:
        day = lot.fold.promised or promised.get(lot.id)
        if day is None:
            continue
        coming, came = lot.fold.promised is not None and lot.fold.on_order, lot.fold.came
        number = lot.fold.on_order if coming else lot.fold.received
        what = count(number, units.get(lot.item, "piece")) + f" {lot.item}" if coming or came else lot.item
        if not coming and came:
            day = came
        yield event(
            f"delivery-{lot.id}", EventKind.DELIVERY, f"{'Delivery' if coming or not came else 'Came'}: {what}", day, day,
            text=f"lot {lot.code}" + (f", from {lot.supplier}" if lot.supplier else ""),
            dropped=not coming and not came,
        )  # fmt: skip


def _event(
    uid: str, kind: EventKind, title: str, start: date, end: date, *, job: str, known: Revision, place: str,
    text: str = "", months: int = 0, dropped: bool = False,
) -> Event:  # fmt: skip
    return Event(
        f"{uid}.deckjobs", kind, job, f"{job} {title}", start, max(start, end), known.stamp, text, place, months,
        known.sequence, dropped,
    )  # fmt: skip


def _care(job_id: str, view: CareView, known: Revision) -> Iterator[Event]:
    event = partial(_event, job=view.job, known=known, place=view.place)
    for found in view.dates:
        task = found.task
        again = f" Every {count(task.months, 'month')}." if task.months else ""
        last = f" Last done {format_day(found.done, None)}." if found.done else ""
        yield event(
            _care_uid(task, job_id), EventKind.CARE, task.title, found.due, found.due,
            text=f"{task.what}{again}{last} Source: {task.source}", months=task.months, dropped=bool(view.ended),
        )  # fmt: skip
    for task in view.settled:
        yield event(
            _care_uid(task, job_id), EventKind.CARE, task.title, view.handed_over, view.handed_over, dropped=True
        )


def _no_care(state: JobState, known: Revision, entries: Sequence[Entry]) -> Iterator[Event]:
    """The care of a deck whose hand-over was signed off and is no more: its days are none."""
    facts = state.facts
    handed = [
        entry.day for entry in entries
        if entry.kind == "phase" and entry.body.get("event") == "signed off"
        and entry.phase_id == state.phase_ids.get(HAND_OVER)
    ]  # fmt: skip
    if handed:
        for task in care_tasks(state.file.spec):
            yield _event(
                _care_uid(task, facts.id), EventKind.CARE, task.title, handed[-1], handed[-1],
                job=facts.code, known=known, place=facts.place, dropped=True,
            )  # fmt: skip


def _care_uid(task: CareTask, job_id: str) -> str:
    return f"care-{task.key}-{job_id}"
