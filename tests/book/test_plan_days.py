"""The plan of a job in the book: bound by papers, waits and checks; late against the client's hand-over, where it stands still."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta

import pytest

from tests.book.conftest import DAY, hand_of
from tests.handed_over import hand_over, oiled
from tests.handed_over import take as take_text
from tests.signed import sign_off_waived
from tracker.book.days import add_day_off
from tracker.book.gates import sign_off, start
from tracker.book.hand import Hand
from tracker.book.jobs import job_view
from tracker.book.load import load_job
from tracker.book.opening import Book
from tracker.book.readings import record, waive
from tracker.book.samples import sample_files, take_sample
from tracker.book.views import CheckState, GateShutError, JobView, PhaseState
from tracker.trade.dates import format_day

Take = Callable[..., str]
ONE = timedelta(days=1)
OWNER = "Owner Plover"


def plan(book: Book, code: str, today: date, *phases: str) -> list[date]:
    view = job_view(book, code, today)
    return [view.phase(phase).planned_start for phase in phases]


def signed_up_to(book: Book, hand: Hand, code: str, last: str) -> None:
    """Waive what is open and sign off every phase before ``last``."""
    keys = [phase.key for phase in job_view(book, code, hand.day).phases]
    hand_over(book, hand, code, without=tuple(keys[keys.index(last) :]))


@pytest.fixture
def samples(book: Book) -> Book:
    for file in sample_files():
        take_sample(book, hand_of("M. Holt"), file)
    return book


# -- papers, waits and checks bind the plan


def test_nobody_digs_before_the_ticket_allows_it(book: Book, hand: Hand, take: Take) -> None:
    """Called on Monday the 11th: the ticket itself says Tuesday the 19th."""
    code = take(digging=True)
    ticket = ("T-1", "called=2026-05-11", "expires=2026-05-29", "answered=yes", "private=yes", "start=2026-05-19")
    read = record(book, hand, code, "locate", ticket)
    assert plan(book, code, DAY, "strip") == [date(2026, 5, 19)]
    assert job_view(book, code, DAY).check("locate").settled
    # Within the ticket's days it is good; strings can be set meanwhile.
    assert plan(book, code, DAY, "layout")[0] < date(2026, 5, 19)
    assert read.text


def test_a_ticket_that_has_run_out_moves_the_digging_to_the_day_a_new_one_allows(
    book: Book, hand: Hand, take: Take
) -> None:
    """It ran out on Monday the 11th; one called for on Tuesday the 12th is good on Friday the 15th."""
    code = take(digging=True)
    record(
        book, hand, code, "locate", ("T-1", "called=2026-05-01", "expires=2026-05-11", "answered=yes", "private=yes")
    )
    check = job_view(book, code, DAY).check("locate")
    assert check.answer is not None
    assert check.answer.moves == ("call for a new ticket by Tue 12 May",)
    assert plan(book, code, DAY, "strip") == [date(2026, 5, 15)]


MONDAY = date(2026, 5, 4)
"""Called that day, three working days on are Thursday the 7th."""


def called_on_monday(book: Book, code: str, expires: str = "2026-05-26") -> None:
    """Layout and locate signed off on Monday, with a ticket called for that morning."""
    monday = hand_of(OWNER, MONDAY)
    signed_up_to(book, monday, code, "locate")
    ticket = ("T-1", "called=2026-05-04", f"expires={expires}", "answered=yes", "private=yes")
    assert "PASSED" in record(book, monday, code, "locate", ticket).text
    sign_off(book, monday, code, "locate")
    sign_off_waived(book, monday, code, "layout")


def test_digging_is_not_started_on_a_day_the_ticket_does_not_allow(book: Book, hand: Hand, take: Take) -> None:
    code = take(digging=True)
    called_on_monday(book, code)
    waive(book, hand, code, "stripped", "not measured in this test")
    for go in (start, sign_off):
        with pytest.raises(GateShutError) as shut:
            go(book, hand_of(OWNER, MONDAY), code, "strip")
        (locate,) = shut.value.blockers
        assert (locate.check, locate.why) == (
            "locate", "digging is allowed from Thu 7 May; judged for today, Mon 4 May",
        )  # fmt: skip
        assert locate.clears == f"that day, or deckjobs check {code} locate"
    strip = job_view(book, code, MONDAY).phase("strip")
    assert (strip.state, strip.planned_start) == (PhaseState.AHEAD, date(2026, 5, 7))
    assert [blocker.check for blocker in strip.stands_in_way] == ["locate"]
    start(book, hand_of(OWNER, date(2026, 5, 7)), code, "strip")


def test_digging_before_the_ticket_allows_it_stays_on_record_with_its_reason(
    book: Book, hand: Hand, take: Take
) -> None:
    code = take(digging=True)
    called_on_monday(book, code)
    start(book, hand_of(OWNER, MONDAY), code, "strip", past="sod only, by hand")
    (past,) = job_view(book, code, date(2026, 5, 8)).phase("strip").past
    assert [(thing.key, thing.reason) for thing in past.things] == [("locate", "sod only, by hand")]


def test_a_ticket_good_today_lets_digging_begin_before_the_day_it_was_planned_for(
    book: Book, hand: Hand, take: Take
) -> None:
    """It runs out on Friday the 8th; the strip is put off by days off until after that, then begins on Thursday all the same."""
    code = take(digging=True)
    called_on_monday(book, code, expires="2026-05-08")
    thursday = date(2026, 5, 7)
    for day in (thursday, date(2026, 5, 8)):
        add_day_off(book, hand_of(OWNER, thursday), day, "rain", rain=True)
    assert job_view(book, code, thursday).check("locate").state is CheckState.FAILED
    start(book, hand_of(OWNER, thursday), code, "strip")


def test_a_ticket_that_is_not_good_for_the_digging_stops_nothing_that_digs_nothing(
    book: Book, hand: Hand, take: Take
) -> None:
    """It ran out on Monday the 11th, before anything was dug; the lumber is signed for on the 12th."""
    code = take(digging=True)
    called_on_monday(book, code, expires="2026-05-11")
    assert job_view(book, code, DAY).check("locate").state is CheckState.FAILED
    start(book, hand, code, "delivery")
    sign_off_waived(book, hand, code, "delivery")
    with pytest.raises(GateShutError) as shut:
        start(book, hand, code, "strip")
    assert [blocker.check for blocker in shut.value.blockers] == ["locate"]


def test_a_ticket_nobody_has_called_for_is_called_for_today_at_the_earliest(book: Book, hand: Hand, take: Take) -> None:
    """Three working days from Wednesday the 20th are Monday the 25th; called on Monday the 18th, Thursday the 21st."""
    code = take(digging=True)
    signed_up_to(book, hand, code, "locate")
    later = date(2026, 5, 20)
    assert plan(book, code, later, "strip") == [date(2026, 5, 25)]
    start(book, hand_of(OWNER, date(2026, 5, 18)), code, "locate")
    assert plan(book, code, later, "strip") == [date(2026, 5, 21)]


def test_a_booked_inspection_holds_what_comes_after_it(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    signed_up_to(book, hand, code, "under-deck")
    before = plan(book, code, DAY, "boards")[0]
    booked = record(book, hand, code, "framing-inspection", ("result=booked", "day=2026-05-21"))
    assert booked.answer is not None
    assert booked.answer.headline == "framing inspection is booked for Thu 21 May"
    assert before < date(2026, 5, 21) <= plan(book, code, DAY, "boards")[0]
    check = job_view(book, code, DAY).check("framing-inspection")
    assert not check.settled


def test_the_finish_is_planned_when_its_check_lets_it_go_on(book: Book, hand: Hand) -> None:
    """Rain yesterday, two dry days wanted (house rule): the day after tomorrow less one."""
    take_text(book, hand, oiled())
    signed_up_to(book, hand, "101", "finish")
    waive(book, hand, "101", "wait.finish", "the boards came kiln-dried")
    assert plan(book, "101", DAY, "finish") == [DAY]
    wet = ("rain=0", "air=70", "humidity=55", "drop=yes", "forecast=48", "b1=12", "b2=12", "b3=13")
    record(book, hand, "101", "finish-ready", wet)
    assert plan(book, "101", DAY, "finish") == [DAY + 2 * ONE]


def test_no_page_of_a_sample_plans_work_before_the_day_its_own_check_allows(samples: Book) -> None:
    said = re.compile(
        r"(?:digging can start|digging is allowed from|put digging off to|start no work under it before) (\w+ \d+ \w+)"
    )
    found = 0
    for offset in range(0, 45, 5):
        today = DAY + offset * ONE
        for file in sample_files():
            with samples.reading() as session:
                state = load_job(samples, session, file.name[:6], today)
            for check in state.checks:
                answer = state.answer(check)
                for told in said.findall(" ".join((answer.headline, *answer.moves))) if answer else ():
                    found += 1
                    for key in state.guarded_by(check):
                        if state.phase_folds[key].started is None:
                            start_day = state.plan[key].start
                            days = (today + n * ONE for n in range(60))
                            assert start_day >= next(d for d in days if format_day(d, today) == told), (
                                file.name,
                                today,
                            )
    assert found


# -- lateness


def test_signing_the_layout_off_on_its_day_makes_no_sample_later(samples: Book) -> None:
    """26-021 went from 3 to 4 working days late."""
    before = job_view(samples, "26-021", DAY)
    assert before.phase("layout").planned_end == DAY and before.line.days_late == 3
    sign_off(samples, hand_of("M. Holt"), "26-021", "layout")
    after = job_view(samples, "26-021", DAY)
    assert after.line.days_late == 3
    assert after.line.planned_end == before.line.planned_end


def working_days_late(view: JobView) -> int:
    """Counted here day by day, Monday to Friday."""
    first = view.phase("hand-over").first_planned_end
    return sum((first + n * ONE).weekday() < 5 for n in range(1, (view.line.planned_end - first).days + 1))


def test_late_is_late_for_the_client_and_stands_still_once_the_deck_is_handed_over(book: Book, hand: Hand) -> None:
    take_text(book, hand, oiled())
    assert job_view(book, "101", DAY).line.days_late == working_days_late(job_view(book, "101", DAY)) > 0
    hand_over(book, hand, without=("finish", "care"))
    then = job_view(book, "101", DAY).line
    assert (then.handed_over, then.planned_end) == (DAY, DAY)
    for later in (DAY + 30 * ONE, date(2027, 5, 20)):
        line = job_view(book, "101", later).line
        assert (line.days_late, line.planned_end, line.handed_over) == (then.days_late, DAY, DAY)
    hand_over(book, hand_of(OWNER, date(2026, 7, 1)))
    line = job_view(book, "101", date(2027, 5, 20)).line
    assert line.finished and (line.days_late, line.planned_end) == (then.days_late, DAY)
