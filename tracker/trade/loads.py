"""Where the load goes: tributary areas, posts, footings and their concrete, and the ledger's fasteners."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from tracker.errors import InputError
from tracker.text import count, listing, near
from tracker.trade.answer import Answer, Plain
from tracker.trade.cautions import code_decides
from tracker.trade.lengths import FOOT, INCH, Unit, format_small, format_trade, from_inches, inches
from tracker.trade.loading import LIVE_USUAL_PSF
from tracker.trade.span_tables import (
    FOOTING_TABLE,
    LEDGER_ROWS,
    LEDGER_TABLE,
    RIM_TABLE,
    LedgerRow,
)

TRIBUTARY = 0.75
"""Share of a joist span its beam carries: half of it, and an overhang of a quarter (DCA 6 footing table; see
tests).
"""

CONCRETE_PCF = 150.0
"""Weight of concrete (DCA 6 Table 4, notes)."""
POST_FACE_IN = 5.5
"""Face of a 6x6 post (PS 20, from memory): a footing's thickness is its reach past it."""
THICKNESS_LEAST_IN, SQUARE_LEAST_IN, ROUND_LEAST_IN = 6, 12, 14
"""Least footing (from memory: IRC 2018 Table R507.3.1)."""
PAD_MOST_IN = 43
"""Largest round pad computed for the cells of DCA 6 Table 4; over it a design is asked for."""

BAG_YIELDS_FT3: Mapping[int, float] = {40: 0.30, 50: 0.375, 60: 0.45, 80: 0.60}
"""Cubic feet of concrete from a bag of dry mix by its pounds (bag makers' yield, 0.0075 ft3/lb)."""

FT3_IN_M3 = 35.3146667
"""Cubic feet in a cubic meter."""
SOIL_BEARING_PSF: Mapping[str, int] = {
    "bedrock": 12_000,
    "sedimentary rock": 4_000,
    "gravel": 3_000,
    "sand": 2_000,
    "clay": 1_500,
}
"""Presumptive bearing of undisturbed ground (IRC Table R401.4.1, IBC 2012 Table 1806.2).

``gravel`` takes in sandy gravel; ``sand`` silty and clayey sand and gravel; ``clay`` sandy clay and silt.
Peat, organic clay, uncompacted fill and mud have no presumptive value.
"""

FOOTING_COVER_NM = 12 * INCH
"""Least depth of a footing's bottom below undisturbed ground (from memory: IRC R507.3.2)."""


def soil_bearing_psf(soil: str) -> int:
    """Return the presumptive bearing of a soil in psf; raises InputError for soil that has none."""
    key = soil.strip().lower()
    if key in SOIL_BEARING_PSF:
        return SOIL_BEARING_PSF[key]
    raise InputError(
        f"{soil.strip()[:40]!r} has no presumptive bearing{near(key, SOIL_BEARING_PSF)}",
        f"choose {listing(SOIL_BEARING_PSF)}; peat, organic clay, fill and mud need a soils engineer",
    )


def post_area_ft2(beam_span_nm: int, joist_span_nm: int) -> float:
    """Return the deck area an inner post carries: beam span x 0.75 joist span, in square feet. Corners carry
    less.

    Raises InputError for a span that is not positive. Source: DCA 6 (2012 IRC edition) Table 4, by
    calculation.
    """
    if beam_span_nm <= 0 or joist_span_nm <= 0:
        raise InputError("a span is not more than 0", "give the beam span and the joist span")
    return beam_span_nm * TRIBUTARY * joist_span_nm / FOOT**2


def beam_load_plf(joist_span_nm: int, live_psf: float = 40, dead_psf: float = 10) -> float:
    """Return the load on a running foot of beam, in pounds: total load x 0.75 joist span."""
    return (live_psf + dead_psf) * TRIBUTARY * joist_span_nm / FOOT


def footing_depth_nm(frost_depth_nm: int) -> int:
    """Return how deep a footing's bottom goes: 12 in below undisturbed ground, or the frost depth if that is
    more.
    """
    return max(FOOTING_COVER_NM, frost_depth_nm)


def concrete_ft3(area_in2: float, height_in: float) -> float:
    """Return cubic feet of concrete of a plan area in square inches and a height in inches."""
    return area_in2 * height_in / 1728


def bags(volume_ft3: float, bag_lb: int = 80) -> int:
    """Return whole bags for a volume, nothing added for waste; raises InputError for a bag size not sold."""
    if bag_lb not in BAG_YIELDS_FT3:
        raise InputError(f"no {bag_lb} lb bag is known", f"bags are {listing(map(str, BAG_YIELDS_FT3))} lb")
    return math.ceil(volume_ft3 / BAG_YIELDS_FT3[bag_lb] - 1e-9)


@dataclass(frozen=True, slots=True)
class Footing:
    """A pad footing in whole inches, round or square, with the exact sides its size was rounded up from."""

    round_in: int
    square_in: int
    thickness_in: int
    exact_round_in: float
    exact_square_in: float
    net_psf: float


def pad_thickness_in(across_in: int) -> int:
    """Return the thickness of a round pad in inches: its reach past a 6x6 post, rounded up, and 6 in at least.

    Source: DCA 6 (2012 IRC edition) Table 4, by calculation (see ``footing_size``).
    """
    return max(THICKNESS_LEAST_IN, math.ceil((across_in - POST_FACE_IN) / 2))


def footing_size(load_lb: float, soil_psf: float) -> Footing:
    """Return the least pad for a load on a soil.

    The pad's own weight comes off the soil's bearing: area = load / (soil - 150 t/12). The thickness t is how
    far the round pad reaches past a 6x6 post, rounded up, so that the load spreads at 45 degrees through
    plain concrete, and 6 in at least; the two are solved together from the thinnest up. This rule was found
    from the printed sizes of DCA 6 Table 4 and gives all its thicknesses. Least sizes, from memory: IRC 2018
    Table R507.3.1. Raises InputError when the pad's weight eats up the soil's bearing.
    """
    thickness = THICKNESS_LEAST_IN
    while True:
        net = soil_psf - CONCRETE_PCF * thickness / 12
        if net <= soil_psf / 2:
            raise InputError(
                f"{load_lb:.0f} lb on {soil_psf:g} psf soil is too much for a plain pad",
                "give more posts or better soil, or ask a licensed professional",
            )
        area_in2 = load_lb / net * 144
        square, across = math.sqrt(area_in2), math.sqrt(4 * area_in2 / math.pi)
        across_in = max(ROUND_LEAST_IN, math.ceil(across - 1e-9))
        wanted = pad_thickness_in(across_in)
        if wanted <= thickness:
            square_in = max(SQUARE_LEAST_IN, math.ceil(square - 1e-9))
            return Footing(across_in, square_in, thickness, across, square, net)
        thickness = wanted


def _in_range(what: str, value: float, least: float, most: float, unit: str, hint: str = "") -> None:
    if not math.isfinite(value) or not least <= value <= most:
        raise InputError(f"a {what} of {value:g} {unit} is out of reason", f"give {least:g} to {most:g} {unit}{hint}")


def footing_answer(
    area_ft2: float, soil_psf: float, *, live_psf: float = 40, dead_psf: float = 10, unit: Unit = Unit.INCH
) -> Answer:
    """Return the pad footing under ``area_ft2`` of deck: load, sizes rounded up to whole inches, 80 lb bags.

    Keys: ``load_lb``, ``square_in``, ``round_in``, ``thickness_in``, ``bags_80lb``. Raises InputError for a
    figure out of reason.
    """
    _in_range("tributary area", area_ft2, 0.1, 1000, "ft2")
    _in_range("soil bearing", soil_psf, 500, 12_000, "psf", "; softer ground needs a soils engineer")
    if live_psf < LIVE_USUAL_PSF:
        raise InputError(
            f"a live load of {live_psf:g} psf is less than a deck is designed for",
            f"give {LIVE_USUAL_PSF} psf or more",
        )
    _in_range("live load", live_psf, LIVE_USUAL_PSF, 500, "psf")
    _in_range("dead load", dead_psf, 0, 100, "psf")
    load = (live_psf + dead_psf) * area_ft2
    pad = footing_size(load, soil_psf)
    bare_in2 = load / soil_psf * 144
    square_bare, across_bare = math.sqrt(bare_in2), math.sqrt(4 * bare_in2 / math.pi)
    round_ft3 = concrete_ft3(math.pi * pad.round_in**2 / 4, pad.thickness_in)
    square_ft3 = concrete_ft3(pad.square_in**2, pad.thickness_in)
    volume = max(round_ft3, square_ft3)
    need = bags(volume)
    moves = ["the bags are for the pad alone; a pier above it is extra, and take one bag in ten more"]
    if soil_psf < SOIL_BEARING_PSF["clay"]:
        moves.append("that is less than any presumptive bearing: the figure must come from a soils engineer")
    if pad.round_in > PAD_MOST_IN:
        moves.append("this is larger than any pad of the deck tables: ask a licensed professional")
    size = {shape: format_trade(from_inches(side), unit) for shape, side in
            (("round", pad.round_in), ("square", pad.square_in), ("thick", pad.thickness_in))}  # fmt: skip
    return Answer(
        headline=f"{load:,.0f} lb: {size['round']} round or {size['square']} square, {size['thick']} thick, "
        f"{count(need, 'bag')} of 80 lb",
        inputs={"area_ft2": area_ft2, "soil_psf": soil_psf, "live_psf": live_psf, "dead_psf": dead_psf},
        answer={
            "load_lb": round(load, 1),
            "square_in": pad.square_in,
            "round_in": pad.round_in,
            "thickness_in": pad.thickness_in,
            "bags_80lb": need,
            "concrete_ft3": round(volume, 2),
        },
        working=(
            f"load: ({live_psf:g} psf + {dead_psf:g} psf) x {area_ft2:g} ft2 = {load:.0f} lb",
            f"soil left for the deck: {soil_psf:g} psf - {CONCRETE_PCF:g} pcf x {pad.thickness_in} in = {pad.net_psf:.1f} psf",
            f"area {load / pad.net_psf:.3f} ft2: {pad.exact_round_in:.2f} in round,"
            f" {pad.exact_square_in:.2f} in square,"
            f" rounded up; at least {ROUND_LEAST_IN} in round, {SQUARE_LEAST_IN} in square",
            f"counting no pad weight, as IRC 2018 Table R507.3.1 (from memory) does: {across_bare:.2f} in round,"
            f" {square_bare:.2f} in square; the larger governs",
            f"thickness: ({pad.round_in} in - {POST_FACE_IN:g} in) / 2 rounded up, the reach past a 6x6 post,"
            f" at least {THICKNESS_LEAST_IN} in",
            f"concrete {volume:.2f} ft3 (the larger of round and square) / {BAG_YIELDS_FT3[80]:.2f}"
            " ft3 a bag,"
            f" rounded up = {need}",
        ),
        source=f"formula of {FOOTING_TABLE}; rounded up, so never under that table and at most 1 in over it",
        moves=tuple(moves),
        caution=code_decides(FOOTING_TABLE.partition(":")[0])
        + " Undisturbed, unfrozen soil below the frost depth only.",
    )


FASTENERS = ("lag", "bolt", "bolt with washers")
ANCHOR = "adhesive anchor"
LUMBER_RIM, THIN_RIM, MASONRY = "2x lumber", "engineered 1", "masonry"
RIMS = (LUMBER_RIM, THIN_RIM, "engineered 1-1/8", MASONRY)
"""What a ledger may be fastened to: a band joist of 2x lumber, an engineered rim board by its inches, masonry."""
LEDGER_DEAD_PSF = 10.0
"""Dead load of the ledger table (``LEDGER_TABLE``)."""


_FASTENER_ALSO = {
    "lag screw": "lag", "lag bolt": "lag", "through bolt": "bolt", "bolt and washers": "bolt with washers",
    "bolts with washers": "bolt with washers", "through bolts with washers": "bolt with washers",
    "through bolt with washers": "bolt with washers", "anchor": ANCHOR,
}  # fmt: skip


def _fastener(name: str) -> str:
    """The ledger fastener of that name; raises InputError with the three there are."""
    word = " ".join(re.sub(r"[-_]", " ", name.lower()).split())
    for kind in (word, word.removesuffix("s")):
        found = _FASTENER_ALSO.get(kind, kind)
        if found in (*FASTENERS, ANCHOR):
            return found
    known = (*FASTENERS, ANCHOR)
    raise InputError(f"{name[:40]!r} is not a ledger fastener{near(word, known)}", f"choose {listing(known)}")


def _rim(name: str) -> str:
    """The rim of that name; raises InputError with those there are."""
    word = " ".join(name.lower().removesuffix(" in").split())
    if word in RIMS:
        return word
    raise InputError(f"{name[:40]!r} is not a rim of the ledger tables{near(word, RIMS)}", f"choose {listing(RIMS)}")


def ledger_spacings_in(row: LedgerRow, rim: str) -> Mapping[str, int]:
    """The spacing in inches of every fastener the table has for a rim (one of ``RIMS``)."""
    by_rim: Mapping[str, Mapping[str, int]] = {
        LUMBER_RIM: {"lag": row.lag_in, "bolt": row.bolt_in, "bolt with washers": row.bolt_washers_in},
        THIN_RIM: dict.fromkeys(("lag", "bolt"), row.thin_rim_in),
        "engineered 1-1/8": dict.fromkeys(("lag", "bolt"), row.thick_rim_in),
        MASONRY: {ANCHOR: row.anchor_in},
    }
    return by_rim[rim]


def ledger_load_lb(joist_span_nm: int, spacing_in: float, live_psf: float = 40) -> float:
    """Pounds on one fastener: the ledger carries half the joist span over one spacing."""
    return (live_psf + LEDGER_DEAD_PSF) * joist_span_nm / FOOT / 2 * spacing_in / 12


def fastener_capacity_lb(fastener: str, rim: str = LUMBER_RIM) -> float:
    """Return the least load one fastener carries anywhere in the table where its spacing is no cap: 36 in, and the 32 in of
    anchors.
    """
    cells = [(row.joist_span_ft * FOOT, ledger_spacings_in(row, rim)[fastener]) for row in LEDGER_ROWS]
    return min(ledger_load_lb(span, spacing, 40) for span, spacing in cells if spacing < (32 if rim == MASONRY else 36))


def ledger_answer(
    joist_span_nm: int, fastener: str, *, rim: str = LUMBER_RIM, live_psf: float = 40, unit: Unit = Unit.INCH
) -> Answer:
    """Return the on-centre spacing of 1/2 in ledger fasteners for a joist span.

    ``fastener`` is ``lag``, ``bolt`` or ``bolt with washers``; ``rim`` what it goes into, one of ``RIMS``: engineered rim boards have
    no row for washers, and masonry takes ``adhesive anchor`` alone. Keys: ``spacing_in``,
    ``load_per_fastener_lb``. A span between printed rows takes the next longer one; more than 40 psf keeps
    the load of a fastener to the table's least. Raises InputError for a span past 18 ft, an unknown fastener
    or a load out of reason.
    """
    kind, rim = _fastener(fastener), _rim(rim)
    if kind not in (kinds := tuple(ledger_spacings_in(LEDGER_ROWS[0], rim))):
        raise InputError(f"the ledger tables have no {kind} in {rim}", f"choose {listing(kinds)}, or another rim")
    if joist_span_nm <= 0 or joist_span_nm > LEDGER_ROWS[-1].joist_span_ft * FOOT:
        raise InputError(
            f"a joist span of {format_trade(joist_span_nm, unit)} is outside the ledger table",
            "give more than 0 and at most 18 ft; beyond it ask a licensed professional",
        )
    _in_range("live load", live_psf, 40, 200, "psf")
    index = next(n for n, row in enumerate(LEDGER_ROWS) if joist_span_nm <= row.joist_span_ft * FOOT)
    row_ft, spacing = LEDGER_ROWS[index].joist_span_ft, ledger_spacings_in(LEDGER_ROWS[index], rim)[kind]
    working = [f"table row for joists up to {row_ft} ft, {kind} in {rim}: {spacing} in on centre"]
    capacity = fastener_capacity_lb(kind, rim)
    if live_psf > 40:
        by_load = math.floor(capacity * 24 / ((live_psf + LEDGER_DEAD_PSF) * joist_span_nm / FOOT) + 1e-9)
        if by_load < 1:
            raise InputError(f"{live_psf:g} psf is too much for this ledger", "ask a licensed professional")
        working.append(
            f"at {live_psf:g} psf live, {capacity:.0f} lb a fastener allows {by_load} in; the smaller governs"
        )
        spacing = min(spacing, by_load)
    load = ledger_load_lb(joist_span_nm, spacing, live_psf)
    working += [
        f"load: ({live_psf:g} psf + {LEDGER_DEAD_PSF:g} psf) x half of {joist_span_nm / FOOT:g} ft x"
        f" {spacing} in"
        f" = {load:.0f} lb a fastener",
        f"check: the table keeps a {kind} to about one load in every row, {capacity:.0f} lb at the least",
    ]
    answer: dict[str, Plain] = {
        "spacing_in": spacing,
        "load_per_fastener_lb": round(load, 1),
        "row_ft": row_ft,
    }
    name = {
        "lag": "lag screws",
        "bolt": "through-bolts",
        "bolt with washers": "through-bolts with 1/2 in of washers",
        ANCHOR: "adhesive anchors",
    }[kind]
    source = LEDGER_TABLE if rim == LUMBER_RIM else RIM_TABLE
    into = "" if rim == LUMBER_RIM else f" in {rim}"
    return Answer(
        headline=f"1/2 in {name}{into} at {format_small(spacing * INCH, unit)} on centre, {load:.0f} lb each",
        inputs={"joist_span_in": inches(joist_span_nm), "fastener": kind, "rim": rim, "live_psf": live_psf},
        answer=answer,
        working=tuple(working),
        source=source,
        moves=(
            "stagger in two rows: 2 in from the top edge, 3/4 in from the bottom, 2 to 5 in from the ends"
            " (from memory: IRC R507.9.1.3)",
            "lateral ties too: 2 devices of 1,500 lb or 4 of 750 lb, within 24 in of each end",
            "ledger 2x8 at least, flashed, on a sound band joist; never on veneer, nails alone or an overhang",
            *(
                ["look at the edge of the band joist: an engineered rim board takes them closer together"]
                if rim == LUMBER_RIM
                else []
            ),
        ),
        caution=code_decides(source),
    )
