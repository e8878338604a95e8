"""From chosen columns to sticks: no piece too many, the offcuts gathered on few sticks, everything named and sorted."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from tracker.planning.cutting.model import Cut, CutPlan, Need, Stick, Stock
from tracker.planning.cutting.problem import Chosen, Problem


@dataclass(frozen=True, slots=True)
class Task:
    """What was asked, as asked."""

    needs: tuple[Need, ...]
    stocks: tuple[Stock, ...]
    kerf_nm: int
    trim_nm: int


def make_plan(task: Task, problem: Problem, chosen: Chosen, low: int, first_e4: int | None = None) -> CutPlan:
    """The cut plan of ``chosen``; ``low`` is the bound in cost units.

    The same pieces and stocks in any order give the same sticks.
    """
    held = _without_surplus(problem, chosen)
    _gather(problem, held)
    sticks = _named(task, problem, [one for one in held if one.count.total()])
    cost = sum(stick.stock.cost_e4 for stick in sticks)
    bound = min(low * problem.cost_unit_e4, cost)
    return CutPlan(cost, bound, sticks, task.kerf_nm, task.trim_nm, cost if first_e4 is None else first_e4)


def rank(plan: CutPlan) -> tuple[object, ...]:
    """What plans are compared by: cost, boards, longest offcut, different patterns, then the sticks themselves."""
    order = [(-stick.stock.length_nm, [-nm for nm in stick.cuts_nm]) for stick in plan.sticks]
    return plan.cost_e4, len(plan.sticks), -plan.longest_left_nm, plan.patterns, order


@dataclass(slots=True)
class _Held:
    """A board and the items cut from it; ``room`` is None where the mill's end stays on."""

    board: int
    count: Counter[int]
    room: int | None

    def left(self) -> int:
        return self.room or 0


def _without_surplus(problem: Problem, chosen: Chosen) -> list[_Held]:
    held: list[_Held] = []
    alone = set(problem.alone)
    for column, times in sorted(chosen):
        weight = sum(problem.items[j].weight * number for j, number in column.items)
        room = None if column in alone else problem.boards[column.board].capacity - weight
        held += [_Held(column.board, Counter(dict(column.items)), room) for _ in range(times)]
    have: Counter[int] = Counter()
    for one in held:
        have.update(one.count)
    for j, item in enumerate(problem.items):
        for _ in range(have[j] - problem.demand[j]):
            # Off the stick that then has the most left.
            one = max((one for one in held if one.count[j]), key=lambda one: one.left())
            one.count[j] -= 1
            if one.room is not None:
                one.room += item.weight
    return held


def _gather(problem: Problem, held: list[_Held]) -> None:
    """Move pieces from the stick with the most left to wherever they fit, so that its offcut grows."""
    most = max((one for one in held if one.room is not None), key=lambda one: one.left(), default=None)
    if most is None:
        return
    for j in sorted(+most.count):
        weight = problem.items[j].weight
        for _ in range(most.count[j]):
            fits = [one for one in held if one is not most and one.room is not None and one.room >= weight]
            if not fits:
                break
            onto = min(fits, key=lambda one: one.left())
            onto.count[j] += 1
            onto.room = onto.left() - weight
            most.count[j] -= 1
            most.room = most.left() + weight


def _named(task: Task, problem: Problem, held: Sequence[_Held]) -> tuple[Stick, ...]:
    """Sticks with real stocks and the places their pieces go to, longest stock first."""
    stocks: dict[tuple[int, int], list[Stock]] = defaultdict(list)
    for stock in sorted(task.stocks, key=lambda stock: (stock.limit is None, stock.name)):
        stocks[stock.length_nm, stock.cost_e4] += [stock] * min(stock.limit or len(held), len(held))
    wheres: dict[tuple[int, bool], list[str]] = defaultdict(list)
    for need in sorted(task.needs, key=lambda need: need.what, reverse=True):
        wheres[need.length_nm, need.whole] += [need.what] * need.quantity

    def order(one: _Held) -> tuple[int, bool, list[int], int]:
        cuts = [-problem.items[j].length_nm for j in sorted(one.count) for _ in range(one.count[j])]
        board = problem.boards[one.board]
        return -board.length_nm, one.room is not None, [*sorted(cuts), 0], board.cost_e4

    out: list[Stick] = []
    for one in sorted(held, key=order):
        board = problem.boards[one.board]
        kinds = [problem.items[j] for j in sorted(one.count) for _ in range(one.count[j])]
        cuts = sorted((Cut(item.length_nm, wheres[item.length_nm, item.whole].pop()) for item in kinds), reverse=True)
        stock = stocks[board.length_nm, board.cost_e4].pop(0)
        used = sum(cut.length_nm for cut in cuts) + task.kerf_nm * len(cuts)
        whole = len(cuts) == 1 and cuts[0].length_nm == board.length_nm
        trim = 0 if one.room is None else task.trim_nm
        left = 0 if whole else max(board.length_nm - trim - used, 0)
        out.append(Stick(stock, tuple(sorted(cuts, key=lambda cut: (-cut.length_nm, cut.what))), left))
    return tuple(out)
