"""What stands at the edges of a drawn platform: flights of stairs and the guard."""

from __future__ import annotations

from tracker.reports.drawing_shapes import Flight, Layer, Shape, What
from tracker.text import count, listing
from tracker.trade.framing import TREAD_RUN, FramePlan
from tracker.trade.lengths import FOOT, Unit, format_length, format_small, format_trade
from tracker.trade.outline import Facing
from tracker.trade.places import Stretch, flight_places, guard_stretches
from tracker.trade.polygon import root2
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


def guard(platform: Platform) -> tuple[Stretch, ...]:
    """The lines the guard stands on."""
    return guard_stretches(platform)


def outside_facts(platform: Platform, drawn: tuple[Flight, ...], unit: Unit) -> list[str]:
    """The flights and the guard in short lines."""
    found = [flight.text for flight in drawn]
    if platform.guard is not None:
        sides = listing([side.value for side in platform.guard.edges], "and")
        where = f" on the {sides}" if platform.guard.edges else ""
        found.append(
            f"guard {format_length(platform.guard.height_nm, unit)} high, "
            f"{format_length(platform.guard.length_nm, unit)} in all{where}"
        )
    return found


def outside_notes(platform: Platform, unit: Unit) -> list[str]:
    """What the plan cannot know of them."""
    found = []
    if any(flight.from_nm is None for flight in platform.stairs):
        found.append(
            "stairs without a place in the job file are drawn at the middle of their side (edge and from say it)"
        )
    if platform.guard is None:
        return found
    if not platform.guard.edges:
        found.append("the guard is not drawn: the job file does not say on which edges it stands")
        return found
    drawn = sum(_length(stretch) for stretch in guard(platform))
    if abs(drawn - platform.guard.length_nm) > FOOT:
        found.append(
            f"the guard drawn is {format_length(drawn, unit)} long, the job file orders "
            f"{format_length(platform.guard.length_nm, unit)}: mend its length or its edges"
        )
    return found


def _length(stretch: Stretch) -> int:
    (x, y), (x2, y2) = stretch
    across, along = abs(x2 - x), abs(y2 - y)
    return root2(across) if across and along else across + along
