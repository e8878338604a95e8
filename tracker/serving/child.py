"""The process behind one open page: the screens on a book, drawn into the browser.

Started by the server as ``python -m tracker.serving.child BOOK WHO DEVICE``.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from collections.abc import Sequence
from pathlib import Path

from tracker.screens.app import run_app
from tracker.settings import load_settings

LOOK = 2.0
"""Seconds between two looks whether the server is still there."""


def end_with(server: int) -> None:
    """End these screens in order when the process ``server`` is gone, however it went."""
    while os.getppid() == server:
        time.sleep(LOOK)
    os.kill(os.getpid(), signal.SIGTERM)


def main(argv: Sequence[str]) -> int:
    """Open the screens; returns their exit code."""
    book, who, device = argv
    threading.Thread(target=end_with, args=(os.getppid(),), daemon=True).start()
    settings = load_settings(book=book, who=who)
    return run_app(Path(book), settings.who, device, settings.now, banner=f"signs: {settings.who}")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
