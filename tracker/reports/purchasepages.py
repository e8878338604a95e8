"""What is left to buy: by supplier and by how it presses, as a page, as plain values and as a list (CSV)."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from itertools import groupby

from tracker.book.buyviews import Purchase, PurchaseLine
from tracker.planning.bounds import Bound, goods_words
from tracker.planning.csvlines import marked
from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.reports.words import job_codes, pieces
from tracker.text import clean, count, listing
from tracker.trade.answer import Plain
from tracker.trade.dates import format_day
from tracker.trade.money import format_money

NO_SUPPLIER = "No supplier named"
COLUMNS = (
    "supplier", "urgency", "item", "title", "unit", "use", "needed", "pack", "buy", "cost", "order_by", "needed_on",
    "holds", "price_old", "jobs", "wood",
)  # fmt: skip


def buy_page(purchases: Sequence[Purchase], day: date) -> Page:
    """What is left to buy on ``day``, supplier by supplier, the most pressing first."""
    lines = [line for purchase in purchases for line in purchase.lines]
    if not lines:
        return (Line("Nothing left to buy: everything needed is used, on hand or on order.", Tone.GOOD),)
    late = sum(line.urgency == "late" for line in lines)
    head = f"{count(len(lines), 'item')} to buy"
    head += f", {late} of them late" if late else ""
    head += f": {sum_of(lines)}"
    out: list[Line | Grid] = [Line(head, Tone.TITLE)]
    for purchase in purchases:
        out += _purchase(purchase, day)
    out.append(BLANK)
    if unproven := [line.item for line in lines if not line.proven]:
        out.append(Line(f"from cut plans not proven the cheapest yet: {listing(unproven, 'and')}", Tone.CARE))
    if any(line.stale for line in lines):
        out.append(
            Line("OLD: the price was seen longer ago than the house rule price_days says; ask again.", Tone.CARE)
        )
    return (*out, Line("Order by the name in the third column: deckjobs order JOB ITEM COUNT", Tone.QUIET))


def _purchase(purchase: Purchase, day: date) -> Iterator[Line | Grid]:
    yield BLANK
    yield Line("; ".join(_terms(purchase)), Tone.TITLE)
    if purchase.supplier and purchase.short_of_minimum_cents:
        short, least = format_money(purchase.short_of_minimum_cents), format_money(purchase.minimum_cents)
        yield Line(f"least order of {least} not reached: {short} short", Tone.CARE, indent=2)
    for urgency, found in groupby(purchase.lines, lambda line: line.urgency):
        group = list(found)
        yield Line(urgency_words(group[0], purchase, day), Tone.BAD if urgency == "late" else Tone.TITLE, 2)
        rows = tuple(
            (
                pieces(line.packed, line.unit),
                line.title,
                line.item,
                _cost(line),
                format_day(line.needed_on, day),
                job_codes(part.job for part in line.parts),
            )
            for line in group
        )
        tones = tuple(Tone.CARE if line.stale else Tone.PLAIN for line in group)
        yield Grid(("buy", "", "item", "cost", "needed", "for"), rows, frozenset({3}), indent=4, tones=tones)
        for waiting in dict.fromkeys(waiting for line in group for waiting in line.waits):
            items = dict.fromkeys(line.item for line in group if waiting in line.waits)
            yield Line(f"holds {waiting}: {listing(items, 'and')}", Tone.BAD, 4)
        for line in group:
            if line.packed != line.quantity:
                packs = f"{line.packed // line.pack} x {line.pack}"
                yield Line(f"{line.item} comes in packs: {packs}, {line.quantity} needed", Tone.QUIET, 4)


def sum_of(lines: Sequence[PurchaseLine]) -> str:
    """What lines cost in all: ``at least $43.00, 2 goods not priced``; only the latter when none has a price."""
    known = [line.cost_cents for line in lines if line.cost_cents is not None]
    missing = len({line.item for line in lines if line.cost_cents is None})
    if not missing:
        return format_money(sum(known))
    return f"{Bound.LEAST.money(sum(known))}, {goods_words(missing)}" if known else goods_words(missing)


def cost_words(purchase: Purchase) -> str:
    """What is to be bought from one supplier comes to."""
    return sum_of(purchase.lines)


def _terms(purchase: Purchase) -> Iterator[str]:
    yield purchase.supplier or NO_SUPPLIER
    yield cost_words(purchase)
    if purchase.supplier:
        lead = purchase.lead_days
        yield f"{count(lead, 'working day')} to deliver" if lead else "same day"
    if purchase.delivery_cents:
        yield f"{format_money(purchase.delivery_cents)} for delivery"


def urgency_words(line: PurchaseLine, purchase: Purchase, day: date) -> str:
    """What to do about a line: order it when the supplier takes days to deliver, else pick it up, and by when."""
    do = "order" if purchase.lead_days else "pick up" if purchase.supplier else "buy"
    if line.urgency == "late":
        return f"LATE: {do} now"
    if line.urgency == "can wait":
        return f"can wait: {do} by {format_day(line.order_by, day)} or later"
    if line.order_by <= day:
        return f"{do} today"
    return f"{do} tomorrow" if line.order_by == day + timedelta(days=1) else f"{do} {format_day(line.order_by, day)}"


def _cost(line: PurchaseLine) -> str:
    if line.cost_cents is None:
        return "no price"
    return format_money(line.cost_cents) + (" OLD" if line.stale else "")


def only_from(purchases: Sequence[Purchase], supplier: str) -> tuple[Purchase, ...]:
    """The purchases from one supplier, by name in any case."""
    wanted = supplier.strip().casefold()
    return tuple(purchase for purchase in purchases if purchase.supplier.casefold() == wanted)


def purchase_json(purchase: Purchase) -> dict[str, Plain]:
    """One supplier's purchases as plain values."""
    return {
        "supplier": purchase.supplier,
        "lead_days": purchase.lead_days,
        "delivery_cents": purchase.delivery_cents,
        "minimum_cents": purchase.minimum_cents,
        "cost_cents": purchase.cost_cents,
        "cost_bound": purchase.cost_bound.value,
        "without_price": purchase.unpriced,
        "short_of_minimum_cents": purchase.short_of_minimum_cents,
        "lines": [_line_json(line) for line in purchase.lines],
    }


def _line_json(line: PurchaseLine) -> dict[str, Plain]:
    return {
        "item": line.item,
        "title": line.title,
        "unit": line.unit,
        "use_category": line.use_category,
        "wood": line.wood,
        "price_e4": line.price_e4,
        "needed": line.quantity,
        "pack": line.pack,
        "buy": line.packed,
        "cost_cents": line.cost_cents,
        "order_by": line.order_by.isoformat(),
        "needed_on": line.needed_on.isoformat(),
        "urgency": line.urgency,
        "holds": line.holds,
        "price_old": line.stale,
        "proven": line.proven,
        "parts": [
            {
                "job": part.job,
                "phase": part.phase,
                "quantity": part.quantity,
                "needed_on": part.needed_on.isoformat(),
            }
            for part in line.parts
        ],
    }


def buy_csv(purchases: Sequence[Purchase]) -> str:
    """The purchases as a list (RFC 4180): numbers as numbers, texts so that no spreadsheet runs one as a formula."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for purchase in purchases:
        for line in purchase.lines:
            cost = "" if line.cost_cents is None else f"{line.cost_cents // 100}.{line.cost_cents % 100:02d}"
            jobs = "; ".join(f"{part.job} {part.phase} {part.quantity}" for part in line.parts)
            texts = [purchase.supplier, line.urgency, line.item, line.title, line.unit, line.use_category]
            writer.writerow(
                [*(marked(clean(text)) for text in texts), line.quantity, line.pack, line.packed, cost,
                 line.order_by.isoformat(), line.needed_on.isoformat(), marked(clean(line.holds)),
                 "yes" if line.stale else "no", marked(clean(jobs)), marked(clean(line.wood))]
            )  # fmt: skip
    return out.getvalue()
