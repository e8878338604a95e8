"""Lots and their movements: ordered, received, used, returned, scrapped; and what is left to buy."""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from datetime import date

from sqlmodel import Session, select

from tracker.book.entries import Draft, append
from tracker.book.hand import Hand
from tracker.book.ids import new_id
from tracker.book.load import load_job, load_jobs, rows_of
from tracker.book.once import once
from tracker.book.opening import Book
from tracker.book.people import known
from tracker.book.standing import keep
from tracker.book.state import JobState, LotState
from tracker.book.stock import lots_of, needs_of, units_of
from tracker.book.tables import LotRow
from tracker.book.uses import MOST
from tracker.book.views import DesignOpenError, FarMoreError, LotView, NeedView, Recorded, faults_of
from tracker.errors import InputError, RefusedError
from tracker.text import NOTE_LIMIT, accept, clean, count, listing, near
from tracker.trade.checks.design import CLEARS_DESIGN
from tracker.trade.material import item_name, stock_size

FAR_OVER, FAR_OVER_PART = 10, 4
"""Over what is due by this many pieces, or by more than one in this many, is far more: asked about first (common practice)."""


def lots(book: Book, code: str, today: date) -> tuple[LotView, ...]:
    """The lots of a job."""
    with book.reading() as session:
        state = load_job(book, session, code, today)
    return lots_of(state)


def needs(book: Book, today: date, codes: Sequence[str] = ()) -> tuple[NeedView, ...]:
    """What the named jobs (all open ones when none is named) need and what is left to buy, the earliest day first."""
    with book.reading() as session:
        states = load_jobs(book, session, rows_of(session, codes), today)
    found = [need for state in states if codes or state.current is not None for need in needs_of(state)]
    return tuple(sorted(found, key=lambda need: (need.needed_on, need.job, need.item)))


def order(
    book: Book,
    hand: Hand,
    code: str,
    item: str,
    quantity: int,
    *,
    supplier: str = "",
    promised: date | None = None,
    lot: str = "",
    price_e4: int | None = None,
    anyway: bool = False,
    wood: str = "",
    entry_id: str | None = None,
) -> Recorded:
    """Order pieces of an item as a new lot, or more of a lot that is there.

    Raises, unless it is ordered ``anyway``: DesignOpenError for lumber of the frame while the design fails, FarMoreError when
    the job is left to buy far fewer, RefusedError for what is not
    on the take-off, nor a lot of the job yet, but reads much like something that is.

    ``price_e4`` is what one piece costs; without it the price book's price on this day is noted. A new lot without a
    supplier takes the one the price book names. A lot of boards knows its ``wood``: the one the job needs, which has to be
    named when it lacks boards of several. Raises InputError when it does not.
    """
    with book.writing() as session:
        return order_in(
            book, session, hand, code, item, quantity, supplier, promised, lot, price_e4, entry_id, wood, anyway=anyway
        )


def order_shared(
    book: Book,
    hand: Hand,
    item: str,
    counts: Mapping[str, int],
    supplier: str,
    promised: date | None,
    wood: str = "",
    *,
    anyway: bool = False,
    entry_id: str | None = None,
) -> Recorded:
    """Order each job's share of an item, all of them or none; ``entry_id`` names the first. Raises as ``order``."""
    with book.writing() as session:
        return _order_shared_in(book, session, hand, item, counts, supplier, promised, wood, anyway, entry_id)


@once("order for several jobs")
def _order_shared_in(
    book: Book, session: Session, hand: Hand, item: str, counts: Mapping[str, int], supplier: str, promised: date | None,
    wood: str, anyway: bool, entry_id: str | None,
) -> Recorded:  # fmt: skip
    done = [
        order_in(
            book, session, hand, job, item, count, supplier, promised, "", None, None if number else entry_id, wood,
            anyway=anyway,
        )
        for number, (job, count) in enumerate(counts.items())
    ]  # fmt: skip
    text = "; ".join(f"{job} {one.text}" if len(done) > 1 else one.text for job, one in zip(counts, done, strict=True))
    notices = tuple(dict.fromkeys(notice for one in done for notice in one.notices))
    return Recorded(done[0].id, False, text, notices)


@once("order")
def order_in(
    book: Book,
    session: Session,
    hand: Hand,
    code: str,
    item: str,
    quantity: int,
    supplier: str = "",
    promised: date | None = None,
    lot: str = "",
    price_e4: int | None = None,
    entry_id: str | None = None,
    wood: str = "",
    *,
    anyway: bool = False,
) -> Recorded:
    """``order`` inside the caller's transaction."""
    sensible(quantity)
    item = item_name(accept(item, "the item", limit=80))
    state = load_job(book, session, code, hand.day)
    units = units_of(state)
    notices: tuple[str, ...] = ()
    if item not in units:
        told = f"{clean(item)} is not on the take-off of {state.facts.code}"
        if not anyway and all(found.item != item for found in state.lots) and (meant := near(item, units)):
            raise RefusedError(f"{told}{meant}", "order that; if it is wanted as typed, say so with --anyway")
        notices = (told,)
    there = next((found for found in state.lots if found.code == lot), None) if lot else None
    if there is not None and there.item != item:
        raise InputError(f"lot {clean(lot)} is {clean(there.item)}, not {clean(item)}", "give the lot another code")
    wood = there.wood if there and there.wood else wood_for(state, item, wood)
    use = use_of(state, item, wood)
    offer = state.prices.best(item, use, wood)
    if offer is not None and not supplier:
        supplier = offer.supplier
    if price_e4 is None and offer is not None and offer.supplier in ("", supplier):
        price_e4 = offer.price_e4
    if not anyway and state.design_fails and state.is_structural(item):
        told = f"the design of {state.facts.code} fails: {state.design.headline}"
        raise DesignOpenError(told, f"{CLEARS_DESIGN}; to order all the same, say so with --anyway")
    if item in units and not anyway:
        _no_more_than_needed(state, item, quantity, units[item])
    lot_id, lot_code = (
        (there.id, there.code) if there else new_lot(session, hand, state, item, supplier, lot, use, wood)
    )
    body = {"move": "ordered", "promised": promised.isoformat() if promised else "", "paid_e4": price_e4}
    known(session, hand)
    draft = Draft("movement", body, job_id=state.facts.id, lot_id=lot_id, qty=quantity)
    appended = append(session, hand, draft, entry_id)
    text = f"lot {lot_code}: ordered {count(quantity, units.get(item, 'piece'))} of {clean(item)}"
    return Recorded(appended.id, False, text, notices + appended.notices)


def use_of(state: JobState, item: str, wood: str) -> str:
    """The hardest use category the take-off asks of an item of a wood, empty for goods that are not treated wood."""
    return max((use for of, use in state.kinds(item) if of == wood or not wood), default="")


def wood_for(state: JobState, item: str, wood: str) -> str:
    """The species and grade an order of an item is for: the ``wood`` named, else the one the job needs, or lacks, of it.

    Empty for goods and for what is not on the take-off. Raises InputError when it could be for several.
    """
    woods = sorted({of for of, _ in state.kinds(item)})
    if wood:
        named = [of for of in woods if of.casefold() == wood.strip().casefold()]
        if woods and not named:
            raise InputError(
                f"{state.facts.code} needs no {clean(item)} of {clean(wood)}", f"it needs {listing(woods, 'and')}"
            )
        return named[0] if named else accept(wood, "the wood")
    if len(woods) <= 1:
        return woods[0] if woods else ""
    lacking = sorted({need.wood for need in needs_of(state) if need.item == item and need.to_buy})
    if len(lacking) == 1:
        return lacking[0]
    raise InputError(
        f"{state.facts.code} needs {clean(item)} of {listing(lacking or woods, 'and')}",
        f'say which: --wood "{(lacking or woods)[0]}"',
    )


def new_lot(
    session: Session,
    hand: Hand,
    state: JobState,
    item: str,
    supplier: str,
    lot: str,
    use: str,
    wood: str,
    *,
    dry: bool = False,
) -> tuple[str, str]:
    """A new lot row; its code is the next free one when none is given. Returns its id and code."""
    taken = {row.code: row for row in session.exec(select(LotRow).where(LotRow.job_id == state.facts.id))}
    if not lot:
        lot = next(name for n in range(1, len(taken) + 2) if (name := f"L{n}") not in taken)
    elif lot in taken:
        emptied = taken[lot].id not in {there.id for there in state.lots}
        if emptied and taken[lot].item == item:
            return taken[lot].id, lot  # all of it was taken back: the same lot begins anew
        raise InputError(f"lot {clean(lot)} is there already", "give the lot another code")
    row = LotRow(
        id=new_id(),
        job_id=state.facts.id,
        code=accept(lot, "the lot's code", limit=40),
        item=item,
        supplier=accept(supplier, "the supplier", empty=True),
        use_category=use,
        dry=int(dry),
        wood=wood,
    )
    session.add(row)
    keep(session, hand, row)
    return row.id, row.code


def receive(
    book: Book, hand: Hand, code: str, lot: str, quantity: int, *, anyway: bool = False, entry_id: str | None = None
) -> Recorded:
    """Take pieces of a lot off the truck; a few more than ordered are recorded and said.

    Raises FarMoreError for far more than are due, unless they are received ``anyway``.
    """
    with book.writing() as session:
        return move_in(book, session, hand, code, lot, "received", quantity, entry_id, anyway=anyway)


def cancel(
    book: Book, hand: Hand, code: str, lot: str, quantity: int | None, reason: str, *, entry_id: str | None = None
) -> Recorded:
    """Cancel pieces of a lot that are still to come, all of them when ``quantity`` is None, with a reason.

    The promise and the price of the others stay. Raises RefusedError when there are not that many to come.
    """
    with book.writing() as session:
        return _cancel_in(book, session, hand, code, lot, quantity, reason, entry_id)


@once("cancellation")
def _cancel_in(
    book: Book, session: Session, hand: Hand, code: str, lot: str, quantity: int | None, reason: str, entry_id: str | None,
) -> Recorded:  # fmt: skip
    reason = accept(reason, "the reason", limit=NOTE_LIMIT)
    if quantity is not None:
        sensible(quantity)
    state = load_job(book, session, code, hand.day)
    found = lot_named(state, lot)
    to_come = found.fold.on_order
    pieces = to_come if quantity is None else quantity
    if not to_come or pieces > to_come:
        raise RefusedError(
            f"lot {clean(found.code)} has {to_come} still to come" + (f", not {pieces}" if to_come else ""),
            "what has come is sent back: deckjobs return" if not to_come else "cancel no more than that",
        )
    known(session, hand)
    body = {"move": "canceled", "reason": reason}
    draft = Draft("movement", body, job_id=state.facts.id, lot_id=found.id, qty=pieces)
    appended = append(session, hand, draft, entry_id)
    unit = units_of(state).get(found.item, "piece")
    text = f"lot {found.code}: canceled {count(pieces, unit)} of {clean(found.item)}; {to_come - pieces} still to come"
    return Recorded(appended.id, False, text, appended.notices)


def use(book: Book, hand: Hand, code: str, lot: str, quantity: int, *, entry_id: str | None = None) -> Recorded:
    """Build pieces of a lot in. Raises RefusedError when there are not that many on hand."""
    with book.writing() as session:
        return move_in(book, session, hand, code, lot, "used", quantity, entry_id)


def give_back(book: Book, hand: Hand, code: str, lot: str, quantity: int, *, entry_id: str | None = None) -> Recorded:
    """Send pieces of a lot back to the supplier. Raises RefusedError when there are not that many on hand."""
    with book.writing() as session:
        return move_in(book, session, hand, code, lot, "returned", quantity, entry_id)


def scrap(book: Book, hand: Hand, code: str, lot: str, quantity: int, *, entry_id: str | None = None) -> Recorded:
    """Write pieces of a lot off. Raises RefusedError when there are not that many on hand."""
    with book.writing() as session:
        return move_in(book, session, hand, code, lot, "scrapped", quantity, entry_id)


@once("movement")
def move_in(
    book: Book,
    session: Session,
    hand: Hand,
    code: str,
    lot: str,
    move: str,
    quantity: int,
    entry_id: str | None = None,
    *,
    anyway: bool = False,
) -> Recorded:
    """One movement of a lot inside the caller's transaction."""
    sensible(quantity)
    state = load_job(book, session, code, hand.day)
    found = lot_named(state, lot)
    notices: tuple[str, ...] = ()
    if move == "received":
        if not anyway:
            no_more_than_due(found, quantity)
        over = found.fold.received + quantity - found.fold.ordered
        if over > 0:
            notices = (f"that is {over} more than ordered",)
    else:
        if move == "used":
            fit_or_refused(state, found)
        on_hand_or_refused(state, found, quantity, fit=move == "used")
    known(session, hand)
    draft = Draft("movement", {"move": move}, job_id=state.facts.id, lot_id=found.id, qty=quantity)
    done_now = append(session, hand, draft, entry_id)
    unit = units_of(state).get(found.item, "piece")
    text = f"lot {found.code}: {move} {count(quantity, unit)} of {clean(found.item)}"
    return Recorded(done_now.id, False, text, notices + done_now.notices)


def fit_or_refused(state: JobState, lot: LotState) -> None:
    """Raise RefusedError when the delivery check found something wrong with the pieces that nobody waived."""
    if lot.unfit:
        raise RefusedError(
            f"lot {clean(lot.code)} failed its delivery check: {faults_of(lot.code, lot.unfit)}",
            f"send it back, or: deckjobs waive {state.facts.code} delivery --reason TEXT",
        )


def on_hand_or_refused(state: JobState, lot: LotState, quantity: int, *, fit: bool = False) -> None:
    """Raise RefusedError unless that many pieces of the lot are on hand; with ``fit`` that many that are no culls."""
    if fit and lot.fold.usable < quantity <= lot.fold.on_hand:
        culls = count(lot.fold.culls, "cull")
        raise RefusedError(
            f"lot {clean(lot.code)} has {lot.fold.usable} fit to use, not {quantity}: {culls} to send back",
            f"use {lot.fold.usable} and send the culls back: deckjobs return {state.facts.code} {clean(lot.code)}"
            f" {lot.fold.culls}; if they are fit after all: deckjobs inspect {state.facts.code} {clean(lot.code)} culls=0",
        )
    if quantity > lot.fold.on_hand:
        name = f"{state.facts.code} {clean(lot.code)}"
        to_come = f"receive what has come first: deckjobs receive {name} COUNT"
        none_left = (
            f"nothing more is to come; order it: deckjobs order {state.facts.code} {shlex.quote(clean(lot.item))} COUNT"
        )
        raise RefusedError(
            f"lot {clean(lot.code)} has {lot.fold.on_hand} on hand, not {quantity}",
            to_come if lot.fold.on_order else none_left,
        )


def far_more(due: int, pieces: int) -> bool:
    """Whether that many pieces are far more than are due: by ten or more, or by over a quarter (common practice)."""
    over = pieces - due
    return over >= FAR_OVER or over * FAR_OVER_PART > due


def no_more_than_due(lot: LotState, quantity: int, here: int = 0) -> None:
    """Raise FarMoreError when far more pieces of a lot would have come than are due; ``here`` are those it is to replace."""
    due = max(lot.fold.ordered - lot.fold.received + here, 0)
    if far_more(due, quantity):
        raise FarMoreError(
            f"lot {clean(lot.code)} has {due} still to come, not {quantity} {clean(lot.item)}",
            "count again; if they did come, say so with --anyway",
        )


def _no_more_than_needed(state: JobState, item: str, quantity: int, unit: str) -> None:
    """Raise FarMoreError for far more than is left to buy; boards may be of another length than the take-off chose."""
    needs, size = needs_of(state), stock_size(item)
    left = sum(need.to_buy for need in needs if need.item == item)
    if size is not None:
        sizes = [(need, stock_size(need.item)) for need in needs]
        run_nm = sum(need.to_buy * found[1] for need, found in sizes if found and found[0] == size[0])
        left = max(left, -(-run_nm // size[1]))
    pack = max((need.pack for need in needs if need.item == item), default=1)
    if far_more(-(-left // pack) * pack, quantity):
        raise FarMoreError(
            f"{state.facts.code} has {count(left, unit)} of {clean(item)} left to buy, not {quantity}",
            "look at the count; if that many are wanted, say so with --anyway",
        )


def sensible(quantity: int) -> None:
    """Raise InputError unless it is a number of pieces."""
    if not 0 < quantity <= MOST:
        raise InputError(f"{quantity} is not a number of pieces", f"give a whole number from 1 to {MOST}")


def lot_named(state: JobState, text: str) -> LotState:
    """The lot of that code; raises InputError with the near miss."""
    for lot in state.lots:
        if lot.code.casefold() == text.strip().casefold():
            return lot
    codes = [lot.code for lot in state.lots]
    if not codes:
        raise InputError(
            f"job {state.facts.code} has no lots yet", f"order one: deckjobs order {state.facts.code} ITEM COUNT"
        )
    raise InputError(
        f"job {state.facts.code} has no lot {clean(text)!r}{near(text, codes)}", f"it has {listing(codes, 'and')}"
    )
