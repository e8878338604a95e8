"""Entries: append-only, numbered, chained, ordered by a clock that never runs backwards on one device."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.book.conftest import DAY, hand_of
from tests.often import examples
from tracker.book.care import doctor
from tracker.book.gates import start
from tracker.book.hand import Hand
from tracker.book.hand import hand as make_hand
from tracker.book.ids import check_id, derived_id, new_id
from tracker.book.jobs import add_note, job_view
from tracker.book.opening import Book
from tracker.book.readings import record
from tracker.errors import ConflictError, InputError

Take = Callable[..., str]


def rows(book: Book, query: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(book.path)) as db:
        return db.execute(query).fetchall()


@pytest.mark.parametrize("statement", ["UPDATE entry SET who = 'Somebody'", "DELETE FROM entry"])
def test_the_database_itself_refuses_to_change_entries(book: Book, hand: Hand, take: Take, statement: str) -> None:
    add_note(book, hand, take(), "first visit")
    with closing(sqlite3.connect(book.path)) as db, pytest.raises(sqlite3.IntegrityError, match="never changed"):
        db.execute(statement)


@pytest.mark.parametrize(
    ("column", "value"),
    [("qty", 1.5), ("at_ms", "abc"), ("kind", "rumour"), ("qty", -1), ("job_id", "nobody"), ("who", ""), ("seq", 0)],
)
def test_the_database_itself_refuses_wrong_values(
    book: Book, hand: Hand, take: Take, column: str, value: object
) -> None:
    add_note(book, hand, take(), "first visit")
    with closing(sqlite3.connect(book.path)) as db:
        db.execute("PRAGMA foreign_keys=ON")
        db.row_factory = sqlite3.Row
        entry = dict(db.execute("SELECT * FROM entry").fetchone())
        entry |= {"arrived": None, "id": new_id(), "seq": 99, column: value}
        marks = ", ".join(f":{key}" for key in entry)
        with pytest.raises(sqlite3.IntegrityError):
            db.execute(f"INSERT INTO entry ({', '.join(entry)}) VALUES ({marks})", entry)


def test_the_same_id_records_once(book: Book, hand: Hand, take: Take) -> None:
    code, identity = take(), new_id()
    first = add_note(book, hand, code, "gate code 1234", entry_id=identity)
    second = add_note(book, hand, code, "gate code 1234", entry_id=identity.upper())
    assert (first.already, second.already, first.id) == (False, True, second.id)
    assert len(job_view(book, code, DAY).notes) == 1


def test_a_repeated_start_or_reading_is_already_recorded_not_refused(book: Book, hand: Hand, take: Take) -> None:
    code, one, two = take(), new_id(), new_id()
    start(book, hand, code, "visit", entry_id=one)
    assert start(book, hand, code, "visit", entry_id=one).already
    values = ("width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8")
    answer = record(book, hand, code, "square", values, entry_id=two).answer
    again = record(book, hand, code, "square", values, entry_id=two)
    assert again.already and again.answer == answer
    assert len(job_view(book, code, DAY).check("square").readings) == 1


def test_an_id_used_for_something_else_is_a_conflict(book: Book, hand: Hand, take: Take) -> None:
    from tracker.book.entries import Draft, append

    code, identity = take(), new_id()
    add_note(book, hand, code, "one", entry_id=identity)
    with book.writing() as session, pytest.raises(ConflictError, match="already names another entry"):
        append(session, hand, Draft("day", {}), identity)


def test_an_id_must_be_a_uuid() -> None:
    with pytest.raises(InputError, match="is not an id"):
        check_id("seven")


def test_ids_are_version_7_sorted_and_unique() -> None:
    # RFC 9562, section 5.7: 48 bits of Unix milliseconds, version 7, variant 10.
    ids = [new_id() for _ in range(2000)]
    assert len(set(ids)) == len(ids)
    assert all((UUID(i).version, UUID(i).variant) == (7, "specified in RFC 4122") for i in ids)
    assert UUID(derived_id(1_767_225_600_000, "a")).int >> 80 == 1_767_225_600_000
    assert derived_id(5, "a", "b") == derived_id(5, "a", "b") != derived_id(5, "ab")


def test_entries_of_a_device_are_numbered_and_chained(book: Book, take: Take) -> None:
    code = take()
    for device in ("one", "two", "one"):
        add_note(book, hand_of("Lead Wren", device=device), code, f"from {device}")
    found = rows(book, "SELECT device, seq, prev, digest FROM entry ORDER BY arrived")
    assert [(device, seq) for device, seq, _, _ in found] == [("one", 1), ("two", 1), ("one", 2)]
    assert (found[0][2], found[1][2], found[2][2]) == ("", "", found[0][3])


def test_a_clock_set_back_keeps_the_order_and_is_said(book: Book, take: Take) -> None:
    code = take()
    add_note(book, hand_of("Lead Wren"), code, "before")
    behind = add_note(book, hand_of("Lead Wren", DAY - timedelta(days=3650)), code, "after")
    assert behind.notices and "the clock is behind the last entry" in behind.notices[0]
    assert [note.text for note in job_view(book, code, DAY).notes] == ["before", "after"]
    clocks = [hlc for (hlc,) in rows(book, "SELECT hlc FROM entry ORDER BY arrived")]
    assert clocks == sorted(clocks)  # type: ignore[type-var]
    assert doctor(book.path).problems == ()


def test_another_devices_clock_years_ahead_does_not_drag_ours(book: Book, take: Take) -> None:
    code = take()
    add_note(book, hand_of("Lead Wren", date(2031, 5, 12), device="fast"), code, "from 2031")
    add_note(book, hand_of("Owner Plover", device="ours"), code, "from 2026")
    at_ms, hlc = rows(book, "SELECT at_ms, hlc FROM entry WHERE device = 'ours'")[0]
    assert isinstance(hlc, int) and hlc >> 16 == at_ms
    assert doctor(book.path).warnings == ("1 entry from a clock more than a day ahead",)


def test_a_reading_from_a_fast_clock_does_not_win_over_a_later_one(book: Book, take: Take) -> None:
    code = take()
    good = ("width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8")
    bad = ("width=11'", "depth=13'", "ac=17' 5/8", "bd=17' 1/8")
    record(book, hand_of("Lead Wren", date(2031, 5, 12), device="fast"), code, "square", good)
    record(book, hand_of("Owner Plover", device="ours"), code, "square", bad)
    assert job_view(book, code, DAY).check("square").state == "failed"


@pytest.mark.parametrize(
    "moment", ["1970-01-01T00:00:00+00:00", "2024-02-29T23:30:00-08:00", "2026-12-31T12:00:00+14:00"]
)
def test_odd_moments_are_kept(book: Book, take: Take, moment: str) -> None:
    code = take()
    by = make_hand("Lead Wren", datetime.fromisoformat(moment), "device-1")
    add_note(book, by, code, "odd")
    assert job_view(book, code, DAY).notes[-1].at == datetime.fromisoformat(moment).astimezone(UTC)


@settings(max_examples=examples(25, 500), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=st.text(min_size=1, max_size=300).filter(lambda t: t.strip() and "\0" not in t))
def test_any_text_comes_back_as_typed(book: Book, hand: Hand, take: Take, text: str) -> None:
    import unicodedata

    code = take()
    try:
        add_note(book, hand, code, text)
    except InputError as error:
        assert "not valid text" in error.message
        return
    assert job_view(book, code, DAY).notes[-1].text == unicodedata.normalize("NFC", text.strip())


def test_sql_in_names_is_only_text(book: Book, hand: Hand, take: Take) -> None:
    title = "'; DROP TABLE entry;--"
    code = take(title=title)
    add_note(book, hand_of("%_\\'\""), code, title)
    view = job_view(book, title, DAY)
    assert (view.line.title, view.notes[0].text, view.notes[0].who) == (title, title, "%_\\'\"")
