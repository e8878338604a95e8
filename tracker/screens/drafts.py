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


def drafts_text(drafts: Mapping[tuple[str, str], Draft]) -> str:
    """Drafts as JSON; empty when nothing is typed."""
    typed = {SEPARATOR.join(key): asdict(draft) for key, draft in drafts.items() if draft.texts}
    return json.dumps(typed, ensure_ascii=True) if typed else ""


def keep_drafts(path: Path, text: str) -> None:
    """Replace the file by ``text``; no file when it is empty. Raises OSError."""
    if not text:
        path.unlink(missing_ok=True)
        return
    part = path.with_name(f"{path.name}.part-{os.getpid()}")
    descriptor = os.open(part, os.O_CREAT | os.O_WRONLY | os.O_TRUNC | getattr(os, "O_NOFOLLOW", 0), 0o600)
    with os.fdopen(descriptor, "w", encoding="ascii") as file:
        file.write(text)
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
