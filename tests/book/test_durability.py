"""Nothing that was reported as recorded is ever lost: kills, two writers, full disks, half-way migrations.

The methods (kill loop, fault at the n-th step, data-carrying stairway) are those SQLite and Alembic describe for their own
testing; the counts are our own.
"""

from __future__ import annotations

import os
import random
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
import traceback
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from alembic import command
from alembic.script import ScriptDirectory

from tests.book.conftest import DAY, hand_of, job_text
from tracker.book.care import doctor
from tracker.book.engine import make_engine
from tracker.book.jobs import add_note, job_view, take_job
from tracker.book.lots import lots, order
from tracker.book.opening import open_book
from tracker.book.schema import HEAD, KNOWN, alembic_config, migrations_dir, read_schema, upgrade
from tracker.errors import BookError
from tracker.trade.jobfile import parse_job_bytes

OWNER = hand_of("Owner Plover")
KILLS = 60
WRITES = 300


def new_job(path: Path) -> None:
    book = open_book(path)
    take_job(book, OWNER, parse_job_bytes(job_text().encode(), "job.toml"))
    book.close()


def run_in_child(work: object) -> int:
    """Fork, do the work in the child, never return there; returns the child's process id. A child that fails says why."""
    pid = os.fork()
    if pid == 0:
        try:
            work()  # type: ignore[operator]
        except BaseException:
            traceback.print_exc()
            os._exit(1)
        os._exit(0)
    return pid


def writer(path: Path, device: str, said: Path, writes: int) -> None:
    """Write notes and acknowledge each, as a command does: only after the operation returned."""
    book = open_book(path)
    by = hand_of("Lead Wren", device=device)
    with said.open("ab", buffering=0) as answers:
        for number in range(writes):
            done = add_note(book, by, "26-101", f"{device} {number}")
            answers.write(f"{done.id}\n".encode())
    book.close()


def recorded(path: Path) -> set[str]:
    with closing(sqlite3.connect(path)) as db:
        return {identity for (identity,) in db.execute("SELECT id FROM entry")}


def test_kill_at_any_moment_loses_nothing_acknowledged(tmp_path: Path) -> None:
    path = tmp_path / "jobs.book"
    new_job(path)
    dice = random.Random(20260512)
    for round_number in range(KILLS):
        answers = tmp_path / f"answers-{round_number}"
        pid = run_in_child(lambda n=round_number, a=answers: writer(path, f"d{n}", a, 100_000))
        while not (answers.exists() and answers.stat().st_size):
            time.sleep(0.001)
        time.sleep(dice.uniform(0, 0.03))
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        acknowledged = set(answers.read_text().split("\n")[:-1])
        assert acknowledged and acknowledged <= recorded(path)
    report = doctor(path)
    assert (report.problems, report.devices) == ((), KILLS)


def test_two_writers_lose_no_update(tmp_path: Path) -> None:
    path = tmp_path / "jobs.book"
    new_job(path)
    files = [tmp_path / "one", tmp_path / "two"]
    pids = [run_in_child(lambda f=f: writer(path, f.name, f, WRITES)) for f in files]
    assert [os.waitpid(pid, 0)[1] for pid in pids] == [0, 0]
    acknowledged = {line for file in files for line in file.read_text().split()}
    assert len(acknowledged) == 2 * WRITES
    assert acknowledged <= recorded(path)
    assert doctor(path).problems == ()


def test_two_writers_of_one_lot_count_every_piece(tmp_path: Path) -> None:
    from tracker.book.lots import receive, use

    path = tmp_path / "jobs.book"
    new_job(path)
    book = open_book(path)
    order(book, OWNER, "26-101", "2x6x12", 400, lot="J1", anyway=True)
    book.close()

    def work(device: str) -> None:
        mine = open_book(path)
        by = hand_of("Lead Wren", device=device)
        for _ in range(50):
            receive(mine, by, "26-101", "J1", 2)
            use(mine, by, "26-101", "J1", 1)
        mine.close()

    for pid in [run_in_child(lambda d=d: work(d)) for d in ("one", "two")]:
        assert os.waitpid(pid, 0)[1] == 0
    book = open_book(path)
    (lot,) = lots(book, "26-101", DAY)
    book.close()
    assert (lot.received, lot.used, lot.on_hand, lot.on_order) == (200, 100, 100, 200)


def test_a_killed_command_can_be_repeated_and_records_once(tmp_path: Path) -> None:
    path = tmp_path / "jobs.book"
    new_job(path)
    words = [
        sys.executable,
        "-m",
        "tracker",
        "--book",
        str(path),
        "--as",
        "Lead Wren",
        "note",
        "26-101",
        "gate is open",
    ]
    env = {**os.environ, "DECKJOBS_NOW": "2026-05-12T09:00:00+00:00", "HOME": str(tmp_path)}
    folder = f".{path.name}.unanswered-*"

    def waiting() -> set[str]:
        """The id of the command that got no answer."""
        return {file.read_text("ascii") for file in tmp_path.glob(folder)}

    begun = time.monotonic()
    subprocess.run(words, env=env, stdout=subprocess.DEVNULL, check=True)
    whole = time.monotonic() - begun
    notes = recorded(path)
    assert waiting() == set()
    dice = random.Random(7)
    for killed in [True] * 8 + [False]:
        id_kept = waiting()
        process = subprocess.Popen(words, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        if killed:
            time.sleep(dice.uniform(0.3, 1.1) * whole)
            process.kill()
        assert process.wait() == 0 or killed
        new = recorded(path) - notes
        assert len(new) <= 1 and (not id_kept or new <= id_kept), (
            "what got no answer is recorded under its first id, once"
        )
        notes |= new
        assert killed or (notes >= id_kept and not waiting())
    # Killed after the write but before the answer: the id is kept, so the repeat finds it.
    from tracker.book.unanswered import unanswered

    with pytest.raises(KeyboardInterrupt), unanswered(path, ["note", "x"]) as identity:
        book = open_book(path)
        add_note(book, OWNER, "26-101", "x", entry_id=identity)
        book.close()
        raise KeyboardInterrupt
    with unanswered(path, ["note", "x"]) as again:
        book = open_book(path)
        assert add_note(book, OWNER, "26-101", "x", entry_id=again).already
        book.close()
    assert len(recorded(path)) == len(notes) + 1


def test_a_full_disk_saves_nothing_and_loses_nothing(tmp_path: Path) -> None:
    path = tmp_path / "jobs.book"
    new_job(path)
    before = recorded(path)

    def fill() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        size = path.stat().st_size
        resource.setrlimit(resource.RLIMIT_FSIZE, (size + 30_000, size + 30_000))
        book = open_book(path)
        with (tmp_path / "said").open("w") as said:
            for _ in range(500):
                try:
                    print(add_note(book, OWNER, "26-101", "x" * 3000).id, file=said, flush=True)
                except BookError as error:
                    print("STOPPED", error.message, file=said, flush=True)
                    break

    os.waitpid(run_in_child(fill), 0)
    *saved, last = (tmp_path / "said").read_text().splitlines()
    assert last.startswith("STOPPED the disk")
    assert recorded(path) == before | set(saved)
    book = open_book(path)
    add_note(book, OWNER, "26-101", "space again")
    assert len(job_view(book, "26-101", DAY).notes) == len(saved) + 1
    book.close()


# -- migrations


def test_the_constants_name_the_migrations_there_are() -> None:
    script = ScriptDirectory(str(migrations_dir()))
    assert script.get_heads() == [HEAD]
    assert tuple(reversed([revision.revision for revision in script.walk_revisions()])) == KNOWN


def test_models_and_migrations_agree(tmp_path: Path) -> None:
    path = tmp_path / "jobs.book"
    new_job(path)
    engine = make_engine(path, busy_ms=1000)
    with engine.connect() as connection:
        command.check(alembic_config(connection))
    engine.dispose()


def standing_rows(path: Path) -> list[tuple[object, ...]]:
    """Every standing row, by the columns it has had from the first."""
    columns = {"lot": "id, job_id, code, item, supplier, use_category, dry, rev"}
    with closing(sqlite3.connect(path)) as db:
        return [
            row
            for t in ("job", "platform", "phase", "job_check", "lot", "person")
            for row in db.execute(f"SELECT {columns.get(t, '*')} FROM {t} ORDER BY id")
        ]


def step(path: Path, revision: str, *, down: bool = False) -> None:
    engine = make_engine(path, busy_ms=1000)
    with engine.begin() as connection:
        (command.downgrade if down else command.upgrade)(alembic_config(connection), revision)
    engine.dispose()


def test_the_stairway_with_data(tmp_path: Path) -> None:
    path = tmp_path / "jobs.book"
    new_job(path)
    rows = standing_rows(path)
    for lower, upper in zip(reversed(KNOWN[:-1]), reversed(KNOWN[1:]), strict=True):
        step(path, lower, down=True)
        assert read_schema(path).revision == lower
        step(path, upper)
        step(path, lower, down=True)
        step(path, "head")
    assert standing_rows(path) == rows
    book = open_book(path)
    add_note(book, OWNER, "26-101", "still works")
    book.close()
    step(path, "base", down=True)
    with closing(sqlite3.connect(path)) as db:
        assert {name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type='table'")} <= {
            "alembic_version",
            "sqlite_sequence",
        }


def test_an_older_book_is_copied_then_brought_up_to_date(tmp_path: Path) -> None:
    path = tmp_path / "jobs.book"
    new_job(path)
    step(path, "0001", down=True)
    rows = standing_rows(path)
    book = open_book(path)
    assert "brought up to date" in book.notices[0]
    book.close()
    (copy,) = tmp_path.glob("jobs.book.before-*")
    assert (read_schema(copy).revision, read_schema(path).revision) == ("0001", HEAD)
    assert standing_rows(copy) == standing_rows(path) == rows
    assert copy.stat().st_mode & 0o777 == 0o600


@pytest.fixture
def slow_migrations(tmp_path: Path) -> Iterator[Path]:
    """The real migrations and one more that rebuilds a parent table and copies many rows, so that a kill can land in it."""
    folder = tmp_path / "migrations"
    shutil.copytree(migrations_dir(), folder, ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "versions" / "9001_test_only.py").write_text(
        f'''
import sqlalchemy as sa
from alembic import op
revision, down_revision, branch_labels, depends_on = "9001", "{HEAD}", None, None

def upgrade():
    with op.batch_alter_table("job") as batch:
        batch.add_column(sa.Column("colour", sa.Text, nullable=False, server_default="none"))
    op.create_table("copy_of_entry", sa.Column("id", sa.Text, primary_key=True), sa.Column("body", sa.Text))
    op.execute("WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 150) "
               "INSERT INTO copy_of_entry SELECT id || '-' || i, body FROM entry, n")
'''
    )
    yield folder


def test_a_migration_killed_half_way_leaves_the_old_book_or_the_new(tmp_path: Path, slow_migrations: Path) -> None:
    template = tmp_path / "template.book"
    new_job(template)
    book = open_book(template)
    for number in range(200):
        add_note(book, OWNER, "26-101", f"note {number} " + "x" * 400)
    book.close()
    before = recorded(template)
    dice = random.Random(11)
    outcomes: set[str] = set()
    for round_number in range(20):
        path = tmp_path / f"{round_number}.book"
        shutil.copy(template, path)
        pid = run_in_child(lambda p=path: upgrade(p, "head", folder=slow_migrations))
        time.sleep(dice.uniform(0, 0.25))
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        with closing(sqlite3.connect(path)) as db:
            (stamp,) = db.execute("SELECT version_num FROM alembic_version").fetchone()
            tables = {name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type='table'")}
            assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert ("copy_of_entry" in tables) == (stamp == "9001")
        assert not any(name.startswith("_alembic_tmp") for name in tables)
        assert recorded(path) == before
        outcomes.add(stamp)
        upgrade(path, "head", folder=slow_migrations)
        assert recorded(path) == before
        path.unlink()
    assert HEAD in outcomes


def test_rebuilding_a_parent_table_keeps_its_children(tmp_path: Path, slow_migrations: Path) -> None:
    path = tmp_path / "jobs.book"
    new_job(path)
    rows = len(standing_rows(path))
    upgrade(path, "head", folder=slow_migrations)
    assert len(standing_rows(path)) == rows


def test_two_programs_upgrading_at_once_take_turns(tmp_path: Path) -> None:
    for round_number in range(5):
        path = tmp_path / f"{round_number}.book"
        new_job(path)
        step(path, "0001", down=True)
        pids = [run_in_child(lambda p=path: open_book(p).close()) for _ in range(3)]
        for pid in pids:
            os.waitpid(pid, 0)
        assert read_schema(path).revision == HEAD
        assert doctor(path).problems == ()


def test_two_programs_making_one_book_agree(tmp_path: Path) -> None:
    for round_number in range(5):
        path = tmp_path / f"{round_number}.book"
        pids = [run_in_child(lambda p=path: open_book(p).close()) for _ in range(3)]
        for pid in pids:
            os.waitpid(pid, 0)
        report = doctor(path)
        assert (report.problems, report.schema) == ((), HEAD)
        assert [p for p in tmp_path.iterdir() if ".new-" in p.name] == []


def test_too_little_room_to_migrate_is_refused_before_anything_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "jobs.book"
    new_job(path)
    step(path, "0001", down=True)
    usage = shutil.disk_usage(tmp_path)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage._replace(free=1000))
    with pytest.raises(BookError, match="too full to bring the book up to date"):
        open_book(path)
    assert read_schema(path).revision == "0001"
