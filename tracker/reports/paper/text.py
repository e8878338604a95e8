"""A document as a page of text for a terminal, and as plain values: the same blocks, said in lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass

from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.reports.paper.model import (
    Bar,
    Beside,
    Blank,
    Blanks,
    Block,
    Bullets,
    Caution,
    Checklist,
    Document,
    Figure,
    Heading,
    Item,
    KeepTogether,
    KeyValues,
    OnePage,
    PageBreak,
    Paragraph,
    Signatures,
    Strip,
    Table,
)
from tracker.trade.answer import Plain

RULED = "________"


def to_page(document: Document) -> Page:
    """The document as a page; drawings are told in words."""
    out: list[Line | Grid] = [Line(document.title, Tone.TITLE)]
    if document.subtitle:
        out.append(Line(document.subtitle, Tone.QUIET))
    for block in document.blocks:
        out += _block(block)
    return (*out, BLANK, Line(document.foot, Tone.QUIET)) if document.foot else tuple(out)


def _block(block: Block) -> Iterator[Line | Grid]:
    match block:
        case Heading():
            yield BLANK
            yield Line(f"{block.text}   {block.beside}".rstrip(), Tone.TITLE)
        case Paragraph():
            for text in block.text.split("\n"):
                yield Line(text, block.tone)
        case Bullets():
            yield Grid((), tuple(("-", item) for item in block.items), tones=block.tones)
        case Table():
            yield from _table(block)
        case KeyValues():
            yield Grid((), block.rows, indent=2, tones=block.tones)
        case Checklist():
            for item in block.items:
                yield from _item(item)
        case Figure():
            yield Line(block.alt, Tone.QUIET, indent=2)
        case Strip():
            yield Grid((), tuple((step.title, step.word) for step in block.steps), indent=2)
        case Bar():
            yield Line(f"{block.text}: {', '.join(share.label for share in block.shares)}", indent=2)
        case Caution():
            yield Line(f"CAUTION {block.title}".rstrip(), Tone.CARE)
            yield Grid((), tuple(("-", text) for text in block.texts), indent=2)
        case Signatures():
            for label in block.labels:
                yield Line(f"{label}: {RULED * 3}  day: {RULED}")
        case Blanks():
            yield Line(_blanks(block.blanks), indent=2)
        case KeepTogether() | OnePage():
            for one in block.blocks:
                yield from _block(one)
        case Beside():
            for one in (*block.left, *block.right):
                yield from _block(one)
        case PageBreak():
            yield BLANK


def _table(block: Table) -> Iterator[Line | Grid]:
    if block.caption:
        yield Line(block.caption, Tone.TITLE)
    header = tuple(column.title for column in block.columns)
    right = frozenset(number for number, column in enumerate(block.columns) if column.right)
    rows = (*block.rows, *((block.total,) if block.total else ()))
    yield Grid(header if any(header) else (), rows, right, indent=2, tones=block.tones)


def _item(item: Item) -> Iterator[Line | Grid]:
    yield Line(f"[ ] {item.text}", Tone.TITLE, hang=4)
    for text, tone in ((item.limit, Tone.PLAIN), (item.note, Tone.CARE), (item.source, Tone.QUIET)):
        if text:
            yield Line(text, tone, indent=4)
    if item.blanks:
        yield Line(_blanks(item.blanks), indent=4)
    if item.columns:
        ruled = (RULED,) * len(item.columns)
        yield Grid(("", *item.columns), tuple((row, *ruled) for row in item.rows), indent=4)


def _blanks(blanks: Sequence[Blank]) -> str:
    return "   ".join(f"{blank.label} {RULED} {blank.unit}".rstrip() for blank in blanks)


def document_json(document: Document) -> dict[str, Plain]:
    """The document as plain values: every block with its ``block`` name and what it says; drawings by their words."""
    found = _plain(document)
    assert isinstance(found, dict)
    return found


def _plain(value: object) -> Plain:
    if is_dataclass(value) and not isinstance(value, type):
        out: dict[str, Plain] = {"block": type(value).__name__.lower()}
        for field in fields(value):
            if field.name != "svg":
                out[field.name] = _plain(getattr(value, field.name))
        return out
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    if value is None or isinstance(value, bool | int | float):
        return value
    return str(value)
