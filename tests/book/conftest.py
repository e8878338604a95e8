"""A real book on disk, a hand to write with, and small invented job files."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from tests.invented import platform_text
from tracker.book.changes import ChangeOrder, change_orders
from tracker.book.entries import entries_of
from tracker.book.hand import Hand
from tracker.book.jobs import take_job
from tracker.book.load import find_job
from tracker.book.opening import Book, open_book
from tracker.trade.jobfile import parse_job_bytes

DAY = date(2026, 5, 12)

JOB = (
    """
code = "{code}"
title = "{title}"
client = "Client Plover Lane (invented)"
site = "4 Plover Lane (invented)"
crew = "North"
start = 2026-05-04
permit = {permit}
finish = "none"

[site_facts]
digging = {digging}
"""
    + platform_text()
    + "{more}\n"
)


def job_text(
    code: str = "26-101",
    title: str = "Plover Lane platform",
    *,
    permit: bool = False,
    digging: bool = False,
    more: str = "",
) -> str:
    """A small ground-level job file."""
    return JOB.format(code=code, title=title, permit=str(permit).lower(), digging=str(digging).lower(), more=more)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """A new book."""
    opened = open_book(tmp_path / "jobs.book")
    yield opened
    opened.close()


@pytest.fixture
def hand() -> Hand:
    """The owner on Tuesday 12 May 2026."""
    return hand_of("Owner Plover")


def hand_of(who: str, day: date = DAY, device: str = "device-1", hour: int = 9, minute: int = 0) -> Hand:
    """Somebody's hand on a day."""
    return Hand(who, datetime(day.year, day.month, day.day, hour, minute, tzinfo=UTC), day, device)


def change_orders_of(book: Book, code: str) -> tuple[ChangeOrder, ...]:
    """The change orders of a job, oldest first."""
    with book.reading() as session:
        row = find_job(session, code)
        return change_orders(entries_of(session, [row.id])[row.id])


@pytest.fixture
def take(book: Book, hand: Hand) -> Callable[..., str]:
    """Take a small job into the book; returns its code."""

    def taking(**how: object) -> str:
        text = job_text(**how)  # type: ignore[arg-type]
        return take_job(book, hand, parse_job_bytes(text.encode(), "job.toml")).code

    return taking
