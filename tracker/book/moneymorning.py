"""What of the money needs a person: draws that are ready to invoice, and invoices long unpaid."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta

import sqlalchemy as sql
from sqlmodel import Session

from tracker.book.entries import Entry, plain
from tracker.book.frontviews import NeedsYou, Place, Room, Worry
from tracker.book.ledger import Ledger, fold_money
from tracker.book.moneyviews import draws_of, invoices_of
from tracker.book.standing import rows_at
from tracker.book.state import JobState
from tracker.book.tables import EntryRow, JobRow
from tracker.text import clean, count, listing
from tracker.trade.dates import format_day
from tracker.trade.money import format_money

LONG_UNPAID = timedelta(days=30)
"""After so many days an open invoice is asked after; common practice, the contract may say another number."""


def money_needs(session: Session, states: Sequence[JobState], today: date, until: date | None = None) -> list[NeedsYou]:
    """Of every job of the book, open or finished, what is ready to invoice and what is long unpaid: a line each a job.

    With ``until`` as it was known at the end of that day.
    """
    open_jobs = {state.facts.id: state for state in states}
    ready: dict[str, tuple[str, str]] = {}
    late: dict[str, tuple[str, str]] = {}
    for job_id, ledger in _ledgers(session, until).items():
        if found := _ready(ledger, open_jobs.get(job_id)):
            ready[job_id] = found
        if found := _unpaid(ledger, today):
            late[job_id] = found
    rows = (
        [row for row in rows_at(session, JobRow, until) if row.id in ready or row.id in late] if ready or late else []
    )
    kinds = (
        (ready, "invoice it", "deckjobs invoice {}"),
        (late, "ask the client for it; record what came in", "deckjobs paid {} AMOUNT"),
    )
    return [
        NeedsYou(
            Worry.MONEY, row.code, row.title, *found[row.id], do, clears.format(row.code), Place(row.code, Room.MONEY)
        )
        for found, do, clears in kinds
        for row in sorted(rows, key=lambda row: row.code)
        if row.id in found
    ]  # fmt: skip


def _ledgers(session: Session, until: date | None) -> dict[str, Ledger]:
    """By job, of those that have any money recorded, up to a day."""
    columns = EntryRow.__table__.c  # type: ignore[attr-defined]
    query = sql.select(columns).where(columns.kind == "money").order_by(columns.arrived)
    if until is not None:
        query = query.where(columns.day <= until.isoformat())
    entries: defaultdict[str, list[Entry]] = defaultdict(list)
    for row in session.connection().execute(query).all():
        entries[row.job_id].append(plain(row))
    return {job_id: fold_money(found) for job_id, found in entries.items()}


def _ready(ledger: Ledger, state: JobState | None) -> tuple[str, str] | None:
    """What of a job is ready to invoice, and for what; ``state`` is None of a finished one, of which all is."""
    titles = {phase.key: phase.title for phase in state.phases} if state else {}
    signed = frozenset(key for key in titles if state and state.signed(key))
    draws = draws_of(ledger, titles, signed, state is None or state.current is None)
    ready = [draw for draw in draws if draw.ready and draw.left_cents > 0]
    if not ready:
        return None
    names = listing([clean(draw.title).lower() if draw.phase else draw.name for draw in ready], "and")
    finished = "the job is finished; " if state is None else ""
    return f"{format_money(sum(draw.left_cents for draw in ready))} ready to invoice", f"{finished}for {names}"


def _unpaid(ledger: Ledger, today: date) -> tuple[str, str] | None:
    late = [found for found in invoices_of(ledger) if found.open_cents > 0 and today - found.invoice.day > LONG_UNPAID]
    if not late:
        return None
    first, total = late[0].invoice, sum(found.open_cents for found in late)
    more = f" and {count(len(late) - 1, 'more invoice')}" if len(late) > 1 else ""
    return f"{format_money(total)} unpaid", f"invoice {first.number} of {format_day(first.day, today)}{more}"
