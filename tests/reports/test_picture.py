"""Pictures of readings: each fits its room, reads without colour and beyond ASCII, and shows what the numbers mean."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.reports.drawing_cases import SAMPLES
from tests.reports.picture_cases import (
    GROUND,
    METRIC,
    RAISED,
    TODAY,
    case_of,
    judged,
    lines,
    place,
    rows_of,
    said,
    typed,
)
from tracker.reports.drawing_canvas import runs_width
from tracker.reports.picture import PICTURES, draw_reading, has_picture
from tracker.reports.picture_kit import nice
from tracker.trade.checks.base import Case
from tracker.trade.checks.registry import BY_KEY
from tracker.trade.lengths import INCH, SIXTEENTH, exact_text, format_inches, parse_length
from tracker.trade.readings import Field, Kind, Readings, Value

HOSTILE_LENGTHS = st.one_of(
    st.sampled_from([0, 1, -1, INCH, -INCH, 10**18, -(10**18), 12 * INCH, 168 * INCH, 147 * INCH]),
    st.integers(-(10**12), 10**13),
    st.integers(0, 200).map(lambda n: n * INCH),
)
LABELS = st.one_of(st.sampled_from(["1", "B", "板の端", "\x1b[2J", "[/bold]", "é", "a" * 40]), st.text(max_size=6))


def values_of(field: Field) -> st.SearchStrategy[Value]:
    """Any value a field could hold in a draft, sensible or not."""
    match field.kind:
        case Kind.LENGTHS:
            return st.lists(HOSTILE_LENGTHS, min_size=1, max_size=5).map(tuple)
        case Kind.YESNO:
            return st.booleans()
        case Kind.DATE:
            return st.just(TODAY)
        case Kind.CHOICE:
            return st.sampled_from(field.choices)
        case Kind.BY_EYE:
            return st.sampled_from(["good", "good by R. Stone"])
        case Kind.TEXT:
            return st.sampled_from(["southern pine", "2x8", "no such wood", "\u202e"])
        case Kind.LENGTH | Kind.SIGNED:
            return HOSTILE_LENGTHS
        case _:
            return st.one_of(st.integers(0, 300), st.sampled_from([0, 10**6, 9_999_999]))


@st.composite
def drafts(draw: st.DrawFn) -> tuple[str, Case, Readings]:
    """A half-typed form of any check of any sample job, with values no tape would show among them."""
    job, platform = SAMPLES[draw(st.sampled_from(sorted(SAMPLES)))]
    case = Case(job, platform, TODAY)
    key = draw(st.sampled_from(sorted(key for key in PICTURES if BY_KEY[key].applies(job, platform))))
    form = BY_KEY[key].form(case)
    values = {field.key: draw(values_of(field)) for field in form.fields if draw(st.booleans())}
    labels = (
        list(form.rows) if draw(st.booleans()) else draw(st.lists(st.sampled_from(form.rows or ("1",)), max_size=6))
    )
    if form.open_rows:
        labels += draw(st.lists(LABELS.filter(str.strip), max_size=2))
    rows = {label: {c.key: draw(values_of(c)) for c in form.columns if draw(st.booleans())} for label in labels}
    return key, case, Readings(values, {label: row for label, row in rows.items() if row})


@settings(max_examples=examples(250, 5000), deadline=None)
@given(draft=drafts(), width=st.integers(-1, 140), height=st.integers(-1, 50), ascii_only=st.booleans())
def test_no_picture_leaves_its_room_whatever_was_typed(
    draft: tuple[str, Case, Readings], width: int, height: int, ascii_only: bool
) -> None:
    key, case, readings = draft
    rows = draw_reading(judged(case, key, readings), width, height, ascii_only=ascii_only)
    assert len(rows) <= max(height, 0)
    for row in rows:
        assert runs_width(row) <= max(width, 0)
        text = "".join(part for part, _ in row)
        assert "\n" not in text and "\x1b" not in text and "\u202e" not in text
        assert not ascii_only or text.isascii()


@settings(max_examples=examples(60, 1200), deadline=None)
@given(draft=drafts())
def test_nothing_wrong_is_told_by_colour_alone(draft: tuple[str, Case, Readings]) -> None:
    """Whatever stands in the colour of a fault stands beside a mark or a word that says so."""
    key, case, readings = draft
    rows = draw_reading(judged(case, key, readings), 100, 45)
    told = "".join(text for row in rows for text, _ in row)
    if any("red" in style for row in rows for _, style in row):
        assert any(mark in told for mark in ("!", "←", "→", "↓", "high point"))


def test_every_picture_is_of_a_check_there_is() -> None:
    assert set(PICTURES) <= set(BY_KEY)
    assert has_picture("square.upper") and not has_picture("permit")
    assert draw_reading(typed(GROUND, "delivery"), 60, 20) == ()


@pytest.mark.parametrize("key", sorted(PICTURES))
def test_an_empty_form_says_what_to_read_or_shows_the_plan(key: str) -> None:
    job = next(name for name, (spec, platform) in SAMPLES.items() if BY_KEY[key].applies(spec, platform))
    assert said(lines(typed(job[:6], key)))


def test_the_scale_steps_are_one_two_five() -> None:
    assert [nice(most) for most in (0.2, 1, 1.9, 2, 4.9, 5, 9, 10, 49, 99, 10**9)] == [
        1, 1, 1, 2, 2, 5, 5, 10, 20, 50, 10_000,
    ]  # fmt: skip


# In a parallelogram d1² - d2² = 4·a·x, by the law of cosines on its two triangles.
def push_nm(width_nm: int, ac_nm: int, bd_nm: int) -> Fraction:
    return Fraction(ac_nm**2 - bd_nm**2, 4 * width_nm)


@settings(max_examples=examples(60, 1200), deadline=None)
@given(off=st.integers(3, 24), left=st.booleans(), width=st.integers(50, 100), height=st.integers(20, 40))
def test_the_frame_leans_the_way_it_is_racked_and_the_arrow_is_the_push(
    off: int, left: bool, width: int, height: int
) -> None:
    # 14' by 12' 3" has the diagonal 223.23 in (Pythagoras); one diagonal longer, the other shorter by off/16 in.
    ac, bd = (round(22323 * INCH / 100) + sign * off * SIXTEENTH for sign in ((1, -1) if not left else (-1, 1)))
    ac, bd = (nm // SIXTEENTH * SIXTEENTH for nm in (ac, bd))
    tried = typed(GROUND, "square", "width=14'", "depth=12' 3", f"ac={exact_text(ac)}", f"bd={exact_text(bd)}")
    shown = lines(tried, width, height)
    push = push_nm(168 * INCH, ac, bd)
    arrow_row, at = place(shown, format_inches(abs(push)))
    assert arrow_row == 0 and ("←" if push > 0 else "→") in shown[0][:at]
    corners = {letter: place(shown, f"{letter} ╶" if letter in "AD" else f"╴ {letter}") for letter in "ABCD"}
    a, d = corners["A"], corners["D"]
    # The front is at the bottom; the back edge stands to the side the longer diagonal runs to.
    assert a[0] == corners["B"][0] > d[0] == corners["C"][0]
    assert (d[1] > a[1]) is (push > 0)
    factor = int(said(shown).split("drawn ")[1].split(" x")[0])
    wide = corners["C"][1] - d[1] - 2
    assert abs(abs(d[1] - a[1]) - factor * abs(push) / (168 * INCH) * wide) <= 1
    assert "push the back edge" in said(shown)


def test_an_attached_frame_is_pushed_at_its_front_edge() -> None:
    # 26-015: 16 ft by 12 ft, the diagonal 20 ft (3-4-5); the back edge is the ledger.
    tried = typed(RAISED, "square", "width=16'", "depth=12'", "ac=20' 1/4", "bd=19' 11-3/4")
    shown = lines(tried)
    push = format_inches(push_nm(192 * INCH, parse_length("20' 1/4"), parse_length("19' 11-3/4")))
    row, at = place(shown, push)
    assert row > place(shown, " B")[0] and "→" in shown[row][:at]
    assert "push the front edge" in said(shown) and push in said(shown)


def test_a_square_frame_is_drawn_true() -> None:
    tried = typed(GROUND, "square", "width=14'", "depth=12' 3", "ac=18' 7-1/4", "bd=18' 7-1/4")
    shown = lines(tried)
    assert place(shown, "A ")[1] == place(shown, "D ")[1] and place(shown, " B")[1] == place(shown, " C")[1]
    assert "square, drawn true" in said(shown) and "skewed" not in said(shown) and "→" not in said(shown)


def test_a_tape_that_contradicts_the_others_is_marked_and_nothing_is_pushed() -> None:
    sides = ("width=14'", "depth=12' 3", "right=12' 3", "back=14' 1/2")
    shown = lines(typed(GROUND, "square", *sides, "ac=18' 7-1/8", "bd=18' 7-1/8"))
    top = shown[place(shown, "D ")[0]]
    assert "!" in top and "CD contradicts the other tapes" in said(shown) and "→" not in said(shown)


def test_the_proportions_follow_the_cell_and_the_sides() -> None:
    # 26-015 is 16 ft by 12 ft: 4 to 3; a cell is twice as high as wide.
    shown = lines(typed(RAISED, "square"), 80, 30)
    wide = place(shown, " C")[1] + 1 - place(shown, "D ")[1] - 4
    high = place(shown, "A ")[0] - place(shown, "D ")[0]
    assert abs(high * 2 / wide - 3 / 4) < 0.06


def test_the_points_of_a_level_stand_at_their_place_with_what_they_need() -> None:
    shown = lines(typed(GROUND, "level", "A=0", "B=3/8", "C=1/8", "D=1/4"))
    text = said(shown)
    assert "▲B high" in text and "B is the high point" in text
    # Each point comes up by the difference to B: 3/8 - 0, 3/8 - 1/8, 3/8 - 1/4.
    assert "A +3/8" in text and "C +1/4" in text and "D +1/8" in text
    a, b, c, d = (place(shown, mark) for mark in ("●A", "▲B", "●C", "●D"))
    assert a[0] == b[0] > c[0] == d[0] and a[1] == d[1] < b[1] == c[1]
    assert "not read: AB, BC, CD and DA" in text


@settings(max_examples=examples(40, 800), deadline=None)
@given(sixteenths=st.lists(st.integers(0, 40), min_size=12, max_size=60))
def test_every_block_that_must_come_up_is_named_with_its_amount(sixteenths: list[int]) -> None:
    rows = rows_of(GROUND, "block-level")
    heights = {row: sixteenths[n % len(sixteenths)] for n, row in enumerate(rows)}
    tried = typed(GROUND, "block-level", *(f"{row}={exact_text(n * SIXTEENTH)}" for row, n in heights.items()))
    text = said(lines(tried, 120, 60))
    high = max(heights.values())
    # The tolerance of the sample is 1/4 in or its house rule; the verdict itself says which way it went.
    if tried.answer is not None and tried.answer.verdict == "failed":
        for row, n in heights.items():
            if n < high:
                amount = format_inches((high - n) * SIXTEENTH).removesuffix(" in")
                assert f"{row} {amount}" in text or f"{row} up {amount} in" in text
    assert f"▲ {tried.answer.answer['high_point'] if tried.answer else ''}" in text or "level:" in text


def test_a_rod_reads_downwards() -> None:
    shown = lines(typed(GROUND, "level", "reads=rod", "A=40", "B=40-3/8", "C=40-1/4", "D=40-1/8"))
    assert "▲A high" in said(shown) and "B +3/8" in said(shown)


def test_a_millimetre_job_draws_in_millimetres() -> None:
    text = said(lines(typed(METRIC, "level", "A=0", "B=9", "C=3", "D=6")))
    assert "A +9" in text and "C +6" in text and "millimetres" in text


def test_a_low_room_keeps_the_drawing_and_the_move() -> None:
    shown = lines(typed(GROUND, "square", "ac=18' 6-7/8", "bd=18' 7-3/8"), 58, 7)
    assert "A " in said(shown) and "push the back edge" in said(shown)
    assert case_of(GROUND).platform.width_nm == 168 * INCH
