"""Cut lists as pages and plain values: what each size costs and how good that is, and every stick drawn to scale."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from tracker.book.buyviews import CutListView
from tracker.planning.cut_answer import CAUTION, SOURCE, cuts_answer, more_buys
from tracker.planning.cutplan import Cut, CutPlan, Stick
from tracker.planning.material import SizePlan
from tracker.reports.page import BLANK, Line, Page, Tone
from tracker.text import count, listing
from tracker.trade.answer import Plain
from tracker.trade.lengths import FOOT, Rounding, Unit, exact_text, format_length, format_small, millimetres
from tracker.trade.money import format_money, line_total

EDGES = 2
INDENT = 4
NARROWEST = 12


@dataclass(frozen=True, slots=True)
class Way:
    """Equal sticks: how many, one of them, and what its offcut is good for."""

    number: int
    stick: Stick
    use: str


def ways(sticks: Sequence[Stick], uses: Sequence[str]) -> tuple[Way, ...]:
    """The sticks of a plan with equal ones together, in the order of the plan."""
    numbers = Counter(zip(sticks, uses, strict=True))
    return tuple(Way(number, stick, use) for (stick, use), number in numbers.items())


def money(cost_e4: int) -> str:
    """Ten-thousandths as money."""
    return format_money(line_total(1, cost_e4))


def size_words(size: SizePlan, unit: Unit) -> str:
    """What a size comes to in one line: its cost, how many boards, and how good that is."""
    plan = size.plan
    bought = sum(stick.stock.limit is None for stick in plan.sticks)
    had = len(plan.sticks) - bought
    boards = " and ".join(
        text for text in (bought and count(bought, "board"), had and f"{count(had, 'board')} bought already") if text
    )
    if not bought:
        return f"nothing to buy: {boards}"
    if size.priced:
        good = "no plan is cheaper" if plan.proven else "the best found so far, nothing proven of it yet"
        if not plan.proven and plan.bound_e4:
            good = f"the best found, at most {money(plan.gap_e4)} above the cheapest" if size.firm else "not proven"
        without = sum(not size.has_price(stick.stock) for stick in plan.sticks)
        if without == bought:
            return f"not priced: {boards}; {'no plan takes less' if plan.proven else 'not proven'}"
        not_priced = f", {without} of them not priced" if without else ""
        return f"{money(size.priced_e4())} for {boards}{not_priced}; {good}"
    length = format_length(sum(s.stock.length_nm for s in plan.sticks if s.stock.limit is None), unit)
    gap = format_length(plan.gap_e4 * FOOT // 10_000, unit)
    good = "no plan takes less" if plan.proven else f"the best found, at most {gap} above the least"
    return f"not priced; {length} bought in {boards}; {good}"


def cut_page(
    view: CutListView, fewest: Mapping[str, CutPlan], *, why: bool = False, stopped: bool = False, width: int = 80
) -> Page:
    """The cut list; ``fewest`` has the plan of the fewest boards for each size where that is known, by size and use."""
    out: list[Line] = [
        Line(f"Cut list {', '.join(view.jobs)} {view.title}", Tone.TITLE),
        Line(_total(view), indent=2),
        Line(f"{Rounding(view.unit)}", Tone.QUIET, indent=2),
    ]
    if stopped:
        out.append(Line("Stopped: these are the best plans found so far.", Tone.CARE, indent=2))
    if not view.sizes:
        return (*out, Line("Nothing to cut: no lumber is needed any more.", Tone.GOOD))
    for size in view.sizes:
        named = size.key
        tone = Tone.TITLE if size.plan.proven else Tone.CARE
        out += [BLANK, Line(f"{named}: {size_words(size, view.unit)}", tone)]
        out += [Line(text, Tone.QUIET, 2) for text in _beside(size, fewest.get(size.key), view.unit)]
        if why:
            out += [Line(text, Tone.QUIET, 2) for text in _working(size, view.unit)]
        longest = max(stick.stock.length_nm for stick in size.plan.sticks)
        for way in ways(size.plan.sticks, size.uses):
            out += _way(way, size, longest, view.unit, width)
    out += [BLANK, Line(f"caution: {CAUTION}", Tone.CARE)]
    return (*out, Line(f"source: {SOURCE}", Tone.QUIET)) if why else tuple(out)


def _total(view: CutListView) -> str:
    priced = [size for size in view.sizes if size.priced]
    boards = count(sum(len(size.plan.sticks) for size in view.sizes), "board")
    if not priced:
        return f"{boards}, none with a price: the least length is bought"
    cost = sum(size.priced_e4() for size in priced)
    without = sum(not size.has_price(stick.stock) for size in view.sizes for stick in size.plan.sticks)
    text = f"{money(cost)} to buy, {boards} in all" if cost or not without else f"{boards} in all"
    if without:
        text += f", {without} of them not priced"
        return text if all(size.plan.proven for size in view.sizes) else f"{text}; not every plan is proven"
    text += f"; cut the quick way, longest piece first: {money(sum(size.plan.first_e4 for size in priced))}"
    gap = sum(size.plan.gap_e4 for size in priced)
    return text + (f"; at most {money(gap)} above the cheapest" if gap else "; no plan is cheaper")


def _beside(size: SizePlan, fewest: CutPlan | None, unit: Unit) -> Iterator[str]:
    """What the plan is to be seen beside: the quick way, the fewest boards, prices that are missing."""
    plan = size.plan
    if plan.first_e4 > plan.cost_e4 and (size.firm or not size.priced):
        more = plan.first_e4 - plan.cost_e4
        by = money(more) if size.priced else format_length(more * FOOT // 10_000, unit)
        yield f"the quick way, longest piece first, takes {by} more"
    if fewest is not None:
        if len(fewest.sticks) < len(plan.sticks):
            firm = size.firm and replace(size, plan=fewest).firm
            yield f"fewest boards: {' '.join(more_buys((plan, fewest), unit, money=firm))}"
        elif plan.sticks:
            yield "fewest boards: the cheapest plan has them already"
    if size.priced and size.unpriced:
        have = "has" if len(size.unpriced) == 1 else "have"
        yield f"{listing(size.unpriced, 'and')} {have} no price, so {'it is' if len(size.unpriced) == 1 else 'they are'} in no sum"


def _working(size: SizePlan, unit: Unit) -> Iterable[str]:
    return cuts_answer(size.plan, unit, size.has_price).working


def _way(way: Way, size: SizePlan, longest_nm: int, unit: Unit, width: int) -> Iterator[Line]:
    stick, plan = way.stick, size.plan
    stock = stick.stock
    each = " each" if way.number > 1 else ""
    price = "not priced"
    if stock.limit is not None:
        price = "bought already"
    elif size.has_price(stock):
        price = f"{money(stock.cost_e4)}{each}"
    yield Line(f"{way.number} x {stock.name}, {price}", indent=2)
    room = max(width - INDENT - EDGES, NARROWEST)
    yield Line(picture(stick, longest_nm, plan.kerf_nm, plan.trim_nm, room, unit), indent=INDENT)
    yield Line(cuts_text(way, unit), indent=INDENT)


def cuts_text(way: Way, unit: Unit) -> str:
    """The cuts of a stick in order, and what falls off."""
    stick = way.stick
    if stick.whole:
        return f"whole, not cut: {stick.cuts[0].what}".rstrip(": ")
    runs = [
        f"{f'{number} x ' if number > 1 else ''}{piece_text(cut, unit)}" for cut, number in Counter(stick.cuts).items()
    ]
    return f"cut {', then '.join(runs)}" + (f"; falls off {way.use}" if way.use else "; nothing falls off")


def piece_text(cut: Cut, unit: Unit) -> str:
    """A piece: its length and what it is for."""
    return f"{format_length(cut.length_nm, unit)} {cut.what}".rstrip()


def picture(stick: Stick, longest_nm: int, kerf_nm: int, trim_nm: int, room: int, unit: Unit) -> str:
    """A stick drawn to scale: ``room`` cells between the edges are as long as ``longest_nm``.

    A ``|`` stands where the saw goes, dots for what falls off; a piece is labelled as far as there is room.
    """
    whole = stick.stock.length_nm
    cells = max(_scaled(whole, room, longest_nm), 1)
    sawn = trim_nm + sum(stick.cuts_nm) + kerf_nm * (len(stick.cuts) - 1)
    at = trim_nm if sawn <= whole else 0  # a lone piece may keep the mill's end
    drawn = ""
    for number, cut in enumerate(stick.cuts):
        end = _scaled(at + cut.length_nm, cells, whole)
        last = number == len(stick.cuts) - 1 and not stick.left_nm
        free = (cells if last else end) - len(drawn) - (not last)
        if free >= 0:
            drawn += _label(cut, free, unit).ljust(free) + ("" if last else "|")
        at += cut.length_nm + kerf_nm
    return f"[{drawn.ljust(cells, '.')}]"


def _scaled(nm: int, cells: int, whole_nm: int) -> int:
    return (2 * nm * cells + whole_nm) // (2 * whole_nm)


def _label(cut: Cut, room: int, unit: Unit) -> str:
    texts = (piece_text(cut, unit), format_length(cut.length_nm, unit), format_small(cut.length_nm, unit))
    return next((f" {text}" for text in texts if len(text) + 1 < room and text.isascii()), "")


def cut_json(view: CutListView, fewest: Mapping[str, CutPlan]) -> dict[str, Plain]:
    """The cut list as plain values; costs are null for sizes without a price."""
    sizes = [_size_json(size, fewest.get(size.key), view) for size in view.sizes]
    priced = [size for size in view.sizes if size.priced]
    return {
        "jobs": list(view.jobs),
        "title": view.title,
        "cost_cents": _cents(size.priced_e4() for size in priced),
        "bound_cents": _cents(size.plan.bound_e4 if size.firm else size.priced_e4() for size in priced),
        "first_fit_cents": _cents(size.plan.first_e4 if size.firm else size.priced_e4() for size in priced),
        "proven": all(size.plan.proven for size in view.sizes),
        "boards": sum(len(size.plan.sticks) for size in view.sizes),
        "sizes": list(sizes),
    }


def _cents(costs_e4: Iterable[int]) -> int:
    return line_total(1, sum(costs_e4))


def _size_json(size: SizePlan, fewest: CutPlan | None, view: CutListView) -> dict[str, Plain]:
    plan, unit = size.plan, view.unit

    def cents(cost_e4: int, *, known: bool = size.firm) -> int | None:
        return line_total(1, cost_e4) if known else None

    return {
        "size": size.size,
        "wood": size.wood,
        "use_category": size.use,
        "cost_cents": cents(size.priced_e4(), known=size.priced),
        "bound_cents": cents(plan.bound_e4),
        "first_fit_cents": cents(plan.first_e4),
        "proven": plan.proven,
        "boards": len(plan.sticks),
        "fewest_boards": None
        if fewest is None
        else {
            "boards": len(fewest.sticks),
            "at_least": fewest.boards_at_least,
            "cost_cents": cents(fewest.cost_e4, known=replace(size, plan=fewest).firm),
        },
        "without_price": list(size.unpriced),
        "kerf": _length(plan.kerf_nm, unit),
        "end_trim": _length(plan.trim_nm, unit),
        "sticks": [_way_json(way, size, unit) for way in ways(plan.sticks, size.uses)],
    }


def _way_json(way: Way, size: SizePlan, unit: Unit) -> dict[str, Plain]:
    stick = way.stick
    return {
        "number": way.number,
        "item": stick.stock.name,
        "stock": _length(stick.stock.length_nm, unit),
        "on_hand": stick.stock.limit is not None,
        "price_e4": stick.stock.cost_e4 if size.has_price(stick.stock) else None,
        "whole": stick.whole,
        "cuts": [{"length": _length(cut.length_nm, unit), "what": cut.what} for cut in stick.cuts],
        "left": _length(stick.left_nm, unit),
        "left_use": way.use,
    }


def _length(nm: int, unit: Unit) -> dict[str, Plain]:
    return {"text": exact_text(nm, unit), "mm": millimetres(nm)}
