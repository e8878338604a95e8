"""Pictures of the deck boards: two boards in section with their gap through the year, the run with what is still open."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from tracker.book.views import Tried
from tracker.errors import InputError
from tracker.reports.drawing_canvas import BLANK, Canvas
from tracker.reports.drawing_legend import Row
from tracker.reports.page import cells
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
    figures_nm,
    narrow,
    nice,
    nm_of,
    short,
    whole,
)
from tracker.text import count
from tracker.trade.answer import Verdict
from tracker.trade.climate import find_service
from tracker.trade.lengths import INCH, MM, Unit, format_length, format_small
from tracker.trade.movement import SEASON_TENTHS, Grain, change_nm
from tracker.trade.spec import BoardKind, GapIntent

_STEPS = {
    Unit.INCH: (INCH // 64, INCH // 32, INCH // 16, INCH // 8, INCH // 4, INCH // 2, INCH),
    Unit.MM: (MM // 2, MM, 2 * MM, 5 * MM, 10 * MM, 25 * MM),
}
"""What a character may stand for in a section, the finest first."""
_STUB = 4
"""Cells of board shown on either side of a gap at the least."""
_SLACK = 64
"""A gap is judged to 1/64 in."""


@dataclass(frozen=True, slots=True)
class Opening:
    """One line of a section: from ``least_nm`` to ``most_nm`` wide, what is said of it and how."""

    name: str
    least_nm: float
    most_nm: float
    said: str
    style: str = ""


def section(openings: Sequence[Opening], limits: Sequence[int], columns: int, unit: Unit) -> tuple[list[Row], str]:
    """Openings between two boards under each other, all to one scale, and that scale in words.

    The left board ends in one column; limits are marked ``:`` in every opening and ``┊`` where they fall on wood.
    """
    name = max((cells(one.name) for one in openings), default=0) + 1
    said = max((cells(one.said) for one in openings), default=0) + 1
    widest = max([one.most_nm for one in openings] + [float(nm) for nm in limits], default=0.0)
    # Where all of it has no room the words beside the boards give way: they are told again below.
    room = columns - name - said - 2 * _STUB
    if room < 8:
        said, room = 0, max(columns - name - 2 * _STUB, 4)
    step = next((step for step in _STEPS[unit] if widest / step <= room), None)
    scale = "" if step else ", openings wider than the room cut short"
    step = step or _STEPS[unit][-1]
    gap_room = min(max(round(widest / step), 1), room)
    rows: list[Row] = []
    for one in openings:
        least, most = (min(max(round(nm / step), 0), gap_room) for nm in (one.least_nm, one.most_nm))
        drawn = ["▒"] * _STUB + [" "] * least + ["░"] * (most - least) + ["▒"] * (gap_room - most + _STUB)
        for nm in limits:
            at = _STUB + min(round(nm / step), gap_room)
            drawn[at] = "┊" if drawn[at] in "▒░" else ":"
        row: Row = [(one.name + BLANK * (name - cells(one.name)), STRONG), ("".join(drawn), "")]
        rows.append([*row, (f" {one.said}", one.style)] if said else row)
    character = format_small(step, unit, 64)
    return rows, f"a character is {character} wide{scale}"


def draw_gap(tried: Tried, width: int, height: int, ascii_only: bool) -> tuple[Row, ...]:
    """Two boards in section: the gap as laid, and in the driest month, in service and in the wettest month."""
    unit, rules = tried.case.job.unit, tried.case.rules
    least, most = rules.figure("gap_least_service"), rules.figure("gap_most_service")
    if tried.case.platform.decking.kind is not BoardKind.WOOD:
        return _composite(tried, width, height, ascii_only)
    openings = gap_openings(tried)
    limits = f"marked: {format_small(least, unit)} the least that drains, {format_small(most, unit)} the most for heels"
    words: list[Word] = []
    if len(openings) == 1:
        words.append(("put the meter in the boards: the picture then shows the gap through the year", CARE))
    swing = f"driest and wettest month: {SEASON_TENTHS // 10} % either way of service (common practice)"
    words += [(limits, QUIET), (swing, QUIET)] if len(openings) > 1 else [(limits, QUIET)]

    def draw(columns: int, rows: int) -> Sequence[Row]:
        drawn, scale = section(openings, (least, most), columns, unit)
        if rows > 3 * len(drawn):
            # Boards two lines thick, a line of air between them, where there is room for it.
            drawn = [line for row in drawn for line in (row, _again(row), [])][:-1]
        told = drawn if any(len(row) > 2 for row in drawn) else [*drawn, *_said(openings)]
        return [*told, [(scale, QUIET)]][:rows]

    return compose(draw, words, width, height, ascii_only=ascii_only, rows=len(openings) + 1, beside=False)


def _again(row: Row) -> Row:
    """A line of a section once more, without its words."""
    return [(BLANK * cells(row[0][0]), ""), row[1]]


def _said(openings: Sequence[Opening]) -> list[Row]:
    return [[(f"{one.name}: {one.said}", one.style)] for one in openings]


def gap_openings(tried: Tried) -> list[Opening]:
    """The gap as laid and what the boards read so far make of it in service and through the year, in nm.

    Only the first when no board is read, or when their wood or width is none the trade room knows.
    """
    case, unit, readings = tried.case, tried.case.job.unit, tried.readings
    decking = case.platform.decking
    spacer = nm_of(tried.answer.inputs.get("spacer_in")) if tried.answer else None
    chosen = whole(readings.values.get("chosen"))
    tight = decking.gap_intent is GapIntent.TIGHT
    laid = spacer if spacer is not None else float(chosen if chosen is not None else 0 if tight else decking.gap_nm)
    how = f"{format_small(laid, unit)}, the spacer" if laid else "touching"
    openings = [Opening("as laid", laid, laid, how)]
    width = whole(readings.values.get("width")) or decking.width_nm
    species, grain = readings.word("species", decking.species), readings.word("grain", Grain.FLAT)
    moistures = list(readings.column("moisture").values())
    try:
        service = find_service(f"{case.job.site.service_moisture_tenths / 10:g}")
        for name, tenths in (
            ("driest", service.driest_tenths),
            ("service", service.mean_tenths),
            ("wettest", service.wettest_tenths),
        ):
            gaps = [laid - change_nm(width, species, now, tenths, grain) for now in moistures]
            if gaps:
                openings.append(_opening(name, min(gaps), max(gaps), tried))
    except InputError:
        return openings[:1]
    return openings


def _opening(name: str, low: float, high: float, tried: Tried) -> Opening:
    """A gap of a season with what it means: the limits are those of service, a season only says what happens then."""
    unit, rules = tried.case.job.unit, tried.case.rules
    slack = INCH / _SLACK / 2
    ends = dict.fromkeys(short(max(nm, 0), unit, _SLACK) for nm in (low, high))
    text = f"{' to '.join(ends)} {unit.value}"
    wide = high > rules.figure("gap_most_service") + slack
    if low < -slack:
        said = "boards press on each other"
    elif low < rules.figure("gap_least_service") - slack:
        said = "drains badly"
    elif wide:
        said = "catches heels"
    else:
        return Opening(name, low, high, f"{text}, drains", GOOD)
    service = name == "service"
    return Opening(name, low, high, f"{text}, {said}{f' {FAULT}' if service else ''}", BAD if service else CARE)


def _composite(tried: Tried, width: int, height: int, ascii_only: bool) -> tuple[Row, ...]:
    unit, values = tried.case.job.unit, tried.readings.values
    maker, chosen = whole(values.get("maker")), whole(values.get("chosen"))
    openings = [
        Opening(name, nm, nm, format_small(nm, unit))
        for name, nm in (("maker asks", maker), ("chosen", chosen))
        if nm is not None
    ]
    if not openings:
        return compose(lambda columns, rows: [], [("type the gap the board maker asks for", CARE)], width, height)
    good = tried.answer is not None and tried.answer.verdict is Verdict.PASSED
    told = (
        f"within {tried.case.rules.text('gap_tolerance', unit)} of what the maker asks"
        if good
        else f"{FAULT} set the boards with the maker's spacer"
    )
    words: list[Word] = [(told, GOOD if good else BAD)] if tried.answer and tried.answer.answer else []
    words.append(("composite hardly moves with moisture: one gap all year", QUIET))

    def draw(columns: int, rows: int) -> Sequence[Row]:
        drawn, scale = section(openings, (), columns, unit)
        return [*drawn, [(scale, QUIET)]][:rows]

    return compose(draw, words, width, height, ascii_only=ascii_only, rows=len(openings) + 1, beside=False)


def draw_run(tried: Tried, width: int, height: int, ascii_only: bool) -> tuple[Row, ...]:
    """The boards laid, the run still open at each point with its taper enlarged, and the width of the last board there."""
    unit = tried.case.job.unit
    still = {name: max(nm, 0) for name, nm in tried.readings.column("open").items()}
    lasts = figures_nm(tried, "last_width_at_in")
    taper, to_go = figure_nm(tried, "taper_in"), tried.answer.answer.get("boards_to_go") if tried.answer else None
    words: list[Word] = []
    bad = tried.answer is not None and tried.answer.verdict is Verdict.FAILED
    if taper is not None:
        words.append(
            (f"{f'{FAULT} ' if bad else ''}taper {format_small(taper, unit)} over the run", BAD if bad else GOOD)
        )
    if isinstance(to_go, int):
        words.append((f"{count(to_go, 'board')} to go", ""))
    for name, nm in still.items():
        last = f", last board {format_small(lasts[name], unit)}" if name in lasts else ""
        words.append((f"{name}: {format_length(nm, unit)} open{last}", ""))
    spread = max(still.values(), default=0) - min(still.values(), default=0)
    if len(still) < 2:
        words.append(("measure what is still open at two points or more", CARE))
    elif spread:
        factor = nice(max(still.values()) / (2 * spread))
        words.append((f"taper drawn {factor} x too large" if factor > 1 else "taper drawn as it is", QUIET))

    def draw(columns: int, rows: int) -> Sequence[Row]:
        return _run(still, columns, min(rows, 10), ascii_only)

    return compose(draw, words, width, height, ascii_only=ascii_only, rows=5, tall=True)


def _run(still: Mapping[str, int], columns: int, rows: int, ascii_only: bool) -> list[Row]:
    canvas = Canvas(columns, rows, ascii_only)
    home, most = rows - 2, columns - 2
    for column in range(most + 1):
        canvas.put(column, 0, "▒")
        canvas.put(column, home, "═")
    canvas.write(2, 0, " boards laid ", STRONG)
    canvas.write(2, home, " the run ends here ", STRONG)
    if len(still) < 2:
        return canvas.lines()
    points = list(still.items())
    low, high = min(still.values()), max(still.values())
    # The widest stretch reaches the boards laid; the narrowest stands up to half of it lower, the taper enlarged.
    factor = nice(high / (2 * (high - low))) if high > low else 1
    places = []
    for number, (name, nm) in enumerate(points):
        column = round(number * most / (len(points) - 1))
        share = min((high - nm) * factor / max(high, 1), 1.0)
        row = 1 + share * max(home - 3, 0)
        places.append((column, row))
        text = narrow(name, max(most // len(points) - 1, 1))
        canvas.write(min(column, columns - len(text)), rows - 1, text)
    for (x, y), (x2, y2) in pairwise(places):
        canvas.slope(x, y, x2, y2)
    for column, row in places:
        canvas.down(column, min(round(row) + 1, home - 1), home - 1, style=QUIET)
    return canvas.lines()
