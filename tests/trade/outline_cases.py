"""Outlines the geometry tests share: invented sizes, and a way to draw any outline that can be built."""

from __future__ import annotations

from hypothesis import assume
from hypothesis import strategies as st

from tracker.trade.layout import joist_marks
from tracker.trade.lengths import FOOT, INCH
from tracker.trade.lumber import dressed
from tracker.trade.outline import Clip, Corner, Cut, CutOut, Outline, cut_faults
from tracker.trade.spec import BoardKind, Decking, GapIntent, Joists

JOISTS = Joists("2x8", 3 * INCH // 2, dressed("2x8").depth_nm, "southern pine", "no.2", 16 * INCH, "UC4A")
SIXTEEN = 16 * FOOT


def decking(angle: int = 0, gap: int = 0) -> Decking:
    intent = GapIntent.SPACED if gap else GapIntent.TIGHT
    return Decking("5/4x6", 11 * INCH // 2, INCH, BoardKind.WOOD, "southern pine", angle, intent, gap, "UC4A")


def way_round(outline: Outline) -> int:
    """The sum of its edges, each angled one to the nearest nanometre."""
    return sum(edge.length_nm for edge in outline.edges)


def marks(outline: Outline) -> tuple[int, ...]:
    return joist_marks(outline.width_nm, JOISTS.spacing_nm, JOISTS.thickness_nm)


def rows(outline: Outline) -> tuple[int, ...]:
    """Blocking rows a joist spacing apart or less, as boards along the joists need them."""
    joist = outline.depth_nm - 2 * JOISTS.thickness_nm
    bays = -(-joist // JOISTS.spacing_nm)
    return tuple(JOISTS.thickness_nm + joist * k // bays for k in range(1, bays))


def cut_out(corner: str, width_ft: float, depth_ft: float) -> CutOut:
    return CutOut(Corner(corner), round(width_ft * FOOT), round(depth_ft * FOOT))


def clip(corner: str, leg_ft: float) -> Clip:
    return Clip(Corner(corner), round(leg_ft * FOOT))


def outline(width_ft: float, depth_ft: float, *cuts: Cut) -> Outline:
    return Outline(round(width_ft * FOOT), round(depth_ft * FOOT), cuts)


L_SHAPE = outline(18, 12, cut_out("front right", 4, 5))
CLIPPED = outline(16, 12, clip("front left", 3))
BOTH = outline(18, 12, cut_out("front right", 4, 5), clip("back left", 3))


@st.composite
def outlines(draw: st.DrawFn, longest_ft: int = 30) -> Outline:
    """Any outline that can be built, to the half inch."""
    half = INCH // 2
    side = st.integers(6 * 24, longest_ft * 24)
    width, depth = draw(side), draw(side)
    cuts: list[Cut] = []
    for corner in Corner:
        kind = draw(st.sampled_from(["square", "cut out", "clipped"]))
        reach = st.integers(24, max(24, min(width, depth) // 2))
        if kind == "cut out":
            cuts.append(CutOut(corner, draw(reach) * half, draw(reach) * half))
        elif kind == "clipped":
            cuts.append(Clip(corner, draw(reach) * half))
    assume(not cut_faults(width * half, depth * half, cuts))
    return Outline(width * half, depth * half, tuple(cuts))
