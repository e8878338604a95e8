"""The framing plan of a platform: joists, rims, blocking, what carries them, stairs and guard, from its sizes alone.

Method: common practice. Nothing here says that a span, beam or footing is strong enough: the span and footing figures
do that, and the adopted local code and a licensed professional decide.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

from tracker.text import count, listing
from tracker.trade.courses import Courses, split
from tracker.trade.guardplan import (
    GuardPlan,
    HandrailPlan,
    StairGuardPlan,
    plan_guard,
    plan_handrails,
    plan_stair_guards,
)
from tracker.trade.joistlines import OutlinePlan, RimKind, plan_outline
from tracker.trade.layout import contact_points, joist_marks
from tracker.trade.lengths import FOOT, INCH, MM, SIXTEENTH, Unit, format_length, format_small, round_up
from tracker.trade.loading import Loading
from tracker.trade.loads import concrete_ft3, footing_depth_nm, soil_bearing_psf
from tracker.trade.lumber import STOCK_LENGTHS_NM, dressed, is_metric
from tracker.trade.polygon import patches
from tracker.trade.postloads import carried_nm, post_loads, stacked_on
from tracker.trade.posts import post_nm, stand_nm, under_beam_nm
from tracker.trade.rules import Rules
from tracker.trade.spec import ON_GROUND, Beam, BoardKind, JobSpec, Platform, Site, Support
from tracker.trade.splices import spliced
from tracker.trade.stairs import riser_count, stringer_count, stringer_spacing_nm
from tracker.trade.woodblocks import WoodBlock, wood_block

METRIC_STOCK_NM = tuple(mm * MM for mm in range(2400, 6001, 300))
"""Stock lengths of metric lumber, 2.4 to 6.0 m by 0.3 m (common practice)."""
BLOCKING_SPAN = 8 * FOOT
"""Joists with a longer clear span get blocking (common practice)."""
UNKNOWN_SOIL = "unknown"
"""Soil nobody has looked at counts as clay, the weakest class with a presumptive bearing."""
TREAD_RUN = 10 * INCH + INCH // 4
"""Run of a tread of two 5-1/2 in boards less its nosing (common practice; IRC R311.7 asks for 10 in)."""
LINES_OF_DECKING_SPANS = 3
"""Joist spacings of decking hold for boards over three joists; on two, half of them (a code proposal, RB191, as excerpted)."""
FULL_SHAFT = 16 * INCH
"""A hole up to this wide is poured full to the ground; a wider one gets a pad and a pier on it (common practice)."""
PIER = {False: 12 * INCH, True: 300 * MM}
"""The pier on a pad, cast in a form tube; by whether the lumber is metric (common practice)."""
JOIST_BEARING = 3 * INCH // 2
"""What each joist end needs on wood: IRC R507.6.1."""


def stock_lengths(size: str) -> tuple[int, ...]:
    """The lengths lumber of ``size`` is sold in; raises InputError for an unknown size."""
    return METRIC_STOCK_NM if is_metric(size) else STOCK_LENGTHS_NM


@dataclass(frozen=True, slots=True)
class BeamPlan:
    """A beam as built: ``parts_nm`` of each ply (joints over posts), post centres along it, and the post's length.

    ``start_nm`` is its left end from the platform's. ``post_nm`` is 0 when the beam sits on the footings. ``carried_nm``
    is the depth of deck the beam carries.
    """

    beam: Beam
    start_nm: int
    length_nm: int
    parts_nm: tuple[int, ...]
    post_at_nm: tuple[int, ...]
    post_nm: int
    carried_nm: int


@dataclass(frozen=True, slots=True)
class FootingPlan:
    """The footings of a platform, all sized for the worst: a round hole of ``diameter_nm`` and ``depth_nm``, and ``above_nm``
    of concrete over the ground where a beam lies on them without posts.

    A hole up to ``FULL_SHAFT`` wide is poured full. A wider one gets a pad ``pad_nm`` thick at its bottom and a round pier of
    ``pier_nm`` on it; both are 0 where it is poured full.
    """

    count: int
    diameter_nm: int
    depth_nm: int
    load_lb: float
    soil_psf: int
    above_nm: int = 0
    pad_nm: int = 0
    pier_nm: int = 0

    @property
    def shaft_nm(self) -> int:
        """What stands on the pad, or the whole, from its bottom to the top of the concrete."""
        return self.depth_nm + self.above_nm - self.pad_nm

    @property
    def concrete_ft3(self) -> float:
        """Concrete in one: pad and pier, or the full shaft."""
        shaft = _round_ft3(self.pier_nm or self.diameter_nm, self.shaft_nm)
        return _round_ft3(self.diameter_nm, self.pad_nm) + shaft

    def words(self, unit: Unit) -> str:
        """Its size in words: across and deep, and the pad and pier where it has them."""
        hole = f"{format_small(self.diameter_nm, unit)} across, {format_small(self.depth_nm, unit)} deep"
        if not self.pad_nm:
            return hole
        return (
            f"{hole}: a pad {format_small(self.pad_nm, unit)} thick and a round pier of "
            f"{format_small(self.pier_nm, unit)} on it"
        )


def _round_ft3(across_nm: int, tall_nm: int) -> float:
    return concrete_ft3(math.pi / 4 * (across_nm / INCH) ** 2, tall_nm / INCH)


@dataclass(frozen=True, slots=True)
class StairPlan:
    """A flight: equal risers, one tread fewer, and the stringers under it. ``stringer_nm`` is 0 for a single step."""

    risers: int
    riser_nm: int
    treads: int
    width_nm: int
    stringers: int
    stringer_nm: int


@dataclass(frozen=True, slots=True)
class FramePlan:
    """The plan of one platform's frame; lengths in nm.

    ``outline`` holds every member and board as drawn, joints included. ``marks_nm`` are the layout's joist centre lines
    along the full width; ``joist_nm`` the full joist between the rims (or ledger and rim) and ``joist_parts_nm`` its pieces
    where it is longer than the stock; ``loose_joints_nm`` are joints of joists (y) with nothing under them; ``joist_pieces``, ``rim_pieces`` and ``ledger_pieces`` count the cut pieces by length;
    ``ledgers_nm`` are the ledgers' lengths; ``contacts_nm`` are where blocks carry a full joist, ``blocks`` all blocks, pads under beams too,
    ``wood_block`` what each is where they are of wood. Guards and handrails are those the height calls for, whether or not
    the job has them; ``stair_guards`` and ``handrails`` are of each flight.
    """

    platform: Platform
    outline: OutlinePlan
    marks_nm: tuple[int, ...]
    joist_nm: int
    joist_parts_nm: tuple[int, ...]
    loose_joints_nm: tuple[int, ...]
    joist_pieces: Mapping[int, int]
    rim_pieces: Mapping[int, int]
    ledger_pieces: Mapping[int, int]
    ledgers_nm: tuple[int, ...]
    spans_nm: tuple[int, ...]
    blocking_rows_nm: tuple[int, ...]
    contacts_nm: tuple[int, ...]
    blocks: int
    beams: tuple[BeamPlan, ...]
    footing: FootingPlan | None
    stairs: tuple[StairPlan, ...]
    guard: GuardPlan | None
    stair_guards: tuple[StairGuardPlan | None, ...] = ()
    handrails: tuple[HandrailPlan | None, ...] = ()
    wood_block: WoodBlock | None = None

    @property
    def joists(self) -> int:
        """Joists, doubled ones counted twice."""
        return len(self.outline.frame.joists)

    @property
    def rims(self) -> int:
        """Rims, angled ones included, without ledgers."""
        return len(self.outline.frame.rims) - len(self.ledgers_nm)

    @property
    def blocking_nm(self) -> tuple[int, ...]:
        """The length of every piece of blocking."""
        return self.outline.frame.blocking_nm

    @property
    def courses(self) -> Courses:
        """What the deck boards come to."""
        boards = self.outline.boards
        return Courses(boards.courses, boards.pieces, boards.crossings, boards.joints)

    @property
    def posts(self) -> int:
        """Posts that stand."""
        return sum(len(beam.post_at_nm) for beam in self.beams if beam.post_nm)

    @property
    def footings(self) -> int:
        """Footings, with a post on them or without."""
        return 0 if self.footing is None else sum(len(beam.post_at_nm) for beam in self.beams)

    @property
    def guard_nm(self) -> int:
        """How long all its guards are, those of flights along their slope."""
        on_stairs = sum(guard.rake_nm * guard.sides for guard in self.stair_guards if guard is not None)
        return on_stairs + (0 if self.guard is None else self.guard.length_nm)

    @property
    def guard_posts(self) -> int:
        """Posts of all its guards."""
        on_stairs = sum(guard.posts for guard in self.stair_guards if guard is not None)
        return on_stairs + (0 if self.guard is None else self.guard.posts)

    @property
    def nailed_ends(self) -> int:
        """Joist ends nailed through a rim; ends on a ledger hang in hangers."""
        return 2 * self.joists - self.hung_ends

    @property
    def hangers(self) -> Mapping[int, int]:
        """Joist hangers by how many plies each holds: one a joist line on a ledger, a doubled joist in one for both."""
        frame = self.outline.frame
        hung = {joist.line for joist in frame.hung}
        return Counter(line.plies for line in sorted(hung, key=lambda line: line.plies))

    @property
    def hung_ends(self) -> int:
        """Joist ends in hangers, doubled joists counted twice."""
        return sum(plies * number for plies, number in self.hangers.items())


@lru_cache(maxsize=1024)
def plan_frame(platform: Platform, rules: Rules, site: Site, stack: tuple[Platform, ...] = ()) -> FramePlan:
    """Return the framing plan of a platform; its footings carry the platforms of ``stack`` too.

    The last plans are remembered: take-off, checks, hours and drawings all ask for the same ones.

    Raises InputError for sizes no frame can have.
    """
    joists = platform.joists
    joist = platform.depth_nm - 2 * joists.thickness_nm
    longest = max(stock_lengths(joists.size)[-1], platform.rim_stock_nm, platform.joist_stock_nm)
    beams = tuple(_beam(platform, beam) for beam in platform.beams)
    contacts: tuple[int, ...] = ()
    if platform.on_blocks:
        contacts = contact_points(joist, rules.figure("support_longest"))
    held = _held(platform, contacts, joist)
    spans = tuple(after - before for before, after in pairwise(held))
    rows = _blocking_rows(platform, held, joist)
    outline = _outline(platform, tuple(row + joists.thickness_nm for row in rows))
    joined = tuple(at for at in held if _bears_a_joint(platform, at))
    places = tuple(at + joists.thickness_nm for at in joined)
    outline = replace(outline, frame=spliced(outline.frame, longest, places, is_metric(joists.size)))
    frame = outline.frame
    loose = sorted({y for joist in frame.joists for y in joist.joints_nm} - set(places))
    rim_pieces: Counter[int] = Counter()
    ledger_pieces: Counter[int] = Counter()
    for rim in frame.rims:
        (ledger_pieces if rim.kind is RimKind.LEDGER else rim_pieces).update(rim.parts_nm)
    loading = site.loading(rules)
    step = MM if is_metric(joists.size) else SIXTEENTH
    apart = stringer_spacing_nm(composite=platform.decking.kind is BoardKind.COMPOSITE)
    flights = tuple(_stairs(flight.width_nm, flight.rise_nm, step, apart) for flight in platform.stairs)
    runs = tuple(flight.treads * TREAD_RUN for flight in flights)
    return FramePlan(
        platform=platform,
        outline=outline,
        marks_nm=_marks(platform),
        joist_nm=joist,
        joist_parts_nm=split(joist, longest, joined),
        loose_joints_nm=() if platform.support is Support.PLATFORM else tuple(loose),
        joist_pieces=Counter(part for piece in frame.joists for part in piece.parts_nm),
        rim_pieces=rim_pieces,
        ledger_pieces=ledger_pieces,
        ledgers_nm=tuple(rim.length_nm for rim in frame.rims if rim.kind is RimKind.LEDGER),
        spans_nm=spans,
        blocking_rows_nm=rows,
        contacts_nm=contacts,
        blocks=_blocks(outline, rules.figure("support_longest"))
        if contacts
        else sum(beam.posts for beam in platform.beams) * platform.on_pads,
        beams=beams,
        footing=_footing(platform, beams, site, stack, loading) if beams and not platform.on_pads else None,
        stairs=flights,
        guard=plan_guard(platform, step),
        stair_guards=plan_stair_guards(platform, runs, step),
        handrails=plan_handrails(platform, runs, step),
        wood_block=_wood_block(platform, contacts, site, loading) if platform.support is Support.WOOD_BLOCKS else None,
    )


@dataclass(frozen=True, slots=True)
class JoistEnd:
    """An end of a joist past what holds it last: ``past_nm`` to the outside of its rim, ``behind_nm`` the span behind it, which is
    span ``span`` of the platform, counted from the back, from 1.
    """

    past_nm: int
    behind_nm: int
    span: int


@dataclass(frozen=True, slots=True)
class JoistRun:
    """A joist from end to end: ``at_nm`` (y) is what holds it, a ledger or beams, ``ends`` where it runs on past them.

    ``angled`` says that an end is cut to an angled rim: that rim carries it to its neighbors, and it is not in ``ends``
    (common practice).
    """

    at_nm: tuple[int, ...]
    ends: tuple[JoistEnd, ...]
    angled: bool

    @property
    def spans_nm(self) -> tuple[int, ...]:
        """Its spans, from the back."""
        return tuple(b - a for a, b in pairwise(self.at_nm))


@lru_cache(maxsize=1024)
def joist_runs(platform: Platform) -> tuple[JoistRun, ...]:
    """How each joist over beams is held: beside a cut-out one ends short of the beams in front of it.

    Raises InputError for sizes no frame can have.
    """
    joists, frame = platform.joists, _outline(platform).frame
    hung = frame.hung
    beams = sorted({beam.at_nm for beam in platform.beams})
    number = {at: n for n, at in enumerate(beams, 1 if platform.attached else 0)}
    runs = []
    for joist in frame.joists:
        back, front = joist.start_nm - joists.thickness_nm, joist.end_nm + joists.thickness_nm
        under = [at for at in beams if back <= at <= front]
        at = (*([joist.start_nm] if joist in hung else []), *under)
        past = [] if joist in hung or joist.cut_start_tenths or not under else [(under[0] - back, at[:2])]
        past += [] if joist.cut_end_tenths or not under else [(front - under[-1], at[-2:])]
        ends = [JoistEnd(nm, pair[1] - pair[0], number[pair[1]]) for nm, pair in past if nm > 0 and len(pair) == 2]
        runs.append(JoistRun(at, tuple(ends), bool(joist.cut_start_tenths or joist.cut_end_tenths)))
    return tuple(runs)


@dataclass(frozen=True, slots=True)
class StandingLine:
    """A joist line as it stands: its ``number``, ``centre_nm`` from the left end, ``solid_nm`` wide, ``length_nm`` long,
    its front end ``front_nm`` behind the platform's front.
    """

    number: int
    centre_nm: int
    solid_nm: int
    length_nm: int
    front_nm: int


@lru_cache(maxsize=1024)
def standing_lines(platform: Platform) -> tuple[StandingLine, ...]:
    """Every joist line from left to right, doubled joists as one; raises InputError for sizes no frame can have."""
    frame = _outline(platform).frame
    longest = {joist.line: joist for joist in sorted(frame.joists, key=lambda joist: joist.length_nm)}
    return tuple(
        StandingLine(
            line.number, line.centre_nm, line.far_nm - line.near_nm, longest[line].length_nm,
            platform.depth_nm - longest[line].end_nm,
        )
        for line in frame.joist_lines
    )  # fmt: skip


def hung_lines(platform: Platform) -> frozenset[int]:
    """The numbers of the joist lines whose back ends hang in hangers on a ledger; raises InputError for sizes no frame can have."""
    return frozenset(joist.line.number for joist in _outline(platform).frame.hung)


@lru_cache(maxsize=1024)
def fewest_joists_under_a_board(platform: Platform) -> int:
    """What the straight board run that lies on the fewest lies on: joist lines, and the rim under an end beside none. 3, as the
    decking spans ask, for boards at an angle or along the joists: those lie on rims and rows too.

    Raises InputError for sizes no frame can have.
    """
    if platform.decking.angle_deg:
        return LINES_OF_DECKING_SPANS
    boards = _outline(platform).boards.boards
    return min(board.crossings - len(board.joints_nm) for board in boards)


def span_across(platform: Platform, y: int) -> tuple[int, int]:
    """The left and right end of the platform at a distance from its back edge."""
    at = min(y, platform.depth_nm - 1)
    (patch,) = patches([(v, u) for u, v in platform.outline.vertices], at, at + 1)
    return patch.lo, patch.hi


def span_along(platform: Platform, x: int) -> tuple[int, int]:
    """The back and front end of the platform, from its back edge, at a distance from its left end."""
    at = min(x, platform.width_nm - 1)
    (patch,) = patches(platform.outline.vertices, at, at + 1)
    return patch.lo, patch.hi


def _marks(platform: Platform) -> tuple[int, ...]:
    joists = platform.joists
    return joist_marks(platform.width_nm, joists.spacing_nm, joists.thickness_nm)


@lru_cache(maxsize=1024)
def _outline(platform: Platform, rows: tuple[int, ...] = ()) -> OutlinePlan:
    """Frame and boards of a platform with its rows of blocking, remembered: laying the boards is the longest part of a plan,
    and the joist lines are asked for without rows by many.
    """
    decking = platform.decking
    longest = stock_lengths(decking.board)[-1]
    if decking.angle_deg == 0:
        longest = max(longest, platform.rim_stock_nm)
    return plan_outline(
        platform.outline,
        platform.joists,
        decking,
        _marks(platform),
        rows,
        longest,
        overhang_nm=decking.overhang_nm,
        border=decking.border,
        attached=platform.attached,
    )


def _blocks(outline: OutlinePlan, longest_nm: int) -> int:
    """Blocks on the ground: under each joist line, doubled or not, at the contact points of its longest joist."""
    lines: dict[int, int] = {}
    for joist in outline.frame.joists:
        near = joist.line.near_nm
        lines[near] = max(joist.length_nm, lines.get(near, 0))
    return sum(len(contact_points(length, longest_nm)) for length in lines.values())


def _wood_block(platform: Platform, contacts: tuple[int, ...], site: Site, loading: Loading) -> WoodBlock:
    apart = max(after - before for before, after in pairwise(contacts))
    return wood_block(platform, apart, bearing_psf(site), loading)


def bearing_psf(site: Site) -> int:
    """What the ground of a site may bear; soil nobody looked at counts as clay."""
    return soil_bearing_psf("clay" if site.soil == UNKNOWN_SOIL else site.soil)


def _held(platform: Platform, contacts: tuple[int, ...], joist_nm: int) -> tuple[int, ...]:
    """Where each joist is held up, measured along it from its back end."""
    if platform.on_blocks:
        return contacts
    if platform.beams:
        thick = platform.joists.thickness_nm
        beams = [min(max(beam.at_nm - thick, 0), joist_nm) for beam in platform.beams]
        return tuple(sorted({*([0] if platform.attached else []), *beams}))
    return ()  # the platform below carries it all along


def _bears_a_joint(platform: Platform, at_nm: int) -> bool:
    """Whether what holds the joists there is wide enough for the ends of two."""
    if not platform.beams:
        return True
    thick = platform.joists.thickness_nm
    return any(
        beam.at_nm - thick == at_nm and beam.plies * dressed(beam.size).thickness_nm >= 2 * JOIST_BEARING
        for beam in platform.beams
    )


def _blocking_rows(platform: Platform, held: tuple[int, ...], joist_nm: int) -> tuple[int, ...]:
    """Rows of blocking, from the back end of the joists."""
    if platform.decking.angle_deg == 90:
        # Boards laid along the joists need something to cross: rows as far apart as joists would be.
        bays = -(-joist_nm // platform.joists.spacing_nm)
        return tuple(joist_nm * k // bays for k in range(1, bays))
    rows: list[int] = []
    for before, after in pairwise(held):
        bays = -(-(after - before) // BLOCKING_SPAN)
        rows += [before + (after - before) * k // bays for k in range(1, bays)]
    return tuple(rows)


def post_places(platform: Platform, beam: Beam) -> tuple[int, ...]:
    """The centres of a beam's posts, or of the footings it lies on, from its left end: the outer ones flush with its
    ends.
    """
    start, end = span_across(platform, beam.at_nm)
    first = stand_nm(beam) // 2
    last = end - start - first
    return tuple(first + (last - first) * k // (beam.posts - 1) for k in range(beam.posts))


def _beam(platform: Platform, beam: Beam) -> BeamPlan:
    start, end = span_across(platform, beam.at_nm)
    posts = post_places(platform, beam)
    beams = [other.at_nm for other in platform.beams]
    longest = stock_lengths(beam.size)[-1]
    return BeamPlan(
        beam=beam,
        start_nm=start,
        length_nm=end - start,
        parts_nm=split(end - start, longest, posts),
        post_at_nm=posts,
        post_nm=post_nm(platform, beam),
        carried_nm=carried_nm(beam.at_nm, beams, platform.depth_nm, platform.attached),
    )


def _footing(
    platform: Platform, beams: tuple[BeamPlan, ...], site: Site, stack: Sequence[Platform], loading: Loading
) -> FootingPlan:
    psf = bearing_psf(site)
    pads = [
        (post.pad(psf), post.load_lb)
        for beam in beams
        for post in post_loads(beam.post_at_nm, beam.length_nm, beam.carried_nm, stack, loading=loading)
    ]
    size, load = max(pads, key=lambda pad: (pad[0].round_in, pad[1]))
    count = sum(len(beam.post_at_nm) for beam in beams)
    depth = max(footing_depth_nm(site.frost_depth_nm), size.thickness_in * INCH)
    above = max((under_beam_nm(platform, built.beam) for built in beams if not built.post_nm), default=0)
    wide, pad = size.round_in * INCH, size.thickness_in * INCH
    if wide <= FULL_SHAFT or depth + above <= pad:
        return FootingPlan(count, wide, depth, load, psf, above)
    pier = PIER[is_metric(platform.joists.size)]
    return FootingPlan(count, wide, depth, load, psf, above, pad, pier)


def _stairs(width_nm: int, rise_nm: int, step_nm: int, spacing_nm: int) -> StairPlan:
    risers = riser_count(rise_nm)
    treads = risers - 1
    if not treads:
        return StairPlan(risers, rise_nm, 0, width_nm, 0, 0)
    # A foot over the slope for the plumb and level cuts (common practice).
    slope = math.hypot(rise_nm, treads * TREAD_RUN) + FOOT
    stringers = stringer_count(width_nm, spacing_nm)
    return StairPlan(risers, rise_nm // risers, treads, width_nm, stringers, round_up(slope, step_nm))


def plan_job(job: JobSpec) -> tuple[FramePlan, ...]:
    """The framing plan of every platform, in the job's order."""
    return tuple(plan_frame(platform, job.rules, job.site, stacked_on(job, platform)) for platform in job.platforms)


def joint_places(plan: FramePlan) -> str:
    """What the joints of the joists stand over, in words; empty where no joist is joined."""
    platform = plan.platform
    places = {y for joist in plan.outline.frame.joists for y in joist.joints_nm} - set(plan.loose_joints_nm)
    if not places:
        return ""
    if platform.beams:
        names = [f"B{number}" for number, beam in enumerate(platform.beams, 1) if beam.at_nm in places]
        return f"beam {listing(names, 'and')}"
    return platform.support.value if platform.support in ON_GROUND else "the platform below"


def contact_working(plan: FramePlan, unit: Unit) -> tuple[str, ...]:
    """Where the number of blocks under the joists comes from, in words."""
    contacts = plan.contacts_nm
    return (
        f"{count(len(contacts), 'contact point')} under each joist of {format_length(plan.joist_nm, unit)}, "
        f"{format_length(contacts[1] - contacts[0], unit)} apart",
        f"{count(len(plan.outline.frame.joist_lines), 'line')} of joists"
        + (
            f", fewer under those cut short: {plan.blocks}"
            if plan.platform.cuts
            else f" x {len(contacts)} = {plan.blocks}"
        ),
    )


def joint_faults(plan: FramePlan, unit: Unit) -> list[str]:
    """Said where joists are joined and nothing, or too little, holds the joint."""
    return [
        f"a joint of joists at {format_length(y, unit)} from the back has nothing wide enough under it: set a beam of two "
        "plies there, or choose a depth the stock reaches"
        for y in plan.loose_joints_nm
    ]
