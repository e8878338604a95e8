"""Price, dive, enumerate, prove: from the first quick plan to one that no other can beat."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from tracker.planning.cutting.columns import Bound, Generation, Relaxed
from tracker.planning.cutting.dive import dive
from tracker.planning.cutting.exact import Master, Patterns, patterns_within
from tracker.planning.cutting.greedy import quick_plans
from tracker.planning.cutting.problem import PLENTY, Chosen, Column, Limits, Problem
from tracker.planning.cutting.rounding import best_cut, by_length

FEW_PATTERNS = 100
MOST_PATTERNS = 20_000
SOME_PATTERNS = 3_000
NODES = 20_000
FEW_NODES = 500
BRANCHES = 6_000
CUT_ROUNDS = 12
MOST_CUTS = 60
DIVE_EACH = 25
LONG = 300
FEW_BRANCHES = 100
FEWER_ROUNDS = 30
_WHOLE = 1e-6

Report: TypeAlias = "Callable[[Chosen, int], bool]"
"""Called with the best plan so far and the bound in cost units; False stops the search."""


class _Stopped(Exception):
    """The user has seen enough."""


@dataclass(slots=True)
class Search:
    """The best plan so far and the bound, in cost units; ``generation`` and ``root`` bound once it got there."""

    problem: Problem
    best: Chosen
    cost: int
    low: int
    report: Report | None
    generation: Generation | None = None
    root: Bound | None = None
    stopped: bool = False

    @property
    def proven(self) -> bool:
        """Whether no plan is cheaper."""
        return self.low >= self.cost

    def take(self, plan: Chosen | None) -> None:
        """Keep a plan when it is cheaper."""
        if plan is not None and self.problem.cost(plan) < self.cost:
            self.best, self.cost = plan, self.problem.cost(plan)

    def raise_low(self, low: int) -> None:
        """Keep a bound when it is higher."""
        self.low = min(max(self.low, low), self.cost)

    def ask(self) -> bool:
        """Tell how far it is; False when the user wants to stop."""
        if self.report is not None and not self.stopped and not self.report(self.best, self.low):
            self.stopped = True
        return not self.stopped

    def watch(self) -> None:
        """Raise when the user wants to stop."""
        if not self.ask():
            raise _Stopped


def search(problem: Problem, start: Chosen, report: Report | None = None) -> Search:
    """Improve ``start`` until it is proven cheapest, the search is over, or ``report`` stops it."""
    state = Search(problem, start, problem.cost(start), 0, report)
    try:
        state.watch()
        _improve(state)
    except _Stopped:
        pass
    return state


def _improve(state: Search) -> None:
    problem, limits = state.problem, state.problem.limits
    plans = quick_plans(problem, problem.demand, limits.high, limits.most)
    for plan in plans:
        state.take(plan)
    start = [column for plan in [state.best, *plans[:3]] for column, _ in plan]
    several = 2 if len(problem.boards) > 3 else 6
    state.generation = Generation(problem, start, state.watch, several)
    _close(state, state.generation, BRANCHES)


def _close(state: Search, generation: Generation, branches: int) -> None:
    """Bring the best plan and the bound together."""
    limits = state.problem.limits
    relaxed = generation.relax(state.problem.demand, limits, state.cost)
    if relaxed is None:
        state.raise_low(state.cost)
        return
    state.root = relaxed.bound
    state.raise_low(relaxed.bound.units)
    if not state.proven:
        state.take(dive(generation, relaxed.uses, limits, state.cost, state.low))
    if not state.proven and len(state.problem.boards) > 1:
        relaxed = _cut(state, generation, relaxed)
    if not state.proven:
        state.take(dive(generation, relaxed.uses, limits, state.cost, state.low, slowly=True))
    if not state.proven:
        _branch(state, generation, relaxed, branches)


def _cut(state: Search, generation: Generation, relaxed: Relaxed) -> Relaxed:
    """Raise the bound by rounding cuts on the numbers of boards."""
    problem = state.problem
    length = by_length(problem)
    for _ in range(CUT_ROUNDS):
        if not _add_cuts(problem, generation, relaxed, length):
            break
        tighter = generation.relax(problem.demand, problem.limits, state.cost)
        if tighter is None:
            state.raise_low(state.cost)
            break
        relaxed = tighter
        state.raise_low(relaxed.bound.units)
        if state.proven:
            break
    return relaxed


def _add_cuts(problem: Problem, generation: Generation, relaxed: Relaxed, *more: tuple[int, tuple[int, ...]]) -> bool:
    """Add the best rounding of the duals' worths, and of ``more``, that the linear plan breaks; whether any was."""
    bound = relaxed.bound
    numbers = _numbers(problem, generation, relaxed.uses)
    worth = sum(value * number for value, number in zip(bound.values, problem.demand, strict=True))
    cuts = [best_cut(total, worths, numbers) for total, worths in ((worth, bound.worths), *more)]
    new = [cut for cut in dict.fromkeys(cuts) if cut is not None and cut not in generation.cuts]
    for cut in new:
        generation.cut(cut)
    return bool(new)


def fewer_boards(found: Search) -> Chosen:
    """A plan of the same cost with as few boards as can be found; ``found`` must have its generation.

    Asks for one board fewer at no more cost until that is proven impossible or the search gives up.
    """
    problem, best = found.problem, found.best
    if found.generation is None or len({board.cost for board in problem.boards}) == 1:
        return best
    try:
        for _ in range(FEWER_ROUNDS):
            most = sum(times for _, times in best) - 1
            inside = replace(problem, most=most)
            again = Search(inside, best, found.cost + 1, found.cost, lambda _plan, _low: found.ask())
            _close(again, found.generation, FEW_BRANCHES)
            if again.cost > found.cost:
                return best
            best = again.best
    except _Stopped:
        pass
    return best


def _gap(state: Search, bound: Bound) -> int:
    """The reduced costs that a plan cheaper than the best can have in all."""
    return (state.cost - 1) * bound.scale - bound.total


def _branch(state: Search, generation: Generation, root: Relaxed, branches: int) -> None:
    """Split on the numbers of boards, lowest bound first, until the patterns left can be listed and chosen from."""
    problem = state.problem
    open_nodes: list[tuple[int, int, Limits]] = []
    given_up = state.cost  # the lowest bound among parts that could not be settled
    made = seen = 0
    too_many = PLENTY * root.bound.scale  # the least gap that left too many patterns to list
    inside = problem.limits
    relaxed: Relaxed | None = root
    while True:
        worth_it = relaxed is not None and relaxed.bound.units < state.cost and len(generation.cuts) < MOST_CUTS
        if relaxed is not None and worth_it and _add_cuts(problem, generation, relaxed):
            relaxed = generation.relax(problem.demand, inside, state.cost)
        if relaxed is not None and relaxed.bound.units < state.cost:
            seen += 1
            numbers = _numbers(problem, generation, relaxed.uses)
            split = _split(numbers)
            if seen == LONG:
                some = _some(state, generation, relaxed.bound, problem.limits, FEW_PATTERNS)
                state.take(Master(problem, some).cheapest(problem.limits, state.low, state.cost - 1, 50, state.ask)[0])
            if split is None or seen % DIVE_EACH == 0:
                state.take(dive(generation, relaxed.uses, inside, state.cost, relaxed.bound.units))
            bound, settled = relaxed.bound, relaxed.bound.units >= state.cost
            fixed = inside.low == inside.high
            if not settled and (fixed or _gap(state, bound) < too_many - too_many // 5):
                few = fixed or patterns_within(problem, bound, inside, _gap(state, bound), FEW_PATTERNS).complete
                if few:
                    settled = _choose(state, generation, inside, bound, NODES if fixed else FEW_NODES)
                else:
                    too_many = _gap(state, bound)
            if not settled and fixed:
                given_up = min(given_up, bound.units)
            elif not settled:
                for part in _parts(inside, split, numbers):
                    if part.possible:
                        made += 1
                        heapq.heappush(open_nodes, (bound.units, -made, part))
        lowest = open_nodes[0][0] if open_nodes else state.cost
        state.raise_low(min(lowest, given_up))
        if lowest >= state.cost or made >= branches:
            return
        _, _, inside = heapq.heappop(open_nodes)
        relaxed = generation.relax(problem.demand, inside, state.cost)


def _numbers(problem: Problem, generation: Generation, uses: Sequence[float]) -> list[float]:
    """How many boards of each kind, and in all, a linear plan uses."""
    numbers = [0.0] * (len(problem.boards) + 1)
    for column, use in zip(generation.pool, uses, strict=False):
        numbers[column.board] += use
        numbers[-1] += use
    return numbers


def _split(numbers: Sequence[float]) -> int | None:
    """Which number is furthest from whole, that of all boards first; None when all are whole."""
    off = [abs(number - round(number)) for number in numbers]
    if off[-1] > 0.05:
        return len(numbers) - 1
    k = max(range(len(numbers)), key=lambda k: (round(off[k], 6), k))
    return k if off[k] > _WHOLE else None


def _parts(limits: Limits, split: int | None, numbers: Sequence[float]) -> list[Limits]:
    """The limits with one number at most what it is rounded down, and at least one more.

    When all numbers are whole already: with the first that is still open less, more, and just that.
    """
    if split == len(limits.low):
        down = int(numbers[split] + _WHOLE)
        return [replace(limits, most=min(limits.most, down)), replace(limits, least=max(limits.least, down + 1))]
    if split is not None:
        down = int(numbers[split] + _WHOLE)
        return [_with(limits, split, limits.low[split], down), _with(limits, split, down + 1, limits.high[split])]
    k = next(k for k in range(len(limits.low)) if limits.low[k] < limits.high[k])
    whole = round(numbers[k])
    return [
        _with(limits, k, limits.low[k], whole - 1),
        _with(limits, k, whole + 1, limits.high[k]),
        _with(limits, k, whole, whole),
    ]


def _with(limits: Limits, board: int, low: int, high: int) -> Limits:
    """The limits with those of one board changed."""
    lows, highs = list(limits.low), list(limits.high)
    lows[board], highs[board] = max(low, limits.low[board]), min(high, limits.high[board])
    return replace(limits, low=tuple(lows), high=tuple(highs))


def _choose(state: Search, generation: Generation, limits: Limits, bound: Bound, nodes: int) -> bool:
    """List the patterns a cheaper plan within ``limits`` could use and choose among them; whether that settled it."""
    problem = state.problem
    state.watch()
    top = state.cost - 1
    if limits.low == limits.high:
        top = min(top, sum(board.cost * number for board, number in zip(problem.boards, limits.low, strict=True)))
    found = patterns_within(problem, bound, limits, top * bound.scale - bound.total, MOST_PATTERNS)
    if not found.complete:
        some = _some(state, generation, bound, limits, SOME_PATTERNS)
        plan, _ = Master(problem, some).cheapest(limits, bound.units, top, nodes // 10, state.ask)
        state.take(plan)
        state.watch()
        return state.cost <= bound.units
    gap = top * bound.scale - bound.total
    tops = [gap // cost if cost else PLENTY for cost in found.reduced]
    master = Master(problem, found.columns, tops, generation.cuts)
    plan, settled = master.cheapest(limits, bound.units, top, nodes, state.ask)
    state.take(plan)
    state.watch()
    return settled


def _some(state: Search, generation: Generation, bound: Bound, limits: Limits, about: int) -> list[Column]:
    """The patterns of least reduced cost, ``about`` of them at most, and those found before."""
    low, high = 0, _gap(state, bound)
    best = Patterns((), (), False)
    for _ in range(12):
        middle = (low + high) // 2
        found = patterns_within(state.problem, bound, limits, middle, about)
        if found.complete:
            best, low = found, middle
            if len(found.columns) > about // 2:
                break
        else:
            high = middle
    return list(
        dict.fromkeys(
            [
                *best.columns,
                *(column for column in generation.pool if column.items),
                *(column for column, _ in state.best),
            ]
        )
    )
