"""Is a frame level, and if not: what brings each point up to the highest. Blocks and frames are never lowered; shims go no
higher than the house says, and what wants more is bedded again. Posts are trimmed to the lowest before a beam lies on them.

Heights are of the frame, larger is higher, unless they were read on a rod (larger is lower). Positions are
measured from the front left corner: x to the right, y to the back. All lengths are whole nanometres. Method
and tolerance are common practice; the plane is an ordinary least-squares fit.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from enum import StrEnum

from tracker.errors import InputError
from tracker.text import count, listing
from tracker.trade.answer import Answer, Plain, Verdict
from tracker.trade.lengths import FOOT, INCH, MM, Unit, format_inches, format_small, inches
from tracker.trade.rules import Rules

STOCK_INCH = (3 * INCH // 2, 3 * INCH // 4, INCH // 2, INCH // 4, INCH // 8, INCH // 16)
STOCK_MM = (38 * MM, 19 * MM, 12 * MM, 6 * MM, 3 * MM, MM)
MOST_APART = 3 * FOOT
_CLOSE = INCH // 32
_MOST_STACKS = 20_000
SOURCE = "least-squares plane; tolerance: common practice"
CAUTION = (
    "Lift with a jack or bar and crib as you go: no hand or body under a frame that only a jack holds. "
    "Shims: treated wood, steel or plastic, the full bearing width, fixed so that they cannot walk out."
)

Position = tuple[int, int]


class Under(StrEnum):
    """What is read, and what is under it, which decides how it is brought to one height."""

    UNKNOWN = "unknown"
    BLOCKS = "blocks"
    """Blocks on the ground, or a frame on them."""
    WOOD_BLOCKS = "wood blocks"
    POSTS = "posts"
    """A frame on posts."""
    POST_TOPS = "post tops"
    """Tops of posts that carry nothing yet."""


class Side(StrEnum):
    """The side of the deck a planned fall runs down to."""

    FRONT = "front"
    BACK = "back"
    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class Fall:
    """A planned fall: ``per_ft_nm`` of drop for each foot of run ``toward`` a side."""

    per_ft_nm: int
    toward: Side = Side.FRONT

    def drop(self, position: Position) -> float:
        """How far below the front left corner the plan puts this position, in nm (negative: above)."""
        x, y = position
        run = {Side.RIGHT: x, Side.LEFT: -x, Side.BACK: y, Side.FRONT: -y}[self.toward]
        return self.per_ft_nm * run / FOOT


@dataclass(frozen=True, slots=True)
class Plane:
    """A fitted plane: rise to the right and to the back in nm per foot, each point's height off it."""

    rise_right_nm: float
    rise_back_nm: float
    off_nm: Mapping[str, float]


def fit_plane(heights_nm: Mapping[str, int], positions: Mapping[str, Position]) -> Plane | None:
    """Return the least-squares plane through the points whose position is known.

    None when fewer than three are known or they stand on one line.
    """
    names = [name for name in heights_nm if name in positions]
    if len(names) < 3:
        return None
    xs, ys = ([positions[name][axis] / FOOT for name in names] for axis in (0, 1))
    zs = [float(heights_nm[name]) for name in names]
    n = len(names)
    mx, my, mz = sum(xs) / n, sum(ys) / n, sum(zs) / n
    sxx = sum((x - mx) ** 2 for x in xs)
    syy = sum((y - my) ** 2 for y in ys)
    sxy = sum((x - mx) * (y - my) for x, y in zip(xs, ys, strict=True))
    sxz = sum((x - mx) * (z - mz) for x, z in zip(xs, zs, strict=True))
    syz = sum((y - my) * (z - mz) for y, z in zip(ys, zs, strict=True))
    determinant = sxx * syy - sxy**2
    if determinant <= 1e-9 * (sxx + syy) ** 2:
        return None
    gx = (sxz * syy - syz * sxy) / determinant
    gy = (syz * sxx - sxz * sxy) / determinant
    off = {name: z - mz - gx * (x - mx) - gy * (y - my) for name, x, y, z in zip(names, xs, ys, zs, strict=True)}
    return Plane(gx, gy, off)


def stack(need_nm: float, thicknesses: Sequence[int], tolerance_nm: int) -> tuple[int, ...] | None:
    """Return the thicknesses, thickest first, whose sum comes closest to ``need_nm`` and within half the
    tolerance.

    Any thickness of 0.5 mm or more may be used more than once. Among stacks within 1/32 in of the need the
    one of fewest pieces is taken; half the tolerance keeps the points on both sides of a stack together. None
    when no stack comes that close.
    """
    stock = sorted({t for t in thicknesses if t >= MM // 2}, reverse=True)
    room = tolerance_nm / 2
    if need_nm <= 0:
        return ()
    if not stock:
        return () if need_nm <= room else None
    thick = max(0, int((need_nm - 2 * stock[0]) // stock[0]))
    rest = need_nm - thick * stock[0]
    found: dict[int, tuple[int, ...]] = {0: ()}
    layer = [0]
    while layer and len(found) < _MOST_STACKS:
        new: list[int] = []
        for total in layer:
            for piece in stock:
                if total + piece <= rest + room and total + piece not in found:
                    found[total + piece] = (*found[total], piece)
                    new.append(total + piece)
        layer = new
    close = min(room, _CLOSE)
    best = min(found, key=lambda total: (max(abs(total - rest) - close, 0), len(found[total]), abs(total - rest)))
    if abs(best - rest) > room:
        return None
    return (stock[0],) * thick + tuple(sorted(found[best], reverse=True))


def _refuse(heights: Mapping[str, int], positions: Mapping[str, Position], fall: Fall | None, unit: Unit) -> None:
    if len(heights) < 2:
        raise InputError("one height cannot be out of level", "give two or more points, like A=0 B=3/8")
    spread = max(heights.values()) - min(heights.values())
    if spread > MOST_APART:
        raise InputError(
            f"the heights are {format_small(spread, unit)} apart",
            "read them all from the same line, in one unit; no frame is blocked up that far",
        )
    if strangers := [name for name in positions if name not in heights]:
        raise InputError(f"{listing(strangers, 'and')} has a position but no height", "give both, by the same name")
    if fall and (lost := [name for name in heights if name not in positions]):
        raise InputError(
            f"a planned fall needs the position of {listing(lost, 'and')}",
            "give x from the left and y from the front",
        )


def level_answer(
    points: Mapping[str, int],
    unit: Unit,
    tolerance_nm: int | None = None,
    *,
    positions: Mapping[str, Position] | None = None,
    fall: Fall | None = None,
    thicknesses: Sequence[int] | None = None,
    rod: bool = False,
    rules: Rules | None = None,
    notes: Sequence[str] = (),
    under: Under = Under.UNKNOWN,
) -> Answer:
    """Return how level the points are and what to put under each.

    ``points`` holds heights by name (readings down from a level line with ``rod``). Keys: ``high_point``,
    ``blocks_in`` the rise each point needs (0 for the highest), ``stacks`` its text, ``spread_in`` with the
    planned fall taken out (a stack over the house's ``shim_most`` is ``re-bed``, under a frame on posts ``longer post``). Of
    post tops ``low_point`` and ``trim_in``, what comes off each post, stand in place of the first three; with three positions not on a line also ``rise_right_in_per_ft``,
    ``rise_back_in_per_ft`` and ``out_of_plane_in``. It carries a verdict when a ``tolerance_nm`` or ``rules``
    are given. Raises InputError for fewer than two points, heights far apart, or a fall without positions.
    """
    positions = positions or {}
    heights = {name: -nm if rod else nm for name, nm in points.items()}
    _refuse(heights, positions, fall, unit)
    judged = rules is not None or tolerance_nm is not None
    rules = rules or Rules(unit=unit)
    if tolerance_nm is not None:
        rules = rules.as_typed({"level": tolerance_nm})
    tolerance = rules.figure("level")
    if thicknesses is None:
        thicknesses = STOCK_INCH if unit is Unit.INCH else STOCK_MM
    true = {name: nm + (fall.drop(positions[name]) if fall else 0.0) for name, nm in heights.items()}
    high = max(true, key=lambda name: true[name])
    needs = {name: true[high] - nm for name, nm in true.items()}
    spread = max(needs.values())
    stacks = {name: stack(need, thicknesses, tolerance) for name, need in needs.items()}
    plane = fit_plane(heights, positions)
    level = spread <= tolerance
    lowest = min(true, key=lambda name: true[name])
    trims = {name: nm - true[lowest] for name, nm in true.items()}
    tall = {name for name, need in needs.items() if need > rules.figure("shim_most") + MM // 2}
    answer: dict[str, Plain] = {"spread_in": spread / INCH}
    if under is Under.POST_TOPS:
        answer |= {"low_point": lowest, "trim_in": {name: nm / INCH for name, nm in trims.items()}}
    else:
        answer |= {
            "high_point": high,
            "blocks_in": {name: need / INCH for name, need in needs.items()},
            "stacks": {
                name: _INSTEAD[under] if name in tall else _stack_text(pieces, unit) for name, pieces in stacks.items()
            },
        }
    if plane:
        answer |= {
            "rise_right_in_per_ft": plane.rise_right_nm / INCH,
            "rise_back_in_per_ft": plane.rise_back_nm / INCH,
            "out_of_plane_in": (max(plane.off_nm.values()) - min(plane.off_nm.values())) / INCH,
        }
    amount = format_small(spread, unit)
    limit = rules.limit("level", unit)
    return Answer(
        headline=f"level: {amount} from high to low, {limit.text} allowed"
        if level
        else f"out of level: {amount} from high to low; "
        + (f"{lowest} is the lowest" if under is Under.POST_TOPS else f"{high} is the high point"),
        inputs=_inputs(points, positions, fall, rod),
        answer=answer,
        working=(*_working(points, true, high, needs, fall, plane, unit, rod), *notes),
        source=SOURCE,
        verdict=(Verdict.PASSED if level else Verdict.FAILED) if judged else None,
        moves=()
        if level
        else _trims(lowest, trims, unit)
        if under is Under.POST_TOPS
        else _moves(high, needs, stacks, tall, under, unit),
        limits=(limit,) if under is Under.POST_TOPS else (limit, rules.limit("shim_most", unit)),
        caution=CAUTION,
    )


def _inputs(
    points: Mapping[str, int], positions: Mapping[str, Position], fall: Fall | None, rod: bool
) -> dict[str, Plain]:
    out: dict[str, Plain] = {
        "reads": "rod" if rod else "height",
        "heights_in": {name: inches(nm) for name, nm in points.items()},
    }
    if positions:
        out["positions_in"] = {name: [inches(x), inches(y)] for name, (x, y) in positions.items()}
    if fall:
        out |= {"fall_in_per_ft": inches(fall.per_ft_nm), "fall_toward": fall.toward.value}
    return out


def _stack_text(pieces: tuple[int, ...] | None, unit: Unit) -> str:
    if pieces is None:
        return "none on hand"
    parts = [format_inches(t) if unit is Unit.INCH else format_small(t, unit) for t in dict.fromkeys(pieces)]
    counts = [pieces.count(t) for t in dict.fromkeys(pieces)]
    return " + ".join(f"{n} × {part}" if n > 1 else part for n, part in zip(counts, parts, strict=True)) or "nothing"


_INSTEAD = {
    Under.UNKNOWN: "re-bed", Under.BLOCKS: "re-bed", Under.WOOD_BLOCKS: "re-bed", Under.POSTS: "longer post",
    Under.POST_TOPS: "",
}  # fmt: skip
"""In place of a stack of shims that would be too high."""


def _higher(under: Under, amount: str) -> str:
    """How a point comes up by more than shims may."""
    re_bed = f"re-bed its block: lift it, bring the bed up {amount} in compacted stone and set it again"
    return {
        Under.BLOCKS: f"{re_bed}; blocks are not stacked on shims",
        Under.WOOD_BLOCKS: f"cut a taller block, nailed to the frame, or bring the ground under it up {amount}, compacted",
        Under.POSTS: f"jack it and set a post {amount} longer there, or trim the other posts; no stack of shims on a post",
    }.get(under, f"{re_bed}; on posts trim the others to it")


def _trims(low: str, trims: Mapping[str, float], unit: Unit) -> tuple[str, ...]:
    """Posts are cut to one line, the lowest."""
    out = [
        f"mark the height of {low}, the lowest, on every post from one level line, and trim to it; no shims on a post"
    ]
    out += [
        f"{name}: {format_small(nm, unit)} off"
        for name, nm in sorted(trims.items(), key=lambda item: -item[1])
        if nm >= _CLOSE
    ]
    return (
        *out,
        f"is {low} too low for the deck's height, set a longer post there first",
        "then read every point again",
    )


def _moves(
    high: str,
    needs: Mapping[str, float],
    stacks: Mapping[str, tuple[int, ...] | None],
    tall: Set[str],
    under: Under,
    unit: Unit,
) -> tuple[str, ...]:
    out = [f"leave {high} where it is and bring the others up to it"]
    for name, need in sorted(needs.items(), key=lambda item: -item[1]):
        pieces = stacks[name]
        if name in tall:
            out.append(f"{name}: up {format_small(need, unit)}, {_higher(under, format_small(need, unit))}")
        elif pieces is None:
            out.append(f"{name}: up {format_small(need, unit)}; nothing on hand makes it, cut a block to fit")
        elif pieces:
            out.append(f"{name}: up {format_small(need, unit)}, put {_stack_text(pieces, unit)} under it")
    return (*out, "then read every point again")


def _working(
    points: Mapping[str, int],
    true: Mapping[str, float],
    high: str,
    needs: Mapping[str, float],
    fall: Fall | None,
    plane: Plane | None,
    unit: Unit,
    rod: bool,
) -> list[str]:
    read = ", ".join(f"{name} {format_small(nm, unit, 32)}" for name, nm in points.items())
    lines = [f"read: {read}" + (" (a rod: the largest reading is the lowest point)" if rod else " (larger is higher)")]
    if fall:
        lines.append(
            f"planned fall of {_rate(fall.per_ft_nm, unit)} toward the {fall.toward} taken out: "
            + ", ".join(f"{name} {format_small(nm, unit, 32)}" for name, nm in true.items())
        )
    low = max(needs, key=lambda name: needs[name])
    lines.append(
        f"high point {high}, low point {low}: "
        f"{format_small(true[high], unit, 32)} - {format_small(true[low], unit, 32)} = "
        f"{format_small(needs[low], unit, 32)}"
    )
    if plane:
        sides = (
            ("right" if plane.rise_right_nm >= 0 else "left", abs(plane.rise_right_nm)),
            ("back" if plane.rise_back_nm >= 0 else "front", abs(plane.rise_back_nm)),
        )
        rises = " and ".join(f"{_rate(nm, unit)} toward the {side}" for side, nm in sides)
        off = max(plane.off_nm.values()) - min(plane.off_nm.values())
        lines.append(
            f"best plane through {count(len(plane.off_nm), 'point')}: it rises {rises}; "
            f"the points stand {format_small(off, unit, 32)} off it from high to low (wind)"
        )
    return lines


def _rate(per_ft_nm: float, unit: Unit) -> str:
    return f"{per_ft_nm / INCH:.3f} in/ft" if unit is Unit.INCH else f"{per_ft_nm / FOOT * 1000:.1f} mm/m"
