"""Ordering a line of what is to buy: how many, from whom, for when; shared out over the jobs that need it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

from tracker.book.buyviews import Purchase, PurchaseLine
from tracker.book.views import Recorded
from tracker.reports.words import pieces
from tracker.screens.asking import Blank, Blanks
from tracker.screens.countask import on_purpose
from tracker.screens.desk import Desk
from tracker.text import accept, clean, listing
from tracker.trade.dates import format_day, parse_day
from tracker.trade.readings import parse_count


def ask_order(desk: Desk, bought: Purchase, line: PurchaseLine, done: Callable[[Recorded | None], None]) -> None:
    """Ask how many, from whom and for when, all filled in already; then order."""
    from tracker.book.lots import order_shared

    jobs = list(dict.fromkeys(part.job for part in line.parts))
    promised = bought.promised_by(desk.today)

    async def act(texts: Mapping[str, str], entry: str) -> Recorded:
        number = parse_count(texts["count"], f"a number of {line.unit}s")
        counts = line.shares(number) or {jobs[0]: number}
        supplier = accept(texts["supplier"], "the supplier", empty=True)
        day = parse_day(texts["promised"], desk.today) if texts["promised"].strip() else None
        return await on_purpose(
            desk,
            lambda anyway: desk.ask(
                order_shared, desk.hand(), line.item, counts, supplier, day, line.wood, anyway=anyway, entry_id=entry
            ),
        )

    blanks = [
        Blank("count", "how many", str(line.packed), read=partial(_count_words, line)),
        Blank("supplier", "from whom", bought.supplier, "nobody named"),
        Blank(
            "promised", "promised for", promised.isoformat() if promised else "", "no day",
            read=lambda text: f"= {format_day(parse_day(text, desk.today), desk.today)}",
        ),
    ]  # fmt: skip
    heading = f"Order {clean(line.title)} for {listing(jobs, 'and')}"
    desk.push_screen(Blanks(heading, blanks, act, help_text="Enter goes on; ctrl+s orders at once."), done)


def _count_words(line: PurchaseLine, text: str) -> str:
    number = parse_count(text, f"a number of {line.unit}s")
    said = f"= {pieces(number, line.unit)}"
    packed = -(-number // line.pack) * line.pack
    if packed != number:
        return f"{said}; sold by {line.pack}, so {packed} would come"
    if number < line.quantity:
        return f"{said}; {line.quantity} needed"
    got = line.shares(number)
    return f"{said}: {', '.join(f'{n} for {job}' for job, n in got.items())}" if len(got) > 1 else said
