"""What the delivery check says of each lot by itself: what is wrong with it, what was let pass, which pieces go back. Pure.

A delivery comes on several trucks. So a waiver covers the faults that stood when it was given, lot by lot, and a lot that
is first looked at after the phase was signed off is judged alone: it never undoes what was signed for the others.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from tracker.book.fold import CheckFold, LotFold
from tracker.book.views import CheckState, ReadingView
from tracker.trade.answer import Plain
from tracker.trade.checks.base import LotLine
from tracker.trade.checks.yard import as_laid_now, as_ordered_now, as_sent_back
from tracker.trade.spec import JobSpec

DELIVERY = "delivery"


@dataclass(frozen=True, slots=True)
class Inspected:
    """One lot by its delivery check: ``faults`` not waived, with ``unfit`` those of the pieces themselves.

    ``culls`` are pieces to send back, ``rejected`` says that all of them are, ``since`` when the culls were first found
    (the place of that entry in the book). ``late`` when it was first looked at after the sign-off of its phase.
    """

    faults: tuple[str, ...] = ()
    unfit: tuple[str, ...] = ()
    culls: int = 0
    rejected: bool = False
    since: int = 0
    late: bool = False
    unread: bool = False

    def culls_left(self, fold: LotFold) -> int:
        """The culls among the pieces on hand: what went back or was scrapped since they were found is gone."""
        if self.rejected:
            return fold.on_hand
        gone = sum(pieces for arrived, pieces in fold.sent_away if arrived > self.since)
        return min(max(self.culls - gone, 0), fold.on_hand)


def inspected_lots(fold: CheckFold, signed_arrived: int = 0) -> Mapping[str, Inspected]:
    """By lot code what the readings that stand and the waivers say; ``signed_arrived`` is the phase's sign-off, 0 for none."""
    if not fold.standing:
        return {}
    covered = _covered(fold)
    before = _in_force(fold.standing, signed_arrived) if signed_arrived else None
    out: dict[str, Inspected] = {}
    for code, figures in _lots(fold.standing[-1]):
        faults = tuple(text for text in _faults(code, figures) if not _is_covered(code, text, figures, covered))
        unfit = tuple(text for text in _texts(figures, "unfit") if text in faults)
        culls = _whole(figures, "culls")
        found = (view.arrived for view in fold.standing if _whole(dict(_lots(view)).get(code, {}), "culls"))
        out[code] = Inspected(
            faults=faults,
            unfit=unfit,
            culls=culls,
            rejected=any(text in unfit for text in _texts(figures, "rejected")),
            since=next(found, 0) if culls else 0,
            late=bool(signed_arrived) and not _read(code, before),
            unread=bool(_texts(figures, "wanted")),
        )
    return out


def as_of_now(fold: CheckFold, job: JobSpec, lots: Sequence[LotLine]) -> CheckFold:
    """The delivery check's history with its verdicts as the boards are to be laid now (``yard.as_laid_now``), the one in
    force as the orders stand now (``yard.as_ordered_now``).
    """

    def now(view: ReadingView) -> ReadingView:
        answer = as_laid_now(view.answer, job)
        in_force = fold.last is not None and view.id == fold.last.id
        return replace(view, answer=as_ordered_now(answer, lots) if in_force else answer)

    last = None if fold.last is None else now(fold.last)
    return replace(fold, last=last, standing=tuple(now(view) for view in fold.standing))


def sent_back(fold: CheckFold, looked_at: Mapping[str, Inspected], lots: Mapping[str, LotFold]) -> CheckFold:
    """The delivery check's history, the verdict in force with the culls still there (``yard.as_sent_back``)."""
    if fold.last is None:
        return fold
    left = {code: found.culls_left(lots[code]) for code, found in looked_at.items() if code in lots}
    last = replace(fold.last, answer=as_sent_back(fold.last.answer, left))
    return replace(fold, last=last, standing=tuple(last if view.id == last.id else view for view in fold.standing))


def by_lot(fold: CheckFold, signed_arrived: int) -> CheckFold:
    """The delivery check's history with its state worked out lot by lot, where a waiver or a sign-off calls for it."""
    if fold.last is None or not (fold.waived_at or signed_arrived):
        return fold
    counted = [lot for lot in inspected_lots(fold, signed_arrived).values() if not lot.late]
    waived = bool(fold.waived_at)
    if any(lot.faults for lot in counted):
        state = CheckState.FAILED
    elif any(lot.unread for lot in counted) and not waived:
        state = CheckState.OPEN
    else:
        lots = [figures for _, figures in _lots(fold.last)]
        whole = not any(
            _texts(figures, "wanted") or figures.get("short") or _texts(figures, "unfit") for figures in lots
        )
        state = CheckState.WAIVED if waived and not whole else CheckState.PASSED
    return replace(fold, by_lot=state)


def _lots(view: ReadingView) -> Iterator[tuple[str, Mapping[str, Plain]]]:
    lots = view.answer.answer.get("lots")
    for code, figures in lots.items() if isinstance(lots, Mapping) else ():
        if isinstance(figures, Mapping):
            yield code, figures


def _texts(figures: Mapping[str, Plain], key: str) -> tuple[str, ...]:
    found = figures.get(key)
    return tuple(str(text) for text in found) if isinstance(found, list) else ()


def _whole(figures: Mapping[str, Plain], key: str) -> int:
    found = figures.get(key)
    return found if isinstance(found, int) else 0


def _short(figures: Mapping[str, Plain]) -> str:
    short = _whole(figures, "short")
    return f"{short} short" if short else ""


def _faults(code: str, figures: Mapping[str, Plain]) -> tuple[str, ...]:
    short = _short(figures)
    return (*((f"{code}: {short}",) if short else ()), *_texts(figures, "unfit"))


def _is_covered(code: str, fault: str, figures: Mapping[str, Plain], covered: Mapping[str, Mapping[str, int]]) -> bool:
    """Whether a waiver covers the fault: the same words, or fewer pieces short than were let pass."""
    let_pass = covered.get(code, {})
    if fault == f"{code}: {_short(figures)}":
        return _whole(figures, "short") <= let_pass.get("short", 0)
    return fault in let_pass


def _covered(fold: CheckFold) -> Mapping[str, Mapping[str, int]]:
    """By lot the faults that stood at a waiver and at every reading since: the words, and ``short`` with how many."""
    out: dict[str, dict[str, int]] = {}
    for waived in fold.waived_at:
        then = _in_force(fold.standing, waived)
        if then is None:
            continue
        for code, figures in _lots(then):
            since = [dict(_lots(view)).get(code, {}) for view in fold.standing if view.arrived > waived]
            mine = out.setdefault(code, {})
            for text in _texts(figures, "unfit"):
                if all(text in _texts(later, "unfit") for later in since):
                    mine[text] = 1
            most = min([_whole(figures, "short"), *(_whole(later, "short") for later in since[:-1])])
            mine["short"] = max(mine.get("short", 0), most)
    return out


def _in_force(standing: Sequence[ReadingView], arrived: int) -> ReadingView | None:
    """The last reading that was there before the entry ``arrived``."""
    return next((view for view in reversed(standing) if view.arrived < arrived), None)


def _read(code: str, view: ReadingView | None) -> bool:
    return view is not None and any(name.startswith(f"{code}.") for name, _ in view.entered)
