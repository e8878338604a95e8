"""What a job still has to buy: its take-off against the stock it has, cut from the cheapest boards. Pure.

Boards the job already has (on hand, on order, or built in) are stock at no cost, since they are paid for; boards to buy
come at the price book's price. Pieces of phases that are signed off are planned first and take theirs out.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from tracker.planning.cutplan import Cut, CutPlan, Need, Stick, Stock, spares
from tracker.planning.pricing import PriceBook
from tracker.text import count
from tracker.trade.lengths import FOOT, Unit, format_length, format_small
from tracker.trade.material import Line, Piece, stock_key, stock_size, together
from tracker.trade.phases import PHASES
from tracker.trade.rules import Rules
from tracker.trade.spec import JobSpec
from tracker.trade.takeoff import stock_of, take_off

Solver = Callable[[Sequence[Need], Sequence[Stock], int, int], CutPlan]
"""Needs, stocks, kerf and trim to a plan: the quick one or the proven one."""

Kind = tuple[str, str]
"""A wood (species and grade) and a use category: boards of one kind are never bought, cut or counted as another."""

Held = tuple[str, str, str]
"""An item that is had, its wood and its use category; an empty one is not known, and fits any."""

_ORDER = {phase.key: index for index, phase in enumerate(PHASES)}
_PER_FOOT_E4 = 10_000
"""What a foot counts for where no board of a size has a price: then the least length is bought."""


@dataclass(frozen=True, slots=True)
class SizePlan:
    """The cut plan of one size of one species and grade (``wood``) in one use category (``use``).

    ``lengths`` are the stock lengths somebody prices; with none of them the least length wins. ``of`` names the phase of each
    cut's place; ``needs`` and ``stocks`` are what the plan was made of; ``uses`` says of each stick what falls off is good for.
    A length nobody prices steers the plan by a stand-in, which is never shown and never summed.
    """

    size: str
    wood: str
    use: str
    plan: CutPlan
    lengths: frozenset[int]
    of: Mapping[str, str]
    needs: tuple[Need, ...]
    stocks: tuple[Stock, ...]
    uses: tuple[str, ...] = ()

    @property
    def priced(self) -> bool:
        """Whether boards of it have a price at all."""
        return bool(self.lengths)

    def has_price(self, stock: Stock) -> bool:
        """Whether somebody prices these boards, or they are had already."""
        return stock.limit is not None or stock.length_nm in self.lengths

    @property
    def unpriced(self) -> tuple[str, ...]:
        """The boards the plan buys that nobody prices."""
        return tuple(dict.fromkeys(stock.name for stock in self.plan.bought if not self.has_price(stock)))

    @property
    def firm(self) -> bool:
        """Whether every board the plan buys has a price, so that its cost, its bound and the quick way are money."""
        return self.priced and not self.unpriced

    def priced_e4(self, plan: CutPlan | None = None) -> int:
        """What the boards with a price cost, in this plan or another of the same boards."""
        bought = (plan or self.plan).bought
        return sum(number * stock.cost_e4 for stock, number in bought.items() if self.has_price(stock))

    @property
    def key(self) -> str:
        """The size with its wood and use category, which no other plan of the same list has."""
        return " ".join(part for part in (self.size, self.wood, self.use) if part)

    def cuts_the_same(self, plan: CutPlan) -> bool:
        """Whether another plan cuts the same pieces."""
        return _pieces(self.plan) == _pieces(plan)


def _pieces(plan: CutPlan) -> Counter[Cut]:
    return Counter(cut for stick in plan.sticks for cut in stick.cuts)


@dataclass(frozen=True, slots=True)
class Material:
    """A job's material: ``lines`` of boards and goods (all phases), and the cut plans of the phases still open."""

    lines: tuple[Line, ...]
    plans: tuple[SizePlan, ...]

    @property
    def proven(self) -> bool:
        """Whether every cut plan is proven the cheapest."""
        return not self.unproven

    @property
    def unproven(self) -> frozenset[Held]:
        """The sizes, with their wood and use category, whose cut plan is not proven the cheapest."""
        return frozenset((size.size, size.wood, size.use) for size in self.plans if not size.plan.proven)


def plan_material(
    done: Iterable[Line],
    ahead: Iterable[Line],
    have: Mapping[Held, int],
    prices: PriceBook,
    rules: Rules,
    unit: Unit,
    solver: Solver,
) -> Material:
    """Plan take-off lines of one job, or of several bought together, against the stock they have.

    ``done`` are the lines of phases signed off, ``ahead`` the others; ``have`` counts pieces by item, wood and use category
    (``2x8x12``, ``southern pine no.2``, ``UC4A``; an empty one fits any). Boards of one species, grade and use category are
    never cut for another. Raises InputError where a piece fits no stock.
    """
    done, ahead = tuple(done), tuple(ahead)
    finished, still = _by_class(done), _by_class(ahead)
    left = Counter(have)
    out: list[Line] = []
    plans: list[SizePlan] = []
    for key in dict.fromkeys((*finished, *still)):
        size, kind = key[0], key[1:]
        for part in (finished.get(key), still.get(key)):
            if not part:
                continue
            planned = _plan_class(size, kind, part, left, prices, rules, solver)
            for stick in planned.plan.sticks:
                if stick.stock.limit is not None:
                    left[min(fitting(left, stick.stock.name, kind), key=partial(likeness, kind))] -= 1
            out += _board_lines(planned, part, rules, unit)
            if part is still.get(key):
                plans.append(planned)
    return Material((*out, *_added_goods(line for line in (*done, *ahead) if not line.pieces)), tuple(plans))


def material_of(job: JobSpec, prices: PriceBook, solver: Solver) -> Material:
    """The material of a job that has nothing yet. Raises InputError for sizes no frame can have."""
    return plan_material((), take_off(job), {}, prices, job.rules, job.unit, solver)


def _by_class(lines: Iterable[Line]) -> dict[Held, list[Line]]:
    groups: dict[Held, list[Line]] = {}
    for line in lines:
        if line.pieces:
            groups.setdefault((line.item, line.wood, line.use_category), []).append(line)
    return groups


def fits(held: Held, kind: Kind) -> bool:
    """Whether what is had may serve as boards of a kind: of that wood, and treated for that use or a harder one."""
    _, wood, use = held
    return wood in ("", kind[0]) and (not use or use >= kind[1])


def likeness(kind: Kind, held: Held) -> tuple[bool, bool, Held]:
    """What is had in order of likeness to a kind, its own first."""
    return held[1] != kind[0], held[2] != kind[1], held


def fitting(left: Mapping[Held, int], item: str, kind: Kind) -> list[Held]:
    """What is left of an item that may serve as a kind."""
    return [held for held, number in left.items() if held[0] == item and number > 0 and fits(held, kind)]


def _held(size: str, kind: Kind, left: Mapping[Held, int]) -> list[Stock]:
    """The boards of a size on hand that may serve as this kind."""
    lengths: Counter[int] = Counter()
    for held, number in left.items():
        found = stock_size(held[0])
        if found and found[0] == size and fits(held, kind) and number > 0:
            lengths[found[1]] += number
    return [Stock(nm, 0, number, stock_key(size, nm)) for nm, number in sorted(lengths.items())]


def stocks_for(size: str, use: str, wood: str, prices: PriceBook) -> tuple[list[Stock], frozenset[int]]:
    """The boards of a size that can be bought, each with a price; and the lengths that have one in the price book.

    A length nobody prices counts at the dearest price for a foot of the others, so that it is taken only when it must be.
    """
    lengths = stock_of(size)
    priced = {nm: offer.price_e4 for nm in lengths if (offer := prices.best(stock_key(size, nm), use, wood))}
    if not priced:
        return [Stock(nm, nm * _PER_FOOT_E4 // FOOT, name=stock_key(size, nm)) for nm in lengths], frozenset()
    dearest = max(-(-price * FOOT // nm) for nm, price in priced.items())
    return [Stock(nm, priced.get(nm, -(-dearest * nm // FOOT)), name=stock_key(size, nm)) for nm in lengths], frozenset(
        priced
    )


def _plan_class(
    size: str,
    kind: Kind,
    lines: Sequence[Line],
    left: Mapping[Held, int],
    prices: PriceBook,
    rules: Rules,
    solver: Solver,
) -> SizePlan:
    wood, use = kind
    stocks, priced = stocks_for(size, use, wood, prices)
    needs: dict[tuple[int, str, bool], int] = {}
    of: dict[str, str] = {}
    lengths = {stock.length_nm for stock in stocks}
    for line in lines:
        for piece in line.pieces:
            key = (piece.length_nm, piece.what, piece.whole or piece.length_nm in lengths)
            needs[key] = needs.get(key, 0) + piece.quantity
            of[piece.what] = min(of.get(piece.what, line.phase), line.phase, key=_ORDER.__getitem__)
    held = _held(size, kind, left)
    wanted = [Need(nm, number, what, whole) for (nm, what, whole), number in needs.items()]
    offered = [*held, *stocks]
    plan = solver(wanted, offered, rules.figure("kerf"), rules.figure("end_trim"))
    return SizePlan(size, wood, use, plan, priced, of, tuple(wanted), tuple(offered))


def _board_lines(planned: SizePlan, lines: Sequence[Line], rules: Rules, unit: Unit) -> Iterable[Line]:
    """One line for each stock length the plan uses, with what is cut from it."""
    several = len({line.platform for line in lines}) > 1
    saw = f"kerf {rules.text('kerf', unit)}, end trim {rules.text('end_trim', unit)}"
    by_length: dict[int, list[Stick]] = {}
    for stick in planned.plan.sticks:
        by_length.setdefault(stick.stock.length_nm, []).append(stick)
    share = 0 if any(line.phase == "boards" for line in lines) else rules.figure("culls_framing")
    extra = {stock.length_nm: number for stock, number in spares(planned.plan, share).items()}
    for length, sticks in by_length.items():
        got = Counter(cut for stick in sticks for cut in stick.cuts)
        names = {cut.what for cut in got}
        from_lines = [line for line in lines if names & {piece.what for piece in line.pieces}]
        left = sum(stick.left_nm for stick in sticks)
        working = [*_cut_words(got, length, unit),
                   f"{count(len(sticks), 'board')} of {format_length(length, unit)} ({saw}); "
                   f"{format_length(left, unit)} left over"]  # fmt: skip
        if spare := extra.get(length, 0):
            working.append(f"{count(spare, 'board')} besides for culls, {share / 10:g} % of the boards bought, up")
        if not planned.plan.proven:
            working.append("from a cut plan not proven the cheapest yet")
        for line in from_lines:
            head = f"{line.platform}, {line.title}" if several else line.title
            working += [f"{head}: {text}" for text in line.working]
        use = f", {planned.use}" if planned.use else ""
        yield Line(
            item=stock_key(planned.size, length),
            title=f"{planned.size}, {format_length(length, unit)}{use}",
            quantity=len(sticks) + extra.get(length, 0),
            unit="board",
            phase=min((planned.of[name] for name in names), key=_ORDER.__getitem__),
            platform=", ".join(dict.fromkeys(line.platform for line in from_lines)),
            working=tuple(working),
            pieces=tuple(Piece(cut.length_nm, times, cut.what) for cut, times in got.items()),
            use_category=planned.use,
            wood=planned.wood,
        )


def _cut_words(got: Counter[Cut], length: int, unit: Unit) -> list[str]:
    return [
        f"{times} x {format_length(cut.length_nm, unit)} {cut.what}"
        + (", whole boards" if cut.length_nm == length else "")
        for cut, times in sorted(got.items(), key=lambda item: (-item[0].length_nm, item[0].what))
    ]


def _added_goods(goods: Iterable[Line]) -> Iterable[Line]:
    """Goods of one item and phase over several platforms added up."""
    groups: dict[tuple[str, str], list[Line]] = {}
    for line in goods:
        groups.setdefault((line.item, line.phase), []).append(line)
    for group in groups.values():
        names = list(dict.fromkeys(line.platform for line in group))
        working = [f"{line.platform}: {text}" if len(names) > 1 else text for line in group for text in line.working]
        number = sum(line.quantity for line in group)
        loose = together(line.loose for line in group if line.loose) if all(line.loose for line in group) else None
        if loose is not None and loose.whole < number:
            working.append(f"packed together: {count(loose.whole, group[0].unit)}, not {number}")
            number = loose.whole
        yield replace(group[0], quantity=number, platform=", ".join(names), working=tuple(working), loose=loose)


def with_uses(size: SizePlan, plan: CutPlan, rules: Rules, unit: Unit) -> SizePlan:
    """The size with this plan, and what the piece that falls off each stick is good for."""
    return replace(size, plan=plan, uses=tuple(offcut_use(stick.left_nm, rules, unit) for stick in plan.sticks))


def offcut_use(left_nm: int, rules: Rules, unit: Unit) -> str:
    """What a piece that falls off is good for (common practice): back to stock, blocking, shims, or scrap."""
    if left_nm >= rules.figure("offcut_least"):
        return f"{format_length(left_nm, unit)}: back to stock"
    if left_nm >= rules.figure("offcut_blocking"):
        return f"{format_small(left_nm, unit)}: blocking"
    return f"{format_small(left_nm, unit)}: shims or scrap" if left_nm else ""
