"""A list over a screen, one line to choose: what stands in the way, a supplier, a draft, a job, a next step."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Generic, TypeVar

from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from tracker.book.views import Blocker, Pass
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.clears import blocker_way
from tracker.screens.frame import Asking, Boxed, KeyLine
from tracker.screens.rows import Marked
from tracker.screens.static import Static

T = TypeVar("T")


_MOVES = frozenset({"up", "down", "home", "end", "pageup", "pagedown"})


class Choice(Boxed[T | None], Asking, Generic[T]):
    """Give back the thing of the chosen line, None when none was chosen.

    Who types an answer in words and Enter has not chosen the line that happens to be in hand: after a key that means nothing
    here a line is taken only once the cursor was moved.
    """

    NAME = "choice"
    BINDINGS = bindings("choice")

    def __init__(self, heading: str, lines: Sequence[tuple[T, Content]]) -> None:
        super().__init__()
        self.heading = heading
        self.lines = tuple(lines)
        self.strayed = False
        """Whether something was typed that means nothing here, and no line was gone to since."""

    def compose(self) -> ComposeResult:
        """The heading, the list, the keys."""
        with Vertical():
            yield Static(words.say(self.heading), id="heading")
            yield Marked(*(Option(content) for _, content in self.lines))
            yield (told := Static("", id="wrong", markup=False))
            told.display = False
            yield KeyLine(self.NAME)

    def on_mount(self) -> None:
        """Start on the first line."""
        self.query_one(OptionList).focus()
        self.query_one(OptionList).highlighted = 0

    def tell(self, text: str, style: str = "") -> None:
        """Show why no line is taken."""
        told = self.query_one("#wrong", Static)
        told.update(words.say(text))
        told.display = bool(text)

    def on_key(self, event: events.Key) -> None:
        """See what is typed and means nothing here."""
        if event.key in _MOVES:
            self.strayed = False
            self.tell("")
        elif event.is_printable and event.key not in self.active_bindings:
            self.strayed = True

    def on_paste(self, event: events.Paste) -> None:
        """A paste means nothing here."""
        self.strayed = True

    def on_click(self, event: events.Click) -> None:
        """Who points at a line means it."""
        self.strayed = False

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter chooses."""
        event.stop()
        self.action_go()

    def action_go(self) -> None:
        """Choose the line under the cursor, unless words were typed for it."""
        if self.strayed:
            self.turn_down("nothing is chosen by typing: ↑ and ↓ go to a line, then enter takes it")
            return
        at = self.query_one(OptionList).highlighted
        self.dismiss(self.lines[at][0] if at is not None else None)

    def action_back(self) -> None:
        """Choose none."""
        self.dismiss(None)


GO_PAST = Blocker("go past it", "", "")
"""What choosing the last line of ``ways`` gives back where what stands in the way may be gone past."""
_PASSING = {
    Pass.TOGETHER: "go past all of it, with a reason that stays visible; only somebody who may waive",
    Pass.EACH: "hand over with all of it open, a reason for each; only somebody who may waive",
}


def ways(heading: str, blockers: Sequence[Blocker], passing: Pass = Pass.NOT) -> Choice[Blocker]:
    """What stands in the way, a line each with what clears it, and last the way past it where there is one."""
    past = [(GO_PAST, words.say(_PASSING[passing], "$warning"))] if passing in _PASSING else []
    return Choice(
        heading,
        [
            (
                blocker,
                words.line(
                    words.say(f"{n}  "), words.say(blocker.what, words.STRONG), words.say(f": {blocker.why}\n"),
                    words.say(f"   clear it: {blocker_way(blocker).says}", words.FAINT),
                ),
            )
            for n, blocker in enumerate(blockers, 1)
        ]
        + past,
    )  # fmt: skip


def steps(heading: str, lines: Sequence[tuple[str, str]]) -> Choice[str]:
    """Names and what choosing them does, a line each."""
    return Choice(heading, [(name, words.say(text)) for name, text in lines])
