"""What was short and has come since is nowhere told as to be got: every surface says that Delivery is to be read again."""

from __future__ import annotations

import re

from tests.commands.conftest import Deck

AGAIN = "read Delivery again: count L1"


def advice(told: object) -> str:
    """What a JSON answer says, without the readings as they were when they were taken."""
    match told:
        case dict():
            return " ".join(advice(value) for key, value in told.items() if key != "readings")
        case list():
            return " ".join(advice(value) for value in told)
    return str(told)


def test_what_came_since_a_failed_delivery_is_to_be_read_again_everywhere(deck: Deck) -> None:
    deck.take()
    deck("order", "101", "hanger 2x8", "20", "--lot", "L1", "--anyway")
    deck("receive", "101", "L1", "7")
    failed = deck("check", "101", "delivery", "L1.count=7")
    assert "get 13 more of hanger 2x8 (L1)" in failed.out  # 20 ordered, 7 counted
    deck("receive", "101", "L1", "13")
    told = {
        "show": deck("show", "101").out,
        "jobs": deck("jobs").out,
        "report": deck("report").out,
        "packet": deck("packet", "101").out,
        "show --json": advice(deck("show", "101", "--json").json),
        "report --json": advice(deck("report", "--json").json),
        "jobs --json": advice(deck("jobs", "--json").json),
    }
    told = {surface: " ".join(text.split()) for surface, text in told.items()}
    assert {surface: text for surface, text in told.items() if re.search(r"\b13 (short|more of hanger)", text)} == {}
    for surface in ("show", "report", "show --json"):
        assert AGAIN in told[surface], surface
    assert "13 came since the count" in told["jobs"] + told["packet"]
