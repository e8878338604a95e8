"""The usual permit exemption, all four conditions of IRC R105.2 as a town's building office prints them."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest

from tracker.errors import InputError
from tracker.trade.lengths import FOOT, INCH, SIXTEENTH, Unit
from tracker.trade.permits import permit_answer, permit_triggers
from tracker.trade.rules import Rules
from tracker.trade.spec import (
    Attachment,
    BoardKind,
    Decking,
    Finish,
    GapIntent,
    JobSpec,
    Joists,
    Platform,
    Site,
    Stairs,
    Support,
)


def platform(width_ft: int, depth_ft: int, height_nm: int, *, attached: bool = False) -> Platform:
    return Platform(
        name="main", width_nm=width_ft * FOOT, depth_nm=depth_ft * FOOT, height_nm=height_nm, uncut=False,
        rim_stock_nm=width_ft * FOOT, joist_stock_nm=depth_ft * FOOT,
        attachment=Attachment.HOUSE if attached else Attachment.FREE, support=Support.BLOCKS,
        joists=Joists("2x6", 38_100_000, 139_700_000, "southern pine", "no.2", 16 * INCH, "UC4A"),
        decking=Decking("5/4x6", 139_700_000, INCH, BoardKind.WOOD, "southern pine", 0, GapIntent.SPACED,
                        INCH // 8, "UC4A"),
    )  # fmt: skip


def job(*platforms: Platform, digging: bool = False, electric: bool = False) -> JobSpec:
    return JobSpec(
        unit=Unit.INCH,
        platforms=platforms,
        site=Site("an invented yard", 0, "clay", 120, digging, electric),
        permit=False,
        finish=Finish.NONE,
        rules=Rules(),
        crew_size=2,
    )


@pytest.mark.parametrize(("big", "high", "attached", "exit_door"), list(product([False, True], repeat=4)))
def test_one_condition_is_enough_and_only_none_is_exempt(
    big: bool, high: bool, attached: bool, exit_door: bool
) -> None:
    area, height = (201.0 if big else 200.0), (30 * INCH + SIXTEENTH if high else 30 * INCH)
    met = [trigger.met for trigger in permit_triggers(area, height, attached, exit_door)]
    assert met == [big, high, attached, exit_door]
    deck = platform(21 if big else 20, 10, height, attached=attached)
    got = permit_answer(job(deck), serves_exit_door=exit_door)
    assert got.answer["any"] is (big or high or attached or exit_door)


def test_an_unknown_exit_door_leaves_it_open_unless_another_condition_is_met() -> None:
    assert permit_answer(job(platform(10, 10, 10 * INCH))).answer["any"] is None
    assert permit_answer(job(platform(10, 10, 31 * INCH))).answer["any"] is True


def test_nothing_it_says_is_a_permission() -> None:
    for deck in (platform(10, 10, 10 * INCH), platform(30, 20, 40 * INCH, attached=True)):
        for door in (True, False, None):
            got = permit_answer(job(deck), serves_exit_door=door)
            assert got.moves
            assert all(move.endswith("?") for move in got.moves)
            assert "not a permission" in got.caution
            assert "adopted local code" in got.caution
            assert got.headline.startswith("ask")
            assert got.verdict is None


def test_platforms_are_counted_together_and_the_highest_counts() -> None:
    low, high = platform(12, 10, 10 * INCH), replace(platform(12, 10, 31 * INCH), name="upper")
    got = permit_answer(job(low, high), serves_exit_door=False)
    assert (got.answer["area"], got.answer["height"]) == (True, True)
    assert got.inputs["area_ft2"] == 240


def test_stairs_wiring_and_digging_bring_their_own_questions() -> None:
    plain = permit_answer(job(platform(10, 10, 10 * INCH))).moves
    deck = replace(platform(10, 10, 10 * INCH), stairs=(Stairs(36 * INCH, 10 * INCH),))
    more = permit_answer(job(deck, digging=True, electric=True)).moves
    for word in ("stairs", "wiring", "digging"):
        assert any(word in question for question in more)
        assert not any(word in question for question in plain)


def test_a_job_or_deck_without_size_is_refused() -> None:
    with pytest.raises(InputError, match="no platform"):
        permit_answer(job())
    with pytest.raises(InputError, match="no area"):
        permit_triggers(0, 10 * INCH, False, False)
