"""The page of a job's hours: totals, and words that fit a phase that is done."""

from __future__ import annotations

from datetime import date

from tracker.book.worked import HoursView, PhaseHours, Stint
from tracker.reports.hourspages import against_words, hours_page
from tracker.reports.page import plain

STINT = Stint("e1", 1, "j1", "frame", date(2026, 5, 11), 240, 2, ("R. Stone",), 5500, "", "R. Stone")
"""Two people for 4 h at 55.00 an hour: 440.00."""


def test_of_a_phase_that_is_done_nothing_is_left_to_work() -> None:
    assert against_words(150, 180) == "0:30 h left" and against_words(150, 180, done=True) == "0:30 h under"
    assert against_words(210, 180, done=True) == against_words(210, 180) == "0:30 h over"


def test_the_hours_by_phase_add_up() -> None:
    phases = (PhaseHours("layout", "Layout", 150, 180, 13_750, True), PhaseHours("frame", "Frame", 480, 372, 44_000))
    lines = plain(
        hours_page(HoursView("26-101", "Platform", phases, (STINT,), "frame", "Frame", STINT.day)), 80
    ).splitlines()
    (total,) = [line.split() for line in lines if line.strip().startswith("all ")]
    assert total == ["all", "10:30", "h", "9:12", "h", "$577.50"]
    assert any("0:30 h under" in line for line in lines)
