"""Where stairs and guards stand on the edges of a platform, all in whole nanometres. The ways to place them are ours.

A side's left end is its left end for who stands outside and faces it: of the front that is the left end as everywhere,
of the left side the back corner, of the right side the front corner.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import lru_cache
from typing import TypeAlias

from tracker.trade.guards import HEIGHT_LEAST_NM, guard_required
from tracker.trade.lengths import FOOT, Unit, format_length
from tracker.trade.outline import Edge, Facing, Outline, facing
from tracker.trade.polygon import Point, root2
from tracker.trade.spec import Guard, Platform, Stairs
from tracker.trade.stairs import HANDRAIL_RISERS, riser_count

SIDES = (Facing.FRONT, Facing.LEFT, Facing.RIGHT, Facing.BACK)
GUARD_OFF_NM = FOOT
"""How far a guard's length may be off that of its edges before it is not known where it stands, a bound of this program."""
Stretch: TypeAlias = tuple[Point, Point]
"""A part of an edge, walked as the outline is: the platform on the left hand."""


def sides_of(edge: Edge) -> frozenset[Facing]:
    """The side an edge belongs to; an edge across a clipped corner belongs to the two beside it."""
    if edge.facing is not Facing.ANGLED or edge.cut is None:
        return frozenset({edge.facing})
    corner = edge.cut.corner
    return frozenset(
        {Facing.BACK if corner.back else Facing.FRONT, Facing.LEFT if corner.left else Facing.RIGHT}
    )  # fmt: skip


def _along(outline: Outline, side: Facing, point: Point) -> int:
    """How far a point is along a side from its left end."""
    x, y = point
    return {
        Facing.FRONT: x, Facing.BACK: outline.width_nm - x, Facing.LEFT: y, Facing.RIGHT: outline.depth_nm - y,
    }[side]  # fmt: skip


def _free(platform: Platform, side: Facing) -> list[Edge]:
    """The straight edges of a side that no house stands against, from its left end."""
    edges = [
        edge
        for edge in platform.outline.edges
        if edge.facing is side and not edge.against_house(platform.attached)
    ]  # fmt: skip
    return sorted(edges, key=lambda edge: _along(platform.outline, side, edge.start))


def _part(edge: Edge, start_nm: int, end_nm: int) -> Stretch:
    """The part of a straight edge between two distances from its start."""
    (x, y), (x2, y2) = edge.start, edge.end
    ux, uy = (x2 > x) - (x2 < x), (y2 > y) - (y2 < y)
    return (x + ux * start_nm, y + uy * start_nm), (x + ux * end_nm, y + uy * end_nm)


def flight_places(platform: Platform) -> tuple[Stretch | None, ...]:
    """Where each flight leaves the platform; those of no stated place stand side by side about the middle of the
    longest edge of their side, the front when none is named. None where that side has no free edge.
    """
    found: dict[int, Stretch] = {}
    loose: dict[Facing, list[int]] = {}
    for number, flight in enumerate(platform.stairs):
        side = flight.edge or Facing.FRONT
        edge = None if flight.from_nm is None else _edge_for(platform, flight, side)
        if edge is None or flight.from_nm is None:
            loose.setdefault(side, []).append(number)
        else:
            start = flight.from_nm - _along(platform.outline, side, edge.start)
            found[number] = _part(edge, start, start + flight.width_nm)
    for side, numbers in loose.items():
        free = _free(platform, side)
        if not free:
            continue
        edge = max(free, key=lambda edge: edge.length_nm)
        wide = [platform.stairs[number].width_nm for number in numbers]
        gap = at = max((edge.length_nm - sum(wide)) // (len(wide) + 1), 0)
        for number, width in zip(numbers, wide, strict=True):
            found[number] = _part(edge, at, at + width)
            at += width + gap
    return tuple(found.get(number) for number in range(len(platform.stairs)))


def crowded_sides(platform: Platform) -> tuple[tuple[Facing, int, int, int], ...]:
    """The sides whose flights of no stated place do not fit side by side on their longest edge: how many flights, how wide they
    are together, and how long the edge is.
    """
    loose: dict[Facing, list[int]] = {}
    for flight in platform.stairs:
        if flight.from_nm is None:
            loose.setdefault(flight.edge or Facing.FRONT, []).append(flight.width_nm)
    found: list[tuple[Facing, int, int, int]] = []
    for side, wide in loose.items():
        longest = max((edge.length_nm for edge in _free(platform, side)), default=0)
        if sum(wide) > longest:
            found.append((side, len(wide), sum(wide), longest))
    return tuple(found)


def _edge_for(platform: Platform, flight: Stairs, side: Facing) -> Edge | None:
    assert flight.from_nm is not None
    for edge in _free(platform, side):
        low, high = (_along(platform.outline, side, point) for point in (edge.start, edge.end))
        if low <= flight.from_nm and flight.from_nm + flight.width_nm <= high:
            return edge
    return None


def flight_faults(platform: Platform, unit: Unit) -> list[tuple[int, str, str, str]]:
    """What is wrong with the stated places: (which flight, its key, what, what would be right)."""
    faults: list[tuple[int, str, str, str]] = []
    taken: list[tuple[int, Facing, int, int]] = []
    for number, flight in enumerate(platform.stairs):
        if flight.edge is None and flight.from_nm is None:
            continue
        side = flight.edge or Facing.FRONT
        wide = format_length(flight.width_nm, unit)
        free = [edge for edge in _free(platform, side) if edge.length_nm >= flight.width_nm]
        if not free:
            house = side is Facing.BACK and platform.attached
            what = "the house stands there" if house else f"no straight part of the {side.value} is {wide} wide"
            faults.append((number, "edge", what, "choose another side" + ("" if house else " or a narrower flight")))
        elif flight.from_nm is not None:
            if _edge_for(platform, flight, side) is None:
                at = format_length(flight.from_nm, unit)
                what = f"a flight {wide} wide does not fit {at} from the left end of the {side.value}"
                faults.append((number, "from", what, f"it may begin {_room(platform, side, free, flight, unit)}"))
            end = flight.from_nm + flight.width_nm
            for other, beside, low, high in taken:
                if beside is side and flight.from_nm < high and low < end:
                    what = f"stairs {number + 1} would stand on stairs {other + 1}"
                    stretch = f"{format_length(low, unit)} to {format_length(high, unit)}"
                    faults.append((number, "from", what, f"that flight takes {stretch} of the {side.value}"))
            taken.append((number, side, flight.from_nm, end))
    return faults


def _room(platform: Platform, side: Facing, free: Sequence[Edge], flight: Stairs, unit: Unit) -> str:
    texts = []
    for edge in free:
        low = _along(platform.outline, side, edge.start)
        high = low + edge.length_nm - flight.width_nm
        texts.append(
            f"at {format_length(low, unit)}" if high == low
            else f"from {format_length(low, unit)} to {format_length(high, unit)}"
        )  # fmt: skip
    return " or ".join(texts)


def length_of(stretch: Stretch) -> int:
    """How long a stretch is, to the nearest nanometer."""
    (x, y), (x2, y2) = stretch
    across, along = abs(x2 - x), abs(y2 - y)
    return root2(across) if across and along else across + along


def open_stretches(platform: Platform) -> tuple[Stretch, ...]:
    """The edges somebody could fall off: all but those against the house, each broken where a flight leaves it."""
    return tuple(part for part in _along_sides(platform, SIDES) if not _at_wall(platform, part))


def _at_wall(platform: Platform, part: Stretch) -> bool:
    """Whether a house that does not carry the platform closes the back there."""
    return platform.beside_house and part[0][1] == part[1][1] == 0


def open_sides(platform: Platform) -> tuple[Facing, ...]:
    """The sides with an open edge on them."""
    found = {of for of, part in _edge_parts(platform) if not _at_wall(platform, part)}
    return tuple(side for side in SIDES if frozenset({side}) in found)


def guard_called_for(platform: Platform) -> Guard | None:
    """The guard of a platform: the one its job file has, else the least one that its height calls for, on every open edge.

    A deck more than 30 in above the ground needs one whether or not anybody wrote it down (IRC R312.1.1, R312.1.2).
    """
    if platform.guard is not None or not guard_required(platform.height_nm):
        return platform.guard
    around = sum(map(length_of, open_stretches(platform)))
    return Guard(HEIGHT_LEAST_NM, around, open_sides(platform)) if around else None


def handrail_called_for(flight: Stairs) -> bool:
    """Whether a flight has a handrail, or wants one: from four risers on (IRC R311.7.8)."""
    return flight.handrail or riser_count(flight.rise_nm) >= HANDRAIL_RISERS


def stair_guard_called_for(flight: Stairs) -> bool:
    """Whether the open sides of a flight have a guard, or want one: where it rises more than 30 in (IRC R312.1.1)."""
    return bool(flight.open_sides) and (flight.guard or guard_required(flight.rise_nm))


def guard_stretches(platform: Platform) -> tuple[Stretch, ...]:
    """Where the guard called for stands: the edges of its sides without the house, each broken where a flight leaves it.

    Every open edge where its sides are not named and its length is theirs; none where it is shorter or longer.
    """
    guard = guard_called_for(platform)
    if guard is None:
        return ()
    if guard.edges:
        return _along_sides(platform, guard.edges)
    found = open_stretches(platform)
    return found if abs(sum(map(length_of, found)) - guard.length_nm) <= GUARD_OFF_NM else ()


def guard_sides(platform: Platform) -> tuple[tuple[str, int], ...]:
    """The sides a guard is asked on, each with its length, by the names a person reads them by: ``front``, ``left``, and
    ``front-left`` of a clipped corner.

    Every open side where the height calls for one, else those of the guard there is; the open sides, each with no length,
    where it is not known on which of them it stands.
    """
    stretches = open_stretches(platform) if guard_required(platform.height_nm) else guard_stretches(platform)
    if not stretches:
        return tuple((side.value, 0) for side in open_sides(platform)) if guard_called_for(platform) else ()
    found: dict[str, int] = {}
    names = {(edge.start, edge.end): edge for edge in platform.outline.edges if edge.facing is Facing.ANGLED}
    for part in stretches:
        edge = names.get(part)
        name = facing(*part).value if edge is None or edge.cut is None else edge.cut.corner.value.replace(" ", "-")
        found[name] = found.get(name, 0) + length_of(part)
    return tuple(found.items())


def _along_sides(platform: Platform, sides: Collection[Facing]) -> tuple[Stretch, ...]:
    return tuple(part for of, part in _edge_parts(platform) if of <= set(sides))


@lru_cache(maxsize=1024)
def _edge_parts(platform: Platform) -> tuple[tuple[frozenset[Facing], Stretch], ...]:
    """The edges no house stands against, each broken where a flight leaves it, with the sides it belongs to. Remembered: where a
    guard stands, on which sides and how long it is all rest on them.
    """
    flights = [place for place in flight_places(platform) if place is not None]
    found: list[tuple[frozenset[Facing], Stretch]] = []
    for edge in platform.outline.edges:
        if edge.against_house(platform.attached):
            continue
        of = sides_of(edge)
        if edge.facing is Facing.ANGLED:
            found.append((of, (edge.start, edge.end)))
            continue
        start = _along(platform.outline, edge.facing, edge.start)
        across = edge.start[1] == edge.end[1]
        at = 0
        gaps = [
            sorted(_along(platform.outline, edge.facing, point) - start for point in place)
            for place in flights
            if _on(edge, place, across)
        ]  # fmt: skip
        for low, high in sorted(gaps):
            if low > at:
                found.append((of, _part(edge, at, low)))
            at = max(at, high)
        if at < edge.length_nm:
            found.append((of, _part(edge, at, edge.length_nm)))
    return tuple(found)


def _on(edge: Edge, place: Stretch, across: bool) -> bool:
    """Whether a stretch lies on this edge."""
    line, way = (1, 0) if across else (0, 1)
    low, high = sorted((edge.start[way], edge.end[way]))
    return all(point[line] == edge.start[line] and low <= point[way] <= high for point in place)
