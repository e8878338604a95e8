"""Wood movement: how far a board shrinks or swells with moisture, and the gap to leave for it.

Formulas: Wood Handbook (FPL-GTR-282), Eq. 13-2 and 13-3. Coefficients are computed from the green-to-ovendry
shrinkage of Table 4-3; they reproduce Table 13-5 as remembered. The moisture of air is in ``climate``.
Moisture is in whole tenths of a percent of the dry weight, the way a meter shows it.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum

from tracker.errors import InputError
from tracker.text import listing, near
from tracker.trade.answer import Answer, Plain
from tracker.trade.lengths import INCH, MM, SIXTEENTH, Unit, format_small, inches, round_up
from tracker.trade.lumber import species_letters
from tracker.trade.rules import Rules

FIBRE_SATURATION_TENTHS = 300
"""Above 30 % wood neither shrinks nor swells (Wood Handbook ch. 13, limit of Eq. 13-3)."""
LINEAR_LOW_TENTHS, LINEAR_HIGH_TENTHS = 60, 140
"""Eq. 13-2 holds between 6 and 14 %."""
MOST_MOISTURE_TENTHS = 2000
WIDEST_NM = 1000 * MM
SEASON_TENTHS = 20
"""Sheltered wood outdoors swings about 2 % either way over the year (common practice)."""
SOURCE = (
    "Wood Handbook (FPL-GTR-282) ch. 13, Eq. 13-2 from 6 to 14 %, Eq. 13-3 outside; "
    "shrinkage of Table 4-3, partly from memory; cup from memory: Wood Handbook ch. 4, distortion by the rings"
)
ADVICE = (
    "Meter readings in treated wood run high, and boards differ: read several. "
    "A mixed batch takes one gap per moisture."
)


class Grain(StrEnum):
    """How a board was sawn, read on its end."""

    FLAT = "flat"
    """Rings lie flat across the width: it moves by the tangential figure."""
    EDGE = "edge"
    """Rings stand on edge: it moves by the radial figure."""


@dataclass(frozen=True, slots=True)
class Row:
    """A species of Table 4-3: green-to-ovendry shrinkage in tenths of a percent, radial and tangential.

    ``saturation_pct`` is the fibre saturation point behind its Table 13-5 coefficient: 30, for cedar and redwood 22.
    ``memory`` marks shrinkage given from memory.
    """

    name: str
    radial_tenths: int
    tangential_tenths: int
    saturation_pct: int = 30
    memory: bool = False

    def shrinkage_pct(self, grain: Grain) -> float:
        """Green-to-ovendry shrinkage across the width, in percent."""
        return (self.tangential_tenths if grain is Grain.FLAT else self.radial_tenths) / 10

    def coefficient(self, grain: Grain) -> float:
        """Change per unit of width and percent of moisture, referred to the size at 10 % (Table 13-5)."""
        share, saturation = self.shrinkage_pct(grain) / 100, self.saturation_pct
        return round(share / saturation / (1 - share * (saturation - 10) / saturation), 5)


ROWS = {
    row.name: row
    for row in (
        Row("loblolly pine", 48, 74),
        Row("longleaf pine", 51, 75),
        Row("shortleaf pine", 46, 77),
        Row("slash pine", 54, 76),
        Row("coast Douglas-fir", 48, 76),
        Row("interior north Douglas-fir", 38, 69),
        Row("western larch", 45, 91),
        Row("western hemlock", 42, 78),
        Row("white fir", 33, 70),
        Row("western redcedar", 24, 50, saturation_pct=22),
        Row("old-growth redwood", 26, 44, saturation_pct=22, memory=True),
        Row("young-growth redwood", 22, 49, saturation_pct=22, memory=True),
        Row("red spruce", 38, 78, memory=True),
        Row("Engelmann spruce", 38, 71),
        Row("lodgepole pine", 43, 67),
        Row("jack pine", 37, 66),
        Row("balsam fir", 29, 69),
        Row("ponderosa pine", 39, 62, memory=True),
        Row("red pine", 38, 72, memory=True),
        Row("eastern white pine", 21, 61, memory=True),
    )
}

_GROUPS: dict[str, tuple[str, ...]] = {
    "southern pine": ("loblolly pine", "longleaf pine", "shortleaf pine", "slash pine"),
    "Douglas-fir": ("coast Douglas-fir",),
    "Douglas-fir-larch": ("coast Douglas-fir", "interior north Douglas-fir", "western larch"),
    "hem-fir": ("western hemlock", "white fir"),
    "spruce-pine-fir": ("red spruce", "Engelmann spruce", "lodgepole pine", "jack pine", "balsam fir"),
    "redwood": ("young-growth redwood",),
}
_OTHER_NAMES = {
    "syp": "southern pine", "southern yellow pine": "southern pine", "yellow pine": "southern pine",
    "sp": "southern pine", "doug fir": "Douglas-fir", "df": "Douglas-fir", "dfl": "Douglas-fir-larch",
    "df l": "Douglas-fir-larch", "doug fir larch": "Douglas-fir-larch", "hf": "hem-fir", "spf": "spruce-pine-fir",
    "cedar": "western redcedar", "red cedar": "western redcedar", "redcedar": "western redcedar",
    "western red cedar": "western redcedar", "western cedar": "western redcedar", "wrc": "western redcedar",
    "western cedars": "western redcedar", "loblolly": "loblolly pine", "longleaf": "longleaf pine",
    "shortleaf": "shortleaf pine", "ponderosa": "ponderosa pine",
    "white pine": "eastern white pine", "hemlock": "western hemlock", "larch": "western larch",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Timber:
    """A species or species mix as lumber is sold; a mix takes the mean of its ``rows``."""

    name: str
    rows: tuple[Row, ...]

    def coefficient(self, grain: Grain) -> float:
        """The coefficient of Eq. 13-2."""
        return math.fsum(row.coefficient(grain) for row in self.rows) / len(self.rows)

    def shrinkage_pct(self, grain: Grain) -> float:
        """The shrinkage of Eq. 13-3, in percent."""
        return math.fsum(row.shrinkage_pct(grain) for row in self.rows) / len(self.rows)

    def rows_text(self) -> str:
        """Which rows of the table stand behind it, as a sentence."""
        names = [row.name + (" (from memory)" if row.memory else "") for row in self.rows]
        return f"{self.name}: {'mean of ' if len(names) > 1 else ''}{listing(names, 'and')}"


def _known() -> dict[str, Timber]:
    known = {species_letters(name): Timber(name, (row,)) for name, row in ROWS.items()}
    known |= {species_letters(name): Timber(name, tuple(ROWS[row] for row in rows)) for name, rows in _GROUPS.items()}
    return known | {species_letters(other): known[species_letters(name)] for other, name in _OTHER_NAMES.items()}


_TIMBERS = _known()
SPECIES = tuple(dict.fromkeys([*_GROUPS, *ROWS]))
"""Every species and mix by the name it is listed under."""


def find_timber(species: str) -> Timber:
    """The species or mix a person named; ``treated`` and the like are passed over.

    Raises InputError with the nearest name; a composite board is not wood and has none.
    """
    word = species_letters(species)
    if found := _TIMBERS.get(word):
        return found
    if "composite" in word or "pvc" in word:
        raise InputError(f"{species[:40]!r} does not move with moisture as wood does", "use the maker's gap")
    hint = f"known are {listing(SPECIES, 'and')}"
    raise InputError(
        f"{species[:40]!r} is not a species known here{near(species.lower(), [*SPECIES, *_OTHER_NAMES])}", hint
    )


def check_moisture(tenths: int, what: str = "moisture") -> int:
    """Return ``tenths``; raises InputError when no wood can hold that (below 0 or above 200 %)."""
    if not 0 <= tenths <= MOST_MOISTURE_TENTHS:
        raise InputError(f"{what} of {tenths / 10:g} % cannot be", "give percent of dry weight, 0 to 200, like 14.5")
    return tenths


_GRAIN_ALSO = {
    "tangential": "flat", "plain": "flat", "slash": "flat", "radial": "edge", "vertical": "edge", "vg": "edge",
    "quarter": "edge",
}  # fmt: skip


def find_grain(grain: str) -> Grain:
    """The grain a person named; raises InputError with the two there are."""
    word = re.sub(r"[^a-z]", "", grain.lower()).removesuffix("ed").removesuffix("grain").removesuffix("sawn")
    try:
        return Grain(_GRAIN_ALSO.get(word, word))
    except ValueError:
        raise InputError(f"{grain[:40]!r} is not a grain{near(word, list(Grain))}", "write flat or edge") from None


def _check_width(width_nm: int) -> None:
    if not 0 < width_nm <= WIDEST_NM:
        shown = format_small(width_nm, Unit.INCH)
        raise InputError(f"a board {shown} wide cannot be", "give the measured width, like 5-1/2 in or 140 mm")


@dataclass(frozen=True, slots=True)
class Movement:
    """A change of size, shrinking negative, and the lines that show how it was found."""

    change_nm: int
    working: tuple[str, ...]


def _fine(nm: float, unit: Unit, sign: str = "") -> str:
    """A size as the working shows it: to 0.001 in or 0.01 mm."""
    return f"{nm / MM:{sign}.2f} mm" if unit is Unit.MM else f"{nm / INCH:{sign}.3f} in"


def movement(
    width_nm: int,
    species: str,
    now_tenths: int,
    then_tenths: int,
    grain: str = "flat",
    unit: Unit = Unit.INCH,
) -> Movement:
    """The change of a board's width from one moisture to another, with its working.

    Eq. 13-2 is used while both moistures lie in 6 to 14 %, Eq. 13-3 otherwise, and above 30 % nothing moves. For
    cedar and redwood the two disagree (their coefficients rest on a fibre saturation of 22 %), so a move that
    leaves the range counts at least what Eq. 13-2 gives for the part inside: drying further never narrows a gap.
    Raises InputError for a width, species, moisture or grain that cannot be.
    """
    _check_width(width_nm)
    timber, sawn = find_timber(species), find_grain(grain)
    check_moisture(now_tenths, "moisture now")
    check_moisture(then_tenths, "service moisture")
    start, end = (min(x, FIBRE_SATURATION_TENTHS) for x in (now_tenths, then_tenths))
    low, high = (min(max(x, LINEAR_LOW_TENTHS), LINEAR_HIGH_TENTHS) for x in (start, end))
    coefficient, shrinkage = timber.coefficient(sawn), timber.shrinkage_pct(sawn)
    by_part = width_nm * coefficient * (high - low) / 10
    by_whole = width_nm * (end - start) / 10 / (3000 / shrinkage - 30 + start / 10)
    lines = [timber.rows_text()]
    lines += [
        f"{label} {given / 10:g} % is above fibre saturation: it counts as 30 %"
        for label, given in (("now", now_tenths), ("service", then_tenths))
        if given > FIBRE_SATURATION_TENTHS
    ]
    width = _fine(width_nm, unit)
    linear = f"{width} x {coefficient:.5f} x ({high / 10:g} - {low / 10:g}) = {_fine(by_part, unit, '+')}"
    if (low, high) == (start, end):
        return Movement(round(by_part), (*lines, f"Eq. 13-2, {sawn} grain: {linear}"))
    lines.append(
        f"Eq. 13-3, {sawn} grain: {width} x ({end / 10:g} - {start / 10:g})"
        f" / (30 x 100/{shrinkage:.4g} - 30 + {start / 10:g}) = {_fine(by_whole, unit, '+')}"
    )
    if abs(by_part) > abs(by_whole):
        lines.append(f"Eq. 13-2 over the part from 6 to 14 % gives more, and counts: {linear}")
        return Movement(round(by_part), tuple(lines))
    return Movement(round(by_whole), tuple(lines))


def change_nm(width_nm: int, species: str, now_tenths: int, then_tenths: int, grain: str = "flat") -> int:
    """The change of a board's width in nm, shrinking negative (see ``movement``)."""
    return movement(width_nm, species, now_tenths, then_tenths, grain).change_nm


def wettest_tight_tenths(width_nm: int, species: str, service_tenths: int, most_nm: int, grain: str = "flat") -> int:
    """The highest moisture at which a board laid touching opens to no more than ``most_nm`` in service."""
    for tenths in range(FIBRE_SATURATION_TENTHS, service_tenths, -1):
        if -change_nm(width_nm, species, tenths, service_tenths, grain) <= most_nm:
            return tenths
    return min(service_tenths, FIBRE_SATURATION_TENTHS)


def face_advice(change_nm: int, grain: str = "flat") -> str:
    """Which face of a deck board to lay up, and why, for a width that will change by ``change_nm`` (shrinking negative).

    The bark side of a flat-sawn board lies along the rings and moves more than the other: drying cups it hollow, wetting
    crowns it. Source, from memory: Wood Handbook ch. 4, distortion by the direction of the rings; bark side up lifts
    less grain: a university's notes on treated decks (2008). Raises InputError for an unknown grain.
    """
    if find_grain(grain) is Grain.EDGE:
        return "lay the better face up: boards with the rings on edge hardly cup"
    if change_nm < 0:
        return (
            "lay the better face up. Drying cups a flat-sawn board hollow on its bark side, as that side shrinks more:"
            " bark up lifts less grain but may hold water, so fix both edges at every joist before it dries"
        )
    if change_nm > 0:
        return (
            "lay the better face up; where both are good, bark side up: as it takes up water a flat-sawn board crowns on"
            " its bark side and sheds rain, and that side lifts less grain"
        )
    return "lay the better face up; where both are good, bark side up lifts less grain"


@dataclass(frozen=True, slots=True)
class Gap:
    """A gap decided: the exact gap now and then, the spacer to set it with, and the gap that spacer gives."""

    change_nm: int
    now_nm: int
    then_nm: int
    spacer_nm: int
    spacer_then_nm: int


def gap_for(change: int, wanted_nm: int, unit: Unit) -> Gap:
    """The gap to leave now so that ``wanted_nm`` is there once the board has changed by ``change`` nm.

    Boards cannot be laid closer than touching. The spacer is the next whole 1/16 in (or mm) up.
    """
    now = max(0, wanted_nm + change)
    spacer = round_up(now, SIXTEENTH if unit is Unit.INCH else MM)
    return Gap(change, now, now - change, spacer, spacer - change)


def gap_answer(
    width_nm: int,
    species: str,
    now_tenths: int,
    service_tenths: int,
    unit: Unit,
    grain: str = "flat",
    wanted_nm: int | None = None,
    rules: Rules | None = None,
    season: tuple[int, int] | None = None,
) -> Answer:
    """The gap to leave between deck boards: keys ``change_in``, ``gap_now_in``, ``gap_then_in``, ``spacer_in``.

    ``wanted_nm`` is the gap wanted in service (by default the least the rules allow, for drainage). ``season`` holds the
    moistures of the driest and the wettest month, in tenths (by default 2 % either way of service); from it come
    ``gap_dry_season_in`` and ``gap_wet_season_in``. Raises InputError as ``movement`` does.
    """
    rules = rules or Rules(unit=unit)
    least, most = rules.figure("gap_least_service"), rules.figure("gap_most_service")
    wanted = least if wanted_nm is None else wanted_nm
    if not 0 <= wanted <= INCH:
        raise InputError(
            f"a gap of {format_small(wanted, unit)} between boards cannot be",
            "give the gap wanted in service, like 1/8 in",
        )
    moved = movement(width_nm, species, now_tenths, service_tenths, grain, unit)
    gap = gap_for(moved.change_nm, wanted, unit)
    driest, wettest = season or (
        max(service_tenths - SEASON_TENTHS, 0),
        min(service_tenths + SEASON_TENTHS, MOST_MOISTURE_TENTHS),
    )
    wet, dry = (gap.spacer_nm - change_nm(width_nm, species, now_tenths, tenths, grain) for tenths in (wettest, driest))
    touching = "lay the boards touching"
    how = f"leave {format_small(gap.spacer_nm, unit)} between boards" if gap.spacer_nm else touching
    change, now = _fine(gap.change_nm, unit, "+"), _fine(gap.now_nm, unit)
    working = [
        *moved.working,
        f"gap now = {_fine(wanted, unit)} wanted and the change of {change}, never under 0 = {now}",
        f"gap in service = {now} less the change of {change} = {_fine(gap.then_nm, unit)}",
        f"spacer, the next whole {'1/16 in' if unit is Unit.INCH else 'mm'}: {format_small(gap.spacer_nm, unit)};"
        f" in service {_fine(gap.spacer_then_nm, unit)}",
        f"over the year, {wettest / 10:g} % in the wettest month and {driest / 10:g} % in the driest:"
        f" {_fine(wet, unit)} to {_fine(dry, unit)}",
    ]
    moves = [how]
    if gap.spacer_then_nm > most and gap.spacer_nm:
        moves.append(f"set it finer than the spacer: past {format_small(most, unit)} a gap catches heels")
    elif gap.spacer_then_nm > most:
        top = wettest_tight_tenths(width_nm, species, service_tenths, most, grain)
        over = format_small(most, unit)
        moves.append(f"better let the boards dry to {top / 10:g} % first: laid now they open past {over}")
    elif wet < 0:
        moves.append("leave more: in the wettest weeks the boards would press on each other")
    moves.append(face_advice(gap.change_nm, grain))
    inputs: dict[str, Plain] = {
        "width_in": inches(width_nm),
        "species": find_timber(species).name,
        "now_pct": now_tenths / 10,
        "service_pct": service_tenths / 10,
        "grain": find_grain(grain).value,
        "wanted_in": inches(wanted),
    }
    answer: dict[str, Plain] = {
        "change_in": inches(gap.change_nm),
        "gap_now_in": inches(gap.now_nm),
        "gap_then_in": inches(gap.then_nm),
        "spacer_in": inches(gap.spacer_nm),
        "spacer_then_in": inches(gap.spacer_then_nm),
        "gap_wet_season_in": inches(wet),
        "gap_dry_season_in": inches(dry),
    }
    kind = "shrinks" if gap.change_nm < 0 else "swells"
    moved_text = f"each {kind} {format_small(abs(gap.change_nm), unit, 32)}" if gap.change_nm else "none moves"
    return Answer(
        headline=f"{how}; {moved_text}, so the gap in service is {format_small(gap.spacer_then_nm, unit, 32)}",
        inputs=inputs,
        answer=answer,
        working=tuple(working),
        source=SOURCE,
        moves=tuple(moves),
        limits=(rules.limit("gap_least_service", unit), rules.limit("gap_most_service", unit)),
        caution=ADVICE,
    )
