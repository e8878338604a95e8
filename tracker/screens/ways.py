"""What stands in the way, a line each: enter goes there."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from tracker.book.views import Blocker
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.clears import blocker_way
from tracker.screens.frame import Boxed, KeyLine


class Ways(Boxed[Blocker | None]):
    """Give back the blocker a person wants to go to."""

    NAME = "ways"
    BINDINGS = bindings("ways")

    def __init__(self, heading: str, blockers: Sequence[Blocker]) -> None:
        super().__init__()
        self.heading = heading
        self.blockers = tuple(blockers)

    def compose(self) -> ComposeResult:
        """The refusal, the list, the keys."""
        with Vertical():
            yield Static(words.say(self.heading), id="heading")
            yield OptionList(
                *(
                    Option(
                        words.line(
                            words.say(f"{n}  "), words.say(b.what, words.STRONG), words.say(f": {b.why}\n"),
                            words.say(f"   clear it: {blocker_way(b).says}", words.FAINT),
                        )
                    )
                    for n, b in enumerate(self.blockers, 1)
                )
            )  # fmt: skip
            yield KeyLine(self.NAME)

    def on_mount(self) -> None:
        """Start on the first line."""
        self.query_one(OptionList).focus()
        self.query_one(OptionList).highlighted = 0

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter goes there."""
        event.stop()
        self.action_go()

    def action_go(self) -> None:
        """Go to the line under the cursor."""
        at = self.query_one(OptionList).highlighted
        self.dismiss(self.blockers[at] if at is not None else None)

    def action_back(self) -> None:
        """Go nowhere."""
        self.dismiss(None)
