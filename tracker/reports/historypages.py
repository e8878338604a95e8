"""The history of a job on pages: the list, one whole entry, the search over both, and its JSON."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime

from tracker.book.historyviews import HistoryLine
from tracker.reports.jsonable import Table, answer_json, day_json, moment_json
from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.text import count
from tracker.trade.answer import Verdict
from tracker.trade.dates import format_day, format_long_day

KIND_WORDS = {
    "reading": "reading", "waiver": "waiver", "phase": "phase", "movement": "material", "hours": "hours",
    "money": "money", "note": "note", "day": "day",
}  # fmt: skip
"""What people call each kind of entry."""
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_DAY = re.compile(rf"(?<![\w-])(\d{{1,2}}) ({'|'.join(_MONTHS)})[a-z]*(?: (\d{{4}}))?(?![\w-])")
LONG = 8
"""A word this long is sought in ids and digests too; a shorter one would be found in them by chance."""


def when(line: HistoryLine) -> datetime:
    """The local moment of an entry."""
    return line.at.astimezone()


def when_words(line: HistoryLine, today: date, *, brief: bool = False) -> str:
    """``Tue 12 May 14:05``, ``12 May 14:05`` when ``brief``; the year stands in for the clock in another year."""
    at = when(line)
    if at.year != today.year:
        return f"{at.day} {at:%b %Y}"
    return f"{at.day} {at:%b %H:%M}" if brief else f"{format_day(at.date(), today)} {at:%H:%M}"


def said(line: HistoryLine) -> str:
    """The entry in one line, with what became of it."""
    return f"({line.standing}) {line.said}" if line.standing else line.said


def tone(line: HistoryLine) -> Tone:
    """How a line of the list is meant."""
    if line.standing:
        return Tone.QUIET
    if line.answer is not None and line.answer.verdict is not None:
        return {Verdict.PASSED: Tone.GOOD, Verdict.FAILED: Tone.BAD}.get(line.answer.verdict, Tone.CARE)
    return Tone.CARE if line.kind == "waiver" else Tone.PLAIN


class Search:
    """Finds entries by words over everything shown of them; all words must be there, in any order.

    ``12 may`` (or ``12 May 2026``) is a day: that of the work or of the clock.
    """

    def __init__(self, lines: Sequence[HistoryLine]) -> None:
        self.lines = tuple(lines)
        self._texts = [_text(line) for line in lines]
        self._codes = [f"{line.id} {line.corrects} {line.digest} {line.prev} {line.device}" for line in lines]

    def find(self, words: str) -> tuple[HistoryLine, ...]:
        """The entries that hold the words, in the order given; all of them for none."""
        days: list[tuple[int, int, int]] = []

        def taken(match: re.Match[str]) -> str:
            days.append((int(match[1]), _MONTHS.index(match[2]) + 1, int(match[3] or 0)))
            return " "

        sought = _DAY.sub(taken, " ".join(words.casefold().split())).split()
        return tuple(
            line
            for line, text, codes in zip(self.lines, self._texts, self._codes, strict=True)
            if all(_on(line, *day) for day in days)
            and all(word in text or (len(word) >= LONG and word in codes) for word in sought)
        )


def _on(line: HistoryLine, day: int, month: int, year: int) -> bool:
    return any(
        (found.day, found.month) == (day, month) and year in (0, found.year) for found in (line.day, when(line).date())
    )


def _text(line: HistoryLine) -> str:
    at, answer = when(line), line.answer
    parts = [
        KIND_WORDS.get(line.kind, line.kind), line.about, said(line), line.who, line.reason, f"entry {line.number}",
        f"{format_long_day(line.day)} {format_day(line.day, None)} {line.day} {at:%Y-%m-%d %H:%M}",
        *(f"{name} {text} {name}={text}" for name, text in line.entered),
        *(f"{name} {text}" for name, text in line.facts),
    ]  # fmt: skip
    if answer is not None:
        parts += [*answer.moves, *answer.working, answer.source, answer.caution]
        parts += [f"{limit.what} {limit.text} {limit.source} {limit.published}" for limit in answer.limits]
    return "\n".join(parts).casefold()


def history_page(code: str, lines: Sequence[HistoryLine], total: int, today: date, *, why: bool = False) -> Page:
    """The entries found, as they were given; with ``why`` each of them whole."""
    if not total:
        return (Line(f"{code}: nothing has been recorded yet"),)
    if not lines:
        return (Line(f"{code}: none of its {count(total, 'entry', 'entries')} holds all of that"),)
    head = (
        f"{len(lines)} of {count(total, 'entry', 'entries')}"
        if len(lines) < total
        else count(total, "entry", "entries")
    )
    out: list[Line | Grid] = [Line(f"{code}: {head}", Tone.TITLE)]
    if why:
        numbers = {line.id: line.number for line in lines}
        for line in lines:
            out += [BLANK, *entry_page(line, numbers)]
        return tuple(out)
    rows = tuple((str(line.number), when_words(line, today), line.who, said(line)) for line in lines)
    tones = tuple(tone(line) for line in lines)
    out.append(Grid(("", "when", "who", "what"), rows, frozenset({0}), tones=tones))
    return tuple(out)


def entry_page(line: HistoryLine, numbers: Mapping[str, int]) -> Page:
    """One whole entry: what was typed, the verdict as computed at the time with its working, and its place in the chain.

    ``numbers`` are those of the job's entries by id.
    """

    def named(ids: Iterable[str]) -> str:
        return ", ".join(f"entry {numbers[i]}" if i in numbers else f"entry {i}" for i in ids)

    at = when(line)
    facts = [("who", line.who), ("when", f"{format_long_day(at.date())}, {at:%H:%M:%S %z}")]
    if line.day != at.date():
        facts.append(("day of the work", format_long_day(line.day)))
    facts += [("kind", KIND_WORDS.get(line.kind, line.kind) + (", for every job" if line.everywhere else ""))]
    facts += [("corrects", named([line.corrects]))] if line.corrects else []
    facts += [("corrected by", named(line.corrected_by))] if line.corrected_by else []
    facts += [("taken back by", named([line.taken_back_by]))] if line.taken_back_by else []
    out: list[Line | Grid] = [
        Line(f"entry {line.number}: {said(line)}", tone(line) if tone(line) is not Tone.PLAIN else Tone.TITLE),
        Grid((), tuple(facts), indent=2),
    ]
    if line.entered:
        out += [Line("as typed", Tone.TITLE, 2), Grid((), line.entered, indent=4)]
    if line.facts:
        out += [Line("as kept", Tone.TITLE, 2), Grid((), line.facts, indent=4)]
    if (answer := line.answer) is not None:
        sections = (
            ("to do, as told then", answer.moves),
            ("working", answer.working),
            (
                "limits",
                [
                    f"{x.what}: {x.text} ({x.source})" + (f"; {x.published}" if x.published else "")
                    for x in answer.limits
                ],
            ),
            ("source", [answer.source] if answer.source else []),
            ("caution", [answer.caution] if answer.caution else []),
        )
        for heading, texts in sections:
            if texts:
                out += [Line(heading, Tone.CARE if heading == "caution" else Tone.TITLE, 2)]
                out += [Line(text, indent=4) for text in texts]
    chain = (
        ("id", line.id), ("device", line.device), ("place", f"entry {line.seq} of that device"), ("digest", line.digest),
        ("after", line.prev or "nothing: it is the first of that device"),
    )  # fmt: skip
    return (*out, Line("in the book", Tone.TITLE, 2), Grid((), chain, indent=4))


def history_json(code: str, lines: Sequence[HistoryLine], total: int) -> Table:
    """The entries found, in the order given, with stable keys."""
    return {"job": code, "entries": [_line_json(line) for line in lines], "total": total}


def _line_json(line: HistoryLine) -> Table:
    return {
        "number": line.number,
        "id": line.id,
        "kind": line.kind,
        "about": line.about,
        "said": line.said,
        "at": moment_json(line.at),
        "day": day_json(line.day),
        "who": line.who,
        "device": line.device,
        "corrects": line.corrects,
        "corrected_by": list(line.corrected_by),
        "taken_back_by": line.taken_back_by,
        "standing": line.standing,
        "entered": dict(line.entered),
        "answer": answer_json(line.answer),
        "reason": line.reason,
        "facts": dict(line.facts),
        "everywhere": line.everywhere,
        "takes_back": line.takes_back,
        "seq": line.seq,
        "digest": line.digest,
        "prev": line.prev,
    }
