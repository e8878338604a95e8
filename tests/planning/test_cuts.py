"""Cut plans: every piece is there, no stick is over-cut, the same pieces give the same plan."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.trade.test_framing import SITE, UNCUT, job, platform, raised
from tracker.errors import InputError
from tracker.planning.cuts import KERF, TRIM, CutPlan, cut_lists, material_list, pack
from tracker.trade.lengths import FOOT, INCH, MM, Unit
from tracker.trade.material import Piece
from tracker.trade.spec import Finish, Guard, Stairs, Support
from tracker.trade.takeoff import take_off

STOCKS = tuple(feet * FOOT for feet in range(8, 21, 2))


def sound(plan: CutPlan, pieces: list[Piece]) -> None:
    wanted: Counter[int] = Counter()
    for piece in pieces:
        wanted[piece.length_nm] += piece.quantity
    assert Counter(nm for stick in plan.sticks for nm in stick.cuts_nm) == +wanted
    for stick in plan.sticks:
        if stick.whole:
            assert stick.cuts_nm == (stick.stock_nm,) and stick.left_nm == 0
            continue
        cut = sum(stick.cuts_nm) + plan.kerf_nm * (len(stick.cuts) - 1)
        trim = plan.trim_nm if cut + plan.trim_nm <= max(STOCKS) else 0
        assert trim + cut <= stick.stock_nm
        assert stick.left_nm == max(stick.stock_nm - trim - cut - plan.kerf_nm, 0)


_PIECES = st.lists(
    st.builds(
        Piece,
        length_nm=st.one_of(st.integers(1, 20 * 12 * 8).map(lambda n: n * INCH // 8), st.sampled_from(STOCKS)),
        quantity=st.integers(0, 9),
        what=st.sampled_from(["joist", "rim", "blocking"]),
        whole=st.just(False),
    ),
    max_size=12,
)


@settings(max_examples=150, deadline=None)
@given(_PIECES, st.sampled_from([0, INCH // 8, 3 * MM]), st.sampled_from([0, INCH // 4, INCH]))
def test_every_plan_is_sound(pieces: list[Piece], kerf: int, trim: int) -> None:
    plan = pack(pieces, STOCKS, kerf, trim)
    sound(plan, pieces)
    assert plan == pack(list(reversed(pieces)), STOCKS[::-1], kerf, trim)
    assert plan.waste_nm >= 0
    assert sum(plan.bought.values()) == len(plan.sticks)


@settings(max_examples=60, deadline=None)
@given(_PIECES)
def test_no_stick_could_be_shorter(pieces: list[Piece]) -> None:
    for stick in pack(pieces, STOCKS).sticks:
        used = TRIM + sum(stick.cuts_nm) + KERF * (len(stick.cuts) - 1)
        shorter = [stock for stock in STOCKS if stock < stick.stock_nm]
        assert stick.whole or not shorter or used > shorter[-1]


def test_worked_by_hand() -> None:
    # Seven 33 in pieces, kerf 1/8, trim 1/4: seven take 231 + 6/8 + 1/4 = 232 in of a 240 in stick, 7-7/8 in left after
    # the last cut; ten 16 ft sticks' worth would be more.
    plan = pack([Piece(33 * INCH, 7, "post")], STOCKS)
    assert plan.bought == {20 * FOOT: 1}
    assert plan.sticks[0].left_nm * 8 == 63 * INCH
    # Three 4 ft pieces and their two kerfs do not fit 12 ft: 14 ft.
    assert pack([Piece(4 * FOOT, 3, "x")], STOCKS).bought == {14 * FOOT: 1}


def test_whole_boards_are_never_cut() -> None:
    plan = pack([Piece(9 * FOOT, 3, "joist", whole=True), Piece(12 * FOOT, 1, "rim")], STOCKS)
    assert plan.bought == {12 * FOOT: 1, 9 * FOOT: 3}
    assert all(stick.whole and stick.left_nm == 0 for stick in plan.sticks)


def test_a_piece_that_leaves_no_room_for_trim_keeps_the_mill_end() -> None:
    plan = pack([Piece(20 * FOOT - INCH // 8, 1, "rim")], STOCKS)
    assert plan.bought == {20 * FOOT: 1} and plan.sticks[0].left_nm == 0


@pytest.mark.parametrize(
    ("pieces", "stocks", "message"),
    [
        ([Piece(21 * FOOT, 1, "x")], STOCKS, "a piece of 21' is longer than the longest stock, 20'"),
        ([Piece(0, 1, "x")], STOCKS, 'a piece of 0" cannot be cut'),
        ([Piece(FOOT, 1, "x")], (), "stock lengths must be more than nothing, kerf and trim not less"),
        ([Piece(FOOT, 60_000, "x")], STOCKS, "more than 50,000 pieces"),
    ],
)
def test_what_cannot_be_cut_is_refused(pieces: list[Piece], stocks: tuple[int, ...], message: str) -> None:
    with pytest.raises(InputError) as caught:
        pack(pieces, stocks)
    assert caught.value.message == message and caught.value.hint


def test_the_material_list_of_whole_boards() -> None:
    # Common practice, counted by hand: 9 joists, 2 rims and 27 boards with 2 spare, none of them cut.
    lines = {line.item: line for line in material_list(job(UNCUT))}
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
    upper = replace(UNCUT, name="upper", support=Support.PLATFORM, joists=replace(UNCUT.joists, use_category="UC3B"))
    lines = material_list(job(replace(UNCUT, name="lower"), upper))
    keys = [line.item for line in lines]
    assert len(keys) == len(set(keys))
    by_item = {line.item: line for line in lines}
    assert by_item["2x8x12"].quantity == 18
    assert (by_item["2x8x12"].platform, by_item["2x8x12"].use_category) == ("lower, upper", "UC4A")
    assert by_item["nails 16d"].quantity == 2
    assert by_item["nails 16d"].working[0].startswith("lower: ")


def test_the_list_and_the_cut_lists_agree_and_nothing_is_lost() -> None:
    deck = raised(
        31 * FOOT, 13 * FOOT, 11 * FOOT, 5,
        stairs=(Stairs(3 * FOOT, 66 * INCH),), guard=Guard(36 * INCH, 40 * FOOT),
    )  # fmt: skip
    spec = job(deck, platform(15 * FOOT, 11 * FOOT, name="low"), finish=Finish.OIL)
    pieces: dict[str, Counter[int]] = {}
    for line in take_off(spec):
        for piece in line.pieces:
            pieces.setdefault(line.item, Counter())[piece.length_nm] += piece.quantity
    lists = cut_lists(spec)
    assert set(lists) == set(pieces)
    for size, plan in lists.items():
        assert Counter(nm for stick in plan.sticks for nm in stick.cuts_nm) == pieces[size]
    boards = [line for line in material_list(spec) if line.unit == "board"]
    assert sum(line.quantity for line in boards) == sum(len(plan.sticks) for plan in lists.values())
    assert sum(piece.quantity for line in boards for piece in line.pieces) == sum(c.total() for c in pieces.values())


def test_a_metric_list_uses_metric_stock() -> None:
    deck = platform(4200 * MM, 3690 * MM)
    metric = replace(deck, joists=replace(deck.joists, size="45x195", thickness_nm=45 * MM, depth_nm=195 * MM))
    items = {line.item: line.quantity for line in material_list(job(metric, unit=Unit.MM, site=SITE))}
    # Joists 3690 - 2 x 45 = 3600 mm and rims of 4200 mm are stock lengths: bought whole.
    assert items["45x195x3600"] == 12 and items["45x195x4200"] == 2
