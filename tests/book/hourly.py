"""Hours for tests, logged as a crew lead types them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from tracker.book.hand import Hand
from tracker.book.hours import log_text
from tracker.book.opening import Book
from tracker.book.views import Recorded


def log_hours(
    book: Book,
    hand: Hand,
    code: str,
    phase: str,
    day: date,
    minutes: int,
    people: int | Sequence[str] = 1,
    *,
    corrects: int = 0,
) -> Recorded:
    """Log minutes each for some people, by names or by number."""
    each = f"{minutes // 60}:{minutes % 60:02}"
    names = () if isinstance(people, int) else people
    text = f"{people} x {each}" if isinstance(people, int) and people != 1 else each
    return log_text(book, hand, code, text, day, names, phase, corrects=corrects)
