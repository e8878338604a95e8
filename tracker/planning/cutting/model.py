"""What a cut plan is asked from and what it is: lengths wanted, boards to be had, sticks with their cuts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from tracker.errors import InputError
from tracker.text import count
from tracker.trade.lengths import Unit, exact_text

MOST_PIECES = 50_000
MOST_LENGTHS = 400
MOST_STOCKS = 200
DEAREST_E4 = 10**10


@dataclass(frozen=True, slots=True)
class Need:
    """Pieces of one length; ``what`` says where they go; ``whole`` ones are boards of that length left uncut."""

    length_nm: int
    quantity: int
    what: str = ""
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Stock:
    """Boards of one length to be had at a price each, in ten-thousandths of the currency unit.

    ``limit`` is how many there are (offcuts, a lot on hand); None when the yard has enough. Only stock with a limit may
    cost nothing.
    """

    length_nm: int
    cost_e4: int
    limit: int | None = None
    name: str = ""


@dataclass(frozen=True, slots=True, order=True)
class Cut:
    """One piece of a stick: its length and where it goes."""

    length_nm: int
    what: str = ""


@dataclass(frozen=True, slots=True)
class Stick:
    """One board and the pieces cut from it, longest first; ``left_nm`` falls off beyond the last kerf."""

    stock: Stock
    cuts: tuple[Cut, ...]
    left_nm: int

    @property
    def cuts_nm(self) -> tuple[int, ...]:
        """The lengths of the pieces."""
        return tuple(cut.length_nm for cut in self.cuts)

    @property
    def whole(self) -> bool:
        """Whether the board is used as it is, with no cut and no trimmed end."""
        return self.cuts_nm == (self.stock.length_nm,)


@dataclass(frozen=True, slots=True)
class CutPlan:
    """The sticks, longest stock first, with what they cost and what the cheapest plan costs at least.

    ``proven`` says that no plan is cheaper (``bound_e4 == cost_e4``). ``first_e4`` is the cost of the best quick plan,
    longest piece first, for comparison. ``boards_at_least`` is the fewest boards any plan has, where that was asked.
    """

    cost_e4: int
    bound_e4: int
    sticks: tuple[Stick, ...]
    kerf_nm: int
    trim_nm: int
    first_e4: int
    boards_at_least: int = 0

    @property
    def proven(self) -> bool:
        """Whether no plan can be cheaper."""
        return self.bound_e4 == self.cost_e4

    @property
    def gap_e4(self) -> int:
        """How much cheaper a plan could be at most."""
        return self.cost_e4 - self.bound_e4

    @property
    def bought(self) -> Mapping[Stock, int]:
        """How many boards of each stock, longest first."""
        return dict(Counter(stick.stock for stick in self.sticks))

    @property
    def longest_left_nm(self) -> int:
        """The longest single piece that falls off."""
        return max((stick.left_nm for stick in self.sticks), default=0)

    @property
    def patterns(self) -> int:
        """How many different ways to cut a board the saw is set for."""
        return len({(stick.stock.length_nm, stick.cuts_nm) for stick in self.sticks})

    @property
    def waste_nm(self) -> int:
        """Paid for or taken but in no piece: offcuts, kerfs and trimmed ends."""
        return sum(stick.stock.length_nm - sum(stick.cuts_nm) for stick in self.sticks)


def keeps_mill_end(length_nm: int, stock_nm: int, trim_nm: int, longest_nm: int) -> bool:
    """Whether a lone piece may come from a board without its end being trimmed.

    It may when it is the whole board, or when no board is long enough to give it trimmed (common practice).
    """
    return length_nm == stock_nm or (length_nm < stock_nm and length_nm + trim_nm > longest_nm)


def checked(needs: Iterable[Need], stocks: Iterable[Stock], kerf_nm: int, trim_nm: int, unit: Unit) -> None:
    """Raise InputError for anything that no plan can be made of, naming it with lengths in ``unit``."""
    needs, stocks = tuple(needs), tuple(stocks)
    if kerf_nm < 0 or trim_nm < 0:
        raise InputError("kerf and trim cannot be less than nothing", "give 0 for none")
    if not stocks:
        raise InputError("there is no stock to cut from", "give at least one stock length with its price")
    for stock in stocks:
        _check_stock(stock, exact_text(stock.length_nm, unit))
    for need in needs:
        size = exact_text(need.length_nm, unit)
        if need.length_nm <= 0:
            raise InputError(f"a piece of {size} cannot be cut", "give a length above nothing")
        if need.quantity <= 0:
            raise InputError(f"{need.quantity} pieces of {size} cannot be cut", "give 1 or more, or leave it out")
    pieces = sum(need.quantity for need in needs)
    if pieces > MOST_PIECES:
        raise InputError(f"{pieces:,} pieces are more than {MOST_PIECES:,}", "plan them in parts")
    lengths = len({(need.length_nm, need.whole) for need in needs})
    if lengths > MOST_LENGTHS:
        raise InputError(f"{lengths} different lengths are more than {MOST_LENGTHS}", "plan them in parts")
    if len(set(stocks)) > MOST_STOCKS:
        raise InputError(f"{len(set(stocks))} different stocks are more than {MOST_STOCKS}", "leave some out")
    longest = max(stock.length_nm for stock in stocks)
    for need in sorted(needs, key=lambda need: -need.length_nm):
        named = f"a piece of {exact_text(need.length_nm, unit)}" + (f" ({need.what})" if need.what else "")
        if need.length_nm > longest:
            raise InputError(
                f"{named} is longer than the longest stock, {exact_text(longest, unit)}",
                "splice it over a support, or add a longer stock length",
            )
        if need.whole and all(stock.length_nm != need.length_nm for stock in stocks):
            raise InputError(
                f"{named} must stay whole, and no stock is that long", "add that stock length, or let it be cut"
            )


def _check_stock(stock: Stock, size: str) -> None:
    if stock.length_nm <= 0:
        raise InputError(f"a stock length of {size} cannot be cut", "give a length above nothing")
    if stock.cost_e4 < 0:
        raise InputError(f"the price of the {size} stock is negative", "give what one board costs")
    if stock.cost_e4 > DEAREST_E4:
        raise InputError(f"the price of the {size} stock is more than 1,000,000", "give what one board costs")
    if stock.limit is None and stock.cost_e4 == 0:
        raise InputError(
            f"the {size} stock has no price", "give what one board costs; stock on hand at no cost needs its number"
        )
    if stock.limit is not None and stock.limit <= 0:
        raise InputError(f"{count(stock.limit, 'board')} of {size} on hand", "give 1 or more, or leave it out")
