"""Phases of a small platform fold into their neighbors; what a yard asks besides has phases of its own (common practice)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.invented import platform_text
from tests.trade.hourcases import ATTACHED, CASES, LARGE, PREPARED, SMALLEST
from tests.trade.test_framing import SITE, job, platform
from tracker.errors import InputError
from tracker.planning.labour import minutes_of
from tracker.trade.checks.registry import checks_for
from tracker.trade.design import design_lines
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.jobfile.parse import old_deck
from tracker.trade.lengths import FOOT, MM, Unit
from tracker.trade.phases import BY_KEY, PHASES, begun_by, folds, is_small, phases_for, stands_on
from tracker.trade.rules import Rules
from tracker.trade.spec import JobSpec
from tracker.trade.takeoff import take_off
from tracker.trade.workload import quantities

APART: frozenset[str] = frozenset()


def keys(spec: JobSpec) -> list[str]:
    return [phase.key for phase in phases_for(spec)]


def test_a_10x12_on_prepared_ground_shows_no_more_than_eight_phases() -> None:
    found = keys(PREPARED)
    assert len(found) <= 8
    assert {"layout", "frame", "boards", "hand-over"} <= set(found)


@pytest.mark.parametrize("spec", [PREPARED, SMALLEST])
def test_what_folds_loses_no_check_no_hour_no_caution_and_no_hold(spec: JobSpec) -> None:
    folded, whole = phases_for(spec), phases_for(spec, None, APART)
    assert len(folded) < len(whole)
    assert {check.key for check in checks_for(spec, folded)} == {check.key for check in checks_for(spec, whole)}
    work = quantities(spec)
    assert sum(phase.effort.hours(work) for phase in folded) == sum(phase.effort.hours(work) for phase in whole)
    assert {text for phase in folded for text in phase.cautions} == {text for phase in whole for text in phase.cautions}
    inside = {key for phase in folded for key in phase.within}
    assert {phase.key for phase in folded} | inside == {phase.key for phase in whole}
    assert {phase.hold for phase in whole} - {phase.hold for phase in folded} == set()


def test_nothing_is_covered_before_the_close_out_of_a_small_platform() -> None:
    phases = phases_for(PREPARED)
    (home,) = [phase.key for phase in phases if "soil-and-air" in phase.checks]
    assert home in stands_on(phases)["boards"]


def test_a_folded_phase_stays_in_sight_by_its_name() -> None:
    titles = {phase.key: phase.title for phase in phases_for(PREPARED)}
    assert titles["boards"] == "Deck boards with site close"
    assert titles["hand-over"] == "Hand-over with walk-through and care"
    assert all(len(title) <= 40 for title in titles.values())


@pytest.mark.parametrize("name", CASES)
def test_only_small_platforms_fold(name: str) -> None:
    spec, _, _ = CASES[name]
    small = name in ("4x4 platform", "10x12 on prepared ground")
    assert ("site-close" in folds(spec)) == is_small(spec) == small


@pytest.mark.parametrize(("feet", "small"), [(12, True), (13, False)])
def test_the_limit_of_a_small_platform(feet: int, small: bool) -> None:
    # 125 ft2: 10 x 12 ft is 120, 10 x 13 is 130.
    spec = job(platform(10 * FOOT, feet * FOOT))
    assert is_small(spec) is small
    assert not is_small(replace(spec, permit=True))


def test_a_house_may_keep_the_phases_of_small_platforms_apart() -> None:
    apart = replace(PREPARED, rules=Rules({"small_phases": 1}))
    assert {"visit", "quote", "under-deck", "site-close", "final", "care"} <= set(keys(apart))


def test_what_a_job_has_already_stays_apart() -> None:
    assert "visit" not in folds(PREPARED, apart={"visit"}) and "site-close" in folds(PREPARED, apart={"visit"})
    assert "visit" in [phase.key for phase in phases_for(PREPARED, None, folds(PREPARED, apart={"visit"}))]


# -- the inspector


def test_the_crew_waits_for_an_inspector_before_anything_is_covered() -> None:
    phases = phases_for(ATTACHED)
    by_key = {phase.key: phase for phase in phases}
    home = {
        "inspect-footings": "footing-inspection",
        "inspect-frame": "framing-inspection",
        "inspect-final": "final-inspection",
    }
    for key, check in home.items():
        assert by_key[key].checks == (check,) and by_key[key].office
        wait = by_key[key].wait
        assert wait is not None and wait.rule == "inspection_lead"
    below = stands_on(phases)
    assert "inspect-footings" in below["pour"]
    assert "inspect-frame" in below["boards"]
    assert "inspect-final" in below["hand-over"]
    # Without a permit nobody is booked: the looks stay where the crew's own work ends.
    own = {phase.key: phase.checks for phase in phases_for(replace(ATTACHED, permit=False))}
    assert not set(home) & set(own)
    assert "footing-inspection" in own["dig"] and "framing-inspection" in own["under-deck"]
    assert "final-inspection" in own["final"]


def test_no_inspector_is_waited_for_anew_once_the_work_is_begun() -> None:
    folded = folds(LARGE, begun=begun_by({"dig"}))
    assert folded == {"inspect-footings"}
    by_key = {phase.key: phase for phase in phases_for(LARGE, None, folded)}
    assert "footing-inspection" in by_key["dig"].checks and by_key["dig"].title == "Dig footings"
    assert folds(LARGE, begun=begun_by({"boards"})) == {"inspect-footings", "inspect-frame"}


# -- what is there, and what a yard asks


def test_an_old_deck_is_taken_away_before_anything_is_laid_out() -> None:
    spec = replace(ATTACHED, site=replace(ATTACHED.site, old_deck_nm=(10 * FOOT, 12 * FOOT)))
    below = stands_on(phases_for(spec))
    assert "old-deck" in below["layout"] and "permit" in below["old-deck"]
    # 1 h and 0.07 h for each of 120 ft2: 9.4 h (common practice).
    assert minutes_of(BY_KEY["old-deck"].effort, quantities(spec)) == 564
    assert "old-deck" not in keys(ATTACHED)
    assert any("shore" in text for text in BY_KEY["old-deck"].cautions)


def test_a_drain_is_dug_after_the_locate_call_before_the_stone() -> None:
    spec = job(platform(12 * FOOT, 14 * FOOT), site=replace(SITE, drain_nm=20 * FOOT))
    below = stands_on(phases_for(spec))
    assert {"locate", "strip"} <= set(below["drainage"]) and "drainage" in below["pads"]
    # 0.5 h and 0.2 h for each of 20 ft: 4.5 h (common practice).
    assert minutes_of(BY_KEY["drainage"].effort, quantities(spec)) == 270
    assert "locate" in BY_KEY["drainage"].standing


def test_the_pipe_and_stone_of_a_drain_are_in_the_take_off() -> None:
    upper = replace(platform(8 * FOOT, 8 * FOOT), name="upper")
    spec = job(platform(12 * FOOT, 14 * FOOT), upper, site=replace(SITE, drain_nm=24 * FOOT))
    # 24 ft in pieces of 10 ft: 3. A trench of 8 in by 12 in: 24 x 2/3 = 16 cu ft, 0.59 of a cubic yard of 27 (by hand).
    lines = [line for line in take_off(spec) if line.phase == "drainage"]
    assert [(line.item, line.quantity) for line in lines] == [("drain pipe", 3), ("gravel", 1)]
    assert "0.59 cubic yards" in " ".join(lines[1].working)
    none = [
        line for line in take_off(replace(spec, site=SITE)) if line.phase == "drainage" or line.item == "drain pipe"
    ]
    assert not none


def test_a_drain_is_digging_whatever_else_was_said() -> None:
    said = [replace(SITE, digging=digging, drain_nm=24 * FOOT) for digging in (None, False)]
    for site in said:
        (line,) = [
            line for line in design_lines(job(platform(12 * FOOT, 14 * FOOT), site=site)) if line.clause == "locate"
        ]
        assert line.good and "drain" in line.text


def test_wiring_has_its_fixtures_after_the_boards() -> None:
    spec = replace(ATTACHED, site=replace(ATTACHED.site, electric=True))
    below = stands_on(phases_for(spec))
    assert "boards" in below["electric"] and "electric" in below["final"]
    assert "electric" not in keys(ATTACHED)


@pytest.mark.parametrize(
    ("typed", "unit", "read"),
    [
        ("10' x 12'", Unit.INCH, (10 * FOOT, 12 * FOOT)), ("8' 6 by 10'", Unit.INCH, (102 * FOOT // 12, 10 * FOOT)),
        ("3000 x 3600", Unit.MM, (3000 * MM, 3600 * MM)),
    ],
)  # fmt: skip
def test_the_size_of_an_old_deck_is_read_as_people_write_it(typed: str, unit: Unit, read: tuple[int, int]) -> None:
    assert old_deck(typed, unit) == read


@pytest.mark.parametrize("typed", ["12'", "10' x", "ten by twelve", "10' x 12' x 3'", "1 in x 12'"])
def test_what_is_no_size_of_an_old_deck_is_refused_with_one_that_is(typed: str) -> None:
    with pytest.raises(InputError) as refused:
        old_deck(typed, Unit.INCH)
    assert "10' x 12'" in refused.value.hint or "look" in refused.value.hint or refused.value.hint


JOB = """
code = "26-301"
title = "Invented platform"
client = "Client Invented"
start = 2026-05-04
[site_facts]
old_deck = "10' x 12'"
drain = "24'"
electric = true
""" + platform_text(size="""["10'", "12'"]""", height="11 in", joists="2x8")


def test_the_job_file_says_what_is_there_and_what_the_yard_asks() -> None:
    spec = parse_job_bytes(JOB.encode(), "job.toml").spec
    assert (spec.site.old_deck_nm, spec.site.drain_nm) == ((10 * FOOT, 12 * FOOT), 24 * FOOT)
    assert {"old-deck", "drainage", "electric", "locate"} <= set(keys(spec))


LOG = """
[[log]]
on = 2026-05-05
who = "R. Stone"
do = "signoff"
phase = "site-close"
"""


def test_a_log_that_names_a_phase_keeps_it_on_its_own() -> None:
    file = parse_job_bytes((JOB + LOG).encode(), "job.toml")
    assert file.phases_named == {"site-close"}
    hours = '\n[[log]]\non = 2026-05-05\nwho = "R. Stone"\ndo = "hours"\nphase = "visit"\ntext = "2h"\n'
    assert parse_job_bytes((JOB + hours).encode(), "job.toml").phases_named == {"visit"}


def test_every_phase_folds_into_one_there_is_and_says_what_it_is_called_there() -> None:
    for phase in PHASES:
        assert all(host in BY_KEY for host in phase.into)
        assert bool(phase.into) == bool(phase.short or (phase.wait is not None and phase.into))
