"""What strangers can make the server do before it knows them: nothing but one short line each, and not for long.

What a request may look like: RFC 9112 (HTTP/1.1), sections 2.2, 3, 3.2 (a Host is needed), 5 and 6.
"""

from __future__ import annotations

import asyncio
import logging
import time
from pathlib import Path

import pytest

from tests.serving.conftest import Served, client, serving

BAD = {
    "no host": b"GET / HTTP/1.1\r\n\r\n",
    "no host, older": b"GET / HTTP/1.0\r\n\r\n",
    "two hosts": b"GET / HTTP/1.1\r\n{host}Host: a.example\r\n\r\n",
    "long line": b"GET /" + b"a" * 20_000 + b" HTTP/1.1\r\n{host}\r\n",
    "line just too long": b"GET /?key=" + b"a" * 2100 + b" HTTP/1.1\r\n{host}\r\n",
    "long field": b"GET / HTTP/1.1\r\n{host}X: " + b"a" * 20_000 + b"\r\n\r\n",
    "many fields": b"GET / HTTP/1.1\r\n{host}" + b"X: a\r\n" * 500 + b"\r\n",
    "noise": b"\0\1\2\r\n\r\n",
    "encrypted": b"\x16\x03\x01\x02\0\1\0\1\xfc\3\3",
    "no version": b"GET / HTTP/9.9\r\n{host}\r\n",
    "another address": b"GET http://[::1 HTTP/1.1\r\n{host}\r\n",
    "letters": b"GET /\xff\xfe?key=\xe9 HTTP/1.1\r\n{host}\r\n",
    "two lengths": b"POST / HTTP/1.1\r\n{host}Transfer-Encoding: chunked\r\nContent-Length: 4\r\n\r\nzz\r\n",
    "bad chunk": b"POST / HTTP/1.1\r\n{host}Transfer-Encoding: chunked\r\n\r\nzz\r\n",
    "less than nothing": b"POST / HTTP/1.1\r\n{host}Content-Length: -1\r\n\r\n",
    "far too much": b"POST / HTTP/1.1\r\n{host}Content-Length: 99999999999999999999999\r\n\r\n",
    "squeezed": b"POST / HTTP/1.1\r\n{host}Content-Encoding: gzip\r\nContent-Length: 4\r\n\r\nabcd",
    "field without a name": b"GET / HTTP/1.1\r\n{host}X y: z\r\n\r\n",
    "line feeds": b"GET / HTTP/1.1\n{host}\n\n",
    "bad key": b"GET /?key=%ff%00 HTTP/1.1\r\n{host}\r\n",
    "bad host": b"GET / HTTP/1.1\r\nHost: [::1:::\r\n\r\n",
    "bad socket": b"GET /ws HTTP/1.1\r\n{host}Upgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Version: 99\r\n\r\n",
}


async def sent(served: Served, data: bytes) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
    """A connection that has sent some bytes, ``{host}`` in them made the right Host."""
    reader, writer = await asyncio.open_connection("127.0.0.1", served.guard.port)
    writer.write(data.replace(b"{host}", f"Host: 127.0.0.1:{served.guard.port}\r\n".encode()))
    await writer.drain()
    return reader, writer


async def ends_within(reader: asyncio.StreamReader, seconds: float) -> bytes:
    """All that comes until the server closes, which it must."""
    async with asyncio.timeout(seconds):
        try:
            return await reader.read()
        except ConnectionError:
            return b""


async def test_malformed_requests_get_a_refusal_and_a_short_line(
    path: Path, capfd: pytest.CaptureFixture[str], caplog: pytest.LogCaptureFixture
) -> None:
    async with serving(path, wait=1.0) as served:
        for name, data in BAD.items():
            before = len(served.told)
            reader, writer = await sent(served, data)
            status = (await asyncio.wait_for(reader.readline(), 10)).split(b" ")[1:2]
            assert not status or status[0] in (b"400", b"403", b"421"), (name, status)
            writer.close()
            await asyncio.sleep(0)
            told = served.told[before:]
            assert len(told) <= 1 and all(len(line) < 100 and "\n" not in line for line in told), (name, told)
        async with client(served) as session, session.get(served.origin + "/") as answer:
            assert answer.status == 200  # it goes on as before
        assert served.guard.key not in "".join(served.told)
    shown = capfd.readouterr()
    assert "Traceback" not in shown.err + shown.out and "Error handling" not in shown.err
    assert not [record for record in caplog.records if record.levelno >= logging.WARNING and record.name != "asyncio"]


@pytest.mark.parametrize("head", [b"", b"G", b"GET / HTTP/1.1\r\n", b"GET / HTTP/1.1\r\n{host}X: a"])
async def test_a_connection_that_never_finishes_its_head_is_closed(path: Path, head: bytes) -> None:
    async with serving(path, wait=0.4) as served:
        reader, writer = await sent(served, head)
        assert await ends_within(reader, 5) == b""
        writer.close()


async def test_a_head_sent_letter_by_letter_does_not_keep_the_line(path: Path) -> None:
    async with serving(path, wait=0.5) as served:
        reader, writer = await sent(served, b"GET / HTTP/1.1\r\n{host}X: ")
        begun = time.monotonic()
        ended = asyncio.create_task(ends_within(reader, 10))
        while not ended.done():
            try:
                writer.write(b"a")
                await writer.drain()
            except ConnectionError:
                break
            await asyncio.sleep(0.05)
        await ended
        assert time.monotonic() - begun < 5
        writer.close()


async def test_an_answer_nobody_reads_is_broken_off(path: Path) -> None:
    async with serving(path, wait=0.4) as served, client(served) as session:
        cookie = "; ".join(f"{item.key}={item.value}" for item in session.cookie_jar)
        ask = b"GET /static/terminal.js HTTP/1.1\r\n{host}Cookie: " + cookie.encode() + b"\r\n\r\n"
        reader, writer = await sent(served, ask * 40)
        writer.transport.pause_reading()  # type: ignore[attr-defined]
        async with asyncio.timeout(10):
            while not writer.is_closing():
                writer.write(b"x")  # the only way to notice is to write
                await asyncio.sleep(0.1)
        del reader


async def test_a_page_that_answers_no_ping_loses_its_place(path: Path) -> None:
    async with serving(path, most=1, wait=0.6) as served, client(served) as session:
        cookie = "; ".join(f"{item.key}={item.value}" for item in session.cookie_jar)
        ask = (
            f"GET /ws?width=80&height=24 HTTP/1.1\r\n{{host}}Origin: {served.origin}\r\nCookie: {cookie}\r\nUpgrade: websocket\r\n"
            "Connection: Upgrade\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\n\r\n"
        )
        reader, writer = await sent(served, ask.encode())
        assert b"101" in await asyncio.wait_for(reader.readline(), 10)
        assert served.site.sittings
        async with asyncio.timeout(30):
            while served.site.sittings:
                await asyncio.sleep(0.05)
        writer.close()
