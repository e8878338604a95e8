"""Texts on paper: measured, broken and written in the fonts that come with the program.

Sizes are points, places millimetres from the page's upper left corner. Plain left-to-right text is measured character by
character; text that runs right to left or combines is shaped, and reordered line by line (Unicode Standard Annex 9), by
the library. A character in none of the fonts stands as a box.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.resources import files
from itertools import groupby
from typing import TYPE_CHECKING

from tracker.text import clean

if TYPE_CHECKING:
    from fpdf import FPDF

MM_PER_POINT = 25.4 / 72
LEADING = 1.3
"""From one base line to the next, for the size of the type."""
FAMILY, WIDE_FAMILY = "body", "wide"
FONTS = {
    (FAMILY, ""): "DejaVuSans.ttf",
    (FAMILY, "B"): "DejaVuSans-Bold.ttf",
    (WIDE_FAMILY, ""): "DroidSansFallback.ttf",
}
"""Files of the fonts by family and emphasis; the licence of each stands beside it."""
BOX = "\N{WHITE SQUARE}"
_WIDE = frozenset({"W", "F"})
_MEASURED_AT = 100.0

Colour = tuple[int, int, int]
BLACK: Colour = (31, 35, 40)


@dataclass(frozen=True, slots=True)
class Run:
    """A part of a line that runs one way: leftwards or not, shaped by the library or set character by character."""

    text: str
    leftwards: bool
    shaped: bool


class Letters:
    """The lettering of one PDF under way."""

    def __init__(self, pdf: FPDF) -> None:
        self.pdf = pdf
        self._known: set[int] = set()
        for family, emphasis in ((FAMILY, ""), (FAMILY, "B")):
            self._open(family, emphasis)
        self._widths: dict[tuple[str, bool], float] = {}
        self._seen: dict[str, tuple[Run, ...]] = {}

    def close(self) -> None:
        """Let go of the font files."""
        for font in self.pdf.fonts.values():
            if (file := getattr(font, "ttfont", None)) is not None:
                file.close()

    def _open(self, family: str, emphasis: str) -> None:
        file = files("tracker.reports.paper") / "fonts" / FONTS[family, emphasis]
        self.pdf.add_font(family, "B" if emphasis else "", str(file))
        known = dict.fromkeys(name for name, _ in FONTS if name in self.pdf.fonts)
        self.pdf.set_fallback_fonts(list(known), exact_match=False)
        self._known.update(code for font in self.pdf.fonts.values() for code in getattr(font, "cmap", ()))

    def shown(self, text: str, *, lines: bool = False) -> str:
        """The text as it is written: safe, and with a box for what no font has; joiners without a glyph are left out."""
        safe = clean(text, lines=lines)
        if safe.isascii():
            return safe
        return "".join(map(self._glyph, safe))

    def _glyph(self, char: str) -> str:
        if char == "\n" or ord(char) in self._known:
            return char
        if WIDE_FAMILY not in self.pdf.fonts:  # the largest font, opened for the texts that need it
            self._open(WIDE_FAMILY, "")
            return self._glyph(char)
        return "" if unicodedata.category(char) in ("Cf", "Mn", "Me") else BOX

    # -- measuring

    def width(self, text: str, size: float, bold: bool = False) -> float:
        """The width of a line of shown text in mm."""
        if not _shaped(text):
            return self._plain(text, size, bold)
        return sum(self._run(run, size, bold) for run in self._runs(text))

    def _plain(self, text: str, size: float, bold: bool) -> float:
        return sum(self._one(char, bold) for char in text) * size / _MEASURED_AT

    def _run(self, run: Run, size: float, bold: bool) -> float:
        if not run.shaped:
            return self._plain(run.text, size, bold)
        self._choose(run, size, bold)
        return float(self.pdf.get_string_width(run.text))

    def _runs(self, text: str) -> tuple[Run, ...]:
        """The parts of a line that run one way, from left to right as they are seen (UAX 9, rule L2)."""
        found = self._seen.get(text)
        if found is None:
            found = self._seen[text] = tuple(_visual(text))
        return found

    def _one(self, char: str, bold: bool) -> float:
        found = self._widths.get((char, bold))
        if found is None:
            self._choose(Run(char, False, False), _MEASURED_AT, bold)
            found = self._widths[char, bold] = float(self.pdf.get_string_width(char))
        return found

    def widest(self, text: str, size: float, bold: bool = False) -> tuple[float, float]:
        """The width of the longest line of a text, and that of its longest word."""
        shown = self.shown(text, lines=True)
        lines = (self.width(line, size, bold) for line in shown.split("\n"))
        words = (self.width(word, size, bold) for word in _words(shown.replace("\n", " ")))
        return max(lines, default=0.0), max(words, default=0.0)

    def wrap(self, text: str, width: float, size: float, bold: bool = False) -> list[str]:
        """The text in lines of at most ``width`` mm: broken at line feeds, then between words, then where it must."""
        out: list[str] = []
        for part in self.shown(text, lines=True).split("\n"):
            out += self._wrapped(part.rstrip(), width, size, bold)
        return out

    def _wrapped(self, text: str, width: float, size: float, bold: bool) -> Iterator[str]:
        line = ""
        for word in re.findall(r"\s*\S+", text):
            for piece in _pieces(word):
                if self.width(line + piece, size, bold) <= width:
                    line += piece
                    continue
                if line.strip():
                    yield line.rstrip()
                *full, line = self._broken(piece.lstrip(), width, size, bold)
                yield from full
        yield line.rstrip()

    def _broken(self, word: str, width: float, size: float, bold: bool) -> list[str]:
        """A word in pieces that fit, never before a combining character."""
        if self.width(word, size, bold) <= width:
            return [word]
        out, piece = [], ""
        for char in word:
            if piece and not unicodedata.combining(char) and self.width(piece + char, size, bold) > width:
                out.append(piece)
                piece = ""
            piece += char
        return [*out, piece]

    # -- writing

    def write(self, x: float, y: float, text: str, size: float, *, bold: bool = False, colour: Colour = BLACK) -> None:
        """Write a line of shown text with its upper left corner at x, y (a line is ``LEADING`` times its size high)."""
        if not text:
            return
        self.pdf.set_text_color(*colour)
        for run in self._runs(text) if _shaped(text) else (Run(text, False, False),):
            width = self._run(run, size, bold)
            self._choose(run, size, bold)
            self.pdf.set_xy(x, y)
            self.pdf.cell(w=width, h=line_height(size), text=run.text, align="L")
            x += width

    def _choose(self, run: Run, size: float, bold: bool) -> None:
        self.pdf.set_font(FAMILY, "B" if bold else "", size)
        if run.shaped:
            self.pdf.set_text_shaping(True, direction="rtl" if run.leftwards else "ltr")
        else:
            self.pdf.set_text_shaping(False)


def line_height(size: float) -> float:
    """The height of a line of that size in mm."""
    return size * LEADING * MM_PER_POINT


def _shaped(text: str) -> bool:
    if text.isascii():
        return False
    return any(unicodedata.bidirectional(char) in ("R", "AL", "AN", "NSM", "BN") for char in text)


def _visual(text: str) -> Iterator[Run]:
    from fpdf.bidi import BidiParagraph

    _, seen = BidiParagraph(text=text, preserve_bn_chars=True).get_all()
    for level, chars in groupby(seen, key=lambda char: char.embedding_level):
        # Within a run the library shapes, turns and mirrors; it is given the characters as they were typed.
        part = "".join(text[at] for at in sorted(char.character_index for char in chars))
        yield Run(part, bool(level % 2), bool(level % 2) or _shaped(part))


def _words(text: str) -> Iterator[str]:
    for word in text.split():
        yield from (piece.strip() for piece in _pieces(word))


def _pieces(word: str) -> Iterator[str]:
    """A word in the pieces between which a line may be broken: after each wide (CJK) character."""
    if word.isascii():
        yield word
        return
    piece = ""
    for char in word:
        if piece.strip() and unicodedata.east_asian_width(char) in _WIDE:
            yield piece
            piece = ""
        piece += char
    yield piece
