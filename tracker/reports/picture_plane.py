"""Pictures of a plane: the frame skewed with the push it wants, the points of a level with what goes under each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tracker.book.views import Tried
from tracker.reports.drawing_canvas import Canvas
from tracker.reports.drawing_legend import Row
from tracker.reports.drawing_text import CELL_RATIO
from tracker.reports.picture_kit import (
    BAD,
    CARE,
    FAULT,
    GOOD,
    QUIET,
    STRONG,
    Word,
    compose,
    figure_nm,
    figures,
    figures_nm,
    narrow,
    nice,
    place,
    short,
    text_of,
    whole,
)
from tracker.text import count, listing
from tracker.trade.answer import Verdict
from tracker.trade.checks.plane import frame_points, support_points
from tracker.trade.lengths import Unit, exact_text, format_small
from tracker.trade.square import expected_diagonal, tolerance_key

_TAPES = {"width": "A-B", "right": "B-C", "back": "C-D", "depth": "A-D", "ac": "A-C", "bd": "B-D"}
_LETTERS = 3
"""Cells on either side of the frame for a corner's letter."""
_ROWS_PER_FRAME = 5
_STACKS_TOLD = 4
"""Points whose stack is told one by one; more are listed in one sentence."""
_UNITS = {Unit.INCH: "inches", Unit.MM: "millimetres"}
_WIDEST = 10
"""No frame is drawn more than so many times as wide as deep, or as deep as wide."""


@dataclass(frozen=True, slots=True)
class _Frame:
    """A frame to draw: ``lean_nm`` is how far its back edge stands to the right, ``told`` what the tapes say.

    ``wrong`` names the edge or diagonals in doubt; ``pushed`` is ``back``, ``front`` or empty.
    """

    width_nm: int
    depth_nm: int
    lean_nm: float
    pushed: str
    wrong: tuple[str, ...]
    arrow: str
    told: tuple[Word, ...]

    @property
    def factor(self) -> int:
        """How many times too skewed it is drawn: so that the back edge stands up to a quarter of the width aside."""
        return nice(self.width_nm / (4 * abs(self.lean_nm))) if self.lean_nm else 1

    @property
    def scale(self) -> str:
        """The factor in words."""
        if not self.lean_nm:
            return ""
        if 4 * abs(self.lean_nm) > self.width_nm:
            return "drawn less skewed than it is"
        return (
            f"drawn {self.factor} x too skewed so that you can see it"
            if self.factor > 1
            else "drawn as skewed as it is"
        )


def draw_square(tried: Tried, width: int, height: int, ascii_only: bool) -> tuple[Row, ...]:
    """The frame (or the strings) of a squareness check, skewed out of scale so that it can be seen, the scale said."""
    frame = _frame(tried)
    words = [*frame.told, *((text, QUIET) for text in (frame.scale, _tapes(tried)) if text)]

    def draw(columns: int, rows: int) -> Sequence[Row]:
        return _skewed(frame, columns, rows, ascii_only)

    return compose(draw, words, width, height, ascii_only=ascii_only, rows=_ROWS_PER_FRAME, tall=True)


def _tapes(tried: Tried) -> str:
    """Every tape as typed; one still wanted shows as a question mark."""
    values, unit = tried.readings.values, tried.case.job.unit
    parts = []
    for key, name in _TAPES.items():
        nm = whole(values.get(key))
        if nm is not None:
            parts.append(f"{name} {exact_text(nm, unit)}")
        elif key in ("ac", "bd"):
            parts.append(f"{name} ?")
    return ", ".join(parts)


def _side(tried: Tried, key: str, planned: int) -> int:
    """A side as read, where it is one a frame could have."""
    nm = whole(tried.readings.values.get(key))
    return nm if nm is not None and planned // 2 <= nm <= planned * 2 else planned


def _frame(tried: Tried) -> _Frame:
    platform, rules, answer = tried.case.platform, tried.case.rules, tried.answer
    width, depth = _side(tried, "width", platform.width_nm), _side(tried, "depth", platform.depth_nm)
    flat = _Frame(width, depth, 0.0, "", (), "", ())
    push, ac, bd = figure_nm(tried, "push_in"), *(whole(tried.readings.values.get(key)) for key in ("ac", "bd"))
    if answer is None or push is None or ac is None or bd is None:
        lacking = [_TAPES[key] for key, nm in (("ac", ac), ("bd", bd)) if nm is None]
        said = f"still to read: the diagonal {listing(lacking, 'and')}" if lacking else "no verdict on such tapes"
        return _with(flat, told=((said, CARE), ("D and C are at the back, A and B at the front", QUIET)))
    apart = format_small(figure_nm(tried, "difference_in") or 0, tried.case.job.unit)
    if answer.verdict is Verdict.PASSED:
        return _with(flat, told=((f"square, drawn true: {apart} between the diagonals", GOOD),))
    if suspect := text_of(tried, "suspect"):
        said = f"{FAULT} {suspect} contradicts the other tapes: read it again, push nothing"
        return _with(flat, wrong=(suspect,), told=((said, BAD),))
    edges = figure_nm(tried, "edges_differ_in")
    if edges is not None and edges > rules.figure(tolerance_key(expected_diagonal(width, depth))):
        told: Word = (f"{FAULT} opposite edges differ by {format_small(edges, tried.case.job.unit)}", BAD)
        return _with(flat, wrong=_unequal(tried), told=(told,))
    if abs(figure_nm(tried, "tape_error_in") or 0) > rules.figure("tape_disagreement"):
        said = f"{FAULT} sides and diagonals contradict each other: read all of them again, push nothing"
        return _with(flat, wrong=("AC", "BD"), told=((said, BAD),))
    move = answer.moves[0] if answer.moves else ""
    right = ac > bd
    pushed = "front" if platform.attached else "back"
    return _Frame(
        width, depth, push if right else -push, pushed, (), format_small(push, tried.case.job.unit),
        ((f"{'→' if right is platform.attached else '←'} {move}", BAD),),
    )  # fmt: skip


def _with(frame: _Frame, *, told: tuple[Word, ...], wrong: tuple[str, ...] = ()) -> _Frame:
    return _Frame(frame.width_nm, frame.depth_nm, 0.0, "", wrong, "", told)


def _unequal(tried: Tried) -> tuple[str, ...]:
    """The pair of opposite edges that differ most."""
    read = {key: whole(tried.readings.values.get(key)) or 0 for key in ("width", "back", "depth", "right")}
    across, along = abs(read["width"] - read["back"]), abs(read["depth"] - read["right"])
    return ("AB", "CD") if across >= along else ("BC", "DA")


def _skewed(frame: _Frame, columns: int, rows: int, ascii_only: bool) -> list[Row]:
    """The frame with its letters and its arrow, in so many columns and rows."""
    free, tall = columns - 2 * _LETTERS, rows - 1
    shape = min(max(frame.depth_nm / max(frame.width_nm, 1), 1 / _WIDEST), _WIDEST)
    room = free * 4 // 5 if frame.pushed else free
    wide = max(min(room, round((tall - 1) * CELL_RATIO / shape)), 6)
    high = min(max(round(wide * shape / CELL_RATIO), 2), tall - 1)
    lean = 0
    if frame.lean_nm:
        lean = min(max(round(abs(frame.lean_nm) * frame.factor * wide / frame.width_nm), 2), max(wide // 4, 2))
    left, top = _LETTERS, int(frame.pushed != "front")
    ax, dx = (left, left + lean) if frame.lean_nm >= 0 else (left + lean, left)
    bottom = top + high
    canvas = Canvas(columns, rows, ascii_only)
    corners = {"A": (ax, bottom), "B": (ax + wide, bottom), "C": (dx + wide, top), "D": (dx, top)}
    for pair in ("AC", "BD"):
        _line(canvas, frame, pair, corners, dashed=True)
    for pair in ("AB", "CD", "BC", "DA"):
        _line(canvas, frame, pair, corners)
    for name, (x, y) in corners.items():
        canvas.put(x + (-2 if name in "AD" else 2), y, name, STRONG)
    if lean:
        back = frame.pushed == "back"
        _arrow(canvas, frame, dx if back else ax, ax if back else dx, 0 if back else bottom + 1)
    for pair in frame.wrong:
        (x, y), (x2, y2) = corners[pair[0]], corners[pair[1]]
        # The diagonals cross in the middle: the mark of one stands a third along it.
        share = 3 if pair in ("AC", "BD") else 2
        canvas.put(x + (x2 - x) // share, y + (y2 - y) // share, FAULT, BAD)
    return canvas.lines()


def _line(
    canvas: Canvas, frame: _Frame, pair: str, corners: Mapping[str, tuple[int, int]], *, dashed: bool = False
) -> None:
    (x, y), (x2, y2) = corners[pair[0]], corners[pair[1]]
    style = BAD if pair in frame.wrong else (QUIET if dashed else "")
    if y == y2:
        canvas.across(y, min(x, x2), max(x, x2), style=style)
    elif x == x2:
        canvas.down(x, min(y, y2), max(y, y2), style=style)
    else:
        canvas.slope(x, y, x2, y2, style, dashed=dashed)


def _arrow(canvas: Canvas, frame: _Frame, start: int, end: int, row: int) -> None:
    """From where the corner stands to where it belongs, its length beside it."""
    low, high = min(start, end), max(start, end)
    canvas.across(row, low, high, style=BAD)
    canvas.put(end, row, "←" if end < start else "→", BAD)
    canvas.write(high + 2, row, narrow(frame.arrow), BAD)


def draw_level(tried: Tried, width: int, height: int, ascii_only: bool) -> tuple[Row, ...]:
    """The points of a level at their places on the plan, each with what brings it up to the high point."""
    case, unit = tried.case, tried.case.job.unit
    points = support_points(case) if tried.check == "block-level" else frame_points(case.platform)
    read = tried.readings.column("height")
    needs, trims = figures_nm(tried, "blocks_in"), figures_nm(tried, "trim_in")
    high, low = text_of(tried, "high_point"), text_of(tried, "low_point")
    labels: dict[str, tuple[str, str, str]] = {}
    for name in points:
        if name == high:
            labels[name] = ("▲", "high", GOOD)
        elif low and name == low:
            labels[name] = ("▲", "low", GOOD)
        elif name in needs:
            far = needs[name] > case.rules.figure("level")
            labels[name] = ("●", f"+{short(needs[name], unit)}", BAD if far else "")
        elif name in trims:
            far = trims[name] > case.rules.figure("level")
            labels[name] = ("●", f"-{short(trims[name], unit)}", BAD if far else "")
        elif name in read:
            labels[name] = ("●", short(read[name], unit), "")
        else:
            labels[name] = ("·", "?", QUIET)
    unread = [name for name in points if name not in read]
    words = _trim_words(tried, trims, low, unread) if low else _level_words(tried, needs, high, unread)

    def draw(columns: int, rows: int) -> Sequence[Row]:
        return _plan(tried, points, labels, columns, rows, ascii_only)

    return compose(draw, words, width, height, ascii_only=ascii_only, rows=_ROWS_PER_FRAME, tall=True)


def _trim_words(tried: Tried, trims: Mapping[str, float], low: str, unread: Sequence[str]) -> list[Word]:
    """Post tops: what comes off each to stand at the lowest."""
    unit = tried.case.job.unit
    good = tried.answer is not None and tried.answer.verdict is Verdict.PASSED
    out: list[Word] = [(f"▲ {low} is the lowest: the others are trimmed to it", GOOD)]
    high = sorted((name for name in trims if trims[name] > 0), key=lambda name: -trims[name])
    if not good:
        out.append(
            (f"to come off, {unit.value}: {', '.join(f'{name} {short(trims[name], unit)}' for name in high)}", "")
        )
    if unread:
        out.append((f"not read: {listing(unread, 'and')}", QUIET))
    out.append((f"- is how much comes off a post, {_UNITS[unit]}; the front is at the bottom", QUIET))
    return out


def _level_words(tried: Tried, needs: Mapping[str, float], high: str, unread: Sequence[str]) -> list[Word]:
    unit, out = tried.case.job.unit, list[Word]()
    stacks = figures(tried, "stacks")
    if high:
        out.append((f"▲ {high} is the high point: the others come up to it", GOOD))
    low = sorted((name for name in needs if needs[name] > 0), key=lambda name: -needs[name])
    good = tried.answer is not None and tried.answer.verdict is Verdict.PASSED
    if not good and len(low) > _STACKS_TOLD:
        out.append((f"to come up, {unit.value}: {', '.join(f'{name} {short(needs[name], unit)}' for name in low)}", ""))
    for name in () if good or len(low) > _STACKS_TOLD else low:
        stack = str(stacks.get(name) or "")
        put = f": {stack} under it" if stack not in ("", "nothing", "none on hand") else ""
        put = f": {stack}" if stack in ("re-bed", "longer post") else put
        out.append((f"{name} up {format_small(needs[name], unit)}{put}", ""))
    if good:
        most = format_small(max(needs.values(), default=0), unit)
        out.append((f"level: the lowest is {most} under it, drawn as + beside each point", ""))
    if unread and high:
        out.append((f"not read: {listing(unread, 'and')}", QUIET))
    elif unread:
        out.append((f"{count(len(unread), 'point')} still to read: {listing(unread, 'and')}", CARE))
    out.append((f"+ is how much a point comes up, {_UNITS[unit]}; the front is at the bottom", QUIET))
    return out


def _plan(
    tried: Tried, points: Mapping[str, tuple[int, int]], labels: Mapping[str, tuple[str, str, str]],
    columns: int, rows: int, ascii_only: bool,
) -> list[Row]:  # fmt: skip
    """The outline with its points; a label that has no room beside its mark is left to the words."""
    platform = tried.case.platform
    shape = platform.depth_nm / max(platform.width_nm, 1)
    wide = max(min(columns - 2, round((rows - 1) * CELL_RATIO / max(shape, 1e-6))), min(columns - 2, 20))
    high = min(max(round(wide * shape / CELL_RATIO), 2), rows - 1)
    across, along = max(platform.width_nm, 1) / wide, max(platform.depth_nm, 1) / high
    canvas = Canvas(columns, rows, ascii_only)
    corners = [(place(x, across, wide), place(y, along, high)) for x, y in platform.outline.vertices]
    for (x, y), (x2, y2) in zip(corners, [*corners[1:], corners[0]], strict=True):
        if y == y2:
            canvas.across(y, min(x, x2), max(x, x2), style=QUIET)
        elif x == x2:
            canvas.down(x, min(y, y2), max(y, y2), style=QUIET)
        else:
            canvas.slope(x, y, x2, y2, QUIET)
    taken: set[tuple[int, int]] = set()
    spots: dict[str, tuple[int, int]] = {}
    for name, (x, y) in points.items():
        spots[name] = column, row = place(x, across, wide), high - place(y, along, high)
        canvas.put(column, row, labels[name][0], labels[name][2])
        taken.add((column, row))
    # The points that must come up get their labels first.
    for name in sorted(points, key=lambda name: labels[name][2] != BAD):
        _, amount, style = labels[name]
        for text in (f"{narrow(name, 4)} {amount}", narrow(name, 4)):
            if _beside(canvas, taken, spots[name], text, style):
                break
    return canvas.lines()


def _beside(canvas: Canvas, taken: set[tuple[int, int]], spot: tuple[int, int], text: str, style: str) -> bool:
    column, row = spot
    for start in (column + 1, column - len(text)):
        cells = [(start + k, row) for k in range(len(text))]
        # One cell free on either side keeps two labels apart.
        around = {(start - 1, row), (start + len(text), row)} - {spot}
        if all(canvas.holds(*cell) and cell not in taken for cell in cells) and not around & taken:
            canvas.write(start, row, text, style)
            taken.update(cells)
            return True
    return False
