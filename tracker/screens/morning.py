"""The first screen: today over all jobs, and one key to each thing that needs doing."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Container
from textual.content import Content
from textual.widgets import OptionList

from tracker.book.frontviews import MorningView
from tracker.errors import BookError
from tracker.screens import tour, words
from tracker.screens.actions import bindings
from tracker.screens.clears import by_keys
from tracker.screens.frame import reads, works
from tracker.screens.front import Front
from tracker.screens.morninglines import Row, listed, sections
from tracker.screens.rows import Rows
from tracker.screens.static import Static
from tracker.text import clean, count
from tracker.trade.dates import format_long_day

WIDE, TALL = 110, 34
"""Cells from which the two lists stand side by side, lines from which NEEDS YOU says every word in its list."""
DETAIL = 5
"""Lines for the thing under the cursor."""


class MorningScreen(Front):
    """Today over all jobs; on an empty book the lesson."""

    NAME = "morning"
    BINDINGS = bindings("morning")
    CSS_PATH = "morning.tcss"

    def __init__(self) -> None:
        super().__init__()
        self.view: MorningView | None = None
        self.lines: dict[str, Row] = {}
        self.filling = False
        self.stopping = False
        self.leaving = False
        """Somebody wants to leave as soon as the sample job in hand is loaded."""

    def body(self) -> ComposeResult:
        """What needs a person, the rest of today, the thing under the cursor in full; or a lesson in their place."""
        with Container(id="lists"):
            yield Static(id="head", markup=False)
            yield Rows(id="today")
            yield Rows(id="aside")
        yield Static(id="detail", markup=False)
        yield Static("opening the book…", id="lesson", markup=False)

    def on_mount(self) -> None:
        """Paint the frame; the app opens the book after it."""
        self.add_class("-lesson")
        self.title_text = format_long_day(self.desk.today)
        self.query_one("#today").focus()

    def lesson(self, text: Content) -> None:
        """Show a text in the place of the lists."""
        self.add_class("-lesson")
        self.query_one("#lesson", Static).update(text)
        self.refresh_keys()

    @reads
    async def reread(self) -> None:
        """Read today; without a book try to open it."""
        from tracker.book.morning import morning

        if self.desk.book is None:
            self.desk.call_later(self.desk.action_open_book)
            return
        stamp = self.desk.stamp
        self.view = await self.desk.ask(morning, self.desk.today)
        self.read_under = stamp
        self.redraw()

    def redraw(self) -> None:
        """Put today on the screen."""
        view = self.view
        if view is None:
            return
        self.title_text = format_long_day(self.desk.today)
        self.aside_text = f"{count(view.open_jobs, 'open job')}  {self.desk.banner}".strip()
        width = max(self.size.width - 5, 20)
        if not view.open_jobs and not view.care:
            self.lesson(tour.all_done(view.jobs, width) if view.jobs else tour.lesson(width))
            return
        self.remove_class("-lesson")
        self.set_class(self.size.width >= WIDE, "-wide")
        parts = sections(view)
        self.lines = {row.key: row for section in parts for row in section.rows}
        needs, aside = self.query_one("#today", Rows), self.query_one("#aside", Rows)
        (_, head), *lines = listed(parts[:1], needs.room, brief=self.size.height < TALL)
        self.query_one("#head", Static).update(head)
        needs.show(lines)
        aside.show(listed(parts[1:], aside.room, brief=True))
        if not view.needs and needs.has_focus:
            aside.focus()
        self.draw_detail()
        self.refresh_keys()

    @property
    def rows(self) -> Rows:
        """The list the arrows are in."""
        return self.focused if isinstance(self.focused, Rows) else self.query_one("#today", Rows)

    def draw_detail(self) -> None:
        """Say in full what stands under the cursor."""
        row = self.lines.get(self.rows.key or "")
        lines = row.full(max(self.size.width - 2, 20)).split("\n") if row else []
        if len(lines) > DETAIL:
            lines[DETAIL - 1 :] = [words.say("… enter shows the rest", words.FAINT)]
        self.query_one("#detail", Static).update(words.stack(lines))

    def opening_failed(self, error: BookError) -> None:
        """Say why the book does not open and what is safe."""
        said = by_keys(error.hint)
        hint = f"\n{said[0].upper()}{said[1:]}.\n" if said else ""
        self.lesson(
            words.say(
                f"The book cannot be used: {by_keys(error.message)}\n{hint}\nNothing was changed.\n\n"
                f"    r    try again\n    q    leave\n\nThe book is {self.desk.path}"
            )
        )

    def on_option_list_option_highlighted(self) -> None:
        """Follow the cursor."""
        self.draw_detail()

    def on_descendant_focus(self) -> None:
        """Follow the cursor from list to list."""
        self.draw_detail()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter goes to the thing under the cursor."""
        self.action_open()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What there is to go to; the samples only in a book that never had a job."""
        view = self.view
        match action:
            case "open":
                return view is not None and bool(view.open_jobs or view.care)
            case "need":
                number = int(str(parameters[0])) if parameters else 1
                return view is not None and number <= len(view.needs)
            case "samples":
                return view is not None and not view.jobs and not self.filling
            case "stop":
                return self.filling
        return super().check_action(action, parameters)

    def action_open(self) -> None:
        """Go to the thing under the cursor."""
        if (row := self.lines.get(self.rows.key or "")) is not None:
            self.go_to(row.places)

    def action_need(self, key: str) -> None:
        """Go to a line of NEEDS YOU by its number."""
        if self.view is not None and int(key) <= len(self.view.needs):
            self.go_to([(self.view.needs[int(key) - 1].place, "")])

    def action_across(self) -> None:
        """Put the arrows in the other list."""
        self.query_one("#today" if self.rows.id == "aside" else "#aside").focus()

    def action_jobs(self) -> None:
        """Go to the open jobs."""
        from tracker.screens.jobs import JobsScreen

        self.desk.push_screen(JobsScreen())

    def action_ideas(self) -> None:
        """Read the five ideas."""
        self.desk.push_screen(tour.ideas_page())

    def action_samples(self) -> None:
        """Ask, then load the sample jobs."""
        from tracker.book.samples import sample_files

        def answered(answer: str | None) -> None:
            if answer == "yes":
                self.load_samples()

        self.desk.push_screen(tour.ask_samples(len(sample_files()), clean(self.desk.path.name)), answered)

    @works
    async def load_samples(self) -> None:
        """Load the sample jobs one by one, until they are there or somebody stops it."""
        from tracker.book.samples import sample_files, take_sample, take_sample_prices

        self.filling, self.stopping, self.leaving = True, False, False
        files, done = sample_files(), 0
        try:
            self.refresh_keys()
            self.tell("loading the sample prices… (esc stops after them)")
            await self.desk.ask(take_sample_prices, self.desk.hand())
            for file in files:
                if self.stopping:
                    break
                self.tell(f"loading sample job {done + 1} of {len(files)}: {file.stem}… (esc stops after it)")
                await self.desk.ask(take_sample, self.desk.hand(), file)
                done += 1
        finally:
            self.filling = False
        said = f"{count(done, 'sample job')} loaded, all invented"
        if done < len(files):
            said = f"stopped: {said}; {len(files) - done} left out"
        self.tell(said)
        if self.leaving:
            self.desk.action_leave(said)
        else:
            self.reread()

    def action_stop(self) -> None:
        """Stop loading after the job in hand."""
        self.stopping = True
        self.tell("stopping after what is in hand…")

    def leave_after(self) -> bool:
        """Leave once the sample job in hand is loaded; False when none is, and when that was asked for before."""
        if not self.filling or self.leaving:
            return False
        self.stopping = self.leaving = True
        self.tell("the sample job in hand is loaded, then the program leaves; q again leaves at once")
        return True
