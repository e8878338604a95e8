"""Cut lists for paper: every board drawn to scale with its pieces, the saw's cuts, and what falls off hatched."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.book.buyviews import CutListView
from tracker.planning.cut_answer import CAUTION
from tracker.planning.cutplan import Cut, Stick
from tracker.planning.material import SizePlan
from tracker.reports.cutpages import Way, cuts_text, money, piece_text, size_words, ways
from tracker.reports.page import Tone
from tracker.reports.paper.model import Block, Caution, Figure, Heading, KeepTogether, Paragraph
from tracker.reports.svg_kit import number_text, safe, text_width
from tracker.trade.lengths import Unit, format_length, format_small

WIDTH, HIGH, LABEL = 178.0, 6.4, 2.6
"""mm of the longest stick, of its height and of its type."""
HATCH = 2.2
_EDGE = 'stroke="#222" stroke-width="0.25"'


def cut_blocks(view: CutListView) -> Iterator[Block]:
    """The cut list, one figure for equal boards."""
    if not view.sizes:
        yield Paragraph("Nothing to cut: no lumber is needed any more.", Tone.GOOD)
        return
    for size in view.sizes:
        yield Heading(size.key, 3)
        yield Paragraph(size_words(size, view.unit), Tone.QUIET)
        longest = max((stick.stock.length_nm for stick in size.plan.sticks), default=1)
        for way in ways(size.plan.sticks, size.uses):
            yield _way(way, size, longest, view.unit)
    yield Caution((CAUTION,))


def _way(way: Way, size: SizePlan, longest_nm: int, unit: Unit) -> Block:
    stock = way.stick.stock
    price = ", bought already" if stock.limit is not None else ", not priced"
    if stock.limit is None and size.has_price(stock):
        price = f", {money(stock.cost_e4)} each"
    told = cuts_text(way, unit)
    figure = Figure(
        stick_svg(way.stick, longest_nm, size.plan.kerf_nm, size.plan.trim_nm, unit), f"{stock.name}: {told}",
        height_mm=HIGH + 1.0,
    )  # fmt: skip
    return KeepTogether((Paragraph(f"{way.number} × {stock.name}{price}", Tone.TITLE), figure, Paragraph(told)))


def stick_svg(stick: Stick, longest_nm: int, kerf_nm: int, trim_nm: int, unit: Unit) -> str:
    """A stick to scale as SVG: ``WIDTH`` mm are as long as ``longest_nm``; labels go where there is room for them."""
    whole = stick.stock.length_nm

    def at(nm: int) -> float:
        return 0.5 + nm * WIDTH / longest_nm

    parts: list[str] = []
    sawn = trim_nm + sum(stick.cuts_nm) + kerf_nm * max(len(stick.cuts) - 1, 0)
    start = trim_nm if sawn <= whole else 0  # a lone piece may keep the mill's end
    if start:
        parts += _hatched(at(0), at(start))
    for cut in stick.cuts:
        left, right = at(start), at(start + cut.length_nm)
        parts.append(_rect(left, right, "#f1e6d0"))
        parts += _label(cut, left, right, unit)
        start += cut.length_nm + kerf_nm
    if stick.left_nm > 0:
        parts += _hatched(at(min(start, whole)), at(whole))
        text = format_small(stick.left_nm, unit)
        if at(whole) - at(min(start, whole)) > text_width(text, LABEL) + 3.0:
            parts += _on_white(text, (at(min(start, whole)) + at(whole)) / 2)
    parts.append(f'<rect x="0.5" y="0.5" width="{number_text(at(whole) - 0.5)}" height="{HIGH}" fill="none" {_EDGE}/>')
    size = f"{number_text(WIDTH + 1)} {number_text(HIGH + 1)}"
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size}" font-family="DejaVu Sans, Arial, sans-serif">{"".join(parts)}</svg>'


def _rect(left: float, right: float, fill: str) -> str:
    return (
        f'<rect x="{number_text(left)}" y="0.5" width="{number_text(max(right - left, 0.05))}" height="{HIGH}" '
        f'fill="{fill}" {_EDGE}/>'
    )


def _hatched(left: float, right: float) -> list[str]:
    """What falls off: slanting lines inside its edges."""
    out = [_rect(left, right, "#fff")]
    x = left - HIGH
    while x < right:
        # A line rising to the right, cut off where it leaves the piece.
        x1, x2 = max(x, left), min(x + HIGH, right)
        if x2 > x1:
            y1, y2 = 0.5 + HIGH - (x1 - x), 0.5 + HIGH - (x2 - x)
            out.append(
                f'<line x1="{number_text(x1)}" y1="{number_text(y1)}" x2="{number_text(x2)}" y2="{number_text(y2)}" '
                'stroke="#999" stroke-width="0.15"/>'
            )
        x += HATCH
    return out


def _label(cut: Cut, left: float, right: float, unit: Unit) -> list[str]:
    for text in (piece_text(cut, unit), format_length(cut.length_nm, unit), format_small(cut.length_nm, unit)):
        if text_width(text, LABEL) + 1.0 <= right - left:
            return [_text(text, (left + right) / 2)]
    return []


def _text(text: str, x: float) -> str:
    y = number_text(0.5 + HIGH / 2 + LABEL * 0.36)
    return (
        f'<text x="{number_text(x)}" y="{y}" font-size="{LABEL}" text-anchor="middle" fill="#222">{safe(text)}</text>'
    )


def _on_white(text: str, x: float) -> list[str]:
    wide = text_width(text, LABEL) + 1.0
    box = (
        f'<rect x="{number_text(x - wide / 2)}" y="{number_text(0.5 + HIGH / 2 - LABEL * 0.65)}" '
        f'width="{number_text(wide)}" height="{number_text(LABEL * 1.3)}" fill="#fff"/>'
    )
    return [box, _text(text, x)]
