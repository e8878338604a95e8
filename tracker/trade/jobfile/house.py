"""The house-rules file: ``[rules]`` and ``[phases.KEY]`` as in a job file, on their own."""

from __future__ import annotations

from tracker.text import clean
from tracker.trade.jobfile.parse import text_of, toml_of
from tracker.trade.jobfile.record import read_changes, read_rules
from tracker.trade.jobfile.table import Problems, Table
from tracker.trade.lengths import Unit
from tracker.trade.phases import PhaseChange


def parse_rules_bytes(data: bytes, name: str) -> tuple[dict[str, int], tuple[tuple[str, PhaseChange], ...]]:
    """Return the rule figures and phase changes of a house-rules file called ``name``.

    A top-level ``unit`` says what bare numbers are. Raises InputErrors naming file, line and key, as job files do.
    """
    table, lines = toml_of(text_of(data, name), name)
    problems = Problems(clean(name), lines)
    top = Table(table, (), problems)
    top.unit = Unit(top.choice("unit", [unit.value for unit in Unit], Unit.INCH.value) or Unit.INCH.value)
    figures = read_rules(top.table("rules"))
    changes = read_changes(top.table("phases"))
    top.close()
    problems.raise_any()
    return figures, changes
