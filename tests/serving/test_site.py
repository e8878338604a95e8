"""The screens behind the server: drawn, typed at, ended; files fetched; nothing left behind."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import sys
from contextlib import AsyncExitStack
from email.message import EmailMessage
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.screens.conftest import NOW, in_book
from tests.serving.conftest import Served, client, opened, serving, to_job
from tracker.book.history import history
from tracker.book.jobs import job_view
from tracker.serving.site import disposition
from tracker.serving.sitting import PASSED_ON, Sitting, environment


def running(served: Served) -> list[int]:
    """The processes of the open pages."""
    sittings = [s for s in served.site.sittings.values() if isinstance(s, Sitting)]
    return [s._process.pid for s in sittings if s._process is not None]


def alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


async def test_the_screens_are_drawn_and_typed_at_and_sign_with_the_name_given(path: Path) -> None:
    async with serving(path) as served, client(served) as session, opened(served, session) as page:
        await to_job(page)
        await page.press("s", "Site visit  under way")
    phase = in_book(path, lambda book: job_view(book, "26-101", NOW.date())).phases[0]
    assert phase.state == "under way"
    (entry,) = [line for line in in_book(path, lambda book: history(book, "26-101")).lines if line.kind == "phase"]
    assert entry.who == "M. Holt" and entry.device.startswith("d0-") and len(entry.device) == 11
    assert not served.told


async def test_a_closed_page_ends_its_process_and_keeps_what_was_typed(path: Path) -> None:
    async with serving(path) as served, client(served) as session:
        async with opened(served, session) as page:
            await to_job(page)
            for _ in range(20):
                if "Layout  ahead" in page.shown:
                    break
                before = page.shown
                await page.press("\x1b[C", lambda before=before: page.shown != before)  # type: ignore[misc]
            await page.press("\r", "ctrl+s")
            await page.press("11'7", "11'7")
            (pid,) = running(served)
        async with asyncio.timeout(120):
            while served.site.sittings:
                await asyncio.sleep(0.05)
        assert not alive(pid)
        (kept,) = path.parent.glob(".jobs.book.drafts-*")
        assert "11'7" in next(iter(json.loads(kept.read_text()).values()))["texts"].values()
        async with opened(served, session) as page:
            await page.until("drafts from last time")


async def test_leaving_by_key_closes_the_line(path: Path) -> None:
    async with serving(path) as served, client(served) as session, opened(served, session) as page:
        await page.until("signs: M. Holt")
        await page.line.send_json(["stdin", "\x11"])
        with pytest.raises(AssertionError, match="the line ended"):
            await page.until("never", 15)


async def test_every_process_ends_with_the_server(path: Path) -> None:
    async with AsyncExitStack() as pages:
        async with serving(path) as served:
            session = await pages.enter_async_context(client(served))
            for _ in range(2):
                page = await pages.enter_async_context(opened(served, session))
                await page.until("signs: M. Holt")
            pids = running(served)
            assert len(pids) == 2 and all(alive(pid) for pid in pids)
        assert not any(alive(pid) for pid in pids)
    assert not served.told


@pytest.mark.parametrize(
    "message",
    ["", "{}", "[", '["stdin", 7]', '["resize", {"width": "wide"}]', '["open_url", "x"]', "[" * 3000, '["quit"]'],
)
async def test_what_is_no_message_of_ours_ends_the_page_and_harms_nobody(path: Path, message: str) -> None:
    async with serving(path) as served, client(served) as session:
        async with opened(served, session) as page:
            await page.line.send_str(message)
            with pytest.raises(AssertionError, match="the line ended"):
                await page.until("never", 20)
        async with session.get(served.origin) as answer:
            assert answer.status == 200
        assert not served.told


async def test_a_process_that_dies_closes_its_page_and_is_told_in_one_line(path: Path) -> None:
    async with serving(path) as served, client(served) as session, opened(served, session) as page:
        await page.until("signs: M. Holt")
        os.kill(running(served)[0], signal.SIGKILL)
        with pytest.raises(AssertionError, match="the line ended"):
            await page.until("never", 15)
        assert served.told == ["the screens ended with code -9"]


async def test_each_browser_is_a_device_of_its_own(path: Path) -> None:
    async with serving(path) as served, client(served) as one, client(served) as two:
        async with opened(served, one), opened(served, one), opened(served, two):
            async with asyncio.timeout(120):
                while len(running(served)) < 3:
                    await asyncio.sleep(0.05)
            devices = [s.desk.device for s in served.site.sittings.values() if s is not None]
        assert devices[0] == devices[1] != devices[2]


async def test_a_page_is_written_into_the_downloads_and_not_on_the_servers_disk(path: Path) -> None:
    async with serving(path) as served, client(served) as session, opened(served, session) as page:
        await to_job(page)
        await page.press("p", "SVG")
        before = set(path.parent.rglob("*.svg")), set(Path.cwd().glob("*.svg"))
        await page.press("g", lambda: any("deliver_file_start" in aside for aside in page.asides))
        key = next(json.loads(aside)[1] for aside in page.asides if "deliver_file_start" in aside)
        async with client(served, entered=False) as stranger, stranger.get(f"{served.origin}/download/{key}") as answer:
            assert answer.status == 403
        reading = asyncio.create_task(page.until("goes to the downloads"))
        async with session.get(f"{served.origin}/download/{key}") as answer:
            data = await answer.read()
            assert (answer.status, answer.content_type) == (200, "image/svg+xml")
            assert answer.headers["Content-Disposition"].startswith('attachment; filename="26-101')
            assert answer.headers["Content-Disposition"].endswith(".svg")
        await reading
        assert ElementTree.fromstring(data).tag == "{http://www.w3.org/2000/svg}svg"
        async with session.get(f"{served.origin}/download/{key}") as answer:
            assert answer.status == 404, "once"
        assert (set(path.parent.rglob("*.svg")), set(Path.cwd().glob("*.svg"))) == before


def test_the_screens_get_what_they_need_of_the_environment_and_no_more() -> None:
    around = {"HOME": "/home/rosa", "TZ": "UTC", "SECRET_OF_THE_SHELL": "x", "TEXTUAL": "debug", "DECKJOBS_DEBUG": "1"}
    given = environment(around, 100, 30)
    assert (given["HOME"], given["TZ"], given["COLUMNS"], given["ROWS"]) == ("/home/rosa", "UTC", "100", "30")
    assert not {"SECRET_OF_THE_SHELL", "TEXTUAL", "DECKJOBS_DEBUG"} & set(given)
    assert set(given) <= set(PASSED_ON) | {name for name in given if name.startswith("T")} | {"COLUMNS", "ROWS"}


@pytest.mark.skipif(not Path("/proc/self/environ").exists(), reason="looks at a process through /proc")
async def test_no_secret_reaches_the_process_behind_a_page(path: Path) -> None:
    async with serving(path) as served, client(served) as session, opened(served, session) as page:
        await page.until("signs: M. Holt")
        (pid,) = running(served)
        for name in ("environ", "cmdline"):
            text = Path(f"/proc/{pid}/{name}").read_bytes()
            assert served.guard.key.encode() not in text and served.guard.cookie.encode() not in text
            assert b"not for the screens" not in text
        assert Path(f"/proc/{pid}/cmdline").read_bytes().split(b"\0")[0] == os.fsencode(sys.executable), "no shell"


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("plan.svg", "plan.svg"),
        ("../../etc/passwd", "etc-passwd"),
        ('a"; filename=evil.html', "a-_ filename=evil.html"),
        ("a\r\nSet-Cookie: x=1.txt", "a Set-Cookie- x=1.txt"),
        ("", "download"),
        ("...", "download"),
    ],
)
def test_file_names_are_cleaned_and_quoted(name: str, kept: str) -> None:
    assert disposition(name).partition("; filename*=")[0] == f'attachment; filename="{kept}"'


@given(st.text(max_size=200))
def test_any_file_name_makes_one_sound_header(name: str) -> None:
    header = disposition(name)
    assert header.isascii() and header.isprintable() and header.startswith("attachment; ")
    parsed = EmailMessage()
    parsed["Content-Disposition"] = header
    saved = parsed.get_filename()
    assert saved and not set(saved) & set('/\\:*?"<>|\0\r\n') and saved not in (".", "..")
