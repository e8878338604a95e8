"""What the book answers about a job that is not in it yet, or not like that: frozen read models."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from tracker.planning.bounds import Bound, Gaps
from tracker.planning.cents import round_cents
from tracker.trade.jobfile import Fault
from tracker.trade.spec import JobSpec
from tracker.trade.specchange import PartChange


@dataclass(frozen=True, slots=True)
class FrameFacts:
    """One platform as it would be framed: its name and a few facts in words."""

    platform: str
    facts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Wanted:
    """One line of the material: ``cost_cents`` at today's price, None when nobody prices the item."""

    item: str
    title: str
    quantity: int
    unit: str
    phase: str
    cost_cents: int | None


@dataclass(frozen=True, slots=True)
class PhaseDays:
    """A phase the job would have: its planned days, the hours its crew works on it, its hold point (0 for none)."""

    key: str
    title: str
    first: date
    last: date
    hours: float
    hold: int


@dataclass(frozen=True, slots=True)
class Proposal:
    """A job as typed so far. With ``problems`` it makes no job yet: where they leave frame and material as they are (no title,
    no frost depth) or stand on platforms that can be left out, the rest is worked out all the same, else ``spec`` is None.

    ``left_out`` names the platforms that are in no figure yet.

    ``checks`` are (key, title, phase); ``permit`` what to ask the local office under its ``permit_headline``; ``against`` what
    the span tables and the guard rule say against it; ``proven`` whether every cut plan is proven the cheapest.
    """

    problems: tuple[Fault, ...]
    spec: JobSpec | None = None
    title: str = ""
    frames: tuple[FrameFacts, ...] = ()
    material: tuple[Wanted, ...] = ()
    cost_cents: int = 0
    unpriced: tuple[str, ...] = ()
    proven: bool = False
    phases: tuple[PhaseDays, ...] = ()
    checks: tuple[tuple[str, str, str], ...] = ()
    today: date | None = None
    first_day: date | None = None
    last_day: date | None = None
    crew_days_tenths: int = 0
    permit_headline: str = ""
    permit: tuple[str, ...] = ()
    against: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Standing:
    """What a spec comes to: material in cents at today's prices, crew days in tenths, the last planned day and
    the day the client gets the deck.

    ``unpriced`` names the items nobody prices, which are in no figure; ``proven`` is whether every cut plan is proven the
    cheapest.
    """

    material_cents: int
    crew_days_tenths: int
    last_day: date
    hand_over: date
    unpriced: tuple[str, ...] = ()
    proven: bool = True

    @property
    def material_bound(self) -> Bound:
        """What ``material_cents`` is of the cost of all the material."""
        return Gaps(self.unpriced).cost


@dataclass(frozen=True, slots=True)
class ItemChange:
    """One item whose need differs: pieces needed ``before`` and ``after``, and what the job has had, has and awaits.

    ``add`` more are to buy, ``drop`` fewer; of what is then too much, ``cancel`` are still on order, ``give_back`` lie in the
    yard and ``built_in`` are used already; ``wanted_again`` are used already, were too much before and are not any more. ``before_cents`` and ``after_cents`` are None when nobody prices the item.
    """

    item: str
    title: str
    unit: str
    before: int
    after: int
    used: int
    on_hand: int
    on_order: int
    add: int
    drop: int
    cancel: int
    give_back: int
    built_in: int
    wanted_again: int
    before_cents: int | None
    after_cents: int | None

    @property
    def built_in_cents(self) -> int:
        """What the pieces cost that are ``built_in`` for nothing now, less those ``wanted_again``."""
        lost = Fraction((self.before_cents or 0) * self.built_in, self.before or 1)
        return round_cents(lost - Fraction((self.after_cents or 0) * self.wanted_again, self.after or 1))


def more_words(cents: int, bound: Bound) -> str:
    """``$203.50 more material``, ``at most $12.00 less material``, ``the material costs the same``."""
    if bound is Bound.UNKNOWN:
        return "what the material costs more or less is not known"
    if not cents:
        same = {Bound.LEAST: "the material costs no less", Bound.MOST: "the material costs no more"}
        return same.get(bound, "the material costs the same")
    return f"{(bound if cents > 0 else bound.other).money(abs(cents))} {'more' if cents > 0 else 'less'} material"


@dataclass(frozen=True, slots=True)
class PhaseChanged:
    """A phase that comes, goes, or takes other days: planned first and last day before and after, None where it is not."""

    key: str
    title: str
    before: tuple[date, date] | None
    after: tuple[date, date] | None
    before_hours: float
    after_hours: float


@dataclass(frozen=True, slots=True)
class PhaseCost:
    """What a change adds to the reckoned cost of a phase: material in cents, labour in minutes; less where negative."""

    phase: str
    material_cents: int
    minutes: int


@dataclass(frozen=True, slots=True)
class ReadAgain:
    """A check that has readings or a waiver of the part that changes, and must be read again; ``why`` says what changed.

    ``still_passes`` is what its last readings come to against the new spec, None when they cannot be read against it.
    """

    key: str
    title: str
    phase: str
    why: str
    still_passes: bool | None


@dataclass(frozen=True, slots=True)
class Change:
    """What a new spec of a job would change. ``rev`` is the revision of the job it was worked out against.
    ``later_days`` are the working days by which the hand-over moves (negative: earlier).

    ``new_checks`` and ``gone_checks`` are (key, title); ``reopen`` the signed-off phases that open again, (key, title, why);
    ``facts`` other changes in words (title, crew, start, prices, rules); ``warnings`` what a person should stop at.
    ``costs`` is what the client is charged for, by phase: less than the change costs when it carries out an option the
    contract has the price of. ``unpriced`` are items of which it takes more and that have no price. ``price_cents`` is what the client
    would pay for it by the terms of the quote, tax included; None when none is accepted, or an item is without a price.
    """

    code: str
    title: str
    today: date
    later_days: int
    rev: int
    parts: tuple[PartChange, ...]
    facts: tuple[str, ...]
    before: Standing
    after: Standing
    items: tuple[ItemChange, ...]
    phases: tuple[PhaseChanged, ...]
    new_checks: tuple[tuple[str, str], ...]
    gone_checks: tuple[tuple[str, str], ...]
    again: tuple[ReadAgain, ...]
    reopen: tuple[tuple[str, str, str], ...]
    warnings: tuple[str, ...]
    costs: tuple[PhaseCost, ...] = ()
    unpriced: tuple[str, ...] = ()
    price_cents: int | None = None

    @property
    def built_in_cents(self) -> int:
        """What the pieces cost that are built in and not needed any more: nobody takes them back."""
        return sum(item.built_in_cents for item in self.items)

    @property
    def cost_bound(self) -> Bound:
        """What ``cost_cents`` is of the true one: goods without a price, of which more or fewer are needed, are not in it."""
        bound = Bound.EXACT
        for item in self.items:
            if item.before_cents is None or item.after_cents is None:
                bound = bound.plus(Bound.LEAST if item.after > item.before else Bound.MOST)
        return bound

    @property
    def gaps(self) -> Gaps:
        """What of its cost has no price."""
        return Gaps(tuple(x.item for x in self.items if x.before_cents is None or x.after_cents is None))

    @property
    def cost_cents(self) -> int:
        """What the material costs more (negative: less), what is built in already being no saving."""
        return self.after.material_cents - self.before.material_cents + self.built_in_cents

    @property
    def anything(self) -> bool:
        """Whether anything differs at all."""
        return bool(self.parts or self.facts)
