"""A lot of material in words: its state, its row, all of it."""

from __future__ import annotations

from datetime import date

from tracker.book.views import LotView
from tracker.reports.words import pieces
from tracker.text import clean, count
from tracker.trade.dates import format_day

Column = tuple[str, int, bool]


def state_of(lot: LotView, today: date) -> str:
    """Where a lot stands, in a word or two."""
    if lot.unfit:
        return "unfit"
    if lot.on_order and lot.promised is not None and lot.promised < today:
        return "late"
    if lot.on_order:
        return "part in" if lot.received else "to come"
    if lot.culls:
        return "culls"
    return "here" if lot.on_hand else "used up" if lot.used else "gone"


def columns(width: int, day_room: int = 0) -> list[Column]:
    """The columns that fit a screen of that width, days taking ``day_room`` cells or the usual 11; what is left over belongs to the item."""
    out = [("lot", 6, False), ("left", 4, True), ("to come", 7, True), ("state", 7, False)]
    if width >= 76:
        out[1:1] = [("ordered", 7, True), ("in", 4, True), ("used", 4, True)]
    if width >= 100:
        out += [("promised", max(day_room, 11), False), ("supplier", 16, False)]
    room = width - 4 - sum(size + 2 for _, size, _ in out)
    out.insert(1, ("item", max(min(room - 2, 44), 12), False))
    return out


def cells(lot: LotView, today: date, heads: list[Column]) -> list[str]:
    """The texts of a row under those columns."""
    texts = {
        "lot": lot.code,
        "item": lot.item,
        "ordered": str(lot.ordered),
        "in": str(lot.received + lot.found),
        "used": str(lot.used),
        "left": str(lot.on_hand),
        "to come": str(lot.on_order),
        "state": state_of(lot, today),
        "promised": format_day(lot.promised, today) if lot.promised else "no day",
        "supplier": lot.supplier,
    }
    return [texts[name] for name, _, _ in heads]


def in_full(lot: LotView, phase: str, today: date) -> str:
    """All that is known of a lot; what is wrong with it first."""
    wrong = f"Unfit to use: {lot.unfit_words}.\n" if lot.unfit else ""
    coming = ""
    if lot.on_order:
        day = f", promised {format_day(lot.promised, today)}" if lot.promised else ", no day promised"
        coming = f"{lot.on_order} to come{day}{' and not come' if lot.promised and lot.promised < today else ''}"
    moved = [
        f"{number} {word}"
        for number, word in (
            (lot.used, "used"), (lot.returned, "given back"), (lot.scrapped, "scrapped"), (lot.moved_out, "moved to a job"),
        )
        if number
    ]  # fmt: skip
    parts = [
        f"lot {lot.code}: {lot.item}" + (f" from {lot.supplier}" if lot.supplier else ""),
        f"ordered {pieces(lot.ordered, lot.unit)}, in {lot.received}" if lot.ordered else "",
        f"{lot.canceled} canceled" if lot.canceled else "",
        f"{lot.found} put back or moved in" if lot.found else "",
        *moved,
        f"{lot.on_hand} left" + (f", {lot.usable} fit to use" if lot.culls else ""),
        f"{count(lot.culls, 'cull')} to send back" if lot.culls else "",
        coming,
        f"for {phase.lower()}" if phase else "",
        lot.use_category,
        "sold dry" if lot.dry else "",
    ]
    return clean(wrong + "; ".join(part for part in parts if part), lines=True)
