"""What the owner's standing rows said on which day: every version is kept, so that a past day reads as it was known.

A job, a lot, a supplier, a price or a house rule is edited in place; each edit also leaves a version that is never
changed. The phases and checks a job had are part of its version: they follow from its spec when it was taken.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import date
from functools import cache
from typing import Any, TypeVar

import sqlalchemy as sql
from sqlmodel import Session, col, select

from tracker.book.entries import moment_ms
from tracker.book.hand import Hand
from tracker.book.ids import new_id
from tracker.book.tables import CheckRow, HouseRuleRow, JobRow, LotRow, PhaseRow, PriceRow, StandingRow, SupplierRow
from tracker.text import clean, listing

Kept = TypeVar("Kept", JobRow, LotRow, SupplierRow, PriceRow, HouseRuleRow)

TAKEN_BACK = "taken_back"
"""What a kept version of a price holds that puts the one before the last in force again: the reason."""

LATER: Mapping[str, frozenset[str]] = {"lot": frozenset({"wood"})}
"""Fields that a version kept by an older program does not have."""

_NOTED: Mapping[str, frozenset[str]] = {"price": frozenset({TAKEN_BACK})}
_LISTED: Mapping[str, frozenset[str]] = {"job": frozenset({"phases", "checks"})}

_AT = """
SELECT gone, body FROM standing WHERE arrived IN (
    SELECT max(arrived) FROM standing WHERE kind = :kind AND day <= :until GROUP BY row_id
)
"""
_OR_FIRST = """
UNION ALL SELECT gone, body FROM standing WHERE arrived IN (
    SELECT min(arrived) FROM standing WHERE kind = :kind GROUP BY row_id HAVING min(day) > :until
) AND EXISTS (SELECT 1 FROM entry WHERE row_id IN (entry.job_id, entry.lot_id) AND entry.day <= :until)
"""


def keep(
    session: Session, hand: Hand, *rows: Kept, gone: bool = False, noted: Mapping[str, object] | None = None
) -> None:
    """Keep the version of rows just put in or edited (or, with ``gone``, taken out) by ``hand``; the same is kept once.

    ``noted`` is kept beside the row's own fields: why it was edited, say.
    """
    session.flush()
    for row in rows:
        body = row.model_dump() | dict(noted or {})
        if isinstance(row, JobRow):
            body["phases"] = _live(session, PhaseRow, row.id)
            body["checks"] = _live(session, CheckRow, row.id)
        text = json.dumps(body, ensure_ascii=False, separators=(",", ":"))
        last = session.exec(
            select(StandingRow).where(StandingRow.row_id == row.id).order_by(col(StandingRow.arrived).desc()).limit(1)
        ).first()
        if last is not None and (last.gone, json.loads(last.body)) == (int(gone), body):
            continue
        session.add(
            StandingRow(
                id=new_id(), kind=str(row.__tablename__), row_id=row.id, at_ms=moment_ms(hand.at),
                day=hand.day.isoformat(), who=hand.who, device=hand.device, gone=int(gone), body=text,
            )
        )  # fmt: skip


def _live(session: Session, table: type[PhaseRow] | type[CheckRow], job_id: str) -> list[str]:
    return list(session.exec(select(table.key).where(table.job_id == job_id, table.dropped == 0)))


def rows_at(session: Session, table: type[Kept], until: date | None) -> list[Kept]:
    """The rows of a table as they were at the end of a day (as they are, when None), in no order.

    A job and its lots count as known, in their first version, from the day of their first entry: the log of a job file
    tells of days before the file was taken.
    """
    if until is None:
        return list(session.exec(select(table)))
    return [row_of(table, body) for body in _bodies(session, table, until)]


def row_of(table: type[Kept], body: Mapping[str, Any]) -> Kept:
    """The row a kept version tells of; what an older program did not know of says nothing."""
    return table(**{name: body[name] for name in table.model_fields if name in body})


class VersionError(Exception):
    """A kept version that no program of ours can have written: the book is damaged."""


def body_of(table: type[Kept], text: str) -> dict[str, Any]:
    """The fields of a kept version, by name, of the types its table has. Raises VersionError for any other."""
    kind = str(table.__tablename__)
    try:
        body = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise VersionError("it is no JSON") from error
    wanted = _types(table)
    lists, noted = _LISTED.get(kind, frozenset()), _NOTED.get(kind, frozenset())
    if missing := (wanted.keys() | lists) - LATER.get(kind, frozenset()) - body.keys():
        raise VersionError(f"it has no {listing(sorted(missing), 'and')}")
    if unknown := body.keys() - wanted.keys() - lists - noted:
        raise VersionError(f"nothing is known of its {listing(sorted(map(clean, unknown)), 'and')}")
    for name, value in body.items():
        if name in lists:
            right = isinstance(value, list) and all(isinstance(key, str) for key in value)
        else:
            right = type(value) is wanted.get(name, str)  # truth is a number too, and none of ours
        if not right:
            raise VersionError(f"its {name} is of another type")
    return dict(body)


@cache
def _types(table: type[Kept]) -> Mapping[str, type]:
    return {column.name: column.type.python_type for column in table.__table__.columns}  # type: ignore[attr-defined]


def live_then(session: Session, until: date) -> dict[str, tuple[frozenset[str], frozenset[str]]]:
    """By job id, the keys of the phases and of the checks the job had at the end of a day."""
    return {
        body["id"]: (frozenset(body["phases"]), frozenset(body["checks"])) for body in _bodies(session, JobRow, until)
    }


def _bodies(session: Session, table: type[Kept], until: date) -> Iterable[dict[str, Any]]:
    query = _AT + _OR_FIRST if table in (JobRow, LotRow) else _AT
    values = {"kind": str(table.__tablename__), "until": until.isoformat()}
    for gone, body in session.connection().execute(sql.text(query), values).all():
        if not gone:
            yield body_of(table, body)
