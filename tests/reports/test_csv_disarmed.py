"""No cell of any list this program writes can run as a formula in a spreadsheet.

Which cells do: the OWASP page "CSV Injection" (= + - @, tab, carriage return, and the full-width forms of the signs); that
spreadsheets may drop characters that are not seen and read on: common practice. The characters and their kinds: the Unicode
Character Database, general category and NFKC (UAX #44, #15).
"""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.planning.csvlines import is_formula, marked, unmarked
from tracker.reports.paper.csvtext import write_csv

SIGNS = "=+-@\N{FULLWIDTH EQUALS SIGN}\N{FULLWIDTH PLUS SIGN}\N{FULLWIDTH HYPHEN-MINUS}\N{FULLWIDTH COMMERCIAL AT}\N{SMALL EQUALS SIGN}\t\r"
UNSEEN = (
    "\N{ZERO WIDTH SPACE}", "\N{ZERO WIDTH NO-BREAK SPACE}", "\N{ZERO WIDTH JOINER}", "\N{ZERO WIDTH NON-JOINER}",
    "\N{WORD JOINER}", "\N{SOFT HYPHEN}", "\N{NO-BREAK SPACE}", "\N{IDEOGRAPHIC SPACE}", "\N{COMBINING GRAPHEME JOINER}",
    "\N{VARIATION SELECTOR-16}", "\N{LEFT-TO-RIGHT MARK}", "\N{RIGHT-TO-LEFT OVERRIDE}", "\N{HANGUL FILLER}",
    "\N{BRAILLE PATTERN BLANK}", "\N{LINE SEPARATOR}", "\N{TAG SPACE}", "\N{MONGOLIAN VOWEL SEPARATOR}", "\0", "\x1b", "\x85",
    "\x7f", " ", "\n", "\N{INVISIBLE TIMES}", "\U000e0fff", "\N{COMBINING ACUTE ACCENT}",
)  # fmt: skip


@pytest.mark.parametrize("sign", SIGNS)
@pytest.mark.parametrize("unseen", ["", *UNSEEN, "\N{ZERO WIDTH NO-BREAK SPACE}\N{ZERO WIDTH SPACE} " * 3], ids=ascii)
def test_a_formula_behind_what_nobody_sees_is_disarmed(sign: str, unseen: str) -> None:
    cell = f"{unseen}{sign}HYPERLINK(1)"
    assert is_formula(cell) and marked(cell) == f"'{cell}"
    assert unmarked(marked(cell)) == cell


@pytest.mark.parametrize(
    "cell", ["2x8x12", "a=b", "a+b", "3-1/2", "Ana @ North", "½ in", "木=1", "'tis", "", "'", " ", "\u200b"]
)
def test_an_honest_text_is_left_as_it_is(cell: str) -> None:
    assert marked(cell) == unmarked(cell) == cell


def test_a_later_line_of_a_cell_that_begins_as_a_formula_is_disarmed() -> None:
    assert marked("note\n=1+1") == "'note\n=1+1"


letters = st.text(st.sampled_from([*SIGNS, *UNSEEN, *"'a1"]), max_size=6)


@given(letters)
def test_whatever_is_written_reads_back_and_starts_with_ink_or_the_mark(text: str) -> None:
    data = write_csv(["a", "b"], [[text, "x"]])
    _, (cell, _) = csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""))
    assert unmarked(cell) == text and (not is_formula(cell) or cell.startswith("'"))
