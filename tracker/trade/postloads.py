"""The deck each post carries: strips half-way to its neighbours, and the platforms stacked over it.

Method: tributary areas, common practice, as the deck footing tables are computed (``loads``). Where a stacked platform
stands is not in the job, so it counts over every post below as far as its area goes: never too little.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from tracker.trade.lengths import FOOT
from tracker.trade.loading import USUAL, Loading
from tracker.trade.loads import TRIBUTARY, Footing, footing_size, pad_thickness_in
from tracker.trade.spec import JobSpec, Platform, Support

CORNER_SIZE = Fraction(9, 10)
"""Size of an end post's footing as a share of an inner one's at the same beam span, at the least: DCA 6 (2012 IRC edition)
Table 4, note on corner posts. It covers a beam running past its post.
"""


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


def ledger_live_psf(job: JobSpec, platform: Platform) -> int:
    """The live load a ledger's fasteners are spaced by: the heavier of live and snow, and all of what is stacked on the
    platform, over the whole ledger.
    """
    return job.loading.upon_psf + job.loading.total_psf * len(stacked_on(job, platform))


def _below(job: JobSpec, upper: Platform) -> Platform | None:
    if upper.support is not Support.PLATFORM:
        return None
    lower = [other for other in job.platforms if other.height_nm < upper.height_nm]
    return max(lower, key=lambda other: other.height_nm, default=None)


@dataclass(frozen=True, slots=True)
class PostLoad:
    """What one post carries: its ``name`` (P1 from the back, left to right), its deck, and what is stacked over it.

    ``inner_lb`` is, for an end post, what an inner post would carry at the beam span beside it; 0 for an inner one. ``psf``
    is all that stands on a square foot, the deck's own weight with it.
    """

    name: str
    beam: int
    area_ft2: float
    stacked_ft2: float
    inner_lb: float = 0.0
    psf: int = USUAL.total_psf

    @property
    def load_lb(self) -> float:
        """Pounds on its own deck and on every deck stacked over it."""
        return self.psf * (self.area_ft2 + self.stacked_ft2)

    @property
    def words(self) -> str:
        """How the load comes about."""
        stacked = f" + {self.stacked_ft2:.1f} ft2 stacked" if self.stacked_ft2 else ""
        end = f"; an end post, its pad at least 0.9 of that for {self.inner_lb:,.0f} lb" if self.inner_lb else ""
        return f"{self.name}: ({self.area_ft2:.1f} ft2{stacked}) x {self.psf} psf = {self.load_lb:,.0f} lb{end}"

    def pad(self, soil_psf: float) -> Footing:
        """The least pad under it on a soil of ``soil_psf`` (``footing_size``).

        An end post's is no smaller than the corner footing of the table. Raises InputError as ``footing_size`` does.
        """
        own = footing_size(self.load_lb, soil_psf)
        if not self.inner_lb:
            return own
        inner = footing_size(self.inner_lb, soil_psf)
        across, square = (
            max(side, math.ceil(CORNER_SIZE * Fraction(of) - Fraction(1, 10**9)))
            for side, of in ((own.round_in, inner.exact_round_in), (own.square_in, inner.exact_square_in))
        )
        return replace(own, round_in=across, square_in=square, thickness_in=pad_thickness_in(across))


def carried_nm(at_nm: int, beams: Iterable[int], depth_nm: int, attached: bool) -> int:
    """The depth of deck a beam carries: half-way to what holds the joists beside it, or to the edge where nothing does."""
    places = sorted({at_nm, *beams} | ({0} if attached else set()))
    index = places.index(at_nm)
    back = at_nm if index == 0 else (at_nm - places[index - 1]) // 2
    ahead = depth_nm - at_nm if index == len(places) - 1 else (places[index + 1] - at_nm) // 2
    return back + ahead


def table_joist_nm(at_nm: int, beams: Iterable[int], depth_nm: int, attached: bool, stacked: int = 0) -> int:
    """The joist span to enter beam and post tables with: the longest one beside the beam, or the longer one that loads a
    table's beam (0.75 of the joist span) as much as its strip and ``stacked`` platforms on it do.
    """
    places = sorted({at_nm, *beams} | ({0} if attached else set()))
    beside = [b - a for a, b in pairwise(places) if at_nm in (a, b)]
    loaded = round(carried_nm(at_nm, beams, depth_nm, attached) * (1 + stacked) / TRIBUTARY)
    return max(max(beside, default=0), loaded)


def post_loads(
    post_at_nm: Sequence[int],
    length_nm: int,
    carried_nm: int,
    stack: Sequence[Platform],
    *,
    beam: int = 0,
    first: int = 1,
    loading: Loading = USUAL,
) -> tuple[PostLoad, ...]:
    """Return what the posts of one beam carry, from the left.

    ``post_at_nm`` are their centres along a beam ``length_nm`` long that carries ``carried_nm`` of the deck's depth;
    ``stack`` are the platforms over it; ``first`` is the number of the first post; ``loading`` what the deck is designed for.
    """
    edges = [0, *((a + b) // 2 for a, b in pairwise(post_at_nm)), length_nm]
    spans = [b - a for a, b in pairwise(post_at_nm)]
    ends = {0: spans[0], len(post_at_nm) - 1: spans[-1]} if spans else {}
    out: list[PostLoad] = []
    for index, (left, right) in enumerate(pairwise(edges)):
        strip, inner = ((right - left) * carried_nm / FOOT**2, ends.get(index, 0) * carried_nm / FOOT**2)
        inner_lb = loading.total_psf * (inner + _stacked(inner, stack))
        out.append(PostLoad(f"P{first + index}", beam, strip, _stacked(strip, stack), inner_lb, loading.total_psf))
    return tuple(out)


def _stacked(area_ft2: float, stack: Sequence[Platform]) -> float:
    return sum(min(area_ft2, upper.area_ft2) for upper in stack)
