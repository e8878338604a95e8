"""Invented jobs for the tests of phases, checks and schedules: a ground-level platform, a raised attached deck, mixes."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

from hypothesis import strategies as st

from tests.trade.geometry_cases import GROUND, inch
from tracker.trade.lengths import Unit
from tracker.trade.rules import Rules
from tracker.trade.spec import (
    Attachment,
    Beam,
    BoardKind,
    Finish,
    Guard,
    JobSpec,
    Platform,
    Site,
    Stairs,
    Support,
)

RAISED = replace(
    GROUND, name="upper", width_nm=inch(192), depth_nm=inch(144), height_nm=inch(66), uncut=False, rim_stock_nm=0,
    joist_stock_nm=0, attachment=Attachment.HOUSE, support=Support.FOOTINGS,
    joists=replace(GROUND.joists, size="2x10", depth_nm=inch(9.25)), beams=(Beam(2, "2x12", inch(126), 3, "6x6"),),
    stairs=(Stairs(inch(36), inch(66)),), guard=Guard(inch(36), inch(480)),
)  # fmt: skip


def job_of(
    *platforms: Platform,
    digging: bool = False,
    electric: bool = False,
    permit: bool = False,
    finish: Finish = Finish.NONE,
    unit: Unit = Unit.INCH,
    rules: Rules | None = None,
) -> JobSpec:
    """A job of these platforms in an invented yard."""
    site = Site("Elmfield (invented)", inch(36), "clay", 120, digging, electric)
    return JobSpec(unit, platforms, site, permit, finish, rules or Rules(), 2)


GROUND_JOB = job_of(GROUND)
_ALL = job_of(RAISED, replace(GROUND, name="lower"), digging=True, electric=True, permit=True, finish=Finish.OIL)
FULL_JOB = replace(_ALL, site=replace(_ALL.site, old_deck_nm=(inch(120), inch(144)), drain_nm=inch(240)))


def every_mix() -> list[JobSpec]:
    """One job for each mix of what chooses phases."""
    out = []
    for support, house, stairs, guard, board, digging, electric, permit, finish in product(
        Support, Attachment, (False, True), (False, True), BoardKind, (False, True), (False, True), (False, True),
        (Finish.NONE, Finish.OIL),
    ):  # fmt: skip
        base = RAISED if support is Support.FOOTINGS else GROUND
        platform = replace(
            base, support=support, attachment=house, decking=replace(base.decking, kind=board),
            stairs=RAISED.stairs if stairs else (), guard=RAISED.guard if guard else None,
        )  # fmt: skip
        out.append(job_of(platform, digging=digging, electric=electric, permit=permit, finish=finish))
    return out


EVERY_MIX = every_mix()
JOBS = st.sampled_from([GROUND_JOB, FULL_JOB, *EVERY_MIX])
