"""Square by six tapes. Figures worked by hand from plane geometry; tolerances are common practice."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tracker.errors import InputError
from tracker.trade.answer import Verdict
from tracker.trade.lengths import INCH, Unit, from_inches
from tracker.trade.rules import Rules
from tracker.trade.sixtapes import six_tapes_answer


def inch(value: float) -> int:
    return from_inches(value)


def sides(ab: float, bc: float, cd: float, da: float) -> list[int]:
    return [inch(x) for x in (ab, bc, cd, da)]


def test_six_good_tapes_are_square() -> None:
    # 12 x 16 ft: the diagonal is 20 ft (3-4-5).
    answer = six_tapes_answer(sides(144, 192, 144, 192), (inch(240), inch(240)), Unit.INCH, rules=Rules())
    assert answer.verdict is Verdict.PASSED
    assert (answer.answer["suspect"], answer.answer["push_in"]) == ("", 0)


@given(
    shift=st.floats(-2, 2),
    wrong=st.sampled_from(range(4)),
    off=st.floats(1.5, 4) | st.floats(-4, -1.5),
)
@settings(max_examples=examples(60, 1200), deadline=None)
def test_a_misread_edge_is_named(shift: float, wrong: int, off: float) -> None:
    a, b = 144.0, 192.0
    height = math.sqrt(b * b - shift * shift)
    d1, d2 = math.hypot(a + shift, height), math.hypot(a - shift, height)
    read = [a, b, a, b]
    read[wrong] += off
    answer = six_tapes_answer(sides(*read), (inch(d1), inch(d2)), Unit.INCH, rules=Rules())
    assert answer.verdict is Verdict.FAILED
    assert answer.answer["suspect"] == ("AB", "BC", "CD", "DA")[wrong]
    assert answer.moves == (f"read {answer.answer['suspect']} again before you push anything",)


def test_edges_cut_unlike_are_not_called_square() -> None:
    # An isosceles trapezium has equal diagonals and is not square: front 144 in, back 143 in, 192 in high.
    leg = math.hypot(192, 0.5)
    diagonal = math.hypot(143.5, 192)
    answer = six_tapes_answer(sides(144, leg, 143, leg), (inch(diagonal), inch(diagonal)), Unit.INCH, rules=Rules())
    assert answer.verdict is Verdict.FAILED
    assert answer.headline in ("opposite edges AB and CD differ by 1 in",) or answer.answer["suspect"] in ("AB", "CD")


def test_a_figure_judges_nothing() -> None:
    answer = six_tapes_answer(sides(144, 192, 144, 192), (inch(241), inch(239)), Unit.INCH)
    assert answer.verdict is None and answer.answer["push_in"] == pytest.approx((241**2 - 239**2) / (4 * 144))


def test_impossible_tapes_are_refused() -> None:
    with pytest.raises(InputError):
        six_tapes_answer(sides(144, 192, 20, 192), (inch(240), inch(240)), Unit.INCH)
    with pytest.raises(InputError):
        six_tapes_answer([0, INCH, INCH, INCH], (INCH, INCH), Unit.INCH)
