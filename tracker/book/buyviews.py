"""What the book answers about buying: prices, purchases, cost, material and cut lists. Frozen read models."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from tracker.planning.bounds import Bound, Gaps
from tracker.planning.material import SizePlan
from tracker.planning.schedule import WEEKDAYS, WorkCalendar
from tracker.trade.lengths import Unit
from tracker.trade.material import Line


@dataclass(frozen=True, slots=True)
class PricesTaken:
    """What a price list did: how many of its prices were new, changed, there already; how many suppliers were new, and how
    many of the others have other terms now.
    """

    new: int
    changed: int
    unchanged: int
    suppliers_new: int
    terms_changed: int


@dataclass(frozen=True, slots=True)
class Part:
    """One job's share of a purchase line."""

    job: str
    phase: str
    quantity: int
    needed_on: date


@dataclass(frozen=True, slots=True)
class PurchaseLine:
    """An item to buy from one supplier by one day, over all jobs that need it, in whole packs.

    Wood, grade, use category and the price of a unit are one in a line: what differs in any of them stands on a line of its
    own. ``quantity`` is what the jobs lack, ``packed`` what is bought in whole packs. ``waits`` are
    the phases it is late for, like ``Pads of 26-014``, the first needed first; none when it is not late. Not ``proven`` when some of its boards come from a cut plan that is not proven the cheapest.
    """

    item: str
    title: str
    unit: str
    use_category: str
    wood: str
    quantity: int
    pack: int
    packed: int
    price_e4: int | None
    cost_cents: int | None
    order_by: date
    needed_on: date
    urgency: str
    waits: tuple[str, ...]
    stale: bool
    parts: tuple[Part, ...]
    proven: bool = True

    @property
    def holds(self) -> str:
        """The phases it is late for, in words; empty when it is not late."""
        return "; ".join(self.waits)

    def shares(self, number: int) -> dict[str, int]:
        """How ``number`` pieces go to the jobs: what each needs, the earliest day first; the first has the rest."""
        out: dict[str, int] = {}
        left = number
        for part in sorted(self.parts, key=lambda part: (part.needed_on, part.job)):
            got = min(part.quantity, left)
            out[part.job] = out.get(part.job, 0) + got
            left -= got
        out[next(iter(out))] += left
        return {job: got for job, got in out.items() if got}


@dataclass(frozen=True, slots=True)
class Purchase:
    """What to buy from one supplier (empty name: no price says who), the most pressing first.

    ``cost_cents`` adds the priced lines; ``unpriced`` counts the others. ``short_of_minimum_cents`` is what an order of
    everything here still lacks of the supplier's least order.
    """

    supplier: str
    lead_days: int
    delivery_cents: int
    minimum_cents: int
    cost_cents: int
    unpriced: int
    short_of_minimum_cents: int
    lines: tuple[PurchaseLine, ...]

    @property
    def cost_bound(self) -> Bound:
        """What ``cost_cents`` is of the cost of everything here."""
        return Bound.LEAST if self.unpriced else Bound.EXACT

    def promised_by(self, today: date) -> date | None:
        """The day the supplier brings what is ordered today: its lead time in working days; None with no supplier."""
        if not self.supplier:
            return None
        return WorkCalendar(WEEKDAYS).shift(today, self.lead_days) if self.lead_days else today


@dataclass(frozen=True, slots=True)
class CostLine:
    """One phase (or item) of a job's material cost, in cents: estimated, committed by orders, received, used.

    ``not_estimated`` and ``not_paid`` are the goods without a price in the estimate and in what was ordered and came.
    """

    key: str
    title: str
    estimate_cents: int
    committed_cents: int
    received_cents: int
    used_cents: int
    not_estimated: tuple[str, ...] = ()
    not_paid: tuple[str, ...] = ()
    wood: str = ""

    @property
    def difference_cents(self) -> int:
        """Cents of the estimate that are not ordered yet; negative when more was ordered than estimated."""
        return self.estimate_cents - self.committed_cents

    @property
    def estimate_bound(self) -> Bound:
        """What the estimate is of one that leaves nothing out."""
        return Gaps(self.not_estimated).cost

    @property
    def spent_bound(self) -> Bound:
        """What the amounts ordered, received and used are of the true ones."""
        return Gaps(self.not_paid).cost

    @property
    def difference_bound(self) -> Bound:
        """What the difference is of the true one."""
        return self.estimate_bound.less(self.spent_bound)

    @property
    def gaps(self) -> Gaps:
        """What is in one or the other sum not at all."""
        return Gaps(tuple(dict.fromkeys((*self.not_estimated, *self.not_paid))))


@dataclass(frozen=True, slots=True)
class CostView:
    """A job's material cost by phase and by item.

    The estimate is of the material list as it stands, cut from what the job has first; where it has anything,
    ``afresh_cents`` is that of the whole job as if nothing were bought yet, which its price is made of.
    """

    job: str
    phases: tuple[CostLine, ...]
    items: tuple[CostLine, ...]
    total: CostLine
    afresh_cents: int | None = None

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Items nobody priced: in no estimate, or in no sum of what was ordered and came."""
        return self.total.gaps.goods


@dataclass(frozen=True, slots=True)
class MaterialView:
    """The material list of a job: boards to be had in their stock lengths, and goods."""

    job: str
    title: str
    unit: Unit
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class CutListView:
    """The cut plans of a job, or of several bought together, one for each lumber size."""

    jobs: tuple[str, ...]
    title: str
    unit: Unit
    sizes: tuple[SizePlan, ...]
