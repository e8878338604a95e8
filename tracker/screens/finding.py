"""Find anything: type words, and every job, phase, check, lot, note, reason and supplier that holds them is listed."""

from __future__ import annotations

import asyncio

from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Input, OptionList

from tracker.book.frontviews import Found, Hit
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.drafts import SOUGHT
from tracker.screens.frame import Framed, reads, shows
from tracker.screens.front import go_to
from tracker.screens.oneline import OneLine
from tracker.screens.rows import Rows
from tracker.screens.static import Static
from tracker.text import count

PAUSE = 0.1
"""Seconds without a key before the book is asked."""
HELP = (
    "Type words: a job's code, title, client or place, a phase, a check, a lot, an item, a supplier, words of a note "
    "or of a reason. Several words narrow it down. Upper and lower case are one."
)


class FindScreen(Framed[None]):
    """A field for words, and the hits below it; the arrows move in them while you type."""

    NAME = "finding"
    BINDINGS = bindings("finding")
    CSS_PATH = "finding.tcss"

    def __init__(self) -> None:
        super().__init__()
        self.found: Found | None = None
        self.found_for = ""
        """The words it was found for."""

    def body(self) -> ComposeResult:
        """The field, what was found in numbers, the hits."""
        yield OneLine(
            self.desk.unsent.get(SOUGHT, ""), joins=" ", placeholder="words to find", id="sought", compact=True
        )
        yield Static(id="sum", markup=False)
        yield Rows(id="hits")

    def on_mount(self) -> None:
        """Start in the field, with what was sought last."""
        self.title_text = "Find"
        self.query_one("#hits", Rows).can_focus = False
        self.query_one("#sought").focus()
        self.reread()

    @shows
    async def reread(self) -> None:
        """Ask the book where the words are; the newest typing wins."""
        await asyncio.sleep(PAUSE)
        await self.look_up()

    async def look_up(self) -> None:
        """Ask the book for the words in the field, and show what it found."""
        from tracker.book.finding import find

        stamp, sought = self.desk.stamp, self.sought
        self.found = await self.desk.ask(find, sought)
        self.read_under, self.found_for = stamp, sought
        self.tell("")
        self.redraw()

    @property
    def sought(self) -> str:
        """The words in the field."""
        return self.query_one("#sought", Input).value

    def redraw(self) -> None:
        """Put the hits on the screen."""
        if self.found is None:
            return
        hits, left = self.found.hits, self.found.left_out
        rows = self.query_one("#hits", Rows)
        rows.show((str(n), self.hit_row(hit, rows.room)) for n, hit in enumerate(hits))
        if hits:
            said = f"{count(len(hits), 'place')}" + (f"; {left} more left out: type more words" if left else "")
        else:
            said = "nothing holds these words" if self.query_one("#sought", Input).value.strip() else HELP
        self.query_one("#sum", Static).update(words.say(said, words.FAINT))
        self.refresh_keys()

    def hit_row(self, hit: Hit, width: int) -> Content:
        """What was found and where."""
        kind = words.say(f"{hit.kind:<9}", words.HEADING)
        if hit.kind == "job":
            return words.stack(
                [
                    words.line(kind, words.say(f"{hit.job}  {hit.title}", words.STRONG)).truncate(width, ellipsis=True),
                    words.line(f"{'':9}", words.say(hit.text, words.FAINT)).truncate(width, ellipsis=True),
                ]
            )
        where = f"{hit.job}  {hit.title}" if hit.job else "every job: what is to buy"
        return words.stack(
            [
                words.line(kind, words.hang(hit.text, width, f"{'':9}", words.STRONG)[9:]),
                words.line(f"{'':9}", words.say(where, words.FAINT)).truncate(width, ellipsis=True),
            ]
        )

    def on_input_changed(self) -> None:
        """Find as you type."""
        self.desk.unsent[SOUGHT] = self.query_one("#sought", Input).value
        self.query_one("#hits", Rows).highlighted = None
        self.reread()

    def on_input_submitted(self) -> None:
        """Enter goes to the hit under the cursor."""
        self.action_go()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """A click goes there too."""
        self.action_go()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Without a hit there is nowhere to go."""
        return bool(self.found and self.found.hits) if action in ("go", "down", "up") else True

    @reads
    async def action_go(self) -> None:
        """Go to the hit under the cursor; to the first one of words the book was not asked for yet."""
        if self.found is None or self.found_for != self.sought:
            await self.look_up()
        key = self.query_one("#hits", Rows).key
        if self.found is not None and key is not None:
            go_to(self.desk, self.found.hits[int(key)].place)

    def action_down(self) -> None:
        """The hit below."""
        self.query_one("#hits", Rows).action_cursor_down()

    def action_up(self) -> None:
        """The hit above."""
        self.query_one("#hits", Rows).action_cursor_up()

    async def action_further(self) -> None:
        """A page of hits down."""
        await self.query_one("#hits", Rows).run_action("page_down")

    async def action_nearer(self) -> None:
        """A page of hits up."""
        await self.query_one("#hits", Rows).run_action("page_up")

    def action_back(self) -> None:
        """Go back; the words are kept."""
        self.dismiss(None)
