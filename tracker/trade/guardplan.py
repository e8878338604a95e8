"""What a guard, the guard of a flight and a handrail are made of: runs and bays, posts, rails, infill, brackets.

Sizes come from the spec alone; what the height calls for is planned whether or not a job file has it (``places``). Method: common
practice, but for what names a document.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from tracker.trade.guards import BALUSTER, GUARD_POST, POST_SPACING_MOST_NM, infill
from tracker.trade.lengths import FOOT, INCH, round_up
from tracker.trade.places import (
    GUARD_OFF_NM,
    flight_places,
    guard_called_for,
    guard_stretches,
    handrail_called_for,
    length_of,
    stair_guard_called_for,
)
from tracker.trade.spec import Platform, Stairs
from tracker.trade.stairs import riser_count

UNDER_GUARD = 4 * INCH
"""Infill is shorter than its guard by the rail on top and the gap below (common practice)."""
RAKED = 2 * INCH
"""Infill of a stair is longer by this for its sloping cuts (common practice)."""
BESIDE_STRINGER = FOOT
"""How far a post of a stair guard reaches down beside the stringer it is bolted to (common practice)."""
RETURNS = FOOT
"""A handrail is longer than its slope by 6 in at either end, where it is returned (from memory: IRC R311.7.8)."""
BRACKETS_APART = 4 * FOOT
"""Handrail brackets, at the most (common practice; the maker's figure comes first)."""


@dataclass(frozen=True, slots=True)
class GuardPlan:
    """A guard of posts, two rails a bay and upright infill; ``rails_nm`` has the length of a rail of each bay.

    A run goes round corners and ends at the house and at every opening for stairs: ``posts`` stand at its ends, at its
    ``corners`` and between its bays. ``length_nm`` is that of all its runs.
    """

    length_nm: int
    runs: int
    corners: int
    posts: int
    rails_nm: tuple[int, ...]
    post_nm: int
    infill: int
    infill_nm: int

    @property
    def bays(self) -> int:
        """Bays from post to post."""
        return len(self.rails_nm)


@dataclass(frozen=True, slots=True)
class StairGuardPlan:
    """The guard on the open ``sides`` of a flight, ``rake_nm`` long on each, of ``bays`` bays; ``rail_nm`` is a rail of one.

    ``posts`` are those of its own: at the top it ends on a post of the platform's guard where one ends there.
    """

    sides: int
    rake_nm: int
    bays: int
    posts: int
    post_nm: int
    rail_nm: int
    infill: int
    infill_nm: int


@dataclass(frozen=True, slots=True)
class HandrailPlan:
    """A handrail along one side of a flight, returned at both ends, and its brackets."""

    length_nm: int
    brackets: int


def plan_guard(platform: Platform, step_nm: int) -> GuardPlan | None:
    """The guard a platform has or its height calls for, its rails rounded up to ``step_nm``; None where there is none."""
    guard = guard_called_for(platform)
    if guard is None:
        return None
    stretches = guard_stretches(platform)
    long = [length_of(stretch) for stretch in stretches]
    if stretches and abs(sum(long) - guard.length_nm) <= GUARD_OFF_NM:
        ends = Counter(point for stretch in stretches for point in stretch)
        corners = sum(number - 1 for number in ends.values())
        bays = [-(-nm // POST_SPACING_MOST_NM) for nm in long]
        rails = tuple(round_up(Fraction(nm, n), step_nm) for nm, n in zip(long, bays, strict=True) for _ in range(n))
        length, runs = sum(long), max(len(stretches) - corners, 1)
        posts = sum(bays) + len(stretches) - corners
    else:
        # Where it stands is not said: every flight opens it, which makes a run and a short bay more (common practice).
        length, corners, runs = guard.length_nm, 0, 1 + len(platform.stairs)
        number = -(-length // POST_SPACING_MOST_NM) + len(platform.stairs)
        rails, posts = (round_up(Fraction(length, number), step_nm),) * number, number + runs
    pieces = sum(_balusters(rail) for rail in rails)
    below = platform.decking.thickness_nm + platform.joists.depth_nm
    return GuardPlan(
        length, runs, corners, posts, rails, guard.height_nm + below, pieces, guard.height_nm - UNDER_GUARD
    )  # fmt: skip


def _balusters(bay_nm: int) -> int:
    """Balusters between two posts."""
    clear = bay_nm - GUARD_POST
    return infill(clear, BALUSTER).balusters if clear > 0 else 0


def rake_nm(flight: Stairs, run_nm: int) -> int:
    """From the nosing over the lowest riser to that over the top one, along the slope; ``run_nm`` is that of its treads."""
    risers = riser_count(flight.rise_nm)
    return round(math.hypot(run_nm, flight.rise_nm * (risers - 1) / risers))


def plan_stair_guards(platform: Platform, runs_nm: Sequence[int], step_nm: int) -> tuple[StairGuardPlan | None, ...]:
    """The guard of each flight that has one or whose rise calls for it; ``runs_nm`` are the runs of their treads."""
    places = flight_places(platform)
    ends = {point for stretch in guard_stretches(platform) for point in stretch}
    guarded = guard_called_for(platform) is not None
    found: list[StairGuardPlan | None] = []
    for flight, place, run in zip(platform.stairs, places, runs_nm, strict=True):
        if not run or not stair_guard_called_for(flight):
            found.append(None)
            continue
        rake, sides = rake_nm(flight, run), flight.open_sides
        bays = -(-rake // POST_SPACING_MOST_NM)
        shared = sum(point in ends for point in place) if place is not None and ends else 2 * guarded
        found.append(
            StairGuardPlan(
                sides=sides,
                rake_nm=rake,
                bays=bays,
                posts=sides * (bays + 1) - min(shared, sides),
                post_nm=flight.guard_tall_nm + BESIDE_STRINGER,
                rail_nm=round_up(Fraction(rake, bays), step_nm),
                infill=sides * bays * _balusters(run // bays),
                infill_nm=flight.guard_tall_nm - UNDER_GUARD + RAKED,
            )
        )
    return tuple(found)


def plan_handrails(platform: Platform, runs_nm: Sequence[int], step_nm: int) -> tuple[HandrailPlan | None, ...]:
    """The handrail of each flight that has one or whose risers call for it; ``runs_nm`` are the runs of their treads."""
    found: list[HandrailPlan | None] = []
    for flight, run in zip(platform.stairs, runs_nm, strict=True):
        if not run or not handrail_called_for(flight):
            found.append(None)
            continue
        length = round_up(Fraction(rake_nm(flight, run) + RETURNS), step_nm)
        found.append(HandrailPlan(length, max(-(-length // BRACKETS_APART) + 1, 2)))
    return tuple(found)
