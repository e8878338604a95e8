"""The field packet: what a crew lead takes into the yard on paper, with room to write in what is measured.

Plan with dimensions and the tape of every rim, what to cut from which board, the checks of the phases ahead with their
blanks, limits and sources, hold points, cautions, what material comes when, and who to sign.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from tracker.book.buyviews import CutListView
from tracker.book.paperviews import Letterhead
from tracker.book.views import CheckState, CheckView, JobView, PhaseState, PhaseView
from tracker.errors import InputError, TrackerError
from tracker.reports.drawing import draw_of
from tracker.reports.drawing_shapes import Drawing, Layer, layers_of
from tracker.reports.page import Tone
from tracker.reports.paper.model import (
    Blank,
    Blanks,
    Block,
    Bullets,
    Caution,
    Checklist,
    Column,
    Document,
    Heading,
    Item,
    KeepTogether,
    KeyValues,
    PageBreak,
    Paragraph,
    Signatures,
    Table,
)
from tracker.reports.planpaper import whole_plan
from tracker.reports.stickpaper import cut_blocks
from tracker.reports.words import carries_words, due_words, on_the_design, past_words, pieces
from tracker.text import listing, near
from tracker.trade.checks.base import Case, LotLine
from tracker.trade.checks.design import DESIGN, NOT_CHECKED
from tracker.trade.checks.limits import limits_of
from tracker.trade.checks.registry import check_for
from tracker.trade.dates import format_day, format_days, format_long_day
from tracker.trade.lengths import Rounding, Unit
from tracker.trade.material import Line
from tracker.trade.readings import Field, Form, Kind
from tracker.trade.takeoff import take_off
from tracker.trade.tapelist import cutting_order, tape_lines, tape_list

DECIDE = "Working checks: local code, the building office and licensed professionals decide."
PLAN_WIDTH, PLAN_HEIGHT = 178.0, 104.0
TAPE_COLUMNS = 3
SPARE_ROWS = 3
"""Empty rows where a person may name what they measure."""
ALL_ROWS = 12
"""Rows that a table shows in full where a sample would do."""
PAPERS = ("locate", "permit")


def packet_phases(view: JobView, only: str = "") -> tuple[PhaseView, ...]:
    """The phases a packet is for: those on site that are not signed off, or the one of that key.

    Raises InputError for a phase the job does not have.
    """
    if only:
        keys = [phase.key for phase in view.phases]
        if only not in keys:
            raise InputError(f"{view.line.code} has no phase {only!r}{near(only, keys)}", f"name {listing(keys)}")
        return (view.phase(only),)
    return tuple(
        phase
        for phase in view.phases
        if phase.state is not PhaseState.SIGNED_OFF
        and (any(check.key != DESIGN for check in phase.checks) or not phase.office)
    )


def packet_document(
    view: JobView, cuts: CutListView, today: date, only: str = "", head: Letterhead | None = None
) -> Document:
    """The packet of a job for the phases ahead, or for one of them."""
    phases = packet_phases(view, only)
    line = view.line
    blocks: list[Block] = [*_front(view, phases, today, head or Letterhead())]
    blocks += _plans(view, phases)
    blocks += [PageBreak(), Heading("What to cut from which board"), *cut_blocks(cuts)]
    blocks += [PageBreak(), Heading("Checks of the phases ahead", beside=f"lengths in {_unit_word(view.spec.unit)}")]
    goods = [line for line in take_off(view.spec) if not line.pieces]
    for phase in phases:
        blocks += _phase(view, phase, today, [line for line in goods if line.phase == phase.key])
    blocks += [
        Heading("Signed"),
        Signatures(("crew lead: measured and written down as found", "received in the office")),
    ]
    return Document(
        title=f"{line.code}  {line.title}",
        subtitle=f"Field packet, {format_long_day(today)}{f', {phases[0].title}' if only else ''}",
        day=today,
        blocks=tuple(blocks),
        foot=f"Packet {line.code}, {today}. {DECIDE}",
    )


def _unit_word(unit: Unit) -> str:
    return "feet and inches" if unit is Unit.INCH else "millimetres"


# -- the first page


def _front(view: JobView, phases: Sequence[PhaseView], today: date, head: Letterhead) -> Iterator[Block]:
    line = view.line
    facts = [("client", line.client), ("site", line.place), ("crew", line.crew)]
    facts += [
        ("begins", format_day(view.start, today)),
        ("handed over" if line.handed_over else "hand-over", format_day(line.planned_end, today)),
    ]
    facts += [("lengths", f"{_unit_word(view.spec.unit)}; {Rounding(view.spec.unit)}")]
    office = ", ".join(text for text in (head.name, head.phone) if text)
    facts.append(("office", office))
    yield KeyValues(tuple((word, text) for word, text in facts if text))
    if view.design_faults:
        yield Paragraph(f"{NOT_CHECKED}: the design fails, and nobody digs for it.", Tone.BAD)
        yield Bullets(view.design_faults)
    elif view.stands_on:
        yield Paragraph(on_the_design(view.stands_on))
    phones = ("phone, client", *(() if head.phone else ("phone, office",)), "phone, supplier", "nearest hospital")
    yield Blanks(tuple(map(Blank, phones)))
    yield Heading("Tickets and permits", 3)
    yield from _tickets(view, today)
    yield Heading("Phases ahead", 3)
    yield Table(
        (Column("phase", weight=0.4), Column("planned"), Column("where it stands"), Column("hold point")),
        tuple(
            (phase.title, format_days(phase.planned_start, phase.planned_end, today), phase.state.value,
             f"no. {phase.hold}" if phase.hold else "")
            for phase in phases
        ),
    )  # fmt: skip
    if any(phase.hold for phase in phases):
        yield Paragraph("A hold point is signed off before anything after it begins.", Tone.QUIET)
    told = [f"{phase.title}: {past_words(past, today)}" for phase in view.phases for past in phase.past]
    if told:
        yield Heading("Gone past", 3)
        yield Bullets(tuple(told))
    # Nobody need have gone past it: a ticket runs out, a check fails, with the work on it already begun.
    if under := [f"{phase.title}: {carries_words(phase.carries)}" for phase in view.phases if phase.carries]:
        yield Heading("Not settled under work that has begun", 3)
        yield Bullets(tuple(under))
    way = list(dict.fromkeys((b.what, b.why) for phase in phases if phase.state is not PhaseState.AHEAD
                             for b in phase.stands_in_way))  # fmt: skip
    if way:
        yield Heading("In the way now", 3)
        yield KeyValues(tuple(way), tuple(Tone.CARE for _ in way))
    yield Heading("Material expected", 3)
    yield _material(view, phases, today)


def _tickets(view: JobView, today: date) -> Iterator[Block]:
    """What was read off the locate ticket and the permit, or a blank to write it in."""
    for check in (check for phase in view.phases for check in phase.checks if check.key in PAPERS):
        last = check.last
        if last is None:
            yield KeyValues(((check.title, "not read yet"),), (Tone.CARE,))
            yield Blanks((Blank("number"), Blank("good until")))
            continue
        labels = {field.key: field.label for field in check.form.fields}
        told = "; ".join(f"{labels.get(name, name)} {text}" for name, text in last.entered)
        stands = "" if check.state is CheckState.PASSED else f" ({check.state}: {check.headline})"
        tone = Tone.PLAIN if check.settled else Tone.BAD
        yield KeyValues(((check.title, f"{told}{stands}; read by {last.who}, {format_day(last.day, today)}"),), (tone,))
    if not any(check.key in PAPERS for phase in view.phases for check in phase.checks):
        yield Paragraph("This job has none in the book. Digging needs a locate ticket everywhere.", Tone.QUIET)


def _material(view: JobView, phases: Sequence[PhaseView], today: date) -> Block:
    rows = [
        (
            pieces(d.quantity, d.unit),
            d.item,
            f"lot {d.lot}",
            d.supplier,
            format_day(d.promised, today) if d.promised else "no day",
        )
        for d in view.deliveries
    ]
    keys = {phase.key for phase in phases}
    rows += [
        (pieces(need.to_buy, need.unit), need.title or need.item, "not ordered", need.supplier, due_words(need, today))
        for need in view.needs
        if need.to_buy and need.phase in keys
    ]
    if not rows:
        return Paragraph("Nothing: everything for these phases is on hand.", Tone.GOOD)
    columns = (
        Column("number", True),
        Column("item", weight=0.3),
        Column("lot"),
        Column("from"),
        Column("promised or due"),
    )
    return Table(columns, tuple(rows))


# -- plans and tapes


def _plans(view: JobView, phases: Sequence[PhaseView]) -> Iterator[Block]:
    shown = _layers(phases)
    for platform in view.spec.platforms:
        yield PageBreak()
        yield Heading(f"Plan: {platform.name}")
        try:
            drawing = draw_of(view, platform)
        except TrackerError as error:  # sizes that no frame can have are a fault of the job, not of its paper
            yield Paragraph(f"no drawing: {error}", Tone.CARE)
            continue
        yield from whole_plan(drawing, PLAN_WIDTH, PLAN_HEIGHT, layers=shown)
        yield from _tapes(drawing)


def _layers(phases: Sequence[PhaseView]) -> frozenset[Layer]:
    """What the plan shows: the layers of the first phase ahead, and the frame, which every tape is laid on."""
    return frozenset({Layer.FRAME, Layer.SUPPORTS} | (layers_of(phases[0].key) if len(phases) == 1 else {Layer.CHECKS}))


def _tapes(drawing: Drawing) -> Iterator[Block]:
    yield Heading("Tape list", 3, beside="every rim, hooked once")
    for tape in tape_list(drawing.frame):
        head, *marks = tape_lines(tape, drawing.unit)
        deep = -(-len(marks) // TAPE_COLUMNS)
        filled = marks + [""] * (deep * TAPE_COLUMNS - len(marks))
        yield Table(
            tuple(Column("", weight=1 / TAPE_COLUMNS) for _ in range(TAPE_COLUMNS)),
            tuple(tuple(filled[at::deep][:TAPE_COLUMNS]) for at in range(deep)),
            caption=head,
        )
    yield Heading("Cut in this order", 3)
    yield Bullets(cutting_order(drawing.frame, drawing.unit))


# -- checks


def _phase(view: JobView, phase: PhaseView, today: date, goods: Sequence[Line]) -> Iterator[Block]:
    """A phase's cautions, the goods it takes (boards are on the cut list) and its checks; its head never stands alone at the
    foot of a page.
    """
    hold = f"hold point {phase.hold}" if phase.hold else ""
    when = format_days(phase.planned_start, phase.planned_end, today)
    items = [_check(view, check, today) for check in phase.checks]
    items = items or [Item(f"{phase.title}: done", blanks=(Blank("day"), Blank("hours")))]
    caution = (Caution(phase.cautions),) if phase.cautions else ()
    head = Heading(phase.title, 3, beside=", ".join(text for text in (hold, when) if text))
    several = len(view.platforms) > 1
    each = [
        f"{pieces(line.quantity, line.unit)}: {line.title}{f' ({line.platform})' if several else ''}" for line in goods
    ]
    hand = (Paragraph(f"To have at hand: {'; '.join(each)}.", Tone.QUIET),) if each else ()
    yield KeepTogether((head, *caution, *hand, Checklist(tuple(items[:1]))))
    if items[1:]:
        yield Checklist(tuple(items[1:]))


def _check(view: JobView, check: CheckView, today: date) -> Item:
    limits = limits_of(check_for(check.key.partition(".")[0], view.spec.unit), _case(view, check, today))
    if check.answer is not None and check.answer.limits:
        limits = check.answer.limits
    good = "; ".join(f"{limit.what}: {limit.text}" for limit in limits)
    sources = dict.fromkeys(f"{limit.source}{f' ({limit.published})' if limit.published else ''}" for limit in limits)
    stands = "" if check.state is CheckState.OPEN else f"{check.state} already: {check.headline}"
    item = Item(
        text=f"{check.title}: {check.asks}",
        limit=f"Good: {good}" if good else "",
        source=f"Source: {'; '.join(sources) or check.source}",
        note=". ".join(text for text in (stands, check.caution) if text),
    )
    return item if check.settled else _with_blanks(item, check.form, view.spec.unit)


def _with_blanks(item: Item, form: Form, unit: Unit) -> Item:
    """The item with a place for every reading of its form: rows of one figure as blanks side by side, others as a table."""
    blanks = tuple(Blank(_label(field), _unit(field, unit)) for field in form.fields)
    columns, rows = _grid(form, unit)
    if len(form.columns) == 1 and form.columns[0].kind is not Kind.LENGTHS:
        each = _unit(form.columns[0], unit)
        return replace(item, blanks=(*blanks, *(Blank(row, each) for row in rows)))
    return replace(item, blanks=blanks, columns=columns, rows=rows)


def _case(view: JobView, check: CheckView, today: date) -> Case:
    platform = next((p for p in view.spec.platforms if p.name == check.platform), view.spec.platforms[0])
    lots = tuple(
        LotLine(
            lot.code,
            lot.item,
            lot.ordered,
            lot.received,
            lot.on_hand,
            lot.use_category,
            lot.dry,
            used=lot.used,
            sent_away=lot.returned + lot.scrapped,
        )
        for lot in view.lots
    )
    return Case(view.spec, platform, today, view.phase(check.phase).planned_start, lots)


def _label(field: Field) -> str:
    return field.label if field.required else f"{field.label} (if any)"


def _unit(field: Field, unit: Unit) -> str:
    """What is written behind a blank."""
    match field.kind:
        case Kind.LENGTH | Kind.SIGNED | Kind.LENGTHS:
            return "in" if unit is Unit.INCH else "mm"
        case Kind.PERCENT:
            return "%"
        case Kind.YESNO:
            return "yes / no"
        case Kind.BY_EYE:
            return "good, and who looked"
        case Kind.CHOICE:
            return " / ".join(field.choices)
        case _:
            return field.unit


def _grid(form: Form, unit: Unit) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The columns and rows of a form's table, with empty rows where a person names them."""
    if not form.columns:
        return (), ()
    spare = max(form.least_rows - len(form.rows), SPARE_ROWS) if form.open_rows else 0
    rows, others = form.rows, [f"other {form.row_word}".rstrip()] * spare
    if form.sample and len(rows) > ALL_ROWS:
        rows, others = rows[form.sample - 1 :: form.sample], [f"{form.row_word}s ___ to ___"] * SPARE_ROWS
    names = (*(f"{form.row_word} {row}" if row.isdigit() else row for row in rows), *others)
    units = [_unit(column, unit) for column in form.columns]
    heads = (f"{column.label}{f', {text}' if text else ''}" for column, text in zip(form.columns, units, strict=True))
    return tuple(heads), names
