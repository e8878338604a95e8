"""The picture of a stick: to scale, whole, labelled as far as there is room, whatever is cut."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tracker.planning.cutplan import Cut, Stick, Stock
from tracker.reports.cutpages import picture, ways
from tracker.trade.lengths import FOOT, INCH, Unit

KERF, TRIM, ROOM = INCH // 8, INCH // 4, 74


def stick(stock_nm: int, *cuts_nm: int, what: str = "joist") -> Stick:
    used = TRIM + sum(cuts_nm) + KERF * (len(cuts_nm) - 1)
    cuts = tuple(Cut(nm, what) for nm in cuts_nm)
    return Stick(Stock(stock_nm, 10_000, name="x"), cuts, max(stock_nm - used - KERF, 0))


def draw(one: Stick, longest_nm: int = 16 * FOOT) -> str:
    return picture(one, longest_nm, KERF, TRIM, ROOM, Unit.INCH)


def test_worked_by_hand() -> None:
    # 192 in on 74 cells: 12 ft ends at 144-1/4 in = cell 55.6, the 3 ft after it at 180-3/8 in = cell 69.5; 11-1/2 in fall off.
    drawn = draw(stick(16 * FOOT, 12 * FOOT, 3 * FOOT))
    assert drawn == "[ 12' joist" + " " * 45 + "| 3' joist    |....]"
    assert (len(drawn), drawn.index("|") - 1, drawn.rindex("|") - 1) == (76, 55, 69)


def test_a_shorter_board_is_drawn_shorter_and_a_whole_one_uncut() -> None:
    whole = Stick(Stock(8 * FOOT, 10_000), (Cut(8 * FOOT, "rim"),), 0)
    drawn = draw(whole)
    assert drawn == "[ 8' rim" + " " * 30 + "]" and len(drawn) - 2 == ROOM // 2


def test_pieces_too_small_for_their_name_keep_their_place() -> None:
    drawn = draw(stick(16 * FOOT, *[14 * INCH] * 13, what="blocking between the joists"))
    assert drawn.count("|") == 13 and "blocking" not in drawn
    assert len(drawn) == 76


def test_a_name_that_takes_two_cells_a_character_breaks_no_picture() -> None:
    assert draw(stick(16 * FOOT, 12 * FOOT, what="木材")).startswith("[ 12'   ")


@given(st.lists(st.integers(1, 96 * 8), min_size=1, max_size=12), st.sampled_from([8, 10, 12, 14, 16, 20]))
def test_every_cut_is_drawn_where_it_is(eighths: list[int], feet: int) -> None:
    stock = feet * FOOT
    cuts: list[int] = []
    for nm in sorted((n * INCH // 8 for n in eighths), reverse=True):
        if TRIM + sum(cuts) + nm + KERF * len(cuts) <= stock:
            cuts.append(nm)
    if not cuts:
        return
    one = stick(stock, *cuts)
    drawn = draw(one, 20 * FOOT)
    inner = drawn[1:-1]
    assert drawn[0] == "[" and drawn[-1] == "]"
    assert abs(len(inner) - ROOM * feet / 20) <= 0.5
    marks = [at + 1 for at, char in enumerate(inner) if char == "|"]
    ends, at = [], TRIM
    for nm in cuts:
        ends.append((at + nm) * len(inner) / stock)
        at += nm + KERF
    assert all(any(abs(mark - end) <= 1 for end in ends) for mark in marks)
    if one.left_nm > stock // 20:
        assert abs(inner.count(".") - one.left_nm * len(inner) / stock) <= 1.5


def test_equal_sticks_are_one_way_in_the_order_of_the_plan() -> None:
    a, b = stick(16 * FOOT, 12 * FOOT), stick(12 * FOOT, 9 * FOOT)
    found = ways((a, a, b, a), ("x", "x", "y", "z"))
    assert [(way.number, way.stick, way.use) for way in found] == [(2, a, "x"), (1, b, "y"), (1, a, "z")]
