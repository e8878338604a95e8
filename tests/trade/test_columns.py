"""Posts as columns: the stability check worked by hand, beside the height tables it must not stand against."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tracker.errors import InputError
from tracker.trade.columns import column
from tracker.trade.lengths import FOOT, INCH, Unit
from tracker.trade.postheight import post_answer
from tracker.trade.suggest import suggest_post


@pytest.mark.parametrize(
    ("wood", "crushing", "ratio", "share", "pounds"),
    [
        # Southern pine 4x4 at 6-8, NDS 3.7.1 by hand: F_c* = 1450 x 0.8 = 1160 psi; E_min' = 510,000 x 0.9; 80 / 3.5 = 22.857;
        # F_cE = 0.822 x 459,000 / 522.4 = 722.2 psi; over F_c* 0.6226; C_P = 1.0141 - sqrt(1.0284 - 0.7782) = 0.5139; x 12.25 in2.
        ("southern pine", 1160.0, 0.6226, 0.5139, 7303),
        # Hem-fir, incised: 1300 x 1.15 x 0.8 x 0.8 = 956.8 psi; E_min' = 470,000 x 0.9 x 0.95; F_cE = 632.3 psi; 0.6609;
        # C_P = 1.0380 - sqrt(1.0775 - 0.8261) = 0.5366.
        ("hem-fir", 956.8, 0.6609, 0.5366, 6289),
    ],
)
def test_a_4x4_of_6_ft_8_worked_by_hand(wood: str, crushing: float, ratio: float, share: float, pounds: float) -> None:
    post = column("4x4", wood)
    assert post.crushing_psi == pytest.approx(crushing)
    assert 0.822 * post.e_min_psi / (80 / 3.5) ** 2 / post.crushing_psi == pytest.approx(ratio, abs=1e-4)
    assert post.stability(80) == pytest.approx(share, abs=1e-4)
    assert post.carries_lb(80) == pytest.approx(pounds, abs=1)


@pytest.mark.parametrize(
    ("size", "area_ft2", "printed_in"),
    # A town's approved deck plan (2023): Douglas fir, hem-fir and spruce-pine-fir, No.2 wet and incised, 60 + 10 psf: 4x4 8-7 on
    # 60 ft2; 4x6 11-1, 9-5, 8-2, 7-3 on 60 to 120; 6x6 13-3 and 10-9 on 120 and 140.
    [("4x4", 60, 103), ("4x6", 60, 133), ("4x6", 80, 113), ("4x6", 100, 98), ("4x6", 120, 87), ("6x6", 120, 159), ("6x6", 140, 129)],
)  # fmt: skip
def test_hem_fir_columns_compute_to_the_heights_a_town_printed(size: str, area_ft2: int, printed_in: int) -> None:
    assert column(size, "hem-fir").height_in(70 * area_ft2) == pytest.approx(printed_in, rel=0.025)


@settings(max_examples=examples(60, 1200), deadline=None)
@given(
    st.sampled_from(["4x4", "4x6", "6x6", "8x8"]), st.sampled_from(["southern pine", "hem-fir", "redwood", "western cedar"]),
    st.floats(6, 120), st.floats(100, 20_000),
)  # fmt: skip
def test_height_and_load_of_a_column_are_one_curve(size: str, wood: str, height_in: float, load: float) -> None:
    post = column(size, wood)
    assert post.height_in(post.carries_lb(height_in)) == pytest.approx(height_in, rel=1e-6)
    assert post.carries_lb(height_in) > post.carries_lb(height_in + 6)
    assert post.carries_lb(height_in) < post.crushing_psi * post.area_in2
    tall = post.height_in(load)
    assert tall == 0 or post.carries_lb(tall) >= load * (1 - 1e-9)


def test_a_column_past_the_slenderness_limit_carries_nothing() -> None:
    # From memory: NDS 2018 section 3.7.1.4, l_e / d no more than 50: 14 ft 7 for a 4x4.
    post = column("4x4", "southern pine")
    assert post.carries_lb(175) > 0 and post.carries_lb(175.1) == 0
    assert post.height_in(10) == 175


def test_a_4x4_under_18_ft_spans_is_not_within_its_load() -> None:
    # 18 ft x 0.75 x 18 ft = 243 ft2, x 50 psf = 12,150 lb; 4x4 of 6-8 carry 7,303 and 6,289 lb by hand, above.
    for wood, pounds in (("southern pine", 7303), ("hem-fir", 6289)):
        got = post_answer("4x4", 18 * FOOT, 18 * FOOT, wood=wood, height_nm=80 * INCH)
        assert got.answer["load_lb"] == 12150 and got.answer["ok"] is False
        assert got.answer["capacity_lb"] == pytest.approx(pounds, abs=1)
    # 1,160 psi x 12.25 in2 = 14,210 lb before it buckles; 956.8 x 12.25 = 11,721 lb: a hem-fir one crushes.
    assert got.answer["allowed_height_in"] is None and "at any height" in got.headline


@pytest.mark.parametrize(
    ("size", "wood", "beam_ft", "joist_ft", "allowed_in"),
    [
        ("6x6", "southern pine", 16, 14, 120),  # DCA 6 (2012 IRC edition) Table 4: 10 ft; the column alone would stand taller
        ("6x6", "southern pine", 18, 18, 60),  # 5 ft
        ("6x6", "hem-fir", 8, 12, 132),  # the lowest of its five columns: 11 ft
        ("6x6", "douglas fir-larch", 14, 10, 96),  # 14 13 11 13 8
        ("6x6", "redwood", 18, 18, None),  # 5 2 2 6 NP
        ("4x4", "southern pine", 8, 8, 81),  # from memory: IRC 2018 R507.4, 6-9
        # 12 ft x 0.75 x 14 ft x 50 psf = 6,300 lb: the town's plan, under 7,000 lb, 5-8; the column alone 6-7.
        ("4x4", "hem-fir", 12, 14, 68),
        # The same load on southern pine: F_c = 6,300 / 12.25 = 514.3 psi, C_P = 0.4433, F_cE / F_c* = 0.514: l_e / d = 25.1, 88 in; 6-9.
        ("4x4", "southern pine", 12, 14, 81),
        ("8x8", "spruce-pine-fir", 10, 10, 168),
    ],
)  # fmt: skip
def test_the_printed_tables_and_the_column_both_bind(
    size: str, wood: str, beam_ft: int, joist_ft: int, allowed_in: int | None
) -> None:
    assert post_answer(size, beam_ft * FOOT, joist_ft * FOOT, wood=wood).answer["allowed_height_in"] == allowed_in


def test_more_than_the_table_load_is_carried_as_longer_joists() -> None:
    # 60 psf in place of 50 psf under 10 ft joists weighs as 12 ft joists: the next column of DCA 6 Table 4 at 16 ft, 10 ft.
    assert post_answer("6x6", 16 * FOOT, 10 * FOOT).answer["allowed_height_in"] == 156
    heavy = post_answer("6x6", 16 * FOOT, 10 * FOOT, live_psf=50)
    assert heavy.answer["allowed_height_in"] == 120 and heavy.answer["load_lb"] == 7200


def test_a_height_read_in_the_adopted_table_never_passes_what_is_held() -> None:
    def allowed(wood: str, adopted_ft: int) -> object:
        return post_answer("6x6", 14 * FOOT, 10 * FOOT, wood=wood, adopted_nm=adopted_ft * FOOT).answer[
            "allowed_height_in"
        ]

    # DCA 6 Table 4, 14 ft and 10 ft: 14 13 11 13 8: southern pine the first; for hem-fir 8 unless its own column is read.
    assert allowed("southern pine", 20) == 168
    assert (allowed("hem-fir", 11), allowed("hem-fir", 7)) == (132, 84)
    # 5,250 lb on a 6x6: the town's plan allows 14 ft to 7,000 lb.
    assert allowed("hem-fir", 20) == 168


def test_a_metric_post_stands_as_the_nominal_one_inside_it() -> None:
    # 145x145 mm holds a 6x6 of 140 mm: DCA 6 Table 4, 16 ft and 14 ft: 10 ft.
    got = post_answer("145x145", 16 * FOOT, 14 * FOOT)
    assert got.answer["allowed_height_in"] == 120 and "145x145" in got.headline


def test_a_wood_without_column_values_is_refused() -> None:
    with pytest.raises(InputError, match="no column values"):
        post_answer("6x6", 8 * FOOT, 8 * FOOT, wood="ponderosa pine")


def test_the_suggested_post_is_the_smallest_that_stands() -> None:
    def suggested(joist_ft: int, length_ft: int, height_ft: int) -> str | None:
        found = suggest_post("southern pine", joist_ft * FOOT, length_ft * FOOT, 3, height_ft * FOOT, Unit.INCH)
        return found.text if found else None

    # DCA 6 Table 4: 16 ft between posts, joists to 14 ft: a southern pine 6x6 10 ft, an 8x8 anywhere to 14 ft.
    assert (suggested(14, 32, 10), suggested(14, 32, 11), suggested(14, 32, 15)) == ("6x6", "8x8", None)
