"""Finding anything by its words: jobs, phases, checks, lots, notes, reasons, suppliers.

Every word must be in the text itself or in its job's code, title or client, and one of them in the text itself. Upper and lower
case are one, in every script; ``%``, ``_`` and ``\\`` stand for themselves.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from functools import cache, lru_cache
from typing import Any

import sqlalchemy as sql

from tracker.book.frontviews import Found, Hit, Place, Room
from tracker.book.opening import Book
from tracker.text import accept, clean
from tracker.trade.checks.registry import BY_KEY as CHECKS
from tracker.trade.phases import BY_KEY as PHASES

LIMIT = 60
LONGEST = 200
_ROUND = 90
_KINDS = ("job", "phase", "check", "lot", "supplier", "note", "waiver", "reason")
"""In the order hits are listed."""

_IN_FORCE = (
    "json_extract(entry.body, '$.withdrawn') IS NULL AND entry.id NOT IN"
    " (SELECT corrects FROM entry WHERE corrects IS NOT NULL AND json_extract(body, '$.withdrawn') IS NOT NULL)"
)
_TEXTS = {
    "job": "SELECT id, '' AS at, folded(code || ' ' || title || ' ' || client || ' ' || place || ' ' || crew) AS own,"
    " client || ', ' || place AS shown FROM job",
    "phase": "SELECT job_id AS id, key AS at, phase_words(key) AS own, phase_title(key) AS shown FROM phase WHERE dropped = 0",
    "check": "SELECT job_id AS id, key AS at, check_words(check_key, key) AS own, check_title(check_key, platform, key) AS shown"
    " FROM job_check WHERE dropped = 0",
    "lot": "SELECT job_id AS id, code AS at, folded(code || ' ' || item || ' ' || supplier) AS own,"
    " code || ' ' || item || CASE supplier WHEN '' THEN '' ELSE ' from ' || supplier END AS shown FROM lot",
    "supplier": "SELECT '' AS id, name AS at, folded(name) AS own, name AS shown FROM supplier",
    "note": "SELECT job_id AS id, '' AS at, folded(json_extract(body, '$.text')) AS own,"
    " json_extract(body, '$.text') AS shown FROM entry"
    f" WHERE kind = 'note' AND {_IN_FORCE}",
    "waiver": "SELECT entry.job_id AS id, coalesce(job_check.key, phase.key, '') AS at,"
    " folded(json_extract(body, '$.reason')) AS own, json_extract(body, '$.reason') AS shown FROM entry"
    " LEFT JOIN job_check ON job_check.id = entry.check_id LEFT JOIN phase ON phase.id = entry.phase_id"
    f" WHERE kind = 'waiver' AND {_IN_FORCE}",
    "reason": "SELECT entry.job_id AS id, phase.key AS at, folded(json_extract(body, '$.reason')) AS own,"
    " json_extract(body, '$.reason') AS shown FROM entry JOIN phase ON phase.id = entry.phase_id"
    " WHERE kind = 'phase' AND json_extract(body, '$.reason') <> ''"
    f" AND {_IN_FORCE}",
}


def find(book: Book, words: str, *, limit: int = LIMIT, only_jobs: bool = False) -> Found:
    """Where ``words`` are in the book, the newest job first within each kind; none for no words.

    Raises InputError when they are longer than 200 characters or no valid text.
    """
    sought = fold(accept(words, "what you look for", limit=LONGEST, empty=True)).split()
    if not sought:
        return Found((), 0)
    kinds = _KINDS[:1] if only_jobs else _KINDS
    names = {f"w{n}": pattern(word) for n, word in enumerate(sought)}
    texts = " UNION ALL ".join(
        f"SELECT {rank} AS rank, id, at, own, shown FROM ({_TEXTS[kind]})" for rank, kind in enumerate(kinds)
    )
    one = " OR ".join(_holds("own", name) for name in names)
    every = " AND ".join(f"({_holds('own', name)} OR {_holds('about', name)})" for name in names)
    query = sql.text(
        "SELECT rank, at, shown, job.code, job.title, count(*) OVER () AS total FROM (SELECT texts.*,"
        " coalesce((SELECT folded(code || ' ' || title || ' ' || client) FROM job WHERE job.id = texts.id), '') AS about"
        f" FROM ({texts}) AS texts WHERE {one}) AS near LEFT JOIN job ON job.id = near.id"
        f" WHERE {every} ORDER BY rank, job.code DESC, at LIMIT :limit"
    )
    with book.reading() as session:
        connection = session.connection()
        raw: Any = connection.connection.dbapi_connection
        for name, arguments, function in _FUNCTIONS:
            raw.create_function(name, arguments, function, deterministic=True)
        rows = connection.execute(query, {**names, "limit": limit}).all()
    hits = tuple(
        Hit(kinds[row.rank], row.code or "", row.title or "", around(row.shown, sought), _place(kinds[row.rank], row))
        for row in rows
    )
    return Found(hits, rows[0].total - len(hits) if rows else 0)


def _holds(column: str, name: str) -> str:
    return f"{column} LIKE :{name} ESCAPE '\\'"


def fold(text: str) -> str:
    """A text for comparing: upper and lower case are one, and so are the ways to write an accented letter."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", text).casefold())


def pattern(word: str) -> str:
    """A LIKE pattern, escaped by a backslash, for texts that hold ``word`` as it stands."""
    for char in ("\\", "%", "_"):
        word = word.replace(char, f"\\{char}")
    return f"%{word}%"


def around(text: str, sought: Sequence[str]) -> str:
    """The piece of a text where the first of the words stands, on one line."""
    line = " ".join(clean(text).split())
    if len(line) <= _ROUND:
        return line
    places = [place for word in sought if (place := fold(line).find(word)) >= 0]
    start = max(min(min(places, default=0) - _ROUND // 3, len(line) - _ROUND), 0)
    piece = line[start : start + _ROUND]
    return f"{'…' if start else ''}{piece}{'…' if start + _ROUND < len(line) else ''}"


def _place(kind: str, row: sql.Row[Any]) -> Place:
    code = row.code or ""
    match kind:
        case "lot":
            return Place(code, Room.LOTS, row.at)
        case "supplier":
            return Place("", Room.BUY, row.at)
        case _:
            return Place(code, Room.JOB, row.at)


@cache
def _phase_words(key: str) -> str:
    return fold(f"{_phase_title(key)} {key}")


def _phase_title(key: str) -> str:
    return PHASES[key].title if key in PHASES else key


@lru_cache(maxsize=4096)
def _check_words(check_key: str, key: str) -> str:
    return fold(f"{_check_title(check_key, '', key)} {key}")


def _check_title(check_key: str, platform: str, key: str) -> str:
    title = CHECKS[check_key].title if check_key in CHECKS else check_key
    return f"{title}, {platform}" if platform and key != check_key else title


_FUNCTIONS = (
    ("folded", 1, lambda text: fold(text or "")),
    ("phase_words", 1, _phase_words),
    ("phase_title", 1, _phase_title),
    ("check_words", 2, _check_words),
    ("check_title", 3, _check_title),
)
