"""The marks of strips and bars: fills that stay apart in grey as well, each with a sign of its own."""

from __future__ import annotations

from tracker.reports.paper.letters import Colour, Letters, line_height
from tracker.reports.paper.model import Ink
from tracker.reports.paper.rows import box

BAR_HEIGHT = 5.0
WHITE: Colour = (255, 255, 255)
INKS: dict[Ink, Colour] = {
    Ink.NONE: (255, 255, 255),
    Ink.DONE: (44, 94, 62),
    Ink.NOW: (232, 190, 92),
    Ink.STOPPED: (164, 0, 30),
    Ink.PART: (160, 190, 168),
}
SIGNS = {Ink.NONE: "", Ink.DONE: "✓", Ink.NOW: "▸", Ink.STOPPED: "!", Ink.PART: "◐"}
SIGN_INK: dict[Ink, Colour] = {Ink.DONE: WHITE, Ink.STOPPED: WHITE}
EDGE: Colour = (90, 96, 104)


def fill_part(pen: Letters, x: float, y: float, width: float, height: float, ink: Ink) -> None:
    """A part of a bar."""
    box(pen, x, y, width, height, fill=INKS[ink])


def step_mark(pen: Letters, x: float, y: float, width: float, height: float, ink: Ink) -> None:
    """A step of a strip with its sign."""
    box(pen, x, y, width, height, fill=INKS[ink], edge=EDGE, thick=0.2)
    sign = SIGNS[ink]
    size = 8.0
    wide = pen.width(sign, size, True)
    top = y + (height - line_height(size)) / 2
    pen.write(x + (width - wide) / 2, top, sign, size, bold=True, colour=SIGN_INK.get(ink, (31, 35, 40)))
