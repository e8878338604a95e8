"""What is left to buy over all open jobs, what is late first."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.widgets import DataTable, Static

from tracker.book.views import NeedView, Recorded
from tracker.reports.words import due_words, pieces
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.asking import Question
from tracker.screens.frame import Framed, reads
from tracker.screens.page import Page
from tracker.screens.table import Table
from tracker.text import clean, count
from tracker.trade.money import format_money
from tracker.trade.readings import parse_count

ROOMY = 96


def price_words(need: NeedView) -> str:
    """What it costs, or that no price is known."""
    return "no price" if need.cost_cents is None else format_money(need.cost_cents)


def row_key(need: NeedView) -> str:
    """The key of a line: one item may be needed by several phases of a job."""
    return f"{need.job}/{need.phase}/{need.item}"


class BuyScreen(Framed[None]):
    """The purchases, a line each; of one job when ``code`` names it."""

    NAME = "buy"
    BINDINGS = bindings("buy")
    CSS_PATH = "buy.tcss"

    def __init__(self, code: str = "") -> None:
        super().__init__()
        self.code = code
        self.needs: tuple[NeedView, ...] | None = None

    def body(self) -> ComposeResult:
        """The sum, the lines, the line under the cursor in full."""
        yield Static("reading…", id="sum", markup=False)
        yield Table(id="needs", cursor_type="row")
        yield Static(id="detail", markup=False)

    def on_mount(self) -> None:
        """Read what is left to buy."""
        self.title_text = f"To buy for {self.code}" if self.code else "To buy"
        self.query_one("#needs").focus()
        self.reread()

    @reads
    async def reread(self) -> None:
        """Read what is left to buy."""
        from tracker.book.lots import needs

        stamp = self.desk.stamp
        found = await self.desk.ask(needs, self.desk.today, [self.code] if self.code else [])
        self.read_under = stamp
        self.needs = tuple(
            sorted(
                (need for need in found if need.to_buy > 0),
                key=lambda need: (not need.late, need.needed_on, need.job, need.title),
            )
        )
        self.redraw()

    def redraw(self) -> None:
        """Put the lines on the screen: fewer columns where there is less room, the rest in the line below."""
        if self.needs is None:
            return
        late = sum(need.late for need in self.needs)
        cost = sum(need.cost_cents or 0 for need in self.needs)
        unpriced = sum(need.cost_cents is None for need in self.needs)
        answer = "Nothing is left to buy." if not self.needs else f"{count(len(self.needs), 'line')} to buy"
        if late:
            answer += f", {late} of them now"
        if self.needs:
            answer += f": {format_money(cost)}"
        if unpriced:
            answer += f" and {count(unpriced, 'line')} without a price"
        self.query_one("#sum", Static).update(words.say(answer, "$warning bold" if late else words.STRONG))
        width = self.size.width
        roomy = width >= ROOMY
        # Every column has two cells of padding; what is left over belongs to the item.
        columns = [("job", 7, False), ("buy", 5, True), ("due", 18, False)]
        if roomy:
            columns += [("need", 5, True), ("on hand", 7, True), ("on order", 8, True)]
        if width >= 70:
            columns.append(("cost", 10, True))
        room = width - 4 - sum(size + 2 for _, size, _ in columns)
        columns.insert(0, ("item", max(min(room, 44), 14), False))
        self.query_one("#needs", Table).show(
            columns, ((row_key(need), self.cells(need, roomy, width), "") for need in self.needs)
        )
        self.detail()
        self.refresh_keys()

    def cells(self, need: NeedView, roomy: bool, width: int) -> list[str]:
        """The texts of a line, in the order of the columns."""
        out = [need.title, need.job, str(need.to_buy), due_words(need, self.desk.today)]
        if roomy:
            out += [str(need.need), str(need.on_hand), str(need.on_order)]
        if width >= 70:
            out.append(price_words(need))
        return out

    @property
    def need(self) -> NeedView | None:
        """The line under the cursor."""
        key = self.query_one("#needs", Table).key
        return next((need for need in self.needs or () if row_key(need) == key), None)

    def detail(self) -> None:
        """Show the line under the cursor in full."""
        need = self.need
        text = ""
        if need is not None:
            text = (
                f"{clean(need.title)}: buy {pieces(need.to_buy, need.unit)} of {need.need} for {need.job} "
                f"({need.phase}); "
                f"on hand {need.on_hand}, on order {need.on_order}, used {need.used}; {price_words(need)}"
            )
        self.query_one("#detail", Static).update(words.say(text))

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """Follow the cursor."""
        self.detail()

    def on_data_table_row_selected(self, event: DataTable.RowSelected) -> None:
        """Enter shows the working."""
        self.action_working()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """With no line there is nothing to order."""
        if action == "job" and self.code:
            return False
        return bool(self.needs) or action not in ("order", "working", "job")

    def action_working(self) -> None:
        """Show how the quantity was taken off."""
        if (need := self.need) is not None:
            steps = need.working or ("no working was kept for this line",)
            self.desk.push_screen(
                Page(f"Take-off: {clean(need.title)}", words.stack(words.say(step) for step in steps))
            )

    def action_order(self) -> None:
        """Ask how many, then put them on order."""
        from tracker.book.lots import order

        need = self.need
        if need is None:
            return

        async def act(text: str, entry: str) -> Recorded:
            number = parse_count(text, f"a number of {need.unit}s")
            return await self.desk.ask(order, self.desk.hand(), need.job, need.item, number, entry_id=entry)

        self.desk.push_screen(
            Question(
                f"How many to order: {clean(need.title)} for {need.job}",
                act,
                what="the count",
                value=str(need.to_buy),
            ),
            self.ordered,
        )

    def ordered(self, result: Recorded | None) -> None:
        """Say what was ordered and read again."""
        if result is not None:
            self.tell("; ".join((result.text, *result.notices)))
            self.reread()

    def action_job(self) -> None:
        """Go to the job of the line."""
        from tracker.screens.job import JobScreen

        if (need := self.need) is not None:
            self.desk.push_screen(JobScreen(need.job))

    def action_back(self) -> None:
        """Back."""
        self.dismiss(None)
