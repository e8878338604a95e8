"""The one shape of an answer: its JSON is whole, plain and reads back."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.trade.answer import Answer, Limit, Plain, Verdict, answer_from_json
from tracker.trade.checks.base import incomplete, verdict

LINE = st.text(max_size=12)
PLAIN: st.SearchStrategy[Plain] = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | LINE,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(LINE, inner, max_size=3),
    max_leaves=6,
)
ANSWERS = st.builds(
    Answer,
    headline=LINE,
    inputs=st.dictionaries(LINE, PLAIN, max_size=3),
    answer=st.dictionaries(LINE, PLAIN, max_size=3),
    working=st.lists(LINE, max_size=3).map(tuple),
    source=LINE,
    verdict=st.none() | st.sampled_from(Verdict),
    moves=st.lists(LINE, max_size=3).map(tuple),
    limits=st.lists(st.builds(Limit, LINE, LINE, LINE, LINE), max_size=3).map(tuple),
    caution=LINE,
)


@given(ANSWERS)
def test_an_answer_comes_back_whole_from_its_json(answer: Answer) -> None:
    assert answer_from_json(json.loads(json.dumps(answer.as_json()))) == answer


def test_the_documented_keys() -> None:
    keys = {"headline", "inputs", "answer", "moves", "limits", "working", "source", "caution"}
    figure = Answer("48 fasteners", {"joints": 12}, {"total": 48}, ("12 x 4 = 48",), "common practice")
    assert set(figure.as_json()) == keys
    limit = Limit("between the diagonals", "1/4 in", "house rule", "instead of 3/8 in (common practice)")
    judged = verdict(
        False, "out of square", inputs={}, answer={"push_in": 0.375}, working=["a", "b"], source="common practice",
        moves=["push the back edge 3/8 in to the left"], limits=[limit],
    )  # fmt: skip
    stored = judged.as_json()
    assert set(stored) == keys | {"verdict"}
    assert stored["verdict"] == "failed"
    assert stored["limits"] == [
        {
            "what": "between the diagonals",
            "text": "1/4 in",
            "source": "house rule",
            "published": "instead of 3/8 in (common practice)",
        }
    ]


def test_what_is_still_wanted_is_the_move_to_make() -> None:
    answer = incomplete("two diagonals", source="common practice")
    assert (answer.verdict, answer.headline) == (Verdict.INCOMPLETE, "not enough readings: two diagonals")
    assert answer.moves == ("read two diagonals",)


@pytest.mark.parametrize("broken", [{}, {"headline": "x"}])
def test_what_is_no_answer_is_not_taken_for_one(broken: dict[str, str]) -> None:
    with pytest.raises(KeyError):
        answer_from_json(broken)


def test_an_unknown_verdict_is_not_taken_for_one() -> None:
    stored = verdict(True, "x", inputs={}, answer={}, working=(), source="y").as_json() | {"verdict": "fine"}
    with pytest.raises(ValueError, match="fine"):
        answer_from_json(stored)
