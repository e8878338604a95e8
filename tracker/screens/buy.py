"""What is left to buy over all open jobs: by supplier, what is late first, in whole packs."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.widgets import OptionList

from tracker.book.buyviews import Purchase, PurchaseLine
from tracker.book.views import Recorded
from tracker.screens import buylines, words
from tracker.screens.actions import bindings
from tracker.screens.choice import steps
from tracker.screens.cuts import Seeking
from tracker.screens.frame import Framed, reads
from tracker.screens.ordering import ask_order
from tracker.screens.page import Page
from tracker.screens.rows import Rows
from tracker.screens.static import Static
from tracker.text import clean, count
from tracker.trade.dates import format_day


class BuyScreen(Framed[None]):
    """The purchases; of one job when ``code`` names it."""

    NAME = "buy"
    BINDINGS = bindings("buy")
    CSS_PATH = "buy.tcss"

    def __init__(self, code: str = "") -> None:
        super().__init__()
        self.code = code
        self.found: tuple[Purchase, ...] | None = None
        self.seeking: Seeking | None = None

    @property
    def codes(self) -> list[str]:
        """The one job, or none for all."""
        return [self.code] if self.code else []

    def body(self) -> ComposeResult:
        """The sum, how good the cut plans behind it are, the lines, the one under the cursor in full."""
        yield Static("reading…", id="sum", markup=False)
        yield Static(id="proof", markup=False)
        yield Rows(id="lines")
        yield Static(id="detail", markup=False)

    def on_mount(self) -> None:
        """Read what is left to buy."""
        self.title_text = f"To buy for {self.code}" if self.code else "To buy"
        self.query_one("#lines").focus()
        self.reread()

    def on_unmount(self) -> None:
        """Let no search go on that nobody sees."""
        if self.seeking is not None:
            self.seeking.halt.set()

    @reads
    async def reread(self) -> None:
        """Work out the cut plans that are not kept yet, then read what is left to buy."""
        from tracker.book.buying import plan_now, purchases, unplanned

        if self.seeking is not None:
            self.seeking.halt.set()
        self.seeking = seeking = Seeking()
        stamp, today = self.desk.stamp, self.desk.today
        codes = await self.desk.ask(unplanned, today, self.codes)
        for number, code in enumerate(codes, 1):
            self.prove(f"working out the cheapest boards of {code}, job {number} of {len(codes)}…")
            await self.desk.ask(plan_now, [code], today, seeking)
        self.found = await self.desk.ask(purchases, today, self.codes)
        self.read_under = stamp
        self.prove(buylines.proof_words(self.found))
        self.redraw()

    def prove(self, text: str) -> None:
        """Say how good the cut plans behind the boards are."""
        self.query_one("#proof", Static).update(words.say(text))

    @property
    def jobs(self) -> list[str]:
        """The jobs that something is left to buy for."""
        return sorted({part.job for bought in self.found or () for line in bought.lines for part in line.parts})

    def redraw(self) -> None:
        """Put the lines on the screen."""
        if self.found is None:
            return
        late = any(line.urgency == buylines.LATE for bought in self.found for line in bought.lines)
        text = buylines.sum_words(self.found)
        self.query_one("#sum", Static).update(words.say(text, "$warning bold" if late else words.STRONG))
        rows = self.query_one("#lines", Rows)
        rows.show(buylines.rows(self.found, rows.room, self.desk.today))
        self.draw_detail()
        self.refresh_keys()

    @property
    def at_cursor(self) -> tuple[Purchase, PurchaseLine] | None:
        """The line under the cursor and whom it is bought from."""
        key = self.query_one("#lines", Rows).key
        pairs = ((bought, line) for bought in self.found or () for line in bought.lines)
        return next((pair for pair in pairs if buylines.row_key(*pair) == key), None)

    def draw_detail(self) -> None:
        """Show the line under the cursor in full."""
        found = self.at_cursor
        text = buylines.detail(*found, self.desk.today) if found else ""
        self.query_one("#detail", Static).update(words.say(text))

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        """Follow the cursor."""
        self.draw_detail()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter shows who needs it and why."""
        self.action_working()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """With no line there is nothing to order."""
        if action == "job" and self.code:
            return False
        return bool(self.found) or action not in ("order", "working", "job", "cuts")

    @reads
    async def action_working(self) -> None:
        """Show who needs a line by when, and how the quantity was taken off."""
        from tracker.book.lots import needs

        found = self.at_cursor
        if found is None:
            return
        line = found[1]
        jobs = list(dict.fromkeys(part.job for part in line.parts))
        behind = {
            (need.job, need.phase): need
            for need in await self.desk.ask(needs, self.desk.today, jobs)
            if (need.item, need.wood, need.use_category) == (line.item, line.wood, line.use_category)
        }
        rows = []
        for part in line.parts:
            need = behind.get((part.job, part.phase))
            rows.append(
                words.say(
                    f"{part.job}: {part.quantity} for {part.phase}, needed {format_day(part.needed_on, self.desk.today)}",
                    words.STRONG,
                )
            )
            if need is not None:
                there = f"needs {need.need}: used {need.used}, on hand {need.on_hand}, on order {need.on_order}"
                rows += [words.say(there), *(words.say(step, words.FAINT) for step in need.working)]
        self.desk.push_screen(Page(f"Who needs it: {clean(line.title)}", words.stack(rows)))

    def action_order(self) -> None:
        """Ask how many, from whom and for when, then order."""
        if (found := self.at_cursor) is not None:
            ask_order(self.desk, *found, self.ordered)

    def ordered(self, result: Recorded | None) -> None:
        """Say what was ordered and read again."""
        if result is not None:
            text = result.text if not result.already else f"already recorded: {result.text}"
            self.tell("; ".join((text, *result.notices)))
            self.reread()

    def action_cuts(self) -> None:
        """Go to the cut list of the jobs bought for, that of the line under the cursor first."""
        from tracker.screens.cuts import CutScreen

        found = self.at_cursor
        first = [found[1].parts[0].job] if found else []
        self.desk.push_screen(CutScreen(list(dict.fromkeys([*first, *self.jobs]))))

    def action_job(self) -> None:
        """Go to the job of the line, or to one of several."""
        from tracker.screens.job import JobScreen

        found = self.at_cursor
        if found is None:
            return
        jobs = list(dict.fromkeys(part.job for part in found[1].parts))

        def chosen(code: str | None) -> None:
            if code is not None:
                self.desk.push_screen(JobScreen(code))

        if len(jobs) == 1:
            chosen(jobs[0])
            return
        wanted = {job: sum(part.quantity for part in found[1].parts if part.job == job) for job in jobs}
        lines = [(job, f"{job}: {count(wanted[job], found[1].unit)}") for job in jobs]
        self.desk.push_screen(steps(f"Which job? {clean(found[1].title)}", lines), chosen)

    def action_back(self) -> None:
        """Back."""
        self.dismiss(None)
