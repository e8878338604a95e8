"""The deck board checks: the gap decided, the run brought home, the screws."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trade.geometry_cases import DECKING, GROUND, case_of, inch, judged, with_decking
from tracker.errors import InputError
from tracker.trade.answer import Verdict
from tracker.trade.checks.base import Case, LotLine
from tracker.trade.checks.boards import BOARD_LAYOUT, GAP, SCREWS
from tracker.trade.checks.gap import spacer_between
from tracker.trade.lengths import INCH, MM, SIXTEENTH, Unit, exact_text
from tracker.trade.movement import change_nm
from tracker.trade.spec import BoardKind, GapIntent, Platform

SPACED = with_decking(gap_intent=GapIntent.SPACED)
COMPOSITE = with_decking(kind=BoardKind.COMPOSITE, species="", gap_intent=GapIntent.SPACED)


def at(*moistures: float) -> list[str]:
    return [f"b{n}={moisture}" for n, moisture in enumerate(moistures, 1)]


def test_wet_boards_laid_touching_pass() -> None:
    # Southern pine, 5-1/2 in, 30 to 12 %: about 1/4 in, the most the limit allows (Eq. 13-3).
    answer = judged(GAP, at(45, 38, 41, 52, 36))
    assert answer.verdict is Verdict.PASSED
    assert "touching" in answer.headline
    assert answer.answer["gap_now_in"] == 0.0
    assert answer.answer["gap_most_in"] == pytest.approx(0.249, abs=0.001)


def test_dry_boards_laid_touching_fail_and_are_told_the_spacer() -> None:
    answer = judged(GAP, at(14, 15, 15, 16, 15))
    assert answer.verdict is Verdict.FAILED
    assert answer.moves[0] == "leave 1/8 in between boards"


def test_spaced_job_works_the_spacer_out() -> None:
    answer = judged(GAP, at(19, 18, 19, 18, 19), case_of(SPACED))
    assert answer.verdict is Verdict.PASSED
    assert answer.answer["gap_now_in"] == 0.0625
    least = answer.answer["gap_least_in"]
    assert isinstance(least, float)
    # Loblolly at 19 to 12 % shrinks 0.098 in (Eq. 13-3); the southern pine mean is near it.
    assert least == pytest.approx(0.0625 + 0.086, abs=0.003)


@pytest.mark.parametrize(
    ("chosen", "verdict"), [('1/8"', Verdict.PASSED), ('1/4"', Verdict.FAILED), ("0", Verdict.FAILED)]
)
def test_chosen_spacer_is_judged_by_the_gap_it_leaves(chosen: str, verdict: Verdict) -> None:
    # At 19 % the boards still shrink about 0.1 in: 1/4 in opens to 3/8 in, touching opens to less than 1/8 in.
    answer = judged(GAP, [*at(19, 19, 19), f"chosen={chosen}"])
    assert answer.verdict is verdict


@pytest.mark.parametrize(
    ("chosen", "good"), [('1/16"', False), ('1/8"', True), ('3/16"', True), ('1/4"', True), ('5/16"', False)]
)
def test_a_gap_is_an_eighth_to_a_quarter_in_service_and_a_sixteenth_either_side_is_not(chosen: str, good: bool) -> None:
    # Boards as moist as they will be in service keep the gap they are laid with. An eighth for drainage is common practice; a town's
    # published deck notes allow a quarter between boards.
    answer = judged(GAP, [*at(12, 12, 12), f"chosen={chosen}"], case_of(SPACED))
    assert answer.verdict is (Verdict.PASSED if good else Verdict.FAILED), answer.headline


@pytest.mark.parametrize(
    ("chosen", "good"), [('1/16"', False), ('1/8"', True), ('3/16"', True), ('1/4"', True), ('5/16"', False)]
)
def test_a_composite_gap_is_the_makers_within_a_sixteenth(chosen: str, good: bool) -> None:
    # A sixteenth either way of the 3/16 in the maker gives (common practice), and no more.
    answer = judged(GAP, ['maker=3/16"', f"chosen={chosen}"], case_of(COMPOSITE))
    assert answer.verdict is (Verdict.PASSED if good else Verdict.FAILED), answer.headline


def test_boards_that_swell_shut_are_named() -> None:
    answer = judged(GAP, [*at(7, 7, 7), "chosen=0"])
    assert answer.verdict is Verdict.FAILED
    assert "swell against each other" in answer.headline


def test_wet_beside_dry_has_no_one_gap() -> None:
    answer = judged(GAP, at(40, 38, 15, 14, 41), case_of(SPACED))
    assert answer.verdict is Verdict.FAILED
    assert answer.answer["gap_now_in"] is None
    assert "sort the boards" in answer.moves[0]


def test_too_wet_a_lively_wood_must_dry() -> None:
    answer = judged(GAP, [*at(40, 40, 40), "species=western larch"])
    assert answer.verdict is Verdict.FAILED
    assert "b1, b2 and b3 dry to" in answer.moves[0]


@given(st.lists(st.integers(80, 400), min_size=3, max_size=5))
def test_the_spacer_given_keeps_every_board_inside_the_limits(moistures: list[int]) -> None:
    answer = judged(GAP, at(*(tenths / 10 for tenths in moistures)), case_of(SPACED))
    spacer = answer.answer["gap_now_in"]
    assert (answer.verdict is Verdict.PASSED) == (spacer is not None)
    if isinstance(spacer, float):
        for tenths in moistures:
            gap = spacer - change_nm(inch(5.5), "southern pine", tenths, 120) / INCH
            # Judged to 1/64 in, so half of that either way.
            assert 0.125 - 1 / 128 <= gap <= 0.25 + 1 / 128


def test_measured_width_counts_and_a_slip_of_unit_is_caught() -> None:
    wide = judged(GAP, [*at(45, 45, 45), 'width=5-5/8"']).answer["change_in"]
    dressed = judged(GAP, at(45, 45, 45)).answer["change_in"]
    assert isinstance(wide, float)
    assert isinstance(dressed, float)
    assert wide / dressed == pytest.approx(5.625 / 5.5, rel=1e-4)
    with pytest.raises(InputError, match="millimetres"):
        judged(GAP, [*at(45, 45, 45), "width=140"])


@pytest.mark.parametrize("moisture", ["0", "2.9"])
def test_a_meter_that_shows_less_than_any_wood_outdoors_holds_is_refused(moisture: str) -> None:
    with pytest.raises(InputError, match="no wood outdoors is that dry"):
        judged(GAP, ["28", moisture, "30"])
    # Wood Handbook (FPL-GTR-282) Table 13-1: the driest month listed for Phoenix, Arizona is 4.4 %.
    assert judged(GAP, ["28", "4.4", "30"]).verdict is not None


def test_gap_wants_three_boards() -> None:
    answer = judged(GAP, at(45, 41))
    assert answer.verdict is Verdict.INCOMPLETE
    assert "at least 3 boards" in answer.headline


def test_composite_takes_its_makers_gap_and_no_meter() -> None:
    case = case_of(COMPOSITE)
    assert not GAP.form(case).columns
    assert judged(GAP, ['maker=3/16"'], case).verdict is Verdict.PASSED
    off = judged(GAP, ['maker=3/16"', 'chosen=1/4"'], case)
    far = judged(GAP, ['maker=3/16"', 'chosen=3/8"'], case)
    assert off.verdict is Verdict.PASSED
    assert far.verdict is Verdict.FAILED
    assert far.moves == ("set the boards with a 3/16 in spacer",)


@given(st.integers(0, inch(0.5)), st.integers(0, inch(0.5)), st.integers(0, inch(0.5)))
def test_spacer_lies_between_its_bounds_on_the_grid(one: int, other: int, ideal: int) -> None:
    low, high = sorted((one, other))
    for unit, step in ((Unit.INCH, SIXTEENTH), (Unit.MM, MM)):
        spacer = spacer_between(low, high, ideal, unit)
        if spacer is None:
            assert high // step * step < low
        else:
            assert low <= spacer <= high
            assert spacer % step == 0


def test_run_parallel_and_flush_passes() -> None:
    # 27 tight boards of 5-1/2 in cover 148-1/2 in; 23 laid leave 22 in = 4 whole boards of a 148-1/2 in run.
    answer = judged(BOARD_LAYOUT, ["23", 'left=22"', 'middle=22"', 'right=22"'])
    assert answer.verdict is Verdict.PASSED
    assert answer.answer["boards_to_go"] == 4
    assert answer.answer["boards_planned"] == 27
    assert answer.answer["taper_in"] == 0.0


def test_taper_over_the_limit_fails_with_the_push_per_gap() -> None:
    # 3/8 in over 12 boards to go: 1/32 in on each gap, a sixteenth at most (house gap tolerance). Common practice.
    answer = judged(BOARD_LAYOUT, ["15", 'left=66-3/8"', 'middle=66-3/16"', 'right=66"'])
    assert answer.verdict is Verdict.FAILED
    assert answer.answer["taper_in"] == pytest.approx(0.375)
    assert any("at left open each of the 12 gaps left by 1/32 in" in move for move in answer.moves)


@pytest.mark.parametrize(("right", "verdict"), [('22-1/4"', Verdict.PASSED), ('22-17/64"', Verdict.FAILED)])
def test_taper_limit_is_a_quarter_inch(right: str, verdict: Verdict) -> None:
    answer = judged(BOARD_LAYOUT, ["23", 'left=22"', f"right={right}"])
    assert answer.verdict is verdict


def test_a_sliver_at_the_end_fails_with_two_boards_shared() -> None:
    # 17-1/2 in open: three boards and a 1 in strip; shared by the last two, about 3-1/4 in each.
    answer = judged(BOARD_LAYOUT, ["23", 'left=17-1/2"', 'right=17-1/2"', "gap=0"])
    assert answer.verdict is Verdict.FAILED
    last = answer.answer["last_width_in"]
    assert isinstance(last, float)
    assert last < 2.75
    assert any("rip the last two boards alike" in move for move in answer.moves)


def test_a_finished_run_passes_and_one_point_is_not_enough() -> None:
    assert judged(BOARD_LAYOUT, ["27", "left=0", "right=0"]).verdict is Verdict.PASSED
    answer = judged(BOARD_LAYOUT, ["23", 'left=22"'])
    assert answer.verdict is Verdict.INCOMPLETE
    with pytest.raises(InputError, match="boards laid"):
        judged(BOARD_LAYOUT, ["90", 'left=22"', 'right=22"'])


@given(st.integers(1, 25), st.integers(0, 12), st.integers(-1, 1))
def test_moves_always_say_how_to_finish(laid: int, more: int, shift: int) -> None:
    # The run is 147 in; the frame as built may be 1/2 in off the plan.
    base = inch(147) - laid * inch(5.5) + (shift - more // 2) * SIXTEENTH
    left, right = (exact_text(nm, Unit.INCH) for nm in (base + more * SIXTEENTH, base))
    answer = judged(BOARD_LAYOUT, [str(laid), f"left={left}", f"right={right}"])
    assert answer.moves
    go = answer.answer["boards_to_go"]
    assert isinstance(go, int)
    assert 27 - laid - 1 <= go <= 27 - laid + 1


# 147 in deck of 5-1/2 in boards laid touching. What may be off: 1 % of the width of each board laid, 1/16 in for each gap
# between them, 1/2 in as built. For 20 boards 1.1 + 19/16 + 0.5 = 2.7875 in; they cover 110 in and leave 37 in.
# On the sixteenth inside: 39-3/4 (2.75 over) and 34-1/4 (2.75 under). A sixteenth on: 39-13/16, 34-3/16 (2.8125).
@pytest.mark.parametrize("still", ["37", "39-3/4", "34-1/4"])
def test_boards_laid_and_what_is_open_make_the_run(still: str) -> None:
    answer = judged(BOARD_LAYOUT, ["20", f'left={still}"', f'right={still}"'])
    assert answer.verdict is not None
    assert any("of a run of 12' 3" in line for line in answer.working)


@pytest.mark.parametrize(
    ("laid", "still", "why"),
    [
        ("20", "96", "= 9' 2\", and 8' open at left make 17' 2\": that cannot be right, the run is 12' 3"),
        ("20", "39-13/16", "cannot be right"),
        ("20", "34-3/16", "cannot be right"),
        ("21", "37", "cannot be right"),  # a board counted twice
        ("19", "37", "cannot be right"),  # and one forgotten
        ("26", "0", "cannot be right"),  # 26 boards are 143 in of 147
        ("29", "0", "where the deck takes about 27"),
    ],
)
def test_a_count_or_a_run_that_does_not_add_up_is_refused(laid: str, still: str, why: str) -> None:
    with pytest.raises(InputError) as caught:
        judged(BOARD_LAYOUT, [laid, f'left={still}"', f'right={still}"'])
    assert why in caught.value.message


def test_boards_measured_wider_explain_a_shorter_run() -> None:
    # Green stock 5-5/8 in wide (from memory: PS 20): 25 boards 140-5/8 in, not 137-1/2.
    words = ["25", 'left=6-3/8"', 'right=6-3/8"']
    with pytest.raises(InputError, match="cannot be right"):
        judged(BOARD_LAYOUT, [*words[:1], 'left=6"', 'right=6"'])
    assert judged(BOARD_LAYOUT, [*words, 'width=5-5/8"']).answer["boards_to_go"] == 2


def with_boards(item: str, *, used: int, on_hand: int) -> Case:
    lot = LotLine("D1", item, used + on_hand, used + on_hand, on_hand, used=used)
    return replace(case_of(), lots=(lot,))


# Rows of 10 ft: 17 boards of 10 ft make 17 rows, 9 of 20 ft make 18.
@pytest.mark.parametrize(
    ("laid", "still", "where"),
    [
        ("17", "53-1/2", with_boards("5/4x6x10", used=10, on_hand=7)),
        ("18", "48", with_boards("5/4x6x20", used=0, on_hand=9)),
        ("27", "0", case_of()),  # a job that keeps no lots of its boards
        ("27", "0", with_boards("2x8x12", used=0, on_hand=9)),
    ],
)
def test_boards_laid_are_among_those_that_came(laid: str, still: str, where: Case) -> None:
    assert judged(BOARD_LAYOUT, [laid, f'left={still}"', f'right={still}"'], where).verdict is not None


@pytest.mark.parametrize(
    ("laid", "still", "where"),
    [
        ("18", "48", with_boards("5/4x6x10", used=10, on_hand=7)),
        ("27", "0", with_boards("5/4x6x10", used=0, on_hand=17)),
        ("19", "42-1/2", with_boards("5/4x6x20", used=0, on_hand=9)),
    ],
)
def test_more_boards_laid_than_came_is_refused(laid: str, still: str, where: Case) -> None:
    with pytest.raises(InputError, match=f"{laid} boards laid cannot be right: .* have come by the lots"):
        judged(BOARD_LAYOUT, [laid, f'left={still}"', f'right={still}"'], where)
    with pytest.raises(InputError, match=f"{laid} boards laid cannot be right"):
        judged(SCREWS, ["predrilled=yes", f"laid={laid}", *GOOD], where)


def test_more_boxes_of_screws_left_than_came_is_refused() -> None:
    where = replace(case_of(), lots=(LotLine("S1", "screws 2-1/2", 2, 2, 1, used=1),))
    assert judged(SCREWS, ["predrilled=yes", "boxes=2", *GOOD], where).verdict is Verdict.PASSED
    with pytest.raises(InputError, match="3 boxes of screws left cannot be right: 2 came by the lots"):
        judged(SCREWS, ["predrilled=yes", "boxes=3", *GOOD], where)


METRIC = case_of(
    replace(
        GROUND, width_nm=4760 * MM, depth_nm=3600 * MM,
        decking=replace(DECKING, board="28x120", width_nm=120 * MM, thickness_nm=28 * MM, gap_nm=5 * MM,
                        gap_intent=GapIntent.SPACED),
    ),
    Unit.MM,
)  # fmt: skip


def test_ten_centimetres_off_the_plan_cannot_be_right_in_millimetres() -> None:
    # 20 x 120 + 19 x 5 = 2495 mm; 1105 mm are left of 3600 mm.
    assert judged(BOARD_LAYOUT, ["20", "left=1105", "right=1105"], METRIC).verdict is not None
    for still in ("1205", "1005"):
        with pytest.raises(InputError, match="cannot be right, the run is 3600 mm"):
            judged(BOARD_LAYOUT, ["20", f"left={still}", f"right={still}"], METRIC)


def crossings(*pairs: tuple[int, str]) -> list[str]:
    return [word for n, (c, e) in enumerate(pairs, 1) for word in (f"c{n}.count={c}", f"c{n}.edge={e}")]


GOOD = crossings((2, '1"'), (2, '7/8"'), (2, '1"'))


def test_screws_in_pairs_an_inch_from_the_edge_pass() -> None:
    # Two at each crossing; 3/4 to 1 in from the edge, ends pre-drilled: common practice.
    answer = judged(SCREWS, ["predrilled=yes", *GOOD])
    assert answer.verdict is Verdict.PASSED
    # 27 boards over 9 joists, 2 each: 486; 5 % spare in boxes of 350 is 2 boxes (house figures).
    assert answer.answer["total_screws"] == 27 * 9 * 2
    assert answer.answer["boxes_to_go"] == 2
    # 2-1/2 in for 5/4 boards: common practice.
    assert answer.answer["screw_length_in"] == 2.5


@pytest.mark.parametrize(
    ("bad", "fault", "move"),
    [
        ((1, '1"'), "1 screw missing at c3", "drive 1 more screw at c3"),
        ((2, '5/8"'), "too near the edge at c3", "pre-drill and drive again 3/4 in"),
        ((2, '1-3/8"'), "too far from the edge at c3", "within 1-1/4 in"),
    ],
)
def test_a_bad_crossing_is_named(bad: tuple[int, str], fault: str, move: str) -> None:
    answer = judged(SCREWS, ["predrilled=yes", *crossings((2, '1"'), (2, '1"'), bad)])
    assert answer.verdict is Verdict.FAILED
    assert fault in answer.headline
    assert any(move in line for line in answer.moves)


@pytest.mark.parametrize(
    ("edge", "verdict"), [('3/4"', Verdict.PASSED), ('47/64"', Verdict.FAILED), ('1-1/4"', Verdict.PASSED)]
)
def test_edge_limits_are_inclusive(edge: str, verdict: Verdict) -> None:
    answer = judged(SCREWS, ["predrilled=yes", *crossings((2, edge), (2, '1"'), (2, '1"'))])
    assert answer.verdict is verdict


def test_ends_not_predrilled_fail_in_wood() -> None:
    answer = judged(SCREWS, ["predrilled=no", *GOOD])
    assert answer.verdict is Verdict.FAILED
    assert any("pre-drill every end" in move for move in answer.moves)


def test_composite_needs_no_word_on_predrilling() -> None:
    assert judged(SCREWS, GOOD, case_of(COMPOSITE)).verdict is Verdict.PASSED


def test_boxes_left_are_set_against_the_rows_to_go() -> None:
    # 20 of 27 rows down: 7 x 9 x 2 = 126 to go, one box; none at hand: buy one.
    answer = judged(SCREWS, ["predrilled=yes", "boxes=0", "laid=20", *GOOD])
    assert answer.answer["screws_to_go"] == 126
    assert answer.answer["boxes_to_buy"] == 1
    assert any("buy 1 box" in move for move in answer.moves)
    assert judged(SCREWS, ["predrilled=yes", "boxes=1", "laid=20", *GOOD]).answer["boxes_to_buy"] == 0


def test_screws_want_three_crossings_and_a_house_rule_counts() -> None:
    assert judged(SCREWS, ["predrilled=yes", *GOOD[:4]]).verdict is Verdict.INCOMPLETE
    three = case_of(rules={"screws_per_crossing": 3})
    answer = judged(SCREWS, ["predrilled=yes", *GOOD], three)
    assert answer.verdict is Verdict.FAILED
    assert "3 screws missing" in answer.headline
    assert answer.limits[0].source == "house rule"


def test_all_three_apply_to_every_platform() -> None:
    platform: Platform = GROUND
    job = case_of().job
    assert all(check.applies(job, platform) and check.per_platform for check in (GAP, BOARD_LAYOUT, SCREWS))
    assert DECKING.kind is BoardKind.WOOD
