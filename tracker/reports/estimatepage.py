"""What a job should cost and be sold for: the options side by side, the lines by phase, the working."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tracker.book.moneyviews import PricedJob, PricedOption
from tracker.planning.bounds import NO_GAPS, Bound, Gaps
from tracker.planning.estimate import CAUTION, Estimate, EstimateLine, Kind, difference_bound
from tracker.planning.labour import hours_text
from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.reports.words import on_the_design
from tracker.text import clean
from tracker.trade.answer import Plain
from tracker.trade.checks.design import NOT_CHECKED
from tracker.trade.money import format_money, percent_text

KIND_WORDS = {Kind.MATERIAL: "material", Kind.LABOUR: "labour", Kind.EQUIPMENT: "equipment"}


def price_page(priced: PricedJob, *, why: bool = False) -> Page:
    """The options side by side; with ``why`` every line and the working of each."""
    out: list[Line | Grid] = [Line(f"Price of {priced.job} {priced.title}", Tone.TITLE), side_by_side(priced.options)]
    out += design_lines(((found.option.label, priced.faults_of(found)) for found in priced.options), priced.stands_on)
    for found in priced.options:
        label, made = found.option.label, found.estimate
        if made.gaps:
            out += [Line(f"{label}: {made.gaps.named}", Tone.CARE)]
        if found.same:
            out += [Line(found.no_change, Tone.CARE)]
        if made.profit_cents < 0:
            under = made.gaps.at_least(-made.profit_cents)
            out += [Line(f"{label}: {under} under its cost", Tone.BAD)]
    for found in priced.options:
        out += [BLANK, Line(f"BY PHASE: {found.option.label}", Tone.TITLE), _by_phase(found)]
        if why:
            out += [BLANK, *_lines(found)]
            out += [Line(text, indent=2) for text in found.estimate.working]
    if priced.has_lots:
        said = f"The whole job as if nothing were bought yet; `deckjobs cost {priced.job}` counts what it has first."
        out += [BLANK, Line(said, Tone.QUIET)]
    if not why:
        out += [BLANK, Line("--why shows every line and how the price came about.", Tone.QUIET)]
    return (*out, Line(CAUTION, Tone.CARE))


def design_lines(faults: Iterable[tuple[str, Sequence[str]]], stands_on: str, indent: int = 0) -> list[Line]:
    """What of each option's design fails, by the option's label, and on whose design the others stand."""
    failed = [
        Line(f"{NOT_CHECKED}, {clean(label)}: {clean(fault)}", Tone.BAD, indent)
        for label, of_option in faults
        for fault in of_option
    ]
    return [*failed, *([Line(on_the_design(stands_on), indent=indent)] if stands_on else [])]


def side_by_side(options: tuple[PricedOption, ...]) -> Grid:
    """One column an option: cost, overhead, profit, price, tax, what the client pays, and the difference to the first."""
    made = [found.estimate for found in options]
    rows: list[tuple[str, ...]] = [
        (KIND_WORDS[kind], *(_bound_of(one, kind).sum_of(one.cost_of(kind)) for one in made)) for kind in Kind
    ]
    rows += [
        ("hours", *(hours_text(one.minutes_of()) for one in made)),
        ("overhead", *(one.gaps.cost.money(one.overhead_cents) for one in made)),
        ("profit", *(one.gaps.profit.money(one.profit_cents) for one in made)),
        ("margin", *(one.gaps.profit.put(percent_text(one.margin_tenths)) for one in made)),
        ("price", *(one.price_bound.money(one.price_cents) for one in made)),
        ("sales tax", *(one.tax_bound.money(one.tax_cents) for one in made)),
        ("client pays", *(one.total_bound.money(one.total_cents) for one in made)),
    ]
    tones = [Tone.PLAIN] * (len(rows) - 1) + [Tone.TITLE]
    if any(one.gaps for one in made):
        rows.append(("left out", *(one.gaps.words or "nothing" for one in made)))
        tones.append(Tone.CARE)
    if len(made) > 1:
        rows.append(("difference", "", *(difference_words(one, made[0]) for one in made[1:])))
        tones.append(Tone.PLAIN)
    header = ("", *(found.option.label for found in options))
    return Grid(header, tuple(rows), frozenset(range(1, len(header))), indent=2, tones=tuple(tones))


def _bound_of(made: Estimate, kind: Kind) -> Bound:
    """What the cost of a kind is, given what is left out of it."""
    found = {Kind.MATERIAL: made.goods_gaps, Kind.LABOUR: made.labour_gaps(), Kind.EQUIPMENT: NO_GAPS}
    return found[kind].cost


def difference_words(one: Estimate, first: Estimate) -> str:
    """What an option costs the client more than the first; never cheaper for a missing price."""
    return difference_bound(one, first).put(signed_money(one.total_cents - first.total_cents))


def signed_money(cents: int) -> str:
    """An amount with its sign: ``+$12.00``, ``-$3.50``."""
    return f"{'+' if cents > 0 else ''}{format_money(cents)}"


def _by_phase(found: PricedOption) -> Grid:
    made = found.estimate
    sold = made.price_by_phase()
    order = [key for key in found.titles if key in sold] + [key for key in sold if key not in found.titles]
    rows = []
    for key in order:
        bounds = {Kind.MATERIAL: Gaps(made.gaps_of(key).goods).cost, Kind.LABOUR: made.labour_gaps(key).cost}
        costs = [bounds.get(kind, Bound.EXACT).sum_of(made.cost_of(kind, key)) for kind in Kind]
        minutes = hours_text(made.minutes_of(key)) if made.minutes_of(key) else ""
        rows.append(
            (
                found.titles.get(key, key or "no phase"),
                minutes,
                *costs,
                made.share_bound(key).money(sold[key]),
            )
        )
    header = ("", "hours", "material", "labour", "equipment", "price")
    return Grid(header, tuple(rows), frozenset(range(1, 6)), indent=2)


def _lines(found: PricedOption) -> list[Line]:
    return [
        Line(f"{_title(line, found)}: {line.working} = {format_money(line.cents)}", indent=2)
        for line in found.estimate.lines
    ]


def _title(line: EstimateLine, found: PricedOption) -> str:
    phase = found.titles.get(line.phase, line.phase)
    return line.title if line.title == phase or not phase else f"{line.title} ({phase.lower()})"


def price_json(priced: PricedJob) -> dict[str, Plain]:
    """The priced options as plain values."""
    return {
        "job": priced.job,
        "title": priced.title,
        "has_lots": priced.has_lots,
        "stands_on": priced.stands_on or None,
        "options": [
            {
                "label": found.option.label,
                "changes": dict(found.option.changes),
                "design_faults": list(priced.faults_of(found)),
                **estimate_plain(found.estimate),
                "price_by_phase_cents": dict(found.estimate.price_by_phase()),
                "price_by_phase_bounds": {
                    key: found.estimate.share_bound(key).value for key in found.estimate.price_by_phase()
                },
                "difference_cents": found.estimate.total_cents - priced.options[0].estimate.total_cents,
                "difference_bound": (
                    difference_bound(found.estimate, priced.options[0].estimate) if number else Bound.EXACT
                ).value,
            }
            for number, found in enumerate(priced.options)
        ],
        "caution": CAUTION,
    }


def estimate_plain(made: Estimate) -> dict[str, Plain]:
    """An estimate as plain values, whole cents and whole minutes."""
    return {
        "cost_cents": made.cost_cents,
        "cost_bound": made.gaps.cost.value,
        "material_cents": made.cost_of(Kind.MATERIAL),
        "material_bound": _bound_of(made, Kind.MATERIAL).value,
        "labour_cents": made.cost_of(Kind.LABOUR),
        "labour_bound": _bound_of(made, Kind.LABOUR).value,
        "equipment_cents": made.cost_of(Kind.EQUIPMENT),
        "minutes": made.minutes_of(),
        "overhead_cents": made.overhead_cents,
        "overhead_bound": made.gaps.cost.value,
        "profit_cents": made.profit_cents,
        "profit_bound": made.gaps.profit.value,
        "margin_tenths_of_percent": made.margin_tenths,
        "margin_bound": made.gaps.profit.value,
        "price_cents": made.price_cents,
        "price_bound": made.price_bound.value,
        "tax_cents": made.tax_cents,
        "tax_bound": made.tax_bound.value,
        "total_cents": made.total_cents,
        "total_bound": made.total_bound.value,
        "without_price": list(made.unpriced),
        "lines": [
            {
                "kind": line.kind.value, "phase": line.phase, "title": line.title, "cents": line.cents,
                "minutes": line.minutes, "working": line.working,
            }
            for line in made.lines
        ],
        "working": list(made.working),
    }  # fmt: skip
