"""A terminal that shows no more than ASCII (LANG=C, LC_ALL=POSIX, no locale at all) is sent no more than ASCII.

What a screen draws is the same; its borders, marks and letters go out as the nearest plain sign of the same width.
"""

from __future__ import annotations

import os
import sys
import unicodedata
from collections.abc import Mapping

from rich.cells import cell_len
from textual.driver import Driver

from tracker.reports.drawing_text import needs_ascii

_PLAIN = ("", "C", "POSIX")
_SIGNS = {
    "─━╌╍┄┅┈┉╴╶╸╺╼╾═–—−‐‑‒▔▁▂▃": "-",
    "│┃╎╏┆┇┊┋╵╷╹╻╽╿║▏▎▍▕▐▌": "|",
    "■█▇▆▅▄▀▉▊▋▮◼◾▪": "#",
    "·∙•⋅": ".",
    "×✗✕": "x",
    "‖": "=",
    "▶›»→▸❯": ">",
    "◀‹«←◂": "<",
    "↑▲△": "^",
    "↓▼▽": "v",
    "○◌◯°◦": "o",
    "●◉◎◆◇": "@",
    "✓✔": "y",
    "…": ".",
    "‘’′ʼ": "'",
    "“”″": '"',
    "±": "+",
    "≤": "<",
    "≥": ">",
    "²": "2",
    "³": "3",
    "µ": "u",
    "ß": "s",
    "Ø": "O",
    "ø": "o",
    "Æ": "A",
    "æ": "a",
    "░▒▓": ":",
    "\u00a0\u2800": " ",
}
"""Signs by the plain one in their place."""


class _Table(dict[int, str]):
    """What goes out for a character, worked out when it is first met."""

    def __missing__(self, code: int) -> str:
        self[code] = out = chr(code) if code < 128 else _plain_of(chr(code))
        return out


def _plain_of(char: str) -> str:
    """The nearest ASCII for a character, as many cells wide."""
    width = cell_len(char)
    for signs, sign in _SIGNS.items():
        if char in signs:
            return sign * width
    if "\u2500" <= char <= "\u257f":  # corners and crossings of lines
        return "+"
    if "\u2800" < char <= "\u28ff":  # dots of a drawing
        return "*"
    letters = unicodedata.normalize("NFKD", char).encode("ascii", "ignore").decode()
    return letters if len(letters) == width else "?" * width


_TABLE = _Table()


def in_ascii(text: str) -> str:
    """A text in ASCII, every character as wide as it was."""
    return text if text.isascii() else text.translate(_TABLE)


def shows_ascii_only(around: Mapping[str, str], encoding: str | None, utf8_mode: int) -> bool:
    """Whether the environment says that the terminal shows ASCII only.

    ``encoding`` is that of what is written to it. Python puts C.UTF-8 in place of the C locale and says UTF-8 then
    (``utf8_mode``), whatever the terminal is.
    """
    if needs_ascii(encoding):
        return True
    if "PYTHONUTF8" in around:
        return False
    said = next((around[name] for name in ("LC_ALL", "LC_CTYPE", "LANG") if around.get(name)), "")
    put_there = said == around.get("LC_CTYPE") == "C.UTF-8" and bool(utf8_mode)
    return said in _PLAIN or (put_there and around.get("LANG", "") in _PLAIN)


def for_this_terminal(driver: type[Driver]) -> type[Driver]:
    """The driver, sending ASCII where the terminal shows no more."""
    stream = sys.__stderr__
    if sys.platform == "win32" or not shows_ascii_only(
        os.environ, stream.encoding if stream else None, sys.flags.utf8_mode
    ):
        return driver

    class Plain(driver):  # type: ignore[misc, valid-type]
        """A driver that sends ASCII only."""

        ascii_only = True

        def write(self, data: str) -> None:
            """Send it in ASCII."""
            super().write(in_ascii(data))

    return Plain
