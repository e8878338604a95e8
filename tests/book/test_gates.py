"""Phases and gates on a real book. The rules of the gates are our own design; the check figures are common practice."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest

from tests.book.conftest import DAY, hand_of
from tests.signed import sign_off_all_before
from tracker.book.gates import hold, reopen, sign_off, start
from tracker.book.hand import Hand
from tracker.book.jobs import job_lines, job_view
from tracker.book.opening import Book
from tracker.book.readings import record, waive
from tracker.book.sheet import day_sheet
from tracker.book.views import CheckState, GateShutError, PhaseState
from tracker.errors import InputError, RefusedError

Take = Callable[..., str]

# An 11 x 13 ft frame: the true diagonal is 17 ft 0-3/8 in; equal diagonals pass, 1/2 in apart does not.
GOOD = ("width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8")
RACKED = ("width=11'", "depth=13'", "ac=17' 5/8", "bd=17' 1/8")


def frame_under_way(book: Book, hand: Hand, code: str) -> None:
    sign_off_all_before(book, hand, code, "frame")
    start(book, hand, code, "frame")


def settle_frame_but(book: Book, hand: Hand, code: str, *left: str) -> None:
    for check in job_view(book, code, DAY).phase("frame").checks:
        if check.key not in left:
            waive(book, hand, code, check.key, "measured by eye")


def blockers_of(error: pytest.ExceptionInfo[GateShutError]) -> list[str]:
    return [blocker.check or blocker.phase for blocker in error.value.blockers]


def test_sign_off_of_the_frame_waits_for_square(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    frame_under_way(book, hand, code)
    settle_frame_but(book, hand, code, "square")

    with pytest.raises(GateShutError) as open_gate:
        sign_off(book, hand, code, "frame")
    assert blockers_of(open_gate) == ["square"]
    assert open_gate.value.blockers[0].clears == f"deckjobs check {code} square"

    failing = record(book, hand, code, "square", RACKED)
    assert failing.answer is not None and failing.answer.verdict == "failed"
    with pytest.raises(GateShutError) as failed_gate:
        sign_off(book, hand, code, "frame")
    assert "1/2 in" in failed_gate.value.blockers[0].why

    record(book, hand, code, "square", GOOD)
    assert sign_off(book, hand, code, "frame").text == "Frame: signed off"
    assert job_view(book, code, DAY).phase("frame").state is PhaseState.SIGNED_OFF


def test_a_later_failing_reading_undoes_the_sign_off_on_every_report(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    frame_under_way(book, hand, code)
    settle_frame_but(book, hand, code, "square")
    record(book, hand, code, "square", GOOD)
    sign_off(book, hand, code, "frame")

    again = record(book, hand, code, "square", RACKED)
    assert again.notices == ("this undoes the sign-off of Frame",)
    frame = job_view(book, code, DAY).phase("frame")
    assert (frame.state, frame.undone_by, frame.signed_off) == (PhaseState.UNDER_WAY, ("square",), None)
    assert day_sheet(book, DAY).jobs[0].undone == (("Frame", ("square",)),)
    assert "1/2 in" in job_lines(book, DAY)[0].hold
    with pytest.raises(GateShutError) as refused:
        sign_off(book, hand, code, "frame")
    assert blockers_of(refused) == ["square"]

    record(book, hand, code, "square", GOOD)
    mended = job_view(book, code, DAY).phase("frame")  # good again, but nobody has signed for that
    assert (mended.state, mended.undone_by) == (PhaseState.UNDER_WAY, ("square",))
    later = hand_of("Lead Wren", DAY + timedelta(days=2))
    assert sign_off(book, later, code, "frame").text == "Frame: signed off"
    signed = job_view(book, code, later.day).phase("frame")
    assert (signed.signed_off, signed.signed_by, signed.undone_by) == (later.day, "Lead Wren", ())


def test_a_failing_reading_that_was_a_slip_leaves_the_sign_off_as_it_was(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    frame_under_way(book, hand, code)
    settle_frame_but(book, hand, code, "square")
    record(book, hand, code, "square", GOOD)
    sign_off(book, hand, code, "frame")
    slip = record(book, hand, code, "square", RACKED)
    record(book, hand, code, "square", GOOD, corrects=slip.id)
    assert job_view(book, code, DAY).phase("frame").state is PhaseState.SIGNED_OFF


def test_an_undone_phase_stops_later_ones_again(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    sign_off_all_before(book, hand, code, "layout")
    record(book, hand, code, "layout-square", GOOD)
    sign_off(book, hand, code, "layout")
    start(book, hand, code, "strip")
    waive(book, hand, code, "stripped", "not measured in this test")
    undone = record(book, hand, code, "layout-square", RACKED)
    assert undone.notices == ("this undoes the sign-off of Layout", "Strip and grade stands on it")
    with pytest.raises(GateShutError) as shut:
        start(book, hand, code, "frame")
    assert blockers_of(shut) == ["posts", "pads", "strip", "layout", "layout-square"]
    assert "undone by a failing reading of layout-square" in shut.value.blockers[3].why
    with pytest.raises(GateShutError) as stays:  # what has begun on top of it is not signed off either
        sign_off(book, hand, code, "strip")
    assert blockers_of(stays) == ["layout", "layout-square"]
    view = job_view(book, code, DAY)
    assert view.phase("layout").carries == ("Strip and grade",)
    assert day_sheet(book, DAY).jobs[0].carries == (("Layout", ("Strip and grade",)),)
    record(book, hand, code, "layout-square", GOOD)
    with pytest.raises(GateShutError) as unsigned:
        sign_off(book, hand, code, "strip")
    assert blockers_of(unsigned) == ["layout"]
    sign_off(book, hand, code, "layout")
    assert sign_off(book, hand, code, "strip").text == "Strip and grade: signed off"


def test_a_phase_opened_again_is_shown_under_what_stands_on_it_and_stops_its_sign_off(
    book: Book, hand: Hand, take: Take
) -> None:
    code = take()
    frame_under_way(book, hand, code)
    done = reopen(book, hand, code, "pads", "two blocks sank")
    assert done.notices == ("Blocks, posts and beams and Frame stand on it",)
    settle_frame_but(book, hand, code)
    with pytest.raises(GateShutError) as shut:
        sign_off(book, hand, code, "frame")
    (pads,) = shut.value.blockers
    assert (pads.phase, pads.why) == ("pads", "is open again (Owner Plover, Tue 12 May: two blocks sank)")
    assert job_view(book, code, DAY).phase("pads").carries == ("Blocks, posts and beams", "Frame")
    assert "two blocks sank" in job_lines(book, DAY)[0].hold
    sign_off(book, hand, code, "pads")
    sign_off(book, hand, code, "frame")
    assert job_view(book, code, DAY).phase("pads").carries == ()


def test_a_start_lists_everything_below_that_is_not_settled_the_nearest_first(
    book: Book, hand: Hand, take: Take
) -> None:
    code = take()
    sign_off_all_before(book, hand, code, "pads")
    record(book, hand, code, "crown", ["j1=1/8"])
    with pytest.raises(GateShutError) as shut:
        start(book, hand, code, "boards")
    assert [(b.phase, b.clears) for b in shut.value.blockers] == [
        (key, f"deckjobs signoff {code} {key}") for key in ("board-gap", "under-deck", "frame", "posts", "pads")
    ]
    assert shut.value.blockers[2].why == "is not signed off, 6 checks to read"
    assert shut.value.hint.count("clear it with") == 5


def test_the_locate_ticket_must_be_good_on_the_day_the_digging_starts(book: Book, hand: Hand, take: Take) -> None:
    code = take(digging=True)
    ticket = ("ticket=T-1001", "called=2026-05-06", "expires=2026-05-20", "answered=yes", "private=yes")
    record(book, hand, code, "locate", ticket)
    sign_off_all_before(book, hand, code, "strip")

    late = hand_of("Owner Plover", DAY + timedelta(days=10))
    with pytest.raises(GateShutError) as shut:
        start(book, late, code, "strip")
    assert [b.check for b in shut.value.blockers] == ["locate"]
    assert start(book, hand, code, "strip").text.startswith("Strip and grade")


def test_an_expired_ticket_no_longer_matters_once_the_digging_is_signed_off(book: Book, hand: Hand, take: Take) -> None:
    code = take(digging=True)
    record(
        book, hand, code, "locate", ("T-1001", "called=2026-05-06", "expires=2026-05-20", "answered=yes", "private=yes")
    )
    sign_off_all_before(book, hand, code, "posts")
    view = job_view(book, code, DAY + timedelta(days=30))
    assert view.check("locate").state is CheckState.PASSED
    assert view.phase("strip").state is PhaseState.SIGNED_OFF


def test_a_held_phase_says_why_and_goes_on_when_started(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    start(book, hand, code, "visit")
    hold(book, hand, code, "visit", "dog in the yard")
    view = job_view(book, code, DAY).phase("visit")
    assert (view.state, view.held_why) == (PhaseState.HELD, "dog in the yard")
    with pytest.raises(GateShutError, match="cannot be signed off"):
        sign_off(book, hand, code, "visit")
    start(book, hand, code, "visit")
    assert sign_off(book, hand, code, "visit").text == "Site visit: signed off"


def test_reopening_takes_a_reason_and_a_signed_off_phase(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    with pytest.raises(RefusedError, match="is not signed off"):
        reopen(book, hand, code, "visit", "forgot the back fence")
    sign_off(book, hand, code, "visit")
    with pytest.raises(InputError, match="the reason is empty"):
        reopen(book, hand, code, "visit", "  ")
    reopen(book, hand, code, "visit", "forgot the back fence")
    assert job_view(book, code, DAY).phase("visit").state is PhaseState.UNDER_WAY


def test_phases_are_chosen_by_name_or_by_turn(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    assert start(book, hand, code).text == "Site visit: under way"
    assert sign_off(book, hand, code).text == "Site visit: signed off"
    sign_off(book, hand, code, "design")
    assert start(book, hand, code, "Take-off and quote").text == "Take-off and quote: under way"
    with pytest.raises(InputError, match=r"no phase 'fraem' \(did you mean frame\?\)"):
        start(book, hand, code, "fraem")
    with pytest.raises(RefusedError, match="under way already"):
        start(book, hand, code, "quote")
    sign_off(book, hand, code, "quote")
    start(book, hand, code, "delivery")
    start(book, hand, code, "layout")
    with pytest.raises(InputError, match="delivery and layout are under way"):
        sign_off(book, hand, code)


def test_wait_of_the_finish(book: Book, hand: Hand) -> None:
    from tests.book.conftest import job_text
    from tracker.book.jobs import take_job
    from tracker.trade.jobfile import parse_job_bytes

    text = job_text().replace('finish = "none"', 'finish = "oil"') + "\n[rules]\ndrying_days = 10\n"
    take_job(book, hand, parse_job_bytes(text.encode(), "job.toml"))
    code = "26-101"
    for phase in job_view(book, code, DAY).phases:
        if phase.key == "finish":
            break
        for check in phase.checks:
            if not check.settled:
                waive(book, hand, code, check.key, "not measured in this test")
        sign_off(book, hand, code, phase.key)
    start(book, hand, code, "finish")
    waive(book, hand, code, "finish-ready", "not measured in this test")
    with pytest.raises(GateShutError) as shut:
        sign_off(book, hand, code, "finish")
    assert shut.value.blockers[0].what == "wait until Fri 22 May"
    on_the_day = replace(hand, day=DAY + timedelta(days=10))
    assert job_view(book, code, on_the_day.day).phase("finish").stands_in_way == ()
    waive(book, hand, code, "wait.finish", "kiln-dried boards")
    assert sign_off(book, hand, code, "finish").text == "Finish: signed off"
    with pytest.raises(RefusedError, match="has no wait"):
        waive(book, hand, code, "wait.frame", "no")


def test_waiving_needs_a_person_who_may_and_stays_visible(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    with pytest.raises(RefusedError, match="Lead Wren may not waive") as refused:
        waive(book, hand_of("Lead Wren"), code, "square", "looks fine")
    assert "Owner Plover may" in refused.value.hint
    waive(book, hand, code, "square", "client wants it moved next year")
    check = job_view(book, code, DAY).check("square")
    assert (check.state, check.waivers[0].who) == (CheckState.WAIVED, "Owner Plover")
    record(book, hand, code, "square", RACKED)
    assert job_view(book, code, DAY).check("square").state is CheckState.FAILED
    record(book, hand, code, "square", GOOD)
    check = job_view(book, code, DAY).check("square")
    assert check.state is CheckState.PASSED and check.waivers
    assert day_sheet(book, DAY).jobs[0].waived == (check,)
    with pytest.raises(RefusedError, match="has passed"):
        waive(book, hand, code, "square", "again")


def test_a_finished_job_leaves_the_open_jobs(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    for phase in job_view(book, code, DAY).phases:
        for check in phase.checks:
            if not check.settled:
                waive(book, hand, code, check.key, "not measured in this test")
        sign_off(book, hand, code, phase.key)
    assert job_lines(book, DAY) == ()
    assert [sheet.line.code for sheet in day_sheet(book, DAY).jobs] == [code]
    assert day_sheet(book, DAY + timedelta(days=1)).jobs == ()
    with pytest.raises(RefusedError, match="every phase of 26-101 is signed off"):
        start(book, hand, code)
