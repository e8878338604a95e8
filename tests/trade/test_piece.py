"""Board feet, weight and use of a piece of lumber, and boards by the screw and the clip."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import InputError
from tracker.trade.fasteners import boards_answer
from tracker.trade.lengths import FOOT, INCH, SIXTEENTH
from tracker.trade.piece import piece_answer


@pytest.mark.parametrize(
    ("size", "feet", "board_feet"), [("2x8", 12, 16), ("5/4x6", 16, 10), ("1x6", 10, 5), ("6x6", 8, 24)]
)
def test_board_feet(size: str, feet: int, board_feet: float) -> None:
    # From memory: PS 20 section 2, nominal thickness x nominal width x feet / 12, under 1 in counted as 1 in.
    assert piece_answer(size, feet * FOOT, 1, "southern pine", 190).answer["board_feet"] == board_feet


def test_a_wet_joist_worked_by_hand() -> None:
    # From memory: NDS Supplement 3.1.3, 62.4 G / (1 + 0.009 G M) (1 + M/100): G 0.55, M 28: 38.59 lb/ft3; a 12 ft 2x8 of
    # 1-1/2 x 7-1/4 in holds 0.90625 ft3.
    pcf = 62.4 * 0.55 / (1 + 0.009 * 0.55 * 28) * 1.28
    got = piece_answer("2x8", 12 * FOOT, 10, "southern pine", 280).answer
    assert got["weight_lb"] == pytest.approx(pcf * 0.90625, abs=0.05)
    assert got["total_lb"] == pytest.approx(10 * pcf * 0.90625, abs=0.5)
    assert (got["thickness_in"], got["depth_in"], got["green_depth_in"]) == (1.5, 7.25, 7.5)


def test_a_heavy_piece_takes_two_people() -> None:
    assert not piece_answer("2x6", 8 * FOOT, 1, "southern pine", 190).moves
    assert "two people" in piece_answer("6x6", 12 * FOOT, 1, "southern pine", 300).moves[0]


@pytest.mark.parametrize(
    ("use", "clearance", "ok"),
    [("UC3B", 6 * INCH, True), ("UC3B", 6 * INCH - SIXTEENTH, False), ("UC4A", 0, True), ("UC3A", 40 * INCH, False)],
)
def test_wood_within_6_in_of_the_ground_wants_ground_contact_treatment(use: str, clearance: int, ok: bool) -> None:
    # AWPA U1 (2016 book) as the treating trade quotes it: ground contact under 6 in, UC3B above.
    got = piece_answer("2x8", 12 * FOOT, 1, "southern pine", 190, use=use, clearance_nm=clearance)
    assert got.answer["use_ok"] is ok
    assert bool([move for move in got.moves if "ask for UC" in move]) is not ok


@given(st.integers(1, 200), st.integers(1, 200))
def test_more_pieces_weigh_more_in_proportion(one: int, other: int) -> None:
    single = piece_answer("2x8", 10 * FOOT, 1, "hem-fir", 190).answer["weight_lb"]
    both = piece_answer("2x8", 10 * FOOT, one + other, "hem-fir", 190).answer["total_lb"]
    assert isinstance(single, float) and isinstance(both, float)
    assert both == pytest.approx(single * (one + other), rel=0.01)


def test_lifts_that_cannot_be_are_refused() -> None:
    for pieces, length in ((0, FOOT), (1, 0), (1, 61 * FOOT)):
        with pytest.raises(InputError, match="no such lift"):
            piece_answer("2x8", length, pieces, "southern pine", 190)


def test_screws_and_clips_of_a_deck() -> None:
    # Common practice: 2 screws a crossing, a clip in every gap at every joist, the outer edges screwed. 12 by 16 ft of
    # 5-1/2 in boards at 16 in: 26 rows over 13 joists take 676 screws, about 350 for 100 ft2.
    got = boards_answer(26, 13).answer
    assert got == {"crossings": 338, "screws": 676, "clips": 325, "clip_screws": 26}
    assert got["screws"] / 1.92 == pytest.approx(350, rel=0.02)  # type: ignore[operator]
    with pytest.raises(InputError, match="cannot be"):
        boards_answer(0, 13)
