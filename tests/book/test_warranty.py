"""After the hand-over: a list of the decks handed over, and a call that reaches the morning and the day sheet."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.book.conftest import DAY, hand_of
from tests.handed_over import hand_over, oiled, take
from tracker.book.frontviews import NeedsYou, Worry
from tracker.book.gates import reopen
from tracker.book.hand import Hand
from tracker.book.jobs import handed_over_lines, job_lines
from tracker.book.lots import order
from tracker.book.morning import morning
from tracker.book.opening import Book
from tracker.book.punch import add_punch, close_punch
from tracker.book.sheet import day_sheet
from tracker.book.undoing import undo
from tracker.reports.daysheet import plain as sheet_text
from tracker.reports.jobpages import finished_page
from tracker.reports.page import plain

JULY = date(2026, 7, 1)
LATER = date(2026, 9, 14)


@pytest.fixture
def finished(book: Book, hand: Hand) -> Book:
    """A deck handed over on 12 May and finished, care and all, on 1 July; another job that is open."""
    take(book, hand, oiled())
    take(book, hand, oiled("26-102", "Second platform"))
    hand_over(book, hand, without=("finish", "care"))
    hand_over(book, hand_of("Owner Plover", JULY))
    return book


def calls(book: Book, today: date) -> list[NeedsYou]:
    """The calls told on a day: by the morning and by the day sheet alike."""
    found, sheet = morning(book, today).needs, day_sheet(book, today)
    assert found == sheet.needs
    told = [need for need in found if need.worry is Worry.WARRANTY]
    assert all(need.said in " ".join(sheet_text(sheet).split()) for need in told)
    return told


def test_finished_jobs_have_a_list_with_the_day_they_were_handed_over(finished: Book) -> None:
    (line,) = handed_over_lines(finished, LATER)
    assert (line.code, line.handed_over, line.finished) == ("26-101", DAY, True)
    assert [job.code for job in job_lines(finished, LATER)] == ["26-102"]
    text = plain(finished_page((line,)), 120)
    assert "1 deck handed over" in text and "handed over Tue 12 May" in text and "working days late" in text
    assert "handed over Tue 12 May 2026" in plain(finished_page(handed_over_lines(finished, date(2027, 3, 1))), 120)


def test_a_deck_with_its_finish_still_to_come_is_on_the_list_and_says_so(book: Book, hand: Hand) -> None:
    take(book, hand, oiled())
    assert handed_over_lines(book, DAY) == ()
    hand_over(book, hand, without=("finish", "care"))
    (line,) = handed_over_lines(book, DAY)
    assert not line.finished and line.phase_title == "Finish"
    assert [job.code for job in job_lines(book, DAY)] == ["26-101"]


def test_a_call_on_a_finished_job_is_on_the_morning_and_the_day_sheet_until_it_is_done(finished: Book) -> None:
    assert calls(finished, LATER) == []
    add_punch(finished, hand_of("Owner Plover", LATER), "101", "a board has split at the steps")
    (call,) = calls(finished, LATER)
    assert (call.job, call.what, call.clears) == (
        "26-101",
        "a board has split at the steps",
        "deckjobs punch 26-101 --done 1",
    )
    assert call.why == "written down Mon 14 Sep by Owner Plover, after the hand-over of Tue 12 May"
    line = next(job for job in job_lines(finished, LATER) if job.code == "26-101")
    assert (line.finished, line.phase_title, line.days_late) == (
        False,
        "Warranty call",
        handed_over_lines(finished, LATER)[0].days_late,
    )
    # The day before it was nobody's concern, and it stays on the sheet of its day when it is done.
    assert calls(finished, LATER) == [call]
    close_punch(finished, hand_of("Lead Wren", LATER + timedelta(days=2)), "101", "1", "board changed")
    assert calls(finished, LATER + timedelta(days=2)) == []
    assert [need.what for need in day_sheet(finished, LATER).needs if need.worry is Worry.WARRANTY] == [call.what]
    assert {job.code for job in job_lines(finished, LATER + timedelta(days=2))} == {"26-102"}


def test_a_call_closed_by_mistake_and_taken_back_is_told_again(finished: Book) -> None:
    add_punch(finished, hand_of("Owner Plover", LATER), "101", "rail cap loose")
    done = close_punch(finished, hand_of("Lead Wren", LATER), "101", "1")
    assert calls(finished, LATER) == []
    undo(finished, hand_of("Owner Plover", LATER), "101", done.id, "it was another deck's")
    assert [call.what for call in calls(finished, LATER)] == ["rail cap loose"]


def test_a_phase_opened_again_after_the_hand_over_is_told(finished: Book) -> None:
    reopen(finished, hand_of("Owner Plover", LATER), "101", "care", "the oil is streaky")
    (call,) = calls(finished, LATER)
    assert call.what == "First-year care is open again" and "the oil is streaky" in call.why
    reopen(finished, hand_of("Owner Plover", LATER), "101", "boards", "a row is loose")
    needs = [need for need in morning(finished, LATER).needs if need.job == "26-101"]
    assert any("Deck boards" in need.what for need in needs)
    assert needs == [need for need in day_sheet(finished, LATER).needs if need.job == "26-101"]


def test_what_was_left_by_name_on_the_day_of_the_hand_over_is_no_call_after_it(book: Book, hand: Hand) -> None:
    take(book, hand, oiled())
    add_punch(book, hand, "26-101", "rail cap loose")
    hand_over(book, hand, without=("finish", "care"))
    add_punch(book, hand, "26-101", "tread squeaks")
    left, after = calls(book, LATER)
    assert "left at the hand-over" in left.why and "after the hand-over" not in left.why
    assert "after the hand-over of Tue 12 May" in after.why


def test_a_call_is_what_the_lists_of_jobs_tell_of_a_deck_handed_over_and_no_board_that_never_came(
    book: Book, hand: Hand
) -> None:
    take(book, hand, oiled())
    hand_over(book, hand, without=("finish", "care"))
    order(book, hand, "101", "2x6x12", 2, promised=DAY, anyway=True)
    add_punch(book, hand_of("Owner Plover", LATER), "101", "rail cap loose")
    (line,) = job_lines(book, LATER)
    assert line.hold.startswith("rail cap loose")
    assert "rail cap loose" in " ".join(plain(finished_page(handed_over_lines(book, LATER)), 120).split())
    assert not [need for need in morning(book, LATER).needs if need.worry is Worry.LATE]
