"""Lengths in and out, against exact fractions of the inch of 25.4 mm.

The inch: 25.4 mm exactly, the foot 304.8 mm exactly (international yard and pound agreement of 1959; NIST SP 811
appendix B). ``fractions.Fraction`` is the independent reference.
"""

from __future__ import annotations

import itertools
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tracker.errors import InputError
from tracker.trade.lengths import (
    EXAMPLES,
    FOOT,
    INCH,
    LONGEST,
    MM,
    SIXTEENTH,
    SIXTY_FOURTH,
    TENTH_MM,
    THOUSANDTH,
    Unit,
    exact_small,
    exact_text,
    format_inches,
    format_length,
    format_small,
    from_inches,
    inches,
    millimetres,
    nearest,
    parse_length,
    round_up,
)

HUNDRED_FEET = 1200


def mm(value: str | int) -> Fraction:
    """Millimetres in nanometres, by the SI alone."""
    return Fraction(value) * 1_000_000


def inch(value: str | Fraction | int) -> Fraction:
    """Inches in nanometres, by the 1959 inch."""
    return Fraction(value) * mm("25.4")


def refusal(text: str, unit: Unit = Unit.INCH, *, signed: bool = False) -> InputError:
    with pytest.raises(InputError) as caught:
        parse_length(text, unit, signed=signed)
    return caught.value


def test_the_units_are_those_of_the_1959_agreement() -> None:
    assert [mm("25.4"), mm("304.8"), mm("914.4")] == [Fraction(nm) for nm in (INCH, FOOT, 3 * FOOT)]
    assert Fraction(SIXTY_FOURTH) == inch(Fraction(1, 64))
    assert Fraction(SIXTEENTH) == inch(Fraction(1, 16))
    assert Fraction(THOUSANDTH) == inch("0.001")
    assert [mm(1), mm("0.1")] == [Fraction(nm) for nm in (MM, TENTH_MM)]


# -- what is printed is read back


def test_every_sixteenth_to_a_hundred_feet_reads_back() -> None:
    for step in range(HUNDRED_FEET * 16 + 1):
        nm = int(inch(Fraction(step, 16)))
        assert parse_length(format_length(nm)) == nm


def test_every_sixty_fourth_reads_back_in_both_systems() -> None:
    for step in range(0, HUNDRED_FEET * 64 + 1, 7):
        nm = int(inch(Fraction(step, 64)))
        for unit in Unit:
            assert parse_length(exact_text(nm, unit), unit) == nm


def test_every_millimetre_reads_back_in_a_millimetre_job() -> None:
    for whole in range(30_001):
        nm = int(mm(whole))
        assert parse_length(format_length(nm, Unit.MM), Unit.MM) == nm


@given(st.integers(0, LONGEST // TENTH_MM), st.sampled_from(Unit), st.sampled_from(Unit))
def test_any_tenth_of_a_millimetre_reads_back_in_both_systems(tenths: int, printed: Unit, read: Unit) -> None:
    text = exact_text(tenths * TENTH_MM, printed)
    assert parse_length(text, read) == tenths * TENTH_MM


@given(st.integers(0, LONGEST // THOUSANDTH), st.sampled_from(Unit))
def test_any_thousandth_of_an_inch_reads_back_in_both_systems(thousandths: int, unit: Unit) -> None:
    nm = thousandths * THOUSANDTH
    assert parse_length(exact_text(nm, unit), unit) == nm


@given(st.integers(-LONGEST // SIXTY_FOURTH, LONGEST // SIXTY_FOURTH), st.sampled_from(Unit))
def test_signed_lengths_read_back_signed(sixty_fourths: int, unit: Unit) -> None:
    nm = sixty_fourths * SIXTY_FOURTH
    assert parse_length(exact_text(nm, unit), unit, signed=True) == nm
    assert parse_length(exact_small(nm, unit), unit, signed=True) == nm


@given(st.integers(0, LONGEST), st.sampled_from([(Unit.INCH, SIXTEENTH), (Unit.MM, MM)]))
def test_printing_rounds_to_the_nearest_step(nm: int, grid: tuple[Unit, int]) -> None:
    unit, step = grid
    shown = parse_length(format_length(min(nm, LONGEST - step), unit), unit)
    assert shown % step == 0
    assert 2 * abs(shown - min(nm, LONGEST - step)) <= step


# -- spellings

FEET = ["'", " '", "′", "’", "´", " ft", "ft", " feet", "FT", " Ft.", " foot"]
MARKS = ['"', "″", "”", "''", "’’", " in", "in.", " inches", " INCH"]
PARTS = {
    "3": "3", "0": "0", "11": "11", "3.5": "7/2", "3.125": "25/8",
    "3-1/4": "13/4", "3 1/4": "13/4", "3¼": "13/4", "3 ¼": "13/4", "3-¼": "13/4", "3–1/4": "13/4", "3 1⁄4": "13/4",
    "1/2": "1/2", "½": "1/2", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "¾": "3/4", "63/64": "63/64",
    "10/16": "5/8", "5 63/64": "383/64",
}  # fmt: skip
FEET_AND_INCHES = [
    (f"12{foot}{gap}{part}{mark}", 144 + Fraction(value))
    for (foot, (part, value)), mark, gap in itertools.product(
        itertools.product(FEET, PARTS.items()), [*MARKS, ""], ["", " ", "-", " - "]
    )
]
INCHES_ALONE = [(f"{part}{mark}", Fraction(value)) for (part, value), mark in itertools.product(PARTS.items(), MARKS)]


def test_feet_and_inches_in_every_mix_of_marks() -> None:
    assert len(FEET_AND_INCHES) > 9000
    for text, value in FEET_AND_INCHES:
        for unit in Unit:
            assert parse_length(text, unit) == inch(value), text


def test_inches_in_every_mix_of_marks() -> None:
    for text, value in INCHES_ALONE:
        for unit in Unit:
            assert parse_length(text, unit) == inch(value), text


def test_bare_inches_of_an_inch_job() -> None:
    for text, value in PARTS.items():
        assert parse_length(text) == inch(Fraction(value)), text


METRIC = {
    "3740mm": "3740", "3740 mm": "3740", "3740MM": "3740", "374cm": "3740", "374 CM": "3740", "3.74m": "3740",
    "3.74 m": "3740", "3.74 M": "3740", "0.1mm": "0.1", ".5 cm": "5", "0.0001m": "0.1", "25.4mm": "25.4", "0 mm": "0",
    "12.50 mm": "12.5", "\u00a03740\u00a0mm ": "3740", "3740\u202fmm": "3740", "9.525 mm": "9.525",
    "0.396875mm": "0.396875", "25.4254 mm": "25.4254",
}  # fmt: skip


@pytest.mark.parametrize("unit", Unit)
@pytest.mark.parametrize(("text", "value"), METRIC.items())
def test_metric_in_either_job(text: str, value: str, unit: Unit) -> None:
    assert parse_length(text, unit) == mm(value)


@pytest.mark.parametrize(
    ("text", "value"), [("3740", "3740"), ("3740.5", "3740.5"), ("0", "0"), (".5", "0.5"), ("9.525", "9.525")]
)
def test_bare_millimetres_of_a_millimetre_job(text: str, value: str) -> None:
    assert parse_length(text, Unit.MM) == mm(value)


ODD = {
    "12'": "144", "12.5'": "150", "12.5 ft": "150", "0'": "0", "12-3-1/4": "147.25", "12-3": "147", "12 3 1/4": "147.25",
    "12—3": "147", "12 - 3 - 1/4": "147.25", '12-3-1/4"': "147.25", "147.25": "147.25", "147 1/4": "147.25",
    "147-1/4": "147.25", "147¼": "147.25", "000147": "147", "147.250": "147.25", "0.001": "0.001", ".5": "0.5",
    "12ft3in": "147", "12ft3": "147", "12 FT 3 IN": "147", "12 ft. 3 in.": "147", "22000'": "264000", "264000": "264000",
    "  12'  ": "144", "12’ 6½”": "150.5",
}  # fmt: skip


@pytest.mark.parametrize(("text", "value"), ODD.items())
def test_odd_spellings_of_an_inch_job(text: str, value: str) -> None:
    assert parse_length(text) == inch(value)


@pytest.mark.parametrize(
    ("text", "value"),
    [("-1/8", "-1/8"), ("+1/8", "1/8"), ("−1/8", "-1/8"), ("- ½", "-1/2"), ("-0", "0"), ("-1' 2", "-14"), ("3", "3")],
)
def test_signed_readings(text: str, value: str) -> None:
    assert parse_length(text, signed=True) == inch(Fraction(value))


# -- refusals: the exact message, and a hint that works

REFUSED = [
    (Unit.INCH, "", "it is empty"),
    (Unit.INCH, "   ", "it is empty"),
    (Unit.INCH, "-3", "it is negative"),
    (Unit.INCH, "−3 1/2", "it is negative"),
    (Unit.INCH, "+3", "leave out the +"),
    (Unit.MM, "-3", "it is negative"),
    (Unit.INCH, "1,500", "a comma could mean 1500 or 1.500"),
    (Unit.INCH, "3,5 m", "a comma could mean 35 m or 3.5 m"),
    (Unit.INCH, "1/3", "it is not a whole 1/64 in; the nearest are 21/64 in and 11/32 in"),
    (Unit.INCH, '12 1/3"', "it is not a whole 1/64 in; the nearest are 12-21/64 in and 12-11/32 in"),
    (Unit.INCH, "5/128", "it is not a whole 1/64 in; the nearest are 1/32 in and 3/64 in"),
    (Unit.INCH, "0.05 mm", "it is not a whole 0.1 mm; the nearest are 0 mm and 0.1 mm"),
    (Unit.MM, "0.05", "it is not a whole 0.1 mm; the nearest are 0 mm and 0.1 mm"),
    (Unit.MM, "1.23456 mm", "it is not a whole 0.1 mm; the nearest are 1.2 mm and 1.3 mm"),
    (Unit.INCH, "5'13\"", "13 in is a foot or more; 6' 1\" meant?"),
    (Unit.INCH, "5' 12", "12 in is a foot or more; 6' meant?"),
    (Unit.INCH, "5-12-1/2", "12-1/2 in is a foot or more; 6' 1/2\" meant?"),
    (Unit.INCH, "3/0", "a fraction over 0"),
    (Unit.INCH, "9/8", "9/8 is an inch or more; 1-1/8 in meant?"),
    (Unit.INCH, "3 9/8", "9/8 is an inch or more; 4-1/8 in meant?"),
    (Unit.INCH, "64/64", "64/64 is an inch or more; 1 in meant?"),
    (Unit.INCH, "1.0001", "decimal inches stop at a thousandth"),
    (Unit.INCH, "12.33333'", "decimal feet stop at a thousandth"),
    (Unit.INCH, "12.5' 3", "decimal feet and inches together"),
    (Unit.INCH, "3.5 1/2", "a decimal and a fraction together"),
    (Unit.INCH, "٤٢", "use the digits 0-9"),
    (Unit.INCH, "４２", "use the digits 0-9"),
    (Unit.INCH, "5²", "use the digits 0-9"),
    (Unit.INCH, "22001 ft", "it is more than 22,000 ft"),
    (Unit.INCH, "22,001 ft", "a comma could mean 22001 ft or 22.001 ft"),
    (Unit.INCH, "22000' 1/64", "it is more than 22,000 ft"),
    (Unit.INCH, "1" + "0" * 30 + " ft", "it is more than 22,000 ft"),
    (Unit.MM, "9" * 40, "it is more than 22,000 ft"),
    (Unit.MM, "3/8", 'a fraction in a millimetre job needs its inch mark (")'),
    (Unit.MM, "147 1/4", 'a fraction in a millimetre job needs its inch mark (")'),
    (Unit.MM, "½", 'a fraction in a millimetre job needs its inch mark (")'),
    (Unit.MM, "12-3", "feet and inches in a millimetre job need their marks"),
    *(
        (unit, text, "")
        for unit in Unit
        for text in [
            "NaN", "nan", "inf", "Infinity", "1e3", "1E3", "4_2", "0x10", "twelve", "2x8", "ft", "in", "mm", '"', "'",
            '3""', "1' 1'", "12' 3'", "12'-", "3-", "3--4", "12''3", "1/2'", "5 mm mm", "3'6\"mm", "1 1/2 mm", "½½",
            "1/2 1/2", "3½ ½", "¾8", "⅝0", "1½4", "⅓", "Ⅻ", "12' 3\" 1/2", "\x1b[2J", "12'\x00", "1.2.3", "3/8/2",
            "[bold]", "3.74 meter",
        ]
    ),
]  # fmt: skip


@pytest.mark.parametrize(("unit", "text", "why"), REFUSED)
def test_refusals_say_why_and_show_what_is_accepted(unit: Unit, text: str, why: str) -> None:
    error = refusal(text, unit)
    assert error.message == f"{text.strip()!r} is not a length" + (f": {why}" if why else "")
    assert error.hint == f"write it like {EXAMPLES[unit]}"


@pytest.mark.parametrize("unit", Unit)
def test_every_example_of_the_hint_is_accepted(unit: Unit) -> None:
    examples = EXAMPLES[unit].replace(" or ", ", ").split(", ")
    assert len(examples) >= 5
    for text in examples:
        assert parse_length(text, unit) > 0


def test_a_pasted_page_is_refused_in_a_short_line() -> None:
    assert refusal("9" * 10_000_000).message == "'99999999999999999999…' is not a length: it is too long"
    assert refusal(" " * 10_000_000).message == "'' is not a length: it is empty"


# -- anything at all

ALPHABET = "0123456789 '\"-/.,+ftincmFTINCM½¼¾⅛⅜⅝⅞′″’”–−⁄\u00a0"


@settings(max_examples=examples(400, 8000))
@given(st.one_of(st.text(max_size=70), st.text(ALPHABET, max_size=16)), st.sampled_from(Unit), st.booleans())
def test_any_text_parses_or_is_refused_and_never_in_the_wrong_unit(text: str, unit: Unit, signed: bool) -> None:
    try:
        nm = parse_length(text, unit, signed=signed)
    except InputError as error:
        assert error.message and error.hint == f"write it like {EXAMPLES[unit]}"
        return
    assert signed or nm >= 0
    assert abs(nm) <= LONGEST
    # Nothing typed is lost: it prints exactly and reads back, also in a job of the other unit, marks being printed.
    for printed in Unit:
        shown = exact_text(nm, printed)
        for read in Unit:
            assert parse_length(shown, read, signed=True) == nm
    # A length that carries its unit means the same in either job.
    if any(mark in text.casefold() for mark in ("'", '"', "′", "″", "’", "”", "ft", "in", "mm", "cm", "m")):
        other = Unit.MM if unit is Unit.INCH else Unit.INCH
        assert parse_length(text, other, signed=signed) == nm


# -- printing

PRINTED = [
    ("0", '0"', "0 mm"),
    ("1/16", '1/16"', "2 mm"),  # 1.5875 mm
    ("3/8", '3/8"', "10 mm"),  # 9.525 mm
    ("11.9375", '11-15/16"', "303 mm"),  # 303.2125 mm
    ("12", "1'", "305 mm"),  # 304.8 mm
    ("12.5", "1' 1/2\"", "318 mm"),  # 317.5 mm, half away from zero
    ("147.25", "12' 3-1/4\"", "3740 mm"),  # 3740.15 mm
    ("1/32", '1/16"', "1 mm"),  # halves away from zero: 1/32 in is half a sixteenth; 0.79 mm
    ("1/64", '0"', "0 mm"),
]


@pytest.mark.parametrize(("value", "imperial", "metric"), PRINTED)
def test_printing(value: str, imperial: str, metric: str) -> None:
    nm = int(inch(Fraction(value)))
    assert format_length(nm) == imperial
    assert format_length(nm, Unit.MM) == metric
    if imperial != '0"':
        assert format_length(-nm) == f"-{imperial}"
    assert not format_length(-1).startswith("-")


def test_small_lengths_stay_in_inches_or_tenths_of_a_millimetre() -> None:
    nm = int(inch("147.25"))
    assert (format_inches(nm), format_inches(-nm), format_inches(nm // 2, 64)) == (
        "147-1/4 in", "-147-1/4 in", "73-5/8 in",
    )  # fmt: skip
    assert (format_small(int(inch(Fraction(3, 8)))), format_small(int(inch(Fraction(3, 8))), Unit.MM)) == (
        "3/8 in", "9.5 mm",
    )  # fmt: skip


def test_exact_text_rounds_nothing() -> None:
    assert exact_text(int(inch(Fraction(151, 64)))) == '2-23/64"'
    assert exact_text(int(inch("147.3"))) == '147.3"'
    assert exact_text(-int(inch("0.001"))) == '-0.001"'
    assert exact_text(int(mm("3740.1"))) == "3740.1 mm"
    assert exact_text(int(inch(Fraction(1, 64))), Unit.MM) == "0.396875 mm"
    assert exact_small(int(inch(Fraction(3, 32)))) == "3/32 in"
    assert exact_small(int(inch(Fraction(1, 8))), Unit.MM) == "3.175 mm"


@given(st.integers(-(10**15), 10**15), st.integers(1, 10**9))
def test_rounding_is_to_the_nearest_with_halves_away_from_zero(nm: int, step: int) -> None:
    got = nearest(nm, step)
    assert got % step == 0
    assert 2 * abs(got - nm) <= step
    if 2 * abs(got - nm) == step:
        assert abs(got) > abs(nm)
    assert nearest(-nm, step) == -got
    up = round_up(nm, step)
    assert up % step == 0 and 0 <= up - nm < step


def test_plain_numbers_for_formulas() -> None:
    assert inches(int(inch("147.25"))) == 147.25
    assert millimetres(int(inch(Fraction(3, 8)))) == 9.525
    assert from_inches(Fraction(1, 3)) == round(inch(Fraction(1, 3)))
