"""What differs between two specs, which checks rest on it, and what is suggested for an answer."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tracker.trade.checks.registry import CHECKS
from tracker.trade.design import looks_wrong
from tracker.trade.jobfile import parse_job_bytes, parse_job_table
from tracker.trade.lengths import FOOT, INCH, MM, Unit
from tracker.trade.spec import JobSpec, Support
from tracker.trade.specchange import RESTS_ON, Part, change_words, changed_parts, spec_changes, touched_by
from tracker.trade.suggest import (
    joist_span_nm,
    past_beams_nm,
    reach_in,
    suggest_beam,
    suggest_beams,
    suggest_ground_joists,
    suggest_joists,
    suggest_posts,
    suggest_use,
)

SAMPLES = Path(__file__).parents[2] / "sample_jobs"


def raised(**platform: Any) -> JobSpec:
    """The sample of a raised deck (invented), with other answers in its platform."""
    job = parse_job_bytes((SAMPLES / "26-015-ridge-step.toml").read_bytes(), "job.toml")
    source: dict[str, Any] = {key: value for key, value in job.source.items() if key != "log"}
    first = {key: value for key, value in {**source["platform"][0], **platform}.items() if value is not None}
    return parse_job_table({**source, "platform": [first]}, "job.toml").spec


JOISTS = {"size": "2x10", "species": "southern pine", "grade": "no.2", "spacing": "16 in", "use": "UC3B"}


@pytest.mark.parametrize(
    ("platform", "part", "words"),
    [
        ({"size": ["18'", "12'"]}, Part.OUTLINE, "deck: size 16' x 12' is now 18' x 12'"),
        ({"height": "6'"}, Part.HEIGHT, "deck: height 5' 6\" is now 6'"),
        ({"joists": {**JOISTS, "spacing": "12 in"}}, Part.JOISTS, "at 16 in, UC3B is now"),
        ({"guard": None}, Part.GUARD, "is now none"),
        ({"stairs": None}, Part.STAIRS, "is now none"),
    ],
)
def test_a_part_that_differs_is_said_before_and_after(platform: dict[str, Any], part: Part, words: str) -> None:
    (change,) = spec_changes(raised(), raised(**platform))
    assert change.part is part and words in change_words(change)
    (back,) = spec_changes(raised(**platform), raised())
    assert (back.before, back.after) == (change.after, change.before)


def test_the_same_size_typed_otherwise_is_no_change() -> None:
    assert spec_changes(raised(), raised(size=["192", "144"], height="66 in")) == ()


def test_a_reading_rests_on_the_part_it_was_taken_on_and_no_other() -> None:
    boards = {
        "board": "2x6",
        "kind": "wood",
        "species": "southern pine",
        "lay": "spaced",
        "gap": "1/8 in",
        "use": "UC3B",
    }
    changes = spec_changes(raised(), raised(decking=boards))
    assert changed_parts(changes) == "deck boards"
    touched = {check.key for check in CHECKS if touched_by(check.key, "deck", changes)}
    # How far apart stringers stand follows the boards of the treads.
    assert touched == {"design", "stringers", "gap", "board-layout", "screws", "final-inspection", "finish-ready"}
    wider = spec_changes(raised(), raised(size=["18'", "12'"]))
    assert touched_by("square", "deck", wider) and not touched_by("square", "another", wider)
    assert touched_by("permit", "", wider) and not touched_by("delivery", "", wider)
    assert set(RESTS_ON) == {check.key for check in CHECKS}


# DCA 6 (2012 IRC edition) Table 2, southern pine no.2 at 16 in, 40 psf live and 10 psf dead: 2x6 9-0, 2x8 11-10, 2x10 14-0.
@pytest.mark.parametrize(
    ("span", "size"), [(9 * FOOT, "2x6"), (9 * FOOT + INCH, "2x8"), (11 * FOOT + 10 * INCH, "2x8"), (14 * FOOT, "2x10")]
)
def test_the_smallest_joist_that_spans_is_suggested(span: int, size: str) -> None:
    found = suggest_joists("southern pine", "no.2", 16 * INCH, span, Unit.INCH)
    assert found is not None and found.text == size


def test_the_suggested_joist_may_run_as_far_past_its_beam_as_the_suggested_beam_asks() -> None:
    depth = 12 * FOOT
    beams = suggest_beams(depth, False, Unit.INCH)
    span, past = joist_span_nm(depth, beams, False), past_beams_nm(depth, beams, False)
    assert (span, past) == (8 * FOOT, 2 * FOOT)
    found = suggest_joists("southern pine", "no.2", 16 * INCH, span, Unit.INCH, past)
    assert found is not None
    _, over = reach_in("joist", found.text, "southern pine", "no.2", spacing_nm=16 * INCH)
    assert found.text != "2x6" and over * INCH >= past
    assert past_beams_nm(depth, suggest_beams(depth, True, Unit.INCH), True) == 2 * FOOT


def test_nothing_is_suggested_beyond_the_table() -> None:
    assert suggest_joists("southern pine", "no.2", 16 * INCH, 20 * FOOT, Unit.INCH) is None
    assert suggest_beam("redwood", "no.2", 2, 30 * FOOT, Unit.INCH) is None


def test_where_beams_and_posts_are_suggested() -> None:
    assert suggest_beams(12 * FOOT, True, Unit.INCH) == (10 * FOOT,)
    assert suggest_beams(9 * FOOT, False, Unit.INCH) == (18 * INCH, 9 * FOOT - 18 * INCH)
    assert suggest_beams(3600 * MM, True, Unit.MM) == (3000 * MM,)
    assert joist_span_nm(12 * FOOT, (10 * FOOT,), True) == 10 * FOOT
    assert joist_span_nm(9 * FOOT, (18 * INCH, 9 * FOOT - 18 * INCH), False) == 6 * FOOT
    assert joist_span_nm(9 * FOOT, (), False) == 9 * FOOT
    beam = suggest_beam("southern pine", "no.2", 2, 10 * FOOT, Unit.INCH)
    assert beam is not None
    # A 2-ply 2x8 reaches 6 ft 6 in (DCA 6-2015 Table 3A, from memory): ceil(16 / 6.5) + 1 = 4 posts under 16 ft.
    posts = suggest_posts(beam.text, "southern pine", "no.2", 2, 10 * FOOT, 16 * FOOT, Unit.INCH)
    assert posts is not None
    assert (beam.text, posts.text) == ("2x8", "4")


def test_low_platforms_get_joists_that_fit_and_the_right_treatment() -> None:
    found = suggest_ground_joists(9 * INCH, INCH, Unit.INCH)
    assert found is not None and found.text == "2x8"
    lower = suggest_ground_joists(7 * INCH, INCH, Unit.INCH)
    assert lower is not None and lower.text == "2x6"
    assert suggest_ground_joists(3 * INCH, INCH, Unit.INCH) is None
    assert suggest_use(Support.BLOCKS, 10 * INCH, INCH, 7 * INCH).text == "UC4A"
    assert suggest_use(Support.FOOTINGS, 5 * FOOT, INCH, 9 * INCH).text == "UC3B"


def test_what_the_tables_say_against_a_spec_is_said() -> None:
    assert looks_wrong(raised()) == ()
    long = looks_wrong(raised(joists={**JOISTS, "size": "2x6"}))
    assert any("2x6 joists would span" in text for text in long) and "licensed professional" in long[-1]
    assert any("wants a guard" in text for text in looks_wrong(raised(guard=None)))
    assert any("too far apart" in text for text in looks_wrong(raised(joists={**JOISTS, "spacing": "24 in"})))
    few = {"plies": 2, "size": "2x12", "at": "10' 6", "posts": 2, "post": "6x6"}
    assert any("posts" in text and "add a post" in text for text in looks_wrong(raised(beam=[few])))
    back = looks_wrong(raised(beam=[{**few, "at": "6'", "posts": 3}]))
    assert any("past a beam" in text for text in back)


FLIGHT = {"width": "4'", "rise": "66 in", "edge": "front", "from": "2'"}


@pytest.mark.parametrize(
    ("before", "after", "asked"),
    [
        pytest.param({}, {"size": ["18'", "12'"]}, True, id="wider"),
        pytest.param({}, {"size": ["14'", "12'"]}, False, id="narrower"),
        pytest.param({"size": ["14'", "14'"]}, {"size": ["16'", "12'"]}, True, id="wider one way"),
        pytest.param(
            {},
            {"beam": [{"plies": 2, "size": "2x12", "at": "10'", "posts": 4, "post": "6x6"}]},
            False,
            id="a beam moved",
        ),
        pytest.param({}, {"height": "6'"}, False, id="higher"),
        pytest.param({"stairs": None}, {"stairs": [FLIGHT]}, True, id="stairs come"),
        pytest.param({"stairs": [FLIGHT]}, {"stairs": [{**FLIGHT, "from": "9'"}]}, True, id="stairs moved"),
        pytest.param({"stairs": [FLIGHT]}, {"stairs": None}, False, id="stairs go"),
        pytest.param({}, {"cut": [{"corner": "front left", "leg": "3'"}]}, False, id="a corner clipped"),
        pytest.param({"cut": [{"corner": "front left", "leg": "3'"}]}, {}, True, id="a corner filled"),
        pytest.param(
            {"cut": [{"corner": "front left", "width": "3'", "depth": "1'"}]},
            {"cut": [{"corner": "front left", "leg": "4'"}]},
            False,
            id="a larger corner off",
        ),
    ],
)
def test_a_ticket_is_asked_for_again_only_outside_of_what_was_marked(
    before: dict[str, Any], after: dict[str, Any], asked: bool
) -> None:
    """Common practice: a ticket holds for the ground that was marked; more ground asks for another."""
    changes = spec_changes(raised(**before), raised(**after))
    assert changes and bool(touched_by("locate", "", changes)) is asked


def test_stairs_and_guards_on_another_side_are_a_change() -> None:
    (moved,) = spec_changes(raised(stairs=[FLIGHT]), raised(stairs=[{**FLIGHT, "edge": "left"}]))
    assert change_words(moved).endswith("from the left 2' from its left end") and moved.part is Part.STAIRS
    guard = {"height": "36 in", "length": "30'", "edges": ["front"]}
    (other,) = spec_changes(raised(guard=guard), raised(guard={**guard, "edges": ["left", "right"]}))
    assert "on the front is now" in change_words(other) and other.after.endswith("on the left and right")
