"""A price list as text: comma-separated values (RFC 4180) to offers and terms, and back. Pure.

Every fault is found with its line and column, the first ``MOST_FAULTS`` of them at once, and nothing of a faulty list is
given out. Cells that a spreadsheet would run as a formula are refused; what is written out so that it stays text (a leading
``'``) is read back as it was.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TypeVar

from tracker.errors import InputError, InputErrors
from tracker.planning.pricing import Offer, PriceBook, format_price
from tracker.text import accept, listing, near
from tracker.trade.dates import parse_day
from tracker.trade.lumber import species, use_category
from tracker.trade.money import parse_money, parse_price
from tracker.trade.movement import find_timber
from tracker.trade.readings import parse_count

COLUMNS = ("supplier", "item", "price", "pack", "seen", "use", "wood", "lead_days", "delivery", "minimum")
"""The columns as they are written; the first three must be there."""
REQUIRED = COLUMNS[:3]
LARGEST_FILE = 8 * 2**20
LONGEST_LINE = 64 * 2**10
MOST_FAULTS = 20
ITEM_LIMIT = 80
MOST_PRICE_E4 = 10**10
MOST_PACK = 100_000
MOST_LEAD_DAYS = 366

_TERMS = COLUMNS[7:]
_NUMBERS = frozenset({"price", "pack", *_TERMS})
_FORMULA = re.compile(r"[=+\-@\t]")
_KEPT_AS_TEXT = re.compile(r"'+[=+\-@\t]")
_NOTHING_TAKEN = "nothing was taken; correct the list and take it again"
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class StatedTerms:
    """What a list says of a supplier's terms; None where it says nothing."""

    lead_days: int | None = None
    delivery_cents: int | None = None
    minimum_cents: int | None = None


@dataclass(frozen=True, slots=True)
class PriceList:
    """A list read whole: its offers in order, and the terms of every supplier in it."""

    offers: tuple[Offer, ...]
    terms: Mapping[str, StatedTerms]


def parse_prices(data: bytes, name: str) -> PriceList:
    """Return the list in ``data``; ``name`` is how errors call it.

    Raises InputErrors with every fault as ``name:line: what; what would be right``: up to the first ``MOST_FAULTS``.
    """
    return _Reading(name).whole(data)


@dataclass(slots=True)
class _Reading:
    """One list while it is read."""

    name: str
    problems: list[str] = field(default_factory=list)
    offers: dict[tuple[str, str, str, str], Offer] = field(default_factory=dict)
    lines: dict[tuple[str, str, str, str], int] = field(default_factory=dict)
    spelled: dict[str, tuple[str, int]] = field(default_factory=dict)
    terms: dict[str, dict[str, tuple[int, int]]] = field(default_factory=dict)
    width: int = 0

    def whole(self, data: bytes) -> PriceList:
        if len(data) > LARGEST_FILE:
            raise InputErrors(
                [f"{self.name} has {len(data):,} bytes; a price list has at most {LARGEST_FILE:,}"], _NOTHING_TAKEN
            )
        records = self._records(self._text_lines(data))
        columns = self._header(records)
        for line, cells in records:
            self._row(line, columns, cells)
        if not self.offers and not self.problems:
            self.fault(1, "no prices under the header", "give each price a line of its own")
        if self.problems:
            self._stop()
        stated = {
            supplier: StatedTerms(*(said[column][0] if column in said else None for column in _TERMS))
            for supplier, said in self.terms.items()
        }
        return PriceList(tuple(self.offers.values()), stated)

    def fault(self, line: int, what: str, hint: str) -> None:
        """Note a fault; raises InputErrors when there are enough of them."""
        self.problems.append(f"{self.name}:{line}: {what}; {hint}" if hint else f"{self.name}:{line}: {what}")
        if len(self.problems) >= MOST_FAULTS:
            self._stop()

    def _stop(self) -> None:
        more = f"these are the first {MOST_FAULTS}, there may be more; " if len(self.problems) >= MOST_FAULTS else ""
        raise InputErrors(self.problems, more + _NOTHING_TAKEN)

    # -- lines and cells

    def _text_lines(self, data: bytes) -> list[str]:
        if data.startswith((b"\xff\xfe", b"\xfe\xff")):
            raise InputErrors([f"{self.name}:1: this is UTF-16; save it as UTF-8 (CSV UTF-8)"], _NOTHING_TAKEN)
        out: list[str] = []
        for number, raw in enumerate(re.split(rb"\r\n|\n|\r", data.removeprefix(b"\xef\xbb\xbf")), start=1):
            if b"\0" in raw:
                hint = "remove it, or save the list as UTF-8 (CSV UTF-8) if it is UTF-16"
                self.fault(number, "a NUL character", hint)
                self._stop()
            if len(raw) > LONGEST_LINE:
                self.fault(
                    number, f"a line of {len(raw):,} bytes", f"a price takes one line of at most {LONGEST_LINE:,}"
                )
                raw = b""
            try:
                out.append(raw.decode("utf-8"))
            except UnicodeDecodeError as error:
                byte = raw[error.start]
                self.fault(number, f"byte 0x{byte:02x} is not UTF-8", "save the list as UTF-8 (CSV UTF-8)")
                self._stop()
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
                    "a price takes one line; join them",
                )
                return closing + 1
        self.fault(number, "the quote mark opened on this line is never closed", 'close it with "')
        return len(lines)

    def _header(self, records: Iterator[tuple[int, list[str]]]) -> dict[str, int]:
        line, cells = next(records, (1, []))
        if not cells:
            if not self.problems:
                self.fault(1, "the list is empty", f"its first line names the columns: {','.join(COLUMNS)}")
            self._stop()
        if len(cells) == 1 and (mark := next((m for m in ";\t" if m in cells[0]), "")):
            said = "tabs" if mark == "\t" else "semicolons"
            self.fault(line, f"the columns are parted by {said}", "save it with commas between the columns")
            self._stop()
        self.width = len(cells)
        columns: dict[str, int] = {}
        for place, cell in enumerate(cells):
            column = re.sub(r"[\s_-]+", "_", cell.strip().lower())
            if not column and not any(cells[place:]):
                break
            if column not in COLUMNS:
                self.fault(
                    line,
                    f"no column {cell.strip()[:40]!r}{near(column, COLUMNS)}",
                    f"columns are {listing(COLUMNS, 'and')}",
                )
            elif column in columns:
                self.fault(line, f"column {column} is there twice", "keep one of them")
            columns.setdefault(column, place)
        missing = [column for column in REQUIRED if column not in columns]
        for column in missing:
            self.fault(line, f"column {column} is missing", f"a list has {listing(REQUIRED, 'and')} at least")
        if missing:
            self._stop()
        return {column: place for column, place in columns.items() if column in COLUMNS}

    # -- one price

    def _row(self, line: int, columns: Mapping[str, int], cells: Sequence[str]) -> None:
        before = len(self.problems)
        if (fault := self._uneven(columns, cells)) is not None:
            self.fault(line, *fault)
            return
        said = {
            column: self._cell(line, column, cells[place]) for column, place in columns.items() if place < len(cells)
        }
        for column in REQUIRED:
            if said.get(column) == "" or column not in said:
                self.fault(line, f"{column} is missing", f"a line takes {listing(REQUIRED, 'and')}")
        got = {column: text for column, text in said.items() if text}
        supplier = self._read(line, "supplier", got, lambda text: accept(text, "the supplier"), "")
        item = self._read(line, "item", got, lambda text: accept(text, "the item", limit=ITEM_LIMIT), "")
        price = self._read(line, "price", got, _price, 0)
        pack = self._read(line, "pack", got, _pack, 1)
        seen: date | None = self._read(line, "seen", got, _day, None)
        use = self._read(line, "use", got, use_category, "")
        wood = self._read(line, "wood", got, _wood, "")
        terms = {column: self._read(line, column, got, _TERM_PARSERS[column], None) for column in _TERMS}
        if supplier:
            self._same_spelling(line, supplier)
            self._same_terms(line, supplier, terms)
        if len(self.problems) > before:
            return
        key = (supplier, item, use, wood)
        if key in self.offers:
            self.fault(line, f"the same supplier, item, use and wood as line {self.lines[key]}", "keep one of them")
            return
        self.offers[key] = Offer(supplier, item, price, pack, seen, use, wood)
        self.lines[key] = line

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
        if _KEPT_AS_TEXT.match(text):
            return text[1:]
        number = column in _NUMBERS and text[:1] in ("-", "+")  # a number with a sign has its own refusal
        if raw[:1] == "\t" or (_FORMULA.match(text) and not number):
            self.fault(
                line, f"{column}: {text[:40]!r} starts as a formula does", "write a ' before it if it is meant so"
            )
            return None
        return text

    def _read(self, line: int, column: str, got: Mapping[str, str], parse: Callable[[str], T], default: T) -> T:
        if column not in got:
            return default
        try:
            return parse(got[column])
        except InputError as error:
            self.fault(line, f"{column}: {error.message}", error.hint)
            return default

    def _same_spelling(self, line: int, supplier: str) -> None:
        name, first = self.spelled.setdefault(supplier.casefold(), (supplier, line))
        if name != supplier:
            self.fault(line, f"supplier {supplier[:40]!r} is {name[:40]!r} on line {first}", "write it one way")

    def _same_terms(self, line: int, supplier: str, terms: Mapping[str, int | None]) -> None:
        known = self.terms.setdefault(supplier, {})
        for column, value in terms.items():
            if value is None:
                continue
            there, first = known.setdefault(column, (value, line))
            if there != value:
                self.fault(
                    line,
                    f"{column} of {supplier[:40]} is another one on line {first}",
                    "a supplier has one; say it once",
                )


def _plain(text: str, example: str) -> str:
    """A bare number's text; raises InputError for a currency sign or a comma."""
    if any(unicodedata.category(char) == "Sc" for char in text):
        raise InputError(f"{text[:40]!r} has a currency sign", f"write it like {example}")
    if "," in text:
        raise InputError(
            f"{text[:40]!r} has a comma", f"write a point before the decimals and no other mark, like {example}"
        )
    return text


def _price(text: str) -> int:
    price = parse_price(_plain(text, "14.28"))
    if price == 0:
        raise InputError("0 is not a price", "leave the line out until there is one")
    if price > MOST_PRICE_E4:
        raise InputError(f"{text[:40]!r} is too much for one unit", "at most 1,000,000")
    return price


def _day(text: str) -> date:
    try:
        return parse_day(text)
    except InputError as error:
        raise InputError(error.message, "write it like 2026-05-12 (year-month-day)") from None


def _cents(text: str) -> int:
    return parse_money(_plain(text, "65.00"))


def _whole(least: int, most: int, what: str) -> Callable[[str], int]:
    def parse(text: str) -> int:
        number = parse_count(text, what)
        if not least <= number <= most:
            raise InputError(f"{number} is not {what}", f"write a whole number from {least} to {most:,}")
        return number

    return parse


_pack = _whole(1, MOST_PACK, "a number of units in a pack")
_TERM_PARSERS: Mapping[str, Callable[[str], int | None]] = {
    "lead_days": _whole(0, MOST_LEAD_DAYS, "a number of working days"),
    "delivery": _cents,
    "minimum": _cents,
}


def _wood(text: str) -> str:
    """The wood as the jobs name it: a structural species group, else a tree."""
    try:
        return species(text).name
    except InputError as error:
        try:
            return find_timber(text).name
        except InputError:
            raise error from None


def format_prices(book: PriceBook) -> str:
    """The price book as a list that ``parse_prices`` reads back; each supplier's terms stand on its first line."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    told: set[str] = set()
    for offer in sorted(book.offers, key=lambda o: (o.supplier, o.item, o.use, o.wood)):
        terms = ["", "", ""]
        if offer.supplier not in told:
            told.add(offer.supplier)
            known = book.terms_of(offer.supplier)
            terms = [str(known.lead_days), _money(known.delivery_cents), _money(known.minimum_cents)]
        seen = offer.seen.isoformat() if offer.seen else ""
        price = format_price(offer.price_e4)
        row = [
            _as_text(offer.supplier),
            _as_text(offer.item),
            price,
            str(offer.pack),
            seen,
            offer.use,
            offer.wood,
            *terms,
        ]
        writer.writerow(row)
    return out.getvalue()


def _as_text(cell: str) -> str:
    return f"'{cell}" if _FORMULA.match(cell) or _KEPT_AS_TEXT.match(cell) else cell


def _money(cents: int) -> str:
    return f"{cents // 100}.{cents % 100:02d}"
