"""Stringers of invented flights at the limits and a sixteenth either side, and what the take-off says of them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.trade.geometry_cases import DAY, SIXTEENTHS, inch, judged, near, stands
from tests.trade.phase_jobs import RAISED, job_of
from tracker.errors import InputError
from tracker.trade.answer import Answer, Verdict
from tracker.trade.checks.base import Case
from tracker.trade.checks.stringers import STRINGERS
from tracker.trade.lengths import Unit
from tracker.trade.spec import BoardKind, Platform, Stairs
from tracker.trade.stairs import stairs_answer
from tracker.trade.takeoff import take_off

SHORT = replace(RAISED, stairs=(Stairs(inch(36), inch(49)),))
"""49 in of rise: 7 risers, 6 treads of 10-1/4 in, 5 ft 1-1/2 in of run."""
GOOD = {"made": "cut", "run": "61-1/2", "apart": "18", "throat": "5-1/2", "bearing": "3-1/2"}


def composite(platform: Platform) -> Platform:
    return replace(platform, decking=replace(platform.decking, kind=BoardKind.COMPOSITE))


def read(platform: Platform = SHORT, /, held: str = "yes", **changes: str) -> Answer:
    words = {**GOOD, **changes}
    tokens = [f"held={held}"] * bool(held) + [f"flight.{key}={text}" for key, text in words.items() if text]
    return judged(STRINGERS, tokens, Case(job_of(platform), platform, DAY))


@SIXTEENTHS
@pytest.mark.parametrize(("made", "feet"), [("cut", 6), ("solid", 13.25)])
def test_cut_stringers_run_six_feet_and_solid_ones_thirteen_three(made: str, feet: float, off: int) -> None:
    # From memory: DCA 6 stair section, 2x12 stringers of southern pine: cut 6-0, solid 13-3.
    tall = replace(RAISED, stairs=(Stairs(inch(36), inch(66 if made == "cut" else 120)),))
    answer = read(tall, made=made, run=near(12 * feet, off), throat="5-1/2" if made == "cut" else "")
    assert stands(answer) is (off <= 0)
    if off > 0:
        assert ("solid stringers" in answer.moves[0]) is (made == "cut")


@SIXTEENTHS
def test_spacing_follows_the_tread_boards(off: int) -> None:
    # From memory: DCA 6, 18 in. Common practice: composite boards want 12 in, their maker decides.
    assert stands(read(apart=near(18, off))) is (off <= 0)
    assert stands(read(composite(SHORT), apart=near(12, off))) is (off <= 0)


@SIXTEENTHS
def test_five_inches_are_left_below_the_notches_and_an_inch_and_a_half_bears(off: int) -> None:
    # From memory: DCA 6 stair section, 5 in of throat. IRC R507.6.1: 1-1/2 in on wood or metal.
    assert stands(read(throat=near(5, off))) is (off >= 0)
    assert stands(read(bearing=near(1.5, off))) is (off >= 0)


@pytest.mark.parametrize("key", GOOD)
def test_each_number_is_a_reading_of_its_own(key: str) -> None:
    assert read(**{key: ""}).verdict is Verdict.INCOMPLETE
    assert read(held="").verdict is Verdict.INCOMPLETE


def test_a_stringer_on_toenails_fails_and_a_solid_one_has_no_throat() -> None:
    assert not stands(read(held="no"))
    assert stands(read(made="solid", throat=""))
    with pytest.raises(InputError):
        read(throat="14")


def test_flights_are_named_by_letter_and_a_single_step_has_none() -> None:
    both = replace(RAISED, stairs=(Stairs(inch(36), inch(49)), Stairs(inch(48), inch(7)), Stairs(inch(36), inch(21))))
    assert STRINGERS.form(Case(job_of(both), both, DAY)).rows == ("a", "c")
    step = replace(RAISED, stairs=(Stairs(inch(36), inch(7)),))
    assert not STRINGERS.applies(job_of(step), step)


def test_take_off_and_figure_space_and_name_them_as_the_check_does() -> None:
    def line(platform: Platform) -> tuple[int, str]:
        (found,) = [line for line in take_off(job_of(platform)) if "stringers" in line.title]
        return sum(piece.quantity for piece in found.pieces), " ".join(found.working)

    # 36 in: 2 spaces of 18 in and one stringer more; 3 spaces of 12 in and one more under composite treads.
    assert line(SHORT)[0] == 3 and line(composite(SHORT))[0] == 4
    assert any(move.startswith("composite treads: 4 stringers") for move in stairs_answer(inch(49)).moves)
    # 66 in of rise: 9 risers, 8 treads of 10-1/4 in, 6 ft 10 in of run: too far for a cut stringer.
    assert "cut stringers reach 6'" in line(SHORT)[1]
    assert "so solid stringers" in line(RAISED)[1]
    # 120 in of rise: 16 risers, 15 treads, 12 ft 9-3/4 in; 130 in: 17 risers, 16 treads, 13 ft 8 in.
    assert "so solid stringers" in line(replace(RAISED, stairs=(Stairs(inch(36), inch(120)),)))[1]
    assert "no 2x12 stringer reaches" in line(replace(RAISED, stairs=(Stairs(inch(36), inch(130)),)))[1]


def test_a_metric_flight_is_read_in_millimetres() -> None:
    case = Case(job_of(SHORT, unit=Unit.MM), SHORT, DAY)
    words = [
        "held=yes",
        "flight.made=cut",
        "flight.run=1560",
        "flight.apart=450",
        "flight.throat=140",
        "flight.bearing=80",
    ]
    assert judged(STRINGERS, words, case).verdict is Verdict.PASSED
