"""The morning: today over all open jobs, read in one transaction.

A further kind of thing that needs a person is one more function of ``_WORRIES``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from sqlalchemy import func
from sqlmodel import select

from tracker.book.aftercare import reminders_in
from tracker.book.frontviews import Clash, CrewLine, MorningView, NeedsYou, Outdoors, Place, Room, WeatherLine, Worry
from tracker.book.load import load_jobs, open_rows
from tracker.book.moneymorning import money_needs
from tracker.book.opening import Book
from tracker.book.show import HAND_OVER
from tracker.book.state import JobState
from tracker.book.stock import deliveries_of, needs_of
from tracker.book.tables import JobRow
from tracker.book.views import Blocker, CheckState, DeliveryView, PhaseState
from tracker.text import count, listing
from tracker.trade.checks.paper import working_days_before
from tracker.trade.checks.registry import JobCheck
from tracker.trade.dates import format_day
from tracker.trade.phases import Phase
from tracker.trade.weather import OUTDOORS, weather_stops

RUNS_OUT_SOON = timedelta(days=2)
PAPER_AHEAD = timedelta(days=14)
FIRST_YEAR = timedelta(days=365)
CARE = "care"
_BUSY = (PhaseState.UNDER_WAY, PhaseState.HELD)


def morning(book: Book, today: date) -> MorningView:
    """What each crew does today, what needs a person, what comes, what to pick up, what weather stops."""
    with book.reading() as session:
        jobs = session.exec(select(func.count()).select_from(JobRow)).one()
        states = load_jobs(book, session, open_rows(session), today)
        care = reminders_in(book, session, today)
        states = [state for state in states if state.current is not None]
        money = money_needs(session, states, today)
    following = min(
        (state.calendar.first(today + timedelta(days=1)) for state in states), default=today + timedelta(days=1)
    )
    worries = [*(worry for state in states for find in _WORRIES for worry in find(state)), *money]
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
        needs=tuple(sorted(worries, key=lambda worry: worry.worry)),
        crews=_crews(states, today),
        clashes=(*_clashes(states, today), *_clashes(states, following)),
        coming=tuple(
            sorted(coming, key=lambda delivery: (delivery.promised or today, delivery.supplier, delivery.job))
        ),
        pick_up=tuple(sorted(pick_up, key=lambda need: (not need.supplier, need.supplier, need.job))),
        weather=_weather(states, following),
        care=care,
    )


# -- what needs a person


def _needs_you(
    state: JobState, worry: Worry, what: str, why: str, place: Place, *, do: str = "", clears: str = ""
) -> NeedsYou:
    return NeedsYou(worry, state.facts.code, state.facts.title, what, why, place, do, clears)


def _place(state: JobState, at: str) -> Place:
    return Place(state.facts.code, Room.JOB, at)


def _name(check: JobCheck) -> str:
    return check.check.title if check.key == check.check.key else f"{check.check.title}, {check.platform.name}"


def _is_failed(state: JobState, key: str) -> bool:
    return state.check_states.get(key) is CheckState.FAILED


def _failed(state: JobState) -> Iterator[NeedsYou]:
    """Failed checks of work that is not signed off or that still guard work ahead, with their moves."""
    for check in state.checks:
        if not _is_failed(state, check.key) or (state.signed(check.phase) and not state.guarded_by(check)):
            continue
        answer = state.answer(check)
        undone = check.key in state.undone_by(check.phase)
        phase = state.phase_by_key[check.phase].title
        yield NeedsYou(
            Worry.UNDONE if undone else Worry.FAILED,
            state.facts.code,
            state.facts.title,
            f"{_name(check)} (sign-off of {phase.lower()} undone)" if undone else _name(check),
            answer.headline if answer else "",
            _place(state, check.key),
            clears=f"deckjobs check {state.facts.code} {check.key}",
            answer=answer,
        )


def _held(state: JobState) -> Iterator[NeedsYou]:
    """Phases held by a person or at a hold point, one line each; a failed check in the way has its own line."""
    for phase in state.phases:
        if state.shown_state(phase.key) is not PhaseState.HELD:
            continue
        blockers = [b for b in state.in_the_way(phase.key) if not _is_failed(state, b.check)]
        if not blockers:
            continue
        first = min(blockers, key=lambda blocker: bool(blocker.check))
        others = f" (and {count(len(blockers) - 1, 'more thing')} in the way)" if len(blockers) > 1 else ""
        named = first.what if first.what.startswith(phase.title) else f"{phase.title} waits for {_lower(first)}"
        yield _needs_you(
            state, Worry.HELD, named, first.why + others, _place(state, first.check or first.phase or phase.key),
            clears=first.clears,
        )  # fmt: skip


def _lower(blocker: Blocker) -> str:
    return blocker.what[:1].lower() + blocker.what[1:]


def _papers(state: JobState) -> Iterator[NeedsYou]:
    """Locate tickets and permits that are good today and run out before the work they cover is planned to end, and those
    whose reading counts no more.
    """
    for check in state.checks:
        answer, guarded = state.answer(check), state.guarded_by(check)
        fold = state.check_folds[check.key]
        if guarded and state.check_states[check.key] is CheckState.OPEN and fold.readings and fold.last is None:
            locate = check.check.key == "locate"
            yield _needs_you(
                state, Worry.PAPER, f"{_name(check)} is to be read again", "what was read counts no more",
                _place(state, check.key),
                do="nobody digs before a new ticket is good" if locate else "ask the office whether it covers what changed",
            )  # fmt: skip
            continue
        expires = answer.answer.get("expires") if answer else None
        if state.check_states[check.key] is not CheckState.PASSED or not guarded or not isinstance(expires, str):
            continue
        last_day = date.fromisoformat(expires)
        work = max(guarded, key=lambda key: state.plan[key].end)
        end = state.plan[work].end
        soon = last_day - state.today <= RUNS_OUT_SOON
        if not (soon or (last_day < end and last_day - state.today <= PAPER_AHEAD)):
            continue
        title = state.phase_by_key[work].title.lower()
        short = last_day < end
        yield _needs_you(
            state,
            Worry.PAPER,
            f"{_name(check)} {'runs out today' if last_day == state.today else f'runs out {format_day(last_day, state.today)}'}",
            f"{title} is planned to {format_day(end, state.today)}",
            _place(state, check.key),
            do=_renew(state, check, last_day) if short else f"be done with it by {format_day(last_day, state.today)}",
        )


def _renew(state: JobState, check: JobCheck, last_day: date) -> str:
    if check.check.key != "locate":
        return "ask the office to extend or renew it before then"
    by = working_days_before(last_day, state.file.spec.rules.figure("locate_lead"))
    return f"call for a new ticket {'today' if by <= state.today else f'by {format_day(by, state.today)}'}"


def _late(state: JobState) -> Iterator[NeedsYou]:
    """Deliveries promised for a day gone by, one line a supplier and day."""
    late: dict[tuple[str, date], list[DeliveryView]] = {}
    for delivery in deliveries_of(state):
        if delivery.promised is not None and delivery.promised < state.today:
            late.setdefault((delivery.supplier, delivery.promised), []).append(delivery)
    for (supplier, promised), found in late.items():
        first, more = found[0], f" and {count(len(found) - 1, 'more lot')}" if len(found) > 1 else ""
        yield _needs_you(
            state,
            Worry.LATE,
            f"{count(first.quantity, first.unit)} {first.item}{more}",
            f"promised {format_day(promised, state.today)} and not here",
            Place(state.facts.code, Room.LOTS, first.lot),
            do=f"ring {supplier or 'the supplier'}; when it comes, receive it off the ticket",
        )


def _short(state: JobState) -> Iterator[NeedsYou]:
    """Material still to buy whose last day to order is today or gone: one line a job."""
    short = [n for n in needs_of(state) if n.to_buy and n.order_by is not None and n.order_by <= state.today]
    if not short:
        return
    first, phases = short[0], list(dict.fromkeys(need.phase for need in short))
    items = f"{count(first.to_buy, first.unit)} {first.title}"
    if len(short) > 1:
        items += f" and {count(len(short) - 1, 'more item')}"
    by = min(need.order_by for need in short if need.order_by is not None)
    more = f" and {count(len(phases) - 1, 'more phase')}" if len(phases) > 1 else ""
    yield _needs_you(
        state,
        Worry.SHORT,
        f"for {state.phase_by_key[first.phase].title.lower()}{more}",
        f"{items}, needed {format_day(first.needed_on, state.today)}",
        Place(state.facts.code, Room.BUY, first.item),
        do="order today" if by == state.today else f"order now: the day to order was {format_day(by, state.today)}",
    )


def _office(state: JobState) -> Iterator[NeedsYou]:
    """The first desk phase whose turn and planned day have come; care is told by its own dates for its first year."""
    for phase in state.phases:
        if (
            phase.office
            and not (phase.key == CARE and state.today <= _care_until(state))
            and state.shown_state(phase.key) in (PhaseState.AHEAD, PhaseState.UNDER_WAY)
            and state.turn_has_come(phase.key)
            and state.plan[phase.key].start <= state.today
            and state.first_plan[phase.key].start <= state.today
        ):
            why = f"planned {format_day(state.first_plan[phase.key].start, state.today)}"
            if blockers := state.signoff_blockers(phase.key):
                why += f"; still open: {listing([_lower(b) for b in blockers[:2]], 'and')}"
            yield _needs_you(
                state, Worry.OFFICE, phase.title, why, _place(state, phase.key),
                do="see to it, then sign it off",
            )  # fmt: skip
            return


def _care_until(state: JobState) -> date:
    """The last day of the first year after the hand-over."""
    return (state.phase_folds[HAND_OVER].signed_off or state.today) + FIRST_YEAR


_WORRIES = (_failed, _held, _papers, _late, _short, _office)


# -- crews


def _at_work(state: JobState, day: date) -> Phase | None:
    """The phase a crew is on that day: one under way, else the first planned over it. Waiting needs no crew."""
    crew_work = [
        phase for phase in state.phases
        if not phase.office and (phase.effort.fixed or phase.effort.rate) and not state.signed(phase.key)
        and state.plan[phase.key].start <= day <= state.plan[phase.key].end
    ]  # fmt: skip
    busy = [phase for phase in crew_work if state.phase_state(phase.key) in _BUSY]
    return next(iter(busy or crew_work), None)


def _crew_line(state: JobState, phase: Phase, today: date) -> CrewLine:
    plan, started = state.plan[phase.key], state.phase_folds[phase.key].started
    begun = started or plan.start
    day = state.calendar.between(begun, today) + 1 if begun <= today else 0
    checks = [c for c in state.checks if c.phase == phase.key and not state.settled(c.key)]
    checks.sort(key=lambda check: not _is_failed(state, check.key))
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
        checks=tuple((check.key, _name(check)) for check in checks),
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
        if not phase.office and (phase.effort.fixed or phase.effort.rate) and not state.signed(phase.key)
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
            stops = weather_stops(phase, state.file.spec.rules)
            if not stops or state.signed(phase.key) or not (plan.start <= until and plan.end >= state.today):
                continue
            rain_day = phase.outdoors and plan.start <= state.today and state.today in state.calendar.rain
            works.setdefault(stops, []).append(
                Outdoors(state.facts.code, phase.key, phase.title, plan.start, plan.end, rain_day)
            )
    ordered = sorted(works.items(), key=lambda pair: pair[0] == OUTDOORS)
    return tuple(WeatherLine(stops, tuple(found)) for stops, found in ordered)
