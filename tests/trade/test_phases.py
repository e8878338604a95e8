"""The phase template: whole, in an order that keeps work from being covered up, and cut to each job."""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.trade.phase_jobs import EVERY_MIX, FULL_JOB, GROUND_JOB, JOBS
from tracker.trade.checks.registry import BY_KEY as CHECKS_BY_KEY
from tracker.trade.phases import BY_KEY, PHASES, Phase, PhaseChange, facts, phases_for, stands_on
from tracker.trade.rules import BY_KEY as RULES_BY_KEY
from tracker.trade.spec import JobSpec
from tracker.trade.workload import quantities

ORDER = {phase.key: place for place, phase in enumerate(PHASES)}


def keys(job: JobSpec, **changes: PhaseChange) -> list[str]:
    """The phases of a job each on its own, as they are before any folds into its neighbor."""
    return [phase.key for phase in phases_for(job, {key.replace("_", "-"): x for key, x in changes.items()}, ())]


# -- the template


def test_thirty_two_phases_and_ten_hold_points_in_order() -> None:
    assert len(PHASES) == len(BY_KEY) == 32
    assert [phase.hold for phase in PHASES if phase.hold] == list(range(1, 11))


def test_everything_a_phase_names_is_there_and_comes_earlier_or_later_as_it_must() -> None:
    home = {check: phase.key for phase in PHASES for check in phase.checks}
    counted = set(quantities(FULL_JOB))
    known = set().union(*(facts(job) for job in (*EVERY_MIX, FULL_JOB)))
    for phase in PHASES:
        here = ORDER[phase.key]
        assert all(ORDER[key] < here for key in phase.after)
        assert all(key in CHECKS_BY_KEY for key in phase.checks)
        assert all(ORDER[home[key]] < here for key in phase.standing)
        assert set(phase.when) <= known
        assert phase.effort.per in counted | {""}
        assert {rate.per for rate in phase.effort.rates} <= counted
        assert phase.effort.rates or not phase.effort.per
        if phase.wait:
            assert phase.wait.rule in RULES_BY_KEY
            assert not phase.wait.since or ORDER[phase.wait.since] < here
    checks = [check for phase in PHASES for check in phase.checks]
    assert sorted(checks) == sorted(CHECKS_BY_KEY), "each check belongs to exactly one phase"


def test_what_can_hurt_someone_carries_its_caution() -> None:
    # Common practice: the cautions usual in the trade for each kind of work.
    expected = {
        "frame": ["Nail gun", "Saw", "dust"], "boards": ["Saw", "dust"], "strip": ["Digging"], "dig": ["Digging"],
        "pour": ["concrete burns"], "delivery": ["Lifting"], "ledger": ["local code", "Ladder"], "guards": ["local code", "edge"],
        "finish": ["Oily rags"], "design": ["licensed professional"], "rough-in": ["licensed electrician"],
    }  # fmt: skip
    for key, words in expected.items():
        said = " ".join(BY_KEY[key].cautions)
        assert all(word.lower() in said.lower() for word in words), key


# Common practice: the order that keeps every check possible. Nothing is dug before the locate, poured before the hole
# was looked at, loaded before it cured, covered before the framing was seen, used before its guard stands.
MUST_NOT_SWAP = [
    ["locate", "dig", "pour", "cure", "posts", "frame", "under-deck", "boards", "guards", "final", "hand-over", "finish", "care"],
    ["permit", "layout", "dig"], ["visit", "permit"], ["visit", "design", "quote", "locate"], ["locate", "strip"], ["locate", "pads", "posts"], ["layout", "dig"],
    ["ledger", "frame", "rough-in", "under-deck", "board-gap", "boards"], ["final", "hand-over", "care"],
    ["dig", "inspect-footings", "pour"], ["under-deck", "inspect-frame", "board-gap"], ["inspect-final", "final"],
    ["permit", "old-deck", "layout"], ["locate", "drainage", "dig"], ["guards", "electric", "inspect-final"],
]  # fmt: skip


def waits_for(phases: tuple[Phase, ...]) -> dict[str, set[str]]:
    """For each phase, everything that is done before it."""
    return {key: set(below) for key, below in stands_on(phases).items()}


def test_the_order_that_must_not_be_swapped() -> None:
    before = waits_for(phases_for(FULL_JOB))
    for chain in MUST_NOT_SWAP:
        for earlier, later in pairwise(chain):
            assert earlier in before[later], f"{earlier} before {later}"
    # The inspector looks at the hole and at the frame before either is covered.
    assert BY_KEY["dig"].hold and "footing-inspection" in BY_KEY["inspect-footings"].checks
    assert BY_KEY["under-deck"].hold and "framing-inspection" in BY_KEY["inspect-frame"].checks


@settings(max_examples=examples(150, 3000))
@given(JOBS, st.sets(st.sampled_from(sorted(BY_KEY)), max_size=6))
def test_what_waits_in_the_template_waits_in_every_job(job: JobSpec, skipped: set[str]) -> None:
    phases = phases_for(job, {key: PhaseChange(skip=True) for key in skipped})
    present = {phase.key for phase in phases}
    before, whole = waits_for(phases), waits_for(phases_for(FULL_JOB))
    assert not skipped & present
    for key in present:
        assert before[key] >= whole[key] & present


@settings(max_examples=examples(150, 3000))
@given(JOBS, st.sets(st.sampled_from(sorted(BY_KEY)), max_size=6))
def test_every_phase_stands_on_every_hold_point_before_it(job: JobSpec, skipped: set[str]) -> None:
    phases = phases_for(job, {key: PhaseChange(skip=True) for key in skipped})
    before = waits_for(phases)
    for earlier, later in combinations(phases, 2):
        if earlier.hold:
            assert earlier.key in before[later.key], f"hold point {earlier.hold} stops {later.key}"


@given(JOBS, st.sets(st.sampled_from(sorted(BY_KEY)), max_size=6))
def test_what_a_phase_stands_on_is_whole_and_listed_nearest_first(job: JobSpec, skipped: set[str]) -> None:
    phases = phases_for(job, {key: PhaseChange(skip=True) for key in skipped})
    below = stands_on(phases)
    for phase in phases:
        assert set(phase.after) <= set(below[phase.key])
        assert all(set(below[key]) <= set(below[phase.key]) for key in below[phase.key])
        places = [ORDER[key] for key in below[phase.key]]
        assert places == sorted(set(places), reverse=True)
    if (
        phases[-1].key == "care"
    ):  # nothing of the job is left out under the last of it, but what only the permit office knows
        assert {phase.key for phase in phases} - set(below["care"]) - {"care"} <= {"permit"}


def test_what_each_phase_stands_on_in_a_whole_job() -> None:
    # Common practice; a quote does not wait for the permit, everything on the ground does.
    below = stands_on(phases_for(FULL_JOB))
    assert below["quote"] == ("design", "visit", "first-call")
    assert below["delivery"] == ("locate", "quote", "design", "visit", "first-call")
    assert "permit" in below["layout"] and "permit" not in below["delivery"]
    assert below["care"][:3] == ("finish", "hand-over", "final")
    assert {"frame", "under-deck", "board-gap", "ledger", "posts", "cure", "dig"} <= set(below["boards"])


@given(JOBS)
def test_phases_keep_the_order_of_the_template_and_name_only_phases_before_them(job: JobSpec) -> None:
    phases = phases_for(job)
    places = [ORDER[phase.key] for phase in phases]
    assert places == sorted(set(places))
    for place, phase in enumerate(phases):
        earlier = {other.key for other in phases[:place]}
        assert set(phase.after) <= earlier
        assert bool(phase.after) == bool(earlier)


# -- what each job sees


def test_a_ground_level_platform_sees_no_ledger_footing_or_guard_phase() -> None:
    seen = keys(GROUND_JOB)
    assert 15 <= len(seen) <= 18
    assert not set(seen) & {
        "ledger",
        "dig",
        "pour",
        "cure",
        "guards",
        "rough-in",
        "permit",
        "first-call",
        "finish",
    }
    assert {
        "visit",
        "layout",
        "strip",
        "pads",
        "posts",
        "frame",
        "under-deck",
        "board-gap",
        "boards",
        "final",
        "care",
    } <= set(seen)


def test_a_raised_attached_deck_beside_a_low_one_sees_them_all() -> None:
    assert keys(FULL_JOB) == [phase.key for phase in PHASES]


@pytest.mark.parametrize(
    ("key", "needs"),
    [
        ("permit", {"permit"}), ("locate", {"digging"}), ("dig", {"footings"}), ("pour", {"footings"}), ("cure", {"footings"}),
        ("pads", {"pads to lay"}), ("ledger", {"attached"}), ("guards", {"stairs", "guard"}), ("finish", {"finish"}),
        ("rough-in", {"stairs", "guard", "electric"}), ("care", {"wood"}), ("first-call", {"raised"}),
    ],
)  # fmt: skip
def test_a_phase_is_seen_where_the_spec_has_what_it_is_for(key: str, needs: set[str]) -> None:
    for job in EVERY_MIX:
        assert (key in keys(job)) == bool(needs & facts(job))


def test_footings_mean_digging_whatever_the_site_says() -> None:
    for job in EVERY_MIX:
        if "dig" in keys(job):
            assert "locate" in keys(job)


# -- a contractor's own changes


def test_a_phase_may_be_left_out_given_other_hours_or_freed_of_checks() -> None:
    changed = phases_for(
        FULL_JOB,
        {
            "first-call": PhaseChange(skip=True),
            "frame": PhaseChange(hours=9.5, without_checks=("crown", "support")),
        },
    )
    by_key = {phase.key: phase for phase in changed}
    assert "first-call" not in by_key and changed[0].after == ()
    assert (by_key["frame"].effort.fixed, by_key["frame"].effort.rates) == (9.5, ())
    assert by_key["frame"].checks == ("joist-spacing", "span", "fasteners", "square", "level")
    assert by_key["boards"].checks == BY_KEY["boards"].checks


def test_a_phase_left_out_hands_on_what_it_waited_for() -> None:
    by_key = {phase.key: phase for phase in phases_for(FULL_JOB, {"cure": PhaseChange(skip=True)})}
    assert by_key["posts"].after == ("pour", "pads", "delivery")
    by_key = {p.key: p for p in phases_for(GROUND_JOB, {"pads": PhaseChange(skip=True)})}
    assert by_key["posts"].after == ("strip", "delivery")


def test_a_change_to_a_phase_that_is_not_there_is_refused() -> None:
    with pytest.raises(KeyError, match="framing"):
        phases_for(GROUND_JOB, {"framing": PhaseChange(skip=True)})


def test_every_job_has_a_design_phase_with_its_check() -> None:
    for job in EVERY_MIX:
        (design,) = [phase for phase in phases_for(job) if phase.key == "design"]
        assert design.checks == ("design",)
