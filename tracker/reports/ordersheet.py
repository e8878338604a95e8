"""An order sheet for each supplier, as plain text for paper: what, how many, on site by when, at what price."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from tracker.book.buyviews import Purchase
from tracker.reports.page import BLANK, Grid, Line, Page, plain
from tracker.reports.purchasepages import cost_words
from tracker.reports.words import pieces
from tracker.trade.dates import format_day, format_long_day
from tracker.trade.money import format_money

NEW_PAGE = "\f"
TO_SIGN = "." * 28


def order_sheets(purchases: Sequence[Purchase], day: date, who: str) -> str:
    """The sheets one after another, each on a page of its own."""
    return NEW_PAGE.join(plain(order_sheet(purchase, day, who)) for purchase in purchases)


def order_sheet(purchase: Purchase, day: date, who: str) -> Page:
    """One supplier's sheet, what is needed first on top."""
    lines = sorted(purchase.lines, key=lambda line: (line.needed_on, line.item))
    rows = tuple(
        (
            pieces(line.packed, line.unit),
            line.title,
            line.item,
            format_day(line.needed_on, day),
            "to be asked" if line.cost_cents is None else format_money(line.cost_cents),
            ", ".join(["old price"] * line.stale + [f"packs of {line.pack}"] * (line.pack > 1)),
        )
        for line in lines
    )
    jobs = sorted({part.job for line in lines for part in line.parts})
    out: list[Line | Grid] = [
        Line(f"ORDER to {purchase.supplier or TO_SIGN}"),
        Line(f"{format_long_day(day)}, from {who}"),
        Line(f"for {', '.join(jobs)}"),
        BLANK,
        Grid(("quantity", "what", "item", "on site before", "cost", ""), rows, frozenset({4})),
        BLANK,
        Line(f"Goods: {cost_words(purchase)}"),
    ]
    if purchase.delivery_cents:
        both = purchase.cost_cents + purchase.delivery_cents
        in_all = purchase.cost_bound.money(both)
        out.append(Line(f"Delivery: {format_money(purchase.delivery_cents)}; in all {in_all}"))
    if purchase.short_of_minimum_cents:
        least, short = format_money(purchase.minimum_cents), format_money(purchase.short_of_minimum_cents)
        out.append(Line(f"Least order: {least}; {short} short of it"))
    tags = sorted({line.use_category for line in lines if line.use_category})
    if tags:
        out.append(Line(f"Treated wood: every board tagged for its use category ({', '.join(tags)}) or better."))
    return (*out, BLANK, Line(f"Taken by {TO_SIGN}  on {TO_SIGN[:16]}"))
