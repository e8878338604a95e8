"""The framing plan: counts, lengths and supports of platforms, against worked examples and published tables."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tracker.trade.courses import split
from tracker.trade.framing import plan_frame, plan_job, stock_lengths
from tracker.trade.lengths import FOOT, INCH, MM, SIXTEENTH, Unit
from tracker.trade.loadpath import beam_loads
from tracker.trade.lumber import dressed
from tracker.trade.outline import Clip, Corner, CutOut, Facing
from tracker.trade.rules import Rules
from tracker.trade.spec import (
    Attachment,
    Beam,
    BoardKind,
    Decking,
    Finish,
    GapIntent,
    Guard,
    JobSpec,
    Joists,
    Platform,
    Site,
    Stairs,
    Support,
)
from tracker.trade.workload import quantities

SITE = Site("invented", 30 * INCH, "clay", 120, False, False)


def joists(size: str = "2x8", spacing: int = 16 * INCH) -> Joists:
    real = dressed(size)
    return Joists(size, real.thickness_nm, real.depth_nm, "southern pine", "no.2", spacing, "UC4A")


def decking(angle: int = 0, gap: int = 0) -> Decking:
    intent = GapIntent.SPACED if gap else GapIntent.TIGHT
    return Decking("5/4x6", 11 * INCH // 2, INCH, BoardKind.WOOD, "southern pine", angle, intent, gap, "UC4A")


def platform(width: int, depth: int, **changes: object) -> Platform:
    made = Platform(
        name="deck", width_nm=width, depth_nm=depth, height_nm=11 * INCH, uncut=False, rim_stock_nm=0,
        joist_stock_nm=0, attachment=Attachment.FREE, support=Support.BLOCKS, joists=joists(), decking=decking(),
    )  # fmt: skip
    return replace(made, **changes)  # type: ignore[arg-type]


UNCUT = platform(120 * INCH, 147 * INCH, uncut=True, rim_stock_nm=10 * FOOT, joist_stock_nm=12 * FOOT)


def job(*platforms: Platform, **changes: object) -> JobSpec:
    made = JobSpec(Unit.INCH, platforms, SITE, False, Finish.NONE, Rules(), 2)
    return replace(made, **changes)  # type: ignore[arg-type]


def test_uncut_joists_between_uncut_rims() -> None:
    # Common practice, worked by hand: 12 ft 2x8 joists between 10 ft rims, 120 x 147 in outside.
    plan = plan_frame(UNCUT, Rules(), SITE)
    assert plan.joist_nm == 144 * INCH
    assert plan.joists == 9
    assert [mark / INCH for mark in plan.marks_nm] == [0.75, 16, 32, 48, 64, 80, 96, 112, 119.25]
    assert (plan.rims, plan.rim_pieces) == (2, {120 * INCH: 2})
    assert [nm // FOOT for nm in plan.contacts_nm] == [0, 4, 8, 12]
    assert plan.blocks == 36
    assert plan.nailed_ends == 18
    assert plan.courses.count == plan.courses.boards == 27
    assert plan.courses.crossings == 9 * 27
    assert (plan.blocking_nm, plan.beams, plan.footing, plan.stairs, plan.guard) == ((), (), None, (), None)


def test_crew_hours_are_counted_by_these_quantities() -> None:
    # 27 boards of 10 ft; nine joists of 12 ft and two rims of 10 ft at 4/3 board feet a foot of 2x8.
    found = {key: amount for key, amount in quantities(job(UNCUT)).items() if amount}
    assert found == pytest.approx({
        "boards": 27.0, "board_ft": 270.0, "area_ft2": 122.5, "blocks": 36.0, "supports": 36.0, "joists": 9.0,
        "frame_bf": 128 * 4 / 3,
    })  # fmt: skip
    both = quantities(job(UNCUT, replace(UNCUT, name="upper", support=Support.PLATFORM)))
    assert (both["boards"], both["joists"], both["blocks"]) == (54.0, 18.0, 36.0)


def raised(width: int, depth: int, at: int, posts: int, **changes: object) -> Platform:
    made = platform(
        width, depth, height_nm=66 * INCH, attachment=Attachment.HOUSE, support=Support.FOOTINGS,
        joists=joists("2x10"), beams=(Beam(2, "2x12", at, posts, "6x6"),),
    )  # fmt: skip
    return replace(made, **changes)  # type: ignore[arg-type]


def test_an_attached_deck_has_a_ledger_one_rim_hangers_and_posts() -> None:
    plan = plan_frame(raised(16 * FOOT, 12 * FOOT, 126 * INCH, 3), Rules(), SITE)
    assert (plan.rims, plan.ledgers_nm, plan.joists) == (1, (16 * FOOT,), 13)
    assert (plan.hung_ends, plan.nailed_ends, plan.blocks) == (13, 13, 0)
    (beam,) = plan.beams
    # Board 1, joist 9-1/4, beam 11-1/4 in (PS 20 dry sizes, from memory: PS 20-20 Table 2) from 66 in leave 44-1/2 in.
    assert beam.post_nm * 2 == 89 * INCH
    assert [at / INCH for at in beam.post_at_nm] == [2.75, 96, 189.25]
    # The joists span from the ledger's face to the beam, over 8 ft: one row of blocking in each of 12 bays.
    assert [span / INCH for span in plan.spans_nm] == [124.5]
    assert len(plan.blocking_rows_nm) == 1 and len(plan.blocking_nm) == 12
    assert plan.blocking_nm[5] * 2 == 29 * INCH


@pytest.mark.parametrize(
    ("beam_ft", "joist_ft", "round_in"),
    # DCA 6 (2012 IRC edition) Table 4, round footings, 1500 psf, joists to 10, 14 and 18 ft.
    [(6, 10, 18), (6, 14, 21), (6, 18, 24), (10, 10, 23), (10, 14, 27), (10, 18, 31), (14, 10, 27), (18, 18, 42)],
)
def test_footings_follow_the_table(beam_ft: int, joist_ft: int, round_in: int) -> None:
    # An inner post carries beam span x 0.75 joist span: here half the joist span and an overhang of a quarter.
    wide = 2 * beam_ft * FOOT + 11 * INCH // 2
    deck = raised(wide, joist_ft * 5 * FOOT // 4, joist_ft * FOOT, 3)
    footing = plan_frame(deck, Rules(), replace(SITE, frost_depth_nm=42 * INCH)).footing
    assert footing is not None
    assert footing.load_lb == pytest.approx(50 * beam_ft * 0.75 * joist_ft)
    # The table rounds to the nearest inch, the order is rounded up.
    assert 0 <= footing.diameter_nm / INCH - round_in <= 1
    assert footing.depth_nm == 42 * INCH


def test_the_footings_of_the_order_carry_what_the_footing_check_asks() -> None:
    lower = raised(16 * FOOT, 12 * FOOT, 126 * INCH, 3)
    upper = platform(60 * INCH, 72 * INCH, name="top", height_nm=84 * INCH, support=Support.PLATFORM)
    for made in (job(lower), job(lower, upper)):
        footing = plan_job(made)[0].footing
        assert footing is not None
        posts = [post for beam in beam_loads(made, lower) for post in beam.posts]
        assert footing.load_lb == max(post.load_lb for post in posts)
        assert footing.diameter_nm == max(post.pad(footing.soil_psf).round_in for post in posts) * INCH
    assert footing is not None
    # By hand: the inner post has 93.25 x 81 in of deck, 52.45 ft2, and all 30 ft2 of the platform on top over it.
    assert footing.load_lb == pytest.approx(50 * (93.25 * 81 / 144 + 30))


def test_two_posts_take_the_corner_footings_of_the_table() -> None:
    # DCA 6 (2012 IRC edition) Table 4: beam span 10 ft, joists to 10 ft, round 23 in; a corner footing 0.9 of it.
    footing = plan_frame(raised(10 * FOOT + 11 * INCH // 2, 150 * INCH, 10 * FOOT, 2), Rules(), SITE).footing
    assert footing is not None
    assert footing.diameter_nm == 21 * INCH


def test_footings_are_never_under_the_least() -> None:
    # From memory: IRC 2018 R507.3.2, 12 in below undisturbed ground, and Table R507.3.1, round 14 in.
    bare = replace(SITE, frost_depth_nm=0, soil="bedrock")
    footing = plan_frame(raised(6 * FOOT, 6 * FOOT, 6 * FOOT, 2), Rules(), bare).footing
    assert footing is not None
    assert (footing.depth_nm, footing.diameter_nm) == (12 * INCH, 14 * INCH)


@pytest.mark.parametrize(
    ("rise", "risers", "stringers"),
    # IRC R311.7: riser 7-3/4 in at most, so 31 in is four of exactly 7-3/4 and a hair more is five; one step has none.
    [(7, 1, 0), (7.75, 1, 0), (8, 2, 3), (28, 4, 3), (31, 4, 3), (31.0625, 5, 3), (66, 9, 3)],
)
def test_flights_have_the_fewest_risers(rise: float, risers: int, stringers: int) -> None:
    deck = raised(16 * FOOT, 12 * FOOT, 126 * INCH, 3, stairs=(Stairs(36 * INCH, int(rise * INCH)),))
    (flight,) = plan_frame(deck, Rules(), SITE).stairs
    assert (flight.risers, flight.treads, flight.stringers) == (risers, risers - 1, stringers)


def test_stairs_and_guard() -> None:
    deck = raised(
        16 * FOOT, 12 * FOOT, 126 * INCH, 3, stairs=(Stairs(4 * FOOT, 66 * INCH),), guard=Guard(36 * INCH, 36 * FOOT)
    )
    plan = plan_frame(deck, Rules(), SITE)
    (flight,) = plan.stairs
    assert (flight.risers, flight.treads, flight.stringers) == (9, 8, 4)
    # sqrt(66^2 + 82^2) = 105.26 in, and 12 in for the cuts.
    assert flight.stringer_nm / INCH == pytest.approx(117.26, abs=1 / 16)
    guard = plan.guard
    # Three sides of 12, 16 and 12 ft less a 4 ft flight about the middle, 36 ft: all that is open, so it stands there though no
    # side is named: 12 and 6 ft, 6 and 12: three bays of 6 ft in each run, a post more than bays.
    assert guard is not None and (guard.runs, guard.corners, guard.bays, guard.posts) == (2, 2, 6, 8)
    # Openings: bay 72 - post 3.5 = 68.5 in; 13 of 1-1/2 in leave (68.5 - 19.5) / 14 = 3.5 in, under the 4 in of
    # IRC R312.1; 12 would leave 3.88 in, over the 3-7/8 in kept for shrinkage.
    assert guard.infill == 13 * 6
    assert guard.post_nm * 4 == (36 + 1) * 4 * INCH + 37 * INCH


@pytest.mark.parametrize(
    ("begin_ft", "posts", "bays"),
    [
        # The flight in the middle: 12 and 6 ft to its left, 6 and 12 to its right: two bays and one, one and two; two runs of 3 bays.
        (6, 8, 6),
        # From 2 ft on: 12 and 2 ft, 10 and 12: two bays and one, two and two.
        (2, 9, 7),
        # At the left corner: 12 ft alone, 12 and 12: two bays; two and two.
        (0, 8, 6),
    ],
)
def test_guard_posts_are_counted_run_by_run(begin_ft: int, posts: int, bays: int) -> None:
    deck = raised(
        16 * FOOT, 12 * FOOT, 126 * INCH, 3, stairs=(Stairs(4 * FOOT, 66 * INCH, Facing.FRONT, begin_ft * FOOT),),
        guard=Guard(36 * INCH, 36 * FOOT, (Facing.LEFT, Facing.FRONT, Facing.RIGHT)),
    )  # fmt: skip
    guard = plan_frame(deck, Rules(), SITE).guard
    assert guard is not None and (guard.runs, guard.posts, guard.bays) == (2, posts, bays)
    assert max(guard.rails_nm) <= 6 * FOOT and 0 <= sum(guard.rails_nm) - 36 * FOOT < bays * SIXTEENTH


def test_a_guard_all_round_and_one_of_one_side() -> None:
    free = raised(12 * FOOT, 12 * FOOT, 126 * INCH, 3, attachment=Attachment.FREE, guard=Guard(36 * INCH, 48 * FOOT, tuple(
        side for side in Facing if side is not Facing.ANGLED
    )))  # fmt: skip
    # Four sides of two bays, the corners shared: as many posts as bays.
    guard = plan_frame(free, Rules(), SITE).guard
    assert guard is not None and (guard.runs, guard.bays, guard.posts) == (1, 8, 8)
    # One side of 18 ft is three bays between four posts.
    plain = raised(18 * FOOT, 12 * FOOT, 126 * INCH, 3, guard=Guard(36 * INCH, 18 * FOOT, (Facing.FRONT,)))
    guard = plan_frame(plain, Rules(), SITE).guard
    assert guard is not None and (guard.runs, guard.bays, guard.posts) == (1, 3, 4)


def test_boards_along_the_joists_get_rows_to_cross() -> None:
    along = replace(UNCUT, decking=decking(90))
    plan = plan_frame(along, Rules(), SITE)
    # 144 in of joist in bays of 16 in or less: 9 bays, 8 rows; 8 bays of joists each.
    assert (len(plan.blocking_rows_nm), len(plan.blocking_nm)) == (8, 64)
    # 120 in of 5-1/2 in boards: 22; each crosses two rims and eight rows.
    assert (plan.courses.count, plan.courses.crossings) == (22, 220)


def test_screws_agree_with_the_rule_of_thumb() -> None:
    # Common practice: about 350 deck screws for each 100 ft2 at 16 in on centre; 12 x 16 ft, boards 3/16 in apart.
    plan = plan_frame(platform(16 * FOOT, 12 * FOOT, decking=decking(gap=3 * SIXTEENTH)), Rules(), SITE)
    assert round(2 * plan.courses.crossings / 1.92) == 352


def test_long_runs_are_joined_over_supports() -> None:
    plan = plan_frame(platform(45 * FOOT, 25 * FOOT), Rules(), SITE)
    # Two rims, the joints on the layout joists at 20 and 40 ft.
    assert {nm / FOOT: number for nm, number in plan.rim_pieces.items()} == {20: 4, 5: 2}
    assert plan.joist_parts_nm[0] in plan.contacts_nm and sum(plan.joist_parts_nm) == plan.joist_nm
    assert plan.courses.joints == 2 * plan.courses.count


@pytest.mark.parametrize(("size", "first", "last"), [("2x8", 8 * FOOT, 20 * FOOT), ("45x195", 2400 * MM, 6000 * MM)])
def test_stock_lengths(size: str, first: int, last: int) -> None:
    assert (stock_lengths(size)[0], stock_lengths(size)[-1]) == (first, last)


@settings(max_examples=examples(80, 1600), deadline=None)
@given(st.integers(1, 10**5), st.integers(50, 10**4), st.lists(st.integers(-10, 10**5), max_size=60))
def test_a_split_run_is_whole_and_no_part_is_too_long(length: int, longest: int, stops: list[int]) -> None:
    parts = split(length, longest, stops)
    assert sum(parts) == length and all(0 < part <= longest for part in parts)


def test_an_l_shape_has_shorter_joists_blocks_and_boards() -> None:
    # 18 x 12 ft, 4 x 5 ft out of the front right: as worked for the frame, 13 joists of 141 in and 4 of 81 in.
    notch = CutOut(Corner.FRONT_RIGHT, 4 * FOOT, 5 * FOOT)
    plan = plan_frame(platform(18 * FOOT, 12 * FOOT, cuts=(notch,)), Rules(), SITE)
    assert {nm / INCH: number for nm, number in plan.joist_pieces.items()} == {141: 13, 81: 4}
    assert {nm / FOOT: number for nm, number in plan.rim_pieces.items()} == {18: 1, 14: 1, 4: 1}
    # A block every 5 ft or less: 4 under 141 in (12 lines, the doubled one counted once), 3 under 81 in (4 lines).
    assert plan.blocks == 12 * 4 + 4 * 3
    assert (plan.joists, plan.rims, plan.nailed_ends) == (17, 3, 34)
    assert {nm / FOOT: number for nm, number in plan.courses.pieces.items()} == {18: 16, 14: 11}


def test_an_attached_deck_round_a_corner_of_the_house_has_two_ledgers() -> None:
    bay = CutOut(Corner.BACK_LEFT, 4 * FOOT, 2 * FOOT)
    plan = plan_frame(raised(16 * FOOT, 12 * FOOT, 126 * INCH, 3, cuts=(bay,)), Rules(), SITE)
    assert sorted(nm / FOOT for nm in plan.ledgers_nm) == [4, 12]
    # Every joist hangs on one of them: the two ends, 16 and 32 in, moved over to 16-3/4 and 32-3/4 so that 16 in are left to the pair
    # beside the cut-out at 48, and eight from 64 to 176 in: 12, and the pair.
    assert plan.hung_ends == plan.joists == plan.nailed_ends == 14


def test_a_beam_under_a_clipped_corner_ends_with_the_platform() -> None:
    corner = Clip(Corner.FRONT_LEFT, 3 * FOOT)
    (beam,) = plan_frame(raised(16 * FOOT, 12 * FOOT, 126 * INCH, 3, cuts=(corner,)), Rules(), SITE).beams
    # The slope starts at 108 in: at 126 in the platform begins 18 in from the left.
    assert (beam.start_nm / INCH, beam.length_nm / INCH) == (18, 174)


def test_board_joints_double_the_joists_under_them() -> None:
    plan = plan_frame(platform(30 * FOOT, 10 * FOOT), Rules(), SITE)
    # 30 ft of 20 ft stock: one joint a course, on one of two joists.
    assert plan.joists == len(plan.marks_nm) + 2
    assert plan.courses.joints == plan.courses.count
