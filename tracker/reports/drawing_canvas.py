"""A grid of terminal cells to draw on: box-drawing lines that join, braille dots for slopes, glyphs and texts on top.

Everything outside the grid is cut off. In plain ASCII the same calls draw with ``-|+`` and punctuation.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from tracker.reports.page import cells

if TYPE_CHECKING:
    from rich.text import Text

LEFT, RIGHT, UP, DOWN = 1, 2, 4, 8
_SINGLE = " ╴╶─╵┘└┴╷┐┌┬│┤├┼"
_DOUBLE = " ═══║╝╚╩║╗╔╦║╣╠╬"
_ACROSS_DOUBLE = " ═══│╛╘╧│╕╒╤│╡╞╪"
_DOWN_DOUBLE = " ╴╶─║╜╙╨║╖╓╥║╢╟╫"
"""Box-drawing by LEFT + RIGHT + UP + DOWN; where no half-line exists the whole line stands for it."""
_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
_BRAILLE = 0x2800
BLANK = " "
DASH = 6
"""Dots from one dash of a dashed line to the next."""


@dataclass(slots=True)
class Cell:
    """One cell: lines that leave it by side, whether each direction is doubled, dots, and a glyph over all."""

    sides: int = 0
    across_double: bool = False
    down_double: bool = False
    dots: int = 0
    slope: str = ""
    glyph: str = ""
    style: str = ""
    dot_style: str = ""

    def text(self, ascii_only: bool) -> str:
        """What the cell shows: the glyph, else the lines, else the dots."""
        if self.glyph:
            return self.glyph
        if self.sides:
            return self._ascii_line() if ascii_only else self._line()
        if ascii_only:
            return self.slope or BLANK
        return chr(_BRAILLE + self.dots) if self.dots else BLANK

    def _line(self) -> str:
        if self.across_double and self.down_double:
            return _DOUBLE[self.sides]
        if self.across_double:
            return _ACROSS_DOUBLE[self.sides]
        return _DOWN_DOUBLE[self.sides] if self.down_double else _SINGLE[self.sides]

    def _ascii_line(self) -> str:
        across, down = self.sides & (LEFT | RIGHT), self.sides & (UP | DOWN)
        if across and down:
            return "+"
        if down:
            return "H" if self.down_double else "|"
        return "=" if self.across_double else "-"


@dataclass(slots=True)
class Canvas:
    """``width`` by ``height`` cells, the origin at the top left."""

    width: int
    height: int
    ascii_only: bool = False
    window: tuple[int, int, int, int] | None = None
    """First column and row, last column and row that may be drawn on; all of it when None."""
    _cells: dict[tuple[int, int], Cell] = field(default_factory=dict)

    def holds(self, column: int, row: int) -> bool:
        """Whether a cell lies on the canvas."""
        left, top, right, bottom = self.bounds
        return left <= column <= right and top <= row <= bottom

    @property
    def bounds(self) -> tuple[int, int, int, int]:
        """First column and row, last column and row that may be drawn on."""
        return self.window or (0, 0, self.width - 1, self.height - 1)

    def _cell(self, column: int, row: int) -> Cell | None:
        if not self.holds(column, row):
            return None
        return self._cells.setdefault((column, row), Cell())

    def free(self, column: int, row: int) -> bool:
        """Whether a cell is on the canvas and holds no line and no glyph."""
        cell = self._cells.get((column, row))
        return self.holds(column, row) and (cell is None or not (cell.sides or cell.glyph))

    def across(self, row: int, start: int, end: int, *, double: bool = False, style: str = "") -> None:
        """A line from column ``start`` to ``end``, joined to what it meets."""
        left, _, right, _ = self.bounds
        for column in range(max(start, left), min(end, right) + 1):
            cell = self._cell(column, row)
            if cell is not None:
                cell.sides |= (LEFT if column > start else 0) | (RIGHT if column < end else 0)
                cell.across_double |= double
                cell.style = style or cell.style

    def down(self, column: int, start: int, end: int, *, double: bool = False, style: str = "") -> None:
        """A line from row ``start`` to ``end``, joined to what it meets; a line of one cell is a whole stroke."""
        _, top, _, bottom = self.bounds
        for row in range(max(start, top), min(end, bottom) + 1):
            cell = self._cell(column, row)
            if cell is not None:
                up, below = row > start or start == end, row < end or start == end
                cell.sides |= (UP if up else 0) | (DOWN if below else 0)
                cell.down_double |= double
                cell.style = style or cell.style

    def slope(self, x: float, y: float, x2: float, y2: float, style: str = "", *, dashed: bool = False) -> None:
        """A line in dots between two places in cells; places count from the middle of the first cell."""
        left, top, right, bottom = self.bounds
        inside = _clip((x, y, x2, y2), (left - 0.5, top - 0.5, right + 0.5, bottom + 0.5))
        if inside is None:
            return
        x, y, x2, y2 = inside
        steps = max(round(max(abs(x2 - x) * 2, abs(y2 - y) * 4)), 1)
        for step in range(steps + 1):
            if dashed and step % DASH >= DASH // 2:
                continue
            px, py = x + (x2 - x) * step / steps + 0.5, y + (y2 - y) * step / steps + 0.5
            column, row = int(px // 1), int(py // 1)
            cell = self._cell(column, row)
            if cell is not None:
                part = py - row
                cell.dots |= _DOTS[min(int(part * 4), 3)][min(int((px - column) * 2), 1)]
                cell.slope = _ascii_slope(x2 - x, y2 - y, part)
                cell.dot_style = style

    def put(self, column: int, row: int, glyph: str, style: str = "") -> None:
        """One character over whatever is there."""
        cell = self._cell(column, row)
        if cell is not None:
            cell.glyph, cell.style = glyph, style or cell.style

    def write(self, column: int, row: int, text: str, style: str = "") -> bool:
        """A text of narrow characters if all of it fits on the canvas; returns whether it did."""
        if text and not (self.holds(column, row) and self.holds(column + len(text) - 1, row)):
            return False
        for place, char in enumerate(text):
            self.put(column + place, row, char, style)
        return True

    def lines(self) -> list[list[tuple[str, str]]]:
        """Each row as runs of (text, style), without trailing blanks."""
        return [self._row(row) for row in range(self.height)]

    def _row(self, row: int) -> list[tuple[str, str]]:
        runs: list[tuple[str, str]] = []
        for column in range(self.width):
            cell = self._cells.get((column, row))
            char = cell.text(self.ascii_only) if cell else BLANK
            style = (
                "" if cell is None or char == BLANK else (cell.style if cell.glyph or cell.sides else cell.dot_style)
            )
            if runs and runs[-1][1] == style:
                runs[-1] = (runs[-1][0] + char, style)
            else:
                runs.append((char, style))
        while runs and not runs[-1][0].rstrip(BLANK):
            runs.pop()
        return [*runs[:-1], (runs[-1][0].rstrip(BLANK), runs[-1][1])] if runs else runs


def _ascii_slope(across: float, along: float, part: float) -> str:
    """A character for a stretch of a sloping line that passes a cell at the share ``part`` of its height."""
    if abs(along) > abs(across):
        return "|"
    if abs(along) * 6 > abs(across):
        return "'" if part < 1 / 3 else ("." if part > 2 / 3 else ("/" if across * along < 0 else "\\"))
    return "'" if part < 1 / 3 else ("." if part > 2 / 3 else "-")


Box = tuple[float, float, float, float]


def _clip(line: Box, box: Box) -> Box | None:
    """The part of a line inside a box, None when there is none (Liang and Barsky's way)."""
    x, y, x2, y2 = line
    low, high = 0.0, 1.0
    for step, room in ((x - x2, x - box[0]), (x2 - x, box[2] - x), (y - y2, y - box[1]), (y2 - y, box[3] - y)):
        if step == 0:
            if room < 0:
                return None
            continue
        at = room / step
        if step < 0:
            low = max(low, at)
        else:
            high = min(high, at)
    if low > high:
        return None
    return (x + (x2 - x) * low, y + (y2 - y) * low, x + (x2 - x) * high, y + (y2 - y) * high)


def runs_width(runs: list[tuple[str, str]]) -> int:
    """The cells a row of runs takes."""
    return sum(cells(text) for text, _ in runs)


def to_text(rows: list[list[tuple[str, str]]]) -> Text:
    """Rows of runs as one rich Text that never wraps; brackets in it are only text."""
    from rich.text import Text

    out = Text(no_wrap=True, overflow="ignore", end="")
    for number, runs in enumerate(rows):
        if number:
            out.append("\n")
        for text, style in runs:
            out.append(text, style or None)
    return out
