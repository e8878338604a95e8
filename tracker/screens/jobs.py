"""The open jobs: first what needs a person, then each job: where it is, what holds it, what comes next."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Input, OptionList, Static

from tracker.book.views import JobLine
from tracker.errors import BookError
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.choice import Choice
from tracker.screens.clears import way
from tracker.screens.frame import Framed, reads
from tracker.screens.going import open_ticket
from tracker.screens.rows import Rows
from tracker.screens.ticket import TICKET, supplier_of
from tracker.text import clean, count
from tracker.trade.dates import format_long_day

LESSON = """No open job in this book yet.

A job comes in as a job file: its size and height, its joists and boards,
the day it starts. From that the phases, the checks and the material follow.

    deckjobs take FILE      takes a job file into the book
    deckjobs demo           opens a throw-away book of invented jobs

Then press r here to read the book again."""


def clearing(job: JobLine) -> str:
    """What a person does about the thing that holds a job."""
    found = way(job.hold_clears)
    if found.verb == "check":
        return f"put it right, then read {found.key} again"
    return f"{found.says} again once that is settled" if found.verb == "start" else found.says


class JobsScreen(Framed[None]):
    """The first screen."""

    NAME = "jobs"
    BINDINGS = bindings("jobs")
    CSS_PATH = "jobs.tcss"

    def __init__(self) -> None:
        super().__init__()
        self.jobs: tuple[JobLine, ...] | None = None

    def body(self) -> ComposeResult:
        """NEEDS YOU, then the jobs; or the lesson of an empty book."""
        yield Static("NEEDS YOU", id="needs-head")
        yield Rows(id="needs")
        yield Static("OPEN JOBS", id="jobs-head")
        yield Input(placeholder="show jobs that hold these words", id="filter", compact=True)
        yield Rows(id="jobs")
        yield Static("opening the book…", id="lesson", markup=False)

    def on_mount(self) -> None:
        """Paint the frame; the app opens the book after it."""
        self.add_class("-lesson")
        self.title_text = format_long_day(self.desk.today)
        self.query_one("#jobs").focus()

    def lesson(self, text: str) -> None:
        """Show a text in the place of the lists."""
        self.add_class("-lesson")
        self.query_one("#lesson", Static).update(words.say(text))

    @reads
    async def reread(self) -> None:
        """Read the open jobs."""
        from tracker.book.jobs import job_lines

        if self.desk.book is None:
            self.desk.call_later(self.desk.action_open_book)
            return
        stamp = self.desk.stamp
        self.jobs = await self.desk.ask(job_lines, self.desk.today)
        self.read_under = stamp
        self.redraw()

    def shown(self) -> list[JobLine]:
        """The jobs that hold the words of the filter."""
        sought = self.query_one("#filter", Input).value.casefold().split()
        fields = ("code", "title", "client", "place", "crew", "phase_title", "hold")
        out = []
        for job in self.jobs or ():
            text = " ".join(str(getattr(job, name)) for name in fields).casefold()
            if all(word in text for word in sought):
                out.append(job)
        return out

    def redraw(self) -> None:
        """Put the jobs on the screen."""
        if self.jobs is None:
            return
        self.title_text = format_long_day(self.desk.today)
        self.aside_text = f"{count(len(self.jobs), 'open job')}  {self.desk.banner}".strip()
        if not self.jobs:
            self.lesson(LESSON)
            return
        self.remove_class("-lesson")
        needs = [job for job in self.jobs if job.hold]
        self.set_class(not needs, "-calm")
        head = "NEEDS YOU" if needs else "NEEDS YOU  nothing: no job is held up"
        self.query_one("#needs-head", Static).update(words.say(head))
        self.query_one("#needs", Rows).show((job.code, self.need_row(n, job)) for n, job in enumerate(needs, 1))
        jobs = self.shown()
        total = len(self.jobs)
        label = "OPEN JOBS" if len(jobs) == total else f"OPEN JOBS  {len(jobs)} of {total} hold these words (esc: all)"
        self.query_one("#jobs-head", Static).update(words.say(label))
        self.query_one("#jobs", Rows).show((job.code, self.job_row(job)) for job in jobs)
        self.refresh_keys()

    def need_row(self, number: int, job: JobLine) -> Content:
        """What holds a job and what clears it."""
        width = self.query_one("#needs", Rows).room
        first = f"{number:>2}  {words.fit(job.code, 7)}  "
        rows = [words.hang(job.hold, width, first, words.STRONG, words.HEADING)]
        if job.hold_clears:
            rows.append(words.hang(clearing(job), width, f"{'':13}do  ", "", "$accent bold"))
        return words.stack(rows)

    def job_row(self, job: JobLine) -> Content:
        """One job on three lines."""
        width = self.query_one("#jobs", Rows).room
        pad = "         "
        where = words.line(pad, words.strip(job.strip), "  ", words.where_words(job))
        signed = words.say(f", {job.signed_off} of {len(job.strip)} signed off", words.FAINT)
        if where.cell_length + signed.cell_length <= width:
            where = words.line(where, signed)
        coming = words.line(
            pad, words.say("coming   ", words.FAINT), words.delivery_words(job.next_delivery, self.desk.today)
        )
        rows = [
            words.ends(
                words.line(
                    words.say(words.fit(job.code, 7) + "  ", words.HEADING),
                    words.say(job.title, words.STRONG),
                ),
                words.lateness(job.days_late),
                width,
            ),
            words.ends(where, Content(""), width),
        ]
        rows.append(words.ends(coming, Content(""), width))
        return words.stack(rows)

    def opening_failed(self, error: BookError) -> None:
        """Say why the book does not open and what is safe."""
        hint = f"\n{error.hint[0].upper()}{error.hint[1:]}.\n" if error.hint else ""
        self.lesson(
            f"The book cannot be used: {error.message}\n{hint}\nNothing was changed.\n\n"
            f"    r    try again\n    q    leave\n\nThe book is {self.desk.path}"
        )

    def open_job(self, code: str | None, hold: bool = False) -> None:
        """Go to one job, or with ``hold`` to the very thing that holds it."""
        from tracker.screens.buy import BuyScreen
        from tracker.screens.job import JobScreen

        job = next((job for job in self.jobs or () if job.code == code), None)
        if job is None:
            return
        clearing = way(job.hold_clears)
        if hold and clearing.verb == "buy":
            self.desk.push_screen(BuyScreen(job.code))
        else:
            self.desk.push_screen(JobScreen(job.code, clearing.key if hold else ""))

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter opens the job, or goes to what holds it."""
        self.open_job(event.option_id, event.option_list.id == "needs")

    def on_input_changed(self) -> None:
        """Filter as you type."""
        self.redraw()

    def on_input_submitted(self) -> None:
        """Enter goes from the filter to the jobs."""
        self.query_one("#jobs").focus()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Without jobs there is nothing to open; without a book nothing but leaving and trying again."""
        if action in ("open", "narrow", "need"):
            return bool(self.jobs)
        if action in ("buy", "sheet", "ticket"):
            return self.desk.book is not None
        if action == "drafts":
            return bool(self.desk.kept_drafts)
        if action == "unfilter":
            return self.has_class("-filtering")
        return True

    def action_open(self) -> None:
        """Open the job under the cursor."""
        rows = self.focused if isinstance(self.focused, Rows) else self.query_one("#jobs", Rows)
        self.open_job(rows.key, rows.id == "needs")

    def action_need(self, key: str) -> None:
        """Open the job of a line of NEEDS YOU."""
        needs = [job.code for job in self.jobs or () if job.hold]
        if int(key) <= len(needs):
            self.open_job(needs[int(key) - 1], hold=True)

    def action_buy(self) -> None:
        """Go to what is left to buy."""
        from tracker.screens.buy import BuyScreen

        self.desk.push_screen(BuyScreen())

    def action_ticket(self) -> None:
        """Take a supplier's delivery."""
        open_ticket(self)

    def action_drafts(self) -> None:
        """Go to what is typed and not saved, to one of several."""
        kept = self.desk.kept_drafts
        lines = [(key, words.say(f"{clean(key[1])} of {clean(key[0])}")) for key in kept]
        if len(kept) == 1:
            self.open_draft(kept[0])
        elif kept:
            self.desk.push_screen(Choice("Typed and not saved: which?", lines), self.open_draft)

    def open_draft(self, key: tuple[str, str] | None) -> None:
        """Go to a form whose draft was kept."""
        from tracker.screens.job import JobScreen

        if key is None:
            return
        code, name = key
        if name.startswith(TICKET):
            open_ticket(self, "" if name != TICKET else code, supplier_of(name), code)
        else:
            self.desk.push_screen(JobScreen(code, name, reads=True))

    def action_sheet(self) -> None:
        """Go to the day sheet."""
        from tracker.screens.sheet import SheetScreen

        self.desk.push_screen(SheetScreen())

    def action_narrow(self) -> None:
        """Open the filter."""
        self.add_class("-filtering")
        self.query_one("#filter").focus()

    def action_unfilter(self) -> None:
        """Show all jobs again."""
        self.remove_class("-filtering")
        self.query_one("#filter", Input).value = ""
        self.query_one("#jobs").focus()

    def action_reread(self) -> None:
        """Read the book again."""
        self.tell("read again" if self.desk.book else "")
        self.reread()

    def action_leave(self) -> None:
        """Leave the program."""
        self.desk.action_leave()
