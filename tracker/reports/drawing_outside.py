"""What stands at the edges of a drawn platform: flights of stairs and the guard."""

from __future__ import annotations

from tracker.reports.drawing_shapes import Flight, Layer, Shape, What
from tracker.text import count, listing
from tracker.trade.framing import TREAD_RUN, FramePlan
from tracker.trade.lengths import Unit, format_length, format_small, format_trade
from tracker.trade.outline import Facing
from tracker.trade.places import GUARD_OFF_NM, Stretch, flight_places, guard_called_for, guard_stretches, length_of
from tracker.trade.spec import Platform


def flights(platform: Platform, plan: FramePlan, unit: Unit) -> tuple[Flight, ...]:
    """Every flight that has treads, leading away from its edge."""
    found = []
    for number, (flight, place) in enumerate(zip(plan.stairs, flight_places(platform), strict=True)):
        if not flight.treads or place is None:
            continue
        name = "stairs" if len(plan.stairs) == 1 else f"stairs {chr(97 + number)}"
        text = (
            f"{name} {format_trade(flight.width_nm, unit)} wide, "
            f"{count(flight.risers, 'riser')} of {format_small(flight.riser_nm, unit)}{_where(platform, number, unit)}"
        )
        found.append(Flight(name, text, tuple(_tread(name, place, step) for step in range(flight.treads))))
    return tuple(found)


def _tread(name: str, place: Stretch, step: int) -> Shape:
    (x, y), (x2, y2) = place
    # Out of the platform is the right hand of who walks the edge.
    out_x, out_y = -((y2 > y) - (y2 < y)), (x2 > x) - (x2 < x)
    near, far = step * TREAD_RUN, (step + 1) * TREAD_RUN
    points = (
        (x + out_x * near, y + out_y * near), (x2 + out_x * near, y2 + out_y * near),
        (x2 + out_x * far, y2 + out_y * far), (x + out_x * far, y + out_y * far),
    )  # fmt: skip
    return Shape(What.TREAD, name, Layer.FRAME, points, points[3], points[2])


def _where(platform: Platform, number: int, unit: Unit) -> str:
    """Where the job says a flight stands; nothing when it does not say."""
    flight = platform.stairs[number]
    if flight.edge is None and flight.from_nm is None:
        return ""
    side = (flight.edge or Facing.FRONT).value
    at = "" if flight.from_nm is None else f", {format_length(flight.from_nm, unit)} from its left end"
    return f", on the {side}{at}"


def outside_facts(platform: Platform, drawn: tuple[Flight, ...], unit: Unit) -> list[str]:
    """The flights and the guard in short lines."""
    found = [flight.text for flight in drawn]
    if (guard := guard_called_for(platform)) is not None:
        sides = listing([side.value for side in guard.edges], "and")
        where = f" on the {sides}" if guard.edges else ""
        found.append(
            f"guard {format_length(guard.height_nm, unit)} high, {format_length(guard.length_nm, unit)} in all{where}"
        )
    return found


def outside_notes(platform: Platform, unit: Unit) -> list[str]:
    """What the plan cannot know of them."""
    found = []
    if any(flight.from_nm is None for flight in platform.stairs):
        found.append(
            "stairs without a place in the job file are drawn at the middle of their side (edge and from say it)"
        )
    guard = platform.guard
    if guard is None:
        if guard_called_for(platform) is not None:
            found.append("the job file has no guard: drawn is the least that its height calls for, on every open edge")
        return found
    drawn = sum(map(length_of, guard_stretches(platform)))
    if not guard.edges and not drawn:
        found.append("the guard is not drawn: the job file does not say on which edges it stands")
    elif abs(drawn - guard.length_nm) > GUARD_OFF_NM:
        found.append(
            f"the guard drawn is {format_length(drawn, unit)} long, the job file orders "
            f"{format_length(guard.length_nm, unit)}: mend its length or its edges"
        )
    return found
