"""What is left to buy in a year of 500 jobs, as ratios: it should grow with the open jobs only.

    python -m tests.benchmarks.buying [--runs N] [--jobs N] [--movements N]

Prints medians of N runs: ``buy`` on a book of 10 open jobs, on one of 490 finished jobs beside the same 10 with 20 000
movements in all, and on one of 40 open jobs; as a command from its start, and as a question to a book that is open. The cut
plans are kept from a first run, as they are after the commands that change what a job has.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path

from tests.benchmarks.ratios import ROOT, environment, wall
from tests.invented import platform_text
from tracker.book.buying import needs_and_purchases
from tracker.book.entries import Draft, append
from tracker.book.hand import Hand
from tracker.book.jobs import take_job
from tracker.book.load import find_job
from tracker.book.lots import needs, order
from tracker.book.opening import Book, open_book
from tracker.book.prices import take_prices
from tracker.book.tables import LotRow, PhaseRow
from tracker.trade.jobfile import parse_job_bytes

DAY = date(2026, 5, 12)
HAND = Hand("Bench (invented)", datetime(2026, 5, 12, 17, 30, tzinfo=UTC), DAY, "bench")
LOTS = 5
JOB = """
code = "{code}"
title = "Bench platform {code}"
client = "Client Bench (invented)"
site = "back yard"
crew = "North"
start = 2026-05-04
""" + platform_text(size="""["{width}'", "{depth}'"]""", joists="2x8")


def make_book(path: Path, open_jobs: int, finished: int, movements: int) -> None:
    """Invented platforms of many sizes: the open ones first, so that they are the same in every book."""
    book = open_book(path)
    try:
        prices = ROOT / "sample_jobs" / "prices.csv"
        take_prices(book, HAND, prices.read_bytes(), prices.name)
        each = movements // (open_jobs + finished)
        for number in range(open_jobs + finished):
            code = f"{26 + number // 900}-{100 + number % 900}"
            text = JOB.format(code=code, width=9 + number % 8, depth=10 + number % 7)
            take_job(book, HAND, parse_job_bytes(text.encode(), code))
            for need in needs(book, DAY, [code])[:LOTS]:
                order(book, HAND, code, need.item, max(need.need // 2, 1))
            move(book, code, each - LOTS, finish=number >= open_jobs)
    finally:
        book.close()


def move(book: Book, code: str, movements: int, *, finish: bool) -> None:
    """Pieces received and used, one after the other; and every phase signed off when the job is to be finished."""
    from sqlmodel import select

    with book.writing() as session:
        job = find_job(session, code)
        lots = session.exec(select(LotRow).where(LotRow.job_id == job.id)).all()
        for number in range(movements):
            lot = lots[number // 2 % len(lots)]
            body = {"move": "received" if number % 2 == 0 else "used"}
            append(session, HAND, Draft("movement", body, job_id=job.id, lot_id=lot.id, qty=1))
        if finish:
            for phase in session.exec(select(PhaseRow).where(PhaseRow.job_id == job.id)):
                append(session, HAND, Draft("phase", {"event": "signed off"}, job_id=job.id, phase_id=phase.id))


def asked(path: Path) -> Callable[[], float]:
    """Seconds an open book takes to answer."""
    book = open_book(path)

    def measure() -> float:
        start = time.perf_counter()
        needs_and_purchases(book, DAY)
        return time.perf_counter() - start

    return measure


def medians(runs: int, measures: Sequence[Callable[[], float]]) -> list[float]:
    """The median of each, after one run to warm the caches; taken in turns, so that a busy machine slows all alike."""
    rounds = [[measure() for measure in measures] for _ in range(runs + 1)][1:]
    return [statistics.median(times) for times in zip(*rounds, strict=True)]


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--jobs", type=int, default=500, help="jobs in the year")
    parser.add_argument("--movements", type=int, default=20_000, help="movements in the year")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        few, year, many = folder / "few.book", folder / "year.book", folder / "many.book"
        each = args.movements // args.jobs
        make_book(few, 10, 0, 10 * each)
        make_book(year, 10, args.jobs - 10, args.movements)
        make_book(many, 40, 0, 40 * each)
        words = ["-m", "tracker", "buy"]
        books = (few, year, many)
        commands = medians(args.runs, [partial(wall, words, environment(path)) for path in books])
        answers = medians(args.runs, [asked(path) for path in books])
    titles = ("10 open jobs", f"10 open of {args.jobs} jobs, {args.movements} movements", "40 open jobs")
    print(f"{'what':<66}{'median s':>10}{'against 10 open':>18}")
    for what, seconds in (("buy", commands), ("question to an open book", answers)):
        for title, took in zip(titles, seconds, strict=True):
            print(f"{what + ', ' + title:<66}{took:>10.3f}{took / seconds[0]:>18.2f}")


if __name__ == "__main__":
    main()
