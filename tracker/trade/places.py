"""Where stairs and guards stand on the edges of a platform, all in whole nanometres. The ways to place them are ours.

A side's left end is its left end for who stands outside and faces it: of the front that is the left end as everywhere,
of the left side the back corner, of the right side the front corner.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

from tracker.trade.lengths import Unit, format_length
from tracker.trade.outline import Edge, Facing, Outline
from tracker.trade.polygon import Point
from tracker.trade.spec import Platform, Stairs

SIDES = (Facing.FRONT, Facing.LEFT, Facing.RIGHT, Facing.BACK)
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


def guard_stretches(platform: Platform) -> tuple[Stretch, ...]:
    """Where the guard stands: the edges of its sides without the house, each broken where a flight leaves it."""
    if platform.guard is None:
        return ()
    flights = [place for place in flight_places(platform) if place is not None]
    found: list[Stretch] = []
    for edge in platform.outline.edges:
        if edge.against_house(platform.attached) or not sides_of(edge) <= set(platform.guard.edges):
            continue
        if edge.facing is Facing.ANGLED:
            found.append((edge.start, edge.end))
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
                found.append(_part(edge, at, low))
            at = max(at, high)
        if at < edge.length_nm:
            found.append(_part(edge, at, edge.length_nm))
    return tuple(found)


def _on(edge: Edge, place: Stretch, across: bool) -> bool:
    """Whether a stretch lies on this edge."""
    line, way = (1, 0) if across else (0, 1)
    low, high = sorted((edge.start[way], edge.end[way]))
    return all(point[line] == edge.start[line] and low <= point[way] <= high for point in place)
