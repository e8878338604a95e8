"""The design check's clauses: what a job's spec says against the tables and rules its deck is held to, one line a clause.

Every clause that applies to a job is judged, the ones nobody filled in too: a deck that needs a guard needs it whether or not
its file has one. Form, check and papers all ask ``design_lines``. Nothing here says that a deck is strong enough.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from tracker.errors import InputError
from tracker.text import count, listing
from tracker.trade.answer import Answer, Plain
from tracker.trade.cautions import DEFER
from tracker.trade.checks.footing import DEPTH_SOURCE
from tracker.trade.checks.found import off_table
from tracker.trade.checks.frame import DECKING_SOURCE, allowed_spacing_nm, spacing_under_boards_nm
from tracker.trade.checks.ledger import LEDGER_LEAST, LEDGER_SIZE
from tracker.trade.checks.structure import OVERHANG_SHARE
from tracker.trade.checks.underdeck import lowest_wood_nm
from tracker.trade.framing import (
    TREAD_RUN,
    UNKNOWN_SOIL,
    JoistRun,
    bearing_psf,
    joint_faults,
    joist_runs,
    plan_frame,
    standing_lines,
)
from tracker.trade.guards import HEIGHT_LEAST_NM, STAIR_HEIGHT_LEAST_NM, TRIGGER_NM, guard_required
from tracker.trade.guards import SOURCE as GUARD_SOURCE
from tracker.trade.lengths import (
    FOOT,
    INCH,
    MM,
    SIXTEENTH,
    Unit,
    format_length,
    format_small,
    format_trade,
    from_inches,
)
from tracker.trade.loading import BEYOND
from tracker.trade.loadpath import BeamLoad, beam_loads
from tracker.trade.loads import PAD_MOST_IN, footing_depth_nm, ledger_answer
from tracker.trade.lumber import (
    USE_SOURCE,
    counts_as_ground_contact,
    dressed,
    framing_wants_ground_contact,
    nominal_within,
    size_name,
    use_category_ok,
)
from tracker.trade.metric import all_in_unit, in_unit
from tracker.trade.outline import Facing
from tracker.trade.permits import SOURCE as PERMIT_SOURCE
from tracker.trade.permits import permit_answer
from tracker.trade.places import (
    crowded_sides,
    guard_called_for,
    guard_stretches,
    handrail_called_for,
    length_of,
    open_sides,
    open_stretches,
)
from tracker.trade.postheight import post_answer
from tracker.trade.postloads import ledger_live_psf
from tracker.trade.posts import stand_nm, stand_of
from tracker.trade.span_tables import FOOTING_TABLE, LEDGER_TABLE
from tracker.trade.spans import span_answer
from tracker.trade.spec import BoardKind, Ground, Guard, JobSpec, Platform, Stairs, Stringers, Support
from tracker.trade.stairs import (
    CUT_STRINGER_RUN_MOST_NM,
    FLIGHT_MOST_NM,
    HANDRAIL_HIGH_NM,
    HANDRAIL_LOW_NM,
    HANDRAIL_RISERS,
    SOLID_STRINGER_RUN_MOST_NM,
    WIDTH_LEAST_NM,
    riser_count,
)
from tracker.trade.stairs import SOURCE as STAIR_SOURCE
from tracker.trade.woodblocks import wood_block_faults

BLOCKS_HIGHEST_NM = 20 * INCH
"""How high a platform on blocks may stand (from memory: IRC 2018 R507.3, exception for precast pier blocks)."""
GUARD_SLACK_NM = 6 * INCH
"""By how much a guard's run may be measured short of the open edges before it is short, a bound of this program."""
RIM_LEAST = "2x8"
RIM_SOURCE = "DCA 6 Table 2, footnote: rim and outside joists 2x8 or deeper where guards stand"
_BLOCKS_SOURCE = "from memory: IRC 2018 R507.3, exceptions"
_FROST_SOURCE = "from memory: IRC R403.1.4.1, decks that a dwelling does not support need not go below frost"
_STRINGER_SOURCE = "from memory: DCA 6 stair section, 2x12 stringers"
_LOCATE_SOURCE = "state one-call law decides; that stripping and a stone bed are digging is common practice"
_HEAVY_SOURCE = "common practice: no deck table covers it"
_CLIP_SOURCE = "common practice: a joist bears at two places, and an angled rim on joists that do"
_SHORT_SPAN_NM = 5 * FOOT
"""Joists on blocks no farther apart than this are not looked up (common practice)."""


@dataclass(frozen=True, slots=True)
class DesignLine:
    """One clause: its name, the platform it is of (empty: the whole job), what it says in words, whether it holds, its source.

    ``text`` of a clause that does not hold says what is wrong and what would be right.
    """

    clause: str
    platform: str
    text: str
    good: bool
    source: str

    @property
    def said(self) -> str:
        """It in words, its platform's name before it where there are several."""
        return f"{self.platform}: {self.text}" if self.platform else self.text

    @property
    def as_json(self) -> dict[str, Plain]:
        """Its plain values."""
        return {
            "clause": self.clause, "platform": self.platform or None, "text": self.text, "good": self.good,
            "source": self.source,
        }  # fmt: skip


def design_lines(job: JobSpec) -> tuple[DesignLine, ...]:
    """Every clause that applies to a job, platform by platform, then those of the whole job; texts in the job's units."""
    found: list[DesignLine] = []
    for platform in job.platforms:
        of = platform.name if len(job.platforms) > 1 else ""
        found += [replace(line, platform=of) for line in _of_platform(job, platform)]
    found += _of_job(job)
    return tuple(replace(line, text=in_unit(line.text, job.unit)) for line in found)


def design_faults(job: JobSpec) -> tuple[str, ...]:
    """What does not hold, one line each, the platform's name before it where there are several; empty when all does."""
    return tuple(line.said for line in design_lines(job) if not line.good)


def looks_wrong(job: JobSpec) -> tuple[str, ...]:
    """``design_faults`` with who decides said after them; empty when there are none."""
    faults = design_faults(job)
    return (*faults, *all_in_unit([f"{DEFER}."] if faults else [], job.unit))


def _line(clause: str, good: bool, text: str, source: str) -> DesignLine:
    return DesignLine(clause, "", text, good, source)


# -- a platform


def _of_platform(job: JobSpec, platform: Platform) -> Iterator[DesignLine]:
    if platform.beams:
        beams = beam_loads(job, platform)
        yield from _joists(job, platform)
        for load in beams:
            yield from _beam(job, platform, load)
        yield from _pads(job, beams) if platform.on_pads else _footings(job, beams)
    if platform.support is Support.BLOCKS:
        yield from _blocks(job, platform)
    elif platform.support is Support.WOOD_BLOCKS:
        faults = wood_block_faults(platform, job.unit)
        high = format_trade(platform.height_nm, job.unit)
        for text in faults or (f"on wood blocks at {high}: low enough, and free of the house",):
            yield _line("footings", not faults, text, "common practice; the local office decides over wood blocks")
    if platform.attached:
        yield from _ledger(job, platform)
    yield _spacing(platform, job.unit)
    for fault in joint_faults(plan_frame(platform, job.rules, job.site), job.unit):
        yield _line("joints", False, fault, "common practice: both ends of a joint bear 1-1/2 in")
    yield from _uses(platform, job.unit)
    yield from _guards(platform, job.unit)
    for side, flights, wide, edge in crowded_sides(platform):
        text = (
            f"{flights} flights of stairs, {format_length(wide, job.unit)} wide together, do not fit the "
            f"{format_length(edge, job.unit)} of the {side.value}: let one leave from another side"
        )
        yield _line("stairs", False, text, "common practice")
    for number, flight in enumerate(platform.stairs, 1):
        name = f"flight {number}" if len(platform.stairs) > 1 else "the flight"
        yield from _flight(platform, flight, name, job.unit)


def _joists(job: JobSpec, platform: Platform) -> Iterator[DesignLine]:
    """Spans between what holds the joists, and their ends past a beam, as the check of joist spans judges them."""
    joists, unit = platform.joists, job.unit
    runs = joist_runs(platform)
    spans = [nm for run in runs for nm in run.spans_nm]
    if not spans or any(not run.spans_nm and not run.angled for run in runs):
        text = "nothing holds the joists at two places: add a beam, or attach the platform to the house"
        yield _line("joist span", False, text, "common practice")
        return
    told = _span(job, "joist", joists.size, platform, spacing_nm=joists.spacing_nm)
    at = format_small(joists.spacing_nm, unit)
    if isinstance(told, str):
        yield _line(
            "joist span",
            False,
            f"{joists.size} joists at {at}: {told}; {BEYOND}",
            "no table or computation is held for it",
        )
        return
    longest, most = max(spans), _inches(told, "allowed_span_in")
    good = longest <= most
    spans_it = f"{'' if good else 'would '}span {format_trade(longest, unit)}"
    text = f"{joists.size} joists {spans_it}, {format_trade(most, unit)} is the most at {at}"
    move = "" if good else ": move a beam, add one, or take deeper joists"
    yield _line("joist span", good, text + move, told.source)
    if corner := [run for run in runs if run.angled]:
        yield _clipped(corner)
    grid, table = (MM if unit is Unit.MM else SIXTEENTH), _inches(told, "overhang_in")
    ends = [
        (end.past_nm, min(table, end.behind_nm // OVERHANG_SHARE) // grid * grid) for run in runs for end in run.ends
    ]
    if not ends:
        return
    past, reach = max(ends, key=lambda end: (end[0] - end[1], end[0]))
    good = past <= reach
    text = f"joists {'' if good else 'would '}run {format_trade(past, unit)} past a beam, {format_trade(reach, unit)} is the most"
    move = "" if good else ": move the beam out"
    yield _line("overhang", good, text + move, "DCA 6 Table 2 and its footnote, a quarter of the span behind")


def _clipped(runs: Sequence[JoistRun]) -> DesignLine:
    """What holds the joists of clipped corners. The angled rim carries one to its neighbors only where those are held at two
    places: the edge joist is the shortest of them, so with it unheld the whole corner hangs on one end of that rim.
    """
    short = [run for run in runs if len(run.at_nm) < 2]
    if not short:
        return _line("clipped corner", True, "the joists of clipped corners are held at two places", _CLIP_SOURCE)
    hang = "joists of a clipped corner are" if len(short) > 1 else "joist of a clipped corner is"
    text = f"{len(short)} {hang} held at one place only, and so is the angled rim there: set a beam behind the clip"
    return _line("clipped corner", False, text, _CLIP_SOURCE)


def _span(job: JobSpec, member: str, size: str, platform: Platform, *, spacing_nm: int | None = None,
          joist_span_nm: int | None = None, plies: int = 1) -> Answer | str:  # fmt: skip
    """The span figure under the job's own loads, or why there is none."""
    joists, load = platform.joists, job.loading
    return off_table(
        lambda: span_answer(
            member, nominal_within(size), joists.species, joists.grade, spacing_nm=spacing_nm,
            joist_span_nm=joist_span_nm, plies=plies, live_psf=load.live_psf, snow_psf=load.snow, unit=job.unit,
            table=job.rules.beam_table,
        )
    )  # fmt: skip


def _inches(answer: Answer, key: str) -> int:
    """A length of an answer in nm."""
    return from_inches(Fraction(str(answer.answer[key])))


def _beam(job: JobSpec, platform: Platform, load: BeamLoad) -> Iterator[DesignLine]:
    """A beam between its posts, what nails it may hang on, and its posts."""
    unit, beam = job.unit, load.plan.beam
    at, what = format_length(beam.at_nm, unit), f"{beam.plies}-ply {size_name(beam.size)}"
    stand = stand_of(platform, beam)
    apart = format_trade(load.post_span_nm, unit)
    told = _span(job, "beam", beam.size, platform, joist_span_nm=load.table_joist_nm, plies=beam.plies)
    if isinstance(told, str):
        joist = format_trade(load.table_joist_nm, unit)
        text = f"no beam table reaches the beam at {at}, {what} under {joist} joists: add a beam, or take a deeper one"
        yield _line("beam", False, f"{text} ({told}); else {BEYOND}", "no table is held")
    else:
        most = _inches(told, "allowed_span_in")
        good = load.post_span_nm <= most
        text = f"the beam at {at} has {stand}s {apart} apart, {format_trade(most, unit)} is the most for {what}"
        yield _line("beam", good, text if good else f"{text}: add a {stand}", told.source)
    if load.plan.post_nm:
        yield _post(job, platform, load, at)


def _post(job: JobSpec, platform: Platform, load: BeamLoad, at: str) -> DesignLine:
    unit, beam, tall = job.unit, load.plan.beam, load.plan.post_nm
    size, wood = size_name(beam.post_size), platform.joists.species
    told = off_table(
        lambda: post_answer(
            nominal_within(beam.post_size), load.post_span_nm, load.table_joist_nm, wood=wood,
            live_psf=job.loading.upon_psf, unit=unit,
        )
    )  # fmt: skip
    if isinstance(told, str):
        return _line("posts", False, f"the {size} posts of the beam at {at}: {told}; {BEYOND}", "no table is held")
    if not isinstance(told.answer["allowed_height_in"], int):
        text = f"the {size} posts of the beam at {at}: {told.headline}: take larger posts, or more of them"
        return _line("posts", False, text, told.source)
    most = _inches(told, "allowed_height_in")
    good = tall <= most
    text = (
        f"the {size} posts of the beam at {at} stand {format_trade(tall, unit)}, {format_trade(most, unit)} is the most"
    )
    move = "" if good else ": take larger posts, or more of them"
    return _line("posts", good, text + move, told.source)


def _footings(job: JobSpec, beams: Sequence[BeamLoad]) -> Iterator[DesignLine]:
    unit, soil = job.unit, job.site.soil
    psf = bearing_psf(job.site)
    ground = f"{'soil nobody named, taken as clay' if soil == UNKNOWN_SOIL else soil}, {psf} psf"
    widest = 0
    for post in (post for load in beams for post in load.posts):
        try:
            widest = max(widest, post.pad(psf).round_in)
        except InputError as error:
            yield _line("footings", False, f"{post.name}: {error.message} ({ground}); {BEYOND}", FOOTING_TABLE)
            return
    if widest > PAD_MOST_IN:
        text = (
            f"a footing would be {widest} in across ({ground}), {PAD_MOST_IN} in is the most: add posts; else {BEYOND}"
        )
        yield _line("footings", False, text, FOOTING_TABLE)
    else:
        yield _line("footings", True, f"footings {widest} in across ({ground})", FOOTING_TABLE)
    deep = format_trade(footing_depth_nm(job.site.frost_depth_nm), unit)
    frost = format_trade(job.site.frost_depth_nm, unit)
    yield _line("frost", True, f"footings go {deep} below undisturbed ground (frost {frost})", DEPTH_SOURCE)


def _pads(job: JobSpec, beams: Sequence[BeamLoad]) -> Iterator[DesignLine]:
    """What the soil says against the pads under beams."""
    soil, unit = bearing_psf(job.site), job.unit
    for load in beams:
        side, at = stand_nm(load.plan.beam), format_length(load.plan.beam.at_nm, unit)
        worst = max(post.load_lb for post in load.posts) / (side / FOOT) ** 2
        text = (
            f"pads of {format_small(side, unit)} under the beam at {at} put {worst:,.0f} psf on the ground, the soil bears"
            f" {soil:,} psf"
        )
        good = worst <= soil
        yield _line(
            "footings", good, text if good else f"{text}: add a pad", "IRC Table R401.4.1, IBC 2012 Table 1806.2"
        )


def _blocks(job: JobSpec, platform: Platform) -> Iterator[DesignLine]:
    unit, high = job.unit, format_trade(platform.height_nm, job.unit)
    good = platform.height_nm <= BLOCKS_HIGHEST_NM
    text = f"on blocks at {high}, {format_trade(BLOCKS_HIGHEST_NM, unit)} is the most"
    yield _line("footings", good, text if good else f"{text}: put it on footings", _BLOCKS_SOURCE)
    if platform.attached:
        good, frost = job.site.frost_depth_nm == 0, format_trade(job.site.frost_depth_nm, unit)
        text = (
            "the house does not move with frost and blocks do"
            if not good
            else "no frost, so blocks may stand by the house"
        )
        move = f": put it on footings below {frost}, or let it stand free" if not good else ""
        yield _line("frost", good, text + move, _FROST_SOURCE)
    if platform.on_pads:
        return
    spans = plan_frame(platform, job.rules, job.site).spans_nm
    longest, joists = max(spans, default=0), platform.joists
    if longest <= _SHORT_SPAN_NM:
        text = f"joists span {format_trade(longest, unit)} between blocks"
        yield _line("joist span", True, text, "common practice")
        return
    told = _span(job, "joist", joists.size, platform, spacing_nm=joists.spacing_nm)
    most = 0 if isinstance(told, str) else _inches(told, "allowed_span_in")
    source = "no table or computation is held for it" if isinstance(told, str) else told.source
    text = f"{joists.size} joists span {format_trade(longest, unit)} between blocks, {format_trade(most, unit)} is the most"
    yield _line("joist span", longest <= most, text, source)


def _ledger(job: JobSpec, platform: Platform) -> Iterator[DesignLine]:
    unit, joists, least = job.unit, platform.joists, dressed(LEDGER_LEAST)
    good = joists.depth_nm >= least.depth_nm
    text = f"the ledger is {joists.size} as the joists, {LEDGER_LEAST} is the least"
    yield _line("ledger", good, text if good else f"{text}: take deeper joists", LEDGER_SIZE)
    spans = plan_frame(platform, job.rules, job.site).spans_nm
    first = spans[0] if spans else platform.depth_nm
    told = off_table(lambda: ledger_answer(first, "lag", live_psf=ledger_live_psf(job, platform), unit=unit))
    if isinstance(told, str):
        yield _line("ledger", False, f"{told}; {BEYOND}", LEDGER_TABLE)
    else:
        yield _line("ledger", True, f"on the ledger: {told.headline}", told.source)


def _spacing(platform: Platform, unit: Unit) -> DesignLine:
    joists, board = platform.joists, platform.decking.board
    most, on_two = allowed_spacing_nm(platform.decking), spacing_under_boards_nm(platform)
    at, widest = format_small(joists.spacing_nm, unit), format_small(most, unit)
    bay = max(b.centre_nm - a.centre_nm for a, b in pairwise(standing_lines(platform)))
    if on_two < most and bay > on_two:
        text = (
            f"boards of {board} lie on two joists {format_small(bay, unit)} apart, {format_small(on_two, unit)} is the most"
            " there: set a joist between"
        )
        return _line("joist spacing", False, text, DECKING_SOURCE)
    if joists.spacing_nm > most:
        text = f"joists at {at} are too far apart for {board} boards: {widest} is the most"
        return _line("joist spacing", False, text, DECKING_SOURCE)
    return _line("joist spacing", True, f"joists at {at} under {board} boards, {widest} is the most", DECKING_SOURCE)


def _uses(platform: Platform, unit: Unit) -> Iterator[DesignLine]:
    """Use category against what is left between the wood and the ground."""
    decking, joists = platform.decking, platform.joists
    under_boards, frame = platform.height_nm - decking.thickness_nm, lowest_wood_nm(platform)
    lowest = "beams" if platform.beams else "joists"
    wants = platform.support is Support.BLOCKS or framing_wants_ground_contact(frame)
    if platform.support is not Support.WOOD_BLOCKS:  # those say it themselves
        yield _use(lowest, joists.use_category, frame, wants, unit)
    if decking.kind is BoardKind.WOOD and decking.use_category:
        contact = counts_as_ground_contact(under_boards)
        yield _use("boards", decking.use_category, under_boards, contact, unit)


def _use(what: str, category: str, clear_nm: int, contact: bool, unit: Unit) -> DesignLine:
    good = use_category_ok(category, contact)
    clear = format_trade(max(clear_nm, 0), unit)
    text = f"{what} {clear} above the ground are {category}"
    return _line(
        "use category",
        good,
        text if good else f"{text}: that near the ground, or that hard to replace, they want UC4A",
        USE_SOURCE,
    )


def _guards(platform: Platform, unit: Unit) -> Iterator[DesignLine]:
    """A guard on every open side where the height calls for one, what it stands on, and its height and run."""
    high, guard, called = format_trade(platform.height_nm, unit), platform.guard, guard_called_for(platform)
    if called is None:
        open_to = "wants no guard" if not guard_required(platform.height_nm) else "has no open edge: no guard"
        yield _line("guard", True, f"{high} above the ground {open_to}", GUARD_SOURCE)
        return
    if guard is None:
        run = f"{format_length(called.length_nm, unit)} of it, on the {_sides(called.edges)}"
        yield _line("guard", False, f"{high} above the ground wants a guard, and there is none: {run}", GUARD_SOURCE)
    else:
        yield from _guard_as_planned(platform, guard, high, unit)
    least = dressed(RIM_LEAST).depth_nm
    good = platform.joists.depth_nm >= least
    text = f"a guard stands on {platform.joists.size} rims, {RIM_LEAST} is the least"
    yield _line("rim depth", good, text if good else f"{text}: take deeper rims and joists", RIM_SOURCE)


def _sides(sides: Sequence[Facing]) -> str:
    return listing([side.value for side in sides], "and")


def _guard_as_planned(platform: Platform, guard: Guard, high: str, unit: Unit) -> Iterator[DesignLine]:
    """A guard the job has: its height and sides where the deck wants one, and its length, which is that of its edges."""
    least, tall = format_trade(HEIGHT_LEAST_NM, unit), format_trade(guard.height_nm, unit)
    required, faults = guard_required(platform.height_nm), []
    if required and guard.height_nm < HEIGHT_LEAST_NM:
        faults.append(f"the guard is {tall} high and the deck {high}: {least} is the least")
    if required and guard.edges and (bare := [side for side in open_sides(platform) if side not in guard.edges]):
        faults.append(f"the {_sides(bare)} stands open {high} above the ground: put a guard there too")
    edge = open_run_nm(platform) if required or not guard.edges else sum(map(length_of, guard_stretches(platform)))
    run, along = format_length(guard.length_nm, unit), format_length(edge, unit)
    if required and guard.length_nm < edge - GUARD_SLACK_NM:
        faults.append(f"the guard is {run} long and {along} of edge is open: a guard on all of it")
    elif guard.length_nm > edge + GUARD_SLACK_NM or (guard.edges and guard.length_nm < edge - GUARD_SLACK_NM):
        faults.append(
            f"the guard is {run} long and its edges, less the stairs, are {along}: mend its length or its sides"
        )
    for text in faults or (f"{high} above the ground: a guard {tall} high, {run} of it on the open sides",):
        yield _line("guard", not faults, text, GUARD_SOURCE)


def open_run_nm(platform: Platform) -> int:
    """How long a guard on every open edge is."""
    return sum(map(length_of, open_stretches(platform)))


def _flight(platform: Platform, flight: Stairs, name: str, unit: Unit) -> Iterator[DesignLine]:
    risers = riser_count(flight.rise_nm)
    wide, rise = format_trade(flight.width_nm, unit), format_trade(flight.rise_nm, unit)
    good = flight.width_nm >= WIDTH_LEAST_NM
    text = f"{name} is {wide} wide, {format_trade(WIDTH_LEAST_NM, unit)} is the least"
    yield _line("stairs", good, text, "from memory: IRC R311.7.1")
    good = flight.rise_nm <= FLIGHT_MOST_NM
    most = format_length(FLIGHT_MOST_NM, unit)
    text = f"{name} rises {rise} in {count(risers, 'riser')}"
    text = text if good else f"{text}, {most} is the most: put a landing in it"
    yield _line("stairs", good, text, f"{STAIR_SOURCE}; from memory: IRC R311.7.3")
    yield from _stringers(flight, risers - 1, name, unit)
    yield from _rails(flight, name, risers, rise, unit)


def _rails(flight: Stairs, name: str, risers: int, rise: str, unit: Unit) -> Iterator[DesignLine]:
    """The handrail and the guard a flight has or wants, each with its height above the nosings."""
    if handrail_called_for(flight):
        tall, bounds = format_trade(flight.handrail_tall_nm, unit), (HANDRAIL_LOW_NM, HANDRAIL_HIGH_NM)
        low, high = (format_trade(nm, unit) for nm in bounds)
        good = flight.handrail and bounds[0] <= flight.handrail_tall_nm <= bounds[1]
        if not flight.handrail:
            text = f"{name} has {risers} risers and no handrail: from {HANDRAIL_RISERS} on it wants one"
        else:
            text = f"{name} has {count(risers, 'riser')} and a handrail {tall} above the nosings" + (
                "" if good else f": {low} to {high} is the rule"
            )
        yield _line("handrail", good, text, STAIR_SOURCE)
    if flight.rise_nm <= TRIGGER_NM and not flight.guard:
        return
    tall, least = format_trade(flight.guard_tall_nm, unit), format_trade(STAIR_HEIGHT_LEAST_NM, unit)
    if not flight.open_sides:
        yield _line("stair guard", True, f"{name} rises {rise} between walls: it wants no guard", GUARD_SOURCE)
    elif not flight.guard:
        bare = f"{name} rises {rise} and has no guard: over {format_trade(TRIGGER_NM, unit)} its open sides want one"
        yield _line("stair guard", False, bare, GUARD_SOURCE)
    else:
        good = flight.guard_tall_nm >= STAIR_HEIGHT_LEAST_NM or not guard_required(flight.rise_nm)
        text = (
            f"{name} rises {rise} and has a guard {tall} above the nosings on {count(flight.open_sides, 'open side')}"
        )
        source = f"{GUARD_SOURCE}; stair guard from memory: IRC R312.1.2, exception"
        yield _line("stair guard", good, text if good else f"{text}: {least} is the least", source)


def _stringers(flight: Stairs, treads: int, name: str, unit: Unit) -> Iterator[DesignLine]:
    if not treads:
        return
    run, cut = treads * TREAD_RUN, flight.stringers is Stringers.CUT
    most = CUT_STRINGER_RUN_MOST_NM if cut else SOLID_STRINGER_RUN_MOST_NM
    good = run <= most
    text = f"{flight.stringers.value} stringers of {name} run {format_trade(run, unit)}, {format_trade(most, unit)} is the most"
    move = ": take solid stringers, or put a landing or a post between" if cut else ": put a landing or a post between"
    yield _line("stringers", good, text if good else text + move, _STRINGER_SOURCE)


# -- the whole job


def _of_job(job: JobSpec) -> Iterator[DesignLine]:
    if job.site.carries:
        text = f"{listing(job.site.carries, 'and')} on the deck: {BEYOND}"
        yield _line("loads", False, text, _HEAVY_SOURCE)
    else:
        heavy = f"designed for {job.loading.words}; no hot tub, roof or screen room is named"
        yield _line("loads", True, heavy, "from memory: IRC Table R301.5; the local office names the loads")
    told = permit_answer(job).answer
    met = [words for key, words in _CONDITIONS.items() if told[key]]
    asked = listing(met, "and")
    if job.permit:
        yield _line("permit", True, "a permit is asked for", PERMIT_SOURCE)
    elif not met:
        text = "it meets none of the usual permit conditions; whether it serves the exit door is for the office to ask"
        yield _line("permit", True, text, PERMIT_SOURCE)
    elif job.no_permit:
        yield _line("permit", True, f"{asked}: no permit is needed, says {job.no_permit}", PERMIT_SOURCE)
    else:
        text = f"{asked}: ask the office for a permit (permit = true), or write down who there says none is needed (no_permit)"
        yield _line("permit", False, text, PERMIT_SOURCE)
    yield _locate(job)


_CONDITIONS: Mapping[str, str] = {
    "area": "more than 200 sq ft", "height": "more than 30 in above the ground", "attached": "attached to the house",
}  # fmt: skip


def _locate(job: JobSpec) -> DesignLine:
    """Any digging wants the utility locate; on blocks somebody has to say whether sod is stripped or a bed is dug."""
    if any(platform.support is Support.FOOTINGS for platform in job.platforms):
        return _line("locate", True, "footings are dug: the utility locate comes first", _LOCATE_SOURCE)
    if job.site.drain_nm:
        return _line("locate", True, "a drain is dug: the utility locate comes first", _LOCATE_SOURCE)
    if job.site.digging is None and job.site.ground is not Ground.READY:
        text = (
            "nobody said whether anything is dug: stripping sod and setting a stone bed are (digging = true, and the utility"
            " locate comes first); ready ground is not (digging = false)"
        )
        return _line("locate", False, text, _LOCATE_SOURCE)
    if job.site.digging:
        text = "there is digging: the utility locate comes first"
    elif job.site.ground is Ground.READY:
        text = "the ground is ready: nothing is dug"
    else:
        text = (
            "the job says that nothing is dug; stripping sod and setting a stone bed are digging: with either of them,"
            " digging = true and the utility locate first"
        )
    return _line("locate", True, text, _LOCATE_SOURCE)


# -- which design a basis was given for


def design_digest(job: JobSpec) -> str:
    """A short text that is the same as long as nothing of the design changes, however it was typed.

    What is not built (the finish, how boards are laid, wiring) has no part in it.
    """
    load = job.loading
    table: dict[str, Plain] = {
        "platforms": [_plain(platform) for platform in job.platforms],
        "ground": [job.site.frost_depth_nm, job.site.soil],
        "loads": [load.live_psf, load.snow_psf, *job.site.carries],
        "permit": [job.permit, job.no_permit],
        "digging": [job.site.digging, job.site.ground.value],
    }
    return hashlib.sha256(json.dumps(table, sort_keys=True).encode()).hexdigest()[:16]


def _plain(platform: Platform) -> Plain:
    """What of a platform is designed, as plain values in nm."""
    joists, decking, guard = platform.joists, platform.decking, platform.guard
    return [
        platform.name, platform.width_nm, platform.depth_nm, platform.height_nm, platform.attachment.value,
        platform.support.value, platform.beside_house,
        [[cut.corner.value, cut.width_nm, cut.depth_nm, type(cut).__name__] for cut in platform.cuts],
        [joists.size, joists.species, joists.grade, joists.spacing_nm, joists.use_category],
        [decking.board, decking.kind.value, decking.angle_deg, decking.use_category],
        [[beam.plies, beam.size, beam.at_nm, beam.posts, beam.post_size] for beam in platform.beams],
        [
            [flight.width_nm, flight.rise_nm, flight.edge and flight.edge.value, flight.from_nm, flight.handrail,
             flight.guard, flight.stringers.value, flight.open_sides, flight.guard_height_nm, flight.handrail_height_nm]
            for flight in platform.stairs
        ],
        [guard.height_nm, guard.length_nm, [edge.value for edge in guard.edges]] if guard else None,
    ]  # fmt: skip
