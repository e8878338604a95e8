"""A document as PDF: fonts within, pages counted, the same bytes every time."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time

from tracker.reports.page import Tone
from tracker.reports.paper.fitting import Fitted, fit
from tracker.reports.paper.letters import Letters, line_height
from tracker.reports.paper.model import Document, OnePage, PageBreak, Paper, paper_of
from tracker.reports.paper.rows import TONES, Placed, Row, Setting, flow, height_of, rule
from tracker.reports.paper.setting import set_blocks, title_rows

SIDE, TOP, BOTTOM = 15.0, 14.0, 11.0
"""Margins in mm; the foot stands inside the lower one's upper edge."""
FOOT = 7.5
"""Points of the foot of a page."""
COUNT = 28.0
"""mm kept for the number of the page."""
PROGRAM = "deckjobs"


@dataclass(frozen=True, slots=True)
class Laid:
    """A document laid out on pages; ``fitted`` are its one-page parts in order, as they were made to fit."""

    pages: tuple[tuple[Placed, ...], ...]
    foot: tuple[str, ...]
    fitted: tuple[Fitted, ...]


def to_pdf(document: Document, paper: Paper | str = Paper.LETTER) -> bytes:
    """The document as PDF. Raises InputError for a paper size that is neither letter nor a4."""
    sheet = paper_of(paper)
    with closing(_letters(sheet.size_mm)) as letters:
        pdf = letters.pdf
        laid = lay_out(document, letters, sheet.size_mm)
        pdf.set_title(letters.shown(document.title))
        pdf.set_subject(letters.shown(document.subtitle))
        pdf.set_lang(document.language)
        pdf.set_creator(PROGRAM)
        pdf.set_producer(PROGRAM)
        pdf.set_creation_date(datetime.combine(document.day, time(), UTC))
        for number, page in enumerate(laid.pages, start=1):
            pdf.add_page()
            for y, row in page:
                row.draw(letters, SIDE, TOP + y)
            _foot(laid, letters, sheet.size_mm, number)
        return bytes(pdf.output())


def fitted_pages(document: Document, size_mm: tuple[float, float], spare: float = 0.0) -> tuple[Fitted, ...]:
    """How the one-page parts of a document fit a sheet of that size with ``spare`` mm left free below, in order."""
    with closing(_letters(size_mm)) as letters:
        return lay_out(document, letters, size_mm, spare).fitted


def _letters(size_mm: tuple[float, float]) -> Letters:
    from fpdf import FPDF

    pdf = FPDF(unit="mm", format=size_mm)
    pdf.set_auto_page_break(False)
    pdf.set_margin(0)
    pdf.alias_nb_pages("")  # a text that holds the library's sign for the number of pages stays as it is
    pdf.c_margin = 0
    return Letters(pdf)


def lay_out(document: Document, letters: Letters, size_mm: tuple[float, float], spare: float = 0.0) -> Laid:
    """Lay a document out on sheets of that size."""
    width = size_mm[0] - 2 * SIDE
    foot = tuple(letters.wrap(document.foot, width - COUNT, FOOT)) if document.foot else ("",)
    room = size_mm[1] - TOP - BOTTOM - len(foot) * line_height(FOOT) - 2.5 - spare
    setting = Setting(letters, width, room)
    fitted: list[Fitted] = []
    rows = list(_rows(document, setting, fitted))
    return Laid(tuple(tuple(page) for page in flow(rows, room)), foot, tuple(fitted))


def _rows(document: Document, setting: Setting, fitted: list[Fitted]) -> Iterator[Row]:
    head = title_rows(setting, document.title, document.subtitle)
    yield from head
    fresh = False
    for number, block in enumerate(document.blocks):
        if isinstance(block, PageBreak):
            fresh = True
            continue
        if isinstance(block, OnePage):
            first = number == 0
            room = setting.room - (height_of(head) + 6.0 if first else 0.0)
            found = fit(block, setting, room)
            fitted.append(found)
            rows = list(found.rows)
            if block.more and height_of(rows) <= room:
                rows = [*(replace(row, keep=True) for row in rows[:-1]), *rows[-1:]]
            fresh = not first
        else:
            rows = set_blocks((block,), setting)
        if rows and fresh:
            rows[0] = replace(rows[0], fresh=True)
            fresh = False
        yield from rows
        fresh = fresh or isinstance(block, OnePage)


def _foot(laid: Laid, letters: Letters, size_mm: tuple[float, float], number: int) -> None:
    width = size_mm[0] - 2 * SIDE
    top = size_mm[1] - BOTTOM - len(laid.foot) * line_height(FOOT)
    rule(letters, SIDE, top - 1.0, width)
    colour = TONES[Tone.QUIET]
    for at, line in enumerate(laid.foot):
        letters.write(SIDE, top + at * line_height(FOOT), line, FOOT, colour=colour)
    text = f"page {number} of {len(laid.pages)}"
    letters.write(SIDE + width - letters.width(text, FOOT), top, text, FOOT, colour=colour)
