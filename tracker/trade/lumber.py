"""Softwood lumber as it is sold: nominal and dressed sizes, species, grades, stock lengths, board feet,
weight, treatment.

Sizes are those of dry surfaced lumber. Wet treated stock measures more: measure it, do not assume. Sources
are named beside each table; "from memory" means that the document was not open when the figure was written.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from tracker.errors import InputError
from tracker.text import listing, near
from tracker.trade.lengths import FOOT, INCH, MM


@dataclass(frozen=True, slots=True)
class Dressed:
    """The size a piece really has: ``thickness_nm`` is its smaller face, ``depth_nm`` the larger."""

    thickness_nm: int
    depth_nm: int


@dataclass(frozen=True, slots=True)
class Species:
    """A structural species group: its name, the group of the span table it is in, and its specific gravity.

    ``specific_gravity`` is on ovendry mass and volume, as fastener and weight formulas take it.
    """

    name: str
    table_group: str
    specific_gravity: float


def _sixteenths(text: str) -> int:
    """Nanometres of ``5-1/2``, ``3/4`` or ``1`` inches."""
    whole, _, part = text.rpartition("-")
    total = Fraction(part) + (int(whole) if whole else 0)
    return int(total * INCH)


# PS 20 (American Softwood Lumber Standard), dry dressed sizes; from memory: PS 20-20 Tables 2 to 4.
_THICKNESS_DRY = {
    "1": "3/4",
    "5/4": "1",
    "2": "1-1/2",
    "3": "2-1/2",
    "4": "3-1/2",
    "6": "5-1/2",
    "8": "7-1/2",
}
_WIDTH_DRY = {
    "2": "1-1/2", "3": "2-1/2", "4": "3-1/2", "6": "5-1/2", "8": "7-1/4", "10": "9-1/4", "12": "11-1/4",
    "14": "13-1/4",
}  # fmt: skip
# Timbers, 5 in nominal and thicker, are dressed green to 1/2 in off both ways; from memory: PS 20-20 Table 4.
_WIDTH_TIMBER = {"6": "5-1/2", "8": "7-1/2", "10": "9-1/2", "12": "11-1/2"}
# Surfaced green; from memory: PS 20-20 Table 3.
_THICKNESS_GREEN = {"1": "25/32", "5/4": "1-1/32", "2": "1-9/16", "3": "2-9/16", "4": "3-9/16"}
_WIDTH_GREEN = {
    "2": "1-9/16", "3": "2-9/16", "4": "3-9/16", "6": "5-5/8", "8": "7-1/2", "10": "9-1/2", "12": "11-1/2",
    "14": "13-1/2",
}  # fmt: skip

_SOLD = {
    "1": ("2", "3", "4", "6", "8", "10", "12"),
    "5/4": ("4", "6", "8"),
    "2": ("2", "3", "4", "6", "8", "10", "12", "14"),
    "3": ("4", "6", "8", "10", "12"),
    "4": ("4", "6", "8", "10", "12"),
    "6": ("6", "8", "10", "12"),
    "8": ("8", "10", "12"),
}

SIZES: Mapping[str, Dressed] = {
    f"{thick}x{wide}": Dressed(
        _sixteenths(_THICKNESS_DRY[thick]),
        _sixteenths((_WIDTH_TIMBER if thick in ("6", "8") else _WIDTH_DRY)[wide]),
    )
    for thick, widths in _SOLD.items()
    for wide in widths
}
"""Dressed dry sizes by nominal name."""

GREEN_SIZES: Mapping[str, Dressed] = {
    f"{thick}x{wide}": Dressed(_sixteenths(_THICKNESS_GREEN[thick]), _sixteenths(_WIDTH_GREEN[wide]))
    for thick, widths in _SOLD.items()
    if thick in _THICKNESS_GREEN
    for wide in widths
}
"""Sizes of lumber surfaced green, by nominal name; timbers are always dressed green and stand in ``SIZES``.
"""

SOUTHERN = "southern pine"
FIRS = "douglas fir-larch, hem-fir, spruce-pine-fir"
CEDARS = "redwood, western cedars, ponderosa pine, red pine"

# Specific gravity: NDS table of assigned specific gravities (read in a second-hand copy); ponderosa, red pine
# and northern species from memory: NDS 2018 Table 12.3.3A.
SPECIES_GROUPS: Mapping[str, Species] = {
    entry.name: entry
    for entry in (
        Species("southern pine", SOUTHERN, 0.55),
        Species("douglas fir-larch", FIRS, 0.50),
        Species("hem-fir", FIRS, 0.43),
        Species("spruce-pine-fir", FIRS, 0.42),
        Species("redwood", CEDARS, 0.37),
        Species("western cedar", CEDARS, 0.36),
        Species("ponderosa pine", CEDARS, 0.43),
        Species("red pine", CEDARS, 0.44),
        Species("northern species", CEDARS, 0.35),
    )
}
"""Structural species groups by the name people type."""

# Which species are sold in a group, from memory: NDS Supplement Tables 4A and 4B.
_ALSO = {
    "syp": "southern pine", "southern yellow pine": "southern pine", "sp": "southern pine",
    "yellow pine": "southern pine",
    "loblolly pine": "southern pine", "longleaf pine": "southern pine", "shortleaf pine": "southern pine",
    "slash pine": "southern pine", "loblolly": "southern pine", "longleaf": "southern pine",
    "df-l": "douglas fir-larch", "dfl": "douglas fir-larch", "df": "douglas fir-larch",
    "douglas fir": "douglas fir-larch", "douglas larch": "douglas fir-larch", "doug fir": "douglas fir-larch",
    "hf": "hem-fir", "hemlock fir": "hem-fir", "spf": "spruce-pine-fir",
    "western cedars": "western cedar", "western red cedar": "western cedar",
    "western redcedar": "western cedar",
    "cedar": "western cedar", "red cedar": "western cedar", "redcedar": "western cedar",
    "wrc": "western cedar",
    "ponderosa": "ponderosa pine", "white fir": "hem-fir", "western hemlock": "hem-fir",
    "coast douglas fir": "douglas fir-larch", "interior north douglas fir": "douglas fir-larch",
    "western larch": "douglas fir-larch",
}  # fmt: skip

GRADES = ("select structural", "no.1", "no.2", "no.3", "stud")
"""Visual grades of joists and planks (National Grading Rule)."""

_SELECT = {"ss", "sel str", "sel. str.", "sel structural", "select str"}
_OR_BETTER = re.compile(r"\s*(?:&|\+|\band\b|\bor\b)?\s*(?:better|btr)\.?$")
_NUMBERED = re.compile(r"(?:(?:no|num|number|nr)(?![a-z])|#)?[\s.#-]*(?P<number>[1-3]|one|two|three)(?:\s*prime)?")
_ONE_TWO = re.compile(r"(?:no\.?\s*|#\s*)?1\s*/\s*(?:no\.?\s*|#\s*)?2")
_WORDS = {"one": "1", "two": "2", "three": "3"}

STOCK_LENGTHS_NM = tuple(feet * FOOT for feet in range(8, 21, 2))
"""Stock lengths, 8 to 20 ft by 2 ft (common practice); lumber is sold in 2 ft steps at its actual length."""

_NOMINAL = re.compile(r"(?P<thick>\d{1,2}(?:/4)?)x(?P<wide>\d{1,2})")
_METRIC = re.compile(r"(?P<thick>\d{2,3})x(?P<wide>\d{2,3})(?:mm)?")
_MIN_METRIC_MM, _MAX_METRIC_MM = 15, 600


@lru_cache(maxsize=256)
def size_name(size: str) -> str:
    """Return the size as its plain name: ``2 X 8`` and ``2"×8"`` become ``2x8``, ``45 x 195 mm`` becomes
    ``45x195``.

    Raises InputError, with the nearest known name, for a size that is not sold.
    """
    raw = size.strip()
    plain = re.sub(r"\bby\b", "x", raw.lower().replace("×", "x").replace("*", "x"))
    plain = re.sub(r"\s*x\s*", "x", re.sub(r"[\"”″']|(?<![a-z])in(?:ch(?:es)?)?\b", "", plain)).strip()
    plain = re.sub(r"^(?:1-1/4|1 1/4|1\.25)x", "5/4x", plain)
    if plain in SIZES:
        return plain
    metric = _METRIC.fullmatch(re.sub(r"\s*mm\s*", "", plain))
    if metric and int(metric["thick"]) >= _MIN_METRIC_MM:
        thick, wide = int(metric["thick"]), int(metric["wide"])
        if thick <= wide <= _MAX_METRIC_MM:
            return f"{thick}x{wide}"
        why = "the thickness comes first" if thick > wide else f"it is deeper than {_MAX_METRIC_MM} mm"
        raise InputError(f"{raw[:40]!r} is not a lumber size: {why}", "write metric sizes like 45x195")
    match = _NOMINAL.fullmatch(plain)
    turned = f"{match['wide']}x{match['thick']}" if match else ""
    meant = f" (did you mean {turned}?)" if turned in SIZES else near(plain, SIZES)
    raise InputError(
        f"{raw[:40]!r} is not a lumber size{meant}",
        f"sizes are {listing(SIZES)}, or actual millimetres like 45x195",
    )


def is_metric(size: str) -> bool:
    """Whether ``size`` is given as actual millimetres. Raises InputError for an unknown size."""
    return size_name(size) not in SIZES


def dressed(size: str) -> Dressed:
    """Return the dressed (actual, dry) size of a nominal one; metric sizes are actual and returned as they
    are.

    ``dressed("2x8")`` is 1-1/2 by 7-1/4 in. Raises InputError naming the nearest size and listing those
    known. Source, from memory: PS 20-20 Tables 2 to 4.
    """
    name = size_name(size)
    if name in SIZES:
        return SIZES[name]
    thick, wide = (int(part) for part in name.split("x"))
    return Dressed(thick * MM, wide * MM)


def nominal_within(size: str) -> str:
    """Return the nominal size whose tables serve a piece: itself, or the largest that fits inside a metric one.

    ``145x145`` is served by 6x6, ``45x195`` by 2x8. Raises InputError when no nominal size is that small.
    """
    name = size_name(size)
    if name in SIZES:
        return name
    real = dressed(name)
    inside = [
        other
        for other, piece in SIZES.items()
        if piece.thickness_nm <= real.thickness_nm and piece.depth_nm <= real.depth_nm
    ]
    if not inside:
        raise InputError(f"{name} is smaller than every nominal size", "use a larger piece")
    return max(inside, key=lambda other: (SIZES[other].depth_nm * SIZES[other].thickness_nm, SIZES[other].depth_nm))


def served_words(size: str, served: str) -> str:
    """Said where a piece is served by the tables of another size (``nominal_within``)."""
    return f"{size} is judged as {served}, the largest table size inside it"


def dressed_green(size: str) -> Dressed:
    """Return the size of lumber surfaced green (S-GRN). Timbers and metric sizes are returned as ``dressed``
    has them.

    Raises InputError for an unknown size. Source, from memory: PS 20-20 Tables 3 and 4.
    """
    name = size_name(size)
    return GREEN_SIZES.get(name) or dressed(name)


def nominal_in(size: str) -> tuple[Fraction, Fraction]:
    """Return nominal thickness and width in inches; raises InputError for a metric or unknown size."""
    name = size_name(size)
    if name not in SIZES:
        raise InputError(f"{size.strip()!r} is an actual size and has no nominal one", "use a nominal size like 2x8")
    thick, wide = name.split("x")
    return Fraction(thick), Fraction(wide)


def board_feet(size: str, length_nm: int, pieces: int = 1) -> float:
    """Return board feet: nominal thickness x nominal width (in) x length (ft) / 12; under 1 in counts as 1
    in.

    Raises InputError for a metric or unknown size. Source, from memory: PS 20-20 section 2.
    """
    thick, wide = nominal_in(size)
    return float(max(thick, Fraction(1)) * wide * Fraction(length_nm, FOOT) / 12 * pieces)


_PASSED_OVER = {"treated", "pressure", "pt", "kdat", "kd", "lumber"}


def species_letters(name: str) -> str:
    """Return what a species name is told by: its letters, whatever stands between them and however large they are.

    ``treated`` and the like are passed over, and ``Pine, loblolly``, as tables of species print it, is turned round.
    """
    head, comma, tail = name.lower().partition(",")
    words = re.findall(r"[a-z]+", f"{tail} {head}" if comma else head)
    return "".join(word for word in words if word not in _PASSED_OVER)


_BY_LETTERS: Mapping[str, Species] = {
    **{species_letters(other): SPECIES_GROUPS[known] for other, known in _ALSO.items()},
    **{species_letters(known): found for known, found in SPECIES_GROUPS.items()},
}


def species(name: str) -> Species:
    """Return the structural species group a person names; raises InputError with the nearest name and the
    list.
    """
    raw = name.strip()
    if found := _BY_LETTERS.get(species_letters(raw)):
        return found
    raise InputError(
        f"{raw[:40]!r} is not a structural species group{near(raw.lower(), [*SPECIES_GROUPS, *_ALSO])}",
        f"choose {listing(SPECIES_GROUPS)}",
    )


def grade(name: str) -> str:
    """Return the grade as ``GRADES`` spells it: ``#2``, ``No. 2`` and ``2 & better`` are ``no.2``.

    A lot sold as a grade and better counts as that grade. Raises InputError for anything else.
    """
    raw = name.strip()
    key = _OR_BETTER.sub("", " ".join(raw.lower().replace("_", " ").replace("-", " ").split()))
    key = key.removeprefix("grade ").removesuffix(" grade")
    if key in GRADES:
        return key
    if key in _SELECT:
        return "select structural"
    if _ONE_TWO.fullmatch(key):
        return "no.2"
    if match := _NUMBERED.fullmatch(key):
        return f"no.{_WORDS.get(match['number'], match['number'])}"
    raise InputError(
        f"{raw[:40]!r} is not a grade{near(key, GRADES)}",
        f"read it on the grade stamp: {listing(GRADES)}",
    )


def density_pcf(specific_gravity: float, moisture_tenths: int) -> float:
    """Return the weight of a cubic foot of wood, in pounds, at a moisture content given in tenths of a
    percent.

    62.4 x G / (1 + 0.009 x G x M) x (1 + M/100), with M in percent and G on ovendry volume. Above 30 % the
    cells are full and the wood swells no more, so the M of the volume term stops there while water keeps
    adding weight. Source, from memory: NDS Supplement section 3.1.3; the stop at 30 % is fibre saturation
    (Wood Handbook chapter 4).
    """
    moisture = moisture_tenths / 10
    swelling = 1 + 0.009 * specific_gravity * min(moisture, 30.0)
    return 62.4 * specific_gravity / swelling * (1 + moisture / 100)


def weight_lb_per_ft(size: str, species_name: str, moisture_tenths: int) -> float:
    """Return the weight of one running foot of lumber in pounds, from the dressed size and ``density_pcf``.

    Raises InputError for an unknown size or species.
    """
    piece = dressed(size)
    area_ft2 = piece.thickness_nm * piece.depth_nm / FOOT**2
    return area_ft2 * density_pcf(species(species_name).specific_gravity, moisture_tenths)


USE_CATEGORIES: Mapping[str, str] = {
    "UC1": "indoors, dry",
    "UC2": "indoors, damp",
    "UC3A": "above ground, coated and quick to dry",
    "UC3B": "above ground, exposed",
    "UC4A": "ground contact, general use",
    "UC4B": "ground contact, heavy duty",
    "UC4C": "ground contact, extreme duty",
}
"""Use categories of treated wood, mildest first (UC3B and UC4A as the trade press quotes AWPA U1; the rest
from memory).
"""

GROUND_CLEARANCE_NM = 6 * INCH
"""Wood nearer to the ground than this wants ground-contact treatment (AWPA U1, 2016 book, as the treating
trade quotes it).
"""


def use_category(name: str) -> str:
    """Return a use category as the end tag spells it (``uc4a`` is ``UC4A``); raises InputError."""
    key = re.sub(r"[\s-]", "", name.strip().upper())
    if key and not key.startswith("UC"):
        key = f"UC{key}"
    if key not in USE_CATEGORIES:
        what = (
            f"{name.strip()[:40]!r} is not a use category{near(key, USE_CATEGORIES)}"
            if key
            else "no use category given"
        )
        raise InputError(what, f"read it on the end tag: {listing(USE_CATEGORIES)}")
    return key


USE_SOURCE = "AWPA U1 (2016 book) as the treating trade quotes it"


def use_category_ok(category: str, ground_contact: bool) -> bool:
    """Whether treated stock of ``category`` may be used in this exposure.

    Outdoors above ground asks for UC3B or higher, in ground contact UC4A or higher. Raises InputError for an
    unknown category. Source: AWPA U1 as the trade press quotes it; the adopted code and the end tag decide.
    """
    ranked = list(USE_CATEGORIES)
    least = "UC4A" if ground_contact else "UC3B"
    return ranked.index(use_category(category)) >= ranked.index(least)


REACH_NM = 18 * INCH
"""With less room than this below it nobody gets at a frame again once boards are on (common practice)."""


def framing_wants_ground_contact(clearance_nm: int) -> bool:
    """Whether joists and beams with so much below them are to be treated as for ground contact: near the ground, or hard to
    replace once boards are on (less than ``REACH_NM``).

    Source: AWPA U1, 2016 book, as the treating trade quotes it: critical members hard to maintain or replace; where reach
    ends is common practice.
    """
    return clearance_nm < max(REACH_NM, GROUND_CLEARANCE_NM)


def counts_as_ground_contact(clearance_nm: int, *, drains_and_airs: bool = True) -> bool:
    """Whether wood this far above the ground is to be treated as for ground contact.

    True under 6 in of clearance, or where air or water cannot get away below it. Source: AWPA U1, 2016 book,
    as the treating trade quotes it.
    """
    return clearance_nm < GROUND_CLEARANCE_NM or not drains_and_airs
