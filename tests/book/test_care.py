"""Copies, restoring them, and the full examination."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from tests.book.conftest import DAY, hand_of
from tracker.book.care import backup, doctor, restore
from tracker.book.days import add_day_off
from tracker.book.hand import Hand
from tracker.book.jobs import add_note, job_view
from tracker.book.opening import Book, open_book
from tracker.book.people import allow, people
from tracker.errors import BookError, InputError, RefusedError

Take = Callable[..., str]


def notes(path: Path) -> list[str]:
    book = open_book(path, create=False)
    try:
        return [note.text for note in job_view(book, "26-101", DAY).notes]
    finally:
        book.close()


def test_a_backup_is_a_whole_book_and_never_overwrites(book: Book, hand: Hand, take: Take, tmp_path: Path) -> None:
    code = take()
    add_note(book, hand, code, "kept")
    copy = backup(book, tmp_path / "copy.book")
    assert copy.stat().st_mode & 0o777 == 0o600
    assert notes(copy) == ["kept"] and doctor(copy).problems == ()
    with pytest.raises(InputError, match="is there already"):
        backup(book, copy)
    with pytest.raises(InputError, match="is the book itself"):
        backup(book, book.path)
    with pytest.raises(InputError, match="is a folder"):
        backup(book, tmp_path)
    with pytest.raises(InputError, match="does not exist"):
        backup(book, tmp_path / "no" / "copy.book")


def test_a_backup_while_another_window_writes(book: Book, hand: Hand, take: Take, tmp_path: Path) -> None:
    code = take()
    with book.writing() as session:
        session.connection()
        copy = backup(book, tmp_path / "copy.book")
    add_note(book, hand, code, "after")
    assert notes(copy) == []


def test_restore_keeps_the_replaced_book(book: Book, hand: Hand, take: Take, tmp_path: Path) -> None:
    code = take()
    add_note(book, hand, code, "before")
    copy = backup(book, tmp_path / "copy.book")
    add_note(book, hand, code, "after")
    book.close()
    kept = restore(book.path, copy)
    assert kept is not None
    assert (notes(book.path), notes(kept)) == (["before"], ["before", "after"])
    assert doctor(book.path).problems == ()


def test_another_window_goes_on_in_the_restored_book(book: Book, hand: Hand, take: Take, tmp_path: Path) -> None:
    code = take()
    copy = backup(book, tmp_path / "copy.book")
    other = open_book(book.path)
    add_note(other, hand, code, "after the copy")
    restore(book.path, copy)
    assert job_view(other, code, DAY).notes == ()
    add_note(other, hand, code, "in the restored book")
    other.close()
    assert notes(book.path) == ["in the restored book"]


def test_restore_over_a_ruined_book(book: Book, hand: Hand, take: Take, tmp_path: Path) -> None:
    take()
    copy = backup(book, tmp_path / "copy.book")
    book.close()
    book.path.write_bytes(b"ruined" * 1000)
    kept = restore(book.path, copy)
    assert kept is not None and kept.read_bytes().startswith(b"ruined")
    assert notes(book.path) == []


@pytest.mark.parametrize(("content", "error"), [(b"dear diary" * 50, BookError), (b"", BookError)])
def test_restore_refuses_what_is_no_book(
    book: Book, take: Take, tmp_path: Path, content: bytes, error: type[Exception]
) -> None:
    take()
    wrong = tmp_path / "wrong.book"
    wrong.write_bytes(content)
    before = book.path.read_bytes()
    with pytest.raises(error):
        restore(book.path, wrong)
    with pytest.raises(InputError, match="there is no file"):
        restore(book.path, tmp_path / "nothing")
    with pytest.raises(InputError, match="is the book itself"):
        restore(book.path, book.path)
    assert book.path.read_bytes() == before


def test_restore_refuses_while_somebody_writes(book: Book, take: Take, tmp_path: Path) -> None:
    take()
    copy = backup(book, tmp_path / "copy.book")
    before = book.path.read_bytes()
    with book.writing() as session:
        session.connection()
        with pytest.raises(BookError, match="the book is in use"):
            restore(book.path, copy, busy_s=0.2)
    assert book.path.read_bytes() == before


def tamper(path: Path, statement: str) -> None:
    with closing(sqlite3.connect(path)) as db, db:
        for trigger in ("entry_no_update", "entry_no_delete"):
            db.execute(f"DROP TRIGGER {trigger}")
        db.execute(statement)


def test_doctor_finds_an_entry_changed_on_the_disk(book: Book, hand: Hand, take: Take) -> None:
    add_note(book, hand, take(), "beam is 42 in")
    book.close()
    tamper(book.path, """UPDATE entry SET body = replace(body, '42 in', '12 in')""")
    report = doctor(book.path)
    assert any("was changed on the disk" in problem for problem in report.problems)


def test_doctor_finds_missing_entries(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    for number in range(4):
        add_note(book, hand, code, f"note {number}")
    book.close()
    tamper(book.path, "DELETE FROM entry WHERE seq IN (2, 3)")
    assert any("entries 2 to 3 are missing" in problem for problem in doctor(book.path).problems)


def test_doctor_finds_a_damaged_page(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    for number in range(60):
        add_note(book, hand, code, f"note {number} " + "x" * 900)
    book.close()
    data = bytearray(book.path.read_bytes())
    where = data.rindex(b"note 30") // 4096 * 4096
    data[where : where + 4096] = b"\xa5" * 4096
    book.path.write_bytes(data)
    with pytest.raises(BookError, match="damaged") if not doctor_answers(book.path) else pytest.raises(AssertionError):
        assert not doctor(book.path).problems


def doctor_answers(path: Path) -> bool:
    try:
        doctor(path)
    except BookError:
        return False
    return True


def test_doctor_of_a_sound_book(book: Book, take: Take) -> None:
    take()
    report = doctor(book.path)
    assert (report.problems, report.jobs, report.warnings) == ((), 1, ())


def test_the_first_person_is_the_owner_and_passes_the_right_on(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    add_note(book, hand_of("Lead Wren"), code, "hello")
    assert [(p.name, p.role, p.may_waive) for p in people(book)] == [
        ("Lead Wren", "crew", False),
        ("Owner Plover", "owner", True),
    ]
    with pytest.raises(RefusedError, match="Lead Wren may not say who may waive"):
        allow(book, hand_of("Lead Wren"), "Lead Wren", may_waive=True)
    assert allow(book, hand, "Lead Wren", may_waive=True, role="lead").may_waive
    assert not allow(book, hand_of("Lead Wren"), "Owner Plover", may_waive=False).may_waive
    with pytest.raises(RefusedError, match="nobody could waive"):
        allow(book, hand_of("Lead Wren"), "Lead Wren", may_waive=False)


def test_days_off_and_rain_move_the_plan_and_can_be_taken_back(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    before = job_view(book, code, DAY).line.planned_end
    assert add_day_off(book, hand, DAY + timedelta(days=1), "fair").text == "Wed 13 May is a day off"
    add_day_off(book, hand, DAY, "storm", job=code, rain=True)
    after = job_view(book, code, DAY).line.planned_end
    assert after > before
    add_day_off(book, hand, DAY + timedelta(days=1), works=True)
    assert add_day_off(book, hand, DAY, job=code, rain=True, works=True).text == "Tue 12 May is a working day again"
    assert job_view(book, code, DAY).line.planned_end == before
