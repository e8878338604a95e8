"""The one shape of every computed answer, for a check of a job and for a figure asked from a shell alike."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Any, TypeAlias

from tracker.trade.dates import with_years

Plain: TypeAlias = "str | int | float | bool | list[Plain] | dict[str, Plain] | None"


class Verdict(StrEnum):
    """What a check says of its readings."""

    PASSED = "passed"
    FAILED = "failed"
    INCOMPLETE = "not enough readings"


@dataclass(frozen=True, slots=True)
class Limit:
    """A tolerance that was applied: its text, where it comes from, and the published limit beside it.

    ``what`` names the quantity (``between the diagonals``); ``text`` prints the limit; ``source`` is ``house rule``,
    ``common practice`` or a document; ``published`` is the text of a published limit that stays visible when a house
    rule replaced it (empty when there is none).
    """

    what: str
    text: str
    source: str
    published: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """A computed answer that shows its work.

    ``inputs`` and ``answer`` hold plain numbers and texts whose keys carry the unit (``push_in``, ``boards``);
    ``headline`` is the result in one short line; ``moves`` say what to do next, one instruction each; ``working`` is
    the formula in words with the numbers put in, a line a step; ``source`` names the document, "common practice" or
    "house rule"; ``caution`` is what can hurt someone or who decides. ``verdict`` is None for a figure that judges
    nothing.
    """

    headline: str
    inputs: Mapping[str, Plain]
    answer: Mapping[str, Plain]
    working: tuple[str, ...]
    source: str
    verdict: Verdict | None = None
    moves: tuple[str, ...] = ()
    limits: tuple[Limit, ...] = ()
    caution: str = ""

    def as_json(self) -> dict[str, Plain]:
        """The documented JSON of every figure and every check; keys are stable."""
        out: dict[str, Plain] = {
            "headline": self.headline,
            "inputs": dict(self.inputs),
            "answer": dict(self.answer),
            "moves": list(self.moves),
            "limits": [
                {"what": x.what, "text": x.text, "source": x.source, "published": x.published} for x in self.limits
            ],
            "working": list(self.working),
            "source": self.source,
            "caution": self.caution,
        }
        if self.verdict is not None:
            out["verdict"] = self.verdict.value
        return out


def answer_from_json(stored: Mapping[str, Any]) -> Answer:
    """The Answer that ``as_json`` wrote; raises KeyError or ValueError when it is not one."""
    return Answer(
        headline=stored["headline"],
        inputs=stored["inputs"],
        answer=stored["answer"],
        moves=tuple(stored["moves"]),
        limits=tuple(Limit(**limit) for limit in stored["limits"]),
        working=tuple(stored["working"]),
        source=stored["source"],
        caution=stored["caution"],
        verdict=Verdict(stored["verdict"]) if "verdict" in stored else None,
    )


def read_in(answer: Answer, written: date, today: date | None) -> Answer:
    """A kept answer as it is read on ``today``: days in its texts carry their year when that is over (see ``with_years``)."""
    if today is not None and today.year == written.year:
        return answer
    return replace(
        answer,
        headline=with_years(answer.headline, written),
        moves=tuple(with_years(move, written) for move in answer.moves),
        working=tuple(with_years(line, written) for line in answer.working),
    )


def result(answer: Answer, name: str = "") -> str:
    """The headline of an answer without the moves that close it (they are told as moves), and without
    words at its start that only say the check's ``name`` again.
    """
    text = answer.headline
    for move in reversed(answer.moves):
        told = move if text.endswith(move) else move.removeprefix("read ")
        if text.endswith(told) and len(text) > len(told):
            text = text[: -len(told)].rstrip(" ,;:")
    lead, colon, rest = text.partition(": ")
    known = {*re.split("[^a-z]+", name), "out", "of", "good"}
    return rest if colon and name and all(word in known for word in lead.split()) else text


def steps(answer: Answer, name: str = "") -> tuple[str, ...]:
    """The moves of an answer, less those its ``result`` says already."""
    said = result(answer, name)
    return tuple(move for move in answer.moves if move not in said)
