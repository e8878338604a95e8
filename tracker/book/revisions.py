"""How often what a job's calendar shows has changed, and when last: both only rise, whatever clocks do."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

import sqlalchemy as sql
from sqlmodel import Session

from tracker.book.entries import Entry

MOVING = ("reading", "waiver", "phase", "movement", "day")
"""Kinds of entry that can move or change what stands in the calendar; notes, hours and money cannot."""
_SECOND = timedelta(seconds=1)
_VERSIONS = sql.text(
    "SELECT at_ms, day FROM standing WHERE kind = 'house_rule' OR row_id IN ("
    " SELECT :job UNION SELECT id FROM lot WHERE job_id = :job) ORDER BY arrived"
)


@dataclass(frozen=True, slots=True)
class Changed:
    """One change: its moment in whole seconds and its working day (None: before days were kept)."""

    at: datetime
    day: date | None


@dataclass(frozen=True, slots=True)
class Revision:
    """``sequence`` counts the changes and the days gone by; ``stamp`` is the moment of the last one."""

    sequence: int
    stamp: datetime


def of_entries(entries: Iterable[Entry], kinds: Collection[str] = MOVING) -> list[Changed]:
    """The entries of some kinds as changes, in order of arrival."""
    return [Changed(entry.at.replace(microsecond=0), entry.day) for entry in entries if entry.kind in kinds]


def of_versions(session: Session, job_id: str) -> list[Changed]:
    """The versions of a job, its lots and the house rules as changes, in order of arrival."""
    return [
        Changed(datetime.fromtimestamp(at_ms // 1000, UTC), date.fromisoformat(day) if day else None)
        for at_ms, day in session.connection().execute(_VERSIONS, {"job": job_id})
    ]


def revision(lists: Sequence[Sequence[Changed]], today: date) -> Revision:
    """The revision after those changes, as seen on ``today``.

    A plan moves as days go by, so each day counts as a change too. The stamp is the moment of the last change (or the day's
    begin); changes of one second, by a clock that stands still, and days without one push it on by a second each.
    """
    changes = [one for changed in lists for one in changed]
    days = [one.day for one in changes if one.day is not None]
    stamp = datetime.min.replace(tzinfo=UTC)
    for at in sorted(one.at for one in changes):
        stamp = max(stamp + _SECOND, at)
    stamp += max((today - max(days, default=today)).days, 0) * _SECOND
    sequence = len(changes) + max((today - min(days, default=today)).days, 0)
    return Revision(sequence, max(stamp, datetime.combine(today, time(), UTC)))
