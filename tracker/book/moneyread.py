"""Reading a job's money: its ledger, its hours and its lots put together into one view."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date

import sqlalchemy as sql
from sqlmodel import Session

from tracker.book.buying import cost_in
from tracker.book.entries import Entry, plain
from tracker.book.ledger import Extra, Ledger, fold_money
from tracker.book.load import load_job
from tracker.book.moneyviews import LastChange, MoneyView, deposit_held, draws_of, invoices_of, settled_by
from tracker.book.opening import Book
from tracker.book.pricing import estimate_in
from tracker.book.state import JobState
from tracker.book.stock import unrecorded
from tracker.book.tables import EntryRow
from tracker.book.worked import Stint, fold_hours
from tracker.planning.bounds import NO_GAPS, UNRATED, Gaps, all_gaps
from tracker.planning.cents import share_of, share_out
from tracker.planning.estimate import Estimate, EstimateLine, Kind
from tracker.planning.jobcost import Margin, Records, margin_of, phase_costs
from tracker.planning.packs import priced_lines
from tracker.text import count

OFF_LIST = ("", "for no phase")


def entries_of_kind(session: Session, kind: str, job_ids: Sequence[str] | None = None) -> list[Entry]:
    """Entries of one kind in order of arrival: of the named jobs, or of the whole book."""
    columns = EntryRow.__table__.c  # type: ignore[attr-defined]
    query = sql.select(columns).where(columns.kind == kind)
    if job_ids is not None:
        query = query.where(columns.job_id.in_(list(job_ids)))
    return [plain(row) for row in session.connection().execute(query.order_by(columns.arrived)).all()]


def ledger_of(session: Session, job_id: str) -> Ledger:
    """The ledger of a job."""
    return fold_money(entries_of_kind(session, "money", [job_id]))


def stints_of(session: Session, job_ids: Sequence[str] | None = None) -> tuple[Stint, ...]:
    """The hours of the named jobs, or of all."""
    return fold_hours(entries_of_kind(session, "hours", job_ids))


_NUMBERS = sql.text(
    "SELECT max(json_extract(body, '$.number')) FROM entry WHERE kind = 'money' "
    "AND json_extract(body, '$.what') IN ('invoice', 'credit note')"
)


def next_invoice_number(session: Session) -> int:
    """The number after the last invoice or credit note of the book; a write transaction holds all others off."""
    last: int | None = session.connection().execute(_NUMBERS).scalar_one_or_none()
    return (last or 0) + 1


def money_of(book: Book, code: str, today: date) -> MoneyView:
    """The money of a job on a day: contract, draws, invoices, cost against estimate, forecast and margin.

    Raises InputError when no job, or more than one, could be meant.
    """
    with book.reading() as session:
        state = load_job(book, session, code, today)
        ledger, stints = ledger_of(session, state.facts.id), stints_of(session, [state.facts.id])
    return money_in(state, ledger, stints)


def money_in(state: JobState, ledger: Ledger, stints: Iterable[Stint]) -> MoneyView:
    """``money_of`` from what was read."""
    titles = {phase.key: phase.title for phase in state.phases}
    signed = frozenset(key for key in titles if state.signed(key))
    against, estimate = _yardstick(state, ledger)
    sold = ledger.accepted is not None
    records = _records(state, ledger, stints, estimate)
    keys = _phase_keys(state, estimate, ledger, records)

    lines = (*estimate.lines, *(line for change in ledger.changes for line in change.costs))
    phases = phase_costs(keys, signed, _by_phase(lines), records, {key: estimate.gaps_of(key) for key, _ in keys})
    price = estimate.price_cents + sum(change.price_cents for change in ledger.changes)
    besides = _besides(estimate, ledger) if sold else NO_GAPS
    margin = margin_of(price, phases, estimate.terms.overhead_tenths, besides)
    draws = draws_of(ledger, titles, signed, state.current is None)
    last = ledger.changes[-1] if ledger.changes and sold else None
    return MoneyView(
        job=state.facts.code,
        title=state.facts.title,
        day=state.today,
        quotes=ledger.quotes,
        accepted=ledger.accepted,
        changes=ledger.changes,
        not_priced=ledger.not_priced if sold else (),
        draws=draws,
        invoices=invoices_of(ledger),
        payments=ledger.payments,
        settled=settled_by(ledger),
        spent=ledger.spent,
        undone=ledger.undone,
        quoted_cents=ledger.quoted_cents,
        changes_cents=ledger.changes_cents if sold else 0,
        invoiced_cents=ledger.invoiced_cents,
        paid_cents=ledger.paid_cents,
        deposit_held_cents=deposit_held(ledger, draws, [(p.phase, p.estimate_cents) for p in phases], signed),
        phases=phases,
        against=against,
        estimate_gaps=estimate.gaps,
        gaps=besides | all_gaps(phase.gaps for phase in phases),
        margin_quoted=_quoted(estimate) if sold else None,
        margin_now=margin if sold else None,
        last_change=LastChange(last, _without(last, margin, estimate.terms.overhead_tenths), margin) if last else None,
    )


def _quoted(estimate: Estimate) -> Margin:
    """The margin an estimate was sold with."""
    return Margin(estimate.price_cents, estimate.cost_cents + estimate.overhead_cents, estimate.gaps)


def _besides(estimate: Estimate, ledger: Ledger) -> Gaps:
    """What the cost leaves out of no phase in particular: goods of an estimate that says not where, what changes cost."""
    loose = estimate.gaps if estimate.gaps and not estimate.unpriced_of else NO_GAPS
    changes = [
        f"{change.name} without its cost" for change in ledger.changes if change.price_cents > 0 and not change.costs
    ]
    if ledger.not_priced:
        changes.append(f"{count(len(ledger.not_priced), 'change order')} not priced")
    return loose | Gaps(others=tuple(changes))


def _without(change: Extra, margin: Margin, overhead_tenths: int) -> Margin:
    """The margin without a change: its price, and what it was reckoned to cost with overhead, taken off."""
    direct = sum(line.cents for line in change.costs)
    cost = margin.cost_cents - direct - share_of(direct, overhead_tenths)
    return Margin(margin.price_cents - change.price_cents, cost, margin.gaps)


def _yardstick(state: JobState, ledger: Ledger) -> tuple[str, Estimate]:
    """The estimate the cost is held against, and what it is in words."""
    if ledger.accepted is not None:
        option = ledger.accepted.option
        changed = f" and {count(len(ledger.changes), 'change')}" if ledger.changes else ""
        return f"quote {ledger.accepted.quote}, {option.label}{changed}", option.estimate
    if ledger.quotes:
        quote = ledger.quotes[-1]
        return f"quote {quote.number}, {quote.options[0].label}, not accepted yet", quote.options[0].estimate
    return "today's estimate; nothing is quoted yet", estimate_in(state)


def _by_phase(lines: Iterable[EstimateLine]) -> dict[tuple[str, Kind], int]:
    out: defaultdict[tuple[str, Kind], int] = defaultdict(int)
    for line in lines:
        out[line.phase, line.kind] += line.cents
    return dict(out)


def _records(state: JobState, ledger: Ledger, stints: Iterable[Stint], estimate: Estimate) -> Records:
    """What was spent and what is on order besides, by phase and kind, and what of it lacks or has no price.

    What an item cost is shared over the phases that need it by the pieces each needs. What has no price counts as the
    estimate has it, where the estimate has it.
    """
    estimated = _by_item(estimate)
    spent: defaultdict[tuple[str, Kind], int] = defaultdict(int)
    ordered: defaultdict[tuple[str, Kind], int] = defaultdict(int)
    noted: set[tuple[str, Kind]] = set()
    lacking: defaultdict[str, int] = defaultdict(int)
    left_out: defaultdict[str, Gaps] = defaultdict(lambda: NO_GAPS)
    pieces: defaultdict[str, defaultdict[str, int]] = defaultdict(lambda: defaultdict(int))
    for line in state.material:
        pieces[line.item][line.phase] += line.quantity
    bought = {lot.item for lot in state.lots if lot.fold.obtained}
    for item in cost_in(state).items:
        need = pieces.get(item.key) or {"": 1}
        for amounts, cents in ((spent, item.received_cents), (ordered, item.committed_cents - item.received_cents)):
            for phase, part in zip(need, share_out(cents, list(need.values())), strict=True):
                amounts[phase, Kind.MATERIAL] += part
        if item.key in bought:
            noted |= {(phase, Kind.MATERIAL) for phase in need}
            for phase in need if item.not_paid else ():
                left_out[phase] |= Gaps(item.not_paid)
                lacking[phase] += estimated.get((phase, item.key), 0)
    for priced in priced_lines(unrecorded(state), state.prices):
        line = priced.line
        if priced.cents is not None:
            lacking[line.phase] += priced.cents
        elif (line.phase, line.item) in estimated:
            lacking[line.phase] += estimated[line.phase, line.item]
        else:
            left_out[line.phase] |= Gaps((line.item,))
    for stint in stints:
        spent[stint.phase, Kind.LABOUR] += stint.cents
        noted.add((stint.phase, Kind.LABOUR))
        if not stint.rate_cents:
            left_out[stint.phase] |= Gaps(others=(UNRATED,))
    for cost in ledger.spent:
        spent[cost.phase, Kind.EQUIPMENT] += cost.cents
        noted.add((cost.phase, Kind.EQUIPMENT))
    return Records(dict(spent), dict(ordered), noted, dict(lacking), dict(left_out))


def _by_item(estimate: Estimate) -> dict[tuple[str, str], int]:
    """What an estimate has for each item of each phase."""
    out: defaultdict[tuple[str, str], int] = defaultdict(int)
    for line in estimate.lines:
        if line.item:
            out[line.phase, line.item] += line.cents
    return dict(out)


def _phase_keys(state: JobState, estimate: Estimate, ledger: Ledger, records: Records) -> list[tuple[str, str]]:
    """The job's phases, then those it no longer has but that were estimated or cost something."""
    titles = {phase.key: phase.title for phase in state.phases}
    named = [line.phase for line in (*estimate.lines, *(c for change in ledger.changes for c in change.costs))]
    named += [phase for phase, _ in (*records.cost, *records.on_order)] + [*records.left_out]
    others = [key for key in dict.fromkeys(named) if key not in titles]
    return [*titles.items(), *((key, key if key else OFF_LIST[1]) for key in others)]
