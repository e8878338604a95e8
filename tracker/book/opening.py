"""Opening the book: make it, bring it up to date, or refuse it untouched, before anything heavy is imported."""

from __future__ import annotations

import glob
import os
import sqlite3
import threading
import time
from collections.abc import Hashable, Iterator
from contextlib import closing, contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.book.connection import BookConnection
from tracker.book.damaged import damaged, not_a_book
from tracker.book.schema import (
    PRAGMAS,
    TRUNCATE,
    Age,
    Schema,
    copy_before_upgrade,
    cut_short,
    mark_of,
    open_for_looking,
    read_schema,
    refuse_strange,
    room_to_migrate,
    strange_triggers,
    upgrade,
)
from tracker.errors import BookError
from tracker.files import clear_passing, passing

if TYPE_CHECKING:
    from sqlalchemy import Engine
    from sqlmodel import Session

BUSY_MS = 10_000
PLANS_KEPT = 4000
"""Cut plans a book keeps, the newest; an older one that is asked for again is worked out again."""


def _identity(path: Path) -> tuple[int, int] | None:
    """Which file a path names now; None when it names none."""
    try:
        info = path.stat()
    except OSError:
        return None
    return (info.st_dev, info.st_ino) if path.is_file() else None


ONLY_READS = "only reads"
"""In ``Session.info``: whether what a session sees is committed, so that answers made from it may be kept."""


class Book:
    """An open book. Reading and writing belong to this room; others pass the Book to its operations.

    One Book may be used from several threads: each transaction takes its own connection.
    """

    def __init__(
        self,
        path: Path,
        *,
        view_only: bool = False,
        notices: tuple[str, ...] = (),
        busy_ms: int = BUSY_MS,
        blame: bool = True,
    ) -> None:
        self.path = path
        self.blame = blame
        """Whether it is examined when something happens that cannot; not a copy that is being examined."""
        self.busy_ms = busy_ms
        self.view_only = view_only
        self.notices = notices
        self.kept: dict[Hashable, object] = {}
        """Job specs already read, kept while this Book is open."""
        self._file = _identity(path)
        self._lock = threading.Lock()
        self._opened: Engine | None = None
        self._side: sqlite3.Connection | None = None
        self._unkept: dict[str, tuple[bool, str]] = {}
        self.plans_in_hand = 0
        """How many cut plans are being worked out just now; only told, nothing waits for it."""

    @property
    def _engine(self) -> Engine:
        with self._lock:
            if self._opened is None:
                from tracker.book.engine import make_engine

                self._opened = make_engine(self.path, busy_ms=self.busy_ms, view_only=self.view_only)
            return self._opened

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A transaction that sees one state of the book and never takes the write lock."""
        from sqlmodel import Session

        from tracker.book.engine import in_words

        self._still_there()
        with in_words(self.path, blame=self.blame, reads=True), self._engine.connect() as raw:
            connection = raw.execution_options(sqlite_begin="DEFERRED")
            with Session(connection) as session:
                session.info[ONLY_READS] = True
                yield session
        self.write_plans()

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """A transaction that holds the write lock from its start and commits when the block ends well.

        Raises BookError when the book is busy, full, read-only, gone or damaged: then nothing was saved.
        """
        from sqlmodel import Session

        from tracker.book.engine import in_words

        if self.view_only:
            raise BookError(
                f"the book is open for viewing only ({self.path})", "make its folder writable, then try again"
            )
        self._still_there()
        with in_words(self.path, blame=self.blame), Session(self._engine) as session:
            yield session
            session.commit()
        self.write_plans()

    def _still_there(self) -> None:
        """Raise BookError when the file is gone; open it afresh when it was replaced (a restored copy)."""
        now = _identity(self.path)
        if now is None:
            raise BookError(f"the book is gone: {self.path}", "put the file back; what you typed here is kept")
        if now != self._file:
            self._unkept.clear()
            self.close()
            self.kept.clear()
            _settle(self.path, self.view_only)
            self._file = now

    def stamp(self) -> int:
        """A number that changes whenever any other program or window has written to the book.

        Raises BookError when the file is gone or unreadable.
        """
        from tracker.book.engine import in_words

        self._still_there()
        with self._lock, in_words(self.path, blame=self.blame, reads=True):
            value: int = self._beside().execute("PRAGMA data_version").fetchone()[0]
            return value

    def _beside(self) -> sqlite3.Connection:
        """A plain connection beside the engine's: asked for the stamp, which what it writes itself does not move, and for
        kept cut plans. Held under the lock.
        """
        if self._side is None:
            how = "ro" if self.view_only else "rw"  # what is cut short meanwhile is rolled back by whoever looks first
            self._side = sqlite3.connect(
                f"{self.path.as_uri()}?mode={how}", uri=True, timeout=1, isolation_level=None, check_same_thread=False,
                factory=BookConnection,
            )  # fmt: skip
            for pragma in PRAGMAS if self.view_only else (*PRAGMAS, TRUNCATE):
                self._side.execute(f"PRAGMA {pragma}")
        return self._side

    def kept_plan(self, digest: str) -> tuple[bool, str] | None:
        """Whether it is proven, and the text, of the cut plan kept under a digest of its inputs; None when none can be had."""
        with self._lock:
            if digest in self._unkept:
                return self._unkept[digest]
            try:
                row = self._beside().execute("SELECT proven, body FROM cut_plan WHERE digest = ?", (digest,)).fetchone()
            except sqlite3.Error:
                return None
            return (bool(row[0]), row[1]) if row else None

    def keep_plan(self, digest: str, proven: bool, body: str) -> None:
        """Keep a cut plan under the digest of its inputs, at the end of this or a later transaction."""
        with self._lock:
            self._unkept[digest] = (proven, body)

    @contextmanager
    def planning(self) -> Iterator[None]:
        """While a cut plan is worked out."""
        self.plans_in_hand += 1
        try:
            yield
        finally:
            self.plans_in_hand -= 1

    def write_plans(self) -> None:
        """Put the plans worked out since the last time into the file, unless somebody is using it just now.

        Nothing hangs on it: a plan that is not kept is worked out again, to the same boards.
        """
        with self._lock:
            if not self._unkept or self.view_only:
                return
            with suppress(sqlite3.Error, OSError):
                beside = self._beside()
                beside.execute("PRAGMA busy_timeout=0")
                try:
                    beside.execute("BEGIN IMMEDIATE")
                    if strange_triggers(beside):
                        return
                    beside.executemany(
                        "INSERT OR REPLACE INTO cut_plan (digest, proven, body) VALUES (?, ?, ?)",
                        [(digest, int(proven), body) for digest, (proven, body) in self._unkept.items()],
                    )
                    beside.execute(
                        "DELETE FROM cut_plan WHERE kept <= (SELECT max(kept) FROM cut_plan) - ?", (PLANS_KEPT,)
                    )
                    beside.execute("COMMIT")
                    self._unkept.clear()
                finally:
                    if beside.in_transaction:
                        beside.execute("ROLLBACK")
                    beside.execute("PRAGMA busy_timeout=1000")

    def close(self) -> None:
        """Let go of every connection."""
        self.write_plans()
        with self._lock:
            if self._side is not None:
                self._side.close()
                self._side = None
            if self._opened is not None:
                self._opened.dispose()
                self._opened = None


def open_book(path: Path, *, create: bool = True, busy_ms: int = BUSY_MS, at: datetime | None = None) -> Book:
    """Open the book at ``path``, making it when it is missing and ``create`` is set.

    ``busy_ms`` is how long a write waits for another program's lock; ``at`` stands in for the clock. An older file is copied,
    then brought up to date; the open jobs of a book last opened by another version follow this one's phases. A newer, foreign,
    empty or damaged file is refused untouched. Raises BookError with what is safe and what to do.
    """
    real = _resolve(path)
    if create and not real.exists():
        if not real.parent.is_dir():
            raise BookError(f"the folder {real.parent} does not exist", "make it first, or name another --book")
        _make(real)
    clear_passing(real)
    real, notices = book_at(real)
    view_only = not (os.access(real, os.W_OK) and os.access(real.parent, os.W_OK)) or _on_read_only_disk(real)
    notices += _settle(real, view_only)
    if view_only:
        notices += (f"the book or its folder is read-only: opened for viewing only ({real})",)
    book = Book(real, view_only=view_only, notices=notices, busy_ms=busy_ms)
    try:
        book.notices += _followed(book, at or datetime.now(UTC))
    except BaseException:
        book.close()
        raise
    return book


def template_mark() -> int:
    """A number that changes with the phase template, and with every version of the program; never 0."""
    from zlib import crc32

    from tracker import __version__
    from tracker.trade.phases import PHASES

    said = repr((__version__, [(phase.key, phase.when, phase.checks) for phase in PHASES]))
    return crc32(said.encode()) % 0x7FFFFFFF + 1


def _followed(book: Book, at: datetime) -> tuple[str, ...]:
    """Let open jobs follow the phases of this program where another version of it opened the book last; says what changed.

    A book that cannot be written just now follows another time, and reads meanwhile as it was.
    """
    mark = template_mark()
    if book.view_only or mark_of(book.path) == mark:
        return ()
    from tracker.book.following import follow_template
    from tracker.book.hand import Hand

    day = at.astimezone().date()
    with suppress(BookError):
        return follow_template(book, Hand("", at.astimezone(UTC), day, ""), mark)
    return ()


def book_at(path: Path) -> tuple[Path, tuple[str, ...]]:
    """The one true path of a book that is there, and what is to be said of where it lies.

    Raises BookError when there is none, or the file is one that no book may be.
    """
    real = _resolve(path)
    if not real.exists():
        raise BookError(f"there is no book at {real}", "take a job with `deckjobs take FILE`, or name another --book")
    _refuse_oddities(real)
    return real, _permission_notices(real) + _network_notices(real)


def _on_read_only_disk(path: Path) -> bool:
    return hasattr(os, "statvfs") and bool(os.statvfs(path).f_flag & getattr(os, "ST_RDONLY", 1))


def _resolve(path: Path) -> Path:
    """The one true path, so that all programs share one lock and one journal."""
    try:
        if path.is_symlink() and not path.exists():
            raise BookError(f"{path} is a link to a file that is not there", "mend the link, or name another --book")
        real = path.resolve()
        if real.is_dir():
            raise BookError(f"{real} is a folder, not a book", "give a file name, such as jobs.book, with --book")
        real.exists()
    except OSError as error:
        raise BookError(f"{path} cannot be reached: {error.strerror}", "check the path and who may read it") from None
    return real


def _make(real: Path) -> None:
    """Build a new book under a passing name and link it in place whole, so that a kill leaves none or a good one."""
    part = passing(real, "new")
    try:
        descriptor = os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR | getattr(os, "O_NOFOLLOW", 0), 0o600)
        os.close(descriptor)
        upgrade(part)
        _sign(part)
        os.link(part, real)
    except FileExistsError:
        return
    except OSError as error:
        raise BookError(f"a new book cannot be made at {real}: {error.strerror}", "name another --book") from None
    finally:
        for left in (part, part.with_name(f"{part.name}-journal")):
            left.unlink(missing_ok=True)


def _sign(part: Path) -> None:
    from tracker.book.ids import new_id

    with closing(sqlite3.connect(part)) as db, db:
        db.execute("INSERT INTO book (id, made_ms) VALUES (?, ?)", (new_id(), time.time_ns() // 1_000_000))
        db.execute(f"PRAGMA user_version = {template_mark()}")  # there are no jobs yet that would have to follow


def _refuse_oddities(real: Path) -> None:
    info = real.stat()
    if info.st_nlink > 1:
        for part in real.parent.glob(f".{glob.escape(real.name)}.new-*"):
            if part.samefile(real):
                part.unlink(missing_ok=True)
        if real.stat().st_nlink > 1:
            raise BookError(
                f"{real} has a second name (a hard link): two names for one book can damage it",
                "remove the other name, or open a copy made by `deckjobs backup`",
            )
    if not real.is_file():
        raise BookError(f"{real} is not a regular file", "give the book's file name with --book")
    if info.st_size == 0:
        raise BookError(
            f"{real} is empty: it is not a book", "move it away to start a new one, or `deckjobs restore` a copy"
        )


_NETWORK = frozenset({"nfs", "nfs4", "cifs", "smb3", "smbfs", "afs", "9p", "fuse.sshfs", "fuse.davfs", "fuse.rclone"})


def _network_notices(real: Path) -> tuple[str, ...]:
    """A warning where the file lies on a network share, whose locks cannot be relied on (told on Linux only)."""
    try:
        mounts = [line.split()[1:3] for line in Path("/proc/self/mounts").read_text("utf-8", "replace").splitlines()]
    except OSError:
        return ()
    over = [(point, kind) for point, kind in mounts if real.is_relative_to(point.replace("\\040", " "))]
    kind = max(over, key=lambda pair: len(pair[0]), default=("", ""))[1]
    if kind in _NETWORK:
        return (
            f"{real} lies on a network share ({kind}), where two programs can damage it: keep the book on a disk of this machine",
        )
    return ()


def _permission_notices(real: Path) -> tuple[str, ...]:
    if os.name != "posix":
        return ()
    info = real.stat()
    if info.st_uid != os.geteuid() and os.geteuid() != 0:
        return (f"{real} belongs to another account (user {info.st_uid}); it may refuse what you save",)
    if info.st_mode & 0o077:
        return (f"{real} can be read by other accounts; `chmod 600` keeps it yours",)
    return ()


def _settle(real: Path, view_only: bool) -> tuple[str, ...]:
    """Check the schema and bring it up to date; returns what is to be told of that."""
    try:
        schema = read_schema(real, may_write=not view_only)
    except sqlite3.Error as error:
        from tracker.book.engine import book_error

        if view_only and cut_short(error):
            raise BookError(
                f"a save was cut short, and the book or its folder is read-only: it cannot be put right here ({real})",
                f"copy it together with {real.name}-journal to a disk you may write to, and open it there",
            ) from error
        words = book_error(error, real) or damaged(real, f"it cannot be read: {error}")
        raise words from error
    match schema.age:
        case Age.CURRENT:
            return _altered(schema)
        case Age.BEHIND:
            refuse_strange(real, schema.strange)
            if view_only:
                raise BookError(f"the book is older than this program and read-only ({real})", "make it writable first")
            room_to_migrate(real)
            try:
                kept = copy_before_upgrade(real, schema.revision)
            except (sqlite3.Error, OSError) as error:
                raise BookError(
                    f"the book could not be copied before the update: {error}", "nothing was changed"
                ) from error
            upgrade(real)
            return (f"the book was brought up to date; a copy of the old one is {kept}", *_altered(schema))
        case Age.NEWER:
            raise BookError(
                f"{real} was made by a newer deckjobs (schema {schema.revision})",
                "update this program; the file was not touched (where no newer one was ever used, run `deckjobs doctor`)",
            )
        case Age.MUDDLED:
            raise damaged(real, "it does not say which schema it has")
        case Age.FOREIGN:
            raise not_a_book(real, "another program made it")
        case Age.EMPTY:
            raise BookError(
                f"{real} is empty: it is not a book", "move it away to start a new one, or `deckjobs restore` a copy"
            )


def _altered(schema: Schema) -> tuple[str, ...]:
    """What is to be told of a book whose triggers are not those it was made with."""
    strange = [
        f"trigger {name!r} was put into the book by another program: nothing is saved while it is there"
        for name in schema.strange
    ]
    lost = [f"trigger {name} is missing, which keeps what was recorded from being changed" for name in schema.lost]
    return tuple(f"{text}; `deckjobs doctor` tells more" for text in (*strange, *lost))


def default_entry_id() -> str:
    """A fresh entry id for a command or a form that is about to write."""
    from tracker.book.ids import new_id

    return new_id()


def integrity(path: Path) -> list[str]:
    """What SQLite's own whole-file check finds wrong; empty when nothing. Raises sqlite3.Error when unreadable."""
    with closing(open_for_looking(path, may_write=False)) as db:
        found = [str(row[0]) for row in db.execute("PRAGMA integrity_check")]
        found += [f"row {row[1]} of {row[0]} has no {row[2]}" for row in db.execute("PRAGMA foreign_key_check")]
    return [line for line in found if line != "ok"]
