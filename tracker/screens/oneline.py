"""A field of one line, into which more than one may be pasted."""

from __future__ import annotations

from typing import Any

from textual import events
from textual.message import Message
from textual.widgets import Input

from tracker.text import clean, count

SHOWN = 60
"""Characters of the lines left out that are told."""


class OneLine(Input):
    """A field that takes the lines of a paste on one line where it ``joins`` them, else the first, saying what it left out."""

    class LeftOut(Message):
        """Lines of a paste that were not taken, in words."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    def __init__(self, text: str = "", *, joins: str = "", **kwargs: Any) -> None:
        super().__init__(text, **kwargs)
        self.joins = joins
        """What stands between lines that are put together; empty where they are not."""

    def _on_paste(self, event: events.Paste) -> None:
        lines = [line for line in event.text.splitlines() if line.strip()]
        if not lines:
            return  # the field's own way of taking a paste follows
        event.prevent_default()
        event.stop()
        text = self.joins.join(line.strip() for line in lines) if self.joins and len(lines) > 1 else lines[0]
        self.replace(text, *self.selection)
        if text is lines[0] and (left := lines[1:]):
            said = clean("; ".join(line.strip() for line in left))
            said = said if len(said) <= SHOWN else f"{said[: SHOWN - 1]}…"
            told = f"only the first line was taken; {count(len(left), 'line')} left out: {said}"
            self.post_message(self.LeftOut(told))
