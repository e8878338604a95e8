"""Take-off, purchases and lots from the command line."""

from __future__ import annotations

import pytest

from tests.commands.conftest import Deck


def test_a_take_off_of_a_job_and_of_its_file_agree(deck: Deck) -> None:
    deck.take()
    file = deck.file()
    assert deck("takeoff", "101", "--json").json == deck("takeoff", file, "--json").json
    assert deck("takeoff", "101").out == deck("takeoff", file).out


def test_a_take_off_needs_no_book_for_a_file(deck: Deck) -> None:
    assert deck("takeoff", deck.file()).code == 0
    assert not deck.path.exists()


def test_why_shows_the_working_of_every_line(deck: Deck) -> None:
    file = deck.file()
    lines = deck("takeoff", file, "--json").json["lines"]
    assert lines and all(line["working"] for line in lines)
    flat = "".join(deck("takeoff", file, "--why").out.split())
    assert all("".join(step.split()) in flat for line in lines for step in line["working"])


def test_ordering_and_receiving_lowers_what_is_left_to_buy(deck: Deck) -> None:
    deck.take()
    need = next(n for n in deck("buy", "--json").json["needs"] if n["to_buy"] > 2)
    ordered = deck(
        "order", "101", need["item"], "2", "--supplier", "Yard One", "--promised", "2026-05-14", "--lot", "L1"
    )
    assert ordered.code == 0, ordered.err

    def now() -> dict[str, int]:
        return next(n for n in deck("buy", "101", "--json").json["needs"] if n["item"] == need["item"])

    assert (now()["on_order"], now()["to_buy"]) == (2, need["to_buy"] - 2)
    assert deck("receive", "101", "L1", "2").code == 0
    assert (now()["on_order"], now()["on_hand"]) == (0, 2)
    assert deck("use", "101", "L1", "1").code == 0
    assert deck("return", "101", "L1", "1").code == 0
    assert (now()["on_hand"], now()["used"], now()["to_buy"]) == (0, 1, need["to_buy"] - 1)
    lot = deck("show", "101", "--json").json["lots"][0]
    assert (lot["ordered"], lot["received"], lot["used"], lot["returned"], lot["scrapped"]) == (2, 2, 1, 1, 0)


def test_more_than_is_on_hand_is_refused(deck: Deck) -> None:
    deck.take()
    item = deck("buy", "--json").json["needs"][0]["item"]
    assert deck("order", "101", item, "5", "--lot", "L1").code == 0
    assert deck("receive", "101", "L1", "3").code == 0
    before = deck.entries()
    for word in ("use", "return", "scrap"):
        result = deck(word, "101", "L1", "4")
        assert result.code == 1 and "3" in result.err
    assert deck.entries() == before
    assert deck("scrap", "101", "L1", "3").code == 0


@pytest.mark.parametrize("count", ["-1", "0x2", "1.5", "two", "４", "٤", "1e3"])
def test_a_count_is_a_plain_whole_number(deck: Deck, count: str) -> None:
    deck.take()
    result = deck("order", "101", "2x6x12", count)
    assert result.code == 2 and "whole number" in result.err


@pytest.mark.parametrize("day", ["03/04/2026", "2026-02-30", "13/13/26", "0000-01-01", "99999-01-01", "soon"])
def test_a_date_is_never_guessed(deck: Deck, day: str) -> None:
    deck.take()
    for words in (["order", "101", "2x6x12", "1", "--promised", day], ["off", day], ["report", "--date", day]):
        result = deck(*words)
        assert result.code == 2 and "write it like 2026-05-12" in result.err


def test_buy_says_when_nothing_is_left(deck: Deck) -> None:
    deck.take()
    for need in deck("buy", "--json").json["needs"]:
        if need["to_buy"]:
            assert deck("order", "101", need["item"], str(need["to_buy"])).code == 0
    assert deck("buy").out.startswith("Nothing left to buy")


def test_an_item_typed_in_capitals_is_the_take_offs_item(deck: Deck) -> None:
    deck.take()
    told = deck("order", "26-101", "2X6X12", "4", "--supplier", "Yard One")
    assert told.code == 0 and "2x6x12" in told.out and "2X6X12" not in told.out + told.err
    assert "not on the take-off" not in told.out + told.err
    assert "2X6X12" not in deck("show", "26-101", "--json").out
