"""The check before the finish: are boards, air and forecast dry enough, or how long to wait."""

from __future__ import annotations

import math
from datetime import date, timedelta

from tracker.errors import InputError
from tracker.text import count, listing
from tracker.trade.answer import Answer, Limit
from tracker.trade.checks.base import Case, Check, incomplete
from tracker.trade.checks.found import Found
from tracker.trade.climate import DEW_SOURCE, EMC_SOURCE, dew_point_c, emc_tenths
from tracker.trade.dates import format_day
from tracker.trade.lengths import Unit
from tracker.trade.plausible import meter_reading
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.rules import BY_KEY, COMMON, RuleKind, Rules, celsius_steps, in_celsius
from tracker.trade.spec import BoardKind, Finish, JobSpec, Platform

_ROWS = ("b1", "b2", "b3", "b4", "b5")
_LEAST_BOARDS = 3
_SLACK = 1e-6
"""°F that the way between the scales may lose."""
_SOURCE = f"moisture, weather and drop test: {COMMON} (limits: the house rules); dew point: {DEW_SOURCE}"
_CAUTION = (
    "Oily rags heat by themselves and burn: lay them flat outdoors or keep them under water in a closed metal can."
    " The maker's label comes first: its temperatures, its moisture, its waiting."
)


def _form(case: Case) -> Form:
    metric = case.job.unit is Unit.MM
    degree = "°C" if metric else "°F"
    return Form(
        fields=(
            Field("rain", "days since rain", Kind.COUNT, example="3", help="dew-soaked boards count as rain"),
            Field("air", "air temperature", Kind.NUMBER, unit=degree, example="21" if metric else "70"),
            Field("humidity", "humidity", Kind.PERCENT, example="55"),
            Field("drop", "a drop soaks in", Kind.YESNO, example="yes",
                  help="water on a clean board, gone in about 10 minutes"),
            Field("forecast", "dry hours forecast", Kind.COUNT, example="48"),
            Field("surface", "board surface temperature", Kind.NUMBER, unit=degree, required=False,
                  example="20" if metric else "68", help="left blank, the air's"),
        ),
        columns=(Field("moisture", "moisture", Kind.PERCENT, example="13.5"),),
        rows=_ROWS,
        row_word="board",
        open_rows=True,
        least_rows=_LEAST_BOARDS,
    )  # fmt: skip


def fahrenheit(celsius: float) -> float:
    """°F of a temperature in °C (exact by definition)."""
    return celsius * 9 / 5 + 32


def _celsius(tenths: int, unit: Unit) -> float:
    return tenths / 10 if unit is Unit.MM else (tenths / 10 - 32) * 5 / 9


def _judge(case: Case, readings: Readings) -> Answer:
    unit, rules = case.job.unit, case.rules
    wanted = [spec.label for spec in _form(case).fields if spec.required and not readings.has(spec.key)]
    moistures = readings.column("moisture")
    if len(moistures) < _LEAST_BOARDS:
        wanted.append(f"the moisture of at least {_LEAST_BOARDS} boards, sun and shade")
    if wanted:
        return incomplete(listing(wanted, "and"), source=_SOURCE)
    for label, tenths in moistures.items():
        meter_reading(tenths, f"the moisture of {label}")
    humidity = readings.whole("humidity") / 10
    air_c = _celsius(readings.whole("air"), unit)
    dew_c = dew_point_c(air_c, humidity)
    surface_c = _celsius(readings.whole("surface"), unit) if readings.has("surface") else air_c
    if abs(surface_c - air_c) > 60:
        raise InputError(
            "board and air temperatures do not belong together", f"read both in {'°C' if unit is Unit.MM else '°F'}"
        )
    air_f, dew_f, surface_f = (round(fahrenheit(c), 6) for c in (air_c, dew_c, surface_c))
    found = Found()
    most = rules.figure("finish_moisture_most")
    again = case.today
    wettest = max(moistures, key=lambda label: moistures[label])
    balance = emc_tenths(humidity=humidity, temp_c=air_c) if -40 <= air_c <= 100 else 0
    found.working.append(
        f"wettest board {wettest}: {moistures[wettest] / 10:g} %, at most {most / 10:g} %;"
        f" this air holds wood at {balance / 10:g} % ({EMC_SOURCE})"
    )
    if wet := [label for label, tenths in moistures.items() if tenths > most]:
        dries = "" if balance < most else "; this air is too damp to dry them so far"
        found.fault(
            f"{listing(wet, 'and')} over {most / 10:g} %",
            f"wait until every board reads {most / 10:g} % or less, read again in a week{dries}",
        )
        again = case.today + timedelta(days=7)
    again = max(again, _weather(case, readings, found))
    coldest, hottest, margin = (rules.text(key, unit) for key in ("finish_coldest", "finish_hottest", "dew_margin"))
    limits_f = [_limit_f(rules, key, unit) for key in ("finish_coldest", "finish_hottest", "dew_margin")]
    above = _above(surface_f - dew_f, unit)
    found.working.append(
        f"dew point of {humidity:g} % air at {_degrees(air_f, unit)}: {_degrees(dew_f, unit)};"
        f" surface {_degrees(surface_f, unit)}, {above} above it, at least {margin}"
    )
    if not limits_f[0] - _SLACK <= air_f <= limits_f[1] + _SLACK:
        found.fault(
            f"air at {_degrees(air_f, unit)}", f"wait until it is {coldest} to {hottest}, and stays so overnight"
        )
    if surface_f - dew_f < limits_f[2] - _SLACK:
        found.fault(
            f"the boards are {above} above the dew point",
            f"wait until they are {margin} above it: later in the morning, or on a drier day",
        )
    return found.verdict(
        f"ready: wettest board {moistures[wettest] / 10:g} %, dew point {above} below the boards",
        inputs={
            "moisture_pct": {label: tenths / 10 for label, tenths in moistures.items()}, "humidity_pct": humidity,
            "air_f": round(air_f, 1), "surface_f": round(surface_f, 1),
            "rain_days": readings.whole("rain"), "dry_hours": readings.whole("forecast"),
        },
        answer={
            "ready": not found.faults, "moisture_most_pct": moistures[wettest] / 10, "dew_point_f": round(dew_f, 1),
            "dew_margin_f": round(surface_f - dew_f, 1), "emc_pct": balance / 10,
            "wait_until": again.isoformat() if again > case.today else None,
        },
        source=_SOURCE,
        limits=[
            *(rules.limit(key, unit) for key in (
                "finish_moisture_most", "finish_rain_days", "finish_dry_hours", "finish_coldest", "finish_hottest",
                "dew_margin",
            )),
            Limit("drop of water on a clean board", "gone in about 10 minutes", COMMON),
        ],
        caution=_CAUTION,
    )  # fmt: skip


def _degrees(value_f: float, unit: Unit) -> str:
    return f"{(value_f - 32) * 5 / 9:.1f} °C" if unit is Unit.MM else f"{math.floor(value_f * 10 + 0.5) / 10:g} °F"


def _above(steps_f: float, unit: Unit) -> str:
    """A difference of temperatures."""
    return f"{steps_f * 5 / 9:.1f} °C" if unit is Unit.MM else f"{steps_f:.1f} °F"


def _limit_f(rules: Rules, key: str, unit: Unit) -> float:
    """A limit in °F as it is shown: whole °C in a job in millimetres."""
    figure = rules.figure(key)
    if unit is not Unit.MM:
        return figure
    return celsius_steps(figure) * 9 / 5 if BY_KEY[key].kind is RuleKind.DEGREES else fahrenheit(in_celsius(figure))


def _weather(case: Case, readings: Readings, found: Found) -> date:
    """Rain behind, rain ahead, and the drop test; the first day the rain behind lets the finish go on."""
    rain, ahead = readings.whole("rain"), readings.whole("forecast")
    days, hours = case.rules.figure("finish_rain_days"), case.rules.figure("finish_dry_hours")
    found.working.append(f"{count(rain, 'day')} since rain, {days} wanted; {ahead} dry hours ahead, {hours} wanted")
    again = case.today + timedelta(days=max(days - rain, 0))
    if rain < days:
        found.fault(
            f"rain {count(rain, 'day')} ago", f"wait until {format_day(again, case.today)}, if no more rain falls"
        )
    if ahead < hours:
        found.fault(f"{count(ahead, 'dry hour')} ahead", f"wait for a dry spell of {hours} hours")
    if not readings.yes("drop"):
        found.fault(
            "a drop of water stands on the boards",
            "wait until it soaks in: let them weather, or clean off the mill glaze and let them dry",
        )
    return again


def _applies(job: JobSpec, platform: Platform) -> bool:
    return job.finish is not Finish.NONE and platform.decking.kind is BoardKind.WOOD


FINISH_READY = Check(
    key="finish-ready",
    title="Ready for the finish",
    asks="put the meter in three boards or more, sun and shade; a drop of water; thermometer, hygrometer and forecast",
    source=_SOURCE,
    form=_form,
    judge=_judge,
    applies=_applies,
    per_platform=False,
    caution=_CAUTION,
)
