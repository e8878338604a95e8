"""Guards: when one is required, how high, how tight, and how its posts and balusters are spread."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from tracker.errors import InputError
from tracker.text import count
from tracker.trade.answer import Answer, Limit, Plain
from tracker.trade.cautions import code_decides
from tracker.trade.lengths import FOOT, INCH, Unit, format_length, format_small, format_trade, inches

SOURCE = "IRC R312.1 (2018), as a county building office prints it"
TRIGGER_NM = 30 * INCH
HEIGHT_LEAST_NM = 36 * INCH
OPENING_NM = 4 * INCH
STAIR_OPENING_NM = 4 * INCH + 3 * INCH // 8
"""Sphere that must not pass the guard of a stair (Wisconsin deck code, guards; IRC R312.1.3)."""
STAIR_HEIGHT_LEAST_NM = 34 * INCH
"""Guard on the open side of a stair; from memory: IRC R312.1.2 exception."""
BUILD_OPENING_NM = 3 * INCH + 7 * INCH // 8
"""Opening to build to, so that wet balusters still pass when dry (common practice)."""
POST_SPACING_MOST_NM = 6 * FOOT
"""Greatest spacing of guard posts, centre to centre; from memory: DCA 6 guard details."""
GUARD_POST, BALUSTER = 7 * INCH // 2, 3 * INCH // 2
"""A 4x4 post and a 2x2 baluster, dressed."""
_TALLEST_NM = 100 * FOOT


def guard_required(height_nm: int) -> bool:
    """Whether a walking surface this far above the ground needs a guard: more than 30 in, so not at 30 in
    itself.

    ``height_nm`` is to the lowest ground within 36 in of the edge. Source: IRC R312.1.1 (2018).
    """
    return height_nm > TRIGGER_NM


def guard_answer(height_nm: int, *, unit: Unit = Unit.INCH) -> Answer:
    """Return whether a guard is required at a height, and its least height and opening limit.

    Keys: ``required``, ``height_in``, ``opening_in`` (the sphere that must not pass); the two sizes stand for
    a guard built by choice too. Raises InputError for a height out of reason.
    """
    if not 0 <= height_nm <= _TALLEST_NM:
        raise InputError(
            f"{format_length(height_nm, unit)} is no height for a deck",
            "give the height above the lowest ground near the edge",
        )
    required = guard_required(height_nm)
    height, opening = format_trade(HEIGHT_LEAST_NM, unit), format_trade(OPENING_NM, unit)
    trigger = format_trade(TRIGGER_NM, unit)
    at = format_trade(height_nm, unit, 64)
    headline = (
        f"guard required at {at}: {height} high or more, no {opening} ball through it"
        if required
        else f"no guard required by this rule at {at}: not more than {trigger}"
    )
    moves = ["measure to the lowest ground within 36 in of the edge, at every corner"]
    if not required:
        moves.append(f"some places start lower than {trigger}: ask the local office")
    return Answer(
        headline=headline,
        inputs={"height_in": inches(height_nm)},
        answer={
            "required": required,
            "height_in": inches(HEIGHT_LEAST_NM),
            "opening_in": inches(OPENING_NM),
        },
        working=(f"{inches(height_nm):g} in is {'more' if required else 'not more'} than {inches(TRIGGER_NM):g} in",),
        source=SOURCE,
        moves=tuple(moves),
        limits=(
            Limit("guard from a height over", trigger, SOURCE),
            Limit("guard height at the least", height, SOURCE),
            Limit("opening a ball must not pass", opening, SOURCE),
        ),
        caution=code_decides(SOURCE) + " A guard must stand 200 lb at the top in any direction; never notch its posts.",
    )


@dataclass(frozen=True, slots=True)
class Infill:
    """Balusters in one clear opening: how many, and the equal gap between and beside them (nanometres,
    exact).
    """

    balusters: int
    gap_nm: Fraction


def infill(clear_nm: int, baluster_nm: int, opening_nm: int = BUILD_OPENING_NM) -> Infill:
    """Return the fewest balusters that keep every gap of a clear opening at ``opening_nm`` or less.

    The default builds to 3-7/8 in, so that a 4 in ball stays out after the balusters dry. Raises InputError
    for sizes that are not positive, or an opening limit that a 4 in ball would pass.
    """
    if clear_nm <= 0 or baluster_nm <= 0:
        raise InputError("a size is not more than 0", "give the clear opening and the baluster's width")
    if not 0 < opening_nm < OPENING_NM:
        raise InputError(
            f"gaps of {format_length(opening_nm)} would let a 4 in ball through",
            "give less than 4 in, like 3-7/8",
        )
    # n balusters leave n + 1 gaps: clear - n b <= (n + 1) g.
    needed = max(0, -(-(clear_nm - opening_nm) // (baluster_nm + opening_nm)))
    left = clear_nm - needed * baluster_nm
    if left < 0:
        raise InputError("the balusters do not fit the opening", "give narrower balusters, or none: it is tight enough")
    return Infill(needed, Fraction(left, needed + 1))


def guard_layout(
    length_nm: int,
    post_nm: int,
    baluster_nm: int,
    *,
    opening_nm: int = BUILD_OPENING_NM,
    unit: Unit = Unit.INCH,
) -> Answer:
    """Return posts and balusters for a straight guard with a post at each end, ``length_nm`` outside to
    outside.

    Keys: ``posts``, ``post_spacing_in`` (centre to centre), ``balusters_per_bay``, ``balusters``, ``gap_in``.
    Raises InputError when the length cannot hold two posts, and what ``infill`` raises.
    """
    if post_nm <= 0 or length_nm < 2 * post_nm:
        raise InputError(
            f"{format_length(length_nm, unit)} does not hold two posts",
            "give the guard's length and the post's width",
        )
    bays = max(1, -(-(length_nm - post_nm) // POST_SPACING_MOST_NM))
    spacing = Fraction(length_nm - post_nm, bays)
    clear = int(spacing) - post_nm
    bay = infill(clear, baluster_nm, opening_nm) if clear else Infill(0, Fraction(0))
    answer: dict[str, Plain] = {
        "posts": bays + 1,
        "post_spacing_in": round(float(spacing / INCH), 4),
        "balusters_per_bay": bay.balusters,
        "balusters": bay.balusters * bays,
        "gap_in": round(float(bay.gap_nm / INCH), 4),
    }
    return Answer(
        headline=f"{count(bays + 1, 'post')} at {format_trade(spacing, unit)} on centre,"
        f" {count(bay.balusters, 'baluster')} a bay, gaps {format_small(bay.gap_nm, unit)}",
        inputs={
            "length_in": inches(length_nm),
            "post_in": inches(post_nm),
            "baluster_in": inches(baluster_nm),
            "opening_in": inches(opening_nm),
        },
        answer=answer,
        working=(
            f"bays: ({inches(length_nm):g} - {inches(post_nm):g}) in / 72 in, rounded up = {bays}",
            f"clear in a bay: {float(spacing / INCH):.3f} - {inches(post_nm):g} = {inches(clear):.3f} in",
            f"balusters: fewest n with ({inches(clear):.3f} - n x {inches(baluster_nm):g}) / (n + 1)"
            f" at most {inches(opening_nm):g} in: n = {bay.balusters}",
        ),
        source=f"{SOURCE}; post spacing from memory: DCA 6 guard details; 3-7/8 in to build to is common practice",
        moves=("cut a spacer block to the gap and check the last gap before fastening",),
        caution=code_decides(SOURCE),
    )


def with_layout(answer: Answer, length_nm: int, post_nm: int, baluster_nm: int, *, unit: Unit = Unit.INCH) -> Answer:
    """Return ``guard_answer`` with the posts and balusters of a guard ``length_nm`` long added to it.

    Adds the keys of ``guard_layout``. Raises InputError as ``guard_layout`` does.
    """
    layout = guard_layout(length_nm, post_nm, baluster_nm, unit=unit)
    return replace(
        answer,
        headline=f"{answer.headline}; {layout.headline}",
        inputs={**answer.inputs, **layout.inputs},
        answer={**answer.answer, **layout.answer},
        working=answer.working + layout.working,
        source=layout.source,
        moves=answer.moves + layout.moves,
    )
