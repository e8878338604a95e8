"""A platform drawn in terminal cells, true to scale with the terminal's cell shape.

Joists, rims and blocking are box-drawing lines, slopes are braille dots, supports are glyphs; every joist carries its
number, its crown and what the checks said. A window of the plan (``View``) zooms and pans. Meaning is never in colour
alone: a failing part is marked ``!`` and named beside the drawing.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from tracker.reports.drawing_canvas import BLANK, Canvas, runs_width
from tracker.reports.drawing_legend import Row, legend
from tracker.reports.drawing_marks import Mark
from tracker.reports.drawing_painter import Painter
from tracker.reports.drawing_plot import Label, Plot, View, joist_columns, place_labels, plot_plan, thin_labels
from tracker.reports.drawing_shapes import USUAL, Drawing, Layer
from tracker.trade.lengths import format_length
from tracker.trade.outline import Facing

CELL_RATIO = 2.0
"""How many times as high as wide a terminal's cell usually is."""
LEAST_WIDTH, LEAST_HEIGHT = 30, 12
NUMBER_ROWS, ZOOMED_ROWS, LEAST_FOR_ROWS = 3, 2, 14
"""Rows of joist numbers at the most, those of a part of the plan, and the height below which they keep to one."""
LEFT_MARGIN, RIGHT_MARGIN = 3, 5
GAP = 2


@dataclass(frozen=True, slots=True)
class Plan:
    """A drawing laid out: its rows of (text, style) runs, where it was plotted and the column of every joist shown.

    ``crowded`` says that joists share a column: zoom in to count them. ``board_step`` is 1 when every course is shown.
    """

    rows: tuple[Row, ...]
    plot: Plot
    joist_columns: dict[int, int]
    crowded: bool
    board_step: int


def needs_ascii(encoding: str | None) -> bool:
    """Whether an output encoding lacks the characters the drawing uses."""
    try:
        "─│║╥═■◉◎◆✓·⠿↑".encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return True
    return False


def draw_rows(
    drawing: Drawing,
    width: int,
    height: int | None = None,
    *,
    layers: Collection[Layer] = USUAL,
    view: View | None = None,
    cell_ratio: float = CELL_RATIO,
    ascii_only: bool = False,
) -> tuple[Row, ...]:
    """The drawing with its legend as rows of (text, style) runs, at most ``width`` cells and (unless None) ``height`` lines.

    The legend stands beside or below the drawing, wherever the drawing comes out larger; what does not fit is counted
    in its last line.
    """
    width = max(width, LEAST_WIDTH)
    height = height if height is None else max(height, LEAST_HEIGHT)

    def planned(columns: int, rows: int | None) -> Plan:
        return plan_rows(drawing, columns, rows, layers=layers, view=view, cell_ratio=cell_ratio, ascii_only=ascii_only)

    def words(columns: int, rows: int | None, plan: Plan) -> list[Row]:
        return legend_rows(drawing, plan, columns, rows, layers=layers, ascii_only=ascii_only)

    if height is None:
        plan = planned(width, None)
        return (*plan.rows, [], *words(width, None, plan))
    side = min(max(width // 3, 26), 44)
    choices = []
    if width - side - GAP >= LEAST_WIDTH:
        plan = planned(width - side - GAP, height)
        choices.append((plan, words(side, height, plan), True))
    for share in (height // 4, height // 3, height // 2):
        plan = planned(width, height - share)
        choices.append((plan, words(width, height - len(plan.rows), plan), False))
    # The larger drawing wins; a legend that had to be cut counts against it.
    plan, told, beside = min(
        choices, key=lambda c: (c[0].crowded, c[0].plot.across_nm * (1.25 if _cut_short(c[1]) else 1.0))
    )
    if not beside:
        return (*plan.rows, *told)
    return side_by_side(plan.rows, told)


def legend_rows(
    drawing: Drawing,
    plan: Plan,
    width: int,
    height: int | None = None,
    *,
    layers: Collection[Layer] = USUAL,
    ascii_only: bool = False,
) -> list[Row]:
    """What is said of a plan: failing parts first, then its signs and facts, in at most ``width`` cells and ``height`` rows."""
    return legend(drawing, width, height, layers, plan.crowded, plan.board_step, _scale(drawing, plan), ascii_only)


def side_by_side(left: Sequence[Row], right: Sequence[Row]) -> tuple[Row, ...]:
    """Two columns of rows, the right one beginning two cells past the widest of the left."""
    room = max((runs_width(row) for row in left), default=0) + GAP
    rows = []
    for number in range(max(len(left), len(right))):
        drawn = left[number] if number < len(left) else []
        text = right[number] if number < len(right) else []
        pad = [(BLANK * (room - runs_width(drawn)), "")] if text else []
        rows.append([*drawn, *pad, *text])
    return tuple(rows)


def _cut_short(told: Sequence[Row]) -> bool:
    return bool(told) and bool(told[-1]) and told[-1][0][0].startswith("and ")


def _scale(drawing: Drawing, plan: Plan) -> str:
    across, along = (format_length(nm, drawing.unit) for nm in (plan.plot.across_nm, plan.plot.along_nm))
    return f"to scale: a character is {across} wide and {along} high"


def plan_rows(
    drawing: Drawing,
    width: int,
    height: int | None = None,
    *,
    layers: Collection[Layer] = USUAL,
    view: View | None = None,
    cell_ratio: float = CELL_RATIO,
    ascii_only: bool = False,
    chosen: int = 0,
) -> Plan:
    """The drawing alone, with its numbers, marks and dimensions; the joist ``chosen`` stands in reverse.

    The plan is as large as fits; without a ``height`` it takes the rows the width gives it (60 at most).
    """
    view = view or View()
    joists = drawing.joists if Layer.FRAME in layers else ()
    crowns = Layer.CHECKS in layers and any(joist.crown_nm is not None for joist in joists)
    marks = Layer.CHECKS in layers and any(joist.mark is not Mark.OPEN for joist in joists)
    front = [d for d in drawing.dimensions if d.side is Facing.FRONT]
    deep = next(d for d in drawing.dimensions if d.side is Facing.RIGHT and d.end_nm - d.start_nm == drawing.depth_nm)
    feet = 1 + max(d.level for d in front)
    room = (width - LEFT_MARGIN - RIGHT_MARGIN - len(deep.text), None if height is None else height - feet)
    numbers: list[Label] | None = None
    most = NUMBER_ROWS if height is None or height >= LEAST_FOR_ROWS else 1
    # A part of the plan keeps to so many rows wherever it lies, or its scale would jump from one part to the next.
    tries = range(1, most + 1) if view.zoom <= 1 else (min(most, ZOOMED_ROWS),)
    for number_rows in tries if joists else (0,):
        plot = plot_plan(drawing, room, (LEFT_MARGIN, 1 + number_rows + crowns + marks), view, cell_ratio)
        columns, crowded = joist_columns(drawing.joists, plot)
        shown = [(str(j.number), columns[j.number]) for j in joists if j.number in columns]
        numbers = place_labels(shown, number_rows, width)
        if numbers is not None:
            break
    if numbers is None:
        numbers = thin_labels(shown, most, width, str(chosen))
    canvas = Canvas(width, plot.top + plot.rows + feet, ascii_only)
    painter = Painter(canvas, plot, drawing, columns, layers, chosen)
    step = painter.plan()
    painter.heads(numbers, number_rows, crowns, marks)
    painter.edges(front, deep, partial=view.zoom > 1)
    return Plan(tuple(canvas.lines()), plot, columns, crowded and bool(joists), step)
