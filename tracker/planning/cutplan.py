"""Which boards to buy and what to cut from each, at the least cost, with the proof.

Method: column generation with a bounded knapsack, rounding dives, then every pattern that a cheaper plan could still
use, split on the numbers of boards until the best choice of them is settled (Gilmore and Gomory 1961, 1963; branching on
the numbers of boards after Vanderbeck, Operations Research 48, 2000; from memory). Ties go to the fewest boards, then
the longest single offcut, the fewest different patterns, and the order of lengths. Stops by proof or by the number of
steps, never by the clock: the same list gives the same plan.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import TypeAlias

from tracker.errors import InputError
from tracker.planning.cut_answer import cut_lines, cuts_answer, more_buys, spares
from tracker.planning.cutting.greedy import quick_plans
from tracker.planning.cutting.model import Cut, CutPlan, Need, Stick, Stock, checked
from tracker.planning.cutting.problem import PLENTY, Board, Chosen, Column, Problem, countable, pose
from tracker.planning.cutting.solve import Search, fewer_boards, search
from tracker.planning.cutting.sticks import Task, make_plan, rank
from tracker.planning.cutting.ties import longest_offcut
from tracker.text import count
from tracker.trade.lengths import Unit, exact_text

__all__ = [
    "Cut",
    "CutPlan",
    "Need",
    "Progress",
    "Stick",
    "Stock",
    "cut_lines",
    "cuts_answer",
    "fewest_boards",
    "more_buys",
    "plan_cuts",
    "spares",
    "trade_offs",
]

Progress: TypeAlias = "Callable[[CutPlan, int], bool]"
"""Called with the best plan so far, at once and then often, and the bound in ten-thousandths; False stops the search."""

MOST_STEPS = 12


def plan_cuts(
    needs: Iterable[Need],
    stocks: Iterable[Stock],
    *,
    kerf_nm: int,
    trim_nm: int,
    progress: Progress | None = None,
    unit: Unit = Unit.INCH,
) -> CutPlan:
    """Return the cheapest plan that cuts every need from the stocks.

    Each stick gives up ``trim_nm`` at one end and ``kerf_nm`` at every cut. A lone piece as long as its board, or too
    long for any board once trimmed, keeps the mill's end; whole pieces take a board of exactly their length. The plan
    is proven unless ``progress`` stopped the search or it ran out of steps: then ``bound_e4`` says how much is open.

    Raises InputError, with lengths in ``unit``, for a length, quantity, price or limit that is not more than nothing, a
    piece longer than every stock, a whole piece with no stock of its length, no stock, too little limited stock, or
    more than 50,000 pieces, 400 lengths or 200 stocks.
    """
    task = _task(needs, stocks, kerf_nm, trim_nm, unit)
    if not task.needs:
        return CutPlan(0, 0, (), kerf_nm, trim_nm, 0)
    problem = pose(task.needs, task.stocks, kerf_nm, trim_nm)
    return _solved(task, problem, _start(problem, unit), progress)


def fewest_boards(
    needs: Iterable[Need],
    stocks: Iterable[Stock],
    *,
    kerf_nm: int,
    trim_nm: int,
    progress: Progress | None = None,
    unit: Unit = Unit.INCH,
) -> CutPlan:
    """Return the cheapest plan among those of the fewest boards, on hand and bought together.

    ``boards_at_least`` of the plan is proven: when it equals the number of sticks, no plan has fewer. Raises InputError
    as ``plan_cuts`` does.
    """
    task = _task(needs, stocks, kerf_nm, trim_nm, unit)
    if not task.needs:
        return CutPlan(0, 0, (), kerf_nm, trim_nm, 0)
    problem = pose(task.needs, task.stocks, kerf_nm, trim_nm)
    start = _start(problem, unit)
    tell = None if progress is None else lambda best, _low: progress(make_plan(task, problem, best, 0), 0)
    counted = search(countable(problem), start, tell)
    plan = _solved(task, replace(problem, most=counted.cost), counted.best, progress)
    return replace(plan, boards_at_least=counted.low)


def trade_offs(
    needs: Iterable[Need], stocks: Iterable[Stock], *, kerf_nm: int, trim_nm: int, unit: Unit = Unit.INCH
) -> tuple[CutPlan, ...]:
    """Return what more money buys: plans from the cheapest to the fewest boards, each the cheapest of so few boards.

    At most twelve, evenly spread over the numbers of boards. Raises InputError as ``plan_cuts`` does.
    """
    needs, stocks = tuple(needs), tuple(stocks)
    plans = [plan_cuts(needs, stocks, kerf_nm=kerf_nm, trim_nm=trim_nm, unit=unit)]
    last = fewest_boards(needs, stocks, kerf_nm=kerf_nm, trim_nm=trim_nm, unit=unit)
    problem = pose(needs, stocks, kerf_nm, trim_nm)
    task = Task(needs, stocks, kerf_nm, trim_nm)
    start = _columns(problem, last) if needs else []
    span = len(plans[0].sticks) - len(last.sticks)
    steps = min(span, MOST_STEPS - 1)
    for most in (len(plans[0].sticks) - span * step // steps for step in range(1, steps)):
        if most < len(plans[-1].sticks):
            plans.append(_solved(task, replace(problem, most=most), start, None))
    return (*plans, last) if len(last.sticks) < len(plans[-1].sticks) else tuple(plans)


def _task(needs: Iterable[Need], stocks: Iterable[Stock], kerf_nm: int, trim_nm: int, unit: Unit) -> Task:
    task = Task(tuple(needs), tuple(stocks), kerf_nm, trim_nm)
    checked(task.needs, task.stocks, kerf_nm, trim_nm, unit)
    return task


def _solved(task: Task, problem: Problem, start: Chosen, progress: Progress | None) -> CutPlan:
    """Search, then choose among equally cheap plans."""
    quick = quick_plans(problem, problem.demand, problem.limits.high, problem.most)
    first_e4 = problem.cost(min([start, *quick[:1]], key=problem.cost)) * problem.cost_unit_e4
    found = search(problem, start, _reporter(task, problem, first_e4, progress))
    plans = [make_plan(task, problem, found.best, found.low, first_e4)]
    if not found.stopped and found.root is not None:
        fewer = fewer_boards(found)
        plans.append(make_plan(task, problem, fewer, found.low, first_e4))
        longest = None if found.stopped else longest_offcut(problem, found.root, fewer, found.ask)
        if longest is not None:
            plans.append(make_plan(task, problem, longest, found.low, first_e4))
    return min(plans, key=rank)


def _reporter(
    task: Task, problem: Problem, first_e4: int, progress: Progress | None
) -> Callable[[Chosen, int], bool] | None:
    if progress is None:
        return None
    made: list[tuple[Chosen, int, CutPlan]] = []

    def report(best: Chosen, low: int) -> bool:
        if not made or made[-1][0] is not best or made[-1][1] != low:
            made[:] = [(best, low, make_plan(task, problem, best, low, first_e4))]
        return progress(made[-1][2], low * problem.cost_unit_e4)

    return report


def _start(problem: Problem, unit: Unit) -> Chosen:
    """A first plan; when no quick one keeps within the stock on hand, one that is searched for.

    Raises InputError when there is none.
    """
    limits = problem.limits
    quick = quick_plans(problem, problem.demand, limits.high, limits.most)
    if quick:
        return quick[0]
    # Boards of one more length each, at 1 where all else is free: the fewest that are missing.
    sizes = sorted({problem.boards[0].length_nm, *(item.length_nm for item in problem.items if item.whole)})
    kinds = {board.length_nm: board for board in problem.boards}
    old = len(problem.boards)
    extra = tuple(replace(kinds[size], cost=1, limit=PLENTY) for size in sizes)
    boards: tuple[Board, ...] = (*(replace(board, cost=0) for board in problem.boards), *extra)
    twins = {kinds[size].length_nm: old + k for k, size in enumerate(sizes)}
    lone = {
        (twins[problem.boards[column.board].length_nm], column.items)
        for column in problem.alone
        if problem.boards[column.board].length_nm in twins
    }
    wider = replace(problem, boards=boards, alone=(*problem.alone, *sorted(Column(b, held) for b, held in lone)))
    start = quick_plans(wider, wider.demand, wider.limits.high, wider.most)[0]
    found: Search = search(wider, start)
    if found.cost == 0:
        return found.best
    missing = sum(times for column, times in found.best if column.board >= old)
    raise InputError(
        f"the stock on hand is too little: {count(missing, 'board')} short",
        f"{count(missing, 'more board')} of up to {exact_text(sizes[-1], unit)} would do; add them or a price to buy at",
    )


def _columns(problem: Problem, plan: CutPlan) -> Chosen:
    """The columns of a plan's sticks."""
    index = {(item.length_nm, item.whole): j for j, item in enumerate(problem.items)}
    place = {(board.length_nm, board.cost_e4): b for b, board in enumerate(problem.boards)}
    out: Chosen = []
    for stick in plan.sticks:
        held: dict[int, int] = {}
        for nm in stick.cuts_nm:
            j = index[nm, True] if stick.whole and (nm, True) in index else index[nm, False]
            held[j] = held.get(j, 0) + 1
        out.append((Column(place[stick.stock.length_nm, stick.stock.cost_e4], tuple(sorted(held.items()))), 1))
    return out
