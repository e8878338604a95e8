"""A real book in a temporary file, and the real app driven by its keys. Every job, person and place is invented."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeVar

import pytest
from textual.events import Key
from textual.pilot import Pilot

from tests.invented import platform_text
from tests.once import copy_once
from tests.rest import on_its_way
from tracker.book.hand import hand
from tracker.book.jobs import take_job
from tracker.book.opening import Book, open_book
from tracker.book.prices import take_prices
from tracker.screens.app import DeckApp
from tracker.screens.job import JobScreen
from tracker.screens.jobs import JobsScreen
from tracker.trade.jobfile import parse_job_bytes

T = TypeVar("T")
NOW = datetime(2026, 5, 12, 15, 0, tzinfo=UTC)

JOB = (
    """
code = "{code}"
title = {title}
client = {client}
site = "invented yard"
crew = "North"
start = {start}
finish = "none"

[site_facts]
frost_depth = "30 in"
soil = "clay"
service_moisture = 12
digging = false
"""
    + platform_text(size="""["12'", "9'"]""", height="10-1/2 in", joists="2x8")
    + """
[[lot]]
code = "L1"
item = "2x8x12"
supplier = {supplier}
ordered = 3
promised = 2026-05-13

[rules]
small_phases = "apart"

[prices]
"2x8x12" = "18.15"
"""
)


def quoted(text: str) -> str:
    """A TOML basic string."""
    return (
        '"'
        + "".join(c if c.isascii() and c.isprintable() and c not in '"\\' else f"\\U{ord(c):08X}" for c in text)
        + '"'
    )


def put_job(
    path: Path,
    code: str = "26-101",
    title: str = "Platform by the pear tree",
    client: str = "Client P",
    supplier: str = "Yard One",
    start: str = "2026-05-11",
) -> None:
    """Take one invented job into the book at ``path``; its owner is M. Holt."""
    text = JOB.format(code=code, title=quoted(title), client=quoted(client), supplier=quoted(supplier), start=start)
    book = open_book(path)
    try:
        take_job(book, hand("M. Holt", NOW, "office"), parse_job_bytes(text.encode(), f"{code}.toml"))
    finally:
        book.close()


PRICES = """supplier,item,price,pack,seen,lead_days,delivery,minimum
Yard One,2x8x10,15.00,1,2026-05-04,2,85.00,5000.00
Yard One,2x8x14,21.40,1,2026-05-04,,,
Yard One,5/4x6x10,11.20,1,2026-05-04,,,
Yard One,5/4x6x12,13.70,1,2026-05-04,,,
Stone Bay,block,8.90,8,2026-03-01,1,,
"""
"""An invented price list: two suppliers, blocks by eight, an old price, no price for cloth and fasteners."""


def in_book(path: Path, work: Callable[[Book], T]) -> T:
    """What ``work`` makes of the book at ``path``."""
    book = open_book(path)
    try:
        return work(book)
    finally:
        book.close()


def put_prices(path: Path) -> None:
    """Take the price list into the book."""
    in_book(path, lambda book: take_prices(book, hand("M. Holt", NOW, "office"), PRICES.encode(), "prices.csv"))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A book with one job."""
    return copy_once(tmp_path / "jobs.book", "one job", put_job)


@pytest.fixture
def patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """A screen that waits for a busy book longer than a slow machine takes to press a few keys."""
    monkeypatch.setattr("tracker.screens.app.PATIENCE", 60_000)


class Hands:
    """A person at the keys: presses, types, waits for the screen to show something."""

    def __init__(self, app: DeckApp, pilot: Pilot[int]) -> None:
        self.app = app
        self.pilot = pilot

    @property
    def shown(self) -> str:
        """The text on the screen."""
        strips = self.app.screen._compositor.render_strips()
        return "\n".join("".join(segment.text for segment in strip).rstrip() for strip in strips)

    @property
    def said(self) -> str:
        """The text on the screen without its line ends and wide gaps."""
        return " ".join(self.shown.split())

    def shows(self, text: str) -> bool:
        """Whether a text is on the screen, broken over lines or not."""
        shown = self.shown
        return text in shown or text in " ".join(shown.split())

    def proven(self) -> bool:
        """Whether a cut list is shown, looked through to its end and all of it proven."""
        return "PROVEN" in self.said and "NOT PROVEN" not in self.said and "LOOKING" not in self.said

    async def until(self, what: str | Callable[[], bool], seconds: float = 90) -> None:
        """Wait until the screen shows a text, broken over lines or not, or something holds.

        How long that may take says nothing of the program: a core may have ten others to serve.
        """
        end, step = asyncio.get_running_loop().time() + seconds, 0.005
        while not (self.shows(what) if isinstance(what, str) else what()):
            if asyncio.get_running_loop().time() > end:
                raise AssertionError(f"never came: {what}\n{self.shown}")
            await self.pilot.pause(step)
            step = min(step * 1.3, 0.2)  # looking takes a core's time that the program waited for may need

    async def settle(self) -> None:
        """Wait until nothing is on its way any more: what is shown then is what stays."""
        frames = [""]
        while len(frames) < 3 or frames[-1] != frames[-2]:
            await self.until(lambda: not self.app.working and not on_its_way(self.app))
            await self.pilot.wait_for_scheduled_animations()
            frames.append(self.shown)

    async def press(self, *keys: str, until: str | Callable[[], bool] = "") -> None:
        """Press keys, then wait."""
        for key in keys:
            await self.pilot.press(key)
            await self.pilot.pause()
        await self.until(until)

    async def type(self, text: str, then: str = "") -> None:
        """Type a text into the field in hand as fast as anybody can, then press a key."""
        for char in text:
            self.app.post_message(Key(NAMED.get(char, char), char))
        await self.pilot.pause()
        if then:
            await self.press(then)


NAMED = {
    " ": "space", "'": "apostrophe", "-": "minus", "/": "slash", '"': "quotation_mark", ".": "full_stop", ",": "comma",
}  # fmt: skip


@asynccontextmanager
async def at_the_keys(
    path: Path,
    who: str = "M. Holt",
    size: tuple[int, int] = (80, 24),
    *,
    opened: str = "OPEN JOBS",
    app: DeckApp | None = None,
) -> AsyncIterator[Hands]:
    """The app on a book, opened and read: on the open jobs, or on the morning when ``opened`` is what that shows."""
    app = app or DeckApp(path, who, "tablet", lambda: NOW)
    try:
        async with app.run_test(size=size) as pilot:
            hands = Hands(app, pilot)
            if opened == "OPEN JOBS":
                await hands.until(lambda: app.home.read_under is not None)
                await hands.press("j")
                await hands.until(lambda: isinstance(app.screen, JobsScreen) and app.screen.jobs is not None)
            await hands.until(opened)
            yield hands
    finally:
        if app.book is not None:
            app.book.close()


async def to_phase(hands: Hands, title: str) -> None:
    """From the open jobs to the job, and on to one of its phases."""
    await hands.press("enter", until="planned ")
    screen = hands.app.screen
    assert isinstance(screen, JobScreen)
    for _ in range(30):
        if screen.phase is not None and screen.phase.title == title:
            return
        await hands.press("right")
    raise AssertionError(f"no phase {title}\n{hands.shown}")
