"""Taking a job in: a guided form, beside it the plan, the material, its price, the days, and what to ask the office."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import TYPE_CHECKING, Any

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.timer import Timer
from textual.widgets import OptionList

from tracker.errors import InputError
from tracker.reports.page import Line, Page, Tone, lay_out
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.answering import CHECK, AnswerCell, Answering
from tracker.screens.asking import MOMENT
from tracker.screens.cells import Fields
from tracker.screens.clears import by_keys, page_by_keys
from tracker.screens.drafts import Draft
from tracker.screens.forms import NO_FIELD, SAVING
from tracker.screens.frame import Framed, reads, shows, writes
from tracker.screens.planwidget import PlanView
from tracker.screens.rows import Rows
from tracker.screens.static import Static
from tracker.text import count
from tracker.trade.answer import Plain
from tracker.trade.jobfile.form import JobForm
from tracker.trade.jobfile.questions import owner_of
from tracker.trade.jobfile.table import Fault

if TYPE_CHECKING:
    from tracker.book.changeviews import Proposal
    from tracker.book.opening import Book
    from tracker.planning.cutplan import Progress
    from tracker.reports.drawing_shapes import Drawing

NEW_JOB, FORM = "a new job", "job form"
"""The names of a new job's draft."""
WIDE, NARROW = 110, 70
PATIENCE = 0.25
"""Seconds without typing before the job is worked out again."""
STYLES = {
    Tone.TITLE: words.STRONG,
    Tone.QUIET: words.FAINT,
    Tone.CARE: "$warning",
    Tone.BAD: "$error bold",
    Tone.GOOD: "$success",
}


@dataclass(frozen=True, slots=True)
class Looked:
    """A job as typed, worked out: what it would be, and each platform drawn."""

    proposal: Proposal
    drawings: Mapping[str, Drawing]


def look_at(
    book: Book, source: Mapping[str, Plain], today: date, code: str, progress: Progress | None = None
) -> Looked:
    """Work a typed job out and draw it; nothing is written. With ``progress`` its cut plans are proven, unless that stops it."""
    from tracker.book.proposal import preview
    from tracker.reports.drawing import draw_platform

    found = preview(book, source, today, code=code, proven=progress is not None, progress=progress)
    spec = found.spec
    drawn = {p.name: draw_platform(spec, p, (), found.title) for p in spec.platforms} if spec else {}
    return Looked(found, drawn)


def laid_out(page: Page, width: int) -> Content:
    """A page of the reports as content of a width."""
    return words.stack(
        words.say(text, STYLES.get(tone, "")) for text, tone in lay_out(page_by_keys(page), max(width, 30))
    )


class Faults(Rows):
    """What is still wrong; page up goes to the step before, as everywhere in the form."""

    def action_page_up(self) -> None:
        """The step before."""
        assert isinstance(self.screen, TakingScreen)
        self.screen.action_step_before()


class Review(VerticalScroll):
    """The job to read; at its top page up goes to the step before."""

    def action_page_up(self) -> None:
        """A page up, from the top the step before."""
        if self.scroll_offset.y:
            super().action_page_up()
            return
        assert isinstance(self.screen, TakingScreen)
        self.screen.action_step_before()


class TakingScreen(Answering):
    """The form of a new job; gives back the code it was taken under."""

    NAME = "taking"
    BINDINGS = bindings("taking")
    CSS_PATH = "taking.tcss"
    SAVES = "ctrl+s checks it"
    HEADING = "a new job"
    code = ""
    """The job that is changed; empty for a new one."""

    def __init__(self) -> None:
        super().__init__()
        self.looked: Looked | None = None
        self.soon: Timer | None = None

    # -- the frame

    def body(self) -> ComposeResult:
        """The step in hand on the left, what it comes to on the right."""
        with Horizontal(id="sides"):
            with Vertical(id="left"):
                yield Static("reading the book…", id="step", markup=False)
                yield Fields(id="form")
                yield Faults(id="faults")
                with Review(id="review"):
                    yield Static(id="reviewed", markup=False)
                yield Static(id="at", markup=False)
            with Vertical(id="look"):
                yield PlanView()
                with VerticalScroll(id="facts"):
                    yield Static(id="said", markup=False)

    @property
    def draft_key(self) -> tuple[str, str]:
        """The job and the name of the draft."""
        return NEW_JOB, FORM

    def draft(self) -> Draft:
        """The draft, made when the form first opens."""
        from tracker.book.opening import default_entry_id

        return self.desk.drafts.setdefault(self.draft_key, Draft(default_entry_id()))

    def on_mount(self) -> None:
        """Read what the form begins with."""
        self.title_text = self.HEADING
        self.begin()

    async def first_form(self) -> JobForm:
        """The form as it begins."""
        from tracker.book.proposal import start_of

        code, crews = await self.desk.ask(start_of, self.desk.today)
        return JobForm({}, self.draft().texts, self.desk.today, code, crews)

    @reads
    async def begin(self) -> None:
        """Begin where the draft was left."""
        draft = self.draft()
        self.form = await self.first_form()
        if draft.texts:
            self.tell("your draft is back")
        keys = [step.key for step in self.steps]
        at = keys.index(draft.rows[0]) if draft.rows and draft.rows[0] in keys else 0
        await self.show(at)
        self.look()

    def redraw(self) -> None:
        """Fit the sides to the width."""
        self.set_class(self.size.width < NARROW, "-narrow")
        self.set_class(self.size.width < WIDE, "-one")
        if self.size.width >= WIDE:
            self.remove_class("-look")
        self.draw_look()
        self.draw_step()
        if self.step.key == CHECK:
            self.draw_check()

    # -- what it comes to

    def look_soon(self) -> None:
        """Work the job out when nothing was typed for a moment."""
        if self.soon is not None:
            self.soon.stop()
        self.soon = self.set_timer(PATIENCE, self.look)

    @shows
    async def look(self) -> None:
        """Work the job out as it is typed; the newest typing wins."""
        form = self.form
        if form is None:
            return
        looked = await self.desk.ask(look_at, form.source, self.desk.today, self.code)
        if form is self.form:
            self.put_looked(looked)

    def put_looked(self, looked: Looked) -> None:
        """Show what the job comes to, and its faults beside their fields."""
        assert self.form is not None
        self.looked, loose = looked, []
        self.faults = {}
        for fault in looked.proposal.problems:
            owner = owner_of(fault.path, self.form.by_key)
            if owner:
                self.faults.setdefault(owner, fault)
            else:
                loose.append(fault)
        self.loose = tuple(loose)
        self.echo_all()
        if isinstance(self.focused, AnswerCell):
            self.describe(self.focused)
        self.draw_step()
        self.draw_look()
        if self.step.key == CHECK:
            self.look_over()

    def draw_look(self) -> None:
        """The plan, and what the job comes to, in words."""
        looked = self.looked
        if looked is None or (self.has_class("-one") and not self.has_class("-look")):
            return
        at = self.step.platform or 0
        drawings = list(looked.drawings.values())
        plan = self.query_one(PlanView)
        if drawings:
            assert self.form is not None
            plan.show(looked.drawings.get(self.form.value(f"platform.{at}.name"), drawings[-1]))
        elif plan.drawing is None:
            plan.show(None, "the plan comes with the size and the height")
        from tracker.reports.changepages import proposal_page

        if looked.proposal.material:
            page = proposal_page(looked.proposal)
            self.query_one("#said", Static).update(laid_out(page, self.query_one("#facts").size.width - 2))
        elif not drawings:
            self.query_one("#said", Static).update(
                words.say("The material, its price and the days come with it.", words.FAINT)
            )

    def action_look(self) -> None:
        """Show the plan and what it comes to in place of the form, or the form again."""
        self.toggle_class("-look")
        self.call_after_refresh(self.draw_look)
        if self.has_class("-look"):
            self.query_one("#facts").focus()
        elif cells := self.cells():
            cells[0].focus()

    # -- the end

    def look_over(self) -> None:
        """The last step: what is still wrong, a line each, or the whole job to read."""
        looked = self.looked
        if looked is None or self.form is None:
            return
        good = not self.faults and not self.loose
        self.set_class(good, "-good")
        self.draw_check()
        self.query_one("#review" if good else "#faults").focus()
        self.query_one("#at", Static).update(words.say(self.last_word() if good else "enter goes to the answer"))
        if good and not looked.proposal.proven:
            self.prove()
        self.keys_now()

    def draw_check(self) -> None:
        """Draw the last step for the width it has."""
        faults = [*self.faults.items(), *((f"fault {n}", fault) for n, fault in enumerate(self.loose))]
        if faults:
            rows = self.query_one("#faults", Rows)
            rows.show((key, self.fault_row(key, fault, rows.room)) for key, fault in faults)
        elif self.looked is not None and self.form is not None:
            self.query_one("#reviewed", Static).update(laid_out(self.review(self.looked), self.left_width - 2))

    @shows
    async def prove(self) -> None:
        """Work the cheapest cut plans out, at the end, unless the form moves on."""
        form = self.form
        if form is None:
            return
        progress = partial(self.goes_on, form)
        looked = await self.desk.ask(look_at, form.source, self.desk.today, self.code, progress)
        if self.goes_on(form) and looked.proposal.proven:
            self.put_looked(looked)

    def goes_on(self, form: JobForm, *_best: Any) -> bool:
        """Whether this form is still looked over; asked by the cut planner while it works."""
        return form is self.form and self.is_attached and self.step.key == CHECK

    def fault_row(self, key: str, fault: Fault, width: int) -> Content:
        """One thing that is still wrong."""
        assert self.form is not None
        question = self.form.by_key.get(key)
        step = next((s for s in self.form.steps if question in s.questions), None)
        name = f"{step.title}, {question.label}" if question and step else ".".join(str(part) for part in fault.path)
        missing = fault.what == "missing" or (question is not None and not self.form.value(key))
        text = "needed" if missing else "; ".join(said for said in (by_keys(fault.what), by_keys(fault.hint)) if said)
        return words.hang(text, width, f"{name}  ", "", words.STRONG)

    def on_key(self, event: events.Key) -> None:
        """Past the last question there is nothing to answer: what is typed there is not taken, nor what comes with it."""
        if self.step.key != CHECK or event.key in ("enter", "space", "question_mark", *SAVING):
            return
        self.too_much = event.is_printable
        if self.too_much:
            self.desk.drop_ahead()
            self.tell(NO_FIELD, "$warning")

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter on something wrong goes to its field; behind what was not taken it was meant for a field that is not there."""
        if self.too_much:
            return
        key = event.option_id or ""
        for number, step in enumerate(self.steps):
            if any(question.key == key for question in step.questions):
                self.go(number, key)
                return

    def review(self, looked: Looked) -> Page:
        """The job to read before it is saved."""
        from tracker.reports.changepages import proposal_page

        assert self.form is not None
        head = (Line(f"{self.form.value('code')}  {self.form.value('title')}", Tone.TITLE),)
        return (*head, *proposal_page(looked.proposal))

    def last_word(self) -> str:
        """What saving does."""
        return "ctrl+s takes the job into the book; then it can be written to a job file"

    def action_keep(self) -> None:
        """Go back and keep what was typed; from the plan, back to the form."""
        if self.has_class("-look"):
            self.action_look()
            return
        if self.writing:  # the job would be offered again, under the next code
            self.tell(MOMENT)
            return
        if not self.draft().texts:
            self.desk.drafts.pop(self.draft_key, None)
        self.dismiss(None)

    @writes
    async def action_save(self) -> None:
        """From a step, go and look it over; from there, save it."""
        form = self.form
        if form is None:
            return
        looked = await self.desk.ask(look_at, form.source, self.desk.today, self.code)
        if form is not self.form and self.step.key == CHECK:
            return  # what is looked over is not what was to be saved
        self.put_looked(looked)
        if self.step.key != CHECK:
            await self.show(len(self.steps) - 1)
            return
        if self.faults or self.loose:
            wrong = len(self.faults) + len(self.loose)
            raise InputError(f"{count(wrong, 'answer')} to give or mend first", "enter goes to the answer")
        await self.save(form.source)

    async def save(self, source: Mapping[str, Plain]) -> None:
        """Take the job into the book."""
        from tracker.book.proposal import take_new

        self.tell("saving…")
        taken = await self.desk.ask(take_new, self.desk.hand(), source)
        self.desk.drafts.pop(self.draft_key, None)
        self.dismiss(taken.code)


def open_taking(screen: Framed[None]) -> None:
    """Open the form of a new job over ``screen``; then offer to write the job file."""

    def taken(code: str | None) -> None:
        if code is not None:
            screen.tell(f"{code} is in the book")
            screen.reread()
            write_out(screen, code)

    screen.desk.push_screen(TakingScreen(), taken)


@reads
async def write_out(screen: Framed[None], code: str) -> None:
    """Offer to write a job of the book to its job file, beside the book."""
    from tracker.book.proposal import job_source
    from tracker.screens.exporting import export
    from tracker.trade.jobfile import write_job

    source = await screen.desk.ask(job_source, code)
    name = f"{code}-{str(source.get('title', '')).lower()}.toml"
    export(screen, name, lambda: write_job(source).encode(), what="the job file", folder=screen.desk.path.parent)
