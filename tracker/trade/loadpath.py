"""The beams of a platform with what each carries, as the beam, post and footing tables are entered.

Method: tributary areas, common practice (``postloads``).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from tracker.trade.framing import BeamPlan, plan_frame
from tracker.trade.loads import TRIBUTARY
from tracker.trade.postloads import PostLoad, post_loads, stacked_on
from tracker.trade.spec import JobSpec, Platform


@dataclass(frozen=True, slots=True)
class BeamLoad:
    """A beam and what it carries; ``span_nm`` is the longest joist span beside it, ``post_span_nm`` between its posts.

    ``table_joist_nm`` is the joist span to enter beam and post tables with: the real one, or the longer one that loads
    a table's beam (0.75 of the joist span) as much as this strip and the stack on it do.
    """

    plan: BeamPlan
    span_nm: int
    table_joist_nm: int
    post_span_nm: int
    posts: tuple[PostLoad, ...]


def beam_loads(job: JobSpec, platform: Platform) -> tuple[BeamLoad, ...]:
    """The beams of a platform from the back, with their posts; none for a platform without beams."""
    plans = plan_frame(platform, job.rules, job.site).beams
    stack = stacked_on(job, platform)
    places = sorted({plan.beam.at_nm for plan in plans} | ({0} if platform.attached else set()))
    spans = list(pairwise(places))
    out: list[BeamLoad] = []
    first = 1
    for index, plan in enumerate(plans):
        beside = [b - a for a, b in spans if plan.beam.at_nm in (a, b)]
        posts = post_loads(plan.post_at_nm, plan.length_nm, plan.carried_nm, stack, beam=index, first=first)
        first += len(posts)
        loaded = round(plan.carried_nm * (1 + len(stack)) / TRIBUTARY)
        longest = max(beside, default=0)
        apart = max(b - a for a, b in pairwise(plan.post_at_nm))
        out.append(BeamLoad(plan, longest, max(longest, loaded), apart, posts))
    return tuple(out)
