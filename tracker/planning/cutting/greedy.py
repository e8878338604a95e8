"""Quick plans: first fit and best fit, longest piece first, then every stick from the cheapest board that holds it.

First-fit decreasing and best-fit decreasing (Johnson, Demers, Ullman, Garey, Graham, SIAM J. Computing 3, 1974; from
memory). Filling one board after another, each with the longest pieces that still fit, is first-fit decreasing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from tracker.planning.cutting.problem import PLENTY, Chosen, Column, Items, Problem

_BEST_FIT_PIECES = 600


def quick_plans(
    problem: Problem, demand: Sequence[int], room: Sequence[int], most: int, *, thorough: bool = True
) -> list[Chosen]:
    """Plans for ``demand`` from the boards in ``room``, cheapest first; none when pieces are left over in all.

    ``room`` is the number of boards of each kind still to be had, ``most`` of all together. First and best fit into
    each board length in turn, boards with a limit filled first, last or not on purpose; ``thorough`` adds best fit.
    """
    alone, rest = _lone_pieces(problem, demand, room)
    if alone is None:
        return []
    room = list(room)
    for column, times in alone:
        room[column.board] -= times
    few = [b for b, board in enumerate(problem.boards) if board.limit < PLENTY and room[b] > 0]
    openings: list[int | None] = [b for b, board in enumerate(problem.boards) if board.limit >= PLENTY and room[b] > 0]
    orders = {tuple(few), tuple(reversed(few))}
    if openings:
        orders.add(())
    else:
        openings.append(None)
    small = sum(rest) <= _BEST_FIT_PIECES
    seen: dict[tuple[tuple[Column, int], ...], int] = {}
    for order in sorted(orders):
        for opening in openings:
            fills = [_first_fit(problem, rest, room, order, opening)]
            if thorough and small and opening is not None and not order:
                fills.append(_best_fit(problem, rest, opening))
            for fill in fills:
                plan = None if fill is None else _downsized(problem, fill, room)
                if plan is not None:
                    whole = (*alone, *plan)
                    if sum(times for _, times in whole) <= most:
                        seen[whole] = problem.cost(whole)
    return [list(plan) for plan, _ in sorted(seen.items(), key=lambda one: (one[1], one[0]))]


def _lone_pieces(
    problem: Problem, demand: Sequence[int], room: Sequence[int]
) -> tuple[list[tuple[Column, int]] | None, list[int]]:
    """The pieces that can only be alone on a board, each on the cheapest; and the demand without them."""
    rest, left = list(demand), list(room)
    widest = max((board.capacity for b, board in enumerate(problem.boards) if room[b] > 0), default=0)
    out: list[tuple[Column, int]] = []
    choices = sorted(problem.alone, key=lambda column: (problem.boards[column.board].cost, column))
    for j, item in enumerate(problem.items):
        if not rest[j] or not (item.whole or item.weight > widest):
            continue
        for column in choices:
            if column.items == ((j, 1),) and left[column.board] and rest[j]:
                times = min(left[column.board], rest[j])
                out.append((column, times))
                left[column.board] -= times
                rest[j] -= times
        if rest[j]:
            return None, rest
    return out, rest


def _first_fit(
    problem: Problem, demand: Sequence[int], room: Sequence[int], order: Sequence[int], opening: int | None
) -> list[tuple[Items, int]] | None:
    """Fill the boards of ``order`` as far as they go, then ``opening``; None when pieces are left over."""
    rest = list(demand)
    out: list[tuple[Items, int]] = []
    for board in (*order, *(() if opening is None else (opening,))):
        left = room[board]
        while left > 0 and any(rest):
            free, items = problem.boards[board].capacity, []
            for j in range(problem.cuttable):
                number = min(rest[j], free // problem.items[j].weight)
                if number:
                    items.append((j, number))
                    free -= number * problem.items[j].weight
            if not items:
                break
            times = min(left, *(rest[j] // number for j, number in items))
            out.append((tuple(items), times))
            left -= times
            for j, number in items:
                rest[j] -= number * times
    return None if any(rest) else out


def _best_fit(problem: Problem, demand: Sequence[int], opening: int) -> list[tuple[Items, int]] | None:
    """Each piece into the fullest board that still takes it."""
    capacity = problem.boards[opening].capacity
    free: list[int] = []
    held: list[Counter[int]] = []
    for j in range(problem.cuttable):
        weight = problem.items[j].weight
        if demand[j] and weight > capacity:
            return None
        for _ in range(demand[j]):
            best = min((one for one in range(len(free)) if free[one] >= weight), key=free.__getitem__, default=-1)
            if best < 0:
                free.append(capacity)
                held.append(Counter())
            free[best] -= weight
            held[best][j] += 1
    return sorted(Counter(tuple(sorted(one.items())) for one in held).items())


def _downsized(
    problem: Problem, fills: Sequence[tuple[Items, int]], room: Sequence[int]
) -> list[tuple[Column, int]] | None:
    """Every filling on the cheapest board that holds it, the fullest first; None when a limit leaves none."""
    left = list(room)
    cheap = sorted(range(len(problem.boards)), key=lambda b: (problem.boards[b].cost, problem.boards[b].capacity))
    alone = set(problem.alone)
    out: Counter[Column] = Counter()
    weighed = [(sum(problem.items[j].weight * number for j, number in items), items, times) for items, times in fills]
    for weight, items, times in sorted(weighed, key=lambda one: (-one[0], one[1])):
        need = times
        for board in cheap:
            fits = weight <= problem.boards[board].capacity or Column(board, items) in alone
            take = min(need, left[board]) if fits else 0
            if take > 0:
                out[Column(board, items)] += take
                left[board] -= take
                need -= take
        if need:
            return None
    return sorted(out.items())
