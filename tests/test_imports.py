"""Import hygiene: each room imports only what it may, proved in processes of their own and by the
contracts.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
STORE = {"sqlmodel", "sqlalchemy", "alembic", "sqlite3"}
SCREEN = {"textual"}
HEAVY = STORE | SCREEN | {"rich", "platformdirs", "pydantic"}


def imported_by(*modules: str) -> set[str]:
    """The top-level packages that a fresh interpreter has after importing these modules."""
    code = (
        f"import importlib, json, sys\nbefore = set(sys.modules)\n"
        f"for name in {modules!r}: importlib.import_module(name)\n"
        "print(json.dumps(sorted({m.partition('.')[0] for m in set(sys.modules) - before})))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=300, check=True
    )
    return set(json.loads(done.stdout))


def modules_of(room: str) -> list[str]:
    folder = ROOT / "tracker" / room
    return sorted(
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        for path in folder.rglob("*.py")
    )


@pytest.mark.parametrize(
    ("modules", "never"),
    [
        (modules_of("trade"), HEAVY | {"json"}),
        (modules_of("planning"), HEAVY),
        (["tracker", "tracker.errors", "tracker.text"], HEAVY | {"dataclasses", "argparse"}),
        (["tracker.settings"], HEAVY | {"tomllib", "argparse"}),
        (["tracker.cli"], HEAVY | {"argparse", "json", "tomllib", "dataclasses"}),
        (modules_of("commands"), HEAVY - {"platformdirs"}),
        (modules_of("reports"), HEAVY),
        (["tracker.book", "tracker.book.views", "tracker.book.hand"], HEAVY),
        (modules_of("book"), SCREEN | {"rich", "alembic"}),
        (["tracker.screens.app"], STORE),
    ],
    ids=["trade", "planning", "leaves", "settings", "cli", "commands", "reports", "views", "book", "screens"],
)
def test_importing_a_room_brings_nothing_it_may_not_have(modules: list[str], never: set[str]) -> None:
    assert modules
    assert not imported_by(*modules) & never


def test_the_contracts_of_the_rooms_hold() -> None:
    tool = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run([tool, "--no-cache"], cwd=ROOT, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 0, done.stdout
