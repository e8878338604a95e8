"""The day sheet as a document: a summary that leaves nothing out, then a page a job, with its drawing, strip and money bar;
what is left to buy goes on to another page where one is too short for it.

Made from a ``DaySheet`` alone, so the same book and day always give the same document.
"""

from __future__ import annotations

from collections.abc import Iterator

from tracker.book.sheetviews import DaySheet, JobSheet
from tracker.book.views import NeedView, PhaseState
from tracker.errors import TrackerError
from tracker.planning.bounds import Gaps
from tracker.reports.daysheet import NEED_TONES, NOTHING, TOTAL_WORDS, headline, total_text
from tracker.reports.drawing import draw_platform
from tracker.reports.page import Tone
from tracker.reports.paper.model import (
    Bar,
    Beside,
    Block,
    Caution,
    Column,
    Document,
    Heading,
    Ink,
    KeyValues,
    OnePage,
    Paragraph,
    Share,
    Step,
    Strip,
    Table,
)
from tracker.reports.planpaper import built, done_plans
from tracker.reports.words import (
    carries_words,
    delivery_text,
    design_words,
    due_words,
    lateness,
    money_line,
    moves,
    past_words,
    pieces,
    result_of,
    where,
)
from tracker.text import count
from tracker.trade.dates import format_day, format_days, format_long_day
from tracker.trade.money import format_money

DECIDE = "Checks are working checks. Local code, the building office and licensed professionals decide."
STEP_INKS = {
    PhaseState.SIGNED_OFF: Ink.DONE,
    PhaseState.UNDER_WAY: Ink.NOW,
    PhaseState.HELD: Ink.STOPPED,
    PhaseState.AHEAD: Ink.NONE,
}
PLAN_WIDTH, PLAN_HEIGHT, PLAN_SHARE = 98.0, 78.0, 0.55
"""mm a plan may take on a job's page, and its share of the width."""


def day_document(sheet: DaySheet) -> Document:
    """The whole sheet as a document."""
    jobs = tuple(OnePage(tuple(_job(job, sheet)), f"see: deckjobs show {job.line.code}") for job in sheet.jobs)
    return Document(
        title="Day sheet",
        subtitle=f"{format_long_day(sheet.day)}: {headline(sheet)}",
        day=sheet.day,
        blocks=(OnePage(tuple(_summary(sheet))), *jobs),
        foot=f"Day sheet {sheet.day}. {DECIDE}",
    )


def _summary(sheet: DaySheet) -> Iterator[Block]:
    yield Heading("OPEN JOBS")
    if sheet.jobs:
        yield Table(
            (Column("job"), Column("where it is", weight=0.34), Column("signed off", True), Column("late", True),
             Column("bought for the phases ahead", True)),
            tuple(_line(job) for job in sheet.jobs),
        )  # fmt: skip
    else:
        yield Paragraph("No open job.")
    yield Paragraph("; ".join(_sums(sheet)))
    yield Heading("NEEDS YOU")
    if sheet.needs:
        yield Table(
            (Column("job"), Column(""), Column("", weight=0.55), Column("do", weight=0.3)),
            tuple((need.job, need.worry.word, need.said, need.do) for need in sheet.needs),
            tones=tuple(NEED_TONES[need.worry] for need in sheet.needs),
        )
    else:
        yield Paragraph(f"{NOTHING[0].upper()}{NOTHING[1:]}.", Tone.GOOD)
    yield Heading("DELIVERIES DUE")
    due = tuple(
        (job.line.code, delivery_text(delivery, job.line.today)) for job in sheet.jobs for delivery in job.deliveries
    )
    yield KeyValues(due) if due else Paragraph("None in the next days.", Tone.QUIET)
    if sheet.buy_totals:
        yield Heading("TO BUY, ALL JOBS TOGETHER")
        yield KeyValues(tuple(_totals(sheet)))


def _sums(sheet: DaySheet) -> Iterator[str]:
    for key, word in TOTAL_WORDS.items():
        if key in sheet.totals:
            yield f"{word}: {total_text(sheet, key)}"


def _totals(sheet: DaySheet) -> Iterator[tuple[str, str]]:
    """What to buy in all, boards and goods run together: so that the whole of it fits the page."""
    texts: dict[str, list[str]] = {}
    for item, title, unit, number in sheet.buy_totals:
        board = unit == "board"
        told = f"{number} × {title or item}" if board else f"{pieces(number, unit)} {title or item}"
        texts.setdefault("boards" if board else "goods", []).append(told)
    for word, found in texts.items():
        yield word, ";  ".join(found)


def _line(job: JobSheet) -> tuple[str, ...]:
    line = job.line
    return (
        f"{line.code}  {line.title}", where(line), f"{line.signed_off} of {len(line.strip)}",
        count(line.days_late, "working day") if line.days_late > 0 else "", money_line(line).partition(" bought")[0],
    )  # fmt: skip


def _job(job: JobSheet, sheet: DaySheet) -> Iterator[Block]:
    line = job.line
    yield Heading(f"{line.code}  {line.title}", beside=where(line))
    about = ", ".join(text for text in (line.client, line.place, line.crew and f"crew {line.crew}") if text)
    if about:
        yield Paragraph(about, Tone.QUIET)
    yield Strip(tuple(Step(title, state.value, STEP_INKS[state]) for _, title, state in job.steps))
    bought = line.bought
    if bought.needed_cents:
        yield Bar(
            f"Material: {money_line(line)}",
            (Share(f"bought {bought.bound.money(bought.cents)}", bought.cents, Ink.DONE),
             Share(f"left to buy {bought.left_bound.money(bought.left_cents)}", bought.left_cents, Ink.NONE)),
        )  # fmt: skip
    plans, facts = _plans(job), KeyValues(tuple(_facts(job)))
    yield Beside(plans, (facts,), PLAN_SHARE) if plans else facts
    yield from _trouble(job)
    if job.cautions_tomorrow:
        yield Caution(job.cautions_tomorrow, f"for the work of {format_day(sheet.next_working_day, sheet.day)}")
    if job.notes_today:
        yield Heading("Notes", 3)
        yield KeyValues(tuple((note.who, note.text) for note in job.notes_today))

    if job.to_buy:
        yield Heading("To buy", 3)
        yield _buying(job.to_buy, sheet, line.code)


def _plans(job: JobSheet) -> tuple[Block, ...]:
    try:
        drawings = [draw_platform(job.spec, platform, job.checks) for platform in job.spec.platforms]
    except TrackerError as error:  # sizes that no frame can have are a fault of the job, not of its day
        return (Paragraph(f"no drawing: {error}", Tone.CARE),)
    return done_plans(drawings, built(job.steps, job.under_way), PLAN_WIDTH, PLAN_HEIGHT)


def _facts(job: JobSheet) -> Iterator[tuple[str, str]]:
    line = job.line
    yield "phases", f"{line.signed_off} of {len(line.strip)} signed off"
    word, day = ("handed over", line.handed_over) if line.handed_over else ("hand-over", line.planned_end)
    yield word, f"{format_day(day, line.today)}{f', {lateness(line)}' if lateness(line) else ''}"
    yield from _headed("design", [text for text, _ in design_words(job.design_faults, job.stands_on)])
    yield from _headed("signed off", [f"{title} by {who}" for title, who in job.signed_off_today])
    yield from _headed("under way", job.under_way)
    yield from _headed(
        "next", [f"{title}, {format_days(first, last, job.line.today)}" for title, first, last in job.next_work]
    )
    yield from _headed("due", [delivery_text(delivery, job.line.today) for delivery in job.deliveries])


def _headed(word: str, texts: list[str] | tuple[str, ...]) -> Iterator[tuple[str, str]]:
    for number, text in enumerate(texts):
        yield "" if number else word, text


def _trouble(job: JobSheet) -> Iterator[Block]:
    """What failed and the move, what was waived or undone, and what holds the job and why."""
    rows: list[tuple[str, str, Tone]] = []
    for check in job.failed:
        rows.append(("FAIL", f"{check.key}: {result_of(check)}", Tone.BAD))
        rows += [("do", moves(check), Tone.PLAIN)] if moves(check) else []
    rows += [("undone", f"{title}: {', '.join(keys)} failed after sign-off", Tone.BAD) for title, keys in job.undone]
    for check in job.waived:
        waiver = check.waivers[-1]
        found = f" ({result_of(check)})" if check.answer else ""
        told = (
            f"{check.key}{found}: waived by {waiver.who} on {format_day(waiver.day, job.line.today)}: {waiver.reason}"
        )
        rows.append(("waived", told, Tone.CARE))
    rows += [("under it", f"{title}: {carries_words(titles)}", Tone.BAD) for title, titles in job.carries]
    rows += [("gone past", f"{title}: {past_words(past, job.line.today)}", Tone.CARE) for title, past in job.past]
    told_of = {check.key for check in job.failed}
    rows += [("holds", f"{b.what}: {b.why}", Tone.CARE) for b in job.holds if b.check not in told_of]
    if not rows:
        return
    words = ["" if k and rows[k - 1][0] == word else word for k, (word, _, _) in enumerate(rows)]
    yield Heading("In the way", 3)
    yield KeyValues(
        tuple((word, text) for word, (_, text, _) in zip(words, rows, strict=True)), tuple(tone for _, _, tone in rows)
    )


def _buying(needs: tuple[NeedView, ...], sheet: DaySheet, code: str) -> Table:
    """What a job has to buy; its head, which stands again on another page, says whose it is."""
    ordered = sorted(needs, key=lambda need: (need.needed_on, need.phase, need.item))
    known = [need.cost_cents for need in ordered if need.cost_cents is not None]
    gaps = Gaps(tuple(dict.fromkeys(need.item for need in ordered if need.cost_cents is None)))
    total = (
        ("", gaps.tell(f"{count(len(known), 'item')} with a price"), "", gaps.cost.money(sum(known))) if known else ()
    )
    return Table(
        (Column("number", True), Column(f"item for {code}", weight=0.4), Column("phase"), Column("cost", True)),
        tuple(
            (
                pieces(need.to_buy, need.unit),
                need.title or need.item,
                f"{need.phase}, {due_words(need, sheet.day)}",
                format_money(need.cost_cents) if need.cost_cents is not None else "no price",
            )
            for need in ordered
        ),
        total,
        tones=tuple(Tone.CARE if need.late else Tone.PLAIN for need in ordered),
    )
