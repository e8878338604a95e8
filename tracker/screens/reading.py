"""A reading being entered: a field for each value the check takes, the verdict live beside them."""

from __future__ import annotations

from functools import partial

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.timer import Timer
from textual.widgets import Input

from tracker.book.views import CheckView, IdUsedError, ReadingView, Recorded
from tracker.errors import BookError, InputError, TrackerError
from tracker.reports.words import taken_back
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.asking import Question
from tracker.screens.cells import Cell, Fields, takes
from tracker.screens.countask import on_purpose, other_now, with_receipt
from tracker.screens.drafts import Draft
from tracker.screens.forms import FormScreen
from tracker.screens.frame import shows, words_of, writes
from tracker.screens.judged import Judged
from tracker.screens.page import working_page
from tracker.screens.readinglines import LINE, Lines
from tracker.screens.static import Static
from tracker.screens.takeback import take_back_question
from tracker.text import clean, count
from tracker.trade.answer import Answer, Verdict
from tracker.trade.dates import format_day
from tracker.trade.lengths import Unit
from tracker.trade.readings import Form, by_row, parse_line, parse_value, show_value

PAUSE = 0.2
"""Seconds of quiet typing before the verdict is asked."""
WIDE, NARROW, LOW = 110, 70, 24
BOTH_ROWS = 28
"""Rows from which a wide screen has room for the verdict and the picture."""
LEAP = 6
"""Lines a page key goes down or up."""
DITTO = ('"', "\N{RIGHT DOUBLE QUOTATION MARK}", "\N{DOUBLE PRIME}", "\N{DITTO MARK}")
"""What says that a reading is like the one above."""
ROOMY = (100, 30)
"""Columns and rows from which a blank line keeps the fields apart, for thick fingers."""


def line_names(names: tuple[str, ...]) -> str:
    """Rows as a line tells them back: the first and the last of many."""
    return ", ".join(names) if len(names) < 4 else f"{names[0]} to {names[-1]} ({len(names)})"


class ReadingScreen(FormScreen[Recorded | None]):
    """The form of one check of a job; gives back what was recorded, None when it was left as a draft."""

    NAME = "reading"
    BINDINGS = bindings("reading")
    CSS_PATH = "reading.tcss"
    SAVES = "ctrl+s saves the reading"

    def __init__(self, code: str, unit: Unit, check: CheckView) -> None:
        super().__init__()
        self.code = code
        self.unit = unit
        self.check = check
        self.form: Form = check.form
        self.last = check.last
        self.newest = check.last.id if check.last else ""
        self.previous: dict[str, str] = by_row(check.form, check.last.entered) if check.last else {}
        self.quiet: Timer | None = None
        self.stacked = False
        """Whether the columns of the table have no room beside each other and stand one below the other."""

    @property
    def answer(self) -> Answer | None:
        """The verdict on what is typed; None before it was asked, or where none could be given."""
        tried = self.panel.tried
        return tried.answer if tried is not None else None

    @property
    def panel(self) -> Judged:
        """What the typed values come to."""
        return self.query_one("#panel", Judged)

    @property
    def draft(self) -> Draft:
        """The draft of this form, made when it first opens."""
        from tracker.book.opening import default_entry_id

        key = (self.code, self.check.key)
        if key not in self.desk.drafts:
            self.desk.drafts[key] = Draft(default_entry_id())
        return self.desk.drafts[key]

    @property
    def lines(self) -> Lines:
        """The fields and the rows of the form."""
        return Lines(self.form, self.unit, self.draft)

    def body(self) -> ComposeResult:
        """What to measure, the fields, the line that tells of the field in hand, the verdict."""
        yield Static(words.say(self.check.asks), id="asks")
        with Horizontal(id="both"):
            with Vertical(id="left"):
                with Fields(id="form"):
                    yield from self.lines.all()
                yield Static(id="at", markup=False)
            yield Judged(self.check.key)

    def on_mount(self) -> None:
        """Start in the first field, with the draft where there is one."""
        self.title_text = f"{self.code} / {self.check.title}"
        if "." in self.check.key:
            self.title_text += f" / {self.check.platform}"
        gone = bool(self.draft.corrects) and (self.corrected is None or self.last is None)
        if gone:
            self.draft.corrects = ""
        self.say_what_is_saved()
        if gone:
            self.tell("the reading your draft was to correct stands no more: saving adds a new one", "$warning")
        elif self.corrected is not None and self.last is not None and self.corrected is not self.last:
            self.tell(f"read since by {self.by(self.last)}: {self.last.answer.headline}. It decides", "$warning")
        elif self.draft.texts:
            self.tell("your draft is back; F8 empties it")
        elif self.last is not None:
            verdict = words.VERDICT_WORDS[self.last.answer.verdict or Verdict.INCOMPLETE].lower()
            self.tell(f"last read by {self.by(self.last)}, {verdict}: F4 fills in those values")
        elif told := taken_back(self.check, self.desk.today):
            self.tell(told)
        for cell in self.query(Cell):
            if cell.value == self.previous.get(cell.value_name):
                cell.filled = cell.value  # of the last reading: a draft does not say who put it there
            self.echo(cell)
        self.begin_typing()
        self.ask_verdict()

    def first_field(self) -> Cell | None:
        """Where typing goes on: after what a draft holds, or in what it lacks; in an empty form that has a table, past what
        may stay empty. None where nothing is left to type.
        """
        cells = self.cells()
        if (line := self.line_typed()) is not None:
            return line
        filled = [n for n, cell in enumerate(cells, 1) if cell.value.strip()]
        wanted = [cell for cell in cells if cell.spec.required and not cell.value.strip()]
        if filled:
            return next(iter(cells[filled[-1] :] or wanted), None)
        return wanted[0] if wanted and self.form.columns else next(iter(cells), None)

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Tell of the field that came into hand, and make its label stand out."""
        super().on_descendant_focus(event)
        lines = list(event.widget.ancestors)
        for line in self.query("#form Horizontal"):
            line.set_class(line in lines, "-in-hand")
        self.call_after_refresh(self.show_heads)

    def show_heads(self) -> None:
        """Bring the heads of the columns into sight with the first line."""
        cell = self.focused
        if isinstance(cell, Cell) and cell.place[0] == 0 and not (self.stacked and cell.place[1]):
            self.query_one("#form").scroll_home(animate=False)

    def move(self, by: int) -> None:
        """Go to the line below or above; where columns stand one below the other, to the next of them."""
        cells, focused = self.cells(), self.focused
        if not self.stacked or not isinstance(focused, Cell):
            super().move(by)
        elif 0 <= (at := cells.index(focused) + by) < len(cells):
            self.set_focus(cells[at])

    def leap(self, lines: int) -> None:
        """Go so many lines down or up, as far as there are lines."""
        if isinstance(self.focused, Cell):
            line, column = self.focused.place
            last = max(cell.place[0] for cell in self.cells())
            aim = min(max(line + lines, 0), last)
            here = [cell for cell in self.cells() if cell.place[0] == aim]
            self.set_focus(here[min(column, len(here) - 1)])

    def action_further(self) -> None:
        """Some lines down."""
        self.leap(LEAP)

    def action_nearer(self) -> None:
        """Some lines up."""
        self.leap(-LEAP)

    def by(self, reading: ReadingView) -> str:
        """Who took a reading, and when."""
        return f"{clean(reading.who)} on {format_day(reading.day, self.desk.today)}"

    @property
    def corrected(self) -> ReadingView | None:
        """The reading that saving takes the place of, while it stands; None when saving adds one."""
        replaced = {reading.corrects for reading in self.check.readings if not reading.withdrawn}
        return next(
            (
                r
                for r in self.check.readings
                if r.id == self.draft.corrects and not r.withdrawn and r.id not in replaced
            ),
            None,
        )

    def say_what_is_saved(self) -> None:
        """Say in the bar whether saving adds a reading or corrects one, and what a star means."""
        if (corrected := self.corrected) is not None:
            older = "" if self.last is None or corrected.id == self.last.id else ", an older one"
            self.aside_text = f"CORRECTS the reading by {self.by(corrected)}{older}"
        else:
            optional = any(not spec.required for spec in self.form.fields) or self.lines.takes_several
            self.aside_text = "* may stay empty" if optional else ""

    def redraw(self) -> None:
        """Place the verdict and the picture for the room there is."""
        width, height = self.size
        self.set_class(width >= WIDE, "-wide")
        self.set_class(width < NARROW, "-narrow")
        self.set_class(height < LOW, "-low")
        self.set_class(width >= ROOMY[0] and height >= ROOMY[1], "-roomy")
        room = (width * 54 // 100 if width >= WIDE else width) - 4
        self.stacked = not self.lines.fits(room)
        self.set_class(self.stacked, "-stacked")
        self.panel.lay_out(width >= WIDE and height >= BOTH_ROWS)
        self.set_class(self.panel.swaps and self.panel.pictured, "-pictured")
        self.refresh_keys()
        if isinstance(self.focused, Cell):
            self.call_after_refresh(self.focused.scroll_visible, animate=False)

    def keep_text(self, cell: Cell) -> None:
        """Keep what a field holds in the draft."""
        if cell.value:
            self.draft.texts[cell.value_name] = cell.value
        else:
            self.draft.texts.pop(cell.value_name, None)

    def line_typed(self) -> Cell | None:
        """The field for several rows at once, where something stands in it."""
        return next((cell for cell in self.cells() if cell.value_name == LINE and cell.value.strip()), None)

    def readings(self) -> dict[str, str]:
        """What is typed, by name; what the line for several rows holds is not taken yet."""
        return {name: text for name, text in self.texts().items() if name != LINE}

    def has_no_field(self, typed: events.Key | events.Paste) -> bool:
        """Whether something typed is not for the field in hand; a ditto mark in an empty one repeats the reading above."""
        return super().has_no_field(typed) or self.repeats(typed)

    def column_of(self, cell: Cell) -> list[Cell]:
        """The fields of the table in the column of one of them, from the top."""
        return [other for other in self.cells() if other.row_name and other.spec is cell.spec]

    def above(self, cell: Cell) -> str:
        """The nearest reading above a field of the table, in its column; empty where there is none."""
        before = [other.value for other in self.column_of(cell) if other.place < cell.place and other.value.strip()]
        return before[-1] if before else ""

    def repeats(self, typed: events.Key | events.Paste) -> bool:
        """Whether a ditto mark was typed into an empty field of the table: no reading begins with one."""
        cell = self.focused
        if (
            not isinstance(typed, events.Key) or typed.character not in DITTO or not isinstance(cell, Cell)
            or not cell.row_name or cell.value.strip()
        ):  # fmt: skip
            return False
        if above := self.above(cell):
            cell.fill(above)
        else:
            self.turn_down("no reading stands above this one to repeat")
        return True

    def action_same(self) -> None:
        """Give every empty field below, in the column in hand, the reading in hand or the nearest above."""
        cell = self.focused
        if not isinstance(cell, Cell) or not cell.row_name:
            self.turn_down("go to a reading of the table: those below it that are empty become like it")
            return
        text = cell.value if cell.value.strip() else self.above(cell)
        if not text:
            self.turn_down("type a reading first: those below it that are empty become like it")
            return
        below = [other for other in self.column_of(cell) if other.place >= cell.place and not other.value.strip()]
        for other in below:
            other.fill(text)
        self.begin_typing()
        self.tell(f"{count(len(below), 'reading')} like it filled in; {self.SAVES}")

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """In the line for several rows Enter takes what stands there; elsewhere the form goes on to the next field."""
        line = self.line_typed()
        if line is None or event.input is not line:
            return  # the form's own way follows
        event.stop()
        event.prevent_default()
        try:
            self.take_line(line)
        except InputError as error:
            self.turn_down(words_of(error))

    def take_line(self, line: Cell) -> None:
        """Put the reading of a line into the rows it names, whatever they held. Raises InputError, and then nothing is put."""
        names, text = parse_line(self.form, line.value)
        cells = [cell for cell in self.cells() if cell.value_name in names]
        for cell in cells:
            parse_value(cell.spec, text, self.unit, self.desk.today)
        other = sum(bool(cell.value.strip()) and cell.value != text for cell in cells)
        for cell in cells:
            cell.value = text
        line.value = ""
        told = f"{text} at {line_names(names)}" if cells[0].row_name else f"{cells[0].spec.label}: {text}"
        self.tell(told + (f"; {other} read otherwise before" if other else ""))

    def understood(self, cell: Cell) -> str:
        """How the text of a field was understood."""
        if cell.value_name == LINE and cell.value.strip():
            names, text = parse_line(self.form, cell.value)
            spec = next((spec for spec in self.form.fields if spec.key in names), self.form.columns[0])
            return f"= {show_value(spec, parse_value(spec, text, self.unit, self.desk.today), self.unit)} at {line_names(names)}"
        if not cell.value.strip():
            before = self.previous.get(cell.value_name)
            return f"last {self.shown_before(cell, before)}" if before else ""
        value = parse_value(cell.spec, cell.value, self.unit, self.desk.today)
        return f"= {show_value(cell.spec, value, self.unit)}"

    def shown_before(self, cell: Cell, text: str) -> str:
        """A value of the last reading as it is told back, with its marks; as it was typed where that is understood no more."""
        try:
            value = parse_value(cell.spec, text, self.unit, self.desk.today)
        except InputError:
            return clean(text)
        return show_value(cell.spec, value, self.unit)

    def asked(self, cell: Cell) -> str:
        """What a field takes."""
        return takes(cell.spec, self.unit, brief=self.size.width < NARROW)

    def typed(self) -> None:
        """Ask the verdict when the typing rests."""
        if self.quiet is not None:
            self.quiet.stop()
        self.quiet = self.set_timer(PAUSE, self.ask_verdict)

    @shows
    async def ask_verdict(self) -> None:
        """Ask what the values typed so far come to; those not understood are left out and said so."""
        from tracker.book.readings import try_out

        named = [(name, text) for name, text in self.readings().items() if name not in self.problems]
        try:
            tried = await self.desk.ask(
                try_out, self.code, self.check.key, named, self.desk.today,
                who=self.desk.hand().who, corrects=self.draft.corrects,
            )  # fmt: skip
        except BookError:
            raise
        except TrackerError as error:
            self.panel.complain(error)
            return
        self.panel.show(tried, len(self.problems))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Rows are added only to an open table, last values filled in only where there are some."""
        if action == "same":
            return bool(self.form.columns)
        if action == "row":
            return bool(self.form.columns) and self.form.open_rows
        if action in ("last", "correct", "take_back"):
            return self.last is not None
        if action == "picture":
            return self.is_mounted and bool(self.query("#panel")) and self.panel.swaps
        return True

    def action_picture(self) -> None:
        """Swap the verdict and the picture."""
        pictured = self.panel.swap()
        self.set_class(pictured, "-pictured")
        self.tell("F6 shows the verdict in full again" if pictured else "F6 shows the picture")
        self.panel.call_after_refresh(self.panel.redraw)

    def action_working(self) -> None:
        """Show what to measure, in full, the field in hand, and the working of the verdict."""
        asks = self.check.asks
        if isinstance(self.focused, Cell):
            asks += f"\n{self.focused.key_label()}: {takes(self.focused.spec, self.unit)}"
        self.desk.push_screen(working_page(self.check.title, self.answer, self.check.source, asks))

    def action_row(self) -> None:
        """Ask how the row is called, then add it."""
        rows = self.lines.rows

        async def act(name: str, entry: str) -> str:
            if name in rows:
                raise InputError(f"there is a {self.form.row_word} {name} already", "give it another name")
            if "=" in name:
                raise InputError("a name cannot hold the sign =", "leave it out")
            return name

        self.desk.push_screen(
            Question(
                f"Add a {self.form.row_word}",
                act,
                what=f"the name of the {self.form.row_word}",
                value=str(len(rows) + 1),
                limit=40,
            ),
            self.add_row,
        )

    async def add_row(self, name: str | None) -> None:
        """Add a row and go to it."""
        if name is None:
            return
        self.draft.rows.append(name)
        number = 1 + max((cell.place[0] for cell in self.cells()), default=-1)
        line = self.lines.row(name, number)
        await self.query_one("#form").mount(line)
        line.query(Cell).first().focus()
        self.call_after_refresh(line.scroll_visible, animate=False)

    async def action_last(self) -> None:
        """Fill the empty fields with the last reading."""
        await self.fill_in()
        self.tell("the empty fields hold the last reading: change what you measured again, then save")

    async def action_correct(self) -> None:
        """Make the save correct the last reading, its values filled in; again makes it a new reading."""
        from tracker.book.opening import default_entry_id

        if self.last is None:
            return
        draft = self.draft
        draft.corrects = "" if draft.corrects else self.last.id
        draft.entry_id, draft.tried = default_entry_id(), None
        if draft.corrects:
            await self.fill_in()
            self.tell("mend what was typed wrong, then save: it takes the place of the last reading; F5 again adds one")
        else:
            self.tell("saving adds a new reading; F5 corrects the last one instead")
        self.say_what_is_saved()

    def action_take_back(self) -> None:
        """Ask why, then take the last reading back; what is typed stays as a draft."""

        def done(recorded: Recorded | None) -> None:
            if recorded is not None:
                self.drop_empty_draft()
                self.dismiss(recorded)

        if self.last is not None:
            self.desk.push_screen(take_back_question(self.desk, self.code, self.check), done)

    async def fill_in(self) -> None:
        """Put the values of the last reading into the empty fields."""
        known = {cell.value_name: cell for cell in self.cells()}
        for name, text in self.previous.items():
            row = name if len(self.form.columns) == 1 else name.rpartition(".")[0]
            if name not in known and row and self.form.open_rows and row not in self.lines.rows:
                await self.add_row(row)
                known = {cell.value_name: cell for cell in self.cells()}
            if name in known and not known[name].value:
                known[name].fill(text)

    def drop_empty_draft(self) -> None:
        """Forget the draft when nothing is typed."""
        if not self.texts():
            self.desk.drafts.pop((self.code, self.check.key), None)

    def action_keep(self) -> None:
        """Go back and keep what was typed."""
        self.drop_empty_draft()
        self.dismiss(None)

    @writes
    async def action_save(self) -> None:
        """Record the reading; whatever goes wrong, every typed value stays."""
        from tracker.book.opening import default_entry_id
        from tracker.book.readings import ReadSinceError, record

        self.first_wrong()
        if (line := self.line_typed()) is not None:
            self.take_line(line)
        texts, draft = self.readings(), self.draft
        if not texts:
            raise InputError("nothing is typed yet", "type what you measured, then save")
        if draft.tried is not None and draft.tried != texts:
            draft.entry_id = default_entry_id()
        draft.tried = texts
        tokens = [f"{name}={text}" for name, text in texts.items()]
        self.tell("saving…")
        hand, key = self.desk.hand(), self.check.key

        async def ask(again: bool, receive: bool, far: bool) -> Recorded:
            return await self.desk.ask(
                record, hand, self.code, key, tokens,
                entry_id=draft.entry_id, corrects=draft.corrects, newest=self.newest, receive=receive,
                anyway=again or far,
            )  # fmt: skip

        try:
            result = await on_purpose(self.desk, lambda again: with_receipt(self.desk, partial(ask, again)))
        except ReadSinceError as error:
            self.newest = error.newest
            self.turn_down(f"{error.message}. It decides; save again to correct the older one all the same")
            return
        except IdUsedError as error:
            draft.entry_id = default_entry_id()
            raise other_now(error) from error
        if result is None:
            self.tell("nothing was recorded: count again, then save")
            return
        if self.readings() == texts:
            self.desk.drafts.pop((self.code, self.check.key), None)
        else:
            draft.entry_id, draft.tried = default_entry_id(), None
        self.dismiss(result)
