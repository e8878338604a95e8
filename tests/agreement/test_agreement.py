"""One fact, one answer: whatever surface is asked, of whatever book, in whatever order; and every sum is that of its lines.

A larger part runs by night (``TESTS_PROFILE=nightly``), or where ``AGREEMENT`` names how many books to drive.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path
from random import Random

import pytest

from tests.agreement.driving import Driver
from tests.agreement.facts import Facts
from tests.agreement.gathering import Once, gather
from tests.agreement.surfaces import OF_A_JOB, OF_ALL
from tests.commands.conftest import Deck, job_text
from tests.often import examples
from tracker.book.samples import sample_files, sample_folder

DAY = date(2026, 5, 12)
SHARED = Path(__file__).parents[3] / "shared" / "data" / "jobs"
BOOKS = int(os.environ.get("AGREEMENT", examples(2, 40)))
STEPS, LOOKS = 24, 3
EVERY = 5 if BOOKS < 10 else 1
"""Of the further jobs, one in so many is looked at."""
LEANING = ("show", "takeoff", "cutlist", "buy", "cost", "price", "packet", "money")
"""Commands of a job that lean on its cut plans."""


def _samples(deck: Deck) -> None:
    assert deck("prices", str(sample_folder() / "prices.csv")).code == 0
    assert deck("take", *map(str, sample_files())).code == 0


def _agrees(facts: Facts, least: int) -> None:
    found = list(facts.disagreements())
    assert not found, f"{len(found)} of {facts.compared} comparisons disagree:\n" + "\n".join(found[:60])
    assert facts.compared >= least


def test_every_surface_tells_the_same_of_the_sample_jobs(deck: Deck) -> None:
    _samples(deck)
    _agrees(gather(deck, deck.path, DAY, deck.home), 6000)


@pytest.mark.skipif(not SHARED.is_dir(), reason="no further job files beside this checkout")
def test_every_surface_tells_the_same_of_further_jobs(deck: Deck) -> None:
    assert deck("prices", str(sample_folder() / "prices.csv")).code == 0
    for file in sorted(SHARED.glob("*.toml"))[::EVERY]:
        assert deck("take", str(file)).code == 0
    _agrees(gather(deck, deck.path, DAY, deck.home), 1000)


@pytest.mark.parametrize("seed", range(BOOKS))
def test_every_surface_tells_the_same_of_a_book_driven_at_random(
    deck: Deck, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    driver = Driver(deck, monkeypatch, deck.home, seed)
    driver.act("prices", str(sample_folder() / "prices.csv"))
    for code, title in (("26-101", "Plover Lane platform"), ("26-102", "Wren Court platform")):
        (deck.home / f"{code}.toml").write_text(job_text(code, title), "utf-8")
        assert driver.act("take", str(deck.home / f"{code}.toml")).code == 0
    for look in range(LOOKS):
        for _ in range(STEPS):
            driver.step()
        facts = gather(deck, deck.path, driver.day, deck.home, order=Random(seed + look), paper=look == LOOKS - 1)
        found = list(facts.disagreements())
        assert not found, "\n".join([*found[:40], "after:", driver.story])
    for day, told in driver.sheets.items():
        assert deck("report", "--date", day.isoformat(), "--json").out == told, (day, driver.story)


def test_asking_again_in_another_order_gives_the_same_answers(deck: Deck) -> None:
    _samples(deck)
    jobs = [line["job"] for line in deck("jobs", "--json").json["jobs"]][:3]
    answers: list[dict[tuple[str, ...], str]] = []
    for turn in range(2):
        once, facts = Once(deck), Facts()
        readers = [(read, ()) for read in OF_ALL] + [(read, (job,)) for read in OF_A_JOB for job in jobs]
        Random(turn).shuffle(readers)
        for read, args in readers:
            read(once, facts, *args)
        answers.append({argv: answer.out for argv, answer in once.answers.items()})
    assert answers[0].keys() == answers[1].keys()
    assert [argv for argv in answers[0] if answers[0][argv] != answers[1][argv]] == []


def test_no_answer_hangs_on_what_was_worked_out_before(deck: Deck) -> None:
    _samples(deck)
    changed = deck.home / "dearer.csv"
    changed.write_text(
        "supplier,item,price,pack,seen\nYard One,2x8x16,9.10,1,2026-05-12\nYard One,5/4x6x12,31.00,1,2026-05-12\n"
    )
    assert deck("prices", str(changed)).code == 0
    asked = [("jobs",), ("report",), ("report", "--date", "2026-05-11"), ("buy",)]
    asked += [(command, job) for job in ("26-015", "26-021", "26-023") for command in LEANING]
    kept = {argv: deck(*argv, "--json").out for argv in asked}
    for argv in reversed(asked):
        with closing(sqlite3.connect(deck.path)) as connection, connection:
            connection.execute("DELETE FROM cut_plan")
        assert deck(*argv, "--json").out == kept[argv], argv
