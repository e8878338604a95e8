"""The money of a job: contract, draws, invoices, cost by phase against the estimate, forecast and margin."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from tracker.book.ledger import Payment, Quote, QuotedOption
from tracker.book.moneyviews import LastChange, MoneyView
from tracker.book.moneywords import draws_words, money_said
from tracker.planning.bounds import Bound, Gaps
from tracker.planning.cents import round_cents
from tracker.planning.estimate import TAX_RULE, Estimate, Kind
from tracker.planning.jobcost import METHOD, Margin, PhaseCost
from tracker.reports.estimatepage import KIND_WORDS, design_lines, estimate_plain, signed_money
from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.text import clean, count, listing
from tracker.trade.answer import Plain
from tracker.trade.dates import format_day
from tracker.trade.money import format_money, percent_text

BAR = 12
"""Cells of a bar that stands for the whole estimate of a phase."""


def money_page(money: MoneyView, *, bars: bool = False) -> Page:
    """The whole money page of a job, the answer first; with ``bars`` the cost by phase is drawn too."""
    out: list[Line | Grid] = [Line(f"Money {money.job} {money.title}", Tone.TITLE)]
    out += [Line(text, tone, indent=2) for text, tone in answer_lines(money)]
    if money.accepted is None:
        out += _quotes(money.quotes, money.day)
    else:
        out += [
            BLANK,
            Line("CONTRACT", Tone.TITLE),
            _contract(money),
            *not_priced_lines([money.accepted.option]),
            *tax_lines(money),
            BLANK,
            Line("DRAWS", Tone.TITLE),
            _draws(money),
        ]
    if money.invoices:
        out += [BLANK, Line("INVOICES", Tone.TITLE), _invoices(money)]
    if money.payments:
        out += [BLANK, Line("RECEIVED", Tone.TITLE), _payments(money)]
    if money.undone:
        out += [BLANK, Line("TAKEN BACK, IN NO SUM", Tone.TITLE), _undone(money)]
    out += [BLANK, Line(f"COST BY PHASE, against {money.against}", Tone.TITLE)]
    out += [_bars(money) if bars else _phases(money)]
    if money.spent:
        out += [BLANK, Line("SPENT BESIDES", Tone.TITLE), _spent(money)]
    if left_out := money.estimate_gaps | money.gaps | money.cost_gaps:
        out += [BLANK, Line(left_out.named, Tone.CARE)]
    return (*out, BLANK, Line(METHOD, Tone.QUIET))


def answer_lines(money: MoneyView) -> list[tuple[str, Tone]]:
    """What the job's money comes to, in words, the most pressing first."""
    out: list[tuple[str, Tone]] = []
    if money.accepted is None:
        if not money.quotes:
            return [(f"not quoted yet: deckjobs quote {money.job} --record", Tone.CARE)]
        last = money.quotes[-1]
        late = ", over" if last.stands_until < money.day else ""
        out.append(
            (f"quote {last.number} is out, it stands until {format_day(last.stands_until, money.day)}{late}", Tone.CARE)
        )
        return [*out, _paid_line(money)] if money.paid_cents else out
    if money.ready:
        names = listing([draw.name for draw in money.ready], "and")
        if money.ready_cents >= 0:
            out.append((f"{format_money(money.ready_cents)} is ready to invoice: {names}", Tone.CARE))
        else:
            out.append((f"{format_money(-money.ready_cents)} is to be given back by a credit note: {names}", Tone.CARE))
    out.append(_paid_line(money))
    if money.not_priced:
        what = listing([clean(order.reason) for order in money.not_priced], "and")
        out.append((f"{count(len(money.not_priced), 'change order')} without a price: {what}", Tone.BAD))
    assert money.margin_now is not None and money.margin_quoted is not None
    now = f"margin forecast {margin_words(money.margin_now)}; quoted {margin_words(money.margin_quoted)}"
    worse = money.margin_now.cents < money.margin_quoted.cents
    out.append((now, Tone.BAD if money.margin_now.cents < 0 else Tone.CARE if worse else Tone.PLAIN))
    if money.last_change is not None:
        out.append((last_change_words(money.last_change), Tone.PLAIN))
    return out


def _paid_line(money: MoneyView) -> tuple[str, Tone]:
    said = f"{format_money(money.invoiced_cents)} invoiced, {format_money(money.paid_cents)} paid"
    if money.credit_cents:
        said += f", {format_money(money.credit_cents)} of it the client's credit"
    said += f"; {format_money(money.due_cents)} due" if money.due_cents else "; nothing due"
    if money.deposit_held_cents:
        said += f"; {format_money(money.deposit_held_cents)} of the deposit is ahead of the work"
    return said, Tone.CARE if money.due_cents else Tone.PLAIN


def margin_words(margin: Margin) -> str:
    """``$719.81 (12 %)``; ``at most $719.81 (12 %), 3 goods not priced`` when its cost leaves something out."""
    return margin.gaps.at_most(f"{format_money(margin.cents)} ({percent_text(margin.tenths)})")


def last_change_words(last: LastChange) -> str:
    """What the last change did to the margin."""
    moved = last.after.cents - last.before.cents
    text = clean(last.change.text)
    return (
        f"{last.change.name} ({text}): price {signed_money(last.change.price_cents)}, margin {signed_money(moved)}, "
        f"from {last.before.gaps.profit.put(percent_text(last.before.tenths))} to "
        f"{last.after.gaps.at_most(percent_text(last.after.tenths))}"
    )


def standing_quote_page(money: MoneyView) -> Page:
    """What of a job is quoted and stands, its options and draws; nothing is recorded by looking."""
    if not money.quotes:
        return (
            Line(f"{money.job} is not quoted yet.", Tone.CARE),
            Line(
                f"deckjobs price {money.job} works a price out; deckjobs quote {money.job} --record quotes it.",
                indent=2,
            ),
        )
    last = money.quotes[-1]
    if money.accepted is not None:
        last = next(quote for quote in money.quotes if quote.number == money.accepted.quote)
        said = f"{clean(money.accepted.option.label)} was accepted on {format_day(money.accepted.day, money.day)}"
    else:
        late = ": that is over" if last.stands_until < money.day else ""
        said = f"stands until {format_day(last.stands_until, money.day)}{late}, not accepted yet"
    by_hand = ", priced by hand" if last.by_hand else ""
    out: list[Line | Grid] = [Line(f"Quote {last.number} of {money.job} {money.title}: {said}{by_hand}", Tone.TITLE)]
    out += _quotes((last,), money.day)[2:]
    if draws := draws_words(last.draws):
        out.append(Line(f"draws: {draws}", indent=2))
    anew = f"deckjobs quote {money.job} --record quotes it anew, at the prices of today"
    if last.by_hand:
        anew += "; --replace with it, since this one was priced by hand"
    if money.accepted is None:
        out += [Line(f"{anew}.", Tone.QUIET)]
    return tuple(out)


def standing_quote_json(money: MoneyView) -> dict[str, Plain]:
    """The quote that stands as plain values; null when there is none."""
    found = money_json(money)
    number = money.accepted.quote if money.accepted else money.quotes[-1].number if money.quotes else 0
    quotes = found["quotes"]
    assert isinstance(quotes, list)
    quote = next((one for one in quotes if isinstance(one, dict) and one["number"] == number), None)
    return {"job": money.job, "title": money.title, "quote": quote, "accepted": found["accepted"]}


def _quotes(quotes: Sequence[Quote], day: date) -> list[Line | Grid]:
    if not quotes:
        return []
    last = quotes[-1]
    rows = tuple(
        (str(n), option.label, format_money(option.estimate.price_cents), format_money(option.estimate.tax_cents),
         format_money(option.estimate.total_cents), margin_of_option(option.estimate))
        for n, option in enumerate(last.options, 1)
    )  # fmt: skip
    header = ("", "option", "price", "sales tax", "client pays", "margin")
    title = f"QUOTE {last.number}, {format_day(last.day, day)}"
    table = Grid(header, rows, frozenset({2, 3, 4}), indent=2)
    return [BLANK, Line(title, Tone.TITLE), table, *not_priced_lines(last.options), *design_lines_of(last)]


def design_lines_of(quote: Quote) -> list[Line]:
    """What of a quote's design failed when it was made, and on whose design the rest of it stands."""
    return design_lines(((option.label, option.faults) for option in quote.options), quote.stands_on, 2)


def not_priced_lines(options: Sequence[QuotedOption]) -> list[Line]:
    """What the price of each option leaves out since nobody prices it."""
    return [
        Line(
            f"{clean(option.label)}: not priced, not in what the client pays: "
            f"{listing([clean(item) for item in option.estimate.not_in_price], 'and')}",
            Tone.BAD,
            indent=2,
        )
        for option in options
        if option.estimate.not_in_price
    ]


def margin_of_option(estimate: Estimate) -> str:
    """``at most 20 %, 3 goods not priced``."""
    return estimate.gaps.at_most(percent_text(estimate.margin_tenths))


def _contract(money: MoneyView) -> Grid:
    assert money.accepted is not None
    rows = [(f"quote {money.accepted.quote}, {money.accepted.option.label}", format_money(money.quoted_cents))]
    rows += [(f"{change.name}: {change.text}", signed_money(change.total_cents)) for change in money.changes]
    rows += [
        ("contract, tax included", format_money(money.contract_cents)),
        ("invoiced", format_money(money.invoiced_cents)),
        ("to invoice", format_money(money.to_invoice_cents)),
    ]
    tones = [Tone.PLAIN] * (len(rows) - 3) + [Tone.TITLE, Tone.PLAIN, Tone.PLAIN]
    return Grid((), tuple(rows), frozenset({1}), indent=2, tones=tuple(tones))


def tax_lines(money: MoneyView) -> list[Line]:
    """The sales tax of the contract and by which rule changes get theirs; a line more where their rates differ."""
    assert money.accepted is not None
    quoted = money.accepted.option.estimate.terms.tax_words
    others = [f"{change.name} {change.tax}" for change in money.changes if change.tax and change.tax != quoted]
    said = f"sales tax: {quoted}" + (f"; {listing(others, 'and')}" if others else "")
    if quoted == "none" and not others:
        return []
    return [Line(f"{said}. {TAX_RULE}", Tone.CARE if others else Tone.QUIET, indent=2)]


def _draws(money: MoneyView) -> Grid:
    rows = tuple(
        (draw.name, format_money(draw.cents), format_money(draw.left_cents), draw.word) for draw in money.draws
    )
    tones = tuple(Tone.CARE if draw.ready and draw.left_cents else Tone.PLAIN for draw in money.draws)
    return Grid(("draw", "comes to", "to invoice", ""), rows, frozenset({1, 2}), indent=2, tones=tones)


def _invoices(money: MoneyView) -> Grid:
    rows = tuple(
        (view.invoice.title, format_day(view.invoice.day, money.day), format_money(view.invoice.cents),
         format_money(view.open_cents), view.word)
        for view in money.invoices
    )  # fmt: skip
    tones = tuple(Tone.CARE if view.open_cents else Tone.PLAIN for view in money.invoices)
    return Grid(("", "day", "comes to", "open", ""), rows, frozenset({2, 3}), indent=2, tones=tones)


def _payments(money: MoneyView) -> Grid:
    rows = tuple(
        (
            f"payment {p.number}",
            format_day(p.on, money.day),
            format_money(p.cents),
            p.how,
            settled_words(money, p),
        )
        for p in money.payments
    )
    return Grid((), rows, frozenset({2}), indent=2)


def settled_words(money: MoneyView, payment: Payment) -> str:
    """``settled invoice 1``, ``settled $20.00 of invoice 2``; what is over is the client's credit."""
    totals = {view.invoice.number: view.invoice.cents for view in money.invoices}
    parts = money.settled.get(payment.id, ())
    said = [
        f"invoice {number}" if cents == totals[number] else f"{format_money(cents)} of invoice {number}"
        for number, cents in parts
    ]
    over = payment.cents - sum(cents for _, cents in parts)
    credit = [f"{format_money(over)} the client's credit"] if over > 0 else []
    if payment.cents < 0:
        return "paid back"
    return ", ".join((*([f"settled {listing(said, 'and')}"] if said else []), *credit))


def undone_rows(money: MoneyView) -> tuple[tuple[str, str], ...]:
    """What was taken back: its name, then what it said, when it was taken back and why."""
    return tuple(
        (
            one.name,
            f"{money_said(one.body).removeprefix(f'{one.name}: ')}; taken back {format_day(one.day, money.day)}: {one.why}",
        )
        for one in money.undone
    )


def _undone(money: MoneyView) -> Grid:
    return Grid((), undone_rows(money), indent=2)


def _spent(money: MoneyView) -> Grid:
    titles = {phase.phase: phase.title for phase in money.phases}
    rows = tuple(
        (f"cost {s.number}", format_day(s.on, money.day), format_money(s.cents), titles.get(s.phase, s.phase), s.text)
        for s in money.spent
    )
    return Grid((), rows, frozenset({2}), indent=2)


def _phases(money: MoneyView) -> Grid:
    rows = [_phase_row(phase) for phase in money.phases]
    sums = (
        money.estimate_gaps.cost.money(money.estimate_cents),
        money.cost_gaps.cost.money(money.cost_cents),
        money.gaps.cost.money(money.forecast_cents),
    )
    rows.append(("all", *sums, all_words(money)))
    tones = [Tone.CARE if phase.over_cents > 0 or phase.gaps else Tone.PLAIN for phase in money.phases] + [Tone.TITLE]
    return Grid(
        ("", "estimate", "cost so far", "forecast", ""), tuple(rows), frozenset({1, 2, 3}), indent=2, tones=tuple(tones)
    )


def _bars(money: MoneyView) -> Grid:
    rows = []
    for phase in money.phases:
        estimate, cost, forecast = phase_amounts(phase)
        words = f"{cost} of {estimate}"
        if phase.forecast_cents != phase.estimate_cents or phase.gaps or phase.not_recorded:
            words += f"; {state_words(phase)}, {forecast} in the end"
        elif phase.signed_off:
            words += "; done"
        rows.append((phase.title, bar(phase), words))
    cost = money.cost_gaps.cost.money(money.cost_cents)
    estimate = money.estimate_gaps.cost.money(money.estimate_cents)
    total = f"{cost} of {estimate}; forecast {money.gaps.cost.money(money.forecast_cents)}"
    rows.append(("all", "", f"{total}, {all_words(money)}"))
    tones = [Tone.CARE if phase.over_cents > 0 or phase.gaps else Tone.PLAIN for phase in money.phases] + [Tone.TITLE]
    return Grid(("", "so far", "cost so far of the estimate"), tuple(rows), indent=2, tones=tuple(tones))


def all_words(money: MoneyView) -> str:
    """How the forecast of the whole job stands to its estimate, with what neither has."""
    bound = over_bound(money.gaps, money.estimate_gaps)
    return money.gaps.tell(over_words(money.forecast_cents - money.estimate_cents, bound))


def over_bound(forecast: Gaps, estimate: Gaps) -> Bound:
    """What a forecast less its estimate is of the true one; both lacking the same, they differ by what is known."""
    return Bound.EXACT if forecast == estimate else forecast.cost.less(estimate.cost)


def state_words(phase: PhaseCost) -> str:
    """Whether a phase is done, what of it nobody recorded, and how its forecast stands to its estimate."""
    said = ["done"] if phase.signed_off else []
    if phase.no_hours:
        said.append("no hours logged")
    said += [f"no {KIND_WORDS[kind]} recorded" for kind in phase.not_recorded if kind is not Kind.LABOUR]
    if phase.lacking_cents:
        said.append(f"{format_money(phase.lacking_cents)} of material not recorded")
    if phase.over_cents or not phase.not_recorded:
        said.append(over_words(phase.over_cents, over_bound(phase.gaps, phase.not_estimated)))
    else:
        said.append("its estimate stands")
    return phase.gaps.tell(", ".join(said))


def phase_amounts(phase: PhaseCost) -> tuple[str, str, str]:
    """The estimate, the cost so far and the forecast of a phase, each with what it is of the true one."""
    return (
        phase.not_estimated.cost.sum_of(phase.estimate_cents),
        phase.not_paid.cost.sum_of(phase.cost_cents),
        phase.gaps.cost.sum_of(phase.forecast_cents),
    )


def _phase_row(phase: PhaseCost) -> tuple[str, ...]:
    return (phase.title, *phase_amounts(phase), state_words(phase))


def over_words(cents: int, bound: Bound = Bound.EXACT) -> str:
    """``$12.00 over``, ``$3.00 under`` or ``as estimated``; ``at most $3.00 under`` where the forecast is a least one."""
    if bound is Bound.UNKNOWN:
        return "over or under not known"
    if not cents:
        return {Bound.LEAST: "as estimated or over", Bound.MOST: "as estimated or under"}.get(bound, "as estimated")
    return f"{(bound if cents > 0 else bound.other).money(abs(cents))} {'over' if cents > 0 else 'under'}"


def bar(phase: PhaseCost, width: int = BAR) -> str:
    """The cost so far as a bar of which ``width`` cells are the phase's estimate; a + behind it means it is over."""
    if phase.estimate_cents <= 0:
        return "+" if phase.cost_cents > 0 else ""
    from fractions import Fraction

    full = round_cents(Fraction(max(phase.cost_cents, 0) * width, phase.estimate_cents))
    return f"{'█' * min(full, width)}{'·' * (width - min(full, width))}{'+' if phase.cost_cents > phase.estimate_cents else ''}"


def money_json(money: MoneyView) -> dict[str, Plain]:
    """The money of a job as plain values, whole cents."""
    return {
        "job": money.job,
        "title": money.title,
        "day": money.day.isoformat(),
        "quotes": [
            {
                "number": quote.number, "day": quote.day.isoformat(), "stands_until": quote.stands_until.isoformat(),
                "by_hand": quote.by_hand,
                "stands_on": quote.stands_on or None,
                "options": [
                    {"label": o.label, "changes": dict(o.changes), "design_faults": list(o.faults), **estimate_plain(o.estimate)}
                    for o in quote.options
                ],
            }
            for quote in money.quotes
        ],
        "accepted": None
        if money.accepted is None
        else {"quote": money.accepted.quote, "option": money.accepted.option.label, "day": money.accepted.day.isoformat()},
        "quoted_cents": money.quoted_cents,
        "changes_cents": money.changes_cents,
        "contract_cents": money.contract_cents,
        "invoiced_cents": money.invoiced_cents,
        "to_invoice_cents": money.to_invoice_cents,
        "paid_cents": money.paid_cents,
        "due_cents": money.due_cents,
        "credit_cents": money.credit_cents,
        "deposit_held_cents": money.deposit_held_cents,
        "changes": [
            {"number": c.number, "day": c.day.isoformat(), "text": c.text, "price_cents": c.price_cents, "tax_cents": c.tax_cents,
             "tax": c.tax}
            for c in money.changes
        ],
        "changes_without_price": [order.reason for order in money.not_priced],
        "draws": [
            {
                "name": d.name, "phase": d.phase, "cents": d.cents, "invoiced_cents": d.invoiced_cents,
                "left_cents": d.left_cents, "ready": d.ready, "state": d.word,
            }
            for d in money.draws
        ],
        "invoices": [
            {
                "number": v.invoice.number, "day": v.invoice.day.isoformat(), "cents": v.invoice.cents,
                "open_cents": v.open_cents, "against": v.invoice.against, "state": v.word,
                "lines": [{"draw": x.draw, "text": x.text, "cents": x.cents} for x in v.invoice.lines],
            }
            for v in money.invoices
        ],
        "payments": [
            {"number": p.number, "on": p.on.isoformat(), "cents": p.cents, "how": p.how, "invoice": p.invoice,
             "settled": [{"invoice": number, "cents": cents} for number, cents in money.settled.get(p.id, ())]}
            for p in money.payments
        ],
        "costs": [
            {"number": s.number, "on": s.on.isoformat(), "cents": s.cents, "phase": s.phase, "text": s.text}
            for s in money.spent
        ],
        "taken_back": [
            {"name": one.name, "cents": one.cents, "day": one.day.isoformat(), "who": one.who, "why": one.why}
            for one in money.undone
        ],
        "against": money.against,
        "phases": [
            {
                "phase": p.phase, "title": p.title, "signed_off": p.signed_off, "estimate_cents": p.estimate_cents,
                "cost_cents": p.cost_cents, "on_order_cents": p.on_order_cents, "forecast_cents": p.forecast_cents,
                "kinds": {
                    kind.value: {"estimate_cents": e, "cost_cents": c, "forecast_cents": f}
                    for kind, (e, c, f) in p.kinds.items()
                },
            }
            for p in money.phases
        ],
        "estimate_cents": money.estimate_cents,
        "estimate_bound": money.estimate_gaps.cost.value,
        "cost_cents": money.cost_cents,
        "cost_bound": money.cost_gaps.cost.value,
        "forecast_cents": money.forecast_cents,
        "forecast_bound": money.gaps.cost.value,
        "margin_quoted": _margin_json(money.margin_quoted),
        "margin_now": _margin_json(money.margin_now),
        "last_change": None
        if money.last_change is None
        else {
            "number": money.last_change.change.number,
            "before": _margin_json(money.last_change.before),
            "after": _margin_json(money.last_change.after),
        },
        "without_price": list(money.unpriced),
        "left_out": [*money.gaps.goods, *money.gaps.others],
        "method": METHOD,
    }  # fmt: skip


def _margin_json(margin: Margin | None) -> Plain:
    if margin is None:
        return None
    return {
        "price_cents": margin.price_cents, "cost_cents": margin.cost_cents, "margin_cents": margin.cents,
        "margin_tenths_of_percent": margin.tenths, "cost_bound": margin.gaps.cost.value,
        "margin_bound": margin.gaps.profit.value, "left_out": [*margin.gaps.goods, *margin.gaps.others],
    }  # fmt: skip
