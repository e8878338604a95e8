"""A table whose cursor stays on the same row when it is read again; every cell is plain text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar

from rich.text import Text
from textual.binding import Binding, BindingType
from textual.strip import Strip
from textual.widgets import DataTable

from tracker.screens.rows import encoding_of, with_sign
from tracker.screens.words import fit


class Table(DataTable[Text]):
    """Rows by key; ``columns`` are (heading, width, right-aligned)."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("home", "scroll_top", show=False),
        Binding("end", "scroll_bottom", show=False),
    ]

    def show(self, columns: Sequence[tuple[str, int, bool]], rows: Iterable[tuple[str, Sequence[str], str]]) -> None:
        """Replace columns and rows; a row is its key, its texts and a rich style."""
        held, place = self.key, self.cursor_row
        self.clear(columns=True)
        for heading, width, right in columns:
            self.add_column(Text(heading, justify="right" if right else "left"), width=width, key=heading)
        self.extend(columns, rows)
        if self.row_count:
            keys = [str(row.value) for row in self.rows]
            self.move_cursor(row=keys.index(held) if held in keys else min(place, self.row_count - 1))

    def extend(self, columns: Sequence[tuple[str, int, bool]], rows: Iterable[tuple[str, Sequence[str], str]]) -> None:
        """Put further rows under those there are."""
        for key, texts, style in rows:
            cells = [
                Text(
                    fit(text, width).strip() if right else fit(text, width),
                    style,
                    justify="right" if right else "left",
                )
                for text, (_, width, right) in zip(texts, columns, strict=True)
            ]
            self.add_row(*cells, key=key)

    def render_line(self, y: int) -> Strip:
        """A line, with a sign on the row in hand: a terminal may show no shade of grey."""
        strip = super().render_line(y)
        under = y - self.header_height + self.scroll_offset.y
        in_hand = bool(self.row_count) and y >= self.header_height and under == self.cursor_row
        return with_sign(strip, encoding_of(self.app)) if in_hand and not self.scroll_offset.x else strip

    @property
    def key(self) -> str | None:
        """The key of the row under the cursor."""
        if not self.is_valid_row_index(self.cursor_row):
            return None
        return self.coordinate_to_cell_key(self.cursor_coordinate).row_key.value
