"""Lists of pieces and boards (CSV): what is read, every refusal with its line, and texts kept from being formulas.

The format is RFC 4180 (2005), section 2. Which cells a spreadsheet runs as formulas: the OWASP page "CSV Injection" (from
memory): those that begin with = + - @, a tab or a carriage return.
"""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import InputErrors
from tracker.planning.csvlines import marked, unmarked
from tracker.planning.cutfile import LARGEST_FILE, ON_HAND, parse_wanted
from tracker.planning.cutplan import Need, Stock
from tracker.trade.lengths import FOOT, INCH, MM, Unit

HEAD = "kind,length,quantity,price\n"


def faults(data: bytes) -> tuple[str, ...]:
    with pytest.raises(InputErrors) as caught:
        parse_wanted(data, "list.csv", Unit.INCH)
    return caught.value.problems


def test_needs_stock_and_what_is_on_hand() -> None:
    text = f"# invented\n{HEAD}need,33-1/2,7,\nneed,\"6' 3\"\"\",4,\nstock,12',,11.90\nstock,16',3,15.80\nhave,63,2,\nHave,5',1,2.00\n"
    found = parse_wanted(text.encode(), "list.csv", Unit.INCH)
    assert found.needs == (Need(67 * INCH // 2, 7), Need(75 * INCH, 4))
    assert found.stocks == (
        Stock(12 * FOOT, 119_000), Stock(16 * FOOT, 158_000, 3), Stock(63 * INCH, 0, 2, ON_HAND),
        Stock(5 * FOOT, 20_000, 1, ON_HAND),
    )  # fmt: skip
    metric = parse_wanted(f"{HEAD}need,850,7,\n".encode(), "list.csv", Unit.MM)
    assert metric.needs == (Need(850 * MM, 7),)


def test_a_byte_order_mark_crlf_and_other_columns_in_order_are_fine() -> None:
    data = b"\xef\xbb\xbfprice,quantity,length,kind\r\n,7,33,need\r\n7.10,,96,stock\r\n"
    found = parse_wanted(data, "list.csv", Unit.INCH)
    assert found.needs == (Need(33 * INCH, 7),) and found.stocks == (Stock(96 * INCH, 71_000),)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("need,33,7,1.00", "a need has no price"),
        ("need,33,,", "quantity is missing; a need takes length and quantity"),
        ("stock,96,,", "price is missing; a stock takes length and price"),
        ("have,96,,", "quantity is missing"),
        ("need,,7,", "length is missing"),
        (",33,7,", "kind is missing; it is need, stock or have"),
        ("neeed,33,7,", "kind 'neeed' is unknown (did you mean need?)"),
        ("need,33,0,", "quantity: 0 is not a number of pieces"),
        ("need,33,-2,", "quantity: "),
        ("need,33,2.5,", "quantity: "),
        ("need,0,2,", "length: a length of 0 cannot be cut"),
        ("need,-33,2,", "length: '-33' is not a length: it is negative"),
        ("need,3x,2,", "length: '3x' is not a length"),
        ("stock,96,,$7.10", "price: '$7.10' has a currency sign"),
        ("stock,96,,7,10", "5 cells, the header has 4"),
        ('stock,96,,"7,10"', "price: '7,10' has a comma"),
        ("stock,96,,-7.10", "price: '-7.10' is not a price: it is negative"),
        ("stock,96,,0", "price: 0 is not a price"),
        ("=1+1,96,,7.10", "kind: '=1+1' starts as a formula does"),
        ('stock,"96,,7.10', "the quote mark opened on this line is never closed"),
    ],
)
def test_a_fault_is_named_with_its_line(line: str, said: str) -> None:
    problems = faults(f"{HEAD}need,33,7,\n{line}\n".encode())
    assert len(problems) == 1 and problems[0].startswith("list.csv:3: ") and said in problems[0]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "list.csv:1: the list is empty; its first line names the columns: kind,length,quantity,price"),
        (b"kind,length,quantity\nneed,33,7\n", "list.csv:1: column price is missing"),
        (b"kind,length,quantity,prize\n", "list.csv:1: no column 'prize' (did you mean price?)"),
        (b"kind;length;quantity;price\n", "list.csv:1: the columns are parted by semicolons"),
        (HEAD.encode() + b"need,33\xbd,7,\n", "list.csv:2: byte 0xbd is not UTF-8"),
        (b"k\0", "list.csv:1: a NUL character"),
        (b"x" * (LARGEST_FILE + 1), "list.csv has 2,097,153 bytes"),
    ],
)
def test_a_list_that_cannot_be_read_at_all(data: bytes, said: str) -> None:
    assert said in faults(data)[0]


def test_every_fault_is_found_at_once() -> None:
    problems = faults(f"{HEAD}need,33,0,\nstock,96,,\nneed,x,1,\n".encode())
    assert [problem.split(":")[1] for problem in problems] == ["2", "3", "4"]


@given(st.text())
def test_a_marked_text_is_never_a_formula_and_is_read_back(text: str) -> None:
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerow([marked(text), "end"])
    (cell, _), *_ = csv.reader(io.StringIO(out.getvalue(), newline=""))
    assert cell[:1] not in ("=", "+", "-", "@", "\t", "\r")
    assert unmarked(cell) == text
    if text.lstrip("'")[:1] in (
        "=",
        "+",
        "-",
        "@",
        "\t",
        "\r",
    ):  # those behind what nobody sees: tests/reports/test_csv_disarmed.py
        assert marked(text) == f"'{text}"
