"""Readings nobody can have taken are refused with the reason: nothing, less than nothing, no number, millimetres in an
inch job. Each good set passes, so that only the one wrong value is to blame.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

import pytest

from tests.trade.geometry_cases import GROUND, case_of, inch, judged
from tests.trade.phase_jobs import RAISED
from tests.trade.test_checks_structure import case
from tracker.errors import InputError, InputErrors
from tracker.trade.answer import Verdict
from tracker.trade.checks.base import Case, Check
from tracker.trade.checks.registry import BY_KEY
from tracker.trade.layout import joist_marks
from tracker.trade.lengths import INCH, MM, Unit, exact_text
from tracker.trade.plausible import in_reason, meter_reading

_MARKS = joist_marks(GROUND.width_nm, GROUND.joists.spacing_nm, GROUND.joists.thickness_nm)
GOOD: Mapping[str, Mapping[str, str]] = {
    "square": {"width": "120", "depth": "147", "ac": "189-3/4", "bd": "189-3/4"},
    "level": {"A": "0", "B": "0", "C": "1/8", "D": "0"},
    "gap": {"b1": "28", "b2": "27", "b3": "29"},
    "joist-spacing": {str(n): exact_text(nm) for n, nm in enumerate(_MARKS, 1)},
    "support": {str(n): "0; 4'; 8'; 12'" for n in range(1, 10)},
    "fasteners": dict.fromkeys(("1L", "1R", "2L", "2R"), "4"),
    "screws": {"predrilled": "yes", "laid": "12"}
    | {f"c{n}.{key}": text for n in (1, 2, 3) for key, text in (("count", "2"), ("edge", "1"))},
    "board-layout": {"laid": "13", "left": "77", "right": "77"},
    "finish-ready": {
        "rain": "3", "air": "70", "humidity": "55", "drop": "yes", "forecast": "48", "b1": "13", "b2": "12", "b3": "13",
    },
    "ledger": {
        "fastener": "lag", "rim": "2x lumber", "spacing": "12", "top": "2", "bottom": "3/4", "ends": "3; 3", "band": "yes", "veneer": "no",
        "flashed": "yes", "ties": "2", "tie": "1500", "apart": "5", "tie-end": "12",
    },
    "guard": {"fixed": "yes", "moisture": "19"}
    | {f"{side}.{key}": text for side, long in (("left", "12'"), ("front", "13'"), ("right", "12'"), ("stairs", "8' 4-3/4"))
       for key, text in (("height", "36"), ("opening", "3-7/8"), ("posts", "66"), ("length", long))},
    "beam": {"B1.plies": "2", "B1.span": "93", "B1.bearing": "3", "B1.splices": "yes", "B1.rows": "2", "B1.nails": "16"},
    "span": {"overhang": "18", "S1": "10' 4-1/2"},
    "footing": {"soil": "clay", "bags": "36", "poured": "2026-05-08"}
    | {f"P{n}.{key}": text for n in (1, 2, 3) for key, text in (("across", "20"), ("depth", "38"))},
    "post": {
        f"P{n}.{key}": text
        for n in (1, 2, 3)
        for key, text in (("height", "44-1/2"), ("plumb", "1/8"), ("top", "yes"), ("base", "yes"))
    },
}  # fmt: skip
_ON_FOOTINGS = {"ledger", "guard", "beam", "span", "footing", "post"}
_MM, _NONE, _SIGN = "millimetres", "more than nothing", "negative|sign|not a count"

WRONG = [
    ("square", "ac", "4820", _MM), ("square", "ac", "0", _NONE), ("square", "ac", "-189", _SIGN),
    ("square", "ac", "nan", "not a length"), ("square", "ac", "140", "not longer than the depth"),
    ("square", "ac", "267", "longer than width and depth together"), ("square", "width", "3048", _MM),
    ("square", "width", "132-1/8", "too far from"),
    ("level", "C", "300", "apart"), ("level", "C", "nan", "not a length"),
    ("gap", "b2", "0", "no wood outdoors is that dry"), ("gap", "b2", "-3", _SIGN), ("gap", "b2", "201", "more than 200"),
    ("gap", "b2", "nan", "not a percentage"), ("gap", "width", "140", _MM), ("gap", "width", "0", _NONE),
    ("joist-spacing", "2", "406", _MM), ("joist-spacing", "2", "0", "not beyond"), ("joist-spacing", "2", "-16", _SIGN),
    ("joist-spacing", "9", "147", "past the rim's end"),
    ("support", "1", "0; 1219; 2438; 3658", _MM), ("support", "1", "0; -4", _SIGN),
    ("support", "1", "0; 200", "past its end"),
    ("fasteners", "1L", "-4", _SIGN), ("fasteners", "1L", "3.5", "not a count"), ("fasteners", "1L", "101", "cannot be"),
    ("screws", "c1.edge", "25", _MM), ("screws", "c1.count", "21", "cannot be"), ("screws", "laid", "4000", "takes about"),
    ("board-layout", "left", "1956", _MM), ("board-layout", "left", "0", "cannot be right, the run is 12' 3"),
    ("board-layout", "left", "83", "more than a whole board|cannot be right"), ("board-layout", "width", "140", _MM),
    ("board-layout", "gap", "3", _MM), ("board-layout", "laid", "999", "takes about"),
    ("finish-ready", "humidity", "140", "cannot be"), ("finish-ready", "humidity", "0", "cannot be"),
    ("finish-ready", "air", "400", "outside what the formula serves"), ("finish-ready", "b1", "0", "that dry"),
    ("ledger", "spacing", "305", _MM), ("ledger", "spacing", "0", _NONE), ("ledger", "top", "51", _MM),
    ("ledger", "bottom", "19", _MM), ("ledger", "ends", "76; 76", _MM), ("ledger", "apart", "127", _MM),
    ("ledger", "tie-end", "305", _MM),
    ("guard", "left.height", "914", _MM), ("guard", "front.height", "0", _NONE), ("guard", "stairs.posts", "1676", _MM),
    ("guard", "front.posts", "0", _NONE), ("guard", "right.opening", "98", _MM), ("guard", "baluster", "38", _MM),
    ("guard", "front.length", "3962", "cannot be right: the longest side, 13'"), ("guard", "back.height", "36", "no such value"),
    ("guard", "moisture", "0", "that dry"),
    ("beam", "B1.span", "2360", _MM), ("beam", "B1.span", "0", _NONE), ("beam", "B1.plies", "0", "cannot be"),
    ("beam", "B1.bearing", "76", _MM), ("beam", "B1.nails", "406", _MM), ("beam", "B1.nails", "0", "cannot be"),
    ("beam", "B1.overhang", "600", _MM), ("beam", "B1.allowed", "2400", _MM), ("beam", "B1.size", "2x9", "not a lumber size"),
    ("span", "S1", "3160", _MM), ("span", "S1", "0", _NONE), ("span", "overhang", "457", _MM), ("span", "spacing", "406", _MM),
    ("footing", "P1.across", "508", _MM), ("footing", "P1.across", "0", _NONE), ("footing", "P1.depth", "965", _MM),
    # Held against the plan, a sixteenth past what still may be: 162 + 18 in of a deck of 144 in and a quarter of it; 66 in and
    # 48 in of falling ground; 2 + 7 + 3/4 in of a ledger of 9-1/4 in with 1/2 in; a bay of a deck 192 in long.
    ("fasteners", "99L", "4", "none of that name"),
    ("gap", "chosen", "1-1/16", "cannot be"),
    ("span", "S1", "13' 6-1/16", "cannot be right: a deck 12' deep makes it no more than 15'"),
    ("span", "S1", "7' 5-15/16", "cannot be right: a deck 12' deep makes it at least 9'"),
    ("guard", "left.posts", "16' 1/16", "cannot be right: a deck 16' long"),
    ("footing", "P1.height", "39", "cannot be right: a hole 38 in deep|cannot be right: a hole 3' 2"),
    ("beam", "B1.span", "30'", "cannot be right|on 3 posts"),
    ("beam", "B1.span", "50", "on 3 posts makes it at least"),
    ("post", "P1.height", "9' 6-1/16", "above the ground"),
    ("ledger", "apart", "7-1/16", "cannot be right: a ledger 9-1/4 in deep"),
    ("footing", "frost", "914", _MM), ("footing", "P1.height", "300", _MM), ("footing", "bags", "-1", _SIGN),
    ("footing", "poured", "2026-13-01", "not a day"),
    ("post", "P1.height", "1130", _MM), ("post", "P1.height", "0", _NONE), ("post", "P1.plumb", "30", _MM),
    ("post", "allowed", "2438", _MM), ("post", "size", "7x7", "not a lumber size"),
]  # fmt: skip


def checked(key: str) -> tuple[Check, Case]:
    return BY_KEY[key], case(RAISED) if key in _ON_FOOTINGS else case_of(GROUND)


def words(values: Mapping[str, str]) -> list[str]:
    return [f"{name}={text}" for name, text in values.items()]


@pytest.mark.parametrize("key", GOOD)
def test_the_good_readings_pass(key: str) -> None:
    check, where = checked(key)
    answer = judged(check, words(GOOD[key]), where)
    assert answer.verdict is Verdict.PASSED, answer.headline


@pytest.mark.parametrize(("key", "name", "text", "why"), WRONG)
def test_a_wrong_reading_is_refused_with_the_reason(key: str, name: str, text: str, why: str) -> None:
    check, where = checked(key)
    with pytest.raises((InputError, InputErrors)) as caught:
        judged(check, words({**GOOD[key], name: text}), where)
    error = caught.value
    said = " ".join(error.problems) if isinstance(error, InputErrors) else f"{error.message}; {error.hint}"
    assert re.search(why, said), said


@pytest.mark.parametrize(
    ("key", "name", "text"),
    [
        ("span", "S1", "13' 6"), ("span", "S1", "7' 6"), ("guard", "left.posts", "16'"), ("post", "P1.height", "9' 6"),
        ("ledger", "apart", "7"), ("footing", "P1.height", "38"), ("gap", "chosen", "1"),
    ],
)  # fmt: skip
def test_the_last_reading_the_plan_allows_is_judged(key: str, name: str, text: str) -> None:
    check, where = checked(key)
    assert judged(check, words({**GOOD[key], name: text}), where).verdict is not None


def test_a_length_out_of_reason_says_how_the_other_unit_is_written() -> None:
    with pytest.raises(InputError) as caught:
        in_reason(inch(51), inch(9.25), "from the top edge,", Unit.INCH)
    assert "51mm" in caught.value.hint and "9-1/4" in caught.value.message
    with pytest.raises(InputError) as caught:
        in_reason(500 * MM, 200 * MM, "from the top edge,", Unit.MM)
    assert '500"' in caught.value.hint
    in_reason(inch(9.25), inch(9.25), "from the top edge,", Unit.INCH)
    with pytest.raises(InputError, match="the least"):
        in_reason(INCH - 1, inch(9), "nails apart by", Unit.INCH, least_nm=INCH)


def test_the_driest_reading_taken_is_under_the_driest_month_published() -> None:
    # Wood Handbook (FPL-GTR-282) Table 13-1: 4.4 % in June at Phoenix, Arizona.
    meter_reading(44, "the moisture of b1")
    with pytest.raises(InputError, match=r"b1 is 2\.9 %"):
        meter_reading(29, "the moisture of b1")
