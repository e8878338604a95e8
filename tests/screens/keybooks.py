"""The books the keys are tried on."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from tests.book.conftest import hand_of
from tests.handed_over import hand_over, oiled, take
from tests.screens.conftest import NOW, in_book, put_job, put_prices
from tests.screens.test_money import put_sold
from tests.screens.test_morning import racked
from tests.screens.test_plan import TURNED, put_sample
from tests.screens.test_ticket import put_orders
from tracker.book.hand import hand
from tracker.book.lots import use
from tracker.book.opening import Book, open_book
from tracker.book.readings import record
from tracker.book.receiving import receive_ticket

OWNER = hand("M. Holt", NOW, "office")


def one_job(path: Path) -> None:
    """One job and a price list."""
    put_job(path)
    put_prices(path)


def two_jobs(path: Path) -> None:
    """A second job that needs the same things."""
    one_job(path)
    put_job(path, "26-102", "Steps to the pond")


def read_once(path: Path) -> None:
    """A layout that was read out of square."""
    one_job(path)
    in_book(path, racked)


def with_lots(path: Path) -> None:
    """Three boards ordered, two in, one used; blocks and cloth to come."""
    two_jobs(path)
    put_orders(path)

    def work(book: Book) -> None:
        receive_ticket(book, OWNER, "26-101", {"L1": 2}, entry_id="0190f0f0-0000-7000-8000-000000000001")
        use(book, OWNER, "26-101", "L1", 1)

    in_book(path, work)


def sold(path: Path) -> None:
    """A contract."""
    one_job(path)
    put_sold(path)


def crowned(path: Path) -> None:
    """A plan with a joist that lies the wrong way up."""
    put_sample(path, "26-014")
    in_book(path, lambda book: record(book, hand("R. Stone", NOW, "yard"), "26-014", "crown", TURNED))


def tiers(path: Path) -> None:
    """A job of several platforms."""
    put_sample(path, "26-017")


def handed(path: Path) -> None:
    """A deck that was handed over and is cared for."""
    day = date(2026, 4, 1)

    def work(book: Book) -> None:
        take(book, hand_of("M. Holt", day), oiled().replace("2026-05-04", "2026-03-02"))
        hand_over(book, hand_of("M. Holt", day))

    in_book(path, work)


def empty(path: Path) -> None:
    """Nothing yet."""
    open_book(path).close()
