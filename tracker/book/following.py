"""The phases and checks of a job follow the template, whenever that changes: by a house rule, a job file or a newer program.

What is added or left out is said. What was signed off stays as it was signed, a job that is finished stays finished, and a
job whose deck the client has gets nothing new that comes before the hand-over.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from sqlmodel import Session, select

from tracker.book.hand import Hand
from tracker.book.ids import new_id
from tracker.book.load import in_force_changes, load_house, load_jobs, open_rows
from tracker.book.opening import Book
from tracker.book.standing import keep
from tracker.book.state import JobState
from tracker.book.tables import CheckRow, JobRow, PhaseRow, PlatformRow
from tracker.trade.checks.registry import JobCheck, checks_for
from tracker.trade.jobfile.model import JobFile
from tracker.trade.phases import HAND_OVER, PHASES, Phase, PhaseChange, begun_by, phases_for
from tracker.trade.phases import folds as folded_phases


def follow_template(book: Book, hand: Hand, mark: int) -> tuple[str, ...]:
    """Bring every open job in step with the template of this program and keep the ``mark``; says what was added."""
    with book.writing() as session:
        said = follow(book, session, hand)
        session.connection().exec_driver_sql(f"PRAGMA user_version = {mark}")
    return said


def follow(book: Book, session: Session, hand: Hand) -> tuple[str, ...]:
    """Bring every open job in step with the template and the house's changes to it; a line for each change, with its job."""
    said: list[str] = []
    changes = load_house(session).changes
    rows = open_rows(session)
    for row, state in zip(rows, load_jobs(book, session, rows, hand.day), strict=True):
        if lines := in_step(session, row, state.file, changes, state):
            keep(session, hand, row)
            said += [f"{row.code}: {line}" for line in lines]
    return tuple(said)


def in_step(
    session: Session,
    row: JobRow,
    file: JobFile,
    house: Mapping[str, PhaseChange],
    state: JobState | None,
    *,
    spec_changed: bool = False,
) -> list[str]:
    """Bring the platform, phase and check rows of a job in step with its spec and the template; what is gone is dropped, never
    deleted. ``state`` is the job as it stands, None for a new one; returns what was added or left out.

    A spec that changed brings in all it calls for, also where work is done.
    """
    folds = state.phase_folds if state is not None else {}
    changes = {**house, **dict(file.phase_changes)}
    phase_rows = {p.key: p for p in session.exec(select(PhaseRow).where(PhaseRow.job_id == row.id))}
    phases = phases_for(file.spec, in_force_changes(changes, folds), _folded(file, state))
    check_rows = {c.key: c for c in session.exec(select(CheckRow).where(CheckRow.job_id == row.id))}
    checks = tuple(
        check
        for check in checks_for(file.spec, phases)
        if _live(check_rows.get(check.key))
        or check.check.key not in changes.get(check.phase, PhaseChange()).without_checks
    )
    if state is not None and not spec_changed:
        phases, checks = _still_open(state, phases, checks, phase_rows, check_rows)
    said: list[str] = []
    platforms = {p.name: p for p in session.exec(select(PlatformRow).where(PlatformRow.job_id == row.id))}
    for position, platform in enumerate(file.spec.platforms):
        laid = platforms.pop(platform.name, None) or PlatformRow(
            id=new_id(), job_id=row.id, name=platform.name, position=position, dropped=1, rev=0
        )
        _place(session, laid, position)
    _drop(session, platforms.values())
    ids: dict[str, str] = {}
    for position, phase in enumerate(phases):
        found = phase_rows.pop(phase.key, None) or PhaseRow(
            id=new_id(), job_id=row.id, key=phase.key, position=position, dropped=1, rev=0
        )
        ids[phase.key] = found.id
        if _place(session, found, position):
            said.append(f"phase {phase.key} is part of it now")
    session.flush()
    said += [f"phase {key} is no longer part of it" for key in _drop(session, phase_rows.values())]
    for position, check in enumerate(checks):
        there = check_rows.pop(check.key, None) or CheckRow(
            id=new_id(), job_id=row.id, phase_id=ids[check.phase], key=check.key, check_key=check.check.key,
            platform=check.platform.name, position=position, dropped=1, rev=0,
        )  # fmt: skip
        if there.phase_id != ids[check.phase]:
            there.phase_id, there.rev = ids[check.phase], there.rev + 1
        if _place(session, there, position):
            said.append(f"check {check.key} is part of it now")
    said += [f"check {key} is no longer part of it" for key in _drop(session, check_rows.values())]
    session.flush()
    return said if state is not None else []


def _folded(file: JobFile, state: JobState | None) -> frozenset[str]:
    """The phases that fold into another: none that the job has already, or, of a new one, that the log of its file names; and
    no wait for an inspector is asked for once the work before it is begun.
    """
    if state is None:
        named = file.phases_named
        return folded_phases(file.spec, named, begun_by(named))
    return state.folded_in(file.spec)


def _live(row: PhaseRow | CheckRow | None) -> bool:
    return row is not None and not row.dropped


def _still_open(
    state: JobState,
    phases: Sequence[Phase],
    checks: Sequence[JobCheck],
    phase_rows: Mapping[str, PhaseRow],
    check_rows: Mapping[str, CheckRow],
) -> tuple[tuple[Phase, ...], tuple[JobCheck, ...]]:
    """The phases and checks of the template that the job has, or gets because its work is not past them."""
    has = {key for key, row in phase_rows.items() if _live(row)}
    reads = {key for key, row in check_rows.items() if _live(row)}
    order = [phase.key for phase in PHASES]
    passed = set(order) if state.current is None else set()
    if state.handed_over is not None:
        passed |= set(order[: order.index(HAND_OVER)])
    kept = tuple(phase for phase in phases if phase.key in has or phase.key not in passed)
    keys = {phase.key for phase in kept}
    signed = {key for key in keys & has if state.signed(key)}
    return kept, tuple(
        check for check in checks if check.phase in keys and (check.key in reads or check.phase not in signed)
    )


def _place(session: Session, row: PlatformRow | PhaseRow | CheckRow, position: int) -> bool:
    """Put a row in force at its place; whether it was not in force before."""
    comes = bool(row.dropped)
    if comes or row.position != position:
        row.rev += 1
    row.dropped, row.position = 0, position
    session.add(row)
    return comes


def _drop(session: Session, rows: Iterable[PlatformRow | PhaseRow | CheckRow]) -> list[str]:
    gone: list[str] = []
    for row in rows:
        if not row.dropped:
            row.dropped, row.rev = 1, row.rev + 1
            session.add(row)
            gone.append(row.name if isinstance(row, PlatformRow) else row.key)
    return gone
