"""Buying over all jobs: who to order what from by when, what it costs, and the cut lists behind it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial

from tracker.book.buyviews import CostLine, CostView, CutListView, MaterialView, Part, Purchase, PurchaseLine
from tracker.book.load import find_job, load_jobs, own_prices, rows_of, shelf_of
from tracker.book.opening import Book
from tracker.book.plans import Shelf
from tracker.book.pooling import LATE, LATER, SOON, TODAY, Pooled, pooled, with_shares
from tracker.book.prices import load_prices
from tracker.book.state import JobState
from tracker.book.stock import needs_of
from tracker.book.views import NeedView
from tracker.errors import InputError
from tracker.planning.cutplan import CutPlan, Need, Progress, Stock
from tracker.planning.material import Held, material_of, plan_material, with_uses
from tracker.planning.packs import priced_lines
from tracker.planning.pricing import PriceBook
from tracker.trade.jobfile.model import JobFile
from tracker.trade.material import Line
from tracker.trade.money import line_total
from tracker.trade.takeoff import take_off

Kinded = tuple[str, str]
"""An item and its wood."""


def purchases(book: Book, today: date, codes: Sequence[str] = ()) -> tuple[Purchase, ...]:
    """What is left to buy for the named jobs (all open ones when none is named), by supplier and urgency."""
    return needs_and_purchases(book, today, codes)[1]


def needs_and_purchases(
    book: Book, today: date, codes: Sequence[str] = ()
) -> tuple[tuple[NeedView, ...], tuple[Purchase, ...]]:
    """What the named jobs (all open ones when none is named) need, the earliest day first, and what is left to buy of it."""
    with book.reading() as session:
        states = load_jobs(book, session, rows_of(session, codes), today)
        prices = load_prices(session)
    pairs = [(state, need) for state in states if codes or state.current is not None for need in needs_of(state)]
    by_job = {state.facts.code: state for state in states}
    needs = with_shares([need for _, need in pairs])
    lines: defaultdict[str, list[PurchaseLine]] = defaultdict(list)
    for found in pooled((need, _urgency(by_job[need.job], need)) for need in needs if need.to_buy):
        lines[found.needs[0].supplier].append(_line(found, by_job))
    suppliers = sorted(lines, key=lambda name: (not name, name))
    return (
        tuple(sorted(needs, key=lambda need: (need.needed_on, need.job, need.item))),
        tuple(_purchase(supplier, lines[supplier], prices) for supplier in suppliers),
    )


def _urgency(state: JobState, need: NeedView) -> str:
    assert need.order_by is not None
    if need.order_by < state.today:
        return LATE
    if need.order_by == state.today:
        return TODAY
    return SOON if need.order_by <= state.calendar.first(state.today + timedelta(days=1)) else LATER


def _line(found: Pooled, by_job: Mapping[str, JobState]) -> PurchaseLine:
    first = min(found.needs, key=lambda need: (need.needed_on, need.job))
    late = [need for need in found.needs if found.urgency == LATE and _urgency(by_job[need.job], need) == LATE]
    return PurchaseLine(
        item=first.item,
        title=f"{first.title}, {first.wood}" if first.wood else first.title,
        unit=first.unit,
        use_category=first.use_category,
        wood=first.wood,
        quantity=found.quantity,
        pack=first.pack,
        packed=found.packed,
        price_e4=first.price_e4,
        cost_cents=found.cost_cents,
        order_by=min(need.order_by for need in found.needs if need.order_by is not None),
        needed_on=first.needed_on,
        urgency=found.urgency,
        waits=tuple(
            dict.fromkeys(
                f"{by_job[need.job].phase_by_key[need.phase].title} of {need.job}"
                for need in sorted(late, key=lambda need: (need.needed_on, need.job))
            )
        ),
        stale=any(need.stale for need in found.needs),
        parts=tuple(
            Part(need.job, need.phase, number, need.needed_on)
            for need, number in zip(found.needs, found.quantities, strict=True)
        ),
        proven=all(need.proven for need in found.needs),
    )


def _purchase(supplier: str, lines: list[PurchaseLine], prices: PriceBook) -> Purchase:
    terms = prices.terms_of(supplier)
    cost = sum(line.cost_cents or 0 for line in lines)
    return Purchase(
        supplier=supplier,
        lead_days=terms.lead_days,
        delivery_cents=terms.delivery_cents,
        minimum_cents=terms.minimum_cents,
        cost_cents=cost,
        unpriced=sum(line.cost_cents is None for line in lines),
        short_of_minimum_cents=max(terms.minimum_cents - cost, 0),
        lines=tuple(sorted(lines, key=lambda line: (line.order_by, line.needed_on, line.item))),
    )


def cost_of(book: Book, code: str, today: date) -> CostView:
    """A job's material cost: estimate at today's prices, committed, received and used at the prices paid."""
    with book.reading() as session:
        (state,) = load_jobs(book, session, [find_job(session, code)], today)
    found = cost_in(state)
    if not state.lots:
        return found
    afresh = material_of(state.file.spec, state.prices, state.solver).lines
    cents = sum(priced.cents or 0 for priced in priced_lines(afresh, state.prices))
    return replace(found, afresh_cents=cents)


def cost_in(state: JobState) -> CostView:
    """``cost_of`` of a job that was read already."""
    estimates: defaultdict[tuple[str, Kinded], int] = defaultdict(int)
    not_estimated: dict[tuple[str, Kinded], None] = {}
    not_paid: dict[Kinded, None] = {}
    titles: dict[Kinded, str] = {}
    phase_of: dict[Kinded, str] = {}
    for priced in priced_lines(state.material, state.prices):
        line = priced.line
        kinded = line.item, line.wood
        titles.setdefault(kinded, line.title)
        phase_of.setdefault(kinded, line.phase)
        if priced.cents is None:
            not_estimated[line.phase, kinded] = None
            continue
        estimates[line.phase, kinded] += priced.cents
    spent: defaultdict[Kinded, list[int]] = defaultdict(lambda: [0, 0, 0])
    for lot in state.lots:
        wood = state.held_as(lot)[1] or next((of for item, of in titles if item == lot.item), "")
        offer = state.prices.best(lot.item, lot.use_category, wood)
        price = lot.fold.paid_e4 if lot.fold.paid_e4 is not None else offer.price_e4 if offer else None
        titles.setdefault((lot.item, wood), lot.item)
        if price is None:
            not_paid[lot.item, wood] = None
            continue
        fold = lot.fold
        kept = fold.received - fold.returned - fold.moved_out
        amounts = (max(fold.ordered, fold.received) - fold.returned - fold.moved_out, kept, fold.used + fold.scrapped)
        for index, pieces in enumerate(amounts):
            spent[lot.item, wood][index] += line_total(pieces, price)
    several = Counter(item for item, _ in titles)
    for kinded, title in titles.items():
        if several[kinded[0]] > 1 and kinded[1]:
            titles[kinded] = f"{title}, {kinded[1]}"
    found = _Amounts(estimates, spent, not_estimated, not_paid)
    everywhere = {phase for phase, _ in (*estimates, *not_estimated)}
    return CostView(
        job=state.facts.code,
        phases=tuple(_phases(state, found, phase_of)),
        items=tuple(
            replace(found.line(kinded[0], title, everywhere, (kinded,)), wood=kinded[1])
            for kinded, title in titles.items()
        ),
        total=found.line("total", "total", everywhere, tuple(titles)),
    )


@dataclass(frozen=True, slots=True)
class _Amounts:
    """Cents estimated by phase and item of a wood, and ordered, received and used by item; and what has no price in either."""

    estimates: Mapping[tuple[str, Kinded], int]
    spent: Mapping[Kinded, Sequence[int]]
    not_estimated: Mapping[tuple[str, Kinded], None]
    not_paid: Mapping[Kinded, None]

    def line(
        self,
        key: str,
        title: str,
        phases: Collection[str],
        items: Collection[Kinded],
        bought: Collection[Kinded] | None = None,
    ) -> CostLine:
        """What these items are estimated at in these phases, and what was spent on ``bought`` (on ``items`` when left out)."""
        bought = items if bought is None else bought
        estimate = sum(cents for (phase, item), cents in self.estimates.items() if phase in phases and item in items)
        ordered, received, used = (
            sum(amounts[n] for item, amounts in self.spent.items() if item in bought) for n in range(3)
        )
        unpriced = dict.fromkeys(item[0] for phase, item in self.not_estimated if phase in phases and item in items)
        unpaid = dict.fromkeys(item[0] for item in self.not_paid if item in bought)
        return CostLine(key, title, estimate, ordered, received, used, tuple(unpriced), tuple(unpaid))


def _phases(state: JobState, found: _Amounts, phase_of: Mapping[Kinded, str]) -> Iterator[CostLine]:
    """By phase; what an item cost counts for the first phase that needs it, off-list items for no phase."""
    titles = {phase.key: phase.title for phase in state.phases} | {"": "not on the take-off"}
    for key, title in titles.items():
        bought = [item for item in (*found.spent, *found.not_paid) if phase_of.get(item, "") == key]
        line = found.line(key, title, (key,), phase_of, bought)
        if line.estimate_cents or line.committed_cents or line.received_cents or line.gaps:
            yield line


def material_list(book: Book, code: str, today: date) -> MaterialView:
    """The material list of a job: its take-off cut, at the least cost, from what it has and what can be bought."""
    with book.reading() as session:
        (state,) = load_jobs(book, session, [find_job(session, code)], today)
    return MaterialView(state.facts.code, state.facts.title, state.file.unit, state.material)


def material_of_file(file: JobFile, prices: PriceBook, shelf: Shelf) -> MaterialView:
    """The material list of a job file that need not be in the book, and has nothing yet."""
    lines = material_of(file.spec, own_prices(file, prices), shelf.plan).lines
    return MaterialView(file.code, file.title, file.unit, lines)


@dataclass(frozen=True, slots=True)
class _Asked:
    """One job whose lumber is planned: its take-off (phases signed off, the others) and what it has."""

    file: JobFile
    take_off: tuple[tuple[Line, ...], tuple[Line, ...]]
    obtained: Counter[Held]


def cut_list(book: Book, today: date, codes: Sequence[str], progress: Progress | None = None) -> CutListView:
    """The proven cut plans of the jobs bought together: one plan for each size over all of them.

    ``progress`` sees each plan improve and may stop it: the best so far comes back with its bound. Raises InputError for
    unknown jobs or jobs in different units.
    """
    with book.reading() as session:
        states = load_jobs(book, session, rows_of(session, codes), today)
        prices = load_prices(session)
    open_ones = [state for state in states if codes or state.current is not None]
    asked = [_Asked(state.file, state.take_off, state.obtained) for state in open_ones]
    return _cut_view(asked, prices, shelf_of(book), progress)


def cut_list_of(
    files: Sequence[JobFile], prices: PriceBook, shelf: Shelf, progress: Progress | None = None
) -> CutListView:
    """``cut_list`` of job files that need not be in the book, and have nothing yet."""
    asked = [_Asked(file, ((), take_off(file.spec)), Counter()) for file in files]
    return _cut_view(asked, prices, shelf, progress)


def _cut_view(asked: Sequence[_Asked], prices: PriceBook, shelf: Shelf, progress: Progress | None) -> CutListView:
    if not asked:
        raise InputError("no job is open", "take one with `deckjobs take FILE`")
    first = asked[0].file.spec
    if any(job.file.unit is not first.unit for job in asked):
        raise InputError("these jobs are in different units", "plan inch jobs and millimetre jobs apart")
    have: Counter[Held] = Counter()
    for job in asked:
        have += job.obtained
    # A job's own price counts for boards bought together only when it is the price of all of them.
    shared = {
        item: price
        for item, price in asked[0].file.prices.items()
        if all(job.file.prices.get(item) == price for job in asked)
    }
    prices = own_prices(replace(asked[0].file, prices=shared), prices)
    done, ahead = ([line for job in asked for line in _named(job, part, len(asked) > 1)] for part in (0, 1))

    def solver(needs: Sequence[Need], stocks: Sequence[Stock], kerf_nm: int, trim_nm: int) -> CutPlan:
        return shelf.plan(needs, stocks, kerf_nm, trim_nm, progress)

    material = plan_material(done, ahead, have, prices, first.rules, first.unit, solver)
    return CutListView(
        jobs=tuple(job.file.code for job in asked),
        title=", ".join(job.file.title for job in asked),
        unit=first.unit,
        sizes=tuple(with_uses(size, size.plan, first.rules, first.unit) for size in material.plans),
    )


def _named(job: _Asked, part: int, several: bool) -> Iterable[Line]:
    """Take-off lines whose pieces say which job they are for."""
    for line in job.take_off[part]:
        pieces = tuple(replace(piece, what=f"{job.file.code} {piece.what}") for piece in line.pieces)
        yield replace(line, pieces=pieces) if several else line


def unplanned(book: Book, today: date, codes: Sequence[str] = ()) -> tuple[str, ...]:
    """Which of these jobs (all open ones when none is named) have a cut plan that is not kept, and takes a while."""
    with book.reading() as session:
        states = load_jobs(book, session, rows_of(session, codes), today)
    return tuple(state.facts.code for state in states if not _is_planned(state, shelf_of(book)))


def _is_planned(state: JobState, shelf: Shelf) -> bool:
    """Whether all cut plans of a job are kept."""
    missing = False

    def look(needs: Sequence[Need], stocks: Sequence[Stock], kerf_nm: int, trim_nm: int) -> CutPlan:
        nonlocal missing
        missing = missing or not shelf.has(needs, stocks, kerf_nm, trim_nm)
        return shelf.quick(needs, stocks, kerf_nm, trim_nm)

    _ = replace(state, solver=look).planned
    return not missing


def plan_now(book: Book, codes: Sequence[str], today: date, progress: Progress | None = None) -> None:
    """Work out the cut plans of these jobs (all open ones when none is named) and keep them: what is read next is there at once.

    ``progress`` may stop it: a plan that was stopped is not kept.
    """
    with book.reading() as session:
        states = load_jobs(book, session, rows_of(session, codes), today)
    solver = partial(shelf_of(book).plan, progress=progress)
    for state in states:
        _ = replace(state, solver=solver).planned
    book.write_plans()
