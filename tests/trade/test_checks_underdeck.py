"""What boards hide, read in numbers before they do: clearance, fall, air, tape and photographs of invented jobs.

The limits either side by a sixteenth; worked by hand from the sizes of the frame.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.trade.geometry_cases import DAY, GROUND, SIXTEENTHS, inch, judged, passed
from tests.trade.phase_jobs import RAISED, job_of
from tracker.errors import InputError
from tracker.trade.answer import Answer, Verdict
from tracker.trade.checks.base import Case
from tracker.trade.checks.registry import BY_KEY
from tracker.trade.checks.underdeck import UNDER_DECK
from tracker.trade.lengths import SIXTEENTH, Unit, exact_text
from tracker.trade.rules import Rules
from tracker.trade.spec import Platform, Support

LOW = {"clearance": "2", "fall": "2-1/2", "run": "10'", "open-length": "20'", "open-height": "2", "open-sides": "2",
       "clear": "yes", "photos": "6"}  # fmt: skip
"""A 10 in high platform of 122-1/2 sq ft, free-standing: 1-3/4 in below its joists on level ground."""
HIGH = {"clearance": "30", "fall": "6", "run": "10'", "clear": "yes", "photos": "6"}


def read(base: dict[str, str], platform: Platform = GROUND, rules: Rules | None = None, /, **changes: str) -> Answer:
    words = {**base, **{key.replace("_", "-"): text for key, text in changes.items()}}
    return judged(
        UNDER_DECK, [f"{k}={v}" for k, v in words.items() if v], Case(job_of(platform, rules=rules), platform, DAY)
    )


def test_a_low_deck_is_closed_out_in_numbers() -> None:
    answer = read(LOW)
    assert passed(answer)
    # 20 ft x 2 in = 3.33 sq ft; 122.5 sq ft / 150 = 0.82 sq ft (IRC R408.1, from memory). 2-1/2 in 120 in = 2.08 %.
    assert answer.answer["open_area_ft2"] == pytest.approx(3.33, abs=0.01)
    assert answer.answer["open_needed_ft2"] == pytest.approx(0.82, abs=0.01)
    assert answer.answer["fall_percent"] == pytest.approx(2.08, abs=0.01)


@pytest.mark.parametrize("key", LOW)
def test_each_number_is_a_reading_of_its_own(key: str) -> None:
    assert read({**LOW, key: ""}).verdict is Verdict.INCOMPLETE


@SIXTEENTHS
def test_joists_and_beams_near_the_ground_or_hard_to_replace_are_uc4a(off: int) -> None:
    # AWPA U1, 2016 book, as the treating trade quotes it; under 18 in nobody gets at them again (common practice).
    above = replace(RAISED, joists=replace(RAISED.joists, use_category="UC3B"))
    typed = exact_text(inch(18) + off * SIXTEENTH)
    assert passed(read(HIGH, above, clearance=typed)) is (off >= 0)
    assert passed(read(HIGH, RAISED, clearance=typed))


@SIXTEENTHS
def test_the_frame_keeps_clear_of_the_soil(off: int) -> None:
    # Common practice, a house rule: 1 in at the least.
    assert passed(read(LOW, clearance=exact_text(inch(1) + off * SIXTEENTH))) is (off >= 0)
    three = Rules({"soil_clearance": inch(3)})
    assert passed(
        read(LOW, replace(GROUND, height_nm=inch(12)), three, clearance=exact_text(inch(3) + off * SIXTEENTH))
    ) is (off >= 0)


@SIXTEENTHS
def test_the_ground_falls_two_percent_and_six_inches_in_ten_feet_from_a_house(off: int) -> None:
    # Common practice: 2 %, 2 in in 100 in. From memory: IRC R401.3, 6 in in the first 10 ft from the house.
    assert passed(read(LOW, fall=exact_text(inch(2) + off * SIXTEENTH), run="100")) is (off >= 0)
    assert passed(read(HIGH, RAISED, fall=exact_text(inch(6) + off * SIXTEENTH))) is (off >= 0)
    toward = read(HIGH, RAISED, fall="-1")
    assert not passed(toward) and "away from the house" in toward.moves[0]


@SIXTEENTHS
def test_openings_are_a_hundred_and_fiftieth_of_the_floor(off: int) -> None:
    # 10 ft x 12 ft 6 in = 125 sq ft; 125 / 150 = 5/6 sq ft = 120 sq in: 10 ft of an edge open by 1 in.
    deck = replace(GROUND, uncut=False, rim_stock_nm=0, joist_stock_nm=0, depth_nm=inch(150))
    assert passed(read(LOW, deck, open_length="10'", open_height=exact_text(inch(1) + off * SIXTEENTH))) is (off >= 0)


def test_air_crosses_and_nothing_is_left_to_rot() -> None:
    assert not passed(read(LOW, open_sides="1"))
    assert not passed(read(LOW, open_length="0", open_height="0", open_sides="0"))
    assert not passed(read(LOW, clear="no"))
    assert not passed(read(LOW, photos="0"))


def test_joist_tape_is_asked_where_the_house_wants_it() -> None:
    house = Rules({"joist_tape": 1})
    assert read(LOW, GROUND, house).verdict is Verdict.INCOMPLETE
    assert passed(read(LOW, GROUND, house, tape="yes"))
    bare = read(LOW, GROUND, house, tape="no")
    assert not passed(bare) and "tape the top of every joist" in bare.moves[0]
    with pytest.raises(InputError):
        read(LOW, tape="yes")


@pytest.mark.parametrize(
    ("key", "text"), [("clearance", "40"), ("run", "6"), ("fall", "70"), ("open-length", "80'"), ("open-height", "22")]
)
def test_what_no_tape_can_have_read_is_refused(key: str, text: str) -> None:
    with pytest.raises(InputError):
        read({**LOW, key: text})


def test_a_high_deck_is_asked_for_no_openings_and_one_on_another_for_nothing() -> None:
    assert "open-length" not in {field.key for field in UNDER_DECK.form(Case(job_of(RAISED), RAISED, DAY)).fields}
    on_another = replace(GROUND, support=Support.PLATFORM)
    assert not UNDER_DECK.applies(job_of(on_another), on_another)
    assert BY_KEY["soil-and-air"] is UNDER_DECK


def test_a_metric_job_is_asked_in_millimetres() -> None:
    case = Case(job_of(GROUND, unit=Unit.MM), GROUND, DAY)
    words = ["clearance=50", "fall=65", "run=3000", "open-length=6000", "open-height=50", "open-sides=2", "clear=yes"]
    # 6 m x 50 mm = 0.3 m2; 11.38 m2 / 150 = 0.076 m2.
    assert judged(UNDER_DECK, [*words, "photos=4"], case).verdict is Verdict.PASSED
