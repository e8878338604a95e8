"""A printed page: lines and grids laid out once by terminal cells, then given as plain text or with emphasis.

The same layout serves paper, a pipe and a terminal, so that they can never say different things. Every text
is made safe to show here, wide and combining characters are counted by the cells they take, and nothing is
clipped: what does not fit goes on to the next line.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, TypeAlias

from tracker.text import clean

if TYPE_CHECKING:
    from rich.console import Console, ConsoleOptions
    from rich.text import Text

WIDTH = 80
GAP = 2
STACKED = 4
"""Cells that further lines of a row hang, where its columns do not fit side by side."""


class Tone(StrEnum):
    """How a line is meant; the value is the emphasis a terminal gives it. The words always say it too."""

    PLAIN = ""
    TITLE = "bold"
    BAD = "bold red"
    GOOD = "green"
    CARE = "yellow"
    QUIET = "dim"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of text, ``indent`` cells in; further lines of it hang ``hang`` cells deeper."""

    text: str
    tone: Tone = Tone.PLAIN
    indent: int = 0
    hang: int = 2


@dataclass(frozen=True, slots=True)
class Grid:
    """A table without rules: a ``header`` (may be empty), rows of texts, the columns to set ``right``.

    ``tones`` gives a row its tone by its number.
    """

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: frozenset[int] = frozenset()
    indent: int = 0
    tones: tuple[Tone, ...] = ()


Page: TypeAlias = tuple[Line | Grid, ...]
BLANK = Line("")


def cells(text: str) -> int:
    """The number of terminal cells a text takes."""
    if text.isascii():
        return len(text)
    from rich.cells import cell_len

    return cell_len(text)


def wrap(text: str, width: int) -> list[str]:
    """Break a text at spaces into lines of at most ``width`` cells; a longer word is broken where it must."""
    width = max(width, 1)
    if cells(text) <= width:
        return [text]
    out: list[str] = []
    line = ""
    for word in re.findall(r" *[^ ]+", text):
        if cells(line + word) <= width:
            line += word
            continue
        if line.strip():
            out.append(line)
            word = word.lstrip()
        line = ""
        for piece in _pieces(word, width):
            if line:
                out.append(line)
            line = piece
    if line or not out:
        out.append(line)
    return out


def _pieces(word: str, width: int) -> Iterator[str]:
    piece, size = "", 0
    for char in word:
        step = cells(char)
        if piece and size + step > width:
            yield piece
            piece, size = "", 0
        piece, size = piece + char, size + step
    yield piece


def lay_out(page: Iterable[Line | Grid], width: int = WIDTH) -> list[tuple[str, Tone]]:
    """The page as finished lines of at most ``width`` cells, each with its tone."""
    out: list[tuple[str, Tone]] = []
    for part in page:
        out += _line(part, width) if isinstance(part, Line) else _grid(part, width)
    return out


def _line(line: Line, width: int) -> list[tuple[str, Tone]]:
    first, *rest = _hung(clean(line.text), width - line.indent, line.hang)
    lead = " " * line.indent
    return [((lead + first).rstrip(), line.tone)] + [
        ((lead + " " * line.hang + text).rstrip(), line.tone) for text in rest
    ]


def _hung(text: str, room: int, hang: int) -> list[str]:
    if cells(text) <= room:
        return [text]
    first = wrap(text, room)[0]
    rest = text[len(first) :].lstrip()
    return [first, *(wrap(rest, room - hang) if rest else [])]


def _grid(grid: Grid, width: int) -> list[tuple[str, Tone]]:
    rows = [tuple(clean(text) for text in row) for row in grid.rows]
    if not rows:
        return []
    header = tuple(clean(text) for text in grid.header)
    every = [header, *rows] if header else rows
    columns = len(rows[0])
    room = width - grid.indent - GAP * (columns - 1)
    least = _least(every, columns, width - grid.indent - STACKED)
    if sum(least) > room:
        return _stacked(every, grid, width)
    sizes = _share([max(cells(row[k]) for row in every) for k in range(columns)], room, least)
    out: list[tuple[str, Tone]] = []
    for number, row in enumerate(every, 0 if not header else -1):
        tone = _tone_of(grid, number)
        broken = [wrap(text, size) for text, size in zip(row, sizes, strict=True)]
        for depth in range(max(len(lines) for lines in broken)):
            texts = [
                _set(lines[depth] if depth < len(lines) else "", size, k in grid.right)
                for k, (lines, size) in enumerate(zip(broken, sizes, strict=True))
            ]
            out.append(((" " * grid.indent + (" " * GAP).join(texts)).rstrip(), tone))
    return out


def _tone_of(grid: Grid, number: int) -> Tone:
    """The tone of a row by its number; the header's is -1."""
    if number < 0:
        return Tone.QUIET
    return grid.tones[number] if number < len(grid.tones) else Tone.PLAIN


def _stacked(rows: Sequence[tuple[str, ...]], grid: Grid, width: int) -> list[tuple[str, Tone]]:
    """Rows whose columns do not fit side by side: each one text after the other, further lines hung below the first."""
    out: list[tuple[str, Tone]] = []
    for number, row in enumerate(rows, -1 if grid.header else 0):
        text = (" " * GAP).join(text for text in row if text)
        lead = STACKED if not row[0] and number >= 0 else 0
        out += _line(Line(text, _tone_of(grid, number), grid.indent + lead, STACKED - lead), width)
    return out


def _least(rows: Sequence[tuple[str, ...]], columns: int, most: int) -> list[int]:
    """The narrowest a column can be without breaking a word; words over ``most`` cells are broken in any case."""
    sizes = [[cells(word) for row in rows for word in row[k].split(" ")] for k in range(columns)]
    return [max((size for size in found if size <= most), default=1) for found in sizes]


def _share(wanted: list[int], room: int, least: list[int]) -> list[int]:
    """Take cells from the widest column, one at a time, until the row fits; none goes below its least."""
    sizes = list(wanted)
    while sum(sizes) > room:
        spare = [k for k in range(len(sizes)) if sizes[k] > least[k]]
        sizes[max(spare, key=lambda k: sizes[k])] -= 1
    return sizes


def _set(text: str, size: int, right: bool) -> str:
    pad = " " * (size - cells(text))
    return pad + text if right else text + pad


def plain(page: Iterable[Line | Grid], width: int = WIDTH) -> str:
    """The page as plain text of at most ``width`` cells a line."""
    return "".join(f"{text}\n" for text, _ in lay_out(page, width))


@dataclass(frozen=True, slots=True)
class Printed:
    """A page that rich prints, at whatever width it is given."""

    page: Page

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> Iterator[Text]:
        from rich.text import Text

        for text, tone in lay_out(self.page, max(options.max_width, 20)):
            yield Text(text, style=tone.value, no_wrap=True, overflow="ignore")
