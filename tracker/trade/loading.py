"""What a deck is designed to carry: live and snow load, and what stands on it that no deck table covers. Pure values."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from tracker.errors import InputError
from tracker.text import listing, near
from tracker.trade.lengths import FOOT, MM, Unit

DEAD_PSF = 10
"""Dead load of the deck tables (DCA 6 Tables 2 and 4)."""
LIVE_USUAL_PSF = 40
"""Live load of the deck tables, the least a deck is designed for (from memory: IRC Table R301.5)."""
BEYOND = "beyond these tables: a designer"
"""What is said of a load that no table here covers."""
HEAVY = ("hot tub", "roof", "screen room")
"""What changes every size of a deck: asked at the first call (common practice)."""


@dataclass(frozen=True, slots=True)
class Loading:
    """Loads in pounds a square foot; ``snow_psf`` 0 where none is designed for. Live and snow never count at once (from
    memory: the deck tables of IRC 2021).
    """

    live_psf: int = LIVE_USUAL_PSF
    snow_psf: int = 0

    @property
    def upon_psf(self) -> int:
        """The heavier of live and snow."""
        return max(self.live_psf, self.snow_psf)

    @property
    def total_psf(self) -> int:
        """All of it, the deck's own weight with it."""
        return self.upon_psf + DEAD_PSF

    @property
    def snow(self) -> int | None:
        """The snow load as the span figures take it: None where there is none."""
        return self.snow_psf or None

    @property
    def words(self) -> str:
        """``40 psf live and 10 psf dead``; with the snow where there is some."""
        snow = f", {self.snow_psf} psf snow" if self.snow_psf else ""
        return f"{self.live_psf} psf live{snow} and {DEAD_PSF} psf dead"


def parse_heavy(text: str) -> str:
    """One of ``HEAVY``, however it is spaced or capitalized; raises InputError for anything else."""
    thing = " ".join(text.lower().split())
    if thing not in HEAVY:
        raise InputError(f"{text[:40]!r} is not taken here{near(thing, HEAVY)}", f"choose {listing(HEAVY)}")
    return thing


USUAL = Loading()
_KG_M2_PSF = Fraction(45359237, 10**8) * Fraction(1000 * MM, FOOT) ** 2
"""Kilograms a square meter in a pound a square foot (1 lb = 0.45359237 kg, international agreement of 1959)."""
_LOAD = re.compile(r"(\d{1,5})\s*(psf|kg/m2|)")


def load_in(psf: int, unit: Unit) -> int:
    """A load as a job writes it: in pounds a square foot, in a job in millimeters in whole kilograms a square meter."""
    return psf if unit is Unit.INCH else int(psf * _KG_M2_PSF + Fraction(1, 2))


def show_load(psf: int, unit: Unit) -> str:
    """``40 psf``, ``195 kg/m2``; ``parse_load`` reads it back unchanged."""
    return f"{load_in(psf, unit)} {'psf' if unit is Unit.INCH else 'kg/m2'}"


def parse_load(text: str, unit: Unit) -> int:
    """A typed load in pounds a square foot, never less than was typed; a bare number is in the job's unit.

    Raises InputError for anything else.
    """
    found = _LOAD.fullmatch(text.strip().lower())
    if found is None:
        raise InputError(f"{text.strip()[:40]!r} is not a load", f"write a whole number, like {show_load(60, unit)}")
    figure, mark = int(found[1]), found[2] or ("psf" if unit is Unit.INCH else "kg/m2")
    return figure if mark == "psf" else -((1 - 2 * figure) // (2 * _KG_M2_PSF)) if figure else 0
