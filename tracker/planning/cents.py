"""Cents without loss: one rounding rule, and parts that always add up to their whole. Whole numbers and fractions only.

The rule everywhere: a line is rounded once, to the cent, halves away from zero. A sum shared out over parts goes by
largest remainder: every part gets its share rounded down, and the cents left over go to the parts that lost most by it
(the earlier part when two lost the same), so that the parts add up to the cent.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

ROUNDING = (
    "every line is rounded once to the cent, halves away from zero; a sum shared over parts goes by largest remainder, "
    "so that the parts add up"
)


def round_cents(amount: Fraction | int) -> int:
    """The nearest whole number, halves away from zero."""
    number = Fraction(amount)
    whole = (abs(number.numerator) * 2 + number.denominator) // (number.denominator * 2)
    return whole if number >= 0 else -whole


def share_of(cents: int, tenths: int) -> int:
    """So many tenths of a percent of an amount, rounded to the cent."""
    return round_cents(Fraction(cents * tenths, 1000))


def share_out(cents: int, weights: Sequence[int]) -> list[int]:
    """``cents`` shared over ``weights`` (none negative) by largest remainder; the parts add up to ``cents``.

    When every weight is 0 the parts are as equal as they can be. Raises ValueError for no weights or a negative one.
    """
    if not weights or min(weights) < 0:
        raise ValueError("weights must be there and none negative")
    whole = sum(weights)
    shares = list(weights) if whole else [1] * len(weights)
    whole = whole or len(weights)
    size = abs(cents)
    parts = [size * weight // whole for weight in shares]
    lost = sorted(range(len(shares)), key=lambda n: (-(size * shares[n] % whole), n))
    for n in lost[: size - sum(parts)]:
        parts[n] += 1
    return parts if cents >= 0 else [-part for part in parts]


def ratio_tenths(part: int, whole: int) -> int:
    """``part`` of ``whole`` in whole tenths of a percent, halves away from zero; 0 when there is no whole."""
    return round_cents(Fraction(part * 1000, whole)) if whole else 0
