"""A price list as text: comma-separated values (RFC 4180) to offers and terms, and back. Pure.

Every fault is found with its line and column, the first ``MOST_FAULTS`` of them at once, and nothing of a faulty list is
given out. Cells that a spreadsheet would run as a formula are refused; what is written out so that it stays text (a leading
``'``) is read back as it was.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from tracker.errors import InputError
from tracker.planning.csvlines import Reading, Shape, bare_number, marked, price_of
from tracker.planning.pricing import Offer, PriceBook, format_price
from tracker.text import accept, listing
from tracker.trade.dates import parse_day
from tracker.trade.lumber import species, use_category
from tracker.trade.material import item_name
from tracker.trade.money import parse_money
from tracker.trade.movement import find_timber
from tracker.trade.readings import parse_count

COLUMNS = ("supplier", "item", "price", "pack", "seen", "use", "wood", "lead_days", "delivery", "minimum")
"""The columns as they are written; the first three must be there."""
REQUIRED = COLUMNS[:3]
LARGEST_FILE = 8 * 2**20
ITEM_LIMIT = 80
MOST_PACK = 100_000
MOST_LEAD_DAYS = 366

_TERMS = COLUMNS[7:]
_SHAPE = Shape(
    COLUMNS, REQUIRED, frozenset({"price", "pack", *_TERMS}), "price list", "a price",
    "nothing was taken; correct the list and take it again", LARGEST_FILE,
)  # fmt: skip


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
    return _Prices(name, _SHAPE).whole(data)


@dataclass(slots=True)
class _Prices(Reading):
    """One price list while it is read."""

    offers: dict[tuple[str, str, str, str], Offer] = field(default_factory=dict)
    lines: dict[tuple[str, str, str, str], int] = field(default_factory=dict)
    spelled: dict[str, tuple[str, int]] = field(default_factory=dict)
    terms: dict[str, dict[str, tuple[int, int]]] = field(default_factory=dict)

    def whole(self, data: bytes) -> PriceList:
        columns, records = self.begin(data)
        for line, cells in records:
            self._row(line, columns, cells)
        if not self.offers and not self.problems:
            self.fault(1, "no prices under the header", "give each price a line of its own")
        if self.problems:
            self.stop()
        stated = {
            supplier: StatedTerms(*(said[column][0] if column in said else None for column in _TERMS))
            for supplier, said in self.terms.items()
        }
        return PriceList(tuple(self.offers.values()), stated)

    # -- one price

    def _row(self, line: int, columns: Mapping[str, int], cells: Sequence[str]) -> None:
        before = len(self.problems)
        if (said := self.said(line, columns, cells)) is None:
            return
        for column in REQUIRED:
            if said.get(column) == "" or column not in said:
                self.fault(line, f"{column} is missing", f"a line takes {listing(REQUIRED, 'and')}")
        got = {column: text for column, text in said.items() if text}
        supplier = self.read(line, "supplier", got, lambda text: accept(text, "the supplier"), "")
        item = self.read(line, "item", got, lambda text: item_name(accept(text, "the item", limit=ITEM_LIMIT)), "")
        price = self.read(line, "price", got, price_of, 0)
        pack = self.read(line, "pack", got, _pack, 1)
        seen: date | None = self.read(line, "seen", got, _day, None)
        use = self.read(line, "use", got, use_category, "")
        wood = self.read(line, "wood", got, _wood, "")
        terms = {column: self.read(line, column, got, _TERM_PARSERS[column], None) for column in _TERMS}
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


def _day(text: str) -> date:
    try:
        return parse_day(text)
    except InputError as error:
        raise InputError(error.message, "write it like 2026-05-12 (year-month-day)") from None


def _cents(text: str) -> int:
    return parse_money(bare_number(text, "65.00"))


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
            marked(offer.supplier),
            marked(offer.item),
            price,
            str(offer.pack),
            seen,
            offer.use,
            offer.wood,
            *terms,
        ]
        writer.writerow(row)
    return out.getvalue()


def _money(cents: int) -> str:
    return f"{cents // 100}.{cents % 100:02d}"
