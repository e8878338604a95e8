"""Nails, screws and clips: how many, how long, of what coating, and how many boxes.

The count at a joint is a rule of the trade (one for every 2 in of nominal width, common practice) held up to
the nailing schedule of the model code, IRC Table R602.3(1) (from memory); the larger of the two counts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from tracker.errors import InputError
from tracker.text import count, listing, near
from tracker.trade.answer import Answer, Plain
from tracker.trade.lengths import INCH, MM, Unit, format_length, format_small
from tracker.trade.lumber import dressed, is_metric, nominal_in, size_name

COUNT_SOURCE = (
    "the count goes by the board's nominal width (common practice); not fewer than IRC Table R602.3(1) (from memory)"
)
CAUTION = (
    "Hangers, ledgers, guard posts and plans name their own fasteners: those come first. "
    "The local code decides. Nail gun: hands clear of the far side of the joint, eye protection on."
)
_STEEL_LB_PER_CUBIC_IN = 490 / 1728
"""Steel at 490 lb/ft3 (7850 kg/m3), the usual figure."""

MOST_JOINTS = 1_000_000
NAIL_BOX_LB = 5
"""Pounds in a box of nails (common practice); the label says how many it holds."""


class Coating(StrEnum):
    """What a fastener is made of or coated with."""

    BRIGHT = "bright"
    ELECTRO = "electro-galvanised"
    HOT_DIP = "hot-dip galvanised"
    RATED = "coated, rated for treated wood"
    """A proprietary coating whose maker lists it for the treatment used."""
    STAINLESS = "stainless"
    BRONZE = "silicon bronze"
    COPPER = "copper"


@dataclass(frozen=True, slots=True)
class Nail:
    """A nail: ``name``, length and shank diameter, and how well the figures are known."""

    name: str
    length_nm: int
    diameter_nm: int
    source: str

    @property
    def per_pound(self) -> int:
        """Pieces in a pound, from the shank's volume in steel; heads and zinc make it some percent fewer."""
        volume = math.pi / 4 * (self.diameter_nm / INCH) ** 2 * self.length_nm / INCH
        return math.floor(1 / (volume * _STEEL_LB_PER_CUBIC_IN))


def _nail(name: str, length: float, diameter: float, source: str) -> Nail:
    return Nail(name, round(length * INCH), round(diameter * INCH), source)


_IBC, _MEMORY = "IBC Table 2304.10.1, nail sizes in brackets", "from memory: ASTM F1667"
NAILS: tuple[Nail, ...] = (
    _nail("8d common", 2.5, 0.131, _IBC),
    _nail("10d common", 3, 0.148, _IBC),
    _nail("16d common", 3.5, 0.162, _IBC),
    _nail("10d box", 3, 0.128, _IBC),
    _nail("16d box", 3.5, 0.135, _IBC),
    _nail("6d common", 2, 0.113, _MEMORY),
    _nail("12d common", 3.25, 0.148, _MEMORY),
    _nail("20d common", 4, 0.192, _MEMORY),
    _nail("8d box", 2.5, 0.113, _MEMORY),
    _nail("10d sinker", 2.875, 0.120, _MEMORY),
    _nail("12d sinker", 3.125, 0.135, _MEMORY),
    _nail("16d sinker", 3.25, 0.148, _MEMORY),
    _nail("hanger nail", 1.5, 0.148, "common practice; use the length the hanger's listing names"),
)

SCREW_LENGTHS_NM = tuple(round(x * INCH) for x in (1.625, 2, 2.5, 3, 3.5, 4))
SCREW_INTO_JOIST_NM = 3 * INCH // 2
"""Least length of a deck screw in the joist (common practice)."""


@dataclass(frozen=True, slots=True)
class Box:
    """How a fastener is bought: ``pieces`` in a box of ``pounds``.

    House figures (common practice): read the label.
    """

    item: str
    pieces: int
    pounds: int


BOXES: tuple[Box, ...] = (
    Box("deck screw #10 x 2-1/2 in", 350, 5),
    Box("deck screw #10 x 3 in", 310, 5),
    Box("16d common nail, hot-dip galvanised", 220, 5),
    Box("10d common nail, hot-dip galvanised", 310, 5),
    Box("hidden clip with its screw", 90, 5),
)


def find_nail(name: str) -> Nail:
    """The nail of that name; raises InputError with the nearest names."""
    word = " ".join(name.lower().split())
    for nail in NAILS:
        if nail.name == word:
            return nail
    names = [nail.name for nail in NAILS]
    sorts = [known for known in names if known.startswith(f"{word} ")]
    meant = f": {listing(sorts)}?" if len(sorts) > 1 else near(word, names)
    raise InputError(f"{name[:40]!r} is not a nail known here{meant}", f"known are {listing(names, 'and')}")


def _width(size: str) -> tuple[Fraction, bool]:
    """The width a count goes by, in inches (nominal, or actual of a metric size), and whether it is joist stock."""
    if is_metric(size):
        actual = dressed(size).depth_nm
        return Fraction(actual, INCH), actual >= dressed("2x6").depth_nm
    width = nominal_in(size)[1]
    return width, width >= 6


def nails_by_rule(size: str) -> int:
    """One fastener for every 2 in of nominal width, a part counting as one (common practice)."""
    return math.ceil(_width(size)[0] / 2)


def nails_by_code(size: str, nail: str = "16d common") -> int:
    """The least count of the nailing schedule for this member at a joint, end-nailed.

    A joist (2x6 and up) to its band or rim: 3 of 16d common, or 4 thinner (10d box, 3 x 0.131 in). Narrower pieces
    are blocking: 2 of 16d common, 3 thinner (blocking end nail). IRC Table R602.3(1), from memory.
    """
    least = 3 if _width(size)[1] else 2
    return least + (find_nail(nail).diameter_nm < find_nail("16d common").diameter_nm)


def nails_per_joint(size: str, nail: str = "16d common") -> int:
    """Nails where a member of nominal ``size`` meets another: the trade's rule, never below the code's count.

    Raises InputError for an unknown size or nail.
    """
    return max(nails_by_rule(size), nails_by_code(size, nail))


def fasteners_answer(size: str, joints: int | None, unit: Unit, nail: str = "16d common") -> Answer:
    """Fasteners for ``joints`` joints of ``size``: keys ``per_joint``, ``total``, ``weight_lb`` and ``boxes_5lb``.

    The last three are None without a count; weight is that of the shanks, so a little under what the scale says.

    Raises InputError for an unknown size or nail, or joints outside 0 to 1,000,000.
    """
    if joints is not None and not 0 <= joints <= MOST_JOINTS:
        raise InputError(f"{joints} joints cannot be", f"give a whole number from 0 to {MOST_JOINTS:,}")
    rule, code, each = nails_by_rule(size), nails_by_code(size, nail), nails_per_joint(size, nail)
    found, (width, is_joist) = find_nail(nail), _width(size)
    total = None if joints is None else each * joints
    working = [
        f"rule: {float(width):.3g} in of width / 2 in = {float(width / 2):.3g}, up to {rule}",
        f"code: {code} at the end of a {'joist' if is_joist else 'block'} with {found.name} nails",
        f"the larger: {each} in each joint",
    ]
    if not is_joist:
        working.append("a rim nailed to the ends of joists this small takes 3 by the code's line for rims")
    if total is not None and joints is not None:
        working.append(f"{joints} joints x {each} = {total}; about {total / found.per_pound:.1f} lb of {found.name}")
    weight = None if total is None else round(total / found.per_pound, 2)
    box = NAIL_BOX_LB * found.per_pound
    needed = None if total is None else boxes(total, box)
    if needed is not None:
        working.append(
            f"a {NAIL_BOX_LB} lb box holds about {box}: {count(needed, 'box', 'boxes')}, nothing added for waste; read the label"
        )
    size_text = f"{format_length(found.length_nm, unit)} x {found.diameter_nm / INCH:.3f} in"
    working.append(f"{found.name}: {size_text} ({found.source})")
    inputs: dict[str, Plain] = {"size": size_name(size), "joints": joints, "nail": found.name}
    answer: dict[str, Plain] = {"per_joint": each, "total": total, "by_rule": rule, "by_code": code,
                               "weight_lb": weight, "boxes_5lb": needed}  # fmt: skip
    headline = f"{size_name(size)}: {count(each, 'fastener')} in each joint"
    return Answer(
        headline=headline if total is None else f"{headline}, {total} in {count(joints or 0, 'joint')}",
        inputs=inputs,
        answer=answer,
        working=tuple(working),
        source=COUNT_SOURCE,
        caution=CAUTION,
    )


def screw_count(boards: int, joist_lines: int, per_crossing: int = 2) -> int:
    """Deck screws for ``boards`` over ``joist_lines``, ``per_crossing`` at each (2: common practice)."""
    return boards * joist_lines * per_crossing


def clip_count(boards: int, joist_lines: int) -> tuple[int, int]:
    """Hidden clips and face screws: a clip in every gap at every joist, the two outer edges screwed.

    Common practice; the board maker's own instructions come first.
    """
    return max(boards - 1, 0) * joist_lines, (2 * joist_lines if boards else 0)


def boards_answer(boards: int, joist_lines: int) -> Answer:
    """Return the deck screws of ``boards`` rows over ``joist_lines``, or the hidden clips in their place.

    Keys: ``crossings``, ``screws``, ``clips``, ``clip_screws`` (face screws at the two outer edges). Raises InputError
    for counts outside 1 to 100,000.
    """
    if not (1 <= boards <= 100_000 and 1 <= joist_lines <= 100_000):
        raise InputError(f"{boards} boards over {joist_lines} joists cannot be", "give whole numbers from 1 to 100,000")
    screws, (clips, edges) = screw_count(boards, joist_lines), clip_count(boards, joist_lines)
    return Answer(
        headline=f"{screws:,} screws, or {clips:,} hidden clips and {edges:,} screws at the outer edges",
        inputs={"boards": boards, "joist_lines": joist_lines},
        answer={"crossings": boards * joist_lines, "screws": screws, "clips": clips, "clip_screws": edges},
        working=(
            f"{count(boards, 'board')} x {count(joist_lines, 'joist line')} x 2 screws = {screws:,}",
            f"clips: {count(boards - 1, 'gap')} x {count(joist_lines, 'joist line')} = {clips:,}; outer edges 2 x"
            f" {joist_lines} = {edges:,}",
        ),
        source="two screws where a board crosses a joist: from memory, IRC 2018 R507 decking table; clips: common practice",
        moves=("butt joints cross a joist twice: count them twice", "the board maker's clip and spacing come first"),
        caution=CAUTION,
    )


def screw_length_nm(board_thickness_nm: int) -> int:
    """The shortest stock deck screw that leaves 1-1/2 in in the joist: 2-1/2 in for 5/4, 3 in for 2x.

    Common practice. Raises InputError when no stock screw is long enough.
    """
    wanted = board_thickness_nm + SCREW_INTO_JOIST_NM
    for length in SCREW_LENGTHS_NM:
        if length >= wanted:
            return length
    thickest = format_small(SCREW_LENGTHS_NM[-1] - SCREW_INTO_JOIST_NM, Unit.INCH)
    raise InputError(
        f"no stock deck screw is {format_small(wanted, Unit.INCH)} long",
        f"boards up to {thickest} can be screwed",
    )


SCREWS_PER_BOX = {5 * INCH // 2: 350, 3 * INCH: 310}
"""Deck screws in a box by their length: house figures (common practice)."""


def screw_name(length_nm: int, unit: Unit) -> str:
    """A stock deck screw's length as take-off and shop name it: ``2-1/2``, ``65mm``."""
    assert length_nm in SCREW_LENGTHS_NM
    if unit is Unit.INCH:
        return format_small(length_nm).removesuffix(" in")
    return f"{round(length_nm / MM / 5) * 5}mm"


def boxes(pieces: int, per_box: int, spare_tenths: int = 0) -> int:
    """Whole boxes that hold ``pieces`` and ``spare_tenths`` tenths of a percent more.

    Raises InputError when a box holds nothing or a count is negative.
    """
    if per_box < 1 or pieces < 0 or spare_tenths < 0:
        raise InputError("a box must hold at least one piece", "give counts of 0 or more and a box of 1 or more")
    return -(-pieces * (1000 + spare_tenths) // (per_box * 1000))


def coatings(treated: bool, coast: bool) -> tuple[Coating, ...]:
    """The coatings that last in this wood and place, the usual choice first.

    Treated wood: hot-dip galvanised, stainless, silicon bronze or copper (IRC R317.3.1, from memory) or a
    coating its maker rates for it. In reach of salt spray: stainless (common practice). Never bright.
    """
    if coast:
        return (Coating.STAINLESS,)
    lasting = (Coating.HOT_DIP, Coating.STAINLESS, Coating.RATED, Coating.BRONZE, Coating.COPPER)
    return lasting if treated else (*lasting, Coating.ELECTRO)


def coating_fits(coating: Coating, *, treated: bool, coast: bool = False) -> bool:
    """Whether fasteners of ``coating`` may be used here (see ``coatings``)."""
    return coating in coatings(treated, coast)
