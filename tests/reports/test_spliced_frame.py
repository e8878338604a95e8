"""A frame longer than the stock is drawn, taped, cut, bought and nailed in its real pieces, joined where they bear.

Figures are worked by hand; how members are joined is common practice, the splice over a bearing from memory: IRC R502.6.1,
the bearing of 1-1/2 in from memory: IRC R507.6.1.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.reports.drawing_cases import SAMPLES
from tests.trade.test_framing import job, joists, platform
from tracker.reports.drawing import draw_platform
from tracker.reports.drawing_canvas import to_text
from tracker.reports.drawing_joist import joist_facts
from tracker.reports.drawing_json import drawing_json
from tracker.reports.drawing_legend import tape_rows
from tracker.reports.drawing_shapes import USUAL, What
from tracker.reports.drawing_svg import draw_svg
from tracker.reports.drawing_text import draw_rows
from tracker.trade.checks.base import Case
from tracker.trade.checks.registry import BY_KEY
from tracker.trade.design import looks_wrong
from tracker.trade.framing import plan_frame, stock_lengths
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.lengths import FOOT, INCH, MM, Unit
from tracker.trade.postloads import stacked_on
from tracker.trade.spec import Beam, JobSpec, Platform, Support
from tracker.trade.takeoff import Line, take_off
from tracker.trade.tapelist import cutting_order

BEAMS = tuple(Beam(3, "2x10", at * FOOT, 6, "6x6") for at in (1, 12, 23))
LARGE = platform(
    40 * FOOT, 24 * FOOT, joists=joists("2x10"), beams=BEAMS, support=Support.FOOTINGS, height_nm=28 * INCH
)
PUBLIC = sorted((Path(__file__).parents[3] / "shared" / "data" / "jobs").glob("*.toml"))
JOBS: dict[str, tuple[JobSpec, Platform]] = SAMPLES | {
    f"{path.stem} {made.name}": (spec, made)
    for path in PUBLIC
    for spec in [parse_job_bytes(path.read_bytes(), path.name).spec]
    for made in spec.platforms
}
FRAME_WORDS = ("joist", "rim", "ledger", "splice piece", "blocking")


def lines_of(spec: JobSpec, of: Platform) -> dict[str, Line]:
    return {line.title: line for line in take_off(spec) if line.platform == of.name}


def bought(spec: JobSpec, of: Platform) -> Counter[tuple[str, int]]:
    """Frame pieces of the take-off by what they are and how long."""
    found: Counter[tuple[str, int]] = Counter()
    for line in lines_of(spec, of).values():
        for piece in line.pieces:
            if piece.what in FRAME_WORDS:
                found["rim" if piece.what == "ledger" else piece.what, piece.length_nm] += piece.quantity
    return found


def drawn(spec: JobSpec, of: Platform) -> Counter[tuple[str, int]]:
    """Frame pieces of the drawing, counted one by one from what its JSON says of joists, rims and supports."""
    drawing = draw_platform(spec, of)
    told = json.loads(json.dumps(drawing_json(drawing)))
    found: Counter[tuple[str, int]] = Counter()
    for joist in told["joists"]:
        for ply in joist["pieces"]:
            found.update(("joist", round(part["mm"] * MM)) for part in ply)
    for rim in told["tape"]:
        found.update(("rim", round(part["mm"] * MM)) for part in rim["pieces"])
    for shape in drawing.shapes:
        if shape.what is What.SPLICE_PIECE:
            found["splice piece", max(y for _, y in shape.points) - min(y for _, y in shape.points)] += 1
    found.update(("blocking", length) for length in drawing.frame.blocking_nm)
    return found


def test_forty_by_twenty_four_by_hand() -> None:
    spec = job(LARGE)
    lines = lines_of(spec, LARGE)
    # Joists 24 ft less 1-1/2 in twice: 23-9, of stock to 20 ft. The middle beam at 12 ft cuts each in 11-10-1/2 and
    # 11-10-1/2; 31 lines and 3 doubled ones: 34 joists, 68 pieces. Rims of 40 ft: two of 20 ft each.
    assert [(p.length_nm * 2, p.quantity) for p in lines["joists 2x10"].pieces] == [(285 * INCH, 68)]
    assert [(p.length_nm, p.quantity) for p in lines["rims 2x10"].pieces] == [(20 * FOOT, 4)]
    # Each joint of joists has a splice piece of 2 ft; the rims meet on joist 16, doubled for the boards: no nailers.
    assert [(p.length_nm, p.quantity) for p in lines["splice pieces 2x10"].pieces] == [(2 * FOOT, 34)]
    words = draw_platform(spec, LARGE).facts
    assert """joists longer than the stock: pieces of 11' 10-1/2" + 11' 10-1/2", joined over beam B2""" in words
    assert "back rim longer than the stock: pieces of 20' + 20', joined on joist 16" in words
    order = cutting_order(draw_platform(spec, LARGE).frame, Unit.INCH)
    assert "68 joist pieces of 11' 10-1/2\"" in order and "34 splice pieces, 24 in" in order
    # 68 ends x 5, 120 blocking ends x 5 and 2 rim joints x 5 are 950 nails and 5 %: 998, five boxes of 220.
    nails = lines["16d nails, hot-dip galvanised"]
    assert nails.quantity == 5 and "rim joints: a second rim end at 2 x 5 = 10" in nails.working
    # Three face nails on each side of a joint: 34 x 6 = 204.
    faces = next(line for line in take_off(spec) if line.item == "nails 10d" and line.phase == "frame")
    assert "34 x 6 = 204" in faces.working[0] and faces.quantity == 1


def test_the_tape_the_screen_and_one_joist_say_where_the_joints_are() -> None:
    drawing = draw_platform(job(LARGE), LARGE)
    tape = ["".join(text for text, _ in row).strip() for row in tape_rows(drawing, 100)]
    assert tape.count("joint at 240 in, on joist 16") == 2
    assert "in pieces of 11' 10-1/2\" + 11' 10-1/2\"" in joist_facts(drawing, 7).what
    picture = to_text(list(draw_rows(drawing, 160, 50, layers=USUAL))).plain
    assert "╳" in picture and "╳ joint of two pieces" in picture
    svg = draw_svg(drawing)
    assert svg.count('stroke="#b00020" stroke-width="0.6"') == 34 + 2 + 3 * 2
    assert "joined over beam B2" in svg


def test_a_rim_joined_on_a_single_joist_gets_a_nailer_on_each_side() -> None:
    # A cut-out's rim joint on a plain joist: 45 ft of rims, marks every 16 in, joints at 20 and 40 ft; the boards are
    # joined elsewhere, so the joist at 40 ft is single.
    long = platform(45 * FOOT, 12 * FOOT)
    frame = plan_frame(long, job(long).rules, job(long).site).outline.frame
    single = [joint for rim in frame.rims for joint in rim.joints if frame.joist_lines[joint.left - 1].plies == 1]
    assert len([piece for piece in frame.splice_pieces if piece.length_nm == FOOT]) == 2 * len(single)


@pytest.mark.parametrize("name", JOBS)
def test_what_is_bought_is_what_is_drawn_and_nothing_is_longer_than_the_stock(name: str) -> None:
    spec, of = JOBS[name]
    assert bought(spec, of) == drawn(spec, of)
    longest = max(stock_lengths(of.joists.size)[-1], of.rim_stock_nm, of.joist_stock_nm)
    assert all(length <= longest for _, length in drawn(spec, of))


@pytest.mark.parametrize("name", JOBS)
def test_every_joint_bears(name: str) -> None:
    spec, of = JOBS[name]
    frame = plan_frame(of, spec.rules, spec.site, stacked_on(spec, of)).outline.frame
    for joist in frame.joists:
        for y in joist.joints_nm:
            assert of.support is not Support.FOOTINGS or y in {beam.at_nm for beam in of.beams if beam.plies > 1}
    for rim in frame.rims:
        left = min(rim.edge.start[0], rim.edge.end[0])
        for joint in rim.joints:
            assert any(line.near_nm <= left + joint.at_nm <= line.far_nm for line in frame.joist_lines)


@settings(max_examples=examples(25, 500), deadline=None)
@given(st.integers(100, 620), st.integers(100, 480), st.sampled_from([12, 16, 24]), st.booleans())
def test_any_size_is_bought_as_it_is_drawn(width: int, depth: int, spacing: int, on_blocks: bool) -> None:
    beams = () if on_blocks else tuple(Beam(2, "2x10", at * depth * INCH // 4, 5, "6x6") for at in (1, 2, 3))
    of = platform(
        width * INCH, depth * INCH, joists=joists(spacing=spacing * INCH), beams=beams,
        support=Support.BLOCKS if on_blocks else Support.FOOTINGS, height_nm=40 * INCH,
    )  # fmt: skip
    spec = job(of)
    assert bought(spec, of) == drawn(spec, of)
    assert all(length <= 20 * FOOT for _, length in drawn(spec, of))


def test_a_joint_that_nothing_holds_is_said_and_looks_wrong() -> None:
    # One ply is 1-1/2 in: 3/4 in for each end, half of what it needs.
    thin = replace(LARGE, beams=tuple(replace(beam, plies=1) for beam in BEAMS))
    spec = job(thin)
    fault = "a joint of joists at 20' 1-1/2\" from the back has nothing wide enough under it"
    for told in (draw_platform(spec, thin).facts, lines_of(spec, thin)["joists 2x10"].working, looks_wrong(spec)):
        assert any(fault in text for text in told), told
    assert not any("joint" in text for text in looks_wrong(job(LARGE)))


LOW = replace(LARGE, height_nm=21 * INCH, beams=tuple(replace(beam, size="2x8", plies=2) for beam in BEAMS))
"""1 in board, 9-1/4 in joist, 7-1/4 in beam: 17-1/2 in; 3-1/2 in are left under the beam, too little for a post."""
MADE: dict[str, tuple[JobSpec, Platform]] = {
    "made low": (job(LOW), LOW),
    "made on the ground": (job(low := replace(LOW, height_nm=35 * INCH // 2)), low),
    "made short posts": (job(short := replace(LOW, height_nm=43 * INCH // 2)), short),
    "made large": (job(LARGE), LARGE),
}


def spoken(spec: JobSpec, of: Platform, what: str) -> set[int]:
    """Every count of posts (or footings, or blocks) that drawing and take-off speak of, guards left out."""
    texts = [*draw_platform(spec, of).facts, *draw_platform(spec, of).notes]
    for line in lines_of(spec, of).values():
        if "guard" not in line.title:
            texts += [line.title, *line.working]
    return {int(n) for text in texts for n in re.findall(rf"\b(\d+) {what}s?\b(?! joint)", text)}


@pytest.mark.parametrize("name", JOBS | MADE)
def test_posts_footings_and_blocks_spoken_of_are_drawn_bought_and_checked(name: str) -> None:
    spec, of = (JOBS | MADE)[name]
    drawing, lines, case = draw_platform(spec, of), lines_of(spec, of), Case(spec, of, date(2026, 5, 12))
    spots = Counter(spot.what for spot in drawing.spots)
    plan = plan_frame(of, spec.rules, spec.site, stacked_on(spec, of))
    each = {len(beam.post_at_nm) for beam in plan.beams}
    posts = sum(p.quantity for line in lines.values() for p in line.pieces if p.what.startswith("post of beam"))
    assert bool(spoken(spec, of, "post")) == bool(posts) and spoken(spec, of, "post") <= each
    assert spots[What.POST] == posts
    check = BY_KEY["post"]
    assert check.applies(spec, of) == bool(posts)
    assert len(check.form(case).rows) == posts if posts else True
    bases = sum(line.quantity for line in lines.values() if line.item.startswith("post base"))
    caps = sum(line.quantity for line in lines.values() if line.item.startswith("post cap"))
    saddles = sum(line.quantity for line in take_off(spec) if line.platform == of.name and "saddle" in line.item)
    hardware = sum(line.quantity for line in take_off(spec) if line.platform == of.name and "post base" in line.item)
    assert hardware == posts and bool(bases) == bool(caps) == bool(posts)
    assert saddles + posts == spots[What.FOOTING] == len(BY_KEY["footing"].form(case).rows)
    if plan.footing is not None:
        (mix,) = [line for line in lines.values() if line.item in ("concrete 80lb", "ready-mix")]
        assert any(f"x {spots[What.FOOTING]} footing" in text for text in mix.working)
    blocks = {line.quantity for line in lines.values() if line.item == "block"}
    assert spots[What.BLOCK] == sum(blocks) and spoken(spec, of, "block") <= blocks


def test_a_beam_without_posts_by_hand() -> None:
    spec = job(LOW)
    told = draw_platform(spec, LOW).facts
    assert any(text.startswith("B1: 2 x 2x8, 12 in from the back, 6 footings without posts") for text in told)
    lines = {line.title: line for line in take_off(spec)}
    assert lines["beam saddle for 2-ply 2x8"].quantity == 6 and "post base for 6x6" not in lines
    assert any("""3-1/2" under the beam leave no room for posts""" in text for text in lines["beam 1 2x8"].working)
    footing = plan_frame(LOW, spec.rules, spec.site).footing
    assert footing is not None and footing.above_nm * 2 == 7 * INCH
    form = BY_KEY["beam"].form(Case(spec, LOW, date(2026, 5, 12)))
    assert "bearing on the footings" in [field.label for field in form.columns]
