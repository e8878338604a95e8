"""What a take-off is made of: lines of material, and the cut pieces behind a line of lumber."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from tracker.errors import InputError
from tracker.trade.lengths import FOOT, INCH, MM
from tracker.trade.lumber import is_metric, size_name


@dataclass(frozen=True, slots=True)
class Piece:
    """Cut pieces of one length; ``what`` says where they go; ``whole`` ones are stock boards left uncut."""

    length_nm: int
    quantity: int
    what: str
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Loose:
    """What is bought in boxes, rolls or whole measures, before it goes into them: ``amount`` of something, ``each`` holds so
    much of it. Spares are in the amount.
    """

    amount: float
    each: float

    @property
    def whole(self) -> int:
        """How many it takes."""
        return math.ceil(self.amount / self.each - 1e-9)


def together(parts: Iterable[Loose]) -> Loose | None:
    """The parts as one, to be packed once; None when there are none or they do not go into one kind of box."""
    parts = tuple(parts)
    if len({part.each for part in parts}) != 1:
        return None
    return Loose(sum(part.amount for part in parts), parts[0].each)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of material.

    ``item`` is its stable key: a lumber size (``2x8``) before the boards to buy are chosen, then size x stock length
    (``2x8x12``), or goods (``cloth``, ``nails 16d``). ``quantity`` counts ``unit``s; ``phase`` is the key of the phase
    it is for; ``working`` says in words where the quantity comes from; ``pieces`` are the cut pieces of lumber; ``wood``
    is their species and grade. ``loose`` is what goes into the boxes or rolls that ``quantity`` counts.
    """

    item: str
    title: str
    quantity: int
    unit: str
    phase: str
    platform: str
    working: tuple[str, ...]
    pieces: tuple[Piece, ...] = ()
    use_category: str = ""
    wood: str = ""
    loose: Loose | None = None


def stock_key(size: str, length_nm: int) -> str:
    """The item key of a stock board: ``2x8x12`` (nominal size, feet), ``45x195x3600`` (millimetres)."""
    bare = size.removeprefix("composite ")
    if is_metric(bare):
        return f"{size}x{length_nm // MM}"
    feet, rest = divmod(length_nm, FOOT)
    if not rest:
        return f"{size}x{feet}"
    return f"{size}x{feet}ft{rest / INCH:g}in"


_FEET = re.compile(r"(?P<size>.+)x(?P<feet>[0-9]+)(?:ft(?P<inches>[0-9.]+)in)?")
_MILLIMETRES = re.compile(r"(?P<size>.+)x(?P<mm>[0-9]+)")


def stock_size(item: str) -> tuple[str, int] | None:
    """The size and length of a stock board's item key (``2x8x12`` is ``2x8``, 12 ft); None for goods."""
    if (match := _MILLIMETRES.fullmatch(item)) and _is_size(match["size"], metric=True):
        return match["size"], int(match["mm"]) * MM
    if (match := _FEET.fullmatch(item)) and _is_size(match["size"], metric=False):
        return match["size"], int(match["feet"]) * FOOT + int(Fraction(match["inches"] or 0) * INCH)
    return None


def item_name(text: str) -> str:
    """What somebody typed for an item, as the take-off names it: ``2X8X12`` and ``2 x 8 x 12'`` are ``2x8x12``.

    Goods, and what is no board, stay as they were typed, without spaces at the ends.
    """
    raw = text.strip()
    plain = re.sub(r"\s*[x×*]\s*", "x", " ".join(raw.lower().split()))
    plain = re.sub(r"(?<=\d)\s*(?:'|ft|mm)$", "", plain)
    composite = "composite " if plain.startswith("composite ") else ""
    size, mark, length = plain.removeprefix("composite ").rpartition("x")
    try:
        named = f"{composite}{size_name(size)}{mark}{length}"
    except InputError:
        return raw
    return named if stock_size(named) is not None else raw


def _is_size(text: str, *, metric: bool) -> bool:
    try:
        return is_metric(text.removeprefix("composite ")) is metric
    except InputError:
        return False
