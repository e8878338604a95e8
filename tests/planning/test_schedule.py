"""The plan: working days against a plain count, waits, rain, and what really happened moving the rest."""

from __future__ import annotations

import calendar as month_calendar
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest
from dateutil.rrule import DAILY, FR, MO, TH, TU, WE, rrule
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.trade.phase_jobs import FULL_JOB, GROUND_JOB, JOBS
from tracker.errors import InputError
from tracker.planning.allowed import Allowed, Opening
from tracker.planning.schedule import WEEKDAYS, Crew, Done, Span, WorkCalendar, days_late, hand_over_day, schedule
from tracker.trade.effort import Effort
from tracker.trade.phases import Phase, Wait, phases_for
from tracker.trade.rules import Rules
from tracker.trade.spec import JobSpec
from tracker.trade.workload import quantities

MONDAY = date(2026, 5, 11)
PLAIN = WorkCalendar()
DAY = timedelta(days=1)


def day(number: int) -> date:
    """The day of May 2026; Monday is the 11th, 18th and 25th."""
    return date(2026, 5, 1) + (number - 1) * DAY


def plan_of(
    job: JobSpec,
    calendar: WorkCalendar = PLAIN,
    done: dict[str, Done] | None = None,
    today: date | None = None,
    start: date = MONDAY,
    rules: Rules | None = None,
    people: int = 2,
    allowed: dict[str, Allowed] | None = None,
) -> dict[str, Span]:
    crew = Crew(people, 8, quantities(job))
    return schedule(phases_for(job), start, crew, calendar, rules or job.rules, done, today, allowed)


def work(key: str, hours: float, *after: str, outdoors: bool = False, wait: Wait | None = None) -> Phase:
    return Phase(key, key, Effort(hours), after=after, outdoors=outdoors, wait=wait)


def plan(
    *phases: Phase,
    calendar: WorkCalendar = PLAIN,
    done: dict[str, Done] | None = None,
    today: date | None = None,
    start: date = MONDAY,
    rules: Rules | None = None,
    allowed: dict[str, Allowed] | None = None,
) -> dict[str, tuple[int, int]]:
    """Days of May 2026 of a one-person crew of eight hours a day."""
    spans = schedule(phases, start, Crew(1, 8), calendar, rules or Rules(), done, today, allowed)
    return {key: ((s.start - day(1)).days + 1, (s.end - day(1)).days + 1) for key, s in spans.items()}


# -- working days

DAYS = st.dates(date(2024, 1, 1), date(2028, 12, 31))
OFF = st.frozensets(st.dates(date(2026, 1, 1), date(2026, 12, 31)), max_size=12)


def weekdays_between(first: date, last: date) -> list[date]:
    """Monday to Friday after ``first`` up to ``last``, by dateutil's recurrence rules (RFC 5545, FREQ=DAILY;BYDAY)."""
    rule = rrule(DAILY, dtstart=first + DAY, until=last, byweekday=(MO, TU, WE, TH, FR))
    return [moment.date() for moment in rule]


@settings(max_examples=examples(60, 1200))
@given(st.dates(date(2026, 1, 1), date(2026, 12, 31)), st.integers(0, 200), OFF)
def test_working_days_between_two_days_are_those_of_a_plain_count(first: date, days: int, off: frozenset[date]) -> None:
    last, work_calendar = first + days * DAY, WorkCalendar(days_off=off)
    expected = [one for one in weekdays_between(first, last) if one not in off]
    assert work_calendar.between(first, last) == len(expected)
    assert work_calendar.between(last, first) == -len(expected)
    if expected:
        assert work_calendar.shift(first, len(expected)) == expected[-1]
        assert work_calendar.first(first + DAY) == expected[0]


@given(DAYS, st.integers(1, 60), OFF)
def test_going_back_undoes_going_forward(first: date, days: int, off: frozenset[date]) -> None:
    work_calendar = WorkCalendar(days_off=off)
    there = work_calendar.shift(first, days)
    assert work_calendar.works(there)
    back = work_calendar.shift(there, -days)
    assert back == first or not work_calendar.works(first)
    assert work_calendar.shift(first, 0) == first


def test_may_2026_has_its_working_days() -> None:
    # A printed calendar: 21 weekdays; Monday 25 May off leaves 20.
    weekdays = [one for week in month_calendar.monthcalendar(2026, 5) for one in week[:5] if one]
    assert PLAIN.between(date(2026, 4, 30), day(31)) == len(weekdays) == 21
    assert WorkCalendar(days_off=frozenset({day(25)})).between(date(2026, 4, 30), day(31)) == 20


def test_rain_stops_only_outdoor_work() -> None:
    wet = WorkCalendar(rain=frozenset({MONDAY}))
    assert wet.works(MONDAY) and not wet.works(MONDAY, outdoors=True)
    assert (wet.first(MONDAY), wet.first(MONDAY, outdoors=True)) == (MONDAY, MONDAY + DAY)


# -- placing work


def test_hours_fill_crew_days_and_short_phases_share_a_day() -> None:
    got = plan(work("a", 4), work("b", 4, "a"), work("c", 20, "b"), work("d", 1, "c"))
    assert got == {"a": (11, 11), "b": (11, 11), "c": (12, 14), "d": (14, 14)}


def test_work_goes_around_the_weekend_and_the_days_off() -> None:
    assert plan(work("a", 48)) == {"a": (11, 18)}
    assert plan(work("a", 16), start=day(16)) == {"a": (18, 19)}
    assert plan(work("a", 16), calendar=WorkCalendar(days_off=frozenset({day(12)}))) == {"a": (11, 13)}
    saturdays = WorkCalendar(weekdays=WEEKDAYS | {5})
    assert plan(work("a", 48), calendar=saturdays) == {"a": (11, 16)}


def test_rain_moves_outdoor_work_and_leaves_indoor_work() -> None:
    wet = WorkCalendar(rain=frozenset({day(11), day(13)}))
    assert plan(work("out", 16, outdoors=True), work("in", 8, outdoors=False), calendar=wet) == {
        "out": (12, 14), "in": (11, 11),
    }  # fmt: skip


def test_a_larger_crew_takes_fewer_days() -> None:
    alone, two, four = (plan_of(GROUND_JOB, people=people)["boards"] for people in (1, 2, 4))
    assert alone.end > two.end >= four.end


# -- waits


def test_concrete_cures_calendar_days_over_a_weekend() -> None:
    cure = work("cure", 0, "pour", wait=Wait("cure_days", "strength", since="pour"))
    got = plan(work("pour", 8), cure, work("posts", 8, "cure"), start=day(14))
    assert got == {"pour": (14, 14), "cure": (15 - 1, 17), "posts": (18, 18)}
    week = plan(work("pour", 8), cure, work("posts", 8, "cure"), start=day(14), rules=Rules({"cure_days": 7}))
    assert week["posts"] == (21, 21)


def test_the_locate_call_leads_by_working_days() -> None:
    # Call on Thursday the 14th: Friday, Monday and Tuesday are the three working days.
    locate = work("locate", 0, wait=Wait("locate_lead", "lead", working=True))
    assert plan(locate, work("dig", 8, "locate"), start=day(14))["dig"] == (19, 19)
    off = WorkCalendar(days_off=frozenset({day(18)}))
    assert plan(locate, work("dig", 8, "locate"), start=day(14), calendar=off)["dig"] == (20, 20)


def test_the_finish_is_put_on_when_the_boards_have_dried_on_a_dry_working_day() -> None:
    finish = work("finish", 4, "boards", outdoors=True, wait=Wait("drying_days", "drying", since="boards"))
    # Boards end on Monday the 11th; five days later is Saturday the 16th, Monday the 18th is wet.
    wet = WorkCalendar(rain=frozenset({day(18)}))
    rules = Rules({"drying_days": 5})
    assert plan(work("boards", 4), finish, calendar=wet, rules=rules)["finish"] == (19, 19)
    spans = schedule([work("boards", 4), finish], MONDAY, Crew(1, 8), wet, rules)
    assert spans["finish"].wait_over == day(16)


def test_a_finish_begun_early_still_ends_after_its_wait() -> None:
    finish = work("finish", 4, "boards", outdoors=True, wait=Wait("drying_days", "drying", since="boards"))
    got = plan(work("boards", 4), finish, done={"finish": Done(started=day(12))}, rules=Rules({"drying_days": 5}))
    assert got["finish"] == (12, 18)


# -- what really happened


def test_a_late_sign_off_moves_the_rest() -> None:
    phases = work("a", 8), work("b", 8, "a"), work("c", 8, "b")
    assert plan(*phases) == {"a": (11, 11), "b": (12, 12), "c": (13, 13)}
    got = plan(*phases, done={"a": Done(day(11), day(14))})
    assert (got["a"], got["b"][0], got["c"][1]) == ((11, 14), 14, 18)


def test_an_early_sign_off_moves_the_rest_forward() -> None:
    phases = work("a", 40), work("b", 8, "a")
    assert plan(*phases)["b"] == (18, 18)
    assert plan(*phases, done={"a": Done(day(11), day(12))})["b"] == (12, 13)


def test_nothing_that_has_not_started_is_planned_before_today() -> None:
    phases = work("a", 8), work("b", 8, "a")
    got = plan(*phases, today=day(20))
    assert got == {"a": (20, 20), "b": (21, 21)}
    got = plan(*phases, today=day(16))  # a Saturday
    assert got == {"a": (18, 18), "b": (19, 19)}
    got = plan(*phases, today=day(20), done={"a": Done(day(11), day(11))})
    assert got == {"a": (11, 11), "b": (20, 20)}


def test_a_phase_under_way_ends_today_at_the_earliest() -> None:
    got = plan(work("a", 8), work("b", 8, "a"), today=day(15), done={"a": Done(started=day(11))})
    assert got["a"] == (11, 15)
    assert got["b"][0] >= 15


def test_what_is_under_way_since_an_earlier_day_takes_half_of_this_one() -> None:
    got = plan(work("a", 4), work("b", 8, "a"), done={"a": Done(started=day(11))}, today=day(14))
    assert got == {"a": (11, 14), "b": (14, 15)}


# -- papers, waits and checks


def test_a_phase_begins_on_a_day_its_papers_allow() -> None:
    ticket = Allowed(((Opening(day(14), day(15)), Opening(day(20))),))
    assert plan(work("dig", 8), allowed={"dig": ticket}) == {"dig": (14, 14)}
    assert plan(work("dig", 8), allowed={"dig": ticket}, start=day(15)) == {"dig": (15, 15)}
    # It runs out on Friday the 15th; a new one is good from Wednesday the 20th.
    assert plan(work("dig", 8), allowed={"dig": ticket}, start=day(18)) == {"dig": (20, 20)}
    both = Allowed((*ticket.begins, (Opening(day(16)),)))
    assert plan(work("dig", 8), allowed={"dig": both}) == {"dig": (20, 20)}
    # A day full of other work is not the day it begins: Friday is full, and on Monday the ticket has run out.
    assert plan(work("a", 40), work("dig", 8, "a"), allowed={"dig": ticket})["dig"] == (20, 20)
    assert plan(work("dig", 8), allowed={"dig": ticket}, done={"dig": Done(started=day(12))}) == {"dig": (12, 12)}


def test_a_phase_is_not_over_before_its_inspection() -> None:
    booked = {"a": Allowed(ends=day(19))}
    assert plan(work("a", 8), work("b", 8, "a"), allowed=booked) == {"a": (11, 19), "b": (19, 19)}


def test_a_wait_that_was_waived_holds_nothing_back() -> None:
    cure = work("cure", 0, "pour", wait=Wait("cure_days", "strength", since="pour"))
    phases = work("pour", 8), cure, work("posts", 8, "cure")
    assert plan(*phases, start=day(14))["posts"] == (18, 18)
    assert plan(*phases, start=day(14), allowed={"cure": Allowed(waits=False)})["posts"] == (15, 15)


def test_nobody_called_for_a_ticket_yesterday() -> None:
    """Three working days from the call, and the call can be made today at the earliest (Friday the 15th)."""
    locate = work("locate", 0, "quote", wait=Wait("locate_lead", "lead", working=True))
    phases = work("quote", 0), locate, work("dig", 8, "locate")
    done = {"quote": Done(day(11), day(11))}
    assert plan(*phases, done=done, today=day(15))["dig"] == (20, 20)
    called = {**done, "locate": Done(started=day(13))}
    assert plan(*phases, done=called, today=day(15))["dig"] == (18, 18)


# -- lateness


def test_days_late_are_measured_to_the_hand_over_and_stand_still_there() -> None:
    first = {"boards": Span(MONDAY, day(14)), "hand-over": Span(day(15), day(15)), "finish": Span(day(29), day(29))}
    now = {**first, "hand-over": Span(day(19), day(19)), "finish": Span(day(31), date(2027, 5, 31))}
    assert days_late(first, now, PLAIN) == 2
    # Without a hand-over the work before finish and care is what the client waits for.
    without = {key: span for key, span in first.items() if key != "hand-over"}
    later = {**without, "boards": Span(MONDAY, day(18)), "care": Span(day(29), date(2027, 5, 31))}
    assert days_late(without, later, PLAIN) == 2
    assert hand_over_day({"care": Span(MONDAY, day(12))}) == day(12)


def test_days_late_are_working_days_against_the_first_plan() -> None:
    first = {"a": Span(MONDAY, day(15))}
    assert days_late(first, {"a": Span(MONDAY, day(18))}, PLAIN) == 1
    assert days_late(first, {"a": Span(MONDAY, day(13))}, PLAIN) == -2
    assert days_late(first, first, PLAIN) == 0
    off = WorkCalendar(days_off=frozenset({day(18)}))
    assert days_late(first, {"a": Span(MONDAY, day(19))}, off) == 1
    assert days_late({}, {}, PLAIN) == 0


# -- calendars with no room


def test_a_calendar_without_working_days_is_refused() -> None:
    never = WorkCalendar(weekdays=frozenset())
    for asked in (
        lambda: never.first(MONDAY),
        lambda: never.shift(MONDAY, 1),
        lambda: plan_of(GROUND_JOB, never),
        lambda: plan(work("a", 8), calendar=never),
    ):
        with pytest.raises(InputError) as caught:
            asked()
        assert "2026-05-11" in caught.value.message or "three years" in caught.value.message
        assert caught.value.hint == "take some of the days off out of the calendar"


def test_a_year_off_is_waited_out_and_four_years_off_are_refused() -> None:
    def off(days: int) -> WorkCalendar:
        return WorkCalendar(days_off=frozenset(MONDAY + n * DAY for n in range(days)))

    assert plan_of(GROUND_JOB, off(365))["design"].start == PLAIN.first(MONDAY + 365 * DAY)
    with pytest.raises(InputError, match="three years"):
        plan_of(GROUND_JOB, off(4 * 366))


def test_a_crew_that_works_no_hours_is_refused() -> None:
    with pytest.raises(InputError, match="too few working days"):
        schedule([work("a", 8)], MONDAY, Crew(2, 0), PLAIN, Rules())


# -- the whole plan, any job, anything done

NEAR = st.dates(date(2026, 5, 1), date(2026, 7, 31))
CALENDARS = st.builds(
    WorkCalendar,
    weekdays=st.sampled_from([WEEKDAYS, WEEKDAYS | {5}, frozenset({0, 2})]),
    days_off=st.frozensets(NEAR, max_size=8),
    rain=st.frozensets(NEAR, max_size=8),
)


@st.composite
def done_so_far(draw: st.DrawFn, job: JobSpec) -> dict[str, Done]:
    """The first phases signed off in order, the next one perhaps under way."""
    keys = [phase.key for phase in phases_for(job)]
    number = draw(st.integers(0, len(keys)))
    days = sorted(draw(st.lists(NEAR, min_size=number, max_size=number)))
    out = {key: Done(one, one) for key, one in zip(keys, days, strict=False)}
    if number < len(keys) and draw(st.booleans()):
        out[keys[number]] = Done(started=draw(NEAR))
    return out


@settings(max_examples=examples(120, 2400), deadline=None)
@given(data=st.data(), job=JOBS, calendar=CALENDARS, today=st.none() | NEAR)
def test_a_plan_runs_forward_over_working_days(
    data: st.DataObject, job: JobSpec, calendar: WorkCalendar, today: date | None
) -> None:
    done = data.draw(done_so_far(job))
    phases = phases_for(job)
    spans = plan_of(job, calendar, done, today)
    assert list(spans) == [phase.key for phase in phases]
    for phase in phases:
        span, real = spans[phase.key], done.get(phase.key, Done())
        assert span.start <= span.end
        if real.signed_off:
            assert (span.start, span.end) == (real.started, real.signed_off)
            continue
        if today is not None:
            assert span.end >= today
        if phase.wait and span.wait_over:
            assert span.end >= span.wait_over
        if real.started:
            assert span.start == real.started
            continue
        assert all(span.start >= spans[key].end for key in phase.after)
        assert today is None or span.start >= today
        assert calendar.works(span.start)
        if phase.effort.fixed:
            assert calendar.works(span.start, phase.outdoors) and calendar.works(span.end, phase.outdoors)


@settings(max_examples=examples(120, 2400), deadline=None)
@given(data=st.data(), job=JOBS, calendar=CALENDARS, more=NEAR, wet=st.booleans(), today=st.none() | NEAR)
def test_a_day_lost_never_makes_any_phase_end_earlier(
    data: st.DataObject, job: JobSpec, calendar: WorkCalendar, more: date, wet: bool, today: date | None
) -> None:
    done = data.draw(done_so_far(job))
    if wet:
        fewer = replace(calendar, rain=calendar.rain | {more})
    else:
        fewer = replace(calendar, days_off=calendar.days_off | {more})
    before, after = (plan_of(job, each, done, today) for each in (calendar, fewer))
    assert all(after[key].end >= before[key].end for key in before)


@st.composite
def bound_days(draw: st.DrawFn, job: JobSpec) -> dict[str, Allowed]:
    """Papers and checks that bind some of the phases."""
    out = {}
    for phase in phases_for(job):
        if draw(st.integers(0, 4)):
            continue
        first, last, again = sorted(draw(st.lists(NEAR, min_size=3, max_size=3)))
        ticket = (Opening(first, last), Opening(again))
        begins = draw(st.sampled_from([(), (ticket,), ((Opening(first),),), (ticket, (Opening(last),))]))
        out[phase.key] = Allowed(begins, draw(st.none() | NEAR), draw(st.booleans()))
    return out


@settings(max_examples=examples(200, 4000), deadline=None)
@given(data=st.data(), job=JOBS, calendar=CALENDARS, today=NEAR, later=st.integers(0, 10), people=st.integers(1, 4))
def test_signing_a_phase_off_never_makes_a_job_later(
    data: st.DataObject, job: JobSpec, calendar: WorkCalendar, today: date, later: int, people: int
) -> None:
    """A phase is signed off today, or was and days have passed: nothing ends later than if it had not been."""
    done = {
        key: Done(min(real.started or today, today), min(real.signed_off, today) if real.signed_off else None)
        for key, real in data.draw(done_so_far(job)).items()
    }
    ahead = [phase.key for phase in phases_for(job) if (real := done.get(phase.key)) is None or real.signed_off is None]
    if not ahead:
        return
    key = ahead[0]
    allowed = data.draw(st.just({}) | bound_days(job))
    signed = {**done, key: Done(done[key].started if key in done else today, today)}
    for then in (today, today + later * DAY):
        before, after = (plan_of(job, calendar, what, then, people=people, allowed=allowed) for what in (done, signed))
        assert all(after[each].end <= before[each].end for each in before)
        assert all(after[each].start <= before[each].start for each in before if each not in signed)


@pytest.mark.parametrize("people", [1, 2, 3])
@pytest.mark.parametrize("job", [GROUND_JOB, FULL_JOB], ids=["ground", "full"])
def test_every_phase_signed_off_in_its_turn_leaves_the_rest_where_it_was_or_earlier(job: JobSpec, people: int) -> None:
    keys = [phase.key for phase in phases_for(job)]
    for number, key in enumerate(keys):
        for today in (day(11), day(14), day(15), day(16)):
            done = {earlier: Done(today - 2 * DAY, today - 2 * DAY) for earlier in keys[:number]}
            begun = {**done, key: Done(today - DAY)}
            signed = {**done, key: Done(today, today)}
            before, after = (plan_of(job, PLAIN, what, today, people=people) for what in (done, signed))
            assert all(after[each].end <= before[each].end for each in before), (key, today)
            signed = {**done, key: Done(today - DAY, today)}
            before, after = (plan_of(job, PLAIN, what, today, people=people) for what in (begun, signed))
            assert all(after[each].end <= before[each].end for each in before), (key, today)


@settings(max_examples=examples(60, 1200), deadline=None)
@given(data=st.data(), job=JOBS, calendar=CALENDARS, today=NEAR)
def test_nothing_is_planned_on_a_day_its_papers_do_not_allow(
    data: st.DataObject, job: JobSpec, calendar: WorkCalendar, today: date
) -> None:
    done, allowed = data.draw(done_so_far(job)), data.draw(bound_days(job))
    spans = plan_of(job, calendar, done, today, allowed=allowed)
    for key, bound in allowed.items():
        if key in done:
            continue
        assert all(any(opening.holds(spans[key].start) for opening in openings) for openings in bound.begins)
        assert bound.ends is None or spans[key].end >= bound.ends


@settings(max_examples=examples(60, 1200), deadline=None)
@given(job=JOBS, calendar=CALENDARS, start=NEAR, later=st.integers(1, 20))
def test_a_later_start_never_ends_earlier(job: JobSpec, calendar: WorkCalendar, start: date, later: int) -> None:
    before = plan_of(job, calendar, start=start)
    after = plan_of(job, calendar, start=start + later * DAY)
    assert all(after[key].end >= before[key].end for key in before)


def test_the_hours_of_the_plan_are_the_hours_of_the_work() -> None:
    # Common practice: a day is eight hours; a phase takes as many working days as its hours fill, a part day counting.
    job = FULL_JOB
    crew = Crew(2, 8, quantities(job))
    spans = plan_of(job)
    for phase in phases_for(job):
        if phase.wait or not phase.effort.fixed:
            continue
        span = spans[phase.key]
        days = PLAIN.between(span.start - DAY, span.end)
        hours = crew.hours_for(phase)
        # A phase may begin late on its first day and go half an hour over on its last.
        assert (hours - 0.5) / 8 <= days <= hours / 8 + 2


def test_phases_follow_one_another_in_the_plan_of_a_whole_job() -> None:
    spans = plan_of(FULL_JOB)
    chain = [
        "locate",
        "dig",
        "pour",
        "cure",
        "posts",
        "frame",
        "under-deck",
        "boards",
        "guards",
        "final",
        "hand-over",
        "finish",
        "care",
    ]
    for earlier, later in pairwise(chain):
        assert spans[earlier].end <= spans[later].start
    # Three working days from the call (house rule's default), three calendar days of cure, 28 of drying.
    assert PLAIN.between(spans["quote"].end, spans["locate"].end) == 3
    assert (spans["cure"].end - spans["pour"].end).days == 3
    assert (spans["finish"].start - spans["boards"].end).days >= 28
