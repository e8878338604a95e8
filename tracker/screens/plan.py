"""The plan of a platform, drawn to scale: closer and further, layer by layer, with the tape list beside it."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content

from tracker.book.views import JobView
from tracker.reports.drawing_joist import failing, failing_joists, joist_facts, told
from tracker.reports.drawing_legend import Row, tape_rows
from tracker.reports.drawing_marks import CheckNote, Mark
from tracker.reports.drawing_painter import STYLES
from tracker.reports.drawing_shapes import Drawing, Layer, layers_of
from tracker.reports.drawing_text import LEAST_WIDTH, legend_rows, plan_rows
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.exporting import export
from tracker.screens.frame import Framed, reads, shows
from tracker.screens.going import open_form
from tracker.screens.planwidget import LEAST_ROWS, STEP, PlanView, content_of, themed
from tracker.screens.static import Static
from tracker.text import clean, listing

WIDE, LOW, LOWEST = 110, 30, 22
"""Columns from which a list stands beside the plan, and lines below which the facts take less room, and least."""
LIST, LEAST_LIST = 46, 34
"""Columns of a list beside the plan, where there are plenty and at the least."""
SIGNS, TAPE = "signs", "tape"
FAR = 0.25
"""The share of the part shown that an arrow moves it."""
ACROSS = {"left": (-FAR, 0.0), "right": (FAR, 0.0), "up": (0.0, -FAR), "down": (0.0, FAR)}


class Beside(VerticalScroll, can_focus=False):
    """The list beside the plan; it takes the arrows only while it covers the plan."""


class PlanScreen(Framed[None]):
    """The plan of one platform of the job ``code``, the first when none is named.

    With ``check`` the first joist at which that check failed stands out.
    """

    NAME = "plan"
    BINDINGS = bindings("plan")
    CSS_PATH = "plan.tcss"

    def __init__(self, code: str, platform: str = "", check: str = "") -> None:
        super().__init__()
        self.code = code
        self.platform = platform
        self.check_key = check
        self.view: JobView | None = None
        self.by_phase = True
        self.list_room = 0
        self.beside: str | None = None
        """Which list was asked for: the signs, the tape list, or none (empty); None leaves it to the room there is."""

    def body(self) -> ComposeResult:
        """The plan and the list beside it, what is shown above them, the joist in hand below."""
        yield Static(id="over", markup=False)
        with Horizontal(id="sides"):
            yield PlanView()
            with Beside(id="beside"):
                yield Static(id="list", markup=False)
        yield Static(id="facts", markup=False)

    def on_mount(self) -> None:
        """Read the job; follow what the plan shows."""
        self.title_text = f"Plan  {self.code}"
        plan = self.plan
        plan.show(None, "drawing…")
        for name in ("view", "chosen", "parts"):
            self.watch(plan, name, self.follow, init=False)
        self.reread()

    @property
    def plan(self) -> PlanView:
        """The widget that draws."""
        return self.query_one(PlanView)

    @property
    def drawing(self) -> Drawing | None:
        """What is drawn."""
        return self.plan.drawing if self.is_mounted and self.query(PlanView) else None

    @reads
    async def reread(self) -> None:
        """Read the job and draw the platform, both in a thread."""
        from tracker.book.jobs import job_view

        stamp = self.desk.stamp
        self.view = await self.desk.ask(job_view, self.code, self.desk.today)
        self.read_under = stamp
        await self.draw()

    @shows
    async def redraw_platform(self) -> None:
        """Draw another platform of the job as it was read."""
        await self.draw()

    async def draw(self) -> None:
        """Draw the platform in a thread and show it."""
        from tracker.reports.drawing import draw_of

        view = self.view
        if view is None:
            return
        names = [platform.name for platform in view.spec.platforms]
        if self.platform not in names:
            self.platform = names[0]
        platform = view.spec.platform(self.platform)
        drawing = await self.desk.in_thread(lambda: draw_of(view, platform))
        self.title_text = f"Plan  {view.line.code}  {view.line.title}"
        if self.by_phase:
            self.plan.parts = layers_of(self.phase_key)
        self.plan.show(drawing)
        if self.check_key:
            numbers = failing_joists(drawing, self.check_key)
            self.check_key = ""
            self.plan.choose(numbers[0] if numbers else 0)
        self.redraw()

    @property
    def phase_key(self) -> str:
        """The phase the job is in."""
        if self.view is None:
            return ""
        return (self.view.current or self.view.phases[-1]).key

    def follow(self) -> None:
        """Tell again what is shown after a part of it has changed; what was said of the part before is over."""
        self.tell("")
        self.call_after_refresh(self.redraw)

    def redraw(self) -> None:
        """Put what is said round the plan on the screen, for the room there is."""
        if not self.is_mounted or not self.query("#over"):
            return
        self.set_class(self.size.height < LOW, "-low")
        self.set_class(self.size.height < LOWEST, "-lowest")
        drawing, view = self.drawing, self.view
        if drawing is None or view is None:
            return
        self.place_list(drawing)
        width = max(self.size.width - 2, 30)
        self.query_one("#over", Static).update(words.ends(self.place(view, drawing), self.shown(view), width))
        self.query_one("#facts", Static).update(self.facts(drawing, width))
        if self.list_shown:
            # Off go the scroll bar and a blank on either side, and the line beside the plan.
            room = self.list_room - 4 if self.has_class("-wide") else self.size.width - 3
            self.query_one("#list", Static).update(content_of(self.rows(drawing, room)))
        self.refresh_keys()

    @property
    def list_shown(self) -> str:
        """Which list is on the screen; empty for none."""
        if self.beside is None:
            return SIGNS if self.list_room else ""
        return self.beside

    def place_list(self, drawing: Drawing) -> None:
        """Put the list beside the plan, or in its place where it would make the plan smaller."""
        width, height = self.size.width, self.query_one("#sides").size.height
        self.list_room = LIST if width >= WIDE else 0
        if not self.list_room and width - LEAST_LIST - 2 >= LEAST_WIDTH and height >= LEAST_ROWS:
            sizes = [
                plan_rows(drawing, columns, height, layers=self.plan.parts).plot.across_nm
                for columns in (width - 2, width - LEAST_LIST - 2)
            ]
            self.list_room = LEAST_LIST if sizes[0] == sizes[1] else 0
        shown = bool(self.list_shown)
        self.set_class(shown and bool(self.list_room), "-wide")
        self.set_class(shown and not self.list_room, "-list")
        panel = self.query_one("#beside")
        panel.styles.width = self.list_room or "1fr"

    def place(self, view: JobView, drawing: Drawing) -> Content:
        """Which platform, and how much of it."""
        names = [platform.name for platform in view.spec.platforms]
        number = f", {names.index(drawing.name) + 1} of {len(names)}" if len(names) > 1 else ""
        zoom = self.plan.view.zoom
        how = f"{zoom:.1f}".removesuffix(".0") + " times closer" if zoom > 1 else "all of it"
        plan = self.plan.plan
        tight = words.say(", joists share columns", "$warning") if plan is not None and plan.crowded else ""
        return words.line(words.say(clean(drawing.name), words.HEADING), f"{number}: {how}", tight)

    def shown(self, view: JobView) -> Content:
        """Which layers are on, in words."""
        on = [layer.value for layer in Layer if layer in self.plan.parts]
        text = listing(on, "and") if on else "outline only"
        phase = f"for {view.phase(self.phase_key).title.lower()}: " if self.by_phase and self.size.width >= 80 else ""
        return words.say(f"{phase}{text}", words.FAINT)

    def failed(self, drawing: Drawing) -> Sequence[CheckNote]:
        """The checks that failed at the joist in hand; without one all that failed."""
        if self.plan.chosen:
            return failing(drawing, self.plan.chosen)
        return [note for note in drawing.checks if note.mark is Mark.FAILED]

    def facts(self, drawing: Drawing, width: int) -> Content:
        """The joist in hand; without one the worst check, or how to choose a joist."""
        number = self.plan.chosen
        if number:
            known = joist_facts(drawing, number)
            rows = [words.hang(known.what, width, style=words.STRONG)]
            for note in known.failing[:1]:
                more = f" (and {len(known.failing) - 1} more)" if len(known.failing) > 1 else ""
                rows.append(words.say(words.fit(told(note) + more, width), themed(STYLES[note.mark])))
            rows.append(words.hang(known.tape, width, style=words.FAINT))
            return words.stack(rows)
        bad = self.failed(drawing)
        if not bad:
            how = ", and . choose a joist, so does a click" if Layer.FRAME in self.plan.parts else "f shows the joists"
            return words.say(how, words.FAINT)
        rows = [words.hang(told(bad[0]), width, style="$error bold")]
        rows += [words.hang(move, width, "do: ", words.STRONG) for move in bad[0].moves[:1]]
        return words.stack(rows)

    def rows(self, drawing: Drawing, width: int) -> list[Row]:
        """The list beside the plan."""
        if self.list_shown == TAPE:
            return tape_rows(drawing, width)
        layers, size = self.plan.parts, self.query_one("#sides").size
        # A plan that is covered by its list has no size of its own.
        plan = self.plan.plan or plan_rows(
            drawing, max(size.width, LEAST_WIDTH), max(size.height, LEAST_ROWS), layers=layers
        )
        return legend_rows(drawing, plan, width, layers=layers)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What does not apply to what is shown is not offered."""
        if action == "back":
            return True
        drawing = self.drawing
        if drawing is None:
            return False
        covered = self.has_class("-list")
        match action:
            case "check":
                return not covered and bool(self.failed(drawing))
            case "joist_before" | "joist_after":
                return not covered and Layer.FRAME in self.plan.parts
            case "whole":
                return not covered and self.plan.view.zoom > 1
            case "other_platform":
                return self.view is not None and len(self.view.spec.platforms) > 1
            case "phase_layers":
                return not self.by_phase
            case "closer" | "further" | "left" | "right" | "up" | "down":
                return not covered
        return True

    def on_plan_view_fitted(self) -> None:
        """What stands round the plan follows the size it got, whichever came first, the size or the drawing."""
        self.redraw()

    def on_plan_view_chosen(self, event: PlanView.Chosen) -> None:
        """A click chooses a joist, or none."""
        self.plan.choose(event.number)

    def action_closer(self) -> None:
        """Come closer."""
        if not self.plan.zoom(STEP):
            self.tell("that is as close as it goes")

    def action_further(self) -> None:
        """See more of the plan."""
        if not self.plan.zoom(1 / STEP):
            self.tell("that is all of it")

    def action_whole(self) -> None:
        """Show all of the plan."""
        self.plan.whole()

    def move(self, way: str) -> None:
        """Show the part of the plan beside this one."""
        if self.plan.view.zoom <= 1:
            self.tell("all of it is in view: + comes closer")
        elif not self.plan.pan(*ACROSS[way]):
            self.tell("the plan ends there")

    def action_left(self) -> None:
        """Show what is on the left."""
        self.move("left")

    def action_right(self) -> None:
        """Show what is on the right."""
        self.move("right")

    def action_up(self) -> None:
        """Show what is towards the back."""
        self.move("up")

    def action_down(self) -> None:
        """Show what is towards the front."""
        self.move("down")

    def action_page_down(self) -> None:
        """Scroll the list."""
        self.query_one("#beside").scroll_page_down(animate=False)

    def action_page_up(self) -> None:
        """Scroll the list back."""
        self.query_one("#beside").scroll_page_up(animate=False)

    def step(self, by: int) -> None:
        """Choose the joist before or after; first the one that fails."""
        drawing = self.drawing
        if drawing is None:
            return
        most, chosen = len(drawing.joists), self.plan.chosen
        bad = failing_joists(drawing)
        first = bad[0] if bad else (1 if by > 0 else most)
        self.plan.choose((chosen - 1 + by) % most + 1 if chosen else first)

    def action_joist_before(self) -> None:
        """Choose the joist on the left."""
        self.step(-1)

    def action_joist_after(self) -> None:
        """Choose the joist on the right."""
        self.step(1)

    def action_check(self) -> None:
        """Open the form of the check that failed at the joist, without one the check told below the plan."""
        if self.drawing is not None and (notes := self.failed(self.drawing)):
            open_form(self, self.code, notes[0].key)

    def action_other_platform(self) -> None:
        """Draw the next platform."""
        if self.view is not None:
            names = [platform.name for platform in self.view.spec.platforms]
            self.platform = names[(names.index(self.platform) + 1) % len(names)]
            self.plan.choose(0)
            self.redraw_platform()

    def switch(self, layer: Layer) -> None:
        """Show a layer, or leave it out."""
        self.by_phase = False
        self.plan.parts = self.plan.parts ^ {layer}
        if Layer.FRAME not in self.plan.parts:
            self.plan.choose(0)
        self.redraw()

    def action_frame(self) -> None:
        """Show the frame, or leave it out."""
        self.switch(Layer.FRAME)

    def action_supports(self) -> None:
        """Show the supports, or leave them out."""
        self.switch(Layer.SUPPORTS)

    def action_boards(self) -> None:
        """Show the boards, or leave them out."""
        self.switch(Layer.BOARDS)

    def action_checks(self) -> None:
        """Show what the checks found, or leave it out."""
        self.switch(Layer.CHECKS)

    def action_phase_layers(self) -> None:
        """Show the layers that matter in the phase the job is in."""
        self.by_phase = True
        self.plan.parts = layers_of(self.phase_key)
        self.redraw()

    def show_list(self, which: str) -> None:
        """Show a list, or the plan again when it is there already."""
        self.beside = "" if self.list_shown == which else which
        self.redraw()
        panel = self.query_one("#beside", Beside)
        panel.can_focus = self.has_class("-list")
        self.set_focus(panel if panel.can_focus else None)
        panel.scroll_home(animate=False)
        self.follow()

    def action_tape(self) -> None:
        """Show the tape list."""
        self.show_list(TAPE)

    def action_signs(self) -> None:
        """Show what the signs mean and what the checks found."""
        self.show_list(SIGNS)

    def action_page(self) -> None:
        """Write the plan as an SVG page, with the layers that are on."""
        from tracker.reports.drawing_svg import draw_svg

        drawing, layers = self.drawing, self.plan.parts
        if drawing is not None:
            name = f"{self.code}-{drawing.name}-plan.svg"
            export(self, name, lambda: draw_svg(drawing, layers=layers).encode(), what="the plan as SVG")

    def action_back(self) -> None:
        """Back to the plan from a list that covers it, else back to the job."""
        if self.has_class("-list"):
            self.show_list(self.list_shown)
        else:
            self.dismiss(None)
