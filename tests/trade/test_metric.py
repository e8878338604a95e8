"""Words of an inch text said to a job in millimetres. Factors: 1 in = 25.4 mm, 1 lb = 0.45359237 kg (international yard and
pound agreement of 1959); 1 US gallon = 231 in3 = 3.785 litres; the rounded lengths in brackets are those the IRC prints
beside its inches (from memory): 4 in (102 mm), 36 in (914 mm), 7-3/4 in (196 mm, here 197), 6 ft (1829 mm).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.trade.answer import Answer, Limit
from tracker.trade.lengths import Unit
from tracker.trade.metric import answer_in_unit, in_unit


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("so that a 4 in ball stays out", "so that a 102 mm ball stays out"),
        ("36 in high", "914 mm high"),
        ("7-3/4 in at most", "197 mm at most"),
        ("a gap of 1/8 in", "a gap of 3 mm"),
        ("1/16 in at most", "2 mm at most"),
        ("-1/4 in", "-6 mm"),
        ("2 to 5 in from the ends", "51 to 127 mm from the ends"),
        ("joists 16 in on centre, 12 in at an angle", "joists 406 mm on centre, 305 mm at an angle"),
        ("none over 6 ft: 7 posts", "none over 1.83 m: 7 posts"),
        ("12' 3-1/2\" by 8'", "3747 mm by 2438 mm"),
        ("usual limit 200 ft2", "usual limit 18.6 m2"),
        ("at 200 ft2 a gallon", "at 4.9 m2 a litre"),
        ("1,800 lb, unnotched", "816 kg, unnotched"),
        ("50 psf", "244 kg/m2"),
        ("air 50 °F to 90 °F", "air 10 °C to 32 °C"),
        ("below 40 °F air", "below 4 °C air"),
        ("3 in all, 2 in the yard, doubled in 3 places", "3 in all, 2 in the yard, doubled in 3 places"),
        ("2x8x12, 5/4x6 and 45x145", "2x8x12, 5/4x6 and 45x145"),
        ("feet and cords clear", "feet and cords clear"),
        ("16 in in each bay", "406 mm in each bay"),
    ],
)
def test_quantities_are_said_in_the_jobs_units_and_names_are_left_alone(written: str, said: str) -> None:
    assert in_unit(written, Unit.MM) == said
    assert in_unit(said, Unit.MM) == said
    assert in_unit(written, Unit.INCH) == written


@given(st.text(max_size=60))
def test_any_text_is_said_once_and_for_all(text: str) -> None:
    once = in_unit(text, Unit.MM)
    assert in_unit(once, Unit.MM) == once
    assert in_unit(text, Unit.INCH) == text


def test_an_answer_keeps_its_source_and_its_plain_numbers() -> None:
    limit = Limit("riser", "7-3/4 in", "IRC R311.7, 7-3/4 in", "3/8 in between")
    answer = Answer(
        "3/8 in off", {"rise_in": 40}, {"push_in": 0.375}, ("40 in / 6",), "table of 12 in", limits=(limit,)
    )
    said = answer_in_unit(answer, Unit.MM)
    assert (said.headline, said.working, said.source) == ("10 mm off", ("1016 mm / 6",), "table of 12 in")
    assert (said.inputs, said.answer) == (answer.inputs, answer.answer)
    assert said.limits[0] == Limit("riser", "197 mm", "IRC R311.7, 7-3/4 in", "10 mm between")
    assert answer_in_unit(answer, Unit.INCH) is answer
