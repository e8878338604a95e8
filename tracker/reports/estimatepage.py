"""What a job should cost and be sold for: the options side by side, the lines by phase, the working."""

from __future__ import annotations

from tracker.book.moneyviews import PricedJob, PricedOption
from tracker.planning.estimate import CAUTION, Estimate, EstimateLine, Kind
from tracker.planning.labour import hours_text
from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.text import listing
from tracker.trade.answer import Plain
from tracker.trade.money import format_money, percent_text

KIND_WORDS = {Kind.MATERIAL: "material", Kind.LABOUR: "labour", Kind.EQUIPMENT: "equipment"}


def price_page(priced: PricedJob, *, why: bool = False) -> Page:
    """The options side by side; with ``why`` every line and the working of each."""
    out: list[Line | Grid] = [Line(f"Price of {priced.job} {priced.title}", Tone.TITLE), side_by_side(priced.options)]
    for found in priced.options:
        label, made = found.option.label, found.estimate
        if made.unpriced:
            out += [Line(f"{label}: without a price, so in no figure: {listing(made.unpriced, 'and')}", Tone.CARE)]
        if found.same:
            out += [Line(found.no_change, Tone.CARE)]
        if made.profit_cents < 0:
            out += [Line(f"{label}: {format_money(-made.profit_cents)} under its cost", Tone.BAD)]
    for found in priced.options:
        out += [BLANK, Line(f"BY PHASE: {found.option.label}", Tone.TITLE), _by_phase(found)]
        if why:
            out += [BLANK, *_lines(found)]
            out += [Line(text, indent=2) for text in found.estimate.working]
    if not why:
        out += [BLANK, Line("--why shows every line and how the price came about.", Tone.QUIET)]
    return (*out, Line(CAUTION, Tone.CARE))


def side_by_side(options: tuple[PricedOption, ...]) -> Grid:
    """One column an option: cost, overhead, profit, price, tax, what the client pays, and the difference to the first."""
    made = [found.estimate for found in options]
    rows: list[tuple[str, ...]] = [
        (KIND_WORDS[kind], *(format_money(one.cost_of(kind)) for one in made)) for kind in Kind
    ]
    rows += [
        ("hours", *(hours_text(one.minutes_of()) for one in made)),
        ("overhead", *(format_money(one.overhead_cents) for one in made)),
        ("profit", *(format_money(one.profit_cents) for one in made)),
        ("margin", *(percent_text(one.margin_tenths) for one in made)),
        ("price", *(format_money(one.price_cents) for one in made)),
        ("sales tax", *(format_money(one.tax_cents) for one in made)),
        ("client pays", *(format_money(one.total_cents) for one in made)),
    ]
    tones = [Tone.PLAIN] * (len(rows) - 1) + [Tone.TITLE]
    if len(made) > 1:
        first = made[0].total_cents
        rows.append(("difference", "", *(signed_money(one.total_cents - first) for one in made[1:])))
        tones.append(Tone.PLAIN)
    header = ("", *(found.option.label for found in options))
    return Grid(header, tuple(rows), frozenset(range(1, len(header))), indent=2, tones=tuple(tones))


def signed_money(cents: int) -> str:
    """An amount with its sign: ``+$12.00``, ``-$3.50``."""
    return f"{'+' if cents > 0 else ''}{format_money(cents)}"


def _by_phase(found: PricedOption) -> Grid:
    made = found.estimate
    sold = made.price_by_phase()
    order = [key for key in found.titles if key in sold] + [key for key in sold if key not in found.titles]
    rows = []
    for key in order:
        costs = [made.cost_of(kind, key) for kind in Kind]
        minutes = hours_text(made.minutes_of(key)) if made.minutes_of(key) else ""
        rows.append(
            (
                found.titles.get(key, key or "no phase"),
                minutes,
                *(format_money(c) for c in costs),
                format_money(sold[key]),
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
        "options": [
            {
                "label": found.option.label,
                "changes": dict(found.option.changes),
                **estimate_plain(found.estimate),
                "price_by_phase_cents": dict(found.estimate.price_by_phase()),
            }
            for found in priced.options
        ],
        "caution": CAUTION,
    }


def estimate_plain(made: Estimate) -> dict[str, Plain]:
    """An estimate as plain values, whole cents and whole minutes."""
    return {
        "cost_cents": made.cost_cents,
        "material_cents": made.cost_of(Kind.MATERIAL),
        "labour_cents": made.cost_of(Kind.LABOUR),
        "equipment_cents": made.cost_of(Kind.EQUIPMENT),
        "minutes": made.minutes_of(),
        "overhead_cents": made.overhead_cents,
        "profit_cents": made.profit_cents,
        "price_cents": made.price_cents,
        "tax_cents": made.tax_cents,
        "total_cents": made.total_cents,
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
