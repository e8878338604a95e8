"""The end of a job: its punch list and what stands open, the care dates, and the papers to read or write to a file."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Iterator, Mapping, Sequence
from datetime import date
from functools import partial
from typing import Any

from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import OptionList

from tracker.book.handviews import HandoverView, OpenItem, PunchItem
from tracker.book.views import Recorded
from tracker.reports.handover import TITLES, Part
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.asking import Blank, Blanks, Question
from tracker.screens.choice import Choice, steps
from tracker.screens.clears import Way, page_by_keys, way
from tracker.screens.cost import STYLES
from tracker.screens.exporting import export
from tracker.screens.frame import Framed, reads, writes
from tracker.screens.page import Page, room
from tracker.screens.rows import HEAD, Rows
from tracker.screens.static import Static
from tracker.text import clean, count
from tracker.trade.care import CareDate
from tracker.trade.dates import format_day

ALL = "all"
HTML, LETTER, A4, ICS = "html", "letter", "a4", "ics"
FORMS = ((LETTER, "PDF on letter paper"), (A4, "PDF on A4 paper"), (HTML, "a page for a browser (HTML)"))


class HandoverScreen(Framed[str]):
    """The hand-over of the job ``code``; it gives back the phase or check to go to, nothing for none."""

    NAME = "handover"
    BINDINGS = bindings("handover")
    CSS_PATH = "handover.tcss"

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code
        self.view: HandoverView | None = None

    def body(self) -> ComposeResult:
        """One line on where the hand-over stands, then the rows."""
        yield Static("reading…", id="place", markup=False)
        yield Rows(id="items")

    def on_mount(self) -> None:
        """Read the job."""
        self.title_text = f"{self.code} / hand-over"
        self.query_one("#items").focus()
        self.reread()

    @reads
    async def reread(self) -> None:
        """Read the job."""
        from tracker.book.handover import handover

        stamp = self.desk.stamp
        self.view = await self.desk.ask(handover, self.code, self.desk.today)
        self.code = self.view.code
        self.read_under = stamp
        self.redraw()

    def redraw(self) -> None:
        """Put the rows on the screen."""
        view = self.view
        if view is None:
            return
        self.title_text = f"{view.code} / hand-over"
        self.aside_text = clean(view.title)
        handed = (
            f"handed over {format_day(view.handed_over, None)} by {view.handed_by}"
            if view.handed_over
            else "not handed over yet"
        )
        self.query_one("#place", Static).update(words.say(handed, words.FAINT))
        rows = self.query_one("#items", Rows)
        rows.show(self.rows(view, rows.room))
        self.refresh_keys()

    def rows(self, view: HandoverView, width: int) -> Iterator[tuple[str, Content]]:
        """The rows: to mend, open in the book, care, done."""
        still = [item for item in view.punch if item.done is None]
        done = [item for item in view.punch if item.done is not None]
        yield (
            HEAD + "mend",
            _head("TO MEND", count(len(still), "item") if still else "nothing; a puts something on the list"),
        )
        for item in still:
            yield f"punch {item.id}", _punch_row(item, width, view.day)
        yield HEAD + "open", _head("OPEN IN THE BOOK", "" if view.open_items else "nothing")
        for number, found in enumerate(view.open_items):
            yield f"open {number}", _open_row(found, width)
        if view.care or view.care_ended:
            yield HEAD + "care", _head("CARE", f"ended: {view.care_ended}" if view.care_ended else "")
            for date in view.care:
                yield f"care {date.task.key}", _care_row(date, width, view)
        if done:
            yield HEAD + "done", _head("DONE", "")
            for item in done:
                yield f"done {item.id}", _punch_row(item, width, view.day)

    @property
    def at(self) -> tuple[str, str]:
        """What is under the cursor: its kind and its name."""
        kind, _, name = (self.query_one("#items", Rows).key or "").partition(" ")
        return kind, name

    def on_option_list_option_highlighted(self) -> None:
        """What enter does depends on the row."""
        self.refresh_keys()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter does what the row is for."""
        self.action_do()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What does not apply is not offered."""
        if self.view is None or not self.is_mounted:
            return action == "back"
        if action == "do":
            return self.at[0] in ("punch", "open", "care")
        if action == "end_care":
            return bool(self.view.care)
        return True

    def action_back(self) -> None:
        """Back to the job."""
        self.dismiss("")

    # -- the punch list and the care

    def action_add(self) -> None:
        """Ask what is to be mended, and put it on the list."""
        from tracker.book.punch import LONGEST, add_punch

        self.ask_text("Punch list: what is to be mended?", "what is to be mended", add_punch, limit=LONGEST)

    def action_do(self) -> None:
        """Close the item, go to what is open, or record the care."""
        kind, name = self.at
        view = self.view
        if view is None:
            return
        if kind == "punch":
            self.close(next(item for item in view.punch if item.id == name))
        elif kind == "open":
            self.go_to(way(view.open_items[int(name)].clears))
        elif kind == "care":
            found = next(found for found in view.care if found.task.key == name)
            lines = (("yes", "done today; the next one counts from today"), ("", "not now"))
            self.desk.push_screen(steps(f"{found.task.title}: {found.task.what}", lines), partial(self.cared, name))

    def go_to(self, aim: Way) -> None:
        """Go to what is open: a lot on the material screen, a phase or check on the job's."""
        from tracker.screens.lots import LotsScreen

        if aim.verb == "receive":
            self.desk.push_screen(LotsScreen(self.code))
        else:
            self.dismiss(aim.key)

    def close(self, item: PunchItem) -> None:
        """Ask what was done, and close the item."""
        from tracker.book.punch import close_punch

        async def act(texts: Mapping[str, str], entry: str) -> Recorded:
            return await self.desk.ask(close_punch, self.desk.hand(), self.code, item.id, texts[""], entry_id=entry)

        help_text = "how it was mended, in a few words; enter alone says done"
        heading = f"Done: {clean(item.text)} ({self.code})"
        self.desk.push_screen(Blanks(heading, [Blank("")], act, help_text=help_text), self.recorded)

    def cared(self, key: str, answer: str | None) -> None:
        """Record the care when the person said so."""
        if answer:
            self.care_done(key)

    @writes
    async def care_done(self, key: str) -> None:
        """Record that a care task was done."""
        from tracker.book.aftercare import record_care

        self.recorded(await self.desk.ask(record_care, self.desk.hand(), self.code, key))

    def action_end_care(self) -> None:
        """Ask why nobody comes for care any more."""
        from tracker.book.aftercare import end_care

        self.ask_text("End the care of this deck: why?", "the reason", end_care)

    def ask_text(self, heading: str, what: str, operation: Callable[..., Recorded], *, limit: int = 200) -> None:
        """Ask for a text and record it with an operation of the book."""

        def act(text: str, entry: str) -> Coroutine[Any, Any, Recorded]:
            return self.desk.ask(operation, self.desk.hand(), self.code, text, entry_id=entry)

        self.desk.push_screen(Question(f"{heading} ({self.code})", act, what=what, limit=limit), self.recorded)

    def recorded(self, result: Recorded | None) -> None:
        """Say what was recorded and read again."""
        if result is not None:
            self.tell("; ".join((result.text, *result.notices)))
            self.reread()

    # -- the papers

    def action_read(self) -> None:
        """Choose a paper and read it."""
        self.choose("Read which paper?", self.show_part, whole=False)

    def action_write(self) -> None:
        """Choose a paper, then its form, and write it to a file."""
        self.choose("Write which paper?", self.choose_form, whole=True)

    def choose(self, heading: str, then: Callable[[str | None], None], *, whole: bool) -> None:
        """Let the person choose a paper."""
        lines = [(part.value, words.say(TITLES[part])) for part in Part]
        if whole:
            lines = [(ALL, words.say("all of them in one")), *lines, (ICS, words.say("this job's calendar (.ics)"))]
        self.desk.push_screen(Choice(heading, lines), then)

    def show_part(self, chosen: str | None) -> None:
        """Show a paper as the shell prints it."""
        from tracker.reports.docpage import page_of
        from tracker.reports.handover import document
        from tracker.reports.page import lay_out

        if chosen is None or self.view is None:
            return
        part = Part(chosen)
        lines = lay_out(page_by_keys(page_of(document(self.view, [part]))), room(self.size.width))
        text = words.stack(words.say(line, STYLES.get(tone, "")) for line, tone in lines)
        self.desk.push_screen(Page(f"{self.code}: {TITLES[part]}", text))

    def choose_form(self, chosen: str | None) -> None:
        """Let the person choose the form of a paper; a calendar has one."""
        if chosen is None or self.view is None:
            return
        if chosen == ICS:
            self.write_calendar()
            return
        parts = tuple(Part) if chosen == ALL else (Part(chosen),)
        self.desk.push_screen(steps("Write it as:", FORMS), partial(self.write, self.view, parts))

    def write(self, view: HandoverView, parts: Sequence[Part], form: str | None) -> None:
        """Write papers to a file."""
        if form is None:
            return
        name = TITLES[parts[0]] if len(parts) == 1 else "Hand-over"
        ending = "html" if form == HTML else "pdf"
        export(self, f"{view.code} {name}.{ending}", partial(_bytes, view, parts, form), what=name.lower())

    @writes
    async def write_calendar(self) -> None:
        """Write the job's calendar to a file."""
        from tracker.book.agenda import agenda
        from tracker.reports.icalendar import to_ics

        events = await self.desk.ask(agenda, [self.code], self.desk.today, dropped=True)
        export(self, f"{self.code} calendar.ics", partial(to_ics, events, "Deck jobs"), what="the calendar")


def _bytes(view: HandoverView, parts: Sequence[Part], form: str) -> bytes:
    from tracker.reports.handover import document

    if form == HTML:
        from tracker.reports.paper.html import to_html

        return to_html(document(view, parts))
    from tracker.reports.paper.pdf import to_pdf

    return to_pdf(document(view, parts), form)


def _head(title: str, note: str) -> Content:
    return words.line(words.say(title, words.HEADING), words.say(f"  {note}" if note else "", words.FAINT))


def _punch_row(item: PunchItem, width: int, today: date) -> Content:
    first = f"{item.number:>3}  "
    rows = [words.hang(item.text, width, first, "" if item.done else words.STRONG)]
    who = f"{item.who}, {format_day(item.day, today)}"
    if item.done is not None:
        who = f"done by {item.done_by}, {format_day(item.done, today)}" + (
            f": {item.done_note}" if item.done_note else ""
        )
    return words.stack([*rows, words.hang(who, width, " " * len(first), words.FAINT)])


def _open_row(item: OpenItem, width: int) -> Content:
    return words.stack(
        [words.hang(item.what, width, "  -  ", words.STRONG), words.hang(item.why, width, "     ", words.FAINT)]
    )


def _care_row(found: CareDate, width: int, view: HandoverView) -> Content:
    late = found.due < view.day
    when = format_day(found.due, None)
    last = f", last done {format_day(found.done, None)}" if found.done else ""
    text = f"{found.task.title}: {'OVERDUE since' if late else 'due'} {when}{last}"
    return words.hang(text, width, "  -  ", "$warning bold" if late else "")
