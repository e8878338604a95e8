"""A terminal that is closed, or a program told to end: what was typed a moment before is kept as a draft."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import pytest

from tests.screens.test_terminal import Window, at_the_layout
from tracker.screens.app import KEEP
from tracker.screens.drafts import kept_drafts


def ended(window: Window, seconds: float = 20) -> int:
    """The exit code of the program, which must end by itself."""
    end = time.monotonic() + seconds
    while True:
        pid, status = os.waitpid(window.pid, os.WNOHANG)
        if pid:
            return os.waitstatus_to_exitcode(status)
        assert time.monotonic() < end, "it goes on without a terminal"
        time.sleep(0.05)


def read_to_its_end(window: Window, seconds: float = 20) -> None:
    """Take what the program still writes until it has closed its end, then close the other."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        try:
            window.read(0.2)
        except OSError:
            break
    os.close(window.handle)


@pytest.mark.parametrize("how", ["closed", signal.SIGHUP, signal.SIGTERM])
def test_what_was_typed_a_moment_before_the_end_is_kept(path: Path, tmp_path: Path, how: signal.Signals | str) -> None:
    window = at_the_layout(Window(path, tmp_path))
    window.press("11' 5-3/8", "= 11' 5-3/8")
    time.sleep(KEEP)  # what was typed so far is kept by the clock: the next is not
    window.read(0.1)
    os.write(window.handle, b"\r7' 2-1/4")
    window.until("7' 2-1/4", seconds=20)
    if isinstance(how, signal.Signals):
        os.kill(window.pid, how)
        read_to_its_end(window)
    else:
        os.close(window.handle)  # a real hang-up: the last who holds the other side of the terminal lets go
    code = ended(window)
    (draft,) = (tmp_path).glob(".*.drafts-*")
    kept = str(kept_drafts(draft))
    assert "11' 5-3/8" in kept and "7' 2-1/4" in kept
    assert code in (0, 3) and not list(tmp_path.rglob("crash-*"))


def test_a_burst_typed_right_before_the_end_is_kept(path: Path, tmp_path: Path) -> None:
    window = at_the_layout(Window(path, tmp_path))
    os.write(window.handle, b"11' 5-3/8\r7' 2-1/4")
    os.kill(window.pid, signal.SIGHUP)
    read_to_its_end(window)
    assert ended(window) in (0, 3)
    (draft,) = tmp_path.glob(".*.drafts-*")
    kept = str(kept_drafts(draft))
    assert "11' 5-3/8" in kept and "7' 2-1/4" in kept
