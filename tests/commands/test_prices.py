"""``deckjobs prices``: show, take, write; and the sample list. All suppliers and prices are invented."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from tests.commands.conftest import Deck
from tracker.book.plans import Shelf
from tracker.book.samples import PRICES, sample_folder
from tracker.planning.material import material_of
from tracker.planning.pricefile import parse_prices
from tracker.planning.pricing import PriceBook
from tracker.trade.jobfile import parse_job_bytes

LIST = (
    "supplier,item,price,pack,seen,use,wood,lead_days,delivery,minimum\n"
    "Yard One,2x8x12,18.15,1,2026-05-04,UC4A,southern pine,2,85.00,250.00\n"
    "Yard One,2x8x8,11.90,1,2026-04-11,,,,,\nBolt Shelf,lag screw 1/2,2.15,10,,,,,,\n"
)


@pytest.fixture
def priced(deck: Deck) -> Deck:
    path = deck.home / "list.csv"
    path.write_text(LIST, "utf-8")
    result = deck("prices", str(path))
    assert (result.code, result.out) == (0, f"{path}: 3 new, 0 changed, 0 unchanged; 2 new suppliers\n")
    return deck


def test_the_price_book_is_shown_with_old_prices_in_words(priced: Deck) -> None:
    text = priced("prices").out
    # 2026-04-11 is 31 days before 2026-05-12, one more than the rule's 30.
    assert "3 prices from 2 suppliers, 1 OLD (seen more than 30 days ago)" in text
    rows = {row.split("  ")[0]: " ".join(row.split()) for row in text.splitlines()}
    assert rows["2x8x8"] == "2x8x8 $11.90 Yard One 2026-04-11 OLD"
    assert rows["lag screw 1/2"] == "lag screw 1/2 $2.15 10 Bolt Shelf day not noted"
    assert text.index("2x8x8") < text.index("2x8x12")
    assert "Yard One: 2 working days to deliver, delivery $85.00, least order $250.00" in text
    assert "Bolt Shelf: same day, no delivery charge, no least order" in text
    assert priced("rules", "--set", "price_days=31").code == 0
    assert "OLD" not in priced("prices").out


def test_the_price_book_as_json(priced: Deck) -> None:
    found = priced("prices", "--json").json
    assert (found["day"], found["price_days"], len(found["prices"])) == ("2026-05-12", 30, 3)
    assert found["prices"][1] == {
        "supplier": "Yard One", "item": "2x8x12", "use_category": "UC4A", "wood": "southern pine",
        "price_e4": 181_500, "pack": 1, "seen": "2026-05-04", "old": False,
    }  # fmt: skip
    assert [price["old"] for price in found["prices"]] == [True, False, False]
    assert found["suppliers"][1] == {
        "supplier": "Yard One", "lead_days": 2, "delivery_cents": 8500, "minimum_cents": 25_000,
    }  # fmt: skip


def test_some_items_only(priced: Deck) -> None:
    found = priced("prices", "--item", "SCREW", "--json").json
    assert [price["item"] for price in found["prices"]] == ["lag screw 1/2"]
    assert [supplier["supplier"] for supplier in found["suppliers"]] == ["Bolt Shelf"]
    missing = priced("prices", "--item", "lag scrw 1/2")
    assert missing.code == 2 and "did you mean lag screw 1/2?" in missing.err


def test_the_same_list_again_is_unchanged(priced: Deck) -> None:
    again = priced("prices", str(priced.home / "list.csv"), "--json")
    assert again.json == {"new": 0, "changed": 0, "unchanged": 3, "suppliers_new": 0, "terms_changed": 0}


def test_what_is_written_is_taken_again(priced: Deck) -> None:
    out = priced.home / "all prices.csv"
    assert priced("prices", "--out", str(out), "--json").json == {"file": str(out), "written": 3}
    assert "3 unchanged" in priced("prices", str(out)).out
    first = out.read_bytes()
    refused = priced("prices", "--out", str(out))
    assert refused.code == 2 and "is there already" in refused.err and "--force" in refused.err
    out.write_text("mine", "utf-8")
    assert priced("prices", "--out", str(out), "--force").code == 0
    assert out.read_bytes() == first
    assert not [path for path in priced.home.iterdir() if ".part-" in path.name]


def test_a_list_is_never_written_over_the_book_a_folder_or_a_pipe(priced: Deck) -> None:
    book = priced.path.read_bytes()
    pipe = priced.home / "pipe"
    os.mkfifo(pipe)
    for place in (priced.path, priced.home, pipe, priced.home / "no-such-folder" / "x.csv"):
        result = priced("prices", "--out", str(place), "--force")
        assert result.code == 2 and str(place) in result.err, place
    assert priced.path.read_bytes() == book


def test_formulas_stay_text_on_the_way_out_and_in(priced: Deck) -> None:
    path = priced.home / "odd.csv"
    path.write_text("supplier,item,price\n'@Yard,'=1+1,3.00\n", "utf-8")
    assert priced("prices", str(path)).code == 0
    assert priced("prices", "--item", "=1+1", "--json").json["prices"][0]["supplier"] == "@Yard"
    out = priced.home / "out.csv"
    assert priced("prices", "--out", str(out)).code == 0
    assert "'@Yard,'=1+1,3.00" in out.read_text("utf-8")


def test_hostile_names_reach_the_terminal_harmless(deck: Deck) -> None:
    path = deck.home / "odd.csv"
    path.write_text("supplier,item,price\nYard\x1b[2J,[red]block[/red],3.00\n", "utf-8")
    assert deck("prices", str(path)).code == 0
    text = deck("prices").out
    assert "\x1b" not in text and "[red]block[/red]" in text


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"supplier,item,price\nYard,block,$8.90\nYard,cloth,58\n", r"list\.csv:2: price: '\$8\.90' has a currency sign"),
        (b"supplier,item\nYard,block\n", r"list\.csv:1: column price is missing"),
        ("supplier,item,price\nYard,\u00e9,1\n".encode("latin-1"), r"list\.csv:2: byte 0xe9 is not UTF-8"),
        (b"", r"list\.csv:1: the list is empty"),
    ],
)  # fmt: skip
def test_a_bad_list_is_told_and_changes_nothing(priced: Deck, data: bytes, says: str) -> None:
    before = priced("prices", "--json").out
    path = priced.home / "list.csv"
    path.write_bytes(data)
    result = priced("prices", str(path))
    assert result.code == 2 and re.search(says, result.err), result.err
    assert "nothing was taken" in result.err
    assert priced("prices", "--json").out == before


def test_a_huge_list_a_pipe_a_folder_and_nothing_are_refused_before_they_are_read(deck: Deck) -> None:
    huge, pipe = deck.home / "huge.csv", deck.home / "pipe"
    with huge.open("wb") as file:
        file.truncate(50 * 2**20)
    os.mkfifo(pipe)
    for path, says in (
        (huge, "52,428,800 bytes"),
        (pipe, "not a regular file"),
        (deck.home, "is a folder"),
        (Path("nope.csv"), "not there"),
    ):
        result = deck("prices", str(path))
        assert result.code == 2 and says in result.err
    assert not deck.path.exists()


@pytest.mark.parametrize(
    "words", [("a.csv", "--out", "b.csv"), ("a.csv", "--item", "x"), ("--force",), ("a.csv", "--force")]
)
def test_words_that_do_not_go_together(deck: Deck, words: tuple[str, ...]) -> None:
    result = deck("prices", *words)
    assert result.code == 2 and not deck.path.exists()


def test_the_sample_list_says_that_it_is_invented_and_prices_every_sample_job() -> None:
    file = sample_folder() / PRICES
    assert "nvented" in file.read_text("utf-8").splitlines()[0]
    listed = parse_prices(file.read_bytes(), file.name)
    book = PriceBook(listed.offers)
    for path in sorted(sample_folder().glob("*.toml")):
        job = parse_job_bytes(path.read_bytes(), path.name)
        lines = material_of(job.spec, book, Shelf().quick).lines
        unpriced = [line.item for line in lines if book.best(line.item, line.use_category) is None]
        assert unpriced == [], path.name
        unknown = {lot.supplier for lot in job.lots} - set(listed.terms)
        assert not unknown, path.name


def test_the_demo_has_the_sample_prices_one_supplier_s_are_old(deck: Deck, tmp_path: Path) -> None:
    from argparse import Namespace
    from datetime import date

    from tracker.book.opening import open_book
    from tracker.book.prices import price_book
    from tracker.commands.demo import fill
    from tracker.commands.session import Session
    from tracker.planning.pricing import stale

    for day in (date(2027, 2, 28),):
        path = tmp_path / f"{day}.book"
        fill(path, Session(Namespace(), ()), day)
        book = open_book(path)
        offers = price_book(book).offers
        book.close()
        assert {offer.supplier for offer in offers if stale(offer, day, 30)} == {"Stone Bay"}
        assert all(offer.seen is not None and offer.seen <= day for offer in offers)
