"""The job form: what it asks, what it suggests, and the table its answers make."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.trade.published import BEAM_CODE, BEAM_DCA, COLUMNS_FT, NAMES, TABLE_2, rows_of, whole_inches
from tracker.errors import InputError
from tracker.trade.design import looks_wrong
from tracker.trade.jobfile import JobFaults, parse_job_bytes, parse_job_table, write_job
from tracker.trade.jobfile.form import JobForm
from tracker.trade.jobfile.questions import Ask, owner_of
from tracker.trade.lengths import FOOT, INCH
from tracker.trade.lumber import FIRS, SOUTHERN
from tracker.trade.spec import Platform

TODAY = date(2026, 5, 12)
SAMPLES = sorted((Path(__file__).parents[2] / "sample_jobs").glob("*.toml"))
FIRST = {
    "title": "T",
    "client": "C",
    "platform.0.size.0": "16'",
    "platform.0.size.1": "12'",
    "platform.0.height": "11 in",
}


def form(**typed: str) -> JobForm:
    """A new job's form; keys with double underscores for dots."""
    return JobForm({}, {**FIRST, **{key.replace("__", "."): text for key, text in typed.items()}}, TODAY, "26-001")


def sample(path: Path) -> dict[str, Any]:
    return {key: value for key, value in parse_job_bytes(path.read_bytes(), path.name).source.items() if key != "log"}


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_job_that_is_only_looked_at_stays_as_it_was(path: Path) -> None:
    source = sample(path)
    assert JobForm(source, {}, TODAY).source == source


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_one_answer_changes_nothing_else(path: Path) -> None:
    source = sample(path)
    changed: dict[str, Any] = JobForm(source, {"platform.0.height": "29 in"}, TODAY).source
    assert changed["platform"][0].pop("height") == "29 in"
    source["platform"][0].pop("height")
    assert changed == source


def test_three_sizes_and_two_names_make_a_job() -> None:
    job = parse_job_bytes(write_job(form().source).encode(), "job.toml")
    (platform,) = job.spec.platforms
    assert (job.code, job.start, platform.name, platform.support.value) == ("26-001", TODAY, "deck", "wood blocks")
    assert (platform.joists.size, platform.joists.use_category, platform.guard) == ("2x8", "UC4A", None)
    assert looks_wrong(job.spec) == ()


def test_answers_ask_further_questions() -> None:
    low = {question.key for step in form().steps for question in step.questions}
    assert not any("beam" in key or "guard.height" in key for key in low)
    high = form(platform__0__height="5' 6", platform__0__attachment="attached", site_facts__frost_depth="36 in")
    asked = high.by_key
    assert (
        "platform.0.beam.0.at" in asked and "platform.0.beam.1.at" not in asked and "platform.0.guard.height" in asked
    )
    spec = parse_job_table(high.source, "form").spec
    assert looks_wrong(spec) == (), "what is suggested is within the tables"
    assert spec.platforms[0].attached and spec.site.digging
    free = form(platform__0__height="5' 6")
    assert "platform.0.beam.1.at" in free.by_key
    with pytest.raises(JobFaults) as caught:
        parse_job_table(free.source, "form")
    assert [fault.path for fault in caught.value.faults] == [("site_facts", "frost_depth")]


@settings(max_examples=examples(40, 800), deadline=None)
@given(
    width=st.integers(6, 24), depth=st.integers(5, 16), height=st.integers(10, 96),
    attached=st.booleans(), wood=st.sampled_from(["southern pine", "hem-fir", "redwood"]), flights=st.integers(0, 2),
)  # fmt: skip
def test_whatever_the_size_the_suggestions_make_a_job_the_tables_allow(
    width: int, depth: int, height: int, attached: bool, wood: str, flights: int
) -> None:
    made = form(
        platform__0__size__0=f"{width}'", platform__0__size__1=f"{depth}'", platform__0__height=f"{height} in",
        platform__0__attachment="attached" if attached else "free-standing", platform__0__joists__species=wood,
        platform__0__flights=str(flights), site_facts__frost_depth="30 in",
    )  # fmt: skip
    if made.value("platform.0.joists.size") == "":
        return  # no joist here spans it: the form leaves that to the person
    spec = parse_job_table(made.source, "form").spec
    found = looks_wrong(spec)
    assert not [text for text in found if "joists would span" in text or "guard" in text or "too far apart" in text]
    assert not [text for text in found if "the beam at" in text]
    (deck,) = spec.platforms
    if deck.beams:
        _holds_by_the_printed_tables(deck, attached, wood)


def test_a_beam_is_no_deeper_than_the_height_leaves_room_for() -> None:
    # By hand: 21 in less 1 in of board and 9-1/4 in of 2x10 leave 10-3/4 in: a 2x12 (11-1/4 in) would not go under.
    made = form(
        platform__0__size__1="13'", platform__0__height="21 in", platform__0__attachment="attached",
        platform__0__joists__species="hem-fir", site_facts__frost_depth="30 in",
    )  # fmt: skip
    spec = parse_job_table(made.source, "form").spec
    assert (spec.platforms[0].joists.size, spec.platforms[0].beams[0].size) == ("2x10", "2x10")
    assert looks_wrong(spec) == (), "with more posts under it"


def _holds_by_the_printed_tables(deck: Platform, attached: bool, wood: str) -> None:
    """The joists by DCA 6 Table 2 at 16 in, the beams by DCA 6-2015 Table 3A: for woods other than southern pine the cells of the
    Wisconsin code's Table 3A less 3 in.
    """
    group = next(group for group, names in NAMES.items() if wood in names)
    at = [0] * attached + [beam.at_nm for beam in deck.beams]
    ends = [] if attached else [at[0]]
    past = max([*ends, deck.depth_nm - at[-1]])
    spans = [b - a for a, b in pairwise(at)]
    joist, over = (text.split()[1] for text in TABLE_2[group, deck.joists.size].split(" | "))
    assert max(spans) <= whole_inches(joist) * INCH and past <= whole_inches(over) * INCH
    rows = rows_of(BEAM_DCA[SOUTHERN] if wood == "southern pine" else BEAM_CODE[FIRS])
    less = 0 if wood == "southern pine" else 3
    for n, beam in enumerate(deck.beams):
        # A beam carries half of each bay beside it and all past the outermost; tables count 0.75 of a joist span.
        i = n + attached
        before = spans[i - 1] / 2 if i else beam.at_nm
        after = spans[i] / 2 if i < len(spans) else deck.depth_nm - beam.at_nm
        feet = max(*spans[max(i - 1, 0) : i + 1], (before + after) / 0.75) / FOOT
        cell = next(
            cell for column, cell in zip(COLUMNS_FT, rows[f"{beam.plies}-{beam.size}"], strict=True) if feet <= column
        )
        # The outer posts (6x6, dressed) or pad blocks (12 in, common practice) are flush with the beam's ends.
        side = 12 if deck.on_pads else 5.5
        assert (deck.width_nm - side * INCH) / (beam.posts - 1) <= (cell - less) * INCH


def test_platforms_come_and_go_with_their_answers() -> None:
    two = form(platforms="2", platform__1__size__0="8'", platform__1__size__1="6'", platform__1__height="20 in")
    spec = parse_job_table(two.source, "form").spec
    assert [(p.name, p.support.value) for p in spec.platforms] == [("deck", "wood blocks"), ("upper", "platform")]
    one = two.without_platform(0)
    assert one.platforms == 1 and one.text("platform.0.size.0") == "8'"
    assert one.with_platform().platforms == 2
    with pytest.raises(InputError):
        one.without_platform(0)
    source = sample(next(path for path in SAMPLES if "tiers" in path.stem))
    less = JobForm(source, {}, TODAY).without_platform(0)
    assert [p["name"] for p in less.source["platform"]] == ["upper"]  # type: ignore[union-attr, index, call-overload]


def test_what_is_no_longer_asked_leaves_the_file() -> None:
    source = sample(next(path for path in SAMPLES if "ridge" in path.stem))
    typed = {
        "platform.0.support": "blocks",
        "platform.0.guarded": "no",
        "platform.0.flights": "0",
        "platform.0.height": "12 in",
    }
    made = JobForm(source, typed, TODAY).source["platform"][0]  # type: ignore[index]
    assert not {"beam", "guard", "stairs"} & set(made)  # type: ignore[arg-type]
    assert JobForm(source, {"permit": "no"}, TODAY).source["lot"] == source["lot"]


def test_uncut_boards_and_cut_corners() -> None:
    uncut = form(platform__0__make="uncut boards", platform__0__uncut__rims="10'", platform__0__uncut__joists="12'")
    assert parse_job_table(uncut.source, "form").spec.platforms[0].uncut
    cut = form(
        platform__0__corners="2", platform__0__cut__0__corner="front left", platform__0__cut__0__width="4'",
        platform__0__cut__0__depth="3'", platform__0__cut__1__corner="front right",
        platform__0__cut__1__kind="clipped at 45 degrees", platform__0__cut__1__leg="2'",
    )  # fmt: skip
    assert len(parse_job_table(cut.source, "form").spec.platforms[0].cuts) == 2


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("platform.0.size.0", "14", "= 1' 2"), ("platform.0.size.0", "14' 3", "= 14' 3\""), ("start", "mon", "= Monday 18 May 2026"),
        ("platform.0.support", "foot", "= footings"), ("platform.0.joists.size", "2x10", ""),
    ],
)  # fmt: skip
def test_answers_are_said_back(key: str, text: str, said: str) -> None:
    made = form(**{key.replace(".", "__"): text})
    assert made.understood(made.by_key[key]).startswith(said)


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("platform.0.size.0", "wide", "wide"), ("start", "03/04/2026", "two different days"), ("platforms", "two", "whole number"),
        ("platform.0.support", "piles", "not one of the choices"), ("permit", "perhaps", "not one of the choices"),
    ],
)  # fmt: skip
def test_wrong_answers_are_refused_with_what_would_be_right(key: str, text: str, said: str) -> None:
    made = form(**{key.replace(".", "__"): text})
    with pytest.raises(InputError, match=said) as caught:
        made.understood(made.by_key[key])
    assert caught.value.hint
    if made.by_key[key].ask is not Ask.WHOLE:
        with pytest.raises(JobFaults):
            parse_job_table(made.source, "form")


def test_every_fault_has_its_field() -> None:
    made = form(platform__0__height="soon", platform__0__size__1="3 in", platform__0__joists__grade="best", title="")
    with pytest.raises(JobFaults) as caught:
        parse_job_table(made.source, "form")
    owners = [owner_of(fault.path, made.by_key) for fault in caught.value.faults]
    assert set(owners) == {"title", "platform.0.height", "platform.0.size.1", "platform.0.joists.grade"}
    assert owner_of(("platform", 0), made.by_key) == "platform.0.size.0"
    assert owner_of(("platform", 0, "beam"), form(platform__0__support="footings").by_key) == "platform.0.beams"
    assert (
        owner_of(("platform", 0, "guard", "edges", 1), form(platform__0__guarded="yes").by_key)
        == "platform.0.guard.edges"
    )
    assert owner_of(("lot", 3, "code"), made.by_key) == ""


@pytest.mark.parametrize(
    ("width", "depth", "height", "attached", "asked"),
    # IRC R105.2 as a town prints it: more than 200 sq ft, more than 30 in high, or attached takes it out of the exemption.
    [
        ("20'", "10'", "30 in", False, ""),
        ("20'", "10' 1", "30 in", False, "more than 200 sq ft"),
        ("12'", "10'", "30-1/2 in", False, "high"),
        ("12'", "10'", "11 in", True, "it hangs on the house"),
    ],
)
def test_a_permit_is_suggested_outside_of_the_usual_exemption(
    width: str, depth: str, height: str, attached: bool, asked: str
) -> None:
    made = form(
        platform__0__size__0=width, platform__0__size__1=depth, platform__0__height=height,
        platform__0__attachment="attached" if attached else "free-standing", site_facts__frost_depth="30 in",
    )  # fmt: skip
    found = made.suggestion(made.by_key["permit"])
    assert found.why.startswith(asked) and (found.text == "yes") is bool(asked)
    assert bool(made.source.get("permit")) is bool(asked)


def guarded(**answers: str) -> Platform:
    """The platform of 16' x 12' on the house, 5 ft 6 high, that a form makes with these answers more."""
    made = form(
        code="26-071", title="Deck", client="Client Guard Test", site="invented", crew="North", start="2026-05-18", platforms="1",
        platform__0__size__0="16'", platform__0__size__1="12'", platform__0__height="5' 6",
        platform__0__attachment="attached", site_facts__frost_depth="30 in", **answers,
    )  # fmt: skip
    return parse_job_table(made.source, "form").spec.platforms[0]


@pytest.mark.parametrize(
    ("answers", "feet"),
    [
        # 12 + 16 + 12 ft, less one flight of 4 ft.
        ({"platform__0__flights": "1", "platform__0__stairs__0__width": "4'"}, 36),
        # A front corner clipped 3 ft each way: 12 + 13 + 9 ft and 3 x 1.4142 along the clip.
        ({"platform__0__corners": "1", "platform__0__cut__0__corner": "front left",
          "platform__0__cut__0__kind": "clipped at 45 degrees", "platform__0__cut__0__leg": "3'"}, 38.2426),
        # An L, 6 ft by 5 ft out of the front right: as long round as the whole.
        ({"platform__0__corners": "1", "platform__0__cut__0__corner": "front right", "platform__0__cut__0__kind": "cut out",
          "platform__0__cut__0__width": "6'", "platform__0__cut__0__depth": "5'", "platform__0__beams": "2",
          "platform__0__beam__0__at": "6'", "platform__0__beam__1__at": "11'"}, 40),
        # Out of a back corner the house stands in it: 12 ft on the left, 16 ft of front, 7 ft of right.
        ({"platform__0__corners": "1", "platform__0__cut__0__corner": "back right", "platform__0__cut__0__kind": "cut out",
          "platform__0__cut__0__width": "6'", "platform__0__cut__0__depth": "5'"}, 35),
        ({"platform__0__guard__edges": "front, left"}, 28),
    ],
)  # fmt: skip
def test_a_guard_nobody_gave_a_length_is_as_long_as_its_edges_less_the_stairs(
    answers: dict[str, str], feet: float
) -> None:
    guard = guarded(**answers).guard
    assert guard is not None and guard.length_nm / FOOT == pytest.approx(feet, abs=0.001)


def test_what_a_flight_wants_is_asked_where_its_rise_calls_for_it() -> None:
    flight = "platform.0.stairs.0."
    for rise, handrail, guard in (("23-1/4 in", False, False), ("23-5/16 in", True, False), ("30-1/16 in", True, True)):
        # 7-3/4 in is the highest riser: 23-1/4 in is three, a sixteenth more four (IRC R311.7.5.1 and R311.7.8).
        made = form(platform__0__height="5' 6", platform__0__flights="1", platform__0__stairs__0__rise=rise)
        assert (made.value(f"{flight}handrail") == "yes", made.value(f"{flight}guard") == "yes") == (handrail, guard)
        assert (f"{flight}handrail_height" in made.by_key) is handrail
        assert (f"{flight}guard_height" in made.by_key) is (f"{flight}open_sides" in made.by_key) is guard
    walled = form(
        platform__0__height="5' 6", platform__0__flights="1", platform__0__stairs__0__rise="5' 6",
        platform__0__stairs__0__open_sides="0",
    )  # fmt: skip
    assert walled.value(f"{flight}guard") == "no" and walled.value(f"{flight}handrail") == "yes"


def test_a_platform_that_hangs_on_the_house_is_asked_how_deep_the_ground_freezes() -> None:
    low = form(platform__0__height="8 in", platform__0__attachment="attached", platform__0__support="blocks")
    assert low.by_key["site_facts.frost_depth"].rest is None
    deep = replace(low, typed={**low.typed, "site_facts.frost_depth": "36 in"})
    assert any(
        "the house does not move with frost" in text for text in looks_wrong(parse_job_table(deep.source, "form").spec)
    )
    with pytest.raises(JobFaults, match="frost_depth"):
        parse_job_table(low.source, "form")


def test_a_platform_that_stands_free_is_asked_whether_the_house_closes_its_back() -> None:
    high = {"platform__0__height": "4'", "site_facts__frost_depth": "36 in"}
    free, beside = form(**high), form(**high, platform__0__beside_house="yes")
    assert "platform.0.beside_house" in free.by_key
    assert "platform.0.beside_house" not in form(**high, platform__0__attachment="attached").by_key
    spec = parse_job_table(beside.source, "form").spec
    assert spec.platforms[0].beside_house and looks_wrong(spec) == ()
    runs = [parse_job_table(one.source, "form").spec.platforms[0] for one in (free, beside)]
    assert runs[0].guard and runs[1].guard and runs[0].guard.length_nm - runs[1].guard.length_nm == runs[0].width_nm
