"""One piece of lumber, or a lift of them: real size, board feet, weight, and whether it may be used near the ground."""

from __future__ import annotations

from tracker.errors import InputError
from tracker.text import count
from tracker.trade.answer import Answer, Plain
from tracker.trade.cautions import DEFER
from tracker.trade.lengths import FOOT, Unit, format_length, format_small, format_trade, inches
from tracker.trade.lumber import (
    GROUND_CLEARANCE_NM,
    USE_CATEGORIES,
    USE_SOURCE,
    board_feet,
    counts_as_ground_contact,
    dressed,
    dressed_green,
    is_metric,
    size_name,
    species,
    use_category,
    use_category_ok,
    weight_lb_per_ft,
)

SOURCE = "sizes and board feet from memory: PS 20-20; weight from memory: NDS Supplement section 3.1.3"
LIFT_LB = 51
"""More than this wants two people (from memory: NIOSH lifting equation, load constant)."""


def piece_answer(
    size: str,
    length_nm: int,
    pieces: int,
    species_name: str,
    moisture_tenths: int,
    *,
    use: str | None = None,
    clearance_nm: int | None = None,
    unit: Unit = Unit.INCH,
) -> Answer:
    """Return sizes, board feet and weight of ``pieces`` of lumber, and with ``use`` whether its treatment fits.

    Keys: ``thickness_in``, ``depth_in``, ``green_depth_in``, ``board_feet`` (None for a metric size), ``weight_lb`` of
    one piece, ``total_lb``, ``use_ok`` (None when not asked). Raises InputError for anything unknown or out of reason.
    """
    name = size_name(size)
    if not 1 <= pieces <= 100_000 or not 0 < length_nm <= 60 * FOOT:
        raise InputError("no such lift of lumber", "give 1 to 100,000 pieces, more than nothing and at most 60 ft long")
    real, green = dressed(name), dressed_green(name)
    each = weight_lb_per_ft(name, species_name, moisture_tenths) * length_nm / FOOT
    feet = None if is_metric(name) else board_feet(name, length_nm, pieces)
    wood, moisture = species(species_name).name, moisture_tenths / 10
    answer: dict[str, Plain] = {
        "thickness_in": inches(real.thickness_nm), "depth_in": inches(real.depth_nm),
        "green_depth_in": inches(green.depth_nm), "board_feet": None if feet is None else round(feet, 2),
        "weight_lb": round(each, 1), "total_lb": round(each * pieces, 1), "use_ok": None,
    }  # fmt: skip
    dry = f"{format_small(real.thickness_nm, unit)} x {format_small(real.depth_nm, unit)}"
    working = [
        f"{name} dry {dry}; surfaced green {format_small(green.depth_nm, unit)} deep: measure wet stock",
        f"{wood} at {moisture:g} %: {each:.1f} lb a piece of {format_length(length_nm, unit)} x {pieces} = {each * pieces:.0f} lb",
    ]
    moves = [f"lift it with two people: {each:.0f} lb a piece"] if each > LIFT_LB else []
    headline = f"{count(pieces, 'piece')} of {name}: {dry}, {each * pieces:,.0f} lb"
    if feet is not None:
        headline += f", {feet:g} board feet"
    if use is not None and clearance_nm is not None:
        ground = counts_as_ground_contact(clearance_nm)
        ok = use_category_ok(use, ground)
        answer["use_ok"] = ok
        least = "UC4A" if ground else "UC3B"
        high = format_trade(clearance_nm, unit)
        working.append(
            f"{high} above the ground {'counts as ground contact' if ground else 'is above ground'}"
            f" (under {format_trade(GROUND_CLEARANCE_NM, unit)}): {least} at least"
        )
        headline += f"; {use_category(use)} {'will do' if ok else 'will not do'} {high} above the ground"
        if not ok:
            moves.append(f"ask for {least}: {USE_CATEGORIES[least]}")
    return Answer(
        headline=headline,
        inputs={
            "size": name, "length_in": inches(length_nm), "pieces": pieces, "species": wood, "moisture_pct": moisture,
            "use": use, "clearance_in": None if clearance_nm is None else inches(clearance_nm),
        },
        answer=answer,
        working=tuple(working),
        source=SOURCE if use is None else f"{SOURCE}; use category: {USE_SOURCE}",
        moves=tuple(moves),
        caution=f"{DEFER} on treatment. Undried treated stock weighs more still: enter the moisture the meter shows.",
    )  # fmt: skip
