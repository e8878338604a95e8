"""What the boards of a platform come to, the parts of a run longer than the stock, and the gap boards are counted with.

All lengths are whole nanometres. The method is common practice.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

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


def split(length_nm: int, longest_nm: int, stops: Iterable[int]) -> tuple[int, ...]:
    """Return the parts of a run too long for one piece, each joint on one of ``stops``, as few parts as can be.

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
    return (*parts, length_nm - start)


def laid_gap_nm(decking: Decking) -> int:
    """The gap the boards are counted with: none where they are laid touching."""
    return 0 if decking.gap_intent is GapIntent.TIGHT else decking.gap_nm
