"""What doctor finds: whatever a disk or another program did to the file; and that it changes nothing itself."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.book.conftest import DAY, hand_of, job_text
from tests.book.test_cut_short import ACTS, again_and_again, as_kept_before_wood, cut_short
from tests.book.test_durability import step
from tests.once import copy_once
from tracker.book.care import doctor, mend, restore
from tracker.book.damaged import told_when_damaged
from tracker.book.examine import Examined, _copied, parts_made, parts_of
from tracker.book.houserules import set_house_rules
from tracker.book.jobs import add_note, job_lines, take_job
from tracker.book.letterhead import set_letterhead
from tracker.book.lots import order
from tracker.book.opening import open_book
from tracker.book.prices import take_prices
from tracker.book.schema import HEAD, KNOWN, TRIGGERS, upgrade
from tracker.errors import BookError
from tracker.trade.jobfile import parse_job_bytes

OWNER = hand_of("Owner Plover")
PRICES = b"supplier,item,price\nYard Plover (invented),2x6x12,18.15\n"


def make(path: Path) -> None:
    book = open_book(path)
    take_job(book, OWNER, parse_job_bytes(job_text().encode(), "job.toml"))
    take_prices(book, OWNER, PRICES, "prices.csv")
    set_house_rules(book, OWNER, {"level": "3/16"})
    set_letterhead(book, OWNER, {"name": "Two Ponds Decks (invented)"})
    order(book, OWNER, "26-101", "2x6x12", 400, lot="J1", anyway=True)
    for number in range(6):
        add_note(book, OWNER, "26-101", f"note {number}")
    book.close()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A closed book with a row of every kind."""
    return copy_once(tmp_path / "jobs.book", "to be examined", make)


def run(path: Path, *statements: str, foreign_keys: bool = False) -> None:
    """Run statements as another program would, the guards of what was recorded put away and back."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute(f"PRAGMA foreign_keys={int(foreign_keys)}")
        guards = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            db.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            db.execute(statement)
        for _, text in guards:
            db.execute(text)


def bare(path: Path, *statements: str) -> None:
    """Run statements as they are."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        for statement in statements:
            db.execute(statement)


def problems(path: Path) -> str:
    before = path.read_bytes()
    found = doctor(path)
    assert path.read_bytes() == before
    assert bool(found.advice) == bool(found.problems)
    return "; ".join(found.problems)


def test_a_sound_book_is_sound(path: Path) -> None:
    report = doctor(path)
    assert (report.problems, report.jobs, report.entries, report.schema) == ((), 1, 7, HEAD)


NOT_TEXT = "CAST(x'52c36f7361' AS TEXT)"
TEXTS = {
    "entry": "body = CAST('{' || x'c328' || '}' AS TEXT)",
    "standing": "body = CAST('{' || x'ff' AS TEXT)",
    "job": f"client = {NOT_TEXT}", "lot": f"item = {NOT_TEXT}", "supplier": f"name = {NOT_TEXT}",
    "price": f"item = {NOT_TEXT}", "house_rule": f"value = {NOT_TEXT}", "person": f"name = {NOT_TEXT}",
    "phase": f"key = {NOT_TEXT}", "job_check": f"check_key = {NOT_TEXT}", "platform": f"name = {NOT_TEXT}",
}  # fmt: skip


def test_text_that_is_no_text_is_named(path: Path) -> None:
    run(path, *(f"UPDATE {t} SET {TEXTS[t]} WHERE rowid = (SELECT max(rowid) FROM {t})" for t in TEXTS))
    found = problems(path)
    for table, text in TEXTS.items():
        assert f"of {table}: its {text.split()[0]} is not text" in found


@pytest.mark.parametrize(("value", "kind"), [("{", "rule"), ('"x"', "rule"), ("[]", "phase"), ("{}", "phase")])
def test_a_broken_house_rule_is_found_and_no_fault_of_ours(path: Path, value: str, kind: str) -> None:
    key = "level" if kind == "rule" else "frame"
    run(path, f"UPDATE house_rule SET kind = '{kind}', key = '{key}', value = '{value}' WHERE kind = 'rule'")
    assert "house rules cannot be read" in problems(path)
    with pytest.raises(BookError, match="the book is damaged"), told_when_damaged(path):
        job_lines(open_book(path), DAY)


@pytest.mark.parametrize(("by", "way"), [(-1, "ends too soon"), (-4096, "ends too soon"), (1, "goes on after")])
def test_a_file_of_the_wrong_length_is_found(path: Path, by: int, way: str) -> None:
    data = path.read_bytes()
    path.write_bytes(data[:by] if by < 0 else data + b"\0" * by)
    assert way in problems(path)


def test_a_first_page_that_says_the_file_is_written_another_way_is_found(path: Path) -> None:
    data = path.read_bytes()
    path.write_bytes(data[:18] + b"\xff" + data[19:])
    assert "is not written as a book is" in problems(path)


def test_missing_last_entries_are_found(path: Path) -> None:
    run(path, "DELETE FROM entry WHERE arrived > (SELECT max(arrived) FROM entry) - 2")
    assert "the last 2 entries missing" in problems(path)


def test_entries_missing_between_others_are_found(path: Path) -> None:
    run(path, "DELETE FROM entry WHERE seq IN (3, 4)")
    assert "entries 3 to 4 are missing" in problems(path)


def test_missing_versions_of_standing_rows_are_found(path: Path) -> None:
    run(path, "DELETE FROM standing WHERE arrived = 2")
    assert "1 version of a standing row missing" in problems(path)


def test_an_entry_changed_with_its_guards_put_back_is_found(path: Path) -> None:
    run(path, "UPDATE entry SET body = replace(body, 'note 3', 'note 9')")
    assert "was changed on the disk (its digest differs)" in problems(path)


ALTERED = {
    "DROP TRIGGER entry_no_update": "its trigger entry_no_update is missing",
    "DROP TRIGGER standing_no_delete": "its trigger standing_no_delete is missing",
    "DROP INDEX ix_entry_job_id_kind": "its index ix_entry_job_id_kind is missing",
    "DROP TABLE cut_plan": "its table cut_plan is missing",
    "CREATE INDEX mine ON job (title)": "its index mine was put there by another program",
    "CREATE VIEW others AS SELECT * FROM job": "its view others was put there by another program",
    "CREATE TRIGGER spy AFTER INSERT ON entry BEGIN DELETE FROM lot; END": "its trigger spy was put there by another program, and would run",
    "ALTER TABLE person ADD COLUMN phone TEXT": "its table person is not as deckjobs made it",
}  # fmt: skip


def test_altered_tables_are_found(path: Path) -> None:
    bare(path, *ALTERED)
    found = problems(path)
    for statement, line in ALTERED.items():
        assert line in found, statement


def test_a_guard_that_guards_nothing_is_found(path: Path) -> None:
    bare(path, "DROP TRIGGER entry_no_update")
    bare(path, "CREATE TRIGGER entry_no_update BEFORE UPDATE ON entry BEGIN SELECT 1; END")
    assert "its trigger entry_no_update is not as deckjobs made it" in problems(path)


STANDING = {
    "UPDATE job SET title = 'Another'": "job 26-101 was changed on the disk (title, phases, checks)",
    "UPDATE lot SET supplier = 'Another'": "lot J1 was changed on the disk (supplier)",
    "UPDATE supplier SET lead_days = 9": "supplier Yard Plover (invented) was changed on the disk (lead_days)",
    "UPDATE price SET price_e4 = 1": "price 2x6x12 was changed on the disk (price_e4)",
    "UPDATE house_rule SET value = '4000000' WHERE kind = 'rule'": "house_rule level was changed on the disk (value)",
    "UPDATE phase SET dropped = 1 WHERE key = 'boards'": "(title, phases, checks)",
    "UPDATE job_check SET dropped = 1 WHERE key = 'gap'": "(title, phases, checks)",
    "UPDATE phase SET key = 'fr\u00e4me' WHERE key = 'frame'": "is none the program knows",
    "UPDATE job_check SET check_key = 'squire' WHERE key = 'square'": "check 'squire' is none the program knows",
    "UPDATE person SET since = 'May'": "the people cannot be read",
    "INSERT INTO cut_plan (digest, proven, body) VALUES ('x', 1, '{oh')": "cut plan 1 cannot be read",
    "UPDATE sqlite_sequence SET seq = 1 WHERE name = 'entry'": "the counter of entry stands at 1",
}  # fmt: skip


def test_standing_rows_are_held_against_their_versions(path: Path) -> None:
    run(path, *STANDING)
    found = problems(path)
    for statement, line in STANDING.items():
        assert line in found, statement


def test_rows_and_counters_that_are_gone_are_found(path: Path) -> None:
    run(path, "DELETE FROM price", "DELETE FROM sqlite_sequence")
    found = problems(path)
    assert "price 2x6x12 is missing" in found and "the counter of entry stands at 0" in found


# -- without changing it


@pytest.mark.parametrize("revision", KNOWN)
def test_a_book_of_any_earlier_version_is_examined_as_it_is(path: Path, revision: str) -> None:
    if revision != HEAD:
        book = open_book(path)
        set_letterhead(book, OWNER, {"name": ""})  # going down loses it
        book.close()
        step(path, revision, down=True)
        as_kept_before_wood(path)
    before = sorted(one.name for one in path.parent.iterdir() if not one.name.endswith("-journal"))
    assert problems(path) == ""
    report = doctor(path)
    assert report.schema == revision
    assert any(f"brings it up to {HEAD}" in warning for warning in report.warnings) == (revision != HEAD)
    assert sorted(one.name for one in path.parent.iterdir() if not one.name.endswith("-journal")) == before
    open_book(path).close()
    assert problems(path) == ""


@pytest.mark.parametrize("revision", KNOWN)
def test_books_brought_up_from_any_version_have_the_tables_of_a_new_one(tmp_path: Path, revision: str) -> None:
    upgrade(tmp_path / "jobs.book", revision)
    upgrade(tmp_path / "jobs.book")
    with closing(sqlite3.connect(tmp_path / "jobs.book")) as db:
        assert parts_of(db) == parts_made(HEAD)


def test_the_triggers_are_those_the_migrations_make() -> None:
    made = {part.name: text for part, text in parts_made(HEAD).items() if part.kind == "trigger"}
    assert made == TRIGGERS


def test_a_book_cut_short_is_examined_and_left_as_it_is(path: Path, tmp_path: Path) -> None:
    cut_short(path, again_and_again(path, tmp_path / "answers", ACTS["note"]))
    journal = path.with_name("jobs.book-journal")
    before = (path.read_bytes(), journal.read_bytes())
    report = doctor(path)
    assert (path.read_bytes(), journal.read_bytes()) == before
    assert report.problems == () and any("a save was cut short" in warning for warning in report.warnings)
    open_book(path).close()
    assert doctor(path).warnings == ()


def test_it_tells_damage_from_a_newer_or_foreign_file(path: Path) -> None:
    data = path.read_bytes()
    bare(path, "UPDATE alembic_version SET version_num = '0806'")
    assert "does not say which schema it has ('0806')" in problems(path)
    path.write_bytes(data)
    bare(path, "PRAGMA application_id = 1")
    assert "the mark of a deckjobs book is not on it" in problems(path)
    path.write_bytes(data)
    bare(path, "UPDATE alembic_version SET version_num = '0007'", "CREATE TABLE later (x)")
    with pytest.raises(BookError, match="made by a newer deckjobs"):
        doctor(path)


# -- what another program put in


SPY = "CREATE TRIGGER spy AFTER INSERT ON {table} BEGIN UPDATE person SET role = 'spied on'; END"


def spied(path: Path) -> bool:
    with closing(sqlite3.connect(path)) as db:
        return bool(db.execute("SELECT count(*) FROM person WHERE role = 'spied on'").fetchone()[0])


@pytest.mark.parametrize("table", ["entry", "cut_plan"])
def test_a_strange_trigger_never_runs(path: Path, table: str) -> None:
    bare(path, SPY.format(table=table))
    before = path.read_bytes()
    book = open_book(path)
    assert any("trigger 'spy'" in notice for notice in book.notices)
    assert [line.code for line in job_lines(book, DAY)] == ["26-101"]
    book.keep_plan("digest", True, "{}")
    with pytest.raises(BookError, match=r"would run when it is written: trigger 'spy'") as told:
        add_note(book, OWNER, "26-101", "x")
    assert "deckjobs doctor --mend" in told.value.hint and "restore" not in told.value.hint
    assert "deckjobs doctor --mend" in doctor(path).advice and "restore" not in doctor(path).advice
    book.close()
    assert path.read_bytes() == before and not spied(path)


def test_a_strange_trigger_put_in_while_a_window_is_open_never_runs(path: Path) -> None:
    book = open_book(path)
    add_note(book, OWNER, "26-101", "before")
    bare(path, SPY.format(table="entry"))
    with pytest.raises(BookError, match="trigger 'spy'"):
        add_note(book, OWNER, "26-101", "after")
    bare(path, "DROP TRIGGER spy")
    add_note(book, OWNER, "26-101", "after")
    book.close()
    assert not spied(path)


def test_an_older_book_with_a_strange_trigger_is_not_brought_up_to_date(path: Path) -> None:
    step(path, "0004", down=True)
    bare(path, SPY.format(table="house_rule"))
    before = path.read_bytes()
    with pytest.raises(BookError, match="trigger 'spy'"):
        open_book(path)
    assert path.read_bytes() == before
    assert not list(path.parent.glob("*.before-*"))


def test_a_copy_with_a_strange_trigger_is_not_restored(path: Path, tmp_path: Path) -> None:
    copy = Path(shutil.copy(path, tmp_path / "copy.book"))
    bare(copy, SPY.format(table="entry"))
    with pytest.raises(BookError, match="not a sound deckjobs book"):
        restore(path, copy)


@pytest.mark.parametrize("revision", [HEAD, "0004"])
def test_mending_takes_out_what_is_strange_and_puts_back_what_is_missing(path: Path, revision: str) -> None:
    if revision != HEAD:
        step(path, revision, down=True)
    with closing(sqlite3.connect(path)) as db:
        before = [db.execute(f"SELECT * FROM {table}").fetchall() for table in ("entry", "standing", "job", "lot")]
    bare(
        path, SPY.format(table="entry"), "DROP TRIGGER entry_no_update", "DROP INDEX ix_entry_job_id_kind",
        'CREATE INDEX "my ""own""" ON job (title)', "CREATE VIEW others AS SELECT * FROM job",
    )  # fmt: skip
    damaged = path.read_bytes()
    assert "deckjobs doctor --mend" in doctor(path).advice
    said = mend(path)
    assert set(said[:-1]) == {
        "trigger spy was taken out", 'index my "own" was taken out', "view others was taken out",
        "trigger entry_no_update was put back", "index ix_entry_job_id_kind was put back",
    }  # fmt: skip
    (kept,) = path.parent.glob("jobs.book.before-mending-*")
    assert str(kept) in said[-1] and kept.stat().st_mode & 0o777 == 0o600
    assert path.read_bytes() != damaged and not spied(path)
    with closing(sqlite3.connect(path)) as db:
        after = [db.execute(f"SELECT * FROM {table}").fetchall() for table in ("entry", "standing", "job", "lot")]
        assert parts_of(db) == parts_made(revision)
    assert after == before
    assert mend(path) == ()
    book = open_book(path)
    add_note(book, OWNER, "26-101", "saved again")
    book.close()


def test_a_copy_is_advised_where_mending_does_not_do_all(path: Path) -> None:
    bare(path, SPY.format(table="cut_plan"))
    run(path, "UPDATE supplier SET lead_days = 9")
    advice = doctor(path).advice
    assert "deckjobs doctor --mend" in advice and "for anything else" in advice and "deckjobs restore" in advice


def test_a_lost_guard_is_told_at_every_opening(path: Path) -> None:
    bare(path, "DROP TRIGGER entry_no_update")
    book = open_book(path)
    assert any("trigger entry_no_update is missing" in notice for notice in book.notices)
    add_note(book, OWNER, "26-101", "still saved")
    book.close()


# -- the way out of a failure


def test_a_lost_table_is_a_damaged_book_and_no_fault_of_ours(path: Path) -> None:
    bare(path, "DROP TABLE entry")
    for act in (lambda: job_lines(open_book(path), DAY), lambda: add_note(open_book(path), OWNER, "26-101", "x")):
        with pytest.raises(BookError, match="the book is damaged: its table entry is missing") as told:
            act()
        assert "`deckjobs doctor`" in told.value.hint and "`deckjobs restore FILE`" in told.value.hint


def test_what_goes_wrong_in_an_examination_starts_no_other(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    looked: list[Path] = []

    def seen(path: Path, copy: Path, found: Examined) -> bool:
        looked.append(path)
        return _copied(path, copy, found)

    monkeypatch.setattr("tracker.book.examine._copied", seen)
    bare(path, "ALTER TABLE entry RENAME COLUMN at_ms TO at")
    with pytest.raises(BookError, match="its table entry is not as deckjobs made it"):
        job_lines(open_book(path), DAY)
    assert looked == [path]
    looked.clear()
    bare(path, "ALTER TABLE entry RENAME COLUMN at TO at_ms", "UPDATE alembic_version SET version_num = '0004'")
    with pytest.raises(BookError, match="its table lot is not as deckjobs made it"):
        open_book(path)
    assert looked == [path]


def test_a_fault_of_ours_in_a_sound_book_stays_ours(path: Path) -> None:
    with pytest.raises(ZeroDivisionError), told_when_damaged(path):
        _ = 1 / 0


def test_a_stamp_of_an_earlier_version_on_new_tables_is_damage(path: Path) -> None:
    bare(path, "UPDATE alembic_version SET version_num = '0004'")
    before = path.read_bytes()
    with pytest.raises(BookError, match="the book is damaged"):
        open_book(path)
    assert path.read_bytes() == before
    assert "its table cut_plan was put there" in problems(path)


def test_the_newest_copy_is_named(path: Path) -> None:
    copy = Path(shutil.copy(path, path.with_name("jobs.book.before-0006-from-0005-20260501-080000-000000")))
    bare(path, "DROP TABLE entry")
    with pytest.raises(BookError) as told:
        job_lines(open_book(path), DAY)
    assert str(copy) in told.value.hint
    assert str(copy) in doctor(path).advice
