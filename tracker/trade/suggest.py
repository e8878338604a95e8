"""What a job form suggests for an answer nobody has typed yet, each with its reason.

Suggestions come from the span tables and the house rules the checks apply; they are a start for the person who designs the
deck, who answers for it with the adopted local code and a licensed professional.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from tracker.errors import InputError
from tracker.text import listing
from tracker.trade.design import BLOCKS_HIGHEST_NM
from tracker.trade.lengths import FOOT, INCH, MM, Unit, format_length, format_trade, from_inches
from tracker.trade.loading import USUAL, Loading
from tracker.trade.loads import post_area_ft2
from tracker.trade.lumber import dressed, framing_wants_ground_contact, nominal_within
from tracker.trade.permits import AREA_MOST_FT2, AREA_READ_FT2, permit_triggers
from tracker.trade.postheight import post_answer
from tracker.trade.postloads import table_joist_nm
from tracker.trade.posts import PAD
from tracker.trade.spans import span_answer
from tracker.trade.spec import ON_GROUND, Support
from tracker.trade.woodblocks import HIGHEST, fits_on

JOIST_SIZES = {
    Unit.INCH: ("2x6", "2x8", "2x10", "2x12"),
    Unit.MM: ("45x145", "45x195", "45x220", "45x245", "45x295"),
}
"""Joist sizes from small to large (common practice)."""
GROUND_SIZES = {Unit.INCH: ("2x8", "2x6", "2x4"), Unit.MM: ("45x195", "45x145", "45x95")}
"""Joists on blocks, the usual one first (common practice)."""
POST_SIZES = {Unit.INCH: ("6x6", "8x8"), Unit.MM: ("145x145", "195x195")}
"""Posts, the usual one first (common practice)."""
LOW = BLOCKS_HIGHEST_NM
"""Up to this height pad blocks are suggested, above it footings."""
POSTS_APART_LEAST = 6 * FOOT
"""A beam that cannot reach this far between posts is suggested one size deeper (common practice)."""
PAD_BEAMS_APART = 6 * FOOT
"""Beams on pads are suggested no further apart (common practice)."""
OVERHANG_MOST = 2 * FOOT
"""How far joists are suggested to run past their beam (common practice; the table may allow more)."""


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A text for a field, and why."""

    text: str
    why: str


def reach_in(member: str, size: str, species: str, grade: str, *, spacing_nm: int = 0, joist_span_nm: int = 0,
             plies: int = 1, loading: Loading = USUAL) -> tuple[int | None, int]:  # fmt: skip
    """The span in whole inches a joist (give ``spacing_nm``) or beam (``joist_span_nm``) may have, and a joist's overhang.

    A metric size counts as the largest inch size within it. None where no table and no computation holds for it.
    """
    try:
        answer = span_answer(
            member, nominal_within(size), species, grade, plies=plies,
            spacing_nm=spacing_nm or None, joist_span_nm=joist_span_nm or None,
            live_psf=loading.live_psf, snow_psf=loading.snow,
        ).answer  # fmt: skip
    except InputError:
        return None, 0
    allowed, over = answer["allowed_span_in"], answer.get("overhang_in", 0)
    return (allowed if isinstance(allowed, int) else None), (over if isinstance(over, int) else 0)


def suggest_joists(
    species: str,
    grade: str,
    spacing_nm: int,
    span_nm: int,
    unit: Unit,
    past_nm: int = 0,
    least_nm: int = 0,
    loading: Loading = USUAL,
) -> Suggestion | None:
    """The smallest joist size that spans ``span_nm`` at this spacing and may run ``past_nm`` past a beam; the smallest that
    spans it where none may run so far, None when none here spans it. None is less than ``least_nm`` deep.
    """
    spans: Suggestion | None = None
    for size in JOIST_SIZES[unit]:
        allowed, over = reach_in("joist", size, species, grade, spacing_nm=spacing_nm, loading=loading)
        if allowed is None or from_inches(allowed) < span_nm or dressed(size).depth_nm < least_nm:
            continue
        why = f"spans {format_length(span_nm, unit)}; the table allows {format_trade(from_inches(allowed), unit)}"
        found = Suggestion(size, why)
        if from_inches(over) >= past_nm:
            return found
        spans = spans or found
    return spans


def past_beams_nm(depth_nm: int, beams: Iterable[int], attached: bool) -> int:
    """The longest joist end past a beam; 0 without beams."""
    held = sorted(beams)
    return max(depth_nm - held[-1], 0 if attached else held[0]) if held else 0


def suggest_support(
    height_nm: int | None, board_nm: int, attached: bool, unit: Unit, footings_nm: int = 0
) -> Suggestion:
    """The simplest thing to carry a platform that stands on the ground, and why: wood blocks, pad blocks, or footings.

    Wood blocks where it stands free, about a step high, with room for them under some joist; they want neither concrete nor
    stone. ``height_nm`` None is not known yet; ``footings_nm`` is the least height that has room for beams on footings.
    Common practice.
    """
    if height_nm is None:
        return Suggestion(Support.BLOCKS.value, "low enough for blocks")
    if attached:
        if height_nm < footings_nm and height_nm <= LOW:
            return Suggestion(
                Support.BLOCKS.value,
                "no room for beams under it; frost moves blocks and not the house, so ask whether it can stand free",
            )
        return Suggestion(Support.FOOTINGS.value, "hung on the house it must not move with the frost, as blocks do")
    if height_nm <= HIGHEST[unit] and suggest_wood_block_joists(height_nm, board_nm, unit) is not None:
        return Suggestion(Support.WOOD_BLOCKS.value, "free-standing and a step high: no concrete and no stone")
    if height_nm <= LOW:
        why = "no room for wood blocks under it" if height_nm <= HIGHEST[unit] else "too high for wood blocks"
        return Suggestion(Support.BLOCKS.value, f"{why}, low enough for pad blocks")
    return Suggestion(Support.FOOTINGS.value, f"more than {format_trade(LOW, unit)} high")


def suggest_ground_joists(height_nm: int, board_nm: int, unit: Unit) -> Suggestion | None:
    """The joist size for a platform on blocks that fits under its boards; None when none does."""
    for size in GROUND_SIZES[unit]:
        if dressed(size).depth_nm + board_nm <= height_nm:
            return Suggestion(size, f"fits under {format_trade(height_nm, unit)}")
    return None


def suggest_wood_block_joists(height_nm: int, board_nm: int, unit: Unit) -> Suggestion | None:
    """The joist size for a platform on wood blocks that leaves room for them; None when none does."""
    for size in GROUND_SIZES[unit]:
        if fits_on(height_nm, board_nm, size):
            return Suggestion(size, f"fits under {format_trade(height_nm, unit)} with wood blocks below")
    return None


def suggest_beams(depth_nm: int, attached: bool, unit: Unit, beams: int = 0) -> tuple[int, ...]:
    """Where to put so many ``beams``, from the back edge: the last near the front, the first of a free-standing deck near the
    back, the others evenly between. With 0 as few as hold a deck up: one of an attached deck, two under a free-standing one.
    """
    step = 6 * INCH if unit is Unit.INCH else 100 * MM
    over = min(OVERHANG_MOST, depth_nm // 6) // step * step
    back, bays = (0, max(beams, 1)) if attached else (over, max(beams - 1, 1))
    front = depth_nm - over
    inner = tuple(round((back + (front - back) * k / bays) / step) * step for k in range(1, bays))
    return (*inner, front) if attached else (back, *inner, front)


def suggest_beam_places(
    depth_nm: int,
    attached: bool,
    unit: Unit,
    species: str,
    grade: str,
    spacing_nm: int,
    most: int,
    loading: Loading = USUAL,
) -> tuple[int, ...]:
    """The fewest beams on footings, ``most`` at the most, between which some joist of the tables spans and that some beam of two
    plies carries, and where they lie; as few as hold a deck up where no number of them does.
    """
    few = suggest_beams(depth_nm, attached, unit)
    for beams in range(len(few), most + 1):
        places = suggest_beams(depth_nm, attached, unit, beams)
        span = joist_span_nm(depth_nm, places, attached)
        joist = max(table_joist_nm(place, places, depth_nm, attached) for place in places)
        joists = suggest_joists(species, grade, spacing_nm, span, unit, loading=loading)
        if joists and suggest_beam(species, grade, 2, joist, unit, loading):
            return places
    return few


def suggest_pad_beams(depth_nm: int, unit: Unit) -> tuple[int, ...]:
    """Where to put the beams of a free-standing platform on pads, from the back edge: a foot in from both ends, and between
    them no more than six feet apart (common practice), so that the beams and joists stay shallow.
    """
    step = 6 * INCH if unit is Unit.INCH else 100 * MM
    over = min(FOOT, depth_nm // 6) // step * step
    bays = max(-(-(depth_nm - 2 * over) // PAD_BEAMS_APART), 1)
    # Joists run no further past a beam than a quarter of their span, and spans are short where one more beam is needed.
    while 4 * over * bays > depth_nm - 2 * over:
        over -= step
        bays = max(-(-(depth_nm - 2 * over) // PAD_BEAMS_APART), 1)
    return tuple(over + (depth_nm - 2 * over) * k // bays for k in range(bays + 1))


def joist_span_nm(depth_nm: int, beams: Iterable[int], attached: bool) -> int:
    """The longest stretch of a joist between the house and the beams, or between beams; the depth without two of them."""
    held = sorted({*beams, *([0] if attached else [])})
    return max((far - near for near, far in pairwise(held)), default=depth_nm)


def suggest_beam(
    species: str,
    grade: str,
    plies: int,
    joist_nm: int,
    unit: Unit,
    loading: Loading = USUAL,
    room_nm: int | None = None,
) -> Suggestion | None:
    """The smallest beam that reaches six feet and more between posts under joists of ``joist_nm`` (``table_joist_nm``), else
    the deepest one a table reaches that has room in ``room_nm`` (None: any); where none has, the shallowest; None where no
    table reaches one.
    """
    deepest: Suggestion | None = None
    for size in JOIST_SIZES[unit][1:]:
        if deepest is not None and room_nm is not None and dressed(size).depth_nm > room_nm:
            break
        allowed, _ = reach_in("beam", size, species, grade, joist_span_nm=joist_nm, plies=plies, loading=loading)
        if allowed is not None:
            deepest = Suggestion(size, f"reaches {format_trade(from_inches(allowed), unit)} between posts")
            if from_inches(allowed) >= POSTS_APART_LEAST:
                break
    return deepest


def suggest_posts(
    size: str, species: str, grade: str, plies: int, joist_nm: int, length_nm: int, unit: Unit, loading: Loading = USUAL
) -> Suggestion | None:
    """The fewest posts under a beam of ``length_nm`` that carries joists of ``joist_nm`` (``table_joist_nm``); None where no
    table reaches the beam.
    """
    allowed, _ = reach_in("beam", size, species, grade, joist_span_nm=joist_nm, plies=plies, loading=loading)
    if not allowed:
        return None
    posts = max(-(-length_nm // from_inches(allowed)) + 1, 2)
    return Suggestion(str(posts), f"the table allows {format_trade(from_inches(allowed), unit)} between posts")


def suggest_pads(posts: int, joist_nm: int, length_nm: int, soil_psf: int, unit: Unit, loading: Loading = USUAL) -> int:
    """The fewest pads under a beam of ``length_nm``, ``posts`` at the least, that the soil carries under joists of ``joist_nm``
    (``table_joist_nm``).
    """
    most_ft2 = soil_psf * (PAD[unit is Unit.MM] / FOOT) ** 2 / loading.total_psf
    pads = max(posts, 2)
    while post_area_ft2(-(-length_nm // (pads - 1)), joist_nm) > most_ft2:
        pads += 1
    return pads


def suggest_post(
    wood: str, joist_nm: int, length_nm: int, posts: int, height_nm: int, unit: Unit, loading: Loading = USUAL
) -> Suggestion | None:
    """The smallest post, 6x6 and up, that may stand ``height_nm`` under a beam of ``length_nm`` on so many ``posts`` that carries
    joists of ``joist_nm`` (``table_joist_nm``); None where none here may.
    """
    for size in POST_SIZES[unit]:
        allowed = post_height_nm(size, wood, length_nm // max(posts - 1, 1), joist_nm, loading)
        if allowed is not None and height_nm <= allowed:
            return Suggestion(size, f"may stand {format_trade(allowed, unit)} under that load")
    return None


def post_height_nm(size: str, wood: str, beam_span_nm: int, joist_nm: int, loading: Loading = USUAL) -> int | None:
    """The tallest a post may stand, None where it may not or no table reaches; a metric size counts as the inch size within it."""
    try:
        told = post_answer(nominal_within(size), beam_span_nm, joist_nm, wood=wood, live_psf=loading.upon_psf)
    except InputError:
        return None
    allowed = told.answer["allowed_height_in"]
    return from_inches(allowed) if isinstance(allowed, int) else None


def suggest_use(support: Support, height_nm: int, board_nm: int, joist_nm: int) -> Suggestion:
    """The use category of the joists' treatment."""
    if support in ON_GROUND or framing_wants_ground_contact(height_nm - board_nm - joist_nm):
        return Suggestion("UC4A", "near the ground, or hard to replace: ground contact")
    return Suggestion("UC3B", "above the ground")


def suggest_permit(area_ft2: float, height_nm: int, attached: bool) -> str:
    """Why a permit is to be asked for, by the conditions of ``permit_triggers``; empty when none of them is met, or for a size
    no deck has.
    """
    if not 0 < area_ft2 < AREA_READ_FT2 or height_nm < 0:
        return ""
    said = {"area": f"more than {AREA_MOST_FT2:g} sq ft", "height": "high", "attached": "it hangs on the house"}
    met = [trigger.key for trigger in permit_triggers(area_ft2, height_nm, attached, None) if trigger.met]
    return f"{listing([said[key] for key in met], 'and')}: ask the office" if met else ""
