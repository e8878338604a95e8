"""Money by commands: what they print, what they refuse, which exit code the shell sees. Prices are invented."""

from __future__ import annotations

import re

import pytest

from tests.commands.conftest import Deck

PRICES = (
    '[prices]\n"2x6x12" = "12.00"\n"2x6x14" = "14.00"\n"5/4x6x12" = "15.00"\nblock = "8.90"\ncloth = "60.00"\n'
    'gravel = "50.00"\n"nails 16d" = "25.00"\n"screws 2-1/2" = "40.00"\n"screws 3" = "45.00"\n'
)


@pytest.fixture
def priced(deck: Deck) -> Deck:
    """A job with a price for everything it needs."""
    deck.take(more=PRICES)
    return deck


@pytest.fixture
def sold(priced: Deck) -> Deck:
    """The job quoted by hand at 5,000.00 and accepted."""
    assert priced("quote", "101", "--option", "as drawn: price=5000").code == 0
    assert priced("accept", "101").code == 0
    return priced


def test_a_price_shows_options_side_by_side_and_records_nothing(priced: Deck) -> None:
    before = priced.entries()
    done = priced("price", "101", "--option", "2x6 boards: board=2x6", "--equipment", "strip: compactor, 2 days at 85")
    assert done.code == 0, done.err
    header = next(line for line in done.out.splitlines() if "as drawn" in line)
    assert "2x6 boards" in header and "difference" in done.out and "$170.00" in done.out
    assert "--why shows" in done.out and "Local law decides" in done.out
    assert priced.entries() == before
    why = priced("price", "101", "--why").out
    assert "margin 20 % of the price" in why and "rounded once to the cent, halves away from zero" in why


def test_an_option_that_changes_nothing_says_so(priced: Deck) -> None:
    drawn = priced("takeoff", "101", "--json").out
    board = "5/4x6" if "5/4x6" in drawn else "2x6"
    said = f"the same changes nothing: the job is drawn with board {board}"
    assert said in priced("price", "101", "--option", f"the same: board={board}").out
    done = priced("quote", "101", "--option", f"the same: board={board}")
    assert done.code == 0 and said in done.out
    assert "changes nothing" not in priced("price", "101", "--option", "2x6 boards: board=2x6").out


def test_a_price_in_json_adds_up(priced: Deck) -> None:
    data = priced("price", "101", "--option", "2x6 boards: board=2x6", "--json").json
    assert [option["label"] for option in data["options"]] == ["as drawn", "2x6 boards"]
    for option in data["options"]:
        assert option["cost_cents"] == sum(line["cents"] for line in option["lines"])
        assert option["price_cents"] == option["cost_cents"] + option["overhead_cents"] + option["profit_cents"]
        assert option["total_cents"] == option["price_cents"] + option["tax_cents"]
        assert sum(option["price_by_phase_cents"].values()) == option["price_cents"]


def test_a_file_is_priced_like_the_job(priced: Deck) -> None:
    file = priced.file("other.toml", code="26-102", more=PRICES)
    assert priced("rules", "--hours", "pads=0.1", "--set", "labour_rate=60").code == 0
    of_file, of_job = priced("price", file, "--json").json, priced("price", "101", "--json").json
    assert of_file["options"] == of_job["options"]
    assert any("0.1 h x 40 blocks" in line["working"] for line in of_file["options"][0]["lines"])


@pytest.mark.parametrize(
    ("argv", "why"),
    [
        (("--option", "bord=2x6"), "did you mean board"), (("--equipment", "compactor 85"), "is not understood"),
        (("--equipment", "stripe: compactor, 85"), "did you mean strip"), (("--option", "x: board=9x9"), "option x"),
    ],
)  # fmt: skip
def test_what_is_not_understood_says_what_would_be_right(priced: Deck, argv: tuple[str, str], why: str) -> None:
    done = priced("price", "101", *argv)
    assert done.code == 2 and why in done.err and "Traceback" not in done.err


def test_from_quote_to_paid(sold: Deck) -> None:
    assert sold("invoice", "101").out == "recorded: invoice 1: $500.00 for deposit; $4,500.00 is still to invoice\n"
    waits = sold("invoice", "101", "--draw", "frame")
    assert waits.code == 1 and "Frame is not signed off" in waits.err
    extra = sold(
        "extra",
        "101",
        "350.00",
        "gate",
        "at",
        "the",
        "steps",
        "--cost",
        "90",
        "--hours",
        "2 x 1:30",
        "--phase",
        "frame",
    )
    assert extra.out == "recorded: change 1: +$350.00; the contract is now $5,350.00\n"
    assert (
        sold("extra", "101", "-50", "no oil").out.splitlines()[0]
        == "recorded: change 2: -$50.00; the contract is now $5,300.00"
    )
    assert (
        sold("paid", "101", "500.00", "check", "118", "--invoice", "1").out
        == "recorded: received $500.00; nothing is due\n"
    )
    assert sold("spend", "101", "85.00", "strip", "compactor").code == 0
    assert sold("terms", "101", "deposit=10%", "final=rest").code == 0
    money = sold("money", "101", "--json").json
    assert (money["contract_cents"], money["invoiced_cents"], money["to_invoice_cents"]) == (530_000, 50_000, 480_000)
    assert (money["paid_cents"], money["due_cents"], money["cost_cents"]) == (50_000, 0, 8_500)
    assert [draw["name"] for draw in money["draws"]] == ["deposit", "final", "change 1", "change 2"]
    assert sum(draw["cents"] for draw in money["draws"]) == 530_000
    frame = next(phase for phase in money["phases"] if phase["phase"] == "frame")
    assert frame["kinds"]["equipment"]["estimate_cents"] == 9_000
    page = sold("money", "101").out
    for words in ("is ready to invoice: change 1 and change 2", "CONTRACT", "change 1: gate at the steps", "check 118",
                  "COST BY PHASE, against quote 1, as drawn", "margin forecast", "cost 1"):  # fmt: skip
        assert words in page, words
    assert all(len(line) <= 80 for line in page.splitlines())


def test_taken_back_and_credited(sold: Deck) -> None:
    sold("invoice", "101")
    sold("paid", "101", "400")
    assert (
        sold("money", "101", "--undo", "payment 1", "--reason", "wrong job").out
        == "recorded: payment 1 taken back: wrong job\n"
    )
    assert sold("money", "101", "--undo", "payment 1", "--reason", "again").code == 2
    assert (
        sold("credit", "101", "1", "120.00", "--reason", "agreed").out
        == "recorded: credit note 2: $120.00 off invoice 1\n"
    )
    assert sold("credit", "101", "1", "380.01", "--reason", "agreed").code == 1
    assert sold("money", "101", "--json").json["due_cents"] == 38_000


def test_money_taken_back_stays_in_sight_and_in_no_sum(sold: Deck) -> None:
    sold("invoice", "101")
    sold("paid", "101", "400", "check", "11")
    sold("spend", "101", "85", "strip", "compactor")
    sold("money", "101", "--undo", "payment 1", "--reason", "check bounced")
    sold("money", "101", "--undo", "cost 1", "--reason", "other job")
    page = " ".join(sold("money", "101").out.split())
    assert "$500.00 invoiced, $0.00 paid" in page
    assert re.search(r"payment 1 received \$400.00, check 11; taken back [\w ]+: check bounced", page), page
    assert re.search(r"cost 1 \$85.00 spent on strip: compactor; taken back [\w ]+: other job", page), page
    told = sold("money", "101", "--json").json["taken_back"]
    assert [(one["name"], one["cents"], one["why"]) for one in told] == [
        ("payment 1", 40_000, "check bounced"),
        ("cost 1", 8_500, "other job"),
    ]
    history = " ".join(sold("history", "101").out.split())
    assert "taken back (received $400.00, check 11): check bounced" in history


def test_the_gates_of_money(priced: Deck) -> None:
    assert priced("invoice", "101").code == 1
    assert priced("accept", "101").code == 1
    lead = priced("--as", "Ana (invented)", "quote", "101", "--record")
    assert lead.code == 1 and "Ana (invented) may not quote" in lead.err
    assert priced("quote", "101", "--option", "2x6: board=2x6").code == 0
    unnamed = priced("accept", "101")
    assert unnamed.code == 2 and "as drawn or 2x6" in unnamed.err
    assert priced("accept", "101", "2x6", "--draw", "deposit=10%").code == 2
    assert priced("accept", "101", "2x6", "--draw", "deposit=10%", "--draw", "final=rest").code == 0
    assert priced("paid", "101", "1,5").code == 2
    assert priced("extra", "101", "10", "x", "--phase", "frame").code == 2


def test_the_money_of_a_job_that_nobody_quoted(deck: Deck) -> None:
    deck.take()
    page = deck("money", "101").out
    assert "not quoted yet: deckjobs quote 26-101" in page and "goods not priced, so in no figure: " in page
    refused = deck("quote", "101", "--record")
    assert refused.code == 1 and "so the quote would leave it out" in refused.err
    assert deck("quote", "101", "--unpriced-too").code == 0


def test_a_quote_alone_shows_what_stands_and_records_nothing(priced: Deck) -> None:
    none = priced("quote", "101")
    assert none.code == 0 and none.out.startswith("26-101 is not quoted yet.")
    assert priced("money", "101", "--json").json["quotes"] == []
    assert priced("quote", "101", "--json").json["quote"] is None
    assert priced("quote", "101", "--option", "as drawn: price=5000").code == 0
    shown = " ".join(priced("quote", "101").out.split())
    assert (
        shown.startswith("Quote 1 of 26-101 ") and "not accepted yet, priced by hand" in shown and "$5,000.00" in shown
    )
    found = priced("quote", "101", "--json").json
    assert (found["quote"]["number"], found["quote"]["by_hand"], found["accepted"]) == (1, True, None)
    assert len(priced("money", "101", "--json").json["quotes"]) == 1


def test_a_quote_priced_by_hand_is_replaced_only_on_purpose(priced: Deck) -> None:
    assert priced("quote", "101", "--option", "as drawn: price=5000").code == 0
    refused = priced("quote", "101", "--record")
    assert refused.code == 1
    assert (
        "quote 1 of Tue 12 May (as drawn $5,000.00, priced by hand) stands" in refused.err
        and "--replace" in refused.err
    )
    assert len(priced("money", "101", "--json").json["quotes"]) == 1
    done = priced("quote", "101", "--record", "--replace")
    assert done.code == 0
    assert "it takes the place of quote 1 of Tue 12 May (as drawn $5,000.00, priced by hand)" in " ".join(
        done.out.split()
    )


def test_a_quote_recorded_by_mistake_is_taken_back_unless_it_was_accepted(priced: Deck) -> None:
    assert priced("quote", "101", "--option", "as drawn: price=5000").code == 0
    assert priced("quote", "101", "--record", "--replace").code == 0
    assert priced("money", "101", "--undo", "quote 2", "--reason", "typed by mistake").code == 0
    assert priced("quote", "101", "--json").json["quote"]["number"] == 1, "the one before it stands again"
    assert priced("accept", "101").code == 0
    refused = priced("money", "101", "--undo", "quote 1", "--reason", "x")
    assert refused.code == 1 and "quote 1 was accepted: it is the contract" in refused.err
    assert "deckjobs money 26-101 --undo acceptance --reason TEXT" in " ".join(refused.err.split())
    assert priced("money", "101", "--undo", "acceptance", "--reason", "the client thought again").code == 0
    assert priced("money", "101", "--undo", "quote 1", "--reason", "x").code == 0
    assert priced("quote", "101", "--json").json["quote"] is None
    again = priced("quote", "101", "--record")
    assert "quote 3:" in again.out, "a number is never given twice"


def test_material_nobody_prices_is_not_priced_rather_than_at_least_nothing(deck: Deck) -> None:
    deck.take()
    page = " ".join(deck("price", "101").out.split())
    assert "material not priced" in page and "at least $0.00" not in page


def test_the_material_is_taxed_twice_only_on_purpose(deck: Deck) -> None:
    assert deck("rules", "--set", "tax_on_price=8.875").code == 0
    done = deck("rules", "--set", "tax_on_material=8.875")
    assert done.code == 1 and "taxed twice" in done.err
    assert "deckjobs rules --set tax_on_material=8.875 --set tax_on_price=0" in done.err
    assert deck("rules", "--set", "tax_on_material=7", "--set", "tax_on_price=0").code == 0, "one in the other's place"
    assert deck("rules", "--set", "tax_on_price=4").code == 1
    assert deck("rules", "--set", "tax_on_price=8.875", "--set", "tax_on_material=7").code == 0
