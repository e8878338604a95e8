"""Pictures of the frame, the boards and what is built, each against a calculation by hand beside it."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.reports.picture_cases import COMPOSITE, GROUND, RAISED, lines, place, rows_of, said, typed
from tracker.reports.picture_boards import gap_openings
from tracker.reports.picture_built import odd_risers
from tracker.trade.checks.stock import marks
from tracker.trade.lengths import INCH, SIXTEENTH, exact_text, format_inches


def spaced(**off: int) -> list[str]:
    """Every joist on its mark but some, off by so many sixteenths (``j3=4`` is 1/4 in right)."""
    laid = marks(typed(GROUND, "joist-spacing").case.platform)
    rows = rows_of(GROUND, "joist-spacing")
    return [f"{row}={exact_text(nm + off.get(f'j{row}', 0) * SIXTEENTH)}" for row, nm in zip(rows, laid, strict=True)]


def test_the_joists_that_drift_are_marked_and_named_and_the_worst_span_said() -> None:
    # Marks 16 in on centre: joist 3 stands at 32-1/4, joist 2 at 16, so 16-1/4 in less 1-1/2 in of joist are clear.
    shown = lines(typed(GROUND, "joist-spacing", *spaced(j3=4, j6=-3)))
    text = said(shown)
    assert "joist 3 by 1/4 in right and 6 by 3/16 in left" in text
    assert "worst span between joists 2 and 3: 14-3/4 in clear, 14-1/2 in allowed" in text
    numbers, stands, marked = shown[0], shown[2], shown[3]
    at = {row: numbers.index(f" {row} ") + 1 for row in ("3", "6")}
    signs = [column for column, char in enumerate(marked) if char == "!"]
    assert len(signs) == 2 and signs[0] > at["3"] and signs[1] < at["6"]
    assert all(stands[column] == "│" for column in signs)


def test_the_distance_off_the_mark_is_drawn_by_the_factor_said() -> None:
    shown = lines(typed(GROUND, "joist-spacing", *spaced(j3=4)), 110, 12)
    factor = int(said(shown).split("off the mark drawn ")[1].split(" x")[0])
    scale = Fraction(168, 110 - 3)  # inches to a column: the rim is 14 ft
    moved = shown[3].index("!") - (shown[0].index(" 3 ") + 1)
    assert abs(moved - factor * Fraction(1, 4) / scale) <= 1


def test_a_good_rim_marks_nothing() -> None:
    shown = lines(typed(GROUND, "joist-spacing", *spaced()))
    assert "!" not in said(shown) and "every joist stands on its mark" in said(shown)


def test_a_joist_not_read_yet_shows_a_question_mark() -> None:
    shown = lines(typed(GROUND, "joist-spacing", "1=3/4"))
    assert shown[2].count("?") == len(rows_of(GROUND, "joist-spacing")) - 1


# One fastener for every 2 in of nominal depth (common practice): a 2x8 joint takes 4.
def test_missing_fasteners_are_hollow_and_their_joints_named() -> None:
    shown = lines(typed(GROUND, "fasteners", "1L=4", "1R=3", "2L=2", "3R=4", "4L=6", "left=1"))
    text = said(shown)
    assert "1L ●●●● " in text and "1R ●●●○ !" in text and "2L ●●○○ !" in text and "4L ●●●●+2" in text
    assert "missing: 1 at 1R and 2 at 2L; 3 to drive" in text
    assert "left in the boxes 1, to drive 3: ! buy 2 more" in text
    assert "5L ?" in text


def test_no_short_joint_is_cut_off_where_there_is_little_room() -> None:
    tokens = [f"{row}={3 if row == '12R' else 4}" for row in rows_of(GROUND, "fasteners")]
    shown = lines(typed(GROUND, "fasteners", *tokens), 58, 6)
    assert "12R ●●●○ !" in said(shown) and "missing: 1 at 12R" in said(shown)


def test_plain_ascii_draws_the_same() -> None:
    shown = lines(typed(GROUND, "fasteners", "1L=4", "1R=3", "2L=2", "3R=4"), ascii_only=True)
    assert "1R ###o !" in said(shown)


def test_crowns_point_up_or_down_and_culls_are_marked() -> None:
    usual = dict.fromkeys(rows_of(GROUND, "crown"), "1/16") | {"2": "-1/8", "5": "3/8", "7": "0"}
    text = said(lines(typed(GROUND, "crown", *(f"{row}={crown}" for row, crown in usual.items()))))
    assert "1 ↑" in text and "2 ↓" in text and "7 ─ straight" in text
    assert "3/8 in !" in text and "over 1/4 in, cull: 5" in text and "turn over: 2" in text


def test_the_longest_stretch_of_a_joist_is_marked_and_said() -> None:
    # From 0 to 6' 2" is 6' 2", from there to 12' is 5' 10"; 5 ft is allowed (the house rule's default).
    rows = rows_of(GROUND, "support")
    tokens = [f"{row}=0;4';8';12'" for row in rows if row != "5"] + ["5=0; 6' 2; 12'"]
    shown = lines(typed(GROUND, "support", *tokens), 58, 24)
    bad = next(line for line in shown if line.lstrip().startswith("5 "))
    assert "═" in bad and "6' 2\" !" in bad and bad.count("▲") == 3
    good = next(line for line in shown if line.lstrip().startswith("4 "))
    assert "═" not in good and good.count("▲") == 4 and "4'" in good
    assert "joist 5: 6' 2\" without a block" in said(shown)


# Wood Handbook (FPL-GTR-282) Eq. 13-3: change = width x (then - now) / (30 x 100/S - 30 + now), with S the tangential
# shrinkage of southern pine in percent, the mean of 7.4, 7.5, 7.7 and 7.6 (Table 4-3).
def swell_in(now: float, then: float) -> float:
    return 5.5 * (then - now) / (30 * 100 / ((7.4 + 7.5 + 7.7 + 7.6) / 4) - 30 + now)


def test_the_gap_through_the_year_is_that_of_the_handbook() -> None:
    tried = typed(GROUND, "gap", "b1=24", "b2=22", "b3=26", "chosen=1/16")
    service = tried.case.job.site.service_moisture_tenths / 10
    openings = {one.name: one for one in gap_openings(tried)}
    assert list(openings) == ["as laid", "driest", "service", "wettest"]
    for name, then in (("driest", service - 2), ("service", service), ("wettest", service + 2)):
        gaps = [1 / 16 - swell_in(now, then) for now in (24, 22, 26)]
        assert openings[name].least_nm / INCH == pytest.approx(min(gaps), abs=0.002)
        assert openings[name].most_nm / INCH == pytest.approx(max(gaps), abs=0.002)
    assert openings["driest"].most_nm > openings["service"].most_nm > openings["wettest"].most_nm


def test_the_gap_is_drawn_to_the_scale_said_with_its_limits() -> None:
    tried = typed(GROUND, "gap", "b1=24", "b2=24", "b3=24", "chosen=0")
    shown = lines(tried, 78, 12)
    steps = {"1/64": 64, "1/32": 32, "1/16": 16}
    per_inch = steps[said(shown).split("a character is ")[1].split(" in")[0]]
    gap = gap_openings(tried)[2].least_nm / INCH
    row = next(line for line in shown if line.startswith("service"))
    drawn = row[row.index("▒") :].split(" ▒")[0].replace("▒", "").replace("┊", "")
    # From the left board to the right one; the limit of 1/8 in is marked inside the gap.
    assert abs(len(drawn) + (row.count(" ▒") > 0) - gap * per_inch) <= 1
    assert ":" in drawn and row.index(":") - (row.index("▒") + 4) == round(per_inch / 8)
    assert "1/8 in the least that drains, 1/4 in the most for heels" in said(shown)


def test_boards_that_swell_shut_are_said_to_press_on_each_other() -> None:
    text = said(lines(typed(GROUND, "gap", "b1=8", "b2=8", "b3=8", "chosen=0")))
    assert "service" in text and "boards press on each other !" in text


def test_composite_has_one_gap_all_year() -> None:
    text = said(lines(typed(COMPOSITE, "gap", "maker=3/16", "chosen=3/8")))
    assert "3/16 in" in text and "3/8 in" in text and "one gap all year" in text and "!" in text


def test_the_run_shows_each_point_and_its_taper() -> None:
    # 23 in - 22-1/2 in = 1/2 in of taper.
    shown = lines(typed(GROUND, "board-layout", "laid=23", "left=1' 10-1/2", "middle=1' 10-3/4", "right=1' 11"))
    text = said(shown)
    assert "! taper 1/2 in over the run" in text and "left: 1' 10-1/2\" open, last board" in text
    feet = next(line for line in shown if line.startswith("left"))
    assert feet.index("left") < feet.index("middle") < feet.index("right")


def test_footings_stand_in_section_with_the_frost_line() -> None:
    # The sample's frost line is 36 in: 30 in is 6 in too shallow, 40 in is deep enough.
    rows = rows_of(RAISED, "footing")
    wanted = {row: (20, 30 if row == rows[0] else 40) for row in rows}
    tokens = [
        f"{row}.{key}={nm}" for row, pair in wanted.items() for key, nm in zip(("across", "depth"), pair, strict=True)
    ]
    shown = lines(typed(RAISED, "footing", "soil=clay", "bags=40", "poured=2026-05-08", *tokens))
    text = said(shown)
    assert f"! {rows[0]}: 30 in deep, 20 in across" in text and "6 in too shallow" in text
    assert f"{rows[0]} !" in shown[0] and f"{rows[1]} !" not in shown[0]
    frost = next(row for row, line in enumerate(shown) if line.count("╌") > 5)
    bottoms = [row for row, line in enumerate(shown) if "└" in line]
    assert bottoms[0] < frost <= bottoms[-1]


def test_the_odd_riser_is_marked() -> None:
    # 7-3/4 in - 7-1/8 in = 5/8 in; 3/8 in is allowed between risers of a flight (IRC R311.7.5.1, from memory).
    rows = rows_of(RAISED, "stair")
    rises = {row: "7-3/4" if row == "3" else "7-1/8" for row in rows}
    shown = lines(typed(RAISED, "stair", "width=36", *(f"{row}.rise={rise}" for row, rise in rises.items())))
    assert "3: 7-3/4 in !" in said(shown) and said(shown).count("!") == 2
    assert "step 3 rises 7-3/4 in" in said(shown) and "5/8 in between the highest and the lowest" in said(shown)
    heights = [place(shown, f"{row}: ")[0] for row in rows]
    assert heights == sorted(heights, reverse=True)


def test_even_risers_have_no_odd_one() -> None:
    assert odd_risers({"1": 7 * INCH, "2": 7 * INCH + INCH // 4, "3": 7 * INCH}) == []
    assert odd_risers({}) == []
    assert odd_risers({"1": 8 * INCH, "2": 7 * INCH, "3": 7 * INCH}) == ["1"]


def test_the_guard_shows_what_passes_the_ball() -> None:
    rows = [f"{row}.{key}={text}" for row in rows_of(RAISED, "guard")
            for key, text in (("height", "36"), ("opening", "3-1/2"), ("posts", "66"), ("length", "8' 5"))]  # fmt: skip
    changed = {"left.height=36": "left.height=35-1/2", "front.opening=3-1/2": "front.opening=4-1/4"}
    text = said(lines(typed(RAISED, "guard", "fixed=yes", *(changed.get(row, row) for row in rows)), 78, 20))
    assert "now ▒▒▒▒" in text and "4-1/4 in, the ball passes !" in text
    assert "! lowest height 35-1/2 in, 36 in at the least" in text


def test_the_ledger_shows_its_fasteners_against_the_table() -> None:
    shown = lines(
        typed(RAISED, "ledger", "lag", "2x lumber", "18", "1-1/2", "1", "3;6", "yes", "no", "yes", "2", "1500")
    )
    text = said(shown)
    most = typed(RAISED, "ledger", "lag", "2x lumber", "18", "2", "1", "3;3", "yes", "no", "yes", "2", "1500").answer
    assert most is not None
    allowed = format_inches(round(float(str(most.answer["allowed_spacing_in"])) * INCH))
    assert f"! fasteners 18 in on centre, {allowed} at the most" in text
    assert "! 1-1/2 in from the top edge, at least 2 in" in text and "! 3 in and 6 in from the ends" in text
    bolts = sorted(column for row in (1, 3) for column, char in enumerate(shown[row]) if char == "◉")
    marks_at = [column for column, char in enumerate(shown[5]) if char == ":"]
    # 18 in to the table's spacing, as drawn.
    ratio = (bolts[2] - bolts[0]) / (marks_at[2] - marks_at[0])
    assert ratio == pytest.approx(18 / float(str(most.answer["allowed_spacing_in"])), abs=0.1)


def test_spans_are_named_with_what_the_table_allows() -> None:
    text = said(lines(typed(RAISED, "span", 'overhang=6"', "S1=14' 6\"")))
    assert "! S1: 14' 6\"" in text and "allowed" in text and "S1 14' 6\" !" in text


def test_screws_short_at_a_crossing_are_named() -> None:
    tokens = [f"c{n}.{key}={value}" for n in range(1, 5) for key, value in (("count", 1 if n == 2 else 2), ("edge", 1))]
    text = said(lines(typed(GROUND, "screws", "predrilled=yes", *tokens)))
    assert "c2 ●○ !" in text and "missing: 1 at c2" in text
