"""Every key there is, pressed once: each action of the registry stands here with what its keys bring about.

A key brings about a text that was not on the screen, or a change of what a probe looks at (the screen in front, the
field in hand, the part of the plan). The keys of a screen share one run of the program on the sample jobs.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import date, timedelta
from importlib import import_module
from pathlib import Path
from shutil import copyfile
from typing import TypeAlias

import pytest
from textual.screen import Screen
from textual.widgets import Input

from tests.book.conftest import hand_of
from tests.handed_over import hand_over, oiled, take
from tests.screens.conftest import NOW, Hands, at_the_keys
from tracker.book.opening import open_book
from tracker.book.samples import sample_files, take_sample, take_sample_prices
from tracker.screens.actions import ACTIONS, SCREEN_TITLES, Action
from tracker.screens.asking import Blanks
from tracker.screens.buy import BuyScreen
from tracker.screens.changing import ChangingScreen
from tracker.screens.choice import Choice
from tracker.screens.cost import CostScreen
from tracker.screens.cuts import CutScreen
from tracker.screens.finding import FindScreen
from tracker.screens.frame import Framed
from tracker.screens.handover import HandoverScreen
from tracker.screens.history import HistoryScreen
from tracker.screens.hours import HoursScreen
from tracker.screens.job import JobScreen
from tracker.screens.jobs import JobsScreen
from tracker.screens.lots import LotsScreen
from tracker.screens.money import MoneyScreen
from tracker.screens.morning import MorningScreen
from tracker.screens.page import Page
from tracker.screens.plan import PlanScreen
from tracker.screens.reading import ReadingScreen
from tracker.screens.sheet import SheetScreen
from tracker.screens.taking import TakingScreen
from tracker.screens.ticket import TicketScreen

Opening: TypeAlias = Callable[[Hands], Awaitable[None]]
Probe: TypeAlias = Callable[[Hands], object]
EMPTY = "no job in the book"
ENDS = "the program ends"
TYPED = "="
"""What begins with it is typed; other steps are keys."""


@dataclass(frozen=True, slots=True)
class Case:
    """How an action is reached, and what its key brings about: a text, or another value of a probe."""

    opening: Opening
    brings: str | Probe
    of: str = ""
    """``EMPTY`` for a book without a job, ``ENDS`` for an action after which nothing more can be pressed."""


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """An action that needs more than a press: the test that does it."""

    module: str
    test: str


def on(screen: Callable[[], Screen[object]] | None, *steps: str) -> Opening:
    """Open a screen over the morning, none for the morning itself, and take some steps on it."""

    async def opened(hands: Hands) -> None:
        if screen is not None:
            await hands.app.push_screen(screen())
            await quiet(hands)
        for step in steps:
            await (hands.type(step.removeprefix(TYPED)) if step.startswith(TYPED) else hands.press(step))
            await quiet(hands)

    return opened


async def quiet(hands: Hands) -> None:
    """Wait until nothing is read, written or drawn any more."""
    await hands.pilot.pause()
    await hands.until(lambda: all(worker.is_finished for worker in hands.app.workers))
    await hands.pilot.pause()


def front(hands: Hands) -> object:
    """The screen in front."""
    return hands.app.screen


def in_hand(hands: Hands) -> object:
    """The widget in hand."""
    return hands.app.focused


def shown(hands: Hands) -> object:
    """Every word on the screen."""
    return hands.shown


def goes(kind: type[Screen[object]]) -> Probe:
    """Whether a screen of this kind is in front."""
    return lambda hands: isinstance(hands.app.screen, kind)


def plan(part: Callable[[PlanScreen], object]) -> Probe:
    """A part of the plan in front."""

    def looked(hands: Hands) -> object:
        assert isinstance(hands.app.screen, PlanScreen)
        return part(hands.app.screen)

    return looked


def phase(hands: Hands) -> object:
    """The phase of the job in front."""
    assert isinstance(hands.app.screen, JobScreen)
    return hands.app.screen.phase_key


def highlighted(hands: Hands) -> object:
    """The place under the cursor of what was found."""
    assert isinstance(hands.app.screen, FindScreen)
    return hands.app.screen.query_one("#hits").highlighted  # type: ignore[attr-defined]


def value(hands: Hands) -> object:
    """What the field in hand holds."""
    return hands.app.focused.value if isinstance(hands.app.focused, Input) else None


def beside(hands: Hands) -> object:
    """How far the list beside the plan is scrolled."""
    return hands.app.screen.query_one("#beside").scroll_y


def job(code: str = "26-014") -> Callable[[], JobScreen]:
    """A job at its phase in hand; 26-014 is in its frame, whose square failed."""
    return lambda: JobScreen(code)


def reading(check: str = "square") -> Callable[[], JobScreen]:
    """The form of a check of the frame."""
    return lambda: JobScreen("26-014", check, reads=True)


def drawn(code: str = "26-014") -> Callable[[], PlanScreen]:
    """The plan of a job."""
    return lambda: PlanScreen(code)


def lots(code: str = "26-015") -> Callable[[], LotsScreen]:
    """The material of a job."""
    return lambda: LotsScreen(code)


def money(code: str) -> Callable[[], MoneyScreen]:
    """The money of a job."""
    return lambda: MoneyScreen(code)


def hours() -> HoursScreen:
    return HoursScreen("26-014")


def history() -> HistoryScreen:
    return HistoryScreen("26-014")


HERE = on(None)
CLOSER = ("plus", "plus")
UNIT = ("down", "down", "down", "down")
"""From the first field of a job form to the unit of bare numbers, a field of choices."""

CASES: dict[str, Case | Elsewhere] = {
    "anywhere.help": Case(HERE, "Arrows move, Enter does"),
    "anywhere.command_palette": Case(HERE, "Search for commands"),
    "anywhere.other_light": Case(HERE, lambda hands: hands.app.theme),
    "anywhere.suspend_process": Elsewhere("tests.screens.test_terminal", "test_put_to_sleep_and_woken_it_is_as_it_was"),
    "anywhere.search": Case(HERE, goes(FindScreen)),
    "anywhere.leave": Case(HERE, lambda hands: hands.app.return_code, ENDS),
    "morning.open": Case(HERE, goes(JobScreen)),
    "morning.need": Case(HERE, front),
    "morning.new_job": Case(HERE, goes(TakingScreen)),
    "morning.jobs": Case(HERE, goes(JobsScreen)),
    "morning.buy": Case(HERE, goes(BuyScreen)),
    "morning.ticket": Case(HERE, "Whose delivery came?"),
    "morning.sheet": Case(HERE, goes(SheetScreen)),
    "morning.search": Case(HERE, goes(FindScreen)),
    "morning.samples": Case(HERE, "sample jobs into", EMPTY),
    "morning.ideas": Case(HERE, "Five ideas"),
    "morning.stop": Elsewhere("tests.screens.test_morning", "test_loading_can_be_stopped_and_begun_again"),
    "morning.across": Case(HERE, in_hand),
    "morning.drafts": Case(on(reading(), "=14'", "escape", "escape"), "your draft is back"),
    "morning.reread": Case(HERE, "read again"),
    "morning.leave": Case(HERE, lambda hands: hands.app.return_code, ENDS),
    "jobs.open": Case(on(JobsScreen), goes(JobScreen)),
    "jobs.new_job": Case(on(JobsScreen), goes(TakingScreen)),
    "jobs.narrow": Case(on(JobsScreen), in_hand),
    "jobs.sort": Case(on(JobsScreen), "OPEN JOBS by days late"),
    "jobs.buy": Case(on(JobsScreen), goes(BuyScreen)),
    "jobs.ticket": Case(on(JobsScreen), "Whose delivery came?"),
    "jobs.sheet": Case(on(JobsScreen), goes(SheetScreen)),
    "jobs.drafts": Case(on(JobsScreen, "enter", "enter", "=14'", "escape", "escape"), "your draft is back"),
    "jobs.back": Case(on(JobsScreen), goes(MorningScreen)),
    "jobs.reread": Case(on(JobsScreen), "read again"),
    "jobs.leave": Case(on(JobsScreen), lambda hands: hands.app.return_code, ENDS),
    "finding.go": Case(on(FindScreen, "=26-014"), goes(JobScreen)),
    "finding.back": Case(on(FindScreen), goes(MorningScreen)),
    "finding.down": Case(on(FindScreen, "=frame"), highlighted),
    "finding.up": Case(on(FindScreen, "=frame", "down"), highlighted),
    "finding.further": Case(on(FindScreen, "=frame"), highlighted),
    "finding.nearer": Case(on(FindScreen, "=frame", "pagedown"), highlighted),
    "job.read": Case(on(job()), goes(ReadingScreen)),
    "job.start": Case(on(job("26-019")), "Delivery and yard check under way"),
    "job.sign_off": Case(on(job()), "cannot be signed off"),
    "job.waive": Case(on(job()), "Waive Frame square: why?"),
    "job.hold": Case(on(job()), "Hold frame: why?"),
    "job.ways": Case(on(job()), "In the way of frame"),
    "job.note": Case(on(job()), "Note (26-014)"),
    "job.plan": Case(on(job()), goes(PlanScreen)),
    "job.lots": Case(on(job()), goes(LotsScreen)),
    "job.hours": Case(on(job()), goes(HoursScreen)),
    "job.buy": Case(on(job()), goes(BuyScreen)),
    "job.money": Case(on(job()), goes(MoneyScreen)),
    "job.history": Case(on(job()), goes(HistoryScreen)),
    "job.change": Case(on(job()), goes(ChangingScreen)),
    "job.hand_over": Case(on(job()), goes(HandoverScreen)),
    "job.take_back": Case(on(job()), "Take back the reading of Frame square"),
    "job.reopen": Case(on(job(), "left"), "Reopen blocks, posts and beams: why?"),
    "job.working": Case(on(job()), "Working: Frame square"),
    "job.before": Case(on(job()), phase),
    "job.after": Case(on(job()), phase),
    "job.back": Case(on(job()), goes(MorningScreen)),
    "reading.save": Case(on(reading(), "f4"), "Frame square FAILED:"),
    "reading.keep": Case(on(reading(), "=14'"), "(draft)"),
    "reading.working": Case(on(reading()), "Working: Frame square"),
    "reading.row": Case(on(reading("crown")), "Add a joist"),
    "reading.last": Case(on(reading()), "the empty fields hold the last reading"),
    "reading.correct": Case(on(reading()), "CORRECTS the reading by"),
    "reading.picture": Case(on(reading()), "F6 shows the verdict in full again"),
    "reading.take_back": Case(on(reading()), "Take back the reading of Frame square"),
    "reading.clear": Case(on(reading(), "=14'"), "every field is empty"),
    "reading.down": Case(on(reading()), in_hand),
    "reading.up": Case(on(reading(), "down"), in_hand),
    "reading.further": Case(on(reading("crown")), in_hand),
    "reading.nearer": Case(on(reading("crown"), "pagedown"), in_hand),
    "plan.closer": Case(on(drawn()), "1.5 times closer"),
    "plan.further": Case(on(drawn(), "plus"), "all of it"),
    "plan.whole": Case(on(drawn(), *CLOSER), "all of it"),
    "plan.back": Case(on(drawn()), goes(MorningScreen)),
    "plan.check": Case(on(drawn()), goes(ReadingScreen)),
    "plan.joist_before": Case(on(drawn()), "joist 12 of 12"),
    "plan.joist_after": Case(on(drawn()), "joist 1 of 12"),
    "plan.other_platform": Case(on(drawn("26-017")), ", 2 of 2"),
    "plan.tape": Case(on(drawn()), "hook the tape"),
    "plan.signs": Case(on(drawn()), plan(lambda screen: screen.list_shown)),
    "plan.phase_layers": Case(on(drawn(), "b"), "for frame: "),
    "plan.frame": Case(on(drawn()), plan(lambda screen: screen.plan.parts)),
    "plan.supports": Case(on(drawn()), plan(lambda screen: screen.plan.parts)),
    "plan.boards": Case(on(drawn()), "boards and checks"),
    "plan.checks": Case(on(drawn()), plan(lambda screen: screen.plan.parts)),
    "plan.page": Case(on(drawn()), "Write the plan as SVG to:"),
    "plan.left": Case(on(drawn(), *CLOSER), plan(lambda screen: screen.plan.view)),
    "plan.right": Case(on(drawn(), *CLOSER), plan(lambda screen: screen.plan.view)),
    "plan.up": Case(on(drawn(), *CLOSER), plan(lambda screen: screen.plan.view)),
    "plan.down": Case(on(drawn(), *CLOSER), plan(lambda screen: screen.plan.view)),
    "plan.page_down": Case(on(drawn(), "t"), beside),
    "plan.page_up": Case(on(drawn(), "t", "pagedown"), beside),
    "buy.order": Case(on(BuyScreen), goes(Blanks)),
    "buy.working": Case(on(BuyScreen), goes(Page)),
    "buy.cuts": Case(on(BuyScreen), goes(CutScreen)),
    "buy.job": Case(on(BuyScreen), front),
    "buy.back": Case(on(BuyScreen), goes(MorningScreen)),
    "history.open": Case(on(history), goes(Page)),
    "history.narrow": Case(on(history), in_hand),
    "history.other_end": Case(on(history), "oldest first"),
    "history.back": Case(on(history), goes(MorningScreen)),
    "lots.ticket": Case(on(lots()), goes(TicketScreen)),
    "lots.back": Case(on(lots()), goes(MorningScreen)),
    "lots.inspect": Case(on(lots()), "Inspect lot R1"),
    "lots.use": Case(on(lots()), "How many were used"),
    "lots.give_back": Case(on(lots()), "How many went back"),
    "lots.scrap": Case(on(lots()), "How many were spoiled"),
    "lots.offcut": Case(on(lots(), "u", "=1", "enter"), "Offcuts of lot R1"),
    "lots.transfer": Case(on(lots()), "Which job gets pieces of lot R1"),
    "lots.cuts": Case(on(lots()), goes(CutScreen)),
    "lots.cost": Case(on(lots()), goes(CostScreen)),
    "lots.buy": Case(on(lots()), goes(BuyScreen)),
    "ticket.save": Case(on(lots("26-019"), "r", "=1"), "received lot"),
    "ticket.keep": Case(on(lots("26-021"), "r", "=1"), goes(LotsScreen)),
    "ticket.all": Case(on(lots("26-021"), "r"), value),
    "ticket.every": Case(on(lots("26-021"), "r"), "2 lots counted of 2"),
    "ticket.clear": Case(on(lots("26-021"), "r", "=1"), "every field is empty"),
    "ticket.down": Case(on(lots("26-021"), "r"), in_hand),
    "ticket.up": Case(on(lots("26-021"), "r", "down"), in_hand),
    "taking.save": Case(on(None, "n"), shown),
    "taking.keep": Case(on(None, "n", "down", "=Porch"), goes(MorningScreen)),
    "taking.step_after": Case(on(None, "n"), "2 of "),
    "taking.step_before": Case(on(None, "n", "pagedown"), "1 of "),
    "taking.list": Case(on(None, "n", *UNIT), goes(Choice)),
    "taking.look": Case(on(None, "n"), shown),
    "taking.more": Case(on(None, "n"), shown),
    "taking.fewer": Case(on(None, "n", "f7", "pagedown"), shown),
    "taking.clear": Case(on(None, "n", "down", "=Porch"), "thrown out"),
    "taking.down": Case(on(None, "n"), in_hand),
    "taking.up": Case(on(None, "n", "down"), in_hand),
    "taking.choice_before": Case(on(None, "n", *UNIT, "right"), shown),
    "taking.choice_after": Case(on(None, "n", *UNIT), shown),
    "cuts.stop": Elsewhere("tests.screens.test_cuts", "test_a_search_is_stopped_and_its_best_kept"),
    "cuts.again": Elsewhere("tests.screens.test_cuts", "test_a_search_is_stopped_and_its_best_kept"),
    "cuts.working": Case(on(lambda: CutScreen(["26-014"])), "Working: cut list"),
    "cuts.back": Case(on(lambda: CutScreen(["26-014"])), goes(MorningScreen)),
    "cost.back": Case(on(lambda: CostScreen("26-014")), goes(MorningScreen)),
    "money.invoice": Case(on(money("26-014")), front),
    "money.paid": Case(on(money("26-014")), goes(Blanks)),
    "money.spend": Case(on(money("26-014")), goes(Blanks)),
    "money.extra": Case(on(money("26-014")), goes(Blanks)),
    "money.quote": Case(on(money("26-019")), goes(Blanks)),
    "money.accept": Case(on(money("26-019")), front),
    "money.price": Case(on(money("26-014")), front),
    "money.hours": Case(on(money("26-014")), goes(HoursScreen)),
    "money.paper": Case(on(money("26-014")), goes(Choice)),
    "money.back": Case(on(money("26-014")), goes(MorningScreen)),
    "hours.log": Case(on(hours, "=1h frame"), "1:00 h logged"),
    "hours.before": Case(on(hours), "Mon 11 May: "),
    "hours.after": Case(on(hours, "f3"), "Tue 12 May: "),
    "hours.by_phase": Case(on(hours), "Hours by phase"),
    "hours.learnt": Case(on(hours), "What phases took"),
    "hours.undo": Case(on(hours), "Take back"),
    "hours.down": Case(on(hours), in_hand),
    "hours.back": Case(on(hours), goes(MorningScreen)),
    "sheet.before": Case(on(SheetScreen), "Monday 11 May"),
    "sheet.after": Case(on(SheetScreen), "Wednesday 13 May"),
    "sheet.today": Case(on(SheetScreen, "left"), "Tuesday 12 May"),
    "sheet.go": Case(on(SheetScreen), goes(Blanks)),
    "sheet.text": Case(on(SheetScreen), goes(Blanks)),
    "sheet.paper": Case(on(SheetScreen), front),
    "sheet.back": Case(on(SheetScreen), goes(MorningScreen)),
    "handover.do": Case(on(lambda: HandoverScreen("26-014")), front),
    "handover.add": Case(on(lambda: HandoverScreen("26-014")), "what is to be mended?"),
    "handover.read": Case(on(lambda: HandoverScreen("26-014")), goes(Choice)),
    "handover.write": Case(on(lambda: HandoverScreen("26-014")), goes(Choice)),
    "handover.end_care": Case(on(lambda: HandoverScreen("26-101")), goes(Blanks)),
    "handover.back": Case(on(lambda: HandoverScreen("26-014")), goes(MorningScreen)),
    "choice.go": Case(on(job(), "g"), "To do: "),
    "choice.back": Case(on(job(), "g"), goes(JobScreen)),
    "asking.accept": Case(on(job(), "n", "=gate is stiff"), "noted on 26-014"),
    "asking.save": Case(on(lots(), "i", "=9"), goes(LotsScreen)),
    "asking.back": Case(on(job(), "n"), goes(JobScreen)),
    "asking.down": Case(on(lots(), "i"), in_hand),
    "asking.up": Case(on(lots(), "i", "down"), in_hand),
    "page.back": Case(on(job(), "f2"), goes(JobScreen)),
}  # fmt: skip


@pytest.fixture(scope="module")
def samples(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book with the sample jobs, and one job that was handed over in April."""
    path = tmp_path_factory.mktemp("samples") / "jobs.book"
    owner, april = hand_of("M. Holt", NOW.date()), hand_of("M. Holt", date(2026, 4, 1))
    with closing(open_book(path)) as book:
        take_sample_prices(book, owner)
        for file in sample_files():
            take_sample(book, owner, file)
        take(book, april, oiled().replace("2026-05-04", str(april.day - timedelta(days=30))))
        hand_over(book, april)
    return path


def test_every_action_stands_here() -> None:
    assert {action.id for action in ACTIONS} == set(CASES)


@pytest.mark.parametrize("case", [case for case in CASES.values() if isinstance(case, Elsewhere)])
def test_what_is_pressed_elsewhere_is_pressed_there(case: Elsewhere) -> None:
    assert callable(getattr(import_module(case.module), case.test))


def cases(screen: str, of: str = "") -> list[tuple[Action, Case]]:
    """The actions of a screen with their cases, those that need a book, or an end, of that kind."""
    found = ((action, CASES.get(action.id)) for action in ACTIONS if action.screen == screen)
    return [(action, case) for action, case in found if isinstance(case, Case) and case.of == of]


async def press(hands: Hands, case: Case, key: str) -> None:
    """Go to where the key works, press it, and wait for what it brings about, which was not there before."""
    await case.opening(hands)
    if isinstance(case.brings, str):
        told = case.brings
        assert told not in hands.said, f"{told} stands there before {key}\n{hands.shown}"
        await hands.press(key, until=told)
        return
    probe, before = case.brings, case.brings(hands)
    await hands.press(key, until=lambda: probe(hands) != before)


async def afresh(hands: Hands, first: Framed[object]) -> None:
    """Back to the morning, nothing typed, the cursor on the first thing."""
    await quiet(hands)
    while hands.app.screen is not first:
        await hands.app.pop_screen()
    hands.app.drafts.clear()
    hands.app.unsent.clear()
    first.query_one("#today").focus()
    first.tell("")
    await quiet(hands)
    await hands.press("home")


@pytest.mark.parametrize("screen", [screen for screen in SCREEN_TITLES if cases(screen)])
async def test_every_key_of_a_screen_does_something(samples: Path, tmp_path: Path, screen: str) -> None:
    path = Path(copyfile(samples, tmp_path / "jobs.book"))
    async with at_the_keys(path, opened="NEEDS YOU") as hands:
        for action, case in cases(screen):
            for key in action.keys.split(","):
                await afresh(hands, hands.app.home)
                await press(hands, case, key)


def ending() -> Sequence[tuple[str, Case, str]]:
    """Every key that ends the program."""
    of = [pair for screen in SCREEN_TITLES for pair in cases(screen, ENDS)]
    return [(action.id, case, key) for action, case in of for key in action.keys.split(",")]


@pytest.mark.parametrize(("name", "case", "key"), ending())
async def test_every_key_that_ends_the_program(path: Path, name: str, case: Case, key: str) -> None:
    async with at_the_keys(path, opened="NEEDS YOU") as hands:
        await press(hands, case, key)
        assert hands.app.return_code == 0, name


async def test_the_keys_of_an_empty_book(tmp_path: Path) -> None:
    path = tmp_path / "jobs.book"
    open_book(path).close()
    async with at_the_keys(path, opened="No open job in this book yet") as hands:
        for action, case in cases("morning", EMPTY):
            await press(hands, case, action.keys)
