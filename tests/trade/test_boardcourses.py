"""Boards over outlines. Figures are worked by hand beside each test unless a source stands there."""

from __future__ import annotations

import math
from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.trade.outline_cases import (
    CLIPPED,
    JOISTS,
    L_SHAPE,
    clip,
    cut_out,
    decking,
    marks,
    outline,
    outlines,
    rows,
    way_round,
)
from tracker.trade.boardcourses import SLIVER, BoardLayout, Supports, border_support, lay_boards, seam_lines
from tracker.trade.checks.frame import allowed_spacing_nm
from tracker.trade.joistlines import plan_outline
from tracker.trade.lengths import FOOT, INCH, SIXTEENTH
from tracker.trade.outline import Clip, CutOut, LineKind, Outline, cut_faults

QUICK = settings(max_examples=examples(50, 1000), deadline=None)
ANGLES = st.sampled_from([0, 45, 90])
EIGHTH = 3 * SIXTEENTH


def laid(shape: Outline, angle: int = 0, longest_ft: int = 20, **options: int) -> BoardLayout:
    boards = decking(angle, options.pop("gap", 0))
    overhang, border = options.get("overhang", 0), bool(options.get("border", 0))
    return plan_outline(
        shape, JOISTS, boards, marks(shape), rows(shape), longest_ft * FOOT, overhang_nm=overhang, border=border
    ).boards


def inches_of(layout: BoardLayout) -> dict[float, int]:
    return {length / INCH: number for length, number in layout.pieces.items()}


def test_straight_boards_over_an_l_by_hand() -> None:
    # 144 / 5-1/2 = 26.2: 27 courses. Those that start before the cut-out's 84 in (16 x 5-1/2 = 88) are 18 ft long.
    layout = laid(L_SHAPE)
    assert layout.courses == 27
    assert inches_of(layout) == {216: 16, 168: 11}
    # 216 in at 16 in: 15 joists, and the doubled joists beside the cut-out count as one line: 162 - 168 in, where no
    # layout joist stands (160 and 176). A 14 ft board lies on 11 layout joists (0 to 160) and on that line.
    assert layout.crossings == 16 * 16 + 11 * 12


@pytest.mark.parametrize("overhang", [0, INCH // 2, INCH, 3 * INCH])
def test_a_board_past_the_frame_crosses_no_more_joists(overhang: int) -> None:
    # 10 ft at 16 in: 9 joists, the outer ones in the frame's ends. A board that ends an inch past them lies on the same 9.
    layout = laid(outline(10, 8), overhang=overhang)
    assert {board.crossings for board in layout.boards} == {9}
    # Along the joists it lies on the same rows, and on the rims, as one flush with them.
    flush, past = laid(outline(10, 8), 90), laid(outline(10, 8), 90, overhang=overhang)
    assert {board.crossings for board in past.boards} == {board.crossings for board in flush.boards}


def test_a_border_past_the_frame_crosses_no_more_joists() -> None:
    # 10 x 8 ft, 1 in past: the ends of the border stand 1-3/4 in from the middle of the outer joists.
    flush, past = laid(outline(10, 8), border=1), laid(outline(10, 8), border=1, overhang=INCH)
    across = [
        [piece.crossings for piece in layout.border if piece.ring.start[1] == piece.ring.end[1]]
        for layout in (flush, past)
    ]
    assert across[0] == across[1]


def test_straight_boards_at_a_clipped_corner_by_hand() -> None:
    # The slope runs from y = 108 in; the 21st course starts at 110 in and is 2 in short of 192, then 5-1/2 in a course.
    layout = laid(CLIPPED)
    assert inches_of(layout) == {192: 20} | {190 - 5.5 * k: 1 for k in range(7)}


def test_boards_at_45_degrees_over_a_square_by_hand() -> None:
    # 10 ft square: the diagonal of 169.7 in takes 30.9 boards of 5-1/2 in. Before the middle each is twice 5-1/2 in
    # longer than the last, measured on its longer edge; the middle one is as long as the diagonal, up to 169-3/4 in.
    layout = laid(outline(10, 10), 45)
    assert layout.courses == 31
    assert [board.pieces_nm[0] / INCH for board in layout.boards[:15]] == [11 * k for k in range(1, 16)]
    assert layout.boards[15].pieces_nm == (169 * INCH + 12 * SIXTEENTH,)


@pytest.mark.parametrize(("rest", "courses"), [(0, 24), (3, 24), (4, 24), (5, 25), (88, 25)])
def test_a_rest_no_wider_than_a_gap_takes_no_board(rest: int, courses: int) -> None:
    # 24 boards of 5-1/2 in are 11 ft. A quarter of an inch more is spread over them; a sixteenth over that wants one ripped.
    assert laid(outline(10, 11 + rest / 192)).courses == courses


def test_boards_at_45_degrees_over_a_small_square_by_hand() -> None:
    # 55 in square: its diagonal, 77.78 in, takes 15 courses (14.14, up); the longest spans the other diagonal.
    layout = laid(outline(55 / 12, 55 / 12), 45)
    assert layout.courses == 15
    assert max(layout.pieces) / INCH == pytest.approx(77.78, abs=1 / 16)


def test_boards_along_the_joists_by_hand() -> None:
    # 192 / 5-1/2 = 34.9: 35 courses. The clip takes from the first 7, whose longer edge is the right one: 108 in and
    # 5-1/2 in more a course; from the right edge at 38-1/2 in on they are 12 ft.
    layout = laid(CLIPPED, 90)
    assert layout.courses == 35
    assert inches_of(layout) == {113.5 + 5.5 * k: 1 for k in range(6)} | {144: 29}


@pytest.mark.parametrize(("angle", "gap"), [(0, 0), (0, EIGHTH), (90, EIGHTH)])
def test_a_rectangle_is_covered_by_run_over_board_and_gap(angle: int, gap: int) -> None:
    layout = laid(outline(10, 12.25), angle, gap=gap)
    run = 147 if angle == 0 else 120
    # Common practice: (run + gap) / (board + gap), up.
    assert layout.courses == math.ceil((run * INCH + gap) / (5.5 * INCH + gap))
    assert set(layout.pieces) == {10 * FOOT if angle == 0 else 147 * INCH}


def test_a_border_takes_its_boards_and_a_field_of_its_own() -> None:
    # 10 x 12 ft, 5-1/2 in boards touching: border 2 x 120 and 2 x 144 in; field 109 x 133 in, 133 / 5-1/2 = 24.2: 25.
    layout = laid(outline(10, 12), border=1)
    assert inches_of(layout) == {120: 2, 144: 2, 109: 25}
    assert all((p.ring.mitre_start_tenths, p.ring.mitre_end_tenths) == (450, 450) for p in layout.border)


def test_an_overhang_makes_boards_longer_except_at_the_house() -> None:
    shape, boards = outline(10, 12), decking()
    plan = plan_outline(shape, JOISTS, boards, marks(shape), (), 20 * FOOT, overhang_nm=INCH, attached=True)
    # 120 + 2 in long; 144 + 1 in of run, the house at the back: 145 / 5-1/2 = 26.4: 27.
    assert inches_of(plan.boards) == {122: 27}


@pytest.mark.parametrize(
    ("angle", "joists", "row_count", "angled"),
    [(0, [5.5, 186.5], 0, 1), (45, [5.5, 186.5], 2, 1), (90, [], 2, 1)],
)
def test_what_a_border_needs_under_its_inner_edge(angle: int, joists: list[float], row_count: int, angled: int) -> None:
    # Where field boards end against it: at the sides across the joists, at the front and back along them, everywhere
    # at 45 degrees, and at a clip always.
    support = border_support(CLIPPED, decking(angle))
    assert [x / INCH for x in support.joists_nm] == joists
    assert (len(support.rows), len(support.angled)) == (row_count, angled)


def test_joints_land_on_two_sets_of_joists_in_turn() -> None:
    # 30 ft of boards from 16 ft stock: a joint within 16 ft of both ends lies between 14 and 16 ft; the two layout
    # joists there stand at 176 and 192 in.
    layout = laid(outline(30, 10), longest_ft=16)
    assert [seam / INCH for seam in layout.seams_nm] == [176, 192]
    places = {board.course % 2: board.joints_nm for board in layout.boards}
    assert {p[0] / INCH for p in places.values()} == {176, 192}
    assert all(len(board.pieces_nm) == 2 for board in layout.boards)


def test_a_run_that_only_one_joist_can_halve_takes_three_pieces_every_other_course() -> None:
    # 32 ft from 16 ft stock: two pieces meet at 192 in; the neighbours cannot meet there too, so they take three.
    assert {len(b.pieces_nm) for b in laid(outline(32, 8), longest_ft=16).boards} == {2, 3}


@pytest.mark.parametrize(
    ("feet", "stock", "runs"),
    [
        # 40 ft: two of 20 ft meet on the joist at 240 in; the neighbors take three of 13 ft 4 in, never 20 + 17-4 + 2-8.
        (40, 20, {(240, 240), (160, 160, 160)}),
        # 50 ft of 20 ft: three pieces; the joists nearest 200 and 400 in stand at 192 and 208, 384 and 400.
        (50, 20, {(192, 192, 216), (208, 192, 200)}),
    ],
)
def test_lengths_are_balanced_and_no_course_ends_in_a_stub(feet: int, stock: int, runs: set[tuple[int, ...]]) -> None:
    layout = laid(outline(feet, 10), longest_ft=stock)
    assert {tuple(nm // INCH for nm in board.pieces_nm) for board in layout.boards} == runs


def test_a_course_cut_short_ends_in_no_stub_either() -> None:
    # The front right 19 ft of 40 cut out leave courses of 252 in: a joint at 240 in would leave a 12 in stub.
    layout = laid(outline(40, 12, cut_out("front right", 19, 5)))
    short = [board for board in layout.boards if sum(board.pieces_nm) == 252 * INCH]
    assert short and all(min(board.pieces_nm) >= 2 * JOISTS.spacing_nm for board in short)
    by_course = {board.course: set(board.joints_nm) for board in layout.boards}
    assert not any(by_course[k] & by_course[k + 1] for k in range(len(by_course) - 1))


def test_rows_are_doubled_for_boards_along_the_joists() -> None:
    shape = outline(8, 30)
    layout = laid(shape, 90, longest_ft=16)
    assert set(layout.seams_nm) <= set(rows(shape))
    assert len(layout.seams_nm) == 2


@pytest.mark.parametrize(
    ("low", "high", "stops", "reach", "sets"),
    [
        (0, 10, [4, 5, 6], 12, ((), ())),
        (0, 20, [8, 9, 10, 11, 12], 12, ((9,), (10,))),
        (0, 20, [], 12, ((12,), (11,))),
    ],
)
def test_seam_lines(
    low: int, high: int, stops: list[int], reach: int, sets: tuple[tuple[int, ...], tuple[int, ...]]
) -> None:
    one, other = seam_lines(low, high, stops, reach, 1)
    assert (len(one), len(other)) == (len(sets[0]), len(sets[1]))
    assert not set(one) & set(other)


@QUICK
@given(st.integers(60, 900), st.lists(st.integers(1, 899), max_size=60), st.integers(20, 300), st.integers(1, 9))
def test_seam_lines_keep_within_reach_and_apart(high: int, stops: list[int], reach: int, apart: int) -> None:
    one, other = seam_lines(0, high, stops, reach, apart)
    assert not set(one) & set(other)
    for joints in (one, other):
        assert list(joints) == sorted(joints)
        assert all(0 < after - before <= reach for before, after in pairwise((0, *joints, high)))


@QUICK
@given(outlines(), ANGLES, st.booleans(), st.sampled_from([16, 40]))
def test_boards_without_gaps_cover_the_outline_exactly(shape: Outline, angle: int, border: bool, longest: int) -> None:
    layout = laid(shape, angle, longest, border=int(border))
    # Exact but for the rounding of roots, a few nm all round and along every board's edges, and for a last rest too narrow for a board.
    slack = 0 if angle != 45 and not any(isinstance(c, Clip) for c in shape.cuts) else 20 * FOOT * 400
    missing = shape.area_nm2 - layout.laid_nm2
    assert -slack <= missing <= slack + SLIVER * way_round(shape)
    across = [x + y if angle == 45 else x if angle == 90 else y for x, y in shape.vertices]
    rest = (max(across) - min(across)) / (math.sqrt(2) if angle == 45 else 1) % decking().width_nm
    if not 0 < rest <= SLIVER + 4 and not (angle == 45 and border):
        assert missing <= slack
    assert 0 <= layout.waste_share < 1


@QUICK
@given(outlines(), ANGLES, st.sampled_from([0, EIGHTH]))
def test_course_lengths_times_board_and_gap_come_to_the_area(shape: Outline, angle: int, gap: int) -> None:
    layout = laid(shape, angle, 100, gap=gap)
    pitch = decking().width_nm + gap
    bought = sum(length * number for length, number in layout.pieces.items()) * pitch
    longest = max(layout.pieces)
    # One board over, half a board more wherever a board ends on a slope, and what a course's cut-out takes.
    slopes = way_round(shape) if angle == 45 else sum(c.leg_nm for c in shape.cuts if isinstance(c, Clip))
    outs = sum(c.width_nm + c.depth_nm for c in shape.cuts if isinstance(c, CutOut))
    rounding = sum(layout.pieces.values()) * SIXTEENTH * pitch
    over = bought - shape.area_nm2
    assert -gap * longest <= over + gap * (way_round(shape) + outs)
    assert over <= pitch * (longest + slopes + outs) + rounding


@QUICK
@given(outlines(), ANGLES, st.sampled_from([12, 16, 20]), st.booleans())
def test_no_piece_is_longer_than_the_stock_and_neighbours_never_join_on_one_support(
    shape: Outline, angle: int, longest: int, border: bool
) -> None:
    layout = laid(shape, angle, longest, border=int(border))
    assert max(layout.pieces) <= longest * FOOT
    by_course: dict[int, set[int]] = {}
    for board in layout.boards:
        by_course.setdefault(board.course, set()).update(board.joints_nm)
        assert len(board.pieces_nm) == len(board.joints_nm) + 1
    # One bay of joists, or of the rows that stand no farther apart.
    bay = min((b - a for a, b in pairwise(rows(shape))), default=0) if angle == 90 else JOISTS.spacing_nm
    for course, joints in by_course.items():
        assert all(abs(a - b) >= bay for a in joints for b in by_course.get(course + 1, ()))


@QUICK
@given(outlines(), st.sampled_from([(0, "width"), (90, "depth"), (45, "swap")]))
def test_a_mirrored_outline_takes_the_same_boards(shape: Outline, case: tuple[int, str]) -> None:
    angle, way = case
    cuts = []
    for cut in shape.cuts:
        left, back = cut.corner.left, cut.corner.back
        left, back = {"width": (not left, back), "depth": (left, not back), "swap": (back, left)}[way]
        corner = type(cut.corner)(f"{'back' if back else 'front'} {'left' if left else 'right'}")
        sizes = (cut.depth_nm, cut.width_nm) if way == "swap" else (cut.width_nm, cut.depth_nm)
        cuts.append(Clip(corner, cut.leg_nm) if isinstance(cut, Clip) else CutOut(corner, *sizes))
    sides = (shape.depth_nm, shape.width_nm) if way == "swap" else (shape.width_nm, shape.depth_nm)
    assume(not cut_faults(*sides, cuts))
    mirrored = Outline(*sides, tuple(cuts))
    assert laid(mirrored, angle, 100).pieces == laid(shape, angle, 100).pieces


@QUICK
@given(
    st.integers(8, 36), st.integers(8, 30), st.integers(1, 16), st.integers(1, 16), st.integers(0, 6), st.integers(0, 6),
    st.sampled_from([0, 90]), st.sampled_from([12, 16, 20]),
)  # fmt: skip
def test_a_bigger_cut_out_never_needs_more_boards(
    width: int, depth: int, wide: int, deep: int, wider: int, deeper: int, angle: int, longest: int
) -> None:
    assume(wide + wider <= width - 1 and deep + deeper <= depth - 1)
    small = outline(width, depth, cut_out("front right", wide, deep))
    large = outline(width, depth, cut_out("front right", wide + wider, deep + deeper))
    under = marks(small) if angle == 0 else rows(small)
    stops = under[1:-1] if angle == 0 else under
    supports = Supports(under, stops, JOISTS.thickness_nm, JOISTS.spacing_nm)
    more, fewer = (lay_boards(s, decking(angle), supports, longest * FOOT) for s in (small, large))
    assert fewer.cut_boards <= more.cut_boards
    assert sum(n * c for n, c in fewer.pieces.items()) <= sum(n * c for n, c in more.pieces.items())


def test_diagonal_boards_waste_more_than_straight_ones() -> None:
    shares = {angle: float(laid(outline(12, 16), angle, 24).waste_share) for angle in (0, 45)}
    assert 0 <= shares[0] < shares[45]
    # Common practice allows 12 to 15 % in all for diagonal boards: the angled ends alone stay under it.
    assert shares[45] < 0.12


def test_diagonal_boards_cross_joists_wider_apart() -> None:
    # A board at 45 degrees over joists at 12 in spans 12 x 1.414 = 17 in; the rule asks for the closer spacing.
    assert (allowed_spacing_nm(decking(0)), allowed_spacing_nm(decking(45))) == (16 * INCH, 12 * INCH)
    straight, turned = laid(outline(12, 12), 0, 24), laid(outline(12, 12), 45, 24)
    per_inch = [x.crossings / sum(n * c for n, c in x.pieces.items()) for x in (straight, turned)]
    assert per_inch[1] < per_inch[0]


def test_a_clip_and_a_cut_out_together_by_pieces() -> None:
    shape = outline(12, 10, clip("back left", 2), cut_out("front right", 3, 3))
    layout = laid(shape)
    # 22 courses (120 / 5-1/2 = 21.8). The clip shortens the first five by what is above their front edge:
    # 24 - 5-1/2 k in. 16 courses start before 84 in; the other 6 end at the cut-out, 9 ft long.
    assert Counter(inches_of(layout)) == Counter({144 - (24 - 5.5 * k): 1 for k in range(1, 5)} | {144: 12, 108: 6})


def test_the_drawing_has_a_line_for_every_board_joint_and_border() -> None:
    layout = laid(outline(30, 10), 45, 12, border=1)
    kinds = Counter(line.kind for line in layout.lines())
    assert kinds[LineKind.BOARD] == len(layout.boards)
    assert kinds[LineKind.SEAM] == sum(len(board.joints_nm) for board in layout.boards) > 0
    assert kinds[LineKind.BORDER] == 4
    for line in layout.lines():
        assert min(line.x1, line.x2) >= 0 and max(line.x1, line.x2) <= 30 * FOOT
        assert min(line.y1, line.y2) >= 0 and max(line.y1, line.y2) <= 10 * FOOT
