"""The parts of a drawing: shapes, spots and joists in whole nanometres, each in a layer.

Axes as everywhere: the house at the top, x from the left end, y from the back edge towards the yard.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from enum import StrEnum

from tracker.reports.drawing_marks import CheckNote, Mark
from tracker.trade.joistlines import OutlineFrame
from tracker.trade.lengths import Unit
from tracker.trade.outline import Facing
from tracker.trade.polygon import Point


class Layer(StrEnum):
    """What may be shown or left out; outline, stairs and dimensions are always there."""

    FRAME = "frame"
    SUPPORTS = "supports"
    BOARDS = "boards"
    CHECKS = "checks"


USUAL = frozenset({Layer.FRAME, Layer.SUPPORTS, Layer.CHECKS})
"""The layers shown when none is asked for: boards would hide the frame."""

_BELOW = frozenset({Layer.SUPPORTS, Layer.CHECKS})
_ON_TOP = frozenset({Layer.BOARDS, Layer.CHECKS})
_BY_PHASE = {
    **dict.fromkeys(
        ("old-deck", "layout", "strip", "drainage", "inspect-footings", "dig", "pads", "pour", "cure", "posts"), _BELOW
    ),
    **dict.fromkeys(
        (
            "board-gap",
            "boards",
            "guards",
            "electric",
            "site-close",
            "inspect-final",
            "final",
            "finish",
            "hand-over",
            "care",
        ),
        _ON_TOP,
    ),
}


def layers_of(phase: str) -> frozenset[Layer]:
    """The layers that matter in a phase of the template (common practice): first what goes in the ground, then the frame
    on it, then the boards; the usual ones before work begins.
    """
    return _BY_PHASE.get(phase, USUAL)


class What(StrEnum):
    """What a shape stands for; the value is its word in a legend."""

    RIM = "rim"
    LEDGER = "ledger"
    BLOCKING = "blocking"
    BEAM = "beam"
    BLOCK = "block"
    PAD = "pad"
    POST = "post"
    FOOTING = "footing"
    BOARD = "board"
    BORDER = "border board"
    SEAM = "board joint"
    SPLICE = "joint"
    SPLICE_PIECE = "splice piece"
    TREAD = "tread"
    GUARD = "guard"
    LEVEL = "level point"


@dataclass(frozen=True, slots=True)
class Shape:
    """A closed outline: its corners in nm, and the line down its middle."""

    what: What
    name: str
    layer: Layer
    points: tuple[Point, ...]
    start: Point
    end: Point
    mark: Mark = Mark.OPEN


@dataclass(frozen=True, slots=True)
class Spot:
    """A round or square part seen from above, ``size_nm`` across, with its middle at ``at``."""

    what: What
    name: str
    layer: Layer
    at: Point
    size_nm: int
    mark: Mark = Mark.OPEN


@dataclass(frozen=True, slots=True)
class DrawnJoist:
    """A joist line, numbered from the left: ``plies`` side by side between ``near_nm`` and ``far_nm``.

    ``pieces`` are the outlines of its joists; ``stretches`` where the line runs, (from, to) along y; ``at_nm`` is where
    a single line stands for it: on the outline's edge for a joist along an edge, else the middle.
    """

    number: int
    near_nm: int
    far_nm: int
    at_nm: int
    plies: int
    why: str
    pieces: tuple[tuple[Point, ...], ...]
    stretches: tuple[tuple[int, int], ...]
    mark: Mark = Mark.OPEN
    crown_nm: int | None = None


@dataclass(frozen=True, slots=True)
class Dimension:
    """A measured length along one side of the platform; ``level`` 0 stands next to it, 1 outside that."""

    side: Facing
    start_nm: int
    end_nm: int
    text: str
    level: int


@dataclass(frozen=True, slots=True)
class Flight:
    """A flight of stairs: its treads as shapes, and what it is."""

    name: str
    text: str
    treads: tuple[Shape, ...]


@dataclass(frozen=True, slots=True)
class Diagonal:
    """A diagonal between two corners of the full rectangle."""

    name: str
    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Drawing:
    """One platform drawn. ``low`` and ``high`` bound everything in it.

    ``corners`` are the letters A to D at the corners of the full rectangle; ``facts`` what the platform is, in short
    lines; ``notes`` what the plan cannot show; ``guard`` the lines a guard stands on.
    """

    title: str
    name: str
    unit: Unit
    width_nm: int
    depth_nm: int
    attached: bool
    low: Point
    high: Point
    outline: tuple[Point, ...]
    board_field: tuple[Point, ...]
    joists: tuple[DrawnJoist, ...]
    shapes: tuple[Shape, ...]
    spots: tuple[Spot, ...]
    flights: tuple[Flight, ...]
    guard: tuple[tuple[Point, Point], ...]
    dimensions: tuple[Dimension, ...]
    diagonals: tuple[Diagonal, ...]
    corners: Mapping[str, Point]
    facts: tuple[str, ...]
    notes: tuple[str, ...]
    checks: tuple[CheckNote, ...]
    frame: OutlineFrame

    def shown(self, layers: Collection[Layer]) -> tuple[Shape, ...]:
        """The shapes of these layers."""
        return tuple(shape for shape in self.shapes if shape.layer in layers)

    def spots_shown(self, layers: Collection[Layer]) -> tuple[Spot, ...]:
        """The spots of these layers."""
        return tuple(spot for spot in self.spots if spot.layer in layers)
