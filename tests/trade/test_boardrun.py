"""Boards over a run and a tapering run brought home: common practice, figures worked from the sizes given."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trade.geometry_cases import inch
from tracker.errors import InputError
from tracker.trade.boardrun import boards_answer, boards_for, bring_home
from tracker.trade.lengths import FOOT, INCH, SIXTEENTH, Unit


@pytest.mark.parametrize(
    ("run", "gap", "count", "overhang"),
    [
        (147, 0, 27, 1.5),  # 147 / 5.5 = 26.7
        (143, 0, 26, 0),  # 26 · 5.5 = 143
        (147, 0.125, 27, 4.75),  # (147 + 1/8) / 5-5/8 = 26.2; 27 · 5.625 - 1/8 - 147
        (5, 0.125, 1, 0.5),
    ],
)
def test_boards_to_cover_a_run(run: float, gap: float, count: int, overhang: float) -> None:
    boards = boards_for(inch(run), inch(5.5), inch(gap))
    assert (boards.count, boards.overhang_nm) == (count, inch(overhang))
    assert boards.last_width_nm == inch(5.5) - inch(overhang)


@given(
    run=st.integers(SIXTEENTH, 60 * FOOT),
    width=st.integers(INCH, 12 * INCH),
    gap=st.integers(0, INCH // 2),
)
def test_the_boards_cover_the_run_and_one_fewer_does_not(run: int, width: int, gap: int) -> None:
    count = boards_for(run, width, gap).count
    assert count * width + (count - 1) * gap >= run
    assert (count - 1) * width + (count - 2) * gap < run or count == 1


def test_a_small_taper_goes_into_the_gaps_and_full_boards_land_flush() -> None:
    # 8 boards of 5-1/2 with 1/8 gaps take 45 in; open are 45-1/4 at the left and 44-3/4 at the right.
    plan = bring_home({"left": inch(45.25), "right": inch(44.75)}, inch(5.5), inch(0.125), inch(0.0625), inch(0.1875))
    assert (plan.flush, plan.boards_to_go, plan.taper_nm, plan.left_over_nm) == (True, 8, inch(0.5), 0)
    assert plan.gap_change_nm == {"left": inch(1 / 32), "right": inch(-1 / 32)}
    assert set(plan.last_width_nm.values()) == {inch(5.5)}


def test_tight_boards_cannot_close_up_so_the_last_is_ripped() -> None:
    plan = bring_home({"left": inch(20), "right": inch(20)}, inch(5.5), 0, 0, 0)
    assert (plan.flush, plan.boards_to_go) == (False, 4)
    assert set(plan.last_width_nm.values()) == {inch(3.5)}  # 20 - 3 · 5.5
    assert plan.last_two_nm == inch(4.5)  # (3.5 + 5.5) / 2


def test_tight_boards_open_on_the_long_side_as_far_as_they_may() -> None:
    plan = bring_home({"left": inch(20.5), "right": inch(20)}, inch(5.5), 0, 0, inch(1 / 16))
    assert plan.gap_change_nm == {"left": inch(1 / 16), "right": 0}
    assert plan.left_over_nm == inch(0.25)  # 1/2 in of taper less 4 gaps of 1/16


@given(
    base=st.integers(16 * 8, 16 * 120),
    tapers=st.lists(st.integers(0, 32), min_size=2, max_size=5),
    gap=st.integers(0, 3),
    less=st.integers(0, 3),
    more=st.integers(0, 3),
)
def test_the_plan_lands_flush_with_gaps_it_may_use(
    base: int, tapers: list[int], gap: int, less: int, more: int
) -> None:
    width, gap_nm = inch(5.5), gap * SIXTEENTH
    least, most = max(0, gap - less) * SIXTEENTH, (gap + more) * SIXTEENTH
    remaining = {str(k): (base + t) * SIXTEENTH for k, t in enumerate(tapers)}
    plan = bring_home(remaining, width, gap_nm, least, most)
    for point, nm in remaining.items():
        laid = gap_nm + plan.gap_change_nm[point]
        assert least - 1 <= laid <= most + 1
        covered = plan.boards_to_go * laid + (plan.boards_to_go - 1) * width + plan.last_width_nm[point]
        assert abs(covered - nm) <= plan.boards_to_go + 1 or (plan.last_width_nm[point] == 0 and covered >= nm)
        assert 0 <= plan.last_width_nm[point] <= width + plan.boards_to_go * (gap_nm - least) + 1
    if plan.flush:
        assert plan.left_over_nm == 0


@pytest.mark.parametrize(
    ("call", "why"),
    [
        (lambda: boards_for(0, inch(5.5)), "run"),
        (lambda: boards_for(inch(147), 0), "wide"),
        (lambda: boards_for(inch(147), inch(5.5), -1), "gap"),
        (lambda: boards_for(inch(147), inch(5.5), inch(6)), "gap"),
        (lambda: bring_home({"left": inch(20)}, inch(5.5), 0, 0, 0), "no taper"),
        (lambda: bring_home({"left": inch(20), "right": 0}, inch(5.5), 0, 0, 0), "right"),
        (lambda: bring_home({"left": inch(20), "right": inch(30)}, inch(5.5), 0, 0, 0), "a whole board"),
        (lambda: bring_home({"a": inch(20), "b": inch(20)}, inch(5.5), 0, inch(1), inch(2)), "gap as laid"),
    ],
)  # fmt: skip
def test_runs_no_deck_has_are_refused(call: object, why: str) -> None:
    assert callable(call)
    with pytest.raises(InputError, match=why):
        call()


def test_boards_as_a_figure() -> None:
    # Common practice: 147 in of 5-1/2 in boards laid tight takes 27, the last 1-1/2 in over.
    answer = boards_answer(inch(147), inch(5.5), 0, Unit.INCH)
    assert answer.answer == {"boards": 27, "overhang_in": 1.5, "last_width_in": 4.0}
    assert answer.headline == "27 boards laid touching cover 12' 3\", 1-1/2 in over"
