"""One joist of a drawing in words: what it is, where it is marked on the tape, what the checks say of it."""

from __future__ import annotations

from dataclasses import dataclass

from tracker.reports.drawing_marks import MARK_WORDS, CheckNote, Mark
from tracker.reports.drawing_shapes import Drawing, DrawnJoist
from tracker.text import listing
from tracker.trade.joistlines import Why
from tracker.trade.lengths import format_length, format_small
from tracker.trade.tapelist import marks_of, on_tape


@dataclass(frozen=True, slots=True)
class JoistFacts:
    """``what`` it is and ``tape`` where it is marked, a line each; ``failing`` are the checks that name it, worst first."""

    what: str
    tape: str
    failing: tuple[CheckNote, ...]


def joist_facts(drawing: Drawing, number: int) -> JoistFacts:
    """The facts of joist ``number``, counted from the left from 1. Raises IndexError for a number it does not have."""
    if not 1 <= number <= len(drawing.joists):
        raise IndexError(number)
    joist, line = drawing.joists[number - 1], drawing.frame.joist_lines[number - 1]
    unit = drawing.unit
    lengths = dict.fromkeys(one.length_nm for one in drawing.frame.joists if one.line == line)
    found = [f"joist {number} of {len(drawing.joists)}: {listing([format_length(nm, unit) for nm in lengths], 'and')}"]
    if pieces := list(
        dict.fromkeys(one.parts_nm for one in drawing.frame.joists if one.line == line and one.joints_nm)
    ):
        told = (" + ".join(format_length(nm, unit) for nm in parts) for parts in pieces)
        found.append(f"in pieces of {listing(list(told), 'and')}")
    if joist.plies > 1:
        found.append("doubled" if joist.plies == 2 else f"{joist.plies} side by side")
    if joist.why not in (Why.LAYOUT.value, ""):
        found.append("edge joist" if joist.why == Why.EDGE.value else joist.why)
    if joist.crown_nm is not None:
        found.append(_crown(joist, format_small(abs(joist.crown_nm), unit)))
    if joist.mark in (Mark.PASSED, Mark.OPEN):
        found.append("good as read" if joist.mark is Mark.PASSED else "not read yet")
    by_place: dict[str, list[str]] = {}
    for rim, at in marks_of(drawing.frame, line):
        by_place.setdefault(on_tape(at, unit), []).append(rim)
    tape = "; ".join(f"{at} X on the {listing(rims, 'and')}" for at, rims in by_place.items())
    return JoistFacts(", ".join(found), f"tape: {tape}" if tape else "", failing(drawing, number))


def failing(drawing: Drawing, number: int) -> tuple[CheckNote, ...]:
    """The checks that failed, or were waived, at a joist."""
    name = f"joist {number}"
    return tuple(n for n in drawing.checks if name in n.parts and n.mark in (Mark.FAILED, Mark.WAIVED))


def failing_joists(drawing: Drawing, check: str = "") -> tuple[int, ...]:
    """The numbers of the joists at which something failed, or the check of that key did."""
    numbers = (joist.number for joist in drawing.joists)
    return tuple(n for n in numbers if any(not check or note.key == check for note in failing(drawing, n)))


def told(note: CheckNote) -> str:
    """A check in one line: its word, its title, what it found."""
    return f"{MARK_WORDS[note.mark]} {note.title}: {note.headline}"


def _crown(joist: DrawnJoist, amount: str) -> str:
    if not joist.crown_nm:
        return "straight"
    return f"crown {amount} {'up' if joist.crown_nm > 0 else 'DOWN'}"
