"""A command line in a home of its own: real files, a real book, a clock that stands still."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests.invented import platform_text
from tests.once import copy_once
from tracker.cli import main

NOW = "2026-05-12T17:30"

JOB = (
    """
code = "{code}"
title = "{title}"
client = "{client}"
site = "Back yard (invented)"
crew = "North"
start = 2026-05-04
{top}
{facts}
"""
    + platform_text()
    + "{more}\n"
)


def job_text(
    code: str = "26-101",
    title: str = "Plover Lane platform",
    client: str = "Client Plover Lane (invented)",
    top: str = "",
    more: str = "",
) -> str:
    """A small invented ground-level job file; texts are put in as TOML escapes, so hostile ones may be
    given.
    """
    facts = "" if "[site_facts]" in top else "[site_facts]\ndigging = false"
    return JOB.format(
        facts=facts, code=code, title=json.dumps(title)[1:-1], client=json.dumps(client)[1:-1], top=top, more=more
    )


@dataclass(frozen=True, slots=True)
class Result:
    """What a command line answered."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """Standard output as JSON."""
        return json.loads(self.out)


class Deck:
    """``deckjobs`` as a function: ``deck("check", "101", "square")``."""

    def __init__(self, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.home = home
        self.path = home / "jobs.book"
        self._capsys = capsys

    def __call__(self, *argv: str) -> Result:
        self._capsys.readouterr()
        code = main(argv)
        caught = self._capsys.readouterr()
        return Result(code, caught.out, caught.err)

    def file(self, name: str = "plover.toml", **words: str) -> str:
        """Write a job file; returns its path."""
        path = self.home / name
        path.write_text(job_text(**words), "utf-8")
        return str(path)

    def take(self, **words: str) -> None:
        """Take a job."""
        result = self("take", self.file(**words))
        assert result.code == 0, result.err

    def entries(self) -> int:
        """How many entries the book holds."""
        found = self("doctor", "--json").json["entries"]
        assert isinstance(found, int)
        return found


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home folder with nothing in it, and a fixed evening."""
    for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME", "DECKJOBS_DEBUG"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("TZ", "UTC")
    monkeypatch.setenv("DECKJOBS_NOW", NOW)
    monkeypatch.setenv("DECKJOBS_AS", "Rosa (invented)")
    monkeypatch.setenv("DECKJOBS_BOOK", str(tmp_path / "jobs.book"))
    return tmp_path


@pytest.fixture
def deck(home: Path, capsys: pytest.CaptureFixture[str]) -> Deck:
    """The command line."""
    return Deck(home, capsys)


@pytest.fixture
def walked(deck: Deck) -> Deck:
    """A job taken and signed off up to the frame, which is under way."""
    copy_once(deck.path, "walked", lambda _path: _walk(deck))
    deck.file()
    return deck


def _walk(deck: Deck) -> None:
    deck.take()
    for phase in ("visit", "design", "quote", "layout", "strip", "pads", "delivery", "posts"):
        for key in () if phase == "design" else _checks(deck, phase):  # the design asks for no reading
            waived = deck("waive", "101", key, "--reason", "not measured in this test")
            assert waived.code == 0, waived.err
        signed = deck("signoff", "101", phase)
        assert signed.code == 0, signed.err
    assert deck("start", "101", "frame").code == 0


def _checks(deck: Deck, phase: str) -> list[str]:
    phases = deck("show", "101", "--json").json["phase_list"]
    return [check["key"] for found in phases if found["key"] == phase for check in found["checks"]]
