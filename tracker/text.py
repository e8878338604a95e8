"""The gate every untrusted string passes on its way to a person or a file, and the near-miss finder.

A leaf: everything may import it.
"""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Collection, Iterable

from tracker.errors import InputError

_HIDDEN = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_HARMFUL = frozenset({"Cc", "Cs", "Cn", "Co", "Zl", "Zp"})
NAME_LIMIT = 200
NOTE_LIMIT = 4000


def clean(text: str, *, lines: bool = False) -> str:
    """Return ``text`` safe to show on one line: control, private and direction-changing characters become
    U+FFFD.

    Tabs and line ends become spaces; with ``lines`` a line feed is kept. Honest Arabic, Hebrew, wide and
    combining characters stay as they are.
    """
    if text.isascii() and text.isprintable():
        return text
    out: list[str] = []
    for char in text.replace("\r\n", "\n"):
        if char == "\n" and lines:
            out.append(char)
        elif char in "\t\n\r":
            out.append(" ")
        elif char in _HIDDEN or unicodedata.category(char) in _HARMFUL:
            out.append("\N{REPLACEMENT CHARACTER}")
        else:
            out.append(char)
    return "".join(out)


def accept(text: str, what: str, *, limit: int = NAME_LIMIT, empty: bool = False) -> str:
    """Return typed ``text`` stripped and in NFC, fit for the book.

    Raises InputError naming ``what`` when it is blank (unless ``empty``), longer than ``limit`` characters,
    or holds a NUL or an undecodable byte. Odd but valid characters are kept: they are cleaned when shown.
    """
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise InputError(f"{what} is not valid text", "type it again in UTF-8") from None
    if "\0" in text:
        raise InputError(f"{what} holds a NUL character", "remove it and try again")
    text = unicodedata.normalize("NFC", text.strip())
    if not text and not empty:
        raise InputError(f"{what} is empty", f"give {what} at least one character")
    if len(text) > limit:
        raise InputError(f"{what} has {len(text)} characters; the limit is {limit}", "shorten it")
    return text


def near(word: str, known: Collection[str]) -> str:
    """Return `` (did you mean X?)`` for the closest of ``known``, or an empty string.

    A word that is a piece of several known ones could mean any of them: then only one that begins with it is
    suggested, and nothing when several do.
    """
    within = [k for k in known if len(word) > 2 and word.lower() in k.lower()]
    if len(begun := [k for k in within if k.lower().startswith(word.lower())]) == 1:
        within = begun
    if within:
        return f" (did you mean {within[0]}?)" if len(within) == 1 else ""
    cutoff = 0.5 if len(word) <= 3 else 0.6  # one wrong character in a short code still finds it
    match = difflib.get_close_matches(word.lower(), [k.lower() for k in known], n=1, cutoff=cutoff)
    originals = {k.lower(): k for k in known}
    return f" (did you mean {originals[match[0]]}?)" if match else ""


def listing(words: Iterable[str], last: str = "or") -> str:
    """Join words as a sentence does: ``a``, ``a or b``, ``a, b or c``."""
    items = list(words)
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def count(number: int, noun: str, plural: str = "") -> str:
    """``1 board``, ``2 boards``, ``2 boxes``; an irregular plural is passed in."""
    many = plural or noun + ("es" if noun.endswith(("x", "s", "ch", "sh")) else "s")
    return f"{number} {noun if number == 1 else many}"
