"""One bounded-knapsack table that prices the patterns of every board length at once, in whole numbers.

``values`` are the duals of the items as integers; a table row ``j`` holds, for each capacity, the most that the items
from ``j`` on are worth in it. Bounded knapsack by binary splitting (Kellerer, Pferschy, Pisinger, Knapsack Problems,
2004, ch. 7; from memory). With integers every comparison is exact, so what it bounds is proven.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tracker.planning.cutting.problem import Column, Items, Problem

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class Knapsack:
    """The tables for one set of values; ``demand`` may be less than the problem's (the rest of a plan)."""

    def __init__(self, problem: Problem, values: Sequence[int], demand: Sequence[int]) -> None:
        import numpy as np

        self._problem = problem
        self._values = values
        self._cell = problem.cell
        widest = max(board.capacity for board in problem.boards)
        self._weights = [item.weight for item in problem.items[: problem.cuttable]]
        self._most = [min(demand[j], widest // weight) for j, weight in enumerate(self._weights)]
        row = np.zeros(widest // problem.cell + 1, dtype=np.int64)
        rows: list[NDArray[np.int64]] = [row]
        for j in reversed(range(problem.cuttable)):
            row = self._with_item(row, j)
            rows.append(row)
        rows.reverse()
        self._rows = rows
        self._plain: list[list[int]] = []

    def _with_item(self, row: NDArray[np.int64], j: int) -> NDArray[np.int64]:
        import numpy as np

        value, weight, left = self._values[j], self._weights[j] // self._cell, self._most[j]
        if value <= 0 or left == 0:
            return row
        row = row.copy()
        take = 1
        while left > 0:
            take = min(take, left)
            shift = take * weight
            if shift >= len(row):
                break
            np.maximum(row[shift:], row[: len(row) - shift] + take * value, out=row[shift:])
            left -= take
            take *= 2
        return row

    def worth(self, board: int) -> int:
        """The most a pattern of this board is worth, or a little more when the tables are in wide cells."""
        return int(self._rows[0][self._problem.boards[board].capacity // self._cell])

    def best(self, board: int, over: int, several: int = 1) -> list[Column]:
        """Up to ``several`` patterns worth more than ``over``, best first, each with another longest piece.

        The best of all is among them.
        """
        capacity = self._problem.boards[board].capacity
        starts: list[tuple[int, int, int]] = []
        for j, weight in enumerate(self._weights):
            most = min(self._most[j], capacity // weight)
            if most and self._values[j] > 0:
                row, value = self._rows[j + 1], self._values[j]
                worth, take = max(
                    (take * value + int(row[(capacity - take * weight) // self._cell]), take)
                    for take in range(1, most + 1)
                )
                if worth > over:
                    starts.append((-worth, j, take))
        starts.sort()
        found = [self._follow(board, j, take, over) for _, j, take in starts[:several]]
        return [Column(board, items) for items in found if items]

    def _follow(self, board: int, first: int, take: int, over: int) -> Items:
        """The pattern that starts with ``take`` of item ``first`` and is worth most, filled up."""
        counts = [0] * len(self._weights)
        counts[first] = take
        room = self._problem.boards[board].capacity - take * self._weights[first]
        worth = take * self._values[first]
        for j in range(first + 1, len(self._weights)):
            row, value, weight = self._rows[j + 1], self._values[j], self._weights[j]
            if value <= 0:
                continue
            most = min(self._most[j], room // weight)
            if most > 0:
                reach = [n * value + int(row[(room - n * weight) // self._cell]) for n in range(most + 1)]
                best = max(range(most, -1, -1), key=reach.__getitem__)
                counts[j] = best
                room -= best * weight
                worth += best * value
        if worth <= over:  # possible only in wide cells, where a row may promise what does not fit
            return ()
        for j, weight in enumerate(self._weights):
            more = min(self._most[j] - counts[j], room // weight)
            counts[j] += more
            room -= more * weight
        return tuple((j, number) for j, number in enumerate(counts) if number)

    def all_over(self, board: int, least: int, limit: int, steps: int) -> tuple[list[Column], bool]:
        """Every pattern of this board worth at least ``least`` to which no item can be added, longest pieces first.

        Also says whether they are all: the search gives up after ``limit`` patterns or ``steps`` tries.
        """
        search = _Search(self._weights, self._values, self._most, self._plain_rows(), self._cell, board, least)
        search.limit, search.steps = limit, steps
        capacity = self._problem.boards[board].capacity
        complete = search.descend(0, capacity, 0, capacity + 1)
        return search.found, complete

    def _plain_rows(self) -> list[list[int]]:
        if not self._plain:
            known: dict[int, list[int]] = {}
            self._plain = [known.setdefault(id(row), []) or _fill(known[id(row)], row) for row in self._rows]
        return self._plain


def _fill(out: list[int], row: NDArray[np.int64]) -> list[int]:
    out.extend(row.tolist())
    return out


class _Search:
    """Depth first through the items, cut off where the tables say that ``least`` is out of reach."""

    def __init__(
        self,
        weights: list[int],
        values: Sequence[int],
        most: list[int],
        rows: list[list[int]],
        cell: int,
        board: int,
        least: int,
    ) -> None:
        self.weights, self.values, self.most, self.rows, self.cell = weights, values, most, rows, cell
        self.board, self.least = board, least
        self.limit = self.steps = 0
        self.found: list[Column] = []
        self.path: list[tuple[int, int]] = []
        size = len(weights)
        nothing = max((most[j] * weights[j] for j in range(size)), default=0) + len(rows[0]) * cell + 1
        self.lightest = [nothing] * (size + 1)
        self.filling = [0] * (size + 1)
        for j in reversed(range(size)):
            self.filling[j] = self.filling[j + 1] + most[j] * weights[j]
            self.lightest[j] = min(self.lightest[j + 1], weights[j]) if most[j] else self.lightest[j + 1]

    def descend(self, j: int, room: int, worth: int, spare: int) -> bool:
        """Whether the search below here was complete; ``spare`` is the lightest item of which more could be had."""
        weights, most, cell, least = self.weights, self.most, self.cell, self.least
        while True:
            if room < self.lightest[j]:
                if room < spare and worth >= least and self.path:
                    if len(self.found) >= self.limit:
                        return False
                    self.found.append(Column(self.board, tuple(self.path)))
                return True
            if worth + self.rows[j][room // cell] < least or room - self.filling[j] >= spare:
                return True
            weight = weights[j]
            if most[j] and weight <= room:
                value, row = self.values[j], self.rows[j + 1]
                for take in range(min(most[j], room // weight), 0, -1):
                    rest, now = room - take * weight, worth + take * value
                    if now + row[rest // cell] < least:
                        continue
                    self.steps -= 1
                    if self.steps < 0:
                        return False
                    self.path.append((j, take))
                    complete = self.descend(j + 1, rest, now, spare if take == most[j] else min(spare, weight))
                    self.path.pop()
                    if not complete:
                        return False
                spare = min(spare, weight)
            j += 1
