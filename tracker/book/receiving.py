"""A delivery taken in one pass: the counts off the ticket for several lots, and what each lot looked like."""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from dataclasses import replace

from sqlmodel import Session

from tracker.book.entries import Draft, append
from tracker.book.hand import Hand
from tracker.book.inspection import DELIVERY
from tracker.book.load import load_job
from tracker.book.lots import lot_named, no_more_than_due, sensible
from tracker.book.once import once
from tracker.book.opening import Book
from tracker.book.people import known
from tracker.book.readings import record_in
from tracker.book.state import JobState
from tracker.book.stock import needs_of, units_of
from tracker.book.views import Recorded
from tracker.errors import InputError, RefusedError
from tracker.text import clean, count
from tracker.trade.readings import readings_of


def receive_ticket(
    book: Book, hand: Hand, code: str, counts: Mapping[str, int], *, anyway: bool = False, entry_id: str | None = None
) -> Recorded:
    """Receive pieces of several lots at once, all or none. Counts of 0 are left out.

    Raises FarMoreError for far more than are due of one of them, unless they are received ``anyway``.

    ``entry_id`` names the first entry: the same ticket sent twice is recorded once. Raises InputError for no such lot, a
    count that makes no sense, or nothing counted.
    """
    with book.writing() as session:
        return _receive_ticket_in(book, session, hand, code, counts, anyway, entry_id)


@once("delivery ticket")
def _receive_ticket_in(
    book: Book, session: Session, hand: Hand, code: str, counts: Mapping[str, int], anyway: bool, entry_id: str | None
) -> Recorded:  # fmt: skip
    state = load_job(book, session, code, hand.day)
    wanted = [(lot_named(state, lot), number) for lot, number in counts.items() if number]
    if not wanted:
        raise InputError("nothing was counted", "type the pieces received of at least one lot")
    known(session, hand)
    units = units_of(state)
    said: list[str] = []
    notices: list[str] = []
    first = ""
    for number, (lot, pieces) in enumerate(wanted):
        sensible(pieces)
        if not anyway:
            no_more_than_due(lot, pieces)
        draft = Draft("movement", {"move": "received"}, job_id=state.facts.id, lot_id=lot.id, qty=pieces)
        done_now = append(session, hand, draft, entry_id if number == 0 else None)
        first = first or done_now.id
        notices += done_now.notices
        said.append(f"lot {clean(lot.code)} {count(pieces, units.get(lot.item, 'piece'))}")
        if (over := lot.fold.received + pieces - lot.fold.ordered) > 0:
            notices.append(f"lot {clean(lot.code)}: that is {over} more than ordered")
    return Recorded(first, False, f"received {', '.join(said)}", tuple(dict.fromkeys(notices)))


def inspect(
    book: Book,
    hand: Hand,
    code: str,
    lot: str,
    tokens: Sequence[str],
    *,
    entry_id: str | None = None,
    receive: bool = False,
    anyway: bool = False,
) -> Recorded:
    """Record what one lot looked like (``count=``, ``stamp=``, ``tag=``, ``moisture=``, ``culls=``) in the delivery check.

    What earlier readings say of the other lots stays. The verdict given is on this lot alone. With ``receive``
    what was counted beyond what has come is received with it. Raises InputErrors for wrong values, CountsApartError when the
    lot says otherwise, FarMoreError when far more were counted than are due and it is not ``anyway``.
    """
    with book.writing() as session:
        done = _inspect_in(book, session, hand, code, lot, tokens, receive, anyway, entry_id)
        return _of_the_lot(book, session, hand, code, lot, done)


@once("inspection")
def _inspect_in(
    book: Book, session: Session, hand: Hand, code: str, lot: str, tokens: Sequence[str], receive: bool, anyway: bool,
    entry_id: str | None,
) -> Recorded:  # fmt: skip
    state = load_job(book, session, code, hand.day)
    found = lot_named(state, lot)
    check = state.check_by_key.get(DELIVERY)
    if check is None:
        raise InputError(f"job {state.facts.code} has no delivery check", "its phases were changed by the house rules")
    if not found.line.is_any:
        raise RefusedError(
            f"lot {clean(found.code)} has nothing to look at: nothing of it is ordered or here",
            f"its order was canceled; to order it anew: deckjobs order {code} {shlex.quote(clean(found.item))} COUNT",
        )
    named = [_named(found.code, token) for token in tokens]
    if not named:
        raise InputError("nothing was read", "give count=, stamp=yes, tag=UC4A, moisture= or culls=")
    last = state.check_folds[check.key].last
    given = {name for name, _ in named}
    rows = check.check.form(state.case(check)).rows
    kept = [
        (name, text) for name, text in (last.entered if last else ())
        if name not in given and name.rpartition(".")[0] in rows
    ]  # fmt: skip
    merged = [f"{name}={text}" for name, text in (*kept, *named)]
    return record_in(
        book, session, hand, code, check.key, merged, entry_id, receive=receive, anyway=anyway, lots=(found.code,)
    )


def _of_the_lot(book: Book, session: Session, hand: Hand, code: str, lot: str, done: Recorded) -> Recorded:
    """What a reading of the delivery check, just recorded or recorded before, says of one lot."""
    state = load_job(book, session, code, hand.day)
    found, check = lot_named(state, lot), state.check_by_key[DELIVERY]
    reading = next((view for view in state.check_folds[check.key].readings if view.id == done.id), None)
    if reading is None:
        return done
    case = replace(state.case(check), lots=tuple(line for line in state.lot_lines if line.code == found.code))
    row = [name for name in reading.entered if name[0].startswith(f"{found.code}.")]
    answer = check.check.judge(case, readings_of(check.check.form(case), row, state.file.unit, hand.day))
    if done.already:
        return replace(done, answer=answer)
    verdict = answer.verdict.value.upper() if answer.verdict else ""
    state_now = state.check_states[check.key].value
    whole = () if state_now == str(answer.verdict) else (f"the delivery as a whole: {state_now}",)
    return replace(
        done,
        text=f"lot {clean(found.code)} {verdict}: {answer.headline}",
        answer=answer,
        notices=(*done.notices, *_to_send_and_get(state, found.code), *whole),
    )


def _to_send_and_get(state: JobState, lot: str) -> tuple[str, ...]:
    """What goes back of a lot, and how many of its item the job then still has to get."""
    found = lot_named(state, lot)
    if not found.fold.culls:
        return ()
    get = sum(need.to_buy for need in needs_of(state) if need.item == found.item)
    item = clean(found.item)
    more = f"get {get} more of {item}" if get else f"no more of {item} is needed"
    return (f"send {found.fold.culls} back, {found.fold.usable} fit to use; {more}",)


def _named(lot: str, token: str) -> tuple[str, str]:
    name, mark, text = token.partition("=")
    if not mark:
        raise InputError(f"{clean(token)[:40]!r} names no value", "write it like count=12 or tag=UC4A")
    return f"{lot}.{name.strip()}", text
