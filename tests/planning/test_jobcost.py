"""The forecast of a job by phase, each case worked by hand."""

from __future__ import annotations

import pytest

from tracker.planning.bounds import NO_GAPS, UNRATED, Gaps
from tracker.planning.estimate import Kind
from tracker.planning.jobcost import Margin, PhaseCost, Records, margin_of, phase_costs

M, L, E = Kind.MATERIAL, Kind.LABOUR, Kind.EQUIPMENT


def forecast(signed: bool, estimate: dict[Kind, int], records: Records, not_estimated: Gaps = NO_GAPS) -> PhaseCost:
    (phase,) = phase_costs(
        [("frame", "Frame"), ("boards", "Deck boards")], {"frame"} if signed else (),
        {("frame", kind): cents for kind, cents in estimate.items()}, records,
        {"frame": not_estimated} if not_estimated else {},
    )  # fmt: skip
    return phase


def of_frame(amounts: dict[Kind, int]) -> dict[tuple[str, Kind], int]:
    return {("frame", kind): cents for kind, cents in amounts.items()}


@pytest.mark.parametrize(
    ("signed", "estimate", "cost", "on_order", "expected", "not_recorded"),
    [
        # Open: the larger of estimate and cost, kind by kind: material 100, labour 80 over its 50, hire 20.
        (False, {M: 100, L: 50, E: 20}, {M: 60, L: 80}, {}, 200, ()),
        # Open: what is on order counts: 60 in and 70 to come is 130 over the 100.
        (False, {M: 100}, {M: 60}, {M: 70}, 130, ()),
        # Signed off: what it cost, whatever was estimated.
        (True, {M: 100, L: 50, E: 20}, {M: 60, L: 30, E: 5}, {}, 95, ()),
        # Signed off and nobody logged an hour: its labour counts as estimated.
        (True, {M: 100, L: 50}, {M: 60}, {}, 110, (L,)),
        # Signed off and nobody recorded its material, or its hire: they count as estimated.
        (True, {M: 100, L: 50, E: 20}, {L: 30}, {}, 150, (M, E)),
    ],
)
def test_the_forecast_of_a_phase(
    signed: bool, estimate: dict[Kind, int], cost: dict[Kind, int], on_order: dict[Kind, int], expected: int,
    not_recorded: tuple[Kind, ...],
) -> None:  # fmt: skip
    phase = forecast(signed, estimate, Records(of_frame(cost), of_frame(on_order)))
    assert phase.forecast_cents == expected
    assert (phase.estimate_cents, phase.cost_cents) == (sum(estimate.values()), sum(cost.values()))
    assert (phase.not_recorded, phase.no_hours) == (not_recorded, L in not_recorded)


def test_what_is_recorded_to_cost_nothing_settles_a_kind() -> None:
    phase = forecast(True, {E: 170}, Records(noted={("frame", E)}))
    assert (phase.forecast_cents, phase.not_recorded) == (0, ())


def test_material_needed_and_on_no_record_stays_in_the_forecast() -> None:
    # Boards came for 60; 25 of nails were needed and nobody recorded any: 85 of the 100 estimated.
    phase = forecast(True, {M: 100}, Records(of_frame({M: 60}), lacking={"frame": 25}))
    assert (phase.forecast_cents, phase.lacking_cents) == (85, 25)


def test_a_lot_without_a_price_says_so() -> None:
    # 60 of boards have a price, the nails of the lot have none and nobody estimated them: 60 at least.
    phase = forecast(True, {M: 100}, Records(of_frame({M: 60}), left_out={"frame": Gaps(("nails",))}))
    assert phase.gaps.at_least(phase.forecast_cents) == "at least $0.60, 1 item not priced"


def test_hours_at_no_rate_make_no_phase_cheaper() -> None:
    hours = forecast(True, {L: 100}, Records(noted={("frame", L)}, left_out={"frame": Gaps(others=(UNRATED,))}))
    assert (hours.forecast_cents, hours.gaps.words) == (100, "hours at no rate")


def test_a_phase_of_which_nothing_has_a_price_is_still_there() -> None:
    phase = forecast(False, {}, Records(), Gaps(("cloth",)))
    assert (phase.forecast_cents, phase.gaps.words) == (0, "1 item not priced")
    assert margin_of(500, [phase], 0).gaps.at_most("100 %") == "at most 100 %, 1 item not priced"


def test_the_margin_carries_the_overhead() -> None:
    phase = forecast(False, {M: 10_005}, Records())
    # Overhead 10 % of 100.05 is 10.005, 10.01; 150.00 less 110.06 is 39.94, 26.6 % of the price.
    assert margin_of(15_000, [phase], 100) == Margin(15_000, 11_006)
    assert (Margin(15_000, 11_006).cents, Margin(15_000, 11_006).tenths) == (3_994, 266)
