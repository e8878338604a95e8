"""How lines of a take-off are made: lumber cut for a platform, fasteners in boxes with the house's spare."""

from __future__ import annotations

from collections.abc import Iterable

from tracker.trade.fasteners import SCREWS_PER_BOX, boxes, screw_name
from tracker.trade.lengths import Unit
from tracker.trade.material import Line, Loose, Piece
from tracker.trade.rules import Rules
from tracker.trade.spec import Platform


def lumber(
    platform: Platform,
    size: str,
    what: str,
    phase: str,
    pieces: Iterable[Piece],
    working: Iterable[str],
    use: str,
    wood: str | None = None,
) -> Line:
    """A line of lumber of one size, as many as there are ``pieces``; of the wood of the joists where no ``wood`` is given."""
    joists = platform.joists
    cut = tuple(piece for piece in pieces if piece.quantity)
    return Line(
        size, f"{what} {size}", sum(piece.quantity for piece in cut), "piece", phase, platform.name, tuple(working), cut, use,
        f"{joists.species} {joists.grade}" if wood is None else wood,
    )  # fmt: skip


def boxed(
    item: str, title: str, number: int, per_box: int, phase: str, platform: Platform, why: Iterable[str], rules: Rules
) -> Line:
    """A line of ``number`` fasteners and the house's spare, in boxes of ``per_box``."""
    spare = rules.figure("waste_fasteners")
    packed = boxes(number, per_box, spare)
    return Line(
        item, title, packed, "box", phase, platform.name,
        (*why, f"{number} and {spare / 10:g} % spare, boxes of {per_box}: {packed}"),
        loose=Loose(number * (1000 + spare), per_box * 1000),
    )  # fmt: skip


def screws(
    length_nm: int, what: str, number: int, phase: str, platform: Platform, why: Iterable[str], rules: Rules, unit: Unit
) -> Line:
    """A line of deck screws of a stock length. Those of one length are one item, whatever they are for, so that what is left
    over of one serves the other.
    """
    name = screw_name(length_nm, unit)
    per_box = SCREWS_PER_BOX.get(length_nm, min(SCREWS_PER_BOX.values()))
    title = f"{what}, {name}{' in' if unit is Unit.INCH else ''}"
    return boxed(f"screws {name}", title, number, per_box, phase, platform, why, rules)
