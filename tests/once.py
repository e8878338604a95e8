"""Books that many tests begin with: made once in a test process, then copied for each test."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable, Hashable
from functools import cache
from pathlib import Path


@cache
def _room() -> tempfile.TemporaryDirectory[str]:
    return tempfile.TemporaryDirectory(prefix="books-")


@cache
def _made(what: Hashable) -> Path:
    """Where the book of that name lies; nothing is there before it is first made."""
    return Path(tempfile.mkdtemp(dir=_room().name)) / "jobs.book"


def copy_once(path: Path, what: Hashable, make: Callable[[Path], object]) -> Path:
    """Put the book called ``what`` at ``path``, which ``make`` makes there the first time; gives ``path`` back."""
    kept = _made(what)
    if kept.exists():
        shutil.copy(kept, path)
    else:
        make(path)
        shutil.copy(path, kept)
    return path
