"""How much a wood post carries before it crushes or buckles: the column stability check of the NDS.

A simple solid column, pinned at both ends and held against sway, wet service, grade No.2, ten-year live load. Pounds, inches
and psi. Reference values: from memory, NDS Supplement 2015/2018 Tables 4A, 4B (4 in thick) and 4D (posts and timbers).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from tracker.errors import InputError
from tracker.trade.lengths import inches
from tracker.trade.lumber import dressed, nominal_in, size_name, species
from tracker.trade.species import INCISED_MODULUS, INCISED_STRENGTH, LOAD_DURATION_LIVE, WET_MODULUS

COLUMN_SOURCE = "NDS 2018 section 3.7.1, column stability, grade No.2, wet (formula and values from memory)"
SAWN_C, EULER = 0.8, 0.822
"""c of sawn lumber and the factor of the critical buckling stress; from memory: NDS 2018 section 3.7.1.5."""
SLENDEREST = 50
"""Greatest effective length over the least side; from memory: NDS 2018 section 3.7.1.4."""
EFFECTIVE_LENGTH = 1.0
"""K_e of a post pinned at both ends and held against sway; from memory: NDS 2018 appendix G."""
WET_COMPRESSION, WET_COMPRESSION_THRESHOLD_PSI = 0.8, 750
"""C_M on compression along the grain, 2 to 4 in thick; 1.0 where F_c C_F is 750 psi or less (NDS Supplement Table 4A, second-hand
copy).
"""
WET_TIMBER = 0.91
"""C_M on compression along the grain of posts and timbers, whose E keeps 1.0; from memory: NDS Supplement Table 4D."""

# Compression along the grain, psi, and E for stability, million psi: No.2, 2 to 4 in thick; from memory: NDS Supplement 2015/2018
# Tables 4A and 4B. Southern pine is given by width, 4 and 6 in; redwood is open grain. Ponderosa and red pine are sold as northern species.
_PLANK: Mapping[str, tuple[int, int, float]] = {
    "southern pine": (1450, 1400, 0.51),
    "douglas fir-larch": (1350, 1350, 0.58),
    "hem-fir": (1300, 1300, 0.47),
    "spruce-pine-fir": (1150, 1150, 0.51),
    "redwood": (700, 700, 0.37),
    "western cedar": (650, 650, 0.37),
    "ponderosa pine": (850, 850, 0.40),
    "red pine": (850, 850, 0.40),
    "northern species": (850, 850, 0.40),
}
# The same of posts and timbers, 5 in and thicker, No.2; from memory: NDS Supplement 2015/2018 Table 4D. Southern pine is tabulated wet.
# Western cedar takes the lower value remembered; none is held for ponderosa pine, red pine and northern species.
_TIMBER: Mapping[str, tuple[int, float]] = {
    "southern pine": (525, 0.44),
    "douglas fir-larch": (700, 0.47),
    "hem-fir": (575, 0.40),
    "spruce-pine-fir": (500, 0.37),
    "redwood": (650, 0.33),
    "western cedar": (475, 0.29),
}
# Size factor on compression of No.2, 2 to 4 in thick, by width; southern pine holds it in its values; from memory: Table 4A.
_SIZE_FACTOR: Mapping[int, float] = {4: 1.15, 6: 1.1}
_INCISED = ("douglas fir-larch", "hem-fir", "spruce-pine-fir")


@dataclass(frozen=True, slots=True)
class Column:
    """A post's section with its adjusted values: F_c* (all factors but stability), E_min', area and least side."""

    size: str
    wood: str
    crushing_psi: float
    e_min_psi: float
    area_in2: float
    side_in: float
    words: tuple[str, ...]

    def stability(self, height_in: float) -> float:
        """C_P at a height: the share of the crushing strength left by buckling; 0 past the slenderness limit."""
        slender = EFFECTIVE_LENGTH * height_in / self.side_in
        if slender > SLENDEREST:
            return 0.0
        if not slender:
            return 1.0
        ratio = EULER * self.e_min_psi / slender**2 / self.crushing_psi
        half = (1 + ratio) / (2 * SAWN_C)
        return half - math.sqrt(half**2 - ratio / SAWN_C)

    def carries_lb(self, height_in: float) -> float:
        """Pounds it carries along its axis, standing ``height_in``."""
        return self.crushing_psi * self.stability(height_in) * self.area_in2

    def height_in(self, load_lb: float) -> float:
        """The tallest it may stand under a load, in inches; 0 where the load crushes it.

        The stability formula solved for the height: with C_P the share of the strength used, F_cE / F_c* = C_P (1 - c C_P) / (1 - C_P).
        """
        share = load_lb / (self.crushing_psi * self.area_in2)
        if share >= 1:
            return 0.0
        buckling = share * (1 - SAWN_C * share) / (1 - share) * self.crushing_psi
        slender = math.sqrt(EULER * self.e_min_psi / buckling) if buckling > 0 else math.inf
        return min(slender, SLENDEREST) * self.side_in / EFFECTIVE_LENGTH


def column(size: str, wood: str) -> Column:
    """The post of a nominal size and species as a column; raises InputError where no values are held for it."""
    name, found = size_name(size), species(wood).name
    (thick, wide), piece = nominal_in(name), dressed(name)
    incised = found in _INCISED
    strength, stiff = (INCISED_STRENGTH, INCISED_MODULUS) if incised else (1.0, 1.0)
    if thick >= 5 and found in _TIMBER:
        base, modulus = _TIMBER[found]
        sized, dry_wet = 1.0, 1.0 if found == "southern pine" else WET_TIMBER
        modulus_wet = 1.0
    elif thick == 4 and int(wide) in _SIZE_FACTOR:
        four, six, modulus = _PLANK[found]
        base = four if wide == 4 else six
        sized = 1.0 if found == "southern pine" else _SIZE_FACTOR[int(wide)]
        dry_wet = WET_COMPRESSION if base * sized > WET_COMPRESSION_THRESHOLD_PSI else 1.0
        modulus_wet = WET_MODULUS
    else:
        raise InputError(f"no column values are held for a {found} {name}", "ask a licensed professional")
    crushing = base * sized * dry_wet * strength * LOAD_DURATION_LIVE
    e_min = modulus * 1e6 * modulus_wet * stiff
    area = inches(piece.thickness_nm) * inches(piece.depth_nm)
    return Column(
        name, found, crushing, e_min, area, inches(piece.thickness_nm),
        (
            f"{found} {name} as a column: F_c* = {base} psi x C_D {LOAD_DURATION_LIVE:g} x C_M {dry_wet:g} x C_F {sized:g}"
            f" x C_i {strength:g} = {crushing:.0f} psi",
            f"E_min' = {modulus * 1e6:.0f} psi x C_M {modulus_wet:g} x C_i {stiff:g} = {e_min:.0f} psi; {area:g} in2",
        ),
    )  # fmt: skip
