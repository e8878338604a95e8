"""Builders for the frames the geometry tests judge: invented jobs, plain rectangles."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

import pytest

from tracker.trade.answer import Answer, Verdict
from tracker.trade.checks.base import Case, Check
from tracker.trade.lengths import INCH, SIXTEENTH, Unit, exact_text
from tracker.trade.readings import parse_readings
from tracker.trade.rules import Rules
from tracker.trade.spec import (
    Attachment,
    BoardKind,
    Decking,
    Finish,
    GapIntent,
    JobSpec,
    Joists,
    Platform,
    Site,
    Support,
)

DAY = date(2026, 5, 12)
SIXTEENTHS = pytest.mark.parametrize("off", [-1, 0, 1], ids=["a sixteenth under", "at the limit", "a sixteenth over"])
"""At a limit, and one sixteenth either side."""


def inch(value: float) -> int:
    """Inches to nanometres."""
    return round(value * INCH)


JOISTS = Joists("2x8", inch(1.5), inch(7.25), "southern pine", "No.2", inch(16), "UC4A")
DECKING = Decking("5/4x6", inch(5.5), inch(1), BoardKind.WOOD, "southern pine", 0, GapIntent.TIGHT, inch(0.125), "UC4A")
GROUND = Platform(
    name="main",
    width_nm=inch(120),
    depth_nm=inch(147),
    height_nm=inch(10),
    uncut=True,
    rim_stock_nm=inch(120),
    joist_stock_nm=inch(144),
    attachment=Attachment.FREE,
    support=Support.BLOCKS,
    joists=JOISTS,
    decking=DECKING,
)


def case_of(platform: Platform = GROUND, unit: Unit = Unit.INCH, rules: Mapping[str, int] | None = None) -> Case:
    """A case around one platform: unless told otherwise nine 12 ft joists between 10 ft rims, on blocks."""
    site = Site("Elmfield (invented)", inch(36), "clay", 120, digging=False, electric=False)
    job = JobSpec(unit, (platform,), site, False, Finish.OIL, Rules(rules or {}), 2)
    return Case(job, platform, DAY)


def with_decking(**changes: object) -> Platform:
    """The ground platform with other deck boards."""
    return replace(GROUND, decking=replace(DECKING, **changes))  # type: ignore[arg-type]


def judged(check: Check, tokens: str | Sequence[str], case: Case | None = None) -> Answer:
    """Type ``tokens`` into the check as a shell would and judge them."""
    case = case or case_of()
    words = tokens.split() if isinstance(tokens, str) else tokens
    return check.judge(case, parse_readings(check.form(case), words, case.job.unit, DAY))


def near(inches: float, off: int) -> str:
    """A length so many sixteenths off, as it is typed."""
    return exact_text(inch(inches) + off * SIXTEENTH)


def passed(answer: Answer) -> bool:
    """Whether a whole reading passed; pass or fail, it names its source, its limits and what can hurt, and a failure what to do."""
    assert answer.verdict in (Verdict.PASSED, Verdict.FAILED), answer.headline
    assert (answer.verdict is Verdict.PASSED) or answer.moves
    assert answer.source and answer.limits and answer.caution
    return answer.verdict is Verdict.PASSED


def stands(answer: Answer) -> bool:
    """The same of what people stand on, which shows its working and defers to the local code and to licensed practice."""
    assert "licensed professional" in answer.caution and "local code" in answer.caution
    assert answer.working
    return passed(answer)


Point = tuple[float, float]


def racked(width: float, depth: float, shift: float) -> tuple[Point, Point, Point, Point]:
    """Corners of a frame whose sides keep their length while the back edge stands ``shift`` to the right."""
    rise = math.sqrt(depth**2 - shift**2)
    return (0.0, 0.0), (width, 0.0), (width + shift, rise), (shift, rise)


def tapes(corners: Sequence[Point]) -> tuple[list[float], list[float]]:
    """Four sides AB, BC, CD, DA and two diagonals AC, BD of a frame."""
    a, b, c, d = corners
    return [math.dist(a, b), math.dist(b, c), math.dist(c, d), math.dist(d, a)], [
        math.dist(a, c),
        math.dist(b, d),
    ]
