"""What a check, a hold point, a caution or the walk-through names is in the take-off, and every line has its phase.

Which word means which item is written here by hand; a word of hardware that nobody gave an item fails. The preservative that
cut ends are brushed with comes, like tools, from what the crew carries.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import pytest

from tests.trade.test_framing import SITE, UNCUT, decking, job, raised
from tracker.trade.checks.base import Case
from tracker.trade.checks.registry import checks_for
from tracker.trade.framing import plan_job
from tracker.trade.hardware import BRACED_OVER
from tracker.trade.lengths import FOOT, INCH
from tracker.trade.phases import phases_for
from tracker.trade.rules import BY_KEY, Rules
from tracker.trade.spec import Attachment, Finish, Guard, JobSpec, Stairs, Support
from tracker.trade.takeoff import Line, take_off
from tracker.trade.walkthrough import walk_through


def house(**choices: str) -> Rules:
    return Rules({key: BY_KEY[key].choices.index(choice) for key, choice in choices.items()})


ATTACHED = job(
    raised(16 * FOOT, 12 * FOOT, 126 * INCH, 3, stairs=(Stairs(4 * FOOT, 66 * INCH),), guard=Guard(36 * INCH, 36 * FOOT)),
    finish=Finish.OIL, rules=house(joist_tape="yes", fascia="yes", stair_landing="slab"),
)  # fmt: skip
FREE = job(
    replace(raised(16 * FOOT, 12 * FOOT, 126 * INCH, 3, decking=decking(90)), attachment=Attachment.FREE),
    finish=Finish.STAIN,
)
ON_BLOCKS = job(replace(UNCUT, uncut=False, width_nm=126 * INCH, rim_stock_nm=0, joist_stock_nm=0), finish=Finish.OIL)
ON_WOOD = job(replace(UNCUT, support=Support.WOOD_BLOCKS))
BIG_POUR = job(raised(18 * FOOT, 16 * FOOT, 12 * FOOT, 3), site=SITE, rules=Rules({"ready_mix_over": 5}))
JOBS = {"attached": ATTACHED, "free": FREE, "blocks": ON_BLOCKS, "wood blocks": ON_WOOD, "truck": BIG_POUR}

ITEMS: dict[str, str] = {
    # A word as the texts have it, and what of the take-off it is: the start of an item or of a title.
    r"hangers?": "hanger",
    r"ledgers?": "ledger ",
    r"flash(ing|ed)": "flashing",
    r"lateral ties?|ties": "lateral tie",
    r"post bases?|held at the bottom": "post base",
    r"anchors": "anchor bolt|post base",
    r"post caps?|beam bears on top": "post cap",
    r"beams?": "beam ",
    r"(?<!guard )posts?(?! is| are|ed)": "posts of beam|guard posts",
    r"plies": "beam ",
    r"ply nails": "nails 10d",
    r"guard posts?": "guard posts",
    r"balusters?|infill": "guard infill",
    r"stringers?": "stairs: stringers",
    r"treads?": "stairs: treads",
    r"landing": "concrete|ready-mix",
    r"concrete|bags": "concrete|ready-mix",
    r"joist tape": "joist tape",
    r"nails": "nails",
    r"screws?": "screws",
    r"deck boards?|boards": "deck boards",
    r"joists?": "joists",
    r"rims?": "rims",
    r"ground cloth|cloth": "cloth",
    r"gravel|crushed stone": "gravel",
    r"blocking": "blocking",
    r"oil|stain": "finish",
}
HARDWARE = re.compile(
    r"\b(hangers?|ledgers?|flashing|ties|bases?|anchors?|caps?|stringers?|treads?|handrails?|balusters?|joist tape|cloth|"
    r"saddles?|tubes?)\b"
)


def said(spec: JobSpec) -> Iterator[str]:
    """What checks ask and warn of where they apply, the fields they read, and cautions of the phases."""
    phases = phases_for(spec)
    for phase in phases:
        yield from phase.cautions
    for found in checks_for(spec, phases):
        yield from (found.check.title, found.check.asks, found.check.caution)
        form = found.check.form(Case(spec, found.platform, date(2026, 5, 12)))
        for field in (*form.fields, *form.columns):
            yield f"{field.label} {field.help}"


def named(spec: JobSpec) -> Iterator[str]:
    yield from said(spec)
    for part in walk_through(spec):
        yield from (point.text for point in part.points)


def bought(lines: tuple[Line, ...], starts: str) -> bool:
    wanted = tuple(starts.split("|"))
    return any(line.item.startswith(wanted) or line.title.startswith(wanted) for line in lines)


@pytest.mark.parametrize("name", JOBS)
def test_what_the_checks_and_cautions_of_a_job_name_is_in_its_take_off(name: str) -> None:
    lines, texts = take_off(JOBS[name]), set(named(JOBS[name]))
    if name != "attached":
        # What every job is told lists what there may be (an inspector looks at hangers where there are some): the deck that
        # has all of it answers for that.
        each = [set(named(spec)) for spec in JOBS.values()]
        texts -= each[0].intersection(*each[1:])
    missing = {}
    for pattern, starts in ITEMS.items():
        word = re.compile(rf"\b(?:{pattern})\b", re.IGNORECASE)
        told = [text for text in texts if word.search(text)]
        if told and not bought(lines, starts):
            missing[pattern] = told
    assert not missing


@pytest.mark.parametrize("name", JOBS)
def test_no_hardware_is_named_that_has_no_item(name: str) -> None:
    known = re.compile(
        "|".join(rf"\b(?:{pattern})\b" for pattern in (*ITEMS, r"handrails?", r"base in place")), re.IGNORECASE
    )
    unknown = [text for text in named(JOBS[name]) for found in HARDWARE.finditer(text)
               if not known.search(found.group()) and not known.search(text)]  # fmt: skip
    assert not unknown


@pytest.mark.parametrize("name", JOBS)
def test_every_line_is_of_a_phase_the_job_goes_through(name: str) -> None:
    spec = JOBS[name]
    present = {phase.key for phase in phases_for(spec)}
    strays = {(line.title, line.phase) for line in take_off(spec) if line.phase not in present}
    assert not strays
    assert all(line.working and all(line.working) for line in take_off(spec))


def counted(spec: JobSpec) -> dict[str, int]:
    found: dict[str, int] = {}
    for line in take_off(spec):
        found[line.item if not line.pieces else line.title] = line.quantity
    return found


def test_what_holds_an_attached_deck_by_hand() -> None:
    # 16 x 12 ft, a beam on 3 posts, 13 joists (192 - 1-1/2 = 190.5 / 16 = 11.9, up to 12, plus 1), stairs of 4 stringers with
    # 8 treads of 2 boards (66 in of rise: 9 risers of 7-1/3 in).
    found = counted(ATTACHED)
    # Wisconsin deck code, lateral load: two ties of 1,500 lb. One tie where each joist crosses the beam (common practice).
    assert (found["lateral tie"], found["joist tie"], found["anchor bolt"]) == (2, 13, 3)
    assert found["stringer connector"] == 4
    # Posts over 2 ft (from memory: DCA 6): one brace from each end post, two from the middle one; a lag at each end.
    assert plan_job(ATTACHED)[0].beams[0].post_nm > BRACED_OVER
    assert (found["post braces 2x4"], found["lag screw 3/8"]) == (4, 8)
    # Fascia round three sides: 12 + 16 + 12 ft, no piece over 20 ft.
    assert found["fascia 1x10"] == 3
    # Treads: 8 x 2 boards x 4 stringers x 2 screws = 128 and 5 %, one box of 350.
    treads = [line for line in take_off(ATTACHED) if line.title.startswith("screws of the treads")]
    assert [line.quantity for line in treads] == [1]
    assert treads[0].working[0] == "tread boards over stringers: 64 x 2 screws = 128"


def test_joist_tape_covers_everything_boards_lie_on_and_the_beams() -> None:
    (tape,) = [line for line in take_off(ATTACHED) if line.item == "joist tape"]
    # Joists 13 x (144 - 3) = 1833 in; ledger and rim 2 x 192 = 384; beam 2 plies x 192 = 384; blocking where it stands.
    blocks = sum(plan_job(ATTACHED)[0].blocking_nm) / INCH
    assert tape.loose is not None and tape.loose.amount / INCH == 1833 + 384 + 384 + blocks
    assert tape.quantity == -(-(1833 + 384 + 384 + blocks) // 600)


def test_a_free_standing_deck_is_braced_across_too_and_has_no_ledger_ties() -> None:
    found = counted(FREE)
    # Along the beam 4, across one at each end post.
    assert found["post braces 2x4"] == 4 + 2 and "lateral tie" not in found


def test_stairs_land_on_a_slab_where_nothing_is_there() -> None:
    # 4 ft x 3 ft x 4 in = 4.0 ft3; 0.60 ft3 a bag: 7 bags (6.67, up). The figure in from memory: IRC R311.7.6.
    slab = [line for line in take_off(ATTACHED) if line.working[0].startswith("a landing at the foot")]
    assert [(line.item, line.quantity) for line in slab] == [("concrete 80lb", 7)]
    none = replace(ATTACHED, rules=house(stair_landing="what is there"))
    assert not [line for line in take_off(none) if line.working[0].startswith("a landing at the foot")]
