"""Blocks of treated lumber under the simplest deck: a free-standing platform a step high, with no concrete and no stone.

Short pieces of the joists' own stock lie flat under rims and joists, one or a few plies high, nailed to the frame and to
each other. Where they stand is as for any blocks on the ground (``layout.contact_points``). Lengths are whole nanometres;
the method is common practice.
"""

from __future__ import annotations

from dataclasses import dataclass

from tracker.trade.lengths import FOOT, INCH, MM, Unit, format_small, format_trade
from tracker.trade.loading import Loading
from tracker.trade.lumber import dressed, is_metric
from tracker.trade.spec import Platform, Support

SHORTEST = {False: 8 * INCH, True: 200 * MM}
"""The least length of a block, by whether the lumber is metric: it reaches under the rim and the joist's end (common practice)."""
MOST_PLIES = 3
"""Blocks are not stacked higher (common practice): a taller one tips."""
HIGHEST = {Unit.INCH: FOOT, Unit.MM: 300 * MM}
"""Up to this height, about a step, a platform stands on wood blocks (common practice)."""
NAILS_A_PLY = 2
"""Nails up through each ply into the one above or the joist (common practice)."""
CAUTION = (
    "Wood blocks: treated for ground contact (UC4A or better), cut ends brushed with preservative, on ground that drains;"
    " frost moves them, and the local office decides whether they will do."
)


@dataclass(frozen=True, slots=True)
class WoodBlock:
    """What each wood block of a platform is: ``plies`` of ``ply_nm`` each, ``length_nm`` long and ``width_nm`` wide.

    ``bed_nm`` is what the ground is brought up under it; ``load_lb`` what the worst one carries, at ``psf`` and its part of the
    deck, on ``soil_psf``.
    """

    plies: int
    ply_nm: int
    length_nm: int
    width_nm: int
    bed_nm: int
    load_lb: float
    psf: int
    soil_psf: int

    @property
    def pressure_psf(self) -> float:
        """What the worst block puts on the ground."""
        return self.load_lb / (self.length_nm * self.width_nm / FOOT**2)


def room_nm(platform: Platform) -> int:
    """From the ground to the underside of the joists."""
    return platform.height_nm - platform.decking.thickness_nm - platform.joists.depth_nm


def wood_block(platform: Platform, apart_nm: int, soil_psf: int, loading: Loading) -> WoodBlock:
    """The wood block of a platform whose blocks stand ``apart_nm`` apart under each joist: long enough for the soil under the
    loads the deck is designed for.
    """
    joists = platform.joists
    ply, wide = joists.thickness_nm, joists.depth_nm
    psf = loading.total_psf
    load = psf * joists.spacing_nm * apart_nm / FOOT**2
    metric = is_metric(joists.size)
    step = 10 * MM if metric else INCH
    needed = -(-int(load / soil_psf * FOOT**2) // (wide * step)) * step
    room = room_nm(platform)
    plies = max(room // ply, 1)
    return WoodBlock(plies, ply, max(needed, SHORTEST[metric]), wide, max(room - plies * ply, 0), load, psf, soil_psf)


def wood_block_faults(platform: Platform, unit: Unit) -> tuple[str, ...]:
    """What speaks against wood blocks under a platform that has them; empty where it has none or they will do."""
    if platform.support is not Support.WOOD_BLOCKS:
        return ()
    said = []
    if platform.attached:
        said.append(
            "hung on the house and carried by wood blocks: frost moves one and not the other; stand it free, or on footings"
        )
    tall = room_nm(platform) // platform.joists.thickness_nm
    if platform.height_nm > HIGHEST[unit] or tall > MOST_PLIES:
        said.append(
            f"{format_trade(platform.height_nm, unit)} is too high for wood blocks: {format_trade(HIGHEST[unit], unit)} and "
            f"{MOST_PLIES} plies are the most; set it on pad blocks or footings"
        )
    if platform.joists.use_category == "UC3B":
        said.append("framing on wood blocks is near the ground: it wants UC4A treatment, UC3B is for above the ground")
    return tuple(said)


def fits_on(height_nm: int, board_nm: int, size: str) -> bool:
    """Whether a platform so high has room for its boards, joists of this size and a block of one to three plies."""
    joist = dressed(size)
    return 1 <= (height_nm - board_nm - joist.depth_nm) // joist.thickness_nm <= MOST_PLIES


def words(block: WoodBlock, size: str, unit: Unit) -> str:
    """A wood block in words."""
    plies = "one ply" if block.plies == 1 else f"{block.plies} plies"
    return f"{plies} of {size} laid flat, {format_small(block.length_nm, unit)} long"
