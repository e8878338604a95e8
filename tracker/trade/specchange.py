"""What differs between two specs of a job, and which checks rest on what: a reading of a part that changed no longer counts.

Which check rests on which part is common practice: a reading tells of the part it was taken on, and of no other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from tracker.text import count, listing
from tracker.trade.lengths import Unit, format_length, format_small, format_trade
from tracker.trade.outline import Clip, Cut, CutOut, Facing
from tracker.trade.posts import carriers
from tracker.trade.spec import Beam, Ground, JobSpec, Platform, Stairs, Stringers, Support


class Part(StrEnum):
    """A part of a spec, by the trade's word."""

    PLATFORM = "platform"
    OUTLINE = "size"
    HEIGHT = "height"
    ATTACHMENT = "attachment"
    SUPPORT = "support"
    JOISTS = "joists"
    BEAMS = "beams"
    DECKING = "deck boards"
    STAIRS = "stairs"
    GUARD = "guard"
    GROUND = "ground"
    FINISH = "finish"
    PERMIT = "permit"


@dataclass(frozen=True, slots=True)
class PartChange:
    """One part that differs: of which ``platform`` (empty: of the whole job), and how it is said before and after.

    ``new_ground`` says whether it may be built, and so dug, outside of what was laid out before.
    """

    platform: str
    part: Part
    before: str
    after: str
    new_ground: bool = False


def _size(p: Platform, unit: Unit) -> str:
    """Width by depth, whether uncut, and every corner cut."""
    text = f"{format_length(p.width_nm, unit)} x {format_length(p.depth_nm, unit)}"
    cuts = [
        f"{cut.corner.value} cut out {format_length(cut.width_nm, unit)} x {format_length(cut.depth_nm, unit)}"
        if isinstance(cut, CutOut)
        else f"{cut.corner.value} clipped {format_length(cut.leg_nm, unit)}"
        for cut in p.cuts
    ]
    return ", ".join((text, *(["of uncut boards"] if p.uncut else []), *cuts))


def _beam(platform: Platform, beam: Beam, unit: Unit) -> str:
    return f"{beam.plies}-ply {beam.size} at {format_length(beam.at_nm, unit)} on {carriers(platform, beam)}"


def _flight(stairs: Stairs, unit: Unit) -> str:
    text = f"{format_length(stairs.width_nm, unit)} wide, rise {format_trade(stairs.rise_nm, unit)}"
    if stairs.edge is not None:
        text += f", from the {stairs.edge.value}"
    if stairs.from_nm is not None:
        text += f" {format_length(stairs.from_nm, unit)} from its left end"
    for word, there, tall in (
        ("handrail", stairs.handrail, stairs.handrail_height_nm),
        ("guard", stairs.guard, stairs.guard_height_nm),
    ):
        text += f", {word}" * there + (f" {format_trade(tall, unit)} high" if there and tall else "")
    if stairs.open_sides != 2:
        text += f", {count(stairs.open_sides, 'open side')}"
    return text + ", solid stringers" * (stairs.stringers is Stringers.SOLID)


def _sides(edges: Iterable[Facing]) -> str:
    said = listing([edge.value for edge in edges], "and")
    return f", on the {said}" if said else ""


_WORDS: Mapping[Part, Callable[[Platform, Unit], str]] = {
    Part.OUTLINE: _size,
    Part.HEIGHT: lambda p, unit: format_trade(p.height_nm, unit),
    Part.ATTACHMENT: lambda p, unit: p.attachment.value + ", the house behind it" * p.beside_house,
    Part.SUPPORT: lambda p, unit: p.support.value,
    Part.JOISTS: lambda p, unit: (
        f"{p.joists.size} {p.joists.species} {p.joists.grade} at {format_small(p.joists.spacing_nm, unit)}, "
        f"{p.joists.use_category}"
    ),
    Part.BEAMS: lambda p, unit: listing([_beam(p, beam, unit) for beam in p.beams], "and") or "none",
    Part.DECKING: lambda p, unit: ", ".join(
        text
        for text in (
            f"{p.decking.board} {p.decking.kind.value} {p.decking.species}".rstrip(),
            f"at {p.decking.angle_deg} degrees",
            f"laid {p.decking.gap_intent.value}, gap {format_small(p.decking.gap_nm, unit)}",
            p.decking.use_category,
            f"overhang {format_small(p.decking.overhang_nm, unit)}" if p.decking.overhang_nm else "",
            "border" if p.decking.border else "",
        )
        if text
    ),
    Part.STAIRS: lambda p, unit: listing([_flight(flight, unit) for flight in p.stairs], "and") or "none",
    Part.GUARD: lambda p, unit: (
        f"{format_trade(p.guard.height_nm, unit)} high, {format_length(p.guard.length_nm, unit)}{_sides(p.guard.edges)}"
        if p.guard
        else "none"
    ),
}  # fmt: skip


def _job_words(job: JobSpec) -> Mapping[Part, str]:
    site = job.site
    ground = [f"frost {format_trade(site.frost_depth_nm, job.unit)}", f"soil {site.soil}",
              f"service moisture {site.service_moisture_tenths / 10:g} %"]  # fmt: skip
    ground += (
        ["cloth and base in place"] * (site.ground is Ground.READY)
        + ["digging"] * bool(site.digging)
        + ["wiring"] * site.electric
        + [f"old deck {' x '.join(format_length(side, job.unit) for side in site.old_deck_nm)}"]
        * bool(site.old_deck_nm)
        + [f"drain {format_length(site.drain_nm, job.unit)}"] * bool(site.drain_nm)
    )
    ground += [f"{site.live_psf} psf live"] * bool(site.live_psf) + [f"{site.snow_psf} psf snow"] * bool(site.snow_psf)
    ground += site.carries
    return {
        Part.GROUND: ", ".join(ground),
        Part.FINISH: job.finish.value,
        Part.PERMIT: "asked for"
        if job.permit
        else f"not needed: {job.no_permit}"
        if job.no_permit
        else "not asked for",
    }


def _held_by(cut: Cut, other: Cut) -> bool:
    """Whether a corner cut lies inside another at the same corner."""
    if cut.corner is not other.corner:
        return False
    if isinstance(other, Clip) and isinstance(cut, CutOut):
        return cut.width_nm + cut.depth_nm <= other.leg_nm
    return cut.width_nm <= other.width_nm and cut.depth_nm <= other.depth_nm


def stays_inside(before: Platform, after: Platform) -> bool:
    """Whether a platform covers no ground it did not cover before, its back and one side staying where they are.

    One with cut corners that changes its width or depth counts as going outside: where its corners come to lie is not known.
    """
    sizes = (after.width_nm, after.depth_nm), (before.width_nm, before.depth_nm)
    if before.cuts and sizes[0] != sizes[1]:
        return False
    smaller = sizes[0][0] <= sizes[1][0] and sizes[0][1] <= sizes[1][1]
    return smaller and all(any(_held_by(cut, new) for new in after.cuts) for cut in before.cuts)


_NEW_GROUND: Mapping[Part, Callable[[Platform, Platform], bool]] = {
    Part.OUTLINE: lambda before, after: not stays_inside(before, after),
    Part.SUPPORT: lambda before, after: after.support is Support.FOOTINGS,
    Part.STAIRS: lambda before, after: any(flight not in before.stairs for flight in after.stairs),
}
"""When a part may be dug outside of what was marked: ground not covered before, footings where none were, a landing."""


def spec_changes(before: JobSpec, after: JobSpec) -> tuple[PartChange, ...]:
    """Return every part of the spec that differs, platform by platform, then those of the whole job.

    A platform that came or went is one change. Two specs that build the same have none, however they were typed.
    """
    out: list[PartChange] = []
    old = {p.name: p for p in before.platforms}
    new = {p.name: p for p in after.platforms}
    for name in dict.fromkeys([*old, *new]):
        if name not in old or name not in new:
            texts = [_size(side[name], after.unit) if name in side else "none" for side in (old, new)]
            out.append(PartChange(name, Part.PLATFORM, texts[0], texts[1], name in new))
            continue
        for part, words in _WORDS.items():
            was, now = words(old[name], after.unit), words(new[name], after.unit)
            if was != now:
                beyond = part in _NEW_GROUND and _NEW_GROUND[part](old[name], new[name])
                out.append(PartChange(name, part, was, now, beyond))
    was_job, now_job = _job_words(before), _job_words(after)
    out += [PartChange("", part, was_job[part], now_job[part]) for part in was_job if was_job[part] != now_job[part]]
    return tuple(out)


_FRAME = (Part.OUTLINE, Part.JOISTS)
_CARRIED = (Part.OUTLINE, Part.SUPPORT, Part.BEAMS)
_BUILT = (*_CARRIED, Part.HEIGHT, Part.ATTACHMENT, Part.JOISTS)

RESTS_ON: Mapping[str, tuple[Part, ...]] = {
    "design": (*_BUILT, Part.DECKING, Part.STAIRS, Part.GUARD, Part.GROUND, Part.PERMIT),
    "permit": (*_BUILT, Part.STAIRS, Part.GUARD),
    "locate": (Part.OUTLINE, Part.SUPPORT, Part.STAIRS),
    "delivery": (),
    "stock-lengths": _FRAME,
    "layout-square": (Part.OUTLINE,),
    "stripped": (Part.OUTLINE, Part.SUPPORT, Part.GROUND),
    "base": (Part.OUTLINE, Part.SUPPORT, Part.GROUND),
    "footing-inspection": (*_CARRIED, Part.GROUND),
    "footing": (*_CARRIED, Part.ATTACHMENT, Part.GROUND),
    "block-level": (*_FRAME, Part.SUPPORT, Part.HEIGHT),
    "post": (*_CARRIED, Part.HEIGHT, Part.JOISTS, Part.ATTACHMENT),
    "beam": (*_CARRIED, Part.JOISTS, Part.ATTACHMENT),
    "ledger": (*_FRAME, Part.ATTACHMENT, Part.BEAMS),
    "crown": _FRAME,
    "joist-spacing": _FRAME,
    "span": (*_FRAME, Part.BEAMS, Part.ATTACHMENT),
    "fasteners": (*_FRAME, Part.ATTACHMENT),
    "support": (*_FRAME, Part.SUPPORT),
    "square": (Part.OUTLINE,),
    "level": (Part.OUTLINE, Part.HEIGHT, Part.SUPPORT),
    "stringers": (Part.STAIRS, Part.HEIGHT, Part.DECKING),
    "soil-and-air": (*_CARRIED, Part.HEIGHT, Part.ATTACHMENT, Part.JOISTS, Part.GROUND),
    "framing-inspection": _BUILT,
    "gap": (Part.DECKING,),
    "board-layout": (Part.OUTLINE, Part.DECKING),
    "screws": (*_FRAME, Part.DECKING),
    "stair": (Part.STAIRS, Part.HEIGHT),
    "guard": (Part.GUARD, Part.OUTLINE, Part.HEIGHT, Part.ATTACHMENT, Part.STAIRS),
    "final-inspection": (*_BUILT, Part.DECKING, Part.STAIRS, Part.GUARD),
    "finish-ready": (Part.DECKING, Part.FINISH),
}
"""The parts each check's readings tell of."""

MARKED = "locate"
"""The check of a utility locate ticket. A ticket holds for the ground that was marked: what is built inside of it, a beam moved or
a smaller deck, asks for no new one (common practice; the one-call centre's own rules decide)."""
MADE_READY = ("stripped", "base")
"""The checks of ground made ready: a smaller deck stands on it as it was read (common practice)."""


def touched_by(check: str, platform: str, changes: Iterable[PartChange]) -> tuple[PartChange, ...]:
    """The changes that the readings of a check rest on.

    ``check`` is its key in the registry, ``platform`` the one it judges, empty for a check of the whole job (any platform
    then counts, one that came or went too). Raises KeyError for a check that is not known.
    """
    parts = RESTS_ON[check]
    out: list[PartChange] = []
    for change in changes:
        if change.part is Part.PLATFORM:
            touched = not platform and bool(parts)
        else:
            touched = change.part in parts and (platform == change.platform or "" in (platform, change.platform))
        if not change.new_ground:
            sized = change.part in (Part.OUTLINE, Part.PLATFORM)
            touched = touched and check != MARKED and not (sized and check in MADE_READY)
        out += [change] * touched
    return tuple(out)


def change_words(change: PartChange) -> str:
    """One change in words: ``deck: size 12' x 9' is now 14' x 9'``."""
    of = f"{change.platform}: " if change.platform else ""
    return f"{of}{change.part.value} {change.before} is now {change.after}"


def why_again(check: str, touched: Iterable[PartChange]) -> str:
    """Why the readings of a check no longer count."""
    where = ", and the ground outside of what was marked may be dug" if check == MARKED else ""
    return f"{changed_parts(touched)} changed{where}"


def changed_parts(changes: Iterable[PartChange]) -> str:
    """The parts that changed in a few words: ``size and deck boards``."""
    return listing(list(dict.fromkeys(change.part.value for change in changes)), "and")
