"""Stairs as built, of invented jobs, at the published limits and a sixteenth either side."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.trade.geometry_cases import DAY, SIXTEENTHS, inch, judged, stands
from tests.trade.phase_jobs import RAISED, job_of
from tracker.errors import InputError
from tracker.trade.answer import Verdict
from tracker.trade.checks.base import Case
from tracker.trade.checks.climb import STAIR
from tracker.trade.lengths import SIXTEENTH, exact_text
from tracker.trade.spec import Platform, Stairs

FLIGHT = replace(RAISED, stairs=(Stairs(inch(36), inch(28)),))
"""28 in of rise: 4 risers of 7 in."""
LOW_FLIGHT = replace(RAISED, stairs=(Stairs(inch(36), inch(21)),))


def case(platform: Platform = RAISED) -> Case:
    return Case(job_of(platform), platform, DAY)


def flight(rises: list[int], treads: list[int] | None = None, /, **more: str) -> list[str]:
    treads = [inch(10.25)] * (len(rises) - 1) if treads is None else treads
    words = {"width": "36", "handrail": "36; 36", "landing": "36", "open": "0", **more}
    return [
        *(f"{key}={text}" for key, text in words.items() if text),
        *(f"{step}.rise={exact_text(nm)}" for step, nm in enumerate(rises, 1)),
        *(f"{step}.tread={exact_text(nm)}" for step, nm in enumerate(treads, 1)),
    ]


EVEN = [inch(7)] * 4


@SIXTEENTHS
def test_risers_of_a_flight_differ_by_three_eighths_at_the_most(off: int) -> None:
    # IRC R311.7 (2018) as a town prints it: 3/8 in, the first and the last too.
    rises = [inch(7), inch(7), inch(7), inch(7) + inch(0.375) + off * SIXTEENTH]
    answer = judged(STAIR, flight(rises), case(FLIGHT))
    assert stands(answer) is (off <= 0)
    assert stands(judged(STAIR, flight(rises[::-1]), case(FLIGHT))) is (off <= 0)


@SIXTEENTHS
def test_a_riser_is_seven_and_three_quarters_at_the_most(off: int) -> None:
    # IRC R311.7 (2018) as a town prints it.
    rises = [inch(7.75) + off * SIXTEENTH] * 4
    assert stands(judged(STAIR, flight(rises), case(FLIGHT))) is (off <= 0)


@SIXTEENTHS
def test_a_tread_is_ten_in_at_the_least(off: int) -> None:
    # IRC R311.7 (2018) as a town prints it.
    treads = [inch(10) + off * SIXTEENTH] * 3
    assert stands(judged(STAIR, flight(EVEN, treads), case(FLIGHT))) is (off >= 0)


@SIXTEENTHS
@pytest.mark.parametrize(("low", "sign"), [(34, 1), (38, -1)])
def test_a_handrail_stands_34_to_38_in_above_the_nosings(off: int, low: int, sign: int) -> None:
    # IRC R311.7 (2018) as a town prints it, from four risers on.
    words = flight(EVEN, handrail=f"36; {exact_text(inch(low) + off * SIXTEENTH)}")
    assert stands(judged(STAIR, words, case(FLIGHT))) is (off * sign >= 0)


def test_a_handrail_is_asked_from_four_risers_on() -> None:
    asked = judged(STAIR, flight(EVEN, handrail=""), case(FLIGHT))
    assert asked.verdict is Verdict.INCOMPLETE and "handrail" in asked.headline
    assert stands(judged(STAIR, flight([inch(7)] * 3, handrail=""), case(LOW_FLIGHT)))
    # Built with four where three were planned: the handrail is missing.
    four = judged(STAIR, flight([inch(5.25)] * 4, handrail=""), case(LOW_FLIGHT))
    assert not stands(four) and "graspable handrail" in four.moves[0]


@SIXTEENTHS
@pytest.mark.parametrize("field", ["width", "landing"])
def test_a_stair_and_its_landing_are_36_in(off: int, field: str) -> None:
    # From memory: IRC R311.7.1 and R311.7.6.
    words = flight(EVEN, **{field: exact_text(inch(36) + off * SIXTEENTH)})
    assert stands(judged(STAIR, words, case(FLIGHT))) is (off >= 0)


@SIXTEENTHS
def test_open_risers_keep_a_ball_out_over_30_in_of_rise(off: int) -> None:
    # From memory: IRC R311.7.5.1, a 4 in sphere must not pass where the flight is over 30 in; a gap of 4 in lets it.
    words = {"open": exact_text(inch(4) + off * SIXTEENTH)}
    nine = [inch(7.3125)] * 9
    assert stands(judged(STAIR, flight(nine, **words), case())) is (off < 0)
    assert stands(judged(STAIR, flight(EVEN, **words), case(FLIGHT)))


def test_every_step_is_measured_and_a_flight_read_whole_is_enough() -> None:
    answer = judged(STAIR, flight(EVEN[:3]), case(FLIGHT))
    assert answer.verdict is Verdict.INCOMPLETE and "21 in of 28 in read" in answer.headline
    assert judged(STAIR, flight(EVEN, []), case(FLIGHT)).verdict is Verdict.INCOMPLETE
    # Five lower risers in place of four.
    assert stands(judged(STAIR, flight([inch(5.6)] * 5), case(FLIGHT)))


def test_several_flights_are_named_by_letter() -> None:
    both = case(replace(FLIGHT, stairs=(Stairs(inch(36), inch(28)), Stairs(inch(48), inch(7)))))
    assert STAIR.form(both).rows == ("a1", "a2", "a3", "a4", "b1")
    rows = [f"a{n}.rise=7" for n in range(1, 5)] + [f"a{n}.tread=10" for n in range(1, 4)]
    words = ["width=36", "handrail-a=36;36", "landing=36", "open=0", *rows]
    assert stands(judged(STAIR, [*words, "b1.rise=7"], both))
    tall = judged(STAIR, [*words, "b1.rise=7-13/16"], both)
    assert not stands(tall) and tall.moves[0].startswith("flight b")
    with pytest.raises(InputError, match="no step of a flight"):
        judged(STAIR, [*words, "b1.rise=7", "z9.rise=7"], both)


@SIXTEENTHS
def test_every_flight_has_a_handrail_of_its_own(off: int) -> None:
    # Two flights of four risers (IRC R311.7.8: 34 to 38 in from four on); a third of three wants none.
    flights = tuple(Stairs(inch(36), inch(rise)) for rise in (28, 28, 21))
    several = case(replace(FLIGHT, stairs=flights))
    plain = ["width=36", "landing=36", "open=0"]
    rows = [f"{name}{n}.{key}" for name, risers in (("a", 4), ("b", 4), ("c", 3)) for n in range(1, risers + 1)
            for key in (("rise=7", "tread=10-1/4") if n < risers else ("rise=7",))]  # fmt: skip
    asked = judged(STAIR, [*plain, "handrail-a=36;36", *rows], several)
    assert asked.verdict is Verdict.INCOMPLETE and "handrail height of flight b" in asked.headline
    high = exact_text(inch(38) + off * SIXTEENTH)
    answer = judged(STAIR, [*plain, "handrail-a=36;36", f"handrail-b=36; {high}", *rows], several)
    assert stands(answer) is (off <= 0)
    assert off <= 0 or "the handrail of flight b" in answer.headline
    # One list for all flights is still read.
    assert stands(judged(STAIR, [*plain, f"handrail=36; {high}", *rows], several)) is (off <= 0)


def test_steps_no_tape_can_have_read_are_refused() -> None:
    with pytest.raises(InputError, match="millimetres"):
        judged(STAIR, flight([inch(178)] * 4), case(FLIGHT))
    with pytest.raises(InputError, match="more than nothing"):
        judged(STAIR, flight([inch(7), 0, inch(7), inch(7)]), case(FLIGHT))


@settings(max_examples=examples(60, 1200), deadline=None)
@given(st.lists(st.integers(80, 124), min_size=4, max_size=4))
def test_the_verdict_on_risers_is_the_rule_itself(sixteenths: list[int]) -> None:
    rises = [n * SIXTEENTH for n in sixteenths]
    if sum(rises) < inch(27):
        return
    wanted = max(rises) <= inch(7.75) and max(rises) - min(rises) <= inch(0.375)
    assert stands(judged(STAIR, flight(rises), case(FLIGHT))) is wanted


def test_landing_and_open_risers_are_read() -> None:
    for key in ("landing", "open"):
        assert judged(STAIR, flight(EVEN, **{key: ""}), case(FLIGHT)).verdict is Verdict.INCOMPLETE
