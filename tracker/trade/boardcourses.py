"""Deck boards over any outline, straight, at 45 degrees or along the joists, with or without a mitred border round them.

Boards are laid from the back (from the back left corner at 45 degrees, from the left along the joists). A board too long
for the stock is joined on doubled joists (doubled rows of blocking where boards run along the joists), and neighbouring
courses take turns on two sets of them, so that their joints are one joist bay apart at least. Lengths are whole
nanometres, cut lengths at 45 degrees up to the next 1/16 in between the long points. The method is common practice.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, pairwise

from tracker.trade.courses import balanced, laid_gap_nm, split
from tracker.trade.lengths import SIXTEENTH, round_up
from tracker.trade.outline import Facing, Line2D, LineKind, Outline
from tracker.trade.polygon import Patch, Point, RingPiece, offset, patches, ring, root2
from tracker.trade.spec import Decking

SLIVER = 4 * SIXTEENTH
"""A rest no wider than this, a gap's width, takes no board of its own: the courses before it are spread over it (common practice)."""
_ROUNDING = 4
"""What the roots of one board may be off, in nm: no wood."""


@dataclass(frozen=True, slots=True)
class Board:
    """One board run of a course, cut from ``pieces_nm``, joined on the supports at ``joints_nm``.

    ``patch`` is its place in the axes of the boards (across, along); ``crossings`` counts the supports under it, a joint
    twice, since each end takes its own screws.
    """

    course: int
    patch: Patch
    pieces_nm: tuple[int, ...]
    joints_nm: tuple[int, ...]
    crossings: int


@dataclass(frozen=True, slots=True)
class BorderPiece:
    """One mitred board of the border along an edge, from ``pieces_nm``; see ``RingPiece``."""

    ring: RingPiece
    pieces_nm: tuple[int, ...]
    crossings: int


@dataclass(frozen=True, slots=True)
class BorderSupport:
    """What the frame needs under the inner edge of a border, where field boards end against it.

    ``joists_nm`` are centre lines of doubled joists; ``rows`` are (y, from x, to x) of doubled blocking; ``angled`` the
    end points of doubled blocking along clipped corners.
    """

    joists_nm: tuple[int, ...] = ()
    rows: tuple[tuple[int, int, int], ...] = ()
    angled: tuple[tuple[Point, Point], ...] = ()


@dataclass(frozen=True, slots=True)
class Supports:
    """What boards lie on: ``lines_nm`` are centre lines of joists (x), or of blocking rows (y) for boards along the joists.

    ``stops_nm`` are those that may be doubled for a joint; ``thickness_nm`` and ``spacing_nm`` are the joists'.
    """

    lines_nm: tuple[int, ...]
    stops_nm: tuple[int, ...]
    thickness_nm: int
    spacing_nm: int


@dataclass(frozen=True, slots=True)
class BoardLayout:
    """All boards of a platform. ``seams_nm`` are the supports to double for the joints."""

    decking: Decking
    boards: tuple[Board, ...]
    border: tuple[BorderPiece, ...]
    seams_nm: tuple[int, ...]

    @property
    def courses(self) -> int:
        """Courses of field boards."""
        return len({board.course for board in self.boards})

    @property
    def parts(self) -> tuple[Board | BorderPiece, ...]:
        """Field boards and border boards."""
        return (*self.boards, *self.border)

    @property
    def pieces(self) -> Mapping[int, int]:
        """How many of each cut length, the border's included."""
        return Counter(length for part in self.parts for length in part.pieces_nm)

    @property
    def cut_boards(self) -> int:
        """Cut boards in all."""
        return sum(len(part.pieces_nm) for part in self.parts)

    @property
    def joints(self) -> int:
        """Butt joints, the border's included."""
        return self.cut_boards - len(self.parts)

    @property
    def crossings(self) -> int:
        """Places to screw: boards over supports, a joint counted twice."""
        return sum(part.crossings for part in self.parts)

    @property
    def waste_share(self) -> Fraction:
        """The share of the cut pieces that angled ends, rips and cut-outs take, 0 to 1; stock offcuts are not in it."""
        bought = sum(length * number for length, number in self.pieces.items()) * self.decking.width_nm
        return 1 - self.laid_nm2 / bought

    @property
    def laid_nm2(self) -> Fraction:
        """The area of the boards as laid, without the gaps."""
        scale = 4 if self.decking.angle_deg == 45 else 2
        field = sum((Fraction(board.patch.area2, scale) for board in self.boards), Fraction(0))
        return field + sum((self._mitred(piece.ring) for piece in self.border), Fraction(0))

    def _mitred(self, piece: RingPiece) -> Fraction:
        """Area of a border board: its middle length by its width; a square mitre takes width/2 off each end."""
        width = self.decking.width_nm
        off = {0: Fraction(0), 225: Fraction(root2(width) - width, 2), 450: Fraction(width, 2)}
        return width * (piece.length_nm - off[piece.mitre_start_tenths] - off[piece.mitre_end_tenths])

    def lines(self) -> tuple[Line2D, ...]:
        """Each board's middle line, the border's outer edges and a tick at each joint, for a drawing."""
        angle, found = self.decking.angle_deg, []
        for board in self.boards:
            patch = board.patch
            across = (patch.low + patch.high) // 2
            ends = ((patch.lo + patch.lo_short) // 2, (patch.hi + patch.hi_short) // 2)
            start, end = (_on_plan((across, along), angle) for along in ends)
            found.append(Line2D(*start, *end, LineKind.BOARD))
            for support in board.joints_nm:
                along = across - 2 * support if angle == 45 else support
                one, other = (_on_plan((side, along), angle) for side in (patch.low, patch.high))
                found.append(Line2D(*one, *other, LineKind.SEAM))
        found += [Line2D(*piece.ring.start, *piece.ring.end, LineKind.BORDER) for piece in self.border]
        return tuple(found)


def _along_boards(point: Point, angle_deg: int) -> Point:
    """A point of the plan as (across, along) the boards; at 45 degrees both are times the square root of 2."""
    x, y = point
    if angle_deg == 45:
        return (x + y, y - x)
    return (x, y) if angle_deg == 90 else (y, x)


def _on_plan(point: Point, angle_deg: int) -> Point:
    across, along = point
    if angle_deg == 45:
        return ((across - along) // 2, (across + along) // 2)
    return (across, along) if angle_deg == 90 else (along, across)


def board_edge(outline: Outline, overhang_nm: int, attached: bool) -> tuple[Point, ...]:
    """The outer edge of the boards: ``overhang_nm`` past the frame, but not where the house stands."""
    return outline.moved(lambda edge: 0 if edge.against_house(attached) else overhang_nm)


def border_support(outline: Outline, decking: Decking, overhang_nm: int = 0, attached: bool = False) -> BorderSupport:
    """What to add to the frame under the inner edge of a border, in the gap between it and the field boards."""
    inset = 2 * (decking.width_nm - overhang_nm) + laid_gap_nm(decking)
    at_house = 2 * decking.width_nm + laid_gap_nm(decking)
    inner = outline.moved(lambda edge: -((at_house if edge.against_house(attached) else inset) // 2))
    joists: list[int] = []
    rows: list[tuple[int, int, int]] = []
    angled: list[tuple[Point, Point]] = []
    for k, edge in enumerate(outline.edges):
        start, end = inner[k], inner[(k + 1) % len(inner)]
        if edge.facing is Facing.ANGLED:
            angled.append((start, end))
        elif edge.facing in (Facing.LEFT, Facing.RIGHT):
            # Boards along the joists lie on rows that run on under the border: nothing to add at the sides.
            joists += [start[0]] if decking.angle_deg != 90 else []
        elif decking.angle_deg:
            rows.append((start[1], min(start[0], end[0]), max(start[0], end[0])))
    return BorderSupport(tuple(sorted(set(joists))), tuple(sorted(rows)), tuple(angled))


def lay_boards(
    outline: Outline,
    decking: Decking,
    supports: Supports,
    longest_nm: int,
    *,
    overhang_nm: int = 0,
    border: bool = False,
    attached: bool = False,
) -> BoardLayout:
    """Lay the boards over an outline: every course, its cut pieces and its joints.

    ``longest_nm`` is the longest stock. Raises InputError through ``Outline`` only: sizes are checked before.
    """
    angle, gap = decking.angle_deg, laid_gap_nm(decking)
    edge = board_edge(outline, overhang_nm, attached)
    pieces: tuple[BorderPiece, ...] = ()
    field = edge
    if border:
        pieces = tuple(_border(part, supports, longest_nm, angle, overhang_nm) for part in ring(edge, decking.width_nm))
        field = offset(edge, [-decking.width_nm - gap] * len(edge))
    points = [_along_boards(point, angle) for point in field]
    over = 0 if border else overhang_nm
    seams = _seam_lines(field, supports, longest_nm, decking)
    boards: list[Board] = []
    first, last = min(u for u, _ in points), max(u for u, _ in points)
    course = 0
    while (low := first + _scaled(course * (decking.width_nm + gap), angle)) < last - _scaled(SLIVER, angle):
        before = {joint for board in boards if board.course == course - 1 for joint in board.joints_nm}
        for patch in patches(points, low, low + _scaled(decking.width_nm, angle)):
            own = _board(course, patch, seams[course % 2], supports, longest_nm, decking, over)
            if min(own.pieces_nm) < 2 * supports.spacing_nm and own.joints_nm:
                own = _clear_of_stubs(own, seams, before, supports, longest_nm, decking, over)
            boards.append(own)
        course += 1
    used = tuple(sorted({joint for board in boards for joint in board.joints_nm}))
    return BoardLayout(decking, tuple(boards), pieces, used)


def _clear_of_stubs(
    own: Board,
    seams: tuple[Sequence[int], Sequence[int]],
    before: Collection[int],
    supports: Supports,
    longest_nm: int,
    decking: Decking,
    over: int,
) -> Board:
    """A board run shorter than the others, whose usual joints leave a stub: joined on any support at least a bay from the
    joints of the course before and of the one after, where that leaves a longer piece.
    """
    taken = (*before, *seams[(own.course + 1) % 2])
    places = sorted({*supports.stops_nm, *seams[own.course % 2]})
    clear = [place for place in places if all(abs(place - joint) >= supports.spacing_nm for joint in taken)]
    other = _board(own.course, own.patch, clear, supports, longest_nm, decking, over)
    fits = set(other.joints_nm) <= set(clear) and min(other.pieces_nm) > min(own.pieces_nm)
    return other if fits else own


def _scaled(nm: int, angle_deg: int) -> int:
    return root2(nm) if angle_deg == 45 else nm


def _cut_nm(along: int, angle_deg: int) -> int:
    """The length to cut for a stretch in the axes of the boards."""
    return along if angle_deg != 45 else round_up(Fraction(root2(along), 2) - _ROUNDING, SIXTEENTH)


def _board(
    course: int,
    patch: Patch,
    seams: Sequence[int],
    supports: Supports,
    longest_nm: int,
    decking: Decking,
    over_nm: int,
) -> Board:
    """One board run; ``over_nm`` is how far its ends stand past the frame."""
    angle, beside = decking.angle_deg, supports.thickness_nm + over_nm
    middle, strip = (patch.low + patch.high) // 2, patch.high - patch.low
    whole = _cut_nm(patch.hi - patch.lo, angle)
    if angle == 45:
        # A joint over a joist is cut along it, so each piece reaches half a board's width past the middle.
        reach, past, near = root2(longest_nm - decking.width_nm), strip // 2, strip // 2 + 2 * beside
        lines = [middle - 2 * line for line in reversed(supports.lines_nm)]
        stops = [middle - 2 * seam for seam in reversed(seams)]
    else:
        reach, past, near = longest_nm, 0, beside
        lines, stops = list(supports.lines_nm), list(seams)
    joints: tuple[int, ...] = ()
    pieces: tuple[int, ...] = (whole,)
    if whole > longest_nm:
        run = (patch.lo + past, patch.hi - past)
        joints = max(_chains(*run, stops, reach), key=lambda chain: (-len(chain), min(_parts(run, chain))))
        pieces = tuple(_cut_nm(part + 2 * past, angle) for part in _parts(run, joints))
    crossings = _crossed(patch.lo, patch.hi, lines, near) + len(joints)
    at = [(middle - joint) // 2 for joint in joints] if angle == 45 else joints
    return Board(course, patch, pieces, tuple(sorted(at)), crossings)


def _parts(run: tuple[int, int], joints: Sequence[int]) -> list[int]:
    return [after - before for before, after in pairwise((run[0], *joints, run[1]))]


def _crossed(lo: int, hi: int, lines: Sequence[int], near: int) -> int:
    """Supports under a run: the lines it crosses, and the rim under an end that has no line beside it."""
    count = bisect_right(lines, hi + near) - bisect_left(lines, lo - near)
    for end in (lo, hi):
        index = bisect_left(lines, end - near)
        count += index == len(lines) or lines[index] > end + near
    return count


def _border(part: RingPiece, supports: Supports, longest_nm: int, angle_deg: int, over_nm: int) -> BorderPiece:
    """A border board: joined over the supports it crosses; along a joist, over blocking a whole spacing apart."""
    (x, y), (x2, y2) = part.start, part.end
    start, end = sorted((x, x2) if y == y2 else (y, y2))
    lines: Sequence[int] = range(start + supports.spacing_nm, end, supports.spacing_nm)
    if (y == y2 and angle_deg != 90) or (x == x2 and angle_deg == 90):
        lines = supports.lines_nm
    stops = [line - start if y == y2 or x == x2 else root2(line - start) for line in lines]
    pieces = split(part.length_nm, longest_nm, stops)
    return BorderPiece(part, pieces, _crossed(start, end, lines, supports.thickness_nm + over_nm) + len(pieces) - 1)


def _seam_lines(
    field: Sequence[Point], supports: Supports, longest_nm: int, decking: Decking
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The supports to double for the joints of even and of odd courses, measured as the supports are."""
    place = 1 if decking.angle_deg == 90 else 0
    low, high = min(p[place] for p in field), max(p[place] for p in field)
    reach = longest_nm
    if decking.angle_deg == 45:
        reach = root2(longest_nm - decking.width_nm) // 2 - _ROUNDING
    return seam_lines(low, high, supports.stops_nm, reach, supports.spacing_nm)


def seam_lines(
    low: int, high: int, stops: Iterable[int], reach: int, apart: int
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Two sets of joints over ``low``..``high``, no stretch longer than ``reach``, no joint in both.

    As few joints as can be, and of those the ones that leave the shortest board longest: lengths are balanced, with no stub
    at an end (common practice). ``apart`` is the usual distance of two stops. No board is left shorter than two of them, so
    that each lies on three supports, where that can be (common practice). Where no stop is within reach a joint falls where
    it must: it needs a support of its own.
    """
    if high - low <= reach:
        return (), ()
    free = sorted({stop for stop in stops if low + 2 * apart <= stop <= high - 2 * apart})
    chosen: list[tuple[tuple[int, int, int], tuple[int, ...], tuple[int, ...]]] = []
    for one in _chains(low, high, free, reach):
        left = [stop for stop in free if stop not in one]
        for other in _chains(low, high, left, reach):
            if set(one) & set(other):
                other = _chain_clear(low, high, left, reach, one, apart)
            odd = sum(joint not in free for joint in (*one, *other))
            shortest = min(
                after - before for joints in (one, other) for before, after in pairwise((low, *joints, high))
            )
            chosen.append(((odd, len(one) + len(other), -shortest), one, other))
    _, one, other = min(chosen)
    return one, other


def _chains(low: int, high: int, stops: Sequence[int], reach: int) -> tuple[tuple[int, ...], ...]:
    """Ways to join a run on the stops with as few joints as can be: from either end, and balanced."""
    found = (_chain(low, high, stops, reach), _chain_back(low, high, stops, reach))
    even = balanced(high - low, reach, [stop - low for stop in stops], len(found[0]) + 1)
    return (*found, tuple(low + place for place in accumulate(even[:-1]))) if even else found


def _chain(low: int, high: int, stops: Sequence[int], reach: int) -> tuple[int, ...]:
    parts = split(high - low, reach, [stop - low for stop in stops])
    return tuple(low + place for place in accumulate(parts[:-1]))


def _chain_clear(
    low: int, high: int, stops: Sequence[int], reach: int, taken: Sequence[int], apart: int
) -> tuple[int, ...]:
    """The same where stops are missing, each joint that falls where it must ``apart`` from those taken."""
    found: list[int] = []
    start = low
    while high - start > reach:
        place = max((stop for stop in stops if start < stop <= start + reach), default=None)
        if place is None:
            place = start + reach
            near = [joint for joint in taken if abs(joint - place) < apart]
            place = min([place, *(joint - apart for joint in near if joint - apart > start)])
        found.append(place)
        start = place
    return tuple(found)


def _chain_back(low: int, high: int, stops: Sequence[int], reach: int) -> tuple[int, ...]:
    """The same from the far end."""
    return tuple(-joint for joint in reversed(_chain(-high, -low, [-stop for stop in stops], reach)))
