"""The frame inside any outline: joist lines and what each is cut to, rims along every edge, doubled joists, blocking.

Joists run from the back to the front between the rims; those along an edge carry the rims' ends. A cut-out's sides get
doubled joists, since they carry the rim inside it; so does every line where deck boards are joined or end against a
border. At a clipped corner the angled rim meets its neighbours on mitres of 22-1/2 degrees, and the joists that run into
it are cut at 45. Lengths are whole nanometres between long points. The method is common practice: what a member may
span or carry is for the span figures, the adopted local code and a licensed professional.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise

from tracker.trade.boardcourses import BoardLayout, BorderSupport, Supports, border_support, lay_boards
from tracker.trade.layout import least_clear_nm, set_between
from tracker.trade.outline import CutOut, Edge, Facing, Line2D, LineKind, Outline
from tracker.trade.polygon import Point, mitre_tenths, patches, root2
from tracker.trade.spec import Decking, Joists

SQUARE = 90


class Why(StrEnum):
    """What a joist line or a row of blocking is there for."""

    LAYOUT = "layout"
    EDGE = "edge"
    CUT_OUT = "side of the cut-out"
    SEAM = "board joints"
    BORDER = "border"


@dataclass(frozen=True, slots=True)
class JoistLine:
    """Joists side by side: ``plies`` of them from the near (left) edge ``near_nm``.

    ``number`` counts the lines of a platform from its left end, from 1: the joist's number on every plan, tape and check.
    """

    near_nm: int
    plies: int
    thickness_nm: int
    why: Why
    number: int = 0

    @property
    def far_nm(self) -> int:
        """The right edge."""
        return self.near_nm + self.plies * self.thickness_nm

    @property
    def centre_nm(self) -> int:
        """The centre line of the whole."""
        return (self.near_nm + self.far_nm) // 2


@dataclass(frozen=True, slots=True)
class Joist:
    """One joist: left edge ``near_nm``, from ``start_nm`` to ``end_nm`` (y, long points), its end cuts in tenths of a
    degree off square. Where it is longer than the stock its pieces meet at ``joints_nm`` (y).
    """

    near_nm: int
    start_nm: int
    end_nm: int
    cut_start_tenths: int
    cut_end_tenths: int
    line: JoistLine
    joints_nm: tuple[int, ...] = ()

    @property
    def length_nm(self) -> int:
        """From end to end, joints or not."""
        return self.end_nm - self.start_nm

    @property
    def parts_nm(self) -> tuple[int, ...]:
        """What its pieces are cut to, from the back."""
        return tuple(b - a for a, b in pairwise((self.start_nm, *self.joints_nm, self.end_nm)))


class RimKind(StrEnum):
    """What stands along an edge across the joists."""

    LEDGER = "ledger"
    RIM = "rim"
    INNER = "rim inside the cut-out"
    ANGLED = "angled rim"


@dataclass(frozen=True, slots=True)
class RimJoint:
    """Where two pieces of a rim meet, ``at_nm`` from its left end: on the joist numbered ``left`` and ``right`` alike, or
    between two; 0 where there is none.
    """

    at_nm: int
    left: int
    right: int

    def __str__(self) -> str:
        if not self.left:
            return "where no joist stands: give it a block behind"
        return f"on joist {self.left}" if self.left == self.right else f"between joists {self.left} and {self.right}"


@dataclass(frozen=True, slots=True)
class SplicePiece:
    """A piece nailed beside a joint with ``nails``: ``points`` as seen from above."""

    points: tuple[Point, ...]
    length_nm: int
    nails: int


@dataclass(frozen=True, slots=True)
class Rim:
    """A rim, ledger or angled rim along an edge; ``length_nm`` between long points, mitres in tenths of a degree."""

    edge: Edge
    kind: RimKind
    length_nm: int
    mitre_start_tenths: int
    mitre_end_tenths: int
    joints: tuple[RimJoint, ...] = ()

    @property
    def parts_nm(self) -> tuple[int, ...]:
        """What its pieces are cut to, from its left end."""
        return tuple(b - a for a, b in pairwise((0, *(joint.at_nm for joint in self.joints), self.length_nm)))


@dataclass(frozen=True, slots=True)
class Row:
    """A row of blocking, ``plies`` deep, along the line from ``start`` to ``end``: ``pieces_nm`` cut lengths of one ply."""

    start: Point
    end: Point
    plies: int
    why: Why
    pieces_nm: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class OutlineFrame:
    """The frame of one platform: its lines from left to right, joists, rims in the order of the edges, blocking, and what
    holds the joints of members longer than the stock.
    """

    outline: Outline
    joist_lines: tuple[JoistLine, ...]
    joists: tuple[Joist, ...]
    rims: tuple[Rim, ...]
    rows: tuple[Row, ...]
    splice_pieces: tuple[SplicePiece, ...] = ()

    @property
    def blocking_nm(self) -> tuple[int, ...]:
        """The length of every piece of blocking."""
        return tuple(length for row in self.rows for length in row.pieces_nm * row.plies)

    def joists_on(self, rim: Rim) -> tuple[Joist, ...]:
        """The joists that end on a rim, from left to right."""
        left, right = sorted((rim.edge.start[0], rim.edge.end[0]))
        half = self.joists[0].line.thickness_nm // 2
        return tuple(joist for joist in self.joists if left <= joist.near_nm + half < right)

    @property
    def hung(self) -> frozenset[Joist]:
        """The joists that hang on a ledger."""
        ledgers = (rim for rim in self.rims if rim.kind is RimKind.LEDGER)
        return frozenset(joist for rim in ledgers for joist in self.joists_on(rim))

    def lines(self) -> tuple[Line2D, ...]:
        """Joist centre lines, rims and blocking for a drawing."""
        found = [Line2D(*rim.edge.start, *rim.edge.end, LineKind.RIM) for rim in self.rims]
        for joist in self.joists:
            x = joist.near_nm + joist.line.thickness_nm // 2
            found.append(Line2D(x, joist.start_nm, x, joist.end_nm, LineKind.JOIST))
        found += [Line2D(*row.start, *row.end, LineKind.BLOCKING) for row in self.rows]
        return tuple(found)


@dataclass(frozen=True, slots=True)
class OutlinePlan:
    """Frame and boards of one platform, each fitted to the other."""

    frame: OutlineFrame
    boards: BoardLayout

    def lines(self) -> tuple[Line2D, ...]:
        """Everything for a drawing of the plan."""
        return (*self.frame.outline.lines(), *self.frame.lines(), *self.boards.lines())


def plan_outline(
    outline: Outline,
    joists: Joists,
    decking: Decking,
    marks_nm: Sequence[int],
    rows_nm: Sequence[int],
    longest_nm: int,
    *,
    overhang_nm: int = 0,
    border: bool = False,
    attached: bool = False,
) -> OutlinePlan:
    """Lay the boards over the joists of an outline, then double the joists or rows their joints land on.

    ``marks_nm`` are joist centre lines over the full width (``layout.joist_marks``), ``rows_nm`` the blocking rows (y),
    ``longest_nm`` the longest deck board sold.
    """
    thick = joists.thickness_nm
    support = border_support(outline, decking, overhang_nm, attached) if border else BorderSupport()
    lines = joist_lines(outline, marks_nm, thick, joists.spacing_nm, border_nm=support.joists_nm)
    along = decking.angle_deg == SQUARE
    if along:
        stops = tuple(rows_nm)
        places = tuple(sorted({*rows_nm, *(y for y, _, _ in support.rows)}))
    else:
        places = tuple(line.centre_nm for line in lines)
        stops = _free(lines, thick + least_clear_nm(joists.spacing_nm, thick), joists.spacing_nm)
    under = Supports(places, stops, thick, joists.spacing_nm)
    boards = lay_boards(outline, decking, under, longest_nm, overhang_nm=overhang_nm, border=border, attached=attached)
    if not along:
        lines = joist_lines(
            outline, marks_nm, thick, joists.spacing_nm, seams_nm=boards.seams_nm, border_nm=support.joists_nm
        )
    seam_rows = boards.seams_nm if along else ()
    return OutlinePlan(frame_outline(outline, lines, thick, rows_nm, seam_rows, support, attached), boards)


def _free(lines: Sequence[JoistLine], room: int, spacing: int) -> tuple[int, ...]:
    """Layout joists with ``room`` on both sides of their middle, enough for a second one beside each.

    Those in the middle of a bay, less than the spacing from both neighbors, are left out: joints beside one another would
    stand nearer than a bay.
    """
    found = []
    for before, line, after in zip(lines, lines[1:], lines[2:], strict=False):
        centre = line.centre_nm
        amid = max(centre - before.centre_nm, after.centre_nm - centre) < spacing
        if line.why is Why.LAYOUT and not amid and centre - before.far_nm >= room and after.near_nm - centre >= room:
            found.append(centre)
    return tuple(found)


def joist_lines(
    outline: Outline,
    marks_nm: Sequence[int],
    thickness_nm: int,
    spacing_nm: int,
    *,
    seams_nm: Iterable[int] = (),
    border_nm: Iterable[int] = (),
) -> tuple[JoistLine, ...]:
    """The joist lines of an outline from left to right, numbered: layout, edges, cut-outs, board joints, border.

    Doubled joists are centered on ``seams_nm`` and ``border_nm``; beside joists that stand there already a border takes one
    more under the ends of the boards inside it. Layout joists go between as ``layout.set_between`` says: none against
    another line. Lines that would touch all the same are one, with the plies of both.
    """
    thick = thickness_nm
    first, *inner, last = (mark - thick // 2 for mark in marks_nm)
    fixed = [JoistLine(first, 1, thick, Why.EDGE), JoistLine(last, 1, thick, Why.EDGE)]
    for edge in outline.edges:
        if isinstance(edge.cut, CutOut) and edge.facing in (Facing.LEFT, Facing.RIGHT):
            near = edge.start[0] - (2 * thick if edge.facing is Facing.RIGHT else 0)
            fixed.append(JoistLine(near, 2, thick, Why.CUT_OUT))
    fixed += [JoistLine(seam - thick, 2, thick, Why.SEAM) for seam in seams_nm]
    standing = tuple(fixed)
    fixed += [_under_border(centre, standing, thick) for centre in border_nm]
    fixed = _grown_together(fixed)
    for before, after in pairwise(tuple(fixed)):
        nears = set_between(before.far_nm, after.near_nm, inner, spacing_nm, thick)
        fixed += [JoistLine(near, 1, thick, Why.LAYOUT) for near in nears]
    in_order = sorted(fixed, key=lambda line: line.near_nm)
    return tuple(replace(line, number=number) for number, line in enumerate(in_order, 1))


def _under_border(centre: int, standing: Sequence[JoistLine], thick: int) -> JoistLine:
    """What stands under the joint between a border and the boards inside it.

    Two joists side by side. Beside a line nearer than a joist's thickness, and beside doubled joists, which carry the border
    board already, it is one joist, under the ends of the boards inside (common practice).
    """
    pair = JoistLine(centre - thick, 2, thick, Why.BORDER)
    nearest = min(standing, key=lambda line: max(pair.near_nm - line.far_nm, line.near_nm - pair.far_nm))
    clear = max(pair.near_nm - nearest.far_nm, nearest.near_nm - pair.far_nm)
    if clear >= (thick if nearest.plies == 1 else 2 * thick):
        return pair
    return JoistLine(centre if nearest.centre_nm < centre else centre - thick, 1, thick, Why.BORDER)


def _grown_together(lines: Iterable[JoistLine]) -> list[JoistLine]:
    """The lines from left to right, those that touch or overlap as one of enough plies to reach from side to side."""
    found: list[JoistLine] = []
    for line in sorted(lines, key=lambda line: (line.near_nm, line.far_nm)):
        if not found or line.near_nm > found[-1].far_nm:
            found.append(line)
            continue
        before = found.pop()
        wide = max(before.far_nm, line.far_nm) - before.near_nm
        plies = max(before.plies, line.plies, wide // line.thickness_nm)
        # The right side of a platform or of a cut-out stays where it is: its joist is flush with it.
        near = max(before.far_nm, line.far_nm) - plies * line.thickness_nm
        if before.why in (Why.EDGE, Why.CUT_OUT) and line.why not in (Why.EDGE, Why.CUT_OUT):
            near = before.near_nm
        why = before.why if before.why in (Why.EDGE, Why.CUT_OUT) else line.why
        found.append(JoistLine(near, plies, line.thickness_nm, why))
    return found


def frame_outline(
    outline: Outline,
    lines: tuple[JoistLine, ...],
    thickness_nm: int,
    rows_nm: Iterable[int] = (),
    seam_rows_nm: Iterable[int] = (),
    border: BorderSupport | None = None,
    attached: bool = False,
) -> OutlineFrame:
    """Cut the joists of ``lines`` to the outline between its rims and add the rims and the rows of blocking."""
    inside = outline.moved(lambda edge: 0 if edge.facing in (Facing.LEFT, Facing.RIGHT) else -thickness_nm)
    joists = tuple(joist for line in lines for joist in _joists(line, inside, outline.edges))
    seams = set(seam_rows_nm)
    rows = [_row(y, 2 if y in seams else 1, Why.SEAM if y in seams else Why.LAYOUT, joists, inside) for y in rows_nm]
    if border is not None:
        rows += [_row(y, 2, Why.BORDER, joists, inside, (left, right)) for y, left, right in border.rows]
        rows += [_angled_row(start, end, joists) for start, end in border.angled]
    rims = tuple(_rim(edge, attached) for edge in outline.edges if edge.facing not in (Facing.LEFT, Facing.RIGHT))
    return OutlineFrame(outline, lines, joists, rims, tuple(row for row in rows if row.pieces_nm))


def _joists(line: JoistLine, inside: Sequence[Point], edges: Sequence[Edge]) -> Iterable[Joist]:
    """Each ply of a line, in every stretch it has inside the rims."""
    for ply in range(line.plies):
        near = line.near_nm + ply * line.thickness_nm
        far = near + line.thickness_nm
        for patch in patches(inside, near, far):
            start, end = patch.lo, patch.hi
            cuts = [450 * (patch.lo != patch.lo_short), 450 * (patch.hi != patch.hi_short)]
            for edge in edges:
                if edge.facing not in (Facing.LEFT, Facing.RIGHT) or edge.start[0] not in (near, far):
                    continue
                # A joist along an edge runs to the corner with an angled rim and is mitred there.
                for (_, y), angle in ((edge.start, edge.corner_start), (edge.end, edge.corner_end)):
                    if angle == 135 and y < patch.lo_short and cuts[0]:
                        start, cuts[0] = y, mitre_tenths(angle)
                    elif angle == 135 and y > patch.hi_short and cuts[1]:
                        end, cuts[1] = y, mitre_tenths(angle)
            yield Joist(near, start, end, cuts[0], cuts[1], line)


def _rim(edge: Edge, attached: bool) -> Rim:
    mitres = [mitre_tenths(angle) if angle == 135 else 0 for angle in (edge.corner_start, edge.corner_end)]
    kind = RimKind.INNER if edge.inner else RimKind.RIM
    if edge.facing is Facing.ANGLED:
        kind = RimKind.ANGLED
    elif edge.facing is Facing.BACK and attached:
        kind = RimKind.LEDGER
    return Rim(edge, kind, edge.length_nm, mitres[0], mitres[1])


def _row(
    y: int,
    plies: int,
    why: Why,
    joists: Sequence[Joist],
    inside: Sequence[Point],
    between: tuple[int, int] | None = None,
) -> Row:
    """A straight row between the joists it meets, and on to an angled rim, cut to each bay.

    A gap narrower than two joists are thick gets no piece: no hammer goes in to nail it.
    """
    met = sorted((joist for joist in joists if joist.start_nm < y < joist.end_nm), key=lambda joist: joist.near_nm)
    solid = [(joist.near_nm, joist.near_nm + joist.line.thickness_nm) for joist in met]
    thick = met[0].line.thickness_nm if met else 0
    if met:
        strip = patches([(v, u) for u, v in inside], y - thick // 2, y + thick // 2)
        solid = [(strip[0].lo, strip[0].lo), *solid, (strip[-1].hi, strip[-1].hi)]
    bays = [(before[1], after[0]) for before, after in pairwise(solid) if after[0] - before[1] >= 2 * thick]
    if between is not None:
        bays = [(left, right) for left, right in bays if right > between[0] and left < between[1]]
    ends = (bays[0][0], bays[-1][1]) if bays else (0, 0)
    return Row((ends[0], y), (ends[1], y), plies, why, tuple(right - left for left, right in bays))


def _angled_row(start: Point, end: Point, joists: Sequence[Joist]) -> Row:
    """Doubled blocking at 45 degrees between the joists it meets, each piece between its long points."""
    left, right = sorted((start, end))
    slope = 1 if right[1] > left[1] else -1
    pieces = []
    spans = sorted({(j.near_nm, j.near_nm + j.line.thickness_nm) for j in joists})
    for (_, a), (b, far) in pairwise(spans):
        low, high = max(a, left[0]), min(b, right[0])
        if high - low > far - b:
            pieces.append(root2(high - low) + (far - b))
    at = [left[1] + slope * (x - left[0]) for x in (left[0], right[0])]
    return Row((left[0], at[0]), (right[0], at[1]), 2, Why.BORDER, tuple(pieces))
