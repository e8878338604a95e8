"""Writing a page to a file from a screen: to a path a person names, or to the downloads of their browser."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from io import BytesIO
from pathlib import Path
from typing import Any

from tracker.book.outfile import write_file
from tracker.errors import InputError
from tracker.screens.asking import Question
from tracker.screens.choice import steps
from tracker.screens.frame import Framed, writes
from tracker.text import clean

LONGEST_PATH, LONGEST_NAME = 1000, 80
KEEP, REPLACE = "keep", "replace"


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a page went, or was to go when a file was there already."""

    typed: str
    path: Path
    taken: bool


def file_name(name: str) -> str:
    """A name any disk and browser takes: letters, digits, dots, dashes; never a path."""
    plain = re.sub(r"[^\w.-]+", "-", clean(name)).strip("-.")
    stem, dot, ending = plain.rpartition(".")
    return f"{stem[:LONGEST_NAME]}{dot}{ending[:10]}" if stem else plain[:LONGEST_NAME] or "page"


def export(
    screen: Framed[Any], name: str, make: Callable[[], bytes], *, what: str = "it", folder: Path | None = None
) -> None:
    """Write ``what`` ``make`` makes (in a thread) to a file, ``name`` suggested; ``screen`` tells what came of it.

    In a terminal a person names the file (in ``folder`` when one is suggested), and a file that is there is replaced
    only after a yes. In a browser the page is downloaded under that name.
    """
    if screen.desk.is_web:
        _download(screen, file_name(name), make)
    else:
        _ask(screen, str(folder / file_name(name)) if folder else file_name(name), make, what)


@writes
async def _download(screen: Framed[Any], name: str, make: Callable[[], bytes]) -> None:
    data = await screen.desk.in_thread(make)
    screen.desk.deliver_binary(BytesIO(data), save_filename=name)
    screen.tell(f"{name} goes to the downloads of your browser")


def _ask(screen: Framed[Any], suggested: str, make: Callable[[], bytes], what: str) -> None:
    async def act(typed: str, _entry: str) -> _Place:
        path = _path(typed)
        if await screen.desk.in_thread(lambda: os.path.lexists(path) and not path.is_dir()):
            return _Place(typed, path, taken=True)
        await screen.desk.in_thread(partial(_write, path, make))
        return _Place(typed, path, taken=False)

    def written(place: _Place | None) -> None:
        if place is None:
            screen.tell("nothing was written")
        elif place.taken:
            lines = ((KEEP, "keep it, and write under another name"), (REPLACE, "replace it"))
            screen.desk.push_screen(steps(f"{clean(place.typed)} is there already", lines), partial(chosen, place))
        else:
            screen.tell(f"written: {place.path.absolute()}")

    def chosen(place: _Place, answer: str | None) -> None:
        if answer == KEEP:
            _ask(screen, place.typed, make, what)
        elif answer == REPLACE:
            _replace(screen, place.path, make)
        else:
            screen.tell("nothing was written")

    help_text = f"a name alone goes to {Path.cwd()}"
    question = Question(
        f"Write {what} to:", act, what="the file", help_text=help_text, value=suggested, limit=LONGEST_PATH
    )
    screen.desk.push_screen(question, written)


@writes
async def _replace(screen: Framed[Any], path: Path, make: Callable[[], bytes]) -> None:
    await screen.desk.in_thread(partial(_write, path, make, replace=True))
    screen.tell(f"replaced: {path.absolute()}")


def _path(typed: str) -> Path:
    try:
        return Path(typed).expanduser()
    except RuntimeError:
        raise InputError(f"nobody here is called {typed.partition('/')[0]}", "write the whole path") from None


def _write(path: Path, make: Callable[[], bytes], *, replace: bool = False) -> None:
    write_file(path, make(), force=replace, to_replace="say yes")
