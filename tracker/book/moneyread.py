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
from tracker.book.moneyviews import LastChange, MoneyView, deposit_held, draws_of, invoices_of
from tracker.book.opening import Book
from tracker.book.pricing import estimate_in
from tracker.book.state import JobState
from tracker.book.tables import EntryRow
from tracker.book.worked import Stint, fold_hours
from tracker.planning.cents import share_of, share_out
from tracker.planning.estimate import Estimate, EstimateLine, Kind
from tracker.planning.jobcost import Margin, margin_of, phase_costs
from tracker.text import count

OFF_LIST = ("", "for no phase")


def entries_of_kind(session: Session, kind: str, job_ids: Sequence[str] | None = None) -> list[Entry]:
    """Entries of one kind in order of arrival: of the named jobs, or of the whole book."""
    columns = EntryRow.__table__.c  # type: ignore[attr-defined]
    query = sql.select(columns).where(columns.kind == kind)
    if job_ids is not None:
        query = query.where(columns.job_id.in_(list(job_ids)))
    return [plain(row) for row in session.connection().execute(query.order_by(columns.arrived))]


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
    against, estimate, unpriced = _yardstick(state, ledger)
    spent, ordered, without = _costs(state, ledger, stints)
    keys = _phase_keys(state, estimate, ledger, spent, ordered)

    lines = (*estimate.lines, *(line for change in ledger.changes for line in change.costs))
    phases = phase_costs(keys, signed, _by_phase(lines), spent, ordered)
    price = estimate.price_cents + sum(change.price_cents for change in ledger.changes)
    margin = margin_of(price, phases, estimate.terms.overhead_tenths)
    draws = draws_of(ledger, titles, signed, state.current is None)
    sold = ledger.accepted is not None
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
        spent=ledger.spent,
        quoted_cents=ledger.quoted_cents,
        changes_cents=ledger.changes_cents if sold else 0,
        invoiced_cents=ledger.invoiced_cents,
        paid_cents=ledger.paid_cents,
        deposit_held_cents=deposit_held(ledger, draws, [(p.phase, p.estimate_cents) for p in phases], signed),
        phases=phases,
        against=against,
        unpriced=tuple(dict.fromkeys((*unpriced, *without))),
        margin_quoted=Margin(estimate.price_cents, estimate.cost_cents + estimate.overhead_cents) if sold else None,
        margin_now=margin if sold else None,
        last_change=LastChange(last, _without(last, margin, estimate.terms.overhead_tenths), margin) if last else None,
    )


def _without(change: Extra, margin: Margin, overhead_tenths: int) -> Margin:
    """The margin without a change: its price, and what it was reckoned to cost with overhead, taken off."""
    direct = sum(line.cents for line in change.costs)
    cost = margin.cost_cents - direct - share_of(direct, overhead_tenths)
    return Margin(margin.price_cents - change.price_cents, cost)


def _yardstick(state: JobState, ledger: Ledger) -> tuple[str, Estimate, tuple[str, ...]]:
    """The estimate the cost is held against, and what it is in words."""
    if ledger.accepted is not None:
        option = ledger.accepted.option
        changed = f" and {count(len(ledger.changes), 'change')}" if ledger.changes else ""
        return f"quote {ledger.accepted.quote}, {option.label}{changed}", option.estimate, option.estimate.unpriced
    if ledger.quotes:
        quote = ledger.quotes[-1]
        estimate = quote.options[0].estimate
        return f"quote {quote.number}, {quote.options[0].label}, not accepted yet", estimate, estimate.unpriced
    found = estimate_in(state)
    return "today's estimate; nothing is quoted yet", found, found.unpriced


def _by_phase(lines: Iterable[EstimateLine]) -> dict[tuple[str, Kind], int]:
    out: defaultdict[tuple[str, Kind], int] = defaultdict(int)
    for line in lines:
        out[line.phase, line.kind] += line.cents
    return dict(out)


def _costs(
    state: JobState, ledger: Ledger, stints: Iterable[Stint]
) -> tuple[dict[tuple[str, Kind], int], dict[tuple[str, Kind], int], tuple[str, ...]]:
    """What was spent and what is on order besides, by phase and kind; and items nobody priced.

    What an item cost is shared over the phases that need it by the pieces each needs.
    """
    spent: defaultdict[tuple[str, Kind], int] = defaultdict(int)
    ordered: defaultdict[tuple[str, Kind], int] = defaultdict(int)
    pieces: defaultdict[str, defaultdict[str, int]] = defaultdict(lambda: defaultdict(int))
    for line in state.material:
        pieces[line.item][line.phase] += line.quantity
    bought = cost_in(state)
    for item in bought.items:
        need = pieces.get(item.key) or {"": 1}
        for amounts, cents in ((spent, item.received_cents), (ordered, item.committed_cents - item.received_cents)):
            for phase, part in zip(need, share_out(cents, list(need.values())), strict=True):
                amounts[phase, Kind.MATERIAL] += part
    for stint in stints:
        spent[stint.phase, Kind.LABOUR] += stint.cents
    for cost in ledger.spent:
        spent[cost.phase, Kind.EQUIPMENT] += cost.cents
    lots = {lot.item for lot in state.lots}
    return dict(spent), dict(ordered), tuple(item for item in bought.unpriced if item in lots)


def _phase_keys(
    state: JobState, estimate: Estimate, ledger: Ledger, *costs: dict[tuple[str, Kind], int]
) -> list[tuple[str, str]]:
    """The job's phases, then those it no longer has but that were estimated or cost something."""
    titles = {phase.key: phase.title for phase in state.phases}
    named = [line.phase for line in (*estimate.lines, *(c for change in ledger.changes for c in change.costs))]
    named += [phase for found in costs for phase, _ in found]
    others = [key for key in dict.fromkeys(named) if key not in titles]
    return [*titles.items(), *((key, key if key else OFF_LIST[1]) for key in others)]
