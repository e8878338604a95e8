"""The material lots of a job: what is on order, on hand and used; the keys that move pieces."""

from __future__ import annotations

from collections.abc import Callable

from textual.app import ComposeResult
from textual.widgets import DataTable, Static

from tracker.book.views import LotView, Recorded
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.asking import Question
from tracker.screens.frame import Framed, reads
from tracker.screens.table import Table
from tracker.text import clean, count
from tracker.trade.dates import format_day
from tracker.trade.readings import parse_count


class LotsScreen(Framed[None]):
    """The lots of the job ``code``."""

    NAME = "lots"
    BINDINGS = bindings("lots")
    CSS_PATH = "lots.tcss"

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code
        self.lots: tuple[LotView, ...] | None = None

    def body(self) -> ComposeResult:
        """The sum, the lots, the one under the cursor in full."""
        yield Static("reading…", id="sum", markup=False)
        yield Table(id="lots", cursor_type="row")
        yield Static(id="detail", markup=False)

    def on_mount(self) -> None:
        """Read the lots."""
        self.title_text = f"{self.code} / material"
        self.query_one("#lots").focus()
        self.reread()

    @reads
    async def reread(self) -> None:
        """Read the lots."""
        from tracker.book.lots import lots

        stamp = self.desk.stamp
        self.lots = await self.desk.ask(lots, self.code, self.desk.today)
        self.read_under = stamp
        self.redraw()

    def redraw(self) -> None:
        """Put the lots on the screen."""
        if self.lots is None:
            return
        coming = sum(lot.on_order > 0 for lot in self.lots)
        text = f"{count(len(self.lots), 'lot')}, {coming} still to come"
        if not self.lots:
            text = "No material on this job yet. What it needs is under b, on the open jobs; o orders it."
        self.query_one("#sum", Static).update(words.say(text, words.STRONG))
        width = self.size.width
        columns = [("lot", 8, False), ("to come", 7, True), ("on hand", 7, True), ("used", 5, True)]
        if width >= 70:
            columns.append(("promised", 11, False))
        room = width - 4 - sum(size + 2 for _, size, _ in columns)
        columns.insert(1, ("item", max(min(room, 44), 12), False))
        self.query_one("#lots", Table).show(columns, ((lot.code, self.cells(lot, width), "") for lot in self.lots))
        self.detail()
        self.refresh_keys()

    def cells(self, lot: LotView, width: int) -> list[str]:
        """The texts of a line."""
        out = [lot.code, lot.item, str(lot.on_order), str(lot.on_hand), str(lot.used)]
        if width >= 70:
            out.append(format_day(lot.promised) if lot.promised else "no day")
        return out

    @property
    def lot(self) -> LotView | None:
        """The lot under the cursor."""
        key = self.query_one("#lots", Table).key
        return next((lot for lot in self.lots or () if lot.code == key), None)

    def detail(self) -> None:
        """Show the lot under the cursor in full."""
        text = ""
        if (lot := self.lot) is not None:
            parts = [
                f"lot {lot.code}: {lot.item}",
                f"from {lot.supplier}" if lot.supplier else "",
                f"ordered {lot.ordered}, received {lot.received}, used {lot.used}, "
                f"given back {lot.returned}, scrapped {lot.scrapped}",
                f"for {lot.phase}" if lot.phase else "",
                lot.use_category,
                "sold dry" if lot.dry else "",
            ]
            text = "; ".join(part for part in parts if part)
        self.query_one("#detail", Static).update(words.say(text))

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """Follow the cursor."""
        self.detail()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """With no lot there is nothing to move."""
        return bool(self.lots) or action not in ("receive", "use", "give_back", "scrap")

    def ask_count(self, heading: str, operation: Callable[..., Recorded], suggested: int) -> None:
        """Ask how many pieces, then record the movement."""
        lot = self.lot
        if lot is None:
            return

        async def act(text: str, entry: str) -> Recorded:
            number = parse_count(text, f"a number of {lot.unit}s")
            return await self.desk.ask(operation, self.desk.hand(), self.code, lot.code, number, entry_id=entry)

        self.desk.push_screen(
            Question(
                f"{heading}: lot {clean(lot.code)}, {clean(lot.item)}",
                act,
                what="the count",
                value=str(suggested) if suggested > 0 else "",
            ),
            self.moved,
        )

    def moved(self, result: Recorded | None) -> None:
        """Say what moved and read again."""
        if result is not None:
            self.tell("; ".join((result.text, *result.notices)))
            self.reread()

    def action_receive(self) -> None:
        """Pieces came in."""
        from tracker.book.lots import receive

        self.ask_count("How many came in", receive, self.lot.on_order if self.lot else 0)

    def action_use(self) -> None:
        """Pieces were built in."""
        from tracker.book.lots import use

        self.ask_count("How many were used", use, self.lot.on_hand if self.lot else 0)

    def action_give_back(self) -> None:
        """Pieces went back."""
        from tracker.book.lots import give_back

        self.ask_count("How many went back", give_back, 0)

    def action_scrap(self) -> None:
        """Pieces were spoiled."""
        from tracker.book.lots import scrap

        self.ask_count("How many were spoiled", scrap, 0)

    def action_back(self) -> None:
        """Back to the job."""
        self.dismiss(None)
