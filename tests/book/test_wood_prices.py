"""A price of one wood counts for boards of that wood wherever the book looks a price up. Prices are invented."""

from __future__ import annotations

from collections.abc import Callable

from tests.book.conftest import DAY
from tracker.book.buying import cost_of, purchases
from tracker.book.buyviews import PurchaseLine
from tracker.book.hand import Hand
from tracker.book.lots import lots, order
from tracker.book.moneyread import money_of
from tracker.book.opening import Book
from tracker.book.prices import take_prices
from tracker.book.pricing import price_job
from tracker.planning.estimate import Kind

LIST = b"""supplier,item,price,wood
Yard One,2x6x14,20.00,southern pine
Yard One,2x6x14,9.00,
Yard One,2x6x14,5.00,hem-fir
"""


def test_the_wood_the_take_off_names_prices_estimate_cost_purchase_and_order(
    book: Book, hand: Hand, take: Callable[..., str]
) -> None:
    code = take()
    take_prices(book, hand, LIST, "prices.csv")
    number = sum(line.quantity for _, line in _bought(book) if line.item == "2x6x14")
    assert number
    cents = number * 2_000
    (made,) = price_job(book, code, DAY).options
    assert made.estimate.cost_of(Kind.MATERIAL) == cents
    cost = cost_of(book, code, DAY)
    assert next(item for item in cost.items if item.key == "2x6x14").estimate_cents == cents
    assert next(line for _, line in _bought(book) if line.item == "2x6x14").cost_cents == cents
    order(book, hand, code, "2x6x14", number)
    (lot,) = lots(book, code, DAY)
    assert lot.item == "2x6x14"
    assert next(item for item in cost_of(book, code, DAY).items if item.key == "2x6x14").committed_cents == cents
    assert sum(phase.on_order_cents for phase in money_of(book, code, DAY).phases) == cents


def _bought(book: Book) -> list[tuple[str, PurchaseLine]]:
    return [(found.supplier, line) for found in purchases(book, DAY) for line in found.lines]
