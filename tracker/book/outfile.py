"""Writing a file a person named: whole or not at all, and never over a book or what belongs to one."""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tracker.errors import BookError, InputError
from tracker.files import clear_passing, passing
from tracker.settings import settings_path

FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
"""What a system says when there is no room for a file."""
_BESIDE = re.compile(r"\.?(?P<book>.+?)(?:-journal|-wal|-shm|\.(?:drafts|unanswered|before|replaced)-.*)\Z", re.S)
"""Names of what lies beside a book: its journal, what is typed and not saved, copies kept."""


def write_file(path: Path, data: bytes, *, force: bool = False, to_replace: str = "add --force") -> None:
    """Write a file whole or not at all: beside its place, synced, then moved there.

    Raises InputError when something is there already (unless ``force`` and it is a regular file), when it cannot be written,
    and, whatever ``force`` says, for a book, what lies beside one, and the settings; ``to_replace`` says how a person lets
    another file be replaced. Raises BookError when the disk is full.
    """
    with _in_words(path):
        _check(path, force=force, to_replace=to_replace)
        clear_passing(path)
        part = passing(path)
        try:
            flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
            with os.fdopen(os.open(part, flags, 0o666), "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)


def check_place(path: Path, *, force: bool = False, to_replace: str = "add --force") -> None:
    """Raise InputError where ``write_file`` would, before anything is recorded that the file is to tell of."""
    with _in_words(path):
        _check(path, force=force, to_replace=to_replace)
        if not path.parent.is_dir():
            raise InputError(f"{path} cannot be written: there is no folder {path.parent}", "make it first")
        if not os.access(path.parent, os.W_OK):
            raise InputError(f"{path} cannot be written: its folder is read-only", "give a place where you may write")


def _check(path: Path, *, force: bool, to_replace: str) -> None:
    if path.is_dir():
        raise InputError(f"{path} is a folder", "give a file name")
    if path.exists() and not path.is_file():
        raise InputError(f"{path} is not a regular file", "give another name")
    if kept := _kept_for_us(path):
        raise InputError(f"{path} is {kept}: it is never written over", "give another name; nothing was changed")
    if not force and (path.exists() or path.is_symlink()):
        raise InputError(f"{path} is there already", f"give a name that is not taken, or {to_replace} to replace it")


@contextmanager
def _in_words(path: Path) -> Iterator[None]:
    try:
        yield
    except (OSError, ValueError) as error:
        if isinstance(error, OSError) and error.errno in FULL:
            raise BookError(f"the disk is full: {path} was not saved", "free some space and repeat it") from None
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise InputError(f"{path} cannot be written: {why}", "give a place where you may write") from None


def _kept_for_us(path: Path) -> str:
    """What a file is that must not be written over, whichever of its names was given; empty when it may be."""
    from tracker.book.schema import is_book

    real = path.resolve()
    if is_book(real):
        return "the book itself or a copy of one"
    for name in {path.absolute(), real}:
        beside = _BESIDE.match(name.name)
        if beside and is_book(name.with_name(beside["book"])):
            return "part of a deckjobs book"
    settings = settings_path()
    if settings is not None and _same(real, settings):
        return "the settings of deckjobs"
    return ""


def _same(one: Path, other: Path) -> bool:
    return one.samefile(other) if one.exists() and other.exists() else one == other.resolve()
