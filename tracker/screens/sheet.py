"""The day sheet on the screen: the same page the shell prints."""

from __future__ import annotations

from datetime import date, timedelta
from functools import partial

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from tracker.book.sheetviews import DaySheet
from tracker.screens.actions import bindings
from tracker.screens.asking import Question
from tracker.screens.choice import steps
from tracker.screens.clears import page_by_keys
from tracker.screens.exporting import export
from tracker.screens.frame import Framed, reads
from tracker.screens.static import Static
from tracker.trade.dates import format_long_day, parse_day

PAPERS = (
    ("PDF letter", "a summary page, then a page a job, on letter paper"),
    ("PDF A4", "the same on A4"),
    ("HTML", "one file for any browser, fit to be printed"),
    ("CSV", "its lines for a spreadsheet"),
)


def written_as(kind: str, sheet: DaySheet) -> bytes:
    """The sheet as a file of one of ``PAPERS``."""
    if kind == "CSV":
        from tracker.reports.daycsv import sheet_csv

        return sheet_csv(sheet)
    from tracker.reports.daypaper import day_document

    if kind == "HTML":
        from tracker.reports.paper.html import to_html

        return to_html(day_document(sheet))
    from tracker.reports.paper.pdf import to_pdf

    return to_pdf(day_document(sheet), kind.split()[1])


class SheetScreen(Framed[None]):
    """The day sheet of one day, today first."""

    NAME = "sheet"
    BINDINGS = bindings("sheet")
    CSS_PATH = "sheet.tcss"

    def __init__(self) -> None:
        super().__init__()
        self.sheet: DaySheet | None = None

    def body(self) -> ComposeResult:
        """The page, scrolling."""
        with VerticalScroll(id="page"):
            yield Static("reading…", id="sheet", markup=False)

    def on_mount(self) -> None:
        """Read the sheet of today."""
        self.day = self.desk.today
        self.query_one("#page").focus()
        self.reread()

    def turn_day(self, before: date, today: date) -> None:
        """The sheet of today becomes that of the new day."""
        super().turn_day(before, today)
        if self.day == before:
            self.day = today

    @reads
    async def reread(self) -> None:
        """Read the sheet of the day."""
        from tracker.book.sheet import day_sheet
        from tracker.reports.daysheet import page
        from tracker.reports.page import Printed

        self.title_text = f"Day sheet  {format_long_day(self.day)}"
        stamp = self.desk.stamp
        sheet = await self.desk.ask(day_sheet, self.day)
        self.read_under = stamp
        self.sheet = sheet
        self.query_one("#sheet", Static).update(Printed(page_by_keys(page(sheet, self.desk.today))))
        self.refresh_keys()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Nothing to write before it is read; on today's sheet today is no way."""
        if action in ("text", "paper"):
            return self.sheet is not None
        return action != "today" or self.day != self.desk.today

    def show_day(self, day: date) -> None:
        """Show the sheet of another day, from its top."""
        self.day, self.sheet = day, None  # what stands there still is of another day: nothing to write of it
        self.query_one("#page").scroll_home(animate=False)
        self.reread()

    def action_before(self) -> None:
        """The day before."""
        self.show_day(self.day - timedelta(days=1))

    def action_after(self) -> None:
        """The day after."""
        self.show_day(self.day + timedelta(days=1))

    def action_today(self) -> None:
        """Today."""
        self.show_day(self.desk.today)

    def action_go(self) -> None:
        """Ask for a day and show its sheet."""

        async def act(text: str, _entry: str) -> date:
            return parse_day(text, self.desk.today)

        def answered(day: date | None) -> None:
            if day is not None:
                self.show_day(day)

        help_text = "2026-05-12, today, yesterday; a weekday like fri is the next one"
        question = Question("The day sheet of which day?", act, what="the day", help_text=help_text)
        self.desk.push_screen(question, answered)

    def action_text(self) -> None:
        """Write the sheet to a text file."""
        from tracker.reports.daysheet import page
        from tracker.reports.page import plain

        sheet, today = self.sheet, self.desk.today
        if sheet is not None:
            name = f"day-sheet-{sheet.day.isoformat()}.txt"
            export(self, name, lambda: plain(page(sheet, today)).encode(), what="the day sheet")

    def action_paper(self) -> None:
        """Ask for the kind of file, and write the sheet as it."""
        sheet = self.sheet
        if sheet is None:
            return

        def chosen(kind: str | None) -> None:
            if kind is not None:
                name = f"day-sheet-{sheet.day.isoformat()}.{kind.split()[0].lower()}"
                export(self, name, partial(written_as, kind, sheet), what="the day sheet")

        self.desk.push_screen(steps("The day sheet on paper", PAPERS), chosen)

    def action_back(self) -> None:
        """Back to the open jobs."""
        self.dismiss(None)
