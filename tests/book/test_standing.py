"""A past day reads as it was known that evening, whatever the owner edits later."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.book.conftest import DAY, hand_of, job_text
from tests.book.test_durability import step
from tests.often import examples
from tracker.book.houserules import set_house_rules, take_rules_file
from tracker.book.jobs import add_note, take_job
from tracker.book.lots import order
from tracker.book.opening import Book, open_book
from tracker.book.prices import load_prices, take_prices
from tracker.book.sheet import day_sheet
from tracker.reports.jsonable import sheet_json
from tracker.trade.jobfile import parse_job_bytes

LATER = DAY + timedelta(days=60)
LOT = """
[[lot]]
code = "A1"
item = "2x6x14"
supplier = "{supplier}"
ordered = 3
"""


def evening(book: Book, day: date) -> str:
    """The sheet of a day as text, made on a later day."""
    return json.dumps(sheet_json(day_sheet(book, day)), sort_keys=True)


def take(book: Book, day: date, **how: object) -> None:
    text = job_text(**how)  # type: ignore[arg-type]
    take_job(book, hand_of("Owner Plover", day), parse_job_bytes(text.encode(), "job.toml"))


def prices(book: Book, day: date, cents: int, lead: int = 1) -> None:
    text = f"supplier,item,price,pack,seen,lead_days,delivery,minimum\nYard One,2x6x14,{cents // 100}.{cents % 100:02},1,,{lead},0,0\n"
    take_prices(book, hand_of("Owner Plover", day), text.encode(), "prices.csv")


def wider(book: Book, day: date, feet: int) -> None:
    text = job_text().replace('"11\'"', f'"{feet}\'"')
    take_job(book, hand_of("Owner Plover", day), parse_job_bytes(text.encode(), "job.toml"))


EDITS: dict[str, Callable[[Book, date], object]] = {
    "a job": lambda book, day: take(book, day, code="26-102", title="Second platform"),
    "another title": lambda book, day: take(book, day, title="Platform behind the shed"),
    "a permit, so other phases": lambda book, day: take(book, day, permit=True, digging=True),
    "a wider deck": lambda book, day: wider(book, day, 15),
    "a lot": lambda book, day: take(book, day, more=LOT.format(supplier="Yard One")),
    "the lot's supplier": lambda book, day: take(book, day, more=LOT.format(supplier="Mill Gate")),
    "a price": lambda book, day: prices(book, day, 1815),
    "a dearer price": lambda book, day: prices(book, day, 2240, lead=4),
    "a rule": lambda book, day: set_house_rules(book, hand_of("Owner Plover", day), {"crown_most": "1/2 in"}),
    "more waste": lambda book, day: set_house_rules(book, hand_of("Owner Plover", day), {"culls_framing": "20"}),
    "no rule": lambda book, day: set_house_rules(book, hand_of("Owner Plover", day), {"culls_framing": ""}),
    "a phase left out": lambda book, day: take_rules_file(
        book, hand_of("Owner Plover", day), b"[phases.visit]\nskip = true\n", "rules.toml"
    ),
    "a note": lambda book, day: add_note(book, hand_of("Owner Plover", day), "26-101", "seen"),
    "an order": lambda book, day: order(book, hand_of("Owner Plover", day), "26-101", "2x6x14", 2),
}


@settings(max_examples=examples(8, 160), deadline=None)
@given(st.lists(st.tuples(st.sampled_from(sorted(EDITS)), st.integers(0, 2)), min_size=2, max_size=8))
def test_every_evening_reads_the_same_after_all_later_edits(edits: list[tuple[str, int]]) -> None:
    with TemporaryDirectory() as folder, closing(open_book(Path(folder) / "jobs.book")) as book:
        day, known = DAY, {}
        take(book, day)
        for name, pause in edits:
            if pause:
                known[day] = evening(book, day)
                day += timedelta(days=pause)
            EDITS[name](book, day)
        assert {then: evening(book, then) for then in known} == known


@pytest.mark.parametrize("name", [name for name in EDITS if name not in ("no rule", "the lot's supplier")])
def test_an_edit_shows_from_its_own_day_on(book: Book, name: str) -> None:
    take(book, DAY)
    prices(book, DAY, 1500)
    day = DAY + timedelta(days=1)
    before, same_day = evening(book, DAY), evening(book, day)
    EDITS[name](book, day)
    assert evening(book, DAY) == before
    if name not in ("a rule",):  # its check has no reading yet: nothing on the sheet hangs on it
        assert evening(book, day) != same_day


def test_an_unchanged_row_leaves_no_second_version_and_none_is_ever_changed(book: Book) -> None:
    def versions() -> list[tuple[str, int]]:
        with closing(sqlite3.connect(book.path)) as db:
            return db.execute("SELECT kind, count(*) FROM standing GROUP BY kind ORDER BY kind").fetchall()

    for day in (DAY, DAY + timedelta(days=1)):
        take(book, day)
        prices(book, day, 1815)
        EDITS["a rule"](book, day)
    assert versions() == [("house_rule", 1), ("job", 1), ("price", 1), ("supplier", 1)]
    for change in ("UPDATE standing SET day = ''", "DELETE FROM standing"):
        with closing(sqlite3.connect(book.path)) as db, pytest.raises(sqlite3.IntegrityError, match="never changed"):
            db.execute(change)


def test_a_price_taken_after_the_clock_was_set_back_is_none_before_its_supplier_is_known(book: Book) -> None:
    take(book, DAY)
    prices(book, DAY + timedelta(days=3), 1815)
    prices(book, DAY + timedelta(days=1), 2015)
    with book.reading() as session:
        assert load_prices(session, DAY + timedelta(days=1)).offers == ()
        assert len(load_prices(session, DAY + timedelta(days=3)).offers) == 1


def test_what_a_book_held_before_versions_were_kept_counts_as_known_from_ever(tmp_path: Path) -> None:
    path = tmp_path / "jobs.book"
    with closing(open_book(path)) as book:
        take(book, DAY, more=LOT.format(supplier="Yard One"))
        prices(book, DAY, 1815)
        EDITS["more waste"](book, DAY)
        known = evening(book, DAY)
    step(path, "0003", down=True)
    with closing(open_book(path)) as book:
        assert evening(book, DAY) == known
        EDITS["a wider deck"](book, DAY + timedelta(days=1))
        EDITS["a dearer price"](book, DAY + timedelta(days=1))
        assert evening(book, DAY) == known
