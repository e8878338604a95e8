"""The outline of a platform that is no plain rectangle: corners cut out (an L) or clipped at 45 degrees.

Axes as on a plan with the house at the top: x runs from the left end along the back, y from the back towards the
front, both in whole nanometres. Every edge runs along x, along y or at 45 degrees, so all crossings are exact; only a
move square to a 45 degree edge is rounded, to the nearest nanometre. Plane geometry; what is a sensible cut is common
practice.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import combinations
from typing import TypeAlias

from tracker.errors import InputErrors
from tracker.trade.lengths import FOOT, INCH, Unit, format_length
from tracker.trade.polygon import Point, inside_angle, offset, root2

LEAST_EDGE = FOOT
"""A shorter edge leaves no room for a rim, a joist and their nails (common practice)."""
LEAST_OFFSET = 6 * INCH
"""Two cut-outs side by side line up or leave room for the doubled joists beside each (common practice)."""


class Corner(StrEnum):
    """A corner of the full rectangle, as seen from the yard facing the house."""

    BACK_LEFT = "back left"
    FRONT_LEFT = "front left"
    FRONT_RIGHT = "front right"
    BACK_RIGHT = "back right"

    @property
    def left(self) -> bool:
        """Whether it is on the left."""
        return self in (Corner.BACK_LEFT, Corner.FRONT_LEFT)

    @property
    def back(self) -> bool:
        """Whether it is at the back."""
        return self in (Corner.BACK_LEFT, Corner.BACK_RIGHT)


class Facing(StrEnum):
    """Which way an edge looks out."""

    BACK = "back"
    LEFT = "left"
    FRONT = "front"
    RIGHT = "right"
    ANGLED = "angled"


class LineKind(StrEnum):
    """What a line of the plan drawing stands for."""

    EDGE = "edge"
    RIM = "rim"
    JOIST = "joist"
    BLOCKING = "blocking"
    BOARD = "board"
    BORDER = "border"
    SEAM = "seam"


@dataclass(frozen=True, slots=True)
class Line2D:
    """One straight line of a plan drawing, from (x1, y1) to (x2, y2) in nm."""

    x1: int
    y1: int
    x2: int
    y2: int
    kind: LineKind


@dataclass(frozen=True, slots=True)
class CutOut:
    """A rectangle left out at a corner: ``width_nm`` along the rims, ``depth_nm`` along the joists."""

    corner: Corner
    width_nm: int
    depth_nm: int


@dataclass(frozen=True, slots=True)
class Clip:
    """A corner cut off at 45 degrees, ``leg_nm`` along each of its two edges."""

    corner: Corner
    leg_nm: int

    @property
    def width_nm(self) -> int:
        """What it takes along the rims."""
        return self.leg_nm

    @property
    def depth_nm(self) -> int:
        """What it takes along the joists."""
        return self.leg_nm


Cut: TypeAlias = CutOut | Clip


@dataclass(frozen=True, slots=True)
class Edge:
    """One edge of an outline; the platform lies on the left hand of who walks from ``start`` to ``end``.

    ``cut`` is the cut it belongs to; ``corner_start`` and ``corner_end`` are the inside angles there in degrees.
    """

    start: Point
    end: Point
    cut: Cut | None
    corner_start: int
    corner_end: int

    @property
    def facing(self) -> Facing:
        """Which way it looks out."""
        return facing(self.start, self.end)

    @property
    def length_nm(self) -> int:
        """Its length, to the nearest nanometre."""
        across, along = abs(self.end[0] - self.start[0]), abs(self.end[1] - self.start[1])
        return root2(across) if across and along else across + along

    @property
    def inner(self) -> bool:
        """Whether it is one of the two edges inside a cut-out."""
        return isinstance(self.cut, CutOut)

    @property
    def at_back(self) -> bool:
        """Whether it looks to the back: the back edge, or an inner or angled edge at a back corner."""
        return self.facing is Facing.BACK or (self.facing is Facing.ANGLED and self.end[0] < self.start[0])

    def against_house(self, attached: bool) -> bool:
        """Whether the house stands against it: on an attached platform the back and any cut-out at the back."""
        return attached and (self.facing is Facing.BACK or (isinstance(self.cut, CutOut) and self.cut.corner.back))


def facing(start: Point, end: Point) -> Facing:
    """Which way an edge of a counter-clockwise outline looks out."""
    across, along = end[0] - start[0], end[1] - start[1]
    if across and along:
        return Facing.ANGLED
    if across:
        return Facing.FRONT if across > 0 else Facing.BACK
    return Facing.LEFT if along > 0 else Facing.RIGHT


@dataclass(frozen=True, slots=True)
class Outline:
    """A rectangle of ``width_nm`` by ``depth_nm`` with at most one cut at each corner.

    Raises InputErrors, one line for each fault, for cuts that do not fit.
    """

    width_nm: int
    depth_nm: int
    cuts: tuple[Cut, ...] = ()

    def __post_init__(self) -> None:
        if problems := cut_faults(self.width_nm, self.depth_nm, self.cuts):
            raise InputErrors(problems, "measure each cut from the corner of the full rectangle")

    @property
    def vertices(self) -> tuple[Point, ...]:
        """The corners counter-clockwise as seen from above, house at the top, from the back left."""
        return tuple(point for _, points in self._corners() for point in points)

    @property
    def edges(self) -> tuple[Edge, ...]:
        """The edges in the order of ``vertices``, each from its vertex to the next."""
        marked = [
            (cut if k + 1 < len(points) else None, p) for cut, points in self._corners() for k, p in enumerate(points)
        ]
        points = [point for _, point in marked]
        angles = [inside_angle(points[k - 1], p, points[(k + 1) % len(points)]) for k, p in enumerate(points)]
        after = [(k + 1) % len(points) for k in range(len(points))]
        return tuple(
            Edge(point, points[after[k]], cut, angles[k], angles[after[k]]) for k, (cut, point) in enumerate(marked)
        )

    @property
    def area_nm2(self) -> Fraction:
        """Its area in square nanometres, exact."""
        taken = sum(
            (Fraction(cut.width_nm * cut.depth_nm, 2 if isinstance(cut, Clip) else 1) for cut in self.cuts), Fraction(0)
        )
        return self.width_nm * self.depth_nm - taken

    @property
    def area_ft2(self) -> float:
        """Its area in square feet."""
        return float(self.area_nm2 / FOOT**2)

    def lines(self) -> tuple[Line2D, ...]:
        """The outline for a drawing."""
        return tuple(Line2D(*edge.start, *edge.end, LineKind.EDGE) for edge in self.edges)

    def moved(self, outwards: Callable[[Edge], int]) -> tuple[Point, ...]:
        """The vertices with each edge moved square to itself: outwards, or inwards where negative."""
        return offset(self.vertices, [outwards(edge) for edge in self.edges])

    def _corners(self) -> list[tuple[Cut | None, list[Point]]]:
        """The vertices at each corner of the rectangle, with the cut they belong to."""
        wide, deep = self.width_nm, self.depth_nm
        by_corner = {cut.corner: cut for cut in self.cuts}
        found: list[tuple[Cut | None, list[Point]]] = []
        for corner in Corner:
            cut = by_corner.get(corner)
            x, y = (0 if corner.left else wide), (0 if corner.back else deep)
            if cut is None:
                found.append((None, [(x, y)]))
                continue
            inner_x = cut.width_nm if corner.left else wide - cut.width_nm
            inner_y = cut.depth_nm if corner.back else deep - cut.depth_nm
            points = [(inner_x, y), (inner_x, inner_y), (x, inner_y)]
            if corner in (Corner.FRONT_LEFT, Corner.BACK_RIGHT):
                points.reverse()
            found.append((cut, points if isinstance(cut, CutOut) else [points[0], points[2]]))
        return found


def cut_faults(width_nm: int, depth_nm: int, cuts: Sequence[Cut], unit: Unit = Unit.INCH) -> list[str]:
    """What is wrong with cuts at the corners of a rectangle, one line each, each saying what would fit."""
    return [*_outside((width_nm, depth_nm), cuts, unit), *_clashes(width_nm, depth_nm, cuts, unit)]


def _outside(sides: tuple[int, int], cuts: Sequence[Cut], unit: Unit) -> list[str]:
    """Cuts that do not fit the rectangle by themselves."""
    problems = []
    least = format_length(LEAST_EDGE, unit)
    for cut in cuts:
        if isinstance(cut, Clip):
            sizes = [(cut.leg_nm, min(sides), "a clip", "across")]
        else:
            sizes = [(cut.width_nm, sides[0], "a cut-out", "wide"), (cut.depth_nm, sides[1], "a cut-out", "deep")]
        for size, side, what, way in sizes:
            most = max(side - LEAST_EDGE, 0)
            if size < LEAST_EDGE:
                problems.append(
                    f"the {cut.corner} corner: {what} of {format_length(size, unit)} is too small to frame; "
                    f"make it {least} or more, or leave the corner square"
                )
            elif size > most:
                problems.append(
                    f"the {cut.corner} corner: {what} of {format_length(size, unit)} does not fit a platform "
                    f"{format_length(side, unit)} {way}; {format_length(most, unit)} is the most"
                )
    return problems


def _clashes(width_nm: int, depth_nm: int, cuts: Sequence[Cut], unit: Unit) -> list[str]:
    """Cuts that run into each other."""
    problems = []
    least, off = format_length(LEAST_EDGE, unit), format_length(LEAST_OFFSET, unit)
    for one, other in combinations(cuts, 2):
        names = f"the {one.corner} and {other.corner} cuts"
        across = width_nm - one.width_nm - other.width_nm
        along = depth_nm - one.depth_nm - other.depth_nm
        if one.corner is other.corner:
            problems.append(f"the {one.corner} corner is cut twice; give one cut a corner")
            continue
        if one.corner.back is other.corner.back:
            left = across
        elif one.corner.left is other.corner.left:
            left = along
        elif isinstance(one, CutOut) and isinstance(other, CutOut):
            left = max(across, along)
        else:
            # A clip's slope passes a cut-out's inner corner, or a parallel clip, by what both sides leave together.
            left = across + along + sum(cut.leg_nm for cut in (one, other) if isinstance(cut, Clip))
        if left < LEAST_EDGE:
            problems.append(f"{names} leave less than {least} between them; make one of them smaller")
        elif isinstance(one, CutOut) and isinstance(other, CutOut):
            sides = [cut.width_nm if cut.corner.left else width_nm - cut.width_nm for cut in (one, other)]
            if 0 < abs(sides[0] - sides[1]) < LEAST_OFFSET:
                problems.append(f"the sides of {names} are almost in line; line them up or set them {off} apart")
    return problems
