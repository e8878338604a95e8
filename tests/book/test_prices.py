"""The price book on disk: lists taken whole or not at all, once; the database's own limits; offcut lengths of older books.

All suppliers and prices are invented.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from tests.book.conftest import hand_of
from tests.often import examples
from tests.planning.test_pricefile import price_books
from tracker.book.buyviews import PricesTaken
from tracker.book.care import doctor
from tracker.book.hand import Hand
from tracker.book.opening import Book, open_book
from tracker.book.people import people
from tracker.book.prices import price_book, take_prices
from tracker.errors import BookError, InputErrors
from tracker.planning.pricefile import format_prices
from tracker.planning.pricing import Offer, PriceBook, Terms

HEAD = "supplier,item,price,pack,seen,use,wood,lead_days,delivery,minimum\n"
LIST = (
    f"{HEAD}Yard One,2x8x12,18.15,1,2026-05-04,UC4A,,2,85.00,250.00\n"
    "Yard One,block,8.90,1,2026-05-04,,,,,\nBolt Shelf,lag screw 1/2,2.15,10,2026-05-04,,,,,\n"
)


def take(book: Book, hand: Hand, text: str) -> PricesTaken:
    return take_prices(book, hand, text.encode(), "list.csv")


def rows(book: Book) -> dict[str, list[tuple[object, ...]]]:
    with closing(sqlite3.connect(book.path)) as db:
        return {t: db.execute(f"SELECT * FROM {t} ORDER BY id").fetchall() for t in ("supplier", "price")}


def test_a_list_is_taken_and_read_back(book: Book, hand: Hand) -> None:
    assert take(book, hand, LIST) == PricesTaken(3, 0, 0, 2, 0)
    seen = date(2026, 5, 4)
    assert price_book(book) == PriceBook(
        (
            Offer("Bolt Shelf", "lag screw 1/2", 21_500, 10, seen),
            Offer("Yard One", "2x8x12", 181_500, 1, seen, "UC4A"),
            Offer("Yard One", "block", 89_000, 1, seen),
        ),
        {"Bolt Shelf": Terms("Bolt Shelf"), "Yard One": Terms("Yard One", 2, 8500, 25_000)},
    )
    assert [person.name for person in people(book)] == ["Owner Plover"]


def test_the_same_list_again_changes_not_a_byte_of_it(book: Book, hand: Hand) -> None:
    take(book, hand, LIST)
    before = rows(book)
    assert take(book, hand, LIST) == PricesTaken(0, 0, 3, 0, 0)
    assert take(book, hand_of("Lead Wren"), "\ufeff" + LIST.replace("\n", "\r\n")) == PricesTaken(0, 0, 3, 0, 0)
    assert rows(book) == before


def test_a_later_list_changes_what_it_names_and_nothing_else(book: Book, hand: Hand) -> None:
    take(book, hand, LIST)
    later = (
        f"{HEAD}Yard One,block,9.25,1,2026-06-01,,,3,,\nYard One,2x8x12,20.00,1,,,,,,\nYard One,cloth,58.00,1,,,,,,\n"
    )
    assert take(book, hand, later) == PricesTaken(2, 1, 0, 0, 1)
    found = price_book(book)
    assert found.best("block") == Offer("Yard One", "block", 92_500, 1, date(2026, 6, 1))
    assert found.best("2x8x12", "UC4A") == Offer("Yard One", "2x8x12", 181_500, 1, date(2026, 5, 4), "UC4A")
    assert found.terms_of("Yard One") == Terms("Yard One", 3, 8500, 25_000)
    revs = {(row[2], row[3]): row[-1] for row in rows(book)["price"]}
    assert (revs["block", ""], revs["2x8x12", "UC4A"], revs["2x8x12", ""]) == (2, 1, 1)


def test_a_price_that_comes_again_without_a_day_keeps_it_and_another_price_does_not(book: Book, hand: Hand) -> None:
    take(book, hand, LIST)
    assert take(book, hand, "supplier,item,price\nYard One,block,8.90\n") == PricesTaken(0, 0, 1, 0, 0)
    assert take(book, hand, "supplier,item,price\nYard One,block,9.00\n") == PricesTaken(0, 1, 0, 0, 0)
    assert price_book(book).best("block") == Offer("Yard One", "block", 90_000)


def test_one_bad_line_of_many_and_nothing_is_taken(book: Book, hand: Hand) -> None:
    take(book, hand, LIST)
    before, size = rows(book), book.path.read_bytes()
    many = "".join(f"Mill Gate,item {n},1.00,1,,,,,,\n" for n in range(5000))
    with pytest.raises(InputErrors, match=r"list\.csv:5002: price"):
        take(book, hand, f"{HEAD}{many}Yard One,block,free,1,,,,,,\n")
    with pytest.raises(InputErrors, match="supplier 'yard one' is 'Yard One' in the price book"):
        take(book, hand, f"{HEAD}{many}yard one,block,1.00,1,,,,,,\n")
    assert (rows(book), book.path.read_bytes()) == (before, size)


def test_a_book_for_viewing_only_takes_none(book: Book, hand: Hand) -> None:
    viewing = Book(book.path, view_only=True)
    with pytest.raises(BookError, match="viewing only"):
        take(viewing, hand, LIST)
    assert price_book(viewing) == PriceBook()
    viewing.close()


@settings(max_examples=examples(15, 300), suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(prices=price_books())
def test_every_price_book_survives_the_store_and_the_list(
    tmp_path_factory: pytest.TempPathFactory, prices: PriceBook
) -> None:
    hand = hand_of("Owner Plover")
    first, second = (open_book(tmp_path_factory.mktemp("prices") / "jobs.book") for _ in range(2))
    take(first, hand, format_prices(prices))
    found = price_book(first)
    assert sorted(found.offers, key=repr) == sorted(prices.offers, key=repr) and found.terms == prices.terms
    take(second, hand, format_prices(price_book(first)))
    assert price_book(second) == found
    assert take(first, hand, format_prices(price_book(second))) == PricesTaken(0, 0, len(prices.offers), 0, 0)
    first.close()
    second.close()


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE price SET price_e4 = 0", "UPDATE price SET price_e4 = 1.5", "UPDATE price SET pack = 0",
        "UPDATE price SET seen = '4 May'", "UPDATE price SET item = ''", "UPDATE price SET rev = 0",
        "UPDATE price SET item = 'block', use_category = ''", "UPDATE price SET supplier_id = 'nobody'",
        "UPDATE supplier SET lead_days = -1", "UPDATE supplier SET name = 'Yard One'", "UPDATE supplier SET minimum_cents = -1",
        "DELETE FROM supplier",
    ],
)  # fmt: skip
def test_the_database_refuses_what_no_price_book_holds(book: Book, hand: Hand, change: str) -> None:
    take(book, hand, LIST)
    with closing(sqlite3.connect(book.path)) as db:
        db.execute("PRAGMA foreign_keys=ON")
        with pytest.raises(sqlite3.IntegrityError):
            db.execute(change)


def test_a_book_of_before_the_price_book_keeps_its_lots(book: Book, take: Callable[..., str], hand: Hand) -> None:
    from tests.book.test_durability import step
    from tracker.book.lots import lots, order

    code = take()
    order(book, hand, code, "2x6x12", 12, lot="J1")
    before = tuple(replace(lot, wood="") for lot in lots(book, code, hand.day))  # which lots did not know then
    book.close()
    step(Path(book.path), "0002", down=True)
    newer = open_book(book.path)
    assert "brought up to date" in newer.notices[0]
    assert lots(newer, code, hand.day) == before and price_book(newer) == PriceBook()
    newer.close()
    assert doctor(book.path).problems == ()
