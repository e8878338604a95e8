"""The check of what people lean on: the guard on every side of the platform and on every flight, as built."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tracker.errors import InputError
from tracker.text import listing
from tracker.trade.answer import Answer, Limit, Plain
from tracker.trade.cautions import code_decides
from tracker.trade.checks.base import Case, Check, incomplete
from tracker.trade.checks.climb import flights_by_letter
from tracker.trade.checks.found import Found, missing
from tracker.trade.framing import plan_frame
from tracker.trade.guards import (
    BALUSTER,
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
from tracker.trade.lengths import FOOT, INCH, Unit, format_length, format_small, format_trade, inches
from tracker.trade.movement import FIBRE_SATURATION_TENTHS, change_nm, check_moisture, find_timber
from tracker.trade.places import guard_called_for, guard_sides, stair_guard_called_for
from tracker.trade.plausible import meter_reading, on_the_deck, positive, right_unit
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.spec import BoardKind, JobSpec, Platform

_SOURCE = (
    f"{GUARD_SOURCE}; stair guard from memory: IRC R312.1.2, exception; post spacing from memory: DCA 6 guard details;"
    " dry opening and opening on a stair: Wisconsin deck code, guards; movement: Wood Handbook ch. 13"
)
POST_FIXING = "Wisconsin deck code, guards: hold-down of 1,800 lb, no notching, bolts 2 in from an edge"
"""How a guard post is held."""
_WOOD, _NOT_WOOD = "wood", "metal, glass or composite"
_SHORT_NM = OPENING_NM
"""A guard this much shorter than its edge leaves an opening that a ball passes."""
_FLIGHT_SHORT_NM = FOOT
"""A flight built steeper or lower than planned has a guard shorter by up to this, a bound of this program."""


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A side of the platform, or a flight, with a guard: what its row is called and its limits; no length is not known."""

    row: str
    height_least_nm: int
    height_source: str
    ball_nm: int
    length_nm: int = 0
    short_nm: int = _SHORT_NM

    @property
    def on_stairs(self) -> bool:
        """Whether it is the guard of a flight."""
        return self.ball_nm == STAIR_OPENING_NM

    @property
    def name(self) -> str:
        """Its name in a sentence."""
        return self.row if self.on_stairs else f"the {self.row}"


def _stretches(case: Case) -> tuple[_Stretch, ...]:
    """Every side and flight that has a guard or whose height calls for one."""
    platform, required = case.platform, guard_required(case.platform.height_nm)
    found: list[_Stretch] = []
    guard = guard_called_for(platform)
    if guard is not None:
        least = max(guard.height_nm, HEIGHT_LEAST_NM) if required else guard.height_nm
        source = GUARD_SOURCE if required else "as planned"
        found += [_Stretch(row, least, source, OPENING_NM, long) for row, long in guard_sides(platform)]
    plans = plan_frame(platform, case.rules, case.job.site).stair_guards
    for (letter, flight), plan in zip(flights_by_letter(platform).items(), plans, strict=True):
        if plan is None:
            continue
        row = f"stairs-{letter}" if letter else "stairs"
        high = guard_required(flight.rise_nm)
        planned = flight.guard_height_nm or STAIR_HEIGHT_LEAST_NM
        least = max(planned, STAIR_HEIGHT_LEAST_NM) if high else planned
        source = "from memory: IRC R312.1.2, exception" if high and least == STAIR_HEIGHT_LEAST_NM else "as planned"
        found.append(_Stretch(row, least, source, STAIR_OPENING_NM, plan.rake_nm, _FLIGHT_SHORT_NM))
    return tuple(found)


def _form(case: Case) -> Form:
    unit, stretches = case.job.unit, _stretches(case)
    opening = format_small(BUILD_OPENING_NM, unit)
    tall = max((stretch.height_least_nm for stretch in stretches), default=HEIGHT_LEAST_NM)
    long = max((stretch.length_nm for stretch in stretches), default=0) or 12 * FOOT
    return Form(
        fields=(
            Field("fixed", "posts held and unnotched", Kind.YESNO, example="yes",
                  help="through-bolted to blocked framing with hold-downs, none notched"),
            Field("push", "stands a 200 lb push", Kind.YESNO, required=False, example="yes"),
            Field("infill", "infill", Kind.CHOICE, required=False, choices=(_WOOD, _NOT_WOOD), example=_WOOD,
                  help="left blank, wood"),
            Field("moisture", "moisture of the balusters", Kind.PERCENT, required=False, example="19",
                  help="left blank, wet wood is taken"),
            Field("baluster", "baluster width", Kind.LENGTH, required=False, example=format_small(BALUSTER, unit),
                  help="left blank, a 2x2"),
        ),
        columns=(
            Field("height", "height", Kind.LENGTH, example=format_trade(tall, unit),
                  help="the lowest: above the boards, on stairs above the nosings"),
            Field("opening", "opening", Kind.LENGTH, example=opening,
                  help="the widest: between balusters, beside posts, under the bottom rail"),
            Field("posts", "posts apart", Kind.LENGTH, example=format_trade(66 * INCH, unit), help="on center, the widest"),
            Field("length", "length", Kind.LENGTH, example=format_length(long, unit),
                  help="of the guard on this side, all its parts together; on stairs along the slope"),
        ),
        rows=tuple(stretch.row for stretch in stretches),
        row_word="side",
        former=(
            Field("heights", "height", Kind.LENGTHS), Field("posts", "posts apart", Kind.LENGTHS),
            Field("openings", "openings", Kind.LENGTHS), Field("stair-height", "guard height on the stair", Kind.LENGTH),
            Field("stair-opening", "widest opening on the stair", Kind.LENGTH),
        ),
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


def _read(stretches: tuple[_Stretch, ...], readings: Readings) -> dict[str, dict[str, int]]:
    """The readings of every side and flight; one list for all sides, as they were read before, stands for each of them.

    Such a list counts where it has a height for every side: the worst of it is taken for all, and no length is known.
    """
    found = {row: {key: nm for key, nm in got.items() if isinstance(nm, int)} for row, got in readings.rows.items()}
    lists = {
        key: value for key in ("heights", "posts", "openings") if isinstance(value := readings.values.get(key), tuple)
    }
    sides = [stretch.row for stretch in stretches if not stretch.on_stairs]
    if len(lists) == 3 and len(lists["heights"]) >= len(sides):
        whole = {
            "height": min(lists["heights"]),
            "posts": max(lists["posts"]),
            "opening": max(lists["openings"]),
            "length": 0,
        }
        for row in sides:
            found[row] = {**whole, **found.get(row, {})}
        for stretch in stretches:
            if stretch.on_stairs and readings.has("stair-height", "stair-opening"):
                on_it = {
                    "height": readings.whole("stair-height"),
                    "opening": readings.whole("stair-opening"),
                    "length": 0,
                }
                found[stretch.row] = {"posts": whole["posts"], **on_it, **found.get(stretch.row, {})}
    return found


def _wanted(form: Form, read: Mapping[str, Mapping[str, int]], readings: Readings) -> str:
    """What is still to be read, in words."""
    whole = Readings(readings.values, {row: dict(got) for row, got in read.items()})
    return listing(missing(form, whole), "and")


def _judge(case: Case, readings: Readings) -> Answer:
    unit, platform, stretches = case.job.unit, case.platform, _stretches(case)
    read = _read(stretches, readings)
    if wanted := _wanted(_form(case), read, readings):
        return incomplete(wanted, source=_SOURCE)
    found = Found()
    required = guard_required(platform.height_nm)
    found.working.append(
        f"the deck stands {format_trade(platform.height_nm, unit)}: a guard is {'' if required else 'not '}required"
        f" (over {format_trade(TRIGGER_NM, unit)})"
        + ("" if platform.guard is not None or not required else "; the job has none and one is asked all the same")
    )
    shrink = _shrink_nm(case, readings, found)
    longest = max(stretch.length_nm for stretch in stretches)
    for stretch in stretches:
        _one(platform, stretch, read[stretch.row], shrink, found, unit)
        _length(stretch, read[stretch.row]["length"], longest, found, unit)
    if not readings.yes("fixed"):
        found.fault("guard posts are notched or not held down", f"refit the posts ({POST_FIXING})")
    if readings.has("push") and not readings.yes("push"):
        found.fault("the guard gives under 200 lb", "add blocking and hold-downs at the posts, then push again")
    at = {stretch.row: read[stretch.row] for stretch in stretches}
    # The worst stretch of each reading: the one that is nearest to its limit, or farthest past it.
    low = min(stretches, key=lambda stretch: at[stretch.row]["height"] - stretch.height_least_nm)
    wide = max(stretches, key=lambda stretch: at[stretch.row]["opening"] - stretch.ball_nm)
    height, opening = at[low.row]["height"], at[wide.row]["opening"]
    apart = max(got["posts"] for got in at.values())
    sides: list[Plain] = [
        {"side": stretch.row, **{f"{key}_in": inches(nm) for key, nm in sorted(at[stretch.row].items()) if nm or key != "length"}}
        for stretch in stretches
    ]  # fmt: skip
    return found.verdict(
        f"guard on {listing([stretch.name for stretch in stretches], 'and')}, {format_trade(height, unit)} high, openings {format_small(opening, unit)},"
        f" {format_small(opening + shrink, unit, 64)} when dry",
        inputs={"required": required, "deck_height_in": inches(platform.height_nm)},
        answer={
            "height_in": inches(height), "height_least_in": inches(low.height_least_nm), "post_spacing_in": inches(apart),
            "opening_in": inches(opening), "opening_dry_in": inches(opening + shrink), "ball_in": inches(wide.ball_nm),
            "shrink_in": inches(shrink), "sides": sides,
        },
        source=_SOURCE,
        limits=_limits(stretches, unit),
        caution=code_decides(GUARD_SOURCE) + " Keep people off the edge until the guard stands.",
    )  # fmt: skip


def _one(platform: Platform, stretch: _Stretch, got: Mapping[str, int], shrink: int, found: Found, unit: Unit) -> None:
    """One side or flight against its limits."""
    name = stretch.name
    for key, what, about in (
        ("height", "height", HEIGHT_LEAST_NM), ("opening", "opening", OPENING_NM), ("posts", "post spacing", POST_SPACING_MOST_NM),
    ):  # fmt: skip
        positive(got[key], f"the guard's {what} on {name}", unit)
        right_unit(got[key], about, f"the guard's {what} on {name}", unit)
    side = max(platform.width_nm, platform.depth_nm)
    on_the_deck(got["posts"], max(side, stretch.length_nm), f"the guard's post spacing on {name}",
                f"a deck {format_trade(side, unit)} long", unit)  # fmt: skip
    high, least = got["height"], stretch.height_least_nm
    if high < least:
        found.fault(
            f"the guard on {name} is {format_trade(high, unit)} high",
            f"raise the guard on {name} by {format_small(least - high, unit)}, to {format_trade(least, unit)}",
        )
    if got["posts"] > POST_SPACING_MOST_NM:
        found.fault(
            f"guard posts on {name} stand {format_trade(got['posts'], unit)} apart",
            f"set one between on {name}: {format_trade(POST_SPACING_MOST_NM, unit)} on center is the most",
        )
    _opening(f"opening on {name}", got["opening"], got["opening"] + shrink, stretch.ball_nm, found, unit)


def _length(stretch: _Stretch, read: int, longest_nm: int, found: Found, unit: Unit) -> None:
    """How long a guard is against its edge, less the stairs; not judged where the edge is not known or nobody read it."""
    if not read or not stretch.length_nm:
        return
    name, long = stretch.name, stretch.length_nm
    positive(read, f"the guard's length on {name}", unit)
    on_the_deck(
        read,
        longest_nm + FOOT,
        f"the guard's length on {name}",
        f"the longest side, {format_length(longest_nm, unit)},",
        unit,
    )
    found.working.append(f"guard on {name}: {format_length(read, unit)} of {format_length(long, unit)}")
    if long - read >= stretch.short_nm:
        found.fault(
            f"the guard on {name} is {format_length(read, unit)} long, {format_length(long, unit)} is open",
            f"close the {format_small(long - read, unit)} left open on {name}",
        )
    elif read - long > FOOT:
        where = "its slope" if stretch.on_stairs else "its edge, less the stairs,"
        found.fault(
            f"the guard on {name} is read {format_length(read, unit)} long and {where} is {format_length(long, unit)}",
            f"read {name} again; where the deck was built another way, change the job first",
        )


def _limits(stretches: tuple[_Stretch, ...], unit: Unit) -> list[Limit]:
    found: dict[str, Limit] = {}
    for stretch in stretches:
        on = " on stairs" if stretch.on_stairs else ""
        least = format_trade(stretch.height_least_nm, unit)
        ball = "Wisconsin deck code, guards" if on else GUARD_SOURCE
        for limit in (
            Limit(f"guard height{on} at the least", least, stretch.height_source),
            Limit(f"ball that must not pass{on}, dry", format_small(stretch.ball_nm, unit), ball),
        ):
            found.setdefault(f"{limit.what} {limit.text}", limit)
    lengths = [f"{s.row} {format_length(s.length_nm, unit)}" for s in stretches if s.length_nm]
    return [
        *found.values(),
        Limit("posts on center", format_trade(POST_SPACING_MOST_NM, unit), "from memory: DCA 6 guard details"),
        *([Limit("length", listing(lengths, "and"), "the edges, less the stairs")] if lengths else []),
        Limit("posts held", "1,800 lb, unnotched", POST_FIXING),
    ]


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


def _applies(job: JobSpec, platform: Platform) -> bool:
    """Wherever there is a guard, or a height that calls for one: whether or not the job file has it."""
    return guard_called_for(platform) is not None or any(map(stair_guard_called_for, platform.stairs))


GUARD = Check(
    key="guard",
    title="Guard",
    asks="height, widest opening, post spacing and length on every side and flight; look how each post is held",
    source=_SOURCE,
    form=_form,
    judge=_judge,
    applies=_applies,
    caution=code_decides(GUARD_SOURCE),
)
