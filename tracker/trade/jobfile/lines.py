"""Where each key of a valid TOML document stands: a small scanner, because the standard parser keeps no line numbers.

The document has already been accepted by ``tomllib``; nothing here judges it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TypeAlias

Path: TypeAlias = tuple[str | int, ...]
"""A key's way from the top of the document: ``("platform", 0, "joists", "size")``."""

_SPACE = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_BLANK = re.compile(r"[ \t]*")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_BASIC = re.compile(r'"(?:[^"\\\n]|\\.)*"')
_LITERAL = re.compile(r"'[^'\n]*'")
_BASIC_LINES = re.compile(r'"""(?:[^"\\]|\\.|"(?!""))*"{3,5}', re.DOTALL)
_LITERAL_LINES = re.compile(r"'''(?:[^']|'(?!''))*'{3,5}", re.DOTALL)
_PLAIN = re.compile(r"[^,\]\}#\r\n]+")


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.lines: dict[Path, int] = {(): 1}
        self.counts: dict[Path, int] = {}

    def take(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.at)
        if match is None:
            return ""
        self.at = match.end()
        self.line += match.group().count("\n")
        return match.group()

    def peek(self, size: int = 1) -> str:
        return self.text[self.at : self.at + size]

    def skip(self, size: int = 1) -> None:
        self.at += size

    def note(self, path: Path, line: int | None = None) -> None:
        self.lines.setdefault(path, self.line if line is None else line)

    def key(self) -> tuple[str, ...]:
        parts: list[str] = []
        while True:
            self.take(_BLANK)
            quoted = self.take(_BASIC) if self.peek() == '"' else self.take(_LITERAL)
            parts.append(_unquote(quoted) if quoted else self.take(_BARE))
            self.take(_BLANK)
            if self.peek() != ".":
                return tuple(parts)
            self.skip()

    def document(self) -> None:
        base: Path = ()
        while self.at < len(self.text):
            self.take(_SPACE)
            if self.at >= len(self.text):
                return
            start = self.at
            if self.peek(2) == "[[":
                self.skip(2)
                base = self.header(self.key(), array=True)
                self.skip(2)
            elif self.peek() == "[":
                self.skip()
                base = self.header(self.key(), array=False)
                self.skip()
            else:
                self.pair(base)
            if self.at == start:  # cannot happen in a valid document; never loop for ever
                return

    def header(self, parts: tuple[str, ...], *, array: bool) -> Path:
        path: Path = ()
        for part in parts[:-1]:
            path = self.inside((*path, part))
        path = (*path, parts[-1])
        if not array:
            self.note(path)
            return path
        index = self.counts.get(path, 0)
        self.counts[path] = index + 1
        self.note(path)
        self.note((*path, index))
        return (*path, index)

    def inside(self, path: Path) -> Path:
        self.note(path)
        return (*path, self.counts[path] - 1) if path in self.counts else path

    def pair(self, base: Path) -> None:
        line = self.line
        path = base
        for part in self.key():
            path = (*path, part)
            self.note(path, line)
        self.skip()  # the equals sign
        self.take(_BLANK)
        self.value(path)

    def value(self, path: Path) -> None:
        first = self.peek()
        if self.peek(3) == '"""':
            self.take(_BASIC_LINES)
        elif self.peek(3) == "'''":
            self.take(_LITERAL_LINES)
        elif first == '"':
            self.take(_BASIC)
        elif first == "'":
            self.take(_LITERAL)
        elif first == "[":
            self.array(path)
        elif first == "{":
            self.inline(path)
        else:
            self.take(_PLAIN)

    def array(self, path: Path) -> None:
        self.skip()
        index = 0
        while True:
            self.take(_SPACE)
            if self.peek() in ("]", ""):
                self.skip()
                return
            self.note((*path, index))
            self.value((*path, index))
            index += 1
            self.take(_SPACE)
            if self.peek() == ",":
                self.skip()

    def inline(self, path: Path) -> None:
        self.skip()
        while True:
            self.take(_SPACE)
            if self.peek() in ("}", ""):
                self.skip()
                return
            self.pair(path)
            self.take(_SPACE)
            if self.peek() == ",":
                self.skip()


def _unquote(quoted: str) -> str:
    """The text of a quoted key; TOML's own reader undoes the escapes."""
    if quoted.startswith("'"):
        return quoted[1:-1]
    import tomllib

    text = tomllib.loads(f"k = {quoted}")["k"]
    return text if isinstance(text, str) else quoted


def key_lines(text: str) -> dict[Path, int]:
    """Return the line (from 1) of every key, table, array element and inline-table key of a valid document."""
    scanner = _Scanner(text.replace("\r\n", "\n"))
    scanner.document()
    return scanner.lines


def line_of(lines: Mapping[Path, int], path: Path) -> int:
    """The line of ``path``, or of the nearest thing around it that has one."""
    while path not in lines and path:
        path = path[:-1]
    return lines.get(path, 1)
