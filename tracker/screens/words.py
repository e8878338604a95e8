"""How a state, a name or a number is put on a screen: the word first, the mark second, the colour last.

Every text from the book goes through ``say`` or ``clean``: nothing a person typed is ever read as markup.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from datetime import date

from rich.cells import cell_len, set_cell_size
from textual.content import Content

from tracker.book.views import CheckState, DeliveryView, JobLine, PhaseState
from tracker.reports.words import pieces
from tracker.text import clean, count
from tracker.trade.answer import Answer, Plain, Verdict, steps
from tracker.trade.dates import format_day

PHASE_MARKS = {
    PhaseState.AHEAD: "·",
    PhaseState.UNDER_WAY: "▶",
    PhaseState.HELD: "‖",
    PhaseState.SIGNED_OFF: "■",
}
CHECK_MARKS = {CheckState.OPEN: "·", CheckState.PASSED: "■", CheckState.FAILED: "×", CheckState.WAIVED: "○"}
VERDICT_MARKS = {Verdict.PASSED: "■", Verdict.FAILED: "×", Verdict.INCOMPLETE: "·"}

PHASE_STYLES = {
    PhaseState.AHEAD: "$faint",
    PhaseState.UNDER_WAY: "$primary bold",
    PhaseState.HELD: "$warning bold",
    PhaseState.SIGNED_OFF: "$success",
}
CHECK_STYLES = {
    CheckState.OPEN: "$faint",
    CheckState.PASSED: "$success",
    CheckState.FAILED: "$error bold",
    CheckState.WAIVED: "$warning",
}
VERDICT_STYLES = {
    Verdict.PASSED: "$success bold reverse",
    Verdict.FAILED: "$error bold reverse",
    Verdict.INCOMPLETE: "$faint bold reverse",
}
VERDICT_WORDS = {Verdict.PASSED: "PASSED", Verdict.FAILED: "FAILED", Verdict.INCOMPLETE: "NOT ENOUGH YET"}

FIGURE_UNITS = {"in": "in", "mm": "mm", "ft": "ft", "ft2": "sq ft", "lb": "lb", "pct": "%", "deg": "degrees"}

FAINT = "$faint"
STRONG = "bold"
HEADING = "$primary bold"


def say(text: str, style: str = "") -> Content:
    """``text`` as plain content in one style: cleaned, never read as markup."""
    return Content.styled(clean(text, lines=True), style) if style else Content(clean(text, lines=True))


def line(*parts: Content | str) -> Content:
    """Parts side by side."""
    return Content.assemble(*(say(part) if isinstance(part, str) else part for part in parts))


def stack(lines: Iterable[Content]) -> Content:
    """Lines under each other."""
    return Content("\n").join(list(lines))


def fit(text: str, width: int) -> str:
    """``text`` on exactly ``width`` cells: padded, or cut with an ellipsis; wide characters count as two."""
    shown = clean(text)
    if cell_len(shown) > width:
        shown = set_cell_size(shown, max(width - 1, 0)) + "…"
    return set_cell_size(shown, width)


def ends(left: Content, right: Content, width: int) -> Content:
    """``left`` and ``right`` at the two ends of a line; the left one is cut when both do not fit."""
    room = width - right.cell_length
    if left.cell_length > room - 1:
        left = left.truncate(max(room - 1, 1), ellipsis=True)
    return line(left, " " * max(room - left.cell_length, 1), right)


def hang(text: str, width: int, first: str = "", style: str = "", label_style: str = FAINT) -> Content:
    """``text`` wrapped at ``width`` cells after the label ``first``, the further lines hanging under it."""
    room = max(width - cell_len(first), 12)
    rows: list[str] = []
    for part in clean(text, lines=True).split("\n"):
        rows += textwrap.wrap(part, room) or [""]
    pad = " " * cell_len(first)
    return stack(line(say(first if n == 0 else pad, label_style), say(row, style)) for n, row in enumerate(rows))


def phase_word(state: PhaseState, width: int = 0) -> Content:
    """The state of a phase: word and colour."""
    return say(state.value.ljust(width), PHASE_STYLES[state])


def strip(states: Sequence[PhaseState]) -> Content:
    """The phases as a row of marks: signed off, under way, held, ahead."""
    return line(*(say(PHASE_MARKS[state], PHASE_STYLES[state]) for state in states))


def strip_words(states: Sequence[PhaseState]) -> str:
    """The phase strip in words: ``4 signed off, 1 under way, 8 ahead``."""
    counts = [(states.count(state), state.value) for state in reversed(PhaseState)]
    return ", ".join(f"{number} {word}" for number, word in counts if number)


def lateness(days: int) -> Content:
    """``on time`` or how many working days behind."""
    return say(f"{count(days, 'working day')} late", "$warning bold") if days > 0 else say("on time", FAINT)


def delivery_words(delivery: DeliveryView | None, today: date) -> str:
    """The next delivery in words; one that was promised for a day gone by says so."""
    if delivery is None:
        return "none on order"
    when = format_day(delivery.promised, today) if delivery.promised else "no day promised"
    if delivery.promised and delivery.promised < today:
        when = f"not come, promised {when}"
    source = f", {delivery.supplier}" if delivery.supplier else ""
    return f"{when}: {pieces(delivery.quantity, delivery.unit)} {delivery.item}{source}"


def where_words(job: JobLine) -> Content:
    """Where a job stands: the phase and its state."""
    if job.finished:
        return say("every phase signed off", PHASE_STYLES[PhaseState.SIGNED_OFF])
    return line(say(job.phase_title), say(": "), phase_word(job.phase_state))


def day_room(days: Iterable[date | None], today: date) -> int:
    """The cells a column of these days takes: more where one carries its year."""
    return max((len(format_day(day, today)) for day in days if day is not None), default=0)


def who_day(who: str, day: date, today: date) -> Content:
    """Who did it and on which day."""
    return say(f"{who}, {format_day(day, today)}", FAINT)


def moves(answer: Answer, key: str, width: int) -> list[Content]:
    """The moves of the verdict of the check ``key``, each after its label."""
    return [hang(move, width, "do      ", STRONG, "$accent bold") for move in steps(answer, key)]


def figure_words(name: str, value: Plain) -> str:
    """A figure of a verdict as ``push 0.33 in``; empty for what is no single number or text."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return ""
    label, _, unit = name.rpartition("_")
    if unit not in FIGURE_UNITS or not label:
        label, unit = name, ""
    shown = f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)
    return f"{label.replace('_', ' ')} {shown} {FIGURE_UNITS.get(unit, '')}".rstrip()


def limit_words(answer: Answer) -> list[str]:
    """The limits of a verdict, each with its source, the published figure beside it."""
    return [
        f"{limit.what}: {limit.text} ({limit.source})" + (f"; {limit.published}" if limit.published else "")
        for limit in answer.limits
    ]
