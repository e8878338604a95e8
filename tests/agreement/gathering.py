"""Every surface of a book read once, and what of it does not agree."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from datetime import date
from functools import partial
from pathlib import Path
from random import Random

from tests.agreement.facts import Facts
from tests.agreement.surfaces import OF_A_JOB, OF_ALL, ON_PAPER, Ask, seen_in_the_morning
from tests.commands.conftest import Result
from tracker.book.morning import morning
from tracker.book.opening import open_book


class Once:
    """Asks each command line once and remembers the answer."""

    def __init__(self, ask: Ask) -> None:
        self.ask = ask
        self.answers: dict[tuple[str, ...], Result] = {}

    def __call__(self, *argv: str) -> Result:
        if argv not in self.answers:
            self.answers[argv] = self.ask(*argv)
        return self.answers[argv]


def gather(
    ask: Ask, path: Path, today: date, folder: Path, *, order: Random | None = None, paper: bool = True
) -> Facts:
    """The facts that every surface of the book at ``path`` tells on a day, asked in a random ``order`` when one is given."""
    once, facts = Once(ask), Facts()
    jobs = [line["job"] for line in once("jobs", "--json").json["jobs"]]
    readers: list[Callable[[], None]] = [partial(read, once, facts) for read in OF_ALL]
    readers += [partial(read, once, facts, job) for read in OF_A_JOB for job in jobs]
    if paper:
        readers += [partial(read, once, facts, folder) for read in ON_PAPER]
    if order is not None:
        order.shuffle(readers)
    for read in readers:
        read()
    with closing(open_book(path)) as book:
        seen_in_the_morning(morning(book, today), facts)
    return facts
