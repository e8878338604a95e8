"""An option that would do nothing is refused, and so is one that is cut short: nobody is left to believe it counted."""

from __future__ import annotations

import pytest

from tests.commands.conftest import Deck
from tracker.cli import COMMANDS, find_command
from tracker.commands.figure import FIGURES

RECORDS_NOTHING = {word for word in COMMANDS if not find_command(word).records}
ID = "0190a000-0000-7000-8000-000000000001"


@pytest.mark.parametrize(
    "words",
    [
        "hours --summary --correct 12", "hours --summary --day yesterday", "hours --summary --who Ana", "hours --summary --reason x",
        "hours 101 --summary", "hours 101 --day yesterday", "hours 101 --correct 3", "hours 101 --who Ana",
        "hours 101 6h --reason x", "hours 101 --undo 3 --reason x --day yesterday", "hours 101 --undo 3 --reason x --correct 2",
        "draw 101 --force", "draw 101 --json --width 90", "draw 101 --json --layer frame", "draw 101 --json --ascii",
        "draw 101 --svg a.svg --width 90", "draw 101 --svg a.svg --tape", "draw 101 --svg a.svg --zoom 3",
        "quote 101 --record --html q.html", "quote 101 --replace --pdf q.pdf", "quote 101 --unpriced-too --show 1",
        "money 101 --reason x", "people --role lead", "people --remove Ana --reason x --role lead",
        "off --year 0", "off --works", "off --reason rain", "off today --year 2027", "off --job=",
        "check 101 --why", "check 101 square --receive", "check 101 square --anyway", "check 101 square --corrects 3",
        "check 101 delivery count=1 --anyway", "check 101 square --take-back --reason x --why",
        "check 101 square --take-back --reason x --anyway", "inspect 101 L1 count=1 --anyway",
        "signoff 101 visit --anyway", "calendar --force", "prices --undo 2x6x8 --reason x --force", "buy --force",
        "report --force", "report --paper a4", "change 101 plover.toml --reason wider", "figure --json",
        "figure guard --height 36 --post=", "figure layout --length 16-0 --spacing 16 --thickness=", "demo --print --date=",
        "report --date=", "history 101 --since=", "order 101 2x6x8 1 --promised=", "hours 101 6h --day=", "draw 101 --width=",
    ],
)  # fmt: skip
def test_an_option_that_would_do_nothing_is_refused(deck: Deck, words: str) -> None:
    deck.take()
    before = deck.path.read_bytes()
    result = deck(*words.split())
    assert (result.code, result.out) == (2, ""), result
    assert deck.path.read_bytes() == before
    assert {path.name for path in deck.home.iterdir()} <= {"jobs.book", "jobs.book-journal", "plover.toml", ".local"}


def test_the_demo_does_not_look_as_if_it_opened_a_book(deck: Deck) -> None:
    assert deck("demo", "--print", "--book", "my.book").code == 2


@pytest.mark.parametrize(
    "words",
    [*(f"{word}" for word in sorted(RECORDS_NOTHING - {"serve"})), "hours 101", "hours --summary", "check 101", "check 101 square",
     "punch 101", "care 101", "off", "undo 101", "money 101", "quote 101", "quote 101 --html q.html", "invoice 101 --show 1",
     "change 101 plover.toml"],
)  # fmt: skip
def test_the_id_of_an_entry_is_refused_where_none_is_made(deck: Deck, words: str) -> None:
    deck.take()
    needs = {
        "take": "plover.toml", "show": "101", "draw": "101", "packet": "101", "history": "101", "handover": "101", "verify": "x",
        "takeoff": "101", "cutlist": "101", "cost": "101", "price": "101", "backup": "x", "restore": "x", "figure": "stairs --rise 40",
        "ballpark": "10x12",
    }  # fmt: skip
    line = [*words.split(), *needs.get(words, "").split()]
    for argv in ([*line, "--id", ID], ["--id", ID, *line]):
        result = deck(*argv)
        assert (result.code, result.out) == (2, ""), result
        assert "no entry" in result.err or "this makes none" in result.err


def test_the_id_of_an_entry_counts_wherever_one_is_made(deck: Deck) -> None:
    deck.take()
    for number, words in enumerate(
        ("note 101 x", "hours 101 1h", "off tomorrow", "hold 101 --reason x", "punch 101 rail rough", "spend 101 5 strip fee",
         "order 101 2x6x8 1 --anyway --price 1")
    ):  # fmt: skip
        given = f"{ID[:-1]}{number}"
        first, again = deck(*words.split(), "--id", given), deck(*words.split(), "--id", given)
        assert first.code == again.code == 0, (words, first.err, again.err)
        assert again.out.startswith("already recorded")


@pytest.mark.parametrize(
    ("words", "near"),
    [("hours --summ", "--summary"), ("hours --sum --json", "--summary"), ("jobs --js", "--json"), ("--boo x jobs", "--book"),
     ("figure square --side 1 2 --diagonals 3 4", "--sides"), ("figure stairs --ris 40", "--rise"), ("figure --js", "--json"),
     ("waive 101 level --reas x", "--reason"), ("waive 101 level --reas=x", "--reason"), ("jobs --he", "--help"),
     ("--hel", "--help"), ("--vers", "--version"), ("demo --pri", "--print"), ("check 101 square --take", "--take-back"),
     ("figure permit --area 9 --height 9 --no-exit", "--no-exit-door"), ("serve --pub https://a.example", "--public-url")],
)  # fmt: skip
def test_an_option_cut_short_is_refused_and_the_whole_one_named(deck: Deck, words: str, near: str) -> None:
    result = deck(*words.split())
    assert (result.code, result.out) == (2, "")
    assert f"(did you mean {near}?)" in result.err
    assert not deck.path.exists()


def test_no_beginning_of_any_option_passes_for_it(deck: Deck) -> None:
    """Every option of every command and figure, cut short by one letter and more."""
    from tracker.commands.figure import figure_parser
    from tracker.commands.parser import new_parser

    parsers = {(f"figure {name}"): figure_parser(name) for name in FIGURES}
    for word in COMMANDS:
        parsers[word] = new_parser(f"deckjobs {word}", "")
        find_command(word).add(parsers[word])
    for words, parser in parsers.items():
        known = {text for action in parser._actions for text in action.option_strings}
        for option in known:
            for short in (option[:-1], option[:4]):
                if len(short) < 3 or short in known or short == option:
                    continue
                result = deck(*words.split(), short)
                assert result.code == 2 and f"unknown option {short}" in result.err, (words, short, result)
