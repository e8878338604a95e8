"""Published deck tables held as data, each with its edition. They answer first; the computation is the second
opinion.

"DCA 6" is the American Wood Council's Prescriptive Residential Wood Deck Construction Guide.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tracker.trade.lengths import INCH
from tracker.trade.lumber import CEDARS, FIRS, SOUTHERN

JOIST_TABLE = "DCA 6 (2012 IRC edition) Table 2: 40 psf live, 10 psf dead, No.2, wet service, L/360"
LEDGER_TABLE = "Wisconsin deck code, ledger fastener table (2015), the same rows as IRC R507.9.1.3(1) at 40 psf"

RIM_TABLE = "Wisconsin deck code (2015, CR 15-043) table 6, ledgers on engineered rim boards and masonry"

SPACINGS_IN = (12, 16, 24)


def feet_inches(text: str) -> int:
    """Whole inches of ``13-1`` (feet and inches as span tables print them)."""
    feet, _, inches = text.partition("-")
    return 12 * int(feet) + int(inches)


def _row(text: str) -> tuple[int, ...]:
    return tuple(feet_inches(cell) for cell in text.split())


# Spans at 12, 16 and 24 in on centre.
JOIST_SPANS_IN: Mapping[tuple[str, str], tuple[int, ...]] = {
    (SOUTHERN, "2x6"): _row("9-11 9-0 7-7"),
    (SOUTHERN, "2x8"): _row("13-1 11-10 9-8"),
    (SOUTHERN, "2x10"): _row("16-2 14-0 11-5"),
    (SOUTHERN, "2x12"): _row("18-0 16-6 13-6"),
    (FIRS, "2x6"): _row("9-6 8-4 6-10"),
    (FIRS, "2x8"): _row("12-6 11-1 9-1"),
    (FIRS, "2x10"): _row("15-8 13-7 11-1"),
    (FIRS, "2x12"): _row("18-0 15-9 12-10"),
    (CEDARS, "2x6"): _row("8-10 8-0 6-10"),
    (CEDARS, "2x8"): _row("11-8 10-7 8-8"),
    (CEDARS, "2x10"): _row("14-11 13-0 10-7"),
    (CEDARS, "2x12"): _row("17-5 15-1 12-4"),
}
"""Joist spans by species group and size (``JOIST_TABLE``)."""

OVERHANGS_IN: Mapping[tuple[str, str], tuple[int, ...]] = {
    (SOUTHERN, "2x6"): _row("1-0 1-1 1-3"),
    (SOUTHERN, "2x8"): _row("1-10 2-0 2-4"),
    (SOUTHERN, "2x10"): _row("3-1 3-5 2-10"),
    (SOUTHERN, "2x12"): _row("4-6 4-2 3-4"),
    (FIRS, "2x6"): _row("0-11 1-0 1-2"),
    (FIRS, "2x8"): _row("1-8 1-10 2-2"),
    (FIRS, "2x10"): _row("2-10 3-2 2-9"),
    (FIRS, "2x12"): _row("4-4 3-11 3-3"),
    (CEDARS, "2x6"): _row("0-9 0-10 0-11"),
    (CEDARS, "2x8"): _row("1-5 1-7 1-9"),
    (CEDARS, "2x10"): _row("2-5 2-7 2-8"),
    (CEDARS, "2x12"): _row("3-7 3-9 3-1"),
}
"""Joist overhangs by species group and size, same table; never over a quarter of the actual span behind them.
"""


@dataclass(frozen=True, slots=True)
class LedgerRow:
    """One joist span of the ledger table: spacing in inches of 1/2 in lag screws, bolts, bolts with 1/2 in washers in 2x lumber; of
    lag screws or bolts in engineered rim boards 1 in and 1-1/8 in thick; of adhesive anchors in masonry.
    """

    joist_span_ft: int
    lag_in: int
    bolt_in: int
    bolt_washers_in: int
    thin_rim_in: int
    thick_rim_in: int
    anchor_in: int


LEDGER_ROWS = (
    LedgerRow(6, 30, 36, 36, 24, 28, 32),
    LedgerRow(8, 23, 36, 36, 18, 21, 32),
    LedgerRow(10, 18, 34, 29, 14, 16, 32),
    LedgerRow(12, 15, 29, 24, 12, 14, 24),
    LedgerRow(14, 13, 24, 21, 10, 12, 24),
    LedgerRow(16, 11, 21, 18, 9, 10, 16),
    LedgerRow(18, 10, 19, 16, 8, 9, 16),
)
"""1/2 in ledger fasteners through a 2x band joist, an engineered rim board or into masonry, 40 psf live and 10 psf dead
(``LEDGER_TABLE``, ``RIM_TABLE``).
"""

FOOTING_TABLE = "DCA 6 (2012 IRC edition) Table 4: 1500 psf soil, 150 pcf concrete, 40 psf live and 10 psf dead"


@dataclass(frozen=True, slots=True)
class FootingRow:
    """One cell of the footing table: beam and joist span in feet; round, square and thickness in inches."""

    beam_span_ft: int
    joist_span_ft: int
    round_in: int
    square_in: int
    thickness_in: int


FOOTING_ROWS = tuple(
    FootingRow(*cells)
    for cells in (
        (6, 10, 18, 16, 7), (6, 14, 21, 18, 8), (6, 18, 24, 21, 10),
        (10, 10, 23, 20, 9), (10, 14, 27, 24, 11), (10, 18, 31, 27, 13),
        (14, 10, 27, 24, 11), (14, 14, 32, 29, 14), (14, 18, 37, 33, 16),
        (18, 10, 31, 27, 13), (18, 14, 37, 33, 16), (18, 18, 42, 37, 19),
    )
)  # fmt: skip
"""Footing sizes by beam span and joist span (``FOOTING_TABLE``); the sizes used are computed, see ``loads``."""


def published_joist_in(group: str, size: str, spacing_nm: int) -> tuple[int, int] | None:
    """Return the table's joist span and overhang in inches, or None off the table."""
    key = (group, size)
    for column, spacing_in in enumerate(SPACINGS_IN):
        if key in JOIST_SPANS_IN and spacing_nm == spacing_in * INCH:
            return JOIST_SPANS_IN[key][column], OVERHANGS_IN[key][column]
    return None


def next_wider_joist_in(group: str, size: str, spacing_nm: int) -> int | None:
    """Return the table's span at the next wider spacing, which a closer spacing carries too, or None past the
    table.
    """
    key = (group, size)
    wider = [n for n, spacing_in in enumerate(SPACINGS_IN) if spacing_in * INCH > spacing_nm]
    return JOIST_SPANS_IN[key][wider[0]] if wider and key in JOIST_SPANS_IN else None
