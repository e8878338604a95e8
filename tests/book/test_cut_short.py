"""A save cut short by a kill inside its commit: whoever of ours looks first puts the book right, and nothing is lost.

The kill is aimed: it falls while the journal holds the pages to be put back (its first byte is 0xd9, SQLite File Format,
section 3, "The Rollback Journal"). No test may open the book with SQLite itself before the program has: that would heal it.
"""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path

import pytest

from tests.book.conftest import DAY, hand_of, job_text
from tests.book.test_durability import recorded, run_in_child, standing_rows, step
from tracker.book.care import backup, doctor, restore
from tracker.book.changing import accept_change, difference
from tracker.book.entries import Draft, append
from tracker.book.hand import Hand
from tracker.book.invoices import receive_payment
from tracker.book.jobs import add_note, job_lines, take_job
from tracker.book.load import find_job
from tracker.book.lots import order, receive
from tracker.book.opening import Book, open_book
from tracker.book.outfile import write_file
from tracker.book.readings import record
from tracker.book.schema import KNOWN, read_schema
from tracker.errors import BookError, InputError
from tracker.trade.jobfile import parse_job_bytes

OWNER = hand_of("Owner Plover")
MARK = b"\xd9"


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book with one job, a lot on order and some notes."""
    path = tmp_path_factory.mktemp("template") / "jobs.book"
    book = open_book(path)
    take_job(book, OWNER, parse_job_bytes(job_text().encode(), "job.toml"))
    order(book, OWNER, "26-101", "2x6x12", 400, lot="J1", anyway=True)
    for number in range(20):
        add_note(book, OWNER, "26-101", f"note {number} " + "x" * 400)
    book.close()
    return path


def half_saved(journal: Path) -> bool:
    try:
        with journal.open("rb") as file:
            return file.read(1) == MARK
    except OSError:
        return False


def kill_inside_a_commit(path: Path, work: Callable[[], object], seconds: float = 120) -> bool:
    """Let a child do the work over and over and kill it inside a commit; whether the kill left a journal."""
    journal = path.with_name(path.name + "-journal")
    pid = run_in_child(work)
    end = time.monotonic() + seconds
    while not half_saved(journal) and time.monotonic() < end:
        if os.waitpid(pid, os.WNOHANG) != (0, 0):
            return False
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    return half_saved(journal)


def cut_short(path: Path, work: Callable[[], object]) -> None:
    """Kill inside a commit; a kill that comes too late for one is tried again."""
    assert any(kill_inside_a_commit(path, work) for _ in range(20)), "the kills missed the commits"


def said(answers: Path) -> set[str]:
    return set(answers.read_text().split("\n")[:-1]) if answers.exists() else set()


def again_and_again(path: Path, answers: Path, act: Callable[[Book, Hand, int], str]) -> Callable[[], None]:
    """Work of a child: the act, acknowledged each time only after it returned."""

    def work() -> None:
        book = open_book(path)
        with answers.open("ab", buffering=0) as out:
            for number in range(10_000):
                out.write(f"{act(book, hand_of('Owner Plover', device='d9'), number)}\n".encode())

    return work


def _take(book: Book, by: Hand, number: int) -> str:
    code = f"27-{number:03}"
    take_job(book, by, parse_job_bytes(job_text(code, f"Job {number}").encode(), "job.toml"))
    return ""


def _change(book: Book, by: Hand, number: int) -> str:
    for feet in (12, 13):
        source = tomllib.loads(job_text().replace("11'", f"{feet}'"))
        change = difference(book, "26-101", source, DAY)
        if change.anything:
            return accept_change(book, by, "26-101", source, f"wish {number}", change.rev).id
    raise AssertionError("two sizes and both as the job is")


ACTS: dict[str, Callable[[Book, Hand, int], str]] = {
    "note": lambda book, by, number: add_note(book, by, "26-101", f"n {number}").id,
    "check": lambda book, by, _: record(book, by, "26-101", "layout-square", ["132", "156", "204-3/8", "204-3/8"]).id,
    "receive": lambda book, by, _: receive(book, by, "26-101", "J1", 1).id,
    # Every child is another payer: the same payment twice would be asked about.
    "paid": lambda book, by, n: receive_payment(book, by, "26-101", 100 + n, f"check {os.getpid()}-{n}", DAY).id,
    "take": _take,
    "change": _change,
}


@pytest.mark.parametrize("act", ACTS)
def test_a_book_killed_inside_a_commit_opens_again_with_all_that_was_acknowledged(
    template: Path, tmp_path: Path, act: str
) -> None:
    path = Path(shutil.copy(template, tmp_path / "jobs.book"))
    before, answers = recorded(path), tmp_path / "answers"
    for _ in range(9):
        cut_short(path, again_and_again(path, answers, ACTS[act]))
        book = open_book(path)  # the program itself looks first
        assert job_lines(book, DAY)
        book.close()
        assert doctor(path).problems == ()
        assert before | said(answers) - {""} <= recorded(path)


def test_the_commands_put_a_book_right_that_was_cut_short(template: Path, tmp_path: Path) -> None:
    path = Path(shutil.copy(template, tmp_path / "jobs.book"))
    env = {**os.environ, "DECKJOBS_NOW": "2026-05-12T09:00:00+00:00", "HOME": str(tmp_path)}
    commands = (
        ["note", "26-101", "x"], ["jobs"], ["report"], ["doctor"], ["backup", str(tmp_path / "copy.book")],
    )  # fmt: skip
    for number, words in enumerate(commands):
        kill_inside_a_commit(path, again_and_again(path, tmp_path / "answers", ACTS["note"]))
        done = subprocess.run(
            [sys.executable, "-m", "tracker", "--book", str(path), "--as", "Owner Plover", *words],
            env=env, capture_output=True, text=True, check=False, timeout=300,
        )  # fmt: skip
        assert (done.returncode, done.stderr) == (0, ""), words
        assert said(tmp_path / "answers") <= recorded(path), number
    assert said(tmp_path / "answers") <= recorded(tmp_path / "copy.book")


def test_an_open_window_goes_on_after_another_program_was_killed_inside_a_commit(
    template: Path, tmp_path: Path
) -> None:
    path = Path(shutil.copy(template, tmp_path / "jobs.book"))
    window = open_book(path)
    window.stamp()
    for _ in range(3):
        cut_short(path, again_and_again(path, tmp_path / "answers", ACTS["note"]))
        window.stamp()
        assert job_lines(window, DAY)
    window.close()


def as_kept_before_wood(path: Path) -> None:
    """Make the kept versions those of a program that knew no wood of a lot, as a book of before 0006 has them."""
    with closing(sqlite3.connect(path)) as db, db:
        kept = db.execute("SELECT sql FROM sqlite_master WHERE name = 'standing_no_update'").fetchone()
        if kept is not None:
            db.execute("DROP TRIGGER standing_no_update")
            db.execute("UPDATE standing SET body = json_remove(body, '$.wood') WHERE kind = 'lot'")
            db.execute(kept[0])


@pytest.mark.parametrize("revision", KNOWN[:-1])
def test_an_upgrade_killed_inside_its_commit_is_begun_again(template: Path, tmp_path: Path, revision: str) -> None:
    path = Path(shutil.copy(template, tmp_path / "jobs.book"))
    step(path, revision, down=True)
    as_kept_before_wood(path)
    before = standing_rows(path)
    for _ in range(3):
        kill_inside_a_commit(path, lambda: open_book(path).close())
    open_book(path).close()
    assert doctor(path).problems == ()
    assert standing_rows(path) == before


def test_restores_and_backups_killed_on_the_way_leave_a_whole_book_and_no_rubbish(
    template: Path, tmp_path: Path
) -> None:
    path = Path(shutil.copy(template, tmp_path / "jobs.book"))
    copy = Path(shutil.copy(template, tmp_path / "copy.book"))
    before = recorded(copy)

    def work() -> None:
        for number in range(1000):
            restore(path, copy)
            book = open_book(path)
            backup(book, tmp_path / f"b{number}-{os.getpid()}.book")
            book.close()

    for round_number in range(8):
        pid = run_in_child(work)
        time.sleep(0.02 + round_number * 0.013)
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        open_book(path).close()
        assert doctor(path).problems == ()
        assert recorded(path) == before
    book = open_book(path)
    backup(book, tmp_path / "last.book")
    book.close()
    left = [one.name for one in tmp_path.iterdir() if one.name.startswith(".jobs.book.")]
    assert left == []
    assert all(one.stat().st_mode & 0o077 == 0 for one in tmp_path.glob("*.before-*"))


def test_a_copy_is_nobody_elses_from_its_first_byte(template: Path, tmp_path: Path) -> None:
    book = open_book(Path(shutil.copy(template, tmp_path / "jobs.book")))
    seen: set[int] = set()
    pid = run_in_child(lambda: [backup(book, tmp_path / f"{number}.copy") for number in range(40)])
    while os.waitpid(pid, os.WNOHANG) == (0, 0):
        for one in tmp_path.iterdir():
            if "copy" in one.name:
                with suppress(OSError):
                    seen.add(one.stat().st_mode & 0o777)
    book.close()
    assert seen == {0o600}


def test_a_foreign_file_with_a_journal_is_not_touched(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("CREATE TABLE t (x TEXT)")

    def work() -> None:
        mine = sqlite3.connect(path)
        for number in range(10_000):
            with mine:
                mine.execute("INSERT INTO t VALUES (?)", (f"{number}" * 400,))

    cut_short(path, work)
    before = (path.read_bytes(), path.with_name("other.db-journal").read_bytes())
    with pytest.raises(BookError, match="not a deckjobs book"):
        open_book(path)
    assert (path.read_bytes(), path.with_name("other.db-journal").read_bytes()) == before


def test_where_nothing_may_be_written_a_book_cut_short_says_what_is_true(
    template: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = Path(shutil.copy(template, tmp_path / "jobs.book"))
    cut_short(path, again_and_again(path, tmp_path / "answers", ACTS["note"]))
    monkeypatch.setattr("tracker.book.opening._on_read_only_disk", lambda _: True)
    with pytest.raises(BookError, match="a save was cut short") as told:
        open_book(path)
    assert "jobs.book-journal" in told.value.hint
    monkeypatch.undo()
    open_book(path).close()


def test_a_restore_through_a_link_keeps_the_link(template: Path, tmp_path: Path) -> None:
    real = Path(shutil.copy(template, tmp_path / "real.book"))
    copy = Path(shutil.copy(template, tmp_path / "copy.book"))
    link = tmp_path / "link.book"
    link.symlink_to(real)
    window = open_book(real)
    add_note(window, OWNER, "26-101", "before")
    restore(link, copy)
    assert link.is_symlink() and recorded(real) == recorded(copy)
    done = add_note(window, OWNER, "26-101", "after")
    window.close()
    assert done.id in recorded(link)


def test_a_write_that_meets_a_restore_says_so(template: Path, tmp_path: Path) -> None:
    path = Path(shutil.copy(template, tmp_path / "jobs.book"))
    copy = Path(shutil.copy(template, tmp_path / "copy.book"))
    book = open_book(path)
    add_note(book, OWNER, "26-101", "before")
    with pytest.raises(BookError, match="a copy was restored over the book"), book.writing() as session:
        copy.replace(path)
        job = find_job(session, "26-101")
        append(session, OWNER, Draft("note", {"text": "lost?"}, job_id=job.id))
    book.close()


# -- files a person names


@pytest.mark.parametrize(
    "name",
    [
        "jobs.book", "jobs.book-journal", "jobs.book.before-0002-from-0001-20260101", "jobs.book.replaced-1",
        ".jobs.book.drafts-abc", "link.book", "sub/../jobs.book", "hard.book", "kept-elsewhere.copy",
    ],
)  # fmt: skip
def test_no_file_of_a_book_is_ever_written_over(template: Path, tmp_path: Path, name: str) -> None:
    path = Path(shutil.copy(template, tmp_path / "jobs.book"))
    (tmp_path / "sub").mkdir()
    (tmp_path / "link.book").symlink_to(path)
    os.link(path, tmp_path / "hard.book")
    shutil.copy(path, tmp_path / "kept-elsewhere.copy")
    for beside in ("jobs.book-journal", "jobs.book.replaced-1", ".jobs.book.drafts-abc"):
        (tmp_path / beside).write_text("kept")
    shutil.copy(path, tmp_path / "jobs.book.before-0002-from-0001-20260101")
    before = {one.name: one.read_bytes() for one in tmp_path.iterdir() if one.is_file()}
    with pytest.raises(InputError, match="never written over"):
        write_file(tmp_path / name, b"a,b\n", force=True)
    assert {one.name: one.read_bytes() for one in tmp_path.iterdir() if one.is_file()} == before


def test_the_settings_are_never_written_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    settings = tmp_path / "settings.toml"
    settings.write_text('as = "Rosa"\n')
    monkeypatch.setattr("tracker.book.outfile.settings_path", lambda: settings)
    with pytest.raises(InputError, match="the settings of deckjobs"):
        write_file(settings, b"x", force=True)
    write_file(tmp_path / "free.csv", b"x", force=True)
    write_file(tmp_path / "free.csv", b"y", force=True)
    assert (settings.read_text(), (tmp_path / "free.csv").read_bytes()) == ('as = "Rosa"\n', b"y")


def test_a_half_saved_book_is_seen_as_it_was(template: Path, tmp_path: Path) -> None:
    path = Path(shutil.copy(template, tmp_path / "jobs.book"))
    cut_short(path, again_and_again(path, tmp_path / "answers", ACTS["note"]))
    assert read_schema(path, may_write=True).revision == KNOWN[-1]
