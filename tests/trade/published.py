"""Published deck tables as the tests hold them, typed from the documents and apart from the program's own data."""

from __future__ import annotations

from tracker.trade.lumber import CEDARS, FIRS, SOUTHERN

# DCA 6 (2012 IRC edition) Table 2: spans at 12/16/24 in, then overhangs at 12/16/24 in; feet-inches.
TABLE_2 = {
    (SOUTHERN, "2x6"): "9-11 9-0 7-7 | 1-0 1-1 1-3",
    (SOUTHERN, "2x8"): "13-1 11-10 9-8 | 1-10 2-0 2-4",
    (SOUTHERN, "2x10"): "16-2 14-0 11-5 | 3-1 3-5 2-10",
    (SOUTHERN, "2x12"): "18-0 16-6 13-6 | 4-6 4-2 3-4",
    (FIRS, "2x6"): "9-6 8-4 6-10 | 0-11 1-0 1-2",
    (FIRS, "2x8"): "12-6 11-1 9-1 | 1-8 1-10 2-2",
    (FIRS, "2x10"): "15-8 13-7 11-1 | 2-10 3-2 2-9",
    (FIRS, "2x12"): "18-0 15-9 12-10 | 4-4 3-11 3-3",
    (CEDARS, "2x6"): "8-10 8-0 6-10 | 0-9 0-10 0-11",
    (CEDARS, "2x8"): "11-8 10-7 8-8 | 1-5 1-7 1-9",
    (CEDARS, "2x10"): "14-11 13-0 10-7 | 2-5 2-7 2-8",
    (CEDARS, "2x12"): "17-5 15-1 12-4 | 3-7 3-9 3-1",
}
NAMES = {
    SOUTHERN: ("southern pine",),
    FIRS: ("douglas fir-larch", "hem-fir", "spruce-pine-fir"),
    CEDARS: ("redwood", "western cedar", "ponderosa pine", "red pine"),
}

# Wisconsin Administrative Register 714A1 (2015), CR 15-043 rule text, Tables 3B and 3A, whole: joists of 6 to 18 ft.
BEAM_CODE = {
    SOUTHERN: """
        2-2x6 6-11 5-11 5-4 4-10 4-6 4-3 4-0
        2-2x8 8-9 7-7 6-9 6-2 5-9 5-4 5-0
        2-2x10 10-4 9-0 8-0 7-4 6-9 6-4 6-0
        2-2x12 12-2 10-7 9-5 8-7 8-0 7-6 7-0
        3-2x6 8-2 7-5 6-8 6-1 5-8 5-3 5-0
        3-2x8 10-10 9-6 8-6 7-9 7-2 6-8 6-4
        3-2x10 13-0 11-3 10-0 9-2 8-6 7-11 7-6
        3-2x12 15-3 13-3 11-10 10-9 10-0 9-4 8-10""",
    FIRS: """
        2-2x6 5-5 4-8 4-2 3-10 3-6 3-1 2-9
        2-2x8 6-10 5-11 5-4 4-10 4-6 4-1 3-8
        2-2x10 8-4 7-3 6-6 5-11 5-6 5-1 4-8
        2-2x12 9-8 8-5 7-6 6-10 6-4 5-11 5-7
        1-3x6 5-5 4-8 4-2 3-10 3-6 3-1 2-9
        1-3x12 9-8 8-5 7-6 6-10 6-4 5-11 5-7
        1-4x6 6-5 5-6 4-11 4-6 4-2 3-11 3-8
        1-4x8 8-5 7-3 6-6 5-11 5-6 5-2 4-10
        1-4x10 9-11 8-7 7-8 7-0 6-6 6-1 5-8
        1-4x12 11-5 9-11 8-10 8-1 7-6 7-0 6-7
        3-2x6 7-4 6-8 6-0 5-6 5-1 4-9 4-6
        3-2x8 9-8 8-6 7-7 6-11 6-5 6-0 5-8
        3-2x10 12-0 10-5 9-4 8-6 7-10 7-4 6-11
        3-2x12 13-11 12-1 10-9 9-10 9-1 8-6 8-1""",
}
# From memory: DCA 6-2015 Table 3A (revised 2018), southern pine; cedars and redwood as far as towns quote it.
BEAM_DCA = {
    SOUTHERN: """
        2-2x6 6-8 5-8 5-1 4-7 4-3 4-0 3-9
        2-2x8 8-6 7-4 6-6 5-11 5-6 5-1 4-9
        2-2x10 10-1 8-9 7-9 7-1 6-6 6-1 5-9
        2-2x12 11-11 10-4 9-2 8-4 7-9 7-3 6-9
        3-2x6 7-11 7-2 6-5 5-10 5-5 5-0 4-9
        3-2x8 10-7 9-3 8-3 7-6 6-11 6-5 6-1
        3-2x10 12-9 11-0 9-9 8-11 8-3 7-8 7-3
        3-2x12 15-0 13-0 11-7 10-6 9-9 9-1 8-7""",
    FIRS: "2-2x8 6-7\n2-2x10 8-1\n2-2x12 9-5",
    CEDARS: "2-2x6 5-2 4-5 3-11 3-7 3-3 2-10 2-6\n2-2x8 6-7 5-8 5-1",
}
COLUMNS_FT = (6, 8, 10, 12, 14, 16, 18)


def whole_inches(text: str) -> int:
    """Inches of ``8-11``, feet and inches as the tables print them."""
    feet, inches = text.split("-")
    return 12 * int(feet) + int(inches)


def rows_of(text: str) -> dict[str, tuple[int, ...]]:
    """The rows of a beam table by plies and size (``2-2x8``), in inches."""
    lines = (line.split() for line in text.split("\n") if line.strip())
    return {name: tuple(map(whole_inches, cells)) for name, *cells in lines}
