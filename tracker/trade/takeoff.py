"""The take-off: every line of material a job needs, each with its working in words.

Lumber lines hold cut pieces; which stock boards they come from is the planning room's answer. Quantities are common
practice unless a line's working names a document.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from tracker.text import count
from tracker.trade.framing import FramePlan, StairPlan, plan_job, stock_lengths
from tracker.trade.lengths import FOOT, INCH, Unit, format_length, format_small
from tracker.trade.lumber import dressed, is_metric
from tracker.trade.material import Line, Piece, stock_key
from tracker.trade.rules import Rules
from tracker.trade.spec import BoardKind, JobSpec
from tracker.trade.supplies import supplies

__all__ = ["Line", "Piece", "stock_key", "stock_of", "take_off"]

_STRINGER = {False: "2x12", True: "45x295"}
_GUARD_POST = {False: "4x4", True: "90x90"}
_RAIL = {False: "2x4", True: "45x95"}
_INFILL = {False: "2x2", True: "45x45"}


def take_off(job: JobSpec) -> tuple[Line, ...]:
    """Return every line of material, platform by platform, lumber first.

    A lumber line's ``item`` is the bare size and its ``quantity`` counts cut pieces. Raises InputError for sizes no
    frame can have.
    """
    lines: list[Line] = []
    for plan in plan_job(job):
        lines += [line for line in _lumber(plan, job) if line.quantity]
        lines += [line for line in supplies(plan, job) if line.quantity]
    return tuple(lines)


def stock_of(item: str) -> tuple[int, ...]:
    """The stock lengths of a lumber line's bare size."""
    return stock_lengths(item.removeprefix("composite "))


def _lumber(plan: FramePlan, job: JobSpec) -> Iterable[Line]:
    yield from _frame(plan, job.unit)
    yield from _carriers(plan, job.unit)
    yield _boards(plan, job.rules, job.unit)
    yield from _edges(plan, job.unit)


def _line(
    plan: FramePlan, size: str, what: str, phase: str, pieces: Iterable[Piece], working: Iterable[str], use: str = ""
) -> Line:
    merged = tuple(piece for piece in pieces if piece.quantity)
    total = sum(piece.quantity for piece in merged)
    return Line(size, f"{what} {size}", total, "piece", phase, plan.platform.name, tuple(working), merged, use)


def _parts(parts_nm: tuple[int, ...], times: int, what: str, whole: bool = False) -> list[Piece]:
    return [Piece(length, number * times, what, whole) for length, number in Counter(parts_nm).items()]


def _spliced(parts_nm: tuple[int, ...], unit: Unit, over: str) -> list[str]:
    if len(parts_nm) == 1:
        return []
    return [
        f"longer than the stock: pieces of {' + '.join(format_length(p, unit) for p in parts_nm)}, joined over {over}"
    ]


def _frame(plan: FramePlan, unit: Unit) -> Iterable[Line]:
    platform, joists = plan.platform, plan.platform.joists
    thick = format_small(joists.thickness_nm, unit)
    between = "the ledger and the rim" if plan.ledger_nm else "the rims"
    how = (
        "stock boards left uncut"
        if platform.uncut
        else f"depth {format_length(platform.depth_nm, unit)} less {thick} twice, to fit between {between}"
    )
    yield _line(
        plan, joists.size, "joists", "frame",
        _parts(plan.joist_parts_nm, plan.joists, "joist", platform.uncut),
        [f"({format_length(platform.width_nm, unit)} less {thick}) / {format_small(joists.spacing_nm, unit)} "
         f"on centre, up, plus 1 = {count(plan.joists, 'joist')}",
         f"joist {format_length(plan.joist_nm, unit)}: {how}",
         *_spliced(plan.joist_parts_nm, unit, "a support")],
        joists.use_category,
    )  # fmt: skip
    yield _line(
        plan, joists.size, "rims", "frame",
        _parts(plan.rim_parts_nm, plan.rims, "rim", platform.uncut),
        [f"{count(plan.rims, 'rim')} of {format_length(plan.rim_nm, unit)} over the joist ends"
         + (", stock boards left uncut" if platform.uncut else ""),
         *_spliced(plan.rim_parts_nm, unit, "a joist end")],
        joists.use_category,
    )  # fmt: skip
    if plan.blocking_nm:
        rows = count(len(plan.blocking_rows_nm), "row")
        why = (
            "deck boards run along the joists: a row every joist spacing for them to cross"
            if platform.decking.angle_deg == 90
            else f"clear span {format_length(max(plan.spans_nm), unit)} is over 8 ft"
        )
        yield _line(
            plan, joists.size, "blocking", "frame", _parts(plan.blocking_nm, 1, "blocking"),
            [why, f"{rows} between {plan.joists} joists = {count(len(plan.blocking_nm), 'piece')}"],
            joists.use_category,
        )  # fmt: skip
    if plan.ledger_nm:
        yield _line(
            plan, joists.size, "ledger", "ledger", _parts(plan.rim_parts_nm, 1, "ledger", platform.uncut),
            [f"one as long as the platform is wide: {format_length(plan.ledger_nm, unit)}",
             *_spliced(plan.rim_parts_nm, unit, "a joist end")],
            joists.use_category,
        )  # fmt: skip


def _carriers(plan: FramePlan, unit: Unit) -> Iterable[Line]:
    use = plan.platform.joists.use_category
    for number, built in enumerate(plan.beams, 1):
        beam = built.beam
        yield _line(
            plan, beam.size, f"beam {number}", "posts", _parts(built.parts_nm, beam.plies, f"beam {number}"),
            [f"{count(beam.plies, 'ply', 'plies')} of {format_length(built.length_nm, unit)}, "
             f"{format_length(beam.at_nm, unit)} from the back edge",
             *_spliced(built.parts_nm, unit, "a post")],
            use,
        )  # fmt: skip
        if not built.post_nm:
            continue
        under = plan.platform.height_nm - built.post_nm
        apart = format_length(built.post_at_nm[1] - built.post_at_nm[0], unit)
        yield _line(
            plan, beam.post_size, f"posts of beam {number}", "posts",
            [Piece(built.post_nm, len(built.post_at_nm), f"post of beam {number}")],
            [f"{apart} apart along the beam: {count(beam.posts, 'post')}",
             f"height {format_length(plan.platform.height_nm, unit)} less board, joist and beam "
             f"{format_length(under, unit)} = {format_length(built.post_nm, unit)}, footing flush with the ground"],
            "UC4A",
        )  # fmt: skip


def _boards(plan: FramePlan, rules: Rules, unit: Unit) -> Line:
    platform, courses = plan.platform, plan.courses
    decking = platform.decking
    # A piece as long as an uncut rim is a stock board too.
    pieces = [
        Piece(length, number, "deck board", platform.uncut and length == platform.rim_stock_nm)
        for length, number in sorted(courses.pieces.items(), reverse=True)
    ]
    share = rules.figure("waste_boards")
    spare = -(-courses.boards * share // 1000)
    longest = pieces[0]
    pieces.append(Piece(longest.length_nm, spare, "spare deck board", longest.whole))
    run = platform.width_nm if decking.angle_deg == 90 else platform.depth_nm
    gap = "touching" if decking.gap_intent == "tight" else f"{format_small(decking.gap_nm, unit)} apart"
    how = f"{count(courses.count, 'course')} of {format_small(decking.width_nm, unit)} {gap}"
    how += " at 45 degrees" if decking.angle_deg == 45 else f" cover {format_length(run, unit)}"
    working = [how, f"{count(courses.boards, 'cut board')} and {share / 10:g} % spare, up = {courses.boards + spare}"]
    if courses.joints:
        working.insert(1, f"{count(courses.joints, 'joint')} over joists, no two in a row on neighbouring courses")
    size = decking.board if decking.kind is BoardKind.WOOD else f"composite {decking.board}"
    return _line(plan, size, "deck boards", "boards", pieces, working, decking.use_category)


def _edges(plan: FramePlan, unit: Unit) -> Iterable[Line]:
    metric = is_metric(plan.platform.joists.size)
    use = plan.platform.joists.use_category
    for number, flight in enumerate(plan.stairs, 1):
        if flight.treads:
            yield from _flight(plan, flight, f"stairs {number}" if len(plan.stairs) > 1 else "stairs", unit)
    guard = plan.guard
    if guard is None:
        return
    yield _line(
        plan, _GUARD_POST[metric], "guard posts", "rough-in", [Piece(guard.post_nm, guard.posts, "guard post")],
        [f"{count(guard.bays, 'bay')} of {format_length(guard.rail_nm, unit)}, none over 6 ft: "
         f"{count(guard.posts, 'post')}",
         "guard height and the frame behind it: the post bolts to the frame, it is never notched"],
        use,
    )  # fmt: skip
    yield _line(
        plan, _RAIL[metric], "guard rails", "guards", [Piece(guard.rail_nm, 2 * guard.bays, "guard rail")],
        [f"two a bay x {guard.bays}"], use,
    )  # fmt: skip
    yield _line(
        plan, _INFILL[metric], "guard infill", "guards", [Piece(guard.infill_nm, guard.infill, "infill")],
        ["openings of 3-7/8 in or less, so that a 4 in ball stays out once the wood has dried",
         f"{guard.infill // guard.bays} a bay x {guard.bays}"],
        use,
    )  # fmt: skip


def _flight(plan: FramePlan, flight: StairPlan, name: str, unit: Unit) -> Iterable[Line]:
    decking = plan.platform.decking
    metric = is_metric(plan.platform.joists.size)
    yield _line(
        plan, _STRINGER[metric], f"{name}: stringers", "rough-in",
        [Piece(flight.stringer_nm, flight.stringers, "stringer")],
        [f"rise in {count(flight.risers, 'riser')} of {format_small(flight.riser_nm, unit)} (7-3/4 in at most), "
         f"{count(flight.treads, 'tread')}",
         f"{count(flight.stringers, 'stringer')} no more than 18 in apart, {format_length(flight.stringer_nm, unit)}: "
         "the slope and 1 ft for its cuts"],
        plan.platform.joists.use_category,
    )  # fmt: skip
    across = max(1, -(-10 * INCH // dressed(decking.board).depth_nm))
    size = decking.board if decking.kind is BoardKind.WOOD else f"composite {decking.board}"
    yield _line(
        plan, size, f"{name}: treads", "guards", [Piece(flight.width_nm, flight.treads * across, "tread board")],
        [f"{count(flight.treads, 'tread')} x {count(across, 'board')}, {flight.width_nm / FOOT:.2f} ft wide"],
        decking.use_category,
    )  # fmt: skip
