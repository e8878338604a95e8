"""The drawing in terminal cells: true to scale, nothing outside the window, every joist to be counted."""

from __future__ import annotations

import re
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.text import Text

from tests.often import examples
from tests.reports.drawing_cases import HOSTILE, SAMPLES, Sizes, crowned, judged, sample, sizes
from tracker.reports.drawing import draw_platform
from tracker.reports.drawing_canvas import runs_width, to_text
from tracker.reports.drawing_legend import tape_rows
from tracker.reports.drawing_plot import View, moved
from tracker.reports.drawing_shapes import Drawing, Layer
from tracker.reports.drawing_text import Plan, draw_rows, needs_ascii, plan_rows

EVERY = pytest.mark.parametrize("name", SAMPLES)
SIZES = pytest.mark.parametrize(("width", "height"), [(60, 20), (80, 24), (120, 40), (240, 60)])
FRAME = frozenset({Layer.FRAME})
LAYERS = st.frozensets(st.sampled_from(list(Layer)))


def shown(drawing: Drawing, width: int, height: int | None = None, **how: Any) -> Text:
    return to_text(list(draw_rows(drawing, width, height, **how)))


def lines(plan: Plan) -> list[str]:
    return ["".join(text for text, _ in row) for row in plan.rows]


@EVERY
@SIZES
@pytest.mark.parametrize("ascii_only", [False, True])
def test_it_fits_its_window(name: str, width: int, height: int, ascii_only: bool) -> None:
    drawing = draw_platform(*SAMPLES[name], title=name)
    rows = draw_rows(drawing, width, height, ascii_only=ascii_only)
    assert len(rows) <= height
    assert max(runs_width(row) for row in rows) <= width
    assert to_text(list(rows)).plain.isascii() or not ascii_only


@settings(max_examples=examples(60, 1200), deadline=None)
@given(
    sizes(), st.integers(1, 150), st.none() | st.integers(1, 60), LAYERS,
    st.builds(View, st.floats(1, 50), st.floats(-1, 2), st.floats(-1, 2)), st.sampled_from([1.7, 2.0, 2.4]), st.booleans(),
)  # fmt: skip
def test_nothing_is_drawn_outside_whatever_the_view(
    size: Sizes, width: int, height: int | None, layers: frozenset[Layer], view: View, ratio: float, plain: bool
) -> None:
    drawing = size.drawing()
    rows = draw_rows(drawing, width, height, layers=layers, view=view, cell_ratio=ratio, ascii_only=plain)
    assert max(runs_width(row) for row in rows) <= max(width, 30)
    assert height is None or len(rows) <= max(height, 12)
    plot = plan_rows(drawing, max(width, 30), height and max(height, 12), view=view, cell_ratio=ratio).plot
    assert plot.x_nm >= drawing.low[0] and plot.y_nm >= drawing.low[1]


@settings(max_examples=examples(80, 1600), deadline=None)
@given(sizes(), st.integers(40, 200), st.none() | st.integers(16, 70), st.sampled_from([1.7, 2.0, 2.4]))
def test_its_proportions_are_the_platforms_within_a_cell(
    size: Sizes, width: int, height: int | None, ratio: float
) -> None:
    drawing = size.drawing()
    plan = plan_rows(drawing, width, height, layers=FRAME, cell_ratio=ratio)
    plot = plan.plot
    assert plot.along_nm == pytest.approx(ratio * plot.across_nm)
    across = round(plot.column(drawing.width_nm)) - round(plot.column(0))
    along = round(plot.row(drawing.depth_nm)) - round(plot.row(0))
    assert abs(across * plot.across_nm - drawing.width_nm) <= plot.across_nm
    assert abs(along * plot.along_nm - drawing.depth_nm) <= plot.along_nm
    # What is on the screen is what the plot says: the front edge stands on its row, over the front's width.
    front = lines(plan)[round(plot.row(drawing.depth_nm))]
    assert len(front.rstrip()) > round(plot.column(0))
    assert front[round(plot.column(0))] in "└┴╚╙╘┘╜┤│║"


@EVERY
@SIZES
def test_joists_can_be_counted_on_a_row_of_the_frame(name: str, width: int, height: int) -> None:
    drawing = draw_platform(*SAMPLES[name])
    plan = plan_rows(drawing, width, height, layers=FRAME)
    plot = plan.plot
    if plan.crowded:
        assert width < 80
        return
    assert len(set(plan.joist_columns.values())) == len(drawing.joists)
    shown = lines(plan)
    standing = 0
    for joist in drawing.joists:
        column = plan.joist_columns[joist.number]
        assert abs(column - plot.column(joist.at_nm)) <= 1.5
        start, end = max(joist.stretches, key=lambda run: run[1] - run[0])
        glyph = shown[round(plot.row((start + end) / 2))][column]
        assert glyph in ("│┼├┤┴" if joist.plies == 1 else "║╫╟╢╨"), (joist, glyph)
        standing += 1
    assert standing == len(drawing.joists)


@EVERY
def test_every_joist_has_its_number_over_it(name: str) -> None:
    drawing = draw_platform(*SAMPLES[name])
    plan = plan_rows(drawing, 120, 40, layers=FRAME)
    heads = lines(plan)[1 : plan.plot.top]
    words = sorted(int(word) for row in heads for word in row.split())
    assert words == [joist.number for joist in drawing.joists]
    for number, column in plan.joist_columns.items():
        assert any(
            row[column - len(str(number)) : column + 1 + len(str(number))].find(str(number)) >= 0 for row in heads
        )


def test_every_number_of_the_samples_is_there_at_80_by_24() -> None:
    for job, platform in SAMPLES.values():
        drawing = draw_platform(job, platform)
        text = shown(drawing, 80, 24, layers=FRAME).plain.splitlines()
        head = " ".join(line[:52] for line in text[1:4])
        assert all(f" {joist.number} " in f" {head} " for joist in drawing.joists), head


def test_crowns_and_marks_stand_over_their_joists() -> None:
    job, platform = sample("26-014")
    drawing = draw_platform(job, platform, [crowned(job, platform, {"3": "-1/8", "12": "0"})])
    plan = plan_rows(drawing, 80, 24)
    crowns, marks = lines(plan)[plan.plot.top - 2 : plan.plot.top]
    at = plan.joist_columns
    assert (crowns[at[3]], crowns[at[12]], crowns[at[5]]) == ("↓", "=", "↑")
    assert [number for number, column in at.items() if marks[column] == "!"] == [3]
    assert marks[at[4]] == "✓"
    # The joist itself carries the mark too.
    assert any(row[at[3]] == "!" for row in lines(plan)[plan.plot.top :])


@pytest.mark.parametrize("ascii_only", [False, True])
def test_a_failing_part_is_named_with_what_to_do_without_any_colour(ascii_only: bool) -> None:
    job, platform = sample("26-014")
    checks = [
        crowned(job, platform, {"3": "-1/8"}),
        judged(job, platform, "square", {"ac": "18' 7-1/2", "bd": "18' 7"}),
    ]
    text = shown(draw_platform(job, platform, checks), 120, 40, ascii_only=ascii_only).plain
    flat = " ".join(text.split())
    assert "! Crowns up FAIL [joist 3]" in flat and "do: turn 3 over: crown up" in flat
    assert "! Frame square FAIL" in flat


def test_every_failing_part_is_named_where_there_is_no_room_for_all_that_is_to_be_done() -> None:
    job, platform = sample("26-014")
    checks = [
        crowned(job, platform, {"3": "-1/8"}),
        judged(job, platform, "block-level", {"1a": "0", "1d": "0", "12a": "-1", "12d": "0", "6b": "0"}),
        judged(job, platform, "square", {"ac": "18' 7-1/2", "bd": "18' 7"}),
    ]
    text = shown(draw_platform(job, platform, checks), 80, 24).plain
    assert text.count("! ") >= 3 and "Frame square" in text and "[12a]" in text and "more lines" in text


def test_zooming_in_shows_a_part_and_says_which() -> None:
    drawing = draw_platform(*sample("26-025"))
    plan = plan_rows(drawing, 80, 24, layers=FRAME, view=View(4, 1, 1))
    assert 0 < len(plan.joist_columns) < len(drawing.joists) and 23 in plan.joist_columns
    assert "to 24', from the back" in lines(plan)[plan.plot.top + plan.plot.rows]
    whole = plan_rows(drawing, 80, 24, layers=FRAME)
    # Fewer numbers to stack leave the plan a row or two more.
    assert 3.9 < whole.plot.across_nm / plan.plot.across_nm < 5


def test_board_courses_thin_out_until_they_can_be_told_apart() -> None:
    drawing = draw_platform(*sample("26-014"))
    boards = frozenset({Layer.BOARDS})
    far, near = (plan_rows(drawing, 80, 24, layers=boards, view=View(zoom)) for zoom in (1, 4))
    assert far.board_step > 1 and near.board_step == 1
    text = " ".join(shown(drawing, 60, None, layers=boards).plain.split())
    assert re.search(r"one line for [2-9] board courses", text)


def test_hostile_names_are_only_text() -> None:
    drawing = draw_platform(*sample("26-014"), title=HOSTILE)
    for width, height in ((60, 20), (120, 40), (200, None)):
        text = shown(drawing, width, height)
        assert "\x1b" not in text.plain and "\u202e" not in text.plain
        assert "<script>" in text.plain and "[/x]" in text.plain.replace("\n", " ")
        assert all(span.style in ("bold", "dim", "bold red", "green", "yellow") for span in text.spans)


def test_the_same_drawing_gives_the_same_text() -> None:
    for job, platform in SAMPLES.values():
        one, other = (shown(draw_platform(job, platform), 100, 30) for _ in range(2))
        assert one == other and one.markup == other.markup


def test_an_encoding_without_the_characters_asks_for_ascii() -> None:
    assert needs_ascii("ascii") and needs_ascii("cp437") and needs_ascii(None) and needs_ascii("no-such")
    assert not needs_ascii("utf-8")


@EVERY
def test_the_tape_names_every_joist_of_every_rim(name: str) -> None:
    drawing = draw_platform(*SAMPLES[name])
    rows = tape_rows(drawing, 44)
    text = "\n".join("".join(part for part, _ in row) for row in rows)
    assert all(runs_width(row) <= 44 for row in rows)
    crosses = sum(found.count("X") for found in re.findall(r"(?:in|mm) (X(?: X)*)(?= \(|$)", text, re.MULTILINE))
    assert crosses == sum(len(drawing.frame.joists_on(rim)) for rim in drawing.frame.rims)
    assert "cut in this order" in text


@settings(max_examples=examples(60, 1200), deadline=None)
@given(sizes(), st.integers(30, 160), st.integers(12, 60), st.floats(1.2, 30), st.floats(0.1, 0.9))
def test_going_on_one_way_ends_at_the_edge_at_one_scale(
    size: Sizes, width: int, height: int, zoom: float, y: float
) -> None:
    drawing = size.drawing()
    plan = plan_rows(drawing, width, height, view=View(zoom, 0, y))
    scale, first = plan.plot.across_nm, plan.plot.x_nm
    for _ in range(400):
        before = plan.plot.x_nm
        plan = plan_rows(drawing, width, height, view=moved(drawing, plan.plot, zoom, plan.plot.columns / 2, 0))
        assert plan.plot.across_nm == pytest.approx(scale)
        if plan.plot.x_nm == pytest.approx(before):
            break
    end = plan.plot.x_nm + (plan.plot.columns - 1) * plan.plot.across_nm
    assert end == pytest.approx(drawing.high[0], abs=1) or plan.plot.x_nm == pytest.approx(first)
    assert end > drawing.high[0] - plan.plot.across_nm
