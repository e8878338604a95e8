"""Finished jobs are left out without reading their history, and no job that is open ever is."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import timedelta
from fractions import Fraction
from pathlib import Path

import pytest
from sqlmodel import col, select

from tests.book.conftest import DAY, hand_of, job_text
from tracker.book.buying import purchases
from tracker.book.gates import reopen, sign_off
from tracker.book.hand import Hand
from tracker.book.hours import log_text, paces
from tracker.book.houserules import take_rules_file
from tracker.book.jobs import job_lines, job_view, take_job
from tracker.book.load import load_jobs, open_rows
from tracker.book.opening import Book, open_book
from tracker.book.readings import record, waive
from tracker.book.sheet import day_sheet
from tracker.book.tables import JobRow
from tracker.trade.jobfile import parse_job_bytes


def finish(book: Book, hand: Hand, code: str) -> None:
    for phase in job_view(book, code, DAY).phases:
        for check in phase.checks:
            if not check.settled:
                waive(book, hand, code, check.key, "not measured in this test")
        for blocker in job_view(book, code, DAY).phase(phase.key).stands_in_way:
            if blocker.check.startswith("wait."):
                waive(book, hand, code, blocker.check, "not measured in this test")
        sign_off(book, hand, code, phase.key)


def read(book: Book) -> list[str]:
    """The codes of the jobs that are not left out; none that is open by its whole history may be missing."""
    with book.reading() as session:
        rows = [row.code for row in open_rows(session)]
        every = session.exec(select(JobRow).order_by(col(JobRow.code))).all()
        states = load_jobs(book, session, every, DAY)
    assert {state.facts.code for state in states if state.current is not None} <= set(rows)
    return rows


@pytest.fixture(scope="module")
def finished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book file with one finished job, 26-101, beside an open one, 26-102."""
    path = tmp_path_factory.mktemp("finished") / "jobs.book"
    opened, hand = open_book(path), hand_of("Owner Plover")
    for code in ("26-101", "26-102"):
        take_job(
            opened,
            hand_of("Owner Plover", DAY - timedelta(days=1)),
            parse_job_bytes(job_text(code).encode(), "job.toml"),
        )
    finish(opened, hand, "26-101")
    opened.close()
    return path


@pytest.fixture
def book(finished: Path, tmp_path: Path) -> Iterator[Book]:
    """A copy of that book."""
    path = tmp_path / "jobs.book"
    shutil.copyfile(finished, path)
    opened = open_book(path)
    yield opened
    opened.close()


@pytest.fixture
def done() -> str:
    """The finished job."""
    return "26-101"


def test_a_finished_job_is_not_read(book: Book, done: str) -> None:
    assert read(book) == ["26-102"]
    assert [line.code for line in job_lines(book, DAY)] == ["26-102"]
    assert {part.job for p in purchases(book, DAY) for line in p.lines for part in line.parts} == {"26-102"}


def test_its_last_day_still_shows_it(book: Book, done: str) -> None:
    assert [sheet.line.code for sheet in day_sheet(book, DAY).jobs] == [done, "26-102"]
    assert [sheet.line.code for sheet in day_sheet(book, DAY + timedelta(days=1)).jobs] == ["26-102"]
    before = day_sheet(book, DAY - timedelta(days=1))
    assert [sheet.line.code for sheet in before.jobs] == [done, "26-102"]
    assert not before.jobs[0].line.finished


def test_a_phase_opened_again_brings_it_back(book: Book, hand: Hand, done: str) -> None:
    reopen(book, hand, done, "frame", "a joist is loose")
    assert read(book) == [done, "26-102"]


def test_a_later_reading_brings_it_back_when_it_fails(book: Book, hand: Hand, done: str) -> None:
    record(book, hand, done, "square", ["width=11'", "depth=13'", "ac=17-0-3/8", "bd=17-0-3/8"])
    assert done not in {line.code for line in job_lines(book, DAY)}
    record(book, hand, done, "square", ["width=11'", "depth=13'", "ac=17-2", "bd=17-0"])
    assert read(book) == [done, "26-102"]
    assert done in {line.code for line in job_lines(book, DAY)}


def test_a_named_finished_job_is_read_all_the_same(book: Book, done: str) -> None:
    assert purchases(book, DAY, [done]) == ()
    assert job_view(book, done, DAY).line.finished


def test_an_entry_of_another_person_on_another_day_counts_as_it_arrived(book: Book, hand: Hand, done: str) -> None:
    late = hand_of("Owner Plover", DAY - timedelta(days=3), device="device-2")
    reopen(book, late, done, "frame", "entered late, for a day before the sign-off")
    assert read(book) == [done, "26-102"]
    sign_off(book, late, done, "frame")
    assert read(book) == ["26-102"]


def test_a_house_rule_that_skips_the_phase_that_was_left_finishes_the_job(book: Book, hand: Hand, done: str) -> None:
    last = job_view(book, done, DAY).phases[-1].key
    reopen(book, hand, done, last, "once more")
    take_rules_file(book, hand, f"[phases.{last}]\nskip = true\n".encode(), "rules.toml")
    assert [line.code for line in job_lines(book, DAY)] == ["26-102"]
    assert read(book) == ["26-102"]


def test_the_pace_of_finished_jobs_is_hours_worked_over_hours_estimated(book: Book, hand: Hand) -> None:
    with book.reading() as session:
        assert paces(book, session, DAY) == ()
    # Layout is estimated at 59 min, 0.55 h and 0.003 h for each of 143 sq ft: 2 x 59 min are twice as much. Hours of a job that is still open tell nothing.
    log_text(book, hand, "26-101", "2 x 59 min layout")
    log_text(book, hand, "26-102", "2 x 8h layout")
    with book.reading() as session:
        assert paces(book, session, DAY) == (Fraction(2),)
