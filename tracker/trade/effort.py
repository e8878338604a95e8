"""Person-hours of each phase: what the crew's work is counted by, and the hours for each of it.

Printed figures are few and differ up to threefold. Where one was read, the constant says in what kind of document; no title
was kept, so they count as common practice like everything else here, and are held against a table of whole decks (tests).
Hours are planning figures: the house's pace scales them all, and a contractor's own hours take their place phase by phase.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

_FINEST = 10_000
AT_PAR = 100
"""The pace of the planning figures, in percent, a bound of this program."""


@dataclass(frozen=True, slots=True)
class Rate:
    """Person-hours for each unit of one quantity (see ``workload.quantities``)."""

    hours: float
    per: str


@dataclass(frozen=True, slots=True)
class Effort:
    """Crew work in person-hours: ``fixed`` plus ``rates`` for what the job has of each quantity, at the house's ``pace``.

    ``per`` is the quantity a contractor's own hours for this phase are counted by (empty: the whole phase); ``pace`` is in
    percent, 100 for the figures as they stand here. ``more`` is the work of phases folded into this one.
    """

    fixed: float
    rates: tuple[Rate, ...] = ()
    per: str = ""
    pace: int = AT_PAR
    more: tuple[Effort, ...] = ()

    def hours(self, work: Mapping[str, float]) -> Fraction:
        """Person-hours for what there is of each quantity; one that is not named is none."""
        each = sum((exact(rate.hours) * exact(work.get(rate.per, 0.0)) for rate in self.rates), Fraction(0))
        own = (exact(self.fixed) + each) * Fraction(self.pace, AT_PAR)
        return own + sum((other.hours(work) for other in self.more), Fraction(0))

    def at(self, pace: int) -> Effort:
        """The same work at a pace."""
        return replace(self, pace=pace, more=tuple(other.at(pace) for other in self.more))

    def with_more(self, other: Effort) -> Effort:
        """This work and another's."""
        return replace(self, more=(*self.more, *((other,) if other.is_work else ())))

    @property
    def is_work(self) -> bool:
        """Whether the phase has hours at all."""
        return bool(self.fixed or self.rates or self.more)


def exact(figure: float) -> Fraction:
    """A figure of the trade as the decimal it was written as, to four places."""
    return Fraction(str(figure)).limit_denominator(_FINEST)


# -- common practice, after figures read in print, titles not kept

FRAME_BF = 0.018
"""Hours a board foot of joists, rims and ledgers: 16 to 24 h a 1,000 board feet, floor joists (an estimating textbook,
title not kept, one source); a little under the middle, as nothing is lifted to an upper floor."""
HANGER = 0.0469
"""Hours a joist hanger: 0.75 h for the 16 of a 10 x 20 ft deck (a trade article's worked example, title not kept)."""
BLOCKING = 0.05
"""Hours a piece of blocking: 4 to 6 h a 100 sets of bridging (an estimating textbook, title not kept, one source), the
middle."""
DIG_YD3 = 2.8
"""Hours a cubic yard dug by hand in medium soil (an estimating book of plant work, title not kept). Sources differ
threefold."""
DIG_SOIL: Mapping[str, float] = {"sand": 0.55, "gravel": 1.0, "clay": 1.5}
"""Digging by soil, against medium soil: trench by hand, sand 1.2, medium 2.2, heavy 3.3 h a cubic meter (one source, title not
kept). Rock is no digging by hand and counts as clay here, and so does soil nobody looked at."""
STRIP_FT2 = 0.035
"""Hours a square foot stripped by hand: 2.8 h a cubic yard (an estimating book of plant work, title not kept), 4 in deep."""

# -- common practice; beside some of them what was read

OLD_DECK_FT2 = 0.07
"""Hours a square foot of old deck taken apart, carried off and loaded (common practice; none was found in print)."""
DRAIN_FT = 0.2
"""Hours a foot of drain: trench a foot deep, cloth, pipe and stone (common practice)."""
WIRED = 2.0
"""Hours of the crew beside the electrician, before the boards and after them: chases, boxes, holes (common practice)."""
BOARD_FT = 0.016
"""Hours a foot of deck board laid straight across the joists, square to them (common practice; a trade article, title
not kept, has 3.25 h for the first 50 ft2, about 0.03 h a foot, the first rows among them)."""
DIAGONAL_FT = 0.007
"""Hours more a foot of deck board laid at 45 degrees: both ends are mitered (common practice)."""
COMPOSITE_FT = 0.005
"""Hours more a foot of composite deck board: clips, heavier boards, edges kept clean (common practice)."""
BORDER_FT = 0.12
"""Hours more a foot of border board: mitered corners, the field cut to it, a joist line under it (common practice)."""
HOLE = 0.75
"""Hours a hole for a footing besides its soil: plumb, bottom cleaned, measured (common practice)."""
CONCRETE_FT3 = 0.16
"""Hours a cubic foot of concrete from bags, mixed and placed by hand: a tenth of an hour an 80 lb bag (common practice; from a
truck, below grade, 0.8 h a cubic yard stands in an estimating book of plant work, title not kept)."""
FOOTING = 0.5
"""Hours a footing besides its concrete: form, level, post base (common practice)."""
PAD = 0.1
"""Hours a pad block set in its bed (common practice)."""
STONE_FT2 = 0.02
"""Hours a square foot of cloth and stone, raked and compacted with a plate (common practice; backfill and compaction by hand
3.0 h a cubic yard, 0.037 h a square foot 4 in deep, in an estimating book of plant work, title not kept)."""
PAD_LEVEL = 0.05
"""Hours a pad block brought level (common practice)."""
WOOD_BLOCK = 0.025
"""Hours a wood block cut and nailed on (common practice)."""
POST = 1.4
"""Hours a post: measured, cut, plumbed, braced, its connectors (common practice)."""
BEAM_FT = 0.12
"""Hours a foot of each ply of a built-up beam: plies nailed, lifted on, joints over posts (common practice)."""
LEDGER_FT = 0.3
"""Hours a foot of ledger: siding opened, flashed, bored and bolted (common practice)."""
STRINGER_RISER = 1.1
"""Hours a riser for laying out, cutting and hanging stringers (common practice; none was found in print)."""
STEP_RISER = 1.0
"""Hours a riser for treads, riser boards and handrail (common practice; none was found in print)."""
GUARD_POST = 0.4
"""Hours a guard post bolted and blocked before the boards (common practice; none was found in print)."""
GUARD_FT = 0.85
"""Hours a foot of guard: rails and infill (common practice; none was found in print)."""
FINISH_FT2 = 0.015
"""Hours a square foot of oil or stain, cleaning included (common practice)."""
BOARD_CARRIED = 0.006
"""Hours a deck board counted, looked at and stacked (common practice)."""
LUMBER_CARRIED_BF = 0.0015
"""Hours a board foot of framing counted, looked at and stacked (common practice)."""


def _area(fixed: float, hours: float) -> Effort:
    """Small work that every deck needs, growing with it (common practice)."""
    return Effort(fixed, (Rate(hours, "area_ft2"),))


EFFORTS: Mapping[str, Effort] = {
    "visit": _area(0.85, 0.0015),
    "permit": Effort(3),
    "delivery": Effort(0.35, (Rate(BOARD_CARRIED, "boards"), Rate(LUMBER_CARRIED_BF, "frame_bf")), "boards"),
    "layout": Effort(0.55, (Rate(0.003, "area_ft2"), Rate(0.25, "footings"))),
    "old-deck": Effort(1, (Rate(OLD_DECK_FT2, "old_deck_ft2"),), "old_deck_ft2"),
    "drainage": Effort(0.5, (Rate(DRAIN_FT, "drain_ft"),), "drain_ft"),
    "strip": Effort(0.25, (Rate(STRIP_FT2, "area_ft2"),), "area_ft2"),
    "dig": Effort(0.25, (Rate(HOLE, "footings"), Rate(DIG_YD3, "dig_yd3")), "footings"),
    "pads": Effort(0.25, (Rate(PAD, "blocks"), Rate(STONE_FT2, "area_ft2")), "blocks"),
    "pour": Effort(0.25, (Rate(FOOTING, "footings"), Rate(CONCRETE_FT3, "concrete_ft3")), "footings"),
    "posts": Effort(
        0.25,
        (Rate(PAD_LEVEL, "blocks"), Rate(WOOD_BLOCK, "wood_blocks"), Rate(POST, "posts"), Rate(BEAM_FT, "beam_ft")),
        "supports",
    ),
    "ledger": Effort(0.5, (Rate(LEDGER_FT, "ledger_ft"),)),
    "frame": Effort(
        0.25, (Rate(FRAME_BF, "frame_bf"), Rate(HANGER, "hangers"), Rate(BLOCKING, "blocking")), "joists"
    ),
    "rough-in": Effort(
        0.25, (Rate(STRINGER_RISER, "stair_risers"), Rate(GUARD_POST, "guard_posts"), Rate(WIRED, "wiring")), "stair_risers"
    ),
    "under-deck": _area(0.25, 0.001),
    "board-gap": _area(0.2, 0.0005),
    "boards": Effort(
        0.35,
        (
            Rate(BOARD_FT, "board_ft"), Rate(DIAGONAL_FT, "diagonal_ft"), Rate(COMPOSITE_FT, "composite_ft"),
            Rate(BORDER_FT, "border_ft"),
        ),
        "area_ft2",
    ),
    "guards": Effort(0.25, (Rate(STEP_RISER, "stair_risers"), Rate(GUARD_FT, "guard_ft")), "guard_ft"),
    "electric": Effort(WIRED),
    "site-close": _area(0.4, 0.002),
    "final": _area(0.3, 0.001),
    "hand-over": Effort(0.5),
    "finish": Effort(0.5, (Rate(FINISH_FT2, "area_ft2"),), "area_ft2"),
    "care": _area(0.5, 0.001),
}  # fmt: skip
"""Hours of every phase that has any; the small fixed parts and what grows with the area alone are common practice."""
NO_EFFORT = Effort(0)
"""A phase of papers and waiting."""
