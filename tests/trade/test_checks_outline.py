"""The frame's checks on a platform with a cut-out and a clipped corner. Figures are worked by hand beside each test."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.trade.geometry_cases import GROUND, case_of, judged
from tests.trade.outline_cases import clip, cut_out
from tracker.trade.answer import Verdict
from tracker.trade.checks.frame import JOIST_SPACING, SUPPORT
from tracker.trade.checks.plane import BLOCK_LEVEL, LEVEL, SQUARE, frame_points
from tracker.trade.framing import plan_frame, standing_lines
from tracker.trade.lengths import FOOT, INCH
from tracker.trade.level import Position

CUT = replace(
    GROUND, uncut=False, width_nm=18 * FOOT, depth_nm=12 * FOOT, cuts=(cut_out("front right", 4, 5), clip("back left", 3))
)  # fmt: skip
CASE = case_of(CUT)
LINES = standing_lines(CUT)


def centres(moved: int = -1, by: float = 0) -> list[str]:
    return [f"{line.centre_nm / INCH + (by if k == moved else 0):g}" for k, line in enumerate(LINES)]


def test_every_joist_line_is_asked_for_and_the_doubled_one_counts_its_width() -> None:
    assert JOIST_SPACING.form(CASE).rows == tuple(str(k) for k in range(1, 17))
    good = judged(JOIST_SPACING, centres(), CASE)
    assert good.verdict is Verdict.PASSED
    # 16 in less one joist of 1-1/2 in; no bay beside the doubled joists is wider.
    assert good.answer["worst_clear_in"] == 14.5
    pair = next(k for k, line in enumerate(LINES) if line.solid_nm == 3 * INCH)
    assert LINES[pair].centre_nm / INCH == 166.5
    off = judged(JOIST_SPACING, centres(pair, 1), CASE)
    assert off.verdict is Verdict.FAILED and off.moves[0] == f"move joist {pair + 1} 1 in to the left"


def test_a_joist_beside_the_cut_out_needs_no_block_in_the_cut_out() -> None:
    # 141 in: blocks 47 in apart; 81 in and the clipped ones: the contact points of their own length.
    points = BLOCK_LEVEL.form(CASE).rows
    blocks = {row: [at for at in points if at.rstrip("abcdef") == row] for row in SUPPORT.form(CASE).rows}
    assert len(points) == plan_frame(CUT, CASE.rules, CASE.job.site).blocks
    assert [len(blocks[row]) for row in ("8", "16")] == [4, 3]
    tokens = []
    for row, line in zip(blocks, LINES, strict=True):
        bays = len(blocks[row]) - 1
        tokens.append(";".join(f"{line.length_nm * k / bays / INCH:.3f}" for k in range(bays + 1)))
    assert judged(SUPPORT, tokens, CASE).verdict is Verdict.PASSED


@pytest.mark.parametrize(
    ("name", "at"),
    [
        ("A", (0, 0)),
        ("B", (14, 5)),  # the inner corner of the cut-out
        ("C", (18, 12)),
        ("D", (1.5, 10.5)),  # the middle of the clip
        ("AB", (9, 0)),
        ("BC", (18, 6)),
    ],
)
def test_levels_are_taken_where_the_frame_is(name: str, at: tuple[float, float]) -> None:
    place: Position = frame_points(CUT)[name]
    assert (place[0] / FOOT, place[1] / FOOT) == at
    assert name in LEVEL.form(CASE).rows


def test_the_square_check_says_where_to_measure_at_a_cut_corner() -> None:
    asked = {field.key: field.help for field in SQUARE.form(CASE).fields}
    assert "where strings along its two edges cross" in asked["ac"]
    assert "strings" not in {f.key: f.help for f in SQUARE.form(case_of()).fields}["ac"]
