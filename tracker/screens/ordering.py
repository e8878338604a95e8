"""Ordering a line of what is to buy: how many, from whom, for when; shared out over the jobs that need it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from functools import partial
from typing import TYPE_CHECKING

from tracker.book.buyviews import Purchase, PurchaseLine
from tracker.book.hand import Hand
from tracker.book.views import Recorded
from tracker.planning.schedule import WEEKDAYS, WorkCalendar
from tracker.reports.words import pieces
from tracker.screens.asking import Blank, Blanks
from tracker.screens.desk import Desk
from tracker.text import accept, clean, listing
from tracker.trade.dates import format_day, parse_day
from tracker.trade.readings import parse_count

if TYPE_CHECKING:
    from tracker.book.opening import Book


def promised_by(bought: Purchase, today: date) -> date | None:
    """The day a supplier brings what is ordered today: its lead time in working days; None with no supplier."""
    if not bought.supplier:
        return None
    return WorkCalendar(WEEKDAYS).shift(today, bought.lead_days) if bought.lead_days else today


def shares(line: PurchaseLine, number: int) -> dict[str, int]:
    """How ``number`` pieces go to the jobs of a line: what each needs, the earliest day first; the first has the rest."""
    out: dict[str, int] = {}
    left = number
    for part in sorted(line.parts, key=lambda part: (part.needed_on, part.job)):
        got = min(part.quantity, left)
        out[part.job] = out.get(part.job, 0) + got
        left -= got
    out[next(iter(out))] += left
    return {job: got for job, got in out.items() if got}


def order_all(
    book: Book,
    hand: Hand,
    item: str,
    counts: Mapping[str, int],
    supplier: str,
    promised: date | None,
    ids: Sequence[str],
) -> Recorded:
    """Order each job's share under its own entry id, so that ordering again records only what was not yet."""
    from tracker.book.lots import order

    done = [
        order(book, hand, job, item, number, supplier=supplier, promised=promised, entry_id=entry)
        for (job, number), entry in zip(counts.items(), ids, strict=False)
    ]
    text = "; ".join(f"{job} {one.text}" if len(done) > 1 else one.text for job, one in zip(counts, done, strict=True))
    notices = tuple(dict.fromkeys(notice for one in done for notice in one.notices))
    return Recorded(done[0].id, all(one.already for one in done), text, notices)


def ask_order(desk: Desk, bought: Purchase, line: PurchaseLine, done: Callable[[Recorded | None], None]) -> None:
    """Ask how many, from whom and for when, all filled in already; then order."""
    from tracker.book.opening import default_entry_id

    jobs = list(dict.fromkeys(part.job for part in line.parts))
    more = [default_entry_id() for _ in jobs[1:]]
    promised = promised_by(bought, desk.today)

    async def act(texts: Mapping[str, str], entry: str) -> Recorded:
        number = parse_count(texts["count"], f"a number of {line.unit}s")
        counts = shares(line, number) or {jobs[0]: number}
        supplier = accept(texts["supplier"], "the supplier", empty=True)
        day = parse_day(texts["promised"], desk.today) if texts["promised"].strip() else None
        return await desk.ask(order_all, desk.hand(), line.item, counts, supplier, day, [entry, *more])

    blanks = [
        Blank("count", "how many", str(line.packed), read=partial(_count_words, line)),
        Blank("supplier", "from whom", bought.supplier, "nobody named"),
        Blank(
            "promised", "promised for", promised.isoformat() if promised else "", "no day",
            read=lambda text: f"= {format_day(parse_day(text, desk.today))}",
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
    got = shares(line, number)
    return f"{said}: {', '.join(f'{n} for {job}' for job, n in got.items())}" if len(got) > 1 else said
