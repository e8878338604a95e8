"""The check of what people climb: the flights of a stair, as built."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from tracker.errors import InputError
from tracker.text import count, listing
from tracker.trade.answer import Answer, Limit, Plain
from tracker.trade.cautions import code_decides
from tracker.trade.checks.base import Case, Check, incomplete
from tracker.trade.checks.found import Found
from tracker.trade.guards import OPENING_NM, TRIGGER_NM
from tracker.trade.lengths import INCH, Unit, format_small, format_trade, inches
from tracker.trade.places import handrail_called_for
from tracker.trade.plausible import on_the_deck, positive, right_unit
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.spec import Platform, Stairs
from tracker.trade.stairs import (
    HANDRAIL_HIGH_NM,
    HANDRAIL_LOW_NM,
    HANDRAIL_RISERS,
    LANDING_LEAST_NM,
    RISER_MOST_NM,
    SPREAD_MOST_NM,
    TREAD_LEAST_NM,
    WIDTH_LEAST_NM,
    as_built_answer,
    riser_count,
)
from tracker.trade.stairs import SOURCE as STAIR_SOURCE

_STAIR_SOURCE = f"{STAIR_SOURCE}; width, landing and open risers from memory: IRC R311.7"
_RISE_OVER_NM = 4 * INCH
"""What the risers may add up to over the planned rise, the ground not being where it was planned: a bound of this program."""
_RISE_SLACK_NM = INCH
"""A flight read to within this of its planned rise is read whole."""


def flights_by_letter(platform: Platform) -> dict[str, Stairs]:
    """Return the flights of a platform by the letter they and their steps are named with; a single flight needs none."""
    if len(platform.stairs) == 1:
        return {"": platform.stairs[0]}
    return {chr(ord("a") + number): flight for number, flight in enumerate(platform.stairs)}


def _steps(letter: str, flight: Stairs) -> list[str]:
    return [f"{letter}{step}" for step in range(1, riser_count(flight.rise_nm) + 1)]


def _stair_form(case: Case) -> Form:
    unit, flights = case.job.unit, flights_by_letter(case.platform)
    rows = [step for letter, flight in flights.items() for step in _steps(letter, flight)]
    low = flights and max(flight.rise_nm for flight in flights.values()) > TRIGGER_NM
    return Form(
        fields=(
            Field("width", "clear width", Kind.LENGTH, example=format_trade(WIDTH_LEAST_NM, unit), help="the narrowest"),
            *_handrail_fields(flights, unit),
            Field("landing", "landing", Kind.LENGTH, example=format_trade(LANDING_LEAST_NM, unit),
                  help="clear, in the direction of travel; the shorter of top and bottom"),
            Field("open", "open riser gap", Kind.LENGTH, example=format_small(7 * INCH // 2, unit),
                  help="between treads" + (", less than 4 in over 30 in of rise" if low else "") + "; 0 where risers are closed"),
        ),
        columns=(
            Field("rise", "rise", Kind.LENGTH, example=format_small(7 * INCH, unit), help="top of tread to top of tread"),
            Field("tread", "tread", Kind.LENGTH, required=False, example=format_small(TREAD_LEAST_NM + INCH // 4, unit),
                  help="nosing to nosing; none at the last step"),
        ),
        rows=tuple(rows),
        row_word="step",
        open_rows=True,
        least_rows=len(rows),
        former=(Field("handrail", "handrail height", Kind.LENGTHS),) if len(flights) > 1 else (),
    )  # fmt: skip


def _handrail_key(letter: str) -> str:
    return f"handrail-{letter}" if letter else "handrail"


def _handrail_fields(flights: Mapping[str, Stairs], unit: Unit) -> Iterator[Field]:
    """The handrail of each flight; asked where it has one or its risers call for it."""
    example = f"{format_trade(36 * INCH, unit)}; {format_trade(36 * INCH, unit)}"
    for letter, flight in flights.items():
        of = f" of flight {letter}" if letter else ""
        yield Field(_handrail_key(letter), f"handrail height{of}", Kind.LENGTHS, required=handrail_called_for(flight),
                    example=example, help="straight up from the nosings, at the top and the bottom")  # fmt: skip


def _handrail(letter: str, readings: Readings) -> tuple[int, ...]:
    """The handrail heights read on a flight; one list for all flights, as they were read before, stands for each."""
    for key in (_handrail_key(letter), _handrail_key("")):
        if isinstance(read := readings.values.get(key), tuple):
            return read
    return ()


def _judge_stair(case: Case, readings: Readings) -> Answer:
    unit, flights = case.job.unit, flights_by_letter(case.platform)
    form = _stair_form(case)
    older = {_handrail_key(letter) for letter in flights if _handrail(letter, readings)}
    wanted = [
        spec.label for spec in form.fields if spec.required and not readings.has(spec.key) and spec.key not in older
    ]  # fmt: skip
    rises: dict[str, list[int]] = {letter: [] for letter in flights}
    treads: dict[str, list[int]] = {letter: [] for letter in flights}
    for label in dict.fromkeys((*form.rows, *readings.rows)):
        letter = label[:1] if "" not in flights else ""
        if letter not in flights:
            raise InputError(f"{label[:40]!r} is no step of a flight here", f"name it like {form.rows[0]}")
        row = readings.rows.get(label, {})
        for what, into in (("rise", rises), ("tread", treads)):
            if isinstance(nm := row.get(what), int):
                positive(nm, f"{what} of step {label}", unit)
                right_unit(nm, RISER_MOST_NM if what == "rise" else TREAD_LEAST_NM, f"{what} of step {label}", unit)
                into[letter].append(nm)
    for letter, flight in flights.items():
        named = f"flight {letter}" if letter else "the flight"
        on_the_deck(
            sum(rises[letter]), flight.rise_nm + _RISE_OVER_NM, f"the risers of {named} together,",
            f"a rise of {format_trade(flight.rise_nm, unit)}", unit,
        )  # fmt: skip
        wanted += _still(letter, flight, rises[letter], treads[letter], unit)
    if wanted:
        return incomplete(listing(wanted, "and"), source=_STAIR_SOURCE)
    found = Found()
    answers: dict[str, Plain] = {}
    for letter in flights:
        answers[letter or "flight"] = _flight(letter, rises[letter], treads[letter], found, unit)
        _rail(letter, len(rises[letter]), _handrail(letter, readings), found, unit)
    _around(readings, max(sum(found_rises) for found_rises in rises.values()), found, unit)
    handrail = f"{format_trade(HANDRAIL_LOW_NM, unit)} to {format_trade(HANDRAIL_HIGH_NM, unit)}"
    return found.verdict(
        f"{count(sum(len(r) for r in rises.values()), 'riser')} even, within the rule",
        inputs={"width_in": inches(readings.whole("width"))},
        answer=answers,
        source=_STAIR_SOURCE,
        limits=(
            Limit("between risers of a flight", format_small(SPREAD_MOST_NM, unit), STAIR_SOURCE),
            Limit("riser at the most", format_small(RISER_MOST_NM, unit), STAIR_SOURCE),
            Limit("tread at the least", format_small(TREAD_LEAST_NM, unit), STAIR_SOURCE),
            Limit("clear width at the least", format_small(WIDTH_LEAST_NM, unit), "from memory: IRC R311.7.1"),
            Limit(f"handrail from {HANDRAIL_RISERS} risers on", handrail, STAIR_SOURCE),
        ),
        caution=code_decides(STAIR_SOURCE),
    )


def _still(letter: str, flight: Stairs, rises: Sequence[int], treads: Sequence[int], unit: Unit) -> list[str]:
    """Which steps of a flight are still to be read; a flight built with fewer steps is whole when its rise is."""
    steps = _steps(letter, flight)
    if len(rises) < len(steps) and sum(rises) < flight.rise_nm - _RISE_SLACK_NM:
        read, whole = format_trade(sum(rises), unit), format_trade(flight.rise_nm, unit)
        return [f"the rise of every step of {f'flight {letter}' if letter else 'the flight'} ({read} of {whole} read)"]
    if len(treads) < len(rises) - 1:
        return [f"the tread of every step but the last of {f'flight {letter}' if letter else 'the flight'}"]
    return []


def _flight(letter: str, rises: Sequence[int], treads: Sequence[int], found: Found, unit: Unit) -> Plain:
    """One flight against the rule; its figures."""
    name = f"flight {letter}: " if letter else ""
    if len(rises) == 1:
        if rises[0] > RISER_MOST_NM:
            found.fault(
                f"{name}the step is {format_small(rises[0], unit)} high",
                f"{name}add a step: {format_small(RISER_MOST_NM, unit)} is the most",
            )
        return {"risers": 1, "riser_spread_in": 0.0, "tallest_in": inches(rises[0])}
    told = as_built_answer(rises, treads, unit=unit)
    found.working += [f"{name}{line}" for line in told.working]
    for move in told.moves:
        found.fault(f"{name}{move.partition(':')[0]}", f"{name}{move}")
    return {"risers": len(rises), **told.answer}


def _rail(letter: str, risers: int, rails: Sequence[int], found: Found, unit: Unit) -> None:
    """The handrail of one flight against the rule."""
    of = f" of flight {letter}" if letter else ""
    for nm in rails:
        positive(nm, f"the handrail's height{of}", unit)
        right_unit(nm, HANDRAIL_LOW_NM, f"the handrail's height{of}", unit)
        if not HANDRAIL_LOW_NM <= nm <= HANDRAIL_HIGH_NM:
            found.fault(
                f"the handrail{of} is {format_small(nm, unit)} high",
                f"set it {format_small(HANDRAIL_LOW_NM, unit)} to {format_small(HANDRAIL_HIGH_NM, unit)} above the nosings",
            )
    if risers >= HANDRAIL_RISERS and not rails:
        found.fault(f"{risers} risers{of} and no handrail", "fit a graspable handrail the length of the flight")


def _around(readings: Readings, rise_nm: int, found: Found, unit: Unit) -> None:
    """Width, landing and open risers."""
    width = readings.whole("width")
    positive(width, "the clear width", unit)
    right_unit(width, WIDTH_LEAST_NM, "the clear width", unit)
    for key, what, about in (("landing", "the landing", LANDING_LEAST_NM), ("open", "the open riser gap", OPENING_NM)):
        if readings.has(key):
            right_unit(readings.whole(key), about, what, unit)
    if width < WIDTH_LEAST_NM:
        found.fault(
            f"the stair is {format_small(width, unit)} wide",
            f"give it {format_small(WIDTH_LEAST_NM, unit)} clear (from memory: IRC R311.7.1)",
        )
    if readings.has("landing") and readings.whole("landing") < LANDING_LEAST_NM:
        found.fault(
            f"the landing is {format_small(readings.whole('landing'), unit)} deep",
            f"give it {format_small(LANDING_LEAST_NM, unit)} in the direction of travel (from memory: IRC R311.7.6)",
        )
    if readings.has("open"):
        gap = readings.whole("open")
        found.working.append(
            f"open risers: {format_small(gap, unit)}; a {format_small(OPENING_NM, unit)} ball must not pass where the"
            f" flight rises more than {format_small(TRIGGER_NM, unit)}"
        )
        if rise_nm > TRIGGER_NM and gap >= OPENING_NM:
            found.fault(
                f"a ball passes the {format_small(gap, unit)} open risers",
                f"close them to less than {format_small(OPENING_NM, unit)}",
            )


STAIR = Check(
    key="stair",
    title="Stairs",
    asks="rise and tread of every step from the landing up, the first and the last too; clear width, landing, open risers,"
    " handrail height",
    source=_STAIR_SOURCE,
    form=_stair_form,
    judge=_judge_stair,
    applies=lambda job, platform: bool(platform.stairs),
    caution=code_decides(STAIR_SOURCE),
)
