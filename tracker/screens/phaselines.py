"""The lines of one phase on its job's screen: its days, what is in its way, its checks, moves, cautions."""

from __future__ import annotations

from datetime import date

from textual.content import Content

from tracker.book.views import CheckState, CheckView, PhaseState, PhaseView
from tracker.reports.words import past_words, result_of, taken_back
from tracker.screens import words
from tracker.text import count
from tracker.trade.dates import format_day, format_days

NAMED = 2
"""Things in the way that are named; the list has them all."""


def phase_row(phase: PhaseView, width: int) -> Content:
    """A phase in the list: mark, title, state in words."""
    first = f"{words.PHASE_MARKS[phase.state]} {phase.state.value:<11}"
    return words.hang(phase.title, width, first, "", words.PHASE_STYLES[phase.state])


def days(phase: PhaseView, today: date) -> str:
    """The planned and the real days of a phase in words."""
    if phase.signed_off:
        return f"signed off {format_day(phase.signed_off, today)} by {phase.signed_by}"
    if phase.started:
        return f"started {format_day(phase.started, today)}; planned to {format_day(phase.planned_end, today)}"
    return f"planned {format_days(phase.planned_start, phase.planned_end, today)}"


def in_the_way(phase: PhaseView, width: int) -> Content:
    """What stands in the way of the next step of the phase."""
    step = "start" if phase.state is PhaseState.AHEAD else "sign-off"
    if phase.state is PhaseState.SIGNED_OFF:
        return Content("")
    if not phase.stands_in_way:
        key = "s starts it" if step == "start" else "o signs it off"
        return words.say(f"nothing stands in the way: {key}", "$success")
    found = len(phase.stands_in_way)
    named = ", ".join(blocker.what for blocker in phase.stands_in_way[:NAMED])
    named += f" and {found - NAMED} more" if found > NAMED else ""
    first = f"{count(found, 'thing')} in the way of the {step}: "
    return words.hang(f"{first}{named} (g lists them)", width, "", "$warning bold")


def urgency(check: CheckView) -> int:
    """Failed checks before open ones before the rest."""
    return (CheckState.FAILED, CheckState.OPEN).index(check.state) if not check.settled else 2


def name_of(check: CheckView) -> str:
    """The check's name, with its platform where there are several."""
    return f"{check.title}, {check.platform}" if "." in check.key else check.title


def check_row(check: CheckView, width: int, drafted: bool, tall: bool, today: date) -> Content:
    """A check: its state in words, what it said, who read it and when; with room to spare all of it."""
    style = words.CHECK_STYLES[check.state]
    last = check.last
    by = words.who_day(last.who, last.day, today) if last else Content("")
    if check.state is CheckState.WAIVED and check.waivers:
        by = words.who_day(check.waivers[-1].who, check.waivers[-1].day, today)
    draft = "  (draft)" if drafted else ""
    name = name_of(check)
    top = words.line(
        words.say(f"{words.CHECK_MARKS[check.state]} {check.state.value:<7} ", style),
        words.say(name, words.STRONG),
        words.say(draft, "$accent"),
    )
    fits = top.cell_length + by.cell_length < width
    rows = [words.ends(top, by, width) if fits else top]
    by_eye = check.answer is not None and bool(check.answer.answer.get("by_eye"))
    if not check.settled or tall or (by_eye and check.state is CheckState.PASSED):
        rows.append(words.hang(result_of(check), width, "          "))
    if not fits:
        rows.append(words.line("          ", by))
    return words.stack(rows)


def detail(phase: PhaseView, check: CheckView | None, width: int, tall: bool, today: date) -> Content:
    """The moves of a check, with room to spare what was read, then its cautions and those of the phase, and what it went past."""
    rows: list[Content] = []
    if check is not None:
        if check.answer is not None and not check.settled:
            rows += words.moves(check.answer, check.key, width)
        if check.state is CheckState.WAIVED:
            waiver = check.waivers[-1]
            rows.append(words.hang(f"{waiver.reason} ({waiver.who})", width, "waived  ", "", "$warning bold"))
        if tall or (not rows and check.state is not CheckState.PASSED):
            rows.append(words.hang(check.asks, width, "measure "))
        if tall and check.last is not None:
            read = "; ".join(f"{name} {text}" for name, text in check.last.entered)
            rows.append(words.hang(read, width, "read    "))
        if told := taken_back(check, today):
            rows.append(words.hang(told, width, "history "))
    elif not phase.checks:
        rows.append(words.say("This phase has no check to read.", words.FAINT))
    cautions = [check.caution] if check and check.caution else []
    for text in dict.fromkeys([*cautions, *phase.cautions]):
        rows.append(words.hang(text, width, "caution ", "", "$warning bold"))
    for past in phase.past:
        rows.append(words.hang(past_words(past, today), width, "past    ", "", "$warning bold"))
    return words.stack(rows)
