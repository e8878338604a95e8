"""Square by six tapes, four sides and two diagonals: what two sides alone cannot tell, a misread tape or unequal edges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tracker.text import listing
from tracker.trade.answer import Answer, Verdict
from tracker.trade.bestfit import READINGS, Fit, best_fit
from tracker.trade.lengths import Unit, format_small, inches
from tracker.trade.rules import Rules
from tracker.trade.square import expected_diagonal, square_answer, tolerance_key

SOURCE = "least squares on the corner coordinates; tolerance: common practice"


def six_tapes_answer(
    sides: Sequence[int],
    diagonals: Sequence[int],
    unit: Unit,
    *,
    rules: Rules | None = None,
    push_front: bool = False,
    strings: bool = False,
) -> Answer:
    """Return the squareness of a frame from AB, BC, CD, DA and AC, BD, in nm.

    As ``square_answer``, and besides: a tape that contradicts the others is named (``suspect``, ``misread_in``), and
    opposite edges must agree within the tolerance of the diagonals (``edges_differ_in``). It carries a verdict when
    ``rules`` are given. Raises InputError for readings that no frame can have.
    """
    in_force = rules or Rules(unit=unit)
    fit = best_fit(sides, diagonals, in_force.figure("tape_disagreement"))
    ab, bc, cd, da = sides
    width, depth = round((ab + cd) / 2), round((bc + da) / 2)
    base = square_answer(
        width, depth, diagonals[0], diagonals[1], unit, rules=rules, push_front=push_front, strings=strings
    )
    edges = max(abs(ab - cd), abs(bc - da))
    allowed = in_force.figure(tolerance_key(expected_diagonal(width, depth)))
    answer = {
        **base.answer,
        "edges_differ_in": inches(edges),
        "suspect": fit.suspect,
        "misread_in": inches(abs(fit.misread_nm)),
    }
    named = dict(zip(READINGS, (*sides, *diagonals), strict=True))
    six = replace(
        base,
        inputs={f"{name.lower()}_in": inches(nm) for name, nm in named.items()},
        answer=answer,
        working=(
            *base.working,
            f"edges: AB - CD = {format_small(ab - cd, unit)}, BC - DA = {format_small(bc - da, unit)}",
            "best fit, tape less fit: "
            + ", ".join(f"{name} {format_small(off, unit, 32)}" for name, off in fit.residuals_nm.items()),
        ),
        source=f"{base.source}; {SOURCE}",
    )
    failed = Verdict.FAILED if rules is not None else None
    if fit.suspect:
        text = _misread(fit, unit)
        return replace(
            six, headline=text, verdict=failed, moves=(f"read {fit.suspect} again before you push anything",)
        )
    if edges > allowed:
        wide = abs(ab - cd) >= abs(bc - da)
        pair, longer = ("AB and CD", "AB" if ab > cd else "CD") if wide else ("BC and DA", "BC" if bc > da else "DA")
        text = f"opposite edges {pair} differ by {format_small(edges, unit)}"
        return replace(
            six,
            headline=text,
            verdict=failed,
            moves=(f"set {longer} back by {format_small(edges, unit)}, then read the diagonals",),
        )
    return six


def _misread(fit: Fit, unit: Unit) -> str:
    how = "long" if fit.misread_nm > 0 else "short"
    other = f" (or {listing(fit.or_else)})" if fit.or_else else ""
    return f"the tapes contradict each other: {fit.suspect}{other} reads {format_small(abs(fit.misread_nm), unit)} too {how}"
