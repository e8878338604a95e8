"""The goods of a take-off that are not lumber: ground, concrete, fasteners, connectors, flashing, finish.

Box, roll and bag sizes are house figures (common practice): read the label.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from tracker.errors import InputError
from tracker.text import count
from tracker.trade.fasteners import nails_per_joint, screw_length_nm
from tracker.trade.framing import FULL_SHAFT, FramePlan, contact_working, plan_job
from tracker.trade.guardparts import guard_goods
from tracker.trade.hardware import LANDING_OUT, LANDING_THICK, hardware, landings
from tracker.trade.joistlines import RimKind
from tracker.trade.lengths import FOOT, INCH, MM, Unit, format_length, format_small
from tracker.trade.lines import boxed, screws
from tracker.trade.loads import BAG_YIELDS_FT3, FT3_IN_M3, LUMBER_RIM, THIN_RIM, bags, ledger_answer
from tracker.trade.lumber import size_name
from tracker.trade.material import Line, Loose
from tracker.trade.postloads import ledger_live_psf
from tracker.trade.rules import Rules
from tracker.trade.span_tables import LEDGER_ROWS, LEDGER_TABLE, RIM_TABLE
from tracker.trade.spec import ON_GROUND, Finish, Ground, JobSpec, Platform, Site, Support
from tracker.trade.woodblocks import NAILS_A_PLY


@dataclass(frozen=True, slots=True)
class Goods:
    """House figures of the goods on the ground and at the ledger, all in nm (common practice)."""

    roll: tuple[int, int]
    """Ground cloth: width and length of a roll."""
    lap: int
    """Overlap of ground cloth; 6 to 12 in is usual, 12 in the safe figure."""
    past: int
    """Cloth and stone past the frame."""
    firm: int
    """Compacted stone on firm soil."""
    soft: int
    """Compacted stone on clay, and where the soil is not known."""
    flashing: int
    """A piece of ledger flashing."""
    flashing_lap: int


GOODS = {
    Unit.INCH: Goods((6 * FOOT, 50 * FOOT), FOOT, 6 * INCH, 4 * INCH, 6 * INCH, 10 * FOOT, 4 * INCH),
    Unit.MM: Goods((1800 * MM, 15_000 * MM), 300 * MM, 150 * MM, 100 * MM, 150 * MM, 3000 * MM, 100 * MM),
}
"""By the units of the job: whoever builds in millimetres measures in whole ones, not in inches converted."""
SWELL = 1.2
"""Loose stone for compacted: 1.15 to 1.25 (common practice)."""
TUBE = {Unit.INCH: 4 * FOOT, Unit.MM: 1200 * MM}
"""A form tube as sold."""
DRAIN_TRENCH = {Unit.INCH: (8 * INCH, FOOT), Unit.MM: (200 * MM, 300 * MM)}
"""Width and depth of the trench of a drain (common practice; the fall and where the water goes decide how deep)."""
DRAIN_PIPE = {Unit.INCH: 10 * FOOT, Unit.MM: 3000 * MM}
"""A piece of drain pipe as sold (common practice)."""
BAG_LB, BAG_KG = 80, 36
"""The same bag by both systems."""
NAILS_PER_BOX = {"16d": 220, "10d": 310, "hanger": 400}
_MM_NAMES = {"16d": "90mm", "10d": "75mm", "hanger": "hanger"}
FRAMING_NAILS = dict.fromkeys(("16d", _MM_NAMES["16d"]), NAILS_PER_BOX["16d"])
"""The nails of joist ends by their names, and how many a box is reckoned to hold."""
HANGER_NAILS = 10
LEDGER_END = 3 * INCH
"""First and last ledger fastener from the end; 2 to 5 in is allowed (from memory: IRC R507.9.1.3)."""
PLY_NAILS = 16 * INCH
COVER_FT2_GALLON = 200
"""One coat of a gallon on rough deck boards (common practice; the can says)."""
LITRES_IN_GALLON = 3.785411784


def supplies(plan: FramePlan, job: JobSpec) -> list[Line]:
    """Every line of goods for one platform."""
    return [
        *_ground(plan, job.site, job.unit),
        *_concrete(plan, job),
        *_connectors(plan),
        *_ledger(plan, job),
        *_nails(plan, job.rules, job.unit),
        *_screws(plan, job.rules, job.unit),
        *guard_goods(plan, job.rules, job.unit),
        *hardware(plan, job),
        *_finish(plan, job),
        *(_drain(plan, job) if plan.platform.name == job.platforms[0].name else ()),
    ]


def _ground(plan: FramePlan, site: Site, unit: Unit) -> Iterable[Line]:
    platform = plan.platform
    if platform.support not in ON_GROUND:
        return
    ready, pads = site.ground is Ground.READY, platform.support is Support.BLOCKS
    if not ready:
        yield _cloth(plan, unit, "pads" if pads else "strip")
    if not ready and pads:
        yield _stone(plan, site, unit)
    if pads:
        yield _pads(plan, unit, "posts" if ready else "pads")


def _bed(plan: FramePlan, unit: Unit) -> tuple[int, int, str]:
    """How wide and long the ground made ready is, and in words."""
    past = GOODS[unit].past
    wide, long = plan.platform.width_nm + 2 * past, plan.platform.depth_nm + 2 * past
    return wide, long, f"{format_length(wide, unit)} x {format_length(long, unit)}"


def _cloth(plan: FramePlan, unit: Unit, phase: str) -> Line:
    goods = GOODS[unit]
    wide, long, size = _bed(plan, unit)
    roll_wide, roll_long = goods.roll
    metres = min((_strips(a, goods) * b, _strips(a, goods), b) for a, b in ((wide, long), (long, wide)))
    total, strips, each = metres
    rolls = -(-total // roll_long)
    roll_text = f"{format_length(roll_wide, unit)} x {format_length(roll_long, unit)}"
    return Line(
        "cloth", "ground cloth", rolls, "roll", phase, plan.platform.name,
        (f"cover the frame and {format_small(goods.past, unit)} past it all round: {size}",
         f"{count(strips, 'strip')} of {format_length(each, unit)}, lapped {format_small(goods.lap, unit)}: "
         f"{format_length(total, unit)} of cloth",
         f"rolls of {roll_text}: {count(rolls, 'roll')}"),
        loose=Loose(total, roll_long),
    )  # fmt: skip


def stone_nm(site: Site, unit: Unit) -> int:
    """The compacted stone under pads on this soil, in nm (common practice)."""
    goods = GOODS[unit]
    return goods.soft if site.soil in ("clay", "unknown") else goods.firm


def _stone(plan: FramePlan, site: Site, unit: Unit) -> Line:
    platform = plan.platform
    wide, long, size = _bed(plan, unit)
    deep = stone_nm(site, unit)
    left_out = platform.width_nm * platform.depth_nm - float(platform.outline.area_nm2)
    compacted = (wide * long - left_out) * deep / FOOT**3
    cubic = compacted * SWELL / 27 if unit is Unit.INCH else compacted * SWELL * (FOOT / (1000 * MM)) ** 3
    word = "cubic yard" if unit is Unit.INCH else "cubic metre"
    return Line(
        "gravel" if unit is Unit.INCH else "gravel m3",
        "crushed stone, 3/4 in" if unit is Unit.INCH else "crushed stone, 20 mm",
        math.ceil(cubic - 1e-9), word, "pads", platform.name,
        (f"bed {size}{' less the cut corners' if platform.cuts else ''}, {format_small(deep, unit)} compacted "
         f"(soil: {site.soil})",
         f"loose = compacted x {SWELL:g} = {cubic:.2f} {word}s, up to whole ones"),
        loose=Loose(cubic, 1),
    )  # fmt: skip


def _drain(plan: FramePlan, job: JobSpec) -> Iterable[Line]:
    """The pipe and stone of a drain laid in the ground, which belongs to the job, not to a platform."""
    long, unit = job.site.drain_nm, job.unit
    if not long:
        return
    wide, deep = DRAIN_TRENCH[unit]
    pipe, inch = DRAIN_PIPE[unit], unit is Unit.INCH
    pieces = -(-long // pipe)
    yield Line(
        "drain pipe" if inch else "drain pipe mm",
        f"perforated drain pipe in its cloth sleeve, {'4 in' if inch else '100 mm'}, {format_length(pipe, unit)} pieces",
        pieces, "piece", "drainage", plan.platform.name,
        (f"a drain of {format_length(long, unit)}: {count(pieces, 'piece')}",), loose=Loose(long, pipe),
    )  # fmt: skip
    ft3 = wide * deep * long / FOOT**3
    cubic = ft3 / 27 if inch else ft3 * (FOOT / (1000 * MM)) ** 3
    word = "cubic yard" if inch else "cubic metre"
    yield Line(
        "gravel" if inch else "gravel m3",
        "crushed stone, 3/4 in" if inch else "crushed stone, 20 mm",
        math.ceil(cubic - 1e-9), word, "drainage", plan.platform.name,
        (f"the trench of the drain, {format_small(wide, unit)} wide and {format_small(deep, unit)} deep, full of stone: "
         f"{cubic:.2f} {word}s, up to whole ones",),
        loose=Loose(cubic, 1),
    )  # fmt: skip


def _pads(plan: FramePlan, unit: Unit, phase: str) -> Line:
    platform = plan.platform
    each = " + ".join(str(beam.posts) for beam in platform.beams)
    working = (
        (f"{count(len(platform.beams), 'beam')} on pads, none under the joists: {each} = {plan.blocks}",)
        if platform.on_pads
        else contact_working(plan, unit)
    )
    return Line("block", "concrete pad block", plan.blocks, "piece", phase, platform.name, working)


def _strips(width_nm: int, goods: Goods) -> int:
    """Strips of cloth over a width, each lapped on the one before."""
    return max(1, -(-(width_nm - goods.lap) // (goods.roll[0] - goods.lap)))


def _concrete(plan: FramePlan, job: JobSpec) -> Iterable[Line]:
    """The concrete of footings and landings, in bags, or from a truck where the job takes more than ``ready_mix_over`` bags."""
    footing, unit = plan.footing, job.unit
    for flight, ft3 in landings(plan, job):
        why = (
            f"a landing at the foot of the stairs, where nothing is there yet: {format_length(flight.width_nm, unit)} wide, "
            f"{format_length(LANDING_OUT, unit)} out (from memory: IRC R311.7.6), {format_small(LANDING_THICK, unit)} thick",
        )
        yield from _mix(plan.platform.name, 1, "landing", ft3, "pour" if footing else "rough-in", why, job)
    if footing is None:
        return
    size = (
        f"the worst footing carries {footing.load_lb:,.0f} lb at {job.loading.total_psf} psf; soil {footing.soil_psf:,} psf: "
        f"round {format_small(footing.diameter_nm, unit)}",
        f"depth {format_small(footing.depth_nm, unit)}: the frost depth, at least 12 in and the pad's thickness"
        + (f", and {format_small(footing.above_nm, unit)} above the ground, up to the beam" if footing.above_nm else ""),
        *(
            [f"wider than {format_small(FULL_SHAFT, unit)}: a pad {format_small(footing.pad_nm, unit)} thick and a "
             f"{format_small(footing.pier_nm, unit)} pier {format_small(footing.shaft_nm, unit)} tall, filled round with soil"]
            if footing.pad_nm
            else []
        ),
    )  # fmt: skip
    yield from _mix(plan.platform.name, footing.count, "footing", footing.concrete_ft3, "pour", size, job)
    if footing.pad_nm:
        tube = TUBE[unit]
        each = -(-footing.shaft_nm // tube)
        name = f"{footing.pier_nm // MM}mm" if unit is Unit.MM else f"{footing.pier_nm // INCH}"
        yield Line(
            f"form tube {name}",
            f"concrete form tube, {format_small(footing.pier_nm, unit)}, {format_length(tube, unit)} long",
            each * footing.count, "piece", "pour", plan.platform.name,
            (f"a pier {format_small(footing.shaft_nm, unit)} tall on each of {count(footing.count, 'pad')}: "
             f"{count(each, 'tube')} each",),
        )  # fmt: skip


def _mix(
    name: str, number: int, what: str, ft3: float, phase: str, steps: Iterable[str], job: JobSpec
) -> Iterable[Line]:
    """Concrete for ``number`` things of ``ft3`` each, whole bags a thing, or quarter yards from a truck with the house's spare."""
    unit, each = job.unit, bags(ft3, BAG_LB)
    kg = BAG_KG if unit is Unit.MM else 0
    order = "an estimate for the order: the footing figure, the local code and a licensed professional decide the size"
    most, all_bags = job.rules.figure("ready_mix_over"), job_bags(job)
    if all_bags <= most:
        yield Line(
            f"concrete {kg}kg" if kg else f"concrete {BAG_LB}lb",
            f"concrete mix, {kg} kg" if kg else f"concrete mix, {BAG_LB} lb (36 kg)", each * number, "bag", phase, name,
            (*steps,
             f"{ft3:.2f} ft3 each / {BAG_YIELDS_FT3[BAG_LB]:.2f} ft3 a bag = {count(each, 'bag')}, x {count(number, what)}",
             order),
        )  # fmt: skip
        return
    spare = job.rules.figure("waste_concrete")
    quarter, word = (0.25 * FT3_IN_M3, "quarter cubic meter") if unit is Unit.MM else (0.25 * 27, "quarter yard")
    loose = Loose(ft3 * number * (1 + spare / 1000), quarter)
    yield Line(
        "ready-mix m3" if unit is Unit.MM else "ready-mix",
        "ready-mixed concrete, 2,500 psi or what the local code asks", loose.whole, word, phase, name,
        (*steps,
         f"{count(all_bags, 'bag')} for the whole job are over {most}: a truck",
         f"{ft3:.2f} ft3 each x {count(number, what)} and {spare / 10:g} % spare = {loose.amount:.1f} ft3, "
         f"in {word}s, up",
         order),
        loose=loose,
    )  # fmt: skip


def job_bags(job: JobSpec) -> int:
    """The bags of concrete of a whole job, were it all mixed from bags."""
    plans = plan_job(job)
    footings = sum(bags(plan.footing.concrete_ft3, BAG_LB) * plan.footing.count for plan in plans if plan.footing)
    return footings + sum(bags(ft3, BAG_LB) for plan in plans for _, ft3 in landings(plan, job))


def _connectors(plan: FramePlan) -> Iterable[Line]:
    name = plan.platform.name
    for beam in plan.beams if not plan.platform.on_pads else ():
        posts, size = len(beam.post_at_nm), beam.beam.post_size
        if not beam.post_nm:
            made = f"{beam.beam.plies}-ply {size_name(beam.beam.size)}"
            why = (f"one set in each of {count(posts, 'footing')} the beam lies on, hot-dip galvanised",)
            yield Line(f"beam saddle {made}", f"beam saddle for {made}", posts, "piece", "pour", name, why)
            continue
        why = (f"one for each of {count(posts, 'post')} of the beam",)
        yield Line(f"post base {size}", f"post base for {size}", posts, "piece", "posts", name, why)
        yield Line(f"post cap {size}", f"post cap for {size}", posts, "piece", "posts", name, why)
    for plies, number in plan.hangers.items():
        size = plan.platform.joists.size
        made = size if plies == 1 else f"{plies}-ply {size}"
        which = "joist" if plies == 1 else f"joist of {plies} plies, in one hanger as wide"
        yield Line(
            f"hanger {made}", f"joist hanger for {made}", number, "piece", "frame", name,
            (f"one at the ledger end of each {which}: {number}",),
        )  # fmt: skip


def _ledger(plan: FramePlan, job: JobSpec) -> Iterable[Line]:
    if not plan.ledgers_nm:
        return
    name, unit = plan.platform.name, job.unit
    span_nm, live = plan.spans_nm[0] if plan.spans_nm else plan.joist_nm, ledger_live_psf(job, plan.platform)
    span_ft = span_nm / FOOT
    row = next((row for row in LEDGER_ROWS if row.joist_span_ft >= span_ft - 1e-9), LEDGER_ROWS[-1])
    try:
        lag_in, thin_in = (_lags_apart_in(span_nm, rim, live) for rim in (LUMBER_RIM, THIN_RIM))
        beyond = ""
    except InputError:
        lag_in, thin_in = row.lag_in, row.thin_rim_in
        beyond = ", past the end of the table: a licensed professional must size it"
    length = " + ".join(format_length(nm, unit) for nm in plan.ledgers_nm)
    pieces_nm = [part for rim in plan.outline.frame.rims if rim.kind is RimKind.LEDGER for part in rim.parts_nm]
    spaces = [-(-(nm - 2 * LEDGER_END) // (lag_in * INCH)) for nm in pieces_nm]
    closer = sum(-(-(nm - 2 * LEDGER_END) // (thin_in * INCH)) + 1 for nm in pieces_nm)
    yield Line(
        "lag screw 1/2", "ledger lag screw, 1/2 in, hot-dip galvanised, with washer", sum(spaces) + len(spaces), "piece",
        "ledger",
        name,
        (f"joist span {span_ft:.1f} ft, read in the {row.joist_span_ft} ft row: {row.lag_in} in apart"
         + (f", {lag_in} in under {live} psf" if lag_in != row.lag_in else "") + beyond,
         f"{length} less 3 in at each end: {count(sum(spaces), 'space')}, one screw more"
         + (" for each piece" if len(spaces) > 1 else "") + ", staggered",
         f"into a band joist of 2x lumber; an engineered rim board 1 in thick takes them {thin_in} in apart: {closer} ({RIM_TABLE})",
         f"source: {LEDGER_TABLE}; the adopted local code decides"),
    )  # fmt: skip
    goods = GOODS[unit]
    pieces = sum(-(-nm // (goods.flashing - goods.flashing_lap)) for nm in plan.ledgers_nm)
    made = "10 ft" if unit is Unit.INCH else "3 m"
    yield Line(
        "flashing", f"ledger flashing, {made}, fit for treated wood", pieces, "piece", "ledger", name,
        (f"ledger of {length} in {made} pieces lapped {format_small(goods.flashing_lap, unit)}",),
    )  # fmt: skip


def _lags_apart_in(span_nm: int, rim: str, live_psf: int) -> int:
    """The spacing of a ledger's lag screws in whole inches, as its check judges them; raises InputError off the table."""
    return int(str(ledger_answer(span_nm, "lag", rim=rim, live_psf=live_psf).answer["spacing_in"]))


def _nails(plan: FramePlan, rules: Rules, unit: Unit) -> Iterable[Line]:
    size = plan.platform.joists.size
    each = nails_per_joint(size)
    ends, blocked = plan.nailed_ends, 2 * len(plan.blocking_nm)
    steps = [f"joist ends through the rims: {ends} x {each} = {ends * each}"]
    if blocked:
        steps.append(f"blocking ends: {blocked} x {each} = {blocked * each}")
    joints = sum(len(rim.joints) for rim in plan.outline.frame.rims if rim.kind is not RimKind.LEDGER)
    if joints:
        steps.append(f"rim joints: a second rim end at {joints} x {each} = {joints * each}")
    fixed = NAILS_A_PLY * plan.blocks * plan.wood_block.plies if plan.wood_block is not None else 0
    if fixed:
        steps.append(f"wood blocks nailed to the frame, {NAILS_A_PLY} in each ply: {fixed}")
    yield _box("16d", (ends + blocked + joints) * each + fixed, "frame", plan.platform, steps, rules, unit)
    if pieces := plan.outline.frame.splice_pieces:
        faces = sum(piece.nails for piece in pieces)
        by_nails = Counter(piece.nails for piece in pieces)
        told = " + ".join(f"{number} x {nails}" for nails, number in sorted(by_nails.items()))
        why = [f"splice pieces and nailers, nailed through their faces: {told} = {faces}"]
        yield _box("10d", faces, "frame", plan.platform, why, rules, unit)
    plies = 0
    for beam in plan.beams:
        rows = 2 * (-(-beam.length_nm // PLY_NAILS) + 1)
        plies += (beam.beam.plies - 1) * rows
    if plies:
        why = [f"beam plies: two rows, {format_small(PLY_NAILS, unit)} apart, in every ply after the first = {plies}"]
        yield _box("10d", plies, "posts", plan.platform, why, rules, unit)
    if plan.hangers:
        total = plan.hung_ends * HANGER_NAILS
        why = [
            f"{plan.hung_ends} joist ends in hangers x {HANGER_NAILS} (fill every hole; the hanger's listing says how many) = {total}"
        ]
        yield _box("hanger", total, "frame", plan.platform, why, rules, unit)


def _box(nail: str, total: int, phase: str, platform: Platform, steps: list[str], rules: Rules, unit: Unit) -> Line:
    name = nail if unit is Unit.INCH else _MM_NAMES[nail]
    title = f"{name} nails, hot-dip galvanised" if nail != "hanger" else "hanger nails, hot-dip galvanised"
    return boxed(f"nails {name}", title, total, NAILS_PER_BOX[nail], phase, platform, steps, rules)


def _screws(plan: FramePlan, rules: Rules, unit: Unit) -> Iterable[Line]:
    decking, courses = plan.platform.decking, plan.courses
    length = screw_length_nm(decking.thickness_nm)
    each = rules.figure("screws_per_crossing")
    total = courses.crossings * each
    yield screws(
        length, "deck screws", total, "boards", plan.platform,
        (f"{count(courses.count, 'course')} cross the frame {courses.crossings} times"
         + (f", {count(courses.joints, 'joint')} counted twice" if courses.joints else ""),
         f"{courses.crossings} x {each} screws = {total}"),
        rules, unit,
    )  # fmt: skip


def _finish(plan: FramePlan, job: JobSpec) -> Iterable[Line]:
    if job.finish is Finish.NONE:
        return
    area = plan.platform.area_ft2
    gallons = area / COVER_FT2_GALLON
    metric = job.unit is Unit.MM
    amount = math.ceil((gallons * LITRES_IN_GALLON if metric else gallons) - 1e-9)
    word = "litre" if metric else "gallon"
    per = " litre" if metric else ""
    yield Line(
        f"finish {job.finish.value}{per}", f"deck {job.finish.value}", amount, word, "finish", plan.platform.name,
        (f"{area:.1f} ft2, one coat at {COVER_FT2_GALLON} ft2 a gallon = {gallons:.2f} gallons, "
         f"up to {count(amount, word)}",),
        loose=Loose(gallons * LITRES_IN_GALLON if metric else gallons, 1),
    )  # fmt: skip
