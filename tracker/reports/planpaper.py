"""Plans for paper: what is built so far of a job's platforms, or everything with its dimensions, with the words for it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from tracker.book.views import PhaseState
from tracker.reports.drawing_marks import MARK_WORDS, Mark
from tracker.reports.drawing_shapes import Drawing, Layer
from tracker.reports.drawing_svg import plan_svg
from tracker.reports.page import Tone
from tracker.reports.paper.model import Beside, Block, Figure, Heading, Paragraph
from tracker.text import count, listing

BUILT_IN: Mapping[Layer, tuple[str, ...]] = {
    Layer.SUPPORTS: ("pads", "pour", "cure", "posts"),
    Layer.FRAME: ("ledger", "frame"),
    Layer.BOARDS: ("boards",),
}
"""The phases of the template that build each layer of a drawing (common practice)."""
_BEGUN = frozenset({PhaseState.UNDER_WAY, PhaseState.SIGNED_OFF})
DONE, UNDER_WAY, AHEAD = "built", "under way", "not begun"
MOST_PLANS = 3
"""Plans side by side; more platforms than that are named."""


def built(steps: Sequence[tuple[str, str, PhaseState]], busy: Collection[str] = ()) -> dict[Layer, str]:
    """How far each layer is, from the phases of the job as (key, title, state); ``busy`` are the titles of those at work or held."""
    out = {}
    for layer, keys in BUILT_IN.items():
        found = [(title, state) for key, title, state in steps if key in keys]
        if not found:
            continue
        whole = all(state is PhaseState.SIGNED_OFF for _, state in found)
        begun = any(state in _BEGUN or title in busy for title, state in found)
        out[layer] = DONE if whole else UNDER_WAY if begun else AHEAD
    return out


def built_words(layers: Mapping[Layer, str]) -> str:
    """``supports built, frame under way, boards not begun``."""
    return ", ".join(f"{layer} {word}" for layer, word in layers.items())


def done_plans(
    drawings: Sequence[Drawing], layers: Mapping[Layer, str], width: float, height: float
) -> tuple[Block, ...]:
    """The plans side by side in ``width`` by ``height`` mm, with what is built drawn and what is not left out."""
    shown = frozenset({Layer.CHECKS} | {layer for layer, word in layers.items() if word != AHEAD})
    drawn = drawings[:MOST_PLANS]
    each = width / max(len(drawn), 1) - 3.0
    figures = tuple(_done(drawing, shown, layers, each, height, several=len(drawings) > 1) for drawing in drawn)
    more = drawings[MOST_PLANS:]
    note = (Paragraph(f"not drawn: {listing([drawing.name for drawing in more], 'and')}", Tone.QUIET),) if more else ()
    return (*_side_by_side(figures), *note)


def _side_by_side(figures: tuple[Block, ...]) -> tuple[Block, ...]:
    if len(figures) < 2:
        return figures
    first, *rest = figures
    return (Beside((first,), _side_by_side(tuple(rest)), 1 / len(figures)),)


def _done(
    drawing: Drawing,
    shown: frozenset[Layer],
    layers: Mapping[Layer, str],
    width: float,
    height: float,
    *,
    several: bool,
) -> Figure:
    name = f"{drawing.name}: " if several else ""
    bad = [part for note in drawing.checks if note.mark is Mark.FAILED for part in note.parts]
    flagged = f"; failing: {listing(list(dict.fromkeys(bad)), 'and')}" if bad else ""
    begun = any(word != AHEAD for word in layers.values())
    told = built_words(layers) if begun else "nothing built yet: the outline"
    alt = f"Plan of {drawing.name}. {'. '.join(drawing.facts)}. Drawn: {told}{flagged}."
    return Figure(plan_svg(drawing, width, height, layers=shown), alt, f"{name}{told}{flagged}", height)


def whole_plan(drawing: Drawing, width: float, height: float, *, layers: frozenset[Layer]) -> tuple[Block, ...]:
    """A platform with its numbers and dimensions, its facts, and what the checks found."""
    title = f"{drawing.name}, seen from above; {'the house' if drawing.attached else 'the back'} at the top"
    alt = f"Plan of {drawing.name} with dimensions. {'. '.join(drawing.facts)}."
    found = [
        f"{MARK_WORDS[note.mark]} {note.title}: {note.headline}"
        for note in drawing.checks
        if note.mark in (Mark.FAILED, Mark.WAIVED)
    ]
    return (
        Heading(title, 3, beside=count(len(drawing.joists), "joist line") if Layer.FRAME in layers else ""),
        Figure(
            plan_svg(drawing, width, height, layers=layers), alt, "; ".join((*drawing.facts, *drawing.notes)), height
        ),
        *(Paragraph(text, Tone.BAD) for text in found),
    )
