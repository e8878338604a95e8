"""The contractor's letterhead: what papers for a client and for the crew say of who made them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import date

from sqlmodel import Session, col, select

from tracker.book.hand import Hand
from tracker.book.houserules import put_house_rule
from tracker.book.opening import Book
from tracker.book.paperviews import LETTERHEAD_LINES, Letterhead
from tracker.book.people import must_waive
from tracker.book.standing import body_of, rows_at
from tracker.book.tables import HouseRuleRow, StandingRow
from tracker.errors import InputError
from tracker.text import accept, clean, listing, near


def letterhead(book: Book) -> Letterhead:
    """The letterhead as it is now."""
    with book.reading() as session:
        return letterhead_at(session, None)


def letterhead_at(session: Session, until: date | None) -> Letterhead:
    """The letterhead as it was at the end of a day (as it is, when None)."""
    return letterhead_told(rows_at(session, HouseRuleRow, until))


def letterhead_told(rows: Iterable[HouseRuleRow]) -> Letterhead:
    """What rows of the house rules say of the letterhead."""
    return Letterhead(**{row.key: json.loads(row.value) for row in rows if row.kind == "letterhead"})


def letterhead_of(session: Session, day: date) -> Letterhead:
    """The letterhead of a paper that went out on ``day``; the first there was when none was given by then."""
    kept = select(StandingRow).where(StandingRow.kind == "house_rule").order_by(col(StandingRow.arrived))
    versions = ((row.day, body_of(HouseRuleRow, row.body)) for row in session.exec(kept).all())
    since = next((then for then, body in versions if body["kind"] == "letterhead"), None)
    return letterhead_at(session, max(day, date.fromisoformat(since))) if since else Letterhead()


def set_letterhead(book: Book, hand: Hand, typed: Mapping[str, str]) -> Letterhead:
    """Set lines of the letterhead; an empty text takes a line off. Papers of days before keep what they said.

    Raises InputError for an unknown line or a text that fits no paper, RefusedError for anybody who may not speak for the
    house.
    """
    lines: dict[str, str] = {}
    for key, text in typed.items():
        if key not in LETTERHEAD_LINES:
            known = listing(LETTERHEAD_LINES)
            raise InputError(f"a letterhead has no line {clean(key)!r}{near(key, LETTERHEAD_LINES)}", f"it has {known}")
        lines[key] = " ".join(accept(text, LETTERHEAD_LINES[key], limit=120, empty=True).split())
    with book.writing() as session:
        must_waive(session, hand, "change the letterhead")
        for key, text in lines.items():
            put_house_rule(session, hand, "letterhead", key, text or None)
        session.flush()
        return letterhead_at(session, None)
