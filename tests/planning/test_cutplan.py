"""Cut plans: every cut replayed, textbook answers, offcuts, whole boards, what is refused, what is said."""

from __future__ import annotations

import random
import subprocess
import sys
from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.planning.cutplan_checks import by_hand, replay
from tracker.errors import InputError
from tracker.planning.cutplan import (
    CutPlan,
    Need,
    Stock,
    cut_lines,
    cuts_answer,
    fewest_boards,
    more_buys,
    plan_cuts,
    spares,
    trade_offs,
)
from tracker.trade.lengths import FOOT, INCH, MM, TENTH_MM, Unit

KERF, TRIM = INCH // 8, INCH // 2
YARD = tuple(
    Stock(feet * FOOT, cost)
    for feet, cost in ((8, 64_800), (10, 85_900), (12, 107_800), (14, 135_400), (16, 158_700), (20, 218_300))
)


def plan(needs: list[Need], stocks: tuple[Stock, ...] = YARD, kerf: int = KERF, trim: int = TRIM) -> CutPlan:
    made = plan_cuts(needs, stocks, kerf_nm=kerf, trim_nm=trim)
    replay(made, needs, stocks)
    assert made.proven
    return made


def rolls(width: int, wanted: list[tuple[int, int]]) -> CutPlan:
    return plan([Need(length, number) for length, number in wanted], (Stock(width, 1),), 0, 0)


def test_chvatal() -> None:
    # V. Chvátal, Linear Programming (1983), ch. 13: raws 100 in wide; the linear plan takes 452.25, so 453 is best.
    # From memory.
    assert rolls(100, [(45, 97), (36, 610), (31, 395), (14, 211)]).cost_e4 == 453


def test_paper_machine() -> None:
    # The paper-machine example of the Wikipedia article "Cutting stock problem": rolls of 5600 mm, 73 of them, waste
    # 0.401 %. From memory; the waste follows from the widths: 1 - 407160 / (73 x 5600).
    wanted = [
        (1380, 22), (1520, 25), (1560, 12), (1710, 14), (1820, 18), (1880, 18), (1930, 20), (2000, 10), (2050, 12),
        (2100, 14), (2140, 16), (2150, 18), (2200, 20),
    ]  # fmt: skip
    made = rolls(5600, wanted)
    assert made.cost_e4 == 73
    assert round(100 * made.waste_nm / (73 * 5600), 3) == 0.401


def test_several_stock_lengths() -> None:
    # P. C. Gilmore, R. E. Gomory, Operations Research 9 (1961) 849-859, example with stock 5, 6, 9 at 6, 7, 10 (from
    # memory). Checked by hand: 10 x (4+3+2 from 9) and 10 x (4+2 from 6) cost 170; with the values 2, 3, 5 no pattern is
    # worth more than its stock (6: 4+2 = 7; 9: 4+4 = 4+3+2 = 10; 5: 3+2 = 5), and the demand is worth 40 + 30 + 100.
    made = plan([Need(2, 20), Need(3, 10), Need(4, 20)], (Stock(5, 6), Stock(6, 7), Stock(9, 10)), 0, 0)
    assert made.cost_e4 == 170


def test_where_first_fit_is_worst() -> None:
    # D. S. Johnson and others, SIAM J. Computing 3 (1974): 11/9 (from memory; counted by hand). Bins of 100: 51 + 26 + 23
    # six times, 27 + 27 + 23 + 23 three times: 9. First fit puts 51 + 27, then 26 + 26 + 26, then 4 x 23: 11.
    wanted = [Need(51, 6), Need(27, 6), Need(26, 6), Need(23, 12)]
    bins = (Stock(100, 1),)
    assert by_hand(wanted, bins, 0, 0) == 11
    assert plan(wanted, bins, 0, 0).cost_e4 == 9


def test_kerf_and_trim_by_hand() -> None:
    # 8 ft less 1/2 in trim is 95-1/2 in: two of 47-5/8 in and one kerf are 95-3/8, two of 47-3/4 are 95-5/8.
    short, long = 47 * INCH + 5 * INCH // 8, 47 * INCH + 3 * INCH // 4
    assert plan([Need(short, 2)], YARD[:1]).cost_e4 == 64_800
    assert plan([Need(short, 2)], YARD[:1]).sticks[0].left_nm == 0  # 1/8 in is left, and the last kerf takes it
    assert plan([Need(long, 2)], YARD[:1]).cost_e4 == 2 * 64_800
    assert plan([Need(INCH, 4)], (Stock(4 * INCH, 5),), 0, 0).cost_e4 == 5


def test_a_lone_piece_keeps_the_mill_end_only_where_it_must() -> None:
    assert plan([Need(20 * FOOT, 2, "rim")]).cost_e4 == 2 * 218_300
    nearly = 20 * FOOT - INCH // 4
    assert plan([Need(nearly, 1)]).sticks[0].left_nm == INCH // 8
    # 11 ft 11-3/4 in can be cut from 14 ft with a square end.
    assert plan([Need(12 * FOOT - INCH // 4, 1)]).sticks[0].stock.length_nm == 14 * FOOT


def test_whole_pieces_take_their_own_board() -> None:
    needs = [Need(12 * FOOT, 3, "joist", whole=True), Need(12 * FOOT, 1, "rim"), Need(5 * FOOT, 2, "block")]
    stocks = (Stock(12 * FOOT, 200_000), Stock(16 * FOOT, 150_000), Stock(12 * FOOT, 0, 1, "yard rack"))
    made = plan(needs, stocks)
    # The rim may come from the cheaper 16 ft; the joists may not, and the board on hand saves most as a joist.
    assert Counter(stick.stock for stick in made.sticks if stick.whole) == {stocks[0]: 2, stocks[2]: 1}
    assert made.cost_e4 == 2 * 200_000 + 2 * 150_000


def test_offcuts_first_where_they_are_cheaper() -> None:
    needs = [Need(30 * INCH, 5, "block")]
    dear = Stock(62 * INCH, 70_000, 5, "returned lot")
    free = Stock(62 * INCH, 0, 2, "offcut")
    made = plan(needs, (*YARD, dear, free))
    # Two offcuts give four blocks; the fifth is cheaper from an 8 ft board than from the lot. That board gives three, so
    # one offcut is enough.
    assert made.cost_e4 == 64_800
    assert made.bought == {YARD[0]: 1, free: 1}
    assert plan([Need(30 * INCH, 4, "block")], (*YARD, dear, free)).bought == {free: 2}
    # Without saving money an offcut is not used: three blocks come from the one board that one of them needs anyway.
    assert plan([Need(90 * INCH, 1), Need(3 * INCH, 1)], (*YARD, free)).bought == {YARD[0]: 1}


def test_stock_named_and_places_kept() -> None:
    needs = [Need(40 * INCH, 2, "b"), Need(40 * INCH, 2, "a"), Need(50 * INCH, 2, "c")]
    stocks = (Stock(8 * FOOT, 0, 1, "rack 2"), Stock(8 * FOOT, 0, 1, "rack 1"), Stock(8 * FOOT, 64_800))
    made = plan(needs, stocks)
    assert {stick.stock.name for stick in made.sticks} == {"rack 1", "rack 2", ""}
    assert sorted(cut.what for stick in made.sticks for cut in stick.cuts) == ["a", "a", "b", "b", "c", "c"]


def test_only_stock_on_hand() -> None:
    # Longest first fails here: 60 + 60 leaves no board for two of 65; the search finds 65 + 58 and the rest.
    hand = (
        Stock(121 * INCH, 0, 1, "b"),
        Stock(124 * INCH, 10, 1),
        Stock(121 * INCH, 0, 1, "a"),
        Stock(91 * INCH, 1, 1),
    )
    needs = [Need(60 * INCH, 3), Need(65 * INCH, 1), Need(58 * INCH, 1), Need(30 * INCH, 4)]
    assert plan(needs, hand, KERF, 0).cost_e4 == 11
    with pytest.raises(InputError) as caught:
        plan_cuts([Need(60 * INCH, 8)], hand, kerf_nm=KERF, trim_nm=0)
    assert caught.value.message == "the stock on hand is too little: 1 board short"
    assert caught.value.hint == "1 more board of up to 10' 4\" would do; add them or a price to buy at"
    with pytest.raises(InputError, match="2 boards short"):
        plan_cuts([Need(8 * FOOT, 5, whole=True)], [Stock(8 * FOOT, 0, 3)], kerf_nm=0, trim_nm=0)


def test_ties_go_to_fewer_boards_then_the_longest_offcut() -> None:
    # Two 8 ft at 5 or one 16 ft at 10: the same money.
    stocks = (Stock(8 * FOOT, 5), Stock(16 * FOOT, 10))
    assert len(plan([Need(90 * INCH, 2)], stocks).sticks) == 1
    # Six of 30 in from three 8 ft (90 + 2 kerfs fit): three on each of two boards leave nothing longer than two boards
    # of 3; seven leave one piece on the third board and its rest in one length.
    made = plan([Need(30 * INCH, 7)], stocks[:1])
    assert made.longest_left_nm == 96 * INCH - TRIM - 30 * INCH - KERF


def test_the_order_of_the_list_does_not_matter() -> None:
    dice = random.Random(5)
    needs = [Need(dice.randint(200, 3000) * INCH // 16, dice.randint(1, 9), f"p{k}") for k in range(9)]
    stocks = [*YARD, Stock(70 * INCH, 0, 2, "x"), Stock(55 * INCH, 0, 1, "y")]
    first = plan_cuts(needs, stocks, kerf_nm=KERF, trim_nm=TRIM)
    for _ in range(3):
        dice.shuffle(needs)
        dice.shuffle(stocks)
        assert plan_cuts(needs, stocks, kerf_nm=KERF, trim_nm=TRIM) == first


def test_the_same_plan_in_another_process_and_not_a_word_printed() -> None:
    code = (
        "from tracker.planning.cutplan import Need, Stock, plan_cuts\n"
        "needs = [Need(k * 7919 % 1800 + 150, k % 5 + 1) for k in range(1, 16)]\n"
        "made = plan_cuts(needs, [Stock(2000, 973), Stock(1970, 960), Stock(3000, 1453)], kerf_nm=3, trim_nm=10)\n"
        "import hashlib, sys\n"
        "assert made.proven\n"
        "sys.stderr.write(hashlib.sha256(repr(made).encode()).hexdigest())\n"
    )
    runs = [subprocess.run([sys.executable, "-c", code], capture_output=True, check=True) for _ in range(2)]
    assert runs[0].stdout == b"" and len(runs[0].stderr) == 64
    assert runs[0].stderr == runs[1].stderr


def test_the_first_answer_comes_at_once_and_gets_better() -> None:
    wanted = [Need(51, 6), Need(27, 6), Need(26, 6), Need(23, 12)]
    told: list[tuple[int, int]] = []

    def watch(best: CutPlan, bound: int) -> bool:
        replay(best, wanted, [Stock(100, 1)])
        told.append((best.cost_e4, bound))
        return True

    made = plan_cuts(wanted, [Stock(100, 1)], kerf_nm=0, trim_nm=0, progress=watch)
    assert told[0] == (11, 0)
    assert all(a[0] >= b[0] and a[1] <= b[1] for a, b in pairwise(told))
    assert made.cost_e4 == 9 and made.first_e4 >= made.cost_e4


@pytest.mark.parametrize("calls", [1, 2, 5])
def test_stopping_gives_the_best_so_far_with_its_gap(calls: int) -> None:
    dice = random.Random(3)
    needs = [Need(dice.randint(500, 2500) * INCH // 16, dice.randint(3, 9)) for _ in range(15)]
    left = calls

    def watch(_best: CutPlan, _bound: int) -> bool:
        nonlocal left
        left -= 1
        return left > 0

    made = plan_cuts(needs, YARD, kerf_nm=KERF, trim_nm=TRIM, progress=watch)
    replay(made, needs, YARD)
    assert left == 0, "asked again after the stop"
    assert not made.proven and made.gap_e4 == made.cost_e4 - made.bound_e4 > 0
    answer = cuts_answer(made, Unit.INCH)
    assert answer.answer["proven"] is False and "the best found" in answer.headline


def test_no_pieces_no_boards() -> None:
    made = plan_cuts([], YARD, kerf_nm=KERF, trim_nm=TRIM)
    assert made.proven and made.cost_e4 == 0 and not made.sticks and made.longest_left_nm == 0
    assert fewest_boards([], YARD, kerf_nm=KERF, trim_nm=TRIM) == made
    assert trade_offs([], YARD, kerf_nm=KERF, trim_nm=TRIM) == (made,)
    assert cuts_answer(made, Unit.INCH).headline == "$0.00 for 0 boards; no plan is cheaper"


_REFUSED: list[tuple[list[Need], list[Stock], int, int, str]] = [
    ([Need(21 * FOOT, 1, "rim")], [*YARD], 0, 0, "a piece of 21' (rim) is longer than the longest stock, 20'"),
    ([Need(11 * FOOT, 1, whole=True)], [*YARD], 0, 0, "a piece of 11' must stay whole, and no stock is that long"),
    ([Need(0, 1)], [*YARD], 0, 0, 'a piece of 0" cannot be cut'),
    ([Need(-INCH, 1)], [*YARD], 0, 0, 'a piece of -1" cannot be cut'),
    ([Need(FOOT, 0)], [*YARD], 0, 0, "0 pieces of 1' cannot be cut"),
    ([Need(FOOT, -2)], [*YARD], 0, 0, "-2 pieces of 1' cannot be cut"),
    ([Need(FOOT, 1)], [], 0, 0, "there is no stock to cut from"),
    ([Need(FOOT, 1)], [Stock(0, 5)], 0, 0, 'a stock length of 0" cannot be cut'),
    ([Need(FOOT, 1)], [Stock(2 * FOOT, 0)], 0, 0, "the 2' stock has no price"),
    ([Need(FOOT, 1)], [Stock(2 * FOOT, -1)], 0, 0, "the price of the 2' stock is negative"),
    ([Need(FOOT, 1)], [Stock(2 * FOOT, 10**11)], 0, 0, "the price of the 2' stock is more than 1,000,000"),
    ([Need(FOOT, 1)], [Stock(2 * FOOT, 5, 0)], 0, 0, "0 boards of 2' on hand"),
    ([Need(FOOT, 1)], [*YARD], -1, 0, "kerf and trim cannot be less than nothing"),
    ([Need(FOOT, 60_000)], [*YARD], 0, 0, "60,000 pieces are more than 50,000"),
    ([Need(FOOT + k, 1) for k in range(401)], [*YARD], 0, 0, "401 different lengths are more than 400"),
    ([Need(FOOT, 1)], [Stock(FOOT + k, 5) for k in range(201)], 0, 0, "201 different stocks are more than 200"),
]


@pytest.mark.parametrize(("needs", "stocks", "kerf", "trim", "message"), _REFUSED)
def test_what_cannot_be_cut_is_refused(
    needs: list[Need], stocks: list[Stock], kerf: int, trim: int, message: str
) -> None:
    for ask in (plan_cuts, fewest_boards, trade_offs):
        with pytest.raises(InputError) as caught:
            ask(needs, stocks, kerf_nm=kerf, trim_nm=trim)
        assert caught.value.message == message and caught.value.hint


def test_refusals_speak_the_job_unit() -> None:
    with pytest.raises(InputError, match="a piece of 6100 mm is longer than the longest stock, 6000 mm"):
        plan_cuts([Need(6100 * MM, 1)], [Stock(6000 * MM, 5)], kerf_nm=0, trim_nm=0, unit=Unit.MM)


def test_fewest_boards_and_what_more_money_buys() -> None:
    needs = [Need(93 * INCH, 7, "stud"), Need(40 * INCH, 30, "block")]
    steps = trade_offs(needs, YARD, kerf_nm=KERF, trim_nm=TRIM)
    for step in steps:
        replay(step, needs, YARD)
        assert step.proven
    costs, boards = [step.cost_e4 for step in steps], [len(step.sticks) for step in steps]
    assert costs == sorted(set(costs)) and boards == sorted(set(boards), reverse=True)
    assert steps[0] == plan_cuts(needs, YARD, kerf_nm=KERF, trim_nm=TRIM)
    few = fewest_boards(needs, YARD, kerf_nm=KERF, trim_nm=TRIM)
    assert steps[-1] == few and few.boards_at_least == len(few.sticks)
    # By hand: a 20 ft board gives two studs and a block (93 + 93 + 40 + 2 kerfs = 226-1/4) or five blocks (200-1/2 in);
    # 3 boards take 6 studs and 3 blocks, one a stud and 3 blocks (213-3/8 in), the 24 blocks left 5 boards: 9.
    assert len(few.sticks) == 9
    lines = more_buys(steps, Unit.INCH)
    assert len(lines) == len(steps) - 1
    saved = len(steps[0].sticks) - 9
    assert f": {saved} boards fewer (9)" in lines[-1]


def test_fewest_boards_told_and_stopped() -> None:
    needs = [Need(93 * INCH, 7, "stud"), Need(40 * INCH, 30, "block")]
    told: list[int] = []

    def watch(best: CutPlan, bound: int) -> bool:
        told.append(len(best.sticks))
        assert bound <= best.cost_e4
        return False

    made = fewest_boards(needs, YARD, kerf_nm=KERF, trim_nm=TRIM, progress=watch)
    replay(made, needs, YARD)
    assert told and len(made.sticks) <= told[0]


def test_spares_for_culls() -> None:
    # By hand: 5 % of 30 boards is 1.5, so 2: 16 x 5 % = 0.8, 9 x 5 % = 0.45, 5 x 5 % = 0.25; the two largest remainders.
    stocks = (Stock(8 * FOOT, 10), Stock(12 * FOOT, 15), Stock(16 * FOOT, 22), Stock(50 * INCH, 0, 3, "offcut"))
    needs = [Need(8 * FOOT, 16, whole=True), Need(12 * FOOT, 9, whole=True), Need(16 * FOOT, 5, whole=True)]
    made = plan([*needs, Need(49 * INCH, 3)], stocks)
    assert spares(made, 50) == {stocks[0]: 1, stocks[1]: 1}
    assert spares(made, 0) == {}
    assert spares(made, 100) == {stocks[0]: 2, stocks[1]: 1}  # 3 of 1.6, 0.9, 0.5
    for share in (-1, 501):
        with pytest.raises(InputError, match="culls cannot be planned for"):
            spares(made, share)


def test_the_answer() -> None:
    needs = [Need(12 * FOOT, 2, "joist", whole=True), Need(40 * INCH, 4, "block")]
    stocks = (*YARD, Stock(82 * INCH, 0, 1, "offcut"))
    answer = cuts_answer(plan(needs, stocks), Unit.INCH)
    # By hand: two whole 12 ft at 10.78, two blocks from the offcut, two from an 8 ft at 6.48.
    assert answer.headline == "$28.04 for 4 boards; no plan is cheaper"
    assert answer.answer["cost"] == 28.04 and answer.answer["bound"] == 28.04 and answer.answer["proven"] is True
    assert answer.answer["boards"] == 4
    assert answer.answer["sticks"] == [
        {"stock_in": 144.0, "cuts_in": [144.0], "left_in": 0.0},
        {"stock_in": 144.0, "cuts_in": [144.0], "left_in": 0.0},
        {"stock_in": 96.0, "cuts_in": [40.0, 40.0], "left_in": 15.25},
        {"stock_in": 82.0, "cuts_in": [40.0, 40.0], "left_in": 1.25},
    ]
    assert answer.moves == (
        "2 x 12': whole, not cut",
        "1 x 8': 2 x 3' 4\"; 1' 3-1/4\" left",
        '1 x 6\' 10" offcut: 2 x 3\' 4"; 1-1/4" left',
    )
    assert answer.inputs["kerf_in"] == 0.125 and answer.inputs["trim_in"] == 0.5
    assert answer.inputs["pieces"] == [{"length_in": 144.0, "quantity": 2}, {"length_in": 40.0, "quantity": 4}]
    assert "2 x 12' at $10.78 = $21.56" in answer.working
    assert "protection" in answer.caution and answer.verdict is None
    assert answer.as_json()["answer"] == dict(answer.answer)


def test_a_metric_answer() -> None:
    needs = [Need(1200 * MM, 5)]
    made = plan_cuts(needs, [Stock(3600 * MM, 123_450)], kerf_nm=3 * MM, trim_nm=5 * MM)
    replay(made, needs, [Stock(3600 * MM, 123_450)])
    # 2 x 1200 + 3 + 5 = 2408; three would take 3611: so 3 boards, the last with one piece.
    assert cut_lines(made, Unit.MM) == ("2 x 3600 mm: 2 x 1200 mm; 1189 mm left", "1 x 3600 mm: 1200 mm; 2392 mm left")


_NEEDS = st.lists(
    st.builds(
        Need,
        length_nm=st.one_of(
            st.integers(8, 239 * 16).map(lambda n: n * INCH // 16),
            st.integers(50, 60_000).map(lambda n: n * TENTH_MM),
            st.sampled_from([stock.length_nm for stock in YARD]),
        ),
        quantity=st.integers(1, 12),
        what=st.sampled_from(["joist", "rim", "block", ""]),
    ),
    min_size=1,
    max_size=9,
)
_OFFCUTS = st.lists(
    st.builds(
        Stock,
        length_nm=st.integers(20 * 16, 180 * 16).map(lambda n: n * INCH // 16),
        cost_e4=st.sampled_from([0, 0, 12_345]),
        limit=st.integers(1, 3),
        name=st.sampled_from(["a", "b"]),
    ),
    max_size=4,
)


@settings(max_examples=examples(60, 1200), deadline=None)
@given(_NEEDS, _OFFCUTS, st.sampled_from([0, KERF, 3 * MM]), st.sampled_from([0, TRIM, INCH]))
def test_every_plan_is_sound(needs: list[Need], offcuts: list[Stock], kerf: int, trim: int) -> None:
    stocks = [*YARD, *offcuts]
    made = plan_cuts(needs, stocks, kerf_nm=kerf, trim_nm=trim)
    replay(made, needs, stocks)
    assert made.proven
    assert made.cost_e4 <= by_hand(needs, stocks, kerf, trim) or any(
        need.length_nm + trim > 20 * FOOT for need in needs
    )
