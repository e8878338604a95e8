"""What every picture of a reading is made of: words that wrap, a drawing that fits beside or above them, scales that
are said, and plain ASCII where nothing else can be shown.

A picture is rows of (text, style) runs, as a platform's drawing is: words stand beside every mark, so that it can be
read line by line and without colour.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import TypeAlias

from tracker.book.views import Tried
from tracker.reports.drawing_canvas import BLANK, runs_width
from tracker.reports.drawing_legend import Row
from tracker.reports.drawing_text import side_by_side
from tracker.reports.page import cells, wrap
from tracker.text import clean, count
from tracker.trade.answer import Plain
from tracker.trade.lengths import INCH, Unit, format_small

BAD, CARE, GOOD, STRONG, QUIET = "bold red", "yellow", "green", "bold", "dim"
FAULT = "!"
"""Marks a part that is wrong; the words name it too."""

Word: TypeAlias = tuple[str, str]
"""A sentence and its style."""
Draw: TypeAlias = Callable[[int, int], Sequence[Row]]
"""Draws in at most so many columns and rows."""

LEAST_COLUMNS, LEAST_ROWS = 24, 4
"""Under this nothing is drawn: the words take all the room."""
_BESIDE_WIDTH = 56
_WORDS_WIDTH = 26
_STOP = 8
_LOW, _WIDE = 16, 72
"""Fewer rows than this are low, this many columns wide: a tall drawing stands beside its words."""
_NICE_MOST = 10_000
_ASCII = str.maketrans(
    {
        "●": "#", "○": "o", "▲": "^", "▼": "v", "◆": "*", "■": "#", "←": "<", "→": ">", "↑": "^", "↓": "v", "×": "x",
        "·": ".", "…": ".", "░": ".", "▒": "#", "═": "=", "─": "-", "│": "|", "┊": ":", "◉": "0", "–": "-", "╌": "-",
        "▬": "=", "┬": "+", "²": "2", "—": "-",
    }
)  # fmt: skip


def fit(rows: Iterable[Sequence[Word]], width: int, height: int, *, ascii_only: bool = False) -> tuple[Row, ...]:
    """Rows cut to ``width`` cells and ``height`` lines; the last line counts those that had no room."""
    width, height = max(width, 0), max(height, 0)
    out = [_cut(row, width, ascii_only) for row in rows]
    if len(out) > height:
        left = len(out) - height + 1
        more = _cut([(f"and {count(left, 'more line')}", QUIET)], width, ascii_only)
        out = [*out[: height - 1], more] if height else []
    return tuple(out)


def _cut(row: Sequence[Word], width: int, ascii_only: bool) -> Row:
    out: Row = []
    room = width
    for text, style in row:
        shown = clean(text)
        if ascii_only:
            shown = shown.translate(_ASCII).encode("ascii", "replace").decode("ascii")
        while shown and cells(shown) > room:
            shown = shown[:room] if len(shown) > room else shown[:-1]
        if shown:
            out.append((shown, style))
            room -= cells(shown)
        if room <= 0:
            break
    return out


def told(words: Iterable[Word], width: int) -> list[Row]:
    """Sentences wrapped at ``width`` cells, further lines two cells in."""
    out: list[Row] = []
    for text, style in words:
        first, *rest = wrap(clean(text), max(width, 1)) if width < 8 else _hung(clean(text), width)
        out.append([(first, style)])
        out += [[(line, style)] for line in rest]
    return out


def _hung(text: str, width: int) -> list[str]:
    first, *rest = wrap(text, width)
    return [first, *(f"  {line}" for line in wrap(" ".join(line.strip() for line in rest), width - 2) if line)]


def compose(
    draw: Draw,
    words: Sequence[Word],
    width: int,
    height: int,
    *,
    ascii_only: bool = False,
    rows: int = LEAST_ROWS,
    columns: int = LEAST_COLUMNS,
    most: int = 99,
    beside: bool = True,
    tall: bool = False,
) -> tuple[Row, ...]:
    """The drawing with its words: above them, or beside them where the room is low and wide, or the words alone.

    The drawing wants ``rows`` lines and ``columns`` cells at the least and takes ``most`` lines at the most; without
    ``beside`` it always has the whole width, and a ``tall`` one has the whole height of a low and wide room.
    """
    below = told(words, width)
    if width < columns or height < rows + 1:
        return fit(below, width, height, ascii_only=ascii_only)
    low = len(below) + rows > height and width >= max(_BESIDE_WIDTH, columns + _WORDS_WIDTH)
    if beside and (low or (tall and height < _LOW and width >= _WIDE)):
        left = max(width - max(width * 2 // 5, _WORDS_WIDTH) - 2, columns)
        drawn = fit(draw(left, min(height, most)), left, height)
        # The words keep their column while a drawing grows or shrinks by a few cells.
        across = max((runs_width(row) for row in drawn), default=0)
        at = min(-(-across // _STOP) * _STOP, left)
        right = fit(told(words, width - at - 2), width - at - 2, height)
        return fit(
            side_by_side(drawn, [[(BLANK * (at - across), ""), *row] for row in right]),
            width,
            height,
            ascii_only=ascii_only,
        )
    tallest = min(max(rows, height - len(below), height // 2), most, height - 1)
    drawn = fit(draw(width, tallest), width, tallest)
    return fit([*drawn, *below], width, height, ascii_only=ascii_only)


def nice(most: float) -> int:
    """The largest of 1, 2, 5, 10, 20, 50 ... that is no more than ``most``; at least 1."""
    if not most > 1:
        return 1
    most = min(most, _NICE_MOST)
    power: int = 10 ** int(math.log10(most))
    return max(step * power for step in (1, 2, 5) if step * power <= most)


def in_columns(items: Sequence[Row], width: int) -> list[Row]:
    """Short rows set side by side in even columns, read line by line; never more than fit the width."""
    size = max((runs_width(item) for item in items), default=0) + 2
    across = max((width + 2) // size, 1) if size > 2 else 1
    out: list[Row] = []
    for start in range(0, len(items), across):
        row: Row = []
        for item in items[start : start + across]:
            if row:
                row.append((BLANK * (size * (-(-runs_width(row) // size)) - runs_width(row)), ""))
            row += item
        out.append(row)
    return out


def narrow(text: str, most: int = 12) -> str:
    """A label for a drawing: every character one cell wide, at most so many."""
    return "".join(char if cells(char) == 1 else "?" for char in clean(text))[:most]


def short(nm: float, unit: Unit, denominator: int = 16) -> str:
    """A length without its unit, for a label in a drawing."""
    return format_small(nm, unit, denominator).removesuffix(" in").removesuffix(" mm")


def whole(value: object) -> int | None:
    """A whole value of a reading; None for anything else."""
    return value if isinstance(value, int) and not isinstance(value, bool) else None


def figure_nm(tried: Tried, key: str) -> float | None:
    """A figure of the verdict given in inches, in nm; None where it has none."""
    return nm_of(tried.answer.answer.get(key)) if tried.answer else None


def nm_of(value: Plain) -> float | None:
    """A number of inches from a verdict, in nm."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        return None
    return value * INCH


def figures(tried: Tried, key: str) -> dict[str, Plain]:
    """A table of the verdict by name; empty where it has none."""
    found = tried.answer.answer.get(key) if tried.answer else None
    return found if isinstance(found, dict) else {}


def figures_nm(tried: Tried, key: str) -> dict[str, float]:
    """A table of the verdict's lengths by name, given in inches, in nm; those without a length left out."""
    return {name: nm for name, inch in figures(tried, key).items() if (nm := nm_of(inch)) is not None}


def names(tried: Tried, key: str) -> tuple[str, ...]:
    """A list of names of the verdict."""
    found = tried.answer.answer.get(key) if tried.answer else None
    return tuple(str(name) for name in found) if isinstance(found, list) else ()


def text_of(tried: Tried, key: str) -> str:
    """A text of the verdict."""
    found = tried.answer.answer.get(key) if tried.answer else None
    return found if isinstance(found, str) else ""


def place(nm: float, per_column: float, most: int) -> int:
    """The column of a length from 0 to ``most``, whatever was read."""
    return min(max(round(nm / per_column), 0), most)
