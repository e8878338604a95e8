"""Holding a copy of an as-built record against its own digest and against the book.

What can be told of which copy:

- **JSON**: changed or not, by its own digest and with no book; with the book also which lines differ, which entries the
  book no longer has as they were, and what was recorded since.
- **HTML**: every word of the record is looked for where the book says it stands, so lines changed or left out are named.
- **PDF**: whether it is, byte for byte, what this program makes of the book; the words in it are not read.

A copy that was changed and given a new digest by the same hand is told by the book alone.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from difflib import SequenceMatcher
from enum import StrEnum
from html.parser import HTMLParser

from tracker.book.handviews import EntryMark, digest_of_marks
from tracker.errors import InputError
from tracker.reports.asbuilt import KIND, VERSION, Part, Record, part_lines
from tracker.text import clean, count

SHOWN = 20


class Form(StrEnum):
    """How a copy is written."""

    JSON = "JSON"
    HTML = "HTML"
    PDF = "PDF"


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy as it was read: the job and day it speaks of (empty and None where it does not say).

    ``record`` and ``digest`` (the one it carries) of a JSON copy; ``text`` of an HTML one, its spaces left out.
    """

    form: Form
    job: str
    day: date | None
    record: Record | None = None
    digest: str = ""
    text: str = ""
    data: bytes = b""


@dataclass(frozen=True, slots=True)
class Verified:
    """What was found: ``good`` when nothing says that the copy was changed; ``lines`` say what was held against what."""

    good: bool
    lines: tuple[str, ...]
    differs: tuple[str, ...] = ()
    since: int = 0


def read_copy(data: bytes) -> Copy:
    """Read a copy of a record from a file's bytes; raises InputError when it is none."""
    if data.startswith(b"%PDF-"):
        made = re.search(rb"/CreationDate \(D:([0-9]{4})([0-9]{2})([0-9]{2})", data)
        day = date(*(int(part) for part in made.groups())) if made else None
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


_HOW = "make one with `deckjobs handover JOB --part asbuilt --json`, or --html FILE, or --pdf FILE"


def _json_copy(text: str) -> Copy:
    try:
        found = json.loads(text, object_pairs_hook=_once)
        found = found.get("record", found)
        if found.get("kind") != KIND:
            raise InputError("this JSON is no as-built record", _HOW)
        if found["version"] != VERSION:
            raise InputError(f"this record has version {found['version']}, made by a newer deckjobs", "update this one")
        parts = tuple(
            Part(
                _text(part["title"]), _texts(part["columns"]), tuple(_texts(row) for row in part["rows"])
            ) for part in found["parts"]
        )  # fmt: skip
        entries = tuple((_text(entry["id"]), _text(entry["digest"])) for entry in found["entries"])
        record = Record(
            _text(found["job"]),
            _text(found["title"]),
            _text(found["day"]),
            parts,
            entries,
            _text(found["entries_digest"]),
        )
        return Copy(Form.JSON, record.job, date.fromisoformat(record.day), record, _text(found["digest"]))
    except (KeyError, TypeError, ValueError, AttributeError, RecursionError) as error:
        raise InputError(f"this JSON is no whole as-built record: {clean(str(error))[:80]}", _HOW) from None


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    table = dict(pairs)
    if len(table) != len(pairs):
        raise ValueError("a key stands in it twice")
    return table


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError(f"{value!r} is no text")
    return value


def _texts(values: object) -> tuple[str, ...]:
    if not isinstance(values, list):
        raise TypeError(f"{values!r} is no list")
    return tuple(_text(value) for value in values)


class _Words(HTMLParser):
    """Collects the words of a page, without its style and its drawings."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.words: list[str] = []
        self.hidden = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.hidden += tag in ("style", "script", "svg", "title")

    def handle_endtag(self, tag: str) -> None:
        self.hidden -= tag in ("style", "script", "svg", "title") and self.hidden > 0

    def handle_data(self, data: str) -> None:
        if not self.hidden:
            self.words.append(data)


def squeezed(text: str) -> str:
    """A text without its spaces and the characters that only say where a line may break."""
    return re.sub("[\\s\u00ad\u200b\u2060\ufeff]+", "", text)


def _html_copy(text: str, data: bytes) -> Copy:
    reader = _Words()
    reader.feed(text)
    reader.close()
    words = squeezed("".join(reader.words))
    named = re.search(r"Recordofjob(.{1,60}?)asknownon([0-9]{4}-[0-9]{2}-[0-9]{2}),madeof", words)
    if named is None:
        raise InputError("there is no as-built record on this page, or its last lines were cut off", _HOW)
    try:
        day = date.fromisoformat(named[2])
    except ValueError:
        raise InputError(f"{named[2]} on this page is no day", _HOW) from None
    return Copy(Form.HTML, named[1], day, text=words, data=data)


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
    copy: Copy, record: Record, marks: Sequence[EntryMark], made: Callable[[], Iterable[bytes]] = lambda: ()
) -> Verified:
    """Hold a copy against ``record``, what the book gives for its job and day, and ``marks``, all entries of the job now.

    ``made`` gives the files of the copy's form that this program makes of that record, for a copy that is no JSON.
    """
    own = own_digest(copy)
    if copy.record is not None:
        return _held_json(own, copy.record, record, marks)
    since = len(marks) - len(record.entries)
    told = f"entries made on later days: {since}" if since else "no entry was made on a later day"
    if any(copy.data == data for data in made()):
        return Verified(True, (f"the same, byte for byte, as the book gives for {record.day}", told), since=since)
    if copy.form is Form.PDF:
        return Verified(
            False,
            (f"not byte for byte what this program makes of the book as known on {record.day}: changed, or made before"
             " later entries of that day or by another version",
             f"the digest of the record is now {record.digest}: compare it with the one printed at its end", told),
            since=since,
        )  # fmt: skip
    return _held_html(copy.text, record, told, since)


def _held_json(own: Verified, mine: Record, record: Record, marks: Sequence[EntryMark]) -> Verified:
    lines = list(own.lines)
    now = {mark.id: mark.digest for mark in marks}
    lost = [name for name, digest in mine.entries if now.get(name) != digest]
    known = {name for name, _ in mine.entries}
    since = [mark for mark in marks if mark.id not in known]
    late = len(since) - (len(marks) - len(record.entries))
    differs = _differences(part_lines(mine.parts), part_lines(record.parts))
    head = (mine.title, mine.job) != (record.title, record.job)
    if lost:
        lines.append(f"{count(len(lost), 'entry', 'entries')} of its list are not in the book as they were: {lost[0]}")
    if differs or head:
        lines.append(f"it differs from the book in {count(len(differs) + head, 'line')}")
    else:
        lines.append("its lines are those of the book")
    if since:
        of_day = f", {late} of them of {record.day} or before" if late > 0 else ""
        lines.append(f"{count(len(since), 'entry', 'entries')} made since{of_day}")
    else:
        lines.append("no entry was made since")
    excused = late > 0 and own.good
    if differs and excused:
        lines.append("those entries explain lines that differ: make a new copy of the same day")
    good = own.good and not lost and (excused or not (differs or head))
    return Verified(good, tuple(lines), tuple(differs), len(since))


def _differences(mine: Sequence[str], theirs: Sequence[str]) -> list[str]:
    out: list[str] = []
    for word, a, b, c, d in SequenceMatcher(None, mine, theirs, autojunk=False).get_opcodes():
        if word != "equal":
            out += [f"copy: {line}" for line in mine[a:b]] + [f"book: {line}" for line in theirs[c:d]]
    return out


def _held_html(text: str, record: Record, told: str, since: int) -> Verified:
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
    return _html_answer(text, record, told, since, differs)


def _pieces(record: Record) -> Iterator[tuple[str, str]]:
    """The words of a record as they follow on a page, spaces left out, with the line they belong to."""
    for part in record.parts:
        head = part.title + ("".join(part.columns) if len(part.columns) > 2 else "")
        yield squeezed(head), part.title
        for row, line in zip(part.rows, part_lines([part]), strict=True):
            yield squeezed("".join(row)), line


def _html_answer(text: str, record: Record, told: str, since: int, differs: Sequence[str]) -> Verified:
    carried = re.search("digestofthisrecord([0-9a-f]{64})", text)
    same = carried is not None and carried[1] == record.digest
    lines = []
    if differs:
        lines.append("CHANGED, or made before later entries of that day: its words are not those of the book")
    if not same:
        lines.append(f"it carries another digest than the book gives: {record.digest}")
    if not differs and same:
        lines.append("the words of the record are those of the book, and it carries their digest")
    return Verified(not differs and same, (*lines, told), tuple(differs), since)


LONGEST = 200
