"""The file the book lives in: made, found, refused. Each refusal leaves the file as it was."""

from __future__ import annotations

import gc
import hashlib
import os
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from time import sleep

import pytest
import sqlalchemy as sql

from tests.book.conftest import DAY, hand_of, job_text
from tracker.book.changing import difference
from tracker.book.invoices import receive_payment
from tracker.book.jobs import add_note, job_lines, job_view, take_job
from tracker.book.morning import morning
from tracker.book.opening import Book, open_book
from tracker.book.prices import take_prices
from tracker.book.proposal import job_source
from tracker.book.schema import HEAD, Age, open_for_looking, read_schema
from tracker.book.sheet import day_sheet
from tracker.book.undoing import undo
from tracker.errors import BookError
from tracker.trade.jobfile import parse_job_bytes

SAMPLE = Path(__file__).parents[2] / "sample_jobs" / "26-015-ridge-step.toml"
OWNER = hand_of("Owner Plover")


def filled(path: Path) -> Path:
    book = open_book(path)
    take_job(book, OWNER, parse_job_bytes(job_text().encode(), "job.toml"))
    for number in range(40):
        add_note(book, OWNER, "26-101", f"note {number} " + "x" * 400)
    book.close()
    return path


def files_in(folder: Path) -> list[str]:
    """Files that hold something: the journal stays behind empty."""
    return sorted(path.name for path in folder.iterdir() if path.name[-8:] != "-journal" or path.stat().st_size)


def digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.mark.parametrize("name", ["jobs.book", "a b%20#?.book", "Hölzer & Söhne.book", "100%.book", "-start.book"])
def test_any_name_opens_exactly_that_file(tmp_path: Path, name: str) -> None:
    filled(tmp_path / name)
    assert files_in(tmp_path) == [name]
    book = open_book(tmp_path / name)
    assert [line.code for line in job_lines(book, DAY)] == ["26-101"]
    book.close()


def test_one_file_at_rest_and_only_ours_to_read(tmp_path: Path) -> None:
    path = filled(tmp_path / "jobs.book")
    assert path.stat().st_mode & 0o777 == 0o600
    assert files_in(tmp_path) == ["jobs.book"]
    assert read_schema(path).revision == HEAD


def test_the_engine_is_set_up_as_decided(tmp_path: Path) -> None:
    book = open_book(tmp_path / "jobs.book")
    wanted = {
        "foreign_keys": 1,
        "journal_mode": "truncate",
        "synchronous": 2,
        "trusted_schema": 0,
        "busy_timeout": 10_000,
    }
    with book.writing() as session:
        raw = session.connection()
        assert {name: raw.exec_driver_sql(f"PRAGMA {name}").scalar() for name in wanted} == wanted
        strict = raw.exec_driver_sql("SELECT name, strict FROM pragma_table_list WHERE schema='main' AND type='table'")
        assert {name for name, is_strict in strict if not is_strict} <= {
            "alembic_version",
            "sqlite_schema",
            "sqlite_sequence",
        }
    book.close()


REFUSALS = [
    ("a folder", lambda p: p.mkdir(), "is a folder, not a book"),
    ("an empty file", lambda p: p.touch(), "is empty: it is not a book"),
    ("a text file", lambda p: p.write_text("dear diary\n" * 100), "is not a deckjobs book"),
    ("a link to nothing", lambda p: p.symlink_to(p.with_name("nowhere")), "a link to a file that is not there"),
]


@pytest.mark.parametrize(("what", "make", "message"), REFUSALS, ids=[r[0] for r in REFUSALS])
def test_what_is_not_a_book_is_refused_untouched(tmp_path: Path, what: str, make: object, message: str) -> None:
    path = tmp_path / "jobs.book"
    make(path)  # type: ignore[operator]
    before = digest(path) if path.is_file() else ""
    with pytest.raises(BookError, match=message):
        open_book(path)
    assert (digest(path) if path.is_file() else "") == before
    assert files_in(tmp_path) == ["jobs.book"]


def test_another_programs_database_is_refused_untouched(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("CREATE TABLE alembic_version (version_num TEXT)")
        db.execute("INSERT INTO alembic_version VALUES ('0001')")
    before = digest(path)
    with pytest.raises(BookError, match="another program made it"):
        open_book(path)
    assert digest(path) == before


def test_a_newer_book_is_refused_untouched(tmp_path: Path) -> None:
    path = filled(tmp_path / "jobs.book")
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("UPDATE alembic_version SET version_num = '0099'")
    before = digest(path)
    with pytest.raises(BookError, match=r"newer deckjobs \(schema 0099\)"):
        open_book(path)
    assert digest(path) == before


@pytest.mark.parametrize("stamps", [(), ("0001", "0002")])
def test_a_book_without_one_stamp_is_refused(tmp_path: Path, stamps: tuple[str, ...]) -> None:
    path = filled(tmp_path / "jobs.book")
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("DELETE FROM alembic_version")
        db.executemany("INSERT INTO alembic_version VALUES (?)", [(stamp,) for stamp in stamps])
    with pytest.raises(BookError, match="does not say which schema"):
        open_book(path)


def test_a_truncated_book_is_refused_with_where_to_look(tmp_path: Path) -> None:
    path = filled(tmp_path / "jobs.book")
    path.with_name("jobs.book.before-0002-from-0001-20260501-080000-000000").write_bytes(path.read_bytes())
    with path.open("r+b") as file:
        file.truncate(path.stat().st_size // 2)
    with pytest.raises(BookError, match="damaged") as refused:
        book = open_book(path)
        job_lines(book, DAY)
    assert "restore" in refused.value.hint


def test_an_overwritten_header_is_refused_with_the_newest_copy(tmp_path: Path) -> None:
    path = filled(tmp_path / "jobs.book")
    copy = path.with_name("jobs.book.before-0002-from-0001-20260501-080000-000000")
    copy.write_bytes(path.read_bytes())
    with path.open("r+b") as file:
        file.write(b"\xff" * 32)
    before = digest(path)
    with pytest.raises(BookError, match="not a deckjobs book") as refused:
        open_book(path)
    assert str(copy) in refused.value.hint
    assert digest(path) == before


def test_a_missing_parent_is_named_and_not_made(tmp_path: Path) -> None:
    with pytest.raises(BookError, match="does not exist"):
        open_book(tmp_path / "no" / "jobs.book")
    assert not (tmp_path / "no").exists()


def test_without_create_a_missing_book_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(BookError, match="there is no book at"):
        open_book(tmp_path / "jobs.book", create=False)
    assert files_in(tmp_path) == []


def test_a_link_to_a_book_opens_the_book_itself(tmp_path: Path) -> None:
    path = filled(tmp_path / "jobs.book")
    link = tmp_path / "link.book"
    link.symlink_to(path)
    book = open_book(link)
    assert book.path == path
    book.close()


def test_a_second_name_for_the_file_is_refused(tmp_path: Path) -> None:
    path = filled(tmp_path / "jobs.book")
    os.link(path, tmp_path / "other.book")
    with pytest.raises(BookError, match="second name"):
        open_book(path)


def test_a_kill_between_making_and_naming_a_new_book_is_mended(tmp_path: Path) -> None:
    path = filled(tmp_path / "jobs.book")
    os.link(path, tmp_path / ".jobs.book.new-123-456")
    open_book(path).close()
    assert files_in(tmp_path) == ["jobs.book"]


def test_a_book_others_can_read_says_so(tmp_path: Path) -> None:
    path = filled(tmp_path / "jobs.book")
    path.chmod(0o644)
    assert any("chmod 600" in notice for notice in open_book(path).notices)


def test_a_book_that_vanished_keeps_what_was_typed(tmp_path: Path) -> None:
    book = open_book(filled(tmp_path / "jobs.book"))
    book.path.rename(tmp_path / "moved.book")
    with pytest.raises(BookError, match="the book is gone"):
        add_note(book, OWNER, "26-101", "lost?")
    with pytest.raises(BookError, match="the book is gone"):
        book.stamp()
    book.close()


def test_a_busy_book_says_so_and_saves_nothing(tmp_path: Path) -> None:
    path = filled(tmp_path / "jobs.book")
    book = open_book(path, busy_ms=200)
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(BookError, match="busy: another window") as busy:
            add_note(book, OWNER, "26-101", "waiting")
        other.execute("ROLLBACK")
    assert "nothing was saved" in busy.value.hint
    add_note(book, OWNER, "26-101", "now it goes")
    book.close()


def test_what_is_read_while_the_book_is_busy_says_nothing_of_saving(tmp_path: Path) -> None:
    book = open_book(filled(tmp_path / "jobs.book"), busy_ms=200)
    add_note(book, OWNER, "26-101", "this is in")
    with closing(sqlite3.connect(book.path, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(BookError, match="busy: another window") as busy:
            job_view(book, "26-101", DAY)
    assert busy.value.hint == "try again in a moment"
    book.close()


def _proposed(book: Book) -> object:
    """A change order worked out to its end."""
    source = {**job_source(book, "26-015"), "title": "Ridge step, in two parts"}
    return difference(book, "26-015", source, DAY, proven=True)


@pytest.mark.parametrize("look", [lambda book: morning(book, DAY), lambda book: day_sheet(book, DAY), _proposed])
def test_a_look_that_works_out_cut_plans_keeps_nobody_from_writing_meanwhile(
    tmp_path: Path, look: Callable[[Book], object]
) -> None:
    book = open_book(tmp_path / "jobs.book")
    take_job(book, OWNER, parse_job_bytes(SAMPLE.read_bytes(), SAMPLE.name))
    take_prices(book, OWNER, SAMPLE.with_name("prices.csv").read_bytes(), "prices.csv")
    tries, free = 0, 0
    with ThreadPoolExecutor(1) as beside, closing(sqlite3.connect(book.path, timeout=0, isolation_level=None)) as other:
        looking = beside.submit(look, book)
        while not looking.done():
            if book.plans_in_hand:
                tries += 1
                with suppress(sqlite3.OperationalError):
                    other.execute("BEGIN EXCLUSIVE")  # as a save at its end: nobody may be reading
                    other.execute("ROLLBACK")
                    free += 1
            sleep(0.005)
        looking.result()
    assert tries
    assert free == tries
    book.close()


def test_outside_writes_move_the_stamp(tmp_path: Path) -> None:
    path = filled(tmp_path / "jobs.book")
    mine, theirs = open_book(path), open_book(path)
    before = mine.stamp()
    assert mine.stamp() == before
    add_note(theirs, OWNER, "26-101", "from the other window")
    assert mine.stamp() != before
    mine.close()
    theirs.close()


AS_NOBODY = """
import os, sys
from datetime import UTC, datetime, date
from pathlib import Path
import tracker.book.engine, tracker.book.jobs, tracker.book.care, tracker.book.sheet, alembic.command
import sqlalchemy.dialects.sqlite
from tracker.book.hand import Hand
from tracker.book.opening import open_book
from tracker.book.undoing import undo
from tracker.errors import BookError
path = Path(sys.argv[1])
if os.geteuid() == 0:
    os.setgid(65534); os.setuid(65534)
book = open_book(path)
print(book.view_only, any("viewing only" in n for n in book.notices))
print([line.code for line in tracker.book.jobs.job_lines(book, date(2026, 5, 12))])
try:
    tracker.book.jobs.add_note(book, Hand("X", datetime.now(UTC), date(2026, 5, 12), "d"), "26-101", "no")
except BookError as error:
    print(error.message.split(" (")[0])
"""


@pytest.mark.skipif(os.name != "posix", reason="file modes are POSIX")
def test_a_read_only_folder_is_opened_for_viewing_only() -> None:
    # A folder of its own: whoever else runs tests just now closes the one that pytest makes to other users.
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = filled(folder / "jobs.book")
        path.chmod(0o444)
        folder.chmod(0o555)
        try:
            done = subprocess.run(
                [sys.executable, "-c", AS_NOBODY, str(path)], capture_output=True, text=True, timeout=300, check=False
            )
        finally:
            folder.chmod(0o755)
    assert done.stdout.splitlines() == ["True True", "['26-101']", "the book is open for viewing only"], done.stderr


def test_schema_ages(tmp_path: Path) -> None:
    assert read_schema(filled(tmp_path / "jobs.book")).age is Age.CURRENT


@contextmanager
def nothing_put_away(*windows: Book) -> Iterator[None]:
    """Keep what nobody holds any more from being put away by chance meanwhile; then the windows are closed."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()
        for window in windows:
            window.close()


@pytest.mark.parametrize(
    "act",
    [
        lambda book: receive_payment(book, OWNER, "26-101", 9_900, "check 99", DAY),
        lambda book: undo(book, OWNER, "26-101", "3", "a slip"),
        lambda book: job_view(book, "26-101", DAY),
    ],
)
def test_a_window_that_met_a_damaged_entry_keeps_nobody_from_writing(
    tmp_path: Path, act: Callable[[Book], object]
) -> None:
    path = tmp_path / "jobs.book"
    window = open_book(path)
    for code in ("26-101", "26-102"):
        take_job(window, OWNER, parse_job_bytes(job_text(code).encode(), "job.toml"))
    for number in range(1, 31):
        receive_payment(window, OWNER, "26-101", 100 * number, f"check {number}", DAY)
    window.close()
    path.write_bytes(path.read_bytes().replace(b'"check 3"', b"'check 3'", 1))
    window, other = open_book(path), open_book(path)
    with nothing_put_away(window, other):
        with pytest.raises((BookError, ValueError)) as kept:
            act(window)
        add_note(other, OWNER, "26-102", "the yard goes on")
        assert kept.value.__traceback__ is not None


def _given_up(book: Book) -> object:
    """A query of which a row cannot be worked with."""
    with book.writing() as session:
        return [int(row.body) for row in session.connection().execute(sql.text("SELECT body FROM entry"))]


def _looked_at(book: Book) -> object:
    """The same by a look at the file."""
    with closing(open_for_looking(book.path, may_write=False)) as db:
        return [int(body) for (body,) in db.execute("SELECT body FROM entry")]


@pytest.mark.parametrize("query", [_given_up, _looked_at])
def test_a_query_given_up_half_way_keeps_nobody_from_writing(tmp_path: Path, query: Callable[[Book], object]) -> None:
    window = open_book(path := filled(tmp_path / "jobs.book"))
    other = open_book(path, busy_ms=100)
    with nothing_put_away(window, other):
        with pytest.raises(ValueError, match="invalid literal") as kept:
            query(window)
        add_note(other, OWNER, "26-101", "the yard goes on")
        assert kept.value.__traceback__ is not None
