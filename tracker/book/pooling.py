"""Needs bought together: what is of one kind and one price goes on one line and into whole packs once. Pure.

Boards and goods are pooled only when nothing tells them apart: item, wood, use category, supplier, price and pack. So a
job's own price makes a line of its own unless the others pay the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from tracker.book.views import NeedView
from tracker.planning.cents import share_out
from tracker.planning.packs import packs, packs_cents

LATE, TODAY, SOON, LATER = URGENCIES = ("late", "order today", "pick up tomorrow", "can wait")


@dataclass(frozen=True, slots=True)
class Pooled:
    """Needs of one kind and one urgency: what is lacking of each, how many come in whole packs, and what they cost.

    Of a pack that is opened for what presses, the rest goes to what comes later, so a part may be some of a need.
    """

    urgency: str
    needs: tuple[NeedView, ...]
    quantities: tuple[int, ...]
    packed: int
    cost_cents: int | None

    @property
    def quantity(self) -> int:
        """What is lacking."""
        return sum(self.quantities)


def same_kind(need: NeedView) -> tuple[str, str, str, str, int, int]:
    """What must be alike for needs to be bought as one."""
    price = -1 if need.price_e4 is None else need.price_e4
    return need.supplier, need.item, need.wood, need.use_category, price, need.pack


def pooled(needs: Iterable[tuple[NeedView, str]]) -> tuple[Pooled, ...]:
    """What is left to buy of needs, each with its urgency: one group for each kind and urgency, what presses first."""
    open_ones = sorted(
        ((need, urgency) for need, urgency in needs if need.to_buy),
        key=lambda pair: (
            same_kind(pair[0]),
            URGENCIES.index(pair[1]),
            pair[0].order_by,
            pair[0].needed_on,
            pair[0].job,
            pair[0].phase,
        ),
    )
    out: list[Pooled] = []
    for _, group in groupby(open_ones, key=lambda pair: same_kind(pair[0])):
        out += _lines(list(group))
    return tuple(out)


def _lines(group: Sequence[tuple[NeedView, str]]) -> list[Pooled]:
    first = group[0][0]
    lines: list[tuple[str, list[tuple[NeedView, int]], int]] = []
    spare = 0
    for urgency, some in groupby(group, key=lambda pair: pair[1]):
        parts: list[tuple[NeedView, int]] = []
        for need, _ in some:
            from_open_pack = min(spare, need.to_buy)
            if from_open_pack:
                lines[-1][1].append((need, from_open_pack))
                spare -= from_open_pack
            if need.to_buy > from_open_pack:
                parts.append((need, need.to_buy - from_open_pack))
        if parts:
            lacking = sum(number for _, number in parts)
            packed = packs(lacking, first.pack)
            spare = packed - lacking
            lines.append((urgency, parts, packed))
    cents: Sequence[int | None] = [None] * len(lines)
    if first.price_e4 is not None:
        whole = packs_cents(sum(packed for _, _, packed in lines), first.price_e4, first.pack)
        cents = share_out(whole, [packed for _, _, packed in lines])
    return [
        Pooled(urgency, tuple(need for need, _ in parts), tuple(number for _, number in parts), packed, cost)
        for (urgency, parts, packed), cost in zip(lines, cents, strict=True)
    ]


def with_shares(needs: Sequence[NeedView]) -> tuple[NeedView, ...]:
    """The needs, each with its share of what all of them together cost in whole packs; the shares add up to the cent."""
    costs: dict[int, int] = {}
    order = sorted(range(len(needs)), key=lambda at: (same_kind(needs[at]), at))
    for _, group in groupby(order, key=lambda at: same_kind(needs[at])):
        ats = list(group)
        first, lacking = needs[ats[0]], [needs[at].to_buy for at in ats]
        if first.price_e4 is not None:
            whole = packs_cents(sum(lacking), first.price_e4, first.pack)
            shares = share_out(whole, lacking) if any(lacking) else [0] * len(ats)
            costs |= dict(zip(ats, shares, strict=True))
    return tuple(replace(need, cost_cents=costs.get(at)) for at, need in enumerate(needs))
