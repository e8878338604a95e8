"""Guards as built, of invented jobs: every side and flight at the published limits and a sixteenth either side."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.trade.geometry_cases import DAY, GROUND, SIXTEENTHS, inch, judged, stands
from tests.trade.outline_cases import clip, cut_out
from tests.trade.phase_jobs import RAISED, job_of
from tracker.errors import InputError
from tracker.trade.answer import Verdict
from tracker.trade.checks.base import Case
from tracker.trade.checks.climb import STAIR
from tracker.trade.checks.guard import GUARD
from tracker.trade.checks.limits import limits_of
from tracker.trade.lengths import FOOT, SIXTEENTH, exact_text
from tracker.trade.outline import Facing
from tracker.trade.spec import Guard, Platform, Stairs

DECK = replace(RAISED, guard=Guard(inch(36), inch(444)))
"""16 ft by 12 ft on the house, 66 in high: 12 + 16 + 12 ft of open edge less a flight of 3 ft about the middle of the front."""
BUILT = {
    "front": {"length": "13'"}, "left": {"length": "12'"}, "right": {"length": "12'"},
    # 66 in in 9 risers: 8 treads of 10-1/4 in run 82 in and climb 58.67 in: sqrt(82^2 + 58.67^2) = 100.83 in.
    "stairs": {"length": "8' 4-13/16"},
}  # fmt: skip


def case(platform: Platform = DECK) -> Case:
    return Case(job_of(platform), platform, DAY)


def words(
    *odd: tuple[str, str, str], built: Mapping[str, Mapping[str, str]] = BUILT, infill: str = "metal, glass or composite",
    **fields: str,
) -> list[str]:  # fmt: skip
    """Readings of every side and flight as they should be, but for the ``odd`` ones (side, reading, text)."""
    rows = {row: {"height": "36", "opening": "3-7/8", "posts": "66", **got} for row, got in built.items()}
    for row, key, text in odd:
        rows[row][key] = text
    single = {"fixed": "yes", "infill": infill, **fields}
    return [f"{key}={text}" for key, text in single.items()] + [
        f"{row}.{key}={text}" for row, got in rows.items() for key, text in got.items() if text
    ]


EVERY_SIDE = pytest.mark.parametrize("side", ["front", "left", "right"])


def test_every_side_and_flight_is_asked_and_one_left_out_is_no_verdict() -> None:
    assert GUARD.form(case()).rows == ("left", "front", "right", "stairs")
    assert stands(judged(GUARD, words(), case()))
    for row in BUILT:
        for key in ("height", "opening", "posts", "length"):
            answer = judged(GUARD, words((row, key, "")), case())
            assert answer.verdict is Verdict.INCOMPLETE and row in answer.headline, (row, key)


@SIXTEENTHS
@EVERY_SIDE
def test_a_guard_is_36_in_high_on_every_side(side: str, off: int) -> None:
    # IRC R312.1 (2018) as a county prints it.
    answer = judged(GUARD, words((side, "height", exact_text(inch(36) + off * SIXTEENTH))), case())
    assert stands(answer) is (off >= 0)
    assert off >= 0 or f"the guard on the {side}" in answer.headline


@SIXTEENTHS
def test_a_higher_guard_planned_is_the_limit_and_a_low_deck_keeps_its_own(off: int) -> None:
    tall = replace(DECK, guard=Guard(inch(42), inch(444)))
    built = {row: {**got, "height": "42"} for row, got in BUILT.items()}
    at = words(("left", "height", exact_text(inch(42) + off * SIXTEENTH)), built=built)
    assert stands(judged(GUARD, at, case(tall))) is (off >= 0)
    # IRC R312.1: at 30 in no guard is required, so one of 30 in may be built by choice; over 30 in it may not.
    for height, least in ((inch(30), inch(30)), (inch(30) + SIXTEENTH, inch(36))):
        low = replace(DECK, height_nm=height, stairs=(), guard=Guard(inch(30), inch(480)))
        rows = {"front": {"length": "16'"}, "left": {"length": "12'"}, "right": {"length": "12'"}}
        answer = judged(GUARD, words(("front", "height", exact_text(least + off * SIXTEENTH)), built=rows), case(low))
        assert stands(answer) is (off >= 0)


@SIXTEENTHS
@EVERY_SIDE
def test_a_4_in_ball_must_not_pass_on_any_side(side: str, off: int) -> None:
    # IRC R312.1.3 (2018): no 4 in sphere; an opening of 4 in lets it pass. Metal does not shrink.
    assert stands(judged(GUARD, words((side, "opening", exact_text(inch(4) + off * SIXTEENTH))), case())) is (off < 0)


@SIXTEENTHS
@pytest.mark.parametrize("side", BUILT)
def test_guard_posts_stand_within_6_ft(side: str, off: int) -> None:
    # From memory: DCA 6 guard details, 6 ft on center.
    assert stands(judged(GUARD, words((side, "posts", exact_text(inch(72) + off * SIXTEENTH))), case())) is (off <= 0)


@SIXTEENTHS
@EVERY_SIDE
def test_a_guard_is_as_long_as_its_edge_less_the_stairs(side: str, off: int) -> None:
    # 4 in left open beside it is an opening that the 4 in ball of IRC R312.1.3 passes.
    long = inch(13 * 12 if side == "front" else 144) - inch(4) + off * SIXTEENTH
    answer = judged(GUARD, words((side, "length", exact_text(long))), case())
    assert stands(answer) is (off > 0)
    assert off > 0 or f"the guard on the {side} is" in answer.headline


def test_a_length_its_side_does_not_have_fails_and_one_no_side_has_is_refused() -> None:
    answer = judged(GUARD, words(("stairs", "length", "13'")), case())
    assert (
        not stands(answer) and "the guard on stairs is read 13' long and its slope is 8' 4-13/16\"" in answer.headline
    )
    with pytest.raises(InputError, match="the longest side, 13'"):
        judged(GUARD, words(("front", "length", "16'")), case())


@SIXTEENTHS
def test_the_guard_of_a_flight_has_its_own_limits(off: int) -> None:
    # From memory: IRC R312.1.2 exception, 34 in; Wisconsin deck code, guards: 4-3/8 in sphere on stairs.
    low = replace(DECK, stairs=(replace(DECK.stairs[0], guard=True, guard_height_nm=inch(34)),))
    height = words(("stairs", "height", exact_text(inch(34) + off * SIXTEENTH)))
    assert stands(judged(GUARD, height, case(low))) is (off >= 0)
    # Planned 36 in, 35 is too low; nobody planned one: 34 in is the least all the same.
    planned = replace(DECK, stairs=(replace(DECK.stairs[0], guard=True, guard_height_nm=inch(36)),))
    assert not stands(judged(GUARD, words(("stairs", "height", "35")), case(planned)))
    opening = words(("stairs", "opening", exact_text(inch(4.375) + off * SIXTEENTH)))
    assert stands(judged(GUARD, opening, case())) is (off < 0)


def test_several_flights_have_a_row_each_and_low_ones_none() -> None:
    # 30 in of rise wants no guard, a sixteenth more does (IRC R312.1.1).
    flights = (Stairs(inch(36), inch(66), Facing.FRONT), Stairs(inch(36), inch(30), Facing.LEFT),
               Stairs(inch(36), inch(30) + SIXTEENTH, Facing.RIGHT))  # fmt: skip
    assert GUARD.form(case(replace(DECK, stairs=flights))).rows == ("left", "front", "right", "stairs-a", "stairs-c")
    # Between walls nobody falls off it.
    walled = replace(DECK, stairs=(replace(flights[0], open_sides=0),))
    assert GUARD.form(case(walled)).rows == ("left", "front", "right")


def test_the_sides_of_cut_corners_are_their_own() -> None:
    # A front right corner clipped 3 ft each way: 3 x 1.414 = 4.24 ft along it; 13 ft of front and 9 ft of right are left.
    clipped = case(
        replace(DECK, stairs=(), cuts=(clip("front right", 3),), guard=Guard(inch(36), round(38.2426 * FOOT)))
    )
    assert GUARD.form(clipped).rows == ("left", "front", "front-right", "right")
    built = {"left": "12'", "front": "13'", "front-right": "4' 2-15/16", "right": "9'"}
    rows = {row: {"length": text} for row, text in built.items()}
    assert stands(judged(GUARD, words(built=rows), clipped))
    short = judged(GUARD, words(("front-right", "length", "3' 10"), built=rows), clipped)
    assert not stands(short) and "front-right" in short.headline
    # An L keeps its sides: 6 ft by 5 ft out of the front right: the front is 10 ft and, farther back, 6 ft.
    ell = replace(DECK, stairs=(), cuts=(cut_out("front right", 6, 5),), guard=Guard(inch(36), inch(480)))
    limits = {limit.what: limit.text for limit in limits_of(GUARD, case(ell))}
    assert limits["length"] == "left 12', front 16' and right 12'"


def test_the_house_side_is_not_asked() -> None:
    free = replace(DECK, attachment=RAISED.attachment.FREE, stairs=(), guard=None)
    assert set(GUARD.form(case(free)).rows) == {"left", "front", "right", "back"}
    assert set(GUARD.form(case(replace(free, beside_house=True))).rows) == {"left", "front", "right"}


def test_a_guard_is_asked_where_the_height_calls_for_it_though_the_job_has_none() -> None:
    for off, asked in ((0, False), (SIXTEENTH, True)):
        bare = replace(DECK, guard=None, stairs=(), height_nm=inch(30) + off)
        assert GUARD.applies(case(bare).job, bare) is asked
    bare = replace(DECK, guard=None, stairs=(Stairs(inch(36), inch(66)),))
    assert GUARD.form(case(bare)).rows == ("left", "front", "right", "stairs")
    answer = judged(GUARD, words(), case(bare))
    assert stands(answer) and any("the job has none and one is asked" in line for line in answer.working)
    assert not stands(judged(GUARD, words(("left", "height", "35")), case(bare)))
    # A side the guard of the job leaves out is asked too.
    part = replace(DECK, guard=Guard(inch(36), inch(156), (Facing.FRONT,)))
    assert GUARD.form(case(part)).rows == ("left", "front", "right", "stairs")
    assert not GUARD.applies(case(GROUND).job, GROUND) and not STAIR.applies(case(GROUND).job, GROUND)


def test_one_list_for_all_sides_is_still_read_where_it_has_a_height_for_each() -> None:
    old = ["posts=66", "openings=3-7/8", "fixed=yes", "infill=metal, glass or composite"]
    bare = replace(DECK, stairs=())
    assert stands(judged(GUARD, ["heights=36; 36-1/2; 37", *old], case(bare)))
    assert not stands(judged(GUARD, ["heights=36; 35-1/2; 37", *old], case(bare)))
    assert judged(GUARD, ["heights=36; 36", *old], case(bare)).verdict is Verdict.INCOMPLETE
    assert judged(GUARD, ["heights=36; 36; 36", *old], case()).verdict is Verdict.INCOMPLETE
    stair = ["stair-height=34", "stair-opening=4"]
    assert stands(judged(GUARD, ["heights=36; 36; 36", *old, *stair], case()))
    assert not stands(judged(GUARD, ["heights=36; 36; 36", *old, "stair-height=33", "stair-opening=4"], case()))


def test_wet_balusters_must_still_keep_the_ball_out_when_dry() -> None:
    # Wisconsin deck code, guards: the opening counts dry. Wood Handbook Eq. 13-3, tangential shrinkage of the four southern pines
    # 7.4 to 7.7 % (Table 4-3), 7.55 in the middle: 1.5 in x 18 / (3000 / 7.55 - 30 + 30) = 0.068 in from wet to 12 %.
    near = ("left", "opening", "3-15/16")
    answer = judged(GUARD, words(near, infill="wood"), case())
    assert not stands(answer) and "when dry" in answer.headline
    assert answer.answer["opening_dry_in"] == pytest.approx(4.0055, abs=0.001)
    # The trade builds to 3-7/8 in (common practice), and that holds even for wet wood.
    assert stands(judged(GUARD, words(infill="wood"), case()))
    # Balusters already at service moisture open no further.
    assert stands(judged(GUARD, words(near, infill="wood", moisture="12"), case()))
    assert stands(judged(GUARD, words(near), case()))


@pytest.mark.parametrize(
    ("moisture", "dry"),
    # The same equation from 19 %: 1.5 in x 7 / (3000 / 7.55 - 30 + 19) = 0.0272 in; at 12 % and below nothing shrinks any more.
    [("30", 4.0055), ("19", 3.9647), ("12", 3.9375), ("8", 3.9375)],
)
def test_an_opening_when_dry_worked_by_hand(moisture: str, dry: float) -> None:
    answer = judged(GUARD, words(("front", "opening", "3-15/16"), infill="wood", moisture=moisture), case())
    assert answer.answer["opening_dry_in"] == pytest.approx(dry, abs=0.001)
    assert stands(answer) is (dry < 4)


@settings(max_examples=examples(30, 800), deadline=None)
@given(st.integers(30, 300), st.integers(30, 300), st.integers(27, 33))
def test_wetter_balusters_never_pass_what_drier_ones_fail(one: int, other: int, eighths: int) -> None:
    dry, wet = sorted((one, other))
    first, second = (
        judged(
            GUARD,
            words(("front", "opening", f"{eighths / 8:.3f}"), ("left", "opening", "3"), ("right", "opening", "3"),
                  ("stairs", "opening", "3"), infill="wood", moisture=f"{tenths / 10:.1f}"),
            case(),
        )
        for tenths in (dry, wet)
    )  # fmt: skip
    opens = float(str(second.answer["opening_dry_in"])) - float(str(first.answer["opening_dry_in"]))
    # The job's wood comes to 12 %: above it an eighth of a percent more is seen, below it nothing moves.
    assert opens >= 0 and (opens > 0) is (wet > max(dry, 120))
    assert stands(first) or not stands(second)


def test_how_posts_are_held() -> None:
    # Wisconsin deck code, guards: hold-down of 1,800 lb, never notched; IRC Table R301.5: 200 lb at the top.
    assert not stands(judged(GUARD, words(fixed="no"), case()))
    assert not stands(judged(GUARD, words(push="no"), case()))
    assert stands(judged(GUARD, words(push="yes"), case()))
