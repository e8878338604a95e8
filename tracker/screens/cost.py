"""What the material of a job costs, by phase and by item: the same page the shell prints."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from tracker.book.buyviews import CostView
from tracker.reports.costpages import cost_page
from tracker.reports.page import Tone, lay_out
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.clears import page_by_keys
from tracker.screens.frame import Framed, reads
from tracker.screens.static import Static

STYLES = {Tone.TITLE: words.STRONG, Tone.QUIET: words.FAINT, Tone.CARE: "$warning bold", Tone.BAD: "$error bold"}


class CostScreen(Framed[None]):
    """The cost of the job ``code``."""

    NAME = "cost"
    BINDINGS = bindings("cost")
    CSS_PATH = "cost.tcss"

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code
        self.view: CostView | None = None

    def body(self) -> ComposeResult:
        """The page, scrolling."""
        with VerticalScroll(id="page"):
            yield Static("reading…", id="cost", markup=False)

    def on_mount(self) -> None:
        """Read the cost."""
        self.title_text = f"{self.code} / cost of the material"
        self.query_one("#page").focus()
        self.reread()

    @reads
    async def reread(self) -> None:
        """Read the cost."""
        from tracker.book.buying import cost_of

        stamp = self.desk.stamp
        self.view = await self.desk.ask(cost_of, self.code, self.desk.today)
        self.read_under = stamp
        self.redraw()

    def redraw(self) -> None:
        """Lay the page out for the width there is."""
        if self.view is not None:
            lines = lay_out(page_by_keys(cost_page(self.view)), max(self.size.width - 3, 30))
            page = words.stack(words.say(text, STYLES.get(tone, "")) for text, tone in lines)
            self.query_one("#cost", Static).update(page)

    def action_back(self) -> None:
        """Back to the material."""
        self.dismiss(None)
