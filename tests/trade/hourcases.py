"""Whole decks whose hours are known from common practice: invented jobs, with the least and the most person-hours of each."""

from __future__ import annotations

from dataclasses import replace

from tests.trade.test_framing import SITE, UNCUT, job, joists, platform
from tracker.trade.lengths import FOOT, INCH
from tracker.trade.outline import Facing
from tracker.trade.spec import Attachment, Beam, Ground, Guard, JobSpec, Stairs, Support

SMALLEST = job(platform(4 * FOOT, 4 * FOOT, height_nm=9 * INCH))
PREPARED = job(
    replace(UNCUT, support=Support.WOOD_BLOCKS, height_nm=9 * INCH + 3 * INCH // 4),
    site=replace(SITE, ground=Ground.READY),
)
STONE_AND_PADS = job(platform(12 * FOOT, 14 * FOOT))
ATTACHED = job(
    platform(
        16 * FOOT, 12 * FOOT, height_nm=36 * INCH, attachment=Attachment.HOUSE, support=Support.FOOTINGS,
        joists=joists("2x10"), beams=(Beam(2, "2x10", 126 * INCH, 3, "6x6"),),
        stairs=(Stairs(48 * INCH, 36 * INCH, Facing.FRONT, 0),),
        guard=Guard(36 * INCH, 36 * FOOT, (Facing.LEFT, Facing.FRONT, Facing.RIGHT)),
    ),
    permit=True, site=replace(SITE, digging=True),
)  # fmt: skip
LARGE = job(
    platform(
        40 * FOOT, 24 * FOOT, height_nm=48 * INCH, support=Support.FOOTINGS, joists=joists("2x10"),
        beams=tuple(Beam(3, "2x10", at * INCH, 6, "6x6") for at in (18, 144, 270)),
        stairs=(Stairs(48 * INCH, 48 * INCH, Facing.FRONT, 0),),
        guard=Guard(36 * INCH, 84 * FOOT, (Facing.LEFT, Facing.FRONT, Facing.RIGHT)),
    ),
    permit=True, site=replace(SITE, digging=True),
)  # fmt: skip

CASES: dict[str, tuple[JobSpec, int, int]] = {
    "4x4 platform": (SMALLEST, 8, 12),
    "10x12 on prepared ground": (PREPARED, 10, 16),
    "12x14 with stone and pads": (STONE_AND_PADS, 24, 40),
    "16x12 attached, 3 ft, stairs and guard": (ATTACHED, 90, 130),
    "40x24 raised": (LARGE, 300, 400),
}
