"""Nails, screws, clips and boxes, against the trade's rules and the code's nailing schedule."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import InputError
from tracker.trade.fasteners import (
    NAILS,
    Coating,
    boxes,
    clip_count,
    coating_fits,
    coatings,
    fasteners_answer,
    find_nail,
    nails_by_code,
    nails_by_rule,
    nails_per_joint,
    screw_count,
    screw_length_nm,
)
from tracker.trade.layout import joist_marks
from tracker.trade.lengths import FOOT, INCH, Unit
from tracker.trade.lumber import SIZES

# One fastener for every 2 in of nominal width: common practice.
RULE = {"2x4": 2, "2x6": 3, "2x8": 4, "2x10": 5, "2x12": 6}


@pytest.mark.parametrize(("size", "count"), RULE.items())
def test_one_fastener_for_every_two_inches_of_nominal_width(size: str, count: int) -> None:
    assert nails_by_rule(size) == count
    assert nails_per_joint(size) == count


# Rim or band to joist, end nail: 3 of 16d common, or 4 of 10d box. IRC Table R602.3(1), from memory.
# Blocking, end nail: 2 of 16d common. From memory.
@pytest.mark.parametrize(
    ("size", "nail", "least"),
    [("2x6", "16d common", 3), ("2x8", "16d common", 3), ("2x6", "10d box", 4), ("2x4", "16d common", 2)],
)
def test_code_count_by_nail(size: str, nail: str, least: int) -> None:
    assert nails_by_code(size, nail) == least
    assert nails_per_joint(size, nail) >= least


def test_thin_nails_raise_a_two_by_six_to_the_code_count() -> None:
    # Rule 3, code 4 of 10d box (IRC Table R602.3(1), from memory): the code's count stands.
    assert nails_per_joint("2x6", "10d box") == 4


@given(st.sampled_from(sorted(SIZES)), st.sampled_from([nail.name for nail in NAILS]))
def test_never_below_the_rule_nor_the_code(size: str, nail: str) -> None:
    each = nails_per_joint(size, nail)
    assert each >= nails_by_rule(size)
    assert each >= nails_by_code(size, nail)


def test_metric_sizes_count_by_their_actual_width() -> None:
    # 45x195 is sold where 2x8 is: one for every 2 in (50.8 mm) of 195 mm, rounded up, is 4 (common practice).
    assert nails_per_joint("45x195") == 4
    assert nails_per_joint("45x95") == 2


def test_nine_two_by_eight_joists_between_two_rims_take_72() -> None:
    # 9 joists x 2 ends x 4 (common practice).
    answer = fasteners_answer("2x8", 18, Unit.INCH)
    assert answer.answer["per_joint"] == 4
    assert answer.answer["total"] == 72
    assert any("18 joints x 4 = 72" in line for line in answer.working)


def test_answer_without_a_joint_count_has_no_total() -> None:
    assert fasteners_answer("2x10", None, Unit.INCH).answer["total"] is None


@pytest.mark.parametrize("size", ["", "8", "2x9", "two by eight", "2x8x12", "9x9", "-2x8"])
def test_a_size_that_is_not_sold_is_refused_with_what_is(size: str) -> None:
    with pytest.raises(InputError) as caught:
        nails_per_joint(size)
    assert caught.value.hint


def test_unknown_nail_names_the_near_one() -> None:
    with pytest.raises(InputError, match="did you mean 16d common"):
        nails_per_joint("2x8", "16d commn")


@pytest.mark.parametrize("joints", [-1, 10_000_000])
def test_joint_counts_no_deck_has_are_refused(joints: int) -> None:
    with pytest.raises(InputError, match="joints cannot be"):
        fasteners_answer("2x8", joints, Unit.INCH)


# Nail sizes printed in brackets in IBC Table 2304.10.1; 12d common and 20d common from memory (ASTM F1667).
@pytest.mark.parametrize(
    ("name", "length", "diameter"),
    [
        ("8d common", 2.5, 0.131), ("10d common", 3, 0.148), ("16d common", 3.5, 0.162), ("10d box", 3, 0.128),
        ("16d box", 3.5, 0.135), ("12d common", 3.25, 0.148), ("20d common", 4, 0.192),
    ],
)  # fmt: skip
def test_nail_table(name: str, length: float, diameter: float) -> None:
    nail = find_nail(name)
    assert nail.length_nm / INCH == pytest.approx(length)
    assert nail.diameter_nm / INCH == pytest.approx(diameter)


# Bright common nails in a pound as carpentry handbooks print them, from memory: 8d 106, 10d 69, 16d 49, 20d 31.
@pytest.mark.parametrize(
    ("name", "printed"), [("8d common", 106), ("10d common", 69), ("16d common", 49), ("20d common", 31)]
)
def test_nails_in_a_pound_from_the_weight_of_steel(name: str, printed: int) -> None:
    assert find_nail(name).per_pound == pytest.approx(printed, rel=0.04)


# Screws in a hundred square feet of 5-1/2 in boards, 1/8 in apart, two at each joist: the "about 350 per 100 ft2"
# rule of thumb (common practice) holds for mid-size decks at 16 in on centre; closer joists take more.
@pytest.mark.parametrize(
    ("along_ft", "across_ft", "spacing_in", "per_100"),
    [(16, 12, 16, 352), (20, 14, 16, 343), (10, 10, 16, 396), (16, 12, 12, 460)],
)
def test_screws_for_whole_decks(along_ft: int, across_ft: int, spacing_in: int, per_100: int) -> None:
    lines = len(joist_marks(along_ft * FOOT, spacing_in * INCH, 3 * INCH // 2))
    boards = -(-(across_ft * FOOT + INCH // 8) // (45 * INCH // 8))
    screws = screw_count(boards, lines)
    assert round(screws / (along_ft * across_ft) * 100) == per_100


# 2-1/2 in for 5/4, 3 in for 2x: common practice, at least 1-1/2 in into the joist.
@pytest.mark.parametrize(("board", "screw"), [(1, 2.5), (1.5, 3), (0.75, 2.5), (2.5, 4)])
def test_screw_length(board: float, screw: float) -> None:
    assert screw_length_nm(round(board * INCH)) == round(screw * INCH)


def test_no_stock_screw_for_a_three_inch_plank() -> None:
    with pytest.raises(InputError, match="no stock deck screw"):
        screw_length_nm(3 * INCH)


@given(st.integers(0, 5000), st.integers(1, 1000), st.integers(0, 300))
def test_boxes_hold_the_pieces_and_the_spare_and_no_box_is_idle(pieces: int, box: int, spare: int) -> None:
    count = boxes(pieces, box, spare)
    wanted = pieces * (1 + spare / 1000)
    assert count * box >= wanted - 1e-6
    assert count == 0 or (count - 1) * box < wanted + 1e-6


def test_a_box_of_nothing_is_refused() -> None:
    with pytest.raises(InputError):
        boxes(10, 0)


def test_clips_sit_in_the_gaps_and_the_outer_edges_are_screwed() -> None:
    # Common practice: 10 boards have 9 gaps; 13 joists; both outer edges face-screwed.
    assert clip_count(10, 13) == (117, 26)
    assert clip_count(0, 13) == (0, 0)


# IRC R317.3.1, from memory: treated wood wants hot-dip galvanised, stainless, silicon bronze or copper.
@pytest.mark.parametrize("coating", [Coating.HOT_DIP, Coating.STAINLESS, Coating.BRONZE, Coating.COPPER])
def test_coatings_that_last_in_treated_wood(coating: Coating) -> None:
    assert coating_fits(coating, treated=True)


@pytest.mark.parametrize("coating", [Coating.BRIGHT, Coating.ELECTRO])
def test_thin_zinc_and_bright_steel_do_not(coating: Coating) -> None:
    assert not coating_fits(coating, treated=True)


def test_at_the_coast_only_stainless_lasts() -> None:
    assert coatings(treated=True, coast=True) == (Coating.STAINLESS,)
    assert not coating_fits(Coating.HOT_DIP, treated=True, coast=True)


def test_the_total_comes_with_its_weight_and_boxes() -> None:
    # 72 of 16d common, 3-1/2 x 0.162 in (IBC Table 2304.10.1), steel at 490 lb/ft3: 0.0205 lb each.
    answer = fasteners_answer("2x8", 18, Unit.INCH).answer
    each = math.pi / 4 * 0.162**2 * 3.5 * 490 / 1728
    assert answer["weight_lb"] == pytest.approx(72 * each, rel=0.03)
    assert answer["boxes_5lb"] == 1
    assert fasteners_answer("2x8", 100, Unit.INCH).answer["boxes_5lb"] == math.ceil(400 * each / 5)
    assert fasteners_answer("2x8", None, Unit.INCH).answer["boxes_5lb"] is None


def test_a_penny_size_alone_is_asked_back_by_its_kinds() -> None:
    with pytest.raises(InputError, match="16d common, 16d box or 16d sinker"):
        find_nail("16d")
