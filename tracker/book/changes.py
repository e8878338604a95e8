"""Change orders as entries: the body of one has its shape here alone, and what it makes void is worked out here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from typing import Any

from tracker.book.changeviews import Change, PhaseCost, Standing
from tracker.book.entries import Entry
from tracker.book.fold import CheckFold

CHANGE_ORDER = "change order"


@dataclass(frozen=True, slots=True)
class ChangeOrder:
    """A change order that was accepted, as its entry has it: ``costs`` is what the client is charged for, ``unpriced`` what of it
    had no price.
    """

    id: str
    day: date
    at: datetime
    who: str
    reason: str
    parts: tuple[str, ...]
    before_cents: int
    after_cents: int
    again: tuple[str, ...]
    costs: tuple[PhaseCost, ...] = ()
    unpriced: tuple[str, ...] = ()


def change_body(change: Change, reason: str, parts: Iterable[str]) -> dict[str, Any]:
    """The body of a change order's entry: days are ISO texts, amounts whole cents."""
    return {
        "what": CHANGE_ORDER,
        "reason": reason,
        "before": _standing_json(change.before),
        "after": _standing_json(change.after),
        "parts": list(parts),
        "again": [check.key for check in change.again],
        "costs": [asdict(cost) for cost in change.costs],
        "unpriced": list(change.unpriced),
    }


def _standing_json(standing: Standing) -> dict[str, Any]:
    return {
        "cost_cents": standing.material_cents,
        "crew_days_tenths": standing.crew_days_tenths,
        "last_day": standing.last_day.isoformat(),
        "hand_over": standing.hand_over.isoformat(),
        "unpriced": list(standing.unpriced),
    }


def is_change_order(entry: Entry) -> bool:
    """Whether an entry records a change order."""
    return entry.kind == "money" and entry.body.get("what") == CHANGE_ORDER


def change_orders(entries: Iterable[Entry]) -> tuple[ChangeOrder, ...]:
    """The change orders among a job's entries, oldest first."""
    return tuple(
        ChangeOrder(
            id=entry.id,
            day=entry.day,
            at=entry.at,
            who=entry.who,
            reason=entry.body["reason"],
            parts=tuple(entry.body["parts"]),
            before_cents=entry.body["before"]["cost_cents"],
            after_cents=entry.body["after"]["cost_cents"],
            again=tuple(entry.body["again"]),
            costs=_costs(entry.body),
            unpriced=tuple(entry.body.get("unpriced", ())),
        )
        for entry in entries
        if is_change_order(entry)
    )


def _costs(body: Mapping[str, Any]) -> tuple[PhaseCost, ...]:
    """By phase; an order of an earlier version kept its material alone, and for no phase."""
    if "costs" in body:
        return tuple(PhaseCost(**cost) for cost in body["costs"])
    material = body["after"]["cost_cents"] - body["before"]["cost_cents"]
    return (PhaseCost("", material, 0),) if material else ()


def counts_from(entries: Iterable[Entry]) -> Mapping[str, int]:
    """From which entry on the readings of a check count: those that arrived before its last change order do not."""
    out: dict[str, int] = {}
    for entry in entries:
        if is_change_order(entry):
            out |= dict.fromkeys(entry.body["again"], entry.arrived)
    return out


def counting(fold: CheckFold, since: int) -> CheckFold:
    """A check's history in which nothing that was read or waived before the entry ``since`` is in force any more."""
    if fold.last is not None and fold.last_place <= since:
        fold = replace(fold, last=None, last_arrived=0, last_place=0)
    return replace(fold, waived_arrived=0) if fold.waived_arrived <= since else fold
