"""What is built, in the trade's words for a client: size, height, what it stands on, frame, boards, stairs, guard, finish."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.errors import TrackerError
from tracker.reports.words import rail_words
from tracker.text import count
from tracker.trade.framing import FramePlan, plan_job
from tracker.trade.lengths import Unit, format_length, format_small, format_trade
from tracker.trade.lumber import size_name
from tracker.trade.outline import Clip
from tracker.trade.places import guard_called_for
from tracker.trade.posts import carriers
from tracker.trade.spec import Attachment, BoardKind, Finish, JobSpec, Platform, Support
from tracker.trade.woodblocks import words

SQUARE_METRE_FT2 = 10.763910417
"""Square feet in a square metre: the foot is 0.3048 m (international yard and pound agreement of 1959)."""


def built_words(spec: JobSpec) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """By platform (its name empty when it is the only one): what of it is built, as (word, text)."""
    try:
        plans = {plan.platform.name: plan for plan in plan_job(spec)}
    except TrackerError:  # sizes that no frame can have are a fault of the job, not of its paper
        plans = {}
    several = len(spec.platforms) > 1
    return tuple(
        (platform.name if several else "", tuple(_platform(platform, plans.get(platform.name), spec)))
        for platform in spec.platforms
    )


def area_words(spec: JobSpec) -> str:
    """The deck in all: ``172 sq ft`` or ``17.1 m²``."""
    area = sum(platform.area_ft2 for platform in spec.platforms)
    return f"{area:.0f} sq ft" if spec.unit is Unit.INCH else f"{area / SQUARE_METRE_FT2:.1f} m²"


def _platform(platform: Platform, plan: FramePlan | None, spec: JobSpec) -> Iterator[tuple[str, str]]:
    unit = spec.unit
    where = "fixed to the house" if platform.attachment is Attachment.HOUSE else "free-standing"
    size = f"{format_length(platform.width_nm, unit)} wide by {format_length(platform.depth_nm, unit)} deep"
    yield "size", f"{size} over the frame, {where}"
    for cut in platform.cuts:
        side = (
            f"clipped, {format_length(cut.leg_nm, unit)} each way"
            if isinstance(cut, Clip)
            else f"left out, {format_length(cut.width_nm, unit)} by {format_length(cut.depth_nm, unit)}"
        )
        yield "corner", f"{cut.corner.value} {side}"
    yield "height", f"{format_trade(platform.height_nm, unit)} from the ground to the top of the boards"
    yield "stands on", _support(platform, plan, unit)
    yield "frame", _frame(platform, plan, unit)
    yield "boards", _boards(platform, unit)
    for number, flight in enumerate(platform.stairs):
        steps = f", {count(plan.stairs[number].risers, 'riser')}" if plan else ""
        yield (
            "stairs",
            f"{format_trade(flight.width_nm, unit)} wide{steps}, {format_trade(flight.rise_nm, unit)} up{rail_words(flight)}",
        )
    if (guard := guard_called_for(platform)) is not None:
        yield "guard", f"{format_trade(guard.height_nm, unit)} high, {format_length(guard.length_nm, unit)} in all"
    if spec.finish is not Finish.NONE and platform.decking.kind is BoardKind.WOOD:
        yield "finish", f"{spec.finish.value} on the boards, once they are dry enough"


def _support(platform: Platform, plan: FramePlan | None, unit: Unit) -> str:
    match platform.support:
        case Support.BLOCKS if not platform.beams:
            return f"{count(plan.blocks, 'block') if plan else 'blocks'} on ground cloth and crushed stone"
        case Support.WOOD_BLOCKS:
            of = f", each {words(plan.wood_block, platform.joists.size, unit)}" if plan and plan.wood_block else ""
            return f"{count(plan.blocks, 'wood block') if plan else 'wood blocks'}{of}"
        case Support.PLATFORM:
            return "the platform below"
    beams = [f"beam of {beam.plies} {size_name(beam.size)} on {carriers(platform, beam)}" for beam in platform.beams]
    if platform.on_pads:
        return "; ".join((*beams, "pads on ground cloth and crushed stone"))
    if plan is None or plan.footing is None:
        return "; ".join((*beams, "poured footings"))
    return "; ".join((*beams, f"{count(plan.footing.count, 'poured footing')} {plan.footing.words(unit)}"))


def _frame(platform: Platform, plan: FramePlan | None, unit: Unit) -> str:
    joists = platform.joists
    number = f"{plan.joists} " if plan else ""
    wood = " ".join(text for text in (joists.species, joists.grade) if text)
    treated = f", treated to {joists.use_category}" if joists.use_category else ""
    spacing = format_small(joists.spacing_nm, unit)
    return f"{number}joists {size_name(joists.size)} {wood}{treated}, {spacing} on centre"


def _boards(platform: Platform, unit: Unit) -> str:
    boards = platform.decking
    wood = boards.species if boards.kind is BoardKind.WOOD else boards.kind.value
    parts = [f"{size_name(boards.board)} {wood}"]
    if boards.use_category:
        parts.append(f"treated to {boards.use_category}")
    parts.append({0: "laid across the joists", 90: "laid along the joists"}.get(
        boards.angle_deg, f"laid at {boards.angle_deg} degrees"))  # fmt: skip
    parts.append(f"gap {format_small(boards.gap_nm, unit)}")
    if boards.border:
        parts.append("a mitred border board all round")
    return ", ".join(parts)
