"""Readings typed on the sample jobs and judged by the real checks, to draw. Every job is invented."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from tests.reports.drawing_cases import sample
from tracker.book.views import Tried
from tracker.errors import InputError
from tracker.reports.drawing_canvas import runs_width
from tracker.reports.picture import draw_reading
from tracker.trade.checks.base import Case
from tracker.trade.checks.registry import BY_KEY
from tracker.trade.readings import Readings, parse_readings

TODAY = date(2026, 5, 12)
GROUND, RAISED, METRIC, COMPOSITE = "26-014", "26-015", "26-019", "26-023"
"""Sample jobs: on blocks 14' by 12' 3"; attached with stairs and a guard; in millimetres; with composite boards."""


def case_of(job: str) -> Case:
    """What the checks of a sample job's first platform are judged against."""
    spec, platform = sample(job)
    return Case(spec, platform, TODAY)


def judged(case: Case, key: str, readings: Readings) -> Tried:
    """A draft as the book would answer it."""
    check = BY_KEY[key]
    form = check.form(case)
    try:
        return Tried(key, case, form, readings, check.judge(case, readings))
    except InputError as error:
        return Tried(key, case, form, readings, refused=error)


def typed(job: str, key: str, *tokens: str) -> Tried:
    """A draft of a check of a sample job, as typed on a command line."""
    case = case_of(job)
    return judged(case, key, parse_readings(BY_KEY[key].form(case), tokens, case.job.unit, TODAY))


def rows_of(job: str, key: str) -> tuple[str, ...]:
    """The rows a check's form suggests."""
    return BY_KEY[key].form(case_of(job)).rows


def lines(tried: Tried, width: int = 58, height: int = 20, *, ascii_only: bool = False) -> list[str]:
    """The picture as plain lines."""
    rows = draw_reading(tried, width, height, ascii_only=ascii_only)
    assert len(rows) <= height and all(runs_width(row) <= width for row in rows)
    return ["".join(text for text, _ in row) for row in rows]


def said(shown: Sequence[str]) -> str:
    """Lines as one text, their breaks and wide gaps closed."""
    return " ".join(" ".join(shown).split())


def place(shown: Sequence[str], text: str) -> tuple[int, int]:
    """Row and column where a text stands first."""
    return next((row, line.index(text)) for row, line in enumerate(shown) if text in line)
