"""Paints one platform on a canvas of cells: outline, boards, frame, supports, marks, numbers and dimensions."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from tracker.reports.drawing_canvas import Canvas
from tracker.reports.drawing_marks import Mark, worst
from tracker.reports.drawing_plot import Label, Plot
from tracker.reports.drawing_shapes import Dimension, Drawing, Layer, Shape, Spot, What
from tracker.trade.lengths import INCH, MM, Unit, format_length, nearest
from tracker.trade.polygon import Point

STYLES = {Mark.OPEN: "", Mark.PASSED: "green", Mark.WAIVED: "yellow", Mark.FAILED: "bold red"}
MARKS = {Mark.OPEN: ("·", "."), Mark.PASSED: ("✓", "+"), Mark.WAIVED: ("w", "w"), Mark.FAILED: ("!", "!")}
SPOTS = {
    What.BLOCK: ("■", "o"),
    What.PAD: ("■", "o"),
    What.POST: ("◉", "O"),
    What.FOOTING: ("◎", "0"),
    What.LEVEL: ("◆", "*"),
}
CROWNS = {1: ("↑", "^"), -1: ("↓", "v"), 0: ("=", "=")}
BEAM = ("━", "~")
SEAM = ("┆", ":")
SPLICE = ("╳", "%")
GUARD_ACROSS, GUARD_DOWN = ("╍", "#"), ("╏", "#")
QUIET, BOLD, CHOSEN = "dim", "bold", "reverse"
LEAST_DOTS = 4
"""Dots between the lines of two board courses, or they run into a grey."""


@dataclass(frozen=True, slots=True)
class Painter:
    """Paints ``drawing`` as ``plot`` lays it out; ``columns`` are the joists' by number, ``chosen`` one of them."""

    canvas: Canvas
    plot: Plot
    drawing: Drawing
    columns: dict[int, int]
    layers: Collection[Layer]
    chosen: int = 0

    @property
    def _glyph(self) -> int:
        return int(self.canvas.ascii_only)

    def plan(self) -> int:
        """Everything that lies inside the plot; returns how many board courses there are to a line drawn."""
        plot = self.plot
        self.canvas.window = (plot.left, plot.top, plot.left + plot.columns - 1, plot.top + plot.rows - 1)
        corners = self.drawing.outline
        for start, end in zip(corners, (*corners[1:], corners[0]), strict=True):
            self._line(start, end)
        step = self._boards()
        if Layer.CHECKS in self.layers:
            for diagonal in self.drawing.diagonals:
                self._dots(diagonal.start, diagonal.end, QUIET, dashed=True)
        for flight in self.drawing.flights:
            self._stairs(flight.treads, flight.name)
        shapes = self.drawing.shown(self.layers)
        for shape in shapes:
            if shape.what in (What.RIM, What.LEDGER, What.BLOCKING):
                self._line(shape.start, shape.end, double=shape.what is What.LEDGER, style=STYLES[shape.mark])
        self._joists()
        for start, end in self.drawing.guard:
            self._guard(start, end)
        for shape in shapes:
            if shape.what is What.BEAM:
                self._beam(shape)
        for shape in shapes:
            if shape.what is What.SPLICE:
                self._splice(shape)
        for spot in self.drawing.spots_shown(self.layers):
            self._spot(spot)
        self._failing()
        self.canvas.window = None
        return step

    def _place(self, point: Point) -> tuple[int, int]:
        return round(self.plot.column(point[0])), round(self.plot.row(point[1]))

    def _dots(self, start: Point, end: Point, style: str = "", *, dashed: bool = False) -> None:
        column, row = self.plot.column, self.plot.row
        self.canvas.slope(column(start[0]), row(start[1]), column(end[0]), row(end[1]), style, dashed=dashed)

    def _line(self, start: Point, end: Point, *, double: bool = False, style: str = "") -> None:
        (x, y), (x2, y2) = self._place(start), self._place(end)
        if start[1] == end[1]:
            self.canvas.across(y, min(x, x2), max(x, x2), double=double, style=style)
        elif start[0] == end[0]:
            self.canvas.down(x, min(y, y2), max(y, y2), double=double, style=style)
        else:
            self._dots(start, end, style)

    def _boards(self) -> int:
        shapes = self.drawing.shown({Layer.BOARDS} & set(self.layers))
        boards = [shape for shape in shapes if shape.what is What.BOARD]
        across = {id(shape): _offset(shape) for shape in boards}
        courses = {at: number for number, at in enumerate(sorted(set(across.values())))}
        step = 1
        if len(courses) > 1:
            low, *_, high = sorted(courses)
            pitch = (high - low) / (len(courses) - 1)
            dots = (1, 1) if self.canvas.ascii_only else (2, 4)
            dot = max(self.plot.across_nm / dots[0], self.plot.along_nm / dots[1])
            step = max(math.ceil((1 if self.canvas.ascii_only else LEAST_DOTS) * dot / pitch), 1)
        for shape in boards:
            if courses[across[id(shape)]] % step == 0:
                self._dots(shape.start, shape.end)
        for shape in shapes:
            if shape.what is What.BORDER:
                self._dots(shape.points[3], shape.points[2])
            elif shape.what is What.SEAM:
                column, row = self._place(((shape.start[0] + shape.end[0]) // 2, (shape.start[1] + shape.end[1]) // 2))
                if Layer.FRAME not in self.layers and self.canvas.free(column, row):
                    self.canvas.put(column, row, SEAM[self._glyph])
        return step

    def _stairs(self, treads: Sequence[Shape], name: str) -> None:
        for tread in treads:
            start, end, far_end, far_start = tread.points
            self._line(start, far_start)
            self._line(end, far_end)
            self._line(far_start, far_end)
        ends = [self._place(point) for tread in (treads[0], treads[-1]) for point in tread.points]
        left, right = min(x for x, _ in ends), max(x for x, _ in ends)
        top, bottom = min(y for _, y in ends), max(y for _, y in ends)
        if right - left - 1 >= len(name) and bottom > top + 1:
            self.canvas.write((left + right + 1 - len(name)) // 2, (top + bottom) // 2, name, QUIET)

    def _joists(self) -> None:
        if Layer.FRAME not in self.layers:
            return
        for joist in self.drawing.joists:
            column = self.columns.get(joist.number)
            if column is None:
                continue
            style = STYLES[joist.mark] if Layer.CHECKS in self.layers and joist.mark is not Mark.PASSED else ""
            style = f"{style} {CHOSEN}".strip() if joist.number == self.chosen else style
            # Where a rim is thinner than a row, the joists are drawn up to its line.
            thick = (joist.far_nm - joist.near_nm) // joist.plies
            reach = thick if self.plot.along_nm > thick else 0
            for start, end in joist.stretches:
                rows = round(self.plot.row(start - reach)), round(self.plot.row(end + reach))
                self.canvas.down(column, *rows, double=joist.plies > 1, style=style)

    def _guard(self, start: Point, end: Point) -> None:
        """A guard: over the rim of its edge, or outside an edge joist, which stays in sight; corners are left to the rims."""
        (x, y), (x2, y2), plot = self._place(start), self._place(end), self.plot
        if start[1] == end[1]:
            for column in range(min(x, x2) + 1, max(x, x2)):
                self.canvas.put(column, y, GUARD_ACROSS[self._glyph], BOLD)
        elif start[0] != end[0]:
            self._dots(start, end, BOLD)
        elif plot.left <= x < plot.left + plot.columns:
            # The platform is on the left hand of who walks from start to end; the margins have a column for it.
            outside = x - 1 if y2 > y else x + 1
            window, self.canvas.window = self.canvas.window, None
            for row in range(max(min(y, y2) + 1, plot.top), min(max(y, y2), plot.top + plot.rows)):
                if self.canvas.free(outside, row):
                    self.canvas.put(outside, row, GUARD_DOWN[self._glyph], BOLD)
            self.canvas.window = window

    def _beam(self, beam: Shape) -> None:
        (left, row), (right, _) = self._place(beam.start), self._place(beam.end)
        first, _, last, _ = self.canvas.bounds
        for column in range(max(left, first), min(right, last) + 1):
            if self.canvas.free(column, row):
                self.canvas.put(column, row, BEAM[self._glyph], STYLES[self._mark(beam.mark)])

    def _splice(self, shape: Shape) -> None:
        """A joint, on the column its joist found."""
        middle = ((shape.start[0] + shape.end[0]) // 2, shape.start[1])
        column, row = self._place(middle)
        for joist in self.drawing.joists:
            if joist.near_nm <= middle[0] <= joist.far_nm:
                column = self.columns.get(joist.number, column)
                rims = {round(self.plot.row(y)) for run in joist.stretches for y in run}
                if shape.start[1] == shape.end[1] and row in rims:
                    return  # too near the end to be told from it at this scale
        self.canvas.put(column, row, SPLICE[self._glyph])

    def _mark(self, mark: Mark) -> Mark:
        return mark if Layer.CHECKS in self.layers else Mark.OPEN

    def _spot(self, spot: Spot) -> None:
        column, row = self._place(spot.at)
        if spot.what is What.BLOCK:
            # A block stands under its joist, wherever that found its column.
            column = self.columns.get(int(spot.name.rstrip("abcdefghijklmnopqrstuvwxyz")), column)
        mark = self._mark(spot.mark)
        self.canvas.put(column, row, SPOTS[spot.what][self._glyph], STYLES[mark])
        if mark in (Mark.FAILED, Mark.WAIVED):
            beside = column + 1 if self.canvas.free(column + 1, row) else column
            self.canvas.put(beside, row, MARKS[mark][self._glyph], STYLES[mark])

    def _failing(self) -> None:
        if Layer.CHECKS not in self.layers or Layer.FRAME not in self.layers:
            return
        for joist in self.drawing.joists:
            column = self.columns.get(joist.number)
            if column is not None and joist.mark in (Mark.FAILED, Mark.WAIVED):
                start, end = max(joist.stretches, key=lambda run: run[1] - run[0])
                row = round(self.plot.row((start + end) / 2))
                self.canvas.put(column, row, MARKS[joist.mark][self._glyph], STYLES[joist.mark])

    def heads(self, numbers: Sequence[Label], rows: int, crowns: bool, marks: bool) -> None:
        """What stands above the plan: which side is the back, joist numbers, crowns and marks."""
        plot = self.plot
        caption = "back, at the house" if self.drawing.attached else "back"
        self.canvas.write(max(plot.left + (plot.columns - len(caption)) // 2, 0), 0, caption, QUIET)
        for label in numbers:
            look = f"{BOLD} {CHOSEN}" if label.text == str(self.chosen) else BOLD
            self.canvas.write(label.start, rows - label.row, label.text, look)
        row, shown = rows + 1, [j for j in self.drawing.joists if j.number in self.columns]
        if crowns:
            for joist in shown:
                if joist.crown_nm is not None:
                    sign = (joist.crown_nm > 0) - (joist.crown_nm < 0)
                    self.canvas.put(self.columns[joist.number], row, CROWNS[sign][self._glyph])
            row += 1
        if marks:
            found: dict[int, Mark] = {}
            for joist in shown:
                column = self.columns[joist.number]
                found[column] = worst(found.get(column, Mark.OPEN), joist.mark)
            for column, mark in found.items():
                self.canvas.put(column, row, MARKS[mark][self._glyph], STYLES[mark])

    def edges(self, front: Sequence[Dimension], deep: Dimension, *, partial: bool) -> None:
        """What stands at the sides and below: corner letters, beam names, dimensions; what part a zoomed view shows."""
        plot = self.plot
        right = plot.left + plot.columns
        for name, (x, y) in self.drawing.corners.items():
            if plot.shows(x, y):
                self.canvas.write(0 if x == 0 else right + 1, round(plot.row(y)), name, BOLD)
        for shape in self.drawing.shown({Layer.SUPPORTS} & set(self.layers)):
            row = round(plot.row(shape.start[1]))
            if shape.what is What.BEAM and plot.top <= row < plot.top + plot.rows:
                self.canvas.write(0, row, shape.name, QUIET)
        if partial:
            self._window_words()
            return
        for dimension in front:
            y = plot.top + plot.rows + dimension.level
            ends = [round(plot.column(x)) for x in (dimension.start_nm, dimension.end_nm)]
            self._measured(y, ends[0], ends[1], dimension.text)
        top, bottom = round(plot.row(0)), round(plot.row(self.drawing.depth_nm))
        for row in range(top, bottom + 1):
            glyph = ("┬", "+") if row == top else (("┴", "+") if row == bottom else ("│", "|"))
            self.canvas.put(right + 3, row, glyph[self._glyph], QUIET)
        self.canvas.write(right + 5, (top + bottom) // 2, deep.text, BOLD)

    def _measured(self, row: int, start: int, end: int, text: str) -> None:
        """A dimension line with its text in the middle; the text alone where only that fits, nothing where it does not."""
        if end - start - 1 < len(text):
            return
        line, first, last = ("-", "+", "+") if self.canvas.ascii_only else ("─", "├", "┤")
        if not (self.canvas.ascii_only or self.canvas.free(start, row)):
            first = "┼"
        for column in range(start, end + 1):
            self.canvas.put(column, row, first if column == start else (last if column == end else line), QUIET)
        at = (start + end + 1 - len(text)) // 2
        roomy = end - start - 1 >= len(text) + 2
        self.canvas.write(at - roomy, row, f" {text} " if roomy else text, BOLD)

    def _window_words(self) -> None:
        plot, unit = self.plot, self.drawing.unit
        right, bottom = plot.x_nm + (plot.columns - 1) * plot.across_nm, plot.y_nm + (plot.rows - 1) * plot.along_nm
        step = INCH if unit is Unit.INCH else 10 * MM
        across = [format_length(nearest(max(min(x, self.drawing.width_nm), 0), step), unit) for x in (plot.x_nm, right)]
        along = [format_length(nearest(max(y, 0), step), unit) for y in (plot.y_nm, bottom)]
        row = plot.top + plot.rows
        for text in (
            f"from the left {across[0]} to {across[1]}, from the back {along[0]} to {along[1]}",
            f"{across[0]} to {across[1]}, {along[0]} to {along[1]}",
            "a part of the plan",
        ):
            if self.canvas.write(0, row, text, QUIET):
                return


def _offset(shape: Shape) -> int:
    """How far a board's line lies from the origin, square to it and signed, in nm to the nearest 0.01 mm."""
    (x, y), (x2, y2) = shape.start, shape.end
    long = math.hypot(x2 - x, y2 - y) or 1.0
    return round((x * (y2 - y) - y * (x2 - x)) / long / 10_000) * 10_000
