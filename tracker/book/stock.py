"""What a job needs against what it has: needs, deliveries and money, from a JobState. Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import groupby

from tracker.book.pooling import same_kind, with_shares
from tracker.book.state import JobState
from tracker.book.views import Bought, DeliveryView, LotView, NeedView
from tracker.planning.material import Held, Kind, fits, likeness
from tracker.planning.packs import packs_cents
from tracker.planning.pricing import Offer, stale
from tracker.trade.material import stock_key, stock_size
from tracker.trade.takeoff import Line, stock_of


@dataclass(frozen=True, slots=True)
class Share:
    """What one phase needs of one item of one kind, and its share of the pieces used, fit on hand and to come."""

    item: str
    phase: str
    kind: Kind
    lines: tuple[Line, ...]
    need: int
    used: int
    on_hand: int
    on_order: int

    @property
    def unit(self) -> str:
        """What it is counted in."""
        return self.lines[0].unit


def shares_of(state: JobState) -> tuple[Share, ...]:
    """Each item and phase of the take-off with its share of the lots, the earliest phase first.

    A signed-off phase whose sign-off booked what it used took just that; of others the take-off is set aside. Pieces used
    before, which nobody booked to a phase, count for the earliest phases that need some.
    """
    lines: defaultdict[tuple[str, str, Kind], list[Line]] = defaultdict(list)
    for line in state.material:
        if line.phase in state.plan:
            lines[line.phase, line.item, (line.wood, line.use_category)].append(line)
    pools = _pools(state, by_phase=True)
    out: list[Share] = []
    for (phase, item, kind), group in sorted(
        lines.items(), key=lambda pair: (state.plan[pair[0][0]].start, pair[0][1:], pair[0][0])
    ):
        need = sum(line.quantity for line in group)
        fit = _fitting(pools, item, kind)
        mine = sum(pool.booked.pop(phase, 0) for pool in fit)
        if state.signed(phase) and state.phase_folds[phase].booked:
            used, on_hand, on_order = mine + _draw(fit, 0, max(need - mine, 0)), 0, 0
            need = used
        else:
            left = max(need - mine, 0)
            used, on_hand, on_order = _drawn(fit, left)
            used += need - left
        out.append(Share(item, phase, kind, tuple(group), need, used, on_hand, on_order))
    return tuple(out)


def needs_of(state: JobState) -> tuple[NeedView, ...]:
    """Each item and phase of the take-off: need, covered by lots (earliest phase first), left to buy.

    What a signed-off phase took is set aside first; nothing is left to buy for it, so it is not listed.
    """
    out: list[NeedView] = []
    for share in shares_of(state):
        item, phase, group, need = share.item, share.phase, share.lines, share.need
        used, on_hand, on_order = share.used, share.on_hand, share.on_order
        to_buy = need - used - on_hand - on_order
        if state.signed(phase):
            continue
        wood, use = share.kind
        offer = state.prices.best(item, use, wood)
        needed_on = state.plan[phase].start
        order_by = order_day(state, needed_on, offer)
        out.append(
            NeedView(
                job=state.facts.code,
                item=item,
                title=group[0].title,
                unit=group[0].unit,
                phase=phase,
                needed_on=needed_on,
                need=need,
                used=used,
                on_hand=on_hand,
                on_order=on_order,
                to_buy=to_buy,
                cost_cents=None,
                working=tuple(text for line in group for text in line.working),
                late=to_buy > 0 and order_by < state.today,
                supplier=offer.supplier if offer else "",
                pack=offer.pack if offer else 1,
                order_by=order_by,
                stale=offer is not None and stale(offer, state.today, state.file.spec.rules.figure("price_days")),
                use_category=use,
                wood=wood,
                proven=(_size(item), wood, use) not in state.planned.unproven,
                price_e4=offer.price_e4 if offer else None,
            )
        )
    return with_shares(out)


def unrecorded(state: JobState) -> tuple[Line, ...]:
    """What phases signed off needed and no lot accounts for: the lines of the material list with the pieces that lack.

    Once a phase's use of an item (or of any board of its size) is recorded, that is what it took, and nothing of it lacks.
    """
    pools = _pools(state)
    lacking: list[tuple[Line, int]] = []
    settled: set[tuple[str, str]] = set()
    for line in sorted(
        state.material, key=lambda line: state.plan[line.phase].start if line.phase in state.plan else date.max
    ):
        fit = _fitting(pools, line.item, (line.wood, line.use_category))
        taken = _drawn(fit, line.quantity)
        if taken[0]:
            settled.add((line.phase, _size(line.item)))
        if state.signed(line.phase) and (left := line.quantity - sum(taken)):
            lacking.append((line, left))
    return tuple(
        replace(line, quantity=left) for line, left in lacking if (line.phase, _size(line.item)) not in settled
    )


def _size(item: str) -> str:
    """The size of a stock board; the item itself for goods."""
    found = stock_size(item)
    return found[0] if found else item


def order_day(state: JobState, needed_on: date, offer: Offer | None) -> date:
    """The last working day to order what is needed on a day: less the supplier's lead time and the house margin."""
    lead = state.prices.terms_of(offer.supplier).lead_days if offer else 0
    return state.calendar.shift(needed_on, -(lead + state.file.spec.rules.figure("order_margin")))


@dataclass(slots=True)
class _Pool:
    """What a lot counts as, and what is not given to a phase yet: used, fit to be used and still to come; and how many used
    pieces were booked to a phase.
    """

    held: Held
    pieces: list[int]
    booked: dict[str, int] = field(default_factory=dict)


def _pools(state: JobState, *, by_phase: bool = False) -> list[_Pool]:
    """The lots of a job; with ``by_phase`` the pieces booked to a phase are kept for it."""
    pools: list[_Pool] = []
    for lot in state.lots:
        booked: dict[str, int] = {}
        for phase, number in lot.fold.used_for if by_phase else ():
            booked[phase] = booked.get(phase, 0) + number
        fold = lot.fold
        pieces = [fold.used - sum(booked.values()), fold.usable, fold.on_order]
        pools.append(_Pool(state.held_as(lot), pieces, booked))
    return pools


def _fitting(pools: Sequence[_Pool], item: str, kind: Kind) -> list[_Pool]:
    """The lots that may serve as an item of a kind, those of its own kind first."""
    mine = [pool for pool in pools if pool.held[0] == item and fits(pool.held, kind)]
    return sorted(mine, key=lambda pool: likeness(kind, pool.held))


def _draw(pools: Sequence[_Pool], index: int, wanted: int) -> int:
    """Take pieces of one sort out of what there is; how many there were."""
    taken = 0
    for pool in pools:
        got = min(pool.pieces[index], wanted - taken)
        pool.pieces[index] -= got
        taken += got
    return taken


def _drawn(pools: Sequence[_Pool], need: int) -> tuple[int, int, int]:
    """Take a need out of what there is: used, fit to be used, to come."""
    used = _draw(pools, 0, need)
    on_hand = _draw(pools, 1, need - used)
    return used, on_hand, _draw(pools, 2, need - used - on_hand)


def deliveries_of(state: JobState) -> tuple[DeliveryView, ...]:
    """Lots with pieces still to come, the earliest promise first, those without a promise last."""
    units = units_of(state)
    coming = [
        DeliveryView(
            state.facts.code, lot.code, lot.item, units.get(lot.item, "piece"), lot.supplier,
            lot.fold.on_order, lot.fold.promised,
        )
        for lot in state.lots
        if lot.fold.on_order
    ]  # fmt: skip
    return tuple(sorted(coming, key=lambda d: (d.promised is None, d.promised or state.today, d.lot)))


def units_of(state: JobState) -> dict[str, str]:
    """Every item the take-off can be bought as, boards in all their stock lengths, and the unit it is counted in."""
    units: dict[str, str] = {}
    for line in (*state.take_off[0], *state.take_off[1]):
        if line.pieces:
            units |= {stock_key(line.item, nm): "board" for nm in stock_of(line.item)}
        else:
            units[line.item] = line.unit
    return units


def lots_of(state: JobState) -> tuple[LotView, ...]:
    """The job's lots, with the phase that needs each item first."""
    lines = {line.item: line for line in reversed(state.material)}
    out: list[LotView] = []
    for lot in state.lots:
        line = lines.get(lot.item)
        fold = lot.fold
        out.append(
            LotView(
                code=lot.code,
                item=lot.item,
                supplier=lot.supplier,
                unit=line.unit if line else "board" if stock_size(lot.item) else "piece",
                phase=line.phase if line else "",
                ordered=fold.ordered,
                received=fold.received,
                used=fold.used,
                returned=fold.returned,
                scrapped=fold.scrapped,
                found=fold.found,
                moved_out=fold.moved_out,
                canceled=fold.canceled,
                on_hand=fold.on_hand,
                on_order=fold.on_order,
                promised=fold.promised,
                use_category=lot.use_category,
                dry=lot.dry,
                unfit=lot.unfit,
                culls=fold.culls,
                wood=lot.wood,
            )
        )
    return tuple(out)


def money_of(needs: Sequence[NeedView]) -> Bought:
    """What of the material need not be paid any more, in whole packs, and what is needed; goods without a price are in
    neither sum.
    """
    needed = left = 0
    there: dict[str, None] = {}
    lacking: dict[str, None] = {}
    for _, group in groupby(sorted(needs, key=same_kind), key=same_kind):
        alike = list(group)
        first = alike[0]
        if first.price_e4 is not None:
            needed += packs_cents(sum(need.need for need in alike), first.price_e4, first.pack)
            left += packs_cents(sum(need.to_buy for need in alike), first.price_e4, first.pack)
            continue
        if any(need.need > need.to_buy for need in alike):
            there[first.item] = None
        if any(need.to_buy for need in alike):
            lacking[first.item] = None
    return Bought(needed - left, needed, tuple(there), tuple(lacking))
