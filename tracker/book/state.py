"""One job as it stands on a day: its spec and its entries put together. Pure: rows come in as plain values.

Gates, plans and verdicts in force are all computed here; operations and views read them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from tracker.book.fold import CheckFold, DaysOff, LotFold, PhaseFold
from tracker.book.views import READ_AGAIN, Blocker, CheckState, NoteView, PhaseState
from tracker.errors import InputError
from tracker.planning.allowed import Allowed, Known, allowed_days
from tracker.planning.material import Held, Material, Solver, plan_material
from tracker.planning.pricing import PriceBook
from tracker.planning.schedule import WEEKDAYS, Crew, Done, Span, WorkCalendar, days_late, hand_over_day, schedule
from tracker.trade.answer import Answer
from tracker.trade.checks.base import Case, LotLine
from tracker.trade.checks.registry import JobCheck
from tracker.trade.dates import format_day
from tracker.trade.framing import quantities
from tracker.trade.jobfile.model import JobFile
from tracker.trade.material import stock_size
from tracker.trade.phases import HAND_OVER, Phase
from tracker.trade.readings import readings_of
from tracker.trade.takeoff import Line, take_off

WAIT = "wait."


@dataclass(frozen=True, slots=True)
class JobFacts:
    """A job row without its source."""

    id: str
    code: str
    title: str
    client: str
    place: str
    crew: str
    start: date
    rev: int


@dataclass(frozen=True, slots=True)
class LotState:
    """A lot row and its quantities; ``unfit`` is what its inspection found wrong with the pieces and nobody waived."""

    id: str
    code: str
    item: str
    supplier: str
    use_category: str
    dry: bool
    fold: LotFold
    unfit: tuple[str, ...] = ()


def _undoes(history: CheckFold, signed_arrived: int) -> bool:
    """Whether what happened to a check after a sign-off undoes it: a reading that failed, or one taken back that leaves
    the check failed or without an answer.
    """
    state = history.state(history.last.answer if history.last else None)
    if history.last_arrived > signed_arrived:
        return state is CheckState.FAILED
    return history.changed_arrived > signed_arrived and state in (CheckState.FAILED, CheckState.OPEN)


@dataclass(frozen=True)
class JobState:
    """A job on a day. Ids map keys to rows; folds map keys to their entries' outcome."""

    facts: JobFacts
    file: JobFile
    phases: tuple[Phase, ...]
    checks: tuple[JobCheck, ...]
    phase_ids: Mapping[str, str]
    check_ids: Mapping[str, str]
    phase_folds: Mapping[str, PhaseFold]
    check_folds: Mapping[str, CheckFold]
    lots: tuple[LotState, ...]
    notes: tuple[NoteView, ...]
    days_off: DaysOff
    today: date
    revs: Mapping[str, int]
    prices: PriceBook
    solver: Solver

    @cached_property
    def calendar(self) -> WorkCalendar:
        """Working days of this job."""
        return WorkCalendar(WEEKDAYS, self.days_off.off, self.days_off.rain)

    @cached_property
    def phase_by_key(self) -> Mapping[str, Phase]:
        """Phases by key."""
        return {phase.key: phase for phase in self.phases}

    @cached_property
    def check_by_key(self) -> Mapping[str, JobCheck]:
        """Checks by the key people use."""
        return {check.key: check for check in self.checks}

    @cached_property
    def crew(self) -> Crew:
        """How much its crew does in a day."""
        spec = self.file.spec
        return Crew(spec.crew_size, spec.rules.figure("hours_per_day"), quantities(spec))

    @cached_property
    def planned(self) -> Material:
        """The take-off against what the job has, cut from the cheapest boards."""
        spec = self.file.spec
        done, ahead = self.take_off
        return plan_material(done, ahead, self.obtained, self.prices, spec.rules, spec.unit, self.solver)

    @cached_property
    def take_off(self) -> tuple[tuple[Line, ...], tuple[Line, ...]]:
        """The take-off of the spec: lines of phases signed off, and the others."""
        lines = take_off(self.file.spec)
        signed = {phase.key for phase in self.phases if self.signed(phase.key)}
        return (
            tuple(line for line in lines if line.phase in signed),
            tuple(line for line in lines if line.phase not in signed),
        )

    @property
    def obtained(self) -> Counter[Held]:
        """Pieces the job has had, has or will get, by item and wood: the one wood the take-off has of that size, or any."""
        woods: dict[str, set[str]] = {}
        for line in (*self.take_off[0], *self.take_off[1]):
            woods.setdefault(line.item, set()).add(line.wood)
        have: Counter[Held] = Counter()
        for lot in self.lots:
            size = stock_size(lot.item)
            known = woods.get(size[0], set()) if size else set()
            have[lot.item, next(iter(known)) if len(known) == 1 else ""] += lot.fold.obtained
        return have

    @property
    def material(self) -> tuple[Line, ...]:
        """The lines of the material list."""
        return self.planned.lines

    @cached_property
    def first_plan(self) -> Mapping[str, Span]:
        """The plan before anything happened: the yardstick for lateness."""
        plain = WorkCalendar(WEEKDAYS, self.days_off.off)
        return schedule(self.phases, self.facts.start, self.crew, plain, self.file.spec.rules)

    @cached_property
    def plan(self) -> Mapping[str, Span]:
        """The plan as it stands, moved by what really happened."""
        done = {}
        for key, fold in self.phase_folds.items():
            state = self.phase_state(key)
            signed = fold.signed_off if state is PhaseState.SIGNED_OFF else None
            done[key] = Done(fold.started, signed)
        rules = self.file.spec.rules
        return schedule(
            self.phases, self.facts.start, self.crew, self.calendar, rules, done, self.today, self.allowed
        )  # fmt: skip

    @cached_property
    def allowed(self) -> Mapping[str, Allowed]:
        """The days papers, waits and checks allow the phases: by what was kept with the readings, which hangs on no plan."""
        known = [self._known(check) for check in self.checks]
        waived = [key for key, fold in self.phase_folds.items() if fold.waits_waived]
        return allowed_days(self.phases, known, waived, self.today, self.file.spec.rules)

    def _known(self, check: JobCheck) -> Known:
        history, phase = self.check_folds[check.key], self.phase_folds[check.phase]
        asked = phase.started if phase.state is PhaseState.UNDER_WAY and not history.readings else None
        return Known(
            check.check.key, check.phase, history.last.answer if history.last else None,
            history.waived_arrived > history.last_arrived, asked,
        )  # fmt: skip

    @property
    def hand_over_day(self) -> date:
        """The day the client gets the deck, as planned; the day they got it once they have."""
        return hand_over_day(self.plan)

    @property
    def days_late(self) -> int:
        """Working days by which the hand-over has slipped against the first plan (negative: ahead)."""
        return days_late(self.first_plan, self.plan, self.calendar)

    @property
    def handed_over(self) -> date | None:
        """The day the client got the deck; None before the hand-over is signed off, and where its sign-off was undone."""
        there = HAND_OVER in self.phase_by_key and self.signed(HAND_OVER)
        return self.phase_folds[HAND_OVER].signed_off if there else None

    @cached_property
    def _undone(self) -> Mapping[str, tuple[str, ...]]:
        return {key: self._undone_by(key) for key in self.phase_folds}

    def undone_by(self, key: str) -> tuple[str, ...]:
        """Checks that undid the phase's sign-off: read and failed after it, or left without the reading it rested on."""
        return self._undone[key]

    def _failed_after(self, check_key: str) -> bool:
        """Whether a check that undid a sign-off did so by a reading that failed, none being taken back since."""
        history = self.check_folds[check_key]
        return history.last_arrived == history.changed_arrived

    def _undone_by(self, key: str) -> tuple[str, ...]:
        fold = self.phase_folds[key]
        if fold.state is not PhaseState.SIGNED_OFF:
            return ()
        return tuple(
            check.key
            for check in self.checks
            if check.phase == key and _undoes(self.check_folds[check.key], fold.signed_arrived)
        )

    def phase_state(self, key: str) -> PhaseState:
        """Where a phase stands by its own entries; a sign-off undone by a failing reading is under way again."""
        fold = self.phase_folds[key]
        return PhaseState.UNDER_WAY if self.undone_by(key) else fold.state

    def shown_state(self, key: str) -> PhaseState:
        """As ``phase_state``, but a phase whose turn has come and whose start is refused shows as held."""
        state = self.phase_state(key)
        if state is PhaseState.AHEAD and self.turn_has_come(key) and self.start_blockers(key):
            return PhaseState.HELD
        return state

    def signed(self, key: str) -> bool:
        """Whether the phase is signed off, for good."""
        return self.phase_state(key) is PhaseState.SIGNED_OFF

    def turn_has_come(self, key: str) -> bool:
        """Whether everything the phase waits for in the plan is signed off."""
        return all(self.signed(before) for before in self.phase_by_key[key].after)

    # -- verdicts in force

    @cached_property
    def lot_lines(self) -> tuple[LotLine, ...]:
        """The lots as checks see them."""
        return tuple(
            LotLine(
                lot.code,
                lot.item,
                lot.fold.ordered,
                lot.fold.received,
                lot.fold.on_hand,
                lot.use_category,
                lot.dry,
                used=lot.fold.used,
                sent_away=lot.fold.returned + lot.fold.scrapped,
            )
            for lot in self.lots
        )

    def guarded_by(self, check: JobCheck) -> tuple[str, ...]:
        """Phases not yet signed off that need this check good on the day they start."""
        return tuple(
            phase.key for phase in self.phases if check.check.key in phase.standing and not self.signed(phase.key)
        )

    def case(self, check: JobCheck) -> Case:
        """What the check is judged against today."""
        needed = [max(self.plan[key].start, self.today) for key in self.guarded_by(check)]
        return Case(self.file.spec, check.platform, self.today, min(needed, default=None), self.lot_lines)

    @cached_property
    def _answers(self) -> Mapping[str, Answer | None]:
        return {check.key: self._answer(check) for check in self.checks}

    def answer(self, check: JobCheck) -> Answer | None:
        """The verdict in force: recorded with the last reading, or asked again where it still guards work by the day."""
        return self._answers[check.key]

    def _answer(self, check: JobCheck) -> Answer | None:
        last = self.check_folds[check.key].last
        if last is None:
            return None
        if not self.guarded_by(check):
            return last.answer
        try:
            case = self.case(check)
            return check.check.judge(case, readings_of(check.check.form(case), last.entered, self.file.unit))
        except InputError:
            return last.answer

    @cached_property
    def check_states(self) -> Mapping[str, CheckState]:
        """State of every check by the key people use."""
        return {check.key: self.check_folds[check.key].state(self.answer(check)) for check in self.checks}

    def settled(self, key: str) -> bool:
        """Whether a check no longer stands in the way."""
        return self.check_states[key] in (CheckState.PASSED, CheckState.WAIVED)

    # -- gates

    def start_blockers(self, key: str) -> tuple[Blocker, ...]:
        """What refuses the start of a phase today: open hold points before it, and checks that must be good on the day."""
        phase, code = self.phase_by_key[key], self.facts.code
        found: list[Blocker] = []
        for earlier in self.phases:
            if earlier.key == key:
                break
            if earlier.hold and not self.signed(earlier.key):
                why = "is not signed off"
                if undone := self.undone_by(earlier.key):
                    why = f"was undone by a failing reading of {', '.join(undone)}"
                    if not any(self._failed_after(undoing) for undoing in undone):
                        why = f"was undone: the reading of {', '.join(undone)} was taken back"
                found.append(
                    Blocker(
                        f"{earlier.title} (hold point {earlier.hold})",
                        why,
                        f"deckjobs signoff {code} {earlier.key}",
                        earlier.key,
                    )
                )
        for check in self.checks:
            if check.check.key in phase.standing and not self.settled(check.key):
                found.append(self.check_blocker(check))
        return tuple(found)

    def check_blocker(self, check: JobCheck) -> Blocker:
        """A check that is open or failed, as something in the way."""
        answer = self.answer(check)
        newest = self.check_folds[check.key].readings[-1:]
        why = "its reading was taken back" if newest else "no reading yet"
        if newest and not newest[0].withdrawn:
            why = READ_AGAIN
        if answer is not None:
            why = answer.headline
        return Blocker(
            check.check.title if check.key == check.check.key else f"{check.check.title}, {check.platform.name}",
            why,
            f"deckjobs check {self.facts.code} {check.key}",
            check.phase,
            check.key,
        )

    def wait_over(self, key: str) -> date | None:
        """The first day the phase's wait has passed; None without a wait or before it began."""
        phase = self.phase_by_key[key]
        if phase.wait is None or not phase.wait.since:
            return None
        return (
            self.plan[key].wait_over
            if phase.wait.since not in self.phase_by_key or self.signed(phase.wait.since)
            else None
        )

    def signoff_blockers(self, key: str) -> tuple[Blocker, ...]:
        """What refuses the sign-off of a phase today: checks open or failed, a hold, a wait that is not over."""
        phase, code, fold = self.phase_by_key[key], self.facts.code, self.phase_folds[key]
        found = [
            self.check_blocker(check) for check in self.checks if check.phase == key and not self.settled(check.key)
        ]
        if self.phase_state(key) is PhaseState.HELD:
            found.append(Blocker(f"{phase.title} is held", fold.held_why, f"deckjobs start {code} {key}", key))
        if phase.wait and phase.wait.since in self.phase_by_key and not fold.waits_waived:
            since = self.phase_by_key[phase.wait.since]
            waive = f"deckjobs waive {code} {WAIT}{key} --reason TEXT"
            over = self.wait_over(key)
            if over is None:
                found.append(
                    Blocker(f"{since.title} is not signed off", f"{phase.wait.why} counts from it",
                            f"deckjobs signoff {code} {since.key}", since.key)
                )  # fmt: skip
            elif over > self.today:
                found.append(
                    Blocker(
                        f"wait until {format_day(over, self.today)}",
                        phase.wait.why,
                        f"that day, or {waive}",
                        key,
                        WAIT + key,
                    )
                )
        return tuple(found)

    def in_the_way(self, key: str) -> tuple[Blocker, ...]:
        """What refuses the phase's next step."""
        match self.phase_state(key):
            case PhaseState.AHEAD:
                return self.start_blockers(key)
            case PhaseState.SIGNED_OFF:
                return ()
            case _:
                return self.signoff_blockers(key)

    @property
    def current(self) -> Phase | None:
        """The phase to look at first: one under way or held, else the first that is not signed off."""
        open_ones = [phase for phase in self.phases if not self.signed(phase.key)]
        busy = [phase for phase in open_ones if self.phase_state(phase.key) is not PhaseState.AHEAD]
        return next(iter(busy or open_ones), None)
