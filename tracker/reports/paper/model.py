"""A document for paper and for a browser, in blocks: what is said, not how it is set.

Built once, given out as one self-contained HTML file (``tracker.reports.paper.html.to_html``) or as a PDF
(``tracker.reports.paper.pdf.to_pdf``). Texts are plain text as the book has them: the renderers make them safe, break
what is too long and let nothing be clipped. The same document always gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TypeAlias

from tracker.errors import InputError
from tracker.reports.page import Tone


class Paper(StrEnum):
    """A paper size, upright."""

    LETTER = "letter"
    A4 = "a4"

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height: 8 1/2 by 11 in (ANSI/ASME Y14.1, size A), or 210 by 297 mm (ISO 216)."""
        return (215.9, 279.4) if self is Paper.LETTER else (210.0, 297.0)


def paper_of(text: str) -> Paper:
    """The paper size a person named; raises InputError."""
    try:
        return Paper(text.strip().lower())
    except ValueError:
        raise InputError(f"{text[:40]!r} is not a paper size", "give letter or a4") from None


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading; ``level`` 2 begins a part of the document, 3 a part of that. ``beside`` stands at the right of it."""

    text: str
    level: int = 2
    beside: str = ""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph; a line feed in its text begins a new line."""

    text: str
    tone: Tone = Tone.PLAIN


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list of points; ``tones`` gives a point its tone by its number."""

    items: tuple[str, ...]
    tones: tuple[Tone, ...] = ()


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: numbers and money are set ``right``; ``weight`` is its share of the width, 0 as wide as its texts."""

    title: str
    right: bool = False
    weight: float = 0.0


@dataclass(frozen=True, slots=True)
class Table:
    """A table; its header is repeated on every page it reaches. ``total`` is a last row set apart, empty for none.

    A row has one text a column; ``tones`` gives a row its tone by its number.
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    total: tuple[str, ...] = ()
    caption: str = ""
    tones: tuple[Tone, ...] = ()

    def __post_init__(self) -> None:
        for row in (*self.rows, *((self.total,) if self.total else ())):
            if len(row) != len(self.columns):
                raise ValueError(f"a row of {len(row)} texts in a table of {len(self.columns)} columns: {row!r}")


@dataclass(frozen=True, slots=True)
class KeyValues:
    """Words with what they stand for; a word stands once for the rows it heads (leave it empty in the next ones)."""

    rows: tuple[tuple[str, str], ...]
    tones: tuple[Tone, ...] = ()


@dataclass(frozen=True, slots=True)
class Blank:
    """A place to write a figure: what goes there, and its unit."""

    label: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Item:
    """A line of a checklist with a box to tick: what to look at, what is good enough and who says so, and the blanks.

    With ``columns`` it has a table to fill in besides, an empty cell a column for each of the ``rows`` by name.
    """

    text: str
    limit: str = ""
    source: str = ""
    blanks: tuple[Blank, ...] = ()
    note: str = ""
    columns: tuple[str, ...] = ()
    rows: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Checklist:
    """Items to tick and fill in by hand; an item with its blanks is never parted over two pages where one page holds it."""

    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing: SVG of plain shapes and texts (see ``tracker.reports.paper.vector``), and ``alt``, the drawing in words.

    It is drawn as wide as there is room, at most ``height_mm`` high (0: at most the page).
    """

    svg: str
    alt: str
    caption: str = ""
    height_mm: float = 0.0


class Ink(StrEnum):
    """How a part of a strip or a bar is filled; the words always say it too."""

    NONE = "none"
    DONE = "done"
    NOW = "now"
    STOPPED = "stopped"
    PART = "part"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a strip: its title and where it stands, in words."""

    title: str
    word: str
    ink: Ink


@dataclass(frozen=True, slots=True)
class Strip:
    """Steps in order, side by side, each with its words."""

    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Share:
    """A part of a bar: its label with its figure, and how long it is."""

    label: str
    amount: int
    ink: Ink


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar of parts to scale, with ``text`` above it and each part's label below it."""

    text: str
    shares: tuple[Share, ...]


@dataclass(frozen=True, slots=True)
class Caution:
    """Cautions, set apart in a frame under the word CAUTION."""

    texts: tuple[str, ...]
    title: str = ""


@dataclass(frozen=True, slots=True)
class Signatures:
    """A ruled line for each label, to sign, with a place for the day."""

    labels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Blanks:
    """Ruled lines to fill in by hand, each behind its label."""

    blanks: tuple[Blank, ...]


@dataclass(frozen=True, slots=True)
class PageBreak:
    """What follows begins on a new page."""


@dataclass(frozen=True, slots=True)
class KeepTogether:
    """Blocks that stay on one page where one page holds them."""

    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Beside:
    """Two stacks of blocks side by side on one page; ``share`` of the width goes to the first (0.2 to 0.8).

    Only for what is known to be short: it is not broken over pages unless one page cannot hold it.
    """

    left: tuple[Block, ...]
    right: tuple[Block, ...]
    share: float = 0.5


@dataclass(frozen=True, slots=True)
class OnePage:
    """Blocks that begin on a new page and take no more than that one.

    Where they would, the type is set smaller within what can be read, and then the longest lists lose their tail, which is
    counted: ``and 12 more lines, <more>``. A table with a total loses none: from it on they go on to the next page. With
    no ``more`` nothing is ever left out: what does not fit the page in smaller type goes on to the next one.
    """

    blocks: tuple[Block, ...]
    more: str = ""


Block: TypeAlias = (
    Heading | Paragraph | Bullets | Table | KeyValues | Checklist | Figure | Strip | Bar | Caution | Signatures
    | Blanks | PageBreak | KeepTogether | Beside | OnePage
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Document:
    """A document: ``title`` and ``subtitle`` head its first page, ``day`` is the day it speaks of (also its date as a file).

    ``language`` is a BCP 47 tag. ``foot`` stands at the bottom of every page, before ``page 2 of 5``.
    """

    title: str
    subtitle: str
    day: date
    blocks: tuple[Block, ...]
    foot: str = ""
    language: str = "en"


def table(header: Iterable[str], rows: Iterable[Iterable[str]], *, right: Iterable[int] = (), total: Iterable[str] = (),
          caption: str = "") -> Table:  # fmt: skip
    """A table from plain texts: the columns numbered in ``right`` are set right."""
    set_right = frozenset(right)
    columns = tuple(Column(title, number in set_right) for number, title in enumerate(header))
    return Table(columns, tuple(tuple(row) for row in rows), tuple(total), caption)
