"""Taking job files into the book, and reading jobs out of it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, time

from sqlmodel import Session, select

from tracker.book.aftercare import handed_over_ids
from tracker.book.days import add_day_in
from tracker.book.entries import Draft, append, entries_of, find, moment_ms
from tracker.book.fold import in_force
from tracker.book.following import in_step
from tracker.book.gates import hold_in, reopen_in, sign_off_in, start_in
from tracker.book.hand import Hand
from tracker.book.ids import derived_id, new_id
from tracker.book.load import find_job, load_house, load_job, load_jobs, open_rows, parsed
from tracker.book.lots import move_in
from tracker.book.once import once
from tracker.book.opening import Book
from tracker.book.people import known
from tracker.book.readings import record_in, waive_in
from tracker.book.show import job_line, whole_view
from tracker.book.standing import keep
from tracker.book.stock import units_of
from tracker.book.tables import JobRow, LotRow
from tracker.book.views import JobLine, JobView, Recorded, TakeResult
from tracker.errors import InputErrors, TrackerError
from tracker.text import NOTE_LIMIT, accept, clean, count, near
from tracker.trade.checks.design import CLEARS_DESIGN
from tracker.trade.jobfile.model import Doing, JobFile, LogEntry, LotEntry
from tracker.trade.lengths import Unit

NOON = time(12)


def job_lines(book: Book, today: date) -> tuple[JobLine, ...]:
    """Every job with something still to do, by code."""
    with book.reading() as session:
        states = load_jobs(book, session, open_rows(session), today)
    return tuple(job_line(state) for state in states if state.open)


def handed_over_lines(book: Book, today: date) -> tuple[JobLine, ...]:
    """Every job whose deck the client has, or of which nothing is left to do, the last one first."""
    with book.reading() as session:
        rows = session.exec(select(JobRow)).all()
        there = set(handed_over_ids(session)) | ({row.id for row in rows} - {row.id for row in open_rows(session)})
        states = load_jobs(book, session, [row for row in rows if row.id in there], today)
    lines = [job_line(state) for state in states if state.handed_over is not None or not state.open]
    return tuple(sorted(lines, key=lambda line: (line.planned_end, line.code), reverse=True))


def job_view(book: Book, code: str, today: date) -> JobView:
    """One job, whole. Raises InputError when there is none, or several could be meant."""
    with book.reading() as session:
        state = load_job(book, session, code, today)
    return whole_view(state)


def unit_of(book: Book, text: str) -> Unit:
    """The unit in which a job's lengths are typed; raises InputError when no job, or more than one, could be meant."""
    with book.reading() as session:
        return parsed(book, find_job(session, text), load_house(session)).unit


def add_note(book: Book, hand: Hand, code: str, text: str, *, entry_id: str | None = None) -> Recorded:
    """Write a note on a job."""
    with book.writing() as session:
        return _note_in(book, session, hand, code, text, entry_id)


@once("note")
def _note_in(book: Book, session: Session, hand: Hand, code: str, text: str, entry_id: str | None = None) -> Recorded:
    row = find_job(session, code)
    known(session, hand)
    text = accept(text, "the note", limit=NOTE_LIMIT)
    same = _same_note(session, hand, row, text)
    appended = append(session, hand, Draft("note", {"text": text}, job_id=row.id), entry_id)
    return Recorded(appended.id, False, f"noted on {row.code}", (*same, *appended.notices))


def _same_note(session: Session, hand: Hand, row: JobRow, text: str) -> tuple[str, ...]:
    """A word that this person's note of this day says the same already: both stand, and nobody wonders why."""
    there = in_force(entries_of(session, [row.id])[row.id])
    mine = (entry for entry in there if (entry.kind, entry.who, entry.day) == ("note", hand.who, hand.day))
    same = [e for e in mine if e.body.get("text") == text and "punch" not in e.body and "care" not in e.body]
    return ("a note of yours today says the same: both stand, and either can be taken back",) if same else ()


def take_job(book: Book, hand: Hand, file: JobFile, *, dry_run: bool = False) -> TakeResult:
    """Take a job file into the book: a new job, a changed spec, or nothing to do when it is the same.

    Entries are never touched: phases and checks a new spec no longer has stay in the book with their history. The file's
    log is entered once, line by line through the same gates; the first line a gate refuses refuses the file. With
    ``dry_run`` everything is tried and nothing is kept. Raises InputErrors or RefusedError, and then nothing was taken.
    """
    try:
        with book.writing() as session:
            result = take_in(book, session, hand, file)
            if dry_run:
                raise _DryRunError(result)
            return result
    except _DryRunError as tried:
        return tried.result


class _DryRunError(Exception):
    """Carries the result of a dry run out of the transaction, which rolls back."""

    def __init__(self, result: TakeResult) -> None:
        super().__init__()
        self.result = result


def take_in(book: Book, session: Session, hand: Hand, file: JobFile) -> TakeResult:
    """``take_job`` inside the caller's transaction."""
    known(session, hand)
    source = json.dumps(file.source, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    row = session.exec(select(JobRow).where(JobRow.code == file.code)).first()
    state = load_job(book, session, row.code, hand.day) if row is not None else None
    details: list[str] = []
    gone = _gone_lines(row, file) if row is not None else []
    if row is None:
        change = "new"
        row = JobRow(id=new_id(), code=file.code, title=file.title, client=file.client, place=file.site,
                     crew=file.crew, start=file.start.isoformat(), source=source)  # fmt: skip
        session.add(row)
    elif row.source == source:
        change = "unchanged"
    else:
        change = "changed"
        details += _changes(row, file)
        row.title, row.client, row.place, row.crew = file.title, file.client, file.site, file.crew
        row.start, row.source, row.rev = file.start.isoformat(), source, row.rev + 1
    session.flush()
    said = in_step(session, row, file, load_house(session).changes, state, spec_changed=change == "changed")
    if said and change == "unchanged":
        change = "changed"
    details += said
    keep(session, hand, row)
    differ = _open_lots(session, hand, row, file)
    entered, doubts = _enter_log(book, session, hand, row, file)
    if entered:
        details.append(f"{count(entered, 'line')} of its log entered")
        change = "changed" if change == "unchanged" else change
    warnings = (*_warnings(book, session, row, hand), *differ, *doubts, *gone)
    return TakeResult(row.code, row.title, change, tuple(details), warnings)


def _gone_lines(row: JobRow, file: JobFile) -> list[str]:
    """What is to be said of lines of the log that were taken and are not in the file any more, or not as they were."""
    log = file.source.get("log")
    there = list(log) if isinstance(log, list) else []
    said: list[str] = []
    for line in json.loads(row.source).get("log") or []:
        if line in there:
            there.remove(line)
        else:
            what = f"{line.get('on', '')} {line.get('do', '')}".strip()
            said.append(
                f"the log line of {clean(what)} that was taken is not in the file any more: its entry stays; where the line was"
                " changed both count, so take one of them back"
            )
    return said


def _changes(row: JobRow, file: JobFile) -> list[str]:
    pairs = (
        ("title", row.title, file.title), ("client", row.client, file.client), ("site", row.place, file.site),
        ("crew", row.crew, file.crew), ("start", row.start, file.start.isoformat()),
    )  # fmt: skip
    said = [f"{what}: {clean(old)} is now {clean(new)}" for what, old, new in pairs if old != new]
    before = json.loads(row.source)
    parts = sorted(key for key in {*before, *file.source} if before.get(key) != file.source.get(key))
    parts = [part for part in parts if part not in ("title", "client", "site", "crew", "start")]
    return said + ([f"changed parts: {', '.join(parts)}"] if parts else [])


def _hand_at(hand: Hand, day: date, at: time | None, who: str) -> Hand:
    moment = datetime.combine(day, at or NOON).astimezone()
    return replace(hand, who=who or hand.who, at=moment, day=day)


def _open_lots(session: Session, hand: Hand, row: JobRow, file: JobFile) -> list[str]:
    """Make the file's lots and their first movements, each once; gives back where the file says by now what is not in the book."""
    differ: list[str] = []
    there = {lot.code: lot for lot in session.exec(select(LotRow).where(LotRow.job_id == row.id))}
    for lot in file.lots:
        found = there.get(lot.code)
        if found is None:
            found = LotRow(id=new_id(), job_id=row.id, code=lot.code, item=lot.item, supplier=lot.supplier,
                           use_category=lot.use_category, dry=int(lot.dry))  # fmt: skip
            session.add(found)
            keep(session, hand, found)
        elif (found.supplier, found.use_category, bool(found.dry)) != (lot.supplier, lot.use_category, lot.dry):
            found.supplier, found.use_category, found.dry = lot.supplier, lot.use_category, int(lot.dry)
            found.rev += 1
            keep(session, hand, found)
        for move, quantity, day in (
            ("ordered", lot.ordered, lot.ordered_on),
            ("received", lot.received, lot.received_on),
        ):
            differ += _move_once(session, hand, row, found, lot, move, quantity, day)
    return differ


def _move_once(
    session: Session, hand: Hand, row: JobRow, lot: LotRow, entry: LotEntry, move: str, quantity: int, day: date | None
) -> list[str]:
    """One of the first movements of a lot; where it was taken before as another count, and does not stand as this, that is said."""
    identity = derived_id(moment_ms(datetime.combine(date(2000, 1, 1), NOON)), row.code, lot.code, move)
    if (taken := find(session, identity)) is not None:
        stands, in_all = _counted_now(session, row, identity), _moved(session, row, lot, move)
        if quantity in (taken.qty, stands, in_all):
            return []
        said = f"{stands} {move}" if stands else f"what was {move} is taken back"
        return [
            f"lot {clean(lot.code)}: {said} in the book, and stays so; the file says {quantity} by now: correct it there"
        ]
    if not quantity:
        return []
    body: dict[str, str] = {"move": move}
    if move == "ordered":
        body["promised"] = entry.promised.isoformat() if entry.promised else ""
    by = _hand_at(hand, day, None, hand.who) if day else hand
    append(session, by, Draft("movement", body, job_id=row.id, lot_id=lot.id, qty=quantity), identity)
    return []


def _moved(session: Session, row: JobRow, lot: LotRow, move: str) -> int:
    there = in_force(entries_of(session, [row.id])[row.id])
    return sum(entry.qty for entry in there if entry.lot_id == lot.id and entry.body.get("move") == move)


def _counted_now(session: Session, row: JobRow, identity: str) -> int:
    """The pieces of the movement that stands in the place of one, itself or its correction; 0 when it is taken back."""
    every = entries_of(session, [row.id])[row.id]
    corrects = {entry.id: entry.corrects for entry in every if entry.kind == "movement"}
    for entry in in_force(every):
        first = entry.id
        while corrects.get(first):
            first = corrects[first]
        if first == identity:
            return entry.qty
    return 0


def _enter_log(book: Book, session: Session, hand: Hand, row: JobRow, file: JobFile) -> tuple[int, list[str]]:
    """Enter the log lines that are not in the book yet; returns how many, and what is to be said of payments among them."""
    entered = 0
    doubts: list[str] = []
    seen: dict[LogEntry, int] = {}
    for number, line in enumerate(file.log, start=1):
        seen[line] = seen.get(line, 0) + 1
        by = _hand_at(hand, line.on, line.at, line.who)
        identity = derived_id(moment_ms(by.at), row.code, line.identity, str(seen[line]))
        if find(session, identity) is not None:
            continue
        try:
            done = _enter(book, session, by, hand, row.code, line, identity)
        except TrackerError as error:
            what = (
                f"{row.code}: log line {number} ({line.on}, {line.do.value} {line.phase or line.check or line.lot})".rstrip(
                    " )"
                )
                + ")"
            )
            raise InputErrors([f"{what}: {error.message}"], error.hint) from error
        entered += 1
        if line.do is Doing.PAID:
            doubts += [
                f"log line {number}, {line.on}: {notice}" for notice in done.notices if notice.startswith("payment ")
            ]
    return entered, doubts


def _enter(book: Book, session: Session, by: Hand, taker: Hand, code: str, line: LogEntry, identity: str) -> Recorded:
    moves = {Doing.RECEIVE: "received", Doing.USE: "used", Doing.RETURN: "returned", Doing.ORDER: "ordered"}
    match line.do:
        case Doing.START:
            return start_in(book, session, by, code, line.phase, identity, line.past, on_whose_word=taker)
        case Doing.SIGNOFF:
            leave = [(key.strip(), why.strip()) for key, _, why in (text.partition("=") for text in line.leave)]
            return sign_off_in(
                book, session, by, code, line.phase, identity, line.past, leave, as_there=True, on_whose_word=taker
            )
        case Doing.HOLD:
            return hold_in(book, session, by, code, line.phase, line.reason, identity)
        case Doing.REOPEN:
            return reopen_in(book, session, by, code, line.phase, line.reason, identity)
        case Doing.CHECK:
            return record_in(book, session, by, code, line.check, line.values, identity, on_whose_word=taker)
        case Doing.WAIVE:
            return waive_in(book, session, by, code, line.check, line.reason, identity, on_whose_word=taker)
        case Doing.NOTE:
            return _note_in(book, session, by, code, line.reason, identity)
        case Doing.RAIN | Doing.OFF:
            return add_day_in(book, session, by, line.on, line.reason, code, line.do is Doing.RAIN, False, identity)
        case Doing.RECEIVE | Doing.USE | Doing.RETURN | Doing.ORDER:
            return move_in(book, session, by, code, line.lot, moves[line.do], line.count, identity, anyway=True)
        case _:
            from tracker.book.logmoney import enter  # pricing is a lot to import, and few files tell of money

            return enter(book, session, by, taker, code, line, identity)


def design_warnings(faults: Sequence[str]) -> list[str]:
    """What is said of a design that fails to who takes its job in."""
    return [*(f"design: {fault}" for fault in faults), *([f"the design fails: {CLEARS_DESIGN}"] if faults else [])]


def _warnings(book: Book, session: Session, row: JobRow, hand: Hand) -> tuple[str, ...]:
    """What the owner should look at: what the design check says, then lots of items the take-off does not have."""
    state = load_job(book, session, row.code, hand.day)
    items = units_of(state)
    said = design_warnings(state.design_faults)
    said += [
        f"lot {lot.code}: {lot.item} is not on the take-off{near(lot.item, items)}"
        for lot in state.lots
        if lot.item not in items
    ]
    return tuple(said)
