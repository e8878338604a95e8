"""The moisture that air brings sheltered wood to, from temperature and humidity or from a kind of climate.

Formula: Wood Handbook (FPL-GTR-282) Eq. 4-5. Monthly figures of a place are the user's own to give.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from tracker.errors import InputError
from tracker.text import listing, near
from tracker.trade.answer import Answer
from tracker.trade.movement import FIBRE_SATURATION_TENTHS, SEASON_TENTHS
from tracker.trade.readings import parse_tenths

EMC_SOURCE = "Wood Handbook (FPL-GTR-282) ch. 4, Eq. 4-5 (Hailwood and Horrobin)"


@dataclass(frozen=True, slots=True)
class Climate:
    """A kind of climate: moisture of sheltered wood outdoors in tenths of a percent, the year's mean and the driest and
    wettest month.
    """

    name: str
    moisture_tenths: int
    driest_tenths: int
    wettest_tenths: int
    source: str


# Each with its own source; where no months are known the swing is 2 % either way (common practice).
CLIMATES: tuple[Climate, ...] = (
    Climate("desert", 69, 44, 90,
            "Wood Handbook (FPL-GTR-282) Table 13-1, Phoenix, Arizona: mean, June and December"),
    Climate("dry", 100, 80, 120, "from memory, within 1 %: high plains and mountains; swing: common practice"),
    Climate("temperate", 120, 100, 140, "common practice"),
    Climate("humid", 140, 120, 160, "from memory, within 1 %: the south-east; swing: common practice"),
    Climate("marine", 145, 122, 163,
            "from memory, within 1 %: the north-west coast; July and December as FPL-RN-0268 has them for Seattle"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Service:
    """Moisture in service, tenths of a percent: the year's mean, and its driest and wettest month."""

    mean_tenths: int
    driest_tenths: int
    wettest_tenths: int


_TWO_FIGURES = re.compile(r"\s*([0-9.]+\s*%?)\s*(?:to|-|–|\.\.)\s*([0-9.]+\s*%?)\s*")


def find_service(text: str) -> Service:
    """The moisture in service a person typed: a percent (``12``), the driest and wettest month (``9 to 15``), or a climate.

    A single percent swings 2 % either way over the year (common practice). Raises InputError naming the climates there
    are; a figure outside 3 to 30 % is no moisture wood keeps outdoors.
    """
    word = text.strip().lower()
    for climate in CLIMATES:
        if climate.name == word:
            return Service(climate.moisture_tenths, climate.driest_tenths, climate.wettest_tenths)
    names = [climate.name for climate in CLIMATES]
    if re.match(r"[^0-9+-]", word):
        hint = f"write a percent like 12, the driest and wettest month like 9 to 15, or {listing(names)}"
        raise InputError(f"{text.strip()[:40]!r} is not a climate known here{near(word, names)}", hint)
    if two := _TWO_FIGURES.fullmatch(word):
        driest, wettest = sorted(_percent(part) for part in two.groups())
        return Service((driest + wettest) // 2, driest, wettest)
    mean = _percent(word)
    return Service(mean, max(mean - SEASON_TENTHS, 0), min(mean + SEASON_TENTHS, FIBRE_SATURATION_TENTHS))


def _percent(text: str) -> int:
    tenths = parse_tenths(text, "a moisture in service")
    if not 30 <= tenths <= 300:
        raise InputError(f"a service moisture of {tenths / 10:g} % cannot be", "give 3 to 30 percent, like 12")
    return tenths


def service_tenths(text: str) -> int:
    """The mean moisture in service of what ``find_service`` takes; raises InputError as it does."""
    return find_service(text).mean_tenths


# W, K, K1, K2 of Eq. 4-5 as polynomials of °C: FPL-GTR-282 p. 4-3.
_EMC_CELSIUS = (
    (349, 1.29, 0.0135),
    (0.805, 0.000736, -0.00000273),
    (6.27, -0.00938, -0.000303),
    (1.91, 0.0407, -0.000293),
)
# The same of °F, from memory; agrees with the Celsius form to 0.1 % moisture.
_EMC_FAHRENHEIT = (
    (330, 0.452, 0.00415), (0.791, 0.000463, -0.000000844), (6.34, 0.000775, -0.0000935), (1.09, 0.0284, -0.0000904),
)  # fmt: skip
# How cold and hot the formula is asked; over 120 °F the printed table parts from it (see its tests).
COLDEST_F, HOTTEST_F, TRUSTED_F = -40.0, 212.0, 120.0


@dataclass(frozen=True, slots=True)
class _Air:
    """A temperature as given, its unit, whether it is in the trusted range, and the four terms of Eq. 4-5."""

    temperature: float
    unit: str
    hot: bool
    w: float
    k: float
    k1: float
    k2: float


def _air(temp_f: float | None, temp_c: float | None) -> _Air:
    if temp_f is not None and temp_c is None:
        temperature, form, unit, fahrenheit = temp_f, _EMC_FAHRENHEIT, "F", temp_f
    elif temp_c is not None and temp_f is None:
        temperature, form, unit, fahrenheit = temp_c, _EMC_CELSIUS, "C", temp_c * 1.8 + 32
    else:
        raise InputError("one temperature is needed, in °F or in °C", "give --temp-f 70 or --temp-c 21")
    if not COLDEST_F <= fahrenheit <= HOTTEST_F:
        span = "-40 to 212 °F" if unit == "F" else "-40 to 100 °C"
        raise InputError(f"{temperature:g} °{unit} is outside what the formula serves", f"give {span}")
    w, k, k1, k2 = (a + b * temperature + c * temperature**2 for a, b, c in form)
    return _Air(temperature, unit, fahrenheit > TRUSTED_F, w, k, k1, k2)


def _emc(air: _Air, humidity: float) -> float:
    if not 0 <= humidity <= 100:
        hint = "give relative humidity from 0 to 100 percent"
        raise InputError(f"a humidity of {humidity:g} % cannot be", hint)
    kh, k1, k2 = air.k * humidity / 100, air.k1, air.k2
    sorbed = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / air.w * (kh / (1 - kh) + sorbed)


def emc_pct(*, humidity: float, temp_f: float | None = None, temp_c: float | None = None) -> float:
    """Equilibrium moisture of wood, percent, in air of ``humidity`` percent at ``temp_f`` or ``temp_c``.

    Wood Handbook Eq. 4-5; the Fahrenheit coefficients are from memory and agree with the Celsius ones to 0.1 %.
    Raises InputError unless one temperature is given, from -40 to 212 °F, and humidity lies in 0 to 100.
    """
    return _emc(_air(temp_f, temp_c), humidity)


def emc_tenths(*, humidity: float, temp_f: float | None = None, temp_c: float | None = None) -> int:
    """Equilibrium moisture in whole tenths of a percent (see ``emc_pct``)."""
    return round(emc_pct(humidity=humidity, temp_f=temp_f, temp_c=temp_c) * 10)


# From memory: WMO-No. 8 (Guide to Instruments), saturation over water; c in °C.
_MAGNUS_B, _MAGNUS_C = 17.62, 243.12
DEW_SOURCE = "Magnus formula, from memory: WMO-No. 8 (Guide to Instruments), over water, -45 to 60 °C"


def dew_point_c(temp_c: float, humidity: float) -> float:
    """Dew point in °C of air at ``temp_c`` °C and ``humidity`` percent: c g / (b - g), g = ln(RH/100) + b T/(c + T).

    Raises InputError outside -45 to 60 °C, or for a humidity that is not more than 0 and at most 100.
    Source, from memory: Magnus formula, WMO-No. 8, b = 17.62, c = 243.12 °C.
    """
    if not -45 <= temp_c <= 60:
        raise InputError(
            f"air at {temp_c:.4g} °C, {temp_c * 1.8 + 32:.4g} °F, is outside what the formula serves",
            "give -45 to 60 °C, -49 to 140 °F",
        )
    if not 0 < humidity <= 100:
        raise InputError(f"a humidity of {humidity:g} % cannot be", "give more than 0 and at most 100 percent")
    g = math.log(humidity / 100) + _MAGNUS_B * temp_c / (_MAGNUS_C + temp_c)
    return _MAGNUS_C * g / (_MAGNUS_B - g)


def moisture_answer(*, humidity: float, temp_f: float | None = None, temp_c: float | None = None) -> Answer:
    """The moisture sheltered wood comes to in this air: key ``emc_pct``.

    Raises InputError as ``emc_pct`` does, and for a humidity that looks like a share of 1 (0.65 for 65 %).
    """
    air = _air(temp_f, temp_c)
    if 0 < humidity < 1:
        raise InputError(
            f"a humidity of {humidity:g} % is drier than any air outdoors",
            f"it goes in percent: {humidity * 100:g} for a share of {humidity:g}",
        )
    moisture = _emc(air, humidity)
    notes = "Sun and rain put a surface outside this figure: it is for air, under shelter."
    if air.hot:
        notes += " Above 120 °F the formula and the printed table part by some tenths."
    at = f"{air.temperature:g} °{air.unit}"
    return Answer(
        headline=f"wood comes to {moisture:.1f} % in air of {humidity:g} % at {at}",
        inputs={"humidity_pct": humidity, f"temp_{air.unit.lower()}": air.temperature},
        answer={"emc_pct": round(moisture, 2)},
        working=(
            f"at {at}: W = {air.w:.1f}, K = {air.k:.4f}, K1 = {air.k1:.3f}, K2 = {air.k2:.3f}",
            f"h = {humidity:g} % / 100 = {humidity / 100:g}",
            f"EMC = 1800/W x [Kh/(1 - Kh) + (K1 Kh + 2 K1 K2 (Kh)^2)/(1 + K1 Kh + K1 K2 (Kh)^2)] = {moisture:.2f} %",
        ),
        source=EMC_SOURCE + ("; Fahrenheit form from memory" if air.unit == "F" else ""),
        caution=notes,
    )
