"""The parts of guards and handrails: counted by hand from the sizes of invented jobs, and taken off wherever they are called for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest

from tests.trade.geometry_cases import DAY, inch
from tests.trade.phase_jobs import RAISED, job_of
from tracker.trade.checks.base import Case
from tracker.trade.checks.guard import GUARD
from tracker.trade.framing import plan_frame
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.lengths import INCH
from tracker.trade.material import Line
from tracker.trade.outline import Facing
from tracker.trade.phases import phases_for
from tracker.trade.spec import Attachment, Guard, JobSpec, Platform, Stairs, Support
from tracker.trade.takeoff import take_off
from tracker.trade.workload import quantities

SAMPLES = Path(__file__).parents[2] / "sample_jobs"
PARTS = ("guard", "rail", "infill")


def parts(job: JobSpec) -> Mapping[str, Line]:
    """The take-off's lines of guards and handrails, by title."""
    return {line.title: line for line in take_off(job) if any(word in line.title for word in PARTS)}


def test_the_parts_of_the_raised_sample_counted_by_hand() -> None:
    found = parts(parse_job_bytes((SAMPLES / "26-015-ridge-step.toml").read_bytes(), "sample").spec)
    # 16 x 12 ft, the house at the back; 4 ft of stairs from 6 ft on: 12 and 6 ft, 6 and 12: three bays of 6 ft in each of two runs.
    # Bays of 72 in less a 3-1/2 in post are 68-1/2 in clear: 13 balusters leave 3-1/2 in, 12 would leave 3.88.
    # 66 in up in 9 risers: 8 treads of 10-1/4 in, 82 in, and 58.67 in up from the first nosing: 100.83 in of slope, two bays a side.
    # A bay is 41 in wide, 37-1/2 in clear: 7 balusters leave 3.38 in, 6 would leave 4.07. The two top posts are the deck's.
    assert {title: line.quantity for title, line in found.items()} == {
        "guard posts 4x4": 8,
        "guard post blocking 2x10": 2 * 8,
        "guard rails 2x4": 2 * 6,
        "guard infill 2x2": 13 * 6,
        "stairs: guard posts 4x4": 2 * 2,
        "stairs: guard rails 2x4": 2 * 2 * 2,
        "stairs: guard infill 2x2": 7 * 2 * 2,
        "stairs: handrail 2x2": 1,
        "guard post hold-down, hot-dip galvanized": 8 + 2,
        "1/2 in guard post bolt with nut and washers, hot-dip galvanized": 2 * (8 + 4),
        # 112.83 in: three spaces of 4 ft at the most, and one at the end.
        "handrail bracket with its screws": 4,
        # 2 at each end of 20 rails, 1 at each end of 106 balusters: 292, and a box holds 350.
        "screws of the guard, 2-1/2 in": 1,
    }
    (rail,) = found["stairs: handrail 2x2"].pieces
    assert rail.length_nm / INCH == pytest.approx(100.83 + 12, abs=1 / 16)
    (stair_rail,) = {piece.length_nm for piece in found["stairs: guard rails 2x4"].pieces}
    assert stair_rail / INCH == pytest.approx(100.83 / 2, abs=1 / 16)


@pytest.mark.parametrize(
    ("edges", "corners", "start_ft", "runs", "posts", "turns"),
    [
        # Open all round, a flight at the middle of the front: one run from its one side round to the other: 6 + 12 + 16 + 12 + 6 ft.
        ((), 0, 6, 1, 1 + 2 + 3 + 2 + 1 + 1, 4),
        # The flight at the left corner of the front: 12 ft of front, 12, 16 and 12 ft: one run, its ends beside the flight.
        ((), 0, 0, 1, 2 + 2 + 3 + 2 + 1, 3),
        # The right side alone, and the front in two parts: 6 ft; 6 and 12 ft round the corner.
        ((Facing.FRONT, Facing.RIGHT), 0, 6, 2, 2 + (1 + 2 + 1), 1),
    ],
)
def test_posts_run_by_run_with_corners_and_openings(
    edges: tuple[Facing, ...], corners: int, start_ft: int, runs: int, posts: int, turns: int
) -> None:
    open_nm = inch(12 * (16 + 12 + 16 + 12 - 4)) if not edges else inch(12 * (16 + 12 - 4))
    platform = replace(
        RAISED, attachment=Attachment.FREE, stairs=(Stairs(inch(48), inch(66), Facing.FRONT, inch(12 * start_ft)),),
        guard=Guard(inch(36), open_nm, edges),
    )  # fmt: skip
    job = job_of(platform)
    guard = plan_frame(platform, job.rules, job.site).guard
    assert guard is not None and (guard.runs, guard.posts, guard.corners) == (runs, posts, turns)


def test_a_guard_and_a_handrail_nobody_wrote_down_are_taken_off_where_the_height_calls_for_them() -> None:
    declared = replace(
        RAISED, stairs=(Stairs(inch(36), inch(66), handrail=True, guard=True),), guard=Guard(inch(36), inch(444))
    )
    bare = replace(declared, guard=None, stairs=(Stairs(inch(36), inch(66)),))
    with_it, without = parts(job_of(declared)), parts(job_of(bare))
    assert {title: line.pieces for title, line in with_it.items()} == {
        title: line.pieces for title, line in without.items()
    }
    assert with_it.keys() == without.keys() and len(without) == 12
    assert "the job file has none" in without["guard posts 4x4"].working[0]
    assert quantities(job_of(declared))["guard_ft"] == quantities(job_of(bare))["guard_ft"]
    assert quantities(job_of(bare))["guard_ft"] == pytest.approx(37 + 2 * 100.83 / 12, abs=0.01)
    # Not over 30 in, and three risers: nothing is called for (IRC R312.1.1, R311.7.8).
    low = replace(bare, height_nm=inch(30), stairs=(Stairs(inch(36), inch(23.25)),))
    assert parts(job_of(low)) == {} and quantities(job_of(low))["guard_ft"] == 0


FLIGHTS = (Stairs(inch(36), inch(66)), Stairs(inch(36), inch(40), Facing.LEFT, handrail=True, guard=True, open_sides=1))


@pytest.mark.parametrize(
    "platform",
    [
        RAISED,
        replace(RAISED, guard=None),
        replace(RAISED, stairs=FLIGHTS, guard=None),
        replace(
            RAISED, height_nm=inch(30), guard=None, stairs=(Stairs(inch(36), inch(30), handrail=True, guard=True),)
        ),
        replace(RAISED, height_nm=inch(24), stairs=(), guard=Guard(inch(36), inch(144), (Facing.LEFT,))),
        replace(RAISED, height_nm=inch(24), stairs=(), guard=None),
        replace(RAISED, attachment=Attachment.FREE, beside_house=True, stairs=(), guard=None),
    ],
)
def test_what_the_guard_check_asks_is_in_the_take_off_and_has_its_phase(platform: Platform) -> None:
    job = job_of(platform)
    found, asked = parts(job), GUARD.applies(job, platform)
    assert asked is any("guard post" in title or "guard posts" in title for title in found)
    keys = {phase.key for phase in phases_for(job)}
    assert {line.phase for line in found.values()} <= keys
    checks = {check for phase in phases_for(job) for check in phase.checks}
    assert not asked or "guard" in checks
    rows = GUARD.form(Case(job, platform, DAY)).rows
    assert any(row.startswith("stairs") for row in rows) is any(
        "guard infill" in t and t.startswith("stairs") for t in found
    )
    assert bool(set(rows) & {"front", "left", "right", "back"}) is ("guard infill 2x2" in found)


def test_a_flight_beside_a_wall_has_a_guard_on_its_open_side_alone() -> None:
    one, both = (
        parts(job_of(replace(RAISED, stairs=(Stairs(inch(36), inch(66), guard=True, open_sides=sides),))))
        for sides in (1, 2)
    )
    assert one["stairs: guard rails 2x4"].quantity * 2 == both["stairs: guard rails 2x4"].quantity == 8
    walled = parts(job_of(replace(RAISED, stairs=(Stairs(inch(36), inch(66), open_sides=0),))))
    assert "stairs: guard rails 2x4" not in walled and "stairs: handrail 2x2" in walled


def test_the_top_posts_of_a_stair_are_its_own_where_no_guard_of_the_deck_ends_there() -> None:
    # 30 in up on a low deck: no guard on the deck, so a post at both ends of each side: 26-1/2 in of slope are one bay.
    low = replace(
        RAISED, support=Support.FOOTINGS, height_nm=inch(30), guard=None,
        stairs=(Stairs(inch(36), inch(30), handrail=True, guard=True),),
    )  # fmt: skip
    found = parts(job_of(low))
    assert found["stairs: guard posts 4x4"].quantity == 4 and "guard posts 4x4" not in found
    assert "guard post hold-down, hot-dip galvanized" not in found
