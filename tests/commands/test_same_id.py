"""One id, one record, by every command that takes an id: repeated it is told, with anything else it is refused, both shown.

Jobs, prices and people are invented.
"""

from __future__ import annotations

import os
import pty
import sqlite3
import subprocess
import sys
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.book.conftest import hand_of
from tests.commands.conftest import Deck, job_text
from tests.commands.test_cli import ROOT
from tests.commands.test_money import PRICES
from tests.handed_over import hand_over
from tests.once import copy_once
from tracker.book.ids import new_id
from tracker.book.jobs import take_job
from tracker.book.opening import open_book
from tracker.cli import COMMANDS, find_command, main
from tracker.trade.jobfile import parse_job_bytes

ID = "0190f0f0-0000-7000-8000-00000000cafe"
GOOD = ("width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8")  # Pythagoras: 204.353 in
RACKED = ("width=11'", "depth=13'", "ac=17' 1", "bd=17'")
WHY = ("--reason", "typed wrong")


class Case(NamedTuple):
    """Two command lines of one command that say different things; ``before`` is done first, in the book of ``yard``."""

    first: Sequence[str]
    other: Sequence[str]
    before: Sequence[Sequence[str]] = ()
    code: int = 0


LOT_IN = (("receive", "101", "L1", "6"),)
USED = (*LOT_IN, ("use", "101", "L1", "4"))
CASES = {
    "check": Case(("check", "101", "square", *GOOD), ("check", "101", "square", *RACKED)),
    "check --take-back": Case(
        ("check", "101", "square", "--take-back", *WHY), ("check", "101", "square", "--take-back", "--reason", "other"),
        [("check", "101", "square", *GOOD)],
    ),
    "inspect": Case(
        ("inspect", "101", "L1", "count=6", "stamp=yes", "tag=UC4A", "moisture=30", "culls=0"),
        ("inspect", "101", "L1", "count=6", "stamp=no", "tag=UC4A", "moisture=30", "culls=2"), LOT_IN,
    ),
    "waive": Case(("waive", "101", "level", *WHY), ("waive", "101", "square", *WHY)),
    "start": Case(("start", "101", "layout", "--past", "rain"), ("start", "101", "layout", "--past", "the inspector")),
    "signoff": Case(("signoff", "102", "visit"), ("signoff", "102", "quote")),
    "hold": Case(("hold", "101", "quote", *WHY), ("hold", "101", "quote", "--reason", "two joists split")),
    "reopen": Case(("reopen", "101", "visit", *WHY), ("reopen", "101", "visit", "--reason", "a post leans")),
    "note": Case(("note", "101", "rain from noon"), ("note", "101", "gate code 4711")),
    "order": Case(("order", "101", "2x6x12", "4", "--anyway"), ("order", "101", "2x6x12", "9", "--anyway")),
    "receive": Case(("receive", "101", "L1", "3"), ("receive", "101", "L1", "4")),
    "receive, a ticket": Case(("receive", "101", "L1", "3", "L2", "2"), ("receive", "101", "L1", "3", "L2", "4")),
    "cancel": Case(("cancel", "101", "L1", "1", *WHY), ("cancel", "101", "L1", "2", *WHY)),
    "use": Case(("use", "101", "L1", "1"), ("use", "101", "L1", "2"), LOT_IN),
    "return": Case(("return", "101", "L1", "1"), ("return", "101", "L1", "2"), LOT_IN),
    "scrap": Case(("scrap", "101", "L1", "1"), ("scrap", "101", "L1", "2"), LOT_IN),
    "offcut": Case(("offcut", "101", "L1", "5'", "1"), ("offcut", "101", "L1", "4'", "1"), USED),
    "transfer": Case(("transfer", "101", "L1", "1", "102"), ("transfer", "101", "L1", "2", "102"), LOT_IN),
    "correct": Case(
        ("correct", "102", "1", "7", *WHY), ("correct", "102", "1", "8", *WHY), [("order", "102", "block", "5")]
    ),
    "undo": Case(
        ("undo", "102", "1", *WHY), ("undo", "102", "2", *WHY),
        [("note", "102", "left out"), ("order", "102", "block", "5")],
    ),
    "quote": Case(
        ("quote", "102", "--option", "as drawn: price=5000"), ("quote", "102", "--option", "as drawn: price=9000")
    ),
    "accept": Case(
        ("accept", "102", "--draw", "deposit=10%", "--draw", "final=rest"),
        ("accept", "102", "--draw", "deposit=20%", "--draw", "final=rest"),
        [("quote", "102", "--option", "as drawn: price=5000")],
    ),
    "terms": Case(("terms", "101", "deposit=10%", "final=rest"), ("terms", "101", "deposit=20%", "final=rest")),
    "extra": Case(("extra", "101", "350", "a gate"), ("extra", "101", "530", "a gate")),
    "invoice": Case(("invoice", "101", "100"), ("invoice", "101", "200")),
    "credit": Case(
        ("credit", "101", "1", "50", *WHY), ("credit", "101", "1", "60", *WHY), [("invoice", "101", "100")]
    ),
    "paid": Case(("paid", "101", "100"), ("paid", "101", "999")),
    "spend": Case(("spend", "101", "85", "strip", "dump fee"), ("spend", "101", "58", "strip", "dump fee")),
    "money": Case(
        ("money", "101", "--undo", "cost 1", *WHY), ("money", "101", "--undo", "cost 2", *WHY),
        [("spend", "101", "85", "strip", "dump fee"), ("spend", "101", "20", "strip", "dump fee")],
    ),
    "hours": Case(("hours", "101", "6h", "visit"), ("hours", "101", "7h", "visit")),
    "hours --undo": Case(
        ("hours", "101", "--undo", "1", *WHY), ("hours", "101", "--undo", "2", *WHY),
        [("hours", "101", "6h", "visit"), ("hours", "101", "1h", "visit")],
    ),
    "off": Case(("off", "2026-06-01", "2026-06-03"), ("off", "2026-06-01", "2026-06-04")),
    "off, of one job": Case(("off", "2026-06-01", "--job", "101"), ("off", "2026-06-01", "--job", "102")),
    "punch": Case(("punch", "101", "cap loose"), ("punch", "101", "rail rough")),
    "punch --done": Case(
        ("punch", "101", "--done", "1"), ("punch", "101", "--done", "2"),
        [("punch", "101", "cap loose"), ("punch", "101", "rail rough")],
    ),
    "care": Case(("care", "103", "--done", "wash"), ("care", "103", "--done", "look-over")),
    "care --end": Case(("care", "103", "--end", "sold"), ("care", "103", "--end", "moved away")),
    "change": Case(
        ("change", "101", "wider.toml", "--yes", *WHY), ("change", "101", "longer.toml", "--yes", *WHY)
    ),
}  # fmt: skip


def make_yard(path: Path, deck: Deck) -> None:
    """26-101 visited and sold with two lots to come, 26-102 untouched, 26-103 handed over."""
    deck.take(more=PRICES)
    for line in (
        ("signoff", "101", "visit"),
        ("order", "101", "2x6x14", "10", "--anyway"),
        ("order", "101", "block", "10", "--anyway"),
        ("quote", "101", "--option", "as drawn: price=5000"),
        ("accept", "101"),
        ("take", deck.file("other.toml", code="26-102", title="Quail Court platform", more=PRICES)),
    ):
        done = deck(*line)
        assert done.code == 0, done.err
    book, owner = open_book(path), hand_of("Rosa (invented)")
    take_job(book, owner, parse_job_bytes(job_text("26-103", "Heron Close platform").encode(), "job.toml"))
    hand_over(book, owner, "26-103", without=("care",))
    book.close()


@pytest.fixture
def yard(deck: Deck, monkeypatch: pytest.MonkeyPatch) -> Deck:
    """The command line on a copy of that book, in a folder with two changed job files."""
    copy_once(deck.path, "yard of ids", lambda path: make_yard(path, deck))
    monkeypatch.chdir(deck.home)
    size = """size = ["11'", "13'"]"""
    for name, text in (("wider.toml", """size = ["14'", "13'"]"""), ("longer.toml", """size = ["11'", "16'"]""")):
        Path(name).write_text(job_text(more=PRICES).replace(size, text), "utf-8")
    return deck


def entries(deck: Deck) -> list[tuple[object, ...]]:
    """Every entry as it stands in the file."""
    with closing(sqlite3.connect(deck.path)) as db:
        return db.execute("SELECT * FROM entry ORDER BY arrived").fetchall()


def test_every_command_that_takes_an_id_stands_in_the_table() -> None:
    recording = {word for word in COMMANDS if find_command(word).records}
    assert {case.first[0] for case in CASES.values()} == recording
    assert all(case.first[0] == case.other[0] and case.first != case.other for case in CASES.values())


@pytest.mark.parametrize("name", CASES)
def test_the_same_id_records_once_and_nothing_else_passes_for_it(yard: Deck, name: str) -> None:
    case = CASES[name]
    for line in case.before:
        done = yard(*line)
        assert done.code == 0, done.err
    before = entries(yard)
    first = yard(*case.first, "--id", ID)
    assert first.code in (0, 1) and "recorded: " in first.out, first.err
    kept = entries(yard)
    assert len(kept) > len(before)
    again = yard(*case.first, "--id", ID)
    assert again.code == first.code and "already recorded: " in again.out, again.err
    assert "Rosa (invented)" in again.out and entries(yard) == kept
    told = yard(*case.first, "--id", ID, "--json").json
    entry = told.get("entry") or told
    assert (entry["already"], entry["id"]) == (True, ID) and entry["text"] in again.out.replace("\n", " ")
    for line in (case.other, ("note", "102", "something else altogether")):
        refused = yard(*line, "--id", ID)
        assert refused.code == 4 and not refused.out.startswith("recorded"), (line, refused)
        both = refused.err.splitlines()[0].partition("already names another entry: ")[2]
        stands, _, sent = both.partition("; sent now: ")
        assert sent and stands != sent and entry["text"].partition(" (Rosa")[0] in stands, refused.err
        assert "nothing was written" in refused.err and entries(yard) == kept
    assert "something else altogether (" in refused.err
    own = yard(*case.other, "--id", new_id())  # under an id of its own it is recorded, or refused for what it is
    assert own.code in (0, 1, 2) and "already recorded" not in own.out


def test_a_command_that_records_nothing_takes_no_id(yard: Deck) -> None:
    for line in (("jobs",), ("people", "--allow", "Ben (invented)"), ("rules", "--set", "level=3/16")):
        for words in ((*line, "--id", ID), ("--id", ID, *line)):
            refused = yard(*words)
            assert refused.code == 2 and "leave --id out" in refused.err, words
    assert "--id" not in yard("jobs", "--help").out and "--id" in yard("note", "--help").out


def test_what_stands_and_what_was_sent_are_both_shown(yard: Deck) -> None:
    assert yard("paid", "101", "100", "check", "118", "--id", ID).code == 0
    refused = yard("paid", "101", "999", "check", "119", "--id", ID)
    assert refused.code == 4
    assert "received $100.00" in refused.err and "received $999.00" in refused.err
    failing = yard("check", "101", "square", *GOOD, "--id", new_id())
    assert failing.code == 0
    square = new_id()
    assert yard("check", "101", "square", *GOOD, "--id", square).code == 0
    racked = yard("check", "101", "square", *RACKED, "--id", square)
    assert racked.code == 4 and "PASS" not in racked.out and "Frame square failed" in racked.err


def test_a_failing_reading_repeated_fails_again(yard: Deck) -> None:
    first = yard("check", "101", "square", *RACKED, "--id", ID)
    again = yard("check", "101", "square", *RACKED, "--id", ID)
    assert (first.code, again.code) == (1, 1) and "already recorded" in again.out
    assert first.out.splitlines()[0] == again.out.splitlines()[0]


def test_another_person_is_not_the_same(yard: Deck) -> None:
    assert yard("note", "101", "rain", "--id", ID).code == 0
    other = yard("note", "101", "rain", "--id", ID, "--as", "Ben (invented)")
    assert other.code == 4 and "Rosa (invented)" in other.err and "Ben (invented)" in other.err


def test_what_was_taken_back_since_is_told(yard: Deck) -> None:
    assert yard("note", "102", "rain", "--id", ID).code == 0
    assert yard("undo", "102", "1", *WHY).code == 0
    again = yard("note", "102", "rain", "--id", ID)
    assert again.code == 0 and "already recorded" in again.out and "taken back since" in again.out


def lose_the_answer(*words: str) -> None:
    """Give a command whose answer goes to a full disk: recorded, and nobody was told."""
    with pytest.MonkeyPatch.context() as patch, Path("/dev/full").open("w") as full:
        patch.setattr(sys, "stdout", full)
        assert main(words) == 3


FULL = pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")


@FULL
def test_an_edited_file_is_not_the_change_order_whose_answer_was_lost(yard: Deck) -> None:
    words = ("change", "101", "wider.toml", "--yes", *WHY)
    lose_the_answer(*words)
    kept = entries(yard)
    Path("wider.toml").write_text(Path("longer.toml").read_text("utf-8"), "utf-8")
    refused = yard(*words)
    assert refused.code == 4 and "already recorded" not in refused.out, refused
    assert "its answer was lost" in refused.err and "give the command once more" in refused.err
    assert entries(yard) == kept
    done = yard(*words)
    assert done.code == 0 and "recorded: change order" in done.out and len(entries(yard)) > len(kept), done.err


@FULL
def test_the_change_order_whose_answer_was_lost_is_told_when_it_is_repeated(yard: Deck) -> None:
    words = ("change", "101", "wider.toml", "--yes", *WHY)
    lose_the_answer(*words)
    kept = entries(yard)
    again = yard(*words)
    assert again.code == 0 and "already recorded: change order" in again.out and entries(yard) == kept, again


@FULL
def test_yesterdays_command_without_an_answer_is_not_todays(yard: Deck, monkeypatch: pytest.MonkeyPatch) -> None:
    lose_the_answer("hours", "101", "6h", "visit")
    kept = entries(yard)
    monkeypatch.setenv("DECKJOBS_NOW", "2026-05-13T16:00")
    asked = yard("hours", "101", "6h", "visit")
    assert asked.code == 4 and "Tue 12 May" in asked.err and entries(yard) == kept, asked
    assert "give the command once more" in asked.err
    done = yard("hours", "101", "6h", "visit")
    assert done.code == 0 and len(entries(yard)) == len(kept) + 1, done


def test_the_same_payment_again_is_asked_about(yard: Deck) -> None:
    assert yard("paid", "101", "500", "check", "118").code == 0
    kept = entries(yard)
    again = yard("paid", "101", "500.00", "Check 118")
    assert again.code == 1 and "payment 1 ($500.00, check 118, Tue 12 May, by Rosa (invented))" in again.err
    assert "--anyway" in again.err and entries(yard) == kept
    for other in (("paid", "101", "500", "check", "119"), ("paid", "101", "501", "check", "118")):
        assert yard(*other).code == 0
    meant = yard("paid", "101", "500", "check", "118", "--anyway")
    assert meant.code == 0 and "payment 1 " in meant.out and len(entries(yard)) == len(kept) + 3
    for number in (1, 4):  # what is taken back stands no more
        assert yard("money", "101", "--undo", f"payment {number}", *WHY).code == 0
    assert yard("paid", "101", "500", "check", "118").code == 0


def at_a_terminal(deck: Deck, *argv: str, types: str) -> tuple[int, str]:
    """Run the real program in a pseudo-terminal and answer its question; gives the exit code and all that was shown."""
    master, slave = pty.openpty()
    where = {"PATH": os.environ["PATH"], "HOME": str(deck.home), "PYTHONPATH": str(ROOT), "TERM": "xterm"}
    where |= {name: os.environ[name] for name in ("TZ", "DECKJOBS_NOW", "DECKJOBS_AS", "DECKJOBS_BOOK")}
    with subprocess.Popen(
        [sys.executable, "-m", "tracker", *argv], env=where, cwd=deck.home, stdin=slave, stdout=slave, stderr=slave
    ) as child:
        os.close(slave)
        shown = b""
        while True:
            try:
                read = os.read(master, 4096)
            except OSError:  # the other end is closed: it has ended
                break
            if not read:
                break
            shown += read
            if types and b"Type yes" in shown:
                os.write(master, f"{types}\n".encode())
                types = ""
        code = child.wait(60)
    os.close(master)
    return code, shown.decode()


def test_at_a_terminal_the_same_payment_is_a_question(yard: Deck) -> None:
    assert yard("paid", "101", "500", "check", "118").code == 0
    kept = entries(yard)
    code, shown = at_a_terminal(yard, "paid", "101", "500", "check", "118", types="no")
    assert code == 1 and "payment 1 ($500.00, check 118" in shown and "nothing was recorded" in shown, shown
    assert "--anyway" not in shown and entries(yard) == kept
    code, shown = at_a_terminal(yard, "paid", "101", "500", "check", "118", types="yes")
    assert code == 0 and "recorded: received $500.00" in shown and len(entries(yard)) == len(kept) + 1, shown


def test_equal_notes_of_two_people_are_two_and_of_one_person_too(yard: Deck) -> None:
    for who in ("Rosa (invented)", "Ben (invented)"):
        first = yard("note", "101", "rain from noon", "--as", who)
        assert first.code == 0 and "stand" not in first.out
    again = yard("note", "101", "rain from noon")
    assert again.code == 0 and "says the same" in again.out
    assert yard("show", "101", "--json").out.count("rain from noon") == 3
