"""Which stock boards to buy and what to cut from which: longest piece first, then each stick as short as it can be.

The rule is sound, not proven least: every piece is there, no stick is over-cut, and the same pieces always give the
same plan. Method: first-fit decreasing (a standard packing rule).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from tracker.errors import InputError
from tracker.text import count
from tracker.trade.lengths import INCH, Unit, format_length, format_small
from tracker.trade.material import Line, Piece, stock_key
from tracker.trade.phases import PHASES
from tracker.trade.spec import JobSpec
from tracker.trade.takeoff import stock_of, take_off

KERF = INCH // 8
"""What a saw cut takes (common practice)."""
TRIM = INCH // 4
"""Cut off one end of a stick to square it (common practice)."""
MOST_PIECES = 50_000
_ORDER = {phase.key: index for index, phase in enumerate(PHASES)}


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut piece: its length and where it goes."""

    length_nm: int
    what: str


@dataclass(frozen=True, slots=True)
class Stick:
    """A stock board and the pieces cut from it, longest first; ``whole`` ones are not cut at all."""

    stock_nm: int
    cuts: tuple[Cut, ...]
    left_nm: int
    whole: bool = False

    @property
    def cuts_nm(self) -> tuple[int, ...]:
        """The lengths of the pieces."""
        return tuple(cut.length_nm for cut in self.cuts)


@dataclass(frozen=True, slots=True)
class CutPlan:
    """The sticks to buy and cut, longest stock first."""

    sticks: tuple[Stick, ...]
    kerf_nm: int
    trim_nm: int

    @property
    def bought(self) -> Mapping[int, int]:
        """How many sticks of each stock length, longest first."""
        return dict(sorted(Counter(stick.stock_nm for stick in self.sticks).items(), reverse=True))

    @property
    def waste_nm(self) -> int:
        """Bought but not in any piece: offcuts, kerfs and trimmed ends."""
        return sum(stick.stock_nm - sum(stick.cuts_nm) for stick in self.sticks)


def pack(pieces: Iterable[Piece], stocks: Sequence[int], kerf_nm: int = KERF, trim_nm: int = TRIM) -> CutPlan:
    """Return a cut plan for ``pieces`` from sticks of the ``stocks`` lengths.

    A stick gives up ``trim_nm`` at one end (unless its one piece needs that too) and ``kerf_nm`` at each cut between
    and after its pieces. A piece marked whole, or exactly as long as a stock length, is a stick of its own, uncut.
    Raises InputError when a piece is longer than every stock length, a length is not positive, or there are more than
    50,000 pieces.
    """
    wanted = [piece for piece in pieces if piece.quantity > 0]
    sizes = sorted(set(stocks))
    if not sizes or sizes[0] <= 0 or kerf_nm < 0 or trim_nm < 0:
        raise InputError("stock lengths must be more than nothing, kerf and trim not less", "look at the lengths again")
    if sum(piece.quantity for piece in wanted) > MOST_PIECES:
        raise InputError(f"more than {MOST_PIECES:,} pieces", "plan them in parts")
    sticks: list[Stick] = []
    cuts: list[Cut] = []
    for piece in wanted:
        if piece.length_nm <= 0:
            raise InputError(
                f"a piece of {format_length(piece.length_nm)} cannot be cut", "give a length above nothing"
            )
        if piece.whole or piece.length_nm in sizes:
            one = Stick(piece.length_nm, (Cut(piece.length_nm, piece.what),), 0, whole=True)
            sticks += [one] * piece.quantity
        elif piece.length_nm > sizes[-1]:
            raise InputError(
                f"a piece of {format_length(piece.length_nm)} is longer than the longest stock, "
                f"{format_length(sizes[-1])}",
                "splice it over a support, or add a longer stock length",
            )
        elif piece.length_nm + trim_nm > sizes[-1]:  # no room to square the end: the mill's end stays on
            left = max(sizes[-1] - piece.length_nm - kerf_nm, 0)
            one = Stick(sizes[-1], (Cut(piece.length_nm, piece.what),), left)
            sticks += [one] * piece.quantity
        else:
            cuts += [Cut(piece.length_nm, piece.what)] * piece.quantity
    cuts.sort(key=lambda cut: (-cut.length_nm, cut.what))
    if cuts:
        long_enough = [most for most in sizes if most >= cuts[0].length_nm + trim_nm]
        tried = [_fill(cuts, sizes, most, kerf_nm, trim_nm) for most in long_enough]
        best: list[Stick] = min(tried, key=_bought)
        sticks += best
    sticks.sort(key=lambda stick: (-stick.stock_nm, not stick.whole, [-nm for nm in stick.cuts_nm], _whats(stick)))
    return CutPlan(tuple(sticks), kerf_nm, trim_nm)


def _bought(sticks: Sequence[Stick]) -> tuple[int, int]:
    """What a choice of sticks is measured by: length bought, then how many to carry."""
    return sum(stick.stock_nm for stick in sticks), len(sticks)


def _whats(stick: Stick) -> list[str]:
    return [cut.what for cut in stick.cuts]


def _fill(cuts: list[Cut], sizes: list[int], most: int, kerf_nm: int, trim_nm: int) -> list[Stick]:
    """First fit over sticks of ``most``, longest piece first; then the shortest stock that holds each stick."""
    filled: list[list[Cut]] = []
    used: list[int] = []
    first_with_room: dict[int, int] = {}
    for cut in cuts:
        # A stick that had no room for this length has none later either.
        index = first_with_room.get(cut.length_nm, 0)
        while index < len(filled) and used[index] + kerf_nm + cut.length_nm > most:
            index += 1
        first_with_room[cut.length_nm] = index
        if index == len(filled):
            filled.append([])
            used.append(trim_nm - kerf_nm)
        filled[index].append(cut)
        used[index] += kerf_nm + cut.length_nm
    out: list[Stick] = []
    for held, length in zip(filled, used, strict=True):
        stock = next(size for size in sizes if size >= length)
        out.append(Stick(stock, tuple(held), max(stock - length - kerf_nm, 0)))
    return out


def cut_lists(job: JobSpec) -> Mapping[str, CutPlan]:
    """Return the cut plan of every lumber size of a job, by size, over all its platforms and phases.

    Raises InputError for sizes no frame can have.
    """
    return {size: _plan(lines) for size, lines in _by_size(take_off(job)).items()}


def _by_size(lines: Iterable[Line]) -> dict[str, list[Line]]:
    groups: dict[str, list[Line]] = {}
    for line in lines:
        if line.pieces:
            groups.setdefault(line.item, []).append(line)
    return groups


def _plan(lines: list[Line]) -> CutPlan:
    return pack([piece for line in lines for piece in line.pieces], stock_of(lines[0].item))


def material_list(job: JobSpec) -> tuple[Line, ...]:
    """Return what to buy: lumber as stock boards (``2x8x12``), then goods, equal items of several platforms added up.

    A line's phase is the earliest that needs it; its platform names all that do. The strictest use category of the
    pieces is asked of every board of a size.
    """
    lines = take_off(job)
    bought: list[Line] = []
    for size, group in _by_size(lines).items():
        bought += _to_buy(size, group, job.unit)
    goods: dict[str, list[Line]] = {}
    for line in lines:
        if not line.pieces:
            goods.setdefault(line.item, []).append(line)
    return (*bought, *(_added(group) for group in goods.values()))


def _to_buy(size: str, group: list[Line], unit: Unit) -> Iterable[Line]:
    plan = _plan(group)
    use = max(line.use_category for line in group)
    several = len({line.platform for line in group}) > 1
    for stock, number in plan.bought.items():
        sticks = [stick for stick in plan.sticks if stick.stock_nm == stock]
        got = Counter(cut for stick in sticks for cut in stick.cuts)
        names = {cut.what for cut in got}
        from_lines = [line for line in group if names & {piece.what for piece in line.pieces}]
        steps = [
            f"{times} x {format_length(cut.length_nm, unit)} {cut.what}"
            + (", whole boards" if cut.length_nm == stock else "")
            for cut, times in sorted(got.items(), key=lambda item: (-item[0].length_nm, item[0].what))
        ]
        left = sum(stick.left_nm for stick in sticks)
        saw = f"kerf {format_small(plan.kerf_nm, unit)}, end trim {format_small(plan.trim_nm, unit)}"
        steps.append(
            f"{count(number, 'board')} of {format_length(stock, unit)} ({saw}); {format_length(left, unit)} left over"
        )
        for line in from_lines:
            head = f"{line.platform}, {line.title}" if several else line.title
            steps += [f"{head}: {text}" for text in line.working]
        yield Line(
            item=stock_key(size, stock),
            title=f"{size}, {format_length(stock, unit)}" + (f", {use}" if use else ""),
            quantity=number,
            unit="board",
            phase=min((line.phase for line in from_lines), key=_ORDER.__getitem__),
            platform=", ".join(dict.fromkeys(line.platform for line in from_lines)),
            working=tuple(steps),
            pieces=tuple(Piece(cut.length_nm, times, cut.what) for cut, times in got.items()),
            use_category=use,
        )


def _added(group: list[Line]) -> Line:
    if len(group) == 1:
        return group[0]
    names = {line.platform for line in group}
    working = tuple(f"{line.platform}: {text}" if len(names) > 1 else text for line in group for text in line.working)
    return replace(
        group[0],
        quantity=sum(line.quantity for line in group),
        phase=min((line.phase for line in group), key=_ORDER.__getitem__),
        platform=", ".join(dict.fromkeys(line.platform for line in group)),
        working=working,
    )
