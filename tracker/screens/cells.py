"""The fields of a reading form: what each takes, what it shows while it is empty."""

from __future__ import annotations

import re
from typing import Protocol, runtime_checkable

from textual import events
from textual.containers import VerticalScroll
from textual.widgets import Input

from tracker.screens.inturn import InTurn, Typed
from tracker.screens.words import fit
from tracker.text import clean
from tracker.trade.lengths import Unit
from tracker.trade.readings import Field, Kind

LENGTHS = {Unit.INCH: """12' 3-1/4", 147-1/4, 3/8 or 3740mm""", Unit.MM: """3740, 374cm or 12' 3-1/4\""""}


BLANK = "____"
"""What an empty field of a table of several columns shows: without colours it would not be seen."""


def hint_of(spec: Field, room: int) -> str:
    """What an empty field of ``room`` cells shows."""
    hint = f"like {spec.example}" if spec.example else BLANK
    return fit(hint, room).rstrip()


def unit_of(spec: Field, unit: Unit) -> str:
    """The unit a bare number in a field is taken in; empty where it has none."""
    match spec.kind:
        case Kind.LENGTH | Kind.SIGNED | Kind.LENGTHS:
            return unit.value
        case Kind.PERCENT:
            return "%"
        case _:
            return spec.unit


@runtime_checkable
class LooksFirst(Protocol):
    """A screen that looks at what is typed into its fields before they take it."""

    def has_no_field(self, typed: Typed) -> bool:
        """Whether something typed is not for the field in hand."""


class Cell(Input):
    """One value: ``name_`` as the reading names it, ``line`` and ``column`` its place for the arrows."""

    def __init__(
        self, spec: Field, value_name: str, row_name: str, place: tuple[int, int], text: str, hint: str
    ) -> None:
        super().__init__(text, placeholder=clean(hint), compact=True, select_on_focus=False)
        self.spec = spec
        self.value_name = value_name
        self.row_name = row_name
        self.place = place
        self.filled = ""
        """What was put into the field without typing: typing takes its place."""
        self.gone_on_to = False
        """Whether the cursor comes here by itself, from the field before: what stands here is measured again."""

    def fill(self, text: str) -> None:
        """Put a text into the field that the person did not type."""
        self.value = self.filled = text
        self.cursor_position = len(text)
        if self.has_focus:
            self.select_all()

    @property
    def gives_way(self) -> bool:
        """Whether typing takes the place of what stands here: what was put in, and a count come back to, which is counted again
        (digits typed after those there would make another number of it).
        """
        put_in = bool(self.filled) and self.value == self.filled
        again = self.gone_on_to or self.spec.kind is Kind.COUNT
        return put_in or (again and bool(self.value))

    def begin(self) -> None:
        """Stand as a field does that comes into hand, when it is in hand already."""
        if self.gives_way:
            self.select_all()
        else:
            self.cursor_position = len(self.value)

    def _on_focus(self, event: events.Focus) -> None:
        # The field's own way of coming into hand follows, and looks at this.
        self.select_on_focus = self.gives_way
        self.gone_on_to = False

    def turns_away(self, typed: Typed) -> bool:
        """Whether something typed is not for the field, and so goes no further."""
        form = self.screen
        if not isinstance(form, LooksFirst) or not form.has_no_field(typed):
            return False
        typed.prevent_default()
        typed.stop()
        return True

    def _on_key(self, event: events.Key) -> None:  # type: ignore[override]
        # The field's own way of taking a key follows.
        self.turns_away(event)

    def _on_paste(self, event: events.Paste) -> None:
        """Several lines or columns go into this field and the next ones."""
        if self.turns_away(event):
            return
        first, *others = re.split(r"\r\n|[\r\n\t]", event.text)
        if not others or not isinstance(self.app, InTurn):
            return  # the field's own way of taking a paste follows
        event.prevent_default()
        event.stop()
        typed: list[Typed] = [events.Paste(first)] if first else []
        for text in others:
            typed.append(events.Key("enter", "\r"))
            typed += [events.Paste(text)] if text else []
        self.app.type_next(typed)

    def key_label(self) -> str:
        """The field's label, with its row in a table."""
        return ", ".join(part for part in (self.row_name, self.spec.label) if part)


class Fields(VerticalScroll, inherit_bindings=False):
    """The scrolling fields; the arrows are the form's."""

    can_focus = False


def takes(spec: Field, unit: Unit, *, brief: bool = False) -> str:
    """What a field takes, in one line; ``brief`` leaves the other spellings of a length to its example."""
    match spec.kind:
        case Kind.LENGTH | Kind.SIGNED | Kind.LENGTHS:
            kind = "" if brief and spec.example else f"write {LENGTHS[unit]}"
        case Kind.CHOICE:
            return "; ".join(part for part in (f"one of {', '.join(spec.choices)}", spec.help) if part)
        case Kind.YESNO:
            kind = "yes or no"
        case Kind.DATE:
            kind = "a day: 2026-05-12, today, tomorrow"
        case Kind.PERCENT:
            kind = "percent, like 14.5"
        case Kind.COUNT:
            kind = "a whole number"
        case Kind.NUMBER:
            kind = f"a number, in {spec.unit}" if spec.unit else "a number"
        case Kind.BY_EYE:
            kind = "good, or good by NAME"
        case Kind.TEXT:
            kind = "words"
    example = f"like {spec.example}" if spec.example else ""
    return "; ".join(part for part in (spec.help, kind, example) if part)
