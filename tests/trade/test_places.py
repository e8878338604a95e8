"""Where stairs and guards stand: along every side, round cuts, and what a job file may say of it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.trade.outline_cases import clip, cut_out, outlines
from tests.trade.phase_jobs import RAISED
from tracker.errors import InputErrors
from tracker.trade.jobfile import parse_job_file
from tracker.trade.lengths import FOOT, INCH, Unit
from tracker.trade.outline import Cut, Facing, Outline
from tracker.trade.places import SIDES, flight_faults, flight_places, guard_stretches, sides_of
from tracker.trade.spec import Attachment, Guard, Platform, Stairs, Support
from tracker.trade.takeoff import take_off

FREE = replace(
    RAISED, width_nm=16 * FOOT, depth_nm=12 * FOOT, attachment=Attachment.FREE, cuts=(), beams=(), stairs=(), guard=None
)


def feet(points: tuple[tuple[int, int], tuple[int, int]] | None) -> tuple[tuple[float, float], ...]:
    """A stretch in feet."""
    assert points is not None
    return tuple((x / FOOT, y / FOOT) for x, y in points)


def flight(edge: Facing | None, start_ft: float | None, width_ft: float = 3) -> Stairs:
    """A flight at a place in feet."""
    return Stairs(
        round(width_ft * FOOT), 40 * INCH, edge, None if start_ft is None else round(start_ft * FOOT)
    )  # fmt: skip


def with_stairs(*flights: Stairs, cuts: tuple[Cut, ...] = (), attached: bool = False) -> Platform:
    """The 16 ft by 12 ft platform with these flights."""
    house = Attachment.HOUSE if attached else Attachment.FREE
    return replace(FREE, stairs=flights, cuts=cuts, attachment=house)


# Worked by hand on a 16 x 12 platform, the house at the top, x from the left, y from the back: a flight 3 ft wide that
# begins 2 ft from the left end of its side, as seen by who faces that side.
@pytest.mark.parametrize(
    ("side", "place"),
    [
        (Facing.FRONT, ((2, 12), (5, 12))),
        (Facing.LEFT, ((0, 2), (0, 5))),
        (Facing.RIGHT, ((16, 10), (16, 7))),
        (Facing.BACK, ((14, 0), (11, 0))),
    ],
)
def test_a_flight_begins_so_far_from_the_left_end_of_its_side(
    side: Facing, place: tuple[tuple[float, float], tuple[float, float]]
) -> None:
    (found,) = flight_places(with_stairs(flight(side, 2)))
    assert feet(found) == place


def test_flights_without_a_place_share_the_middle_of_the_longest_front_edge() -> None:
    first, second = flight_places(with_stairs(flight(None, None), flight(None, None, 4)))
    # 16 ft less 7 ft of stairs leaves three gaps of 3 ft.
    assert feet(first) == ((3, 12), (6, 12)) and feet(second) == ((9, 12), (13, 12))
    stepped = with_stairs(flight(Facing.FRONT, None, 4), cuts=(cut_out("front left", 6, 5),))
    (found,) = flight_places(stepped)
    assert feet(found) == ((9, 12), (13, 12)), "the middle of the 10 ft part of the front"


def test_a_recess_has_places_of_its_own() -> None:
    (found,) = flight_places(with_stairs(flight(Facing.FRONT, 1), cuts=(cut_out("front left", 6, 5),)))
    assert feet(found) == ((1, 7), (4, 7))


@pytest.mark.parametrize(
    ("platform", "key", "what", "hint"),
    [
        (with_stairs(flight(Facing.FRONT, 14)), "from",
         "a flight 3' wide does not fit 14' from the left end of the front", "it may begin from 0\" to 13'"),
        (with_stairs(flight(Facing.FRONT, 4), cuts=(cut_out("front left", 6, 5),)), "from",
         "a flight 3' wide does not fit 4' from the left end of the front", "it may begin from 0\" to 3' or from 6' to 13'"),
        (with_stairs(flight(Facing.BACK, 1), attached=True), "edge", "the house stands there", "choose another side"),
        (with_stairs(flight(Facing.LEFT, None, 13)), "edge", "no straight part of the left is 13' wide",
         "choose another side or a narrower flight"),
        (with_stairs(flight(Facing.FRONT, 2), flight(Facing.FRONT, 4)), "from", "stairs 2 would stand on stairs 1",
         "that flight takes 2' to 5' of the front"),
    ],
)  # fmt: skip
def test_a_place_that_does_not_fit_is_told_with_one_that_does(
    platform: Platform, key: str, what: str, hint: str
) -> None:
    ((_, found_key, found, would),) = flight_faults(platform, Unit.INCH)
    assert (found_key, found, would) == (key, what, hint)


@pytest.mark.parametrize("side", SIDES)
def test_places_that_touch_are_no_fault(side: Facing) -> None:
    assert flight_faults(with_stairs(flight(side, 0), flight(side, 3), flight(side, 9)), Unit.INCH) == []


def test_a_guard_is_broken_at_the_stairs_and_follows_clipped_corners() -> None:
    platform = replace(
        with_stairs(flight(Facing.FRONT, 6, 4), cuts=(clip("front right", 2),)),
        guard=Guard(36 * INCH, 40 * FOOT, (Facing.FRONT, Facing.RIGHT)),
    )
    assert [feet(stretch) for stretch in guard_stretches(platform)] == [
        ((0, 12), (6, 12)), ((10, 12), (14, 12)), ((14, 12), (16, 10)), ((16, 10), (16, 0)),
    ]  # fmt: skip
    # No side named: it stands on every open edge where its length is theirs, 12 + 6 + 4 + 2.83 + 10 + 16 ft, else nobody knows.
    assert guard_stretches(replace(platform, guard=Guard(36 * INCH, 40 * FOOT))) == ()
    around = guard_stretches(replace(platform, guard=Guard(36 * INCH, 51 * FOOT)))
    assert [feet(stretch) for stretch in around] == [
        ((0, 0), (0, 12)), ((0, 12), (6, 12)), ((10, 12), (14, 12)), ((14, 12), (16, 10)), ((16, 10), (16, 0)), ((16, 0), (0, 0)),
    ]  # fmt: skip


@settings(max_examples=examples(60, 1200), deadline=None)
@given(outlines(), st.sampled_from(SIDES), st.integers(0, 30), st.integers(2, 6), st.booleans())
def test_a_place_without_fault_lies_on_one_edge_and_the_guard_leaves_it_open(
    outline: Outline, side: Facing, start_ft: int, wide_ft: int, attached: bool
) -> None:
    platform = replace(
        with_stairs(flight(side, start_ft, wide_ft), attached=attached),
        width_nm=outline.width_nm, depth_nm=outline.depth_nm, cuts=outline.cuts,
        guard=Guard(36 * INCH, 40 * FOOT, SIDES),
    )  # fmt: skip
    round_it = sum(e.length_nm for e in outline.edges if not e.against_house(attached))
    guarded = sum(
        max(abs(x2 - x), abs(y2 - y)) if 0 in (x2 - x, y2 - y) else next(
            e.length_nm for e in outline.edges if (e.start, e.end) == ((x, y), (x2, y2))
        )
        for (x, y), (x2, y2) in guard_stretches(platform)
    )  # fmt: skip
    (place,) = flight_places(platform)
    if flight_faults(platform, Unit.INCH):
        return
    assert place is not None
    (edge,) = [
        e for e in outline.edges
        if e.facing is side and min(e.start[0], e.end[0]) <= min(place[0][0], place[1][0])
        and max(place[0][0], place[1][0]) <= max(e.start[0], e.end[0])
        and min(e.start[1], e.end[1]) <= min(place[0][1], place[1][1])
        and max(place[0][1], place[1][1]) <= max(e.start[1], e.end[1])
    ]  # fmt: skip
    assert side in sides_of(edge)
    assert guarded == round_it - wide_ft * FOOT


JOB = """\
code = "26-502"
title = "Deck with a place for its stairs"
client = "Client Test Gate"
site = "invented"
crew = "North"
start = 2026-05-04
finish = "none"

[site_facts]
frost_depth = "30 in"
soil = "clay"
digging = true

[[platform]]
name = "deck"
size = ["16'", "12'"]
height = "40 in"
support = "footings"
attachment = "attached"

[platform.joists]
size = "2x8"
species = "southern pine"
grade = "no.2"
spacing = "16 in"
use = "UC4A"

[platform.decking]
board = "5/4x6"
kind = "wood"
species = "southern pine"
lay = "tight"
gap = "3/16 in"
use = "UC4A"

[[platform.beam]]
plies = 2
size = "2x10"
at = "10'"
posts = 3
post = "6x6"

[[platform.stairs]]
width = "4'"
{stairs}

[platform.guard]
height = "36 in"
length = "36'"
{guard}
"""


def read(stairs: str = "", guard: str = "") -> Platform:
    """The platform of the job file with these lines in it."""
    return parse_job_file(JOB.format(stairs=stairs, guard=guard), "job.toml").spec.platforms[0]


def test_a_job_file_may_give_the_places_and_need_not() -> None:
    old = read()
    assert old.stairs[0].edge is None and old.stairs[0].from_nm is None
    assert old.guard is not None and old.guard.edges == ()
    new = read('edge = "Left"\nfrom = 30', 'edges = ["front", "left"]')
    assert (new.stairs[0].edge, new.stairs[0].from_nm) == (Facing.LEFT, 30 * INCH)
    assert new.guard is not None and new.guard.edges == (Facing.FRONT, Facing.LEFT)
    assert new.support is Support.FOOTINGS
    only = read('from = "2\'"')
    assert feet(flight_places(only)[0]) == ((2, 12), (6, 12)), "from alone counts along the front"


@pytest.mark.parametrize(
    ("stairs", "guard", "line", "told"),
    [
        ('edge = "frnt"', "", 45, "edge: 'frnt' is not one of the choices (did you mean front?)"),
        ("edge = 3", "", 45, "edge: a number cannot stand here"),
        ('edge = "back"', "", 45, "edge: the house stands there"),
        ('edge = "left"\nfrom = "9\'"', "", 46, "from: a flight 4' wide does not fit 9' from the left end of the left"),
        ('form = "9\'"', "", 45, "form: no such key (did you mean from?)"),
        ("", 'edges = ["lft"]', 50, "edges[1]: 'lft' is no side of a platform (did you mean left?)"),
        ("", 'edges = ["left", "left"]', 50, "edges[2]: left is there already"),
        ("", 'edges = "left"', 50, "edges: text cannot stand here"),
        ("", 'edges = ["front", "back"]', 50, "edges[2]: the house stands at the back; leave back out"),
        ("", 'edge = ["front"]', 50, "edge: no such key (did you mean edges?)"),
    ],
)
def test_a_wrong_place_is_told_with_its_line(stairs: str, guard: str, line: int, told: str) -> None:
    with pytest.raises(InputErrors) as caught:
        read(stairs, guard)
    (problem,) = caught.value.problems
    assert problem.startswith(f"job.toml:{line}: ") and told in problem


def test_a_place_that_parts_the_guard_in_the_same_bays_leaves_the_take_off_as_it_is() -> None:
    # 12 ft, 6 and 6 beside the flight, 12 ft: the same whether the sides and the middle of the front are named or not.
    jobs = [
        parse_job_file(JOB.format(stairs=stairs, guard=guard), "job.toml").spec
        for stairs, guard in (("", ""), ('edge = "front"\nfrom = "6\'"', 'edges = ["left", "front", "right"]'))
    ]
    assert take_off(jobs[0]) == take_off(jobs[1])


def test_a_job_file_may_say_how_high_the_rails_of_a_flight_are_and_need_not() -> None:
    old = read("handrail = true\nguard = true").stairs[0]
    assert (old.open_sides, old.guard_height_nm, old.handrail_height_nm) == (2, None, None)
    assert (old.guard_tall_nm, old.handrail_tall_nm) == (36 * INCH, 36 * INCH)
    keys = 'handrail = true\nhandrail_height = "35 in"\nguard = true\nguard_height = 34.5\nopen_sides = 1'
    new = read(keys).stairs[0]
    assert (new.open_sides, new.guard_tall_nm, new.handrail_tall_nm) == (1, 69 * INCH // 2, 35 * INCH)
    for line, told in (
        ("open_sides = 3", "open_sides: 3 is out of range"),
        ('guard_height = "3 in"', "guard_height: 3"),
    ):
        with pytest.raises(InputErrors) as caught:
            read(line)
        (problem,) = caught.value.problems
        assert problem.startswith("job.toml:45: ") and told in problem


def test_a_guard_without_a_length_is_as_long_as_its_edges_less_the_stairs() -> None:
    for guard, feet in (("", 36), ('edges = ["front", "right"]', 24)):
        text = JOB.format(stairs="", guard=guard).replace('length = "36\'"\n', "")
        found = parse_job_file(text, "job.toml").spec.platforms[0].guard
        assert found is not None and found.length_nm == feet * FOOT
