"""Pictures of the frame as it stands: joists on the rim, fasteners in the joints, crowns, blocks under each joist."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from tracker.book.views import Tried
from tracker.reports.drawing_canvas import Canvas
from tracker.reports.drawing_legend import Row
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
    in_columns,
    names,
    narrow,
    nice,
    place,
    text_of,
    whole,
)
from tracker.text import count, listing
from tracker.trade.checks.frame import joint_nails
from tracker.trade.checks.sample import REST
from tracker.trade.checks.stock import marks
from tracker.trade.framing import standing_lines
from tracker.trade.lengths import Unit, format_length, format_small

_NAMED = 8
"""Rows named in a sentence; the rest are counted."""
_DOTS = 12
"""Fasteners drawn for one joint at the most."""
_BAR = 6


def _several(rows: Sequence[str]) -> str:
    shown = listing(rows[:_NAMED], "and") if len(rows) <= _NAMED else ", ".join(rows[:_NAMED])
    return shown + (f" and {len(rows) - _NAMED} more" if len(rows) > _NAMED else "")


def _still(tried: Tried, read: Mapping[str, object], noun: str) -> list[Word]:
    """Which rows of the form are still to be read, or how many were judged by eye."""
    unread = [row for row in tried.form.rows if row not in read]
    if unread and _by_eye(tried):
        return [(f"{count(len(unread), noun)} judged by eye, not read", CARE)]
    return [(f"{count(len(unread), noun)} still to read: {_several(unread)}", CARE)] if unread else []


def _by_eye(tried: Tried) -> bool:
    """Whether the rows without a reading were judged by eye."""
    return tried.form.sample > 0 and tried.readings.has(REST) and not tried.case.read_all


def _unread(tried: Tried) -> str:
    """What stands for a row without a reading."""
    return "~" if _by_eye(tried) else "?"


def draw_spacing(tried: Tried, width: int, height: int, ascii_only: bool) -> tuple[Row, ...]:
    """The rim with every joist's mark and where the joist stands, its distance off drawn too large by a factor said."""
    platform, unit, rules = tried.case.platform, tried.case.job.unit, tried.case.rules
    tolerance, laid, at = rules.figure("joist_spacing"), marks(platform), tried.readings.column("at")
    off = {row: at[row] - mark for row, mark in zip(tried.form.rows, laid, strict=False) if row in at}
    drifting = [row for row, nm in off.items() if abs(nm) > tolerance]
    worst = max((abs(nm) for nm in off.values()), default=0)
    bay = min((b - a for a, b in pairwise(laid)), default=platform.width_nm)
    factor = nice(2 * bay / (5 * worst)) if worst else 1
    words: list[Word] = []
    if drifting:
        each = [
            f"{row} by {format_small(abs(off[row]), unit)} {'right' if off[row] > 0 else 'left'}" for row in drifting
        ]
        words.append((f"{FAULT} off its mark: joist {_several(each)}", BAD))
    if (clear := figure_nm(tried, "worst_clear_in")) is not None:
        words.append(_worst_bay(tried, clear, tolerance))
        if not drifting:
            words.append((f"every joist {'read ' if _by_eye(tried) else ''}stands on its mark", GOOD))
    words += _still(tried, at, "joist")
    if worst:
        words.append((f"distance off the mark drawn {factor} x too large" if factor > 1 else "drawn to scale", QUIET))
    words.append(("above the rim where each joist is laid out, below it where it stands", QUIET))

    def draw(columns: int, rows: int) -> Sequence[Row]:
        return _rim(tried, laid, {row: nm * factor for row, nm in off.items()}, drifting, columns, ascii_only)[:rows]

    return compose(draw, words, width, height, ascii_only=ascii_only, most=5)


def _worst_bay(tried: Tried, clear: float, tolerance: int) -> Word:
    unit, allowed = tried.case.job.unit, figure_nm(tried, "allowed_clear_in") or 0
    bay = text_of(tried, "widest_bay").replace("-", " and ")
    wide = clear > allowed + tolerance
    said = f"worst span between joists {bay}: {format_small(clear, unit)} clear, {format_small(allowed, unit)} allowed"
    return (f"{FAULT} {said}" if wide else said, BAD if wide else "")


def _rim(
    tried: Tried, laid: Sequence[int], moved: Mapping[str, int], drifting: Sequence[str], columns: int, ascii_only: bool
) -> list[Row]:  # fmt: skip
    canvas, most = Canvas(columns, 4, ascii_only), columns - 3
    scale = max(tried.case.platform.width_nm, 1) / most
    canvas.across(1, 1, most + 1)
    taken: set[int] = set()
    for row, mark in zip(tried.form.rows, laid, strict=False):
        column = 1 + place(mark, scale, most)
        canvas.put(column, 1, "┬")
        number = narrow(row, 3)
        if not taken & set(range(column - 1, column + len(number) + 1)) and canvas.write(column, 0, number, STRONG):
            taken |= set(range(column, column + len(number)))
        if row not in moved:
            canvas.put(column, 2, _unread(tried), QUIET)
            continue
        stands = place(mark + moved[row], scale, most)
        if row in drifting:
            # What drifts never stands on its own mark, however small the drawing.
            stands = min(max(stands, 0), most)
            if stands + 1 == column:
                stands += 1 if moved[row] > 0 else -1
            canvas.put(1 + stands, 2, "│", BAD)
            canvas.put(1 + stands, 3, FAULT, BAD)
        else:
            canvas.put(1 + stands, 2, "│")
    return canvas.lines()


def draw_crown(tried: Tried, width: int, height: int, ascii_only: bool) -> tuple[Row, ...]:
    """Every joist with an arrow up or down, a bar as long as its crown and the amount; those to turn or cull named."""
    unit, crowns = tried.case.job.unit, tried.readings.column("crown")
    most = tried.case.rules.figure("crown_most")
    cull = names(tried, "cull") or tuple(row for row, nm in crowns.items() if abs(nm) > most)
    turn = tuple(row for row, nm in crowns.items() if nm < 0)
    items = [_crown_item(row, crowns.get(row), most, row in cull, unit, _unread(tried)) for row in _rows(tried, crowns)]
    words: list[Word] = []
    if turn:
        words.append((f"↓ crown down, turn over: {_several(turn)}", BAD))
    if cull:
        words.append((f"{FAULT} over {format_small(most, unit)}, cull: {_several(cull)}", BAD))
    if (step := figure_nm(tried, "neighbours_in")) is not None:
        words.append((f"largest step between neighbors {format_small(step, unit)}", ""))
    if tried.answer is not None and "up" in tried.answer.answer and not (turn or cull):
        words.append((f"every crown {'read ' if _by_eye(tried) else ''}up", GOOD))
    words += _still(tried, crowns, "joist")

    def draw(columns: int, rows: int) -> Sequence[Row]:
        return in_columns(items, columns)

    return compose(draw, words, width, height, ascii_only=ascii_only)


def _rows(tried: Tried, read: Mapping[str, object]) -> list[str]:
    """The rows the form suggests, then those a person named."""
    return [*tried.form.rows, *(row for row in read if row not in tried.form.rows)]


def _crown_item(row: str, nm: int | None, most: int, cull: bool, unit: Unit, unread: str) -> Row:
    name = narrow(row, 6).rjust(2)
    if nm is None:
        return [(f"{name} {unread}", QUIET)]
    arrow = "↑" if nm > 0 else ("↓" if nm < 0 else "─")
    bar = "▬" * min(round(abs(nm) * _BAR / max(most, 1)), _BAR + 2)
    told = f"{name} {arrow} {bar} {format_small(abs(nm), unit)}" if nm else f"{name} {arrow} straight"
    return [(told + (f" {FAULT}" if cull else ""), BAD if cull or nm < 0 else "")]


def draw_fasteners(tried: Tried, width: int, height: int, ascii_only: bool) -> tuple[Row, ...]:
    """Each joint with its fasteners drawn full and the missing ones hollow; the short joints named, the boxes left."""
    takes = joint_nails(tried.case.platform, tried.readings)
    return _dots(tried, tried.readings.column("nails"), takes, "joint", width, height, ascii_only)


def draw_screws(tried: Tried, width: int, height: int, ascii_only: bool) -> tuple[Row, ...]:
    """Each crossing with its screws drawn full and the missing ones hollow; the short crossings named."""
    per = tried.case.rules.figure("screws_per_crossing")
    counted = tried.readings.column("count")
    takes = dict.fromkeys(_rows(tried, counted), per)
    return _dots(tried, counted, takes, "crossing", width, height, ascii_only)


def _dots(
    tried: Tried,
    counted: Mapping[str, int],
    takes: Mapping[str, int],
    noun: str,
    width: int,
    height: int,
    ascii_only: bool,
) -> tuple[Row, ...]:
    missing = {row: takes.get(row, 0) - found for row, found in counted.items() if found < takes.get(row, 0)}
    words: list[Word] = []
    if missing:
        short = [f"{lack} at {row}" for row, lack in missing.items()]
        words.append((f"{FAULT} missing: {_several(short)}; {sum(missing.values())} to drive", BAD))
    elif counted:
        words.append((f"{count(len(counted), noun)} counted, none short", GOOD))
    per = listing([str(number) for number in dict.fromkeys(takes.values())])
    words.append((f"{per} to a {noun}: ● there, ○ missing, ? not counted", QUIET))
    left = whole(tried.readings.values.get("left"))
    if left is not None:
        lack = sum(missing.values())
        enough = "enough" if left >= lack else f"{FAULT} buy {lack - left} more"
        words.append((f"left in the boxes {left}, to drive {lack}: {enough}", "" if left >= lack else BAD))
    to_go = tried.answer.answer.get("screws_to_go") if tried.answer else None
    if isinstance(to_go, int):
        words.append((f"screws to go on this deck: {to_go}", ""))

    def draw(columns: int, rows: int) -> Sequence[Row]:
        order = _rows(tried, counted)
        drawn = in_columns([_dot_item(row, counted.get(row), takes.get(row, 0)) for row in order], columns)
        if len(drawn) <= rows:
            return drawn
        # The short ones first: what is cut off must never be what is wrong.
        order.sort(key=lambda row: (row not in missing, row not in counted))
        return in_columns([_dot_item(row, counted.get(row), takes.get(row, 0)) for row in order], columns)

    return compose(draw, words, width, height, ascii_only=ascii_only)


def _dot_item(row: str, found: int | None, per: int) -> Row:
    name = narrow(row, 8).rjust(3)
    if found is None:
        return [(f"{name} ", ""), ("?", QUIET)]
    full, lack = max(min(found, per), 0), min(max(per - found, 0), per)
    shown = min(full, _DOTS)
    runs: Row = [(f"{name} ", "")]
    if shown:
        runs.append(("●" * shown, ""))
    if lack:
        runs.append(("○" * min(lack, _DOTS) + f" {FAULT}", BAD))
    elif found > per:
        runs.append((f"+{min(found - per, 99)}", ""))
    return runs


def draw_support(tried: Tried, width: int, height: int, ascii_only: bool) -> tuple[Row, ...]:
    """Every joist line, front at the left, with what holds it up; the longest stretch of each, the too long ones marked."""
    platform, unit = tried.case.platform, tried.case.job.unit
    longest = tried.case.rules.figure("support_longest")
    contacts = tried.readings.lists("at")
    lengths = {row: line.length_nm for row, line in zip(tried.form.rows, standing_lines(platform), strict=False)}
    held = {
        row: sorted(min(max(nm, 0), lengths[row]) for nm in points)
        for row, points in contacts.items()
        if row in lengths and points
    }
    stretch = {row: max((b - a for a, b in pairwise(points)), default=0) for row, points in held.items()}
    ends = {row: max(points[0], lengths[row] - points[-1]) for row, points in held.items()}
    bad = [row for row in held if stretch[row] > longest or ends[row] > longest // 4]
    words: list[Word] = []
    for row in bad[:_NAMED]:
        what = f"{format_length(stretch[row], unit)} without a block" if stretch[row] > longest else (
            f"its end sticks out {format_length(ends[row], unit)}"
        )  # fmt: skip
        words.append((f"{FAULT} joist {row}: {what}", BAD))
    if held:
        worst = max(held, key=lambda row: stretch[row])
        words.append((f"longest stretch {format_length(stretch[worst], unit)}, joist {worst}; "
                      f"{format_length(longest, unit)} allowed", GOOD if not bad and len(held) == len(lengths) else ""))  # fmt: skip
    words += _still(tried, contacts, "joist")
    words.append(("▲ held up, front at the left; = is too long a stretch", QUIET))

    def draw(columns: int, rows: int) -> Sequence[Row]:
        order = list(lengths)
        if len(order) > rows:
            # What is cut off must never be what is wrong.
            order.sort(key=lambda row: (row not in bad, row not in held))
        room = rows - 1 if len(order) > rows else rows
        shown = [
            [(f"{narrow(row, 4).rjust(3)} {_unread(tried)}", QUIET)]
            if row not in held
            else _joist(row, held[row], lengths[row], longest, columns, unit, ascii_only)
            for row in order[:room]
        ]
        left = len(order) - room
        return [*shown, [(f"and {count(left, 'more joist')}", QUIET)]] if left > 0 else shown

    return compose(draw, words, width, height, ascii_only=ascii_only)


def _joist(
    row: str, points: Sequence[int], length: int, longest: int, columns: int, unit: Unit, ascii_only: bool
) -> Row:
    """One joist line: its number, the line with its blocks, its longest stretch."""
    name = narrow(row, 4).rjust(3)
    worst = max((b - a for a, b in pairwise(points)), default=0)
    ends = max(points[0], length - points[-1])
    said = format_length(worst, unit)
    bad = worst > longest or ends > longest // 4
    most = max(columns - 5 - 2 - 12, 6)
    scale = max(length, 1) / most
    canvas = Canvas(columns, 1, ascii_only)
    canvas.write(0, 0, name, STRONG)
    canvas.across(0, 5, 5 + most)
    for a, b in pairwise([0, *points, length]):
        end = (a == 0 and b == points[0]) or (b == length and a == points[-1])
        if b - a > (longest // 4 if end else longest):
            for column in range(5 + place(a, scale, most), 6 + place(b, scale, most)):
                canvas.put(column, 0, "═", BAD)
    for nm in points:
        canvas.put(5 + place(nm, scale, most), 0, "▲")
    canvas.write(7 + most, 0, narrow(f"{said}{f' {FAULT}' if bad else ''}"), BAD if bad else "")
    return canvas.lines()[0]
