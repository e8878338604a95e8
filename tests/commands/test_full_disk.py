"""A full disk: what was not saved is said not to be, with the exit code of a book that cannot be used, and the book stays whole.

The disk is filled for real: the system lets no file grow past a limit (setrlimit(2), RLIMIT_FSIZE), or a small disk is mounted.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.commands.conftest import Deck
from tests.commands.test_cli import ROOT

LIMITED = (
    "import resource, sys; resource.setrlimit(resource.RLIMIT_FSIZE, ({0}, {0})); from tracker.start import run; run()"
)


def limited(home: Path, size: int, *argv: str) -> subprocess.CompletedProcess[str]:
    """The program where no file may grow past ``size`` bytes."""
    env = {
        "PATH": os.environ["PATH"], "HOME": str(home), "TZ": "UTC", "PYTHONPATH": str(ROOT), "DECKJOBS_AS": "Rosa",
        "DECKJOBS_BOOK": str(home / "jobs.book"), "DECKJOBS_NOW": "2026-05-12T17:30", "PYTHONDONTWRITEBYTECODE": "1",
    }  # fmt: skip
    command = [sys.executable, "-c", LIMITED.format(size), *argv]
    return subprocess.run(command, env=env, cwd=home, capture_output=True, text=True, timeout=120, check=False)


@pytest.mark.parametrize("size", [0, 512, 4096])
def test_an_entry_that_finds_no_room_was_not_saved(deck: Deck, home: Path, size: int) -> None:
    deck.take()
    before = deck("history", "101", "--json").json["entries"]
    result = limited(home, size, "note", "101", "x" * 3000)
    assert (result.returncode, result.stdout) == (3, ""), result
    assert "this was not saved" in result.stderr
    assert deck("history", "101", "--json").json["entries"] == before and deck("doctor").code == 0
    assert deck("note", "101", "x" * 3000).code == 0


@pytest.mark.parametrize(
    "argv",
    [("report", "--csv", "out"), ("report", "--pdf", "out"), ("packet", "101", "--html", "out"), ("draw", "101", "--svg", "out"),
     ("prices", "--out", "out"), ("backup", "out"), ("calendar", "--ics", "out")],
)  # fmt: skip
def test_a_file_that_finds_no_room_was_not_saved(deck: Deck, home: Path, argv: tuple[str, ...]) -> None:
    deck.take()
    result = limited(home, 16, *argv)
    assert result.returncode == 3, result
    assert "was not saved" in result.stderr or "the copy could not be written" in result.stderr, result.stderr
    assert not (home / "out").exists() and not list(home.glob(".out*"))


@pytest.fixture
def small(tmp_path: Path) -> Iterator[Path]:
    """A disk of 600 kB."""
    place = tmp_path / "small"
    place.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=600k", "tmpfs", str(place)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("no disk can be mounted here")
    yield place
    subprocess.run(["umount", str(place)], check=True)


def test_a_disk_that_fills_up_loses_nothing_that_was_acknowledged(deck: Deck, home: Path, small: Path) -> None:
    deck.take()
    book = small / "jobs.book"
    shutil.copy(deck.path, book)
    free = os.statvfs(small)
    (small / "other").write_bytes(b"x" * (free.f_bavail * free.f_frsize - 60_000))
    kept, refused = 0, ""
    for number in range(60):
        result = deck("note", "101", f"number {number} " + "x" * 3000, "--book", str(book))
        if result.code:
            refused = result.err
            assert result.code == 3, result
            break
        kept += 1
    assert "the disk is full: this was not saved" in refused
    assert len(deck("show", "101", "--json", "--book", str(book)).json["notes"]) == kept
    assert deck("restore", str(deck.path), "--yes", "--book", str(book)).code == 3
    (small / "other").unlink()
    assert deck("note", "101", "room again", "--book", str(book)).code == 0
    assert len(deck("show", "101", "--json", "--book", str(book)).json["notes"]) == kept + 1


def test_a_book_that_finds_no_room_is_not_begun(home: Path, deck: Deck) -> None:
    deck.file()
    result = limited(home, 8192, "take", "plover.toml")
    assert result.returncode == 3, result
    assert "not saved" in result.stderr or "cannot be made" in result.stderr, result.stderr
    assert not deck.path.exists() and not [path for path in home.iterdir() if "jobs.book" in path.name]
