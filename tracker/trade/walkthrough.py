"""The walk-through with the client: what to look at on the deck that was built, place by place.

Only what the spec has is asked for. Limits are those the checks use, or common practice; the adopted local code decides
where guards and stairs are concerned.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from tracker.trade.lengths import Unit, format_length, format_small, format_trade
from tracker.trade.metric import in_unit
from tracker.trade.places import guard_called_for
from tracker.trade.rules import COMMON
from tracker.trade.spec import BoardKind, Finish, JobSpec, Platform

_IRC_RISER = "from memory: IRC 2018 R311.7.5.1; local code decides"
_IRC_OPENING = "from memory: IRC 2018 R312.1.3; local code decides"


@dataclass(frozen=True, slots=True)
class WalkPoint:
    """One thing to look at, what is good enough, and who says so (both may be empty)."""

    text: str
    limit: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class WalkPart:
    """One place of the deck and its points."""

    title: str
    points: tuple[WalkPoint, ...]


def walk_through(job: JobSpec) -> tuple[WalkPart, ...]:
    """The places to look at, platform by platform, then the yard and the papers."""
    several = len(job.platforms) > 1
    out: list[WalkPart] = []
    for platform in job.platforms:
        for title, points in _platform(job, platform):
            out.append(WalkPart(f"{title}, {platform.name}" if several else title, tuple(points)))
    out.append(WalkPart("Yard", tuple(_yard(job))))
    out.append(WalkPart("Papers", tuple(_papers(job))))
    return tuple(replace(part, points=tuple(_told(point, job.unit) for point in part.points)) for part in out)


def _told(point: WalkPoint, unit: Unit) -> WalkPoint:
    return replace(point, text=in_unit(point.text, unit), limit=in_unit(point.limit, unit))


def _platform(job: JobSpec, platform: Platform) -> Iterator[tuple[str, list[WalkPoint]]]:
    yield "Boards", list(_boards(job, platform))
    yield (
        "Screws",
        [
            WalkPoint("Heads flush, none standing proud", "sunk 1/16 in at most", COMMON),
            WalkPoint(
                "No split at a screw or at a board end",
                f"{job.rules.text('screw_edge_least', job.unit)} or more from the edge",
                job.rules.source("screw_edge_least"),
            ),
        ],
    )
    yield "Edges", list(_edges(job, platform))
    if platform.stairs:
        yield (
            "Stairs",
            [
                WalkPoint("Every step the same height", "3/8 in between the highest and the lowest", _IRC_RISER),
                WalkPoint("No tread gives or rocks; landing firm and level"),
                WalkPoint("Handrail where one is due: firm, smooth, can be gripped", "", "local code decides"),
            ],
        )
    if (guard := guard_called_for(platform)) is not None:
        yield (
            "Guard",
            [
                WalkPoint("Push hard at every post and between posts: nothing gives"),
                WalkPoint("Height above the boards", f"{format_trade(guard.height_nm, job.unit)} or more", "as built"),
                WalkPoint("Openings", "a 4 in ball does not pass", _IRC_OPENING),
                WalkPoint("Top rail smooth, no splinters"),
            ],
        )
    yield "Drainage and air", list(_drainage(platform))


def _boards(job: JobSpec, platform: Platform) -> Iterator[WalkPoint]:
    decking, rules = platform.decking, job.rules
    size = f"{format_length(platform.width_nm, job.unit)} by {format_length(platform.depth_nm, job.unit)}"
    yield WalkPoint(f"Walk every bay of the {size} deck: nothing springs, rocks or squeaks")
    faults = "No cups, splits, loose knots or splinters underfoot"
    if decking.kind is BoardKind.COMPOSITE:
        faults = "No scratches, chips or waves; colours even"
    yield WalkPoint(faults)
    yield WalkPoint(
        "Gaps even and open",
        f"{format_small(decking.gap_nm, job.unit)} wanted, {rules.text('gap_tolerance', job.unit)} either way",
        rules.source("gap_tolerance"),
    )
    yield WalkPoint(
        "Rows straight and parallel to the edge",
        f"{rules.text('board_taper', job.unit)} over the deck",
        rules.source("board_taper"),
    )
    if job.finish is not Finish.NONE and decking.kind is BoardKind.WOOD:
        word = "oil" if job.finish is Finish.OIL else "stain"
        yield WalkPoint(f"The {word}: even, no laps, no puddles, or the day it goes on is agreed")


def _edges(job: JobSpec, platform: Platform) -> Iterator[WalkPoint]:
    decking = platform.decking
    over = f"{format_small(decking.overhang_nm, job.unit)} overhang" if decking.overhang_nm else ""
    yield WalkPoint("Board ends in one line, edges eased", over, "as built" if over else "")
    if decking.use_category:
        yield WalkPoint("Cut ends of treated wood brushed with preservative", "", COMMON)
    if decking.border:
        yield WalkPoint("Border mitres closed and flush")
    if platform.attached:
        yield WalkPoint("At the house: flashing tucked behind the siding, no gap at the ledger")


def _drainage(platform: Platform) -> Iterator[WalkPoint]:
    yield WalkPoint("Hose it: water runs off through the gaps, no puddle stays")
    yield WalkPoint("Soil slopes away from the house; downspouts do not empty under the deck")
    yield WalkPoint("Air can get under the deck; no soil, sod or scraps against the frame")


def _yard(job: JobSpec) -> Iterator[WalkPoint]:
    yield WalkPoint("Offcuts, treated sawdust and wrappers gone; nails swept up with a magnet")
    yield WalkPoint("Lawn, beds, gate and fence as they were")
    if job.site.digging or job.site.drain_nm or any(platform.beams for platform in job.platforms):
        yield WalkPoint("Holes filled, utility marks explained")
    if job.site.electric:
        yield WalkPoint("Lights and outlets work, the test button trips", "", "a licensed electrician")


def _papers(job: JobSpec) -> Iterator[WalkPoint]:
    if job.permit:
        yield WalkPoint("Permit card with the final signature", "", "the local office")
    yield WalkPoint("As-built record, care sheet and care dates handed over")
    yield WalkPoint("Open points written on the punch list, each with a day")
