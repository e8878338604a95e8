"""The step of a job form in hand: its questions as fields, what is understood, suggested and wrong beside each."""

from __future__ import annotations

from collections.abc import Iterator

from textual.containers import Horizontal

from tracker.errors import InputError
from tracker.screens import words
from tracker.screens.actions import of_screen
from tracker.screens.cells import Cell, Fields
from tracker.screens.choice import steps as listed
from tracker.screens.drafts import Draft
from tracker.screens.forms import FormScreen
from tracker.screens.frame import reads, words_of
from tracker.screens.static import Static
from tracker.text import clean, count
from tracker.trade.jobfile.form import JobForm
from tracker.trade.jobfile.questions import Ask, Question, Step
from tracker.trade.jobfile.table import Fault
from tracker.trade.readings import Field, Kind

CHECK = "check"
"""The key of the last step: look it over and save."""
_FIELD = {Ask.LENGTH: Kind.LENGTH, Ask.WHOLE: Kind.COUNT, Ask.DAY: Kind.DATE}


class AnswerCell(Cell):
    """The field of a question; in one with choices the left and right arrows go through them."""

    def __init__(self, question: Question, line: int, text: str) -> None:
        super().__init__(
            Field(question.key, question.label, _FIELD.get(question.ask, Kind.TEXT)),
            question.key,
            "",
            (line, 0),
            text,
            "",
        )
        self.question = question
        self.echoed: tuple[str, bool] | None = None
        """What stands beside it, and whether as something wrong."""
        self.set_class(question.ask is Ask.TEXT, "-text")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Leave the arrows to the form where they go through choices."""
        if action in ("cursor_left", "cursor_right") and self.question.choices and not self.question.open:
            return False
        return super().check_action(action, parameters)


class Answering(FormScreen[str | None]):
    """The steps of a job form and the fields of the one in hand; a draft keeps what is typed."""

    ENDS = False

    def __init__(self) -> None:
        super().__init__()
        self.form: JobForm | None = None
        self.at = 0
        self.faults: dict[str, Fault] = {}
        self.loose: tuple[Fault, ...] = ()
        self.applying: tuple[str, ...] = ()

    def draft(self) -> Draft:
        """The draft, made when the form first opens."""
        raise NotImplementedError

    def look_soon(self) -> None:
        """Work the job out when nothing was typed for a moment."""
        raise NotImplementedError

    def look_over(self) -> None:
        """Put the last step on the screen."""
        raise NotImplementedError

    def draw_look(self) -> None:
        """Show what the job comes to."""
        raise NotImplementedError

    @property
    def steps(self) -> tuple[Step, ...]:
        """The steps of the form, and the last: look it over and save."""
        last = Step(CHECK, "Look it over", ())
        return (*self.form.steps, last) if self.form else (last,)

    @property
    def step(self) -> Step:
        """The step in hand."""
        return self.steps[min(self.at, len(self.steps) - 1)]

    @reads
    async def go(self, at: int, key: str = "") -> None:
        """Go to a step, and to one of its fields; what is typed meanwhile waits for them."""
        await self.show(at, key)

    async def show(self, at: int, key: str = "") -> None:
        """Put a step on the screen."""
        if self.form is None:
            return
        self.at = min(max(at, 0), len(self.steps) - 1)
        self.draft().rows[:] = [self.step.key]
        self.problems.clear()
        self.set_class(self.step.key == CHECK, "-check")
        form = self.query_one("#form", Fields)
        await form.remove_children()
        await form.mount_all(self.lines())
        form.scroll_home(animate=False)
        self.draw_step()
        for cell in self.cells():
            self.echo(cell)
        if self.step.key == CHECK:
            self.set_focus(None)
            self.query_one("#review").scroll_home(animate=False)
            self.look_over()
            return
        cells = self.cells()
        aim = next((cell for cell in cells if cell.value_name == key), cells[0])
        self.set_focus(aim)
        self.describe(aim)
        self.draw_look()

    def lines(self) -> Iterator[Horizontal]:
        """A line for each question of the step."""
        for number, question in enumerate(self.step.questions):
            yield self.line(question, number)

    def line(self, question: Question, number: int) -> Horizontal:
        """The line of a question: its label, its field, how it was understood."""
        assert self.form is not None
        cell = AnswerCell(question, number, self.form.typed.get(question.key, self.form.before.get(question.key, "")))
        if question.key not in self.form.typed:
            cell.filled = cell.value
        return Horizontal(
            Static(words.say(question.label), classes="label"),
            cell,
            Static(classes="echo", markup=False),
            classes="cells",
        )

    def sync_lines(self) -> None:
        """Bring the lines in step with the questions the answers ask for now, the others staying as they are."""
        wanted = {question.key: question for question in self.step.questions}
        there = {cell.value_name: cell for cell in self.cells()}
        if list(wanted) == list(there):
            return
        for key, cell in there.items():
            if key not in wanted and cell.parent is not None:
                self.problems.pop(key, None)
                cell.parent.remove()  # type: ignore[attr-defined]
        form, before = self.query_one("#form", Fields), None
        for number, (key, question) in enumerate(wanted.items()):
            found = there.get(key)
            if found is None:
                row = self.line(question, number)
                form.mount(row, after=before) if before is not None else form.mount(row, before=0)
                self.call_after_refresh(self.echo_all)
            else:
                found.place = (number, 0)
                assert isinstance(found.parent, Horizontal)
                row = found.parent
            before = row

    def draw_step(self) -> None:
        """The step in hand, of how many, and what is still wrong."""
        if self.form is None:
            return
        wrong = len(self.faults) + len(self.loose)
        told = "nothing is missing" if not wrong else f"{count(wrong, 'answer')} to give or mend"
        head = words.line(
            words.say(f"{self.at + 1} of {len(self.steps)}  ", words.FAINT), words.say(self.step.title, words.HEADING)
        )
        width = max(self.left_width, 20)
        if head.cell_length + len(told) >= width:
            told = f"{wrong} to mend" if wrong else ""
        line = words.ends(head, words.say(told, words.FAINT), width)
        self.query_one("#step", Static).update(line, layout=False)
        self.aside_text = "the plan and the price: F4" if self.has_class("-one") else ""
        self.keys_now()

    def keys_now(self) -> None:
        """Draw the key line again when other keys apply."""
        applying = tuple(key.name for key in of_screen(self.NAME) if self.check_action(key.name, ()) is True)
        if applying != self.applying:
            self.applying = applying
            self.refresh_keys()

    @property
    def left_width(self) -> int:
        """Cells the left side has."""
        return self.query_one("#left").size.width - 2 if not self.has_class("-look") else self.size.width - 2

    def keep_text(self, cell: Cell) -> None:
        """Keep what a field holds in the draft; a field as it was before is not typed."""
        assert self.form is not None
        texts = self.draft().texts
        if cell.value == self.form.before.get(cell.value_name, ""):
            texts.pop(cell.value_name, None)
        else:
            texts[cell.value_name] = cell.value
        self.form = JobForm(self.form.base, dict(texts), self.form.today, self.form.code, self.form.crews)
        self.faults.pop(cell.value_name, None)

    def typed(self) -> None:
        """Follow what was typed: other questions, other suggestions, and the job worked out again."""
        self.sync_lines()
        self.echo_all()
        self.draw_step()
        self.look_soon()

    def echo_all(self) -> None:
        """Show beside every field how its text is understood."""
        for cell in self.cells():
            self.echo(cell)

    def echo(self, cell: Cell) -> None:
        """Show beside a field how its text was understood, else what is suggested and why."""
        if self.form is None or not isinstance(cell, AnswerCell):
            return
        question = cell.question
        suggested = self.form.suggestion(question)
        cell.placeholder = suggested.text or question.rest or (f"like {question.example}" if question.example else "")
        given = bool(cell.value.strip() or suggested.text)
        wrong, text = "", suggested.why
        self.problems.pop(cell.value_name, None)
        fault = self.faults.get(cell.value_name)
        try:
            said = self.form.understood(question)
            if cell.value.strip():
                text = said
        except InputError as error:
            fault = Fault((), error.message, error.hint)
        if fault is not None and given:
            wrong = text = fault.what
            self.problems[cell.value_name] = words_of(InputError(fault.what, fault.hint))
        elif question.needed and not given:
            text = suggested.why or "needed"
        cell.set_class(bool(wrong), "wrong")
        self.shown_texts[cell.value_name] = text
        if cell.echoed == (text, bool(wrong)):
            return  # laying a screen out again takes longer than anything else here
        cell.echoed = (text, bool(wrong))
        for static in cell.parent.query(".echo").results(Static) if cell.parent is not None else ():
            static.update(words.say(text))
            static.set_class(bool(wrong), "-wrong")

    def understood(self, cell: Cell) -> str:
        """How the text of a field is understood; raises InputError."""
        assert self.form is not None and isinstance(cell, AnswerCell)
        return self.form.understood(cell.question)

    def asked(self, cell: Cell) -> str:
        """What a question asks, and how it is answered."""
        assert isinstance(cell, AnswerCell)
        question = cell.question
        how = {
            Ask.LENGTH: "a length, like " + (question.example or "16 in"),
            Ask.DAY: "a day: 2026-05-18, today, mon",
        }.get(question.ask, "")
        if question.choices:
            how = "F3 lists the choices" if question.open else "← and → go through the choices, F3 lists them"
        return "; ".join(part for part in (question.asks, how) if part)

    def end(self, last: Cell) -> None:
        """From the last field on to the next step."""
        self.go(self.at + 1)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What does not apply to the step or the field in hand is not offered."""
        if not self.is_mounted or self.form is None:
            return action == "keep"
        question = self.question
        match action:
            case "list":
                return question is not None and bool(question.choices)
            case "choice_before" | "choice_after":
                return question is not None and bool(question.choices) and not question.open
            case "step_before":
                return self.at > 0
            case "step_after":
                return self.step.key != CHECK
            case "look":
                return self.has_class("-one")
            case "fewer":
                return self.form.platforms > 1 and self.step.platform is not None
        return True

    @property
    def question(self) -> Question | None:
        """The question in hand."""
        return self.focused.question if isinstance(self.focused, AnswerCell) else None

    def on_descendant_focus(self, event: object) -> None:
        """Tell of the field that came into hand, and offer its keys."""
        if isinstance(self.focused, AnswerCell):
            self.describe(self.focused)
            self.keys_now()

    def pick(self, by: int) -> None:
        """Go through the choices of the field in hand."""
        cell = self.focused
        if self.form is None or not isinstance(cell, AnswerCell):
            return
        choices, now = cell.question.choices, self.form.value(cell.value_name)
        at = choices.index(now) + by if now in choices else 0
        cell.value = choices[at % len(choices)]
        cell.cursor_position = len(cell.value)

    def action_choice_before(self) -> None:
        """The choice before."""
        self.pick(-1)

    def action_choice_after(self) -> None:
        """The choice after."""
        self.pick(1)

    def action_list(self) -> None:
        """List the choices of the field in hand."""
        cell = self.focused
        if not isinstance(cell, AnswerCell) or not cell.question.choices:
            return

        def chosen(text: str | None) -> None:
            if text is not None:
                cell.value = text
                cell.cursor_position = len(text)

        self.desk.push_screen(listed(cell.question.asks, [(text, text) for text in cell.question.choices]), chosen)

    def action_step_after(self) -> None:
        """The next step."""
        self.go(self.at + 1)

    def action_step_before(self) -> None:
        """The step before."""
        self.go(self.at - 1)

    def action_clear(self) -> None:
        """Throw out what is typed; a second time puts it back."""
        if self.form is None:
            return
        texts = dict(self.draft().texts)
        if not texts and not self.emptied:
            self.tell("nothing is typed")
            return
        typed, self.emptied = ({}, texts) if texts else (self.emptied, {})
        self.put_form(JobForm(self.form.base, typed, self.form.today, self.form.code, self.form.crews))
        self.tell("what you had typed is back" if typed else "what you typed is thrown out; F2 again puts it back")
        self.go(0)

    def action_more(self) -> None:
        """Add a platform and go to it."""
        if self.form is not None:
            self.put_form(self.form.with_platform())
            keys = [step.key for step in self.steps]
            self.go(keys.index(f"platform.{self.form.platforms - 1}.size"))

    def action_fewer(self) -> None:
        """Take the platform of this step out."""
        at = self.step.platform
        if self.form is not None and at is not None:
            name = self.form.value(f"platform.{at}.name")
            self.put_form(self.form.without_platform(at))
            self.tell(f"{clean(name)} is taken out")
            self.go(0)

    def put_form(self, form: JobForm) -> None:
        """Go on with another form, its texts kept in the draft."""
        texts = self.draft().texts
        texts.clear()
        texts |= form.typed
        self.form = form
        self.look_soon()
