"""The checks of the frame's boards before they go in: uncut lengths and crowns."""

from __future__ import annotations

import itertools
from collections.abc import Mapping

from tracker.errors import InputError
from tracker.text import count, listing
from tracker.trade.answer import Answer, Plain
from tracker.trade.checks.base import Case, Check, incomplete, named, verdict
from tracker.trade.checks.sample import sample_every, sample_fields, sample_limits, sample_of
from tracker.trade.framing import standing_lines
from tracker.trade.lengths import INCH, MM, Unit, format_length, format_small, inches
from tracker.trade.plausible import near_plan
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.rules import COMMON
from tracker.trade.spec import Platform

MOST_CROWN = 3 * INCH


def marks(platform: Platform) -> tuple[int, ...]:
    """Return the centre lines of the platform's joists from its left end, in nm; doubled joists count as one."""
    return tuple(line.centre_nm for line in standing_lines(platform))


def joist_rows(platform: Platform) -> tuple[str, ...]:
    """Return the joists' row labels, 1 to n from the left."""
    return tuple(str(line.number) for line in standing_lines(platform))


def per_row(values: Mapping[str, int]) -> dict[str, Plain]:
    """Return a column of lengths in plain inches."""
    return {label: inches(nm) for label, nm in values.items()}


def _little(unit: Unit) -> int:
    """What a board is out by, for an example."""
    return INCH // 8 if unit is Unit.INCH else 3 * MM


def _stock_rows(platform: Platform) -> tuple[str, ...]:
    return ("R1", "R2", *(f"J{row}" for row in joist_rows(platform)))


def _stock_form(case: Case) -> Form:
    rows = _stock_rows(case.platform)
    return Form(
        columns=(
            Field(
                "length",
                "Length",
                Kind.LENGTH,
                example=format_length(case.platform.width_nm + _little(case.job.unit), case.job.unit),
                help="R for a rim, J for a joist; spares may follow",
            ),
        ),
        rows=rows,
        row_word="board",
        open_rows=True,
        least_rows=len(rows),
    )


def _closest(lengths: Mapping[str, int], wanted: int) -> list[str]:
    """The ``wanted`` boards nearest each other in length, in order of length."""
    order = sorted(lengths, key=lambda name: lengths[name])
    starts = range(len(order) - wanted + 1)
    first = min(starts, key=lambda k: lengths[order[k + wanted - 1]] - lengths[order[k]])
    return order[first : first + wanted]


def _judge_stock(case: Case, readings: Readings) -> Answer:
    unit, platform, rules = case.job.unit, case.platform, case.rules
    lengths = readings.column("length")
    groups = {
        "rim": (platform.rim_stock_nm, 2, {n: v for n, v in lengths.items() if n.upper().startswith("R")}),
        "joist": (
            platform.joist_stock_nm,
            len(marks(platform)),
            {n: v for n, v in lengths.items() if not n.upper().startswith("R")},
        ),
    }
    for word, (stock, _, group) in groups.items():
        for name, nm in group.items():
            near_plan(nm, stock, f"{word} {name}", unit, share=0.25)
    lacking = [f"{count(need - len(group), word)}" for word, (_, need, group) in groups.items() if len(group) < need]
    if lacking:
        return incomplete(f"the length of {listing(lacking, 'and')} more", source=COMMON)
    spread_limit, over_limit = rules.figure("stock_length_spread"), rules.figure("stock_length_over")
    answer: dict[str, Plain] = {}
    working: list[str] = []
    moves: list[str] = []
    uncut: list[str] = []
    for word, (stock, need, group) in groups.items():
        sound = {n: v for n, v in group.items() if stock - spread_limit <= v <= stock + over_limit}
        for name in (n for n in group if n not in sound):
            side = "short" if group[name] < stock else "over"
            moves.append(
                f"set {name} aside: {format_small(abs(group[name] - stock), unit)} {side} of "
                f"{format_length(stock, unit)}"
            )
        answer[f"{word}_spread_in"] = None
        if len(sound) < need:
            moves.append(f"get {count(need - len(sound), word)} more of {format_length(stock, unit)} stock")
            working.append(f"{word}s: {len(sound)} of {len(group)} fit, {need} needed")
            continue
        use = _closest(sound, need)
        low, high = sound[use[0]], sound[use[-1]]
        answer[f"{word}_spread_in"] = inches(high - low)
        working.append(
            f"{word}s: closest {need} of {len(group)}: {format_length(high, unit)} - "
            f"{format_length(low, unit)} = "
            f"{format_small(high - low, unit)} spread"
        )
        fits = [n for n in use if sound[n] - low <= spread_limit]
        uncut += fits
        if long := [n for n in use if n not in fits]:
            moves.append(f"trim {named(long)} to {format_length(low, unit)} or swap for boards that match")
    all_needed = sum(need for _, need, _ in groups.values())
    no_saw = len(uncut) == all_needed
    answer |= {"uncut": list(uncut), "uncut_count": len(uncut), "needed": all_needed, "no_saw": no_saw}
    return verdict(
        no_saw,
        f"the frame goes together without a saw: {all_needed} boards match"
        if no_saw
        else f"{len(uncut)} of {all_needed} boards can go in uncut",
        inputs={"lengths_in": per_row(lengths)},
        answer=answer,
        working=working,
        source=COMMON,
        moves=moves,
        limits=(rules.limit("stock_length_spread", unit), rules.limit("stock_length_over", unit)),
    )


def _crown_form(case: Case) -> Form:
    rows = joist_rows(case.platform)
    return Form(
        fields=sample_fields(case.rules, "joist"),
        columns=(
            Field(
                "crown",
                "Crown",
                Kind.SIGNED,
                example=format_small(_little(case.job.unit), case.job.unit),
                help="+ crown up as it lies, - crown down; 0 for straight",
            ),
        ),
        rows=rows,
        row_word="joist",
        open_rows=True,
        least_rows=len(rows),
        sample=sample_every(case.rules),
    )


def crown_order(crowns: Mapping[str, int]) -> tuple[str, ...]:
    """Return joists in the order to lay them: the two straightest at the edges, each next to the ones most
    like it.

    Climbing by every second joist to the middle and back down keeps the largest step between neighbors as
    small as any order with the two straightest outside can.
    """
    ranked = sorted(crowns, key=lambda name: abs(crowns[name]))
    return (*ranked[0::2], *reversed(ranked[1::2]))


def _judge_crown(case: Case, readings: Readings) -> Answer:
    unit, rules = case.job.unit, case.rules
    crowns = readings.column("crown")
    for name, nm in crowns.items():
        if abs(nm) > MOST_CROWN:
            raise InputError(
                f"joist {name}: a crown of {format_length(nm, unit)} is no joist",
                "sight it again; write millimetres with mm, like 3mm" if unit is Unit.INCH else "sight it again",
            )
    rows = joist_rows(case.platform)
    sample = sample_of(case, readings, rows, crowns)
    if (lacks := sample.lacks("the crown of joist")) is not None:
        return lacks
    most, step = rules.figure("crown_most"), rules.figure("crown_neighbours")
    flip = [name for name, nm in crowns.items() if nm < 0]
    cull = [name for name, nm in crowns.items() if abs(nm) > most]
    good = {name: nm for name, nm in crowns.items() if name not in cull}
    # A joist that was culled leaves its neighbors side by side; one that was not read does not.
    placed = [name for name in rows if name not in cull]
    steps = {(a, b): abs(abs(good[a]) - abs(good[b])) for a, b in itertools.pairwise(placed) if a in good and b in good}
    uneven = [pair for pair, nm in steps.items() if nm > step]
    straightest = sorted(good, key=lambda name: abs(good[name]))[: len(rows)]
    order = crown_order({name: good[name] for name in straightest})
    edges = [order[0], order[-1]] if len(order) > 1 else []
    worst = max(crowns, key=lambda name: abs(crowns[name]))
    moves: list[str] = []
    if flip:
        moves.append(f"turn {named(flip)} over: crown up")
    if cull:
        moves.append(f"cull {named(cull)} or cut for blocking: crown over {rules.text('crown_most', unit)}")
        if (lack := len(rows) - len(good) - len(sample.by_eye)) > 0:
            moves.append(f"find {count(lack, 'straighter joist')}")
    if uneven and not sample.by_eye:
        moves.append(f"lay them in this order, left to right: {' '.join(order)}")
    if (uneven or cull) and edges and not sample.by_eye:
        moves.append(f"the straightest two, {edges[0]} and {edges[1]}, go to the edges")
    passed = not (flip or uneven or set(cull) & set(rows))
    moves += () if passed else sample.moves
    worst_step = max(steps.values(), default=0)
    return verdict(
        passed,
        sample.headline(
            f"{count(len(crowns), 'joist')} sighted, all crowns up, worst {format_small(abs(crowns[worst]), unit)}"
            if passed
            else "; ".join(
                text
                for text, found in (
                    (f"crown down: {named(flip)}", flip),
                    (f"over the limit: {named(cull)}", cull),
                    (f"{format_small(worst_step, unit)} between neighbors", uneven),
                )
                if found
            )
        ),
        inputs={"crowns_in": per_row(crowns)},
        answer={
            "sighted": len(crowns),
            "up": len(crowns) - len(flip),
            "worst_in": inches(abs(crowns[worst])),
            "worst_joist": worst,
            "neighbours_in": inches(worst_step) if steps or not sample.by_eye else None,
            "turn_over": list(flip),
            "cull": list(cull),
            "order": [] if sample.by_eye else list(order),
            "edges": [] if sample.by_eye else list(edges),
            **sample.answer,
        },
        working=(
            f"sighted {len(crowns)} of {len(rows)}: {len(crowns) - len(flip)} crown up or straight, {len(flip)} down",
            f"worst crown: joist {worst}, {format_small(abs(crowns[worst]), unit)}",
            f"largest step between neighbors, crowns up: {format_small(worst_step, unit)}"
            + (f", joists {uneven[0][0]} and {uneven[0][1]}" if uneven else "")
            if steps or not sample.by_eye
            else "no two joists side by side were read: the step between them is judged by eye",
            *sample.working,
        ),
        source=COMMON,
        moves=moves,
        limits=(
            rules.limit("crown_most", unit),
            rules.limit("crown_neighbours", unit),
            *sample_limits(rules, unit),
        ),
    )


STOCK_LENGTHS = Check(
    key="stock-lengths",
    title="Stock lengths",
    asks="the measured length of every rim and joist board that goes in uncut",
    source=COMMON,
    form=_stock_form,
    judge=_judge_stock,
    applies=lambda job, platform: platform.uncut,
)

CROWN = Check(
    key="crown",
    title="Crowns up",
    asks="the crown of every joist, sighted along its edge: + up as it lies, - down; or the worst and a sample, the rest by eye",
    source=COMMON,
    form=_crown_form,
    judge=_judge_crown,
)
