"""The drawing as SVG: well formed, harmless, to scale, nothing overlapping, everything on the page."""

from __future__ import annotations

import itertools
import re
from collections import Counter
from dataclasses import dataclass
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings

from tests.often import examples
from tests.reports.drawing_cases import HOSTILE, SAMPLES, Sizes, crowned, judged, sample, sizes
from tracker.reports.drawing import draw_platform
from tracker.reports.drawing_shapes import Layer, What
from tracker.reports.drawing_svg import draw_svg
from tracker.trade.lengths import MM

NS = "{http://www.w3.org/2000/svg}"
ALL = frozenset(Layer)
EVERY = pytest.mark.parametrize("name", SAMPLES)


@dataclass(frozen=True, slots=True)
class Box:
    """Where a text stands on the page, in mm."""

    text: str
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )


def boxes(root: ET.Element) -> list[Box]:
    """The room each text takes: 0.55 of its size a character is the usual mean of a sans-serif face (from memory)."""
    found = []
    for element in root.iter(f"{NS}text"):
        text, size = element.text or "", float(element.attrib["font-size"])
        x, y, wide = float(element.attrib["x"]), float(element.attrib["y"]), 0.55 * size * len(text)
        start = {"start": 0.0, "middle": -wide / 2}[element.attrib["text-anchor"]]
        if "transform" in element.attrib:
            found.append(Box(text, x - 0.72 * size, y - start - wide, x + 0.2 * size, y - start))
        else:
            found.append(Box(text, x + start, y - 0.72 * size, x + start + wide, y + 0.2 * size))
    return found


def page(root: ET.Element) -> tuple[float, float]:
    _, _, width, height = (float(part) for part in root.attrib["viewBox"].split())
    return width, height


@EVERY
@pytest.mark.parametrize("layers", [ALL, frozenset({Layer.FRAME}), frozenset({Layer.BOARDS}), frozenset()])
def test_it_is_well_formed_and_no_text_meets_another_or_the_pages_edge(name: str, layers: frozenset[Layer]) -> None:
    job, platform = SAMPLES[name]
    checks = [crowned(job, platform, {"2": '-1/8"', "3": "0"})]
    root = ET.fromstring(draw_svg(draw_platform(job, platform, checks, title=name), layers=layers))
    width, height = page(root)
    found = boxes(root)
    for box in found:
        assert box.left >= 0 and box.top >= 0 and box.right <= width and box.bottom <= height, box
    for one, other in itertools.combinations(found, 2):
        assert not one.meets(other), (one, other)


@settings(max_examples=examples(40, 800), deadline=None)
@given(sizes())
def test_any_platform_fits_its_page_and_its_texts_keep_apart(size: Sizes) -> None:
    drawing = size.drawing()
    root = ET.fromstring(draw_svg(drawing, layers=ALL))
    width, height = page(root)
    for element in root.iter():
        for x, y in re.findall(r"(-?[\d.]+),(-?[\d.]+)", element.attrib.get("points", "")):
            assert -5 <= float(x) <= width and -5 <= float(y) <= height
    found = boxes(root)
    assert all(box.left >= 0 and box.right <= width and box.bottom <= height for box in found)
    for one, other in itertools.combinations(found, 2):
        assert not one.meets(other), (one, other)


@EVERY
def test_every_joist_is_there_once_and_true_to_scale(name: str) -> None:
    job, platform = SAMPLES[name]
    drawing = draw_platform(job, platform)
    text = draw_svg(drawing)
    root = ET.fromstring(text)
    groups = [group for group in root.iter(f"{NS}g") if "data-joist" in group.attrib]
    assert Counter(group.attrib["data-joist"] for group in groups) == Counter(str(j.number) for j in drawing.joists)
    assert sum(len(group.findall(f"{NS}polygon")) for group in groups) == len(drawing.frame.joists)
    match = re.search(r"scale 1:(\d+) on A4", text)
    assert match is not None
    scale = int(match[1])
    first, last = groups[0], groups[-1]
    left = min(float(x) for x, _ in _points(first))
    right = max(float(x) for x, _ in _points(last))
    assert right - left == pytest.approx(drawing.width_nm / MM / scale, abs=0.02)
    tall = max(y for _, y in _points(first)) - min(y for _, y in _points(first))
    run = drawing.joists[0].stretches[0]
    assert tall == pytest.approx((run[1] - run[0]) / MM / scale, abs=0.02)


def _points(group: ET.Element) -> list[tuple[float, float]]:
    return [
        (float(x), float(y))
        for polygon in group.findall(f"{NS}polygon")
        for x, y in re.findall(r"(-?[\d.]+),(-?[\d.]+)", polygon.attrib["points"])
    ]


@EVERY
def test_its_figures_are_in_its_text(name: str) -> None:
    drawing = draw_platform(*SAMPLES[name], title="A title")
    root = ET.fromstring(draw_svg(drawing))
    shown = [element.text or "" for element in root.iter(f"{NS}text")]
    for dimension in drawing.dimensions:
        assert dimension.text in shown
    assert all(str(joist.number) in shown for joist in drawing.joists)
    flat = " ".join(shown)
    assert all(fact in flat for fact in drawing.facts)
    title, desc = root.find(f"{NS}title"), root.find(f"{NS}desc")
    assert title is not None and title.text == f"Plan of A title, {drawing.name}"
    assert desc is not None and desc.text is not None and all(fact in desc.text for fact in drawing.facts)
    assert root.attrib["aria-labelledby"] == "title desc"


def test_a_failing_joist_is_flagged_and_named_and_its_crown_written() -> None:
    job, platform = sample("26-014")
    checks = [
        crowned(job, platform, {"3": "-1/8", "12": "0"}),
        judged(job, platform, "square", {"ac": "18' 7-1/2", "bd": "18' 7"}),
    ]
    root = ET.fromstring(draw_svg(draw_platform(job, platform, checks)))
    shown = [element.text or "" for element in root.iter(f"{NS}text")]
    assert shown.count("!") == 1 and shown.count("1/8 in DOWN") == 1 and shown.count("1/8 in up") == 10
    assert "straight" in shown
    assert "! Crowns up FAIL (joist 3)" in " ".join(shown)


def test_a_flag_lies_over_what_it_flags() -> None:
    job, platform = sample("26-014")
    low = judged(job, platform, "block-level", {"1a": "0", "1d": "0", "12a": "-1", "12d": "0", "6b": "0"})
    text = draw_svg(draw_platform(job, platform, [low]))
    assert text.count(">!</text>") == 1 and text.index(">!</text>") > text.rindex("data-joist")


def test_hostile_names_are_only_text() -> None:
    job, platform = sample("26-014")
    text = draw_svg(draw_platform(job, platform, title=HOSTILE), layers=ALL)
    root = ET.fromstring(text)
    known = {"svg", "title", "desc", "clipPath", "polygon", "rect", "g", "line", "circle", "text"}
    assert {element.tag.removeprefix(NS) for element in root.iter()} <= known
    assert "<script" not in text and "\x1b" not in text and "\u202e" not in text
    assert "<script>" in "".join(root.itertext())
    names = {name for element in root.iter() for name in element.attrib}
    assert not any(name.startswith("on") or "href" in name for name in names)


def test_it_leans_on_nothing_outside_itself() -> None:
    text = draw_svg(draw_platform(*sample("26-025")), layers=ALL)
    assert set(re.findall(r"https?://[^\"'\s]+", text)) == {"http://www.w3.org/2000/svg"}
    assert set(re.findall(r"url\(([^)]*)\)", text)) == {"#field"}


def test_layers_are_left_out_when_not_asked_for() -> None:
    drawing = draw_platform(*sample("26-025"))
    bare, boards = draw_svg(drawing, layers=frozenset()), draw_svg(drawing, layers=frozenset({Layer.BOARDS}))
    assert "data-joist" not in bare + boards and "clip-path" not in bare
    count = sum(shape.what is What.BOARD for shape in drawing.shapes)
    group = next(g for g in ET.fromstring(boards).iter(f"{NS}g") if "clip-path" in g.attrib)
    assert len(group) == count > 0


@EVERY
def test_the_same_drawing_gives_the_same_bytes(name: str) -> None:
    one, other = (draw_svg(draw_platform(*SAMPLES[name], title=name), layers=ALL).encode() for _ in range(2))
    assert one == other and b"\r" not in one
