"""Lists whose cursor is a sign as well as a colour, and one whose cursor stays on its row when it is read again."""

from __future__ import annotations

from collections.abc import Iterable

from rich.segment import Segment
from textual import events
from textual.app import App
from textual.content import Content
from textual.strip import Strip
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from tracker.reports.drawing_text import needs_ascii
from tracker.screens.desk import Desk
from tracker.screens.frame import Framed

HEAD = "head "


def with_sign(strip: Strip, encoding: str) -> Strip:
    """A line of a list with the sign of the cursor in its first cell, which is blank."""
    sign = ">" if needs_ascii(encoding) else "›"
    return Strip.join([Strip([Segment(sign, next(iter(strip)).style)]), strip.crop(1)])


def encoding_of(app: App[object]) -> str:
    """The encoding of what an app draws."""
    return app.encoding if isinstance(app, Desk) else app.console.encoding


class Marked(OptionList):
    """A list with a sign before the line in hand, for a terminal that shows no shade of grey."""

    def render_line(self, y: int) -> Strip:
        """A line, with the sign on the first one of the option in hand."""
        strip = super().render_line(y)
        in_hand = self.highlighted is not None and (self.has_focus or not self.can_focus)
        if not in_hand or self._index_to_line.get(self.highlighted or 0) != y + self.scroll_offset.y:
            return strip
        return with_sign(strip, encoding_of(self.app))


class Rows(Marked):
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
        return max(width - self.styles.gutter.width - 2, 20)

    def on_resize(self, event: events.Resize) -> None:
        """Have the rows drawn again for a new width; the cursor stays in sight."""
        self.call_after_refresh(self.scroll_to_highlight)
        screen = self.screen
        if self.room != self.drawn_for and isinstance(screen, Framed):
            self.drawn_for = self.room
            self.call_after_refresh(screen.redraw)
