"""Pad blocks under doubled beams: a few pads in place of blocks under every joist (common practice)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.trade.test_framing import SITE, UNCUT, job, joists, platform
from tracker.trade.checks.base import Case
from tracker.trade.checks.plane import support_points
from tracker.trade.checks.registry import checks_for
from tracker.trade.design import looks_wrong
from tracker.trade.framing import plan_frame
from tracker.trade.jobfile import JobFaults, parse_job_table
from tracker.trade.jobfile.form import JobForm
from tracker.trade.lengths import FOOT, INCH
from tracker.trade.phases import phases_for
from tracker.trade.rules import Rules
from tracker.trade.spec import Beam, Ground, Support
from tracker.trade.specchange import spec_changes
from tracker.trade.takeoff import take_off
from tracker.trade.workload import quantities

TODAY = date(2026, 5, 4)
ON_PADS = platform(
    10 * FOOT, 12 * FOOT, height_nm=16 * INCH, joists=joists("2x6"),
    beams=tuple(Beam(2, "2x8", feet * FOOT, 3, "") for feet in (1, 6, 11)),
)  # fmt: skip
SPEC = job(ON_PADS)


def test_nine_pads_carry_a_10x12_in_place_of_36_blocks() -> None:
    plan = plan_frame(ON_PADS, Rules(), SITE)
    assert (plan.blocks, plan.footings, plan.posts, plan.footing, plan.contacts_nm) == (9, 0, 0, None, ())
    # Pads of 12 in, the outer ones flush with the ends of a beam of 10 ft: centers at 6, 60 and 114 in.
    assert [at / INCH for at in plan.beams[0].post_at_nm] == [6, 60, 114]
    lines = {line.item: line for line in take_off(SPEC) if not line.pieces}
    assert (lines["block"].quantity, lines["block"].phase) == (9, "pads")
    assert lines["block"].working == ("3 beams on pads, none under the joists: 3 + 3 + 3 = 9",)
    assert not [item for item in lines if item.startswith(("post", "concrete", "beam saddle"))]
    assert {"cloth", "gravel", "nails 10d"} <= set(lines)
    beams = [line for line in take_off(SPEC) if line.title.startswith("beam")]
    assert [line.quantity for line in beams] == [2, 2, 2] and "it lies on 3 pads, evenly apart" in beams[0].working
    assert quantities(SPEC)["blocks"] == quantities(SPEC)["supports"] == 9


def test_the_checks_are_those_of_beams_and_no_hole_is_dug() -> None:
    keys = {check.key for check in checks_for(SPEC, phases_for(SPEC))}
    assert {"beam", "span", "block-level"} <= keys
    assert not {"support", "post", "footing", "footing-inspection"} & keys
    assert not {"dig", "pour", "cure"} & {phase.key for phase in phases_for(SPEC)}
    assert len(support_points(Case(SPEC, ON_PADS, TODAY))) == 9
    ready = job(ON_PADS, site=replace(SITE, ground=Ground.READY))
    assert [line.phase for line in take_off(ready) if line.item == "block"] == ["posts"]


def test_the_tables_and_the_soil_speak_against_too_few() -> None:
    assert looks_wrong(SPEC) == ()
    # Two pads: 9 ft apart, and the middle beam carries 5 ft of deck: 10 x 5 ft2 x 50 psf / 2 = 1,250 lb each.
    few = replace(ON_PADS, beams=tuple(replace(beam, posts=2) for beam in ON_PADS.beams))
    assert any("pads 9' apart" in text and "add a pad" in text for text in looks_wrong(job(few)))
    # Two beams 10 ft apart carry 6 ft each; three pads: the inner one 4-1/2 ft x 6 ft = 27 ft2, 1,350 lb on 1 ft2.
    # 16 ft wide on three pads: 7-1/2 ft x 6 ft = 45 ft2, 2,250 lb: more than clay bears, 1,500 psf.
    wide = replace(ON_PADS, width_nm=16 * FOOT, joists=joists("2x8"), height_nm=20 * INCH,
                   beams=tuple(Beam(3, "2x10", feet * FOOT, 3, "") for feet in (1, 11)))  # fmt: skip
    assert any("the soil bears 1,500 psf: add a pad" in text for text in looks_wrong(job(wide)))


def test_a_change_from_blocks_to_pads_is_seen() -> None:
    before = job(replace(ON_PADS, beams=()))
    (change,) = spec_changes(before, SPEC)
    assert change.part.value == "beams" and "on 3 pads" in change.after


FIRST = {
    "title": "T",
    "client": "C",
    "platform.0.size.0": "10'",
    "platform.0.size.1": "12'",
    "platform.0.height": "16 in",
}


def form(**typed: str) -> JobForm:
    return JobForm({}, {**FIRST, **{key.replace("__", "."): text for key, text in typed.items()}}, TODAY, "26-001")


def test_the_form_suggests_beams_on_pads_where_there_is_room() -> None:
    made = form()
    spec = parse_job_table(made.source, "form").spec
    (deck,) = spec.platforms
    assert deck.support is Support.BLOCKS and deck.on_pads
    assert 9 <= sum(beam.posts for beam in deck.beams) <= 12
    assert looks_wrong(spec) == ()
    low = parse_job_table(form(platform__0__height="13 in").source, "form").spec.platforms[0]
    assert low.support is Support.BLOCKS and low.beams == ()
    none = parse_job_table(form(platform__0__beams="0").source, "form").spec.platforms[0]
    assert none.on_blocks


@settings(max_examples=examples(30, 600), deadline=None)
@example(width=4, depth=9, height=14, wood="southern pine")
@given(
    width=st.integers(4, 24),
    depth=st.integers(4, 20),
    height=st.integers(13, 20),
    wood=st.sampled_from(["southern pine", "hem-fir"]),
)
def test_whatever_the_size_suggested_pads_pass(width: int, depth: int, height: int, wood: str) -> None:
    made = form(
        platform__0__size__0=f"{width}'", platform__0__size__1=f"{depth}'", platform__0__height=f"{height} in",
        platform__0__joists__species=wood,
    )  # fmt: skip
    assert looks_wrong(parse_job_table(made.source, "form").spec) == ()


def test_a_job_on_blocks_without_beams_stays_as_it_was() -> None:
    source = form(platform__0__beams="0").source
    assert "beam" not in source["platform"][0]  # type: ignore[index, operator]
    assert JobForm(source, {}, TODAY).source == source
    pads = form().source
    assert JobForm(pads, {}, TODAY).source == pads


def test_posts_are_no_pads() -> None:
    source = form().source
    source["platform"][0]["beam"][0]["posts"] = 3  # type: ignore[index, call-overload]
    with pytest.raises(JobFaults) as caught:
        parse_job_table(source, "form")
    assert "posts" in str(caught.value) and "pads" in str(caught.value)
    wood = form(platform__0__support="wood blocks", platform__0__height="9-3/4 in").source
    assert "beam" not in wood["platform"][0]  # type: ignore[index, operator]
    assert UNCUT.on_blocks
