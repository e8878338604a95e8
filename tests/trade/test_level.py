"""Level: heights, high point, blocks, planned fall. Common practice; figures are worked from the inputs."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trade.geometry_cases import inch
from tracker.errors import InputError
from tracker.trade.answer import Verdict
from tracker.trade.lengths import INCH, MM, SIXTEENTH, Unit
from tracker.trade.level import STOCK_INCH, STOCK_MM, Fall, Side, Under, fit_plane, level_answer, stack
from tracker.trade.rules import Rules

CORNERS = {"A": (0, 0), "B": (inch(120), 0), "C": (inch(120), inch(144)), "D": (0, inch(144))}


def heights(**values: float) -> dict[str, int]:
    return {name: inch(value) for name, value in values.items()}


def test_each_point_comes_up_to_the_highest() -> None:
    answer = level_answer(heights(A=0, B=0.375, C=0.25, D=-0.125), Unit.INCH, rules=Rules())
    assert answer.answer["high_point"] == "B"
    assert answer.answer["blocks_in"] == {"A": 0.375, "B": 0, "C": 0.125, "D": 0.5}
    assert answer.answer["spread_in"] == 0.5
    assert answer.verdict is Verdict.FAILED
    assert answer.moves[:2] == (
        "leave B where it is and bring the others up to it",
        "D: up 1/2 in, put 1/2 in under it",
    )
    assert "A: up 3/8 in, put 1/4 in + 1/8 in under it" in answer.moves


def test_a_rod_reads_the_other_way_up() -> None:
    read = heights(A=48, B=48.5, C=47.75, D=48)
    assert level_answer(read, Unit.INCH).answer["high_point"] == "B"
    rod = level_answer(read, Unit.INCH, rod=True)
    assert rod.answer["high_point"] == "C"
    assert rod.answer["blocks_in"] == {"A": 0.25, "B": 0.75, "C": 0, "D": 0.25}
    assert rod.inputs["reads"] == "rod"


@pytest.mark.parametrize(("spread", "passed"), [(0.25, True), (0.3125, False)])
def test_a_frame_may_be_a_quarter_inch_out(spread: float, passed: bool) -> None:
    answer = level_answer(heights(A=0, B=spread), Unit.INCH, rules=Rules())  # 1/4 in over the frame: common practice
    assert (answer.verdict is Verdict.PASSED) is passed
    # Remodeler performance standard, deck level: complaint limit 3/4 in within 20 ft.
    assert "3/4 in within 20 ft" in answer.limits[0].published


def test_a_typed_tolerance_stands_in_sight_of_the_default() -> None:
    answer = level_answer(heights(A=0, B=0.375), Unit.INCH, inch(0.5))
    assert answer.verdict is Verdict.PASSED
    assert (answer.limits[0].text, answer.limits[0].source) == ("1/2 in", "as typed")
    assert "1/4 in" in answer.limits[0].published


def test_a_planned_fall_is_no_error() -> None:
    # 1/8 in per foot over 12 ft: the front stands 1-1/2 in low.
    read = heights(A=0, B=0, C=1.5, D=1.5)
    assert level_answer(read, Unit.INCH, rules=Rules(), positions=CORNERS).verdict is Verdict.FAILED
    fallen = level_answer(read, Unit.INCH, rules=Rules(), positions=CORNERS, fall=Fall(inch(0.125), Side.FRONT))
    assert fallen.verdict is Verdict.PASSED
    assert fallen.answer["spread_in"] == pytest.approx(0)
    assert fallen.answer["rise_back_in_per_ft"] == pytest.approx(0.125)
    assert fallen.answer["rise_right_in_per_ft"] == pytest.approx(0)


@pytest.mark.parametrize("side", list(Side))
def test_a_fall_runs_down_toward_its_side(side: Side) -> None:
    low = {Side.FRONT: "AB", Side.BACK: "CD", Side.LEFT: "AD", Side.RIGHT: "BC"}[side]
    run_ft = 12 if side in (Side.FRONT, Side.BACK) else 10
    read = {name: 0 if name in low else inch(run_ft / 4) for name in "ABCD"}
    answer = level_answer(read, Unit.INCH, positions=CORNERS, fall=Fall(inch(0.25), side)).answer
    assert answer["spread_in"] == pytest.approx(0)


def test_a_twisted_frame_stands_off_its_best_plane() -> None:
    # Corners 0, 1, 0, 1: the least-squares plane is flat at 1/2, each corner 1/2 off, 1 in from high to low.
    answer = level_answer(heights(A=0, B=1, C=0, D=1), Unit.INCH, positions=CORNERS).answer
    assert answer["out_of_plane_in"] == pytest.approx(1)
    assert answer["rise_right_in_per_ft"] == pytest.approx(0)


grades = st.floats(-0.5, 0.5)


@given(right=grades, back=grades, base=st.floats(-5, 5))
def test_the_plane_of_tilted_points_is_found_exactly(right: float, back: float, base: float) -> None:
    read = {n: inch(base + right * x / inch(12) + back * y / inch(12)) for n, (x, y) in CORNERS.items()}
    plane = fit_plane(read, CORNERS)
    assert plane is not None
    assert plane.rise_right_nm / INCH == pytest.approx(right, abs=1e-6)
    assert plane.rise_back_nm / INCH == pytest.approx(back, abs=1e-6)
    assert max(map(abs, plane.off_nm.values())) <= 2


def test_points_on_one_line_have_no_plane() -> None:
    line = {"A": (0, 0), "B": (inch(60), inch(60)), "C": (inch(120), inch(120))}
    assert fit_plane(heights(A=0, B=1, C=2), line) is None
    answer = level_answer(heights(A=0, B=1, C=2), Unit.INCH, positions=line).answer
    assert "out_of_plane_in" not in answer


sixteenths = st.integers(-24 * 16, 10 * 16).map(lambda k: k * SIXTEENTH)


@given(
    read=st.lists(sixteenths, min_size=2, max_size=9),
    tolerance=st.sampled_from([inch(0.125), inch(0.25), inch(0.375)]),
    hand=st.sets(st.sampled_from(STOCK_INCH), min_size=1).map(lambda s: s | {inch(0.0625)}),
)
def test_the_stacks_bring_every_point_within_tolerance(read: list[int], tolerance: int, hand: set[int]) -> None:
    points = {f"P{k}": nm for k, nm in enumerate(read, 1)}
    top = max(read)
    after = []
    for nm in points.values():
        pieces = stack(top - nm, tuple(hand), tolerance)
        assert pieces is not None
        assert set(pieces) <= hand
        assert (pieces == ()) if nm == top else True
        after.append(nm + sum(pieces))
    assert min(after) >= top - tolerance / 2
    assert max(after) - min(after) <= tolerance


@given(need=st.integers(0, 300 * MM), tolerance=st.integers(2 * MM, 10 * MM))
def test_metric_stacks_come_within_half_the_tolerance(need: int, tolerance: int) -> None:
    pieces = stack(need, STOCK_MM, tolerance)
    assert pieces is not None
    assert set(pieces) <= set(STOCK_MM)
    assert abs(sum(pieces) - need) <= tolerance / 2


@pytest.mark.parametrize(
    ("need", "pieces"),
    [
        (0.375, [0.25, 0.125]),
        (0.5, [0.5]),
        (1.3125, [0.75, 0.5, 0.0625]),
        (4.75, [1.5, 1.5, 1.5, 0.25]),
        (0.03, []),
    ],
)
def test_a_stack_takes_the_fewest_pieces(need: float, pieces: list[float]) -> None:
    assert stack(inch(need), STOCK_INCH, inch(0.25)) == tuple(inch(p) for p in pieces)


def test_what_is_not_on_hand_is_cut() -> None:
    assert stack(inch(0.5), (inch(1.5),), inch(0.25)) is None
    answer = level_answer(heights(A=0, B=0.5), Unit.INCH, rules=Rules(), thicknesses=(inch(1.5),))
    assert "cut a block to fit" in answer.moves[1]


@pytest.mark.parametrize(("low", "re_bed"), [(0.5, False), (0.5625, True), (2.0, True)])
def test_shims_stack_half_an_inch_and_then_a_block_is_bedded_again(low: float, re_bed: bool) -> None:
    # Common practice: shims at most 1/2 in high, else bedded again; a house rule may say another height.
    answer = level_answer(heights(A=0, B=-low), Unit.INCH, rules=Rules(), under=Under.BLOCKS)
    assert ("re-bed its block" in answer.moves[1]) is re_bed
    assert (answer.answer["stacks"]["B"] == "re-bed") is re_bed  # type: ignore[index,call-overload]
    house = level_answer(heights(A=0, B=-low), Unit.INCH, rules=Rules({"shim_most": inch(3)}), under=Under.BLOCKS)
    assert not any("re-bed" in move for move in house.moves)


def test_posts_are_trimmed_to_the_lowest_and_never_shimmed() -> None:
    # Common practice: a level line at the lowest post, the others cut to it.
    answer = level_answer(heights(P1=0, P2=1.5, P3=0.5), Unit.INCH, rules=Rules(), under=Under.POST_TOPS)
    assert answer.verdict is Verdict.FAILED
    assert (answer.answer["low_point"], answer.answer["trim_in"]) == ("P1", {"P1": 0, "P2": 1.5, "P3": 0.5})
    assert answer.moves[1:3] == ("P2: 1-1/2 in off", "P3: 1/2 in off")
    assert not any("put " in move or "under it" in move for move in answer.moves)
    frame = level_answer(heights(A=0, B=-2), Unit.INCH, rules=Rules(), under=Under.POSTS)
    assert "set a post 2 in longer" in frame.moves[1] and "no stack of shims" in frame.moves[1]


@pytest.mark.parametrize(
    ("read", "positions", "fall", "why"),
    [
        ({"A": 0.0}, {}, None, "one height"),
        ({"A": 0.0, "B": 254.0}, {}, None, "apart"),
        ({"A": 0.0, "B": 1.0}, {"E": (0, 0)}, None, "no height"),
        ({"A": 0.0, "B": 1.0}, {"A": (0, 0)}, Fall(inch(0.125)), "position of B"),
    ],
)
def test_heights_that_cannot_be_judged_are_refused(
    read: dict[str, float], positions: dict[str, tuple[int, int]], fall: Fall | None, why: str
) -> None:
    with pytest.raises(InputError, match=why):
        level_answer(heights(**read), Unit.INCH, positions=positions, fall=fall)
