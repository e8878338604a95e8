"""From a linear plan to whole boards: fix what is whole, round one more, price the rest again.

A rounding dive with column generation (Wäscher and Gau, OR Spektrum 18, 1996, compare such rules; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from tracker.planning.cutting.columns import Generation
from tracker.planning.cutting.greedy import quick_plans
from tracker.planning.cutting.problem import Chosen, Column, Limits

_NEARLY = 1e-6


def dive(
    generation: Generation, start: Sequence[float], limits: Limits, best: int, target: int, *, slowly: bool = False
) -> Chosen | None:
    """The best plan cheaper than ``best`` found by rounding ``start`` (uses of the pool) step by step, or None.

    Stops at ``target``. All whole parts are fixed at a time, or ``slowly`` one column at a time, the most used first.
    """
    problem = generation.problem
    rest = list(problem.demand)
    used = [0] * len(problem.boards)
    fixed: Chosen = []
    spent = 0
    uses: Sequence[float] = start
    found: Chosen | None = None
    while True:
        count = len(fixed)
        for column, times in _round(generation.pool, uses, slowly=slowly):
            taken = _take(column, times, rest)
            fixed += taken
            spent += problem.cost(taken)
            used[column.board] += sum(number for _, number in taken)
        left = limits.less(used)
        if len(fixed) == count or not left.possible:
            break
        quick = quick_plans(problem, rest, left.high, left.most, thorough=False) if any(rest) else [[]]
        if quick and spent + problem.cost(quick[0]) < best:
            found = fixed + quick[0]
            best = spent + problem.cost(quick[0])
        if best <= target or not any(rest) or spent >= best:
            break
        generation.add(column for column, _ in (quick[0] if quick else ()))
        generation.allow([all(number <= rest[j] for j, number in column.items) for column in generation.pool])
        relaxed = generation.relax(rest, left, best - spent, cuts=False)
        if relaxed is None or spent + relaxed.bound.units >= best:
            break
        uses = relaxed.uses
    generation.allow([True] * len(generation.pool))
    return found


def _round(pool: Sequence[Column], uses: Sequence[float], *, slowly: bool) -> list[tuple[Column, int]]:
    """The columns to fix next; at least one while any is used."""
    some = [k for k in range(len(uses)) if pool[k].items]
    whole = [(pool[k], math.floor(uses[k] + _NEARLY)) for k in some if uses[k] >= 1 - _NEARLY]
    if whole and not slowly:
        return whole
    k = max(some, key=lambda k: (round(uses[k], 6), -k))
    return [(pool[k], max(math.floor(uses[k] + _NEARLY), 1))]


def _take(column: Column, times: int, rest: list[int]) -> Chosen:
    """Take up to ``times`` boards' pieces off ``rest``, from each board none too many."""
    out: Chosen = []
    while times > 0:
        items = tuple((j, min(number, rest[j])) for j, number in column.items if rest[j])
        if not items:
            break
        at_once = min(times, *(rest[j] // number for j, number in items))
        out.append((Column(column.board, items), at_once))
        for j, number in items:
            rest[j] -= number * at_once
        times -= at_once
    return out
