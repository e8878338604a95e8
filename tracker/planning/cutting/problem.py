"""The cut plan as whole numbers: item weights, board capacities and costs, with nothing rounded away.

A piece weighs its length and one kerf; a board holds its length less the trim, and one kerf, for the last cut needs
none. All weights are divided by their greatest common divisor and the capacities by it, rounded down: exact, since
every sum of weights is a multiple of it. Where that leaves more than ``CELLS`` steps the knapsack tables use
``cell`` steps at a time, which only loosens their bounds; every pattern is still checked in single steps.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple, TypeAlias

from tracker.planning.cutting.model import Need, Stock, keeps_mill_end

CELLS = 30_000
PLENTY = 10**9

Items: TypeAlias = "tuple[tuple[int, int], ...]"
"""Item index and count, by index."""


class Column(NamedTuple):
    """A way to cut a board: which board, and how many of each item."""

    board: int
    items: Items


Chosen: TypeAlias = "list[tuple[Column, int]]"
"""Columns, each with the number of boards cut that way."""


@dataclass(frozen=True, slots=True)
class Item:
    """Pieces of one length; whole ones are not cut and come after all others."""

    length_nm: int
    whole: bool
    weight: int


@dataclass(frozen=True, slots=True)
class Board:
    """Boards of one length and cost; ``limit`` is ``PLENTY`` where there are enough."""

    length_nm: int
    cost_e4: int
    cost: int
    capacity: int
    limit: int


@dataclass(frozen=True, slots=True)
class Limits:
    """How many boards of each kind a plan may and must use, and how many altogether."""

    low: tuple[int, ...]
    high: tuple[int, ...]
    least: int
    most: int

    def less(self, used: Sequence[int]) -> Limits:
        """What is left to be had when ``used`` boards of each kind are taken; nothing more must be used."""
        high = tuple(high - number for high, number in zip(self.high, used, strict=True))
        return Limits((0,) * len(used), high, 0, self.most - sum(used))

    @property
    def possible(self) -> bool:
        """Whether any numbers of boards are within the limits."""
        each = all(low <= high for low, high in zip(self.low, self.high, strict=True))
        return each and max(self.least, sum(self.low)) <= min(self.most, sum(self.high))


@dataclass(frozen=True, slots=True)
class Problem:
    """Items by falling weight, boards by falling length, the demand for each item, and the lone pieces per board.

    ``alone`` holds the columns of one piece that need no room for trim; no other column breaks a capacity.
    ``most`` limits the boards altogether. Costs are in units of ``cost_unit_e4``.
    """

    items: tuple[Item, ...]
    boards: tuple[Board, ...]
    demand: tuple[int, ...]
    cuttable: int
    alone: tuple[Column, ...]
    cell: int
    cost_unit_e4: int
    most: int

    @property
    def limits(self) -> Limits:
        """The limits the plan is asked within."""
        return Limits((0,) * len(self.boards), tuple(board.limit for board in self.boards), 0, self.most)

    def cost(self, chosen: Iterable[tuple[Column, int]]) -> int:
        """What the chosen columns cost, in cost units."""
        return sum(self.boards[column.board].cost * times for column, times in chosen)

    def uncovered(self, chosen: Iterable[tuple[Column, int]]) -> bool:
        """Whether the chosen columns leave a demand unmet or break a limit."""
        short = list(self.demand)
        room = [board.limit for board in self.boards]
        total = 0
        for column, times in chosen:
            room[column.board] -= times
            total += times
            for item, number in column.items:
                short[item] -= number * times
        return any(number > 0 for number in short) or any(number < 0 for number in room) or total > self.most

    def over_cut(self, column: Column) -> bool:
        """Whether a column needs more than its board holds."""
        if column in self.alone:
            return False
        need = sum(self.items[item].weight * number for item, number in column.items)
        whole = any(self.items[item].whole for item, _ in column.items)
        return whole or need > self.boards[column.board].capacity


def pose(needs: Sequence[Need], stocks: Sequence[Stock], kerf_nm: int, trim_nm: int, *, most: int = PLENTY) -> Problem:
    """Return the whole-number problem of checked needs and stocks; their order does not matter."""
    wanted: dict[tuple[bool, int], int] = {}
    for need in needs:
        key = (need.whole, -need.length_nm)
        wanted[key] = wanted.get(key, 0) + need.quantity
    keys = sorted(wanted)
    cuttable = sum(not whole for whole, _ in keys)
    step = math.gcd(*(kerf_nm - minus for whole, minus in keys if not whole)) or 1
    limits: dict[tuple[int, int], int] = {}
    for stock in stocks:
        place = (-stock.length_nm, stock.cost_e4)
        limits[place] = min(limits.get(place, 0) + (PLENTY if stock.limit is None else stock.limit), PLENTY)
    unit = math.gcd(*(cost for _, cost in limits)) or 1
    boards = tuple(
        Board(-minus, cost, cost // unit, max((-minus - trim_nm + kerf_nm) // step, 0), limits[minus, cost])
        for minus, cost in sorted(limits)
    )
    items = tuple(Item(-minus, whole, (kerf_nm - minus) // step) for whole, minus in keys)
    longest = boards[0].length_nm
    alone = tuple(
        Column(b, ((i, 1),))
        for b, board in enumerate(boards)
        for i, item in enumerate(items)
        if (
            item.length_nm == board.length_nm
            if item.whole
            else item.weight > board.capacity and keeps_mill_end(item.length_nm, board.length_nm, trim_nm, longest)
        )
    )
    return Problem(
        items=items,
        boards=boards,
        demand=tuple(wanted[key] for key in keys),
        cuttable=cuttable,
        alone=alone,
        cell=-(-boards[0].capacity // CELLS) or 1,
        cost_unit_e4=unit,
        most=most,
    )


def countable(problem: Problem) -> Problem:
    """The same problem with every board costing one: fewest boards."""
    boards = tuple(replace(board, cost=1) for board in problem.boards)
    return replace(problem, boards=boards)
