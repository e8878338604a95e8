"""The day sheet as lines for a spreadsheet: one line for every line of the sheet.

Columns: ``day``; ``job``, its code (empty for all jobs together); ``section``, the word the line stands under; ``what``;
``why``, what is said of it; ``number`` and ``unit``, a count; ``date``, the day it is about; ``money``, in currency units
with two decimals. A column that says nothing of a line is empty.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from tracker.book.sheetviews import DaySheet, JobSheet
from tracker.planning.bounds import Bound, goods_words
from tracker.reports.daysheet import TOTAL_WORDS
from tracker.reports.paper.csvtext import write_csv
from tracker.reports.words import carries_words, delivery_text, design_words, moves, past_words, result_of, where
from tracker.trade.dates import format_day

COLUMNS = ("day", "job", "section", "what", "why", "number", "unit", "date", "money")


def sheet_rows(sheet: DaySheet) -> tuple[tuple[str, ...], ...]:
    """The lines of the sheet, as wide as ``COLUMNS``."""
    return tuple(_rows(sheet))


def sheet_csv(sheet: DaySheet) -> bytes:
    """The lines of the sheet as CSV."""
    return write_csv(COLUMNS, sheet_rows(sheet))


def _rows(sheet: DaySheet) -> Iterator[tuple[str, ...]]:
    def row(
        job: str, section: str, what: str, why: str = "", number: int | None = None, unit: str = "",
        day: date | None = None, cents: int | None = None,
    ) -> tuple[str, ...]:  # fmt: skip
        return (
            sheet.day.isoformat(), job, section, what, why, "" if number is None else str(number), unit,
            day.isoformat() if day else "", "" if cents is None else _money(cents),
        )  # fmt: skip

    for need in sheet.needs:
        yield row(need.job, "needs you", f"{need.worry.word}: {need.said}", need.do, day=need.due)
    for job in sheet.jobs:
        yield from (row(job.line.code, *line) for line in _job(job))
    for key, word in TOTAL_WORDS.items():
        if key in sheet.totals:
            figure = sheet.totals[key]
            cents = key.endswith("_cents")
            missing = sheet.totals.get("goods_not_priced", 0) if cents else 0
            why = f"{Bound.LEAST.value}, {goods_words(missing)}" if missing else ""
            yield row("", "all jobs", word, why, None if cents else figure, "", None, figure if cents else None)
    for item, title, unit, number in sheet.buy_totals:
        yield row("", "to buy, all jobs together", item, title, number, unit)


def _money(cents: int) -> str:
    sign = "-" if cents < 0 else ""
    return f"{sign}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def _job(job: JobSheet) -> Iterator[tuple[str, str, str, int | None, str, date | None, int | None]]:
    """Section, what, why, number, unit, day and cents of each line of a job."""
    line = job.line
    yield "job", line.title, ", ".join(t for t in (line.client, line.place, line.crew) if t), None, "", None, None
    late = line.days_late if line.days_late > 0 else None
    yield (
        "phase",
        where(line),
        "working days late" if late else "",
        late,
        "working day" if late else "",
        line.planned_end,
        None,
    )
    yield "phases signed off", f"of {len(line.strip)}", "", line.signed_off, "phase", None, None
    if line.bought.needed_cents:
        gaps = line.bought.gaps
        bounds = ((line.bought.cents, line.bought.bound), (line.bought.needed_cents, gaps.cost))
        for word, (cents, bound) in zip(("bought", "needed"), bounds, strict=True):
            why = "" if bound is Bound.EXACT else gaps.tell(bound.value)
            yield f"material {word}", "", why, None, "", None, cents
    for title, who in job.signed_off_today:
        yield "signed off", title, f"by {who}", None, "", None, None
    for title in job.under_way:
        yield "under way", title, "", None, "", None, None
    for text, _ in design_words(job.design_faults, job.stands_on):
        yield "design", text, "", None, "", None, None
    for check in job.failed:
        yield "FAIL", check.key, "; ".join(t for t in (result_of(check), moves(check)) if t), None, "", None, None
    for check in job.waived:
        waiver = check.waivers[-1]
        yield "waived", check.key, f"by {waiver.who}: {waiver.reason}", None, "", waiver.day, None
    for title, keys in job.undone:
        yield "undone", title, f"{', '.join(keys)} failed after sign-off", None, "", None, None
    for title, titles in job.carries:
        yield "under it", title, carries_words(titles), None, "", None, None
    for title, past in job.past:
        yield "gone past", title, past_words(past, line.today), None, "", past.day, None
    for blocker in job.holds:
        yield "holds", blocker.what, f"{blocker.why}; clear it with: {blocker.clears}", None, "", None, None
    for title, first, last in job.next_work:
        yield "next", title, f"to {format_day(last, line.today)}" if last != first else "", None, "", first, None
    for delivery in job.deliveries:
        told = delivery_text(delivery, line.today)
        yield "due", delivery.item, told, delivery.quantity, delivery.unit, delivery.promised, None
    for need in job.to_buy:
        why = f"for {need.phase}: {need.title or need.item}"
        yield "to buy", need.item, why, need.to_buy, need.unit, need.needed_on, need.cost_cents
    for text in job.cautions_tomorrow:
        yield "caution", text, "", None, "", None, None
    for note in job.notes_today:
        yield "note", note.text, f"by {note.who}", None, "", note.day, None
