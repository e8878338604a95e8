"""The day sheet on paper: a summary and a page a job at most, the figures in it, and the same bytes for a past day for ever."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from tests.book.conftest import hand_of, job_text
from tests.reports.paper.documents import HEBREW, HOSTILE, LONG
from tests.reports.paper.reading import all_text, read_csv, read_pdf
from tests.reports.paper.test_html import parsed
from tracker.book.hand import Hand
from tracker.book.houserules import set_house_rules
from tracker.book.jobs import add_note, take_job
from tracker.book.opening import Book, open_book
from tracker.book.prices import take_prices
from tracker.book.readings import record
from tracker.book.sheet import day_sheet
from tracker.book.sheetviews import DaySheet
from tracker.book.views import NoteView
from tracker.reports.daycsv import COLUMNS, sheet_csv, sheet_rows
from tracker.reports.daypaper import day_document
from tracker.reports.daysheet import page, plain
from tracker.reports.jsonable import sheet_json
from tracker.reports.page import plain as plain_page
from tracker.reports.paper.html import to_html
from tracker.reports.paper.pdf import to_pdf
from tracker.reports.words import money_line
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.money import format_money

SAMPLES = Path(__file__).parents[2] / "sample_jobs"
DAY = date(2026, 5, 12)
LATER = DAY + timedelta(days=30)


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DaySheet]:
    """The sheet of the sample jobs."""
    opened = open_book(tmp_path_factory.mktemp("paper") / "jobs.book")
    hand = Hand("Owner (invented)", datetime(2026, 5, 12, 17, 30, tzinfo=UTC), DAY, "device-1")
    for file in sorted(SAMPLES.glob("*.toml"))[:4]:
        take_job(opened, hand, parse_job_bytes(file.read_bytes(), file.name))
    yield day_sheet(opened, DAY)
    opened.close()


@pytest.fixture(scope="module")
def pdf(sheet: DaySheet) -> bytes:
    return to_pdf(day_document(sheet))


def test_a_summary_and_one_page_a_job_at_most(sheet: DaySheet, pdf: bytes) -> None:
    pages = read_pdf(pdf)
    summary, of_jobs = pages[: -len(sheet.jobs)], pages[-len(sheet.jobs) :]
    text = " ".join(" ".join(page.text for page in summary).split())
    assert "NEEDS YOU" in pages[0].text and "TO BUY, ALL JOBS TOGETHER" in text and "more line" not in text
    for job, found in zip(sheet.jobs, of_jobs, strict=True):
        assert found.text.startswith(f"{job.line.code} {job.line.title.split()[0]}")


def test_the_figures_are_on_the_page(sheet: DaySheet, pdf: bytes) -> None:
    text = all_text(pdf)
    assert format_money(sheet.totals["cost_to_buy_cents"]) in text
    for job in sheet.jobs:
        assert money_line(job.line) in text
        for _, title, state in job.steps:
            assert title.split()[0] in text and state.value in text
        for check in job.failed:
            assert f"FAIL {check.key}" in text
        for delivery in job.deliveries:
            assert delivery.lot in text
    assert "supports built" in text


def test_every_open_job_and_every_line_of_needs_you_is_there_however_many_there_are(sheet: DaySheet) -> None:
    codes = [f"27-{number:03}" for number in range(6 * len(sheet.jobs))]
    jobs = tuple(
        replace(job, line=replace(job.line, code=code)) for job, code in zip(sheet.jobs * 6, codes, strict=True)
    )
    needs = tuple(replace(need, job=f"28-{number:03}") for number, need in enumerate(sheet.needs * 4))
    many = replace(sheet, jobs=jobs, needs=needs)
    document = day_document(many)
    pages = read_pdf(to_pdf(document))
    summary = " ".join(page.text for page in pages[: -len(jobs)])
    html = " ".join("".join(parsed(to_html(document)).itertext()).split())
    first = html[: html.index("DELIVERIES DUE")]
    rows, narrow = {row[1] for row in sheet_rows(many)}, plain(many, 40)
    for code in (*codes, *(need.job for need in needs)):
        assert summary.count(code) >= 1 and first.count(code) >= 1 and code in rows and code in narrow
    assert "more line" not in summary and "more line" not in first


def test_the_drawing_and_its_words_are_in_the_page(sheet: DaySheet) -> None:
    tree = parsed(to_html(day_document(sheet)))
    images = [node.get("alt", "") for node in tree.iter("{http://www.w3.org/1999/xhtml}img")]
    assert len(images) == sum(len(job.spec.platforms) for job in sheet.jobs)
    assert all(text.startswith("Plan of ") and "Drawn: " in text for text in images)


def test_a_job_with_too_much_to_tell_still_takes_one_page(sheet: DaySheet) -> None:
    job = sheet.jobs[0]
    at = datetime(2026, 5, 12, tzinfo=UTC)
    notes = tuple(NoteView(DAY, at, HEBREW, f"{HOSTILE} {LONG * 5}") for _ in range(40))
    full = replace(
        job, notes_today=notes, to_buy=sheet.jobs[1].to_buy * 12, line=replace(job.line, title=LONG, client=HEBREW)
    )
    crowded = replace(sheet, jobs=(full,))
    pages = read_pdf(to_pdf(day_document(crowded), "a4"))
    of_job = [page for page in pages if LONG[:20] in page.text and "OPEN JOBS" not in page.text]
    assert of_job == pages[-1:] and "more lines, see: deckjobs show" in " ".join(pages[-1].text.split())
    parsed(to_html(day_document(crowded)))


def test_no_job_gives_a_page_too() -> None:
    empty = DaySheet(DAY, DAY + timedelta(days=1), (), (), {"jobs": 0}, ())
    assert "No open job" in all_text(to_pdf(day_document(empty)))


def test_the_csv_has_a_line_for_every_line_and_reads_back(sheet: DaySheet) -> None:
    data = sheet_csv(sheet)
    assert read_csv(data) == (COLUMNS, *sheet_rows(sheet))
    rows = list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline="")))
    costs = [float(row["money"]) for row in rows if row["section"] == "to buy" and row["money"]]
    assert sum(round(cost * 100) for cost in costs) == sheet.totals["cost_to_buy_cents"]
    assert sum(row["section"] == "FAIL" for row in rows) == sheet.totals["checks_failed"]
    assert {row["day"] for row in rows} == {"2026-05-12"}


def every_form(book: Book, day: date, today: date) -> tuple[bytes, ...]:
    """Text, JSON, CSV, HTML and PDF of a day's sheet, made on ``today``."""
    sheet = day_sheet(book, day)
    document = day_document(sheet)
    text = plain_page(page(sheet, today)).encode()
    assert text == plain(sheet).encode()
    return text, json.dumps(sheet_json(sheet)).encode(), sheet_csv(sheet), to_html(document), to_pdf(document)


def test_a_past_day_is_byte_identical_whatever_came_later(tmp_path: Path) -> None:
    with closing(open_book(tmp_path / "jobs.book")) as book:

        def take(day: date, text: str) -> None:
            take_job(book, hand_of("Owner Plover", day), parse_job_bytes(text.encode(), "job.toml"))

        def price(day: date, money: str) -> None:
            text = f"supplier,item,price,pack,seen,lead_days,delivery,minimum\nYard One,2x6x14,{money},1,,1,0,0\n"
            take_prices(book, hand_of("Owner Plover", day), text.encode(), "prices.csv")

        take(DAY, job_text())
        price(DAY, "18.15")
        add_note(book, hand_of("Owner Plover", DAY), "26-101", "stakes are in")
        first = every_form(book, DAY, DAY + timedelta(days=1))
        assert every_form(book, DAY, DAY + timedelta(days=1)) == first
        after = DAY + timedelta(days=2)
        take(after, job_text(title="Another title").replace('"11\'"', '"15\'"'))
        price(after, "22.40")
        set_house_rules(book, hand_of("Owner Plover", after), {"crown_most": "1/2 in"})
        add_note(book, hand_of("Owner Plover", after), "26-101", "seen later")
        readings = ["width=15'", "depth=13'", "ac=19' 10-1/4\"", "bd=19' 10\""]
        record(book, hand_of("Owner Plover", after), "26-101", "layout-square", readings)
        assert every_form(book, DAY, after) == first
        assert every_form(book, DAY, LATER) == first
        assert b"seen later" in every_form(book, after, LATER)[0]
