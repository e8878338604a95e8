"""What a beam stands on at a platform's height: posts, the footings themselves where there is no room for any, or pad blocks.

Lengths are whole nanometres. Footings end flush with the ground under posts; under a beam without posts they are poured up
to it (common practice).
"""

from __future__ import annotations

from tracker.text import count
from tracker.trade.lengths import INCH, MM
from tracker.trade.lumber import dressed, is_metric, size_name
from tracker.trade.spec import Beam, Platform

PAD = {False: 12 * INCH, True: 300 * MM}
"""The side of a pad block under a beam, by whether the lumber is metric (common practice)."""
SHORTEST_POST = 4 * INCH
"""A shorter post cannot be held in a base and a cap (common practice)."""


def under_beam_nm(platform: Platform, beam: Beam) -> int:
    """From the ground to the underside of a beam; 0 where it lies on the ground."""
    above = platform.decking.thickness_nm + platform.joists.depth_nm + dressed(beam.size).depth_nm
    return max(platform.height_nm - above, 0)


def post_nm(platform: Platform, beam: Beam) -> int:
    """The length of the beam's posts; 0 where it lies on its footings or pads."""
    if platform.on_pads:
        return 0
    under = under_beam_nm(platform, beam)
    return under if under >= SHORTEST_POST else 0


def carriers(platform: Platform, beam: Beam) -> str:
    """What carries a beam, in words: its posts, its footings, or its pads."""
    if post_nm(platform, beam):
        return f"{count(beam.posts, 'post')} {size_name(beam.post_size)}"
    return count(beam.posts, "pad") if platform.on_pads else f"{count(beam.posts, 'footing')} without posts"


def stand_of(platform: Platform, beam: Beam) -> str:
    """One thing the beam stands on: ``post``, ``footing`` or ``pad``."""
    if post_nm(platform, beam):
        return "post"
    return "pad" if platform.on_pads else "footing"


def stand_nm(beam: Beam) -> int:
    """How wide what the beam stands on is, along it: its post, or a pad block."""
    return dressed(beam.post_size).thickness_nm if beam.post_size else PAD[is_metric(beam.size)]
