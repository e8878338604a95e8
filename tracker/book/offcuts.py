"""Stock that comes without an order: offcuts put back, and pieces that go from one job to another."""

from __future__ import annotations

from sqlmodel import Session

from tracker.book.entries import Draft, append
from tracker.book.hand import Hand
from tracker.book.load import load_job
from tracker.book.lots import lot_named, new_lot, on_hand_or_refused, sensible
from tracker.book.once import once
from tracker.book.opening import Book
from tracker.book.people import known
from tracker.book.state import JobState, LotState
from tracker.book.views import Recorded
from tracker.errors import InputError
from tracker.text import clean, count
from tracker.trade.lengths import format_length
from tracker.trade.material import stock_key, stock_size


def put_back(
    book: Book, hand: Hand, code: str, lot: str, length_nm: int, quantity: int, *, entry_id: str | None = None
) -> Recorded:
    """Put offcuts of a lot's boards back to stock as a lot of their own, which the next cut plan takes first.

    ``length_nm`` is what is left of each. Raises InputError when the lot is no lumber, the piece is not shorter than the
    board, or more pieces come back than boards were used.
    """
    with book.writing() as session:
        return _put_back_in(book, session, hand, code, lot, length_nm, quantity, entry_id)


@once("offcuts")
def _put_back_in(
    book: Book, session: Session, hand: Hand, code: str, lot: str, length_nm: int, quantity: int, entry_id: str | None
) -> Recorded:  # fmt: skip
    sensible(quantity)
    state = load_job(book, session, code, hand.day)
    found = lot_named(state, lot)
    size = stock_size(found.item)
    if size is None:
        raise InputError(f"lot {clean(found.code)} is {clean(found.item)}, not boards", "offcuts come from boards")
    board, unit = size[1], state.file.unit
    if not 0 < length_nm < board:
        raise InputError(
            f"{format_length(length_nm, unit)} is no offcut of a {format_length(board, unit)} board",
            "give what is left over",
        )
    if quantity > found.fold.used:
        raise InputError(
            f"lot {clean(found.code)} has {count(found.fold.used, 'board')} used, so {quantity} offcuts cannot be left",
            f"record what was used first: deckjobs use {state.facts.code} {clean(found.code)} COUNT",
        )
    item = stock_key(size[0], length_nm)
    there = next((o for o in state.lots if (o.item, o.wood) == (item, found.wood) and not o.fold.ordered), None)
    lot_id, lot_code = _lot_for(session, hand, state, item, there, found)
    known(session, hand)
    body = {"move": "put back", "from": found.code}
    done_now = append(
        session, hand, Draft("movement", body, job_id=state.facts.id, lot_id=lot_id, qty=quantity), entry_id
    )
    text = f"lot {lot_code}: {count(quantity, 'offcut')} of {format_length(length_nm, unit)} put back"
    return Recorded(done_now.id, False, text, done_now.notices)


def _lot_for(
    session: Session, hand: Hand, state: JobState, item: str, there: LotState | None, like: LotState
) -> tuple[str, str]:
    """The id and code of the lot pieces go to: the one ``there``, else a new one of a job, of the make of ``like``."""
    if there is not None:
        return there.id, there.code
    return new_lot(session, hand, state, item, like.supplier, "", like.use_category, like.wood, dry=like.dry)


def transfer(
    book: Book, hand: Hand, code: str, lot: str, quantity: int, to_code: str, *, entry_id: str | None = None
) -> Recorded:
    """Move pieces of a lot to another job, as one transaction: out of one lot, into a lot of the other job.

    Raises RefusedError when there are not that many on hand, InputError when both jobs are the same.
    """
    with book.writing() as session:
        return _transfer_in(book, session, hand, code, lot, quantity, to_code, entry_id)


@once("transfer")
def _transfer_in(
    book: Book, session: Session, hand: Hand, code: str, lot: str, quantity: int, to_code: str, entry_id: str | None
) -> Recorded:  # fmt: skip
    sensible(quantity)
    state, other = load_job(book, session, code, hand.day), load_job(book, session, to_code, hand.day)
    if state.facts.id == other.facts.id:
        raise InputError(f"{state.facts.code} is the job it comes from", "name the job it goes to")
    found = lot_named(state, lot)
    on_hand_or_refused(state, found, quantity, fit=True)
    alike = (x for x in other.lots if (x.item, x.wood) == (found.item, found.wood))
    there = next((x for x in alike if x.fold.found and not x.fold.ordered), None)
    into_id, into_code = _lot_for(session, hand, other, found.item, there, found)
    known(session, hand)
    out = {"move": "moved out", "to": other.facts.code, "to_lot": into_code}
    done_now = append(
        session, hand, Draft("movement", out, job_id=state.facts.id, lot_id=found.id, qty=quantity), entry_id
    )
    into = {"move": "moved in", "from": state.facts.code, "from_lot": found.code}
    append(session, hand, Draft("movement", into, job_id=other.facts.id, lot_id=into_id, qty=quantity))
    text = f"{quantity} of {clean(found.item)} from lot {found.code} of {state.facts.code} to lot {into_code} of {other.facts.code}"
    return Recorded(done_now.id, False, text, done_now.notices)
