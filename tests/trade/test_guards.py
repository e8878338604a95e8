"""Guards against IRC R312.1 (2018) as a county prints it: over 30 in, 36 in high, no 4 in sphere."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import InputError
from tracker.trade.guards import BUILD_OPENING_NM, guard_answer, guard_layout, infill
from tracker.trade.lengths import FOOT, INCH, SIXTEENTH, parse_length


@pytest.mark.parametrize(
    ("height_nm", "required"),
    [(30 * INCH, False), (30 * INCH - SIXTEENTH, False), (30 * INCH + SIXTEENTH, True), (30 * INCH + 1, True),
     (0, False), (8 * FOOT, True)],
)  # fmt: skip
def test_a_guard_is_required_over_30_in_and_not_at_it(height_nm: int, required: bool) -> None:
    got = guard_answer(height_nm)
    assert got.answer == {"required": required, "height_in": 36, "opening_in": 4}
    assert "within 36 in of the edge" in got.moves[0]


def test_a_guard_height_out_of_reason_is_refused() -> None:
    with pytest.raises(InputError, match="no height for a deck"):
        guard_answer(-1)
    with pytest.raises(InputError, match="no height for a deck"):
        guard_answer(101 * FOOT)


def test_guard_answers_defer_to_code_and_licence() -> None:
    for got in (guard_answer(31 * INCH), guard_answer(20 * INCH), guard_layout(12 * FOOT, 3 * INCH, INCH)):
        assert "adopted local code" in got.caution
        assert "R312.1" in got.caution


SIZES = st.integers(INCH // 2, 6 * INCH)


@given(st.integers(INCH, 8 * FOOT), SIZES)
def test_balusters_are_the_fewest_that_keep_a_ball_out(clear_nm: int, baluster_nm: int) -> None:
    try:
        got = infill(clear_nm, baluster_nm)
    except InputError as error:
        assert "do not fit" in error.message
        return
    assert got.gap_nm <= BUILD_OPENING_NM < 4 * INCH
    assert got.balusters * baluster_nm + (got.balusters + 1) * got.gap_nm == clear_nm
    if got.balusters:
        one_less = (clear_nm - (got.balusters - 1) * baluster_nm) / got.balusters
        assert one_less > BUILD_OPENING_NM


def test_infill_worked_by_hand() -> None:
    # 68-1/2 in clear, 1-1/2 in balusters, gaps to 3-7/8:
    # (68.5 - 3.875) / 5.375 = 12.02, so 13, and the gap is 49/14 = 3.5 in.
    got = infill(parse_length("68-1/2"), parse_length("1-1/2"))
    assert got.balusters == 13
    assert got.gap_nm == parse_length("3-1/2")


def test_gaps_a_ball_would_pass_are_refused() -> None:
    with pytest.raises(InputError, match="4 in ball"):
        infill(60 * INCH, INCH, 4 * INCH)
    with pytest.raises(InputError, match="not more than 0"):
        infill(0, INCH)


@given(st.integers(2 * FOOT, 60 * FOOT))
def test_posts_stand_within_6_ft(length_nm: int) -> None:
    # From memory: DCA 6 guard details, posts at 6 ft on centre at most.
    got = guard_layout(length_nm, parse_length("3-1/2"), parse_length("1-1/2")).answer
    spacing, posts = got["post_spacing_in"], got["posts"]
    assert isinstance(spacing, float)
    assert isinstance(posts, int)
    assert spacing <= 72
    assert spacing * (posts - 1) == pytest.approx((length_nm - parse_length("3-1/2")) / INCH, abs=0.01)


def test_a_guard_too_short_for_its_posts_is_refused() -> None:
    with pytest.raises(InputError, match="does not hold two posts"):
        guard_layout(6 * INCH, parse_length("3-1/2"), INCH)
