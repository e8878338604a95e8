"""Days of another year carry their year wherever they are shown; days of this year go without."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

from tests.book.conftest import DAY
from tracker.book.agenda import agenda
from tracker.book.days import add_day_off
from tracker.book.gates import sign_off, start
from tracker.book.hand import Hand
from tracker.book.history import history
from tracker.book.hours import hours_of, log_text
from tracker.book.jobs import add_note, job_view
from tracker.book.load import load_job
from tracker.book.lots import order
from tracker.book.morning import morning
from tracker.book.opening import Book
from tracker.book.punch import add_punch
from tracker.book.readings import record
from tracker.book.sheet import day_sheet
from tracker.reports.agendapage import agenda_page
from tracker.reports.daysheet import plain as sheet_text
from tracker.reports.historypages import history_page
from tracker.reports.hourspages import hours_page
from tracker.reports.jobpages import checks_page, job_page, jobs_page
from tracker.reports.page import plain
from tracker.screens.morninglines import listed, sections

SHORT = re.compile(r"\b(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d{1,2} (?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)\b")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
NEXT_YEAR = date(2027, 1, 15)


def texts(book: Book, code: str, today: date) -> dict[str, str]:
    """What people read on ``today``, page by page, in one long line each."""
    job = job_view(book, code, today)
    pages = {
        "jobs": jobs_page((job.line,)),
        "job": job_page(job),
        "checks": checks_page(job),
        "history": history_page(code, history(book, code, today).lines, 99, today, why=True),
        "hours": hours_page(hours_of(book, code, today)),
        "agenda": agenda_page(agenda(book, [code], today), today),
    }
    out = {name: plain(page, 2000) for name, page in pages.items()}
    out["day sheet"] = sheet_text(day_sheet(book, today), 2000)
    rows = listed(sections(morning(book, today)), 2000, brief=False)
    return out | {"morning": "\n".join(str(content) for _, content in rows)}


def worked(book: Book, hand: Hand, take: Callable[..., str]) -> str:
    """A job with one of everything that has a day."""
    code = take(digging=True)
    start(book, hand, code, "visit")
    sign_off(book, hand, code, "visit")
    order(book, hand, code, "2x6x12", 4, promised=date(2026, 5, 14))
    ticket = ("T-1001", "called=2026-05-06", "expires=2026-05-20", "answered=yes", "private=yes")
    record(book, hand, code, "locate", ticket)
    add_day_off(book, hand, date(2026, 5, 25), "holiday")
    log_text(book, hand, code, "7h30 visit")
    add_note(book, hand, code, "gate code 1234")
    add_punch(book, hand, code, "rail cap loose")
    return code


def test_days_of_another_year_carry_it_on_every_page(book: Book, hand: Hand, take: Callable[..., str]) -> None:
    code = worked(book, hand, take)
    for page, text in texts(book, code, NEXT_YEAR).items():
        for found in SHORT.finditer(text):
            year = text[found.end() : found.end() + 5]
            # What is planned now is of this year and goes without: its weekday is that of 2027.
            this = date.fromisoformat(f"2027-{1 + MONTHS.index(found[0][-3:]):02d}-{int(found[0].split()[1]):02d}")
            assert year in (" 2026", " 2027") or f"{this:%a}" == found[0][:3], (page, found[0], text)
            assert year != " 2027", (page, found[0])
        if page not in ("agenda", "jobs"):
            assert " 2026" in text, page


def test_days_of_this_year_go_without_it(book: Book, hand: Hand, take: Callable[..., str]) -> None:
    code = worked(book, hand, take)
    for page, text in texts(book, code, DAY).items():
        assert not re.search(SHORT.pattern + " 2026", text), (page, text)


def test_a_verdict_kept_from_last_year_says_of_which_year_its_days_are(
    book: Book, hand: Hand, take: Callable[..., str]
) -> None:
    code = worked(book, hand, take)
    with book.reading() as session:
        state = load_job(book, session, code, NEXT_YEAR)
    (reading,) = state.check_folds["locate"].readings
    assert "good to Wed 20 May 2026" in reading.answer.headline
    (line,) = [line for line in history(book, code, NEXT_YEAR).lines if line.kind == "reading"]
    assert "good to Wed 20 May 2026" in line.said
    (line,) = [line for line in history(book, code, DAY).lines if line.kind == "reading"]
    assert "good to Wed 20 May;" in line.said
