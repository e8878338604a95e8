"""CSV: no cell can run as a formula, and everything reads back as it was."""

from __future__ import annotations

import csv
import io

from hypothesis import given
from hypothesis import strategies as st

from tests.reports.paper.reading import read_csv
from tracker.reports.paper.csvtext import write_csv

CELL = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=30) | st.sampled_from(
    ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "'=1", "''=1", "'", 'a "q", b', "two\nlines", "\ufeff")
)


@given(st.lists(st.tuples(CELL, CELL, CELL), max_size=6))
def test_what_is_written_reads_back(rows: list[tuple[str, str, str]]) -> None:
    assert read_csv(write_csv(("a", "b", "c"), rows)) == (("a", "b", "c"), *rows)


@given(st.lists(st.tuples(CELL, CELL), min_size=1, max_size=6))
def test_no_cell_begins_as_a_formula_does(rows: list[tuple[str, str]]) -> None:
    # OWASP, CSV Injection: cells that begin with = + - @, a tab or a carriage return.
    text = write_csv(("a", "b"), rows).decode("utf-8-sig")
    for row in csv.reader(io.StringIO(text, newline="")):
        assert not [cell for cell in row if cell[:1] in ("=", "+", "-", "@", "\t", "\r")]
