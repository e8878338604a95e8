"""The morning: today over all open jobs, read in one transaction."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta

from sqlalchemy import func
from sqlmodel import select

from tracker.book.aftercare import reminders_in
from tracker.book.attention import check_name, needs_you
from tracker.book.frontviews import Clash, CrewLine, MorningView, Outdoors, WeatherLine
from tracker.book.load import load_jobs, open_rows
from tracker.book.moneymorning import money_needs
from tracker.book.opening import Book
from tracker.book.state import JobState
from tracker.book.stock import deliveries_of, needs_of
from tracker.book.tables import JobRow
from tracker.book.views import CheckState, PhaseState
from tracker.trade.phases import Phase
from tracker.trade.weather import OUTDOORS, weather_stops

_BUSY = (PhaseState.UNDER_WAY, PhaseState.HELD)


def morning(book: Book, today: date) -> MorningView:
    """What each crew does today, what needs a person, what comes, what to pick up, what weather stops."""
    with book.reading() as session:
        jobs = session.exec(select(func.count()).select_from(JobRow)).one()
        states = load_jobs(book, session, open_rows(session), today)
        care = reminders_in(book, session, today)
        states = [state for state in states if state.open]
        money = money_needs(session, states, today)
    needs = needs_you(states, money)
    following = min(
        (state.calendar.first(today + timedelta(days=1)) for state in states), default=today + timedelta(days=1)
    )
    coming = [
        delivery for state in states for delivery in deliveries_of(state)
        if delivery.promised is not None and delivery.promised <= following
    ]  # fmt: skip
    pick_up = [
        need for state in states for need in needs_of(state)
        if need.to_buy and need.needed_on <= following
    ]  # fmt: skip
    return MorningView(
        day=today,
        next_working_day=following,
        jobs=jobs,
        open_jobs=len(states),
        needs=needs,
        crews=_crews(states, today),
        clashes=(*_clashes(states, today), *_clashes(states, following)),
        coming=tuple(
            sorted(coming, key=lambda delivery: (delivery.promised or today, delivery.supplier, delivery.job))
        ),
        pick_up=tuple(sorted(pick_up, key=lambda need: (not need.supplier, need.supplier, need.job))),
        weather=_weather(states, following),
        care=care,
    )


# -- crews


def _at_work(state: JobState, day: date) -> Phase | None:
    """The phase a crew is on that day: one under way, else the first planned over it. Waiting needs no crew."""
    crew_work = [
        phase for phase in state.phases
        if not phase.office and phase.effort.is_work and not state.signed(phase.key)
        and state.plan[phase.key].start <= day <= state.plan[phase.key].end
    ]  # fmt: skip
    busy = [phase for phase in crew_work if state.phase_state(phase.key) in _BUSY]
    return next(iter(busy or crew_work), None)


def _crew_line(state: JobState, phase: Phase, today: date) -> CrewLine:
    plan, started = state.plan[phase.key], state.phase_folds[phase.key].started
    begun = started or plan.start
    day = state.calendar.between(begun, today) + 1 if begun <= today else 0
    checks = [c for c in state.checks if c.phase == phase.key and not state.settled(c.key)]
    checks.sort(key=lambda check: state.check_states[check.key] is not CheckState.FAILED)
    return CrewLine(
        crew=state.facts.crew,
        job=state.facts.code,
        title=state.facts.title,
        phase=phase.key,
        phase_title=phase.title,
        state=state.shown_state(phase.key),
        day=day,
        days=max(day, state.calendar.between(begun, plan.end) + 1),
        starts=begun,
        checks=tuple((check.key, check_name(check)) for check in checks),
    )


def _crews(states: Sequence[JobState], today: date) -> tuple[CrewLine, ...]:
    """A line for each job a crew is on today; for a crew with none, what it starts next."""
    now: defaultdict[str, list[CrewLine]] = defaultdict(list)
    later: defaultdict[str, list[CrewLine]] = defaultdict(list)
    for state in states:
        if (phase := _at_work(state, today)) is not None:
            now[state.facts.crew].append(_crew_line(state, phase, today))
        elif (phase := _next_crew_work(state, today)) is not None:
            later[state.facts.crew].append(_crew_line(state, phase, today))
    out: list[CrewLine] = []
    for crew in sorted({*now, *later}, key=lambda name: (not name, name.casefold())):
        out += now[crew] or [min(later[crew], key=lambda line: line.starts)]
    return tuple(out)


def _next_crew_work(state: JobState, today: date) -> Phase | None:
    ahead = [
        phase for phase in state.phases
        if not phase.office and phase.effort.is_work and not state.signed(phase.key)
        and state.plan[phase.key].start > today
    ]  # fmt: skip
    return min(ahead, key=lambda phase: state.plan[phase.key].start, default=None)


def _clashes(states: Sequence[JobState], day: date) -> tuple[Clash, ...]:
    jobs: defaultdict[str, list[str]] = defaultdict(list)
    for state in states:
        if state.facts.crew and _at_work(state, day) is not None:
            jobs[state.facts.crew].append(state.facts.code)
    return tuple(Clash(crew, day, tuple(codes)) for crew, codes in sorted(jobs.items()) if len(codes) > 1)


# -- weather


def _weather(states: Sequence[JobState], until: date) -> tuple[WeatherLine, ...]:
    """What weather stops of the work under way or planned up to a day; the general word about rain comes last."""
    works: dict[str, list[Outdoors]] = {}
    for state in states:
        for phase in state.phases:
            plan = state.plan[phase.key]
            stops = weather_stops(phase, state.file.spec.rules, state.file.unit)
            if not stops or state.signed(phase.key) or not (plan.start <= until and plan.end >= state.today):
                continue
            rain_day = phase.outdoors and plan.start <= state.today and state.today in state.calendar.rain
            works.setdefault(stops, []).append(
                Outdoors(state.facts.code, phase.key, phase.title, plan.start, plan.end, rain_day)
            )
    ordered = sorted(works.items(), key=lambda pair: pair[0] == OUTDOORS)
    return tuple(WeatherLine(stops, tuple(found)) for stops, found in ordered)
