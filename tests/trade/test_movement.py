"""Wood movement and air moisture against the Wood Handbook's equations, tables and worked example."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import InputError
from tracker.trade.climate import (
    CLIMATES,
    Climate,
    Service,
    emc_pct,
    emc_tenths,
    find_service,
    moisture_answer,
    service_tenths,
)
from tracker.trade.lengths import INCH, MM, SIXTEENTH, Unit
from tracker.trade.movement import (
    ROWS,
    SPECIES,
    Grain,
    change_nm,
    face_advice,
    find_grain,
    find_timber,
    gap_answer,
    movement,
    wettest_tight_tenths,
)
from tracker.trade.rules import Rules

BOARD = 11 * INCH // 2

# Wood Handbook Table 13-5, coefficients C_R and C_T: from memory. Rebuilt from Table 4-3 shrinkage S (partly from
# memory) with C = (S/F) / (1 - S (F - 10) / F), F = 30 %, and 22 % for cedar and redwood: two memories that agree.
TABLE_13_5 = {
    "loblolly pine": (0.00165, 0.00259),
    "longleaf pine": (0.00176, 0.00263),
    "shortleaf pine": (0.00158, 0.00271),
    "slash pine": (0.00187, 0.00267),
    "coast Douglas-fir": (0.00165, 0.00267),
    "interior north Douglas-fir": (0.00130, 0.00241),
    "western hemlock": (0.00144, 0.00274),
    "white fir": (0.00112, 0.00245),
    "western redcedar": (0.00111, 0.00234),
    "old-growth redwood": (0.00120, 0.00205),
    "young-growth redwood": (0.00101, 0.00229),
    "red spruce": (0.00130, 0.00274),
    "Engelmann spruce": (0.00130, 0.00248),
    "lodgepole pine": (0.00148, 0.00234),
    "jack pine": (0.00126, 0.00230),
    "balsam fir": (0.00099, 0.00241),
    "ponderosa pine": (0.00133, 0.00216),
    "eastern white pine": (0.00071, 0.00212),
    "western larch": (0.00155, 0.00323),
}


@pytest.mark.parametrize(("name", "pair"), TABLE_13_5.items())
def test_coefficients_rebuilt_from_shrinkage(name: str, pair: tuple[float, float]) -> None:
    row = ROWS[name]
    assert (row.coefficient(Grain.EDGE), row.coefficient(Grain.FLAT)) == pair


def test_worked_example_of_the_handbook() -> None:
    # Wood Handbook ch. 13, example: flat-sawn white fir 232 mm wide at 8 %, to 11 %: +1.7 mm, final 233.7 mm.
    change = change_nm(232 * MM, "white fir", 80, 110)
    assert change / MM == pytest.approx(1.7, abs=0.05)
    assert (232 * MM + change) / MM == pytest.approx(233.7, abs=0.05)


# Our own calculation with Eq. 13-3 of the Wood Handbook on a 5-1/2 in board.
@pytest.mark.parametrize(
    ("species", "now", "then", "flat", "edge"),
    [
        ("loblolly pine", 300, 120, -0.244, -0.158),
        ("loblolly pine", 190, 120, -0.098, -0.063),
        ("Douglas-fir", 300, 120, -0.251, -0.158),
        ("Douglas-fir", 190, 120, -0.100, -0.063),
        ("western redcedar", 300, 120, -0.165, -0.079),
        ("western redcedar", 190, 120, -0.065, -0.031),
        ("loblolly pine", 120, 160, 0.057, 0.036),
        ("Douglas-fir", 120, 160, 0.058, 0.036),
    ],
)
def test_deck_board_changes(species: str, now: int, then: int, flat: float, edge: float) -> None:
    assert change_nm(BOARD, species, now, then) / INCH == pytest.approx(flat, abs=0.0006)
    assert change_nm(BOARD, species, now, then, "edge") / INCH == pytest.approx(edge, abs=0.0006)


def test_shrinkage_from_green_agrees_with_equation_4_9() -> None:
    # Wood Handbook Eq. 4-9: S_x = S_0 (1 - x/30), as a share of the green width; 7.4 % for loblolly (Table 4-3).
    for moisture in (0, 60, 100, 200):
        change = change_nm(BOARD, "loblolly pine", 300, moisture) / BOARD
        assert change == pytest.approx(-0.074 * (1 - moisture / 300), abs=1e-6)


def test_two_equations_join_without_a_step_worth_seeing() -> None:
    # "The straight line mis-states change by up to about 5 %" (Wood Handbook ch. 13): at 14 % they are that close.
    inside, outside = (change_nm(BOARD, "loblolly pine", 100, then) for then in (140, 141))
    assert 0 < outside - inside < 0.1 * inside


species = st.sampled_from(SPECIES)
moisture = st.integers(0, 2000)
widths = st.integers(INCH, 12 * INCH)
grains = st.sampled_from(["flat", "edge"])


@given(widths, species, moisture, moisture, moisture, grains)
def test_a_drier_climate_never_narrows_the_gap(
    width: int, wood: str, now: int, one: int, other: int, grain: str
) -> None:
    drier, wetter = sorted((one, other))
    assert change_nm(width, wood, now, drier, grain) <= change_nm(width, wood, now, wetter, grain)


@given(widths, species, moisture, moisture, moisture, grains)
def test_wetter_boards_never_open_less(width: int, wood: str, then: int, one: int, other: int, grain: str) -> None:
    drier, wetter = sorted((one, other))
    assert change_nm(width, wood, wetter, then, grain) <= change_nm(width, wood, drier, then, grain)


@given(widths, species, st.integers(300, 2000), moisture, grains)
def test_above_thirty_percent_nothing_moves(width: int, wood: str, wet: int, then: int, grain: str) -> None:
    assert change_nm(width, wood, wet, then, grain) == change_nm(width, wood, 300, then, grain)


@given(widths, species, moisture)
def test_no_change_of_moisture_is_no_change_of_size(width: int, wood: str, now: int) -> None:
    assert change_nm(width, wood, now, now) == 0


@given(widths, species, st.integers(60, 140), st.integers(60, 140))
def test_edge_grain_moves_less_than_flat(width: int, wood: str, now: int, then: int) -> None:
    assert abs(change_nm(width, wood, now, then, "edge")) <= abs(change_nm(width, wood, now, then, "flat"))


@given(st.integers(0, 400), st.integers(30, 300), species)
def test_gap_then_is_gap_now_less_the_change(now: int, service: int, wood: str) -> None:
    answer = gap_answer(BOARD, wood, now, service, Unit.INCH).answer
    change, left, then = (answer[key] for key in ("change_in", "gap_now_in", "gap_then_in"))
    assert isinstance(change, float)
    assert isinstance(left, float)
    assert isinstance(then, float)
    assert then == pytest.approx(left - change, abs=1e-9)
    assert left >= 0
    assert then >= 0.125 - 1e-9


def test_wet_southern_pine_is_laid_touching() -> None:
    # Wet treated pine laid tight opens to about 5/32 to 1/4 in (common practice; Eq. 13-3 gives the upper end).
    answer = gap_answer(BOARD, "southern pine", 450, 120, Unit.INCH)
    assert answer.answer["gap_now_in"] == 0.0
    assert answer.answer["gap_then_in"] == pytest.approx(0.249, abs=0.001)
    assert "touching" in answer.headline
    assert any("mean of loblolly pine, longleaf pine, shortleaf pine and slash pine" in line for line in answer.working)
    assert any("counts as 30 %" in line for line in answer.working)


def test_dried_pine_gets_a_spacer_that_swells_into_place() -> None:
    # Boards drier than service swell: the gap now must be wider than the gap wanted.
    answer = gap_answer(BOARD, "loblolly pine", 80, 120, Unit.INCH).answer
    assert answer["gap_now_in"] == pytest.approx(0.125 + 5.5 * 0.00259 * 4, abs=1e-6)


def test_spacer_is_the_next_sixteenth_up() -> None:
    # Wanted 1/8 in, change -0.098 in (Eq. 13-3 as above): 0.027 in, so a 1/16 in spacer.
    answer = gap_answer(BOARD, "loblolly pine", 190, 120, Unit.INCH).answer
    assert answer["spacer_in"] == 0.0625
    assert answer["spacer_then_in"] == pytest.approx(0.0625 + 0.0976, abs=0.0005)


def test_metric_job_reads_in_millimetres() -> None:
    answer = gap_answer(140 * MM, "spf", 120, 160, Unit.MM, wanted_nm=3 * MM)
    assert "mm" in answer.headline
    assert " in in " not in answer.headline
    assert all(" in)" not in line and "0 in " not in line for line in answer.working)


def test_boards_too_wet_for_any_gap_are_told_how_dry() -> None:
    # Larch moves most (9.1 %, Table 4-3): touching at 30 % it opens past 1/4 in.
    answer = gap_answer(BOARD, "western larch", 400, 120, Unit.INCH)
    assert any("dry to" in move for move in answer.moves)
    top = wettest_tight_tenths(BOARD, "western larch", 120, INCH // 4)
    assert -change_nm(BOARD, "western larch", top, 120) <= INCH // 4
    assert -change_nm(BOARD, "western larch", top + 1, 120) > INCH // 4


def test_house_rule_sets_the_gap_wanted() -> None:
    rules = Rules({"gap_least_service": 3 * SIXTEENTH})
    answer = gap_answer(BOARD, "loblolly pine", 120, 120, Unit.INCH, rules=rules)
    assert answer.answer["gap_now_in"] == 0.1875
    assert answer.limits[0].source == "house rule"
    assert "1/8 in" in answer.limits[0].published


@pytest.mark.parametrize(
    ("typed", "listed"),
    [
        ("Southern Pine", "southern pine"), ("SYP", "southern pine"), ("southern yellow pine", "southern pine"),
        ("treated southern-pine", "southern pine"), ("douglas-fir", "Douglas-fir"), ("Douglas fir", "Douglas-fir"),
        ("doug fir", "Douglas-fir"), ("douglas fir-larch", "Douglas-fir-larch"), ("hem-fir", "hem-fir"),
        ("hem fir", "hem-fir"), ("spf", "spruce-pine-fir"), ("spruce-pine-fir", "spruce-pine-fir"),
        ("western redcedar", "western redcedar"), ("western red cedar", "western redcedar"),
        ("western cedar", "western redcedar"), ("cedar", "western redcedar"), ("redwood", "redwood"),
        ("southernpine", "southern pine"), ("SOUTHERN_PINE", "southern pine"), ("S-P-F", "spruce-pine-fir"),
        ("Hemfir", "hem-fir"), ("DF-L", "Douglas-fir-larch"), ("western cedars", "western redcedar"),
        ("Pine, loblolly", "loblolly pine"), ("Douglas-fir, interior north", "interior north Douglas-fir"),
        ("Redwood, old growth", "old-growth redwood"), ("Loblolly", "loblolly pine"),
    ],
)  # fmt: skip
def test_species_as_people_type_them(typed: str, listed: str) -> None:
    assert find_timber(typed).name == listed


def test_a_mix_takes_the_mean_of_its_rows() -> None:
    mix = find_timber("hem-fir")
    assert mix.coefficient(Grain.FLAT) == pytest.approx((0.00274 + 0.00245) / 2)
    assert "western hemlock and white fir" in mix.rows_text()


def test_unknown_species_names_the_near_one_and_composite_is_not_wood() -> None:
    with pytest.raises(InputError, match="did you mean southern pine"):
        find_timber("sothern pine")
    with pytest.raises(InputError) as caught:
        find_timber("composite")
    assert "maker" in caught.value.hint


@pytest.mark.parametrize(
    ("width", "now", "then", "grain"),
    [(BOARD, 3000, 120, "flat"), (BOARD, -10, 120, "flat"), (BOARD, 150, 3000, "flat"), (0, 150, 120, "flat"),
     (-BOARD, 150, 120, "flat"), (90 * INCH, 150, 120, "flat"), (BOARD, 150, 120, "sideways")],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_what_would_be_right(width: int, now: int, then: int, grain: str) -> None:
    with pytest.raises(InputError) as caught:
        gap_answer(width, "redwood", now, then, Unit.INCH, grain)
    assert caught.value.message
    assert caught.value.hint


def test_a_gap_wider_than_an_inch_is_refused() -> None:
    with pytest.raises(InputError, match="gap of"):
        gap_answer(BOARD, "redwood", 150, 120, Unit.INCH, wanted_nm=2 * INCH)


def test_working_shows_the_equation_with_its_numbers() -> None:
    lines = movement(BOARD, "white fir", 80, 110).working
    assert any("Eq. 13-2" in line and "0.00245" in line and "(11 - 8)" in line for line in lines)


# Wood Handbook Table 4-2, from memory: moisture of wood by °F and relative humidity.
TABLE_4_2 = {
    30: {30: 6.3, 50: 9.5, 65: 12.4, 80: 16.5, 90: 21.0},
    70: {30: 6.2, 50: 9.2, 65: 12.0, 80: 16.0, 90: 20.5},
    110: {30: 5.6, 50: 8.4, 65: 11.0, 80: 14.7, 90: 19.1},
}
CELLS = [(temp, rh, emc) for temp, row in TABLE_4_2.items() for rh, emc in row.items()]


@pytest.mark.parametrize(("temp_f", "humidity", "table"), CELLS)
def test_equilibrium_moisture_table(temp_f: float, humidity: float, table: float) -> None:
    assert emc_pct(temp_f=temp_f, humidity=humidity) == pytest.approx(table, abs=0.11)
    assert emc_pct(temp_c=(temp_f - 32) / 1.8, humidity=humidity) == pytest.approx(table, abs=0.06)


# Wood Handbook Table 4-2, row of 21.1 °C (70 °F), as a second-hand copy prints it under a rounded 20 °C.
@pytest.mark.parametrize(("humidity", "table"), [(40, 7.7), (50, 9.2), (60, 11.0), (70, 13.1), (80, 16.0), (90, 20.5)])
def test_equilibrium_moisture_row_at_room_temperature(humidity: float, table: float) -> None:
    assert emc_pct(temp_c=21.1, humidity=humidity) == pytest.approx(table, abs=0.06)


@given(st.floats(20, 110), st.floats(5, 95))
def test_both_temperature_forms_agree(temp_f: float, humidity: float) -> None:
    fahrenheit = emc_pct(temp_f=temp_f, humidity=humidity)
    assert fahrenheit == pytest.approx(emc_pct(temp_c=(temp_f - 32) / 1.8, humidity=humidity), abs=0.1)


@given(st.floats(-40, 120), st.floats(0, 99), st.floats(0.1, 1))
def test_damper_air_means_wetter_wood(temp_f: float, humidity: float, more: float) -> None:
    assert emc_pct(temp_f=temp_f, humidity=humidity + more) > emc_pct(temp_f=temp_f, humidity=humidity)


def test_the_answer_gives_two_decimals_and_its_working() -> None:
    answer = moisture_answer(temp_f=70, humidity=65)
    assert answer.answer == {"emc_pct": 11.96}
    assert "12.0 %" in answer.headline
    assert emc_tenths(temp_f=70, humidity=65) == 120
    assert len(answer.working) == 3
    assert "Eq. 4-5" in answer.source


def test_hot_air_carries_a_caution() -> None:
    # At 140 °F and 55 % the formula gives 8.4, an old edition's table 8.0.
    answer = moisture_answer(temp_f=140, humidity=55)
    assert answer.answer["emc_pct"] == pytest.approx(8.4, abs=0.05)
    assert "120" in answer.caution


@pytest.mark.parametrize(
    "air",
    [
        {"temp_f": 70, "humidity": 140}, {"temp_f": 70, "humidity": -1}, {"temp_f": 70, "humidity": math.nan},
        {"temp_f": 400, "humidity": 50}, {"temp_c": -90, "humidity": 50}, {"temp_c": math.inf, "humidity": 50},
        {"humidity": 50}, {"temp_f": 70, "temp_c": 21, "humidity": 50},
    ],
)  # fmt: skip
def test_air_that_cannot_be_is_refused(air: dict[str, float]) -> None:
    with pytest.raises(InputError) as caught:
        moisture_answer(**air)
    assert caught.value.hint


def test_desert_climate_is_the_mean_and_the_ends_of_the_published_months() -> None:
    # Wood Handbook (FPL-GTR-282) Table 13-1, Phoenix, Arizona, January to December.
    months = (8.9, 8.3, 7.4, 6.0, 4.9, 4.4, 6.2, 6.8, 6.5, 6.9, 7.8, 9.0)
    desert = find_service("desert")
    assert desert.mean_tenths == service_tenths("desert") == round(sum(months) / 12 * 10)
    assert (desert.driest_tenths, desert.wettest_tenths) == (round(min(months) * 10), round(max(months) * 10))


@pytest.mark.parametrize("climate", CLIMATES, ids=lambda climate: climate.name)
def test_every_climate_has_its_mean_between_its_months(climate: Climate) -> None:
    assert climate.driest_tenths < climate.moisture_tenths < climate.wettest_tenths
    assert climate.source


@pytest.mark.parametrize("text", ["9 to 15", "15 to 9", "9-15", "9 % to 15 %", "9.0..15"])
def test_two_figures_of_ones_own_are_the_driest_and_wettest_month(text: str) -> None:
    assert find_service(text) == Service(120, 90, 150)


def test_one_figure_swings_two_percent_either_way() -> None:
    # Common practice.
    assert find_service("12") == Service(120, 100, 140)


def test_the_year_of_a_climate_widens_the_gaps_to_expect() -> None:
    # Coast Douglas-fir, C 0.00267 (Wood Handbook Table 13-5, from memory), from 12 %: Eq. 13-2 by hand.
    answer = gap_answer(5 * INCH, "coast Douglas-fir", 120, 120, Unit.INCH, season=(80, 140)).answer
    assert answer["gap_dry_season_in"] == pytest.approx(1 / 8 + 5 * 0.00267 * 4, abs=1e-6)
    assert answer["gap_wet_season_in"] == pytest.approx(1 / 8 - 5 * 0.00267 * 2, abs=1e-6)


@pytest.mark.parametrize(
    ("change", "grain", "words"),
    [(-1, "flat", ("hollow on its bark side", "fix both edges")), (1, "flat", ("bark side up", "crowns")),
     (0, "flat", ("lifts less grain",)), (-1, "edge", ("hardly cup",))],
)  # fmt: skip
def test_which_face_goes_up_follows_the_way_the_board_will_cup(change: int, grain: str, words: tuple[str, ...]) -> None:
    # From memory: Wood Handbook ch. 4, the bark side of a flat-sawn board moves most.
    advice = face_advice(change, grain)
    assert advice.startswith("lay the better face up") and all(word in advice for word in words)


def test_the_gap_answer_gives_the_face_with_its_reason() -> None:
    assert any("bark side" in move for move in gap_answer(11 * INCH // 2, "SYP", 280, 120, Unit.INCH).moves)


@pytest.mark.parametrize(
    ("typed", "grain"),
    [("flat", Grain.FLAT), ("Flat-sawn", Grain.FLAT), ("plain sawn", Grain.FLAT), ("flat grain", Grain.FLAT),
     ("EDGE", Grain.EDGE), ("vertical grain", Grain.EDGE), ("VG", Grain.EDGE), ("quarter-sawn", Grain.EDGE)],
)  # fmt: skip
def test_grain_as_people_type_it(typed: str, grain: Grain) -> None:
    assert find_grain(typed) is grain


def test_a_humidity_typed_as_a_share_is_refused_with_the_percent_meant() -> None:
    with pytest.raises(InputError) as caught:
        moisture_answer(temp_f=70, humidity=0.65)
    assert "65" in caught.value.hint


def test_service_moisture_as_typed() -> None:
    assert service_tenths("12") == 120
    assert service_tenths(" 10.5 % ") == 105
    assert service_tenths("Temperate") == 120
    assert {service_tenths(climate.name) for climate in CLIMATES} == {c.moisture_tenths for c in CLIMATES}


@pytest.mark.parametrize("text", ["temprate", "1", "45", "-12", "", "nan"])
def test_service_moisture_that_cannot_be(text: str) -> None:
    with pytest.raises(InputError) as caught:
        service_tenths(text)
    assert caught.value.hint


@pytest.mark.parametrize("wood", ["western redcedar", "old-growth redwood"])
def test_drying_out_of_the_range_of_the_coefficient_moves_no_less_than_inside_it(wood: str) -> None:
    # Wood Handbook ch. 13: the coefficients of cedar and redwood rest on a fibre saturation of 22 %, Eq. 13-3 on 30 %; so
    # 14 to 6 % by Eq. 13-2 is more than 14 to 5.9 % by Eq. 13-3, and the larger counts.
    inside, past = (change_nm(10 * INCH, wood, 140, then) for then in (60, 59))
    assert past <= inside < 0
    assert any("gives more, and counts" in line for line in movement(10 * INCH, wood, 140, 59).working)
