"""The deck board gap: what to leave now so that the boards drain in service and hold no heel."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tracker.text import listing
from tracker.trade.answer import Answer
from tracker.trade.checks.base import Case, Check, incomplete, verdict
from tracker.trade.lengths import INCH, MM, SIXTEENTH, SIXTY_FOURTH, Unit, format_length, format_small, inches
from tracker.trade.movement import (
    ADVICE,
    FIBRE_SATURATION_TENTHS,
    SOURCE,
    Grain,
    Movement,
    face_advice,
    find_timber,
    movement,
    wettest_tight_tenths,
)
from tracker.trade.plausible import in_reason, meter_reading, near_plan
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.spec import BoardKind, GapIntent

_ROWS = ("b1", "b2", "b3", "b4", "b5")
_LEAST_BOARDS = 3
_MAKER = "the board maker's instructions; limits: the house rules"
_HALF_64 = SIXTY_FOURTH // 2
_SCREW_CAUTION = "Drive with eye protection; kneel on pads; sweep up dropped screws before anybody walks barefoot."


def _is_wood(case: Case) -> bool:
    return case.platform.decking.kind is BoardKind.WOOD


def _form(case: Case) -> Form:
    unit, decking = case.job.unit, case.platform.decking
    planned = format_small(decking.gap_nm, unit)
    chosen = Field("chosen", "spacer chosen", Kind.LENGTH, required=False, example=planned,
                   help="0 for touching; left blank, the spacer is worked out")  # fmt: skip
    if not _is_wood(case):
        maker = Field("maker", "gap the board maker asks for", Kind.LENGTH, example=planned,
                      help="side to side, from the sheet in the bundle")  # fmt: skip
        return Form(fields=(maker, chosen))
    return Form(
        fields=(
            Field("width", "board width measured", Kind.LENGTH, required=False,
                  example=format_length(decking.width_nm, unit), help="left blank, the dressed width is used"),
            chosen,
            Field("grain", "grain", Kind.CHOICE, required=False, choices=tuple(Grain), example="flat",
                  help="rings on the end: lying flat, or standing on edge; left blank, flat"),
            Field("species", "species", Kind.TEXT, required=False, example=decking.species,
                  help="only when the boards are not the species of the job"),
        ),
        columns=(Field("moisture", "moisture", Kind.PERCENT, example="18.5"),),
        rows=_ROWS,
        row_word="board",
        open_rows=True,
        least_rows=_LEAST_BOARDS,
    )  # fmt: skip


def _judge(case: Case, readings: Readings) -> Answer:
    return _judge_wood(case, readings) if _is_wood(case) else _judge_composite(case, readings)


def _judge_composite(case: Case, readings: Readings) -> Answer:
    unit = case.job.unit
    if not readings.has("maker"):
        return incomplete("the gap the board maker asks for", source=_MAKER)
    maker = readings.whole("maker")
    chosen = readings.whole("chosen") if readings.has("chosen") else maker
    for nm, what in ((maker, "a maker's gap of"), (chosen, "a spacer of")):
        in_reason(nm, INCH, what, unit)
    tolerance = case.rules.figure("gap_tolerance")
    off = abs(chosen - maker)
    passed = off <= tolerance
    leave = f"leave {format_small(maker, unit)} between boards, as their maker asks"
    off_text = f"a {format_small(chosen, unit)} spacer where the maker asks {format_small(maker, unit)}"
    return verdict(
        passed,
        leave if passed else off_text,
        inputs={"maker_in": inches(maker), "chosen_in": inches(chosen)},
        answer={"spacer_in": inches(maker), "off_in": inches(off)},
        working=[
            "composite hardly moves with moisture; heat moves its length: mind the maker's end gaps too",
            f"spacer {format_small(chosen, unit)} against {format_small(maker, unit)}: {format_small(off, unit)} off",
        ],
        source=_MAKER,
        moves=[leave] if passed else [f"set the boards with a {format_small(maker, unit)} spacer"],
        limits=[case.rules.limit("gap_tolerance", unit)],
    )


def spacer_between(low_nm: int, high_nm: int, ideal_nm: int, unit: Unit) -> int | None:
    """The spacer nearest to the ideal between two bounds, in whole 1/16 in or mm; None when none lies between."""
    step = SIXTEENTH if unit is Unit.INCH else MM
    fits = range(-(-max(0, low_nm) // step) * step, high_nm + 1, step)
    return min(fits, key=lambda nm: abs(nm - ideal_nm)) if fits else None


@dataclass(frozen=True, slots=True)
class _Boards:
    """The boards read: their size, wood and moistures, and what each will do on its way to service moisture."""

    width_nm: int
    species: str
    grain: str
    service_tenths: int
    moistures: Mapping[str, int]
    moved: Mapping[str, Movement]

    @property
    def swell_most_nm(self) -> int:
        """The change that closes a gap most."""
        return max(one.change_nm for one in self.moved.values())

    @property
    def swell_least_nm(self) -> int:
        """The change that opens a gap most; shrinking is negative."""
        return min(one.change_nm for one in self.moved.values())

    @property
    def mean_nm(self) -> int:
        """The mean change."""
        return round(sum(one.change_nm for one in self.moved.values()) / len(self.moved))


def _boards(case: Case, readings: Readings) -> _Boards:
    decking, unit = case.platform.decking, case.job.unit
    width = readings.whole("width") if readings.has("width") else decking.width_nm
    near_plan(width, decking.width_nm, "the board width", unit)
    species, grain = readings.word("species", decking.species), readings.word("grain", Grain.FLAT)
    service, moistures = case.job.site.service_moisture_tenths, readings.column("moisture")
    for label, tenths in moistures.items():
        meter_reading(tenths, f"the moisture of {label}")
    moved = {label: movement(width, species, now, service, grain, unit) for label, now in moistures.items()}
    return _Boards(width, species, grain, service, moistures, moved)


def _judge_wood(case: Case, readings: Readings) -> Answer:
    unit, decking, rules = case.job.unit, case.platform.decking, case.rules
    if len(readings.column("moisture")) < _LEAST_BOARDS:
        wanted = f"the moisture of at least {_LEAST_BOARDS} boards, from all over the stack"
        return incomplete(wanted, source=SOURCE)
    boards = _boards(case, readings)
    least, most = rules.figure("gap_least_service"), rules.figure("gap_most_service")
    low, high = least + boards.swell_most_nm, most + boards.swell_least_nm
    ideal = min(max(decking.gap_nm, least), most) + boards.mean_nm
    best = spacer_between(low, high, ideal, unit)
    if best is None:
        best = spacer_between(low - _HALF_64, high + _HALF_64, ideal, unit)
    if readings.has("chosen"):
        spacer = readings.whole("chosen")
        in_reason(spacer, INCH, "a spacer of", unit)
    else:
        spacer = 0 if decking.gap_intent is GapIntent.TIGHT else best or 0
    then_least, then_most = spacer - boards.swell_most_nm, spacer - boards.swell_least_nm
    passed = least - _HALF_64 <= then_least and then_most <= most + _HALF_64
    ends = dict.fromkeys(format_small(max(nm, 0), unit, 32) for nm in (then_least, then_most))
    result = f"{' to '.join(ends)} in service"
    headline = f"{_leave(spacer, unit)}: {result}"
    if not passed:
        headline = _fault(spacer, then_least, then_most, case)
    by_moisture = sorted(boards.moistures, key=boards.moistures.__getitem__)
    driest, wettest = min(boards.moistures.values()), max(boards.moistures.values())
    working = [
        f"{label} at {boards.moistures[label] / 10:g} %, to {boards.service_tenths / 10:g} %: {line}"
        for label in dict.fromkeys((by_moisture[0], by_moisture[-1]))
        for line in boards.moved[label].working
    ]
    working.append(
        f"spacer {format_small(spacer, unit)} less the change of each board: {result}"
        f"; limits {format_small(least, unit)} to {format_small(most, unit)}, judged to 1/64 in"
    )
    return verdict(
        passed,
        headline,
        inputs={
            "width_in": inches(boards.width_nm), "species": find_timber(boards.species).name,
            "grain": str(boards.grain), "service_pct": boards.service_tenths / 10,
            "moisture_pct": {label: tenths / 10 for label, tenths in boards.moistures.items()},
            "spacer_in": inches(spacer),
        },
        answer={
            "change_in": inches(boards.mean_nm),
            "gap_now_in": None if best is None else inches(best),
            "gap_least_in": inches(then_least), "gap_most_in": inches(then_most),
            "moisture_mean_pct": round(sum(boards.moistures.values()) / len(boards.moistures) / 10, 1),
            "moisture_spread_pct": (wettest - driest) / 10,
        },
        working=working,
        source=SOURCE,
        moves=[_leave(spacer, unit), face_advice(boards.mean_nm, boards.grain)] if passed else _moves(case, boards, best),
        limits=[rules.limit("gap_least_service", unit), rules.limit("gap_most_service", unit)],
        caution=ADVICE,
    )  # fmt: skip


def _leave(spacer_nm: int, unit: Unit) -> str:
    return f"leave {format_small(spacer_nm, unit)} between boards" if spacer_nm else "lay the boards touching"


def _fault(spacer_nm: int, then_least: int, then_most: int, case: Case) -> str:
    unit, rules = case.job.unit, case.rules
    laid = f"with a {format_small(spacer_nm, unit)} spacer" if spacer_nm else "laid touching"
    if then_most > rules.figure("gap_most_service") + _HALF_64:
        most = rules.text("gap_most_service", unit)
        return f"{laid}, gaps open to {format_small(then_most, unit, 32)} in service; {most} is the most"
    if then_least < 0:
        return f"{laid}, the boards swell against each other in service"
    least = rules.text("gap_least_service", unit)
    return f"{laid}, gaps come to {format_small(then_least, unit, 32)} in service; {least} is the least"


def _moves(case: Case, boards: _Boards, best: int | None) -> list[str]:
    """What to do when the spacer fails: another spacer, or dry the wet boards, or sort them."""
    if best is not None:
        return [_leave(best, case.job.unit), face_advice(boards.mean_nm, boards.grain)]
    most = case.rules.figure("gap_most_service")
    top = wettest_tight_tenths(boards.width_nm, boards.species, boards.service_tenths, most, boards.grain)
    if wet := [label for label, tenths in boards.moistures.items() if min(tenths, FIBRE_SATURATION_TENTHS) > top]:
        return [f"let {listing(wet, 'and')} dry to {top / 10:g} %: laid touching now they still open too far"]
    low, high = min(boards.moistures.values()) / 10, max(boards.moistures.values()) / 10
    return [f"sort the boards by the meter ({low:g} to {high:g} %) and give each pile its own spacer"]


GAP = Check(
    key="gap",
    title="Deck board gap",
    asks="put the meter in at least three boards from all over the stack; measure the width of one",
    source=SOURCE,
    form=_form,
    judge=_judge,
    caution=ADVICE,
)
