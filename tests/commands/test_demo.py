"""The demo: invented jobs in a book that is thrown away, the same on every day of the week and in every
year.
"""

from __future__ import annotations

import re
import tempfile
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.commands.conftest import Deck
from tests.often import by_night
from tracker.book.samples import SAMPLE_TUESDAY, sample_folder, shifted, weeks_to
from tracker.commands.demo import BANNER


def told(text: str) -> str:
    """A day sheet without its dates."""
    text = " ".join(text.split())
    text = re.sub(r"\b(Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d+(?= to )", "DAY", text)
    text = re.sub(r"\b(Mon|Tue|Wed|Thu|Fri|Sat|Sun)[a-z]* \d+ [A-Z][a-z]+( \d{4})?", "DAY", text)
    return re.sub(r"\b\d+ [A-Z][a-z]{2,}\b", "DAY", text)


def test_the_demo_prints_a_day_sheet_the_same_every_week_but_for_the_dates_and_leaves_nothing(
    deck: Deck, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = deck.home / "tmp"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    result = deck("demo", "--print")
    assert result.code == 0 and result.out.startswith(f"{BANNER}\n")
    assert "invented" in BANNER and "thrown away" in BANNER
    assert "Tuesday 12 May 2026" in result.out and "NEEDS YOU" in result.out
    assert not list(folder.iterdir()) and not deck.path.exists()
    assert told(deck("demo", "--print", "--date", "2026-05-19").out) == told(result.out)


def test_the_demo_shows_something_of_everything(deck: Deck) -> None:
    sheet = deck("demo", "--print", "--json").json
    assert sheet["totals"]["jobs"] == len(list(sample_folder().glob("*.toml"))) >= 3
    assert sheet["totals"]["checks_failed"] and sheet["totals"]["checks_waived"] and sheet["totals"]["items_to_buy"]
    assert any(job["signed_off_today"] for job in sheet["jobs"]) and any(job["deliveries"] for job in sheet["jobs"])


@pytest.mark.parametrize("offset", [by_night(4, name="Friday"), pytest.param(6, id="Sunday")])
def test_the_demo_works_on_week_days_and_at_the_week_end(deck: Deck, offset: int) -> None:
    day = date(2027, 2, 22) + timedelta(days=offset)
    result = deck("demo", "--print", "--date", day.isoformat())
    assert result.code == 0, result.err
    assert f"{day:%A} {day.day} {day:%B %Y}" in result.out


def test_without_a_terminal_the_demo_says_how_to_print(deck: Deck) -> None:
    result = deck("demo")
    assert result.code == 2 and "deckjobs demo --print" in result.err


@given(st.dates(date(2001, 1, 8), date(2098, 12, 20)))
def test_samples_move_by_whole_weeks_into_the_week_asked_for(day: date) -> None:
    by = weeks_to(day)
    moved = SAMPLE_TUESDAY + by
    assert by.days % 7 == 0 and moved.isocalendar()[:2] == day.isocalendar()[:2]
    table = {"a": SAMPLE_TUESDAY, "b": ["expires=2026-05-12", "lot 2026-05-123", "2026-02-30"], "c": {"n": 3}}
    assert shifted(table, by) == {
        "a": moved,
        "b": [f"expires={moved.isoformat()}", "lot 2026-05-123", "2026-02-30"],
        "c": {"n": 3},
    }


def test_every_sample_says_that_it_is_invented() -> None:
    for file in sorted(sample_folder().glob("*.toml")):
        assert "invented" in file.read_text("utf-8").splitlines()[0], file.name
    assert isinstance(sample_folder(), Path)
