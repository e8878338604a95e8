"""What every cut plan must keep, replayed cut by cut, and ways to plan that share nothing with ours."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from itertools import pairwise

from tracker.planning.cutplan import CutPlan, Need, Stock
from tracker.planning.cutting.highs import IntegerProgram, minimise


def replay(plan: CutPlan, needs: Sequence[Need], stocks: Sequence[Stock]) -> None:
    """Saw every stick of the plan and count what comes off."""
    kerf, trim = plan.kerf_nm, plan.trim_nm
    longest = max(stock.length_nm for stock in stocks)
    pieces: Counter[tuple[int, str]] = Counter()
    whole: Counter[int] = Counter()
    for stick in plan.sticks:
        assert stick.cuts
        lengths = [cut.length_nm for cut in stick.cuts]
        assert lengths == sorted(lengths, reverse=True)
        lone = len(lengths) == 1 and lengths[0] + trim > longest
        if lengths == [stick.stock.length_nm]:
            left = 0
            whole[lengths[0]] += 1
        else:
            left = stick.stock.length_nm - (0 if lone else trim)
            for length in lengths:
                left -= length
                assert left >= 0, "the stick is over-cut"
                left = max(left - kerf, 0)  # the last cut may run off the end
        assert stick.left_nm == left
        pieces.update((cut.length_nm, cut.what) for cut in stick.cuts)
    wanted: Counter[tuple[int, str]] = Counter()
    uncut: Counter[int] = Counter()
    for need in needs:
        wanted[need.length_nm, need.what] += need.quantity
        uncut[need.length_nm] += need.quantity if need.whole else 0
    assert pieces == wanted
    assert all(whole[length] >= number for length, number in uncut.items())
    for stock, number in Counter(stick.stock for stick in plan.sticks).items():
        assert stock in stocks
        assert stock.limit is None or number <= stock.limit * stocks.count(stock)
    assert plan.cost_e4 == sum(stick.stock.cost_e4 for stick in plan.sticks)
    assert 0 <= plan.bound_e4 <= plan.cost_e4 <= plan.first_e4
    for one, other in pairwise(plan.sticks):
        assert one.stock.length_nm >= other.stock.length_nm


def by_hand(needs: Sequence[Need], stocks: Sequence[Stock], kerf: int, trim: int) -> int:
    """The cost of first-fit decreasing into the longest board to be bought, each stick then as cheap as holds it."""
    bought = [stock for stock in stocks if stock.limit is None]
    longest = max(stock.length_nm for stock in bought)
    bins: list[int] = []
    total = 0
    for length in sorted((need.length_nm for need in needs for _ in range(need.quantity)), reverse=True):
        if any(stock.length_nm == length for stock in bought):
            total += min(stock.cost_e4 for stock in bought if stock.length_nm == length)
            continue
        for index, used in enumerate(bins):
            if used + kerf + length <= longest:
                bins[index] = used + kerf + length
                break
        else:
            bins.append(trim + length)
    return total + sum(min(stock.cost_e4 for stock in bought if stock.length_nm >= used) for used in bins)


def brute_force(
    needs: Sequence[Need], stocks: Sequence[Stock], kerf: int, trim: int, *, boards_first: bool = False
) -> tuple[int, int] | None:
    """Least cost and then boards (or the other way round), over every way to share out the pieces; None if there is none."""
    pieces = sorted(((need.length_nm, need.whole) for need in needs for _ in range(need.quantity)), reverse=True)
    longest = max(stock.length_nm for stock in stocks)
    best: tuple[int, int] | None = None
    number = 0

    def fits(group: list[tuple[int, bool]], stock: Stock) -> bool:
        if len(group) == 1 and group[0][0] == stock.length_nm:
            return True
        if any(must for _, must in group):
            return False
        used = sum(length for length, _ in group) + kerf * (len(group) - 1)
        if len(group) == 1 and used + trim > longest:
            return used <= stock.length_nm
        return used + trim <= stock.length_nm

    def buy(groups: list[list[tuple[int, bool]]], left: list[float], cost: int) -> None:
        nonlocal best
        if not groups:
            found = (number, cost) if boards_first else (cost, number)
            best = found if best is None else min(best, found)
            return
        for k, stock in enumerate(stocks):
            if left[k] > 0 and fits(groups[0], stock):
                left[k] -= 1
                buy(groups[1:], left, cost + stock.cost_e4)
                left[k] += 1

    def share(at: int, groups: list[list[tuple[int, bool]]]) -> None:
        nonlocal number
        if at == len(pieces):
            number = len(groups)
            buy(groups, [math.inf if stock.limit is None else stock.limit for stock in stocks], 0)
            return
        for group in groups:
            group.append(pieces[at])
            if any(fits(group, stock) for stock in stocks):
                share(at + 1, groups)
            group.pop()
        groups.append([pieces[at]])
        share(at + 1, groups)
        groups.pop()

    share(0, [])
    return best


def arc_flow(needs: Sequence[Need], stocks: Sequence[Stock], kerf: int, trim: int, nodes: int = 5_000) -> int | None:
    """The least cost by the arc-flow model, another exact formulation; None when not settled in ``nodes``.

    J. M. Valério de Carvalho, Annals of Operations Research 86 (1999) 629-659 (from memory). A piece as long as a board
    that is not limited may also be that board, uncut.
    """
    demand: Counter[int] = Counter()
    for need in needs:
        demand[need.length_nm + kerf] += need.quantity
    step = math.gcd(*demand)
    weights = sorted((weight // step for weight in demand), reverse=True)
    room = [(stock.length_nm - trim + kerf) // step for stock in stocks]
    # Positions reached by putting longer pieces first, each length no more often than wanted.
    arcs: set[tuple[int, int, int]] = set()
    reached = {0}
    for row, weight in enumerate(weights):
        for start in sorted(reached):
            at = start
            for _ in range(demand[weight * step]):
                if at + weight > max(room):
                    break
                arcs.add((at, at + weight, row))
                at += weight
        reached |= {end for _, end, kind in arcs if kind == row}
    ends = sorted(reached | set(room))
    place = {at: len(weights) + k for k, at in enumerate(ends)}
    arcs |= {(at, after, -1) for at, after in pairwise(ends)}
    columns = sorted(arcs)
    entries = [[(place[start], -1), (place[end], 1), *([(row, 1)] if row >= 0 else [])] for start, end, row in columns]
    costs, tops = [0] * len(columns), [float(sum(demand.values()))] * len(columns)
    for stock, end in zip(stocks, room, strict=True):  # a board: from its end back to the start
        if end > 0:
            entries.append([(place[end], -1), (place[0], 1)])
            costs.append(stock.cost_e4)
            tops.append(float(sum(demand.values()) if stock.limit is None else stock.limit))
    for stock in stocks:
        if stock.length_nm + kerf in demand and trim:
            assert stock.limit is None
            entries.append([(weights.index((stock.length_nm + kerf) // step), 1)])
            costs.append(stock.cost_e4)
            tops.append(float(sum(demand.values())))
    lows = [float(demand[weight * step]) for weight in weights] + [0.0] * len(ends)
    highs = [math.inf] * len(weights) + [0.0] * len(ends)
    found = minimise(IntegerProgram(costs, tops, entries, lows, highs), nodes)
    if found.columns is None or not found.settled:
        return None
    return sum(cost * number for cost, number in zip(costs, found.columns, strict=True))
