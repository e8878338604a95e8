"""Reading and writing a file a person named: only regular files, only of a sensible size, every refusal in words."""

from __future__ import annotations

import os
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


def write_file(path: Path, data: bytes, *, force: bool = False, to_replace: str = "add --force") -> None:
    """Write a file whole or not at all: beside its place, synced, then moved there.

    Raises InputError when something is there already (unless ``force`` and it is a regular file) or it cannot be written;
    ``to_replace`` says there how a person lets it be replaced.
    """
    try:
        if path.is_dir():
            raise InputError(f"{path} is a folder", "give a file name")
        if path.exists() and not path.is_file():
            raise InputError(f"{path} is not a regular file", "give another name")
        if not force and (path.exists() or path.is_symlink()):
            raise InputError(
                f"{path} is there already", f"give a name that is not taken, or {to_replace} to replace it"
            )
        part = path.with_name(f".{path.name}.part-{os.getpid()}")
        try:
            flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
            with os.fdopen(os.open(part, flags, 0o666), "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise InputError(f"{path} cannot be written: {why}", "give a place where you may write") from None
