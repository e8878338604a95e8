"""The full examination of a book, on a private copy of its pages: the book itself is neither changed nor waited for.

What a disk or another program can do to a file is looked for in turn: its length, its pages, its tables and triggers, its
texts, the counters, the chains of entries, standing rows against their kept versions, and every row read as the program
itself reads it.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from sqlmodel import Session, col, select

from tracker.book.aftercare import fold_care
from tracker.book.damaged import damaged
from tracker.book.engine import book_error
from tracker.book.entries import DAY_MS, EntryFields, digest_of, moment_ms, plain
from tracker.book.history import history
from tracker.book.ledger import fold_money
from tracker.book.letterhead import letterhead_at, letterhead_told
from tracker.book.load import house_of, load_house, load_job, shelf_of
from tracker.book.opening import Book, integrity
from tracker.book.people import people
from tracker.book.prices import load_prices
from tracker.book.schema import HEAD, Age, cut_short, open_for_looking, read_schema, upgrade
from tracker.book.show import whole_view
from tracker.book.standing import LATER, Kept, VersionError, body_of, row_of
from tracker.book.tables import (
    BookRow,
    CheckRow,
    EntryRow,
    HouseRuleRow,
    JobRow,
    LotRow,
    PhaseRow,
    PlatformRow,
    PriceRow,
    StandingRow,
    SupplierRow,
)
from tracker.book.worked import fold_hours
from tracker.errors import BookError, TrackerError
from tracker.text import clean, count
from tracker.trade.checks.registry import BY_KEY as CHECKS
from tracker.trade.jobfile import parse_job_table
from tracker.trade.phases import BY_KEY as PHASES

CUT_SHORT = "a save was cut short: what it wrote is taken back by the next window or command that opens the book"
_TRIES = 20


@dataclass
class Examined:
    """What an examination has found so far."""

    schema: str = ""
    entries: int = 0
    jobs: int = 0
    devices: int = 0
    made_ms: int | None = None
    problems: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    mendable: bool = False
    beside: int = 0
    """How many of the problems are those of triggers, views and indexes, which mending puts right."""

    @property
    def mended_whole(self) -> bool:
        """Whether mending puts all right that was found."""
        return self.mendable and self.beside == len(self.problems)

    def look(self, what: str, work: Callable[[], Iterable[str]]) -> None:
        """Add what ``work`` finds; where it cannot go on, that ``what`` cannot be read.

        Whatever is raised is a finding here: the rows are damaged ones, and no parser need foresee how.
        """
        try:
            for line in work():
                if line not in self.problems:
                    self.problems.append(line)
        except Exception as error:
            words = error.message if isinstance(error, TrackerError) else _first_line(error)
            self.problems.append(f"{what} cannot be read: {words}")


def _first_line(error: Exception) -> str:
    cause = getattr(error, "orig", None) or error
    said = str(cause).splitlines()
    return clean(f"{type(cause).__name__}: {said[0][:120]}" if said else type(cause).__name__)


def blamed(path: Path) -> BookError | None:
    """The error to tell when something that cannot happen with a sound book happened: None when the book is sound.

    Costs an examination; for the way out of a failure only.
    """
    try:
        found = examined(path)
    except BookError as error:
        return error
    except (OSError, sqlite3.Error):
        return None
    return damaged(path, found.problems[0], mended=found.mended_whole) if found.problems else None


def examined(path: Path) -> Examined:
    """Examine the book at ``path``. Raises BookError for what is no book of ours, or is busy, or newer than the program."""
    found = Examined()
    with tempfile.TemporaryDirectory(prefix="deckjobs-", ignore_cleanup_errors=True) as room:
        copy = Path(room) / "jobs.book"
        with _readable(path):
            if _copied(path, copy, found):
                _examine_all(copy, found)
    return found


def _examine_all(copy: Path, found: Examined) -> None:
    try:
        _examine(copy, found)
    except BookError:
        raise
    except Exception as error:  # as in ``Examined.look``: no parser need foresee what damage can do
        found.problems.append(f"it cannot be read further: {_first_line(error)}")


@contextmanager
def _readable(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise BookError(
            f"the book cannot be examined: {error.strerror} ({error.filename})", "it was not changed"
        ) from error
    except sqlite3.Error as error:
        raise book_error(error, path) or BookError(
            f"the book cannot be examined: {error} ({path})", "it was not changed"
        ) from error


def _copied(path: Path, copy: Path, found: Examined) -> bool:
    """Put the pages of the book at ``copy`` as SQLite sees them, and hold the file's length against them.

    A save that was cut short is taken back in the copy. False when the pages cannot be had.
    """
    try:
        with closing(open_for_looking(path, may_write=False)) as db, closing(sqlite3.connect(copy)) as into:
            db.isolation_level = None
            db.execute("BEGIN")  # nobody writes between the two looks
            db.execute("SELECT count(*) FROM sqlite_master").fetchone()
            (pages,), (size,) = db.execute("PRAGMA page_count").fetchone(), db.execute("PRAGMA page_size").fetchone()
            found.look("its length", lambda: _length(path, pages, size))
            found.look("its first page", lambda: _header(db))
            db.backup(into)
    except sqlite3.OperationalError as error:
        if not cut_short(error):
            raise
        found.warnings.append(CUT_SHORT)
        _copy_cut_short(path, copy)
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        if getattr(error, "sqlite_errorname", "").startswith("SQLITE_NOTADB"):
            raise
        found.problems.append(f"the file cannot be read: {error}")
        with path.open("rb") as file:  # no connection of ours can hold a lock on what SQLite does not open
            head = file.read(100)
        # SQLite File Format, section 1.3: the page size stands at offset 16, the number of pages at 28.
        pages, size = int.from_bytes(head[28:32], "big"), int.from_bytes(head[16:18], "big")
        found.look("its length", lambda: _length(path, pages, size))
        return False
    return True


def _header(db: sqlite3.Connection) -> Iterator[str]:
    """Whether the file says that it is written with a rollback journal, as every book is (SQLite File Format, section 1.3)."""
    if db.serialize()[18:20] != b"\x01\x01":
        yield "its first page says that it is not written as a book is"


def _length(path: Path, pages: int, size: int) -> Iterator[str]:
    there, wanted = path.stat().st_size, pages * size
    if there != wanted:
        way = "ends too soon" if there < wanted else "goes on after its last page"
        yield f"the file {way}: it has {there:,} bytes, its {count(pages, 'page')} take {wanted:,}"


def _copy_cut_short(path: Path, copy: Path) -> None:
    """Copy a book with the journal of the save that was cut short, and let SQLite take that back in the copy.

    Whoever wrote it is gone, and nobody holds a lock that reading the file by other means would let go of; a program that
    opens the book meanwhile takes the save back there, and the copying begins anew.
    """
    journal = path.with_name(path.name + "-journal")
    for _ in range(_TRIES):
        before = [(one.stat().st_size, one.stat().st_mtime_ns) for one in (path, journal)]
        shutil.copyfile(path, copy)
        shutil.copyfile(journal, copy.with_name(copy.name + "-journal"))
        if before == [(one.stat().st_size, one.stat().st_mtime_ns) for one in (path, journal)]:
            break
        time.sleep(0.05)
    with closing(sqlite3.connect(copy)) as db:
        db.execute("SELECT count(*) FROM sqlite_master").fetchone()


def _examine(copy: Path, found: Examined) -> None:
    schema = read_schema(copy)
    found.schema = schema.revision
    if schema.age is Age.NEWER and not _is_as_made(copy):
        raise BookError(f"the book was made by a newer deckjobs (schema {schema.revision})", "update this program")
    if schema.age in (Age.EMPTY, Age.FOREIGN):
        if not _is_as_made(copy):
            raise BookError("this is not a deckjobs book: another program made it", "give another --book")
        found.problems.append("the mark of a deckjobs book is not on it, whose tables are those of one")
    if schema.age in (Age.MUDDLED, Age.NEWER):
        found.problems.append(f"it does not say which schema it has ({clean(schema.revision)!r})")
    found.look("the file", lambda: integrity(copy))
    with closing(sqlite3.connect(copy)) as db:
        db.text_factory = bytes
        found.look("its texts", lambda: _texts(db))
        if schema.age in (Age.CURRENT, Age.BEHIND):
            found.look("its tables", lambda: _shape(db, parts_made(schema.revision), ("table",)))
            before = len(found.problems)
            found.look("its triggers", lambda: _shape(db, parts_made(schema.revision), _BESIDE_TABLES))
            found.beside = len(found.problems) - before
            found.mendable = any(mending(db, schema.revision))
        for table in ("entry", "standing"):
            found.look(f"the counter of {table}", lambda table=table: _counted(db, table))  # type: ignore[misc]
        db.text_factory = lambda text: text.decode("utf-8", "replace")
        rows: list[EntryFields] = []
        found.look("the entries", lambda: _entries(db, rows))
    found.look("the chain of entries", lambda: _chain_problems(rows))
    found.entries, found.devices = len(rows), len({row.device for row in rows})
    found.warnings += _clock_warnings(rows)
    if schema.age not in (Age.CURRENT, Age.BEHIND):
        return
    if schema.age is Age.BEHIND:
        found.warnings.append(f"its schema is {schema.revision}: the next window or command brings it up to {HEAD}")
        try:
            upgrade(copy, blame=False)
        except Exception as error:
            found.problems.append(f"it cannot be brought up to date: {_first_line(error)}")
            return
    book = Book(copy, blame=False)
    try:
        _read_through(book, found)
    finally:
        book.close()


# -- tables and triggers


@cache
def parts_made(revision: str) -> Mapping[_Part, str]:
    """The parts of a new book of that schema, as the migrations make them."""
    with tempfile.TemporaryDirectory(prefix="deckjobs-", ignore_cleanup_errors=True) as room:
        upgrade(fresh := Path(room) / "new.book", revision)
        with closing(sqlite3.connect(fresh)) as new:
            return parts_of(new)


def _is_as_made(copy: Path) -> bool:
    """Whether a file has just the tables of a new book, whatever else it says it is."""
    with closing(sqlite3.connect(copy)) as db:
        db.text_factory = bytes
        return parts_of(db) == parts_made(HEAD)


class _Part(NamedTuple):
    kind: str
    name: str
    table: str


def parts_of(db: sqlite3.Connection) -> dict[_Part, str]:
    """The tables, indexes and triggers of a file with the text that made each, spaces and quotes made alike."""
    found = db.execute("SELECT type, name, tbl_name, sql FROM sqlite_master WHERE sql IS NOT NULL")
    return {
        _Part(*map(_text, row[:3])): " ".join(_text(row[3]).replace('"', "").split()).replace("( ", "(").replace(" )", ")")
        for row in found
    }  # fmt: skip


def _text(value: str | bytes) -> str:
    return value.decode("utf-8", "replace") if isinstance(value, bytes) else value


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def _shape(db: sqlite3.Connection, made: Mapping[_Part, str], kinds: Sequence[str]) -> Iterator[str]:
    """Where parts of these kinds are not those a new book of the same schema gets from the migrations."""
    there, wanted = (
        {part: text for part, text in parts.items() if part.kind in kinds} for parts in (parts_of(db), made)
    )
    for part in wanted:
        if part not in there:
            yield f"its {part.kind} {part.name} is missing"
        elif there[part] != wanted[part]:
            yield f"its {part.kind} {part.name} is not as deckjobs made it"
    for part in there.keys() - wanted.keys():
        if part.name.startswith("sqlite_"):
            continue  # SQLite's own, such as statistics
        runs = ", and would run when the book is written" if part.kind == "trigger" else ""
        yield f"its {part.kind} {clean(part.name)} was put there by another program{runs}"


_BESIDE_TABLES = ("trigger", "view", "index")


def mending(db: sqlite3.Connection, revision: str) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
    """The statements that put triggers, views and indexes right, each with its words: what goes, then what comes."""
    there, wanted = parts_of(db), parts_made(revision)
    beside = [part for part in there.keys() | wanted.keys() if part.kind in _BESIDE_TABLES]
    wrong = sorted(part for part in beside if there.get(part) != wanted.get(part))
    goes = [(f"DROP {part.kind} {_quoted(part.name)}", f"{part.kind} {clean(part.name)} was taken out")
            for part in wrong if part in there]  # fmt: skip
    comes = [(wanted[part], f"{part.kind} {part.name} was put back") for part in wrong if part in wanted]
    return goes, comes


# -- texts, counters, chains


def _texts(db: sqlite3.Connection) -> Iterator[str]:
    """Texts that are not UTF-8. ``db`` gives texts as bytes."""
    tables = [_text(name) for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    for table in tables:
        rows = db.execute(f"SELECT rowid, * FROM {_quoted(table)}")
        names = [column[0] for column in rows.description]
        for row in rows:
            for name, value in zip(names, row, strict=True):
                if isinstance(value, bytes) and value.decode("utf-8", "replace").encode() != value:
                    yield f"row {row[0]} of {clean(table)}: its {clean(name)} is not text (no UTF-8)"


def _counted(db: sqlite3.Connection, table: str) -> Iterator[str]:
    """Whether the rows of a table only ever added to are numbered without a gap up to the table's counter."""
    if not db.execute("SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = ?", (table,)).fetchone():
        return
    first, last, number = db.execute(f"SELECT min(arrived), max(arrived), count(*) FROM {table}").fetchone()
    kept = db.execute("SELECT seq FROM sqlite_sequence WHERE name = ?", (table,)).fetchall()
    counter = kept[0][0] if kept else 0
    what = ("entry", "entries") if table == "entry" else ("version of a standing row", "versions of standing rows")
    if counter != (last or 0):
        if counter > (last or 0):
            yield f"the last {count(counter - (last or 0), *what)} missing: the counter stands at {counter}"
        else:
            yield f"the counter of {table} stands at {counter}, its last row at {last}"
    if last is not None and number != last - first + 1:
        yield f"{count(last - first + 1 - number, *what)} missing between number {first} and {last}"


def _entries(db: sqlite3.Connection, into: list[EntryFields]) -> Iterator[str]:
    """Read every entry, chain by chain, whatever its texts hold."""
    there = db.execute("SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'entry'").fetchone()
    if there:
        into += map(
            EntryFields._make, db.execute(f"SELECT {', '.join(EntryFields._fields)} FROM entry ORDER BY device, seq")
        )
    yield from ()


def _chain_problems(rows: Iterable[EntryFields]) -> Iterator[str]:
    """Entries changed on the disk, or missing from a device's numbers, or that cannot be read as what they are."""
    last: EntryFields | None = None
    for row in rows:
        device = clean(str(row.device))[:12]
        if last is None or last.device != row.device:
            expected, prev = 1, ""
        else:
            expected, prev = last.seq + 1, last.digest
        if row.seq != expected:
            yield f"device {device}: entries {expected} to {row.seq - 1} are missing"
        elif row.prev != prev:
            yield f"entry {clean(str(row.id))}: its chain to the entry before is broken"
        try:
            changed = digest_of(row) != row.digest
            plain(row)
        except (ValueError, TypeError, OverflowError, OSError, RecursionError):
            changed = True
        if changed:
            yield (
                f"entry {clean(str(row.id))} of {clean(str(row.day))} by {clean(str(row.who))} was changed on the disk "
                "(its digest differs)"
            )
        last = row


def _clock_warnings(rows: Iterable[EntryFields]) -> list[str]:
    """Entries of a clock that ran ahead. One that ran behind looks like a job file's log of earlier days."""
    now = moment_ms(datetime.now(UTC))
    ahead = sum(isinstance(row.at_ms, int) and row.at_ms > now + DAY_MS for row in rows)
    return [f"{count(ahead, 'entry', 'entries')} from a clock more than a day ahead"] if ahead else []


# -- every row as the program reads it


def _read_through(book: Book, found: Examined) -> None:
    with book.reading() as session:
        found.look("the book's own row", lambda: _made(session, found))
        found.look("the house rules", lambda: _nothing(load_house(session)))
        found.look("the letterhead", lambda: _nothing(letterhead_at(session, None)))
        found.look("the price book", lambda: _nothing(load_prices(session)))
        found.look("the kept cut plans", lambda: _plans(session))
        found.look("the rows of the jobs", lambda: _parts_of_jobs(session))
        for table in _KEPT:
            found.look(
                f"the kept versions of {table.__tablename__}", lambda table=table: _versions(session, table)  # type: ignore[misc]
            )  # fmt: skip
        codes: list[str] = []
        found.look("the jobs", lambda: _codes(session, codes))
    found.jobs = len(codes)
    found.look("the people", lambda: _nothing(people(book)))
    for code in codes:
        found.look(f"job {clean(code)}", lambda code=code: _job(book, code))  # type: ignore[misc]


def _nothing(_read: object) -> tuple[str, ...]:
    """What was read needs no more than to be readable."""
    return ()


def _made(session: Session, found: Examined) -> Iterator[str]:
    rows = session.exec(select(BookRow)).all()
    if len(rows) != 1:
        yield f"the book's own row is there {count(len(rows), 'time')}"
    for row in rows:
        datetime.fromtimestamp(row.made_ms / 1000, UTC)
        found.made_ms = row.made_ms


def _codes(session: Session, into: list[str]) -> Iterator[str]:
    into += session.exec(select(JobRow.code).order_by(col(JobRow.code))).all()
    yield from ()


def _job(book: Book, code: str) -> Iterator[str]:
    """Read a job and all its entries, as the commands do."""
    today = datetime.now(UTC).date()
    history(book, code, today)
    with book.reading() as session:
        # The quick cut plans will do: nothing is told of them here.
        whole_view(replace(load_job(book, session, code, today), solver=shelf_of(book).quick))
        job = session.exec(select(JobRow).where(JobRow.code == code)).one()
        entries = [plain(row) for row in session.connection().execute(
            select(*EntryRow.__table__.c).where(EntryRow.job_id == job.id).order_by(col(EntryRow.arrived)))]  # type: ignore[attr-defined]  # fmt: skip
    fold_money(entry for entry in entries if entry.kind == "money")
    fold_hours(entry for entry in entries if entry.kind == "hours")
    fold_care(entries)
    yield from ()


def _plans(session: Session) -> Iterator[str]:
    for kept, body in session.connection().exec_driver_sql("SELECT kept, body FROM cut_plan"):
        try:
            json.loads(body)["sticks"]
        except (ValueError, KeyError, TypeError, RecursionError):
            yield f"cut plan {kept} cannot be read (it will be worked out again)"


def _parts_of_jobs(session: Session) -> Iterator[str]:
    """Platforms, phases and checks with a key the program does not know, or of two jobs at once."""
    phases = {row.id: row for row in session.exec(select(PhaseRow))}
    for row in phases.values():
        if row.key not in PHASES:
            yield f"phase {clean(row.key)!r} is none the program knows"
    names = Counter((row.job_id, row.name) for row in session.exec(select(PlatformRow)))
    for check in session.exec(select(CheckRow)):
        if check.check_key not in CHECKS:
            yield f"check {clean(check.check_key)!r} is none the program knows"
        if check.key not in (check.check_key, f"{check.check_key}.{check.platform}"):
            yield f"check {clean(check.key)!r} has the name of another one ({clean(check.check_key)!r})"
        if check.platform and not names[check.job_id, check.platform]:
            yield f"check {clean(check.key)!r} is of a platform {clean(check.platform)!r} that its job never had"
        if (phase := phases.get(check.phase_id)) is not None and phase.job_id != check.job_id:
            yield f"check {clean(check.key)!r} stands in a phase of another job"


_KEPT: tuple[type[Any], ...] = (
    JobRow, LotRow, SupplierRow, PriceRow, HouseRuleRow,
)  # fmt: skip


def unreadable_versions(path: Path) -> list[str]:
    """The kept versions of a book that no program of ours can have written; the quick part of an examination.

    Raises sqlite3.Error when the file cannot be read.
    """
    with closing(open_for_looking(path, may_write=False)) as db:
        if not db.execute("SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'standing'").fetchone():
            return []  # it is older than they are
        out: list[str] = []
        for table in _KEPT:
            of_kind = "SELECT arrived, row_id, day, body FROM standing WHERE kind = ? ORDER BY arrived"
            later: set[str] = set()
            for row in db.execute(of_kind, (str(table.__tablename__),)):
                try:
                    _read_version(table, _Version(*row), later)
                except Exception as error:  # as in ``Examined.look``
                    out.append(_unreadable(table, row[0], error))
    return out


class _Version(NamedTuple):
    arrived: int
    row_id: str
    day: str
    body: str


def _unreadable(table: type[Kept], arrived: int | None, error: Exception) -> str:
    words = str(error) if isinstance(error, VersionError) else _first_line(error)
    return f"kept version {arrived} of {table.__tablename__} cannot be read: {words}"


def _read_version(table: type[Kept], version: _Version, later: set[str]) -> dict[str, Any]:
    """Read a kept version as the program does when it shows a day gone by. Raises whatever that meets.

    ``later`` holds the fields younger than the first books that a version before this one had, and takes those of this one.
    """
    if version.day:
        date.fromisoformat(version.day)
    body = body_of(table, version.body)
    if lost := later - body.keys():
        raise VersionError(f"it has no {', '.join(sorted(lost))}")
    later |= LATER.get(str(table.__tablename__), frozenset()) & body.keys()
    if body["id"] != version.row_id:
        raise VersionError("its id is that of another row")
    row = row_of(table, body)
    if isinstance(row, PriceRow) and row.seen:
        date.fromisoformat(row.seen)
    elif isinstance(row, JobRow):
        date.fromisoformat(row.start)
        if not isinstance(json.loads(row.source), dict):
            raise VersionError("its source is no job file")
    elif isinstance(row, HouseRuleRow):
        house_of([row])
        letterhead_told([row])
    return body


def _spec_then(session: Session, version: StandingRow, body: Mapping[str, Any]) -> None:
    """Read the spec of a kept version of a job as the program does for that day. Raises whatever that meets."""
    source = json.loads(body["source"])
    source.pop("log", None)
    then = date.fromisoformat(version.day) if version.day else date.min
    parse_job_table(source, body["code"], house=load_house(session, then).rules)


def _versions(session: Session, table: type[Kept]) -> Iterator[str]:
    """Which kept versions cannot be read, and where a live standing row is not what its last one says."""
    kind = str(table.__tablename__)
    last: dict[str, tuple[StandingRow, Mapping[str, Any]] | None] = {}
    later: set[str] = set()
    versions = session.exec(
        select(StandingRow).where(StandingRow.kind == kind).order_by(col(StandingRow.arrived))
    ).all()
    parents = _parents(session, table)
    for version in versions:
        last[version.row_id] = None
        try:
            seen = _Version(version.arrived or 0, version.row_id, version.day, version.body)
            body = _read_version(table, seen, later)
            for name, ids in parents.items():
                if body[name] not in ids:
                    raise VersionError(f"its {name} is that of no row")
            if table is JobRow:
                _spec_then(session, version, body)
            last[version.row_id] = version, body
        except Exception as error:  # as in ``Examined.look``
            yield _unreadable(table, version.arrived, error)
    live: dict[str, Mapping[str, Any]] = {row.id: row.model_dump() for row in session.exec(select(table))}
    if table is JobRow:
        live = {job: {**row, **_parts_of_job(session, job)} for job, row in live.items()}
    defaults = {name: table.model_fields[name].default for name in LATER.get(kind, ())}
    for row_id, read in last.items():
        if read is None:
            continue
        version, body = read[0], {**defaults, **read[1]}
        name = clean(str(body.get("code") or body.get("name") or body.get("item") or body.get("key")))
        if version.gone or row_id not in live:
            if bool(version.gone) == (row_id in live):
                yield f"{kind} {name} is {'there' if version.gone else 'missing'}: its last version says otherwise"
            continue
        now = live[row_id]
        differing = [key for key in now if _alike(body[key]) != _alike(now[key])]
        if differing:
            yield f"{kind} {name} was changed on the disk ({', '.join(differing)}): its last version says otherwise"
    for row_id in live.keys() - last.keys():
        yield f"{kind} {clean(row_id)} has no kept version"


def _parents(session: Session, table: type[Kept]) -> dict[str, frozenset[str]]:
    """By field, the ids it may hold: rows that others hang on are never taken out."""
    if table is LotRow:
        return {"job_id": frozenset(session.exec(select(JobRow.id)))}
    return {"supplier_id": frozenset(session.exec(select(SupplierRow.id)))} if table is PriceRow else {}


def _parts_of_job(session: Session, job: str) -> dict[str, list[str]]:
    return {
        name: list(session.exec(select(table.key).where(table.job_id == job, table.dropped == 0)))
        for name, table in (("phases", PhaseRow), ("checks", CheckRow))
    }


def _alike(value: object) -> object:
    return sorted(value) if isinstance(value, list) else value


def made_on(found: Examined) -> str:
    """The day the book was made, in words; empty when it cannot be told."""
    return "" if found.made_ms is None else f"made {datetime.fromtimestamp(found.made_ms / 1000, UTC):%Y-%m-%d}"
