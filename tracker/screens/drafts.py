"""Drafts outlive the program: what was typed and not saved is kept in a small file beside the book.

One file for each device, readable by its owner only, replaced whole; a file that cannot be read is as good as none.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass, field
from itertools import count
from pathlib import Path
from threading import Lock

SEPARATOR = "/"
SOUGHT = "search"
"""The name of what was sought last: whoever seeks next has the word."""
OTHER = ", other window "
"""Between the name of a form and the number of a draft that another window has typed there."""


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
    """The drafts of a device on the disk, which windows on one book share: each writes its own and leaves the others'.

    Where two windows type into one form (or answer one question), the one that comes second writes beside the other, under
    the name with OTHER and a number after it: both are there next time.
    """

    def __init__(self) -> None:
        self.seen: dict[str, Plain] = {}
        """The drafts of this window as last read or written."""
        self.numbers: dict[str, int] = {}
        """The number this window writes a form or a question under, by its name, where another has the name."""
        self.parted: set[str] = set()
        """Drafts of this window that have left those of another window since this was last looked at."""
        self.turns = count(1)
        self.written = 0
        """The turn of what was written last: what was looked at before it comes too late."""
        self.lock = Lock()

    def keep(self, path: Path, typed: dict[str, Plain], turn: int | None = None) -> None:
        """Write what changed in this window, ``typed`` being all of it as ``plain`` makes it, and ``turn`` the next of ``turns``
        when it was looked at. Threads that write come one after the other; one whose turn is over does nothing. Raises OSError,
        and tries again the next time.
        """
        turn = next(self.turns) if turn is None else turn
        with self.lock:
            if turn > self.written:
                self._keep(path, typed)
                self.written = turn

    def _keep(self, path: Path, typed: dict[str, Plain]) -> None:
        changed = {key for key in typed.keys() | self.seen.keys() if typed.get(key) != self.seen.get(key)}
        if not changed:
            return
        with _alone(path.parent):
            there = plain(kept_drafts(path))
            for form in {form_of(key) for key in changed & typed.keys()}:
                if form not in self.numbers and self._is_anothers(form, there):
                    self._part(form, there, typed)
            for key in changed:
                there.pop(self._written(key), None)
            _write(path, there | {self._written(key): typed[key] for key in typed if key in changed})
        self.seen = typed
        forms = {form_of(key) for key in typed}  # the number of what is done with is anybody's again
        self.numbers = {form: number for form, number in self.numbers.items() if form in forms}

    def _is_anothers(self, form: str, there: Mapping[str, Plain]) -> bool:
        """Whether what is there for a form is not what this window read or wrote last."""
        return form != SEPARATOR + SOUGHT and any(
            form_of(key) == form and draft != self.seen.get(key) for key, draft in there.items()
        )

    def _part(self, form: str, there: dict[str, Plain], typed: Mapping[str, Plain]) -> None:
        """Write this window's texts of a form under a number from now on."""
        taken = {form_of(key) for key in there}
        self.numbers[form] = next(n for n in count(2) if f"{form}{OTHER}{n}" not in taken)
        for key in [key for key in typed if form_of(key) == form]:
            there[self._written(key)] = typed[key]
            self.parted.add(key)

    def _written(self, key: str) -> str:
        """The name a draft of this window has in the file."""
        form = form_of(key)
        return f"{form}{OTHER}{self.numbers[form]}{key[len(form) :]}" if form in self.numbers else key

    def read(self, path: Path) -> Drafts:
        """The drafts of last time, none when the file is missing or not ours."""
        drafts = kept_drafts(path)
        self.seen = plain(drafts)
        return drafts


def form_of(name: str) -> str:
    """The form or the question of a draft's name: each field of a question is a draft of its own."""
    return name.partition("\n")[0]


def first_name(name: str) -> str:
    """A draft's name without the number of another window."""
    form, field = form_of(name), name[len(form_of(name)) :]
    return form.partition(OTHER)[0] + field


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """While no other window writes there, where the system can say so."""
    try:
        from fcntl import LOCK_EX, flock
    except ImportError:
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        with suppress(OSError):  # a share that knows no locks
            flock(handle, LOCK_EX)
        yield
    finally:
        os.close(handle)


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
