"""The papers of a job's money, read out of the book: a quote, a quote nobody recorded yet, an invoice or credit note.

A quote and an invoice say what their entry kept, under the letterhead of their day: later edits of prices, house rules or
the job change no letter of them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from tracker.book.entries import Entry
from tracker.book.ledger import Extra, Ledger, Quote, QuotedOption, fold_money, quote_from_json
from tracker.book.letterhead import letterhead_at, letterhead_of
from tracker.book.load import find_job, load_job
from tracker.book.money import quote_body
from tracker.book.moneyread import entries_of_kind, ledger_of
from tracker.book.moneyviews import invoices_of, settled_by
from tracker.book.opening import Book
from tracker.book.paperviews import InvoicePaper, Letterhead, PaperOption, QuotePaper, Since, taxes_of
from tracker.book.pricing import AS_IT_IS, price_job
from tracker.errors import InputError, InputErrors
from tracker.planning.estimate import Equipment, Kind
from tracker.planning.options import Option, with_changes
from tracker.text import listing
from tracker.trade.dates import format_day
from tracker.trade.design import design_digest
from tracker.trade.jobfile import JobFile, parse_job_table
from tracker.trade.money import format_money
from tracker.trade.phases import BY_KEY as PHASES
from tracker.trade.rules import Rules


def quote_paper(book: Book, code: str, number: int = 0) -> QuotePaper:
    """The last quote of a job for its client, or that of ``number``.

    Raises InputError when there is no such quote.
    """
    with book.reading() as session:
        job = find_job(session, code)
        quotes = ledger_of(session, job.id).quotes
        heads = {quote.number: letterhead_of(session, quote.day) for quote in quotes}
    numbers = listing([str(quote.number) for quote in quotes], "and")
    found = next((quote for quote in reversed(quotes) if number in (0, quote.number)), None)
    if found is None:
        has = f"it has {numbers}" if numbers else f"make one: deckjobs quote {job.code} --record"
        raise InputError(f"{job.code} has no quote {number or ''}".rstrip(), has)
    return _quote_paper(job.code, found, heads[found.number])


def has_quote(book: Book, code: str) -> bool:
    """Whether a quote of the job was recorded."""
    with book.reading() as session:
        return bool(ledger_of(session, find_job(session, code).id).quotes)


def draft_paper(
    book: Book, code: str, today: date, options: Sequence[Option] = AS_IT_IS, equipment: Sequence[Equipment] = (),
    draws: Sequence[str] = (),
) -> QuotePaper:  # fmt: skip
    """What the paper of a quote made today would say; nothing is recorded. Raises as ``price_job``."""
    priced = price_job(book, code, today, options, equipment)
    with book.reading() as session:
        state = load_job(book, session, code, today)
        head = letterhead_at(session, None)
    body = quote_body(state, priced, draws, 0, today)
    found = _quote_paper(state.facts.code, quote_from_json(body, "", today, ""), head)
    without = (item for option in priced.options for item in option.estimate.unpriced)
    bounds = [option.estimate.total_bound for option in priced.options]
    drafted = tuple(replace(option, bound=bound) for option, bound in zip(found.options, bounds, strict=True))
    return replace(found, options=drafted, without_price=tuple(dict.fromkeys(without)))


def _quote_paper(code: str, quote: Quote, head: Letterhead) -> QuotePaper:
    file = _file(code, quote)
    return QuotePaper(
        letterhead=head,
        job=code,
        title=file.title,
        client=file.client,
        place=file.site,
        number=quote.number,
        day=quote.day,
        who=quote.who,
        stands_until=quote.stands_until,
        options=tuple(_option(code, quote, option) for option in quote.options),
        draws=quote.draws,
        stands_on=quote.stands_on,
    )


def _file(code: str, quote: Quote, changes: Sequence[tuple[str, str]] = ()) -> JobFile:
    table = with_changes(quote.source, changes) if changes else quote.source
    try:
        return parse_job_table(table, code, house=Rules(quote.rules))
    except InputErrors as error:
        raise InputErrors([f"quote {quote.number}: {problem}" for problem in error.problems], error.hint) from error


def _option(code: str, quote: Quote, option: QuotedOption) -> PaperOption:
    made, spec = option.estimate, _file(code, quote, option.changes).spec
    minutes = sum(line.minutes for line in made.lines if line.phase not in PHASES or not PHASES[line.phase].office)
    day = 60 * spec.rules.figure("hours_per_day") * spec.crew_size
    besides = dict.fromkeys(line.title for line in made.lines if line.kind is Kind.EQUIPMENT)
    return PaperOption(
        label=option.label,
        changes=option.changes,
        spec=spec,
        price_cents=made.price_cents,
        tax_cents=made.tax_cents,
        total_cents=made.total_cents,
        days=math.ceil(minutes / day),
        phases=option.phases,
        besides=tuple(besides),
        not_in_price=made.not_in_price,
        faults=option.faults,
    )


def invoice_paper(book: Book, code: str, number: int = 0, entry_id: str = "") -> InvoicePaper:
    """The invoice or credit note of that number, or of that entry; raises InputError when the job has none."""
    with book.reading() as session:
        job = find_job(session, code)
        entries = entries_of_kind(session, "money", [job.id])
        wanted = (at for at, entry in enumerate(entries) if _is_invoice(entry, number) and entry_id in ("", entry.id))
        at = next(wanted, None) if number or entry_id else None
        head = letterhead_of(session, entries[at].day) if at is not None else Letterhead()
    if at is None:
        numbers = listing([str(entry.body["number"]) for entry in entries if _is_invoice(entry)], "and")
        has = f"it has {numbers}" if numbers else "nothing of it is invoiced yet"
        raise InputError(f"{job.code} has no invoice or credit note {number or entry_id}", has)
    then, now = fold_money(entries[: at + 1]), fold_money(entries)
    gone = {entry.corrects: entry for entry in entries[at:] if entry.body.get("what") == "taken back"}
    return _invoice_paper(job.code, head, entries[at].body["number"], then, now, gone)


def _is_invoice(entry: Entry, number: int = 0) -> bool:
    return entry.body.get("what") in ("invoice", "credit note") and number in (0, entry.body["number"])


def _invoice_paper(
    code: str, head: Letterhead, number: int, then: Ledger, now: Ledger, gone: Mapping[str, Entry]
) -> InvoicePaper:
    views = {view.invoice.number: view for view in invoices_of(then)}
    mine = views[number]
    accepted = then.accepted
    since = tuple(_since(number, then, now, gone))
    due = now if since else then
    return InvoicePaper(
        letterhead=head,
        job=code,
        invoice=mine.invoice,
        contract=f"quote {accepted.quote}, {accepted.option.label}" if accepted else "",
        quoted_cents=then.quoted_cents,
        changes=then.changes,
        contract_cents=then.contract_cents,
        tax_cents=taxes_of(then).get(number, 0),
        invoiced_cents=then.invoiced_cents,
        paid_cents=then.paid_cents,
        open_then_cents=mine.open_cents,
        open_besides=tuple(
            (view.invoice.title, view.open_cents)
            for view in invoices_of(due)
            if view.open_cents and view.invoice.number != number
        ),
        open_cents=next(view.open_cents for view in invoices_of(now) if view.invoice.number == number),
        due_now_cents=max(due.invoiced_cents - due.paid_cents, 0),
        credit_now_cents=max(due.paid_cents - due.invoiced_cents, 0),
        since=since,
        stands_on=_sold_on(code, then),
    )


def _sold_on(code: str, ledger: Ledger) -> str:
    """On whose design what was accepted stands; empty where it is another deck than the one that was drawn."""
    accepted = ledger.accepted
    quote = next((quote for quote in ledger.quotes if accepted and quote.number == accepted.quote), None)
    if accepted is None or quote is None or not quote.stands_on:
        return ""
    sold, drawn = (design_digest(_file(code, quote, changes).spec) for changes in (accepted.option.changes, ()))
    return quote.stands_on if sold == drawn else ""


def _since(number: int, then: Ledger, now: Ledger, gone: Mapping[str, Entry]) -> list[Since]:
    """What changed after an invoice went out: payments and credit notes for it or another one its sum counts, or for none;
    payments and changes it counted that were taken back (``gone``: by their entry, the one that takes it back); changes
    that were agreed.
    """
    known = {payment.id for payment in then.payments} | {invoice.id for invoice in then.invoices}
    counted, settled = {invoice.number for invoice in then.invoices}, settled_by(now)
    out = []
    for payment in now.payments:
        went = {payment.invoice, *(to for to, _ in settled[payment.id])}
        if payment.id not in known and went & {0, *counted}:
            words = ["received" if payment.cents > 0 else "paid back", payment.how]
            words.append("" if payment.invoice in (0, number) else f"for invoice {payment.invoice}")
            out.append(Since(payment.on, ", ".join(word for word in words if word), payment.cents))
    out += [
        Since(
            note.day,
            f"credit note {note.number}{'' if note.against == number else f', off invoice {note.against}'}",
            -note.cents,
        )
        for note in now.invoices
        if note.id not in known and note.against in counted
    ]
    for payment in then.payments:
        if payment.id in gone:
            how = f", {payment.how}" if payment.how else ""
            text = f"the payment of {format_day(payment.on, None)}{how}, does not count: {_reason(gone[payment.id])}"
            out.append(Since(gone[payment.id].day, text, -payment.cents))
    for change in then.changes:
        if change.id in gone:
            text = f"change order {change.number}, {_signed(change)}, is off the contract: {_reason(gone[change.id])}"
            out.append(Since(gone[change.id].day, text, None))
    before = {change.id for change in then.changes}
    out += [
        Since(change.day, f"change order {change.number} is on the contract: {change.text}, {_signed(change)}", None)
        for change in now.changes
        if change.id not in before
    ]
    return sorted(out, key=lambda found: found.day)


def _reason(entry: Entry) -> str:
    return f"taken back, {entry.body['why']}"


def _signed(change: Extra) -> str:
    return f"{'+' if change.total_cents > 0 else ''}{format_money(change.total_cents)}"
