"""A platform drawn as one SVG page for paper: to a round scale, in millimetres of paper, with everything in it as text.

Self-contained: no script, no style sheet, no font, no link. Every name is escaped; a title and a description say in
words what the drawing shows.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from tracker.reports.drawing_marks import MARK_WORDS, CheckNote, Mark
from tracker.reports.drawing_shapes import USUAL, Dimension, Drawing, DrawnJoist, Layer, Shape, Spot, What
from tracker.reports.page import wrap
from tracker.reports.svg_kit import SMALL, TEXT, WIDE, Sheet, number_text, safe, text_width
from tracker.text import clean, listing
from tracker.trade.lengths import MM, format_small
from tracker.trade.outline import Facing
from tracker.trade.polygon import Point

PAGE_WIDTH, PAGE_HEIGHT = 297.0, 210.0
"""A4, landscape; the page grows downwards when the words need it."""
MARGIN, LEGEND = 10.0, 78.0
"""Of paper round everything, and the width of the words at the right; mm."""
PLAN_MARGIN, PLAN_LEAST, ROUNDS = 1.5, 10.0, 4
"""Of a plan alone: round everything, the least it is drawn across in mm, and how often its scale is mended."""
SCALES = (5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200, 300, 400, 500, 1000, 2000)
NUMBER_GAP, CROWN_ROOM, ROW, LETTER = 4.4, 13.0, 5.0, 3.0
DIMENSION_ROW, BESIDE = 7.0, 8.0
"""From one dimension line to the next, and from the plan to the first beside it, past the corner letters."""
_INK = {Mark.OPEN: "#222", Mark.PASSED: "#222", Mark.WAIVED: "#8a5a00", Mark.FAILED: "#b00020"}
_LOOK = {
    What.RIM: 'fill="#e9dcc4" stroke="#222" stroke-width="0.25"',
    What.LEDGER: 'fill="#cdb58c" stroke="#222" stroke-width="0.35"',
    What.BLOCKING: 'fill="#f5efe2" stroke="#555" stroke-width="0.2"',
    What.SPLICE_PIECE: 'fill="#dfe6d3" stroke="#555" stroke-width="0.15"',
    What.SPLICE: 'stroke="#b00020" stroke-width="0.6"',
    What.BEAM: 'fill="none" stroke="#222" stroke-width="0.35" stroke-dasharray="2 0.8"',
    What.BOARD: 'fill="#c9a66b" fill-opacity="0.25" stroke="#6b4f1d" stroke-width="0.15"',
    What.BORDER: 'fill="#a87f3c" fill-opacity="0.35" stroke="#6b4f1d" stroke-width="0.2"',
    What.SEAM: 'fill="none" stroke="#6b4f1d" stroke-width="0.5"',
    What.GUARD: 'stroke="#222" stroke-width="0.9" stroke-dasharray="2.4 0.6"',
    What.TREAD: 'fill="none" stroke="#222" stroke-width="0.25"',
}  # fmt: skip


def draw_svg(drawing: Drawing, *, layers: Collection[Layer] = USUAL) -> str:
    """The drawing as SVG text; the same drawing gives the same text."""
    rooms = _Rooms(drawing, layers, MARGIN)
    room = PAGE_WIDTH - rooms.left - rooms.right - LEGEND - 2 * MARGIN
    for scale in SCALES:
        head = 14 + rooms.head(scale)
        if rooms.wide / scale <= room and rooms.deep / scale <= PAGE_HEIGHT - head - rooms.foot - MARGIN:
            break
    sheet = rooms.draw(scale, head)
    title = f"{drawing.title}, {drawing.name}" if drawing.title else drawing.name
    side = PAGE_WIDTH - MARGIN - LEGEND
    sheet.text(MARGIN, MARGIN + 4, _cut(title, side - 2 * MARGIN, 4.5), size=4.5, bold=True)
    caption = "the house" if drawing.attached else "the back"
    sheet.text(MARGIN, MARGIN + 9, f"scale 1:{scale} on A4; {caption} at the top, the front at the bottom", size=SMALL)
    words = _words(drawing, layers, title)
    y = MARGIN + 4
    for text, look in words:
        bold, ink = look
        for line in _wrapped(text):
            sheet.text(side, y, line, size=SMALL, bold=bold, ink=ink)
            y += SMALL * 1.45
        y += 0.8
    height = max(PAGE_HEIGHT, head + rooms.deep / scale + rooms.foot + MARGIN, y + MARGIN)
    width = max(PAGE_WIDTH, rooms.left + rooms.wide / scale + rooms.right + LEGEND + 2 * MARGIN)
    return _page(drawing, sheet, width, height, title, "; ".join(text for text, _ in words))


def plan_svg(drawing: Drawing, width: float, height: float, *, layers: Collection[Layer] = USUAL) -> str:
    """The plan alone with its numbers and dimensions, as large as it fits ``width`` by ``height`` mm; to no round scale."""
    rooms = _Rooms(drawing, layers, PLAN_MARGIN)
    across = max(width - rooms.left - rooms.right - PLAN_MARGIN, PLAN_LEAST)
    scale = rooms.wide / across
    for _ in range(ROUNDS):  # numbers in more rows leave less height, and a smaller plan may need more rows
        tall = max(height - rooms.head(scale) - rooms.foot - PLAN_MARGIN, PLAN_LEAST)
        scale = max(rooms.wide / across, rooms.deep / tall)
    head = rooms.head(scale)
    sheet = rooms.draw(scale, head)
    size = (
        rooms.left + rooms.wide / scale + rooms.right + PLAN_MARGIN,
        head + rooms.deep / scale + rooms.foot + PLAN_MARGIN,
    )
    return _page(drawing, sheet, *size, drawing.name, "; ".join(drawing.facts))


@dataclass(frozen=True, slots=True)
class _Rooms:
    """The room round a plan for numbers, letters and dimensions, and the plan drawn in its middle; mm."""

    drawing: Drawing
    layers: Collection[Layer]
    margin: float

    @property
    def wide(self) -> float:
        """Across the plan, at life size."""
        return (self.drawing.high[0] - self.drawing.low[0]) / MM

    @property
    def deep(self) -> float:
        """From the back of the plan to its front, at life size."""
        return (self.drawing.high[1] - self.drawing.low[1]) / MM

    @property
    def left(self) -> float:
        """From the paper's edge to the plan."""
        return self.margin + BESIDE + DIMENSION_ROW * self._levels(Facing.LEFT)

    @property
    def right(self) -> float:
        """Beside the plan, without a margin."""
        return BESIDE + DIMENSION_ROW * self._levels(Facing.RIGHT)

    @property
    def foot(self) -> float:
        """Below the plan, without a margin."""
        return 7 + DIMENSION_ROW * self._levels(Facing.FRONT)

    @property
    def crowns(self) -> bool:
        """Whether crowns are written above the numbers."""
        return Layer.CHECKS in self.layers and any(joist.crown_nm is not None for joist in self.drawing.joists)

    def _levels(self, side: Facing) -> int:
        return max((d.level for d in self.drawing.dimensions if d.side is side), default=-1) + 1

    def head(self, scale: float) -> float:
        """Above the plan, margin included."""
        rows = _number_rows(self.drawing, scale) if Layer.FRAME in self.layers else []
        numbers = (max(rows, default=-1) + 1) * ROW
        crowns = CROWN_ROOM if self.crowns else 0
        return self.margin + DIMENSION_ROW * self._levels(Facing.BACK) + (numbers + crowns or LETTER)

    def draw(self, scale: float, head: float) -> Sheet:
        """The plan with what stands round it."""
        drawing = self.drawing
        sheet = Sheet(scale, self.left - drawing.low[0] / MM / scale, head - drawing.low[1] / MM / scale)
        _plan(sheet, drawing, self.layers)
        if Layer.FRAME in self.layers:
            _numbers(sheet, drawing, _number_rows(drawing, scale), self.crowns, Layer.CHECKS in self.layers)
        _corner_letters(sheet, drawing)
        for dimension in drawing.dimensions:
            _dimension(sheet, drawing, dimension, sheet.y + sheet.size(drawing.high[1]) + 7)
        return sheet


def _page(drawing: Drawing, sheet: Sheet, width: float, height: float, title: str, told: str) -> str:
    return "\n".join((
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{number_text(width)}mm" height="{number_text(height)}mm" '
        f'viewBox="0 0 {number_text(width)} {number_text(height)}" role="img" aria-labelledby="title desc" '
        'font-family="Helvetica, Arial, DejaVu Sans, sans-serif" fill="#222">',
        f'<title id="title">{safe("Plan of " + title)}</title>',
        f'<desc id="desc">{safe(told)}</desc>',
        f'<clipPath id="field"><polygon points="{_points(sheet, drawing.board_field)}"/></clipPath>',
        '<rect width="100%" height="100%" fill="#fff"/>',
        *sheet.parts,
        "</svg>",
        "",
    ))  # fmt: skip


def _points(sheet: Sheet, points: Iterable[Point]) -> str:
    return " ".join(f"{number_text(x)},{number_text(y)}" for x, y in (sheet.at(p) for p in points))


def _plan(sheet: Sheet, drawing: Drawing, layers: Collection[Layer]) -> None:
    shapes, spots = drawing.shown(layers), drawing.spots_shown(layers)
    if Layer.FRAME not in layers:
        sheet.polygon(drawing.outline, 'fill="none" stroke="#222" stroke-width="0.35"', "outline")
    for spot in spots:
        if spot.what in (What.FOOTING, What.BLOCK, What.PAD):
            _spot(sheet, spot)
    for shape in shapes:
        if shape.what in (What.BLOCKING, What.SPLICE_PIECE):
            sheet.polygon(shape.points, _LOOK[shape.what], shape.name)
    if Layer.FRAME in layers:
        for joist in drawing.joists:
            _joist(sheet, joist, Layer.CHECKS in layers)
    for shape in shapes:
        if shape.what in (What.RIM, What.LEDGER, What.BEAM):
            sheet.polygon(shape.points, _marked(_LOOK[shape.what], shape.mark), shape.name)
    for shape in shapes:
        if shape.what is What.SPLICE:
            sheet.line(sheet.at(shape.start), sheet.at(shape.end), _LOOK[shape.what])
    for line in drawing.guard:
        sheet.polygon(line, _LOOK[What.GUARD], "guard")
    for flight in drawing.flights:
        for tread in flight.treads:
            sheet.polygon(tread.points, _LOOK[What.TREAD], flight.name)
    boards = [shape for shape in shapes if shape.what is What.BOARD]
    if boards:
        sheet.add('<g clip-path="url(#field)">')
        for shape in boards:
            sheet.polygon(shape.points, _LOOK[What.BOARD])
        sheet.add("</g>")
        sheet.polygon(drawing.board_field, 'fill="none" stroke="#6b4f1d" stroke-width="0.25"', "deck boards")
    for shape in shapes:
        if shape.what is What.BORDER:
            sheet.polygon(shape.points, _LOOK[shape.what], shape.name)
        elif shape.what is What.SEAM:
            sheet.line(sheet.at(shape.start), sheet.at(shape.end), _LOOK[shape.what])
    for spot in spots:
        if spot.what in (What.POST, What.LEVEL):
            _spot(sheet, spot)
    if Layer.CHECKS in layers:
        for diagonal in drawing.diagonals:
            look = 'stroke="#777" stroke-width="0.2" stroke-dasharray="3 1 0.6 1"'
            sheet.line(sheet.at(diagonal.start), sheet.at(diagonal.end), look)
    if Layer.SUPPORTS in layers:
        _support_names(sheet, shapes, spots)
    # Flags lie over everything else.
    if Layer.CHECKS in layers:
        for spot in spots:
            if spot.mark in (Mark.FAILED, Mark.WAIVED):
                _flag(sheet, *sheet.at(spot.at), spot.mark)
    if Layer.CHECKS in layers and Layer.FRAME in layers:
        for joist in drawing.joists:
            if joist.mark in (Mark.FAILED, Mark.WAIVED):
                start, end = max(joist.stretches, key=lambda run: run[1] - run[0])
                x, y = sheet.at(((joist.near_nm + joist.far_nm) // 2, (start + end) // 2))
                _flag(sheet, x, y, joist.mark)


def _marked(look: str, mark: Mark) -> str:
    return look if mark in (Mark.OPEN, Mark.PASSED) else look.replace('stroke="#222"', f'stroke="{_INK[mark]}"')


def _flag(sheet: Sheet, x: float, y: float, mark: Mark) -> None:
    """A white disc with ``!`` (or ``w`` where it was waived) over a failing part."""
    sheet.add(
        f'<circle cx="{number_text(x)}" cy="{number_text(y)}" r="2" fill="#fff" stroke="{_INK[mark]}" stroke-width="0.4"/>'
    )
    sign = "!" if mark is Mark.FAILED else "w"
    sheet.text(x, y + 1.05, sign, size=TEXT, anchor="middle", bold=True, ink=_INK[mark])


def _joist(sheet: Sheet, joist: DrawnJoist, checks: bool) -> None:
    mark = joist.mark if checks else Mark.OPEN
    name = f"joist {joist.number}" + (f", {joist.why}" if joist.why != "layout" else "")
    sheet.add(f'<g data-joist="{joist.number}"><title>{safe(name)}</title>')
    for piece in joist.pieces:
        sheet.polygon(piece, f'fill="#f1e6d0" stroke="{_INK[mark]}" stroke-width="0.2"')
    sheet.add("</g>")


def _spot(sheet: Sheet, spot: Spot) -> None:
    x, y = sheet.at(spot.at)
    size, ink = sheet.size(spot.size_nm), _INK[spot.mark]
    title = f"<title>{safe(f'{spot.what.value} {spot.name}')}</title>"
    if spot.what is What.FOOTING:
        sheet.add(f'<circle cx="{number_text(x)}" cy="{number_text(y)}" r="{number_text(size / 2)}" fill="#eee" stroke="{ink}" '
                  f'stroke-width="0.25" stroke-dasharray="1 0.6">{title}</circle>')  # fmt: skip
    elif spot.what is What.LEVEL:
        sheet.add(f'<circle cx="{number_text(x)}" cy="{number_text(y)}" r="1" fill="{ink}">{title}</circle>')
    else:
        fill = "#ddd" if spot.what in (What.BLOCK, What.PAD) else "#9a7b45"
        sheet.add(f'<rect x="{number_text(x - size / 2)}" y="{number_text(y - size / 2)}" width="{number_text(size)}" height="{number_text(size)}" '
                  f'fill="{fill}" stroke="{ink}" stroke-width="0.2">{title}</rect>')  # fmt: skip


def _support_names(sheet: Sheet, shapes: Sequence[Shape], spots: Sequence[Spot]) -> None:
    for spot in spots:
        if spot.what in (What.FOOTING, What.PAD):
            x, y = sheet.at(spot.at)
            _halo(sheet, x, y - max(sheet.size(spot.size_nm) / 2, 2.0) - 0.8, spot.name)
    for shape in shapes:
        if shape.what is What.BEAM:
            (x, y), (x2, _) = sheet.at(shape.start), sheet.at(shape.end)
            _halo(sheet, (3 * x + x2) / 4, y - sheet.size(abs(shape.points[0][1] - shape.start[1])) - 0.8, shape.name)


def _halo(sheet: Sheet, x: float, y: float, text: str, *, size: float = SMALL, bold: bool = True) -> None:
    """A short name on white, so that lines behind it do not cross it."""
    wide = text_width(text, size) + 0.8
    sheet.add(
        f'<rect x="{number_text(x - wide / 2)}" y="{number_text(y - size * 0.85)}" width="{number_text(wide)}" height="{number_text(size * 1.05)}" fill="#fff"/>'
    )
    sheet.text(x, y, text, size=size, anchor="middle", bold=bold)


def _number_rows(drawing: Drawing, scale: float) -> list[int]:
    """The row of each joist's number, 0 next to the plan, so that no two touch."""
    ends: list[float] = []
    rows = []
    for joist in drawing.joists:
        x = (joist.near_nm + joist.far_nm) / 2 / MM / scale
        row = next((k for k, end in enumerate(ends) if x >= end), len(ends))
        if row == len(ends):
            ends.append(0.0)
        ends[row] = x + NUMBER_GAP
        rows.append(row)
    return rows


def _numbers(sheet: Sheet, drawing: Drawing, rows: Sequence[int], crowns: bool, checks: bool) -> None:
    unit = drawing.unit
    top = (
        sheet.y
        + sheet.size(drawing.low[1])
        - 2
        - DIMENSION_ROW * (any(d.side is Facing.BACK for d in drawing.dimensions))
    )
    high = top - max(rows) * ROW
    for joist, row in zip(drawing.joists, rows, strict=True):
        x = sheet.x + sheet.size((joist.near_nm + joist.far_nm) / 2)
        y = top - row * ROW - 2
        first = sheet.y + sheet.size(joist.stretches[0][0])
        sheet.line((x, y + 1.9), (x, first), 'stroke="#999" stroke-width="0.12"')
        mark = joist.mark if checks else Mark.OPEN
        wide = ' stroke-width="0.5"' if mark is Mark.FAILED else ' stroke-width="0.2"'
        sheet.add(
            f'<circle cx="{number_text(x)}" cy="{number_text(y)}" r="1.9" fill="#fff" stroke="{_INK[mark]}"{wide}/>'
        )
        sheet.text(x, y + 0.8, str(joist.number), size=2.1, anchor="middle", bold=True, ink=_INK[mark])
    if not crowns:
        return
    # Crowns stand in one row above all numbers, turned, each over its joist; close ones move apart.
    free = -1e9
    for joist in drawing.joists:
        if joist.crown_nm is None:
            continue
        x = sheet.x + sheet.size((joist.near_nm + joist.far_nm) / 2)
        place = max(x, free)
        free = place + SMALL
        amount = format_small(abs(joist.crown_nm), unit)
        text = "straight" if not joist.crown_nm else f"{amount} {'up' if joist.crown_nm > 0 else 'DOWN'}"
        sheet.line((x, high - 4), (place, high - 5), 'stroke="#999" stroke-width="0.12"')
        sheet.text(place + SMALL * 0.35, high - 5.4, text, size=2.0, turned=True)


def _corner_letters(sheet: Sheet, drawing: Drawing) -> None:
    for name, point in drawing.corners.items():
        y = sheet.at(point)[1]
        x = sheet.x + sheet.size(drawing.low[0]) - 2.5 if point[0] == 0 else sheet.x + sheet.size(drawing.high[0]) + 2.5
        sheet.text(x, y + (-1 if point[1] == 0 else 3), name, anchor="middle", bold=True)


def _dimension(sheet: Sheet, drawing: Drawing, dimension: Dimension, base: float) -> None:
    """A dimension line with ticks, its text in the middle; lines run from the platform out to it."""
    look, thin = 'stroke="#222" stroke-width="0.18"', 'stroke="#bbb" stroke-width="0.1"'
    side, out = dimension.side, DIMENSION_ROW * dimension.level
    if side in (Facing.FRONT, Facing.BACK):
        edge = drawing.depth_nm if side is Facing.FRONT else 0
        y = base + out if side is Facing.FRONT else sheet.y + sheet.size(drawing.low[1]) - 4 - out
        a, b = (sheet.at((at, edge)) for at in (dimension.start_nm, dimension.end_nm))
        for x, start in (a, b):
            sheet.line((x, start), (x, y), thin)
            sheet.line((x - 0.8, y + 0.8), (x + 0.8, y - 0.8), look)
        sheet.line((a[0], y), (b[0], y), look)
        _halo(sheet, (a[0] + b[0]) / 2, y - 0.9, dimension.text, size=TEXT, bold=bool(dimension.level))
        return
    left = side is Facing.LEFT
    edge = 0 if left else drawing.width_nm
    x = (
        sheet.x + sheet.size(drawing.low[0]) - BESIDE - out
        if left
        else sheet.x + sheet.size(drawing.high[0]) + BESIDE + out
    )
    a, b = (sheet.at((edge, at)) for at in (dimension.start_nm, dimension.end_nm))
    for start, y in (a, b):
        sheet.line((start, y), (x, y), thin)
        sheet.line((x - 0.8, y + 0.8), (x + 0.8, y - 0.8), look)
    sheet.line((x, a[1]), (x, b[1]), look)
    sheet.text(x - 0.9, (a[1] + b[1]) / 2, dimension.text, anchor="middle", turned=True, bold=bool(dimension.level))


def _cut(text: str, room: float, size: float) -> str:
    """A text that fits a line; the whole of it stands in the words at the right."""
    shown = clean(text)
    if text_width(shown, size) <= room:
        return shown
    return wrap(shown, int(room / (WIDE * size)) - 4)[0] + " ..."


def _wrapped(text: str) -> list[str]:
    return wrap(clean(text), int(LEGEND / (WIDE * SMALL)))


def _words(drawing: Drawing, layers: Collection[Layer], title: str) -> list[tuple[str, tuple[bool, str]]]:
    """What is said beside the plan: failing parts first, then what it is, the checks that passed, the notes."""
    checks = drawing.checks if Layer.CHECKS in layers else ()
    found = [(title, (True, "#222"))]
    for note in checks:
        if note.mark in (Mark.FAILED, Mark.WAIVED):
            found.append((_told(note), (note.mark is Mark.FAILED, _INK[note.mark])))
            found += [(f"do: {move}", (False, "#222")) for move in note.moves]
    found += [(fact, (False, "#222")) for fact in drawing.facts]
    found.append((f"shown: {listing([layer.value for layer in Layer if layer in layers], 'and')}", (False, "#222")))
    found += [(_told(note), (False, "#222")) for note in checks if note.mark in (Mark.PASSED, Mark.OPEN)]
    found += [(note, (False, "#555")) for note in drawing.notes]
    found.append(("working drawing: local code and a licensed professional decide", (False, "#555")))
    return found


def _told(note: CheckNote) -> str:
    sign = {Mark.FAILED: "! ", Mark.WAIVED: "w "}.get(note.mark, "")
    at = f" ({listing(note.parts, 'and')})" if note.parts else ""
    return f"{sign}{note.title} {MARK_WORDS[note.mark]}{at}: {note.headline}"
