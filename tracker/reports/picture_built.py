"""Pictures of what carries and protects: footings in section, the ledger's fasteners, spans, stairs, the guard."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from statistics import median

from tracker.book.views import Tried
from tracker.reports.drawing_canvas import Canvas
from tracker.reports.drawing_legend import Row
from tracker.reports.drawing_text import CELL_RATIO
from tracker.reports.picture_boards import Opening, section
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
    in_columns,
    narrow,
    nm_of,
    place,
    whole,
)
from tracker.text import count, listing
from tracker.trade.checks.ledger import BOTTOM_LEAST_NM, END_LEAST_NM, END_MOST_NM, TOP_LEAST_NM
from tracker.trade.guards import OPENING_NM
from tracker.trade.lengths import INCH, Unit, format_small, format_trade
from tracker.trade.loads import footing_depth_nm
from tracker.trade.readings import Readings
from tracker.trade.stairs import RISER_MOST_NM, SPREAD_MOST_NM

_HOLE_LEAST = 14
"""Columns a footing in section takes at the least."""
_LANDING = 3


def _table(tried: Tried, key: str, name: str, figure: str) -> float | None:
    """A figure in inches of one thing of the verdict, in nm."""
    row = figures(tried, key).get(name)
    return nm_of(row.get(figure)) if isinstance(row, dict) else None


def draw_footing(tried: Tried, width: int, height: int, ascii_only: bool) -> tuple[Row, ...]:
    """The holes in section: how deep and how wide, the depth frost asks for, what the load wants."""
    unit, readings = tried.case.job.unit, tried.readings
    across, depth = readings.column("across"), readings.column("depth")
    frost = whole(readings.values.get("frost"))
    deep = footing_depth_nm(tried.case.job.site.frost_depth_nm if frost is None else max(frost, 0))
    rows = [row for row in tried.form.rows if row in across or row in depth]
    words: list[Word] = []
    bad: list[str] = []
    for row in rows:
        wanted = _table(tried, "footings", row, "required_in")
        faults = []
        if row in depth and depth[row] < deep:
            faults.append(f"{format_small(deep - depth[row], unit)} too shallow")
        if wanted is not None and row in across and across[row] < wanted:
            faults.append(f"{format_small(wanted - across[row], unit)} too narrow")
        sizes = [
            f"{format_trade(read[row], unit)} {what}"
            for read, what in ((depth, "deep"), (across, "across"))
            if row in read
        ]
        needs = f", wants {format_trade(wanted, unit)} across" if wanted is not None else ""
        if faults:
            bad.append(row)
        said = f"{row}: {', '.join(sizes)}{needs}"
        words.append((f"{FAULT} {said}: {listing(faults, 'and')}" if faults else said, BAD if faults else ""))
    words.sort(key=lambda word: word[1] != BAD)
    if unread := [row for row in tried.form.rows if row not in rows]:
        words.append((f"{count(len(unread), 'footing')} still to read: {listing(unread, 'and')}", CARE))
    words.append((f"the dashes are {format_trade(deep, unit)} down: below frost, and 12 in at the least", QUIET))
    order = sorted(rows or tried.form.rows, key=lambda row: row not in bad)

    def draw(columns: int, rows: int) -> Sequence[Row]:
        return _holes(order, readings, deep, bad, columns, min(rows, 14), ascii_only)

    return compose(draw, words, width, height, ascii_only=ascii_only, rows=5, tall=True)


def _holes(
    order: Sequence[str], readings: Readings, deep: int, bad: Sequence[str], columns: int, rows: int, ascii_only: bool
) -> list[Row]:  # fmt: skip
    canvas = Canvas(columns, rows, ascii_only)
    across, depth, poured = (readings.column(key) for key in ("across", "depth", "height"))
    shown = order[: max(columns // _HOLE_LEAST, 1)]
    each, ground, low = columns // max(len(shown), 1), 1, rows - 1
    deepest = max([deep, *(depth.get(name, deep) for name in shown), INCH])
    scale = deepest / (low - ground)
    canvas.across(ground, 0, columns - 1, style=QUIET)
    for number, name in enumerate(shown):
        middle = number * each + each // 2
        half = min(max(round(across.get(name, 0) / scale * CELL_RATIO / 2), 2), each // 2 - 2)
        bottom = ground + max(place(depth.get(name, deep), scale, low - ground), 1)
        style = BAD if name in bad else ""
        concrete = bottom - ground
        if name in poured:
            concrete = min(place(poured[name], scale, low - ground), concrete)
        for row in range(ground, bottom):
            for column in range(middle - half + 1, middle + half):
                canvas.put(column, row, "▒" if name in depth and row >= bottom - concrete else " ", style)
        canvas.down(middle - half, ground, bottom, style=style)
        canvas.down(middle + half, ground, bottom, style=style)
        canvas.across(bottom, middle - half, middle + half, style=style)
        label = (
            narrow(name, 6) + ("" if name in depth and name in across else " ?") + (f" {FAULT}" if name in bad else "")
        )
        canvas.write(max(middle - len(label) // 2, 0), 0, label, BAD if name in bad else STRONG)
    frost = ground + place(deep, scale, low - ground)
    for column in range(0, columns, 2):
        if canvas.free(column, frost):
            canvas.put(column, frost, "╌", CARE)
    return canvas.lines()


def draw_ledger(tried: Tried, width: int, height: int, ascii_only: bool) -> tuple[Row, ...]:
    """A stretch of ledger with its fasteners as far apart as read, above the spacing the table allows."""
    unit, values = tried.case.job.unit, tried.readings.values
    spacing, allowed = whole(values.get("spacing")), figure_nm(tried, "allowed_spacing_in")
    ends = values.get("ends")
    first = min(ends, default=0) if isinstance(ends, tuple) else 0
    words: list[Word] = []
    if spacing is not None:
        wide = allowed is not None and spacing > allowed
        limit = f", {format_small(allowed, unit)} at the most" if allowed is not None else ""
        words.append(
            (
                f"{f'{FAULT} ' if wide else ''}fasteners {format_small(spacing, unit)} on centre{limit}",
                BAD if wide else "",
            )
        )
    for key, what, least in (("top", "top", TOP_LEAST_NM), ("bottom", "bottom", BOTTOM_LEAST_NM)):
        nm = whole(values.get(key))
        if nm is not None:
            close = nm < least
            words.append(
                (f"{f'{FAULT} ' if close else ''}{format_small(nm, unit)} from the {what} edge, at least {format_small(least, unit)}", BAD if close else "")
            )  # fmt: skip
    if isinstance(ends, tuple) and ends:
        off = [nm for nm in ends if not END_LEAST_NM <= nm <= END_MOST_NM]
        said = listing([format_small(nm, unit) for nm in ends], "and")
        span = f"{format_small(END_LEAST_NM, unit)} to {format_small(END_MOST_NM, unit)}"
        words.append((f"{f'{FAULT} ' if off else ''}{said} from the ends, {span} wanted", BAD if off else ""))
    if spacing is None:
        words.append(("type the widest spacing: the picture then shows the fasteners", CARE))
    words.append(("◉ as read, : as far apart as the table allows; the left end of the ledger, not all of it", QUIET))

    def draw(columns: int, rows: int) -> Sequence[Row]:
        return _bolts(spacing, allowed, first, columns, ascii_only)[:rows]

    return compose(draw, words, width, height, ascii_only=ascii_only, rows=6, most=6)


def _bolts(spacing: int | None, allowed: float | None, first: int, columns: int, ascii_only: bool) -> list[Row]:
    canvas, last = Canvas(columns, 6, ascii_only), columns - 1
    canvas.across(0, 0, last)
    canvas.across(4, 0, last)
    canvas.down(0, 0, 4)
    if spacing is None or spacing <= 0:
        return canvas.lines()
    # Four spacings fill the width, whichever of the two is the wider.
    scale = 4.5 * max(float(spacing), allowed or 0.0) / max(last - 2, 1)
    start = 2 + place(min(max(first, 0), spacing), scale, last)
    for pitch, row_of, glyph, style in ((float(spacing), (1, 3), "◉", STRONG), (allowed or 0.0, (5, 5), ":", GOOD)):
        number, step = 0, pitch / scale
        while step >= 1 and (column := start + round(number * step)) <= last:
            canvas.put(column, row_of[number % 2], glyph, style)
            number += 1
    return canvas.lines()


def draw_span(tried: Tried, width: int, height: int, ascii_only: bool) -> tuple[Row, ...]:
    """A joist line over what carries it, the back at the left: each span as read, what is over the table marked."""
    unit, read = tried.case.job.unit, tried.readings.column("span")
    allowed, reach = figure_nm(tried, "allowed_span_in"), figure_nm(tried, "allowed_overhang_in")
    over = whole(tried.readings.values.get("overhang"))
    words: list[Word] = []
    bad = [row for row, nm in read.items() if allowed is not None and nm > allowed]
    for row, nm in read.items():
        limit = f", {format_trade(allowed, unit)} allowed" if allowed is not None else ""
        words.append(
            (f"{f'{FAULT} ' if row in bad else ''}{row}: {format_trade(nm, unit)}{limit}", BAD if row in bad else "")
        )
    if over is not None:
        far = reach is not None and over > reach
        limit = f", {format_trade(reach, unit)} allowed" if reach is not None else ""
        words.append(
            (f"{f'{FAULT} ' if far else ''}past the beam {format_trade(over, unit)}{limit}", BAD if far else "")
        )
    if unread := [row for row in tried.form.rows if row not in read]:
        words.append((f"still to read: {listing(unread, 'and')}", CARE))
    words.append(("▲ a beam or the ledger; the back at the left", QUIET))

    def draw(columns: int, rows: int) -> Sequence[Row]:
        return _line(tried, read, bad, max(over or 0, 0), columns, ascii_only)[:rows]

    return compose(draw, words, width, height, ascii_only=ascii_only, rows=3, most=3)


def _line(
    tried: Tried, read: Mapping[str, int], bad: Sequence[str], over: int, columns: int, ascii_only: bool
) -> list[Row]:
    canvas, most = Canvas(columns, 3, ascii_only), columns - 3
    rows = [row for row in tried.form.rows if read.get(row, 0) > 0]
    whole_nm = sum(read[row] for row in rows) + over
    if not rows:
        return [[("no span read yet", QUIET)]]
    scale, at = whole_nm / most, 0
    canvas.across(1, 1, 1 + most)
    canvas.put(1, 2, "▲")
    for row in rows:
        start, end = 1 + place(at, scale, most), 1 + place(at + read[row], scale, most)
        at += read[row]
        style = BAD if row in bad else ""
        for column in range(start, end + 1 if row in bad else start):
            canvas.put(column, 1, "═", style)
        canvas.put(end, 2, "▲")
        label = narrow(f"{row} {format_trade(read[row], tried.case.job.unit)}{f' {FAULT}' if row in bad else ''}", 20)
        canvas.write((start + end - len(label)) // 2 + 1, 0, label, style or STRONG)
    return canvas.lines()


def odd_risers(rises: Mapping[str, int]) -> list[str]:
    """The risers that make a flight uneven: those farthest from the middle one where they differ by more than the code
    allows, and any that is too high.
    """
    if not rises:
        return []
    middle = median(rises.values())
    far = max(abs(nm - middle) for nm in rises.values())
    uneven = max(rises.values()) - min(rises.values()) > SPREAD_MOST_NM
    return [name for name, nm in rises.items() if (uneven and abs(nm - middle) == far) or nm > RISER_MOST_NM]


def draw_stairs(tried: Tried, width: int, height: int, ascii_only: bool) -> tuple[Row, ...]:
    """A flight from the side, every riser with its height, the odd one marked."""
    unit, rises = tried.case.job.unit, tried.readings.column("rise")
    flights: dict[str, dict[str, int]] = {}
    for name, nm in rises.items():
        flights.setdefault(name[:1] if name[:1].isalpha() else "", {})[name] = nm
    odd = [name for flight in flights.values() for name in odd_risers(flight)]
    words: list[Word] = []
    for letter, flight in flights.items():
        tall, low = max(flight.values()), min(flight.values())
        which = f"flight {letter}: " if letter else ""
        words.append((f"{which}{count(len(flight), 'riser')} read, {format_small(tall - low, unit)} between the highest and the "
                      f"lowest; {format_small(SPREAD_MOST_NM, unit)} allowed", ""))  # fmt: skip
    words = [(f"{FAULT} step {name} rises {format_small(rises[name], unit)}", BAD) for name in odd] + words
    if unread := [row for row in tried.form.rows if row not in rises]:
        words.append((f"{count(len(unread), 'step')} still to read: {listing(unread, 'and')}", CARE))
    words.append(("step 1 is the lowest, from the landing up", QUIET))
    worst = max(flights, key=lambda letter: len([n for n in flights[letter] if n in odd]), default="")

    def draw(columns: int, rows: int) -> Sequence[Row]:
        return _flight(list(flights.get(worst, {}).items()), odd, unit, columns, rows, ascii_only)

    need = min(max(len(flights.get(worst, {})) + 1, 4), 12)
    return compose(draw, words, width, height, ascii_only=ascii_only, rows=min(need, max(height // 2, 4)))


def _flight(
    steps: Sequence[tuple[str, int]], odd: Sequence[str], unit: Unit, columns: int, rows: int, ascii_only: bool
) -> list[Row]:
    labels = [narrow(f"{name}: {format_small(nm, unit)}{f' {FAULT}' if name in odd else ''}", 18) for name, nm in steps]
    room = max((len(label) for label in labels), default=0) + 3 + _LANDING
    if not steps or len(steps) + 1 > rows or columns - room < len(steps) * 2:
        return in_columns([[(label, BAD if FAULT in label else "")] for label in labels], columns)
    tread = min(max((columns - room) // len(steps), 2), 6)
    canvas = Canvas(columns, len(steps) + 1, ascii_only)
    canvas.across(len(steps), 0, _LANDING)
    for number, (label, (name, _)) in enumerate(zip(labels, steps, strict=True)):
        x, foot = _LANDING + number * tread, len(steps) - number
        style = BAD if name in odd else ""
        canvas.down(x, foot - 1, foot, style=style)
        canvas.across(foot - 1, x, x + tread)
        canvas.write(x + 2, foot, label, style)
    return canvas.lines()


def _guard_read(tried: Tried, column: str, former: str) -> tuple[int, ...]:
    """The readings of every side, and those of the one list for all sides that they were read as before."""
    older = tried.readings.values.get(former)
    return (*tried.readings.column(column).values(), *(older if isinstance(older, tuple) else ()))


def draw_guard(tried: Tried, width: int, height: int, ascii_only: bool) -> tuple[Row, ...]:
    """The widest opening between two balusters, now and dry, against the ball that must not pass; the height in words."""
    unit = tried.case.job.unit
    read, high = _guard_read(tried, "opening", "openings"), _guard_read(tried, "height", "heights")
    worst = figure_nm(tried, "opening_in")
    now = max(read, default=None) if worst is None else round(worst)
    dry, ball_nm = figure_nm(tried, "opening_dry_in"), round(figure_nm(tried, "ball_in") or OPENING_NM)
    openings = [
        Opening(name, nm, nm, f"{format_small(nm, unit, 64)}{f', the ball passes {FAULT}' if nm >= ball_nm else ', holds'}",
                BAD if nm >= ball_nm else GOOD)
        for name, nm in (("now", now), ("when dry", dry)) if nm is not None and nm >= 0
    ]  # fmt: skip
    words: list[Word] = []
    least = figure_nm(tried, "height_least_in")
    if (lowest := figure_nm(tried, "height_in") or min(high, default=None)) is not None:
        low = least is not None and lowest < least
        limit = f", {format_trade(least, unit)} at the least" if least is not None else ""
        words.append(
            (f"{f'{FAULT} ' if low else ''}lowest height {format_trade(lowest, unit)}{limit}", BAD if low else "")
        )
    words += [(f"{one.name}: widest opening {one.said}", one.style) for one in openings]
    if not openings:
        words.append(("type the openings: the picture then shows the widest", CARE))
    words.append(
        (f"the ball that must not pass is {format_small(ball_nm, unit)}, its edge marked in every opening", QUIET)
    )
    ball = Opening("the ball", ball_nm, ball_nm, format_small(ball_nm, unit))

    def draw(columns: int, rows: int) -> Sequence[Row]:
        drawn, scale = section([*openings, ball], (ball_nm,), columns, unit)
        return [*drawn, [(scale, QUIET)]][:rows]

    return compose(draw, words, width, height, ascii_only=ascii_only, rows=len(openings) + 2, beside=False)
