"""The forecast of a job by phase, each case worked by hand."""

from __future__ import annotations

import pytest

from tracker.planning.estimate import Kind
from tracker.planning.jobcost import Margin, margin_of, phase_costs

M, L, E = Kind.MATERIAL, Kind.LABOUR, Kind.EQUIPMENT


@pytest.mark.parametrize(
    ("signed", "estimate", "cost", "on_order", "forecast"),
    [
        # Open: the larger of estimate and cost, kind by kind: material 100, labour 80 over its 50, hire 20.
        (False, {M: 100, L: 50, E: 20}, {M: 60, L: 80}, {}, 200),
        # Open: what is on order counts: 60 in and 70 to come is 130 over the 100.
        (False, {M: 100}, {M: 60}, {M: 70}, 130),
        # Signed off: what it cost, whatever was estimated.
        (True, {M: 100, L: 50, E: 20}, {M: 60, L: 30}, {}, 90),
        # Signed off and nobody logged an hour: its labour counts as estimated.
        (True, {M: 100, L: 50}, {M: 60}, {}, 110),
    ],
)
def test_the_forecast_of_a_phase(
    signed: bool, estimate: dict[Kind, int], cost: dict[Kind, int], on_order: dict[Kind, int], forecast: int
) -> None:
    def keyed(amounts: dict[Kind, int]) -> dict[tuple[str, Kind], int]:
        return {("frame", kind): cents for kind, cents in amounts.items()}

    (phase,) = phase_costs(
        [("frame", "Frame"), ("boards", "Deck boards")], frozenset(["frame"] if signed else []),
        keyed(estimate), keyed(cost), keyed(on_order),
    )  # fmt: skip
    assert phase.forecast_cents == forecast
    assert (phase.estimate_cents, phase.cost_cents) == (sum(estimate.values()), sum(cost.values()))
    assert phase.no_hours is (signed and L in estimate and L not in cost)


def test_the_margin_carries_the_overhead() -> None:
    (phase,) = phase_costs([("frame", "Frame")], frozenset(), {("frame", M): 10_005}, {}, {})
    # Overhead 10 % of 100.05 is 10.005, 10.01; 150.00 less 110.06 is 39.94, 26.6 % of the price.
    assert margin_of(15_000, [phase], 100) == Margin(15_000, 11_006)
    assert (Margin(15_000, 11_006).cents, Margin(15_000, 11_006).tenths) == (3_994, 266)
