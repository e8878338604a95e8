"""Which schema a file has, by plain SQL, and bringing it up to date by Alembic, imported only when it is behind."""

from __future__ import annotations

import os
import shutil
import sqlite3
import sys
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from enum import Enum, auto
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.book.connection import BookConnection
from tracker.book.damaged import damaged
from tracker.errors import BookError
from tracker.files import clear_passing, passing

if TYPE_CHECKING:
    from alembic.config import Config
    from sqlalchemy import Connection

APPLICATION_ID = 0x44434B4A
HEAD = "0006"
KNOWN = ("0001", "0002", "0003", "0004", "0005", "0006")
COPIES_KEPT = 10
PRAGMAS = ("synchronous=FULL", "foreign_keys=ON", "trusted_schema=OFF", "cell_size_check=ON")
"""What every connection to a book is set to."""
TRUNCATE = "journal_mode=TRUNCATE"
"""What every connection that writes is set to besides."""


_NEVER_CHANGED = {
    "entry": "entries are never changed: record a correcting entry",
    "standing": "versions of standing rows are never changed",
}
TRIGGERS = {
    f"{table}_no_{verb.lower()}": f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
    f"BEGIN SELECT RAISE(ABORT, '{why}'); END"
    for table, why in _NEVER_CHANGED.items()
    for verb in ("UPDATE", "DELETE")
}
"""The triggers a book has, as the migrations make them: they keep what was recorded from being changed."""


class Age(Enum):
    """What a file is to this program."""

    EMPTY = auto()
    BEHIND = auto()
    CURRENT = auto()
    NEWER = auto()
    FOREIGN = auto()
    MUDDLED = auto()


@dataclass(frozen=True, slots=True)
class Schema:
    """A file's age and the revision it names; ``strange`` are triggers that are not ours, ``lost`` those of ours it lacks."""

    age: Age
    revision: str = ""
    strange: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()


def read_schema(path: Path, *, may_write: bool = False) -> Schema:
    """What the file at ``path`` is, without changing it. Raises sqlite3.Error when it cannot be read.

    A save that was cut short leaves a journal which must be rolled back before anything can be read; ``may_write`` lets
    SQLite do that where the file is a book of ours.
    """
    try:
        return _schema_seen(path)
    except sqlite3.OperationalError as error:
        if not (may_write and cut_short(error)):
            raise
    if not is_book(path):
        return Schema(Age.FOREIGN)
    with closing(open_for_looking(path, may_write=True)) as db:
        db.execute("SELECT count(*) FROM sqlite_master").fetchone()
    return _schema_seen(path)


def cut_short(error: sqlite3.Error) -> bool:
    """Whether a read was refused because a save was cut short and the connection may not roll it back."""
    return getattr(error, "sqlite_errorname", "") == "SQLITE_READONLY_ROLLBACK"


def open_for_looking(path: Path, *, may_write: bool) -> sqlite3.Connection:
    """A connection that only reads what is there; with ``may_write`` it can roll back a save that was cut short first."""
    mode = "rw" if may_write else "ro"
    return sqlite3.connect(f"{path.as_uri()}?mode={mode}", uri=True, timeout=10, factory=BookConnection)


def is_book(path: Path) -> bool:
    """Whether a file has the mark of a book or a copy of one, under whatever name, its journal passed over: no save ever
    changes the mark.

    SQLite itself looks: closing a file opened by other means would let go of this program's locks on it.
    """
    if not path.is_file():
        return False
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True)) as db:
            db.execute("PRAGMA writable_schema=ON")  # a file cut short may be shorter or longer than it says
            mark: int = db.execute("PRAGMA application_id").fetchone()[0]
    except sqlite3.Error:
        return False
    return mark == APPLICATION_ID


def _schema_seen(path: Path) -> Schema:
    try:
        return _schema_read(path)
    except UnicodeDecodeError as error:  # the driver cannot say in words what SQLite tells of a schema that is no text
        raise sqlite3.DatabaseError("its schema is not text") from error


def _schema_read(path: Path) -> Schema:
    with closing(open_for_looking(path, may_write=False)) as db:
        application = db.execute("PRAGMA application_id").fetchone()[0]
        tables = {name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        if not tables and application == 0:
            return Schema(Age.EMPTY)
        if application != APPLICATION_ID:
            return Schema(Age.FOREIGN)
        if "alembic_version" not in tables:
            return Schema(Age.MUDDLED)
        stamps = [stamp for (stamp,) in db.execute("SELECT version_num FROM alembic_version")]
        if len(stamps) != 1:
            return Schema(Age.MUDDLED)
        strange = strange_triggers(db)
        there = {name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")}
    lost = tuple(name for name in TRIGGERS if name not in there and name.partition("_")[0] in tables)
    age = Age.CURRENT if stamps[0] == HEAD else Age.BEHIND if stamps[0] in KNOWN else Age.NEWER
    return Schema(age, stamps[0], strange, lost)


def mark_of(path: Path) -> int:
    """The mark of the phase template that the jobs of a book last followed (SQLite's ``user_version``); 0 for none."""
    with closing(open_for_looking(path, may_write=False)) as db:
        mark: int = db.execute("PRAGMA user_version").fetchone()[0]
        return mark


def strange_triggers(db: sqlite3.Connection) -> tuple[str, ...]:
    """The names of triggers no version of this program made: they would run whenever the book is written."""
    found = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
    return tuple(name for name, text in found if TRIGGERS.get(name) != text)


def refuse_strange(path: Path, strange: Sequence[str]) -> None:
    """Raise BookError where a book holds triggers that are not ours: nothing is written while they would run."""
    if strange:
        raise damaged(
            path,
            f"it holds what another program put there and would run when it is written: trigger {strange[0]!r}",
            mended=True,
        )


def migrations_dir() -> Path:
    """Where the migrations are: inside an installed package, or beside it in a checkout. Raises BookError for neither."""
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "_migrations", package.parent / "migrations"):
        if (folder / "env.py").is_file():
            return folder
    raise BookError("the migrations folder is missing from this installation", "install deckjobs again")


def alembic_config(connection: Connection | None = None, folder: Path | None = None) -> Config:
    """An Alembic configuration on an open connection; no ini file is read and no logger is touched."""
    from alembic.config import Config

    config = Config(stdout=sys.stdout)  # its own default is whatever standard output was when it was imported
    config.set_main_option("script_location", str(folder or migrations_dir()).replace("%", "%%"))
    config.set_main_option("path_separator", "newline")
    config.attributes["connection"] = connection
    return config


def upgrade(path: Path, revision: str = "head", *, folder: Path | None = None, blame: bool = True) -> None:
    """Bring the file to ``revision`` in one transaction: it is wholly old or wholly new, whatever happens.

    Foreign keys are off outside the transaction (inside it the switch does nothing) and checked before the commit, because
    rebuilding a parent table with them on can delete its children. Two programs upgrading at once take turns. Raises
    BookError when rows are left without their parents, or the file cannot be used; ``blame`` as for ``engine.in_words``.
    """
    from alembic import command

    from tracker.book.engine import in_words, make_engine

    engine = make_engine(path, busy_ms=60_000)
    try:
        with in_words(path, blame=blame), engine.connect() as connection:
            raw = connection.connection.driver_connection
            assert isinstance(raw, sqlite3.Connection)
            raw.execute("PRAGMA foreign_keys=OFF")
            with connection.begin():
                command.upgrade(alembic_config(connection, folder), revision)
                if connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall():
                    raise damaged(path, "it holds rows without their parents")
    finally:
        engine.dispose()


def room_to_migrate(path: Path) -> None:
    """Raise BookError when the disk has not three times the book's size free: a copy, a rebuilt table, a journal."""
    need = 3 * path.stat().st_size
    free = shutil.disk_usage(path.parent).free
    if free < need:
        raise BookError(
            f"the disk is too full to bring the book up to date: {free} bytes free, {need} needed ({path})",
            "nothing was changed; free some space and start again",
        )


def vacuum_copy(path: Path, target: Path, *, may_write: bool = False) -> None:
    """Write a whole, checked copy of the book to ``target``: made beside it, synced, then moved into place.

    ``may_write`` says that ``path`` is the book itself, in which a save that was cut short may be rolled back. Raises sqlite3.Error or OSError; ``target`` is then as it was.
    """
    clear_passing(target)
    part = passing(target)
    try:
        # An empty file of our own first: what SQLite makes by itself may be read by others until its mode is changed.
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR | getattr(os, "O_NOFOLLOW", 0), 0o600))
        with closing(open_for_looking(path, may_write=may_write)) as db:
            db.execute("VACUUM INTO ?", (str(part),))
        with closing(sqlite3.connect(part)) as copy:
            (sound,) = copy.execute("PRAGMA integrity_check").fetchone()
        if sound != "ok":
            raise sqlite3.DatabaseError(f"the copy is not sound: {sound}")
        descriptor = os.open(part, os.O_RDWR)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
        part.replace(target)
        sync_folder(target.parent)
    finally:
        part.unlink(missing_ok=True)


def sync_folder(folder: Path) -> None:
    """Make a rename in ``folder`` survive a power cut, where the system can."""
    if os.name != "posix":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def copy_before_upgrade(path: Path, revision: str) -> Path:
    """Keep a copy of the book before its schema changes; the newest ten are kept. Returns the copy's path."""
    target = path.with_name(f"{path.name}.before-{HEAD}-from-{revision}-{datetime.now():%Y%m%d-%H%M%S-%f}")
    vacuum_copy(path, target, may_write=True)
    for old in sorted(path.parent.glob(f"{path.name}.before-*"), key=lambda p: p.stat().st_mtime)[:-COPIES_KEPT]:
        old.unlink(missing_ok=True)
    return target
