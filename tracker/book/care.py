"""Looking after the book: a checked copy, putting a copy back, and a full examination."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path

from tracker.book.connection import BookConnection
from tracker.book.damaged import MENDS, damaged, put_back
from tracker.book.engine import in_words, take_write_lock
from tracker.book.examine import Examined, examined, made_on, mending, unreadable_versions
from tracker.book.opening import BUSY_MS, Book, book_at, integrity
from tracker.book.schema import PRAGMAS, TRUNCATE, Age, read_schema, sync_folder, vacuum_copy
from tracker.book.views import DoctorReport
from tracker.errors import BookError, InputError
from tracker.files import clear_passing, is_file, passing
from tracker.text import count


def backup(book: Book, target: Path) -> Path:
    """Write a whole, checked copy of the book to ``target``, a file that is not there yet. Returns its path.

    Raises InputError for a target that is there or has no folder, BookError when the copy cannot be written, or when the book
    holds kept versions that cannot be read: no copy of it would be put back.
    """
    try:
        if target.is_dir():
            raise InputError(f"{target} is a folder", "give a file name for the copy")
        if target.exists() or target.is_symlink():
            same = target.exists() and target.samefile(book.path)
            raise InputError(
                f"{target} is {'the book itself' if same else 'there already'}", "give a name that is not taken"
            )
        if not target.parent.is_dir():
            raise InputError(f"the folder {target.parent} does not exist", "make it first")
    except (OSError, ValueError) as error:
        raise InputError(f"{target} is no place for a copy: {_why(error)}", "give another name") from None
    with in_words(book.path):
        unread = unreadable_versions(book.path)
    if unread:
        raise damaged(book.path, unread[0])
    try:
        vacuum_copy(book.path, target, may_write=not book.view_only)
    except (OSError, sqlite3.Error) as error:
        raise BookError(f"the copy could not be written: {error}", "the book is as it was") from error
    return target


def _why(error: OSError | ValueError) -> str:
    return error.strerror if isinstance(error, OSError) and error.strerror else str(error)


def restore(path: Path, source: Path, *, busy_s: float = 10) -> Path | None:
    """Put the copy ``source`` in the place of the book at ``path``; returns where the replaced book was kept, if any.

    The copy is examined first; the book is replaced whole or not at all. Raises BookError when somebody still writes to it
    after ``busy_s`` seconds.
    """
    if not is_file(source):
        raise InputError(f"there is no file {source}", "give the copy to restore")
    path = path.resolve()  # a link stays a link: all programs go on with one file
    if path.exists() and path.samefile(source):
        raise InputError(f"{source} is the book itself", "give another file")
    try:
        schema = read_schema(source.resolve())
        if schema.age not in (Age.CURRENT, Age.BEHIND) or schema.strange or integrity(source.resolve()):
            raise BookError(f"{source} is not a sound deckjobs book", "nothing was changed; try an older copy")
        if unread := unreadable_versions(source.resolve()):
            raise BookError(
                f"{source} is not a sound deckjobs book: {unread[0]}", "nothing was changed; try an older copy"
            )
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
        with closing(sqlite3.connect(path, isolation_level=None, factory=BookConnection)) as db:
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
    """Examine a book from end to end, on a copy of its pages: the file is neither changed nor brought up to date.

    Raises BookError when there is no book to examine.
    """
    real, notices = book_at(path)
    found = examined(real)
    facts = (
        f"SQLite {sqlite3.sqlite_version}, journal TRUNCATE, synchronous FULL",
        f"{count(real.stat().st_size, 'byte')}",
        *(line for line in (made_on(found),) if line),
    )
    return DoctorReport(
        path=str(real),
        schema=found.schema,
        entries=found.entries,
        jobs=found.jobs,
        devices=found.devices,
        facts=facts,
        problems=tuple(found.problems),
        warnings=(*notices, *found.warnings),
        advice=_advice(real, found),
    )


def _advice(path: Path, found: Examined) -> str:
    if not found.problems:
        return ""
    if found.mended_whole:
        return MENDS
    return (f"{MENDS}; for anything else " if found.mendable else "") + put_back(path)


def mend(path: Path) -> tuple[str, ...]:
    """Take out triggers, views and indexes that another program put into a book, and put back those of ours that are missing.

    A copy is kept first, beside the book; rows and tables are not touched. Returns what was done, a line each; none when there
    is nothing to mend. Raises BookError when the book cannot be written.
    """
    real, _ = book_at(path)
    with in_words(real), closing(sqlite3.connect(real, isolation_level=None, factory=BookConnection)) as db:
        schema = read_schema(real, may_write=True)
        if schema.age not in (Age.CURRENT, Age.BEHIND):
            raise BookError(f"{real} is not a book of this deckjobs", "nothing was changed; run `deckjobs doctor`")
        if not any(mending(db, schema.revision)):
            return ()
        kept = real.with_name(f"{real.name}.before-mending-{datetime.now():%Y%m%d-%H%M%S-%f}")
        try:
            vacuum_copy(real, kept, may_write=True)
        except OSError as error:
            raise BookError(f"a copy could not be kept: {error.strerror}", "nothing was changed") from error
        for pragma in (*PRAGMAS, TRUNCATE):
            db.execute(f"PRAGMA {pragma}")
        take_write_lock(db, BUSY_MS)
        goes, comes = mending(db, schema.revision)
        for statement, _words in (*goes, *comes):
            db.execute(statement)
        db.execute("COMMIT")
    return (*(words for _, words in (*goes, *comes)), f"the book as it was is kept as {kept}")
