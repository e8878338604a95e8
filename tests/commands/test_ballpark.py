"""The first phone call from a shell: no job, no file, the answers of the form."""

from __future__ import annotations

from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from tests.commands.conftest import Deck
from tracker.book.opening import open_book
from tracker.book.proposal import preview
from tracker.trade.jobfile.ballpark import Asked, ballpark_form, sides_of
from tracker.trade.jobfile.form import JobForm
from tracker.trade.lengths import Unit

DAY = date(2026, 5, 12)
PRICES = Path(__file__).parents[2] / "sample_jobs" / "prices.csv"
SIMPLEST = ("ballpark", "10x12", "--height", "9-3/4in", "--ground", "ready")


def test_no_book_is_needed_and_none_is_made(deck: Deck) -> None:
    found = deck(*SIMPLEST)
    assert (found.code, found.err) == (0, "")
    assert not deck.path.exists()
    for said in ("a ballpark, not a quote", "carried by wood blocks: free-standing", "36 wood blocks", "CUTS", "not priced",
                 "ASK THE PERMIT OFFICE", "ASSUMED, NOBODY SAID IT", "a plain assumption", "frost moves them"):  # fmt: skip
        assert " ".join(said.split()) in " ".join(found.out.split()), said
    answer = deck(*SIMPLEST, "--json").json
    assert answer["support"] == {
        "support": "wood blocks", "why": "free-standing and a step high: no concrete and no stone",
    }  # fmt: skip
    # Nothing has a price: no range has an upper end, and nothing is said to be exact.
    assert answer["price_cents"]["high"] is None and answer["cost_cents"]["high"] is None
    assert (answer["cost_bound"], answer["job"]) == ("at least", None)
    assert {line["item"].split("x")[0] for line in answer["material"]} == {"2", "5/4", "nails 16d", "screws 2-1/2"}
    assert answer["cuts"]["proven"] and len(answer["plan"]["joists"]) == 9


def test_the_answers_are_those_of_the_form(deck: Deck) -> None:
    assert deck("prices", str(PRICES)).code == 0
    for words, asked in (
        ((), Asked("10x12")),
        (("--height", "8in"), Asked("10x12", "8in")),
        (("--attached", "--board", "composite"), Asked("10x12", attached=True, board="composite")),
        (("--height", "40in", "--stairs", "1"), Asked("10x12", "40in", stairs=1)),
    ):
        told = deck("ballpark", "10x12", *words, "--json").json
        with closing(open_book(deck.path)) as book:
            form = ballpark_form(asked, DAY, "26-001")
            seen = preview(book, form.source, DAY, proven=True)
        assert not seen.problems and seen.spec is not None
        assert told["frame"] == [text for frame in seen.frames for text in frame.facts]
        assert [(line["item"], line["quantity"], line["cost_cents"]) for line in told["material"]] == [
            (line.item, line.quantity, line.cost_cents) for line in seen.material
        ]
        assert (told["material_cents"], told["crew_days"]) == (seen.cost_cents, seen.crew_days_tenths / 10)
        assert told["permit"] == {"headline": seen.permit_headline, "ask": list(seen.permit)}
        assert told["support"]["support"] == seen.spec.platforms[0].support.value
        assert told["against"] == list(seen.against)


def test_with_prices_it_is_a_range_around_the_estimate(deck: Deck) -> None:
    assert deck("prices", str(PRICES)).code == 0
    found = deck(*SIMPLEST, "--json").json
    assert found["without_price"] == [] and found["price_bound"] == "exact"
    for key in ("cost_cents", "price_cents", "minutes"):
        assert found[key]["low"] < found[key]["estimated"] < found[key]["high"]
    assert found["spread"]["jobs"] == 0 and "a plain assumption" in found["spread"]["words"]


def test_nothing_is_recorded_until_it_is_taken(deck: Deck) -> None:
    deck.take()
    before = deck.entries()
    assert deck(*SIMPLEST).code == 0
    assert deck.entries() == before and len(deck("jobs", "--json").json["jobs"]) == 1
    taken = deck(*SIMPLEST, "--take", "--client", "Client Fox Hollow (invented)", "--json")
    assert taken.code == 0
    code = taken.json["job"]
    assert code == "26-102"
    lines = {line["item"]: line["quantity"] for line in deck("takeoff", code, "--json").json["lines"]}
    assert lines == {line["item"]: line["quantity"] for line in taken.json["material"]}
    assert deck("show", code, "--json").json["client"] == "Client Fox Hollow (invented)"


@pytest.mark.parametrize("thing", ["hot tub", "roof", "screen room"])
def test_what_no_deck_table_covers_is_said_on_the_phone_and_is_not_checked(deck: Deck, thing: str) -> None:
    words = ("ballpark", "12x14", "--attached", "--carries", thing.upper())
    found = " ".join(deck(*words).out.split())
    assert "DRAFT - NOT CHECKED: the design fails" in found and f"who designs it for the {thing}" in found
    told = deck(*words, "--take", "--json").json
    assert told["against"][0] == f"{thing} on the deck: beyond these tables: a designer"
    assert deck("show", told["job"], "--json").json["design"]["fails"] == told["against"][:1]
    assert "NOT CHECKED" not in deck("ballpark", "12x14", "--attached").out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("10",), "'10' is not a size\n  give width by depth in feet"),
        (("10xtwelve",), "'twelve' in the size"),
        (("10x12", "--height", "2in"), 'Height: 2" is out of range\n  it may be 4-1/2" to 14\''),
        (("10x12", "--height", "0"), 'Height: 0" is out of range\n  it may be 4-1/2" to 14\''),
        (("10x12", "--height", "30ft"), "Height: 30' is out of range\n  it may be 4-1/2\" to 14'"),
        (("10x12", "--stairs", "99"), "99 flights of stairs are more than a platform takes\n  give 0 to 6"),
        (
            ("4x4", "--height", "2ft", "--stairs", "5"),
            "no room for 5 flights of stairs 3' wide along its open sides\n  give 0 to 4",
        ),
        (("1000x1000",), "Width: 1000' is out of range\n  it may be 2' to 60'"),
        (("12x1000", "--attached"), "Depth: 1000' is out of range\n  it may be 2' to 60'"),
        (("10x12", "--board", "bamboo"), "Board: 'bamboo' is not a lumber size"),
        (("10x12", "--ground", "swamp"), "'swamp' is no ground\n  bare"),
        (("10x12", "--stairs", "two"), "flights"),
        (
            ("10x12", "--carries", "hot tubs"),
            "'hot tubs' is not taken here (did you mean hot tub?)\n  choose hot tub, roof",
        ),
        (("1x12",), "Width: 1' is out of range"),
    ],
)
def test_what_cannot_be_a_deck_is_said_in_words(deck: Deck, words: tuple[str, ...], says: str) -> None:
    found = deck("ballpark", *words)
    assert found.code == 2 and says in found.err and "Traceback" not in found.err
    assert not deck.path.exists()


@pytest.mark.parametrize(
    ("words", "beams"),
    [
        (("12x20", "--attached", "--board", "composite", "--height", "6ft"), 2),
        (("16x24", "--attached", "--height", "5ft"), 2),
        (("12x40", "--attached"), 3),
        (("20x30", "--height", "3ft"), 3),
        (("60x60", "--height", "14ft"), 6),
        (("12x60",), 0),
    ],
)
def test_a_deck_too_deep_for_one_span_gets_a_beam_between(deck: Deck, words: tuple[str, ...], beams: int) -> None:
    found = deck("ballpark", *words, "--json")
    assert found.code == 0, found.err
    answer = found.json
    assert answer["against"] == []
    stated = [line for line in answer["frame"] if line.startswith("beam ")]
    assert len(stated) == beams
    joists = [line for line in answer["frame"] if " joists 2x" in line]
    # The longest stock of the lumber tables is 20 ft: what is longer is joined, over a beam.
    assert all(("in pieces of" in line) == (int(words[0].split("x")[1]) > 20) for line in joists)


def test_flights_leave_from_sides_that_have_room(deck: Deck) -> None:
    answer = deck("ballpark", "7x12", "--attached", "--height", "2ft", "--stairs", "4", "--json").json
    assert answer["against"] == []
    form = ballpark_form(Asked("7x12", "2ft", attached=True, stairs=4), DAY, "26-001")
    assert [form.value(f"platform.0.stairs.{n}.edge") for n in range(4)] == ["", "", "left", "left"]
    crowded = JobForm({}, {key: text for key, text in form.typed.items() if not key.endswith(".edge")}, DAY, "26-001")
    with closing(open_book(deck.path)) as book:
        said = preview(book, crowded.source, DAY).against
    assert any("4 flights of stairs, 12' wide together, do not fit the 7' of the front" in line for line in said)


def test_the_lowest_deck_of_the_range_is_one(deck: Deck) -> None:
    for words in ((), ("--attached",)):
        assert deck("ballpark", "10x12", "--height", "4-1/2in", *words).code == 0


def test_the_form_says_why_there_is_a_beam_between() -> None:
    form = ballpark_form(Asked("12x20", "6ft", attached=True), DAY, "26-001")
    beams = form.suggestion(form.by_key["platform.0.beams"])
    # No southern pine No. 2 joist of DCA 6 Table 2 spans 18 ft at 16 in on center: 2x12s end at 16 ft 6 in.
    assert (beams.text, beams.why) == ("2", "1 would leave joists 18' between supports: too far")
    assert [form.value(f"platform.0.beam.{n}.at") for n in range(2)] == ["9'", "18'"]


def test_a_size_is_read_as_people_say_it() -> None:
    assert sides_of("10x12", Unit.INCH) == ("10'", "12'")
    assert sides_of("10-6 by 12", Unit.INCH) == ("10' 6\"", "12'")
    assert sides_of("3000x3600", Unit.MM) == ("3000 mm", "3600 mm")
