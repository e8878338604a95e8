"""The statics of a simple span: bending, shear, deflection, end bearing and overhang of joists and beams.

The model is uniform load on a wet-service No.2 member, deflection L/360 under live or snow load alone.
Pounds, inches and psi inside. End bearing is reported beside the span, as the published tables do not hold
it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from tracker.errors import InputError
from tracker.trade.lengths import INCH, format_trade, inches
from tracker.trade.lumber import dressed, nominal_in
from tracker.trade.species import (
    LOAD_DURATION_LIVE,
    LOAD_DURATION_SNOW,
    REPETITIVE_SPACING_MOST_IN,
    adjusted,
    group_members,
    structural_size,
)

LIVE_LEAST_PSF, DEAD_TABLE_PSF = 40.0, 10.0
JOIST_LENGTH_MOST_IN = 216.0
DEFLECTION = 360
TIP_LOAD_LB, TIP_DEFLECTION, OVERHANG_OFFSET_IN = 220.0, 180.0, 3.0
_SPACING_LEAST_NM, _SPACING_MOST_NM = 3 * INCH, 48 * INCH


@dataclass(frozen=True, slots=True)
class Load:
    """A uniform load case in psf: all of it, the part deflection is judged on, and load duration C_D."""

    name: str
    total_psf: float
    deflecting_psf: float
    duration: float


@dataclass(frozen=True, slots=True)
class Span:
    """The span in inches that one limit allows: which limit, whose values, under which load, with its
    working.

    ``bearing_in`` is the end bearing the group's softest member asks at that span.
    """

    span_in: float
    governs: str
    species: str
    load: str
    working: tuple[str, ...]
    bearing_in: float


def load_cases(live_psf: float, snow_psf: float | None, dead_psf: float) -> tuple[Load, ...]:
    """Return the load cases to try: dead + live, and dead + snow where snow is given, never both at once.

    Raises InputError for a live load under the 40 psf of decks or a figure out of reason.
    Source, from memory: IRC Table R301.5 (40 psf) and the deck tables of IRC 2021 (snow not with live load).
    """
    _in_reason("dead load", dead_psf, 1, 100)
    if live_psf < LIVE_LEAST_PSF:
        raise InputError(
            f"a live load of {live_psf:g} psf is less than a deck is designed for",
            f"give {LIVE_LEAST_PSF:g} psf or more",
        )
    _in_reason("live load", live_psf, LIVE_LEAST_PSF, 500)
    cases = [Load("live", live_psf + dead_psf, live_psf, LOAD_DURATION_LIVE)]
    if snow_psf is not None:
        _in_reason("snow load", snow_psf, 0, 500)
        cases.append(Load("snow", snow_psf + dead_psf, snow_psf, LOAD_DURATION_SNOW))
    return tuple(cases)


def _in_reason(what: str, value: float, least: float, most: float) -> None:
    if not math.isfinite(value) or not least <= value <= most:
        raise InputError(f"a {what} of {value:g} psf is out of reason", f"give {least:g} to {most:g} psf")


def member_span(
    size: str, species: str, width_in: float, plies: int, cases: tuple[Load, ...], *, repetitive: bool
) -> Span:
    """Return the longest simple span of a member that carries ``width_in`` inches of deck, before any cap.

    The lowest over every species of the table's group, over the load cases, and over bending, shear and
    deflection. Raises InputError for a size or species without design values.
    """
    name, depth_nominal = structural_size(size)
    piece, thick = dressed(name), int(nominal_in(name)[0])
    b, d = inches(piece.thickness_nm) * plies, inches(piece.depth_nm)
    section, inertia = b * d**2 / 6, b * d**3 / 12
    _, members = group_members(species)
    found: list[Span] = []
    softest = min(adjusted(m, depth_nominal, repetitive=False, duration=1.0).fc_perp_psi for m in members)
    heaviest = max(case.total_psf for case in cases) * width_in / 144
    for values in members:
        for case in cases:
            use = adjusted(values, depth_nominal, repetitive=repetitive, duration=case.duration, thick_nominal_in=thick)
            pli = case.total_psf * width_in / 144
            soft = case.deflecting_psf * width_in / 144
            bending = math.sqrt(8 * use.fb_psi * section / pli)
            # Load within the depth of a support goes straight into it and does not shear the member.
            shear = 2 * (2 / 3 * use.fv_psi * b * d / pli + d)
            spans = {"bending": bending, "shear": shear}
            words = {
                "bending": f"bending: L = sqrt(8 x {use.fb_psi:.0f} psi x {section:.2f} in3 / {pli:.3f}"
                f" lb/in) = {bending:.2f} in",
                "shear": f"shear: L = 2 (2/3 x {use.fv_psi:.0f} psi x {b * d:.2f} in2 / {pli:.3f} lb/in +"
                f" {d:g} in) = {shear:.2f} in",
            }
            if soft:
                spans["deflection"] = (384 * use.e_psi * inertia / (5 * soft * DEFLECTION)) ** (1 / 3)
                words["deflection"] = (
                    f"deflection L/{DEFLECTION}: L = (384 x {use.e_psi:.0f} psi x {inertia:.2f} in4"
                    f" / (5 x {soft:.3f} lb/in x {DEFLECTION}))^(1/3) = {spans['deflection']:.2f} in"
                )
            governs = min(spans, key=lambda key: spans[key])
            working = (use.bending_words, use.modulus_words, *words.values())
            bearing = heaviest * spans[governs] / 2 / (b * softest)
            found.append(Span(spans[governs], governs, values.name, case.name, working, bearing))
    return min(found, key=lambda span: span.span_in)


def joist_span(size: str, species: str, spacing_nm: int, cases: tuple[Load, ...], plies: int = 1) -> Span:
    """Return the computed joist span, cut at 18 ft, the joist length the footing tables stop at.

    Raises InputError for a spacing out of reason, and what ``member_span`` raises.
    """
    if not _SPACING_LEAST_NM <= spacing_nm <= _SPACING_MOST_NM:
        raise InputError(
            f"{format_trade(spacing_nm)} on centre is not a joist spacing this works for",
            f"give {format_trade(_SPACING_LEAST_NM)} to {format_trade(_SPACING_MOST_NM)}; 12, 16"
            " and 24 in are in the table",
        )
    spacing = inches(spacing_nm)
    found = member_span(size, species, spacing, plies, cases, repetitive=spacing <= REPETITIVE_SPACING_MOST_IN)
    if found.span_in <= JOIST_LENGTH_MOST_IN:
        return found
    cut = (
        *found.working,
        f"cut at 18 ft, the joist length limit of the table ({found.span_in:.1f} in computed)",
    )
    bearing = found.bearing_in * JOIST_LENGTH_MOST_IN / found.span_in
    return Span(JOIST_LENGTH_MOST_IN, "length limit", found.species, found.load, cut, bearing)


def overhang_in(size: str, species: str, span_in: float) -> float:
    """Return the computed joist overhang in inches for a span behind it: a 220 lb tip load may bend it a/180.

    P a^2 (L + a) / (3 E' I) = a / 180 gives a from the beam's centre; 3 in come off as the table measures
    from the face of the beam, which is our own reading of it. Never over a quarter of the span. Raises
    InputError.
    """
    name, depth_nominal = structural_size(size)
    piece = dressed(name)
    inertia = inches(piece.thickness_nm) * inches(piece.depth_nm) ** 3 / 12
    _, members = group_members(species)
    e = min(adjusted(m, depth_nominal, repetitive=True, duration=1.0).e_psi for m in members)
    product = 3 * e * inertia / (TIP_LOAD_LB * TIP_DEFLECTION)
    reach = (math.sqrt(span_in**2 + 4 * product) - span_in) / 2 - OVERHANG_OFFSET_IN
    return max(0.0, min(span_in / 4, reach))
