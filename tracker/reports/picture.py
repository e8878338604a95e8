"""The picture of a reading: what the numbers typed so far mean, drawn. One line here for each check that has one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeAlias

from tracker.book.views import Tried
from tracker.reports.drawing_legend import Row
from tracker.reports.picture_boards import draw_gap, draw_run
from tracker.reports.picture_built import draw_footing, draw_guard, draw_ledger, draw_span, draw_stairs
from tracker.reports.picture_frame import draw_crown, draw_fasteners, draw_screws, draw_spacing, draw_support
from tracker.reports.picture_plane import draw_level, draw_square

Picture: TypeAlias = Callable[[Tried, int, int, bool], tuple[Row, ...]]

PICTURES: Mapping[str, Picture] = {
    "layout-square": draw_square,
    "square": draw_square,
    "block-level": draw_level,
    "level": draw_level,
    "footing": draw_footing,
    "ledger": draw_ledger,
    "span": draw_span,
    "crown": draw_crown,
    "joist-spacing": draw_spacing,
    "fasteners": draw_fasteners,
    "support": draw_support,
    "gap": draw_gap,
    "board-layout": draw_run,
    "screws": draw_screws,
    "stair": draw_stairs,
    "guard": draw_guard,
}
"""By the check's key in the registry; a check that is not here has no sensible picture."""


def has_picture(check_key: str) -> bool:
    """Whether readings of a check (``square``, or ``square.upper`` of one platform) can be drawn."""
    return check_key.partition(".")[0] in PICTURES


def draw_reading(tried: Tried, width: int, height: int, *, ascii_only: bool = False) -> tuple[Row, ...]:
    """The readings typed so far as rows of (text, style) runs, at most ``width`` cells and ``height`` lines.

    Words stand beside every mark, so that the rows can be read line by line, without colour and, with ``ascii_only``,
    on a terminal or a printer that has nothing else. Empty where the check has no picture or there is no room.
    """
    draw = PICTURES.get(tried.check)
    return draw(tried, width, height, ascii_only) if draw and width > 0 and height > 0 else ()
