"""Stair flights against IRC R311.7 (2018) as offices print it: riser 7-3/4 at most, tread 10 at least."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import InputError, InputErrors
from tracker.trade.answer import Verdict
from tracker.trade.lengths import FOOT, INCH, SIXTEENTH, parse_length
from tracker.trade.stairs import as_built_answer, riser_marks_nm, stairs_answer, stringer_count


@pytest.mark.parametrize(
    ("rise", "risers", "riser_in", "run_in"),
    [
        ("28", 4, 7.0, 30),
        ("31", 4, 7.75, 30),  # exactly the limit
        ("31-1/16", 5, 6.2125, 40),  # a sixteenth over it takes another riser
        ("7-3/4", 1, 7.75, 0),
        ("7-13/16", 2, 3.9063, 10),
        ("3'", 5, 7.2, 40),
        ("108", 14, 7.7143, 130),
    ],
)
def test_equal_risers_within_the_rule(rise: str, risers: int, riser_in: float, run_in: float) -> None:
    got = stairs_answer(parse_length(rise)).answer
    assert (got["risers"], got["treads"], got["run_in"]) == (risers, risers - 1, run_in)
    assert got["riser_in"] == pytest.approx(riser_in, abs=1e-4)


@given(st.integers(1, 30 * FOOT))
def test_the_fewest_risers_that_keep_the_limit(rise_nm: int) -> None:
    risers = stairs_answer(rise_nm).answer["risers"]
    assert isinstance(risers, int)
    assert rise_nm <= risers * 31 * INCH // 4
    assert rise_nm > (risers - 1) * 31 * INCH // 4


@given(st.integers(INCH, 30 * FOOT))
def test_step_marks_climb_evenly_and_end_at_the_rise(rise_nm: int) -> None:
    marks = riser_marks_nm(rise_nm)
    assert marks[-1] == rise_nm
    steps = [high - low for low, high in zip((0, *marks), marks, strict=False)]
    assert max(steps) - min(steps) <= 2 * SIXTEENTH


@pytest.mark.parametrize(("rise", "handrail"), [("23-1/4", False), ("23-5/16", True)])
def test_a_handrail_from_four_risers_on(rise: str, handrail: bool) -> None:
    got = stairs_answer(parse_length(rise))
    assert got.answer["handrail"] is handrail
    assert any("handrail" in move for move in got.moves) is handrail


def test_stringer_geometry() -> None:
    got = stairs_answer(28 * INCH).answer
    # 7 by 10 in steps: 12.207 in along the slope; a 2x12 keeps 11.25 - 70/12.207 = 5.52 in.
    assert got["stringer_in"] == pytest.approx(3 * math.hypot(7, 10), abs=0.01)
    assert got["throat_in"] == pytest.approx(11.25 - 70 / math.hypot(7, 10), abs=0.01)
    assert got["stringers"] == 3


# From memory: DCA 6 stair section, stringers at 18 in at most.
@pytest.mark.parametrize(("width", "stringers"), [("36", 3), ("36-1/16", 4), ("48", 4), ("54", 4), ("18", 2)])
def test_stringers_at_18_in_at_most(width: str, stringers: int) -> None:
    assert stringer_count(parse_length(width)) == stringers


def test_long_flights_are_warned_of() -> None:
    # From memory: DCA 6, a cut 2x12 stringer runs 6 ft at most; IRC R311.7.3, 147 in between landings.
    assert not any("cut 2x12" in move for move in stairs_answer(8 * 7 * INCH - INCH // 2).moves)
    assert any("cut 2x12" in move for move in stairs_answer(6 * FOOT).moves)
    assert any("landing in the flight" in move for move in stairs_answer(148 * INCH).moves)


@pytest.mark.parametrize(
    ("risers", "verdict"),
    [
        (["7", "7", "7", "7"], Verdict.PASSED),
        (["7", "7-3/8"], Verdict.PASSED),  # exactly 3/8 in
        (["7", "7-7/16"], Verdict.FAILED),
        (["7-3/4", "7-3/4"], Verdict.PASSED),
        (["7-13/16", "7-3/4"], Verdict.FAILED),
    ],
)
def test_as_built_spread(risers: list[str], verdict: Verdict) -> None:
    got = as_built_answer([parse_length(text) for text in risers])
    assert got.verdict is verdict
    assert bool(got.moves) is (verdict is Verdict.FAILED)


def test_as_built_names_the_step_to_mend() -> None:
    got = as_built_answer([7 * INCH, 7 * INCH, 6 * INCH], [10 * INCH, 9 * INCH])
    assert got.answer["riser_spread_in"] == 1
    assert any("risers 3 and 1" in move for move in got.moves)
    assert any("tread 2" in move for move in got.moves)
    assert any("treads 2 and 1" in move for move in got.moves)


def test_unusable_stairs_are_refused() -> None:
    with pytest.raises(InputError, match="cannot be climbed"):
        stairs_answer(0)
    with pytest.raises(InputError, match="cannot be climbed"):
        stairs_answer(31 * FOOT)
    with pytest.raises(InputError, match="tread"):
        stairs_answer(28 * INCH, tread_nm=9 * INCH)
    with pytest.raises(InputError, match="too narrow"):
        stairs_answer(28 * INCH, width_nm=35 * INCH)
    with pytest.raises(InputError, match="two risers"):
        as_built_answer([7 * INCH])
    with pytest.raises(InputErrors, match="riser 2 is not"):
        as_built_answer([7 * INCH, 0])
    with pytest.raises(InputError, match="no width"):
        stringer_count(0)


def test_stairs_defer_to_code_and_licence() -> None:
    for got in (stairs_answer(28 * INCH), as_built_answer([7 * INCH, 7 * INCH])):
        assert "adopted local code" in got.caution
        assert "R311.7" in got.caution
