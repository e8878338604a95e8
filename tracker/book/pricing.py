"""What jobs should cost and be sold for: estimates of jobs in the book, of job files, and of their options."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from sqlmodel import Session, select

from tracker.book.load import House, find_job, load_house, load_job, own_prices, parsed, shelf_of
from tracker.book.moneyviews import PricedJob, PricedOption
from tracker.book.opening import Book
from tracker.book.plans import Shelf
from tracker.book.prices import load_prices
from tracker.book.state import JobState
from tracker.book.tables import LotRow
from tracker.errors import InputError, InputErrors
from tracker.planning.estimate import Equipment, Estimate, estimate, terms_of
from tracker.planning.material import Solver, material_of
from tracker.planning.options import AS_DRAWN, Option, with_changes
from tracker.planning.pricing import PriceBook
from tracker.text import clean, listing, near
from tracker.trade.design import design_digest, design_faults
from tracker.trade.jobfile import parse_job_table
from tracker.trade.jobfile.model import JobFile
from tracker.trade.phases import PhaseChange, phases_for
from tracker.trade.rules import Rules
from tracker.trade.workload import quantities

AS_IT_IS = (Option(AS_DRAWN),)


def price_job(
    book: Book, code: str, today: date, options: Sequence[Option] = AS_IT_IS, equipment: Sequence[Equipment] = ()
) -> PricedJob:
    """The estimate of each option of a job in the book, for the whole job as if nothing were bought yet.

    Raises InputError for an unknown job, or an option that makes no sound job.
    """
    with book.reading() as session:
        state = load_job(book, session, code, today)
        house, prices = load_house(session), load_prices(session)
        has_lots = session.exec(select(LotRow.id).where(LotRow.job_id == state.facts.id)).first() is not None
    priced = _priced(state.file, house, prices, shelf_of(book).plan, options, equipment, state.facts.rev)
    return replace(priced.standing_on(state.stands_on, state.covered), has_lots=has_lots)


def price_in(
    book: Book, session: Session, code: str, options: Sequence[Option] = AS_IT_IS, equipment: Sequence[Equipment] = ()
) -> PricedJob:
    """``price_job`` inside the caller's transaction."""
    row, house = find_job(session, code), load_house(session)
    file, prices = parsed(book, row, house), load_prices(session)
    return _priced(file, house, prices, shelf_of(book).plan, options, equipment, row.rev)


def price_file(
    file: JobFile,
    changes: Mapping[str, PhaseChange],
    house: Rules,
    prices: PriceBook,
    shelf: Shelf,
    options: Sequence[Option] = AS_IT_IS,
    equipment: Sequence[Equipment] = (),
) -> PricedJob:
    """``price_job`` of a job file that need not be in the book; ``changes`` and ``house`` are the contractor's own."""
    return _priced(file, House(house, changes), prices, shelf.plan, options, equipment)


def _priced(
    file: JobFile,
    house: House,
    prices: PriceBook,
    solver: Solver,
    options: Sequence[Option],
    equipment: Sequence[Equipment],
    rev: int = 0,
) -> PricedJob:
    labels = [option.label.casefold() for option in options]
    if len(set(labels)) < len(labels):
        raise InputError("two options have the same name", "give each a name of its own before a colon")
    found = tuple(_priced_option(file, house, prices, solver, option, equipment) for option in options)
    return PricedJob(file.code, file.title, found, rev)


def _priced_option(
    file: JobFile, house: House, prices: PriceBook, solver: Solver, option: Option, equipment: Sequence[Equipment]
) -> PricedOption:
    changed = _with_option(file, house, option)
    phases = phases_for(changed.spec, {**house.changes, **dict(changed.phase_changes)})
    keys = [phase.key for phase in phases]
    titles = {key: phase.title for phase in phases for key in (phase.key, *phase.within)}
    if unknown := [one.phase for one in equipment if one.phase and one.phase not in keys]:
        raise InputError(
            f"{file.code} has no phase {clean(unknown[0])!r}{near(unknown[0], keys)}",
            f"it has {listing(keys, 'and')}",
        )
    priced = own_prices(changed, prices)
    lines = material_of(changed.spec, priced, solver).lines
    made = estimate(
        lines, priced, phases, quantities(changed.spec), terms_of(changed.spec.rules), equipment, option.price_cents
    )
    same = bool(option.changes) and changed.spec == file.spec
    return PricedOption(option, made, titles, same, design_faults(changed.spec), design_digest(changed.spec))


def _with_option(file: JobFile, house: House, option: Option) -> JobFile:
    if not option.changes:
        return file
    try:
        return parse_job_table(with_changes(file.source, option.changes), file.code, house=house.rules)
    except InputErrors as error:
        problems = [f"option {option.label}: {problem.removeprefix(f'{file.code}: ')}" for problem in error.problems]
        raise InputErrors(problems, error.hint) from error


def estimate_in(state: JobState) -> Estimate:
    """The estimate of a job that was read, from the material list it has now."""
    spec = state.file.spec
    return estimate(state.material, state.prices, state.phases, quantities(spec), terms_of(spec.rules))
