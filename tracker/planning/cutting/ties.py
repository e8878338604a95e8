"""Among plans of equal cost and number of boards: the one that leaves the longest offcut, then the fewest patterns.

The last two criteria are a help, not a proof: the search stops after a few nodes.
"""

from __future__ import annotations

import math
from collections import Counter

from tracker.planning.cutting.columns import Bound
from tracker.planning.cutting.exact import Master, patterns_within
from tracker.planning.cutting.highs import Entries, IntegerProgram, Watch, minimise
from tracker.planning.cutting.problem import Chosen, Column, Problem

_PATTERNS = 250
_NODES = 10


def longest_offcut(problem: Problem, bound: Bound, best: Chosen, watch: Watch | None) -> Chosen | None:
    """A plan as cheap and of as few boards as ``best`` with a longer single offcut or fewer patterns, if one is found.

    One board is cut piece by piece, as empty as can be; the others by patterns.
    """
    cost, boards = problem.cost(best), sum(times for _, times in best)
    found = patterns_within(problem, bound, problem.limits, cost * bound.scale - bound.total, _PATTERNS)
    if not found.complete:
        return None
    columns = list(dict.fromkeys([*found.columns, *(column for column, _ in best)]))
    master = Master(problem, columns)
    items, kinds, patterns = len(problem.items), len(problem.boards), len(columns)
    only, room, used = master.cost_row + 1, master.cost_row + 2, master.cost_row + 3
    widest = max(board.capacity for board in problem.boards)
    cuttable = range(problem.cuttable)
    entries: list[Entries] = [[*held, (used + k, 1)] for k, held in enumerate(master.entries)]
    entries += [[(used + k, -top)] for k, top in enumerate(master.tops)]
    entries += [[(j, 1), (room, problem.items[j].weight)] for j in cuttable]
    entries += [
        [(items + b, 1), (master.total_row, 1), (master.cost_row, board.cost), (only, 1), (room, -board.capacity)]
        for b, board in enumerate(problem.boards)
    ]
    entries.append([(room, 1)])
    costs = [0] * patterns + [1] * patterns + [0] * (len(cuttable) + kinds) + [-(patterns + 1)]
    tops = [
        *master.tops,
        *(1 for _ in columns),
        *(min(problem.demand[j], widest // problem.items[j].weight) for j in cuttable),
        *(1 for _ in problem.boards),
        widest,
    ]
    limits = problem.limits
    lows, highs = master.rows(limits, (0, cost))
    highs[master.total_row] = boards
    lows += [1, -math.inf, *(-math.inf for _ in columns)]
    highs += [1, 0, *(0 for _ in columns)]
    answer = minimise(IntegerProgram(costs, tops, entries, lows, highs), _NODES, watch)
    if answer.columns is None:
        return None
    values = answer.columns
    chosen: Counter[Column] = Counter({c: n for c, n in zip(columns, values[:patterns], strict=True) if n > 0})
    single = values[2 * patterns : 2 * patterns + len(cuttable)]
    kind = values[2 * patterns + len(cuttable) :].index(1)
    pieces = tuple((j, number) for j, number in enumerate(single) if number > 0)
    if pieces:
        chosen[Column(kind, pieces)] += 1
    plan = sorted(chosen.items())
    if problem.uncovered(plan) or any(problem.over_cut(column) for column in chosen) or problem.cost(plan) > cost:
        return None
    return plan
