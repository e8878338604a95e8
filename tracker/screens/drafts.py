"""Drafts outlive the program: what was typed and not saved is kept in a small file beside the book.

One file for each device, readable by its owner only, replaced whole; a file that cannot be read is as good as none.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path

SEPARATOR = "/"


@dataclass(slots=True)
class Draft:
    """Typed values that are not in the book: by field name, with the rows a person added and the entry's id.

    ``tried`` holds the texts of a save that got no good answer: the same texts keep the same id, so that they
    record once. ``corrects`` is the id of the reading these values take the place of, empty for a new one.
    """

    entry_id: str
    texts: dict[str, str] = field(default_factory=dict)
    rows: list[str] = field(default_factory=list)
    tried: dict[str, str] | None = None
    corrects: str = ""


Drafts = dict[tuple[str, str], Draft]


def drafts_path(book: Path, device: str) -> Path:
    """Where the drafts of this device are kept."""
    return book.with_name(f".{book.name}.drafts-{device[-12:]}")


Plain = dict[str, object]


class DraftsFile:
    """The drafts of a device on the disk, which windows on one book share: each writes its own and leaves the others'."""

    def __init__(self) -> None:
        self.seen: dict[str, Plain] = {}
        """The drafts of this window as last read or written."""

    def keep(self, path: Path, typed: dict[str, Plain]) -> None:
        """Write what changed in this window, ``typed`` being all of it as ``plain`` makes it. Raises OSError, and tries again
        the next time.
        """
        changed = {key for key in typed.keys() | self.seen.keys() if typed.get(key) != self.seen.get(key)}
        if not changed:
            return
        there = {key: draft for key, draft in plain(kept_drafts(path)).items() if key not in changed}
        _write(path, there | {key: typed[key] for key in changed & typed.keys()})
        self.seen = typed

    def read(self, path: Path) -> Drafts:
        """The drafts of last time, none when the file is missing or not ours."""
        drafts = kept_drafts(path)
        self.seen = plain(drafts)
        return drafts


def plain(drafts: Mapping[tuple[str, str], Draft]) -> dict[str, Plain]:
    """Those drafts in which something is typed, as plain values of their own."""
    return {SEPARATOR.join(key): asdict(draft) for key, draft in drafts.items() if draft.texts}


def _write(path: Path, drafts: Mapping[str, Plain]) -> None:
    """Replace the file, whole; no file when nothing is typed."""
    if not drafts:
        path.unlink(missing_ok=True)
        return
    part = path.with_name(f"{path.name}.part-{os.getpid()}")
    descriptor = os.open(part, os.O_CREAT | os.O_WRONLY | os.O_TRUNC | getattr(os, "O_NOFOLLOW", 0), 0o600)
    with os.fdopen(descriptor, "w", encoding="ascii") as file:
        json.dump(drafts, file, ensure_ascii=True)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)


def kept_drafts(path: Path) -> Drafts:
    """The drafts of the file, none when it is missing or not ours."""
    try:
        stored = json.loads(path.read_text("ascii"))
        return {
            (code, check): Draft(
                str(draft["entry_id"]),
                {str(name): str(text) for name, text in draft["texts"].items()},
                [str(row) for row in draft["rows"]],
                draft["tried"],
                str(draft.get("corrects", "")),
            )
            for key, draft in stored.items()
            for code, _, check in (key.partition(SEPARATOR),)
        }
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}
