"""Prices as the planning uses them: who sells what, in which packs, at what price seen when, on which terms. Pure.

A price names an item of the take-off (``2x8x12``, ``screws 2-1/2``) and may narrow it by treatment use category and
wood; the narrowest offer that fits is the one that counts.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date


@dataclass(frozen=True, slots=True)
class Terms:
    """A supplier's terms: working days from order to delivery, delivery charge and least order in cents."""

    supplier: str
    lead_days: int = 0
    delivery_cents: int = 0
    minimum_cents: int = 0


@dataclass(frozen=True, slots=True)
class Offer:
    """One price: ``price_e4`` for a unit of the item, sold by ``pack`` units; ``seen`` is None when nobody noted the day.

    An empty ``use`` or ``wood`` fits any.
    """

    supplier: str
    item: str
    price_e4: int
    pack: int = 1
    seen: date | None = None
    use: str = ""
    wood: str = ""

    def fits(self, item: str, use: str = "", wood: str = "") -> bool:
        """Whether this offer sells what is asked; an offer of a species fits every grade of it."""
        right_wood = not self.wood or f"{wood} ".lower().startswith(f"{self.wood} ".lower())
        return self.item == item and self.use in ("", use) and right_wood


@dataclass(frozen=True, slots=True)
class PriceBook:
    """All offers and terms."""

    offers: tuple[Offer, ...] = ()
    terms: Mapping[str, Terms] = field(default_factory=dict)

    def best(self, item: str, use: str = "", wood: str = "") -> Offer | None:
        """The cheapest fitting offer among the narrowest ones; ties go to the supplier first by name."""
        fitting = [offer for offer in self.offers if offer.fits(item, use, wood)]
        if not fitting:
            return None
        return min(fitting, key=lambda o: (-(bool(o.use) + bool(o.wood)), o.price_e4, o.supplier))

    def terms_of(self, supplier: str) -> Terms:
        """A supplier's terms; the easy ones when nobody noted them."""
        return self.terms.get(supplier, Terms(supplier))

    def over(self, offers: Iterable[Offer]) -> PriceBook:
        """This book with a job's own prices laid over it: they count alone for their items."""
        own = tuple(offers)
        items = {offer.item for offer in own}
        return PriceBook((*own, *(offer for offer in self.offers if offer.item not in items)), self.terms)


def stale(offer: Offer, today: date, days: int) -> bool:
    """Whether the price was seen more than ``days`` days before ``today``; with no day noted nobody can tell: False."""
    return offer.seen is not None and (today - offer.seen).days > days


def format_price(price_e4: int) -> str:
    """A unit price as a bare number with two to four decimals: ``18.15``, ``0.0425``."""
    units, rest = divmod(price_e4, 10_000)
    digits = f"{rest:04d}"
    return f"{units}.{digits[:2]}{digits[2:].rstrip('0')}"
