"""Reading a file a person named: only regular files, only of a sensible size, and every refusal in words."""

from __future__ import annotations

from pathlib import Path

from tracker.errors import InputError

LARGEST = 1_000_000


def read_file(path: Path, what: str = "a job file") -> bytes:
    """The bytes of a regular file of at most 1 MB. Raises InputError for anything else, before reading it."""
    try:
        if path.is_dir():
            raise InputError(f"{path} is a folder", f"name {what} in it, like {path / 'job.toml'}")
        if not path.exists():
            raise InputError(f"{path} is not there", f"give the path of {what}")
        if not path.is_file():
            raise InputError(f"{path} is not a regular file", f"give the path of {what}")
        if path.stat().st_size > LARGEST:
            raise InputError(f"{path} has {path.stat().st_size:,} bytes", f"{what} has at most {LARGEST:,} bytes")
        return path.read_bytes()
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise InputError(f"{path} cannot be read: {why}", f"give the path of {what}") from None
