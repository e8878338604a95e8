"""The published deck beam tables, both editions whole: which one is in force is a house rule, the shorter one by default.

40 psf live and 10 psf dead, No.2, wet service, L/360. Every cell is the most a beam may span, never raised by a computation.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from tracker.errors import InputError
from tracker.text import listing, near
from tracker.trade.lengths import FOOT
from tracker.trade.lumber import CEDARS, FIRS, SOUTHERN, dressed, nominal_in, species


class BeamTable(StrEnum):
    """An edition of the deck beam table."""

    DCA = "DCA 6-2015"
    CODE = "IRC 2015/2018"


BEAM_SOURCES: Mapping[BeamTable, str] = {
    BeamTable.DCA: (
        "DCA 6-2015 Table 3A (revised 2018), from memory: the code table less 3 in a cell, 14 cells compared, the rest inferred"
    ),
    BeamTable.CODE: (
        "Wisconsin deck code (2015, CR 15-043) Tables 3A and 3B; from memory, the cells of IRC 2015 R507.6 and IRC 2018 R507.5"
    ),
}
"""Where the cells of an edition were read."""

BEAM_JOIST_SPANS_FT = (6, 8, 10, 12, 14, 16, 18)
"""Joist spans of the columns; one between two takes the longer."""
LESS_IN = 3
"""What DCA 6-2015 takes off every cell of the code table (14 cells compared, the rest inferred)."""


def _row(text: str) -> tuple[int, ...]:
    cells = (cell.split("-") for cell in text.split())
    return tuple(12 * int(feet) + int(rest) for feet, rest in cells)


_SOUTHERN: Mapping[tuple[int, str], tuple[int, ...]] = {
    (2, "2x6"): _row("6-11 5-11 5-4 4-10 4-6 4-3 4-0"),
    (2, "2x8"): _row("8-9 7-7 6-9 6-2 5-9 5-4 5-0"),
    (2, "2x10"): _row("10-4 9-0 8-0 7-4 6-9 6-4 6-0"),
    (2, "2x12"): _row("12-2 10-7 9-5 8-7 8-0 7-6 7-0"),
    (3, "2x6"): _row("8-2 7-5 6-8 6-1 5-8 5-3 5-0"),
    (3, "2x8"): _row("10-10 9-6 8-6 7-9 7-2 6-8 6-4"),
    (3, "2x10"): _row("13-0 11-3 10-0 9-2 8-6 7-11 7-6"),
    (3, "2x12"): _row("15-3 13-3 11-10 10-9 10-0 9-4 8-10"),
}
_OTHERS: Mapping[tuple[int, str], tuple[int, ...]] = {
    (2, "2x6"): _row("5-5 4-8 4-2 3-10 3-6 3-1 2-9"),
    (2, "2x8"): _row("6-10 5-11 5-4 4-10 4-6 4-1 3-8"),
    (2, "2x10"): _row("8-4 7-3 6-6 5-11 5-6 5-1 4-8"),
    (2, "2x12"): _row("9-8 8-5 7-6 6-10 6-4 5-11 5-7"),
    (1, "4x6"): _row("6-5 5-6 4-11 4-6 4-2 3-11 3-8"),
    (1, "4x8"): _row("8-5 7-3 6-6 5-11 5-6 5-2 4-10"),
    (1, "4x10"): _row("9-11 8-7 7-8 7-0 6-6 6-1 5-8"),
    (1, "4x12"): _row("11-5 9-11 8-10 8-1 7-6 7-0 6-7"),
    (3, "2x6"): _row("7-4 6-8 6-0 5-6 5-1 4-9 4-6"),
    (3, "2x8"): _row("9-8 8-6 7-7 6-11 6-5 6-0 5-8"),
    (3, "2x10"): _row("12-0 10-5 9-4 8-6 7-10 7-4 6-11"),
    (3, "2x12"): _row("13-11 12-1 10-9 9-10 9-1 8-6 8-1"),
}
# The table gives a solid 3 in beam the row of two plies of its depth.
_SOLID = {(1, f"3x{depth}"): _OTHERS[2, f"2x{depth}"] for depth in (6, 8, 10, 12)}
_CODE: Mapping[tuple[str, int, str], tuple[int, ...]] = {
    **{(SOUTHERN, *beam): row for beam, row in _SOUTHERN.items()},
    **{(group, *beam): row for group in (FIRS, CEDARS) for beam, row in {**_OTHERS, **_SOLID}.items()},
}

BEAM_SPANS_IN: Mapping[BeamTable, Mapping[tuple[str, int, str], tuple[int, ...]]] = {
    BeamTable.DCA: {beam: tuple(cell - LESS_IN for cell in row) for beam, row in _CODE.items()},
    BeamTable.CODE: _CODE,
}
"""Spans in inches by edition, then by species group, plies and size, for joist spans of 6 to 18 ft (``BEAM_SOURCES``).

Douglas fir-larch, hem-fir and spruce-pine-fir are incised; western cedars, ponderosa and red pine stand in the same rows.
"""
UNNAMED = ("redwood", "northern species")
"""Species the code table's heading does not name: they keep the cells of DCA 6-2015 in either edition."""


@dataclass(frozen=True, slots=True)
class BeamCell:
    """A cell of the beam table: its span, the joist span of its column, and the beam of its row.

    ``own`` says whether that is the very beam asked for; else it is the nearest beam that carries no more for its thickness.
    """

    table: BeamTable
    span_in: int
    joist_ft: int
    plies: int
    size: str
    own: bool

    @property
    def beam(self) -> str:
        """The beam of its row, in words."""
        return f"{self.plies}-ply {self.size}"


def beam_table(name: str) -> BeamTable:
    """The edition a person names, whatever the case; raises InputError with those there are."""
    wanted = "".join(name.lower().split())
    for table in BeamTable:
        if wanted == "".join(table.lower().split()):
            return table
    raise InputError(
        f"{name.strip()[:40]!r} is not a beam table held{near(name, tuple(BeamTable))}", f"choose {listing(BeamTable)}"
    )


def beam_cell(table: BeamTable, wood: str, plies: int, size: str, joist_span_nm: int) -> BeamCell | None:
    """The cell for a beam of ``size`` under joists of this span, None where the table reaches no safe one.

    A joist span between columns takes the longer. A beam without a row takes the thickest built-up one of its depth that is no
    thicker than it; a thinner beam than every row takes the two plies' under joists longer in proportion, so that an inch of
    its thickness carries no more. Raises InputError for a wood or a size without a name.
    """
    found = species(wood)
    edition = BeamTable.DCA if found.name in UNNAMED else table
    rows = BEAM_SPANS_IN[edition]

    def cell(row_plies: int, row_size: str, joist: Fraction, own: bool) -> BeamCell | None:
        row = rows.get((found.table_group, row_plies, row_size))
        column = next((n for n, feet in enumerate(BEAM_JOIST_SPANS_FT) if joist <= feet * FOOT), None)
        if row is None or column is None:
            return None
        return BeamCell(edition, row[column], BEAM_JOIST_SPANS_FT[column], row_plies, row_size, own)

    if (found.table_group, plies, size) in rows:
        return cell(plies, size, Fraction(joist_span_nm), own=True)
    ply = f"2x{nominal_in(size)[1]}"
    thick, one = plies * dressed(size).thickness_nm, dressed("2x6").thickness_nm
    for row_plies in (3, 2):
        if thick >= row_plies * one:
            return cell(row_plies, ply, Fraction(joist_span_nm), own=False)
    return cell(2, ply, Fraction(joist_span_nm * 2 * one, thick), own=False)


def cell_words(cell: BeamCell) -> str:
    """The cell a span rests on, in words."""
    near_by = "" if cell.own else f", the nearest safer cell held, of a {cell.beam}"
    return f"{cell.table}: {cell.span_in} in for joists up to {cell.joist_ft} ft{near_by}"
