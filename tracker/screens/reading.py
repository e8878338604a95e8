"""A reading being entered: a field for each value the check takes, the verdict live beside them."""

from __future__ import annotations

from collections.abc import Iterator

from rich.cells import cell_len
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.timer import Timer
from textual.widgets import Static

from tracker.book.views import CheckView, Recorded
from tracker.errors import BookError, InputError, TrackerError
from tracker.reports.words import result
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.asking import Question
from tracker.screens.cells import Cell, Fields, hint_of, takes
from tracker.screens.drafts import Draft
from tracker.screens.forms import FormScreen
from tracker.screens.frame import reads, words_of, writes
from tracker.screens.page import working_page
from tracker.text import clean, count
from tracker.trade.answer import Answer, Verdict
from tracker.trade.dates import format_day
from tracker.trade.lengths import Unit
from tracker.trade.readings import Field, Form, Kind, parse_value, show_value

PAUSE = 0.2
"""Seconds of quiet typing before the verdict is asked."""
WIDE, NARROW, LOW = 110, 70, 24


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
        self.answer: Answer | None = None
        self.quiet: Timer | None = None

    @property
    def draft(self) -> Draft:
        """The draft of this form, made when it first opens."""
        from tracker.book.opening import default_entry_id

        key = (self.code, self.check.key)
        if key not in self.desk.drafts:
            self.desk.drafts[key] = Draft(default_entry_id())
        return self.desk.drafts[key]

    def rows(self) -> list[str]:
        """The rows of the table: those of the spec, then those a person added; at least one."""
        suggested = list(self.form.rows)
        if self.form.columns and not suggested:
            suggested = [str(n + 1) for n in range(max(self.form.least_rows, 1))]
        return suggested + [row for row in self.draft.rows if row not in suggested]

    def cell_name(self, row: str, column: Field) -> str:
        """How a reading names one cell of the table."""
        return row if len(self.form.columns) == 1 else f"{row}.{column.key}"

    def body(self) -> ComposeResult:
        """What to measure, the fields, the line that tells of the field in hand, the verdict."""
        yield Static(words.say(self.check.asks), id="asks")
        with Horizontal(id="both"):
            with Vertical(id="left"):
                with Fields(id="form"):
                    yield from self.lines()
                yield Static(id="at", markup=False)
            with VerticalScroll(id="verdict"):
                yield Static(id="judged", markup=False)

    def lines(self) -> Iterator[Horizontal]:
        """A line for each field and each row of the table."""
        texts = self.draft.texts
        number = 0
        for spec in self.form.fields:
            label = ("" if spec.required else "* ") + spec.label
            yield Horizontal(
                Static(words.say(label), classes="label"),
                Cell(spec, spec.key, "", (number, 0), texts.get(spec.key, ""), hint_of(spec)),
                Static(classes="echo", markup=False),
                classes="cells",
            )
            number += 1
        if self.form.columns:
            many = "cells many" if len(self.form.columns) > 1 else "cells"
            if len(self.form.columns) > 1:
                head = Static(words.say(self.form.row_word), classes="label")
                head.styles.width = self.label_width()
                tops = (Static(words.say(column.label), classes="top") for column in self.form.columns)
                yield Horizontal(head, *tops, classes="cells many heads")
            for row in self.rows():
                yield self.row_line(row, number, many)
                number += 1

    def label_width(self) -> int:
        """Cells the row labels of a table of several columns take."""
        labels = [self.form.row_word, *(self.row_label(row) for row in self.rows())]
        return min(max(cell_len(label) for label in labels) + 1, 16)

    def row_label(self, row: str) -> str:
        """A row as it is shown: a bare number gets its word."""
        return clean(f"{self.form.row_word} {row}" if row.isdigit() else row)

    def row_line(self, row: str, number: int, classes: str) -> Horizontal:
        """One row of the table."""
        label = self.row_label(row)
        head = Static(words.say(label), classes="label")
        parts: list[Static | Cell] = [head]
        alone = len(self.form.columns) == 1
        if not alone:
            head.styles.width = self.label_width()
        for at, column in enumerate(self.form.columns):
            name, hint = self.cell_name(row, column), hint_of(column) if alone else ""
            parts.append(Cell(column, name, label, (number, at), self.draft.texts.get(name, ""), hint))
            parts[-1].set_class(alone and column.kind is Kind.LENGTHS, "long")
        if alone:
            parts.append(Static(classes="echo", markup=False))
        return Horizontal(*parts, classes=classes)

    def on_mount(self) -> None:
        """Start in the first field, with the draft where there is one."""
        self.title_text = f"{self.code} / {self.check.title}"
        if "." in self.check.key:
            self.title_text += f" / {self.check.platform}"
        optional = any(not spec.required for spec in self.form.fields)
        self.aside_text = "* may stay empty" if optional else ""
        typed = bool(self.draft.texts)
        if typed:
            self.tell("your draft is back; F8 empties it")
        elif self.check.readings:
            last = self.check.readings[-1]
            verdict = words.VERDICT_WORDS[last.answer.verdict or Verdict.INCOMPLETE].lower()
            self.tell(f"last read by {last.who} on {format_day(last.day)}, {verdict}: F4 fills in those values")
        for cell in self.query(Cell):
            self.echo(cell)
        if cells := list(self.query(Cell)):
            cells[0].focus()
        self.ask_verdict()

    def redraw(self) -> None:
        """Place the verdict for the width there is."""
        width, height = self.size
        self.set_class(width >= WIDE, "-wide")
        self.set_class(width < NARROW, "-narrow")
        self.set_class(height < LOW, "-low")
        self.call_after_refresh(self.draw_verdict)

    def keep_text(self, cell: Cell) -> None:
        """Keep what a field holds in the draft."""
        if cell.value:
            self.draft.texts[cell.value_name] = cell.value
        else:
            self.draft.texts.pop(cell.value_name, None)

    def understood(self, cell: Cell) -> str:
        """How the text of a field was understood."""
        if not cell.value.strip():
            return ""
        value = parse_value(cell.spec, cell.value, self.unit, self.desk.today)
        return f"= {show_value(cell.spec, value, self.unit)}"

    def asked(self, cell: Cell) -> str:
        """What a field takes."""
        return takes(cell.spec, self.unit, brief=self.size.width < NARROW)

    def typed(self) -> None:
        """Ask the verdict when the typing rests."""
        if self.quiet is not None:
            self.quiet.stop()
        self.quiet = self.set_timer(PAUSE, self.ask_verdict)

    @reads
    async def ask_verdict(self) -> None:
        """Ask what the values typed so far come to; those not understood are left out and said so."""
        from tracker.book.readings import try_out

        named = [(name, text) for name, text in self.texts().items() if name not in self.problems]
        try:
            self.answer = await self.desk.ask(try_out, self.code, self.check.key, named, self.desk.today)
        except BookError:
            raise
        except TrackerError as error:
            self.answer = None
            self.query_one("#judged", Static).update(words.say(words_of(error), "$error"))
            return
        self.draw_verdict()

    def draw_verdict(self) -> None:
        """Put the verdict in its place: the word first, then the moves, the figures, the limits."""
        answer = self.answer
        if answer is None or not self.is_mounted:
            return
        width = max(self.query_one("#verdict").size.width - 3, 30)
        rows: list[Content] = []
        if self.problems:
            rows.append(words.say(f"{count(len(self.problems), 'value')} not understood and left out", "$error"))
        verdict = answer.verdict or Verdict.INCOMPLETE
        word = words.say(
            f" {words.VERDICT_MARKS[verdict]} {words.VERDICT_WORDS[verdict]} ", words.VERDICT_STYLES[verdict]
        )
        rows.append(word)
        if verdict is not Verdict.INCOMPLETE or not answer.moves:
            rows.append(words.hang(result(answer, self.check.key), width, style=words.STRONG))
        rows += words.moves(answer, self.check.key, width)
        rows += [words.hang(text, width, "limit   ") for text in words.limit_words(answer)]
        rows += [
            words.hang(text, width, "figure  ", words.FAINT)
            for name, value in answer.answer.items()
            if (text := words.figure_words(name, value))
        ]
        if answer.caution:
            rows.append(words.hang(answer.caution, width, "caution ", "", "$warning bold"))
        self.query_one("#judged", Static).update(words.stack(rows))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Rows are added only to an open table, last values filled in only where there are some."""
        if action == "row":
            return bool(self.form.columns) and self.form.open_rows
        if action == "last":
            return bool(self.check.readings)
        return True

    def action_working(self) -> None:
        """Show the working of the verdict."""
        self.desk.push_screen(working_page(self.check.title, self.answer, self.check.source))

    def action_row(self) -> None:
        """Ask how the row is called, then add it."""
        rows = self.rows()

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
        classes = "cells many" if len(self.form.columns) > 1 else "cells"
        line = self.row_line(name, number, classes)
        await self.query_one("#form").mount(line)
        line.query(Cell).first().focus()

    async def action_last(self) -> None:
        """Fill the empty fields with the last reading."""
        known = {cell.value_name: cell for cell in self.cells()}
        for name, text in self.check.readings[-1].entered:
            row = name if len(self.form.columns) == 1 else name.rpartition(".")[0]
            if name not in known and row and self.form.open_rows and row not in self.rows():
                await self.add_row(row)
                known = {cell.value_name: cell for cell in self.cells()}
            if name in known and not known[name].value:
                known[name].value = text
        self.tell("the empty fields hold the last reading: change what you measured again, then save")

    def action_keep(self) -> None:
        """Go back and keep what was typed."""
        if not self.texts():
            self.desk.drafts.pop((self.code, self.check.key), None)
        self.dismiss(None)

    @writes
    async def action_save(self) -> None:
        """Record the reading; whatever goes wrong, every typed value stays."""
        from tracker.book.opening import default_entry_id
        from tracker.book.readings import record

        texts, draft = self.texts(), self.draft
        self.first_wrong()
        if not texts:
            raise InputError("nothing is typed yet", "type what you measured, then save")
        if draft.tried is not None and draft.tried != texts:
            draft.entry_id = default_entry_id()
        draft.tried = texts
        tokens = [f"{name}={text}" for name, text in texts.items()]
        self.tell("saving…")
        hand, key = self.desk.hand(), self.check.key
        result = await self.desk.ask(record, hand, self.code, key, tokens, entry_id=draft.entry_id)
        if self.texts() == texts:
            self.desk.drafts.pop((self.code, self.check.key), None)
        else:
            draft.entry_id, draft.tried = default_entry_id(), None
        self.dismiss(result)
