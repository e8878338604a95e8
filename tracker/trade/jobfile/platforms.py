"""Platforms of a job file: what ``[[platform]]`` and the tables under it may say, with their ranges."""

from __future__ import annotations

import re
from dataclasses import replace

from tracker.errors import InputError
from tracker.text import listing, near
from tracker.trade.jobfile.table import Table
from tracker.trade.lengths import FOOT, INCH, MM, Unit, format_length
from tracker.trade.lumber import SPECIES_GROUPS, dressed, grade, size_name, species
from tracker.trade.movement import find_timber
from tracker.trade.outline import Clip, Corner, Cut, CutOut, Facing, cut_faults
from tracker.trade.places import SIDES, flight_faults, guard_stretches, length_of, open_sides
from tracker.trade.spec import (
    Attachment,
    Beam,
    BoardKind,
    Decking,
    GapIntent,
    Guard,
    Joists,
    Platform,
    Stairs,
    Stringers,
    Support,
)

USE = ("UC3B", "UC4A", "UC4B")
SMALLEST_SIDE = 2 * FOOT
LARGEST_SIDE = 60 * FOOT
HIGHEST = 14 * FOOT
LONGEST_FLIGHT = 11 * FOOT + 6 * INCH
"""The highest flight whose stringers still come out of the longest stock."""
SLUG = re.compile(r"[a-z][a-z0-9-]{0,29}")
_SIDES = tuple(side.value for side in SIDES)
JOIST_EXAMPLES = {Unit.INCH: "2x8", Unit.MM: "45x195"}
BOARD_EXAMPLES = {Unit.INCH: "5/4x6", Unit.MM: "28x145"}


def read_platforms(tables: list[Table]) -> tuple[Platform, ...]:
    """Return the platforms that could be read whole; faults of the others are noted."""
    found: list[Platform] = []
    names: list[str] = []
    supports: list[str | None] = []
    for table in tables:
        before = len(table.problems.found)
        name = table.text("name", "deck")
        if name is not None and not SLUG.fullmatch(name):
            table.fault("name", f"{name[:40]!r} is not a platform name", "use a-z, 0-9 and -, like upper or back-deck")
        elif name is not None and name in names:
            table.fault("name", f"{name} is the name of an earlier platform", "give each platform its own name")
        names.append(name or "")
        platform, support = _platform(table, name or "")
        supports.append(support)
        if platform is not None and len(table.problems.found) == before:
            found.append(platform)
    if tables and all(support == Support.PLATFORM for support in supports):
        tables[0].fault(
            "support", "no platform stands on the ground", "give the lowest one wood blocks, blocks or footings"
        )
    return tuple(found)


def _platform(table: Table, name: str) -> tuple[Platform | None, str | None]:
    before = len(table.problems.found)
    joists = _joists(table)
    decking = _decking(table)
    support = table.choice("support", [x.value for x in Support])
    attachment = table.choice("attachment", [x.value for x in Attachment], Attachment.FREE.value)
    height = table.length("height", 0, HIGHEST, "11 in")
    size = _size(table, joists)
    beams = _beams(table, size, support, attachment == Attachment.HOUSE.value)
    stairs = tuple(x for t in table.tables("stairs", "[[platform.stairs]]", 6) if (x := _stairs(t, height)))
    guard = _guard(table)
    cuts = _cuts(table, size)
    beside = table.flag("beside_house")
    table.close()
    if joists is None or decking is None or support is None or attachment is None or height is None or size is None:
        return None, support
    width, depth, uncut, rims, whole = size
    platform = Platform(
        name=name,
        width_nm=width,
        depth_nm=depth,
        height_nm=height,
        uncut=uncut,
        rim_stock_nm=rims,
        joist_stock_nm=whole,
        attachment=Attachment(attachment),
        support=Support(support),
        joists=joists,
        decking=decking,
        beams=beams,
        stairs=stairs,
        guard=guard,
        cuts=cuts,
        beside_house=bool(beside),
    )
    _fits(table, platform)
    return (_with_its_length(platform) if len(table.problems.found) == before else platform), support


def _with_its_length(platform: Platform) -> Platform:
    """The platform, a guard of no stated length as long as its edges less the stairs."""
    guard = platform.guard
    if guard is None or guard.length_nm:
        return platform
    whole = replace(platform, guard=replace(guard, edges=guard.edges or open_sides(platform)))
    return replace(platform, guard=replace(guard, length_nm=sum(map(length_of, guard_stretches(whole)))))


def _fits(table: Table, platform: Platform) -> None:
    """What must agree between the fields of one platform."""
    thick, unit = platform.joists.thickness_nm, table.unit
    if platform.depth_nm - 2 * thick < FOOT:
        table.fault(
            "size", f"a depth of {format_length(platform.depth_nm, unit)} leaves no joist", "make it 16 in or more"
        )
    needed = platform.decking.thickness_nm + platform.joists.depth_nm
    what = "deck board and joist"
    if platform.beams:
        needed += max(dressed(beam.size).depth_nm for beam in platform.beams)
        what = "deck board, joist and beam"
    if platform.support is Support.WOOD_BLOCKS:
        needed += thick
        what = "deck board, joist and wood block"
    for cut in platform.cuts:
        if platform.beams and isinstance(cut, CutOut) and _held(platform, cut) < 2:
            near, far = _beside(platform, cut)
            table.fault(
                "beam",
                f"the joists beside the {cut.corner} cut-out need two supports",
                f"they run from {format_length(near, unit)} to {format_length(far, unit)} from the back edge: "
                "set a beam under them there",
            )
    for number, key, what, hint in flight_faults(platform, unit):
        table.problems.add((*table.path, "stairs", number, key), what, hint)
    if platform.guard is not None and platform.attached and Facing.BACK in platform.guard.edges:
        at = platform.guard.edges.index(Facing.BACK)
        table.problems.add((*table.path, "guard", "edges", at), "the house stands at the back", "leave back out")
    if platform.height_nm < needed:
        table.fault(
            "height",
            f"{format_length(platform.height_nm, unit)} is less than the {what} are thick together",
            f"it is measured from the ground to the top of the boards: {format_length(needed, unit)} or more",
        )


def _beside(platform: Platform, cut: CutOut) -> tuple[int, int]:
    """Where the joists run that a cut-out makes shorter, from the back edge."""
    return (cut.depth_nm, platform.depth_nm) if cut.corner.back else (0, platform.depth_nm - cut.depth_nm)


def _held(platform: Platform, cut: CutOut) -> int:
    """How many supports those joists have: the house and the beams under them."""
    near, far = _beside(platform, cut)
    return platform.attached + sum(near <= beam.at_nm <= far for beam in platform.beams)


def _size(table: Table, joists: Joists | None) -> tuple[int, int, bool, int, int] | None:
    """Width, depth, whether uncut, rim stock, joist stock."""
    both = table.has("size") and table.has("uncut")
    if both or not (table.has("size") or table.has("uncut")):
        table.asked += ["size", "uncut"]
        table.fault(
            "uncut" if both else "",
            "both size and uncut are given" if both else "the size is missing",
            """write size = ["12'", "16' 3"] (width, depth, outside the rims) """
            """or uncut = { rims = "10'", joists = "12'" }""",
        )
        return None
    if table.has("uncut"):
        table.asked.append("size")
        uncut = table.table("uncut", """uncut = { rims = "10'", joists = "12'" }""")
        if uncut is None:
            return None
        rims = uncut.length("rims", SMALLEST_SIDE, LARGEST_SIDE, "10'")
        whole = uncut.length("joists", SMALLEST_SIDE, LARGEST_SIDE, "12'")
        uncut.close()
        if rims is None or whole is None or joists is None:
            return None
        depth = whole + 2 * joists.thickness_nm
        return rims, depth, True, rims, whole
    table.asked.append("uncut")
    value = table.raw("size")
    wanted = """write size = ["12'", "16' 3"]: width, then depth"""
    if not isinstance(value, list) or len(value) != 2:
        what = f"{len(value)} lengths" if isinstance(value, list) else "a bare value"
        table.fault("size", f"{what} cannot stand here", wanted)
        return None
    sides: list[int] = []
    for index, side in enumerate(value):
        text = Table({"side": side}, (), table.problems, table.unit)
        if isinstance(side, bool) or not isinstance(side, (int, float, str)):
            table.problems.add((*table.path, "size", index), "that is not a length", wanted)
            continue
        typed = text.typed_number("side")
        nm = table.measured(("size", index), typed or "", SMALLEST_SIDE, LARGEST_SIDE)
        if nm is not None:
            sides.append(nm)
    if len(sides) != 2:
        return None
    return sides[0], sides[1], False, 0, 0


def _joists(table: Table) -> Joists | None:
    part = table.table("joists", "[platform.joists]")
    if part is None:
        return None
    size = part.parsed("size", size_name, JOIST_EXAMPLES[table.unit])
    kind = part.parsed("species", lambda text: species(text).name, next(iter(SPECIES_GROUPS)))
    mark = part.parsed("grade", grade, "no.2")
    spacing = part.length("spacing", 6 * INCH, 24 * INCH, "16 in")
    use = _use(part, required=True)
    part.close()
    if size is None or kind is None or mark is None or spacing is None or use is None:
        return None
    real = dressed(size)
    if not 19 * MM <= real.thickness_nm <= 4 * INCH or real.depth_nm < 3 * INCH:
        part.fault("size", f"{size} is no joist", f"give the size like {JOIST_EXAMPLES[table.unit]}")
        return None
    return Joists(size, real.thickness_nm, real.depth_nm, kind, mark, spacing, use)


def _use(part: Table, *, required: bool) -> str | None:
    word = part.text("use", "UC4A" if required else "")
    if word is None:
        return None if required or part.has("use") else ""
    plain = word.upper().replace(" ", "")
    if plain not in USE:
        part.fault(
            "use", f"{word[:40]!r} is not a use category taken here", "read it on the end tag: UC3B, UC4A or UC4B"
        )
        return None
    return plain


def _decking(table: Table) -> Decking | None:
    part = table.table("decking", "[platform.decking]")
    if part is None:
        return None
    board = part.parsed("board", size_name, BOARD_EXAMPLES[table.unit])
    kind = part.choice("kind", [x.value for x in BoardKind])
    wood = kind != BoardKind.COMPOSITE.value
    # Boards go by the tree that moves with moisture, joists by the group that carries.
    kind_of_wood = (
        part.parsed("species", lambda text: find_timber(text).name, "southern pine") if wood else part.text("species")
    )
    angle = part.whole("angle", 0, 90, default=0)
    intent = part.choice("lay", [x.value for x in GapIntent])
    gap = part.length("gap", 0, INCH, "3/16 in")
    use = _use(part, required=wood)
    overhang = part.length("overhang", 0, 3 * INCH, default=0)
    border = part.flag("border")
    part.close()
    if angle is not None and angle not in (0, 45, 90):
        part.fault(
            "angle", f"{angle} is not an angle taken here", "0 runs across the joists, 45 is diagonal, 90 along them"
        )
        return None
    if board is None or kind is None or angle is None or intent is None or gap is None or use is None:
        return None
    if overhang is None or border is None:
        return None
    if wood and kind_of_wood is None:
        return None
    real = dressed(board)
    if real.thickness_nm > 2 * INCH:
        part.fault("board", f"{board} is no deck board", f"give the size like {BOARD_EXAMPLES[table.unit]}")
        return None
    return Decking(
        board=board,
        width_nm=real.depth_nm,
        thickness_nm=real.thickness_nm,
        kind=BoardKind(kind),
        species=kind_of_wood or "",
        angle_deg=angle,
        gap_intent=GapIntent(intent),
        gap_nm=gap,
        use_category=use,
        overhang_nm=overhang,
        border=border,
    )


def _cuts(table: Table, size: tuple[int, int, bool, int, int] | None) -> tuple[Cut, ...]:
    """Corners cut out (a width and a depth) or clipped at 45 degrees (a leg)."""
    cuts = [cut for part in table.tables("cut", "[[platform.cut]]", 4) if (cut := _cut(part))]
    if cuts and size is not None:
        width, depth, uncut, _, _ = size
        if uncut:
            table.fault("cut", "a frame of uncut boards has square corners", "write its size instead of uncut")
        for fault in cut_faults(width, depth, cuts, table.unit):
            table.fault("cut", fault)
    return tuple(cuts)


def _cut(part: Table) -> Cut | None:
    corner = part.choice("corner", [x.value for x in Corner])
    clipped = part.has("leg")
    leg = part.length("leg", FOOT, LARGEST_SIDE) if clipped else None
    width = None if clipped else part.length("width", FOOT, LARGEST_SIDE, "4'")
    depth = None if clipped else part.length("depth", FOOT, LARGEST_SIDE, "5'")
    part.asked += ["leg", "width", "depth"]
    if clipped and (part.has("width") or part.has("depth")):
        part.fault(
            "leg", "a clipped corner has one leg", "leave out width and depth, or leave out leg to cut it square"
        )
    part.close()
    if corner is None:
        return None
    if leg is not None:
        return Clip(Corner(corner), leg)
    return None if width is None or depth is None else CutOut(Corner(corner), width, depth)


def _beams(
    table: Table, size: tuple[int, int, bool, int, int] | None, support: str | None, attached: bool
) -> tuple[Beam, ...]:
    parts = table.tables("beam", "[[platform.beam]]", 8)
    depth = size[1] if size else LARGEST_SIDE
    pads = support == Support.BLOCKS.value
    beams = [beam for part in parts if (beam := _beam(part, depth, pads))]
    if support == Support.FOOTINGS.value and not parts:
        table.fault("beam", "missing", "a platform on footings needs a [[platform.beam]]: plies, size, at, posts, post")
    carried = support in (Support.FOOTINGS.value, Support.BLOCKS.value)
    if support is not None and not carried and parts:
        parts[0].fault(
            "", f"a platform on {support} takes no beam", 'leave it out or write support = "footings" or "blocks"'
        )
    if len(parts) == 1 and carried and not attached:
        parts[0].fault(
            "", "one beam cannot carry a free-standing platform", "add a second one, or attach it to the house"
        )
    return tuple(sorted(beams, key=lambda beam: beam.at_nm))


def _beam(part: Table, depth: int, pads: bool) -> Beam | None:
    plies = part.whole("plies", 1, 4, "2")
    size = part.parsed("size", size_name, "2x10" if part.unit is Unit.INCH else "45x220")
    at = part.length("at", 0, depth, "10'")
    posts = part.whole("pads" if pads else "posts", 2, 20, "3")
    post: str | None = ""
    if not pads:
        post = part.parsed("post", size_name, "6x6" if part.unit is Unit.INCH else "145x145")
    part.close()
    if plies is None or size is None or at is None or posts is None or post is None:
        return None
    return Beam(plies, size, at, posts, post)


def _stairs(part: Table, height: int | None) -> Stairs | None:
    width = part.length("width", 2 * FOOT, 20 * FOOT, "36 in")
    rise = part.length("rise", INCH, LONGEST_FLIGHT, default=min(height or INCH, LONGEST_FLIGHT))
    if height is not None and height > LONGEST_FLIGHT and not part.has("rise"):
        part.fault(
            "rise",
            "missing",
            f"a flight over {format_length(LONGEST_FLIGHT, part.unit)} needs a landing: write each rise",
        )
    edge = part.choice("edge", _SIDES) if part.has("edge") else None
    start = part.length("from", 0, LARGEST_SIDE)
    part.asked.append("edge")
    handrail, guard = part.flag("handrail"), part.flag("guard")
    stringers = part.choice("stringers", [x.value for x in Stringers], Stringers.CUT.value)
    sides = part.whole("open_sides", 0, 2, default=2)
    guard_tall, handrail_tall = (part.length(key, 24 * INCH, 60 * INCH) for key in ("guard_height", "handrail_height"))
    part.close()
    if width is None or rise is None or handrail is None or guard is None or stringers is None or sides is None:
        return None
    return Stairs(
        width, rise, Facing(edge) if edge else None, start, handrail, guard, Stringers(stringers), sides, guard_tall,
        handrail_tall,
    )  # fmt: skip


def _guard(table: Table) -> Guard | None:
    """The guard of a platform; no length where the file leaves it to the edges."""
    part = table.table("guard")
    if part is None:
        return None
    height = part.length("height", 24 * INCH, 60 * INCH, "36 in")
    run = part.length("length", FOOT, 400 * FOOT)
    edges = _guard_edges(part)
    part.close()
    return None if height is None else Guard(height, run or 0, edges)


def _guard_edges(part: Table) -> tuple[Facing, ...]:
    """The sides a guard stands on, each once."""
    found: list[Facing] = []
    for index, side in part.each("edges", _side, most=len(_SIDES)):
        if side in found:
            part.problems.add((*part.path, "edges", index), f"{side.value} is there already", "name each side once")
        else:
            found.append(side)
    return tuple(found)


def _side(text: str) -> Facing:
    side = " ".join(text.lower().split())
    if side not in _SIDES:
        raise InputError(f"{text[:40]!r} is no side of a platform{near(side, _SIDES)}", f"choose {listing(_SIDES)}")
    return Facing(side)
