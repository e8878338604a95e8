"""How firm a figure is when something is left out of it: exact, at least, at most, or not known. Pure.

Goods nobody prices and hours without a rate are in no sum. A cost without them is *at least* what it says, a margin *at
most*; a difference of two such sums may go either way. Every figure says which it is, so that missing data never makes
one look better than it is.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from tracker.text import count, listing
from tracker.trade.money import format_money


class Bound(StrEnum):
    """What a figure is of the true one."""

    EXACT = "exact"
    LEAST = "at least"
    MOST = "at most"
    UNKNOWN = "not known"

    @property
    def other(self) -> Bound:
        """The bound of a figure with its sign turned."""
        return {Bound.LEAST: Bound.MOST, Bound.MOST: Bound.LEAST}.get(self, self)

    def less(self, taken: Bound) -> Bound:
        """The bound of a figure of this bound less one of the bound ``taken``."""
        return self.plus(taken.other)

    def plus(self, added: Bound) -> Bound:
        """The bound of the sum of two figures."""
        if Bound.EXACT in (self, added):
            return added if self is Bound.EXACT else self
        return self if self is added else Bound.UNKNOWN

    def put(self, text: str) -> str:
        """The figure's text with its bound before it; a figure not known says only that."""
        if self is Bound.EXACT:
            return text
        return self.value if self is Bound.UNKNOWN else f"{self.value} {text}"

    def money(self, cents: int) -> str:
        """``at least $1,904.50``."""
        return self.put(format_money(cents))

    def sum_of(self, cents: int) -> str:
        """A sum of costs: ``at least $1,904.50``; ``not priced`` when nothing in it has a price."""
        return self.money(cents) if cents or self is Bound.EXACT else "not priced"


UNRATED = "hours at no rate"


@dataclass(frozen=True, slots=True)
class Gaps:
    """What is left out of a sum of costs: ``goods`` nobody prices, and ``others`` in words (hours at no rate)."""

    goods: tuple[str, ...] = ()
    others: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.goods or self.others)

    def __or__(self, other: Gaps) -> Gaps:
        return Gaps(
            tuple(dict.fromkeys((*self.goods, *other.goods))), tuple(dict.fromkeys((*self.others, *other.others)))
        )

    @property
    def cost(self) -> Bound:
        """What a cost with these gaps is."""
        return Bound.LEAST if self else Bound.EXACT

    @property
    def profit(self) -> Bound:
        """What a margin or a saving with these gaps in its cost is."""
        return self.cost.other

    @property
    def words(self) -> str:
        """``3 goods not priced``; empty when nothing is left out."""
        return ", ".join((*((goods_words(len(self.goods)),) if self.goods else ()), *self.others))

    def at_least(self, cents: int) -> str:
        """``at least $1,904.50, 2 goods not priced``; the bare amount when nothing is left out."""
        return self.tell(self.cost.money(cents))

    def at_most(self, text: str) -> str:
        """``at most 11.5 %, 3 goods not priced``; the bare text when nothing is left out."""
        return self.tell(self.profit.put(text))

    def tell(self, text: str) -> str:
        """The text with what is left out behind it."""
        return f"{text}, {self.words}" if self else text

    @property
    def named(self) -> str:
        """What is left out, by name: ``2 goods not priced, so in no figure: cloth and gravel``; empty when nothing is."""
        said = [f"{goods_words(len(self.goods))}, so in no figure: {listing(self.goods, 'and')}"] if self.goods else []
        said += [f"in no figure: {listing(self.others, 'and')}"] if self.others else []
        return "; ".join(said)


NO_GAPS = Gaps()


def safe_difference(cents: int, one: Bound, other: Bound) -> Bound:
    """What the difference of two sums of these bounds is; not known where it would make one look cheaper than is known."""
    bound = one.less(other)
    too_good = (cents <= 0 and bound is Bound.LEAST) or (cents >= 0 and bound is Bound.MOST)
    return Bound.UNKNOWN if too_good else bound


def goods_words(number: int) -> str:
    """``3 goods not priced``, ``1 item not priced``."""
    return f"{count(number, 'item')} not priced" if number == 1 else f"{number} goods not priced"


def all_gaps(found: Iterable[Gaps]) -> Gaps:
    """What is left out of a sum of several."""
    out = NO_GAPS
    for gaps in found:
        out |= gaps
    return out
