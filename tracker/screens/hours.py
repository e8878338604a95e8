"""The hours of a job: one line to type them on, and what was logged."""

from __future__ import annotations

from datetime import date, timedelta

from textual.app import ComposeResult
from textual.widgets import DataTable, Input

from tracker.book.views import IdUsedError, Recorded
from tracker.book.worked import HoursView, Stint
from tracker.errors import InputError
from tracker.planning.labour import hours_text
from tracker.reports.hourspages import hours_page, people_words, summary_page
from tracker.reports.page import lay_out
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.asking import MOMENT, Question
from tracker.screens.clears import page_by_keys
from tracker.screens.countask import on_purpose, other_now
from tracker.screens.frame import Framed, reads, words_of, writes
from tracker.screens.oneline import OneLine
from tracker.screens.page import Page, room
from tracker.screens.static import Static
from tracker.screens.table import Table
from tracker.text import NOTE_LIMIT, clean, listing, near
from tracker.trade.dates import format_day
from tracker.trade.worktime import parse_hours

WIDE = 76


class HoursScreen(Framed[None]):
    """The hours of the job ``code``; what names no phase goes to ``phase`` (empty: the one at hand)."""

    NAME = "hours"
    BINDINGS = bindings("hours")
    CSS_PATH = "hours.tcss"

    def __init__(self, code: str, phase: str = "") -> None:
        super().__init__()
        self.code = code
        self.phase = phase
        self.view: HoursView | None = None
        self.day: date | None = None
        self.entry_id = ""
        self.newest = ""

    @property
    def kept_as(self) -> str:
        """The name under which a line typed and not logged is kept."""
        return f"hours of {self.code}"

    def body(self) -> ComposeResult:
        """The sum, the line, how it is understood, the entries."""
        yield Static("reading…", id="sum", markup=False)
        yield OneLine(
            self.desk.answer_of(self.kept_as), placeholder="6h, 6:30, frame 6h, 3 x 7h30, or 6h, a note",
            compact=True, select_on_focus=False, id="typed",
        )  # fmt: skip
        yield Static(id="echo", markup=False)
        yield Table(id="entries", cursor_type="row")

    def on_mount(self) -> None:
        """Start on the line."""
        self.title_text = f"{self.code} / hours"
        self.day = self.desk.today
        self.query_one("#typed").focus()
        self.reread()

    def turn_day(self, before: date, today: date) -> None:
        """What stood on today goes on with the new day."""
        super().turn_day(before, today)
        if self.day == before:
            self.day = today

    @reads
    async def reread(self) -> None:
        """Read the hours."""
        from tracker.book.hours import hours_of

        stamp = self.desk.stamp
        self.view = await self.desk.ask(hours_of, self.code, self.desk.today)
        self.read_under = stamp
        self.redraw()

    @property
    def place(self) -> tuple[str, str]:
        """The phase that hours go to when the line names none, and its title."""
        view = self.view
        titles = view.titles if view else {}
        if self.phase in titles:
            return self.phase, titles[self.phase]
        return (view.now, view.now_title) if view else ("", "")

    def redraw(self) -> None:
        """Put the hours on the screen."""
        view = self.view
        if view is None or self.day is None:
            return
        key, title = self.place
        row = next((row for row in view.phases if row.phase == key), None)
        on_day = sum(stint.total_minutes for stint in view.stints if stint.day == self.day)
        text = f"{format_day(self.day, self.desk.today)}: {hours_text(on_day)} logged"
        if row is not None:
            estimate = f" of {hours_text(row.estimate_minutes)} estimated" if row.estimate_minutes else ""
            text += f"; {title.lower()}: {hours_text(row.minutes)} so far{estimate}"
        elif title:
            text += f"; what names no phase goes to {title.lower()}"
        if not view.stints:
            text += ". Type the hours and press enter."
        self.query_one("#sum", Static).update(words.say(text, words.STRONG))
        heads, rows = self.table(view)
        table = self.query_one("#entries", Table)
        newest = max((key for key, _, _ in rows), key=int, default="")
        table.show(heads, rows)
        if rows and newest != self.newest:  # what was just logged is what would be taken back
            self.newest = newest
            table.move_cursor(row=[key for key, _, _ in rows].index(newest))
        self.echo()
        self.refresh_keys()

    def table(self, view: HoursView) -> tuple[list[tuple[str, int, bool]], list[tuple[str, list[str], str]]]:
        """Headings and rows, the last day first; a narrow screen leaves out the note."""
        wide = self.size.width >= WIDE
        room = max(self.size.width - 2, 40)
        day = max(words.day_room((s.day for s in view.stints), self.desk.today), 11)
        heads = [("no.", 4, True), ("day", day, False), ("phase", 11, False), ("hours", 9, True)]
        heads.append(("who", 22 if wide else max(room - 34 - day, 8), False))
        if wide:
            heads.append(("note", max(room - 58 - day, 8), False))
        rows = []
        for s in reversed(view.stints):
            texts = [
                str(s.number),
                format_day(s.day, self.desk.today),
                s.phase,
                hours_text(s.total_minutes),
                people_words(s),
            ]
            rows.append((str(s.number), [*texts, s.note] if wide else texts, ""))
        return heads, rows

    def on_input_changed(self, event: Input.Changed) -> None:
        """Read the line as it is typed."""
        event.stop()
        self.entry_id = ""
        if event.value:
            self.tell("")
        self.keep()
        self.echo()

    def keep(self) -> None:
        """Keep the line for the next time."""
        text = self.query_one("#typed", Input).value
        if text.strip():
            self.desk.unsent[self.kept_as] = text
        else:
            self.desk.unsent.pop(self.kept_as, None)

    def look_up(self, phase: str) -> None:
        """Raise InputError when the job has no such phase."""
        if self.view is None or not phase:
            return
        keys = list(self.view.titles)
        if phase.strip().lower() not in self.view.names:
            meant = near(phase, keys) or self.alike(phase)
            has = "" if meant else f"it has {listing(keys, 'and')}"
            raise InputError(f"this job has no phase {clean(phase)!r}{meant}", has)

    def alike(self, phase: str) -> str:
        """The phases whose title has a word of ``phase`` in it, with how they are written."""
        typed = {word for word in phase.lower().split() if len(word) > 2 and word != "and"}
        titles = self.view.titles if self.view else {}
        found = [f"{key} for {title}" for key, title in titles.items() if typed & set(title.lower().split())]
        return f" (write {listing(found)})" if found else ""

    def echo(self) -> bool:
        """Show how the line is understood; False when it is not."""
        field, told = self.query_one("#typed", Input), self.query_one("#echo", Static)
        text, good = "", True
        if field.value.strip() and self.day is not None:
            try:
                worked = parse_hours(field.value, self.desk.today)
                self.look_up(worked.phase)
                each = hours_text(worked.minutes)
                many = f"{worked.people} x {each} = {hours_text(worked.people * worked.minutes)}"
                text = f"= {many if worked.people > 1 else each} on {clean(worked.phase) or self.place[1].lower()}"
                text += f", {format_day(worked.day or self.day, self.desk.today)}" + (
                    f"; {clean(worked.note)}" if worked.note else ""
                )
            except InputError as error:
                text, good = words_of(error), False
        field.set_class(not good, "wrong")
        told.update(words.say(text, words.FAINT if good else "$error"))
        return good

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter logs."""
        event.stop()
        self.action_log()

    def on_data_table_row_selected(self, event: DataTable.RowSelected) -> None:
        """Enter on an entry takes it back."""
        self.action_undo()

    @writes
    async def action_log(self) -> None:
        """Log the line; a refusal leaves it as it is, and what is typed meanwhile stays."""
        from tracker.book.hours import log_text
        from tracker.book.opening import default_entry_id

        field = self.query_one("#typed", Input)
        text = field.value
        if not text.strip():
            raise InputError("nothing is typed", "type the hours, like 6h or 3 x 7h30 frame")
        worked = parse_hours(text, self.desk.today)
        self.look_up(worked.phase)
        day = None if worked.day else self.day
        entry = self.entry_id = self.entry_id or default_entry_id()
        hand, phase = self.desk.hand(), self.place[0]
        try:
            done = await on_purpose(
                self.desk,
                lambda anyway: self.desk.ask(
                    log_text, hand, self.code, text, day, phase=phase, asks=not anyway, entry_id=entry
                ),
            )
        except IdUsedError as error:
            self.entry_id = ""
            raise other_now(error) from error
        self.entry_id = ""
        if field.value == text:
            field.value = ""
        self.told(done)

    def told(self, result: Recorded | None) -> None:
        """Say what was recorded and read again."""
        if result is not None:
            text = result.text if not result.already else f"already recorded: {result.text}"
            self.tell("; ".join((text, *result.notices)))
            self.reread()

    def go_day(self, by: int) -> None:
        """Log for another day; none to come."""
        if self.day is not None:
            self.day = min(self.day + timedelta(days=by), self.desk.today)
            self.tell("")
            self.redraw()

    def action_before(self) -> None:
        """The day before."""
        self.go_day(-1)

    def action_after(self) -> None:
        """The day after."""
        self.go_day(1)

    def action_down(self) -> None:
        """Go to the entries."""
        if self.view is not None and self.view.stints:
            self.query_one("#entries").focus()

    @property
    def stint(self) -> Stint | None:
        """The entry under the cursor."""
        key = self.query_one("#entries", Table).key
        return next((s for s in self.view.stints if str(s.number) == key), None) if self.view else None

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """With no entry there is none to take back; no day is later than today."""
        if action == "undo":
            return self.view is not None and bool(self.view.stints)
        return action != "after" or self.day is None or self.day < self.desk.today

    def action_undo(self) -> None:
        """Ask why, then take the entry under the cursor back."""
        from tracker.book.hours import take_back_hours

        stint = self.stint
        if stint is None:
            return

        async def act(reason: str, entry: str) -> Recorded:
            return await self.desk.ask(
                take_back_hours, self.desk.hand(), self.code, stint.number, reason, entry_id=entry
            )

        what = f"{hours_text(stint.total_minutes)} on {clean(stint.phase)}, {format_day(stint.day, self.desk.today)}"
        self.desk.push_screen(
            Question(f"Take back {what}: why? ({self.code})", act, what="the reason", limit=NOTE_LIMIT), self.told
        )

    def action_by_phase(self) -> None:
        """Show the hours by phase."""
        if self.view is not None:
            lines = lay_out(page_by_keys(hours_page(self.view)), room(self.size.width))
            self.desk.push_screen(Page("Hours by phase", words.stack(words.say(text) for text, _ in lines)))

    @reads
    async def action_learnt(self) -> None:
        """Show what finished phases took."""
        from tracker.book.hours import hours_summary

        found = await self.desk.ask(hours_summary, self.desk.today)
        lines = lay_out(page_by_keys(summary_page(found)), room(self.size.width))
        self.desk.push_screen(Page("What phases took", words.stack(words.say(text) for text, _ in lines)))

    def action_back(self) -> None:
        """From the entries to the line; from the line back."""
        if self.query_one("#entries").has_focus:
            self.query_one("#typed").focus()
            return
        if self.writing:  # the line would be offered again though it is in the book
            self.tell(MOMENT)
            return
        self.keep()
        self.dismiss(None)
