"""The form language: what a person types becomes typed values, and every fault is named at once."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tracker.errors import InputError, InputErrors
from tracker.trade.lengths import FOOT, INCH, MM, Unit, exact_text
from tracker.trade.readings import (
    Field,
    Form,
    Kind,
    Readings,
    Value,
    by_row,
    parse_count,
    parse_line,
    parse_readings,
    parse_tenths,
    parse_value,
    readings_of,
    show_value,
)

TODAY = date(2026, 5, 12)
HEIGHT = Field("height", "Height", Kind.SIGNED)
OPEN = Form(
    fields=(Field("laid", "boards laid", Kind.COUNT), Field("gap", "gap", Kind.LENGTH, required=False)),
    columns=(HEIGHT,), rows=("left", "right"), row_word="point", open_rows=True, least_rows=2,
)  # fmt: skip
CLOSED = Form(columns=(HEIGHT,), rows=("1", "2", "3"), row_word="joist", least_rows=3)
WIDE = Form(
    fields=(Field("predrilled", "ends pre-drilled", Kind.YESNO), Field("boxes", "boxes", Kind.COUNT, required=False)),
    columns=(Field("count", "screws", Kind.COUNT), Field("edge", "edge", Kind.LENGTH)),
    rows=("c1", "c2"), row_word="crossing", open_rows=True,
)  # fmt: skip
SIDES = Form(
    fields=(
        Field("width", "width", Kind.LENGTH, required=False), Field("ac", "diagonal", Kind.LENGTH),
        Field("bd", "diagonal", Kind.LENGTH),
    )
)  # fmt: skip


def field(kind: Kind, **more: object) -> Field:
    return Field("it", "the reading", kind, **more)  # type: ignore[arg-type]


COATING = field(Kind.CHOICE, choices=("hot-dip galvanised", "stainless", "bright"))
VALUES: list[tuple[Field, str, Value, str]] = [
    (field(Kind.LENGTH), "12' 3-1/4", 12 * FOOT + 13 * INCH // 4, "12' 3-1/4\""),
    (field(Kind.LENGTH), "3740.1mm", 37401 * MM // 10, "3740.1 mm"),
    (field(Kind.SIGNED), "-1/8", -INCH // 8, '-1/8"'),
    (field(Kind.LENGTHS), "0; 4' 6, 9'", (0, 4 * FOOT + 6 * INCH, 9 * FOOT), "0\"; 4' 6\"; 9'"),
    (field(Kind.COUNT), " 36 ", 36, "36"),
    (field(Kind.PERCENT), "18.5 %", 185, "18.5 %"),
    (field(Kind.PERCENT), "19", 190, "19.0 %"),
    (field(Kind.NUMBER, unit="°F"), "-4.5", -45, "-4.5 °F"),
    (field(Kind.NUMBER), "1234567", 12345670, "1234567"),
    (field(Kind.TEXT), "  card B-12 ", "card B-12", "card B-12"),
    (field(Kind.YESNO), "Y", True, "yes"),
    (field(Kind.YESNO), "no", False, "no"),
    (field(Kind.DATE), "tomorrow", date(2026, 5, 13), "2026-05-13"),
    (COATING, "Stainless", "stainless", "stainless"),
]


@pytest.mark.parametrize(("spec", "text", "value", "shown"), VALUES)
def test_each_kind_of_value(spec: Field, text: str, value: Value, shown: str) -> None:
    assert parse_value(spec, text, Unit.INCH, TODAY) == value
    assert show_value(spec, value, Unit.INCH) == shown


REFUSED = [
    (field(Kind.LENGTH), "-3", "'-3' is not a length: it is negative", "write it like 12'"),
    (field(Kind.LENGTHS), " ; ", "the reading: no length given", "separate lengths with ; like 0; 4' 6; 9'"),
    (field(Kind.LENGTHS), "4'; x", "'x' is not a length", "write it like 12'"),
    (field(Kind.COUNT), "4.0", "'4.0' is not a count", "write a whole number, like 4"),
    (field(Kind.COUNT), "-4", "'-4' is not a count", "write a whole number, like 4"),
    (field(Kind.COUNT), "٤", "'٤' is not a count", "write a whole number, like 4"),
    (field(Kind.PERCENT), "18.55", "'18.55' is not a percentage", "write a number with at most one decimal, like 14.5"),
    (field(Kind.PERCENT), "200.1", "'200.1' is not a percentage: more than 200", "give a figure from 0 to 200"),
    (field(Kind.PERCENT), "-5", "'-5' is not a percentage: it has a sign", "write it like 14.5"),
    (field(Kind.NUMBER, unit="°F"), "hot", "'hot' is not a number of °F", "write a number with at most one decimal"),
    (field(Kind.YESNO), "maybe", "'maybe' is neither yes nor no", "answer yes or no"),
    (field(Kind.DATE), "2026-02-30", "'2026-02-30' is not a day of the calendar", "write it like 2026-05-12"),
    (COATING, "stainles", "'stainles' is not one of the choices (did you mean stainless?)", "choose hot-dip"),
    (field(Kind.LENGTHS), "0 4' 8' 12'", "\"0 4' 8' 12'\" is not a length", "separate lengths with ; like 0; 4' 6; 9'"),
    (field(Kind.TEXT), "  ", "the reading is empty", "give the reading at least one character"),
]


@pytest.mark.parametrize(("spec", "text", "message", "hint"), REFUSED)
def test_each_kind_of_refusal_says_what_would_be_right(spec: Field, text: str, message: str, hint: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_value(spec, text, Unit.INCH, TODAY)
    assert caught.value.message.startswith(message)
    assert caught.value.hint.startswith(hint)


@given(st.integers(0, 10**6), st.booleans())
def test_tenths_are_exact(tenths: int, negative: bool) -> None:
    text = f"{'-' if negative else ''}{tenths // 10}.{tenths % 10}"
    assert parse_tenths(text, "it", signed=True) == (-tenths if negative else tenths)
    assert parse_count(str(tenths), "it") == tenths


@pytest.mark.parametrize("kind", [Kind.LENGTH, Kind.SIGNED])
@pytest.mark.parametrize("unit", Unit)
@given(sixty_fourths=st.integers(0, 10**6))
def test_a_length_is_shown_as_it_was_measured_in_either_job(kind: Kind, unit: Unit, sixty_fourths: int) -> None:
    nm = sixty_fourths * (INCH // 64)
    assert parse_value(field(kind), show_value(field(kind), nm, unit), unit) == nm


# -- bare and named values


def heights(readings: Readings) -> dict[str, int]:
    return {label: nm // INCH for label, nm in readings.column("height").items()}


def test_bare_values_fill_the_fields_of_a_form_without_rows_in_order() -> None:
    readings = parse_readings(SIDES, ["120", "190", "191"], Unit.INCH)
    assert [readings.whole(key) // INCH for key in ("width", "ac", "bd")] == [120, 190, 191]
    readings = parse_readings(SIDES, ["ac=190", "120", "191"], Unit.INCH)
    assert [readings.whole(key) // INCH for key in ("width", "ac", "bd")] == [120, 190, 191]


def test_bare_values_fill_the_required_fields_and_then_the_rows() -> None:
    readings = parse_readings(OPEN, ["12", "40", "41"], Unit.INCH)
    assert (readings.whole("laid"), readings.has("gap"), heights(readings)) == (12, False, {"left": 40, "right": 41})
    readings = parse_readings(OPEN, ["gap=1/8", "right=41", "12", "40"], Unit.INCH)
    assert (readings.whole("laid"), readings.whole("gap") * 8) == (12, INCH)
    assert heights(readings) == {"right": 41, "left": 40}


def test_bare_values_run_on_into_new_rows_only_where_rows_are_open() -> None:
    readings = parse_readings(OPEN, ["12", "40", "41", "42", "43"], Unit.INCH)
    assert heights(readings) == {"left": 40, "right": 41, "3": 42, "4": 43}
    readings = parse_readings(OPEN, ["3=9", "12", "40", "41", "42"], Unit.INCH)
    assert heights(readings) == {"3": 9, "left": 40, "right": 41, "4": 42}
    with pytest.raises(InputErrors) as caught:
        parse_readings(CLOSED, ["1", "2", "3", "4", "5"], Unit.INCH)
    assert caught.value.problems == (
        "'4': this check takes no further value",
        "'5': this check takes no further value",
    )


def test_rows_of_several_columns_are_filled_row_by_row() -> None:
    readings = parse_readings(WIDE, ["yes", "2", "1", "2", "3/4", "2", "7/8"], Unit.INCH)
    assert readings.yes("predrilled") and not readings.has("boxes")
    assert readings.column("count") == {"c1": 2, "c2": 2, "3": 2}
    assert readings.column("edge") == {"c1": INCH, "c2": 3 * INCH // 4, "3": 7 * INCH // 8}
    readings = parse_readings(WIDE, ["c1.count=2", "c9.edge=1", "no", "1"], Unit.INCH)
    assert readings.rows == {"c1": {"count": 2, "edge": INCH}, "c9": {"edge": INCH}}


def test_open_rows_of_numbered_joists_go_on_counting() -> None:
    form = Form(columns=(HEIGHT,), rows=("1", "2"), open_rows=True)
    assert heights(parse_readings(form, ["5", "6", "7"], Unit.INCH)) == {"1": 5, "2": 6, "3": 7}


def test_a_row_may_be_named_with_or_without_its_only_column() -> None:
    assert heights(parse_readings(CLOSED, ["1.height=5", "2=6"], Unit.INCH)) == {"1": 5, "2": 6}
    assert heights(parse_readings(OPEN, ["P 1.height=5", "a.b=6"], Unit.INCH)) == {"P 1": 5, "a.b": 6}


def test_what_was_typed_is_kept_as_it_was_typed() -> None:
    readings = parse_readings(OPEN, ["12", " gap = 1/8 ", "left=5’ 6½”"], Unit.INCH)
    assert readings.entered == (("laid", "12"), ("gap", "1/8"), ("left", "5’ 6½”"))


def test_every_fault_is_named_at_once_and_says_what_would_be_right() -> None:
    with pytest.raises(InputErrors) as caught:
        parse_readings(WIDE, ["maybe", "c1.count=two", "c1.edg=1", "c2.edge=1,5", "depth=4", "c1.count=2"], Unit.INCH)
    for problem, start in zip(
        caught.value.problems,
        (
            "predrilled: 'maybe' is neither yes nor no; answer yes or no",
            "c1.count: 'two' is not a count; write a whole number, like 4",
            "c1.edg: this check has no such value (did you mean c1.edge?); it takes predrilled, boxes, c1.count,",
            "c2.edge: '1,5' is not a length: a comma could mean 15 or 1.5; write it like 12'",
            "depth: this check has no such value; it takes predrilled,",
            "c1.count: it is given twice; give it once",
        ),
        strict=True,
    ):
        assert problem.startswith(start)


def test_a_fault_stays_one_clean_line_whatever_the_name() -> None:
    with pytest.raises(InputErrors) as caught:
        parse_readings(CLOSED, ["a\nb\x1b[2J=5", "x" * 100_000 + "=5"], Unit.INCH)
    assert [problem.isprintable() and len(problem) < 150 for problem in caught.value.problems] == [True, True]


@pytest.mark.parametrize(
    "tokens", [["1=5", "1=6"], ["1=5", "1.height=6"], ["1.height=5", "1=5"], ["laid=1", "laid=2"], [" 1 =5", "1=6"]]
)
def test_one_value_given_twice_is_refused(tokens: list[str]) -> None:
    with pytest.raises(InputErrors, match="it is given twice; give it once"):
        parse_readings(OPEN, tokens, Unit.INCH)


def test_a_closed_form_takes_no_row_of_ones_own_and_an_open_one_does() -> None:
    with pytest.raises(InputErrors, match=r"4: this check has no such value; it takes 1, 2 or 3"):
        parse_readings(CLOSED, ["4=5"], Unit.INCH)
    assert heights(parse_readings(OPEN, ["by the post=5"], Unit.INCH)) == {"by the post": 5}
    with pytest.raises(InputErrors, match="point has 41 characters; the limit is 40"):
        parse_readings(OPEN, ["x" * 41 + "=5"], Unit.INCH)
    with pytest.raises(InputErrors, match="this check has no such value"):
        parse_readings(OPEN, ["=5"], Unit.INCH)


def test_a_screen_hands_over_names_and_texts_and_blanks_are_left_out() -> None:
    readings = readings_of(OPEN, [("laid", "12"), ("gap", " "), ("left", ""), ("right", "41")], Unit.INCH)
    assert (readings.values, heights(readings)) == ({"laid": 12}, {"right": 41})
    assert readings.entered == (("laid", "12"), ("right", "41"))


def test_readings_answer_for_what_they_hold() -> None:
    form = Form(
        fields=(field(Kind.DATE), Field("by", "by", Kind.TEXT)), columns=(Field("at", "at", Kind.LENGTHS),), rows=("1", "2")
    )  # fmt: skip
    readings = parse_readings(form, ["it=2026-05-12", "1=0; 4'"], Unit.INCH)
    assert readings.has("it") and not readings.has("it", "by")
    assert (readings.day("it"), readings.word("by", "nobody")) == (TODAY, "nobody")
    assert readings.lists("at") == {"1": (0, 4 * FOOT)}
    assert readings.yes("none", default=True)


# -- anything at all

TEXTS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(["12", "1/8", "-1/4", "yes", "14.5", "2026-05-12", "stainless", "4'", "=", "1=2", "left=3", "c1.count=2"]),
)  # fmt: skip
NAMES = st.one_of(
    st.text(max_size=12), st.sampled_from(["laid", "gap", "left", "right.height", "c1.count", "c2.edge", "7", "."])
)
FORMS = st.sampled_from([OPEN, CLOSED, WIDE, SIDES])


@settings(max_examples=examples(200, 4000))
@given(FORMS, st.lists(TEXTS, max_size=8), st.sampled_from(Unit))
def test_any_tokens_are_readings_or_refused_with_every_fault(form: Form, tokens: list[str], unit: Unit) -> None:
    try:
        readings = parse_readings(form, tokens, unit, TODAY)
    except InputErrors as error:
        assert error.problems and error.message == "\n".join(error.problems)
        return
    assert len(readings.entered) == len(tokens)
    assert readings_of(form, [pair for pair in readings.entered if pair[1]], unit, TODAY) == readings


@settings(max_examples=examples(200, 4000))
@given(FORMS, st.lists(st.tuples(NAMES, TEXTS), max_size=8), st.sampled_from(Unit))
def test_readings_read_again_from_what_was_entered_are_the_same(
    form: Form, named: list[tuple[str, str]], unit: Unit
) -> None:
    try:
        readings = readings_of(form, named, unit, TODAY)
    except InputError:
        return
    assert readings_of(form, readings.entered, unit, TODAY) == readings
    held = len(readings.values) + sum(len(row) for row in readings.rows.values())
    assert held == len(readings.entered) == sum(bool(text.strip()) for _, text in named)


@given(
    st.dictionaries(st.sampled_from(["left", "right", "3", "post"]), st.integers(-2000, 2000)), st.sampled_from(Unit)
)
def test_a_table_of_heights_keeps_every_height(heights_64: dict[str, int], unit: Unit) -> None:
    nm = {label: step * (INCH // 64) for label, step in heights_64.items()}
    tokens = [f"{label}={exact_text(value, unit)}" for label, value in nm.items()]
    assert parse_readings(OPEN, tokens, unit).column("height") == nm


LONG = Form(
    fields=(Field("rest", "The rest", Kind.BY_EYE, required=False),),
    columns=(HEIGHT,), rows=tuple(str(n) for n in range(1, 13)), row_word="joist",
)  # fmt: skip


@pytest.mark.parametrize(
    ("line", "rows", "text"),
    [
        ("4 1/8", "4", "1/8"), ("1-12 3/16", "1 2 3 4 5 6 7 8 9 10 11 12", "3/16"), ("1-3,8=0; 4'", "1 2 3 8", "0; 4'"),
        (" 12   12 3/16 ", "12", "12 3/16"), ("REST good by A. Reed", "rest", "good by A. Reed"), ("5= -1/8", "5", "-1/8"),
    ],
)  # fmt: skip
def test_the_first_word_of_a_line_names_the_rows(line: str, rows: str, text: str) -> None:
    assert parse_line(LONG, line) == (tuple(rows.split()), text)


@pytest.mark.parametrize(
    ("line", "why"),
    [("4", "no reading"), ("", "no reading"), ("44 1/8", "no joist asked for"), ("1-13 1/8", "no joist 13"),
     ("8-2 1/8", "write 2-8"), ("3/16 4", "no joist asked for"), ("12' 3-1/4", "no joist asked for")],
)  # fmt: skip
def test_a_line_that_names_no_row_goes_nowhere(line: str, why: str) -> None:
    with pytest.raises(InputError) as told:
        parse_line(LONG, line)
    assert why in f"{told.value.message} {told.value.hint}"


@given(st.integers(1, 12), st.integers(1, 12), st.integers(0, 160))
def test_a_line_and_the_same_word_in_a_shell_read_alike(first: int, last: int, sixteenths: int) -> None:
    if first > last:
        return
    text = f"{sixteenths // 16} {sixteenths % 16}/16"
    rows, reading = parse_line(LONG, f"{first}-{last} {text}")
    typed = parse_readings(LONG, [f"{first}-{last}={text}"], Unit.INCH)
    assert typed.column("height") == dict.fromkeys(rows, sixteenths * INCH // 16) and reading == text
    assert by_row(LONG, typed.entered) == dict.fromkeys(rows, text)
