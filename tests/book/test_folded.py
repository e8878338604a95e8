"""Books whose jobs were taken before phases folded or inspectors were waited for: no begun phase and no entry is lost."""

from __future__ import annotations

from tests.book.conftest import DAY, hand_of, job_text
from tests.signed import sign_off_all_before, sign_off_waived
from tracker.book.care import doctor
from tracker.book.gates import sign_off, start
from tracker.book.hand import Hand
from tracker.book.hours import hours_of, log_text
from tracker.book.jobs import job_lines, job_view, take_job
from tracker.book.opening import Book, open_book
from tracker.book.views import JobView, PhaseState
from tracker.trade.jobfile import parse_job_bytes

SMALL = job_text().replace("""size = ["11'", "13'"]""", """size = ["10'", "12'"]""")


def taken(book: Book, hand: Hand, text: str) -> str:
    return take_job(book, hand, parse_job_bytes(text.encode(), "job.toml")).code


def keys(view: JobView) -> list[str]:
    return [phase.key for phase in view.phases]


def as_before(book: Book, *gone: str) -> Book:
    """The book as a program left it that did not know these phases, opened by this one."""
    marks = ", ".join(f"'{key}'" for key in gone)
    with book.writing() as session:
        run = session.connection().exec_driver_sql
        run("PRAGMA user_version = 0")
        run(f"UPDATE phase SET dropped = 1 WHERE key IN ({marks})")
    book.close()
    return open_book(book.path)


def test_hours_and_sign_offs_of_a_small_job_by_the_name_of_what_is_folded(book: Book, hand: Hand) -> None:
    code = taken(book, hand, SMALL)
    view = job_view(book, code, DAY)
    assert "visit" not in keys(view) and "design" in keys(view)
    assert "on design" in log_text(book, hand, code, "2h visit").text
    assert [row.phase for row in hours_of(book, code, DAY).phases if row.minutes] == ["design"]
    assert {"visit", "site visit", "design", "design and sizes"} <= hours_of(book, code, DAY).names
    sign_off(book, hand, code, "site visit")
    assert job_view(book, code, DAY).phase("design").state is PhaseState.SIGNED_OFF


def test_a_small_job_keeps_the_phases_it_was_taken_with(book: Book, hand: Hand) -> None:
    log = "".join(
        f'\n[[log]]\non = 2026-05-05\nwho = "Owner Plover"\ndo = "signoff"\nphase = "{key}"\n' for key in ("visit",)
    )
    code = taken(book, hand, SMALL + log)
    log_text(book, hand, code, "2h visit")
    again = as_before(book, "none")
    view = job_view(again, code, DAY)
    assert view.phase("visit").state is PhaseState.SIGNED_OFF and view.phase("visit").title == "Site visit"
    assert [row.phase for row in hours_of(again, code, DAY).phases if row.minutes] == ["visit"]
    assert doctor(again.path).problems == ()
    again.close()


def test_a_job_begun_before_inspectors_were_waited_for_is_not_stopped_by_one(book: Book, hand: Hand) -> None:
    text = job_text(permit=True)
    begun, ahead = taken(book, hand, text), taken(book, hand, text.replace("26-101", "26-102"))
    sign_off_all_before(book, hand, begun, "under-deck")
    start(book, hand, begun, "under-deck")
    again = as_before(book, "inspect-frame", "inspect-final", "inspect-footings")
    view = job_view(again, begun, DAY)
    assert "inspect-frame" not in keys(view) and "inspect-final" in keys(view)
    assert view.phase("under-deck").state is PhaseState.UNDER_WAY
    assert "framing-inspection" in {check.key for check in view.phase("under-deck").checks}
    sign_off_waived(again, hand, begun, "under-deck")
    sign_off_waived(again, hand, begun, "board-gap")
    start(again, hand, begun, "boards")
    assert {"inspect-frame", "inspect-final"} <= set(keys(job_view(again, ahead, DAY)))
    assert {line.code for line in job_lines(again, DAY)} == {begun, ahead}
    assert doctor(again.path).problems == ()
    again.close()


def test_a_platform_that_grows_gets_its_phases_back_and_keeps_its_hours(book: Book, hand: Hand) -> None:
    code = taken(book, hand, SMALL)
    log_text(book, hand, code, "2h visit")
    take_job(book, hand_of("Owner Plover"), parse_job_bytes(job_text().encode(), "job.toml"))
    view = job_view(book, code, DAY)
    assert {"visit", "quote", "site-close", "final", "care"} <= set(keys(view))
    assert hours_of(book, code, DAY).minutes == 120
    assert doctor(book.path).problems == ()
