"""The material list of a job that has nothing: whole boards, platforms added up, nothing lost, metric stock, prices."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from tests.trade.test_framing import SITE, UNCUT, job, platform, raised
from tracker.book.plans import Shelf
from tracker.planning.material import Material, material_of
from tracker.planning.pricing import Offer, PriceBook
from tracker.trade.lengths import FOOT, INCH, MM, Unit
from tracker.trade.material import Loose, together
from tracker.trade.spec import Finish, Ground, Guard, JobSpec, Stairs, Support
from tracker.trade.takeoff import take_off


def listed(spec: JobSpec, *offers: Offer) -> Material:
    return material_of(spec, PriceBook(offers), Shelf().plan)


def test_the_material_list_of_whole_boards() -> None:
    # Common practice, counted by hand: 9 joists, 2 rims and 27 boards with 2 spare, none of them cut.
    lines = {line.item: line for line in listed(job(UNCUT)).lines}
    assert {item: line.quantity for item, line in lines.items() if line.unit == "board"} == {
        "2x8x12": 9,
        "2x8x10": 2,
        "5/4x6x10": 29,
    }
    line = lines["2x8x12"]
    assert (line.phase, line.platform, line.title) == ("frame", "deck", "2x8, 12', UC4A")
    assert line.working[0] == "9 x 12' joist, whole boards"
    assert "joists 2x8: joist 12': stock boards left uncut" in line.working


def test_equal_items_of_two_platforms_are_bought_once() -> None:
    upper = replace(UNCUT, name="upper", support=Support.PLATFORM)
    lines = listed(job(replace(UNCUT, name="lower"), upper)).lines
    keys = [line.item for line in lines]
    assert len(keys) == len(set(keys))
    by_item = {line.item: line for line in lines}
    assert by_item["2x8x12"].quantity == 18
    assert (by_item["2x8x12"].platform, by_item["2x8x12"].use_category) == ("lower, upper", "UC4A")
    # 18 joist ends x 4 = 72 nails each; 144 and 10 % spare are 158.4: one box of 220 holds them all (house figures).
    nails = by_item["nails 16d"]
    assert nails.quantity == 1
    assert nails.working[0].startswith("lower: ")
    assert nails.working[-1] == "packed together: 1 box, not 2"


def test_boards_for_another_use_are_bought_apart() -> None:
    upper = replace(UNCUT, name="upper", support=Support.PLATFORM, joists=replace(UNCUT.joists, use_category="UC3B"))
    found = listed(job(replace(UNCUT, name="lower"), upper))
    boards = {(line.platform, line.use_category): line.quantity for line in found.lines if line.item == "2x8x12"}
    assert boards == {("lower", "UC4A"): 9, ("upper", "UC3B"): 9}
    assert len({size.key for size in found.plans}) == len(found.plans)


def test_what_is_counted_in_whole_measures_is_rounded_once() -> None:
    # Boxes of 220: 104 and 72 nails with 10 % spare are 114.4 + 79.2 = 193.6. Gallons: 0.7 + 0.7 = 1.4.
    # Where a box is of another size, nothing is put together.
    nails = [Loose(104 * 1100, 220 * 1000), Loose(72 * 1100, 220 * 1000)]
    assert [one.whole for one in nails] == [1, 1]
    assert (both := together(nails)) is not None and both.whole == 1
    assert (oil := together([Loose(0.7, 1), Loose(0.7, 1)])) is not None and oil.whole == 2
    assert together([Loose(1, 1), Loose(1, 2)]) is None and together([]) is None
    assert Loose(3, 1).whole == 3 and Loose(3.0000000001, 1).whole == 3


def test_the_list_and_the_plans_agree_and_nothing_is_lost() -> None:
    deck = raised(
        31 * FOOT, 13 * FOOT, 11 * FOOT, 5,
        stairs=(Stairs(3 * FOOT, 66 * INCH),), guard=Guard(36 * INCH, 40 * FOOT),
    )  # fmt: skip
    spec = job(deck, platform(15 * FOOT, 11 * FOOT, name="low"), finish=Finish.OIL)
    pieces: dict[tuple[str, str], Counter[int]] = {}
    for line in take_off(spec):
        for piece in line.pieces:
            pieces.setdefault((line.item, line.wood), Counter())[piece.length_nm] += piece.quantity
    found = listed(spec)
    plans = {(size.size, size.wood): size.plan for size in found.plans}
    assert set(plans) == set(pieces) and found.proven
    for kind, plan in plans.items():
        assert Counter(nm for stick in plan.sticks for nm in stick.cuts_nm) == pieces[kind]
    boards = [line for line in found.lines if line.unit == "board"]
    assert sum(line.quantity for line in boards) == sum(len(plan.sticks) for plan in plans.values())
    assert sum(piece.quantity for line in boards for piece in line.pieces) == sum(c.total() for c in pieces.values())


def test_a_metric_list_uses_metric_stock() -> None:
    deck = platform(4200 * MM, 3690 * MM)
    metric = replace(deck, joists=replace(deck.joists, size="45x195", thickness_nm=45 * MM, depth_nm=195 * MM))
    items = {line.item: line.quantity for line in listed(job(metric, unit=Unit.MM, site=SITE)).lines}
    # Joists 3690 - 2 x 45 = 3600 mm and rims of 4200 mm are stock lengths: bought whole.
    assert items["45x195x3600"] == 12 and items["45x195x4200"] == 2


def test_without_prices_the_least_length_and_with_them_the_least_money() -> None:
    spec = job(platform(11 * FOOT, 13 * FOOT))
    (free,) = [size for size in listed(spec).plans if size.size == "2x8"]
    assert not free.priced and set(free.unpriced) == {stick.stock.name for stick in free.plan.sticks}
    # Only 20 ft boards are priced, at so little for a foot that they are the cheapest way to every piece but the ones no
    # other board can be spared for; a length that nobody prices counts at the dearest price for a foot of the others.
    (dear,) = [size for size in listed(spec, Offer("Yard One", "2x8x20", 200_000)).plans if size.size == "2x8"]
    assert dear.priced
    for stock in dear.stocks:
        assert stock.cost_e4 == 200_000 * stock.length_nm // (20 * FOOT)
    bought = {stick.stock.name for stick in dear.plan.sticks}
    assert set(dear.unpriced) == bought - {"2x8x20"}


def test_a_plan_that_was_not_proven_says_so_in_the_working() -> None:
    spec = job(platform(17 * FOOT, 13 * FOOT))
    offers = [Offer("Yard One", f"2x8x{feet}", price) for feet, price in ((8, 71_000), (12, 119_000), (16, 158_000))]
    quick = material_of(spec, PriceBook(tuple(offers)), Shelf().quick)
    said = "from a cut plan not proven the cheapest yet"
    for size in quick.plans:
        lines = [line for line in quick.lines if line.unit == "board" and line.item.startswith(f"{size.size}x")]
        assert lines and all((said in line.working) is not size.plan.proven for line in lines)
    assert not quick.proven
    assert not any(said in line.working for line in listed(spec, *offers).lines)


def test_the_simplest_deck_costs_about_650_at_plain_prices() -> None:
    # A platform of whole boards on wood blocks and ground made ready, at invented plain prices. By hand: 9 x 18.15 + 2 x 15.00
    # + 29 x 11.45 + 24.50 + 2 x 39.00 = 627.90. The 36 blocks of 8 in, 1/8 in lost with each cut: 11 out of a board of 8 ft,
    # 14 out of 10 ft, 17 out of 12 ft; 11 + 11 + 14 are all of them for 11.90 + 11.90 + 15.00 = 38.80, together 666.70
    # (20 + 16 out of two of 14 ft cost 42.80).
    plain = {"2x8x8": 11.90, "2x8x10": 15.00, "2x8x12": 18.15, "2x8x14": 21.40, "5/4x6x10": 11.45, "nails 16d": 24.50,
             "screws 2-1/2": 39.00}  # fmt: skip
    offers = [Offer("Plain Yard", item, round(price * 10_000)) for item, price in plain.items()]
    simplest = replace(UNCUT, support=Support.WOOD_BLOCKS, height_nm=39 * INCH // 4)
    found = listed(job(simplest, site=replace(SITE, ground=Ground.READY)), *offers)
    cost = sum(line.quantity * plain[line.item] for line in found.lines)
    assert round(cost, 2) == 666.70 and abs(cost - 650) < 650 * 0.05
    (blocks,) = [plan for plan in found.plans if plan.size == "2x8"]
    cut = Counter(cut.what for stick in blocks.plan.sticks for cut in stick.cuts)
    assert sum(n for what, n in cut.items() if "wood block" in what) == 36


def test_blocks_are_cut_from_offcuts_first() -> None:
    # 13 ft joists out of 14 ft boards leave 12 in each, enough for a block of 8 in: 9 of the 36 come out of them.
    deck = platform(120 * INCH, 159 * INCH, support=Support.WOOD_BLOCKS, height_nm=39 * INCH // 4)
    offers = [Offer("Plain Yard", f"2x8x{feet}", 10_000 * feet) for feet in (10, 12, 14)]
    sticks = [stick for plan in listed(job(deck), *offers).plans if plan.size == "2x8" for stick in plan.plan.sticks]
    mixed = [stick for stick in sticks if any("joist" in cut.what for cut in stick.cuts)]
    assert mixed and all(any("wood block" in cut.what for cut in stick.cuts) for stick in mixed)
