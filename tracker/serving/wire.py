"""What a connection may cost before anybody is known to be at its end: how long, how large, and how many words."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Mapping
from typing import Any

from aiohttp import web

WAIT = 15.0
"""Seconds a connection may take over the head of a request, stay unused, leave a ping without an answer, or leave unread what it
was sent.
"""
LONGEST_LINE = 2048
"""Most bytes of the first line of a request: the longest of ours holds a key of 43 characters."""
LONGEST_FIELD, MOST_FIELDS = 8190, 100
"""Most bytes of a field of its head, as browsers send cookies of other servers of this machine too, and most fields."""


class Brief(logging.Handler):
    """Tells a fault of a connection in one short line: what kind it was, never what was sent, never where in the code."""

    def __init__(self, tell: Callable[[str], None]) -> None:
        super().__init__(logging.WARNING)
        self.tell = tell

    def emit(self, record: logging.LogRecord) -> None:
        """Tell it."""
        fault = record.exc_info[1] if record.exc_info else None
        self.tell(f"a request was refused: {_kind(fault)}")


def _kind(fault: BaseException | None) -> str:
    return "malformed" if fault is None else f"malformed ({type(fault).__name__})"


def bounds(tell: Callable[[str], None], wait: float) -> dict[str, Any]:
    """What the server is started with, so that every connection is bounded and tells its faults in one line."""
    log = logging.Logger("deckjobs.serving")
    log.addHandler(Brief(tell))
    return {
        "logger": log,
        "access_log": None,  # it would hold the key
        "keepalive_timeout": wait,
        "lingering_time": wait,
        "max_line_size": LONGEST_LINE,
        "max_field_size": LONGEST_FIELD,
        "max_headers": MOST_FIELDS,
        "auto_decompress": False,
    }


def brief_faults(tell: Callable[[str], None]) -> Callable[[asyncio.AbstractEventLoop, Mapping[str, Any]], None]:
    """For the event loop: a fault nobody waits for is told by its kind."""

    def told(loop: asyncio.AbstractEventLoop, context: Mapping[str, Any]) -> None:
        fault = context.get("exception")
        if not isinstance(fault, ConnectionError):
            tell(f"a connection broke off: {_kind(fault)}")

    return told


async def drop_stalled(server: web.Server, wait: float) -> None:
    """For as long as it runs: break off connections that have read nothing of what waits for them for ``wait`` seconds."""
    loop = asyncio.get_running_loop()
    since: dict[object, tuple[int, float]] = {}
    while True:
        await asyncio.sleep(wait / 4)
        now, before = loop.time(), since
        since = {}
        for connection in server.connections:
            line = connection.transport
            waiting = line.get_write_buffer_size() if isinstance(line, asyncio.WriteTransport) else 0
            if not waiting or line is None:
                continue
            size, began = before.get(connection, (waiting, now))
            since[connection] = (waiting, began if waiting >= size else now)
            if now - since[connection][1] >= wait:
                line.abort()
