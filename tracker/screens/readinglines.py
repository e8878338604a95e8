"""The lines of a reading form: a field each, then the rows of the table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from textual.containers import Horizontal
from textual.widget import Widget

from tracker.screens import words
from tracker.screens.cells import BLANK, Cell, hint_of, unit_of
from tracker.screens.drafts import Draft
from tracker.screens.static import Static
from tracker.text import clean
from tracker.trade.lengths import Unit
from tracker.trade.readings import Field, Form, Kind

HINT, LONG_HINT = 16, 24
"""Cells an empty field, and one for several lengths, has for its example."""
LINE = "+"
"""The name of the field that takes the readings of several rows at once; it holds none itself."""
SLOT = 9
"""Cells a column of a table needs at least."""


@dataclass(frozen=True, slots=True)
class Lines:
    """The fields of ``form``, bare numbers in ``unit``, holding the texts of ``draft``."""

    form: Form
    unit: Unit
    draft: Draft

    @property
    def several(self) -> bool:
        """Whether the table has several columns."""
        return len(self.form.columns) > 1

    @property
    def classes(self) -> str:
        """The style classes of a row of the table."""
        return "cells many" if self.several else "cells"

    @property
    def rows(self) -> list[str]:
        """The rows of the table: those of the spec, then those a person added; at least one."""
        suggested = list(self.form.rows)
        if self.form.columns and not suggested:
            suggested = [str(n + 1) for n in range(max(self.form.least_rows, 1))]
        return suggested + [row for row in self.draft.rows if row not in suggested]

    @property
    def label_width(self) -> int:
        """Cells the row labels of a table take."""
        labels = [self.form.row_word, *map(self.row_label, self.rows)]
        return min(max(map(cell_len, labels)) + 1, 16)

    def fits(self, room: int) -> bool:
        """Whether the columns have room beside each other in so many cells."""
        return not self.several or self.label_width + SLOT * len(self.form.columns) <= room

    def top(self, column: Field) -> str:
        """The head of a column: its label and its unit."""
        unit = unit_of(column, self.unit)
        return f"{column.label} ({unit})" if unit else column.label

    def row_label(self, row: str) -> str:
        """A row as it is shown: a bare number gets its word."""
        return clean(f"{self.form.row_word} {row}" if row.isdigit() else row)

    @property
    def takes_several(self) -> bool:
        """Whether one line gives several rows their reading."""
        return len(self.form.columns) == 1 and len(self.form.rows) > 1

    def all(self) -> Iterator[Horizontal]:
        """A line for each field and each row of the table."""
        for number, spec in enumerate(self.form.fields):
            label = ("" if spec.required else "* ") + spec.label
            text = self.draft.texts.get(spec.key, "")
            yield self.single(label, Cell(spec, spec.key, "", (number, 0), text, hint_of(spec, HINT)))
        if self.form.columns:
            if self.several:
                yield self.heads()
            if self.takes_several:
                yield self.several_at_once()
            for number, row in enumerate(self.rows, len(self.form.fields) + self.takes_several):
                yield self.row(row, number)

    def single(self, label: str, cell: Cell) -> Horizontal:
        """A value on a line of its own: its name, its field, its unit, how it was understood."""
        return Horizontal(
            Static(words.say(label), classes="label"),
            cell,
            Static(words.say(unit_of(cell.spec, self.unit)), classes="unit"),
            Static(classes="echo", markup=False),
            classes="cells",
        )

    def several_at_once(self) -> Horizontal:
        """The line whose first word names the rows that its reading goes to."""
        noun = self.form.row_word
        spec = Field(
            LINE, "Several at once", Kind.TEXT, required=False,
            help=f"{noun}, space, reading; 1-4,8 for several alike; enter takes it",
        )  # fmt: skip
        hint = "rows, reading"
        cell = Cell(spec, LINE, "", (len(self.form.fields), 0), self.draft.texts.get(LINE, ""), hint)
        return self.single(f"* {spec.label}", cell)

    def heads(self) -> Horizontal:
        """The heads of the columns."""
        tops = [Static(words.say(self.top(column)), classes="top") for column in self.form.columns]
        return Horizontal(self.first(self.form.row_word), *tops, classes="cells many heads")

    def first(self, label: str) -> Static:
        """What stands before the values of a row."""
        head = Static(words.say(label), classes="label")
        head.styles.width = self.label_width
        return head

    def row(self, row: str, number: int) -> Horizontal:
        """One row of the table."""
        label, texts, columns = self.row_label(row), self.draft.texts, self.form.columns
        if self.several:
            return Horizontal(self.first(label), *self.slots(row, label, number, columns), classes=self.classes)
        (column,) = columns
        lengths = column.kind is Kind.LENGTHS
        hint = hint_of(column, LONG_HINT if lengths else HINT)
        cell = Cell(column, row, label, (number, 0), texts.get(row, ""), hint)
        line = self.single(label, cell)
        if lengths:
            cell.add_class("long")
            line.add_class("lists")
        return line

    def slots(self, row: str, label: str, number: int, columns: Sequence[Field]) -> Iterator[Widget]:
        """The values of a row; the name and the echo of each show where the columns stand one below the other."""
        for at, column in enumerate(columns):
            name = f"{row}.{column.key}"
            yield Horizontal(
                Static(words.say(self.top(column)), classes="label own"),
                Cell(column, name, label, (number, at), self.draft.texts.get(name, ""), BLANK),
                Static(classes="echo", markup=False),
                classes="slot",
            )
