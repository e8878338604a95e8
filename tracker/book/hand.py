"""Whose hand makes an entry, when, and on which device: passed to every operation that writes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime

from tracker.text import accept


@dataclass(frozen=True, slots=True)
class Hand:
    """``who`` signs, ``at`` is an aware UTC moment, ``day`` the local working day, ``device`` this machine's id."""

    who: str
    at: datetime
    day: date
    device: str


def hand(who: str, at: datetime, device: str) -> Hand:
    """A Hand at an aware moment; the working day is the moment's local day. Raises InputError for a blank name."""
    return Hand(accept(who, "the name of who signs"), at.astimezone(UTC), at.astimezone().date(), device)
