"""A screen of fields whose texts are kept as a draft: moving, reading back what was typed, emptying and putting back."""

from __future__ import annotations

from typing import Generic

from textual import events
from textual.widgets import Input

from tracker.errors import InputError
from tracker.screens import words
from tracker.screens.cells import Cell
from tracker.screens.frame import Framed, R, words_of
from tracker.screens.static import Static

NO_FIELD = "that was the last field; what came after it was not taken"
SAVING = ("ctrl+s", "f10")


class FormScreen(Framed[R], Generic[R]):
    """Fields in lines; ``#at`` tells of the one in hand, the ``.echo`` beside a field how its text was understood."""

    SAVES = "ctrl+s saves"
    ENDS = True
    """Whether nothing comes after the last field."""

    def __init__(self) -> None:
        super().__init__()
        self.problems: dict[str, str] = {}
        self.shown_texts: dict[str, str] = {}
        self.emptied: dict[str, str] = {}
        self.complained = False
        self.ended: Cell | None = None
        """The last field, once it was gone on from: what is typed then has no field, until the person moves or edits."""
        self.too_much = False
        """Whether something came that had no field, and no save was stopped by it yet."""
        self.told_at: dict[str, str] | None = None
        """What was typed when the last word was said, which stands until that changes; None with nothing to take away."""

    def tell(self, text: str, style: str = "") -> None:
        """Show the last word; it stands until the next typing."""
        self.complained = style == "$error"
        self.told_at = self.texts() if text and self.cells() else None
        super().tell(text, style)

    def grown_old(self) -> bool:
        """Whether something was typed since the last word was said."""
        return self.told_at is not None and self.texts() != self.told_at

    def keep_text(self, cell: Cell) -> None:
        """Keep what a field holds in the draft."""
        raise NotImplementedError

    def understood(self, cell: Cell) -> str:
        """How the text of a field was understood; raises InputError."""
        raise NotImplementedError

    def asked(self, cell: Cell) -> str:
        """What a field takes."""
        raise NotImplementedError

    def typed(self) -> None:
        """Follow what was typed."""

    def cells(self) -> list[Cell]:
        """The fields in order."""
        return list(self.query(Cell))

    def texts(self) -> dict[str, str]:
        """What is typed, by name; empty fields left out."""
        return {cell.value_name: cell.value for cell in self.query(Cell) if cell.value.strip()}

    def on_input_changed(self, event: Input.Changed) -> None:
        """Read the value as it is typed, and keep it."""
        event.stop()
        if isinstance(event.input, Cell):
            self.too_much = self.too_much and not self.grown_old()
            self.keep_text(event.input)
            self.echo(event.input)
            if self.complained or (event.input.has_focus and self.grown_old()):
                self.tell("")
            if event.input.has_focus:
                self.describe(event.input)
            self.typed()

    def echo(self, cell: Cell) -> None:
        """Show beside a field how its text was understood."""
        wrong = False
        self.problems.pop(cell.value_name, None)
        try:
            text = self.understood(cell)
        except InputError as error:
            wrong = True
            self.problems[cell.value_name] = words_of(error)
            text = "not understood"
        cell.set_class(wrong, "wrong")
        self.shown_texts[cell.value_name] = text
        if cell.parent is not None:
            for static in cell.parent.query(".echo").results(Static):
                static.update(words.say(text))
                static.set_class(wrong, "-wrong")

    def describe(self, cell: Cell) -> None:
        """Tell of the field in hand: its name, how it was understood, what it takes."""
        problem = self.problems.get(cell.value_name)
        self.query_one("#at", Static).set_class(problem is not None, "-wrong")
        shown = self.shown_texts.get(cell.value_name, "")
        head = f"{cell.key_label()}{' ' if shown.startswith('=') else ': '}{shown}" if shown else cell.key_label()
        text = f"{cell.key_label()} not understood: {problem}" if problem else f"{head}\n{self.asked(cell)}"
        self.query_one("#at", Static).update(words.say(text))

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Tell of the field that came into hand."""
        if isinstance(event.widget, Cell):
            if self.focused is not self.ended:
                self.ended = None
            self.describe(event.widget)

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """The mouse is a move on purpose."""
        self.ended = None

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter goes on to the next field."""
        event.stop()
        cells = self.cells()
        at = next((n for n, cell in enumerate(cells) if cell is event.input), len(cells))
        if at + 1 < len(cells):
            cells[at + 1].gone_on_to = True
            self.set_focus(cells[at + 1])
        elif cells:
            self.end(cells[-1])

    def end(self, last: Cell) -> None:
        """The last field is done with."""
        self.ended = last
        if not self.too_much:
            self.tell(f"that was the last field: {self.SAVES}")

    def has_no_field(self, typed: events.Key | events.Paste) -> bool:
        """Whether something typed came after the last field: it is not taken, and that is said.

        Put behind what stands there, it would make a number that nobody typed; put in its place, one of another field.
        """
        cell = self.focused
        if self.ended is None or cell is not self.ended:
            self.ended = None
            tab = self.ENDS and isinstance(typed, events.Key) and typed.key == "tab"
            if tab and isinstance(cell, Cell) and cell is self.cells()[-1]:
                self.end(cell)  # a tape may type it for enter; once more goes on, to the first field
                return True
            return False
        if isinstance(typed, events.Key) and not typed.is_printable and typed.key != "ctrl+v":
            if typed.key == "tab" and self.too_much:
                return True
            if typed.key not in ("enter", *SAVING):
                self.ended = None
            return False
        text = typed.text if isinstance(typed, events.Paste) else typed.character or "" if typed.is_printable else "?"
        if text.strip():
            self.too_much = True
            self.tell(NO_FIELD, "$warning")
        return True

    def move(self, by: int) -> None:
        """Go to the same column of the line below or above."""
        focused = self.focused
        if not isinstance(focused, Cell):
            return
        line, column = focused.place
        here = [cell for cell in self.cells() if cell.place[0] == line + by]
        if here:
            self.set_focus(here[min(column, len(here) - 1)])

    def action_down(self) -> None:
        """The field below."""
        self.move(1)

    def action_up(self) -> None:
        """The field above."""
        self.move(-1)

    def action_clear(self) -> None:
        """Empty every field; a second time puts back what was emptied."""
        texts = self.texts()
        if not texts and self.emptied:
            for cell in self.cells():
                cell.value = self.emptied.get(cell.value_name, "")
            self.begin_typing()
            self.tell("what you had typed is back")
            return
        self.emptied = texts
        for cell in self.cells():
            cell.value = ""
        self.begin_typing()
        self.tell("every field is empty; F8 again puts back what was in them" if texts else "every field is empty")

    def first_field(self) -> Cell | None:
        """Where typing begins; None where nothing is left to type."""
        return next(iter(self.cells()), None)

    def begin_typing(self) -> None:
        """Put the cursor where typing begins; where nothing is left to type, on the last field, done with."""
        first, cells = self.first_field(), self.cells()
        self.ended = None if first is not None or not cells else cells[-1]
        if (aim := first or self.ended) is not None:
            if aim.has_focus:
                aim.begin()
            self.set_focus(aim)

    def first_wrong(self) -> None:
        """Go to the first field that is not understood and raise InputError, when there is one; and once where more was typed
        than there are fields: which value was one too many is for the person to say.
        """
        if self.too_much:
            self.too_much = False
            raise InputError(
                "more was typed than there are fields, and what came after the last one was not taken",
                "look whether each value stands in its field, then save",
            )
        wrong = next((cell for cell in self.cells() if cell.value_name in self.problems), None)
        if wrong is not None:
            self.set_focus(wrong)
            raise InputError(f"{wrong.key_label()} is not understood", "mend it, then save")
