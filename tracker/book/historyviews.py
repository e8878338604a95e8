"""What the book answers about the history of a job: frozen read models."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from tracker.trade.answer import Answer


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """One entry. ``number`` counts the entries of the job from 1 in order of arrival; ``kind`` is the book's own word.

    ``about`` is the check, phase, lot or thing it concerns, ``said`` the whole of it in one line. ``entered`` and
    ``answer`` are those of a reading: the values as typed, and the verdict as it was computed at the time. ``facts`` are
    the other things the entry holds, by name. ``corrected_by`` and ``taken_back_by`` are ids; ``standing`` is ``taken back``,
    ``corrected``, or empty while nothing took its place (a correction that was taken back itself takes none).
    ``takes_back`` marks an entry that only takes another one back; ``everywhere`` marks an entry that concerns every job. ``seq`` counts the entries of one ``device``; ``digest`` covers
    everything the entry says and ``prev``, the digest of the same device's entry before it.
    """

    number: int
    id: str
    kind: str
    about: str
    said: str
    at: datetime
    day: date
    who: str
    device: str
    corrects: str
    corrected_by: tuple[str, ...]
    taken_back_by: str
    standing: str
    entered: tuple[tuple[str, str], ...]
    answer: Answer | None
    reason: str
    facts: tuple[tuple[str, str], ...]
    everywhere: bool
    takes_back: bool
    seq: int
    digest: str
    prev: str


@dataclass(frozen=True, slots=True)
class JobHistory:
    """The entries of the job ``code``, oldest arrival first."""

    code: str
    title: str
    lines: tuple[HistoryLine, ...]
