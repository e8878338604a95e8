"""The running tape list of a frame: where each joist stands on every rim, measured once from the rim's left end.

Left and right are as seen from the yard facing the house, on the back rim and on the front rim alike, so that both are
marked from the same side. Marks are the near (left) edges of joists; the X goes on the right of the line. All lengths are
whole nanometres. The method is common practice.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from tracker.text import count, listing
from tracker.trade.joistlines import Joist, JoistLine, OutlineFrame, Rim, RimKind, Why
from tracker.trade.lengths import Unit, format_inches, format_length, format_small
from tracker.trade.polygon import root2


@dataclass(frozen=True, slots=True)
class TapeMark:
    """One line to pencil for joist line ``joist``: ``at_nm`` from the rim's left end, ``plies`` joists side by side to the
    right of it.
    """

    joist: int
    at_nm: int
    plies: int
    why: Why


@dataclass(frozen=True, slots=True)
class RimTape:
    """The marks of one rim from its left end."""

    title: str
    rim: Rim
    marks: tuple[TapeMark, ...]


def tape_list(frame: OutlineFrame) -> tuple[RimTape, ...]:
    """The tape of every rim: the back ones from left to right, then the front ones.

    On an angled rim the marks are measured along it, to where the near edge of the joist meets it.
    """
    rims = sorted(frame.rims, key=lambda rim: (not rim.edge.at_back, min(rim.edge.start[0], rim.edge.end[0])))
    return tuple(RimTape(_title(rim), rim, _marks(rim, frame.joists_on(rim))) for rim in rims)


def _title(rim: Rim) -> str:
    side = "back" if rim.edge.at_back else "front"
    if rim.kind is RimKind.LEDGER:
        return "ledger inside the cut-out" if rim.edge.inner else "ledger"
    if rim.edge.cut is not None:
        return f"{rim.kind}, {rim.edge.cut.corner}"
    return f"{side} {rim.kind}"


def _marks(rim: Rim, joists: Iterable[Joist]) -> tuple[TapeMark, ...]:
    left = min(rim.edge.start[0], rim.edge.end[0])
    found: dict[int, list[Joist]] = {}
    for joist in joists:
        found.setdefault(joist.line.near_nm, []).append(joist)
    marks = []
    for plies in found.values():
        at = max(min(joist.near_nm for joist in plies) - left, 0)
        line = plies[0].line
        marks.append(TapeMark(line.number, root2(at) if rim.kind is RimKind.ANGLED else at, len(plies), line.why))
    return tuple(sorted(marks, key=lambda mark: mark.at_nm))


def marks_of(frame: OutlineFrame, line: JoistLine) -> tuple[tuple[str, int], ...]:
    """Where one joist line is marked: the rim's title and its distance there, for each rim it meets."""
    found = []
    for tape in tape_list(frame):
        joists = [joist for joist in frame.joists_on(tape.rim) if joist.line == line]
        found += [(tape.title, mark.at_nm) for mark in _marks(tape.rim, joists)]
    return tuple(found)


def on_tape(nm: int, unit: Unit) -> str:
    """A distance as it is read off the tape."""
    return format_inches(nm) if unit is Unit.INCH else format_length(nm, unit)


def tape_lines(tape: RimTape, unit: Unit) -> tuple[str, ...]:
    """The tape of one rim as the crew lead reads it out, one mark a line behind its joist's number, doubled joists marked
    with two X.
    """
    length = format_length(tape.rim.length_nm, unit)
    lines = [
        f"{tape.title}, {length}: hook the tape at the left end, pencil each line, X on the right of it; joists numbered as on the plan"
    ]
    for mark in tape.marks:
        crosses = " ".join("X" * mark.plies)
        note = {Why.LAYOUT: "", Why.EDGE: "edge joist"}.get(mark.why, mark.why.value)
        what = ", ".join(part for part in ("doubled" if mark.plies > 1 else "", note) if part)
        lines.append(f"{mark.joist}. {on_tape(mark.at_nm, unit)} {crosses}" + (f" ({what})" if what else ""))
    lines += [f"joint at {on_tape(joint.at_nm, unit)}, {joint}" for joint in tape.rim.joints]
    return tuple(lines)


def cutting_order(frame: OutlineFrame, unit: Unit) -> tuple[str, ...]:
    """What to cut for the frame, for the crew lead: rims as they go on, then joists and blocking, longest first."""
    lines = []
    for tape in tape_list(frame):
        pieces = f", {joined(tape.rim, unit)}" if tape.rim.joints else ""
        lines.append(f"{tape.title}: {format_length(tape.rim.length_nm, unit)}{mitres(tape.rim)}{pieces}")
    cut: dict[tuple[int, int, int, str], list[int]] = {}
    for joist in frame.joists:
        word = "joist piece" if joist.joints_nm else "joist"
        for place, part in enumerate(joist.parts_nm):
            one = joist.cut_start_tenths if place == 0 else 0
            other = joist.cut_end_tenths if place == len(joist.joints_nm) else 0
            cut.setdefault((part, min(one, other), max(one, other), word), []).append(joist.line.number)
    for (length, one, other, word), numbers in sorted(cut.items(), reverse=True):
        whose = "" if len(set(numbers)) == len(frame.joist_lines) else f" ({_runs(numbers)})"
        lines.append(f"{count(len(numbers), word)} of {format_length(length, unit)}{_ends(one, other)}{whose}")
    for length, number in sorted(Counter(piece.length_nm for piece in frame.splice_pieces).items(), reverse=True):
        lines.append(f"{count(number, 'splice piece')}, {format_small(length, unit)}")
    for length, number in sorted(Counter(frame.blocking_nm).items(), reverse=True):
        lines.append(f"{count(number, 'piece')} of blocking, {format_small(length, unit)}")
    return tuple(lines)


def _runs(numbers: Iterable[int]) -> str:
    """Joist numbers as a plan reader takes them in: ``joists 1 to 12 and 17``."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    told = [str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs]
    return f"joist{'' if len(set(numbers)) == 1 else 's'} {listing(told, 'and')}"


def joined(rim: Rim, unit: Unit) -> str:
    """A rim's pieces from its left end and what they are joined on, in words; empty where it is one piece."""
    if not rim.joints:
        return ""
    pieces = " + ".join(format_length(part, unit) for part in rim.parts_nm)
    return f"longer than the stock: pieces of {pieces}, joined {listing([str(joint) for joint in rim.joints], 'and')}"


def mitres(rim: Rim) -> str:
    """How a rim's ends are cut, in words; nothing for square ones."""
    return _ends(rim.mitre_start_tenths, rim.mitre_end_tenths)


def _ends(one: int, other: int) -> str:
    """The end cuts in words, nothing for square ones."""
    angles = [tenths for tenths in (one, other) if tenths]
    if not angles:
        return ""
    text = " and ".join(f"{tenths / 10:g}" for tenths in sorted(set(angles)))
    ends = "both ends" if len(angles) == 2 else "one end"
    return f", cut {text} degrees off square at {ends}, between long points"
