"""One id, one record: what is sent again under its id is told as it was recorded; another thing under it is refused, both shown.

Every operation that takes an ``entry_id`` is decorated with ``once``, inside the transaction that writes. What was asked of
it, as it was asked and not what came of it, goes as a digest into every entry it appends (``asked`` in the body), so that
whatever a later ask under the same id says otherwise is seen, and what was written together is found together.
"""

from __future__ import annotations

import hashlib
import inspect
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, fields, is_dataclass
from datetime import date, datetime, time
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from functools import partial, wraps
from typing import Any, ParamSpec

import sqlalchemy as sql
from sqlmodel import Session

from tracker.book.entries import ACT, ASKED, Act, find
from tracker.book.hand import Hand
from tracker.book.historyviews import HistoryLine
from tracker.book.ids import check_id, new_id
from tracker.book.load import find_job
from tracker.book.opening import Book
from tracker.book.tables import EntryRow, JobRow
from tracker.book.views import IdUsedError, Recorded
from tracker.errors import TrackerError
from tracker.text import clean, count
from tracker.trade.dates import format_day
from tracker.trade.lengths import Unit, format_length

P = ParamSpec("P")

NOT_ASKED = frozenset({"book", "session", "hand", "entry_id", "anyway", "asks", "as_there", "receive", "replace_it",
                       "newest", "rev", "lots", "priced", "on_whose_word"})  # fmt: skip
"""Parameters that are no part of what is asked: who and where (who signs is), answers to the questions that come back, what the
person saw before, and what the operation was handed by another one."""
_JOBS = frozenset({"code", "job", "to_code"})
_TOLD = 3
"""Entries written together that are told one by one; of more the number is."""
_LONGEST = 200
"""Characters of one thing that was asked that are shown."""


def once(what: str) -> Callable[[Callable[P, Recorded]], Callable[P, Recorded]]:
    """Make an operation record once under its ``entry_id``; ``what`` names in words what it records.

    The operation has parameters ``book``, ``session`` (of a transaction that writes), ``hand`` and ``entry_id``; all others but
    ``NOT_ASKED`` are what is asked. Sent again the answer is ``already`` and says what was recorded. Raises IdUsedError where
    the id has something else, or something of which it cannot be told: the transaction then has to be given up, as it is by
    whatever goes out of ``Book.writing``.
    """

    def decorate(operation: Callable[P, Recorded]) -> Callable[P, Recorded]:
        signature = inspect.signature(operation)

        @wraps(operation)
        def recording(*args: P.args, **kwargs: P.kwargs) -> Recorded:
            bound = signature.bind(*args, **kwargs)
            given = dict(bound.arguments)
            entry_id = given.get("entry_id")
            session: Session = given["session"]
            outer: Act | None = session.info.get(ACT)
            if not entry_id or (outer is not None and outer.id == check_id(entry_id)):
                return operation(*args, **kwargs)
            identity, book, hand = check_id(entry_id), given["book"], given["hand"]
            said = {
                name: find_job(session, value).id if name in _JOBS and value else value
                for name, value in given.items()
                if name not in NOT_ASKED and not _usual(value, signature.parameters[name].default)
            }
            act = Act(identity, _digest(identity, what, hand.who, said))
            if (row := find(session, identity)) is not None:
                if json.loads(row.body).get(ASKED) == act.asked:
                    return _as_recorded(book, session, row, hand.day)
                stands = _told(book, session, row, hand.day)
                fresh = Act(new_id(), act.asked)
                bound.arguments["entry_id"], session.info[ACT] = fresh.id, fresh
                again = partial(operation, *bound.args, **bound.kwargs)
                sent = _tried(book, session, hand.day, again) or _Told(_as_asked(book, session, hand, what, given))
                raise IdUsedError(identity, *_apart(stands, sent))
            session.info[ACT] = act
            try:
                return operation(*args, **kwargs)
            finally:
                session.info[ACT] = outer

        return recording

    return decorate


def _usual(value: object, default: object) -> bool:
    """Whether that is what is meant when nothing is said; an operation may get new parameters without new digests."""
    return default is not inspect.Parameter.empty and plain_of(value) == plain_of(default)


def _digest(identity: str, what: str, who: str, said: Mapping[str, object]) -> str:
    told = json.dumps([identity, what, who, plain_of(dict(said))], ensure_ascii=False, sort_keys=True)
    return hashlib.sha256(told.encode("utf-8", "surrogatepass")).hexdigest()[:32]


def plain_of(value: object) -> object:
    """A value as JSON has it, the same for what is equal; raises TypeError for what is no value."""
    match value:
        case Enum():
            return plain_of(value.value)
        case str():
            return value.strip()
        case None | bool() | int() | float():
            return value
        case date() | time() | datetime():
            return value.isoformat()
        case Fraction() | Decimal():
            return str(value)
        case Mapping():
            return {str(key): plain_of(item) for key, item in value.items()}
        case AbstractSet():
            return sorted((plain_of(item) for item in value), key=repr)
        case Sequence():
            return [plain_of(item) for item in value]
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain_of(getattr(value, field.name)) for field in fields(value)}
    raise TypeError(f"{type(value).__name__} is no value that can be asked")


@dataclass(frozen=True, slots=True)
class _Told:
    """An act in words, with the entry it was sent under, by whom and when, and of which job; none of them where it was only asked."""

    text: str
    line: HistoryLine | None = None
    by: str = ""
    job: str = ""


def _told(book: Book, session: Session, row: EntryRow, today: date) -> _Told:
    """What was recorded under an id, with what was written together with it."""
    from tracker.book.history import history_in

    together = _together(session, row)
    jobs = [session.get(JobRow, job_id) if job_id else None for job_id in dict.fromkeys(together.values())]
    job = jobs[0]
    lines = [(of, line) for of in jobs for line in history_in(book, session, of, today)]
    found = [(of, x) for of, x in lines if x.id in together and together[x.id] == (of.id if of else None)]
    mine = next(line for _, line in found if line.id == row.id)
    told = found if len(found) <= _TOLD else [(job, mine)]
    more = f" and {count(len(found) - 1, 'entry', 'entries')} with it" if len(found) > _TOLD else ""
    said = "; ".join(f"{clean(of.code)}: {clean(x.said)}" if of and of is not job else clean(x.said) for of, x in told)
    by = f" ({clean(mine.who)}, {format_day(mine.day, today)})"
    return _Told(f"{said}{more}", mine, by, clean(job.code) if job else "every job")


def _as_recorded(book: Book, session: Session, row: EntryRow, today: date) -> Recorded:
    """What is answered to an ask that was recorded before: what stands, and what became of it since."""
    told = _told(book, session, row, today)
    assert told.line is not None
    return Recorded(row.id, True, told.text + told.by, _since(told.line), answer=told.line.answer, day=told.line.day)


def _apart(stands: _Told, sent: _Told) -> tuple[str, str]:
    """Two acts in words that tell them apart: with the readings that differ, and where they read alike with the facts that do;
    with their jobs where those are two.
    """
    one, two = stands.line, sent.line
    if one is None or two is None:
        return stands.text + stands.by, sent.text + sent.by
    facts = stands.text == sent.text
    first, second = (dict((*x.entered, *(x.facts if facts else ()))) for x in (one, two))
    of_one = (one.kind, one.about) == (two.kind, two.about)
    names = [name for name in dict.fromkeys((*first, *second)) if of_one and first.get(name) != second.get(name)][
        :_TOLD
    ]

    def told(one: _Told, values: Mapping[str, str]) -> str:
        more = [clean(f"{name} {values.get(name, 'not given')}")[:_LONGEST] for name in names]
        job = f"{one.job}: " if stands.job != sent.job else ""
        return f"{job}{', '.join((one.text, *more))}{one.by}"

    return told(stands, first), told(sent, second)


def _since(line: HistoryLine) -> tuple[str, ...]:
    return (f"entry {line.number} is {line.standing} since",) if line.standing else ()


def _together(session: Session, row: EntryRow) -> Mapping[str, str | None]:
    """The entries of one act by id, each with its job's; the one it was sent under, and its job, come first."""
    asked = json.loads(row.body).get(ASKED)
    query = sql.text("SELECT id, job_id FROM entry WHERE device = :device AND json_extract(body, '$.asked') = :asked")
    found = session.connection().execute(query, {"device": row.device, "asked": asked}) if asked else ()
    return {row.id: row.job_id} | {one.id: one.job_id for one in found}


def _tried(book: Book, session: Session, today: date, again: Callable[[], Recorded]) -> _Told | None:
    """What is sent now as it would be recorded; None where it would be refused, or is not written at once."""
    try:
        row = find(session, again().id)
    except TrackerError:
        return None
    return _told(book, session, row, today) if row is not None else None


def _as_asked(book: Book, session: Session, hand: Hand, what: str, given: Mapping[str, Any]) -> str:
    """What is sent now as it was asked."""
    unit = _unit(book, session, given)
    words = [text for name, value in given.items() if name not in NOT_ASKED and (text := _words(name, value, unit))]
    return f"{what}: {', '.join(words)} ({clean(hand.who)}, {format_day(hand.day, hand.day)})"


def _unit(book: Book, session: Session, given: Mapping[str, Any]) -> Unit:
    from tracker.book.load import load_house, parsed

    code = given.get("code", "")
    return parsed(book, find_job(session, code), load_house(session)).unit if code else Unit.INCH


def _words(name: str, value: object, unit: Unit) -> str:
    """One thing that was asked, as a person would say it; empty for what has no short words."""
    from tracker.book.history import fact_words

    if isinstance(value, bool):
        return name.replace("_", " ") if value else ""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, int):
        return format_length(value, unit) if name.endswith("_nm") else fact_words(name, value)
    told = clean(" ".join(_leaves(plain_of(value))))
    return told if len(told) <= _LONGEST else ""


def _leaves(value: object) -> Iterator[str]:
    """The words and numbers of a plain value, in order."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield from (key, *_leaves(item)) if isinstance(item, str | int) else _leaves(item)
    elif isinstance(value, list):
        for item in value:
            yield from _leaves(item)
    elif value not in (None, "", False):
        yield str(value)
