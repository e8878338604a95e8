"""Permit, locate ticket and inspections: valid on the day the work is planned, and today."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trade.geometry_cases import GROUND, case_of
from tracker.trade.answer import Answer, Verdict
from tracker.trade.checks.base import Case, Check
from tracker.trade.checks.paper import (
    FINAL_INSPECTION,
    FOOTING_INSPECTION,
    FRAMING_INSPECTION,
    LOCATE,
    PERMIT,
    working_days_after,
    working_days_before,
)
from tracker.trade.readings import Readings, parse_readings
from tracker.trade.rules import Rules
from tracker.trade.spec import Beam, Support

MONDAY = date(2026, 5, 11)


def on(today: date, needed: date | None = None, *, permit: bool = True, lead: int | None = None) -> Case:
    case = case_of()
    rules = Rules({} if lead is None else {"locate_lead": lead})
    job = replace(case.job, permit=permit, site=replace(case.job.site, digging=True), rules=rules)
    return replace(case, job=job, today=today, needed_on=needed)


def read(check: Check, case: Case, tokens: Sequence[str]) -> Readings:
    return parse_readings(check.form(case), tokens, case.job.unit, case.today)


def judge(check: Check, case: Case, *tokens: str) -> Answer:
    return check.judge(case, read(check, case, tokens))


def test_permit_in_date_passes() -> None:
    answer = judge(PERMIT, on(MONDAY, date(2026, 5, 20)), "P-101", "2026-05-01", "2026-05-20")
    assert answer.verdict is Verdict.PASSED
    assert answer.answer["days_left"] == 0
    assert answer.answer["judged_for"] == "2026-05-20"


def test_permit_that_runs_out_before_the_planned_day_fails() -> None:
    answer = judge(PERMIT, on(MONDAY, date(2026, 5, 21)), "P-101", "2026-05-01", "2026-05-20")
    assert answer.verdict is Verdict.FAILED
    assert "runs out on Wed 20 May" in answer.headline
    assert "planned Thu 21 May" in answer.headline
    assert answer.moves


def test_same_readings_fail_once_today_has_passed_the_expiry() -> None:
    case = on(MONDAY, date(2026, 5, 12))
    readings = read(PERMIT, case, ["P-101", "2026-05-01", "2026-05-20"])
    assert PERMIT.judge(case, readings).verdict is Verdict.PASSED
    later = PERMIT.judge(replace(case, today=date(2026, 5, 21)), readings)
    assert later.verdict is Verdict.FAILED
    assert "ran out" in later.headline


def test_permit_not_yet_issued_or_contradicting_itself_fails() -> None:
    assert judge(PERMIT, on(MONDAY), "P-101", "2026-05-12").verdict is Verdict.FAILED
    answer = judge(PERMIT, on(MONDAY), "P-101", "2026-05-01", "2026-04-01")
    assert answer.verdict is Verdict.FAILED
    assert "before it was issued" in answer.headline


def test_old_permit_without_a_last_day_is_asked_after() -> None:
    # A permit commonly lapses when work has not begun in 180 days: IRC R105.5, from memory.
    fresh = judge(PERMIT, on(MONDAY), "P-101", (MONDAY - timedelta(days=180)).isoformat())
    stale = judge(PERMIT, on(MONDAY), "P-101", (MONDAY - timedelta(days=181)).isoformat())
    assert fresh.verdict is stale.verdict is Verdict.PASSED
    assert not fresh.moves
    assert "181 days" in stale.moves[0]


def test_permit_wants_its_number_and_day() -> None:
    answer = judge(PERMIT, on(MONDAY), "P-101")
    assert answer.verdict is Verdict.INCOMPLETE
    assert "issued on" in answer.headline


GOOD = ("T-7", "called=2026-05-04", "expires=2026-05-22", "answered=yes", "private=yes")


def test_ticket_good_on_the_planned_day_passes() -> None:
    answer = judge(LOCATE, on(MONDAY, date(2026, 5, 13)), *GOOD)
    assert answer.verdict is Verdict.PASSED
    assert answer.answer["dig_from"] == "2026-05-07"
    assert answer.answer["days_left"] == 9
    assert any("Mon 4 May + 3 working days = Thu 7 May" in line for line in answer.working)


def test_ticket_that_runs_out_before_digging_names_the_day_to_call_by() -> None:
    # Digging Tue 26 May, 3 working days before is Thu 21 May (weekend between).
    answer = judge(LOCATE, on(MONDAY, date(2026, 5, 26)), *GOOD)
    assert answer.verdict is Verdict.FAILED
    assert answer.headline == "ticket runs out on Fri 22 May; digging is planned Tue 26 May"
    assert answer.moves == ("call for a new ticket by Thu 21 May",)


def test_ticket_that_runs_out_tonight_with_digging_tomorrow() -> None:
    friday = date(2026, 5, 22)
    answer = judge(LOCATE, on(friday, date(2026, 5, 25)), *GOOD)
    assert answer.verdict is Verdict.FAILED
    assert answer.moves == ("call for a new ticket today; digging can start Wed 27 May at the earliest",)


def test_a_good_ticket_fails_from_the_same_readings_on_a_later_day() -> None:
    case = on(MONDAY, date(2026, 5, 13))
    readings = read(LOCATE, case, GOOD)
    assert LOCATE.judge(case, readings).verdict is Verdict.PASSED
    assert LOCATE.judge(replace(case, today=date(2026, 5, 23)), readings).verdict is Verdict.FAILED


@pytest.mark.parametrize(("day", "verdict"), [(6, Verdict.FAILED), (7, Verdict.PASSED)])
def test_digging_waits_for_the_lead_time(day: int, verdict: Verdict) -> None:
    answer = judge(LOCATE, on(date(2026, 5, 4), date(2026, 5, day)), *GOOD)
    assert answer.verdict is verdict
    if verdict is Verdict.FAILED:
        assert answer.moves == ("put digging off to Thu 7 May",)


def test_house_rule_sets_the_lead_and_stays_in_sight() -> None:
    answer = judge(LOCATE, on(date(2026, 5, 4), date(2026, 5, 6), lead=2), *GOOD)
    assert answer.verdict is Verdict.PASSED
    assert answer.limits[0].source == "house rule"
    assert "instead of 3" in answer.limits[0].published


def test_start_on_the_ticket_stands_over_the_count() -> None:
    case = on(date(2026, 5, 4), date(2026, 5, 8))
    assert judge(LOCATE, case, *GOOD, "start=2026-05-09").verdict is Verdict.FAILED
    assert judge(LOCATE, case, *GOOD, "start=2026-05-08").verdict is Verdict.PASSED


@pytest.mark.parametrize(
    ("name", "said", "move"),
    [("answered", "not every operator", "which operator"), ("private", "private lines", "septic")],
)
def test_unanswered_or_private_lines_fail(name: str, said: str, move: str) -> None:
    tokens = [f"{name}=no" if token.startswith(name) else token for token in GOOD]
    answer = judge(LOCATE, on(MONDAY, date(2026, 5, 13)), *tokens)
    assert answer.verdict is Verdict.FAILED
    assert said in answer.headline
    assert any(move in line for line in answer.moves)


def test_ticket_days_out_of_order_or_in_the_future_fail() -> None:
    swapped = judge(LOCATE, on(MONDAY), "T-7", "called=2026-05-08", "expires=2026-05-01", *GOOD[3:])
    assert "out of order" in swapped.headline
    ahead = judge(LOCATE, on(MONDAY), "T-7", "called=2026-05-12", "expires=2026-05-30", *GOOD[3:])
    assert "after today" in ahead.headline
    assert swapped.verdict is ahead.verdict is Verdict.FAILED


def test_ticket_lists_what_is_still_to_read() -> None:
    answer = judge(LOCATE, on(MONDAY), "T-7", "answered=yes")
    assert answer.verdict is Verdict.INCOMPLETE
    assert "called on, ticket runs out on and private lines located" in answer.headline


days = st.dates(date(2026, 1, 1), date(2026, 12, 31))


@given(days, st.integers(0, 15))
def test_working_days_count_back_to_where_they_came_from(day: date, lead: int) -> None:
    after = working_days_after(day, lead)
    between = [day + timedelta(days=k) for k in range(1, (after - day).days + 1)]
    assert sum(d.weekday() < 5 for d in between) == lead
    latest = working_days_before(day, lead)
    assert working_days_after(latest, lead) <= day
    later = [latest + timedelta(days=k) for k in range(1, 4)]
    assert all(working_days_after(d, lead) > day for d in later if d.weekday() < 5)


@given(days, st.integers(0, 60), st.integers(0, 60))
def test_a_ticket_never_turns_good_again_by_waiting(today: date, first: int, more: int) -> None:
    case = on(today)
    expires = today + timedelta(days=30)
    readings = read(LOCATE, case, ["T", f"called={today - timedelta(days=9)}", f"expires={expires}", "yes", "yes"])
    one, two = (replace(case, today=today + timedelta(days=n)) for n in (first, first + more))
    if LOCATE.judge(one, readings).verdict is Verdict.FAILED:
        assert LOCATE.judge(two, readings).verdict is Verdict.FAILED


def test_who_needs_what() -> None:
    case = on(MONDAY, permit=False)
    still = replace(case.job.site, digging=False)
    footings = replace(GROUND, support=Support.FOOTINGS, beams=(Beam(2, "2x8", 10**9, 3, "4x4"),))
    plain = replace(case.job, site=still)
    raised = replace(plain, platforms=(footings,))
    assert not PERMIT.applies(plain, GROUND)
    assert not LOCATE.applies(plain, GROUND)
    assert not FOOTING_INSPECTION.applies(plain, GROUND)
    assert LOCATE.applies(raised, footings)
    assert FOOTING_INSPECTION.applies(raised, footings)
    assert PERMIT.applies(replace(plain, permit=True), GROUND)
    assert FRAMING_INSPECTION.applies(plain, GROUND)
    assert FINAL_INSPECTION.applies(plain, GROUND)
    assert not any(
        check.per_platform for check in (PERMIT, LOCATE, FOOTING_INSPECTION, FRAMING_INSPECTION, FINAL_INSPECTION)
    )


@pytest.mark.parametrize("check", [FOOTING_INSPECTION, FRAMING_INSPECTION, FINAL_INSPECTION])
def test_inspection_passes_and_names_day_and_inspector(check: Check) -> None:
    answer = judge(check, on(MONDAY), "passed", "2026-05-11", "visit 12-07")
    assert answer.verdict is Verdict.PASSED
    assert "Mon 11 May by visit 12-07" in answer.headline


@pytest.mark.parametrize("result", ["failed", "partial"])
def test_inspection_not_passed_says_what_to_put_right(result: str) -> None:
    answer = judge(FRAMING_INSPECTION, on(MONDAY), result, "note=two hangers short of nails")
    assert answer.verdict is Verdict.FAILED
    assert answer.moves == (
        "put right two hangers short of nails, then call the inspector back before boards cover the frame",
    )


def test_without_a_permit_it_is_the_contractors_own_look() -> None:
    answer = judge(FINAL_INSPECTION, on(MONDAY, permit=False), "passed", "2026-05-11", "crew lead")
    assert answer.verdict is Verdict.PASSED
    assert "own look" in answer.source
    assert answer.answer["own_look"] is True


def test_inspection_wants_a_day_and_a_name_and_no_day_to_come() -> None:
    assert judge(FRAMING_INSPECTION, on(MONDAY), "passed").verdict is Verdict.INCOMPLETE
    ahead = judge(FRAMING_INSPECTION, on(MONDAY), "passed", "2026-05-12", "visit 3")
    assert ahead.verdict is Verdict.FAILED
    assert "after today" in ahead.headline
