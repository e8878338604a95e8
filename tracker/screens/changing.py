"""A change order: the form of the job as it is, then the differences, then the reason that accepts them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import partial
from typing import TYPE_CHECKING, Any

from tracker.book.views import Recorded
from tracker.errors import ConflictError, InputError
from tracker.reports.page import Line, Page, Tone
from tracker.screens.answering import CHECK
from tracker.screens.asking import Question
from tracker.screens.frame import Framed, shows
from tracker.screens.taking import Looked, TakingScreen
from tracker.text import NOTE_LIMIT
from tracker.trade.answer import Plain
from tracker.trade.jobfile.form import JobForm

if TYPE_CHECKING:
    from tracker.book.changeviews import Change
    from tracker.book.opening import Book

CHANGE_FORM = "change order"
"""The name of a change order's draft."""


def as_it_is(book: Book, code: str, today: date) -> tuple[dict[str, Plain], int]:
    """A job's own file and its revision, read first: a change between the two is one that is told, never one overlooked."""
    from tracker.book.jobs import job_view
    from tracker.book.proposal import job_source

    rev = job_view(book, code, today).rev
    return job_source(book, code), rev


class ChangingScreen(TakingScreen):
    """The form of the job ``code`` as it is in the book; what was recorded is told by the screen that opened it."""

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code
        self.rev = 0
        """The revision of the job the form is based on."""
        self.change: Change | None = None
        self.recorded: Recorded | None = None

    @property
    def draft_key(self) -> tuple[str, str]:
        """The job and the name of the draft."""
        return self.code, CHANGE_FORM

    async def first_form(self) -> JobForm:
        """The form filled from the job's own file."""
        from tracker.book.proposal import start_of

        self.title_text = f"{self.code} / change order"
        _, crews = await self.desk.ask(start_of, self.desk.today)
        source, self.rev = await self.desk.ask(as_it_is, self.code, self.desk.today)
        return JobForm(source, self.draft().texts, self.desk.today, self.code, crews)

    async def catch_up(self, form: JobForm) -> None:
        """Base the form on the job as it is by now, what was typed on top; not when ``form`` is no longer the one in hand."""
        source, rev = await self.desk.ask(as_it_is, self.code, self.desk.today)
        if form is not self.form:
            return
        at_check = self.step.key == CHECK
        self.rev, self.change, self.looked = rev, None, None
        self.form = JobForm(source, dict(self.draft().texts), form.today, form.code, form.crews)
        await self.show(len(self.steps) - 1 if at_check else self.at)
        self.look()

    def changed_meanwhile(self) -> ConflictError:
        """What is said when the job is not what the form is based on."""
        return ConflictError(f"job {self.code} was changed meanwhile", "look at the differences again")

    def put_looked(self, looked: Looked) -> None:
        """Show what the job comes to; the differences are worked out again where they are looked at."""
        self.change = None
        super().put_looked(looked)

    def look_over(self) -> None:
        """The last step: what is still wrong, else the differences, quick first, then proven."""
        super().look_over()
        if self.looked is not None and not self.faults and not self.loose and self.change is None:
            self.weigh()

    @shows
    async def weigh(self) -> None:
        """Work the differences out: from quick cut plans at once, then from proven ones unless the form moves on."""
        from tracker.book.changing import difference

        form = self.form
        if form is None:
            return
        for proven in (False, True):
            change = await self.desk.ask(
                difference, self.code, form.source, self.desk.today, proven=proven, progress=partial(self.goes_on, form)
            )
            if not self.goes_on(form):
                return
            if change.rev != self.rev:
                await self.catch_up(form)
                raise self.changed_meanwhile()
            self.change = change
            self.look_over()
            if change.before.proven and change.after.proven:
                return

    def prove(self) -> None:
        """The differences prove their own cut plans."""

    def review(self, looked: Looked) -> Page:
        """The differences, before they are accepted."""
        from tracker.reports.changepages import change_page

        if self.change is None:
            return (Line("working out the differences…", Tone.QUIET),)
        return change_page(self.change)

    def last_word(self) -> str:
        """What saving does."""
        if self.change is not None and not self.change.anything:
            return "nothing is changed yet: page up goes back to the answers"
        return "ctrl+s asks for the reason and accepts the change order; only the owner can"

    async def save(self, source: Mapping[str, Plain]) -> None:
        """Ask for the reason, then accept."""
        from tracker.book.changing import accept_change, difference

        form, rev = self.form, self.rev
        assert form is not None
        change = await self.desk.ask(difference, self.code, source, self.desk.today)
        if change.rev != rev:
            await self.catch_up(form)
            raise self.changed_meanwhile()
        if not change.anything:
            raise InputError("nothing is changed yet", "page up goes back to the answers")

        async def accept(reason: str, entry: str) -> Recorded:
            try:
                return await self.desk.ask(
                    accept_change, self.desk.hand(), self.code, source, reason, rev, entry_id=entry
                )
            except ConflictError:
                await self.catch_up(form)
                raise

        def accepted(result: Recorded | None) -> None:
            if result is None:
                self.change = None
                self.look()
                return
            self.desk.drafts.pop(self.draft_key, None)
            self.recorded = result
            self.dismiss(self.code)

        self.desk.push_screen(
            Question(
                f"Accept the change order of {self.code}: why?", accept, what="the reason", limit=NOTE_LIMIT,
                help_text=f"signed by {self.desk.who}; the reason and the differences stay on record",
            ),
            accepted,
        )  # fmt: skip


def open_change(screen: Framed[Any], code: str) -> None:
    """Open the change order of a job over ``screen``, which tells what was recorded and reads again."""
    form = ChangingScreen(code)

    def changed(done: str | None) -> None:
        if done is not None and form.recorded is not None:
            screen.tell("; ".join((form.recorded.text, *form.recorded.notices)))
            screen.reread()

    screen.desk.push_screen(form, changed)
