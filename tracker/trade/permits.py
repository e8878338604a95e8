"""Which of the usual permit conditions a job meets, put as questions for the local office. Never a
permission.

The four conditions are those of IRC R105.2 (2018 numbering) as a town prints them: no more than 200 square
feet, no more than 30 in above grade at any point, not attached to a dwelling, not serving the required exit
door. All four together.
"""

from __future__ import annotations

from dataclasses import dataclass

from tracker.errors import InputError
from tracker.trade.answer import Answer, Plain
from tracker.trade.cautions import DEFER
from tracker.trade.lengths import INCH, Unit, format_trade
from tracker.trade.metric import all_in_unit, answer_in_unit
from tracker.trade.phases import facts
from tracker.trade.spec import JobSpec

SOURCE = "IRC R105.2 as a town's building office prints it; local amendments differ"
AREA_MOST_FT2 = 200.0
HEIGHT_MOST_NM = 30 * INCH
AREA_READ_FT2 = 1e6
"""An area of so much is taken for a slip of the pen."""


@dataclass(frozen=True, slots=True)
class Trigger:
    """One condition: its key, whether the job meets it (None when nobody has said), and what to ask the
    office.
    """

    key: str
    met: bool | None
    question: str


def permit_triggers(
    area_ft2: float, height_nm: int, attached: bool, serves_exit_door: bool | None, *, unit: Unit = Unit.INCH
) -> tuple[Trigger, ...]:
    """Return the four conditions that take a deck out of the usual exemption; any one of them does.

    Raises InputError for an area that is not positive or a negative height.
    """
    if not 0 < area_ft2 < AREA_READ_FT2 or height_nm < 0:
        raise InputError("the deck has no area or stands below grade", "give its area and its height above grade")
    height = format_trade(height_nm, unit)
    more = format_trade(HEIGHT_MOST_NM, unit)
    return (
        Trigger("area", area_ft2 > AREA_MOST_FT2,
                f"the deck is {area_ft2:.0f} ft2: does your office ask for a permit at that size"
                " (usual limit 200 ft2),"
                " and are platforms counted together?"),
        Trigger("height", height_nm > HEIGHT_MOST_NM,
                f"it stands {height} at its highest point: is that within your height limit (usual"
                f" limit {more}),"
                " and to which ground do you measure?"),
        Trigger("attached", attached,
                "it is attached to the house: what do you ask for the ledger?" if attached
                else "it is free-standing: do you treat it as detached at this distance from the house?"),
        Trigger("exit_door", serves_exit_door,
                "does it serve the required exit door, and if so what do you ask for?"),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Extras:
    """What a deck has besides its size that an office usually asks about."""

    stairs: bool = False
    guard: bool = False
    electric: bool = False
    digging: bool = False


def permit_questions(
    area_ft2: float,
    height_nm: int,
    attached: bool,
    serves_exit_door: bool | None,
    extras: Extras = Extras(),
    *,
    unit: Unit = Unit.INCH,
) -> Answer:
    """Return what to ask the local office about a deck of this size before any work.

    Keys: ``area``, ``height``, ``attached``, ``exit_door`` (true, false, or None when not known), ``any``
    (true when one is met, None when it hangs on the exit door), and ``ask``, the questions. Raises InputError
    for an area that is not positive or a negative height.
    """
    triggers = permit_triggers(area_ft2, height_nm, attached, serves_exit_door, unit=unit)
    met = [trigger.met for trigger in triggers]
    found: bool | None = True if True in met else None if None in met else False
    ask = [trigger.question for trigger in triggers]
    if extras.stairs:
        ask.append("it has stairs: which drawings and inspections do you ask for them?")
    if extras.guard or height_nm > HEIGHT_MOST_NM:
        ask.append("it has a guard or may need one: from which height, how high, and how do you test it?")
    if extras.electric:
        ask.append("it has wiring: is an electrical permit needed, and may only a licensed electrician do it?")
    if extras.digging:
        ask.append("there is digging: beside the utility locate, do you inspect the holes before concrete?")
    ask.append("which setbacks, easements, lot coverage or association rules apply even where no permit is needed?")
    headline = {
        True: "ask for a permit: this job is outside the usual exemption",
        False: "ask the office to confirm: this job meets none of the usual permit conditions",
        None: "ask about the exit door: whether the usual exemption could apply hangs on it",
    }[found]
    ask = list(all_in_unit(ask, unit))
    answer: dict[str, Plain] = {trigger.key: trigger.met for trigger in triggers}
    answer |= {"any": found, "ask": list(ask)}
    said = Answer(
        headline=headline,
        inputs={
            "area_ft2": round(area_ft2, 1),
            "height_in": height_nm / INCH,
            "attached": attached,
            "serves_exit_door": serves_exit_door,
        },
        answer=answer,
        working=(
            f"area of all platforms {area_ft2:.1f} ft2, usual limit {AREA_MOST_FT2:g} ft2",
            f"highest point {height_nm / INCH:g} in, usual limit {HEIGHT_MOST_NM // INCH} in",
            "the usual exemption holds only if it is small, low, free-standing and off the exit door, all four",
        ),
        source=SOURCE,
        moves=tuple(ask),
        caution=f"{DEFER}; this is a list of questions, not a permission."
        " Exempt from a permit is not exempt from the code.",
    )
    return answer_in_unit(said, unit)


def permit_answer(job: JobSpec, *, serves_exit_door: bool | None = None) -> Answer:
    """Return ``permit_questions`` for a job: its platforms counted together, the highest counting.

    Raises InputError for a job with no platform.
    """
    if not job.platforms:
        raise InputError("the job has no platform", "add one before asking about permits")
    known = facts(job)
    return permit_questions(
        sum(platform.area_ft2 for platform in job.platforms),
        max(platform.height_nm for platform in job.platforms),
        any(platform.attached for platform in job.platforms),
        serves_exit_door,
        Extras(
            stairs="stairs" in known, guard="guard" in known, electric=job.site.electric, digging="digging" in known
        ),
        unit=job.unit,
    )
