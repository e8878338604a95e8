"""Small texts that several pages share: verdict words, days, the sentence of a need or a delivery."""

from __future__ import annotations

from datetime import date

from tracker.book.views import CheckState, CheckView, DeliveryView, JobLine, NeedView, PhaseState
from tracker.reports.page import Tone
from tracker.text import count
from tracker.trade.dates import format_day
from tracker.trade.money import format_money

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
PHASE_TONES = {
    PhaseState.AHEAD: Tone.QUIET,
    PhaseState.UNDER_WAY: Tone.TITLE,
    PhaseState.HELD: Tone.BAD,
    PhaseState.SIGNED_OFF: Tone.GOOD,
}


def pieces(number: int, unit: str) -> str:
    """``8 boards``, ``1 box``, ``3 boxes``."""
    return count(number, unit or "piece", f"{unit}es" if unit.endswith(("x", "s", "ch", "sh")) else "")


def span(first: date, last: date) -> str:
    """``Tue 12 May`` or ``Tue 12 May to Thu 14 May``."""
    return format_day(first) if first == last else f"{format_day(first)} to {format_day(last)}"


def lateness(line: JobLine) -> str:
    """``2 days late`` or an empty text."""
    return f"{count(line.days_late, 'day')} late" if line.days_late > 0 else ""


def where(line: JobLine) -> str:
    """The phase a job is in and its state, in words."""
    if line.finished:
        return "handed over"
    return f"{line.phase_title} ({line.phase_state.value})" if line.phase_title else "no phase left"


def money_line(line: JobLine) -> str:
    """``$1,180.00 of $1,904.00 bought``, or an empty text when no price is known."""
    if not line.needed_cents:
        return ""
    return f"{format_money(line.bought_cents)} of {format_money(line.needed_cents)} bought"


def delivery_text(delivery: DeliveryView) -> str:
    """What is coming, of which lot, from whom and when it was promised."""
    by = f" from {delivery.supplier}" if delivery.supplier else ""
    when = f", promised {format_day(delivery.promised)}" if delivery.promised else ", no day promised"
    return f"{pieces(delivery.quantity, delivery.unit)} {delivery.item} (lot {delivery.lot}){by}{when}"


def need_text(need: NeedView) -> str:
    """What is short and by when."""
    late = ", LATE" if need.late else ""
    return f"{pieces(need.to_buy, need.unit)} {need.title or need.item} by {format_day(need.needed_on)}{late}"


def moves(check: CheckView) -> str:
    """What to do about a check, joined into one sentence, less what its headline says already."""
    said = check.headline
    return "; ".join(move for move in check.answer.moves if move not in said) if check.answer else ""
