"""The deck boards of a platform, course by course: how many, how long, where they join and how many joists they cross.

Boards are trimmed flush with the frame at their ends. All lengths are whole nanometres. The method is common practice.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from tracker.trade.boardrun import boards_for
from tracker.trade.lengths import SIXTEENTH, round_up
from tracker.trade.spec import Decking, GapIntent

_ROOT2 = math.sqrt(2)


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


def straight_courses(
    run_nm: int, length_nm: int, decking: Decking, crossed_nm: Sequence[int], longest_nm: int
) -> Courses:
    """Boards of ``length_nm`` laid side by side over ``run_nm``; ``crossed_nm`` are the joists or rows under each.

    Boards longer than ``longest_nm`` are joined on those lines, every other course from the other end, so that joints
    do not stand in one row.
    """
    count = boards_for(run_nm, decking.width_nm, laid_gap_nm(decking)).count
    parts = split(length_nm, longest_nm, crossed_nm)
    pieces: Counter[int] = Counter()
    pieces.update({part: parts.count(part) * ((count + 1) // 2) for part in set(parts)})
    other = split(length_nm, longest_nm, [length_nm - line for line in crossed_nm])
    for part in other:
        pieces[part] += count // 2
    joints = (len(parts) - 1) * ((count + 1) // 2) + (len(other) - 1) * (count // 2)
    return Courses(count, +pieces, count * len(crossed_nm) + joints, joints)


def diagonal_courses(width_nm: int, depth_nm: int, decking: Decking, spacing_nm: int, longest_nm: int) -> Courses:
    """Boards at 45 degrees over a rectangle, each as long as its longer edge, up to the next 1/16 in.

    A course spans the strip between x + y = s and x + y = s + board x sqrt(2), with x along the width.
    """
    step = (decking.width_nm + laid_gap_nm(decking)) * _ROOT2
    strip = decking.width_nm * _ROOT2
    total = width_nm + depth_nm
    count = math.ceil((total + laid_gap_nm(decking) * _ROOT2) / step - 1e-9)
    joist_step = spacing_nm * _ROOT2
    most = math.floor(longest_nm / joist_step) * joist_step
    pieces: Counter[int] = Counter()
    crossings = joints = 0
    for course in range(count):
        low, high = course * step, min(course * step + strip, total)
        ends = [low, high, *(s for s in (width_nm, depth_nm) if low < s < high)]
        right = max(2 * min(width_nm, s) - s for s in ends)
        left = min(2 * max(0, s - depth_nm) - s for s in ends)
        length = (right - left) / _ROOT2
        whole, last = divmod(length, most) if length > longest_nm else (0, length)
        if whole:
            pieces[round_up(most, SIXTEENTH)] += int(whole)
        if last >= 1:
            pieces[round_up(last, SIXTEENTH)] += 1
        parts = int(whole) + (last >= 1)
        joints += parts - 1
        crossings += math.floor(length / joist_step) + 2 + parts - 1
    return Courses(count, pieces, crossings, joints)
