"""The open jobs in a table: where each is, how late, what it has cost, and the worst thing that holds it."""

from __future__ import annotations

from collections.abc import Iterator

from textual.app import ComposeResult
from textual.timer import Timer
from textual.widgets import DataTable, Input, OptionList

from tracker.book.frontviews import Place
from tracker.book.views import JobLine
from tracker.screens import joblines, words
from tracker.screens.actions import bindings
from tracker.screens.frame import reads
from tracker.screens.front import Front
from tracker.screens.oneline import OneLine
from tracker.screens.rows import Rows
from tracker.screens.static import Static
from tracker.screens.table import Table
from tracker.text import count
from tracker.trade.dates import format_long_day

FIRST = 60
"""Jobs put in the table at once: more than any screen has lines."""
PAUSE = 0.25
"""Seconds without a key before the others follow."""


class JobsScreen(Front):
    """Every open job; sorted by a key, narrowed by words."""

    NAME = "jobs"
    BINDINGS = bindings("jobs")
    CSS_PATH = "jobs.tcss"

    def __init__(self) -> None:
        super().__init__()
        self.jobs: tuple[JobLine, ...] | None = None
        self.order = next(iter(joblines.ORDERS))
        self.columns: list[joblines.Column] = []
        self.finished = False
        """Whether the decks handed over are shown in place of the open jobs."""
        self.to_come: list[JobLine] = []
        """Jobs that are still to be put under those in the table."""
        self.following: Timer | None = None

    def body(self) -> ComposeResult:
        """The filter, the jobs in columns or on two lines each, the one under the cursor in full."""
        yield Static("OPEN JOBS", id="jobs-head", markup=False)
        yield OneLine(joins=" ", placeholder="show jobs that hold these words", id="filter", compact=True)
        yield Table(id="table", cursor_type="row")
        yield Rows(id="rows")
        yield Static(id="detail", markup=False)

    def on_mount(self) -> None:
        """Read the jobs."""
        self.title_text = format_long_day(self.desk.today)
        self.set_class(self.size.width < joblines.TABLE, "-narrow")
        self.focus_list()
        self.reread()

    @property
    def narrow(self) -> bool:
        """Whether the jobs stand on two lines each."""
        return self.has_class("-narrow")

    def focus_list(self) -> None:
        """Put the arrows in the jobs."""
        self.query_one("#rows" if self.narrow else "#table").focus()

    @reads
    async def reread(self) -> None:
        """Read the open jobs, or those handed over."""
        from tracker.book.jobs import handed_over_lines, job_lines

        stamp = self.desk.stamp
        self.jobs = await self.desk.ask(handed_over_lines if self.finished else job_lines, self.desk.today)
        self.read_under = stamp
        self.redraw()

    def redraw(self) -> None:
        """Put the jobs on the screen."""
        narrow = self.size.width < joblines.TABLE
        if narrow != self.narrow:
            self.set_class(narrow, "-narrow")
            if not isinstance(self.focused, Input):
                self.focus_list()
        if self.jobs is None:
            return
        self.title_text = format_long_day(self.desk.today)
        held = f"{count(len(self.jobs), 'deck')} handed over" if self.finished else count(len(self.jobs), "open job")
        self.aside_text = f"{held}  {self.desk.banner}".strip()
        jobs = joblines.in_order(joblines.holding(self.jobs, self.query_one("#filter", Input).value), self.order)
        total = len(self.jobs)
        found = "" if len(jobs) == total else f"{len(jobs)} of {total} hold these words (esc: all)  "
        title = "HANDED OVER" if self.finished else "OPEN JOBS"
        none = "no deck yet" if self.finished else "none: every phase of every job is signed off"
        head = f"{title}  {found}by {self.order}" if total else f"{title}  {none}"
        self.query_one("#jobs-head", Static).update(words.say(head))
        if narrow:
            rows = self.query_one("#rows", Rows)
            rows.show((job.code, joblines.two_lines(job, rows.room)) for job in jobs)
        else:
            self.fill(jobs)
        self.draw_detail()
        self.refresh_keys()

    def fill(self, jobs: list[JobLine]) -> None:
        """Put the first jobs in the table, down past the one under the cursor; the rest follow when no key comes."""
        table = self.query_one("#table", Table)
        held = next((n for n, job in enumerate(jobs) if job.code == table.key), 0)
        cut = held + FIRST
        self.to_come = jobs[cut:]
        self.columns = joblines.columns(jobs, self.size.width)
        table.show(self.columns, self.row_texts(jobs[:cut]))
        if self.following is not None:
            self.following.stop()
        self.following = self.set_timer(PAUSE, self.follow) if self.to_come else None

    def follow(self) -> None:
        """Put the other jobs under those in the table."""
        self.query_one("#table", Table).extend(self.columns, self.row_texts(self.to_come))
        self.to_come, self.following = [], None

    def row_texts(self, jobs: list[JobLine]) -> Iterator[tuple[str, list[str], str]]:
        """The rows of jobs."""
        return ((job.code, joblines.cells(job, self.size.width), "") for job in jobs)

    @property
    def at_cursor(self) -> JobLine | None:
        """The job under the cursor."""
        code = self.query_one("#rows", Rows).key if self.narrow else self.query_one("#table", Table).key
        return next((job for job in self.jobs or () if job.code == code), None)

    def draw_detail(self) -> None:
        """Say everything of the job under the cursor."""
        job = self.at_cursor
        width = max(self.size.width - 2, 30)
        text = joblines.detail(job, self.desk.today, width, self.narrow) if job else words.say("")
        self.query_one("#detail", Static).update(text)

    def on_data_table_row_highlighted(self) -> None:
        """Follow the cursor."""
        self.draw_detail()

    def on_option_list_option_highlighted(self) -> None:
        """Follow the cursor."""
        self.draw_detail()

    def on_data_table_row_selected(self, event: DataTable.RowSelected) -> None:
        """Enter opens the job."""
        self.action_open()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter opens the job."""
        self.action_open()

    def on_input_changed(self) -> None:
        """Filter as you type."""
        self.redraw()

    def on_input_submitted(self) -> None:
        """Enter goes from the filter to the jobs."""
        self.focus_list()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Without jobs there is nothing to open."""
        if action in ("open", "narrow", "sort"):
            return bool(self.jobs)
        return super().check_action(action, parameters)

    def action_open(self) -> None:
        """Open the job under the cursor."""
        if (job := self.at_cursor) is not None:
            self.go_to([(Place(job.code), job.title)])

    def action_finished(self) -> None:
        """The decks handed over, or the open jobs again."""
        self.finished = not self.finished
        self.reread()

    def action_sort(self) -> None:
        """The next order."""
        orders = list(joblines.ORDERS)
        self.order = orders[(orders.index(self.order) + 1) % len(orders)]
        self.redraw()

    def action_narrow(self) -> None:
        """Open the filter."""
        self.add_class("-filtering")
        self.query_one("#filter").focus()

    def action_back(self) -> None:
        """Show all jobs again, else go back to the morning."""
        if self.has_class("-filtering"):
            self.remove_class("-filtering")
            self.query_one("#filter", Input).value = ""
            self.focus_list()
        else:
            self.dismiss(None)
