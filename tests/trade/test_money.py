"""Money to the cent: parsing, printing and line totals against ``decimal``."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import InputError
from tracker.trade.money import LARGEST_CENTS, format_money, line_total, parse_money, parse_price


@pytest.mark.parametrize(
    ("text", "cents"),
    [
        ("1904.50", 190450), ("$1904.5", 190450), ("1,904.50", 190450), ("$ 1904", 190400), (" 12 ", 1200), ("0", 0),
        ("0.01", 1), ("$0.10", 10), ("1,500.00", 150000), ("12,345,678.90", 1234567890), ("0007", 700),
        ("10000000000.00", LARGEST_CENTS),
    ],
)  # fmt: skip
def test_amounts_are_exact_cents(text: str, cents: int) -> None:
    assert parse_money(text) == cents


@pytest.mark.parametrize(
    ("text", "e4"), [("14.28", 142800), ("0.0425", 425), ("$3", 30000), ("1,904.5", 19045000), ("0.0001", 1)]
)
def test_prices_are_exact_ten_thousandths(text: str, e4: int) -> None:
    assert parse_price(text) == e4


COMMA = "a comma could be a thousands or a decimal mark"
SHAPE = "digits and one point are all it takes"
REFUSED = [
    ("$12.345", "more than 2 decimals"), ("12.5.0", SHAPE), ("$ -0.00", "it is negative"), ("-5", "it is negative"),
    ("$-5", "it is negative"), ("$  -5", "it is negative"), ("\u22125", "it is negative"), ("12 USD", SHAPE),
    ("USD 12", SHAPE), ("€12", SHAPE), ("1,5", COMMA), ("1,500", COMMA), ("1,50.00", COMMA), (",500.00", COMMA),
    ("1,500.", COMMA), ("12,3456.00", COMMA), ("NaN", SHAPE), ("inf", SHAPE), ("1e3", SHAPE), ("4_2", SHAPE),
    ("0x10", SHAPE), ("٤٢", SHAPE), ("４２", SHAPE), ("", SHAPE), ("$", SHAPE), (".", SHAPE), ("5.", SHAPE),
    ("+5", SHAPE), ("1 000", SHAPE), ("10000000000.01", "more than 10,000,000,000"),
    ("9" * 39, "more than 10,000,000,000"), ("12\x00", SHAPE),
]  # fmt: skip


@pytest.mark.parametrize(("text", "why"), REFUSED)
def test_refusals_say_why_and_what_would_be_right(text: str, why: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_money(text)
    assert caught.value.message == f"{text[:40]!r} is not an amount of money: {why}"
    assert caught.value.hint == "write it like 1904.50"
    assert parse_money(caught.value.hint.split()[-1]) == 190450


def test_a_price_takes_four_decimals_and_no_more() -> None:
    with pytest.raises(InputError, match="not a price: more than 4 decimals") as caught:
        parse_price("0.00425")
    assert caught.value.hint == "write it like 14.28 or 0.0425"
    with pytest.raises(InputError, match="more than 10,000,000,000"):
        parse_price("10000000000.0001")


def test_a_pasted_page_of_digits_is_refused() -> None:
    with pytest.raises(InputError) as caught:
        parse_money("9" * 100_000)
    assert len(caught.value.message) < 120


@given(st.text(max_size=50))
def test_any_text_is_an_amount_or_refused(text: str) -> None:
    try:
        cents = parse_money(text)
    except InputError:
        return
    assert 0 <= cents <= LARGEST_CENTS
    assert Decimal(text.strip().lstrip("$").replace(",", "")) * 100 == cents


@given(st.integers(0, LARGEST_CENTS))
def test_what_is_printed_reads_back(cents: int) -> None:
    assert parse_money(format_money(cents)) == cents
    assert parse_money(format_money(cents).replace(",", "")) == cents
    assert format_money(cents) == f"${Decimal(cents).scaleb(-2):,.2f}"


def test_a_negative_amount_keeps_its_sign_before_the_currency() -> None:
    assert (format_money(-400), format_money(-5), format_money(0), format_money(190450, "€")) == (
        "-$4.00", "-$0.05", "$0.00", "€1,904.50",
    )  # fmt: skip


@given(st.integers(-(10**6), 10**6), st.integers(-(10**9), 10**9))
def test_line_totals_round_once_half_away_from_zero(quantity: int, price_e4: int) -> None:
    # decimal's ROUND_HALF_UP: to nearest, ties away from zero (Python standard library, decimal, rounding modes).
    exact = Decimal(quantity) * Decimal(price_e4) / 10_000
    assert Decimal(line_total(quantity, price_e4)) / 100 == exact.quantize(Decimal("0.01"), ROUND_HALF_UP)


@pytest.mark.parametrize(
    ("quantity", "price", "cents"),
    # By hand: 350 screws at 4-1/4 cents; half a cent up; three at a third of a cent; a credit.
    [(350, 425, 1488), (1, 50, 1), (1, 49, 0), (3, 33, 1), (-1, 50, -1), (0, 142800, 0)],
)
def test_line_totals_by_hand(quantity: int, price: int, cents: int) -> None:
    assert line_total(quantity, price) == cents
