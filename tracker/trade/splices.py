"""Joists and rims longer than the stock: where their pieces meet and what holds the joint.

Joists butt over what carries them, with a splice piece nailed on beside the joint; a lap would set the front layout off
the back one. Rims butt on the middle of a joist, with a nailer on each side of it (none on a doubled joist, which is wide
enough); ledgers between two joists, so that no hanger straddles the joint. Common practice; that joists over a bearing are
lapped or spliced is from memory: IRC R502.6.1. All lengths are whole nanometres.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise

from tracker.trade.courses import split
from tracker.trade.joistlines import Joist, JoistLine, OutlineFrame, Rim, RimJoint, RimKind, SplicePiece
from tracker.trade.lengths import INCH, MM
from tracker.trade.polygon import root2

SPLICE_PIECE = {False: 24 * INCH, True: 600 * MM}
"""A splice piece beside the joint of a joist, half on each side; by whether the lumber is metric (common practice)."""
NAILER = {False: 12 * INCH, True: 300 * MM}
"""A nailer beside the joist a rim is joined on (common practice)."""
SPLICE_NAILS = 6
"""Face nails of a splice piece, three on each side of the joint: IRC R502.6.1 asks three for a lap (from memory)."""
NAILER_NAILS = 4
"""Face nails of a nailer (common practice)."""


def spliced(frame: OutlineFrame, longest_nm: int, held_nm: Iterable[int], metric: bool) -> OutlineFrame:
    """The frame with every member longer than ``longest_nm`` joined.

    ``held_nm`` are the places (y) where joists may be joined.
    """
    stops = tuple(held_nm)
    joists = tuple(_joist(joist, longest_nm, stops) for joist in frame.joists)
    rims = tuple(_rim(frame, rim, longest_nm) for rim in frame.rims)
    if joists == frame.joists and rims == frame.rims:
        return frame
    pieces = [piece for joist in joists for piece in _beside(joist, frame.joist_lines, SPLICE_PIECE[metric])]
    pieces += [piece for rim in rims for piece in _nailers(rim, frame, NAILER[metric])]
    return replace(frame, joists=joists, rims=rims, splice_pieces=tuple(pieces))


def _joints(parts: Iterable[int]) -> list[int]:
    """Where parts laid end to end meet, from the first one's start."""
    *ends, _ = parts
    return [sum(ends[: k + 1]) for k in range(len(ends))]


def _joist(joist: Joist, longest: int, stops: Iterable[int]) -> Joist:
    parts = split(joist.length_nm, longest, [y - joist.start_nm for y in stops])
    return replace(joist, joints_nm=tuple(joist.start_nm + at for at in _joints(parts)))


def _rim(frame: OutlineFrame, rim: Rim, longest: int) -> Rim:
    if rim.length_nm <= longest:
        return rim
    left = min(rim.edge.start[0], rim.edge.end[0])
    lines = sorted({joist.line for joist in frame.joists_on(rim)}, key=lambda line: line.near_nm)
    if rim.kind is RimKind.LEDGER:
        places = {
            (before.far_nm + after.near_nm) // 2: (before.number, after.number) for before, after in pairwise(lines)
        }
    else:
        places = {line.centre_nm: (line.number, line.number) for line in lines}
    along = {(root2(x - left) if rim.kind is RimKind.ANGLED else x - left): joists for x, joists in places.items()}
    joints = _joints(split(rim.length_nm, longest, along))
    return replace(rim, joints=tuple(RimJoint(at, *along.get(at, (0, 0))) for at in joints))


def _beside(joist: Joist, lines: Iterable[JoistLine], length: int) -> Iterable[SplicePiece]:
    """The splice pieces of a joist, on a side where no other joist stands."""
    thick, line = joist.line.thickness_nm, joist.line
    right, left = (joist.near_nm + thick, joist.near_nm + 2 * thick), (joist.near_nm - thick, joist.near_nm)
    first = joist.near_nm == line.near_nm and line.plies > 1
    others = tuple(lines)
    wanted = [left, right] if first else [right, left]
    inside = [side for side in wanted if others[0].near_nm <= side[0] and side[1] <= others[-1].far_nm]
    free = [side for side in inside if not any(side[0] < one.far_nm and one.near_nm < side[1] for one in others)]
    near, far = (free or inside)[0]
    for y in joist.joints_nm:
        a, b = max(y - length // 2, joist.start_nm), min(y + length // 2, joist.end_nm)
        yield SplicePiece(((near, a), (far, a), (far, b), (near, b)), b - a, SPLICE_NAILS)


def _nailers(rim: Rim, frame: OutlineFrame, length: int) -> Iterable[SplicePiece]:
    by_number = {line.number: line for line in frame.joist_lines}
    for joint in rim.joints:
        line = by_number.get(joint.left)
        if joint.left != joint.right or line is None or line.plies > 1:
            continue
        thick = line.thickness_nm
        run = next(joist for joist in frame.joists_on(rim) if joist.line == line)
        a, b = (run.start_nm, run.start_nm + length) if rim.edge.at_back else (run.end_nm - length, run.end_nm)
        for near, far in ((line.near_nm - thick, line.near_nm), (line.far_nm, line.far_nm + thick)):
            yield SplicePiece(((near, a), (far, a), (far, b), (near, b)), length, NAILER_NAILS)
