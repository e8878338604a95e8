"""A document for paper as a page for the terminal: the same words, so that the two can never say different things."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.reports.paper import model as paper

BOX = "[ ]"


def page_of(document: paper.Document) -> Page:
    """The document as lines and grids; drawings, strips and bars are told in words, signatures as ruled lines."""
    head = [Line(document.title, Tone.TITLE), *([Line(document.subtitle)] if document.subtitle else [])]
    return (*head, *_blocks(document.blocks))


def _blocks(blocks: Iterable[paper.Block]) -> Iterator[Line | Grid]:
    for block in blocks:
        yield from _block(block)


def _block(block: paper.Block) -> Iterator[Line | Grid]:
    match block:
        case paper.Heading(text=text, level=level, beside=beside):
            yield BLANK
            said = text.upper() if level <= 2 else text
            yield Line(f"{said}  {beside}".rstrip(), Tone.TITLE)
        case paper.Paragraph(text=text, tone=tone):
            for part in text.split("\n"):
                yield Line(part, tone, indent=2, hang=0)
        case paper.Bullets(items=items, tones=tones):
            yield Grid((), tuple(("-", item) for item in items), indent=2, tones=tones)
        case paper.Table():
            yield from _table(block)
        case paper.KeyValues(rows=rows, tones=tones):
            yield Grid((), rows, indent=2, tones=tones)
        case paper.Checklist(items=checks):
            yield Grid((), tuple((BOX, _item(item)) for item in checks), indent=2)
        case paper.Caution(texts=texts, title=title):
            word = f"caution, {title}" if title else "caution"
            for text in texts:
                yield Line(f"{word}: {text}", Tone.CARE, indent=2)
        case paper.Signatures(labels=labels):
            yield BLANK
            yield Grid((), tuple((label, "_" * 28, "day", "_" * 12) for label in labels), indent=2)
        case paper.Blanks(blanks=blanks):
            yield Grid((), tuple((blank.label, f"{'_' * 28} {blank.unit}".rstrip()) for blank in blanks), indent=2)
        case paper.Figure(alt=alt):
            yield Line(alt, indent=2)
        case paper.Strip(steps=steps):
            yield Grid((), tuple((step.title, step.word) for step in steps), indent=2)
        case paper.Bar(text=text, shares=shares):
            yield Line(text, indent=2)
            yield Grid((), tuple((share.label,) for share in shares), indent=4)
        case paper.KeepTogether(blocks=inner) | paper.OnePage(blocks=inner):
            yield from _blocks(inner)
        case paper.Beside(left=left, right=right):
            yield from _blocks((*left, *right))
        case paper.PageBreak():
            yield BLANK


def _table(table: paper.Table) -> Iterator[Line | Grid]:
    if table.caption:
        yield Line(table.caption, Tone.QUIET, indent=2)
    header = tuple(column.title for column in table.columns)
    right = frozenset(number for number, column in enumerate(table.columns) if column.right)
    rows = (*table.rows, *((table.total,) if table.total else ()))
    yield Grid(header, rows, right, indent=2, tones=table.tones)


def _item(item: paper.Item) -> str:
    limit = f"{item.limit} ({item.source})" if item.limit and item.source else item.limit or item.source
    blanks = " ".join(f"{blank.label} ______ {blank.unit}".rstrip() for blank in item.blanks)
    return "; ".join(part for part in (item.text, limit, item.note, blanks) if part)
