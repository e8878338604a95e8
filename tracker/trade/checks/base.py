"""What every check is made of: the case it judges, the form it asks, the function that answers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from tracker.text import listing
from tracker.trade.answer import Answer, Limit, Plain, Verdict
from tracker.trade.lengths import Unit
from tracker.trade.metric import answer_in_unit, in_unit, told_in_unit
from tracker.trade.readings import Form, Readings, form_in_unit
from tracker.trade.rules import Rules
from tracker.trade.spec import JobSpec, Platform


@dataclass(frozen=True, slots=True)
class LotLine:
    """A material lot as a check sees it: pieces ordered, received, left on hand, used, and sent away (returned or scrapped);
    ``use_category`` as ordered.
    """

    code: str
    item: str
    ordered: int
    received: int
    on_hand: int
    use_category: str = ""
    dry: bool = False
    used: int = 0
    sent_away: int = 0

    @property
    def is_any(self) -> bool:
        """Whether anything of it is to come, is here or was: nothing is of an order canceled before anything came."""
        return any((self.ordered, self.received, self.on_hand, self.used, self.sent_away))


@dataclass(frozen=True, slots=True)
class Case:
    """What a check judges against: the job, the platform, the day, the day the gated work is planned, the lots.

    ``today`` is the day of the readings; ``needed_on`` the planned start of the work the check guards (None when it
    is not planned). ``reader`` is who read (empty: not known); ``read_all`` says that a sample failed before, so that nothing
    is left to the eye; ``basis`` on whose recorded design the job stands (empty: on the tables alone).
    """

    job: JobSpec
    platform: Platform
    today: date
    needed_on: date | None = None
    lots: tuple[LotLine, ...] = ()
    reader: str = ""
    read_all: bool = False
    basis: str = ""

    @property
    def rules(self) -> Rules:
        """The rules in force."""
        return self.job.rules


@dataclass(frozen=True, slots=True)
class Check:
    """A check of the registry.

    ``asks`` says in one line what to measure and how; ``applies`` whether a platform has it; ``per_platform`` whether
    each platform has its own; ``form`` what it takes; ``judge`` the verdict; ``caution`` what can hurt. One that is
    ``from_spec`` is judged without any reading, and no waiver clears it.
    """

    key: str
    title: str
    asks: str
    source: str
    form: Callable[[Case], Form]
    judge: Callable[[Case, Readings], Answer]
    applies: Callable[[JobSpec, Platform], bool] = lambda job, platform: True
    per_platform: bool = True
    caution: str = ""
    from_spec: bool = False


def in_job_units(check: Check, unit: Unit) -> Check:
    """The check as a job of this unit meets it: its words, form, verdicts and refusals in the job's own units."""
    if unit is Unit.INCH:
        return check

    def form(case: Case) -> Form:
        return form_in_unit(check.form(case), unit)

    def judge(case: Case, readings: Readings) -> Answer:
        with told_in_unit(unit):
            return answer_in_unit(check.judge(case, readings), unit)

    title, asks, caution = (in_unit(text, unit) for text in (check.title, check.asks, check.caution))
    return replace(check, form=form, judge=judge, title=title, asks=asks, caution=caution)


def named(rows: Sequence[str], most: int = 6) -> str:
    """Return row labels as a sentence names them, the first ``most`` of many."""
    shown = listing(rows[:most], "and") if len(rows) <= most else ", ".join(rows[:most])
    return shown + (f" and {len(rows) - most} more" if len(rows) > most else "")


def verdict(
    passed: bool,
    headline: str,
    *,
    inputs: Mapping[str, Plain],
    answer: Mapping[str, Plain],
    working: Iterable[str],
    source: str,
    moves: Iterable[str] = (),
    limits: Iterable[Limit] = (),
    caution: str = "",
) -> Answer:
    """An Answer that passed or failed."""
    return Answer(
        headline=headline,
        inputs=inputs,
        answer=answer,
        working=tuple(working),
        source=source,
        verdict=Verdict.PASSED if passed else Verdict.FAILED,
        moves=tuple(moves),
        limits=tuple(limits),
        caution=caution,
    )


def incomplete(wanted: str, *, source: str, inputs: Mapping[str, Plain] | None = None) -> Answer:
    """An Answer that says which readings are still wanted."""
    return Answer(
        headline=f"not enough readings: {wanted}",
        inputs=inputs or {},
        answer={},
        working=(),
        source=source,
        verdict=Verdict.INCOMPLETE,
        moves=(f"read {wanted}",),
    )
