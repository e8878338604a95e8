"""Column generation and the bound it proves.

Gilmore and Gomory, Operations Research 9 (1961) and 11 (1963); the bound from duals that are not quite feasible after
Farley, Operations Research 38 (1990) (all from memory). The duals are rounded to integers before they are priced, so
``Bound`` holds exactly whatever the linear program's arithmetic did.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from tracker.planning.cutting.highs import LinearProgram
from tracker.planning.cutting.knapsack import Knapsack
from tracker.planning.cutting.problem import PLENTY, Column, Limits, Problem

_SLACK = 1 << 11
_BITS = 40
_MISSING = 8
_SEARCH = 20_000

Watch: TypeAlias = "Callable[[], None]"
"""Called now and then; raises to stop."""


@dataclass(frozen=True, slots=True)
class Bound:
    """Integer duals, ``scale`` to one cost unit, that prove a plan costs ``total / scale`` at least.

    ``values`` are of the items; no pattern of a board is worth more than its ``worths``, and those are its ``prices`` at
    most: its cost and what it pays, or is paid, for the limits and cuts it takes part in.
    """

    values: tuple[int, ...]
    worths: tuple[int, ...]
    prices: tuple[int, ...]
    total: int
    scale: int

    @property
    def units(self) -> int:
        """The bound in whole cost units."""
        return max(-(-self.total // self.scale), 0)


@dataclass(frozen=True, slots=True)
class Relaxed:
    """An optimal linear plan: how often each column of the pool is used, and the bound it proves."""

    uses: list[float]
    bound: Bound


@dataclass(frozen=True, slots=True)
class Cut:
    """What every whole plan keeps: the numbers of boards, each times its ``share``, add up to ``least`` at least."""

    shares: tuple[int, ...]
    least: int


class Generation:
    """The growing linear program of a problem; ``pool`` holds its columns in order.

    A piece may also be missing, at a cost above any board's, and a board may have nothing cut from it: so only limits
    that no numbers of boards keep to leave the program without a solution.
    """

    def __init__(self, problem: Problem, start: Iterable[Column], watch: Watch, several: int) -> None:
        self.problem = problem
        self.pool: list[Column] = []
        self.cuts: list[Cut] = []
        self._known: set[Column] = set()
        self._watch = watch
        self._several = several
        dearest = max(board.cost for board in problem.boards) or 1
        self.scale = 1 << max(_BITS - dearest.bit_length(), 4)
        self._lp = LinearProgram(*self._rows(problem.demand, problem.limits, cuts=True))
        missing = dearest * _MISSING
        self._lp.add([(missing, [(j, 1)]) for j in range(len(problem.items))])
        self.add([*(Column(b, ()) for b in range(len(problem.boards))), *problem.alone, *start])

    def _rows(self, demand: Sequence[int], limits: Limits, *, cuts: bool) -> tuple[list[float], list[float]]:
        """Limits of the rows: items, boards of each kind, boards in all, cuts."""
        lows: list[float] = [*demand, *limits.low, limits.least, *(cut.least if cuts else 0 for cut in self.cuts)]
        highs = [math.inf if high >= PLENTY // 2 else high for high in (*limits.high, limits.most)]
        return lows, [*(math.inf for _ in demand), *highs, *(math.inf for _ in self.cuts)]

    def cut(self, cut: Cut) -> None:
        """Keep the linear plans to a cut from now on."""
        items = len(self.problem.items)
        self.cuts.append(cut)
        self._lp.add_row(cut.least, [(items + k, cut.shares[column.board]) for k, column in enumerate(self.pool)])

    def add(self, columns: Iterable[Column]) -> int:
        """Add the columns not yet in the pool; returns how many were new."""
        new = [column for column in dict.fromkeys(columns) if column not in self._known]
        self._known.update(new)
        self.pool += new
        items, kinds = len(self.problem.items), len(self.problem.boards)
        first_cut = items + kinds + 1
        for board, held in new:
            rows = [*held, (items + board, 1), (items + kinds, 1)]
            rows += [(first_cut + k, cut.shares[board]) for k, cut in enumerate(self.cuts) if cut.shares[board]]
            self._lp.add([(self.problem.boards[board].cost, rows)])
        return len(new)

    def allow(self, allowed: Sequence[bool]) -> None:
        """Let only these columns of the pool be used."""
        self._lp.set_allowed([*(True for _ in self.problem.items), *allowed])

    def relax(self, demand: Sequence[int], limits: Limits, enough: int, *, cuts: bool = True) -> Relaxed | None:
        """Price columns in until none is missing or the bound reaches ``enough`` units.

        None when no numbers of boards are within the limits. Without ``cuts`` the linear plan need not keep to them: they hold for whole plans, not for the rest of one.
        """
        self._lp.set_rows(*self._rows(demand, limits, cuts=cuts))
        items, kinds = len(demand), len(limits.high)
        best: Bound | None = None
        while True:
            self._watch()
            solved = self._lp.solve()
            if solved is None:
                return None
            uses, duals = solved
            values = [max(math.floor(dual * self.scale), 0) for dual in duals[:items]]
            pays = [math.ceil(-dual * self.scale) for dual in duals[items:]]
            for row, high in enumerate((*limits.high, limits.most)):
                if high >= PLENTY // 2:
                    pays[row] = min(pays[row], 0)
            for row in range(kinds + 1, len(pays)):
                pays[row] = min(pays[row], 0) if cuts else 0
            new, bound = self._price(values, pays, demand, limits)
            best = bound if best is None or bound.total > best.total else best
            if best.units >= enough or not self.add(new):
                return Relaxed(uses[items:], best)

    def _price(
        self, values: list[int], pays: list[int], demand: Sequence[int], limits: Limits
    ) -> tuple[list[Column], Bound]:
        """Columns worth more than their board's price, and the bound that these duals prove."""
        sack = Knapsack(self.problem, values, demand)
        kinds = len(self.problem.boards)
        new: list[Column] = []
        worths: list[int] = []
        prices: list[int] = []
        for b, board in enumerate(self.problem.boards):
            shared = sum(cut.shares[b] * pay for cut, pay in zip(self.cuts, pays[kinds + 1 :], strict=True))
            price = board.cost * self.scale + pays[b] + pays[kinds] + shared
            over, worth = price + _SLACK, sack.worth(b)
            if worth > over and limits.high[b] > 0:
                columns = sack.best(b, over, self._several)
                if not columns:  # wide cells promised more than there is
                    columns, complete = sack.all_over(b, over + 1, 1, _SEARCH)
                    worth = over if complete and not columns else worth
                new += columns
            worths.append(worth)
            prices.append(price)
        for lone in self.problem.alone:
            worths[lone.board] = max(worths[lone.board], values[lone.items[0][0]])
        return new, self._bound(values, pays, worths, prices, demand, limits)

    def _bound(
        self,
        values: list[int],
        pays: list[int],
        worths: list[int],
        prices: list[int],
        demand: Sequence[int],
        limits: Limits,
    ) -> Bound:
        """Scale the values down until no pattern is worth more than its board's price.

        A board of which there are only so many may instead pay more for its limit.
        """
        above, below = 1, 1
        for worth, price, high in zip(worths, prices, limits.high, strict=True):
            if high >= PLENTY // 2 and worth * above > max(price, 0) * below:
                above, below = max(price, 0), worth
        values = [value * above // below for value in values]
        worths = [-(-worth * above // below) for worth in worths]
        pays, prices = list(pays), list(prices)
        for b, high in enumerate(limits.high):
            if high < PLENTY // 2 and worths[b] > prices[b]:
                pays[b] += worths[b] - prices[b]
                prices[b] = worths[b]
        total = sum(value * number for value, number in zip(values, demand, strict=True))
        spans = [*zip(limits.low, limits.high, strict=True), (limits.least, limits.most)]
        total -= sum(max(pay * low, pay * high) for pay, (low, high) in zip(pays, spans, strict=False))
        total -= sum(pay * cut.least for pay, cut in zip(pays[len(spans) :], self.cuts, strict=True))
        return Bound(tuple(values), tuple(worths), tuple(prices), total, self.scale)
