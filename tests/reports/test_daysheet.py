"""The day sheet: the answer before the data, the same page for the same book and day, and JSON that says the
same.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from tracker.book.frontviews import Worry
from tracker.book.hand import Hand
from tracker.book.jobs import take_job
from tracker.book.opening import Book, open_book
from tracker.book.sheet import day_sheet
from tracker.book.sheetviews import DaySheet
from tracker.book.views import PhaseState
from tracker.reports.daysheet import page, plain, render
from tracker.reports.jsonable import sheet_json
from tracker.reports.page import Printed, cells
from tracker.reports.page import plain as plain_page
from tracker.reports.words import result_of
from tracker.trade.jobfile import parse_job_bytes

SAMPLES = Path(__file__).parents[2] / "sample_jobs"
DAY = date(2026, 5, 12)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    """The sample jobs in a real book."""
    opened = open_book(tmp_path_factory.mktemp("sheet") / "jobs.book")
    hand = Hand("Owner (invented)", datetime(2026, 5, 12, 17, 30, tzinfo=UTC), DAY, "device-1")
    for file in sorted(SAMPLES.glob("*.toml")):
        take_job(opened, hand, parse_job_bytes(file.read_bytes(), file.name))
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def sheet(book: Book) -> DaySheet:
    return day_sheet(book, DAY)


def test_the_same_book_and_day_give_the_same_page(book: Book, sheet: DaySheet) -> None:
    assert plain(day_sheet(book, DAY)) == plain(sheet)
    assert sheet_json(day_sheet(book, DAY)) == sheet_json(sheet)


def test_what_needs_the_owner_stands_first_and_worst_first(sheet: DaySheet) -> None:
    text = plain(sheet)
    assert text.index("NEEDS YOU") < text.index("ALL JOBS") < text.index("TO BUY, ALL JOBS")
    assert [need.worry for need in sheet.needs] == sorted(need.worry for need in sheet.needs)
    failed = {(need.job, need.place.at) for need in sheet.needs if need.worry in (Worry.UNDONE, Worry.FAILED)}
    open_phases = {
        (job.line.code, key) for job in sheet.jobs for key, _, state in job.steps if state is not PhaseState.SIGNED_OFF
    }
    for job in sheet.jobs:
        for check in job.failed:
            told = (job.line.code, check.key) in failed
            assert told or (job.line.code, check.phase) not in open_phases


def test_a_failure_is_told_once_its_move_as_an_instruction(sheet: DaySheet) -> None:
    need = next(need for need in sheet.needs if need.worry is Worry.FAILED and need.place.at == "square")
    # The diagonals of that job were read 18' 7-1/2" and 18' 7": 1/2 in apart.
    assert need.job == "26-014" and need.why == "1/2 in between the diagonals"
    assert need.do.startswith("push the back edge ") and need.do.count("push the back edge") == 1
    job = next(job for job in sheet.jobs if job.line.code == need.job)
    part = plain(sheet).partition(f"\n{job.line.code}  {job.line.title}")[2].partition("\n\n")[0]
    assert part.count("push the back edge") == 1 and "deckjobs check 26-014 square" in part


def test_a_day_or_two_late_is_no_need_and_a_week_is(sheet: DaySheet) -> None:
    late = {job.line.code: job.line.days_late for job in sheet.jobs}
    called = {need.job for need in sheet.needs if need.worry is Worry.BEHIND and need.do == "tell the client"}
    assert any(0 < days <= 5 for days in late.values())
    assert called == {code for code, days in late.items() if days > 5} and called


def test_every_fact_of_the_sheet_is_on_the_page(sheet: DaySheet) -> None:
    flat = "".join(plain(sheet).split())

    def there(text: str) -> bool:
        return "".join(text.split()) in flat

    for job in sheet.jobs:
        assert there(f"{job.line.code} {job.line.title}")
        for check in job.failed:
            assert there(result_of(check))
            assert check.answer is not None and all(there(move) for move in check.answer.moves)
        for check in job.waived:
            assert there(f"waived by {check.waivers[-1].who}") and there(check.waivers[-1].reason)
        failed = {check.key for check in job.failed}
        for blocker in job.holds:
            assert there(blocker.clears) and (blocker.check in failed or there(blocker.why))
        for title, who in job.signed_off_today:
            assert there(f"{title} by {who}")
        for title, _, _ in job.next_work:
            assert there(title)
        for need in job.to_buy:
            assert there(f"{need.to_buy} {need.unit}"[:-1]) and there(need.title)
        for text in job.cautions_tomorrow:
            assert there(text)
        for note in job.notes_today:
            assert there(note.text)
    assert there("Local code, the building office and licensed professionals decide")


def test_totals_add_up_over_the_jobs(sheet: DaySheet) -> None:
    found = sheet_json(sheet)
    totals, jobs = found["totals"], found["jobs"]
    assert isinstance(totals, dict) and isinstance(jobs, list)
    assert totals["jobs"] == len(jobs) == len(list(SAMPLES.glob("*.toml")))
    assert totals["checks_failed"] == sum(len(job.failed) for job in sheet.jobs)
    assert totals["cost_to_buy_cents"] == sum(n.cost_cents or 0 for job in sheet.jobs for n in job.to_buy)
    assert sum(number for *_, number in sheet.buy_totals) == sum(n.to_buy for job in sheet.jobs for n in job.to_buy)


@pytest.mark.parametrize("width", [40, 60, 80, 132])
def test_nothing_runs_over_the_width_and_nothing_is_lost(sheet: DaySheet, width: int) -> None:
    text = plain(sheet, width)
    assert all(cells(line) <= width for line in text.splitlines())
    assert sorted("".join(text.split())) == sorted("".join(plain(sheet, 400).split()))


def test_a_past_day_reads_as_it_was_known_then(book: Book) -> None:
    before = day_sheet(book, date(2026, 5, 11))
    assert "square" not in {check.key for job in before.jobs if job.line.code == "26-014" for check in job.failed}
    assert "Monday 11 May 2026" in plain(before)


def test_a_day_to_come_says_that_it_is_one(sheet: DaySheet) -> None:
    told = "still to come"
    assert told in plain_page(page(sheet, date(2026, 5, 11)))
    assert told not in plain_page(page(sheet, DAY)) and told not in plain(sheet)


def test_the_screen_gets_the_same_page(sheet: DaySheet) -> None:
    assert isinstance(render(sheet), Printed)


def test_an_empty_book_teaches_the_first_step(tmp_path: Path) -> None:
    opened = open_book(tmp_path / "new.book")
    try:
        text = plain(day_sheet(opened, DAY))
    finally:
        opened.close()
    assert "deckjobs take FILE" in text and "nothing" in text


def test_the_json_keys_are_the_documented_ones(sheet: DaySheet) -> None:
    found = sheet_json(sheet)
    assert list(found) == ["day", "next_working_day", "needs_owner", "jobs", "totals", "buy"]
    jobs = found["jobs"]
    assert isinstance(jobs, list) and isinstance(jobs[0], dict)
    assert set(jobs[0]) == {
        "job", "title", "client", "place", "crew", "phase", "phase_title", "phase_state", "phases", "signed_off",
        "hold", "hold_do", "hold_clears", "next_delivery", "days_late", "planned_end", "handed_over", "bought_cents",
        "bought_bound", "needed_cents", "needed_bound", "without_price", "finished",
        "signed_off_today", "design", "under_way", "failed", "waived", "undone", "past", "carries", "holds", "next_work",
        "deliveries", "to_buy", "cautions_tomorrow", "notes_today",
    }  # fmt: skip
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    assert all(f"`{key}`" in readme for key in jobs[0])


@pytest.mark.parametrize("width", [40, 45, 50, 60])
def test_no_word_breaks_inside_on_a_narrow_terminal(sheet: DaySheet, width: int) -> None:
    whole = set(plain(sheet, 1000).split())
    assert set(plain(sheet, width).split()) <= whole
