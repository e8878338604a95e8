"""The drawing of a platform: shapes in whole nanometres in layers, from the same plan as the take-off and the checks.

Axes as everywhere: the house at the top, x from the left end, y from the back edge towards the yard. The renderers
(terminal, SVG) take a ``Drawing`` and add nothing of their own. A plan drawing shows where parts go; whether they are
strong enough is for the span and footing figures, the adopted local code and a licensed professional.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from tracker.book.views import CheckView, JobView
from tracker.reports.drawing_marks import Mark, Marks, read_marks
from tracker.reports.drawing_outside import flights, outside_facts, outside_notes
from tracker.reports.drawing_shapes import (
    Diagonal,
    Dimension,
    Drawing,
    DrawnJoist,
    Flight,
    Layer,
    Shape,
    Spot,
    What,
)
from tracker.text import count
from tracker.trade.boardcourses import board_edge
from tracker.trade.checks.plane import frame_points
from tracker.trade.courses import laid_gap_nm
from tracker.trade.framing import FramePlan, StandingLine, joint_faults, joint_places, plan_frame, standing_lines
from tracker.trade.joistlines import Joist, JoistLine, OutlineFrame, Rim, RimKind, Row
from tracker.trade.layout import block_name, contact_points
from tracker.trade.lengths import INCH, MM, Unit, format_length, format_small, format_trade
from tracker.trade.lumber import dressed, size_name
from tracker.trade.outline import Clip, Corner, Facing, LineKind
from tracker.trade.places import guard_stretches
from tracker.trade.polygon import Point, offset
from tracker.trade.postloads import stacked_on
from tracker.trade.posts import carriers, stand_nm, stand_of
from tracker.trade.spec import JobSpec, Platform, Support
from tracker.trade.tapelist import joined
from tracker.trade.woodblocks import words

ALONG_MITRE = math.tan(math.pi / 8)
"""What a mitre of 22-1/2 degrees takes off one side, for each unit of thickness."""
BLOCK_SIZE = {Unit.INCH: 8 * INCH, Unit.MM: 200 * MM}
"""The side a pad block is drawn with; the job does not say its size (common practice)."""


def draw_platform(job: JobSpec, platform: Platform, checks: Iterable[CheckView] = (), title: str = "") -> Drawing:
    """Draw one platform of a job with what its checks have found so far.

    Raises InputError for sizes no frame can have.
    """
    plan = plan_frame(platform, job.rules, job.site, stacked_on(job, platform))
    standing = standing_lines(platform)
    marks = read_marks(checks, platform.name, [line.length_nm for line in standing], job.rules.figure("level"))
    frame = plan.outline.frame
    edge = board_edge(platform.outline, platform.decking.overhang_nm, platform.attached)
    drawn_flights = flights(platform, plan, job.unit)
    spots = (
        *_footing_spots(plan, marks),
        *_blocks(platform, standing, job, marks),
        *_level_spots(platform, marks),
    )
    reach = [*edge, *platform.outline.vertices, *(p for f in drawn_flights for t in f.treads for p in t.points)]
    for spot in spots:
        half = spot.size_nm // 2
        reach += [(spot.at[0] - half, spot.at[1] - half), (spot.at[0] + half, spot.at[1] + half)]
    return Drawing(
        title=title,
        name=platform.name,
        unit=job.unit,
        width_nm=platform.width_nm,
        depth_nm=platform.depth_nm,
        attached=platform.attached,
        low=(min(x for x, _ in reach), min(y for _, y in reach)),
        high=(max(x for x, _ in reach), max(y for _, y in reach)),
        outline=platform.outline.vertices,
        board_field=_field(platform, edge),
        joists=tuple(_drawn(line, frame, platform, marks) for line in frame.joist_lines),
        shapes=(*_frame_shapes(frame, platform, marks), *_beams(plan, marks), *_boards(plan, platform, edge)),
        spots=spots,
        flights=drawn_flights,
        guard=guard_stretches(platform),
        dimensions=_dimensions(platform, job.unit),
        diagonals=(
            Diagonal("A-C", (0, platform.depth_nm), (platform.width_nm, 0)),
            Diagonal("B-D", (platform.width_nm, platform.depth_nm), (0, 0)),
        ),
        corners={"A": (0, platform.depth_nm), "B": (platform.width_nm, platform.depth_nm),
                 "C": (platform.width_nm, 0), "D": (0, 0)},
        facts=_facts(platform, plan, drawn_flights, job.unit),
        notes=_notes(platform, job.unit),
        checks=marks.notes,
        frame=frame,
    )  # fmt: skip


def draw_of(view: JobView, platform: Platform) -> Drawing:
    """Draw one platform of a job as the book shows it."""
    checks = [check for phase in view.phases for check in phase.checks]
    return draw_platform(view.spec, platform, checks, f"{view.line.code} {view.line.title}")


def _drawn(line: JoistLine, frame: OutlineFrame, platform: Platform, marks: Marks) -> DrawnJoist:
    plies = [joist for joist in frame.joists if joist.line is line or joist.line == line]
    at = line.centre_nm
    for edge in platform.outline.edges:
        if edge.facing in (Facing.LEFT, Facing.RIGHT) and edge.start[0] in (line.near_nm, line.far_nm):
            at = edge.start[0]
    runs: list[tuple[int, int]] = []
    for start, end in sorted((joist.start_nm, joist.end_nm) for joist in plies):
        if runs and start <= runs[-1][1]:
            runs[-1] = (runs[-1][0], max(end, runs[-1][1]))
        else:
            runs.append((start, end))
    return DrawnJoist(
        number=line.number,
        near_nm=line.near_nm,
        far_nm=line.far_nm,
        at_nm=at,
        plies=line.plies,
        why=line.why.value,
        pieces=tuple(_joist_outline(joist, platform) for joist in plies),
        stretches=tuple(runs),
        mark=marks.joists.get(line.number, Mark.OPEN),
        crown_nm=marks.crowns_nm.get(line.number),
    )


def _joist_outline(joist: Joist, platform: Platform) -> tuple[Point, ...]:
    """The four corners of a joist, its angled ends with the long point on the side that reaches further."""
    thick = joist.line.thickness_nm
    near, far = joist.near_nm, joist.near_nm + thick
    left_half = near + far < platform.width_nm

    def ends(at: int, tenths: int, inwards: int) -> tuple[int, int]:
        """The end at the near and at the far side."""
        short = at + inwards * {0: 0, 450: thick}.get(tenths, round(thick * ALONG_MITRE))
        # At 45 degrees the far side of a joist in the left half reaches further; a mitre is long on the outer side.
        long_far = left_half if tenths == 450 else not left_half
        return (short, at) if long_far else (at, short)

    top, bottom = ends(joist.start_nm, joist.cut_start_tenths, 1), ends(joist.end_nm, joist.cut_end_tenths, -1)
    return ((near, top[0]), (far, top[1]), (far, bottom[1]), (near, bottom[0]))


def _strip(start: Point, end: Point, thick: int, mitres: tuple[int, int] = (0, 0)) -> tuple[Point, ...]:
    """A strip ``thick`` wide on the left hand of who walks from ``start`` to ``end``, shortened there by mitres."""
    across, along = end[0] - start[0], end[1] - start[1]
    long = math.hypot(across, along)
    ux, uy = across / long, along / long
    nx, ny = uy * thick, -ux * thick
    cut = [thick * ALONG_MITRE if tenths else 0.0 for tenths in mitres]
    inner = (
        (round(end[0] + nx - ux * cut[1]), round(end[1] + ny - uy * cut[1])),
        (round(start[0] + nx + ux * cut[0]), round(start[1] + ny + uy * cut[0])),
    )
    return (start, end, *inner)


def _frame_shapes(frame: OutlineFrame, platform: Platform, marks: Marks) -> Iterable[Shape]:
    thick = platform.joists.thickness_nm
    for rim in frame.rims:
        what = What.LEDGER if rim.kind is RimKind.LEDGER else What.RIM
        edge, mitres = rim.edge, (rim.mitre_start_tenths, rim.mitre_end_tenths)
        mark = marks.parts.get("ledger", Mark.OPEN) if what is What.LEDGER else Mark.OPEN
        points = _strip(edge.start, edge.end, thick, mitres)
        yield Shape(what, _rim_name(rim), Layer.FRAME, points, edge.start, edge.end, mark)
    for row in frame.rows:
        yield _blocking(row, thick)
    for piece in frame.splice_pieces:
        (x, y), _, (x2, y2), _ = piece.points
        middle = (x + x2) // 2
        yield Shape(What.SPLICE_PIECE, What.SPLICE_PIECE.value, Layer.FRAME, piece.points, (middle, y), (middle, y2))
    yield from _joints(frame, thick)


def _joints(frame: OutlineFrame, thick: int) -> Iterable[Shape]:
    """The line between two pieces of a joist or a rim."""
    for joist in frame.joists:
        for y in joist.joints_nm:
            start, end = (joist.near_nm, y), (joist.near_nm + thick, y)
            yield Shape(What.SPLICE, f"joint of joist {joist.line.number}", Layer.FRAME, (start, end), start, end)
    for rim in frame.rims:
        left, right = sorted((rim.edge.start, rim.edge.end))
        for joint in rim.joints:
            x, y = (round(a + (b - a) * joint.at_nm / rim.length_nm) for a, b in zip(left, right, strict=True))
            # The rim lies on the platform's side of its edge.
            inner = y + thick if rim.edge.at_back else y - thick
            yield Shape(
                What.SPLICE, f"joint of the {_rim_name(rim)}", Layer.FRAME, ((x, y), (x, inner)), (x, y), (x, inner)
            )


def _rim_name(rim: Rim) -> str:
    return rim.kind.value if rim.kind is not RimKind.RIM else f"{rim.edge.facing.value} rim"


def _blocking(row: Row, thick: int) -> Shape:
    """A row of blocking as one strip about its line, under the joists it stands between."""
    (x, y), (x2, y2) = row.start, row.end
    wide = row.plies * thick
    long = math.hypot(x2 - x, y2 - y) or 1.0
    nx, ny = round((y2 - y) / long * wide / 2), round((x2 - x) / long * wide / 2)
    points = _strip((x - nx, y + ny), (x2 - nx, y2 + ny), wide)
    name = f"blocking, {count(len(row.pieces_nm) * row.plies, 'piece')}"
    return Shape(What.BLOCKING, name, Layer.FRAME, points, row.start, row.end)


def _beams(plan: FramePlan, marks: Marks) -> Iterable[Shape]:
    for number, built in enumerate(plan.beams, 1):
        beam, name = built.beam, f"B{number}"
        half = beam.plies * dressed(beam.size).thickness_nm // 2
        left, right = built.start_nm, built.start_nm + built.length_nm
        points = (
            (left, beam.at_nm - half),
            (right, beam.at_nm - half),
            (right, beam.at_nm + half),
            (left, beam.at_nm + half),
        )
        mark = marks.parts.get(name, Mark.OPEN)
        yield Shape(What.BEAM, name, Layer.SUPPORTS, points, (left, beam.at_nm), (right, beam.at_nm), mark)
        at = left
        for part in built.parts_nm[:-1]:
            at += part
            start, end = (at, beam.at_nm - half), (at, beam.at_nm + half)
            yield Shape(What.SPLICE, f"joint of {name}", Layer.SUPPORTS, (start, end), start, end)


def _footing_spots(plan: FramePlan, marks: Marks) -> Iterable[Spot]:
    number = 0
    for built in plan.beams:
        for at in built.post_at_nm:
            number += 1
            where, name = (built.start_nm + at, built.beam.at_nm), f"P{number}"
            mark = marks.parts.get(name, Mark.OPEN)
            if plan.platform.on_pads:
                yield Spot(What.PAD, name, Layer.SUPPORTS, where, stand_nm(built.beam), mark)
            if plan.footing is not None:
                yield Spot(What.FOOTING, name, Layer.SUPPORTS, where, plan.footing.diameter_nm, mark)
            if built.post_nm:
                yield Spot(What.POST, name, Layer.SUPPORTS, where, dressed(built.beam.post_size).thickness_nm, mark)


def _blocks(platform: Platform, standing: Sequence[StandingLine], job: JobSpec, marks: Marks) -> Iterable[Spot]:
    """The blocks under each joist line, lettered from the front as the level check letters them."""
    if not platform.on_blocks:
        return
    for line in standing:
        for place, y in enumerate(contact_points(line.length_nm, job.rules.figure("support_longest"))):
            name = block_name(line.number, place)
            at = (line.centre_nm, platform.depth_nm - line.front_nm - y)
            yield Spot(What.BLOCK, name, Layer.SUPPORTS, at, BLOCK_SIZE[job.unit], marks.parts.get(name, Mark.OPEN))


def _level_spots(platform: Platform, marks: Marks) -> Iterable[Spot]:
    for name, (x, y) in frame_points(platform).items():
        if name in marks.levels:
            yield Spot(What.LEVEL, name, Layer.CHECKS, (x, platform.depth_nm - y), 0, marks.levels[name])


def _field(platform: Platform, edge: Sequence[Point]) -> tuple[Point, ...]:
    """Where the field boards end: the edge, or the inside of the border and its gap."""
    if not platform.decking.border:
        return tuple(edge)
    return offset(edge, [-platform.decking.width_nm - laid_gap_nm(platform.decking)] * len(edge))


def _boards(plan: FramePlan, platform: Platform, edge: Sequence[Point]) -> Iterable[Shape]:
    boards, width = plan.outline.boards, platform.decking.width_nm
    for line in boards.lines():
        start, end = (line.x1, line.y1), (line.x2, line.y2)
        if line.kind is LineKind.BOARD:
            yield Shape(What.BOARD, "board", Layer.BOARDS, _about(start, end, width), start, end)
        elif line.kind is LineKind.SEAM:
            yield Shape(What.SEAM, "joint", Layer.BOARDS, (start, end), start, end)
    if platform.decking.border:
        inner = offset(edge, [-width] * len(edge))
        for k, corner in enumerate(edge):
            after = (k + 1) % len(edge)
            points = (corner, edge[after], inner[after], inner[k])
            yield Shape(What.BORDER, "border board", Layer.BOARDS, points, corner, edge[after])


def _about(start: Point, end: Point, width: int) -> tuple[Point, ...]:
    """A strip about a line, a width longer at both ends: whoever draws it cuts it off at the field's edge."""
    across, along = end[0] - start[0], end[1] - start[1]
    long = math.hypot(across, along) or 1.0
    ux, uy = across / long * width, along / long * width
    sides = ((start, -1, 1), (end, 1, 1), (end, 1, -1), (start, -1, -1))
    return tuple(
        (round(x + out * ux - side * uy / 2), round(y + out * uy + side * ux / 2)) for (x, y), out, side in sides
    )


def _dimensions(platform: Platform, unit: Unit) -> tuple[Dimension, ...]:
    """Every side over all, and a side with a cut corner in its parts as well."""
    found: list[Dimension] = []
    for side in (Facing.FRONT, Facing.BACK, Facing.LEFT, Facing.RIGHT):
        across = side in (Facing.FRONT, Facing.BACK)
        whole = platform.width_nm if across else platform.depth_nm
        places = {0, whole}
        for cut in platform.cuts:
            if across and cut.corner.back == (side is Facing.BACK):
                places.add(cut.width_nm if cut.corner.left else whole - cut.width_nm)
            elif not across and cut.corner.left == (side is Facing.LEFT):
                places.add(cut.depth_nm if cut.corner.back else whole - cut.depth_nm)
        parts = list(pairwise(sorted(places)))
        if len(parts) > 1:
            found += [Dimension(side, a, b, format_length(b - a, unit), 0) for a, b in parts]
        if side in (Facing.FRONT, Facing.RIGHT):
            found.append(Dimension(side, 0, whole, format_length(whole, unit), int(len(parts) > 1)))
    return tuple(found)


def _facts(platform: Platform, plan: FramePlan, drawn: tuple[Flight, ...], unit: Unit) -> tuple[str, ...]:
    joists, decking = platform.joists, platform.decking
    lines = len(plan.outline.frame.joist_lines)
    doubled = plan.joists - lines
    found = [
        f"{format_length(platform.width_nm, unit)} x {format_length(platform.depth_nm, unit)}, "
        f"{format_trade(platform.height_nm, unit)} high, {platform.attachment.value}",
        f"{size_name(joists.size)} joists {format_small(joists.spacing_nm, unit)} on centre: "
        f"{count(lines, 'line')}, {count(plan.joists, 'joist')}" + (" (doubled lines count twice)" if doubled > 0 else ""),
    ]  # fmt: skip
    if over := joint_places(plan):
        pieces = " + ".join(format_length(part, unit) for part in plan.joist_parts_nm)
        found.append(f"joists longer than the stock: pieces of {pieces}, joined over {over}")
    found += joint_faults(plan, unit)
    found += dict.fromkeys(f"{_rim_name(rim)} {joined(rim, unit)}" for rim in plan.outline.frame.rims if rim.joints)
    if plan.outline.frame.splice_pieces:
        found.append(f"{count(len(plan.outline.frame.splice_pieces), 'splice piece')} beside the joints")
    if plan.blocking_nm:
        found.append(f"{count(len(plan.blocking_nm), 'piece')} of blocking")
    if plan.wood_block is not None:
        found.append(f"{count(plan.blocks, 'wood block')}, each {words(plan.wood_block, joists.size, unit)}")
    elif plan.blocks:
        found.append(f"{count(plan.blocks, 'pad' if platform.on_pads else 'block')} on the ground")
    for number, built in enumerate(plan.beams, 1):
        beam = built.beam
        found.append(
            f"B{number}: {beam.plies} x {size_name(beam.size)}, {format_trade(beam.at_nm, unit)} from the back, "
            f"{carriers(platform, beam)}"
            + (
                f", pieces of {' + '.join(format_length(part, unit) for part in built.parts_nm)}, joined over {stand_of(platform, beam)}s"
                if len(built.parts_nm) > 1
                else ""
            )
        )
    if plan.footing is not None:
        pier = plan.footing.pier_nm
        found.append(
            f"footings {format_trade(plan.footing.diameter_nm, unit)} round"
            + (f" with {format_trade(pier, unit)} piers" if pier else "")
        )
    found.append(
        f"{decking.board} boards, {count(plan.courses.count, 'course')}" + (", border" if decking.border else "")
    )
    found += [_cut(cut, unit) for cut in platform.cuts]
    found += outside_facts(platform, drawn, unit)
    diagonal = math.isqrt(platform.width_nm**2 + platform.depth_nm**2)
    found.append(f"diagonals A-C and B-D {format_length(diagonal, unit)}")
    return tuple(found)


def _cut(cut: object, unit: Unit) -> str:
    if isinstance(cut, Clip):
        return f"{cut.corner.value} clipped {format_length(cut.leg_nm, unit)} each way"
    corner, width, depth = (getattr(cut, name) for name in ("corner", "width_nm", "depth_nm"))
    assert isinstance(corner, Corner)
    return f"{corner.value} cut out {format_length(width, unit)} x {format_length(depth, unit)}"


def _notes(platform: Platform, unit: Unit) -> tuple[str, ...]:
    found = outside_notes(platform, unit)
    if platform.support is Support.PLATFORM:
        found.append("stands on the platform below")
    if platform.on_blocks:
        found.append(f"blocks are drawn {format_small(BLOCK_SIZE[unit], unit)} wide, whatever their size")
    return tuple(found)
