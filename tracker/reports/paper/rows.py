"""Rows of a page under way: what is set, how high it is, and how rows flow over pages."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from tracker.reports.page import Tone
from tracker.reports.paper.letters import BLACK, Colour, Letters, line_height

Draw: TypeAlias = Callable[[Letters, float, float], None]
"""Draws with the upper left corner at x, y, in mm."""

RULE: Colour = (150, 155, 162)
FAINT: Colour = (214, 217, 221)
TONES: dict[Tone, Colour] = {
    Tone.PLAIN: BLACK,
    Tone.TITLE: BLACK,
    Tone.BAD: (164, 0, 30),
    Tone.GOOD: (30, 98, 48),
    Tone.CARE: (122, 76, 0),
    Tone.QUIET: (88, 94, 102),
}
BOLD_TONES = frozenset({Tone.TITLE, Tone.BAD})


@dataclass(frozen=True, slots=True)
class Row:
    """A part of a page that is never parted.

    ``space`` is above it, except at the head of a page; ``keep`` holds it to the next row; ``head`` is set again above
    it where it begins a page; ``fresh`` begins a page.
    """

    height: float
    draw: Draw
    space: float = 0.0
    keep: bool = False
    head: tuple[Row, ...] = ()
    fresh: bool = False


BODY = 9.5
"""Points of plain text at scale 1."""
TITLE, PART, SMALL, TINY = 2.0, 1.32, 0.86, 0.76
"""Other sizes for that of plain text."""
MOST_TOGETHER = 8
"""Lines of one text that are never parted; a longer one may go on over the page."""


@dataclass(frozen=True, slots=True)
class Setting:
    """How blocks are set: in which lettering, at which scale, on pages of which room (mm)."""

    letters: Letters
    width: float
    room: float
    scale: float = 1.0

    @property
    def size(self) -> float:
        """Points of plain text."""
        return BODY * self.scale

    def within(self, width: float) -> Setting:
        """The same in another width."""
        return replace(self, width=width)


Placed: TypeAlias = tuple[float, Row]
"""A row with its distance from the upper edge of the page's room."""


def height_of(rows: Sequence[Row]) -> float:
    """The height of rows set one below the other, without the space above the first."""
    return sum(row.height + (row.space if number else 0.0) for number, row in enumerate(rows))


def kept(rows: Iterable[Row], *, whole: bool = True) -> list[Row]:
    """The rows held together; when not ``whole`` only the first two and the last two."""
    out = list(rows)
    last = len(out) - 1
    return [
        replace(row, keep=True) if number < last and (whole or number == 0 or number == last - 1) else row
        for number, row in enumerate(out)
    ]


def flow(rows: Iterable[Row], room: float) -> list[list[Placed]]:
    """The rows on pages of that room; what is held together goes over to the next page together where one page holds it."""
    pages: list[list[Placed]] = [[]]
    y = 0.0

    def turn(first: Row) -> None:
        nonlocal y
        if pages[-1]:
            pages.append([])
        y = 0.0
        for row in first.head:
            pages[-1].append((y, row))
            y += row.height

    for group in _groups(rows):
        first = group[0]
        tall = height_of(group)
        above = first.space if pages[-1] else 0.0
        if first.fresh or (y + above + tall > room and tall + height_of(first.head) <= room):
            turn(first)
        for row in group:
            above = row.space if pages[-1] else 0.0
            if y + above + row.height > room and pages[-1]:
                turn(row)
                above = 0.0
            pages[-1].append((y + above, row))
            y += above + row.height
    return pages


def _groups(rows: Iterable[Row]) -> Iterator[list[Row]]:
    group: list[Row] = []
    for row in rows:
        group.append(row)
        if not row.keep:
            yield group
            group = []
    if group:
        yield group


def text_rows(
    letters: Letters, text: str, width: float, size: float, *, tone: Tone = Tone.PLAIN, bold: bool = False,
    indent: float = 0.0, space: float = 0.0,
) -> list[Row]:  # fmt: skip
    """A text as rows, one a line."""
    bold = bold or tone in BOLD_TONES
    colour = TONES[tone]

    def row(line: str) -> Row:
        def draw(pen: Letters, x: float, y: float) -> None:
            pen.write(x + indent, y, line, size, bold=bold, colour=colour)

        return Row(line_height(size), draw)

    rows = [row(line) for line in letters.wrap(text, width - indent, size, bold)]
    return [replace(rows[0], space=space), *rows[1:]]


def rule(pen: Letters, x: float, y: float, width: float, colour: Colour = RULE, thick: float = 0.2) -> None:
    """A level line."""
    pen.pdf.set_draw_color(*colour)
    pen.pdf.set_line_width(thick)
    pen.pdf.line(x, y, x + width, y)


def box(
    pen: Letters, x: float, y: float, width: float, height: float, *, fill: Colour | None = None,
    edge: Colour | None = None, thick: float = 0.25,
) -> None:  # fmt: skip
    """A rectangle, filled, edged or both."""
    if width <= 0 or height <= 0 or (fill is None and edge is None):
        return
    if fill is not None:
        pen.pdf.set_fill_color(*fill)
    if edge is not None:
        pen.pdf.set_draw_color(*edge)
        pen.pdf.set_line_width(thick)
    pen.pdf.rect(x, y, width, height, style="DF" if fill and edge else "F" if fill else "D")
