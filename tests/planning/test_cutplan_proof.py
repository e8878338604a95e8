"""The proof of a cut plan, checked by other means: every way tried, another formulation, duals in rationals."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.planning.cutplan_checks import arc_flow, brute_force, replay
from tests.planning.cutplan_lists import Case, close_prices, deck_lists, random_lists
from tracker.errors import InputError
from tracker.planning.cutplan import CutPlan, Need, Stock, fewest_boards, plan_cuts
from tracker.planning.cutting.columns import Generation
from tracker.planning.cutting.greedy import quick_plans
from tracker.planning.cutting.problem import pose
from tracker.trade.lengths import INCH, MM, TENTH_MM

_LENGTH = st.one_of(st.integers(3, 60).map(lambda n: n * INCH), st.integers(800, 15_000).map(lambda n: n * TENTH_MM))


@st.composite
def _tiny(draw: st.DrawFn) -> tuple[list[Need], list[Stock], int, int]:
    """Up to six pieces and three stocks, limited or not, cheap or dear."""
    stocks = draw(
        st.lists(
            st.builds(
                Stock,
                length_nm=st.integers(20, 62).map(lambda n: n * INCH),
                cost_e4=st.integers(1, 30),
                limit=st.sampled_from([None, None, 1, 2]),
            ),
            min_size=1,
            max_size=3,
            unique_by=lambda stock: (stock.length_nm, stock.cost_e4),
        )
    )
    needs: list[Need] = []
    left = 6
    for _ in range(draw(st.integers(1, 4))):
        if left:
            whole = draw(st.booleans()) and draw(st.booleans())
            length = draw(st.sampled_from([s.length_nm for s in stocks])) if whole else draw(_LENGTH)
            number = draw(st.integers(1, min(left, 3)))
            left -= number
            needs.append(Need(length, number, whole=whole))
    kerf = draw(st.sampled_from([0, INCH // 8, 3 * MM]))
    return needs, stocks, kerf, draw(st.sampled_from([0, INCH // 4]))


@settings(max_examples=examples(200, 4000), deadline=None)
@given(_tiny())
def test_no_way_to_share_out_the_pieces_is_better(case: tuple[list[Need], list[Stock], int, int]) -> None:
    needs, stocks, kerf, trim = case
    longest = max(stock.length_nm for stock in stocks)
    assume(all(need.length_nm <= longest for need in needs))
    best = brute_force(needs, stocks, kerf, trim)
    if best is None:
        with pytest.raises(InputError, match="the stock on hand is too little"):
            plan_cuts(needs, stocks, kerf_nm=kerf, trim_nm=trim)
        return
    made = plan_cuts(needs, stocks, kerf_nm=kerf, trim_nm=trim)
    replay(made, needs, stocks)
    assert made.proven and (made.cost_e4, len(made.sticks)) == best
    few = fewest_boards(needs, stocks, kerf_nm=kerf, trim_nm=trim)
    replay(few, needs, stocks)
    found = brute_force(needs, stocks, kerf, trim, boards_first=True)
    assert (len(few.sticks), few.cost_e4) == found
    assert few.proven and few.boards_at_least == len(few.sticks)


def _small_lists() -> list[Case]:
    """Lists on a 1/2 in grid, no piece as long as a board, so that the other formulation fits; every second with offcuts."""
    dice = random.Random(11)
    cases = []
    for index in range(24):
        needs = tuple(
            Need((2 * dice.randint(10, 230) + 1) * INCH // 2, dice.randint(1, 9), f"{k}")
            for k in range(dice.randint(3, 9))
        )
        stocks = tuple(Stock(feet * 12 * INCH, feet * dice.randint(60, 90) * 100) for feet in (8, 10, 12, 16, 20))
        offcuts = tuple(Stock(dice.randint(30, 110) * INCH, 0, dice.randint(1, 3), "offcut") for _ in range(2))
        cases.append(Case(f"small {index}", needs, stocks + (offcuts if index % 2 else ()), 0, INCH // 2))
    return cases


@pytest.mark.parametrize("case", _small_lists(), ids=lambda case: case.name)
def test_another_exact_formulation_gives_the_same_cost(case: Case) -> None:
    other = arc_flow(case.needs, case.stocks, case.kerf_nm, case.trim_nm)
    assert other is not None
    made = plan_cuts(case.needs, case.stocks, kerf_nm=case.kerf_nm, trim_nm=case.trim_nm)
    assert made.proven and made.cost_e4 == other


# Of 300 such lists these need the most splitting among those that the other formulation settles in a few seconds.
@pytest.mark.parametrize("seed", [998734, 597687, 998500])
def test_another_exact_formulation_where_many_sets_of_boards_come_close(seed: int) -> None:
    case = close_prices(seed)
    other = arc_flow(case.needs, case.stocks, case.kerf_nm, case.trim_nm)
    assert other is not None
    made = plan_cuts(case.needs, case.stocks, kerf_nm=case.kerf_nm, trim_nm=case.trim_nm)
    assert made.proven and made.cost_e4 == other


@pytest.mark.parametrize("calls", [30, 150, 400, 700, 1000])
def test_a_long_search_stops_where_it_is_told_to(calls: int) -> None:
    case = close_prices(193)  # about 1200 calls to the end, a sixth of them from within the integer program
    left = calls

    def watch(_best: CutPlan, _bound: int) -> bool:
        nonlocal left
        left -= 1
        return left > 0

    made = plan_cuts(case.needs, case.stocks, kerf_nm=case.kerf_nm, trim_nm=case.trim_nm, progress=watch)
    assert left == 0, "asked again after the stop, or never stopped"
    replay(made, case.needs, case.stocks)


@pytest.mark.parametrize("calls", [1, 30, 400, 700])
def test_an_error_of_the_one_who_watches_comes_out_again(calls: int) -> None:
    case = close_prices(193)
    left = calls

    def watch(_best: CutPlan, _bound: int) -> bool:
        nonlocal left
        left -= 1
        if not left:
            raise KeyboardInterrupt
        return True

    with pytest.raises(KeyboardInterrupt):
        plan_cuts(case.needs, case.stocks, kerf_nm=case.kerf_nm, trim_nm=case.trim_nm, progress=watch)
    assert left == 0


_DECKS = [case for case in deck_lists() if case.name.startswith(("8x8", "10x12", "12x16"))]


@pytest.mark.parametrize("case", _DECKS[::4] + _DECKS[1::8] + _DECKS[3::8], ids=lambda case: case.name)
def test_another_exact_formulation_on_deck_lists(case: Case) -> None:
    other = arc_flow(case.needs, case.stocks, case.kerf_nm, case.trim_nm)
    assert other is not None
    made = plan_cuts(case.needs, case.stocks, kerf_nm=case.kerf_nm, trim_nm=case.trim_nm)
    assert made.cost_e4 == other


def _most_worth(values: list[Fraction], weights: list[int], demand: list[int], room: int) -> Fraction:
    """The most that pieces are worth on one board: plain bounded knapsack over rationals."""
    best = [Fraction(0)] * (room + 1)
    for value, weight, number in zip(values, weights, demand, strict=True):
        for _ in range(min(number, room // weight)):
            better = [max(best[c], best[c - weight] + value) if c >= weight else best[c] for c in range(room + 1)]
            if better == best:
                break
            best = better
    return best[room]


def test_the_bound_holds_in_rationals() -> None:
    """A bound anybody can check: values for the pieces that no board can hold more of than it costs."""
    closed = 0
    for case in list(random_lists(12, seed=7)):
        if any(stock.limit is not None for stock in case.stocks):
            continue
        # A 1/2 in grid keeps the plain table small.
        half = INCH // 2
        needs = [Need(max(need.length_nm // half, 1) * half, need.quantity, need.what) for need in case.needs]
        problem = pose(needs, case.stocks, 0, half)
        start = quick_plans(problem, problem.demand, problem.limits.high, problem.most)[0]
        generation = Generation(problem, [column for column, _ in start], lambda: None, 2)
        relaxed = generation.relax(problem.demand, problem.limits, problem.cost(start) + 1)
        assert relaxed is not None
        unit = Fraction(problem.cost_unit_e4, relaxed.bound.scale)
        values = [value * unit for value in relaxed.bound.values]
        weights = [item.weight for item in problem.items]
        for board in problem.boards:
            room = board.capacity
            assert _most_worth(values, weights, list(problem.demand), room) <= board.cost_e4
        for column in problem.alone:
            assert values[column.items[0][0]] <= problem.boards[column.board].cost_e4
        bound = sum(value * number for value, number in zip(values, problem.demand, strict=True))
        made = plan_cuts(needs, case.stocks, kerf_nm=0, trim_nm=half)
        assert bound <= made.cost_e4
        assert made.bound_e4 >= -(-bound // 1)
        # In whole cents the bound alone often proves the plan.
        closed += -(-bound // 100) * 100 == made.cost_e4
    assert closed >= 2
