"""A book that stays open answers as one just opened does, whatever was recorded, taken back or only tried meanwhile."""

from __future__ import annotations

from contextlib import closing, suppress
from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.book.conftest import DAY, hand_of, job_text
from tests.book.test_standing import EDITS, take
from tests.often import examples
from tracker.book.gates import sign_off, start
from tracker.book.jobs import job_lines, job_view, take_job
from tracker.book.opening import Book, open_book
from tracker.book.readings import record, waive
from tracker.book.sheet import day_sheet
from tracker.errors import TrackerError
from tracker.trade.jobfile import parse_job_bytes

OWNER = hand_of("Owner Plover")


def tried(book: Book, day: date) -> None:
    """A job file tried out and not taken: what it would have recorded is rolled back."""
    log = '\n[[log]]\non = 2026-05-12\nwho = "Lead Wren"\ndo = "note"\ntext = "never kept"\n'
    take_job(book, OWNER, parse_job_bytes(job_text(more=log).encode(), "job.toml"), dry_run=True)


DEEDS = {
    **EDITS,
    "a start": lambda book, day: start(book, OWNER, "26-101"),
    "a sign-off": lambda book, day: sign_off(book, OWNER, "26-101"),
    "a reading": lambda book, day: record(book, OWNER, "26-101", "square", ["11'", "13'", "17-0-3/8", "17-1-3/8"]),
    "a waiver": lambda book, day: waive(book, OWNER, "26-101", "square", "to be re-read"),
    "a try": tried,
}


def answers(book: Book, day: date) -> object:
    return job_lines(book, day), job_view(book, "26-101", day), day_sheet(book, day)


@settings(max_examples=examples(8, 160), deadline=None)
@given(st.lists(st.tuples(st.sampled_from(sorted(DEEDS)), st.booleans(), st.integers(0, 1)), min_size=1, max_size=6))
def test_what_is_kept_in_memory_never_differs(deeds: list[tuple[str, bool, int]]) -> None:
    with TemporaryDirectory() as folder, closing(open_book(Path(folder) / "jobs.book")) as book:
        take(book, DAY)
        for name, elsewhere, later in deeds:
            day = DAY + timedelta(days=later)
            answers(book, DAY)
            with suppress(TrackerError), closing(open_book(book.path)) as other:
                DEEDS[name](other if elsewhere else book, DAY)
            with closing(open_book(book.path)) as fresh:
                assert answers(book, day) == answers(fresh, day)


def test_a_file_that_was_only_tried_is_not_taken_for_the_next_one(tmp_path: Path) -> None:
    with closing(open_book(tmp_path / "jobs.book")) as book:
        deep = {
            size: parse_job_bytes(job_text().replace('"13\'"', f'"{size}"').encode(), "job.toml")
            for size in ("13'", "15'", "17'")
        }
        take_job(book, OWNER, deep["13'"])
        take_job(book, OWNER, deep["15'"], dry_run=True)  # it would have been the job's next revision
        take_job(book, OWNER, deep["17'"])
        with closing(open_book(book.path)) as fresh:
            assert job_view(book, "26-101", DAY).spec == job_view(fresh, "26-101", DAY).spec == deep["17'"].spec
