"""Row ids: UUIDv7 (RFC 9562, section 5.7), made by the client so that a repeated command can carry the same one."""

from __future__ import annotations

import hashlib
import secrets
import time
from uuid import UUID

from tracker.errors import InputError


def _uuid7(ms: int, tail: int) -> str:
    value = (ms & (1 << 48) - 1) << 80 | tail & (1 << 80) - 1
    value = value & ~(0xF << 76) | 0x7 << 76
    value = value & ~(0x3 << 62) | 0x2 << 62
    return str(UUID(int=value))


def new_id() -> str:
    """A fresh UUIDv7 as text."""
    return _uuid7(time.time_ns() // 1_000_000, secrets.randbits(80))


def derived_id(ms: int, *words: str) -> str:
    """The same UUIDv7-shaped id for the same moment and words, so that a job file's log is taken once."""
    digest = hashlib.sha256("\x1f".join(words).encode()).digest()
    return _uuid7(ms, int.from_bytes(digest[:10]))


def check_id(text: str) -> str:
    """A client's id in its canonical form; raises InputError when it is not a UUID."""
    try:
        return str(UUID(text))
    except ValueError:
        raise InputError(f"{text[:60]!r} is not an id", "give a UUID, or leave --id out") from None
