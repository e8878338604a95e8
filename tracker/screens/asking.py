"""A question over a screen, answered on one line: a reason, a count, a name, a note."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from typing import Any, Generic, TypeVar

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Input, Static

from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.frame import Asking, Boxed, KeyLine, writes
from tracker.text import accept

T = TypeVar("T")


class Question(Boxed[T | None], Asking, Generic[T]):
    """Ask ``heading`` and do ``act`` with the accepted text and an entry id; give back what it answered.

    While ``act`` is refused the question stays open with the text in it, and a second try carries the same
    entry id. Escape gives None back; the text typed so far is offered when the same question comes again.
    """

    NAME = "asking"
    BINDINGS = bindings("asking")

    def __init__(
        self,
        heading: str,
        act: Callable[[str, str], Coroutine[Any, Any, T]],
        *,
        what: str,
        help_text: str = "",
        value: str = "",
        limit: int = 200,
    ) -> None:
        super().__init__()
        self.heading = heading
        self.act = act
        self.what = what
        self.help_text = help_text
        self.value = value
        self.limit = limit
        self.entry_id = ""

    def compose(self) -> ComposeResult:
        """The question, the line to answer on, what is wrong with the answer, the keys."""
        with Vertical():
            yield Static(words.say(self.heading), id="heading")
            if self.help_text:
                yield Static(words.say(self.help_text, words.FAINT))
            yield Input(self.desk.unsent.get(self.heading, self.value), compact=True)
            yield Static("", id="wrong", markup=False)
            yield KeyLine(self.NAME)

    def tell(self, text: str, style: str = "") -> None:
        """Show what is wrong with the answer."""
        if self.is_mounted:
            self.query_one("#wrong", Static).update(words.say(text))

    def on_input_submitted(self) -> None:
        """Enter answers."""
        self.action_accept()

    @writes
    async def action_accept(self) -> None:
        """Do what was asked for; a refusal is shown and the text stays."""
        from tracker.book.opening import default_entry_id

        self.desk.unsent[self.heading] = typed = self.query_one(Input).value
        self.entry_id = self.entry_id or default_entry_id()
        answer = await self.act(accept(typed, self.what, limit=self.limit), self.entry_id)
        self.desk.unsent.pop(self.heading, None)
        self.dismiss(answer)

    def action_back(self) -> None:
        """Do nothing, and keep the text."""
        if (typed := self.query_one(Input).value) and typed != self.value:
            self.desk.unsent[self.heading] = typed
        self.dismiss(None)
