"""Lengths as whole nanometres in an ``int``: 1/64 in = 396 875 nm and 0.1 mm = 100 000 nm are both exact.

Names of lengths end in ``_nm``. Text comes in through ``parse_length`` and goes out through ``format_length`` (to the
nearest 1/16 in or whole millimetre) or ``exact_text`` (nothing rounded away).
The inch is 25.4 mm exactly (international yard and pound agreement of 1959).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from tracker.errors import InputError

MM = 1_000_000
INCH = 25_400_000
FOOT = 12 * INCH
SIXTEENTH = INCH // 16
SIXTY_FOURTH = INCH // 64
THOUSANDTH = INCH // 1000
TENTH_MM = MM // 10
TENTHS_BELOW = 10 * MM
"""Tenths of a millimetre are told under this; nobody reads them off a tape."""
LONGEST = 22_000 * FOOT


class Unit(StrEnum):
    """The unit of a bare number in a job: inches or millimetres."""

    INCH = "in"
    MM = "mm"


EXAMPLES = {
    Unit.INCH: """12', 12' 3-1/4", 12-3-1/4, 147-1/4, 147.25, 3/8" or 3740mm""",
    Unit.MM: """3740, 3740mm, 374cm, 3.74m or 12' 3-1/4\"""",
}

_VULGAR = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_SIGNS = str.maketrans(
    {"′": "'", "’": "'", "‘": "'", "ʹ": "'", "´": "'", "`": "'",
     "″": '"', "”": '"', "“": '"', "ʺ": '"', "−": "-", "–": "-", "—": "-", "‑": "-",
     "⁄": "/", "∕": "/", "\u00a0": " ", "\u2009": " ", "\u202f": " "}
)  # fmt: skip

_FRACTION = r"(?P<num>\d+)/(?P<den>\d+)"
_ONLY = _FRACTION.replace("num", "num0").replace("den", "den0")
_INCHES = rf"(?:(?P<inches>\d+(?:\.\d+)?|\.\d+)(?:(?:\s*-\s*|\s+){_FRACTION})?|{_ONLY})"
_FEET_INCHES = re.compile(rf"(?P<feet>\d+(?:\.\d+)?)\s*'(?:\s*-?\s*{_INCHES}\s*\"?)?")
_DASHED = re.compile(rf"(?P<feet>\d+)(?:\s*-\s*|\s+)(?P<inches>\d+)(?:(?:\s*-\s*|\s+){_FRACTION})?\s*(?P<mark>\"?)")
_PLAIN_INCHES = re.compile(rf"{_INCHES}\s*(?P<mark>\"?)")
_METRIC = re.compile(r"(?P<number>\d+(?:\.\d+)?|\.\d+)\s*(?P<unit>mm|cm|m)")
_METRIC_NM = {"mm": MM, "cm": 10 * MM, "m": 1000 * MM}


def _refuse(text: str, why: str, unit: Unit) -> InputError:
    return InputError(f"{text!r} is not a length: {why}", f"write it like {EXAMPLES[unit]}")


def _words_to_marks(text: str) -> str:
    """Turn ft/feet/in/inches into marks, so that one grammar serves."""
    text = re.sub(r"(?<=[\d\s'])\s*(?:feet|foot|ft)(?![a-z])\.?", "'", text)
    return re.sub(r"(?<=[\d\s])\s*(?:inches|inch|in)(?![a-z])\.?", '"', text)


def _spread_fractions(text: str) -> str:
    for sign, plain in _VULGAR.items():
        # Spaced on both sides: a digit beside the sign is never part of the fraction.
        text = re.sub(rf"\s*{sign}", f" {plain} ", text)
    return text


def parse_length(text: str, unit: Unit = Unit.INCH, *, signed: bool = False) -> int:
    """Return the length a person typed, in nanometres.

    A bare number is in ``unit``. Feet and inches, fractions to 1/64 in, decimal inches and feet (to a thousandth),
    millimetres, centimetres and metres (to 0.1 mm, or the exact equal of such inches) are understood in either unit
    system. With ``signed`` a leading + or - is allowed (a crown, an offset). Raises InputError, with an accepted
    example, for anything else: nothing is guessed.
    """
    raw = text.strip()
    if not raw:
        raise _refuse(raw, "it is empty", unit)
    if len(raw) > 60:
        raise _refuse(raw[:20] + "…", "it is too long", unit)
    work = _spread_fractions(raw.translate(_SIGNS)).lower().replace("''", '"')
    if any(c.isdigit() and not c.isascii() for c in work):
        raise _refuse(raw, "use the digits 0-9", unit)
    sign = 1
    if work[0] in "+-":
        if not signed:
            why = "it is negative" if work[0] == "-" else "leave out the +"
            raise _refuse(raw, why, unit)
        sign, work = (-1 if work[0] == "-" else 1), work[1:].strip()
    if "," in work:
        one, other = work.replace(",", ""), work.replace(",", ".")
        raise _refuse(raw, f"a comma could mean {one} or {other}", unit)
    nm = sign * _magnitude(raw, _words_to_marks(work).strip(), unit)
    if abs(nm) > LONGEST:
        raise _refuse(raw, "it is more than 22,000 ft", unit)
    return nm


def _magnitude(raw: str, work: str, unit: Unit) -> int:
    if match := _METRIC.fullmatch(work):
        return _metric(raw, match["number"], match["unit"], unit)
    if unit is Unit.MM and re.fullmatch(r"\d+(\.\d*)?|\.\d+", work):
        return _metric(raw, work, "mm", unit)
    if match := _FEET_INCHES.fullmatch(work):
        feet = _decimal(raw, match["feet"], FOOT, "feet", unit)
        num, den = match["num"] or match["num0"], match["den"] or match["den0"]
        inches = _inches(raw, match["inches"], num, den, unit)
        if inches and "." in match["feet"]:
            raise _refuse(raw, "decimal feet and inches together", unit)
        return _under_a_foot(raw, feet, inches, unit)
    if match := _PLAIN_INCHES.fullmatch(work):
        if unit is Unit.MM and not match["mark"]:
            raise _refuse(raw, 'a fraction in a millimetre job needs its inch mark (")', unit)
        num, den = match["num"] or match["num0"], match["den"] or match["den0"]
        return _inches(raw, match["inches"], num, den, unit)
    if match := _DASHED.fullmatch(work):
        if unit is Unit.MM and not match["mark"]:
            raise _refuse(raw, "feet and inches in a millimetre job need their marks", unit)
        feet = int(match["feet"]) * FOOT
        return _under_a_foot(raw, feet, _inches(raw, match["inches"], match["num"], match["den"], unit), unit)
    raise InputError(f"{raw!r} is not a length", f"write it like {EXAMPLES[unit]}")


def _under_a_foot(raw: str, feet_nm: int, inches_nm: int, unit: Unit) -> int:
    if inches_nm >= FOOT:
        meant = format_length(feet_nm + inches_nm, Unit.INCH)
        raise _refuse(raw, f"{format_inches(inches_nm)} is a foot or more; {meant} meant?", unit)
    return feet_nm + inches_nm


def _decimal(raw: str, number: str, scale: int, of: str, unit: Unit) -> int:
    if len(number.partition(".")[2].rstrip("0")) > 3:
        raise _refuse(raw, f"decimal {of} stop at a thousandth", unit)
    return int(Fraction(number) * scale)


def _inches(raw: str, whole: str | None, num: str | None, den: str | None, unit: Unit) -> int:
    nm = 0
    if whole:
        nm = _decimal(raw, whole, INCH, "inches", unit)
    if num and den:
        if whole and "." in whole:
            raise _refuse(raw, "a decimal and a fraction together", unit)
        if int(den) == 0:
            raise _refuse(raw, "a fraction over 0", unit)
        part = Fraction(int(num), int(den))
        if part >= 1:
            whole_in, rest = divmod(part, 1)
            meant = format_inches(nm + int(whole_in) * INCH + round(rest * 64) * SIXTY_FOURTH)
            raise _refuse(raw, f"{num}/{den} is an inch or more; {meant} meant?", unit)
        if (part * 64).denominator != 1:
            low = math.floor(part * 64)
            lower, upper = (format_inches(nm + k * SIXTY_FOURTH, 64) for k in (low, low + 1))
            raise _refuse(raw, f"it is not a whole 1/64 in; the nearest are {lower} and {upper}", unit)
        nm += int(part * INCH)
    return nm


def _metric(raw: str, number: str, suffix: str, unit: Unit) -> int:
    value = Fraction(number) * _METRIC_NM[suffix]
    tenths, rest = divmod(value, TENTH_MM)
    if rest and value % SIXTY_FOURTH and value % THOUSANDTH:
        lower, upper = (_millimetres(int(k) * TENTH_MM) for k in (tenths, tenths + 1))
        raise _refuse(raw, f"it is not a whole 0.1 mm; the nearest are {lower} and {upper}", unit)
    return int(value)


def nearest(nm: float | Fraction, step_nm: int) -> int:
    """Round a length to the nearest whole ``step_nm``, halves away from zero; returns nanometres."""
    steps = math.floor(abs(Fraction(nm)) / step_nm + Fraction(1, 2))
    return int(math.copysign(1, nm)) * steps * step_nm


def round_up(nm: float | Fraction, step_nm: int) -> int:
    """Round a length up to a whole ``step_nm``; returns nanometres."""
    return math.ceil(Fraction(nm) / step_nm) * step_nm


def _fraction_text(nm: int, denominator: int) -> str:
    """Inches under any size as ``3-1/4``; ``nm`` already sits on the grid of ``denominator``."""
    whole, rest = divmod(nm, INCH)
    part = Fraction(rest, INCH).limit_denominator(denominator)
    if not part:
        return str(whole)
    return f"{whole}-{part.numerator}/{part.denominator}" if whole else f"{part.numerator}/{part.denominator}"


def format_inches(nm: float | Fraction, denominator: int = 16) -> str:
    """Inches only, to the nearest ``1/denominator`` in: ``3/8 in``, ``147-1/4 in``."""
    grid = nearest(nm, INCH // denominator)
    return f"{'-' if grid < 0 else ''}{_fraction_text(abs(grid), denominator)} in"


def _millimetres(nm: int) -> str:
    whole, rest = divmod(abs(nm), MM)
    tail = f".{rest:06d}".rstrip("0") if rest else ""
    return f"{'-' if nm < 0 else ''}{whole}{tail} mm"


def format_length(nm: float | Fraction, unit: Unit = Unit.INCH, denominator: int = 16) -> str:
    """Print a length as the trade writes it: feet and inches to the nearest 1/16 in, or whole millimetres.

    Under a foot only inches are shown. Halves round away from zero. ``parse_length`` reads every result back (negative
    ones with ``signed``).
    """
    if unit is Unit.MM:
        return _millimetres(nearest(nm, MM))
    grid = nearest(nm, INCH // denominator)
    minus, size = ("-" if grid < 0 else ""), abs(grid)
    feet, rest = divmod(size, FOOT)
    if not feet:
        return f'{minus}{_fraction_text(rest, denominator)}"'
    if not rest:
        return f"{minus}{feet}'"
    return f"{minus}{feet}' {_fraction_text(rest, denominator)}\""


def format_small(nm: float | Fraction, unit: Unit = Unit.INCH, denominator: int = 16) -> str:
    """Print a gap, a deviation or a push: inches (``3/8 in``) or millimetres, to 0.1 under 10 mm (``9.5 mm``)."""
    if unit is Unit.MM:
        return _millimetres(nearest(nm, TENTH_MM if abs(Fraction(nm)) < TENTHS_BELOW else MM))
    return format_inches(nm, denominator)


IN_INCHES_BELOW = 4 * FOOT
"""A spacing, a riser, a footing or a guard is said in inches up to this length (common practice)."""


def format_trade(nm: float | Fraction, unit: Unit = Unit.INCH, denominator: int = 16) -> str:
    """Print a size as the trade says it: inches only under 4 ft (``17 in``, ``36 in``), feet and inches from there.

    Millimetres are whole in a millimetre job, as ``format_length`` prints them.
    """
    if unit is Unit.MM or abs(nearest(nm, INCH // denominator)) >= IN_INCHES_BELOW:
        return format_length(nm, unit, denominator)
    return format_inches(nm, denominator)


def exact_text(nm: int, unit: Unit = Unit.INCH) -> str:
    """Print a length so that nothing is rounded away: 1/64 in where it fits, else decimal inches or millimetres.

    ``parse_length`` reads back every length it has read (negative ones with ``signed``), in either unit system.
    """
    if unit is Unit.INCH and nm % SIXTY_FOURTH == 0:
        return format_length(nm, Unit.INCH, 64)
    if unit is Unit.INCH and nm % THOUSANDTH == 0:
        thousandths = f"{abs(nm) // THOUSANDTH:04d}"
        return f'{"-" if nm < 0 else ""}{thousandths[:-3]}.{thousandths[-3:].rstrip("0")}"'
    return _millimetres(nm)


def exact_small(nm: int, unit: Unit = Unit.INCH) -> str:
    """Print a tolerance or a limit so that nothing is rounded away: ``3/32 in``, else as ``exact_text``."""
    if unit is Unit.INCH and nm % SIXTY_FOURTH == 0:
        return format_inches(nm, 64)
    return exact_text(nm, unit)


def inches(nm: float | Fraction) -> float:
    """Inches as a plain number, for formulas and JSON."""
    return float(Fraction(nm) / INCH)


def millimetres(nm: float | Fraction) -> float:
    """Millimetres as a plain number, for formulas and JSON."""
    return float(Fraction(nm) / MM)


def from_inches(value: float | Fraction) -> int:
    """The nearest whole nanometre to a computed number of inches."""
    return round(Fraction(value) * INCH)


@dataclass(frozen=True, slots=True)
class Rounding:
    """How printed lengths are rounded, in words, for reports."""

    unit: Unit

    def __str__(self) -> str:
        return "lengths to the nearest 1/16 in" if self.unit is Unit.INCH else "lengths to the nearest mm"
