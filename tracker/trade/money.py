"""Money as whole cents in an ``int``; prices per piece, foot or screw as whole ten-thousandths of the currency unit.

Names end in ``_cents`` or ``_e4``. No float comes near either.
"""

from __future__ import annotations

import re

from tracker.errors import InputError

LARGEST_CENTS = 10**12
_AMOUNT = re.compile(r"\$?\s*(\d{1,40}|\d{1,3}(?:,\d{3})+(?=\.))(?:\.(\d+))?")


def _parse(text: str, decimals: int, what: str) -> int:
    raw = text.strip()
    example = "write it like 1904.50" if decimals == 2 else "write it like 14.28 or 0.0425"
    match = _AMOUNT.fullmatch(raw) if raw.isascii() else None
    if re.match(r"\$?\s*[-\u2212]", raw):
        raise InputError(f"{raw[:40]!r} is not {what}: it is negative", example)
    if match is None:
        comma = "a comma could be a thousands or a decimal mark"
        why = comma if "," in raw else "digits and one point are all it takes"
        raise InputError(f"{raw[:40]!r} is not {what}: {why}", example)
    whole, part = match[1].replace(",", ""), match[2] or ""
    if len(part) > decimals:
        raise InputError(f"{raw[:40]!r} is not {what}: more than {decimals} decimals", example)
    scale: int = 10**decimals
    value = int(whole) * scale + int(part.ljust(decimals, "0") or 0)
    if value > LARGEST_CENTS * 10 ** (decimals - 2):
        raise InputError(f"{raw[:40]!r} is not {what}: more than 10,000,000,000", example)
    return value


def parse_money(text: str) -> int:
    """Return cents from ``1904.50``, ``$1904.5`` or ``1,904.50``.

    Raises InputError for a negative, more than two decimals, or a comma that could be a decimal mark.
    """
    return _parse(text, 2, "an amount of money")


def parse_price(text: str) -> int:
    """Return a unit price in ten-thousandths from ``14.28`` or ``0.0425``; same refusals as ``parse_money``."""
    return _parse(text, 4, "a price")


def format_money(cents: int, sign: str = "$") -> str:
    """Print cents as ``$1,904.50``; a negative amount as ``-$4.00``."""
    units, rest = divmod(abs(cents), 100)
    return f"{'-' if cents < 0 else ''}{sign}{units:,}.{rest:02d}"


def percent_text(figure: int, decimals: int = 1) -> str:
    """Print whole tenths of a percent (hundredths, thousandths with 2, 3 ``decimals``) as ``12.5 %``, ``8.875 %`` or ``20 %``."""
    whole, rest = divmod(abs(figure), 10**decimals)
    part = f"{rest:0{decimals}d}".rstrip("0")
    return f"{'-' if figure < 0 else ''}{whole}{f'.{part}' if part else ''} %"


def parse_percent(text: str, what: str, decimals: int, most: int = 100) -> int:
    """Return a percentage with at most so many ``decimals`` in whole units of the last one (``8.875`` is 8875 with 3).

    Raises InputError for anything else, a sign, or more than ``most`` (a whole number).
    """
    raw = text.strip().rstrip("%").strip()
    example = (
        f"write a number with at most {decimals} decimals, like {percent_text(8875 // 10 ** (3 - decimals), decimals)}"
    )
    match = re.fullmatch(r"([0-9]{1,7})(?:\.([0-9]*))?", raw)
    if match is None or len(match[2] or "") > decimals:
        raise InputError(f"{text.strip()[:40]!r} is not {what}", example.removesuffix(" %"))
    figure: int = int(match[1]) * 10**decimals + int((match[2] or "").ljust(decimals, "0") or 0)
    if figure > most * 10**decimals:
        raise InputError(f"{raw!r} is not {what}: more than {most}", f"give a figure from 0 to {most}")
    return figure


def line_total(quantity: int, price_e4: int) -> int:
    """Cents for ``quantity`` at a unit price in ten-thousandths: exact product, rounded once, halves away from zero."""
    product = quantity * price_e4
    return (abs(product) + 50) // 100 * (1 if product >= 0 else -1)
