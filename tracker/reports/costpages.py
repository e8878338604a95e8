"""What a job's material costs: estimate against what was ordered, received and used, by phase and item."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.book.buyviews import CostLine, CostView
from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.text import listing
from tracker.trade.answer import Plain
from tracker.trade.money import format_money

HEADER = ("", "estimate", "ordered", "received", "used", "est. less ordered")


def cost_page(cost: CostView) -> Page:
    """Phases, items and the total, and the estimate against the actual in words."""
    total = cost.total
    out: list[Line | Grid] = [
        Line(f"Material cost {cost.job}: {format_money(total.estimate_cents)} estimated at today's prices", Tone.TITLE),
        Line(against(total), Tone.CARE if difference(total) < 0 else Tone.PLAIN, indent=2),
    ]
    for title, lines in (("BY PHASE", cost.phases), ("BY ITEM", cost.items)):
        out += [BLANK, Line(title, Tone.TITLE), _grid([*lines, total])]
    if cost.unpriced:
        out += [BLANK, Line(f"without a price, so in no figure: {listing(cost.unpriced, 'and')}", Tone.CARE)]
    return tuple(out)


def difference(line: CostLine) -> int:
    """Cents of the estimate that are not ordered yet; negative when more was ordered than estimated."""
    return line.estimate_cents - line.committed_cents


def against(total: CostLine) -> str:
    """The estimate against the actual in one line."""
    left = difference(total)
    spent = f"{format_money(total.committed_cents)} ordered, {format_money(total.received_cents)} received"
    spent += f", {format_money(total.used_cents)} used"
    if left < 0:
        return f"{spent}; {format_money(-left)} over the estimate"
    return f"{spent}; {format_money(left)} under the estimate so far" if left else f"{spent}; as estimated"


def _grid(lines: Sequence[CostLine]) -> Grid:
    rows = tuple((line.title, *(format_money(cents) for cents in _amounts(line))) for line in lines)
    tones = tuple(
        Tone.TITLE if line.key == "total" else Tone.CARE if difference(line) < 0 else Tone.PLAIN for line in lines
    )
    return Grid(HEADER, rows, frozenset(range(1, len(HEADER))), indent=2, tones=tones)


def _amounts(line: CostLine) -> tuple[int, ...]:
    return line.estimate_cents, line.committed_cents, line.received_cents, line.used_cents, difference(line)


def cost_json(cost: CostView) -> dict[str, Plain]:
    """The cost as plain values."""
    return {
        "job": cost.job,
        "total": _line_json(cost.total),
        "phases": [_line_json(line) for line in cost.phases],
        "items": [_line_json(line) for line in cost.items],
        "without_price": list(cost.unpriced),
    }


def _line_json(line: CostLine) -> dict[str, Plain]:
    return {
        "key": line.key,
        "title": line.title,
        "estimate_cents": line.estimate_cents,
        "committed_cents": line.committed_cents,
        "received_cents": line.received_cents,
        "used_cents": line.used_cents,
        "difference_cents": difference(line),
    }
