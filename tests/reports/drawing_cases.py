"""Platforms to draw: every sample job, sizes drawn at random, and checks judged by the real checks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from hypothesis import strategies as st

from tracker.book.views import CheckState, CheckView
from tracker.reports.drawing import draw_platform
from tracker.reports.drawing_shapes import Drawing
from tracker.trade.answer import Verdict
from tracker.trade.checks.base import Case
from tracker.trade.checks.registry import BY_KEY
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.lengths import INCH, Unit
from tracker.trade.outline import Clip, Corner, Cut, CutOut
from tracker.trade.readings import readings_of
from tracker.trade.spec import JobSpec, Platform

FILES = sorted((Path(__file__).parents[2] / "sample_jobs").glob("*.toml"))
SAMPLES: dict[str, tuple[JobSpec, Platform]] = {
    f"{path.stem[:6]} {platform.name}": (spec, platform)
    for path in FILES
    for spec in [parse_job_bytes(path.read_bytes(), path.name).spec]
    for platform in spec.platforms
}
HOSTILE = "<script>alert('x')</script> [/x] [bold]\" & ]]> \x1b[31m\u202e"


def sample(name: str) -> tuple[JobSpec, Platform]:
    """The sample whose name begins so."""
    return next(found for key, found in SAMPLES.items() if key.startswith(name))


def judged(job: JobSpec, platform: Platform, key: str, readings: Mapping[str, str], state: str = "") -> CheckView:
    """A check of a platform as the book shows it after these readings."""
    check, case = BY_KEY[key], Case(job, platform, date(2026, 5, 12))
    form = check.form(case)
    answer = check.judge(case, readings_of(form, tuple(readings.items()), job.unit))
    passed = CheckState.PASSED if answer.verdict is Verdict.PASSED else CheckState.FAILED
    return CheckView(
        key=key, title=check.title, asks=check.asks, phase="frame", platform=platform.name,
        state=CheckState(state) if state else passed, form=form, caution="", source="", answer=answer,
    )  # fmt: skip


def crowned(job: JobSpec, platform: Platform, odd: Mapping[str, str]) -> CheckView:
    """A crown reading of 1/8 in (3 mm) on every joist but the ``odd`` ones."""
    usual = "1/8" if job.unit is Unit.INCH else "3"
    rows = BY_KEY["crown"].form(Case(job, platform, date(2026, 5, 12))).rows
    return judged(job, platform, "crown", {row: odd.get(row, usual) for row in rows})


@dataclass(frozen=True, slots=True)
class Sizes:
    """A platform to draw: a sample job with other sizes, in feet and inches that a short failure report can show."""

    name: str
    width_in: int
    depth_in: int
    cuts: tuple[Cut, ...]
    angle_deg: int

    def drawing(self) -> Drawing:
        """The drawing of it."""
        job, platform = sample(self.name)
        changed = replace(
            platform, width_nm=self.width_in * INCH, depth_nm=self.depth_in * INCH, cuts=self.cuts,
            decking=replace(platform.decking, angle_deg=self.angle_deg), beams=(), stairs=(), guard=None,
        )  # fmt: skip
        return draw_platform(job, changed, title="A platform (invented)")


@st.composite
def sizes(draw: st.DrawFn) -> Sizes:
    """Any sensible size, often with cut corners, in boards of any direction."""
    width, depth = (draw(st.integers(6 * 12, 40 * 12)) for _ in range(2))
    cuts: list[Cut] = []
    for corner in draw(st.lists(st.sampled_from([Corner.BACK_LEFT, Corner.FRONT_RIGHT]), max_size=2, unique=True)):
        most = min(width, depth) // 3
        if most >= 24:
            leg = draw(st.integers(12, most)) * INCH
            cuts.append(Clip(corner, leg) if draw(st.booleans()) else CutOut(corner, leg, leg))
    name = draw(st.sampled_from(["26-025", "26-014", "26-023"]))
    return Sizes(name, width, depth, tuple(cuts), draw(st.sampled_from([0, 45, 90])))
