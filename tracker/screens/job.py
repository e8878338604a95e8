"""One job: its phases, the checks of the chosen one, what stands in the way, and the keys that move it on."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Mapping
from typing import Any, TypeAlias

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import OptionList

from tracker.book.views import (
    Blocker,
    CheckView,
    GateShutError,
    JobView,
    Pass,
    PhaseState,
    PhaseView,
    Recorded,
)
from tracker.errors import InputError
from tracker.reports.words import carries_words, past_brief
from tracker.screens import phaselines, words
from tracker.screens.actions import bindings
from tracker.screens.asking import Blank, Blanks, Question
from tracker.screens.choice import GO_PAST, ways
from tracker.screens.clears import blocker_way, by_keys
from tracker.screens.frame import reads, writes
from tracker.screens.jobdoors import JobDoors
from tracker.screens.page import working_page
from tracker.screens.rows import Rows
from tracker.screens.static import Static
from tracker.screens.takeback import take_back_question
from tracker.screens.useask import with_uses
from tracker.text import NOTE_LIMIT, clean, count

NARROW, WIDE, TALL = 70, 110, 30
Recording: TypeAlias = Coroutine[Any, Any, Recorded]


class JobScreen(JobDoors):
    """The screen of the job ``code``; it opens at the phase or check ``at``, with ``reads`` at once at its form."""

    NAME = "job"
    BINDINGS = bindings("job")
    CSS_PATH = "job.tcss"

    def __init__(self, code: str, at: str = "", *, reads: bool = False) -> None:
        super().__init__(code)
        self.at = at
        self.reads_at_once = reads
        self.signed_now = ""
        self.view: JobView | None = None

    def body(self) -> ComposeResult:
        """Phases on the left, the chosen phase on the right."""
        yield Static("reading the job…", id="place", markup=False)
        with Horizontal(id="sides"):
            yield Rows(id="phases")
            with Vertical(id="right"):
                yield Static(id="head", markup=False)
                yield Static(id="ways", markup=False)
                yield Rows(id="checks")
                with VerticalScroll(id="detail"):
                    yield Static(id="said", markup=False)

    def on_mount(self) -> None:
        """Read the job."""
        self.title_text = self.code
        self.query_one("#checks").focus()
        self.reread()

    @reads
    async def reread(self) -> None:
        """Read the job."""
        from tracker.book.jobs import job_view

        stamp = self.desk.stamp
        self.view = view = await self.desk.ask(job_view, self.code, self.desk.today)
        self.read_under = stamp
        if self.phase_key not in {phase.key for phase in view.phases}:
            current = view.current or view.phases[-1]
            self.phase_key = current.key
            self.redraw()
            self.go_to(self.at or current.key, self.at)
        self.redraw()
        if self.signed_now:
            self.move_on(view)
        if self.reads_at_once:
            self.reads_at_once = False
            if self.check is not None and self.check.key == self.at:
                self.action_read()
            else:
                self.turn_down(f"{self.code} has no check {clean(self.at)} any more")

    def move_on(self, view: JobView) -> None:
        """Show the phase that comes after the one just signed off."""
        keys = [phase.key for phase in view.phases]
        after = keys[keys.index(self.signed_now) + 1 :] if self.signed_now in keys else []
        self.signed_now = ""
        ahead = [key for key in after if view.phase(key).state is not PhaseState.SIGNED_OFF]
        if ahead:
            self.go_to(ahead[0])

    @property
    def phase(self) -> PhaseView | None:
        """The phase that is shown."""
        return self.view.phase(self.phase_key) if self.view and self.phase_key else None

    @property
    def tall(self) -> bool:
        """Whether there is room for every word."""
        return self.size.height >= TALL

    @property
    def check(self) -> CheckView | None:
        """The check under the cursor."""
        key = self.query_one("#checks", Rows).key
        return next((c for c in self.phase.checks if c.key == key), None) if self.phase else None

    def redraw(self) -> None:
        """Put the job on the screen."""
        self.set_class(self.size.width < NARROW, "-narrow")
        self.set_class(self.size.width >= WIDE, "-wide")
        if self.view is None or self.phase is None:
            return
        view, job, width = self.view, self.view.line, max(self.size.width - 2, 30)
        self.title_text = f"{job.code}  {job.title}"
        parts = [job.place, job.client, f"crew {job.crew}" if job.crew else ""]
        self.aside_text = ", ".join(clean(part) for part in parts if part)
        short = f"{job.signed_off}/{len(job.strip)} signed off"
        told = short if self.has_class("-narrow") else words.strip_words(job.strip)
        place = words.ends(
            words.line(words.strip(job.strip), "  ", words.say(told, words.FAINT)),
            words.lateness(job.days_late),
            width,
        )
        self.query_one("#place", Static).update(place)
        phases = self.query_one("#phases", Rows)
        room = phases.room
        phases.show(((phase.key, phaselines.phase_row(phase, room)) for phase in view.phases), at=self.phase_key)
        self.draw_phase()

    def draw_phase(self) -> None:
        """Put the chosen phase on the screen."""
        phase, view = self.phase, self.view
        if phase is None or view is None:
            return
        width = self.query_one("#checks", Rows).room
        number = [p.key for p in view.phases].index(phase.key) + 1
        hold = f", hold point {phase.hold}" if phase.hold else ""
        head = [
            words.ends(
                words.line(words.say(phase.title, "$primary bold"), "  ", words.phase_word(phase.state), hold),
                words.say(f"{number} of {len(view.phases)}", words.FAINT),
                width,
            ),
        ]
        if phase.undone_by:
            head.append(
                words.say(
                    f"sign-off undone by {', '.join(phase.undone_by)}: it failed or was taken back later", "$error bold"
                )
            )
        elif phase.held_why:
            head.append(words.say(f"held: {phase.held_why}", "$warning bold"))
        if phase.carries:
            head.append(words.hang(carries_words(phase.carries), width, "", "$error bold"))
        head += [words.hang(past_brief(past, self.desk.today), width, "", "$warning bold") for past in phase.past]
        head.append(words.say(phaselines.days(phase, self.desk.today), words.FAINT))
        self.query_one("#head", Static).update(words.stack(head))
        self.query_one("#ways", Static).update(phaselines.in_the_way(phase, width))
        rows = [
            (
                check.key,
                phaselines.check_row(
                    check, width, self.desk.has_draft(self.code, check.key), self.tall, self.desk.today
                ),
            )
            for check in phase.checks
        ]
        checks = self.query_one("#checks", Rows)
        checks.styles.max_height = max(sum(row.plain.count("\n") + 1 for _, row in rows), 1)
        checks.show(rows)
        self.draw_detail()
        self.refresh_keys()

    def draw_detail(self) -> None:
        """Put the moves of the check under the cursor, and the cautions of the phase, in their place."""
        phase, check = self.phase, self.check
        if phase is None:
            return
        width = self.query_one("#checks", Rows).room
        self.query_one("#said", Static).update(phaselines.detail(phase, check, width, self.tall, self.desk.today))

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        """Follow the cursor of either list."""
        if event.option_list.id == "phases" and event.option_id and event.option_id != self.phase_key:
            if event.option_list.has_focus:
                self.tell("")
                self.phase_key = event.option_id
                self.draw_phase()
        elif event.option_list.id == "checks":
            self.draw_detail()
            self.refresh_keys()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter on a phase goes to its checks, on a check to its reading."""
        if event.option_list.id == "phases":
            self.query_one("#checks").focus()
        else:
            self.action_read()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What does not apply to the phase or check shown is not offered."""
        phase = self.phase if self.is_mounted else None
        if phase is None:
            return action == "back"
        match action:
            case "start":
                return phase.state in (PhaseState.AHEAD, PhaseState.HELD)
            case "sign_off" | "hold":
                return phase.state is not PhaseState.SIGNED_OFF
            case "reopen":
                return phase.state is PhaseState.SIGNED_OFF or bool(phase.undone_by)
            case "read" | "waive" | "working":
                return bool(phase.checks)
            case "ways":
                return bool(phase.stands_in_way)
            case "take_back":
                return self.check is not None and self.check.last is not None
        return True

    def step(self, by: int) -> None:
        """Show the phase before or after."""
        if self.view is None:
            return
        self.tell("")
        keys = [phase.key for phase in self.view.phases]
        self.go_to(keys[min(max(keys.index(self.phase_key) + by, 0), len(keys) - 1)])

    def go_to(self, phase_key: str, check_key: str = "") -> None:
        """Show a phase, the cursor on one of its checks."""
        if self.view is None:
            return
        owner = next((p.key for p in self.view.phases if any(c.key == check_key for c in p.checks)), phase_key)
        if owner not in {phase.key for phase in self.view.phases}:
            return
        self.phase_key = owner
        phases = self.query_one("#phases", Rows)
        phases.highlighted = phases.get_option_index(owner)
        self.draw_phase()
        checks = self.query_one("#checks", Rows)
        order = sorted(self.phase.checks, key=phaselines.urgency) if self.phase else []
        aim = check_key if check_key in {check.key for check in order} else (order[0].key if order else "")
        if aim:
            checks.highlighted = checks.get_option_index(aim)
        checks.focus()

    def action_before(self) -> None:
        """Show the phase before."""
        self.step(-1)

    def action_after(self) -> None:
        """Show the phase after."""
        self.step(1)

    def action_back(self) -> None:
        """Back to the open jobs."""
        self.dismiss(None)

    @writes
    async def action_start(self) -> None:
        """Start the phase, or list what stands in the way."""
        from tracker.book.gates import start

        key = self.phase_key

        def past(reason: str, entry: str) -> Recording:
            return self.desk.ask(start, self.desk.hand(), self.code, key, past=reason, entry_id=entry)

        await self.pass_gate(self.desk.ask(start, self.desk.hand(), self.code, key), past)

    @writes
    async def action_sign_off(self) -> None:
        """Sign the phase off, or list what stands in the way."""
        from tracker.book.gates import sign_off

        key, title = self.phase_key, self.phase.title if self.phase else ""
        heading = f"{title}: what was used? ({self.code})"

        def sign(used: Mapping[str, int] | None, entry: str | None, anyway: bool, reason: str = "") -> Recording:
            return self.desk.ask(
                sign_off, self.desk.hand(), self.code, key,
                past=reason, used=used, asks=True, anyway=anyway, entry_id=entry,
            )  # fmt: skip

        async def past(reason: str, entry: str) -> Recorded:
            done = await with_uses(self.desk, heading, lambda used, _, anyway: sign(used, entry, anyway, reason))
            if done is None:
                raise InputError("nothing was recorded", "say what was used, or leave the phase open")
            return done

        if await self.pass_gate(with_uses(self.desk, heading, sign), past, "u on it opens it again"):
            self.signed_now = key

    async def pass_gate(
        self,
        asked: Coroutine[Any, Any, Recorded | None],
        past: Callable[[str, str], Recording],
        way_back: str = "",
    ) -> bool:
        """Await a start or a sign-off; a refusal (False) opens the list of what stands in the way.

        ``past`` does the same past what stands in the way, with a reason.
        """
        self.tell("one moment…")
        try:
            result = await asked
            self.recorded(result, way_back)
            if result is None:
                self.tell("nothing was recorded")
                return False
        except GateShutError as error:
            self.turn_down(error.message)
            self.offer(by_keys(error.message), error.blockers, error.passing, past)
            return False
        return True

    def offer(
        self,
        heading: str,
        blockers: tuple[Blocker, ...],
        passing: Pass = Pass.NOT,
        past: Callable[[str, str], Recording] | None = None,
    ) -> None:
        """Offer to go to what stands in the way, or past it where it may be gone past."""

        def gone(blocker: Blocker | None) -> None:
            if blocker is None:
                return
            if blocker is GO_PAST:
                if passing is Pass.EACH:
                    self.ask_leave(blockers)
                elif past is not None:
                    self.ask_why(f"{heading}. Go past all of it: why?", self.signed_by, past)
                return
            if blocker.phase or blocker.check:
                self.go_to(blocker.phase, blocker.check)
            clearing = blocker_way(blocker)
            self.tell(f"{blocker.what}: {blocker.why}. To do: {clearing.says}")
            if clearing.verb == "waive":
                self.ask_waiver(clearing.key, blocker.what)

        self.desk.push_screen(ways(heading, blockers, passing), gone)

    @property
    def signed_by(self) -> str:
        """Who signs for what is waived or gone past."""
        return f"signed by {self.desk.who}; the name and the reason stay visible for ever"

    def ask_leave(self, blockers: tuple[Blocker, ...]) -> None:
        """Ask for each thing why the hand-over leaves it open, then sign the hand-over off."""
        from tracker.book.gates import sign_off

        key = self.phase_key

        def act(reasons: Mapping[str, str], entry: str) -> Recording:
            leave = tuple(reasons.items())
            return self.desk.ask(sign_off, self.desk.hand(), self.code, key, leave=leave, entry_id=entry)

        blanks = [Blank(b.key, b.what, hint="why it stays open") for b in blockers]
        heading = f"Hand over with {count(len(blockers), 'thing')} open: why each? ({self.code})"
        self.desk.push_screen(Blanks(heading, blanks, act, help_text=self.signed_by), self.recorded)

    def action_ways(self) -> None:
        """List what stands in the way."""
        if self.phase and self.phase.stands_in_way:
            self.offer(f"In the way of {self.phase.title.lower()}", self.phase.stands_in_way)

    def recorded(self, result: Recorded | None, way_back: str = "") -> None:
        """Say what was recorded, and the way back, and read the job again; None when nothing was."""
        if result is None:
            self.redraw()
            return
        text = result.text if not result.already else f"already recorded: {result.text}"
        self.tell("; ".join((text, *result.notices, *([way_back] if way_back else []))))
        self.reread()

    def ask_why(self, heading: str, help_text: str, act: Callable[[str, str], Recording]) -> None:
        """Ask for a reason and record it with ``act``."""
        self.desk.push_screen(
            Question(f"{heading} ({self.code})", act, what="the reason", help_text=help_text), self.recorded
        )

    def action_hold(self) -> None:
        """Ask why, then hold the phase."""
        from tracker.book.gates import hold

        key = self.phase_key

        def act(reason: str, entry: str) -> Recording:
            return self.desk.ask(hold, self.desk.hand(), self.code, key, reason, entry_id=entry)

        if self.phase is not None:
            self.ask_why(f"Hold {self.phase.title.lower()}: why?", "it shows on every report", act)

    def action_reopen(self) -> None:
        """Ask why, then undo the sign-off."""
        from tracker.book.gates import reopen

        key = self.phase_key

        def act(reason: str, entry: str) -> Recording:
            return self.desk.ask(reopen, self.desk.hand(), self.code, key, reason, entry_id=entry)

        if self.phase is not None:
            self.ask_why(f"Reopen {self.phase.title.lower()}: why?", "the sign-off stays on record", act)

    def action_waive(self) -> None:
        """Ask why, then waive the check under the cursor."""
        if (check := self.check) is not None:
            self.ask_waiver(check.key, phaselines.name_of(check))

    def ask_waiver(self, key: str, name: str) -> None:
        """Ask why, then waive a check or a wait."""
        from tracker.book.readings import waive

        def act(reason: str, entry: str) -> Recording:
            return self.desk.ask(waive, self.desk.hand(), self.code, key, reason, entry_id=entry)

        self.ask_why(
            f"Waive {name}: why?",
            self.signed_by,
            act,
        )

    def action_take_back(self) -> None:
        """Ask why, then take back the last reading of the check under the cursor."""
        if (check := self.check) is not None and check.last is not None:
            self.desk.push_screen(take_back_question(self.desk, self.code, check), self.recorded)

    def action_note(self) -> None:
        """Ask for a note."""
        from tracker.book.jobs import add_note

        def act(text: str, entry: str) -> Recording:
            return self.desk.ask(add_note, self.desk.hand(), self.code, text, entry_id=entry)

        self.desk.push_screen(
            Question(
                f"Note ({self.code})", act, what="the note", help_text="it goes on the day sheet", limit=NOTE_LIMIT
            ),
            self.recorded,
        )

    def action_working(self) -> None:
        """Show the working of the check under the cursor."""
        if (check := self.check) is not None:
            self.desk.push_screen(working_page(check.title, check.answer, check.source, check.asks))

    def action_read(self) -> None:
        """Open the form of the check under the cursor."""
        from tracker.screens.reading import ReadingScreen

        if self.view is not None and (check := self.check) is not None:
            self.desk.push_screen(ReadingScreen(self.code, self.view.spec.unit, check), self.recorded)
