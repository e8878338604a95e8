"""Hours as a crew lead types them: ``6h``, ``6:30``, ``6.5 h``, ``7h30``, ``90 min``, ``3 x 7h30``, ``frame 6h``."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from tracker.errors import InputError
from tracker.text import clean
from tracker.trade.dates import WEEKDAYS, parse_day

DAY_MINUTES = 24 * 60
MOST_PEOPLE = 50
EXAMPLE = "write it like 6h, 6:30, 6.5 h, 7h30, 90 min, 3 x 7h30 or frame 6h"

_TIME = (
    r"(?P<h>\d{1,3})\s*[:h]\s*(?P<m>\d{2})(?:\s*(?:m|min))?"
    r"|(?P<dh>\d{1,3}(?:[.,]\d{1,2})?)\s*(?:h|hr|hrs|hour|hours)"
    r"|(?P<min>\d{1,4})\s*(?:m|min|minutes)"
    r"|(?P<bare>\d{1,3}[.,]\d{1,2}|\d{1,3})"
)
_HOURS = re.compile(rf"(?:(?P<n>\d{{1,3}})\s*(?:x|\u00d7|\*|men|people)\s*)?(?:{_TIME})", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Worked:
    """Hours as typed: the phase's word (may be empty), how many people (0: not said), minutes each, the words after.

    ``day`` is None when none is named.
    """

    phase: str
    people: int
    minutes: int
    note: str
    day: date | None = None


def parse_hours(text: str, today: date | None = None) -> Worked:
    """Read hours with, if they are there, a phase before or after them and a note after a comma.

    ``6 h frame``, ``frame 6h`` and ``6h frame, rain from noon`` are the same work. With ``today`` the day may stand among
    the words: ``yesterday``, ``2026-05-12``, or a weekday, the last that was. Raises InputError with what is accepted, and
    for more than a day each.
    """
    raw, _, note = text.partition(",") if not re.search(r"\d,\d", text) else (text, "", "")
    raw = " ".join(raw.split())
    raw, day = _day_among(raw, today) if today is not None else (raw, None)
    if not raw:
        raise InputError("no hours are given", EXAMPLE)
    if re.search(r"(?<!\w)[-\u2212]\s*\d", raw):
        raise InputError(f"{clean(text).strip()[:40]!r}: hours are never negative", "take a wrong entry back instead")
    best: tuple[str, re.Match[str]] | None = None
    for start, end, word in _cuts(raw):
        match = _HOURS.fullmatch(raw[start:end].strip())
        if match and (best is None or len(word) < len(best[0])):
            best = (word, match)
    if best is None:
        raise InputError(f"{clean(text).strip()[:40]!r} is not understood as hours", EXAMPLE)
    word, match = best
    people = int(match["n"]) if match["n"] else 0
    if match["n"] and not 1 <= people <= MOST_PEOPLE:
        raise InputError(f"{people} people is no crew", f"give 1 to {MOST_PEOPLE}")
    return Worked(word.lower(), people, sensible_minutes(_minutes(match)), note.strip(), day)


def _day_among(raw: str, today: date) -> tuple[str, date | None]:
    """The words without the one that names a day, and that day."""
    rest: list[str] = []
    days: list[date] = []
    for word in raw.split():
        lower = word.lower()
        weekday = len(lower) > 2 and any(name.startswith(lower) for name in WEEKDAYS)
        if weekday or lower in ("today", "yesterday") or re.fullmatch(r"\d{4}-\d{2}-\d{2}", lower):
            days.append(parse_day(lower, today, past=True))
        else:
            rest.append(word)
    if len(days) > 1:
        raise InputError("two days are named", "log each day with a line of its own")
    return " ".join(rest), next(iter(days), None)


def _cuts(raw: str) -> list[tuple[int, int, str]]:
    """The stretches of a text that may be the hours, and the word or words left over before or after them."""
    gaps = [0, *(match.start() for match in re.finditer(" ", raw)), len(raw)]
    out = [(0, len(raw), "")]
    for gap in gaps[1:-1]:
        before, after = raw[:gap].strip(), raw[gap:].strip()
        if not any(char.isdigit() for char in before):
            out.append((gap, len(raw), before))
        if not any(char.isdigit() for char in after):
            out.append((0, gap, after))
    return out


def _minutes(match: re.Match[str]) -> int:
    if match["h"] is not None:
        if int(match["m"]) > 59:
            raise InputError(f"{match['m']} minutes is more than an hour", EXAMPLE)
        return int(match["h"]) * 60 + int(match["m"])
    if match["min"] is not None:
        return int(match["min"])
    hours = Fraction((match["dh"] or match["bare"]).replace(",", "."))
    return int(hours * 60 + Fraction(1, 2))


def sensible_minutes(minutes: int) -> int:
    """Minutes one person worked in a day; raises InputError for none or more than a day."""
    if minutes <= 0:
        raise InputError("no time is given", EXAMPLE)
    if minutes > DAY_MINUTES:
        raise InputError(
            f"{minutes // 60}:{minutes % 60:02d} h is more than a day has",
            "give the hours of one person for one day; for several people write 3 x 7h30",
        )
    return minutes
