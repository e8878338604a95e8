"""What the boards of a platform come to, the parts of a run longer than the stock, and the gap boards are counted with.

All lengths are whole nanometres. The method is common practice.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from tracker.trade.lengths import FOOT
from tracker.trade.spec import Decking, GapIntent


@dataclass(frozen=True, slots=True)
class Courses:
    """The boards of one platform: ``pieces`` is how many of each cut length; ``crossings`` counts board over joist.

    A joint of two boards on one joist is two crossings, since each end takes its own screws.
    """

    count: int
    pieces: Mapping[int, int]
    crossings: int
    joints: int

    @property
    def boards(self) -> int:
        """Cut boards in all."""
        return sum(self.pieces.values())


STUB = 4 * FOOT
"""No part of a run is left shorter where the parts can be balanced instead (common practice)."""


def split(length_nm: int, longest_nm: int, stops: Iterable[int]) -> tuple[int, ...]:
    """Return the parts of a run too long for one piece, each joint on one of ``stops``, as few parts as can be.

    Whole pieces come first; where that leaves a last part shorter than ``STUB``, the parts are as even as the stops allow.
    Where no stop is within reach the joint falls at ``longest_nm``: it needs a support of its own.
    """
    places = sorted({stop for stop in stops if 0 < stop < length_nm})
    parts: list[int] = []
    start = 0
    while length_nm - start > longest_nm:
        index = bisect_right(places, start + longest_nm) - 1
        end = places[index] if index >= 0 and places[index] > start else start + longest_nm
        parts.append(end - start)
        start = end
    parts.append(length_nm - start)
    if len(parts) > 1 and parts[-1] < STUB and (even := balanced(length_nm, longest_nm, places, len(parts))):
        return even
    return tuple(parts)


def balanced(length_nm: int, longest_nm: int, stops: Iterable[int], number: int) -> tuple[int, ...]:
    """``number`` parts of a run, each joint on one of ``stops`` and none longer than ``longest_nm``, the shortest as long as
    can be; of those alike the longest as short as can be. Empty where the stops do not allow it.
    """
    best: dict[int, tuple[tuple[int, int], tuple[int, ...]]] = {0: ((length_nm, 0), ())}
    ends = sorted({stop for stop in stops if 0 < stop < length_nm})
    for k in range(1, number + 1):
        reached: dict[int, tuple[tuple[int, int], tuple[int, ...]]] = {}
        for end in [length_nm] if k == number else ends:
            for start, ((short, long), parts) in best.items():
                part = end - start
                if 0 < part <= longest_nm:
                    found = ((min(short, part), -max(-long, part)), (*parts, part))
                    reached[end] = max(reached.get(end, found), found)
        best = reached
    return best[length_nm][1] if length_nm in best else ()


def laid_gap_nm(decking: Decking) -> int:
    """The gap the boards are counted with: none where they are laid touching."""
    return 0 if decking.gap_intent is GapIntent.TIGHT else decking.gap_nm
