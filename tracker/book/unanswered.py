"""A command that got no answer can simply be repeated: the same words get the same entry id again.

The id is kept in a small file beside the book from before the write until after the answer was given. Two different
commands never share a file; a file older than a day no longer counts.
"""

from __future__ import annotations

import glob
import hashlib
import json
import os
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from tracker.book.ids import check_id, new_id
from tracker.errors import ConflictError, InputError, RefusedError

LASTS_S = 24 * 3600


@contextmanager
def unanswered(book_path: Path, words: Sequence[str]) -> Iterator[str]:
    """Give an entry id for the command ``words``; forget it when the block ends well or the command was refused.

    Leave the block only after the answer has been written out.
    """
    digest = hashlib.sha256(json.dumps(list(words)).encode("utf-8", "surrogatepass")).hexdigest()[:32]
    stem = f".{book_path.name}.unanswered-"
    _forget_old(book_path.parent, stem)
    path = book_path.with_name(stem + digest)
    entry_id = _kept(path) or _keep(path)
    try:
        yield entry_id
    except (RefusedError, InputError, ConflictError):
        path.unlink(missing_ok=True)
        raise
    path.unlink(missing_ok=True)


def _forget_old(folder: Path, stem: str) -> None:
    for path in folder.glob(f"{glob.escape(stem)}*"):
        with suppress(OSError):
            if time.time() - path.stat().st_mtime > LASTS_S:
                path.unlink()


def _kept(path: Path) -> str:
    try:
        return check_id(path.read_text("ascii").strip())
    except (OSError, UnicodeDecodeError, InputError):
        return ""


def _keep(path: Path) -> str:
    entry_id = new_id()
    try:
        descriptor = os.open(path, os.O_CREAT | os.O_WRONLY | os.O_TRUNC | getattr(os, "O_NOFOLLOW", 0), 0o600)
    except OSError:
        return entry_id
    try:
        with suppress(OSError):  # a full disk: the book itself says so
            os.write(descriptor, entry_id.encode())
            os.fsync(descriptor)
    finally:
        os.close(descriptor)
    return entry_id
