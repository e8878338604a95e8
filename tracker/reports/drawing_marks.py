"""What the checks say of the parts of a drawing: which joists passed, how they crown, what failed and is to be done.

Read from the verdicts in force alone. A joist counts as good only in checks that judged it, and where a check failed
without naming a joist it speaks for none.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise

from tracker.book.views import CheckState, CheckView
from tracker.trade.answer import Answer, Verdict
from tracker.trade.lengths import INCH, from_inches


class Mark(StrEnum):
    """What the checks read so far say of a part."""

    OPEN = "not read"
    PASSED = "passed"
    WAIVED = "failed, waived"
    FAILED = "failed"


MARK_WORDS = {Mark.OPEN: "open", Mark.PASSED: "pass", Mark.WAIVED: "waived", Mark.FAILED: "FAIL"}
"""How a check stands, beside a drawing."""
_RANK = {Mark.OPEN: 0, Mark.PASSED: 1, Mark.WAIVED: 2, Mark.FAILED: 3}
_STATES = {
    CheckState.OPEN: Mark.OPEN,
    CheckState.PASSED: Mark.PASSED,
    CheckState.WAIVED: Mark.WAIVED,
    CheckState.FAILED: Mark.FAILED,
}
WHOLE_PARTS = {
    "ledger": "ledger", "stair": "stairs", "board-layout": "boards", "screws": "boards", "square": "frame",
    "layout-square": "strings",
}  # fmt: skip
"""The part a check speaks for as a whole."""
_SLACK = 1 / 64
"""Inches that rounding may put between a figure and its limit."""


def worst(one: Mark, other: Mark) -> Mark:
    """The worse of two marks."""
    return max(one, other, key=_RANK.__getitem__)


@dataclass(frozen=True, slots=True)
class CheckNote:
    """One check beside the drawing: ``parts`` are the failing parts it names; ``key`` is how the job calls the check."""

    title: str
    state: CheckState
    headline: str
    moves: tuple[str, ...]
    parts: tuple[str, ...]
    key: str

    @property
    def mark(self) -> Mark:
        """How its parts are marked."""
        return _STATES[self.state]


@dataclass(frozen=True, slots=True)
class Marks:
    """What is known of a platform: by joist number, by part name (``P1``, ``3b``, ``ledger``), and by check.

    ``crowns_nm`` are from the last crown reading, + up; ``levels`` the frame's level points.
    """

    joists: Mapping[int, Mark] = field(default_factory=dict)
    crowns_nm: Mapping[int, int] = field(default_factory=dict)
    parts: Mapping[str, Mark] = field(default_factory=dict)
    levels: Mapping[str, Mark] = field(default_factory=dict)
    notes: tuple[CheckNote, ...] = ()


def read_marks(checks: Iterable[CheckView], platform: str, lengths_nm: Sequence[int], level_nm: int) -> Marks:
    """Read the checks of one platform; those of the whole job (papers, deliveries) say nothing of its parts.

    ``lengths_nm`` are the lengths of its joist lines from the left; ``level_nm`` is the level tolerance in force.
    """
    joists: dict[int, Mark] = {}
    crowns: dict[int, int] = {}
    parts: dict[str, Mark] = {}
    levels: dict[str, Mark] = {}
    notes: list[CheckNote] = []
    for check in checks:
        answer = check.answer
        if check.platform != platform or (answer is None and check.state is CheckState.OPEN):
            continue
        key = check.key.partition(".")[0]
        bad = _STATES[check.state] if answer is not None and answer.verdict is Verdict.FAILED else Mark.PASSED
        names: list[str] = []
        if answer is not None and answer.verdict in (Verdict.PASSED, Verdict.FAILED):
            if key in _JOISTS:
                read, failing = _JOISTS[key](answer, lengths_nm)
                known = range(1, len(lengths_nm) + 1)
                if failing or answer.verdict is Verdict.PASSED:
                    for number in sorted(read & set(known)):
                        found = bad if number in failing else Mark.PASSED
                        joists[number] = worst(joists.get(number, Mark.OPEN), found)
                names = [f"joist {number}" for number in sorted(failing & set(known))]
            elif key in ("level", "block-level"):
                into = levels if key == "level" else parts
                for name, need in _figures(answer.answer.get("blocks_in")).items():
                    low = answer.verdict is Verdict.FAILED and from_inches(need) > level_nm
                    into[name] = bad if low else Mark.PASSED
                    names += [name] if low else []
            elif answer.verdict is Verdict.FAILED:
                told = " ".join((answer.headline, *answer.moves))
                names = list(dict.fromkeys(re.findall(r"\b[PB][1-9][0-9]?\b", told)))
                names = names or ([WHOLE_PARTS[key]] if key in WHOLE_PARTS else [])
                for name in names:
                    parts[name] = worst(parts.get(name, Mark.OPEN), bad)
            if key == "crown":
                by_number = {
                    _number(row): from_inches(nm) for row, nm in _figures(answer.inputs.get("crowns_in")).items()
                }
                crowns = {number: nm for number, nm in by_number.items() if number}
        moves = answer.moves if answer is not None and check.state is CheckState.FAILED else ()
        notes.append(CheckNote(check.title, check.state, check.headline, moves, tuple(names), check.key))
    notes.sort(key=lambda note: -_RANK[note.mark])
    return Marks(joists, crowns, parts, levels, tuple(notes))


def _figures(value: object) -> dict[str, float]:
    """A mapping of plain numbers as an answer holds it; anything else counts as empty."""
    if not isinstance(value, Mapping):
        return {}
    return {str(name): float(number) for name, number in value.items() if isinstance(number, int | float)}


def _words(value: object) -> list[str]:
    return [str(item) for item in value] if isinstance(value, list | tuple) else []


def _number(row: str) -> int:
    """The joist a row label begins with (``4`` of ``4L``), 0 for none."""
    match = re.match(r"[0-9]{1,4}", row)
    return int(match[0]) if match else 0


def _crown(answer: Answer, lengths: Sequence[int]) -> tuple[set[int], set[int]]:
    read = {_number(row) for row in _figures(answer.inputs.get("crowns_in"))}
    bad = _words(answer.answer.get("turn_over")) + _words(answer.answer.get("cull"))
    return read, {_number(row) for row in bad}


def _spacing(answer: Answer, lengths: Sequence[int]) -> tuple[set[int], set[int]]:
    read = {_number(row) for row in _figures(answer.inputs.get("centres_in"))}
    bad = {_number(row) for row in _words(answer.answer.get("off_layout"))}
    if answer.verdict is Verdict.FAILED and not bad:
        bad = {_number(row) for row in str(answer.answer.get("widest_bay", "")).split("-")}
    return read, bad


def _fasteners(answer: Answer, lengths: Sequence[int]) -> tuple[set[int], set[int]]:
    read = {_number(joint) for joint in _figures(answer.inputs.get("counted"))}
    return read, {_number(joint) for joint in _figures(answer.answer.get("shortfall"))}


def _support(answer: Answer, lengths: Sequence[int]) -> tuple[set[int], set[int]]:
    contacts, limit = answer.inputs.get("contacts_in"), answer.answer.get("limit_in")
    read: set[int] = set()
    bad: set[int] = set()
    if not isinstance(contacts, Mapping) or not isinstance(limit, int | float):
        return read, bad
    for row, places in contacts.items():
        number = _number(str(row))
        held = sorted(float(at) for at in places if isinstance(at, int | float)) if isinstance(places, list) else []
        if not held or not 0 < number <= len(lengths):
            continue
        read.add(number)
        stretches = [after - before for before, after in pairwise(held)]
        ends = max(held[0], lengths[number - 1] / INCH - held[-1])
        if max(stretches, default=0) > limit + _SLACK or ends > limit / 4 + _SLACK:
            bad.add(number)
    return read, bad


_JOISTS = {"crown": _crown, "joist-spacing": _spacing, "fasteners": _fasteners, "support": _support}
"""Checks that speak of single joists: the numbers they judged, and those that failed."""
