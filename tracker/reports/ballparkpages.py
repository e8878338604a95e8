"""The pages and the JSON of a ballpark: what the first phone call is told."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from tracker.book.ballparkviews import Ballpark
from tracker.planning.bounds import Bound, Gaps
from tracker.planning.labour import hours_text
from tracker.planning.spread import Range
from tracker.reports.changepages import days_words
from tracker.reports.cutpages import cut_json, cuts_text, size_words, ways
from tracker.reports.drawing_json import drawing_json
from tracker.reports.drawing_shapes import Drawing
from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.trade.answer import Plain
from tracker.trade.cautions import DEFER
from tracker.trade.checks.design import NOT_CHECKED
from tracker.trade.dates import format_days
from tracker.trade.lengths import Unit
from tracker.trade.money import format_money

ROUND = 1_000
"""Cents a range is told to on the phone: tens of the currency, low ones down, high ones up."""


def head_page(found: Ballpark) -> Page:
    """The answer in a few lines: what it is, what carries it and why, hours, days, cost and price."""
    proposal, minutes = found.proposal, found.minutes
    assert proposal.first_day is not None and proposal.last_day is not None
    (frame,) = proposal.frames
    return (
        Line(f"{proposal.title}: a ballpark, not a quote", Tone.TITLE),
        *(Line(text, indent=2) for text in frame.facts),
        Line(f"carried by {found.support.text}: {found.support.why}", indent=2),
        *([Line(f"{NOT_CHECKED}: the design fails", Tone.BAD, indent=2)] if proposal.against else []),
        *(Line(text, Tone.CARE, indent=2) for text in proposal.against),
        BLANK,
        Line(f"price {_money(found.price, found.made.price_bound)}{_taxed(found)}", Tone.TITLE, indent=2),
        Line(f"cost {_money(found.cost, found.made.gaps.cost)}", indent=2),
        *(Line(text, Tone.CARE, indent=2) for text in _left_out(found.made.gaps)),
        Line(f"{hours_text(minutes.low)} to {hours_text(minutes.high)} of one person, estimated {hours_text(minutes.estimated)}; "
             f"{days_words(proposal.crew_days_tenths)}, {format_days(proposal.first_day, proposal.last_day, proposal.today)}", indent=2),
        Line(f"{found.spread.words}; material 5 % less to 15 % more: a plain assumption", Tone.QUIET, indent=2),
    )  # fmt: skip


def rest_page(found: Ballpark, unit: Unit) -> Page:
    """Material with cuts, what to ask, what was assumed, what can hurt."""
    proposal = found.proposal
    rows = tuple(
        (str(line.quantity), line.unit, line.title, "no price" if line.cost_cents is None else format_money(line.cost_cents))
        for line in proposal.material
    )  # fmt: skip
    out: list[Line | Grid] = [Line("MATERIAL", Tone.TITLE)]
    out.append(Grid(("", "", "item", "cost"), rows, frozenset({0, 3}), indent=2))
    total = Gaps(proposal.unpriced).cost.sum_of(proposal.cost_cents)
    out += [Line(f"total at today's prices: {total}", Tone.TITLE, indent=2), BLANK, Line("CUTS", Tone.TITLE)]
    for size in found.cuts.sizes:
        out.append(Line(f"{size.key}: {size_words(size, unit)}", indent=2))
        out += [
            Line(f"{way.number} x {way.stick.stock.name}: {cuts_text(way, unit)}", Tone.QUIET, indent=4)
            for way in ways(size.plan.sticks, size.uses)
        ]
    out += [BLANK, Line("ASK THE CALLER", Tone.TITLE), *(Line(text, indent=2) for text in found.ask)]
    out += [BLANK, Line("ASK THE PERMIT OFFICE", Tone.TITLE), Line(proposal.permit_headline, Tone.CARE, indent=2)]
    out += [Line(text, indent=2) for text in proposal.permit]
    out += [BLANK, Line("ASSUMED, NOBODY SAID IT", Tone.TITLE)]
    out.append(Grid((), tuple((one.label, one.text, one.why) for one in found.assumed), indent=2))
    out += [BLANK, Line("CAUTIONS", Tone.TITLE), *(Line(text, Tone.CARE, indent=2) for text in proposal.cautions)]
    return (*out, Line(f"{DEFER}.", Tone.QUIET, indent=2))


def _money(found: Range, bound: Bound) -> str:
    """A range as it is told: ``$1,900 to $2,600``; without an upper end where something in it has no price."""
    low, high = (
        format_money(cents // ROUND * ROUND).removesuffix(".00") for cents in (found.low, found.high + ROUND - 1)
    )
    if bound is not Bound.EXACT:
        return f"{bound.put(low)}, no upper end" if found.estimated else "not priced"
    return f"{low} to {high}, estimated {format_money(found.estimated)}"


def _taxed(found: Ballpark) -> str:
    terms = found.made.terms
    return f", and sales tax, {terms.tax_words}" if terms.tax_price or terms.tax_material else ", no sales tax set"


def _left_out(gaps: Gaps) -> Iterable[str]:
    if gaps:
        yield gaps.named
        yield "no upper end while something has no price: `deckjobs prices FILE` takes a price list"


def ballpark_json(found: Ballpark, drawing: Drawing, job: str = "") -> dict[str, Plain]:
    """A ballpark as plain values; ``job`` is the code it was taken under, empty when it was not."""
    proposal, made, spread = found.proposal, found.made, found.spread
    assert proposal.first_day is not None and proposal.last_day is not None
    return {
        "title": proposal.title,
        "job": job or None,
        "frame": [text for frame in proposal.frames for text in frame.facts],
        "support": {"support": found.support.text, "why": found.support.why},
        "against": list(proposal.against),
        "plan": drawing_json(drawing),
        "material": [
            {"item": line.item, "title": line.title, "quantity": line.quantity, "unit": line.unit, "phase": line.phase,
             "cost_cents": line.cost_cents}
            for line in proposal.material
        ],
        "material_cents": proposal.cost_cents,
        "material_bound": Gaps(proposal.unpriced).cost.value,
        "cuts": cut_json(found.cuts, {}),
        "minutes": _range(found.minutes),
        "crew_days": proposal.crew_days_tenths / 10,
        "first_day": proposal.first_day.isoformat(),
        "last_day": proposal.last_day.isoformat(),
        "cost_cents": _range(found.cost, made.gaps.cost),
        "cost_bound": made.gaps.cost.value,
        "price_cents": _range(found.price, made.price_bound),
        "price_bound": made.price_bound.value,
        "sales_tax": made.terms.tax_words,
        "without_price": list(made.unpriced),
        "spread": {"jobs": spread.jobs, "low": _share(spread.low), "high": _share(spread.high), "words": spread.words},
        "ask": list(found.ask),
        "permit": {"headline": proposal.permit_headline, "ask": list(proposal.permit)},
        "assumed": [{"label": one.label, "text": one.text, "why": one.why} for one in found.assumed],
        "cautions": list(proposal.cautions),
    }  # fmt: skip


def _range(found: Range, bound: Bound = Bound.EXACT) -> Plain:
    """A range; ``high`` is null where something in it has no price, since it has no upper end then."""
    return {"estimated": found.estimated, "low": found.low, "high": found.high if bound is Bound.EXACT else None}


def _share(share: Fraction) -> float:
    return round(float(share), 4)
