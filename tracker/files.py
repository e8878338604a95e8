"""Reading a file a person named: only regular ones, only of a sensible size, every refusal in words; and the passing names
under which files are made whole before they take their place.
"""

from __future__ import annotations

import glob
import os
import re
import threading
import time
from contextlib import suppress
from pathlib import Path

from tracker.errors import InputError

LARGEST = 1_000_000


def read_file(path: Path, what: str = "a job file", *, largest: int = LARGEST, example: str = "job.toml") -> bytes:
    """The bytes of a regular file of at most ``largest`` bytes. Raises InputError for anything else, before reading it."""
    try:
        if path.is_dir():
            raise InputError(f"{path} is a folder", f"name {what} in it, like {path / example}")
        if not path.exists():
            raise InputError(f"{path} is not there", f"give the path of {what}")
        if not path.is_file():
            raise InputError(f"{path} is not a regular file", f"give the path of {what}")
        if path.stat().st_size > largest:
            raise InputError(f"{path} has {path.stat().st_size:,} bytes", f"{what} has at most {largest:,} bytes")
        return path.read_bytes()
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise InputError(f"{path} cannot be read: {why}", f"give the path of {what}") from None


def is_file(path: Path) -> bool:
    """Whether it is a regular file that can be reached; a name too long for any file, or with a NUL, is none."""
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


_PASSING = re.compile(r"\..+\.(?:new|part|restore)-(\d+)(?:-\d+)?(?:-journal)?\Z")
STALE_S = 24 * 3600
"""After so long a file under a passing name is nobody's any more, where nobody can say whether its program still runs."""


def passing(path: Path, what: str = "part") -> Path:
    """The name under which a file is made before it takes its place at ``path``; it tells which process makes it."""
    return path.with_name(f".{path.name}.{what}-{os.getpid()}-{threading.get_ident()}")


def clear_passing(path: Path) -> None:
    """Remove what programs that were killed have left beside ``path`` under passing names of it."""
    for left in path.parent.glob(f".{glob.escape(path.name)}.*"):
        if (found := _PASSING.match(left.name)) and not _runs(int(found[1]), left):
            with suppress(OSError):
                left.unlink()


def _runs(process: int, left: Path) -> bool:
    """Whether the process that made a file may still be at work on it."""
    if os.name != "posix":  # asking after a process there ends it
        with suppress(OSError):
            return time.time() - left.stat().st_mtime < STALE_S
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True
