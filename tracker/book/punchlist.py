"""The punch list made of a job's notes: a note with ``"punch": "open"`` in its body is an item, one with ``"punch": "done"``
that corrects it closes it. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from tracker.book.entries import Entry
from tracker.book.fold import in_force
from tracker.book.handviews import PunchItem

OPEN, DONE = "open", "done"


def fold_punch(entries: Iterable[Entry]) -> tuple[PunchItem, ...]:
    """The punch items among a job's entries, in order of arrival; one taken back keeps its number and is left out."""
    items: dict[str, PunchItem] = {}
    notes = [entry for entry in entries if entry.kind == "note"]
    opened = [entry.id for entry in notes if entry.body.get("punch") == OPEN]
    for entry in in_force(notes):
        if entry.body.get("punch") == OPEN:
            number = opened.index(entry.id) + 1
            items[entry.id] = PunchItem(number, entry.id, entry.day, entry.at, entry.who, entry.body["text"])
        elif entry.body.get("punch") == DONE and entry.corrects in items and items[entry.corrects].done is None:
            items[entry.corrects] = replace(
                items[entry.corrects], done=entry.day, done_by=entry.who, done_note=entry.body.get("how", "")
            )
    return tuple(items.values())
