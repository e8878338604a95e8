"""The main job by keys alone: from an empty book, through every phase and check, to the hand-over.

The platform is 12 ft by 9 ft, so the diagonals are 15 ft (3-4-5); ten joists stand at 16 in; all figures by hand.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path

from tests.screens.conftest import NOW, Hands, at_the_keys, in_book
from tests.screens.test_taking import EMPTY, at_field, next_step, to_field
from tracker.book.care import doctor
from tracker.book.jobs import job_view
from tracker.book.lots import lots
from tracker.book.opening import open_book
from tracker.book.views import CheckState, JobView, PhaseState
from tracker.screens.app import DeckApp
from tracker.screens.asking import Blanks
from tracker.screens.buy import BuyScreen
from tracker.screens.cells import Cell
from tracker.screens.job import JobScreen
from tracker.screens.morning import MorningScreen
from tracker.screens.reading import ReadingScreen
from tracker.screens.rows import Rows
from tracker.screens.taking import TakingScreen

RECTANGLE = {"width": "12'", "depth": "9'", "ac": "15'", "bd": "15'"}
# Boards laid touching shrink to their gap, so they must come wet.
LUMBER = {"stamp": "yes", "tag": "UC4A", "moisture": "28", "culls": "0"}
INSPECTED = {"result": "passed", "day": "today", "by": "M. Holt"}
# Centres: the first and last flush with the ends (half of 1-1/2 in), the others every 16 in.
MARKS = ["3/4", "16", "32", "48", "64", "80", "96", "112", "128", "143-1/4"]
READINGS = {
    # Called more working days ahead than the house waits for.
    "locate": {"ticket": "T-1", "called": "2026-05-08", "expires": "2026-06-30", "answered": "yes", "private": "yes"},
    "layout-square": RECTANGLE,
    "stripped": {"depth": "3", "organics": "yes", "firm": "yes", "fall": "2-1/2", "run": "10'", "lap": "12", "cloth": "yes"},
    "block-level": {"1a": "0", "1c": "0", "10a": "0", "10c": "0"},
    "crown": {str(n): "1/8" for n in range(1, 11)},
    "joist-spacing": {str(n): at for n, at in enumerate(MARKS, 1)},
    # One nail for each 2 in of nominal width (common practice): 4 in a 2x8.
    "fasteners": {"coating": "stainless", "1L": "4", "4R": "4", "7L": "4", "10R": "4"},
    # Joists of 8' 9" between the rims, a block at each end and one in the middle.
    "support": {"tag": "UC4A", "fixed": "yes", "drains": "yes"} | {str(n): "0; 52-1/2; 8' 9" for n in range(1, 11)},
    "square": RECTANGLE,
    "level": dict.fromkeys("ABCD", "0"),
    "soil-and-air": {"clearance": "2-3/4", "fall": "2-1/2", "run": "10'", "open-length": "18'", "open-height": "2", "open-sides": "2",
                     "clear": "yes", "photos": "6"},
    "framing-inspection": INSPECTED,
    "gap": {"width": "5-1/2", "b1": "28", "b2": "28", "b3": "28"},
    "board-layout": {"laid": "20", "left": "0", "right": "0"},
    "screws": {"predrilled": "yes"} | {f"c{n}.{what}": value for n in (1, 2, 3) for what, value in (("count", "2"), ("edge", "1"))},
    "final-inspection": INSPECTED,
}  # fmt: skip


class Days:
    """A clock the crew's days are counted on."""

    def __init__(self) -> None:
        self.now = NOW

    def __call__(self) -> datetime:
        return self.now

    def next(self) -> None:
        """Sleep."""
        self.now += timedelta(days=1)


async def take_it_in(hands: Hands) -> None:
    """Take the job in on screen."""
    await hands.press("n", until=lambda: isinstance(hands.app.screen, TakingScreen))
    await at_field(hands, "code")
    await to_field(hands, "title")
    await hands.type("Willow platform", "enter")
    await hands.type("Client W", "enter")
    await next_step(hands, "platform.0.name")
    await to_field(hands, "platform.0.size.0")
    await hands.type("12'", "enter")
    await hands.type("9'", "enter")
    await hands.type("11 in")
    await hands.press("ctrl+s", until="26-001 Willow platform")
    await hands.until("crew day")
    await hands.press("ctrl+s", until="Write the job file to:")
    await hands.press("escape", until=lambda: isinstance(hands.app.screen, MorningScreen))


async def buy_it(hands: Hands) -> None:
    """Order everything on the list from one supplier, without a price book."""
    await hands.press("b", until="to buy")
    screen = hands.app.screen
    assert isinstance(screen, BuyScreen)
    for _ in range(12):
        if "Nothing is left to buy" in hands.shown:
            break
        before = hands.shown
        await hands.press("o", until="Order ")
        await hands.press("ctrl+s", until=lambda: hands.app.screen is screen)
        await hands.until(lambda before=before: hands.shown != before)  # type: ignore[misc]
    await hands.press("escape", until=lambda: isinstance(hands.app.screen, JobScreen))


def now_at(path: Path, day: date) -> JobView:
    return in_book(path, lambda book: job_view(book, "26-001", day))


async def read_check(hands: Hands, key: str, values: dict[str, str]) -> None:
    """From the phase to the form of a check, through its fields, and save."""
    screen = hands.app.screen
    assert isinstance(screen, JobScreen)
    checks = screen.query_one("#checks", Rows)
    await hands.press("home")
    for _ in range(12):
        if checks.key == key:
            break
        await hands.press("down")
    await hands.press("enter", until=lambda: isinstance(hands.app.screen, ReadingScreen))
    await fill(hands, values)
    await hands.press("ctrl+s", until=lambda: isinstance(hands.app.screen, JobScreen))


async def fill(hands: Hands, values: dict[str, str]) -> None:
    """Type values into the fields of a form, going on with enter."""
    await hands.until(lambda: isinstance(hands.app.focused, Cell))
    for _ in range(200):
        cell = hands.app.focused
        assert isinstance(cell, Cell)
        if cell.value_name in values:
            await hands.type(values[cell.value_name])
        if cell.value_name == list(values)[-1]:
            return
        await hands.press("enter", until=lambda cell=cell: hands.app.focused is not cell)  # type: ignore[misc]
    raise AssertionError(f"no field {list(values)[-1]}\n{hands.shown}")


async def receive_it(hands: Hands, path: Path, day: date) -> None:
    """Everything came, as ordered; read it over at once."""
    await hands.press("m", until="to come")
    await hands.press("r", until="delivery ticket")
    await hands.press("f4", "ctrl+s", until="Go on to the delivery check?")
    await hands.press("enter", until=lambda: isinstance(hands.app.screen, ReadingScreen))
    form = hands.app.screen
    assert isinstance(form, ReadingScreen)
    values: dict[str, str] = {}
    for lot in in_book(path, lambda book: lots(book, "26-001", day)):
        values[f"{lot.code}.count"] = str(lot.ordered)
        if lot.use_category:  # treated wood
            values |= {f"{lot.code}.{what}": value for what, value in LUMBER.items()}
    await fill(hands, values)
    await hands.press("ctrl+s", until=lambda: not isinstance(hands.app.screen, ReadingScreen))
    while not isinstance(hands.app.screen, JobScreen):
        await hands.press("escape")


def asked_what_was_used(hands: Hands) -> bool:
    """Whether the sign-off asks what the phase used of the lots."""
    return isinstance(hands.app.screen, Blanks) and "what was used?" in hands.shown


def left(screen: JobScreen, key: str) -> bool:
    """Whether the screen went on from a phase, or it was the last and is signed off."""
    return screen.phase_key != key or (screen.phase is not None and screen.phase.state is PhaseState.SIGNED_OFF)


async def test_from_an_empty_book_to_the_hand_over(tmp_path: Path) -> None:
    path, days = tmp_path / "jobs.book", Days()
    open_book(path).close()
    async with at_the_keys(path, opened=EMPTY, app=DeckApp(path, "M. Holt", "tablet", days)) as hands:
        await take_it_in(hands)
        await hands.press("j", until="OPEN JOBS")
        await hands.press("enter", until="planned ")
        screen = hands.app.screen
        assert isinstance(screen, JobScreen)
        while screen.phase is not None and screen.phase.state is not PhaseState.SIGNED_OFF:
            phase = screen.phase
            if phase.key == "delivery":
                await buy_it(hands)
            await hands.press("s", until=f"{phase.title}: under way")
            if phase.key == "delivery":
                await receive_it(hands, path, days().date())
            for check in phase.checks:
                if check.key not in ("delivery", "design"):  # the design is judged without a reading
                    await read_check(hands, check.key, READINGS[check.key])
            await hands.press("o", until=lambda key=phase.key: left(screen, key) or asked_what_was_used(hands))  # type: ignore[misc]
            if isinstance(asked := hands.app.screen, Blanks):
                answer = "ctrl+s" if len(asked.blanks) > 1 else "enter"
                await hands.press(answer, until=lambda key=phase.key: left(screen, key))  # type: ignore[misc]
            days.next()
        view = now_at(path, days().date())
        await hands.press("escape", "escape", until=lambda: isinstance(hands.app.screen, MorningScreen))
    assert {phase.state for phase in view.phases} == {PhaseState.SIGNED_OFF}
    states = {check.key: check.state for phase in view.phases for check in phase.checks}
    assert set(states.values()) == {CheckState.PASSED} and set(states) == {*READINGS, "delivery", "design"}
    assert all(lot.on_order == 0 for lot in view.lots) and not any(need.to_buy for need in view.needs)
    assert doctor(path).problems == ()
