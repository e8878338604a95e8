"""Change orders: what a new spec of a job would change, shown before it is accepted, and accepting it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial

from sqlmodel import Session

from tracker.book.changeprice import phase_costs, price_of_change
from tracker.book.changes import change_body
from tracker.book.changeviews import Change, ItemChange, PhaseChanged, ReadAgain, Standing, Wanted, more_words
from tracker.book.entries import Draft, append
from tracker.book.fold import CheckFold, PhaseFold
from tracker.book.gates import reopen_in
from tracker.book.hand import Hand
from tracker.book.jobs import take_in
from tracker.book.ledger import Ledger
from tracker.book.load import House, find_job, in_force_changes, load_house, load_job, own_prices, shelf_of
from tracker.book.moneyread import ledger_of
from tracker.book.once import once
from tracker.book.opening import Book
from tracker.book.people import must_waive
from tracker.book.prices import load_prices
from tracker.book.proposal import crew_days_tenths, phase_days, wanted
from tracker.book.state import JobFacts, JobState
from tracker.book.views import CheckState, PhaseState, Recorded
from tracker.errors import ConflictError, InputError, InputErrors
from tracker.planning.bounds import Gaps
from tracker.planning.cutplan import Progress
from tracker.planning.estimate import terms_of
from tracker.planning.material import Solver
from tracker.planning.options import with_changes
from tracker.planning.pricing import PriceBook
from tracker.text import NOTE_LIMIT, accept, clean, listing
from tracker.trade.answer import Plain, Verdict
from tracker.trade.checks.registry import checks_for
from tracker.trade.design import looks_wrong
from tracker.trade.jobfile import Fault, JobFaults, parse_job_table
from tracker.trade.jobfile.model import JobFile
from tracker.trade.phases import BY_KEY, phases_for
from tracker.trade.readings import readings_of
from tracker.trade.specchange import (
    MARKED,
    Part,
    PartChange,
    change_words,
    changed_parts,
    spec_changes,
    touched_by,
    why_again,
)

_PARTS = {
    "prices": "prices of the job",
    "rules": "house rules of the job",
    "phases": "changes to the phases",
    "lot": "lots of the file",
}
_GROUND = ("layout", "strip", "pads", "dig", "pour", "posts")
_ALL = (*_GROUND, "ledger", "frame", "boards", "guards")
BUILT_BY: Mapping[Part, tuple[str, ...]] = {
    Part.PLATFORM: _ALL,
    Part.OUTLINE: _ALL,
    Part.HEIGHT: ("posts", "guards"),
    Part.ATTACHMENT: ("ledger", "posts", "frame"),
    Part.SUPPORT: _GROUND,
    Part.JOISTS: ("frame",),
    Part.BEAMS: ("dig", "pour", "posts"),
    Part.DECKING: ("boards", "finish"),
    Part.STAIRS: ("rough-in", "guards"),
    Part.GUARD: ("rough-in", "guards"),
    Part.FINISH: ("finish",),
}
"""The phases that build a part of a platform (common practice)."""
_NEW_GROUND_ONLY = ("strip", "pads")
"""Phases a changed size opens again only where it covers new ground: a smaller deck stands on ground made ready."""


def difference(
    book: Book,
    code: str,
    source: Mapping[str, Plain],
    today: date,
    *,
    proven: bool = False,
    progress: Progress | None = None,
) -> Change:
    """What the job ``code`` would be with ``source`` as its file; nothing is written.

    Material is counted against what the job has had, has and awaits. Cut plans are those kept from before, else quick ones;
    with ``proven`` they are worked out, unless ``progress`` stops that. Raises InputError when there is no such job or the
    file is another job's, and JobFaults with every fault of the file by its key.
    """
    with book.reading() as session:
        asked = _asked(book, session, code, source, today)
    return _difference(book, asked, proven, progress)


class UnchangedError(InputError):
    """A change order that changes nothing."""


def accept_change(
    book: Book,
    hand: Hand,
    code: str,
    source: Mapping[str, Plain],
    reason: str,
    rev: int,
    *,
    entry_id: str | None = None,
) -> Recorded:
    """Take the new spec of a job, record the change order, and open again the signed-off phases it undoes; all or nothing.

    ``rev`` is the revision that was shown. Only somebody who may waive may accept one. Raises ConflictError when the job was
    changed meanwhile, RefusedError for a person who may not, InputError when nothing differs, and as ``difference`` does.
    """
    with book.writing() as session:
        return _accept_in(book, session, hand, code, source, reason, rev, entry_id)


@once("change order")
def _accept_in(
    book: Book, session: Session, hand: Hand, code: str, source: Mapping[str, Plain], reason: str, rev: int,
    entry_id: str | None,
) -> Recorded:  # fmt: skip
    must_waive(session, hand, "accept a change order")
    reason = accept(reason, "the reason", limit=NOTE_LIMIT)
    change = _difference(book, _asked(book, session, code, source, hand.day), False, None)
    if change.rev != rev:
        raise ConflictError(f"job {change.code} was changed meanwhile", "look at the differences again")
    if not change.anything:
        raise UnchangedError(f"nothing of job {change.code} is changed", "change something first")
    row = find_job(session, code)
    file = _read(session, source, change.code)
    take_in(book, session, hand, file)
    parts = [*(change_words(part) for part in change.parts), *change.facts]
    appended = append(session, hand, Draft("money", change_body(change, reason, parts), job_id=row.id), entry_id)
    for key, _, _ in change.reopen:
        reopen_in(book, session, hand, change.code, key, f"change order: {reason}"[:NOTE_LIMIT])
    more = change.cost_cents
    said = change.gaps.tell(more_words(more, change.cost_bound))
    text = f"change order of {change.code}: {said}"
    if change.again:
        text += f"; read again: {listing([check.key for check in change.again], 'and')}"
    if change.reopen:
        text += f"; open again: {listing([key for key, _, _ in change.reopen], 'and')}"
    notices = [*change.warnings]
    if change.price_cents or (change.unpriced and ledger_of(session, row.id).accepted):
        amount = " AMOUNT" if change.unpriced else ""
        notices.append(f"its price is not on the contract yet: deckjobs extra {change.code}{amount}")
    return Recorded(appended.id, False, text, (*notices, *appended.notices))


def _read(session: Session, source: Mapping[str, Plain], code: str) -> JobFile:
    file = parse_job_table(source, "", house=load_house(session).rules)
    if file.code != code:
        fault = Fault(("code",), f"this is the file of job {file.code}, not of {code}", "a change order keeps the code")
        raise JobFaults([f"{fault.what}; {fault.hint}"], [fault])
    return file


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a difference is made from, read in one transaction: working it out takes its time, and none is open meanwhile."""

    job: JobState
    file: JobFile
    house: House
    prices: PriceBook
    ledger: Ledger


def _asked(book: Book, session: Session, code: str, source: Mapping[str, Plain], today: date) -> _Asked:
    job = load_job(book, session, code, today)
    file = _read(session, source, job.facts.code)
    return _Asked(job, file, load_house(session), load_prices(session), ledger_of(session, job.facts.id))


def _difference(book: Book, asked: _Asked, proven: bool, progress: Progress | None) -> Change:
    file, today, ledger = asked.file, asked.job.today, asked.ledger
    solver: Solver = partial(shelf_of(book).plan, progress=progress) if proven else shelf_of(book).quick
    before = replace(asked.job, solver=solver)
    after = _reshaped(asked, before, file)
    parts = spec_changes(before.file.spec, file.spec)
    again = _read_again(before, after, parts)
    new_checks = [check for check in after.checks if check.key not in before.check_by_key]
    more = any(item.add for item in _items(before, after))
    reopen = _reopened(before, after, {check.key for check in again}, {check.key for check in new_checks}, parts, more)
    after = _opened_again(after, [key for key, _, _ in reopen])
    items, standing = _items(before, after), (_standing(before), _standing(after))
    change = Change(
        code=before.facts.code,
        title=file.title,
        today=today,
        later_days=after.calendar.between(before.hand_over_day, after.hand_over_day),
        rev=before.facts.rev,
        parts=parts,
        facts=_facts(before.file, file),
        before=standing[0],
        after=standing[1],
        items=items,
        phases=_phases(before, after),
        new_checks=tuple((check.key, check.check.title) for check in new_checks),
        gone_checks=tuple((c.key, c.check.title) for c in before.checks if c.key not in after.check_by_key),
        again=again,
        reopen=reopen,
        warnings=_warnings(before, after, parts, items, again),
        unpriced=tuple(sorted(item.item for item in items if item.after > item.before and item.after_cents is None)),
    )
    base = _with_option(asked, before)
    costs = phase_costs(base or before, after, None if base else change.cost_cents) if parts else ()
    return replace(
        change,
        costs=costs,
        price_cents=price_of_change(ledger, costs, terms_of(file.spec.rules))
        if parts and not change.unpriced
        else None,
    )


def _with_option(asked: _Asked, before: JobState) -> JobState | None:
    """The job with the option its contract has the price of, when the new file is what carries that option out, else None:
    the client pays for it by the contract already.
    """
    changes = asked.ledger.accepted.option.changes if asked.ledger.accepted else ()

    def optioned(of: JobFile) -> JobFile | None:
        try:
            return parse_job_table(with_changes(of.source, changes), of.code, house=asked.house.rules)
        except InputErrors:
            return None

    with_it, before_with_it = optioned(asked.file), optioned(before.file)
    if not changes or with_it is None or before_with_it is None or with_it.spec != asked.file.spec:
        return None
    return None if before_with_it.spec == before.file.spec else _reshaped(asked, before, before_with_it)


def _reshaped(asked: _Asked, state: JobState, file: JobFile) -> JobState:
    """The job with another file: what happened to phases and checks it keeps stays, new ones begin empty."""
    changes = in_force_changes({**asked.house.changes, **dict(file.phase_changes)}, state.phase_folds)
    phases = phases_for(file.spec, changes, state.folded_in(file.spec))
    checks = checks_for(file.spec, phases)
    facts = state.facts
    return replace(
        state,
        facts=JobFacts(facts.id, facts.code, file.title, file.client, file.site, file.crew, file.start, facts.rev),
        file=file,
        phases=phases,
        checks=checks,
        phase_folds={phase.key: state.phase_folds.get(phase.key, PhaseFold()) for phase in phases},
        check_folds={check.key: state.check_folds.get(check.key, CheckFold()) for check in checks},
        prices=own_prices(file, asked.prices),
    )


def _opened_again(state: JobState, keys: Sequence[str]) -> JobState:
    """The job with signed-off phases under way again."""
    again = {key: replace(state.phase_folds[key], state=PhaseState.UNDER_WAY, signed_off=None) for key in keys}
    return replace(state, phase_folds={**state.phase_folds, **again})


def _standing(state: JobState) -> Standing:
    lines = wanted(state)
    return Standing(
        material_cents=sum(line.cost_cents or 0 for line in lines),
        crew_days_tenths=crew_days_tenths(state),
        last_day=max(span.end for span in state.plan.values()),
        hand_over=state.hand_over_day,
        unpriced=tuple(dict.fromkeys(line.item for line in lines if line.cost_cents is None)),
        proven=state.planned.proven,
    )


def _facts(before: JobFile, after: JobFile) -> tuple[str, ...]:
    """What differs besides the spec, in words."""
    pairs = (
        ("title", before.title, after.title), ("client", before.client, after.client),
        ("site", before.site, after.site), ("crew", before.crew, after.crew),
        ("start", before.start.isoformat(), after.start.isoformat()),
        ("unit", before.unit.value, after.unit.value),
    )  # fmt: skip
    said = [f"{what} {clean(old) or 'none'} is now {clean(new) or 'none'}" for what, old, new in pairs if old != new]
    differs = (
        ("prices", before.prices != after.prices),
        ("rules", before.spec.rules != after.spec.rules),
        ("phases", before.phase_changes != after.phase_changes),
        ("lot", before.lots != after.lots),
    )
    return (*said, *(f"{_PARTS[key]} changed" for key, changed in differs if changed))


def _by_item(lines: tuple[Wanted, ...]) -> dict[str, list[Wanted]]:
    out: defaultdict[str, list[Wanted]] = defaultdict(list)
    for line in lines:
        out[line.item].append(line)
    return out


def _items(before: JobState, after: JobState) -> tuple[ItemChange, ...]:
    """The items whose need or cost differs, or of which more is then there than needed."""
    old, new = _by_item(wanted(before)), _by_item(wanted(after))
    used: Counter[str] = Counter()
    on_hand: Counter[str] = Counter()
    on_order: Counter[str] = Counter()
    for lot in before.lots:
        used[lot.item] += lot.fold.used
        on_hand[lot.item] += lot.fold.usable
        on_order[lot.item] += lot.fold.on_order
    out: list[ItemChange] = []
    for item in dict.fromkeys([*old, *new]):
        was = sum(line.quantity for line in old.get(item, ()))
        now = sum(line.quantity for line in new.get(item, ()))
        was_cents, now_cents = _cents(old.get(item, [])), _cents(new.get(item, []))
        if (was, was_cents) == (now, now_cents):
            continue
        there = used[item] + on_hand[item] + on_order[item]
        short = max(now - there, 0) - max(was - there, 0)
        spare = max(max(there - now, 0) - max(there - was, 0), 0)
        cancel = min(spare, on_order[item])
        give_back = min(spare - cancel, on_hand[item])
        first = (new.get(item) or old[item])[0]
        out.append(
            ItemChange(
                item=item, title=first.title, unit=first.unit, before=was, after=now,
                used=used[item], on_hand=on_hand[item], on_order=on_order[item],
                add=max(short, 0), drop=max(-short, 0),
                cancel=cancel, give_back=give_back, built_in=spare - cancel - give_back,
                wanted_again=max(max(used[item] - was, 0) - max(used[item] - now, 0), 0),
                before_cents=was_cents, after_cents=now_cents,
            )
        )  # fmt: skip
    return tuple(sorted(out, key=lambda change: (not change.add, change.item)))


def _cents(lines: list[Wanted]) -> int | None:
    if any(line.cost_cents is None for line in lines):
        return None
    return sum(line.cost_cents or 0 for line in lines)


def _phases(before: JobState, after: JobState) -> tuple[PhaseChanged, ...]:
    old = {phase.key: phase for phase in phase_days(before)}
    new = {phase.key: phase for phase in phase_days(after)}
    titles = {phase.key: phase.title for phase in (*before.phases, *after.phases)}
    out: list[PhaseChanged] = []
    for key in sorted(titles, key=list(BY_KEY).index):
        was, now = old.get(key), new.get(key)
        days = ((was.first, was.last) if was else None, (now.first, now.last) if now else None)
        hours = (was.hours if was else 0.0, now.hours if now else 0.0)
        if days[0] != days[1] or hours[0] != hours[1]:
            out.append(PhaseChanged(key, titles[key], *days, *hours))
    return tuple(out)


def _read_again(before: JobState, after: JobState, parts: tuple[PartChange, ...]) -> tuple[ReadAgain, ...]:
    """The checks that were read or waived, and whose readings tell of a part that changed."""
    out: list[ReadAgain] = []
    for check in after.checks:
        fold = before.check_folds.get(check.key)
        if fold is None or (fold.last is None and not fold.waived_arrived):
            continue
        touched = touched_by(check.check.key, check.platform.name if check.check.per_platform else "", parts)
        if not touched:
            continue
        passes: bool | None = None
        if fold.last is not None and not check.check.from_spec:  # on whose design is for the spec it was given for
            case = after.case(check)
            try:
                answer = check.check.judge(
                    case, readings_of(check.check.form(case), fold.last.entered, before.file.unit, after.today)
                )
                passes = answer.verdict is Verdict.PASSED
            except InputError:
                passes = None
        title = check.check.title if check.key == check.check.key else f"{check.check.title}, {check.platform.name}"
        out.append(ReadAgain(check.key, title, check.phase, why_again(check.check.key, touched), passes))
    return tuple(out)


def _built(parts: tuple[PartChange, ...]) -> Mapping[str, str]:
    """By phase, in words, the parts it built that change."""
    touched: defaultdict[str, list[PartChange]] = defaultdict(list)
    for part in parts:
        for phase in BUILT_BY.get(part.part, ()):
            spared = phase in _NEW_GROUND_ONLY and part.part in (Part.OUTLINE, Part.PLATFORM) and not part.new_ground
            touched[phase] += [part] * (not spared)
    return {phase: changed_parts(found) for phase, found in touched.items() if found}


def _reopened(
    before: JobState,
    after: JobState,
    again: set[str],
    new: set[str],
    parts: tuple[PartChange, ...],
    more: bool,
) -> tuple[tuple[str, str, str], ...]:
    """Signed-off phases that built what changes, whose checks are to be read again or new, or that more material comes for."""
    out: list[tuple[str, str, str]] = []
    built = _built(parts)
    for phase in after.phases:
        fold = before.phase_folds.get(phase.key)
        if fold is None or fold.state is not PhaseState.SIGNED_OFF:
            continue
        mine = [check.key for check in after.checks if check.phase == phase.key]
        why = [f"{key} is to be read again" for key in mine if key in again]
        why += [f"{key} is new" for key in mine if key in new]
        if phase.key in built and not why:
            why.append(f"{built[phase.key]} changed")
        if phase.key == "delivery" and not why and more:
            why.append("more material comes")
        if why:
            out.append((phase.key, phase.title, ", ".join(why)))
    return tuple(out)


def _warnings(
    before: JobState,
    after: JobState,
    parts: tuple[PartChange, ...],
    items: tuple[ItemChange, ...],
    again: tuple[ReadAgain, ...],
) -> tuple[str, ...]:
    said: list[str] = []
    if any(check.key == MARKED for check in again):
        said.append("do not dig outside of the marked ground before a new ticket is good")
    built = _built(parts)
    begun = [p for p in before.phases if p.key in built and before.begun(p.key)]
    for state in (PhaseState.SIGNED_OFF, PhaseState.UNDER_WAY, PhaseState.HELD):
        titles = [phase.title for phase in begun if before.phase_folds[phase.key].state is state]
        if titles:
            said.append(f"{state.value} already, and may stand as it was: {listing(titles, 'and')}")
    for phase in before.phases:
        if phase.key not in after.phase_by_key and before.begun(phase.key):
            said.append(f"{phase.title} is {before.phase_state(phase.key).value} and no longer part of the job")
    built_in = [f"{item.built_in} {clean(item.title)}" for item in items if item.built_in]
    if built_in:
        said.append(f"built in already and not needed any more: {listing(built_in, 'and')}")
    permit = before.check_states.get("permit")
    if permit is not None and permit is not CheckState.OPEN and touched_by("permit", "", parts):
        said.append("the permit was given for the old drawings: ask the office whether it covers the change")
    if unpriced := Gaps(tuple(sorted(x.item for x in items if x.after > x.before and x.after_cents is None))):
        said.append(unpriced.named)
    return (*said, *(looks_wrong(after.file.spec) if after.design_fails else ()))
