"""What a beam stands on at a platform's height: posts, or the footings themselves where there is no room for any.

Lengths are whole nanometres. Footings end flush with the ground under posts; under a beam without posts they are poured up
to it (common practice).
"""

from __future__ import annotations

from tracker.text import count
from tracker.trade.lengths import INCH
from tracker.trade.lumber import dressed, size_name
from tracker.trade.spec import Beam, Platform

SHORTEST_POST = 4 * INCH
"""A shorter post cannot be held in a base and a cap (common practice)."""


def under_beam_nm(platform: Platform, beam: Beam) -> int:
    """From the ground to the underside of a beam; 0 where it lies on the ground."""
    above = platform.decking.thickness_nm + platform.joists.depth_nm + dressed(beam.size).depth_nm
    return max(platform.height_nm - above, 0)


def post_nm(platform: Platform, beam: Beam) -> int:
    """The length of the beam's posts; 0 where it lies on its footings."""
    under = under_beam_nm(platform, beam)
    return under if under >= SHORTEST_POST else 0


def carriers(platform: Platform, beam: Beam) -> str:
    """What carries a beam, in words: its posts, or its footings."""
    if post_nm(platform, beam):
        return f"{count(beam.posts, 'post')} {size_name(beam.post_size)}"
    return f"{count(beam.posts, 'footing')} without posts"
