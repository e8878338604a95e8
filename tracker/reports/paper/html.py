"""A document as one HTML file: its own style, no script, nothing fetched, fit to be printed and to be read on a phone.

Every text is escaped where it is put in, and set apart by direction (``dir="auto"``), so that no name can turn or break
what stands beside it. What has to stay on one page is fitted as it is for the PDF, to the smaller of both paper sizes.
"""

from __future__ import annotations

import base64
from collections.abc import Iterator, Sequence
from html import escape
from importlib.resources import files
from typing import TYPE_CHECKING

from tracker.reports.page import Tone, cells
from tracker.reports.paper.marks import SIGNS
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
    Paper,
    Paragraph,
    Signatures,
    Strip,
    Table,
)
from tracker.reports.paper.tables import HEADER, column_widths
from tracker.text import clean

if TYPE_CHECKING:
    from tracker.reports.paper.fitting import Fitted

_CLASSES = {
    Tone.PLAIN: "",
    Tone.TITLE: "strong",
    Tone.BAD: "bad",
    Tone.GOOD: "good",
    Tone.CARE: "care",
    Tone.QUIET: "quiet",
}
ROOM = 178.0
"""About the width of the page's room in mm, less what a browser needs to spare."""
SPARE = 12.0
"""mm left free below a one-page part, for the other fonts and rounding of a browser."""


def to_html(document: Document) -> bytes:
    """The document as one self-contained HTML file, UTF-8; it prints on letter and on A4."""
    fitted = iter(_fitted(document))
    body: list[str] = []
    fresh = False
    for number, block in enumerate(document.blocks):
        if isinstance(block, PageBreak):
            fresh = True
        elif isinstance(block, OnePage):
            part = next(fitted)
            start = "" if number == 0 else " fresh"
            body.append(f'<section class="one{start}" style="font-size:{part.scale:g}em">')
            body += _blocks(part.blocks, ROOM / part.scale)
            body.append("</section>")
            fresh = True
        else:
            body += [f'<div class="fresh">{"".join(_block(block, ROOM))}</div>'] if fresh else _block(block, ROOM)
            fresh = False
    style = (files("tracker.reports.paper") / "paper.css").read_text("utf-8")
    foot = f'<footer dir="auto">{_text(document.foot)}</footer>' if document.foot else ""
    subtitle = f'<p class="subtitle" dir="auto">{_text(document.subtitle)}</p>' if document.subtitle else ""
    day = document.day.isoformat()
    page = (
        "<!DOCTYPE html>",
        f'<html lang="{escape(document.language)}">',
        "<head>",
        '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f'<meta name="date" content="{day}">',
        f"<title>{_text(document.title) or day}</title>",
        f"<style>\n{style}</style>",
        "</head>",
        "<body>",
        f'<header><h1 dir="auto">{_text(document.title)}</h1>{subtitle}</header>',
        "<main>",
        *body,
        "</main>",
        foot,
        "</body>",
        "</html>",
        "",
    )
    return "\n".join(line for line in page if line or line is page[-1]).encode()


def _fitted(document: Document) -> tuple[Fitted, ...]:
    if not any(isinstance(block, OnePage) for block in document.blocks):
        return ()
    from tracker.reports.paper.pdf import fitted_pages

    sizes = [paper.size_mm for paper in Paper]
    smaller = (min(width for width, _ in sizes), min(height for _, height in sizes))
    return fitted_pages(document, smaller, SPARE)


def _text(text: str) -> str:
    return escape(clean(text))


def _lines(text: str) -> str:
    return "<br>".join(escape(line) for line in clean(text, lines=True).split("\n"))


def _tone(tone: Tone, *more: str) -> str:
    """A class attribute, empty without a class."""
    names = " ".join(name for name in (*more, _CLASSES[tone]) if name)
    return f' class="{names}"' if names else ""


def _at(tones: Sequence[Tone], number: int) -> Tone:
    return tones[number] if number < len(tones) else Tone.PLAIN


def _blocks(blocks: Sequence[Block], room: float) -> Iterator[str]:
    for block in blocks:
        yield from _block(block, room)


def _block(block: Block, room: float) -> Iterator[str]:
    match block:
        case Heading():
            level = 2 if block.level <= 2 else 3
            beside = f' <span class="beside">{_text(block.beside)}</span>' if block.beside else ""
            yield f'<h{level}><span dir="auto">{_text(block.text)}</span>{beside}</h{level}>'
        case Paragraph():
            yield f'<p dir="auto"{_tone(block.tone)}>{_lines(block.text)}</p>'
        case Bullets():
            items = (
                f'<li dir="auto"{_tone(_at(block.tones, number))}>{_lines(item)}</li>'
                for number, item in enumerate(block.items)
            )
            yield f"<ul>{''.join(items)}</ul>" if block.items else ""
        case Table():
            yield from _table(block, room)
        case KeyValues():
            yield from _key_values(block, room)
        case Checklist():
            yield f'<ul class="checks">{"".join(map(_item, block.items))}</ul>' if block.items else ""
        case Figure():
            yield _figure(block)
        case Strip():
            steps = (
                f'<li class="{step.ink}"><span class="mark" aria-hidden="true">{SIGNS[step.ink]}</span>'
                f'<span dir="auto">{_text(step.title)}</span> <strong>{_text(step.word)}</strong></li>'
                for step in block.steps
            )
            yield f'<ol class="strip">{"".join(steps)}</ol>' if block.steps else ""
        case Bar():
            yield _bar(block)
        case Caution():
            title = f" {_text(block.title)}" if block.title else ""
            items = (f'<li dir="auto">{_lines(text)}</li>' for text in block.texts)
            yield f'<aside class="caution"><p><strong>CAUTION</strong>{title}</p><ul>{"".join(items)}</ul></aside>'
        case Signatures():
            lines = (
                f'<div><span class="line" dir="auto">{_text(label)}</span><span class="day">day</span></div>'
                for label in block.labels
            )
            yield f'<div class="signatures">{"".join(lines)}</div>'
        case Blanks():
            yield _blanks(block.blanks)
        case KeepTogether():
            yield '<div class="together">'
            yield from _blocks(block.blocks, room)
            yield "</div>"
        case Beside():
            share = min(max(block.share, 0.2), 0.8)
            yield f'<div class="sides" style="grid-template-columns:{share:g}fr {1 - share:g}fr"><div>'
            yield from _blocks(block.left, room * share)
            yield "</div><div>"
            yield from _blocks(block.right, room * (1 - share))
            yield "</div></div>"
        case PageBreak() | OnePage():
            raise TypeError(f"{type(block).__name__} stands only on its own in a document")


def _cell(name: str, text: str, right: bool, more: str = "") -> str:
    look = ' class="right"' if right else ""
    return f'<{name}{more}{look} dir="auto">{_lines(text)}</{name}>'


def _headed(title: str, number: int) -> str:
    """The column's title with a cell, for screens too narrow for the columns; the first cell heads its row itself."""
    return f' data-head="{_text(title)}"' if number and title else ""


def _table(table: Table, room: float) -> Iterator[str]:
    right = [column.right for column in table.columns]
    yield "<table>"
    if table.caption:
        yield f'<caption dir="auto">{_text(table.caption)}</caption>'
    yield _columns([wide / room for wide in column_widths(table, _measured, room)])
    if any(column.title for column in table.columns):
        heads = (_cell("th", column.title, column.right, ' scope="col"') for column in table.columns)
        yield f"<thead><tr>{''.join(heads)}</tr></thead>"
    if table.total:
        sums = (_cell("td", text, side) for text, side in zip(table.total, right, strict=True))
        total = f"<tr>{''.join(sums)}</tr>"
    yield "<tbody>"
    for number, row in enumerate(table.rows):
        parts = (
            _cell("td", text, column.right, _headed(column.title, number))
            for number, (text, column) in enumerate(zip(row, table.columns, strict=True))
        )
        yield f"<tr{_tone(_at(table.tones, number))}>{''.join(parts)}</tr>"
    yield f"</tbody><tfoot>{total}</tfoot></table>" if table.total else "</tbody></table>"


def _measured(text: str, bold: bool, heading: bool) -> tuple[float, float]:
    """About how wide a text comes out in a browser, in mm."""
    each = 2.05 * (1.22 if bold else 1.0) * (HEADER if heading else 1.0)
    lines, words = clean(text, lines=True).split("\n"), clean(text).split()
    return each * max(map(cells, lines)), each * max(map(cells, words), default=0)


def _columns(shares: Sequence[float]) -> str:
    columns = (f'<col style="width:{100 * share:.2f}%">' for share in shares)
    return f"<colgroup>{''.join(columns)}</colgroup>"


def _key_values(block: KeyValues, room: float) -> Iterator[str]:
    """A list of words and what they stand for; rows without a word belong to the word above them."""
    if not block.rows:
        return
    widest = max(_measured(word, True, True)[0] for word, _ in block.rows) + 3.0
    told = max(_measured(text, True, False)[0] for _, text in block.rows)
    first = min(widest / room, max(0.28, 1 - told / room))
    yield f'<table class="keys">{_columns((first, 1 - first))}<tbody>'
    for number, (word, text) in enumerate(block.rows):
        head = f'<th scope="row" dir="auto">{_text(word)}</th>' if word else "<td></td>"
        yield f'<tr{_tone(_at(block.tones, number))}>{head}<td dir="auto">{_lines(text)}</td></tr>'
    yield "</tbody></table>"


def _item(item: Item) -> str:
    out = f'<li><p class="what"><span class="tick" aria-hidden="true"></span><span dir="auto">{_lines(item.text)}</span></p>'
    for text, look in ((item.limit, "limit"), (item.note, "care"), (item.source, "quiet")):
        out += f'<p class="{look}" dir="auto">{_lines(text)}</p>' if text else ""
    return out + _blanks(item.blanks) + _grid(item) + "</li>"


def _span(blank: Blank) -> str:
    """How many quarters of the width a blank takes, as its class."""
    words = sum(_measured(text, False, True)[0] for text in (blank.label, blank.unit))
    return "w1" if words < 20 else "w2" if words < 60 else "w4"


def _grid(item: Item) -> str:
    """A table to fill in by hand."""
    if not item.columns:
        return ""
    heads = "".join(_cell("th", column, False, ' scope="col"') for column in ("", *item.columns))
    cells = "<td></td>" * len(item.columns)
    rows = "".join("<tr>" + _cell("th", row, False, ' scope="row"') + cells + "</tr>" for row in item.rows)
    return f'<table class="grid"><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>'


def _blanks(blanks: Sequence[Blank]) -> str:
    if not blanks:
        return ""
    rows = (
        f'<li class="{_span(blank)}"><span dir="auto">{_text(blank.label)}</span><span class="line"></span>'
        + (f'<span class="unit">{_text(blank.unit)}</span>' if blank.unit else "")
        + "</li>"
        for blank in blanks
    )
    return f'<ul class="blanks">{"".join(rows)}</ul>'


def _figure(figure: Figure) -> str:
    data = base64.b64encode(figure.svg.encode()).decode()
    high = f' style="max-height:{figure.height_mm:g}mm"' if figure.height_mm else ""
    caption = f'<figcaption dir="auto">{_text(figure.caption)}</figcaption>' if figure.caption else ""
    return f'<figure><img src="data:image/svg+xml;base64,{data}" alt="{_text(figure.alt)}"{high}>{caption}</figure>'


def _bar(bar: Bar) -> str:
    total = sum(max(share.amount, 0) for share in bar.shares)
    parts = (
        f'<span class="{share.ink}" style="width:{100 * max(share.amount, 0) / total:.3f}%"></span>'
        for share in bar.shares
        if total
    )
    keys = (
        f'<li><span class="key {share.ink}" aria-hidden="true"></span><span dir="auto">{_text(share.label)}</span></li>'
        for share in bar.shares
    )
    return (
        f'<div class="bar"><p dir="auto">{_text(bar.text)}</p><div class="whole" aria-hidden="true">{"".join(parts)}</div>'
        f'<ul class="keys">{"".join(keys)}</ul></div>'
    )
