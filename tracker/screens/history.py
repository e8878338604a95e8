"""The history of a job: its entries in a list, the one under the cursor below it, narrowed by words as they are typed."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.content import Content
from textual.timer import Timer
from textual.widgets import DataTable, Input

from tracker.book.historyviews import HistoryLine, JobHistory
from tracker.book.views import Recorded
from tracker.reports.historypages import Search, entry_page, said, tone, when_words
from tracker.reports.page import Tone, lay_out
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.asking import Question
from tracker.screens.frame import Framed, reads
from tracker.screens.oneline import OneLine
from tracker.screens.page import Page
from tracker.screens.static import Static
from tracker.screens.table import Table
from tracker.text import NOTE_LIMIT, clean, count

NARROW = 78
REST = 0.1
"""Seconds after the last letter before the list follows: thousands of rows take longer than a letter."""
STYLES = {
    Tone.PLAIN: "",
    Tone.TITLE: words.STRONG,
    Tone.QUIET: words.FAINT,
    Tone.GOOD: "$success",
    Tone.CARE: "$warning",
    Tone.BAD: "$error bold",
}
NOTHING = (
    "Nothing has been recorded for this job yet. Readings, waivers, starts, sign-offs, material and notes come here."
)


class HistoryScreen(Framed[None]):
    """The entries of the job ``code``, the newest first."""

    NAME = "history"
    BINDINGS = bindings("history")
    CSS_PATH = "history.tcss"

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code
        self.whole: JobHistory | None = None
        self.search = Search(())
        self.shown: Sequence[HistoryLine] = ()
        self.oldest_first = False
        self.filled: tuple[object, ...] = ()
        self.pause: Timer | None = None

    def body(self) -> ComposeResult:
        """How many there are, the words, the list, the entry under the cursor."""
        yield Static("reading the history…", id="sum", markup=False)
        yield OneLine(joins=" ", placeholder="words that must all be there; 12 may is a day", id="filter", compact=True)
        yield Table(id="entries", cursor_type="row", zebra_stripes=False)
        yield Static(id="detail", markup=False)

    def on_mount(self) -> None:
        """Read the entries."""
        self.title_text = f"{self.code} / history"
        self.query_one("#entries").focus()
        self.desk.theme_changed_signal.subscribe(self, lambda theme: self.redraw())
        self.reread()

    @reads
    async def reread(self) -> None:
        """Read the entries."""
        from tracker.book.history import history

        stamp = self.desk.stamp
        self.whole = whole = await self.desk.ask(history, self.code, self.desk.today)
        self.search = await self.desk.in_thread(lambda: Search(whole.lines))
        self.read_under = stamp
        self.redraw()

    def redraw(self) -> None:
        """Put the entries that hold the words on the screen."""
        if self.whole is None:
            return
        self.aside_text = self.whole.title
        found = self.search.find(self.query_one("#filter", Input).value)
        self.shown = found if self.oldest_first else found[::-1]
        order = "oldest first" if self.oldest_first else "newest first"
        total = len(self.whole.lines)
        head = f"{count(total, 'entry', 'entries')}, {order}"
        if len(found) < total:
            head = f"{len(found)} of {total} hold these words, {order} (esc: all)"
        self.query_one("#sum", Static).update(words.say(head, words.HEADING))
        self.fill()
        self.draw_detail()
        self.refresh_keys()

    def fill(self) -> None:
        """Fill the list for the width there is, unless it shows just that."""
        width, today = self.size.width, self.desk.today
        filled = (width, today, self.desk.theme, [(line.id, line.standing) for line in self.shown])
        if filled == self.filled:
            return
        self.filled = filled
        brief = width < NARROW
        when, who = (12, 9) if brief else (16, 14)
        columns = (("when", when, False), ("who", who, False), ("what", max(width - when - who - 7, 20), False))
        variables = self.desk.theme_variables
        table = self.query_one("#entries", Table)
        table.show(
            columns,
            (
                (line.id, (when_words(line, today, brief=brief), line.who, said(line)), _rich(tone(line), variables))
                for line in self.shown
            ),
        )

    @property
    def line(self) -> HistoryLine | None:
        """The entry under the cursor."""
        key = self.query_one("#entries", Table).key
        return next((line for line in self.shown if line.id == key), None)

    def draw_detail(self) -> None:
        """Put the entry under the cursor below the list, as much of it as fits."""
        line, detail = self.line, self.query_one("#detail", Static)
        width = max(self.size.width - 2, 20)
        if line is not None:
            about = f"entry {line.number}, {when_words(line, self.desk.today)}, {line.who}"
            more = "enter: the whole entry"
            head = words.ends(words.say(about, words.FAINT), words.say(more, words.FAINT), width)
            detail.update(words.stack([head, words.hang(said(line), width, style=STYLES[tone(line)])]))
        elif self.whole is not None and self.whole.lines:
            detail.update(words.say("No entry holds all of these words.", "$warning bold"))
        else:
            detail.update(words.hang(NOTHING, width) if self.whole is not None else Content(""))

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """Follow the cursor."""
        self.draw_detail()
        self.refresh_keys()

    def on_data_table_row_selected(self, event: DataTable.RowSelected) -> None:
        """Enter opens the whole entry."""
        self.action_open()

    def on_input_changed(self) -> None:
        """Narrow as you type, once the fingers rest for a moment."""
        if self.pause is not None:
            self.pause.stop()
        self.pause = self.set_timer(REST, self.redraw)

    def on_input_submitted(self) -> None:
        """Enter goes from the words to the entries."""
        self.redraw()
        self.query_one("#entries").focus()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Without entries there is nothing to open or to narrow."""
        if action == "undo":
            line = self.line
            return line is not None and not line.standing and not line.takes_back
        if action in ("open", "narrow", "other_end"):
            return bool(self.whole and self.whole.lines) and (action != "open" or bool(self.shown))
        return True

    def action_open(self) -> None:
        """Open the whole entry under the cursor."""
        line = self.line
        if line is None or self.whole is None:
            return
        numbers = {other.id: other.number for other in self.whole.lines}
        # The page is boxed: its frame, padding and scroll bar take some of its width.
        width = min(self.size.width * 9 // 10, 96) - 6
        laid = lay_out(entry_page(line, numbers), max(width, 24))
        text = words.stack(words.say(text, STYLES[part]) for text, part in laid)
        self.desk.push_screen(Page(f"{clean(self.code)}: entry {line.number} of {len(self.whole.lines)}", text))

    @reads
    async def action_undo(self) -> None:
        """Say what would come of it, ask why, then take the entry under the cursor back."""
        from tracker.book.undoing import foretold, undo

        line = self.line
        if line is None:
            return
        told = await self.desk.ask(foretold, self.desk.hand(), self.code, line.id)

        async def act(reason: str, entry: str) -> Recorded:
            return await self.desk.ask(undo, self.desk.hand(), self.code, line.id, reason, entry_id=entry)

        comes = [told.text] if line.kind in ("reading", "money") else []
        comes += [*told.notices, "it stays in the history, marked"]
        question = Question(
            f"Take back entry {line.number}, {clean(line.said)}: why? ({clean(self.code)})", act, what="the reason",
            help_text=f"What comes of it: {'; '.join(comes)}.", limit=NOTE_LIMIT,
        )  # fmt: skip
        self.desk.push_screen(question, self.taken_back)

    def taken_back(self, result: Recorded | None) -> None:
        """Say what was recorded and read again."""
        if result is not None:
            self.tell("; ".join((result.text, *result.notices)))
            self.reread()

    def action_narrow(self) -> None:
        """Open the field for words."""
        self.add_class("-filtering")
        self.query_one("#filter").focus()

    def action_other_end(self) -> None:
        """Turn the list round."""
        self.oldest_first = not self.oldest_first
        self.redraw()
        self.query_one("#entries", Table).move_cursor(row=0)

    def action_back(self) -> None:
        """End the search, else back to the job."""
        if self.has_class("-filtering"):
            self.remove_class("-filtering")
            self.query_one("#filter", Input).value = ""
            self.query_one("#entries").focus()
        else:
            self.dismiss(None)


def _rich(tone: Tone, variables: dict[str, str]) -> str:
    """The style of a line of the list as rich has it, in the colours in force."""
    named = {Tone.QUIET: "faint", Tone.GOOD: "success", Tone.CARE: "warning", Tone.BAD: "error"}
    return variables.get(named[tone], "") if tone in named else ""
