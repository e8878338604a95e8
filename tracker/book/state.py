"""One job as it stands on a day: its spec and its entries put together. Pure: rows come in as plain values.

Gates, plans and verdicts in force are all computed here; operations and views read them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

from tracker.book.fold import CheckFold, DaysOff, LotFold, PhaseFold
from tracker.book.handviews import PunchItem
from tracker.book.views import READ_AGAIN, Blocker, CheckState, NoteView, PhaseState, ReadingView
from tracker.errors import InputError
from tracker.planning.allowed import Allowed, Known, allowed_days
from tracker.planning.material import Held, Kind, Material, Solver, plan_material
from tracker.planning.pricing import PriceBook
from tracker.planning.schedule import WEEKDAYS, Crew, Done, Span, WorkCalendar, days_late, hand_over_day, schedule
from tracker.text import count
from tracker.trade.answer import Answer, Verdict
from tracker.trade.checks.base import Case, LotLine
from tracker.trade.checks.design import DESIGN, DESIGN_CHECK
from tracker.trade.checks.registry import JobCheck, check_for
from tracker.trade.dates import format_day
from tracker.trade.design import design_digest
from tracker.trade.jobfile.model import JobFile
from tracker.trade.material import stock_size
from tracker.trade.phases import HAND_OVER, Phase, begun_by, folds, stands_on
from tracker.trade.readings import Readings, readings_of
from tracker.trade.spec import JobSpec
from tracker.trade.takeoff import Line, take_off
from tracker.trade.workload import quantities

WAIT = "wait."
STRUCTURAL = ("posts", "ledger", "frame", "rough-in")
"""Phases whose lumber carries people: it is not ordered for a design that fails without being asked about."""


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
    wood: str = ""

    @property
    def line(self) -> LotLine:
        """The lot as checks see it."""
        fold = self.fold
        return LotLine(
            self.code, self.item, fold.ordered, fold.received, fold.on_hand, self.use_category, self.dry,
            used=fold.used, sent_away=fold.returned + fold.scrapped,
        )  # fmt: skip


def _failed_since(history: CheckFold, signed_arrived: int) -> bool:
    """Whether a reading that stands and decided when it came failed after a sign-off, and nobody waived that since.

    A good reading after it puts the work right, not the sign-off: that was made on what no longer held.
    """
    return any(
        view.arrived > signed_arrived
        and view.answer.verdict is Verdict.FAILED
        and history.waived_arrived < view.arrived
        and all(newer.arrived > view.arrived for newer in history.standing[at + 1 :])
        for at, view in enumerate(history.standing)
    )


def _undoes(history: CheckFold, signed_arrived: int) -> bool:
    """Whether what happened to a check after a sign-off undoes it: a reading that failed, or one taken back that leaves
    the check failed or without an answer.
    """
    state = history.state(history.last.answer if history.last else None)
    if history.by_lot is None and _failed_since(history, signed_arrived):
        return True
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
    punch: tuple[PunchItem, ...] = ()

    @cached_property
    def calendar(self) -> WorkCalendar:
        """Working days of this job."""
        return WorkCalendar(WEEKDAYS, self.days_off.off, self.days_off.rain)

    @cached_property
    def phase_by_key(self) -> Mapping[str, Phase]:
        """Phases by key."""
        return {phase.key: phase for phase in self.phases}

    @cached_property
    def below(self) -> Mapping[str, tuple[str, ...]]:
        """What each phase stands on, all the way down, the nearest first."""
        return stands_on(self.phases)

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

    # -- the design

    @cached_property
    def design_basis(self) -> ReadingView | None:
        """On whose design the job stands, as recorded for the spec as it is; None where nobody did, or it was for another."""
        found = self.check_folds.get(DESIGN, CheckFold()).last
        if found is None or found.answer.verdict is not Verdict.PASSED:
            return None
        return found if found.answer.answer.get("design") == design_digest(self.file.spec) else None

    @property
    def stands_on(self) -> str:
        """The design it stands on in words; empty where none is recorded."""
        return str(self.design_basis.answer.answer["basis"]) if self.design_basis else ""

    @property
    def covered(self) -> str:
        """Which design that is (``design_digest``); empty where none is recorded."""
        return str(self.design_basis.answer.answer["design"]) if self.design_basis else ""

    @cached_property
    def design(self) -> Answer:
        """The design check's verdict on the spec as it is, and on whose design it stands."""
        spec, basis = self.file.spec, self.design_basis
        check = check_for(DESIGN, self.file.unit)
        case = Case(spec, spec.platforms[0], self.today)
        readings = readings_of(check.form(case), basis.entered, self.file.unit) if basis else Readings({}, {}, ())
        return check.judge(case, readings)

    @property
    def design_fails(self) -> bool:
        """Whether the design stands in the way: a clause fails, and no design of its own is recorded."""
        return self.design.verdict is Verdict.FAILED

    @property
    def design_faults(self) -> tuple[str, ...]:
        """The clauses that fail, in words, while the design stands in the way."""
        faults = self.design.answer["faults"] if self.design_fails else []
        assert isinstance(faults, list)
        return tuple(map(str, faults))

    def is_structural(self, item: str) -> bool:
        """Whether lumber of the frame, its ledger, beams, posts or stringers is cut from an item."""
        size = stock_size(item)
        lines = (*self.take_off[0], *self.take_off[1])
        return size is not None and any(line.item == size[0] and line.phase in STRUCTURAL for line in lines)

    @property
    def design_blocker(self) -> Blocker:
        """The failed design as something in the way."""
        clears = f"change the job, or deckjobs check {self.facts.code} {DESIGN} by=WHO document=WHICH day=DAY"
        return Blocker(DESIGN_CHECK.title, self.design.headline, clears, DESIGN, DESIGN)

    def no_way_past(self, key: str) -> tuple[Blocker, ...]:
        """What no reason goes past: nobody digs for a deck whose design fails."""
        digs = "locate" in self.phase_by_key[key].standing
        return (self.design_blocker,) if digs and self.design_fails else ()

    @property
    def obtained(self) -> Counter[Held]:
        """Pieces the job has had, has or will get, by item, wood and use category."""
        have: Counter[Held] = Counter()
        for lot in self.lots:
            have[self.held_as(lot)] += lot.fold.obtained
        return have

    @cached_property
    def _kinds(self) -> Mapping[str, frozenset[Kind]]:
        """By size (or by goods), the woods and use categories the take-off asks for."""
        found: dict[str, set[Kind]] = {}
        for line in (*self.take_off[0], *self.take_off[1]):
            found.setdefault(line.item, set()).add((line.wood, line.use_category))
        return {item: frozenset(kinds) for item, kinds in found.items()}

    def kinds(self, item: str) -> frozenset[Kind]:
        """The woods and use categories the take-off asks for of an item; none when it is not on it."""
        size = stock_size(item)
        return self._kinds.get(size[0] if size else item, frozenset())

    def held_as(self, lot: LotState) -> Held:
        """What a lot counts as: of the wood it was ordered as, else of the one wood the job has of that size, else of any.

        Its use category tells only where the job needs several of that wood.
        """
        kinds = self.kinds(lot.item)
        woods = {wood for wood, _ in kinds}
        wood = lot.wood or (next(iter(woods)) if len(woods) == 1 else "")
        several = len({use for of, use in kinds if not wood or of == wood}) > 1
        return lot.item, wood, lot.use_category if several else ""

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
    def open(self) -> bool:
        """Whether there is still something to do: a phase that is not signed off, or a call after all of them."""
        return self.current is not None or any(item.done is None for item in self.punch)

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
        """Whether a check that undid a sign-off did so by a reading that failed and stands."""
        history, phase = self.check_folds[check_key], self.check_by_key[check_key].phase
        since = _failed_since(history, self.phase_folds[phase].signed_arrived)
        return since or history.last_arrived == history.changed_arrived

    def _undone_by(self, key: str) -> tuple[str, ...]:
        fold = self.phase_folds[key]
        if fold.state is not PhaseState.SIGNED_OFF:
            return ()
        return tuple(
            check.key for check in self.checks if check.phase == key and self._undoes(check, fold.signed_arrived)
        )

    def _undoes(self, check: JobCheck, signed_arrived: int) -> bool:
        if check.check.from_spec:
            return self.design_fails
        return _undoes(self.check_folds[check.key], signed_arrived)

    def phase_state(self, key: str) -> PhaseState:
        """Where a phase stands by its own entries; a sign-off undone by a failing reading is under way again."""
        fold = self.phase_folds[key]
        return PhaseState.UNDER_WAY if self.undone_by(key) else fold.state

    def shown_state(self, key: str) -> PhaseState:
        """As ``phase_state``, but a phase whose turn has come and whose start is refused shows as held.

        One that only waits for the day it is planned for, because a paper is good from then on, is not held.
        """
        state = self.phase_state(key)
        if state is not PhaseState.AHEAD or not self.turn_has_come(key):
            return state
        held = any(not (blocker.check and self.settled(blocker.check)) for blocker in self.start_blockers(key))
        return PhaseState.HELD if held else state

    def begun(self, key: str) -> bool:
        """Whether work on the phase was started; one that was only held before its turn has not begun."""
        return self.phase_folds[key].started is not None

    def folded_in(self, spec: JobSpec) -> frozenset[str]:
        """The phases that fold into others if the job is as ``spec`` says: none it has, and no wait for work that is begun."""
        begun = [phase.key for phase in self.phases if self.phase_state(phase.key) is not PhaseState.AHEAD]
        return folds(spec, self.phase_folds, begun_by(begun))

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
        return tuple(lot.line for lot in self.lots)

    def guarded_by(self, check: JobCheck) -> tuple[str, ...]:
        """Phases not yet signed off that need this check good on the day they start."""
        return tuple(
            phase.key for phase in self.phases if check.check.key in phase.standing and not self.signed(phase.key)
        )

    def case(self, check: JobCheck) -> Case:
        """What the check is judged against today."""
        needed = [max(self.plan[key].start, self.today) for key in self.guarded_by(check)]
        return Case(
            self.file.spec, check.platform, self.today, min(needed, default=None), self.lot_lines, basis=self.stands_on
        )  # fmt: skip

    @cached_property
    def _answers(self) -> Mapping[str, Answer | None]:
        return {check.key: self._answer(check) for check in self.checks}

    def answer(self, check: JobCheck) -> Answer | None:
        """The verdict in force: recorded with the last reading, or asked again where it still guards work by the day."""
        return self._answers[check.key]

    def _answer(self, check: JobCheck) -> Answer | None:
        if check.check.from_spec:
            return self.design
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
        return {check.key: self._check_state(check) for check in self.checks}

    def _check_state(self, check: JobCheck) -> CheckState:
        # One that is judged from the spec has failed or passed, whatever was waived.
        if check.check.from_spec:
            return CheckState.FAILED if self.design_fails else CheckState.PASSED
        return self.check_folds[check.key].state(self.answer(check))

    def settled(self, key: str) -> bool:
        """Whether a check no longer stands in the way."""
        return self.check_states[key] in (CheckState.PASSED, CheckState.WAIVED)

    # -- gates

    @cached_property
    def loose(self) -> Mapping[str, tuple[Blocker, ...]]:
        """What is not settled of each phase: the phase while it is not signed off, its checks that are failed or open.

        The open checks of a phase that has not begun are told in its own line.
        """
        return {phase.key: tuple(self._loose(phase)) for phase in self.phases}

    def _loose(self, phase: Phase) -> Iterator[Blocker]:
        mine = [check for check in self.checks if check.phase == phase.key and not self.settled(check.key)]
        failed = [check for check in mine if self.check_states[check.key] is CheckState.FAILED]
        begun = self.begun(phase.key)
        if not self.signed(phase.key):
            hold = f" (hold point {phase.hold})" if phase.hold else ""
            why = self._not_signed(phase, 0 if begun else len(mine) - len(failed))
            clears = f"deckjobs signoff {self.facts.code} {phase.key}"
            yield Blocker(phase.title + hold, why, clears, phase.key)
        yield from map(self.check_blocker, failed)
        yield from (self.check_blocker(check) for check in mine if begun and check not in failed)

    def _not_signed(self, phase: Phase, to_read: int) -> str:
        fold = self.phase_folds[phase.key]
        if DESIGN in (undone := self.undone_by(phase.key)):
            return "was undone: the design fails as the job is now"
        if undone:
            if not any(self._failed_after(undoing) for undoing in undone):
                return f"was undone: the reading of {', '.join(undone)} was taken back"
            return f"was undone by a failing reading of {', '.join(undone)}"
        if fold.reopened:
            return f"is open again ({fold.reopened})"
        match fold.state:
            case PhaseState.AHEAD:
                return "is not signed off" + (f", {count(to_read, 'check')} to read" if to_read else "")
            case PhaseState.HELD:
                return f"is held: {fold.held_why}"
            case _:
                return "is under way, not signed off"

    @cached_property
    def _left(self) -> frozenset[str]:
        """Keys of what the hand-over in force left open with a reason, and that nothing has happened to since."""
        fold = self.phase_folds.get(HAND_OVER, PhaseFold())
        if not fold.past or not self.signed(HAND_OVER) or fold.past[-1].event != "signed off":
            return frozenset()
        since = {key: check.changed_arrived for key, check in self.check_folds.items()}
        moved = {key: phase.arrived for key, phase in self.phase_folds.items()}
        named = (thing.key for thing in fold.past[-1].things)
        return frozenset(key for key in named if max(since.get(key, 0), moved.get(key, 0)) <= fold.signed_arrived)

    def not_settled_below(self, key: str) -> tuple[Blocker, ...]:
        """What the phase stands on and is not settled, the nearest first; what the hand-over left open is settled after it.

        A check that was signed off good and is asked again for the day of the work it guards stops that work alone, and by
        what it says today.
        """
        left = self._left if HAND_OVER in self.below[key] else frozenset()
        today, standing = self._by_the_day, self.phase_by_key[key].standing
        stops = {name for name, bad in today.items() if bad and self.check_by_key[name].check.key in standing}
        loose = [
            b for below in self.below[key] for b in self.loose[below]
            if b.key not in left and (b.check not in today or b.check in stops)
        ]  # fmt: skip
        told = {b.check for b in loose}
        return (*loose, *(bad for name, bad in today.items() if bad and name in stops - told))

    @cached_property
    def _by_the_day(self) -> Mapping[str, Blocker | None]:
        return {check.key: self._not_good_today(check) for check in self.checks if self._asked_by_the_day(check)}

    def _asked_by_the_day(self, check: JobCheck) -> bool:
        """Whether a check guards work ahead, signed off on a reading that was good, so that only the day can turn it."""
        history = self.check_folds[check.key]
        kept = history.last is not None and history.last.answer.verdict is Verdict.PASSED
        return kept and bool(self.guarded_by(check)) and self.signed(check.phase)

    def _not_good_today(self, check: JobCheck) -> Blocker | None:
        """What is wrong with a check for work that begins today; None when it is good today, or was waived."""
        last = self.check_folds[check.key].last
        if last is None or self.check_states[check.key] is CheckState.WAIVED:
            return None
        case = replace(self.case(check), needed_on=None)
        try:
            answer = check.check.judge(case, readings_of(check.check.form(case), last.entered, self.file.unit))
        except InputError:
            return None
        if answer.verdict is Verdict.PASSED:
            return None
        blocker = self.check_blocker(check)
        first = max((self.allowed[key].first(self.today) for key in self.guarded_by(check)), default=self.today)
        clears = f"that day, or {blocker.clears}" if self.settled(check.key) and first > self.today else blocker.clears
        return replace(blocker, why=answer.headline, clears=clears)

    def carries(self, key: str) -> tuple[str, ...]:
        """The phases that stand on this one and have begun while something of it is not settled, in order."""
        if not self.loose[key]:
            return ()
        return tuple(
            phase.key
            for phase in self.phases
            if self.begun(phase.key)
            and any(blocker in self.loose[key] for blocker in self.not_settled_below(phase.key))
        )

    def start_blockers(self, key: str) -> tuple[Blocker, ...]:
        """What refuses the start of a phase today: whatever it stands on that is not settled, checks of a paper that must be
        good on the day among it.
        """
        below = self.not_settled_below(key)
        hard = tuple(b for b in self.no_way_past(key) if all(b.check != other.check for other in below))
        return (*hard, *below)

    def check_blocker(self, check: JobCheck) -> Blocker:
        """A check that is open or failed, as something in the way."""
        if check.check.from_spec:
            return self.design_blocker
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
        """What refuses the sign-off of a phase today: its own checks, hold and wait, then whatever it stands on."""
        own = self.own_blockers(key)
        told = {blocker.phase for blocker in own if not blocker.check}
        below = (b for b in self.not_settled_below(key) if b.check or b.phase not in told)
        return (*own, *below)

    def own_blockers(self, key: str) -> tuple[Blocker, ...]:
        """What refuses the sign-off of a phase by itself: checks open or failed, a hold, a wait that is not over; for the
        hand-over what is on the punch list.
        """
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
        if key == HAND_OVER:
            found += [
                Blocker(f"punch item {item.number}", item.text, f"deckjobs punch {code} --done {item.number}",
                        item=f"punch.{item.number}")
                for item in self.punch if item.done is None
            ]  # fmt: skip
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
