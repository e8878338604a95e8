"""The rows of a cut list: what a size comes to and whether that is proven, and each way a board is cut, to scale."""

from __future__ import annotations

from itertools import groupby

from textual.content import Content

from tracker.planning.cutplan import CutPlan
from tracker.planning.material import SizePlan
from tracker.reports.cutpages import Way, money, picture, size_words
from tracker.screens import words
from tracker.text import clean, count, listing
from tracker.trade.lengths import FOOT, Unit, exact_text, format_length

INDENT = 6


def worth(size: SizePlan, e4: int, unit: Unit) -> str:
    """What a figure of a plan stands for: money, or a length of board where nobody gave a price."""
    return money(e4) if size.priced else f"{format_length(e4 * FOOT // 10_000, unit)} of board"


def size_head(size: SizePlan, width: int, unit: Unit) -> Content:
    """The heading of a lumber size: boards, cost, proof."""
    first = f"{size.key}  "
    proof = "proven: " if size.plan.proven else "NOT PROVEN: "
    text = proof + size_words(size, unit)
    if size.priced and size.unpriced:
        text += f"; no price for {listing(size.unpriced, 'and')}"
    return words.hang(text, width, first, "$success" if size.plan.proven else "$warning bold", words.HEADING)


def cut_words(way: Way, unit: Unit) -> str:
    """The cuts of a stick in order, equal ones together; what falls off and what that is good for."""
    stick = way.stick
    if stick.whole:
        return "whole, not cut"
    runs = [(nm, len(list(same))) for nm, same in groupby(stick.cuts_nm)]
    cuts = ", ".join(f"{n} x {format_length(nm, unit)}" if n > 1 else format_length(nm, unit) for nm, n in runs)
    return f"{cuts}; falls off {way.use}" if way.use else f"{cuts}; nothing falls off"


def way_row(way: Way, plan: CutPlan, longest_nm: int, width: int, unit: Unit) -> Content:
    """One way to cut a board: how many, which, the cuts, what falls off; the board to scale below."""
    stock = way.stick.stock
    kept = ", bought already" if stock.limit is not None else ""
    first = f"{way.number:>3} x {exact_text(stock.length_nm, unit)}{kept}: "
    drawn = picture(way.stick, longest_nm, plan.kerf_nm, plan.trim_nm, width - INDENT - 2, unit)
    return words.stack(
        [
            words.hang(cut_words(way, unit), width, first, "", words.STRONG),
            words.line(" " * INDENT, words.say(drawn, "$accent")),
        ]
    )


def way_detail(way: Way, unit: Unit) -> str:
    """Where each piece of a board goes."""
    parts = []
    for cut, same in groupby(way.stick.cuts):
        number = len(list(same))
        parts.append(f"{f'{number} x ' if number > 1 else ''}{format_length(cut.length_nm, unit)} {clean(cut.what)}")
    head = f"each of these {count(way.number, 'board')}: " if way.number > 1 else ""
    return head + "; ".join(parts)
