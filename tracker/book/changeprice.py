"""What a change order would cost the client, worked out before it is accepted."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, time

from sqlmodel import Session

from tracker.book.changes import ChangeOrder
from tracker.book.money import costs_of_change, price_for
from tracker.book.moneyread import ledger_of
from tracker.book.state import JobState
from tracker.planning.estimate import Kind, tax_on


def price_of_change(session: Session, after: JobState, before_cents: int, after_cents: int) -> int | None:
    """The price, tax included, that a change from material of ``before_cents`` to ``after_cents`` would get by the terms of the
    accepted quote, with every change order that has none yet; None while no quote is accepted.

    ``after`` is the job with its new spec. It is what ``money.price_change`` puts on the contract when no price is given.
    """
    ledger = ledger_of(session, after.facts.id)
    if ledger.accepted is None:
        return None
    at = datetime.combine(after.today, time.min, UTC)
    order = ChangeOrder("", after.today, at, "", "", (), before_cents, after_cents, ())
    terms = ledger.accepted.option.estimate.terms
    costs = costs_of_change(after, replace(ledger, not_priced=(*ledger.not_priced, order)), terms, "")
    price = price_for(costs, terms)
    return price + tax_on(price, sum(line.cents for line in costs if line.kind is Kind.MATERIAL), terms)
