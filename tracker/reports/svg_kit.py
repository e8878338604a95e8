"""What drawings for paper are written with: elements of an SVG page, in millimetres of paper, every text made safe."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from xml.sax.saxutils import escape

from tracker.reports.page import cells
from tracker.text import clean
from tracker.trade.lengths import MM
from tracker.trade.polygon import Point

TEXT, SMALL = 3.0, 2.4
"""Heights of type in mm."""
WIDE = 0.62
"""Width of a character for its height that is never passed on average (common sans-serif faces)."""


@dataclass(slots=True)
class Sheet:
    """Elements of one page; ``scale`` paper is to life as 1 to it, ``x`` and ``y`` place the plan's origin."""

    scale: float
    x: float
    y: float
    parts: list[str] = field(default_factory=list)

    def at(self, point: Point) -> tuple[float, float]:
        """A point of the plan in mm of paper."""
        return self.x + point[0] / MM / self.scale, self.y + point[1] / MM / self.scale

    def size(self, nm: float) -> float:
        """A length of the plan in mm of paper."""
        return nm / MM / self.scale

    def add(self, element: str) -> None:
        """Add an element as it is."""
        self.parts.append(element)

    def polygon(self, points: Iterable[Point], look: str, name: str = "") -> None:
        """A closed outline, with its name for who points at it."""
        places = " ".join(f"{number_text(x)},{number_text(y)}" for x, y in (self.at(p) for p in points))
        title = f"<title>{safe(name)}</title>" if name else ""
        self.add(
            f'<polygon points="{places}" {look}>{title}</polygon>' if title else f'<polygon points="{places}" {look}/>'
        )

    def line(self, start: tuple[float, float], end: tuple[float, float], look: str) -> None:
        """A line in mm of paper."""
        self.add(
            f'<line x1="{number_text(start[0])}" y1="{number_text(start[1])}" x2="{number_text(end[0])}" y2="{number_text(end[1])}" {look}/>'
        )

    def text(
        self, x: float, y: float, text: str, *, size: float = TEXT, anchor: str = "start", bold: bool = False,
        ink: str = "#222", turned: bool = False,
    ) -> None:  # fmt: skip
        """A line of text from its base line; ``turned`` reads upwards."""
        more = ' font-weight="bold"' if bold else ""
        more += f' transform="rotate(-90 {number_text(x)} {number_text(y)})"' if turned else ""
        more += f' fill="{ink}"' if ink != "#222" else ""
        self.add(
            f'<text x="{number_text(x)}" y="{number_text(y)}" font-size="{number_text(size)}" text-anchor="{anchor}"{more}>{safe(text)}</text>'
        )


def number_text(number: float) -> str:
    """A number with at most two decimals, written the same on every machine."""
    text = f"{number:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def safe(text: str) -> str:
    """A text as it goes into an element."""
    return escape(clean(text))


def text_width(text: str, size: float) -> float:
    """The room in mm that a text is given."""
    return cells(clean(text)) * WIDE * size
