"""What a job's material costs: estimate against what was ordered, received and used, by phase and item."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.book.buyviews import CostLine, CostView
from tracker.planning.bounds import Bound, Gaps
from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.trade.answer import Plain

HEADER = ("", "estimate", "ordered", "received", "used", "est. less ordered")


def cost_page(cost: CostView) -> Page:
    """Phases, items and the total, and the estimate against the actual in words."""
    total = cost.total
    estimated = Gaps(total.not_estimated).at_least(total.estimate_cents)
    out: list[Line | Grid] = [
        Line(f"Material cost {cost.job}, estimated at today's prices: {estimated}", Tone.TITLE),
        Line(against(total), Tone.CARE if total.difference_cents < 0 or total.gaps else Tone.PLAIN, indent=2),
    ]
    if cost.afresh_cents is not None:
        afresh = Gaps(total.not_estimated).at_least(cost.afresh_cents)
        said = f"the list as it stands, cut from what the job has first; as if nothing were bought, as `deckjobs price` reckons: {afresh}"
        out.append(Line(said, Tone.QUIET, indent=2))
    for title, lines in (("BY PHASE", cost.phases), ("BY ITEM", cost.items)):
        out += [BLANK, Line(title, Tone.TITLE), _grid([*lines, total])]
    if total.gaps:
        out += [BLANK, Line(total.gaps.named, Tone.CARE)]
    return tuple(out)


def against(total: CostLine) -> str:
    """The estimate against the actual in one line."""
    bound, left, gaps = total.difference_bound, total.difference_cents, total.gaps
    amounts = (total.committed_cents, total.received_cents, total.used_cents)
    ordered, received, used = (total.spent_bound.money(cents) for cents in amounts)
    spent = f"{ordered} ordered, {received} received, {used} used"
    if bound is Bound.UNKNOWN:
        return gaps.tell(f"{spent}; whether that is under the estimate is not known")
    if left < 0:
        return gaps.tell(f"{spent}; {bound.other.money(-left)} over the estimate")
    return gaps.tell(f"{spent}; {bound.money(left)} under the estimate so far" if left else f"{spent}; as estimated")


def _grid(lines: Sequence[CostLine]) -> Grid:
    rows = tuple((line.title, *_amounts(line)) for line in lines)
    tones = tuple(
        Tone.TITLE if line.key == "total" else Tone.CARE if line.difference_cents < 0 else Tone.PLAIN for line in lines
    )
    return Grid(HEADER, rows, frozenset(range(1, len(HEADER))), indent=2, tones=tones)


def _amounts(line: CostLine) -> tuple[str, ...]:
    spent = (line.committed_cents, line.received_cents, line.used_cents)
    return (
        line.estimate_bound.sum_of(line.estimate_cents),
        *(line.spent_bound.sum_of(cents) for cents in spent),
        line.difference_bound.sum_of(line.difference_cents),
    )


def cost_json(cost: CostView) -> dict[str, Plain]:
    """The cost as plain values."""
    return {
        "job": cost.job,
        "total": _line_json(cost.total),
        "as_if_nothing_bought_cents": cost.total.estimate_cents if cost.afresh_cents is None else cost.afresh_cents,
        "phases": [_line_json(line) for line in cost.phases],
        "items": [_line_json(line) for line in cost.items],
        "without_price": list(cost.unpriced),
    }


def _line_json(line: CostLine) -> dict[str, Plain]:
    return {
        "key": line.key,
        "title": line.title,
        "wood": line.wood,
        "estimate_cents": line.estimate_cents,
        "estimate_bound": line.estimate_bound.value,
        "committed_cents": line.committed_cents,
        "received_cents": line.received_cents,
        "used_cents": line.used_cents,
        "spent_bound": line.spent_bound.value,
        "difference_cents": line.difference_cents,
        "difference_bound": line.difference_bound.value,
        "not_estimated": list(line.not_estimated),
        "not_paid": list(line.not_paid),
    }
