"""The take-off: every line counted by hand once, with its working in words."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.trade.test_framing import SITE, UNCUT, decking, job, joists, platform, raised
from tracker.trade.framing import FootingPlan, plan_job
from tracker.trade.lengths import FOOT, INCH, MM, Unit
from tracker.trade.outline import Clip, Corner, CutOut
from tracker.trade.phases import BY_KEY, phases_for
from tracker.trade.rules import Rules
from tracker.trade.spec import BoardKind, Finish, Guard, JobSpec, Stairs, Support
from tracker.trade.takeoff import Line, stock_key, take_off


def only(spec: JobSpec, title: str) -> Line:
    (line,) = [line for line in take_off(spec) if line.title == title]
    return line


def test_a_platform_of_whole_boards() -> None:
    lines = {line.title: line for line in take_off(job(UNCUT, finish=Finish.OIL))}
    joist = lines["joists 2x8"]
    assert (joist.item, joist.quantity, joist.unit, joist.phase, joist.platform) == ("2x8", 9, "piece", "frame", "deck")
    assert [(p.length_nm, p.quantity, p.whole) for p in joist.pieces] == [(12 * FOOT, 9, True)]
    assert joist.working == (
        "(10' less 1-1/2 in) / 16 in on centre, up, plus 1 = 9 joists",
        "joist 12': stock boards left uncut",
    )
    assert [(p.length_nm, p.quantity, p.whole) for p in lines["rims 2x8"].pieces] == [(10 * FOOT, 2, True)]
    # 27 courses, 5 % spare is 1.35, so 2 more.
    boards = lines["deck boards 5/4x6"]
    assert boards.quantity == 29
    assert [(p.length_nm, p.quantity, p.what) for p in boards.pieces] == [
        (10 * FOOT, 27, "deck board"),
        (10 * FOOT, 2, "spare deck board"),
    ]
    assert boards.working[0] == "27 courses of 5-1/2 in touching cover 12' 3\""
    goods = {line.item: (line.quantity, line.unit, line.phase) for line in lines.values() if not line.pieces}
    # 72 nails in the joist ends (common practice: 4 for a 2x8) fit one box of 220; 486 screws and 5 % take two of 350.
    # Bed 11 ft x 13 ft 3 in x 6 in (clay) = 72.9 ft3, x 1.2 loose = 87.5 ft3 = 3.24 yd3, up to 4.
    # Cloth: two strips of 13 ft 3 in, 6 ft wide and 1 ft lapped, cover 11 ft: 26 ft 6 in of a 50 ft roll.
    assert goods == {
        "cloth": (1, "roll", "pads"), "gravel": (4, "cubic yard", "pads"), "block": (36, "piece", "pads"),
        "nails 16d": (1, "box", "frame"), "screws 2-1/2": (2, "box", "boards"), "finish oil": (1, "gallon", "finish"),
    }  # fmt: skip
    assert "joist ends through the rims: 18 x 4 = 72" in lines["16d nails, hot-dip galvanised"].working


def test_an_attached_deck_lists_ledger_footings_and_connectors() -> None:
    deck = raised(
        16 * FOOT, 12 * FOOT, 126 * INCH, 3,
        stairs=(Stairs(4 * FOOT, 66 * INCH),), guard=Guard(36 * INCH, 36 * FOOT),
    )  # fmt: skip
    spec = job(deck)
    items = {line.item: line for line in take_off(spec) if not line.pieces}
    assert items["hanger 2x10"].quantity == 13
    assert (items["post base 6x6"].quantity, items["post cap 6x6"].quantity) == (3, 3)
    # Joists span 10 ft 4-1/2 in: read at 12 ft, lag screws 15 in apart (Wisconsin deck code 2015, ledger table).
    # 192 - 6 = 186 in: 13 spaces, 14 screws.
    assert (items["lag screw 1/2"].quantity, items["lag screw 1/2"].phase) == (14, "ledger")
    assert items["flashing"].quantity == 2
    assert only(spec, "ledger 2x10").pieces[0].length_nm == 16 * FOOT
    assert only(spec, "beam 1 2x12").quantity == 2
    assert only(spec, "posts of beam 1 6x6").quantity == 3
    assert only(spec, "stairs: stringers 2x12").quantity == 4
    # 8 treads of two boards.
    assert only(spec, "stairs: treads 5/4x6").quantity == 16
    assert "cloth" not in items and "block" not in items


def test_concrete_comes_in_bags_for_whole_footings() -> None:
    # Bag makers' figure: 80 lb gives 0.60 ft3. A 14 in hole 48 in deep is 4.28 ft3: 8 bags (7.13, up).
    small = raised(6 * FOOT, 6 * FOOT, 6 * FOOT, 2)
    spec = job(small, site=replace(SITE, soil="bedrock", frost_depth_nm=48 * INCH))
    (line,) = [line for line in take_off(spec) if line.item == "concrete 80lb"]
    assert (line.quantity, line.unit) == (16, "bag")
    assert any("4.28 ft3 each / 0.60 ft3 a bag = 8 bags, x 2 footings" in text for text in line.working)


def test_a_ledger_is_ordered_the_lag_screws_its_load_asks_for() -> None:
    # Wisconsin deck code 2015, ledger table: 16 ft and 11 in leave a lag screw its least load, 50 psf x 8 ft x 11/12 ft = 366.7 lb.
    # At 60 psf live and 10 dead over half of 10 ft 4-1/2 in that is every 12 in: 186 in are 16 spaces, 17 screws. Snow of 60 psf
    # counts the same.
    deck = raised(16 * FOOT, 12 * FOOT, 126 * INCH, 3)
    for site in (replace(SITE, live_psf=60), replace(SITE, snow_psf=60)):
        (line,) = [line for line in take_off(job(deck, site=site)) if line.item == "lag screw 1/2"]
        assert line.quantity == 17
        assert line.working[0] == "joist span 10.4 ft, read in the 12 ft row: 15 in apart, 12 in under 60 psf"


def test_the_order_of_concrete_names_the_load_its_footings_are_sized_for() -> None:
    deck = raised(6 * FOOT, 6 * FOOT, 6 * FOOT, 2)
    for live, psf in ((0, 50), (60, 70)):
        spec = job(deck, site=replace(SITE, live_psf=live))
        (line,) = [line for line in take_off(spec) if line.item == "concrete 80lb"]
        assert f"lb at {psf} psf; soil 1,500 psf" in line.working[0]


def test_a_wide_footing_is_a_pad_and_a_pier_and_a_big_pour_comes_by_truck() -> None:
    # Posts 9 ft apart under 12 ft of deck depth and more on clay want pads some 27 in wide. Worked: pad V1 = pi/4 x d^2 x t,
    # pier V2 = pi/4 x 12^2 x (36 in - t), bags of 0.60 ft3, whole ones a footing.
    spec = job(raised(18 * FOOT, 16 * FOOT, 12 * FOOT, 3), site=replace(SITE, soil="clay", frost_depth_nm=36 * INCH))
    plan = plan_job(spec)[0].footing
    assert plan is not None and plan.pad_nm and plan.pier_nm == 12 * INCH
    across, thick = plan.diameter_nm / INCH, plan.pad_nm / INCH
    each = (math.pi / 4 * across**2 * thick + math.pi / 4 * 144 * (36 - thick)) / 1728
    lines = {line.item: line for line in take_off(spec)}
    assert lines["concrete 80lb"].quantity == 3 * math.ceil(each / 0.60)
    # Full shafts would take twice as much and more.
    assert each < math.pi / 4 * across**2 * 36 / 1728 / 2
    # Piers of 36 in less the pad: one tube of 4 ft each.
    assert lines["form tube 12"].quantity == 3
    truck = {line.item: line for line in take_off(replace(spec, rules=Rules({"ready_mix_over": 20})))}
    assert "concrete 80lb" not in truck
    # 10 % spare, in quarter yards of 6.75 ft3.
    assert (truck["ready-mix"].quantity, truck["ready-mix"].unit) == (math.ceil(3 * each * 1.1 / 6.75), "quarter yard")


def test_pad_and_pier_of_a_wide_hole_take_half_the_bags_of_a_full_shaft() -> None:
    # 30 in across and 36 in deep: full it is 14.7 ft3, 25 bags; a pad 13 in thick and a 12 in pier of 23 in are
    # 5.32 + 1.51 = 6.83 ft3, 12 bags.
    wide = FootingPlan(1, 30 * INCH, 36 * INCH, 0, 1500, 0, 13 * INCH, 12 * INCH)
    full = FootingPlan(1, 30 * INCH, 36 * INCH, 0, 1500)
    assert [round(plan.concrete_ft3, 2) for plan in (wide, full)] == [6.82, 14.73]


def test_a_metric_job_is_told_in_its_own_units() -> None:
    deck = platform(4200 * MM, 3600 * MM, joists=joists("45x195", 400 * MM))
    deck = replace(deck, decking=replace(decking(gap=5 * MM), board="28x145", width_nm=145 * MM, thickness_nm=28 * MM))
    lines = {line.item: line for line in take_off(job(deck, unit=Unit.MM, finish=Finish.OIL))}
    assert "4200 mm less 45 mm" in lines["45x195"].working[0] or lines["45x195"].title.startswith("rims")
    # 28 mm and 38.1 mm into the joist is 66.1 mm: the 3 in screw, sold as 75 mm.
    assert {"nails 90mm", "screws 75mm", "finish oil litre"} <= set(lines)
    assert lines["gravel m3"].unit == "cubic metre" and lines["finish oil litre"].unit == "litre"
    assert not any("'" in text or '"' in text for line in lines.values() for text in line.working)


def test_spare_boards_follow_the_house_rule() -> None:
    spec = job(UNCUT, rules=Rules({"waste_boards": 120}))
    # 12 % of 27 is 3.24: 4 spare.
    assert only(spec, "deck boards 5/4x6").quantity == 31


def test_composite_boards_are_kept_apart_from_wood() -> None:
    deck = replace(UNCUT, decking=replace(decking(), kind=BoardKind.COMPOSITE, use_category=""))
    (line,) = [line for line in take_off(job(deck)) if line.phase == "boards" and line.pieces]
    assert (line.item, stock_key(line.item, 16 * FOOT)) == ("composite 5/4x6", "composite 5/4x6x16")


@pytest.mark.parametrize(
    ("size", "length", "key"),
    [("2x8", 12 * FOOT, "2x8x12"), ("5/4x6", 16 * FOOT, "5/4x6x16"), ("45x195", 3600 * MM, "45x195x3600"),
     ("2x8", 150 * INCH, "2x8x12ft6in")],
)  # fmt: skip
def test_stock_keys_are_readable(size: str, length: int, key: str) -> None:
    assert stock_key(size, length) == key


@pytest.mark.parametrize("support", list(Support))
@pytest.mark.parametrize("angle", [0, 45, 90])
def test_every_line_has_its_working_and_a_phase_the_job_goes_through(support: Support, angle: int) -> None:
    deck = raised(
        30 * FOOT, 14 * FOOT, 12 * FOOT, 5, support=support, decking=decking(angle),
        stairs=(Stairs(3 * FOOT, 40 * INCH),), guard=Guard(36 * INCH, 20 * FOOT),
    )  # fmt: skip
    if support is not Support.FOOTINGS:
        deck = replace(deck, beams=())
    spec = job(deck, finish=Finish.STAIN)
    present = {phase.key for phase in phases_for(spec)}
    for line in take_off(spec):
        assert line.quantity > 0 and line.working and all(line.working)
        assert line.phase in BY_KEY and line.phase in present
        if line.pieces:
            assert line.quantity == sum(piece.quantity for piece in line.pieces)


def test_a_ledger_past_the_table_says_who_must_size_it() -> None:
    # The ledger fastener table ends at joists of 18 ft (Wisconsin deck code 2015).
    long = raised(16 * FOOT, 20 * FOOT, 19 * FOOT, 3)
    (line,) = [line for line in take_off(job(long)) if line.item == "lag screw 1/2"]
    assert "past the end of the table: a licensed professional must size it" in line.working[0]


def test_an_l_shape_lists_what_each_rim_and_joist_is_cut_to() -> None:
    notch, corner = CutOut(Corner.FRONT_RIGHT, 4 * FOOT, 5 * FOOT), Clip(Corner.BACK_LEFT, 3 * FOOT)
    spec = job(platform(18 * FOOT, 12 * FOOT, cuts=(notch, corner)))
    rims = only(spec, "rims 2x8")
    assert rims.quantity == 4
    assert rims.working == (
        """angled rim: 4' 2-15/16", cut 22.5 degrees off square at both ends, between long points""",
        "rim: 14'",
        "rim inside the cut-out: 4'",
        "rim: 15', cut 22.5 degrees off square at one end, between long points",
    )
    frame = only(spec, "joists 2x8")
    assert "doubled in 1 place: side of the cut-out" in frame.working
    assert frame.quantity == 17 and any("17 joists, 5 lengths" in text for text in frame.working)
    # 18 x 12 ft - 20 - 4.5 ft2, 6 in wider all round: 19 x 13 - 24.5 = 222.5 ft2 of 6 in, x 1.2 = 133.5 ft3 = 4.94 yd3.
    gravel = only(spec, "crushed stone, 3/4 in")
    assert gravel.quantity == 5 and "less the cut corners" in gravel.working[0]


def test_a_long_deck_doubles_the_joists_under_its_board_joints() -> None:
    spec = job(platform(30 * FOOT, 10 * FOOT))
    assert "doubled in 2 places: board joints" in only(spec, "joists 2x8").working
    boards = only(spec, "deck boards 5/4x6")
    assert any("22 joints over doubled joists" in text for text in boards.working)
    # Each rim is 20 ft and 10 ft.
    assert only(spec, "rims 2x8").working[1] == "longer than the stock: pieces of 20' + 10', joined on joist 16"


def test_a_border_is_counted_with_its_boards() -> None:
    deck = platform(10 * FOOT, 12 * FOOT, decking=replace(decking(), border=True, overhang_nm=INCH))
    boards = only(job(deck), "deck boards 5/4x6")
    # 122 x 146 in of boards: 2 of each round the edge, 111 in inside; 135 / 5-1/2 = 24.5, up to 25.
    assert {(p.length_nm / INCH, p.quantity) for p in boards.pieces if p.what == "deck board"} == {
        (122, 2), (146, 2), (111, 25),
    }  # fmt: skip
    assert "a mitred border all round: 4 sides" in boards.working
