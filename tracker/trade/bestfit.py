"""Six tapes on one frame, four sides and two diagonals: the shape they fit best and the tape that is off.

Corners and letters as in ``square``. The method is Gauss-Newton least squares on the corner coordinates.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tracker.errors import InputError
from tracker.text import listing
from tracker.trade.lengths import INCH, Unit, format_inches
from tracker.trade.plausible import positive

READINGS = ("AB", "BC", "CD", "DA", "AC", "BD")
_ENDS = ((0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3))
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Fit:
    """Six tapes fitted to one frame; all in nm.

    ``corners`` A to D with A at the origin and B on the x axis; ``racking_nm`` of the back edge to the right;
    ``residuals_nm`` reading minus fit by name. ``suspect`` names the tape most likely misread (empty for
    none), by ``misread_nm``; ``or_else`` another that explains it as well. With a suspect, corners and
    racking are fitted without it.
    """

    corners: tuple[Point, Point, Point, Point]
    racking_nm: float
    residuals_nm: dict[str, float]
    suspect: str = ""
    misread_nm: float = 0.0
    or_else: tuple[str, ...] = ()


def best_fit(sides: Sequence[int], diagonals: Sequence[int], tolerance_nm: int = INCH // 4) -> Fit:
    """Fit four sides (AB, BC, CD, DA) and two diagonals (AC, BD) by least squares to a plane frame.

    Six readings hold one more than a frame needs, so they can contradict each other. When the tape that must
    be wrong is wrong by more than ``tolerance_nm`` it is named: the one whose removal leaves opposite edges
    most nearly equal (they were cut alike) and, between the two diagonals, the frame least racked. Raises
    InputError for readings that cannot belong to one frame. Source: Gauss-Newton least squares on the corner
    coordinates.
    """
    if len(sides) != 4 or len(diagonals) != 2:
        raise InputError("a best fit takes four sides and two diagonals", "give AB, BC, CD, DA, then AC and BD")
    for name, nm in zip(READINGS, (*sides, *diagonals), strict=True):
        positive(nm, name, Unit.INCH)
    read = [nm / INCH for nm in (*sides, *diagonals)]
    _refuse_broken_triangles(read)
    corners = _solve(read, range(6))
    if corners is None:
        raise _impossible()
    residuals = [r - f for r, f in zip(read, _lengths(corners), strict=True)]
    if max(map(abs, residuals)) > 0.05 * max(read):
        raise _impossible()
    named = {name: r * INCH for name, r in zip(READINGS, residuals, strict=True)}
    trials = _leave_one_out(read)
    if trials:
        least = min(trial.uneven for trial in trials)
        likely = min((t for t in trials if t.uneven <= least + tolerance_nm / INCH / 2), key=lambda t: abs(t.racking))
        if abs(likely.misread) * INCH > tolerance_nm:
            return Fit(
                _to_nm(likely.corners),
                likely.racking * INCH,
                named,
                READINGS[likely.index],
                likely.misread * INCH,
                (READINGS[9 - likely.index],) if likely.index > 3 else (),
            )
    return Fit(_to_nm(corners), _lean(corners) * INCH, named)


def _impossible() -> InputError:
    return InputError("these six tapes cannot belong to one frame", "read all four sides and both diagonals again")


def _to_nm(corners: Sequence[Point]) -> tuple[Point, Point, Point, Point]:
    a, b, c, d = ((x * INCH, y * INCH) for x, y in corners)
    return a, b, c, d


def _refuse_broken_triangles(read: Sequence[float]) -> None:
    for trio in ((0, 1, 4), (2, 3, 4), (0, 3, 5), (1, 2, 5)):
        longest = max(trio, key=lambda k: read[k])
        if 2 * read[longest] >= sum(read[k] for k in trio):
            others = listing((READINGS[k] for k in trio if k != longest), "and")
            raise InputError(
                f"{READINGS[longest]}, {format_inches(read[longest] * INCH)}, is longer than {others} together",
                "no triangle has such sides: read these three again",
            )


@dataclass(frozen=True, slots=True)
class _Trial:
    index: int
    corners: Sequence[Point]
    misread: float
    uneven: float
    racking: float


def _leave_one_out(read: Sequence[float]) -> list[_Trial]:
    trials: list[_Trial] = []
    for index in range(6):
        corners = _solve(read, [k for k in range(6) if k != index])
        if corners is None:
            continue
        fit = _lengths(corners)
        uneven = abs(fit[0] - fit[2]) + abs(fit[1] - fit[3])
        trials.append(_Trial(index, corners, read[index] - fit[index], uneven, _lean(corners)))
    return trials


def _lengths(corners: Sequence[Point]) -> list[float]:
    return [math.dist(corners[i], corners[j]) for i, j in _ENDS]


def _lean(corners: Sequence[Point]) -> float:
    """Racking of any quadrilateral: the mean depth edge laid along the mean width edge."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = corners
    px, py = (bx - ax + cx - dx) / 2, (by - ay + cy - dy) / 2
    qx, qy = (dx - ax + cx - bx) / 2, (dy - ay + cy - by) / 2
    return (px * qx + py * qy) / math.hypot(px, py)


def _solve(read: Sequence[float], used: Sequence[int]) -> list[Point] | None:
    """Gauss-Newton from the rectangle of the mean sides; None when it does not settle on an open frame."""
    width, depth = (read[0] + read[2]) / 2, (read[1] + read[3]) / 2
    x = [width, width, depth, 0.0, depth]
    for _ in range(60):
        corners = _corners(x)
        if min(_lengths(corners)) < 1e-6:
            return None
        rows, rest = [], []
        for k in used:
            i, j = _ENDS[k]
            rows.append(_gradient(corners, i, j))
            rest.append(read[k] - math.dist(corners[i], corners[j]))
        normal = [[sum(r[p] * r[q] for r in rows) for q in range(5)] for p in range(5)]
        step = _linear(normal, [sum(r[p] * e for r, e in zip(rows, rest, strict=True)) for p in range(5)])
        if step is None:
            return None
        x = [value + change for value, change in zip(x, step, strict=True)]
        if max(map(abs, step)) < 1e-10 * max(read):
            return _corners(x) if x[0] > 0 and x[2] > 0 and x[4] > 0 else None
    return None


def _corners(x: Sequence[float]) -> list[Point]:
    return [(0.0, 0.0), (x[0], 0.0), (x[1], x[2]), (x[3], x[4])]


_UNKNOWN = {(1, 0): 0, (2, 0): 1, (2, 1): 2, (3, 0): 3, (3, 1): 4}


def _gradient(corners: Sequence[Point], i: int, j: int) -> list[float]:
    row = [0.0] * 5
    length = math.dist(corners[i], corners[j])
    for axis in (0, 1):
        slope = (corners[j][axis] - corners[i][axis]) / length
        for corner, sign in ((j, 1.0), (i, -1.0)):
            if (place := _UNKNOWN.get((corner, axis))) is not None:
                row[place] += sign * slope
    return row


def _linear(matrix: Sequence[Sequence[float]], right: Sequence[float]) -> list[float] | None:
    """Solve a small square system by elimination with row exchange; None when it is singular."""
    size = len(right)
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    for k in range(size):
        pivot = max(range(k, size), key=lambda r: abs(rows[r][k]))
        if abs(rows[pivot][k]) < 1e-12:
            return None
        rows[k], rows[pivot] = rows[pivot], rows[k]
        for r in range(k + 1, size):
            factor = rows[r][k] / rows[k][k]
            rows[r] = [value - factor * top for value, top in zip(rows[r], rows[k], strict=True)]
    out = [0.0] * size
    for k in reversed(range(size)):
        out[k] = (rows[k][size] - sum(rows[k][q] * out[q] for q in range(k + 1, size))) / rows[k][k]
    return out
