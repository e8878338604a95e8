"""What a job would be that is not in the book yet: its faults by field, or its frame, material, cost, days and questions."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import partial

from sqlmodel import Session, col, select

from tracker.book.changeviews import FrameFacts, PhaseDays, Proposal, Wanted
from tracker.book.entries import entries_of
from tracker.book.fold import CheckFold, PhaseFold, fold_days
from tracker.book.hand import Hand
from tracker.book.jobs import take_job
from tracker.book.load import House, find_job, load_house, own_prices, shelf_of
from tracker.book.opening import Book
from tracker.book.prices import load_prices
from tracker.book.state import JobFacts, JobState
from tracker.book.tables import JobRow
from tracker.book.views import TakeResult
from tracker.errors import InputError
from tracker.planning.cutplan import Progress
from tracker.planning.material import Solver
from tracker.planning.packs import priced_lines
from tracker.text import clean, count
from tracker.trade.answer import Plain
from tracker.trade.checks.registry import checks_for
from tracker.trade.design import looks_wrong
from tracker.trade.framing import FramePlan, plan_job
from tracker.trade.jobfile import Fault, JobFaults, parse_job_table
from tracker.trade.jobfile.model import JobFile
from tracker.trade.lengths import Unit, format_length, format_small, format_trade
from tracker.trade.metric import all_in_unit
from tracker.trade.permits import permit_answer
from tracker.trade.phases import phases_for
from tracker.trade.places import guard_called_for
from tracker.trade.posts import carriers
from tracker.trade.spec import JobSpec
from tracker.trade.woodblocks import words

MOST_CODES = 1000


def preview(
    book: Book,
    source: Mapping[str, Plain],
    today: date,
    *,
    code: str = "",
    proven: bool = False,
    progress: Progress | None = None,
) -> Proposal:
    """What a job typed as ``source`` would be; nothing is written. ``code`` is the job it changes, empty for a new one.

    Every fault comes with the key it belongs to. Cut plans are those kept from before, else quick ones; with ``proven`` they
    are worked out, unless ``progress`` stops that.
    """
    with book.reading() as session:
        house = load_house(session)
        faults = _of_the_code(session, source, code)
        left_out: tuple[str, ...] = ()
        try:
            file = parse_job_table(source, "", house=house.rules)
        except JobFaults as error:
            faults += error.faults
            filled, left_out = _whole_platforms(_filled(source, faults, today), faults)
            try:
                file = parse_job_table(filled, "", house=house.rules)
            except JobFaults:
                return Proposal(tuple(faults))
        solver: Solver = partial(shelf_of(book).plan, progress=progress) if proven else shelf_of(book).quick
        state = imagined(session, file, house, today, solver)
    unframed = [fault for at in range(len(file.spec.platforms)) if (fault := _unframed(file.spec, at))]
    if unframed:
        return Proposal((*faults, *unframed), title=file.title)
    try:
        return replace(proposed(state), problems=tuple(faults), left_out=left_out)
    except InputError as error:
        return Proposal((*faults, Fault((), error.message, error.hint)), title=file.title)


def _filled(source: Mapping[str, Plain], faults: Sequence[Fault], today: date) -> dict[str, Plain]:
    """The table with something in the place of faults that change neither frame nor material much."""
    paths = {fault.path for fault in faults}
    stands: Mapping[str, Plain] = {
        "code": "00-000", "title": "untitled", "client": "nobody yet", "start": today.isoformat(), "site": "",
    }  # fmt: skip
    out = {**source, **{key: value for key, value in stands.items() if (key,) in paths}}
    if (frost := ("site_facts", "frost_depth")) in paths:
        facts = out.get("site_facts")
        out["site_facts"] = {**(facts if isinstance(facts, dict) else {}), frost[1]: "0 in"}
    return out


def _whole_platforms(table: Mapping[str, Plain], faults: Sequence[Fault]) -> tuple[dict[str, Plain], tuple[str, ...]]:
    """The table without the platforms that have faults, and their names; as it is when no other would be left."""
    platforms = table.get("platform")
    if not isinstance(platforms, list):
        return dict(table), ()
    wrong = {fault.path[1] for fault in faults if len(fault.path) > 1 and fault.path[0] == "platform"}
    kept = [platform for at, platform in enumerate(platforms) if at not in wrong]
    if not kept or len(kept) == len(platforms):
        return dict(table), ()
    names = (x.get("name") if isinstance(x, dict) else None for at, x in enumerate(platforms) if at in wrong)
    return {**table, "platform": kept}, tuple(clean(str(name or "another platform")) for name in names)


def next_code(book: Book, today: date) -> str:
    """The next free job code of the year, ``26-001`` in an empty book."""
    year = f"{today.year % 100:02d}-"
    with book.reading() as session:
        codes = session.exec(select(JobRow.code).where(col(JobRow.code).startswith(year))).all()
    numbers = {int(code[3:]) for code in codes if code[3:].isdecimal()}
    after = max(numbers, default=0) + 1
    return f"{year}{after if after < MOST_CODES else min(set(range(1, MOST_CODES)) - numbers, default=1):03d}"


def start_of(book: Book, today: date) -> tuple[str, tuple[str, ...]]:
    """What a new job's form begins with: the next free code and the crews of the jobs there are."""
    with book.reading() as session:
        crews = session.exec(select(JobRow.crew).distinct().order_by(col(JobRow.crew))).all()
    return next_code(book, today), tuple(crew for crew in crews if crew)


def take_new(book: Book, hand: Hand, source: Mapping[str, Plain]) -> TakeResult:
    """Take a new job as it was typed. Raises JobFaults for its faults, a code that is taken among them.

    The same job again is no fault, so that a save without an answer can be repeated.
    """
    with book.reading() as session:
        house = load_house(session)
        faults = _of_the_code(session, source, "")
        row = session.exec(select(JobRow).where(JobRow.code == str(source.get("code", "")).strip())).first()
    file = parse_job_table(source, "", house=house.rules)
    if faults and (row is None or json.loads(row.source) != file.source):
        raise JobFaults([f"{fault.what}; {fault.hint}" for fault in faults], faults)
    return take_job(book, hand, file)


def job_source(book: Book, code: str) -> dict[str, Plain]:
    """A job's file as it was typed, without its log, whose lines are entries by now. Raises InputError as ``find_job``."""
    with book.reading() as session:
        source: dict[str, Plain] = json.loads(find_job(session, code).source)
    source.pop("log", None)
    return source


def _of_the_code(session: Session, source: Mapping[str, Plain], code: str) -> list[Fault]:
    typed = source.get("code")
    if not isinstance(typed, str) or typed.strip() == code:
        return []
    if code:
        return [Fault(("code",), f"the job is {code}", "a change order keeps the job's code")]
    there = session.exec(select(JobRow).where(JobRow.code == typed.strip())).first()
    if there is None:
        return []
    return [Fault(("code",), f"{there.code} is taken: {clean(there.title)}", "give the new job a code of its own")]


def imagined(session: Session, file: JobFile, house: House, today: date, solver: Solver) -> JobState:
    """A job that nothing has happened to: the state of a file that need not be in the book."""
    phases = phases_for(file.spec, {**house.changes, **dict(file.phase_changes)})
    checks = checks_for(file.spec, phases)
    return JobState(
        facts=JobFacts("", file.code, file.title, file.client, file.site, file.crew, file.start, 0),
        file=file,
        phases=phases,
        checks=checks,
        phase_ids={},
        check_ids={},
        phase_folds={phase.key: PhaseFold() for phase in phases},
        check_folds={check.key: CheckFold() for check in checks},
        lots=(),
        notes=(),
        days_off=fold_days([entry for entry in entries_of(session, ())[""] if entry.kind == "day"]),
        today=today,
        revs={},
        prices=own_prices(file, load_prices(session)),
        solver=solver,
    )


def _unframed(spec: JobSpec, at: int) -> Fault | None:
    """The fault of a platform whose sizes parse and still make no frame."""
    try:
        plan_job(replace(spec, platforms=(spec.platforms[at],)))
    except InputError as error:
        return Fault(("platform", at), error.message, error.hint)
    return None


def proposed(state: JobState) -> Proposal:
    """What a job comes to whose file has no fault."""
    spec = state.file.spec
    material = wanted(state)
    answer = permit_answer(spec)
    days = phase_days(state)
    return Proposal(
        problems=(),
        spec=spec,
        title=state.file.title,
        frames=tuple(FrameFacts(plan.platform.name, _frame_words(plan, spec)) for plan in plan_job(spec)),
        material=material,
        cost_cents=sum(line.cost_cents or 0 for line in material),
        unpriced=tuple(dict.fromkeys(line.item for line in material if line.cost_cents is None)),
        proven=state.planned.proven,
        phases=days,
        checks=tuple((check.key, check.check.title, check.phase) for check in state.checks),
        today=state.today,
        first_day=min(phase.first for phase in days),
        last_day=max(phase.last for phase in days),
        crew_days_tenths=crew_days_tenths(state),
        permit_headline=answer.headline,
        permit=answer.moves,
        against=looks_wrong(spec),
        cautions=tuple(dict.fromkeys(text for phase in state.phases for text in phase.cautions)),
    )


def wanted(state: JobState) -> tuple[Wanted, ...]:
    """The material of a job as it stands on its list, at today's prices."""
    return tuple(
        Wanted(line.item, line.title, line.quantity, line.unit, line.phase, priced.cents)
        for priced in priced_lines(state.material, state.prices)
        for line in (priced.line,)
    )


def phase_days(state: JobState) -> tuple[PhaseDays, ...]:
    """The phases of a job with their planned days and hours."""
    crew = state.crew
    return tuple(
        PhaseDays(
            phase.key, phase.title, state.plan[phase.key].start, state.plan[phase.key].end, crew.hours_for(phase), phase.hold
        )
        for phase in state.phases
    )  # fmt: skip


def crew_days_tenths(state: JobState) -> int:
    """What the crew works on a job in tenths of a day, its phases added up."""
    hours = sum(state.crew.hours_for(phase) for phase in state.phases)
    return round(10 * hours / state.crew.hours)


def _joist_length(plan: FramePlan, unit: Unit) -> str:
    """How long a full joist is, and its pieces where it is longer than the stock."""
    whole = format_length(plan.joist_nm, unit)
    if len(plan.joist_parts_nm) == 1:
        return whole
    return f"{whole} in pieces of {' + '.join(format_length(part, unit) for part in plan.joist_parts_nm)}"


def _frame_words(plan: FramePlan, spec: JobSpec) -> tuple[str, ...]:
    """A platform's frame in a few facts."""
    platform, unit = plan.platform, spec.unit
    out = [
        f"{format_length(platform.width_nm, unit)} x {format_length(platform.depth_nm, unit)}, "
        f"{format_trade(platform.height_nm, unit)} high, {platform.area_ft2:.0f} sq ft",
        f"{count(plan.joists, 'joist')} {platform.joists.size}, {_joist_length(plan, unit)}, at "
        f"{format_small(platform.joists.spacing_nm, unit)}",
    ]
    if plan.wood_block is not None:
        out.append(f"{count(plan.blocks, 'wood block')}, each {words(plan.wood_block, platform.joists.size, unit)}")
    elif plan.blocks:
        out.append(count(plan.blocks, "pad" if platform.on_pads else "block"))
    for built in plan.beams:
        beam = built.beam
        out.append(
            f"beam {beam.plies}-ply {beam.size} at {format_length(beam.at_nm, unit)}: {carriers(platform, beam)}"
        )
    if plan.footing is not None:
        out.append(f"{count(plan.footing.count, 'footing')}, {plan.footing.words(unit)}")
    out += [
        f"stairs: {count(flight.risers, 'riser')} of {format_small(flight.riser_nm, unit)}, "
        f"{format_length(flight.width_nm, unit)} wide"
        for flight in plan.stairs
    ]
    if (guard := guard_called_for(platform)) is not None:
        out.append(
            f"guard {format_length(guard.length_nm, unit)}, {format_small(guard.height_nm, unit)} high"
            + ("" if platform.guard is not None else ", the least its height calls for")
        )
    return all_in_unit(out, unit)
