"""The history of a job: every entry of it in order of arrival, in words, with what it rests on and where it is chained."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import sqlalchemy as sql
from sqlmodel import Session, col, select

from tracker.book.entries import ASKED
from tracker.book.fold import WITHDRAWN, move_words
from tracker.book.historyviews import HistoryLine, JobHistory
from tracker.book.load import find_job, load_house, parsed
from tracker.book.moneywords import money_facts, money_said
from tracker.book.opening import Book
from tracker.book.tables import CheckRow, EntryRow, JobRow, LotRow, PhaseRow
from tracker.planning.labour import hours_text
from tracker.text import clean, listing
from tracker.trade.answer import Answer, answer_from_json, read_in
from tracker.trade.checks.registry import BY_KEY
from tracker.trade.dates import format_day
from tracker.trade.money import format_money
from tracker.trade.phases import phases_for


def history(book: Book, code: str, today: date | None = None) -> JobHistory:
    """Every entry of a job, and the days off that concern every job.

    Entries of phases, checks and lots that a later spec no longer has are there too. Raises InputError when there is no
    such job, or several could be meant. Days of another year than that of ``today`` carry their year; without it all do.
    """
    with book.reading() as session:
        job = find_job(session, code)
        return JobHistory(job.code, job.title, history_in(book, session, job, today))


def history_in(book: Book, session: Session, job: JobRow | None, today: date | None = None) -> tuple[HistoryLine, ...]:
    """The lines of ``history`` inside the caller's transaction; of no job, those that concern every job."""
    rows = session.connection().execute(_entries_of(job.id if job else "")).all()
    names = _names(book, session, job) if job else {}
    bodies = {row.id: json.loads(row.body) for row in rows}
    corrected: defaultdict[str, list[str]] = defaultdict(list)
    withdrawn: dict[str, str] = {}
    for row in rows:
        if row.corrects and takes_back(row.kind, bodies[row.id]):
            withdrawn[row.corrects] = row.id
        elif row.corrects and row.kind != "note":  # a punch item done is no correction of it
            corrected[row.corrects].append(row.id)
    readings = {row.id: row for row in rows if row.kind == "reading" and not takes_back(row.kind, bodies[row.id])}
    beaten = _beaten(readings, {key for key in readings if not _standing(key, tuple(corrected[key]), withdrawn)})
    lines: dict[str, HistoryLine] = {}
    for number, row in enumerate(rows, 1):
        line = _line(number, row, bodies[row.id], names, tuple(corrected[row.id]), withdrawn, today)
        said = _of_another(line, bodies[row.id], lines.get(row.corrects or ""))
        if row.id in beaten:
            said = f"{said.removesuffix(')')}; a newer reading decides)"
        lines[row.id] = replace(line, said=said)
    return tuple(lines.values())


def _entries_of(job_id: str) -> sql.Select[Any]:
    columns = EntryRow.__table__.c  # type: ignore[attr-defined]  # plain rows: a job has many entries
    of_all = columns.job_id.is_(None) & (columns.kind == "day")
    return sql.select(columns).where((columns.job_id == job_id) | of_all).order_by(columns.arrived)


def entry_numbered(session: Session, job_id: str, number: str) -> str:
    """The id of an entry as the history of its job numbers it; empty when there is none of that number."""
    rows = session.connection().execute(_entries_of(job_id)).all() if number.isdecimal() else []
    return str(rows[int(number) - 1].id) if rows and 0 < int(number) <= len(rows) else ""


def _beaten(readings: Mapping[str, sql.Row[Any]], standing: Collection[str]) -> frozenset[str]:
    """The corrections that do not decide, by id: a reading newer than the one they correct stands."""
    newest: dict[str, int] = {}
    place: dict[str, int] = {}
    for key, row in readings.items():
        place[key] = place.get(row.corrects or "", row.arrived)
        if key in standing:
            newest[row.check_id] = max(place[key], newest.get(row.check_id, 0))
    corrections = (key for key in standing if readings[key].corrects)
    return frozenset(key for key in corrections if place[key] < newest[readings[key].check_id])


def _of_another(line: HistoryLine, body: Mapping[str, Any], other: HistoryLine | None) -> str:
    """What an entry says, with the one that it takes back or corrects where it does not tell of it itself."""
    if other is None:
        return line.said
    if line.kind == "reading":
        return line.said if line.takes_back else f"{line.said} (corrects entry {other.number})"
    if takes_back(line.kind, body):
        return _with_reason(f"entry {other.number} taken back ({other.said})", line.reason)
    return (
        _with_reason(f"{line.said}, in place of entry {other.number}", line.reason)
        if line.kind == "movement"
        else line.said
    )


def takes_back(kind: str, body: Mapping[str, Any]) -> bool:
    """Whether an entry that corrects another only takes it back, with nothing in its place."""
    return bool(body.get(WITHDRAWN)) or (kind in ("hours", "money") and body.get("what") == "taken back")


def _standing(entry_id: str, corrected_by: tuple[str, ...], withdrawn: Mapping[str, str]) -> str:
    if entry_id in withdrawn:
        return "taken back"
    return "corrected" if any(by not in withdrawn for by in corrected_by) else ""


def _names(book: Book, session: Session, job: JobRow) -> dict[str, str]:
    """What people call the job's phases, checks and lots, by row id; phases by ``phase KEY`` too."""
    house = load_house(session)
    file = parsed(book, job, house)
    titles = {
        phase.key: phase.title for phase in phases_for(file.spec, {**house.changes, **dict(file.phase_changes)}, ())
    }
    phases = session.exec(select(PhaseRow).where(PhaseRow.job_id == job.id))
    names = {f"phase {key}": title for key, title in titles.items()}
    names |= {phase.id: titles.get(phase.key, phase.key) for phase in phases}
    for check in session.exec(select(CheckRow).where(CheckRow.job_id == job.id)):
        title = BY_KEY[check.check_key].title if check.check_key in BY_KEY else check.key
        names[check.id] = f"{title}, {check.platform}" if "." in check.key else title
    lots = session.exec(select(LotRow).where(LotRow.job_id == job.id).order_by(col(LotRow.code)))
    return names | {lot.id: f"lot {lot.code}, {lot.item}" for lot in lots}


def _line(
    number: int,
    row: sql.Row[Any],
    body: Mapping[str, Any],
    names: Mapping[str, str],
    corrected_by: tuple[str, ...],
    withdrawn: Mapping[str, str],
    today: date | None,
) -> HistoryLine:
    about = names.get(row.check_id or row.phase_id or row.lot_id or f"phase {body.get('phase', '')}", "")
    reading = row.kind == "reading" and not takes_back(row.kind, body)
    answer = read_in(answer_from_json(body["answer"]), date.fromisoformat(row.day), today) if reading else None
    told = {"entered", "answer", WITHDRAWN, ASKED}
    if body.get(WITHDRAWN):
        told |= {"what", "of"}
    if row.kind == "note":
        told.add("text")
    if row.kind == "phase":
        told.add("past")
    reason = str(body.get("reason") or body.get("why") or body.get(WITHDRAWN) or "")
    return HistoryLine(
        number=number,
        id=row.id,
        kind=row.kind,
        about=about or str(body.get("what") or body.get("phase") or row.kind),
        said=_said(row.kind, row.qty or 0, about, body, answer, reason, today),
        at=datetime.fromtimestamp(row.at_ms / 1000, UTC),
        day=date.fromisoformat(row.day),
        who=row.who,
        device=row.device,
        corrects=row.corrects or "",
        corrected_by=corrected_by,
        taken_back_by=withdrawn.get(row.id, ""),
        standing=_standing(row.id, corrected_by, withdrawn),
        entered=tuple((name, text) for name, text in body["entered"]) if reading else (),
        answer=answer,
        reason=reason,
        facts=_facts(row.kind, body, told),
        everywhere=row.job_id is None,
        takes_back=takes_back(row.kind, body),
        seq=row.seq,
        digest=row.digest,
        prev=row.prev,
    )


def _facts(kind: str, body: Mapping[str, Any], told: set[str]) -> tuple[tuple[str, str], ...]:
    if kind == "money" and (said := money_facts(body)):
        return said
    return tuple(
        (_spaced(key), fact_words(key, value))
        for key, value in body.items()
        if key not in told and value not in ("", None, [], {})
    )


def _said(
    kind: str,
    quantity: int,
    about: str,
    body: Mapping[str, Any],
    answer: Answer | None,
    reason: str,
    today: date | None,
) -> str:
    match kind:
        case "waiver" | "phase" | "movement" | "note" | "day" | "hours" | "money" if takes_back(kind, body):
            return _with_reason("taken back", reason)
        case "reading" if answer is not None:
            verdict = f"{answer.verdict.value}: " if answer.verdict else ""
            return f"{about} {verdict}{answer.headline}"
        case "reading":
            return _with_reason(f"{about}: a reading taken back", reason)
        case "hours" if "minutes" in body:
            names = listing([str(name) for name in body.get("names", ())], "and")
            number = max(int(body.get("people", 1)), 1)
            each = hours_text(int(body["minutes"]))
            worked = f"{number} x {each}" if number > 1 else each
            note = str(body.get("note", ""))
            text = (
                f"{worked} on {about or body.get('phase', 'the job')}"
                + (f", {names}" if names else "")
                + (f": {note}" if note else "")
            )
            return f"{text} (worked {format_day(date.fromisoformat(body['day']), today)})" if body.get("day") else text
        case "money" if said := money_said(body):
            return said
        case "waiver":
            return _with_reason(f"{about} waived", reason)
        case "phase":
            past = listing([str(thing["what"]) for thing in body.get("past", ())], "and")
            return _with_reason(f"{about}: {body['event']}{f' past {past}' if past else ''}", reason)
        case "movement":
            promised = (
                f", promised {format_day(date.fromisoformat(body['promised']), today)}" if body.get("promised") else ""
            )
            return f"{about}: {quantity} {move_words(body)}{promised}"
        case "note":
            return str(body["text"])
        case "day":
            word = "a working day again" if body.get("works") else "a rain day" if body["rain"] else "a day off"
            return _with_reason(f"{format_day(date.fromisoformat(body['date']), today)} is {word}", reason)
    single = {
        key: value
        for key, value in body.items()
        if key != ASKED and not isinstance(value, list | dict) and value not in ("", None)
    }
    first = str(single.pop("what", kind))
    rest = ", ".join(f"{_spaced(key)} {fact_words(key, value)}" for key, value in sorted(single.items()))
    return f"{first}: {rest}" if rest else first


def _with_reason(text: str, reason: str) -> str:
    return f"{text}: {reason}" if reason else text


def _spaced(key: str) -> str:
    """A stored name for a person: the unit at its end goes to the value."""
    for unit in ("_cents", "_e4"):
        key = key.removesuffix(unit)
    return {"cents": "amount", "rain": "rain day"}.get(key, key.replace("_", " "))


def fact_words(key: str, value: object) -> str:
    """A stored value for a person: money with its sign, a truth as yes or no, a list or table as it is kept."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int) and (key == "cents" or key.endswith("_cents")):
        return format_money(value)
    if isinstance(value, int) and key.endswith("_e4"):
        units, rest = divmod(abs(value), 10_000)
        return f"{'-' if value < 0 else ''}${units:,}.{rest:04d}"
    if isinstance(value, list | dict):
        return clean(json.dumps(value, ensure_ascii=False))
    return str(value)
