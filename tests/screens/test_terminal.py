"""The program on a real terminal: resized, put to sleep and woken, with a value half typed."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import sys
import termios
import time
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import pyte
import pytest

from tests.screens.conftest import NOW, in_book
from tracker.book.jobs import job_lines
from tracker.book.samples import sample_files

ROOT = Path(__file__).parents[2]
UTF8 = {"LANG": "C.UTF-8"}


class Window:
    """A terminal window with the program in it; what is drawn is kept by a terminal emulator."""

    def __init__(
        self, book: Path, home: Path, size: tuple[int, int] = (80, 24), locale: Mapping[str, str] = UTF8
    ) -> None:
        env = {
            **locale, "HOME": str(home), "PATH": os.environ["PATH"], "TERM": "xterm-256color",
            "PYTHONPATH": str(ROOT), "DECKJOBS_BOOK": str(book), "DECKJOBS_AS": "M. Holt",
            "DECKJOBS_NOW": "2026-05-12T15:00:00+00:00",
        }  # fmt: skip
        self.screen = pyte.Screen(*size)
        self.stream = pyte.ByteStream(self.screen)
        self.sent = bytearray()
        """Everything the program sent to the terminal."""
        self.pid, self.handle = pty.fork()
        if self.pid == 0:
            os.chdir(home)
            os.execve(sys.executable, [sys.executable, "-m", "tracker"], env)
        self.resize(*size)

    def end(self) -> None:
        """Close the window."""
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self.handle)

    def resize(self, columns: int, lines: int) -> None:
        """Give the window another size."""
        self.screen.resize(lines, columns)
        fcntl.ioctl(self.handle, termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))

    def read(self, seconds: float) -> None:
        """Take in what is drawn for a while."""
        end = time.monotonic() + seconds
        while (left := end - time.monotonic()) > 0 and select.select([self.handle], [], [], left)[0]:
            try:
                data = os.read(self.handle, 1 << 16)
            except OSError:
                return  # the program has left
            self.sent += data
            self.stream.feed(data)

    def rest(self) -> None:
        """Wait until what is drawn has been the same for a moment: a busy machine draws a screen in parts."""
        before = None
        while self.shown != before:
            before = self.shown
            self.read(0.3)

    @property
    def shown(self) -> str:
        """The text in the window."""
        return "\n".join(line.rstrip() for line in self.screen.display)

    def until(self, what: str | Callable[[], bool], seconds: float = 120) -> None:
        """Wait until the window shows a text, or something holds."""
        end = time.monotonic() + seconds
        while not (what in self.shown if isinstance(what, str) else what()):
            assert time.monotonic() < end, f"never came: {what}\n{self.shown}"
            self.read(0.1)

    def press(self, keys: str, until: str | Callable[[], bool]) -> None:
        """Type, then wait."""
        os.write(self.handle, keys.encode())
        self.until(until)


def at_the_layout(opened: Window) -> Window:
    """Go to the form of the layout's square."""
    opened.until("NEEDS YOU")
    opened.press("j", lambda: "OPEN JOBS" in opened.shown and "26-101   Platform" in opened.shown)
    opened.press("\r", "planned")
    for _ in range(30):
        opened.rest()
        if "Layout  ahead" in opened.shown:
            break
        before = opened.shown
        opened.press("\x1b[C", lambda before=before: opened.shown != before)  # type: ignore[misc]
    opened.press("\r", "like 12'")
    return opened


@pytest.fixture
def window(path: Path, tmp_path: Path) -> Iterator[Window]:
    """The form of the layout's square, with one value typed."""
    opened = at_the_layout(Window(path, tmp_path))
    opened.press("11' 5-3/8", "= 11' 5-3/8")  # a value no hint on the form holds
    yield opened
    opened.end()


def test_a_resize_keeps_what_is_typed(window: Window) -> None:
    for size in ((60, 20), (120, 40), (80, 24)):
        window.resize(*size)
        window.until(lambda: "F1 help" in window.shown.splitlines()[-1])
        window.until("11' 5-3/8")


def test_put_to_sleep_and_woken_it_is_as_it_was(window: Window) -> None:
    os.write(window.handle, b"\x1a")
    end = time.monotonic() + 120
    while os.waitpid(window.pid, os.WUNTRACED | os.WNOHANG) == (0, 0):
        assert time.monotonic() < end, "it does not go to sleep"
        window.read(0.05)
    window.screen.reset()
    os.kill(window.pid, signal.SIGCONT)
    window.until("11' 5-3/8")
    window.press("x", "11' 5-3/8x")


def test_who_leaves_while_the_samples_load_is_told_what_is_there(tmp_path: Path) -> None:
    opened = Window(tmp_path / "new.book", tmp_path)
    try:
        opened.until("No open job")
        opened.press("s\x1b[B\r", "loading sample job 2")
        opened.press("q", "then the program leaves")
        end = time.monotonic() + 40
        while os.waitpid(opened.pid, os.WNOHANG) == (0, 0):
            assert time.monotonic() < end, f"it does not leave\n{opened.shown}"
            opened.read(0.05)
        opened.read(0.2)
        assert "loaded, all invented" in opened.shown and "left out" in opened.shown
    finally:
        os.close(opened.handle)
    assert 2 <= len(in_book(tmp_path / "new.book", lambda book: job_lines(book, NOW.date()))) < len(sample_files())
