"""Drawings for paper: SVG of plain shapes goes to the library as it is, its texts are written in the program's own fonts.

What a drawing may hold: ``polygon``, ``line``, ``rect``, ``circle``, ``path``, ``g``, ``clipPath`` and ``text`` with
``x``, ``y``, ``font-size``, ``text-anchor``, ``font-weight``, ``fill`` (``#rgb`` or ``#rrggbb``) and a ``rotate``; one view
box unit is as long in both directions. Texts lie over the shapes.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from io import BytesIO
from xml.etree import ElementTree

from tracker.reports.paper.letters import BLACK, MM_PER_POINT, Colour, Letters

_SPACE = "http://www.w3.org/2000/svg"
_TURNED = re.compile(r"rotate\((-?[\d.]+)[ ,](-?[\d.]+)[ ,](-?[\d.]+)\)")
_BASE_LINE = 0.5 * 1.3 + 0.3
"""Of the size, from the upper edge of a line to its base line, as the library sets a cell of our leading."""


@dataclass(frozen=True, slots=True)
class Label:
    """A text of a drawing in its own units: where its base line is anchored, and how far it is turned."""

    x: float
    y: float
    text: str
    size: float
    anchor: str
    bold: bool
    colour: Colour
    turned: float


@dataclass(frozen=True, slots=True)
class Vector:
    """A drawing taken apart: its size, its shapes as SVG, its texts."""

    width: float
    height: float
    shapes: bytes
    labels: tuple[Label, ...]

    def size_in(self, width: float, height: float) -> tuple[float, float]:
        """The size in mm at which it fits a room, as wide as it may be."""
        factor = min(width / self.width, height / self.height)
        return self.width * factor, self.height * factor


def read_svg(svg: str) -> Vector:
    """Take a drawing apart. Raises ValueError when it has no view box."""
    root = ElementTree.fromstring(svg.encode())
    box = [float(number) for number in root.get("viewBox", "").replace(",", " ").split()]
    if len(box) != 4 or box[2] <= 0 or box[3] <= 0:
        raise ValueError("a drawing needs a view box with a size")
    labels = []
    for parent in list(root.iter()):
        for child in list(parent):
            name = child.tag.rpartition("}")[2]
            if name == "text":
                labels.append(_label(child, box[0], box[1]))
            if name in ("text", "title", "desc"):
                parent.remove(child)
    clips = [child for child in root if child.tag == f"{{{_SPACE}}}clipPath"]
    if clips:  # the library looks for them among the definitions only
        definitions = ElementTree.Element(f"{{{_SPACE}}}defs")
        definitions.extend(clips)
        for clip in clips:
            root.remove(clip)
        root.insert(0, definitions)
    for group in root.iter(f"{{{_SPACE}}}g"):  # and it clips shapes, not groups of them
        region = group.get("clip-path")
        if region is not None:
            del group.attrib["clip-path"]
            for shape in group:
                shape.set("clip-path", region)
    root.attrib.pop("font-family", None)
    ElementTree.register_namespace("", _SPACE)
    return Vector(box[2], box[3], ElementTree.tostring(root), tuple(labels))


def _label(node: ElementTree.Element, left: float, top: float) -> Label:
    turned = _TURNED.match(node.get("transform", ""))
    return Label(
        float(node.get("x", 0)) - left,
        float(node.get("y", 0)) - top,
        "".join(node.itertext()),
        float(node.get("font-size", 3)),
        node.get("text-anchor", "start"),
        node.get("font-weight") == "bold",
        _colour(node.get("fill", "")),
        float(turned[1]) if turned else 0.0,
    )


def _colour(text: str) -> Colour:
    digits = text.removeprefix("#")
    if len(digits) == 3:
        digits = "".join(char * 2 for char in digits)
    return (int(digits[:2], 16), int(digits[2:4], 16), int(digits[4:], 16)) if len(digits) == 6 else BLACK


def draw_vector(letters: Letters, vector: Vector, x: float, y: float, width: float, alt: str) -> None:
    """Draw it with its upper left corner at x, y, ``width`` mm wide."""
    factor = width / vector.width
    pdf = letters.pdf
    pdf.image(BytesIO(vector.shapes), x=x, y=y, w=width, h=vector.height * factor, alt_text=letters.shown(alt))
    for label in vector.labels:
        size = label.size * factor / MM_PER_POINT
        text = letters.shown(label.text)
        wide = letters.width(text, size, label.bold)
        back = {"middle": wide / 2, "end": wide}.get(label.anchor, 0.0)
        at_x, at_y = x + label.x * factor, y + label.y * factor
        top = at_y - _BASE_LINE * label.size * factor
        if label.turned:
            with pdf.rotation(-label.turned, at_x, at_y):
                letters.write(at_x - back, top, text, size, bold=label.bold, colour=label.colour)
        else:
            letters.write(at_x - back, top, text, size, bold=label.bold, colour=label.colour)
