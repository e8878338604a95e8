"""Each phase's planned days, forward from the job's start over working days; what really happened moves the rest.

Hours are spread over crew days: a short phase may share a day with the one before. Dates are local working days.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from dateutil.rrule import DAILY, rrule

from tracker.errors import InputError
from tracker.planning.allowed import FREE, Allowed
from tracker.text import count
from tracker.trade.phases import CARE, FINISH, HAND_OVER, Phase, stands_on
from tracker.trade.rules import Rules

WEEKDAYS = frozenset(range(5))
HORIZON_DAYS = 3 * 366
_TAKE_OUT = "take some of the days off out of the calendar"


@dataclass(frozen=True, slots=True)
class WorkCalendar:
    """Working days: ``weekdays`` (Monday is 0) less ``days_off``; outdoor work also stops on ``rain`` days."""

    weekdays: frozenset[int] = WEEKDAYS
    days_off: frozenset[date] = frozenset()
    rain: frozenset[date] = frozenset()

    def works(self, day: date, outdoors: bool = False) -> bool:
        """Whether a crew works on ``day``."""
        return day.weekday() in self.weekdays and day not in self.days_off and not (outdoors and day in self.rain)

    def days_from(self, day: date, outdoors: bool = False) -> Iterable[date]:
        """Working days from ``day`` (included) on, for at most three years."""
        last = datetime.combine(day + timedelta(days=HORIZON_DAYS - 1), time())
        week = rrule(DAILY, dtstart=datetime.combine(day, time()), until=last, byweekday=sorted(self.weekdays))
        for moment in week if self.weekdays else ():
            if self.works(candidate := moment.date(), outdoors):
                yield candidate

    def first(self, day: date, outdoors: bool = False) -> date:
        """The first working day on or after ``day``; raises InputError when the next three years have none."""
        for candidate in self.days_from(day, outdoors):
            return candidate
        raise InputError(f"no working day in the three years from {day}", _TAKE_OUT)

    def shift(self, day: date, working_days: int) -> date:
        """The working day ``working_days`` after ``day`` (before it when negative); 0 is ``day`` itself.

        Raises InputError when three years do not hold that many working days.
        """
        step = timedelta(days=1 if working_days > 0 else -1)
        left, limit = abs(working_days), HORIZON_DAYS
        while left:
            if not limit:
                raise InputError(f"fewer than {count(abs(working_days), 'working day')} in three years", _TAKE_OUT)
            day += step
            limit -= 1
            left -= self.works(day)
        return day

    def between(self, first: date, last: date) -> int:
        """Working days after ``first`` up to and including ``last``; negative when ``last`` is earlier."""
        if last < first:
            return -self.between(last, first)
        return sum(self.works(first + timedelta(days=n)) for n in range(1, (last - first).days + 1))


@dataclass(frozen=True, slots=True)
class Done:
    """What really happened to a phase: the day it started and the day it was signed off, where they are known."""

    started: date | None = None
    signed_off: date | None = None


@dataclass(frozen=True, slots=True)
class Span:
    """A phase's planned (or real) first and last day; ``wait_over`` is the first day after its wait, if it has one."""

    start: date
    end: date
    wait_over: date | None = None


@dataclass(frozen=True, slots=True)
class _Moment:
    """A point in crew time: a day and the hours of it already used."""

    day: date
    used: float = 0.0


def _order(moment: _Moment) -> tuple[date, float]:
    return moment.day, moment.used


@dataclass(frozen=True, slots=True)
class Crew:
    """How much a crew does in a day: people and hours."""

    size: int
    hours: int = 8
    quantities: Mapping[str, float] = field(default_factory=dict)

    def hours_for(self, phase: Phase) -> float:
        """Clock hours this crew needs for a phase."""
        return float(phase.effort.hours(self.quantities)) / max(self.size, 1)


def schedule(
    phases: Sequence[Phase],
    start: date,
    crew: Crew,
    calendar: WorkCalendar,
    rules: Rules,
    done: Mapping[str, Done] | None = None,
    today: date | None = None,
    allowed: Mapping[str, Allowed] | None = None,
) -> dict[str, Span]:
    """Planned days of every phase, in template order.

    A phase begins when everything it stands on has ended, on a day that its papers and checks allow (``allowed``). Nothing
    that has not started is planned before ``today``; a phase under way ends today at the earliest. Crew work that must wait
    begins when its wait is over. A phase signed off by the day it was planned to end makes nothing later. Phases must name
    only earlier phases in ``after``. Raises InputError when the calendar has no working day.
    """
    done, allowed = done or {}, allowed or {}
    spans: dict[str, Span] = {}
    ends: dict[str, _Moment] = {}
    below = stands_on(phases)
    for phase in phases:
        real = done.get(phase.key, Done())
        ready = max((ends[key] for key in below[phase.key]), key=_order, default=_Moment(start))
        over = _wait_over(phase, _waits_since(phase, ready, ends, real, today), calendar, rules)
        bound = allowed.get(phase.key, FREE)
        spans[phase.key], ends[phase.key] = _place(phase, ready, over, real, crew, calendar, today, bound)
    return spans


def _place(
    phase: Phase,
    ready: _Moment,
    over: date | None,
    real: Done,
    crew: Crew,
    calendar: WorkCalendar,
    today: date | None,
    bound: Allowed,
) -> tuple[Span, _Moment]:
    if real.signed_off is not None:
        begun = min(real.started or real.signed_off, real.signed_off)
        # Done by about noon, or by the hour the plan had for it that day: what follows is never later for it.
        as_planned = _place(phase, ready, over, Done(real.started), crew, calendar, real.signed_off, bound)[1]
        used = crew.hours / 2
        if as_planned.day == real.signed_off:
            used = min(used, as_planned.used)
        return Span(begun, real.signed_off, over), _Moment(real.signed_off, used)
    begin, over_by = ready, over if bound.waits else None
    if real.started is not None:
        begin = _Moment(real.started)
    elif today is not None and begin.day < today:
        begin = _Moment(today)
    hours = crew.hours_for(phase)
    if real.started is None and hours > 0 and over_by is not None and begin.day < over_by:
        begin = _Moment(over_by)
    first, end = _consume(begin, hours, crew.hours, calendar, phase.outdoors, moved=real.started is not None)
    while real.started is None and (opens := bound.first(first)) > first:
        first, end = _consume(_Moment(opens), hours, crew.hours, calendar, phase.outdoors, moved=False)
    if today is not None:
        # What is under way since an earlier day takes half of this one at the least.
        used = crew.hours / 2 if hours > 0 and real.started is not None and real.started < today else 0.0
        floor = _Moment(calendar.first(today, phase.outdoors), used)
        end = max(end, floor, key=_order)
    for least in (over_by, bound.ends):
        if least is not None and end.day < least:
            end = _Moment(least if hours <= 0 else calendar.first(least, phase.outdoors))
    return Span(first, end.day, over), end


def _waits_since(phase: Phase, ready: _Moment, ends: Mapping[str, _Moment], real: Done, today: date | None) -> date:
    """The day a phase's wait counts from: another phase's end, or the day it was asked for, which is never a day gone by."""
    if phase.wait is None or phase.wait.since:
        return ends[phase.wait.since].day if phase.wait and phase.wait.since in ends else ready.day
    return real.started or real.signed_off or max(ready.day, today or ready.day)


def _consume(
    begin: _Moment, hours: float, day_hours: int, calendar: WorkCalendar, outdoors: bool, *, moved: bool
) -> tuple[date, _Moment]:
    """Spend ``hours`` from ``begin`` over working days; a day with under half an hour left counts as full."""
    if hours <= 0:
        day = begin.day if moved else calendar.first(begin.day)
        return day, _Moment(day, begin.used if day == begin.day else 0.0)
    first: date | None = begin.day if moved else None
    left, used = hours, begin.used
    for day in calendar.days_from(begin.day, outdoors):
        free = day_hours - (used if day == begin.day else 0.0)
        if free < 0.5:
            continue
        first = first or day
        if left <= free + 0.5:
            return first, _Moment(day, day_hours - free + left)
        left -= free
    raise InputError(f"the three years from {begin.day} have too few working days for the job", _TAKE_OUT)


def _wait_over(phase: Phase, since: date, calendar: WorkCalendar, rules: Rules) -> date | None:
    if phase.wait is None:
        return None
    days = rules.figure(phase.wait.rule)
    return calendar.shift(since, days) if phase.wait.working else since + timedelta(days=days)


def hand_over_day(spans: Mapping[str, Span]) -> date:
    """The day the client gets the deck: the hand-over's, or, for a job without one, the end of the last phase before the
    finish and the care, which come weeks and a year after it. Raises ValueError for no phases.
    """
    if HAND_OVER in spans:
        return spans[HAND_OVER].end
    return max((span.end for key, span in spans.items() if key not in (FINISH, CARE)), default=None) or max(
        span.end for span in spans.values()
    )


def days_late(plan: Mapping[str, Span], now: Mapping[str, Span], calendar: WorkCalendar) -> int:
    """Working days by which the job's hand-over has slipped against the first plan (negative: ahead).

    Once it is handed over, that day stands, and so does the figure.
    """
    if not plan or not now:
        return 0
    return calendar.between(hand_over_day(plan), hand_over_day(now))
