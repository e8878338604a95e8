"""Cut plans that were worked out once are kept: the same pieces, boards and prices always give the same plan.

The shelf is only a memory of a pure function, beside the book's truth and never part of it: any file of it may be
deleted at any time. A proven plan takes the solver a moment; lists and reports of many jobs take what is kept, else the
quick plan, and say so.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from tracker.planning.cutplan import Cut, CutPlan, Need, Progress, Stick, Stock, plan_cuts

VERSION = 1
KEPT_FILES = 5000


class Shelf:
    """Plans by what they were made from, in memory and, with a ``folder``, on the disk."""

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder
        self._proven: dict[str, CutPlan] = {}
        self._quick: dict[str, CutPlan] = {}
        self.turn = 0
        """Counts the proven plans that came since this shelf was opened."""

    def quick(self, needs: Sequence[Need], stocks: Sequence[Stock], kerf_nm: int, trim_nm: int) -> CutPlan:
        """The kept plan when there is one, else the quick plan, which is sound but not proven the cheapest."""
        key = _key(needs, stocks, kerf_nm, trim_nm)
        if (kept := self._kept(key, needs, stocks)) is not None:
            return kept
        if key not in self._quick:
            self._quick[key] = plan_cuts(needs, stocks, kerf_nm=kerf_nm, trim_nm=trim_nm, progress=_stop)
        return self._quick[key]

    def proven(
        self,
        needs: Sequence[Need],
        stocks: Sequence[Stock],
        kerf_nm: int,
        trim_nm: int,
        progress: Progress | None = None,
    ) -> CutPlan:
        """The proven plan, worked out when it is not kept; ``progress`` sees it improve and may stop it.

        A plan that was stopped is not kept.
        """
        key = _key(needs, stocks, kerf_nm, trim_nm)
        if (kept := self._kept(key, needs, stocks)) is not None:
            return kept
        plan = plan_cuts(needs, stocks, kerf_nm=kerf_nm, trim_nm=trim_nm, progress=progress)
        if plan.proven:
            self._proven[key] = plan
            self.turn += 1
            self._write(key, plan, stocks)
        return plan

    def _kept(self, key: str, needs: Sequence[Need], stocks: Sequence[Stock]) -> CutPlan | None:
        if key not in self._proven and self.folder is not None:
            with suppress(OSError, ValueError, KeyError, TypeError, IndexError):
                stored = json.loads((self.folder / key).read_text("utf-8"))
                plan = _plan(stored, stocks)
                if _pieces(plan) == sorted((n.length_nm, n.what) for n in needs for _ in range(n.quantity)):
                    self._proven[key] = plan
        return self._proven.get(key)

    def _write(self, key: str, plan: CutPlan, stocks: Sequence[Stock]) -> None:
        if self.folder is None:
            return
        with suppress(OSError):
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            part = self.folder / f"{key}.part-{os.getpid()}"
            part.write_text(json.dumps(_stored(plan, stocks), separators=(",", ":")), "utf-8")
            part.replace(self.folder / key)
            files = sorted(self.folder.iterdir(), key=lambda path: path.stat().st_mtime)
            for old in files[: max(len(files) - KEPT_FILES, 0)]:
                old.unlink(missing_ok=True)


def _stop(best: CutPlan, bound_e4: int) -> bool:
    """Take the first plan."""
    return False


def _key(needs: Sequence[Need], stocks: Sequence[Stock], kerf_nm: int, trim_nm: int) -> str:
    said = [
        VERSION,
        [[n.length_nm, n.quantity, n.what, n.whole] for n in needs],
        [[s.length_nm, s.cost_e4, s.limit, s.name] for s in stocks],
        kerf_nm,
        trim_nm,
    ]
    return hashlib.sha256(json.dumps(said, separators=(",", ":")).encode()).hexdigest()[:40]


def _pieces(plan: CutPlan) -> list[tuple[int, str]]:
    return sorted((cut.length_nm, cut.what) for stick in plan.sticks for cut in stick.cuts)


def _stored(plan: CutPlan, stocks: Sequence[Stock]) -> dict[str, object]:
    index = {stock: number for number, stock in enumerate(stocks)}
    return {
        "cost_e4": plan.cost_e4,
        "bound_e4": plan.bound_e4,
        "first_e4": plan.first_e4,
        "kerf_nm": plan.kerf_nm,
        "trim_nm": plan.trim_nm,
        "sticks": [
            [index[stick.stock], [[cut.length_nm, cut.what] for cut in stick.cuts], stick.left_nm]
            for stick in plan.sticks
        ],
    }


def _plan(stored: dict[str, object], stocks: Sequence[Stock]) -> CutPlan:
    sticks = stored.pop("sticks")
    assert isinstance(sticks, list)
    return CutPlan(
        sticks=tuple(
            Stick(stocks[at], tuple(Cut(length, what) for length, what in cuts), left) for at, cuts, left in sticks
        ),
        **stored,  # type: ignore[arg-type]
    )
