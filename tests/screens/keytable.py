"""Every key of every screen, where it applies and what has to come of it: the table that is played and compared."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from textual.widgets import Input

from tests.screens.conftest import Hands
from tests.screens.keybooks import crowned, empty, handed, one_job, read_once, sold, tiers, two_jobs, with_lots
from tests.screens.keycases import (
    Case,
    Go,
    at_place,
    field,
    go,
    holds,
    left,
    moves,
    on,
    says,
    then,
    to_check,
    until_by,
    wait,
)
from tracker.screens.answering import CHECK, AnswerCell
from tracker.screens.rows import Rows

BACK = go("escape")
JOB = go("enter", says="planned ")


# -- ways


def phase_at(screen: Any) -> int:
    """The number of the phase shown."""
    return [phase.key for phase in screen.view.phases].index(screen.phase_key)


def last_reading(screen: Any) -> str:
    """The reading in force of the check in hand."""
    return screen.check.last.id if screen.check is not None and screen.check.last is not None else ""


def lit(selector: str) -> Callable[[Any], int]:
    """The line under the cursor of a list."""
    return lambda screen: screen.query_one(selector, Rows).highlighted


def filtering(screen: Any) -> bool:
    """Whether the arrows are in the filter."""
    return isinstance(screen.focused, Input) and screen.focused.id == "filter"


def typing(screen: Any) -> bool:
    """Whether a field of the job form is in hand."""
    return isinstance(screen.focused, AnswerCell)


def chooses(screen: Any) -> bool:
    """Whether the field in hand has choices and no others."""
    return screen.question is not None and bool(screen.question.choices) and not screen.question.open


def layer(name: str) -> Callable[[Any], bool]:
    """Whether a layer of the plan is shown."""
    return lambda screen: name in {one.value for one in screen.plan.parts}


def beside(screen: Any) -> float:
    """How far the list beside the plan is scrolled."""
    return float(screen.query_one("#beside").scroll_y)


def choice_text(screen: Any) -> str:
    """What the field of choices holds."""
    return str(screen.focused.value)


async def loading(hands: Hands) -> None:
    """Begin to load the samples while somebody else writes, so that it can be stopped; then let it end."""
    with closing(sqlite3.connect(hands.app.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        await hands.press("s", "down", "enter", until="esc stops after")
        await Case("morning.stop", "escape", says("stopping after")).play(hands)
        other.execute("ROLLBACK")
    await hands.until("0 sample jobs loaded")


NEW = go("n", to="taking")
FIELD = wait(typing)
HOME = go("escape", to="morning")
JOBS = go("escape", to="jobs")
ZOOMED = go("0", "plus", "plus", "plus", "plus")
READ_AGAIN = then(go("enter", to="reading"), go("f4"))


# -- the table


@dataclass(frozen=True)
class Run:
    """One evening at the keys: a book, the way in from the open jobs (or the morning), and the keys in their order."""

    name: str
    book: Callable[[Path], None]
    cases: Sequence[Case]
    way: Go | None = None
    opened: str = "OPEN JOBS"
    size: tuple[int, int] = (80, 24)
    slow: bool = False


RUNS = [
    Run("anywhere", one_job, [
        Case("anywhere.help", "question_mark", on("page", "Keys"), after=BACK),
        Case("anywhere.help", "f1", on("page", "Keys"), before=go("slash"), after=go("escape", "escape", to="jobs")),
        Case("anywhere.command_palette", "ctrl+p", on("CommandPalette"), after=BACK),
        Case("anywhere.other_light", "f9", says("colours: birch")),
        Case("anywhere.search", "ctrl+f", on("finding"), after=JOBS),
        Case("anywhere.leave", "ctrl+q", left),
    ]),
    Run("morning", one_job, [
        Case("morning.open", "enter", at_place(lambda s: s.lines[s.rows.key].places[0][0]), after=HOME),
        Case("morning.new_job", "n", on("taking"), after=HOME),
        Case("morning.jobs", "j", on("jobs", "OPEN JOBS"), after=HOME),
        Case("morning.buy", "b", on("buy", "to buy"), after=HOME),
        Case("morning.ticket", "t", on("ticket", "delivery ticket"), after=then(go(text="2"), HOME)),
        Case("morning.drafts", "k", on("ticket", "your draft is back"), after=HOME),
        Case("morning.sheet", "d", on("sheet", "Day sheet"), after=HOME),
        Case("morning.search", "slash", on("finding"), after=HOME),
        Case("morning.ideas", "i", on("page", "Five ideas"), after=HOME),
        Case("morning.across", "right", holds(lambda s: s.rows.id == "aside")),
        Case("morning.across", "left", holds(lambda s: s.rows.id == "today")),
        Case("morning.reread", "r", says("read again")),
        Case("morning.leave", "q", left),
    ], opened="NEEDS YOU"),
    Run("morning, empty", empty, [
        Case("morning.samples", "s", on("choice", "They are invented"), after=then(HOME, loading)),
        Case("morning.stop", "escape", says("stopping after")),
    ], opened="No open job"),
    Run("jobs", two_jobs, [
        Case("jobs.open", "enter", on("job", "planned "), after=JOBS),
        Case("jobs.new_job", "n", on("taking"), after=JOBS),
        Case("jobs.narrow", "slash", holds(filtering), after=go(text="pond", says="1 of 2 hold these words")),
        Case("jobs.back", "escape", holds(lambda s: not filtering(s)), after=wait(lambda s: len(s.jobs) == 2)),
        Case("jobs.sort", "s", says("by working days late")),
        Case("jobs.finished", "f", says("HANDED OVER")),
        Case("jobs.finished", "f", says("OPEN JOBS")),
        Case("jobs.buy", "b", on("buy", "to buy"), after=JOBS),
        Case("jobs.ticket", "t", on("ticket"), after=then(go(text="2"), JOBS)),
        Case("jobs.drafts", "k", on("ticket", "your draft is back"), after=JOBS),
        Case("jobs.sheet", "d", on("sheet", "Day sheet"), after=JOBS),
        Case("jobs.reread", "r", says("read again")),
        Case("jobs.back", "escape", on("morning", "NEEDS YOU"), after=go("j", to="jobs")),
        Case("jobs.leave", "q", left),
    ]),
    Run("finding", one_job, [
        Case("finding.down", "down", moves(lit("#hits"), 1)),
        Case("finding.up", "up", moves(lit("#hits"), -1)),
        Case("finding.further", "pagedown", moves(lit("#hits"), 2)),
        Case("finding.nearer", "pageup", moves(lit("#hits"), -1)),
        Case("finding.go", "enter", at_place(lambda s: s.found.hits[int(s.query_one("#hits").key)].place),
             after=go("escape", to="finding")),
        Case("finding.back", "escape", on("jobs")),
    ], then(go("ctrl+f", to="finding"), go(text="pear e"), wait(lambda s: s.found and len(s.found.hits) > 8))),
    Run("job", read_once, [
        Case("job.sign_off", "o", on("choice", "cannot be signed off"), after=BACK),
        Case("job.working", "f2", on("page", "Working: "), after=BACK),
        Case("job.take_back", "x", on("asking", "Take back the reading"), after=BACK),
        Case("job.waive", "w", on("asking", "Waive "), after=BACK),
        Case("job.read", "enter", on("reading", "diagonal"), after=BACK),
        Case("job.ways", "g", on("choice", "In the way of layout"), after=BACK),
        Case("job.before", "left", moves(phase_at, -1)),
        Case("job.reopen", "u", on("asking", "Reopen "),
             before=until_by("left", lambda s: s.phase_key == "visit"), after=go(text="fence")),
        Case("asking.accept", "enter", on("job", "Site visit under way")),
        Case("job.hold", "h", on("asking", "Hold site visit: why?"), after=go(text="dog")),
        Case("asking.accept", "enter", on("job", "held: dog")),
        Case("job.start", "s", says("Site visit under way")),
        Case("job.sign_off", "o", says("Site visit: signed off")),
        Case("job.after", "right", moves(phase_at, 1)),
        Case("job.note", "n", on("asking", "Note"), after=go(text="key under pot")),
        Case("asking.accept", "enter", holds(lambda s: [n.text for n in s.view.notes] == ["key under pot"], "job")),
        Case("job.plan", "p", on("plan", "deck:"), after=BACK),
        Case("job.lots", "m", on("lots", "still to come"), after=BACK),
        Case("job.hours", "t", on("hours", "Type the hours"), after=BACK),
        Case("job.buy", "b", on("buy", "To buy for 26-101"), after=BACK),
        Case("job.money", "c", on("money", "not quoted yet"), after=BACK),
        Case("job.history", "y", on("history", "newest first"), after=BACK),
        Case("job.change", "e", on("taking", "change order"), after=then(FIELD, BACK)),
        Case("job.hand_over", "v", on("handover", "not handed over yet"), after=BACK),
        Case("job.back", "escape", on("jobs", "OPEN JOBS")),
    ], then(JOB, to_check("layout", "layout-square"))),
    Run("reading", read_once, [
        Case("reading.down", "down", holds(lambda s: field(s) == "depth")),
        Case("reading.up", "up", holds(lambda s: field(s) == "width")),
        Case("reading.further", "pagedown", holds(lambda s: field(s) not in ("width", "depth"))),
        Case("reading.nearer", "pageup", holds(lambda s: field(s) == "width")),
        Case("reading.last", "f4", holds(lambda s: s.texts().get("ac") == "15' 3/4")),
        Case("reading.clear", "f8", holds(lambda s: not s.texts())),
        Case("reading.clear", "f8", holds(lambda s: s.texts().get("ac") == "15' 3/4")),
        Case("reading.working", "f2", on("page", "Working: "), after=BACK),
        Case("reading.picture", "f6", says("F6 shows the verdict in full again")),
        Case("reading.correct", "f5", says("CORRECTS the reading by M. Holt")),
        Case("reading.take_back", "f7", on("asking", "Take back the reading"), after=BACK),
        Case("reading.keep", "escape", holds(lambda s: s.desk.has_draft("26-101", "layout-square"), "job")),
        Case("reading.save", "ctrl+s", moves(last_reading), before=READ_AGAIN),
        Case("reading.save", "f10", moves(last_reading), before=READ_AGAIN),
        Case("reading.row", "f3", on("asking", "Add a joist"),
             before=then(to_check("frame", "crown"), go("enter", to="reading"))),
        Case("reading.same", "ctrl+r", holds(lambda s: s.texts() == dict.fromkeys(s.form.rows, "1")),
             before=go("escape", "1")),
    ], then(JOB, to_check("layout", "layout-square"), go("enter", to="reading"))),
    Run("plan", crowned, [
        Case("plan.check", "enter", on("reading", "Crowns"), after=BACK),
        Case("plan.joist_after", "full_stop", says("joist 6 of 12")),
        Case("plan.joist_before", "comma", says("joist 5 of 12")),
        Case("plan.closer", "plus", moves(lambda s: s.plan.view.zoom, 1)),
        Case("plan.closer", "equals_sign", moves(lambda s: s.plan.view.zoom, 1)),
        Case("plan.further", "minus", moves(lambda s: s.plan.view.zoom, -1)),
        Case("plan.left", "left", moves(lambda s: s.plan.view.x, -1), before=ZOOMED),
        Case("plan.right", "right", moves(lambda s: s.plan.view.x, 1)),
        Case("plan.up", "up", moves(lambda s: s.plan.view.y), before=ZOOMED),
        Case("plan.down", "down", moves(lambda s: s.plan.view.y)),
        Case("plan.whole", "0", says("deck: all of it")),
        Case("plan.page", "g", on("asking", "Write the plan as SVG to:"), after=BACK),
        Case("plan.tape", "t", says("hook the tape")),
        Case("plan.page_down", "pagedown", moves(beside, 1)),
        Case("plan.page_up", "pageup", moves(beside, -1)),
        Case("plan.signs", "l", says("FAIL [joist 5]"), before=go("escape"), after=go("escape")),
        Case("plan.frame", "f", holds(lambda s: not layer("frame")(s))),
        Case("plan.supports", "s", holds(lambda s: not layer("supports")(s))),
        Case("plan.boards", "b", holds(layer("boards"))),
        Case("plan.checks", "c", holds(lambda s: not layer("checks")(s))),
        Case("plan.phase_layers", "m", holds(layer("frame"))),
        Case("plan.back", "escape", holds(lambda s: not s.has_class("-list"), "plan"), before=go("t")),
        Case("plan.back", "escape", on("job", "planned ")),
    ], then(JOB, to_check("frame", "crown"), go("p", to="plan"), wait(lambda s: s.drawing is not None)), size=(60, 20)),
    Run("plan of several", tiers, [
        Case("plan.other_platform", "n", moves(lambda s: s.drawing.name)),
        Case("plan.other_platform", "tab", moves(lambda s: s.drawing.name)),
    ], then(JOB, go("p", to="plan"), wait(lambda s: s.drawing is not None))),
    Run("buy", two_jobs, [
        Case("buy.order", "o", on("asking", "Order "), after=BACK),
        Case("buy.working", "enter", on("page", "Who needs it"), after=BACK),
        Case("buy.working", "f2", on("page", "Who needs it"), after=BACK),
        Case("buy.cuts", "c", on("cuts", "cut list"), after=until_by("escape", lambda s: s.NAME == "buy")),
        Case("buy.job", "j", on("choice", "Which job?"), after=BACK),
        Case("buy.back", "escape", on("jobs")),
    ], then(go("b", to="buy"), go(says="proven"))),
    Run("history", read_once, [
        Case("history.open", "enter", on("page", "26-101: entry "), after=BACK),
        Case("history.undo", "x", on("asking", "What comes of it: "), after=BACK),
        Case("history.other_end", "o", says("oldest first")),
        Case("history.narrow", "slash", holds(filtering), after=go(text="layout", says="hold these words")),
        Case("history.back", "escape", holds(lambda s: not filtering(s), "history")),
        Case("history.back", "escape", on("job")),
    ], then(JOB, go("y", says="newest first"))),
    Run("lots", with_lots, [
        Case("lots.ticket", "r", on("ticket", "delivery ticket"), after=BACK),
        Case("lots.inspect", "i", on("asking", "Inspect lot L1"), after=BACK),
        Case("lots.use", "u", on("asking", "How many were used"), after=BACK),
        Case("lots.give_back", "g", on("asking", "How many went back"), after=BACK),
        Case("lots.scrap", "x", on("asking", "How many were spoiled"), after=BACK),
        Case("lots.offcut", "f", on("asking", "Offcuts of lot L1"), after=BACK),
        Case("lots.transfer", "t", on("choice", "Which job gets pieces of lot L1"), after=BACK),
        Case("lots.put_right", "e", on("choice", "Which count of lot L1"), after=BACK),
        Case("lots.cancel", "k", on("asking", "Cancel what is still to come of lot L1"), after=BACK),
        Case("lots.cuts", "c", on("cuts", "PROVEN"), after=BACK),
        Case("lots.cost", "m", on("cost", "BY PHASE")),
        Case("cost.back", "escape", on("lots", "still to come")),
        Case("lots.buy", "b", on("buy", "To buy for 26-101"), after=BACK),
        Case("lots.back", "escape", on("job")),
    ], then(JOB, go("m", says="still to come"))),
    Run("ticket", with_lots, [
        Case("ticket.down", "down", holds(lambda s: field(s) == "26-101/L2")),
        Case("ticket.up", "up", holds(lambda s: field(s) == "26-101/L1")),
        Case("ticket.all", "f3", says("= 1 board: all that is due")),
        Case("ticket.every", "f4", says("3 lots counted of 3")),
        Case("ticket.clear", "f8", says("every field is empty"), after=go("f3")),
        Case("ticket.keep", "escape", holds(lambda s: s.desk.has_draft("26-101", "delivery ticket"), "lots")),
        Case("ticket.save", "ctrl+s", on("choice", "Received."), before=go("r", says="your draft is back")),
        Case("choice.back", "escape", on("lots", "2 still to come")),
        Case("ticket.save", "f10", on("choice", "Received."), before=go("r", "f4", says="2 lots counted of 2")),
        Case("choice.go", "enter", on("reading", "Delivery")),
    ], then(JOB, go("m", says="still to come"), go("r", to="ticket"))),
    Run("taking", one_job, [
        Case("taking.down", "down", holds(lambda s: field(s) == "title")),
        Case("taking.up", "up", holds(lambda s: field(s) == "code")),
        Case("taking.clear", "f2", holds(lambda s: not s.draft().texts),
             before=then(go("down", text="Porch"), wait(lambda s: s.draft().texts == {"title": "Porch"})), after=FIELD),
        Case("taking.clear", "f2", holds(lambda s: s.draft().texts == {"title": "Porch"}), after=FIELD),
        Case("taking.step_after", "pagedown", holds(lambda s: s.at == 1), after=FIELD),
        Case("taking.step_after", "f6", holds(lambda s: s.at == 2), after=FIELD),
        Case("taking.step_before", "pageup", holds(lambda s: s.at == 1), after=FIELD),
        Case("taking.step_before", "f5", holds(lambda s: s.at == 0), after=FIELD),
        Case("taking.look", "f4", holds(lambda s: s.has_class("-look"))),
        Case("taking.keep", "escape", holds(lambda s: not s.has_class("-look"), "taking"), after=FIELD),
        Case("taking.choice_after", "right", moves(choice_text),
             before=then(until_by("pagedown", lambda s: s.step.platform is not None), FIELD, until_by("down", chooses))),
        Case("taking.choice_before", "left", moves(choice_text)),
        Case("taking.list", "f3", on("choice"), after=BACK),
        Case("taking.more", "f7", holds(lambda s: s.form.platforms == 2), after=FIELD),
        Case("taking.fewer", "f8", holds(lambda s: s.form.platforms == 1), after=FIELD),
        Case("taking.save", "ctrl+s", holds(lambda s: s.step.key == CHECK)),
        Case("taking.step_before", "pageup", holds(lambda s: s.step.key != CHECK), before=wait(lambda s: bool(s.faults))),
        Case("taking.save", "f10", holds(lambda s: s.step.key == CHECK), before=FIELD),
        Case("taking.keep", "escape", holds(lambda s: bool(s.desk.kept_drafts), "jobs")),
    ], then(NEW, FIELD)),
    Run("cuts", two_jobs, [
        Case("cuts.stop", "s", says("STOPPED: the best found is kept")),
        Case("cuts.again", "r", says("LOOKING")),
        Case("cuts.back", "escape", says("STOPPED: the best found is kept")),
        Case("cuts.working", "enter", on("page", "Working: cut list"), after=BACK),
        Case("cuts.working", "f2", on("page", "Working: cut list"), after=BACK),
        Case("cuts.back", "escape", on("buy")),
    ], then(go("b", says="cut plans, proven"), go("c", says="LOOKING")), slow=True),
    Run("money", one_job, [
        Case("money.quote", "q", on("asking", "Quote 26-101"), after=go(text="5000")),
        Case("asking.save", "ctrl+s", says("quote 1 is out"), after=until_by("escape", lambda s: s.NAME == "money")),
        Case("money.accept", "a", on("choice", "Which option did the client take?")),
        Case("choice.go", "enter", says("ready to invoice"), after=until_by("escape", lambda s: s.NAME == "money")),
        Case("money.invoice", "i", on("choice", "Invoice what?")),
        Case("choice.go", "enter", on("money", "$500.00 due")),
        Case("money.paid", "p", on("asking", "is due"), after=BACK),
        Case("money.extra", "e", on("asking", "The price of a change"), after=BACK),
        Case("money.price", "f2", on("page", "client pays"), after=BACK),
        Case("money.hours", "t", on("hours", "/ hours"), after=BACK),
        Case("money.paper", "w", on("choice", "Put what on paper?"), after=BACK),
        Case("money.spend", "s", on("asking", "What was spent?"), after=BACK),
        Case("money.back", "escape", on("job")),
    ], then(JOB, go("c", says="not quoted yet"))),
    Run("asking", sold, [
        Case("asking.down", "down", holds(lambda s: s.focused is s.fields[1])),
        Case("asking.up", "up", holds(lambda s: s.focused is s.fields[0]), after=go(text="85")),
        Case("asking.accept", "enter", holds(lambda s: s.focused is s.fields[1]), after=go(text="strip")),
        Case("asking.back", "escape", on("money")),
        Case("asking.save", "ctrl+s", on("money", "$85.00 spent on strip"),
             before=then(go("s", says="strip"), go("down", "down", text="compactor"), go("up"))),
        Case("asking.save", "f10", on("money", "$40.00 spent on strip"),
             before=then(go("s", to="asking"), go(text="40"), go("down", text="strip"), go("down", text="van"))),
        Case("asking.accept", "enter", on("money", "$31.00 spent on strip"),
             before=then(go("s", to="asking"), go(text="31"), go("enter", text="strip"), go("enter", text="bin"))),
    ], then(JOB, go("c", says="CONTRACT"), go("s", to="asking"))),
    Run("hours", one_job, [
        Case("hours.before", "f3", says("Mon 11 May: 0:00 h logged")),
        Case("hours.after", "f4", says("Tue 12 May: 0:00 h logged")),
        Case("hours.log", "enter", says("6:00 h logged"), before=go(text="6h")),
        Case("hours.by_phase", "f2", on("page", "Hours by phase"), after=BACK),
        Case("hours.learnt", "f6", on("page", "What phases took"), after=BACK),
        Case("hours.undo", "f8", on("asking", "Take back 6:00 h"), after=BACK),
        Case("hours.down", "down", holds(lambda s: s.focused.id == "entries")),
        Case("hours.log", "enter", on("asking", "Take back 6:00 h"), after=BACK),
        Case("hours.back", "escape", holds(lambda s: s.focused.id == "typed", "hours")),
        Case("hours.back", "escape", on("job")),
    ], then(JOB, go("t", says="Type the hours"))),
    Run("sheet", one_job, [
        Case("sheet.before", "left", says("Monday 11 May 2026")),
        Case("sheet.today", "t", says("Tuesday 12 May 2026")),
        Case("sheet.after", "right", says("Wednesday 13 May 2026")),
        Case("sheet.go", "g", on("asking", "The day sheet of which day?"), after=go(text="yesterday")),
        Case("asking.accept", "enter", on("sheet", "Monday 11 May 2026")),
        Case("sheet.text", "e", on("asking", "Write the day sheet to:")),
        Case("asking.accept", "enter", lambda hands: lambda: Path("day-sheet-2026-05-11.txt").exists()),
        Case("sheet.paper", "p", on("choice", "The day sheet on paper"), before=go(to="sheet", says="written: ")),
        Case("choice.back", "escape", on("sheet")),
        Case("sheet.back", "escape", on("jobs")),
    ], then(go("d", says="Day sheet"), wait(lambda s: s.sheet is not None))),
    Run("handover", one_job, [
        Case("handover.do", "enter", on("job"), after=go("v", to="handover", says="OPEN IN THE BOOK")),
        Case("handover.add", "a", on("asking", "Punch list: what is to be mended?"), after=go(text="rail")),
        Case("asking.accept", "enter", on("handover", "1 item")),
        Case("handover.do", "enter", on("asking", "Done: rail"), before=go("home"), after=BACK),
        Case("handover.read", "p", on("choice", "Read which paper?"), after=BACK),
        Case("handover.write", "e", on("choice", "Write which paper?"), after=BACK),
        Case("handover.back", "escape", on("job")),
    ], then(JOB, go("v", says="OPEN IN THE BOOK"))),
    Run("handover, cared for", handed, [
        Case("morning.open", "enter", on("handover", "handed over Wed 1 Apr 2026"),
             before=until_by("down", lambda s: "care" in str(s.rows.key))),
        Case("handover.do", "enter", on("choice", "done today"), before=wait(lambda s: s.at[0] == "care"), after=BACK),
        Case("handover.end_care", "n", on("asking", "End the care of this deck: why?")),
    ], opened="CARE"),
    Run("page", one_job, [
        Case("page.back", "escape", on("jobs")),
        Case("page.back", "q", on("jobs"), before=go("question_mark", to="page")),
    ], go("question_mark", to="page")),
]  # fmt: skip


def need_cases() -> list[Case]:
    """The keys of the lines of NEEDS YOU, each to its own line."""

    def place(number: int) -> Callable[[Any], Any]:
        return lambda screen: screen.view.needs[number - 1].place

    return [Case("morning.need", str(n), at_place(place(n)), after=HOME) for n in range(1, 10)]
