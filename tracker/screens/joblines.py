"""The open jobs as a table: its columns by width, its orders, and the full words of one job."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any

from textual.content import Content

from tracker.book.views import JobLine
from tracker.planning.bounds import Bound
from tracker.reports.words import hand_over_words, money_line
from tracker.screens import words
from tracker.text import count
from tracker.trade.money import percent_text

TABLE, DRAWN, ROOMY = 76, 110, 150
"""Cells from which the jobs stand in columns, the phases are drawn among them, the money is written out."""

ORDERS: Mapping[str, Callable[[JobLine], Any]] = {
    "code": lambda job: 0,
    "working days late": lambda job: -job.days_late,
    "money still to spend": lambda job: job.bought.cents - job.bought.needed_cents,
    "phases signed off": lambda job: job.signed_off - len(job.strip),
    "what holds them": lambda job: (not job.hold, job.hold),
}
"""The orders of the table: what they are called, and what they compare before the code."""

_FIELDS = ("code", "title", "client", "place", "crew", "phase_title", "hold")
Column = tuple[str, int, bool]


def in_order(jobs: Sequence[JobLine], order: str) -> list[JobLine]:
    """The jobs in one of the orders."""
    first = ORDERS[order]
    return sorted(jobs, key=lambda job: (first(job), job.code))


def holding(jobs: Sequence[JobLine], sought: str) -> list[JobLine]:
    """The jobs that hold every word."""
    parts = sought.casefold().split()
    if not parts:
        return list(jobs)
    texts = ((job, " ".join(str(getattr(job, name)) for name in _FIELDS).casefold()) for job in jobs)
    return [job for job, text in texts if all(part in text for part in parts)]


def columns(jobs: Sequence[JobLine], width: int) -> list[Column]:
    """The columns of the table by width: heading, cells, whether it stands at the right."""
    strip = max((len(job.strip) for job in jobs), default=0)
    firm = all(job.bought.share_bound is Bound.EXACT for job in jobs)
    money = (22 if firm else 40) if width >= ROOMY else 6 if firm else 13
    fixed: list[Column] = [("code", 7, False), ("where", 16, False), ("late", 11, True), ("bought", money, True)]
    if width >= DRAWN:
        fixed.insert(1, ("phases", max(strip, 6), False))
    room = width - 1 - sum(cells + 2 for _, cells, _ in fixed) - 4
    title = min(room * 11 // 20, 40)
    return [fixed[0], ("job", title, False), *fixed[1:], ("held by", room - title, False)]


def cells(job: JobLine, width: int) -> list[str]:
    """The texts of a job in the columns of that width."""
    share = job.bought.tenths
    money = "no price" if share is None else job.bought.share_bound.put(percent_text(share // 10 * 10))
    if width >= ROOMY:
        money = money_line(job).partition(" bought")[0] or "no price"
    out = [
        job.code, job.title, "all signed off" if job.finished else job.phase_title,
        count(job.days_late, "workday") if job.days_late > 0 else "on time", money if width >= ROOMY or share is not None else "-",
        job.hold or "nothing",
    ]  # fmt: skip
    if width >= DRAWN:
        out.insert(2, words.strip(job.strip).plain)
    return out


def two_lines(job: JobLine, width: int) -> Content:
    """A job on two lines, for a narrow screen."""
    head = words.line(words.say(f"{words.fit(job.code, 7)}  ", words.HEADING), words.say(job.title, words.STRONG))
    where = words.line(" " * 9, words.where_words(job))
    held = words.say("  held up" if job.hold else "", "$warning")
    return words.stack([words.ends(head, words.lateness(job.days_late), width), words.ends(where, held, width)])


def detail(job: JobLine, today: date, width: int, narrow: bool) -> Content:
    """Everything of the job under the cursor, the worst thing in its way in full words."""
    rows: list[Content] = []
    if not narrow:
        rows.append(
            words.ends(
                words.line(words.say(f"{job.code}  ", words.HEADING), words.say(job.title, words.STRONG)),
                words.lateness(job.days_late), width,
            )
        )  # fmt: skip
    signed = f", {job.signed_off} of {len(job.strip)} signed off"
    rows.append(words.line(words.strip(job.strip), "  ", words.where_words(job), words.say(signed, words.FAINT)))
    if rows[-1].cell_length > width:
        rows[-1] = words.line(words.strip(job.strip), "  ", words.where_words(job)).truncate(width, ellipsis=True)
    held = words.hang(job.hold or "nothing", width, "held by  ", words.STRONG if job.hold else "").split("\n")
    rows += held[:1] if narrow and len(held) > 1 else held
    if narrow and len(held) > 1:
        rows[-1] = words.line(rows[-1].truncate(width - 2), " …")
    if job.hold_do:
        rows.append(words.hang(job.hold_do, width, "do       ", "", "$accent bold"))
    rows.append(words.hang(words.delivery_words(job.next_delivery, today), width, "coming   "))
    if job.handed_over is not None:
        rows.append(words.hang(hand_over_words(job), width, "client   "))
    if money := money_line(job):
        rows.append(words.hang(money, width, "money    "))
    return words.stack(rows)
