"""What a job should cost and be sold for: material, labour and equipment by phase, overhead, profit, tax. Pure.

Figures of rates and percentages are house rules (our own planning figures until the contractor sets theirs).
Two ways to put the profit on, and they are not the same: a *margin* is a share of the price (20 % margin on a cost of
100 makes 125), a *markup* is a share of the cost (20 % markup on 100 makes 120).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from tracker.planning.bounds import NO_GAPS, UNRATED, Bound, Gaps, safe_difference
from tracker.planning.cents import ROUNDING, ratio_tenths, round_cents, share_of, share_out
from tracker.planning.labour import labour_of
from tracker.planning.packs import priced_lines
from tracker.planning.pricing import PriceBook, format_price
from tracker.text import count
from tracker.trade.lengths import Unit
from tracker.trade.material import Line
from tracker.trade.money import format_money, percent_text
from tracker.trade.phases import Phase
from tracker.trade.rules import Rules

CAUTION = "Local law decides what is taxed and how large a deposit may be; ask before you quote."


TAX_RULE = (
    "A change of an accepted contract pays the sales tax of the day it is agreed (common practice; local law decides)."
)


class Kind(StrEnum):
    """What a cost is for."""

    MATERIAL = "material"
    LABOUR = "labour"
    EQUIPMENT = "equipment"


@dataclass(frozen=True, slots=True)
class Terms:
    """How a price is made: labour rate in cents an hour, the rest in tenths of a percent; a markup of 0 means by
    margin. ``unit`` is what its working speaks in. The ``finer`` part of a sales tax is in thousandths of a percent, under a tenth.
    """

    labour_cents: int
    overhead_tenths: int
    margin_tenths: int
    markup_tenths: int
    tax_price_tenths: int
    tax_material_tenths: int
    unit: Unit = Unit.INCH
    tax_price_finer: int = 0
    tax_material_finer: int = 0

    @property
    def tax_price(self) -> int:
        """Sales tax on the price in thousandths of a percent."""
        return self.tax_price_tenths * 100 + self.tax_price_finer

    @property
    def tax_material(self) -> int:
        """Sales tax on the cost of the material in thousandths of a percent."""
        return self.tax_material_tenths * 100 + self.tax_material_finer

    @property
    def tax_words(self) -> str:
        """``8.875 % of the price``; ``none``."""
        parts = [f"{percent_text(self.tax_price, 3)} of the price"] if self.tax_price else []
        parts += [f"{percent_text(self.tax_material, 3)} of the material"] if self.tax_material else []
        return " + ".join(parts) or "none"


def terms_of(rules: Rules) -> Terms:
    """The terms the house rules give."""
    price, material = divmod(rules.figure("tax_on_price"), 100), divmod(rules.figure("tax_on_material"), 100)
    return Terms(
        rules.figure("labour_rate"),
        rules.figure("overhead"),
        rules.figure("margin"),
        rules.figure("markup"),
        price[0],
        material[0],
        rules.unit,
        price[1],
        material[1],
    )


@dataclass(frozen=True, slots=True)
class Equipment:
    """Equipment or another bought-in cost of a phase: ``count`` units (days, loads; 1 for a lump sum) at ``each_cents``."""

    phase: str
    title: str
    each_cents: int
    count: int = 1
    unit: str = ""

    @property
    def cents(self) -> int:
        """The whole of it."""
        return self.count * self.each_cents


@dataclass(frozen=True, slots=True)
class EstimateLine:
    """One line of cost: its kind, phase key, what it is, cents, and where the figure comes from."""

    kind: Kind
    phase: str
    title: str
    cents: int
    working: str
    minutes: int = 0
    item: str = ""


@dataclass(frozen=True, slots=True)
class Estimate:
    """An estimate whose sums add up to the cent: cost + overhead + profit = price, price + tax = total.

    ``unpriced`` names items in no figure since nobody prices them, ``unpriced_of`` them by phase (an estimate an older
    version kept has none by phase). What is left out makes a cost too low: see ``gaps`` and the bounds.
    """

    lines: tuple[EstimateLine, ...]
    terms: Terms
    overhead_cents: int
    profit_cents: int
    tax_cents: int
    unpriced: tuple[str, ...] = ()
    set_by_hand: bool = False
    unpriced_of: tuple[tuple[str, str], ...] = ()

    @property
    def not_in_price(self) -> tuple[str, ...]:
        """Items the price leaves out since nobody prices them; none of a price that was set by hand."""
        return () if self.set_by_hand else self.unpriced

    @property
    def gaps(self) -> Gaps:
        """What is in none of its figures."""
        return Gaps(self.unpriced) | self.labour_gaps()

    def gaps_of(self, phase: str) -> Gaps:
        """What is in none of the figures of a phase."""
        goods = tuple(dict.fromkeys(item for key, item in self.unpriced_of if key == phase))
        return Gaps(goods) | self.labour_gaps(phase)

    @property
    def goods_gaps(self) -> Gaps:
        """What is not in the cost of its material."""
        return Gaps(self.unpriced)

    def labour_gaps(self, phase: str | None = None) -> Gaps:
        """Hours that cost nothing since no rate is set, of a phase or of all."""
        return NO_GAPS if self.terms.labour_cents or not self.minutes_of(phase) else Gaps(others=(UNRATED,))

    @property
    def price_bound(self) -> Bound:
        """What the price is of one that leaves nothing out: exact when it was set by hand."""
        return Bound.EXACT if self.set_by_hand else self.gaps.cost

    @property
    def tax_bound(self) -> Bound:
        """What the tax is of one on everything."""
        material = self.goods_gaps.cost if self.terms.tax_material else Bound.EXACT
        return material.plus(self.price_bound) if self.terms.tax_price else material

    @property
    def total_bound(self) -> Bound:
        """What the total is of one that leaves nothing out."""
        return self.price_bound.plus(self.tax_bound)

    @property
    def cost_cents(self) -> int:
        """Direct cost: the sum of the lines."""
        return sum(line.cents for line in self.lines)

    @property
    def price_cents(self) -> int:
        """The price before tax."""
        return self.cost_cents + self.overhead_cents + self.profit_cents

    @property
    def total_cents(self) -> int:
        """What the client pays."""
        return self.price_cents + self.tax_cents

    @property
    def margin_tenths(self) -> int:
        """Profit as a share of the price, tenths of a percent."""
        return ratio_tenths(self.profit_cents, self.price_cents)

    @property
    def markup_tenths(self) -> int:
        """Profit as a share of the cost with overhead, tenths of a percent."""
        return ratio_tenths(self.profit_cents, self.cost_cents + self.overhead_cents)

    def cost_of(self, kind: Kind, phase: str | None = None) -> int:
        """Cents of one kind, of one phase or of all."""
        return sum(line.cents for line in self.lines if line.kind is kind and phase in (None, line.phase))

    def minutes_of(self, phase: str | None = None) -> int:
        """Person-minutes of one phase or of all."""
        return sum(line.minutes for line in self.lines if phase in (None, line.phase))

    @property
    def phases(self) -> tuple[str, ...]:
        """The phases that cost something, in order of the lines' first mention."""
        return tuple(dict.fromkeys(line.phase for line in self.lines))

    def price_by_phase(self) -> dict[str, int]:
        """The price before tax shared over the phases by their direct cost; the parts add up to the price."""
        keys = self.phases or ("",)
        costs = [sum(line.cents for line in self.lines if line.phase == key) for key in keys]
        return dict(zip(keys, share_out(self.price_cents, costs), strict=True))

    def share_bound(self, phase: str) -> Bound:
        """What a phase's share of the price is: of a price set by hand, what a phase leaves out goes to the others."""
        if self.gaps and not self.unpriced_of and self.terms.labour_cents:
            return Bound.UNKNOWN  # kept by a version that did not say which phase lacks what
        mine, others = self.gaps_of(phase), any(self.gaps_of(key) for key in self.phases if key != phase)
        bound = mine.cost
        return bound.plus(Bound.MOST) if self.set_by_hand and others else bound

    @property
    def working(self) -> tuple[str, ...]:
        """How the price came about, in words."""
        terms, gaps = self.terms, self.gaps
        full = self.cost_cents + self.overhead_cents
        out = [
            f"direct cost: material {format_money(self.cost_of(Kind.MATERIAL))} + labour "
            f"{format_money(self.cost_of(Kind.LABOUR))} + equipment {format_money(self.cost_of(Kind.EQUIPMENT))} "
            f"= {gaps.at_least(self.cost_cents)}",
            f"overhead {percent_text(terms.overhead_tenths)} of the direct cost = {gaps.cost.money(self.overhead_cents)}; "
            f"together {gaps.cost.money(full)}",
        ]
        if gaps:
            out.insert(0, gaps.named)
        if self.set_by_hand:
            out.append(f"price set by hand: {format_money(self.price_cents)}")
        elif terms.markup_tenths:
            out.append(
                f"markup {percent_text(terms.markup_tenths)} of {format_money(full)} = {format_money(self.profit_cents)}; "
                f"price {self.price_bound.money(self.price_cents)}"
            )
        else:
            out.append(
                f"margin {percent_text(terms.margin_tenths)} of the price: {format_money(full)} / (1 - "
                f"{percent_text(terms.margin_tenths)}) = price {self.price_bound.money(self.price_cents)}"
            )
        out.append(
            f"profit {gaps.profit.money(self.profit_cents)}: {percent_text(self.margin_tenths)} of the price (margin), "
            f"{percent_text(self.markup_tenths)} on the cost (markup)"
            + (f"; {gaps.words}: at that price it is less" if gaps else "")
        )
        out.append(_tax_words(self))
        out.append(f"rounding: {ROUNDING}")
        return tuple(out)


def _tax_words(found: Estimate) -> str:
    terms = found.terms
    parts = []
    if terms.tax_price:
        parts.append(f"{percent_text(terms.tax_price, 3)} of the price {format_money(found.price_cents)}")
    if terms.tax_material:
        material = format_money(found.cost_of(Kind.MATERIAL))
        parts.append(f"{percent_text(terms.tax_material, 3)} of the material {material}")
    if not parts:
        return f"no sales tax is set; the client pays {found.total_bound.money(found.total_cents)}"
    return (
        f"sales tax {' + '.join(parts)}, rounded once = {found.tax_bound.money(found.tax_cents)}; "
        f"the client pays {found.total_bound.money(found.total_cents)}"
    )


def difference_bound(one: Estimate, other: Estimate) -> Bound:
    """What the total of one estimate less that of another is; not known where the figure would make an estimate look
    cheaper than it is known to be.
    """
    return safe_difference(one.total_cents - other.total_cents, one.total_bound, other.total_bound)


def tax_on(price_cents: int, material_cents: int, terms: Terms) -> int:
    """Sales tax of a price, rounded once."""
    return round_cents(Fraction(price_cents * terms.tax_price + material_cents * terms.tax_material, 100_000))


def price_of(full_cents: int, terms: Terms) -> int:
    """The price before tax that covers a cost with overhead and the profit wanted."""
    if terms.markup_tenths:
        return full_cents + share_of(full_cents, terms.markup_tenths)
    return round_cents(Fraction(full_cents * 1000, 1000 - terms.margin_tenths))


def estimate(
    material: Iterable[Line],
    prices: PriceBook,
    phases: Sequence[Phase],
    quantities: Mapping[str, float],
    terms: Terms,
    equipment: Iterable[Equipment] = (),
    price_cents: int | None = None,
) -> Estimate:
    """The estimate of a job from its material list (boards as the cut plan buys them), its phases and its equipment.

    ``quantities`` are what hours are counted by (``workload.quantities``). ``price_cents`` sets the price before tax by
    hand. Material of items without a price is in no figure and named in ``unpriced``.
    """
    lines, unpriced = _material(material, prices)
    lines += [
        EstimateLine(Kind.LABOUR, found.phase, found.title, found.cents, found.working, found.minutes)
        for found in labour_of(phases, quantities, terms.labour_cents, terms.unit)
    ]
    lines += [EstimateLine(Kind.EQUIPMENT, one.phase, one.title, one.cents, _equipment_words(one)) for one in equipment]
    cost = sum(line.cents for line in lines)
    overhead = share_of(cost, terms.overhead_tenths)
    price = price_of(cost + overhead, terms) if price_cents is None else price_cents
    bought = sum(line.cents for line in lines if line.kind is Kind.MATERIAL)
    return Estimate(
        lines=tuple(lines),
        terms=terms,
        overhead_cents=overhead,
        profit_cents=price - cost - overhead,
        tax_cents=tax_on(price, bought, terms),
        unpriced=tuple(dict.fromkeys(item for _, item in unpriced)),
        set_by_hand=price_cents is not None,
        unpriced_of=tuple(dict.fromkeys(unpriced)),
    )


def _material(material: Iterable[Line], prices: PriceBook) -> tuple[list[EstimateLine], list[tuple[str, str]]]:
    """The priced lines; and phase and item of the others."""
    lines: list[EstimateLine] = []
    unpriced: list[tuple[str, str]] = []
    for priced in priced_lines(material, prices):
        line, offer = priced.line, priced.offer
        if offer is None or priced.cents is None:
            unpriced.append((line.phase, line.item))
            continue
        words = f"{count(line.quantity, line.unit)} at {format_price(offer.price_e4)}"
        if priced.packed != priced.needed:
            words += f", whole packs of {offer.pack}: {priced.packed} bought for {priced.needed} needed"
        lines.append(EstimateLine(Kind.MATERIAL, line.phase, line.title, priced.cents, words, item=line.item))
    return lines, unpriced


def _equipment_words(one: Equipment) -> str:
    if one.count == 1 and not one.unit:
        return "lump sum"
    return f"{count(one.count, one.unit or 'piece')} at {format_money(one.each_cents)}"
