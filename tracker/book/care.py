"""Looking after the book: a checked copy, putting a copy back, and a full examination."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from sqlmodel import col, select

from tracker.book.engine import take_write_lock
from tracker.book.entries import DAY_MS, digest_of, moment_ms
from tracker.book.load import load_house, parsed
from tracker.book.opening import Book, integrity, open_book
from tracker.book.schema import Age, read_schema, sync_folder, vacuum_copy
from tracker.book.tables import BookRow, EntryRow, JobRow
from tracker.book.views import DoctorReport
from tracker.errors import BookError, InputError
from tracker.files import clear_passing, passing
from tracker.text import clean, count


def backup(book: Book, target: Path) -> Path:
    """Write a whole, checked copy of the book to ``target``, a file that is not there yet. Returns its path.

    Raises InputError for a target that is there or has no folder, BookError when the copy cannot be written.
    """
    if target.is_dir():
        raise InputError(f"{target} is a folder", "give a file name for the copy")
    if target.exists() or target.is_symlink():
        same = target.exists() and target.samefile(book.path)
        raise InputError(
            f"{target} is {'the book itself' if same else 'there already'}", "give a name that is not taken"
        )
    if not target.parent.is_dir():
        raise InputError(f"the folder {target.parent} does not exist", "make it first")
    try:
        vacuum_copy(book.path, target, may_write=not book.view_only)
    except (OSError, sqlite3.Error) as error:
        raise BookError(f"the copy could not be written: {error}", "the book is as it was") from error
    return target


def restore(path: Path, source: Path, *, busy_s: float = 10) -> Path | None:
    """Put the copy ``source`` in the place of the book at ``path``; returns where the replaced book was kept, if any.

    The copy is examined first; the book is replaced whole or not at all. Raises BookError when somebody still writes to it
    after ``busy_s`` seconds.
    """
    if not source.is_file():
        raise InputError(f"there is no file {source}", "give the copy to restore")
    path = path.resolve()  # a link stays a link: all programs go on with one file
    if path.exists() and path.samefile(source):
        raise InputError(f"{source} is the book itself", "give another file")
    try:
        if read_schema(source.resolve()).age not in (Age.CURRENT, Age.BEHIND) or integrity(source.resolve()):
            raise BookError(f"{source} is not a sound deckjobs book", "nothing was changed; try an older copy")
        clear_passing(path)
        part = passing(path, "restore")
        vacuum_copy(source.resolve(), part)
    except (OSError, sqlite3.Error) as error:
        raise BookError(
            f"{source} cannot be read as a book: {error}", "nothing was changed; try an older copy"
        ) from error
    try:
        if not path.exists():
            part.replace(path)
            return None
        kept = path.with_name(f"{path.name}.replaced-{datetime.now():%Y%m%d-%H%M%S-%f}")
        _swap(path, part, kept, busy_s)
        return kept
    finally:
        part.unlink(missing_ok=True)


def _swap(path: Path, part: Path, kept: Path, busy_s: float) -> None:
    """Keep the old book as ``kept`` and put ``part`` in its place while the write lock is held, so that no entry falls between.

    A book past reading is set aside as the bare file. Other windows notice that the file is another one (``Book``).
    """
    try:
        with closing(sqlite3.connect(path, isolation_level=None)) as db:
            take_write_lock(db, round(busy_s * 1000))
            vacuum_copy(path, kept)
            part.replace(path)
    except sqlite3.OperationalError as error:
        raise BookError(
            f"the book is in use: {error}", "close other windows and try again; nothing was changed"
        ) from error
    except sqlite3.DatabaseError:
        path.rename(kept)
        part.replace(path)
    path.with_name(path.name + "-journal").unlink(missing_ok=True)
    sync_folder(path.parent)


def doctor(path: Path) -> DoctorReport:
    """Examine a book from end to end without changing it. Raises BookError when it cannot even be opened."""
    book = open_book(path, create=False)
    try:
        try:
            problems = integrity(book.path)
        except sqlite3.Error as error:
            problems = [f"the file cannot be read through: {error}"]
        with book.reading() as session:
            entry_rows = session.exec(select(EntryRow).order_by(col(EntryRow.device), col(EntryRow.seq))).all()
            problems += _chain_problems(entry_rows)
            rows = session.exec(select(JobRow)).all()
            house = load_house(session)
            for row in rows:
                try:
                    parsed(book, row, house)
                except BookError as error:
                    problems.append(error.message)
            made = session.exec(select(BookRow)).first()
            devices = len({row.device for row in entry_rows})
        facts = (
            f"SQLite {sqlite3.sqlite_version}, journal TRUNCATE, synchronous FULL",
            f"{count(book.path.stat().st_size, 'byte')}",
            *((f"made {datetime.fromtimestamp(made.made_ms / 1000, UTC):%Y-%m-%d}",) if made else ()),
        )
        return DoctorReport(
            path=str(book.path),
            schema=read_schema(book.path).revision,
            entries=len(entry_rows),
            jobs=len(rows),
            devices=devices,
            facts=facts,
            problems=tuple(problems),
            warnings=(*book.notices, *_clock_warnings(entry_rows)),
        )
    finally:
        book.close()


def _chain_problems(rows: Sequence[EntryRow]) -> list[str]:
    """Entries changed on the disk, or missing from a device's numbers."""
    found: list[str] = []
    last: EntryRow | None = None
    for row in rows:
        device = clean(row.device)[:12]
        if last is None or last.device != row.device:
            expected, prev = 1, ""
        else:
            expected, prev = last.seq + 1, last.digest
        if row.seq != expected:
            found.append(f"device {device}: entries {expected} to {row.seq - 1} are missing")
        elif row.prev != prev:
            found.append(f"entry {row.id}: its chain to the entry before is broken")
        if digest_of(row) != row.digest:
            found.append(
                f"entry {row.id} of {row.day} by {clean(row.who)} was changed on the disk (its digest differs)"
            )
        last = row
    return found


def _clock_warnings(rows: Sequence[EntryRow]) -> list[str]:
    """Entries of a clock that ran ahead. One that ran behind looks like a job file's log of earlier days."""
    now = moment_ms(datetime.now(UTC))
    ahead = sum(row.at_ms > now + DAY_MS for row in rows)
    return [f"{count(ahead, 'entry', 'entries')} from a clock more than a day ahead"] if ahead else []
