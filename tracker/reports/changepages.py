"""Pages of what is not in the book yet: a job as it would be, and a change order's differences before it is accepted."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from tracker.book.changeviews import (
    Change,
    ItemChange,
    PhaseChanged,
    Proposal,
    ReadAgain,
    Standing,
    more_words,
)
from tracker.planning.bounds import Gaps, goods_words
from tracker.planning.estimate import TAX_RULE
from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.reports.words import pieces
from tracker.text import count, listing
from tracker.trade.answer import Plain
from tracker.trade.cautions import DEFER
from tracker.trade.dates import format_day, format_days
from tracker.trade.money import format_money
from tracker.trade.specchange import change_words

SHORT = 4
"""How many items without a price are named."""
QUICK = "from quick cut plans, not yet proven the cheapest"


def days_words(tenths: int) -> str:
    """``5.2 crew days``."""
    return f"{tenths // 10}.{tenths % 10} crew days" if tenths % 10 else count(tenths // 10, "crew day")


def _hours(hours: float) -> str:
    return f"{hours:.1f}".removesuffix(".0") + " h"


def _unpriced(items: Sequence[str]) -> Iterable[Line]:
    if items:
        many = len(items) > SHORT + 1
        named = [*items[:SHORT], f"{len(items) - SHORT} more"] if many else list(items)
        yield Line(f"{goods_words(len(items))}, so in no figure: {listing(named, 'and')}", Tone.CARE, indent=2)


# -- a job as it would be


def proposal_head(proposal: Proposal) -> Page:
    """What a job comes to in a few lines: money, days, what speaks against it."""
    if proposal.spec is None or not proposal.material:
        return ()
    assert proposal.first_day is not None and proposal.last_day is not None
    so_far = "so far: " if proposal.problems else ""
    gaps = Gaps(proposal.unpriced)
    cost = f"{gaps.cost.money(proposal.cost_cents)} material"
    money = gaps.tell(cost) if proposal.cost_cents else "no item has a price yet"
    out = [
        Line(f"{so_far}{money}, {days_words(proposal.crew_days_tenths)}", Tone.TITLE),
        Line(f"{format_days(proposal.first_day, proposal.last_day, proposal.today)}, {count(len(proposal.phases), 'phase')}, "
             f"{count(len(proposal.checks), 'check')}", indent=2),
        *([Line(f"without {listing(proposal.left_out, 'and')}, which is not whole yet", Tone.CARE, indent=2)]
          if proposal.left_out else []),
        *_unpriced(proposal.unpriced if proposal.cost_cents else ()),
        *(Line(text, Tone.CARE, indent=2) for text in proposal.against),
    ]  # fmt: skip
    return tuple(out)


def proposal_page(proposal: Proposal) -> Page:
    """A job as it would be: frame, material with cost, days, checks, questions for the permit office, cautions."""
    out: list[Line | Grid] = list(proposal_head(proposal))
    if not out:
        return (Line("Nothing to show yet: the size, the height and what carries it come first.", Tone.QUIET),)
    out += [BLANK, Line("FRAME", Tone.TITLE)]
    several = len(proposal.frames) > 1
    for frame in proposal.frames:
        out += [Line(frame.platform, indent=2)] * several
        out += [Line(text, indent=2 + 2 * several) for text in frame.facts]
    out += [BLANK, Line("MATERIAL", Tone.TITLE)]
    rows = tuple(
        (str(line.quantity), line.unit, line.title, "no price" if line.cost_cents is None else format_money(line.cost_cents))
        for line in proposal.material
    )  # fmt: skip
    out.append(Grid(("", "", "item", "cost"), rows, frozenset({0, 3}), indent=2))
    total = Gaps(proposal.unpriced).at_least(proposal.cost_cents)
    out.append(Line(f"total at today's prices: {total}", Tone.TITLE, indent=2))
    out += [] if proposal.proven else [Line(QUICK, Tone.QUIET, indent=2)]
    out += [BLANK, Line("DAYS", Tone.TITLE)]
    out.append(
        Grid((), tuple((p.title, format_days(p.first, p.last, proposal.today), _hours(p.hours) if p.hours else "office",
                        f"hold {p.hold}" if p.hold else "") for p in proposal.phases), indent=2)
    )  # fmt: skip
    titles = dict.fromkeys(title for _, title, _ in proposal.checks)
    out += [BLANK, Line("CHECKS", Tone.TITLE), Line(", ".join(titles), indent=2)]
    out += [BLANK, Line("ASK THE PERMIT OFFICE", Tone.TITLE), Line(proposal.permit_headline, Tone.CARE, indent=2)]
    out += [Line(text, indent=2) for text in proposal.permit]
    out += [BLANK, Line("CAUTIONS", Tone.TITLE), *(Line(text, Tone.CARE, indent=2) for text in proposal.cautions)]
    return (*out, Line(f"{DEFER}.", Tone.QUIET, indent=2))


# -- a change order


def money_words(change: Change) -> str:
    """What the material costs more or less: ``$203.50 more material``."""
    return change.gaps.tell(more_words(change.cost_cents, change.cost_bound))


def change_page(change: Change) -> Page:
    """What a change order would do: parts, money and days, material, phases, checks, warnings."""
    out: list[Line | Grid] = [Line(f"Change order {change.code}  {change.title}", Tone.TITLE)]
    if not change.anything:
        return (*out, Line("nothing is changed", indent=2))
    out += [Line(change_words(part), indent=2) for part in change.parts]
    out += [Line(text, indent=2) for text in change.facts]
    out += [Line(text, Tone.CARE, indent=2) for text in change.warnings]
    out += [BLANK, Line(f"COST AND DAYS  {money_words(change)}", Tone.TITLE), _standing_grid(change)]
    if change.price_cents is not None:
        out.append(
            Line(
                f"what the client pays is by the terms of the quote; it goes on the contract as a price of its own. {TAX_RULE}",
                Tone.QUIET,
                indent=2,
            )
        )
    out += _unpriced(change.after.unpriced)
    out += [] if change.before.proven and change.after.proven else [Line(QUICK, Tone.QUIET, indent=2)]
    if change.items:
        out += [BLANK, Line("MATERIAL", Tone.TITLE), _item_grid(change.items)]
    if change.phases:
        rows = tuple((phase.title, _phase_words(phase, change.today)) for phase in change.phases)
        out += [BLANK, Line("PHASES", Tone.TITLE), Grid((), rows, indent=2)]
    checks = [*_check_lines(change)]
    if checks:
        out += [BLANK, Line("CHECKS", Tone.TITLE), *checks]
    return (*out, BLANK, Line(f"{DEFER}.", Tone.QUIET))


def _standing_grid(change: Change) -> Grid:
    before, after = change.before, change.after
    moved = after.crew_days_tenths - before.crew_days_tenths
    later = change.later_days
    rows: list[tuple[str, ...]] = [
        ("material", before.material_bound.money(before.material_cents), after.material_bound.money(after.material_cents),
         change.cost_bound.put(_signed(change.cost_cents))),
        ("crew", days_words(before.crew_days_tenths), days_words(after.crew_days_tenths),
         f"{'+' if moved > 0 else ''}{moved / 10:g} days" if moved else "the same"),
        ("hand-over", format_day(before.hand_over, change.today), format_day(after.hand_over, change.today),
         f"{count(abs(later), 'working day')} {'later' if later > 0 else 'earlier'}" if later else "the same"),
    ]  # fmt: skip
    if change.price_cents is not None:
        rows.append(("client pays", "", "", _signed(change.price_cents)))
    return Grid(("", "before", "after", "difference"), tuple(rows), frozenset({1, 2, 3}), indent=2)


def _signed(cents: int) -> str:
    return f"{'+' if cents > 0 else ''}{format_money(cents)}" if cents else "the same"


def _item_grid(items: Sequence[ItemChange]) -> Grid:
    rows = tuple(
        (item.title, str(item.before), str(item.after), item_words(item),
         _signed(item.after_cents - item.before_cents)
         if item.before_cents is not None and item.after_cents is not None else "no price")
        for item in items
    )  # fmt: skip
    tones = tuple(Tone.CARE if item.cancel or item.give_back or item.built_in else Tone.PLAIN for item in items)
    return Grid(("item", "before", "after", "to do", "cost"), rows, frozenset({1, 2, 4}), indent=2, tones=tones)


def item_words(item: ItemChange) -> str:
    """What to do about an item: ``add 12 boards``, ``take 3 boards off the order``, ``give 2 boards back``."""
    said = [f"buy {pieces(item.add, item.unit)} more"] if item.add else []
    said += [f"buy {pieces(item.drop, item.unit)} fewer"] if item.drop else []
    said += [f"take {pieces(item.cancel, item.unit)} off the order"] if item.cancel else []
    said += [f"give {pieces(item.give_back, item.unit)} back"] if item.give_back else []
    said += [f"{pieces(item.built_in, item.unit)} used already"] if item.built_in else []
    return ", ".join(said) or "there already"


def _phase_words(phase: PhaseChanged, today: date) -> str:
    if phase.before is None and phase.after is not None:
        return f"new: {format_days(*phase.after, today)}, {_hours(phase.after_hours)}"
    if phase.after is None:
        return "no longer part of the job"
    said = []
    if phase.before != phase.after and phase.before is not None:
        said.append(f"{format_days(*phase.before, today)} is now {format_days(*phase.after, today)}")
    if phase.before_hours != phase.after_hours:
        said.append(f"{_hours(phase.before_hours)} is now {_hours(phase.after_hours)}")
    return ", ".join(said)


def _check_lines(change: Change) -> Iterable[Line]:
    if change.new_checks:
        yield Line(f"new: {', '.join(f'{title} ({key})' for key, title in change.new_checks)}", indent=2)
    if change.gone_checks:
        gone = ", ".join(f"{title} ({key})" for key, title in change.gone_checks)
        yield Line(f"no longer part of the job: {gone}; what was read stays in the book", indent=2)
    for check in change.again:
        yield Line(f"read again: {check.title} ({check.key}), {check.why}; {_still(check)}", Tone.CARE, indent=2)
    for key, title, why in change.reopen:
        yield Line(f"open again: {title} ({key}), {why}", Tone.CARE, indent=2)


def _still(check: ReadAgain) -> str:
    return {
        True: "the last readings would pass, of the old part",
        False: "the last readings would not pass",
        None: "the last readings cannot be used",
    }[check.still_passes]


# -- as plain values


def change_json(change: Change) -> dict[str, Plain]:
    """A change order's differences as plain values; days are ISO texts, amounts cents."""
    return {
        "job": change.code,
        "title": change.title,
        "revision": change.rev,
        "changed": change.anything,
        "parts": [
            {"platform": p.platform, "part": p.part.value, "before": p.before, "after": p.after} for p in change.parts
        ],
        "facts": list(change.facts),
        "before": _standing_json(change.before),
        "after": _standing_json(change.after),
        "cost_cents": change.cost_cents,
        "cost_bound": change.cost_bound.value,
        "price_cents": change.price_cents,
        "items": [_item_json(item) for item in change.items],
        "phases": [
            {
                "key": p.key, "title": p.title, "before": _days(p.before), "after": _days(p.after),
                "before_hours": round(p.before_hours, 2), "after_hours": round(p.after_hours, 2),
            }
            for p in change.phases
        ],
        "new_checks": [key for key, _ in change.new_checks],
        "gone_checks": [key for key, _ in change.gone_checks],
        "read_again": [
            {"check": c.key, "phase": c.phase, "why": c.why, "still_passes": c.still_passes} for c in change.again
        ],
        "reopen": [{"phase": key, "why": why} for key, _, why in change.reopen],
        "warnings": list(change.warnings),
    }  # fmt: skip


def _standing_json(standing: Standing) -> Plain:
    return {
        "material_cents": standing.material_cents,
        "material_bound": standing.material_bound.value,
        "crew_days": standing.crew_days_tenths / 10,
        "last_day": standing.last_day.isoformat(),
        "hand_over": standing.hand_over.isoformat(),
        "without_price": list(standing.unpriced),
        "proven": standing.proven,
    }


def _item_json(item: ItemChange) -> Plain:
    return {
        "item": item.item,
        "title": item.title,
        "unit": item.unit,
        "before": item.before,
        "after": item.after,
        "used": item.used,
        "on_hand": item.on_hand,
        "on_order": item.on_order,
        "add": item.add,
        "fewer": item.drop,
        "off_the_order": item.cancel,
        "give_back": item.give_back,
        "used_already": item.built_in,
        "before_cents": item.before_cents,
        "after_cents": item.after_cents,
    }


def _days(days: tuple[date, date] | None) -> Plain:
    return [day.isoformat() for day in days] if days else None
