"""Money entries in words: every kind, and a body of another version is passed over."""

from __future__ import annotations

from typing import Any

import pytest

from tests.book.conftest import DAY
from tests.book.test_money import CODE, conserved, job, sold  # noqa: F401
from tracker.book.hand import Hand
from tracker.book.history import history
from tracker.book.invoices import credit, invoice, receive_payment, take_back
from tracker.book.money import set_draws
from tracker.book.moneyread import money_of
from tracker.book.moneywords import money_facts, money_said
from tracker.book.opening import Book


def test_credit_notes_draws_and_money_paid_back_are_told(book: Book, hand: Hand, sold: str) -> None:  # noqa: F811
    invoice(book, hand, sold)
    receive_payment(book, hand, sold, 100_000, "transfer")
    credit(book, hand, sold, 1, "billed twice", 100)
    receive_payment(book, hand, sold, 50, back=True)
    set_draws(book, hand, sold, ["deposit=2000", "final=rest"])
    take_back(book, hand, sold, "payment 1", "wrong job")
    told = {line.said: dict(line.facts) for line in history(book, CODE).lines if line.kind == "money"}
    assert "credit note 2: -$1.00 for deposit, off invoice 1" in told
    assert told["credit note 2: -$1.00 for deposit, off invoice 1"]["words"] == "billed twice"
    assert "paid back $0.50" in told and "draws agreed: deposit $2,000.00, final the rest" in told
    assert "entry 4 taken back (received $1,000.00, transfer): wrong job" in told
    assert told["received $1,000.00, transfer"] == {"came on": "Tue 12 May 2026"}
    conserved(money_of(book, CODE, DAY))


@pytest.mark.parametrize(
    "body", [{}, {"what": "quote"}, {"what": "bond", "cents": 5}, {"what": "payment", "cents": "much"}]
)
def test_a_body_not_of_this_version_gives_nothing(body: dict[str, Any]) -> None:
    assert money_said(body) == "" and money_facts(body) == ()
