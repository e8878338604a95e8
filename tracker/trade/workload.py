"""What the crew's hours are counted by: the work in a job, from its framing plan."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from fractions import Fraction

from tracker.errors import InputError
from tracker.trade.effort import DIG_SOIL
from tracker.trade.framing import FramePlan, plan_job
from tracker.trade.lengths import FOOT, INCH
from tracker.trade.lumber import board_feet, dressed, nominal_within
from tracker.trade.spec import BoardKind, JobSpec

_FT3_YD3 = 27
WOOD_BLOCKS_A_PAD = 5
"""So many wood blocks are cut and nailed on in the time one pad is bedded and leveled (our planning figure)."""


def quantities(job: JobSpec) -> Mapping[str, float]:
    """What the crew's hours are counted by, over all platforms.

    Keys: area_ft2; boards (cut deck boards), board_ft (length of the field's boards), of it diagonal_ft and composite_ft,
    border_ft; joists, frame_bf (board feet of joists, rims and ledgers), hangers (a double one as two), blocking (pieces), ledger_ft; footings,
    dig_yd3 (counted as medium soil), concrete_ft3, posts, beam_ft (of each ply); blocks (of concrete), wood_blocks, supports
    (blocks and what beams stand on; wood blocks count for less, ``WOOD_BLOCKS_A_PAD``); stair_risers, guard_ft and guard_posts
    (those of flights too, along their slope); old_deck_ft2; drain_ft; wiring (1 where there is any).
    """
    plans = plan_job(job)
    blocks = sum(plan.blocks for plan in plans if plan.wood_block is None)
    wood = sum(plan.blocks for plan in plans if plan.wood_block is not None)
    footings = sum(plan.footings for plan in plans)
    soil = DIG_SOIL.get(job.site.soil, DIG_SOIL["clay"])
    return {
        "boards": float(sum(plan.courses.boards for plan in plans)),
        "area_ft2": sum(platform.area_ft2 for platform in job.platforms),
        "old_deck_ft2": math.prod(job.site.old_deck_nm) / FOOT**2 if job.site.old_deck_nm else 0.0,
        "drain_ft": job.site.drain_nm / FOOT,
        "wiring": float(job.site.electric),
        "board_ft": sum(map(_field_ft, plans)),
        "diagonal_ft": sum(_field_ft(plan) for plan in plans if plan.platform.decking.angle_deg == 45),
        "composite_ft": sum(
            _field_ft(plan) + _border_ft(plan) for plan in plans if plan.platform.decking.kind is BoardKind.COMPOSITE
        ),
        "border_ft": sum(map(_border_ft, plans)),
        "joists": float(sum(plan.joists for plan in plans)),
        "frame_bf": sum(map(_frame_bf, plans)),
        "hangers": float(sum(plan.hung_ends for plan in plans)),
        "blocking": float(sum(len(plan.blocking_nm) for plan in plans)),
        "ledger_ft": _feet(nm for plan in plans for nm in plan.ledgers_nm),
        "footings": float(footings),
        "dig_yd3": sum(map(_hole_ft3, plans)) * soil / _FT3_YD3,
        "concrete_ft3": sum(plan.footings * plan.footing.concrete_ft3 for plan in plans if plan.footing),
        "posts": float(sum(plan.posts for plan in plans)),
        "beam_ft": _feet(built.length_nm * built.beam.plies for plan in plans for built in plan.beams),
        "blocks": float(blocks),
        "wood_blocks": float(wood),
        "supports": blocks + footings + wood / WOOD_BLOCKS_A_PAD,
        "stair_risers": float(sum(flight.risers for plan in plans for flight in plan.stairs)),
        "guard_ft": _feet(plan.guard_nm for plan in plans),
        "guard_posts": float(sum(plan.guard_posts for plan in plans)),
    }


def _feet(lengths_nm: Iterable[int]) -> float:
    return sum(lengths_nm) / FOOT


def _field_ft(plan: FramePlan) -> float:
    return _feet(nm for board in plan.outline.boards.boards for nm in board.pieces_nm)


def _border_ft(plan: FramePlan) -> float:
    return _feet(nm for piece in plan.outline.boards.border for nm in piece.pieces_nm)


def _frame_bf(plan: FramePlan) -> float:
    """Board feet of joists, rims and ledgers; metric lumber by the nominal size whose tables serve it."""
    pieces = (plan.joist_pieces, plan.rim_pieces, plan.ledger_pieces)
    return _feet(nm * number for lengths in pieces for nm, number in lengths.items()) * _bf_a_foot(plan)


def _bf_a_foot(plan: FramePlan) -> float:
    size = plan.platform.joists.size
    try:
        return board_feet(nominal_within(size), FOOT)
    except InputError:
        real = dressed(size)
        return float(Fraction(real.thickness_nm * real.depth_nm, 12 * INCH**2))


def _hole_ft3(plan: FramePlan) -> float:
    """Earth out of the holes of a platform's footings; what stands above the ground is not in it."""
    if plan.footing is None:
        return 0.0
    radius_ft = plan.footing.diameter_nm / FOOT / 2
    return plan.footings * math.pi * radius_ft**2 * plan.footing.depth_nm / FOOT
