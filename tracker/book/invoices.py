"""Invoices, credit notes, payments and costs: each one entry in one transaction; nothing is ever changed.

Invoices and credit notes are numbered together over the whole book, without gaps. What was wrong is put right by a new
entry: a credit note takes from an invoice, ``take_back`` takes back a payment, a cost, a change, a quote or the acceptance.
"""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from datetime import date
from typing import Any

from sqlmodel import Session

from tracker.book.entries import Entry
from tracker.book.gates import phase_named
from tracker.book.hand import Hand
from tracker.book.ledger import Invoice, InvoiceLine, Ledger, Payment, about_json
from tracker.book.load import find_job, load_job
from tracker.book.money import must_be_sold, record
from tracker.book.moneyread import ledger_of, next_invoice_number
from tracker.book.moneyviews import DrawView, draws_of
from tracker.book.once import once
from tracker.book.opening import Book
from tracker.book.people import known, must_waive
from tracker.book.state import JobState
from tracker.book.views import Recorded, SameAgainError
from tracker.errors import InputError, RefusedError
from tracker.planning.cents import share_out
from tracker.text import NOTE_LIMIT, accept, clean, listing, near
from tracker.trade.dates import format_day
from tracker.trade.money import LARGEST_CENTS, format_money


def invoice(
    book: Book,
    hand: Hand,
    code: str,
    draws: Sequence[str] = (),
    cents: int | None = None,
    text: str = "",
    *,
    entry_id: str | None = None,
) -> Recorded:
    """Invoice the named draws, or an amount on account, or (neither) every draw that is ready, in one invoice.

    Raises RefusedError when nothing is ready, a draw's phase is not signed off, or more than the contract would be
    invoiced. Changes that take more off than the rest adds make a credit note when they are named, and are refused when not.
    """
    with book.writing() as session:
        return invoice_in(book, session, hand, code, draws, cents, text, entry_id)


@once("invoice")
def invoice_in(
    book: Book, session: Session, hand: Hand, code: str, draws: Sequence[str] = (), cents: int | None = None,
    text: str = "", entry_id: str | None = None, *, on_whose_word: Hand | None = None,
) -> Recorded:  # fmt: skip
    """``invoice`` inside the caller's transaction; ``on_whose_word`` vouches for a line of a job file's log."""
    must_waive(session, on_whose_word or hand, "invoice")
    known(session, hand)
    state = load_job(book, session, code, hand.day)
    ledger = must_be_sold(state.facts.code, ledger_of(session, state.facts.id))
    text = accept(text, "the invoice's text", limit=NOTE_LIMIT, empty=True)
    if cents is not None:
        if draws:
            raise InputError("an amount and a draw are both given", "give one of them")
        lines = [_on_account(state.facts.code, ledger, cents, text)]
    else:
        lines = _lines(state, ledger, draws)
    number = next_invoice_number(session)
    total = sum(line.cents for line in lines)
    if not total:
        raise RefusedError("what is ready comes to nothing", "name the draw to invoice with --draw")
    if total < 0 and not draws:
        names = " ".join(f"--draw {shlex.quote(line.draw)}" for line in lines)
        raise RefusedError(
            f"what is ready comes to {format_money(total)}: that makes a credit note, not an invoice",
            f"give it back on purpose: deckjobs invoice {state.facts.code} {names}",
        )
    what = "invoice" if total > 0 else "credit note"
    signed = {line.draw: fold.signed_off.isoformat() for line in lines
              if (fold := state.phase_folds.get(line.draw)) and state.signed(line.draw) and fold.signed_off}  # fmt: skip
    body = {
        "what": what, "number": number, "lines": _lines_json(lines), "cents": total, "text": text, "signed": signed,
        "about": about_json(state.facts.title, state.facts.client, state.facts.place),
    }  # fmt: skip
    said = ", ".join(clean(line.draw or line.text) for line in lines)
    left = format_money(ledger.contract_cents - ledger.invoiced_cents - total)
    told = f"{what} {number}: {format_money(abs(total))} for {said}; {left} is still to invoice"
    return record(session, hand, state.facts.id, body, told, entry_id)


def _lines_json(lines: Sequence[InvoiceLine]) -> list[dict[str, object]]:
    return [{"draw": line.draw, "text": line.text, "cents": line.cents} for line in lines]


def _on_account(code: str, ledger: Ledger, cents: int, text: str) -> InvoiceLine:
    left = ledger.contract_cents - ledger.invoiced_cents
    sensible(cents)
    if cents > left:
        raise RefusedError(
            f"only {format_money(left)} of the contract is left to invoice, not {format_money(cents)}",
            f"price the change first: deckjobs extra {code} AMOUNT TEXT",
        )
    return InvoiceLine("", text or "on account", cents)


def _lines(state: JobState, ledger: Ledger, named: Sequence[str]) -> list[InvoiceLine]:
    titles = {phase.key: phase.title for phase in state.phases}
    found = draws_of(ledger, titles, [key for key in titles if state.signed(key)], state.current is None)
    chosen = [_draw_named(found, name) for name in dict.fromkeys(named)]
    if not named:
        chosen = [draw for draw in found if draw.ready and draw.left_cents]
        if not chosen:
            waiting = next((draw for draw in found if draw.left_cents), None)
            why = (
                f"the next draw, {waiting.name}, waits for that phase" if waiting else "all of the contract is invoiced"
            )
            raise RefusedError(f"nothing of {state.facts.code} is ready to invoice: {why}", _sign(state, waiting))
    for draw in chosen:
        if not draw.left_cents:
            raise RefusedError(f"{draw.name} is invoiced already", "a credit note takes an invoice back")
        if not draw.ready:
            raise RefusedError(f"{draw.name} cannot be invoiced: {draw.title} is not signed off", _sign(state, draw))
    return [InvoiceLine(draw.name, draw.title, draw.left_cents) for draw in chosen]


def _sign(state: JobState, draw: DrawView | None) -> str:
    code = state.facts.code
    if draw is None or not draw.phase:
        return f"price a change first: deckjobs extra {code} AMOUNT TEXT"
    return f"sign it off: deckjobs signoff {code} {draw.phase}; or invoice an amount on account: deckjobs invoice {code} AMOUNT"


def _draw_named(draws: Sequence[DrawView], text: str) -> DrawView:
    wanted = " ".join(text.lower().split())
    for draw in draws:
        if wanted in (draw.name, draw.title.lower()):
            return draw
    names = [draw.name for draw in draws]
    raise InputError(
        f"there is no draw {clean(text)[:40]!r}{near(wanted, names)}", f"the draws are {listing(names, 'and')}"
    )


def credit(
    book: Book, hand: Hand, code: str, number: int, why: str, cents: int | None = None, *, entry_id: str | None = None
) -> Recorded:
    """Take from an invoice with a credit note: all that is left of it, or ``cents``. Its draws can be invoiced again."""
    with book.writing() as session:
        return _credit_in(book, session, hand, code, number, why, cents, entry_id)


@once("credit note")
def _credit_in(
    book: Book, session: Session, hand: Hand, code: str, number: int, why: str, cents: int | None, entry_id: str | None
) -> Recorded:  # fmt: skip
    must_waive(session, hand, "give a credit note")
    job = find_job(session, code)
    ledger = ledger_of(session, job.id)
    why = accept(why, "the reason", limit=NOTE_LIMIT)
    found = _invoice_numbered(job.code, ledger, number)
    gone = -sum(note.cents for note in ledger.invoices if note.against == number)
    left = found.cents - gone
    if not left:
        notes = listing([str(note.number) for note in ledger.invoices if note.against == number], "and")
        raise RefusedError(
            f"invoice {number} is credited in full already, by credit note {notes}", "nothing was recorded"
        )
    amount = left if cents is None else cents
    sensible(amount)
    if amount > left:
        raise RefusedError(f"{format_money(left)} of invoice {number} is left to credit", "give no more than that")
    lines = _credited(found, amount, why)
    new = next_invoice_number(session)
    body = {
        "what": "credit note", "number": new, "lines": _lines_json(lines), "cents": -amount, "against": number,
        "text": why, "about": about_json(job.title, job.client, job.place),
    }  # fmt: skip
    told = f"credit note {new}: {format_money(amount)} off invoice {number}"
    return record(session, hand, job.id, body, told, entry_id)


def _credited(found: Invoice, amount: int, why: str) -> list[InvoiceLine]:
    if amount == found.cents:
        return [InvoiceLine(line.draw, line.text, -line.cents) for line in found.lines]
    weights = [max(line.cents, 0) for line in found.lines]
    parts = zip(found.lines, share_out(-amount, weights), strict=True)
    return [InvoiceLine(line.draw, why, part) for line, part in parts if part]


def _invoice_numbered(code: str, ledger: Ledger, number: int) -> Invoice:
    numbers = [str(found.number) for found in ledger.invoices if found.cents > 0]
    found = ledger.invoice(number)
    if found is None or found.cents <= 0:
        has = f"it has {listing(numbers, 'and')}" if numbers else "nothing of it is invoiced yet"
        raise InputError(f"{code} has no invoice {number}", has)
    return found


def sensible(cents: int) -> None:
    """Raise InputError unless it is an amount of money above nothing."""
    if not 0 < cents <= LARGEST_CENTS:
        raise InputError(f"{format_money(cents)} is no amount to record", "give an amount like 1904.50")


def _past(day: date, hand: Hand) -> date:
    if day > hand.day:
        raise InputError(f"{format_day(day, hand.day)} is still to come", "give today or a day gone by")
    return day


def receive_payment(
    book: Book,
    hand: Hand,
    code: str,
    cents: int,
    how: str = "",
    on: date | None = None,
    invoice_number: int = 0,
    *,
    back: bool = False,
    anyway: bool = False,
    entry_id: str | None = None,
) -> Recorded:
    """Record money received (or, with ``back``, paid back to the client, at most the client's credit).

    Raises SameAgainError when a payment of that amount with the same ``how`` stands already, unless it is another one
    ``anyway``.
    """
    with book.writing() as session:
        return receive_payment_in(
            book, session, hand, code, cents, how, on, invoice_number, entry_id, back=back, anyway=anyway
        )


@once("payment")
def receive_payment_in(
    book: Book, session: Session, hand: Hand, code: str, cents: int, how: str = "", on: date | None = None,
    invoice_number: int = 0, entry_id: str | None = None, *, back: bool = False, anyway: bool = False,
    on_whose_word: Hand | None = None,
) -> Recorded:  # fmt: skip
    """``receive_payment`` inside the caller's transaction; ``on_whose_word`` vouches for a line of a job file's log."""
    must_waive(session, on_whose_word or hand, "record a payment")
    known(session, hand)
    sensible(cents)
    job = find_job(session, code)
    ledger = ledger_of(session, job.id)
    if invoice_number:
        _invoice_numbered(job.code, ledger, invoice_number)
    credit_cents = ledger.paid_cents - ledger.invoiced_cents
    if back and cents > credit_cents:
        raise RefusedError(
            f"the client has {format_money(max(credit_cents, 0))} to get back, not {format_money(cents)}",
            f"a credit note comes first: deckjobs credit {job.code} INVOICE --reason TEXT",
        )
    body: dict[str, Any] = {
        "what": "payment", "cents": -cents if back else cents, "on": _past(on or hand.day, hand).isoformat(),
        "how": accept(how, "how it was paid", empty=True), "invoice": invoice_number,
    }  # fmt: skip
    notices = []
    if (same := _same_payment(ledger, body["cents"], body["how"])) is not None:
        told = _payment_words(same, hand.day)
        if not anyway:
            raise SameAgainError(f"{told} is recorded of {job.code} already", "if this is another one, add --anyway")
        notices.append(f"{told} stands too: if it is one and the same, take one of them back")
    after = ledger.invoiced_cents - ledger.paid_cents - body["cents"]
    stands = f"{format_money(after)} is due" if after > 0 else "nothing is due"
    if after < 0:
        notices.append(f"that is {format_money(-after)} more than is invoiced: it stands as the client's credit")
    word = "paid back" if back else "received"
    return record(session, hand, job.id, body, f"{word} {format_money(cents)}; {stands}", entry_id, notices)


def _same_payment(ledger: Ledger, cents: int, how: str) -> Payment | None:
    """The last payment of that amount that says how in the same words, none when there is none."""
    words = how.casefold().split()
    alike = [found for found in ledger.payments if found.cents == cents and found.how.casefold().split() == words]
    return alike[-1] if alike else None


def _payment_words(payment: Payment, today: date) -> str:
    """``payment 2 ($500.00, check 118, Tue 12 May, by Rosa)``."""
    how = f", {clean(payment.how)}" if payment.how else ""
    money = format_money(abs(payment.cents)) + (" paid back" if payment.cents < 0 else "")
    return f"payment {payment.number} ({money}{how}, {format_day(payment.on, today)}, by {clean(payment.who)})"


def spend(
    book: Book, hand: Hand, code: str, cents: int, phase: str, text: str, on: date | None = None,
    *, entry_id: str | None = None,
) -> Recorded:  # fmt: skip
    """Record what a phase cost that is no lot: equipment hire, a dump fee, a permit fee. Anybody known may.

    An amount of 0 says that what was estimated for the phase cost nothing after all.
    """
    with book.writing() as session:
        return spend_in(book, session, hand, code, cents, phase, text, on, entry_id)


@once("cost")
def spend_in(
    book: Book, session: Session, hand: Hand, code: str, cents: int, phase: str, text: str, on: date | None = None,
    entry_id: str | None = None,
) -> Recorded:  # fmt: skip
    """``spend`` inside the caller's transaction."""
    known(session, hand)
    if cents:
        sensible(cents)
    state = load_job(book, session, code, hand.day)
    chosen = phase_named(state, phase)
    body: dict[str, Any] = {
        "what": "cost", "cents": cents, "on": _past(on or hand.day, hand).isoformat(), "phase": chosen.key,
        "text": accept(text, "what it was for", limit=NOTE_LIMIT),
    }  # fmt: skip
    told = f"{format_money(cents)} spent on {chosen.title.lower()}: {clean(body['text'])}"
    return record(session, hand, state.facts.id, body, told, entry_id)


def take_back(book: Book, hand: Hand, code: str, what: str, why: str, *, entry_id: str | None = None) -> Recorded:
    """Take back ``payment 2``, ``cost 1``, ``change 1``, ``quote 1`` or ``acceptance``; the entry stays in the book and counts no more.

    Raises RefusedError where invoices were made from it (a credit note comes first), and for a quote that was accepted.
    """
    with book.writing() as session:
        return _take_back_in(book, session, hand, code, what, why, entry_id)


@once("money taken back")
def _take_back_in(
    book: Book, session: Session, hand: Hand, code: str, what: str, why: str, entry_id: str | None
) -> Recorded:  # fmt: skip
    must_waive(session, hand, "take money back")
    job = find_job(session, code)
    ledger = ledger_of(session, job.id)
    why = accept(why, "the reason", limit=NOTE_LIMIT)
    wanted = " ".join(what.lower().split())
    known_things = _things(ledger)
    if wanted not in known_things:
        has = listing(known_things, "and") or "nothing that can be"
        raise InputError(
            f"{clean(what)[:40]!r} cannot be taken back{near(wanted, known_things)}", f"{job.code} has {has}"
        )
    return _take_back(session, hand, job.code, job.id, ledger, wanted, why, entry_id)


def take_back_money(
    session: Session, hand: Hand, code: str, entry: Entry, why: str, entry_id: str | None
) -> Recorded:  # fmt: skip
    """``take_back`` of a money entry that stands, inside the caller's transaction.

    Raises RefusedError for those that another way takes back: an invoice, a change order, a schedule of draws.
    """
    must_waive(session, hand, "take money back")
    ledger = ledger_of(session, entry.job_id)
    name = next((name for name, found in _things(ledger).items() if found == entry.id), "")
    if not name:
        what = str(entry.body.get("what", "it"))
        raise RefusedError(
            f"{what} is not taken back", _ANOTHER_WAY.get(what, "record what is right").format(code=code)
        )
    return _take_back(session, hand, code, entry.job_id, ledger, name, why, entry_id)


_ANOTHER_WAY = {
    "invoice": "a credit note takes from an invoice: deckjobs credit {code} INVOICE --reason TEXT",
    "credit note": "invoice its draws again: deckjobs invoice {code}",
    "change order": "take the job file as it was before: deckjobs change {code} FILE",
    "draws": "agree the schedule that is right: deckjobs terms {code} DRAW=PERCENT...",
}
"""What takes the place of taking a money entry back."""


def _take_back(
    session: Session, hand: Hand, code: str, job_id: str, ledger: Ledger, wanted: str, why: str, entry_id: str | None
) -> Recorded:
    _still_free(code, ledger, wanted)
    body = {"what": "taken back", "why": why}
    return record(
        session, hand, job_id, body, f"{wanted} taken back: {clean(why)}", entry_id, corrects=_things(ledger)[wanted]
    )


def _things(ledger: Ledger) -> dict[str, str]:
    out = {f"payment {payment.number}": payment.id for payment in ledger.payments}
    out |= {f"cost {cost.number}": cost.id for cost in ledger.spent}
    out |= {change.name: change.id for change in ledger.changes}
    out |= {f"quote {quote.number}": quote.id for quote in ledger.quotes}
    return out | ({"acceptance": ledger.accepted.id} if ledger.accepted else {})


def _still_free(code: str, ledger: Ledger, wanted: str) -> None:
    if wanted == "acceptance" and (ledger.invoiced_cents or ledger.changes):
        raise RefusedError(
            "there are invoices or changes of that contract", "credit the invoices and take the changes back first"
        )
    if ledger.accepted is not None and wanted == f"quote {ledger.accepted.quote}":
        raise RefusedError(
            f"{wanted} was accepted: it is the contract",
            f"take the acceptance back first: deckjobs money {code} --undo acceptance --reason TEXT; a change of what was "
            f"agreed is an extra: deckjobs extra {code} AMOUNT TEXT",
        )
    change = next((found for found in ledger.changes if found.name == wanted), None)
    if change is None:
        return
    billed = sum(line.cents for found in ledger.invoices for line in found.lines if line.draw == wanted)
    if billed or ledger.contract_cents - change.total_cents < ledger.invoiced_cents:
        raise RefusedError(
            f"{wanted} is invoiced", f"give a credit note first: deckjobs credit {code} INVOICE --reason TEXT"
        )
