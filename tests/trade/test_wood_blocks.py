"""The simplest deck: a free-standing platform a step high on wood blocks, on ground made ready (common practice throughout)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trade.test_framing import SITE, UNCUT, job, joists, platform
from tracker.trade.answer import Verdict
from tracker.trade.care import care_tasks
from tracker.trade.checks.base import Case
from tracker.trade.checks.frame import SUPPORT
from tracker.trade.checks.plane import BLOCK_LEVEL, support_points
from tracker.trade.checks.registry import checks_for
from tracker.trade.design import looks_wrong
from tracker.trade.framing import plan_frame
from tracker.trade.jobfile import JobFaults, parse_job_table
from tracker.trade.jobfile.form import JobForm
from tracker.trade.jobfile.write import write_job
from tracker.trade.lengths import INCH, MM, Unit
from tracker.trade.phases import phases_for
from tracker.trade.readings import parse_readings
from tracker.trade.rules import Rules
from tracker.trade.spec import Attachment, Ground, JobSpec, Support
from tracker.trade.suggest import suggest_support
from tracker.trade.takeoff import take_off
from tracker.trade.workload import quantities

TODAY = date(2026, 5, 4)
SIMPLEST = replace(UNCUT, support=Support.WOOD_BLOCKS, height_nm=9 * INCH + 3 * INCH // 4)
"""10 ft rims, 12 ft 2x8 joists uncut, 16 in on center: board 1 in, joist 7-1/4 in, and one ply of 1-1/2 in under it."""
READY = job(SIMPLEST, site=replace(SITE, ground=Ground.READY))


def test_lumber_boards_nails_and_screws_and_nothing_else() -> None:
    # Worked by hand: (120 - 1-1/2) / 16 = 7.4, so 8 bays and 9 joists; 147 in of 5-1/2 in boards are 26.7, so 27 courses;
    # 9 joists x 2 ends x 4 nails (one for each 2 in of a 2x8); 9 x 27 x 2 screws; 12 ft at 5 ft is 4 contacts under each.
    lines = {line.title: line for line in take_off(READY)}
    assert {title: line.quantity for title, line in lines.items() if line.pieces} == {
        "joists 2x8": 9, "rims 2x8": 2, "wood blocks 2x8": 36, "deck boards 5/4x6": 29,
    }  # fmt: skip
    assert {line.item for line in lines.values() if not line.pieces} == {"nails 16d", "screws 2-1/2"}
    assert "joist ends through the rims: 18 x 4 = 72" in lines["16d nails, hot-dip galvanised"].working
    assert "wood blocks nailed to the frame, 2 in each ply: 72" in lines["16d nails, hot-dip galvanised"].working
    assert "243 x 2 screws = 486" in lines["deck screws, 2-1/2 in"].working
    assert (lines["16d nails, hot-dip galvanised"].quantity, lines["deck screws, 2-1/2 in"].quantity) == (1, 2)
    blocks = lines["wood blocks 2x8"]
    assert [(piece.length_nm, piece.quantity, piece.whole) for piece in blocks.pieces] == [(8 * INCH, 36, False)]
    assert (blocks.phase, blocks.use_category) == ("posts", "UC4A")
    # 16 in x 48 in = 5.33 ft2 at 50 psf = 267 lb on 7-1/4 x 8 in = 0.403 ft2: 662 psf.
    assert "the worst carries 267 lb at 50 psf: 662 psf on the ground, the soil bears 1,500 psf" in blocks.working
    assert "9 lines of joists x 4 = 36" in blocks.working


def test_wood_blocks_carry_the_load_their_deck_is_designed_for() -> None:
    # 16 in x 48 in = 5.33 ft2 at 100 psf live and 10 psf dead = 587 lb on 7-1/4 x 8 in = 0.403 ft2: 1,457 psf.
    heavy = replace(READY, site=replace(READY.site, live_psf=100))
    (blocks,) = (line for line in take_off(heavy) if line.title == "wood blocks 2x8")
    assert "the worst carries 587 lb at 110 psf: 1,457 psf on the ground, the soil bears 1,500 psf" in blocks.working
    # At 200 psf snow it is 1,120 lb: 107.5 in2 of clay at 1,500 psf, so blocks of 7-1/4 in wide are 15 in long.
    (blocks,) = (
        line
        for line in take_off(replace(READY, site=replace(READY.site, snow_psf=200)))
        if line.title == "wood blocks 2x8"
    )
    assert [piece.length_nm for piece in blocks.pieces] == [15 * INCH]


def test_ground_made_ready_is_neither_stripped_nor_laid_with_pads() -> None:
    keys = [phase.key for phase in phases_for(READY)]
    assert not {"strip", "pads", "dig", "pour", "cure", "locate"} & set(keys)
    assert {"layout", "posts", "frame", "boards"} <= set(keys)
    pads = job(replace(UNCUT, height_nm=11 * INCH), site=replace(SITE, ground=Ground.READY))
    assert not {"strip", "pads"} & {phase.key for phase in phases_for(pads)}
    goods = {line.item: (line.quantity, line.phase) for line in take_off(pads) if not line.pieces}
    assert goods["block"] == (36, "posts") and not {"cloth", "gravel"} & set(goods)


def test_bare_ground_under_wood_blocks_is_stripped_and_covered_and_gets_no_stone() -> None:
    bare = job(SIMPLEST)
    keys = {phase.key for phase in phases_for(bare)}
    assert "strip" in keys and "pads" not in keys
    goods = {line.item: line.phase for line in take_off(bare) if not line.pieces}
    assert goods.pop("cloth") == "strip"
    assert not {"gravel", "block", "concrete 80lb"} & set(goods)


@pytest.mark.parametrize("spec", [READY, job(SIMPLEST), job(UNCUT)])
def test_every_line_of_material_is_for_a_phase_the_job_has(spec: JobSpec) -> None:
    assert {line.phase for line in take_off(spec)} <= {phase.key for phase in phases_for(spec)}


def test_the_cautions_follow() -> None:
    def said(spec: JobSpec) -> str:
        return " ".join(text for phase in phases_for(spec) for text in phase.cautions)

    for word in (
        "treated for ground contact (UC4A or better)",
        "drains",
        "frost moves them",
        "the local office decides",
    ):
        assert word in said(READY)
        assert word not in said(job(UNCUT))
    assert "settling" in next(task for task in care_tasks(READY) if task.key == "settle").what


def test_wood_blocks_have_the_checks_of_blocks() -> None:
    keys = {check.key for check in checks_for(READY, phases_for(READY))}
    assert {"block-level", "support", "level", "fasteners"} <= keys and not {"footing", "post", "beam"} & keys
    points = support_points(Case(READY, SIMPLEST, TODAY))
    assert len(points) == 36 and points["1a"] == (3 * INCH // 4, 3 * INCH // 2)
    assert points["9d"][1] == 147 * INCH - 3 * INCH // 2
    assert BLOCK_LEVEL.form(Case(READY, SIMPLEST, TODAY)).columns


HELD = [f"{row}=0; 4'; 8'; 12'" for row in range(1, 10)]


def judged(*tokens: str) -> tuple[Verdict | None, str, tuple[str, ...]]:
    case = Case(READY, SIMPLEST, TODAY)
    found = SUPPORT.judge(case, parse_readings(SUPPORT.form(case), tokens, Unit.INCH, TODAY))
    return found.verdict, found.headline, tuple(found.moves)


def test_the_support_check_reads_what_the_blocks_are_and_whether_they_hold() -> None:
    good = ["tag=UC4A", "fixed=yes", "drains=yes"]
    assert judged(*good, *HELD)[0] is Verdict.PASSED
    assert judged("tag=UC4B", *good[1:], *HELD)[0] is Verdict.PASSED
    for tokens, word in (
        (["tag=UC3B", *good[1:]], "cut them from lumber tagged UC4A or better"),
        ([good[0], "fixed=no", good[2]], "nail every block to the frame"),
        ([*good[:2], "drains=no"], "drain the ground"),
    ):
        verdict, _, moves = judged(*tokens, *HELD)
        assert verdict is Verdict.FAILED and any(word in move for move in moves)
    # One sixteenth over 5 ft between two blocks fails, 5 ft passes.
    assert judged(*good, "1=0; 60; 120; 144", *HELD[1:])[0] is Verdict.PASSED
    assert judged(*good, "1=0; 60-1/16; 120; 144", *HELD[1:])[0] is Verdict.FAILED
    verdict, headline, _ = judged(*HELD)
    assert verdict is Verdict.INCOMPLETE and "end tag" in headline


def test_more_room_takes_more_plies_and_the_rest_is_made_up_below() -> None:
    tall = plan_frame(replace(SIMPLEST, height_nm=12 * INCH), Rules(), SITE).wood_block
    assert tall is not None
    # 12 - 1 - 7-1/4 = 3-3/4 in: two plies of 1-1/2 in, and 3/4 in of ground.
    assert (tall.plies, tall.bed_nm) == (2, 3 * INCH // 4)
    nails = next(line for line in take_off(job(replace(SIMPLEST, height_nm=12 * INCH))) if line.item == "nails 16d")
    assert "wood blocks nailed to the frame, 2 in each ply: 144" in nails.working


def test_a_block_is_as_long_as_the_soil_asks_for() -> None:
    # 2x4 joists 24 in apart, contacts 60 in apart: 10 ft2 at 50 psf = 500 lb; clay bears 1,500 psf: 48 in2, and 3-1/2 in wide
    # that is 13.7 in, so 14 in.
    low = replace(platform(120 * INCH, 123 * INCH), support=Support.WOOD_BLOCKS, joists=joists("2x4", 24 * INCH))
    made = plan_frame(low, Rules(), SITE).wood_block
    assert made is not None and made.length_nm == 14 * INCH and made.pressure_psf <= 1500


def test_what_speaks_against_wood_blocks_is_said() -> None:
    assert looks_wrong(READY) == ()
    for changes, word in (
        ({"attachment": Attachment.HOUSE}, "frost moves one and not the other"),
        ({"height_nm": 12 * INCH + INCH // 16}, "too high for wood blocks"),
        (
            {"joists": replace(joists("2x4"), thickness_nm=3 * INCH // 2), "height_nm": 11 * INCH},
            "3 plies are the most",
        ),
        ({"joists": replace(joists(), use_category="UC3B")}, "wants UC4A"),
    ):
        assert any(word in text for text in looks_wrong(job(replace(SIMPLEST, **changes)))), word
    assert looks_wrong(job(replace(SIMPLEST, height_nm=12 * INCH))) == ()


def test_hours_count_a_wood_block_for_less_than_a_pad() -> None:
    assert quantities(READY)["blocks"] == 0 and quantities(READY)["supports"] == pytest.approx(36 / 5)


# -- the job file and the form

FIRST = {
    "title": "T",
    "client": "C",
    "platform.0.size.0": "10'",
    "platform.0.size.1": "12'",
    "platform.0.height": "8 in",
}


def form(**typed: str) -> JobForm:
    return JobForm({}, {**FIRST, **{key.replace("__", "."): text for key, text in typed.items()}}, TODAY, "26-001")


def test_a_step_high_the_form_suggests_wood_blocks_and_says_why() -> None:
    made = form(site_facts__ground="ready")
    found = made.suggestion(made.by_key["platform.0.support"])
    assert (found.text, found.why) == ("wood blocks", "free-standing and a step high: no concrete and no stone")
    spec = parse_job_table(made.source, "form").spec
    (deck,) = spec.platforms
    # 8 in less a 1 in board leaves 7 in: a 2x8 leaves no room for a block, a 2x6 leaves 1-1/2 in.
    assert (deck.support, deck.joists.size, deck.joists.use_category) == (Support.WOOD_BLOCKS, "2x6", "UC4A")
    assert spec.site.ground is Ground.READY and looks_wrong(spec) == ()
    assert 'support = "wood blocks"' in write_job(made.source) and 'ground = "ready"' in write_job(made.source)
    assert parse_job_table(form().source, "form").spec.site.ground is Ground.BARE


@pytest.mark.parametrize(
    ("height", "attached", "support", "why"),
    [
        ("12 in", False, "wood blocks", "no concrete"),
        ("12-1/16 in", False, "blocks", "too high for wood blocks, low enough for pad blocks"),
        ("5 in", False, "blocks", "no room for wood blocks"),
        ("20 in", False, "blocks", "low enough for pad blocks"),
        ("20-1/16 in", False, "footings", "more than 20 in high"),
        ("30 in", True, "footings", "must not move with the frost"),
        ("8 in", True, "blocks", "no room for beams"),
    ],
)
def test_the_simplest_support_is_suggested(height: str, attached: bool, support: str, why: str) -> None:
    made = form(platform__0__height=height, platform__0__attachment="attached" if attached else "free-standing")
    found = made.suggestion(made.by_key["platform.0.support"])
    assert found.text == support and why in found.why


@given(sixteenths=st.integers(4 * 16, 40 * 16), board=st.sampled_from(["5/4x6", "2x6"]))
def test_suggested_wood_blocks_always_make_a_job_with_nothing_against_it(sixteenths: int, board: str) -> None:
    made = form(platform__0__height=f"{sixteenths}/16", platform__0__decking__board=board)
    if made.value("platform.0.support") == "wood blocks":
        assert looks_wrong(parse_job_table(made.source, "form").spec) == ()


def test_a_metric_platform_takes_blocks_of_its_own_stock() -> None:
    found = suggest_support(250 * MM, 28 * MM, False, Unit.MM)
    assert found.text == "wood blocks"
    made = JobForm({}, {**FIRST, "unit": "mm", "platform.0.size.0": "3000", "platform.0.size.1": "3600", "platform.0.height": "250"},
                   TODAY, "26-001")  # fmt: skip
    lines = {line.title: line for line in take_off(parse_job_table(made.source, "form").spec)}
    (blocks,) = lines["wood blocks 45x145"].pieces
    assert blocks.length_nm == 200 * MM


def test_a_platform_too_low_for_its_blocks_is_a_fault_in_words() -> None:
    source = form(platform__0__support="wood blocks", platform__0__joists__size="2x8").source
    with pytest.raises(JobFaults) as caught:
        parse_job_table(source, "form")
    assert "deck board, joist and wood block" in str(caught.value)
    source["site_facts"] = {"ground": "gravelled"}
    with pytest.raises(JobFaults) as caught:
        parse_job_table(source, "form")
    assert "bare and ready" in str(caught.value) or "bare or ready" in str(caught.value)
