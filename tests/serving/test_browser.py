"""The page in a real browser without a window: drawn, tapped, typed at, and closed to pages from elsewhere."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pyte
import pytest
from aiohttp import web
from playwright.async_api import BrowserContext, Page, WebSocket, async_playwright

from tests.screens.conftest import NOW, in_book
from tests.serving.conftest import Served, serving
from tracker.book.jobs import job_view

CHROMIUM = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), None
)
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
TABLET = {"width": 1024, "height": 768}

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here: install the system's chromium package")


class Tab:
    """A page of the browser: what its socket brought, played on a terminal of the page's own size."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.screen = pyte.Screen(80, 24)
        self.stream = pyte.ByteStream(self.screen)
        self.faults: list[str] = []
        page.on("websocket", self.attach)
        page.on("pageerror", lambda error: self.faults.append(str(error)))
        page.on("console", lambda message: self.faults.append(message.text) if message.type == "error" else None)

    def attach(self, socket: WebSocket) -> None:
        """Follow the socket of the screens."""
        query = dict(part.split("=") for part in socket.url.partition("?")[2].split("&"))
        self.screen.resize(int(query["height"]), int(query["width"]))
        self.screen.reset()
        socket.on("framereceived", self.feed)

    def feed(self, payload: str | bytes) -> None:
        """Play what came."""
        if isinstance(payload, bytes):
            self.stream.feed(payload)

    @property
    def shown(self) -> str:
        """The text on it."""
        return "\n".join(self.screen.display)

    async def until(self, text: str, columns: range = range(1000)) -> None:
        """Wait for a text on a terminal of so many columns, and for the browser to have drawn it."""
        for _ in range(1200):
            if text in self.shown and self.screen.columns in columns:
                await self.page.wait_for_timeout(150)
                return
            await self.page.wait_for_timeout(100)
        raise AssertionError(f"never came: {text}\n{self.shown}")

    async def drawn(self) -> bytes:
        """The picture of the terminal."""
        return await self.page.locator("#terminal").screenshot()


@asynccontextmanager
async def browser(tmp_path: Path, *, touch: bool = False) -> AsyncIterator[BrowserContext]:
    """A browser with nothing in it, as large as a tablet."""
    async with async_playwright() as driver:
        context = await driver.chromium.launch_persistent_context(
            str(tmp_path / "browser"), executable_path=CHROMIUM, headless=True, args=FLAGS, has_touch=touch,
            viewport={"width": TABLET["width"], "height": TABLET["height"]}, accept_downloads=True,
        )  # fmt: skip
        try:
            yield context
        finally:
            await context.close()


async def open_tab(context: BrowserContext, served: Served) -> Tab:
    """The screens, opened by their address."""
    tab = Tab(await context.new_page())
    await tab.page.goto(served.guard.address)
    await tab.until("1 open job")
    return tab


async def test_the_screens_are_drawn_and_follow_keys_buttons_and_taps(path: Path, tmp_path: Path) -> None:
    async with serving(path) as served, browser(tmp_path, touch=True) as context:
        tab = await open_tab(context, served)
        assert (tab.page.url, await tab.page.title()) == (f"{served.origin}/", "deckjobs")
        assert tab.screen.columns >= 80 and tab.screen.lines >= 24, "a tablet shows a whole screen in readable letters"
        assert await tab.page.locator("#waiting").is_hidden() and await tab.page.locator("#ended").is_hidden()
        assert "M. Holt signs" in await tab.page.inner_text("nav")
        first = await tab.drawn()
        await tab.page.keyboard.press("j")
        await tab.until("Platform by the")
        second = await tab.drawn()
        assert first != second
        await tab.page.tap("button[data-keys=enter]")
        await tab.until("Site visit  ahead")
        assert await tab.drawn() not in (first, second)
        row = next(number for number, line in enumerate(tab.screen.display) if "s start  o" in line)
        box = await tab.page.locator(".xterm-screen").bounding_box()
        assert box is not None
        column = tab.screen.display[row].index("s start  o") + 3
        await tab.page.touchscreen.tap(
            box["x"] + (column + 0.5) * box["width"] / tab.screen.columns,
            box["y"] + (row + 0.5) * box["height"] / tab.screen.lines,
        )
        await tab.until("Site visit  under way")
        phase = in_book(path, lambda book: job_view(book, "26-101", NOW.date())).phases[0]
        assert phase.state == "under way"
        for button in await tab.page.locator("nav button").all():
            size = await button.bounding_box()
            # WCAG 2.2, success criterion 2.5.5 (enhanced target size): 44 by 44 CSS pixels.
            assert size is not None and size["width"] >= 44 and size["height"] >= 44
        assert not tab.faults


async def test_larger_letters_and_a_file_to_keep(path: Path, tmp_path: Path) -> None:
    async with serving(path) as served, browser(tmp_path) as context:
        tab = await open_tab(context, served)
        wide = tab.screen.columns
        await tab.page.click("button[data-size='2']")
        await tab.page.wait_for_url("**/?fontsize=20")
        await tab.until("1 open job", range(wide))
        await tab.page.keyboard.press("j")
        await tab.until("Platform by the")
        await tab.page.keyboard.press("Enter")
        await tab.until("Site visit  ahead")
        await tab.page.keyboard.press("p")
        await tab.until("SVG")
        async with tab.page.expect_download() as coming:
            await tab.page.keyboard.press("g")
        download = await coming.value
        assert download.suggested_filename.startswith("26-101") and download.suggested_filename.endswith(".svg")
        assert Path(await download.path()).read_bytes().lstrip().startswith(b"<")
        assert not tab.faults


async def test_a_page_that_ends_says_so_and_opens_again(path: Path, tmp_path: Path) -> None:
    async with serving(path) as served, browser(tmp_path) as context:
        tab = await open_tab(context, served)
        await tab.page.keyboard.press("Control+q")
        await tab.page.locator("#ended").wait_for(state="visible")
        tab.screen.reset()
        await tab.page.click("#again")
        await tab.until("1 open job")
        assert not tab.faults


TRY = """async (address) => {
  const socket = new Promise((done) => {
    const line = new WebSocket(address.replace("http", "ws") + "/ws?width=80&height=24");
    line.onopen = () => done("opened");
    line.onerror = () => done("refused");
  });
  const page = fetch(address + "/", { credentials: "include" }).then(() => "read", () => "refused");
  const blind = fetch(address + "/?key=x", { credentials: "include", mode: "no-cors" }).then((a) => a.type, () => "refused");
  return [await socket, await page, await blind, document.getElementById("frame").contentDocument === null];
}"""


async def test_a_page_of_another_origin_opens_no_socket_and_reads_nothing(path: Path, tmp_path: Path) -> None:
    """The other page is on this very machine, so the browser sends it our cookie: the Origin alone tells it apart."""
    async with serving(path) as served, browser(tmp_path) as context:
        tab = await open_tab(context, served)

        async def lure(request: web.Request) -> web.Response:
            frame = f'<iframe id="frame" src="{served.origin}/"></iframe>'
            return web.Response(text=f"<!DOCTYPE html><title>lure</title>{frame}", content_type="text/html")

        app = web.Application()
        app.router.add_get("/", lure)
        runner = web.AppRunner(app, access_log=None)
        await runner.setup()
        try:
            await (site := web.TCPSite(runner, "127.0.0.1", 0)).start()
            assert site._server is not None
            port = site._server.sockets[0].getsockname()[1]  # type: ignore[attr-defined]
            other = await context.new_page()
            await other.goto(f"http://127.0.0.1:{port}/")
            assert await other.title() == "lure"
            socket, page, _, framed_out = await other.evaluate(TRY, served.origin)
            assert (socket, page, framed_out) == ("refused", "refused", True)
            own = await tab.page.evaluate(TRY.replace(", document.getElementById", ", !document.getElementById").replace(
                '("frame").contentDocument === null', '("frame")'), served.origin)  # fmt: skip
            assert own[:2] == ["opened", "read"], "the same try from our own page succeeds"
        finally:
            await runner.cleanup()
