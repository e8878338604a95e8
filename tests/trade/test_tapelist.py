"""The running tape list. Figures are worked by hand beside each test; the method is common practice."""

from __future__ import annotations

from hypothesis import given, settings

from tests.often import examples
from tests.trade.outline_cases import BOTH, CLIPPED, JOISTS, L_SHAPE, decking, marks, outline, outlines
from tracker.trade.joistlines import OutlineFrame, RimKind, Why, plan_outline
from tracker.trade.lengths import FOOT, INCH, Unit
from tracker.trade.outline import Outline
from tracker.trade.polygon import root2
from tracker.trade.tapelist import cutting_order, tape_lines, tape_list


def frame(shape: Outline, longest_ft: int = 20) -> OutlineFrame:
    return plan_outline(shape, JOISTS, decking(), marks(shape), (), longest_ft * FOOT).frame


def test_both_rims_of_a_rectangle_carry_the_same_near_edges() -> None:
    back, front = tape_list(frame(outline(10, 12.25)))
    # Centres 3/4, 16, 32 ... 119-1/4 in, less half of 1-1/2 in.
    assert [mark.at_nm / INCH for mark in back.marks] == [0, 15.25, 31.25, 47.25, 63.25, 79.25, 95.25, 111.25, 118.5]
    assert back.marks == front.marks
    assert (back.title, front.title) == ("back rim", "front rim")


def test_an_l_shape_by_hand() -> None:
    tapes = {tape.title: tape for tape in tape_list(frame(L_SHAPE))}
    assert set(tapes) == {"back rim", "front rim", "rim inside the cut-out, front right"}
    # The cut-out's rim hooks at 168 in: layout joists at 176, 192 and 208 in less 3/4 in, the end at 214-1/2 in.
    inner = tapes["rim inside the cut-out, front right"]
    assert [mark.at_nm / INCH for mark in inner.marks] == [7.25, 23.25, 39.25, 46.5]
    # The pair beside the cut-out reaches the front rim's end.
    last = tapes["front rim"].marks[-1]
    assert (last.at_nm / INCH, last.plies, last.why) == (165, 2, Why.CUT_OUT)
    assert len(tapes["back rim"].marks) == 16


def test_an_angled_rim_is_measured_along_itself() -> None:
    tape = next(tape for tape in tape_list(frame(CLIPPED)) if tape.rim.kind is RimKind.ANGLED)
    # Near edges at 15-1/4 and 31-1/4 in across, times 1.41421 along the rim: 21.57 and 44.19 in.
    assert [mark.at_nm for mark in tape.marks] == [0, root2(61 * INCH // 4), root2(125 * INCH // 4)]


def test_the_list_reads_as_a_crew_lead_calls_it_out() -> None:
    tape = tape_list(frame(outline(30, 10), 16))[0]
    lines = tape_lines(tape, Unit.INCH)
    told = "hook the tape at the left end, pencil each line, X on the right of it; joists numbered as on the plan"
    assert lines[0] == f"back rim, 30': {told}"
    assert lines[1:3] == ("1. 0 in X (edge joist)", "2. 15-1/4 in X")
    # Board joints at 176 and 192 in, in the middle of two joists: near edges at 174-1/2 and 190-1/2 in.
    assert lines[12] == "12. 174-1/2 in X X (doubled, board joints)"
    assert lines[13] == "13. 190-1/2 in X X (doubled, board joints)"
    assert tape_lines(tape, Unit.MM)[2] == "2. 387 mm X"


def test_the_cutting_order_counts_every_piece() -> None:
    shape = frame(BOTH)
    order = cutting_order(shape, Unit.INCH)
    assert (
        order[0]
        == """angled rim, back left: 4' 2-15/16", cut 22.5 degrees off square at both ends, between long points"""
    )
    assert order[1] == "back rim: 15', cut 22.5 degrees off square at one end, between long points"
    joists = [int(line.split()[0]) for line in order if " joist" in line]
    assert sum(joists) == len(shape.joists)


@settings(max_examples=examples(50, 1000), deadline=None)
@given(outlines())
def test_every_joist_end_is_marked_once_on_some_rim(shape: Outline) -> None:
    made = frame(shape, 14)
    tapes = tape_list(made)
    for back in (True, False):
        side = [tape for tape in tapes if tape.rim.edge.at_back is back]
        assert sum(mark.plies for tape in side for mark in tape.marks) == len(made.joists)
    for tape in tapes:
        places = [mark.at_nm for mark in tape.marks]
        assert places == sorted(places)
        assert all(0 <= place <= tape.rim.length_nm for place in places)
