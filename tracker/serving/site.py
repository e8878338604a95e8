"""The web server of the screens: a page, its socket, its downloads, all behind the guard."""

from __future__ import annotations

import asyncio
import html
import json
import re
import secrets
import socket
from collections.abc import Awaitable, Callable
from contextlib import suppress
from dataclasses import replace
from http import HTTPStatus
from importlib.resources import files
from pathlib import Path
from string import Template
from urllib.parse import quote

import textual_serve
from aiohttp import WSCloseCode, WSMsgType, web
from textual_serve.download_manager import DownloadManager

from tracker.serving import wire
from tracker.serving.guard import Guard, security_headers
from tracker.serving.sitting import PATIENCE, Desk, Sitting
from tracker.text import clean

Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]

SETTLE = 3.0
"""Seconds a new page waits for the screens of one just closed to be gone."""
TEXT_SIZE, SMALLEST, LARGEST = 18, 10, 40
"""Pixels a letter is high: readable at arm's length on a tablet."""
WIDEST = 500
"""Most columns and rows a page may ask for."""
MESSAGE_BYTES = 256 * 1024
BROWSER = "deckjobs-browser"
"""The cookie that tells one browser from another, so that each keeps its own drafts."""
_BROWSER_ID = re.compile("[0-9a-f]{8}")
_MIME = re.compile(r"[a-z0-9]+/[a-z0-9.+-]+", re.ASCII)
WORDS = {
    HTTPStatus.FORBIDDEN: (
        "These screens need their key",
        "Open the address that was printed where the screens are served; it holds the key. If you have just come from a "
        'message or another page, <a href="/">go on here</a>.',
    ),
    HTTPStatus.NOT_FOUND: (
        "There is nothing here",
        'The screens are <a href="/">here</a>. A file can be fetched once.',
    ),
    HTTPStatus.MISDIRECTED_REQUEST: ("This is another server", "The screens do not go by that name."),
    HTTPStatus.SERVICE_UNAVAILABLE: (
        "Every place is taken",
        'As many pages are open as were allowed. Close one, then <a href="/">try again</a>.',
    ),
}


def _static() -> dict[str, tuple[Path, str]]:
    """The files of the page by name, with their content type; no others are served."""
    terminal, own = Path(textual_serve.__file__).parent / "static", Path(str(files("tracker.serving") / "page"))
    return {
        "terminal.js": (terminal / "js" / "textual.js", "text/javascript"),
        "terminal.css": (terminal / "css" / "xterm.css", "text/css"),
        "letters.ttf": (terminal / "fonts" / "RobotoMono-VariableFont_wght.ttf", "font/ttf"),
        "page.js": (own / "page.js", "text/javascript"),
        "page.css": (own / "page.css", "text/css"),
    }


class Site:
    """The server: at most ``most`` pages at a time, each with the screens of ``desk`` in a process of its own.

    ``tell`` takes a line for whoever started it, when something went wrong; ``wait`` are the seconds a connection may idle.
    """

    def __init__(
        self, desk: Desk, guard: Guard, *, most: int, tell: Callable[[str], None], wait: float = wire.WAIT
    ) -> None:
        self.desk = desk
        self.guard = guard
        self.most = most
        self.tell = tell
        self.wait = wait
        self.downloads = DownloadManager()
        self.sittings: dict[object, Sitting | None] = {}
        self.freed = asyncio.Condition()
        self.static = _static()
        own = files("tracker.serving") / "page"
        self.page = Template((own / "page.html").read_text("utf-8"))
        self.plain = Template((own / "plain.html").read_text("utf-8"))

    def application(self) -> web.Application:
        """The routes behind the guard."""
        app = web.Application(middlewares=[self._guarded])
        app.router.add_get("/", self.index, allow_head=False)
        app.router.add_get("/ws", self.screens, allow_head=False)
        app.router.add_get("/download/{key}", self.download, allow_head=False)
        app.router.add_get("/static/{name}", self.file, allow_head=False)
        app.on_response_prepare.append(self._headers)
        app.on_shutdown.append(self._shut)
        return app

    async def run(self, sock: socket.socket, ready: Callable[[], None]) -> None:
        """Serve on a bound socket until cancelled, then end every page; ``ready`` is called when it answers."""
        loop = asyncio.get_running_loop()
        before = loop.get_exception_handler()
        loop.set_exception_handler(wire.brief_faults(self.tell))
        runner = web.AppRunner(self.application(), shutdown_timeout=PATIENCE, **wire.bounds(self.tell, self.wait))
        await runner.setup()
        try:
            await web.SockSite(runner, sock).start()
            ready()
            assert runner.server is not None
            await wire.drop_stalled(runner.server, self.wait)
        finally:
            await runner.cleanup()
            loop.set_exception_handler(before)

    @web.middleware
    async def _guarded(self, request: web.Request, handler: Handler) -> web.StreamResponse:
        try:
            if request.path == "/" and "key" in request.query:
                return self._enter(request)
            refused = self.guard.refusal(request.path, request.headers, request.cookies)
            return self._said(refused) if refused else await handler(request)
        except web.HTTPException as error:
            return self._said(HTTPStatus(error.status))
        except Exception as error:
            # By its name alone: a traceback could show what somebody typed.
            self.tell(f"our own fault: {type(error).__name__} at {request.path[:40]}")
            return self._said(HTTPStatus.INTERNAL_SERVER_ERROR)

    async def _headers(self, request: web.Request, response: web.StreamResponse) -> None:
        headers = security_headers(self.guard.place, request.headers.get("Host", ""))
        for name, value in headers.items():
            response.headers[name] = value

    def _enter(self, request: web.Request) -> web.Response:
        """Change the key for the cookie; the answer leads to the address without it."""
        if not self.guard.host_fits(request.headers):
            return self._said(HTTPStatus.MISDIRECTED_REQUEST)
        if not self.guard.key_fits(request.query["key"]):
            return self._said(HTTPStatus.FORBIDDEN)
        answer = web.Response(status=HTTPStatus.SEE_OTHER, headers={"Location": "/"})
        self._set_cookie(answer, self.guard.cookie_name, self.guard.cookie)
        if not _BROWSER_ID.fullmatch(request.cookies.get(BROWSER, "")):
            self._set_cookie(answer, BROWSER, secrets.token_hex(4), days=400)
        return answer

    def _set_cookie(self, answer: web.Response, name: str, value: str, *, days: int | None = None) -> None:
        age = None if days is None else days * 86_400
        secure = self.guard.place.secure
        answer.set_cookie(name, value, path="/", httponly=True, samesite="Strict", secure=secure, max_age=age)

    def _said(self, status: HTTPStatus) -> web.Response:
        heading, text = WORDS.get(status, (status.phrase, 'Nothing was recorded. <a href="/">Back to the screens</a>'))
        page = self.plain.substitute(heading=heading, text=text)
        return web.Response(status=status, text=page, content_type="text/html", charset="utf-8")

    async def index(self, request: web.Request) -> web.Response:
        """The page with the terminal in it."""
        if not await self._free():
            return self._said(HTTPStatus.SERVICE_UNAVAILABLE)
        origin = self.guard.place.origin_of(request.headers["Host"])
        page = self.page.substitute(
            socket=html.escape(f"{origin.replace('http', 'ws', 1)}/ws"),
            size=_number(request.query.get("fontsize"), TEXT_SIZE, SMALLEST, LARGEST),
            who=html.escape(clean(self.desk.who)),
        )
        return web.Response(text=page, content_type="text/html", charset="utf-8")

    async def file(self, request: web.Request) -> web.StreamResponse:
        """One of the page's own files."""
        found = self.static.get(request.match_info["name"])
        if found is None:
            raise web.HTTPNotFound
        path, content_type = found
        # Whole into the line's own buffer, where one that reads nothing is noticed.
        return web.Response(body=path.read_bytes(), headers={"Content-Type": content_type})

    async def _free(self) -> bool:
        """Whether there is a place, once the screens of a page just closed had time to go."""
        async with self.freed:
            with suppress(TimeoutError):
                await asyncio.wait_for(self.freed.wait_for(lambda: len(self.sittings) < self.most), SETTLE)
            return len(self.sittings) < self.most

    async def screens(self, request: web.Request) -> web.StreamResponse:
        """The socket of a page: keys in, drawing out."""
        place = object()
        if not await self._free() or len(self.sittings) >= self.most:
            return self._said(HTTPStatus.SERVICE_UNAVAILABLE)
        self.sittings[place] = None
        try:
            socket = web.WebSocketResponse(heartbeat=self.wait, max_msg_size=MESSAGE_BYTES)
            await socket.prepare(request)
            self.sittings[place] = sitting = Sitting(self._desk_of(request), socket, self.downloads, self.tell)
            query = request.query
            await sitting.start(_number(query.get("width"), 80, 1, WIDEST), _number(query.get("height"), 24, 1, WIDEST))
            try:
                await _keys(socket, sitting)
            finally:
                await sitting.stop()
            return socket
        finally:
            async with self.freed:
                del self.sittings[place]
                self.freed.notify_all()

    def _desk_of(self, request: web.Request) -> Desk:
        """The desk as this browser has it: its device id is its own."""
        browser = request.cookies.get(BROWSER, "")
        known = browser if _BROWSER_ID.fullmatch(browser) else "browser"
        return replace(self.desk, device=f"{self.desk.device}-{known}")

    async def download(self, request: web.Request) -> web.StreamResponse:
        """A file the screens offer, once, always as a file to keep."""
        key = request.match_info["key"]
        try:
            offered = await self.downloads.get_download_metadata(key)
        except KeyError:
            raise web.HTTPNotFound from None
        kind = offered.mime_type if _MIME.fullmatch(offered.mime_type or "") else "application/octet-stream"
        answer = web.StreamResponse(headers={"Content-Disposition": disposition(offered.file_name)})
        answer.content_type = kind
        if offered.encoding and kind.startswith("text/"):
            answer.charset = "utf-8" if offered.encoding.lower() not in ("ascii", "latin-1") else offered.encoding
        await answer.prepare(request)
        async for piece in self.downloads.download(key):
            await answer.write(piece)
        await answer.write_eof()
        return answer

    async def _shut(self, app: web.Application) -> None:
        open_ones = [sitting for sitting in self.sittings.values() if sitting is not None]
        await asyncio.gather(*(sitting.stop() for sitting in open_ones))
        for sitting in open_ones:
            await sitting.socket.close(code=WSCloseCode.GOING_AWAY)


async def _keys(socket: web.WebSocketResponse, sitting: Sitting) -> None:
    """Hand on what the page sends until it goes; anything that is no message of ours ends it."""
    async for message in socket:
        if message.type is not WSMsgType.TEXT:
            continue
        try:
            match json.loads(message.data):
                case ["stdin", str(typed)]:
                    await sitting.send_bytes(typed.encode("utf-8", "replace"))
                case ["resize", {"width": int(width), "height": int(height)}]:
                    await sitting.set_terminal_size(
                        _number(str(width), 80, 1, WIDEST), _number(str(height), 24, 1, WIDEST)
                    )
                case ["ping", str(beat)]:
                    await socket.send_json(["pong", beat[:40]])
                case ["blur"]:
                    await sitting.blur()
                case ["focus"]:
                    await sitting.focus()
                case _:
                    raise ValueError
        except (ValueError, RecursionError):
            await socket.close(code=WSCloseCode.POLICY_VIOLATION)


def _number(text: str | None, usual: int, least: int, most: int) -> int:
    if text is None or not re.fullmatch(r"[0-9]{1,6}", text, re.ASCII):
        return usual
    return min(max(int(text), least), most)


def disposition(name: str) -> str:
    """A Content-Disposition that saves under ``name``, whatever it holds (RFC 6266, sections 4.1 and 4.3).

    Path separators, control characters and what Windows does not take become dashes; other letters than ASCII stand in
    the second form (RFC 8187, section 3.2).
    """
    bare = re.sub(r'[\x00-\x1f\x7f/\\:*?"<>|\ufffd]+', "-", clean(name)).strip(" .-")[-120:] or "download"
    plain = "".join(char if char.isascii() else "_" for char in bare).replace("%", "_").replace(";", "_")
    return f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(bare, safe='')}"
