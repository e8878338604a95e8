"""What one surface says of a beam all say: the form, the drawing board's warning, the check and the figure."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.trade.geometry_cases import DAY, inch, judged
from tests.trade.phase_jobs import RAISED, job_of
from tracker.errors import InputError
from tracker.trade.answer import Verdict
from tracker.trade.beam_tables import BeamTable
from tracker.trade.checks.base import Case
from tracker.trade.checks.structure import BEAM, POST
from tracker.trade.design import looks_wrong
from tracker.trade.lengths import FOOT, INCH, SIXTEENTH, Unit, exact_text, round_up
from tracker.trade.loadpath import beam_loads
from tracker.trade.rules import Rules, parse_rules
from tracker.trade.spans import span_answer
from tracker.trade.spec import Attachment, Beam, Platform, Support
from tracker.trade.suggest import suggest_beam, suggest_posts

TABLES = st.sampled_from(list(BeamTable))
WOODS = st.sampled_from(["southern pine", "hem-fir", "redwood"])


def deck(
    wood: str, size: str, plies: int, posts: int, width_ft: int, places: tuple[int, ...], attached: bool
) -> Platform:
    return replace(
        RAISED, width_nm=width_ft * FOOT, joists=replace(RAISED.joists, species=wood),
        attachment=Attachment.HOUSE if attached else Attachment.FREE,
        beams=tuple(Beam(plies, size, at * INCH, posts, "6x6") for at in places),
    )  # fmt: skip


@settings(max_examples=examples(40, 800), deadline=None)
@given(
    WOODS, st.sampled_from(["2x6", "2x8", "2x12", "4x8"]), st.integers(1, 4), st.integers(2, 7), st.integers(8, 20),
    st.sampled_from([(126,), (60, 126), (24, 120), (24, 72, 120)]), st.booleans(), TABLES, st.booleans(),
)  # fmt: skip
def test_the_warning_and_the_check_of_a_beam_as_planned_agree_with_the_figure(
    wood: str, size: str, plies: int, posts: int, width_ft: int, places: tuple[int, ...], attached: bool, table: BeamTable,
    stacked: bool,
) -> None:  # fmt: skip
    attached = attached or len(places) < 2
    platform = deck(wood, size, plies, posts, width_ft, places, attached)
    upper = replace(
        RAISED,
        name="top",
        support=Support.PLATFORM,
        height_nm=inch(80),
        attachment=Attachment.FREE,
        beams=(),
        stairs=(),
        guard=None,
    )
    rules = Rules(parse_rules({"beam_table": table.lower()}, Unit.INCH))
    job = job_of(platform, *([upper] if stacked else []), rules=rules)
    words, reach = [], []
    for n, load in enumerate(beam_loads(job, platform), 1):
        row = {
            "plies": str(plies),
            "span": exact_text(round_up(load.post_span_nm, SIXTEENTH)),
            "bearing": "3",
            "splices": "yes",
            "rows": "2",
            "nails": "16",
        }
        words += [f"B{n}.{key}={text}" for key, text in row.items()]
        try:
            told = span_answer("beam", size, wood, "no.2", joist_span_nm=load.table_joist_nm, plies=plies, table=table)
            reach.append(load.post_span_nm <= int(str(told.answer["allowed_span_in"])) * INCH)
        except InputError:
            reach.append(False)
    answer = judged(BEAM, words, Case(job, platform, DAY))
    assert (answer.verdict is Verdict.PASSED) is all(reach)
    warned = [text for text in looks_wrong(job) if "the beam at" in text and "posts of the beam" not in text]
    assert len(warned) == reach.count(False)


@settings(max_examples=examples(40, 800), deadline=None)
@given(
    WOODS, st.sampled_from(["4x4", "4x6", "6x6", "8x8"]), st.integers(2, 5), st.integers(12, 36), st.integers(60, 180)
)
def test_the_warning_and_the_check_of_posts_as_planned_agree(
    wood: str, post: str, posts: int, width_ft: int, height_in: int
) -> None:
    platform = replace(
        deck(wood, "2x12", 3, posts, width_ft, (126,), True), height_nm=inch(height_in),
        beams=(Beam(3, "2x12", inch(126), posts, post),),
    )  # fmt: skip
    job = job_of(platform)
    (load,) = beam_loads(job, platform)
    tall = exact_text(round_up(load.plan.post_nm, SIXTEENTH))
    words = [
        f"{name}.{key}={text}" for name in (post.name for post in load.posts)
        for key, text in (("height", tall), ("plumb", "0"), ("top", "yes"), ("base", "yes"))
    ]  # fmt: skip
    answer = judged(POST, words, Case(job, platform, DAY))
    warned = [text for text in looks_wrong(job) if "posts of the beam" in text]
    assert (answer.verdict is Verdict.PASSED) is (not warned)


@settings(max_examples=examples(40, 800), deadline=None)
@given(WOODS, st.integers(1, 4), st.integers(4, 18), st.integers(6, 24))
def test_a_suggested_beam_on_its_suggested_posts_holds(wood: str, plies: int, joist_ft: int, length_ft: int) -> None:
    beam = suggest_beam(wood, "no.2", plies, joist_ft * FOOT, Unit.INCH)
    if beam is None:
        # Only a single ply: no row reaches joists whose load on it is that of two plies under more than 18 ft.
        assert plies == 1 and joist_ft > 9
        return
    posts = suggest_posts(beam.text, wood, "no.2", plies, joist_ft * FOOT, length_ft * FOOT, Unit.INCH)
    assert posts is not None
    told = span_answer("beam", beam.text, wood, "no.2", joist_span_nm=joist_ft * FOOT, plies=plies)
    assert length_ft * 12 / (int(posts.text) - 1) <= int(str(told.answer["allowed_span_in"]))


def test_two_plies_of_hem_fir_are_suggested_the_printed_distance_between_posts() -> None:
    # Wisconsin deck code (2015) Table 3A, hem-fir 2-2x8 under 12 ft joists: 4-10; DCA 6-2015 3 in less: 4-7. 16 ft / 4-7: 4 bays.
    posts = suggest_posts("2x8", "hem-fir", "no.2", 2, 12 * FOOT, 16 * FOOT, Unit.INCH)
    assert posts is not None and posts.text == "5" and "4' 7\"" in posts.why


@pytest.mark.parametrize(("posts", "good"), [(3, False), (4, True)])
def test_a_middle_beam_is_judged_by_all_it_carries(posts: int, good: bool) -> None:
    # Beams 2, 8 and 14 ft into a 16 ft depth: the middle one carries 6 ft, as under 8 ft joists: southern pine 2-2x8, 7-4.
    platform = replace(deck("southern pine", "2x8", 2, posts, 20, (24, 96, 168), False), depth_nm=16 * FOOT)
    warned = [text for text in looks_wrong(job_of(platform)) if "the beam at 8'" in text and "apart" in text]
    assert (not warned) is good
