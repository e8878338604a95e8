"""Stripped ground, cloth and stone of invented jobs: the limits and a sixteenth either side. All of them common practice."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.trade.geometry_cases import DAY, GROUND, SIXTEENTHS, judged, near, passed
from tests.trade.phase_jobs import RAISED, job_of
from tracker.errors import InputError
from tracker.trade.answer import Answer, Verdict
from tracker.trade.checks.base import Case, Check
from tracker.trade.checks.ground import BASE, STRIPPED
from tracker.trade.lengths import Unit
from tracker.trade.phases import phases_for
from tracker.trade.spec import Ground, Platform, Support

STRIP = {"depth": "4", "organics": "yes", "firm": "yes", "fall": "2-1/2", "run": "10'"}
STONE = {"lap": "12", "cloth": "yes", "depth": "6", "lift": "3", "firm": "yes"}
WOOD = replace(GROUND, support=Support.WOOD_BLOCKS)


def read(
    check: Check, words: dict[str, str], platform: Platform = GROUND, /, soil: str = "clay", **changes: str
) -> Answer:
    job = job_of(platform)
    job = replace(job, site=replace(job.site, soil=soil))
    typed = [f"{key}={text}" for key, text in {**words, **changes}.items() if text]
    return judged(check, typed, Case(job, platform, DAY))


@SIXTEENTHS
def test_two_inches_are_stripped_and_the_ground_falls_two_percent(off: int) -> None:
    assert passed(read(STRIPPED, STRIP, depth=near(2, off))) is (off >= 0)
    assert passed(read(STRIPPED, STRIP, fall=near(2, off), run="100")) is (off >= 0)


@SIXTEENTHS
@pytest.mark.parametrize(("soil", "deep"), [("clay", 6), ("unknown", 6), ("gravel", 4)])
def test_stone_is_as_deep_as_the_take_off_counts(soil: str, deep: float, off: int) -> None:
    # 4 in of compacted stone on firm soil, 6 in on clay and where nobody knows.
    assert passed(read(BASE, STONE, soil=soil, depth=near(deep, off))) is (off >= 0)


@SIXTEENTHS
def test_cloth_laps_a_foot_and_stone_goes_down_in_lifts_of_four_inches(off: int) -> None:
    assert passed(read(BASE, STONE, lap=near(12, off))) is (off >= 0)
    assert passed(read(BASE, STONE, lift=near(4, off))) is (off <= 0)


@pytest.mark.parametrize(("check", "words", "bad"), [
    (STRIPPED, STRIP, "organics"), (STRIPPED, STRIP, "firm"), (BASE, STONE, "cloth"), (BASE, STONE, "firm"),
])  # fmt: skip
def test_what_was_looked_at_and_is_not_good_fails(check: Check, words: dict[str, str], bad: str) -> None:
    assert not passed(read(check, {**words, bad: "no"}))


@pytest.mark.parametrize(("check", "words"), [(STRIPPED, STRIP), (BASE, STONE)])
def test_each_number_is_a_reading_of_its_own(check: Check, words: dict[str, str]) -> None:
    for key in words:
        assert read(check, {**words, key: ""}).verdict is Verdict.INCOMPLETE


def test_cloth_under_wood_blocks_is_read_with_the_stripping() -> None:
    assert read(STRIPPED, STRIP, WOOD).verdict is Verdict.INCOMPLETE
    assert passed(read(STRIPPED, {**STRIP, "lap": "12", "cloth": "yes"}, WOOD))
    assert not passed(read(STRIPPED, {**STRIP, "lap": "6", "cloth": "yes"}, WOOD))


def test_ready_ground_asks_neither_and_footings_no_stone() -> None:
    job = job_of(GROUND)
    ready = replace(job, site=replace(job.site, ground=Ground.READY))
    assert not STRIPPED.applies(ready, GROUND) and not BASE.applies(ready, GROUND)
    assert STRIPPED.applies(job, RAISED) and not BASE.applies(job, RAISED)
    by_key = {phase.key: phase.checks for phase in phases_for(job)}
    assert by_key["strip"] == ("stripped",) and by_key["pads"] == ("base",)


@pytest.mark.parametrize("words", [{"depth": "40"}, {"run": "12"}, {"fall": "6'"}])
def test_what_no_tape_can_have_read_is_refused(words: dict[str, str]) -> None:
    with pytest.raises(InputError):
        read(STRIPPED, {**STRIP, **words})


def test_a_metric_job_laps_and_lays_as_its_take_off() -> None:
    # 300 mm of lap and 150 mm of stone on clay, whole millimetres as a metric take-off buys them.
    case = Case(job_of(GROUND, unit=Unit.MM), GROUND, DAY)
    words = ["lap=300", "cloth=yes", "depth=150", "lift=100", "firm=yes"]
    assert judged(BASE, words, case).verdict is Verdict.PASSED
