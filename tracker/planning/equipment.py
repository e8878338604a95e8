"""Hire and lump sums as people type them: ``strip: compactor, 2 days at 85``. Pure."""

from __future__ import annotations

import re

from tracker.errors import InputError
from tracker.planning.estimate import Equipment
from tracker.text import clean
from tracker.trade.money import parse_money

_HIRE = re.compile(r"(?:(?P<n>\d{1,4})\s+(?P<unit>[^\d\s]+)\s+at\s+)?(?P<money>\$?[\d.,]+)")


def parse_equipment(text: str) -> Equipment:
    """Read ``PHASE: WHAT, 2 days at 85`` or ``PHASE: WHAT, 120``; raises InputError with an example."""
    head, comma, tail = text.rpartition(",")
    phase, colon, title = head.partition(":")
    match = _HIRE.fullmatch(tail.strip())
    if not comma or not colon or not title.strip() or not match:
        raise InputError(
            f"equipment {clean(text)[:60]!r} is not understood", 'write it like "strip: compactor, 2 days at 85"'
        )
    number, unit = int(match["n"] or 1), (match["unit"] or "").removesuffix("s")
    return Equipment(phase.strip().lower(), title.strip(), parse_money(match["money"]), number, unit)
