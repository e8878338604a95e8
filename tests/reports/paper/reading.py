"""Papers read back: PDFs with a library of its own (texts, where every character stands, sizes in mm), and CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from typing import Any

import pypdfium2

from tracker.planning.csvlines import unmarked

MM = 72 / 25.4


def read_csv(data: bytes) -> tuple[tuple[str, ...], ...]:
    """The rows of a table written as CSV, the header first, formula marks taken off."""
    rows = csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), strict=True)
    return tuple(tuple(unmarked(cell) for cell in row) for row in rows)


@dataclass(frozen=True, slots=True)
class Char:
    """A character and the box of its ink, in mm from the page's lower left corner."""

    text: str
    left: float
    bottom: float
    right: float
    top: float


@dataclass(frozen=True, slots=True)
class PageRead:
    """One page: its size, its text, its characters and the boxes of its runs of text."""

    width: float
    height: float
    text: str
    chars: tuple[Char, ...]
    runs: tuple[tuple[float, float, float, float], ...]


def read_pdf(data: bytes) -> list[PageRead]:
    """Every page of a PDF."""
    with closing(pypdfium2.PdfDocument(data)) as pdf:
        return [_page(pdf[number]) for number in range(len(pdf))]


def _page(page: Any) -> PageRead:
    text = page.get_textpage()
    count = text.count_chars()
    chars = tuple(_chars(text, count))
    runs = tuple(tuple(side / MM for side in text.get_rect(number)) for number in range(text.count_rects()))
    found = PageRead(page.get_width() / MM, page.get_height() / MM, text.get_text_range(), chars, runs)
    text.close()
    page.close()
    return found


def _chars(text: Any, count: int) -> Iterator[Char]:
    for number in range(count):
        char = text.get_text_range(number, 1)
        if char.strip():
            yield Char(char, *(side / MM for side in text.get_charbox(number)))


def all_text(data: bytes) -> str:
    """The text of every page with single spaces."""
    return " ".join(" ".join(page.text for page in read_pdf(data)).split())
