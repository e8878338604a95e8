"""Taking an act back, and correcting the count of a movement: new entries; what they take back stays in the book for ever.

An entry is named as the history of its job numbers it, or by its id. What took it back is an entry of the same kind that
corrects it and holds the reason (``fold.WITHDRAWN``); the folds pass over both. A movement's correction is a movement that
corrects it and counts in its place. Each is written, looked at and, where it would leave nonsense, refused and rolled back:
so the answer tells what really came of it, and ``foretold`` can say it before anything is recorded.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

import sqlalchemy as sql
from sqlmodel import Session

from tracker.book.entries import Draft, Entry, append, entries_of, plain
from tracker.book.fold import WITHDRAWN, in_force, move_words
from tracker.book.hand import Hand
from tracker.book.history import history_in, takes_back
from tracker.book.hours import take_back_stint
from tracker.book.invoices import take_back_money
from tracker.book.load import find_job, load_job
from tracker.book.lots import no_more_than_due, sensible
from tracker.book.once import once
from tracker.book.opening import Book
from tracker.book.people import known, must_waive
from tracker.book.readings import take_back_reading
from tracker.book.state import JobState, LotState
from tracker.book.tables import EntryRow, JobRow
from tracker.book.undoviews import Movement
from tracker.book.views import PhaseState, Recorded
from tracker.errors import InputError, RefusedError
from tracker.text import NOTE_LIMIT, accept, clean, listing
from tracker.trade.dates import format_day
from tracker.trade.phases import stands_on

TAKEN_BACK = "taken back"
_UNSAID = "..."
"""The reason of what is only foretold."""
_CORRECTS = {
    "reading": "record the right one: deckjobs check {code} KEY VALUE... --corrects NO",
    "hours": "log the right ones: deckjobs hours {code} HOURS --correct NO",
    "money": "take it back, then record the right one",
}


@dataclass(frozen=True, slots=True)
class _Named:
    """An entry with its number, and all of its job's by number."""

    number: int
    entry: Entry
    every: Sequence[Entry]
    said: str

    def number_of(self, entry: Entry) -> int:
        return next(number for number, other in enumerate(self.every, 1) if other.id == entry.id)

    def hint(self, code: str, other: Entry, then: str = "take that back first") -> str:
        return f"{then}: deckjobs undo {code} {self.number_of(other)} --reason TEXT"


def undo(book: Book, hand: Hand, code: str, entry: str, reason: str, *, entry_id: str | None = None) -> Recorded:
    """Take the entry of a job back, with a reason: as its history numbers it, or by its id.

    It stays in the history, marked, and counts no more. Raises InputError when there is no such entry or no reason,
    RefusedError when it is taken back already, when something later rests on it, or when the person may not.
    """
    with book.writing() as session:
        return _undo_in(book, session, hand, code, entry, reason, entry_id)


def correct(
    book: Book, hand: Hand, code: str, entry: str, quantity: int, reason: str, *, anyway: bool = False,
    entry_id: str | None = None,
) -> Recorded:  # fmt: skip
    """Put the count of a movement right, with a reason; both sides of a transfer together. 0 takes the movement back.

    The movement stays in the history, marked, and the new count stands in its place, on the promise and at the price of the
    old one. Raises InputError for an entry that is no movement, RefusedError as ``undo``, FarMoreError when far more would
    have come than are due, unless it is so ``anyway``.
    """
    with book.writing() as session:
        if quantity:
            return _correct_in(book, session, hand, code, entry, quantity, reason, entry_id, anyway=anyway)
        return _undo_in(book, session, hand, code, entry, reason, entry_id)


def foretold(book: Book, hand: Hand, code: str, entry: str, quantity: int = 0) -> Recorded:
    """What ``undo`` (or, with a quantity, ``correct``) would answer; nothing is kept. Raises what they would."""
    try:
        with book.writing() as session:
            if quantity:
                raise _ForetoldError(_correct_in(book, session, hand, code, entry, quantity, _UNSAID, None))
            raise _ForetoldError(_undo_in(book, session, hand, code, entry, _UNSAID, None))
    except _ForetoldError as told:
        return replace(told.result, id="", text=told.result.text.removesuffix(f": {_UNSAID}"))


class _ForetoldError(Exception):
    """Carries the answer out of the transaction, which rolls back."""

    def __init__(self, result: Recorded) -> None:
        super().__init__()
        self.result = result


def movements(book: Book, code: str, lot: str) -> tuple[Movement, ...]:
    """The movements of a lot that count, the newest first."""
    with book.reading() as session:
        job = find_job(session, code)
        every = _entries(session, job.id)
        row = session.connection().execute(
            sql.text("SELECT id FROM lot WHERE job_id = :job AND code = :lot"), {"job": job.id, "lot": lot}
        ).one_or_none()  # fmt: skip
    numbers = {entry.id: number for number, entry in enumerate(every, 1)}
    mine = in_force(entry for entry in every if row is not None and entry.lot_id == row.id)
    found = [Movement(numbers[e.id], e.id, e.day, e.who, move_words(e.body), e.qty) for e in mine]
    return tuple(sorted(found, key=lambda movement: -movement.number))


def _entries(session: Session, job_id: str) -> list[Entry]:
    """The entries of a job as its history has them: in order of arrival, the days that concern every job among them."""
    columns = EntryRow.__table__.c  # type: ignore[attr-defined]  # plain rows: a job has many entries
    of_all = columns.job_id.is_(None) & (columns.kind == "day")
    query = sql.select(columns).where((columns.job_id == job_id) | of_all).order_by(columns.arrived)
    return [plain(row) for row in session.connection().execute(query).all()]


def _named(book: Book, session: Session, job: JobRow, text: str, today: date) -> _Named:
    every, wanted, code = _entries(session, job.id), text.strip().lower(), job.code
    for number, entry in enumerate(every, 1):
        if wanted in (str(number), entry.id):
            return _Named(number, entry, every, history_in(book, session, job, today)[number - 1].said)
    has = f"it has 1 to {len(every)}: deckjobs history {code} --newest" if every else "nothing is recorded of it yet"
    raise InputError(f"{code} has no entry {clean(text)[:40]!r}", has)


def _still_counts(hand: Hand, code: str, named: _Named) -> None:
    """Raise RefusedError when the entry was taken back or corrected, or takes another one back itself."""
    entry, number = named.entry, named.number
    if takes_back(entry.kind, entry.body):
        raise RefusedError(
            f"entry {number} takes another one back itself: that stays so",
            "do what it was about once more, as a new entry",
        )
    gone = {other.corrects: other for other in named.every if takes_back(other.kind, other.body)}
    if (by := gone.get(entry.id)) is not None:
        raise RefusedError(
            f"entry {number} is taken back already: entry {named.number_of(by)}, {clean(by.who)}, {format_day(by.day, hand.day)}",
            "nothing was recorded",
        )
    for other in named.every:
        replaces = other.kind in ("reading", "hours", "movement") and other.corrects == entry.id
        if replaces and other.id not in gone:
            raise RefusedError(
                f"entry {number} was corrected: entry {named.number_of(other)} stands in its place",
                named.hint(code, other, "take the correction back"),
            )


@once("taken back")
def _undo_in(
    book: Book, session: Session, hand: Hand, code: str, text: str, reason: str, entry_id: str | None
) -> Recorded:
    job = find_job(session, code)
    named = _named(book, session, job, text, hand.day)
    entry, code = named.entry, job.code
    reason = accept(reason, "the reason", limit=NOTE_LIMIT)
    known(session, hand)
    _still_counts(hand, code, named)
    match entry.kind:
        case "reading":
            return take_back_reading(book, session, hand, code, entry, reason, entry_id)
        case "hours":
            done_now = take_back_stint(session, hand, entry, reason, entry_id)
            return replace(done_now, text=f"entry {named.number} taken back: {clean(named.said)}")
        case "money":
            return take_back_money(session, hand, code, entry, reason, entry_id)
        case "waiver" if entry.who != hand.who:
            must_waive(session, hand, f"take back what {clean(entry.who)} waived")
    before = load_job(book, session, code, hand.day)
    together = _together(session, before, named)
    drafts = [
        Draft(e.kind, _body(e, reason), e.job_id, e.phase_id, e.check_id, e.lot_id, e.id, e.qty) for e in together
    ]  # fmt: skip
    said = f"entry {named.number} taken back: {clean(named.said)}"
    return _write(book, session, hand, before, named, drafts, said, entry_id)


def _body(entry: Entry, reason: str) -> dict[str, object]:
    kept = {name: entry.body[name] for name in ("move", "event", "punch", "date") if name in entry.body}
    return {"what": TAKEN_BACK, WITHDRAWN: reason, "of": kept} if kept else {"what": TAKEN_BACK, WITHDRAWN: reason}


@once("correction")
def _correct_in(
    book: Book, session: Session, hand: Hand, code: str, text: str, quantity: int, reason: str, entry_id: str | None,
    *, anyway: bool = True,
) -> Recorded:  # fmt: skip
    job = find_job(session, code)
    named = _named(book, session, job, text, hand.day)
    entry, code = named.entry, job.code
    if entry.kind != "movement":
        raise InputError(
            f"entry {named.number} counts no pieces",
            _CORRECTS.get(entry.kind, f"take it back: deckjobs undo {code} {named.number} --reason TEXT").format(
                code=code
            ),
        )
    reason = accept(reason, "the reason", limit=NOTE_LIMIT)
    sensible(quantity)
    known(session, hand)
    _still_counts(hand, code, named)
    if quantity == entry.qty:
        raise RefusedError(f"entry {named.number} says {quantity} already", "nothing was recorded")
    before = load_job(book, session, code, hand.day)
    if entry.body["move"] == "received" and not anyway:
        lot = next(lot for lot in before.lots if lot.id == entry.lot_id)
        no_more_than_due(lot, quantity, here=entry.qty)
    drafts = [
        Draft(e.kind, {**e.body, "reason": reason}, e.job_id, "", "", e.lot_id, e.id, quantity)
        for e in _together(session, before, named)
    ]  # fmt: skip
    said = f"entry {named.number} corrected: {clean(named.said)}; it is {quantity}"
    return _write(book, session, hand, before, named, drafts, said, entry_id)


def _write(
    book: Book,
    session: Session,
    hand: Hand,
    before: JobState,
    named: _Named,
    drafts: Sequence[Draft],
    said: str,
    entry_id: str | None,
) -> Recorded:
    """Write the drafts, see what came of them, and refuse what leaves nonsense (the transaction then rolls back)."""
    code = before.facts.code
    others = {draft.job_id for draft in drafts if draft.job_id and draft.job_id != before.facts.id}
    all_before = [before, *(load_job(book, session, _code_of(session, other), hand.day) for other in sorted(others))]
    for number, draft in enumerate(drafts):
        done = append(session, hand, draft, entry_id if number == 0 else None)
        if number == 0:
            first = done
    notices: list[str] = []
    for was in all_before:
        now = load_job(book, session, was.facts.code, hand.day)
        name = "" if was.facts.id == before.facts.id else f"{was.facts.code}: "
        _lots_hold(session, was, now, named if not name else None, code)
        if named.entry.kind == "phase":
            _nothing_on_top(was, now)
        notices += [name + line for line in _came_of_it(was, now)]
    return Recorded(first.id, False, said, (*notices, *first.notices))


def _code_of(session: Session, job_id: str) -> str:
    found = session.connection().execute(sql.text("SELECT code FROM job WHERE id = :id"), {"id": job_id})
    return str(found.scalar_one())


# -- what is taken back together, and what comes first


def _together(session: Session, state: JobState, named: _Named) -> list[Entry]:
    """The entry and those recorded with it as one act; raises RefusedError when something later rests on it."""
    entry, code = named.entry, state.facts.code
    match entry.kind:
        case "phase":
            return [*_event_with_its_start(code, named), *_uses_booked(named)]
        case "movement":
            return [entry, *_other_side(session, entry)]
        case "note" if entry.body.get("punch") == "open":
            done = next(
                (e for e in in_force(named.every) if e.corrects == entry.id and e.body.get("punch") == "done"), None
            )
            if done is not None:
                raise RefusedError("that item of the punch list is done since", named.hint(code, done))
        case "waiver" if entry.phase_id:
            key = next((key for key, phase_id in state.phase_ids.items() if phase_id == entry.phase_id), "")
            if key and state.phase_folds[key].state is PhaseState.SIGNED_OFF:
                raise RefusedError(
                    f"{state.phase_by_key[key].title} is signed off without that wait",
                    f"open it first: deckjobs reopen {code} {key} --reason TEXT",
                )
    return [entry]


def _event_with_its_start(code: str, named: _Named) -> list[Entry]:
    """A phase event, with the start that was recorded in one act with it; later events of the phase go first."""
    entry = named.entry
    events = [e for e in in_force(named.every) if e.kind == "phase" and e.phase_id == entry.phase_id]
    later = events[-1]
    if later.id != entry.id:
        raise RefusedError(
            f"that phase was {later.body['event']} since, entry {named.number_of(later)}", named.hint(code, later)
        )
    return events[-1:] + events[-2:-1] if entry.body.get("starts") else [entry]


def _uses_booked(named: _Named) -> list[Entry]:
    """The pieces a sign-off booked as used, corrected ones and what stands in their place alike."""
    gone = {entry.corrects for entry in named.every if takes_back(entry.kind, entry.body)}
    return [
        entry
        for entry in named.every
        if entry.kind == "movement" and entry.body.get("with") == named.entry.id and entry.id not in gone
    ]


def _other_side(session: Session, entry: Entry) -> list[Entry]:
    """The other half of a transfer: the entry the same device made straight after (or before) it."""
    step = {"moved out": 1, "moved in": -1}.get(str(entry.body.get("move")), 0)
    if not step:
        return []
    columns = EntryRow.__table__.c  # type: ignore[attr-defined]
    here = sql.select(columns.device, columns.seq).where(columns.id == entry.id)
    device, seq = session.connection().execute(here).one()
    there = sql.select(columns).where((columns.device == device) & (columns.seq == seq + step))
    other = plain(session.connection().execute(there).one())
    return [other]


# -- what came of it


def _lots_hold(session: Session, was: JobState, now: JobState, named: _Named | None, code: str) -> None:
    """Raise RefusedError when a lot would have fewer pieces than went on from it."""
    before = {lot.id: lot for lot in was.lots}
    most_offcuts: dict[str, int] = {}
    for e in in_force(entries_of(session, [now.facts.id])[now.facts.id]):
        if e.kind == "movement" and e.body["move"] == "put back":
            most_offcuts[e.body["from"]] = max(e.qty, most_offcuts.get(e.body["from"], 0))
    for lot in now.lots:
        old = before.get(lot.id)
        fold, name = lot.fold, f"lot {clean(lot.code)} of {now.facts.code}"
        later = _later(named, lot, code)
        if fold.on_hand < 0:
            gone = fold.used + fold.returned + fold.scrapped + fold.moved_out
            raise RefusedError(
                f"{name} would have had {gone + fold.on_hand} pieces, and {gone} of it are gone since", later
            )
        if fold.ordered < fold.received and (old is None or fold.ordered < old.fold.ordered):
            if old is not None and fold.canceled == old.fold.canceled and fold.ordered + fold.canceled >= fold.received:
                raise RefusedError(f"{fold.canceled} pieces of {name} are canceled of that order", later)
            raise RefusedError(
                f"{fold.received} pieces of {name} have come of that order",
                f"put what was received right first; what is still to come: deckjobs cancel {code} {clean(lot.code)}",
            )
        if old is not None and fold.used < old.fold.used and (offcuts := most_offcuts.get(lot.code, 0)) > fold.used:
            raise RefusedError(f"{offcuts} offcuts of {name} were put back to stock, from boards that were used", later)


def _later(named: _Named | None, lot: LotState, code: str) -> str:
    if named is None:
        return "look at its history, and put that right first"
    after = [e for e in in_force(named.every[named.number :]) if e.lot_id == lot.id and e.kind == "movement"]
    if not after:
        return "look at its history, and put that right first"
    entries = listing([f"entry {named.number_of(e)} ({e.qty} {move_words(e.body)})" for e in after], "and")
    return f"put that right first: {entries} in deckjobs history {code}"


def _nothing_on_top(was: JobState, now: JobState) -> None:
    """Raise RefusedError when a phase that is no longer signed off has others under way or signed off on top of it."""
    down = stands_on(now.phases)
    for phase in now.phases:
        if now.signed(phase.key) or not was.signed(phase.key):
            continue
        on_top = [p for p in now.phases if phase.key in down[p.key] and now.begun(p.key)]
        if on_top:
            last = on_top[-1]
            raise RefusedError(
                f"{listing([p.title for p in on_top], 'and')} {'stand' if len(on_top) > 1 else 'stands'} on {phase.title}",
                f"take the last of them back first ({last.title}); to work on {phase.title} again: deckjobs reopen"
                f" {now.facts.code} {phase.key} --reason TEXT",
            )


def _came_of_it(was: JobState, now: JobState) -> Iterator[str]:
    """What is different afterwards, in words."""
    for phase in now.phases:
        old, new = was.phase_state(phase.key), now.phase_state(phase.key)
        if old is not new:
            undone = "this undoes the sign-off of " if now.undone_by(phase.key) else ""
            yield f"{undone}{phase.title}" if undone else f"{phase.title} is {new.value} again"
    for check in now.checks:
        old_state, new_state = was.check_states[check.key], now.check_states[check.key]
        if old_state is not new_state:
            yield f"{check.check.title} is {new_state.value} again"
    lots = {lot.id: lot for lot in now.lots}
    for lot in was.lots:
        after = lots.get(lot.id)
        if after is None:
            yield f"lot {clean(lot.code)} leaves the list: nothing of it is ordered or came"
        elif after.fold != lot.fold:
            yield f"lot {clean(lot.code)}: {after.fold.on_hand} on hand, {after.fold.on_order} to come"
    for word, days in (
        ("off", _days(was, "off") ^ _days(now, "off")),
        ("rain", _days(was, "rain") ^ _days(now, "rain")),
    ):
        for day in sorted(days):
            is_off = day in _days(now, word)
            yield (
                f"{format_day(day, now.today)} is {'a day off again' if word == 'off' else 'a rain day again'}"
                if is_off
                else (f"{format_day(day, now.today)} is a working day again")
            )


def _days(state: JobState, word: str) -> frozenset[date]:
    return state.days_off.off if word == "off" else state.days_off.rain
