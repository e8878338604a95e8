"""What the book answers at the end of a job: the punch list, the record of what was built, the care dates. Frozen."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from tracker.book.paperviews import Letterhead
from tracker.book.views import DeliveryView, LotView, NoteView, PhaseView, ReadingView, WaiverView
from tracker.trade.care import CareDate, CareTask
from tracker.trade.spec import JobSpec


@dataclass(frozen=True, slots=True)
class PunchItem:
    """A thing somebody put on the punch list; ``done`` is None while it is open. Numbers count from 1 and never change."""

    number: int
    id: str
    day: date
    at: datetime
    who: str
    text: str
    done: date | None = None
    done_by: str = ""
    done_note: str = ""


@dataclass(frozen=True, slots=True)
class OpenItem:
    """Something the book knows to be open: ``what`` it is, ``why``, and the command that ``clears`` it."""

    what: str
    why: str
    clears: str


@dataclass(frozen=True, slots=True)
class FormerCheck:
    """A check the job no longer has; what was measured for it stays on record."""

    title: str
    readings: tuple[ReadingView, ...]
    waivers: tuple[WaiverView, ...]
    last: ReadingView | None


@dataclass(frozen=True, slots=True)
class EntryMark:
    """An entry by its id and its digest."""

    id: str
    digest: str


def digest_of_marks(marks: Iterable[EntryMark]) -> str:
    """SHA-256 over lines of id and digest."""
    text = "".join(f"{mark.id} {mark.digest}\n" for mark in marks)
    return hashlib.sha256(text.encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class HandoverView:
    """A job at its end, as known at the end of ``day``, read in one transaction.

    ``handed_over`` and ``finished`` are the days the hand-over and the finish were signed off (None: not, or undone).
    ``stands_on`` is on whose design it stands, where one is recorded. ``care`` is empty before the hand-over and after ``care_ended`` says why nobody comes any more. ``entries`` are all the
    job's entries of working days up to ``day``, in the order of their clocks, the same in every copy of the book;
    ``entries_digest`` is SHA-256 over them (``digest_of_marks``).
    """

    code: str
    title: str
    client: str
    place: str
    crew: str
    start: date
    day: date
    spec: JobSpec
    phases: tuple[PhaseView, ...]
    lots: tuple[LotView, ...]
    deliveries: tuple[DeliveryView, ...]
    notes: tuple[NoteView, ...]
    open_items: tuple[OpenItem, ...]
    punch: tuple[PunchItem, ...]
    former: tuple[FormerCheck, ...]
    waits_waived: tuple[tuple[str, WaiverView], ...]
    handed_over: date | None
    handed_by: str
    finished: date | None
    care: tuple[CareDate, ...]
    care_ended: str
    letterhead: Letterhead
    entries: tuple[EntryMark, ...]
    entries_digest: str
    stands_on: str = ""


@dataclass(frozen=True, slots=True)
class CareView:
    """The care of one handed-over job; ``ended`` says why nobody comes any more, empty while somebody does. ``settled`` are
    the tasks done once and for all.
    """

    job: str
    title: str
    client: str
    place: str
    handed_over: date
    dates: tuple[CareDate, ...]
    ended: str = ""
    settled: tuple[CareTask, ...] = ()


@dataclass(frozen=True, slots=True)
class Reminder:
    """A care date that is near or over: ``text`` in one line; ``task`` is what `deckjobs care JOB --done` takes."""

    job: str
    title: str
    task: str
    due: date
    text: str
