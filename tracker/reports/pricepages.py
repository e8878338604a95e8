"""The price book as a page and as plain values: what each supplier asks, how old that is, and on which terms."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date

from tracker.book.buyviews import PricesTaken
from tracker.planning.pricing import Offer, PriceBook, Terms, format_price, stale
from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.text import count
from tracker.trade.answer import Plain
from tracker.trade.money import format_money


def only(prices: PriceBook, text: str) -> PriceBook:
    """The prices whose item holds ``text``, and the terms of their suppliers."""
    wanted = text.strip().casefold()
    offers = tuple(offer for offer in prices.offers if wanted in offer.item.casefold())
    sellers = {offer.supplier for offer in offers}
    return PriceBook(offers, {name: terms for name, terms in prices.terms.items() if name in sellers})


def prices_page(prices: PriceBook, today: date, days: int) -> Page:
    """The price book by item, the cheapest first; a price seen more than ``days`` days ago says OLD."""
    if not prices.offers:
        return (Line("No prices. Take a list (CSV) with: deckjobs prices FILE"),)
    offers = sorted(prices.offers, key=_by_item)
    old = [stale(offer, today, days) for offer in offers]
    head = f"{count(len(offers), 'price')} from {count(len({o.supplier for o in offers}), 'supplier')}"
    head += f", {sum(old)} OLD (seen more than {count(days, 'day')} ago)" if any(old) else ""
    rows = tuple(
        (
            offer.item,
            _kind(offer),
            f"${format_price(offer.price_e4)}",
            _pack(offer),
            offer.supplier,
            _seen(offer, today, flagged),
        )
        for offer, flagged in zip(offers, old, strict=True)
    )
    tones = tuple(Tone.CARE if flagged else Tone.PLAIN for flagged in old)
    grid = Grid(("item", "only for", "price", "packs of", "supplier", "seen"), rows, frozenset({2, 3}), tones=tones)
    return (Line(head, Tone.TITLE), BLANK, grid, BLANK, *_terms(prices.terms.values()))


def _by_item(offer: Offer) -> tuple[object, ...]:
    """Sizes in order of their numbers: ``2x8x8`` before ``2x8x12``."""
    parts = [(part.isdigit(), int(part) if part.isdigit() else 0, part) for part in re.split(r"([0-9]+)", offer.item)]
    return parts, offer.use, offer.wood, offer.price_e4, offer.supplier


def _kind(offer: Offer) -> str:
    return " ".join(word for word in (offer.use, offer.wood) if word)


def _pack(offer: Offer) -> str:
    return "" if offer.pack == 1 else str(offer.pack)


def _seen(offer: Offer, today: date, flagged: bool) -> str:
    if offer.seen is None:
        return "day not noted"
    if offer.seen > today:
        return f"{offer.seen} (after today)"
    return f"{offer.seen} OLD" if flagged else f"{offer.seen}"


def _terms(terms: Iterable[Terms]) -> Iterable[Line]:
    for each in sorted(terms, key=lambda t: t.supplier):
        lead = f"{count(each.lead_days, 'working day')} to deliver" if each.lead_days else "same day"
        charge = f"delivery {format_money(each.delivery_cents)}" if each.delivery_cents else "no delivery charge"
        least = f"least order {format_money(each.minimum_cents)}" if each.minimum_cents else "no least order"
        yield Line(f"{each.supplier}: {lead}, {charge}, {least}")


def taken_text(taken: PricesTaken) -> str:
    """What taking a list did, in a line."""
    text = f"{taken.new} new, {taken.changed} changed, {taken.unchanged} unchanged"
    text += f"; {count(taken.suppliers_new, 'new supplier')}" if taken.suppliers_new else ""
    return text + (f"; terms of {count(taken.terms_changed, 'supplier')} changed" if taken.terms_changed else "")


def taken_json(taken: PricesTaken) -> dict[str, Plain]:
    """What taking a list did, as plain values."""
    return {
        "new": taken.new,
        "changed": taken.changed,
        "unchanged": taken.unchanged,
        "suppliers_new": taken.suppliers_new,
        "terms_changed": taken.terms_changed,
    }


def prices_json(prices: PriceBook, today: date, days: int) -> dict[str, Plain]:
    """The price book as plain values."""
    return {
        "day": today.isoformat(),
        "price_days": days,
        "prices": [
            {
                "supplier": offer.supplier,
                "item": offer.item,
                "use_category": offer.use,
                "wood": offer.wood,
                "price_e4": offer.price_e4,
                "pack": offer.pack,
                "seen": offer.seen.isoformat() if offer.seen else None,
                "old": stale(offer, today, days),
            }
            for offer in sorted(prices.offers, key=_by_item)
        ],
        "suppliers": [
            {
                "supplier": terms.supplier,
                "lead_days": terms.lead_days,
                "delivery_cents": terms.delivery_cents,
                "minimum_cents": terms.minimum_cents,
            }
            for terms in sorted(prices.terms.values(), key=lambda t: t.supplier)
        ],
    }
