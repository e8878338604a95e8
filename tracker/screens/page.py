"""A page to read over a screen: the working of a verdict, or a message too long for its two lines."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.content import Content

from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.frame import Boxed, KeyLine
from tracker.screens.static import Static
from tracker.trade.answer import Answer


def room(width: int) -> int:
    """Cells a line of a page has on a screen of that width, its frame and scroll bar left out."""
    return max(min(width * 9 // 10, 96) - 6, 30)


class Page(Boxed[None]):
    """A heading and a text that scrolls."""

    NAME = "page"
    BINDINGS = bindings("page")

    def __init__(self, heading: str, text: Content) -> None:
        super().__init__()
        self.heading = heading
        self.text = text

    def compose(self) -> ComposeResult:
        """The heading, the text, the keys."""
        with Vertical():
            yield Static(words.say(self.heading), id="heading")
            with VerticalScroll(id="scroll"):
                yield Static(self.text)
            yield KeyLine(self.NAME)

    def on_mount(self) -> None:
        """Let the arrows scroll the text."""
        self.query_one("#scroll").focus()

    def action_back(self) -> None:
        """Go back."""
        self.dismiss(None)


def working_page(title: str, answer: Answer | None, source: str, asks: str = "") -> Page:
    """The working, the limits and the source of a verdict, after what the check asks for."""
    parts: list[Content] = []
    if asks:
        parts += [words.say("Measure", words.HEADING), words.say(asks), Content("")]
    if answer is None:
        parts.append(words.say("What there is gives no verdict yet, so there is no working to show."))
    else:
        parts += [words.say(answer.headline, words.STRONG)]
        parts += [Content("")] * bool(answer.working) + [words.say(step) for step in answer.working]
        if answer.limits:
            parts += [Content(""), words.say("Limits", words.HEADING)]
            parts += [words.say(text) for text in words.limit_words(answer)]
        if answer.caution:
            parts += [Content(""), words.say("Caution", "$warning bold"), words.say(answer.caution)]
    parts += [Content(""), words.say("Source", words.HEADING), words.say(answer.source if answer else source)]
    return Page(f"Working: {title}", words.stack(parts))
