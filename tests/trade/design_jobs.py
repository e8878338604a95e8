"""Invented decks for the tests of the design: a raised one that every clause holds for, a low one, and what is changed of them."""

from __future__ import annotations

from dataclasses import replace

from tests.trade.geometry_cases import GROUND, inch
from tests.trade.phase_jobs import RAISED
from tracker.trade.lengths import Unit
from tracker.trade.outline import Facing
from tracker.trade.rules import Rules
from tracker.trade.spec import Finish, Guard, JobSpec, Platform, Site, Stairs, Stringers

FLIGHT = Stairs(inch(48), inch(66), Facing.FRONT, inch(24), handrail=True, guard=True, stringers=Stringers.SOLID)
GUARDED = Guard(inch(36), inch(432), (Facing.LEFT, Facing.FRONT, Facing.RIGHT))
"""16 ft by 12 ft on the house: 12 + 16 + 12 ft of open edge less a flight 4 ft wide, 36 ft."""
DECK = replace(RAISED, name="deck", stairs=(FLIGHT,), guard=GUARDED)
"""16 ft by 12 ft, 5 ft 6 in high, on the house: 2x10 joists at 16 in, a 2-ply 2x12 beam at 10 ft 6 in on three 6x6 posts."""
LOW = replace(GROUND, name="deck", joists=replace(GROUND.joists, use_category="UC4A"))


def job(
    *platforms: Platform, permit: bool = True, digging: bool | None = True, no_permit: str = "", frost_in: float = 36,
    soil: str = "clay", live: int = 0, snow: int = 0, carries: tuple[str, ...] = (), rules: Rules | None = None,
) -> JobSpec:  # fmt: skip
    """A job of these platforms in an invented yard."""
    site = Site(
        "Elmfield (invented)", inch(frost_in), soil, 120, digging, False, live_psf=live, snow_psf=snow, carries=carries
    )
    return JobSpec(Unit.INCH, platforms, site, permit, Finish.NONE, rules or Rules(), 2, no_permit)
