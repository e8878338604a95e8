"""A job's cost against its estimate by phase, what it will come to, and the margin that leaves. Pure.

The forecast of a phase: signed off, it is what it has cost (material ordered counts as cost), kind by kind; a kind
nobody recorded anything of counts as estimated, and so does the material that was needed and is on no record. Not signed
off, each kind of cost is the larger of what it has cost and what was estimated: the rest of the estimate is still to be
spent, and what went over it is not got back. Overhead goes on the forecast at the rate of the quote. What has no price is
in no sum: a forecast without it is "at least", a margin "at most".
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from tracker.planning.bounds import NO_GAPS, Gaps, all_gaps
from tracker.planning.cents import ratio_tenths, share_of
from tracker.planning.estimate import Kind

METHOD = (
    "forecast: a phase signed off is what it cost, material on order counted; of its material, labour and equipment, what "
    "nobody recorded stays as estimated until it is recorded; any other phase is, for each of the three, the larger of its "
    "estimate and its cost so far"
)

Costs = Mapping[tuple[str, Kind], int]
"""Cents by phase key and kind."""


@dataclass(frozen=True, slots=True)
class PhaseCost:
    """One phase: estimate, cost so far (received, worked, spent), on order besides, and forecast, in cents.

    ``kinds`` gives (estimate, cost, forecast) by kind. Of a phase signed off, ``not_recorded`` are the kinds nobody recorded
    anything of, and ``lacking_cents`` is what else of the material it needed is on no record, both in the forecast.
    ``not_estimated`` and ``not_paid`` are left out of the estimate and of the cost so far.
    """

    phase: str
    title: str
    signed_off: bool
    estimate_cents: int
    cost_cents: int
    on_order_cents: int
    forecast_cents: int
    kinds: Mapping[Kind, tuple[int, int, int]]
    not_recorded: tuple[Kind, ...] = ()
    lacking_cents: int = 0
    not_estimated: Gaps = NO_GAPS
    not_paid: Gaps = NO_GAPS

    @property
    def no_hours(self) -> bool:
        """Whether it is signed off, was to take labour, and nobody logged any."""
        return Kind.LABOUR in self.not_recorded

    @property
    def gaps(self) -> Gaps:
        """What is left out of its forecast."""
        settled = self.signed_off and Kind.MATERIAL not in self.not_recorded
        return self.not_paid if settled else self.not_paid | self.not_estimated

    @property
    def over_cents(self) -> int:
        """Cents the forecast is over the estimate; negative when under."""
        return self.forecast_cents - self.estimate_cents


@dataclass(frozen=True, slots=True)
class Margin:
    """Price without tax, forecast cost with overhead, and what is left: cents and tenths of a percent of the price.

    With ``gaps`` in the cost, what is left is that at most.
    """

    price_cents: int
    cost_cents: int
    gaps: Gaps = NO_GAPS

    @property
    def cents(self) -> int:
        """Price less cost."""
        return self.price_cents - self.cost_cents

    @property
    def tenths(self) -> int:
        """The margin as a share of the price."""
        return ratio_tenths(self.cents, self.price_cents)


@dataclass(frozen=True, slots=True)
class Records:
    """What is on record of a job's cost: cents by phase and kind, received, worked or spent (``cost``) and on order besides.

    ``noted`` are phases and kinds of which something is recorded, at no cost too. ``lacking`` is, by phase, what was needed
    and is on no record, or on one without a price, as it was estimated; ``left_out`` what of the cost nobody priced at all.
    """

    cost: Costs = field(default_factory=dict)
    on_order: Costs = field(default_factory=dict)
    noted: Collection[tuple[str, Kind]] = ()
    lacking: Mapping[str, int] = field(default_factory=dict)
    left_out: Mapping[str, Gaps] = field(default_factory=dict)


def phase_costs(
    phases: Sequence[tuple[str, str]], signed: Collection[str], estimate: Costs, records: Records,
    not_estimated: Mapping[str, Gaps],
) -> tuple[PhaseCost, ...]:  # fmt: skip
    """Every phase (key and title) that was estimated or has cost something, in the order given.

    ``not_estimated`` is, by phase, what its estimate leaves out.
    """
    every = (
        _phase_cost(key, title, key in signed, estimate, records, not_estimated.get(key, NO_GAPS))
        for key, title in phases
    )
    return tuple(
        phase
        for phase in every
        if any(any(three) for three in phase.kinds.values())
        or phase.on_order_cents
        or phase.gaps
        or phase.not_estimated
    )


def _phase_cost(
    key: str, title: str, signed: bool, estimate: Costs, records: Records, not_estimated: Gaps
) -> PhaseCost:
    kinds: dict[Kind, tuple[int, int, int]] = {}
    not_recorded: list[Kind] = []
    left_out = records.left_out.get(key, NO_GAPS)
    lacking = 0
    for kind in Kind:
        planned, spent = estimate.get((key, kind), 0), records.cost.get((key, kind), 0)
        so_far = spent + records.on_order.get((key, kind), 0)
        forecast = max(planned, so_far)
        if signed and (so_far or (key, kind) in records.noted):
            missing = records.lacking.get(key, 0) if kind is Kind.MATERIAL else 0
            unrated = kind is Kind.LABOUR and left_out.others
            forecast = max(planned, so_far) if unrated else so_far + missing
            lacking += missing
        elif signed and (planned or (kind is Kind.MATERIAL and not_estimated.goods)):
            not_recorded.append(kind)
        kinds[kind] = (planned, spent, forecast)
    ordered = sum(records.on_order.get((key, kind), 0) for kind in Kind)
    sums = [sum(three[n] for three in kinds.values()) for n in range(3)]
    return PhaseCost(
        key, title, signed, sums[0], sums[1], ordered, sums[2], kinds, tuple(not_recorded), lacking, not_estimated, left_out
    )  # fmt: skip


def margin_of(price_cents: int, phases: Sequence[PhaseCost], overhead_tenths: int, besides: Gaps = NO_GAPS) -> Margin:
    """The margin a forecast leaves of a price without tax; ``besides`` is left out of the forecast, of no phase."""
    direct = sum(phase.forecast_cents for phase in phases)
    gaps = besides | all_gaps(phase.gaps for phase in phases)
    return Margin(price_cents, direct + share_of(direct, overhead_tenths), gaps)
