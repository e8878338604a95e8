"""The take-off of guards and handrails: their lumber, and the hardware that holds them.

Counts are common practice unless a line's working names a document.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import TypeVar

from tracker.text import count
from tracker.trade.framing import FramePlan
from tracker.trade.guardplan import BRACKETS_APART, GuardPlan
from tracker.trade.lengths import INCH, Unit, format_length, format_small
from tracker.trade.lines import lumber, screws
from tracker.trade.lumber import is_metric
from tracker.trade.material import Line, Piece
from tracker.trade.rules import Rules

T = TypeVar("T")
POST = {False: "4x4", True: "90x90"}
RAIL = {False: "2x4", True: "45x95"}
INFILL = {False: "2x2", True: "45x45"}
"""By whether the lumber is metric."""
BOLTS_A_POST = 2
"""1/2 in through-bolts of a guard post (from memory: DCA 6 guard post details)."""
RAIL_SCREWS, INFILL_SCREWS = 2, 1
"""Screws at each end of a rail and of a baluster (common practice)."""
SCREW = 5 * INCH // 2
_HELD = "Wisconsin deck code, guards: hold-down of 1,800 lb, no notching, bolts 2 in from an edge"
_GRIP = (
    "one side of the flight, along its nosings and 6 in more at either end, where it is returned to a post or the wall"
    " (from memory: IRC R311.7.8)"
)


def guard_lumber(plan: FramePlan, unit: Unit) -> Iterable[Line]:
    """Posts with the blocking behind them, rails and infill of every guard of a platform, and its handrails."""
    metric = is_metric(plan.platform.joists.size)
    if plan.guard is not None:
        yield from _guard(plan, plan.guard, unit)
    for name, guard in by_flight(plan, plan.stair_guards):
        sides = f"{count(guard.sides, 'open side')}, {format_length(guard.rake_nm, unit)} along the slope"
        yield _lumber(
            plan, POST[metric], f"{name}: guard posts", "rough-in", [Piece(guard.post_nm, guard.posts, "stair guard post")],
            f"{sides}: {count(guard.bays, 'bay')} a side, none over 6 ft, and a post at the foot of each;"
            " at the top it ends on a post of the deck's guard where one stands there",
            "guard height and 1 ft beside the stringer it is bolted to",
        )  # fmt: skip
        yield _lumber(
            plan, RAIL[metric], f"{name}: guard rails", "guards",
            [Piece(guard.rail_nm, 2 * guard.bays * guard.sides, "stair guard rail")],
            f"two a bay x {guard.bays * guard.sides}, along the slope",
        )  # fmt: skip
        yield _lumber(
            plan, INFILL[metric], f"{name}: guard infill", "guards", [Piece(guard.infill_nm, guard.infill, "stair infill")],
            "openings of 3-7/8 in or less, as on the deck; 4-3/8 in is the ball of a stair (Wisconsin deck code, guards)",
            "2 in more than on the deck, for the sloping cuts",
        )  # fmt: skip
    for name, rail in by_flight(plan, plan.handrails):
        yield _lumber(
            plan, INFILL[metric], f"{name}: handrail", "guards", [Piece(rail.length_nm, 1, "handrail")], _GRIP,
            "a 2x2 with its edges eased is 6 in round: one can grip it (4 to 6-1/4 in, from memory: IRC R311.7.8, type I)",
        )  # fmt: skip


def _guard(plan: FramePlan, guard: GuardPlan, unit: Unit) -> Iterable[Line]:
    metric, joists = is_metric(plan.platform.joists.size), plan.platform.joists
    asked = (
        ()
        if plan.platform.guard is not None
        else ("the job file has none: this is the least that its height calls for (IRC R312.1), on every open edge",)
    )
    yield _lumber(
        plan, POST[metric], "guard posts", "rough-in", [Piece(guard.post_nm, guard.posts, "guard post")],
        *asked,
        f"{count(guard.runs, 'run')}, {format_length(guard.length_nm, unit)} in all, {count(guard.bays, 'bay')}, none over 6 ft:"
        f" a post at every end, corner and opening, and between bays: {count(guard.posts, 'post')}",
        "guard height and the frame behind it: the post bolts to the frame, it is never notched",
    )  # fmt: skip
    block = joists.spacing_nm - joists.thickness_nm
    yield _lumber(
        plan, joists.size, "guard post blocking", "rough-in", [Piece(block, 2 * guard.posts, "guard post block")],
        f"two pieces of {format_small(block, unit)} behind each of {count(guard.posts, 'post')}, so that the frame does not turn",
    )  # fmt: skip
    yield _lumber(
        plan, RAIL[metric], "guard rails", "guards",
        [Piece(nm, 2 * number, "guard rail") for nm, number in sorted(Counter(guard.rails_nm).items(), reverse=True)],
        f"two a bay x {guard.bays}",
    )  # fmt: skip
    yield _lumber(
        plan, INFILL[metric], "guard infill", "guards", [Piece(guard.infill_nm, guard.infill, "infill")],
        "openings of 3-7/8 in or less, so that a 4 in ball stays out once the wood has dried",
        f"{count(guard.bays, 'bay')}, {guard.infill} in all",
    )  # fmt: skip


def guard_goods(plan: FramePlan, rules: Rules, unit: Unit) -> Iterable[Line]:
    """Hold-downs, bolts, brackets and screws of guards and handrails."""
    name = plan.platform.name
    stair_guards = [guard for _, guard in by_flight(plan, plan.stair_guards)]
    posts, corners = (plan.guard.posts, plan.guard.corners) if plan.guard is not None else (0, 0)
    on_stairs = sum(guard.posts for guard in stair_guards)
    if posts:
        yield Line(
            "guard post hold-down", "guard post hold-down, hot-dip galvanized", posts + corners, "piece", "rough-in", name,
            (f"one for each of {count(posts, 'post')}" + (f", a second at each of {count(corners, 'corner')}" if corners else ""),
             _HELD),
        )  # fmt: skip
    if posts + on_stairs:
        told = [f"{count(posts, 'guard post')}"] * bool(posts) + [f"{count(on_stairs, 'post')} on stairs"] * bool(
            on_stairs
        )
        yield Line(
            "bolt 1/2", "1/2 in guard post bolt with nut and washers, hot-dip galvanized", BOLTS_A_POST * (posts + on_stairs), "piece",
            "rough-in", name,
            (f"two through each of {' and '.join(told)} (from memory: DCA 6 guard post details)",),
        )  # fmt: skip
    if brackets := sum(rail.brackets for _, rail in by_flight(plan, plan.handrails)):
        yield Line(
            "handrail bracket", "handrail bracket with its screws", brackets, "piece", "guards", name,
            (f"{format_length(BRACKETS_APART, unit)} apart at the most along each handrail, one at either end",),
        )  # fmt: skip
    rails = (2 * plan.guard.bays if plan.guard is not None else 0) + sum(2 * g.bays * g.sides for g in stair_guards)
    balusters = (plan.guard.infill if plan.guard is not None else 0) + sum(guard.infill for guard in stair_guards)
    if total := 2 * (RAIL_SCREWS * rails + INFILL_SCREWS * balusters):
        yield screws(
            SCREW, "screws of the guard", total, "guards", plan.platform,
            [f"{RAIL_SCREWS} at each end of {count(rails, 'rail')}, {INFILL_SCREWS} at each end of {count(balusters, 'piece')} of"
             f" infill = {total}"],
            rules, unit,
        )  # fmt: skip


def _lumber(plan: FramePlan, size: str, what: str, phase: str, pieces: Iterable[Piece], *working: str) -> Line:
    return lumber(plan.platform, size, what, phase, pieces, working, plan.platform.joists.use_category)


def by_flight(plan: FramePlan, parts: Sequence[T | None]) -> list[tuple[str, T]]:
    """What flights have of something, each with the flight's name."""
    several = len(plan.stairs) > 1
    return [(f"stairs {n}" if several else "stairs", part) for n, part in enumerate(parts, 1) if part is not None]
