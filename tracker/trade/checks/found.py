"""What a check gathers while it judges: faults, what to do about each, and the working."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from tracker.errors import InputError
from tracker.text import listing
from tracker.trade.answer import Answer, Limit, Plain
from tracker.trade.checks.base import Case, verdict
from tracker.trade.loading import BEYOND
from tracker.trade.readings import Form, Readings

_SHOWN = 3
"""Faults named in the headline; the rest are in the moves."""


@dataclass
class Found:
    """Faults, moves and working of one verdict; a fault always brings its move."""

    faults: list[str] = field(default_factory=list)
    moves: list[str] = field(default_factory=list)
    working: list[str] = field(default_factory=list)

    def fault(self, what: str, move: str) -> None:
        """Note what is wrong and what to do about it."""
        self.faults.append(what)
        if move not in self.moves:
            self.moves.append(move)

    def refuse_beyond(self, case: Case) -> None:
        """Note a fault where the deck carries what no deck table covers and no design of its own is recorded."""
        carries = listing(case.job.site.carries, "and")
        if carries and case.basis:
            self.working.append(f"{carries}: no deck table covers it; it stands on {case.basis}")
        elif carries:
            self.fault(f"{carries}: {BEYOND}", "record on whose design it stands before it is built (check design)")

    def verdict(
        self,
        good: str,
        *,
        inputs: Mapping[str, Plain],
        answer: Mapping[str, Plain],
        source: str,
        limits: Iterable[Limit],
        caution: str,
        advice: Iterable[str] = (),
    ) -> Answer:
        """The Answer: ``good`` when nothing was found, else the faults; ``advice`` follows the moves either way."""
        more = f"; {len(self.faults) - _SHOWN} more" if len(self.faults) > _SHOWN else ""
        return verdict(
            not self.faults,
            "; ".join(self.faults[:_SHOWN]) + more if self.faults else good,
            inputs=inputs,
            answer=answer,
            working=self.working,
            source=source,
            moves=[*self.moves, *advice],
            limits=limits,
            caution=caution,
        )


def missing(form: Form, readings: Readings) -> list[str]:
    """What a form still wants, in words: required fields, then required columns and the rows that lack them."""
    wanted = [spec.label for spec in form.fields if spec.required and not readings.has(spec.key)]
    for column in form.columns:
        rows = [row for row in form.rows if column.key not in readings.rows.get(row, {})]
        if column.required and rows:
            wanted.append(f"{column.label} at {rows[0] if len(rows) == 1 else f'{rows[0]} to {rows[-1]}'}")
    return wanted


def off_table(ask: Callable[[], Answer]) -> Answer | str:
    """The answer, or the reason in words why no table here reaches that far."""
    try:
        return ask()
    except InputError as error:
        return error.message
