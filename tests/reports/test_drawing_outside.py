"""Stairs and guards on the drawing: on their side, in both renderers, and told where the job does not say."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from tests.reports.drawing_cases import sample
from tracker.reports.drawing import draw_platform
from tracker.reports.drawing_json import drawing_json
from tracker.reports.drawing_shapes import Drawing
from tracker.reports.drawing_svg import draw_svg
from tracker.reports.drawing_text import draw_rows, plan_rows
from tracker.trade.framing import TREAD_RUN
from tracker.trade.lengths import FOOT, INCH
from tracker.trade.outline import Facing
from tracker.trade.spec import Attachment, Guard, Stairs


def deck(*flights: Stairs, edges: tuple[Facing, ...] = (), length_ft: int = 36) -> Drawing:
    """The raised 16 x 12 sample, free-standing, with these flights and a guard on these sides."""
    job, platform = sample("26-015")
    beams = (replace(platform.beams[0], at_nm=18 * INCH), platform.beams[0])
    changed = replace(
        platform, stairs=flights, guard=Guard(36 * INCH, length_ft * FOOT, edges),
        attachment=Attachment.FREE, beams=beams,
    )  # fmt: skip
    return draw_platform(job, changed)


@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize("side", [Facing.FRONT, Facing.LEFT, Facing.RIGHT, Facing.BACK])
def test_treads_lead_away_from_their_side(side: Facing, ascii_only: bool) -> None:
    drawing = deck(Stairs(4 * FOOT, 66 * INCH, side, 2 * FOOT))
    (flight,) = drawing.flights
    out = len(flight.treads) * TREAD_RUN
    points = [point for tread in flight.treads for point in tread.points]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    wide, deep = drawing.width_nm, drawing.depth_nm
    assert (min(xs), max(xs), min(ys), max(ys)) == {
        Facing.FRONT: (2 * FOOT, 6 * FOOT, deep, deep + out),
        Facing.LEFT: (-out, 0, 2 * FOOT, 6 * FOOT),
        Facing.RIGHT: (wide, wide + out, deep - 6 * FOOT, deep - 2 * FOOT),
        Facing.BACK: (wide - 6 * FOOT, wide - 2 * FOOT, -out, 0),
    }[side]
    assert f"on the {side.value}, 2' from its left end" in flight.text
    plan = plan_rows(drawing, 100, 40, ascii_only=ascii_only)
    text = ["".join(part for part, _ in row) for row in plan.rows]
    name = next((n, line.index("stairs")) for n, line in enumerate(text) if "stairs" in line)
    column, row = plan.plot.column(sum(xs) / len(xs)), plan.plot.row(sum(ys) / len(ys))
    assert abs(name[0] - row) <= 1 and abs(name[1] + 2.5 - column) <= 2
    assert drawing_json(drawing)["stairs"]


def test_a_guard_is_drawn_in_both_ways_and_named_and_leaves_the_stairs_open() -> None:
    front = (Facing.FRONT,)
    drawing = deck(Stairs(4 * FOOT, 66 * INCH, Facing.FRONT, 6 * FOOT), edges=front, length_ft=12)
    plan = plan_rows(drawing, 100, 40)
    row = "".join(part for part, _ in plan.rows[round(plan.plot.row(drawing.depth_nm))])
    guarded = [column for column, char in enumerate(row) if char == "╍"]
    spans = [round(plan.plot.column(feet * FOOT)) for feet in (0, 6, 10, 16)]
    assert guarded == [*range(spans[0] + 1, spans[1]), *range(spans[2] + 1, spans[3])]
    legend = "".join(part for line in draw_rows(drawing, 100) for part, _ in line)
    assert "╍ guard" in legend and "guard 3' high, 12' in all on the front" in legend
    svg = draw_svg(drawing)
    assert svg.count("<title>guard</title>") == 2
    ascii_row = plan_rows(drawing, 100, 40, ascii_only=True).rows[round(plan.plot.row(drawing.depth_nm))]
    assert "###" in "".join(part for part, _ in ascii_row)


def test_a_guard_at_the_side_leaves_the_edge_joist_in_sight() -> None:
    drawing = deck(edges=(Facing.LEFT, Facing.RIGHT), length_ft=24)
    plan = plan_rows(drawing, 100, 40)
    row = "".join(part for part, _ in plan.rows[round(plan.plot.row(drawing.depth_nm * 0.3))])
    first, last = plan.joist_columns[1], plan.joist_columns[len(drawing.joists)]
    assert row[first - 1 : first + 1] == "╏│" and row[last : last + 2] == "│╏"


@pytest.mark.parametrize(
    ("drawing", "note"),
    [
        (deck(Stairs(4 * FOOT, 66 * INCH)), r"stairs without a place in the job file are drawn at the middle"),
        (deck(), r"the guard is not drawn: the job file does not say on which edges"),
        (deck(edges=(Facing.FRONT,)), r"the guard drawn is 16' long, the job file orders 36'"),
    ],
)
def test_what_the_job_does_not_say_is_told(drawing: Drawing, note: str) -> None:
    assert any(re.search(note, text) for text in drawing.notes)


def test_a_platform_whose_job_says_all_needs_no_note_of_it() -> None:
    drawing = draw_platform(*sample("26-015"))
    assert not any("stairs" in note or "guard" in note for note in drawing.notes)
    assert len(drawing.guard) == 4
