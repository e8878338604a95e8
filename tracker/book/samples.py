"""The invented sample jobs and prices, moved by whole weeks to the week of a day, taken into a book one by one."""

from __future__ import annotations

import re
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.book.hand import Hand
from tracker.errors import InputError, RefusedError

if TYPE_CHECKING:
    from tracker.book.opening import Book
    from tracker.book.views import TakeResult

SAMPLE_TUESDAY = date(2026, 5, 12)
"""The day around which the sample jobs are written."""
PRICES = "prices.csv"
_DAY = re.compile(r"(?<![0-9-])[0-9]{4}-[0-9]{2}-[0-9]{2}(?![0-9-])")


def sample_folder() -> Path:
    """The folder of the sample jobs: inside the installed package, else beside it. Raises InputError when
    there is none.
    """
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "_sample_jobs", package.parent / "sample_jobs"):
        if any(folder.glob("*.toml")):
            return folder
    raise InputError("the sample jobs are missing from this installation", "install the program again")


def sample_files() -> tuple[Path, ...]:
    """The sample job files by name."""
    return tuple(sorted(sample_folder().glob("*.toml")))


def shifted(value: object, by: timedelta) -> object:
    """A parsed TOML value with every date in it, bare or within a text, moved by ``by``."""
    if isinstance(value, dict):
        return {key: shifted(inner, by) for key, inner in value.items()}
    if isinstance(value, list):
        return [shifted(inner, by) for inner in value]
    if isinstance(value, date):  # a datetime too
        return value + by
    if isinstance(value, str):
        return _DAY.sub(lambda match: _moved(match[0], by), value)
    return value


def _moved(text: str, by: timedelta) -> str:
    try:
        return (date.fromisoformat(text) + by).isoformat()
    except ValueError:
        return text


def weeks_to(day: date) -> timedelta:
    """How far the samples move so that their Tuesday falls into the week of ``day``."""
    return (day - timedelta(days=day.weekday())) - (SAMPLE_TUESDAY - timedelta(days=SAMPLE_TUESDAY.weekday()))


def take_sample_prices(book: Book, hand: Hand) -> None:
    """Take the sample price list into the book."""
    from tracker.book.prices import take_prices

    listed = shifted((sample_folder() / PRICES).read_text("utf-8"), weeks_to(hand.day))
    assert isinstance(listed, str)
    take_prices(book, hand, listed.encode(), PRICES)


def take_sample(book: Book, hand: Hand, file: Path) -> TakeResult:
    """Take one sample job into the book. Raises RefusedError when a job of that code is there: a sample changes none."""
    import tomllib

    from sqlmodel import select

    from tracker.book.jobs import take_job
    from tracker.book.tables import JobRow
    from tracker.trade.jobfile import parse_job_table

    table = shifted(tomllib.loads(file.read_text("utf-8")), weeks_to(hand.day))
    assert isinstance(table, dict)
    job = parse_job_table(table, file.name)
    with book.reading() as session:
        if session.exec(select(JobRow).where(JobRow.code == job.code)).first() is not None:
            raise RefusedError(f"the book has a job {job.code} already", "the sample of that code was left out")
    return take_job(book, hand, job)
