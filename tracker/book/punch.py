"""The punch list: what a person saw and wants mended.

An item is a note with ``"punch": "open"`` in its body; closing it is another note, with ``"punch": "done"``, that corrects
it. Nothing is changed or deleted. `punchlist.py` makes the list of them.
"""

from __future__ import annotations

from sqlmodel import Session

from tracker.book.entries import Draft, append, entries_of
from tracker.book.hand import Hand
from tracker.book.handviews import PunchItem
from tracker.book.load import find_job
from tracker.book.once import once
from tracker.book.opening import Book
from tracker.book.people import known
from tracker.book.punchlist import DONE, OPEN, fold_punch
from tracker.book.views import Recorded
from tracker.errors import InputError, RefusedError
from tracker.text import NOTE_LIMIT, accept, clean
from tracker.trade.dates import format_day

LONGEST = 400


def add_punch(book: Book, hand: Hand, code: str, text: str, *, entry_id: str | None = None) -> Recorded:
    """Put something on a job's punch list."""
    with book.writing() as session:
        return add_punch_in(book, session, hand, code, text, entry_id)


@once("punch item")
def add_punch_in(
    book: Book, session: Session, hand: Hand, code: str, text: str, entry_id: str | None = None
) -> Recorded:
    """``add_punch`` inside the caller's transaction."""
    row = find_job(session, code)
    known(session, hand)
    text = accept(text, "what is to be mended", limit=LONGEST)
    before = entries_of(session, [row.id])[row.id]
    number = sum(entry.kind == "note" and entry.body.get("punch") == OPEN for entry in before) + 1
    appended = append(session, hand, Draft("note", {"text": text, "punch": OPEN}, job_id=row.id), entry_id)
    return Recorded(appended.id, False, f"{number} on the punch list of {row.code}: {clean(text)}", appended.notices)


def close_punch(
    book: Book, hand: Hand, code: str, item: str, how: str = "", *, entry_id: str | None = None
) -> Recorded:
    """Close a punch item, named by its number or its id; ``how`` says what was done.

    Raises InputError when there is no such item and RefusedError when it is closed already.
    """
    with book.writing() as session:
        return close_punch_in(book, session, hand, code, item, how, entry_id)


@once("punch item done")
def close_punch_in(
    book: Book, session: Session, hand: Hand, code: str, item: str, how: str = "", entry_id: str | None = None
) -> Recorded:
    """``close_punch`` inside the caller's transaction."""
    row = find_job(session, code)
    known(session, hand)
    how = accept(how, "what was done", limit=NOTE_LIMIT - LONGEST - 100, empty=True)
    found = _named(_items(session, row.id), item, row.code)
    if found.done is not None:
        raise RefusedError(
            f"{found.number} on the punch list is done already: {clean(found.done_by)}, {format_day(found.done, hand.day)}",
            "nothing was recorded",
        )
    text = f"done: {found.text}" + (f" ({how})" if how else "")
    body = {"text": text, "punch": DONE, "how": how}
    appended = append(session, hand, Draft("note", body, job_id=row.id, corrects=found.id), entry_id)
    return Recorded(appended.id, False, f"{found.number} on the punch list of {row.code} is done", appended.notices)


def _items(session: Session, job_id: str) -> tuple[PunchItem, ...]:
    return fold_punch(entries_of(session, [job_id])[job_id])


def _named(items: tuple[PunchItem, ...], text: str, code: str) -> PunchItem:
    wanted = text.strip().lower()
    for item in items:
        if wanted in (str(item.number), item.id):
            return item
    still = [str(item.number) for item in items if item.done is None]
    hint = f"open: {', '.join(still)}" if still else "every item is done" if items else "it is empty"
    hint += f'; put one on it: deckjobs punch {code} "rail cap loose"' if not still else ""
    raise InputError(f"the punch list of {code} has no {clean(text)[:40]!r}", hint)
