"""From rows to JobState: a fixed number of queries for any number of jobs."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TypeVar

import sqlalchemy as sql
from sqlmodel import Session, col, select

from tracker.book.changes import counting, counts_from
from tracker.book.damaged import damaged
from tracker.book.entries import LEFT_OUT, Entry, entries_of
from tracker.book.fold import LotFold, PhaseFold, fold_check, fold_days, fold_lot, fold_phase, in_force
from tracker.book.inspection import DELIVERY, Inspected, as_of_now, inspected_lots, sent_back
from tracker.book.inspection import by_lot as by_lot_state
from tracker.book.notewords import note_said
from tracker.book.opening import ONLY_READS, Book
from tracker.book.plans import Shelf
from tracker.book.prices import load_prices
from tracker.book.punchlist import fold_punch
from tracker.book.standing import live_then, rows_at
from tracker.book.state import JobFacts, JobState, LotState
from tracker.book.tables import CheckRow, HouseRuleRow, JobRow, LotRow, PhaseRow
from tracker.book.views import NoteView, PhaseState
from tracker.errors import InputError, TrackerError
from tracker.planning.material import Solver
from tracker.planning.pricing import Offer, PriceBook
from tracker.text import clean, listing, near
from tracker.trade.checks.registry import checks_for
from tracker.trade.jobfile import parse_job_table
from tracker.trade.jobfile.model import JobFile
from tracker.trade.phases import BY_KEY, Phase, PhaseChange, phases_for
from tracker.trade.phases import folds as folded_phases
from tracker.trade.rules import Rules, figure_kept

Row = TypeVar("Row", PhaseRow, CheckRow, LotRow)


MOST_KEPT = 4000
"""Specs and states an open book keeps in memory before it starts anew."""


@dataclass(frozen=True, slots=True)
class House:
    """The contractor's own rules and changes to the phase template, as the book keeps them."""

    rules: Rules
    changes: Mapping[str, PhaseChange]


def load_house(session: Session, until: date | None = None) -> House:
    """Read the house rules, as they were at the end of a day when ``until`` is given."""
    return house_of(rows_at(session, HouseRuleRow, until))


def house_of(rows: Iterable[HouseRuleRow]) -> House:
    """What rows of the house rules say; those of the letterhead are left out."""
    figures: dict[str, int] = {}
    changes: dict[str, PhaseChange] = {}
    for row in rows:
        value = json.loads(row.value)
        if row.kind == "rule":
            figures[row.key] = figure_kept(row.key, value)
        elif row.kind == "phase":
            changes[row.key] = PhaseChange(
                value["skip"], value["hours"], tuple(value["without_checks"]), value.get("each")
            )
    return House(Rules(figures), changes)


def find_job(session: Session, text: str) -> JobRow:
    """The job a person means: its code, the tail of its code, or a piece of its title when only one has it.

    Raises InputError listing the candidates, the near miss, or what there is.
    """
    wanted = text.strip()
    if (row := session.exec(select(JobRow).where(JobRow.code == wanted)).first()) is not None:
        return row
    rows = session.exec(select(JobRow).order_by(col(JobRow.code))).all()
    lower = wanted.casefold()
    found = [row for row in rows if lower and (row.code.endswith(f"-{wanted}") or lower in row.title.casefold())]
    if len(found) == 1:
        return found[0]
    if found:
        some = listing([f"{clean(row.code)} ({clean(row.title)})" for row in found[:5]])
        raise InputError(f"{clean(wanted)!r} could be {some}", "give the job's code")
    if not rows:
        raise InputError(f"no job {clean(wanted)!r}: the book has no jobs yet", "take one with `deckjobs take FILE`")
    codes = [row.code for row in rows]
    raise InputError(f"no job {clean(wanted)!r}{near(wanted, codes)}", "`deckjobs jobs` lists them")


_OPEN = sql.text("""
WITH event AS (
    SELECT entry.phase_id, max(entry.arrived) AS arrived, entry.day, json_extract(entry.body, '$.event') AS what
    FROM job CROSS JOIN entry ON entry.job_id = job.id AND entry.kind = 'phase'
    WHERE entry.day <= :until GROUP BY entry.phase_id
), reading AS (
    SELECT job_check.phase_id, max(entry.arrived) AS arrived
    FROM job CROSS JOIN entry ON entry.job_id = job.id AND entry.kind IN ('reading', 'waiver')
    JOIN job_check ON job_check.id = entry.check_id
    WHERE entry.day <= :until GROUP BY job_check.phase_id
), note AS (
    SELECT entry.id, entry.job_id, entry.corrects, json_extract(entry.body, '$.punch') AS punch
    FROM job CROSS JOIN entry ON entry.job_id = job.id AND entry.kind = 'note' WHERE entry.day <= :until
)
SELECT DISTINCT phase.job_id FROM phase
LEFT JOIN event ON event.phase_id = phase.id LEFT JOIN reading ON reading.phase_id = phase.id
WHERE (phase.dropped = 0 OR :past) AND (event.what IS NOT 'signed off' OR reading.arrived > event.arrived OR event.day = :until)
UNION SELECT job_id FROM note WHERE punch = 'open' AND id NOT IN (
    SELECT corrects FROM note WHERE corrects IS NOT NULL AND id NOT IN (SELECT corrects FROM note WHERE corrects IS NOT NULL)
)
""")
"""Jobs with a phase whose last event is no sign-off, or is one of the day itself, or has a later reading (which may have
failed and undone it) or waiver (which may be one taken back), and jobs with something on the punch list. A bare column beside max() is of the row that has it (SQLite, SELECT, section 2.5)."""


def open_rows(session: Session, until: date | None = None) -> Sequence[JobRow]:
    """The jobs that may be open, by code; those that are surely finished are left out without reading their history.

    With ``until`` as it was known at the end of that day; jobs with a sign-off of that day are there too.
    """
    last = "9999-12-31" if until is None else until.isoformat()
    values = {"until": last, "past": until is not None}
    found = [row.job_id for row in session.connection().execute(_OPEN, values)]
    if until is not None:
        then = {row.id: row for row in rows_at(session, JobRow, until)}
        return sorted((then[job] for job in found if job in then), key=lambda row: row.code)
    return session.exec(select(JobRow).where(col(JobRow.id).in_(found)).order_by(col(JobRow.code))).all()


def rows_of(session: Session, codes: Sequence[str]) -> Sequence[JobRow]:
    """The named jobs, each once; the open ones when none is named. Raises InputError as ``find_job``."""
    return [find_job(session, code) for code in dict.fromkeys(codes)] if codes else open_rows(session)


def parsed(book: Book, row: JobRow, house: House) -> JobFile:
    """The job's spec, read again from what was typed (without its log); kept while neither it nor the house rules change.

    Raises BookError when what the book holds cannot be read.
    """
    # By what was typed, not by its revision: that may be rolled back, and be another one then.
    key = (row.id, row.source, tuple(sorted(house.rules.own.items())))
    kept = book.kept.get(key)
    if kept is None:
        try:
            source = json.loads(row.source)
            source.pop("log", None)  # its lines are entries by now
            kept = parse_job_table(source, row.code, house=house.rules)
        except (TrackerError, ValueError) as error:
            raise damaged(book.path, f"job {clean(row.code)} cannot be read: {error}") from error
        book.kept[key] = kept
    assert isinstance(kept, JobFile)
    return kept


def load_jobs(
    book: Book,
    session: Session,
    rows: Sequence[JobRow],
    today: date,
    until: date | None = None,
) -> list[JobState]:
    """The state of each job on ``today``, from entries of working days up to ``until`` (all when None).

    With ``until`` the house rules, prices, lots, phases and checks are those of that day too. Cut plans are the kept ones,
    else worked out when somebody first asks for them.
    """
    shelf = shelf_of(book)
    if until not in (None, today) or not session.info.get(ONLY_READS) or session.info.get(LEFT_OUT):
        return _states(book, session, rows, today, until, shelf.plan)
    marks = _marks(session, rows, today)
    kept = {row.id: book.kept.get((until, row.id)) for row in rows}
    stale = [row for row in rows if not (isinstance(k := kept[row.id], _KeptState) and k.mark == marks[row.id])]
    fresh = dict(zip((row.id for row in stale), _states(book, session, stale, today, until, shelf.plan), strict=True))
    if len(book.kept) > MOST_KEPT:
        book.kept = {key: value for key, value in book.kept.items() if value is shelf}
    for job, state in fresh.items():
        book.kept[until, job] = _KeptState(marks[job], state)
    return [fresh.get(row.id) or _state_of(kept[row.id]) for row in rows]


@dataclass(frozen=True, slots=True)
class _KeptState:
    """A job's state with all that has been worked out from it, good while nothing it was made from changes."""

    mark: tuple[object, ...]
    state: JobState


def _state_of(kept: object) -> JobState:
    assert isinstance(kept, _KeptState)
    return kept.state


def _marks(session: Session, rows: Sequence[JobRow], today: date) -> dict[str, tuple[object, ...]]:
    """By job, what its state hangs on: its last entry, the last one of every job, the last edit of a standing row."""
    run = session.connection().execute
    (standing,) = run(sql.text("SELECT max(arrived) FROM standing")).one()
    found = run(sql.text("SELECT job_id, max(arrived) AS last FROM entry GROUP BY job_id"))
    last = {row.job_id: row.last for row in found}
    return {row.id: (today, standing, last.get(None), last.get(row.id)) for row in rows}


def _states(
    book: Book, session: Session, rows: Sequence[JobRow], today: date, until: date | None, solver: Solver
) -> list[JobState]:
    if not rows:
        return []
    house = load_house(session, until)
    prices = load_prices(session, until)
    live = live_then(session, until) if until is not None else None
    ids = [row.id for row in rows]
    entries = entries_of(session, ids, until)
    phases = _by_job(session.exec(select(PhaseRow).where(col(PhaseRow.job_id).in_(ids))))
    checks = _by_job(session.exec(select(CheckRow).where(col(CheckRow.job_id).in_(ids))))
    if live is None:
        lots = _by_job(session.exec(select(LotRow).where(col(LotRow.job_id).in_(ids)).order_by(col(LotRow.code))))
    else:
        lots = _by_job(sorted(rows_at(session, LotRow, until), key=lambda lot: lot.code))
    return [
        _state(
            row, parsed(book, row, house), house, *_in_force(phases[row.id], checks[row.id], live), lots[row.id],
            entries[row.id], entries[""], today, prices, solver,
        )
        for row in rows
    ]  # fmt: skip


def own_prices(file: JobFile, prices: PriceBook) -> PriceBook:
    """The price book with the job file's own prices laid over it; who sells the item, and in which packs, stays known."""
    own: list[Offer] = []
    for item, price in file.prices.items():
        seller = prices.best(item)
        own.append(Offer(seller.supplier, item, price, seller.pack) if seller else Offer("", item, price))
    return prices.over(own)


def shelf_of(book: Book) -> Shelf:
    """The shelf of cut plans of an open book."""
    shelf = book.kept.setdefault("shelf", Shelf(book))
    assert isinstance(shelf, Shelf)
    return shelf


def load_job(book: Book, session: Session, text: str, today: date) -> JobState:
    """The state of the one job a person means; raises InputError when there is none."""
    return load_jobs(book, session, [find_job(session, text)], today)[0]


def _in_force(
    phases: Sequence[PhaseRow],
    checks: Sequence[CheckRow],
    live: Mapping[str, tuple[frozenset[str], frozenset[str]]] | None,
) -> tuple[list[PhaseRow], list[CheckRow]]:
    """The phases and checks of a job that are not dropped now, or that were not on the day ``live`` tells of."""
    if live is None:
        return [row for row in phases if not row.dropped], [row for row in checks if not row.dropped]
    keys, check_keys = live[phases[0].job_id]
    return [row for row in phases if row.key in keys], [row for row in checks if row.key in check_keys]


def _by_job(rows: Iterable[Row]) -> defaultdict[str, list[Row]]:
    out: defaultdict[str, list[Row]] = defaultdict(list)
    for row in rows:
        out[row.job_id].append(row)
    return out


def _grouped(entries: Iterable[Entry], attribute: str) -> defaultdict[str, list[Entry]]:
    out: defaultdict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        if key := getattr(entry, attribute):
            out[key].append(entry)
    return out


def _lot(row: LotRow, fold: LotFold, found: Inspected | None) -> LotState:
    """A lot with what its inspection found."""
    if found is not None:
        fold = replace(fold, culls=found.culls_left(fold))
    unfit = found.unfit if found is not None else ()
    return LotState(row.id, row.code, row.item, row.supplier, row.use_category, bool(row.dry), fold, unfit, row.wood)


def _state(
    row: JobRow,
    file: JobFile,
    house: House,
    phase_rows: Sequence[PhaseRow],
    check_rows: Sequence[CheckRow],
    lot_rows: Sequence[LotRow],
    entries: Sequence[Entry],
    everywhere: Sequence[Entry],
    today: date,
    prices: PriceBook,
    solver: Solver,
) -> JobState:
    phase_ids = {phase.key: phase.id for phase in phase_rows}
    check_ids = {check.key: check.id for check in check_rows}
    by_phase, by_check, by_lot = (_grouped(entries, name) for name in ("phase_id", "check_id", "lot_id"))
    every_fold = {key: fold_phase(by_phase[row_id], today) for key, row_id in phase_ids.items()}
    phases = _phases_of(file, {**house.changes, **dict(file.phase_changes)}, every_fold)
    checks = tuple(check for check in checks_for(file.spec, phases) if check.key in check_ids)
    days = [entry for entry in (*everywhere, *entries) if entry.kind == "day"]
    counted = counts_from(entries)
    phase_folds = {phase.key: every_fold[phase.key] for phase in phases}
    check_folds = {
        check.key: counting(fold_check(by_check[check_ids[check.key]], today), counted.get(check.key, 0))
        for check in checks
    }
    standing = [(lot, fold_lot(by_lot[lot.id])) for lot in lot_rows if in_force(by_lot[lot.id])]
    lines = [_lot(lot, fold, None).line for lot, fold in standing]
    looked_at: Mapping[str, Inspected] = {}
    for check in checks:
        if check.key == DELIVERY:
            signed = phase_folds[check.phase].signed_arrived
            check_folds[check.key] = by_lot_state(as_of_now(check_folds[check.key], file.spec, lines), signed)
            looked_at = inspected_lots(check_folds[check.key], signed)
            folds = {lot.code: fold for lot, fold in standing}
            check_folds[check.key] = sent_back(check_folds[check.key], looked_at, folds)
    return JobState(
        facts=JobFacts(
            row.id, row.code, row.title, row.client, row.place, row.crew, date.fromisoformat(row.start), row.rev
        ),
        file=file,
        phases=phases,
        checks=checks,
        phase_ids=phase_ids,
        check_ids=check_ids,
        phase_folds=phase_folds,
        check_folds=check_folds,
        lots=tuple(_lot(lot, fold, looked_at.get(lot.code)) for lot, fold in standing),
        notes=tuple(
            NoteView(entry.day, entry.at, entry.who, note_said(entry.body))
            for entry in in_force(entries)
            if entry.kind == "note"
        ),
        days_off=fold_days(sorted(days, key=lambda entry: entry.arrived)),
        today=today,
        revs={phase.key: phase.rev for phase in phase_rows},
        prices=own_prices(file, prices),
        solver=solver,
        punch=fold_punch(entries),
    )


def in_force_changes(changes: Mapping[str, PhaseChange], folds: Mapping[str, PhaseFold]) -> dict[str, PhaseChange]:
    """The changes to the template as they concern a job: what was signed off stays as it was signed."""
    out = dict(changes)
    for key, fold in folds.items():
        if key in out and fold.state is PhaseState.SIGNED_OFF:
            out[key] = replace(out[key], skip=False, without_checks=())
    return out


def _phases_of(file: JobFile, changes: Mapping[str, PhaseChange], folds: Mapping[str, PhaseFold]) -> tuple[Phase, ...]:
    """The phases of the template that the job has in the book, which ``folds`` names; one it does not have is folded into
    another, as its template says, or hands on what it comes after.
    """
    changes = in_force_changes(changes, folds)
    folded = folded_phases(file.spec, apart=folds, begun=BY_KEY)
    template = phases_for(file.spec, changes, folded)
    missing = {phase.key: replace(changes.get(phase.key, PhaseChange()), skip=True)
               for phase in template if phase.key not in folds}  # fmt: skip
    return phases_for(file.spec, {**changes, **missing}, folded) if missing else template
