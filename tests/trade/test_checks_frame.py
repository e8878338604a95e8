"""The checks of boards, joists, joints and blocks of an invented job. Other limits: common practice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise, permutations
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.trade.geometry_cases import DAY, GROUND, JOISTS, case_of, inch, judged, with_decking
from tests.trade.phase_jobs import RAISED, job_of
from tracker.errors import InputError, InputErrors
from tracker.trade.answer import Verdict
from tracker.trade.checks.base import Case, Check, LotLine
from tracker.trade.checks.frame import (
    CROWN,
    FASTENERS,
    JOIST_SPACING,
    STOCK_LENGTHS,
    SUPPORT,
    allowed_spacing_nm,
)
from tracker.trade.checks.stock import crown_order
from tracker.trade.design import looks_wrong
from tracker.trade.fasteners import nails_per_joint
from tracker.trade.framing import plan_frame
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.lengths import INCH
from tracker.trade.spec import BoardKind, Support

SAMPLES = Path(__file__).parents[2] / "sample_jobs"
NINE = "144 144-1/16 144 144-1/8 144 144-1/16 144 144 144-1/8"
GOOD_MARKS = "3/4 16 32 48 64 80 96 112 119-1/4"


def test_boards_that_match_go_in_uncut() -> None:
    answer = judged(STOCK_LENGTHS, f"R1=120 R2=120-1/16 {NINE}")
    assert answer.verdict is Verdict.PASSED
    assert answer.answer["no_saw"] is True
    assert (answer.answer["uncut_count"], answer.answer["needed"]) == (11, 11)
    assert (answer.answer["rim_spread_in"], answer.answer["joist_spread_in"]) == (0.0625, 0.125)


def test_a_long_board_is_trimmed_or_swapped_and_a_spare_saves_the_saw() -> None:
    long = NINE.replace("144-1/8", "144-1/2", 1)
    answer = judged(STOCK_LENGTHS, f"R1=120 R2=120 {long}")
    assert answer.verdict is Verdict.FAILED
    assert answer.moves == ("trim J4 to 12' or swap for boards that match",)
    assert judged(STOCK_LENGTHS, f"R1=120 R2=120 {long} J10=144").verdict is Verdict.PASSED


def test_short_and_very_long_boards_are_set_aside() -> None:
    answer = judged(STOCK_LENGTHS, f"R1=118 R2=120 {NINE}")
    assert "set R1 aside: 2 in short of 10'" in answer.moves
    assert "get 1 rim more of 10' stock" in answer.moves


def test_every_uncut_board_is_measured() -> None:
    answer = judged(STOCK_LENGTHS, "R1=120 R2=120 J1=144 J2=144")
    assert answer.verdict is Verdict.INCOMPLETE
    assert "7 joists" in answer.headline


@pytest.mark.parametrize(
    ("typed", "why"), [("R1=3048", "millimetres"), ("J1=0", "more than nothing"), ("J1=60", "too far")]
)
def test_lengths_no_stock_has_are_refused(typed: str, why: str) -> None:
    with pytest.raises(InputError, match=why):
        judged(STOCK_LENGTHS, typed)


def test_stock_lengths_matter_where_nothing_is_cut() -> None:
    assert STOCK_LENGTHS.applies(case_of().job, GROUND)
    assert not STOCK_LENGTHS.applies(case_of().job, replace(GROUND, uncut=False))


def test_crowns_all_up_and_alike_pass() -> None:
    answer = judged(CROWN, "0 1/16 1/8 1/8 1/8 1/8 1/8 1/16 0")
    assert answer.verdict is Verdict.PASSED
    assert (answer.answer["sighted"], answer.answer["up"]) == (9, 9)


def test_a_joist_crown_down_is_turned_over() -> None:
    answer = judged(CROWN, "0 1/16 -1/8 1/8 1/8 1/8 1/8 1/16 0")
    assert answer.verdict is Verdict.FAILED
    assert answer.moves == ("turn 3 over: crown up",)


def test_a_joist_over_the_limit_becomes_blocking() -> None:
    answer = judged(CROWN, "0 1/16 1/8 1/8 3/8 1/8 1/8 1/16 0")
    assert answer.verdict is Verdict.FAILED
    assert answer.answer["cull"] == ["5"]
    assert answer.moves[:2] == ("cull 5 or cut for blocking: crown over 1/4 in", "find 1 straighter joist")


def test_unlike_neighbours_are_laid_in_a_better_order() -> None:
    answer = judged(CROWN, "1/4 0 1/4 1/16 1/8 0 3/16 1/8 3/16")
    assert answer.verdict is Verdict.FAILED
    order = answer.answer["order"]
    assert isinstance(order, list)
    assert {order[0], order[-1]} == {"2", "6"}  # the two straightest
    crowns = dict(zip("123456789", (4, 0, 4, 1, 2, 0, 3, 2, 3), strict=True))
    assert all(abs(crowns[str(a)] - crowns[str(b)]) <= 2 for a, b in pairwise(order))


@given(st.lists(st.integers(0, 8), min_size=3, max_size=6))
def test_no_order_with_the_straightest_outside_has_smaller_steps(amounts: list[int]) -> None:
    crowns = {str(k): nm for k, nm in enumerate(amounts)}

    def worst(names: tuple[str, ...]) -> int:
        return max(abs(crowns[a] - crowns[b]) for a, b in pairwise(names))

    order = crown_order(crowns)
    assert sorted(order) == sorted(crowns)
    outside = sorted(amounts)[:2]
    rivals = (p for p in permutations(crowns) if sorted((crowns[p[0]], crowns[p[-1]])) == outside)
    assert worst(order) == min(map(worst, rivals))


def test_every_joist_is_sighted() -> None:
    answer = judged(CROWN, "0 1/16")
    assert answer.verdict is Verdict.INCOMPLETE
    assert "3, 4, 5" in answer.headline


def test_a_crown_in_millimetres_is_refused() -> None:
    with pytest.raises(InputError, match="no joist"):
        judged(CROWN, "6 0 0 0 0 0 0 0 0")


def test_joists_on_their_marks_pass() -> None:
    answer = judged(JOIST_SPACING, GOOD_MARKS)
    assert answer.verdict is Verdict.PASSED
    assert answer.answer["worst_deviation_in"] == 0
    assert answer.answer["worst_clear_in"] == 14.5  # 16 - 1-1/2


def test_a_joist_off_its_mark_is_moved_back() -> None:
    answer = judged(JOIST_SPACING, GOOD_MARKS.replace("48", "48-1/4"))
    assert answer.verdict is Verdict.FAILED
    assert (answer.answer["worst_joist"], answer.answer["worst_deviation_in"]) == ("4", 0.25)
    assert answer.answer["worst_clear_in"] == 14.75
    assert answer.moves[0] == "move joist 4 1/4 in to the left"


def test_marks_stepped_off_one_from_the_next_drift() -> None:
    # each joist 1/16 in further out than its mark: 7/16 in at the eighth
    drifted = " ".join(["3/4", *(f"{16 * k}-{k}/16" for k in range(1, 8)), "119.25"])
    answer = judged(JOIST_SPACING, drifted)
    assert answer.answer["drift_in"] == pytest.approx(6 / 16)
    assert any("adds up" in move for move in answer.moves)


@pytest.mark.parametrize(
    ("changes", "limit"),
    [  # County deck details: 5/4 in boards 16 in straight, 12 in at an angle; 2 in boards 24 in and 16 in.
        ({}, 16), ({"angle_deg": 45}, 12),
        ({"thickness_nm": inch(1.5)}, 24), ({"thickness_nm": inch(1.5), "angle_deg": 45}, 16),
        # Composite boards: common practice.
        ({"kind": BoardKind.COMPOSITE}, 16), ({"kind": BoardKind.COMPOSITE, "angle_deg": 45}, 12),
    ],
)  # fmt: skip
def test_what_the_boards_allow(changes: dict[str, object], limit: int) -> None:
    assert allowed_spacing_nm(with_decking(**changes).decking) == limit * INCH


@pytest.mark.parametrize(
    ("width", "off", "good"), [(9.5, 0, True), (9.5, 0.125, True), (9.5, 0.25, False), (16, 0, False)]
)
def test_boards_on_two_joists_are_allowed_half(width: float, off: float, good: bool) -> None:
    # Decking spans hold over three joists, on two about half (code proposal RB191, as excerpted): 5/4 in boards 16 in, so 8 in; the
    # two joists of a step 9-1/2 in wide stand 8 in apart, those of one 16 in wide 14-1/2 in; a joist may be 1/8 in off its mark.
    step = replace(GROUND, width_nm=inch(width), uncut=False, rim_stock_nm=0, joist_stock_nm=0)
    answer = judged(JOIST_SPACING, f"1=3/4 2={width - 0.75 + off}", case_of(step))
    assert (answer.verdict is Verdict.PASSED) is good
    assert any("two joists" in limit.what and limit.text == "8 in" for limit in answer.limits)
    warned = [text for text in looks_wrong(case_of(step).job) if "lie on two joists" in text]
    assert bool(warned) is (width > 9.5)


@pytest.mark.parametrize("overhang", [0.5, 1, 1.5, 3])
def test_a_board_past_two_joists_still_lies_on_two(overhang: float) -> None:
    # A step of two joists 14-1/2 in apart, boards past them at both ends: 8 in is allowed, as in the test above.
    step = replace(
        with_decking(overhang_nm=inch(overhang)), width_nm=inch(16), uncut=False, rim_stock_nm=0, joist_stock_nm=0
    )
    assert judged(JOIST_SPACING, "1=3/4 2=15-1/4", case_of(step)).verdict is Verdict.FAILED


def test_boards_on_three_joists_are_allowed_the_whole_spacing() -> None:
    step = replace(GROUND, width_nm=inch(24), uncut=False, rim_stock_nm=0, joist_stock_nm=0)
    answer = judged(JOIST_SPACING, "1=3/4 2=16 3=23-1/4", case_of(step))
    assert answer.verdict is Verdict.PASSED and any(limit.text == "16 in" for limit in answer.limits)


def test_boards_at_an_angle_fail_joists_at_sixteen() -> None:
    answer = judged(JOIST_SPACING, GOOD_MARKS, case_of(with_decking(angle_deg=45)))
    assert answer.verdict is Verdict.FAILED
    assert any("12 in on centre" in move for move in answer.moves)


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        (GOOD_MARKS.replace("48", "30"), "not beyond"),
        (GOOD_MARKS.replace("48", "1219"), "millimetres"),
        (GOOD_MARKS.replace("119-1/4", "140"), "past the rim"),
    ],
)
def test_centres_that_cannot_be_are_refused(typed: str, why: str) -> None:
    with pytest.raises(InputError, match=why):
        judged(JOIST_SPACING, typed)


def test_four_nails_a_joint_and_seventy_two_in_the_joist_ends() -> None:
    # Common practice: one for every 2 in of nominal width: 4 in a 2x8; 9 joists x 2 ends x 4 = 72.
    answer = judged(FASTENERS, "1L=4 1R=4 5L=5 9R=4")
    assert answer.verdict is Verdict.PASSED
    assert (answer.answer["per_joint"], answer.answer["joints"], answer.answer["total"]) == (4, 18, 72)


def test_a_short_joint_is_named_with_what_it_lacks() -> None:
    answer = judged(FASTENERS, "left=2 1L=4 1R=3 5L=2 9R=4")
    assert answer.verdict is Verdict.FAILED
    assert answer.answer["shortfall"] == {"1R": 1, "5L": 2}
    assert answer.moves[:2] == ("drive 1 more at joint 1R (back end)", "drive 2 more at joint 5L (front end)")
    assert answer.answer["enough_left"] is False
    assert "buy 1 more" in answer.moves


@pytest.mark.parametrize(("left", "came"), [(219, 1), (205, 1), (425, 2)])
def test_more_fasteners_left_than_came_less_those_in_the_joints_cannot_be(left: int, came: int) -> None:
    # 16 counted in four joints came out of boxes of 220: at most 204 of one are left.
    where = replace(case_of(), lots=(LotLine("N1", "nails 16d", came, came, came),))
    with pytest.raises(
        InputError, match=f"{left} fasteners left in the boxes cannot be right: about {220 * came} came"
    ):
        judged(FASTENERS, f"left={left} 1L=4 1R=4 5L=4 9R=4", where)


def test_boxes_too_full_for_the_joints_say_to_count_on() -> None:
    # 72 in the joist ends out of 220 leaves 148.
    where = replace(case_of(), lots=(LotLine("N1", "nails 16d", 1, 1, 0, used=1),))
    full = judged(FASTENERS, "left=200 1L=4 1R=4 5L=4 9R=4", where)
    assert "only 20 of 220 fasteners are gone from the boxes: count the joints not sampled" in full.moves
    assert not judged(FASTENERS, "left=148 1L=4 1R=4 5L=4 9R=4", where).moves
    assert (
        judged(FASTENERS, "left=219 1L=4 1R=4 5L=4 9R=4").verdict is Verdict.PASSED
    )  # no lots: nothing to hold it against


def test_plain_nails_do_not_last_in_treated_wood() -> None:
    # Hot-dip galvanised, stainless, silicon bronze or copper in treated wood: IRC R317.3.1, from memory.
    joints = ["1L=4", "1R=4", "5L=4", "9R=4"]
    assert judged(FASTENERS, ["coating=bright", *joints]).verdict is Verdict.FAILED
    assert judged(FASTENERS, ["coating=hot-dip galvanised", *joints]).verdict is Verdict.PASSED


def test_four_joints_are_counted_at_least() -> None:
    assert judged(FASTENERS, "1L=4 1R=4 2L=4").verdict is Verdict.INCOMPLETE
    with pytest.raises(InputError, match="cannot be"):
        judged(FASTENERS, "1L=400 1R=4 2L=4 2R=4")


RAISED_CASE = Case(job_of(RAISED), RAISED, DAY)
"""16 ft of 2x10 joists on a ledger at 16 in: 13 of them, each in a hanger at the house (R) and nailed through the rim (L)."""


def test_an_end_in_a_hanger_is_judged_by_the_hangers_schedule() -> None:
    # The hanger's listing decides; 10 nails are what the take-off buys for each (common practice). A 2x10 end through a rim: 5.
    good = judged(FASTENERS, "listed=yes 1L=5 2L=5 1R=10 2R=10", RAISED_CASE)
    assert good.verdict is Verdict.PASSED
    assert (good.answer["total"], good.answer["hanger_total"]) == (13 * 5, 13 * 10)
    five = judged(FASTENERS, "listed=yes 1L=5 2L=5 1R=10 2R=5", RAISED_CASE)
    assert five.verdict is Verdict.FAILED and five.answer["shortfall"] == {"2R": 5}
    assert five.moves[0] == "drive 5 more at joint 2R (back end): fill every hole of its hanger"
    assert judged(FASTENERS, "listed=yes 1L=5 2L=5 1R=10 2R=9", RAISED_CASE).verdict is Verdict.FAILED
    listing = judged(FASTENERS, "listed=yes hanger=14 1L=5 2L=5 1R=14 2R=10", RAISED_CASE)
    assert listing.answer["shortfall"] == {"2R": 4}
    assert judged(FASTENERS, "listed=yes hanger=8 1L=5 2L=5 1R=8 2R=8", RAISED_CASE).verdict is Verdict.PASSED


def test_hangers_and_nailed_ends_are_both_counted_and_the_nail_is_looked_at() -> None:
    # What a framing inspection looks at: every hole full of the nail the listing names.
    asked = judged(FASTENERS, "listed=yes 1L=5 2L=5 3L=5 4L=5", RAISED_CASE)
    assert asked.verdict is Verdict.INCOMPLETE and "joint 1R and 2R" in asked.headline
    assert judged(FASTENERS, "1L=5 2L=5 1R=10 2R=10", RAISED_CASE).verdict is Verdict.INCOMPLETE
    screws = judged(FASTENERS, "listed=no 1L=5 2L=5 1R=10 2R=10", RAISED_CASE)
    assert screws.verdict is Verdict.FAILED and "the one it names" in screws.moves[0]
    with pytest.raises(InputError, match="0 nails in a hanger cannot be"):
        judged(FASTENERS, "listed=yes hanger=0 1L=5 2L=5 1R=10 2R=10", RAISED_CASE)


@pytest.mark.parametrize("stem", ["26-015-ridge-step", "26-017-tiers", "26-021-hollow-lane", "26-025-alder-bend"])
def test_check_and_take_off_count_the_same_nails(stem: str) -> None:
    job = parse_job_bytes((SAMPLES / f"{stem}.toml").read_bytes(), stem).spec
    for platform in job.platforms:
        case, plan = Case(job, platform, DAY), plan_frame(platform, job.rules, job.site)
        joints = FASTENERS.form(case).rows
        # As many everywhere as any joint takes.
        typed = [f"{joint}=60" for joint in joints] + ["listed=yes"] * bool(plan.hung_ends)
        answer = judged(FASTENERS, typed, case).answer
        assert answer["hanger_total"] == 10 * plan.hung_ends
        assert answer["total"] == nails_per_joint(platform.joists.size) * plan.nailed_ends


def test_left_and_right_say_of_which_end_and_seen_from_where_in_question_form_help_and_verdict() -> None:
    # Joists run from front to back and are numbered from the left: who stands at the right side and looks to joist 1 has the front
    # at the left hand.
    words = "L is a joist's front end, R its back end: left and right for who stands at the deck's right side and looks to joist 1"
    assert words in FASTENERS.asks and words in FASTENERS.form(case_of()).columns[0].help
    answer = judged(FASTENERS, "1L=4 1R=3 5L=2 9R=4")
    assert words in answer.working
    assert answer.moves[:2] == ("drive 1 more at joint 1R (back end)", "drive 2 more at joint 5L (front end)")


def contacts(text: str, **other: str) -> list[str]:
    return [f"{row}={other.get(f'j{row}', text)}" for row in range(1, 10)]


def test_joists_held_every_four_feet_pass() -> None:
    answer = judged(SUPPORT, contacts("0; 4'; 8'; 12'"))
    assert answer.verdict is Verdict.PASSED
    assert answer.answer["longest_in"] == 48


def test_a_long_stretch_gets_a_block_in_its_middle() -> None:
    answer = judged(SUPPORT, contacts("0; 4'; 8'; 12'", j5="0; 4'; 12'"))
    assert answer.verdict is Verdict.FAILED
    assert (answer.answer["longest_joist"], answer.answer["longest_in"]) == ("5", 96)
    assert answer.moves == ("joist 5: add a block at 8'",)


def test_a_joist_end_does_not_stick_out_too_far() -> None:
    answer = judged(SUPPORT, contacts("0; 4'; 8'; 12'", j2="0; 5'; 10'"))
    assert answer.verdict is Verdict.FAILED
    assert answer.answer["overhang_in"] == 24
    assert answer.moves == ("joist 2: add a block at 12'",)


@given(st.lists(st.integers(0, 144 * 16), min_size=1, max_size=8))
def test_the_blocks_it_adds_are_enough(places: list[int]) -> None:
    assume(len(places) < 2 or max(places) > 144 * 16 // 5)  # less is asked about: feet typed without their mark
    given_nm = sorted(p * INCH // 16 for p in places)
    exact = "; ".join(f'{p // 16} {p % 16}/16"' if p % 16 else f'{p // 16}"' for p in places)
    answer = judged(SUPPORT, contacts("0; 4'; 8'; 12'", j1=exact))
    limit, end = inch(60), inch(15)
    points = [0, *given_nm, inch(144)]
    bays = [b - a for a, b in pairwise(given_nm)]
    good = max(bays, default=0) <= limit and points[1] <= end and inch(144) - points[-2] <= end
    assert (answer.verdict is Verdict.PASSED) is good


def test_supports_past_the_end_and_missing_joists() -> None:
    with pytest.raises(InputError, match="past its end"):
        judged(SUPPORT, contacts("0; 4'; 8'; 13'"))
    assert judged(SUPPORT, contacts("0; 6'")[:4]).verdict is Verdict.INCOMPLETE


def test_support_is_checked_on_blocks_only() -> None:
    job = case_of().job
    assert SUPPORT.applies(job, GROUND)
    assert not SUPPORT.applies(job, replace(GROUND, support=Support.FOOTINGS))


@pytest.mark.parametrize("check", [STOCK_LENGTHS, CROWN, JOIST_SPACING, FASTENERS, SUPPORT])
def test_no_reading_at_all_asks_for_some(check: object) -> None:
    checks = {c.key: c for c in (STOCK_LENGTHS, CROWN, JOIST_SPACING, FASTENERS, SUPPORT)}
    (found,) = [c for c in checks.values() if c is check]
    assert judged(found, "").verdict is Verdict.INCOMPLETE


def test_a_wider_joist_takes_more_nails() -> None:
    case = case_of(replace(GROUND, joists=replace(JOISTS, size="2x12")))
    assert judged(FASTENERS, "1L=6 1R=6 2L=6 2R=6", case).answer["per_joint"] == 6  # 12 in / 2 in: common practice


BIG = replace(GROUND, width_nm=inch(40 * 12), uncut=False, rim_stock_nm=0, joist_stock_nm=0)
"""40 ft wide, joists at 16 in: marks at 3/4, 16, 32 ... 464 and 479-1/4 in (by hand), so 31 joists."""
SAMPLE_EVERY_FOURTH = ["4", "8", "12", "16", "20", "24", "28"]


def crowns(rows: Sequence[str], text: str = "1/8", **other: str) -> list[str]:
    return [f"{row}={other.get(f'j{row}', text)}" for row in rows]


def test_a_sample_of_a_big_deck_passes_and_says_how_many_were_read_and_how_many_judged_by_eye_by_whom() -> None:
    # 31 joists, one in every 4 side by side and the worst: 7 read, 24 by eye (common practice).
    answer = judged(
        CROWN, [*crowns(SAMPLE_EVERY_FOURTH, j12="3/16"), "worst=12", "rest=good by R. Stone"], case_of(BIG)
    )
    assert answer.verdict is Verdict.PASSED
    assert "7 of 31 joists read, 24 judged by eye by R. Stone" in answer.headline
    told = answer.answer
    assert (told["read"], told["by_eye"], told["by_eye_who"], told["worst_by_eye"]) == (7, 24, "R. Stone", "12")
    assert any("side by side" in limit.what and limit.text == "4" for limit in answer.limits)


def test_whoever_records_is_who_looked_where_no_other_is_named() -> None:
    case = replace(case_of(BIG), reader="M. Holt")
    answer = judged(CROWN, [*crowns(SAMPLE_EVERY_FOURTH), "worst=8", "rest=good"], case)
    assert answer.headline.endswith("24 judged by eye by M. Holt")


@pytest.mark.parametrize(
    ("read", "worst", "wanted"),
    [
        (SAMPLE_EVERY_FOURTH[1:], "worst=8", "joist 4 (one joist in every 4 side by side is read at least)"),
        (["4", "8", "12", "16", "20", "24"], "worst=8", "joist 28"),
        (["1", "6", "10", "14", "18", "22", "26", "30"], "worst=6", "joist 5"),
        (SAMPLE_EVERY_FOURTH, "worst=9", "joist 9 (it is the worst)"),
        (SAMPLE_EVERY_FOURTH, "", "the worst joist by its number"),
        ([], "worst=4", "joist 4, 8, 12, 16, 20, 24 and 1 more"),
    ],
)  # fmt: skip
def test_a_sample_too_small_does_not_pass_and_says_what_to_read(read: list[str], worst: str, wanted: str) -> None:
    tokens = [*crowns(read), "rest=good", *([worst] if worst else [])]
    answer = judged(CROWN, tokens, case_of(BIG))
    assert answer.verdict is Verdict.INCOMPLETE
    assert wanted in answer.headline


@pytest.mark.parametrize("check", [CROWN, JOIST_SPACING, SUPPORT])
def test_nothing_is_judged_by_eye_that_nobody_said_was_looked_at(check: Check) -> None:
    value = {"crown": "1/8", "joist-spacing": None, "support": "0; 4'; 8'; 12'"}[check.key]
    tokens = [f"{row}={value or f'{16 * (int(row) - 1)}'}" for row in SAMPLE_EVERY_FOURTH]
    assert judged(check, [*tokens, "worst=8"], case_of(BIG)).verdict is Verdict.INCOMPLETE
    assert judged(check, [*tokens, "worst=8", "rest=good"], case_of(BIG)).verdict is Verdict.PASSED


def test_a_fault_in_the_sample_asks_for_every_joist() -> None:
    answer = judged(CROWN, [*crowns(SAMPLE_EVERY_FOURTH, j16="-1/8"), "worst=16", "rest=good"], case_of(BIG))
    assert answer.verdict is Verdict.FAILED
    assert answer.moves == (
        "turn 16 over: crown up",
        "then read every joist: a fault in the sample leaves nothing to the eye",
    )
    again = replace(case_of(BIG), read_all=True)
    small = judged(CROWN, [*crowns(SAMPLE_EVERY_FOURTH), "worst=16", "rest=good"], again)
    assert small.verdict is Verdict.INCOMPLETE and "a sample failed before: every joist is read" in small.headline
    assert judged(CROWN, ["1-31=1/8"], again).verdict is Verdict.PASSED


def test_a_joist_of_the_sample_off_its_mark_fails_and_its_neighbors_count_as_on_theirs() -> None:
    # joist 8 stands 1/2 in right of its mark at 112 in: its bay to joist 7, seen on its mark, is 16-1/2 - 1-1/2 = 15 in clear
    at = [f"{row}={16 * (int(row) - 1)}{'-1/2' if row == '8' else ''}" for row in SAMPLE_EVERY_FOURTH]
    answer = judged(JOIST_SPACING, [*at, "worst=8", "rest=good"], case_of(BIG))
    assert answer.verdict is Verdict.FAILED
    assert (answer.answer["off_layout"], answer.answer["worst_clear_in"]) == (["8"], 15)
    assert answer.moves[0] == "move joist 8 1/2 in to the left" and "read every joist" in answer.moves[-1]
    assert "a joist judged by eye counts as standing on its mark" in answer.working


def test_boards_that_want_closer_joists_fail_a_sample_too() -> None:
    # County deck details: 5/4 in boards at an angle want 12 in, joists stand at 16 in.
    wide = replace(with_decking(angle_deg=45), width_nm=BIG.width_nm, uncut=False, rim_stock_nm=0, joist_stock_nm=0)
    at = [f"{row}={16 * (int(row) - 1)}" for row in SAMPLE_EVERY_FOURTH]
    assert judged(JOIST_SPACING, [*at, "worst=8", "rest=good"], case_of(wide)).verdict is Verdict.FAILED


def test_drift_shows_in_a_sample() -> None:
    # 1/64 in more at each joist: joist 28 is 27/64 in out; over the 28 bays between joists 2 and 30, 28/64 in
    at = [f"{row}={16 * (int(row) - 1)}-{int(row) - 1}/64" for row in SAMPLE_EVERY_FOURTH]
    answer = judged(JOIST_SPACING, [*at, "worst=28", "rest=good"], case_of(BIG))
    assert answer.answer["drift_in"] == pytest.approx(28 / 64)


def test_one_line_gives_many_alike_the_same_reading() -> None:
    answer = judged(SUPPORT, ["1-4,6-9=0; 4'; 8'; 12'", "5=0; 4'; 12'"])
    assert (answer.answer["longest_joist"], answer.answer["longest_in"], answer.answer["read"]) == ("5", 96, 9)


@pytest.mark.parametrize(
    ("tokens", "why"),
    [
        ("1-12=1/8", "no joist 12"), ("9-1=1/8", "write 1-9"), ("1-9=1/8 5=0", "given twice"), ("1-5,4-9=1/8 rest=fine", "good"),
        ("worst=12 1-9=1/8", "none of that number"), ("rest=bad", "what is not good is read"),
    ],
)  # fmt: skip
def test_lines_for_joists_that_are_not_there_are_refused(tokens: str, why: str) -> None:
    with pytest.raises((InputError, InputErrors), match=why):
        judged(CROWN, tokens)


def test_a_house_may_read_every_joist() -> None:
    case = case_of(rules={"sample_every": 1})
    assert not CROWN.form(case).fields and not CROWN.form(case).sample
    assert judged(CROWN, "1-9=1/8", case).verdict is Verdict.PASSED


@given(st.sets(st.integers(1, 31)), st.integers(2, 8))
def test_a_sample_passes_exactly_when_every_few_side_by_side_hold_one_that_was_read(read: set[int], every: int) -> None:
    case = case_of(BIG, rules={"sample_every": every})
    if not read:
        return
    worst = min(read)
    answer = judged(CROWN, [*crowns([str(n) for n in sorted(read)]), f"worst={worst}", "rest=good"], case)
    enough = all(read & set(range(first, first + every)) for first in range(1, 31 - every + 2))
    assert (answer.verdict is Verdict.PASSED) is enough
