"""The close-out under the deck: what boards hide for good, read in numbers before they do."""

from __future__ import annotations

import math

from tracker.text import listing
from tracker.trade.answer import Answer, Limit, Plain
from tracker.trade.checks.base import Case, Check, incomplete
from tracker.trade.checks.fall import drainage_nm, judge_fall, read_fall, run_example
from tracker.trade.checks.found import Found, missing
from tracker.trade.lengths import FOOT, INCH, Unit, format_length, format_small, format_trade, inches
from tracker.trade.lumber import REACH_NM, USE_SOURCE, dressed, framing_wants_ground_contact, use_category_ok
from tracker.trade.plausible import on_the_deck
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.rules import COMMON
from tracker.trade.spec import JobSpec, Platform, Support

OPENING_SHARE = 150
"""One part of opening to so many of floor: from memory, IRC R408.1 for under-floor spaces, taken for low decks here."""
OPEN_SIDES = 2
"""Air crosses from one side to another (common practice)."""
HOUSE_FALL = (6 * INCH, 10 * FOOT)
"""Drop and run of the ground away from a house (from memory: IRC R401.3)."""
OPENING_SOURCE = "from memory: IRC R408.1 for under-floor spaces; for low decks common practice"
HOUSE_FALL_SOURCE = "from memory: IRC R401.3"
_SOURCE = (
    f"clearance, fall and tape: {COMMON} (limits: the house rules); treatment: {USE_SOURCE}; air: {OPENING_SOURCE}"
)
_CAUTION = (
    "Once boards are on, nothing below can be reached. Nobody lies under a frame that only a jack holds; treated scrap is"
    " bagged, never burned."
)


def lowest_wood_nm(platform: Platform) -> int:
    """From the ground, level as planned, to the lowest wood of the frame: a beam's underside, else the joists'; 0 at the least."""
    deep = max((dressed(beam.size).depth_nm for beam in platform.beams), default=0)
    return max(platform.height_nm - platform.decking.thickness_nm - platform.joists.depth_nm - deep, 0)


def is_low(platform: Platform) -> bool:
    """Whether nobody gets under the deck again once its boards are on."""
    return lowest_wood_nm(platform) < REACH_NM


def tape_wanted(case: Case) -> bool:
    """Whether the house wants tape on its joists."""
    return case.rules.text("joist_tape", case.job.unit) == "yes"


def _form(case: Case) -> Form:
    unit, platform = case.job.unit, case.platform
    away = "away from the house" if platform.attached else "to where the water goes"
    air = (
        Field("open-length", "open edge below the frame", Kind.LENGTH,
              example=format_length(2 * platform.depth_nm // FOOT * FOOT, unit) if unit is Unit.INCH else "4000",
              help="where air gets in, all sides together"),
        Field("open-height", "its height", Kind.LENGTH, example=format_small(3 * INCH, unit),
              help="the least, clear; behind a lattice or grille only the free part"),
        Field("open-sides", "sides with an open edge", Kind.COUNT, example=str(OPEN_SIDES)),
    ) if is_low(platform) else ()  # fmt: skip
    tape = (
        Field("tape", "joist tape on every joist, rim and beam", Kind.YESNO, example="yes", help="the house rule asks for it"),
    ) if tape_wanted(case) else ()  # fmt: skip
    return Form(
        fields=(
            Field("clearance", "least clearance to the ground", Kind.LENGTH,
                  example=format_small(lowest_wood_nm(platform), unit),
                  help="from soil or stone to the lowest joist, rim or beam, where it is least"),
            Field("fall", "fall of the ground", Kind.SIGNED, example=format_small(6 * INCH, unit),
                  help=f"{away}, in the run below; a minus where it falls the other way"),
            Field("run", "in a run of", Kind.LENGTH, example=run_example(unit),
                  help="level, as far as the fall was read"),
            *air,
            *tape,
            Field("clear", "scrap, sod and leaves are out", Kind.YESNO, example="yes", help="every piece: it feeds termites"),
            Field("photos", "photographs taken", Kind.COUNT, example="8",
                  help="ties, hangers, ledger and flashing, posts, wiring and the tape at the clearance"),
        )
    )  # fmt: skip


def _judge(case: Case, readings: Readings) -> Answer:
    unit, platform, rules = case.job.unit, case.platform, case.rules
    if wanted := missing(_form(case), readings):
        return incomplete(listing(wanted, "and"), source=_SOURCE)
    found = Found()
    answer: dict[str, Plain] = {}
    limits = [rules.limit("soil_clearance", unit)]
    contact = _clearance(case, readings, found, limits)
    percent = _fall(case, readings, found, limits)
    answer |= {"clearance_in": inches(readings.whole("clearance")), "ground_contact": contact, "fall_percent": percent}
    if is_low(platform):
        answer |= _air(case, readings, found, limits)
    if tape_wanted(case):
        limits.append(rules.limit("joist_tape", unit))
        if not readings.yes("tape"):
            found.fault(
                "joists without tape", "tape the top of every joist, rim and beam before the boards go on (house rule)"
            )
    if not readings.yes("clear"):
        found.fault("scrap or sod lies under the deck", "take out every piece of wood, sod and leaves")
    photos = readings.whole("photos")
    answer["photos"] = photos
    if not photos:
        found.fault(
            "no photographs", "photograph ties, hangers, ledger and flashing, posts and wiring before boards hide them"
        )
    clear, rate = format_small(readings.whole("clearance"), unit), f"{percent:g} %"
    return found.verdict(
        f"{clear} clear of the ground, which falls {rate}; {photos} photographs taken",
        inputs={"planned_clearance_in": inches(lowest_wood_nm(platform)), "low": is_low(platform)},
        answer=answer,
        source=_SOURCE,
        limits=limits,
        caution=_CAUTION,
    )


def _clearance(case: Case, readings: Readings, found: Found, limits: list[Limit]) -> bool:
    """Clearance against the house rule and the treatment; whether the frame counts as in contact with the ground."""
    unit, platform, rules = case.job.unit, case.platform, case.rules
    clear, least = readings.whole("clearance"), rules.figure("soil_clearance")
    on_the_deck(
        clear, platform.height_nm, "a clearance of", f"a deck {format_trade(platform.height_nm, unit)} high", unit
    )
    category, contact = platform.joists.use_category, framing_wants_ground_contact(clear)
    near = format_small(REACH_NM, unit)
    limits.append(Limit(f"treatment of joists and beams less than {near} above the ground", "UC4A", USE_SOURCE))
    found.working.append(
        f"clearance {format_small(clear, unit)}, at least {format_small(least, unit)}; joists and beams are {category},"
        f" {'UC4A is' if contact else 'UC3B will do, it is not'} asked for under {near}"
    )
    if clear < least:
        found.fault(
            f"{format_small(clear, unit)} from the ground to the frame",
            f"take {format_small(least - clear, unit)} of soil or stone away below it",
        )
    if contact and not use_category_ok(category, ground_contact=True):
        found.fault(
            f"{category} wood {format_small(clear, unit)} above the ground",
            f"dig out to {near} clear, or change what is below that for UC4A before boards hide it",
        )
    return contact


def _fall(case: Case, readings: Readings, found: Found, limits: list[Limit]) -> float:
    """The fall of the ground in percent, against the rule in force: the steeper one beside a house."""
    unit, rules = case.job.unit, case.rules
    drop, run = read_fall(readings, unit)
    least = drainage_nm(run, rules)
    limits.append(rules.limit("drainage_fall", unit))
    away = ""
    if case.platform.attached:
        high, far = HOUSE_FALL
        least, away = max(least, run * high / far), " away from the house"
        limits.append(
            Limit(
                "fall of the ground from the house",
                f"{format_small(high, unit)} in {format_trade(far, unit)}",
                HOUSE_FALL_SOURCE,
            )
        )
    found.working.append(
        f"fall: {format_small(drop, unit)} in {format_length(run, unit)} = {100 * drop / run:.1f} %; at least"
        f" {format_small(round(least), unit)} in that run"
    )
    judge_fall(drop, run, least, found, unit, f"{away}, so that no water stands below")
    return round(100 * drop / run, 2)


def _air(case: Case, readings: Readings, found: Found, limits: list[Limit]) -> dict[str, Plain]:
    """Openings for air, against the floor above them."""
    unit, platform = case.job.unit, case.platform
    length, height, sides = (readings.whole(key) for key in ("open-length", "open-height", "open-sides"))
    corners = platform.outline.vertices
    around = round(sum(math.dist(a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True)))
    on_the_deck(length, around, "an open edge of", f"an edge of {format_length(around, unit)} all round", unit)
    on_the_deck(
        height, platform.height_nm, "an opening of", f"a deck {format_trade(platform.height_nm, unit)} high", unit
    )
    needed = platform.area_ft2 / OPENING_SHARE
    area = length * height / FOOT**2
    limits.append(Limit("openings to the floor above", f"1/{OPENING_SHARE} of its area", OPENING_SOURCE))
    limits.append(Limit("sides with openings, at the least", str(OPEN_SIDES), COMMON))
    found.working.append(
        f"openings: {format_length(length, unit)} x {format_small(height, unit)} = {area:.2f} ft2;"
        f" {platform.area_ft2:.1f} ft2 / {OPENING_SHARE} = {needed:.2f} ft2 at the least"
    )
    if area < needed:
        if height:
            long = format_length(round(needed * FOOT**2 / height / INCH + 0.5) * INCH, unit)
            move = f"open {long} of the edge at that height, or make the openings taller"
        else:
            move = "open the edge below the frame"
        found.fault("too little air gets below the boards", move)
    if sides < OPEN_SIDES:
        found.fault(
            "air gets in on one side only" if sides else "no side is open",
            f"open {OPEN_SIDES} sides, so that air crosses below",
        )
    return {"open_area_ft2": round(area, 2), "open_needed_ft2": round(needed, 2), "open_sides": sides}


def _stands_over_ground(job: JobSpec, platform: Platform) -> bool:
    return platform.support is not Support.PLATFORM


UNDER_DECK = Check(
    key="soil-and-air",
    title="Ground, air and water below",
    asks="the least clearance, the ground's fall, the openings for air; look for scrap; photograph all that boards will hide",
    source=_SOURCE,
    form=_form,
    judge=_judge,
    applies=_stands_over_ground,
    caution=_CAUTION,
)
