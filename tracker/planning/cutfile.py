"""A list of pieces and boards as text (CSV), for a cut plan without a job. Pure.

Columns: ``kind`` (``need``, ``stock``, ``have``), ``length``, ``quantity``, ``price``. A need has a quantity; a stock has a
price of one board, and a quantity only when the yard has no more; what is on hand has a quantity, and a price only when it
is worth something.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tracker.errors import InputError
from tracker.planning.csvlines import Reading, Shape, price_of
from tracker.planning.cutting.model import MOST_PIECES, Need, Stock
from tracker.text import listing, near
from tracker.trade.lengths import Unit, parse_length
from tracker.trade.readings import parse_count

COLUMNS = ("kind", "length", "quantity", "price")
KINDS = ("need", "stock", "have")
ON_HAND = "on hand"
LARGEST_FILE = 2 * 2**20

_SHAPE = Shape(
    COLUMNS, COLUMNS, frozenset({"length", "quantity", "price"}), "list of pieces and boards", "a line of it",
    "nothing was planned; correct the list and try again", LARGEST_FILE,
)  # fmt: skip
_TAKES: Mapping[str, tuple[frozenset[str], frozenset[str]]] = {
    "need": (frozenset({"quantity"}), frozenset({"price"})),
    "stock": (frozenset({"price"}), frozenset()),
    "have": (frozenset({"quantity"}), frozenset()),
}
"""For each kind the columns that must be filled, and those that must be blank."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What to cut, and what it may be cut from."""

    needs: tuple[Need, ...]
    stocks: tuple[Stock, ...]


def parse_wanted(data: bytes, name: str, unit: Unit) -> Wanted:
    """The list in ``data``, bare lengths in ``unit``; ``name`` is how errors call it.

    Raises InputErrors with every fault as ``name:line: what; what would be right``.
    """
    return _Wanted(name, _SHAPE, unit=unit).whole(data)


def pieces_of(text: str) -> int:
    """A number of pieces; raises InputError for anything but a whole number from 1."""
    number = parse_count(text, "a number of pieces")
    if not 1 <= number <= MOST_PIECES:
        raise InputError(f"{number} is not a number of pieces", f"write a whole number from 1 to {MOST_PIECES:,}")
    return number


def length_above_nothing(text: str, unit: Unit) -> int:
    """A length in nanometres; raises InputError for anything that is none, or nothing."""
    if (length := parse_length(text, unit)) == 0:
        raise InputError("a length of 0 cannot be cut", "give a length above nothing")
    return length


@dataclass(slots=True)
class _Wanted(Reading):
    """One list while it is read."""

    unit: Unit = Unit.INCH
    needs: list[Need] = field(default_factory=list)
    stocks: list[Stock] = field(default_factory=list)

    def whole(self, data: bytes) -> Wanted:
        columns, records = self.begin(data)
        for line, cells in records:
            self._row(line, columns, cells)
        if self.problems:
            self.stop()
        return Wanted(tuple(self.needs), tuple(self.stocks))

    def _row(self, line: int, columns: Mapping[str, int], cells: Sequence[str]) -> None:
        before = len(self.problems)
        if (said := self.said(line, columns, cells)) is None:
            return
        got = {column: text for column, text in said.items() if text}
        kind = got.get("kind", "").lower()
        if said.get("kind") is not None and kind not in KINDS:
            what = f"kind {kind[:40]!r} is unknown{near(kind, KINDS)}" if kind else "kind is missing"
            self.fault(line, what, f"it is {listing(KINDS)}")
        if kind in KINDS:
            must, blank = _TAKES[kind]
            for column in COLUMNS[1:]:
                if (column in must or column == "length") and said.get(column, "") == "":
                    self.fault(
                        line, f"{column} is missing", f"a {kind} takes {listing(['length', *sorted(must)], 'and')}"
                    )
                if column in blank and column in got:
                    self.fault(line, f"a {kind} has no {column}", "leave the cell blank")
        length = self.read(line, "length", got, lambda text: length_above_nothing(text, self.unit), 0)
        quantity: int | None = self.read(line, "quantity", got, pieces_of, None)
        price = self.read(line, "price", got, price_of, 0)
        if len(self.problems) > before:
            return
        if kind == "need":
            self.needs.append(Need(length, quantity or 1))
        else:
            self.stocks.append(Stock(length, price, quantity, ON_HAND if kind == "have" else ""))
