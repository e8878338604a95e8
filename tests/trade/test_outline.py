"""Outlines with cut-out and clipped corners. Figures are worked by hand beside each test unless a source stands there."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.trade.outline_cases import BOTH, CLIPPED, L_SHAPE, clip, cut_out, outline, outlines, way_round
from tracker.errors import InputErrors
from tracker.trade.lengths import FOOT, INCH, Unit
from tracker.trade.outline import Clip, Corner, Cut, CutOut, Facing, LineKind, Outline, cut_faults
from tracker.trade.polygon import offset, patches, ring, root2

QUICK = settings(max_examples=examples(60, 1200), deadline=None)


def feet(points: tuple[tuple[int, int], ...]) -> list[tuple[float, float]]:
    return [(x / FOOT, y / FOOT) for x, y in points]


def test_an_l_shape_by_hand() -> None:
    assert feet(L_SHAPE.vertices) == [(0, 0), (0, 12), (14, 12), (14, 7), (18, 7), (18, 0)]
    # Worked by hand: 18 x 12 - 4 x 5 = 196 ft2; a cut-out leaves the perimeter as it was, 2 x (18 + 12) = 60 ft.
    assert L_SHAPE.area_nm2 == 196 * FOOT**2
    assert way_round(L_SHAPE) == 60 * FOOT
    assert [edge.facing for edge in L_SHAPE.edges] == ["left", "front", "right", "front", "right", "back"]
    assert [edge.inner for edge in L_SHAPE.edges] == [False, False, True, True, False, False]
    assert [edge.corner_start for edge in L_SHAPE.edges] == [90, 90, 90, 270, 90, 90]


def test_a_clipped_corner_by_hand() -> None:
    assert feet(CLIPPED.vertices) == [(0, 0), (0, 9), (3, 12), (16, 12), (16, 0)]
    # Worked by hand: 16 x 12 - 3 x 3 / 2 = 187.5 ft2; 56 - 2 x 3 + 3 x 1.41421 = 54.2426 ft.
    assert CLIPPED.area_ft2 == 187.5
    assert way_round(CLIPPED) / FOOT == pytest.approx(50 + 3 * math.sqrt(2), abs=1e-8)
    angled = next(edge for edge in CLIPPED.edges if edge.facing is Facing.ANGLED)
    assert (angled.corner_start, angled.corner_end, angled.at_back) == (135, 135, False)


def test_a_rectangle_has_no_cuts() -> None:
    plain = outline(10, 12)
    assert feet(plain.vertices) == [(0, 0), (0, 12), (10, 12), (10, 0)]
    assert [line.kind for line in plain.lines()] == [LineKind.EDGE] * 4


@pytest.mark.parametrize(
    ("cuts", "words"),
    [
        ((cut_out("front right", 11, 5),), "front right corner: a cut-out of 11' does not fit a platform 10' wide; 9'"),
        ((cut_out("back left", 4, 12),), "a cut-out of 12' does not fit a platform 12' deep; 11' is the most"),
        ((clip("back left", 9.5),), """a clip of 9' 6" does not fit a platform 10' across; 9' is the most"""),
        ((clip("back left", 0.5),), """a clip of 6" is too small to frame; make it 1' or more"""),
        ((cut_out("back left", 4, 4), cut_out("back right", 5.5, 2)), "leave less than 1' between them"),
        ((cut_out("back left", 4, 6), clip("front left", 5.5)), "leave less than 1' between them"),
        ((cut_out("back left", 6, 7), cut_out("front right", 5, 6)), "leave less than 1' between them"),
        ((clip("back left", 8), cut_out("front right", 7, 7)), "leave less than 1' between them"),
        ((cut_out("back left", 4, 4), clip("back left", 2)), "the back left corner is cut twice"),
        ((cut_out("back left", 4, 4), cut_out("front left", 4.25, 4)), "almost in line; line them up"),
    ],
)
def test_cuts_that_do_not_fit_are_refused(cuts: tuple[Cut, ...], words: str) -> None:
    with pytest.raises(InputErrors) as caught:
        outline(10, 12, *cuts)
    assert words in caught.value.message
    assert caught.value.hint


def test_faults_are_told_in_the_jobs_unit() -> None:
    (fault,) = cut_faults(10 * FOOT, 12 * FOOT, [cut_out("back left", 11, 5)], Unit.MM)
    assert "3353 mm does not fit a platform 3048 mm wide" in fault


def test_two_cut_outs_that_overlap_only_across_leave_a_band() -> None:
    # Worked by hand: 10 x 12 less 6 x 4 and 6 x 4 = 72 ft2; the band between is 12 - 4 - 4 = 4 ft deep.
    shape = outline(10, 12, cut_out("back left", 6, 4), cut_out("front right", 6, 4))
    assert shape.area_ft2 == 72


@given(st.integers(-(10**13), 10**13))
def test_root_of_two_is_right_to_the_nanometre(nm: int) -> None:
    # No nearer whole number: (2 x - 1)^2 < 8 nm^2 < (2 x + 1)^2.
    size = abs(root2(nm))
    assert (2 * size - 1) ** 2 <= 8 * nm * nm <= (2 * size + 1) ** 2 or nm == 0
    assert root2(-nm) == -root2(nm)


def test_moving_edges_inwards_by_hand() -> None:
    # Worked by hand, 1 in inwards: (1, 1), then the slope x + y = 36 in moves by 1.4142 in to 37.4142 in.
    moved = BOTH.moved(lambda edge: -INCH)
    assert [x for x, _ in moved][:2] == [root2(INCH) + 35 * INCH, INCH]
    assert moved[1][1] == 35 * INCH + root2(INCH)
    assert moved[-1] == (18 * FOOT - INCH, INCH)
    assert moved[4] == (14 * FOOT - INCH, 7 * FOOT - INCH)


@QUICK
@given(outlines(), st.integers(0, 6 * INCH))
def test_moving_out_and_in_again_is_no_move(shape: Outline, by: int) -> None:
    out = shape.moved(lambda edge: by)
    assert offset(out, [-by] * len(out)) == shape.vertices


def test_a_ring_round_a_clipped_corner_by_hand() -> None:
    pieces = ring(CLIPPED.vertices, 5 * INCH)
    # Angles by hand: two pieces at a square corner are cut at 45 degrees, at a 135 degree corner at 22-1/2 each.
    assert [(p.mitre_start_tenths, p.mitre_end_tenths) for p in pieces] == [
        (450, 225), (225, 225), (225, 450), (450, 450), (450, 450),
    ]  # fmt: skip
    lengths = [p.length_nm / FOOT for p in pieces]
    assert lengths == pytest.approx([9, 3 * math.sqrt(2), 13, 12, 16], abs=1e-8)


def test_a_ring_inside_a_cut_out_has_its_long_points_inside() -> None:
    # Worked by hand: the two inner edges are 5 and 4 ft, and a 6 in board reaches 6 in past the inner corner.
    lengths = [p.length_nm / FOOT for p in ring(L_SHAPE.vertices, 6 * INCH)]
    assert lengths == [12, 14, 5.5, 4.5, 7, 18]


@pytest.mark.parametrize(
    ("low", "high", "spans"),
    [
        (0, 1, [(0, 12)]),  # full depth
        (13, 14, [(0, 12)]),
        (14, 15, [(0, 7)]),  # beside the cut-out
        (13.5, 14.5, [(0, 12)]),  # a strip on the corner is as long as its longer part
        (18, 19, []),
    ],
)
def test_strips_of_the_l_by_hand(low: float, high: float, spans: list[tuple[int, int]]) -> None:
    found = patches(L_SHAPE.vertices, round(low * FOOT), round(high * FOOT))
    assert [(patch.lo / FOOT, patch.hi / FOOT) for patch in found] == spans


def test_a_diagonal_strip_over_a_cut_out_falls_in_two() -> None:
    shape = outline(10, 10, cut_out("back left", 4, 4))
    turned = [(x + y, y - x) for x, y in shape.vertices]
    # Worked by hand: x + y = 6 to 6.5 ft passes the cut-out's corner region (4 ft square): two short parts, one in
    # each arm, from the cut-out's side to the outer edge: y - x from 4 - 2.5 = 1.5 to 6.5 ft.
    one, other = patches(turned, 6 * FOOT, round(6.5 * FOOT))
    assert (one.lo / FOOT, one.hi / FOOT) == (-6.5, -1.5)
    assert (other.lo / FOOT, other.hi / FOOT) == (1.5, 6.5)


@QUICK
@given(outlines(), st.integers(1 * INCH, 30 * INCH), st.sampled_from(["x", "y", "slope"]))
def test_strips_cover_the_outline_exactly(shape: Outline, step: int, way: str) -> None:
    turned = {
        "x": list(shape.vertices),
        "y": [(y, x) for x, y in shape.vertices],
        "slope": [(x + y, y - x) for x, y in shape.vertices],
    }[way]
    first, last = min(u for u, _ in turned), max(u for u, _ in turned)
    total = sum(
        patch.area2 for low in range(first, last, step) for patch in patches(turned, low, min(low + step, last))
    )
    assert Fraction(total, 4 if way == "slope" else 2) == shape.area_nm2


@QUICK
@given(outlines())
def test_edges_close_and_the_area_is_the_shoelace_sum(shape: Outline) -> None:
    edges = shape.edges
    assert [edge.end for edge in edges] == [edge.start for edge in (*edges[1:], edges[0])]
    # Shoelace formula, seen on a page with y downwards: counter-clockwise comes out negative.
    twice = sum(edge.start[0] * edge.end[1] - edge.end[0] * edge.start[1] for edge in edges)
    assert Fraction(-twice, 2) == shape.area_nm2
    # The outside angles of a closed way turn once round.
    assert sum(180 - edge.corner_start for edge in edges) == 360


@QUICK
@given(outlines())
def test_a_mirrored_outline_has_the_same_measures(shape: Outline) -> None:
    other = {
        Corner.BACK_LEFT: Corner.BACK_RIGHT, Corner.BACK_RIGHT: Corner.BACK_LEFT,
        Corner.FRONT_LEFT: Corner.FRONT_RIGHT, Corner.FRONT_RIGHT: Corner.FRONT_LEFT,
    }  # fmt: skip
    cuts = tuple(
        Clip(other[c.corner], c.leg_nm) if isinstance(c, Clip) else CutOut(other[c.corner], c.width_nm, c.depth_nm)
        for c in shape.cuts
    )
    mirrored = Outline(shape.width_nm, shape.depth_nm, cuts)
    assert {(shape.width_nm - x, y) for x, y in shape.vertices} == set(mirrored.vertices)
    assert (mirrored.area_nm2, way_round(mirrored)) == (shape.area_nm2, way_round(shape))
