"""Every check, one line each, in the order of the work; and the checks a job has."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from tracker.trade.checks.base import Check, in_job_units
from tracker.trade.checks.boards import BOARD_LAYOUT, GAP, SCREWS
from tracker.trade.checks.climb import STAIR
from tracker.trade.checks.design import DESIGN_CHECK
from tracker.trade.checks.finishing import FINISH_READY
from tracker.trade.checks.footing import FOOTING
from tracker.trade.checks.frame import CROWN, FASTENERS, JOIST_SPACING, STOCK_LENGTHS, SUPPORT
from tracker.trade.checks.ground import BASE, STRIPPED
from tracker.trade.checks.guard import GUARD
from tracker.trade.checks.ledger import LEDGER
from tracker.trade.checks.paper import FINAL_INSPECTION, FOOTING_INSPECTION, FRAMING_INSPECTION, LOCATE, PERMIT
from tracker.trade.checks.plane import BLOCK_LEVEL, LAYOUT_SQUARE, LEVEL, SQUARE
from tracker.trade.checks.span import SPAN
from tracker.trade.checks.stringers import STRINGERS
from tracker.trade.checks.structure import BEAM, POST
from tracker.trade.checks.underdeck import UNDER_DECK
from tracker.trade.checks.yard import DELIVERY
from tracker.trade.lengths import Unit
from tracker.trade.phases import Phase
from tracker.trade.spec import JobSpec, Platform

CHECKS: tuple[Check, ...] = (
    PERMIT, DESIGN_CHECK, LOCATE, DELIVERY, STOCK_LENGTHS, LAYOUT_SQUARE, STRIPPED, FOOTING_INSPECTION, BASE, FOOTING, BLOCK_LEVEL, POST, BEAM,
    LEDGER, CROWN, JOIST_SPACING, SPAN, FASTENERS, SUPPORT, SQUARE, LEVEL, STRINGERS, UNDER_DECK, FRAMING_INSPECTION, GAP, BOARD_LAYOUT,
    SCREWS, STAIR, GUARD, FINAL_INSPECTION, FINISH_READY,
)  # fmt: skip

BY_KEY: Mapping[str, Check] = {check.key: check for check in CHECKS}


@cache
def check_for(key: str, unit: Unit) -> Check:
    """The check of that name as a job of this unit meets it; raises KeyError for none."""
    return in_job_units(BY_KEY[key], unit)


@dataclass(frozen=True, slots=True)
class JobCheck:
    """A check of a job: ``key`` as people name it, ``square``, or ``square.upper`` where the job has several platforms.

    ``platform`` is the one it judges; a check of the whole job judges the first.
    """

    key: str
    check: Check
    phase: str
    platform: Platform


def checks_for(job: JobSpec, phases: Iterable[Phase]) -> tuple[JobCheck, ...]:
    """The checks a job has in these phases, in order."""
    out: list[JobCheck] = []
    for phase in phases:
        for key in phase.checks:
            check = check_for(key, job.unit)
            having = [platform for platform in job.platforms if check.applies(job, platform)]
            if check.per_platform and len(job.platforms) > 1:
                out += [JobCheck(f"{key}.{platform.name}", check, phase.key, platform) for platform in having]
            elif having:
                out.append(JobCheck(key, check, phase.key, having[0]))
    return tuple(out)
