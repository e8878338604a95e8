"""What is written on by hand: items to tick, ruled blanks, tables of blanks, signatures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tracker.reports.page import Tone
from tracker.reports.paper.letters import Letters, line_height
from tracker.reports.paper.model import Blank, Item, Signatures
from tracker.reports.paper.rows import SMALL, TONES, Row, Setting, box, height_of, kept, rule, text_rows

TICK, INDENT = 3.6, 5.6
BLANK_ROW = 7.5
BLANK_LINE = 20.0
"""mm of ruled line that a figure is written on at least."""
DAY_GAP = 5.0
QUARTERS, GAP = 4, 4.0


def item_rows(item: Item, setting: Setting) -> list[Row]:
    """A line of a checklist with its box, what is said of it, and its blanks."""
    letters, size = setting.letters, setting.size
    indent = INDENT
    rows = text_rows(letters, item.text, setting.width, size, bold=True, indent=indent, space=3.0)
    first = rows[0]

    def draw(pen: Letters, x: float, y: float) -> None:
        box(pen, x, y + (line_height(size) - TICK) / 2, TICK, TICK, edge=TONES[Tone.PLAIN], thick=0.3)
        first.draw(pen, x, y)

    rows[0] = replace(first, draw=draw)
    small = size * SMALL
    for text, tone in ((item.limit, Tone.PLAIN), (item.note, Tone.CARE), (item.source, Tone.QUIET)):
        if text:
            rows += text_rows(letters, text, setting.width, small, tone=tone, indent=indent)
    inner = setting.within(setting.width - indent)
    blanks = [_moved(row, indent) for row in (*blank_rows(item.blanks, inner), *_grid_rows(item, inner))]
    together = kept([*rows, *blanks])
    if height_of(together) <= setting.room / 2:
        return together
    return [*(replace(row, keep=True) for row in rows), *blanks]


def _grid_rows(item: Item, setting: Setting) -> list[Row]:
    """A table to fill in: a labelled row of empty cells for each of the item's rows, its header again on every page."""
    if not item.columns:
        return []
    letters, size = setting.letters, setting.size * SMALL
    names = [letters.shown(row) for row in item.rows]
    first = min(max((letters.width(name, size) for name in names), default=0.0) + 3.0, setting.width * 0.35)
    first = max(first, 16.0)
    cell = (setting.width - first) / len(item.columns)
    heads = [letters.wrap(column, cell - 1.6, size, True) for column in item.columns]
    tall = max(map(len, heads)) * line_height(size) + 1.0

    def header(pen: Letters, x: float, y: float) -> None:
        for number, lines in enumerate(heads):
            for at, line in enumerate(lines):
                pen.write(x + first + number * cell + 0.8, y + at * line_height(size), line, size, bold=True)
        rule(pen, x, y + tall, setting.width, TONES[Tone.PLAIN], 0.3)

    head = Row(tall, header, space=1.0, keep=True)
    out = [head]
    for name in names:
        lines = letters.wrap(name, first - 1.5, size)
        height = max(BLANK_ROW, len(lines) * line_height(size) + 1.4)

        def draw(pen: Letters, x: float, y: float, lines: list[str] = lines, height: float = height) -> None:
            top = y + (height - len(lines) * line_height(size)) / 2
            for at, line in enumerate(lines):
                pen.write(x, top + at * line_height(size), line, size)
            rule(pen, x, y + height, setting.width)
            for number in range(len(item.columns) + 1):
                box(pen, x + first + number * cell, y, 0.2, height, fill=TONES[Tone.QUIET])

        out.append(Row(height, draw, head=(head,), keep=len(out) == 1 < len(names)))
    return out


def _moved(row: Row, by: float) -> Row:
    moved = tuple(_moved(one, by) for one in row.head)
    return replace(row, draw=lambda pen, x, y: row.draw(pen, x + by, y), head=moved)


def blank_rows(blanks: Sequence[Blank], setting: Setting) -> list[Row]:
    """Ruled blanks on a grid of quarters of the width, each as many quarters wide as its words ask for."""
    letters, size = setting.letters, setting.size * SMALL
    quarter = (setting.width + GAP) / QUARTERS
    lines: list[list[tuple[int, int, Blank]]] = []
    used = QUARTERS
    for blank in blanks:
        words = letters.width(letters.shown(blank.label), size) + letters.width(letters.shown(blank.unit), size)
        needs = words + BLANK_LINE + 2.5 + GAP
        wide = next((span for span in (1, 2, QUARTERS) if needs <= span * quarter), QUARTERS)
        if used + wide > QUARTERS:
            lines.append([])
            used = 0
        lines[-1].append((used, wide, blank))
        used += wide
    return [_blank_line(line, quarter, size, letters) for line in lines]


def _blank_line(line: Sequence[tuple[int, int, Blank]], quarter: float, size: float, letters: Letters) -> Row:
    parts = []
    for first, wide, blank in line:
        cell = wide * quarter - GAP
        label = letters.wrap(blank.label, cell * 0.6, size)
        unit = letters.wrap(blank.unit, max(cell * 0.9 - BLANK_LINE / 2 - _widest(letters, label, size), 6.0), size)
        parts.append((first * quarter, cell, label, unit))
    deep = max(max(len(label), len(unit)) for _, _, label, unit in parts)
    height = max(BLANK_ROW, deep * line_height(size) + 1.5)

    def draw(pen: Letters, x: float, y: float) -> None:
        base = y + height - 0.8
        for first, cell, label, unit in parts:
            left, after = _widest(pen, label, size), _widest(pen, unit, size)
            start = left + 1.5 if left else 0.0
            _stacked(pen, label, x + first, base, size)
            _stacked(pen, unit, x + first + cell - after, base, size)
            rule(pen, x + first + start, base, cell - start - (after + 1.0 if after else 0.0), TONES[Tone.PLAIN])

    return Row(height, draw)


def _widest(letters: Letters, lines: Sequence[str], size: float) -> float:
    return max((letters.width(line, size) for line in lines), default=0.0)


def _stacked(pen: Letters, lines: Sequence[str], x: float, base: float, size: float) -> None:
    for number, line in enumerate(reversed(lines), start=1):
        pen.write(x, base - number * line_height(size) + size * 0.06, line, size)


def signature_rows(block: Signatures, setting: Setting) -> list[Row]:
    """Ruled lines to sign on, each with a place for the day."""
    letters, size = setting.letters, setting.size * SMALL
    day = setting.width * 0.24
    line = setting.width - day - DAY_GAP
    out: list[Row] = []
    for text in block.labels:

        def ruled(pen: Letters, x: float, y: float) -> None:
            rule(pen, x, y + 11.0, line, TONES[Tone.PLAIN])
            rule(pen, x + line + DAY_GAP, y + 11.0, day, TONES[Tone.PLAIN])

        labels = text_rows(letters, text, line, size, tone=Tone.QUIET)
        first = labels[0]

        def dated(pen: Letters, x: float, y: float, first: Row = first) -> None:
            first.draw(pen, x, y)
            pen.write(x + line + DAY_GAP, y, "day", size, colour=TONES[Tone.QUIET])

        out += kept([Row(11.4, ruled, space=1.0), replace(first, draw=dated), *labels[1:]])
    return out
