"""A question over a screen: one line to answer on (a reason, a count, a note), or a few fields."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Input

from tracker.book.views import IdUsedError
from tracker.errors import InputError
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.clears import by_keys
from tracker.screens.countask import other_now
from tracker.screens.frame import Asking, Boxed, KeyLine, words_of, writes
from tracker.screens.oneline import OneLine
from tracker.screens.static import Static
from tracker.text import accept, clean

T = TypeVar("T")
MOMENT = "one moment…"
"""What is said while an answer is on its way into the book."""


@dataclass(frozen=True, slots=True)
class Blank:
    """One field: ``read`` gives back in words how its text was understood, or raises InputError; without it, it takes words."""

    key: str
    label: str = ""
    value: str = ""
    hint: str = ""
    read: Callable[[str], str] | None = None

    @property
    def goes_on(self) -> bool:
        """Whether typing goes on with a draft: of words nothing is lost that way; digits would make another figure."""
        return self.read is None and not self.value


class Blanks(Boxed[T | None], Asking, Generic[T]):
    """Ask ``heading`` and do ``act`` with the texts by key and an entry id; give back what it answered.

    While ``act`` is refused the question stays open with the texts in it, and a second try carries the same
    entry id. Escape gives None back; the texts typed so far are offered when the same question comes again.
    """

    NAME = "asking"
    BINDINGS = bindings("asking")

    def __init__(
        self,
        heading: str,
        blanks: Sequence[Blank],
        act: Callable[[Mapping[str, str], str], Coroutine[Any, Any, T]],
        *,
        help_text: str = "",
    ) -> None:
        super().__init__()
        self.heading = heading
        self.blanks = tuple(blanks)
        self.act = act
        self.help_text = help_text
        self.entry_id = ""

    def kept_as(self, blank: Blank) -> str:
        """The name under which an unsent text is kept."""
        return f"{self.heading}\n{blank.key}"

    def compose(self) -> ComposeResult:
        """The question, the fields, what is wrong with the answer, the keys."""
        with Vertical():
            yield Static(words.say(self.heading), id="heading")
            if self.help_text:
                yield Static(words.say(self.help_text, words.FAINT), classes="help")
            kept = {blank.key: self.desk.answer_of(self.kept_as(blank)) for blank in self.blanks}
            if any(kept.values()):
                yield Static(words.say(self.back(kept), words.STRONG), classes="help", id="back")
            for blank in self.blanks:
                field = OneLine(
                    kept[blank.key] or blank.value, joins="" if blank.read else "; ",
                    placeholder=blank.hint, compact=True, select_on_focus=not blank.goes_on,
                )  # fmt: skip
                if not blank.label:
                    yield field
                else:
                    label = Static(words.say(blank.label), classes="label")
                    yield Horizontal(label, field, Static(classes="echo", markup=False), classes="blank")
            yield Static("", id="wrong", markup=False)
            yield KeyLine(self.NAME)

    def back(self, kept: Mapping[str, str]) -> str:
        """That a draft is back, and what would stand in its place: a figure of the book is not lost sight of."""
        before = [
            f"{blank.label.partition(',')[0]} {clean(blank.value)}".strip()
            for blank in self.blanks
            if kept[blank.key] and blank.value
        ]
        told = "your draft is back: "
        if all(blank.goes_on for blank in self.blanks if kept[blank.key]):
            return f"{told}typing goes on with it, ctrl+u empties it"
        told += "typing replaces it, End goes on with it"
        return f"{told}; before it: {', '.join(before)}" if before else told

    def on_mount(self) -> None:
        """Start in the first field."""
        self.fields[0].focus()
        for at in range(len(self.blanks)):
            self.echo(at)

    @property
    def fields(self) -> list[Input]:
        """The fields in order."""
        return list(self.query(Input))

    def echo(self, at: int) -> bool:
        """Show beside a field how it was understood; False when it was not."""
        blank, field, good = self.blanks[at], self.fields[at], True
        if blank.read is None:
            return True
        try:
            text = blank.read(field.value) if field.value.strip() else ""
        except InputError as error:
            text, good = words_of(error), False
        field.set_class(not good, "wrong")
        for static in field.parent.query(".echo").results(Static) if field.parent else ():
            static.update(words.say(text))
            static.set_class(not good, "-wrong")
        return good

    def tell(self, text: str, style: str = "") -> None:
        """Show what is wrong with the answer."""
        if self.is_mounted:
            self.query_one("#wrong", Static).update(words.say(by_keys(text)))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """One field alone is answered by enter."""
        return action not in ("save", "down", "up") or len(self.blanks) > 1

    def on_input_changed(self, event: Input.Changed) -> None:
        """Read the text as it is typed, and keep it."""
        self.echo(self.fields.index(event.input))
        self.keep(self.texts())

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter goes on to the next field, and answers in the last."""
        if event.input is self.fields[-1]:
            self.action_accept()
        else:
            self.action_down()

    def move(self, by: int) -> None:
        """Go to another field."""
        fields = self.fields
        if isinstance(self.focused, Input):
            fields[min(max(fields.index(self.focused) + by, 0), len(fields) - 1)].focus()

    def action_down(self) -> None:
        """The field below."""
        self.move(1)

    def action_up(self) -> None:
        """The field above."""
        self.move(-1)

    def action_save(self) -> None:
        """Answer from any field."""
        self.action_accept()

    @writes
    async def action_accept(self) -> None:
        """Do what was asked for; a refusal is shown and the texts stay."""
        from tracker.book.opening import default_entry_id

        texts = self.texts()
        self.keep(texts)
        wrong = next((at for at in range(len(self.blanks)) if not self.echo(at)), None)
        if wrong is not None:
            self.fields[wrong].focus()
            self.turn_down("mend the field that is not understood")
            return
        self.entry_id = self.entry_id or default_entry_id()
        self.tell(MOMENT)
        try:
            answer = await self.act(texts, self.entry_id)
        except IdUsedError as error:
            self.entry_id = ""
            raise other_now(error) from error
        for blank in self.blanks:
            self.desk.unsent.pop(self.kept_as(blank), None)
        self.dismiss(answer)

    def texts(self) -> dict[str, str]:
        """What is typed, by field."""
        return {blank.key: field.value for blank, field in zip(self.blanks, self.fields, strict=True)}

    def keep(self, texts: Mapping[str, str]) -> None:
        """Keep what was typed for the next time the same question comes."""
        for blank in self.blanks:
            if texts[blank.key] and texts[blank.key] != blank.value:
                self.desk.unsent[self.kept_as(blank)] = texts[blank.key]
            else:
                self.desk.unsent.pop(self.kept_as(blank), None)

    def action_back(self) -> None:
        """Do nothing, and keep the texts; what is being saved is waited for, so that it is not offered again."""
        if self.writing:
            self.tell(MOMENT)
            return
        self.keep(self.texts())
        self.dismiss(None)


class Question(Blanks[T], Generic[T]):
    """One line to answer on: ``act`` gets the accepted text; ``what`` names it, ``limit`` is its most characters."""

    def __init__(
        self,
        heading: str,
        act: Callable[[str, str], Coroutine[Any, Any, T]],
        *,
        what: str,
        help_text: str = "",
        value: str = "",
        limit: int = 200,
    ) -> None:
        async def with_text(texts: Mapping[str, str], entry: str) -> T:
            return await act(accept(texts[""], what, limit=limit), entry)

        super().__init__(heading, [Blank("", value=value)], with_text, help_text=help_text)
