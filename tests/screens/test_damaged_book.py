"""The screens on a damaged book: what is wrong and where to turn stands there, and nothing ends as a fault of ours."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from tests.screens.conftest import at_the_keys


def run(path: Path, *statements: str) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        for statement in statements:
            db.execute(statement)


def no_text_in_the_schema(path: Path) -> None:
    path.write_bytes(path.read_bytes().replace(b"CREATE TABLE job (", b"CREATE TABLE j\xffb (", 1))


DAMAGE: dict[str, Callable[[Path], object]] = {
    "a job that is no text": lambda path: run(path, "UPDATE job SET client = CAST(x'52c36f7361' AS TEXT)"),
    "a job that is no job": lambda path: run(path, "UPDATE job SET start = 'May'"),
    "a broken rule": lambda path: run(
        path, "INSERT INTO house_rule (id, kind, key, value, rev) VALUES ('x', 'phase', 'frame', '[]', 1)"
    ),
    "half a file": lambda path: path.write_bytes(path.read_bytes()[: path.stat().st_size // 2]),
    "a schema that is no text": no_text_in_the_schema,
}


@pytest.mark.parametrize("damage", DAMAGE)
async def test_the_screens_say_that_the_book_is_damaged(path: Path, damage: str) -> None:
    DAMAGE[damage](path)
    async with at_the_keys(path, size=(120, 40), opened="looks the book over (doctor)") as hands:
        assert hands.shows("damaged") and hands.app.return_code is None


async def test_the_screens_tell_of_a_strange_trigger_and_save_nothing(path: Path) -> None:
    run(path, "CREATE TRIGGER spy AFTER INSERT ON entry BEGIN UPDATE person SET role = 'spied on'; END")
    before = path.read_bytes()
    async with at_the_keys(path, size=(120, 40), opened="trigger 'spy'"):
        pass
    assert path.read_bytes() == before
