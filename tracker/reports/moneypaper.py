"""The money of a job on paper, for the office: contract, draws, invoices, cost by phase and kind, forecast and margin."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.book.moneyviews import MoneyView
from tracker.planning.bounds import UNRATED, Gaps
from tracker.planning.estimate import Kind
from tracker.planning.jobcost import METHOD
from tracker.reports.estimatepage import KIND_WORDS, signed_money
from tracker.reports.moneypages import (
    all_words,
    answer_lines,
    design_lines_of,
    margin_of_option,
    margin_words,
    not_priced_lines,
    phase_amounts,
    settled_words,
    state_words,
    tax_lines,
    undone_rows,
)
from tracker.reports.page import Tone
from tracker.reports.paper.model import Block, Bullets, Column, Document, Heading, KeyValues, Paragraph, Table
from tracker.trade.dates import format_day, format_long_day
from tracker.trade.money import format_money

OFFICE = "For the office: cost and margin. Not for the client."


def money_document(money: MoneyView) -> Document:
    """The money page of a job as a document."""
    return Document(
        title=f"{money.job}  {money.title}",
        subtitle=f"Money, {format_long_day(money.day)}. {OFFICE}",
        day=money.day,
        blocks=tuple(_blocks(money)),
        foot=f"Money {money.job}, {money.day}. {OFFICE}",
    )


def _blocks(money: MoneyView) -> Iterator[Block]:
    said = answer_lines(money)
    yield Bullets(tuple(text for text, _ in said), tuple(tone for _, tone in said))
    for line in design_lines_of(money.quotes[-1]) if money.quotes else ():
        yield Paragraph(line.text, line.tone)
    if money.accepted is None:
        yield from _quotes(money)
    else:
        yield from _contract(money)
    if money.invoices:
        yield Heading("Invoices")
        yield _invoices(money)
    if money.payments:
        yield Heading("Received")
        yield _payments(money)
    if money.undone:
        yield Heading("Taken back, in no sum", 3)
        yield Table((Column(""), Column("what", weight=0.8)), undone_rows(money))
    yield Heading("Cost by phase", beside=f"against {money.against}")
    yield _phases(money)
    yield Heading("Cost by kind", 3)
    yield _kinds(money)
    if money.spent:
        yield Heading("Spent besides", 3)
        yield _spent(money)
    if money.margin_now is not None and money.margin_quoted is not None:
        yield Heading("Margin")
        rows = [("quoted", margin_words(money.margin_quoted)), ("forecast", margin_words(money.margin_now))]
        yield KeyValues(tuple(rows))
    if left_out := money.estimate_gaps | money.gaps | money.cost_gaps:
        yield Paragraph(left_out.named, Tone.CARE)
    yield Paragraph(METHOD, Tone.QUIET)


def _quotes(money: MoneyView) -> Iterator[Block]:
    for quote in money.quotes[-1:]:
        until = f"stands until {format_day(quote.stands_until, None)}"
        yield Heading(f"Quote {quote.number}, {format_day(quote.day, None)}", beside=until)
        yield Table(
            (Column("option", weight=0.4), Column("cost", True), Column("price", True), Column("sales tax", True),
             Column("client pays", True), Column("margin", weight=0.4)),
            tuple(
                (o.label, o.estimate.gaps.cost.money(o.estimate.cost_cents), *(format_money(cents) for cents in (
                    o.estimate.price_cents, o.estimate.tax_cents, o.estimate.total_cents)), margin_of_option(o.estimate))
                for o in quote.options
            ),
        )  # fmt: skip
        for line in not_priced_lines(quote.options):
            yield Paragraph(line.text, line.tone)


def _contract(money: MoneyView) -> Iterator[Block]:
    assert money.accepted is not None
    rows = [(f"quote {money.accepted.quote}, {money.accepted.option.label}", format_money(money.quoted_cents))]
    rows += [(f"{change.name}: {change.text}", signed_money(change.total_cents)) for change in money.changes]
    yield Heading("Contract")
    yield Table(
        (Column("", weight=0.7), Column("", True)),
        tuple(rows),
        ("contract, tax included", format_money(money.contract_cents)),
    )
    for line in (*not_priced_lines([money.accepted.option]), *tax_lines(money)):
        yield Paragraph(line.text, line.tone)
    yield Heading("Draws", 3)
    yield Table(
        (Column("draw", weight=0.4), Column("comes to", True), Column("invoiced", True), Column("to invoice", True), Column("")),
        tuple(
            (draw.name, *(format_money(x) for x in (draw.cents, draw.invoiced_cents, draw.left_cents)), draw.word)
            for draw in money.draws
        ),
        ("all", *(format_money(x) for x in (money.contract_cents, money.invoiced_cents, money.to_invoice_cents)), ""),
        tones=tuple(Tone.CARE if draw.ready and draw.left_cents else Tone.PLAIN for draw in money.draws),
    )  # fmt: skip


def _invoices(money: MoneyView) -> Table:
    rows = tuple(
        (view.invoice.title, format_day(view.invoice.day, money.day), format_money(view.invoice.cents), format_money(view.open_cents), view.word)
        for view in money.invoices
    )  # fmt: skip
    columns = (Column("", weight=0.3), Column("day"), Column("comes to", True), Column("open", True), Column(""))
    return Table(columns, rows, ("all", "", format_money(money.invoiced_cents), format_money(money.due_cents), ""))


def _payments(money: MoneyView) -> Table:
    rows = tuple(
        (
            f"payment {p.number}",
            format_day(p.on, money.day),
            p.how,
            settled_words(money, p),
            format_money(p.cents),
        )
        for p in money.payments
    )
    columns = (Column(""), Column("day"), Column("how", weight=0.4), Column("for"), Column("amount", True))
    return Table(columns, rows, ("all", "", "", "", format_money(money.paid_cents)))


def _phases(money: MoneyView) -> Table:
    rows = tuple(
        (p.title, *(amounts[0], amounts[1], format_money(p.on_order_cents), amounts[2]), state_words(p))
        for p in money.phases
        for amounts in (phase_amounts(p),)
    )
    total = (
        "all", money.estimate_gaps.cost.money(money.estimate_cents), money.cost_gaps.cost.money(money.cost_cents),
        format_money(sum(p.on_order_cents for p in money.phases)), money.gaps.cost.money(money.forecast_cents),
        all_words(money),
    )  # fmt: skip
    columns = (Column("phase", weight=0.3), Column("estimate", True), Column("so far", True), Column("on order", True),
               Column("forecast", True), Column("", weight=0.4))  # fmt: skip
    tones = tuple(Tone.CARE if p.over_cents > 0 or p.gaps else Tone.PLAIN for p in money.phases)
    return Table(columns, rows, total, tones=tones)


def _kinds(money: MoneyView) -> Table:
    rows = []
    every = (money.estimate_gaps, money.cost_gaps, money.gaps)
    for kind in Kind:
        figures = [phase.kinds[kind] for phase in money.phases]
        bounds = [_of_kind(gaps, kind).cost for gaps in every]
        sums = (sum(one[n] for one in figures) for n in range(3))
        rows.append((KIND_WORDS[kind], *(bound.sum_of(cents) for bound, cents in zip(bounds, sums, strict=True))))
    amounts = (money.estimate_cents, money.cost_cents, money.forecast_cents)
    total = ("all", *(gaps.cost.money(cents) for gaps, cents in zip(every, amounts, strict=True)))
    columns = (Column("", weight=0.4), Column("estimate", True), Column("so far", True), Column("forecast", True))
    return Table(columns, tuple(rows), total)


def _of_kind(gaps: Gaps, kind: Kind) -> Gaps:
    """What of the gaps is of a kind; what a change costs may be of any."""
    others = tuple(text for text in gaps.others if text != UNRATED or kind is Kind.LABOUR)
    return Gaps(gaps.goods if kind is Kind.MATERIAL else (), others)


def _spent(money: MoneyView) -> Table:
    titles = {phase.phase: phase.title for phase in money.phases}
    rows = tuple(
        (f"cost {s.number}", format_day(s.on, money.day), titles.get(s.phase, s.phase), s.text, format_money(s.cents))
        for s in money.spent
    )
    columns = (Column(""), Column("day"), Column("phase"), Column("what", weight=0.5), Column("amount", True))
    return Table(columns, rows, ("all", "", "", "", format_money(sum(s.cents for s in money.spent))))
