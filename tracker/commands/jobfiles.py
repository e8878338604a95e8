"""Job files given in place of jobs of the book: read with the book's house rules and prices where there is a book."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.commands.session import Session
from tracker.files import is_file, read_file

if TYPE_CHECKING:
    from tracker.planning.pricing import PriceBook
    from tracker.trade.jobfile import JobFile


def means_file(word: str) -> bool:
    """Whether a word that may be a job or a job file means a file."""
    return word.endswith(".toml") or "/" in word or is_file(Path(word))


def read_jobs(session: Session, names: Sequence[str]) -> tuple[list[JobFile], PriceBook]:
    """The job files, and the prices to plan them with. Raises InputErrors for the first file that cannot be read."""
    from tracker.planning.pricing import PriceBook
    from tracker.trade.jobfile import parse_job_bytes
    from tracker.trade.rules import Rules

    rules, prices = Rules(), PriceBook()
    if session.book_exists():
        from tracker.book.houserules import house_rules
        from tracker.book.prices import price_book

        with session.book() as book:
            rules, prices = house_rules(book), price_book(book)
    return [parse_job_bytes(read_file(Path(name)), name, house=rules) for name in dict.fromkeys(names)], prices
