"""Price lists: what is read, every refusal with its line, and that what is written reads back.

The format is RFC 4180 (Common Format and MIME Type for CSV Files, 2005): section 2, rules 1 to 7, but for rule 6's line
breaks inside quotes, which a price list has no use for. Which cells a spreadsheet runs as formulas: the OWASP page "CSV
Injection" (from memory).
"""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tracker.errors import InputErrors
from tracker.planning.csvlines import LONGEST_LINE, MOST_FAULTS, MOST_PRICE_E4
from tracker.planning.pricefile import (
    ITEM_LIMIT,
    LARGEST_FILE,
    MOST_PACK,
    StatedTerms,
    format_prices,
    parse_prices,
)
from tracker.planning.pricing import Offer, PriceBook, Terms
from tracker.trade.lumber import SPECIES_GROUPS, USE_CATEGORIES

HEAD = "supplier,item,price,pack,seen,use,wood,lead_days,delivery,minimum"


def read(text: str | bytes) -> tuple[Offer, ...]:
    return parse_prices(text.encode() if isinstance(text, str) else text, "list.csv").offers


def faults(text: str | bytes) -> tuple[str, ...]:
    with pytest.raises(InputErrors) as caught:
        read(text)
    assert "nothing was taken" in caught.value.hint
    return caught.value.problems


def test_a_whole_list() -> None:
    listed = parse_prices(
        f"# Invented prices\n{HEAD}\nYard One,2x8x12,18.15,1,2026-05-04,4a,SYP,2,85.00,250\n"
        "Yard One,lag screw 1/2,2.155,10,,,,,,\n\nBolt Shelf,nails 16d,24.5,,2026-05-01,,,,,\n".encode(),
        "list.csv",
    )
    assert listed.offers == (
        Offer("Yard One", "2x8x12", 181_500, 1, date(2026, 5, 4), "UC4A", "southern pine"),
        Offer("Yard One", "lag screw 1/2", 21_550, 10),
        Offer("Bolt Shelf", "nails 16d", 245_000, 1, date(2026, 5, 1)),
    )
    assert listed.terms == {"Yard One": StatedTerms(2, 8500, 25_000), "Bolt Shelf": StatedTerms()}


@pytest.mark.parametrize(
    "text",
    [
        "supplier,item,price\nYard,block,8.90\n",
        "\ufeffsupplier,item,price\r\nYard,block,8.90\r\n",
        "supplier,item,price\rYard,block,8.90\r",
        "supplier,item,price\n\r\nYard,block,8.90",
        "Price, Supplier ,ITEM\n8.9,Yard,block",
        '"supplier","item","price"\n"Yard","block","8.90"\n',
        'supplier,item,price\nYard,  "block",8.90\n',
        "supplier,item,price,lead days,\nYard,block,8.90,,\n,,,,\n",
        "supplier,item,price,pack,seen\nYard,block,8.90\n",
        "supplier,item,price,pack,seen\nYard,block,8.90,1\n",
        '"# a remark, saved by a spreadsheet",,\nsupplier,item,price\nYard,block,8.90\n',
        "#,supplier's \"remark\nsupplier,item,price\nYard,block,8.90\n",
    ],
    ids=[
        "plain",
        "bom-crlf",
        "cr",
        "mixed",
        "order",
        "quoted",
        "spaces",
        "blank-cells",
        "short",
        "shorter",
        "remark",
        "raw-remark",
    ],
)
def test_the_ways_a_good_list_may_be_written(text: str) -> None:
    assert read(text) == (Offer("Yard", "block", 89_000),)


@pytest.mark.parametrize(
    ("cell", "item"),
    [
        ('"board, 5/4"', "board, 5/4"), ('"screws 2-1/2"""', 'screws 2-1/2"'), ('screws 2-1/2"', 'screws 2-1/2"'),
        ("'=x", "=x"), ("''=x", "'=x"), ("'tis", "'tis"), ("e\u0301pice\u0301a", "\u00e9pic\u00e9a"), ("2x8\u2028x", "2x8\u2028x"),
    ],
)  # fmt: skip
def test_texts_come_out_as_they_were_meant(cell: str, item: str) -> None:
    assert read(f"supplier,item,price\nYard,{cell},1.00\n")[0].item == item


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("Yard,block,$8.90", "price: '$8.90' has a currency sign; write it like 14.28"),
        ("Yard,block,8.90 \u20ac", "price: '8.90 \u20ac' has a currency sign"),
        ('Yard,block,"8,90"', "price: '8,90' has a comma; write a point before the decimals"),
        ('Yard,block,"1,904.50"', "price: '1,904.50' has a comma"),
        ("Yard,block,-8.90", "price: '-8.90' is not a price: it is negative"),
        ("Yard,block,eight", "price: 'eight' is not a price"),
        ("Yard,block,1e3", "price: '1e3' is not a price"),
        ("Yard,block,NaN", "price: 'NaN' is not a price"),
        ("Yard,block,\u0664\u0662", "price: '\u0664\u0662' is not a price"),
        ("Yard,block,0.00", "price: 0 is not a price; leave the line out"),
        ("Yard,block,8.12345", "price: '8.12345' is not a price: more than 4 decimals"),
        ("Yard,block,1000000.01", "price: '1000000.01' is too much for one unit; at most 1,000,000"),
        ("Yard,block," + "9" * 5000, "price: '" + "9" * 40 + "' is not a price"),
        ("Yard,block,", "price is missing; a line takes supplier, item and price"),
        (",block,8.90", "supplier is missing"),
        ("Yard, ,8.90", "item is missing"),
        ("Yard," + "x" * (ITEM_LIMIT + 1) + ",1.00", f"item: the item has {ITEM_LIMIT + 1} characters; the limit is {ITEM_LIMIT}"),
        ("Yard,block,8.90,0", "pack: 0 is not a number of units in a pack; write a whole number from 1 to 100,000"),
        ("Yard,block,8.90,1.5", "pack: '1.5' is not a number of units in a pack"),
        ("Yard,block,8.90,100001", "pack: 100001 is not"),
        ("Yard,block,8.90,1,12/05/2026", "seen: '12/05/2026' could be two different days; write it like 2026-05-12"),
        ("Yard,block,8.90,1,2026-02-30", "seen: '2026-02-30' is not a day of the calendar"),
        ("Yard,block,8.90,1,today", "seen: 'today' is not a date; write it like 2026-05-12 (year-month-day)"),
        ("Yard,block,8.90,1,,UC9", "use: 'UC9' is not a use category"),
        ("Yard,block,8.90,1,,,southern pin", "wood: 'southern pin' is not a structural species group (did you mean southern pine?)"),
        ("Yard,block,8.90,1,,,,two", "lead_days: 'two' is not a number of working days"),
        ("Yard,block,8.90,1,,,,367", "lead_days: 367 is not a number of working days; write a whole number from 0 to 366"),
        ("Yard,block,8.90,1,,,,2,$85", "delivery: '$85' has a currency sign"),
        ("Yard,block,8.90,1,,,,2,85,-1", "minimum: '-1' is not an amount of money: it is negative"),
        ("Yard,=HYPERLINK(1),8.90", "item: '=HYPERLINK(1)' starts as a formula does; write a ' before it"),
        ("+Yard,block,8.90", "supplier: '+Yard' starts as a formula does"),
        ("Yard,-block,8.90", "item: '-block' starts as a formula does"),
        ("Yard,  @block,8.90", "item: '@block' starts as a formula does"),
        ("Yard,\tblock,8.90", "item: 'block' starts as a formula does"),
        ("Yard,block,=8.90", "price: '=8.90' starts as a formula does"),
        ('Yard,"blo"ck,8.90', 'text after a closing quote mark; inside quotes a " is written twice'),
        ('Yard,"block,8.90', 'the quote mark opened on this line is never closed; close it with "'),
        ("Yard,block,14,28", "4 cells, the header has 10; write a price with a point"),
        ("Yard,block,14,2800", "4 cells, the header has 10"),
        ("Yard,block,14,28,1,2026-05-04,,,,,", "11 cells, the header has 10"),
        ("Yard,block,14.28,1,,,,,,,more", "11 cells, the header has 10"),
        ("Yard,block\0,8.90", "a NUL character"),
        ("Yard,block," + " " * LONGEST_LINE + "8.90", f"a line of {LONGEST_LINE + 15:,} bytes"),
    ],
)  # fmt: skip
def test_a_faulty_line_is_named_with_what_would_be_right(line: str, says: str) -> None:
    (fault,) = faults(f"{HEAD}\nYard,cloth,58.00,1,,,,,,\n{line}\n")
    assert fault.startswith(f"list.csv:3: {says}")


@pytest.mark.parametrize(
    ("head", "says"),
    [
        ("supplier,item,prise", ["no column 'prise' (did you mean price?)", "column price is missing"]),
        ("item,price", ["column supplier is missing; a list has supplier, item and price at least"]),
        ("supplier,item,price,colour", ["no column 'colour'; columns are supplier, item, price, pack"]),
        ("supplier,item,price,Item", ["column item is there twice; keep one of them"]),
        ("supplier;item;price", ["the columns are parted by semicolons; save it with commas"]),
        ("supplier\titem\tprice", ["the columns are parted by tabs"]),
    ],
)
def test_columns_that_are_unknown_twice_or_missing_are_named(head: str, says: list[str]) -> None:
    found = faults(f"{head}\nYard,block,8.90,\n")
    assert len(found) == len(says)
    for fault, text in zip(found, says, strict=True):
        assert fault.startswith(f"list.csv:1: {text}")


@pytest.mark.parametrize("text", ["", "\n\n", "\ufeff", "# only a remark\n", ",,,\n"])
def test_an_empty_list_is_told_what_it_lacks(text: str) -> None:
    (fault,) = faults(text)
    assert fault == f"list.csv:1: the list is empty; its first line names the columns: {HEAD}"


def test_a_header_alone_has_no_prices() -> None:
    assert faults(HEAD) == ("list.csv:1: no prices under the header; give each price a line of its own",)


def test_lines_that_contradict_each_other_are_both_named() -> None:
    found = faults(
        f"{HEAD}\nYard,block,8.90,1,,,,2,85,\nYard,cloth,58.00,1,,,,3,85.00,\nyard,gravel,46.00,,,,,,,\n"
        "Yard,block,9.10,6,2026-05-04,,,,,\n"
    )
    assert found == (
        "list.csv:3: lead_days of Yard is another one on line 2; a supplier has one; say it once",
        "list.csv:4: supplier 'yard' is 'Yard' on line 2; write it one way",
        "list.csv:5: the same supplier, item, use and wood as line 2; keep one of them",
    )


def test_a_cell_over_several_lines_is_told_with_both_and_reading_goes_on() -> None:
    found = faults('supplier,item,price\nYard,"blo\n""ck",8.90\nYard,cloth,x\n')
    assert found[0].startswith("list.csv:2: a cell goes on over a line end, to line 3; a price takes one line")
    assert found[1].startswith("list.csv:4: price: 'x'") and len(found) == 2


def test_the_first_faults_are_told_and_that_there_may_be_more() -> None:
    text = "supplier,item,price\n" + "".join(f"Yard,i{n},x\n" for n in range(MOST_FAULTS + 5))
    assert len(faults(text)) == MOST_FAULTS
    with pytest.raises(InputErrors, match=r"list\.csv:2") as caught:
        read(text)
    assert f"these are the first {MOST_FAULTS}" in caught.value.hint


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ("supplier,item,price\nYard,\u00e9pic\u00e9a,1.00\n".encode("latin-1"), "list.csv:2: byte 0xe9 is not UTF-8; save the list as UTF-8"),
        ("supplier,item,price\n".encode("utf-16"), "list.csv:1: this is UTF-16; save it as UTF-8"),
        ("supplier,item,price\n".encode("utf-16-be"), "list.csv:1: a NUL character; remove it, or save the list as UTF-8"),
        (b" " * (LARGEST_FILE + 1), "list.csv has 8,388,609 bytes; a price list has at most 8,388,608"),
    ],
    ids=["latin-1", "utf-16", "utf-16 unmarked", "large"],
)  # fmt: skip
def test_bytes_that_are_no_list(data: bytes, says: str) -> None:
    (fault,) = faults(data)
    assert fault.startswith(says)


_ODD = st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=12)
_TEXTS = st.one_of(_ODD, st.sampled_from(["=1+1", "'=x", "''@y", "-", "+4", 'a "b", c', "#1", "'", "2x8x12"]))


def _name(text: str) -> str:
    from unicodedata import normalize

    return normalize("NFC", text.strip()) or "x"


@st.composite
def price_books(draw: st.DrawFn) -> PriceBook:
    """A price book as the store can hold it: names stripped and in NFC, no two that differ in case alone."""
    names = draw(st.lists(_TEXTS.map(_name), min_size=1, max_size=3, unique_by=str.casefold))
    keys = st.tuples(
        st.sampled_from(names), _TEXTS.map(_name), st.sampled_from(["", *USE_CATEGORIES]), st.sampled_from(["", *SPECIES_GROUPS])
    )  # fmt: skip
    offers = tuple(
        Offer(name, item, draw(st.integers(1, MOST_PRICE_E4)), draw(st.integers(1, MOST_PACK)),
              draw(st.none() | st.dates(date(2000, 1, 1), date(2099, 12, 31))), use, wood)
        for name, item, use, wood in draw(st.lists(keys, min_size=1, max_size=6, unique=True))
    )  # fmt: skip
    money = st.integers(0, 10**12)
    sellers = {offer.supplier for offer in offers}
    return PriceBook(offers, {n: Terms(n, draw(st.integers(0, 366)), draw(money), draw(money)) for n in sellers})


@settings(max_examples=examples(150, 3000))
@given(price_books())
def test_what_is_written_reads_back(book: PriceBook) -> None:
    text = format_prices(book)
    listed = parse_prices(text.encode(), "list.csv")
    assert sorted(listed.offers, key=repr) == sorted(book.offers, key=repr)
    terms = {n: StatedTerms(t.lead_days, t.delivery_cents, t.minimum_cents) for n, t in book.terms.items()}
    assert listed.terms == terms


@settings(max_examples=examples(150, 3000))
@given(price_books())
def test_no_written_cell_starts_as_a_formula_does(book: PriceBook) -> None:
    import csv

    for row in csv.reader(format_prices(book).split("\r\n")):
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in row)


@settings(max_examples=examples(200, 4000))
@given(
    st.binary(max_size=200)
    | st.text(alphabet=",\"\n\r=-'# ab18.;\t", max_size=80).map(lambda t: f"supplier,item,price\n{t}".encode())
)
def test_any_bytes_are_a_list_or_a_refusal_with_a_line(data: bytes) -> None:
    try:
        assert parse_prices(data, "list.csv").offers
    except InputErrors as error:
        assert 0 < len(error.problems) <= MOST_FAULTS
        assert all(problem.startswith("list.csv:") for problem in error.problems)
