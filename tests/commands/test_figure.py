"""Figures from the command line: the spelling of the arguments, JSON keys, and figures with their sources."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from tests.commands.conftest import Deck, job_text
from tracker.commands.figure import FIGURES

SPAN = ("figure", "span", "--species", "southern pine", "--grade", "2")

ASKED: tuple[tuple[tuple[str, ...], set[str]], ...] = (
    (
        ("figure", "square", "--sides", "16'", "12'", "--diagonals", "20'", "20' 1/2"),
        {"diagonal_in", "difference_in", "push_in", "push_along", "tape_error_in"},
    ),
    (("figure", "boards", "--run", "147", "--width", "5-1/2"), {"boards", "overhang_in", "last_width_in"}),
    (("figure", "level", "--point", "A=3-1/4", "B=3", "--point", "C=3-1/8"), {"high_point", "blocks_in"}),
    (("figure", "layout", "--length", "16'", "--spacing", "16"), {"count", "marks_in"}),
    (("figure", "fasteners", "--size", "2x8", "--joints", "26"), {"per_joint", "total"}),
    (("figure", "moisture", "--temp-f", "70", "--humidity", "65"), {"emc_pct"}),
    (
        ("figure", "gap", "--width", "5-1/2", "--species", "southern pine", "--now", "19", "--service", "12"),
        {"change_in", "gap_now_in", "gap_then_in"},
    ),
    (
        (*SPAN, "--member", "joist", "--size", "2x8", "--spacing", "16"),
        {"span_in", "governs", "published_span_in", "allowed_span_in"},
    ),
    (
        (*SPAN, "--member", "beam", "--size", "2x10", "--plies", "2", "--joist-span", "12'"),
        {"span_in", "governs", "published_span_in", "allowed_span_in"},
    ),
    (
        ("figure", "footing", "--area", "48", "--soil", "1500", "--live", "40", "--dead", "10"),
        {"load_lb", "square_in", "round_in", "thickness_in", "bags_80lb"},
    ),
    (("figure", "ledger", "--joist-span", "12'", "--fastener", "lag"), {"spacing_in", "load_per_fastener_lb"}),
    (
        ("figure", "cuts", "--need", "33-1/2*7", "--stock", "8'@7.10", "12'@11.90", "--have", "63*2"),
        {"cost", "bound", "proven", "sticks", "boards"},
    ),
    (("figure", "stairs", "--rise", "40"), {"risers", "riser_in", "treads", "run_in"}),
    (("figure", "guard", "--height", "36"), {"required", "height_in", "opening_in"}),
    (
        ("figure", "guard", "--height", "36", "--length", "16'"),
        {"required", "height_in", "opening_in", "posts", "post_spacing_in", "balusters", "gap_in"},
    ),
    (("figure", "fasteners", "--boards", "10", "--joists", "13"), {"screws", "clips", "clip_screws"}),
    (
        ("figure", "post", "--size", "6x6", "--beam-span", "8'", "--joist-span", "12'", "--height", "5'"),
        {"allowed_height_in", "ok", "load_lb", "capacity_lb", "column_height_in", "published_height_in"},
    ),
    (
        ("figure", "lumber", "--size", "2x8", "--length", "12'", "--use", "UC3B", "--clearance", "5"),
        {"thickness_in", "depth_in", "board_feet", "weight_lb", "total_lb", "use_ok"},
    ),
    (
        ("figure", "permit", "--area", "180", "--height", "28"),
        {"area", "height", "attached", "exit_door", "any", "ask"},
    ),
)


@pytest.mark.parametrize(("words", "keys"), ASKED, ids=[" ".join(words[1:4]) for words, _ in ASKED])
def test_every_figure_answers_with_its_keys(deck: Deck, words: tuple[str, ...], keys: set[str]) -> None:
    found = deck(*words, "--json")
    assert found.code == 0, found.err
    assert {"inputs", "answer", "working", "source", "caution"} <= set(found.json)
    assert keys <= set(found.json["answer"])
    assert found.json["source"] and found.json["working"]
    text = deck(*words).out
    assert text.splitlines()[0] and "working:" not in text
    why = deck(*words, "--why").out
    assert "working:" in why and "source:" in why
    assert max(len(line) for line in why.splitlines()) <= 80
    assert not deck.path.exists()


def test_every_figure_is_asked_above() -> None:
    assert {words[1] for words, _ in ASKED} == set(FIGURES)


def test_a_published_joist_span(deck: Deck) -> None:
    # DCA 6 (2012 IRC edition), Table 2: southern pine 2x8 at 16 in, 40 psf live, 10 psf dead: 11-10.
    found = deck(*SPAN, "--member", "joist", "--size", "2x8", "--spacing", "16", "--json").json["answer"]
    assert found["published_span_in"] == 142


def test_the_published_worked_example_of_wood_movement(deck: Deck) -> None:
    # Wood Handbook (FPL-GTR-282) chapter 13, worked example: white fir, flat-sawn, 9.15 in at 8 % to 11 %:
    # +0.067 in. The command takes inches to 1/1000.
    words = ("figure", "gap", "--width", "9.15", "--species", "white fir", "--now", "8", "--service", "11", "--json")
    assert deck(*words).json["answer"]["change_in"] == pytest.approx(0.067, abs=0.001)


def test_the_published_moisture_of_wood(deck: Deck) -> None:
    # Wood Handbook (FPL-GTR-282) Table 4-2, from memory: 70 F, 65 %: 12.0 %.
    found = deck("figure", "moisture", "--temp-f", "70", "--humidity", "65", "--json").json["answer"]["emc_pct"]
    assert found == pytest.approx(12.0, abs=0.1)
    same = deck("figure", "moisture", "--temp-c", "21.1", "--humidity", "65%", "--json").json["answer"]["emc_pct"]
    assert same == pytest.approx(found, abs=0.1)
    assert deck("figure", "moisture", "--temp-c", "-5", "--humidity", "65").code == 0


def test_bare_numbers_are_inches_and_with_metric_millimetres(deck: Deck) -> None:
    inch = deck("figure", "square", "--sides", "192", "144", "--diagonals", "240", "240", "--json").json
    # 3-4-5 triangle: 16 ft, 12 ft, 20 ft.
    assert inch["answer"]["diagonal_in"] == pytest.approx(240)
    metric = deck(
        "figure", "square", "--metric", "--sides", "4000", "3000", "--diagonals", "5000", "5000", "--json"
    ).json
    assert metric["answer"]["diagonal_in"] == pytest.approx(5000 / 25.4)
    assert "mm" in deck("figure", "stairs", "--metric", "--rise", "1000").out


def test_level_takes_positions_and_signs(deck: Deck) -> None:
    words = ("figure", "level", "--point", "A=0", "B=-1/4", "C=1/8", "--at", "A=0,0", "B=12',0", "--at", "C=0,12'")
    found = deck(*words, "--json")
    assert found.code == 0, found.err
    assert found.json["answer"]["high_point"] == "C"
    assert found.json["answer"]["blocks_in"] == pytest.approx({"A": 0.125, "B": 0.375, "C": 0})


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("square", "--sides", "16'", "--diagonals", "20'", "20'"), "--sides takes 2 or 4 lengths, not 1"),
        (("square", "--sides", "16'", "1,5", "--diagonals", "20'", "20'"), "--sides: '1,5' is not a length"),
        (("level", "--point", "A"), "--point: 'A' has no name and value"),
        (("level", "--point", "A=1", "A=2"), "--point: 'A' is given twice"),
        (("level", "--point", "A=1", "B=2", "--at", "C=1,2"), "there is no such point"),
        (("level", "--point", "A=1", "B=2", "--at", "A=1"), "is not two lengths"),
        (("moisture", "--temp-f", "NaN", "--humidity", "65"), "--temp-f: 'NaN' is not a number"),
        (("moisture", "--temp-f", "1e3", "--humidity", "65"), "--temp-f: '1e3' is not a number"),
        (("moisture", "--temp-f", "70", "--humidity", "-5"), "--humidity: '-5' has a sign"),
        (("moisture", "--humidity", "65"), "--temp-f"),
        (("moisture", "--temp-f", "70", "--temp-c", "20", "--humidity", "65"), "not allowed with"),
        (("stairs", "--rise", "-40"), "--rise: '-40' is not a length: it is negative"),
        (("stairs",), "--rise"),
        (("fasteners", "--size", "2x8", "--joints", "٤"), "--joints: "),
        (("footing", "--area", "lots", "--soil", "1500"), "--area: 'lots' is not a number"),
        (("span", "--member", "rafter"), "missing: --size"),
        (("fasteners", "--boards", "10"), "--boards goes with --joists"),
        (("fasteners", "--size", "2x8", "--joists", "10"), "--joists goes with --boards"),
        (("guard", "--height", "36", "--post", "3-1/2"), "go with --length"),
        (("lumber", "--size", "2x8", "--length", "12'", "--use", "UC3B"), "go together"),
        (("lumber", "--size", "2x8", "--length", "12'", "--pieces", "0"), "no such lift"),
        (("permit", "--area", "180"), "area and height are needed"),
        (("permit", "--area", "0", "--height", "28"), "no area"),
        (("permit", "--file", "job.toml", "--area", "180"), "--file brings"),
        (("permit", "--file", "nowhere.toml"), "is not there"),
        (("gap", "--width", "5-1/2", "--species", "cedar", "--now", "19", "--service", "moist"), "--service: "),
        (("stair", "--rise", "40"), "did you mean stairs?"),
        (("stairs", "--rize", "40"), "did you mean --rise?"),
    ],
)
def test_what_is_wrong_names_the_option(deck: Deck, words: tuple[str, ...], says: str) -> None:
    result = deck("figure", *words)
    assert result.code == 2 and result.out == ""
    assert says in result.err
    assert 1 <= len(result.err.splitlines()) <= 3


def test_figure_alone_lists_the_figures(deck: Deck) -> None:
    text = deck("figure").out
    assert all(f"  {name} " in text for name in FIGURES)


def test_a_racked_frame_is_pushed_half_way(deck: Deck) -> None:
    # Racking moves the far edge: the push p solves d1^2 - d2^2 = 4 w p (parallelogram law, both diagonals
    # squared).
    found = deck("figure", "square", "--sides", "195", "144", "--diagonals", "242-11/16", "242-3/16", "--json").json[
        "answer"
    ]
    expected = (242.6875**2 - 242.1875**2) / (4 * 195)
    assert found["difference_in"] == pytest.approx(0.5)
    assert found["push_in"] == pytest.approx(expected, abs=0.05)
    assert found["diagonal_in"] == pytest.approx(math.hypot(195, 144), abs=0.1)


def test_a_permit_figure_asks_and_never_permits(deck: Deck, tmp_path: Path) -> None:
    # IRC R105.2 as a town prints it: 200 ft2, 30 in, not attached, not at the exit door; all four together.
    def met(*more: str) -> object:
        return deck("figure", "permit", *more, "--json").json["answer"]["any"]

    small = ("--area", "200", "--height", "30")
    assert met(*small) is None
    assert met(*small, "--no-exit-door") is False
    assert met(*small, "--exit-door") is True
    assert met(*small, "--no-exit-door", "--attached") is True
    assert met("--area", "200", "--height", "30-1/16", "--no-exit-door") is True
    assert met("--area", "201", "--height", "30", "--no-exit-door") is True
    text = deck("figure", "permit", *small, "--no-exit-door").out
    assert text.startswith("ask the office") and "not a permission" in deck("figure", "permit", *small, "--why").out
    (tmp_path / "job.toml").write_text(job_text(), encoding="utf-8")
    asked = deck("figure", "permit", "--file", str(tmp_path / "job.toml"), "--json").json
    # 11 ft by 13 ft, 12 in high, free-standing.
    assert asked["inputs"]["area_ft2"] == 143 and asked["inputs"]["height_in"] == 12


def test_a_gap_takes_a_climate_by_name(deck: Deck) -> None:
    words = ("figure", "gap", "--width", "5-1/2", "--species", "southern pine", "--now", "19", "--json", "--service")
    # Common practice: sheltered wood in a temperate climate stands at about 12 %.
    assert deck(*words, "temperate").json["answer"] == deck(*words, "12").json["answer"]


def test_small_sizes_are_said_in_inches(deck: Deck) -> None:
    assert "no 4 in ball" in deck("figure", "guard", "--height", "36").out
    assert "36 in high" in deck("figure", "guard", "--height", "36").out
    assert "14 in round" in deck("figure", "footing", "--area", "20", "--soil", "1500").out
    assert "15 in on centre" in deck("figure", "ledger", "--joist-span", "12'", "--fastener", "lag").out
