"""``deckjobs draw``: a job or a job file drawn in the terminal, as SVG and as JSON."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import pytest

from tests.commands.conftest import Deck
from tests.invented import platform_text

HOSTILE = "<script>[/x]</script> & Plover"


def test_a_job_file_and_the_job_in_the_book_are_drawn_alike(deck: Deck) -> None:
    file = deck.file()
    deck("take", file)
    drawn = deck("draw", "101")
    assert (drawn.code, drawn.err) == (0, "")
    assert drawn.out == deck("draw", file).out == deck("draw", "101").out
    assert "26-101 Plover Lane platform, deck" in drawn.out and "11' x 13'" in drawn.out
    assert all(len(line) <= 80 for line in drawn.out.splitlines())


def test_readings_in_the_book_show_on_the_drawing(walked: Deck) -> None:
    assert walked("draw", "101", "--layer", "frame", "--layer", "checks").out.count("↓") == 0
    walked("check", "101", "crown", *(["1/8"] * 3), "-1/8", *(["1/8"] * 6))
    shown = walked("draw", "101", "--layer", "frame", "--layer", "checks").out
    assert "! Crowns up FAIL [joist 4]" in shown and "do: turn 4 over: crown up" in shown
    joists = walked("draw", "101", "--json").json["platforms"][0]["joists"]
    assert [joist["number"] for joist in joists if joist["checked"] == "failed"] == [4]
    assert joists[3]["crown"] == {"text": '-1/8"', "mm": -3.175}


def test_width_height_and_ascii_are_kept(deck: Deck) -> None:
    out = deck("draw", deck.file(), "--width", "60", "--height", "20", "--ascii").out
    assert out.isascii() and len(out.splitlines()) <= 20 and max(map(len, out.splitlines())) <= 60


def test_the_tape_stands_below_and_on_a_wide_page_beside(deck: Deck) -> None:
    file = deck.file()
    for width, lines_with_both in ((80, False), (120, True)):
        out = deck("draw", file, "--tape", "--width", str(width)).out
        assert out.count("cut in this order") == 1 and out.count("hook") == 2
        assert bool(re.search(r"[│║■].*\d in X", out)) is lines_with_both
        assert all(len(line) <= width for line in out.splitlines())


def test_an_svg_page_is_written_once_and_replaced_only_by_force(deck: Deck) -> None:
    file, page = deck.file(title=HOSTILE), deck.home / "plan.svg"
    assert deck("draw", file, "--svg", str(page)).out == f"drawn: {page}\n"
    first = page.read_bytes()
    assert HOSTILE in "".join(ET.fromstring(first).itertext()) and b"<script" not in first
    refused = deck("draw", file, "--svg", str(page), "--layer", "boards")
    assert refused.code == 2 and "add --force" in refused.err and page.read_bytes() == first
    assert deck("draw", file, "--svg", str(page), "--layer", "boards", "--force").code == 0
    assert page.read_bytes() != first
    assert sorted(path.name for path in deck.home.iterdir()) == ["plan.svg", "plover.toml"]


def test_one_platform_of_several_can_be_named_and_must_be_for_a_page(deck: Deck) -> None:
    upper = platform_text("upper", size="""["6'", "6'"]""", height="20 in", support="platform")
    file = deck.file(more=upper)
    both, one = deck("draw", file).out, deck("draw", file, "--platform", "upper").out
    assert "11' x 13'" in both and one in both and "11' x 13'" not in one
    result = deck("draw", file, "--svg", str(deck.home / "x.svg"))
    assert result.code == 2 and "--platform deck or upper" in result.err
    result = deck("draw", file, "--platform", "uper")
    assert result.code == 2 and "did you mean upper?" in result.err


def test_zooming_shows_the_part_asked_for(deck: Deck) -> None:
    out = deck("draw", deck.file(), "--zoom", "4", "--at", "1',1'", "--height", "24").out
    assert 'from the left 0" to ' in out and " 1 " in out and " 9 " not in out.splitlines()[1]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--zoom", "0.5"], "1 shows all there is"),
        (["--zoom", "big"], "from 1 to 200"),
        (["--at", "1',1'"], "add --zoom"),
        (["--zoom", "3", "--at", "4'"], "not two lengths"),
        (["--zoom", "3", "--at", "4',far"], "--at: 'far' is not a length"),
        (["--width", "10"], "give 40 to 1000"),
        (["--width", "wide"], "--width"),
        (["--height", "3"], "give 12 to 1000"),
        (["--layer", "roof"], "frame"),
    ],
)
def test_wrong_options_say_what_would_be_right(deck: Deck, words: list[str], said: str) -> None:
    result = deck("draw", deck.file(), *words)
    assert result.code == 2 and said in result.err and not result.out
