"""One open page: the screens in a process of their own, and what goes between it and the browser."""

from __future__ import annotations

import asyncio
import json
import os
import sys
from asyncio.subprocess import PIPE, Process
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from aiohttp import web
from textual_serve.app_service import AppService
from textual_serve.download_manager import DownloadManager

from tracker.text import clean

READY = b"__GANGLION__\n"
"""What a process of the screens writes before its first packet."""
PATIENCE = 8.0
"""Seconds a process has to end by itself, drafts kept, before it is ended."""
KEPT_BYTES = 4096
"""How much of what a process complains of is looked at."""
PASSED_ON = (
    "HOME", "USER", "LOGNAME", "PATH", "LANG", "LANGUAGE", "LC_ALL", "LC_CTYPE", "LC_TIME", "TZ", "TMPDIR", "PYTHONPATH",
    "VIRTUAL_ENV", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME", "SYSTEMROOT", "APPDATA",
    "LOCALAPPDATA", "USERPROFILE", "TEMP", "TMP", "NO_COLOR", "DECKJOBS_NOW",
)  # fmt: skip
"""The environment the screens need; nothing else of ours is handed on."""


@dataclass(frozen=True, slots=True)
class Desk:
    """What the screens are opened with: the ``book``, ``who`` signs, and the id of the ``device``."""

    book: Path
    who: str
    device: str


def environment(around: Mapping[str, str], width: int, height: int) -> dict[str, str]:
    """The environment of a process of the screens, out of the one ``around`` the server."""
    return {name: around[name] for name in PASSED_ON if name in around} | {
        "TEXTUAL_DRIVER": "textual.drivers.web_driver:WebDriver",
        "TEXTUAL_FPS": "30",
        "TEXTUAL_COLOR_SYSTEM": "truecolor",
        "TERM_PROGRAM": "textual",
        "COLUMNS": str(width),
        "ROWS": str(height),
    }


class Sitting(AppService):
    """The screens of one page; ``start`` opens them, ``stop`` ends them whatever state they are in."""

    def __init__(
        self, desk: Desk, socket: web.WebSocketResponse, downloads: DownloadManager, tell: Callable[[str], None]
    ) -> None:
        super().__init__(
            "deckjobs",
            write_bytes=socket.send_bytes,
            write_str=socket.send_str,
            close=self._close,
            download_manager=downloads,
        )
        self.desk = desk
        self.socket = socket
        self.tell = tell
        self._stopping = asyncio.Lock()

    async def _close(self) -> None:
        await self.socket.close()

    def _build_environment(self, width: int = 80, height: int = 24) -> dict[str, str]:
        return environment(os.environ, width, height)

    async def _open_app_process(self, width: int = 80, height: int = 24) -> Process:
        self._process = process = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "tracker.serving.child", str(self.desk.book), self.desk.who, self.desk.device,
            stdin=PIPE, stdout=PIPE, stderr=PIPE, env=self._build_environment(width, height),
            start_new_session=True,  # Ctrl-C is for the server: it ends the screens in order
        )  # fmt: skip
        assert process.stdin is not None
        self._stdin = process.stdin
        return process

    async def run(self) -> None:
        """Carry packets to the browser until the process ends, then close the page's socket."""
        process = self._process
        assert process is not None and process.stdout is not None and process.stderr is not None
        complaints = asyncio.create_task(_first_of(process.stderr))
        with suppress(asyncio.IncompleteReadError):
            await self._carry(process.stdout)
        code = await process.wait()
        said = await complaints
        if code:
            lines = said.decode("utf-8", "replace").strip().splitlines()
            self.tell(f"the screens ended with code {code}" + (f": {clean(lines[-1])[:200]}" if lines else ""))
        await self.remote_close()

    async def _carry(self, stdout: asyncio.StreamReader) -> None:
        while await stdout.readline() not in (READY, b""):
            pass
        takers = {b"D": self.on_data, b"M": self.on_meta, b"P": self.on_packed}
        while True:
            kind = await stdout.readexactly(1)
            size = int.from_bytes(await stdout.readexactly(4), "big")
            payload = await stdout.readexactly(size)
            # A page that is gone takes nothing more, but the process must be able to write until it ends.
            with suppress(ConnectionError):
                await takers[kind](payload)

    async def on_meta(self, data: bytes) -> None:
        """Hand on the offer of a file and the end; a page is never sent to another address."""
        match json.loads(data).get("type"):
            case "deliver_file_start" | "exit":
                await super().on_meta(data)

    async def stop(self) -> None:
        """End the process: first by asking, so that drafts are kept, then by force; returns when it is gone."""
        async with self._stopping:
            process, task, self._task = self._process, self._task, None
            if process is None or task is None:
                return
            await self._download_manager.cancel_app_downloads(app_service_id=self.app_service_id)
            await self.send_meta({"type": "quit"})
            try:
                await asyncio.wait_for(asyncio.shield(task), PATIENCE)
            except TimeoutError:
                with suppress(ProcessLookupError):
                    process.kill()
                await task


async def _first_of(stream: asyncio.StreamReader) -> bytes:
    kept = b""
    while piece := await stream.read(KEPT_BYTES):
        kept = (kept + piece)[-KEPT_BYTES:]
    return kept
