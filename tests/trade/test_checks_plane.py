"""The square and level checks of an invented job, as typed at a shell."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.trade.geometry_cases import GROUND, case_of, inch, judged
from tracker.errors import InputError
from tracker.trade.answer import Verdict
from tracker.trade.checks.plane import BLOCK_LEVEL, LAYOUT_SQUARE, LEVEL, SQUARE
from tracker.trade.lengths import Unit
from tracker.trade.spec import Attachment, Beam, Support

ATTACHED = replace(GROUND, attachment=Attachment.HOUSE)
RAISED = replace(
    GROUND,
    support=Support.FOOTINGS,
    beams=(Beam(2, "2x10", inch(100), 3, "6x6"), Beam(2, "2x10", inch(12), 3, "6x6")),
)
METRIC = replace(GROUND, width_nm=3000 * 10**6, depth_nm=4000 * 10**6)


@pytest.mark.parametrize("check", [SQUARE, LAYOUT_SQUARE])
def test_four_bare_values_are_width_depth_and_the_diagonals(check: object) -> None:
    assert check in (SQUARE, LAYOUT_SQUARE)
    answer = judged(SQUARE if check is SQUARE else LAYOUT_SQUARE, "120 147 190 189.5")
    assert answer.verdict is Verdict.FAILED
    assert answer.answer["push_in"] == pytest.approx(0.395, abs=0.0005)  # (190² - 189.5²) / (4 · 120)


def test_the_frame_is_pushed_and_strings_are_moved() -> None:
    assert judged(SQUARE, "120 147 190 189.5").moves[0] == "push the back edge 3/8 in to the left"
    assert judged(LAYOUT_SQUARE, "120 147 190 189.5").moves[0] == "move both back stakes 3/8 in to the left"


def test_an_edge_on_the_house_stays_put() -> None:
    assert judged(SQUARE, "120 147 190 189.5", case_of(ATTACHED)).moves[0] == "push the front edge 3/8 in to the right"


def test_sides_not_measured_come_from_the_plan_and_the_working_says_so() -> None:
    answer = judged(SQUARE, "ac=190 bd=189.5")
    assert answer.answer["push_in"] == pytest.approx(0.395, abs=0.0005)
    assert "width not measured: the planned 10' is used" in answer.working
    assert "depth not measured: the planned 12' 3\" is used" in answer.working


def test_equal_diagonals_of_the_right_length_pass() -> None:
    answer = judged(SQUARE, "120 147 189.75 189.75")
    assert answer.verdict is Verdict.PASSED
    assert answer.moves == ()


@pytest.mark.parametrize(("given", "wanted"), [("right", "back"), ("back", "right")])
def test_one_further_edge_alone_is_not_passed_over(given: str, wanted: str) -> None:
    edge = "147" if given == "right" else "120"
    answer = judged(SQUARE, f"120 147 189.75 189.75 {given}={edge}")
    assert answer.verdict is Verdict.INCOMPLETE
    assert answer.moves == (f"read the {wanted} edge too, or leave the {given} edge out",)


def test_a_missing_diagonal_is_asked_for() -> None:
    answer = judged(SQUARE, "ac=190")
    assert answer.verdict is Verdict.INCOMPLETE
    assert answer.moves == ("read diagonal B to D",)


def test_the_house_rule_decides() -> None:
    answer = judged(SQUARE, "120 147 190 189.5", case_of(rules={"square_medium": inch(0.5)}))
    assert answer.verdict is Verdict.PASSED
    assert answer.limits[0].source == "house rule"
    assert "1/4 in" in answer.limits[0].published


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("190 189.5", "too far from the 10' of the plan"),  # two diagonals in the sides' places
        ("3048 147 190 189.5", "millimetres typed into an inch job"),
        ("120 147 4826 189.5", "millimetres typed into an inch job"),
        ("120 147 100 189.5", "not longer than the depth"),
        ("0 147 190 189.5", "more than nothing"),
    ],
)
def test_wrong_readings_are_refused(typed: str, why: str) -> None:
    with pytest.raises(InputError, match=why):
        judged(SQUARE, typed)


def test_inches_in_a_millimetre_job_are_refused() -> None:
    with pytest.raises(InputError, match="inches typed into a millimetre job"):
        judged(SQUARE, "3000 4000 197 197", case_of(METRIC, Unit.MM))
    assert judged(SQUARE, "3000 4000 5000 5000", case_of(METRIC, Unit.MM)).verdict is Verdict.PASSED


def test_the_frame_is_level_at_four_corners() -> None:
    answer = judged(LEVEL, "A=0 B=1/8 C=1/4 D=0")
    assert answer.verdict is Verdict.PASSED
    assert answer.answer["high_point"] == "C"
    assert "out_of_plane_in" in answer.answer
    assert answer.working[-1] == "not read: AB, BC, CD, DA"


def test_a_corner_left_out_is_asked_for() -> None:
    answer = judged(LEVEL, "A=0 B=1/8 C=1/4 AB=0")
    assert answer.verdict is Verdict.INCOMPLETE
    assert "height at D" in answer.headline


def test_a_low_corner_gets_its_blocks() -> None:
    answer = judged(LEVEL, "A=0 B=0 C=-3/8 D=0")
    assert answer.verdict is Verdict.FAILED
    assert answer.answer["blocks_in"] == {"A": 0, "B": 0, "C": 0.375, "D": 0}
    assert "C: up 3/8 in, put 1/4 in + 1/8 in under it" in answer.moves
    assert "only a jack" in answer.caution


def test_rod_readings_are_turned_over() -> None:
    assert judged(LEVEL, "reads=rod A=48 B=48 C=48-5/8 D=48").answer["blocks_in"] == {
        "A": 0,
        "B": 0,
        "C": 0.625,
        "D": 0,
    }


def test_a_planned_fall_to_the_front_is_taken_out() -> None:
    # 1/8 in per foot over 12 ft 3 in is 1-17/32 in.
    answer = judged(LEVEL, "fall=1/8 A=0 B=0 C=1-1/2 D=1-1/2")
    assert answer.verdict is Verdict.PASSED
    assert answer.answer["spread_in"] == pytest.approx(1 / 32, abs=1e-6)


def test_a_metric_fall_is_per_metre() -> None:
    # 10 mm per metre over 4 m is 40 mm.
    answer = judged(LEVEL, "fall=10 toward=back A=40 B=40 C=0 D=0", case_of(METRIC, Unit.MM))
    assert answer.answer["spread_in"] == pytest.approx(0, abs=1e-4)


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("fall=6 A=0 B=0 C=0 D=0", "ramp"),
        ("fall=1/8 A=0 B=0 C=0 D=0 step=0", "position of step"),
        ("A=0 B=0 C=1219 D=0", "apart"),
    ],
)
def test_heights_that_cannot_be_are_refused(typed: str, why: str) -> None:
    with pytest.raises(InputError, match=why):
        judged(LEVEL, typed)


def test_blocks_are_named_by_joist_and_letter() -> None:
    rows = BLOCK_LEVEL.form(case_of()).rows
    # 9 joists (120 in at 16 in), each held at 4 places (12 ft at 5 ft)
    assert (len(rows), rows[0], rows[3], rows[-1]) == (36, "1a", "1d", "9d")
    answer = judged(BLOCK_LEVEL, "1a=0 1d=0 9a=0 9d=3/8 5b=0")
    assert (answer.verdict, answer.answer["high_point"]) == (Verdict.FAILED, "9d")
    assert judged(BLOCK_LEVEL, "1a=0 1d=0 9a=0").verdict is Verdict.INCOMPLETE


def test_posts_are_numbered_and_all_read() -> None:
    case = case_of(RAISED)
    assert BLOCK_LEVEL.form(case).rows == ("P1", "P2", "P3", "P4", "P5", "P6")
    assert judged(BLOCK_LEVEL, "P1=0 P2=0", case).verdict is Verdict.INCOMPLETE
    assert judged(BLOCK_LEVEL, "P1=0 P2=0 P3=0 P4=1/8 P5=0 P6=0", case).verdict is Verdict.PASSED


def test_supports_are_checked_where_there_are_some() -> None:
    job = case_of().job
    assert BLOCK_LEVEL.applies(job, GROUND)
    assert BLOCK_LEVEL.applies(job, RAISED)
    assert not BLOCK_LEVEL.applies(job, replace(GROUND, support=Support.PLATFORM))


def test_the_level_checks_advise_by_what_is_under_the_points() -> None:
    # Common practice: posts are trimmed to one line, blocks bedded again, over 1/2 in of shims.
    raised = case_of(replace(RAISED, height_nm=inch(66)))
    posts = judged(BLOCK_LEVEL, "P1=0 P2=2 P3=0 P4=0 P5=0 P6=0", raised)
    assert posts.verdict is Verdict.FAILED and posts.moves[1] == "P2: 2 in off"
    assert "longer" in judged(LEVEL, "A=0 B=0 C=0 D=2", raised).moves[1]
    assert any("re-bed its block" in move for move in judged(LEVEL, "A=0 B=0 C=0 D=2").moves)
