"""Words in the job's own units: what is written in inches, feet, pounds and degrees Fahrenheit, said in millimetres to a
metric job.

Texts are written once, with the figures of their sources; ``in_unit`` says them to a job of the other system, rounded as a
builder reads them: lengths to whole millimetres, feet alone to hundredths of a metre, temperatures to whole degrees. Names
are left alone: a lumber size (``2x6``, ``5/4x6``) carries no unit, and titles of sources are never passed through here.

Factors: 1 in = 25.4 mm, 1 lb = 0.45359237 kg (international yard and pound agreement of 1959), 1 US gallon = 231 in3.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache

from tracker.errors import InputError, InputErrors
from tracker.trade.answer import Answer, Limit
from tracker.trade.lengths import Unit

MM_IN, MM_FT = Fraction(254, 10), Fraction(3048, 10)
KG_LB = Fraction(45359237, 10**8)
GRAVITY = Fraction(980665, 100000)
M2_FT2 = (MM_FT / 1000) ** 2
M3_FT3 = (MM_FT / 1000) ** 3
LITRE_GALLON = Fraction(231) * MM_IN**3 / 10**6

_NUMBER = r"\d[\d,]*(?:\.\d+)?(?:-\d+/\d+|/\d+)?|\.\d+"
_SIGNED = rf"[-+]?(?:{_NUMBER})"
_JOIN = r"(?: to | and | or |, |-)"
_NOT_AFTER = r"(?<![\w.,/'\"-])"
_IN_WORD = (
    r"(?!\s+(?:all|the|a|an|one|two|three|four|total|place|order|both|it|its|their|stock|pieces?|joints?|work|force|hand|use|"
    r"service|row|turn|time|line|front|every|each joint|\d+)\b)"
)


def _mm(value: Fraction) -> str:
    mm = value * MM_IN
    if 0 < abs(mm) < Fraction(3, 2):
        return f"{float(mm):.1f}".removesuffix(".0")
    return f"{_whole(mm)}"


def _whole(value: Fraction) -> int:
    """To the nearest whole, halves away from zero."""
    size = int(abs(value) + Fraction(1, 2))
    return size if value >= 0 else -size


def _plain(value: Fraction, places: int) -> str:
    text = f"{float(value):,.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _scaled(factor: Fraction, places: int) -> Callable[[Fraction], str]:
    return lambda value: _plain(value * factor, places)


def _mass(value: Fraction) -> str:
    kg = value * KG_LB
    return _plain(kg, 0 if abs(kg) >= 10 else 1)


def _celsius(value: Fraction) -> str:
    return str(_whole((value - 32) * Fraction(5, 9)))


_UNITS: tuple[tuple[str, str, Callable[[Fraction], str]], ...] = (
    (r"(?:ft2|sq ft|square feet|square foot) (?:a|to the) gallon", "m2 a litre", _scaled(M2_FT2 / LITRE_GALLON, 1)),
    (r"(?:ft2|sq ft|square feet|square foot)", "m2", _scaled(M2_FT2, 1)),
    (r"(?:ft3|cubic f(?:ee|oo)t)", "m3", _scaled(M3_FT3, 3)),
    (r"cubic yards?", "m3", _scaled(27 * M3_FT3, 2)),
    (r"in/ft", "mm/m", _scaled(Fraction(1000, 12), 0)),
    (r"(?:lb a foot|plf)", "kg a metre", _scaled(KG_LB / (MM_FT / 1000), 0)),
    (r"lb/in", "N/mm", _scaled(KG_LB * GRAVITY / MM_IN, 3)),
    (r"in2", "mm2", _scaled(MM_IN**2, 0)),
    (r"in3", "mm3", _scaled(MM_IN**3, 0)),
    (r"in4", "mm4", _scaled(MM_IN**4, 0)),
    (r"psf", "kg/m2", _scaled(KG_LB / M2_FT2, 0)),
    (r"pcf", "kg/m3", _scaled(KG_LB / M3_FT3, 0)),
    (r"psi", "N/mm2", _scaled(KG_LB * GRAVITY / MM_IN**2, 2)),
    (r"(?:lb|pounds?)", "kg", _mass),
    (r"gallons?", "litres", _scaled(LITRE_GALLON, 1)),
    (rf"(?:in|inch|inches)\b{_IN_WORD}", "mm", _mm),
    (r"(?:ft|foot|feet)", "m", _scaled(MM_FT / 1000, 2)),
    (r"°F", "°C", _celsius),
)
_QUANTITIES = tuple(
    (re.compile(rf"{_NOT_AFTER}(?P<all>{_SIGNED}(?:{_JOIN}(?:{_SIGNED}))*)[ -](?:{unit})(?![\w/])"), name, say)
    for unit, name, say in _UNITS
)
_MARKED = re.compile(
    rf"{_NOT_AFTER}(?P<minus>-?)(?:(?P<feet>\d+(?:\.\d+)?)'(?:[ -](?P<more>{_NUMBER})\")?|(?P<only>{_NUMBER})\")(?!\w)"
)
_WORDS = (
    (re.compile(r"\bfeet and inches\b"), "millimetres"),
    (re.compile(r"\binches\b"), "millimetres"),
    (re.compile(r"\binch\b"), "millimetre"),
    (re.compile(r"\bfoot of run\b"), "metre of run"),
    (re.compile(r"\bgallons\b"), "litres"),
    (re.compile(r"\bgallon\b"), "litre"),
    (re.compile(r"\bpounds in a bag\b"), "kilograms in a bag"),
    (re.compile(r"\bpounds a square foot\b"), "kilograms a square meter"),
    (re.compile(r"°F"), "°C"),
    (re.compile(r"\bft2\b"), "m2"),
)


def _value(text: str) -> Fraction:
    """A number as it is written: ``3-1/2``, ``1,800``, ``2.5``."""
    work = text.replace(",", "").lstrip("+")
    minus, work = (-1, work[1:]) if work.startswith("-") else (1, work)
    whole, _, part = work.partition("-")
    if "/" in whole:
        whole, part = "0", whole
    return minus * (Fraction(whole) + (Fraction(part) if part else 0))


def _convert(found: re.Match[str], name: str, say: Callable[[Fraction], str]) -> str:
    """Every number of a run, ``2 to 5``, then the unit once."""
    return re.sub(_SIGNED_FREE, lambda number: say(_value(number[0])), found["all"]) + f" {name}"


_SIGNED_FREE = re.compile(rf"(?<![\d/])(?:{_NUMBER})|(?<![\w/])-(?:{_NUMBER})")


def _from_marks(found: re.Match[str]) -> str:
    total = _value(found["only"]) if found["only"] else _value(found["feet"]) * 12 + _value(found["more"] or "0")
    return f"{found['minus']}{_mm(total)} mm"


@lru_cache(maxsize=4096)
def _in_millimetres(text: str) -> str:
    out = _MARKED.sub(_from_marks, text)
    for pattern, name, say in _QUANTITIES:
        out = pattern.sub(lambda found, name=name, say=say: _convert(found, name, say), out)  # type: ignore[misc]
    for pattern, word in _WORDS:
        out = pattern.sub(word, out)
    return out


def in_unit(text: str, unit: Unit) -> str:
    """A text in the job's own units; texts of an inch job are as they were written."""
    return text if unit is Unit.INCH else _in_millimetres(text)


def all_in_unit(texts: Iterable[str], unit: Unit) -> tuple[str, ...]:
    """Several texts, each as ``in_unit`` says it."""
    return tuple(in_unit(text, unit) for text in texts)


def limit_in_unit(limit: Limit, unit: Unit) -> Limit:
    """A limit in the job's own units; the title of its source stays as published."""
    if unit is Unit.INCH:
        return limit
    said = {name: in_unit(getattr(limit, name), unit) for name in ("what", "text", "published")}
    return replace(limit, **said)


@contextmanager
def told_in_unit(unit: Unit) -> Iterator[None]:
    """Whatever input is refused inside is refused in these units."""
    try:
        yield
    except InputErrors as errors:
        raise InputErrors(all_in_unit(errors.problems, unit), in_unit(errors.hint, unit)) from errors
    except InputError as error:
        raise InputError(in_unit(error.message, unit), in_unit(error.hint, unit)) from error


def answer_in_unit(answer: Answer, unit: Unit) -> Answer:
    """An answer's words in the job's own units; its plain numbers keep the units of their keys."""
    if unit is Unit.INCH:
        return answer
    return replace(
        answer,
        headline=in_unit(answer.headline, unit),
        moves=all_in_unit(answer.moves, unit),
        working=all_in_unit(answer.working, unit),
        limits=tuple(limit_in_unit(limit, unit) for limit in answer.limits),
        caution=in_unit(answer.caution, unit),
    )
