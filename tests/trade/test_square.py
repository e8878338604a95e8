"""Squareness: two sides and two diagonals, and the best fit of six tapes."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.trade.geometry_cases import inch, racked, tapes
from tracker.errors import InputError
from tracker.trade.answer import Verdict
from tracker.trade.bestfit import READINGS, best_fit
from tracker.trade.lengths import INCH, Unit
from tracker.trade.rules import Rules
from tracker.trade.square import corner_off_plane, racking, square_answer


def number(value: object) -> float:
    assert isinstance(value, int | float)
    return float(value)


def test_the_ten_by_twelve_frame_half_an_inch_out() -> None:
    # Common practice, worked by hand: √(120² + 147²) = 189.76; (190² - 189.5²) / (4 · 120) = 0.395.
    answer = square_answer(inch(120), inch(147), inch(190), inch(189.5), Unit.INCH, rules=Rules())
    assert set(answer.answer) == {"diagonal_in", "difference_in", "push_in", "push_along", "tape_error_in"}
    assert answer.answer["diagonal_in"] == pytest.approx(189.76, abs=0.005)
    assert answer.answer["difference_in"] == 0.5
    assert answer.answer["push_in"] == pytest.approx(0.395, abs=0.0005)
    assert answer.answer["push_along"] == "the width edge (10')"
    assert abs(number(answer.answer["tape_error_in"])) < 0.02
    assert answer.verdict is Verdict.FAILED
    assert answer.moves[0] == "push the back edge 3/8 in to the left"


@pytest.mark.parametrize("scale", [1, 2, 3, 4, 8])
def test_the_three_four_five_family(scale: int) -> None:
    # 3-4-5, 6-8-10, 9-12-15, 12-16-20 and 24-32-40: the carpenter's right triangles (common practice).
    a, b, c = 36 * scale, 48 * scale, 60 * scale
    answer = square_answer(inch(a), inch(b), inch(c), inch(c), Unit.INCH)
    assert answer.answer["diagonal_in"] == c
    assert answer.answer["push_in"] == 0
    assert answer.answer["tape_error_in"] == 0


def test_a_twelve_by_sixteen_racked_a_quarter_inch_shows_four_tenths() -> None:
    # Plane geometry: shifting a side L by s parts the diagonals D by about 2·L·s/D = 2·192·0.25/240.
    _, (ac, bd) = tapes(racked(192, 144, 0.25))
    assert ac - bd == pytest.approx(0.40, abs=0.001)
    assert racking(inch(192), inch(ac), inch(bd)) / INCH == pytest.approx(0.25, abs=1e-6)


@given(
    width=st.integers(36, 600),
    depth=st.integers(36, 600),
    lean=st.floats(-0.05, 0.05),
)
def test_the_push_makes_the_diagonals_equal(width: int, depth: int, lean: float) -> None:
    a, b, c, d = racked(width, depth, lean * depth)
    _, (ac, bd) = tapes((a, b, c, d))
    push = float(racking(inch(width), inch(ac), inch(bd))) / INCH
    pushed = ((c[0] - push, c[1]), (d[0] - push, d[1]))
    assert math.dist(a, pushed[0]) == pytest.approx(math.dist(b, pushed[1]), abs=1e-6)


@given(
    lean=st.floats(-0.03, 0.03),
    noise=st.lists(st.integers(-1, 1), min_size=2, max_size=2),
)
def test_racking_is_recovered_from_tapes_read_to_a_sixteenth(lean: float, noise: list[int]) -> None:
    shift = 147 * lean
    _, diagonals = tapes(racked(120, 147, shift))
    ac, bd = (round(t * 16 + n) / 16 for t, n in zip(diagonals, noise, strict=True))
    # Each diagonal is off by at most 3/32 in: 2 · 190 · 2 · 3/32 / (4 · 120) = 0.15 in.
    assert float(racking(inch(120), inch(ac), inch(bd))) / INCH == pytest.approx(shift, abs=0.16)


@pytest.mark.parametrize(
    ("ac", "bd", "front", "words"),
    [
        (190, 189.5, False, "push the back edge 3/8 in to the left"),
        (189.5, 190, False, "push the back edge 3/8 in to the right"),
        (190, 189.5, True, "push the front edge 3/8 in to the right"),
        (189.5, 190, True, "push the front edge 3/8 in to the left"),
    ],
)
def test_which_edge_goes_which_way(ac: float, bd: float, front: bool, words: str) -> None:
    answer = square_answer(inch(120), inch(147), inch(ac), inch(bd), Unit.INCH, rules=Rules(), push_front=front)
    assert answer.moves[0] == words


@pytest.mark.parametrize(
    ("side", "difference", "passed"),
    [  # common practice: 1/8 in up to 12 ft of diagonal, 1/4 up to 20 ft, 3/8 beyond
        (96, 0.125, True), (96, 0.1875, False), (120, 0.25, True), (120, 0.3125, False),
        (240, 0.375, True), (240, 0.4375, False),
    ],
)  # fmt: skip
def test_the_tolerance_grows_with_the_diagonal(side: int, difference: float, passed: bool) -> None:
    mean = math.hypot(side, side)
    mean = round(mean * 64) / 64
    answer = square_answer(
        inch(side),
        inch(side),
        inch(mean + difference / 2),
        inch(mean - difference / 2),
        Unit.INCH,
        rules=Rules(),
    )
    assert (answer.verdict is Verdict.PASSED) is passed


def test_a_typed_tolerance_replaces_the_default_and_both_stay_in_sight() -> None:
    answer = square_answer(inch(120), inch(147), inch(190), inch(189.5), Unit.INCH, inch(0.5))
    assert answer.verdict is Verdict.PASSED
    limit = answer.limits[0]
    assert (limit.text, limit.source) == ("1/2 in", "as typed")
    assert "1/4 in" in limit.published
    # Remodeler performance standard, floor square: 12 ft and 16 ft legs give 20 ft ± 1/2 in on the diagonal.
    assert "20 ft ± 1/2 in" in limit.published


def test_a_figure_with_no_tolerance_judges_nothing_but_shows_the_default() -> None:
    answer = square_answer(inch(120), inch(147), inch(190), inch(189.5), Unit.INCH)
    assert answer.verdict is None
    assert answer.limits[0].text == "1/4 in"


def test_tapes_that_contradict_each_other_are_read_again_before_anything_is_pushed() -> None:
    answer = square_answer(inch(120), inch(147), inch(191), inch(191), Unit.INCH, rules=Rules())
    assert answer.verdict is Verdict.FAILED
    assert answer.answer["tape_error_in"] == pytest.approx(191 - 189.7604, abs=0.001)
    assert "again" in answer.moves[0]
    assert not any("push the" in move for move in answer.moves)


@pytest.mark.parametrize("lift", [4.0, 20.0])
def test_wind_is_told_apart_from_a_misread_tape(lift: float) -> None:
    # Two triangles of a square frame hinged on BD, C lifted about lift off the plane of A, B, D:
    # opposite edges stay equal, both diagonals are true lengths in space.
    a, b = 120.0, 147.0
    hinge = math.hypot(a, b)
    height = a * b / hinge  # of C over the hinge
    turn = math.asin(lift / height)
    # A and C lie on opposite sides of the hinge, their feet hinge - 2·foot apart along it.
    along = hinge - 2 * (a * a / hinge)
    across = height + height * math.cos(turn)
    ac = math.sqrt(along**2 + across**2 + lift**2)
    assert corner_off_plane(inch(a), inch(b), inch(ac), inch(hinge)) / INCH == pytest.approx(lift, rel=0.02)
    answer = square_answer(inch(a), inch(b), inch(ac), inch(hinge), Unit.INCH, rules=Rules())
    # Four inches of wind hardly shorten a diagonal: a quarter inch of tape error is never that.
    assert (abs(number(answer.answer["tape_error_in"])) < 0.25) is (lift == 4)
    assert any("wind" in line for line in answer.working) is (lift == 20)


@pytest.mark.parametrize(
    ("width", "depth", "ac", "bd", "why"),
    [
        (0, 147, 190, 190, "more than nothing"),
        (120, 147, 0, 190, "more than nothing"),
        (120, -147, 190, 190, "more than nothing"),
        (120, 147, 140, 190, "not longer than the depth"),
        (120, 147, 190, 268, "longer than width and depth together"),
        (120, 147, 4826, 190, "millimetres typed into an inch job"),
        (120, 147, 190, 4813, "millimetres typed into an inch job"),
        (3048, 147, 190, 189.5, "millimetres typed into an inch job"),
    ],
)
def test_impossible_readings_are_refused_with_the_reason(
    width: float, depth: float, ac: float, bd: float, why: str
) -> None:
    with pytest.raises(InputError, match=why):
        square_answer(inch(width), inch(depth), inch(ac), inch(bd), Unit.INCH)


def test_a_metric_frame_answers_in_millimetres() -> None:
    mm = 1_000_000
    answer = square_answer(3000 * mm, 4000 * mm, 5010 * mm, 4990 * mm, Unit.MM, rules=Rules())
    # (5010² - 4990²) / (4 · 3000) = 200 000 / 12 000 = 16.7 mm
    assert answer.moves[0] == "push the back edge 17 mm to the left"


def read(corners: tuple[tuple[float, float], ...], noise: list[float]) -> tuple[list[int], list[int]]:
    sides, diagonals = tapes(corners)
    noisy = [inch(t + n) for t, n in zip([*sides, *diagonals], noise, strict=True)]
    return noisy[:4], noisy[4:]


@given(
    width=st.integers(72, 300),
    depth=st.integers(72, 300),
    lean=st.floats(-0.02, 0.02),
    seed=st.integers(0, 10_000),
)
def test_best_fit_recovers_racking_from_noisy_tapes(width: int, depth: int, lean: float, seed: int) -> None:
    # Plane geometry: a racking s parts the diagonals D by 2 s W / D, so tapes 1/32 in off each move it by 1/16 x D / 2 W and as much
    # again through the sides. A lean within twice that is no test: to answer 0 would pass.
    off = 1 / 16 * math.hypot(width, depth) / width + 0.01
    assume(abs(lean * depth) > 2 * off)
    rng = random.Random(seed)
    noise = [rng.uniform(-1 / 32, 1 / 32) for _ in range(6)]
    fit = best_fit(*read(racked(width, depth, lean * depth), noise))
    assert fit.racking_nm / INCH == pytest.approx(lean * depth, abs=off)
    assert max(map(abs, fit.residuals_nm.values())) <= INCH / 16


@pytest.mark.parametrize("index", range(6))
@pytest.mark.parametrize("error", [1.0, -1.0, 12.0])
@pytest.mark.parametrize("shift", [0.25, -0.375])
def test_best_fit_names_the_one_misread_tape(index: int, error: float, shift: float) -> None:
    noise = [0.02, -0.02, 0.01, 0.0, -0.01, 0.02]
    noise[index] += error
    fit = best_fit(*read(racked(120, 147, shift), noise))
    assert fit.suspect == READINGS[index]
    # The other tapes are up to 0.02 in off: on diagonals of 189.8 in that moves the racking by 2 x 189.8 x 0.04 / (4 x 120) = 0.032.
    assert fit.misread_nm / INCH == pytest.approx(error, abs=0.032)
    assert fit.racking_nm / INCH == pytest.approx(shift, abs=0.032)
    assert fit.or_else == ((READINGS[9 - index],) if index > 3 else ())


@given(st.lists(st.floats(-1 / 32, 1 / 32), min_size=6, max_size=6), st.integers(96, 240), st.integers(96, 240))
def test_best_fit_accuses_nobody_of_a_sixteenth(noise: list[float], width: int, depth: int) -> None:
    fit = best_fit(*read(racked(width, depth, 0.5), noise), tolerance_nm=inch(0.75))
    assert fit.suspect == ""
    assert fit.racking_nm / INCH == pytest.approx(0.5, abs=1 / 16 * math.hypot(width, depth) / width + 0.01)
    # One tape an inch and a half off is no sixteenth: the tape is named.
    wrong = [noise[0] + 1.5, *noise[1:]]
    assert best_fit(*read(racked(width, depth, 0.5), wrong), tolerance_nm=inch(0.75)).suspect == READINGS[0]


def test_best_fit_accepts_a_frame_that_is_no_parallelogram() -> None:
    corners = ((0.0, 0.0), (120.0, 0.0), (118.0, 147.0), (0.5, 146.0))
    sides, diagonals = read(corners, [0.0] * 6)
    fit = best_fit(sides, diagonals)
    assert fit.suspect == ""
    for found, true in zip(fit.corners, corners, strict=True):
        assert [x / INCH for x in found] == pytest.approx(true, abs=1e-4)


@pytest.mark.parametrize(
    ("sides", "diagonals", "why"),
    [
        ([120, 147, 120, 147], [300, 190], "longer than"),
        ([120, 147, 120, 147], [120, 120], "cannot belong to one frame"),
        ([120, 147, 120, 0], [190, 190], "more than nothing"),
        ([120, 147, 120], [190, 190], "four sides"),
    ],
)
def test_best_fit_rejects_a_set_no_frame_has(sides: list[float], diagonals: list[float], why: str) -> None:
    with pytest.raises(InputError, match=why):
        best_fit([inch(s) for s in sides], [inch(d) for d in diagonals])
