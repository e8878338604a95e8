"""Beams on pads and wood blocks, drawn where the take-off counts them."""

from __future__ import annotations

import pytest

from tests.trade.test_pads import ON_PADS, SPEC
from tests.trade.test_wood_blocks import READY, SIMPLEST
from tracker.reports.drawing import draw_platform
from tracker.reports.drawing_shapes import What
from tracker.reports.drawing_svg import draw_svg
from tracker.reports.drawing_text import draw_rows
from tracker.trade.lengths import FOOT, INCH
from tracker.trade.spec import JobSpec, Platform


@pytest.mark.parametrize(
    ("spec", "platform", "what", "number", "said"),
    [(SPEC, ON_PADS, What.PAD, 9, "9 pads on the ground"), (READY, SIMPLEST, What.BLOCK, 36, "36 wood blocks")],
)
def test_what_carries_it_is_drawn_in_text_and_on_paper(
    spec: JobSpec, platform: Platform, what: What, number: int, said: str
) -> None:
    drawing = draw_platform(spec, platform)
    assert [spot.what for spot in drawing.spots] == [what] * number
    assert any(said in fact for fact in drawing.facts)
    rows = ["".join(text for text, _ in row) for row in draw_rows(drawing, 100)]
    assert any(f"\u25a0 {what.value}" in row for row in rows) and sum(row.count("\u25a0") for row in rows) > 4
    assert f"<title>{what.value} {drawing.spots[0].name}</title>" in draw_svg(drawing)


def test_pads_stand_under_the_beams() -> None:
    spots = {spot.name: spot.at for spot in draw_platform(SPEC, ON_PADS).spots}
    assert spots["P1"] == (6 * INCH, FOOT) and spots["P9"] == (114 * INCH, 11 * FOOT)
