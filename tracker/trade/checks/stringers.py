"""The check of stringers before treads hide them: run, spacing, throat, bearing and how they are held, flight by flight."""

from __future__ import annotations

from tracker.text import listing
from tracker.trade.answer import Answer, Limit, Plain
from tracker.trade.cautions import code_decides
from tracker.trade.checks.base import Case, Check, incomplete
from tracker.trade.checks.climb import flights_by_letter
from tracker.trade.checks.found import Found, missing
from tracker.trade.framing import JOIST_BEARING, TREAD_RUN
from tracker.trade.lengths import FOOT, INCH, Unit, format_length, format_small, format_trade, inches
from tracker.trade.lumber import dressed
from tracker.trade.plausible import in_reason, on_the_deck, right_unit
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.rules import COMMON
from tracker.trade.spec import BoardKind, JobSpec, Platform, Stairs
from tracker.trade.stairs import (
    CUT_STRINGER_RUN_MOST_NM,
    SOLID_STRINGER_RUN_MOST_NM,
    THROAT_LEAST_NM,
    riser_count,
    stringer_spacing_nm,
)

CUT, SOLID = "cut", "solid"
STRINGER_SOURCE = "from memory: DCA 6 stair section, 2x12 stringers of southern pine"
BEARING_SOURCE = "IRC 2018 R507.6.1 as quoted, on wood or metal"
_SOURCE = (
    f"{STRINGER_SOURCE}; bearing: {BEARING_SOURCE}; under composite treads 12 in, {COMMON}: the board's maker decides"
)
_TREAD_MOST_NM = 3 * FOOT
"""The deepest tread a run is reckoned with, a bound of this program."""


def _flights(platform: Platform) -> dict[str, Stairs]:
    """The flights that have treads, and so stringers, by their letter; ``flight`` where the platform has one flight."""
    flights = flights_by_letter(platform)
    return {letter or "flight": flight for letter, flight in flights.items() if _treads(flight)}


def _treads(flight: Stairs) -> int:
    return riser_count(flight.rise_nm) - 1


def _spacing(platform: Platform) -> int:
    return stringer_spacing_nm(composite=platform.decking.kind is BoardKind.COMPOSITE)


def _form(case: Case) -> Form:
    unit, flights = case.job.unit, _flights(case.platform)
    run = max((_treads(flight) for flight in flights.values()), default=1) * TREAD_RUN
    metric = unit is Unit.MM
    return Form(
        fields=(
            Field("held", "held by hangers or connectors", Kind.YESNO, example="yes",
                  help="at the top, every stringer, every hole filled; toenails or a ledger strip alone are none; the lower end is held too"),
        ),
        columns=(
            Field("made", "made", Kind.CHOICE, choices=(CUT, SOLID), example=CUT if run <= CUT_STRINGER_RUN_MOST_NM else SOLID,
                  help="cut: notched for the steps; solid: treads on brackets or cleats"),
            Field("run", "run", Kind.LENGTH, example="2100" if metric else format_length(run, unit),
                  help="level, from the face of the first riser to the deck, or to the post or landing between"),
            Field("apart", "apart", Kind.LENGTH, example=format_small(_spacing(case.platform), unit),
                  help="on center, the widest"),
            Field("throat", "throat", Kind.LENGTH, required=False, example=format_small(11 * INCH // 2, unit),
                  help="wood left below the notches, the least; only of cut ones"),
            Field("bearing", "bearing", Kind.LENGTH, example=format_small(7 * INCH // 2, unit),
                  help="of a stringer's lower end on what it stands on, and of its top; the lesser"),
        ),
        rows=tuple(flights),
        row_word="flight",
        least_rows=len(flights),
    )  # fmt: skip


def _judge(case: Case, readings: Readings) -> Answer:
    unit, platform, flights = case.job.unit, case.platform, _flights(case.platform)
    wanted = missing(_form(case), readings)
    made = {name: str(readings.rows.get(name, {}).get("made", "")) for name in flights}
    throats = readings.column("throat")
    wanted += [f"throat at {name}" for name in flights if made[name] == CUT and name not in throats]
    if wanted:
        return incomplete(listing(wanted, "and"), source=_SOURCE)
    found = Found()
    answers: dict[str, Plain] = {}
    most_apart = _spacing(platform)
    runs, apart, bearing = (readings.column(key) for key in ("run", "apart", "bearing"))
    for name, flight in flights.items():
        said = "" if name == "flight" else f"flight {name}: "
        run, solid = runs[name], made[name] == SOLID
        right_unit(run, _treads(flight) * TREAD_RUN, f"{said}the run", unit)
        most_treads = _treads(flight) + 1
        on_the_deck(
            run, most_treads * _TREAD_MOST_NM, f"{said}a run of", f"a rise of {format_trade(flight.rise_nm, unit)}", unit,
            least_nm=INCH,
        )  # fmt: skip
        in_reason(apart[name], 2 * flight.width_nm, f"{said}stringers apart", unit, least_nm=INCH)
        in_reason(bearing[name], 3 * FOOT, f"{said}a bearing of", unit)
        most = SOLID_STRINGER_RUN_MOST_NM if solid else CUT_STRINGER_RUN_MOST_NM
        found.working.append(
            f"{said}{made[name]} stringers run {format_length(run, unit)}, {format_length(most, unit)} at the most;"
            f" {format_small(apart[name], unit)} apart, {format_small(most_apart, unit)} at the most"
        )
        if run > most:
            found.fault(
                f"{said}{made[name]} stringers run {format_length(run, unit)}",
                f"{said}put a post or a landing between" + ("" if solid else ", or take solid stringers"),
            )
        if apart[name] > most_apart:
            found.fault(
                f"{said}stringers {format_small(apart[name], unit)} apart",
                f"{said}set one more between: {format_small(most_apart, unit)} on center is the most"
                f"{' under composite treads' if platform.decking.kind is BoardKind.COMPOSITE else ''}",
            )
        if not solid:
            in_reason(throats[name], dressed("2x12").depth_nm, f"{said}a throat of", unit)
            if throats[name] < THROAT_LEAST_NM:
                found.fault(
                    f"{said}{format_small(throats[name], unit)} of wood below the notches",
                    f"{said}change that stringer, or take solid ones: {format_small(THROAT_LEAST_NM, unit)} must be left",
                )
        if bearing[name] < JOIST_BEARING:
            found.fault(
                f"{said}a stringer bears on {format_small(bearing[name], unit)}",
                f"{said}give its ends {format_small(JOIST_BEARING, unit)} of full bearing, held by a connector",
            )
        answers[name] = {
            "made": made[name], "run_in": inches(run), "run_most_in": inches(most), "apart_in": inches(apart[name]),
            "throat_in": inches(throats[name]) if name in throats else None, "bearing_in": inches(bearing[name]),
        }  # fmt: skip
    if not readings.yes("held"):
        found.fault(
            "stringers are not held by hangers or connectors", "hang every stringer in a connector, every hole filled"
        )
    composite = platform.decking.kind is BoardKind.COMPOSITE
    return found.verdict(
        f"stringers of {'the flight' if len(flights) == 1 else f'{len(flights)} flights'} within the rule",
        inputs={"composite_treads": composite, "apart_most_in": inches(most_apart)},
        answer=answers,
        source=_SOURCE,
        limits=(
            Limit("run of cut stringers", format_length(CUT_STRINGER_RUN_MOST_NM, unit), STRINGER_SOURCE),
            Limit("run of solid stringers", format_length(SOLID_STRINGER_RUN_MOST_NM, unit), STRINGER_SOURCE),
            Limit(
                "stringers on center", format_small(most_apart, unit),
                f"{COMMON}: the board's maker decides" if composite else STRINGER_SOURCE,
            ),
            Limit("wood below the notches", format_small(THROAT_LEAST_NM, unit), STRINGER_SOURCE),
            Limit("bearing of a stringer", format_small(JOIST_BEARING, unit), BEARING_SOURCE),
        ),
        caution=code_decides(STRINGER_SOURCE) + " Keep people off the stair until its treads and rails stand.",
    )  # fmt: skip


def has_stringers(job: JobSpec, platform: Platform) -> bool:
    """Whether a flight of the platform has treads on stringers."""
    return bool(_flights(platform))


STRINGERS = Check(
    key="stringers",
    title="Stringers",
    asks="each flight's stringers before the treads go on: cut or solid, run, widest spacing, throat, bearing, how they are held",
    source=_SOURCE,
    form=_form,
    judge=_judge,
    applies=has_stringers,
    caution=code_decides(STRINGER_SOURCE),
)
