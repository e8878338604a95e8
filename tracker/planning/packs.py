"""Whole packs: the one place that says how many units are bought to have so many, and what they cost. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tracker.planning.cents import share_out
from tracker.planning.pricing import Offer, PriceBook
from tracker.trade.material import Line
from tracker.trade.money import line_total


def packs(quantity: int, pack: int) -> int:
    """Units bought to have ``quantity``: whole packs of ``pack``."""
    return -(-quantity // pack) * pack


def packs_cents(quantity: int, price_e4: int, pack: int) -> int:
    """Cents for at least ``quantity`` units in whole packs, at ``price_e4`` ten-thousandths a unit."""
    return line_total(packs(quantity, pack), price_e4)


@dataclass(frozen=True, slots=True)
class PricedLine:
    """A line of material with its share of what all lines of its kind cost together in whole packs.

    ``offer`` and ``cents`` are None where nobody prices it. ``needed`` and ``packed`` count all lines of the kind.
    """

    line: Line
    offer: Offer | None
    cents: int | None
    needed: int
    packed: int


def priced_lines(lines: Iterable[Line], prices: PriceBook) -> tuple[PricedLine, ...]:
    """Price the lines of one job: item, wood and use category alike go into whole packs together, whatever the phase.

    The shares of a kind add up to the cent, by the units each line needs.
    """
    lines = tuple(lines)
    groups: dict[tuple[str, str, str], list[int]] = {}
    for at, line in enumerate(lines):
        groups.setdefault((line.item, line.wood, line.use_category), []).append(at)
    out: dict[int, PricedLine] = {}
    for (item, wood, use), ats in groups.items():
        offer = prices.best(item, use, wood)
        needed = sum(lines[at].quantity for at in ats)
        shares: Sequence[int | None] = [None] * len(ats)
        if offer is not None:
            cents = packs_cents(needed, offer.price_e4, offer.pack)
            shares = share_out(cents, [lines[at].quantity for at in ats])
        for at, share in zip(ats, shares, strict=True):
            out[at] = PricedLine(lines[at], offer, share, needed, packs(needed, offer.pack) if offer else needed)
    return tuple(out[at] for at in range(len(lines)))
