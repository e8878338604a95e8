"""The hand-over of a job: everything its papers need, read in one transaction, as known at the end of a day."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

import sqlalchemy as sql
from sqlmodel import Session, col, select

from tracker.book.aftercare import fold_care
from tracker.book.entries import LEFT_OUT, Entry, entries_of
from tracker.book.fold import fold_check, in_force
from tracker.book.handviews import EntryMark, FormerCheck, HandoverView, OpenItem, digest_of_marks
from tracker.book.letterhead import letterhead_at
from tracker.book.load import find_job, load_jobs
from tracker.book.opening import Book
from tracker.book.paperviews import Letterhead
from tracker.book.punchlist import fold_punch
from tracker.book.show import phase_view
from tracker.book.standing import rows_at
from tracker.book.state import JobState
from tracker.book.stock import deliveries_of, lots_of
from tracker.book.tables import CheckRow, EntryRow, JobRow
from tracker.book.views import CheckState, DeliveryView, LotView, PhaseState, PhaseView, WaiverView
from tracker.errors import InputError
from tracker.text import count
from tracker.trade.care import care_dates
from tracker.trade.checks.registry import BY_KEY
from tracker.trade.dates import format_day
from tracker.trade.phases import CARE, FINISH, HAND_OVER

_AFTERWARDS = (HAND_OVER, CARE)


def handover(book: Book, code: str, day: date, without: frozenset[str] = frozenset()) -> HandoverView:
    """The hand-over of a job as known at the end of ``day``; the same day always reads the same.

    ``without`` are ids of entries to read it without: how it was before they came. Raises InputError when there is no such job, several could be meant, or the book did not have it by that day.
    """
    with book.reading() as session:
        if without:
            session.info[LEFT_OUT] = without
        now = find_job(session, code)
        row = next((then for then in rows_at(session, JobRow, day) if then.id == now.id), None)
        if row is None:
            raise InputError(f"job {now.code} was not in the book on {format_day(day, None)}", "give a later day")
        (state,) = load_jobs(book, session, [row], day, until=day)
        entries = entries_of(session, [row.id], day)[row.id]
        former = _former(session, state, entries)
        marks = entry_marks(session, row.id, day)
        head = letterhead_at(session, day)
    return _view(state, entries, former, marks, head)


def entry_marks(session: Session, job_id: str, until: date | None = None) -> tuple[EntryMark, ...]:
    """A job's entries of working days up to ``until``, by id and digest, in the order of their clocks."""
    columns = EntryRow.__table__.c  # type: ignore[attr-defined]  # plain rows
    query = sql.select(columns.id, columns.digest).where(columns.job_id == job_id)
    if until is not None:
        query = query.where(columns.day <= until.isoformat())
    ordered = query.order_by(columns.hlc, columns.device, columns.seq)
    left_out = session.info.get(LEFT_OUT, frozenset())
    found = session.connection().execute(ordered)
    return tuple(EntryMark(row.id, row.digest) for row in found if row.id not in left_out)


def marks_of(book: Book, code: str) -> tuple[EntryMark, ...]:
    """Every entry of a job there is, as ``entry_marks``."""
    with book.reading() as session:
        return entry_marks(session, find_job(session, code).id)


def _view(
    state: JobState,
    entries: Sequence[Entry],
    former: tuple[FormerCheck, ...],
    marks: tuple[EntryMark, ...],
    head: Letterhead,
) -> HandoverView:
    facts = state.facts
    phases = tuple(phase_view(state, phase) for phase in state.phases)
    by_key = {phase.key: phase for phase in phases}
    done, ended = fold_care(entries)
    hand_over, finish = by_key.get(HAND_OVER), by_key.get(FINISH)
    handed = hand_over.signed_off if hand_over else None
    finished = finish.signed_off if finish else None
    lots, deliveries = lots_of(state), deliveries_of(state)
    waits = {phase_id: state.phase_by_key[key].title for key, phase_id in state.phase_ids.items()}
    return HandoverView(
        code=facts.code,
        title=facts.title,
        client=facts.client,
        place=facts.place,
        crew=facts.crew,
        start=facts.start,
        day=state.today,
        spec=state.file.spec,
        phases=phases,
        lots=lots,
        deliveries=deliveries,
        notes=state.notes,
        open_items=tuple(_open_items(facts.code, phases, lots, deliveries, state.today)),
        punch=fold_punch(entries),
        former=former,
        waits_waived=tuple(
            (waits[e.phase_id], WaiverView(e.id, e.day, e.at, e.who, e.body["reason"]))
            for e in in_force(entries) if e.kind == "waiver" and e.phase_id in waits
        ),
        handed_over=handed,
        handed_by=hand_over.signed_by if hand_over and handed else "",
        finished=finished,
        care=care_dates(state.file.spec, handed, finished, done) if handed and not ended else (),
        care_ended=ended,
        letterhead=head,
        entries=marks,
        entries_digest=digest_of_marks(marks),
        stands_on=state.stands_on,
    )  # fmt: skip


def _open_items(
    code: str, phases: Sequence[PhaseView], lots: Sequence[LotView], deliveries: Sequence[DeliveryView], today: date
) -> Iterator[OpenItem]:
    """What stands open: undone sign-offs and holds, checks failed or open, phases not signed off, lots to come or unfit."""
    ahead: list[str] = []
    for phase in phases:
        hold = f" (hold point {phase.hold})" if phase.hold else ""
        signs = f"deckjobs signoff {code} {phase.key}"
        if phase.undone_by:
            yield OpenItem(phase.title + hold, f"sign-off undone by {', '.join(phase.undone_by)}", signs)
        elif phase.held_why and phase.state is PhaseState.HELD:
            yield OpenItem(phase.title + hold, f"held: {phase.held_why}", f"deckjobs start {code} {phase.key}")
        elif phase.state in (PhaseState.UNDER_WAY, PhaseState.HELD) and (phase.started or phase.key not in _AFTERWARDS):
            word = "under way, not signed off" if phase.started else "waits, not started"
            yield OpenItem(phase.title + hold, word, signs)
        elif phase.state is PhaseState.AHEAD and phase.key not in _AFTERWARDS:
            ahead.append(phase.title.lower() + hold)
        for check in phase.checks:
            if not check.settled and phase.state is not PhaseState.AHEAD:
                word = "failed: " if check.state is CheckState.FAILED else ""
                yield OpenItem(check.title, word + check.headline, f"deckjobs check {code} {check.key}")
    if ahead:
        yield OpenItem(f"{count(len(ahead), 'phase')} not begun", ", ".join(ahead), f"deckjobs show {code}")
    for delivery in deliveries:
        when = f"promised {format_day(delivery.promised, today)}" if delivery.promised else "no day promised"
        what = f"lot {delivery.lot}: {count(delivery.quantity, delivery.unit)} {delivery.item} not here"
        yield OpenItem(what, when, f"deckjobs receive {code} {delivery.lot} COUNT")
    for lot in lots:
        if lot.unfit:
            yield OpenItem(f"lot {lot.code}: {lot.item} not fit to use", lot.unfit_words,
                           f"deckjobs check {code} delivery")  # fmt: skip
        elif lot.culls:
            yield OpenItem(f"lot {lot.code}: {lot.item}", f"{count(lot.culls, 'cull')} to send back",
                           f"deckjobs return {code} {lot.code} {lot.culls}")  # fmt: skip


def _former(session: Session, state: JobState, entries: Sequence[Entry]) -> tuple[FormerCheck, ...]:
    """Checks the job no longer has that were read or waived."""
    there = set(state.check_ids.values())
    of_check: dict[str, list[Entry]] = {}
    for entry in entries:
        if entry.check_id and entry.check_id not in there:
            of_check.setdefault(entry.check_id, []).append(entry)
    rows = session.exec(select(CheckRow).where(col(CheckRow.id).in_(list(of_check))).order_by(col(CheckRow.position)))
    out: list[FormerCheck] = []
    for row in rows:
        fold = fold_check(of_check[row.id], state.today)
        title = BY_KEY[row.check_key].title if row.check_key in BY_KEY else row.check_key
        named = f"{title}, {row.platform}" if "." in row.key else title
        out.append(FormerCheck(named, fold.readings, fold.waivers, fold.last))
    return tuple(out)
