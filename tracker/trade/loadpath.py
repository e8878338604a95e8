"""Which part of a deck each post and footing carries: strips half-way to the neighbours, overhangs, stacked platforms.

Method: tributary areas, common practice, as the deck footing tables are computed (``loads``). Where a stacked platform
stands is not in the job, so it counts over every post below as far as its area goes: never too little.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from tracker.trade.framing import DECK_LOAD_PSF, BeamPlan, plan_frame
from tracker.trade.lengths import FOOT
from tracker.trade.loads import TRIBUTARY
from tracker.trade.spec import JobSpec, Platform, Support


def stacked_on(job: JobSpec, platform: Platform) -> tuple[Platform, ...]:
    """The platforms that stand on this one, and those that stand on them.

    A platform on a platform stands on the highest of those lower than itself.
    """
    found: list[Platform] = []
    for upper in job.platforms:
        below = _below(job, upper)
        while below is not None and below is not platform:
            below = _below(job, below)
        if below is platform:
            found.append(upper)
    return tuple(found)


def _below(job: JobSpec, upper: Platform) -> Platform | None:
    if upper.support is not Support.PLATFORM:
        return None
    lower = [other for other in job.platforms if other.height_nm < upper.height_nm]
    return max(lower, key=lambda other: other.height_nm, default=None)


@dataclass(frozen=True, slots=True)
class PostLoad:
    """What one post carries: its ``name`` (P1 from the back, left to right), its deck, and what is stacked over it."""

    name: str
    beam: int
    area_ft2: float
    stacked_ft2: float

    @property
    def load_lb(self) -> float:
        """Pounds: 50 psf (40 live, 10 dead) on its own deck and on every deck stacked over it."""
        return DECK_LOAD_PSF * (self.area_ft2 + self.stacked_ft2)

    @property
    def words(self) -> str:
        """How the load comes about."""
        stacked = f" + {self.stacked_ft2:.1f} ft2 stacked" if self.stacked_ft2 else ""
        return f"{self.name}: ({self.area_ft2:.1f} ft2{stacked}) x {DECK_LOAD_PSF} psf = {self.load_lb:,.0f} lb"


@dataclass(frozen=True, slots=True)
class BeamLoad:
    """A beam and what it carries; ``span_nm`` is the longest joist span beside it, ``post_span_nm`` between its posts.

    ``table_joist_nm`` is the joist span to enter beam and post tables with: the real one, or the longer one that loads
    a table's beam (0.75 of the joist span) as much as this strip and the stack on it do.
    """

    plan: BeamPlan
    span_nm: int
    table_joist_nm: int
    post_span_nm: int
    posts: tuple[PostLoad, ...]


def beam_loads(job: JobSpec, platform: Platform) -> tuple[BeamLoad, ...]:
    """The beams of a platform from the back, with their posts; none for a platform without beams."""
    plans = plan_frame(platform, job.rules, job.site).beams
    stack = stacked_on(job, platform)
    places = sorted({plan.beam.at_nm for plan in plans} | ({0} if platform.attached else set()))
    spans = list(pairwise(places))
    out: list[BeamLoad] = []
    number = 0
    for index, plan in enumerate(plans):
        beside = [b - a for a, b in spans if plan.beam.at_nm in (a, b)]
        posts: list[PostLoad] = []
        at = plan.post_at_nm
        edges = [0, *((a + b) // 2 for a, b in pairwise(at)), plan.length_nm]
        for left, right in pairwise(edges):
            number += 1
            area = (right - left) * plan.carried_nm / FOOT**2
            over = sum(min(area, upper.area_ft2) for upper in stack)
            posts.append(PostLoad(f"P{number}", index, area, over))
        loaded = round(plan.carried_nm * (1 + len(stack)) / TRIBUTARY)
        longest = max(beside, default=0)
        out.append(BeamLoad(plan, longest, max(longest, loaded), max(b - a for a, b in pairwise(at)), tuple(posts)))
    return tuple(out)
