"""Small texts that several pages share: verdict words, days, the sentence of a need or a delivery."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from tracker.book.views import CheckState, CheckView, DeliveryView, JobLine, NeedView, PastView, PhaseState
from tracker.reports.page import Tone
from tracker.text import clean, count, listing
from tracker.trade.answer import result, steps
from tracker.trade.dates import format_day
from tracker.trade.places import handrail_called_for, stair_guard_called_for
from tracker.trade.spec import Stairs

CHECK_WORDS = {
    CheckState.OPEN: "open",
    CheckState.PASSED: "pass",
    CheckState.FAILED: "FAIL",
    CheckState.WAIVED: "waived",
}
CHECK_TONES = {
    CheckState.OPEN: Tone.PLAIN,
    CheckState.PASSED: Tone.GOOD,
    CheckState.FAILED: Tone.BAD,
    CheckState.WAIVED: Tone.CARE,
}
MOST_CODES = 4
"""So many job codes are named in a row; of more the rest is counted."""
PHASE_TONES = {
    PhaseState.AHEAD: Tone.QUIET,
    PhaseState.UNDER_WAY: Tone.TITLE,
    PhaseState.HELD: Tone.BAD,
    PhaseState.SIGNED_OFF: Tone.GOOD,
}


def pieces(number: int, unit: str) -> str:
    """``8 boards``, ``1 box``, ``3 boxes``."""
    return count(number, unit or "piece", f"{unit}es" if unit.endswith(("x", "s", "ch", "sh")) else "")


def job_codes(codes: Iterable[str]) -> str:
    """Job codes, each once; of many the first few and how many more."""
    found = list(dict.fromkeys(codes))
    if len(found) <= MOST_CODES + 1:
        return ", ".join(found)
    return f"{', '.join(found[:MOST_CODES])} and {len(found) - MOST_CODES} more"


def lateness(line: JobLine) -> str:
    """``2 working days late`` or an empty text."""
    return f"{count(line.days_late, 'working day')} late" if line.days_late > 0 else ""


def hand_over_words(line: JobLine) -> str:
    """``hand-over Wed 13 May``, or ``handed over Wed 13 May`` once it was; with the year when it is another one."""
    word = "handed over" if line.handed_over else "hand-over"
    return f"{word} {format_day(line.handed_over or line.planned_end, line.today)}"


def where(line: JobLine) -> str:
    """The phase a job is in and its state, in words."""
    if line.finished:
        return "finished"
    return f"{line.phase_title} ({line.phase_state.value})" if line.phase_title else "no phase left"


def money_line(line: JobLine) -> str:
    """``$1,180.00 of at least $1,904.00 bought for the phases ahead, 2 goods not priced``; empty when no price is known."""
    bought, gaps = line.bought, line.bought.gaps
    if not bought.needed_cents:
        return ""
    sums = f"{bought.bound.money(bought.cents)} of {gaps.cost.money(bought.needed_cents)} bought"
    return gaps.tell(f"{sums} for the phases ahead")


def delivery_text(delivery: DeliveryView, today: date) -> str:
    """What is coming, of which lot, from whom and when it was promised."""
    by = f" from {delivery.supplier}" if delivery.supplier else ""
    when = f", promised {format_day(delivery.promised, today)}" if delivery.promised else ", no day promised"
    return f"{pieces(delivery.quantity, delivery.unit)} {delivery.item} (lot {delivery.lot}){by}{when}"


def due_words(need: NeedView, day: date) -> str:
    """When a need is due, seen from ``day``: ``was due Mon 11 May``, ``due today``, ``due tomorrow`` or ``by
    Fri 15 May``.
    """
    ahead = (need.needed_on - day).days
    if ahead < 0:
        return f"was due {format_day(need.needed_on, day)}"
    return ("due today", "due tomorrow")[ahead] if ahead < 2 else f"by {format_day(need.needed_on, day)}"


def need_text(need: NeedView) -> str:
    """What is short: ``8 boards 2x8, 16'``."""
    return f"{pieces(need.to_buy, need.unit)} {need.title or need.item}"


def result_of(check: CheckView) -> str:
    """What a check came to, as short as it goes beside the check's name."""
    return check.headline if check.answer is None else result(check.answer, check.key)


def taken_back(check: CheckView, today: date) -> str:
    """That the newest reading of a check was taken back, by whom and why; empty when it was not."""
    newest = check.taken_back
    if newest is None:
        return ""
    return f"the reading of {format_day(newest.day, today)} by {newest.who} was taken back: {newest.withdrawn}"


def past_words(past: PastView, today: date) -> str:
    """What a start or sign-off went past and why, by whom: ``started past Frame: the inspector is due (M. Holt, Tue 12 May)``."""
    by_reason: dict[str, list[str]] = {}
    for thing in past.things:
        by_reason.setdefault(thing.reason, []).append(thing.what)
    told = "; ".join(f"{listing(whats, 'and')}: {reason}" for reason, whats in by_reason.items())
    return f"{past.event} past {told} ({past.who}, {format_day(past.day, today)})"


def past_brief(past: PastView, today: date) -> str:
    """As ``past_words`` with the things counted where there are several: the reason and the name come first."""
    what = past.things[0].what if len(past.things) == 1 else count(len(past.things), "thing")
    reasons = "; ".join(dict.fromkeys(thing.reason for thing in past.things))
    return f"{past.event} past {what}: {reasons} ({past.who}, {format_day(past.day, today)})"


def carries_words(titles: Sequence[str]) -> str:
    """That something is not settled under phases that have begun: ``not settled, and Deck boards stands on it``."""
    return f"not settled, and {listing(list(titles), 'and')} {'stands' if len(titles) == 1 else 'stand'} on it"


def moves(check: CheckView) -> str:
    """What to do about a check, joined into one sentence, less what its result says already."""
    return "; ".join(steps(check.answer, check.key)) if check.answer else ""


def rail_words(flight: Stairs) -> str:
    """``, handrail, guarded``: what a flight has beside its steps, or wants."""
    return ", handrail" * handrail_called_for(flight) + ", guarded" * stair_guard_called_for(flight)


def on_the_design(stands_on: str) -> str:
    """The line of a paper that names on whose design a deck stands."""
    return f"Stands on the design of its own: {clean(stands_on)}."


def design_words(faults: Sequence[str], stands_on: str) -> tuple[tuple[str, Tone], ...]:
    """What is said of a job's design on a page: each clause that fails, else on whose design it stands; else nothing."""
    if faults:
        return tuple((f"fails: {clean(fault)}", Tone.BAD) for fault in faults)
    return ((on_the_design(stands_on), Tone.PLAIN),) if stands_on else ()
