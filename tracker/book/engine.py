"""The SQLite engine exactly as the book needs it, and the errors it can throw turned into words.

Rollback journal TRUNCATE with synchronous FULL: one file at rest, readable on read-only media, nothing lost when the power
goes. Writers take the lock at BEGIN (IMMEDIATE): a deferred read that turns into a write would fail at once, or lose updates.
"""

from __future__ import annotations

import random
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool

from tracker.book.connection import BookConnection
from tracker.book.damaged import damaged, not_a_book
from tracker.book.schema import PRAGMAS, TRUNCATE, refuse_strange, strange_triggers
from tracker.errors import BookError

_TRY_AGAIN_S = (0.001, 0.006)


def make_engine(path: Path, *, busy_ms: int, view_only: bool = False) -> Engine:
    """An engine on the file at ``path``; ``view_only`` opens it immutable, for read-only folders.

    The path goes in through ``URL.create``: pasted into a URL string, names with %, ? or # open another file.
    """
    connect: dict[str, Any] = {"timeout": busy_ms / 1000, "check_same_thread": False, "factory": BookConnection}
    if view_only:
        uri = f"{path.as_uri()}?mode=ro&immutable=1"
        engine = create_engine(
            "sqlite://", creator=lambda: sqlite3.connect(uri, uri=True, **connect), poolclass=NullPool
        )
    else:
        engine = create_engine(URL.create("sqlite", database=str(path)), connect_args=connect)

    @event.listens_for(engine, "connect")
    def _set_up(dbapi: sqlite3.Connection, _record: object) -> None:
        dbapi.isolation_level = None
        dbapi.execute(f"PRAGMA busy_timeout={busy_ms}")
        for pragma in PRAGMAS:
            dbapi.execute(f"PRAGMA {pragma}")
        if not view_only:
            dbapi.execute(f"PRAGMA {TRUNCATE}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        if connection.get_execution_options().get("sqlite_begin") == "DEFERRED":
            connection.exec_driver_sql("BEGIN DEFERRED")
        else:
            dbapi = connection.connection.driver_connection
            take_write_lock(dbapi, busy_ms)
            if strange := strange_triggers(dbapi):
                dbapi.execute("ROLLBACK")
                refuse_strange(path, strange)

    return engine


def take_write_lock(dbapi: sqlite3.Connection, busy_ms: int) -> None:
    """BEGIN IMMEDIATE, tried again every few milliseconds for ``busy_ms``.

    SQLite's own wait sleeps up to 100 ms between tries, so that one busy writer can keep another out for the whole wait;
    short waits of random length find the gap between its transactions. Raises sqlite3.OperationalError when none is found.
    """
    deadline = time.monotonic() + busy_ms / 1000
    dbapi.execute("PRAGMA busy_timeout=0")
    try:
        while True:
            try:
                dbapi.execute("BEGIN IMMEDIATE")
                return
            except sqlite3.OperationalError as error:
                if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() >= deadline:
                    raise
            time.sleep(random.uniform(*_TRY_AGAIN_S))
    finally:
        dbapi.execute(f"PRAGMA busy_timeout={busy_ms}")


_BY_CODE = {
    "SQLITE_BUSY": ("the book is busy: another window or program is writing", "nothing was saved; try again in a moment"),
    "SQLITE_LOCKED": ("the book is busy: another window or program is writing", "nothing was saved; try again in a moment"),
    "SQLITE_FULL": ("the disk is full: this was not saved", "everything saved before is safe; free some space and repeat it"),
    "SQLITE_READONLY_DBMOVED": ("a copy was restored over the book meanwhile: this was not saved", "look at the restored book, then do it again"),
    "SQLITE_READONLY": ("the book or its folder is read-only: this was not saved", "make it writable, or give another --book"),
    "SQLITE_CANTOPEN": ("the book cannot be opened", "check that the folder exists and may be read and written"),
    "SQLITE_IOERR": ("the disk refused to read or write the book: this was not saved", "check the disk; saved entries are safe"),
    "SQLITE_PERM": ("this account may not use the book", "check who owns the file"),
    "SQLITE_AUTH": ("this account may not use the book", "check who owns the file"),
}  # fmt: skip


_WHILE_READING = {
    "SQLITE_BUSY": ("the book is busy: another window or program is writing", "try again in a moment"),
    "SQLITE_LOCKED": ("the book is busy: another window or program is writing", "try again in a moment"),
    "SQLITE_IOERR": ("the disk refused to read the book", "check the disk; saved entries are safe"),
}  # fmt: skip
"""Where nothing was to be saved, nothing is said of saving: what was saved just before would seem lost."""


def book_error(error: BaseException, path: Path, *, reads: bool = False) -> BookError | None:
    """The BookError for a database error, of a read that saves nothing where it ``reads``, or None when it is a fault of our own.

    Looks through causes and contexts for the first one: a clean-up step can hide "disk full".
    """
    chain: list[BaseException] = []
    seen: BaseException | None = error
    while seen is not None and seen not in chain:
        chain.append(seen)
        seen = seen.__cause__ or seen.__context__
    for link in reversed(chain):
        if isinstance(link, sqlite3.Error):
            name = getattr(link, "sqlite_errorname", "") or ""
            if name.startswith("SQLITE_NOTADB"):
                return not_a_book(path, "it is none that SQLite can read")
            if name.startswith("SQLITE_CORRUPT"):
                return damaged(path, "its pages do not hang together")
            if str(link).startswith("Could not decode"):  # by the driver, without a code
                return damaged(path, "it holds text that cannot be read")
            by_code = {**_BY_CODE, **_WHILE_READING} if reads else _BY_CODE
            for code, (message, hint) in by_code.items():
                if name.startswith(code):
                    return BookError(f"{message} ({path})", hint)
            if "locked" in str(link):
                message, hint = by_code["SQLITE_BUSY"]
                return BookError(f"{message} ({path})", hint)
    return None


@contextmanager
def in_words(path: Path, *, blame: bool = True, reads: bool = False) -> Iterator[None]:
    """Turn database errors inside the block, which only ``reads`` or not, into BookError; what is our own fault passes through.

    An error that says nothing of its cause is our own fault in a sound book, and the book's in a damaged one: the book is
    examined then, unless ``blame`` says that it is being examined already.
    """
    try:
        yield
    except (DBAPIError, sqlite3.Error, UnicodeDecodeError) as error:
        words = book_error(error, path, reads=reads)
        if words is None and blame:
            from tracker.book.examine import blamed

            words = blamed(path)
        if words is None:
            raise
        raise words from error
