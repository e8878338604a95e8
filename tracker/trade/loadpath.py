"""The beams of a platform with what each carries, as the beam, post and footing tables are entered.

Method: tributary areas, common practice (``postloads``).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from tracker.trade.framing import BeamPlan, plan_frame
from tracker.trade.postloads import PostLoad, post_loads, stacked_on, table_joist_nm
from tracker.trade.spec import JobSpec, Platform


@dataclass(frozen=True, slots=True)
class BeamLoad:
    """A beam and what it carries; ``post_span_nm`` is between its posts, ``table_joist_nm`` what tables are entered with."""

    plan: BeamPlan
    table_joist_nm: int
    post_span_nm: int
    posts: tuple[PostLoad, ...]


def beam_loads(job: JobSpec, platform: Platform) -> tuple[BeamLoad, ...]:
    """The beams of a platform from the back, with their posts; none for a platform without beams."""
    plans = plan_frame(platform, job.rules, job.site).beams
    stack = stacked_on(job, platform)
    places = [plan.beam.at_nm for plan in plans]
    out: list[BeamLoad] = []
    first = 1
    for index, plan in enumerate(plans):
        posts = post_loads(plan.post_at_nm, plan.length_nm, plan.carried_nm, stack, beam=index, first=first,
                           loading=job.loading)  # fmt: skip
        first += len(posts)
        joist = table_joist_nm(plan.beam.at_nm, places, platform.depth_nm, platform.attached, len(stack))
        apart = max(b - a for a, b in pairwise(plan.post_at_nm))
        out.append(BeamLoad(plan, joist, apart, posts))
    return tuple(out)
