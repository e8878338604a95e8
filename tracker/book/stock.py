"""What a job needs against what it has: needs, deliveries and money, from a JobState. Pure."""

from __future__ import annotations

from collections import defaultdict
from datetime import timedelta

from tracker.book.state import JobState, LotState
from tracker.book.views import DeliveryView, LotView, NeedView
from tracker.trade.money import line_total
from tracker.trade.takeoff import Line


def needs_of(state: JobState) -> tuple[NeedView, ...]:
    """Each item and phase of the take-off: need, covered by lots (earliest phase first), left to buy.

    What a signed-off phase took is set aside first; nothing is left to buy for it, so it is not listed.
    """
    lots: defaultdict[str, list[LotState]] = defaultdict(list)
    for lot in state.lots:
        lots[lot.item].append(lot)
    lines: defaultdict[tuple[str, str], list[Line]] = defaultdict(list)
    for line in state.material:
        if line.phase in state.plan:
            lines[line.item, line.phase].append(line)
    pools = {item: _pool(found) for item, found in lots.items()}
    out: list[NeedView] = []
    for (item, phase), group in sorted(lines.items(), key=lambda pair: (state.plan[pair[0][1]].start, pair[0])):
        need = sum(line.quantity for line in group)
        pool = pools.setdefault(item, [0, 0, 0])
        used, on_hand, on_order = (_draw(pool, index, need_left) for index, need_left in _shares(pool, need))
        to_buy = need - used - on_hand - on_order
        if state.signed(phase):
            continue
        price = state.file.prices.get(item)
        needed_on = state.plan[phase].start
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
                cost_cents=None if price is None else line_total(to_buy, price),
                working=tuple(text for line in group for text in line.working),
                late=to_buy > 0 and needed_on <= state.today + timedelta(days=1),
            )
        )
    return tuple(out)


def _pool(lots: list[LotState]) -> list[int]:
    """Used, on hand and still to come over the lots of one item."""
    folds = [lot.fold for lot in lots]
    return [
        sum(fold.used for fold in folds),
        sum(fold.on_hand for fold in folds),
        sum(max(fold.ordered - fold.received, 0) for fold in folds),
    ]


def _shares(pool: list[int], need: int) -> list[tuple[int, int]]:
    shares: list[tuple[int, int]] = []
    left = need
    for index, there in enumerate(pool):
        shares.append((index, left))
        left -= min(there, left)
    return shares


def _draw(pool: list[int], index: int, wanted: int) -> int:
    taken = min(pool[index], wanted)
    pool[index] -= taken
    return taken


def deliveries_of(state: JobState) -> tuple[DeliveryView, ...]:
    """Lots with pieces still to come, the earliest promise first, those without a promise last."""
    units = units_of(state)
    coming = [
        DeliveryView(
            state.facts.code, lot.code, lot.item, units.get(lot.item, "piece"), lot.supplier,
            lot.fold.ordered - lot.fold.received, lot.fold.promised,
        )
        for lot in state.lots
        if lot.fold.ordered > lot.fold.received
    ]  # fmt: skip
    return tuple(sorted(coming, key=lambda d: (d.promised is None, d.promised or state.today, d.lot)))


def units_of(state: JobState) -> dict[str, str]:
    """The unit each item of the take-off is counted in."""
    return {line.item: line.unit for line in state.material}


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
                unit=line.unit if line else "piece",
                phase=line.phase if line else "",
                ordered=fold.ordered,
                received=fold.received,
                used=fold.used,
                returned=fold.returned,
                scrapped=fold.scrapped,
                promised=fold.promised,
                use_category=lot.use_category,
                dry=lot.dry,
            )
        )
    return tuple(out)


def money_of(state: JobState, needs: tuple[NeedView, ...]) -> tuple[int, int]:
    """Cents bought and cents needed, over the items that have a price."""
    bought = needed = 0
    for need in needs:
        price = state.file.prices.get(need.item)
        if price is not None:
            needed += line_total(need.need, price)
            bought += line_total(need.need - need.to_buy, price)
    return bought, needed
