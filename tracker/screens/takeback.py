"""The question that takes a reading back: which one it is, and why."""

from __future__ import annotations

from collections.abc import Coroutine
from typing import Any

from tracker.book.views import CheckView, Recorded
from tracker.screens.asking import Question
from tracker.screens.desk import Desk
from tracker.screens.phaselines import name_of
from tracker.text import NOTE_LIMIT, clean
from tracker.trade.dates import format_day


def take_back_question(desk: Desk, code: str, check: CheckView) -> Question[Recorded]:
    """Ask why the reading in force of a check is taken back; the book refuses when it is another one by then."""
    from tracker.book.readings import take_back

    last = check.last
    by = f"{clean(last.who)}, {format_day(last.day, desk.today)}" if last is not None else "nobody"

    def act(reason: str, entry: str) -> Coroutine[Any, Any, Recorded]:
        reading = last.id if last is not None else ""
        return desk.ask(take_back, desk.hand(), code, check.key, reason, entry_id=entry, reading=reading)

    return Question(
        f"Take back the reading of {clean(name_of(check))} by {by}: why? ({clean(code)})",
        act,
        what="the reason",
        help_text="it stays in the history; the reading before it is in force again",
        limit=NOTE_LIMIT,
    )
