"""Nothing the screens show answers with what only a shell understands: no command, no option."""

from __future__ import annotations

import ast
import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.screens.conftest import NOW, at_the_keys, in_book
from tests.screens.test_reading import enter, open_check, stored
from tracker.book.hand import hand
from tracker.book.invoices import invoice
from tracker.book.money import accept_quote, quote
from tracker.book.moneyread import money_of
from tracker.book.opening import Book
from tracker.cli import COMMANDS
from tracker.planning.options import AS_DRAWN, Option
from tracker.screens.app import DeckApp
from tracker.screens.clears import ON_MONEY, by_keys
from tracker.screens.job import JobScreen
from tracker.trade.money import format_money

ROOT = Path(__file__).parents[2] / "tracker"
ROOMS = ("trade", "planning", "book", "reports", "screens")
COMMAND = "|".join(COMMANDS)
SHELL = re.compile(rf"deckjobs ({COMMAND})\b|(?<![\w-])--[a-z]")
OWN = {"screens/clears.py", "screens/tour.py"}
"""Where commands are named to be said by keys, and where the lesson of an empty book says what a shell can do besides."""


def texts() -> Iterator[tuple[str, str]]:
    """Every text of the program below the commands that holds a command or an option, and where it stands; what is put into
    it stands as X.
    """
    for room in ROOMS:
        for file in sorted((ROOT / room).rglob("*.py")):
            where = file.relative_to(ROOT).as_posix()
            if where in OWN:
                continue
            tree = ast.parse(file.read_text("utf-8"))
            docs = {
                id(node.value)
                for node in ast.walk(tree)
                if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
            }
            inside = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
            for node in ast.walk(tree):
                if isinstance(node, ast.JoinedStr):
                    text = "".join(str(part.value) if isinstance(part, ast.Constant) else "X" for part in node.values)
                elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs | inside:
                    text = node.value
                else:
                    continue
                if SHELL.search(text):
                    yield f"{where}:{node.lineno}", text


def test_no_message_answers_with_a_command_or_an_option() -> None:
    found = list(texts())
    assert len(found) > 100
    said = {where: by_keys(text) for where, text in found}
    assert {where: text for where, text in said.items() if SHELL.search(text)} == {}
    assert {where: text for where, text in said.items() if text.endswith((",", ";", ":"))} == {}


def test_what_clears_a_refusal_is_told_by_its_keys() -> None:
    # by hand: o signs off on the job's screen, p takes money in, and leaving things open is offered in the list itself
    assert by_keys("sign it off: deckjobs signoff 26-101 frame") == "sign it off: o on the job's screen"
    assert by_keys("count again; if they did come, say so with --anyway") == "count again; if they did come, say yes"
    assert by_keys("deckjobs signoff 26-101 hand-over --leave KEY=REASON") == "o on the job's screen"
    assert by_keys("make one: deckjobs quote 26-101 --record", ON_MONEY) == "make one: press q"
    assert by_keys("a beam of 2x8 -- or more") == "a beam of 2x8 -- or more"


WORDS = st.text("ab .,;:)('\"`-=R\u00e9", min_size=1, max_size=12)


@settings(max_examples=examples(100, 2000), deadline=None)
@given(WORDS)
@example(name="R. Stone")
@example(name="O'Brien")
@example(name="'it' \"is\"")
def test_a_command_goes_whole_with_the_words_in_its_quotes(name: str) -> None:
    """Messages quote as Python or as a shell does: nothing of the command is left over, and nothing after it is lost."""
    for quoted in {repr(name), shlex.quote(name)} - {name}:
        told = by_keys(f"they can allow it: deckjobs --as NAME people --allow {quoted}; or wait")
        assert told == "they can allow it: the office's list of people; or wait"
        told = by_keys(f"order it: deckjobs order 26-101 {quoted} COUNT, or wait")
        assert told == "order it: b, then o, or wait"
        told = by_keys(f"ask: `deckjobs --as {quoted} signoff 26-101 frame` is next")
        assert told == "ask: o on the job's screen is next"


async def test_who_may_not_waive_is_told_where_it_is_allowed(path: Path) -> None:
    app = DeckApp(path, "R. Stone", "tablet", lambda: NOW)
    async with at_the_keys(path, app=app, size=(120, 40)) as hands:
        await open_check(hands, "Frame", "square")
        await hands.press("escape", "w", until="why")
        await hands.type("no tape here", "enter")
        await hands.until("they can allow it: the office's list of people")
        assert "Stone'" not in hands.shown


async def test_an_empty_payment_is_what_is_due(path: Path) -> None:
    who = hand("M. Holt", NOW, "office")

    def sold(book: Book) -> int:
        quote(book, who, "26-101", [Option(AS_DRAWN, (), 1_000_00)])
        accept_quote(book, who, "26-101", AS_DRAWN)
        invoice(book, who, "26-101", [])
        return money_of(book, "26-101", NOW.date()).due_cents

    due = in_book(path, sold)
    assert due > 0
    async with at_the_keys(path) as hands:
        await hands.press("enter", until="planned ")
        await hands.press("c", until=f"{format_money(due)}")
        await hands.press("p", until="An empty amount is all that is due")
        await hands.press("enter", "enter", until=lambda: "What came in" not in hands.shown)
        await hands.until(lambda: in_book(path, lambda book: money_of(book, "26-101", NOW.date())).paid_cents == due)
        await hands.press("p", until="What came in?")
        await hands.press("enter", "enter", until="nothing is due")


async def test_the_money_screen_names_its_own_key_for_a_quote(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("enter", until="planned ")
        await hands.press("c", until="not quoted yet: press q")
        assert "on the money screen" not in hands.said


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_a_last_value_is_told_with_its_inch_mark(path: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(path, size=size) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, ("12' 3", "9' 2", "15' 4", "15' 4"))
        await hands.press("ctrl+s", until=lambda: isinstance(hands.app.screen, JobScreen))
        await hands.until(lambda: bool(stored(path, "square").readings))
        await hands.press("enter", until="last 12' 3\"")
