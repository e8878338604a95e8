"""A job's cost against its estimate by phase, what it will come to, and the margin that leaves. Pure.

The forecast of a phase: signed off, it is what it has cost (material ordered counts as cost; labour nobody logged an hour
of counts as estimated). Not signed off, each kind
of cost is the larger of what it has cost and what was estimated: the rest of the estimate is still to be spent, and what
went over it is not got back. Overhead goes on the forecast at the rate of the quote.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tracker.planning.cents import ratio_tenths, share_of
from tracker.planning.estimate import Kind

METHOD = (
    "forecast: a phase signed off is what it cost, material on order counted, and its labour as estimated when no hours "
    "were logged; any other is, for material, labour and equipment apart, the larger of its estimate and its cost so far"
)

Costs = Mapping[tuple[str, Kind], int]
"""Cents by phase key and kind."""


@dataclass(frozen=True, slots=True)
class PhaseCost:
    """One phase: estimate, cost so far (received, worked, spent), on order besides, and forecast, in cents.

    ``kinds`` gives (estimate, cost, forecast) by kind.
    """

    phase: str
    title: str
    signed_off: bool
    estimate_cents: int
    cost_cents: int
    on_order_cents: int
    forecast_cents: int
    kinds: Mapping[Kind, tuple[int, int, int]]

    @property
    def no_hours(self) -> bool:
        """Whether it is signed off, was to take labour, and nobody logged any."""
        planned, spent, _ = self.kinds[Kind.LABOUR]
        return self.signed_off and planned > 0 and not spent

    @property
    def over_cents(self) -> int:
        """Cents the forecast is over the estimate; negative when under."""
        return self.forecast_cents - self.estimate_cents


@dataclass(frozen=True, slots=True)
class Margin:
    """Price without tax, forecast cost with overhead, and what is left: cents and tenths of a percent of the price."""

    price_cents: int
    cost_cents: int

    @property
    def cents(self) -> int:
        """Price less cost."""
        return self.price_cents - self.cost_cents

    @property
    def tenths(self) -> int:
        """The margin as a share of the price."""
        return ratio_tenths(self.cents, self.price_cents)


def phase_costs(
    phases: Sequence[tuple[str, str]], signed: frozenset[str], estimate: Costs, cost: Costs, on_order: Costs
) -> tuple[PhaseCost, ...]:
    """Every phase (key and title) that was estimated or has cost something, in the order given."""
    out: list[PhaseCost] = []
    for key, title in phases:
        kinds: dict[Kind, tuple[int, int, int]] = {}
        ordered = 0
        for kind in Kind:
            planned, spent = estimate.get((key, kind), 0), cost.get((key, kind), 0)
            coming = on_order.get((key, kind), 0)
            ordered += coming
            settled = key in signed and (spent != 0 or kind is not Kind.LABOUR)
            forecast = spent + coming if settled else max(planned, spent + coming)
            kinds[kind] = (planned, spent, forecast)
        if any(any(three) for three in kinds.values()) or ordered:
            sums = [sum(three[n] for three in kinds.values()) for n in range(3)]
            out.append(PhaseCost(key, title, key in signed, sums[0], sums[1], ordered, sums[2], kinds))
    return tuple(out)


def margin_of(price_cents: int, phases: Sequence[PhaseCost], overhead_tenths: int) -> Margin:
    """The margin a forecast leaves of a price without tax."""
    direct = sum(phase.forecast_cents for phase in phases)
    return Margin(price_cents, direct + share_of(direct, overhead_tenths))
