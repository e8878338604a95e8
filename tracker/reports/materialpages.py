"""The take-off of a job as a page with its working, and as plain values."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.reports.words import pieces
from tracker.text import count
from tracker.trade.answer import Plain
from tracker.trade.lengths import Rounding, Unit, exact_text, millimetres
from tracker.trade.material import Line as Material


def takeoff_page(title: str, lines: Sequence[Material], unit: Unit, *, why: bool = False) -> Page:
    """The material list; with ``why`` each line shows its working and its cut pieces."""
    head = [
        Line(f"Take-off {title}: {count(len(lines), 'item')}", Tone.TITLE),
        Line(f"{Rounding(unit)}", Tone.QUIET),
        BLANK,
    ]
    if not why:
        rows = tuple((str(m.quantity), m.unit, m.title, m.item, m.phase) for m in lines)
        grid = Grid(("", "", "item", "known as", "for"), rows, frozenset({0}))
        return (*head, grid, BLANK, Line("--why shows where each quantity comes from.", Tone.QUIET))
    out: list[Line | Grid] = list(head)
    for material in lines:
        amount = pieces(material.quantity, material.unit)
        out.append(Line(f"{amount}  {material.title} ({material.item}), for {material.phase}"))
        out += [Line(text, Tone.QUIET, indent=4) for text in material.working]
    return tuple(out)


def takeoff_json(code: str, title: str, lines: Sequence[Material], unit: Unit) -> dict[str, Plain]:
    """The take-off as plain values."""
    return {"job": code, "title": title, "lines": [_material_json(line, unit) for line in lines]}


def _material_json(line: Material, unit: Unit) -> Plain:
    return {
        "item": line.item,
        "title": line.title,
        "quantity": line.quantity,
        "unit": line.unit,
        "phase": line.phase,
        "platform": line.platform,
        "use_category": line.use_category,
        "wood": line.wood,
        "working": list(line.working),
        "pieces": [
            {
                "length": {"text": exact_text(p.length_nm, unit), "mm": millimetres(p.length_nm)},
                "quantity": p.quantity,
                "what": p.what,
                "whole": p.whole,
            }
            for p in line.pieces
        ],
    }
