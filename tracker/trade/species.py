"""Reference design values of visually graded No.2 dimension lumber, and the factors that adjust them.

Stresses are psi. Values of southern pine, Douglas fir-larch, hem-fir and spruce-pine-fir were read in a
second-hand copy of the NDS Supplement (Tables 4A and 4B); those of northern species, western cedars and redwood,
and the southern pine bending values by size, are from memory: NDS Supplement 2015/2018 Tables 4A and 4B.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from tracker.errors import InputError
from tracker.trade.lumber import CEDARS, FIRS, SOUTHERN, grade, nominal_in, size_name, species

EDITION = "NDS 2018 and its Supplement (reference values of grade No.2)"


@dataclass(frozen=True, slots=True)
class DesignValues:
    """Reference values in psi: bending, shear, compression across the grain, modulus, modulus for stability.

    ``fb_psi`` is before the size factor, except for southern pine, whose table gives it by depth. ``incised``
    says whether treated stock of the species is incised, as the deck span tables assume.
    """

    name: str
    fb_psi: int
    fv_psi: int
    fc_perp_psi: int
    e_psi: int
    e_min_psi: int
    incised: bool = False


_VALUES: Mapping[str, DesignValues] = {
    entry.name: entry
    for entry in (
        DesignValues("southern pine", 1000, 175, 565, 1_400_000, 510_000),
        DesignValues("douglas fir-larch", 900, 180, 625, 1_600_000, 580_000, incised=True),
        DesignValues("hem-fir", 850, 150, 405, 1_300_000, 470_000, incised=True),
        DesignValues("spruce-pine-fir", 875, 135, 425, 1_400_000, 510_000, incised=True),
        DesignValues("northern species", 625, 110, 350, 1_100_000, 400_000),
        DesignValues("western cedar", 700, 155, 425, 1_000_000, 370_000),
        DesignValues("redwood", 725, 160, 425, 1_000_000, 370_000),
    )
}
# Southern pine bends by nominal depth, size factor inside; from memory: NDS Supplement 2015/2018 Table 4B.
_SOUTHERN_FB: Mapping[int, int] = {4: 1100, 6: 1000, 8: 925, 10: 800, 12: 750}
# Size factor on bending, 2 and 3 in thick, No.2: NDS Supplement Table 4A, read in a second-hand copy.
_SIZE_FACTOR: Mapping[int, float] = {4: 1.5, 6: 1.3, 8: 1.2, 10: 1.1, 12: 1.0}
# The same, 4 in thick, same table.
_SIZE_FACTOR_4: Mapping[int, float] = {4: 1.5, 6: 1.3, 8: 1.3, 10: 1.2, 12: 1.1}

MEMBERS: Mapping[str, tuple[str, ...]] = {
    SOUTHERN: ("southern pine",),
    FIRS: ("douglas fir-larch", "hem-fir", "spruce-pine-fir"),
    CEDARS: ("northern species", "western cedar", "redwood"),
}
"""Species whose lowest value stands for the table's group. Ponderosa and red pine count as northern species.
"""

LOAD_DURATION_LIVE = 1.0
LOAD_DURATION_SNOW = 1.15
"""C_D for ten-year live load and for snow; from memory: NDS Table 2.3.2."""
WET_BENDING, WET_BENDING_THRESHOLD_PSI = 0.85, 1150
WET_SHEAR, WET_BEARING, WET_MODULUS = 0.97, 0.67, 0.9
"""C_M above 19 % moisture; bending keeps 1.0 where F_b C_F is 1150 psi or less. NDS Supplement Table 4A,
second-hand copy.
"""
INCISED_STRENGTH, INCISED_MODULUS = 0.80, 0.95
"""C_i; bearing across the grain keeps 1.00. From memory: NDS Table 4.3.8."""
REPETITIVE, REPETITIVE_SPACING_MOST_IN = 1.15, 24.0
"""C_r for three or more joined members at most 24 in apart; from memory: NDS section 4.3.9."""


@dataclass(frozen=True, slots=True)
class Adjusted:
    """Adjusted values in psi for wet service, with the factors used, ready to print."""

    name: str
    fb_psi: float
    fv_psi: float
    fc_perp_psi: float
    e_psi: float
    bending_words: str
    modulus_words: str


def structural_size(size: str) -> tuple[str, int]:
    """Return the plain size name and its nominal depth in inches for a joist or a beam ply.

    Raises InputError for sizes without No.2 joist-and-plank values here: 2x4 to 2x12, and the same depths 3 and 4
    in thick, have them.
    """
    name = size_name(size)
    right = "use 2x4, 2x6, 2x8, 2x10 or 2x12, or the same depths 3 or 4 in thick"
    thick, wide = nominal_in(name)
    if thick not in (2, 3, 4) or int(wide) not in _SIZE_FACTOR:
        raise InputError(f"{name} has no joist and plank design values here", right)
    return name, int(wide)


def structural_grade(name: str) -> str:
    """Return the grade as spelled in ``GRADES`` if No.2 values are safe for it; raises InputError for a lower
    one.
    """
    found = grade(name)
    if found in ("no.3", "stud"):
        raise InputError(
            f"{found} is weaker than No.2, and only No.2 values are held here",
            "use No.2 or better, or ask a licensed professional",
        )
    return found


def group_members(species_name: str) -> tuple[str, tuple[DesignValues, ...]]:
    """Return the table group of a species and the design values of its members; raises InputError."""
    group = species(species_name).table_group
    return group, tuple(_VALUES[member] for member in MEMBERS[group])


def adjusted(
    values: DesignValues, depth_nominal_in: int, *, repetitive: bool, duration: float, thick_nominal_in: int = 2
) -> Adjusted:
    """Return the adjusted values of one species for a wet-service member of that nominal depth and thickness.

    F_b' = F_b C_F C_M C_i C_r C_D, F_v' = F_v C_M C_i C_D, E' = E C_M C_i, F_c' across the grain = F_c C_M.
    Source: NDS 2018 Table 4.3.1, factors as listed in this module.
    """
    southern = values.name == "southern pine"
    base = _SOUTHERN_FB[depth_nominal_in] if southern else values.fb_psi
    factors = _SIZE_FACTOR_4 if thick_nominal_in == 4 else _SIZE_FACTOR
    size_factor = 1.0 if southern else factors[depth_nominal_in]
    sized = float(Fraction(str(size_factor)) * base)
    wet = WET_BENDING if sized > WET_BENDING_THRESHOLD_PSI else 1.0
    strength, modulus = (INCISED_STRENGTH, INCISED_MODULUS) if values.incised else (1.0, 1.0)
    repeat = REPETITIVE if repetitive else 1.0
    fb = sized * wet * strength * repeat * duration
    e = values.e_psi * WET_MODULUS * modulus
    return Adjusted(
        name=values.name,
        fb_psi=fb,
        fv_psi=values.fv_psi * WET_SHEAR * strength * duration,
        fc_perp_psi=values.fc_perp_psi * WET_BEARING,
        e_psi=e,
        bending_words=(
            f"F_b' = {base} psi x C_F {size_factor:g} x C_M {wet:g} x C_i {strength:g} x C_r {repeat:g}"
            f" x C_D {duration:g} = {fb:.0f} psi"
        ),
        modulus_words=f"E' = {values.e_psi} psi x C_M {WET_MODULUS:g} x C_i {modulus:g} = {e:.0f} psi",
    )
