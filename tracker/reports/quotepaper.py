"""A quote for the client, on paper: what is built, the plan, the options, what is in the price, draws, tax, signatures.

It is made of a ``QuotePaper``, which has no cost, no hours and no margin in it. What a price takes in and leaves out is
common practice, worded by us; the adopted local code and the permit office decide over all of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from tracker.book.paperviews import PaperOption, QuotePaper
from tracker.errors import TrackerError
from tracker.planning.bounds import Bound, Gaps, safe_difference
from tracker.planning.draws import DEPOSIT, Share
from tracker.planning.estimate import CAUTION as TAX_CAUTION
from tracker.planning.options import AS_DRAWN
from tracker.reports.builtwords import area_words, built_words
from tracker.reports.drawing import draw_platform
from tracker.reports.drawing_shapes import Layer
from tracker.reports.drawing_svg import plan_svg
from tracker.reports.estimatepage import signed_money
from tracker.reports.letterheads import parties
from tracker.reports.page import Tone
from tracker.reports.paper.model import (
    Beside,
    Blank,
    Blanks,
    Block,
    Bullets,
    Caution,
    Column,
    Document,
    Figure,
    Heading,
    KeepTogether,
    KeyValues,
    Paragraph,
    Signatures,
    Table,
)
from tracker.reports.planpaper import MOST_PLANS
from tracker.reports.words import on_the_design
from tracker.text import clean, count, listing
from tracker.trade.checks.design import NOT_CHECKED
from tracker.trade.dates import format_long_day
from tracker.trade.phases import BY_KEY as PHASES
from tracker.trade.spec import Finish, JobSpec

DECIDE = "The adopted local code, the permit office and licensed professionals decide."
DRAFT = "DRAFT"
PLAN_WIDTH, PLAN_HEIGHT = 178.0, 88.0
MOST_BESIDE = 30
"""Points of what is in the price up to which they stand beside what is not."""
MOST_AMOUNTS = 3
"""Options whose draws are given in money; of more the shares are given alone."""

_IN_THE_PRICE: Mapping[str, str] = {
    "visit": "the visit to your yard and the measuring",
    "permit": "drawings and papers for the permit",
    "locate": "the utility locate call before anybody digs",
    "delivery": "all material, delivered and checked",
    "old-deck": "the old deck taken away",
    "drainage": "the drain, with its pipe and stone",
    "strip": "sod stripped, ground graded under the deck",
    "dig": "footings dug, open for the inspector",
    "pads": "ground cloth, crushed stone and blocks",
    "pour": "footings poured",
    "posts": "the deck's supports set and levelled",
    "ledger": "the ledger on the house, with flashing",
    "frame": "the frame, squared and levelled",
    "boards": "deck boards with their screws",
    "guards": "stairs and guard as listed above",
    "electric": "room for the electrician beside our work",
    "site-close": "the yard cleared and swept for nails",
    "final": "a final walk-through with you",
    "finish": "the finish, once the boards are dry enough",
    "hand-over": "as-built record of every measurement, care sheet",
    "care": "a care visit in the first year",
}
"""What the phases of a job give the client, by phase (common practice)."""

_CHANGES: Mapping[str, str] = {
    "board": "boards", "kind": "boards of", "species": "boards of", "lay": "boards laid", "gap": "gap", "use": "boards treated to",
    "angle": "boards at degrees", "joists": "joists", "spacing": "joists on centre", "size": "size", "height": "height",
    "finish": "finish",
}  # fmt: skip


def quote_document(paper: QuotePaper) -> Document:
    """The quote as a document; the same paper always gives the same one."""
    title = f"{DRAFT} of a quote" if paper.is_draft else f"Quote {paper.number}"
    word = f"{DRAFT}, not an offer. " if paper.is_draft else ""
    if paper.not_checked:
        title, word = f"{NOT_CHECKED}: {title[:1].lower()}{title[1:]}", f"{NOT_CHECKED}. {word}"
    if paper.stands_on:
        word += f"{on_the_design(paper.stands_on)} "
    name = DRAFT if paper.is_draft else f"quote {paper.number}"
    return Document(
        title=title,
        subtitle=f"{paper.title}, {format_long_day(paper.day)}",
        day=paper.day,
        blocks=tuple(_blocks(paper)),
        foot=f"{word}Job {paper.job}, {name}, {paper.day}. {DECIDE}",
    )


def _blocks(paper: QuotePaper) -> Iterator[Block]:
    first = paper.options[0]
    if paper.is_draft:
        yield Paragraph(f"{DRAFT}: not recorded, not an offer. Prices are those of today.", Tone.CARE)
        if paper.without_price:
            yield Paragraph(f"{Gaps(paper.without_price).named}.", Tone.BAD)
        yield Paragraph(TAX_CAUTION, Tone.CARE)
    if paper.not_checked:
        yield Paragraph(f"{NOT_CHECKED}: the design fails, and nobody may accept this.", Tone.BAD)
        several = len(paper.options) > 1
        yield Bullets(tuple(
            f"{option.label}: {fault}" if several else fault for option in paper.options for fault in option.faults
        ))  # fmt: skip
    if paper.stands_on:
        yield Paragraph(on_the_design(paper.stands_on))
    yield parties(paper.letterhead, paper.job, paper.client, paper.place, paper.who)
    yield Heading("What we build", beside=area_words(first.spec))
    for name, rows in built_words(first.spec):
        if name:
            yield Heading(name, 3)
        yield KeyValues(rows)
    yield from _plans(first.spec)
    yield Heading("Price", beside=f"stands until {format_long_day(paper.stands_until)}")
    yield _prices(paper)
    if not paper.is_draft:
        yield from _not_priced(paper)
    yield Paragraph("; ".join(_tax_words(paper)) + ".", Tone.QUIET)
    yield from _in_and_out(first)
    yield KeepTogether((Heading("Draws"), _draws(paper), Paragraph(
        "A phase is signed off when every check of it is measured, and passed or cleared in writing.",
        Tone.QUIET,
    )))  # fmt: skip
    yield (
        Caution((
            f"Sizes are working figures. {DECIDE} What they ask for beyond this is priced and agreed first.",
            "Nobody digs before the utility lines are marked.",
            "A change to the work is written down, priced and signed before it is built (a change order).",
        ), "code, permits and changes")
    )  # fmt: skip
    yield KeepTogether(tuple(_signing(paper)))


def _plans(spec: JobSpec) -> Iterator[Block]:
    drawn = spec.platforms[:MOST_PLANS]
    height = PLAN_HEIGHT if len(drawn) == 1 else PLAN_HEIGHT * 0.7
    for platform in drawn:
        try:
            drawing = draw_platform(spec, platform)
        except TrackerError as error:  # sizes that no frame can have are a fault of the job, not of its paper
            yield Paragraph(f"no plan of {platform.name}: {error}", Tone.CARE)
            continue
        layers = frozenset({Layer.BOARDS})
        where = "the house" if drawing.attached else "the back"
        alt = f"Plan of {platform.name}. {'. '.join(drawing.facts)}."
        caption = f"{platform.name} seen from above, {where} at the top"
        yield Figure(plan_svg(drawing, PLAN_WIDTH, height, layers=layers), alt, caption, height)
    if len(spec.platforms) > len(drawn):
        names = [platform.name for platform in spec.platforms[len(drawn) :]]
        yield Paragraph(f"not drawn here: {listing(names, 'and')}", Tone.QUIET)


def _prices(paper: QuotePaper) -> Table:
    """The options side by side, one a row: price, tax, what the client pays, difference to the first, days."""
    several = len(paper.options) > 1
    taxed = any(option.tax_cents for option in paper.options)
    columns = [Column("", True), Column("option", weight=0.4)]
    columns += [Column("price", True), Column("sales tax", True)] if taxed else []
    columns += [Column("you pay", True)] + ([Column("difference", True)] if several else [])
    rows = []
    for number, option in enumerate(paper.options, 1):
        told = option_words(option)
        row = [str(number) if several else "", f"{option.label}: {told}" if told else option.label]
        if taxed:
            row += [option.bound.money(option.price_cents), option.bound.money(option.tax_cents)]
        row.append(option.bound.money(option.total_cents))
        if several:
            more = option.total_cents - paper.options[0].total_cents
            bound = safe_difference(more, option.bound, paper.options[0].bound)
            row.append("" if number == 1 else bound.put(signed_money(more)))
        rows.append((*row, f"about {count(option.days, 'day')}"))
    return Table((*columns, Column("work on site", True)), tuple(rows))


def _not_priced(paper: QuotePaper) -> Iterator[Block]:
    """What no price was known of, so that nobody takes the sum for all of it."""
    for option in paper.options:
        if option.not_in_price:
            whose = f"{option.label}: " if len(paper.options) > 1 else ""
            goods = listing([clean(item) for item in option.not_in_price], "and")
            yield Paragraph(
                f"{whose}not priced, not in what you pay: {goods}. That is priced and agreed apart.", Tone.BAD
            )


def option_words(option: PaperOption) -> str:
    """What an option changes: ``boards 2x6, finish oil``; empty when its name says it or nothing is changed."""
    told = ", ".join(f"{_CHANGES.get(key, key)} {value}" for key, value in option.changes)
    said = ", ".join(f"{key} {value}" for key, value in option.changes)
    return "" if option.label in (told, said, AS_DRAWN) else told


def _tax_words(paper: QuotePaper) -> Iterator[str]:
    if any(option.tax_cents for option in paper.options):
        yield "sales tax is in what you pay"
    else:
        yield "no sales tax is charged"
    yield "days are working days of the crew, waiting for concrete, weather and inspections not counted"


def _in_and_out(option: PaperOption) -> Iterator[Block]:
    inside, outside = tuple(_inside(option)), tuple(_outside(option))
    left, right = (Heading("In the price", 3), Bullets(inside)), (Heading("Not in the price", 3), Bullets(outside))
    if len(inside) <= MOST_BESIDE:
        yield Beside(left, right, 0.52)
    else:
        yield from (*left, *right)


def _inside(option: PaperOption) -> Iterator[str]:
    yield from (text for key, text in _IN_THE_PRICE.items() if key in option.phases)
    yield from (f"hire and bought in: {title}" for title in option.besides)


def _outside(option: PaperOption) -> Iterator[str]:
    spec = option.spec
    if not any("permit" in title.lower() for title in option.besides):
        if spec.permit:
            yield "the fees of the permit and its inspections: at what the office asks, with its receipt"
        else:
            yield "a permit and its fees, if the office asks for one"
    yield "taking away an old deck, trees, stumps, rock, or soil that does not carry"
    yield "moving or mending private lines that nobody marked: sprinklers, drains, lights, gas to a grill"
    yield "lawn, beds and paving along the work and on the way to it"
    if spec.site.electric:
        yield "wiring and lights: a licensed electrician quotes those"
    if spec.finish is Finish.NONE:
        yield "a finish on the boards"


def _draws(paper: QuotePaper) -> Table:
    shown = paper.options if len(paper.options) <= MOST_AMOUNTS else ()
    amounts = [paper.draws_of(option) for option in shown]
    heads = [Column(clean(option.label) if len(shown) > 1 else "amount", True) for option in shown]
    rows = tuple(
        (share.name, _due(share), _share(share),
         *(_draw_bound(share, of).money(option[number]) for of, option in zip(shown, amounts, strict=True)))
        for number, share in enumerate(paper.draws)
    )  # fmt: skip
    sums = (of.bound.money(sum(option)) for of, option in zip(shown, amounts, strict=True))
    total = ("together", "", "", *sums) if shown else ()
    return Table((Column("draw"), Column("due", weight=0.4), Column("share", True), *heads), rows, total)


def _draw_bound(share: Share, option: PaperOption) -> Bound:
    """A share of a total of a draft is as firm as the total; a fixed amount is fixed."""
    return Bound.EXACT if share.cents is not None else option.bound


def _due(share: Share) -> str:
    if share.name == DEPOSIT:
        return "when you accept this quote"
    phase = PHASES.get(share.name)
    return f"{phase.title if phase else share.name} signed off"


def _share(share: Share) -> str:
    if share.tenths is not None:
        return share.percent_text
    return "fixed" if share.cents is not None else "the rest"


def _signing(paper: QuotePaper) -> Iterator[Block]:
    yield Heading("Signatures")
    if paper.not_checked or paper.is_draft:
        yield Paragraph(f"{NOT_CHECKED if paper.not_checked else DRAFT}: not to be signed.", Tone.BAD)
        return
    if len(paper.options) > 1:
        yield Blanks((Blank("option taken, number"),))
    yield Paragraph("Accepted with its draws and cautions as they are written here.")
    yield Signatures((f"client{f' ({paper.client})' if paper.client else ''}", f"contractor ({paper.who})"))
