"""Starting, holding, signing off and reopening phases. Each is one entry (or two) in one transaction."""

from __future__ import annotations

import json

from sqlmodel import Session

from tracker.book.entries import Draft, append, find
from tracker.book.hand import Hand
from tracker.book.ids import check_id
from tracker.book.load import find_job, load_job
from tracker.book.opening import Book
from tracker.book.people import known
from tracker.book.state import JobState
from tracker.book.views import GateShutError, PhaseState, Recorded
from tracker.errors import ConflictError, InputError, RefusedError
from tracker.text import NOTE_LIMIT, accept, clean, listing, near
from tracker.trade.phases import Phase


def already_recorded(
    session: Session, entry_id: str | None, kind: str, code: str = "", what: str = ""
) -> Recorded | None:
    """The answer to a command that was recorded before under the same id; None when it was not.

    Raises ConflictError when the id names an entry of another ``kind``, another job, or other than ``what``: the command was
    not recorded then, and must not seem so.
    """
    if not entry_id or (row := find(session, check_id(entry_id))) is None:
        return None
    body = json.loads(row.body)
    said = {body.get(name) for name in ("what", "event", "move")}
    if row.kind != kind or (code and row.job_id != find_job(session, code).id) or (what and what not in said):
        raise ConflictError(f"the id {row.id} already names another entry", "give a new --id, or leave it out")
    return Recorded(row.id, True, "already recorded")


def phase_named(state: JobState, text: str) -> Phase:
    """The phase a person means, by key or title; raises InputError with the near miss."""
    wanted = text.strip().lower()
    for phase in state.phases:
        if wanted in (phase.key, phase.title.lower()):
            return phase
    keys = [phase.key for phase in state.phases]
    raise InputError(
        f"job {state.facts.code} has no phase {clean(text)!r}{near(wanted, keys)}", f"it has {listing(keys, 'and')}"
    )


def _next(state: JobState, text: str | None, *, to_start: bool) -> Phase:
    if text:
        return phase_named(state, text)
    open_ones = [phase for phase in state.phases if not state.signed(phase.key)]
    if not open_ones:
        raise RefusedError(f"every phase of {state.facts.code} is signed off", "`deckjobs reopen` opens one again")
    busy = [phase for phase in open_ones if state.phase_state(phase.key) is not PhaseState.AHEAD]
    if to_start:
        waiting = [p for p in open_ones if state.phase_state(p.key) is not PhaseState.UNDER_WAY]
        return waiting[0] if waiting else open_ones[0]
    if len(busy) > 1:
        raise InputError(f"{listing([phase.key for phase in busy], 'and')} are under way", "name the phase")
    return (busy or open_ones)[0]


def _event(
    session: Session, hand: Hand, state: JobState, phase: Phase, event: str, entry_id: str | None, reason: str = "",
    *, starts: bool = False,
) -> Recorded:  # fmt: skip
    """One event; ``starts`` marks a sign-off that recorded the start in one act with it (taking it back takes both)."""
    known(session, hand)
    body: dict[str, object] = {"event": event, "reason": reason} | ({"starts": True} if starts else {})
    draft = Draft("phase", body, job_id=state.facts.id, phase_id=state.phase_ids[phase.key])
    done = append(session, hand, draft, entry_id)
    word = "under way" if event in ("started", "reopened") else event
    return Recorded(done.id, done.already, f"{phase.title}: {word}", done.notices)


def start(book: Book, hand: Hand, code: str, phase: str | None = None, *, entry_id: str | None = None) -> Recorded:
    """Start a phase, or go on with a held one. Raises GateShutError with what stands in the way."""
    with book.writing() as session:
        return start_in(book, session, hand, code, phase, entry_id)


def start_in(
    book: Book, session: Session, hand: Hand, code: str, phase: str | None, entry_id: str | None = None
) -> Recorded:
    """``start`` inside the caller's transaction."""
    if done := already_recorded(session, entry_id, "phase", code, "started"):
        return done
    state = load_job(book, session, code, hand.day)
    chosen = _next(state, phase, to_start=True)
    match state.phase_state(chosen.key):
        case PhaseState.UNDER_WAY:
            raise RefusedError(
                f"{chosen.title} is under way already", f"sign it off: deckjobs signoff {state.facts.code} {chosen.key}"
            )
        case PhaseState.SIGNED_OFF:
            raise RefusedError(
                f"{chosen.title} is signed off",
                f"to work on it again: deckjobs reopen {state.facts.code} {chosen.key} --reason TEXT",
            )
        case _:
            if blockers := state.start_blockers(chosen.key):
                raise GateShutError(f"{chosen.title} of {state.facts.code} cannot start", blockers)
            return _event(session, hand, state, chosen, "started", entry_id)


def hold(book: Book, hand: Hand, code: str, phase: str | None, reason: str, *, entry_id: str | None = None) -> Recorded:
    """Hold a phase with a reason; ``start`` lets it go on."""
    with book.writing() as session:
        return hold_in(book, session, hand, code, phase, reason, entry_id)


def hold_in(
    book: Book, session: Session, hand: Hand, code: str, phase: str | None, reason: str, entry_id: str | None = None
) -> Recorded:
    """``hold`` inside the caller's transaction."""
    if done := already_recorded(session, entry_id, "phase", code, "held"):
        return done
    reason = accept(reason, "the reason", limit=NOTE_LIMIT)
    state = load_job(book, session, code, hand.day)
    chosen = _next(state, phase, to_start=False)
    if state.signed(chosen.key):
        raise RefusedError(
            f"{chosen.title} is signed off",
            f"reopen it first: deckjobs reopen {state.facts.code} {chosen.key} --reason TEXT",
        )
    return _event(session, hand, state, chosen, "held", entry_id, reason)


def sign_off(book: Book, hand: Hand, code: str, phase: str | None = None, *, entry_id: str | None = None) -> Recorded:
    """Sign a phase off. Raises GateShutError listing every check, hold and wait in the way.

    A phase that has not started and may start is recorded as started and signed off.
    """
    with book.writing() as session:
        return sign_off_in(book, session, hand, code, phase, entry_id)


def sign_off_in(
    book: Book, session: Session, hand: Hand, code: str, phase: str | None, entry_id: str | None = None
) -> Recorded:
    """``sign_off`` inside the caller's transaction."""
    if done := already_recorded(session, entry_id, "phase", code, "signed off"):
        return done
    state = load_job(book, session, code, hand.day)
    chosen = _next(state, phase, to_start=False)
    ahead = state.phase_state(chosen.key) is PhaseState.AHEAD
    if state.signed(chosen.key):
        raise RefusedError(f"{chosen.title} is signed off already", "nothing was recorded")
    blockers = (state.start_blockers(chosen.key) if ahead else ()) + state.signoff_blockers(chosen.key)
    if blockers:
        raise GateShutError(f"{chosen.title} of {state.facts.code} cannot be signed off", blockers)
    if ahead:
        _event(session, hand, state, chosen, "started", None)
    return _event(session, hand, state, chosen, "signed off", entry_id, starts=ahead)


def reopen(book: Book, hand: Hand, code: str, phase: str, reason: str, *, entry_id: str | None = None) -> Recorded:
    """Open a signed-off phase again, with a reason."""
    with book.writing() as session:
        return reopen_in(book, session, hand, code, phase, reason, entry_id)


def reopen_in(
    book: Book, session: Session, hand: Hand, code: str, phase: str, reason: str, entry_id: str | None = None
) -> Recorded:
    """``reopen`` inside the caller's transaction."""
    if done := already_recorded(session, entry_id, "phase", code, "reopened"):
        return done
    reason = accept(reason, "the reason", limit=NOTE_LIMIT)
    state = load_job(book, session, code, hand.day)
    chosen = phase_named(state, phase)
    if state.phase_folds[chosen.key].state is not PhaseState.SIGNED_OFF:
        raise RefusedError(f"{chosen.title} is not signed off", "there is nothing to reopen")
    return _event(session, hand, state, chosen, "reopened", entry_id, reason)
