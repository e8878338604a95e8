"""Lists of pieces to try cut plans on: invented, from ordinary framing geometry, and at random; and published sets.

The published sets are not ours to ship: they are read from a folder beside the checkout when it is there.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from pathlib import Path

from tracker.planning.cutplan import Need, Stock
from tracker.trade.lengths import FOOT, INCH

KERF = INCH // 8
TRIM = INCH // 2
PUBLISHED = Path(__file__).parents[2].parent / "shared" / "data" / "cutting"
LENGTHS_FT = (8, 10, 12, 14, 16, 20)
# Invented prices, in ten-thousandths, that do not grow in proportion: long boards cost more a foot.
FRAME_E4 = (64_800, 85_900, 107_800, 135_400, 158_700, 218_300)
BOARD_E4 = (83_700, 104_900, 131_200, 161_700, 186_900, 251_600)
RAIL_E4 = (45_900, 59_700, 75_800, 97_600, 113_200, 149_900)
DECKS_FT = ((8, 8), (10, 12), (12, 16), (14, 20), (16, 24), (24, 40))


@dataclass(frozen=True, slots=True)
class Case:
    """A list to cut: what is wanted, from what stock, and a name."""

    name: str
    needs: tuple[Need, ...]
    stocks: tuple[Stock, ...]
    kerf_nm: int = KERF
    trim_nm: int = TRIM

    @property
    def pieces(self) -> int:
        return sum(need.quantity for need in self.needs)


def _stocks(prices: tuple[int, ...]) -> tuple[Stock, ...]:
    return tuple(Stock(feet * FOOT, cost) for feet, cost in zip(LENGTHS_FT, prices, strict=True))


OFFCUTS = (
    Stock(55 * INCH, 0, 3, "offcut"),
    Stock(7 * FOOT + 3 * INCH, 0, 2, "offcut"),
    Stock(9 * FOOT + INCH, 0, 1, "offcut"),
    Stock(38 * INCH, 0, 4, "offcut"),
)


def _run(length_nm: int, longest_nm: int, quantity: int, what: str) -> list[Need]:
    """Boards along a run; one longer than the stock is butted over a joist, staggered by 16 in from row to row."""
    if length_nm <= longest_nm:
        return [Need(length_nm, quantity, what)]
    out = []
    step = 16 * INCH
    for row in range(2):
        number = (quantity + 1 - row) // 2
        first = (longest_nm // step - 2 * row) * step
        rest = length_nm - first
        while rest > longest_nm:
            out.append(Need(first, number, what))
            rest -= first
        out += [Need(first, number, what), Need(rest, number, what)]
    return [need for need in out if need.quantity and need.length_nm > 0]


def _deck(width_ft: int, run_ft: int, *, picture: bool, clipped: bool, kind: str) -> list[Need]:
    longest = 20 * FOOT - TRIM
    depth, length = width_ft * FOOT, run_ft * FOOT
    clip = min(width_ft, run_ft) * FOOT // 3 if clipped else 0
    if kind == "frame":
        needs = _run(length, longest, 2, "rim")
        joists = length // (16 * INCH) + 1
        inner = depth - 3 * INCH
        for at in range(joists):
            off = max(clip - (length - at * 16 * INCH), 0)
            needs += _run(inner - off, longest, 1, "joist")
        rows = max(depth // (6 * FOOT), 1)
        needs.append(Need(14 * INCH + INCH // 2, rows * (joists - 1), "blocking"))
        if picture:
            needs.append(Need(12 * INCH + 7 * INCH // 8, 2 * (depth // (2 * FOOT)), "border blocking"))
            needs += _run(depth - 3 * INCH, longest, 2, "border joist")
        needs += _run(length, longest, 3, "beam ply")
        return needs
    if kind == "boards":
        rows = depth // (5 * INCH + 5 * INCH // 8) + 1
        needs = []
        inset = 6 * INCH if picture else 0
        for row in range(rows):
            off = max(clip - (depth - row * 5 * INCH), 0)
            needs += _run(length - 2 * inset - off, longest, 1, "board")
        if picture:
            needs += _run(depth, longest, 2, "border") + _run(length, longest, 2, "border")
        if clipped:
            needs.append(Need(clip * 17 // 12 // (INCH // 16) * (INCH // 16), 1, "clip border"))
        return needs
    sides = [depth - clip, length - clip, depth] + ([clip * 17 // 12 // (INCH // 16) * (INCH // 16)] if clip else [])
    needs = []
    for side in sides:
        bays = -(-side // (6 * FOOT))
        between = (side - (bays + 1) * 3 * INCH - INCH // 2) // bays // (INCH // 16) * (INCH // 16)
        needs += [Need(between, 2 * bays, "rail"), Need(42 * INCH, bays + 1, "post")]
        needs.append(Need(36 * INCH, min(between // (4 * INCH), 5) * bays, "baluster"))
    return needs


def deck_lists() -> Iterator[Case]:
    """96 lists: six decks, picture frame or not, clipped corner or not; frame, frame with offcuts, boards, rail."""
    for (depth, length), picture, clipped in product(DECKS_FT, (False, True), (False, True)):
        name = f"{depth}x{length}" + (" framed" if picture else "") + (" clipped" if clipped else "")
        for kind, prices in (("frame", FRAME_E4), ("offcuts", FRAME_E4), ("boards", BOARD_E4), ("rail", RAIL_E4)):
            shape = "frame" if kind == "offcuts" else kind
            needs = _deck(depth, length, picture=picture, clipped=clipped, kind=shape)
            stocks = _stocks(prices) + (OFFCUTS if kind == "offcuts" else ())
            yield Case(f"{name} {kind}", tuple(needs), stocks)


def random_lists(number: int = 60, seed: int = 1) -> Iterator[Case]:
    """Lists of 30 to 400 pieces of 5 to 25 lengths on a 1/16 in grid; every third has offcuts."""
    dice = random.Random(seed)
    for index in range(number):
        lengths = dice.randint(5, 25)
        pieces = dice.choice((30, 60, 100, 150, 200, 300, 400))
        prices = tuple(feet * dice.randint(62, 96) * 100 + dice.randint(0, 99) * 100 for feet in LENGTHS_FT)
        prices = tuple(sorted(prices))
        kinds = dice.sample(range(6 * 16, (20 * 12 - 1) * 16), lengths)
        shares = [dice.random() for _ in kinds]
        needs = tuple(
            Need(sixteenths * INCH // 16, max(1, round(pieces * share / sum(shares))), f"piece {k}")
            for k, (sixteenths, share) in enumerate(zip(kinds, shares, strict=True))
        )
        offcuts = tuple(
            Stock(dice.randint(2 * 16 * 12, 10 * 16 * 12) * INCH // 16, 0, dice.randint(1, 4), "offcut")
            for _ in range(dice.randint(2, 6))
        )
        yield Case(f"random {seed}/{index}", needs, _stocks(prices) + (offcuts if index % 3 == 0 else ()))


def close_prices(seed: int) -> Case:
    """A list whose boards cost nearly the same a foot: many sets of boards come close, which is hardest to prove."""
    dice = random.Random(seed)
    needs = tuple(
        Need((2 * dice.randint(6, 100) + 1) * INCH // 2, dice.randint(1, 9)) for _ in range(dice.randint(6, 12))
    )
    prices = tuple(feet * 8_000 + dice.randint(-30, 30) * 100 for feet in LENGTHS_FT)
    return Case(f"close prices {seed}", needs, _stocks(prices), 0)


def published_lists() -> Iterator[tuple[Case, int]]:
    """The published sets with their known optima; nothing when the folder is absent.

    Instances: M. Delorme, M. Iori, S. Martello, BPPLIB: a library for bin packing and cutting stock problems,
    Optimization Letters 12 (2018) 235-250; Falkenauer U and T, Schwerin 1 and 2, Wäscher. Optima: its table of bounds.
    """
    if not (PUBLISHED / "BOUNDS.txt").exists():
        return
    for line in (PUBLISHED / "BOUNDS.txt").read_text().splitlines():
        if line.strip():
            name, low, high = line.split()
            assert low == high
            kinds, capacity, *rest = (int(word) for word in (PUBLISHED / f"{name}.txt").read_text().split())
            pairs = list(zip(rest[::2], rest[1::2], strict=True))
            assert len(pairs) == kinds
            needs = tuple(Need(length, number) for length, number in pairs)
            yield Case(name, needs, (Stock(capacity, 1),), 0, 0), int(high)
