"""Quotes, their acceptance, the draws and priced changes: each one entry in one transaction, by who may waive.

What each entry's body holds stands in ``ledger``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from sqlmodel import Session

from tracker.book.changeviews import PhaseCost
from tracker.book.entries import Draft, append
from tracker.book.hand import Hand
from tracker.book.ledger import Ledger, Quote, QuotedOption, quote_json, shares_json
from tracker.book.load import find_job, load_job
from tracker.book.moneyread import entries_of_kind, ledger_of
from tracker.book.moneyviews import PricedJob, PricedOption, draws_of
from tracker.book.once import once
from tracker.book.opening import Book
from tracker.book.people import known, must_waive
from tracker.book.pricing import AS_IT_IS, price_in, price_job
from tracker.book.state import JobState
from tracker.book.views import Recorded
from tracker.errors import ConflictError, InputError, RefusedError
from tracker.planning.bounds import Bound
from tracker.planning.cents import share_of
from tracker.planning.draws import Share, parse_draws, split_draws, usual_draws
from tracker.planning.estimate import (
    TAX_RULE,
    Equipment,
    EstimateLine,
    Kind,
    Terms,
    difference_bound,
    price_of,
    tax_on,
    terms_of,
)
from tracker.planning.labour import labour_cents
from tracker.planning.options import Option
from tracker.text import NOTE_LIMIT, accept, clean, listing, near
from tracker.trade.checks.design import CLEARS_DESIGN, NOT_CHECKED
from tracker.trade.dates import format_day
from tracker.trade.money import format_money, percent_text


def numbers_so_far(session: Session, job_id: str, what: str) -> int:
    """How many entries of one ``what`` a job has, those taken back too."""
    return sum(entry.body.get("what") == what for entry in entries_of_kind(session, "money", [job_id]))


def record(session: Session, hand: Hand, job_id: str, body: Mapping[str, Any], text: str, entry_id: str | None,
           notices: Sequence[str] = (), corrects: str = "") -> Recorded:  # fmt: skip
    """Append one money entry inside the caller's transaction."""
    done = append(session, hand, Draft("money", body, job_id=job_id, corrects=corrects), entry_id)
    return Recorded(done.id, False, text, (*notices, *done.notices))


def quote(
    book: Book,
    hand: Hand,
    code: str,
    options: Sequence[Option] = AS_IT_IS,
    equipment: Sequence[Equipment] = (),
    draws: Sequence[str] = (),
    *,
    unpriced_too: bool = False,
    replace_it: bool = False,
    entry_id: str | None = None,
) -> Recorded:
    """Quote a job, one option or several side by side, with today's estimates and all its paper says kept in the entry.

    ``draws`` are typed like ``deposit=10%``; without them the house's schedule is offered. Raises RefusedError when an option
    has items without a price (unless ``unpriced_too`` or its price is set by hand), or a quote is accepted already,
    or the last one was priced by hand (unless ``replace_it`` says that another may take its place);
    ConflictError when the job was changed while it was priced.
    """
    asked = (code, options, equipment, draws, unpriced_too, replace_it, entry_id)
    with book.writing() as session:
        before = _priced_in(book, session, hand, *asked, priced=None)
    if before.already:
        return before
    priced = price_job(book, code, hand.day, options, equipment)
    with book.writing() as session:
        return _priced_in(book, session, hand, *asked, priced=priced)


@once("quote")
def _priced_in(
    book: Book, session: Session, hand: Hand, code: str, options: Sequence[Option], equipment: Sequence[Equipment],
    draws: Sequence[str], unpriced_too: bool, replace_it: bool, entry_id: str | None, *, priced: PricedJob | None,
) -> Recorded:  # fmt: skip
    """Keep a quote as it was ``priced``; without that nothing is written, only refused what can be before the work of it."""
    must_waive(session, hand, "quote")
    if priced is None:
        before = ledger_of(session, find_job(session, code).id)
        _not_accepted(code, before)
        if not replace_it:
            _not_over_one_by_hand(code, before, hand.day)
        return Recorded("", False, "")
    notices = _sound(priced, unpriced_too=unpriced_too)
    state = load_job(book, session, code, hand.day)
    if state.facts.rev != priced.rev:
        raise ConflictError(f"{priced.job} was changed while it was priced", "quote it again")
    return _keep_quote(session, hand, state, priced, draws, notices, entry_id)


@once("quote")
def quote_in(
    book: Book,
    session: Session,
    hand: Hand,
    code: str,
    options: Sequence[Option] = AS_IT_IS,
    equipment: Sequence[Equipment] = (),
    draws: Sequence[str] = (),
    entry_id: str | None = None,
    *,
    on_whose_word: Hand | None = None,
) -> Recorded:
    """``quote`` inside the caller's transaction, as a job file's log tells of it: items without a price are no reason to
    refuse what the client was told. ``on_whose_word`` vouches for it.
    """
    must_waive(session, on_whose_word or hand, "quote")
    known(session, hand)
    state = load_job(book, session, code, hand.day)
    priced = price_in(book, session, code, options, equipment)
    return _keep_quote(session, hand, state, priced, draws, _sound(priced, unpriced_too=True, as_told=True), entry_id)


def _keep_quote(
    session: Session,
    hand: Hand,
    state: JobState,
    priced: PricedJob,
    draws: Sequence[str],
    notices: Sequence[str],
    entry_id: str | None,
) -> Recorded:
    ledger = ledger_of(session, state.facts.id)
    _not_accepted(priced.job, ledger)
    number = numbers_so_far(session, state.facts.id, "quote") + 1
    body = quote_body(state, priced, draws, number, hand.day)
    until = format_day(date.fromisoformat(body["stands_until"]), hand.day)
    said = [f"{clean(x.option.label)} {format_money(x.estimate.total_cents)}" for x in priced.options]
    text = f"quote {number}: {', '.join(said)}; it stands until {until}"
    if ledger.quotes:
        notices = [*notices, f"it takes the place of {quote_words(ledger.quotes[-1], hand.day)}"]
    failing = [clean(option["label"]) for option in body["options"] if option["faults"]]
    if failing:
        notices = [*notices, f"{NOT_CHECKED}: the design of {listing(failing, 'and')} fails, and nobody may accept it"]
    return record(session, hand, state.facts.id, body, text, entry_id, notices)


def quote_body(state: JobState, priced: PricedJob, draws: Sequence[str], number: int, day: date) -> dict[str, Any]:
    """The body of a quote's entry; raises InputError(s) when the draws do not fit a price."""
    rules = state.file.spec.rules
    shares = _shares(state, draws)
    for found in priced.options:
        split_draws(found.estimate.total_cents, shares)
    until = day + timedelta(days=rules.figure("quote_days"))
    standing = priced.standing_on(state.stands_on, state.covered)
    return quote_json(number, until, standing, state.file.source, rules.own, shares)


def _only_looks_cheaper(found: PricedOption, priced: PricedJob) -> PricedOption | None:
    """The option beside which this one is cheaper by goods nobody priced; None when there is none."""
    mine = found.estimate
    dearer = (other for other in priced.options if other.estimate.total_cents > mine.total_cents)
    return next((o for o in dearer if difference_bound(mine, o.estimate) is Bound.UNKNOWN), None)


def _sound(priced: PricedJob, *, unpriced_too: bool, as_told: bool = False) -> list[str]:
    """What is to be said of a quote; ``as_told`` it records what the client was told already, and nothing is refused."""
    notices: list[str] = []
    # Where an option only looks cheaper, no word makes the quote go through: it is not offered.
    or_so = "" if any(_only_looks_cheaper(found, priced) for found in priced.options) else ", or add --unpriced-too"
    for found in priced.options:
        made, label = found.estimate, clean(found.option.label)
        if made.total_cents <= 0:
            raise InputError(
                f"{label} comes to {format_money(made.total_cents)}", f"set its price: {_by_hand(found.option)}"
            )
        if made.unpriced:
            said = f"{label}: no price for {listing([clean(item) for item in made.unpriced], 'and')}"
            prices = f"take a price list (deckjobs prices FILE), set the price by hand ({_by_hand(found.option)})"
            either = prices.replace("), set", "), or set")
            if not unpriced_too and not made.set_by_hand:
                raise RefusedError(f"{said}, so the quote would leave it out", f"{prices}{or_so}" if or_so else either)
            if dearer := _only_looks_cheaper(found, priced):
                looks = f"{said}, so it may only look cheaper than {clean(dearer.option.label)}"
                if not as_told:
                    raise RefusedError(looks, either)
                said = looks
            notices.append(f"{said}; its margin is {made.gaps.at_most(percent_text(made.margin_tenths))}")
        if found.same:
            notices.append(clean(found.no_change))
        if made.profit_cents < 0:
            notices.append(f"{label} is sold {format_money(-made.profit_cents)} under its cost")
    return notices


def _by_hand(option: Option) -> str:
    """How the price of an option is set by hand."""
    changes = ", ".join(f"{key}={value}" for key, value in (*option.changes, ("price", "4800")))
    return f"--option '{clean(option.label)}: {changes}'"


def quote_words(quote: Quote, today: date) -> str:
    """``quote 1 of Tue 12 May (as drawn $4,800.00, priced by hand)``."""
    said = (
        f"{clean(option.label)} {format_money(option.estimate.total_cents)}"
        + (", priced by hand" if option.estimate.set_by_hand else "")
        for option in quote.options
    )
    return f"quote {quote.number} of {format_day(quote.day, today)} ({'; '.join(said)})"


def _not_over_one_by_hand(code: str, ledger: Ledger, today: date) -> None:
    last = ledger.quotes[-1] if ledger.quotes else None
    if last is not None and last.by_hand:
        raise RefusedError(
            f"{quote_words(last, today)} stands, and another would take its place",
            f"see it: deckjobs quote {clean(code)}; to quote anew add --replace; to take it back: deckjobs money "
            f"{clean(code)} --undo 'quote {last.number}' --reason TEXT",
        )


def _not_accepted(code: str, ledger: Ledger) -> None:
    if ledger.accepted is not None:
        raise RefusedError(
            f"{clean(ledger.accepted.option.label)} of quote {ledger.accepted.quote} is accepted already",
            f"price a change of it: deckjobs extra {clean(code)} AMOUNT TEXT",
        )


def accept_quote(
    book: Book, hand: Hand, code: str, option: str = "", draws: Sequence[str] = (), *, quote: int = 0,
    entry_id: str | None = None,
) -> Recorded:  # fmt: skip
    """Record that the client took an option of the last quote; it makes the contract and its draws.

    ``draws`` are typed like ``deposit=10%``; without them those of the quote are taken. ``quote`` is the number of the quote
    that was seen (0: whichever is the last). Raises InputError when the option has to be named, RefusedError when there is no
    quote or one is accepted already, ConflictError when another quote is the last one by now.
    """
    with book.writing() as session:
        return accept_quote_in(book, session, hand, code, option, draws, entry_id, quote=quote)


@once("acceptance")
def accept_quote_in(
    book: Book, session: Session, hand: Hand, code: str, option: str = "", draws: Sequence[str] = (),
    entry_id: str | None = None, *, quote: int = 0, on_whose_word: Hand | None = None,
) -> Recorded:  # fmt: skip
    """``accept_quote`` inside the caller's transaction; ``on_whose_word`` vouches for a line of a job file's log."""
    must_waive(session, on_whose_word or hand, "accept a quote")
    known(session, hand)
    state = load_job(book, session, code, hand.day)
    ledger = ledger_of(session, state.facts.id)
    _not_accepted(state.facts.code, ledger)
    if not ledger.quotes:
        raise RefusedError(
            f"{state.facts.code} has no quote yet", f"make one: deckjobs quote {state.facts.code} --record"
        )
    last = ledger.quotes[-1]
    if quote not in (0, last.number):
        raise ConflictError(f"{state.facts.code} has quote {last.number} by now", "look at it before you accept")
    chosen = _option_named(last.options, option)
    _design_holds(state, last, chosen)
    shares = last.draws if last.draws and not draws else _shares(state, draws)
    amounts = split_draws(chosen.estimate.total_cents, shares)
    body = {"what": "accepted", "quote": last.number, "option": chosen.label, "draws": shares_json(shares)}
    notices = []
    if last.stands_until < hand.day:
        notices.append(f"quote {last.number} stood until {format_day(last.stands_until, hand.day)}")
    if chosen.changes:
        said = ", ".join(f"{key} {value}" for key, value in chosen.changes)
        notices.append(
            f"the job is still drawn without it: {clean(said)}. Make it a change order: e on the job's screen, or "
            f"deckjobs change {state.facts.code} FILE with a changed job file"
        )
    if without := chosen.estimate.not_in_price:
        goods = listing([clean(item) for item in without], "and")
        notices.append(
            f"not priced, so not in the contract: {goods}. Once they have a price, agree it: deckjobs extra "
            f"{state.facts.code} AMOUNT TEXT"
        )
    text = f"{clean(chosen.label)} of quote {last.number} accepted: {format_money(chosen.estimate.total_cents)} in "
    text += ", ".join(f"{share.name} {format_money(cents)}" for share, cents in zip(shares, amounts, strict=True))
    return record(session, hand, state.facts.id, body, text, entry_id, notices)


def _design_holds(state: JobState, last: Quote, chosen: QuotedOption) -> None:
    """Raise RefusedError where the design of what is taken fails, or failed when its paper was made."""
    code = state.facts.code
    if state.design_fails and not chosen.changes:
        raise RefusedError(f"the design of {code} fails: {state.design.headline}", CLEARS_DESIGN)
    if chosen.faults:
        raise RefusedError(
            f"quote {last.number} is a {NOT_CHECKED} for {clean(chosen.label)}: {clean(chosen.faults[0])}",
            f"{CLEARS_DESIGN}; then quote it again: deckjobs quote {code} --record",
        )


def _option_named(options: Sequence[QuotedOption], text: str) -> QuotedOption:
    labels = [option.label for option in options]
    if not text.strip():
        if len(options) == 1:
            return options[0]
        raise InputError("the quote has several options", f"name one: {listing(labels)}")
    wanted = text.strip().casefold()
    if wanted.isdecimal() and 1 <= int(wanted) <= len(options):
        return options[int(wanted) - 1]
    found = [o for o in options if o.label.casefold() == wanted] or [o for o in options if wanted in o.label.casefold()]
    if len(found) == 1:
        return found[0]
    raise InputError(f"no option {clean(text)[:40]!r}{near(text, labels)}", f"the quote has {listing(labels, 'and')}")


def _shares(state: JobState, typed: Sequence[str]) -> tuple[Share, ...]:
    keys = [phase.key for phase in state.phases]
    return parse_draws(typed, keys) if typed else usual_draws(state.file.spec.rules, keys)


def set_draws(book: Book, hand: Hand, code: str, draws: Sequence[str], *, entry_id: str | None = None) -> Recorded:
    """Agree another schedule of draws for the contract; what was invoiced stays invoiced.

    Raises RefusedError when a draw would come to less than is invoiced of it: a schedule gives no money back.
    """
    with book.writing() as session:
        return _set_draws_in(book, session, hand, code, draws, entry_id)


@once("draws")
def _set_draws_in(
    book: Book, session: Session, hand: Hand, code: str, draws: Sequence[str], entry_id: str | None
) -> Recorded:  # fmt: skip
    must_waive(session, hand, "set the draws")
    state = load_job(book, session, code, hand.day)
    ledger = must_be_sold(state.facts.code, ledger_of(session, state.facts.id))
    shares = _shares(state, draws)
    amounts = split_draws(ledger.quoted_cents, shares)
    _covers_what_is_invoiced(state, ledger, shares)
    said = ", ".join(f"{share.name} {format_money(cents)}" for share, cents in zip(shares, amounts, strict=True))
    body = {"what": "draws", "draws": shares_json(shares)}
    return record(session, hand, state.facts.id, body, f"draws: {said}", entry_id)


def _covers_what_is_invoiced(state: JobState, ledger: Ledger, shares: Sequence[Share]) -> None:
    titles = {phase.key: phase.title for phase in state.phases}
    found = draws_of(replace(ledger, shares=tuple(shares)), titles, (), False)
    short = [draw for draw in found[: len(shares)] if draw.left_cents < 0]
    if not short:
        return
    said = (
        f"{d.name} would come to {format_money(d.cents)} and {format_money(d.invoiced_cents)} of it is invoiced"
        for d in short
    )
    raise RefusedError(
        listing(said, "and"),
        f"a draw covers at least what is invoiced of it: deckjobs terms {state.facts.code} {_least_schedule(ledger, titles)}; "
        f"to give money back, credit the invoice first: deckjobs credit {state.facts.code} INVOICE AMOUNT --reason TEXT",
    )


def _least_schedule(ledger: Ledger, titles: Mapping[str, str]) -> str:
    """The least that covers what is invoiced, as it is typed; the last draw that can take it has the rest."""
    now = draws_of(ledger, titles, (), False)[: len(ledger.shares)]
    rest = next((draw for draw in reversed(now) if not draw.invoiced_cents), now[-1])
    fixed = [draw for draw in now if draw.invoiced_cents > 0 and draw is not rest]
    words = (f"{draw.name}={draw.invoiced_cents // 100}.{draw.invoiced_cents % 100:02d}" for draw in fixed)
    return " ".join((*words, f"{rest.name}=rest"))


def must_be_sold(code: str, ledger: Ledger) -> Ledger:
    """The ledger; raises RefusedError while no quote is accepted."""
    if ledger.accepted is None:
        way = (
            f"record it: deckjobs accept {code}" if ledger.quotes else f"quote it first: deckjobs quote {code} --record"
        )
        raise RefusedError(f"no quote of {code} is accepted yet", way)
    return ledger


@dataclass(frozen=True, slots=True)
class ExtraCost:
    """What a change costs us, as its owner reckons it: money for a phase and minutes of labour."""

    phase: str = ""
    cents: int = 0
    minutes: int = 0


def price_change(
    book: Book,
    hand: Hand,
    code: str,
    text: str = "",
    price_cents: int | None = None,
    cost: ExtraCost | None = None,
    *,
    entry_id: str | None = None,
) -> Recorded:
    """Add a change's price (before tax; under 0 takes off) to the contract, with what it adds to the estimated cost.

    Its sales tax is at the rate of the day (``TAX_RULE``). It prices every change order of the job that has no price yet; without ``price_cents`` it works the price out from their
    material and hours by the terms of the quote. Without a change order a price and words are needed. Raises RefusedError
    when the contract would fall below nothing.
    """
    with book.writing() as session:
        return price_change_in(book, session, hand, code, text, price_cents, cost, entry_id)


@once("price of a change")
def price_change_in(
    book: Book, session: Session, hand: Hand, code: str, text: str = "", price_cents: int | None = None,
    cost: ExtraCost | None = None, entry_id: str | None = None, *, on_whose_word: Hand | None = None,
) -> Recorded:  # fmt: skip
    """``price_change`` inside the caller's transaction; ``on_whose_word`` vouches for a line of a job file's log."""
    must_waive(session, on_whose_word or hand, "price a change")
    known(session, hand)
    state = load_job(book, session, code, hand.day)
    ledger = must_be_sold(state.facts.code, ledger_of(session, state.facts.id))
    assert ledger.accepted is not None
    terms = ledger.accepted.option.estimate.terms
    words = text or "; ".join(order.reason for order in ledger.not_priced)
    if not words:
        raise InputError(
            "nothing says what the change is", f'deckjobs extra {state.facts.code} 350 "gate at the steps"'
        )
    words = accept(words, "what the change is", limit=NOTE_LIMIT)
    orders = (order.costs for order in ledger.not_priced)
    costs = _own_costs(state, cost, terms, words) if cost else costs_of_orders(orders, terms, words)
    if price_cents is None:
        if missing := dict.fromkeys(item for order in ledger.not_priced for item in order.unpriced):
            raise RefusedError(
                f"no price for {listing([clean(item) for item in missing], 'and')}, so the change would leave it out",
                f"give the amount: deckjobs extra {state.facts.code} AMOUNT",
            )
        if not costs:
            raise InputError("no price is given and there is no change order to price", "give the amount, like 350.00")
        price_cents = price_for(costs, terms)
    material = sum(line.cents for line in costs if line.kind is Kind.MATERIAL)
    today = terms_of(state.file.spec.rules)
    tax = tax_on(price_cents, material, today)
    if not price_cents + tax:
        raise InputError("the change costs the client nothing", "leave it out: only money is recorded here")
    if ledger.contract_cents + price_cents + tax < 0:
        raise RefusedError(
            f"the contract is {format_money(ledger.contract_cents)}; that would take more than all of it off",
            "give a smaller amount",
        )
    number = numbers_so_far(session, state.facts.id, "extra") + 1
    body = {
        "what": "extra", "number": number, "text": words, "price_cents": price_cents, "tax_cents": tax,
        "costs": [{"phase": x.phase, "kind": x.kind.value, "cents": x.cents, "minutes": x.minutes} for x in costs],
        "changes": [order.id for order in ledger.not_priced], "tax": today.tax_words,
    }  # fmt: skip
    contract = format_money(ledger.contract_cents + price_cents + tax)
    said = f"change {number}: {_signed(price_cents + tax)}; the contract is now {contract}"
    notices = (
        []
        if costs
        else [
            "no cost is given for it, so the margin is at most what the pages say: --cost (0 for none) and --hours give it"
        ]
    )
    if today.tax_words != terms.tax_words:
        notices.append(f"sales tax: {today.tax_words}, the rate of today; the quote has {terms.tax_words}. {TAX_RULE}")
    return record(session, hand, state.facts.id, body, said, entry_id, notices)


def _signed(cents: int) -> str:
    return f"{'+' if cents > 0 else ''}{format_money(cents)}"


def price_for(costs: Sequence[EstimateLine], terms: Terms) -> int:
    """The price before tax of what costs so much, by the terms of a quote."""
    direct = sum(line.cents for line in costs)
    return price_of(direct + share_of(direct, terms.overhead_tenths), terms)


def _own_costs(state: JobState, cost: ExtraCost, terms: Terms, words: str) -> list[EstimateLine]:
    if cost.phase and cost.phase not in state.phase_by_key:
        raise InputError(
            f"{state.facts.code} has no phase {clean(cost.phase)!r}{near(cost.phase, state.phase_by_key)}",
            f"it has {listing(state.phase_by_key, 'and')}",
        )
    phase = cost.phase or (state.current.key if state.current else state.phases[-1].key)
    out = [EstimateLine(Kind.EQUIPMENT, phase, words, cost.cents, "")] if cost.cents else []
    if cost.minutes:
        cents = labour_cents(cost.minutes, terms.labour_cents)
        out.append(EstimateLine(Kind.LABOUR, phase, words, cents, "", cost.minutes))
    return out or [
        EstimateLine(Kind.EQUIPMENT, phase, words, 0, "")
    ]  # said to cost nothing is not the same as not said


def costs_of_orders(orders: Iterable[Sequence[PhaseCost]], terms: Terms, words: str) -> list[EstimateLine]:
    """What change orders add by phase, as they reckoned it when they were accepted, at the labour rate of the quote."""
    material: defaultdict[str, int] = defaultdict(int)
    minutes: defaultdict[str, int] = defaultdict(int)
    for cost in (cost for order in orders for cost in order):
        material[cost.phase] += cost.material_cents
        minutes[cost.phase] += cost.minutes
    out: list[EstimateLine] = []
    for phase in material:
        if minutes[phase]:
            cents = labour_cents(minutes[phase], terms.labour_cents)
            out.append(EstimateLine(Kind.LABOUR, phase, words, cents, "", minutes[phase]))
        if material[phase]:
            out.append(EstimateLine(Kind.MATERIAL, phase, words, material[phase], ""))
    return out
