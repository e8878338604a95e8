"""The day sheet on paper: a summary and a page a job, the figures in it, and the same bytes for a past day for ever."""

from __future__ import annotations

import csv
import io
import json
import re
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


def test_a_summary_then_a_page_for_each_job_that_goes_on_for_nothing_but_what_to_buy(
    sheet: DaySheet, pdf: bytes
) -> None:
    pages = read_pdf(pdf)
    starts = [f"{job.line.code} {job.line.title.split()[0]}" for job in sheet.jobs]
    first = next(k for k, page in enumerate(pages) if page.text.startswith(starts[0]))
    summary = pages[:first]
    codes = [job.line.code for job in sheet.jobs for page in pages[first:] if f"item for {job.line.code}" in page.text]
    text = " ".join(" ".join(page.text for page in summary).split())
    assert "NEEDS YOU" in pages[0].text and "TO BUY, ALL JOBS TOGETHER" in text and "more line" not in text
    of_jobs = [page for page in pages[first:] if not page.text.startswith(("number item for ", "To buy"))]
    for start, found in zip(starts, of_jobs, strict=True):
        assert found.text.startswith(start)
    assert list(dict.fromkeys(codes)) == [job.line.code for job in sheet.jobs if job.to_buy]
    assert all("more line" not in page.text for page in pages)


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


def test_a_job_with_too_much_to_tell_counts_what_it_leaves_out_and_never_a_line_of_a_sum(sheet: DaySheet) -> None:
    job = sheet.jobs[0]
    at = datetime(2026, 5, 12, tzinfo=UTC)
    notes = tuple(NoteView(DAY, at, HEBREW, f"{HOSTILE} {LONG * 5}") for _ in range(40))
    some = next(need for need in sheet.jobs[1].to_buy if need.cost_cents)
    to_buy = tuple(replace(some, item=f"thing{k}", title=f"thing number {k}", cost_cents=100 + k) for k in range(90))
    full = replace(job, notes_today=notes, to_buy=to_buy, line=replace(job.line, title=LONG, client=HEBREW))
    crowded = replace(sheet, jobs=(full,))
    pages = [" ".join(page.text.split()) for page in read_pdf(to_pdf(day_document(crowded), "a4"))]
    (start,) = [k for k, text in enumerate(pages) if LONG[:20] in text and "OPEN JOBS" not in text]
    assert "more lines, see: deckjobs show" in pages[start]
    told = " ".join(pages[start:])
    assert sorted(map(int, re.findall(r"thing number (\d+)", told))) == list(range(90))
    assert all(f"item for {job.line.code}" in text for text in pages[start + 1 :])
    costs = [int(cents) for cents in re.findall(r"thing number \d+ .*? \$1\.(\d\d)", told)]
    assert len(costs) == 90 and f"${90 + sum(costs) / 100:.2f}" in pages[-1]
    parsed(to_html(day_document(crowded)))


def test_a_list_to_buy_that_just_outgrows_its_page_is_whole_with_its_sum(sheet: DaySheet) -> None:
    some = next(need for need in sheet.jobs[1].to_buy if need.cost_cents)
    for number in range(12, 44, 4):
        to_buy = tuple(replace(some, item=f"thing{k}", title=f"thing number {k}") for k in range(number))
        one = replace(sheet, jobs=(replace(sheet.jobs[0], to_buy=to_buy),))
        for text in (all_text(to_pdf(day_document(one))), to_html(day_document(one)).decode()):
            assert len(set(re.findall(r"thing number (\d+)", text))) == number and "more line" not in text


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
