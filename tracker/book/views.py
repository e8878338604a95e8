"""What the book answers: frozen read models. No row, no session ever leaves the room."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from tracker.errors import ConflictError, InputError, RefusedError
from tracker.planning.bounds import Bound, Gaps
from tracker.text import listing
from tracker.trade.answer import Answer
from tracker.trade.checks.base import Case
from tracker.trade.readings import Form, Readings
from tracker.trade.spec import JobSpec

CHANGED_SINCE = "a change order changed what was read"
READ_AGAIN = f"to be read again: {CHANGED_SINCE}"


class PhaseState(StrEnum):
    """Where a phase stands; computed from entries, never stored."""

    AHEAD = "ahead"
    UNDER_WAY = "under way"
    HELD = "held"
    SIGNED_OFF = "signed off"


class CheckState(StrEnum):
    """Where a check stands; computed from entries, never stored."""

    OPEN = "open"
    PASSED = "passed"
    FAILED = "failed"
    WAIVED = "waived"


@dataclass(frozen=True, slots=True)
class Blocker:
    """One thing that stands in the way: ``what`` it is, ``why``, and the command that ``clears`` it.

    ``phase`` and ``check`` say where a screen can go to clear it (empty when it is neither); ``item`` is the key of a punch
    item.
    """

    what: str
    why: str
    clears: str
    phase: str = ""
    check: str = ""
    item: str = ""

    @property
    def key(self) -> str:
        """How a person names it: by its check, its phase or its punch item."""
        return self.item or self.check or self.phase


@dataclass(frozen=True, slots=True)
class ReadingView:
    """One recorded reading: who, when, what was typed, and the verdict computed at the time.

    ``corrects`` is the id of the reading it takes the place of. ``withdrawn`` says who took it back, when and why; empty
    while it stands.
    """

    id: str
    day: date
    at: datetime
    who: str
    entered: tuple[tuple[str, str], ...]
    answer: Answer
    corrects: str = ""
    withdrawn: str = ""
    arrived: int = 0


@dataclass(frozen=True, slots=True)
class WaiverView:
    """One waiver: who waived what and why. It stays visible for ever."""

    id: str
    day: date
    at: datetime
    who: str
    reason: str


@dataclass(frozen=True, slots=True)
class Passed:
    """One thing that was not settled when somebody went past it: its ``key``, ``what`` it was, ``why`` it stood in the way,
    and the ``reason`` given.
    """

    key: str
    what: str
    why: str
    reason: str


@dataclass(frozen=True, slots=True)
class PastView:
    """A start or a sign-off that went past what stood in its way: who, why, and past what. It stays visible for ever."""

    id: str
    day: date
    at: datetime
    who: str
    event: str
    things: tuple[Passed, ...]


@dataclass(frozen=True, slots=True)
class CheckView:
    """A check of a job: ``key`` is how a person names it (``square`` or ``square.upper``).

    ``readings`` and ``waivers`` are oldest first. ``last`` is the reading in force: the last one that was neither
    corrected nor taken back. ``answer`` is its verdict (asked again on the day where the check depends on the day), None
    without a reading in force.
    """

    key: str
    title: str
    asks: str
    phase: str
    platform: str
    state: CheckState
    form: Form
    caution: str
    source: str
    answer: Answer | None = None
    readings: tuple[ReadingView, ...] = ()
    waivers: tuple[WaiverView, ...] = ()
    last: ReadingView | None = None

    @property
    def headline(self) -> str:
        """The last result in one short line, or what is missing."""
        if self.answer is not None:
            return self.answer.headline
        if self.state is CheckState.WAIVED:
            return f"waived: {self.waivers[-1].reason}"
        if self.readings and not self.taken_back:
            return READ_AGAIN
        return "its reading was taken back" if self.readings else "no reading yet"

    @property
    def taken_back(self) -> ReadingView | None:
        """The newest reading, when it was taken back and nothing has been read since."""
        newest = self.readings[-1] if self.readings else None
        return newest if newest is not None and newest.withdrawn else None

    @property
    def settled(self) -> bool:
        """Whether it no longer stands in the way of a sign-off."""
        return self.state in (CheckState.PASSED, CheckState.WAIVED)


@dataclass(frozen=True, slots=True)
class Tried:
    """A draft that was judged and not recorded: the ``check`` by its key in the registry, what it was judged against, the
    typed values and the verdict; ``refused`` in its place when no verdict could be given on such values.
    """

    check: str
    case: Case
    form: Form
    readings: Readings
    answer: Answer | None = None
    refused: InputError | None = None


@dataclass(frozen=True, slots=True)
class PhaseView:
    """A phase of a job. ``undone_by`` names the checks that failed, or lost their reading, after the sign-off and undid it.

    ``stands_in_way`` lists what refuses the next step: the start while ahead, the sign-off while under way or held; the nearest
    first. ``past`` are its starts and sign-offs that went past such things. ``carries`` are the titles of phases that stand on
    this one and have begun while it is not settled.
    """

    key: str
    title: str
    state: PhaseState
    hold: int
    planned_start: date
    planned_end: date
    first_planned_end: date
    started: date | None
    signed_off: date | None
    signed_by: str
    held_why: str
    undone_by: tuple[str, ...]
    checks: tuple[CheckView, ...]
    cautions: tuple[str, ...]
    stands_in_way: tuple[Blocker, ...]
    outdoors: bool
    office: bool
    rev: int
    past: tuple[PastView, ...] = ()
    carries: tuple[str, ...] = ()


def faults_of(lot: str, faults: Iterable[str]) -> str:
    """The faults of one lot in a line that names it: without its code before each."""
    return "; ".join(fault.removeprefix(f"{lot}: ") for fault in faults)


@dataclass(frozen=True, slots=True)
class LotView:
    """A material lot; quantities are computed from its movements. ``unit`` is board, box, piece...

    ``found`` came without an order (offcuts put back, pieces moved in from another job). ``unfit`` says what its delivery
    check found wrong with the pieces themselves; such a lot is not used until that is waived or read good again. ``culls`` of
    the pieces on hand go back or are scrapped, ``usable`` ones are the rest: only they may be built in.
    """

    code: str
    item: str
    supplier: str
    unit: str
    phase: str
    ordered: int
    received: int
    used: int
    returned: int
    scrapped: int
    found: int
    moved_out: int
    canceled: int
    on_hand: int
    on_order: int
    promised: date | None
    use_category: str
    dry: bool
    unfit: tuple[str, ...] = ()
    culls: int = 0
    wood: str = ""

    @property
    def unfit_words(self) -> str:
        """What is wrong with the pieces, for a line that has named the lot."""
        return faults_of(self.code, self.unfit)

    @property
    def usable(self) -> int:
        """Pieces on hand that may be built in."""
        return self.on_hand - self.culls


@dataclass(frozen=True, slots=True)
class NeedView:
    """One item of a job: what is needed, what is there, what is left to buy and by when.

    ``used``, ``on_hand`` (fit to be built in), ``on_order`` and ``to_buy`` add up to ``need``. ``supplier``, ``pack``,
    ``price_e4`` (of one unit) and ``cost_cents`` come from the price book and the job's own prices (None and empty when there
    is no price); the cost is the share of whole packs, which all needs of a kind that are bought together go into.
    ``order_by`` is the last working day to order: the day needed less the supplier's lead time and the house margin.
    ``late`` when that day is over and pieces are still to buy; ``stale`` when the price is older than the house rule says;
    not ``proven`` when the boards come from a cut plan that is not proven the cheapest.
    """

    job: str
    item: str
    title: str
    unit: str
    phase: str
    needed_on: date
    need: int
    used: int
    on_hand: int
    on_order: int
    to_buy: int
    cost_cents: int | None
    working: tuple[str, ...]
    late: bool = False
    supplier: str = ""
    pack: int = 1
    order_by: date | None = None
    stale: bool = False
    use_category: str = ""
    wood: str = ""
    proven: bool = True
    price_e4: int | None = None


@dataclass(frozen=True, slots=True)
class DeliveryView:
    """Pieces of a lot still to come."""

    job: str
    lot: str
    item: str
    unit: str
    supplier: str
    quantity: int
    promised: date | None


@dataclass(frozen=True, slots=True)
class DayOffView:
    """A day out of the calendar: of one job (its code) or of all (empty); ``rain`` stops outdoor work only."""

    day: date
    rain: bool
    job: str
    why: str
    who: str


@dataclass(frozen=True, slots=True)
class NoteView:
    """A note on a job."""

    day: date
    at: datetime
    who: str
    text: str


@dataclass(frozen=True, slots=True)
class Bought:
    """What of the material of the phases ahead is bought, in cents, of what is needed, where a price is known.

    ``unpriced_there`` and ``unpriced_lacking`` are goods without a price, in neither sum, of which some is bought and of
    which some is not.
    """

    cents: int
    needed_cents: int
    unpriced_there: tuple[str, ...] = ()
    unpriced_lacking: tuple[str, ...] = ()

    @property
    def gaps(self) -> Gaps:
        """What is left out of the sums."""
        return Gaps(self.unpriced_there) | Gaps(self.unpriced_lacking)

    @property
    def bound(self) -> Bound:
        """What ``cents`` is of all that is bought."""
        return Gaps(self.unpriced_there).cost

    @property
    def left_cents(self) -> int:
        """What is left to buy, where a price is known."""
        return max(self.needed_cents - self.cents, 0)

    @property
    def left_bound(self) -> Bound:
        """What ``left_cents`` is of all that is left to buy."""
        return Gaps(self.unpriced_lacking).cost

    @property
    def tenths(self) -> int | None:
        """What is bought of what is needed, in whole tenths of a percent; None where no price is known."""
        return self.cents * 1000 // self.needed_cents if self.needed_cents else None

    @property
    def share_bound(self) -> Bound:
        """What ``tenths`` is of the true share: too much where goods without a price are left to buy."""
        return self.bound.less(self.left_bound)


@dataclass(frozen=True, slots=True)
class JobLine:
    """One open job in a list: where it is, what holds it, what comes next.

    ``strip`` is one state a phase, in order; ``hold`` the single worst thing in the way in words (empty when nothing is),
    ``hold_do`` what to do about it and ``hold_clears`` the command;
    ``bought`` is what of its material is bought.
    """

    code: str
    title: str
    client: str
    place: str
    crew: str
    phase: str
    phase_title: str
    phase_state: PhaseState
    strip: tuple[PhaseState, ...]
    signed_off: int
    hold: str
    hold_do: str
    hold_clears: str
    next_delivery: DeliveryView | None
    days_late: int
    planned_end: date
    handed_over: date | None
    today: date
    bought: Bought
    finished: bool


@dataclass(frozen=True, slots=True)
class JobView:
    """Everything a job's screen or page shows, read in one transaction."""

    line: JobLine
    start: date
    spec: JobSpec
    phases: tuple[PhaseView, ...]
    lots: tuple[LotView, ...]
    needs: tuple[NeedView, ...]
    deliveries: tuple[DeliveryView, ...]
    notes: tuple[NoteView, ...]
    platforms: tuple[str, ...]
    rev: int
    design_faults: tuple[str, ...] = ()
    """Clauses of the design that fail, in words; empty where all hold or it stands on a design of its own."""
    stands_on: str = ""
    """On whose design it stands, as recorded for the spec as it is; empty: on the tables alone."""

    def phase(self, key: str) -> PhaseView:
        """The phase of that key; raises KeyError."""
        for phase in self.phases:
            if phase.key == key:
                return phase
        raise KeyError(key)

    def check(self, key: str) -> CheckView:
        """The check of that key; raises KeyError."""
        for phase in self.phases:
            for check in phase.checks:
                if check.key == key:
                    return check
        raise KeyError(key)

    @property
    def current(self) -> PhaseView | None:
        """The phase to show first: one under way or held, else the first that is not signed off; None when all are."""
        open_ones = [p for p in self.phases if p.state is not PhaseState.SIGNED_OFF]
        return next((p for p in open_ones if p.state is not PhaseState.AHEAD), next(iter(open_ones), None))


@dataclass(frozen=True, slots=True)
class Recorded:
    """What a write answers: the entry's id and whether the same command had been recorded before.

    ``notices`` are things the person should know (a clock behind the last entry, a sign-off undone). What was recorded before
    is told by ``text`` as it stands in the book, and ``day`` is the working day it was recorded on.
    """

    id: str
    already: bool
    text: str
    notices: tuple[str, ...] = ()
    blockers: tuple[Blocker, ...] = ()
    answer: Answer | None = None
    day: date | None = None


@dataclass(frozen=True, slots=True)
class TakeResult:
    """What taking one job file did: ``change`` is new, changed or unchanged."""

    code: str
    title: str
    change: str
    details: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DoctorReport:
    """The health of a book: each finding one line; ``problems`` empty when it is sound, else ``advice`` says what to do."""

    path: str
    schema: str
    entries: int
    jobs: int
    devices: int
    facts: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    advice: str = ""


@dataclass(frozen=True, slots=True)
class PersonView:
    """A person who signs entries."""

    name: str
    role: str
    may_waive: bool
    rev: int = 0
    since: date | None = field(default=None)


class AskedError(RefusedError):
    """What is refused until it is said on purpose (``--anyway``): ``question`` is how it is asked, ``no`` and ``yes`` the
    answers. Exit 1.
    """

    question = "Is that so?"
    no = "no: nothing is recorded; what is typed stays"
    yes = "yes: on purpose"


class FarMoreError(AskedError):
    """Far more pieces than are due or needed: refused until it is said on purpose that they are right. Exit 1."""

    question = "Is the count right?"
    no = "no: look at the count again; what is typed stays"
    yes = "yes: that many, on purpose"


class DesignOpenError(AskedError):
    """Lumber of the frame ordered for a design that fails: refused until it is said on purpose. Exit 1."""

    question = "Order it all the same?"
    no = "no: clear the design first; what is typed stays"
    yes = "yes: order it, on purpose"


class SameAgainError(AskedError):
    """The same payment or the same readings stand already: refused until it is said that this is another. Exit 1."""

    question = "Is this another one?"
    no = "no: it is that one; nothing is recorded"
    yes = "yes: another one, record it too"


class NotStartedError(AskedError):
    """Hours of a phase that has not started: refused until it is said that they are right. Exit 1."""

    question = "Log them all the same?"
    no = "no: nothing is logged; what is typed stays"
    yes = "yes: log them"


class IdUsedError(ConflictError):
    """An id has another entry than the one sent now: ``stands`` and ``sent`` say both. Nothing was written. Exit 4."""

    def __init__(self, identity: str, stands: str, sent: str) -> None:
        super().__init__(
            f"the id {identity} already names another entry: {stands}; sent now: {sent}",
            "nothing was written now; give a new --id, or leave it out, to record this too",
        )
        self.stands, self.sent = stands, sent


class Pass(StrEnum):
    """How what stands in the way may be gone past by a person who may waive."""

    NOT = "not"
    """Only by clearing it."""
    TOGETHER = "past"
    """With one reason."""
    EACH = "leave"
    """With a reason for each thing."""


TOLD_WHOLE = 6
"""Things in the way that a refusal tells with what clears them; the others are named."""


class GateShutError(RefusedError):
    """A start or sign-off was refused: ``blockers`` list each thing in the way and what clears it, the nearest first. Exit 1.

    ``passing`` says whether and how it may be gone past, ``how`` by which command.
    """

    def __init__(self, message: str, blockers: tuple[Blocker, ...], passing: Pass = Pass.NOT, how: str = "") -> None:
        lines = [f"{b.what}: {b.why}; clear it with: {b.clears}" for b in blockers[:TOLD_WHOLE]]
        if more := blockers[TOLD_WHOLE:]:
            lines.append(f"and further down {listing([b.what for b in more], 'and')}")
        if passing is Pass.TOGETHER:
            lines.append(f"or, by somebody who may waive, past all of it with a reason that stays visible: {how}")
        if passing is Pass.EACH:
            keys = listing([b.key for b in blockers], "and")
            lines.append(
                f"or, by somebody who may waive, each left with a reason that stays visible: {how}; open are {keys}"
            )
        super().__init__(message, "\n".join(lines))
        self.blockers = blockers
        self.passing = passing
