"""Hours of whole decks against a table of our own from common practice, and of single works against figures read in print."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.trade.hourcases import ATTACHED, CASES, LARGE, PREPARED, STONE_AND_PADS
from tests.trade.test_framing import SITE, job, joists, platform
from tracker.planning.labour import UNITS, labour_of, minutes_of
from tracker.trade.effort import EFFORTS, Effort, Rate
from tracker.trade.framing import plan_job
from tracker.trade.lengths import FOOT, INCH, Unit
from tracker.trade.phases import BY_KEY, PhaseChange, phases_for
from tracker.trade.rules import Rules
from tracker.trade.spec import BoardKind, JobSpec, Stairs
from tracker.trade.workload import quantities


def hours(job: JobSpec, *keys: str) -> float:
    """Person-hours of the phases named, of all without a name."""
    work = quantities(job)
    return sum(minutes_of(phase.effort, work) / 60 for phase in phases_for(job) if not keys or phase.key in keys)


@pytest.mark.parametrize("name", CASES)
def test_a_whole_deck_takes_the_hours_of_the_table(name: str) -> None:
    # Common practice: the table stands in hourcases.
    spec, least, most = CASES[name]
    assert least <= hours(spec) <= most


def test_the_crews_half_day_on_prepared_ground() -> None:
    # Common practice: two or three people build it in half a day, 8 to 12 h of the work in the yard.
    yard = ("layout", "posts", "frame", "under-deck", "board-gap", "boards", "site-close")
    assert 8 <= hours(PREPARED, *yard) <= 12.5


def test_hours_read_in_print_stand_within_what_was_read() -> None:
    rates = {rate.per: rate.hours for effort in EFFORTS.values() for rate in effort.rates}
    # Estimating textbook: floor joists 16 to 24 h a 1,000 board feet; bridging 4 to 6 h a 100 sets.
    assert 16 / 1000 <= rates["frame_bf"] <= 24 / 1000
    assert 4 / 100 <= rates["blocking"] <= 6 / 100
    # Trade article, a deck of 10 x 20 ft: hangers 0.75 h; 20 ft at 16 in are 16 joists.
    assert rates["hangers"] * 16 == pytest.approx(0.75, abs=0.005)
    # Estimating book of plant work: hand excavation 2.8 h a cubic yard; 4 in of a square foot are 1/81 yd3.
    assert rates["dig_yd3"] == 2.8
    strip = next(rate.hours for rate in EFFORTS["strip"].rates)
    assert strip == pytest.approx(2.8 / 81, abs=0.001)


def test_the_work_of_a_deck_counted_by_hand() -> None:
    # 10 ft rims and 12 ft joists, 2x8: 9 joists and 2 rims are 128 ft at 4/3 board feet; 27 courses of 10 ft; 36 wood blocks.
    work = quantities(PREPARED)
    assert work["frame_bf"] == pytest.approx(128 * 4 / 3)
    assert (work["board_ft"], work["border_ft"], work["wood_blocks"], work["blocks"]) == (270, 0, 36, 0)
    # 16 ft ledger, two 2x10 plies of 16 ft, three posts; 36 in rise in 5 risers; 36 ft of guard, and on both
    # sides of the flight its slope: 4 treads of 10-1/4 in and 28.8 in up, sqrt(41^2 + 28.8^2) = 50.10 in.
    work = quantities(ATTACHED)
    assert (work["ledger_ft"], work["beam_ft"], work["posts"], work["hangers"]) == (16, 32, 3, 13)
    assert work["stair_risers"] == 5 and work["guard_ft"] == pytest.approx(36 + 2 * 50.104 / 12, abs=0.001)


@pytest.mark.parametrize(("soil", "factor"), [("sand", 0.55), ("gravel", 1.0), ("clay", 1.5), ("unknown", 1.5)])
def test_digging_goes_by_the_soil(soil: str, factor: float) -> None:
    # Trench by hand, one source: sand 1.2, medium 2.2, heavy 3.3 h a cubic meter: 0.55, 1 and 1.5 of medium.
    spec = replace(ATTACHED, site=replace(SITE, soil=soil))
    (plan,) = plan_job(spec)
    assert plan.footing is not None
    inches, deep = plan.footing.diameter_nm // INCH, plan.footing.depth_nm // INCH
    holes = 3 * math.pi / 4 * inches**2 * deep / 12**3 / 27
    assert quantities(spec)["dig_yd3"] == pytest.approx(holes * factor)


def decked(**changes: object) -> JobSpec:
    made = platform(12 * FOOT, 14 * FOOT)
    return job(replace(made, decking=replace(made.decking, **changes)))  # type: ignore[arg-type]


def test_diagonal_boards_a_border_and_composite_take_longer() -> None:
    plain = hours(decked(), "boards")
    assert hours(decked(angle_deg=45), "boards") > 1.25 * plain
    assert hours(decked(border=True), "boards") > 1.25 * plain
    assert hours(decked(kind=BoardKind.COMPOSITE), "boards") > 1.15 * plain


@settings(max_examples=examples(10, 200), deadline=None)
@given(st.integers(6, 20), st.integers(6, 20), st.integers(0, 4), st.integers(0, 4))
def test_more_boards_and_joists_never_take_fewer_hours(wide: int, deep: int, more_wide: int, more_deep: int) -> None:
    small = job(platform(wide * FOOT, deep * FOOT))
    large = job(platform((wide + more_wide) * FOOT, (deep + more_deep) * FOOT))
    assert hours(large, "boards") >= hours(small, "boards")
    assert hours(large, "frame") >= hours(small, "frame")
    assert hours(large) >= hours(small)


@pytest.mark.parametrize("rise", range(14, 100, 6))
def test_more_risers_never_take_fewer_hours(rise: int) -> None:
    def flight(inches: int) -> JobSpec:
        (deck,) = ATTACHED.platforms
        return replace(ATTACHED, platforms=(replace(deck, stairs=(Stairs(48 * INCH, inches * INCH),)),))

    assert hours(flight(rise + 8)) > hours(flight(rise))


def test_more_posts_never_take_fewer_hours() -> None:
    def posts(number: int) -> JobSpec:
        (deck,) = LARGE.platforms
        return replace(LARGE, platforms=(replace(deck, beams=tuple(replace(b, posts=number) for b in deck.beams)),))

    found = [hours(posts(number), "posts") for number in range(5, 12)]
    assert found == sorted(found) and found[0] < found[-1]


@given(st.sampled_from(sorted(EFFORTS)), st.sampled_from(sorted(UNITS)), st.integers(0, 400), st.integers(1, 400))
def test_no_work_takes_hours_away(key: str, unit: str, much: int, more: int) -> None:
    less, greater = ({unit: float(amount)} for amount in (much, much + more))
    assert EFFORTS[key].hours(greater) >= EFFORTS[key].hours(less) >= EFFORTS[key].hours({})


def test_every_quantity_of_an_effort_is_counted_and_has_a_word() -> None:
    counted = set(quantities(ATTACHED))
    for key, effort in EFFORTS.items():
        assert {rate.per for rate in effort.rates} <= counted & set(UNITS), key
        assert not effort.per or effort.per in counted & set(UNITS), key
        assert key in BY_KEY


def test_a_house_pace_scales_every_hour_but_those_set_by_hand() -> None:
    slow = replace(STONE_AND_PADS, rules=Rules({"pace": 125}))
    work = quantities(slow)
    usual = {phase.key: phase.effort.hours(work) for phase in phases_for(STONE_AND_PADS)}
    own = {"frame": PhaseChange(hours=7.5), "pads": PhaseChange(each=0.25)}
    found = {phase.key: phase.effort.hours(work) for phase in phases_for(slow, own)}
    assert found.pop("frame") == Fraction("7.5") and found.pop("pads") == 10, "40 blocks"
    assert found == {key: hours * Fraction(5, 4) for key, hours in usual.items() if key in found}
    assert sum(usual.values()) > 20


def test_the_working_of_hours_names_what_there_is_and_the_pace() -> None:
    effort = Effort(0.5, (Rate(0.018, "frame_bf"), Rate(0.05, "blocking"), Rate(0.0469, "hangers")), "joists", 110)
    (labor,) = labour_of([replace(BY_KEY["frame"], effort=effort)], {"frame_bf": 100.0, "blocking": 12.0}, 5000)
    # (0.5 + 1.8 + 0.6) x 1.1 = 3.19 h, 3 h 11 min.
    assert labor.working == (
        "(0.5 h + 0.018 h x 100 board ft of frame + 0.05 h x 12 pieces of blocking) x 110 % = 3:11 h at $50.00 an hour"
    )
    (metric,) = labour_of(
        [replace(BY_KEY["guards"], effort=Effort(0, (Rate(0.85, "guard_ft"),)))], {"guard_ft": 10.0}, 5000, Unit.MM
    )
    # 10 ft are 3.048 m (exact: 1 ft is 304.8 mm); 0.85 h a foot are 2.7887 h a meter.
    assert metric.working == "2.7887 h x 3.05 m of guard = 8:30 h at $50.00 an hour"


def test_metric_lumber_is_counted_by_the_nominal_size_that_serves_it() -> None:
    # 45 x 195 mm holds a 2x8: the same board feet as the same lengths of 2x8.
    nominal = platform(12 * FOOT, 12 * FOOT)
    metric = replace(nominal, joists=replace(joists(), size="45x195"))
    ratio = quantities(job(metric))["frame_bf"] / quantities(job(nominal))["frame_bf"]
    assert ratio == pytest.approx(1, abs=0.05)
