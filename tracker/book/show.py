"""From a JobState to the frozen views of the room. Pure."""

from __future__ import annotations

from tracker.book.attention import check_name, holding, worries_of
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
from tracker.trade.checks.registry import JobCheck
from tracker.trade.phases import Phase

_AFTER = {True: PhaseState.UNDER_WAY, False: PhaseState.SIGNED_OFF}
"""How a job stands when every phase is signed off, by whether somebody has called since."""


def check_view(state: JobState, check: JobCheck) -> CheckView:
    """A check with its form, history and verdict in force."""
    fold = state.check_folds[check.key]
    answer = state.answer(check)
    return CheckView(
        key=check.key,
        title=check_name(check),
        asks=check.check.asks,
        phase=check.phase,
        platform=check.platform.name if check.check.per_platform else "",
        state=state.check_states[check.key],
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
        past=fold.past,
        carries=tuple(state.phase_by_key[key].title for key in state.carries(phase.key)),
    )


def holds_of(state: JobState) -> tuple[Blocker, ...]:
    """Everything that holds the job now, the worst first: undone sign-offs, what is open under phases that have begun,
    failures, holds, then what is still open.
    """
    undone: list[Blocker] = []
    under = [blocker for phase in state.phases if state.carries(phase.key) for blocker in state.loose[phase.key]]
    failed: list[Blocker] = []
    held: list[Blocker] = []
    for phase in state.phases:
        word = state.shown_state(phase.key)
        if state.undone_by(phase.key):
            undone += state.own_blockers(phase.key)
        elif word is PhaseState.UNDER_WAY:
            failed += [b for b in state.own_blockers(phase.key) if state.check_states.get(b.check) is CheckState.FAILED]
        elif word is PhaseState.HELD:
            held += sorted(state.in_the_way(phase.key), key=lambda blocker: bool(blocker.check))
    loose = [
        blocker
        for check in state.checks
        if state.check_states[check.key] is CheckState.FAILED and not state.signed(check.phase)
        for blocker in (state.check_blocker(check),)
    ]
    return tuple(dict.fromkeys((*undone, *under, *failed, *loose, *held)))


def job_line(
    state: JobState,
    needs: tuple[NeedView, ...] | None = None,
    deliveries: tuple[DeliveryView, ...] | None = None,
) -> JobLine:
    """One job in a list."""
    needs = needs_of(state) if needs is None else needs
    deliveries = deliveries_of(state) if deliveries is None else deliveries
    hold = holding(worries_of(state)) if state.current else None
    current = state.current
    facts = state.facts
    return JobLine(
        code=facts.code,
        title=facts.title,
        client=facts.client,
        place=facts.place,
        crew=facts.crew,
        phase=current.key if current else "",
        phase_title=current.title if current else "Warranty call" if state.open else "all signed off",
        phase_state=state.shown_state(current.key) if current else _AFTER[state.open],
        strip=tuple(state.shown_state(phase.key) for phase in state.phases),
        signed_off=sum(state.signed(phase.key) for phase in state.phases),
        hold=hold.said if hold else "",
        hold_do=hold.do if hold else "",
        hold_clears=hold.clears if hold else "",
        next_delivery=deliveries[0] if deliveries else None,
        days_late=state.days_late,
        planned_end=state.hand_over_day,
        handed_over=state.handed_over,
        today=state.today,
        bought=money_of(needs),
        finished=not state.open,
    )


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
        design_faults=state.design_faults,
        stands_on=state.stands_on,
    )
