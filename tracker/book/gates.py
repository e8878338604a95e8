"""Starting, holding, signing off and reopening phases. Each is one entry (or two) in one transaction."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace

from sqlmodel import Session

from tracker.book.entries import Draft, append
from tracker.book.hand import Hand
from tracker.book.load import load_job
from tracker.book.once import once
from tracker.book.opening import Book
from tracker.book.people import known, must_waive
from tracker.book.state import JobState
from tracker.book.uses import book_uses, settle_uses, uses_of
from tracker.book.views import Blocker, GateShutError, Pass, Passed, PhaseState, Recorded
from tracker.errors import InputError, RefusedError
from tracker.text import NOTE_LIMIT, accept, clean, listing, near
from tracker.trade.checks.design import CLEARS_DESIGN, DESIGN
from tracker.trade.phases import HAND_OVER, Phase, names_of


def phase_named(state: JobState, text: str) -> Phase:
    """The phase a person means, by key or title; raises InputError with the near miss."""
    wanted = text.strip().lower()
    for phase in state.phases:
        if wanted in names_of(phase):
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
    session: Session,
    hand: Hand,
    state: JobState,
    phase: Phase,
    event: str,
    entry_id: str | None,
    reason: str = "",
    past: Sequence[Passed] = (),
    *,
    starts: bool = False,
    booked: bool = False,
) -> Recorded:
    """One event; ``starts`` marks a sign-off that recorded the start in one act with it (taking it back takes both),
    ``booked`` one that booked what the phase used.
    """
    known(session, hand)
    body: dict[str, object] = {"event": event, "reason": reason} | ({"starts": True} if starts else {})
    if booked:
        body["booked"] = True
    if past:
        body["past"] = [asdict(thing) for thing in past]
    draft = Draft("phase", body, job_id=state.facts.id, phase_id=state.phase_ids[phase.key])
    done = append(session, hand, draft, entry_id)
    word = "under way" if event in ("started", "reopened") else event
    gone = f", past {listing([thing.what for thing in past], 'and')}" if past else ""
    return Recorded(done.id, False, f"{phase.title}: {word}{gone}", done.notices)


def start(
    book: Book, hand: Hand, code: str, phase: str | None = None, *, past: str = "", entry_id: str | None = None
) -> Recorded:
    """Start a phase, or go on with a held one; ``past`` is the reason to do so past what it stands on and is not settled.

    Raises GateShutError with what stands in the way, RefusedError when somebody who may not waive would go past it, or when
    there is nothing to go past.
    """
    with book.writing() as session:
        return start_in(book, session, hand, code, phase, entry_id, past)


@once("start")
def start_in(
    book: Book,
    session: Session,
    hand: Hand,
    code: str,
    phase: str | None,
    entry_id: str | None = None,
    past: str = "",
    *,
    on_whose_word: Hand | None = None,
) -> Recorded:
    """``start`` inside the caller's transaction; ``on_whose_word`` vouches for what a job file's log goes past."""
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
            blockers = state.start_blockers(chosen.key)
            _nobody_digs(state, chosen, blockers)
            things = _all_past(session, on_whose_word or hand, chosen, blockers, past)
            if blockers and not things:
                how = f"deckjobs start {state.facts.code} {chosen.key} --past REASON"
                what = f"{chosen.title} of {state.facts.code} cannot start"
                raise GateShutError(what, blockers, Pass.TOGETHER, how)
            return _event(session, hand, state, chosen, "started", entry_id, past.strip(), things)


def _nobody_digs(state: JobState, phase: Phase, blockers: tuple[Blocker, ...]) -> None:
    """Raise GateShutError where no reason goes past what stands in the way of starting a phase."""
    if state.no_way_past(phase.key):
        told = f"{phase.title} of {state.facts.code} cannot start: nobody digs for a deck whose design fails"
        raise GateShutError(told, tuple(sorted(blockers, key=lambda blocker: blocker.check != DESIGN)))


def _all_past(
    session: Session, hand: Hand, phase: Phase, blockers: Sequence[Blocker], reason: str
) -> tuple[Passed, ...]:
    """Every thing in the way, gone past for one reason; none without a reason."""
    if not reason.strip():
        return ()
    reason = accept(reason, "the reason", limit=NOTE_LIMIT)
    if not blockers:
        raise RefusedError(f"nothing stands in the way of {phase.title}", "leave --past out")
    must_waive(session, hand, "go past what stands in the way")
    return tuple(Passed(b.key, b.what, b.why, reason) for b in blockers)


def hold(book: Book, hand: Hand, code: str, phase: str | None, reason: str, *, entry_id: str | None = None) -> Recorded:
    """Hold a phase with a reason; ``start`` lets it go on."""
    with book.writing() as session:
        return hold_in(book, session, hand, code, phase, reason, entry_id)


@once("hold")
def hold_in(
    book: Book, session: Session, hand: Hand, code: str, phase: str | None, reason: str, entry_id: str | None = None
) -> Recorded:
    """``hold`` inside the caller's transaction."""
    reason = accept(reason, "the reason", limit=NOTE_LIMIT)
    state = load_job(book, session, code, hand.day)
    chosen = _next(state, phase, to_start=False)
    if state.signed(chosen.key):
        raise RefusedError(
            f"{chosen.title} is signed off",
            f"reopen it first: deckjobs reopen {state.facts.code} {chosen.key} --reason TEXT",
        )
    return _event(session, hand, state, chosen, "held", entry_id, reason)


def sign_off(
    book: Book,
    hand: Hand,
    code: str,
    phase: str | None = None,
    *,
    past: str = "",
    leave: Sequence[tuple[str, str]] = (),
    used: Mapping[str, int] | None = None,
    asks: bool = False,
    anyway: bool = False,
    entry_id: str | None = None,
) -> Recorded:
    """Sign a phase off. A phase that has not started is recorded as started and signed off.

    ``past`` is the reason to do so past what it stands on and is not settled; its own checks are waived instead. ``leave``
    are the things a hand-over leaves open, by key, each with its reason: phases, checks and punch items. Raises
    GateShutError listing every check, hold and wait in the way, RefusedError when somebody who may not waive would go past
    them or there is nothing to go past, InputError for a thing that is not open.

    With it goes what the phase used of the lots, by item, beyond what was booked before: ``used``, and for the items it does
    not name what the take-off says. Raises UsesAskedError where that is not there, or with ``asks`` and no ``used``,
    RefusedError for more than is fit to use, FarMoreError for a number that the checks or the take-off contradict, unless it
    is meant ``anyway``.
    """
    with book.writing() as session:
        return sign_off_in(book, session, hand, code, phase, entry_id, past, leave, used=used, asks=asks, anyway=anyway)


@once("sign-off")
def sign_off_in(
    book: Book,
    session: Session,
    hand: Hand,
    code: str,
    phase: str | None,
    entry_id: str | None = None,
    past: str = "",
    leave: Sequence[tuple[str, str]] = (),
    *,
    used: Mapping[str, int] | None = None,
    asks: bool = False,
    as_there: bool = False,
    anyway: bool = False,
    on_whose_word: Hand | None = None,
) -> Recorded:
    """``sign_off`` inside the caller's transaction; ``on_whose_word`` vouches for what a job file's log goes past.

    ``as_there`` books what there is where the take-off says more.
    """
    state = load_job(book, session, code, hand.day)
    chosen = _next(state, phase, to_start=False)
    if state.signed(chosen.key):
        raise RefusedError(f"{chosen.title} is signed off already", "nothing was recorded")
    vouching, blockers = on_whose_word or hand, state.signoff_blockers(chosen.key)
    if not state.begun(chosen.key):
        _nobody_digs(state, chosen, state.start_blockers(chosen.key))
    command = f"deckjobs signoff {state.facts.code} {chosen.key}"
    shut = f"{chosen.title} of {state.facts.code} cannot be signed off"
    if chosen.key == HAND_OVER:
        if past.strip():
            raise InputError("a hand-over names each thing it leaves open", f"{command} --leave KEY=REASON")
        things = _left(session, vouching, blockers, leave)
        if rest := tuple(b for b in blockers if b.key not in {thing.key for thing in things}):
            raise GateShutError(shut, rest, Pass.EACH, f"{command} --leave KEY=REASON")
    else:
        if leave:
            raise InputError(
                "only a hand-over leaves things open", f"{command} --past REASON goes past what it stands on"
            )
        if state.own_blockers(chosen.key):
            raise GateShutError(shut, blockers)
        things = _all_past(session, vouching, chosen, blockers, past)
        if blockers and not things:
            raise GateShutError(shut, blockers, Pass.TOGETHER, f"{command} --past REASON")
    taken = settle_uses(state, chosen.key, used, asks=asks, as_there=as_there, anyway=anyway)
    booked = bool(taken or used or uses_of(state, chosen.key))
    if ahead := not state.begun(chosen.key):
        _event(session, hand, state, chosen, "started", None)
    reason = past.strip() or "; ".join(f"{thing.what}: {thing.reason}" for thing in things)
    done = _event(session, hand, state, chosen, "signed off", entry_id, reason, things, starts=ahead, booked=booked)
    return replace(done, notices=done.notices + book_uses(session, hand, state, chosen.key, taken, done.id))


def _left(
    session: Session, hand: Hand, blockers: Sequence[Blocker], leave: Sequence[tuple[str, str]]
) -> tuple[Passed, ...]:
    """What a hand-over leaves open: each thing in the way that was named, with the reason given for it."""
    if not leave:
        return ()
    reasons: dict[str, str] = {}
    keys = list(dict.fromkeys(b.key for b in blockers))
    for named, reason in leave:
        key = named.strip().lower()
        if key not in keys:
            hint = f"open are {listing(keys, 'and')}" if keys else "everything is settled: leave --leave out"
            raise InputError(f"nothing open is called {clean(named)[:60]!r}{near(key, keys)}", hint)
        if key in reasons:
            raise InputError(f"{clean(key)} is named twice", "give one reason for each thing")
        reasons[key] = accept(reason, f"the reason to leave {key}", limit=NOTE_LIMIT)
    must_waive(session, hand, "hand over with something open")
    if DESIGN in reasons and any(b.check == DESIGN for b in blockers):
        raise RefusedError("no deck is handed over on a design that fails", CLEARS_DESIGN)
    return tuple(Passed(b.key, b.what, b.why, reasons[b.key]) for b in blockers if b.key in reasons)


def reopen(book: Book, hand: Hand, code: str, phase: str, reason: str, *, entry_id: str | None = None) -> Recorded:
    """Open a signed-off phase again, with a reason."""
    with book.writing() as session:
        return reopen_in(book, session, hand, code, phase, reason, entry_id)


@once("reopening")
def reopen_in(
    book: Book, session: Session, hand: Hand, code: str, phase: str, reason: str, entry_id: str | None = None
) -> Recorded:
    """``reopen`` inside the caller's transaction."""
    reason = accept(reason, "the reason", limit=NOTE_LIMIT)
    state = load_job(book, session, code, hand.day)
    chosen = phase_named(state, phase)
    if state.phase_folds[chosen.key].state is not PhaseState.SIGNED_OFF:
        raise RefusedError(f"{chosen.title} is not signed off", "there is nothing to reopen")
    done_now = _event(session, hand, state, chosen, "reopened", entry_id, reason)
    standing = load_job(book, session, code, hand.day).carries(chosen.key)
    return replace(done_now, notices=done_now.notices + on_top(state, standing))


def on_top(state: JobState, keys: Sequence[str]) -> tuple[str, ...]:
    """A notice for whoever opens a phase again that others stand on; none when none does."""
    titles = [state.phase_by_key[key].title for key in keys]
    return (f"{listing(titles, 'and')} {'stands' if len(titles) == 1 else 'stand'} on it",) if titles else ()
