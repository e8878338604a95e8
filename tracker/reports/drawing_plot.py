"""Where things go on a grid of cells: the scale of a plan, the part of it a view shows, a column for every joist."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from tracker.reports.drawing_shapes import Drawing, DrawnJoist

MOST_ROWS = 60
"""Rows of plan at the most where no height is given."""
LEAST_COLUMNS, LEAST_ROWS = 8, 3
OFF_MOST = 1.5
"""Columns a joist may stand beside its place so that its neighbour has one of its own."""
STEPS = (2, 5, 10, 20, 50, 100)
ZOOM_MOST = 200


@dataclass(frozen=True, slots=True)
class View:
    """What part of the drawing to show: ``zoom`` times the whole (1 or more), about the point (``x``, ``y``) given as
    shares of the drawing from its left and from its back.
    """

    zoom: float = 1.0
    x: float = 0.5
    y: float = 0.5


@dataclass(frozen=True, slots=True)
class Plot:
    """Where the plan lies on the canvas: nm of a cell each way, and the plan's point in the middle of its first cell."""

    across_nm: float
    along_nm: float
    x_nm: float
    y_nm: float
    left: int
    top: int
    columns: int
    rows: int

    def column(self, x: float) -> float:
        """The place of ``x`` in columns of the canvas."""
        return self.left + (x - self.x_nm) / self.across_nm

    def row(self, y: float) -> float:
        """The place of ``y`` in rows of the canvas."""
        return self.top + (y - self.y_nm) / self.along_nm

    def shows(self, x: float, y: float) -> bool:
        """Whether a point of the plan falls on a cell of the plot."""
        column, row = round(self.column(x)), round(self.row(y))
        return self.left <= column < self.left + self.columns and self.top <= row < self.top + self.rows


def plot_plan(
    drawing: Drawing, room: tuple[int, int | None], at: tuple[int, int], view: View, cell_ratio: float
) -> Plot:
    """The largest plot of a drawing in ``room`` columns and rows, with ``at`` its first column and row on the canvas.

    The rows of ``room`` are counted from the top of the canvas.
    """
    left, top = at
    columns = max(room[0], LEAST_COLUMNS)
    rows = MOST_ROWS if room[1] is None else max(room[1] - top, LEAST_ROWS)
    wide, deep = drawing.high[0] - drawing.low[0], drawing.high[1] - drawing.low[1]
    across = max(wide / (columns - 1), deep / ((rows - 1) * cell_ratio)) / max(view.zoom, 1.0)
    along = across * cell_ratio
    columns, rows = min(columns, round(wide / across) + 1), min(rows, round(deep / along) + 1)
    window = ((columns - 1) * across, (rows - 1) * along)
    start = [
        low + min(max(share * size - seen / 2, 0.0), max(size - seen, 0.0))
        for low, share, size, seen in zip(drawing.low, (view.x, view.y), (wide, deep), window, strict=True)
    ]
    return Plot(across, along, start[0], start[1], left, top, columns, rows)


def centred(drawing: Drawing, plot: Plot, zoom: float) -> View:
    """The view a plot shows, about the middle it really has: at an edge of the plan that is not the middle asked for."""
    return moved(drawing, plot, zoom, 0, 0)


def moved(drawing: Drawing, plot: Plot, zoom: float, columns: float, rows: float) -> View:
    """The view so many columns to the right and rows down from what ``plot`` shows at ``zoom``, within the plan."""
    shares = []
    for start, cells, step, by, low, high in (
        (plot.x_nm, plot.columns, plot.across_nm, columns, drawing.low[0], drawing.high[0]),
        (plot.y_nm, plot.rows, plot.along_nm, rows, drawing.low[1], drawing.high[1]),
    ):
        half = (cells - 1) * step / 2
        shares.append(min(max((start + half + by * step - low) / max(high - low, 1), 0.0), 1.0))
    return View(zoom, *shares)


def joist_columns(joists: Sequence[DrawnJoist], plot: Plot) -> tuple[dict[int, int], bool]:
    """A column for each joist in view, by number, and whether some had to share one.

    A joist on the outline's edge keeps its place; others make room by a column where they must.
    """
    exact = [plot.column(joist.at_nm) for joist in joists]
    places = [round(at) for at in exact]
    fixed = [joist.at_nm in (joist.near_nm, joist.far_nm) for joist in joists]
    for k in range(1, len(places)):
        if not fixed[k] and places[k] <= places[k - 1]:
            places[k] = places[k - 1] + 1
    for k in range(len(places) - 2, -1, -1):
        if not fixed[k] and places[k] >= places[k + 1]:
            places[k] = places[k + 1] - 1
    apart = all(b > a for a, b in pairwise(places))
    if not apart or any(abs(place - at) > OFF_MOST for place, at in zip(places, exact, strict=True)):
        places = [round(at) for at in exact]
    seen = range(plot.left, plot.left + plot.columns)
    found = {joist.number: place for joist, place in zip(joists, places, strict=True) if place in seen}
    return found, len(set(found.values())) < len(found)


@dataclass(frozen=True, slots=True)
class Label:
    """A text in one of the label rows (0 the lowest), from column ``start``."""

    text: str
    start: int
    row: int


def place_labels(texts: Sequence[tuple[str, int]], rows: int, width: int) -> list[Label] | None:
    """Put each (text, column) centred over its column, a blank between neighbours; None when ``rows`` are too few."""
    ends = [-1] * rows
    found = []
    for text, column in texts:
        start = min(max(column - (len(text) - 1) // 2, 0), width - len(text))
        row = next((k for k in range(rows) if start > ends[k]), None)
        if row is None:
            return None
        ends[row] = start + len(text)
        found.append(Label(text, start, row))
    return found


def thin_labels(texts: Sequence[tuple[str, int]], rows: int, width: int, also: str = "") -> list[Label]:
    """The same for the first, ``also``, and every second, fifth, tenth ... joist number, as many as there is room for."""
    for step in STEPS:
        some = [
            (text, column) for k, (text, column) in enumerate(texts) if k == 0 or text == also or int(text) % step == 0
        ]
        placed = place_labels(some, rows, width)
        if placed is not None:
            return placed
    return place_labels(texts[:1], rows, width) or []
