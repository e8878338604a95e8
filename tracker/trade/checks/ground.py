"""The checks of the ground made ready: what was stripped, and the cloth and stone that pads stand on."""

from __future__ import annotations

from tracker.text import listing
from tracker.trade.answer import Answer, Limit
from tracker.trade.checks.base import Case, Check, incomplete
from tracker.trade.checks.fall import drainage_nm, judge_fall, read_fall, run_example
from tracker.trade.checks.found import Found, missing
from tracker.trade.lengths import INCH, format_length, format_small, inches
from tracker.trade.plausible import in_reason
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.rules import COMMON
from tracker.trade.spec import Ground, JobSpec, Platform, Support
from tracker.trade.supplies import GOODS, stone_nm

LIFT_MOST_NM = 4 * INCH
"""Stone put down at once under a small plate compactor (common practice)."""
_SOURCE = f"{COMMON} (limits: the house rules)"
_STRIP_CAUTION = (
    "Stripping is digging: locate first, hand-dig beside the marks, and know that they say nothing of depth. Lift with the legs;"
    " wet sod is heavy."
)
_BASE_CAUTION = "Plate compactor: feet and cords clear, ears protected; wet the stone, its dust is silica."
_DEEP_NM = 36 * INCH
"""Deeper than anything stripped or laid under a deck of this kind, a bound of this program."""


def _cloth(case: Case) -> tuple[Field, ...]:
    lap = GOODS[case.job.unit].lap
    return (
        Field("lap", "lap of the cloth", Kind.LENGTH, example=format_small(lap, case.job.unit),
              help="where two strips meet, the least; a cloth of one piece: its width past the frame"),
        Field("cloth", "cloth whole and pinned", Kind.YESNO, example="yes", help="no tear, no fold, out to the edges"),
    )  # fmt: skip


def _strip_form(case: Case) -> Form:
    unit = case.job.unit
    return Form(
        fields=(
            Field("depth", "stripped, least depth", Kind.LENGTH, example=format_small(4 * INCH, unit),
                  help="sod, roots and topsoil, in several places"),
            Field("organics", "no sod, roots or topsoil left", Kind.YESNO, example="yes"),
            Field("firm", "firm everywhere", Kind.YESNO, example="yes",
                  help="heel and rod find no soft spot, or it was dug out and filled with stone"),
            Field("fall", "fall of the ground", Kind.SIGNED, example=format_small(5 * INCH // 2, unit),
                  help="to where the water goes, in the run below; a minus where it falls toward the house"),
            Field("run", "in a run of", Kind.LENGTH, example=run_example(unit)),
            *(_cloth(case) if case.platform.support is Support.WOOD_BLOCKS else ()),
        )
    )  # fmt: skip


def _judge_strip(case: Case, readings: Readings) -> Answer:
    unit, rules = case.job.unit, case.rules
    if wanted := missing(_strip_form(case), readings):
        return incomplete(listing(wanted, "and"), source=_SOURCE)
    found = Found()
    depth, least = readings.whole("depth"), rules.figure("strip_depth")
    in_reason(depth, _DEEP_NM, "a stripped depth of", unit)
    drop, run = read_fall(readings, unit)
    needed = drainage_nm(run, rules)
    found.working += [
        f"stripped {format_small(depth, unit)}, at least {format_small(least, unit)}",
        f"fall {format_small(drop, unit)} in {format_length(run, unit)}; at least {format_small(round(needed), unit)}",
    ]
    if depth < least:
        found.fault(
            f"only {format_small(depth, unit)} stripped",
            f"strip {format_small(least - depth, unit)} more where it is least",
        )
    if not readings.yes("organics"):
        found.fault("sod, roots or topsoil are left", "take them out: they rot and the deck settles")
    if not readings.yes("firm"):
        found.fault("there are soft spots", "dig them out and fill with stone, compacted")
    judge_fall(drop, run, needed, found, unit)
    limits = [rules.limit("strip_depth", unit), rules.limit("drainage_fall", unit)]
    if case.platform.support is Support.WOOD_BLOCKS:
        _judge_cloth(case, readings, found, limits)
    return found.verdict(
        f"stripped {format_small(depth, unit)}, firm, falls {100 * drop / run:.1f} %",
        inputs={"run_in": inches(run)},
        answer={"depth_in": inches(depth), "fall_percent": round(100 * drop / run, 2)},
        source=_SOURCE,
        limits=limits,
        caution=_STRIP_CAUTION,
    )


def _judge_cloth(case: Case, readings: Readings, found: Found, limits: list[Limit]) -> None:
    unit = case.job.unit
    least = GOODS[unit].lap
    lap = readings.whole("lap")
    in_reason(lap, _DEEP_NM, "a lap of", unit)
    limits.append(
        Limit("lap of the cloth, as the take-off counts", format_small(least, unit), COMMON, "6 to 12 in is usual")
    )
    found.working.append(f"cloth laps {format_small(lap, unit)}, at least {format_small(least, unit)}")
    if lap < least:
        found.fault(
            f"the cloth laps {format_small(lap, unit)}",
            f"lay the strips over each other by {format_small(least, unit)}",
        )
    if not readings.yes("cloth"):
        found.fault("the cloth is torn or loose", "lay a patch over each tear, lapped all round, and pin it")


def _base_form(case: Case) -> Form:
    unit = case.job.unit
    return Form(
        fields=(
            *_cloth(case),
            Field("depth", "compacted stone, least depth", Kind.LENGTH,
                  example=format_small(stone_nm(case.job.site, unit), unit), help="dug through to the cloth, where it is least"),
            Field("lift", "thickest lift", Kind.LENGTH, example=format_small(3 * INCH, unit),
                  help="loose stone put down before the plate went over it"),
            Field("firm", "a heel leaves no print", Kind.YESNO, example="yes", help="after the last pass, at every pad"),
        )
    )  # fmt: skip


def _judge_base(case: Case, readings: Readings) -> Answer:
    unit = case.job.unit
    if wanted := missing(_base_form(case), readings):
        return incomplete(listing(wanted, "and"), source=_SOURCE)
    found = Found()
    limits: list[Limit] = []
    _judge_cloth(case, readings, found, limits)
    depth, lift, least = readings.whole("depth"), readings.whole("lift"), stone_nm(case.job.site, unit)
    in_reason(depth, _DEEP_NM, "stone so deep,", unit)
    in_reason(lift, _DEEP_NM, "a lift of", unit)
    soil = case.job.site.soil
    limits += [
        Limit(f"compacted stone (soil: {soil})", format_small(least, unit), COMMON),
        Limit("a lift of stone under a small plate compactor", format_small(LIFT_MOST_NM, unit), COMMON),
    ]
    found.working += [
        f"stone {format_small(depth, unit)}, at least {format_small(least, unit)} (soil: {soil}), as the take-off counts",
        f"thickest lift {format_small(lift, unit)}, {format_small(LIFT_MOST_NM, unit)} at the most",
    ]
    if depth < least:
        found.fault(
            f"only {format_small(depth, unit)} of stone",
            f"add {format_small(least - depth, unit)} where it is least, and compact it",
        )
    if lift > LIFT_MOST_NM:
        found.fault(
            f"stone compacted {format_small(lift, unit)} at once",
            f"rake it off to {format_small(LIFT_MOST_NM, unit)}, compact, and lay the rest in a lift of its own",
        )
    if not readings.yes("firm"):
        found.fault("the base gives under a heel", "compact it again, wetted, until a heel leaves no print")
    return found.verdict(
        f"{format_small(depth, unit)} of stone, compacted; the cloth laps {format_small(readings.whole('lap'), unit)}",
        inputs={"soil": soil, "depth_least_in": inches(least)},
        answer={"depth_in": inches(depth), "lift_in": inches(lift), "lap_in": inches(readings.whole("lap"))},
        source=_SOURCE,
        limits=limits,
        caution=_BASE_CAUTION,
    )


def _stripped(job: JobSpec, platform: Platform) -> bool:
    return platform.support is not Support.PLATFORM and job.site.ground is not Ground.READY


def _has_base(job: JobSpec, platform: Platform) -> bool:
    return platform.support is Support.BLOCKS and job.site.ground is not Ground.READY


STRIPPED = Check(
    key="stripped",
    title="Ground stripped",
    asks="how deep sod and topsoil are off, where it is least; the ground's fall; tread and rod it for soft spots",
    source=_SOURCE,
    form=_strip_form,
    judge=_judge_strip,
    applies=_stripped,
    caution=_STRIP_CAUTION,
)

BASE = Check(
    key="base",
    title="Cloth and stone",
    asks="the cloth's lap, the depth of compacted stone where it is least, the thickest lift; try it with a heel at every pad",
    source=_SOURCE,
    form=_base_form,
    judge=_judge_base,
    applies=_has_base,
    caution=_BASE_CAUTION,
)
