"""A screen of fields whose texts are kept as a draft: moving, reading back what was typed, emptying and putting back."""

from __future__ import annotations

from typing import Generic

from textual import events
from textual.widgets import Input, Static

from tracker.errors import InputError
from tracker.screens import words
from tracker.screens.cells import Cell
from tracker.screens.frame import Framed, R, words_of


class FormScreen(Framed[R], Generic[R]):
    """Fields in lines; ``#at`` tells of the one in hand, the ``.echo`` beside a field how its text was understood."""

    SAVES = "ctrl+s saves"

    def __init__(self) -> None:
        super().__init__()
        self.problems: dict[str, str] = {}
        self.shown_texts: dict[str, str] = {}
        self.emptied: dict[str, str] = {}
        self.complained = False
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
            self.describe(event.widget)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter goes on to the next field."""
        event.stop()
        cells = self.cells()
        at = next((n for n, cell in enumerate(cells) if cell is event.input), len(cells))
        if at + 1 < len(cells):
            self.set_focus(cells[at + 1])
        else:
            self.tell(f"that was the last field: {self.SAVES}")

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
            self.tell("what you had typed is back")
            return
        self.emptied = texts
        for cell in self.cells():
            cell.value = ""
        self.tell("every field is empty; F8 again puts back what was in them" if texts else "every field is empty")

    def first_wrong(self) -> None:
        """Go to the first field that is not understood and raise InputError, when there is one."""
        wrong = next((cell for cell in self.cells() if cell.value_name in self.problems), None)
        if wrong is not None:
            self.set_focus(wrong)
            raise InputError(f"{wrong.key_label()} is not understood", "mend it, then save")
