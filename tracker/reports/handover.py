"""The papers of a hand-over: punch list, walk-through sheet, as-built record, care sheet, each alone or all in one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from enum import StrEnum

from tracker.book.handviews import CareView, HandoverView
from tracker.book.paperviews import Letterhead
from tracker.reports.asbuilt import record_blocks, record_of
from tracker.reports.letterheads import letterhead_blocks
from tracker.reports.page import Grid, Line, Page, Tone
from tracker.reports.paper import model as paper
from tracker.reports.words import on_the_design
from tracker.text import count
from tracker.trade.care import CareDate, CareTask, care_cautions, care_notes, care_tasks
from tracker.trade.dates import format_day, format_long_day
from tracker.trade.walkthrough import walk_through


class Part(StrEnum):
    """A paper of the hand-over."""

    PUNCH = "punch"
    WALK = "walkthrough"
    RECORD = "asbuilt"
    CARE = "care"


TITLES = {
    Part.PUNCH: "Punch list",
    Part.WALK: "Walk-through with the client",
    Part.RECORD: "As-built record",
    Part.CARE: "Care of your deck",
}


def document(view: HandoverView, parts: Iterable[Part] = tuple(Part)) -> paper.Document:
    """The papers as one document; several begin on a page each."""
    chosen = tuple(dict.fromkeys(parts))
    blocks: list[paper.Block] = [paper.Paragraph(on_the_design(view.stands_on))] if view.stands_on else []
    for number, part in enumerate(chosen):
        if number:
            blocks.append(paper.PageBreak())
        if len(chosen) > 1:
            blocks.append(paper.Heading(TITLES[part]))
        blocks += _BLOCKS[part](view)
    title = TITLES[chosen[0]] if len(chosen) == 1 else "Hand-over"
    about = [f"{view.code} {view.title}", view.client, view.place, f"as known on {format_long_day(view.day)}"]
    return paper.Document(
        title, ", ".join(text for text in about if text), view.day, tuple(blocks), foot=f"{view.code}: {title}"
    )


# -- the punch list


def _punch(view: HandoverView) -> Iterator[paper.Block]:
    open_ones = [item for item in view.punch if item.done is None]
    done = [item for item in view.punch if item.done is not None]
    if not open_ones and not view.open_items:
        yield paper.Paragraph("Nothing is open.", Tone.GOOD)
    if open_ones:
        yield paper.Heading("To mend", level=3)
        yield paper.Checklist(
            tuple(
                paper.Item(f"{item.number}  {item.text}", note=f"{item.who}, {format_day(item.day, view.day)}")
                for item in open_ones
            )
        )
    if view.open_items:
        yield paper.Heading("Open in the book", level=3)
        yield paper.table(("what", "why"), ((item.what, item.why) for item in view.open_items))
    if done:
        yield paper.Heading("Done", level=3)
        rows = (
            (str(item.number), item.text, f"{item.done_by}, {format_day(item.done, view.day)}" if item.done else "",
             item.done_note)
            for item in done
        )  # fmt: skip
        yield paper.table(("no.", "what", "done by", "how"), rows, right=(0,))


# -- the walk-through


def _walk(view: HandoverView) -> Iterator[paper.Block]:
    yield paper.Paragraph("Walk the deck together. Tick what is good; what is not goes on the lines at the end.")
    for part in walk_through(view.spec):
        points = tuple(paper.Item(point.text, point.limit, point.source) for point in part.points)
        yield paper.Heading(part.title, level=3)
        yield paper.Checklist(points)
    still = [item for item in view.punch if item.done is None]
    if still:
        yield paper.Heading("On the punch list already", level=3)
        yield paper.Bullets(tuple(f"{item.number}  {item.text}" for item in still))
    yield paper.KeepTogether((
        paper.Heading("To mend, and by when", level=3),
        *(paper.Blanks((paper.Blank(str(number)), paper.Blank("by"))) for number in range(1, 6)),
        paper.Signatures((f"Client{f' ({view.client})' if view.client else ''}", "Contractor")),
    ))  # fmt: skip


# -- the record


def _record(view: HandoverView) -> Iterator[paper.Block]:
    yield from record_blocks(record_of(view))


# -- care


def _care(view: HandoverView) -> Iterator[paper.Block]:
    if view.letterhead != Letterhead():
        yield from letterhead_blocks(view.letterhead)
    yield paper.Bullets(care_notes(view.spec))
    cautions = care_cautions(view.spec)
    if cautions:
        yield paper.Caution(cautions)
    yield paper.Heading("What is due when", level=3)
    if view.care_ended:
        yield paper.Paragraph(f"We do not come for care any more: {view.care_ended}")
    if not view.handed_over:
        yield paper.Paragraph("The days count from the hand-over.")
    if view.care:
        days = [(format_day(found.due, None), found.task) for found in view.care]
    else:
        days = [(f"after {_first(task)}", task) for task in care_tasks(view.spec)]
    yield paper.KeyValues(tuple((day, _care_text(task)) for day, task in days))


def _care_text(task: CareTask) -> str:
    return f"{task.title} ({_every(task.months)}). {task.what} Source: {task.source}."


def _every(months: int) -> str:
    return f"every {count(months, 'month')}" if months else "once"


def _first(task: CareTask) -> str:
    return count(task.after_days, "day") if task.after_days else count(task.after_months, "month")


def care_page(view: CareView, today: date) -> Page:
    """The care dates of a handed-over deck."""
    out: list[Line | Grid] = [
        Line(f"{view.job}  {view.title}: care", Tone.TITLE),
        Line(f"handed over {format_long_day(view.handed_over)}", indent=2),
    ]
    if view.ended:
        return (*out, Line(f"nobody comes for care any more: {view.ended}", indent=2))
    rows = tuple(
        (found.task.key, found.task.title, _every(found.task.months), _due(found, today), _last(found))
        for found in view.dates
    )
    tones = tuple(Tone.CARE if found.due <= today else Tone.PLAIN for found in view.dates)
    return (*out, Grid(("care", "", "again", "due", "last done"), rows, indent=2, tones=tones))


def _due(found: CareDate, today: date) -> str:
    due = format_day(found.due, None)
    return f"{due}, overdue" if found.due < today else due


def _last(found: CareDate) -> str:
    return format_day(found.done, None) if found.done else ""


_BLOCKS = {Part.PUNCH: _punch, Part.WALK: _walk, Part.RECORD: _record, Part.CARE: _care}
