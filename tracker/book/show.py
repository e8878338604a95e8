"""From a JobState to the frozen views of the room. Pure."""

from __future__ import annotations

from datetime import date

from tracker.book.state import JobState
from tracker.book.stock import deliveries_of, lots_of, money_of, needs_of
from tracker.book.views import (
    Blocker,
    CheckState,
    CheckView,
    DeliveryView,
    JobLine,
    JobView,
    NeedView,
    PhaseState,
    PhaseView,
)
from tracker.planning.schedule import days_late
from tracker.text import count
from tracker.trade.checks.registry import JobCheck
from tracker.trade.dates import format_day
from tracker.trade.phases import Phase

HAND_OVER = "hand-over"


def check_view(state: JobState, check: JobCheck) -> CheckView:
    """A check with its form, history and verdict in force."""
    fold = state.check_folds[check.key]
    answer = state.answer(check)
    several = check.key != check.check.key
    return CheckView(
        key=check.key,
        title=f"{check.check.title}, {check.platform.name}" if several else check.check.title,
        asks=check.check.asks,
        phase=check.phase,
        platform=check.platform.name if check.check.per_platform else "",
        state=fold.state(answer),
        form=check.check.form(state.case(check)),
        caution=check.check.caution,
        source=check.check.source,
        answer=answer,
        readings=fold.readings,
        waivers=fold.waivers,
        last=fold.last,
    )


def phase_view(state: JobState, phase: Phase) -> PhaseView:
    """A phase with its checks and what stands in the way."""
    fold = state.phase_folds[phase.key]
    undone = state.undone_by(phase.key)
    return PhaseView(
        key=phase.key,
        title=phase.title,
        state=state.shown_state(phase.key),
        hold=phase.hold,
        planned_start=state.plan[phase.key].start,
        planned_end=state.plan[phase.key].end,
        first_planned_end=state.first_plan[phase.key].end,
        started=fold.started,
        signed_off=None if undone else fold.signed_off,
        signed_by="" if undone else fold.signed_by,
        held_why=fold.held_why,
        undone_by=undone,
        checks=tuple(check_view(state, check) for check in state.checks if check.phase == phase.key),
        cautions=phase.cautions,
        stands_in_way=state.in_the_way(phase.key),
        outdoors=phase.outdoors,
        office=phase.office,
        rev=state.revs[phase.key],
    )


def worst_hold(state: JobState, needs: tuple[NeedView, ...], deliveries: tuple[DeliveryView, ...]) -> Blocker | None:
    """The single thing that holds the job most, in words: None when nothing does."""
    holds = holds_of(state)
    if holds:
        return holds[0]
    for delivery in deliveries:
        if delivery.promised is not None and delivery.promised < state.today:
            return Blocker(
                f"lot {delivery.lot}",
                f"{count(delivery.quantity, delivery.unit)} promised {format_day(delivery.promised, state.today)} and not here",
                f"deckjobs receive {state.facts.code} {delivery.lot} COUNT",
            )
    late = [need for need in needs if need.late]
    if late:
        first = late[0]
        more = f" and {count(len(late) - 1, 'more item')}" if len(late) > 1 else ""
        return Blocker(
            f"short for {state.phase_by_key[first.phase].title.lower()}",
            f"{count(first.to_buy, first.unit)} {first.title}{more}",
            f"deckjobs buy {state.facts.code}",
        )
    return None


def holds_of(state: JobState) -> tuple[Blocker, ...]:
    """Everything that holds the job now, the worst first: undone sign-offs, failures, holds, then what is still open."""
    undone: list[Blocker] = []
    failed: list[Blocker] = []
    held: list[Blocker] = []
    for phase in state.phases:
        word = state.shown_state(phase.key)
        if state.undone_by(phase.key):
            undone += state.signoff_blockers(phase.key)
        elif word is PhaseState.UNDER_WAY:
            failed += [
                b for b in state.signoff_blockers(phase.key) if state.check_states.get(b.check) is CheckState.FAILED
            ]
        elif word is PhaseState.HELD:
            held += sorted(state.in_the_way(phase.key), key=lambda blocker: bool(blocker.check))
    loose = [
        blocker
        for check in state.checks
        if state.check_states[check.key] is CheckState.FAILED and not state.signed(check.phase)
        for blocker in (state.check_blocker(check),)
    ]
    return tuple(dict.fromkeys((*undone, *failed, *loose, *held)))


def job_line(
    state: JobState,
    needs: tuple[NeedView, ...] | None = None,
    deliveries: tuple[DeliveryView, ...] | None = None,
) -> JobLine:
    """One job in a list."""
    needs = needs_of(state) if needs is None else needs
    deliveries = deliveries_of(state) if deliveries is None else deliveries
    hold = worst_hold(state, needs, deliveries)
    bought, needed = money_of(state, needs)
    current = state.current
    facts = state.facts
    return JobLine(
        code=facts.code,
        title=facts.title,
        client=facts.client,
        place=facts.place,
        crew=facts.crew,
        phase=current.key if current else "",
        phase_title=current.title if current else "all signed off",
        phase_state=state.shown_state(current.key) if current else PhaseState.SIGNED_OFF,
        strip=tuple(state.shown_state(phase.key) for phase in state.phases),
        signed_off=sum(state.signed(phase.key) for phase in state.phases),
        hold=f"{hold.what}: {hold.why}" if hold else "",
        hold_clears=hold.clears if hold else "",
        next_delivery=deliveries[0] if deliveries else None,
        days_late=days_late(state.first_plan, state.plan, state.calendar),
        planned_end=hand_over_day(state),
        today=state.today,
        bought_cents=bought,
        needed_cents=needed,
        finished=current is None,
    )


def hand_over_day(state: JobState) -> date:
    """When the job is planned to be handed over; the last planned day once it is, or for a job without a hand-over.

    The boards may wait weeks for their finish after it.
    """
    if HAND_OVER in state.plan and not state.signed(HAND_OVER):
        return state.plan[HAND_OVER].end
    return max(span.end for span in state.plan.values())


def whole_view(state: JobState) -> JobView:
    """Everything a job's page shows."""
    needs, deliveries = needs_of(state), deliveries_of(state)
    return JobView(
        line=job_line(state, needs, deliveries),
        start=state.facts.start,
        spec=state.file.spec,
        phases=tuple(phase_view(state, phase) for phase in state.phases),
        lots=lots_of(state),
        needs=needs,
        deliveries=deliveries,
        notes=state.notes,
        platforms=tuple(platform.name for platform in state.file.spec.platforms),
        rev=state.facts.rev,
    )
