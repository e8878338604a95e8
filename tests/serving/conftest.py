"""A real server on a port of its own, with real screens on a real book behind it. Every job is invented."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

import aiohttp
import pyte
import pytest

from tests.screens.conftest import put_job
from tracker.serving.guard import Guard, Place, loopback_place
from tracker.serving.site import Site
from tracker.serving.sitting import Desk
from tracker.serving.wire import WAIT

COLUMNS, ROWS = 80, 24


def has_ipv6() -> bool:
    """Whether this machine has its own address of IPv6."""
    try:
        socket.create_server(("::1", 0), family=socket.AF_INET6).close()
    except OSError:
        return False
    return True


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A book with one job, in a home of its own, on a day that stands still."""
    for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("DECKJOBS_NOW", "2026-05-12T17:30:00+00:00")
    monkeypatch.setenv("SECRET_OF_THE_SHELL", "not for the screens")
    book = tmp_path / "jobs.book"
    put_job(book)
    return book


@dataclass(frozen=True, slots=True)
class Served:
    """A running server: its guard and what it told whoever started it."""

    site: Site
    guard: Guard
    told: list[str]
    host: str = "127.0.0.1"

    @property
    def origin(self) -> str:
        """The address without the key."""
        return f"http://{f'[{self.host}]' if ':' in self.host else self.host}:{self.guard.port}"


@asynccontextmanager
async def serving(
    path: Path, *, most: int = 4, place: Place | None = None, host: str = "127.0.0.1", wait: float = WAIT
) -> AsyncIterator[Served]:
    """A server of the screens of M. Holt on the book at ``path``."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.create_server((host, 0), family=family) as bound:
        port = bound.getsockname()[1]
        guard = Guard(place or loopback_place(port, host), port)
        told: list[str] = []
        site = Site(Desk(path, "M. Holt", "d0"), guard, most=most, tell=told.append, wait=wait)
        ready = asyncio.Event()
        task = asyncio.create_task(site.run(bound, ready.set))
        try:
            await asyncio.wait_for(ready.wait(), 120)
            yield Served(site, guard, told, host)
        finally:
            task.cancel()
            with suppress(asyncio.CancelledError):
                await task


@asynccontextmanager
async def client(served: Served, *, entered: bool = True) -> AsyncIterator[aiohttp.ClientSession]:
    """A browser's part: cookies of its own, let in by the key unless told otherwise."""
    jar = aiohttp.CookieJar(unsafe=True)  # cookies of an address that is a number
    async with aiohttp.ClientSession(cookie_jar=jar) as session:
        if entered:
            async with session.get(served.guard.address, allow_redirects=False) as answer:
                assert answer.status == 303
        yield session


class Terminal:
    """What a page shows: the drawing of the screens played on a terminal (pyte)."""

    def __init__(self, line: aiohttp.ClientWebSocketResponse, columns: int = COLUMNS, rows: int = ROWS) -> None:
        self.line = line
        self.screen = pyte.Screen(columns, rows)
        self.stream = pyte.ByteStream(self.screen)
        self.asides: list[str] = []

    @property
    def shown(self) -> str:
        """The text on it."""
        return "\n".join(self.screen.display)

    async def until(self, what: str | Callable[[], bool], seconds: float = 120) -> None:
        """Read until it shows a text or something holds."""
        try:
            async with asyncio.timeout(seconds):
                while not (what in self.shown if isinstance(what, str) else what()):
                    message = await self.line.receive()
                    if message.type is aiohttp.WSMsgType.BINARY:
                        self.stream.feed(message.data)
                    elif message.type is aiohttp.WSMsgType.TEXT:
                        self.asides.append(message.data)
                    else:
                        raise AssertionError(f"the line ended ({message.type}) before {what}\n{self.shown}")
        except TimeoutError:
            raise AssertionError(f"never came: {what}\n{self.shown}") from None

    async def press(self, keys: str, until: str | Callable[[], bool]) -> None:
        """Type, then wait."""
        await self.line.send_json(["stdin", keys])
        await self.until(until)


@asynccontextmanager
async def opened(served: Served, session: aiohttp.ClientSession) -> AsyncIterator[Terminal]:
    """The screens in a page of that browser."""
    url = f"{served.origin}/ws?width={COLUMNS}&height={ROWS}"
    async with session.ws_connect(url, origin=served.origin) as line:
        yield Terminal(line)


async def to_job(page: Terminal) -> None:
    """From the first screen to the one job."""
    await page.until("1 open job  signs: M. Holt")
    await page.press("j", lambda: "OPEN JOBS" in page.shown and "Platform by the" in page.shown)
    await page.press("\r", "Site visit  ahead")
