"""A cut plan as an answer, what a dearer plan buys, and how many spare boards to add for culls."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction

from tracker.errors import InputError
from tracker.planning.cutting.model import CutPlan, Stick, Stock
from tracker.text import count
from tracker.trade.answer import Answer, Plain
from tracker.trade.lengths import Unit, exact_small, exact_text, format_length, inches
from tracker.trade.money import format_money, line_total

SOURCE = (
    "column generation with a bounded knapsack (Gilmore and Gomory, Operations Research 9, 1961, and 11, 1963; from"
    " memory), every pattern a cheaper plan could use enumerated; kerf and trim as given"
)
CAUTION = (
    "Sight every board before cutting and keep the bad ones out. Eye and ear protection and a dust mask at the saw;"
    " board supported, hands clear of the blade. Treated wood: seal the field cuts, do not burn the offcuts."
)


def cuts_answer(plan: CutPlan, unit: Unit, has_price: Callable[[Stock], bool] | None = None) -> Answer:
    """The plan as an Answer, lengths in ``unit``.

    ``has_price`` tells the boards somebody prices (all, when left out); what the others count for in the search is in no
    figure. Keys: ``cost`` (of the boards with a price) and ``bound`` in the currency unit, ``proven``, ``boards``, ``sticks``
    (a list of ``stock_in``, ``cuts_in``, ``left_in``, longest stock first), ``longest_left_in``, ``waste_in``,
    ``first_fit_cost``; ``bound`` and ``first_fit_cost`` are null where a board has no price.
    """
    known = has_price or (lambda _stock: True)
    cost_e4 = sum(number * stock.cost_e4 for stock, number in plan.bought.items() if known(stock))
    without = sum(number for stock, number in plan.bought.items() if not known(stock))
    boards = count(len(plan.sticks), "board")
    headline = f"{_money(cost_e4)} for {boards}" if cost_e4 or not without else boards
    if without:
        headline += ", not priced" if without == len(plan.sticks) else f", {without} of them not priced"
    if plan.proven:
        headline += "; no plan is cheaper" if not without else "; no plan takes less"
    else:
        headline += (
            f"; the best found, at most {_money(plan.gap_e4)} above the cheapest" if not without else "; not proven"
        )
    pieces = Counter(nm for stick in plan.sticks for nm in stick.cuts_nm)
    return Answer(
        headline=headline,
        inputs={
            "pieces": [{"length_in": inches(nm), "quantity": pieces[nm]} for nm in sorted(pieces, reverse=True)],
            "kerf_in": inches(plan.kerf_nm),
            "trim_in": inches(plan.trim_nm),
        },
        answer={
            "cost": cost_e4 / 10_000,
            "bound": None if without else plan.bound_e4 / 10_000,
            "proven": plan.proven,
            "boards": len(plan.sticks),
            "sticks": [_stick(stick) for stick in plan.sticks],
            "longest_left_in": inches(plan.longest_left_nm),
            "waste_in": inches(plan.waste_nm),
            "first_fit_cost": None if without else plan.first_e4 / 10_000,
        },
        working=(*_bought(plan, unit, known), *_proof(plan, unit, money=not without)),
        source=SOURCE,
        moves=cut_lines(plan, unit),
        caution=CAUTION if plan.sticks else "",
    )


def cut_lines(plan: CutPlan, unit: Unit) -> tuple[str, ...]:
    """One line for each way a board is cut: how many, of which stock, the cuts in order, what falls off."""
    ways: dict[tuple[Stock, tuple[int, ...], int], int] = {}
    for stick in plan.sticks:
        key = (stick.stock, stick.cuts_nm, stick.left_nm)
        ways[key] = ways.get(key, 0) + 1
    lines = []
    for (stock, cuts, left), number in ways.items():
        named = f" {stock.name}" if stock.name else ""
        head = f"{number} x {exact_text(stock.length_nm, unit)}{named}: "
        if cuts == (stock.length_nm,):
            lines.append(f"{head}whole, not cut")
            continue
        runs = [f"{n} x {exact_text(nm, unit)}" if n > 1 else exact_text(nm, unit) for nm, n in Counter(cuts).items()]
        lines.append(f"{head}{', '.join(runs)}; {format_length(left, unit)} left" if left else head + ", ".join(runs))
    return tuple(lines)


def more_buys(plans: Sequence[CutPlan], unit: Unit, *, money: bool = True) -> tuple[str, ...]:
    """What each dearer plan buys over the first: boards saved, and the longest offcut, a line each.

    Without ``money``, where boards have no price, what it costs more is left out.
    """
    lines = []
    for plan in plans[1:]:
        extra, saved = plan.cost_e4 - plans[0].cost_e4, len(plans[0].sticks) - len(plan.sticks)
        line = f"{count(saved, 'board')} fewer ({len(plan.sticks)})"
        if money:
            line = f"{_money(extra)} more: {line}"
        if money and saved > 1:
            line += f", {_money(extra // saved)} for each"
        left = plan.longest_left_nm
        lines.append(f"{line}; longest offcut {format_length(left, unit)}" if left else line)
    return tuple(lines)


def spares(plan: CutPlan, share_tenths: int) -> Mapping[Stock, int]:
    """How many boards of each stock to buy besides, when ``share_tenths`` tenths of a percent are expected to be culls.

    The share of all boards bought, rounded up once, is spread over the stocks in proportion; what is left of the
    rounding goes to the largest remainder, then to the longest board, for it can stand in for a shorter one (common
    practice). Boards on hand have no spares. Raises InputError for a share outside 0 to 50 %.
    """
    if not 0 <= share_tenths <= 500:
        raise InputError(f"{share_tenths / 10:g} % culls cannot be planned for", "give a share from 0 to 50 %")
    bought = {stock: number for stock, number in plan.bought.items() if stock.limit is None}
    share = Fraction(share_tenths, 1000)
    out = {stock: math.floor(share * number) for stock, number in bought.items()}
    total = math.ceil(share * sum(bought.values()))
    remainders = sorted(bought, key=lambda stock: (out[stock] - share * bought[stock], -stock.length_nm, stock.cost_e4))
    for stock in remainders[: total - sum(out.values())]:
        out[stock] += 1
    return {stock: number for stock, number in out.items() if number}


def _money(cost_e4: int) -> str:
    return format_money(line_total(1, cost_e4))


def _stick(stick: Stick) -> Plain:
    cuts: list[Plain] = [inches(nm) for nm in stick.cuts_nm]
    return {"stock_in": inches(stick.stock.length_nm), "cuts_in": cuts, "left_in": inches(stick.left_nm)}


def _bought(plan: CutPlan, unit: Unit, known: Callable[[Stock], bool]) -> list[str]:
    return [
        f"{number} x {exact_text(stock.length_nm, unit)}"
        + (f" {stock.name}" if stock.name else "")
        + _worth(stock, number, known)
        for stock, number in plan.bought.items()
    ]


def _worth(stock: Stock, number: int, known: Callable[[Stock], bool]) -> str:
    if stock.limit is not None and not stock.cost_e4:
        return ", had already"
    if not known(stock):
        return ", not priced"
    return f" at {_money(stock.cost_e4)} = {_money(number * stock.cost_e4)}"


def _proof(plan: CutPlan, unit: Unit, *, money: bool) -> list[str]:
    lines = [f"kerf {exact_small(plan.kerf_nm, unit)}, end trim {exact_small(plan.trim_nm, unit)}"]
    if not money:
        counted = "boards without a price are counted by their length"
        return [*lines, f"{counted}: no plan takes less" if plan.proven else f"{counted}; not proven the least yet"]
    if plan.sticks:
        lines.append(f"the quick way, longest piece first: {_money(plan.first_e4)}")
    bound = f"no plan can cost less than {_money(plan.bound_e4)}"
    return [*lines, f"{bound}: this one is as cheap as can be" if plan.proven else bound]
