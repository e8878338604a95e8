"""The checks of a plane: strings and frame square, supports and frame level."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tracker.errors import InputError
from tracker.text import listing
from tracker.trade.answer import Answer
from tracker.trade.checks.base import Case, Check, incomplete
from tracker.trade.framing import post_places, span_across, span_along, standing_lines
from tracker.trade.layout import block_name, contact_points
from tracker.trade.lengths import INCH, MM, Unit, format_length, format_small
from tracker.trade.level import CAUTION as LIFTING
from tracker.trade.level import SOURCE as LEVEL_SOURCE
from tracker.trade.level import Fall, Position, Side, Under, level_answer
from tracker.trade.outline import Clip, Corner, CutOut
from tracker.trade.plausible import near_plan
from tracker.trade.posts import stand_of
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.sixtapes import six_tapes_answer
from tracker.trade.spec import JobSpec, Platform, Support
from tracker.trade.square import CAUTION as PUSHING
from tracker.trade.square import SOURCE as SQUARE_SOURCE
from tracker.trade.square import expected_diagonal, square_answer

_CORNERS = "A front left, B front right, C back right, D back left"
_ALL_FOUR = "with all four edges a misread tape is named; leave both blank to go by two"
_CORNER_ORDER = (Corner.FRONT_LEFT, Corner.FRONT_RIGHT, Corner.BACK_RIGHT, Corner.BACK_LEFT)


def _square_form(case: Case) -> Form:
    unit = case.job.unit
    diagonal = format_length(expected_diagonal(case.platform.width_nm, case.platform.depth_nm), unit)
    cut = "; at a cut corner, to where strings along its two edges cross" if case.platform.cuts else ""
    return Form(
        fields=(
            Field(
                "width",
                "Width, A to B",
                Kind.LENGTH,
                required=False,
                example=format_length(case.platform.width_nm, unit),
                help="along the front, outside to outside; left blank, the planned width is used",
            ),
            Field(
                "depth",
                "Depth, A to D",
                Kind.LENGTH,
                required=False,
                example=format_length(case.platform.depth_nm, unit),
                help="front to back, outside to outside; left blank, the planned depth is used",
            ),
            Field(
                "ac",
                "Diagonal A to C",
                Kind.LENGTH,
                example=diagonal,
                help=f"corner to opposite corner: {_CORNERS}{cut}",
            ),
            Field(
                "bd",
                "Diagonal B to D",
                Kind.LENGTH,
                example=diagonal,
                help="the other diagonal, read from the same inch mark",
            ),
            Field("right", "Right edge, B to C", Kind.LENGTH, required=False, help=_ALL_FOUR),
            Field("back", "Back edge, C to D", Kind.LENGTH, required=False, help=_ALL_FOUR),
        )
    )


def _judge_square(case: Case, readings: Readings, *, strings: bool) -> Answer:
    unit, platform = case.job.unit, case.platform
    plan = {"width": platform.width_nm, "depth": platform.depth_nm}
    sides: dict[str, int] = {}
    notes: list[str] = []
    for key, planned in plan.items():
        if readings.has(key):
            sides[key] = readings.whole(key)
            near_plan(sides[key], planned, f"the {key}", unit)
        else:
            sides[key] = planned
            notes.append(f"{key} not measured: the planned {format_length(planned, unit)} is used")
    missing = [name for key, name in (("ac", "A to C"), ("bd", "B to D")) if not readings.has(key)]
    if missing:
        return incomplete(f"diagonal {' and '.join(missing)}", source=SQUARE_SOURCE)
    beside = {key: readings.has(key) for key in ("right", "back")}
    if any(beside.values()) and not all(beside.values()):
        wanted, given = ("right", "back") if beside["back"] else ("back", "right")
        return incomplete(f"the {wanted} edge too, or leave the {given} edge out", source=SQUARE_SOURCE)
    if all(beside.values()):
        right, back = readings.whole("right"), readings.whole("back")
        near_plan(right, platform.depth_nm, "the right edge", unit)
        near_plan(back, platform.width_nm, "the back edge", unit)
        return six_tapes_answer(
            (sides["width"], right, back, sides["depth"]),
            (readings.whole("ac"), readings.whole("bd")),
            unit,
            rules=case.rules,
            push_front=platform.attached,
            strings=strings,
        )
    return square_answer(
        sides["width"],
        sides["depth"],
        readings.whole("ac"),
        readings.whole("bd"),
        unit,
        rules=case.rules,
        push_front=platform.attached,
        strings=strings,
        notes=notes,
    )


def _judge_strings(case: Case, readings: Readings) -> Answer:
    return _judge_square(case, readings, strings=True)


def _judge_frame(case: Case, readings: Readings) -> Answer:
    return _judge_square(case, readings, strings=False)


def frame_points(platform: Platform) -> dict[str, Position]:
    """Corners A to D and the middles between them, from the front left corner.

    A cut corner's point is the inner corner of the cut-out, or the middle of the clip.
    """
    w, d, cuts = platform.width_nm, platform.depth_nm, {cut.corner: cut for cut in platform.cuts}
    found: dict[str, Position] = {}
    for name, corner in zip("ABCD", _CORNER_ORDER, strict=True):
        match cuts.get(corner):
            case Clip(leg_nm=leg):
                x, y = leg // 2, leg // 2
            case CutOut(width_nm=wide, depth_nm=deep):
                x, y = wide, deep
            case _:
                x, y = 0, 0
        found[name] = (x if corner.left else w - x, d - y if corner.back else y)
    left, right = span_across(platform, d // 2)
    back, front = span_along(platform, w // 2)
    return found | {
        "AB": (w // 2, d - front),
        "BC": (right, d // 2),
        "CD": (w // 2, d - back),
        "DA": (left, d // 2),
    }


def support_points(case: Case) -> dict[str, Position]:
    """Blocks as joist and letter from the front (1a, 1b, 2a ...), posts as P1, P2 ... from the left."""
    platform = case.platform
    if platform.on_blocks:
        longest = case.rules.figure("support_longest")
        return {
            block_name(line.number, place): (line.centre_nm, y + line.front_nm)
            for line in standing_lines(platform)
            for place, y in enumerate(contact_points(line.length_nm, longest))
        }
    out: dict[str, Position] = {}
    for beam in platform.beams:
        left = span_across(platform, beam.at_nm)[0]
        for at in post_places(platform, beam):
            out[f"P{len(out) + 1}"] = (left + at, platform.depth_nm - beam.at_nm)
    return out


def _level_form(positions: Mapping[str, Position], help_text: str, unit: Unit) -> Form:
    return Form(
        fields=(
            Field(
                "reads",
                "Heights read as",
                Kind.CHOICE,
                required=False,
                choices=("height", "rod"),
                help="height: larger is higher (the default); rod: down from a level line, larger is lower",
            ),
            Field(
                "fall",
                f"Fall for each {'foot' if unit is Unit.INCH else 'metre'}",
                Kind.LENGTH,
                required=False,
                help="planned, only where the frame is meant to drain; blank for level",
            ),
            Field(
                "toward",
                "Fall toward",
                Kind.CHOICE,
                required=False,
                choices=tuple(side.value for side in Side),
                help="the low side; front when blank",
            ),
        ),
        columns=(
            Field(
                "height",
                "Height",
                Kind.SIGNED,
                example=format_small(3 * INCH // 8 if unit is Unit.INCH else 10 * MM, unit),
                help=help_text,
            ),
        ),
        rows=tuple(positions),
        row_word="point",
        open_rows=True,
        least_rows=3,
    )


def _frame_level_form(case: Case) -> Form:
    return _level_form(
        frame_points(case.platform),
        f"top of the frame: {_CORNERS}, AB the middle between A and B, and so on",
        case.job.unit,
    )


def _block_level_form(case: Case) -> Form:
    blocks = "top of each block: joist number from the left, then a, b, c from the front"
    stands = _stands(case.platform)
    stand = "post" if "post" in stands else next(iter(stands), "footing")
    posts = f"top of each {stand}, counted from the left"
    help_text = blocks if case.platform.on_blocks else posts
    return _level_form(support_points(case), help_text, case.job.unit)


def _fall(readings: Readings, unit: Unit) -> Fall | None:
    if not readings.has("fall") or readings.whole("fall") == 0:
        return None
    per_ft = readings.whole("fall") if unit is Unit.INCH else readings.whole("fall") * 12 * INCH // (1000 * MM)
    if per_ft > 2 * INCH:
        raise InputError(
            f"a planned fall of {format_length(readings.whole('fall'), unit)} is a ramp",
            "give the drop for each foot of run (each metre in a millimetre job), like 1/8 in",
        )
    return Fall(per_ft, Side(readings.word("toward", Side.FRONT.value)))


def _judge_level(
    case: Case, readings: Readings, positions: Mapping[str, Position], wanted: Sequence[str], under: Under
) -> Answer:
    heights = readings.column("height")
    if lacking := [name for name in wanted if name not in heights]:
        return incomplete(f"the height at {listing(lacking, 'and')}", source=LEVEL_SOURCE)
    unread = [name for name in positions if name not in heights]
    return level_answer(
        heights,
        case.job.unit,
        positions={name: positions[name] for name in heights if name in positions},
        fall=_fall(readings, case.job.unit),
        rod=readings.word("reads") == "rod",
        rules=case.rules,
        notes=[f"not read: {', '.join(unread)}"] if unread else (),
        under=under,
    )


def _stands(platform: Platform) -> set[str]:
    """What its beams stand on."""
    return {stand_of(platform, beam) for beam in platform.beams}


def _under(platform: Platform) -> Under:
    """What a frame stands on, as far as the job says."""
    if platform.support is Support.WOOD_BLOCKS:
        return Under.WOOD_BLOCKS
    if platform.support is Support.BLOCKS:
        return Under.BLOCKS
    return Under.POSTS if "post" in _stands(platform) else Under.UNKNOWN


def _judge_frame_level(case: Case, readings: Readings) -> Answer:
    return _judge_level(case, readings, frame_points(case.platform), "ABCD", _under(case.platform))


def _judge_block_level(case: Case, readings: Readings) -> Answer:
    points = support_points(case)
    names = list(points)
    if case.platform.on_blocks:
        first, last = (sum(1 for x, _ in points.values() if x == points[name][0]) for name in (names[0], names[-1]))
        names = [names[0], names[first - 1], names[-last], names[-1]]
    under = Under.POST_TOPS if _stands(case.platform) == {"post"} else _under(case.platform)
    return _judge_level(case, readings, points, names, under)


def _has_supports(job: JobSpec, platform: Platform) -> bool:
    return platform.on_blocks or bool(platform.beams)


LAYOUT_SQUARE = Check(
    key="layout-square",
    title="Layout square",
    asks=f"two sides and two diagonals of the strings, at the crossings: {_CORNERS}",
    source=SQUARE_SOURCE,
    form=_square_form,
    judge=_judge_strings,
)

SQUARE = Check(
    key="square",
    title="Frame square",
    asks=f"two sides and two diagonals of the frame, outside corners: {_CORNERS}",
    source=SQUARE_SOURCE,
    form=_square_form,
    judge=_judge_frame,
    caution=PUSHING,
)

BLOCK_LEVEL = Check(
    key="block-level",
    title="Supports level",
    asks="the height of each block, pad, post or footing top, the four corner blocks at least, all from one line",
    source=LEVEL_SOURCE,
    form=_block_level_form,
    judge=_judge_block_level,
    applies=_has_supports,
    caution=LIFTING,
)

LEVEL = Check(
    key="level",
    title="Frame level",
    asks="the height of the frame at the four corners and between them, all from one line",
    source=LEVEL_SOURCE,
    form=_frame_level_form,
    judge=_judge_frame_level,
    caution=LIFTING,
)
