"""Readings and waivers: what a carpenter measured, the verdict computed from it, and what was let pass by whom."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import date

from sqlmodel import Session

from tracker.book.counted import CountsApartError, book_in, counts_apart
from tracker.book.entries import Draft, Entry, append, find
from tracker.book.fold import WITHDRAWN
from tracker.book.following import in_step
from tracker.book.gates import on_top, phase_named
from tracker.book.hand import Hand
from tracker.book.history import entry_numbered
from tracker.book.inspection import DELIVERY
from tracker.book.load import find_job, load_house, load_job
from tracker.book.once import once
from tracker.book.opening import Book
from tracker.book.people import known, must_waive
from tracker.book.state import WAIT, JobState
from tracker.book.views import CheckState, ReadingView, Recorded, SameAgainError, Tried
from tracker.errors import ConflictError, InputError, InputErrors, RefusedError
from tracker.text import NOTE_LIMIT, accept, clean, listing, near
from tracker.trade.checks.base import Case, incomplete
from tracker.trade.checks.design import CLEARS_DESIGN, DESIGN
from tracker.trade.checks.registry import JobCheck
from tracker.trade.dates import format_day
from tracker.trade.readings import Readings, parse_readings, readings_of

READING_LIMIT = 2000


def check_named(state: JobState, text: str) -> JobCheck:
    """The check a person means, by the job's key for it; raises InputError with the near miss."""
    wanted = text.strip().lower()
    if (check := state.check_by_key.get(wanted)) is not None:
        return check
    keys = list(state.check_by_key)
    of_platforms = [key for key in keys if key.partition(".")[0] == wanted]
    if of_platforms:
        raise InputError(f"{wanted!r} is done for each platform", f"name {listing(of_platforms)}")
    raise InputError(
        f"job {state.facts.code} has no check {clean(text)!r}{near(wanted, keys)}", f"it has {listing(keys, 'and')}"
    )


def _read_by(state: JobState, check: JobCheck, who: str, corrected: str) -> Case:
    """What readings of a check by ``who``, in place of the reading ``corrected`` if any, are judged against."""
    read_all = state.check_folds[check.key].sample_failed(corrected)
    return replace(state.case(check), reader=clean(who), read_all=read_all)


def try_out(
    book: Book, code: str, key: str, named: Sequence[tuple[str, str]], today: date, *, who: str = "", corrects: str = ""
) -> Tried:
    """The verdict on a draft of ``who``, in place of the reading ``corrects`` if any, or why none can be given; nothing is
    written.

    Raises InputErrors for values that cannot be read.
    """
    with book.reading() as session:
        state = load_job(book, session, code, today)
    check = check_named(state, key)
    case = _read_by(state, check, who, corrects)
    form = check.check.form(case)
    readings = readings_of(form, named, state.file.unit, today)
    try:
        return Tried(check.check.key, case, form, readings, check.check.judge(case, readings))
    except InputErrors:
        raise
    except InputError as error:
        return Tried(check.check.key, case, form, readings, refused=error)


def record(
    book: Book,
    hand: Hand,
    code: str,
    key: str,
    tokens: Sequence[str],
    *,
    entry_id: str | None = None,
    corrects: str = "",
    newest: str | None = None,
    receive: bool = False,
    anyway: bool = False,
) -> Recorded:
    """Record readings as typed, with the verdict computed now.

    ``corrects`` is an earlier reading of the same check that this one replaces, by its id or as the history numbers it; both stay in the book, and it
    counts from the place of that one: a newer reading still decides. ``newest`` is the id of the reading in force that the
    person knew of, empty where there was none: ReadSinceError is raised when a reading is to be corrected and another one has
    been read since. With ``receive`` pieces that a delivery check counts beyond what has come are received in the same
    transaction. Raises InputErrors when a value cannot be read, CountsApartError when the lots say otherwise, and, unless it is
    ``anyway``, FarMoreError when far more were counted than are due and SameAgainError when the same numbers were recorded since
    ``newest``: then nothing is written. Where nobody says what was known, the same numbers on one day are told and recorded.
    """
    with book.writing() as session:
        return record_in(
            book, session, hand, code, key, tokens, entry_id, corrects, newest=newest, receive=receive, anyway=anyway
        )


@once("reading")
def record_in(
    book: Book,
    session: Session,
    hand: Hand,
    code: str,
    key: str,
    tokens: Sequence[str],
    entry_id: str | None = None,
    corrects: str = "",
    *,
    newest: str | None = None,
    receive: bool = False,
    anyway: bool = False,
    lots: Collection[str] | None = None,
    on_whose_word: Hand | None = None,
) -> Recorded:
    """``record`` inside the caller's transaction; ``lots`` are those counted now, all of the reading's when None;
    ``on_whose_word`` vouches for what a job file's log tells of.
    """
    if sum(len(token) for token in tokens) > READING_LIMIT * 20 or len(tokens) > READING_LIMIT:
        raise InputError("these are more readings than any deck has", f"give at most {READING_LIMIT} values")
    state = load_job(book, session, code, hand.day)
    if key.strip().lower() == DESIGN and DESIGN not in state.check_by_key:
        state = _with_design(book, session, hand, state)
    check = check_named(state, key)
    last = state.check_folds[check.key].last
    if corrects and newest and last is not None and last.id != newest:
        raise ReadSinceError(last, check.check.title, hand.day)
    corrected = _corrected(session, state, check, corrects)
    case = _read_by(state, check, hand.who, corrected)
    readings = parse_readings(check.check.form(case), tokens, state.file.unit, hand.day)
    if check.check.from_spec:
        must_waive(session, on_whose_word or hand, "say on whose design a deck stands")
    if not readings.entered:
        raise InputError(f"no value given for {check.check.title.lower()}", check.check.asks)
    same = _same_again(state, check, readings, newest) if not corrects else None
    told = f"{clean(same.who)} recorded the same numbers, {format_day(same.day, hand.day)}" if same is not None else ""
    if told and newest is not None and not anyway:
        raise SameAgainError(told, "take the reading back if it was not measured twice")
    booked: tuple[str, ...] = ()
    if check.key == DELIVERY and (apart := counts_apart(state, readings, lots)):
        if not receive:
            raise CountsApartError(state.facts.code, apart)
        booked = book_in(session, hand, state, apart, anyway=anyway)
        state = load_job(book, session, code, hand.day)
        case = _read_by(state, check, hand.who, corrected)
    answer = check.check.judge(case, readings)
    body = {
        "entered": [list(pair) for pair in readings.entered],
        "unit": state.file.unit.value,
        "answer": answer.as_json(),
    }
    known(session, hand)
    draft = Draft(
        "reading", body, job_id=state.facts.id, check_id=state.check_ids[check.key],
        corrects=corrected,
    )  # fmt: skip
    done = append(session, hand, draft, entry_id)
    after = load_job(book, session, code, hand.day)
    twice = (f"{told}; both stand, and either can be taken back",) if told and newest is None else ()
    notices = booked + twice + done.notices + _older(after, check, done.id) + _undone(state, after, check)
    verdict = answer.verdict.value.upper() if answer.verdict else ""
    return Recorded(done.id, False, f"{check.check.title} {verdict}: {answer.headline}", notices, (), answer)


def _with_design(book: Book, session: Session, hand: Hand, state: JobState) -> JobState:
    """A job that came into the book before every job had a design check, with its check now."""
    row = find_job(session, state.facts.code)
    in_step(session, row, state.file, load_house(session).changes, state, spec_changed=True)
    return load_job(book, session, state.facts.code, hand.day)


def _same_again(state: JobState, check: JobCheck, readings: Readings, newest: str | None) -> ReadingView | None:
    """The reading in force when it has the same numbers, the person did not know of it and nothing asks for another."""
    last = state.check_folds[check.key].last
    if last is None or state.check_states[check.key] not in (CheckState.PASSED, CheckState.FAILED):
        return None
    if last.id == newest or (newest is None and last.day != state.today):
        return None
    try:
        before = readings_of(check.check.form(state.case(check)), last.entered, state.file.unit, last.day)
    except InputError:  # the form is another one by now
        return None
    return last if (before.values, before.rows) == (readings.values, readings.rows) else None


class ReadSinceError(ConflictError):
    """A reading was to be corrected, and another one, ``newest``, has been read since."""

    def __init__(self, newest: ReadingView, title: str, today: date) -> None:
        super().__init__(
            f"{title} has been read since: {read_words(newest, today)}",
            "that reading decides, whatever an older one says",
        )
        self.newest = newest.id


def _older(state: JobState, check: JobCheck, reading: str) -> tuple[str, ...]:
    """A notice for a reading that corrects an older one: what has been read since, and that the newest decides."""
    standing = state.check_folds[check.key].standing
    at = next((n for n, view in enumerate(standing) if view.id == reading), len(standing))
    since = [read_words(view, state.today) for view in standing[at + 1 :]]
    return (f"read since: {'; '.join(since)}; the newest reading decides",) if since else ()


def read_words(view: ReadingView, today: date) -> str:
    """A reading in a few words: what it said, who read it and when."""
    verdict = f"{view.answer.verdict.value.upper()}, " if view.answer.verdict else ""
    return f"{verdict}{view.answer.headline} ({clean(view.who)}, {format_day(view.day, today)})"


def _undone(before: JobState, after: JobState, check: JobCheck) -> tuple[str, ...]:
    """Notices of a sign-off that is undone now, and of what stands on it."""
    if not before.signed(check.phase) or after.signed(check.phase):
        return ()
    title = after.phase_by_key[check.phase].title
    return (f"this undoes the sign-off of {title}", *on_top(after, after.carries(check.phase)))


def _corrected(session: Session, state: JobState, check: JobCheck, corrects: str) -> str:
    if not corrects:
        return ""
    wanted = corrects.strip().lower()
    row = find(session, entry_numbered(session, state.facts.id, wanted) or wanted)
    if row is None or row.kind != "reading" or row.check_id != state.check_ids[check.key]:
        raise InputError(
            f"{clean(corrects)!r} is no reading of {check.key}",
            f"`deckjobs history {state.facts.code} {check.key}` numbers them",
        )
    return row.id


def take_back(
    book: Book,
    hand: Hand,
    code: str,
    key: str,
    reason: str,
    *,
    entry_id: str | None = None,
    reading: str = "",
) -> Recorded:
    """Take the reading of a check that is in force back, with a reason; the one before it is in force again.

    The reading stays in the history and says that it was taken back; a waiver given meanwhile stays. ``reading`` is the id
    of the one meant. Raises RefusedError when there is none to take back, ConflictError when another one is in force.
    """
    with book.writing() as session:
        return _take_back_in(book, session, hand, code, key, reason, reading, entry_id)


@once("reading taken back")
def _take_back_in(
    book: Book, session: Session, hand: Hand, code: str, key: str, reason: str, reading: str, entry_id: str | None
) -> Recorded:  # fmt: skip
    reason = accept(reason, "the reason", limit=NOTE_LIMIT)
    known(session, hand)
    state = load_job(book, session, code, hand.day)
    check = check_named(state, key)
    last = state.check_folds[check.key].last
    title = check.check.title
    if last is None:
        raise RefusedError(f"{title} has no reading in force", "there is nothing to take back")
    if reading and reading != last.id:
        raise ConflictError(
            f"the reading of {title} in force is another one by now, by {clean(last.who)}, {format_day(last.day, hand.day)}",
            "look at it, then take it back",
        )
    return _withdraw(book, session, hand, state, check, last, reason, entry_id)


def take_back_reading(
    book: Book, session: Session, hand: Hand, code: str, entry: Entry, reason: str, entry_id: str | None
) -> Recorded:
    """``take_back`` of a reading that stands, in force or not, inside the caller's transaction.

    Raises RefusedError when the job no longer has the check.
    """
    state = load_job(book, session, code, hand.day)
    check = next((check for check in state.checks if state.check_ids[check.key] == entry.check_id), None)
    if check is None:
        raise RefusedError("the job no longer has the check of that reading", "it counts no more as it is")
    meant = next(view for view in state.check_folds[check.key].readings if view.id == entry.id)
    return _withdraw(book, session, hand, state, check, meant, reason, entry_id)


def _withdraw(
    book: Book, session: Session, hand: Hand, state: JobState, check: JobCheck, meant: ReadingView, reason: str,
    entry_id: str | None,
) -> Recorded:  # fmt: skip
    body = {
        WITHDRAWN: reason,
        "what": "taken back",
        # What a fold that knows nothing of taking back sees: a correction without values, so the check is open.
        "entered": [],
        "unit": state.file.unit.value,
        "answer": incomplete("it again: it was taken back", source=check.check.source).as_json(),
    }
    draft = Draft(
        "reading", body, job_id=state.facts.id, check_id=state.check_ids[check.key], corrects=meant.id
    )  # fmt: skip
    last = state.check_folds[check.key].last
    done_now = append(session, hand, draft, entry_id)
    after = load_job(book, session, state.facts.code, hand.day)
    notices = done_now.notices + _undone(state, after, check)
    before = after.check_folds[check.key].last
    now = "the one before is in force again" if before else "none is left"
    if last is None or last.id != meant.id:
        now = "what is in force stays"
    return Recorded(
        done_now.id,
        False,
        f"{check.check.title}: the reading by {clean(meant.who)}, {format_day(meant.day, hand.day)}, is taken back; {now}:"
        f" {after.check_states[check.key].value}",
        notices,
    )


def waive(book: Book, hand: Hand, code: str, key: str, reason: str, *, entry_id: str | None = None) -> Recorded:
    """Let a check (or a phase's wait, ``wait.cure``) stand aside, with a reason; it stays visible for ever.

    Raises RefusedError when the person may not waive, or there is nothing to waive.
    """
    with book.writing() as session:
        return waive_in(book, session, hand, code, key, reason, entry_id)


@once("waiver")
def waive_in(
    book: Book,
    session: Session,
    hand: Hand,
    code: str,
    key: str,
    reason: str,
    entry_id: str | None = None,
    *,
    on_whose_word: Hand | None = None,
) -> Recorded:
    """``waive`` inside the caller's transaction; ``on_whose_word`` vouches for a waiver taken from a job file's log."""
    reason = accept(reason, "the reason", limit=NOTE_LIMIT)
    must_waive(session, on_whose_word or hand)
    known(session, hand)
    state = load_job(book, session, code, hand.day)
    if key.startswith(WAIT):
        phase = phase_named(state, key.removeprefix(WAIT))
        if phase.wait is None or not phase.wait.since:
            raise RefusedError(f"{phase.title} has no wait", "there is nothing to waive")
        draft = Draft("waiver", {"reason": reason}, job_id=state.facts.id, phase_id=state.phase_ids[phase.key])
        title = f"the wait of {phase.title}"
    else:
        check = check_named(state, key)
        if check.check.from_spec and state.check_states[check.key] is not CheckState.PASSED:
            raise RefusedError("no waiver clears the design", CLEARS_DESIGN)
        if state.check_states[check.key] is CheckState.PASSED and not _lots_to_waive(state, check):
            raise RefusedError(f"{check.check.title} has passed", "there is nothing to waive")
        draft = Draft("waiver", {"reason": reason}, job_id=state.facts.id, check_id=state.check_ids[check.key])
        title = check.check.title
    done_now = append(session, hand, draft, entry_id)
    return Recorded(done_now.id, False, f"{title} waived by {clean(hand.who)}: {clean(reason)}", done_now.notices)


def _lots_to_waive(state: JobState, check: JobCheck) -> bool:
    """Whether a delivery check that passed has lots that came later and are not fit to use."""
    return check.key == DELIVERY and any(lot.unfit for lot in state.lots)
