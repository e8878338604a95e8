"""The phase template: from first call to yearly care, with its hold points, as data.

A job gets the phases its spec calls for.
The order, the ten hold points and what each phase measures are common practice unless a check names a document.
Hours stand in ``effort``; a contractor's own hours replace them as jobs are finished.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from tracker.text import listing
from tracker.trade.effort import EFFORTS, NO_EFFORT, Effort, Rate
from tracker.trade.places import guard_called_for
from tracker.trade.spec import ON_GROUND, Attachment, BoardKind, Finish, Ground, JobSpec, Support
from tracker.trade.woodblocks import CAUTION as WOOD_BLOCKS


@dataclass(frozen=True, slots=True)
class Wait:
    """Time that must pass before the phase can be signed off: ``rule`` names the house rule that holds the days.

    ``working`` counts working days, else calendar days. ``since`` is the phase whose sign-off starts the wait; without
    it the wait only shapes the plan, from the end of the phases before, and a check decides instead.
    """

    rule: str
    why: str
    since: str = ""
    working: bool = False


@dataclass(frozen=True, slots=True)
class Phase:
    """One phase of the template.

    ``when`` lists facts of which one must hold (empty: always). ``hold`` is the hold point's number, 0 for none: it is
    signed off before any phase after it in the template begins. ``checks`` belong to the phase; ``standing`` checks of
    earlier phases must be good on the day it starts. ``after`` names the phases it comes straight after (empty: the one
    before); ``stands_on`` follows them all the way down. ``outdoors`` work stops on rain days. ``office`` phases use no
    crew. ``into`` names the phase it folds into, the first that is there (see ``folds``), ``short`` what it is called there, ``within`` what is folded into
    this one. ``cautions`` hold always, ``cautions_of`` (a fact and its caution) where the job has that fact.
    """

    key: str
    title: str
    effort: Effort = NO_EFFORT
    when: tuple[str, ...] = ()
    hold: int = 0
    checks: tuple[str, ...] = ()
    standing: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    wait: Wait | None = None
    outdoors: bool = False
    office: bool = False
    into: tuple[str, ...] = ()
    short: str = ""
    within: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    cautions_of: tuple[tuple[str, str], ...] = ()


_NAILS = "Nail gun: hands clear of the far side of the joint, eye protection on, sequential trip."
_SAW = "Saw: guard working, cord behind you, blade clear of the support before you cut; eyes and ears protected."
_DUST = "Treated wood: dust mask and goggles when sawing, gloves on, wash before eating; never burn the scrap."
_LIFT = "Lifting: two people on long or wet boards; wet treated stock can weigh half as much again as dry."
_DIG = "Digging: hand-dig beside the marks, and know that marks say nothing of depth; private lines are not marked."
_CEMENT = "Wet concrete burns skin: waterproof gloves and boots, eye protection, rinse splashes at once."
_RAGS = "Oily rags catch fire by themselves: spread them flat outdoors to dry or drown them in a lidded metal can."
_EDGE = "Open edge: keep people off until the guard stands; local code decides where one is required."
_OLD_DECK = "Old deck: shore it before the ledger or a post is cut, nails down; old treated wood may hold arsenic: never burn or chip it."
_INSPECTOR = Wait("inspection_lead", "the inspector, who is booked ahead", working=True)
_CODE = "Structure: the adopted local code and a licensed professional decide; this is a working check only."

_TEMPLATE: tuple[Phase, ...] = (
    Phase("first-call", "First call", when=("raised",), office=True,
          cautions=("A roof, a hot tub or a screen room on the deck changes every size: ask now.",)),
    Phase("visit", "Site visit", office=True, into=("design", "quote"), short="visit",
          cautions=("Look up for wires, down for vents, wells and cellar windows before you measure.",)),
    Phase("permit", "Permit and zoning", when=("permit",), office=True, checks=("permit",), after=("visit",),
          cautions=("Exempt from a permit is not exempt from the code, setbacks or easements: ask the local office.",)),
    Phase("design", "Design and sizes", office=True, checks=("design",), after=("visit",),
          cautions=(_CODE,)),
    Phase("quote", "Take-off and quote", office=True, after=("design",), into=("design",), short="quote"),
    Phase("locate", "Utility locate", when=("digging",), hold=1, checks=("locate",),
          wait=Wait("locate_lead", "the locate call's lead time", working=True), office=True, after=("quote",),
          cautions=(_DIG,)),
    Phase("delivery", "Delivery and yard check", checks=("delivery", "stock-lengths"),
          after=("quote",), cautions=(_LIFT,)),
    Phase("old-deck", "Old deck away", when=("old deck",), outdoors=True, after=("quote", "permit"),
          cautions=(_OLD_DECK, _DUST, _LIFT)),
    Phase("layout", "Layout", hold=2, checks=("layout-square",), outdoors=True,
          after=("quote", "permit", "old-deck"), cautions=("Strings and stakes trip people: flag them.",)),
    Phase("strip", "Strip and grade", when=("bare ground",), checks=("stripped",), standing=("permit", "locate"),
          outdoors=True, after=("layout", "locate"), cautions=(_DIG,)),
    Phase("drainage", "Drainage", when=("drainage",), standing=("permit", "locate"), outdoors=True,
          cautions=(_DIG, "Water goes where the local office lets it: never to a neighbor.")),
    Phase("dig", "Dig footings", when=("footings",), hold=3,
          standing=("permit", "locate"), outdoors=True, cautions=(_DIG, "Cover open holes overnight.")),
    Phase("inspect-footings", "Wait for the footing inspector", when=("footings",), checks=("footing-inspection",),
          wait=_INSPECTOR, office=True, into=("dig",), cautions=("Cover open holes overnight.",)),
    Phase("pads", "Cloth, gravel and pads", when=("pads to lay",), hold=4, checks=("base",),
          standing=("permit", "locate"), outdoors=True,
          cautions=("Plate compactor: feet and cords clear, ears protected.",)),
    Phase("pour", "Pour footings", when=("footings",), hold=5, checks=("footing",), outdoors=True,
          cautions=(_CEMENT, "Cutting concrete makes silica dust: cut wet, wear a mask.")),
    Phase("cure", "Cure", when=("footings",),
          wait=Wait("cure_days", "the concrete gaining strength", since="pour"),
          cautions=("Protect fresh concrete from frost; load nothing on it early.",)),
    Phase("posts", "Blocks, posts and beams", checks=("block-level", "post", "beam"), outdoors=True,
          after=("cure", "pads", "delivery"), cautions=(_LIFT, _CODE), cautions_of=(("wood blocks", WOOD_BLOCKS),)),
    Phase("ledger", "Ledger", when=("attached",), hold=6, checks=("ledger",), outdoors=True,
          after=("pour", "pads", "delivery"),
          cautions=(_CODE, "Ladder: footed and tied, three points of contact.")),
    Phase("frame", "Frame", outdoors=True, after=("posts", "ledger", "delivery"),
          checks=("crown", "joist-spacing", "span", "fasteners", "support", "square", "level"),
          cautions=(_NAILS, _SAW, _DUST)),
    Phase("rough-in", "Rough wiring, stringers and guard posts",
          when=("stairs", "guard", "electric"), checks=("stringers",), outdoors=True,
          cautions=("Wiring: a licensed electrician and the local office decide.", _SAW, _EDGE)),
    Phase("under-deck", "Under-deck close-out", hold=7, checks=("soil-and-air",), outdoors=True, into=("frame",), short="close-out",
          cautions=("Once boards are on, nothing below can be reached: photograph it.",)),
    Phase("inspect-frame", "Wait for the framing inspector", checks=("framing-inspection",),
          wait=_INSPECTOR, office=True, into=("under-deck",)),
    Phase("board-gap", "Board moisture and gap", hold=8, checks=("gap",),
          after=("under-deck", "inspect-frame", "rough-in")),
    Phase("boards", "Deck boards", checks=("board-layout", "screws"), outdoors=True,
          cautions=(_SAW, _DUST, "Kneeling work: pads on, straighten up every row.")),
    Phase("guards", "Guard, rail and stairs", when=("stairs", "guard"), checks=("stair", "guard"), outdoors=True,
          cautions=(_EDGE, _CODE)),
    Phase("electric", "Electrical fixtures", when=("electric",), outdoors=True,
          cautions=("Wiring: a licensed electrician and the local office decide; power off and locked before a box is opened.",)),
    Phase("site-close", "Site close", outdoors=True, into=("boards",), short="site close", cautions=(_DUST, "Sweep for nails with a magnet.")),
    Phase("inspect-final", "Wait for the final inspector", checks=("final-inspection",),
          wait=_INSPECTOR, office=True, into=("final",)),
    Phase("final", "Final walk-through", hold=9, into=("hand-over",), short="walk-through"),
    Phase("hand-over", "Hand-over", office=True, after=("final", "permit")),
    Phase("finish", "Finish", when=("finish",), hold=10, checks=("finish-ready",), outdoors=True,
          wait=Wait("drying_days", "the boards drying", since="boards"), cautions=(_RAGS,)),
    Phase("care", "First-year care", when=("wood",), office=True, into=("hand-over",), short="care"),
)  # fmt: skip

PHASES: tuple[Phase, ...] = tuple(replace(phase, effort=EFFORTS.get(phase.key, phase.effort)) for phase in _TEMPLATE)
HAND_OVER, FINISH, CARE = "hand-over", "finish", "care"
"""The phases at the end of a job that others ask for by name."""
BY_KEY: Mapping[str, Phase] = {phase.key: phase for phase in PHASES}


def facts(job: JobSpec) -> frozenset[str]:
    """The facts of a job that choose its phases."""
    found: set[str] = set()
    bare = job.site.ground is not Ground.READY
    if bare:
        found.add("bare ground")
    for platform in job.platforms:
        if platform.attachment is Attachment.HOUSE:
            found.add("attached")
        if platform.support is Support.FOOTINGS:
            found |= {"footings", "raised"}
        if platform.support is Support.BLOCKS and bare:
            found.add("pads to lay")
        if platform.support is Support.WOOD_BLOCKS:
            found.add("wood blocks")
        if platform.stairs:
            found.add("stairs")
        if guard_called_for(platform) is not None:
            found.add("guard")
        if platform.decking.kind is BoardKind.WOOD:
            found.add("wood")
    if job.site.digging or "footings" in found:
        found.add("digging")
    if job.site.electric:
        found.add("electric")
    if job.permit:
        found.add("permit")
    if job.site.old_deck_nm:
        found.add("old deck")
    if job.site.drain_nm:
        found |= {"drainage", "digging"}
    if job.finish is not Finish.NONE:
        found.add("finish")
    return frozenset(found)


@dataclass(frozen=True, slots=True)
class PhaseChange:
    """A contractor's change to one phase of the template: leave it out, other hours, more or fewer checks.

    ``hours`` are person-hours for the whole phase; ``each`` are person-hours for each unit of its quantity.
    """

    skip: bool = False
    hours: float | None = None
    without_checks: tuple[str, ...] = ()
    each: float | None = None

    @property
    def sets_hours(self) -> bool:
        """Whether it gives hours of its own."""
        return self.hours is not None or self.each is not None

    def effort(self, usual: Effort) -> Effort:
        """The phase's effort with the contractor's own hours in place of the ``usual`` ones, which no pace scales."""
        if self.each is not None and usual.per:
            return Effort(self.hours or 0.0, (Rate(self.each, usual.per),), usual.per)
        return usual if self.hours is None else Effort(self.hours)


SMALL_FT2 = 125
"""A single platform of this area or less, on the ground, free-standing, without permit, stairs or guard, is small: its phases
without a check of their own fold into their neighbor (our own figure; a 10x12 of whole boards has 122.5 ft2)."""


def is_small(job: JobSpec) -> bool:
    """Whether the job is one small platform on the ground."""
    (first, *more) = job.platforms
    at_ground = (
        first.support in ON_GROUND and not first.attached and not first.stairs and guard_called_for(first) is None
    )
    return at_ground and not more and not job.permit and first.area_ft2 <= SMALL_FT2


def folds(job: JobSpec, apart: Container[str] = (), begun: Container[str] = ()) -> frozenset[str]:
    """The phases that fold into another: those of a small platform, where the house rule does not keep them apart; waits for an inspector where there is no permit, or where
    what they follow is ``begun``.

    Phases of ``apart`` stay on their own, as a job has them already.
    """
    small = is_small(job) and job.rules.text("small_phases", job.unit) == "folded"

    def folds_in(phase: Phase) -> bool:
        if phase.wait is None:
            return small
        return not job.permit or any(host in begun for host in phase.into)

    return frozenset(phase.key for phase in PHASES if phase.into and phase.key not in apart and folds_in(phase))


def begun_by(keys: Container[str]) -> frozenset[str]:
    """The phases that are begun once those of ``keys`` are: themselves and every one before the last of them."""
    order = [phase.key for phase in PHASES]
    last = max((number for number, key in enumerate(order) if key in keys), default=-1)
    return frozenset(order[: last + 1])


def phases_for(
    job: JobSpec, changes: Mapping[str, PhaseChange] | None = None, folded: Container[str] | None = None
) -> tuple[Phase, ...]:
    """The phases this job goes through, in order, after the contractor's changes.

    ``after`` names only phases present: what a phase left out came after is come after in its place, and every hold point
    before the phase that ``after`` does not lead down to is named in it too. Those ``folded`` (of themselves: ``folds``) hand
    checks, hours and cautions to the phase they fold into, where the job has it. Raises KeyError when a change names a phase
    the template does not have.
    """
    changes = changes or {}
    if unknown := [key for key in changes if key not in BY_KEY]:
        raise KeyError(unknown[0])
    known = facts(job)
    pace = job.rules.figure("pace")
    chosen = {
        phase.key: _as_changed(phase, changes.get(phase.key, PhaseChange()), known, pace)
        for phase in PHASES
        if (not phase.when or known & set(phase.when)) and not changes.get(phase.key, PhaseChange()).skip
    }
    present = _fold(chosen, folds(job) if folded is None else folded)
    stands_for: dict[str, tuple[str, ...]] = {}
    before: tuple[str, ...] = ()
    down: dict[str, frozenset[str]] = {}
    out: list[Phase] = []
    for phase in PHASES:
        after = tuple(dict.fromkeys(key for name in phase.after for key in stands_for[name])) or before
        if phase.key not in present:
            stands_for[phase.key] = before = after
            continue
        stands_for[phase.key] = before = (phase.key,)
        for earlier in reversed(out):
            if earlier.hold and earlier.key not in _reach(after, down):
                after += (earlier.key,)
        down[phase.key] = _reach(after, down)
        out.append(replace(present[phase.key], after=after))
    return tuple(out)


def _as_changed(phase: Phase, change: PhaseChange, known: frozenset[str], pace: int) -> Phase:
    return replace(
        phase,
        checks=tuple(key for key in phase.checks if key not in change.without_checks),
        effort=change.effort(phase.effort.at(pace)),
        cautions=(*phase.cautions, *(text for fact, text in phase.cautions_of if fact in known)),
    )


def _fold(chosen: Mapping[str, Phase], folded: Container[str]) -> dict[str, Phase]:
    """The phases with those folded taken into the ones they fold into; a wait adds nothing to the other's title."""
    out, order = dict(chosen), list(chosen)
    went: dict[str, str] = {}
    for key in reversed(order):
        phase = out[key]
        into = next((went.get(name, name) for name in phase.into if name in chosen), "")
        if key not in folded or not into:
            continue
        went[key] = into
        del out[key]
        host = out[into]
        pair = (phase, host) if order.index(key) < order.index(into) else (host, phase)
        out[into] = replace(
            host,
            effort=host.effort.with_more(phase.effort),
            hold=host.hold or phase.hold,
            checks=tuple(check for part in pair for check in part.checks),
            standing=tuple(dict.fromkeys(check for part in pair for check in part.standing)),
            within=(*phase.within, key, *host.within),
            cautions=tuple(dict.fromkeys(text for part in pair for text in part.cautions)),
        )
    return {
        key: replace(phase, title=_with_folded(phase, chosen)) if phase.within else phase for key, phase in out.items()
    }


def _with_folded(host: Phase, chosen: Mapping[str, Phase]) -> str:
    """``Design and sizes with visit and quote``."""
    shorts = [chosen[key].short for key in chosen if key in host.within and chosen[key].short]
    return f"{host.title} with {listing(shorts, 'and')}" if shorts else host.title


def names_of(phase: Phase) -> tuple[str, ...]:
    """What a person may call a phase of a job, in lower case: its key and title, and those of what is folded into it."""
    keys = (phase.key, *phase.within)
    return tuple(dict.fromkeys((*keys, phase.title.lower(), *(BY_KEY[key].title.lower() for key in keys))))


def stands_on(phases: Sequence[Phase]) -> dict[str, tuple[str, ...]]:
    """For each phase of a job, the phases it stands on, all the way down: those of ``after`` and those they come after.

    The nearest first: the last in the job's order. ``phases`` as ``phases_for`` gives them; phases that are not among them
    are passed over.
    """
    down: dict[str, frozenset[str]] = {}
    for phase in phases:
        down[phase.key] = _reach((key for key in phase.after if key in down), down)
    keys = [phase.key for phase in reversed(phases)]
    return {key: tuple(below for below in keys if below in reached) for key, reached in down.items()}


def _reach(after: Iterable[str], down: Mapping[str, frozenset[str]]) -> frozenset[str]:
    """The phases named, and all those they stand on."""
    named = frozenset(after)
    return named.union(*(down[key] for key in named))
