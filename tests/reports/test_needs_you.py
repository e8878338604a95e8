"""What needs a person is one list: morning, open jobs and day sheet in all its forms show it in the same words."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from tests.book.conftest import hand_of, job_text
from tests.reports.paper.reading import all_text
from tests.reports.paper.test_html import parsed
from tracker.book.frontviews import MorningView, Worry
from tracker.book.hand import Hand
from tracker.book.invoices import invoice
from tracker.book.jobs import job_lines, take_job
from tracker.book.money import accept_quote, quote
from tracker.book.morning import morning
from tracker.book.opening import Book, open_book
from tracker.book.readings import record
from tracker.book.samples import sample_files, take_sample, take_sample_prices
from tracker.book.sheet import day_sheet
from tracker.book.sheetviews import DaySheet
from tracker.planning.options import parse_option
from tracker.reports.daycsv import sheet_csv
from tracker.reports.daypaper import day_document
from tracker.reports.daysheet import plain
from tracker.reports.jsonable import sheet_json
from tracker.reports.paper.html import to_html
from tracker.reports.paper.pdf import to_pdf
from tracker.screens.morninglines import sections
from tracker.trade.jobfile import parse_job_bytes

DAY = date(2026, 5, 12)
HAND = Hand("Owner (invented)", datetime(2026, 5, 12, 17, 30, tzinfo=UTC), DAY, "device-1")
TICKET = ["ticket=1", "called=2026-05-01", "answered=yes", "private=yes"]


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    """The sample jobs, with money ready to invoice on one and a ticket that runs out on another."""
    with closing(open_book(tmp_path_factory.mktemp("needs") / "jobs.book")) as opened:
        take_sample_prices(opened, HAND)
        for file in sample_files():
            take_sample(opened, HAND, file)
        take_job(opened, HAND, parse_job_bytes(job_text("26-101", digging=True).encode(), "job.toml"))
        record(opened, HAND, "26-101", "locate", [*TICKET, "expires=2026-05-13"])
        quote(opened, HAND, "26-101", [parse_option("as drawn: price=1000")], unpriced_too=True)
        accept_quote(opened, HAND, "26-101", "as drawn", ["deposit=10%", "frame=rest"])
        yield opened


@pytest.fixture(scope="module")
def view(book: Book) -> MorningView:
    return morning(book, DAY)


@pytest.fixture(scope="module")
def sheet(book: Book) -> DaySheet:
    return day_sheet(book, DAY)


def _squeezed(text: str) -> str:
    return "".join(text.split())


def test_morning_and_day_sheet_show_one_list(view: MorningView, sheet: DaySheet) -> None:
    assert view.needs == sheet.needs
    assert {need.worry for need in view.needs} >= {
        Worry.FAILED, Worry.HELD, Worry.PAPER, Worry.LATE, Worry.SHORT, Worry.MONEY, Worry.BEHIND, Worry.OFFICE,
    }  # fmt: skip


def test_every_form_of_the_sheet_has_every_line_in_the_same_words_and_order(view: MorningView, sheet: DaySheet) -> None:
    needs = view.needs
    html = " ".join("".join(parsed(to_html(day_document(sheet))).itertext()).split())
    pdf = all_text(to_pdf(day_document(sheet)))
    kinds = "|".join(worry.word for worry in Worry)
    listed = re.findall(rf"(\d\d-\d\d\d) ({kinds}) ", pdf[: pdf.index("DELIVERIES DUE")])
    assert listed == [(need.job, need.worry.word) for need in needs]
    assert all(word in pdf for need in needs for word in f"{need.said} {need.do}".split())
    forms = {"terminal": plain(sheet), "narrow": plain(sheet, 40), "html": html[html.index("NEEDS YOU") :]}
    for form, text in forms.items():
        squeezed, at = _squeezed(text), 0
        for need in needs:
            for words in (need.job, need.worry.word, need.said, need.do):
                found = squeezed.find(_squeezed(words), at)
                assert found >= 0, (form, need)
                at = found if words is need.job else at
    rows = [
        row
        for row in csv.DictReader(io.StringIO(sheet_csv(sheet).decode("utf-8-sig")))
        if row["section"] == "needs you"
    ]
    assert [(row["job"], row["what"], row["why"]) for row in rows] == [
        (need.job, f"{need.worry.word}: {need.said}", need.do) for need in needs
    ]
    told = sheet_json(sheet)["needs_owner"]
    assert isinstance(told, list)
    keys = ("job", "kind", "what", "why", "do")
    assert [tuple(line[key] for key in keys) for line in told if isinstance(line, dict)] == [
        (need.job, need.worry.word, need.what, need.why, need.do) for need in needs
    ]


def test_the_screen_shows_the_list_in_the_same_words_and_order(view: MorningView) -> None:
    rows = sections(view)[0].rows
    assert len(rows) == len(view.needs)
    for row, need in zip(rows, view.needs, strict=True):
        assert need.job in row.labels[0][0] and row.labels[1][0].strip() == need.worry.word
        assert (row.text, row.more[0][1]) == (need.said, need.do)


def test_what_holds_a_job_is_the_first_line_of_its_list_that_does(
    book: Book, view: MorningView, sheet: DaySheet
) -> None:
    sheets = {job.line.code: job.line for job in sheet.jobs}
    lines = job_lines(book, DAY)
    for line in lines:
        first = next((need for need in view.needs if need.job == line.code and need.worry.holds), None)
        told = (first.said, first.do, first.clears) if first else ("", "", "")
        assert (line.hold, line.hold_do, line.hold_clears) == told
        assert sheets[line.code].hold == line.hold
    assert sheet.totals["held"] == sum(bool(line.hold) for line in lines) > 0
    assert sheet.totals["jobs"] == len(lines) == view.open_jobs


def test_a_line_of_shortage_speaks_of_one_day_to_order_and_one_day_needed(view: MorningView, sheet: DaySheet) -> None:
    short = [need for need in view.needs if need.worry is Worry.SHORT]
    due = [
        (job.line.code, need.order_by, need.needed_on)
        for job in sheet.jobs for need in job.to_buy if need.order_by is not None and need.order_by <= DAY
    ]  # fmt: skip
    assert len(short) == len(set(due)) > 1
    for need in short:
        assert need.due is not None and need.why.count("needed ") == 1
        word = "order today" if need.due == DAY else "order now: the day to order was "
        assert need.do.startswith(word)
    assert {(need.job, need.due) for need in short} == {(job, order_by) for job, order_by, _ in due}


def test_a_past_day_has_the_list_of_that_day_whatever_came_later(tmp_path: Path) -> None:
    with closing(open_book(tmp_path / "jobs.book")) as book:
        take_job(book, hand_of("Owner Plover", DAY), parse_job_bytes(job_text().encode(), "job.toml"))
        quote(book, hand_of("Owner Plover", DAY), "26-101", [parse_option("as drawn: price=1000")], unpriced_too=True)
        accept_quote(book, hand_of("Owner Plover", DAY), "26-101", "as drawn", ["deposit=10%", "frame=rest"])
        before = day_sheet(book, DAY).needs
        assert before == morning(book, DAY).needs and any(need.worry is Worry.MONEY for need in before)
        after = DAY + timedelta(days=1)
        invoice(book, hand_of("Owner Plover", after), "26-101")
        assert day_sheet(book, DAY).needs == before
        assert not any(need.worry is Worry.MONEY for need in morning(book, after).needs)


def test_a_job_that_is_open_but_has_not_begun_is_on_the_sheet_too(tmp_path: Path) -> None:
    with closing(open_book(tmp_path / "jobs.book")) as book:
        text = job_text().replace("start = 2026-05-04", "start = 2026-09-01")
        take_job(book, hand_of("Owner Plover", DAY), parse_job_bytes(text.encode(), "job.toml"))
        sheet = day_sheet(book, DAY)
        assert [job.line.code for job in sheet.jobs] == [line.code for line in job_lines(book, DAY)] == ["26-101"]
        assert not day_sheet(book, DAY - timedelta(days=1)).jobs
