"""Crew hours: logged by anybody known, corrected by new entries, and what finished phases really took.

What an entry's body holds stands in ``worked``.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from sqlmodel import Session, col, select

from tracker.book.aftercare import handed_over_ids
from tracker.book.entries import Draft, Entry, append
from tracker.book.gates import phase_named
from tracker.book.hand import Hand
from tracker.book.load import House, load_house, load_job, load_jobs
from tracker.book.moneyread import entries_of_kind, stints_of
from tracker.book.once import once
from tracker.book.opening import Book
from tracker.book.people import known, must_waive
from tracker.book.state import JobState
from tracker.book.tables import JobRow
from tracker.book.views import NotStartedError, PhaseState, Recorded
from tracker.book.worked import HoursSummary, HoursView, PhaseHours, Stint, fold_hours, minutes_of_person
from tracker.errors import InputError, RefusedError
from tracker.planning.labour import hours_text, minutes_of
from tracker.planning.productivity import Pace, Productivity, Sample, productivity_of, units_of_work
from tracker.text import NOTE_LIMIT, accept, clean, count, listing
from tracker.trade.dates import format_day
from tracker.trade.effort import AT_PAR
from tracker.trade.phases import BY_KEY as PHASES
from tracker.trade.phases import Phase, PhaseChange, names_of
from tracker.trade.workload import quantities
from tracker.trade.worktime import DAY_MINUTES, MOST_PEOPLE, Worked, parse_hours, sensible_minutes

_FAR_OVER = 5
"""Times its estimate a phase's hours may reach before it is asked whether they are right (common practice)."""


def _log_in(
    book: Book, session: Session, hand: Hand, code: str, phase: str, day: date | None, minutes: int,
    people: int | Sequence[str], note: str, entry_id: str | None, *, corrects: int, asks: bool,
) -> Recorded:  # fmt: skip
    """Record hours; in a correction an empty phase, day or note and 0 people stay as they were there."""
    known(session, hand)
    state = load_job(book, session, code, hand.day)
    replaced = _numbered(session, state, hand, corrects) if corrects else None
    if replaced is not None:
        phase, day, note = phase or replaced.phase, day or replaced.day, note or replaced.note
    day = day or hand.day
    if day > hand.day:
        raise InputError(f"{format_day(day, hand.day)} is still to come", "hours are logged once they are worked")
    sensible_minutes(minutes)
    names, number = (replaced.names, replaced.people) if replaced and not people else _people(hand, people or 1)
    chosen = phase_named(state, phase) if phase else _at_hand(state)
    if asks and (replaced is None or replaced.phase != chosen.key) and _is_to_come(state, chosen):
        raise NotStartedError(f"{chosen.title} has not started", "if the hours are right all the same, add --anyway")
    others = [stint for stint in stints_of(session) if replaced is None or stint.id != replaced.id]
    for name in names:
        _within_a_day(others, name, day, minutes, hand.day)
    rate = replaced.rate_cents if replaced else state.file.spec.rules.figure("labour_rate")
    body = {
        "phase": chosen.key, "day": day.isoformat(), "minutes": minutes, "people": number, "names": list(names),
        "rate_cents": rate, "note": accept(note, "the note", limit=NOTE_LIMIT, empty=True),
    }  # fmt: skip
    draft = Draft("hours", body, job_id=state.facts.id, corrects=replaced.id if replaced else "")
    appended = append(session, hand, draft, entry_id)
    each = hours_text(minutes)
    added = number * minutes
    said = f"{number} x {each} = {hours_text(added)}" if number > 1 else each
    text = f"{said} on {chosen.title.lower()}, {format_day(day, hand.day)}"
    return Recorded(appended.id, False, text, (*appended.notices, *_far_over(state, others, chosen, added)))


def _far_over(state: JobState, others: Sequence[Stint], phase: Phase, added: int) -> tuple[str, ...]:
    """A word when these hours bring a phase far over its estimate: a slip of the keys is told while it is fresh."""
    estimate = minutes_of(phase.effort, quantities(state.file.spec))
    before = sum(s.total_minutes for s in others if s.job_id == state.facts.id and s.phase == phase.key)
    if not estimate or before + added <= _FAR_OVER * estimate or before > _FAR_OVER * estimate:
        return ()
    in_all = f"{hours_text(before + added)} in all"
    return (f"{in_all}, {hours_text(estimate)} estimated: if that is not so, take the entry back and type it again",)


def log_text(
    book: Book, hand: Hand, code: str, text: str, day: date | None = None, names: Sequence[str] = (),
    phase: str = "", *, corrects: int = 0, asks: bool = False, entry_id: str | None = None,
) -> Recorded:  # fmt: skip
    """Record hours from words as a crew lead types them: ``6 h frame``, ``3 x 7h30 yesterday``; a note after a comma.

    ``names`` are those who worked; with none it is the signer, alone or as one of as many as the text says. ``phase`` is
    where they go when the text names none, and the phase at hand when neither does. ``corrects`` is the number of the entry
    this one takes the place of: phase, day, people and note that are not typed stay as they were there, and so does the
    rate. Where it ``asks``, NotStartedError is raised for crew work that has not started and is not what comes next: a slip, most
    likely. Raises InputError for words that are no hours, a day to come or more than a day's minutes, RefusedError when
    somebody would have worked more than 24 hours that day.
    """
    with book.writing() as session:
        return log_text_in(book, session, hand, code, text, day, names, phase, entry_id, corrects=corrects, asks=asks)


@once("hours")
def log_text_in(
    book: Book, session: Session, hand: Hand, code: str, text: str, day: date | None = None, names: Sequence[str] = (),
    phase: str = "", entry_id: str | None = None, *, corrects: int = 0, asks: bool = False,
) -> Recorded:  # fmt: skip
    """``log_text`` inside the caller's transaction."""
    worked = parse_hours(text, hand.day)
    if day and worked.day and day != worked.day:
        raise InputError(
            f"{format_day(day, hand.day)} is given and {format_day(worked.day, hand.day)} is typed", "name one day"
        )
    phase, day, people = worked.phase or phase, day or worked.day, _who(worked, names)
    return _log_in(
        book,
        session,
        hand,
        code,
        phase,
        day,
        worked.minutes,
        people,
        worked.note,
        entry_id,
        corrects=corrects,
        asks=asks,
    )


def _who(worked: Worked, names: Sequence[str]) -> int | Sequence[str]:
    if not names:
        return worked.people
    if worked.people not in (0, len(names)):
        raise InputError(
            f"{worked.people} people and {count(len(names), 'name')}", "name all of them, or give the number alone"
        )
    return names


def _people(hand: Hand, people: int | Sequence[str]) -> tuple[tuple[str, ...], int]:
    if isinstance(people, int):
        if not 1 <= people <= MOST_PEOPLE:
            raise InputError(f"{people} people is no crew", f"give 1 to {MOST_PEOPLE}")
        return (hand.who,), people
    names = tuple(accept(name, "the name of who worked") for name in people)
    if not names or len({name.casefold() for name in names}) < len(names):
        raise InputError("a name is missing or is there twice", "name each person once")
    return names, len(names)


def _is_to_come(state: JobState, phase: Phase) -> bool:
    """Whether a phase is crew work that has not started, and not the next to start."""
    return not phase.office and phase != state.current and state.phase_state(phase.key) is PhaseState.AHEAD


def _at_hand(state: JobState) -> Phase:
    if state.current is None:
        keys = listing([phase.key for phase in state.phases], "and")
        raise InputError(f"every phase of {state.facts.code} is signed off: name the one", f"it has {keys}")
    return state.current


def _within_a_day(stints: Iterable[Stint], name: str, day: date, minutes: int, today: date) -> None:
    there = minutes_of_person(stints, name, day)
    if there + minutes > DAY_MINUTES:
        raise RefusedError(
            f"{clean(name)} has {hours_text(there)} on {format_day(day, today)} already: with {hours_text(minutes)} more "
            "that is over 24 hours",
            "name who worked if it was somebody else, or take the wrong entry back",
        )


def _numbered(session: Session, state: JobState, hand: Hand, number: int) -> Stint:
    """The entry of that number, which the hand made or may change as the owner."""
    mine = fold_hours(entries_of_kind(session, "hours", [state.facts.id]))
    found = next((stint for stint in mine if stint.number == number), None)
    if found is None:
        numbers = listing([str(stint.number) for stint in mine], "and")
        raise InputError(
            f"{state.facts.code} has no hours entry {number}", f"it has {numbers}" if numbers else "it has none yet"
        )
    if found.who != hand.who:
        must_waive(session, hand, f"change what {clean(found.who)} logged")
    return found


def take_back_hours(
    book: Book, hand: Hand, code: str, number: int, why: str, *, entry_id: str | None = None
) -> Recorded:
    """Take an hours entry back: by who made it, or who may waive. It stays in the book and counts no more."""
    with book.writing() as session:
        return _take_back_in(book, session, hand, code, number, why, entry_id)


@once("hours taken back")
def _take_back_in(
    book: Book, session: Session, hand: Hand, code: str, number: int, why: str, entry_id: str | None
) -> Recorded:  # fmt: skip
    known(session, hand)
    state = load_job(book, session, code, hand.day)
    found = _numbered(session, state, hand, number)
    return _take_back(session, hand, found, accept(why, "the reason", limit=NOTE_LIMIT), entry_id)


def take_back_stint(
    session: Session, hand: Hand, entry: Entry, why: str, entry_id: str | None
) -> Recorded:  # fmt: skip
    """``take_back_hours`` of an entry that stands, inside the caller's transaction."""
    found = next(s for s in fold_hours(entries_of_kind(session, "hours", [entry.job_id])) if s.id == entry.id)
    if found.who != hand.who:
        must_waive(session, hand, f"change what {clean(found.who)} logged")
    return _take_back(session, hand, found, why, entry_id)


def _take_back(session: Session, hand: Hand, found: Stint, why: str, entry_id: str | None) -> Recorded:
    draft = Draft("hours", {"what": "taken back", "why": why}, job_id=found.job_id, corrects=found.id)
    done = append(session, hand, draft, entry_id)
    text = f"entry {found.number} taken back: {hours_text(found.total_minutes)} on {found.phase}, {format_day(found.day, hand.day)}"
    return Recorded(done.id, False, text, done.notices)


def hours_of(book: Book, code: str, today: date) -> HoursView:
    """The hours of a job, by phase and day."""
    with book.reading() as session:
        state = load_job(book, session, code, today)
        stints = stints_of(session, [state.facts.id])
    return _view(state, stints)


def _view(state: JobState, stints: Sequence[Stint]) -> HoursView:
    work = quantities(state.file.spec)
    titles = {phase.key: phase.title for phase in state.phases}
    planned = {phase.key: minutes_of(phase.effort, work) for phase in state.phases}
    rows = []
    for key in dict.fromkeys((*titles, *(stint.phase for stint in stints))):
        mine = [stint for stint in stints if stint.phase == key]
        minutes, cents = sum(s.total_minutes for s in mine), sum(s.cents for s in mine)
        if minutes or planned.get(key, 0):
            rows.append(
                PhaseHours(
                    key, titles.get(key, key), minutes, planned.get(key, 0), cents, key in titles and state.signed(key)
                )
            )
    current = state.current
    return HoursView(
        state.facts.code,
        state.facts.title,
        tuple(rows),
        tuple(sorted(stints, key=lambda stint: (stint.day, stint.number))),
        current.key if current else "",
        current.title if current else "",
        state.today,
        titles,
        frozenset(name for phase in state.phases for name in names_of(phase)),
    )


def hours_summary(book: Book, today: date) -> HoursSummary:
    """The hours of every job that has any, and hours for each unit of work of finished phases."""
    with book.reading() as session:
        states, stints, house = _with_hours(book, session, today)
        pace = _pace(states, stints, house, handed_over_ids(session))
    views = tuple(_view(state, stints[state.facts.id]) for state in states)
    return HoursSummary(views, _productivity(states, stints, house), pace)


def productivity(book: Book, today: date) -> tuple[Productivity, ...]:
    """Hours for each unit of work of every phase that some job signed off and logged hours on, in template order."""
    with book.reading() as session:
        states, stints, house = _with_hours(book, session, today)
    return _productivity(states, stints, house)


def paces(book: Book, session: Session, today: date) -> tuple[Fraction, ...]:
    """Of every job handed over, hours worked over hours estimated, of the signed-off phases that have both."""
    states, stints, _ = _with_hours(book, session, today)
    found = (_worked_of(state, stints[state.facts.id], state.phases) for state in states if state.handed_over)
    return tuple(took.ratio for took in found if took.ratio is not None)


@dataclass(frozen=True, slots=True)
class _Took:
    """Hours of a job's signed-off phases over their estimate; ``without`` counts those that have an estimate and no hours."""

    minutes: int
    estimated: int
    without: int

    @property
    def ratio(self) -> Fraction | None:
        return Fraction(self.minutes, self.estimated) if self.estimated else None


def _logged(stints: Iterable[Stint]) -> Counter[str]:
    """Person-minutes by phase."""
    logged: Counter[str] = Counter()
    for stint in stints:
        logged[stint.phase] += stint.total_minutes
    return logged


def _worked_of(state: JobState, stints: Sequence[Stint], phases: Iterable[Phase]) -> _Took:
    """What ``phases`` took, each by its effort as given; one without hours counts on neither side, nor does one not done."""
    work, logged = quantities(state.file.spec), _logged(stints)
    done = [(logged[phase.key], minutes_of(phase.effort, work)) for phase in phases if state.signed(phase.key)]
    both = [(worked, planned) for worked, planned in done if worked and planned]
    return _Took(
        sum(worked for worked, _ in both),
        sum(planned for _, planned in both),
        sum(1 for worked, planned in done if planned and not worked),
    )


def _pace(
    states: Sequence[JobState], stints: Mapping[str, Sequence[Stint]], house: House, handed_over: Iterable[str]
) -> Pace:
    """The pace that the decks handed over tell, over the planning figures at par; phases whose hours somebody set himself say
    nothing of it.
    """
    found = []
    for state in states:
        if state.handed_over:
            changes = {**house.changes, **dict(state.file.phase_changes)}
            by_figures = [
                replace(phase, effort=phase.effort.at(AT_PAR))
                for phase in state.phases
                if not changes.get(phase.key, PhaseChange()).sets_hours
            ]
            found.append(_worked_of(state, stints[state.facts.id], by_figures))
    none = sum(1 for job in handed_over if not stints.get(job))
    return Pace(
        tuple(took.ratio for took in found if took.ratio is not None),
        Fraction(house.rules.figure("pace"), AT_PAR),
        house.rules.figure("hours_few"),
        sum(took.without for took in found if took.ratio is not None),
        none + sum(1 for took in found if took.ratio is None),
    )


def _with_hours(
    book: Book, session: Session, today: date
) -> tuple[list[JobState], defaultdict[str, list[Stint]], House]:
    stints: defaultdict[str, list[Stint]] = defaultdict(list)
    for stint in stints_of(session):
        stints[stint.job_id].append(stint)
    rows = session.exec(select(JobRow).where(col(JobRow.id).in_(list(stints))).order_by(col(JobRow.code))).all()
    return load_jobs(book, session, rows, today), stints, load_house(session)


def _productivity(
    states: Sequence[JobState], stints: Mapping[str, Sequence[Stint]], house: House
) -> tuple[Productivity, ...]:
    few = house.rules.figure("hours_few")
    samples: defaultdict[str, list[Sample]] = defaultdict(list)
    planned: defaultdict[str, int] = defaultdict(int)
    phases: dict[str, Phase] = {}
    for state in states:
        work, logged = dict(quantities(state.file.spec)), _logged(stints[state.facts.id])
        for phase in state.phases:
            units = units_of_work(PHASES[phase.key].effort.per, work)
            minutes = logged[phase.key]
            if minutes and units and state.signed(phase.key):
                phases[phase.key] = PHASES[phase.key]
                samples[phase.key].append(Sample(state.facts.code, minutes, units))
                planned[phase.key] += minutes_of(phase.effort, work)
    return tuple(
        productivity_of(
            key, phase.title, phase.effort.per, samples[key],
            Fraction(planned[key], 60) / sum(sample.units for sample in samples[key]), few,
        )
        for key, phase in PHASES.items()
        if key in phases
    )  # fmt: skip
