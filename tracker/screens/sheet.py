"""The day sheet on the screen: the same page the shell prints."""

from __future__ import annotations

from datetime import timedelta

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from tracker.screens.actions import bindings
from tracker.screens.frame import Framed, reads
from tracker.trade.dates import format_long_day


class SheetScreen(Framed[None]):
    """The day sheet of one day, today first."""

    NAME = "sheet"
    BINDINGS = bindings("sheet")
    CSS_PATH = "sheet.tcss"

    def body(self) -> ComposeResult:
        """The page, scrolling."""
        with VerticalScroll(id="page"):
            yield Static("reading…", id="sheet", markup=False)

    def on_mount(self) -> None:
        """Read the sheet of today."""
        self.day = self.desk.today
        self.query_one("#page").focus()
        self.reread()

    @reads
    async def reread(self) -> None:
        """Read the sheet of the day."""
        from tracker.book.sheet import day_sheet
        from tracker.reports.daysheet import render

        self.title_text = f"Day sheet  {format_long_day(self.day)}"
        stamp = self.desk.stamp
        sheet = await self.desk.ask(day_sheet, self.day, self.desk.today)
        self.read_under = stamp
        self.query_one("#sheet", Static).update(render(sheet, self.desk.today))

    def action_before(self) -> None:
        """The day before."""
        self.day -= timedelta(days=1)
        self.reread()

    def action_after(self) -> None:
        """The day after."""
        self.day += timedelta(days=1)
        self.reread()

    def action_today(self) -> None:
        """Today."""
        self.day = self.desk.today
        self.reread()

    def action_back(self) -> None:
        """Back to the open jobs."""
        self.dismiss(None)
