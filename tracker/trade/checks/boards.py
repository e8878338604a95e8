"""The checks of the deck boards as they go down: the gap, the run coming home straight, the screws."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tracker.errors import InputError
from tracker.text import count, listing
from tracker.trade.answer import Answer, Plain
from tracker.trade.boardrun import TaperPlan, bring_home
from tracker.trade.checks.base import Case, Check, incomplete, verdict
from tracker.trade.checks.frame import decking_spacing
from tracker.trade.checks.gap import GAP as GAP
from tracker.trade.courses import laid_gap_nm
from tracker.trade.fasteners import BOXES, boxes, screw_length_nm
from tracker.trade.framing import plan_frame
from tracker.trade.lengths import INCH, SIXTY_FOURTH, Unit, format_length, format_small, inches
from tracker.trade.lumber import size_name
from tracker.trade.material import stock_size
from tracker.trade.outline import Clip
from tracker.trade.plausible import in_reason, near_plan, right_unit
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.rules import COMMON
from tracker.trade.spec import BoardKind, Platform

_HALF_64 = SIXTY_FOURTH // 2
_LEAST_CROSSINGS = 3
_SCREW_CAUTION = "Drive with eye protection; kneel on pads; sweep up dropped screws before anybody walks barefoot."


_POINTS = ("left", "middle", "right")


def _layout_form(case: Case) -> Form:
    unit, decking = case.job.unit, case.platform.decking
    laid, still = _example(case)
    return Form(
        fields=(
            Field("laid", "boards laid", Kind.COUNT, example=str(laid)),
            Field("gap", "gap as laid", Kind.LENGTH, required=False, example=format_small(laid_gap_nm(decking), unit),
                  help="left blank, the gap the job plans"),
            Field("width", "board width as laid", Kind.LENGTH, required=False,
                  example=format_length(decking.width_nm, unit), help="measure one; left blank, the dressed width"),
        ),
        columns=(Field("open", "run still open", Kind.LENGTH, example=format_length(still, unit),
                       help="from the last board's edge to where the boards end, square to the boards"),),
        rows=_POINTS,
        row_word="point",
        open_rows=True,
        least_rows=2,
    )  # fmt: skip


def _example(case: Case) -> tuple[int, int]:
    """Boards laid and the run then open, a few boards before the end."""
    decking, run = case.platform.decking, run_nm(case)
    total = plan_frame(case.platform, case.rules, case.job.site).courses.count
    laid, gap = max(total - 4, 1), laid_gap_nm(decking)
    if run is None:
        return laid, 4 * decking.width_nm
    return laid, max(run - laid * decking.width_nm - (laid - 1) * gap, 0)


def _judge_layout(case: Case, readings: Readings) -> Answer:
    unit, decking, rules = case.job.unit, case.platform.decking, case.rules
    still = readings.column("open")
    missing = [] if readings.has("laid") else ["the boards laid"]
    if len(still) < 2:
        missing.append("the run still open at two points or more")
    if missing:
        return incomplete(listing(missing, "and"), source=COMMON)
    gap = readings.whole("gap") if readings.has("gap") else laid_gap_nm(decking)
    width = readings.whole("width") if readings.has("width") else decking.width_nm
    near_plan(width, decking.width_nm, "the board width", unit, share=_WIDTH_OFF)
    laid, slack = readings.whole("laid"), rules.figure("gap_tolerance")
    in_reason(gap, INCH, "a gap between boards of", unit)
    total = _boards_in_reason(case, laid)
    _boards_there(case, laid)
    sums = _sums(case, laid, width, gap, still)
    inputs: dict[str, Plain] = {
        "laid": laid, "gap_in": inches(gap), "open_in": {label: inches(nm) for label, nm in still.items()},
    }  # fmt: skip
    if not any(still.values()):
        return verdict(
            True, f"all {laid} boards laid, the run is home", inputs=inputs,
            answer={"taper_in": 0.0, "boards_to_go": 0, "laid": laid}, working=["nothing is open at any point", *sums],
            source=COMMON,
        )  # fmt: skip
    plan = bring_home(still, width, gap, max(0, gap - slack), gap + slack, unit)
    most = rules.figure("board_taper")
    least_last = width * rules.figure("last_board_least") // 1000
    narrow = min(plan.last_width_nm.values())
    faults: list[str] = []
    if plan.taper_nm > most:
        faults.append(f"the run is {format_small(plan.taper_nm, unit)} out of parallel")
    if not plan.flush and narrow < least_last:
        faults.append(f"the last board comes to {format_small(narrow, unit)}")
    shares: dict[str, Plain] = {label: inches(nm) for label, nm in plan.gap_change_nm.items()}
    lasts: dict[str, Plain] = {label: inches(nm) for label, nm in plan.last_width_nm.items()}
    good = f"{count(plan.boards_to_go, 'board')} to go, {_end(plan, narrow, unit)}"
    return verdict(
        not faults,
        "; ".join(faults) or good,
        inputs=inputs,
        answer={
            "taper_in": inches(plan.taper_nm), "boards_to_go": plan.boards_to_go, "laid": laid,
            "boards_planned": total, "flush": plan.flush, "last_width_in": inches(narrow),
            "last_width_at_in": lasts, "gap_change_at_in": shares, "left_over_in": inches(plan.left_over_nm),
        },
        working=[*_layout_working(still, plan, width, gap, unit), *sums],
        source=COMMON,
        moves=_layout_moves(plan, narrow < least_last, unit),
        limits=[rules.limit(key, unit) for key in ("board_taper", "last_board_least", "gap_tolerance")],
    )  # fmt: skip


_WIDTH_OFF = 0.05
"""How far a measured board may be off its dressed width: green stock is some 2 % wider (from memory: PS 20 Table 3)."""
_MOVED = 100
"""A board's width over what moisture may have changed it by: 1 % for 4 points (PS 20 as the trade quotes it)."""
_AS_BUILT_NM = INCH // 2
"""How far a frame as built, or the boards' overhang past it, may be off the plan (common practice)."""


def run_nm(case: Case) -> int | None:
    """The run the field boards cover, in nm, square to them; None where they lie at 45 degrees and every point has its own."""
    if case.platform.decking.angle_deg == 45:
        return None
    boards = plan_frame(case.platform, case.rules, case.job.site).outline.boards.boards
    return max(board.patch.high for board in boards) - min(board.patch.low for board in boards)


def _cut_away_nm(platform: Platform) -> int:
    """What cut corners may take off the run at a point: the two deepest, one at each end of it."""
    along = platform.decking.angle_deg == 90
    deep = [cut.leg_nm if isinstance(cut, Clip) else cut.width_nm if along else cut.depth_nm for cut in platform.cuts]
    return sum(sorted(deep)[-2:])


def _boards_in_reason(case: Case, laid: int) -> int:
    """The courses the deck takes; raises InputError where more boards are said to be laid than can lie on it."""
    decking, run = case.platform.decking, run_nm(case)
    total = plan_frame(case.platform, case.rules, case.job.site).courses.count
    most = total + 1
    if run is not None:
        least = decking.width_nm - _moved_nm(case, decking.width_nm)
        least += max(laid_gap_nm(decking) - case.rules.figure("gap_tolerance"), 0)
        most = -(-(run + _AS_BUILT_NM) // least)
    if laid > most:
        raise InputError(f"{laid} boards laid where the deck takes about {total}", "count the boards across the deck")
    return total


def _boards_there(case: Case, laid: int) -> None:
    """Raise InputError when more rows are laid than the boards of the job's lots could make, used and left together.

    A job without a lot of its deck boards keeps none, and is not held against any.
    """
    decking, boards = case.platform.decking, plan_frame(case.platform, case.rules, case.job.site).outline.boards
    size = size_name(decking.board)
    came = [
        (lot, found[1])
        for lot in case.lots
        if (found := stock_size(lot.item)) and found[0].removeprefix("composite ") == size
    ]
    if not came or not boards.courses:
        return
    whole = sum(nm for board in boards.boards for nm in board.pieces_nm)
    have = sum((lot.used + lot.on_hand) * nm for lot, nm in came)
    # Rows of a cut or angled deck differ: there only the whole deck is held against the boards.
    even = len({board.pieces_nm for board in boards.boards}) == 1
    need = whole * min(laid, boards.courses) // boards.courses if even or laid >= boards.courses else 0
    if need > have:
        pieces = sum(lot.used + lot.on_hand for lot, _ in came)
        raise InputError(
            f"{count(laid, 'board')} laid cannot be right: {count(pieces, 'board')} of {size} have come by the lots,"
            f" {format_length(have, case.job.unit)} of the {format_length(need, case.job.unit)} laid",
            "receive what has come first, or count the boards again",
        )


def _moved_nm(case: Case, width_nm: int) -> int:
    return width_nm // _MOVED if case.platform.decking.kind is BoardKind.WOOD else 0


def _sums(case: Case, laid: int, width: int, gap: int, still: Mapping[str, int]) -> list[str]:
    """Boards laid and what is still open add up to the run: the sum at the point that is farthest off.

    Raises InputError where gaps, widths and the frame as built cannot explain the difference.
    """
    run, unit = run_nm(case), case.job.unit
    if run is None:
        return []
    gaps = max(laid - 1, 0)
    covered = laid * width + gaps * gap
    slack = laid * _moved_nm(case, width) + gaps * case.rules.figure("gap_tolerance") + _AS_BUILT_NM
    away = _cut_away_nm(case.platform)
    off = {label: covered + nm - run for label, nm in still.items()}
    worst = max(off, key=lambda label: abs(off[label]))
    said = (
        f"{count(laid, 'board')} x {format_small(width, unit)} + {count(gaps, 'gap')} x {format_small(gap, unit)}"
        f" = {format_length(covered, unit)}"
    )
    for label, nm in still.items():
        # The last board is ripped, or runs over, where nothing is open.
        over = width if nm == 0 else 0
        if not -slack - away <= off[label] <= slack + over:
            left = max(run - covered, 0)
            right_unit(nm, left or width, f"the run open at {label}", unit)
            raise InputError(
                f"{said}, and {format_length(nm, unit)} open at {label} make {format_length(covered + nm, unit)}:"
                f" that cannot be right, the run is {format_length(run, unit)}",
                f"count the boards again, and measure from the last board's edge to where the boards end: {laid} laid"
                f" leave about {format_length(left, unit)} open; a board of another width goes in with width=",
            )
    return [
        f"{said}; with {format_length(still[worst], unit)} open at {worst} {format_length(covered + still[worst], unit)}"
        f" of a run of {format_length(run, unit)}: {format_small(abs(off[worst]), unit)} off, up to"
        f" {format_small(slack, unit)} may be gaps, widths and the frame as built"
    ]


def _end(plan: TaperPlan, narrow: int, unit: Unit) -> str:
    return "the last one lands flush" if plan.flush else f"the last one {format_small(narrow, unit)} wide"


def _layout_working(still: Mapping[str, int], plan: TaperPlan, width: int, gap: int, unit: Unit) -> list[str]:
    most, least = max(still, key=still.__getitem__), min(still, key=still.__getitem__)
    lines = [
        f"taper = most - least = {format_length(still[most], unit)} at {most} - {format_length(still[least], unit)}"
        f" at {least} = {format_small(plan.taper_nm, unit)}",
        f"one board and its gap take {format_small(width, unit)} + {format_small(gap, unit)}:"
        f" {count(plan.boards_to_go, 'board')} to go",
    ]
    for label, nm in still.items():
        change, last = plan.gap_change_nm[label], plan.last_width_nm[label]
        lines.append(
            f"{label}: {format_length(nm, unit)} open; {_signed(change, unit)} on each gap;"
            f" last board {format_small(last, unit, 32)}"
        )
    return lines


def _signed(nm: int, unit: Unit) -> str:
    return ("+" if nm >= 0 else "") + format_small(nm, unit, 64)


def _layout_moves(plan: TaperPlan, narrow: bool, unit: Unit) -> list[str]:
    moves: list[str] = []
    for label, nm in plan.gap_change_nm.items():
        by = format_small(abs(nm), unit, 64)
        if abs(nm) >= _HALF_64:
            gaps = "the gap" if plan.boards_to_go == 1 else f"each of the {plan.boards_to_go} gaps left"
            moves.append(f"at {label} {'open' if nm > 0 else 'close'} {gaps} by {by}")
    if plan.flush:
        moves.append("lay the boards left whole: they land flush")
        return moves
    if narrow:
        lift = "lift the last board laid and " if plan.boards_to_go == 1 else ""
        moves.append(f"{lift}rip the last two boards alike, about {format_small(plan.last_two_nm, unit)} each")
    widths = dict.fromkeys(format_small(nm, unit) for nm in plan.last_width_nm.values())
    if plan.left_over_nm >= _HALF_64 and len(widths) > 1:
        cuts = listing([f"{format_small(nm, unit)} at {at}" for at, nm in plan.last_width_nm.items()], "and")
        moves.append(f"rip the last board to the taper: {cuts}")
    elif not narrow:
        moves.append(f"rip the last board to {next(iter(widths))}")
    return moves


BOARD_LAYOUT = Check(
    key="board-layout",
    title="Board run",
    asks="count the boards laid; measure the run still open at both ends and the middle, square to the boards",
    source=COMMON,
    form=_layout_form,
    judge=_judge_layout,
)


_MOST_AT_CROSSING = 20
"""More screws than anybody drives where one board crosses one joist."""


def _screw_form(case: Case) -> Form:
    unit, wood = case.job.unit, case.platform.decking.kind is BoardKind.WOOD
    return Form(
        fields=(
            Field("predrilled", "board ends pre-drilled", Kind.YESNO, example="yes", required=wood),
            Field("boxes", "boxes of screws left", Kind.COUNT, required=False, example="2"),
            Field("laid", "boards screwed down", Kind.COUNT, required=False, example="12",
                  help="whole rows; left blank, none"),
        ),
        columns=(
            Field("count", "screws", Kind.COUNT, example="2"),
            Field("edge", "screw to the long edge", Kind.LENGTH, example=format_small(INCH, unit)),
        ),
        rows=("c1", "c2", "c3", "c4", "c5", "c6"),
        row_word="crossing",
        open_rows=True,
        least_rows=_LEAST_CROSSINGS,
    )  # fmt: skip


def _judge_screws(case: Case, readings: Readings) -> Answer:
    unit, rules, decking = case.job.unit, case.rules, case.platform.decking
    source = f"pattern: {COMMON}; count: {rules.source('screws_per_crossing')}"
    counts, edges = readings.column("count"), readings.column("edge")
    missing = []
    if len(counts) < _LEAST_CROSSINGS or len(edges) < _LEAST_CROSSINGS:
        missing.append(f"screws and edge distance at {_LEAST_CROSSINGS} crossings or more")
    if case.platform.decking.kind is BoardKind.WOOD and not readings.has("predrilled"):
        missing.append("whether the board ends are pre-drilled")
    if missing:
        return incomplete(listing(missing, "and"), source=source)
    per = rules.figure("screws_per_crossing")
    for label, n in counts.items():
        if n > _MOST_AT_CROSSING:
            raise InputError(
                f"{label}: {n} screws at one crossing cannot be", "count the screws where one board crosses"
            )
    for label, nm in edges.items():
        in_reason(nm, decking.width_nm, f"{label}: an edge distance of", unit)
    if readings.has("laid"):
        _boards_in_reason(case, readings.whole("laid"))
        _boards_there(case, readings.whole("laid"))
    least, most = rules.figure("screw_edge_least"), rules.figure("screw_edge_most")
    few = {label: per - n for label, n in counts.items() if n < per}
    close = [label for label, nm in edges.items() if nm < least]
    far = [label for label, nm in edges.items() if nm > most]
    faults, moves = list[str](), list[str]()
    for label, n in few.items():
        moves.append(f"drive {count(n, 'more screw')} at {label}")
    if few:
        faults.append(f"{count(sum(few.values()), 'screw')} missing at {listing(few, 'and')}")
    if close:
        faults.append(f"too near the edge at {listing(close, 'and')}")
        moves.append(
            f"pre-drill and drive again {format_small(least, unit)} or more from the edge at {listing(close, 'and')}"
        )
    if far:
        faults.append(f"too far from the edge at {listing(far, 'and')}")
        moves.append(f"add a screw within {format_small(most, unit)} of the edge at {listing(far, 'and')}")
    if case.platform.decking.kind is BoardKind.WOOD and not readings.yes("predrilled"):
        faults.append("board ends are not pre-drilled")
        moves.append("pre-drill every end: screws near an end split it")
    need = _need(case, readings, per)
    moves += need.moves
    short, length_nm = sum(few.values()), screw_length_nm(decking.thickness_nm)
    length = format_length(length_nm, unit)
    span = f"{format_small(least, unit)} to {format_small(most, unit)}"
    return verdict(
        not faults,
        "; ".join(faults) or f"{per} at each of {count(len(counts), 'crossing')}, ends as they should be",
        inputs={
            "predrilled": readings.yes("predrilled"),
            "count": dict(counts), "edge_in": {label: inches(nm) for label, nm in edges.items()},
        },
        answer={**need.figures, "missing_screws": short, "screw_length_in": inches(length_nm)},
        working=[
            f"at each crossing {per} screws, {span} from the long edge",
            f"least {min(counts.values())} screws; edges {format_small(min(edges.values()), unit)} to"
            f" {format_small(max(edges.values()), unit)}",
            *need.working,
            f"screw: the board's {format_length(decking.thickness_nm, unit)} + 1-1/2 in in the joist, so {length}",
        ],
        source=source,
        moves=moves,
        limits=[
            *(rules.limit(key, unit) for key in ("screws_per_crossing", "screw_edge_least", "screw_edge_most")),
            decking_spacing(case.platform),
        ],
        caution=_SCREW_CAUTION,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Need:
    """How many screws the deck still takes, and whether the boxes at hand hold them."""

    figures: dict[str, Plain]
    working: list[str]
    moves: list[str]


def _need(case: Case, readings: Readings, per: int) -> _Need:
    courses = plan_frame(case.platform, case.rules, case.job.site).courses
    total = courses.crossings * per
    laid = min(readings.whole("laid"), courses.count) if readings.has("laid") else 0
    left = -(-total * (courses.count - laid) // courses.count)
    long = screw_length_nm(case.platform.decking.thickness_nm) > 5 * INCH // 2
    spare, box = case.rules.figure("waste_fasteners"), BOXES[1 if long else 0]
    wanted = boxes(left, box.pieces, spare)
    figures: dict[str, Plain] = {"total_screws": total, "screws_to_go": left, "boxes_to_go": wanted}
    working = [
        f"{count(courses.crossings, 'crossing')} x {per} = {total} screws; {courses.count - laid} of {courses.count}"
        f" rows to go = {left}",
        f"{left} and {spare / 10:g} % spare in boxes of {box.pieces} (house figure: read the label)"
        f" = {count(wanted, 'box', 'boxes')}",
    ]
    if not readings.has("boxes"):
        return _Need(figures, working, [])
    at_hand = readings.whole("boxes")
    came = [lot for lot in case.lots if lot.item.startswith("screws ")]
    if came and at_hand > (here := sum(lot.on_hand + lot.used for lot in came)):
        raise InputError(
            f"{count(at_hand, 'box', 'boxes')} of screws left cannot be right: {here} came by the lots",
            "count the whole boxes left, or receive what has come first",
        )
    short = max(wanted - at_hand, 0)
    figures |= {"boxes_left": at_hand, "boxes_to_buy": short}
    return _Need(figures, working, [f"buy {count(short, 'box', 'boxes')} of {box.item}"] if short else [])


SCREWS = Check(
    key="screws",
    title="Deck screws",
    asks="look at crossings all over the deck: count the screws, measure from each to the board's long edge",
    source=COMMON,
    form=_screw_form,
    judge=_judge_screws,
    caution=_SCREW_CAUTION,
)
