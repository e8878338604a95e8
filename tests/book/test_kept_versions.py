"""Damage to kept versions of standing rows: the examination finds it whatever it is, and whoever reads them says so."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from sqlmodel import Session

from tests.book.conftest import DAY, hand_of
from tests.book.test_doctor import make, run
from tests.once import copy_once
from tracker.book.care import backup, doctor, restore
from tracker.book.examine import _KEPT, _versions
from tracker.book.lots import order
from tracker.book.opening import Book, open_book
from tracker.book.tables import STANDING_KINDS
from tracker.cli import main
from tracker.errors import BookError

OWNER = hand_of("Owner Plover")


def make_two_lots(path: Path) -> None:
    make(path)
    with closing(open_book(path)) as book:
        order(book, OWNER, "26-101", "2x8x12", 400, lot="J2", anyway=True)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A closed book with a row of every kind, and more than one lot."""
    return copy_once(tmp_path / "jobs.book", "with kept versions", make_two_lots)


def wrongs(body: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for key, value in body.items():
        rest = {name: other for name, other in body.items() if name != key}
        yield f"{key} renamed", {**rest, f"{key[:-1]} ": value}
        yield f"{key} dropped", rest
        others: tuple[object, ...] = (None, True, 1.5, "1" if isinstance(value, int) else 1, {})
        for other in others:
            yield f"{key} as {other!r}", {**body, key: other}
        if isinstance(value, list):
            yield f"{key} of numbers", {**body, key: [1]}
    yield "one more", {**body, "other": ""}
    yield "none of them", {}


def test_every_key_of_every_kind_of_kept_version_is_read(path: Path) -> None:
    with closing(sqlite3.connect(path)) as db:
        db.execute("DROP TRIGGER standing_no_update")
        db.commit()
    tables = {str(table.__tablename__): table for table in _KEPT}
    assert set(tables) == set(STANDING_KINDS)
    book = Book(path, blame=False)
    with closing(book), book.reading() as session:
        for kind, table in tables.items():
            assert list(_versions(session, table)) == []
            body = last_body(session, kind)
            for what, wrong in wrongs(body):
                put(session, kind, json.dumps(wrong))
                assert list(_versions(session, table)), f"{kind}: {what}"
            put(session, kind, json.dumps(body))
            assert list(_versions(session, table)) == []


LAST = "(SELECT max(arrived) FROM standing WHERE kind = ?)"


def last_body(session: Session, kind: str) -> dict[str, Any]:
    found = (
        session.connection().exec_driver_sql(f"SELECT body FROM standing WHERE arrived = {LAST}", (kind,)).scalar_one()
    )
    body = json.loads(found)
    assert isinstance(body, dict)
    return body


def put(session: Session, kind: str, text: str) -> None:
    session.connection().exec_driver_sql(f"UPDATE standing SET body = ? WHERE arrived = {LAST}", (text, kind))
    session.expire_all()


def replaced(kind: str, key: str, by: str) -> str:
    return f"UPDATE standing SET body = replace(body, '\"{key}\"', '\"{by}\"') WHERE kind = '{kind}'"


DAMAGE = {
    "price: supplier": replaced("price", "supplier_id", "supplier_i "),
    "price: empty": "UPDATE standing SET body = '{}' WHERE kind = 'price'",
    "price: figure": replaced("price", "price_e4", "price_e5"),
    "lots": replaced("lot", "item", "itam"),
    "suppliers": replaced("supplier", "name", "nume"),
    "letterhead": replaced("house_rule", "kind", "kund"),
}


@pytest.mark.parametrize("what", DAMAGE)
def test_every_reader_of_a_damaged_kept_version_names_it(
    path: Path, what: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    run(path, DAMAGE[what])
    assert any(line.startswith("kept version ") for line in doctor(path).problems)
    monkeypatch.setenv("DECKJOBS_NOW", f"{DAY}T18:00:00+00:00")
    monkeypatch.setenv("DECKJOBS_AS", OWNER.who)
    assert main(["--book", str(path), "doctor"]) == 3
    for words in (("report",), ("report", "--date", DAY.isoformat()), ("handover", "26-101")):
        capsys.readouterr()
        code = main(["--book", str(path), *words])
        assert (code, "kept version" in (told := capsys.readouterr().err)) == (3, True), (words, told)


def test_no_copy_with_a_damaged_kept_version_is_made_or_put_back(path: Path, tmp_path: Path) -> None:
    sound = Path(copy_once(tmp_path / "sound.book", "with kept versions", make_two_lots))
    run(path, DAMAGE["lots"])
    with closing(open_book(path)) as book, pytest.raises(BookError, match="the book is damaged: kept version"):
        backup(book, tmp_path / "copy.book")
    assert not (tmp_path / "copy.book").exists()
    before = sound.read_bytes()
    with pytest.raises(BookError, match="not a sound deckjobs book: kept version"):
        restore(sound, path)
    assert sound.read_bytes() == before
