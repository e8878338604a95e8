"""The checks of the frame as it stands: joist spacing, fasteners in the joints, support on the ground."""

from __future__ import annotations

import itertools
from collections.abc import Mapping

from tracker.errors import InputError
from tracker.text import count, listing
from tracker.trade.answer import Answer, Limit, Plain
from tracker.trade.checks.base import Case, Check, incomplete, named, verdict
from tracker.trade.checks.sample import sample_every, sample_fields, sample_limits, sample_of
from tracker.trade.checks.stock import CROWN, STOCK_LENGTHS, joist_rows, per_row
from tracker.trade.fasteners import CAUTION as NAILING
from tracker.trade.fasteners import COUNT_SOURCE, Coating, coating_fits, nails_per_joint
from tracker.trade.framing import LINES_OF_DECKING_SPANS, fewest_joists_under_a_board, hung_lines, standing_lines
from tracker.trade.lengths import INCH, MM, Unit, format_length, format_small, inches
from tracker.trade.lumber import use_category_ok
from tracker.trade.plausible import right_unit
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.rules import COMMON
from tracker.trade.spec import BoardKind, Decking, JobSpec, Platform, Support
from tracker.trade.supplies import FRAMING_NAILS, HANGER_NAILS
from tracker.trade.woodblocks import CAUTION as WOOD_BLOCKS
from tracker.trade.woodblocks import NAILS_A_PLY

__all__ = ["CROWN", "FASTENERS", "JOIST_SPACING", "STOCK_LENGTHS", "SUPPORT"]

DECKING_SOURCE = "county deck details: joists on centre by the boards' thickness, straight and at an angle"
TWO_JOISTS_SOURCE = "decking spans hold over three joists, on two about half (code proposal RB191, as excerpted)"
DECKING_SPACING = {"wood over 5/4 in": (24 * INCH, 16 * INCH), "other boards": (16 * INCH, 12 * INCH)}
"""Joists on centre at most, boards straight and at an angle (county deck details; composites by common practice)."""


def _spacing_form(case: Case) -> Form:
    rows = joist_rows(case.platform)
    return Form(
        fields=sample_fields(case.rules, "joist"),
        columns=(
            Field(
                "at",
                "Centre at",
                Kind.LENGTH,
                example=format_small(case.platform.joists.spacing_nm, case.job.unit),
                help="center of the joist, tape hooked once on the left end",
            ),
        ),
        rows=rows,
        row_word="joist",
        least_rows=len(rows),
        sample=sample_every(case.rules),
    )


def decking_spacing(platform: Platform) -> Limit:
    """Return ``spacing_under_boards_nm`` as the Limit a verdict shows."""
    decking, most = platform.decking, spacing_under_boards_nm(platform)
    what = f"joists on centre under {decking.board} boards" + (" at an angle" if decking.angle_deg == 45 else "")
    if most < allowed_spacing_nm(decking):
        return Limit(f"{what} that lie on two joists", f"{most // INCH} in", TWO_JOISTS_SOURCE)
    if decking.kind is BoardKind.COMPOSITE:
        return Limit(what, f"{most // INCH} in", COMMON, "some makers ask for 12 in: read theirs")
    return Limit(what, f"{most // INCH} in", DECKING_SOURCE)


def spacing_under_boards_nm(platform: Platform) -> int:
    """Return the widest joist spacing on centre under a platform's boards, in nm: half of ``allowed_spacing_nm`` where a straight
    board lies on fewer than three joists.

    Raises InputError for sizes no frame can have. Source: ``TWO_JOISTS_SOURCE``.
    """
    allowed = allowed_spacing_nm(platform.decking)
    return allowed if fewest_joists_under_a_board(platform) >= LINES_OF_DECKING_SPANS else allowed // 2


def allowed_spacing_nm(decking: Decking) -> int:
    """Return the widest joist spacing on centre for these boards, in nm: county deck details; composites by
    common practice.

    Boards along the joists (90 degrees) lie on nailers of their own at the straight spacing.
    """
    thick = decking.kind is BoardKind.WOOD and decking.thickness_nm > 5 * INCH // 4
    straight, angled = DECKING_SPACING["wood over 5/4 in" if thick else "other boards"]
    return angled if decking.angle_deg == 45 else straight


def _drift(deviations: Mapping[int, int], joists: int) -> float:
    """Drift over the whole row of so many joists, in nm: the least-squares slope of the deviations, by the place of the joist
    they were read at and the end joists apart, times the bays.
    """
    inner = {place: nm for place, nm in deviations.items() if 0 < place < joists - 1}
    n = len(inner)
    if n < 3:
        return 0.0
    mid = sum(inner) / n
    slope = sum((k - mid) * d for k, d in inner.items()) / sum((k - mid) ** 2 for k in inner)
    return slope * (joists - 3)


def _judge_spacing(case: Case, readings: Readings) -> Answer:
    unit, platform, rules = case.job.unit, case.platform, case.rules
    lines, thickness = standing_lines(platform), platform.joists.thickness_nm
    layout, rows = tuple(line.centre_nm for line in lines), joist_rows(platform)
    at = readings.column("at")
    for row, mark in zip(rows, layout, strict=True):
        if row in at:
            right_unit(at[row], mark, f"joist {row}", unit)
            if at[row] > platform.width_nm + INCH:
                raise InputError(
                    f"joist {row} at {format_length(at[row], unit)} is past the rim's end, "
                    f"{format_length(platform.width_nm, unit)}",
                    "measure to the center of the joist from the left end of the rim",
                )
    sample = sample_of(case, readings, rows, at)
    if (lacks := sample.lacks("the center of joist")) is not None:
        return lacks
    for left, right in itertools.pairwise(sample.read):
        if at[right] <= at[left]:
            raise InputError(
                f"joist {right} at {format_length(at[right], unit)} is not beyond the one before it, "
                f"{format_length(at[left], unit)}",
                "measure every center from the same end",
            )
    tolerance, allowed = rules.figure("joist_spacing"), spacing_under_boards_nm(platform)
    # A joist judged by eye was seen to stand on its mark.
    centres = [at.get(row, mark) for row, mark in zip(rows, layout, strict=True)]
    off = {k: at[row] - layout[k] for k, row in enumerate(rows) if row in at}
    worst = max(off, key=lambda k: abs(off[k]))
    bays = [b - a for a, b in itertools.pairwise(centres)]
    solid = [(a.solid_nm + b.solid_nm) // 2 for a, b in itertools.pairwise(lines)]
    widest = max(range(len(bays)), key=lambda k: bays[k] - solid[k])
    clear, clear_allowed = bays[widest] - solid[widest], allowed - thickness
    drift = _drift(off, len(rows))
    outside = [rows[k] for k, nm in off.items() if abs(nm) > tolerance]
    too_wide = clear > clear_allowed + tolerance
    moves = [
        f"move joist {rows[k]} {format_small(abs(nm), unit)} to the {'left' if nm > 0 else 'right'}"
        for k, nm in off.items()
        if abs(nm) > tolerance
    ]
    if too_wide and not outside:
        moves.append(f"close the bay between joists {rows[widest]} and {rows[widest + 1]}, or set one more between")
    if too_wide and platform.joists.spacing_nm > allowed:
        moves.append(
            f"these boards want joists {format_small(allowed, unit)} on centre: set more, or lay thicker boards"
        )
    if abs(drift) > tolerance:
        moves.append("the error adds up along the rim: mark it again with the tape hooked once on one end")
    where = f"joist {rows[worst]} is {format_small(abs(off[worst]), unit)} off its mark"
    passed = not (outside or too_wide)
    moves += () if passed else sample.moves
    return verdict(
        passed,
        sample.headline(
            f"spacing good: {where}, the worst" if passed else f"{where}; widest clear bay {format_small(clear, unit)}"
        ),
        inputs={"centres_in": per_row(at), "thickness_in": inches(thickness)},
        answer={
            "worst_deviation_in": inches(off[worst]),
            "worst_joist": rows[worst],
            "off_layout": list(outside),
            "worst_clear_in": inches(clear),
            "allowed_clear_in": inches(clear_allowed),
            "widest_bay": f"{rows[widest]}-{rows[widest + 1]}",
            "drift_in": drift / INCH,
            **sample.answer,
        },
        working=(
            f"layout: {', '.join(format_small(mark, unit) for mark in layout)}",
            f"worst deviation: joist {rows[worst]}, {format_small(centres[worst], unit)} - "
            f"{format_small(layout[worst], unit)} = {format_small(off[worst], unit)}",
            f"widest clear bay, joists {rows[widest]} to {rows[widest + 1]}: "
            f"{format_small(bays[widest], unit)} - "
            f"{format_small(solid[widest], unit)} = {format_small(clear, unit)}; these boards allow "
            f"{format_small(clear_allowed, unit)}, and the layout tolerance on top",
            f"drift along the rim: {format_small(drift, unit)}",
            *sample.working,
            *(("a joist judged by eye counts as standing on its mark",) if sample.by_eye else ()),
        ),
        source=f"layout: {COMMON}; decking: {DECKING_SOURCE}",
        moves=moves,
        limits=(rules.limit("joist_spacing", unit), decking_spacing(platform), *sample_limits(rules, unit)),
    )


_ENDS = {"L": "front", "R": "back"}
ENDS = "L is a joist's front end, R its back end: left and right for who stands at the deck's right side and looks to joist 1"


def _at(joint: str) -> str:
    """A joint with the end of its joist in words."""
    return f"joint {joint} ({_ENDS[joint[-1]]} end)"


def _ends_of(joist: int) -> tuple[str, ...]:
    """The joints of a joist, its front end and its back end."""
    return tuple(f"{joist}{end}" for end in _ENDS)


def _joints(platform: Platform) -> tuple[str, ...]:
    return tuple(joint for line in standing_lines(platform) for joint in _ends_of(line.number))


_SAMPLE = 4
_SAMPLE_HUNG = 2
"""Of the joints counted, so many in hangers where there are hangers, and so many nailed through a rim where there are such."""
_HANGER_LEAST, _HANGER_MOST = 4, 100
"""Nails in one hanger: fewer or more are taken as typed wrong, bounds of this program."""
HANGER_SOURCE = "the hanger's listing says how many; left blank, as many as the take-off counts (common practice)"


def _hung(platform: Platform) -> tuple[str, ...]:
    """The joints in a hanger: the back ends of the joists on the ledger."""
    lines = hung_lines(platform)
    return tuple(f"{line.number}R" for line in standing_lines(platform) if line.number in lines)


def joint_nails(platform: Platform, readings: Readings) -> dict[str, int]:
    """Return how many fasteners each joint takes: a nailed end by the joist's width, an end in a hanger by the hanger's schedule, as
    read off its listing, else ``HANGER_NAILS``; a doubled joist's twice as many.
    """
    each, hung = nails_per_joint(platform.joists.size), _hung(platform)
    single = readings.whole("hanger") if readings.has("hanger") else HANGER_NAILS
    double = readings.whole("hanger-double") if readings.has("hanger-double") else 2 * single
    takes: dict[str, int] = {}
    for line in standing_lines(platform):
        plies = line.solid_nm // platform.joists.thickness_nm
        in_hanger = double if plies == 2 else plies * single
        for joint in _ends_of(line.number):
            takes[joint] = in_hanger if joint in hung else plies * each
    return takes


def _nails_came(case: Case) -> int:
    """The fasteners for joist ends that came by the lots, as many to a box as the house reckons; 0 where none did."""
    per_box = {f"nails {name}": number for name, number in FRAMING_NAILS.items()}
    return sum((lot.on_hand + lot.used) * per_box.get(lot.item, 0) for lot in case.lots)


def _hanger_fields(platform: Platform) -> tuple[Field, ...]:
    hung = _hung(platform)
    if not hung:
        return ()
    takes = joint_nails(platform, Readings())
    double = any(takes[joint] > HANGER_NAILS for joint in hung)
    return (
        Field("listed", "Hangers have the nails their listing names", Kind.YESNO, example="yes",
              help="size and kind, in every hole; no deck screws"),
        Field("hanger", "Nails in a hanger, by its listing", Kind.COUNT, required=False,
              help=f"into joist and ledger together; left blank, {HANGER_NAILS} as the take-off counts"),
    ) + double * (
        Field("hanger-double", "Nails in a double hanger, by its listing", Kind.COUNT, required=False,
              help=f"left blank, {2 * HANGER_NAILS} as the take-off counts"),
    )  # fmt: skip


def _fasteners_form(case: Case) -> Form:
    platform = case.platform
    per_joint = nails_per_joint(platform.joists.size)
    counts = "in a hanger count all its nails" if _hung(platform) else "the heads in that joint"
    return Form(
        fields=(
            *_hanger_fields(platform),
            Field("left", "Fasteners left in the boxes", Kind.COUNT, required=False, help="if counted"),
            Field(
                "coating", "Coating", Kind.CHOICE, required=False, choices=tuple(c.value for c in Coating),
                help="as printed on the box",
            ),
        ),
        columns=(
            Field("nails", "Counted", Kind.COUNT, example=str(per_joint),
                  help=f"{ENDS}; {counts}"),
        ),
        rows=_joints(platform),
        row_word="joint",
        open_rows=True,
        least_rows=min(_SAMPLE, len(_joints(platform))),
    )  # fmt: skip


def _still_to_count(platform: Platform, counted: Mapping[str, int]) -> list[str]:
    """Joints that a sample still lacks: four in all, two of them in hangers and two nailed where there are as many of both."""
    joints, hung = _joints(platform), _hung(platform)
    open_joints = [joint for joint in joints if joint not in counted]
    nailed = [joint for joint in joints if joint not in hung]
    wanted: list[str] = []
    for kind in (hung, nailed):
        lack = min(_SAMPLE_HUNG, len(kind)) - sum(joint in counted for joint in kind)
        wanted += [joint for joint in open_joints if joint in kind][: max(lack, 0)]
    lack = min(_SAMPLE, len(joints)) - len(counted) - len(wanted)
    return wanted + [joint for joint in open_joints if joint not in wanted][: max(lack, 0)]


def _judge_fasteners(case: Case, readings: Readings) -> Answer:
    platform = case.platform
    joists = platform.joists
    counted = readings.column("nails")
    joints, hung = _joints(platform), _hung(platform)
    for joint, found in counted.items():
        if joint not in joints:
            raise InputError(
                f"joint {joint}: this frame has none of that name", f"its joints are {joints[0]} to {joints[-1]}"
            )
        if found > 100:
            raise InputError(
                f"joint {joint}: {found} fasteners in one joint cannot be", "count the heads in that joint"
            )
    for key, what in (("hanger", "a hanger"), ("hanger-double", "a double hanger")):
        if readings.has(key) and not _HANGER_LEAST <= readings.whole(key) <= _HANGER_MOST:
            raise InputError(
                f"{count(readings.whole(key), 'nail')} in {what} cannot be",
                "read its listing: joist and ledger nails together",
            )
    wanted = [f"the fasteners at joint {named(rest)}"] if (rest := _still_to_count(platform, counted)) else []
    wanted += ["whether the hangers have the nails their listing names"] if hung and not readings.has("listed") else []
    if wanted:
        return incomplete(listing(wanted, "and"), source=COUNT_SOURCE)
    per_joint, takes = nails_per_joint(joists.size), joint_nails(platform, readings)
    total = sum(nails for joint, nails in takes.items() if joint not in hung)
    in_hangers = sum(takes[joint] for joint in hung)
    short = {joint: takes[joint] - found for joint, found in counted.items() if found < takes[joint]}
    missing = sum(short.values())
    nailed_short = sum(lack for joint, lack in short.items() if joint not in hung)
    came, through = _nails_came(case), sum(found for joint, found in counted.items() if joint not in hung)
    if readings.has("left") and came and readings.whole("left") + through > came:
        raise InputError(
            f"{count(readings.whole('left'), 'fastener')} left in the boxes cannot be right: about {came} came by the lots,"
            f" and {through} are in the joints counted",
            "count what is left again, or receive what has come first; where the boxes hold more, leave it out",
        )
    open_joints = [joint for joint in joints if joint not in counted]
    coating = readings.word("coating")
    unfit = bool(coating) and not coating_fits(Coating(coating), treated=bool(joists.use_category))
    unlisted = bool(hung) and not readings.yes("listed")
    answer: dict[str, Plain] = {
        "per_joint": per_joint,
        "joints": len(joints),
        "counted_joints": len(counted),
        "total": total,
        "hangers": len(hung),
        "hanger_total": in_hangers,
        "shortfall": dict(short),
        "missing": missing,
    }
    moves = [
        f"drive {lack} more at {_at(joint)}" + (": fill every hole of its hanger" if joint in hung else "")
        for joint, lack in short.items()
    ]
    if unlisted:
        moves.append(
            "draw what is not the listing's nail out of the hangers, and fill every hole with the one it names"
        )
    doubled = [joint for joint, nails in takes.items() if joint not in hung and nails > per_joint]
    working = [f"a {joists.size} joint takes {per_joint}"]
    working += [f"a doubled joist takes as many in each ply: {named(doubled)}"] if doubled else []
    single = min((takes[joint] for joint in hung), default=0)
    if hung:
        said = "as its listing says" if readings.has("hanger") else "as the take-off counts: read its listing"
        working.append(f"a joist end in a hanger takes {single}, {said}")
        working.append(f"ends in hangers: {named(hung)}, {in_hangers} nails")
    working += [
        f"joist ends through the rims: {count(len(joints) - len(hung), 'joint')}, {total} fasteners",
        f"counted {count(len(counted), 'joint')} of {len(joints)}: {missing} short in {count(len(short), 'joint')}",
        ENDS,
    ]
    if short and open_joints:
        moves.append("count the joints not sampled: a short one is rarely alone")
    if readings.has("left"):
        left = readings.whole("left")
        answer["left"] = left
        answer["enough_left"] = left >= nailed_short
        working.append(f"left in the boxes: {left}, to drive: {nailed_short}")
        gone = came - left
        if came and gone < total - nailed_short:
            working.append(
                f"about {came} came by the lots: {gone} gone, {total - nailed_short} should be in the joints"
            )
            moves.append(f"only {gone} of {came} fasteners are gone from the boxes: count the joints not sampled")
        if left < nailed_short:
            moves.append(f"buy {nailed_short - left} more")
    if unfit:
        moves.append(f"{coating} does not last in this wood: draw them and use hot-dip galvanised or stainless")
    faults = [
        f"{missing} short in {count(len(short), 'joint')}; {per_joint} to a joint, {total} in the joist ends"
    ] * bool(short)
    faults += ["hangers without the nails their listing names"] * unlisted
    faults += [f"{coating} fasteners are not for this wood"] * unfit
    good = f"{per_joint} at each of {count(len(counted), 'joint')} counted; {total} in the joist ends"
    if hung:
        ends = [joint for joint in counted if joint in hung]
        good = (
            f"{count(len(ends), 'hanger')} and {count(len(counted) - len(ends), 'nailed joint')} counted, none short;"
            f" {total} in the joist ends, {in_hangers} in the hangers"
        )
    limits = [Limit("fasteners in a joist end", str(per_joint), COUNT_SOURCE)]
    limits += [
        Limit("nails in a hanger" if nails == single else "nails in a double hanger", str(nails), HANGER_SOURCE)
        for nails in sorted({takes[joint] for joint in hung})
    ]
    return verdict(
        not faults,
        "; ".join(faults) or good,
        inputs={"size": joists.size, "counted": dict(counted), "coating": coating, "hung": list(hung)},
        answer=answer,
        working=working,
        source=f"{COUNT_SOURCE}; hangers: {HANGER_SOURCE}" if hung else COUNT_SOURCE,
        moves=moves,
        limits=limits,
        caution=NAILING,
    )


_WOOD_FIELDS = (
    Field("tag", "Blocks' end tag", Kind.TEXT, example="UC4A",
          help="the use category of the lumber the blocks are cut from"),
    Field("fixed", "Blocks nailed to the frame", Kind.YESNO, example="yes",
          help=f"every block, {NAILS_A_PLY} nails in each ply; pull at a few"),
    Field("drains", "Ground drains", Kind.YESNO, example="yes", help="no water stands where the blocks stand"),
)  # fmt: skip


def _support_form(case: Case) -> Form:
    rows = joist_rows(case.platform)
    step = 48 * INCH if case.job.unit is Unit.INCH else 1200 * MM
    depth = case.platform.depth_nm
    held = [step * at for at in range(depth // step + 1)]
    held += [depth] if depth - held[-1] >= step // 4 else []
    return Form(
        fields=(
            *(_WOOD_FIELDS if case.platform.support is Support.WOOD_BLOCKS else ()),
            *sample_fields(case.rules, "joist"),
        ),
        columns=(
            Field(
                "at",
                "Held up at",
                Kind.LENGTHS,
                example="; ".join(["0", *(format_length(at, case.job.unit) for at in held[1:])]),
                help="each block, from the front end of the joist",
            ),
        ),
        rows=rows,
        row_word="joist",
        least_rows=len(rows),
        sample=sample_every(case.rules),
    )


def _judge_support(case: Case, readings: Readings) -> Answer:
    unit, platform, rules = case.job.unit, case.platform, case.rules
    contacts = readings.lists("at")
    rows = joist_rows(platform)
    lengths = {row: line.length_nm for row, line in zip(rows, standing_lines(platform), strict=True)}
    for row, points in contacts.items():
        if len(points) > 1:
            right_unit(max(points), lengths[row], f"joist {row}", unit)
        for nm in points:
            if nm > lengths[row] + 2 * platform.joists.thickness_nm:
                raise InputError(
                    f"joist {row}: a block at {format_length(nm, unit)} is past its end, {format_length(lengths[row], unit)}",
                    "measure from the front end of the joist",
                )
    wood = platform.support is Support.WOOD_BLOCKS
    lacking = [field.label.lower() for field in _WOOD_FIELDS if wood and not readings.has(field.key)]
    sample = sample_of(case, readings, rows, contacts)
    if (lacks := sample.lacks("the blocks under joist", lacking)) is not None:
        return lacks
    longest = rules.figure("support_longest")
    overhang = longest // 4
    moves: list[str] = []
    stretches: dict[str, int] = {}
    ends: dict[str, int] = {}
    for row in sample.read:
        length = lengths[row]
        held = sorted(min(nm, length) for nm in contacts[row])
        bays = list(itertools.pairwise(held))
        stretches[row] = max((b - a for a, b in bays), default=0)
        ends[row] = max(held[0], length - held[-1])
        adds = [a + (b - a) * k // n for a, b in bays for n in [-(-(b - a) // longest)] for k in range(1, n)]
        adds += [0] if held[0] > overhang else []
        adds += [length] if length - held[-1] > overhang else []
        if adds:
            moves.append(
                f"joist {row}: add a block at {listing((format_length(nm, unit) for nm in sorted(adds)), 'and')}"
            )
    spaced = not moves
    unfit = _unfit_blocks(readings) if wood else {}
    moves += unfit.values()
    worst = max(stretches, key=lambda row: stretches[row])
    far = max(ends, key=lambda row: ends[row])
    passed = not moves
    moves += () if spaced else sample.moves
    text = f"longest unsupported stretch {format_length(stretches[worst], unit)}, joist {worst}"
    return verdict(
        passed,
        sample.headline(
            text
            if passed or stretches[worst] > longest
            else listing(list(unfit), "and")
            if spaced
            else f"joist {far} sticks out {format_length(ends[far], unit)} past its last block"
        ),
        inputs={
            "joist_in": inches(max(lengths.values())),
            "contacts_in": {row: [inches(nm) for nm in contacts[row]] for row in sample.read},
        },
        answer={
            "longest_in": inches(stretches[worst]),
            "longest_joist": worst,
            "overhang_in": inches(ends[far]),
            "overhang_joist": far,
            "limit_in": inches(longest),
            **sample.answer,
        },
        working=(
            f"longest stretch between blocks: joist {worst}, {format_length(stretches[worst], unit)}; "
            f"at most {format_length(longest, unit)}",
            f"longest end past the last block: joist {far}, {format_length(ends[far], unit)}; "
            f"at most a quarter of that, {format_length(overhang, unit)}",
            *sample.working,
        ),
        source=COMMON,
        moves=moves,
        limits=(
            rules.limit("support_longest", unit),
            Limit(
                "joist end past its last block",
                format_small(overhang, unit),
                COMMON,
                "a quarter of the stretch allowed",
            ),
            *sample_limits(rules, unit),
        ),
        caution=WOOD_BLOCKS
        if wood
        else "A joist on the ground wants treated stock for ground contact, full bearing and no soil packed around it.",
    )


def _unfit_blocks(readings: Readings) -> dict[str, str]:
    """What is wrong with wood blocks, in words, each with what to do."""
    found = {}
    if not use_category_ok(tag := readings.word("tag"), ground_contact=True):
        found[f"blocks of {tag} do not last on the ground"] = "cut them from lumber tagged UC4A or better"
    if not readings.yes("fixed"):
        found["blocks not nailed to the frame work loose"] = (
            f"nail every block to the frame, {NAILS_A_PLY} nails in each ply"
        )
    if not readings.yes("drains"):
        found["water stands under the blocks"] = (
            "drain the ground away from them, or set the deck on pads in crushed stone"
        )
    return found


JOIST_SPACING = Check(
    key="joist-spacing",
    title="Joist spacing",
    asks="the center of every joist along the rim, all from the left end; or of the worst and a sample, the rest by eye",
    source=f"layout: {COMMON}; decking: {DECKING_SOURCE}",
    form=_spacing_form,
    judge=_judge_spacing,
)

FASTENERS = Check(
    key="fasteners",
    title="Fasteners in the joints",
    asks=f"the fasteners counted in at least four joist ends, two of them in hangers where there are hangers; {ENDS}",
    source=COUNT_SOURCE,
    form=_fasteners_form,
    judge=_judge_fasteners,
    caution=NAILING,
)


def _on_blocks(job: JobSpec, platform: Platform) -> bool:
    return platform.on_blocks


SUPPORT = Check(
    key="support",
    title="Joist support",
    asks="where each joist is held up, from its front end; or the worst and a sample, the rest by eye",
    source=COMMON,
    form=_support_form,
    judge=_judge_support,
    applies=_on_blocks,
)
