"""What the book answers about what can be put right: frozen read models."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Movement:
    """A movement of a lot that still counts: its number in the job's history, and what it says."""

    number: int
    id: str
    day: date
    who: str
    move: str
    quantity: int
