"""``deckjobs change``: the differences first, then a change order with its reason."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.commands.conftest import Deck, job_text

WIDER = """size = ["14'", "13'"]"""


def wider(deck: Deck, code: str = "26-101", size: str = WIDER) -> str:
    """The job file with another width."""
    path = deck.home / "wider.toml"
    path.write_text(job_text(code=code).replace("""size = ["11'", "13'"]""", size), "utf-8")
    return str(path)


def test_differences_are_shown_and_nothing_is_written_without_a_yes(walked: Deck) -> None:
    before = walked.entries()
    shown = walked("change", "101", wider(walked))
    assert shown.code == 1 and not shown.err
    assert "deck: size 11' x 13' is now 14' x 13'" in shown.out and "--yes" in shown.out
    assert "open again: Layout (layout)" in shown.out and "before" in shown.out and "material" in shown.out
    answer = walked("change", "101", wider(walked), "--json")
    assert answer.code == 1 and answer.json["changed"] and not answer.json["accepted"]
    assert {"phase": "layout", "why": "layout-square is to be read again"} in answer.json["reopen"]
    assert {item["item"] for item in answer.json["items"]} >= {"cloth", "block"} or answer.json["items"]
    assert walked.entries() == before


def test_a_yes_with_a_reason_accepts_it_once(walked: Deck) -> None:
    missing = walked("change", "101", wider(walked), "--yes")
    assert missing.code == 2 and "--reason" in missing.err
    done = walked("change", "101", wider(walked), "--reason", "a table has to fit", "--yes")
    assert done.code == 0, done.err
    assert "recorded: change order of 26-101" in done.out
    again = walked("change", "101", wider(walked), "--reason", "a table has to fit", "--yes")
    assert again.code == 0 and "nothing is changed" in again.out
    assert "under way" in walked("show", "101").out


def test_the_owner_accepts_and_the_file_is_the_jobs_own(walked: Deck) -> None:
    assert walked("--as", "Lead Wren (invented)", "note", "101", "hello").code == 0
    refused = walked("--as", "Lead Wren (invented)", "change", "101", wider(walked), "--reason", "wider", "--yes")
    assert refused.code == 1 and "may not accept a change order" in refused.err
    other = walked("change", "101", wider(walked, code="26-102"))
    assert other.code == 2 and "file of job 26-102" in other.err
    wrong = walked("change", "101", wider(walked, size='size = ["wide", 3]'))
    assert wrong.code == 2 and "wider.toml:" in wrong.err and "size" in wrong.err
    same = Path(walked.file())
    assert walked("change", "101", str(same)).code == 0


def test_a_check_to_be_read_again_says_so_once_in_the_report(deck: Deck, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DECKJOBS_AS", "M. Holt")
    (sample,) = (Path(__file__).parents[2] / "sample_jobs").glob("26-014-*.toml")
    assert deck("take", str(sample)).code == 0
    path = deck.home / "wider.toml"
    path.write_text(re.sub(r"(?m)^size = \[.*$", WIDER, sample.read_text("utf-8"), count=1), "utf-8")
    assert deck("change", "014", str(path), "--yes", "--reason", "the client wants it wider").code == 0
    told = " ".join(deck("report").out.split())
    assert "Layout square is to be read again: a change order changed what was read" in told
    assert "to be read again: to be read again" not in told
