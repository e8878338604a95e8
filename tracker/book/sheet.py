"""The day sheet: every open job as known at the end of a day."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from datetime import date, timedelta

from tracker.book.attention import needs_you
from tracker.book.load import load_jobs, open_rows
from tracker.book.moneymorning import money_needs
from tracker.book.opening import Book
from tracker.book.pooling import with_shares
from tracker.book.sheetviews import DaySheet, JobSheet
from tracker.book.show import check_view, holds_of, job_line
from tracker.book.state import JobState
from tracker.book.stock import deliveries_of, needs_of
from tracker.book.views import CheckState, NeedView, PhaseState
from tracker.trade.checks.registry import JobCheck
from tracker.trade.material import stock_size

LOOK_AHEAD = 3
DELIVERY_DAYS = 7


def day_sheet(book: Book, day: date) -> DaySheet:
    """The sheet of ``day``: a past day reads as it was known that evening, every time the same.

    Later entries are left out, and specs, prices, lots and house rules are those of the day. The log of a job file counts
    as known on the days it names.
    """
    with book.reading() as session:
        states = load_jobs(book, session, open_rows(session, day), day, until=day)
        money = money_needs(session, [state for state in states if state.open], day, until=day)
    needs_person = needs_you(states, money)
    shown = [state for state in states if state.open or _signed_today(state)]
    by_job = {state.facts.code: state for state in shown}
    needs: dict[str, list[NeedView]] = {code: [] for code in by_job}
    for need in with_shares([need for state in shown for need in needs_of(state)]):
        needs[need.job].append(need)
    sheets = tuple(_job_sheet(state, tuple(needs[code])) for code, state in by_job.items())
    following = min((state.calendar.first(day + timedelta(days=1)) for state in shown), default=day + timedelta(days=1))
    return DaySheet(day, following, needs_person, sheets, _totals(sheets), _buy_totals(sheets))


def _signed_today(state: JobState) -> tuple[tuple[str, str], ...]:
    return tuple(
        (phase.title, fold.signed_by)
        for phase in state.phases
        if (fold := state.phase_folds[phase.key]).signed_off == state.today and state.signed(phase.key)
    )


def _job_sheet(state: JobState, needs: tuple[NeedView, ...]) -> JobSheet:
    deliveries = deliveries_of(state)
    ahead = [phase for phase in state.phases if state.phase_state(phase.key) is PhaseState.AHEAD]
    busy = [phase for phase in state.phases if state.phase_state(phase.key) in (PhaseState.UNDER_WAY, PhaseState.HELD)]
    tomorrow = state.calendar.first(state.today + timedelta(days=1))
    # What is under way may go on tomorrow whatever the plan says: its cautions are told until it is signed off.
    working = [*busy, *(p for p in ahead if state.plan[p.key].start <= tomorrow <= state.plan[p.key].end)]
    soon = state.today + timedelta(days=DELIVERY_DAYS)
    told = tuple(check_view(state, check) for check in state.checks if _told(state, check))
    return JobSheet(
        line=job_line(state, needs, deliveries),
        signed_off_today=_signed_today(state),
        under_way=tuple(phase.title for phase in busy),
        failed=tuple(check for check in told if check.state is CheckState.FAILED),
        waived=tuple(check for check in told if check.waivers),
        undone=tuple((phase.title, undone) for phase in state.phases if (undone := state.undone_by(phase.key))),
        holds=holds_of(state),
        next_work=tuple(
            (phase.title, state.plan[phase.key].start, state.plan[phase.key].end) for phase in ahead[:LOOK_AHEAD]
        ),
        deliveries=tuple(d for d in deliveries if d.promised is None or d.promised <= soon),
        to_buy=tuple(need for need in needs if need.to_buy),
        cautions_tomorrow=tuple(dict.fromkeys(text for phase in working for text in phase.cautions)),
        notes_today=tuple(note for note in state.notes if note.day == state.today),
        spec=state.file.spec,
        steps=tuple((phase.key, phase.title, state.shown_state(phase.key)) for phase in state.phases),
        checks=told,
        past=tuple((phase.title, past) for phase in state.phases for past in state.phase_folds[phase.key].past),
        carries=tuple(
            (phase.title, tuple(state.phase_by_key[key].title for key in on_it))
            for phase in state.phases
            if (on_it := state.carries(phase.key))
        ),
        design_faults=state.design_faults,
        stands_on=state.stands_on,
    )


def _told(state: JobState, check: JobCheck) -> bool:
    """Whether anything was said of a check: it was read or waived, or the spec alone fails it."""
    fold = state.check_folds[check.key]
    return bool(fold.readings or fold.waivers or (check.check.from_spec and state.design_fails))


def _totals(sheets: Sequence[JobSheet]) -> dict[str, int]:
    return {
        "jobs": sum(not sheet.line.finished for sheet in sheets),
        "held": sum(bool(sheet.line.hold) for sheet in sheets),
        "phases_signed_off_today": sum(len(sheet.signed_off_today) for sheet in sheets),
        "checks_failed": sum(len(sheet.failed) for sheet in sheets),
        "checks_waived": sum(len(sheet.waived) for sheet in sheets),
        "deliveries_due": sum(len(sheet.deliveries) for sheet in sheets),
        "items_to_buy": sum(len(sheet.to_buy) for sheet in sheets),
        "cost_to_buy_cents": sum(need.cost_cents or 0 for sheet in sheets for need in sheet.to_buy),
        "goods_not_priced": len({n.item for sheet in sheets for n in sheet.to_buy if n.cost_cents is None}),
    }


def _buy_totals(sheets: Sequence[JobSheet]) -> tuple[tuple[str, str, str, int], ...]:
    """Of each kind, what all jobs together lack; where an item is needed in several woods, its title says which."""
    needs = [need for sheet in sheets for need in sheet.to_buy]
    woods = Counter(item for item, _ in {(need.item, need.wood) for need in needs})
    sums: defaultdict[tuple[str, str, str], int] = defaultdict(int)
    for need in needs:
        title = f"{need.title}, {need.wood}" if woods[need.item] > 1 and need.wood else need.title
        sums[need.item, title, need.unit] += need.to_buy
    return tuple((*key, total) for key, total in sorted(sums.items(), key=lambda pair: (_by_size(pair[0][0]), pair[0])))


def _by_size(item: str) -> tuple[str, int]:
    """Boards of one size in order of length, not of their digits."""
    return stock_size(item) or (item, 0)
