"""The day sheet and the field packet as files from the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.commands.conftest import Deck
from tests.reports.paper.reading import all_text


@pytest.fixture
def taken(deck: Deck) -> Deck:
    """A book with one job."""
    deck.take()
    return deck


def test_the_report_goes_to_files(taken: Deck) -> None:
    names = {kind: taken.home / f"day.{kind}" for kind in ("html", "pdf", "csv")}
    words = [word for kind, path in names.items() for word in (f"--{kind}", str(path))]
    result = taken("report", *words, "--paper", "a4")
    assert result.code == 0, result.err
    assert result.out.count("written: ") == 3
    assert "Plover Lane platform" in all_text(names["pdf"].read_bytes())
    assert names["html"].read_bytes().startswith(b"<!DOCTYPE html>")
    assert names["csv"].read_bytes().startswith("\ufeffday,job,section".encode())
    first = {kind: path.read_bytes() for kind, path in names.items()}
    again = taken("report", *words, "--paper", "a4")
    assert again.code == 2 and "--force" in again.err
    forced = taken("report", *words, "--paper", "a4", "--force", "--json")
    assert forced.json == {"files": {kind: str(path) for kind, path in names.items()}}
    assert first == {kind: path.read_bytes() for kind, path in names.items()}


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--pdf", "x.pdf", "--paper", "a3"], "not a paper size"),
        (["--paper", "a4"], "--pdf FILE"),
        (["--force"], "no file is named"),
        (["--pdf", "same", "--html", "same"], "name the same file"),
        (["--pdf", " "], "names no file"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_written(taken: Deck, words: list[str], why: str) -> None:
    before = sorted(taken.home.iterdir())
    result = taken("report", *words)
    assert result.code == 2 and why in result.err
    assert sorted(taken.home.iterdir()) == before


def test_the_terminal_page_of_a_past_day_is_the_same_on_any_later_day(
    taken: Deck, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = set()
    for now in ("2026-05-13T08:00", "2026-06-30T22:00"):
        monkeypatch.setenv("DECKJOBS_NOW", now)
        said.add(taken("report", "--date", "2026-05-12").out)
    assert len(said) == 1 and "Plover Lane platform" in said.pop()


def test_the_packet_of_a_job(taken: Deck) -> None:
    path = taken.home / "packet.pdf"
    result = taken("packet", "101", "--pdf", str(path), "--phase", "frame")
    assert result.code == 0, result.err
    text = all_text(path.read_bytes())
    assert "Field packet" in text and "Tape list" in text and "Frame square" in text
    shown = taken("packet", "101", "--phase", "frame")
    assert shown.code == 0 and "Tape list" in shown.out and "[ ] Frame square" in shown.out
    wrong = taken("packet", "101", "--phase", "fram")
    assert wrong.code == 2 and "did you mean frame" in wrong.err
    found = taken("packet", "101", "--json").json
    assert found["block"] == "document" and Path(path).exists()
