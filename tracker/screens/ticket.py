"""A delivery taken in one pass: a field for each lot with pieces still to come, filled off the ticket."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.containers import Horizontal

from tracker.book.views import IdUsedError, LotView, Recorded
from tracker.errors import InputError, RefusedError, TrackerError
from tracker.reports.words import pieces
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.cells import Cell, Fields
from tracker.screens.countask import NotMeantError, on_purpose, other_now
from tracker.screens.drafts import Draft
from tracker.screens.forms import FormScreen
from tracker.screens.frame import writes
from tracker.screens.static import Static
from tracker.text import clean, count, listing
from tracker.trade.dates import format_day
from tracker.trade.readings import Field, Kind, parse_count

if TYPE_CHECKING:
    from tracker.book.opening import Book

TICKET = "delivery ticket"
NO_NAME = "a supplier without a name"
NARROW = 70
Taken = tuple[tuple[str, Recorded], ...]
"""What was received, by job."""
_COUNT = Field("count", "", Kind.COUNT)


@dataclass(frozen=True, slots=True)
class Due:
    """A lot of a job with pieces still to come."""

    code: str
    lot: LotView

    @property
    def name(self) -> str:
        """The lot's name over several jobs."""
        return f"{self.code}/{self.lot.code}"


def all_due(book: Book, today: date, code: str = "") -> tuple[Due, ...]:
    """The lots with pieces still to come: of one job, or of every open one."""
    from tracker.book.jobs import job_lines
    from tracker.book.lots import lots

    codes = [code] if code else [line.code for line in job_lines(book, today)]
    return tuple(Due(name, lot) for name in codes for lot in lots(book, name, today) if lot.on_order > 0)


def draft_name(supplier: str | None) -> str:
    """The name of the draft of a ticket: of one job, or of a supplier."""
    return TICKET if supplier is None else f"{TICKET} from {supplier or NO_NAME}"


def supplier_of(name: str) -> str | None:
    """The supplier of a ticket by the name of its draft; None for a job's."""
    _, of, supplier = name.partition(f"{TICKET} from ")
    return ("" if supplier == NO_NAME else supplier) if of else None


def counted(text: str, due: Due) -> int:
    """The pieces typed; ``all`` is what is due. Raises InputError."""
    if text.strip().casefold() == "all":
        return due.lot.on_order
    try:
        number = parse_count(text, f"a number of {due.lot.unit}s")
    except InputError as error:
        raise InputError(error.message, "write a whole number, or all") from None
    if number > (most := max(due.lot.ordered * 10, 1000)):
        raise InputError(f"{number} pieces of a lot of {due.lot.ordered}", f"give at most {most}")
    return number


class TicketScreen(FormScreen[Taken | None]):
    """The ticket of one job's delivery (``supplier`` None) or of a supplier's over all jobs; gives back what was received.

    Each job has its own draft and its own entry id: a job's lots are received all or none, and once.
    """

    NAME = "ticket"
    BINDINGS = bindings("ticket")
    CSS_PATH = "ticket.tcss"
    SAVES = "ctrl+s receives what you counted"

    def __init__(self, dues: Sequence[Due], supplier: str | None = None) -> None:
        super().__init__()
        self.dues = {due.name: due for due in dues}
        self.codes = tuple(dict.fromkeys(due.code for due in dues))
        self.supplier = supplier

    def draft(self, code: str) -> Draft:
        """The draft of one job's lots, made when the form first opens."""
        from tracker.book.opening import default_entry_id

        key = (code, draft_name(self.supplier))
        if key not in self.desk.drafts:
            self.desk.drafts[key] = Draft(default_entry_id())
        return self.desk.drafts[key]

    def body(self) -> ComposeResult:
        """What is counted so far, the lots, the one in hand in full."""
        yield Static(id="sum", markup=False)
        with Fields(id="form"):
            yield from self.lines()
        yield Static(id="at", markup=False)

    def lines(self) -> Iterator[Horizontal | Static]:
        """A line for each lot, under its job where there are several."""
        number = 0
        for code in self.codes:
            if self.supplier is not None:
                yield Static(words.say(code), classes="job")
            for due in (due for due in self.dues.values() if due.code == code):
                text = self.draft(code).texts.get(due.lot.code, "")
                label = f"{due.lot.code}  {due.lot.item}"
                yield Horizontal(
                    Static(words.say(label), classes="label"),
                    Cell(_COUNT, due.name, clean(label), (number, 0), text, ""),
                    Static(classes="echo", markup=False),
                    classes="cells",
                )
                number += 1

    def on_mount(self) -> None:
        """Start in the first field, with the draft where there is one."""
        source = self.codes[0] if self.supplier is None else clean(self.supplier) or NO_NAME
        self.title_text = f"{source} / {TICKET}"
        self.aside_text = "an empty field: nothing came"
        for cell in self.cells():
            self.echo(cell)
        told = ["your draft is back; F8 empties it"] if self.texts() else []
        told += [f"lot {clean(lot)} of {code}: {clean(text)} was typed, but nothing of it is still to come"
                 for code in self.codes for lot, text in self.drop_past(code)]  # fmt: skip
        if told:
            self.tell("; ".join(told))
        self.begin_typing()
        self.typed()

    def redraw(self) -> None:
        """Fit the labels to the width."""
        self.set_class(self.size.width < NARROW, "-narrow")

    def keep_text(self, cell: Cell) -> None:
        """Keep what a field holds in the draft of its job."""
        due = self.dues[cell.value_name]
        texts = self.draft(due.code).texts
        if cell.value:
            texts[due.lot.code] = cell.value
        else:
            texts.pop(due.lot.code, None)

    def understood(self, cell: Cell) -> str:
        """The pieces typed against what is due."""
        lot = self.dues[cell.value_name].lot
        if not cell.value.strip():
            return f"{pieces(lot.on_order, lot.unit)} due"
        number = counted(cell.value, self.dues[cell.value_name])
        left = lot.on_order - number
        said = "all that is due" if not left else f"{left} still to come" if left > 0 else f"{-left} more than ordered"
        return f"= {pieces(number, lot.unit)}: {said}"

    def asked(self, cell: Cell) -> str:
        """The lot in full."""
        lot, today = self.dues[cell.value_name].lot, self.desk.today
        when = "no day promised"
        if lot.promised is not None:
            when = f"{'was ' if lot.promised < today else ''}promised {format_day(lot.promised, today)}"
        parts = [f"ordered {lot.ordered}, in so far {lot.received}", when, lot.supplier, lot.use_category]
        return "; ".join(clean(part) for part in parts if part) + "\nwrite the count, or all"

    def typed(self) -> None:
        """Say what the counts come to."""
        lots = [name for name, text in self.texts().items() if self.is_counted(text, self.dues[name])]
        some = f"{count(len(lots), 'lot')} counted of {len(self.dues)} with pieces to come"
        if self.problems:
            some += f"; {count(len(self.problems), 'value')} not understood"
        self.query_one("#sum", Static).update(words.say(some, words.STRONG))

    @staticmethod
    def is_counted(text: str, due: Due) -> bool:
        """Whether a text says that pieces came."""
        try:
            return counted(text, due) > 0
        except InputError:
            return False

    def fill(self, cells: Sequence[Cell]) -> None:
        """Fill in what is due."""
        for cell in cells:
            cell.fill(str(self.dues[cell.value_name].lot.on_order))

    def action_all(self) -> None:
        """All of the lot in hand came."""
        if isinstance(self.focused, Cell):
            self.fill([self.focused])

    def action_every(self) -> None:
        """All of every lot not counted yet came."""
        self.fill([cell for cell in self.cells() if not cell.value.strip()])
        self.tell("every empty field holds what is due: compare it with the ticket, then ctrl+s")

    def action_keep(self) -> None:
        """Go back and keep what was typed."""
        self.drop_empty_drafts()
        self.dismiss(None)

    def drop_past(self, code: str) -> list[tuple[str, str]]:
        """Take out of the draft what was typed of lots that have all come since; give it back."""
        texts = self.draft(code).texts
        past = [(lot, text) for lot, text in texts.items() if f"{code}/{lot}" not in self.dues]
        for lot, _ in past:
            texts.pop(lot)
        return past

    def drop_empty_drafts(self) -> None:
        """Drop the drafts that hold nothing."""
        for code in self.codes:
            if not self.draft(code).texts:
                self.desk.drafts.pop((code, draft_name(self.supplier)), None)

    @writes
    async def action_save(self) -> None:
        """Receive what was counted, job by job; whatever goes wrong, what is not received stays typed."""
        self.first_wrong()
        texts = self.texts()
        counts: dict[str, dict[str, int]] = {code: {} for code in self.codes}
        for name, text in texts.items():
            due = self.dues[name]
            counts[due.code][due.lot.code] = counted(text, due)
        wanted = {code: found for code, found in counts.items() if any(found.values())}
        if not wanted:
            raise InputError("nothing is counted yet", "type the pieces that came, then ctrl+s")
        self.tell("saving…")
        taken: list[tuple[str, Recorded]] = []
        for code, found in wanted.items():
            try:
                taken.append((code, await self.receive(code, found)))
            except TrackerError as error:
                self.turn_down(self.what_stands(wanted, tuple(taken), error))
                return
        self.drop_empty_drafts()
        self.dismiss(tuple(taken))

    def what_stands(self, wanted: Iterable[str], taken: Taken, error: TrackerError) -> str:
        """What went wrong with a job; which jobs' counts are in the book, and which are not."""
        done = [code for code, _ in taken]
        if not done:
            return self.wrong(error)
        if isinstance(error, NotMeantError):
            error = RefusedError(error.message)  # its hint speaks of all that was typed
        left = listing([code for code in wanted if code not in done], "and")
        head = f"What came for {listing(done, 'and')} is recorded; nothing of {left} is, and what you typed there stays"
        return f"{head}: {self.wrong(error).replace('othing was ', 'othing of it was ')}"

    async def receive(self, code: str, found: Mapping[str, int]) -> Recorded:
        """Receive one job's lots under its draft's entry id, then take their lines away."""
        from tracker.book.opening import default_entry_id
        from tracker.book.receiving import receive_ticket

        draft = self.draft(code)
        typed = dict(draft.texts)
        if draft.tried is not None and draft.tried != typed:
            draft.entry_id = default_entry_id()
        draft.tried = typed
        hand, entry = self.desk.hand(), draft.entry_id
        try:
            done = await on_purpose(
                self.desk,
                lambda anyway: self.desk.ask(receive_ticket, hand, code, found, anyway=anyway, entry_id=entry),
            )
        except IdUsedError as error:
            draft.entry_id = default_entry_id()
            raise other_now(error) from error
        draft.entry_id, draft.tried = default_entry_id(), None
        for cell in self.cells():
            due = self.dues[cell.value_name]
            if due.code == code and cell.value == typed.get(due.lot.code, ""):
                draft.texts.pop(due.lot.code, None)
                if isinstance(cell.parent, Horizontal):
                    await cell.parent.remove()
        return done
