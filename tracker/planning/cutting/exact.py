"""The proof: every pattern that a cheaper plan could use, and the best whole plan made of them.

With integer duals that prove ``bound``, a plan of cost z uses only patterns whose reduced costs add up to z - bound at
most. Listing all of those and choosing among them is therefore exact (reduced-cost fixing on patterns).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tracker.planning.cutting.columns import Bound, Cut
from tracker.planning.cutting.highs import Entries, Found, IntegerProgram, Watch, minimise
from tracker.planning.cutting.knapsack import Knapsack
from tracker.planning.cutting.problem import PLENTY, Chosen, Column, Limits, Problem

_STEPS = 40


@dataclass(frozen=True, slots=True)
class Patterns:
    """Patterns with their reduced costs, and whether these are all within the gap asked for."""

    columns: tuple[Column, ...]
    reduced: tuple[int, ...]
    complete: bool


def patterns_within(problem: Problem, bound: Bound, limits: Limits, gap: int, limit: int) -> Patterns:
    """Every maximal pattern whose reduced cost is ``gap`` at most, in the bound's scale; up to ``limit`` of them."""
    sack = Knapsack(problem, bound.values, problem.demand)
    prices = bound.prices
    columns = [
        column
        for column in problem.alone
        if limits.high[column.board] > 0 and prices[column.board] - bound.values[column.items[0][0]] <= gap
    ]
    complete = True
    for b, price in enumerate(prices):
        if not complete:
            break
        if limits.high[b] > 0 and sack.worth(b) >= price - gap:
            found, complete = sack.all_over(b, price - gap, limit - len(columns), _STEPS * limit)
            columns += found
    reduced = [prices[column.board] - sum(bound.values[j] * number for j, number in column.items) for column in columns]
    return Patterns(tuple(columns), tuple(reduced), complete)


class Master:
    """The integer program over a set of columns: rows of demand, of boards of each kind and in all, and of cost.

    ``tops`` may limit how often a column is used; ``cuts`` are kept to besides.
    """

    def __init__(
        self,
        problem: Problem,
        columns: Sequence[Column],
        tops: Sequence[int] | None = None,
        cuts: Sequence[Cut] = (),
    ) -> None:
        self.problem = problem
        self.cuts = cuts
        self.columns = columns
        items = len(problem.items)
        self.total_row = items + len(problem.boards)
        self.cost_row = self.total_row + 1
        self.costs = [problem.boards[column.board].cost for column in columns]
        self.entries: list[Entries] = [
            [
                *column.items,
                (items + column.board, 1),
                (self.total_row, 1),
                *([(self.cost_row, cost)] if cost else []),
                *((self.cost_row + 1 + k, cut.shares[column.board]) for k, cut in enumerate(cuts)),
            ]
            for column, cost in zip(columns, self.costs, strict=True)
        ]
        self.tops = [
            min(
                problem.boards[column.board].limit,
                max(-(-problem.demand[j] // number) for j, number in column.items),
                *([] if tops is None else [tops[k]]),
            )
            for k, column in enumerate(columns)
        ]

    def rows(self, limits: Limits, cost: tuple[int, int]) -> tuple[list[float], list[float]]:
        """Row limits for boards within ``limits`` and a cost within ``cost``."""
        lows: list[float] = [
            *self.problem.demand,
            *limits.low,
            limits.least,
            cost[0],
            *(cut.least for cut in self.cuts),
        ]
        highs = [math.inf if high >= PLENTY // 2 else high for high in (*limits.high, limits.most)]
        return lows, [*(math.inf for _ in self.problem.demand), *highs, cost[1], *(math.inf for _ in self.cuts)]

    def cheapest(
        self, limits: Limits, low: int, high: int, nodes: int, watch: Watch | None
    ) -> tuple[Chosen | None, bool]:
        """The cheapest choice that costs ``low`` to ``high``, if any was found; and whether that is settled."""
        if not self.columns:
            return None, True
        lows, highs = self.rows(limits, (low, high))
        found = minimise(IntegerProgram(self.costs, self.tops, self.entries, lows, highs), nodes, watch)
        return self.chosen(found), found.settled

    def chosen(self, found: Found) -> Chosen | None:
        """The columns a solution uses; None when it is no plan after all."""
        if found.columns is None:
            return None
        chosen = [(column, number) for column, number in zip(self.columns, found.columns, strict=False) if number > 0]
        return None if self.problem.uncovered(chosen) else chosen
