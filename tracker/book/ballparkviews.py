"""What a ballpark is answered with."""

from __future__ import annotations

from dataclasses import dataclass

from tracker.book.buyviews import CutListView
from tracker.book.changeviews import Proposal
from tracker.planning.estimate import Estimate
from tracker.planning.spread import Range, Spread
from tracker.trade.answer import Plain
from tracker.trade.jobfile.ballpark import Assumed
from tracker.trade.suggest import Suggestion


@dataclass(frozen=True, slots=True)
class Ballpark:
    """The answer of a first call: the job as it would be, what carries it and why, cuts, hours, cost and price as ranges.

    ``source`` is the job file it makes; ``made`` its estimate; ``assumed`` what nobody said; ``ask`` what to ask still.
    """

    proposal: Proposal
    source: dict[str, Plain]
    support: Suggestion
    assumed: tuple[Assumed, ...]
    cuts: CutListView
    made: Estimate
    minutes: Range
    cost: Range
    price: Range
    spread: Spread
    ask: tuple[str, ...]
