"""Plane geometry on outlines whose edges run along the axes or at 45 degrees to them: moving edges, mitres, strips.

Points are whole nanometres, so crossings are exact; only a move square to a 45 degree edge is rounded, to the nearest
nanometre. Outlines go counter-clockwise as seen from above on a page with x to the right and y downwards.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

Point: TypeAlias = tuple[int, int]


def root2(nm: int) -> int:
    """``nm`` times the square root of 2, to the nearest nanometre."""
    size = (math.isqrt(8 * nm * nm) + 1) // 2
    return size if nm >= 0 else -size


def inside_angle(before: Point, at: Point, after: Point) -> int:
    """The inside angle at a vertex, in whole degrees: 90, 135 or 270."""
    turn = _outward(before, at), _outward(at, after)
    (a, b), (c, d) = turn
    if a * d - b * c > 0:
        return 270
    return 90 if a * c + b * d == 0 else 135


def _outward(start: Point, end: Point) -> Point:
    """The outward direction of an edge, each part -1, 0 or 1."""
    across, along = end[0] - start[0], end[1] - start[1]
    return (-_sign(along), _sign(across))


def _sign(number: int) -> int:
    return (number > 0) - (number < 0)


def offset(points: Sequence[Point], outwards: Sequence[int]) -> tuple[Point, ...]:
    """Move the edge after each point outwards by its figure (inwards where negative); returns the new vertices.

    A vertex stays where its two edges cross: the move must be small against the edges.
    """
    lines = []
    for k, point in enumerate(points):
        a, b = _outward(point, points[(k + 1) % len(points)])
        move = root2(outwards[k]) if a and b else outwards[k]
        lines.append((a, b, a * point[0] + b * point[1] + move))
    found = []
    for (a, b, at), (c, d, other) in zip([lines[-1], *lines[:-1]], lines, strict=True):
        det = a * d - b * c  # 1 or -1: no two neighbours are parallel or both at 45 degrees
        found.append(((at * d - b * other) * det, (a * other - at * c) * det))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class RingPiece:
    """One mitred piece along an edge: ``length_nm`` between its long points, the mitres in tenths of a degree."""

    start: Point
    end: Point
    length_nm: int
    mitre_start_tenths: int
    mitre_end_tenths: int


def ring(points: Sequence[Point], width_nm: int) -> tuple[RingPiece, ...]:
    """Pieces ``width_nm`` wide laid just inside an outline, mitred at each vertex: half of what the corner turns."""
    inner = offset(points, [-width_nm] * len(points))
    found = []
    for k, start in enumerate(points):
        after = (k + 1) % len(points)
        end = points[after]
        right, down = _sign(end[0] - start[0]), _sign(end[1] - start[1])
        reach = [p[0] * right + p[1] * down for p in (start, end, inner[k], inner[after])]
        length = max(reach) - min(reach)
        if right and down:
            length = -(-root2(length) // 2)
        ends = (
            inside_angle(points[k - 1], start, end),
            inside_angle(start, end, points[(after + 1) % len(points)]),
        )
        found.append(RingPiece(start, end, length, *(mitre_tenths(angle) for angle in ends)))
    return tuple(found)


def mitre_tenths(angle: int) -> int:
    """The mitre of each of two pieces that meet at an inside ``angle``, in tenths of a degree off square."""
    return abs(1800 - 10 * angle) // 2


@dataclass(frozen=True, slots=True)
class Patch:
    """One connected part of an outline inside a strip: ``low``..``high`` across the strip, ``lo``..``hi`` along it.

    ``lo_short`` and ``hi_short`` are where the shorter edge ends; ``area2`` is twice the area, all in the axes of the
    points given.
    """

    low: int
    high: int
    lo: int
    hi: int
    lo_short: int
    hi_short: int
    area2: int


def patches(points: Sequence[Point], low: int, high: int) -> tuple[Patch, ...]:
    """The connected parts of an outline whose first coordinate lies between ``low`` and ``high``.

    Exact for edges along the axes or at 45 degrees to them.
    """
    firsts = [point[0] for point in points]
    low, high = max(low, min(firsts)), min(high, max(firsts))
    places = sorted({low, high, *(u for u in firsts if low < u < high)}) if low < high else []
    done: list[list[_Slab]] = []
    open_groups: list[list[_Slab]] = []
    for a, b in pairwise(places):
        groups: list[list[_Slab]] = []
        for slab in _slabs(points, a, b):
            joined = [g for g in [*open_groups, *groups] if any(s.meets(slab) for s in g)]
            open_groups = [g for g in open_groups if g not in joined]
            groups = [g for g in groups if g not in joined]
            groups.append([*(s for g in joined for s in g), slab])
        done += open_groups
        open_groups = groups
    return tuple(sorted((_patch(group) for group in [*done, *open_groups]), key=lambda p: (p.lo, p.low)))


@dataclass(frozen=True, slots=True)
class _Slab:
    """A trapezoid between two places: its two ends at each of them."""

    a: int
    b: int
    lo_a: int
    lo_b: int
    hi_a: int
    hi_b: int

    def meets(self, after: _Slab) -> bool:
        return self.b == after.a and max(self.lo_b, after.lo_a) < min(self.hi_b, after.hi_a)


def _slabs(points: Sequence[Point], a: int, b: int) -> list[_Slab]:
    crossing = []
    for k, (u, v) in enumerate(points):
        u2, v2 = points[(k + 1) % len(points)]
        if min(u, u2) <= a and max(u, u2) >= b:
            slope = (v2 - v) // (u2 - u)
            crossing.append((v + slope * (a - u), v + slope * (b - u)))
    crossing.sort(key=sum)
    return [_Slab(a, b, *lower, *upper) for lower, upper in zip(crossing[::2], crossing[1::2], strict=True)]


def _patch(group: Sequence[_Slab]) -> Patch:
    lows = [v for slab in group for v in (slab.lo_a, slab.lo_b)]
    highs = [v for slab in group for v in (slab.hi_a, slab.hi_b)]
    area2 = sum((s.b - s.a) * (s.hi_a - s.lo_a + s.hi_b - s.lo_b) for s in group)
    return Patch(min(s.a for s in group), max(s.b for s in group), min(lows), max(highs), max(lows), min(highs), area2)
