"""What a check judges against is said before anything is read, and is what it says with its verdict."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from tracker.trade.checks.base import Case
from tracker.trade.checks.limits import limits_of
from tracker.trade.checks.registry import JobCheck, checks_for
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.phases import phases_for
from tracker.trade.readings import readings_of
from tracker.trade.spec import JobSpec

SAMPLES = sorted((Path(__file__).parents[2] / "sample_jobs").glob("*.toml"))
DAY = date(2026, 5, 12)
WITHOUT = {"permit", "footing-inspection", "framing-inspection", "final-inspection", "design"}
"""Somebody else's verdict, a paper that is there or is not, or one judged from the job alone."""


def sample_checks() -> list[tuple[JobSpec, JobCheck]]:
    specs = [parse_job_bytes(file.read_bytes(), file.name).spec for file in SAMPLES]
    return [(spec, check) for spec in specs for check in checks_for(spec, phases_for(spec))]


@pytest.mark.parametrize(("spec", "check"), sample_checks())
def test_every_check_that_measures_says_its_limits(spec: JobSpec, check: JobCheck) -> None:
    limits = limits_of(check.check, Case(spec, check.platform, DAY))
    assert bool(limits) == (check.check.key not in WITHOUT)
    assert all(limit.what and limit.text and limit.source for limit in limits)


def test_they_are_the_limits_of_the_verdict() -> None:
    spec, found = next(
        (spec, check) for spec, check in sample_checks() if check.check.key == "square" and spec.unit == "in"
    )
    case = Case(spec, found.platform, DAY)
    form = found.check.form(case)
    readings = readings_of(form, [(f.key, f.example) for f in form.fields if f.required], spec.unit, DAY)
    assert limits_of(found.check, case) == found.check.judge(case, readings).limits
