"""Pages about material: the take-off with its working, and what is left to buy."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import groupby

from tracker.book.views import NeedView
from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.reports.words import due_words, pieces
from tracker.text import count
from tracker.trade.answer import Plain
from tracker.trade.lengths import Rounding, Unit, exact_text, millimetres
from tracker.trade.material import Line as Material
from tracker.trade.money import format_money


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


def buy_page(needs: Sequence[NeedView], day: date) -> Page:
    """What is left to buy on ``day``, what is needed first on top; what is due by the next day says so."""
    short = sorted((n for n in needs if n.to_buy > 0), key=lambda n: (not n.late, n.needed_on, n.job, n.phase, n.item))
    if not short:
        return (Line("Nothing left to buy: everything needed is used, on hand or on order.", Tone.GOOD),)
    known = [n.cost_cents for n in short if n.cost_cents is not None]
    now = sum(1 for n in short if n.late)
    head = f"{count(len(short), 'item')} to buy"
    head += f", {now} of them now" if now else ""
    unpriced = len(short) - len(known)
    head += f": {format_money(sum(known))}" if known else ""
    head += f" and {count(unpriced, 'item')} without a price" if known and unpriced else ""
    out: list[Line | Grid] = [Line(head, Tone.TITLE)]
    for (late, _, job, phase), found in groupby(short, lambda n: (n.late, n.needed_on, n.job, n.phase)):
        group = list(found)
        head = f"{job} {phase}, {due_words(group[0], day)}"
        out += [BLANK, Line(head, Tone.CARE if late else Tone.TITLE)]
        rows = tuple(
            (
                str(n.to_buy),
                n.unit,
                n.title or n.item,
                n.item,
                "" if n.cost_cents is None else format_money(n.cost_cents),
            )
            for n in group
        )
        out.append(Grid((), rows, frozenset({0, 4}), indent=2))
    return (*out, BLANK, Line("Order by the name in the fourth column: deckjobs order JOB ITEM COUNT", Tone.QUIET))
