"""Every constant and table of the trade room with its value and its source, as one Markdown page.

``python -m tracker.trade.reference > FIGURES.md`` writes it. It walks the modules: a new constant, rule, row or phase
shows by itself, with the words that stand beside it in the source.
"""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from datetime import timedelta
from enum import Enum
from fractions import Fraction
from types import ModuleType

import tracker.trade
from tracker.trade.beam_tables import BEAM_JOIST_SPANS_FT, BEAM_SOURCES, BEAM_SPANS_IN, BeamTable
from tracker.trade.checks.registry import CHECKS
from tracker.trade.effort import Effort
from tracker.trade.lengths import FOOT, INCH, Unit, exact_small
from tracker.trade.loads import (
    RIMS,
    fastener_capacity_lb,
    footing_size,
    ledger_load_lb,
    ledger_spacings_in,
    post_area_ft2,
)
from tracker.trade.movement import ROWS, Grain
from tracker.trade.phases import PHASES, Phase
from tracker.trade.rules import RULES, RuleKind, show_rule
from tracker.trade.span_math import DEAD_TABLE_PSF, LIVE_LEAST_PSF, load_cases, member_span, overhang_in
from tracker.trade.span_tables import (
    FOOTING_ROWS,
    FOOTING_TABLE,
    JOIST_SPANS_IN,
    JOIST_TABLE,
    LEDGER_ROWS,
    LEDGER_TABLE,
    OVERHANGS_IN,
    RIM_TABLE,
    SPACINGS_IN,
)
from tracker.trade.spans import BEAM_TRIBUTARY, comparison_table

_UNITS = {"INCH", "FOOT", "MM", "SIXTEENTH", "SIXTY_FOURTH", "THOUSANDTH", "TENTH_MM"}
_OWN_SECTIONS = {"RULES", "PHASES", "EFFORTS", "CHECKS", "BY_KEY", "ROWS"}
_INTRO = """\
# Figures

Every constant and table that the trade room computes with, its value and its source. This page is made by
`python -m tracker.trade.reference > FIGURES.md`; do not edit it. "From memory: X" is a value of document X that was not
read when it was written; "common practice" is a figure of the trade with no document behind it. Codes are models: the
adopted local edition and its amendments, the permit office and licensed professionals decide."""


@dataclass(frozen=True, slots=True)
class Constant:
    """One constant of a module: its name, value, whether it is a length in nm, and the words beside it."""

    name: str
    value: object
    length: bool
    words: str


def trade_modules() -> tuple[ModuleType, ...]:
    """Every module of the trade room but this one, in order of name."""
    found = pkgutil.walk_packages(tracker.trade.__path__, "tracker.trade.")
    names = sorted(info.name for info in found if not info.name.endswith((".reference", "__main__")))
    return tuple(importlib.import_module(name) for name in names)


def constants_of(module: ModuleType) -> tuple[Constant, ...]:
    """The constants of a module that hold figures, in the order of its source.

    The words are the docstring after an assignment, else the comment above it.
    """
    source = inspect.getsource(module)
    lines, body = source.splitlines(), ast.parse(source).body
    found: list[Constant] = []
    for index, node in enumerate(body):
        if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None:
            continue
        words = _docstring(body[index + 1] if index + 1 < len(body) else None) or _comment(lines, node.lineno - 1)
        length = any(isinstance(part, ast.Name) and part.id in _UNITS for part in ast.walk(node.value))
        for name in _names(node):
            value = getattr(module, name, None)
            if name.strip("_").isupper() and name not in _OWN_SECTIONS and _holds_figures(value):
                found.append(Constant(name, value, length or name.endswith("_NM"), words))
    return tuple(found)


def _names(node: ast.Assign | ast.AnnAssign) -> Iterator[str]:
    targets = node.targets if isinstance(node, ast.Assign) else [node.target]
    for target in targets:
        for part in ast.walk(target):
            if isinstance(part, ast.Name):
                yield part.id


def _docstring(node: ast.stmt | None) -> str:
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str):
        return " ".join(node.value.value.split())
    return ""


def _comment(lines: list[str], above: int) -> str:
    words: list[str] = []
    while above > 0 and lines[above - 1].startswith("#"):
        words.insert(0, lines[above - 1].lstrip("# "))
        above -= 1
    return " ".join(words)


def _holds_figures(value: object) -> bool:
    if isinstance(value, bool | Enum):
        return False
    if isinstance(value, int | float | Fraction | timedelta):
        return True
    if isinstance(value, Mapping):
        return any(_holds_figures(part) for part in value.values())
    if isinstance(value, tuple | list):
        return any(_holds_figures(part) for part in value)
    if is_dataclass(value) and not isinstance(value, type):
        return any(_holds_figures(getattr(value, part.name)) for part in fields(value))
    return False


def _show(value: object, length: bool) -> str:
    """A value as text; lengths in exact inches, else millimetres."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int) and length:
        return exact_small(value, Unit.INCH if value % (INCH // 64) == 0 else Unit.MM)
    if isinstance(value, int | float | Fraction):
        return f"{value:,}" if isinstance(value, int) else f"{float(value):.6g}"
    if isinstance(value, timedelta):
        return f"{value.days} days"
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, Mapping):
        return "; ".join(f"{_show(key, False)}: {_show(part, length)}" for key, part in value.items())
    if isinstance(value, tuple | list):
        return ", ".join(_show(part, length) for part in value)
    if is_dataclass(value) and not isinstance(value, type):
        return "; ".join(f"{part.name} {_show(getattr(value, part.name), length)}" for part in fields(value))
    return str(value)


def _table(header: Iterable[str], rows: Iterable[Iterable[str]]) -> list[str]:
    def line(cells: Iterable[str]) -> str:
        return "| " + " | ".join(" ".join(cell.split()).replace("|", "/") for cell in cells) + " |"

    names = list(header)
    return [line(names), line("---" for _ in names), *(line(row) for row in rows), ""]


def _rows_of(constant: Constant) -> list[str] | None:
    """A table of its own for a mapping or a tuple of records; None for a value that fits on a line."""
    value = constant.value
    keys = list(value) if isinstance(value, Mapping) else None
    parts = list(value.values()) if isinstance(value, Mapping) else value
    if not isinstance(parts, list | tuple) or not parts:
        return None
    records = [part for part in parts if is_dataclass(part) and not isinstance(part, type)]
    if len(records) == len(parts):
        columns = [part.name for part in fields(records[0])]
        rows = [
            [_show(getattr(record, column), constant.length or column.endswith("_nm")) for column in columns]
            for record in records
        ]
        if keys is not None:
            rows = [[_show(key, False), *row] for key, row in zip(keys, rows, strict=True)]
            columns = ["key", *columns]
        return _table(columns, rows)
    if keys is not None:
        pairs = zip(keys, parts, strict=True)
        return _table(("key", "value"), ((_show(key, False), _show(part, constant.length)) for key, part in pairs))
    return None


def _unsaid(module: ModuleType, name: str) -> str:
    """Where a constant without words of its own comes from: the module's source, or our own method."""
    if name.startswith("_"):
        return "the method, or a bound of this program"
    return str(getattr(module, "SOURCE", "as the module says above, or a bound of this program"))


def module_section(module: ModuleType) -> list[str]:
    """One module: what it says of itself, its constants, its tables."""
    constants = constants_of(module)
    if not constants:
        return []
    name = module.__name__.removeprefix("tracker.trade.")
    out = [f"### {name}", "", " ".join((module.__doc__ or "").split()), ""]
    plain: list[list[str]] = []
    tables: list[str] = []
    for constant in constants:
        words = constant.words or _unsaid(module, constant.name)
        rows = _rows_of(constant)
        if rows is None:
            plain.append([f"`{constant.name}`", _show(constant.value, constant.length), words])
        else:
            tables += [f"`{constant.name}`: {words}", "", *rows]
    if plain:
        out += _table(("constant", "value", "source"), plain)
    return out + tables


def _rules() -> list[str]:
    def published(rule_published: str, least: str) -> str:
        return "; ".join(text for text in (rule_published, least) if text)

    rows = [
        [
            f"`{rule.key}`", rule.what, show_rule(rule, rule.default, Unit.INCH), rule.source,
            published(rule.published, f"at most {rule.most}" if rule.most and rule.kind is RuleKind.COUNT else ""),
        ]
        for rule in RULES
    ]  # fmt: skip
    return ["## House rules", "", *_table(("rule", "what", "default", "source", "beside it"), rows)]


def _hours(effort: Effort) -> str:
    return " + ".join((f"{effort.fixed:g}", *(f"{rate.hours:g} x {rate.per}" for rate in effort.rates)))


def _phase_row(number: int, phase: Phase) -> list[str]:
    hold = f"H{phase.hold}" if phase.hold else ""
    return [
        str(number), f"`{phase.key}`", phase.title, hold, ", ".join(phase.when) or "always", _hours(phase.effort),
        ", ".join(phase.checks), ", ".join(phase.standing), phase.wait.rule if phase.wait else "",
    ]  # fmt: skip


def _phases() -> list[str]:
    header = ("", "phase", "", "hold", "when", "person-hours", "checks", "must still be good", "waits by rule")
    rows = (_phase_row(number, phase) for number, phase in enumerate(PHASES, 1))
    words = "Order, hold points and what each measures: common practice. Hours: the constants of `effort` say which are published."
    return ["## Phases", "", words, "", *_table(header, rows)]


def _checks() -> list[str]:
    rows = ([f"`{check.key}`", check.title, check.asks, check.source] for check in CHECKS)
    return ["## Checks", "", *_table(("check", "", "asks", "source"), rows)]


def _feet(inches: float) -> str:
    feet, rest = divmod(round(inches), 12)
    return f"{feet}-{rest}"


def _joists() -> list[str]:
    rows = [
        [
            cell.group, cell.size, str(cell.spacing_in), f"{cell.computed_in:.2f}", _feet(cell.published_in),
            f"{cell.difference_in:+.2f}", cell.governs, cell.explained,
        ]
        for cell in comparison_table()
    ]  # fmt: skip
    header = ("species group", "size", "spacing in", "computed in", "published ft-in", "difference in", "governs", "")
    return ["## Joist spans, computed and published", "", JOIST_TABLE, "", *_table(header, rows)]


def _overhangs() -> list[str]:
    rows = []
    for (group, size), cells in OVERHANGS_IN.items():
        for spacing, published, span in zip(SPACINGS_IN, cells, JOIST_SPANS_IN[group, size], strict=True):
            computed = overhang_in(size, group.split(",")[0], span)
            rows.append(
                [group, size, str(spacing), f"{computed:.2f}", _feet(published), f"{computed - published:+.2f}"]
            )
    words = f"{JOIST_TABLE}. Computed for the published span; its 3 in offset is our own reading of the table."
    header = ("species group", "size", "spacing in", "computed in", "published ft-in", "difference in")
    return ["## Joist overhangs, computed and published", "", words, "", *_table(header, rows)]


def _beams() -> list[str]:
    cases = load_cases(LIVE_LEAST_PSF, None, DEAD_TABLE_PSF)
    rows = []
    for beam, cells in BEAM_SPANS_IN[BeamTable.DCA].items():
        group, plies, size = beam
        for feet, shorter, code in zip(BEAM_JOIST_SPANS_FT, cells, BEAM_SPANS_IN[BeamTable.CODE][beam], strict=True):
            width = BEAM_TRIBUTARY * 12 * feet
            computed = member_span(size, group.split(",")[0], width, plies, cases, repetitive=False).span_in
            off = (f"{(computed - published) / published * 100:+.1f}" for published in (shorter, code))
            rows.append(
                [group, f"{plies}-ply {size}", str(feet), f"{computed:.1f}", _feet(shorter), _feet(code), *off]
            )  # fmt: skip
    words = "; ".join(f"{table}: {source}" for table, source in BEAM_SOURCES.items())
    header = ("species group", "beam", "joists ft", "computed in", *BeamTable, "off % of the first", "of the second")
    return [
        "## Beam spans, computed and published", "",
        f"{words}. A sanity band, not an equality; the computation never raises a published span.", "",
        *_table(header, rows),
    ]  # fmt: skip


def _footings() -> list[str]:
    rows = []
    for row in FOOTING_ROWS:
        area = post_area_ft2(row.beam_span_ft * FOOT, row.joist_span_ft * FOOT)
        pad = footing_size((LIVE_LEAST_PSF + DEAD_TABLE_PSF) * area, 1500)
        rows.append(
            [
                str(row.beam_span_ft), str(row.joist_span_ft), f"{area:g}",
                f"{pad.exact_round_in:.2f} / {pad.exact_square_in:.2f} / {pad.thickness_in}",
                f"{row.round_in} / {row.square_in} / {row.thickness_in}",
                f"{pad.exact_round_in - row.round_in:+.2f} / {pad.exact_square_in - row.square_in:+.2f}"
                f" / {pad.thickness_in - row.thickness_in:+d}",
            ]
        )  # fmt: skip
    header = ("beam ft", "joists ft", "area ft2", "computed round / square / thick", "published", "difference in")
    return ["## Footings, computed and published", "", FOOTING_TABLE, "", *_table(header, rows)]


def _ledgers() -> list[str]:
    rows = []
    for row in LEDGER_ROWS:
        spacings = [inches for rim in RIMS for inches in ledger_spacings_in(row, rim).values()]
        loads = (f"{inches} in, {ledger_load_lb(row.joist_span_ft * FOOT, inches):.0f} lb" for inches in spacings)
        rows.append([str(row.joist_span_ft), *loads])
    kinds = [(kind, rim) for rim in RIMS for kind in ledger_spacings_in(LEDGER_ROWS[0], rim)]
    least = ", ".join(f"{kind} in {rim} {fastener_capacity_lb(kind, rim):.0f} lb" for kind, rim in kinds)
    words = (
        f"{LEDGER_TABLE}; {RIM_TABLE}. Beside each spacing the load it implies; least where the cap of the spacing does not"
        f" bite: {least}."
    )
    header = ("joists ft", *(f"{kind}, {rim}" for kind, rim in kinds))
    return ["## Ledger fasteners", "", words, "", *_table(header, rows)]


def _movement() -> list[str]:
    rows = (
        [
            row.name, f"{row.radial_tenths / 10:g}", f"{row.tangential_tenths / 10:g}", str(row.saturation_pct),
            f"{row.coefficient(Grain.EDGE):.5f}", f"{row.coefficient(Grain.FLAT):.5f}",
            "from memory: Wood Handbook Table 4-3" if row.memory else "Wood Handbook Table 4-3",
        ]
        for row in ROWS.values()
    )  # fmt: skip
    words = "Coefficients are computed from shrinkage, C = (S/F) / (1 - S (F - 10)/F); Table 13-5 from memory agrees."
    header = ("species", "radial %", "tangential %", "saturation %", "C radial", "C tangential", "source of shrinkage")
    return ["## Wood movement", "", words, "", *_table(header, rows)]


def page() -> str:
    """The whole page."""
    out = [_INTRO, ""]
    for section in (_rules, _phases, _checks, _joists, _overhangs, _beams, _footings, _ledgers, _movement):
        out += section()
    out += ["## Constants and tables by module", ""]
    for module in trade_modules():
        out += module_section(module)
    return "\n".join(out).rstrip() + "\n"


if __name__ == "__main__":
    print(page(), end="")
