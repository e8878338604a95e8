"""Appending entries: numbered, clocked, chained; and reading them back as plain values."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any, NamedTuple

import sqlalchemy as sql
from sqlalchemy import func
from sqlmodel import Session, col, select

from tracker.book.hand import Hand
from tracker.book.ids import check_id, new_id
from tracker.book.tables import EntryRow
from tracker.errors import ConflictError

DAY_MS = 86_400_000
_BEHIND_MS = 60_000


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry as the folds read it. ``arrived`` is the order in this book; ``qty`` 0 when it is no movement."""

    arrived: int
    id: str
    kind: str
    job_id: str
    phase_id: str
    check_id: str
    lot_id: str
    at: datetime
    day: date
    who: str
    corrects: str
    qty: int
    body: Mapping[str, Any]


class EntryFields(NamedTuple):
    """An entry as it stands in the file, column by column."""

    arrived: int
    id: str
    job_id: str | None
    kind: str
    phase_id: str | None
    check_id: str | None
    lot_id: str | None
    at_ms: int
    hlc: int
    day: str
    who: str
    device: str
    seq: int
    corrects: str | None
    qty: int | None
    body: str
    prev: str
    digest: str


@dataclass(frozen=True, slots=True)
class Draft:
    """An entry about to be written."""

    kind: str
    body: Mapping[str, Any]
    job_id: str = ""
    phase_id: str = ""
    check_id: str = ""
    lot_id: str = ""
    corrects: str = ""
    qty: int = 0


@dataclass(frozen=True, slots=True)
class Appended:
    """The id written, and what the person should be told."""

    id: str
    notices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Act:
    """What is being recorded under an id: every entry of it keeps the digest of what was ``asked`` (see ``once``)."""

    id: str
    asked: str


ACT = "act"
"""In ``Session.info``: the Act whose entries are being appended, None outside one."""
ASKED = "asked"
"""The name in an entry's body of the digest of what was asked."""


def moment_ms(at: datetime) -> int:
    """Whole UTC milliseconds since 1970 of an aware moment."""
    return int(at.timestamp() * 1000)


def digest_of(row: EntryRow | EntryFields) -> str:
    """SHA-256 over everything an entry says and the digest of the same device's entry before it."""
    said = [
        row.id, row.job_id, row.kind, row.phase_id, row.check_id, row.lot_id, row.at_ms, row.hlc, row.day, row.who,
        row.device, row.seq, row.corrects, row.qty, row.body, row.prev,
    ]  # fmt: skip
    return hashlib.sha256(json.dumps(said, ensure_ascii=False, separators=(",", ":")).encode()).hexdigest()


def find(session: Session, entry_id: str) -> EntryRow | None:
    """The entry of that id, or None."""
    return session.exec(select(EntryRow).where(EntryRow.id == entry_id)).first()


def append(session: Session, hand: Hand, draft: Draft, entry_id: str | None = None) -> Appended:
    """Write one entry inside the caller's write transaction.

    Raises InputError for a malformed id and ConflictError when there is an entry of that id: ``once`` tells before whether it
    is the same. The clock of the entry never runs behind this device's own earlier entries; other devices' entries more than
    a day ahead do not drag it forward.
    """
    identity = check_id(entry_id) if entry_id else new_id()
    if find(session, identity) is not None:
        raise ConflictError(f"the id {identity} already names another entry", "give a new --id, or leave it out")
    act: Act | None = session.info.get(ACT)
    said = {key: value for key, value in draft.body.items() if key != ASKED} | ({ASKED: act.asked} if act else {})
    body = json.dumps(said, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    now = moment_ms(hand.at)
    last = session.exec(
        select(EntryRow).where(EntryRow.device == hand.device).order_by(col(EntryRow.seq).desc()).limit(1)
    ).first()
    row = EntryRow(
        id=identity,
        job_id=draft.job_id or None,
        kind=draft.kind,
        phase_id=draft.phase_id or None,
        check_id=draft.check_id or None,
        lot_id=draft.lot_id or None,
        at_ms=now,
        hlc=_tick(session, hand.device, now, last.hlc if last else 0),
        day=hand.day.isoformat(),
        who=hand.who,
        device=hand.device,
        seq=last.seq + 1 if last else 1,
        corrects=draft.corrects or None,
        qty=draft.qty or None,
        body=body,
        prev=last.digest if last else "",
        digest="",
    )
    row.digest = digest_of(row)
    session.add(row)
    session.flush()
    if last is not None and now < last.at_ms - _BEHIND_MS:
        when = datetime.fromtimestamp(last.at_ms / 1000, UTC).astimezone()
        return Appended(identity, (f"the clock is behind the last entry of {when:%Y-%m-%d %H:%M}: check the date",))
    return Appended(identity)


def _tick(session: Session, device: str, now: int, own: int) -> int:
    believable = (now + DAY_MS) << 16
    others = session.exec(
        select(func.max(EntryRow.hlc)).where(EntryRow.device != device, col(EntryRow.hlc) <= believable)
    ).one()
    return max(now << 16, own + 1, (others or 0) + 1)


LEFT_OUT = "entries left out"
"""A session's note of the ids of entries it reads the book without: how it was before they came."""


def entries_of(session: Session, job_ids: Iterable[str], until: date | None = None) -> dict[str, list[Entry]]:
    """Entries by job id in order of arrival, those of later working days than ``until`` left out.

    Days (kind ``day``) that concern every job stand under the empty job id.
    """
    wanted = list(job_ids)
    out: dict[str, list[Entry]] = {job_id: [] for job_id in (*wanted, "")}
    columns = EntryRow.__table__.c  # type: ignore[attr-defined]  # plain rows: a book has many entries
    query = sql.select(columns).where(columns.job_id.in_(wanted) | columns.job_id.is_(None))
    if until is not None:
        query = query.where(columns.day <= until.isoformat())
    left_out = session.info.get(LEFT_OUT, frozenset())
    for row in session.connection().execute(query.order_by(columns.arrived)).all():
        if row.id not in left_out:
            out[row.job_id or ""].append(plain(row))
    return out


def plain(row: sql.Row[Any] | EntryFields) -> Entry:
    """A row as a plain value; raises what a damaged one gives."""
    return Entry(
        arrived=row.arrived or 0,
        id=row.id,
        kind=row.kind,
        job_id=row.job_id or "",
        phase_id=row.phase_id or "",
        check_id=row.check_id or "",
        lot_id=row.lot_id or "",
        at=datetime.fromtimestamp(row.at_ms / 1000, UTC),
        day=date.fromisoformat(row.day),
        who=row.who,
        corrects=row.corrects or "",
        qty=row.qty or 0,
        body=json.loads(row.body),
    )
