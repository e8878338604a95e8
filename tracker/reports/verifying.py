"""Holding a copy of an as-built record against its own digest and against the book.

What can be told of which copy:

- **JSON**: changed or not, by its own digest and with no book; with the book also which lines differ, which entries the
  book no longer has as they were, and what was recorded since.
- **HTML**: every word of the page and every tag of it is held against the pages this program makes, spaces between them
  apart; lines of the record that were changed or left out are named.
- **PDF**: whether it is, byte for byte, what this program makes of the book; the words in it are not read.

A copy that was changed and given a new digest by the same hand is told by the book alone. What such a hand says of itself
excuses nothing: a line that differs is never good, though entries made after the copy may be why.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from difflib import SequenceMatcher
from enum import StrEnum
from html.parser import HTMLParser
from typing import Any

from tracker.book.handviews import EntryMark, digest_of_marks
from tracker.errors import InputError
from tracker.reports.asbuilt import KIND, VERSION, Part, Record, part_lines
from tracker.text import clean, count
from tracker.trade.dates import parse_day

SHOWN = 20


class Form(StrEnum):
    """How a copy is written."""

    JSON = "JSON"
    HTML = "HTML"
    PDF = "PDF"


@dataclass(frozen=True, slots=True)
class Words:
    """The words of a page, spaces left out, and in ``rest`` how they are shown: its tags, each with its place, its style."""

    text: str
    rest: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy as it was read: the job and day it speaks of (empty and None where it does not say).

    ``record`` and ``digest`` (the one it carries) of a JSON copy; the ``page`` of an HTML one.
    """

    form: Form
    job: str
    day: date | None
    record: Record | None = None
    digest: str = ""
    page: Words | None = None
    data: bytes = b""


@dataclass(frozen=True, slots=True)
class Verified:
    """What was found: ``good`` when nothing says that the copy was changed; ``lines`` say what was held against what.

    ``doubt``: it is not good, yet may be as it was made, before later entries or by another version of this program.
    """

    good: bool
    lines: tuple[str, ...]
    differs: tuple[str, ...] = ()
    since: int = 0
    doubt: bool = False

    @property
    def word(self) -> str:
        """The finding in a few words."""
        if self.good:
            return "unchanged"
        return "not what the book gives now" if self.doubt else "not as it was made"


def read_copy(data: bytes) -> Copy:
    """Read a copy of a record from a file's bytes; raises InputError when it is none."""
    if data.startswith(b"%PDF-"):
        made = re.search(rb"/CreationDate \(D:([0-9]{4})([0-9]{2})([0-9]{2})", data)
        day = _day("-".join(part.decode() for part in made.groups()), "this PDF") if made else None
        return Copy(Form.PDF, "", day, data=data)
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise InputError("this is no copy of a record: neither JSON, HTML nor PDF", _HOW) from None
    if text.lstrip().startswith("{"):
        return _json_copy(text)
    if "<html" in text[:2000].lower():
        return _html_copy(text, data)
    raise InputError("this is no copy of a record: neither JSON, HTML nor PDF", _HOW)


def _day(text: str, where: str) -> date:
    """A day as a copy says it; raises InputError when there is none of that name, or no job could be of that day."""
    with suppress(InputError):
        if (day := parse_day(text)).isoformat() == text:
            return day
    raise InputError(f"this is no copy of a record: {clean(text)[:20]!r} on {where} is no day of one", _HOW)


_HOW = "make one with `deckjobs handover JOB --part asbuilt --json`, or --html FILE, or --pdf FILE"


def _json_copy(text: str) -> Copy:
    try:
        found = json.loads(text, object_pairs_hook=_once)
        found = found.get("record", found)
        if found.get("kind") != KIND:
            raise InputError("this JSON is no as-built record", _HOW)
        if found["version"] != VERSION:
            version = clean(str(found["version"]))[:20]
            raise InputError(f"this record has version {version}, made by a newer deckjobs", "update this one")
        _only(found, "kind", "version", "job", "title", "day", "parts", "entries", "entries_digest", "digest")
        parts = tuple(_part(part) for part in _list(found["parts"]))
        entries = tuple(_entry(entry) for entry in _list(found["entries"]))
        record = Record(
            _text(found["job"]),
            _text(found["title"]),
            _text(found["day"]),
            parts,
            entries,
            _text(found["entries_digest"]),
        )
        return Copy(Form.JSON, record.job, _day(record.day, "this JSON"), record, _text(found["digest"]))
    except (KeyError, TypeError, ValueError, AttributeError, RecursionError) as error:
        raise InputError(f"this JSON is no whole as-built record: {clean(str(error))[:80]}", _HOW) from None


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    table = dict(pairs)
    if len(table) != len(pairs):
        raise ValueError("a key stands in it twice")
    return table


def _only(table: Mapping[str, object], *names: str) -> None:
    """Nothing may stand in a record that its digest does not cover."""
    if more := sorted(set(table) - set(names)):
        raise ValueError(f"{more[0]!r} is no part of a record")


def _part(table: Mapping[str, Any]) -> Part:
    _only(table, "title", "columns", "rows")
    return Part(_text(table["title"]), _texts(table["columns"]), tuple(_texts(row) for row in _list(table["rows"])))


def _entry(table: Mapping[str, Any]) -> tuple[str, str]:
    _only(table, "id", "digest")
    return _text(table["id"]), _text(table["digest"])


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError(f"{value!r} is no text")
    value.encode()  # half a character (a lone surrogate) is a ValueError
    return value


def _list(values: object) -> list[Any]:
    if not isinstance(values, list):
        raise TypeError(f"{values!r} is no list")
    return values


def _texts(values: object) -> tuple[str, ...]:
    return tuple(_text(value) for value in _list(values))


_HIDDEN = frozenset(("style", "script", "svg", "title"))
_ANY_PAGE = frozenset(("html", "head", "body", "tbody"))
"""Tags that a browser puts in when it saves a page."""


class _Reader(HTMLParser):
    """Collects the words of a page, and apart from them its tags, its style and its drawings."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.words: list[str] = []
        self.rest: list[str] = []
        self.read = 0
        self.hidden = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.hidden += tag in _HIDDEN
        said = [f"{name}={value or ''}" for name, value in attrs]
        told_by_browser = tag == "meta" and not any(text.lower() == "http-equiv=refresh" for text in said)
        if not told_by_browser and (said or tag not in _ANY_PAGE):
            self.rest.append(" ".join((f"{self.read}", tag, *said)))

    def handle_endtag(self, tag: str) -> None:
        self.hidden -= tag in _HIDDEN and self.hidden > 0

    def handle_data(self, data: str) -> None:
        text = squeezed(data)
        if self.hidden:
            self.rest.append(text)
        else:
            self.words.append(text)
            self.read += len(text)

    def handle_comment(self, data: str) -> None:
        self.rest.append(f"comment {data}")

    def handle_pi(self, data: str) -> None:
        self.rest.append(f"instruction {data}")

    def unknown_decl(self, data: str) -> None:
        self.rest.append(f"declaration {data}")


def read_words(text: str) -> Words:
    """Read a page; raises InputError when it cannot be read as one."""
    reader = _Reader()
    try:
        reader.feed(text)
        reader.close()
    except (AssertionError, ValueError, RecursionError):  # the parser asserts on what it does not know
        raise InputError("this is no copy of a record: the page is broken", _HOW) from None
    return Words("".join(reader.words), tuple(text for text in reader.rest if text))


def squeezed(text: str) -> str:
    """A text without its spaces and the characters that only say where a line may break."""
    return re.sub("[\\s\u00ad\u200b\u2060\ufeff]+", "", text)


def _html_copy(text: str, data: bytes) -> Copy:
    page = read_words(text)
    named = re.search(r"Recordofjob(.{1,60}?)asknownon([0-9]{4}-[0-9]{2}-[0-9]{2}),madeof", page.text)
    if named is None:
        raise InputError("there is no as-built record on this page, or its last lines were cut off", _HOW)
    return Copy(Form.HTML, named[1], _day(named[2], "this page"), page=page, data=data)


MOST_LATER = 12
"""Entries of the same day that a PDF, which does not say how many it was made of, is tried without."""


def made_before(copy: Copy, record: Record) -> Iterator[frozenset[str]]:
    """What the book may have been without when a copy was made: the last entries of the record, by id, the likeliest first."""
    ids = [name for name, _ in record.entries]
    if copy.record is not None:
        listed = {name for name, _ in copy.record.entries}
        tries = [frozenset(name for name in ids if name not in listed)]
    elif copy.page is not None:
        told = re.search(r"madeof([0-9]{1,7})entr", copy.page.text)
        tries = [frozenset(ids[int(told[1]) :])] if told else []
    else:
        tries = [frozenset(ids[-number:]) for number in range(1, min(MOST_LATER, len(ids) - 1) + 1)]
    yield from (found for found in tries if found and len(found) < len(ids))


def own_digest(copy: Copy) -> Verified:
    """What a JSON copy says of itself, without the book."""
    record = copy.record
    if record is None:
        return Verified(True, (f"{copy.form.value}: it cannot be told without the book",))
    marks = [EntryMark(name, digest) for name, digest in record.entries]
    if record.digest != copy.digest:
        return Verified(False, ("CHANGED: its words do not give the digest it carries",))
    if digest_of_marks(marks) != record.entries_digest:
        return Verified(False, ("CHANGED: its list of entries does not give the digest it carries",))
    return Verified(True, ("its words give the digest it carries",))


def verify(
    copy: Copy,
    record: Record,
    marks: Sequence[EntryMark],
    made: Callable[[], Iterable[bytes]] = lambda: (),
    left: int = 0,
) -> Verified:
    """Hold a copy against ``record``, what the book gives for its job and day, and ``marks``, all entries of the job now.

    ``left`` entries of that day or before are left out of the record: it is what the book gave before they came. ``made`` gives the files of the copy's form that this program makes of that record, for a copy that is no JSON.
    """
    if copy.record is not None:
        return _held_json(own_digest(copy), copy.record, record, marks)
    since = len(marks) - len(record.entries)
    told = f"entries made on later days: {since}" if since else "no entry was made on a later day"
    if left:
        told = f"{count(since, 'entry', 'entries')} made since, {left} of them of {record.day} or before"
    files = made() if copy.page is None else list(made())
    if any(copy.data == data for data in files):
        return Verified(True, (f"the same, byte for byte, as the book gives for {record.day}", told), since=since)
    if copy.page is None:
        return Verified(
            False,
            (f"not byte for byte what this program makes of the book as known on {record.day}: changed, or made before"
             " later entries of that day or by another version",
             f"the digest of the record is now {record.digest}: compare it with the one printed at its end", told),
            since=since, doubt=True,
        )  # fmt: skip
    pages = [read_words(data.decode()) for data in files]
    good, lines, differs = _held_html(copy.page, record, pages)
    return Verified(good, (*lines, told), tuple(differs), since, doubt=not good)


def _held_json(own: Verified, mine: Record, record: Record, marks: Sequence[EntryMark]) -> Verified:
    lines = list(own.lines)
    now = {mark.id: mark.digest for mark in marks}
    lost = [name for name, digest in mine.entries if now.get(name) != digest]
    known = {name for name, _ in mine.entries}
    of_day = [entry for entry in record.entries if entry[0] in known]
    since, late = sum(mark.id not in known for mark in marks), len(record.entries) - len(of_day)
    listed = tuple(of_day) == mine.entries
    differs = _differences(_rows(mine.parts), _rows(record.parts))
    head = (mine.title, mine.job) != (record.title, record.job)
    same = not differs and not head
    if lost:
        lines.append(f"{count(len(lost), 'entry', 'entries')} of its list are not in the book as they were: {lost[0]}")
    elif not listed:
        lines.append("its list of entries is none the book gives: one stands twice, out of order, or is of a later day")
    if same:
        lines.append("its lines are those of the book")
    else:
        lines.append(f"it differs from the book in {count(len(differs) + head, 'line')}")
    lines += _told_since(record.day, since, late)
    if not same and late:
        lines.append(f"those of {record.day} or before may be why it differs, or it was changed: read the lines")
    whole = own.good and listed
    return Verified(whole and same, tuple(lines), tuple(differs), since, doubt=whole and not same and late > 0)


def _told_since(day: str, since: int, late: int) -> Iterator[str]:
    if not since:
        yield "no entry was made since"
        return
    of_day = f", {late} of them of {day} or before" if late else ""
    yield f"{count(since, 'entry', 'entries')} made since{of_day}"


_Row = tuple[tuple[str, ...], str]
"""Everything a row says, by which it is compared, and its line, by which it is shown."""


def _rows(parts: Sequence[Part]) -> list[_Row]:
    """The rows of each part after the row of its columns' titles."""
    out: list[_Row] = []
    for part in parts:
        rows = replace(part, rows=(part.columns, *part.rows))
        out += (((part.title, *row), line) for row, line in zip(rows.rows, part_lines([rows]), strict=True))
    return out


def _differences(mine: Sequence[_Row], theirs: Sequence[_Row]) -> list[str]:
    out: list[str] = []
    keys, their_keys = [key for key, _ in mine], [key for key, _ in theirs]
    for word, a, b, c, d in SequenceMatcher(None, keys, their_keys, autojunk=False).get_opcodes():
        if word != "equal":
            out += [f"copy: {line}" for _, line in mine[a:b]] + [f"book: {line}" for _, line in theirs[c:d]]
    return out


def _held_html(page: Words, record: Record, pages: Sequence[Words]) -> tuple[bool, list[str], list[str]]:
    """Whether a page is one of ``pages`` saved another way, what is to be said of it, and what differs."""
    lines: list[str] = []
    carried = re.search("digestofthisrecord([0-9a-f]{64})", page.text)
    differs = _walked(page.text, record)
    if differs:
        lines.append("CHANGED, or made before later entries of that day: its words are not those of the book")
    if carried is None or carried[1] != record.digest:
        lines.append(f"it carries another digest than the book gives: {record.digest}")
    alike = [made for made in pages if made.text == page.text]
    if lines:
        return False, lines, differs
    if not alike:
        return False, [_OTHER_WORDS], _round(page.text, [made.text for made in pages])
    if all(made.rest != page.rest for made in alike):
        return False, [_OTHER_TAGS], []
    return True, ["the words of the record are those of the book, and it carries their digest"], []


_OTHER_WORDS = "CHANGED, or made by another version: words before or after those of the record are not its own"
_OTHER_TAGS = "CHANGED, or rewritten as it was saved: its words are those of the book, but what is shown may be others"


def _walked(text: str, record: Record) -> list[str]:
    """Walk the words of a page along the record: each piece must follow the one before, with nothing between."""
    pieces = list(_pieces(record))
    at, here, differs = max(text.find(pieces[0][0]), 0), 0, list[str]()
    while here < len(pieces):
        if text.startswith(pieces[here][0], at):
            at += len(pieces[here][0])
            here += 1
            continue
        ahead = ((number, text.find(pieces[number][0], at)) for number in range(here, len(pieces)))
        next_one, place = next(((number, found) for number, found in ahead if found >= 0), (len(pieces), len(text)))
        differs += [f"book: {line}" for _, line in pieces[here:next_one]]
        if between := text[at:place][:LONGEST]:
            differs.append(f"copy, without its spaces: {between}")
        here, at = next_one, place
    return differs


def _round(text: str, made: Sequence[str]) -> list[str]:
    """What stands between the same beginning and the same end of a text and the one of ``made`` most like it."""
    if not made:
        return []
    cuts = [(_between(text, other), other) for other in made]
    (start, end), other = min(cuts, key=lambda cut: len(text) + len(cut[1]) - 2 * sum(cut[0]))
    sides = (("copy", text[start : len(text) - end]), ("book", other[start : len(other) - end]))
    return [f"{side}, without its spaces: {words[:LONGEST]}" for side, words in sides if words]


def _between(one: str, other: str) -> tuple[int, int]:
    """How many characters two texts have in common at their beginning, and then at their end."""
    start = _common(one, other)
    return start, _common(one[start:][::-1], other[start:][::-1])


def _common(one: str, other: str) -> int:
    pairs = enumerate(zip(one, other, strict=False))
    return next((at for at, (mine, theirs) in pairs if mine != theirs), min(len(one), len(other)))


def _pieces(record: Record) -> Iterator[tuple[str, str]]:
    """The words of a record as they follow on a page, spaces left out, with the line they belong to."""
    for part in record.parts:
        head = part.title + ("".join(part.columns) if len(part.columns) > 2 else "")
        yield squeezed(head), part.title
        for row, line in zip(part.rows, part_lines([part]), strict=True):
            yield squeezed("".join(row)), line


LONGEST = 200
