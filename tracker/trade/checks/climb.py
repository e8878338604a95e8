"""The checks of what people climb and lean on: the flights of a stair and the guard, as built."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.errors import InputError
from tracker.text import count, listing
from tracker.trade.answer import Answer, Limit, Plain
from tracker.trade.cautions import code_decides
from tracker.trade.checks.base import Case, Check, incomplete
from tracker.trade.checks.found import Found, missing
from tracker.trade.framing import BALUSTER
from tracker.trade.guards import (
    BUILD_OPENING_NM,
    HEIGHT_LEAST_NM,
    OPENING_NM,
    POST_SPACING_MOST_NM,
    STAIR_HEIGHT_LEAST_NM,
    STAIR_OPENING_NM,
    TRIGGER_NM,
    guard_required,
)
from tracker.trade.guards import SOURCE as GUARD_SOURCE
from tracker.trade.lengths import INCH, Unit, format_small, format_trade, inches
from tracker.trade.movement import FIBRE_SATURATION_TENTHS, change_nm, check_moisture, find_timber
from tracker.trade.plausible import meter_reading, on_the_deck, positive, right_unit
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.spec import BoardKind, Platform, Stairs
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
_GUARD_SOURCE = (
    f"{GUARD_SOURCE}; post spacing from memory: DCA 6 guard details; dry opening: Wisconsin deck code, guards;"
    " movement: Wood Handbook ch. 13"
)
POST_FIXING = "Wisconsin deck code, guards: hold-down of 1,800 lb, no notching, bolts 2 in from an edge"
"""How a guard post is held."""
_RISE_OVER_NM = 4 * INCH
"""What the risers may add up to over the planned rise, the ground not being where it was planned: a bound of this program."""
_RISE_SLACK_NM = INCH
"""A flight read to within this of its planned rise is read whole."""


def _flights(platform: Platform) -> dict[str, Stairs]:
    """Flights by the letter their steps are named with; a single flight needs none."""
    if len(platform.stairs) == 1:
        return {"": platform.stairs[0]}
    return {chr(ord("a") + number): flight for number, flight in enumerate(platform.stairs)}


def _steps(letter: str, flight: Stairs) -> list[str]:
    return [f"{letter}{step}" for step in range(1, riser_count(flight.rise_nm) + 1)]


def _stair_form(case: Case) -> Form:
    unit, flights = case.job.unit, _flights(case.platform)
    rows = [step for letter, flight in flights.items() for step in _steps(letter, flight)]
    most = max((riser_count(flight.rise_nm) for flight in flights.values()), default=0)
    low, high = flights and max(flight.rise_nm for flight in flights.values()) > TRIGGER_NM, most >= HANDRAIL_RISERS
    return Form(
        fields=(
            Field("width", "clear width", Kind.LENGTH, example=format_trade(WIDTH_LEAST_NM, unit), help="the narrowest"),
            Field("handrail", "handrail height", Kind.LENGTHS, required=high,
                  example=f"{format_trade(36 * INCH, unit)}; {format_trade(36 * INCH, unit)}",
                  help="straight up from the nosings, at the top and the bottom"),
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
    )  # fmt: skip


def _judge_stair(case: Case, readings: Readings) -> Answer:
    unit, flights = case.job.unit, _flights(case.platform)
    form = _stair_form(case)
    wanted = [spec.label for spec in form.fields if spec.required and not readings.has(spec.key)]
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
    most = max(len(found_rises) for found_rises in rises.values())
    _around(readings, most, max(sum(found_rises) for found_rises in rises.values()), found, unit)
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


def _around(readings: Readings, most: int, rise_nm: int, found: Found, unit: Unit) -> None:
    """Width, landing, handrail and open risers."""
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
    rails = readings.values.get("handrail", ())
    for nm in rails if isinstance(rails, tuple) else ():
        positive(nm, "the handrail's height", unit)
        right_unit(nm, HANDRAIL_LOW_NM, "the handrail's height", unit)
        if not HANDRAIL_LOW_NM <= nm <= HANDRAIL_HIGH_NM:
            found.fault(
                f"the handrail is {format_small(nm, unit)} high",
                f"set it {format_small(HANDRAIL_LOW_NM, unit)} to {format_small(HANDRAIL_HIGH_NM, unit)} above the nosings",
            )
    if most >= HANDRAIL_RISERS and not rails:
        found.fault(f"{most} risers and no handrail", "fit a graspable handrail the length of the flight")
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

_WOOD, _NOT_WOOD = "wood", "metal, glass or composite"


def _guard_form(case: Case) -> Form:
    unit, platform = case.job.unit, case.platform
    planned = platform.guard.height_nm if platform.guard else HEIGHT_LEAST_NM
    opening = format_small(BUILD_OPENING_NM, unit)
    stair = (
        Field("stair-height", "guard height on the stair", Kind.LENGTH, required=False,
              example=format_trade(STAIR_HEIGHT_LEAST_NM, unit), help="straight up from the nosings"),
        Field("stair-opening", "widest opening on the stair", Kind.LENGTH, required=False, example=opening),
    ) if platform.stairs else ()  # fmt: skip
    return Form(
        fields=(
            Field("heights", "height", Kind.LENGTHS, example=f"{format_trade(planned, unit)}; {format_trade(planned, unit)}",
                  help="above the boards, the lowest of every side"),
            Field("posts", "posts apart", Kind.LENGTHS, example=format_trade(66 * INCH, unit),
                  help="on centre, the widest of every side"),
            Field("openings", "openings", Kind.LENGTHS, example=f"{opening}; {opening}",
                  help="the widest: between balusters, beside posts, under the bottom rail"),
            Field("fixed", "posts held and unnotched", Kind.YESNO, example="yes",
                  help="through-bolted to blocked framing with hold-downs, none notched"),
            Field("push", "stands a 200 lb push", Kind.YESNO, required=False, example="yes"),
            Field("infill", "infill", Kind.CHOICE, required=False, choices=(_WOOD, _NOT_WOOD), example=_WOOD,
                  help="left blank, wood"),
            Field("moisture", "moisture of the balusters", Kind.PERCENT, required=False, example="19",
                  help="left blank, wet wood is taken"),
            Field("baluster", "baluster width", Kind.LENGTH, required=False, example=format_small(BALUSTER, unit),
                  help="left blank, a 2x2"),
            *stair,
        )
    )  # fmt: skip


def _shrink_nm(case: Case, readings: Readings, found: Found) -> int:
    """How much each opening grows as the balusters dry, in nm; none for infill that is not wood."""
    if readings.word("infill", _WOOD) == _NOT_WOOD:
        return 0
    unit, decking = case.job.unit, case.platform.decking
    wood = decking.species if decking.kind is BoardKind.WOOD else case.platform.joists.species
    try:
        wood = find_timber(wood).name
    except InputError:
        wood = "southern pine"
    wide = readings.whole("baluster") if readings.has("baluster") else BALUSTER
    positive(wide, "the baluster width", unit)
    right_unit(wide, BALUSTER, "the baluster width", unit)
    now = readings.whole("moisture") if readings.has("moisture") else FIBRE_SATURATION_TENTHS
    meter_reading(now, "the moisture of the balusters")
    service = case.job.site.service_moisture_tenths
    shrink = max(0, -change_nm(wide, wood, check_moisture(now), service))
    said = "" if readings.has("moisture") else " (not read: taken as wet)"
    found.working.append(
        f"a {format_small(wide, unit)} {wood} baluster at {now / 10:g} %{said} dries to {service / 10:g} % and leaves"
        f" each opening {format_small(shrink, unit, 64)} wider"
    )
    return shrink


def _judge_guard(case: Case, readings: Readings) -> Answer:
    unit, platform = case.job.unit, case.platform
    if wanted := missing(_guard_form(case), readings):
        return incomplete(listing(wanted, "and"), source=_GUARD_SOURCE)
    found = Found()
    heights, posts, openings = (_list(readings, key) for key in ("heights", "posts", "openings"))
    for what, values, about in (
        ("height", heights, HEIGHT_LEAST_NM),
        ("opening", openings, OPENING_NM),
        ("post spacing", posts, POST_SPACING_MOST_NM),
    ):
        for nm in values:
            positive(nm, f"the guard's {what}", unit)
            right_unit(nm, about, f"the guard's {what}", unit)
    side = max(platform.width_nm, platform.depth_nm)
    on_the_deck(max(posts), side, "the guard's post spacing", f"a deck {format_trade(side, unit)} long", unit)
    planned = platform.guard.height_nm if platform.guard else HEIGHT_LEAST_NM
    required = guard_required(platform.height_nm)
    least = max(planned, HEIGHT_LEAST_NM) if required else planned
    found.working.append(
        f"the deck stands {format_trade(platform.height_nm, unit)}: a guard is {'' if required else 'not '}required"
        f" (over {format_trade(TRIGGER_NM, unit)}); planned {format_trade(planned, unit)}, at least {format_trade(least, unit)}"
    )
    if min(heights) < least:
        found.fault(
            f"the guard is {format_trade(min(heights), unit)} high",
            f"raise it {format_small(least - min(heights), unit)}, to {format_trade(least, unit)}",
        )
    if max(posts) > POST_SPACING_MOST_NM:
        found.fault(
            f"guard posts stand {format_trade(max(posts), unit)} apart",
            f"set one between: {format_trade(POST_SPACING_MOST_NM, unit)} on centre is the most",
        )
    shrink = _shrink_nm(case, readings, found)
    dry = max(openings) + shrink
    _opening("opening", max(openings), dry, OPENING_NM, found, unit)
    if not readings.yes("fixed"):
        found.fault("guard posts are notched or not held down", f"refit the posts ({POST_FIXING})")
    if readings.has("push") and not readings.yes("push"):
        found.fault("the guard gives under 200 lb", "add blocking and hold-downs at the posts, then push again")
    if readings.has("stair-height") and readings.whole("stair-height") < STAIR_HEIGHT_LEAST_NM:
        found.fault(
            f"the guard on the stair is {format_trade(readings.whole('stair-height'), unit)} high",
            f"raise it to {format_trade(STAIR_HEIGHT_LEAST_NM, unit)} above the nosings",
        )
    if readings.has("stair-opening"):
        stair = readings.whole("stair-opening")
        _opening("opening on the stair", stair, stair + shrink, STAIR_OPENING_NM, found, unit)
    return found.verdict(
        f"guard {format_trade(min(heights), unit)} high, openings {format_small(max(openings), unit)},"
        f" {format_small(dry, unit, 64)} when dry",
        inputs={"required": required, "deck_height_in": inches(platform.height_nm)},
        answer={
            "height_in": inches(min(heights)), "height_least_in": inches(least), "post_spacing_in": inches(max(posts)),
            "opening_in": inches(max(openings)), "opening_dry_in": inches(dry), "shrink_in": inches(shrink),
        },
        source=_GUARD_SOURCE,
        limits=(
            Limit("guard height at the least", format_trade(least, unit), GUARD_SOURCE if required else "as planned"),
            Limit("ball that must not pass, dry", format_small(OPENING_NM, unit), GUARD_SOURCE),
            Limit("posts on centre", format_trade(POST_SPACING_MOST_NM, unit), "from memory: DCA 6 guard details"),
            Limit("posts held", "1,800 lb, unnotched", POST_FIXING),
        ),
        caution=code_decides(GUARD_SOURCE) + " Keep people off the edge until the guard stands.",
    )  # fmt: skip


def _list(readings: Readings, key: str) -> tuple[int, ...]:
    values = readings.values[key]
    assert isinstance(values, tuple)
    return values


def _opening(what: str, now: int, dry: int, ball: int, found: Found, unit: Unit) -> None:
    """An opening that a ball passes now, or will once the balusters are dry."""
    found.working.append(
        f"widest {what}: {format_small(now, unit)} now, {format_small(dry, unit, 64)} dry; a {format_small(ball, unit)}"
        " ball must not pass"
    )
    if dry >= ball:
        when = "" if now >= ball else " when dry"
        found.fault(
            f"a {format_small(ball, unit)} ball passes the {format_small(now, unit)} {what}{when}",
            f"close the {what} to less than {format_small(ball - (dry - now), unit, 64)}",
        )


GUARD = Check(
    key="guard",
    title="Guard",
    asks="height, post spacing and widest opening on every side; look how each post is held",
    source=_GUARD_SOURCE,
    form=_guard_form,
    judge=_judge_guard,
    applies=lambda job, platform: platform.guard is not None,
    caution=code_decides(GUARD_SOURCE),
)
