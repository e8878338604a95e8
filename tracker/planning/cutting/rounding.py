"""Cuts on the numbers of boards, from any values of the items.

The pieces' worth is never more than what the boards can hold of it: sum of worth(b) x number(b) >= worth of the demand.
Divided and rounded up this still holds for whole numbers (Chvátal-Gomory rounding). It is what a framer knows: 163 ft of
pieces from boards of even feet take 164 ft.
"""

from __future__ import annotations

from collections.abc import Sequence

from tracker.planning.cutting.columns import Cut
from tracker.planning.cutting.knapsack import Knapsack
from tracker.planning.cutting.problem import Problem

_PARTS = 40
_LEAST = 1e-4


def by_length(problem: Problem) -> tuple[int, tuple[int, ...]]:
    """The weight of all pieces, and the most that one board of each kind can hold of it."""
    weights = [0 if item.whole else item.weight for item in problem.items]
    sack = Knapsack(problem, [weight // problem.cell for weight in weights], problem.demand)
    total = sum(weight // problem.cell * number for weight, number in zip(weights, problem.demand, strict=True))
    worths = [sack.worth(b) for b in range(len(problem.boards))]
    for column in problem.alone:
        worths[column.board] = max(worths[column.board], weights[column.items[0][0]] // problem.cell)
    return total, tuple(worths)


def best_cut(total: int, worths: Sequence[int], numbers: Sequence[float]) -> Cut | None:
    """The rounding that the linear ``numbers`` of boards break most, in proportion; None when they break none."""
    best: tuple[float, Cut] | None = None
    for unit in sorted(set(worths) - {0}):
        for parts in range(1, _PARTS + 1):
            shares = tuple(-(-worth * parts // unit) for worth in worths)
            least = -(-total * parts // unit)
            kept = sum(share * number for share, number in zip(shares, numbers, strict=False))
            broken = (least - kept) / least if least else 0.0
            if broken > _LEAST and (best is None or broken > best[0] + 1e-9):
                best = (broken, Cut(shares, least))
    return best[1] if best else None
