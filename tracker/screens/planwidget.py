"""The plan of a platform as a widget: painted for its own size, zoomed and moved by keys, wheel and drag."""

from __future__ import annotations

from collections.abc import Iterable

from textual import events
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

from tracker.reports.drawing_legend import Row
from tracker.reports.drawing_plot import ZOOM_MOST, View, centred, moved
from tracker.reports.drawing_shapes import USUAL, Drawing, Layer
from tracker.reports.drawing_text import LEAST_WIDTH, Plan, plan_rows
from tracker.screens import words

THEMED = {"green": "$success", "yellow": "$warning", "red": "$error", "dim": "$faint"}
"""The colours of a drawing in those of the screens; what is no colour (bold, reverse) stays as it is."""
LEAST_ROWS = 8
STEP, WHEEL_STEP = 1.5, 1.25
"""How much closer one press, or one notch of the wheel, comes."""
KEPT = 12
"""Painted plans kept, so that stepping back and forth paints nothing twice."""


def content_of(rows: Iterable[Row]) -> Content:
    """Rows of (text, style) runs as plain content; nothing in them is read as markup."""
    return words.stack(words.line(*(words.say(text, themed(style)) for text, style in row)) for row in rows)


def themed(style: str) -> str:
    """A style of a drawing in the colours of the screens."""
    return " ".join(THEMED.get(word, word) for word in style.split())


class PlanView(Widget):
    """The plan of what ``show`` was given last; it never takes the focus.

    ``view`` is the part shown, ``parts`` the layers shown, ``chosen`` the number of the joist that stands out (0 for none).
    """

    DEFAULT_CSS = """
    PlanView { width: 1fr; height: 1fr; text-wrap: nowrap; }
    """

    view: reactive[View] = reactive(View())
    parts: reactive[frozenset[Layer]] = reactive(USUAL)
    chosen: reactive[int] = reactive(0)

    class Chosen(Message):
        """A click on a joist: its number, 0 beside all of them."""

        def __init__(self, plan_view: PlanView, number: int) -> None:
            super().__init__()
            self.plan_view = plan_view
            self.number = number

        @property
        def control(self) -> PlanView:
            """The widget that was clicked."""
            return self.plan_view

    class Fitted(Message):
        """The plan got another size: what is said of it may be other words."""

    def __init__(self, widget_id: str = "plan") -> None:
        super().__init__(id=widget_id)
        self.drawing: Drawing | None = None
        self.message = ""
        self._painted: dict[tuple[object, ...], Plan] = {}
        self._held = (0, 0)
        self._dragged = False

    def show(self, drawing: Drawing | None, message: str = "") -> None:
        """Show a drawing, with a ``message`` in the last line; or the message alone.

        The part shown stays while the drawing is of the same platform.
        """
        if drawing is not self.drawing:
            self._painted.clear()
        before, self.drawing, self.message = self.drawing, drawing, message
        if drawing is None or before is None or drawing.name != before.name:
            self.view = View()
        if drawing is not None and self.chosen > len(drawing.joists):
            self.chosen = 0
        self.refresh()

    @property
    def plan(self) -> Plan | None:
        """The plan as it is painted now; None when there is nothing, or no room, to paint."""
        return self._planned(self.view)

    def _planned(self, view: View) -> Plan | None:
        width, height = self.size.width, self.size.height - bool(self.message)
        if self.drawing is None or width < LEAST_WIDTH or height < LEAST_ROWS:
            return None
        key = (width, height, view, self.parts, self.chosen)
        plan = self._painted.get(key)
        if plan is None:
            plan = plan_rows(self.drawing, width, height, layers=self.parts, view=view, chosen=self.chosen)
            while len(self._painted) >= KEPT:
                self._painted.pop(next(iter(self._painted)))
            self._painted[key] = plan
        return plan

    def render(self) -> Content:
        """The plan, or what is said in its place."""
        plan = self.plan
        if plan is None:
            return words.say(self.message or ("no room for the plan here" if self.drawing else ""), words.FAINT)
        height = self.size.height
        if not self.message:
            return content_of(plan.rows[:height])
        said = words.say(words.fit(self.message, self.size.width), "$warning")
        return words.stack((content_of(plan.rows[: height - 1]), said))

    def zoom(self, factor: float, at: tuple[int, int] | None = None) -> bool:
        """Come so many times closer, the point at the column and row ``at`` (else the middle) staying where it is.

        Returns False where nothing more is to be seen that way.
        """
        plan, drawing, zoom = self.plan, self.drawing, min(max(self.view.zoom * factor, 1.0), float(ZOOM_MOST))
        if plan is None or drawing is None or zoom == self.view.zoom:
            return False
        here = centred(drawing, plan.plot, zoom)
        after = self._planned(here)
        if at is not None and after is not None:
            x = plan.plot.x_nm + (at[0] - plan.plot.left) * plan.plot.across_nm
            y = plan.plot.y_nm + (at[1] - plan.plot.top) * plan.plot.along_nm
            here = moved(drawing, after.plot, zoom, after.plot.column(x) - at[0], after.plot.row(y) - at[1])
        self.view = here if zoom > 1 else View()
        return True

    def pan(self, across: float, along: float) -> bool:
        """Move by shares of the part shown; returns False where the plan ends there."""
        plan = self.plan
        if plan is None:
            return False
        return self._move(across * plan.plot.columns, along * plan.plot.rows)

    def _move(self, columns: float, rows: float) -> bool:
        plan, drawing = self.plan, self.drawing
        if plan is None or drawing is None or self.view.zoom <= 1:
            return False
        after = self._planned(moved(drawing, plan.plot, self.view.zoom, columns, rows))
        assert after is not None
        if (after.plot.x_nm, after.plot.y_nm) == (plan.plot.x_nm, plan.plot.y_nm):
            return False
        self.view = centred(drawing, after.plot, self.view.zoom)
        return True

    def whole(self) -> None:
        """Show all of the plan."""
        self.view = View()

    def choose(self, number: int) -> None:
        """Make a joist stand out, and bring it into view."""
        plan, drawing = self.plan, self.drawing
        if drawing is None or not 0 <= number <= len(drawing.joists):
            return
        if number and plan is not None and number not in plan.joist_columns:
            plot = plan.plot
            off = plot.column(drawing.joists[number - 1].at_nm) - (plot.left + plot.columns / 2)
            self._move(off, 0)
        self.chosen = number

    def joist_at(self, column: int, row: int) -> int:
        """The number of the joist drawn in a column, or the next one to it; 0 for none."""
        plan = self.plan
        if plan is None or Layer.FRAME not in self.parts:
            return 0
        near = min(plan.joist_columns.items(), key=lambda one: abs(one[1] - column), default=(0, 0))
        return near[0] if near[0] and abs(near[1] - column) <= 1 and row < plan.plot.top + plan.plot.rows else 0

    def on_resize(self) -> None:
        """Tell that the plan is painted for another size now."""
        self.post_message(self.Fitted())

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """The wheel comes closer at the pointer."""
        event.stop()
        self.zoom(WHEEL_STEP, (event.x, event.y))

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """The wheel goes back at the pointer."""
        event.stop()
        self.zoom(1 / WHEEL_STEP, (event.x, event.y))

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """Take hold of the plan."""
        event.stop()
        self._held, self._dragged = (event.x, event.y), False
        self.capture_mouse()

    def on_mouse_move(self, event: events.MouseMove) -> None:
        """Drag the plan along."""
        if self.app.mouse_captured is not self or (event.x, event.y) == self._held:
            return
        event.stop()
        self._move(self._held[0] - event.x, self._held[1] - event.y)
        self._held, self._dragged = (event.x, event.y), True

    def on_mouse_up(self, event: events.MouseUp) -> None:
        """Let go; a click without a drag chooses a joist."""
        if self.app.mouse_captured is not self:
            return
        event.stop()
        self.release_mouse()
        if not self._dragged:
            self.post_message(self.Chosen(self, self.joist_at(event.x, event.y)))
