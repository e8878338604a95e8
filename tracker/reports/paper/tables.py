"""Tables as rows: columns shared out by what they hold, the header again on every page, a total set apart."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeAlias

from tracker.reports.page import Tone
from tracker.reports.paper.letters import Letters, line_height
from tracker.reports.paper.model import Table
from tracker.reports.paper.rows import BOLD_TONES, FAINT, TONES, Row, kept, rule, text_rows

PAD, ABOVE = 1.2, 0.5
SLACK = 0.01
"""mm more than a text measures, so that rounding never breaks one that just fits."""
HEADER = 0.84
"""Of the size of plain text."""
MOST_TOGETHER = 8
WIDEST_WORD = 0.42
"""The share of the width that a word may claim; a longer one is broken."""

Measured: TypeAlias = Callable[[str, bool, bool], tuple[float, float]]
"""How wide a text is, bold or not, as a heading or not: its longest line and its longest word."""


def table_rows(table: Table, letters: Letters, width: float, size: float) -> list[Row]:
    """The rows of a table that is ``width`` mm wide."""

    def measured(text: str, bold: bool, heading: bool) -> tuple[float, float]:
        return letters.widest(text, size * (HEADER if heading else 1.0), bold)

    widths = column_widths(table, measured, width)
    right = [column.right for column in table.columns]
    titles = [column.title for column in table.columns]
    head: list[Row] = []
    if any(titles):
        head = _row(titles, widths, right, letters, size * HEADER, tone=Tone.QUIET, bold=True, under=TONES[Tone.PLAIN])
        head = [replace(row, keep=True) for row in head]
    again = tuple(head)
    out = list(head)
    for number, row in enumerate(table.rows):
        tone = table.tones[number] if number < len(table.tones) else Tone.PLAIN
        lines = _row(row, widths, right, letters, size, tone=tone, under=FAINT)
        lines = kept(lines, whole=len(lines) <= MOST_TOGETHER)
        out += [replace(line, head=again) for line in lines]
    if table.total:
        if len(out) > len(head):
            out[-1] = replace(out[-1], keep=True)
        total = _row(table.total, widths, right, letters, size, bold=True, under=TONES[Tone.PLAIN], over=True)
        out += [replace(line, head=again) for line in kept(total)]
    if out:
        out[0] = replace(out[0], space=1.8)
    if table.caption:
        caption = text_rows(letters, table.caption, width, size, bold=True, space=2.4)
        out = [*(replace(row, keep=True) for row in caption), *out]
    return out


def column_widths(table: Table, measured: Measured, width: float) -> list[float]:
    """The columns' widths, padding included; together they take the whole width."""
    natural, least = [], []
    for number, column in enumerate(table.columns):
        wants = [measured(column.title, True, True)]
        wants += [
            measured(row[number], k < len(table.tones) and table.tones[k] in BOLD_TONES, False)
            for k, row in enumerate(table.rows)
        ]
        wants += [measured(table.total[number], True, False)] if table.total else []
        longest = max(line for line, _ in wants) + 2 * PAD + SLACK
        natural.append(max(longest, column.weight * width) if column.weight else longest)
        least.append(min(max(word for _, word in wants), width * WIDEST_WORD) + 2 * PAD + SLACK)
    if sum(least) >= width:
        return [one * width / sum(least) for one in least]
    widths = _shared(natural, least, width)
    spare = width - sum(widths)
    takes = [k for k, column in enumerate(table.columns) if column.weight] or [
        k for k, column in enumerate(table.columns) if not column.right
    ]
    takes = takes or list(range(len(widths)))
    whole = sum(widths[k] for k in takes)
    return [one + (spare * one / whole if k in takes else 0.0) for k, one in enumerate(widths)]


def _shared(natural: Sequence[float], least: Sequence[float], room: float) -> list[float]:
    """Every column its natural width where there is room, else the widest ones cut to one width that fits."""
    if sum(natural) <= room:
        return list(natural)
    low, high = 0.0, max(natural)
    for _ in range(40):
        cap = (low + high) / 2
        if sum(max(min(n, cap), k) for n, k in zip(natural, least, strict=True)) > room:
            high = cap
        else:
            low = cap
    return [max(min(n, low), k) for n, k in zip(natural, least, strict=True)]


def _row(
    texts: Sequence[str], widths: Sequence[float], right: Sequence[bool], letters: Letters, size: float, *,
    tone: Tone = Tone.PLAIN, bold: bool = False, under: tuple[int, int, int] = FAINT, over: bool = False,
) -> list[Row]:  # fmt: skip
    bold = bold or tone in BOLD_TONES
    cells = [letters.wrap(text, wide - 2 * PAD, size, bold) for text, wide in zip(texts, widths, strict=True)]
    depth = max(len(lines) for lines in cells)

    def line(at: int) -> Row:
        first, last = at == 0, at == depth - 1
        above = ABOVE if first else 0.0
        height = line_height(size) + above + (ABOVE if last else 0.0)

        def draw(pen: Letters, x: float, y: float) -> None:
            left = x
            for lines, wide, set_right in zip(cells, widths, right, strict=True):
                text = lines[at] if at < len(lines) else ""
                push = wide - 2 * PAD - pen.width(text, size, bold) if set_right else 0.0
                pen.write(left + PAD + push, y + above, text, size, bold=bold, colour=TONES[tone])
                left += wide
            if first and over:
                rule(pen, x, y, sum(widths), TONES[Tone.PLAIN], 0.3)
            if last:
                rule(pen, x, y + height, sum(widths), under)

        return Row(height, draw)

    return [line(at) for at in range(depth)]
