"""What of the money needs a person: draws that are ready to invoice, and invoices long unpaid."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date, timedelta

import sqlalchemy as sql
from sqlmodel import Session, col, select

from tracker.book.entries import Entry, plain
from tracker.book.frontviews import NeedsYou, Place, Room, Worry
from tracker.book.ledger import Ledger, fold_money
from tracker.book.moneyviews import draws_of, invoices_of
from tracker.book.state import JobState
from tracker.book.tables import EntryRow, JobRow
from tracker.text import clean, count, listing
from tracker.trade.dates import format_day
from tracker.trade.money import format_money

LONG_UNPAID = timedelta(days=30)
"""After so many days an open invoice is asked after; common practice, the contract may say another number."""
_OF_INVOICES = ("invoice", "credit note", "payment", "taken back")
"""Money entries that say what is open of an invoice; a finished job has nothing else to ask."""


def money_needs(session: Session, states: Sequence[JobState], today: date) -> list[NeedsYou]:
    """Of the open jobs what is ready to invoice, of every job of the book what is long unpaid: a line each a job."""
    open_jobs = {state.facts.id: state for state in states}
    ledgers = _ledgers(session, list(open_jobs))
    out: list[NeedsYou] = []
    for job_id, state in open_jobs.items():
        if job_id in ledgers:
            out += _ready(state, ledgers[job_id])
    late = {job_id: worry for job_id, ledger in ledgers.items() if (worry := _unpaid(ledger, today))}
    rows = session.exec(select(JobRow).where(col(JobRow.id).in_(late)).order_by(col(JobRow.code))).all() if late else ()
    for row in rows:
        what, why = late[row.id]
        do = "ask the client for it; record what came in"
        out.append(NeedsYou(Worry.MONEY, row.code, row.title, what, why, Place(row.code, Room.MONEY), do))
    return out


def _ledgers(session: Session, open_ids: list[str]) -> dict[str, Ledger]:
    """By job; of jobs that are not open only those with an invoice, and only what their invoices need."""
    columns = EntryRow.__table__.c  # type: ignore[attr-defined]
    what = sql.func.json_extract(columns.body, "$.what")
    query = sql.select(columns).where(
        columns.kind == "money", sql.or_(columns.job_id.in_(open_ids), what.in_(_OF_INVOICES))
    )
    entries: defaultdict[str, list[Entry]] = defaultdict(list)
    for row in session.connection().execute(query.order_by(columns.arrived)):
        entries[row.job_id].append(plain(row))
    return {job_id: fold_money(found) for job_id, found in entries.items()}


def _ready(state: JobState, ledger: Ledger) -> Iterator[NeedsYou]:
    titles = {phase.key: phase.title for phase in state.phases}
    signed = frozenset(key for key in titles if state.signed(key))
    draws = draws_of(ledger, titles, signed, state.current is None)
    ready = [draw for draw in draws if draw.ready and draw.left_cents > 0]
    if ready:
        names = listing([clean(draw.title).lower() if draw.phase else draw.name for draw in ready], "and")
        facts, total = state.facts, sum(draw.left_cents for draw in ready)
        yield NeedsYou(
            Worry.MONEY, facts.code, facts.title, f"{format_money(total)} ready to invoice", f"for {names}",
            Place(facts.code, Room.MONEY), "invoice it",
        )  # fmt: skip


def _unpaid(ledger: Ledger, today: date) -> tuple[str, str] | None:
    late = [found for found in invoices_of(ledger) if found.open_cents > 0 and today - found.invoice.day > LONG_UNPAID]
    if not late:
        return None
    first, total = late[0].invoice, sum(found.open_cents for found in late)
    more = f" and {count(len(late) - 1, 'more invoice')}" if len(late) > 1 else ""
    return f"{format_money(total)} unpaid", f"invoice {first.number} of {format_day(first.day)}{more}"
