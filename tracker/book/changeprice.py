"""What a change order adds to each phase, and what it would cost the client, worked out before it is accepted."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.book.changeviews import PhaseCost
from tracker.book.ledger import Ledger
from tracker.book.money import costs_of_orders, price_for
from tracker.book.pricing import estimate_in
from tracker.book.state import JobState
from tracker.planning.cents import share_out
from tracker.planning.estimate import Kind, Terms, tax_on


def phase_costs(before: JobState, after: JobState, material_cents: int | None = None) -> tuple[PhaseCost, ...]:
    """What a new spec adds to each phase: its labour and material as both specs are estimated by today's hours and prices.

    With ``material_cents`` the material comes to that in all, shared over the phases it moves in.
    """
    old, new = estimate_in(before), estimate_in(after)
    phases = tuple(dict.fromkeys((*new.phases, *old.phases)))
    moved = [new.cost_of(Kind.MATERIAL, phase) - old.cost_of(Kind.MATERIAL, phase) for phase in phases]
    if material_cents is not None and phases:
        moved = share_out(material_cents, [max(cents if material_cents > 0 else -cents, 0) for cents in moved])
    found = (
        PhaseCost(phase, cents, new.minutes_of(phase) - old.minutes_of(phase))
        for phase, cents in zip(phases, moved, strict=True)
    )
    return tuple(cost for cost in found if cost.material_cents or cost.minutes)


def price_of_change(ledger: Ledger, costs: Sequence[PhaseCost], today: Terms) -> int | None:
    """The price, tax at the rate of ``today`` included, that a change would get by the terms of the accepted quote, with every change order that has
    none yet; None while no quote is accepted.

    It is what ``money.price_change`` puts on the contract when no price is given.
    """
    if ledger.accepted is None:
        return None
    terms = ledger.accepted.option.estimate.terms
    lines = costs_of_orders((*(order.costs for order in ledger.not_priced), costs), terms, "")
    price = price_for(lines, terms)
    return price + tax_on(price, sum(line.cents for line in lines if line.kind is Kind.MATERIAL), today)
