"""Care of a finished deck: what is due when, by its boards and its finish, and what the client is told.

Intervals count from the hand-over (a coat from the day the finish went on, when that was later), or from the last time the
thing was done. A care day falls on the 28th of its month at the latest, so that every month has it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from tracker.trade.places import guard_called_for
from tracker.trade.rules import COMMON
from tracker.trade.spec import ON_GROUND, BoardKind, Finish, JobSpec

HANDBOOK = "Wood Handbook (Forest Products Laboratory, FPL-GTR-190), finishing of wood"
LAST_DAY = 28
SETTLE_DAYS = 45
"""The middle of the 30 to 60 days after which fasteners are seated again (common practice)."""


@dataclass(frozen=True, slots=True)
class CareTask:
    """One thing to do to a deck: first ``after_days`` or ``after_months`` from the start, then every ``months`` (0: once).

    ``from_finish`` counts from the day the finish went on.
    """

    key: str
    title: str
    what: str
    source: str
    months: int = 0
    after_days: int = 0
    after_months: int = 0
    from_finish: bool = False


@dataclass(frozen=True, slots=True)
class CareDate:
    """When a task is due next, and when it was last done (None: never)."""

    task: CareTask
    due: date
    done: date | None = None


def add_months(day: date, months: int) -> date:
    """The same day ``months`` later, the 28th at the latest."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, LAST_DAY))


def care_tasks(job: JobSpec) -> tuple[CareTask, ...]:
    """What this deck needs, the first due first."""
    kinds = {platform.decking.kind for platform in job.platforms}
    wood, composite = BoardKind.WOOD in kinds, BoardKind.COMPOSITE in kinds
    out = [
        CareTask("settle", "Fasteners and blocks, once it has settled", _settle(job), f"{COMMON}: 30 to 60 days after",
                 after_days=SETTLE_DAYS),
        CareTask("sweep", "Gaps swept clear",
                 "Sweep off leaves, clear the gaps with a putty knife, cut plants back and pull soil away from the frame:"
                 " wood that cannot dry rots.", COMMON, months=6, after_months=6),
    ]  # fmt: skip
    if composite:
        out.append(CareTask(
            "wash", "Wash",
            "Wash with mild soap, water and a soft brush, and rinse. The maker's instructions come first: they also say"
            " whether a pressure washer is allowed.", f"{COMMON}; the maker's instructions decide", months=6, after_months=6,
        ))  # fmt: skip
    else:
        out.append(CareTask(
            "wash", "Wash",
            "Wash with a deck cleaner or mild soap and a stiff fibre brush, along the boards, and rinse. No pressure washer"
            " close up (it tears the fibres), no wire brush (it leaves rust).", COMMON, months=12, after_months=12,
        ))  # fmt: skip
    if wood and job.finish is Finish.OIL:
        out.append(CareTask(
            "coat", "Oil again",
            "Wash, let it dry some days, oil again. It is due when a drop of water soaks in within about 10 minutes.",
            f"{HANDBOOK}: a clear water repellent lasts about 1 year; drop test: {COMMON}",
            months=12, after_months=12, from_finish=True,
        ))  # fmt: skip
    if wood and job.finish is Finish.STAIN:
        out.append(CareTask(
            "coat", "Stain again",
            "Wash, let it dry some days, stain again with the same product, before the old coat has worn through.",
            f"{HANDBOOK}: a pigmented penetrating finish lasts 2 to 3 years; taken at 2",
            months=24, after_months=24, from_finish=True,
        ))  # fmt: skip
    out.append(CareTask("look-over", "Yearly look-over", _look_over(job, wood), COMMON, months=12, after_months=12))
    return tuple(sorted(out, key=lambda task: task.after_days or task.after_months * 30))


def _settle(job: JobSpec) -> str:
    text = "Drive popped screws and nails home, tighten bolts"
    if any(platform.support in ON_GROUND for platform in job.platforms):
        text += ", check the blocks for settling and level the frame again"
    return text + "."


def _look_over(job: JobSpec, wood: bool) -> str:
    parts = ["the frame from below: rust, rot (an awl goes in), loose hangers, heaved footings or blocks"]
    if wood:
        parts.append("boards: cups, splits, splinters, gaps")
    if any(platform.attached for platform in job.platforms):
        parts.append("the ledger: flashing, every bolt, soft wood behind it")
    if any(map(guard_called_for, job.platforms)):
        parts.append("the guard: push it hard at every post, nothing may give")
    if any(platform.stairs for platform in job.platforms):
        parts.append("the stairs: treads, stringers, handrail")
    return "Look over " + "; ".join(parts) + ". Keep people off what is loose until it is mended."


def care_dates(
    job: JobSpec, handed_over: date, finished: date | None = None, done: Mapping[str, date] | None = None
) -> tuple[CareDate, ...]:
    """When each task of a deck handed over on a day is due next, the first due first.

    ``finished`` is the day the finish went on, ``done`` the last day each task was done; what is done once and for all is
    left out.
    """
    out: list[CareDate] = []
    for task in care_tasks(job):
        last = (done or {}).get(task.key)
        if last is not None and not task.months:
            continue
        if last is not None:
            due = add_months(last, task.months)
        else:
            start = max(handed_over, finished or handed_over) if task.from_finish else handed_over
            due = add_months(start, task.after_months) if task.after_months else start + timedelta(task.after_days)
        out.append(CareDate(task, due, last))
    return tuple(sorted(out, key=lambda found: found.due))


def care_notes(job: JobSpec) -> tuple[str, ...]:
    """What the client should know of the deck, a sentence or two each."""
    kinds = {platform.decking.kind for platform in job.platforms}
    out: list[str] = []
    if BoardKind.WOOD in kinds:
        out.append(
            "Wood moves: boards dry in the first season, gaps open, small checks along the grain come. That is no fault."
            " A cupped board, a raised screw or a splinter is: tell us."
        )
    if BoardKind.COMPOSITE in kinds:
        out.append(
            "Composite boards get hot in the sun and mark under rubber mats. The maker's care sheet comes first."
        )
    match job.finish:
        case Finish.OIL if BoardKind.WOOD in kinds:
            out.append(
                "The boards are oiled. Oil wears from the sun down: a coat a year keeps water out. Colour fades first."
            )
        case Finish.STAIN if BoardKind.WOOD in kinds:
            out.append(
                "The boards are stained. Renew the coat before bare wood shows: then washing is all it needs before."
            )
        case Finish.NONE if BoardKind.WOOD in kinds:
            out.append(
                "The boards have no finish: they turn grey. A finish can still go on once they are clean and dry."
            )
        case _:
            pass
    out += [
        "Snow: a plastic shovel, along the boards. No rock salt: it eats fasteners.",
        "Leaves and pots hold water: sweep, and move pots and planters now and then.",
        "A grill stands on a mat of its own and away from the house; hot ashes never on the deck.",
        "A hot tub, a roof or a screen room weighs more than the deck was sized for: ask before you add one.",
    ]
    if any(platform.attached for platform in job.platforms):
        out.append(
            "Siding and flashing over the ledger keep the house dry: have them closed again after any work there."
        )
    return tuple(out)


def care_cautions(job: JobSpec) -> tuple[str, ...]:
    """What can hurt the person who looks after the deck."""
    out = []
    if job.finish is not Finish.NONE:
        out.append(
            "Oily rags heat by themselves and burn: lay them flat outdoors to dry, or keep them under water in a closed metal"
            " can. The maker's label comes first."
        )
    treated = any(platform.joists.use_category or platform.decking.use_category for platform in job.platforms)
    if treated:
        out.append(
            "Treated wood: dust mask, goggles and gloves to saw or sand it; never burn it, not in a stove either; no mulch;"
            " sawdust and scraps go with the ordinary trash."
        )
    if any(guard_called_for(platform) or platform.stairs for platform in job.platforms):
        out.append("A loose guard, rail or tread is a fall: keep people off until it is mended.")
    if job.site.electric:
        out.append(
            "Lights and outlets: a licensed electrician; press the test button of a protected outlet now and then."
        )
    return tuple(out)
