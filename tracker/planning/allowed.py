"""The days that papers, waits and checks allow a phase: what was read last decides, not what the plan would like. Pure.

The same days stand in the verdicts of the checks, so that no page plans digging before the day its locate ticket allows.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from tracker.trade.answer import Answer, Verdict
from tracker.trade.checks.paper import INSPECTIONS, LOCATE, PERMIT, working_days_after
from tracker.trade.phases import Phase
from tracker.trade.rules import Rules

CURE = "cure_days"
"""The house rule of the wait that ends on the day the footing check names."""


@dataclass(frozen=True, slots=True)
class Opening:
    """Days on which a phase may begin: from ``first`` to ``last``, or from then on (None)."""

    first: date
    last: date | None = None

    def holds(self, day: date) -> bool:
        """Whether it is open on ``day``."""
        return self.first <= day and (self.last is None or day <= self.last)


@dataclass(frozen=True, slots=True)
class Allowed:
    """What binds a phase in the plan.

    Each tuple of ``begins`` is a paper or check that must allow the day it begins by one of its openings, the last of which
    never closes. ``ends`` is the first day it can be over (None: any). ``waits`` is False when its wait holds no more: it
    was waived, or a paper names the day in its place.
    """

    begins: tuple[tuple[Opening, ...], ...] = ()
    ends: date | None = None
    waits: bool = True

    def first(self, day: date) -> date:
        """The first day from ``day`` on that every paper and check allows."""
        found = day
        while True:
            before = found
            for openings in self.begins:
                if not any(opening.holds(found) for opening in openings):
                    found = min((opening.first for opening in openings if opening.first > found), default=found)
            if found == before:
                return found


FREE = Allowed()


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a check: its registry key, its phase, the answer in force as it was kept (None: nothing is read).

    ``asked`` is the day its phase was started, while that is under way: the day a locate ticket that nobody has read yet
    was called for.
    """

    check: str
    phase: str
    answer: Answer | None
    waived: bool = False
    asked: date | None = None


def allowed_days(
    phases: Sequence[Phase], known: Iterable[Known], waived: Iterable[str], today: date, rules: Rules
) -> dict[str, Allowed]:
    """What binds each phase that something binds. ``waived`` are the phases whose wait was waived."""
    begins: defaultdict[str, list[tuple[Opening, ...]]] = defaultdict(list)
    ends: defaultdict[str, list[date]] = defaultdict(list)
    over = set(waived)
    for check in known:
        if check.check == LOCATE.key and (check.waived or check.answer is not None):
            over.add(check.phase)
        if check.waived:
            continue
        answer = check.answer
        standing = [phase.key for phase in phases if check.check in phase.standing]
        if check.check == LOCATE.key:
            for key in standing:
                begins[key].append(_ticket(check, today, rules.figure("locate_lead")))
        elif answer is None:
            continue
        elif check.check == PERMIT.key and (issued := _day(answer.inputs, "issued")):
            ends[check.phase].append(issued)
            for key in standing:
                begins[key].append((Opening(issued),))
        elif check.check in INSPECTIONS and answer.answer.get("result") in ("booked", "passed"):
            ends[check.phase] += [day for day in (_day(answer.answer, "day"),) if day]
        elif answer.verdict is Verdict.FAILED and (again := _day(answer.answer, "wait_until")):
            begins[check.phase].append((Opening(again),))
        elif load_from := _day(answer.answer, "load_from"):
            for phase in phases:
                if phase.wait and phase.wait.rule == CURE and phase.key not in over:
                    ends[phase.key].append(load_from)
    bound = {key: Allowed(tuple(begins[key]), max(ends[key], default=None)) for key in {*begins, *ends}}
    return bound | {key: replace(bound.get(key, FREE), waits=False) for key in over}


def _ticket(check: Known, today: date, lead: int) -> tuple[Opening, ...]:
    """When the ticket allows digging, and from when, after it, one called for today would."""
    anew = Opening(working_days_after(today, lead))
    if check.answer is None:
        return (Opening(working_days_after(check.asked, lead)) if check.asked else anew,)
    start, last = _day(check.answer.answer, "dig_from"), _day(check.answer.answer, "expires")
    called = _day(check.answer.inputs, "called")
    if start is None or last is None or called is None or called > today or last < start:
        return (anew,)
    return Opening(start, last), Opening(max(anew.first, last + timedelta(days=1)))


def _day(values: Mapping[str, object], key: str) -> date | None:
    text = values.get(key)
    return date.fromisoformat(text) if isinstance(text, str) else None
