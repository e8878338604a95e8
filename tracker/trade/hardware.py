"""What holds a raised deck together and down, and what its edges and stairs take besides: anchors, ties, braces, connectors of
stringers, landings, screws of treads, fascia, joist tape.

Quantities are common practice unless a line's working names a document. Guards and handrails are not here.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable

from tracker.text import count
from tracker.trade.courses import split
from tracker.trade.fasteners import screw_length_nm
from tracker.trade.framing import BeamPlan, FramePlan, StairPlan, stock_lengths
from tracker.trade.lengths import FOOT, INCH, MM, Unit, format_length, format_small
from tracker.trade.lines import lumber, screws
from tracker.trade.loads import concrete_ft3
from tracker.trade.lumber import dressed, is_metric
from tracker.trade.material import Line, Loose, Piece
from tracker.trade.rules import Rules
from tracker.trade.spec import JobSpec, Support

LATERAL_TIES = 2
"""Ties of 1,500 lb into the floor of the house, one within 24 in of each end (Wisconsin deck code, lateral load: two of 1,500
lb or four of 750 lb; the place from memory: IRC R507.9.2).
"""
BRACED_OVER = 24 * INCH
"""Posts taller than this are braced (from memory: DCA 6, decks more than 2 ft above the ground)."""
BRACE_LEG = 24 * INCH
"""How far a brace reaches along beam and post, less where the post is short (from memory: DCA 6, 2 ft at least)."""
BRACE = {False: "2x4", True: "45x95"}
"""By whether the lumber is metric."""
LANDING_OUT, LANDING_THICK = 36 * INCH, 4 * INCH
"""A landing at the foot of a flight: in the direction of travel (from memory: IRC R311.7.6), and thick (common practice)."""
FASCIA_SCREWS_APART = 16 * INCH
"""Two screws to a fascia board every so far (common practice)."""
TAPE_ROLL = {Unit.INCH: 50 * FOOT, Unit.MM: 15_000 * MM}
"""A roll of joist tape as wide as one joist (common practice; the label says)."""


def hardware(plan: FramePlan, job: JobSpec) -> Iterable[Line]:
    """The goods that hold posts, beams, joists, ledger and stringers, and what stairs and edges take besides."""
    name, unit = plan.platform.name, job.unit
    yield from _down(plan, name)
    yield from _across(plan, name, unit)
    yield from _stairs(plan, job.rules, unit)
    if _says_yes(job.rules, "fascia", unit):
        yield _fascia_screws(plan, job.rules, unit)
    if _says_yes(job.rules, "joist_tape", unit):
        yield _tape(plan, unit)


def braces(plan: FramePlan, unit: Unit) -> Line | None:
    """The braces of posts taller than 2 ft: lumber, cut at 45 degrees, from post to beam and, free-standing, from post to joist.

    Along the beam each post has one toward every neighbor; where no house holds the deck, each end post has one across too.
    """
    pieces: Counter[int] = Counter()
    along = across = 0
    for built in plan.beams:
        number, ends = _braces_of(plan, built)
        leg = min(BRACE_LEG, built.post_nm)
        width = dressed(BRACE[is_metric(plan.platform.joists.size)]).depth_nm
        # The long point is a width of the brace past the legs' diagonal.
        pieces[_whole(math.isqrt(2 * leg * leg) + width, unit)] += number + ends
        along, across = along + number, across + ends
    if not along + across:
        return None
    platform = plan.platform
    working = [
        f"posts over {format_small(BRACED_OVER, unit)} are braced (from memory: DCA 6): along the beam one toward each neighbor = {along}",
        *([f"no house holds the deck: one across at each end post = {across}"] if across else []),
        f"legs of {format_small(BRACE_LEG, unit)}, or as tall as the post, cut at 45 degrees at both ends",
    ]
    return lumber(
        platform, BRACE[is_metric(platform.joists.size)], "post braces", "posts",
        [Piece(nm, number, "post brace") for nm, number in sorted(pieces.items(), reverse=True)],
        working, platform.joists.use_category,
    )  # fmt: skip


def _braces_of(plan: FramePlan, built: BeamPlan) -> tuple[int, int]:
    """How many braces the posts of a beam have along it, one toward every neighbor, and across it, at the ends."""
    if built.post_nm <= BRACED_OVER:
        return 0, 0
    return 2 * (len(built.post_at_nm) - 1), 0 if plan.platform.attached else 2


def _whole(nm: int, unit: Unit) -> int:
    step = MM if unit is Unit.MM else INCH // 2
    return -(-nm // step) * step


def _down(plan: FramePlan, name: str) -> Iterable[Line]:
    """Anchors under post bases, ties between joists and beams, bolts of braces."""
    posts = plan.posts
    if posts:
        yield Line(
            "anchor bolt", "post base anchor bolt, galvanized, as the base's maker names it", posts, "piece", "pour", name,
            (f"one set in the concrete under each base = {posts}",),
        )  # fmt: skip
    if plan.platform.support is Support.FOOTINGS and plan.beams:
        crossings = [
            len(
                {
                    joist.line
                    for joist in plan.outline.frame.joists
                    if joist.start_nm <= built.beam.at_nm <= joist.end_nm
                }
            )
            for built in plan.beams
        ]
        yield Line(
            "joist tie", "joist-to-beam tie with its nails, galvanized", sum(crossings), "piece", "frame", name,
            (f"one where each line of joists crosses a beam: {' + '.join(map(str, crossings))}",
             "against uplift and sideways (from memory: DCA 6, joist-to-beam connection)"),
        )  # fmt: skip
    if number := sum(sum(_braces_of(plan, built)) for built in plan.beams):
        yield Line(
            "lag screw 3/8", "lag screw for post braces, 3/8 in, galvanized, with washer", 2 * number, "piece", "posts", name,
            (f"one at each end of {count(number, 'brace')} (from memory: DCA 6)",),
        )  # fmt: skip


def _across(plan: FramePlan, name: str, unit: Unit) -> Iterable[Line]:
    """Ties into the floor of the house."""
    if plan.ledgers_nm:
        yield Line(
            "lateral tie", "lateral tie, 1,500 lb, with its rod and screws", LATERAL_TIES, "piece", "ledger", name,
            (f"two into the floor inside the house, one within {format_small(24 * INCH, unit)} of each end; or four of 750 lb",
             "Wisconsin deck code, lateral load; places from memory: IRC R507.9.2"),
        )  # fmt: skip


def _stairs(plan: FramePlan, rules: Rules, unit: Unit) -> Iterable[Line]:
    """Connectors at the top of the stringers and the screws of the treads."""
    name, decking = plan.platform.name, plan.platform.decking
    flights = [flight for flight in plan.stairs if flight.treads]
    if not flights:
        return
    stringers = sum(flight.stringers for flight in flights)
    yield Line(
        "stringer connector", "stringer connector with its nails, galvanized", stringers, "piece", "rough-in", name,
        (f"one at the top of each of {count(stringers, 'stringer')}: they hang on the rim, they are not toe-nailed",),
    )  # fmt: skip
    length = screw_length_nm(decking.thickness_nm)
    crossings = sum(flight.treads * tread_boards(decking.board) * flight.stringers for flight in flights)
    each = rules.figure("screws_per_crossing")
    yield screws(
        length, "screws of the treads", crossings * each, "guards", plan.platform,
        [f"tread boards over stringers: {crossings} x {each} screws = {crossings * each}"], rules, unit,
    )  # fmt: skip


def tread_boards(board: str) -> int:
    """The boards of a tread of 10 in or more: two of a 6 in board (common practice)."""
    return max(1, -(-10 * INCH // dressed(board).depth_nm))


def landings(plan: FramePlan, job: JobSpec) -> tuple[tuple[StairPlan, float], ...]:
    """The flights that land on a slab of their own and its concrete in cubic feet, where the house rule says a slab.

    36 in in the direction of travel and as wide as the flight (from memory: IRC R311.7.6); 4 in thick (common practice).
    """
    if job.rules.text("stair_landing", job.unit) != "slab":
        return ()
    return tuple(
        (flight, concrete_ft3(flight.width_nm / INCH * LANDING_OUT / INCH, LANDING_THICK / INCH))
        for flight in plan.stairs
        if flight.treads
    )


def _says_yes(rules: Rules, key: str, unit: Unit) -> bool:
    return rules.text(key, unit) == "yes"


def _free_rims(plan: FramePlan) -> list[tuple[int, ...]]:
    """The open edges of a platform in pieces no longer than the stock."""
    platform, longest = plan.platform, stock_lengths(plan.platform.joists.size)[-1]
    edges = [edge for edge in platform.outline.edges if not edge.against_house(platform.attached)]
    return [split(edge.length_nm, longest, range(FOOT, edge.length_nm, FOOT)) for edge in edges]


def fascia(plan: FramePlan, rules: Rules, unit: Unit) -> Line | None:
    """Boards over the outside of the rims along every open edge, where the house rule wants them: 1x as deep as the joists,
    in pieces of stock length joined where they must be.
    """
    if not _says_yes(rules, "fascia", unit):
        return None
    platform = plan.platform
    joists = platform.joists
    size = (
        f"20x{dressed(joists.size).depth_nm // MM}" if is_metric(joists.size) else f"1x{joists.size.partition('x')[2]}"
    )
    parts = [part for run in _free_rims(plan) for part in run]
    return lumber(
        platform, size, "fascia", "boards",
        [Piece(nm, number, "fascia") for nm, number in sorted(Counter(parts).items(), reverse=True)],
        [f"along every open edge, {format_length(sum(parts), unit)}; the house rule asks for it"],
        platform.decking.use_category or joists.use_category,
    )  # fmt: skip


def _fascia_screws(plan: FramePlan, rules: Rules, unit: Unit) -> Line:
    places = sum(part // FASCIA_SCREWS_APART + 2 for run in _free_rims(plan) for part in run)
    length = screw_length_nm(INCH)
    return screws(
        length, "screws of the fascia", 2 * places, "boards", plan.platform,
        [f"two every {format_small(FASCIA_SCREWS_APART, unit)} and at the ends: {2 * places}"], rules, unit,
    )  # fmt: skip


def _tape(plan: FramePlan, unit: Unit) -> Line:
    frame, roll = plan.outline.frame, TAPE_ROLL[unit]
    joists, edge = sum(joist.length_nm for joist in frame.joists), sum(rim.length_nm for rim in frame.rims)
    beams = sum(built.length_nm * built.beam.plies for built in plan.beams)
    total = joists + edge + beams + sum(frame.blocking_nm)
    parts = [f"joists {format_length(joists, unit)}", f"rims and ledger {format_length(edge, unit)}"]
    parts += [f"blocking {format_length(sum(frame.blocking_nm), unit)}"] if frame.blocking_nm else []
    parts += [f"plies of beams {format_length(beams, unit)}"] if beams else []
    rolls = -(-total // roll)
    return Line(
        "joist tape", f"joist tape, rolls of {format_length(roll, unit)}, one joist wide", rolls, "roll", "frame",
        plan.platform.name,
        ("the top of everything boards lie on, and of beams; the house rule asks for it", f"{', '.join(parts)}: {count(rolls, 'roll')}"),
        loose=Loose(total, roll),
    )  # fmt: skip
