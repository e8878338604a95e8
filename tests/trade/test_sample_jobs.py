"""The sample jobs: every one reads, is marked as invented, and its log's readings fit the checks they name."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from tracker.trade.answer import Verdict
from tracker.trade.checks.base import Case, LotLine
from tracker.trade.checks.registry import BY_KEY
from tracker.trade.jobfile import Doing, JobFile, LogEntry, parse_job_bytes
from tracker.trade.lengths import Unit
from tracker.trade.material import stock_key
from tracker.trade.phases import facts
from tracker.trade.readings import parse_readings
from tracker.trade.takeoff import stock_of, take_off

FILES = sorted((Path(__file__).parents[2] / "sample_jobs").glob("*.toml"))
CHECK_DAY = date(2026, 5, 12)


def read(path: Path) -> JobFile:
    return parse_job_bytes(path.read_bytes(), path.name)


JOBS = {path.stem: read(path) for path in FILES}


def lots_before(job: JobFile, entry: LogEntry) -> tuple[LotLine, ...]:
    """The lots as they stood when the readings were taken."""
    received = {lot.code: lot.received for lot in job.lots}
    for earlier in job.log[: job.log.index(entry)]:
        if earlier.do is Doing.RECEIVE:
            received[earlier.lot] += earlier.count
    return tuple(
        LotLine(lot.code, lot.item, lot.ordered, received[lot.code], received[lot.code], lot.use_category, lot.dry)
        for lot in job.lots
    )


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_sample_says_that_it_is_invented(path: Path) -> None:
    assert path.read_text(encoding="utf-8").startswith("# An invented job")
    assert path.stem.startswith(JOBS[path.stem].code)


def test_the_samples_cover_the_kinds_of_job() -> None:
    assert len({job.code for job in JOBS.values()}) == len(FILES) >= 6
    seen = set().union(*(facts(job.spec) for job in JOBS.values()))
    assert {
        "attached",
        "footings",
        "pads to lay",
        "stairs",
        "guard",
        "wood",
        "digging",
        "electric",
        "permit",
        "finish",
    } <= seen
    assert any(job.unit is Unit.MM for job in JOBS.values())
    assert any(len(job.spec.platforms) == 2 for job in JOBS.values())
    assert any(platform.uncut for job in JOBS.values() for platform in job.spec.platforms)
    done = {entry.do for job in JOBS.values() for entry in job.log}
    assert {Doing.WAIVE, Doing.RAIN, Doing.NOTE, Doing.HOLD, Doing.RECEIVE, Doing.USE, Doing.CHECK} <= done


READINGS = [
    pytest.param(stem, index, id=f"{stem}-{index}-{entry.check}")
    for stem, job in JOBS.items()
    for index, entry in enumerate(job.log)
    if entry.do is Doing.CHECK
]


def verdict_of(job: JobFile, entry: LogEntry) -> Verdict | None:
    key, _, name = entry.check.partition(".")
    check = BY_KEY[key]
    platform = job.spec.platform(name) if name else job.spec.platforms[0]
    case = Case(job.spec, platform, entry.on, entry.on, lots_before(job, entry))
    readings = parse_readings(check.form(case), entry.values, job.unit, entry.on)
    return check.judge(case, readings).verdict


@pytest.mark.parametrize(("stem", "index"), READINGS)
def test_the_readings_fit_their_check_and_are_enough(stem: str, index: int) -> None:
    job = JOBS[stem]
    assert verdict_of(job, job.log[index]) in (Verdict.PASSED, Verdict.FAILED)


@pytest.mark.parametrize("stem", JOBS)
def test_no_phase_is_signed_off_over_an_open_check(stem: str) -> None:
    job = JOBS[stem]
    phases = {entry.phase for entry in job.log if entry.do is Doing.SIGNOFF}
    good = {entry.check for entry in job.log if entry.do is Doing.WAIVE}
    for entry in job.log:
        if entry.do is Doing.CHECK and verdict_of(job, entry) is Verdict.PASSED:
            good.add(entry.check)
    from tracker.trade.phases import phases_for

    for phase in phases_for(job.spec, dict(job.phase_changes)):
        if phase.key not in phases:
            continue
        for key in phase.checks:
            check = BY_KEY[key]
            if check.from_spec:  # the design is judged from the spec: tests/trade/test_design.py
                continue
            having = [platform.name for platform in job.spec.platforms if check.applies(job.spec, platform)]
            several = check.per_platform and len(job.spec.platforms) > 1
            names = {f"{key}.{name}" for name in having} if several else ({key} if having else set())
            assert names <= good, f"{job.code} {phase.key}: {names - good}"


@pytest.mark.parametrize("stem", JOBS)
def test_the_log_is_in_order_and_every_sign_off_was_started(stem: str) -> None:
    log = JOBS[stem].log
    assert [entry.on for entry in log] == sorted(entry.on for entry in log)
    assert log[-1].on <= CHECK_DAY
    started: set[str] = set()
    for entry in log:
        if entry.do is Doing.START:
            assert entry.phase not in started
            started.add(entry.phase)
        elif entry.do is Doing.SIGNOFF:
            assert entry.phase in started


@pytest.mark.parametrize("stem", JOBS)
def test_lots_are_of_items_the_job_needs_and_prices_too(stem: str) -> None:
    job = JOBS[stem]
    needed: set[str] = set()
    for line in take_off(job.spec):
        needed |= {stock_key(line.item, nm) for nm in stock_of(line.item)} if line.pieces else {line.item}
    assert {lot.item for lot in job.lots} <= needed
    assert set(job.prices) <= needed


def test_the_half_way_job_has_a_failed_square_and_a_locate_ticket_is_running_out() -> None:
    half = JOBS["26-014-fern-court"]
    last = half.log[-1]
    assert (last.check, last.on, verdict_of(half, last)) == ("square", CHECK_DAY, Verdict.FAILED)
    ticket = next(entry for entry in JOBS["26-023-quarry-bend"].log if entry.check == "locate")
    assert f"expires={CHECK_DAY}" in ticket.values
