"""A joist has one number, from the left, on the plan, every tape, every check and every paper."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from datetime import date

import pytest

from tests.reports.drawing_cases import FILES, SAMPLES, judged
from tracker.reports.drawing import draw_platform
from tracker.reports.drawing_joist import joist_facts
from tracker.reports.drawing_json import drawing_json
from tracker.reports.drawing_legend import tape_rows
from tracker.reports.drawing_svg import draw_svg
from tracker.reports.fieldpacket import _tapes
from tracker.reports.paper.model import Table
from tracker.trade.checks.base import Case
from tracker.trade.checks.registry import BY_KEY
from tracker.trade.joistlines import RimKind
from tracker.trade.layout import contact_points
from tracker.trade.lengths import INCH, MM, exact_text, millimetres
from tracker.trade.spec import JobSpec, Platform, Support
from tracker.trade.tapelist import tape_lines, tape_list

EVERY = pytest.mark.parametrize("name", SAMPLES)
assert len(FILES) > 5


def edges(job: JobSpec, platform: Platform) -> dict[int, int]:
    """The near edge of every joist by its number as drawn."""
    return {joist.number: joist.near_nm for joist in draw_platform(job, platform).joists}


def across(tape_at: float, left: int, angled: bool) -> float:
    """Where a mark lies from the platform's left end: an angled rim at 45 degrees is root 2 as long as it is wide."""
    return left + tape_at / (math.sqrt(2) if angled else 1)


@EVERY
def test_the_plan_numbers_joists_from_the_left_without_a_gap(name: str) -> None:
    by_number = edges(*SAMPLES[name])
    assert list(by_number) == list(range(1, len(by_number) + 1))
    assert list(by_number.values()) == sorted(set(by_number.values()))


@EVERY
def test_a_mark_on_any_tape_bears_the_number_of_the_joist_that_stands_there(name: str) -> None:
    job, platform = SAMPLES[name]
    drawing, by_number = draw_platform(job, platform), edges(job, platform)
    seen = set()
    for tape in tape_list(drawing.frame):
        left = min(tape.rim.edge.start[0], tape.rim.edge.end[0])
        for mark, line in zip(tape.marks, tape_lines(tape, job.unit)[1:], strict=False):
            angled = tape.rim.kind is RimKind.ANGLED
            at = max(by_number[mark.joist], left)  # a joist that stands across the rim's end is marked at its end
            assert across(mark.at_nm, left, angled) == pytest.approx(at, abs=MM)
            assert line.startswith(f"{mark.joist}. ")
            seen.add(mark.joist)
    assert seen == set(by_number)


@EVERY
def test_screen_paper_and_json_say_the_marks_with_their_numbers(name: str) -> None:
    job, platform = SAMPLES[name]
    drawing = draw_platform(job, platform)
    lines = [line for tape in tape_list(drawing.frame) for line in tape_lines(tape, job.unit)[1:]]
    shown = {"".join(part for part, _ in row).strip() for row in tape_rows(drawing, 200)}
    assert set(lines) <= shown
    printed = [cell for block in _tapes(drawing) if isinstance(block, Table) for row in block.rows for cell in row]
    assert sorted(str(cell) for cell in printed if cell) == sorted(lines)
    told = json.loads(json.dumps(drawing_json(drawing)))
    joists = {joist["number"]: joist["left_edge"]["mm"] for joist in told["joists"]}
    assert joists == {number: millimetres(nm) for number, nm in edges(job, platform).items()}
    for tape, rim in zip(told["tape"], tape_list(drawing.frame), strict=True):
        assert [mark["joist"] for mark in tape["marks"]] == [mark.joist for mark in rim.marks]
        if rim.rim.edge.at_back and rim.rim.edge.start[0] * rim.rim.edge.end[0] == 0 and len(told["tape"]) == 2:
            assert all(mark["at"]["mm"] == joists[mark["joist"]] for mark in tape["marks"])


@EVERY
def test_the_svg_draws_each_number_over_its_joist(name: str) -> None:
    drawing = draw_platform(*SAMPLES[name])
    svg = draw_svg(drawing)
    balloons = {int(n): float(x) for x, n in re.findall(r'<text x="([\d.]+)"[^>]*>(\d+)</text>', svg)}
    for number, body in re.findall(r'<g data-joist="(\d+)">(.*?)</g>', svg, re.DOTALL):
        xs = [float(pair.split(",")[0]) for points in re.findall(r'points="([^"]+)"', body) for pair in points.split()]
        assert balloons[int(number)] == pytest.approx((min(xs) + max(xs)) / 2, abs=0.02)
    assert set(balloons) >= {joist.number for joist in drawing.joists}


@EVERY
def test_the_checks_ask_for_joists_by_the_plans_numbers(name: str) -> None:
    job, platform = SAMPLES[name]
    drawing, case = draw_platform(job, platform), Case(job, platform, date(2026, 5, 12))
    numbers = [str(joist.number) for joist in drawing.joists]
    for key in ("crown", "joist-spacing", "support"):
        assert list(BY_KEY[key].form(case).rows) == numbers, key
    assert list(BY_KEY["fasteners"].form(case).rows) == [f"{number}{end}" for number in numbers for end in "LR"]
    if platform.support is Support.BLOCKS:
        longest = job.rules.figure("support_longest")
        for joist in drawing.joists:
            depth = max(end - start for start, end in joist.stretches)
            mine = {spot.name for spot in drawing.spots if re.fullmatch(rf"{joist.number}[a-z]+", spot.name)}
            assert len(mine) == len(contact_points(depth, longest))
            at = (joist.near_nm + joist.far_nm) // 2
            assert {spot.at[0] for spot in drawing.spots if spot.name in mine} == {at}
        named = set(BY_KEY["block-level"].form(case).rows)
        assert named == {spot.name for spot in drawing.spots if spot.name[0].isdigit()}


@EVERY
def test_a_joist_off_its_mark_is_the_same_joist_in_the_move_the_plan_and_the_tape(name: str) -> None:
    job, platform = SAMPLES[name]
    plain = draw_platform(job, platform)
    victim = plain.joists[len(plain.joists) // 2]
    off: Mapping[int, int] = {victim.number: INCH // 2}
    read = {
        str(joist.number): exact_text((joist.near_nm + joist.far_nm) // 2 + off.get(joist.number, 0), job.unit)
        for joist in plain.joists
    }
    check = judged(job, platform, "joist-spacing", read)
    assert check.answer is not None and check.answer.answer["off_layout"] == [str(victim.number)]
    assert check.answer.moves[0].startswith(f"move joist {victim.number} ")
    drawing = draw_platform(job, platform, [check])
    assert [joist.number for joist in drawing.joists if joist.mark.value == "failed"] == [victim.number]
    assert joist_facts(drawing, victim.number).what.startswith(f"joist {victim.number} of ")
