"""A price or a person put into the book by mistake."""

from __future__ import annotations

from tests.commands.conftest import Deck

LIST = "supplier,item,price\nYard One (invented),2x6x12,{}\nYard Two (invented),block,3.00\n"


def taken(deck: Deck, price: str) -> None:
    path = deck.home / "list.csv"
    path.write_text(LIST.format(price), "utf-8")
    assert deck("prices", str(path)).code == 0


def price_of(deck: Deck, item: str) -> list[int]:
    return [row["price_e4"] for row in deck("prices", "--json").json["prices"] if row["item"] == item]


def test_a_price_goes_back_to_the_one_before_step_by_step(deck: Deck) -> None:
    deck.take()
    taken(deck, "10.00")
    taken(deck, "12.00")
    taken(deck, "99.00")
    done = deck("prices", "--undo", "2x6x12", "--reason", "a slip of the comma")
    assert done.code == 0 and "2x6x12 of Yard One (invented) at $99.00 is taken back: it is $12.00 again" in done.out
    assert price_of(deck, "2x6x12") == [120_000]
    assert deck("prices", "--undo", "2X6X12", "--reason", "that neither").code == 0
    assert price_of(deck, "2x6x12") == [100_000]
    gone = deck("prices", "--undo", "2x6x12", "--reason", "wrong yard", "--supplier", "yard one (invented)")
    assert "there is no price of it from them any more" in gone.out and price_of(deck, "2x6x12") == []
    none = deck("prices", "--undo", "2x6x12", "--reason", "again")
    assert none.code == 2 and "no price of '2x6x12'" in none.err
    taken(deck, "11.00")
    assert price_of(deck, "2x6x12") == [110_000] and price_of(deck, "block") == [30_000]
    assert deck("prices", "--undo", "block").code == 2
    assert deck("prices", "--reason", "x").code == 2
    assert deck("doctor").code == 0


def test_a_person_added_by_mistake_is_marked_for_ever_and_may_nothing(deck: Deck) -> None:
    deck.take()
    deck("note", "101", "gate code 1234")
    deck("people", "--allow", "Rsoa")
    assert deck("people", "--remove", "Rsoa").code == 2
    done = deck("people", "--remove", "Rsoa", "--reason", "a typo")
    assert done.code == 0 and "added by mistake: a typo (Rosa (invented)," in done.out
    person = next(p for p in deck("people", "--json").json["people"] if p["name"] == "Rsoa")
    assert person["may_waive"] is False
    again = deck("people", "--remove", "Rsoa", "--reason", "a typo")
    assert again.code == 1 and "taken off already" in again.err
    signed = deck("people", "--remove", "Rosa (invented)", "--reason", "x")
    assert signed.code == 1 and "has signed" in signed.err
    missing = deck("people", "--remove", "Rso", "--reason", "x")
    assert missing.code == 2 and "there is no 'Rso'" in missing.err
    deck("--as", "Rsoa", "note", "101", "there is such a person")
    assert next(p for p in deck("people", "--json").json["people"] if p["name"] == "Rsoa")["role"] == "crew"
