"""The day sheet: what needs the owner first, then each open job, then the totals over all jobs.

Made from a ``DaySheet`` alone, so the same book and day always give the same page.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from tracker.book.frontviews import Worry
from tracker.book.sheetviews import DaySheet, JobSheet
from tracker.book.views import NeedView
from tracker.planning.bounds import Bound, Gaps, goods_words
from tracker.reports.page import BLANK, WIDTH, Grid, Line, Page, Printed, Tone
from tracker.reports.page import plain as plain_page
from tracker.reports.words import (
    carries_words,
    delivery_text,
    design_words,
    due_words,
    lateness,
    money_line,
    moves,
    need_text,
    past_words,
    result_of,
    where,
)
from tracker.text import count
from tracker.trade.dates import format_day, format_days, format_long_day
from tracker.trade.money import format_money

if TYPE_CHECKING:
    from rich.console import RenderableType


NEED_TONES = {
    Worry.UNDONE: Tone.BAD,
    Worry.COVERED: Tone.BAD,
    Worry.FAILED: Tone.BAD,
    Worry.HELD: Tone.CARE,
    Worry.AGAIN: Tone.CARE,
    Worry.WARRANTY: Tone.CARE,
    Worry.PAPER: Tone.CARE,
    Worry.LATE: Tone.CARE,
    Worry.SHORT: Tone.CARE,
    Worry.MONEY: Tone.PLAIN,
    Worry.BEHIND: Tone.CARE,
    Worry.OFFICE: Tone.PLAIN,
}
NOTHING = "nothing: no job is held up"


def headline(sheet: DaySheet) -> str:
    """How many jobs are open and how many of them are held up, and how many were finished that day."""
    jobs, held = sheet.totals.get("jobs", 0), sheet.totals.get("held", 0)
    done = len(sheet.jobs) - jobs
    return f"{count(jobs, 'open job')}, {held} held up{f', {done} finished today' if done > 0 else ''}"


def _needs(sheet: DaySheet) -> Iterator[Line | Grid]:
    yield Line("NEEDS YOU" if sheet.needs else f"NEEDS YOU   {NOTHING}", Tone.TITLE)
    code = max((len(need.job) for need in sheet.needs), default=0)
    for number, need in enumerate(sheet.needs, 1):
        head = f"{number:>2}  {need.job:<{code}}  {need.worry.word:<6}"
        yield Line(f"{head}  {need.said}", NEED_TONES[need.worry], hang=4)
        yield Line(f"do: {need.do}", indent=4, hang=4)


def page(sheet: DaySheet, today: date | None = None) -> Page:
    """The whole sheet as a page; when its day is after ``today`` it says that it only shows how things stand."""
    out: list[Line | Grid] = [Line(f"{format_long_day(sheet.day)}   {headline(sheet)}", Tone.TITLE)]
    if today is not None and sheet.day > today:
        out.append(Line("This day is still to come: it is shown as things stand now.", Tone.CARE))
    out.append(BLANK)
    out += _needs(sheet)
    for job in sheet.jobs:
        out += [BLANK, *_job(job, sheet)]
    if not sheet.jobs:
        out += [BLANK, Line("No open job. Take a job file in with: deckjobs take FILE")]
    return (*out, BLANK, *_totals(sheet))


def _job(job: JobSheet, sheet: DaySheet) -> Iterator[Line | Grid]:
    line = job.line
    about = ", ".join(text for text in (line.client, line.place, line.crew and f"crew {line.crew}") if text)
    yield Line(f"{line.code}  {line.title}{f'  ({about})' if about else ''}", Tone.TITLE)
    facts = [
        where(line),
        f"{line.signed_off} of {len(line.strip)} phases signed off",
        lateness(line),
        money_line(line),
    ]
    rows: list[tuple[str, str, Tone]] = [("phase", "; ".join(text for text in facts if text), Tone.PLAIN)]
    rows += [("design", text, tone) for text, tone in design_words(job.design_faults, job.stands_on)]
    rows += [("signed off", f"{title} by {who}", Tone.GOOD) for title, who in job.signed_off_today]
    rows += [("under way", title, Tone.PLAIN) for title in job.under_way]
    for check in job.failed:
        rows.append(("FAIL", f"{check.key}: {result_of(check)}", Tone.BAD))
        rows += [("do", moves(check), Tone.PLAIN)] if moves(check) else []
        rows.append(("then", f"deckjobs check {line.code} {check.key}", Tone.PLAIN))
    for check in job.waived:
        waiver = check.waivers[-1] if check.waivers else None
        by = (
            f"waived by {waiver.who} on {format_day(waiver.day, sheet.day)}: {waiver.reason}"
            if waiver
            else check.headline
        )
        found = f" ({result_of(check)})" if check.answer else ""
        rows.append(("waived", f"{check.key}{found}: {by}", Tone.CARE))
    rows += [("undone", f"{title}: {', '.join(keys)} failed after sign-off", Tone.BAD) for title, keys in job.undone]
    rows += [("under it", f"{title}: {carries_words(titles)}", Tone.BAD) for title, titles in job.carries]
    rows += [("gone past", f"{title}: {past_words(past, job.line.today)}", Tone.CARE) for title, past in job.past]
    told = {check.key for check in job.failed}
    rows += [
        ("holds", f"{b.what}: {b.why}; clear it with: {b.clears}", Tone.CARE) for b in job.holds if b.check not in told
    ]
    rows += [
        ("next", f"{title}, {format_days(first, last, sheet.day)}", Tone.PLAIN) for title, first, last in job.next_work
    ]
    rows += [("due", delivery_text(delivery, sheet.day), Tone.PLAIN) for delivery in job.deliveries]
    rows += [("to buy", text, Tone.CARE if late else Tone.PLAIN) for text, late in _buying(job.to_buy, sheet.day)]
    if job.cautions_tomorrow:
        rows.append(("caution", f"for the work of {format_day(sheet.next_working_day, sheet.day)}:", Tone.CARE))
    rows += [("caution", text, Tone.CARE) for text in job.cautions_tomorrow]
    rows += [("note", f"{note.who}: {note.text}", Tone.PLAIN) for note in job.notes_today]
    # A word stands once for the lines it heads.
    labels = ["" if k and rows[k - 1][0] == label else label for k, (label, _, _) in enumerate(rows)]
    yield Grid(
        (),
        tuple((label, text) for label, (_, text, _) in zip(labels, rows, strict=True)),
        indent=2,
        tones=tuple(tone for _, _, tone in rows),
    )


def _buying(needs: tuple[NeedView, ...], day: date) -> Iterator[tuple[str, bool]]:
    """What is left to buy, one line a phase and date: items, cost where it is known, whether they are needed
    now.
    """
    groups: dict[tuple[object, str], list[NeedView]] = {}
    for need in sorted(needs, key=lambda n: (n.needed_on, n.phase, n.item)):
        if need.to_buy > 0:
            groups.setdefault((need.needed_on, need.phase), []).append(need)
    for group in groups.values():
        first = group[0]
        items = "; ".join(need_text(n) for n in group)
        known = [n.cost_cents for n in group if n.cost_cents is not None]
        gaps = Gaps(tuple(dict.fromkeys(n.item for n in group if n.cost_cents is None)))
        cost = f"; {gaps.at_least(sum(known)) if known else gaps.words}"
        yield f"for {first.phase}, {due_words(first, day)}: {items}{cost}", any(n.late for n in group)


TOTAL_WORDS = {
    "jobs": "open jobs",
    "held": "held up",
    "phases_signed_off_today": "phases signed off today",
    "checks_failed": "checks failed",
    "checks_waived": "checks waived",
    "items_to_buy": "items to buy, counted job by job",
    "cost_to_buy_cents": "cost of what is left to buy",
    "deliveries_due": "deliveries due",
}


def total_text(sheet: DaySheet, key: str) -> str:
    """A total over all jobs; a cost that leaves goods out says so."""
    figure = sheet.totals[key]
    if not key.endswith("_cents"):
        return str(figure)
    missing = sheet.totals.get("goods_not_priced", 0)
    return f"{Bound.LEAST.money(figure)}, {goods_words(missing)}" if missing else format_money(figure)


def _totals(sheet: DaySheet) -> Iterator[Line | Grid]:
    yield Line("ALL JOBS", Tone.TITLE)
    rows = [(word, total_text(sheet, key)) for key, word in TOTAL_WORDS.items() if key in sheet.totals]
    yield Grid((), tuple(rows), frozenset({1}), indent=2)
    if sheet.buy_totals:
        yield BLANK
        yield Line("TO BUY, ALL JOBS TOGETHER", Tone.TITLE)
        yield Grid(
            ("", "", "item", "known as"),
            tuple((str(number), unit, title or item, item) for item, title, unit, number in sheet.buy_totals),
            frozenset({0}),
            indent=2,
        )
    yield BLANK
    yield Line(
        "Checks are working checks. Local code, the building office and licensed professionals decide.",
        Tone.QUIET,
    )


def render(sheet: DaySheet, today: date | None = None) -> RenderableType:
    """The sheet for a terminal, laid out at whatever width it gets."""
    return Printed(page(sheet, today))


def plain(sheet: DaySheet, width: int = WIDTH) -> str:
    """The sheet as plain text of at most ``width`` cells a line."""
    return plain_page(page(sheet), width)
