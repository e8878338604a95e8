"""The drawing of a platform: every part of the plan once, in its place, with what the checks said of it."""

from __future__ import annotations

from collections import Counter
from datetime import date

import pytest
from hypothesis import given, settings

from tests.often import examples
from tests.reports.drawing_cases import SAMPLES, Sizes, crowned, judged, sample, sizes
from tracker.reports.drawing import draw_platform
from tracker.reports.drawing_json import drawing_json
from tracker.reports.drawing_marks import Mark
from tracker.reports.drawing_shapes import What
from tracker.trade.checks.base import Case
from tracker.trade.checks.registry import BY_KEY
from tracker.trade.checks.stock import joist_rows
from tracker.trade.framing import plan_frame
from tracker.trade.lengths import FOOT, INCH

EVERY = pytest.mark.parametrize("name", SAMPLES)


@EVERY
def test_every_joist_of_the_plan_is_drawn_once_and_numbered_as_the_checks_number_it(name: str) -> None:
    job, platform = SAMPLES[name]
    plan = plan_frame(platform, job.rules, job.site)
    drawing = draw_platform(job, platform)
    drawn = Counter(
        (min(x for x, _ in piece), min(y for _, y in piece), max(y for _, y in piece))
        for joist in drawing.joists
        for piece in joist.pieces
    )
    assert drawn == Counter((joist.near_nm, joist.start_nm, joist.end_nm) for joist in plan.outline.frame.joists)
    assert tuple(str(joist.number) for joist in drawing.joists) == joist_rows(platform)


@EVERY
def test_supports_are_those_of_the_plan_under_the_names_of_the_checks(name: str) -> None:
    job, platform = SAMPLES[name]
    plan = plan_frame(platform, job.rules, job.site)
    drawing = draw_platform(job, platform)
    found = Counter(spot.what for spot in drawing.spots)
    assert found[What.BLOCK] == plan.blocks
    assert found[What.FOOTING] == plan.posts
    assert found[What.POST] == sum(len(beam.post_at_nm) for beam in plan.beams if beam.post_nm)
    check = BY_KEY["block-level"]
    if check.applies(job, platform):
        rows = check.form(Case(job, platform, date(2026, 5, 12))).rows
        assert list(dict.fromkeys(spot.name for spot in drawing.spots)) == list(rows)


@settings(max_examples=examples(60, 1200), deadline=None)
@given(sizes())
def test_everything_lies_inside_the_bounds_and_joists_inside_the_outline(size: Sizes) -> None:
    drawing = size.drawing()
    for x, y in (p for shape in drawing.shapes if shape.what is not What.BOARD for p in shape.points):
        # Deck boards are left out: they are drawn past their ends, and whoever draws them cuts them off at the field's edge.
        assert drawing.low[0] <= x <= drawing.high[0]
        assert drawing.low[1] <= y <= drawing.high[1]
    for joist in drawing.joists:
        for piece in joist.pieces:
            # A nanometre at a mitre is rounding.
            assert all(_inside(drawing.outline, x, y, 2) for x, y in piece), (joist, piece)


def _inside(outline: tuple[tuple[int, int], ...], x: int, y: int, slack: int) -> bool:
    """Whether a point is in or on an outline (crossings of a ray, and nearness to an edge)."""
    odd = False
    for (x1, y1), (x2, y2) in zip(outline, (*outline[1:], outline[0]), strict=True):
        long = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
        along = ((x - x1) * (x2 - x1) + (y - y1) * (y2 - y1)) / long
        if abs((x - x1) * (y2 - y1) - (y - y1) * (x2 - x1)) / long <= slack and -slack <= along <= long + slack:
            return True
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) * (x2 - x1) / (y2 - y1):
            odd = not odd
    return odd


def test_a_clipped_corner_cuts_its_joists_along_the_clip() -> None:
    drawing = draw_platform(*sample("26-025"))
    # The clip takes 3 ft each way: its edge is the line x + y = 3 ft, the angled rim stands inside it (plane geometry).
    edge = 3 * FOOT
    cut = [piece for joist in drawing.joists for piece in joist.pieces if len({y for _, y in piece}) > 2]
    assert len(cut) == 5
    for piece in cut:
        nearest = sorted(x + y - edge for x, y in piece)[:2]
        assert all(0 <= gap < 3 * INCH for gap in nearest)


def test_a_deck_of_12_by_16_ft_has_diagonals_of_20_ft() -> None:
    # 3-4-5: Euclid, Elements, book I proposition 47.
    drawing = draw_platform(*sample("26-015"))
    assert "diagonals A-C and B-D 20'" in drawing.facts


def test_sides_with_a_cut_corner_are_measured_in_parts_and_over_all() -> None:
    drawing = draw_platform(*sample("26-025"))
    by_side: dict[str, list[str]] = {}
    for dimension in drawing.dimensions:
        by_side.setdefault(dimension.side.value, []).append(dimension.text)
    assert by_side == {
        "front": ["18'", "6'", "24'"],
        "back": ["3'", "21'"],
        "left": ["3'", "11'"],
        "right": ["9'", "5'", "14'"],
    }


def test_a_flight_has_a_tread_fewer_than_risers() -> None:
    job, platform = sample("26-015")
    drawing = draw_platform(job, platform)
    (flight,) = drawing.flights
    plan = plan_frame(platform, job.rules, job.site)
    assert len(flight.treads) == plan.stairs[0].risers - 1
    assert flight.treads[0].points[0][1] == platform.depth_nm


def test_crowns_and_failing_joists_come_from_the_readings() -> None:
    job, platform = sample("26-014")
    drawing = draw_platform(job, platform, [crowned(job, platform, {"3": "-1/8", "12": "0"})])
    by_number = {joist.number: joist for joist in drawing.joists}
    assert by_number[3].crown_nm == -INCH // 8 and by_number[3].mark is Mark.FAILED
    assert by_number[12].crown_nm == 0 and by_number[12].mark is Mark.PASSED
    assert [j.number for j in drawing.joists if j.mark is Mark.FAILED] == [3]
    assert drawing.checks[0].parts == ("joist 3",) and drawing.checks[0].moves


def test_a_joist_off_its_mark_a_short_joint_and_a_long_stretch_are_marked_each() -> None:
    job, platform = sample("26-014")
    centres = [line.at_nm for line in draw_platform(job, platform).joists]
    rows = joist_rows(platform)
    standing = ["3/4", *(f"{16 * k}" for k in range(1, 11)), "167-1/4"]
    assert len(centres) == len(rows) == len(standing)
    spacing = judged(job, platform, "joist-spacing", dict(zip(rows, standing, strict=True)) | {"4": "48-1/2"})
    nails = judged(job, platform, "fasteners", {"1L": "4", "4R": "4", "8L": "3", "12R": "4"})
    blocks = judged(job, platform, "support", {row: "0; 6'; 12'" if row == "10" else "0; 4'; 8'; 12'" for row in rows})
    drawing = draw_platform(job, platform, [spacing, nails, blocks])
    assert [j.number for j in drawing.joists if j.mark is Mark.FAILED] == [4, 8, 10]
    assert {note.title: note.parts for note in drawing.checks} == {
        "Joist spacing": ("joist 4",), "Fasteners in the joints": ("joist 8",), "Joist support": ("joist 10",),
    }  # fmt: skip


def test_a_waived_failure_stays_visible_as_waived() -> None:
    job, platform = sample("26-014")
    rows = joist_rows(platform)
    waived = judged(job, platform, "crown", {row: "-1/8" if row == "3" else "1/8" for row in rows}, "waived")
    drawing = draw_platform(job, platform, [waived])
    assert drawing.joists[2].mark is Mark.WAIVED and drawing.joists[1].mark is Mark.PASSED


def test_a_failure_that_names_no_joist_calls_none_good() -> None:
    job, platform = sample("26-014")
    drawing = draw_platform(job, platform, [crowned(job, platform, {"1": "0", "2": "1/4", "3": "0"})])
    assert drawing.checks[0].mark is Mark.FAILED and not drawing.checks[0].parts
    assert {joist.mark for joist in drawing.joists} == {Mark.OPEN}


def test_a_low_block_is_marked_by_name() -> None:
    job, platform = sample("26-014")
    view = judged(job, platform, "block-level", {"1a": "0", "1d": "0", "12a": "-1", "12d": "0", "6b": "0"})
    drawing = draw_platform(job, platform, [view])
    assert [spot.name for spot in drawing.spots if spot.mark is Mark.FAILED] == ["12a"]
    (low,) = [spot for spot in drawing.spots if spot.name == "12a"]
    # a is the front end of the joist, 12 the right edge.
    assert low.at[0] > platform.width_nm - 2 * INCH and low.at[1] > platform.depth_nm - 2 * INCH


def test_another_platforms_checks_say_nothing() -> None:
    job, lower = sample("26-017 lower")
    _, upper = sample("26-017 upper")
    drawing = draw_platform(job, lower, [crowned(job, upper, {"3": "-1/8"})])
    assert not drawing.checks and all(joist.crown_nm is None for joist in drawing.joists)


@EVERY
def test_the_plain_values_hold_every_joist_and_the_tape(name: str) -> None:
    job, platform = SAMPLES[name]
    drawing = draw_platform(job, platform)
    plain = drawing_json(drawing)
    joists, tape = plain["joists"], plain["tape"]
    assert isinstance(joists, list) and len(joists) == len(drawing.joists)
    assert isinstance(tape, list) and len(tape) == len(drawing.frame.rims)
