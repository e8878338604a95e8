"""Blocks set as rows of a width: headings, texts, lists, tables, and what is written in by hand."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from tracker.reports.page import Tone
from tracker.reports.paper.byhand import blank_rows, item_rows, signature_rows
from tracker.reports.paper.letters import Letters, line_height
from tracker.reports.paper.marks import BAR_HEIGHT, INKS, fill_part, step_mark
from tracker.reports.paper.model import (
    Bar,
    Beside,
    Blanks,
    Block,
    Bullets,
    Caution,
    Checklist,
    Figure,
    Heading,
    Ink,
    KeepTogether,
    KeyValues,
    OnePage,
    PageBreak,
    Paragraph,
    Signatures,
    Step,
    Strip,
    Table,
)
from tracker.reports.paper.rows import (
    MOST_TOGETHER,
    PART,
    SMALL,
    TINY,
    TITLE,
    TONES,
    Row,
    Setting,
    box,
    height_of,
    kept,
    rule,
    text_rows,
)
from tracker.reports.paper.tables import table_rows
from tracker.reports.paper.vector import draw_vector, read_svg

GUTTER = 5.0
STEP_LEAST = 19.5
"""mm a step of a strip takes at least."""
CAUTION_TINT = (253, 245, 226)


def title_rows(setting: Setting, title: str, subtitle: str) -> list[Row]:
    """The head of a document with a rule below it."""
    letters, size = setting.letters, setting.size
    rows = text_rows(letters, title, setting.width, size * TITLE, bold=True)
    if subtitle:
        rows += text_rows(letters, subtitle, setting.width, size * 1.1, tone=Tone.QUIET, space=0.6)

    def draw(pen: Letters, x: float, y: float) -> None:
        rule(pen, x, y + 1.2, setting.width, TONES[Tone.PLAIN], 0.5)

    return kept([*rows, Row(2.4, draw)])


def set_blocks(blocks: Iterable[Block], setting: Setting) -> list[Row]:
    """The rows of blocks one below the other."""
    rows: list[Row] = []
    fresh = False
    for block in blocks:
        if isinstance(block, PageBreak):
            fresh = True
            continue
        found = set_block(block, setting)
        if found and fresh:
            found[0] = replace(found[0], fresh=True)
            fresh = False
        rows += found
    return rows


def set_block(block: Block, setting: Setting) -> list[Row]:
    """The rows of one block."""
    match block:
        case Heading():
            return _heading(block, setting)
        case Paragraph():
            rows = text_rows(setting.letters, block.text, setting.width, setting.size, tone=block.tone, space=1.6)
            return kept(rows, whole=False)
        case Bullets():
            return _bullets(block.items, block.tones, setting)
        case Table():
            return table_rows(block, setting.letters, setting.width, setting.size)
        case KeyValues():
            return _key_values(block, setting)
        case Checklist():
            return [row for item in block.items for row in item_rows(item, setting)]
        case Figure():
            return _figure(block, setting)
        case Strip():
            return _strip(block.steps, setting)
        case Bar():
            return _bar(block, setting)
        case Caution():
            return _caution(block, setting)
        case Signatures():
            return signature_rows(block, setting)
        case Blanks():
            return blank_rows(block.blanks, setting)
        case KeepTogether():
            return kept(set_blocks(block.blocks, setting))
        case Beside():
            return _beside(block, setting)
        case PageBreak() | OnePage():
            raise TypeError(f"{type(block).__name__} stands only on its own in a document")


def _heading(block: Heading, setting: Setting) -> list[Row]:
    letters, part = setting.letters, block.level <= 2
    size = setting.size * (PART if part else 1.08)
    aside = letters.shown(block.beside)
    aside_size = setting.size
    wide = letters.width(aside, aside_size, True)
    apart = wide > setting.width * 0.45
    room = setting.width - (wide + GUTTER if aside and not apart else 0.0)
    rows = text_rows(letters, block.text, room, size, bold=True, space=4.6 if part else 3.2)
    first, outline = rows[0], letters.shown(block.text)

    def draw(pen: Letters, x: float, y: float) -> None:
        pen.pdf.set_xy(x, y)
        pen.pdf.start_section(outline or "-", 0 if part else 1, strict=False)
        first.draw(pen, x, y)
        if aside and not apart:
            drop = line_height(size) - line_height(aside_size)
            pen.write(x + setting.width - wide, y + drop * 0.7, aside, aside_size, bold=True)

    rows[0] = replace(first, draw=draw)
    if aside and apart:
        rows += text_rows(letters, block.beside, setting.width, aside_size, bold=True)
    if part:
        rows.append(Row(1.2, lambda pen, x, y: rule(pen, x, y + 0.6, setting.width)))
    return [replace(row, keep=True) for row in rows]


def _bullets(items: Sequence[str], tones: Sequence[Tone], setting: Setting) -> list[Row]:
    out: list[Row] = []
    indent = setting.size * 0.42
    for number, item in enumerate(items):
        tone = tones[number] if number < len(tones) else Tone.PLAIN
        rows = text_rows(
            setting.letters, item, setting.width, setting.size, tone=tone, indent=indent, space=0.7 if number else 1.4
        )
        first = rows[0]

        def draw(pen: Letters, x: float, y: float, first: Row = first) -> None:
            pen.write(x, y, "•", setting.size)
            first.draw(pen, x, y)

        rows[0] = replace(first, draw=draw)
        out += kept(rows, whole=len(rows) <= MOST_TOGETHER)
    return out


def _key_values(block: KeyValues, setting: Setting) -> list[Row]:
    letters, size = setting.letters, setting.size
    widest = max((letters.widest(word, size * SMALL, True)[0] for word, _ in block.rows), default=0.0)
    told = max((letters.widest(text, size, True)[0] for _, text in block.rows), default=0.0)
    column = min(widest + 3.0, max(setting.width * 0.28, setting.width - told))
    drop = (line_height(size) - line_height(size * SMALL)) * 0.75
    out: list[Row] = []
    for number, (word, text) in enumerate(block.rows):
        tone = block.tones[number] if number < len(block.tones) else Tone.PLAIN
        rows = text_rows(letters, text, setting.width, size, tone=tone, indent=column)
        words = letters.wrap(word, column - 1.5, size * SMALL, True) if word else []
        rows += [Row(line_height(size), lambda pen, x, y: None)] * (len(words) - len(rows))
        lines = [*words, *[""] * (len(rows) - len(words))]

        def worded(row: Row, line: str) -> Row:
            def draw(pen: Letters, x: float, y: float) -> None:
                pen.write(x, y + drop, line, size * SMALL, bold=True, colour=TONES[Tone.QUIET])
                row.draw(pen, x, y)

            return replace(row, draw=draw) if line else row

        rows = [worded(row, line) for row, line in zip(rows, lines, strict=True)]
        rows[0] = replace(rows[0], space=1.1 if word or not number else 0.3)
        out += kept(rows, whole=len(rows) <= MOST_TOGETHER)
    return out


def _figure(block: Figure, setting: Setting) -> list[Row]:
    vector = read_svg(block.svg)
    small = setting.size * SMALL
    caption = (
        text_rows(setting.letters, block.caption, setting.width, small, tone=Tone.QUIET, space=0.8)
        if block.caption
        else []
    )
    most = setting.room - height_of(caption) - 2.0
    tall = min(block.height_mm * setting.scale, most) if block.height_mm else most
    width, height = vector.size_in(setting.width, tall)

    def draw(pen: Letters, x: float, y: float) -> None:
        draw_vector(pen, vector, x + (setting.width - width) / 2, y, width, block.alt)

    return kept([Row(height, draw, space=1.8), *caption])


def _strip(steps: Sequence[Step], setting: Setting) -> list[Row]:
    most = max(int(setting.width / STEP_LEAST), 1)
    lines = -(-len(steps) // most) or 1
    across = -(-len(steps) // lines) or 1
    out = []
    for at in range(0, len(steps), across):
        out.append(_strip_row(steps[at : at + across], setting, setting.width / across))
    return kept(out)


def _strip_row(steps: Sequence[Step], setting: Setting, cell: float) -> Row:
    letters, size = setting.letters, setting.size * TINY
    gap, high = 0.8, 4.2
    titles = [letters.wrap(step.title, cell - gap - 0.4, size) for step in steps]
    words = [letters.wrap(step.word, cell - gap - 0.4, size, True) for step in steps]
    lines = max(len(title) + len(word) for title, word in zip(titles, words, strict=True))

    def draw(pen: Letters, x: float, y: float) -> None:
        for number, step in enumerate(steps):
            left = x + number * cell
            step_mark(pen, left, y, cell - gap, high, step.ink)
            top = y + high + 0.5
            tone = Tone.QUIET if step.ink is Ink.NONE else Tone.PLAIN
            for line in titles[number]:
                pen.write(left, top, line, size, colour=TONES[tone])
                top += line_height(size)
            for line in words[number]:
                pen.write(left, top, line, size, bold=True, colour=TONES[tone])
                top += line_height(size)

    return Row(high + 0.5 + lines * line_height(size), draw, space=2.0)


def _bar(block: Bar, setting: Setting) -> list[Row]:
    letters, size = setting.letters, setting.size * SMALL
    rows = text_rows(letters, block.text, setting.width, setting.size, space=2.0)
    total = sum(max(share.amount, 0) for share in block.shares)

    def draw(pen: Letters, x: float, y: float) -> None:
        left = x
        for share in block.shares:
            wide = setting.width * max(share.amount, 0) / total if total else 0.0
            fill_part(pen, left, y + 0.6, wide, BAR_HEIGHT, share.ink)
            left += wide
        box(pen, x, y + 0.6, setting.width, BAR_HEIGHT, edge=TONES[Tone.PLAIN], thick=0.2)

    rows.append(Row(BAR_HEIGHT + 1.4, draw))
    key = 2.6
    cell = setting.width / max(len(block.shares), 1)
    texts = [letters.wrap(share.label, cell - key - 2.5, size) for share in block.shares]

    def label(pen: Letters, x: float, y: float) -> None:
        for number, (share, lines) in enumerate(zip(block.shares, texts, strict=True)):
            left = x + number * cell
            fill_part(pen, left, y + (line_height(size) - key) / 2, key, key, share.ink)
            box(pen, left, y + (line_height(size) - key) / 2, key, key, edge=TONES[Tone.PLAIN], thick=0.15)
            for at, line in enumerate(lines):
                pen.write(left + key + 1.2, y + at * line_height(size), line, size)

    rows.append(Row(max((len(lines) for lines in texts), default=0) * line_height(size), label))
    return kept(rows)


def _caution(block: Caution, setting: Setting) -> list[Row]:
    inset, pad = 4.0, 1.2
    inner = setting.within(setting.width - inset - 2.0)
    title = f"CAUTION  {block.title}" if block.title else "CAUTION"
    rows = text_rows(setting.letters, title, inner.width, setting.size, tone=Tone.CARE, bold=True)
    rows += _bullets(block.texts, (), inner)
    framed = []
    for number, row in enumerate(rows):
        above = pad if number == 0 else row.space
        below = pad if number == len(rows) - 1 else 0.0
        tall = row.height + above + below

        def draw(pen: Letters, x: float, y: float, row: Row = row, above: float = above, tall: float = tall) -> None:
            box(pen, x, y, setting.width, tall + 0.05, fill=CAUTION_TINT)
            box(pen, x, y, 1.2, tall + 0.05, fill=INKS[Ink.NOW])
            row.draw(pen, x + inset, y + above)

        framed.append(replace(row, height=tall, space=2.2 if number == 0 else 0.0, draw=draw))
    return kept(framed, whole=len(framed) <= MOST_TOGETHER)


def _beside(block: Beside, setting: Setting) -> list[Row]:
    share = min(max(block.share, 0.2), 0.8)
    first = (setting.width - GUTTER) * share
    left = set_blocks(block.left, setting.within(first))
    right = set_blocks(block.right, setting.within(setting.width - GUTTER - first))
    height = max(height_of(left), height_of(right))
    if height > setting.room:
        return [*set_blocks(block.left, setting), *set_blocks(block.right, setting)]

    def draw(pen: Letters, x: float, y: float) -> None:
        for rows, at in ((left, x), (right, x + first + GUTTER)):
            top = y
            for number, row in enumerate(rows):
                top += row.space if number else 0.0
                row.draw(pen, at, top)
                top += row.height

    lead = max((rows[0].space for rows in (left, right) if rows), default=0.0)
    return [Row(height, draw, space=lead)] if left or right else []
