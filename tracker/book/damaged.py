"""A damaged book in words: what is wrong, who tells all of it, and which copies are kept."""

from __future__ import annotations

import glob
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tracker.errors import BookError, TrackerError


def kept_copies(path: Path) -> list[Path]:
    """The copies kept beside a book, before updates and by restores, the newest first."""
    name = glob.escape(path.name)
    found = [one for kind in ("before", "replaced") for one in path.parent.glob(f"{name}.{kind}-*")]
    return sorted((one for one in found if one.is_file()), key=lambda one: one.stat().st_mtime, reverse=True)


def put_back(path: Path) -> str:
    """What to do about a damaged book at ``path``, on one line that names the newest copy kept beside it."""
    copies = kept_copies(path)
    kept = f"the newest copy kept beside it is {copies[0]}" if copies else "no copy is kept beside it"
    return f"leave the file as it is; `deckjobs restore FILE` puts a copy back; {kept}"


def where_to_turn(path: Path) -> str:
    """As ``put_back``, and who tells all that is wrong."""
    return f"`deckjobs doctor` tells all that is wrong; {put_back(path)}"


MENDS = "`deckjobs doctor --mend` puts triggers and indexes right, after a copy"


def damaged(path: Path, what: str, *, mended: bool = False) -> BookError:
    """The error of a book that is damaged: ``what`` is wrong with it; ``mended`` says that mending puts it right."""
    remedy = f"`deckjobs doctor` tells all that is wrong; {MENDS}" if mended else where_to_turn(path)
    return BookError(f"the book is damaged: {what} ({path})", remedy)


def not_a_book(path: Path, why: str) -> BookError:
    """The error of a file that is no book, or no more."""
    return BookError(
        f"{path} is not a deckjobs book: {why}",
        f"give the right file with --book; if this is the right one, {where_to_turn(path)}",
    )


@contextmanager
def told_when_damaged(path: Path) -> Iterator[None]:
    """Where what cannot happen happens inside the block, raise the BookError of a damaged book if this one is.

    Parsers need not foresee everything a flipped bit makes of a row; a sound book leaves the fault as ours.
    """
    try:
        yield
    except (TrackerError, OSError):
        raise
    except Exception as error:
        from tracker.book.examine import blamed

        if (words := blamed(path)) is None:
            raise
        raise words from error
