"""The footing check: hole, soil, frost, concrete and pour of every footing against the load it carries."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import timedelta

from tracker.errors import InputError
from tracker.text import count, listing
from tracker.trade.answer import Answer, Limit, Plain
from tracker.trade.cautions import code_decides
from tracker.trade.checks.base import Case, Check, incomplete
from tracker.trade.checks.found import Found, missing
from tracker.trade.dates import format_day
from tracker.trade.framing import PIER, UNKNOWN_SOIL
from tracker.trade.lengths import INCH, Unit, format_small, format_trade, from_inches, inches
from tracker.trade.loadpath import beam_loads
from tracker.trade.loads import (
    BAG_YIELDS_FT3,
    FT3_IN_M3,
    SOIL_BEARING_PSF,
    Footing,
    concrete_ft3,
    footing_depth_nm,
    soil_bearing_psf,
)
from tracker.trade.material import Loose
from tracker.trade.plausible import in_reason, on_the_deck, positive, right_unit
from tracker.trade.postloads import PostLoad
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.span_tables import FOOTING_TABLE
from tracker.trade.spec import JobSpec, Platform, Support

NO_BEARING = "peat, fill or mud"
DEPTH_SOURCE = "from memory: IRC R507.3.2, 12 in below undisturbed ground, and below the frost depth"
_SOURCE = (
    f"size: formula of {FOOTING_TABLE}; depth {DEPTH_SOURCE}; soil: IRC Table R401.4.1;"
    " concrete: bag makers' yield; waiting: common practice"
)
_ENGINEER = "stop and ask a soils engineer or a licensed professional before any concrete"
_DEEP_BOUND_NM = 180 * INCH
"""Deeper than any hole for a deck, a bound of this program."""
_METRIC_BAGS = {"18": 40, "23": 50, "27": 60, "36": 80}
"""Kilograms in a bag, to the pounds of the same bag."""
_TRUCK = "truck"
"""Ready-mixed: what is counted in place of bags are quarter yards, or quarter cubic meters."""
FULL_LOAD_DAYS = 7
"""Days of moist curing above 50 °F before full load (from memory: ACI 308R)."""


def on_footings(job: JobSpec, platform: Platform) -> bool:
    """Whether the platform stands on beams and footings."""
    return platform.support is Support.FOOTINGS and bool(platform.beams)


def _posts(case: Case) -> tuple[PostLoad, ...]:
    return tuple(post for beam in beam_loads(case.job, case.platform) for post in beam.posts)


def _bags(unit: Unit) -> Mapping[str, float]:
    """Cubic feet by what the bag says, or in a quarter of a truck's measure; the usual bag last."""
    pounds = _METRIC_BAGS if unit is Unit.MM else {str(lb): lb for lb in BAG_YIELDS_FT3}
    quarter = FT3_IN_M3 / 4 if unit is Unit.MM else 27 / 4
    return {_TRUCK: quarter, **{said: BAG_YIELDS_FT3[lb] for said, lb in pounds.items()}}


def _form(case: Case) -> Form:
    unit, soil = case.job.unit, case.job.site.soil
    frost, metric = case.job.site.frost_depth_nm, unit is Unit.MM
    bags, pier = tuple(_bags(unit)), format_trade(PIER[metric], unit)
    rows = tuple(post.name for post in _posts(case))
    return Form(
        fields=(
            Field("soil", "soil at the bottom", Kind.CHOICE, choices=(*SOIL_BEARING_PSF, NO_BEARING),
                  example=soil if soil in SOIL_BEARING_PSF else "clay",
                  help="sand takes in silty and clayey sand; clay takes in silt; probe it, do not guess"),
            Field("bags", "bags used in all", Kind.COUNT, example="12",
                  help=f"from a truck, the quarter {'meters' if metric else 'yards'}"),
            Field("poured", "poured on", Kind.DATE, example=case.today.isoformat()),
            Field("frost", "frost depth here", Kind.LENGTH, required=False, example=format_trade(frost, unit),
                  help="left blank, the job's figure"),
            Field("shape", "shape", Kind.CHOICE, required=False, choices=("round", "square"), example="round",
                  help="left blank, round"),
            Field("bag", f"{'kilograms' if metric else 'pounds'} in a bag", Kind.CHOICE, required=False,
                  choices=bags, example=bags[-1], help=f"left blank, {bags[-1]}; truck: ready-mixed"),
            Field("pier", "pier across", Kind.LENGTH, required=False, example=pier,
                  help=f"round, where piers stand on pads; left blank, {pier}"),
        ),
        columns=(
            Field("across", "across", Kind.LENGTH, example=format_trade(18 * INCH, unit),
                  help="diameter, or side of a square one; the narrowest"),
            Field("depth", "depth", Kind.LENGTH, example=format_trade(38 * INCH, unit),
                  help="below undisturbed ground, not from the top of mulch"),
            Field("height", "concrete height", Kind.LENGTH, required=False, example=format_trade(10 * INCH, unit),
                  help="only where the hole is not filled to the ground"),
            Field("pad", "pad thick", Kind.LENGTH, required=False, example=format_trade(10 * INCH, unit),
                  help="only where a pier narrower than the hole stands on it"),
        ),
        rows=rows,
        row_word="footing",
        least_rows=len(rows),
    )  # fmt: skip


def _required(post: PostLoad, psf: int, found: Found) -> Footing | None:
    """The least pad under a post, or None, with the fault noted, where no plain pad carries it."""
    try:
        return post.pad(psf)
    except InputError as error:
        found.fault(f"{post.name}: {error.message}", _ENGINEER)
        return None


def _judge(case: Case, readings: Readings) -> Answer:
    form, unit = _form(case), case.job.unit
    if wanted := missing(form, readings):
        return incomplete(listing(wanted, "and"), source=_SOURCE)
    found = Found()
    found.refuse_beyond(case)
    across, depth, height, pads = (readings.column(key) for key in ("across", "depth", "height", "pad"))
    pier = readings.whole("pier") if readings.has("pier") else PIER[unit is Unit.MM]
    positive(pier, "pier across", unit)
    in_reason(pier, _DEEP_BOUND_NM, "a pier across of", unit)
    frost = readings.whole("frost") if readings.has("frost") else case.job.site.frost_depth_nm
    in_reason(frost, _DEEP_BOUND_NM, "a frost depth of", unit)
    square = readings.word("shape", "round") == "square"
    soil = readings.word("soil")
    deep = footing_depth_nm(frost)
    per_footing: dict[str, Plain] = {}
    if soil == NO_BEARING:
        found.fault(f"{soil} has no presumptive bearing", _ENGINEER)
    psf = soil_bearing_psf("clay" if soil == NO_BEARING else soil)
    if case.job.site.soil in (*SOIL_BEARING_PSF, UNKNOWN_SOIL) and soil != case.job.site.soil:
        found.working.append(f"the job says {case.job.site.soil}; the hole says {soil}, and the hole counts")
    found.working.append(f"{soil}: {psf} psf; bottom at {format_trade(deep, unit)} or deeper (frost, and 12 in)")
    volume = 0.0
    for post in _posts(case):
        name = post.name
        for what, nm in (("across", across[name]), ("depth", depth[name]), ("height", height.get(name, depth[name]))):
            positive(nm, f"{name} {what}", unit)
            right_unit(nm, deep if what != "across" else 18 * INCH, f"{name} {what}", unit)
            in_reason(nm, _DEEP_BOUND_NM, f"{name} {what}", unit)
        tall = height.get(name, depth[name])
        on_the_deck(tall, depth[name], f"{name} height", f"a hole {format_trade(depth[name], unit)} deep", unit)
        side_in = inches(across[name])
        thick_nm = _thick(name, pads, tall, unit)
        volume += concrete_ft3(side_in**2 if square else math.pi * side_in**2 / 4, inches(thick_nm))
        volume += concrete_ft3(math.pi * inches(pier) ** 2 / 4, inches(tall - thick_nm))
        if thick_nm < tall and pier > across[name]:
            raise InputError(
                f"a pier {format_trade(pier, unit)} across cannot stand in {name}, {format_trade(across[name], unit)} across",
                "read both again, or leave the pad blank where the hole is poured full",
            )
        found.working.append(post.words)
        figures: dict[str, Plain] = {
            "load_lb": round(post.load_lb, 1), "area_ft2": round(post.area_ft2, 2), "across_in": side_in,
            "depth_in": inches(depth[name]),
        }  # fmt: skip
        if depth[name] < deep:
            found.fault(
                f"{name} is {format_small(deep - depth[name], unit)} too shallow",
                f"{name}: a footing goes {format_trade(deep, unit)} below undisturbed ground",
            )
        pad = _required(post, psf, found)
        if pad is not None:
            least = (pad.square_in if square else pad.round_in) * INCH
            figures["required_in"] = inches(least)
            shape = "square" if square else "round"
            found.working.append(
                f"{name} wants {format_trade(least, unit)} {shape}: has {format_trade(across[name], unit)}"
            )
            if across[name] < least:
                found.fault(
                    f"{name} is {format_small(least - across[name], unit)} too narrow",
                    f"{name}: widen the bottom to {format_trade(least, unit)} {shape}",
                )
            thick = from_inches(pad.thickness_in)
            if thick_nm < thick:
                found.fault(
                    f"{name} has {format_small(thick_nm, unit)} of concrete"
                    + (" in its pad" if thick_nm < tall else ""),
                    f"{name}: pour it {format_trade(thick, unit)} thick at the least",
                )
        per_footing[name] = figures
    concrete = _concrete(case, readings, volume, found)
    return found.verdict(
        f"{count(len(per_footing), 'footing')} good; load nothing before {concrete['load_from_text']}",
        inputs={"soil": soil, "soil_psf": psf, "frost_in": inches(frost), "shape": "square" if square else "round"},
        answer={
            "footings": per_footing, "depth_least_in": inches(deep),
            **{key: value for key, value in concrete.items() if key != "load_from_text"},
        },
        source=_SOURCE,
        limits=(
            Limit("bottom below undisturbed ground", format_trade(deep, unit), DEPTH_SOURCE),
            case.rules.limit("concrete_short", unit),
            case.rules.limit("cure_days", unit),
        ),
        caution=code_decides(FOOTING_TABLE.partition(":")[0]) + " Wet concrete burns skin and eyes; cover open holes.",
        advice=(
            f"load nothing on them before {concrete['load_from_text']}; full load after {FULL_LOAD_DAYS} days above 50 °F",
        ),
    )  # fmt: skip


def _thick(name: str, pads: Mapping[str, int], tall: int, unit: Unit) -> int:
    """How thick the concrete under a post is at the width of the hole: its pad's, or all of it."""
    if name not in pads:
        return tall
    positive(pads[name], f"{name} pad", unit)
    on_the_deck(pads[name], tall, f"{name} pad", f"concrete {format_trade(tall, unit)} tall", unit)
    return pads[name]


def _concrete(case: Case, readings: Readings, volume: float, found: Found) -> Mapping[str, Plain]:
    """The bags against the volume of the holes, and the day the footings may be loaded."""
    sold = _bags(case.job.unit)
    said, used = readings.word("bag", tuple(sold)[-1]), readings.whole("bags")
    made = used * sold[said]
    need = Loose(volume, sold[said]).whole
    short = max(0.0, 1 - made / volume) * 100
    most = case.rules.figure("concrete_short") / 10
    if said == _TRUCK:
        what = "quarter meter" if case.job.unit is Unit.MM else "quarter yard"
        each = count(need, what)
    else:
        what = "bag"
        each = f"{count(need, 'bag')} of {said} {'kg' if case.job.unit is Unit.MM else 'lb'}"
    found.working.append(f"holes {volume:.2f} ft3: {each}; {used} used make {made:.2f} ft3, {short:.0f} % short")
    if made < volume * (1 - most / 100) - 1e-9:
        found.fault(
            f"{count(used, what)} fill {made:.1f} of {volume:.1f} ft3",
            f"find out where the concrete is missing: {count(need - used, what)} fewer than the holes hold",
        )
    poured, days = readings.day("poured"), case.rules.figure("cure_days")
    load_from = poured + timedelta(days=days)
    found.working.append(
        f"poured {format_day(poured, case.today)} + {count(days, 'day')} = {format_day(load_from, case.today)}"
    )
    if poured > case.today:
        found.fault(
            f"the pour is dated {format_day(poured, case.today)}, after today", "enter the day it was really poured"
        )
    return {
        "concrete_ft3": round(volume, 2), "bags_needed": need, "bags_used": used, "short_pct": round(short, 1),
        "poured": poured.isoformat(), "load_from": load_from.isoformat(), "load_from_text": format_day(load_from, case.today),
    }  # fmt: skip


FOOTING = Check(
    key="footing",
    title="Footings",
    asks="width and depth of every hole, the soil at its bottom, the bags that went in, the day of the pour;"
    " P1 is the left one at the back",
    source=_SOURCE,
    form=_form,
    judge=_judge,
    applies=on_footings,
    caution=code_decides(FOOTING_TABLE.partition(":")[0]),
)
