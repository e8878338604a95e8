"""Cut plans that were worked out once are kept with the book: the same pieces, boards and prices always give the same plan.

What is kept is only a memory of a pure function, under a digest of its inputs: any of it may be gone at any time, and
every list, report and paper reads the same with it or without, on any day and in any order. Only a form that is still
being typed shows a quick plan first, and says so.
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Sequence
from contextlib import nullcontext, suppress
from typing import TYPE_CHECKING

from tracker.planning.cutplan import Cut, CutPlan, Need, Progress, Stick, Stock, plan_cuts

if TYPE_CHECKING:
    from tracker.book.opening import Book

VERSION = 2
"""Goes up with every change of the planner that can give another plan for the same inputs."""


class Shelf:
    """Cut plans by what they were made from: in memory and, with a ``book``, in its file."""

    def __init__(self, book: Book | None = None) -> None:
        self._book = book
        self._plans: dict[str, CutPlan] = {}
        self._quick: dict[str, CutPlan] = {}

    def plan(
        self,
        needs: Sequence[Need],
        stocks: Sequence[Stock],
        kerf_nm: int,
        trim_nm: int,
        progress: Progress | None = None,
    ) -> CutPlan:
        """The cheapest plan, proven unless the planner runs out of steps: the kept one, else worked out and kept.

        ``progress`` sees it improve and may stop it; a plan that was stopped is not kept.
        """
        key = digest_of(needs, stocks, kerf_nm, trim_nm)
        if (kept := self._kept(key, needs, stocks, kerf_nm, trim_nm)) is not None:
            return kept
        stopped = False

        def watched(best: CutPlan, bound_e4: int) -> bool:
            nonlocal stopped
            stopped = stopped or (progress is not None and not progress(best, bound_e4))
            return not stopped

        with self._book.planning() if self._book else nullcontext():
            plan = plan_cuts(needs, stocks, kerf_nm=kerf_nm, trim_nm=trim_nm, progress=watched if progress else None)
        if not stopped:
            self._plans[key] = plan
            if self._book is not None:
                body = json.dumps(_stored(plan, stocks), separators=(",", ":"))
                self._book.keep_plan(key, plan.proven, body)
        return plan

    def has(self, needs: Sequence[Need], stocks: Sequence[Stock], kerf_nm: int, trim_nm: int) -> bool:
        """Whether the plan is kept, so that asking for it takes no time."""
        return self._kept(digest_of(needs, stocks, kerf_nm, trim_nm), needs, stocks, kerf_nm, trim_nm) is not None

    def quick(self, needs: Sequence[Need], stocks: Sequence[Stock], kerf_nm: int, trim_nm: int) -> CutPlan:
        """The kept plan when there is one, else the quick plan, which is sound but not proven the cheapest."""
        key = digest_of(needs, stocks, kerf_nm, trim_nm)
        if (kept := self._kept(key, needs, stocks, kerf_nm, trim_nm)) is not None:
            return kept
        if key not in self._quick:
            self._quick[key] = plan_cuts(needs, stocks, kerf_nm=kerf_nm, trim_nm=trim_nm, progress=_stop)
        return self._quick[key]

    def _kept(
        self, key: str, needs: Sequence[Need], stocks: Sequence[Stock], kerf_nm: int, trim_nm: int
    ) -> CutPlan | None:
        if key not in self._plans and self._book is not None and (row := self._book.kept_plan(key)) is not None:
            proven, body = row
            with suppress(ValueError, KeyError, TypeError, IndexError):
                plan = _plan(json.loads(body), stocks, kerf_nm, trim_nm)
                if plan.proven is proven and _cuts_it(plan, needs):
                    self._plans[key] = plan
        return self._plans.get(key)


def _stop(best: CutPlan, bound_e4: int) -> bool:
    """Take the first plan."""
    return False


def digest_of(needs: Sequence[Need], stocks: Sequence[Stock], kerf_nm: int, trim_nm: int) -> str:
    """What a plan is kept under: SHA-256 over everything it is made from."""
    said = [
        VERSION,
        [[n.length_nm, n.quantity, n.what, n.whole] for n in needs],
        [[s.length_nm, s.cost_e4, s.limit, s.name] for s in stocks],
        kerf_nm,
        trim_nm,
    ]
    return hashlib.sha256(json.dumps(said, separators=(",", ":")).encode()).hexdigest()


def _cuts_it(plan: CutPlan, needs: Sequence[Need]) -> bool:
    """Whether a plan that was read back cuts just these pieces, from boards that hold them and that there are enough of."""
    wanted = Counter((need.length_nm, need.what) for need in needs for _ in range(need.quantity))
    taken = Counter(stick.stock for stick in plan.sticks)
    return (
        Counter((cut.length_nm, cut.what) for stick in plan.sticks for cut in stick.cuts) == wanted
        and all(sum(stick.cuts_nm) + stick.left_nm <= stick.stock.length_nm for stick in plan.sticks)
        and all(stock.limit is None or number <= stock.limit for stock, number in taken.items())
        and plan.cost_e4 == sum(stick.stock.cost_e4 for stick in plan.sticks)
        and plan.bound_e4 <= plan.cost_e4
    )


def _stored(plan: CutPlan, stocks: Sequence[Stock]) -> dict[str, object]:
    index = {stock: number for number, stock in enumerate(stocks)}
    return {
        "cost_e4": plan.cost_e4,
        "bound_e4": plan.bound_e4,
        "first_e4": plan.first_e4,
        "sticks": [
            [index[stick.stock], [[cut.length_nm, cut.what] for cut in stick.cuts], stick.left_nm]
            for stick in plan.sticks
        ],
    }


def _plan(stored: dict[str, object], stocks: Sequence[Stock], kerf_nm: int, trim_nm: int) -> CutPlan:
    sticks = stored.pop("sticks")
    assert isinstance(sticks, list)
    return CutPlan(
        sticks=tuple(
            Stick(stocks[at], tuple(Cut(length, what) for length, what in cuts), left) for at, cuts, left in sticks
        ),
        kerf_nm=kerf_nm,
        trim_nm=trim_nm,
        **stored,  # type: ignore[arg-type]
    )
