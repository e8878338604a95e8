"""A list as text: comma-separated values (RFC 4180) read line by line, every fault with its line and what would be right.

Shared by every list this program reads or writes. Cells that a spreadsheet would run as a formula are refused; what is
written out so that it stays text (a leading ``'``) is read back as it was. Pure.
"""

from __future__ import annotations

import csv
import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from tracker.errors import InputError, InputErrors
from tracker.text import listing, near
from tracker.trade.money import parse_price

LONGEST_LINE = 64 * 2**10
MOST_FAULTS = 20
MOST_PRICE_E4 = 10**10

_STARTS_A_FORMULA = frozenset("=+-@\t\r\N{MINUS SIGN}")
_UNSEEN = frozenset({"Cc", "Cf", "Cn", "Co", "Cs", "Mc", "Me", "Mn", "Zl", "Zp", "Zs"})
"""Kinds of characters (Unicode, general category) that take no ink of their own: spaces, controls, joiners, marks that stand
on nothing, and those of no kind yet. A spreadsheet may drop them and read on.
"""
_UNSEEN_LETTERS = "\u115f\u1160\u2800\u3164\uffa0"
"""Letters and signs with no ink: the fillers of Hangul, and Braille with no dot."""
T = TypeVar("T")


def is_formula(cell: str) -> bool:
    """Whether a spreadsheet may compute a cell instead of showing it: it, or a line in it, begins with ``= + - @``, a tab or a
    carriage return, also in another width (``＝``), and also behind characters nobody sees.
    """
    return any(_begins_as_one(line) for line in cell.split("\n"))


def _begins_as_one(line: str) -> bool:
    for char in line:
        if unicodedata.normalize("NFKC", char)[:1] in _STARTS_A_FORMULA:
            return True
        if unicodedata.category(char) not in _UNSEEN and char not in _UNSEEN_LETTERS:
            return False
    return False


def _kept_as_text(cell: str) -> bool:
    return cell.startswith("'") and is_formula(cell.lstrip("'"))


def marked(cell: str) -> str:
    """A cell's text as it is written: a ``'`` before what a spreadsheet would run as a formula."""
    return f"'{cell}" if is_formula(cell) or _kept_as_text(cell) else cell


def unmarked(cell: str) -> str:
    """The text that ``marked`` wrote."""
    return cell[1:] if _kept_as_text(cell) else cell


@dataclass(frozen=True, slots=True)
class Shape:
    """What a kind of list looks like: its columns, those that must be there, those that hold numbers.

    ``what`` names the list (``price list``), ``one`` what a line holds (``a price``), ``nothing`` what a refusal says last.
    """

    columns: tuple[str, ...]
    required: tuple[str, ...]
    numbers: frozenset[str]
    what: str
    one: str
    nothing: str
    largest: int


@dataclass(slots=True)
class Reading:
    """One list while it is read."""

    name: str
    shape: Shape
    problems: list[str] = field(default_factory=list)
    width: int = 0

    def begin(self, data: bytes) -> tuple[dict[str, int], Iterator[tuple[int, list[str]]]]:
        """The columns and the lines below them; raises InputErrors when there is no way to read on."""
        if len(data) > self.shape.largest:
            most = f"a {self.shape.what} has at most {self.shape.largest:,}"
            raise InputErrors([f"{self.name} has {len(data):,} bytes; {most}"], self.shape.nothing)
        records = self._records(self._text_lines(data))
        return self._header(records), records

    def fault(self, line: int, what: str, hint: str) -> None:
        """Note a fault; raises InputErrors when there are enough of them."""
        self.problems.append(f"{self.name}:{line}: {what}; {hint}" if hint else f"{self.name}:{line}: {what}")
        if len(self.problems) >= MOST_FAULTS:
            self.stop()

    def stop(self) -> None:
        """Raise InputErrors with the faults found."""
        more = f"these are the first {MOST_FAULTS}, there may be more; " if len(self.problems) >= MOST_FAULTS else ""
        raise InputErrors(self.problems, more + self.shape.nothing)

    # -- lines and cells

    def _text_lines(self, data: bytes) -> list[str]:
        if data.startswith((b"\xff\xfe", b"\xfe\xff")):
            raise InputErrors([f"{self.name}:1: this is UTF-16; save it as UTF-8 (CSV UTF-8)"], self.shape.nothing)
        out: list[str] = []
        for number, raw in enumerate(re.split(rb"\r\n|\n|\r", data.removeprefix(b"\xef\xbb\xbf")), start=1):
            if b"\0" in raw:
                hint = "remove it, or save the list as UTF-8 (CSV UTF-8) if it is UTF-16"
                self.fault(number, "a NUL character", hint)
                self.stop()
            if len(raw) > LONGEST_LINE:
                self.fault(
                    number,
                    f"a line of {len(raw):,} bytes",
                    f"{self.shape.one} takes one line of at most {LONGEST_LINE:,}",
                )
                raw = b""
            try:
                out.append(raw.decode("utf-8"))
            except UnicodeDecodeError as error:
                byte = raw[error.start]
                self.fault(number, f"byte 0x{byte:02x} is not UTF-8", "save the list as UTF-8 (CSV UTF-8)")
                self.stop()
        return out

    def _records(self, lines: Sequence[str]) -> Iterator[tuple[int, list[str]]]:
        """Each line's cells with its number; blank lines, and lines with ``#`` above the header, are passed over."""
        above, number = True, 0
        while number < len(lines):
            text = lines[number]
            number += 1
            if not text.strip() or (above and text.startswith("#")):
                continue
            try:
                cells = next(csv.reader([text], strict=True, skipinitialspace=True))
            except csv.Error as error:
                if "end of data" in str(error):
                    number = self._open_quote(lines, number)
                else:
                    self.fault(number, "text after a closing quote mark", 'inside quotes a " is written twice: ""')
                continue
            if not any(cell.strip() for cell in cells) or (above and cells[0].startswith("#")):
                continue
            above = False
            yield number, cells

    def _open_quote(self, lines: Sequence[str], number: int) -> int:
        """Say where the quote opened on line ``number`` closes; returns the line to go on after."""
        for closing in range(number, len(lines)):
            if lines[closing].count('"') % 2:
                self.fault(
                    number,
                    f"a cell goes on over a line end, to line {closing + 1}",
                    f"{self.shape.one} takes one line; join them",
                )
                return closing + 1
        self.fault(number, "the quote mark opened on this line is never closed", 'close it with "')
        return len(lines)

    def _header(self, records: Iterator[tuple[int, list[str]]]) -> dict[str, int]:
        """The columns of the header line, each with its place."""
        line, cells = next(records, (1, []))
        if not cells:
            if not self.problems:
                self.fault(1, "the list is empty", f"its first line names the columns: {','.join(self.shape.columns)}")
            self.stop()
        if len(cells) == 1 and (mark := next((m for m in ";\t" if m in cells[0]), "")):
            said = "tabs" if mark == "\t" else "semicolons"
            self.fault(line, f"the columns are parted by {said}", "save it with commas between the columns")
            self.stop()
        self.width = len(cells)
        columns: dict[str, int] = {}
        for place, cell in enumerate(cells):
            column = re.sub(r"[\s_-]+", "_", cell.strip().lower())
            if not column and not any(cells[place:]):
                break
            if column not in self.shape.columns:
                self.fault(
                    line,
                    f"no column {cell.strip()[:40]!r}{near(column, self.shape.columns)}",
                    f"columns are {listing(self.shape.columns, 'and')}",
                )
            elif column in columns:
                self.fault(line, f"column {column} is there twice", "keep one of them")
            columns.setdefault(column, place)
        missing = [column for column in self.shape.required if column not in columns]
        for column in missing:
            self.fault(
                line, f"column {column} is missing", f"a list has {listing(self.shape.required, 'and')} at least"
            )
        if missing:
            self.stop()
        return {column: place for column, place in columns.items() if column in self.shape.columns}

    def said(self, line: int, columns: Mapping[str, int], cells: Sequence[str]) -> dict[str, str | None] | None:
        """What a line says in each column (None: a formula, a fault is noted); None when the line does not fit the header."""
        if (fault := self._uneven(columns, cells)) is not None:
            self.fault(line, *fault)
            return None
        return {column: self._cell(line, column, cells[at]) for column, at in columns.items() if at < len(cells)}

    def _uneven(self, columns: Mapping[str, int], cells: Sequence[str]) -> tuple[str, str] | None:
        """What is wrong with a line of more or fewer cells than the header, if anything.

        Blank cells may be left out or added at the end, but not where a decimal comma may have cut the price in two.
        """
        place = columns["price"]
        cut = all(re.fullmatch(r"\s*[0-9]+\s*", cell) for cell in [*cells[place : place + 2], ""][:2])
        if len(cells) == self.width or not (cut or any(cell.strip() for cell in cells[self.width :])):
            return None
        hint = "write a price with a point, like 14.28, put quotes round a text with a comma, and fill up with commas"
        return f"{len(cells)} cells, the header has {self.width}", hint

    def _cell(self, line: int, column: str, raw: str) -> str | None:
        """A cell's text without the mark that kept it from being a formula; None when it is one."""
        text = raw.strip()
        if (kept := unmarked(text)) != text:
            return kept
        number = column in self.shape.numbers and text[:1] in ("-", "+")  # a number with a sign has its own refusal
        if raw[:1] == "\t" or (is_formula(text) and not number):
            self.fault(
                line, f"{column}: {text[:40]!r} starts as a formula does", "write a ' before it if it is meant so"
            )
            return None
        return text

    def read(self, line: int, column: str, got: Mapping[str, str], parse: Callable[[str], T], default: T) -> T:
        """A cell's value; what ``parse`` refuses is noted as a fault of its line."""
        if column not in got:
            return default
        try:
            return parse(got[column])
        except InputError as error:
            self.fault(line, f"{column}: {error.message}", error.hint)
            return default


def bare_number(text: str, example: str) -> str:
    """A bare number's text; raises InputError for a currency sign or a comma."""
    if any(unicodedata.category(char) == "Sc" for char in text):
        raise InputError(f"{text[:40]!r} has a currency sign", f"write it like {example}")
    if "," in text:
        raise InputError(
            f"{text[:40]!r} has a comma", f"write a point before the decimals and no other mark, like {example}"
        )
    return text


def price_of(text: str) -> int:
    """A price of one unit in ten-thousandths; raises InputError for anything else than a bare number above nothing."""
    price = parse_price(bare_number(text, "14.28"))
    if price == 0:
        raise InputError("0 is not a price", "leave the line out until there is one")
    if price > MOST_PRICE_E4:
        raise InputError(f"{text[:40]!r} is too much for one unit", "at most 1,000,000")
    return price
