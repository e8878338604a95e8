"""The layout of a page: nothing clipped, columns aligned by cells, everything shown safely."""

from __future__ import annotations

import io
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.console import Console

from tests.often import examples
from tracker.reports.page import Grid, Line, Page, Printed, Tone, cells, lay_out, plain, wrap
from tracker.text import clean

ODD = st.text(st.sampled_from("abc -–木材デ🔨e\u0301\u200d½×\u202e\x1b\x9b\n\t[/]\U0001f469"), max_size=60) | st.text(
    max_size=60
)


@given(ODD, st.integers(1, 40))
def test_wrapping_loses_nothing_and_never_runs_over(text: str, width: int) -> None:
    shown = clean(text)
    lines = wrap(shown, width)
    assert "".join("".join(lines).split()) == "".join(shown.split())
    # A single character of two cells cannot fit into one.
    assert all(cells(line) <= max(width, 2) for line in lines)


@settings(max_examples=examples(60, 1200))
@given(st.lists(st.tuples(ODD, ODD, ODD), min_size=1, max_size=5), st.integers(30, 100))
def test_a_grid_keeps_every_letter_within_the_width(rows: list[tuple[str, str, str]], width: int) -> None:
    grid = Grid((), tuple(rows), frozenset({1}), indent=2)
    lines = [text for text, _ in lay_out((grid,), width)]
    assert all(cells(line) <= width for line in lines)
    shown = sorted("".join("".join(lines).split()))
    assert shown == sorted("".join("".join(clean(text) for row in rows for text in row).split()))


def test_columns_stay_aligned_with_wide_and_combining_characters() -> None:
    rows = (("木材", "1", "x"), ("e\u0301t", "22", "x"), ("🔨 hammer", "333", "x"), ("plain", "4", "x"))
    lines = plain((Grid(("name", "n", ""), rows, frozenset({1})),)).splitlines()
    ends = {cell_len(line[: line.rindex("x")]) for line in lines[1:]}
    assert len(ends) == 1


@pytest.mark.parametrize("width", [20, 40, 80, 200])
def test_rich_prints_the_very_same_lines(width: int) -> None:
    page: Page = (
        Line("a title that is longer than twenty cells", Tone.TITLE),
        Line("[bold red]literal[/] [/foo] :hammer:", Tone.BAD, indent=2),
        Grid(("h", "木材"), (("a" * 30, "[link=http://x]y[/link]"), ("b", "c")), indent=1, tones=(Tone.CARE,)),
    )
    out = io.StringIO()
    Console(file=out, width=width, force_terminal=True, color_system="standard").print(Printed(page), end="")
    bare = re.sub(r"\x1b\[[0-9;]*m", "", out.getvalue())
    assert [line.rstrip() for line in bare.splitlines()] == plain(page, width).splitlines()


def test_emphasis_never_stands_alone_for_a_state() -> None:
    out = io.StringIO()
    Console(file=out, width=80, force_terminal=True, no_color=True).print(Printed((Line("FAIL square", Tone.BAD),)))
    assert "FAIL square" in out.getvalue()
