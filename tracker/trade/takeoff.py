"""The take-off: every line of material a job needs, each with its working in words.

Lumber lines hold cut pieces; which stock boards they come from is the planning room's answer. Quantities are common
practice unless a line's working names a document.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace

from tracker.text import count
from tracker.trade.framing import (
    TREAD_RUN,
    BeamPlan,
    FramePlan,
    StairPlan,
    contact_working,
    joint_faults,
    joint_places,
    plan_job,
    stock_lengths,
)
from tracker.trade.guardparts import by_flight, guard_lumber
from tracker.trade.hardware import braces, fascia, tread_boards
from tracker.trade.joistlines import RimKind, Why
from tracker.trade.lengths import FOOT, Unit, format_length, format_small
from tracker.trade.lines import lumber
from tracker.trade.lumber import is_metric
from tracker.trade.material import Line, Piece, stock_key
from tracker.trade.metric import all_in_unit, in_unit
from tracker.trade.posts import stand_of, under_beam_nm
from tracker.trade.rules import Rules
from tracker.trade.spec import BoardKind, JobSpec
from tracker.trade.splices import NAILER, SPLICE_PIECE
from tracker.trade.stairs import CUT_STRINGER_RUN_MOST_NM, SOLID_STRINGER_RUN_MOST_NM, stringer_spacing_nm
from tracker.trade.supplies import supplies
from tracker.trade.tapelist import joined, mitres
from tracker.trade.woodblocks import WoodBlock, words

__all__ = ["DECK_BOARD", "Line", "Piece", "stock_key", "stock_of", "take_off"]

DECK_BOARD = "deck board"
"""What the boards of the courses are called among the cut pieces."""
_STRINGER = {False: "2x12", True: "45x295"}


def take_off(job: JobSpec) -> tuple[Line, ...]:
    """Return every line of material, platform by platform, lumber first.

    A lumber line's ``item`` is the bare size and its ``quantity`` counts cut pieces. Raises InputError for sizes no
    frame can have.
    """
    lines: list[Line] = []
    for plan in plan_job(job):
        lines += [line for line in _lumber(plan, job) if line.quantity]
        lines += [line for line in supplies(plan, job) if line.quantity]
    return tuple(
        replace(line, title=in_unit(line.title, job.unit), working=all_in_unit(line.working, job.unit))
        for line in lines
    )


def stock_of(item: str) -> tuple[int, ...]:
    """The stock lengths of a lumber line's bare size."""
    return stock_lengths(item.removeprefix("composite "))


def _lumber(plan: FramePlan, job: JobSpec) -> Iterable[Line]:
    yield from _frame(plan, job.unit)
    yield from _carriers(plan, job.unit)
    yield _boards(plan, job.rules, job.unit)
    yield from _edges(plan, job.unit)
    yield from (line for line in (braces(plan, job.unit), fascia(plan, job.rules, job.unit)) if line is not None)


def _line(
    plan: FramePlan,
    size: str,
    what: str,
    phase: str,
    pieces: Iterable[Piece],
    working: Iterable[str],
    use: str = "",
) -> Line:
    decking = plan.platform.decking
    wood = decking.species if size.removeprefix("composite ") == decking.board else None
    return lumber(plan.platform, size, what, phase, pieces, working, use, wood)


def _parts(parts_nm: tuple[int, ...], times: int, what: str) -> list[Piece]:
    return [Piece(length, number * times, what) for length, number in Counter(parts_nm).items()]


def _joined(parts_nm: Iterable[int], unit: Unit, over: str) -> str:
    return (
        f"longer than the stock: pieces of {' + '.join(format_length(p, unit) for p in parts_nm)}, joined over {over}"
    )


def _spliced(plan: FramePlan, kind: RimKind, unit: Unit) -> list[str]:
    """Said of the rims (or ledgers) that took more than one piece, each kind of joint once."""
    rims = [rim for rim in plan.outline.frame.rims if (rim.kind is RimKind.LEDGER) == (kind is RimKind.LEDGER)]
    return list(dict.fromkeys(joined(rim, unit) for rim in rims if rim.joints))


def _splice_working(plan: FramePlan, unit: Unit) -> list[str]:
    """Why there are splice pieces and nailers, and how many."""
    frame, metric = plan.outline.frame, is_metric(plan.platform.joists.size)
    joints = sum(len(joist.joints_nm) for joist in frame.joists)
    steps = []
    if joints:
        steps.append(
            f"beside each of {count(joints, 'joist joint')}: one of {format_small(SPLICE_PIECE[metric], unit)}, "
            "half on each side"
        )
    if nailers := len(frame.splice_pieces) - joints:
        steps.append(
            f"on both sides of each joist a rim is joined on: {count(nailers, 'nailer')} of "
            f"{format_small(NAILER[metric], unit)}"
        )
    return steps


def _frame(plan: FramePlan, unit: Unit) -> Iterable[Line]:
    platform, joists = plan.platform, plan.platform.joists
    use, whole = joists.use_category, platform.uncut
    yield _line(
        plan,
        joists.size,
        "joists",
        "frame",
        _pieces(plan.joist_pieces, "joist", whole),
        _joist_working(plan, unit),
        use,
    )
    yield _line(
        plan, joists.size, "rims", "frame", _pieces(plan.rim_pieces, "rim", whole), _rim_working(plan, unit), use
    )
    if plan.blocking_nm:
        pieces = [Piece(length, number, "blocking") for length, number in Counter(plan.blocking_nm).items()]
        yield _line(plan, joists.size, "blocking", "frame", pieces, _blocking_working(plan, unit), use)
    if plan.ledgers_nm:
        lengths = " + ".join(format_length(nm, unit) for nm in plan.ledgers_nm)
        how = "one as long as the platform is wide" if len(plan.ledgers_nm) == 1 else "one along each part of the house"
        yield _line(
            plan, joists.size, "ledger", "ledger", _pieces(plan.ledger_pieces, "ledger", whole),
            [f"{how}: {lengths}", *_spliced(plan, RimKind.LEDGER, unit)],
            use,
        )  # fmt: skip
    if plan.outline.frame.splice_pieces:
        held = Counter(piece.length_nm for piece in plan.outline.frame.splice_pieces)
        pieces = [Piece(length, number, "splice piece") for length, number in held.items()]
        yield _line(plan, joists.size, "splice pieces", "frame", pieces, _splice_working(plan, unit), use)


def _pieces(lengths: Mapping[int, int], what: str, whole: bool) -> list[Piece]:
    return [Piece(length, number, what, whole) for length, number in lengths.items()]


def _joist_working(plan: FramePlan, unit: Unit) -> list[str]:
    platform, joists = plan.platform, plan.platform.joists
    thick = format_small(joists.thickness_nm, unit)
    between = "the ledger and the rim" if plan.ledgers_nm else "the rims"
    if platform.uncut:
        how = "stock boards left uncut"
    else:
        how = f"depth {format_length(platform.depth_nm, unit)} less {thick} twice, to fit between {between}"
    doubled = Counter(line.why for line in plan.outline.frame.joist_lines if line.plies > 1)
    steps = [
        f"({format_length(platform.width_nm, unit)} less {thick}) / {format_small(joists.spacing_nm, unit)} "
        f"on centre, up, plus 1 = {count(len(plan.marks_nm), 'joist')}",
        f"joist {format_length(plan.joist_nm, unit)}: {how}",
    ]
    steps += [f"doubled in {count(number, 'place')}: {why}" for why, number in doubled.items()]
    if platform.cuts:
        steps.append(f"cut to the outline: {count(plan.joists, 'joist')}, {count(len(plan.joist_pieces), 'length')}")
    elif doubled:
        steps.append(f"with those, {count(plan.joists, 'joist')}")
    if len(plan.joist_parts_nm) > 1:
        steps.append(_joined(plan.joist_parts_nm, unit, joint_places(plan)))
    steps += joint_faults(plan, unit)
    return steps


def _rim_working(plan: FramePlan, unit: Unit) -> list[str]:
    rims = [rim for rim in plan.outline.frame.rims if rim.kind is not RimKind.LEDGER]
    if plan.platform.cuts:
        steps = [f"{rim.kind}: {format_length(rim.length_nm, unit)}{mitres(rim)}" for rim in rims]
    else:
        steps = [f"{count(len(rims), 'rim')} of {format_length(rims[0].length_nm, unit)} over the joist ends"
                 + (", stock boards left uncut" if plan.platform.uncut else "")]  # fmt: skip
    return [*steps, *_spliced(plan, RimKind.RIM, unit)]


def _blocking_working(plan: FramePlan, unit: Unit) -> list[str]:
    border = sum(row.plies for row in plan.outline.frame.rows if row.why is Why.BORDER)
    steps = []
    if plan.blocking_rows_nm:
        steps.append(
            "deck boards run along the joists: a row every joist spacing for them to cross, doubled under board joints"
            if plan.platform.decking.angle_deg == 90
            else f"clear span {format_length(max(plan.spans_nm), unit)} is over 8 ft"
        )
    if border:
        steps.append("doubled under the inner edge of the border, where the boards inside it end")
    rows = sum(row.plies for row in plan.outline.frame.rows)
    return [*steps, f"{count(rows, 'row')} between the joists = {count(len(plan.blocking_nm), 'piece')}"]


def _carriers(plan: FramePlan, unit: Unit) -> Iterable[Line]:
    use = plan.platform.joists.use_category
    if plan.wood_block is not None:
        yield _wood_blocks(plan, plan.wood_block, unit)
    for number, built in enumerate(plan.beams, 1):
        beam = built.beam
        yield _line(
            plan, beam.size, f"beam {number}", "posts", _parts(built.parts_nm, beam.plies, f"beam {number}"),
            [f"{count(beam.plies, 'ply', 'plies')} of {format_length(built.length_nm, unit)}, "
             f"{format_length(beam.at_nm, unit)} from the back edge",
             *([_joined(built.parts_nm, unit, f"a {stand_of(plan.platform, beam)}")] if len(built.parts_nm) > 1 else []),
             *([] if built.post_nm else [_without_posts(plan, built, unit)])],
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


def _wood_blocks(plan: FramePlan, block: WoodBlock, unit: Unit) -> Line:
    joists = plan.platform.joists
    steps = [
        *contact_working(plan, unit),
        f"each of {words(block, joists.size, unit)}, nailed under rims and joists; cut from offcuts first",
        f"the worst carries {block.load_lb:,.0f} lb at {block.psf} psf: {block.pressure_psf:,.0f} psf on the ground, "
        f"the soil bears {block.soil_psf:,} psf",
    ]
    if block.bed_nm:
        steps.append(f"the ground is brought up {format_small(block.bed_nm, unit)} under them")
    pieces = [Piece(block.length_nm, plan.blocks * block.plies, "wood block")]
    use = joists.use_category if joists.use_category != "UC3B" else "UC4A"
    return _line(plan, joists.size, "wood blocks", "posts", pieces, steps, use)


def _without_posts(plan: FramePlan, built: BeamPlan, unit: Unit) -> str:
    """Why a beam has no posts."""
    if plan.platform.on_pads:
        return f"it lies on {count(len(built.post_at_nm), 'pad')}, evenly apart"
    under = under_beam_nm(plan.platform, built.beam)
    room = f"{format_length(under, unit)} under the beam leave no room for posts" if under else "no room for posts"
    return f"{room}: it lies on its {count(len(built.post_at_nm), 'footing')}, poured up to it, in beam saddles"


def _boards(plan: FramePlan, rules: Rules, unit: Unit) -> Line:
    platform, courses = plan.platform, plan.courses
    decking = platform.decking
    # A piece as long as an uncut rim is a stock board too.
    pieces = [
        Piece(length, number, DECK_BOARD, platform.uncut and length == platform.rim_stock_nm)
        for length, number in sorted(courses.pieces.items(), reverse=True)
    ]
    share = rules.figure("waste_boards")
    spare = -(-courses.boards * share // 1000)
    longest = pieces[0]
    pieces.append(Piece(longest.length_nm, spare, "spare deck board", longest.whole))
    run = platform.width_nm if decking.angle_deg == 90 else platform.depth_nm
    gap = "touching" if decking.gap_intent == "tight" else f"{format_small(decking.gap_nm, unit)} apart"
    how = f"{count(courses.count, 'course')} of {format_small(decking.width_nm, unit)} {gap}"
    if decking.angle_deg == 45:
        how += " at 45 degrees"
    elif platform.cuts or decking.border:
        how += f" inside {'the border' if decking.border else 'the outline'}"
    else:
        how += f" cover {format_length(run + 2 * decking.overhang_nm, unit)}"
    working = [how, f"{count(courses.boards, 'cut board')} and {share / 10:g} % spare, up = {courses.boards + spare}"]
    if decking.border:
        working.insert(1, "a mitred border all round: " + count(len(plan.outline.boards.border), "side"))
    if courses.joints:
        on = "rows of blocking" if decking.angle_deg == 90 else "joists"
        joints = count(courses.joints, "joint")
        working.insert(1, f"{joints} over doubled {on}, no two in a row on neighbouring courses")
    if platform.cuts or decking.angle_deg == 45:
        lost = float(100 * plan.outline.boards.waste_share)
        working.append(f"angled ends, rips and the cut corners take {lost:.1f} % of the cut boards")
    size = decking.board if decking.kind is BoardKind.WOOD else f"composite {decking.board}"
    return _line(plan, size, "deck boards", "boards", pieces, working, decking.use_category)


def _edges(plan: FramePlan, unit: Unit) -> Iterable[Line]:
    for name, flight in by_flight(plan, plan.stairs):
        if flight.treads:
            yield from _flight(plan, flight, name, unit)
    yield from guard_lumber(plan, unit)


def _stringer_run(flight: StairPlan, unit: Unit) -> str:
    """How far the stringers of a flight run, and of which kind they can be."""
    run = flight.treads * TREAD_RUN
    cut, solid = (format_length(nm, unit) for nm in (CUT_STRINGER_RUN_MOST_NM, SOLID_STRINGER_RUN_MOST_NM))
    said = f"run {format_length(run, unit)}: "
    if run <= CUT_STRINGER_RUN_MOST_NM:
        return f"{said}cut stringers reach {cut} (DCA 6, from memory)"
    if run <= SOLID_STRINGER_RUN_MOST_NM:
        return f"{said}over {cut}, so solid stringers (to {solid}), or a post or landing between (DCA 6, from memory)"
    return f"{said}no 2x12 stringer reaches over {solid}: put a post or a landing between (DCA 6, from memory)"


def _flight(plan: FramePlan, flight: StairPlan, name: str, unit: Unit) -> Iterable[Line]:
    decking = plan.platform.decking
    metric = is_metric(plan.platform.joists.size)
    apart = stringer_spacing_nm(composite=decking.kind is BoardKind.COMPOSITE)
    yield _line(
        plan, _STRINGER[metric], f"{name}: stringers", "rough-in",
        [Piece(flight.stringer_nm, flight.stringers, "stringer")],
        [f"rise in {count(flight.risers, 'riser')} of {format_small(flight.riser_nm, unit)} (7-3/4 in at most), "
         f"{count(flight.treads, 'tread')}",
         f"{count(flight.stringers, 'stringer')} no more than {format_small(apart, unit)} apart, "
         f"{format_length(flight.stringer_nm, unit)}: the slope and 1 ft for its cuts",
         _stringer_run(flight, unit)],
        plan.platform.joists.use_category,
    )  # fmt: skip
    across = tread_boards(decking.board)
    size = decking.board if decking.kind is BoardKind.WOOD else f"composite {decking.board}"
    yield _line(
        plan, size, f"{name}: treads", "guards", [Piece(flight.width_nm, flight.treads * across, "tread board")],
        [f"{count(flight.treads, 'tread')} x {count(across, 'board')}, {flight.width_nm / FOOT:.2f} ft wide"],
        decking.use_category,
    )  # fmt: skip
