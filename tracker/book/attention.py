"""What needs a person: the one list of it, which the morning, the day sheet and the open jobs all show.

A line says everything in words (what it is, why, what to do), so that no page has words of its own for it. A further kind
of thing that needs a person is one more function of ``_WORRIES`` and one more ``Worry``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta

from tracker.book.frontviews import NeedsYou, Place, Room, Worry
from tracker.book.state import JobState
from tracker.book.stock import deliveries_of, needs_of
from tracker.book.views import CHANGED_SINCE, READ_AGAIN, Blocker, CheckState, DeliveryView, NeedView, PhaseState
from tracker.text import count, listing
from tracker.trade.answer import result, steps
from tracker.trade.checks.design import CLEARS_DESIGN, DESIGN
from tracker.trade.checks.paper import working_days_before
from tracker.trade.checks.registry import JobCheck
from tracker.trade.dates import format_day
from tracker.trade.phases import CARE, HAND_OVER

RUNS_OUT_SOON = timedelta(days=2)
PAPER_AHEAD = timedelta(days=14)
FIRST_YEAR = timedelta(days=365)
A_WEEK = 5
"""Working days behind before it is worth a call to the client."""
NAMED = 3
"""Goods that a line of what is short names; of more the rest is counted."""


def needs_you(states: Sequence[JobState], money: Sequence[NeedsYou]) -> tuple[NeedsYou, ...]:
    """What needs a person over the open jobs among ``states`` and, in ``money``, the money of every job, the worst first.

    Within a kind what is due first stands first, then job by job. It may work out cut plans: no transaction is open meanwhile.
    """
    found = [*(need for state in states if state.open for need in worries_of(state)), *money]
    return tuple(sorted(found, key=_rank))


def worries_of(state: JobState) -> tuple[NeedsYou, ...]:
    """The part of ``needs_you`` that one open job's work has, the worst first."""
    return tuple(sorted((need for find in _WORRIES for need in find(state)), key=_rank))


def _rank(need: NeedsYou) -> tuple[Worry, date, str]:
    return need.worry, need.due or date.max, need.job


def _need(
    state: JobState, worry: Worry, what: str, why: str, place: Place, do: str, clears: str, due: date | None = None
) -> NeedsYou:
    return NeedsYou(worry, state.facts.code, state.facts.title, what, why, do, clears, place, due)


def _place(state: JobState, at: str) -> Place:
    return Place(state.facts.code, Room.JOB, at)


def check_name(check: JobCheck) -> str:
    """The title of a check, with its platform where the job has several."""
    return check.check.title if check.key == check.check.key else f"{check.check.title}, {check.platform.name}"


def _is_failed(state: JobState, key: str) -> bool:
    return state.check_states.get(key) is CheckState.FAILED


def _lower(blocker: Blocker) -> str:
    return blocker.what[:1].lower() + blocker.what[1:]


def _of_check(state: JobState, check: JobCheck, worry: Worry, what: str) -> NeedsYou:
    """A check that failed or has no reading any more: its verdict, and the move to make."""
    answer = state.answer(check)
    do = "; ".join(steps(answer, check.key)) if answer else ""
    why = result(answer, check.key) if answer else state.check_blocker(check).why
    if not do:
        do = f"put it right, then read {check.key} again" if answer else f"read {check.key} again"
    clears = f"deckjobs check {state.facts.code} {check.key}"
    return _need(state, worry, what, why, _place(state, check.key), do, clears)


def _undone(state: JobState) -> Iterator[NeedsYou]:
    """Sign-offs undone by a check that failed since, or whose reading was taken back."""
    for check in state.checks:
        if check.key in state.undone_by(check.phase):
            phase = state.phase_by_key[check.phase]
            what = f"{check_name(check)} (sign-off of {phase.title.lower()} undone)"
            if state.settled(check.key):  # mended and read again: only the name under it is wanting
                clears, why = (
                    f"deckjobs signoff {state.facts.code} {phase.key}",
                    "it failed after the sign-off; it is good now",
                )
                yield _need(state, Worry.UNDONE, what, why, _place(state, phase.key), clearing(clears), clears)
            else:
                yield _of_check(state, check, Worry.UNDONE, what)


def _covered(state: JobState) -> Iterator[NeedsYou]:
    """Phases that are not signed off while others that stand on them have begun, in one line: opened again, or gone past."""
    under = [
        phase for phase in state.phases
        if state.carries(phase.key) and not state.signed(phase.key) and not state.undone_by(phase.key)
    ]  # fmt: skip
    if not under:
        return
    first = state.loose[under[0].key][0]
    on_top = [phase.title.lower() for phase in state.phases if any(phase.key in state.carries(p.key) for p in under)]
    more = f", and {count(len(under) - 1, 'more phase')} not signed off" if len(under) > 1 else ""
    stand = f"{'stands' if len(on_top) == 1 else 'stand'} on {'them' if more else 'it'}"
    why = f"{first.why}{more}; {listing(on_top, 'and')} {stand}"
    place = _place(state, under[0].key)
    yield _need(state, Worry.COVERED, first.what, why, place, clearing(first.clears), first.clears)


def _failed(state: JobState) -> Iterator[NeedsYou]:
    """Failed checks of work that is not signed off or that still guard work ahead."""
    for check in state.checks:
        if not _is_failed(state, check.key) or check.key in state.undone_by(check.phase):
            continue
        if not state.signed(check.phase) or state.guarded_by(check):
            yield _of_check(state, check, Worry.FAILED, check_name(check))


def _design(state: JobState) -> Iterator[NeedsYou]:
    """A design that fails, of a job that came into the book before every job had its check."""
    if DESIGN not in state.check_by_key and state.design_fails:
        blocker = state.design_blocker
        place = _place(state, state.current.key if state.current else "")
        yield _need(state, Worry.FAILED, blocker.what, blocker.why, place, CLEARS_DESIGN, blocker.clears)


def _held(state: JobState) -> Iterator[NeedsYou]:
    """Phases held by a person or at a hold point, one line each; a failed check in the way has its own line."""
    for phase in state.phases:
        if state.shown_state(phase.key) is not PhaseState.HELD:
            continue
        blockers = [b for b in state.in_the_way(phase.key) if not _is_failed(state, b.check)]
        if not blockers:
            continue
        first = min(blockers, key=lambda blocker: bool(blocker.check))
        others = f" (and {count(len(blockers) - 1, 'more thing')} in the way)" if len(blockers) > 1 else ""
        named = first.what if first.what.startswith(phase.title) else f"{phase.title} waits for {_lower(first)}"
        place = _place(state, first.check or first.phase or phase.key)
        yield _need(state, Worry.HELD, named, first.why + others, place, clearing(first.clears), first.clears)


def clearing(command: str) -> str:
    """What a person does about the thing that a command such as ``deckjobs signoff 26-014 frame`` clears."""
    words = command.split()
    key = words[3] if len(words) > 3 else ""
    match words[1:2] if words[:1] == ["deckjobs"] else ():
        case ["check"]:
            return f"read {key}"
        case ["signoff"]:
            return f"sign off {key}"
        case ["start"]:
            return f"start {key} again once that is settled"
        case ["reopen"]:
            return f"reopen {key}"
        case ["waive"]:
            return f"waive {key} with a reason"
    return command


def _again(state: JobState) -> Iterator[NeedsYou]:
    """Checks that were read and count no more, by a change or because the reading was taken back."""
    for check in state.checks:
        fold = state.check_folds[check.key]
        if state.check_states[check.key] is not CheckState.OPEN or not fold.readings or fold.last is not None:
            continue
        if check.key in state.undone_by(check.phase):
            continue
        do = f"read {check.key} again"
        if state.guarded_by(check):
            locate = check.check.key == "locate"
            do = (
                "nobody digs before a new ticket is good" if locate else "ask the office whether it covers what changed"
            )
        clears = f"deckjobs check {state.facts.code} {check.key}"
        what, why = f"{check_name(check)} is to be read again", state.check_blocker(check).why
        why = CHANGED_SINCE if why == READ_AGAIN else why
        yield _need(state, Worry.AGAIN, what, why, _place(state, check.key), do, clears)


def _papers(state: JobState) -> Iterator[NeedsYou]:
    """Locate tickets and permits that are good today and run out before the work they cover is planned to end."""
    for check in state.checks:
        answer, guarded = state.answer(check), state.guarded_by(check)
        expires = answer.answer.get("expires") if answer else None
        if state.check_states[check.key] is not CheckState.PASSED or not guarded or not isinstance(expires, str):
            continue
        last_day = date.fromisoformat(expires)
        work = max(guarded, key=lambda key: state.plan[key].end)
        end = state.plan[work].end
        soon = last_day - state.today <= RUNS_OUT_SOON
        short = last_day < end
        if not (soon or (short and last_day - state.today <= PAPER_AHEAD)):
            continue
        title = state.phase_by_key[work].title.lower()
        when = "today" if last_day == state.today else format_day(last_day, state.today)
        do = _renew(state, check, last_day) if short else f"be done with it by {format_day(last_day, state.today)}"
        clears = f"deckjobs check {state.facts.code} {check.key}"
        yield _need(
            state, Worry.PAPER, f"{check_name(check)} runs out {when}", f"{title} is planned to {format_day(end, state.today)}",
            _place(state, check.key), do, clears, last_day,
        )  # fmt: skip


def _renew(state: JobState, check: JobCheck, last_day: date) -> str:
    if check.check.key != "locate":
        return "ask the office to extend or renew it before then"
    by = working_days_before(last_day, state.file.spec.rules.figure("locate_lead"))
    return f"call for a new ticket {'today' if by <= state.today else f'by {format_day(by, state.today)}'}"


def _late(state: JobState) -> Iterator[NeedsYou]:
    """Deliveries promised for a day gone by, one line a supplier and day; after the hand-over those still needed."""
    late: dict[tuple[str, date], list[DeliveryView]] = {}
    needed = {need.item for need in needs_of(state)} if state.handed_over is not None else None
    for delivery in deliveries_of(state):
        if needed is not None and delivery.item not in needed:
            continue
        if delivery.promised is not None and delivery.promised < state.today:
            late.setdefault((delivery.supplier, delivery.promised), []).append(delivery)
    for (supplier, promised), found in late.items():
        first, more = found[0], f" and {count(len(found) - 1, 'more lot')}" if len(found) > 1 else ""
        yield _need(
            state,
            Worry.LATE,
            f"{count(first.quantity, first.unit)} {first.item}{more}",
            f"promised {format_day(promised, state.today)} and not here",
            Place(state.facts.code, Room.LOTS, first.lot),
            f"ring {supplier or 'the supplier'}; when it comes, receive it off the ticket",
            f"deckjobs receive {state.facts.code} {first.lot} COUNT",
            promised,
        )


def _short(state: JobState) -> Iterator[NeedsYou]:
    """Material still to buy whose last day to order is today or gone: a line for each day to order and day needed."""
    groups: dict[tuple[date, date], list[NeedView]] = {}
    for need in needs_of(state):
        if need.to_buy and need.order_by is not None and need.order_by <= state.today:
            groups.setdefault((need.order_by, need.needed_on), []).append(need)
    for (order_by, needed_on), short in sorted(groups.items()):
        phases = dict.fromkeys(state.phase_by_key[need.phase].title.lower() for need in short)
        told = [f"{count(need.to_buy, need.unit)} {need.title}" for need in short[:NAMED]]
        if (more := len(short) - NAMED) > 0:
            told.append(count(more, "more item"))
        yield _need(
            state,
            Worry.SHORT,
            f"for {listing(phases, 'and')}",
            f"{'; '.join(told)}; needed {format_day(needed_on, state.today)}",
            Place(state.facts.code, Room.BUY, short[0].item),
            "order today"
            if order_by == state.today
            else f"order now: the day to order was {format_day(order_by, state.today)}",
            f"deckjobs buy {state.facts.code}",
            order_by,
        )


def _warranty(state: JobState) -> Iterator[NeedsYou]:
    """Calls after the hand-over: what stands on the punch list, and phases that were opened again with nothing on top."""
    if state.handed_over is None and state.current is not None:
        return
    code, handed = state.facts.code, state.handed_over
    passes = state.phase_folds[HAND_OVER].past[-1:] if handed is not None else ()
    named = {thing.key for gone in passes for thing in gone.things}
    for item in state.punch:
        if item.done is not None:
            continue
        told = f"written down {format_day(item.day, state.today)} by {item.who}"
        if handed is not None:
            left = item.day < handed or f"punch.{item.number}" in named
            told += ", left at the hand-over" if left else f", after the hand-over of {format_day(handed, state.today)}"
        yield _need(
            state, Worry.WARRANTY, item.text, told, Place(code, Room.HAND_OVER),
            "see to it, then close it on the punch list", f"deckjobs punch {code} --done {item.number}", item.day,
        )  # fmt: skip
    for phase in state.phases:
        fold = state.phase_folds[phase.key]
        if fold.reopened and not state.signed(phase.key) and not state.carries(phase.key):
            yield _need(
                state, Worry.WARRANTY, f"{phase.title} is open again", f"opened again by {fold.reopened}",
                _place(state, phase.key), "mend it, then sign it off", f"deckjobs signoff {code} {phase.key}",
            )  # fmt: skip


def _behind(state: JobState) -> Iterator[NeedsYou]:
    """A hand-over still to come, more than a week behind the first plan."""
    if (late := state.days_late) > A_WEEK and state.handed_over is None:
        yield _need(
            state, Worry.BEHIND, f"{count(late, 'working day')} late", f"hand-over now {format_day(state.hand_over_day, state.today)}",
            Place(state.facts.code), "tell the client", f"deckjobs show {state.facts.code}",
        )  # fmt: skip


def _office(state: JobState) -> Iterator[NeedsYou]:
    """The first desk phase whose turn and planned day have come; care is told by its own dates for its first year."""
    for phase in state.phases:
        if (
            phase.office
            and not (phase.key == CARE and state.today <= _care_until(state))
            and state.shown_state(phase.key) in (PhaseState.AHEAD, PhaseState.UNDER_WAY)
            and state.turn_has_come(phase.key)
            and state.plan[phase.key].start <= state.today
            and state.first_plan[phase.key].start <= state.today
        ):
            why = f"planned {format_day(state.first_plan[phase.key].start, state.today)}"
            if blockers := state.signoff_blockers(phase.key):
                why += f"; still open: {listing([_lower(b) for b in blockers[:2]], 'and')}"
            clears = f"deckjobs signoff {state.facts.code} {phase.key}"
            do = "see to it, then sign it off"
            yield _need(state, Worry.OFFICE, phase.title, why, _place(state, phase.key), do, clears)
            return


def _care_until(state: JobState) -> date:
    """The last day of the first year after the hand-over."""
    return (state.handed_over or state.today) + FIRST_YEAR


_WORRIES = (_undone, _covered, _failed, _design, _held, _again, _warranty, _papers, _late, _short, _behind, _office)


def holding(needs: Iterable[NeedsYou]) -> NeedsYou | None:
    """The first of a job's lines that holds its work up: None when nothing does."""
    return next((need for need in needs if need.worry.holds), None)
