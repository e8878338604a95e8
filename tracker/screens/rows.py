"""A list whose cursor stays on the same row when its rows are read again."""

from __future__ import annotations

from collections.abc import Iterable

from textual import events
from textual.content import Content
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from tracker.screens.frame import Framed

HEAD = "head "


class Rows(OptionList):
    """Rows with keys, each of one or more lines."""

    drawn_for = 0

    def show(self, rows: Iterable[tuple[str, Content]], at: str | None = None) -> None:
        """Replace the rows; the cursor goes to row ``at``, else stays on its key, else as near as can be.

        A row whose key begins with ``HEAD`` is a heading: the cursor passes over it.
        """
        held, place = (at or self.key), self.highlighted or 0
        options = [Option(content, id=key, disabled=key.startswith(HEAD)) for key, content in rows]
        keys = [option.id for option in options]
        self.set_options(options)
        free = [n for n, option in enumerate(options) if not option.disabled]
        if free:
            near = min(free, key=lambda n: (abs(n - place), n))
            self.highlighted = keys.index(held) if held in keys else near

    @property
    def key(self) -> str | None:
        """The key of the row under the cursor."""
        option = self.highlighted_option
        return option.id if option else None

    @property
    def room(self) -> int:
        """Cells a row has, the scroll bar left out."""
        width = self.outer_size.width or self.screen.size.width
        return max(width - self.styles.gutter.width - 1, 20)

    def on_resize(self, event: events.Resize) -> None:
        """Have the rows drawn again for a new width."""
        screen = self.screen
        if self.room != self.drawn_for and isinstance(screen, Framed):
            self.drawn_for = self.room
            self.call_after_refresh(screen.redraw)
