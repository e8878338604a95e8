"""An invoice or a credit note on paper: what is due and why, the tax in it, and how the job's account stood with it."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.book.paperviews import InvoicePaper
from tracker.planning.draws import DEPOSIT
from tracker.planning.estimate import TAX_RULE
from tracker.reports.estimatepage import signed_money
from tracker.reports.letterheads import parties
from tracker.reports.page import Tone
from tracker.reports.paper.model import Block, Column, Document, Heading, KeepTogether, Paragraph, Table
from tracker.reports.words import on_the_design
from tracker.text import listing
from tracker.trade.dates import format_day, format_long_day
from tracker.trade.money import format_money


def invoice_document(paper: InvoicePaper) -> Document:
    """The invoice as it went out; what came since is told at its top and its end, and the sum to pay is that of now."""
    invoice = paper.invoice
    title = invoice.title.capitalize()
    return Document(
        title=title,
        subtitle=f"{invoice.about.title}, {format_long_day(invoice.day)}",
        day=invoice.day,
        blocks=tuple(_blocks(paper)),
        foot=f"Job {paper.job}, {invoice.title}, {invoice.day}",
    )


def _blocks(paper: InvoicePaper) -> Iterator[Block]:
    invoice = paper.invoice
    about = invoice.about
    yield parties(paper.letterhead, paper.job, about.client, about.place, invoice.who)
    if paper.contract:
        stands = f" {on_the_design(paper.stands_on)}" if paper.stands_on else ""
        yield Paragraph(f"For the work of {paper.contract}.{stands}")
    if invoice.against:
        yield Paragraph(f"This takes from invoice {invoice.against}{f': {invoice.text}' if invoice.text else ''}.")
    elif invoice.text and all(line.text != invoice.text for line in invoice.lines):
        yield Paragraph(invoice.text)
    if paper.since:
        # A copy that is printed later asks for what is due now; what moved it stands before everything else.
        moved = listing([one.text for one in paper.since], "and")
        yield Paragraph(f"Changed since it went out: {moved}. {_now_words(paper)}.", Tone.CARE)
    yield Heading("This credit note" if paper.is_credit else "This invoice")
    yield _lines(paper)
    yield _tax(paper)
    yield from _rates(paper)
    yield KeepTogether(
        (Heading("Contract and account", beside=f"on {format_day(invoice.day, None)}"), _contract(paper))
    )
    yield KeepTogether(tuple(_to_pay(paper)))
    if paper.since:
        yield KeepTogether(tuple(_since(paper)))


def _lines(paper: InvoicePaper) -> Table:
    signed = dict(paper.invoice.signed)
    rows = []
    for line in paper.invoice.lines:
        day = signed.get(line.draw)
        why = f"signed off {format_day(day, None)}" if day is not None else ""
        if line.draw == DEPOSIT and line.cents > 0:
            why = "on acceptance"
        change = line.draw if line.draw.startswith("change ") and line.draw != line.text else ""
        rows.append((f"{change}: {line.text}" if change else line.text, why, format_money(line.cents)))
    known = any(why for _, why, _ in rows)
    columns = [
        Column("for", weight=0.5),
        *([Column("due since", weight=0.25)] if known else []),
        Column("amount", True),
    ]
    shown = tuple(row if known else (row[0], row[2]) for row in rows)
    total = ("in all", *([""] if known else []), format_money(paper.invoice.cents))
    return Table(tuple(columns), shown, total)


def _tax(paper: InvoicePaper) -> Block:
    cents, tax = paper.invoice.cents, paper.tax_cents
    if not tax:
        return Paragraph("No sales tax is in it.", Tone.QUIET)
    rows = (("of it before tax", format_money(cents - tax)), ("of it sales tax", format_money(tax)))
    return Table((Column("", weight=0.7), Column("", True)), rows, tones=(Tone.QUIET, Tone.QUIET))


def _rates(paper: InvoicePaper) -> Iterator[Block]:
    """By which rule the changes of the contract are taxed, where any are at a rate of their own day."""
    rates = [f"change order {change.number}: {change.tax}" for change in paper.changes if change.tax]
    if paper.tax_cents and rates:
        yield Paragraph(f"{TAX_RULE} Sales tax of {'; '.join(rates)}.", Tone.QUIET)


def _contract(paper: InvoicePaper) -> Table:
    rows = [(paper.contract or "contract", format_money(paper.quoted_cents))]
    rows += [
        (
            f"change order {change.number}, {format_day(change.day, None)}: {change.text}",
            signed_money(change.total_cents),
        )
        for change in paper.changes
    ]
    if paper.changes:
        rows.append(("contract with its changes, tax included", format_money(paper.contract_cents)))
    rows += [
        ("invoiced so far, this one included", format_money(paper.invoiced_cents)),
        ("received so far", format_money(paper.paid_cents)),
        ("still to be invoiced as the work goes on", format_money(paper.to_invoice_cents)),
    ]
    if paper.since:
        rows.append(("due in all on that day", format_money(paper.due_cents)))
    return Table((Column("", weight=0.7), Column("", True)), tuple(rows))


def _to_pay(paper: InvoicePaper) -> Iterator[Block]:
    if paper.since:
        yield Heading("To pay now", 3)
    rows = []
    mine = paper.open_cents if paper.since else paper.open_then_cents
    if mine:
        rows.append((paper.invoice.title, format_money(mine)))
    rows += [(f"{title}, still open", format_money(cents)) for title, cents in paper.open_besides]
    due = ("PLEASE PAY", format_money(paper.due_now_cents))
    if paper.credit_now_cents:
        due = ("YOUR CREDIT", format_money(paper.credit_now_cents))
    elif not paper.due_now_cents:
        due = ("NOTHING IS DUE", format_money(0))
    yield Table((Column("", weight=0.7), Column("", True)), tuple(rows) if len(rows) > 1 else (), due)


def _since(paper: InvoicePaper) -> Iterator[Block]:
    yield Heading("Since then", 3)
    yield Table(
        (Column("day"), Column("what", weight=0.6), Column("", True)),
        tuple(
            (format_day(one.day, None), one.text, "" if one.cents is None else format_money(one.cents))
            for one in paper.since
        ),
    )


def _now_words(paper: InvoicePaper) -> str:
    """What moved what is open of an invoice, how much of it is open now, and what is due in all."""
    gone = paper.open_then_cents - paper.open_cents
    due = f"{format_money(paper.due_now_cents) if paper.due_now_cents else 'nothing'} is due in all now"
    if paper.is_credit:
        return due.capitalize()
    now = f"{format_money(paper.open_cents)} of it is open" if paper.open_cents else "it is settled"
    if not gone:
        return f"{format_money(paper.open_cents)} of {paper.invoice.title} is open as when it went out; {due}"
    if gone < 0:
        return f"{format_money(-gone)} more of {paper.invoice.title} is open than when it went out: {now}; {due}"
    return f"{format_money(gone)} of {paper.invoice.title} was paid or credited since: {now}; {due}"
