"""Lumber sizes, names, board feet, weight and treatment against published figures."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import InputError
from tracker.trade.lengths import FOOT, INCH, MM, inches
from tracker.trade.lumber import (
    SIZES,
    SPECIES_GROUPS,
    STOCK_LENGTHS_NM,
    USE_CATEGORIES,
    board_feet,
    counts_as_ground_contact,
    density_pcf,
    dressed,
    dressed_green,
    grade,
    nominal_in,
    size_name,
    species,
    use_category_ok,
    weight_lb_per_ft,
)

# From memory: PS 20-20 Tables 2 to 4, dry dressed; 1x6 and 4x4 as an inspection bureau prints them.
DRESSED = [
    ("1x4", 0.75, 3.5), ("1x6", 0.75, 5.5), ("1x8", 0.75, 7.25), ("1x10", 0.75, 9.25), ("1x12", 0.75, 11.25),
    ("2x4", 1.5, 3.5), ("2x6", 1.5, 5.5), ("2x8", 1.5, 7.25), ("2x10", 1.5, 9.25), ("2x12", 1.5, 11.25),
    ("5/4x4", 1.0, 3.5), ("5/4x6", 1.0, 5.5), ("4x4", 3.5, 3.5), ("4x6", 3.5, 5.5), ("6x6", 5.5, 5.5),
    ("8x8", 7.5, 7.5),
]  # fmt: skip


@pytest.mark.parametrize(("size", "thick", "deep"), DRESSED)
def test_dressed_sizes_are_those_of_the_lumber_standard(size: str, thick: float, deep: float) -> None:
    piece = dressed(size)
    assert (inches(piece.thickness_nm), inches(piece.depth_nm)) == (thick, deep)


# From memory: PS 20-20 Table 3, surfaced green.
@pytest.mark.parametrize(
    ("size", "thick", "deep"),
    [
        ("2x4", 1.5625, 3.5625),
        ("2x6", 1.5625, 5.625),
        ("2x8", 1.5625, 7.5),
        ("2x10", 1.5625, 9.5),
        ("2x12", 1.5625, 11.5),
    ],
)
def test_green_sizes_are_larger(size: str, thick: float, deep: float) -> None:
    piece = dressed_green(size)
    assert (inches(piece.thickness_nm), inches(piece.depth_nm)) == (thick, deep)
    assert piece.depth_nm > dressed(size).depth_nm


def test_timbers_are_dressed_green_already() -> None:
    assert dressed_green("6x6") == dressed("6x6")


@pytest.mark.parametrize(
    ("typed", "name"),
    [("2 x 8", "2x8"), ("2X8", "2x8"), ('2"x8"', "2x8"), ("2×8", "2x8"), ("2 by 8", "2x8"),
     ("1-1/4x6", "5/4x6"),      ("5/4 X 6", "5/4x6"), ("45 x 195 mm", "45x195"), ("45x195", "45x195")],
)  # fmt: skip
def test_sizes_are_read_as_people_type_them(typed: str, name: str) -> None:
    assert size_name(typed) == name


def test_metric_sizes_are_actual() -> None:
    piece = dressed("45x195")
    assert (piece.thickness_nm, piece.depth_nm) == (45 * MM, 195 * MM)
    with pytest.raises(InputError, match="actual size"):
        board_feet("45x195", 10 * FOOT)


@pytest.mark.parametrize(
    ("typed", "says"),
    [("8x2", "did you mean 2x8"), ("2x9", "did you mean"), ("195x45", "thickness comes first"),
     ("45x990", "600 mm"),      ("", "not a lumber size"), ("plank", "not a lumber size")],
)  # fmt: skip
def test_unknown_sizes_are_refused_with_what_is_right(typed: str, says: str) -> None:
    with pytest.raises(InputError, match=says) as caught:
        dressed(typed)
    assert "2x8" in caught.value.hint or "45x195" in caught.value.hint


@given(st.text(max_size=12))
def test_any_text_is_a_size_or_an_input_error(text: str) -> None:
    try:
        piece = dressed(text)
    except InputError:
        return
    assert 0 < piece.thickness_nm <= piece.depth_nm


# From memory: PS 20-20 section 2, nominal thickness x nominal width x length / 12.
@pytest.mark.parametrize(
    ("size", "feet", "board_ft"), [("2x8", 12, 16), ("5/4x6", 16, 10), ("1x6", 10, 5), ("6x6", 8, 24)]
)
def test_board_feet_count_nominal_sizes(size: str, feet: int, board_ft: float) -> None:
    assert board_feet(size, feet * FOOT) == pytest.approx(board_ft)
    assert board_feet(size, feet * FOOT, 3) == pytest.approx(3 * board_ft)


def test_stock_lengths_run_from_8_to_20_ft_by_2() -> None:
    assert [nm // FOOT for nm in STOCK_LENGTHS_NM] == [8, 10, 12, 14, 16, 18, 20]  # common practice


# Specific gravities of NDS Table 12.3.3A, read in a second-hand copy.
@pytest.mark.parametrize(
    ("typed", "name", "gravity"),
    [("southern pine", "southern pine", 0.55), ("SYP", "southern pine", 0.55),
     ("Douglas Fir-Larch", "douglas fir-larch", 0.50),
     ("douglas fir", "douglas fir-larch", 0.50), ("Hem Fir", "hem-fir", 0.43),
     ("SPF", "spruce-pine-fir", 0.42),
     ("redwood", "redwood", 0.37), ("western cedars", "western cedar", 0.36),
     ("western red cedar", "western cedar", 0.36), ("southernpine", "southern pine", 0.55),
     ("SOUTHERN_PINE", "southern pine", 0.55), ("treated southern-pine", "southern pine", 0.55),
     ("Pine, loblolly", "southern pine", 0.55), ("DF-L", "douglas fir-larch", 0.50),
     ("Douglas fir/larch", "douglas fir-larch", 0.50), ("douglas-fir", "douglas fir-larch", 0.50),
     ("Hemfir", "hem-fir", 0.43), ("S-P-F", "spruce-pine-fir", 0.42)],
)  # fmt: skip
def test_species_are_found_by_the_names_people_use(typed: str, name: str, gravity: float) -> None:
    found = species(typed)
    assert (found.name, found.specific_gravity) == (name, gravity)


def test_an_unknown_species_names_the_nearest_and_the_list() -> None:
    with pytest.raises(InputError, match="did you mean southern pine") as caught:
        species("suthern pine")
    assert "hem-fir" in caught.value.hint
    with pytest.raises(InputError, match="not a structural species group"):
        species("oak")


@pytest.mark.parametrize(
    "typed",
    ["No.2", "no. 2", "#2", "# 2", "2", "No 2", "no2", "NO-2", "Number Two", "grade 2", "#2 or better", "2 & Btr",
     "No.2 & better", "#2&btr", "No.1/No.2", "No.2 Prime"],
)  # fmt: skip
def test_grade_no_2_in_its_spellings(typed: str) -> None:
    assert grade(typed) == "no.2"


def test_an_unknown_grade_lists_the_grades() -> None:
    with pytest.raises(InputError, match="not a grade") as caught:
        grade("prime plus")
    assert "no.2" in caught.value.hint


def test_density_follows_the_supplement_formula() -> None:
    # From memory: NDS Supplement 3.1.3, 62.4 [G / (1 + 0.009 G M)] (1 + M/100): by hand for G 0.55 at 19 %.
    assert density_pcf(0.55, 190) == pytest.approx(62.4 * 0.55 / 1.09405 * 1.19, rel=1e-9)
    # At 0 % it is G times water.
    assert density_pcf(0.5, 0) == pytest.approx(31.2)


def test_weight_of_a_foot_of_joist() -> None:
    # 1-1/2 x 7-1/4 in is 0.07552 ft2; southern pine at 19 % weighs 37.33 lb/ft3 by the formula above.
    assert weight_lb_per_ft("2x8", "southern pine", 190) == pytest.approx(0.0755208 * 37.330, rel=1e-3)


@given(st.sampled_from(sorted(SPECIES_GROUPS)), st.integers(0, 900), st.integers(1, 300))
def test_wetter_wood_is_heavier(name: str, tenths: int, more: int) -> None:
    assert weight_lb_per_ft("2x6", name, tenths + more) > weight_lb_per_ft("2x6", name, tenths)


# AWPA U1 use categories as the trade press quotes them: UC3B above ground exposed, UC4A ground contact.
@pytest.mark.parametrize(
    ("category", "above", "ground"),
    [
        ("UC3A", False, False),
        ("UC3B", True, False),
        ("UC4A", True, True),
        ("uc4b", True, True),
        ("4A", True, True),
    ],
)
def test_use_category_against_exposure(category: str, above: bool, ground: bool) -> None:
    assert use_category_ok(category, ground_contact=False) is above
    assert use_category_ok(category, ground_contact=True) is ground


def test_a_category_good_for_ground_is_good_above_it() -> None:
    for category in USE_CATEGORIES:
        assert use_category_ok(category, False) >= use_category_ok(category, True)


def test_an_unknown_use_category_is_refused() -> None:
    with pytest.raises(InputError, match="did you mean UC4"):
        use_category_ok("UC4AA", True)
    with pytest.raises(InputError, match="no use category"):
        use_category_ok("  ", True)


# AWPA U1, 2016 book, as the treating trade quotes it: under 6 in above ground, or no air or drainage below.
@pytest.mark.parametrize(
    ("clearance_in", "airs", "contact"),
    [(5.9375, True, True), (6, True, False), (12, False, True), (0, True, True)],
)
def test_low_wood_counts_as_ground_contact(clearance_in: float, airs: bool, contact: bool) -> None:
    assert counts_as_ground_contact(int(clearance_in * INCH), drains_and_airs=airs) is contact


def test_every_size_sold_has_its_nominal_name() -> None:
    for size in SIZES:
        thick, wide = nominal_in(size)
        piece = dressed(size)
        assert inches(piece.thickness_nm) < float(thick)
        assert inches(piece.depth_nm) < float(wide)
