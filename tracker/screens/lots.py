"""The material of a job: what is ordered, in, used, left and to come of each lot; the keys that move pieces."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

from textual.app import ComposeResult
from textual.widgets import DataTable

from tracker.book.undoviews import Movement
from tracker.book.views import CheckView, JobView, LotView, Recorded
from tracker.errors import InputError
from tracker.reports.words import pieces
from tracker.screens import lotwords, words
from tracker.screens.actions import bindings
from tracker.screens.asking import Blank, Blanks, Question
from tracker.screens.cells import hint_of, unit_of
from tracker.screens.choice import steps
from tracker.screens.countask import on_purpose, with_receipt
from tracker.screens.frame import Framed, reads
from tracker.screens.going import open_ticket
from tracker.screens.static import Static
from tracker.screens.table import Table
from tracker.text import NOTE_LIMIT, accept, clean, count
from tracker.trade.dates import format_day
from tracker.trade.lengths import Unit, format_length, parse_length
from tracker.trade.material import stock_size
from tracker.trade.readings import Field, parse_count, parse_value, show_value

LOW = 22
"""Lines below which the lots get the room of what is said of them."""
FIT = ("use", "send to another job")
"""What is only done with pieces that are no culls."""
MOVES = ("inspect", "use", "give_back", "scrap", "offcut", "transfer", "put_right", "cancel")


def value_words(spec: Field, unit: Unit, text: str) -> str:
    """How the text of a check's field is understood; raises InputError."""
    return f"= {show_value(spec, parse_value(spec, text, unit), unit)}"


def count_words(text: str) -> str:
    """How a count is understood; raises InputError."""
    return f"= {count(parse_count(text, 'a count'), 'piece')}"


def offcut_words(board_nm: int, unit: Unit, text: str) -> str:
    """How the length of an offcut of a board is understood; raises InputError."""
    length = parse_length(text, unit)
    if not 0 < length < board_nm:
        board = format_length(board_nm, unit)
        raise InputError(f"{format_length(length, unit)} is no offcut", f"it comes from a board of {board}")
    return f"= {format_length(length, unit)}"


def _left(lot: LotView) -> str:
    """What is left of a lot, and how many of that are culls."""
    return f"{lot.on_hand} left" + (f", {count(lot.culls, 'cull')} among them" if lot.culls else "")


class LotsScreen(Framed[None]):
    """The material of the job ``code``."""

    NAME = "lots"
    BINDINGS = bindings("lots")
    CSS_PATH = "lots.tcss"

    def __init__(self, code: str, aim: str = "") -> None:
        super().__init__()
        self.code = code
        self.aim = aim
        """The lot to begin at."""
        self.view: JobView | None = None

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
        """Read the job with its lots."""
        from tracker.book.jobs import job_view

        stamp = self.desk.stamp
        self.view = await self.desk.ask(job_view, self.code, self.desk.today)
        self.read_under = stamp
        self.redraw()

    @property
    def lots(self) -> tuple[LotView, ...]:
        """The lots, none before they are read."""
        return self.view.lots if self.view else ()

    def redraw(self) -> None:
        """Put the lots on the screen."""
        self.set_class(self.size.height < LOW, "-low")
        if self.view is None:
            return
        today = self.desk.today
        coming = sum(lot.on_order > 0 for lot in self.lots)
        unfit = [lot.code for lot in self.lots if lot.unfit]
        text = f"{count(len(self.lots), 'lot')}, {coming} still to come"
        if unfit:
            text += f"; unfit to use: {', '.join(unfit)}"
        if culls := [f"{lot.culls} of {lot.code}" for lot in self.lots if lot.culls and not lot.unfit]:
            text += f"; culls to send back: {', '.join(culls)}"
        if not self.lots:
            text = "No material on this job yet: b shows what it needs, o orders it there; c shows how it is cut."
        self.query_one("#sum", Static).update(words.say(text, "$error bold" if unfit else words.STRONG))
        heads = lotwords.columns(self.size.width, words.day_room((lot.promised for lot in self.lots), today))
        table = self.query_one("#lots", Table)
        table.show(
            heads,
            ((lot.code, lotwords.cells(lot, today, heads), "bold" if lot.unfit else "") for lot in self.lots),
        )
        codes = [lot.code for lot in self.lots]
        if self.aim in codes:
            table.move_cursor(row=codes.index(self.aim))
            self.aim = ""
        self.detail()
        self.refresh_keys()

    @property
    def lot(self) -> LotView | None:
        """The lot under the cursor."""
        key = self.query_one("#lots", Table).key
        return next((lot for lot in self.lots if lot.code == key), None)

    def detail(self) -> None:
        """Show the lot under the cursor in full."""
        lot, text = self.lot, ""
        if lot is not None and self.view is not None:
            titles = {phase.key: phase.title for phase in self.view.phases}
            text = lotwords.in_full(lot, titles.get(lot.phase, lot.phase), self.desk.today)
        self.query_one("#detail", Static).update(words.say(text))

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """Follow the cursor."""
        self.detail()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """With no lot there is nothing to move."""
        return bool(self.lots) or action not in (*MOVES, "ticket")

    def refuse(self, heading: str, ways: list[tuple[str, str]]) -> None:
        """Say why something cannot be done, and offer to do what would make it possible."""
        self.turn_down(heading)

        def chosen(action: str | None) -> None:
            if action is not None:
                self.call_later(getattr(self, f"action_{action}"))

        self.desk.push_screen(steps(heading, ways), chosen)

    def have_some(self, lot: LotView, what: str) -> bool:
        """Whether pieces of the lot are here; else say what would bring some."""
        if lot.on_hand and (lot.usable or what not in FIT):
            return True
        if lot.on_hand:
            self.refuse(
                f"Lot {clean(lot.code)} has only culls left: {lot.culls} to send back.",
                [("give_back", "give them back"), ("inspect", "inspect the lot again: they may be fit after all")],
            )
            return False
        why = f"Lot {clean(lot.code)} has nothing left to {what}"
        if lot.on_order:
            self.refuse(
                f"{why}: {pieces(lot.on_order, lot.unit)} still to come.", [("ticket", "receive what has come")]
            )
        else:
            self.refuse(f"{why}: all that came is gone.", [("buy", "order more")])
        return False

    def ask_count(self, heading: str, operation: Callable[..., Recorded], suggested: int, what: str) -> None:
        """Ask how many pieces, then record the movement."""
        lot = self.lot
        if lot is None or not self.have_some(lot, what):
            return

        async def act(text: str, entry: str) -> Recorded:
            number = parse_count(text, f"a number of {lot.unit}s")
            return await self.desk.ask(operation, self.desk.hand(), self.code, lot.code, number, entry_id=entry)

        self.desk.push_screen(
            Question(
                f"{heading}: lot {clean(lot.code)} of {self.code}, {clean(lot.item)} ({_left(lot)})",
                act,
                what="the count",
                value=str(suggested) if suggested > 0 else "",
            ),
            self.moved,
        )

    def moved(self, result: Recorded | None) -> None:
        """Say what was recorded and read again."""
        if result is not None:
            text = result.text if not result.already else f"already recorded: {result.text}"
            self.tell("; ".join((text, *result.notices)))
            self.reread()

    def action_ticket(self) -> None:
        """Take a delivery."""
        open_ticket(self, self.code)

    def action_use(self) -> None:
        """Pieces were built in."""
        from tracker.book.lots import use

        lot = self.lot
        if lot is not None and lot.unfit and lot.on_hand:
            self.refuse(
                f"Lot {clean(lot.code)} is unfit to use: {lot.unfit_words}.",
                [
                    ("inspect", "inspect it again: it may be put right, or misread"),
                    ("give_back", "give it back to the supplier"),
                    ("waive", "waive the delivery check, with a reason"),
                ],
            )
            return
        self.ask_count("How many were used", use, lot.usable if lot else 0, "use")

    def action_give_back(self) -> None:
        """Pieces went back."""
        from tracker.book.lots import give_back

        self.ask_count("How many went back", give_back, self.lot.culls if self.lot else 0, "give back")

    def action_scrap(self) -> None:
        """Pieces were spoiled."""
        from tracker.book.lots import scrap

        self.ask_count("How many were spoiled", scrap, 0, "scrap")

    def action_waive(self) -> None:
        """Ask why, then waive the delivery check."""
        from tracker.book.readings import waive

        async def act(reason: str, entry: str) -> Recorded:
            return await self.desk.ask(waive, self.desk.hand(), self.code, "delivery", reason, entry_id=entry)

        told = f"signed by {self.desk.who}; the name and the reason stay visible for ever"
        self.desk.push_screen(
            Question(f"Waive the delivery check: why? ({self.code})", act, what="the reason", help_text=told),
            self.moved,
        )

    def delivery(self) -> CheckView | None:
        """The delivery check of the job, None when its phases leave it out."""
        found = (check for phase in self.view.phases for check in phase.checks) if self.view else ()
        return next((check for check in found if check.key == "delivery"), None)

    def action_inspect(self) -> None:
        """Ask what the lot looks like, then record it in the delivery check."""
        from tracker.book.receiving import inspect

        lot, check = self.lot, self.delivery()
        if lot is None or self.view is None:
            return
        if check is None:
            self.turn_down(f"job {self.code} has no delivery check: its phases were changed by the house rules")
            return
        if not lot.received:
            self.refuse(
                f"Nothing of lot {clean(lot.code)} has come to be looked at.", [("ticket", "receive what has come")]
            )
            return
        unit = self.view.spec.unit
        before = dict(check.last.entered) if check.last else {}

        async def act(texts: Mapping[str, str], entry: str) -> Recorded:
            tokens = [f"{name}={text}" for name, text in texts.items() if text.strip()]
            if not tokens:
                raise InputError("nothing was read", "fill in at least one field")

            async def ask(receive: bool, anyway: bool) -> Recorded:
                return await self.desk.ask(
                    inspect,
                    self.desk.hand(),
                    self.code,
                    lot.code,
                    tokens,
                    entry_id=entry,
                    receive=receive,
                    anyway=anyway,
                )

            done = await with_receipt(self.desk, ask)
            if done is None:
                raise InputError("nothing was recorded", "count again, or leave the count as it was")
            return done

        blanks = []
        for spec in check.form.columns:
            last = before.get(f"{lot.code}.{spec.key}", "")
            hint = f"{clean(last)} before" if last else hint_of(spec, 18)
            unit_shown = unit_of(spec, unit)
            label = f"{spec.label} ({unit_shown})" if unit_shown else spec.label
            blanks.append(Blank(spec.key, label, hint=hint, read=partial(value_words, spec, unit)))
        self.desk.push_screen(
            Blanks(
                f"Inspect lot {clean(lot.code)} of {self.code}: {clean(lot.item)}, {pieces(lot.received, lot.unit)} in",
                blanks,
                act,
                help_text="Empty fields keep what was read before. Sight along the boards; meter several of them.",
            ),
            self.moved,
        )

    def action_offcut(self) -> None:
        """Ask how long and how many, then put offcuts back to stock."""
        from tracker.book.offcuts import put_back

        lot = self.lot
        if lot is None or self.view is None:
            return
        size, unit = stock_size(lot.item), self.view.spec.unit
        if size is None:
            self.turn_down(f"lot {clean(lot.code)} is {clean(lot.item)}, not boards: offcuts come from boards")
            return
        if not lot.used:
            self.refuse(
                f"No board of lot {clean(lot.code)} is used yet, so nothing can be left over.",
                [("use", "record what was used"), ("ticket", "receive what has come")][: 2 if lot.on_order else 1],
            )
            return

        async def act(texts: Mapping[str, str], entry: str) -> Recorded:
            length, number = parse_length(texts["length"], unit), parse_count(texts["count"], "a number of offcuts")
            return await self.desk.ask(put_back, self.desk.hand(), self.code, lot.code, length, number, entry_id=entry)

        board = format_length(size[1], unit)
        self.desk.push_screen(
            Blanks(
                f"Offcuts of lot {clean(lot.code)} of {self.code} back to stock: {size[0]}, from boards of {board}",
                [
                    Blank("length", "length", hint=f"under {board}", read=partial(offcut_words, size[1], unit)),
                    Blank("count", "how many", hint="like 2", read=count_words),
                ],
                act,
                help_text="They make a lot of their own; the next cut list takes from it first.",
            ),
            self.moved,
        )

    @reads
    async def action_put_right(self) -> None:
        """Ask which movement of the lot was wrong, then how many it was and why."""
        from tracker.book.undoing import movements

        lot = self.lot
        if lot is None:
            return
        found = await self.desk.ask(movements, self.code, lot.code)
        today = self.desk.today
        lines = [
            (one.id, f"{one.quantity} {one.move}, {format_day(one.day, today)}, {clean(one.who)} (entry {one.number})")
            for one in found
        ]
        by_id = {one.id: one for one in found}

        def chosen(key: str | None) -> None:
            if key is not None:
                self.put_right(lot, by_id[key])

        self.desk.push_screen(
            steps(f"Which count of lot {clean(lot.code)}, {clean(lot.item)} was wrong?", lines), chosen
        )

    def put_right(self, lot: LotView, one: Movement) -> None:
        """Ask how many it was and why, then correct it; none takes it back."""
        from tracker.book.undoing import correct

        async def act(texts: Mapping[str, str], entry: str) -> Recorded:
            number = parse_count(texts["count"], f"a number of {lot.unit}s")
            reason = accept(texts["reason"], "the reason", limit=NOTE_LIMIT)
            hand = self.desk.hand()
            return await on_purpose(
                self.desk,
                lambda anyway: self.desk.ask(
                    correct, hand, self.code, one.id, number, reason, anyway=anyway, entry_id=entry
                ),
            )

        self.desk.push_screen(
            Blanks(
                f"Lot {clean(lot.code)} of {self.code}, {clean(lot.item)}: {one.quantity} {one.move} was wrong",
                [Blank("count", "how many", hint="0 takes it back", read=count_words), Blank("reason", "why")],
                act,
                help_text="The old count stays in the history, marked; the new one stands in its place.",
            ),
            self.moved,
        )

    def action_cancel(self) -> None:
        """Ask how many of the order and why, then cancel them."""
        from tracker.book.lots import cancel

        lot = self.lot
        if lot is None:
            return
        if not lot.on_order:
            self.turn_down(f"lot {clean(lot.code)} has nothing still to come; what came goes back with g")
            return

        async def act(texts: Mapping[str, str], entry: str) -> Recorded:
            number = parse_count(texts["count"], f"a number of {lot.unit}s")
            return await self.desk.ask(
                cancel, self.desk.hand(), self.code, lot.code, number, texts["reason"], entry_id=entry
            )  # fmt: skip

        self.desk.push_screen(
            Blanks(
                f"Cancel what is still to come of lot {clean(lot.code)} of {self.code}, {clean(lot.item)}: {pieces(lot.on_order, lot.unit)}",
                [Blank("count", "how many", str(lot.on_order), read=count_words), Blank("reason", "why")],
                act,
                help_text="Tell the supplier too. The promise and the price of the others stay.",
            ),
            self.moved,
        )

    @reads
    async def action_transfer(self) -> None:
        """Ask which job and how many, then move pieces there."""
        from tracker.book.jobs import job_lines

        lot = self.lot
        if lot is None or not self.have_some(lot, "send to another job"):
            return
        jobs = [job for job in await self.desk.ask(job_lines, self.desk.today) if job.code != self.code]
        if not jobs:
            self.turn_down("there is no other open job: n on the open jobs takes one in")
            return
        lines = [(job.code, f"{job.code}  {job.title}") for job in jobs]
        heading = f"Which job gets pieces of lot {clean(lot.code)}, {clean(lot.item)}?"
        self.desk.push_screen(steps(heading, lines), lambda to: self.transfer(lot, to))

    def transfer(self, lot: LotView, to: str | None) -> None:
        """Ask how many go to that job."""
        from tracker.book.offcuts import transfer

        if to is None:
            return

        async def act(text: str, entry: str) -> Recorded:
            number = parse_count(text, f"a number of {lot.unit}s")
            return await self.desk.ask(transfer, self.desk.hand(), self.code, lot.code, number, to, entry_id=entry)

        heading = f"How many of lot {clean(lot.code)} of {self.code}, {clean(lot.item)} go to {to} ({_left(lot)})"
        self.desk.push_screen(Question(heading, act, what="the count"), self.moved)

    def action_cuts(self) -> None:
        """Go to the cut list."""
        from tracker.screens.cuts import CutScreen

        self.desk.push_screen(CutScreen([self.code]))

    def action_cost(self) -> None:
        """Go to what the material costs."""
        from tracker.screens.cost import CostScreen

        self.desk.push_screen(CostScreen(self.code))

    def action_buy(self) -> None:
        """Go to what is left to buy for the job."""
        from tracker.screens.buy import BuyScreen

        self.desk.push_screen(BuyScreen(self.code))

    def action_back(self) -> None:
        """Back to the job."""
        self.dismiss(None)
