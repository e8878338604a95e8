"""Joists, rims and blocking inside outlines. Figures are worked by hand beside each test unless a source stands there."""

from __future__ import annotations

import math
from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.trade.outline_cases import (
    BOTH,
    CLIPPED,
    JOISTS,
    L_SHAPE,
    cut_out,
    decking,
    marks,
    outline,
    outlines,
    rows,
    way_round,
)
from tracker.trade.joistlines import OutlinePlan, RimKind, Why, plan_outline
from tracker.trade.lengths import FOOT, INCH
from tracker.trade.outline import LineKind, Outline
from tracker.trade.polygon import root2

QUICK = settings(max_examples=examples(50, 1000), deadline=None)
THICK = JOISTS.thickness_nm


def planned(shape: Outline, angle: int = 0, longest_ft: int = 20, **options: bool) -> OutlinePlan:
    under = rows(shape) if angle == 90 else ()
    return plan_outline(shape, JOISTS, decking(angle), marks(shape), under, longest_ft * FOOT, **options)


def joists_of(plan: OutlinePlan) -> Counter[tuple[float, int, int]]:
    return Counter((j.length_nm / INCH, j.cut_start_tenths, j.cut_end_tenths) for j in plan.frame.joists)


@pytest.mark.parametrize(("width", "depth"), [(10, 12.25), (16, 12), (8.125, 9)])
def test_a_rectangle_has_a_joist_a_mark_between_two_rims(width: float, depth: float) -> None:
    shape = outline(width, depth)
    frame = planned(shape).frame
    assert [line.centre_nm for line in frame.joist_lines] == list(marks(shape))
    assert {joist.length_nm for joist in frame.joists} == {shape.depth_nm - 2 * THICK}
    assert [(rim.kind, rim.length_nm, rim.mitre_start_tenths) for rim in frame.rims] == [
        (RimKind.RIM, shape.width_nm, 0)
    ] * 2


def test_an_l_shape_by_hand() -> None:
    plan = planned(L_SHAPE)
    # 18 ft at 16 in: centres 3/4, 16 ... 208, 215-1/4 (15); doubled joists beside the cut-out, 165 to 168 in.
    # Between the rims: 144 - 3 = 141 in (11 layout joists to 160 in, and the pair), 84 - 3 = 81 in (176, 192, 208, end).
    assert joists_of(plan) == {(141, 0, 0): 13, (81, 0, 0): 4}
    doubled = [line for line in plan.frame.joist_lines if line.plies == 2]
    assert [(line.near_nm / INCH, line.why) for line in doubled] == [(165, Why.CUT_OUT)]
    assert sorted((rim.kind, rim.length_nm / FOOT) for rim in plan.frame.rims) == [
        (RimKind.RIM, 14), (RimKind.RIM, 18), (RimKind.INNER, 4),
    ]  # fmt: skip


def test_a_clipped_corner_by_hand() -> None:
    plan = planned(CLIPPED)
    # The edge joist runs from the back rim at 1-1/2 in to the corner at 108 in and is mitred 22-1/2 degrees. The inner
    # face of the angled rim is y = x + 108 - 1-1/2 x 1.41421 in: the joists at 16 and 32 in, whose right edges are 16-3/4
    # and 32-3/4 in, end there. The others are 141 in.
    off = 108 - 1.5 * math.sqrt(2) - 1.5
    lengths = sorted(joists_of(plan))
    assert lengths[0] == (106.5, 0, 225)
    assert [length for length, _, _ in lengths[1:3]] == pytest.approx([off + 16.75, off + 32.75], abs=1e-6)
    assert [cut for _, _, cut in lengths[1:3]] == [450, 450]
    assert lengths[3:] == [(141, 0, 0)]
    angled = [rim for rim in plan.frame.rims if rim.kind is RimKind.ANGLED]
    assert [(rim.length_nm, rim.mitre_start_tenths, rim.mitre_end_tenths) for rim in angled] == [
        (root2(3 * FOOT), 225, 225)
    ]
    front = next(rim for rim in plan.frame.rims if rim.edge.facing == "front")
    assert (front.length_nm / FOOT, front.mitre_start_tenths, front.mitre_end_tenths) == (13, 225, 0)


def test_the_back_of_an_attached_platform_is_a_ledger_round_the_cut_out_too() -> None:
    shape = outline(16, 12, cut_out("back left", 4, 3))
    kinds = Counter(rim.kind for rim in planned(shape, attached=True).frame.rims)
    assert kinds == {RimKind.LEDGER: 2, RimKind.RIM: 1}


def test_joists_are_doubled_under_board_joints() -> None:
    plan = planned(outline(30, 10), longest_ft=16)
    seams = [line for line in plan.frame.joist_lines if line.why is Why.SEAM]
    # As worked for the boards: joints at 176 and 192 in, in the middle of two joists side by side.
    assert [(line.centre_nm / INCH, line.plies) for line in seams] == [(176, 2), (192, 2)]
    assert len(plan.frame.joists) == len(marks(outline(30, 10))) + 2


def test_rows_are_doubled_under_board_joints_along_the_joists() -> None:
    shape = outline(8, 30)
    plan = planned(shape, 90, 16)
    doubled = [row for row in plan.frame.rows if row.plies == 2]
    assert len(doubled) == 2 and all(row.why is Why.SEAM for row in doubled)
    # 8 ft at 16 in: 7 joists, 6 bays a row.
    assert len(plan.frame.blocking_nm) == 6 * (len(rows(shape)) + 2)


def test_a_border_gets_joists_and_blocking_under_its_inner_edge() -> None:
    frame = planned(CLIPPED, 45, border=True).frame
    lines = [line for line in frame.joist_lines if line.why is Why.BORDER]
    assert [(line.centre_nm / INCH, line.plies) for line in lines] == [(5.5, 2), (186.5, 2)]
    under = [row for row in frame.rows if row.why is Why.BORDER]
    assert [row.plies for row in under] == [2, 2, 2]
    assert sorted(row.start[1] / INCH for row in under)[0] == 5.5


def test_blocking_runs_on_to_an_angled_rim() -> None:
    plan = planned(CLIPPED, 90)
    y = max(y for y in rows(CLIPPED) if y < 135 * INCH)
    (row,) = [row for row in plan.frame.rows if row.start[1] == y]
    # The row's back edge meets the inner face x = y - 108 in + 1-1/2 x 1.41421 in of the rim first.
    assert row.start[0] == pytest.approx(y - THICK // 2 - 108 * INCH + root2(THICK), abs=2)
    assert row.end[0] == 16 * FOOT - THICK


@QUICK
@given(outlines(), st.sampled_from([0, 45, 90]), st.sampled_from([12, 20]), st.booleans())
def test_no_bay_is_wider_than_the_spacing_and_no_joists_overlap(
    shape: Outline, angle: int, longest: int, border: bool
) -> None:
    plan = planned(shape, angle, longest, border=border)
    clear = [after.near_nm - before.far_nm for before, after in pairwise(plan.frame.joist_lines)]
    assert min(clear) > 0
    for before, after in pairwise(plan.frame.joist_lines):
        # Nothing of the layout nearer than two thicknesses; what carries a border nearer its edge, never against it.
        least = THICK if Why.BORDER in (before.why, after.why) else 2 * THICK
        assert Why.LAYOUT not in (before.why, after.why) or after.near_nm - before.far_nm >= 2 * THICK
        assert after.near_nm - before.far_nm >= least
    assert max(clear) <= JOISTS.spacing_nm - THICK
    assert (plan.frame.joist_lines[0].near_nm, plan.frame.joist_lines[-1].far_nm) == (0, shape.width_nm)


def test_beside_the_joists_of_a_cut_out_a_border_takes_one_more_and_no_layout_joist_crowds_them() -> None:
    # 24 x 14 ft less 6 x 5 ft at the front right, a border of 5-1/2 in boards 1 in over the edge: its inner edge is 4-1/2 in
    # inside the frame. At the sides two joists round it (3 to 6 in); beside the cut-out's two (213 to 216 in) one, under the
    # ends of the boards inside (210 to 211-1/2 in). The mark at 208 in is too near and 192 to 210 in too wide: one halfway.
    shape = outline(24, 14, cut_out("front right", 6, 5))
    plan = plan_outline(shape, JOISTS, decking(), marks(shape), (), 40 * FOOT, overhang_nm=INCH, border=True)
    lines = [(line.near_nm / INCH, line.plies, line.why) for line in plan.frame.joist_lines]
    assert lines[:2] == [(0, 1, Why.EDGE), (3, 2, Why.BORDER)]
    at = lines.index((213, 2, Why.CUT_OUT))
    assert lines[at - 3 : at + 2] == [
        (191.25, 1, Why.LAYOUT), (200.625, 1, Why.LAYOUT), (210, 1, Why.BORDER),
        (213, 2, Why.CUT_OUT), (223.25, 1, Why.LAYOUT),
    ]  # fmt: skip


@QUICK
@given(outlines(), st.sampled_from([0, 90]), st.booleans())
def test_every_joist_runs_between_the_outlines_edges(shape: Outline, angle: int, border: bool) -> None:
    frame = planned(shape, angle, border=border).frame
    rims = sum(rim.length_nm for rim in frame.rims)
    sides = sum(edge.length_nm for edge in shape.edges if edge.facing in ("left", "right"))
    assert rims + sides == way_round(shape)
    for joist in frame.joists:
        assert 0 <= joist.start_nm < joist.end_nm <= shape.depth_nm
        for ply_edge in (joist.near_nm, joist.near_nm + THICK):
            assert 0 <= ply_edge <= shape.width_nm
    # One stretch for every ply: no straight line along the joists leaves such an outline and comes back.
    assert len(frame.joists) == sum(line.plies for line in frame.joist_lines)


@QUICK
@given(outlines(), st.sampled_from([12, 16]))
def test_every_board_joint_has_a_doubled_joist_under_it(shape: Outline, longest: int) -> None:
    plan = planned(shape, 0, longest)
    doubled = {line.centre_nm for line in plan.frame.joist_lines if line.plies == 2}
    assert {joint for board in plan.boards.boards for joint in board.joints_nm} <= doubled


@QUICK
@given(st.integers(6, 40), st.integers(6, 30), st.integers(1, 20), st.integers(1, 20), st.integers(1, 5))
def test_a_deeper_cut_out_never_needs_more_joist(width: int, depth: int, wide: int, deep: int, deeper: int) -> None:
    wide, deep = min(wide, width - 1), min(deep, depth - 6)
    deeper = min(deeper, depth - 1 - deep)
    if deep < 1 or deeper < 1:
        return
    totals = [
        sum(j.length_nm for j in planned(outline(width, depth, cut_out("front left", wide, d)), 0, 60).frame.joists)
        for d in (deep, deep + deeper)
    ]
    assert totals[1] < totals[0]


def test_the_drawing_shows_every_member_inside_the_outline() -> None:
    plan = planned(BOTH, 45, 12, border=True)
    kinds = Counter(line.kind for line in plan.lines())
    assert kinds[LineKind.EDGE] == len(BOTH.edges)
    assert kinds[LineKind.RIM] == len(plan.frame.rims)
    assert kinds[LineKind.JOIST] == len(plan.frame.joists)
    assert kinds[LineKind.BLOCKING] == len(plan.frame.rows)
    assert kinds[LineKind.BOARD] == len(plan.boards.boards)
