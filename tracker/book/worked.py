"""The hours entries of jobs folded into who worked how long on what. Pure.

The body of an entry of kind ``hours``: phase, day (the day worked), minutes (of each person), people (how many), names
(of those that were named), rate_cents (what an hour of one person cost when it was logged), note. An entry that corrects another
takes its place; ``{"what": "taken back", "why": ...}`` takes it away.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from tracker.book.ledger import standing
from tracker.planning.bounds import UNRATED, Gaps, all_gaps
from tracker.planning.labour import labour_cents
from tracker.planning.productivity import Pace, Productivity

if TYPE_CHECKING:
    from tracker.book.entries import Entry


@dataclass(frozen=True, slots=True)
class Stint:
    """Hours of one entry: ``minutes`` of each of ``people`` on one phase and day; ``names`` of those known by name.

    ``number`` counts the entries of the job, those taken back too.
    """

    id: str
    number: int
    job_id: str
    phase: str
    day: date
    minutes: int
    people: int
    names: tuple[str, ...]
    rate_cents: int
    note: str
    who: str

    @property
    def total_minutes(self) -> int:
        """Person-minutes."""
        return self.minutes * self.people

    @property
    def cents(self) -> int:
        """What they cost."""
        return labour_cents(self.total_minutes, self.rate_cents)


@dataclass(frozen=True, slots=True)
class PhaseHours:
    """One phase's hours: person-minutes worked and estimated, what the worked ones cost, and whether it is signed off."""

    phase: str
    title: str
    minutes: int
    estimate_minutes: int
    cents: int
    signed_off: bool = False


@dataclass(frozen=True, slots=True)
class HoursView:
    """The hours of a job: by phase, and entry by entry, the oldest day first. ``now`` is the phase hours go to when none is named.

    ``titles`` are those of every phase of the job by its key, of those without hours too; ``names`` is what
    hours may name as a phase, in lower case.
    """

    job: str
    title: str
    phases: tuple[PhaseHours, ...]
    stints: tuple[Stint, ...]
    now: str
    now_title: str
    day: date
    titles: Mapping[str, str] = field(default_factory=dict)
    names: frozenset[str] = frozenset()

    @property
    def minutes(self) -> int:
        """All person-minutes."""
        return sum(phase.minutes for phase in self.phases)

    @property
    def cents(self) -> int:
        """What they cost."""
        return sum(phase.cents for phase in self.phases)

    @property
    def gaps(self) -> Gaps:
        """What is left out of that cost: hours at no rate."""
        return Gaps(others=(UNRATED,) if any(not stint.rate_cents for stint in self.stints) else ())


@dataclass(frozen=True, slots=True)
class HoursSummary:
    """Hours over every job that has any, and what finished phases took."""

    jobs: tuple[HoursView, ...]
    productivity: tuple[Productivity, ...]
    pace: Pace

    @property
    def gaps(self) -> Gaps:
        """What is left out of their cost."""
        return all_gaps(job.gaps for job in self.jobs)


def fold_hours(entries: Iterable[Entry]) -> tuple[Stint, ...]:
    """The hours that count, in order of arrival."""
    every = list(entries)
    seen: dict[str, int] = {}
    numbers: dict[str, int] = {}
    for entry in every:
        numbers[entry.id] = seen[entry.job_id] = seen.get(entry.job_id, 0) + 1
    return tuple(_stint(entry, numbers[entry.id]) for entry in standing(every))


def _stint(entry: Entry, number: int) -> Stint:
    body = entry.body
    return Stint(
        entry.id, number, entry.job_id, body["phase"], date.fromisoformat(body["day"]), body["minutes"], body["people"],
        tuple(body["names"]), body["rate_cents"], body["note"], entry.who,
    )  # fmt: skip


def minutes_of_person(stints: Iterable[Stint], name: str, day: date) -> int:
    """Minutes a person worked on a day, over all jobs."""
    wanted = name.casefold()
    return sum(s.minutes for s in stints if s.day == day and wanted in {known.casefold() for known in s.names})
