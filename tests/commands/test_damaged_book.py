"""A damaged book: every command says so and where to turn, none ends as a fault of ours, and doctor changes nothing.

The damage is made at random from one seed: flipped bits, bytes of ones, zeroed and overwritten pages, files cut short. A few
before every change, hundreds under ``TESTS_PROFILE=nightly``.
"""

from __future__ import annotations

import random
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.commands.conftest import Deck
from tests.often import examples
from tests.once import copy_once

SAMPLES = Path(__file__).parents[2] / "sample_jobs"
JOB = "26-014"
PAGE = 4096
COMMANDS = (
    ("doctor",), ("jobs",), ("report",), ("show", JOB), ("history", JOB), ("buy",), ("money", JOB), ("note", JOB, "seen"),
    ("check", JOB, "square", "14'", "12'", "18' 5-1/4", "18' 5-1/4"), ("takeoff", JOB), ("hours", JOB), ("prices",),
    ("rules",), ("letterhead",), ("people",), ("calendar", JOB), ("punch", JOB), ("paid", JOB, "10"),
)  # fmt: skip


def _fill(deck: Deck) -> None:
    for words in (
        ["take", str(SAMPLES / "26-014-fern-court.toml")],
        ["prices", str(SAMPLES / "prices.csv")],
        ["rules", "--set", "level=3/16"],
        ["letterhead", "--name", "Two Ponds Decks (invented)"],
        ["buy"],
    ):
        done = deck(*words)
        assert done.code == 0, done.err


@pytest.fixture
def filled(deck: Deck) -> Deck:
    """A book with a job under way, prices, rules and a letterhead."""
    copy_once(deck.path, "to be damaged", lambda _path: _fill(deck))
    return deck


def flipped(data: bytes, dice: random.Random) -> bytes:
    at = dice.randrange(len(data))
    return data[:at] + bytes([data[at] ^ 1 << dice.randrange(8)]) + data[at + 1 :]


def ones(data: bytes, dice: random.Random) -> bytes:
    at = dice.randrange(len(data))
    return data[:at] + b"\xff" + data[at + 1 :]


def in_a_text(data: bytes, dice: random.Random) -> bytes:
    """A byte that begins a longer character, in the middle of letters."""
    places = [at for at in range(dice.randrange(len(data) - 9000), len(data) - 2) if data[at : at + 2].isalpha()][:400]
    return ones(data, dice) if not places else data[: (at := dice.choice(places))] + b"\xc3" + data[at + 1 :]


def zeroed(data: bytes, dice: random.Random) -> bytes:
    at = dice.randrange(len(data) // PAGE) * PAGE
    return data[:at] + bytes(PAGE) + data[at + PAGE :]


def overwritten(data: bytes, dice: random.Random) -> bytes:
    at = dice.randrange(len(data) // PAGE) * PAGE
    return data[:at] + dice.randbytes(PAGE) + data[at + PAGE :]


def cut(data: bytes, dice: random.Random) -> bytes:
    return data[: len(data) - dice.choice((1, 100, PAGE, 3 * PAGE + 7, len(data) // 2))]


DAMAGE = (flipped, flipped, flipped, ones, ones, in_a_text, in_a_text, zeroed, overwritten, cut)


@pytest.mark.timeout(examples(240, 7200))
def test_no_damage_is_ever_a_fault_of_ours(filled: Deck) -> None:
    whole = filled.path.read_bytes()
    nightly = examples(0, 1)
    for number in range(examples(40, 500)):
        dice = random.Random(f"damage {number}")
        make = DAMAGE[number % len(DAMAGE)]
        data = make(whole, dice)
        for words in COMMANDS if nightly else dice.sample(COMMANDS, 2):
            filled.path.with_name("jobs.book-journal").unlink(missing_ok=True)
            filled.path.write_bytes(data)
            done = filled(*words)
            what = f"{make.__name__} {number}: {' '.join(words)}: {done.err}"
            assert done.code in (0, 1, 2, 3), what
            if words == ("doctor",):
                assert filled.path.read_bytes() == data, what
            if done.code == 3 and words != ("doctor",):
                assert ("deckjobs doctor" in done.err and "restore" in done.err) or "newer deckjobs" in done.err, what


def test_mending_from_a_shell(filled: Deck) -> None:
    assert filled("doctor", "--mend").out.startswith("nothing was to be mended")
    with closing(sqlite3.connect(filled.path)) as db:
        db.execute("DROP INDEX ix_entry_job_id_kind")
    assert filled("doctor").code == 3
    done = filled("doctor", "--mend", "--json")
    assert (done.code, done.json["problems"], done.json["mended"][0]) == (
        0, [], "index ix_entry_job_id_kind was put back",
    )  # fmt: skip
