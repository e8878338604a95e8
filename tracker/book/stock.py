"""What a job needs against what it has: needs, deliveries and money, from a JobState. Pure."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, replace
from datetime import date

from tracker.book.state import JobState, LotState
from tracker.book.views import Bought, DeliveryView, LotView, NeedView
from tracker.planning.pricing import Offer, stale
from tracker.trade.material import stock_key, stock_size
from tracker.trade.money import line_total
from tracker.trade.takeoff import Line, stock_of


@dataclass(frozen=True, slots=True)
class Share:
    """What one phase needs of one item, and its share of the pieces used, fit on hand and to come."""

    item: str
    phase: str
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
    lots = _lots_by_item(state)
    lines: defaultdict[tuple[str, str], list[Line]] = defaultdict(list)
    for line in state.material:
        if line.phase in state.plan:
            lines[line.item, line.phase].append(line)
    pools = {item: _pool(found) for item, found in lots.items()}
    tagged: Counter[tuple[str, str]] = Counter()
    for lot in state.lots:
        for phase, number in lot.fold.used_for:
            tagged[lot.item, phase] += number
            pools[lot.item][0] -= number
    out: list[Share] = []
    for (item, phase), group in sorted(lines.items(), key=lambda pair: (state.plan[pair[0][1]].start, pair[0])):
        need, mine = sum(line.quantity for line in group), tagged[item, phase]
        pool = pools.setdefault(item, [0, 0, 0])
        if state.signed(phase) and state.phase_folds[phase].booked:
            used, on_hand, on_order = mine + _draw(pool, 0, max(need - mine, 0)), 0, 0
            need = used
        else:
            left = max(need - mine, 0)
            used, on_hand, on_order = (_draw(pool, index, rest) for index, rest in _shares(pool, left))
            used += need - left
        out.append(Share(item, phase, tuple(group), need, used, on_hand, on_order))
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
        use = group[0].use_category
        offer = state.prices.best(item, use, group[0].wood)
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
                cost_cents=None if offer is None else offer.cost_cents(to_buy),
                working=tuple(text for line in group for text in line.working),
                late=to_buy > 0 and order_by < state.today,
                supplier=offer.supplier if offer else "",
                pack=offer.pack if offer else 1,
                order_by=order_by,
                stale=offer is not None and stale(offer, state.today, state.file.spec.rules.figure("price_days")),
                use_category=use,
                wood=group[0].wood,
                proven=(_size(item), group[0].wood) not in state.planned.unproven,
            )
        )
    return tuple(out)


def unrecorded(state: JobState) -> tuple[Line, ...]:
    """What phases signed off needed and no lot accounts for: the lines of the material list with the pieces that lack.

    Once a phase's use of an item (or of any board of its size) is recorded, that is what it took, and nothing of it lacks.
    """
    pools = {item: _pool(found) for item, found in _lots_by_item(state).items()}
    lacking: list[tuple[Line, int]] = []
    settled: set[tuple[str, str]] = set()
    for line in sorted(
        state.material, key=lambda line: state.plan[line.phase].start if line.phase in state.plan else date.max
    ):
        pool = pools.setdefault(line.item, [0, 0, 0])
        used, on_hand, on_order = (_draw(pool, index, left) for index, left in _shares(pool, line.quantity))
        if used:
            settled.add((line.phase, _size(line.item)))
        if state.signed(line.phase) and (left := line.quantity - used - on_hand - on_order):
            lacking.append((line, left))
    return tuple(
        replace(line, quantity=left) for line, left in lacking if (line.phase, _size(line.item)) not in settled
    )


def _lots_by_item(state: JobState) -> dict[str, list[LotState]]:
    lots: defaultdict[str, list[LotState]] = defaultdict(list)
    for lot in state.lots:
        lots[lot.item].append(lot)
    return lots


def _size(item: str) -> str:
    """The size of a stock board; the item itself for goods."""
    found = stock_size(item)
    return found[0] if found else item


def order_day(state: JobState, needed_on: date, offer: Offer | None) -> date:
    """The last working day to order what is needed on a day: less the supplier's lead time and the house margin."""
    lead = state.prices.terms_of(offer.supplier).lead_days if offer else 0
    return state.calendar.shift(needed_on, -(lead + state.file.spec.rules.figure("order_margin")))


def _pool(lots: list[LotState]) -> list[int]:
    """Used, fit to be used and still to come over the lots of one item."""
    folds = [lot.fold for lot in lots]
    return [
        sum(fold.used for fold in folds),
        sum(fold.usable for fold in folds),
        sum(fold.on_order for fold in folds),
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
            )
        )
    return tuple(out)


def money_of(state: JobState, needs: tuple[NeedView, ...]) -> Bought:
    """What of the material is bought and what is needed; goods without a price are in neither sum."""
    bought = needed = 0
    there: dict[str, None] = {}
    lacking: dict[str, None] = {}
    for need in needs:
        if (offer := state.prices.best(need.item, need.use_category, need.wood)) is not None:
            needed += line_total(need.need, offer.price_e4)
            bought += line_total(need.need - need.to_buy, offer.price_e4)
            continue
        if need.need > need.to_buy:
            there[need.item] = None
        if need.to_buy:
            lacking[need.item] = None
    return Bought(bought, needed, tuple(there), tuple(lacking))
